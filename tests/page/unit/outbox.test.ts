import assert from "node:assert/strict";
import {test} from "node:test";
import {maker} from "../../../web/src/outbox/ids";
import {Entry, Queue, Sent, Shelf} from "../../../web/src/outbox/queue";

class Memory implements Shelf {
  kept = new Map<string, Entry>();
  fails = false;
  all = async () => [...this.kept.values()].map((e) => ({...e}));
  put = async (e: Entry) => {
    if (this.fails) throw new Error("full");
    this.kept.set(e.id, {...e});
  };
  remove = async (id: string) => void this.kept.delete(id);
}
const entry = (id: string): Entry => ({id, method: "POST", path: "/", body: {}, visit: "v", key: "k", says: id});

/** A book that counts each id once, as the server does, and loses answers as a network does. */
class Book {
  written: string[] = [];
  constructor(private faults: (n: number) => "fine" | "not-reached" | "answer-lost") {}
  private asked = 0;
  post = async (e: Entry): Promise<Sent> => {
    const fault = this.faults(this.asked++);
    if (fault === "not-reached") return {kind: "later"};
    if (!this.written.includes(e.id)) this.written.push(e.id);
    return fault === "answer-lost" ? {kind: "later"} : {kind: "done", answer: null};
  };
}

test("ids are of version 7 (RFC 9562, 5.7), hold the time, and ascend whatever the clock does", () => {
  let now = 0x0190b6f00000;
  const next = maker({now: () => now, random: (b) => b.fill(0xff)});
  let last = "";
  for (let i = 0; i < 10000; ++i) {
    if (i === 3000) now += 1;
    if (i === 6000) now -= 5000;
    const id = next();
    assert.match(id, /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
    assert.ok(id > last, `${last} then ${id}`);
    last = id;
  }
  assert.equal(parseInt(maker({now: () => now, random: (b) => b.fill(1)})().replace("-", "").slice(0, 12), 16), now);
});

test("everything arrives once and in order, whatever the network does", async () => {
  // Every pattern of eight faults of three kinds, as base-3 numbers; then the network is well.
  const kinds = ["fine", "not-reached", "answer-lost"] as const;
  for (let pattern = 0; pattern < 3 ** 8; ++pattern) {
    const book = new Book((n) => (n < 8 ? kinds[Math.floor(pattern / 3 ** n) % 3] ?? "fine" : "fine"));
    const shelf = new Memory();
    const queue = new Queue(shelf, book.post, () => undefined);
    const ids = ["1", "2", "3", "4"];
    for (const id of ids) {
      await queue.add(entry(id));
      await queue.send();
    }
    for (let i = 0; i < 20 && !(await queue.send()); ++i);
    assert.deepEqual(book.written, ids);
    assert.equal(shelf.kept.size, 0);
  }
});

test("what was kept is sent by the next page, first entered first", async () => {
  const shelf = new Memory();
  const away = new Queue(shelf, async () => ({kind: "later"}), () => undefined);
  for (const id of ["a", "b", "c"]) await away.add(entry(id));
  assert.equal(await away.send(), false);
  const book = new Book(() => "fine");
  assert.equal(await new Queue(shelf, book.post, () => undefined).send(), true);
  assert.deepEqual(book.written, ["a", "b", "c"]);
});

test("a refused entry stays and says why, and holds nobody up", async () => {
  const shelf = new Memory();
  let seen: readonly Entry[] = [];
  const queue = new Queue(shelf, async (e): Promise<Sent> => (e.id === "b" ? {kind: "refused", why: "no"} : {kind: "done", answer: null}), (e) => (seen = e));
  for (const id of ["a", "b", "c"]) await queue.add(entry(id));
  assert.equal(await queue.send(), true);
  assert.deepEqual(seen.map((e) => [e.id, e.refused]), [["b", "no"]]);
  assert.equal(shelf.kept.get("b")?.refused, "no");
  await queue.drop("b");
  assert.equal(shelf.kept.size, 0);
});

test("what the device could not keep is not said to be kept", async () => {
  const shelf = new Memory();
  shelf.fails = true;
  const queue = new Queue(shelf, async () => ({kind: "later"}), () => undefined);
  await assert.rejects(queue.add(entry("a")));
  assert.equal(queue.waiting.length, 0);
});

test("one is sent at a time", async () => {
  let atOnce = 0;
  let most = 0;
  const queue = new Queue(new Memory(), async (): Promise<Sent> => {
    most = Math.max(most, ++atOnce);
    await new Promise((r) => setTimeout(r, 1));
    --atOnce;
    return {kind: "done", answer: null};
  }, () => undefined);
  for (let i = 0; i < 5; ++i) await queue.add(entry(String(i)));
  await Promise.all([queue.send(), queue.send(), queue.send()]);
  await queue.send();
  assert.equal(most, 1);
});
