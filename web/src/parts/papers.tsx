/** Papers to print, as the server makes them: links that open a PDF, in the language, unit and paper of this device. */
import {choices, paperOf} from "../units/choices";
import {today} from "../units/units";
import {ofCode, t} from "../words/words";

const ofInstrument = ["card", "quote", "report", "readings", "tag"] as const;
const ofKey = ["card", "lesson", "drawings"] as const;

export function Papers({visit, keyId}: {visit: string; keyId?: string}) {
  const c = choices.value;
  const asked = new URLSearchParams({
    language: c.language, sheet: paperOf(c).toLowerCase(), unit: c.unit === "mm" ? "mm" : "in", day: today(), ...(keyId ? {key: keyId} : {}),
  });
  return (
    <section class="panel no-print">
      <h2>{t("papers")}</h2>
      <ul class="papers">
        {(keyId ? ofKey : ofInstrument).map((kind) => (
          <li key={kind}><a href={`/api/visits/${visit}/paper/${kind}?${asked}`} target="_blank" rel="noopener">{ofCode("paper", kind)}</a></li>
        ))}
      </ul>
    </section>
  );
}
