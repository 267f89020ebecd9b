/** When each fit will be due again, as a range over years of playing. */
import {useAnswer} from "../live/news";
import {InBookWords, TroubleBox, Typed, Waiting, percent} from "../parts/parts";
import {Row} from "../parts/worked";
import {showFigure, showLength, showNumber} from "../units/units";
import {many, ofCode, t} from "../words/words";
import type {Of} from "./parts";

interface Years {
  early: number;
  middle: number;
  late: number;
  coverage: number;
}
interface WearKey {
  id: string;
  name: string;
  end_play?: {value: number; plus_minus: number};
  upper_edge?: number;
  tighter_than_window?: boolean;
  due_already?: number;
  due_years?: Years;
  fitted_to?: number;
  fitted_due_years?: Years;
  series_seen?: number;
  inputs?: {name: string; median: number; low: number; high: number; unit: string; origin: string; share_of_doubt: number}[];
}

/** "5 months", "12 years", "over 100 years". */
export function sayYears(years: number): string {
  if (years > 100) return t("wear.over");
  if (years >= 2) return many("wear.years", Math.round(years));
  const months = Math.round(years * 12);
  return months < 1 ? t("wear.under-month") : many("wear.months", months);
}
const range = (y: Years): string => y.early > 100 ? t("wear.over") : `${sayYears(y.early)} ${t("to")} ${sayYears(y.late)}`;

function Inputs({visit, id}: {visit: string; id: string}) {
  const all = useAnswer<{keys: WearKey[]}>(`/api/visits/${visit}/wear?key=${encodeURIComponent(id)}`, visit);
  if (!all.value) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  const inputs = [...(all.value.keys[0]?.inputs ?? [])].sort((a, b) => b.share_of_doubt - a.share_of_doubt);
  return (
    <ul>{inputs.map((x) => <li key={x.name}><InBookWords>{x.name}</InBookWords>{" "}{showNumber(x.low, 3)}{" "}{t("to")}{" "}{showNumber(x.high, 3)}{x.unit && `\u00a0${x.unit}`}{", "}
      {ofCode("origin", x.origin)}{"; "}{t("wear.doubt", {share: percent(x.share_of_doubt)})}</li>)}</ul>
  );
}

export function Wear({visit}: Of) {
  const all = useAnswer<{keys: WearKey[]}>(`/api/visits/${visit}/wear?inputs=no`, visit);
  const r = all.value;
  if (!r) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  const told = r.keys.filter((k) => k.end_play && k.due_years);
  if (told.length === 0) return <p class="empty">{t("wear.none")}</p>;
  const due = told.filter((k) => (k.due_already ?? 0) > 0.5);
  const rest = told.filter((k) => !due.includes(k)).sort((a, b) => (a.due_years?.middle ?? 0) - (b.due_years?.middle ?? 0));
  return (
    <>
      <p class="sentence">{due.length === 0 ? t("wear.none-due") : many("wear.due", due.length, {all: told.length})}</p>
      <p class="figure-line">{t("wear.say")}</p>
      <ul class="rows">{[...due, ...rest].map((k) => (
        <Row key={k.id} id={k.id} name={<Typed>{k.name}</Typed>} wrong={due.includes(k)}
          says={due.includes(k) ? t("wear.now") : k.tighter_than_window ? t("wear.tight") : t("wear.in")}
          figure={due.includes(k) || !k.due_years ? "" : range(k.due_years)}>
          {k.end_play && k.upper_edge !== undefined && <p>{t("wear.play", {play: showFigure(k.end_play, t("to")), edge: showLength(k.upper_edge)})}</p>}
          {k.fitted_to !== undefined && k.fitted_due_years && <p>{t("wear.fitted", {play: showLength(k.fitted_to), range: range(k.fitted_due_years), middle: sayYears(k.fitted_due_years.middle)})}</p>}
          <details><summary>{t("key.why.inputs")}</summary><Inputs visit={visit} id={k.id} /></details>
        </Row>))}</ul>
      <p class="faint-words">{t("wear.caution")}</p>
    </>
  );
}
