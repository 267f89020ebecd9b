/** A screen whose code is fetched when it is gone to. */
import type {ComponentType} from "preact";
import {useEffect, useState} from "preact/hooks";
import {t} from "../words/words";
import {Waiting} from "./parts";

const fetched = new Map<() => Promise<ComponentType>, ComponentType>();

export function Later({load}: {load: () => Promise<ComponentType>}) {
  const [lost, setLost] = useState(false);
  const [, again] = useState(0);
  useEffect(() => {
    if (fetched.has(load)) return;
    load().then((screen) => {
      fetched.set(load, screen);
      again((n) => n + 1);
    }, () => setLost(true));
  }, [load]);
  const Screen = fetched.get(load);
  if (Screen) return <Screen />;
  // A program that was made anew meanwhile has other names for its parts: the page is asked for afresh.
  return lost ? <div class="trouble" role="alert"><p>{t("trouble.away")}</p>
    <button type="button" onClick={() => location.reload()}>{t("try-again")}</button></div> : <Waiting />;
}
