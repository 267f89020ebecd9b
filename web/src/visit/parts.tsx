/** What else there is of an instrument than its keys, one place for each. */
import type {InstrumentDocument, WholeVisit} from "../api/types";
import {useAnswer} from "../live/news";
import {Typed} from "../parts/parts";
import {VisitPart, link, place, visitParts} from "../route";
import {ofCode, t} from "../words/words";
import {Body} from "./body";
import {Leak} from "./leak";
import {Linked} from "./linked";
import {Movement} from "./movement";
import {Photos} from "./photos";
import {Rods} from "./rods";
import {Season} from "./season";
import {Wear} from "./wear";
import {Works} from "./works";

/** What every part knows of its instrument. */
export interface Of {
  visit: string;
  whole: WholeVisit | null;
  document: InstrumentDocument | null;
  nameOf: (key: string) => string;
}

function Part({part, of}: {part: VisitPart; of: Of}) {
  switch (part) {
    case "works": return <Works {...of} />;
    case "leak": return <Leak {...of} />;
    case "body": return <Body {...of} />;
    case "rods": return <Rods {...of} />;
    case "movement": return <Movement {...of} />;
    case "linked": return <Linked {...of} />;
    case "season": return <Season {...of} />;
    case "wear": return <Wear {...of} />;
    case "photos": return <Photos {...of} />;
  }
}

export function PartOfVisit() {
  const {visit, part} = place.value;
  const whole = useAnswer<WholeVisit>(`/api/visits/${visit}`, visit);
  const document = useAnswer<InstrumentDocument>(`/api/visits/${visit}/document`, visit);
  const name = (key: string) => document.value?.keys.find((k) => k.id === key)?.name || key;
  return (
    <>
      <nav class="key-nav" aria-label={t("key.all")}>
        <a href={link({visit})}>{"\u2190 "}<Typed>{document.value?.title ?? t("key.all")}</Typed></a>
      </nav>
      <h1>{ofCode("part", part)}</h1>
      <div class="part" key={part}><Part part={part as VisitPart} of={{visit, whole: whole.value, document: document.value, nameOf: name}} /></div>
      <nav key={`others ${part}`} class="others no-print" aria-label={t("more")}>
        {visitParts.map((p) => <a key={p} href={link({visit, part: p})} aria-current={p === part ? "page" : undefined}>{ofCode("part", p)}</a>)}
      </nav>
    </>
  );
}
