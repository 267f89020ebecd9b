/** What stands round every screen: where one is, whether the book is there, what is not in it yet. */
import type {ComponentChildren} from "preact";
import {useState} from "preact/hooks";
import {me, send, whoIsHere} from "../api/client";
import {line, listen} from "../live/news";
import {dropRefused, unsent} from "../outbox/outbox";
import {link, place} from "../route";
import {Typed} from "../parts/parts";
import {saidRefusal, t} from "../words/words";

function Unsent() {
  const [open, set] = useState(false);
  const entries = unsent.value;
  if (entries.length === 0) return <span class="in-book">{t("unsent.none")}</span>;
  return (
    <div class="unsent">
      <button type="button" aria-expanded={open} onClick={() => set(!open)}>{t("unsent", {n: entries.length})}</button>
      {open && (
        <ol class="unsent-list">
          {entries.map((e) => (
            <li key={e.id}>
              <strong><Typed>{e.says}</Typed></strong>{" "}
              {e.refused === undefined ? t("unsent.kept") : t("unsent.refused", {why: saidRefusal(e.refused)})}{" "}
              {e.refused !== undefined && <button type="button" onClick={() => dropRefused(e.id)}>{t("unsent.drop")}</button>}
            </li>
          ))}
        </ol>
      )}
    </div>
  );
}

async function logOut() {
  await send("POST", "/api/log-out");
  await whoIsHere();
  listen();
}

export function Frame({children}: {children: ComponentChildren}) {
  const who = me.value;
  const {at} = place.value;
  return (
    <>
      <a class="skip" href="#main" onClick={(e) => { e.preventDefault(); document.getElementById("main")?.focus(); }}>{t("to-content")}</a>
      <header class="top">
        <a class="mark-name" href={link({at: "day"})}><svg width="34" height="26" viewBox="0 0 34 26" aria-hidden="true">
          <rect class="post" x="1" y="2" width="6" height="22" rx="2" /><rect class="post" x="27" y="2" width="6" height="22" rx="2" />
          <rect class="key-metal" x="9" y="8" width="16" height="10" rx="2" /></svg><span translate={false}>{document.title}</span></a>
        <nav aria-label={document.title}>
          <a href={link({at: "day"})} aria-current={at === "day" ? "page" : undefined}>{t("nav.day")}</a>
          <a href={link({at: "take-in"})} aria-current={at === "take-in" ? "page" : undefined}>{t("nav.take-in")}</a>
          <a href={link({at: "shop"})} aria-current={at === "shop" ? "page" : undefined}>{t("nav.shop")}</a>
          <a href={link({at: "choices"})} aria-current={at === "choices" ? "page" : undefined}>{t("nav.choices")}</a>
        </nav>
        <div class="book" role="status">
          <span class={`line line-${line.value}`}>{t(line.value === "live" ? "line.live" : line.value === "away" ? "line.away" : "line.begins")}</span>
          <Unsent />
          <div class="who">
            {who?.alone ? t("login.alone") : <Typed>{who?.name ?? ""}</Typed>}
            {!who?.alone && who?.logged_in && <button type="button" class="quiet" onClick={() => void logOut()}>{t("login.out")}</button>}
          </div>
        </div>
      </header>
      <main id="main" tabIndex={-1}>{children}</main>
    </>
  );
}
