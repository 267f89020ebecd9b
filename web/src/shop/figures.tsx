/** The shop's figures: what each means, what it is, where it comes from. */
import {useState} from "preact/hooks";
import {Trouble, send} from "../api/client";
import type {Setting} from "../api/types";
import {useAnswer} from "../live/news";
import {newId} from "../outbox/ids";
import {InBookWords, TroubleBox, Waiting} from "../parts/parts";
import {ofCode, t} from "../words/words";

const shown = (value: unknown): string =>
  value === null || value === undefined ? "\u2013" : typeof value === "object" ? JSON.stringify(value) : String(value);

function Row({setting, again}: {setting: Setting; again: () => void}) {
  const [why, setWhy] = useState("");
  // A figure that the catalogue knows is named by what it means; another by its place, with the document's words.
  const meaning = ofCode("setting", setting.at);
  const known = meaning !== setting.at;
  const name = setting.at.slice(1).replace(/[/_]/g, " ");
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
    <li>
      <details>
        <summary><strong>{known ? meaning : <InBookWords>{name}</InBookWords>}</strong>{" "}<span class="num">{shown(setting.value)}</span>{" "}<span class="faint-words">{ofCode("origin", setting.origin)}</span></summary>
        {!known && <p><InBookWords>{setting.meaning}</InBookWords></p>}
        <p class="faint-words">{t("settings.general", {value: shown(setting.general)})}</p>
        {typeof setting.value !== "object" || setting.value === null ? (
          <form class="choice-row" onSubmit={(e) => {
            e.preventDefault();
            const typed = String(new FormData(e.currentTarget).get("value")).trim();
            const number = typeof setting.value === "number" && Number.isFinite(Number(typed));
            void set(number ? Number(typed) : typed);
          }}>
            <label class="grow">{t("settings.new")}<input name="value" autocomplete="off" required /></label>
            <button>{t("save")}</button>
            {setting.origin === "set" && <button type="button" class="quiet" onClick={() => void set(null)}>{t("settings.back")}</button>}
          </form>) : null}
        {why && <p class="trouble" role="alert">{why}</p>}
      </details>
    </li>
  );
}

export function Figures() {
  const [words, setWords] = useState("");
  const all = useAnswer<{settings: Setting[]}>("/api/settings", "");
  const low = words.toLowerCase().split(/\s+/);
  const found = all.value?.settings.filter((s) => low.every((w) => `${s.at.replace(/_/g, " ")} ${s.meaning} ${ofCode("setting", s.at)}`.toLowerCase().includes(w)));
  return (
    <>
      <label>{t("settings.find")}<input type="search" value={words} onInput={(e) => setWords(e.currentTarget.value)} /></label>
      {all.trouble && <TroubleBox trouble={all.trouble} again={all.again} />}
      {!found && !all.trouble && <Waiting />}
      {found?.length === 0 && <p class="empty">{t("settings.none")}</p>}
      <ul class="settings">{found?.map((s) => <Row key={s.at} setting={s} again={all.again} />)}</ul>
    </>
  );
}
