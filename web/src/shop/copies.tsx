/** Copies of the book: what there is, one more now, and all of the shop in one file to take away. */
import {useState} from "preact/hooks";
import {Trouble, send} from "../api/client";
import {useAnswer} from "../live/news";
import {TroubleBox, Typed, Waiting, plain} from "../parts/parts";
import {showMoment} from "../units/units";
import {many, t} from "../words/words";

interface CopiesResult {
  folder: string | null;
  every_minutes: number;
  copies: {name: string; at: string; bytes: number}[];
  made: number;
  failed: number;
}
/** Older than two rounds of the schedule: something is wrong with it. */
const isOld = (r: CopiesResult): boolean => {
  const newest = r.copies[0];
  return newest !== undefined && Date.now() - Date.parse(newest.at) > 2 * r.every_minutes * 60_000;
};

export function Copies() {
  const all = useAnswer<CopiesResult>("/api/copies", "none");
  const [busy, setBusy] = useState(false);
  const [why, setWhy] = useState("");
  const r = all.value;
  if (!r) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  const newest = r.copies[0];
  const copy = async () => {
    setBusy(true);
    try {
      await send("POST", "/api/copies");
      setWhy("");
      all.again();
    } catch (error) {
      setWhy(error instanceof Trouble && error.reached ? t("trouble.other", {why: error.says}) : t("trouble.away"));
    } finally {
      setBusy(false);
    }
  };
  return (
    <>
      <p class="sentence">{r.folder === null ? t("copies.no-folder") : !newest ? t("copies.none") : isOld(r) ? t("copies.old") : t("copies.well")}</p>
      {newest && <p class="figure-line">{t("copies.newest", {at: showMoment(newest.at), size: t("copies.size", {n: plain(newest.bytes / 1e6, 1)})})}</p>}
      {r.folder === null ? <p>{t("copies.how")}</p> : <p>{many("copies.where", r.copies.length)}{" "}<Typed>{r.folder}</Typed>{". "}{t("copies.every", {hours: plain(r.every_minutes / 60, 1)})}</p>}
      {r.failed > 0 && <p class="trouble">{many("copies.failed", r.failed)}</p>}
      {why && <p class="trouble" role="alert">{why}</p>}
      <div class="choice-row">
        {r.folder !== null && <button type="button" class="main-do" disabled={busy} onClick={() => void copy()}>{busy ? t("loading") : t("copies.now")}</button>}
        <a class="do" href="/api/archive" download>{t("copies.archive")}</a>
      </div>
      <p class="faint-words">{t("copies.archive.say")}</p>
      {r.copies.length > 0 && <details><summary>{t("copies.all")}</summary>
        <ul>{r.copies.map((c) => <li key={c.name}><Typed>{c.name}</Typed>{", "}{showMoment(c.at)}{", "}{t("copies.size", {n: plain(c.bytes / 1e6, 1)})}</li>)}</ul></details>}
      <p class="faint-words">{t("copies.back")}</p>
    </>
  );
}
