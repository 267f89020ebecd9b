/** The shop's figures: what each means, what it is, where it comes from. */
import {useState} from "preact/hooks";
import {Trouble, send} from "../api/client";
import type {Setting} from "../api/types";
import {useAnswer} from "../live/news";
import {newId} from "../outbox/ids";
import {InBookWords, TroubleBox, Typed, Waiting} from "../parts/parts";
import {sayWorked} from "../parts/worked";
import {choices} from "../units/choices";
import {forBook, showNumber} from "../units/units";
import {many, ofCode, said, t} from "../words/words";

interface Entry {
  value: number | string;
  unit?: string;
  plus_minus?: number;
}
const isEntry = (value: unknown): value is Entry => typeof value === "object" && value !== null && "value" in value;
const numberAsIs = (value: number): string => showNumber(value, Math.min(6, (/\.(\d+)/.exec(String(value))?.[1] ?? "").length));

/** A figure as the bench reads it; a list by what is in it. */
function Value({value, unit}: {value: unknown; unit: string | undefined}) {
  if (value === null || value === undefined || value === "") return <>{"\u2013"}</>;
  if (typeof value === "number") return <>{numberAsIs(value)}</>;
  if (typeof value === "string") return ofCode("word", value) === value ? <Typed>{said(value)}</Typed> : <>{ofCode("word", value)}</>;
  if (isEntry(value)) {
    if (typeof value.value === "string") return <>{said(value.value)}</>;
    const {plus_minus = 0, unit: own = ""} = value;
    return <>{own === "mm" || plus_minus > 0 ? sayWorked({value: value.value, plus_minus, unit: ofCode("unit", own)}) : `${numberAsIs(value.value)}\u00a0${ofCode("unit", own)}`}</>;
  }
  if (!Array.isArray(value)) return <>{"\u2026"}</>;
  if (value.length === 2 && value.every((x) => typeof x === "number")) {
    const [low, high] = value as [number, number];
    return <>{numberAsIs(low)}{" "}{t("to")}{" "}{sayWorked({value: high, plus_minus: 0, unit: unit ?? ""})}</>;
  }
  const names = value.map((x) => (x as {name?: string}).name).filter((x) => x !== undefined);
  return <>{many("settings.entries", value.length)}{names.length > 0 && <>{": "}<Typed>{names.join(", ")}</Typed></>}</>;
}

/** What is typed for a figure, as the book takes it: with the unit that the figure has where none was typed. */
function typedFor(setting: Setting, typed: string): unknown {
  const like = setting.value ?? setting.general;
  const plain = /^[\u2212-]?\d+(?:[.,]\d+)?$/.test(typed);
  if (isEntry(like) && like.unit && plain) return like.unit === "mm" ? forBook(typed, choices.value.unit) : `${typed} ${like.unit}`;
  if ((typeof like === "number" || isEntry(like)) && plain) return Number(typed.replace(",", ".").replace("\u2212", "-"));
  return typed;
}

/** Groups whose figures say first what their heading says. */
const says: readonly string[] = ["movement", "body", "seal", "regulation", "rods", "wear"];

function Row({setting, unit, again}: {setting: Setting; unit: string | undefined; again: () => void}) {
  const [why, setWhy] = useState("");
  // A figure that the catalogue knows is named by what it means; another by what the book says it means.
  const meaning = ofCode("setting", setting.at);
  // What the heading of its group says already is left out.
  const own = (says.includes(groupOf(setting.at)) ? setting.meaning.slice(setting.meaning.indexOf(". ") + 2) : setting.meaning).replace(/([^.])\.$/, "$1");
  const words = setting.limits.enum?.filter((x) => typeof x === "string") ?? [];
  const like = setting.value ?? setting.general;
  const given = typeof like !== "object" || like === null || isEntry(like);
  const set = async (value: unknown) => {
    try {
      await send("POST", "/api/settings", {id: newId(), at: setting.at, value});
      setWhy("");
      again();
    } catch (error) {
      setWhy(error instanceof Trouble && error.reached ? t("trouble.other", {why: error.says}) : t("trouble.away"));
    }
  };
  return (
    <li data-setting={setting.at}>
      <details>
        <summary><strong>{meaning === setting.at ? <InBookWords>{own}</InBookWords> : meaning}</strong>{" "}
          <span class="num"><Value value={like} unit={unit} /></span>{" "}<span class="faint-words">{ofCode("origin", setting.origin)}</span></summary>
        {setting.general !== null && setting.origin !== "general" && <p class="faint-words">{t("settings.general", {value: ""})}<Value value={setting.general} unit={unit} /></p>}
        {given ? (
          <form class="choice-row" onSubmit={(e) => {
            e.preventDefault();
            const typed = String(new FormData(e.currentTarget).get("value")).trim();
            void set(words.length > 0 ? typed : typedFor(setting, typed));
          }}>
            <label class="grow">{t("settings.new")}{words.length > 0
              ? <select name="value" value={String(setting.value ?? words[0])}>{words.map((w) => <option key={w} value={w}>{ofCode("word", w)}</option>)}</select>
              : <input name="value" autocomplete="off" required />}</label>
            <button>{t("save")}</button>
            {setting.origin === "set" && <button type="button" class="quiet" onClick={() => void set(null)}>{t("settings.back")}</button>}
          </form>) : <p class="faint-words">{t("settings.elsewhere")}</p>}
        {why && <p class="trouble" role="alert">{why}</p>}
      </details>
    </li>
  );
}

const minutes = ["drive_home", "turn_screw", "restore_post", "seat_cut", "ream", "face", "straighten", "tool_change", "minutes_spread"];
const groups = ["general", "prices", "weights", "presets", "minutes", "movement", "body", "seal", "regulation", "rods", "wear", "unknown"] as const;
function groupOf(at: string): (typeof groups)[number] {
  const [first = "", second = "", third] = at.split("/").slice(1);
  if (first !== "presets") return first === "prices" || first === "weights" ? first : "general";
  if (minutes.includes(second)) return "minutes";
  return third !== undefined ? groups.find((g) => g === second) ?? "presets" : "presets";
}
/** How a range of what is not known is written, beside the range itself. */
const partOfRange = /^\/presets\/unknown\/\w+\/(?:origin|unit|meaning)$/;

export function Figures() {
  const [words, setWords] = useState("");
  const all = useAnswer<{settings: Setting[]}>("/api/settings", "");
  const low = words.toLowerCase().split(/\s+/);
  const settings = all.value?.settings;
  const found = settings?.filter((s) => !partOfRange.test(s.at) &&
    low.every((w) => `${s.at.replace(/_/g, " ")} ${s.meaning} ${said(s.meaning)} ${ofCode("setting", s.at)}`.toLowerCase().includes(w)));
  const unitOf = (at: string) => {
    const unit = settings?.find((s) => s.at === at.replace(/between$/, "unit"));
    return at.endsWith("/between") ? String(unit?.value ?? unit?.general ?? "") : undefined;
  };
  return (
    <>
      <label>{t("settings.find")}<input type="search" value={words} onInput={(e) => setWords(e.currentTarget.value)} /></label>
      {all.trouble && <TroubleBox trouble={all.trouble} again={all.again} />}
      {!found && !all.trouble && <Waiting />}
      {found?.length === 0 && <p class="empty">{t("settings.none")}</p>}
      {groups.map((g) => {
        const mine = found?.filter((s) => groupOf(s.at) === g) ?? [];
        return mine.length > 0 && <section key={g}><h2>{ofCode("figures-of", g)}</h2>
          <ul class="settings">{mine.map((s) => <Row key={s.at} setting={s} unit={unitOf(s.at)} again={all.again} />)}</ul></section>;
      })}
    </>
  );
}
