/** Who logged in, and what was refused. */
import {useAnswer} from "../live/news";
import type {Thing} from "../api/types";
import {TroubleBox, Typed, Waiting} from "../parts/parts";
import {showMoment} from "../units/units";
import {ofCode, t} from "../words/words";

export function Log() {
  const all = useAnswer<{lines: {at: number; person: string; what: string}[]}>("/api/access-log", "none");
  const people = useAnswer<{things: Thing<{name: string}>[]}>("/api/list/person?most=1000", "");
  const r = all.value;
  if (!r) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  if (r.lines.length === 0) return <p class="empty">{t("log.none")}</p>;
  const nameOf = (id: string) => people.value?.things.find((p) => p.thing === id)?.slip.body.name ?? (id ? t("log.gone") : t("log.nobody"));
  return (
    <>
      <p>{t("log.say")}</p>
      <div class="scroll" tabIndex={0} role="region" aria-label={t("shop.log")}><table>
        <thead><tr><th scope="col">{t("log.when")}</th><th scope="col">{t("login.person")}</th><th scope="col">{t("log.what")}</th></tr></thead>
        <tbody>{r.lines.map((l, i) => <tr key={i}><td class="num">{showMoment(l.at > 1e11 ? l.at : l.at * 1000)}</td><td><Typed>{nameOf(l.person)}</Typed></td><td>{ofCode("log", l.what)}</td></tr>)}</tbody></table></div>
    </>
  );
}
