/**
 * What the book says in sentences of its own: formulas, remarks, reasons, refusals. The book says them in English, with
 * what it reckoned in them. Here each is known again by its English words, "the post stands off by {a}", and said in the
 * person's language with its lengths in the person's unit. What the catalogue does not know stays as it came.
 */
import {Choices} from "../units/choices";
import {decimals, inUnit} from "../units/units";

/** English as the book says it, the other language; "{a}" stands for a figure, a name or a sentence of its own. */
export type Sentence = readonly [english: string, own: string];

interface Pattern {
  form: RegExp;
  names: string[];
  own: string;
  /** It says so little itself that it would fit almost anything. */
  general: boolean;
}

const quote = (text: string): string => text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
const id = /^[a-z0-9]+(?:-[a-z0-9]+)*$/;
/** What is no name: a sentence that the catalogue lacks. */
const prose = /(?:\b[a-z']{2,}\b.*){7}|\b(?:is|are|was|were|not|no|be|it|its|may|than|that|which|when|where|has|have|before|what|how)\b/i;
const words = /(?:\b[a-z']{2,}\b.*){3}/;
const perInch = 25.4; // exactly: international inch of 1959
const number = "[\u2212-]?\\d+(?:\\.\\d+)?(?:e[+-]?\\d+)?";
const figure = new RegExp(`^(${number})(?: ± (${number})| to (${number}))?(?:([ \u00a0])?(mm|in|°|%|°C|[a-zA-Z\u00b5][\\w/·²³^ ]{0,11}))?$`);
const units = /^(?:|°|%|°C|mm|in|N|N mm|N mm\/rad|GPa|MPa|kPa|Pa|mL\/s|mL|s|ms|min|h|g|g mm2|mm2\/s|mPa s|N mm s|rad|deg|degC|K|degrees|m\/s|kg\/m3|1\/m|mm3|turns|closings)$/;

export class Book {
  private exact = new Map<string, string>();
  private patterns: Pattern[] = [];
  private told = new Map<string, string | null>();

  /** `to`: the word between the ends of a range. */
  constructor(sentences: readonly Sentence[], private by: Pick<Choices, "unit" | "comma">, private to: string) {
    for (const [english, own] of sentences) {
      if (!english.includes("{")) {
        this.exact.set(english, own);
        continue;
      }
      const names: string[] = [];
      const form = quote(english).replace(/\\\{(\w+)\\\}/g, (_, name: string) => {
        names.push(name);
        return "(.+?)";
      });
      this.patterns.push({form: new RegExp(`^${form}$`, "s"), names, own, general: english.replace(/\{\w+\}|\W/g, "").length < 6});
    }
    // Those that say most themselves come first: the least is left to what stands in for anything.
    const said = (p: Pattern) => p.form.source.length - 5 * p.names.length;
    this.patterns.sort((a, b) => said(b) - said(a));
  }

  /** null: the catalogue has no such sentence, and it is no bare figure. */
  say(text: string): string | null {
    const before = this.told.get(text);
    if (before !== undefined) return before;
    const found = this.figure(text) ?? this.sentence(text) ?? this.parts(text, /(?<=\.) /, " ") ?? this.parts(text, /; /, "; ") ?? this.parts(text, /, /, ", ");
    if (this.told.size > 5000) this.told.clear();
    this.told.set(text, found);
    return found;
  }

  private sentence(text: string): string | null {
    if (!text.endsWith(".")) return this.whole(text);
    const bare = this.whole(text.slice(0, -1));
    return bare === null ? this.whole(text) : `${bare}.`;
  }
  private whole(text: string): string | null {
    const exact = this.exact.get(text);
    if (exact !== undefined) return exact;
    for (const p of this.patterns) {
      const m = p.form.exec(text);
      if (!m) continue;
      const fills = m.slice(1).map((f) => this.say(f) ?? ((p.general ? words : prose).test(f) ? null : f));
      if (!fills.includes(null)) return p.own.replace(/\{(\w+)\}/g, (_, name: string) => fills[p.names.indexOf(name)] ?? "");
    }
    return null;
  }
  /** Several of the book's sentences one after another; each has to be known, but for ids of keys beside it. */
  private parts(text: string, between: RegExp, joint: string): string | null {
    const parts = text.split(between);
    if (parts.length < 2) return null;
    const own: string[] = [];
    let known = false;
    for (const part of parts) {
      const said = this.figure(part) ?? this.sentence(part);
      if (said === null && !(joint === ", " && id.test(part))) return null;
      known ||= said !== null;
      own.push(said ?? part);
    }
    return known ? own.join(joint) : null;
  }

  /** "0.085 ± 0.004 mm" in the person's unit and decimal sign. */
  private figure(text: string): string | null {
    // As it is typed: "2.5 kPa ± 0.02".
    const m = figure.exec(text.replace(/^(\S+) ([a-zA-Z/°%]+) (± \S+)$/, "$1 $3 $2"));
    if (!m) return null;
    const [, value = "", doubt, high, blank = "", unit = ""] = m;
    if (!units.test(unit)) return null;
    const asked = this.by.unit;
    const length = unit === "mm" || unit === "in";
    const places = (x: string) => /\.(\d+)/.exec(x)?.[1]?.length ?? 0;
    const show = (x: string | undefined): string => {
      if (x === undefined) return "";
      let out = x.replace("-", "\u2212");
      if (length && unit !== asked) {
        const mm = Number(x.replace("\u2212", "-")) * (unit === "in" ? perInch : 1);
        out = inUnit(mm, asked).toFixed(Math.max(0, decimals(asked) - Math.max(0, decimals(unit) - places(x)))).replace("-", "\u2212");
      }
      return this.by.comma ? out.replace(".", ",") : out;
    };
    const all = `${show(value)}${doubt === undefined ? "" : ` ± ${show(doubt)}`}${high === undefined ? "" : ` ${this.to} ${show(high)}`}`;
    return unit === "" ? all : `${all}${blank ? "\u00a0" : ""}${length ? asked : unit}`;
  }
}
