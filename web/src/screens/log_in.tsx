import {useState} from "preact/hooks";
import {Trouble, me, send, whoIsHere} from "../api/client";
import {listen} from "../live/news";
import {sendWaiting} from "../outbox/outbox";
import {t} from "../words/words";

export function LogIn() {
  const people = me.value?.people ?? [];
  const [byPin, setByPin] = useState(people.length > 0);
  const [why, setWhy] = useState("");
  async function submit(event: SubmitEvent) {
    event.preventDefault();
    const typed = new FormData(event.currentTarget as HTMLFormElement);
    try {
      if (byPin) await send("POST", "/api/log-in/pin", {person: typed.get("person"), pin: typed.get("pin")});
      else await send("POST", "/api/log-in", {login: typed.get("login"), password: typed.get("password")});
      await whoIsHere();
      listen();
      void sendWaiting();
    } catch (error) {
      setWhy(error instanceof Trouble && error.reached ? t("trouble.other", {why: error.says}) : t("trouble.away"));
    }
  }
  return (
    <form class="sheet narrow" onSubmit={(e) => void submit(e)}>
      <h1>{t("login.heading")}</h1>
      {people.length > 0 && (
        <p class="choice-row">
          <button type="button" aria-pressed={byPin} onClick={() => setByPin(true)}>{t("login.by-pin")}</button>
          <button type="button" aria-pressed={!byPin} onClick={() => setByPin(false)}>{t("login.by-password")}</button>
        </p>
      )}
      {byPin ? (
        <>
          <label>{t("login.person")}<select name="person">{people.map((p) => <option key={p.person} value={p.person}>{p.name}</option>)}</select></label>
          <label>{t("login.pin")}<input name="pin" type="password" inputMode="numeric" autocomplete="off" required /></label>
        </>
      ) : (
        <>
          <label>{t("login.name")}<input name="login" autocomplete="username" required /></label>
          <label>{t("login.password")}<input name="password" type="password" autocomplete="current-password" required /></label>
        </>
      )}
      {why && <p class="trouble" role="alert">{why}</p>}
      <button class="main-do">{t("login.do")}</button>
    </form>
  );
}
