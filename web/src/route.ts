/** Where one is: "#v=VISIT&k=KEY&s=work". A tag on an instrument's case holds "#v=VISIT". */
import {signal} from "@preact/signals";

export type Screen = "answer" | "work" | "proof";
export interface Place {
  at: "day" | "take-in" | "visit" | "key" | "choices" | "settings";
  visit: string;
  key: string;
  screen: Screen;
}

export function read(hash: string): Place {
  const fields = new URLSearchParams(hash.replace(/^#/, ""));
  const visit = fields.get("v") ?? "";
  const key = fields.get("k") ?? "";
  const s = fields.get("s");
  const screen: Screen = s === "work" || s === "proof" ? s : "answer";
  const go = fields.get("go");
  const at = go === "take-in" || go === "choices" || go === "settings" ? go : visit ? (key ? "key" : "visit") : "day";
  return {at, visit, key, screen};
}
export function link(to: Partial<Place>): string {
  const fields = new URLSearchParams();
  if (to.visit) fields.set("v", to.visit);
  if (to.key) fields.set("k", to.key);
  if (to.screen && to.screen !== "answer") fields.set("s", to.screen);
  if (to.at === "take-in" || to.at === "choices" || to.at === "settings") fields.set("go", to.at);
  return "#" + fields.toString();
}

export const place = signal<Place>(read(typeof location === "undefined" ? "" : location.hash));
export const go = (to: Partial<Place>): void => {
  location.hash = link(to);
};
