/** Who works here, how they log in, and on which devices a PIN is enough. */
import {useState} from "preact/hooks";
import {Trouble, me, send} from "../api/client";
import type {Thing} from "../api/types";
import {useAnswer} from "../live/news";
import {newId} from "../outbox/ids";
import {TroubleBox, Typed, Waiting} from "../parts/parts";
import {nowText, showMoment} from "../units/units";
import {ofCode, t} from "../words/words";

type Role = "owner" | "bench" | "counter" | "look-only";
const roles: Role[] = ["owner", "bench", "counter", "look-only"];
interface PersonBody {
  name: string;
  initials?: string;
  role: Role;
  gone?: boolean;
}
interface Account {
  person: string;
  login: string;
  pin: boolean;
  pin_locked: boolean;
}

/** Does it and says what went wrong; true: done. */
async function tried(what: () => Promise<unknown>, setWhy: (why: string) => void): Promise<boolean> {
  try {
    await what();
    setWhy("");
    return true;
  } catch (error) {
    setWhy(error instanceof Trouble && error.reached ? t("trouble.other", {why: error.says}) : t("trouble.away"));
    return false;
  }
}
const text = (form: HTMLFormElement, name: string): string => String(new FormData(form).get(name) ?? "");

function Person({thing, account, again}: {thing: Thing<PersonBody>; account: Account | undefined; again: () => void}) {
  const [why, setWhy] = useState("");
  const [said, setSaid] = useState("");
  const body = thing.slip.body;
  const alone = me.value?.alone ?? false;
  const self = me.value?.person === thing.thing;
  const change = (next: Partial<PersonBody>) => tried(() => send("POST", "/api/slips", {must_be_current: true, slips: [{
    id: newId(), kind: "person", at: nowText(), replaces: thing.slip.id, why: "changed", body: {...body, ...next},
  }]}), setWhy);
  const set = async (event: SubmitEvent, what: "password" | "pin") => {
    event.preventDefault();
    const form = event.currentTarget as HTMLFormElement;
    const own = alone ? {} : {own_password: text(form, "own")};
    const says = what === "password" ? {login: text(form, "login").trim(), password: text(form, "password")} : {pin: text(form, "pin")};
    if (await tried(() => send("PUT", `/api/accounts/${thing.thing}/${what}`, {...says, ...own}), setWhy)) {
      form.reset();
      setSaid(t("people.set"));
      again();
    }
  };
  const own = !alone && <label>{t("people.own")}<input name="own" type="password" autocomplete="current-password" required /></label>;
  return (
    <li data-row={thing.thing}>
      <details>
        <summary class="row"><strong><Typed>{body.name}</Typed></strong><span>{ofCode("role", body.role)}</span>
          <span class="faint-words">{account?.login ? <Typed>{account.login}</Typed> : t("people.no-login")}{account?.pin && <>{", "}{account.pin_locked ? t("people.pin-locked") : t("login.pin")}</>}</span></summary>
        <div class="row-more">
          <label>{t("people.role")}<select value={body.role} disabled={self} onChange={(e) => void change({role: e.currentTarget.value as Role})}>
            {roles.map((r) => <option key={r} value={r}>{ofCode("role", r)}</option>)}</select></label>
          <p class="faint-words">{ofCode("may", body.role)}</p>
          <form class="columns" onSubmit={(e) => void set(e, "password")}>
            <label>{t("login.name")}<input name="login" defaultValue={account?.login ?? ""} required maxLength={100} autocomplete="off" /></label>
            <label>{t("people.password")}<input name="password" type="password" required minLength={8} autocomplete="new-password" /></label>{own}
            <button>{t("people.set-password")}</button>
          </form>
          <form class="columns" onSubmit={(e) => void set(e, "pin")}>
            <label>{t("people.pin")}<input name="pin" inputMode="numeric" pattern="[0-9]{4,8}" required autocomplete="off" /></label>{own}
            <button>{t("people.set-pin")}</button>
          </form>
          <div class="choice-row">
            {account && <button type="button" onClick={() => void tried(() => send("DELETE", `/api/accounts/${thing.thing}/sessions`), setWhy).then((ok) => ok && setSaid(t("people.ended")))}>{t("people.end")}</button>}
            {account && !self && <button type="button" onClick={() => void tried(() => send("DELETE", `/api/accounts/${thing.thing}`), setWhy).then(again)}>{t("people.remove")}</button>}
            {!self && <button type="button" onClick={() => void change({gone: true}).then(again)}>{t("people.gone")}</button>}
          </div>
          {why && <p class="trouble" role="alert">{why}</p>}
          {said && <p role="status">{said}</p>}
        </div>
      </details>
    </li>
  );
}

function Devices() {
  const all = useAnswer<{devices: {device: string; name: string; by: string; since: number}[]}>("/api/devices", "none");
  const [why, setWhy] = useState("");
  const r = all.value;
  if (!r) return all.trouble ? <TroubleBox trouble={all.trouble} again={all.again} /> : <Waiting />;
  return (
    <section class="panel">
      <h2>{t("devices")}</h2>
      <p>{t("devices.say")}</p>
      {r.devices.length === 0 && <p class="faint-words">{t("devices.none")}</p>}
      <ul class="rows">{r.devices.map((d) => <li key={d.device}><div class="row"><strong><Typed>{d.name}</Typed></strong><span class="faint-words">{t("devices.since", {at: showMoment(d.since > 1e11 ? d.since : d.since * 1000)})}</span>
        <button type="button" aria-label={`${t("devices.withdraw")}: ${d.name}`} onClick={() => void tried(() => send("DELETE", `/api/devices/${d.device}`), setWhy).then(all.again)}>{t("devices.withdraw")}</button></div></li>)}</ul>
      <form class="choice-row" onSubmit={(e) => {
        e.preventDefault();
        const form = e.currentTarget;
        void tried(() => send("POST", "/api/devices", {name: text(form, "name").trim()}), setWhy).then((ok) => {
          if (ok) form.reset();
          all.again();
        });
      }}><label class="grow">{t("devices.name")}<input name="name" required maxLength={100} autocomplete="off" dir="auto" /></label><button>{t("devices.enrol")}</button></form>
      {why && <p class="trouble" role="alert">{why}</p>}
    </section>
  );
}

export function People() {
  const people = useAnswer<{things: Thing<PersonBody>[]}>("/api/list/person?most=1000", "");
  const accounts = useAnswer<{accounts: Account[]}>("/api/accounts", "none");
  const [why, setWhy] = useState("");
  const r = people.value;
  if (!r) return people.trouble ? <TroubleBox trouble={people.trouble} again={people.again} /> : <Waiting />;
  const here = r.things.filter((p) => !p.slip.struck && !p.slip.body.gone);
  const again = () => {
    people.again();
    accounts.again();
  };
  return (
    <>
      <p class="sentence">{here.length === 0 ? t("people.none") : t("people.say")}</p>
      {me.value?.alone && <p>{t("people.alone")}</p>}
      <ul class="rows">{here.map((p) => <Person key={p.thing} thing={p} account={accounts.value?.accounts.find((a) => a.person === p.thing)} again={again} />)}</ul>
      <form class="panel" onSubmit={(e) => {
        e.preventDefault();
        const form = e.currentTarget;
        void tried(() => send("POST", "/api/slips", {slips: [{id: newId(), kind: "person", at: nowText(), body: {name: text(form, "name").trim(), role: text(form, "role")}}]}), setWhy).then((ok) => {
          if (ok) form.reset();
          again();
        });
      }}>
        <h2>{t("people.add")}</h2>
        <div class="columns">
          <label>{t("people.name")}<input name="name" required maxLength={200} autocomplete="off" dir="auto" /></label>
          <label>{t("people.role")}<select name="role">{roles.map((x) => <option key={x} value={x} selected={x === "bench"}>{ofCode("role", x)}</option>)}</select></label>
        </div>
        {why && <p class="trouble" role="alert">{why}</p>}
        <button>{t("people.add")}</button>
      </form>
      <Devices />
    </>
  );
}
