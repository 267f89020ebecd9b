/** What a person chose on this device: language, unit, decimal sign, time zone, paper, light or dark. */
import {signal} from "@preact/signals";

export type Language = "en" | "de";
export type Unit = "mm" | "in" | "thou";
export interface Choices {
  language: Language;
  unit: Unit;
  comma: boolean;
  zone: string; // "": the device's
  paper: "A4" | "Letter";
  light: "device" | "light" | "dark";
}

const place = "hingeline-choices";

export function first(language: string): Choices {
  const german = language.toLowerCase().startsWith("de");
  return {
    language: german ? "de" : "en",
    unit: "mm",
    comma: german,
    zone: "",
    paper: /-(us|ca)$/i.test(language) ? "Letter" : "A4",
    light: "device",
  };
}

function kept(): Choices {
  const begin = first(typeof navigator === "undefined" ? "en" : navigator.language);
  try {
    return {...begin, ...(JSON.parse(localStorage.getItem(place) ?? "{}") as Partial<Choices>)};
  } catch {
    return begin;
  }
}

export const choices = signal<Choices>(kept());

export function choose(some: Partial<Choices>): void {
  choices.value = {...choices.value, ...some};
  try {
    localStorage.setItem(place, JSON.stringify(choices.value));
  } catch {
    // Without a place to keep it, it holds until the page is closed.
  }
}
