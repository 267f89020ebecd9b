/** Tubes that share a rod: their gaps, their clearance, the rod's bow, and the least work that brings all right. */
import {useAnswer} from "../live/news";
import {InBookWords, TroubleBox, Typed, Waiting, plain, sayWindow} from "../parts/parts";
import {Row, Worked, sayWorked} from "../parts/worked";
import {against} from "../screens/key";
import {bareLength, showLength} from "../units/units";
import {many, ofCode, t} from "../words/words";
import {sayVerdict} from "../parts/parts";
import type {Of} from "./parts";

interface Tube {
  name: string;
  gap: number;
  clearance: Worked;
  fit: {least: number; most: number};
  bow?: {touches: string; room: Worked} | null;
}
interface StackStep {
  work: "swedge" | "face" | "move post";
  tube?: number;
  post?: number;
  side: "upper" | "lower";
  amount: number;
  how: string;
  tell: string;
  measure_after: boolean;
}
interface StackPlan {
  minutes: number;
  steps: StackStep[];
}
interface StackResult {
  stacks: {
    id: string;
    name: string;
    problem?: {what: string; expected: string};
    rod: Worked;
    fit: string;
    tubes: Tube[];
    gaps: {name: string; end_play: Worked; window: {low: number; high: number}}[];
    plans: StackPlan[];
  }[];
}

const sayStackStep = (s: StackStep, tubes: Tube[]): string => ofCode("rod-step", s.work, {
  tube: s.tube === undefined ? s.post ?? "" : tubes[s.tube - 1]?.name ?? s.tube, side: t(s.side === "upper" ? "rods.above" : "rods.below"),
  amount: showLength(Math.abs(s.amount)),
});

export function Rods({visit, nameOf}: Of) {
  const path = `/api/visits/${visit}/stack`;
  const all = useAnswer<StackResult>(`${path}?inputs=no`, visit);
  const r = all.value;
  if (!r) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  if (r.stacks.length === 0) return <p class="empty">{t("rods.none")}</p>;
  return (
    <>
      {r.stacks.map((s) => {
        if (s.problem) return <section key={s.id} class="panel"><h2><Typed>{s.name || nameOf(s.id)}</Typed></h2><p class="trouble"><InBookWords>{s.problem.what}</InBookWords>{"; "}<InBookWords>{s.problem.expected}</InBookWords></p></section>;
        const verdicts = s.gaps.map((g) => against(g.end_play.value, g.window));
        const wrong = verdicts.filter((v) => v !== "sound").length;
        const plan = s.plans[0];
        return (
          <section key={s.id} class="panel">
            <h2><Typed>{s.name || s.id}</Typed></h2>
            <p class="sentence">{wrong === 0 ? t("rods.right") : many("rods.wrong", wrong, {all: s.gaps.length})}</p>
            <p class="figure-line">{t("rods.rod", {rod: sayWorked(s.rod), fit: s.fit})}</p>
            <ul class="rows">
              {s.gaps.map((g, i) => <Row key={g.name} id={g.name} name={<Typed>{t("rods.gap", {n: i + 1, tubes: s.tubes.filter((x) => x.gap === i + 1).map((x) => x.name).join(", ")})}</Typed>}
                wrong={verdicts[i] !== "sound"} says={sayVerdict(verdicts[i] ?? "cannot tell")} figure={sayWorked(g.end_play)}>
                <p>{t("work.window", sayWindow(g.window.low, g.window.high))}</p></Row>)}
              {s.tubes.map((x) => {
                const tight = x.clearance.value < x.fit.least;
                const off = tight || x.clearance.value > x.fit.most;
                const binds = (x.bow?.room.value ?? 1) < 0;
                return <Row key={x.name} id={x.name} name={<Typed>{x.name}</Typed>} wrong={off || binds}
                  says={binds ? t("rods.bow-binds") : off ? t(tight ? "rods.close" : "rods.wide") : t("rods.runs")} figure={sayWorked(x.clearance)}>
                  <p>{t("rods.wanted", {fit: s.fit, low: bareLength(x.fit.least), high: showLength(x.fit.most)})}</p>
                  {x.bow && <p>{t("rods.room", {room: sayWorked(x.bow.room)})}</p>}
                </Row>;
              })}
            </ul>
            {plan && plan.steps.length > 0 && <>
              <h3>{t("rods.plan")}{" ("}{t("key.plan.minutes", {n: plain(plan.minutes, 0)})}{")"}</h3>
              <ol class="steps">{plan.steps.map((x, i) => <li key={i}>{sayStackStep(x, s.tubes)}{x.measure_after && <>{"; "}{t("rods.measure")}</>}
                {x.how && <details><summary>{t("rods.how")}</summary><p><InBookWords>{x.how}</InBookWords></p></details>}</li>)}</ol>
            </>}
            {wrong > 0 && (!plan || plan.steps.length === 0) && <p>{t("rods.no-plan")}</p>}
          </section>
        );
      })}
      {r.stacks.some((s) => (s.plans?.[0]?.steps.length ?? 0) > 0) && <p class="caution">{t("work.caution")}</p>}
    </>
  );
}
