/** What others write, as they write it: server-sent events, gone on from the last one that was seen. */
import {signal} from "@preact/signals";
import {useEffect, useRef, useState} from "preact/hooks";
import {Trouble, get, me} from "../api/client";
import {sendWaiting} from "../outbox/outbox";

export type Line = "begins" | "live" | "away";
export const line = signal<Line>("begins");

interface News {
  number: number;
  thing: string;
  slip: {id: string; kind: string; of?: string; key?: string};
}
/** null: more was missed than can be told one by one. */
type Hears = (news: News | null) => void;
const hearing = new Set<Hears>();

/** Hears all news until what it gives is called. */
export function hear(hears: Hears): () => void {
  hearing.add(hears);
  return () => hearing.delete(hears);
}

let source: EventSource | null = null;
let seen = -1;
let retry: ReturnType<typeof setTimeout> | undefined;

const all = (news: News | null) => hearing.forEach((hears) => hears(news));

export function listen(): void {
  source?.close();
  clearTimeout(retry);
  if (!me.value?.logged_in) return;
  // Nothing is asked for before the page knows who is here: what is written from then on is news. Later, what was seen counts.
  if (seen < 0) seen = me.value.shop?.as_of ?? -1;
  source = new EventSource(seen >= 0 ? `/api/news?after=${seen}` : "/api/news");
  source.addEventListener("open", () => {
    const was = line.value;
    line.value = "live";
    void sendWaiting();
    if (was === "away") all(null);
  });
  source.addEventListener("error", () => {
    line.value = "away";
    // A browser goes on by itself unless it was refused; then from where we were.
    if (source?.readyState === EventSource.CLOSED) retry = setTimeout(listen, 3000);
  });
  source.addEventListener("slip", (event) => {
    const news = JSON.parse((event as MessageEvent<string>).data) as News;
    seen = Math.max(seen, news.number);
    all(news);
  });
  source.addEventListener("far-behind", () => all(null));
}

const ofTheShop = ["shop", "preset", "pattern", "tool"];

export interface Answer<T> {
  value: T | null;
  trouble: Trouble | null;
  /** Something was written meanwhile that may change it; a newer answer is on its way. */
  stale: boolean;
  again: () => void;
}

/** The last slip that an answer already has in it, where it says so: of that and earlier ones nothing is news. */
const asOf = (value: unknown): number => (value as {as_of?: number} | null)?.as_of ?? -1;

/**
 * What the interface answers, asked again whenever a slip is written that belongs to `visit` ("": any visit).
 * An older answer stays while the newer one is fetched. `path` null: nothing is asked.
 */
export function useAnswer<T>(path: string | null, visit: string): Answer<T> {
  const [state, set] = useState<{path: string | null; value: T | null; trouble: Trouble | null}>(
    {path, value: null, trouble: null});
  const [stale, setStale] = useState(false);
  const ask = useRef<() => void>(() => undefined);
  useEffect(() => {
    if (path === null) return undefined;
    let stopped = false;
    let running = false;
    let wanted = false;
    let knows = -1;
    let timer: ReturnType<typeof setTimeout> | undefined;
    const stop = new AbortController();
    const fetchIt = async () => {
      if (running) {
        wanted = true;
        return;
      }
      running = true;
      try {
        const value = await get<T>(path, stop.signal);
        knows = asOf(value);
        if (!stopped) set({path, value, trouble: null});
        if (!stopped && !wanted) setStale(false);
      } catch (error) {
        const trouble = error instanceof Trouble ? error : new Trouble(0, null);
        if (!stopped) set((s) => ({path, value: s.path === path ? s.value : null, trouble}));
        if (!stopped) setStale(false);
      }
      running = false;
      if (wanted && !stopped) {
        wanted = false;
        void fetchIt();
      }
    };
    ask.current = () => void fetchIt();
    const hears: Hears = (news) => {
      const concerned = news === null || visit === "" || news.slip.of === visit || news.thing === visit ||
        ofTheShop.includes(news.slip.kind) || news.slip.kind === "key" || news.slip.kind === "instrument";
      if (!concerned || (news !== null && news.number <= knows)) return;
      clearTimeout(timer);
      setStale(true);
      wanted = wanted || running;
      timer = setTimeout(() => void fetchIt(), 60);
    };
    const deaf = hear(hears);
    void fetchIt();
    return () => {
      stopped = true;
      stop.abort();
      clearTimeout(timer);
      deaf();
    };
  }, [path, visit]);
  const mine = state.path === path;
  return {value: mine ? state.value : null, trouble: mine ? state.trouble : null, stale, again: () => ask.current()};
}
