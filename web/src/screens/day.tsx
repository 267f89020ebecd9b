/** What is on the benches, and what waits for whom. */
import {useState} from "preact/hooks";
import type {VisitLine} from "../api/types";
import {useAnswer} from "../live/news";
import {DayPapers} from "../parts/papers";
import {TroubleBox, Typed, Waiting} from "../parts/parts";
import {isGone} from "../parts/states";
import {link} from "../route";
import {showDay, today} from "../units/units";
import {ofCode, t, Word} from "../words/words";

const groups: {name: Word; of: (v: VisitLine, day: string) => boolean}[] = [
  {name: "day.late", of: (v, day) => open(v) && v.promised !== "" && v.promised < day},
  {name: "day.today", of: (v, day) => open(v) && v.promised === day},
  {name: "day.on-bench", of: (v) => v.state === "in-work" || v.state === "agreed"},
  {name: "day.to-read", of: (v) => v.state === "waiting" || v.state === "looked-over"},
  {name: "day.to-hear", of: (v) => v.state === "quoted"},
  {name: "day.ready", of: (v) => v.state === "proved"},
  {name: "day.gone", of: (v) => isGone(v.state)},
];
const open = (v: VisitLine) => v.state !== "proved" && !isGone(v.state);

export function grouped(visits: VisitLine[], day: string): {name: Word; visits: VisitLine[]}[] {
  const left = new Set(visits);
  return groups.map((g) => {
    const mine = [...left].filter((v) => g.of(v, day));
    mine.forEach((v) => left.delete(v));
    return {name: g.name, visits: mine};
  }).filter((g) => g.visits.length > 0);
}

export const dayList = (words: string): string => `/api/visits?most=200&words=${encodeURIComponent(words.slice(0, 200))}`;

export function Day() {
  const [words, setWords] = useState("");
  const found = useAnswer<{visits: VisitLine[]}>(dayList(words), "");
  const toRead = useAnswer<{visits: {visit: string; keys: number; read: number}[]}>("/api/to-read", "");
  const visits = found.value?.visits;
  const unread = (v: VisitLine) => {
    const of = toRead.value?.visits.find((x) => x.visit === v.visit);
    return of && of.read < of.keys ? t("day.unread", {n: of.keys - of.read, all: of.keys}) : null;
  };
  return (
    <>
      <h1>{t("day")}</h1>
      <div class="choice-row">
        <label class="grow">{t("day.find")}<input type="search" value={words} onInput={(e) => setWords(e.currentTarget.value)} /></label>
        <a class="do" href={link({at: "take-in"})}>{t("take-in")}</a>
      </div>
      {found.trouble && <TroubleBox trouble={found.trouble} again={found.again} />}
      {!visits && !found.trouble && <Waiting />}
      {visits?.length === 0 && <p class="empty">{t(words ? "day.not-found" : "day.none")}</p>}
      {visits && grouped(visits, today()).map((g) => (
        <section key={g.name}>
          <h2>{t(g.name)}</h2>
          <ul class="tags">
            {g.visits.map((v) => (
              <li key={v.visit}>
                <a href={link({visit: v.visit})}>
                  <strong><Typed>{v.title}</Typed>{v.serial && <>{", "}<Typed>{v.serial}</Typed></>}</strong>
                  <span><Typed>{v.owner_name}</Typed></span>
                  <span><Typed>{v.complaint}</Typed></span>
                  {unread(v) && <span>{unread(v)}</span>}
                  <span class="faint-words">{ofCode("state", v.state)}{" \u00b7 "}
                    {v.promised ? t("day.promised", {day: showDay(v.promised)}) : t("day.came", {day: showDay(v.came)})}</span>
                </a>
              </li>
            ))}
          </ul>
        </section>
      ))}
      {visits && visits.length > 0 && <DayPapers />}
    </>
  );
}
