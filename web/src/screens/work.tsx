/** One instruction at a time, large, and one thing to press when it is done. */
import {Fragment} from "preact";
import {useLayoutEffect, useState} from "preact/hooks";
import type {FitKey, Led, LedState, Next} from "../api/types";
import {Answer, line} from "../live/news";
import {enter, unsent} from "../outbox/outbox";
import {InBookWords, TroubleBox, Typed, Waiting, plain, sayStep, sayTurns, sayWindow, useKeys, VerdictSign} from "../parts/parts";
import {go} from "../route";
import {choices} from "../units/choices";
import {forBook, readLength, showFigure, showLength, showNumber} from "../units/units";
import {ofCode, saidRefusal, t} from "../words/words";

const endWord = (end: string | undefined) => t(end === "lower" ? "end.lower" : "end.upper");

/** What is said large, and how. */
function instruction(next: Next): {head: string; how: string; ours: boolean} {
  switch (next.what) {
    case "look":
      return {head: ofCode("check", next.check ?? ""), how: ofCode("how", next.check ?? ""), ours: true};
    case "bite":
      return {head: t("work.bite.head", {end: endWord(next.end)}), how: t("work.bite.then"), ours: true};
    case "ream":
      return {head: t("work.ream.head", {end: endWord(next.end)}), how: t("work.ream.how"), ours: true};
    case "see-cutter":
      return {head: t("work.see-cutter"), how: t("work.see-cutter.how"), ours: true};
    case "cure":
      return {head: t("work.cure", {cure: ofCode("cure", next.cure ?? "")}), how: next.end ? endWord(next.end) : "", ours: true};
    case "done":
      return {head: t("work.finished"), how: "", ours: true};
    case "beyond":
      return {head: t("work.beyond"), how: "", ours: true};
    case "step":
      return {head: next.step ? sayStep(next.step) : next.tell, how: next.how, ours: next.step !== undefined};
  }
}

/** The same in one line. */
export function NextDo({next}: {next: Next}) {
  if (next.cure) return <>{ofCode("cure", next.cure)}</>;
  const {head, ours} = instruction(next);
  return <>{ours ? head : <InBookWords>{head}</InBookWords>}{next.what === "bite" && `: ${sayTurns(next.turns ?? 0)}`}</>;
}

function confirmWord(next: Next): string {
  switch (next.what) {
    case "bite":
      return t("work.bite.confirm", {turns: sayTurns(next.turns ?? 0)});
    case "ream":
      return t("work.ream.confirm");
    case "see-cutter":
      return t("work.see-cutter.confirm");
    case "cure":
      return t("work.cure.confirm");
    default:
      return t("work.step.confirm");
  }
}

export function Record({state}: {state: LedState}) {
  if (state.bites.length === 0) return <p class="faint-words">{t("work.record.none")}</p>;
  const turns = state.bites.reduce((sum, b) => sum + b.turns, 0);
  return (
    <>
      <div class="scroll" tabIndex={0} role="region" aria-label={t("work.record")}>
        <table>
          <thead><tr><th scope="col">{t("work.record.end")}</th><th scope="col">{t("work.record.turns")}</th><th scope="col">{t("work.record.took")}</th></tr></thead>
          <tbody>{state.bites.map((b, i) => (
            <tr key={i}><td>{endWord(b.end)}</td><td>{plain(b.turns)}</td>
              <td>{b.taken === null ? t("work.record.unread") : showFigure({value: b.taken, plus_minus: b.plus_minus}, t("to"))}</td></tr>))}</tbody>
        </table>
      </div>
      <p class="turn-count">{t("work.total", {turns: sayTurns(turns)})}</p>
      {state.take_off && <p>{t("work.learned", {off: showFigure({value: state.take_off.per_turn, plus_minus: 0}, t("to"))})}</p>}
    </>
  );
}

export function WorkOn({visit, keyId, keyName, led, fit}: {visit: string; keyId: string; keyName: string; led: Answer<Led>; fit: FitKey}) {
  const [text, setText] = useState("");
  const [bad, setBad] = useState("");
  const [told, setTold] = useState(0); // "seen" of the last answer from here: nothing is told twice
  const [other, setOther] = useState(false);
  const now = led.value;
  const mine = unsent.value.filter((e) => e.path.startsWith(`/api/visits/${visit}/lead/`) && e.key === keyId);
  const refused = mine.find((e) => e.refused !== undefined);
  // What is asked now may be another thing once the book has a reading that is on its way: an answer is held until then.
  const settling = (led.stale && line.value === "live")
    || unsent.value.some((e) => e.visit === visit && e.path === "/api/slips" && e.refused === undefined);
  const [held, setHeld] = useState<{question: string; typed: string; says: string} | null>(null);
  const [moved, setMoved] = useState(false);
  const waits = held !== null || mine.some((e) => e.refused === undefined) || (now !== null && told !== 0 && told === now.as_of && !refused);
  const next = now?.state.next;
  const question = `${keyId} ${now?.told ?? ""} ${next?.what ?? ""} ${next?.check ?? ""}`;
  // Before the new instruction is seen: what is typed or pressed from then on is meant for it.
  useLayoutEffect(() => {
    setText("");
    setBad("");
    setOther(false);
    document.querySelector<HTMLInputElement>("#work-typed")?.focus();
    // What was pressed is gone with its question: the next Tab begins at the new one.
    if (document.activeElement === document.body) document.querySelector<HTMLElement>(".instruction")?.focus({preventScroll: true});
  }, [question]);
  useLayoutEffect(() => setTold(0), [keyId]);
  useLayoutEffect(() => {
    if (!held || settling) return;
    setHeld(null);
    if (held.question === question) send(held.typed, held.says);
    else setMoved(true);
  }, [held, settling, question]);
  const tell = (typed: string, says: string) => {
    if (!now || waits) return;
    setMoved(false);
    if (settling) setHeld({question, typed, says});
    else send(typed, says);
  };
  const send = (typed: string, says: string) => {
    if (!now) return;
    setTold(now.as_of);
    void enter({
      path: `/api/visits/${visit}/lead/${encodeURIComponent(keyId)}?unit=mm`, visit, key: keyId, says: `${keyName}: ${says}`,
      body: (id) => ({id, typed, seen: now.as_of}), then: led.again,
    });
  };
  const isReading = next?.what === "look" && (next.answers?.length ?? 0) === 0;
  const tellTyped = () => {
    if (!next) return;
    if (isReading) {
      const length = readLength(text, choices.value.unit);
      if (!length) {
        setBad(t("key.typed-bad"));
        return;
      }
      tell(forBook(text, choices.value.unit), text);
    } else if (/^\s*\d+([.,]\d+)?\s*$/.test(text)) {
      tell(text.trim().replace(",", "."), text);
    }
  };
  const confirm = () => {
    if (next && !["look", "done", "beyond"].includes(next.what)) tell("done", t("work.done"));
  };
  const choose = (n: number) => {
    const answer = n === 0 ? "cannot" : next?.answers?.[n - 1];
    if (next?.what !== "look" || answer === undefined) return false;
    tell(answer, `${ofCode("check", next.check ?? "")} ${n === 0 ? t("cannot") : ofCode("answer", answer)}`);
    return true;
  };
  useKeys((key) => {
    if (key === "Enter" || key === "PageDown") {
      if (isReading) tellTyped();
      else if (next?.what === "done") go({visit, key: keyId, screen: "proof"});
      else confirm();
      return true;
    }
    return /^[0-9]$/.test(key) && !isReading ? choose(Number(key)) : false;
  }, [now, text, waits, settling, next]);
  if (!now || !next) return led.trouble ? <TroubleBox trouble={led.trouble} again={led.again} /> : <Waiting />;
  const state = now.state;
  const say = instruction(next);
  const play = state.end_play?.latest;
  const window = sayWindow(state.window.low, state.window.high);
  const tool = fit.plans.flatMap((p) => p.steps).find((x) => x.work === "seat-cut" && x.end === next.end)?.tool;
  const metal = next.what === "bite" || next.what === "ream";
  return (
    <div class="work">
      <p class="work-top"><VerdictSign verdict={fit.verdict} />
        {play && <span>{t("work.play", {play: showFigure(play, t("to"))})}</span>}<span>{t("work.window", window)}</span></p>
      {moved && <p class="trouble" role="alert">{t("work.moved")}</p>}
      {refused && <p class="trouble" role="alert">{/meanwhile/.test(refused.refused ?? "") ? t("work.overtaken") : t("work.refused", {why: saidRefusal(refused.refused ?? "")})}</p>}
      <section class="instruction" tabIndex={-1} aria-live="polite" data-what={next.what} data-check={next.check} data-told={waits || settling ? undefined : now.told}>
        <Fragment key={question}>
        <h2>{say.ours ? say.head : <InBookWords>{say.head}</InBookWords>}</h2>
        {next.what === "bite" && <p class="turns" data-turns={next.turns}>{sayTurns(next.turns ?? 0)}</p>}
        {next.what === "bite" && tool && <p class="how">{t("work.bite.tool", {tool: ""})}<Typed>{tool.name}</Typed></p>}
        {next.what === "ream" && <p class="turns">{t("work.ream.by", {amount: showLength(next.amount ?? 0)})}</p>}
        {next.what === "bite" && <p>{t("work.bite.expect", {amount: showLength(next.amount ?? 0), risk: showNumber(100 * (next.risk ?? 0), 2)})}</p>}
        {say.how && <p class="how">{say.ours && next.what !== "step" ? say.how : <InBookWords>{say.how}</InBookWords>}</p>}
        </Fragment>
      </section>
      {/* Another instruction is another page from here: nothing of the one before slides to a new place under a finger. */}
      <Fragment key={question}>
      {next.what === "look" && (
        <div class="answers" role="group" aria-label={t(isReading ? "work.reading" : "work.question")}>
          {isReading ? (
            <form class="typed" onSubmit={(e) => { e.preventDefault(); tellTyped(); }}>
              <label for="work-typed">{t("work.reading")}</label>
              <input id="work-typed" class="reading big" autocomplete="off" spellcheck={false} value={text} disabled={waits} aria-invalid={bad !== ""}
                onInput={(e) => { setText(e.currentTarget.value); setBad(""); }} />
              <span class="unit">{choices.value.unit}</span>
              <button class="main-do" disabled={waits}>{t("key.enter")}</button>
              {bad && <p class="wrong" role="alert">{bad}</p>}
            </form>
          ) : next.answers?.map((a, i) => (
            <button type="button" class="main-do" key={a} disabled={waits} onClick={() => choose(i + 1)}>
              <kbd aria-hidden="true">{i + 1}</kbd>{ofCode("answer", a)}</button>
          ))}
          <button type="button" class="cannot" disabled={waits} onClick={() => tell("cannot", t("cannot"))}>
            {!isReading && <kbd aria-hidden="true">{0}</kbd>}{t("cannot")}</button>
        </div>
      )}
      {!["look", "done", "beyond"].includes(next.what) && (
        <div class="answers">
          <button type="button" class="main-do confirm" disabled={waits} onClick={confirm}><kbd aria-hidden="true">{"\u21b5"}</kbd>{confirmWord(next)}</button>
          {next.what === "bite" && (other ? (
            <form class="typed" onSubmit={(e) => { e.preventDefault(); tellTyped(); }}>
              <label for="work-typed">{t("work.record.turns")}</label>
              <input id="work-typed" class="reading big" inputMode="decimal" autocomplete="off" value={text} onInput={(e) => setText(e.currentTarget.value)} />
              <button disabled={waits}>{t("key.enter")}</button>
            </form>
          ) : <button type="button" class="quiet" onClick={() => setOther(true)}>{t("work.bite.other")}</button>)}
        </div>
      )}
      {next.what === "done" && <p><button type="button" class="main-do to-proof" onClick={() => go({visit, key: keyId, screen: "proof"})}><kbd aria-hidden="true">{"\u21b5"}</kbd>{t("work.to-proof")}</button></p>}
      <p class="work-waits" role="status">{waits ? t("work.waits") : "\u00a0"}</p>
      {next.why && <details><summary>{t("work.why")}</summary><p><InBookWords>{next.why}</InBookWords></p></details>}
      {next.stop.length > 0 && <section class="caution"><h3>{t("work.stop")}</h3><ul>{next.stop.map((s) => <li key={s}><InBookWords>{s}</InBookWords></li>)}</ul></section>}
      {state.before_cut.length > 0 && !state.finished && (
        <section class="panel">
          <h3>{t("work.before-cut")}</h3>
          <ul>{state.before_cut.map((b) => <li key={b.cause}>{ofCode("cause", b.cause)}{b.checks.length > 0 && ": "}{b.checks.map((c) => ofCode("check", c)).join(", ")}</li>)}</ul>
          <details><summary>{t("work.waive")}</summary>
            <form onSubmit={(e) => {
              e.preventDefault();
              const f = new FormData(e.currentTarget);
              tell(`waive ${String(f.get("cause"))} because ${String(f.get("why")).trim()}`, ofCode("cause", String(f.get("cause"))));
            }}>
              <label>{t("work.waive.which")}<select name="cause">{state.before_cut.map((b) => <option key={b.cause} value={b.cause}>{ofCode("cause", b.cause)}</option>)}</select></label>
              <label>{t("work.waive.why")}<input name="why" required maxLength={200} dir="auto" /></label>
              <button disabled={waits}>{t("work.waive.do")}</button>
            </form></details>
        </section>
      )}
      <section class="panel"><h3>{t("work.record")}</h3><Record state={state} /></section>
      <p class="faint-words">{t("work.keys")}</p>
      {metal && <p class="caution">{t("work.caution")}</p>}
      </Fragment>
    </div>
  );
}
