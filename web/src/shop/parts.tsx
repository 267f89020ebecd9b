/** What belongs to the shop: one place for each. */
import type {ComponentType} from "preact";
import {me} from "../api/client";
import type {Right} from "../api/types";
import {ShopPart, link, place, shopParts} from "../route";
import {ofCode, t} from "../words/words";
import {Copies} from "./copies";
import {Figures} from "./figures";
import {Learned} from "./learned";
import {Log} from "./log";
import {Owners} from "./owners";
import {People} from "./people";
import {Practice} from "./practice";
import {Rig} from "./rig";
import {Scan} from "./scan";
import {Tools} from "./tools";

const screens: Record<ShopPart, ComponentType> = {
  figures: Figures, tools: Tools, learned: Learned, practice: Practice, rig: Rig, scan: Scan, people: People, copies: Copies, owners: Owners, log: Log,
};
const rights: Right[] = ["look", "counter", "bench", "owner"];
const needs: Partial<Record<ShopPart, Right>> = {people: "owner", copies: "owner", owners: "owner", log: "owner"};
const may = (part: ShopPart): boolean => rights.indexOf(me.value?.right ?? "owner") >= rights.indexOf(needs[part] ?? "look");

export function Shop() {
  const {part} = place.value;
  const open = shopParts.filter(may);
  if (part === "") {
    return (
      <>
        <h1>{t("shop")}</h1>
        <nav key="all" class="more-places" aria-label={t("shop")}><ul>{open.map((p) => (
          <li key={p}><a href={link({at: "shop", part: p})}><strong>{ofCode("shop", p)}</strong><span class="faint-words">{ofCode("asks", p)}</span></a></li>))}</ul></nav>
      </>
    );
  }
  const Screen = screens[part as ShopPart];
  return (
    <>
      <nav key={part} class="key-nav no-print" aria-label={t("more")}><a href={link({at: "shop"})}>{"\u2190 "}{t("shop")}</a></nav>
      <h1>{ofCode("shop", part)}</h1>
      {may(part as ShopPart) ? <Screen /> : <p class="empty">{t("shop.owner-only")}</p>}
    </>
  );
}
