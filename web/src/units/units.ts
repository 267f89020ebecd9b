/** Lengths typed and shown. The book reads what is typed for itself; this reading is for drawing it at once. */
import {Choices, Unit, choices, zoneOf} from "./choices";

const perInch = 25.4; // exactly: international inch of 1959

export interface Typed {
  mm: number;
  plusMinus: number | null; // mm
  bare: boolean; // no unit was typed
}

const form = /^([-−+]?)\s*(?:(\d+)[ -])?(?:(\d+)\/(\d+)|(\d*[.,]?\d+|\d+[.,]))\s*(mm|um|µm|μm|inches|inch|in\.?|"|''|″|”|thou)?$/i;

function scale(unit: string | undefined, otherwise: Unit): number {
  const low = (unit ?? otherwise).toLowerCase();
  if (low === "mm") return 1;
  if (low === "thou") return perInch / 1000;
  return /^[uµμ]m$/.test(low) ? 0.001 : perInch;
}

/** null: no length (a finished one: "1." is read as 1). */
export function readLength(text: string, unit: Unit): Typed | null {
  const [head = "", tail, ...more] = text.trim().replace(/\u00a0/g, " ").split(/\s*(?:±|\+\/-|\+-)\s*/);
  if (more.length > 0) return null;
  const of = (part: string, otherwise: Unit): {value: number; unit: string | undefined} | null => {
    const m = form.exec(part);
    if (!m) return null;
    const [, sign, whole, over, under, decimal, named] = m;
    if (whole !== undefined && over === undefined) return null; // marks between groups of digits are never read
    const size = over !== undefined
      ? Number(whole ?? 0) + Number(over) / Number(under)
      : Number((decimal ?? "").replace(",", "."));
    if (!Number.isFinite(size)) return null;
    return {value: (sign === "-" || sign === "−" ? -size : size) * scale(named, otherwise), unit: named};
  };
  const value = of(head, unit);
  if (!value) return null;
  if (tail === undefined) return {mm: value.value, plusMinus: null, bare: value.unit === undefined};
  const inside = of(tail, (value.unit as Unit | undefined) ?? unit);
  if (!inside || inside.value < 0) return null;
  return {mm: value.value, plusMinus: inside.value, bare: value.unit === undefined && inside.unit === undefined};
}

/** As it goes to the book: as typed, with the chosen unit where none was. */
export function forBook(text: string, unit: Unit): string {
  const typed = readLength(text, unit);
  if (!typed?.bare) return text.trim();
  const [head = "", ...rest] = text.trim().split(/\s*(?:±|\+\/-|\+-)\s*/);
  return `${head} ${unit}${rest.length > 0 ? ` ± ${rest.join("")}` : ""}`;
}

export const decimals = (unit: Unit): number => (unit === "mm" ? 3 : unit === "in" ? 4 : 1);
export const inUnit = (mm: number, unit: Unit): number =>
  unit === "mm" ? mm : unit === "in" ? mm / perInch : (mm / perInch) * 1000;

/** A plain number with so many decimals, in the person's decimal sign and a true minus. */
export function showNumber(value: number, places: number, by: Choices = choices.value): string {
  let text = value.toFixed(places);
  if (Number(text) === 0) text = text.replace("-", "");
  text = text.replace("-", "\u2212");
  return by.comma ? text.replace(".", ",") : text;
}
/** As many decimals as the doubt is worth: two of its digits, and no more than four. */
export function placesFor(value: number, doubt: number): number {
  const by = doubt > 0 ? doubt : Math.abs(value) / 100;
  return by > 0 ? Math.min(4, Math.max(0, 1 - Math.floor(Math.log10(by)))) : 0;
}
/** "0.052" */
export function bareLength(mm: number, by: Choices = choices.value): string {
  return showNumber(inUnit(mm, by.unit), decimals(by.unit), by);
}
/** "0.052 mm" */
export const showLength = (mm: number, by: Choices = choices.value): string => `${bareLength(mm, by)}\u00a0${by.unit}`;
/** "0.052 ± 0.006 mm", or "0.030 to 0.210 mm" of a range. */
export function showFigure(f: {value: number; plus_minus: number; low?: number; high?: number; range?: boolean},
                           to: string, by: Choices = choices.value): string {
  if (f.range && f.low !== undefined && f.high !== undefined)
    return `${bareLength(f.low, by)} ${to} ${showLength(f.high, by)}`;
  if (!(f.plus_minus > 0)) return showLength(f.value, by);
  return `${bareLength(f.value, by)} ± ${showLength(f.plus_minus, by)}`;
}

/** Today in the chosen time zone, as the book writes days. */
export function today(by: Choices = choices.value, now: Date = new Date()): string {
  return new Intl.DateTimeFormat("sv-SE", {
    year: "numeric", month: "2-digit", day: "2-digit", timeZone: zoneOf(by),
  }).format(now);
}
/** A day of the calendar in words of the language. */
export function showDay(day: string, by: Choices = choices.value): string {
  const m = /^(\d{4})-(\d{2})-(\d{2})$/.exec(day);
  if (!m) return day;
  const date = new Date(Date.UTC(Number(m[1]), Number(m[2]) - 1, Number(m[3])));
  return new Intl.DateTimeFormat(by.language === "de" ? "de-DE" : "en-GB", {
    weekday: "short", day: "numeric", month: "short", timeZone: "UTC",
  }).format(date);
}
/** A moment of the book in the chosen zone: "Thu 26 Nov, 14:06". */
export function showMoment(at: string | number, by: Choices = choices.value): string {
  const moment = new Date(at);
  if (Number.isNaN(moment.getTime())) return String(at);
  return new Intl.DateTimeFormat(by.language === "de" ? "de-DE" : "en-GB", {
    weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", timeZone: zoneOf(by),
  }).format(moment);
}
/** Now with the zone's offset, as a slip's "at" wants it. */
export function nowText(now: Date = new Date()): string {
  return now.toISOString().replace(/\.\d+Z$/, "Z");
}
