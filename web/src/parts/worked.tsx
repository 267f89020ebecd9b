/** Figures that were worked out: shown, and explained on request. */
import type {ComponentChildren} from "preact";
import {useState} from "preact/hooks";
import {useAnswer} from "../live/news";
import {choices} from "../units/choices";
import {placesFor, showFigure, showLength, showNumber} from "../units/units";
import {ofCode, t} from "../words/words";
import {InBookWords, TroubleBox, Waiting} from "./parts";

export interface Worked {
  value: number;
  plus_minus: number;
  unit: string;
  formula?: string;
  remark?: string;
  inputs?: {name: string; value: number; plus_minus: number; unit: string; origin: string; moves: number}[];
}

/** "52.4 ± 5.9 mL/s"; lengths in the person's unit. */
export function sayWorked(w: {value: number; plus_minus: number; unit: string}): string {
  if (w.unit === "mm") return showFigure(w, t("to"));
  const places = placesFor(w.value, w.plus_minus);
  const unit = w.unit ? `\u00a0${w.unit}` : "";
  return w.plus_minus > 0 ? `${showNumber(w.value, places)} ± ${showNumber(w.plus_minus, places)}${unit}` : `${showNumber(w.value, places)}${unit}`;
}

function Inputs({worked}: {worked: Worked}) {
  const inputs = worked.inputs ?? [];
  return (
    <div class="why">
      {worked.formula && <><h4>{t("key.why.formula")}</h4><p><InBookWords>{worked.formula}</InBookWords></p></>}
      {worked.remark && <p class="faint-words"><InBookWords>{worked.remark}</InBookWords></p>}
      {inputs.length > 0 && <><h4>{t("key.why.inputs")}</h4>
        <ul>{inputs.map((x, i) => <li key={x.name + i}><InBookWords>{x.name}</InBookWords>{" "}<span class="num">{sayWorked(x)}</span>{", "}{ofCode("origin", x.origin)}
          {x.moves !== 0 && <>{"; "}{t("key.why.effect")}{" "}{sayMoves(x.moves, worked.unit)}</>}</li>)}</ul></>}
    </div>
  );
}
const sayMoves = (moves: number, unit: string): string =>
  `± ${unit === "mm" ? showLength(Math.abs(moves)) : `${showNumber(Math.abs(moves), placesFor(moves, Math.abs(moves)))}${unit ? `\u00a0${unit}` : ""}`}`;

function Asked({path, visit, pick}: {path: string; visit: string; pick: (all: never) => Worked | undefined | null}) {
  const all = useAnswer<never>(path, visit);
  if (all.trouble) return <TroubleBox trouble={all.trouble} again={all.again} />;
  if (!all.value) return <Waiting />;
  const worked = pick(all.value);
  return worked ? <Inputs worked={worked} /> : null;
}

/** A figure that says where it comes from when it is asked. */
export function Why({path, visit, pick, children}: {
  path: string; visit: string; pick: (all: never) => Worked | undefined | null; children: ComponentChildren;
}) {
  const [open, set] = useState(false);
  return (
    <div class="asked">
      <button type="button" class="figure" aria-expanded={open} onClick={() => set(!open)}>{children}<span class="faint-words">{t("key.why")}</span></button>
      {open && <Asked path={path} visit={visit} pick={pick} />}
    </div>
  );
}

/** A thing in a list: its name, how it stands, its figure; more when it is opened. */
export function Row({id, name, wrong, says, figure, children}: {
  id: string; name: ComponentChildren; wrong: boolean; says: string; figure: string; children?: ComponentChildren;
}) {
  const head = (
    <>
      <strong>{name}</strong>
      <span class={wrong ? "wrong stands" : "stands"}>{wrong && <span class="flag" aria-hidden="true">{"\u25b2"}</span>}{says}</span>
      <span class="num">{figure}</span>
    </>
  );
  return <li data-row={id}>{children ? <details><summary class="row">{head}</summary><div class="row-more">{children}</div></details> : <div class="row">{head}</div>}</li>;
}

/** A length that only some have. */
export const lengthOr = (mm: number | null | undefined): string => (mm === null || mm === undefined ? "\u2013" : showLength(mm));
export const inChosenUnit = (): string => choices.value.unit;
