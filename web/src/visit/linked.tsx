/** Linked keys: which pads close together, and which cork or felt puts them right. */
import {useAnswer} from "../live/news";
import {TroubleBox, Typed, Waiting, plain} from "../parts/parts";
import {Row, Why, Worked, sayWorked} from "../parts/worked";
import {showLength} from "../units/units";
import {many, ofCode, t} from "../words/words";
import type {Of} from "./parts";

interface Cork {
  link: number | null;
  from?: string;
  to?: string;
  key?: string;
  material: string;
  thicker: Worked;
  now: number | null;
  wanted: number | null;
  nearest_sheet?: string | null;
  nearest_left?: number | null;
}
interface RegulateResult {
  together: number;
  openings: {key: string; opening: Worked | null; low: number | null; high: number | null; wider: Worked | null}[];
  links: {link: number; from: string; to: string; lost: Worked; lost_at_pad: Worked | null; lost_at_touch: Worked | null}[];
  pairs: {pair: number; key: string; partner: string; closes: "together" | "key first" | "partner first" | "cannot tell"; gap: Worked | null; cures: Cork[]}[];
  changes: Cork[];
  minutes: number | null;
  problems: string[];
}

export function Linked({visit, nameOf}: Of) {
  const path = `/api/visits/${visit}/regulate`;
  const all = useAnswer<RegulateResult>(`${path}?inputs=no`, visit);
  const r = all.value;
  if (!r) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  if (r.pairs.length + r.links.length === 0) return <p class="empty">{t("linked.none")}</p>;
  const apart = r.pairs.filter((p) => p.closes !== "together");
  const cork = (c: Cork, i: number) => {
    const thinner = c.thicker.value < 0;
    const fill = {material: ofCode("material", c.material), by: sayWorked({...c.thicker, value: Math.abs(c.thicker.value)})};
    return (
      <li key={i}>{c.from && c.to ? t(thinner ? "linked.thinner" : "linked.thicker", {from: nameOf(c.from), to: nameOf(c.to), ...fill}) :
        t(thinner ? "linked.stop-thinner" : "linked.stop-thicker", {key: nameOf(c.key ?? c.from ?? c.to ?? ""), ...fill})}{c.now !== null && c.wanted !== null && <>{" "}{t("linked.from-to", {now: showLength(c.now), wanted: showLength(c.wanted)})}</>}
        {c.nearest_sheet && <>{"; "}{t("linked.sheet")}{" "}<Typed>{c.nearest_sheet}</Typed></>}</li>
    );
  };
  return (
    <>
      <p class="sentence">{apart.length === 0 ? t("linked.right") : many("linked.wrong", apart.length, {all: r.pairs.length})}</p>
      <p class="figure-line">{t("linked.together", {gap: showLength(r.together)})}</p>
      {r.changes.length > 0 && <section class="panel">
        <h2>{t("linked.do")}{r.minutes !== null && <>{" ("}{t("key.plan.minutes", {n: plain(r.minutes, 0)})}{")"}</>}</h2>
        <ol class="steps">{r.changes.map(cork)}</ol>
      </section>}
      <h2>{t("linked.pairs")}</h2>
      <ul class="rows">{[...apart, ...r.pairs.filter((p) => !apart.includes(p))].map((p) => (
        <Row key={p.pair} id={`pair-${p.pair}`} name={<Typed>{`${nameOf(p.key)}, ${nameOf(p.partner)}`}</Typed>} wrong={p.closes !== "together"}
          says={p.closes === "together" ? t("linked.closes-together") : p.closes === "cannot tell" ? t("linked.unknown") :
            t("linked.late", {key: nameOf(p.closes === "key first" ? p.partner : p.key)})}
          figure={p.gap ? showLength(Math.abs(p.gap.value)) : ""}>
          {p.gap && <Why path={path} visit={visit} pick={(x: RegulateResult) => x.pairs.find((y) => y.pair === p.pair)?.gap}>{t("linked.gap")}{" "}{sayWorked({...p.gap, value: Math.abs(p.gap.value)})}</Why>}
          {p.cures.length > 0 && p.closes !== "together" && <><h3>{t("linked.alone")}</h3><ul>{p.cures.map(cork)}</ul></>}
        </Row>))}</ul>
      <h2>{t("linked.links")}</h2>
      <ul class="rows">{r.links.map((l) => <Row key={l.link} id={`link-${l.link}`} name={<Typed>{`${nameOf(l.from)} \u2192 ${nameOf(l.to)}`}</Typed>} wrong={false} says={t("linked.lost")} figure={sayWorked(l.lost)}>
        {l.lost_at_touch && <p>{t("linked.at-touch", {lost: sayWorked(l.lost_at_touch)})}</p>}
        <Why path={path} visit={visit} pick={(x: RegulateResult) => x.links.find((y) => y.link === l.link)?.lost}>{t("linked.lost")}{" "}{sayWorked(l.lost)}</Why>
      </Row>)}</ul>
    </>
  );
}
