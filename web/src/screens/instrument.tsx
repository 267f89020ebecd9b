/** The whole instrument: its keys where they lie, what the time buys, and readings one after another. */
import {useState} from "preact/hooks";
import type {Fit, FitKey, InstrumentDocument, Standing, WholeVisit} from "../api/types";
import {readLength, showFigure, nowText} from "../units/units";
import {choices} from "../units/choices";
import {useWidth} from "../drawing/strip";
import {useAnswer} from "../live/news";
import {enter, unsent} from "../outbox/outbox";
import {beforeMetal, gateShare} from "../parts/gate";
import {Papers} from "../parts/papers";
import {TroubleBox, Typed, VerdictSign, Waiting, percent, sayStep, sayVerdict} from "../parts/parts";
import {visitStates} from "../parts/states";
import {link, place, visitParts} from "../route";
import {forBook} from "../units/units";
import {many, ofCode, t} from "../words/words";
import {enterReading, readingAt, repeatsOf} from "./readings";

const length = (value: unknown): number | null => {
  const [text] = repeatsOf(value);
  return text === undefined ? null : readLength(text, "mm")?.mm ?? null;
};

/** A key that is known not to be right. */
const isWrong = (k: FitKey): boolean => k.problem !== undefined || (k.verdict !== "sound" && k.verdict !== "cannot tell");

function Lines({fit, document}: {fit: Fit; document: InstrumentDocument}) {
  const [box, width] = useWidth(Math.min(1100, window.innerWidth - 32));
  const rows = document.keys.map((k, i) => ({
    id: k.id, span: length(k.hinge?.span) ?? 20, off: length(k.hinge?.off_axis), along: length(k.hinge?.along), i,
  }));
  const wrong = fit.keys.filter((k) => isWrong(k)).length;
  // Where the document says how far along the body a line lies it is drawn there, else in playing order.
  const sum = rows.reduce((all, r) => all + r.span, 0);
  let run = 0;
  const placed = rows.map((r) => {
    const from = run;
    run += r.span;
    return {...r, from: from / sum, to: run / sum};
  });
  const offs = placed.map((r) => r.off ?? 0);
  const low = Math.min(...offs, -1);
  const high = Math.max(...offs, 1);
  const h = 130;
  const w = Math.max(280, width);
  const x = (part: number) => 12 + part * (w - 24);
  const y = (off: number) => 18 + ((off - low) / (high - low)) * (h - 36);
  return (
    <div ref={box}>
      <svg class="lines" role="img" width={w} height={h} viewBox={`0 0 ${w} ${h}`} aria-label={t("visit.lines.name", {n: fit.keys.length, wrong})}>
        <rect class="cork" x="2" y="6" width={w - 4} height={h - 12} rx="14" />
        <line class="axis" x1="4" x2={w - 4} y1={y(0)} y2={y(0)} />
        {placed.map((r) => {
          const key = fit.keys.find((k) => k.id === r.id);
          const at = y(r.off ?? 0);
          return (
            <g key={r.id}>
              <line class="hinge" x1={x(r.from) + 2} x2={x(r.to) - 2} y1={at} y2={at} />
              {key && isWrong(key) && <path class="wrong-mark" d={`M${(x(r.from) + x(r.to)) / 2} ${at - 13} l6 9 h-12 Z`} />}
            </g>
          );
        })}
      </svg>
    </div>
  );
}

/** The other places of this instrument, each with what it answers. */
function More({visit}: {visit: string}) {
  return (
    <nav class="more-places" aria-label={t("more")}>
      <h2>{t("more")}</h2>
      <ul>{visitParts.map((p) => <li key={p}><a href={link({visit, part: p})}><strong>{ofCode("part", p)}</strong><span class="faint-words">{ofCode("asks", p)}</span></a></li>)}</ul>
    </nav>
  );
}

function Quick({visit, fit, whole}: {visit: string; fit: Fit; whole: WholeVisit}) {
  const [bad, setBad] = useState("");
  const at = "/readings/end_play";
  const put = async (event: KeyboardEvent, id: string, thing: string, name: string) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    const field = event.currentTarget as HTMLInputElement;
    if (field.value.trim()) {
      if (!readLength(field.value, choices.value.unit)) {
        setBad(id);
        return;
      }
      await enterReading(visit, thing, name, at, readingAt(whole, thing, at), [forBook(field.value, choices.value.unit)]);
      field.value = "";
    }
    setBad("");
    const fields = [...document.querySelectorAll<HTMLInputElement>("input.quick")];
    fields[fields.indexOf(field) + 1]?.focus();
  };
  return (
    <details class="panel wide">
      <summary><h2>{t("visit.quick")}</h2></summary>
      <p>{t("visit.quick.say")}</p>
      <ol class="quick-list">
        {fit.keys.map((k) => {
          const thing = whole.keys.find((x) => x.slip.body.id === k.id)?.thing ?? "";
          const waits = unsent.value.some((e) => e.key === thing && e.path === "/api/slips");
          const kept = readingAt(whole, thing, at);
          return (
            <li key={k.id}>
              <label for={`quick-${k.id}`}><Typed>{k.name || k.id}</Typed></label>
              <input id={`quick-${k.id}`} class="quick" autocomplete="off" spellcheck={false} aria-invalid={bad === k.id}
                onKeyDown={(e) => void put(e, k.id, thing, k.name || k.id)} />
              <span class="faint-words" role="status">{bad === k.id ? t("key.typed-bad") : waits ? t("unsent.kept") :
                kept ? repeatsOf(kept.slip.body.value).join(", ") : t("key.not-measured")}</span>
            </li>
          );
        })}
      </ol>
    </details>
  );
}

/** What comes next at a key, in a few words. No cut is named while something cheaper is to be looked at. */
function sayNext(key: FitKey, at: Standing | undefined): string {
  const plan = key.plans?.[0];
  if (!at) return "\u00a0";
  if (!plan || plan.steps.length === 0) return key.verdict === "sound" ? t("says.nothing") : "\u00a0";
  if (at.finished) return t(at.next?.what === "done" ? "work.finished" : "work.beyond");
  const gate = beforeMetal(plan.metal, at.next, at.before_cut);
  if (!gate) return t("visit.plan", {step: plan.steps.map(sayStep).join("; ")});
  if (gate.share >= gateShare || !gate.check) return t("visit.likely", {cause: ofCode("cause", gate.cause), share: percent(gate.share)});
  return t("says.look-first", {check: ofCode("check", gate.check)});
}

export function Instrument() {
  const {visit} = place.value;
  const fit = useAnswer<Fit>(`/api/visits/${visit}/fit`, visit);
  const whole = useAnswer<WholeVisit>(`/api/visits/${visit}`, visit);
  const document = useAnswer<InstrumentDocument>(`/api/visits/${visit}/document`, visit);
  const standing = useAnswer<{keys: Standing[]}>(`/api/visits/${visit}/standing`, visit);
  const [only, setOnly] = useState(false);
  const f = fit.value;
  const w = whole.value;
  if (!f || !w) {
    const trouble = fit.trouble ?? whole.trouble;
    return trouble ? <TroubleBox trouble={trouble} again={() => { fit.again(); whole.again(); }} /> : <Waiting />;
  }
  const wrong = f.keys.filter(isWrong).length;
  const unsure = f.keys.filter((k) => k.verdict === "cannot tell" && !k.problem).length;
  const says = w.visit.slip.body;
  const owner = w.owner?.slip.body.name;
  return (
    <>
      <h1><Typed>{f.title}</Typed></h1>
      <p>{[owner, says.complaint].filter(Boolean).map((x, i) => <span key={i}>{i > 0 && " \u00b7 "}<Typed>{x}</Typed></span>)}</p>
      <p class="sentence">{wrong > 0 ? many("visit.summary", wrong, {all: f.keys.length}) : unsure === 0 ? t("visit.all-right", {n: f.keys.length}) : t("visit.none-wrong")}
        {unsure > 0 && <>{" "}{many("visit.unsure", unsure)}</>}</p>
      <div class="choice-row">
        <label>{t("state.change")}<select value={says.state} onChange={(e) => {
          const state = e.currentTarget.value;
          void enter({path: "/api/slips", visit, says: ofCode("state", state), body: (id) => ({must_be_current: true, slips: [{
            id, kind: "visit", at: nowText(), of: w.visit.slip.of, replaces: w.visit.slip.id, why: "moved on", body: {...says, state},
          }]})});
        }}>{visitStates.map((s) => <option key={s} value={s}>{ofCode("state", s)}</option>)}</select></label>
        <label class="pick"><input type="checkbox" checked={only} onChange={() => setOnly(!only)} />{t("visit.show.wrong")}</label>
      </div>
      {fit.trouble && <TroubleBox trouble={fit.trouble} again={fit.again} />}
      {document.value ? <Lines fit={f} document={document.value} /> : !document.trouble && <div class="lines-room" />}
      <h2>{t("visit.keys")}</h2>
      <ol class="keys">
        {f.keys.filter((k) => !only || k.verdict !== "sound").map((k) => {
          const play = k.figures?.["end-play"];
          const at = standing.value?.keys.find((s) => s.key === k.id);
          return (
            <li key={k.id}>
              <a href={link({visit, key: k.id})}>
                {k.problem ? null : <VerdictSign verdict={k.verdict} />}
                <strong><Typed>{k.name || k.id}</Typed></strong>
                <span>{k.problem ? t("visit.problem") : sayVerdict(k.verdict)}</span>
                {play && <span class="num">{showFigure(play, t("to"))}</span>}
                <span class="faint-words">{sayNext(k, at)}</span>
              </a>
            </li>
          );
        })}
      </ol>
      <div class="panels"><Quick visit={visit} fit={f} whole={w} /><Papers visit={visit} /></div>
      <More visit={visit} />
    </>
  );
}
