/** How every key fits where it is played: cold, warm, dry and wet. */
import {useState} from "preact/hooks";
import {useAnswer} from "../live/news";
import {TroubleBox, Typed, Waiting, sayWindow} from "../parts/parts";
import {Row, Why, Worked, sayWorked} from "../parts/worked";
import {showNumber} from "../units/units";
import {many, ofCode, t} from "../words/words";
import type {Of} from "./parts";

interface SeasonKey {
  id: string;
  name: string;
  verdict?: string;
  binds: "no" | "perhaps" | "yes";
  tight: boolean;
  rattles: "no" | "perhaps" | "yes";
  wrong_already: boolean;
  end_play?: {bench: Worked; least: Worked; least_where: string; most: Worked; most_where: string};
  bench_window?: {low: number; high: number; crossed: boolean};
}
interface SeasonResult {
  service: string;
  temperature: {bench: number; coldest: number; warmest: number};
  moisture: {drier: number; wetter: number};
  keys: SeasonKey[];
}

function sayKey(k: SeasonKey): string {
  if (k.verdict === "holds") return t("season.holds");
  if (k.wrong_already) return t("season.already");
  if (k.binds !== "no") return t(k.binds === "yes" ? "season.binds" : "season.may-bind", {where: ofCode("where", k.end_play?.least_where ?? "")});
  if (k.tight) return t("season.tight", {where: ofCode("where", k.end_play?.least_where ?? "")});
  return t(k.rattles === "yes" ? "season.rattles" : "season.may-rattle", {where: ofCode("where", k.end_play?.most_where ?? "")});
}

export function Season({visit}: Of) {
  const [service, setService] = useState("");
  const shop = useAnswer<{presets?: {services?: {name: string}[]}}>("/api/shop", "");
  const path = `/api/visits/${visit}/season`;
  const query = service ? `&service=${encodeURIComponent(service)}` : "";
  const all = useAnswer<SeasonResult>(`${path}?inputs=no${query}`, visit);
  const r = all.value;
  const services = shop.value?.presets?.services ?? [];
  const choice = <label>{t("season.played")}<select value={service || (r?.service ?? "")} onChange={(e) => setService(e.currentTarget.value)}>
    {r && !services.some((s) => s.name === r.service) && <option value="">{r.service || t("season.as-said")}</option>}
    {services.map((s) => <option key={s.name} value={s.name}>{s.name}</option>)}</select></label>;
  if (!r) return all.trouble ? <>{choice}<TroubleBox trouble={all.trouble} again={all.again} /></> : <Waiting />;
  const told = r.keys.filter((k) => k.end_play);
  const not = told.filter((k) => k.verdict !== "holds");
  const changes = not.filter((k) => !k.wrong_already).length;
  const degrees = (x: number) => `${showNumber(x, 0)}\u00a0°C`;
  return (
    <>
      <p class="sentence">{not.length === 0 ? t("season.all") : changes === 0 ? many("season.no-worse", not.length) : many("season.say", changes, {all: told.length})}</p>
      <p class="figure-line">{t("season.range", {cold: degrees(r.temperature.coldest), warm: degrees(r.temperature.warmest), bench: degrees(r.temperature.bench)})}
        {(r.moisture.drier !== 0 || r.moisture.wetter !== 0) && <>{"; "}{t("season.moist", {dry: showNumber(r.moisture.drier, 1), wet: showNumber(r.moisture.wetter, 1)})}</>}</p>
      {choice}
      <ul class="rows">{[...not.filter((k) => !k.wrong_already), ...not.filter((k) => k.wrong_already), ...told.filter((k) => !not.includes(k))].map((k) => (
        <Row key={k.id} id={k.id} name={<Typed>{k.name}</Typed>} wrong={k.verdict !== "holds"} says={sayKey(k)} figure={k.end_play ? sayWorked(k.end_play.bench) : ""}>
          {k.end_play && <dl><dt>{t("season.least", {where: ofCode("where", k.end_play.least_where)})}</dt><dd>{sayWorked(k.end_play.least)}</dd>
            <dt>{t("season.most", {where: ofCode("where", k.end_play.most_where)})}</dt><dd>{sayWorked(k.end_play.most)}</dd></dl>}
          {k.bench_window && <p>{k.bench_window.crossed ? t("season.crossed") : t("season.window", sayWindow(k.bench_window.low, k.bench_window.high))}</p>}
          <Why path={`${path}?key=${encodeURIComponent(k.id)}${query}`} visit={visit} pick={(x: SeasonResult) => x.keys.find((y) => y.id === k.id)?.end_play?.least}>
            {t("season.least", {where: ofCode("where", k.end_play?.least_where ?? "")})}</Why>
        </Row>))}</ul>
    </>
  );
}
