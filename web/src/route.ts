/**
 * Where one is: "#v=VISIT&k=KEY&s=work". A tag on an instrument's case holds "#/visit/VISIT", and an older one
 * "#/tag/VISIT": both lead to the instrument.
 */
import {signal} from "@preact/signals";

export type Screen = "answer" | "work" | "proof";
/** What else there is of an instrument than its keys. */
export const visitParts = ["works", "leak", "body", "rods", "movement", "linked", "season", "wear", "photos"] as const;
export type VisitPart = (typeof visitParts)[number];
/** What belongs to the shop and to no instrument. */
export const shopParts = ["figures", "tools", "learned", "practice", "rig", "scan", "people", "copies", "owners", "log"] as const;
export type ShopPart = (typeof shopParts)[number];
export interface Place {
  at: "day" | "take-in" | "visit" | "part" | "key" | "choices" | "shop";
  visit: string;
  key: string;
  screen: Screen;
  part: VisitPart | ShopPart | "";
}

const has = <T extends string>(list: readonly T[], word: string): word is T => (list as readonly string[]).includes(word);

/** The visit that a tag's text names; null: it is no tag of this shop's. */
export function ofTag(text: string): string | null {
  const m = /(?:^|#|\/)\/?(?:visit|tag)\/([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})$/i.exec(text.trim());
  const bare = /^[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i.exec(text.trim());
  return (m?.[1] ?? bare?.[0] ?? null)?.toLowerCase() ?? null;
}

export function read(hash: string): Place {
  const tag = /^#\/(?:visit|tag)\//.test(hash) ? ofTag(hash) : null;
  const fields = new URLSearchParams(hash.replace(/^#/, ""));
  const visit = tag ?? fields.get("v") ?? "";
  const key = fields.get("k") ?? "";
  const s = fields.get("s");
  const p = fields.get("p") ?? "";
  const screen: Screen = s === "work" || s === "proof" ? s : "answer";
  const go = fields.get("go");
  if (go === "take-in" || go === "choices") return {at: go, visit: "", key: "", screen, part: ""};
  if (go === "shop") return {at: "shop", visit: "", key: "", screen, part: has(shopParts, p) ? p : ""};
  if (!visit) return {at: "day", visit, key, screen, part: ""};
  if (key) return {at: "key", visit, key, screen, part: ""};
  return has(visitParts, p) ? {at: "part", visit, key, screen, part: p} : {at: "visit", visit, key, screen, part: ""};
}
export function link(to: Partial<Place>): string {
  const fields = new URLSearchParams();
  if (to.visit) fields.set("v", to.visit);
  if (to.key) fields.set("k", to.key);
  if (to.screen && to.screen !== "answer") fields.set("s", to.screen);
  if (to.at === "take-in" || to.at === "choices" || to.at === "shop") fields.set("go", to.at);
  if (to.part) fields.set("p", to.part);
  return "#" + fields.toString();
}

export const place = signal<Place>(read(typeof location === "undefined" ? "" : location.hash));
export const go = (to: Partial<Place>): void => {
  location.hash = link(to);
};
