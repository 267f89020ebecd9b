/** The one place words come from. */
import {choices} from "../units/choices";
import {de} from "./de";
import {en} from "./en";

export type Word = keyof typeof en;
export type Fill = Record<string, string | number>;

export const catalogues: Record<"en" | "de", Record<Word, string>> = {en, de};

/** A word or sentence of the chosen language; "{name}" is filled from `fill`. */
export function t(word: Word, fill: Fill = {}): string {
  return catalogues[choices.value.language][word].replace(/\{(\w+)\}/g, (whole, name: string) =>
    name in fill ? String(fill[name]) : whole);
}

/** The word for a code that came from the book; the code itself where the catalogue has none. */
export function ofCode(group: string, code: string, fill: Fill = {}): string {
  const word = `${group}.${code}`;
  return word in en ? t(word as Word, fill) : code;
}
