/** A pupil's bench: a key whose fault only the bench knows. Nothing is written into the book. */
import {useEffect, useState} from "preact/hooks";
import {Trouble, send} from "../api/client";
import type {BeforeCut} from "../api/types";
import {TroubleBox, Waiting, percent, plain, sayTurns, sayVerdict, sayWindow, VerdictSign} from "../parts/parts";
import {against} from "../screens/key";
import {readLength, showLength, showNumber} from "../units/units";
import {choices} from "../units/choices";
import {ofCode, t} from "../words/words";

type Kind = "headed" | "headless" | "rod";
interface Act {
  do: "look" | "cure" | "cut" | "ream" | "screw";
  check?: string;
  cure?: string;
  end?: "upper" | "lower";
  turns?: number;
  amount?: number;
}
interface Bench {
  kind: Kind;
  complaint: string;
  window: {low: number; high: number};
  key: {span: number; key_length: number; half_angle?: number; rod_diameter?: number};
  checks: {check: string; minutes: number}[];
  said: (Act & {answer?: string; value?: number})[];
  minutes: number;
  metal: number;
  hint?: {causes: {cause: string; share: number}[]; before_cut: BeforeCut[]; look?: string; cure: string};
  truth?: {causes: string[]; standing: string[]; came_with: number; end_play: number; in_window: boolean; least_metal: number; went_under: boolean; per_turn: number};
}
/** What a pupil may do that takes no metal of the fit; the rest is cut or reamed by turns. */
const cures: Record<Kind, string[]> = {
  headed: ["clean", "set-screw", "mend-thread", "restore-post", "straighten-body", "straighten-key", "deepen-hole", "restore-hole", "suit-climate"],
  headless: ["clean", "mend-thread", "restore-post", "straighten-body", "straighten-key", "deepen-hole", "restore-hole", "suit-climate"],
  rod: ["clean", "restore-post", "straighten-body", "straighten-key", "fit-rod", "suit-climate"],
};
const endWord = (end: string | undefined) => t(end === "lower" ? "end.lower" : "end.upper");

/** One line of what was done. */
function sayAct(a: Bench["said"][number]): string {
  if (a.do === "look") return `${ofCode("check", a.check ?? "")}: ${a.value === undefined ? ofCode("answer", a.answer ?? "") : showLength(a.value)}`;
  if (a.do === "cure") return ofCode("cure", a.cure ?? "");
  if (a.do === "screw") return t("step.turn-screw", {end: endWord(a.end), amount: showLength(a.amount ?? 0)});
  return `${t(a.do === "cut" ? "work.bite.head" : "work.ream.head", {end: endWord(a.end)})}: ${sayTurns(a.turns ?? 0)}`;
}

function Truth({bench, guess}: {bench: Bench; guess: string}) {
  const truth = bench.truth;
  if (!truth) return null;
  const were = truth.causes.length > 0 ? truth.causes : ["sound"];
  const waste = bench.metal - truth.least_metal;
  const left = truth.standing.filter((c) => !["short-fit", "over-cut"].includes(c));
  return (
    <section class="panel" aria-live="polite" data-truth={truth.in_window}>
      <h2>{t("practice.truth")}</h2>
      <p class="sentence">{t("practice.was", {cause: were.map((c) => ofCode("cause", c)).join(", ")})}</p>
      {guess && <p>{t(were.includes(guess) ? "practice.guess-right" : "practice.guess-wrong", {cause: ofCode("cause", guess)})}</p>}
      <p class="figure-line">{t("practice.play", {before: showLength(truth.came_with), after: showLength(truth.end_play)})}{" "}
        {t(truth.in_window ? "proof.in" : "proof.out")}</p>
      {left.length > 0 && <p>{t("practice.left", {cause: left.map((c) => ofCode("cause", c)).join(", ")})}</p>}
      <p>{t("practice.metal", {metal: showLength(bench.metal), least: showLength(truth.least_metal)})}{" "}
        {waste > 0.002 ? t("practice.waste", {more: showLength(waste)}) : bench.metal > 0 || truth.least_metal > 0 ? null : t("practice.no-metal")}</p>
      {truth.went_under && <p>{t("practice.under")}</p>}
      <p>{t("practice.took", {minutes: plain(bench.minutes, 1), n: bench.said.filter((a) => a.do === "look").length})}{" "}{t("practice.rate", {off: showLength(truth.per_turn)})}</p>
    </section>
  );
}

export function Practice() {
  const [seed, setSeed] = useState(() => 1 + Math.floor(Math.random() * 999_999));
  const [kind, setKind] = useState<Kind>("headed");
  const [acts, setActs] = useState<Act[]>([]);
  const [show, setShow] = useState<"" | "hint" | "truth">("");
  const [guess, setGuess] = useState("");
  const [bench, setBench] = useState<Bench | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const [bad, setBad] = useState("");
  const [again, setAgain] = useState(0);
  useEffect(() => {
    let old = false;
    send<Bench>("POST", "/api/practice", {seed, kind, acts, show}).then((b) => {
      if (old) return;
      setBench(b);
      setTrouble(null);
    }, (error) => !old && setTrouble(error instanceof Trouble ? error : new Trouble(0, null)));
    return () => {
      old = true;
    };
  }, [seed, kind, acts, show, again]);
  const fresh = (next: number, of: Kind) => {
    setSeed(next);
    setKind(of);
    setActs([]);
    setShow("");
    setGuess("");
    setBench(null);
  };
  const act = (a: Act) => {
    setActs([...acts, a]);
    setShow("");
  };
  const ended = show === "truth";
  const play = [...(bench?.said ?? [])].reverse().find((a) => a.check === "end-play")?.value;
  const verdict = play === undefined || !bench ? null : against(play, bench.window);
  const hint = bench?.hint;
  return (
    <>
      <p>{t("practice.say")}</p>
      <div class="choice-row">
        <label>{t("practice.kind")}<select value={kind} onChange={(e) => fresh(seed, e.currentTarget.value as Kind)}>
          {(["headed", "headless", "rod"] as const).map((k) => <option key={k} value={k}>{ofCode("hinge", k)}</option>)}</select></label>
        <label>{t("practice.number")}<input type="number" min={0} max={999999} value={seed} onInput={(e) => fresh(Math.max(0, Math.min(999_999, Math.floor(Number(e.currentTarget.value)) || 0)), kind)} /></label>
        <button type="button" onClick={() => fresh(1 + Math.floor(Math.random() * 999_999), kind)}>{t("practice.another")}</button>
      </div>
      {trouble && <TroubleBox trouble={trouble} again={() => setAgain(again + 1)} />}
      {!bench ? !trouble && <Waiting /> : (
        <>
          <p class="sentence">{t("practice.came", {complaint: ofCode("complaint", bench.complaint)})}</p>
          <p class="figure-line">{t("practice.key", {span: showLength(bench.key.span), length: showLength(bench.key.key_length)})}{" "}{t("work.window", sayWindow(bench.window.low, bench.window.high))}</p>
          {verdict && play !== undefined && <p><VerdictSign verdict={verdict} />{" "}{t("work.play", {play: showLength(play)})}{": "}{sayVerdict(verdict)}</p>}
          {ended && <Truth bench={bench} guess={guess} />}
          {!ended && <div class="panels">
            <section class="panel">
              <h2>{t("practice.look")}</h2>
              <form onSubmit={(e) => {
                e.preventDefault();
                act({do: "look", check: String(new FormData(e.currentTarget).get("check"))});
              }}>
                <label>{t("practice.check")}<select name="check">{bench.checks.map((c) => <option key={c.check} value={c.check}>{`${ofCode("check", c.check)} (${t("key.plan.minutes", {n: plain(c.minutes, 1)})})`}</option>)}</select></label>
                <button class="main-do">{t("practice.do-look")}</button>
              </form>
            </section>
            <section class="panel">
              <h2>{t("practice.right")}</h2>
              <form onSubmit={(e) => {
                e.preventDefault();
                act({do: "cure", cure: String(new FormData(e.currentTarget).get("cure"))});
              }}>
                <label>{t("practice.cure")}<select name="cure">{cures[kind].map((c) => <option key={c} value={c}>{ofCode("cure", c)}</option>)}</select></label>
                <button>{t("work.done")}</button>
              </form>
            </section>
            {kind !== "rod" && <section class="panel">
              <h2>{t(kind === "headless" ? "practice.screws" : "practice.cut")}</h2>
              <form onSubmit={(e) => {
                e.preventDefault();
                const f = new FormData(e.currentTarget);
                const end = String(f.get("end")) as "upper" | "lower";
                const what = String(f.get("what")) as "cut" | "ream" | "screw";
                const typed = String(f.get("size"));
                const size = what === "screw" ? readLength(typed, choices.value.unit)?.mm ?? NaN : Number(typed.replace(",", "."));
                if (!Number.isFinite(size) || size === 0 || (what !== "screw" && (size < 0 || size > 20))) {
                  setBad(t("practice.no-turns"));
                  return;
                }
                setBad("");
                act(what === "screw" ? {do: what, end, amount: size} : {do: what, end, turns: size});
              }}>
                <div class="columns">
                  <label>{t("practice.what")}<select name="what">{(kind === "headed" ? ["cut", "ream"] as const : ["screw", "ream"] as const).map((w) => <option key={w} value={w}>{ofCode("act", w)}</option>)}</select></label>
                  <label>{t("work.record.end")}<select name="end"><option value="upper">{t("end.upper")}</option><option value="lower">{t("end.lower")}</option></select></label>
                  <label>{t(kind === "headless" ? "practice.turns-or-length" : "work.record.turns")}<input name="size" required inputMode="text" autocomplete="off" /></label>
                </div>
                {bad && <p class="wrong" role="alert">{bad}</p>}
                <button>{t("practice.take")}</button>
              </form>
            </section>}
          </div>}
          <section class="panel">
            <h2>{t("practice.record")}{" ("}{t("key.plan.minutes", {n: plain(bench.minutes, 1)})}{bench.metal > 0 && <>{", "}{t("key.plan.metal", {metal: showLength(bench.metal)})}</>}{")"}</h2>
            {bench.said.length === 0 ? <p class="faint-words">{t("practice.nothing")}</p> : <ol class="record">{bench.said.map((a, i) => <li key={i}>{sayAct(a)}</li>)}</ol>}
            {acts.length > 0 && !ended && <button type="button" class="quiet" onClick={() => { setActs(acts.slice(0, -1)); setShow(""); }}>{t("practice.back")}</button>}
          </section>
          {hint && <section class="panel" aria-live="polite"><h2>{t("practice.hint")}</h2>
            <p>{t("says.most-likely", {cause: ofCode("cause", hint.causes[0]?.cause ?? ""), share: percent(hint.causes[0]?.share ?? 0)})}</p>
            <p><strong>{hint.look ? t("practice.teacher-looks", {check: ofCode("check", hint.look)}) : t("practice.teacher-does", {cure: ofCode("cure", hint.cure)})}</strong></p>
            {hint.before_cut.filter((b) => b.checks.length > 0).length > 0 && <p>{t("work.before-cut")}{": "}{hint.before_cut.filter((b) => b.checks.length > 0).map((b) => ofCode("cause", b.cause)).join(", ")}</p>}</section>}
          {!ended && <div class="choice-row">
            <label>{t("practice.guess")}<select value={guess} onChange={(e) => setGuess(e.currentTarget.value)}><option value="">{t("practice.no-guess")}</option>
              {["sound", "short-fit", "over-cut", "worn-hole", "taper-mismatch", "straight-hole", "tip-on-floor", "screw-off", "loose-thread", "post-moved", "bent-body", "bent-key", "worn-bore", "dirt", "climate"].map((c) => <option key={c} value={c}>{ofCode("cause", c)}</option>)}</select></label>
            <button type="button" onClick={() => setShow("hint")}>{t("practice.ask")}</button>
            <button type="button" class="main-do" onClick={() => setShow("truth")}>{t("practice.end")}</button>
          </div>}
          {ended && <button type="button" class="main-do" onClick={() => fresh((seed + 1) % 1_000_000, kind)}>{t("practice.another")}</button>}
          <p class="faint-words">{t("practice.seeded", {n: showNumber(seed, 0)})}</p>
        </>)}
    </>
  );
}
