/** One key: the answer first, then the figure, then where it comes from. */
import {Signal, useSignal} from "@preact/signals";
import {useLayoutEffect, useState} from "preact/hooks";
import type {Cause, Fit, FitKey, InstrumentDocument, Led, Plan, Verdict, Why, WholeVisit} from "../api/types";
import {useAnswer} from "../live/news";
import type {Strip} from "../drawing/layout";
import {Papers} from "../parts/papers";
import {Section} from "../drawing/section";
import {HingeStrip} from "../drawing/strip";
import {beforeMetal, gateShare} from "../parts/gate";
import {FigureOf, InBookWords, TroubleBox, Typed, VerdictSign, Waiting, evidenceAnswer, percent, plain, sayStep, sayTurns, sayVerdict,
  sayWindow, useKeys} from "../parts/parts";
import {go, link, place, Screen} from "../route";
import {readLength, showLength, showNumber} from "../units/units";
import {capital, ofCode, t, Word} from "../words/words";
import {ReadingPlace, Readings, repeatsOf} from "./readings";
import {Proof} from "./proof";
import {NextDo, WorkOn} from "./work";

const firstOf = (value: unknown): number | null => {
  const [text] = repeatsOf(value);
  return text === undefined ? null : readLength(text, "mm")?.mm ?? null;
};

/** What is drawn: figures of the fit, sizes of the document, and what is being typed. */
export function stripOf(key: FitKey, document: InstrumentDocument | null, typed: Partial<Record<ReadingPlace, number>>,
                        mayCut: boolean): Strip | null {
  const like = document?.keys.find((k) => k.id === key.id);
  const span = firstOf(like?.hinge?.span);
  const length = firstOf(like?.hinge?.key_length) ?? (span === null ? null : span - (key.figures["face-gap"]?.value ?? 0));
  const play = key.figures["end-play"];
  if (span === null || length === null || !play) return null;
  const plan = mayCut ? key.plans[0] : undefined;
  const cut = (end: string) => plan?.steps.filter((s) => s.work === "seat-cut" && s.end === end).reduce((sum, s) => sum + s.amount, 0) ?? 0;
  const as = typed["/readings/end_play"];
  return {
    span, keyLength: length,
    gapUpper: typed["/readings/gap_upper"] ?? key.figures["gap-upper"]?.value ?? 0,
    gapLower: typed["/readings/gap_lower"] ?? key.figures["gap-lower"]?.value ?? 0,
    play: as ?? play.value,
    playDoubt: as === undefined ? play.plus_minus : 0,
    low: key.window.low, high: key.window.high,
    after: plan && plan.steps.length > 0 ? plan.after["end-play"] ?? null : null,
    cutUpper: cut("upper"), cutLower: cut("lower"),
    padStation: firstOf(like?.pad?.station), toneHole: firstOf(like?.pad?.tone_hole) ?? 0,
    padGap: as === undefined ? key.figures["pad-gap"]?.value ?? null : null,
  };
}

/** Where an end play stands against its window, without its doubt. */
export function against(mm: number, window: {low: number; high: number}): Verdict {
  return mm < 0 ? "binds" : mm < window.low ? "tight" : mm > window.high ? "loose" : "sound";
}

/** What stands before the first plan's metal; undefined while it is not known. */
function gateOf(fit: FitKey, led: Led | null) {
  const metal = fit.plans[0]?.metal ?? 0;
  if (!(metal > 0)) return null;
  return led ? beforeMetal(metal, led.state.next, led.state.before_cut) : undefined;
}

function ToDo({fit, led}: {fit: FitKey; led: Led | null}) {
  const plan = fit.plans[0];
  const gate = gateOf(fit, led);
  const least = plan ? leastLeft(plan) : null;
  if (gate === undefined) return <p class="to-do" role="status">{t("loading")}</p>;
  if (led?.state.finished && led.state.next.what === "done") return <p class="to-do">{t("work.finished")}</p>;
  if (!plan || plan.steps.length === 0) return <p class="to-do">{fit.verdict === "sound" ? t("says.nothing") : "\u00a0"}</p>;
  const steps = plan.steps.map(sayStep).join("; ");
  const left = least ? t("says.reserve", {left: showLength(least.left), limit: ofCode("limit", least.limit), end: t(least.end === "upper" ? "end.upper" : "end.lower")}) : "";
  if (!gate) return <p class="to-do">{t("says.first-step", {step: steps})}{" "}{left}</p>;
  return (
    <div class="to-do" data-gate={gate.cause}>
      <p><strong>{gate.check ? t("says.look-first", {check: ofCode("check", gate.check)}) : t("says.right-first", {cause: ofCode("cause", gate.cause)})}</strong>
        {gate.share >= gateShare && <>{" "}{t("says.no-metal", {cause: capital(ofCode("cause", gate.cause)), share: percent(gate.share)})}</>}</p>
      <p class="faint-words">{t("says.then", {step: steps})}</p>
    </div>
  );
}

type Typing = Signal<Partial<Record<ReadingPlace, number>>>;

/** What follows what is typed, and nothing else: while a number is typed the rest of the screen is not made anew. */
function AsTyped({fit, typing}: {fit: FitKey; typing: Typing}) {
  const typed = typing.value["/readings/end_play"];
  return <p class="as-typed" role="status">{typed === undefined ? "\u00a0" : t("says.typed", {verdict: sayVerdict(against(typed, fit.window))})}</p>;
}
function LiveStrip({fit, document, mayCut, typing}: {fit: FitKey; document: InstrumentDocument | null; mayCut: boolean; typing: Typing}) {
  const strip = stripOf(fit, document, typing.value, mayCut);
  return strip && <HingeStrip name={fit.name || fit.id} strip={strip} />;
}

function Answer({fit, led, typing}: {fit: FitKey; led: Led | null; typing: Typing}) {
  const play = fit.figures["end-play"];
  const cause = led?.state.causes[0];
  const window = sayWindow(fit.window.low, fit.window.high);
  return (
    <div class={`answer answer-${fit.verdict.replace(" ", "-")}`}>
      <p class="sentence"><VerdictSign verdict={fit.verdict} size={44} />
        <span>{t(`says.${fit.verdict}` as Word, {key: fit.name || fit.id})}</span></p>
      {play && <p class="figure-line">{play.value < 0 ? t("says.bind", {bind: showLength(-play.value), ...window}) :
        <>{t("figure.end-play")}{" "}<FigureOf figure={play} />{"; "}{t("draw.window")}{" "}{window.low}{" "}{t("to")}{" "}{window.high}</>}</p>}
      {cause && cause.cause !== "sound" && fit.verdict !== "sound" &&
        <p>{t("says.most-likely", {cause: ofCode("cause", cause.cause), share: percent(cause.share)})}</p>}
      <ToDo fit={fit} led={led} />
      <AsTyped fit={fit} typing={typing} />
    </div>
  );
}

function leastLeft(plan: Plan) {
  let best: {limit: string; end: "upper" | "lower"; left: number} | null = null;
  for (const r of plan.reserves) {
    if (r.left === null || r.limit === "face gap" || !plan.steps.some((s) => s.end === r.end)) continue;
    if (best === null || r.left < best.left) best = {limit: r.limit, end: r.end, left: r.left};
  }
  return best;
}

function Evidence({list, word}: {list: Cause["for"]; word: Word}) {
  return (
    <ul>{list.map((e) => (
      <li key={e.check}>{ofCode("check", e.check)}{": "}
        {t(word, {answer: evidenceAnswer(e), times: e.times > 100 ? t("key.over-100") : showNumber(e.times, e.times >= 10 ? 0 : 1)})}</li>
    ))}</ul>
  );
}

function Causes({causes}: {causes: Cause[]}) {
  const likely = causes.filter((c, i) => i === 0 || c.share >= 0.05);
  const rest = causes.filter((c) => !likely.includes(c));
  const row = (c: Cause) => (
    <li key={c.cause}>
      <details>
        <summary><strong>{ofCode("cause", c.cause)}</strong>{" "}<span>{t("key.causes.sure", {share: percent(c.share)})}</span>
          <meter min={0} max={1} value={c.share} aria-label={ofCode("cause", c.cause)} /></summary>
        <p>{ofCode("meaning", c.cause)}</p>
        {c.for.length > 0 && <><h3>{t("key.for")}</h3><Evidence list={c.for} word="key.times.with" /></>}
        {c.against.length > 0 && <><h3>{t("key.against")}</h3><Evidence list={c.against} word="key.times.without" /></>}
        {c.for.length + c.against.length === 0 && <p>{t("key.none-told")}</p>}
      </details>
    </li>
  );
  return (
    <section class="panel">
      <h2>{t("key.causes")}</h2>
      <ul class="causes">{likely.map(row)}</ul>
      {rest.length > 0 && <details><summary>{t("key.less-likely", {n: rest.length})}</summary><ul class="causes">{rest.map(row)}</ul></details>}
    </section>
  );
}

/** What a plan uses up of a limit that nobody measured, in the person's words where the plan's figures say all of it. */
function unmeasured(plan: Plan) {
  const used = (end: string) => plan.steps.filter((s) => s.end === end && ["seat-cut", "turn-screw"].includes(s.work))
    .reduce((sum, s) => sum + Math.abs(s.amount), 0);
  const limits = plan.reserves.filter((r) => r.left === null && used(r.end) > 0);
  if (limits.length !== plan.measure_first.length) return plan.measure_first.map((x, i) => <span key={x}>{i > 0 && "; "}<InBookWords>{x}</InBookWords></span>);
  return limits.map((r) => t("key.plan.at-least", {
    limit: ofCode("limit", r.limit), end: t(r.end === "upper" ? "end.upper" : "end.lower"), need: showLength(r.least + used(r.end)),
  })).join("; ");
}

function Plans({fit, gated}: {fit: FitKey; gated: boolean}) {
  return (
    <section class="panel wide">
      <h2>{t("key.plans")}</h2>
      {fit.plans.length === 0 && <p>{fit.no_plan ? <>{t("key.plans.no", {why: ""})}<InBookWords>{fit.no_plan}</InBookWords></> : t("key.plans.none")}</p>}
      <div class="plans">
        {fit.plans.slice(0, 4).map((p, i) => {
          const least = leastLeft(p);
          return (
            <article key={p.approach + i} class={i === 0 ? "plan best" : "plan"}>
              <p class="rank">{t(i > 0 ? "key.plan.other" : gated ? "key.plan.best-then" : "key.plan.best")}</p>
              <h3>{ofCode("approach", p.approach)}</h3>
              <ol>{p.steps.map((s) => (
                <li key={s.tell}>{sayStep(s)}{s.turns ? <>{"; "}{t("step.turns", {turns: sayTurns(s.turns, 1)})}</> : null}
                  {s.tool && <>{", "}<Typed>{s.tool.name}</Typed></>}</li>))}</ol>
              <dl>
                <dt>{t("key.plan.takes")}</dt>
                <dd>{p.metal > 0 ? t("key.plan.metal", {metal: showLength(p.metal)}) : t("key.plan.no-metal")}{", "}{t("key.plan.minutes", {n: plain(p.minutes, 0)})}</dd>
                <dt>{t("key.plan.leaves")}</dt><dd>{showLength(p.after["end-play"] ?? NaN)}</dd>
                <dt>{t("key.plan.shift")}</dt><dd>{showLength(p.shift)}</dd>
                {least && <><dt>{t("key.plan.reserve")}</dt><dd>{showLength(least.left)}{" ("}{ofCode("limit", least.limit)}{")"}</dd></>}
              </dl>
              {p.measure_first.length > 0 && <p class="caution">{t("key.plan.unmeasured")}{": "}{unmeasured(p)}</p>}
            </article>
          );
        })}
      </div>
      {fit.refusals.length > 0 && (
        <details><summary>{t("key.refused")}</summary>
          <ul>{fit.refusals.map((r) => <li key={r.work + r.end}><InBookWords>{r.why}</InBookWords>{r.relief && <>{"; "}<InBookWords>{r.relief}</InBookWords></>}</li>)}</ul></details>
      )}
    </section>
  );
}

function WhyFigure({visit, keyId, figure}: {visit: string; keyId: string; figure: string}) {
  const why = useAnswer<Why>(`/api/visits/${visit}/why/${encodeURIComponent(keyId)}/${figure}`, visit);
  if (why.trouble) return <TroubleBox trouble={why.trouble} again={why.again} />;
  const w = why.value;
  if (!w) return <Waiting />;
  return (
    <div class="why">
      <h3>{t("key.why.formula")}</h3><p><InBookWords>{w.formula}</InBookWords></p>
      {w.working.length > 0 && <><h3>{t("key.why.working")}</h3><ul>{w.working.map((x) => <li key={x}><InBookWords>{x}</InBookWords></li>)}</ul></>}
      <h3>{t("key.why.inputs")}</h3>
      <ul>{w.inputs.map((x) => <li key={x.name}><InBookWords>{x.name}</InBookWords>{" "}<InBookWords>{x.value}</InBookWords>{", "}{ofCode("origin", x.origin)}{"; "}
        {t("key.why.effect")}{" ± "}{showLength(Math.abs(x.effect))}</li>)}</ul>
      {w.readings.length > 0 && <><h3>{t("key.why.readings")}</h3><ul>{w.readings.map((x) => <li key={x.name + x.value}><InBookWords>{x.name}</InBookWords>{" "}<InBookWords>{x.value}</InBookWords>{": "}<InBookWords>{x.said}</InBookWords></li>)}</ul></>}
    </div>
  );
}

function Figures({visit, fit}: {visit: string; fit: FitKey}) {
  const [open, set] = useState("");
  return (
    <section class="panel wide">
      <h2>{t("key.figures")}</h2>
      {fit.home?.upper && fit.home.lower &&
        <p>{t("rides", {upper: ofCode("rides", fit.home.upper.rides_on), lower: ofCode("rides", fit.home.lower.rides_on)})}</p>}
      <ul class="figures">
        {Object.entries(fit.figures).map(([name, f]) => (
          <li key={name} data-figure={name}>
            <button type="button" class="figure" aria-expanded={open === name} onClick={() => set(open === name ? "" : name)}>
              <span>{ofCode("figure", name)}</span><FigureOf figure={f} /><span class="faint-words">{t("key.why")}</span></button>
            {open === name && <WhyFigure visit={visit} keyId={fit.id} figure={name} />}
          </li>
        ))}
      </ul>
    </section>
  );
}

export function Key() {
  const {visit, key, screen} = place.value;
  const fit = useAnswer<Fit>(`/api/visits/${visit}/fit`, visit);
  const led = useAnswer<Led>(`/api/visits/${visit}/lead/${encodeURIComponent(key)}`, visit);
  const document_ = useAnswer<InstrumentDocument>(`/api/visits/${visit}/document`, visit);
  const whole = useAnswer<WholeVisit>(`/api/visits/${visit}`, visit);
  const typing: Typing = useSignal({});
  useLayoutEffect(() => void (typing.value = {}), [key]);
  const keys = fit.value?.keys ?? [];
  const index = keys.findIndex((k) => k.id === key);
  const mine = keys[index];
  const near = (by: number) => keys[index + by];
  useKeys((pressed) => {
    const to = pressed === "ArrowLeft" ? near(-1) : pressed === "ArrowRight" ? near(1) : undefined;
    if (to) go({visit, key: to.id, screen});
    return to !== undefined;
  }, [visit, key, screen, fit.value]);
  const keyThing = whole.value?.keys.find((k) => k.slip.body.id === key)?.thing ?? "";
  if (!mine) {
    if (fit.trouble) return <TroubleBox trouble={fit.trouble} again={fit.again} />;
    return fit.value ? <p class="empty"><a href={link({visit})}>{t("key.all")}</a></p> : <Waiting />;
  }
  // All of the first look at once: nothing moves down when the next answer comes.
  if ([led, document_, whole].some((x) => !x.value && !x.trouble)) return <Waiting />;
  const mayCut = gateOf(mine, led.value) === null;
  const tabs: [Screen, Word][] = [["answer", "key.answer"], ["work", "key.work"], ["proof", "key.proof"]];
  return (
    <div class="key-page">
      <nav class="key-nav" aria-label={t("visit.keys")}>
        <a href={link({visit})}>{t("key.all")}</a>
        {near(-1) && <a href={link({visit, key: near(-1)?.id ?? "", screen})} aria-label={`${t("key.before")}: ${near(-1)?.name ?? ""}`}>{"\u2190"}</a>}
        <h1><Typed>{mine.name || mine.id}</Typed></h1>
        {near(1) && <a href={link({visit, key: near(1)?.id ?? "", screen})} aria-label={`${t("key.after")}: ${near(1)?.name ?? ""}`}>{"\u2192"}</a>}
        <span class="faint-words">{t("of", {n: index + 1, all: keys.length})}</span>
      </nav>
      <nav class="faces" aria-label={mine.name || mine.id}>
        {tabs.map(([s, word]) => <a key={s} href={link({visit, key, screen: s})} aria-current={s === screen ? "page" : undefined}>{t(word)}</a>)}
      </nav>
      {fit.trouble && <TroubleBox trouble={fit.trouble} again={fit.again} />}
      {mine.problem ? <p class="trouble">{t("visit.problem")}{": "}<InBookWords>{mine.problem.what}</InBookWords>{"; "}<InBookWords>{mine.problem.expected}</InBookWords></p> :
        screen === "work" ? <WorkOn visit={visit} keyId={key} keyName={mine.name || mine.id} led={led} fit={mine} /> :
          screen === "proof" ? <Proof visit={visit} keyThing={keyThing} fit={mine} led={led.value} whole={whole.value}
            strip={stripOf(mine, document_.value, {}, mayCut)} /> :
            <>
              <Answer fit={mine} led={led.value} typing={typing} />
              <LiveStrip fit={mine} document={document_.value} mayCut={mayCut} typing={typing} />
              <div class="panels">
                {keyThing && <Readings key={keyThing} visit={visit} whole={whole.value} keyThing={keyThing} keyName={mine.name || mine.id}
                  onTyped={(at, mm) => {
                    const {[at]: _before, ...others} = typing.value;
                    typing.value = mm === null ? others : {...others, [at]: mm};
                  }} />}
                {led.value && !led.value.state.finished && (
                  <section class="panel">
                    <h2>{t("key.next")}</h2>
                    <p class="next-do"><NextDo next={led.value.state.next} /></p>
                    {led.value.state.next.check && <p>{ofCode("how", led.value.state.next.check)}</p>}
                    <a class="do" href={link({visit, key, screen: "work"})}>{t("key.work")}</a>
                  </section>
                )}
                {led.value && <Causes causes={led.value.state.causes} />}
                <Plans fit={mine} gated={gateOf(mine, led.value) !== null} />
                <details class="panel wide"><summary><h2>{t("draw.section")}</h2></summary>
                  <Section visit={visit} keyId={key} name={mine.name || mine.id} stand={led.value?.as_of ?? 0} /></details>
                <Figures visit={visit} fit={mine} />
                <Papers visit={visit} keyId={key} />
              </div>
            </>}
    </div>
  );
}
