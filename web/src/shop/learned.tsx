/** What finished visits have taught, against the shop's presets; and how to begin afresh. */
import {useState} from "preact/hooks";
import {Trouble, get, me, send} from "../api/client";
import {useAnswer} from "../live/news";
import {newId} from "../outbox/ids";
import {TroubleBox, Typed, Waiting, percent, plain} from "../parts/parts";
import {Row} from "../parts/worked";
import {bareLength, showLength, showNumber, today} from "../units/units";
import {many, ofCode, t} from "../words/words";

interface From {
  weight: number;
  jobs: string[];
}
interface LearnedResult {
  jobs: number;
  take_off: {cutter: string | null; person: string | null; per_turn: number; low: number; high: number; preset: number; from: From}[];
  minutes: {of: string; person: string | null; minutes: {set_up: number; per_turn: number}; preset: {set_up: number; per_turn: number} | null; from: From}[];
  patterns: {pattern: string; field: string; unit: string; value: number; plus_minus: number; from: From}[];
  causes: {pattern: string | null; shares: {cause: string; share: number; before: number; jobs: number}[]; from: From}[];
}
const subjects = ["take-off", "minutes", "patterns", "causes"] as const;

function Forget({again}: {again: () => void}) {
  const [why, setWhy] = useState("");
  const [done, setDone] = useState(false);
  const forget = async (event: SubmitEvent) => {
    event.preventDefault();
    const typed = new FormData(event.currentTarget as HTMLFormElement);
    try {
      // What was forgotten before stays so.
      const {forgotten = []} = await get<{forgotten?: unknown[]}>("/api/shop");
      await send("POST", "/api/settings", {id: newId(), at: "/forgotten", value: [...forgotten, {what: typed.get("what"), before: typed.get("before")}]});
      setWhy("");
      setDone(true);
      again();
    } catch (error) {
      setWhy(error instanceof Trouble && error.reached ? t("trouble.other", {why: error.says}) : t("trouble.away"));
    }
  };
  return (
    <details class="panel"><summary><h2>{t("learned.forget")}</h2></summary>
      <p>{t("learned.forget.say")}</p>
      <form onSubmit={(e) => void forget(e)}>
        <div class="columns">
          <label>{t("learned.what")}<select name="what">{subjects.map((s) => <option key={s} value={s}>{ofCode("lesson", s)}</option>)}</select></label>
          <label>{t("learned.before")}<input type="date" name="before" required max={today()} defaultValue={today()} /></label>
        </div>
        {why && <p class="trouble" role="alert">{why}</p>}
        <button>{t("learned.forget.do")}</button>{" "}{done && <span role="status">{t("learned.forgotten")}</span>}
      </form></details>
  );
}

export function Learned() {
  const all = useAnswer<LearnedResult>("/api/learned", "");
  const r = all.value;
  if (!r) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  const weighs = (f: From) => f.jobs.length === 0 ? ofCode("origin", "preset") : many("learned.weighs", f.jobs.length, {share: percent(f.weight)});
  const shares = r.causes[0]?.shares.filter((s) => s.share >= 0.005).sort((a, b) => b.share - a.share) ?? [];
  const taught = r.take_off.filter((x) => x.from.jobs.length > 0);
  return (
    <>
      <p class="sentence">{r.jobs === 0 ? t("learned.none") : many("learned.say", r.jobs)}</p>
      <p class="figure-line">{t(r.jobs === 0 ? "learned.presets" : "learned.how")}</p>
      <h2>{t("lesson.take-off")}</h2>
      <ul class="rows">{(taught.length > 0 ? taught : r.take_off).map((x, i) => (
        <Row key={i} id={`take-off-${i}`} name={<Typed>{[x.cutter ?? t("learned.any-cutter"), x.person].filter(Boolean).join(", ")}</Typed>} wrong={false} says={weighs(x.from)} figure={t("learned.a-turn", {off: showLength(x.per_turn)})}>
          <p>{t("learned.between", {low: bareLength(x.low), high: showLength(x.high)})}{"; "}{t("learned.preset", {value: showLength(x.preset)})}</p></Row>))}</ul>
      {r.minutes.length > 0 && <><h2>{t("lesson.minutes")}</h2>
        <ul class="rows">{r.minutes.map((x, i) => <Row key={i} id={`minutes-${i}`} name={<>{ofCode("job", x.of)}{x.person && <>{", "}<Typed>{x.person}</Typed></>}</>} wrong={false} says={weighs(x.from)}
          figure={t("key.plan.minutes", {n: plain(x.minutes.set_up, 1)})}>
          <p>{x.minutes.per_turn > 0 && t("learned.per-turn", {n: plain(x.minutes.per_turn, 1)})}{" "}{x.preset && t("learned.preset", {value: t("key.plan.minutes", {n: plain(x.preset.set_up, 1)})})}</p></Row>)}</ul></>}
      {r.patterns.length > 0 && <><h2>{t("lesson.patterns")}</h2>
        <ul class="rows">{r.patterns.map((x, i) => <Row key={i} id={`pattern-${i}`} name={<><Typed>{x.pattern}</Typed>{": "}{ofCode("measure", x.field)}</>} wrong={false} says={weighs(x.from)}
          figure={x.unit === "deg" ? `${showNumber(x.value, 2)} ± ${showNumber(x.plus_minus, 2)}°` : `${bareLength(x.value)} ± ${showLength(x.plus_minus)}`} />)}</ul></>}
      <h2>{t("lesson.causes")}</h2>
      <div class="scroll" tabIndex={0} role="region" aria-label={t("lesson.causes")}><table>
        <thead><tr><th scope="col">{t("learned.cause")}</th><th scope="col">{t("learned.now")}</th><th scope="col">{t("learned.then")}</th><th scope="col">{t("learned.found")}</th></tr></thead>
        <tbody>{shares.map((s) => <tr key={s.cause}><td>{ofCode("cause", s.cause)}</td><td class="num">{percent(s.share)}{"\u00a0%"}</td><td class="num">{percent(s.before)}{"\u00a0%"}</td><td class="num">{s.jobs}</td></tr>)}</tbody></table></div>
      {me.value?.right === "owner" && <Forget again={all.again} />}
    </>
  );
}
