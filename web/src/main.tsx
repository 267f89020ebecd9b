import {render} from "preact";
import {effect} from "@preact/signals";
import {useEffect} from "preact/hooks";
import {askAhead, forgetBegun, me, whoIsHere} from "./api/client";
import {hear, line, listen} from "./live/news";
import {sendWaiting} from "./outbox/outbox";
import {place, read} from "./route";
import {ChoicesScreen} from "./screens/choices";
import {Day, dayList} from "./screens/day";
import {Frame} from "./screens/frame";
import {Instrument} from "./screens/instrument";
import {Key} from "./screens/key";
import {LogIn} from "./screens/log_in";
import {TakeIn} from "./screens/take_in";
import {Later} from "./parts/later";
import {Waiting} from "./parts/parts";
import {choices, learnOfShop, paperOf} from "./units/choices";
import {learn, learnBook, t} from "./words/words";

// What is not needed for the day and for a key comes when it is gone to.
const visitPart = async () => (await import("./visit/parts")).PartOfVisit;
const shopPart = async () => (await import("./shop/parts")).Shop;

function Screen() {
  const at = place.value.at;
  switch (at) {
    case "day": return <Day />;
    case "take-in": return <TakeIn />;
    case "visit": return <Instrument />;
    case "key": return <Key />;
    case "choices": return <ChoicesScreen />;
    case "part": return <Later load={visitPart} />;
    case "shop": return <Later load={shopPart} />;
  }
}

function Page() {
  const {at, visit, key, screen, part} = place.value;
  useEffect(() => {
    // After a move the page begins at its top, for eyes and for readers of screens.
    if (document.activeElement === document.body || document.activeElement?.closest("a")) document.getElementById("main")?.focus({preventScroll: true});
    window.scrollTo(0, 0);
  }, [at, visit, key, screen, part]);
  const who = me.value;
  return <Frame>{!who ? (line.value === "away" ? <p class="trouble">{t("trouble.away")}</p> : <Waiting />) : who.logged_in ? <Screen /> : <LogIn />}</Frame>;
}

async function begin(): Promise<void> {
  try {
    await whoIsHere();
    if (me.value?.logged_in && place.value.at === "day") askAhead(dayList(""));
    listen();
    void sendWaiting();
  } catch {
    line.value = "away";
    setTimeout(() => void begin(), 2000);
  }
}

// The shop's time zone and paper come with who is here, asked again when the shop's figures change.
effect(() => {
  if (me.value?.shop) learnOfShop(me.value.shop);
});
hear((news) => {
  if (news === null || news.slip.kind === "shop" || news.slip.kind === "preset") void whoIsHere().catch(() => undefined);
});
effect(() => void learn(choices.value.language).catch(() => undefined));
effect(() => void learnBook(choices.value).catch(() => undefined));
effect(() => {
  document.documentElement.lang = choices.value.language;
  document.documentElement.dataset["light"] = choices.value.light;
  document.documentElement.dataset["paper"] = paperOf(choices.value);
});
window.addEventListener("hashchange", () => {
  forgetBegun();
  place.value = read(location.hash);
});
window.addEventListener("online", () => void sendWaiting());
const root = document.getElementById("page");
// The first screen is in the person's language at once, not in English for a moment.
void learn(choices.value.language).catch(() => undefined).then(() => root && render(<Page />, root));
if ("serviceWorker" in navigator && window.isSecureContext) navigator.serviceWorker.register("/sw.js").catch(() => undefined);
void begin();
