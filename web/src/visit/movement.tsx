/** How keys move: springs, touch, oil, and the way back in the cold. */
import {useAnswer} from "../live/news";
import {TroubleBox, Typed, Waiting, plain} from "../parts/parts";
import {Row, Why, Worked, sayWorked} from "../parts/worked";
import {showNumber} from "../units/units";
import {many, ofCode, t, Word} from "../words/words";
import type {Of} from "./parts";

interface MovingKey {
  id: string;
  name: string;
  verdict?: string;
  figures?: Partial<Record<string, Worked>>;
  thickest_oil?: string | null;
}
interface ActionResult {
  oil: string;
  limit_ms: number;
  temperatures: {bench: number; coldest: number; warmest: number};
  keys: MovingKey[];
  oils: {name: string; in_use: boolean; keys_in_time: number; keys_quiet: number; keys_told: number}[];
}
const shown = ["return-bench", "return-cold", "touch-start", "touch-hold", "spring-rest", "spring-pressed", "stress-share"] as const;

export function Movement({visit}: Of) {
  const path = `/api/visits/${visit}/action`;
  const all = useAnswer<ActionResult>(`${path}?inputs=no`, visit);
  const r = all.value;
  if (!r) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  const told = r.keys.filter((k) => k.verdict && k.verdict !== "cannot tell");
  const slow = told.filter((k) => k.verdict !== "quick");
  const rest = r.keys.filter((k) => !told.includes(k));
  const degrees = (x: number) => `${showNumber(x, 0)}\u00a0°C`;
  return (
    <>
      {told.length === 0 ? <p class="empty">{t("move.none")}</p> : <>
        <p class="sentence">{slow.length === 0 ? t("move.all-quick") : many("move.slow", slow.length, {all: told.length})}</p>
        <p class="figure-line">{t("move.limit", {ms: plain(r.limit_ms), cold: degrees(r.temperatures.coldest), bench: degrees(r.temperatures.bench)})}</p></>}
      <section class="panel">
        <h2>{t("move.oil")}</h2>
        <p>{r.oil ? <>{t("move.oil.now")}{" "}<Typed>{r.oil}</Typed></> : t("move.oil.unsaid")}</p>
        {r.oils.length > 0 && <div class="scroll" tabIndex={0} role="region" aria-label={t("move.oil")}><table>
          <thead><tr><th scope="col">{t("move.oil")}</th><th scope="col">{t("move.in-time")}</th><th scope="col">{t("move.quiet")}</th></tr></thead>
          <tbody>{r.oils.map((o) => <tr key={o.name}><td><Typed>{o.name}</Typed>{o.in_use && <>{" "}<span class="chip">{t("move.in-use")}</span></>}</td>
            <td class="num">{t("of", {n: o.keys_in_time, all: o.keys_told})}</td><td class="num">{t("of", {n: o.keys_quiet, all: o.keys_told})}</td></tr>)}</tbody></table></div>}
        <p class="faint-words">{t("move.oil.say")}</p>
      </section>
      <ul class="rows">{[...slow, ...told.filter((k) => !slow.includes(k))].map((k) => (
        <Row key={k.id} id={k.id} name={<Typed>{k.name}</Typed>} wrong={k.verdict !== "quick"} says={ofCode("moves", k.verdict ?? "")}
          figure={k.figures?.["return-cold"] ? sayWorked(k.figures["return-cold"]) : ""}>
          <div class="figure-list">{shown.filter((f) => k.figures?.[f]).map((f) => {
            const w = k.figures?.[f] as Worked;
            return <Why key={f} path={`${path}?key=${encodeURIComponent(k.id)}`} visit={visit} pick={(x: ActionResult) => x.keys.find((y) => y.id === k.id)?.figures?.[f]}>
              {t(`moving.${f}` as Word)}{" "}<span class="num">{f === "stress-share" ? `${showNumber(100 * w.value, 0)} ± ${showNumber(100 * w.plus_minus, 0)}\u00a0%` : sayWorked(w)}</span></Why>;
          })}</div>
          {k.thickest_oil && <p>{t("move.thickest")}{" "}<Typed>{k.thickest_oil}</Typed></p>}
        </Row>))}</ul>
      {rest.length > 0 && <details><summary>{many("move.untold", rest.length)}</summary>
        <p>{t("move.untold.say")}</p><p>{rest.map((k, i) => <span key={k.id}>{i > 0 && ", "}<Typed>{k.name}</Typed></span>)}</p></details>}
    </>
  );
}
