/** The body's bow: what the straightedge read, what that does to every key, and the posts. */
import {useState} from "preact/hooks";
import {useAnswer} from "../live/news";
import {unsent} from "../outbox/outbox";
import {TroubleBox, Typed, Waiting} from "../parts/parts";
import {Row, Why, Worked, sayWorked} from "../parts/worked";
import {keepReading, readingAt, repeatsOf} from "../screens/readings";
import {choices} from "../units/choices";
import {forBook, readLength, showLength} from "../units/units";
import {many, t} from "../words/words";
import type {Of} from "./parts";

interface BowKey {
  id: string;
  name: string;
  effect?: Worked | null;
  end_play?: Worked | null;
  remains?: Worked | null;
  window?: {low: number; high: number};
}
interface BowResult {
  body?: {
    read?: {sagitta: Worked; radius: Worked; from: number; to: number; even: boolean} | null;
    told_by_keys?: {curvature: Worked; keys_used: number} | null;
    comparison?: {contradict: boolean} | null;
  } | null;
  keys: BowKey[];
  posts?: {id: string; name: string; effect: Worked; remains?: Worked | null}[];
}
interface BowDocument {
  chord?: unknown;
  side?: "plus" | "minus";
  readings?: {station: unknown; value: unknown}[];
}

const said = (value: unknown): string => repeatsOf(value).join(", ");

/** Places along the straightedge and the gaps there: entered one pair after another, kept as one reading. */
function Straightedge({visit, whole, document}: Of) {
  const [station, setStation] = useState("");
  const [gap, setGap] = useState("");
  const [bad, setBad] = useState(false);
  const bow = (document as {body?: {bow?: BowDocument}} | null)?.body?.bow ?? {};
  const readings = bow.readings ?? [];
  const unit = choices.value.unit;
  const waits = unsent.value.some((e) => e.visit === visit && JSON.stringify(e.body).includes("/body/bow"));
  const keep = (next: BowDocument, says: string) =>
    keepReading({visit, at: "/body/bow", old: readingAt(whole, "", "/body/bow"), value: next, says: `${t("part.body")}: ${says}`});
  return (
    <section class="panel">
      <h2>{t("body.read")}</h2>
      <p>{t("body.how")}</p>
      {readings.length > 0 && <table><thead><tr><th scope="col">{t("body.station")}</th><th scope="col">{t("body.gap")}</th><th scope="col"><span class="unseen">{t("body.drop")}</span></th></tr></thead>
        <tbody>{readings.map((r, i) => <tr key={i}><td class="num">{said(r.station)}</td><td class="num">{said(r.value)}</td>
          <td><button type="button" class="quiet" aria-label={`${t("body.drop")}: ${said(r.station)}`} disabled={readings.length < 2 || waits}
            onClick={() => void keep({...bow, readings: readings.filter((_, at) => at !== i)}, t("body.drop"))}>{t("body.drop")}</button></td></tr>)}</tbody></table>}
      <form class="typed-pair" onSubmit={(e) => {
        e.preventDefault();
        const s = readLength(station, unit);
        const g = readLength(gap, unit);
        if (!s || !g || s.mm < 0) {
          setBad(true);
          return;
        }
        setBad(false);
        const next = {station: forBook(station, unit), value: forBook(gap, unit)};
        void keep({...bow, readings: [...readings, next]}, `${station} ${gap}`);
        setStation("");
        setGap("");
        e.currentTarget.querySelector("input")?.focus();
      }}>
        <label>{t("body.station")}<input value={station} autocomplete="off" inputMode="text" required aria-invalid={bad} onInput={(e) => setStation(e.currentTarget.value)} /></label>
        <label>{t("body.gap")}<input value={gap} autocomplete="off" inputMode="text" required aria-invalid={bad} onInput={(e) => setGap(e.currentTarget.value)} /></label>
        <button disabled={waits}>{t("key.enter")}</button>
      </form>
      {bad && <p class="wrong" role="alert">{t("key.typed-bad")}</p>}
      <fieldset><legend>{t("body.side")}</legend>
        {(["plus", "minus"] as const).map((s) => <label class="pick" key={s}><input type="radio" name="side" checked={(bow.side ?? "plus") === s} disabled={readings.length === 0 || waits}
          onChange={() => void keep({...bow, readings, side: s}, t("body.side"))} />{t(s === "plus" ? "body.plus" : "body.minus")}</label>)}
      </fieldset>
      {readings.length > 0 && readings.length < 3 && (
        <form class="typed-pair" onSubmit={(e) => {
          e.preventDefault();
          const typed = String(new FormData(e.currentTarget).get("chord"));
          const c = readLength(typed, unit);
          if (c && c.mm > 0) void keep({...bow, readings, chord: forBook(typed, unit)}, t("body.chord"));
          else setBad(true);
        }}>
          <label>{t("body.chord")}<input name="chord" autocomplete="off" required defaultValue={said(bow.chord)} /></label><button>{t("save")}</button>
        </form>)}
      {waits && <p class="unsent-mark" role="status">{t("unsent.kept")}</p>}
    </section>
  );
}

export function Body(of: Of) {
  const {visit} = of;
  const path = `/api/visits/${visit}/bow`;
  const all = useAnswer<BowResult>(`${path}?inputs=no`, visit);
  const r = all.value;
  if (!r) return all.trouble ? <><TroubleBox trouble={all.trouble} again={all.again} /><Straightedge {...of} /></> : <Waiting />;
  const read = r.body?.read ?? null;
  const bent = read !== null && Math.abs(read.sagitta.value) > read.sagitta.plus_minus;
  const told = r.keys.filter((k) => k.effect);
  const out = (k: BowKey) => k.remains && k.window && (k.remains.value < k.window.low || k.remains.value > k.window.high);
  return (
    <>
      <p class="sentence">{read === null ? t("body.unread") : bent ? t(read.sagitta.value > 0 ? "body.bent-plus" : "body.bent-minus") : t("body.straight")}</p>
      {read && <p class="figure-line">{t("body.bow", {bow: sayWorked({...read.sagitta, value: Math.abs(read.sagitta.value)}), over: showLength(read.to - read.from)})}</p>}
      {bent && <p>{t("body.does")}</p>}
      {r.body?.comparison && <p>{t(r.body.comparison.contradict ? "body.contradict" : "body.agree", {n: r.body.told_by_keys?.keys_used ?? 0})}</p>}
      {read && <Why path={path} visit={visit} pick={(x: BowResult) => x.body?.read?.sagitta}>{t("body.figure")}{" "}{sayWorked(read.sagitta)}</Why>}
      <Straightedge {...of} />
      {told.length > 0 && <>
        <h2>{t("body.keys")}</h2>
        <ul class="rows">{told.sort((a, b) => Math.abs(b.effect?.value ?? 0) - Math.abs(a.effect?.value ?? 0)).map((k) => (
          <Row key={k.id} id={k.id} name={<Typed>{k.name}</Typed>} wrong={out(k) ?? false}
            says={`${t((k.effect?.value ?? 0) < 0 ? "body.tightens" : "body.loosens")}; ${t(out(k) ? "body.then-wrong" : "body.then-right")}`} figure={k.effect ? sayWorked(k.effect) : ""}>
            {k.end_play && k.remains && <p>{t("body.then", {now: sayWorked(k.end_play), then: sayWorked(k.remains)})}</p>}
            <Why path={`${path}?key=${encodeURIComponent(k.id)}`} visit={visit} pick={(x: BowResult) => x.keys.find((y) => y.id === k.id)?.effect}>{t("body.effect")}{" "}{k.effect && sayWorked(k.effect)}</Why>
          </Row>))}</ul></>}
      {(r.posts ?? []).length > 0 && <>
        <h2>{t("body.posts")}</h2>
        <p>{many("body.posts.say", r.posts?.length ?? 0)}</p>
        <ul class="rows">{r.posts?.map((p) => <Row key={p.id} id={`post-${p.id}`} name={<Typed>{p.name}</Typed>} wrong={Math.abs(p.effect.value) > p.effect.plus_minus}
          says={p.effect.value < 0 ? t("body.tightens") : t("body.loosens")} figure={sayWorked(p.effect)}>
          {p.remains && <p>{t("body.posts.then", {then: sayWorked(p.remains)})}</p>}
        </Row>)}</ul></>}
      <p class="caution">{t("body.caution")}</p>
    </>
  );
}
