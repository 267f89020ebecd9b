/** The one place words come from. English is there from the beginning; another language comes when it is chosen. */
import {signal} from "@preact/signals";
import {Language, choices} from "../units/choices";
import {en} from "./en";

export type Word = keyof typeof en;
export type Fill = Record<string, string | number>;

const catalogues = signal<Partial<Record<Language, Record<Word, string>>>>({en});

/** Fetches a language's words; without a network that never had them, English stays. */
export async function learn(language: Language): Promise<void> {
  if (catalogues.value[language] || language === "en") return;
  const {de} = await import("./de");
  catalogues.value = {...catalogues.value, de};
}

/** A word or sentence of the chosen language; "{name}" is filled from `fill`. */
export function t(word: Word, fill: Fill = {}): string {
  return (catalogues.value[choices.value.language] ?? en)[word].replace(/\{(\w+)\}/g, (whole, name: string) =>
    name in fill ? String(fill[name]) : whole);
}

/** The same with "{n}" of something: the word's own form for one, "WORD-1", where there is one of it. */
export function many(word: Word, n: number, fill: Fill = {}): string {
  const one = `${word}-1`;
  return t(n === 1 && one in en ? (one as Word) : word, {n, ...fill});
}

/** As a sentence begins. */
export const capital = (text: string): string => text.charAt(0).toLocaleUpperCase(choices.value.language) + text.slice(1);

/** The word for a code that came from the book; the code itself where the catalogue has none. */
export function ofCode(group: string, code: string, fill: Fill = {}): string {
  const word = `${group}.${code}`;
  return word in en ? t(word as Word, fill) : code;
}
