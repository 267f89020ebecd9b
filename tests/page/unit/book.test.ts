import assert from "node:assert/strict";
import {test} from "node:test";
import {Book} from "../../../web/src/words/book";
import {sentences} from "../../../web/src/words/book_de";

const german = new Book(sentences, {unit: "mm", comma: true}, "bis");
const inches = new Book(sentences.map(([english]) => [english, english] as const), {unit: "in", comma: false}, "to");

/** Each text of a book as it is to be said. */
function says(book: Book, texts: Record<string, string | null>): void {
  for (const [text, wanted] of Object.entries(texts)) assert.equal(book.say(text), wanted);
}

test("every sentence has German words with the same places to fill, and stands once", () => {
  const fills = (s: string) => [...new Set(s.match(/\{\w+\}/g) ?? [])].sort();
  const seen = new Map<string, string>();
  for (const [english, own] of sentences) {
    assert.ok(own.trim(), english);
    const left = fills(english).filter((f) => !fills(own).includes(f));
    // Of "nothing says how the body and keys expand" German needs less.
    assert.ok(fills(own).every((f) => fills(english).includes(f)) && left.length <= 1, english);
    assert.ok((seen.get(english) ?? own) === own, `two translations of "${english}"`);
    seen.set(english, own);
  }
});

test("figures in the person's unit and decimal sign; an inch is 25.4 mm (international inch of 1959)", () => {
  says(german, {
    "0.085 ± 0.004 mm": "0,085 ± 0,004\u00a0mm",
    "0.014 to 0.030 mm": "0,014 bis 0,030\u00a0mm",
    "-0.020 mm": "\u22120,020\u00a0mm",
    "2.50 kPa ± 0.02": "2,50 ± 0,02\u00a0kPa",
    "15.0°": "15,0°",
  });
  says(inches, {
    "0.254 ± 0.025 mm": "0.0100 ± 0.0010\u00a0in",
    "4.00 mm": "0.157\u00a0in",
    "12.5 mL/s": "12.5\u00a0mL/s",
  });
});

test("a sentence with figures, names and sentences within it", () => {
  says(german, {
    "stop at 3 1/4 turns, however it feels": "bei 3 1/4 Umdrehungen aufhören, wie immer es sich anfühlt",
    "end play 0.120 ± 0.020 mm, to come down to 0.047 mm": "Axialspiel 0,120 ± 0,020\u00a0mm, es soll auf 0,047\u00a0mm kommen",
    "before any metal is cut: it may be dirt or dried oil": "bevor Metall abgenommen wird: es kann sein: Schmutz oder verharztes Öl",
    "face F helper above its arm, 0.066 mm off": "F helper über ihrem Arm um 0,066\u00a0mm planfräsen",
    "low-b-flat, tone hole": "low-b-flat, Tonloch",
  });
  says(inches, {
    "stop at 3 1/4 turns, however it feels": "stop at 3 1/4 turns, however it feels",
  });
});

test("a tool's name with a size in it stays as the shop wrote it", () => {
  says(inches, {
    "cutter: none fits a 4.30 mm head, you'd need 4.290 mm to 4.400 mm; the nearest, 4.00 mm cutter, is 4.00 mm": "cutter: none fits a 0.169\u00a0in head, you'd need 0.1689\u00a0in to 0.1732\u00a0in; the nearest, 4.00 mm cutter, is 0.157\u00a0in",
  });
});

test("what the catalogue lacks is not taken for something it has", () => {
  says(german, {
    "the moon is made of cheese": null,
    "a sentence that is not there or another that is not": null,
    "it is tighter than a drum that nobody ever read: ream it": null,
  });
});
