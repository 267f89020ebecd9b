/** Photos of an instrument: taken with the device or chosen from it, before and after. */
import {useState} from "preact/hooks";
import {Trouble, sendBytes} from "../api/client";
import {newId} from "../outbox/ids";
import {t} from "../words/words";
import type {Of} from "./parts";
import {PhotoList} from "./photo_list";

export function Photos({visit, whole, nameOf}: Of) {
  const [busy, setBusy] = useState(false);
  const [why, setWhy] = useState("");
  const photos = (whole?.photos ?? []).filter((p) => !p.slip.struck);
  async function submit(event: SubmitEvent) {
    event.preventDefault();
    const form = event.currentTarget as HTMLFormElement;
    const typed = new FormData(form);
    const file = typed.get("photo");
    if (!(file instanceof File) || file.size === 0) return;
    const words = String(typed.get("caption")).trim();
    const when = String(typed.get("when"));
    const fields = new URLSearchParams({id: newId(), visit, caption: [when, words].filter(Boolean).join(": ")});
    const about = String(typed.get("key"));
    if (about) fields.set("about", about);
    setBusy(true);
    try {
      await sendBytes(`/api/photos?${fields.toString()}`, file);
      setWhy("");
      form.reset();
    } catch (error) {
      setWhy(error instanceof Trouble && error.reached ? t("trouble.other", {why: error.says}) : t("photo.away"));
    } finally {
      setBusy(false);
    }
  }
  return (
    <>
      {photos.length === 0 && <p class="empty">{t("photo.none")}</p>}
      <PhotoList whole={whole} />
      <form class="panel no-print" onSubmit={(e) => void submit(e)}>
        <h2>{t("photo.add")}</h2>
        <label>{t("photo.file")}<input type="file" name="photo" accept="image/jpeg,image/png,image/webp" capture="environment" required /></label>
        <div class="columns">
          <label>{t("photo.when")}<select name="when"><option value="before">{t("proof.before")}</option><option value="after">{t("proof.after")}</option><option value="">{t("photo.other")}</option></select></label>
          <label>{t("photo.key")}<select name="key"><option value="">{t("photo.whole")}</option>
            {(whole?.keys ?? []).map((k) => <option key={k.thing} value={k.thing}>{nameOf(k.slip.body.id)}</option>)}</select></label>
        </div>
        <label>{t("photo.caption")}<input name="caption" maxLength={180} autocomplete="off" dir="auto" /></label>
        {why && <p class="trouble" role="alert">{why}</p>}
        <button class="main-do" disabled={busy}>{busy ? t("loading") : t("photo.keep")}</button>
        <p class="faint-words">{t("photo.clean")}</p>
      </form>
    </>
  );
}
