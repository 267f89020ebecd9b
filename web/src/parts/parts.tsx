/** Small pieces that several screens are made of. */
import type {ComponentChildren} from "preact";
import {useLayoutEffect} from "preact/hooks";
import type {Trouble} from "../api/client";
import type {Evidence, Figure, Step, Verdict} from "../api/types";
import {bareLength, showFigure, showLength, showNumber} from "../units/units";
import {ofCode, said, saidByBook, t, Word} from "../words/words";

/** What the book said in a sentence of its own, in the person's language; what the catalogue lacks is marked as English. */
export function InBookWords({children}: {children: string}) {
  const own = saidByBook(children);
  return own === null ? <span lang="en" dir="auto">{children}</span> : <>{own}</>;
}
/** The same where a person's own note may stand. */
export const InSomeWords = ({children}: {children: string}) => <Typed>{said(children)}</Typed>;

/** What a person typed: may be of any script. */
export const Typed = ({children}: {children: ComponentChildren}) => <bdi>{children}</bdi>;

export function TroubleBox({trouble, again}: {trouble: Trouble; again: () => void}) {
  return (
    <div class="trouble" role="alert">
      <p>{trouble.reached ? t("trouble.other", {why: trouble.says || String(trouble.status)}) : t("trouble.away")}</p>
      <button type="button" onClick={again}>{t("try-again")}</button>
    </div>
  );
}

export const Waiting = () => <p class="waiting" role="status">{t("loading")}</p>;

/** A figure with its exact value for who copies it, shown as a bench reads it. */
export const FigureOf = ({figure}: {figure: Figure}) => <data value={String(figure.value)}>{showFigure(figure, t("to"))}</data>;

const verdictWord: Record<Verdict, Word> = {
  "sound": "verdict.sound", "loose": "verdict.loose", "tight": "verdict.tight", "binds": "verdict.binds",
  "cannot tell": "verdict.cannot tell",
};
export const sayVerdict = (v: Verdict): string => t(verdictWord[v]);

/** A key's end before its post: how far apart says how it fits, without colour. */
export function VerdictSign({verdict, size = 28}: {verdict: Verdict; size?: number}) {
  const at = {"sound": 14, "loose": 20, "tight": 11.5, "binds": 7, "cannot tell": 16}[verdict];
  return (
    <svg class={`sign sign-${verdict.replace(" ", "-")}`} width={size} height={size} viewBox="0 0 28 28" aria-hidden="true">
      <rect class="post" x="3" y="3" width="7" height="22" rx="2" />
      <rect class={verdict === "cannot tell" ? "key-open" : "key-metal"} x={at} y="9" width={27 - at} height="10" rx="1.5" />
      {verdict === "loose" && <path class="mark" d="M11.5 14 h7 M13.5 11.5 l-2.5 2.5 2.5 2.5 M16.5 11.5 l2.5 2.5 -2.5 2.5" />}
      {verdict === "binds" && <path class="mark" d="M5 7 l5 14 M10 7 l-5 14" />}
    </svg>
  );
}

export function sayStep(step: Pick<Step, "work" | "end" | "amount">): string {
  return ofCode("step", step.work, {end: t(step.end === "upper" ? "end.upper" : "end.lower"), amount: showLength(step.amount)});
}
export function sayTurns(turns: number, most = 2): string {
  const n = plain(turns, most);
  return n === "1" ? t("work.bite-1") : t("work.bite", {n});
}

/** A number without needless decimals. */
export function plain(value: number, most = 2): string {
  return showNumber(value, most).replace(/([.,]\d*?)0+$/, "$1").replace(/[.,]$/, "");
}
export const percent = (share: number): string => showNumber(100 * share, share >= 0.995 || share < 0.01 ? 1 : 0);

/** Whole window as "0.023 to 0.033 mm". */
export const sayWindow = (low: number, high: number): {low: string; high: string} => ({low: bareLength(low), high: showLength(high)});

/** What was read or found, in the person's unit and language. */
export const evidenceAnswer = (e: Evidence): string =>
  e.value === undefined ? ofCode("answer", e.answer ?? "") : showLength(e.value);


/** Keys that work wherever one is, but for where one types. */
export function useKeys(keys: (key: string, event: KeyboardEvent) => boolean, on: unknown[]): void {
  useLayoutEffect(() => {
    const press = (event: KeyboardEvent) => {
      if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
      const target = event.target as HTMLElement | null;
      const types = target?.closest("input, textarea, select, [contenteditable]");
      if (types && event.key !== "PageDown" && event.key !== "PageUp") return;
      // Enter on a button or link is that button's or link's.
      if (event.key === "Enter" && target?.closest("button, a, summary")) return;
      if (keys(event.key, event)) event.preventDefault();
    };
    document.addEventListener("keydown", press);
    return () => document.removeEventListener("keydown", press);
  }, on);
}
