/** Both joints of a key in section, to scale, now and after the first plan: the book draws it. */
import {choices} from "../units/choices";
import {t} from "../words/words";

/** `stand`: changes whenever anything of the key does, so that the picture is drawn anew. */
export function Section({visit, keyId, name, stand}: {visit: string; keyId: string; name: string; stand: number}) {
  const unit = choices.value.unit === "mm" ? "mm" : "in";
  const path = `/api/visits/${visit}/drawing/${encodeURIComponent(keyId)}/section?unit=${unit}&stand=${stand}`;
  return (
    <figure class="section">
      <a href={path} target="_blank" rel="noopener"><img src={path} alt={t("draw.section.alt", {key: name})} loading="lazy" width="680" height="798" /></a>
      <figcaption class="faint-words">{t("draw.section.say")}</figcaption>
    </figure>
  );
}
