/** The one place words come from. English is there from the beginning; another language comes when it is chosen. */
import {signal} from "@preact/signals";
import {Choices, Language, choices} from "../units/choices";
import type {Book} from "./book";
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

const book = signal<{of: string; book: Book} | null>(null);
const wantedBook = (c: Choices): string => (c.language === "en" && c.unit === "mm" && !c.comma ? "" : `${c.language} ${c.unit} ${c.comma}`);

/** Fetches what is needed to say the book's own sentences as a person chose; in English and millimetres they are so already. */
export async function learnBook(c: Choices): Promise<void> {
  const of = wantedBook(c);
  if (!of || book.value?.of === of) return;
  const [made, de] = await Promise.all([import("./book"), import("./book_de")]);
  const sentences = c.language === "de" ? de.sentences : de.sentences.map(([english]) => [english, english] as const);
  if (wantedBook(choices.value) === of) book.value = {of, book: new made.Book(sentences, c, c.language === "de" ? "bis" : "to")};
}

/** The book's sentence in the person's language and unit; null: the catalogue has none for it, and it is English. */
export function saidByBook(sentence: string): string | null {
  const of = wantedBook(choices.value);
  if (!of) return sentence;
  return book.value?.of === of ? book.value.book.say(sentence) : null;
}
/** The same, in English where there is nothing better. */
export const said = (sentence: string): string => saidByBook(sentence) ?? sentence;
/** A refusal as the outbox keeps it: what was wrong, and in brackets what would be right. */
export function saidRefusal(refusal: string): string {
  const m = /^(.*?) \((.*)\)$/s.exec(refusal);
  return m ? `${said(m[1] ?? "")} (${said(m[2] ?? "")})` : said(refusal);
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
