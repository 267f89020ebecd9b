/** What the book has of an owner: shown, given to them, and taken out when they ask for it. */
import {useState} from "preact/hooks";
import {Trouble, get, send} from "../api/client";
import type {Thing, VisitLine} from "../api/types";
import {useAnswer} from "../live/news";
import {newId} from "../outbox/ids";
import {TroubleBox, Typed, Waiting} from "../parts/parts";
import {link} from "../route";
import {showDay, today} from "../units/units";
import {many, ofCode, t} from "../words/words";

interface OwnerBody {
  name?: string;
  reach?: string;
}

function save(name: string, json: unknown): void {
  const url = URL.createObjectURL(new Blob([JSON.stringify(json, null, 2)], {type: "application/json"}));
  const a = document.createElement("a");
  a.href = url;
  a.download = name;
  a.click();
  URL.revokeObjectURL(url);
}

function One({thing, again}: {thing: Thing<OwnerBody>; again: () => void}) {
  const [asked, ask] = useState(false);
  const [why, setWhy] = useState("");
  const visits = useAnswer<{visits: VisitLine[]}>(`/api/visits?most=1000&owner=${thing.thing}`, "");
  const body = thing.slip.body;
  const tried = async (what: () => Promise<unknown>) => {
    try {
      await what();
      setWhy("");
    } catch (error) {
      setWhy(error instanceof Trouble && error.reached ? t("trouble.other", {why: error.says}) : t("trouble.away"));
    }
  };
  const v = visits.value?.visits;
  return (
    <div class="row-more">
      {body.reach && <p><Typed>{body.reach}</Typed></p>}
      {!v ? <Waiting /> : <><p>{many("owners.visits", v.length)}</p>
        <ul>{v.map((x) => <li key={x.visit}><a href={link({visit: x.visit})}><Typed>{x.title}</Typed></a>{", "}{showDay(x.came)}{", "}{ofCode("state", x.state)}</li>)}</ul></>}
      <div class="choice-row">
        <button type="button" onClick={() => void tried(async () => save(`owner-${today()}.json`, await get(`/api/owners/${thing.thing}/all`)))}>{t("owners.give")}</button>
        {!asked && <button type="button" class="quiet" onClick={() => ask(true)}>{t("owners.forget")}</button>}
      </div>
      {asked && <div class="trouble" role="alert">
        <p>{t("owners.forget.say")}</p>
        <button type="button" onClick={() => void tried(() => send("POST", `/api/owners/${thing.thing}/forget`, {id: newId()})).then(again)}>{t("owners.forget.do")}</button>{" "}
        <button type="button" onClick={() => ask(false)}>{t("owners.keep")}</button></div>}
      {why && <p class="trouble" role="alert">{why}</p>}
    </div>
  );
}

export function Owners() {
  const [words, setWords] = useState("");
  const [open, set] = useState("");
  const all = useAnswer<{things: Thing<OwnerBody>[]}>("/api/list/owner?most=1000", "");
  const r = all.value;
  if (!r) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  const known = r.things.filter((o) => !o.slip.struck && o.slip.body.name);
  const low = words.toLowerCase().trim();
  const found = known.filter((o) => (o.slip.body.name ?? "").toLowerCase().includes(low));
  return (
    <>
      <p>{t("owners.say")}</p>
      {known.length === 0 ? <p class="empty">{t("owners.none")}</p> : <label>{t("owners.find")}<input type="search" value={words} onInput={(e) => setWords(e.currentTarget.value)} /></label>}
      <ul class="rows">{found.slice(0, 50).map((o) => (
        <li key={o.thing} data-row={o.thing}>
          <button type="button" class="row" aria-expanded={open === o.thing} onClick={() => set(open === o.thing ? "" : o.thing)}><strong><Typed>{o.slip.body.name}</Typed></strong></button>
          {open === o.thing && <One thing={o} again={all.again} />}
        </li>))}</ul>
    </>
  );
}
