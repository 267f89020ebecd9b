/** The page's own queue: kept in IndexedDB, sent whenever the book can be reached. */
import {signal} from "@preact/signals";
import {Trouble, send, sendBytes} from "../api/client";
import {newId} from "./ids";
import {Entry, Queue, Sent, Shelf} from "./queue";

function wait<T>(request: IDBRequest<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error ?? new Error("IndexedDB"));
  });
}

function shelf(): Shelf {
  const database = new Promise<IDBDatabase>((resolve, reject) => {
    const open = indexedDB.open("hingeline", 1);
    open.onupgradeneeded = () => void open.result.createObjectStore("outbox", {keyPath: "id"});
    open.onsuccess = () => resolve(open.result);
    open.onerror = () => reject(open.error ?? new Error("IndexedDB"));
  });
  const change = async (what: (store: IDBObjectStore) => void): Promise<void> => {
    const transaction = (await database).transaction("outbox", "readwrite", {durability: "strict"});
    what(transaction.objectStore("outbox"));
    await new Promise<void>((resolve, reject) => {
      transaction.oncomplete = () => resolve();
      transaction.onabort = () => reject(transaction.error ?? new Error("IndexedDB"));
    });
  };
  return {
    all: async () => wait((await database).transaction("outbox").objectStore("outbox").getAll() as IDBRequest<Entry[]>),
    put: (entry) => change((store) => void store.put(entry)),
    remove: (id) => change((store) => void store.delete(id)),
  };
}

/** What is not in the book yet, first entered first. */
export const unsent = signal<readonly Entry[]>([]);

const listeners = new Map<string, (answer: unknown) => void>();

async function post(entry: Entry): Promise<Sent> {
  try {
    return {kind: "done", answer: await (entry.file ? sendBytes(entry.path, entry.file) : send(entry.method, entry.path, entry.body))};
  } catch (error) {
    if (error instanceof Trouble && error.isFinal) return {kind: "refused", why: error.raw};
    return {kind: "later"};
  }
}

const queue = new Queue(shelf(), post, (entries) => (unsent.value = entries), (entry, answer) => {
  listeners.get(entry.id)?.(answer);
  listeners.delete(entry.id);
});

let again: ReturnType<typeof setTimeout> | undefined;
let pause = 1000;

/** Sends what waits, and tries again by itself while the book is not reached. */
export async function sendWaiting(): Promise<void> {
  clearTimeout(again);
  const run = () => queue.send();
  // Two pages of one browser share the shelf: one of them sends at a time.
  const all = navigator.locks ? await navigator.locks.request("hingeline-outbox", run) : await run();
  if (all) {
    pause = 1000;
  } else {
    again = setTimeout(() => void sendWaiting(), pause);
    pause = Math.min(pause * 2, 15000);
  }
}

export interface Wanted {
  method?: "POST" | "PUT";
  path: string | ((id: string) => string);
  /** Left out for a photo. */
  body?: (id: string) => unknown;
  file?: Blob;
  visit: string;
  key?: string;
  says: string;
  /** Once the book has it. */
  then?: (answer: unknown) => void;
}

/** Resolves when the entry is safe here; it is sent at once when the book is there. Gives its id. */
export async function enter(wanted: Wanted): Promise<string> {
  const id = newId();
  if (wanted.then) listeners.set(id, wanted.then);
  await queue.add({
    id,
    method: wanted.method ?? "POST",
    path: typeof wanted.path === "string" ? wanted.path : wanted.path(id),
    body: wanted.body?.(id) ?? null,
    ...(wanted.file ? {file: wanted.file} : {}),
    visit: wanted.visit,
    key: wanted.key ?? "",
    says: wanted.says,
  });
  void sendWaiting();
  return id;
}

export const dropRefused = (id: string): void => void queue.drop(id);
