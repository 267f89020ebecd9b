/** What the time and the money buy: the steps of the ladder, what is done with the time chosen, and what is not. */
import {useState} from "preact/hooks";
import {useAnswer} from "../live/news";
import type {Budget, Work} from "../api/types";
import {InSomeWords, TroubleBox, Typed, Waiting, plain} from "../parts/parts";
import {Row, Why, sayWorked} from "../parts/worked";
import {showNumber} from "../units/units";
import {many, ofCode, t} from "../words/words";
import type {Of} from "./parts";

/** Works that are no plan of a key's. */
const noPlans = ["screws home", "posts", "straighten", "by its look"];

export const sayMoney = (money: string, currency: string): string => `${showNumber(Number(money), 2)}\u00a0${currency}`.trim();

export function Works({visit, nameOf}: Of) {
  const [minutes, set] = useState<number | null>(null);
  const [shown, show] = useState<number | null>(null);
  const path = `/api/visits/${visit}/budget`;
  const query = shown === null ? "" : `minutes=${shown}`;
  const all = useAnswer<Budget>(`${path}?inputs=no${query && `&${query}`}`, visit);
  const first = useAnswer<Budget>(`${path}?inputs=no&minutes=100000&money=1000000`, visit);
  const r = all.value;
  const ladder = first.value?.ladder ?? r?.ladder ?? [];
  const most = Math.max(60, Math.ceil((ladder[ladder.length - 1]?.minutes ?? 240) / 10) * 10);
  const at = minutes ?? r?.budget.minutes ?? 120;
  const to = (m: number) => {
    set(m);
    show(m);
  };
  const named = (w: Work) => w.doing
    ? <>{w.about && <><Typed>{nameOf(w.about)}</Typed>{": "}</>}{noPlans.includes(w.doing) ? ofCode("doing", w.doing) : ofCode("approach", w.doing)}</>
    : <InSomeWords>{w.name}</InSomeWords>;
  const row = (w: Work, done: boolean) => (
    <Row key={w.id} id={w.id} name={named(w)} wrong={false}
      says={done ? (w.leak.value > 0.05 ? t("visit.worth", {leak: plain(w.leak.value, 1)}) : t("works.feel", {feel: showNumber(w.feel.value, 1)})) : ofCode("left", w.why)}
      figure={`${t("key.plan.minutes", {n: plain(w.minutes.value, 0)})}${r?.currency ? `, ${sayMoney(w.money, r.currency)}` : ""}`}>
      <ul>{w.steps.map((s) => <li key={s}><InSomeWords>{s}</InSomeWords></li>)}</ul>
      {done && <Why path={`${path}?${query}`} visit={visit} pick={(x: Budget) => x.done.find((y) => y.id === w.id)?.feel}>{t("works.feel", {feel: sayWorked(w.feel)})}</Why>}
    </Row>
  );
  if (!(r || all.trouble) || !(first.value || first.trouble)) return <Waiting />;
  return (
    <>
      {r ? <p class="sentence">{many("visit.buys", r.done.length, {minutes: plain(r.total.minutes, 0), money: sayMoney(r.total.money, r.currency)})}</p> :
        all.trouble && <TroubleBox trouble={all.trouble} again={all.again} />}
      {r && <p class="figure-line">{t("works.brings", {leak: plain(r.total.leak, 0), feel: showNumber(r.total.feel, 1)})}{". "}{t("works.chance", {share: showNumber(100 * r.chance_within, 0), most: plain(r.nine_in_ten_minutes, 0)})}</p>}
      <label>{t("visit.minutes")}{": "}<output>{at}</output>
        <input type="range" min={0} max={most} step={5} value={at} onInput={(e) => set(Number(e.currentTarget.value))} onChange={(e) => show(Number(e.currentTarget.value))} /></label>
      {ladder.length > 1 && <section class="panel">
        <h2>{t("works.ladder")}</h2>
        <p class="faint-words">{t("works.ladder.say")}</p>
        <ol class="ladder">{ladder.slice(1).map((s) => (
          <li key={s.minutes}><button type="button" aria-pressed={Math.abs(Math.ceil(s.minutes) - at) < 0.5} onClick={() => to(Math.ceil(s.minutes))}>
            <strong>{t("key.plan.minutes", {n: plain(s.minutes, 0)})}</strong>
            <span>{many("works.n", s.works.length)}{r?.currency ? `, ${sayMoney(s.money, r.currency)}` : ""}</span>
            <span class="faint-words">{t("works.brings", {leak: plain(s.leak, 0), feel: showNumber(s.feel, 1)})}</span></button></li>))}</ol>
      </section>}
      {r && r.done.length > 0 && <><h2>{t("works.order")}</h2><ol class="rows numbered">{r.done.map((w) => row(w, true))}</ol></>}
      {r && <details><summary>{t("visit.leaves")}{" ("}{r.left_out.length}{")"}</summary>
        {r.left_out.length === 0 ? <p>{t("visit.leaves.none")}</p> : <ul class="rows">{r.left_out.map((w) => row(w, false))}</ul>}</details>}
      <p class="caution">{t("work.caution")}</p>
    </>
  );
}
