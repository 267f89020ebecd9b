// German is complete: every sentence that the server says of its own is in the page's catalogue (web/src/words/book_de.ts),
// and no screen in German shows English. Names that a shop or a person gave are theirs and stay as they are.
import fs from "node:fs";
import {createRequire} from "node:module";
import path from "node:path";
import {pathToFileURL} from "node:url";
import {browser, check, exampleBook, folder, move, open, picture, same, serve, settled, source, test} from "./support.mjs";

/** The catalogue of the book's sentences, as the page has it. */
async function catalogue() {
  const {buildSync} = createRequire(path.join(source, "web", "package.json"))("esbuild");
  const out = path.join(folder(), "book.mjs");
  const words = path.join(source, "web", "src", "words").replaceAll("\\", "/");
  buildSync({
    stdin: {contents: `export {Book} from "${words}/book"; export {sentences} from "${words}/book_de"; export {de} from "${words}/de";`, resolveDir: source, loader: "ts"},
    outfile: out, bundle: true, format: "esm", platform: "node", nodePaths: [path.join(source, "web", "node_modules")], logLevel: "warning",
  });
  const {Book, sentences, de} = await import(pathToFileURL(out).href);
  return {book: new Book(sentences, {unit: "mm", comma: true}, "bis"), de};
}

/** Members of answers that hold a sentence or a name of the program's own and are shown; some only within another one. */
const shown = new Set(["formula", "remark", "working", "relief", "how", "stop", "steps", "measure_first", "no_plan",
  "name in inputs", "name in readings", "said in readings", "said in statements", "why in refusals", "why in next", "what in problem", "expected in problem",
  "what in errors", "expected in errors"]);
function* sentencesOf(value, member = "", within = "") {
  if (typeof value === "string") {
    if (shown.has(member) || shown.has(`${member} in ${within}`)) yield value;
  } else if (Array.isArray(value)) {
    for (const one of value) yield* sentencesOf(one, member, typeof one === "string" ? within : member);
  } else if (value && typeof value === "object") {
    for (const [name, one] of Object.entries(value)) yield* sentencesOf(one, name, Array.isArray(one) ? within : member || within);
  }
}

/** UUIDs of version 7, ascending. */
let made = 0;
const uuid = () => {
  const time = Date.now().toString(16).padStart(12, "0");
  return `${time.slice(0, 8)}-${time.slice(8)}-7${(++made).toString(16).padStart(3, "0")}-8000-000000000000`;
};

await test(async () => {
  const {book, de} = await catalogue();
  const {book: file, visits} = exampleBook();
  const server = await serve(file);
  // What an example says of its own work is its owner's text.
  const own = new Set(["saxophone", "clarinet"].flatMap((n) => JSON.parse(fs.readFileSync(path.join(source, "examples", `${n}.json`), "utf8")).works ?? []).map((w) => w.note));
  const missing = new Map();
  let asked = 0;
  const hear = (answer, from) => {
    for (const text of sentencesOf(answer)) {
      if (!text || !/[a-z]{2}/i.test(text) || own.has(text)) continue;
      ++asked;
      if (book.say(text) === null && !missing.has(text)) missing.set(text, from);
    }
  };
  const ask = async (at, options) => {
    const answer = await fetch(server.address + at, options);
    const body = await answer.json();
    // How a thing is looked at, cut or reamed the page says itself, by its code.
    if (body.state && body.state.next.what !== "step") body.state.next.how = "";
    hear(body, at);
    return body;
  };
  for (const visit of visits) {
    const at = `/api/visits/${visit}`;
    for (const part of ["leak", "bow", "season", "stack", "action", "regulate", "wear", "budget", "budget?minutes=100000&money=1000000"]) await ask(`${at}/${part}`);
    const fit = await ask(`${at}/fit`);
    for (const key of fit.keys) for (const figure of Object.keys(key.figures ?? {})) await ask(`${at}/why/${key.id}/${figure}`);
    await ask(`${at}/standing`);
  }
  // Keys led through by hands that find different things: what is asked, why, and when to stop.
  const hands = [
    {answers: (a) => a.length - 1, play: (n) => 0.14 - 0.03 * n}, // all clean, a loose fit
    {answers: () => 0, play: (n) => 0.1 + 0.02 * (n % 2)}, // something found everywhere, readings that disagree
    {answers: (a) => a.findIndex((x) => /no|free|flank|clean/.test(x)), play: (n) => (n < 2 ? 0.09 : -0.02)}, // cut too deep
    {answers: () => -1, play: () => null}, // nothing can be told
  ];
  for (const [i, key] of ["low-c", "palm-e-flat", "g", "f", "bis", "low-b", "side-c", "e"].entries()) {
    const hand = hands[i % hands.length];
    let read = 0;
    let led = await ask(`/api/visits/${visits[0]}/lead/${key}`);
    for (let step = 0; step < 25 && !led.state?.finished; ++step) {
      const next = led.state.next;
      let typed = "done";
      if (next.what === "look") {
        const at = hand.answers(next.answers ?? []);
        const play = next.check === "end-play" ? hand.play(read++) : null;
        typed = next.answers?.length ? next.answers[at] ?? "cannot" : play === null ? "cannot" : `${play.toFixed(3)} mm`;
      }
      led = await ask(`/api/visits/${visits[0]}/lead/${key}?unit=mm`, {method: "POST", headers: {"content-type": "application/json"},
        body: JSON.stringify({id: uuid(), typed, seen: led.as_of})});
      if (!led.state) led = await ask(`/api/visits/${visits[0]}/lead/${key}`);
    }
  }
  for (const s of (await (await fetch(`${server.address}/api/settings`)).json()).settings) {
    if (!de[`setting.${s.at}`] && !/^\/presets\/unknown\/\w+\/(?:origin|unit|meaning)$/.test(s.at)) hear({how: /^\/presets\/(?:movement|body|seal|regulation|rods|wear)\//.test(s.at) ? s.meaning.slice(s.meaning.indexOf(". ") + 2) : s.meaning}, "/api/settings");
  }
  // What the page can be refused for.
  const slip = (body, more = {}) => ({slips: [{id: uuid(), kind: "reading", at: "2026-11-25T10:00:00Z", of: visits[0], ...more, body}]});
  const key = (await ask(`/api/visits/${visits[0]}`)).keys[0].thing;
  const bench = "/api/visits/" + visits[0];
  const posts = [
    ...["", "abc", "1.2.3", "4 m", "5 furlong", "1 mm 2", "± 3", "1 ±", "-0.1 mm", "1/0 in", "4", "99999999999 mm", "1,000,000", "4 mm ± -1", "4'", "5 g", "4 mm ± 5 mm ± 6", "0x12", "mm"]
      .map((value) => ["/api/slips", slip({at: "/readings/gap_upper", value}, {key})]),
    ["/api/slips", slip({at: "/readings/end_play", value: "4 kg"}, {key})], ["/api/slips", slip({at: "/nowhere", value: "4 mm"}, {key})],
    ["/api/slips", slip({at: "/readings/end_play", value: "1 mm"}, {key: visits[0]})], ["/api/slips", slip({at: "/body/bow", value: {readings: []}})],
    ["/api/slips", slip({at: "/body/bow", value: {readings: [{station: "1 mm", value: "2 mm"}]}})],
    ["/api/slips", {slips: []}], ["/api/slips", {}], ["/api/slips", slip({at: "/readings/end_play", value: "1 mm"}, {key, of: uuid()})],
    ["/api/slips", slip({}, {kind: "visit"})], ["/api/slips", {slips: [{id: uuid(), kind: "person", at: "yesterday", body: {name: ""}}]}],
    ["/api/slips", {slips: [{id: uuid(), kind: "person", at: "2026-11-25T10:00:00Z", body: {name: "", role: "bench"}}]}],
    ["/api/slips", {slips: [{id: uuid(), kind: "owner", at: "2026-11-25T10:00:00Z", body: {name: "x".repeat(300)}}]}],
    ["/api/documents", {id: uuid(), day: "2026-13-01", document: {}}], ["/api/documents", {id: uuid(), day: "2026-11-01", document: 3}],
    ["/api/documents", {id: uuid(), day: "2026-11-01", document: {format: "hingeline-shop"}}], ["/api/documents", {id: uuid(), day: "2026-11-01", document: {}}],
    ["/api/documents", {id: uuid(), day: "2026-11-01", document: {format: "hingeline-instrument", version: 99}}],
    ["/api/documents", {id: uuid(), day: "2026-11-01", document: {format: "hingeline-instrument", version: 1, title: "x", keys: []}}],
    ["/api/documents", {id: uuid(), day: "2026-11-01", document: {format: "hingeline-instrument", version: 1, title: 5, units: "ells", colour: 1, keys: [{id: "A b", name: [], hinge: {kind: "door"}, pad: {tone_hole: true}}, 4]}}],
    ["/api/settings", {id: uuid(), at: "/presets/window_low", value: "wide"}], ["/api/settings", {id: uuid(), at: "/nothing", value: 1}], ["/api/settings", {id: uuid(), at: "/units", value: "ell"}],
    ["/api/settings", {id: uuid(), at: "/time_zone", value: "Nowhere"}], ["/api/settings", {id: uuid(), at: "/prices/per_hour", value: "much"}], ["/api/settings", {id: uuid(), at: "/presets/movement/stress_share", value: 7}],
    [`${bench}/lead/low-c`, {id: uuid(), typed: "nonsense", seen: 1}], [`${bench}/lead/nokey`, {id: uuid(), typed: "done", seen: 1}], [`${bench}/lead/low-c`, {id: "x", typed: "", seen: 1}],
    [`${bench}/lead/low-c`, {id: uuid(), typed: "waive dirt", seen: 999999}],
    ["/api/log-in", {login: "nobody", password: "x"}], ["/api/practice", {seed: -1}], ["/api/practice", {seed: 1, kind: "door"}], ["/api/practice", {seed: 1, kind: "rod", acts: [{do: "cut", end: "upper", turns: 1}]}],
    ["/api/practice", {seed: 1, kind: "headed", acts: [{do: "cut", end: "upper", turns: 99}]}], ["/api/practice", {seed: 1, kind: "headed", acts: [{do: "screw", end: "upper", by: 3}]}], ["/api/rig", {document: 3}],
    ["/api/copies", {}],
  ];
  for (const [at, body] of posts) await ask(at, {method: "POST", headers: {"content-type": "application/json"}, body: JSON.stringify(body)});
  for (const bytes of [Buffer.from("no picture"), Buffer.from("89504e470d0a1a0a0000", "hex"), Buffer.from("ffd8ffd9", "hex"), Buffer.from("RIFF0000WEBP")])
    await ask(`/api/photos?id=${uuid()}&visit=${visits[0]}`, {method: "POST", headers: {"content-type": "image/png"}, body: bytes});
  for (const at of ["/api/visits/00000000-0000-7000-8000-000000000000/fit", `${bench}/why/low-c/nothing`, `${bench}/fit?unit=ell`, `${bench}/budget?minutes=many`, `${bench}/budget?money=much`, `${bench}/season?service=moon`,
    `${bench}/leak?key=nokey`, `${bench}/paper/quote?language=xx`, `${bench}/paper/quote?day=never`, `${bench}/paper/quote?sheet=a9`, `${bench}/paper/lesson`, "/api/visits?most=x", "/api/visits?state=gone"]) await ask(at);

  check(asked > 10_000, `${asked} sentences were looked at`);
  check(missing.size === 0, `every sentence of the book has German words; none for\n${[...missing].map(([text, from]) => `  ${JSON.stringify(text)} (${from})`).join("\n")}`);

  // The screens in German, with all that opens opened, at the narrowest width: nothing marked as English, no English word
  // outside names, and nothing wider than the page.
  const context = await browser();
  const page = await open(context, `${server.address}/#go=choices`, {width: 360});
  await page.locator("main select").nth(0).selectOption("de");
  await page.locator("main select").nth(2).selectOption("comma");
  const parts = ["works", "leak", "body", "rods", "movement", "linked", "season", "wear", "photos"];
  const places = ["figures", "tools", "learned", "practice", "rig", "scan", "people", "copies", "owners", "log"];
  const at = {"day": "#", "take-in": "#go=take-in", "shop": "#go=shop", "instrument": `#v=${visits[0]}`,
    ...Object.fromEntries(parts.map((p) => [p, `#v=${visits[0]}&p=${p}`])), ...Object.fromEntries(places.map((p) => [p, `#go=shop&p=${p}`])),
    ...Object.fromEntries(["low-c", "palm-e-flat", "octave-lever"].flatMap((k) => ["answer", "work", "proof"].map((f) => [`${k}-${f}`, `#v=${visits[0]}&k=${k}&s=${f}`])))};
  const faults = [];
  for (const [name, hash] of Object.entries(at)) {
    await move(page, hash, name);
    await page.evaluate(() => {
      for (const d of document.querySelectorAll("main details")) d.open = true;
      for (const b of [...document.querySelectorAll("main .asked .figure")].slice(0, 6)) b.click();
      document.querySelector("main [data-figure] button")?.click();
    });
    await page.waitForTimeout(20);
    await settled(page, name);
    for (const wide of await page.evaluate(() => document.documentElement.scrollWidth <= document.documentElement.clientWidth ? [] :
      [...document.querySelectorAll("main *")].filter((e) => e.getBoundingClientRect().right > document.documentElement.clientWidth + 0.5).slice(-2).map((e) => e.outerHTML.slice(0, 150))))
      faults.push(`${name} is wider than the page: ${wide}`);
    await picture(page, `german-${name}`);
    for (const text of await page.evaluate(() => {
      const out = [...document.querySelectorAll("[lang=en]:not(option)")].map((e) => e.textContent ?? "");
      const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
      while (walk.nextNode()) {
        const text = walk.currentNode.textContent ?? "";
        const names = walk.currentNode.parentElement?.closest("bdi, option, noscript, script, [translate=no]");
        if (!names && /\b(?:the|of|and|is|are|not|with|which|from|cannot|its|by|at|or|read|no|for)\b/i.test(text)) out.push(text);
      }
      return out;
    })) faults.push(`${name}: ${text}`);
  }
  check(faults.length === 0, `German on all screens:\n${[...new Set(faults)].join("\n")}`);
  same(page.faults, [], "faults of the page");
});
