/** Papers to print, as the server makes them: links that open a PDF, in the language, unit and paper of this device. */
import {useEffect, useRef, useState} from "preact/hooks";
import {get, makeOnly, send, Trouble} from "../api/client";
import {newId} from "../outbox/ids";
import {choices, paperOf} from "../units/choices";
import {today} from "../units/units";
import {many, ofCode, t} from "../words/words";
import {InBookWords, TroubleBox} from "./parts";
import {isGone, visitStates} from "./states";

const ofInstrument = ["card", "quote", "report", "readings", "tag"] as const;
const ofKey = ["card", "lesson", "drawings"] as const;

const asPrinted = (): Record<string, string> => {
  const c = choices.value;
  return {language: c.language, sheet: paperOf(c).toLowerCase(), unit: c.unit === "mm" ? "mm" : "in", day: today()};
};

export function Papers({visit, keyId}: {visit: string; keyId?: string}) {
  const asked = new URLSearchParams({...asPrinted(), ...(keyId ? {key: keyId} : {})});
  return (
    <section class="panel no-print">
      <h2>{t("papers")}</h2>
      <ul class="papers">
        {(keyId ? ofKey : ofInstrument).map((kind) => (
          <li key={kind}><a href={`/api/visits/${visit}/paper/${kind}?${asked}`} target="_blank" rel="noopener">{ofCode("paper", kind)}</a></li>
        ))}
      </ul>
    </section>
  );
}

const ofDay = ["card", "tag"] as const;
const notGoneYet = visitStates.filter((s) => !isGone(s)).join(",");
/** As many as the book puts into one file. */
const mostOfFile = 250;

interface Run {
  done: number;
  all: number;
  left_out: string[];
}
interface Made {
  files: {run: string; pages: number}[];
  leftOut: string[];
}

/** One paper of every instrument that is promised for a day, made with a bar that says how far it is. */
export function DayPapers() {
  const [kind, setKind] = useState<(typeof ofDay)[number]>("card");
  const [day, setDay] = useState(today());
  const [run, setRun] = useState<Run | null>(null);
  const [made, setMade] = useState<Made | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const going = useRef<AbortController | null>(null);
  useEffect(() => () => going.current?.abort(), []);

  /** One file, told while it is made how far it is. */
  const file = async (skip: number, stop: AbortSignal) => {
    const id = newId();
    const look = async () => {
      const now = await get<Run>(`/api/papers/runs/${id}`).catch(() => null);
      if (now && !stop.aborted) setRun(now);
      return now;
    };
    const timer = setInterval(() => void look(), 300);
    try {
      const asked = new URLSearchParams({
        ...asPrinted(), from: day, to: day, state: notGoneYet, most: String(mostOfFile), skip: String(skip), run: id});
      const headers = await makeOnly(`/api/papers/${kind}?${asked}`, stop);
      return {id, pages: Number(headers.get("hingeline-pages")), run: await look()};
    } catch (e) {
      void send("DELETE", `/api/papers/runs/${id}`).catch(() => undefined);
      throw e;
    } finally {
      clearInterval(timer);
    }
  };

  const make = async () => {
    setMade(null);
    setTrouble(null);
    setRun({done: 0, all: 0, left_out: []});
    const stop = (going.current = new AbortController());
    const out: Made = {files: [], leftOut: []};
    try {
      for (let skip = 0; ; skip += mostOfFile) {
        const one = await file(skip, stop.signal);
        out.files.push({run: one.id, pages: one.pages});
        out.leftOut.push(...(one.run?.left_out ?? []));
        if ((one.run?.all ?? 0) < mostOfFile) break;
      }
      setMade(out);
    } catch (e) {
      // Nothing more after a full file, or nothing at all on that day.
      if (e instanceof Trouble && e.status === 404) setMade(out);
      else if (!stop.signal.aborted) setTrouble(e instanceof Trouble ? e : new Trouble(0, null));
    }
    setRun(null);
  };

  return (
    <section class="panel no-print">
      <h2>{t("papers.of-day")}</h2>
      <form class="choice-row" onSubmit={(e) => { e.preventDefault(); void make(); }}>
        <label>{t("papers.which")}<select value={kind} onChange={(e) => setKind(e.currentTarget.value as typeof kind)}>
          {ofDay.map((k) => <option key={k} value={k}>{ofCode("paper", k)}</option>)}</select></label>
        <label>{t("papers.promised")}<input type="date" required value={day} onInput={(e) => setDay(e.currentTarget.value)} /></label>
        <button type="submit" class="do" disabled={run !== null}>{t("papers.make")}</button>
        {run && <button type="button" onClick={() => going.current?.abort()}>{t("papers.stop")}</button>}
      </form>
      <div role="status">
        {run && <p><progress max={run.all || 1} value={run.all ? run.done : undefined} aria-label={t("papers.of-day")} />
          {" "}{run.all > 0 && t("papers.so-far", {done: run.done, all: run.all})}</p>}
        {made && made.files.length === 0 && <p>{t("papers.none")}</p>}
        {made && <ul class="papers">
          {made.files.map((f) => <li key={f.run}><a href={`/api/papers/runs/${f.run}/file`} target="_blank" rel="noopener">{many("papers.open", f.pages)}</a></li>)}
          {made.leftOut.map((why) => <li key={why}>{t("papers.left-out")}{": "}<InBookWords>{why}</InBookWords></li>)}
        </ul>}
      </div>
      {trouble && <TroubleBox trouble={trouble} again={() => void make()} />}
    </section>
  );
}
