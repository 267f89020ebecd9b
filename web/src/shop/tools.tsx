/** Which sizes of cutters, reamers and rods serve what came in, and what the next one bought would bring. */
import {useAnswer} from "../live/news";
import {TroubleBox, Typed, Waiting} from "../parts/parts";
import {Row} from "../parts/worked";
import {bareLength, showLength, showNumber} from "../units/units";
import {many, ofCode, t} from "../words/words";

interface Met {
  size: number;
  half_angle?: number;
  narrow?: number;
  count: number;
  served: boolean;
  can_be_bought: boolean;
  where: string[];
}
interface Kind {
  tool: "cutter" | "reamer" | "rod";
  met: Met[];
  tools: {name: string; owned: boolean; worn: boolean; spare: boolean; never_used: boolean}[];
  all: number;
  steps: {bought: string[]; served: number; price: string | null}[];
}

const sayMet = (m: Met): string => m.half_angle === undefined ? showLength(m.size) :
  t("tools.taper", {angle: showNumber(m.half_angle, 1), low: bareLength(m.narrow ?? 0), high: showLength(m.size)});

export function Tools() {
  const all = useAnswer<{currency: string; instruments: number; kinds: Kind[]}>("/api/outfit", "");
  const r = all.value;
  if (!r) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  const kinds = r.kinds.filter((k) => k.met.length > 0);
  if (kinds.length === 0) return <p class="empty">{t("tools.none")}</p>;
  const missing = kinds.reduce((sum, k) => sum + k.met.filter((m) => !m.served).length, 0);
  return (
    <>
      <p class="sentence">{missing === 0 ? t("tools.all") : many("tools.missing", missing)}</p>
      <p class="figure-line">{many("tools.from", r.instruments)}</p>
      <div class="panels">{kinds.map((k) => {
        const served = k.steps[0]?.served ?? 0;
        const list = (which: (x: Kind["tools"][number]) => boolean) => k.tools.filter((x) => x.owned && which(x)).map((x) => x.name);
        const worn = list((x) => x.worn);
        const spare = list((x) => x.spare && !x.worn);
        return (
          <section key={k.tool} class="panel">
            <h2>{ofCode("tool", k.tool)}</h2>
            <p>{t("tools.served", {n: served, all: k.all})}</p>
            {k.steps.slice(1).map((s) => <p key={s.bought.join()}>{t("tools.next")}{" "}<strong><Typed>{s.bought.join(", ")}</Typed></strong>
              {s.price !== null && <>{", "}{showNumber(Number(s.price), 2)}{"\u00a0"}<Typed>{r.currency}</Typed></>}{": "}{t("tools.then", {n: s.served, all: k.all})}</p>)}
            <ul class="rows">{k.met.map((m, i) => <Row key={i} id={`${k.tool}-${i}`} name={sayMet(m)} wrong={!m.served}
              says={m.served ? t("tools.is-served") : t(m.can_be_bought ? "tools.to-buy" : "tools.nowhere")} figure={many("tools.met", m.count)}>
              <p>{m.where.map((w, at) => <span key={w}>{at > 0 && "; "}<Typed>{w}</Typed></span>)}</p></Row>)}</ul>
            {worn.length > 0 && <p>{t("tools.worn")}{" "}<Typed>{worn.join(", ")}</Typed></p>}
            {spare.length > 0 && <p class="faint-words">{t("tools.spare")}{" "}<Typed>{spare.join(", ")}</Typed></p>}
          </section>
        );
      })}</div>
    </>
  );
}
