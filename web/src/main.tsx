import {render} from "preact";
import {effect} from "@preact/signals";
import {useEffect} from "preact/hooks";
import {me, whoIsHere} from "./api/client";
import {line, listen} from "./live/news";
import {sendWaiting} from "./outbox/outbox";
import {place, read} from "./route";
import {ChoicesScreen} from "./screens/choices";
import {Day} from "./screens/day";
import {Frame} from "./screens/frame";
import {Instrument} from "./screens/instrument";
import {Key} from "./screens/key";
import {LogIn} from "./screens/log_in";
import {Settings} from "./screens/settings";
import {TakeIn} from "./screens/take_in";
import {Waiting} from "./parts/parts";
import {choices} from "./units/choices";

function Screen() {
  const at = place.value.at;
  switch (at) {
    case "day": return <Day />;
    case "take-in": return <TakeIn />;
    case "visit": return <Instrument />;
    case "key": return <Key />;
    case "choices": return <ChoicesScreen />;
    case "settings": return <Settings />;
  }
}

function Page() {
  const {at, visit, key, screen} = place.value;
  useEffect(() => {
    // After a move the page begins at its top, for eyes and for readers of screens.
    if (document.activeElement === document.body || document.activeElement?.closest("a")) document.getElementById("main")?.focus({preventScroll: true});
    window.scrollTo(0, 0);
  }, [at, visit, key, screen]);
  const who = me.value;
  return <Frame>{!who ? <Waiting /> : who.logged_in ? <Screen /> : <LogIn />}</Frame>;
}

async function begin(): Promise<void> {
  try {
    await whoIsHere();
    listen();
    void sendWaiting();
  } catch {
    line.value = "away";
    setTimeout(() => void begin(), 2000);
  }
}

effect(() => {
  document.documentElement.lang = choices.value.language;
  document.documentElement.dataset["light"] = choices.value.light;
  document.documentElement.dataset["paper"] = choices.value.paper;
});
window.addEventListener("hashchange", () => (place.value = read(location.hash)));
window.addEventListener("online", () => void sendWaiting());
const root = document.getElementById("page");
if (root) render(<Page />, root);
void begin();
