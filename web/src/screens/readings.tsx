/** Fields for what was read of a key. Value, Enter, next field; a repeat goes into the same field. */
import {useState} from "preact/hooks";
import type {Thing, ReadingBody, WholeVisit} from "../api/types";
import {enter, unsent} from "../outbox/outbox";
import {Typed} from "../parts/parts";
import {choices} from "../units/choices";
import {forBook, nowText, readLength, showLength} from "../units/units";
import {ofCode, t} from "../words/words";

export const places = ["/readings/end_play", "/readings/gap_upper", "/readings/gap_lower"] as const;
export type ReadingPlace = (typeof places)[number];

/** Single readings of a kept value, as they were typed. */
export function repeatsOf(value: unknown): string[] {
  if (typeof value === "string") return value === "?" ? [] : [value];
  if (typeof value !== "object" || value === null) return [];
  const v = value as {value?: number | string; unit?: string; plus_minus?: number | string; repeats?: (number | string)[]};
  const withUnit = (x: number | string) => (typeof x === "number" ? `${x} ${v.unit ?? "mm"}` : x);
  if (v.repeats) return v.repeats.map(withUnit);
  if (v.value === undefined) return [];
  return [withUnit(v.value) + (v.plus_minus === undefined ? "" : ` ± ${v.plus_minus}`)];
}

export function meanOf(repeats: string[]): number | null {
  const read = repeats.map((r) => readLength(r, "mm"));
  if (read.length === 0 || read.some((r) => r === null)) return null;
  return read.reduce((sum, r) => sum + (r?.mm ?? 0), 0) / read.length;
}

/** The newest reading of a place, of a key or (key "") of the whole instrument, and where others stand beside it. */
export function readingAt(whole: WholeVisit | null, keyThing: string, at: string): Thing<ReadingBody> | null {
  const mine = (whole?.readings ?? []).filter((r) => (r.slip.key ?? "") === keyThing && r.slip.body.at === at && !r.slip.struck);
  return mine.reduce<Thing<ReadingBody> | null>((best, r) => (best === null || r.slip.id > best.slip.id ? r : best), null);
}

/** Puts a reading in the place of the old one; null strikes it. */
export function keepReading({visit, key, at, old, value, says}: {
  visit: string; key?: string; at: string; old: Thing<ReadingBody> | null; value: unknown; says: string;
}): Promise<string> {
  return enter({
    path: "/api/slips", visit, says, ...(key ? {key} : {}),
    body: (id) => ({
      // Somebody else's later reading is not written over: it is said instead.
      must_be_current: true,
      slips: [{
        id, kind: "reading", at: nowText(), of: visit, ...(key ? {key} : {}),
        ...(old ? {replaces: old.slip.id, why: value === null ? "not measured after all" : "read again"} : {}),
        ...(value === null ? {struck: true} : {}),
        body: {at, value: value ?? old?.slip.body.value},
      }],
    }),
  });
}

export const enterReading = (visit: string, keyThing: string, name: string, at: string, old: Thing<ReadingBody> | null,
                             repeats: string[] | null): Promise<string> => keepReading({
  visit, key: keyThing, at, old, value: repeats?.length === 1 ? repeats[0] : repeats && {repeats},
  says: `${name}: ${ofCode("reading", at.slice("/readings/".length))} ${repeats?.join(", ") ?? t("key.not-measured")}`,
});

interface Props {
  visit: string;
  whole: WholeVisit | null;
  keyThing: string;
  keyName: string;
  onTyped: (at: ReadingPlace, mm: number | null) => void;
}

function Field({at, visit, whole, keyThing, keyName, onTyped, first}: Props & {at: ReadingPlace; first: boolean}) {
  const [text, set] = useState("");
  const [bad, setBad] = useState(false);
  const [lost, setLost] = useState(false);
  const old = readingAt(whole, keyThing, at);
  const kept = old ? repeatsOf(old.slip.body.value) : [];
  const mean = meanOf(kept);
  const waits = unsent.value.some((e) => e.visit === visit && e.key === keyThing &&
    JSON.stringify(e.body).includes(JSON.stringify(at)));
  const id = `field-${at.slice(10)}`;
  /** Whether it may go on to the next field: at once, as a caliper does not wait. */
  const put = (more: boolean): boolean => {
    if (text.trim() === "") return true;
    const typed = readLength(text, choices.value.unit);
    if (!typed || (at !== places[0] && typed.mm < 0)) {
      setBad(true);
      return false;
    }
    const one = forBook(text, choices.value.unit);
    set("");
    setBad(false);
    onTyped(at, null);
    enterReading(visit, keyThing, keyName, at, old, more ? [...kept, one] : [one]).catch(() => {
      // This device kept nothing: what was typed stands in its field again.
      set(text);
      setLost(true);
    });
    return true;
  };
  const press = (event: KeyboardEvent) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    const field = event.currentTarget as HTMLInputElement;
    if (!put(false)) return;
    const fields = [...document.querySelectorAll<HTMLInputElement>("input.reading")];
    fields[fields.indexOf(field) + 1]?.focus();
  };
  return (
    <div class="reading-row">
      <label for={id}>{ofCode("reading", at.slice(10))}</label>
      <input id={id} class="reading" inputMode="text" autocomplete="off" spellcheck={false} value={text}
        data-first={first ? "" : undefined} aria-invalid={bad} aria-describedby={`${id}-says`}
        onInput={(e) => {
          set(e.currentTarget.value);
          setBad(false);
          setLost(false);
          onTyped(at, readLength(e.currentTarget.value, choices.value.unit)?.mm ?? null);
        }}
        onKeyDown={press} />
      <span class="unit">{choices.value.unit}</span>
      <div id={`${id}-says`} class="reading-says" role="status">
        {lost ? <strong class="wrong">{t("unsent.lost")}</strong> : bad ? <strong class="wrong">{t("key.typed-bad")}</strong> :
          waits ? <strong class="unsent-mark">{t("unsent.kept")}</strong> :
            kept.length === 0 ? t("key.not-measured") :
              <>{kept.map((k, i) => <span class="chip" key={i}><Typed>{k}</Typed></span>)}
                {kept.length > 1 && mean !== null && t("key.mean", {n: kept.length, mean: showLength(mean)})}</>}
      </div>
      <div class="reading-do">
        <button type="button" disabled={text.trim() === ""} onClick={() => put(false)}>{t("key.enter")}</button>
        {kept.length > 0 && <button type="button" disabled={text.trim() === ""} onClick={() => put(true)}>{t("key.repeat")}</button>}
        {old && <button type="button" class="quiet" onClick={() => void enterReading(visit, keyThing, keyName, at, old, null)}>{t("key.strike")}</button>}
      </div>
    </div>
  );
}

export const Readings = (props: Props) => (
  <section class="panel">
    <h2>{t("key.readings")}</h2>
    <p class="faint-words">{t("key.readings.say")}</p>
    {places.map((at, i) => <Field key={props.keyThing + at} {...props} at={at} first={i === 0} />)}
  </section>
);

