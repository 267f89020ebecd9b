/** Asks the published interface (docs/formats/api.json), and nothing else. */
import {signal} from "@preact/signals";
import {saidRefusal} from "../words/words";
import type {Me, Problem} from "./types";

export const me = signal<Me | null>(null);

/** The book did not answer, or refused. */
export class Trouble extends Error {
  constructor(readonly status: number, readonly problem: Problem | null) {
    super(problem?.detail ?? "");
  }
  /** 0: it was not reached. */
  get reached(): boolean {
    return this.status !== 0;
  }
  /** Sending the same again would be refused again. */
  get isFinal(): boolean {
    return this.status >= 400 && this.status < 500 && ![401, 408, 425, 429].includes(this.status);
  }
  get says(): string {
    return saidRefusal(this.raw);
  }
  /** The same as the book said it. */
  get raw(): string {
    const first = this.problem?.errors[0];
    const wanted = first?.expected ? ` (${first.expected})` : "";
    return (first?.what ?? this.message) + wanted;
  }
  get wasOvertaken(): boolean {
    return this.problem?.type?.includes("overtaken") ?? false;
  }
}

async function reach(path: string, options: RequestInit): Promise<Response> {
  try {
    return await fetch(path, options);
  } catch {
    throw new Trouble(0, null);
  }
}

async function ask<T>(path: string, options: RequestInit): Promise<T> {
  const answer = await reach(path, options);
  let body: unknown = null;
  try {
    body = await answer.json();
  } catch {
    throw new Trouble(answer.ok ? 0 : answer.status, null); // cut off in the middle: as if it had not come
  }
  if (answer.status === 401 && me.value) me.value = {...me.value, logged_in: false};
  if (!answer.ok) throw new Trouble(answer.status, body as Problem);
  return body as T;
}

const begun = new Map<string, Promise<unknown>>();
/** Asks for what the screen that is about to come will need: it takes the answer, once. */
export function askAhead(path: string): void {
  const answer = ask<unknown>(path, {});
  answer.catch(() => undefined); // then it is asked for once more by who needs it
  begun.set(path, answer);
}
/** After a move to another screen what was begun is old. */
export const forgetBegun = (): void => begun.clear();

export function get<T>(path: string, stop?: AbortSignal): Promise<T> {
  const fresh = () => ask<T>(path, stop ? {signal: stop} : {});
  const ahead = begun.get(path);
  begun.delete(path);
  return ahead ? (ahead as Promise<T>).catch(fresh) : fresh();
}

export function send<T>(method: string, path: string, body?: unknown): Promise<T> {
  const headers: Record<string, string> = {};
  if (body !== undefined) headers["content-type"] = "application/json";
  const csrf = me.value?.csrf;
  if (csrf) headers["hingeline-csrf"] = csrf;
  return ask<T>(path, {method, headers, body: body === undefined ? null : JSON.stringify(body)});
}

/** Has something made without fetching it: what its answer's head says. */
export async function makeOnly(path: string, stop: AbortSignal): Promise<Headers> {
  const answer = await reach(path, {method: "HEAD", signal: stop});
  if (!answer.ok) throw new Trouble(answer.status, null);
  return answer.headers;
}

/** A file as it is. */
export function sendBytes<T>(path: string, file: Blob): Promise<T> {
  const headers: Record<string, string> = {"content-type": file.type};
  const csrf = me.value?.csrf;
  if (csrf) headers["hingeline-csrf"] = csrf;
  return ask<T>(path, {method: "POST", headers, body: file});
}

/** Who is here; asked again after a log-in. */
export async function whoIsHere(): Promise<void> {
  me.value = await get<Me>("/api/me");
}
