/** An instrument taken in: what it is like, whose it is, what is wrong, for when. */
import {useState} from "preact/hooks";
import {Trouble, get, send} from "../api/client";
import type {InstrumentDocument, VisitLine} from "../api/types";
import {useAnswer} from "../live/news";
import {newId} from "../outbox/ids";
import {go} from "../route";
import {nowText, today} from "../units/units";
import {t, Word} from "../words/words";

type From = "earlier" | "pattern" | "file";
const patterns: {file: string; name: Word}[] = [
  {file: "saxophone", name: "in.pattern.saxophone"},
  {file: "clarinet", name: "in.pattern.clarinet"},
];

/** What an instrument is like, without what was read of it before. */
export function bare(document: InstrumentDocument): InstrumentDocument {
  const {leak_reading: _leak, body, ...same} = document;
  const {bow: _bow, ...straight} = body ?? {};
  return {...same, ...(body ? {body: straight} : {}), keys: document.keys.map((key) => {
    const {readings: _readings, ...rest} = key;
    return rest;
  })};
}

async function documentOf(from: From, which: string, file: File | null): Promise<InstrumentDocument | null> {
  if (from === "earlier") return bare(await get<InstrumentDocument>(`/api/visits/${which}/document`));
  if (from === "pattern") return get<InstrumentDocument>(`/pattern-${which}.json`);
  try {
    const read = JSON.parse((await file?.text()) ?? "") as InstrumentDocument;
    return Array.isArray(read.keys) ? read : null;
  } catch {
    return null;
  }
}

export function TakeIn() {
  const [from, setFrom] = useState<From>("pattern");
  const [why, setWhy] = useState("");
  const [busy, setBusy] = useState(false);
  const before = useAnswer<{visits: VisitLine[]}>("/api/visits?most=200", "");
  // One id for one form, however often it is sent.
  const [ids] = useState(() => ({owner: newId(), visit: newId()}));
  const earlier = before.value?.visits ?? [];
  async function submit(event: SubmitEvent) {
    event.preventDefault();
    const typed = new FormData(event.currentTarget as HTMLFormElement);
    const text = (name: string) => String(typed.get(name) ?? "").trim();
    setBusy(true);
    try {
      const file = typed.get("file");
      const document = await documentOf(from, text("which"), file instanceof File ? file : null);
      if (!document) {
        setWhy(t("in.file.bad"));
        return;
      }
      if (text("title")) document.title = text("title");
      document.serial = text("serial");
      if (!document.serial) delete document.serial;
      let owner = from === "earlier" ? earlier.find((v) => v.visit === text("which"))?.owner ?? "" : "";
      if (text("owner")) {
        const slip = {id: ids.owner, kind: "owner", at: nowText(), body: {name: text("owner")}};
        await send("POST", "/api/slips", {slips: [slip]});
        owner = ids.owner;
      }
      const taken = await send<{visit: string}>("POST", "/api/documents", {
        id: ids.visit, day: today(), document, complaint: text("complaint"),
        ...(owner ? {owner} : {}), ...(text("promised") ? {promised: text("promised")} : {}),
      });
      go({visit: taken.visit});
    } catch (error) {
      setWhy(error instanceof Trouble && error.reached ? t("trouble.other", {why: error.says}) : t("trouble.away"));
    } finally {
      setBusy(false);
    }
  }
  return (
    <form class="sheet" onSubmit={(e) => void submit(e)}>
      <h1>{t("in.heading")}</h1>
      <fieldset>
        <legend>{t("in.from")}</legend>
        {(["pattern", "earlier", "file"] as const).map((f) => (
          <label class="pick" key={f}><input type="radio" name="from" checked={from === f} onChange={() => setFrom(f)} />
            {t(f === "pattern" ? "in.from.pattern" : f === "earlier" ? "in.from.earlier" : "in.from.file")}</label>
        ))}
      </fieldset>
      {from === "pattern" && <label>{t("in.which")}<select name="which">{patterns.map((p) => <option key={p.file} value={p.file}>{t(p.name)}</option>)}</select></label>}
      {from === "earlier" && (earlier.length === 0 ? <p class="empty">{t("in.none-before")}</p> :
        <label>{t("in.which")}<select name="which">{earlier.map((v) => (
          <option key={v.visit} value={v.visit}>{[v.title, v.serial, v.owner_name, v.came].filter(Boolean).join(" \u00b7 ")}</option>))}</select></label>)}
      {from === "file" && <label>{t("in.file")}<input type="file" name="file" accept="application/json,.json" required /></label>}
      <div class="columns">
        <label>{t("in.owner")}<input name="owner" maxLength={200} autocomplete="off" dir="auto" /></label>
        <label>{t("in.title")}<input name="title" maxLength={200} autocomplete="off" dir="auto" /></label>
        <label>{t("in.serial")}<input name="serial" maxLength={100} autocomplete="off" dir="auto" /></label>
        <label>{t("in.promised")}<input name="promised" type="date" min={today()} /></label>
      </div>
      <label>{t("in.complaint")}<input name="complaint" maxLength={1000} autocomplete="off" dir="auto" /></label>
      {why && <p class="trouble" role="alert">{why}</p>}
      <button class="main-do" disabled={busy || (from === "earlier" && earlier.length === 0)}>{t("in.do")}</button>
    </form>
  );
}
