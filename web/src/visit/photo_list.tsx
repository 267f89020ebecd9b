/** Photos that are kept, before and after. */
import type {Thing, WholeVisit} from "../api/types";
import {Typed} from "../parts/parts";
import {showMoment} from "../units/units";
import {t} from "../words/words";

type When = "before" | "after" | "";
type PhotoThing = Thing<{sha256: string; caption?: string}>;

/** The caption's first word says when; the rest is the person's. */
const whenOf = (photo: PhotoThing): When => (/^(before|after)\b/.exec(photo.slip.body.caption ?? "")?.[1] as When | undefined) ?? "";
const wordsOf = (photo: PhotoThing): string => (photo.slip.body.caption ?? "").replace(/^(before|after)(: )?/, "");

export function PhotoList({whole, key_}: {whole: WholeVisit | null; key_?: string}) {
  const photos = (whole?.photos ?? []).filter((p) => !p.slip.struck && (!key_ || p.slip.key === key_));
  if (photos.length === 0) return null;
  const group = (when: When) => photos.filter((p) => whenOf(p) === when);
  return (
    <div class="photos">{(["before", "after", ""] as const).map((when) => group(when).length > 0 && (
      <section key={when}><h3>{t(when === "before" ? "proof.before" : when === "after" ? "proof.after" : "photo.other")}</h3>
        <ul>{group(when).map((p) => (
          <li key={p.thing}><figure><a href={`/api/photos/${p.thing}`} target="_blank" rel="noopener"><img src={`/api/photos/${p.thing}`} loading="lazy" alt={wordsOf(p) || t("photo.of", {when: showMoment(p.slip.at)})} /></a>
            <figcaption><Typed>{wordsOf(p)}</Typed>{" "}<span class="faint-words">{showMoment(p.slip.at)}</span></figcaption></figure></li>))}</ul></section>))}</div>
  );
}
