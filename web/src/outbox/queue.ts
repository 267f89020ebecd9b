/**
 * What was entered and is not yet in the book. An entry is kept on this device before it is sent, sent in the order
 * of entering, one at a time, and counts once however often it is sent: its id is made here. It leaves the queue
 * when the book has it; when the book refuses it, it stays, says why, and does not hold up the others.
 */

export interface Entry {
  id: string; // also the order
  method: "POST" | "PUT";
  path: string;
  body: unknown;
  /** A photo's bytes, sent in the body's place. */
  file?: Blob;
  /** Which visit and key it is about, for showing it there. */
  visit: string;
  key: string;
  /** In a person's words: "end-play 0.052 mm". */
  says: string;
  refused?: string;
}

/** Where entries are kept between visits to the page. */
export interface Shelf {
  all(): Promise<Entry[]>;
  put(entry: Entry): Promise<void>;
  remove(id: string): Promise<void>;
}

export type Sent =
  | {kind: "done"; answer: unknown}
  | {kind: "refused"; why: string}
  | {kind: "later"}; // the book was not reached, or asks to try again

export class Queue {
  private entries: Entry[] = [];
  private sending = false;
  private loaded: Promise<void>;

  constructor(
    private shelf: Shelf,
    private post: (entry: Entry) => Promise<Sent>,
    private changed: (entries: readonly Entry[]) => void,
    private done: (entry: Entry, answer: unknown) => void = () => undefined,
  ) {
    this.loaded = shelf.all().then((entries) => {
      this.entries = [...entries, ...this.entries].sort((a, b) => (a.id < b.id ? -1 : 1));
      this.tell();
    });
  }

  get waiting(): readonly Entry[] {
    return this.entries;
  }

  /** Resolves once the entry is safe on this device. */
  async add(entry: Entry): Promise<void> {
    await this.loaded;
    await this.shelf.put(entry);
    this.entries.push(entry);
    this.tell();
  }

  /** Takes a refused entry away, for good. */
  async drop(id: string): Promise<void> {
    await this.loaded;
    this.entries = this.entries.filter((e) => e.id !== id || e.refused === undefined);
    await this.shelf.remove(id);
    this.tell();
  }

  /** Sends what waits; false: something still waits for the book. */
  async send(): Promise<boolean> {
    await this.loaded;
    if (this.sending) return false;
    this.sending = true;
    try {
      for (;;) {
        const next = this.entries.find((e) => e.refused === undefined);
        if (!next) return true;
        const sent = await this.post(next);
        if (sent.kind === "later") return false;
        if (sent.kind === "refused") {
          next.refused = sent.why;
          await this.shelf.put(next);
        } else {
          await this.shelf.remove(next.id);
          this.entries = this.entries.filter((e) => e !== next);
        }
        this.tell();
        if (sent.kind === "done") this.done(next, sent.answer);
      }
    } finally {
      this.sending = false;
    }
  }

  private tell(): void {
    this.changed([...this.entries]);
  }
}
