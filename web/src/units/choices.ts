/** What a person chose on this device: language, unit, decimal sign, time zone, paper, light or dark. */
import {signal} from "@preact/signals";

export type Language = "en" | "de";
export type Unit = "mm" | "in" | "thou";
export interface Choices {
  language: Language;
  unit: Unit;
  comma: boolean;
  zone: string; // "": the shop's, "device": the device's
  paper: "" | "A4" | "Letter"; // "": the shop's
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
    paper: "",
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

/** What the shop says for all its devices; the last known stands until it is asked anew. */
export interface OfShop {
  time_zone?: string;
  paper?: string;
}
const shopPlace = "hingeline-of-shop";
function keptOfShop(): OfShop {
  try {
    return JSON.parse(localStorage.getItem(shopPlace) ?? "{}") as OfShop;
  } catch {
    return {};
  }
}
export const ofShop = signal<OfShop>(keptOfShop());
export function learnOfShop({time_zone = "", paper = ""}: OfShop): void {
  if (time_zone === ofShop.value.time_zone && paper === ofShop.value.paper) return;
  ofShop.value = {time_zone, paper};
  try {
    localStorage.setItem(shopPlace, JSON.stringify(ofShop.value));
  } catch {
    // It is asked for again the next time.
  }
}
/** The time zone that counts; undefined: the device's, also where this browser does not know the one that is named. */
export function zoneOf(by: Choices): string | undefined {
  const zone = by.zone === "device" ? "" : by.zone || ofShop.value.time_zone;
  if (!zone) return undefined;
  try {
    return new Intl.DateTimeFormat("en", {timeZone: zone}).resolvedOptions().timeZone;
  } catch {
    return undefined;
  }
}
/** The paper that counts: where nobody says one, what is usual where the browser's language is spoken. */
export function paperOf(by: Choices, language: string = typeof navigator === "undefined" ? "en" : navigator.language): "A4" | "Letter" {
  const shop = ofShop.value.paper;
  if (by.paper) return by.paper;
  return shop ? (shop === "letter" ? "Letter" : "A4") : /-(us|ca)$/i.test(language) ? "Letter" : "A4";
}

export function choose(some: Partial<Choices>): void {
  choices.value = {...choices.value, ...some};
  try {
    localStorage.setItem(place, JSON.stringify(choices.value));
  } catch {
    // Without a place to keep it, it holds until the page is closed.
  }
}
