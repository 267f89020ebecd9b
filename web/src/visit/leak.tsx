/** What every pad leaks, by its gap and under each finger, and all of them together. */
import {Fragment} from "preact";
import {useState} from "preact/hooks";
import {useAnswer} from "../live/news";
import {unsent} from "../outbox/outbox";
import {TroubleBox, Typed, Waiting, plain} from "../parts/parts";
import {Row, Why, Worked, sayWorked} from "../parts/worked";
import {keepReading, readingAt, repeatsOf} from "../screens/readings";
import {bareLength, showLength} from "../units/units";
import {many, ofCode, said, t} from "../words/words";
import type {Of} from "./parts";

interface LeakKey {
  id: string;
  name: string;
  nothing?: string;
  gap?: Worked;
  leak?: Worked;
  hole_low: number;
  hole_high: number;
  too_much?: boolean;
  fingers?: {name: string; closes: boolean; leak: Worked}[];
}
interface LeakResult {
  pressure: number;
  hole_allowed: number;
  total: Worked;
  hole_low: number;
  hole_high: number;
  measured: {read: Worked; unexplained: number; take_up_low: number; take_up_high: number} | null;
  keys: LeakKey[];
}

/** What is read for either way of it, each with the unit that is meant where none is typed. */
const ways = {
  flow: {flow: "mL/s", pressure: "kPa"},
  fall: {pressure_from: "kPa", pressure_to: "kPa", time: "s", volume: "mL"},
} as const;
type Way = keyof typeof ways;
type Kept = Record<string, unknown>;

/** "2,5 ± 0,1" as the book takes it: "2.5 kPa ± 0.1"; null: there is no number in it. */
export function withUnit(typed: string, unit: string): string | null {
  const bare = /^\s*(\d+(?:[.,]\d+)?)\s*(?:(?:±|\+\/-|\+-)\s*(\d+(?:[.,]\d+)?))?\s*$/.exec(typed);
  if (bare) return `${bare[1]} ${unit}${bare[2] === undefined ? "" : ` ± ${bare[2]}`}`;
  return /\d/.test(typed) ? typed.trim() : null;
}

/** The leak of the closed instrument, read by a flow meter or by how fast a pressure falls. */
function LeakReading({visit, whole, document}: Of) {
  const at = "/leak_reading";
  const kept = document?.leak_reading;
  const [way, setWay] = useState<Way | null>(null);
  const [bad, setBad] = useState(false);
  const old = readingAt(whole, "", at);
  const waits = unsent.value.some((e) => e.visit === visit && e.refused === undefined && JSON.stringify(e.body).includes(at));
  const now = way ?? (kept && "pressure_from" in kept ? "fall" : "flow");
  const name = (field: string) => ofCode("leak-of", field);
  const says = (value: Kept) => Object.entries(value).map(([field, x]) => `${name(field)} ${repeatsOf(x).join(", ")}`).join("; ");
  const keep = (value: Kept | null) => keepReading({visit, at, old, value, says: `${t("leak.enter")}: ${value ? says(value) : t("key.not-measured")}`});
  return (
    <details class="panel no-print">
      <summary><h2>{t("leak.enter")}</h2></summary>
      {kept ? <dl data-kept>{Object.entries(kept).map(([field, x]) => <Fragment key={field}><dt>{name(field)}</dt><dd class="num">{repeatsOf(x).map(said).join(", ")}</dd></Fragment>)}</dl>
        : <p>{t("key.not-measured")}</p>}
      <fieldset><legend>{t("leak.way")}</legend>
        {(["flow", "fall"] as const).map((w) => <label class="pick" key={w}><input type="radio" name="way" checked={now === w} onChange={() => setWay(w)} />{ofCode("leak-way", w)}</label>)}
      </fieldset>
      <p>{ofCode("leak-how", now)}</p>
      <form key={now} onSubmit={(e) => {
        e.preventDefault();
        const form = e.currentTarget;
        const typed = new FormData(form);
        const read = Object.entries(ways[now]).map(([field, unit]) => [field, withUnit(String(typed.get(field)), unit)] as const);
        setBad(read.some(([, x]) => x === null));
        if (read.every(([, x]) => x !== null)) void keep(Object.fromEntries(read)).then(() => form.reset());
      }}>
        <div class="columns">{Object.entries(ways[now]).map(([field, unit]) => (
          <label key={field}>{name(field)}{", "}{unit}<input name={field} class="reading" autocomplete="off" spellcheck={false} required aria-invalid={bad} /></label>))}</div>
        {bad && <p class="wrong" role="alert">{t("leak.not-number")}</p>}
        <div class="reading-do"><button class="main-do" disabled={waits}>{t("key.enter")}</button>
          {old && <button type="button" class="quiet" disabled={waits} onClick={() => void keep(null)}>{t("key.strike")}</button>}</div>
      </form>
      {waits && <p class="unsent-mark" role="status">{t("unsent.kept")}</p>}
      <p class="caution">{t("leak.care")}</p>
    </details>
  );
}

export function Leak(of: Of) {
  const {visit} = of;
  const path = `/api/visits/${visit}/leak`;
  const all = useAnswer<LeakResult>(`${path}?inputs=no`, visit);
  const r = all.value;
  // A reading that the book cannot take is mended here.
  if (!r) return all.trouble ? <><TroubleBox trouble={all.trouble} again={all.again} /><LeakReading {...of} /></> : <Waiting />;
  const padded = r.keys.filter((k) => k.leak);
  if (padded.length === 0) return <><p class="empty">{t("leak.none")}</p><LeakReading {...of} /></>;
  const leaks = padded.filter((k) => (k.leak?.value ?? 0) >= 0.05).sort((a, b) => (b.leak?.value ?? 0) - (a.leak?.value ?? 0));
  const tooMuch = padded.filter((k) => k.too_much).length;
  const as = (low: number, high: number) => t("leak.hole", {low: bareLength(low), high: showLength(high)});
  return (
    <>
      <p class="sentence">{tooMuch > 0 ? many("leak.say", tooMuch, {all: padded.length}) : leaks.length > 0 ? t("leak.say-little") : t("leak.say-tight")}</p>
      <p class="figure-line">{t("leak.total", {leak: sayWorked(r.total), pressure: plain(r.pressure)})}{r.total.value > 0 && <>{", "}{as(r.hole_low, r.hole_high)}</>}</p>
      <Why path={path} visit={visit} pick={(x: LeakResult) => x.total}>{t("leak.together")}{" "}{sayWorked(r.total)}</Why>
      {r.measured && <p>{t("leak.read", {leak: sayWorked(r.measured.read)})}{" "}
        {r.measured.unexplained > 0.05 ? t("leak.unexplained", {leak: `${plain(r.measured.unexplained, 1)}\u00a0mL/s`}) : t("leak.explained")}</p>}
      <LeakReading {...of} />
      <p class="faint-words">{t("leak.meaning", {hole: showLength(r.hole_allowed)})}</p>
      <ul class="rows">{leaks.map((k) => (
        <Row key={k.id} id={k.id} name={<Typed>{k.name}</Typed>} wrong={k.too_much ?? false} says={k.too_much ? t("leak.too-much") : t("leak.allowed")} figure={k.leak ? sayWorked(k.leak) : ""}>
          <p>{as(k.hole_low, k.hole_high)}{k.gap && <>{"; "}{t("leak.gap", {gap: sayWorked(k.gap)})}</>}</p>
          {(k.fingers ?? []).length > 0 && <table><thead><tr><th scope="col">{t("leak.finger")}</th><th scope="col">{t("part.leak")}</th></tr></thead>
            <tbody>{k.fingers?.map((f) => <tr key={f.name}><td><Typed>{f.name}</Typed></td><td class="num">{f.closes ? t("leak.closed") : sayWorked(f.leak)}</td></tr>)}</tbody></table>}
          <Why path={`${path}?key=${encodeURIComponent(k.id)}`} visit={visit} pick={(x: LeakResult) => x.keys.find((y) => y.id === k.id)?.leak}>{t("part.leak")}{" "}{k.leak && sayWorked(k.leak)}</Why>
        </Row>))}</ul>
      {padded.length > leaks.length && <details><summary>{many("leak.tight", padded.length - leaks.length)}</summary>
        <p>{padded.filter((k) => !leaks.includes(k)).map((k, i) => <span key={k.id}>{i > 0 && ", "}<Typed>{k.name}</Typed></span>)}</p></details>}
    </>
  );
}
