/** Photos of an instrument: taken with the device or chosen from it, before and after. */
import {useState} from "preact/hooks";
import {enter, unsent} from "../outbox/outbox";
import {Typed} from "../parts/parts";
import {t} from "../words/words";
import type {Of} from "./parts";
import {PhotoList} from "./photo_list";

export function Photos({visit, whole, nameOf}: Of) {
  const [lost, setLost] = useState(false);
  const waiting = unsent.value.filter((e) => e.visit === visit && e.file !== undefined && e.refused === undefined);
  const photos = (whole?.photos ?? []).filter((p) => !p.slip.struck);
  async function submit(event: SubmitEvent) {
    event.preventDefault();
    const form = event.currentTarget as HTMLFormElement;
    const typed = new FormData(form);
    const file = typed.get("photo");
    if (!(file instanceof File) || file.size === 0) return;
    const words = String(typed.get("caption")).trim();
    const when = String(typed.get("when"));
    const about = String(typed.get("key"));
    const fields = {visit, caption: [when, words].filter(Boolean).join(": "), ...(about ? {about} : {})};
    try {
      // Kept on this device first, as a reading is: a bench without the network goes on taking photos.
      await enter({path: (id) => `/api/photos?${new URLSearchParams({id, ...fields}).toString()}`, file, visit, key: about,
        says: `${t("photo")}: ${words || file.name}`});
      setLost(false);
      form.reset();
    } catch {
      setLost(true);
    }
  }
  return (
    <>
      {photos.length === 0 && waiting.length === 0 && <p class="empty">{t("photo.none")}</p>}
      {waiting.length > 0 && <ul role="status" class="photos-wait">{waiting.map((e) => <li key={e.id} class="unsent-mark"><Typed>{e.says}</Typed>{": "}{t("unsent.kept")}</li>)}</ul>}
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
        {lost && <p class="trouble" role="alert">{t("unsent.lost")}</p>}
        <button class="main-do">{t("photo.keep")}</button>
        <p class="faint-words">{t("photo.clean")}</p>
      </form>
    </>
  );
}
