/** What was, what is, and what is left on purpose. */
import type {FitKey, Led, WholeVisit} from "../api/types";
import type {Strip} from "../drawing/layout";
import {HingeStrip} from "../drawing/strip";
import {enter} from "../outbox/outbox";
import {Typed, Waiting, sayWindow} from "../parts/parts";
import {nowText, showFigure} from "../units/units";
import {t} from "../words/words";
import {PhotoList} from "../visit/photo_list";
import {Record} from "./work";

export function Proof({visit, keyThing, fit, led, whole, strip}: {
  visit: string; keyThing: string; fit: FitKey; led: Led | null; whole: WholeVisit | null; strip: Strip | null;
}) {
  if (!led) return <Waiting />;
  const {first, latest} = led.state.end_play ?? {};
  const window = led.state.window;
  const worked = led.state.bites.length > 0 || led.state.cured.length > 0;
  const inside = latest && latest.value >= window.low - 1e-12 && latest.value <= window.high + 1e-12;
  const left = (whole?.exceptions ?? []).filter((e) => e.slip.key === keyThing && !e.slip.struck);
  const words = sayWindow(window.low, window.high);
  // A seat cut deeper moves its point, and so the place where the key stops, inwards by what was taken.
  const taken = (end: string) => led.state.bites.filter((b) => b.end === end).reduce((sum, b) => sum + (b.taken ?? 0), 0);
  const drawn = (value: number, doubt: number, cut: boolean): Strip | null => strip && {
    ...strip, play: value, playDoubt: doubt, after: null, cutUpper: 0, cutLower: 0, low: window.low, high: window.high, padGap: null,
    gapUpper: strip.gapUpper + (cut ? taken("upper") : 0), gapLower: strip.gapLower + (cut ? taken("lower") : 0),
  };
  const was = first ? drawn(first.value, first.plus_minus, false) : null;
  const is = latest ? drawn(latest.value, latest.plus_minus, true) : null;
  return (
    <div class="proof">
      <h2>{t("proof.heading")}</h2>
      <p class="sentence">{latest ? t(inside ? "proof.in" : "proof.out") : t("proof.unread")}</p>
      <p>{t("work.window", words)}</p>
      <div class="panels">
        <section class="panel wide"><h3>{t("proof.before")}</h3>{first && <p class="figure-line">{showFigure(first, t("to"))}</p>}
          {was && <HingeStrip name={`${fit.name}, ${t("proof.before")}`} strip={was} />}</section>
        {worked && <section class="panel wide"><h3>{t("proof.after")}</h3>{latest && <p class="figure-line">{showFigure(latest, t("to"))}</p>}
          {is && <HingeStrip name={`${fit.name}, ${t("proof.after")}`} strip={is} />}</section>}
        <section class="panel"><h3>{t("work.record")}</h3><Record state={led.state} /></section>
        <section class="panel">
          <h3>{t("proof.exceptions")}</h3>
          {left.length === 0 && <p class="faint-words">{t("proof.exceptions.none")}</p>}
          <ul>{left.map((e) => <li key={e.thing}><Typed>{e.slip.body.reason}</Typed></li>)}</ul>
          <form class="no-print" onSubmit={(e) => {
            e.preventDefault();
            const form = e.currentTarget;
            const reason = String(new FormData(form).get("reason")).trim();
            if (!reason) return;
            void enter({path: "/api/slips", visit, key: keyThing, says: `${fit.name}: ${reason}`, body: (id) => ({
              slips: [{id, kind: "exception", at: nowText(), of: visit, key: keyThing, body: {of: fit.verdict, reason}}],
            })}).then(() => form.reset());
          }}>
            <label>{t("proof.exception.why")}<input name="reason" maxLength={200} dir="auto" /></label>
            <button>{t("proof.exception.do")}</button>
          </form>
        </section>
      </div>
      <PhotoList whole={whole} key_={keyThing} />
      <p class="no-print"><button type="button" class="main-do" onClick={() => window_().print()}>{t("proof.print")}</button></p>
    </div>
  );
}
const window_ = () => globalThis.window;
