/** What every pad leaks, by its gap and under each finger, and all of them together. */
import {useAnswer} from "../live/news";
import {TroubleBox, Typed, Waiting, plain} from "../parts/parts";
import {Row, Why, Worked, sayWorked} from "../parts/worked";
import {showLength} from "../units/units";
import {many, t} from "../words/words";
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

export function Leak({visit}: Of) {
  const path = `/api/visits/${visit}/leak`;
  const all = useAnswer<LeakResult>(`${path}?inputs=no`, visit);
  const r = all.value;
  if (!r) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  const padded = r.keys.filter((k) => k.leak);
  if (padded.length === 0) return <p class="empty">{t("leak.none")}</p>;
  const leaks = padded.filter((k) => (k.leak?.value ?? 0) >= 0.05).sort((a, b) => (b.leak?.value ?? 0) - (a.leak?.value ?? 0));
  const tooMuch = padded.filter((k) => k.too_much).length;
  const as = (low: number, high: number) => t("leak.hole", {low: plain(low, 2), high: showLength(high)});
  return (
    <>
      <p class="sentence">{tooMuch > 0 ? many("leak.say", tooMuch, {all: padded.length}) : leaks.length > 0 ? t("leak.say-little") : t("leak.say-tight")}</p>
      <p class="figure-line">{t("leak.total", {leak: sayWorked(r.total), pressure: plain(r.pressure)})}{r.total.value > 0 && <>{", "}{as(r.hole_low, r.hole_high)}</>}</p>
      <Why path={path} visit={visit} pick={(x: LeakResult) => x.total}>{t("leak.together")}{" "}{sayWorked(r.total)}</Why>
      {r.measured && <p>{t("leak.read", {leak: sayWorked(r.measured.read)})}{" "}
        {r.measured.unexplained > 0.05 ? t("leak.unexplained", {leak: `${plain(r.measured.unexplained, 1)}\u00a0mL/s`}) : t("leak.explained")}</p>}
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
