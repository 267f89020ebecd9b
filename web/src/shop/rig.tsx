/** The endurance rig: its live counter, its finish, and what its specimens show. Its document stays on this device. */
import {useEffect, useState} from "preact/hooks";
import {Trouble, send} from "../api/client";
import {InBookWords, Typed} from "../parts/parts";
import {nowText, showMoment, showNumber} from "../units/units";
import {ofCode, t} from "../words/words";

interface RigState {
  now: string;
  closings: number;
  closings_plus_minus: number;
  target: number;
  rate: number | null;
  finish: {state: string; at: string | null; earliest: string | null; latest: string | null};
  confidence: number;
  specimens: {id: string; name: string; state: string; sound_to: number | null; failed_by: number | null}[];
  statements: {code: string; low: number | null; high: number | null; unit: string; said: string}[];
}
interface RigDocument {
  format: string;
  title?: string;
}
const shelf = "hingeline-rig";

function kept(): RigDocument | null {
  try {
    return JSON.parse(localStorage.getItem(shelf) ?? "null") as RigDocument | null;
  } catch {
    return null;
  }
}
function keep(document: RigDocument | null): void {
  try {
    if (document) localStorage.setItem(shelf, JSON.stringify(document));
    else localStorage.removeItem(shelf);
  } catch {
    // Without a place to keep it, it holds until the page is closed.
  }
}
const begun = (specimens: number): unknown => ({
  format: "hingeline-rig", version: 1, title: t("rig.title"),
  specimens: Array.from({length: specimens}, (_, i) => ({id: `key-${i + 1}`, name: t("rig.specimen", {n: i + 1})})),
  target: {value: 5_000_000, unit: "closings"}, assumed_shape: {origin: "unknown", between: [1, 3]}, confidence: 0.9, periods: [], inspections: [],
});
/** Digits in threes, as a counter shows them. */
const counted = (n: number): string => showNumber(Math.max(0, Math.floor(n)), 0).replace(/\B(?=(\d{3})+$)/g, "\u202f");

function Counter({state, asked}: {state: RigState; asked: number}) {
  const [now, tick] = useState(Date.now());
  useEffect(() => {
    if (!state.rate) return undefined;
    const timer = setInterval(() => tick(Date.now()), 500);
    return () => clearInterval(timer);
  }, [state.rate]);
  const closings = state.closings + (state.rate ?? 0) * Math.max(0, (now - asked) / 1000);
  return (
    <>
      <p class="turns" role="timer" aria-live="off" data-closings={Math.floor(closings)}>{counted(closings)}</p>
      <p class="figure-line">{t("rig.of", {target: counted(state.target), share: showNumber((100 * closings) / state.target, 1)})}</p>
      <meter min={0} max={state.target} value={Math.min(closings, state.target)} aria-label={t("rig.count")} />
    </>
  );
}

export function Rig() {
  const [document_, setDocument] = useState<RigDocument | null>(kept);
  const [state, setState] = useState<RigState | null>(null);
  const [asked, setAsked] = useState(0);
  const [why, setWhy] = useState("");
  const ask = async (document: unknown, act?: Record<string, string>) => {
    try {
      const r = await send<{document: RigDocument; state: RigState}>("POST", "/api/rig", {document, now: nowText(), ...(act ? {act} : {})});
      setDocument(r.document);
      keep(r.document);
      setState(r.state);
      setAsked(Date.now());
      setWhy("");
    } catch (error) {
      setWhy(error instanceof Trouble && error.reached ? t("trouble.other", {why: error.says}) : t("trouble.away"));
    }
  };
  useEffect(() => {
    if (document_) void ask(document_);
  }, []);
  const read = async (file: File | undefined) => {
    if (!file) return;
    try {
      await ask(JSON.parse(await file.text()));
    } catch {
      setWhy(t("rig.no-file"));
    }
  };
  const write = () => {
    const url = URL.createObjectURL(new Blob([JSON.stringify(document_, null, 2)], {type: "application/json"}));
    const a = document.createElement("a");
    a.href = url;
    a.download = "rig.json";
    a.click();
    URL.revokeObjectURL(url);
  };
  const bad = why && <p class="trouble" role="alert">{why}</p>;
  const open = <label>{t("rig.open")}<input type="file" accept="application/json,.json" onChange={(e) => void read(e.currentTarget.files?.[0])} /></label>;
  if (!document_ || !state) {
    return (
      <>
        <p class="empty">{t("rig.none")}</p>{bad}
        <form class="panel" onSubmit={(e) => {
          e.preventDefault();
          void ask(begun(Number(new FormData(e.currentTarget).get("n"))));
        }}><label>{t("rig.how-many")}<input name="n" type="number" min={1} max={40} defaultValue="4" required /></label><button class="main-do">{t("rig.begin")}</button></form>
        {open}
      </>
    );
  }
  const runs = state.rate !== null;
  const f = state.finish;
  return (
    <>
      {document_.title && <p><Typed>{document_.title}</Typed></p>}
      <p class="sentence">{t(runs ? "rig.runs" : "rig.stands", {rate: showNumber(state.rate ?? 0, 2)})}</p>
      <Counter state={state} asked={asked} />
      <p>{f.state === "reached" ? t("rig.reached", {at: showMoment(f.at ?? "")}) : f.at ? t("rig.finish", {at: showMoment(f.at), from: showMoment(f.earliest ?? f.at), to: showMoment(f.latest ?? f.at)}) : t("rig.never")}</p>
      {bad}
      <div class="panels">
        <form class="panel" onSubmit={(e) => {
          e.preventDefault();
          const rate = String(new FormData(e.currentTarget).get("rate")).replace(",", ".");
          void ask(document_, {do: runs ? "rate" : "start", rate});
        }}>
          <h2>{t("rig.motor")}</h2>
          <label>{t("rig.rate")}<input name="rate" defaultValue="2" required autocomplete="off" inputMode="decimal" /></label>
          <button>{t(runs ? "rig.change" : "rig.start")}</button>{" "}
          {runs && <button type="button" onClick={() => void ask(document_, {do: "pause"})}>{t("rig.pause")}</button>}
        </form>
        <form class="panel" onSubmit={(e) => {
          e.preventDefault();
          const g = new FormData(e.currentTarget);
          void ask(document_, {do: "inspect", specimen: String(g.get("specimen")), finding: String(g.get("finding")), note: String(g.get("note")).trim()});
        }}>
          <h2>{t("rig.look")}</h2>
          <label>{t("rig.which")}<select name="specimen">{state.specimens.filter((s) => s.state === "on").map((s) => <option key={s.id} value={s.id}>{s.name || s.id}</option>)}</select></label>
          <label>{t("rig.finding")}<select name="finding">{(["fine", "failed", "out"] as const).map((x) => <option key={x} value={x}>{ofCode("finding", x)}</option>)}</select></label>
          <label>{t("rig.note")}<input name="note" maxLength={200} autocomplete="off" dir="auto" /></label>
          <button>{t("rig.put-down")}</button>
        </form>
      </div>
      <h2>{t("rig.specimens")}</h2>
      <div class="scroll" tabIndex={0} role="region" aria-label={t("rig.specimens")}><table>
        <thead><tr><th scope="col">{t("rig.which")}</th><th scope="col">{t("rig.state")}</th><th scope="col">{t("rig.sound-to")}</th></tr></thead>
        <tbody>{state.specimens.map((s) => <tr key={s.id}><td><Typed>{s.name || s.id}</Typed></td><td>{ofCode("specimen", s.state)}</td><td class="num">{s.sound_to === null ? "\u2013" : counted(s.sound_to)}</td></tr>)}</tbody></table></div>
      {state.statements.length > 0 && <><h2>{t("rig.shows")}</h2><ul>{state.statements.map((s) => <li key={s.code}><InBookWords>{s.said}</InBookWords></li>)}</ul></>}
      <div class="choice-row"><button type="button" onClick={write}>{t("rig.save")}</button>
        <button type="button" class="quiet" onClick={() => { keep(null); setDocument(null); setState(null); }}>{t("rig.away")}</button></div>
      {open}
      <p class="faint-words">{t("rig.say")}</p>
      <p class="caution">{t("rig.caution")}</p>
    </>
  );
}
