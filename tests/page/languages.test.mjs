// German, inches and the comma, at the narrowest width; and how much has to come before the first screen.
import http from "node:http";
import {browser, check, exampleBook, move, noSidewaysScroll, open, picture, same, serve, test} from "./support.mjs";

/** Bytes of a body as it comes over the wire. */
const weigh = (url) => new Promise((resolve, reject) => {
  http.get(url, {headers: {"accept-encoding": "gzip"}}, (answer) => {
    const pieces = [];
    answer.on("data", (d) => pieces.push(d));
    answer.on("end", () => resolve(Buffer.concat(pieces)));
  }).on("error", reject);
});

// Never the same day at both: 25 hours apart (IANA time zone data).
const [far, behind] = ["Pacific/Kiritimati", "Pacific/Pago_Pago"];
const dayIn = (timeZone) => new Intl.DateTimeFormat("sv-SE", {timeZone}).format(new Date());

await test(async () => {
  const {book, visits: [sax]} = exampleBook();
  const server = await serve(book);
  const html = await (await fetch(server.address)).text();
  let bytes = 0;
  // What the page names, and what that asks for before anything can be seen.
  const wanted = new Set(["/", ...[...html.matchAll(/(?:src|href)="(\/[^"]+)"/g)].map((m) => m[1])]);
  for (const part of wanted) {
    bytes += (await weigh(server.address + part)).length;
    if (part.endsWith(".js")) for (const m of (await (await fetch(server.address + part)).text()).matchAll(/(?:from|import)"\.(\/part-\w+\.js)"/g)) wanted.add(m[1]);
  }
  check(wanted.size > 5, "the parts that the first screen needs are counted");
  check(bytes < 60_000, `the first load is ${bytes} bytes, 60 kB at most`);

  const context = await browser({zone: far});
  const page = await open(context, `${server.address}/#go=choices`, {width: 360});
  const selects = page.locator("main select");
  await selects.nth(0).selectOption("de");
  await selects.nth(1).selectOption("in");
  await selects.nth(2).selectOption("comma");
  same(await page.locator("html").getAttribute("lang"), "de", "the page's language");
  for (const [name, hash] of Object.entries({day: "#", instrument: `#v=${sax}`, key: `#v=${sax}&k=low-c`, work: `#v=${sax}&k=low-c&s=work`, "take-in": "#go=take-in"})) {
    await move(page, hash, name);
    await noSidewaysScroll(page, `${name} in German`);
    await picture(page, `${name}-german-inches`);
  }
  await page.evaluate((h) => { location.hash = h; }, `#v=${sax}&k=low-c`);
  await page.locator(".answer").waitFor();
  const answer = await page.locator(".answer").innerText();
  // 0.165 mm is 0.0065 in (25.4 mm to the inch).
  check(/Low C ist locker/.test(answer) && /0,0065 ± 0,0002\sin/.test(answer), `the answer in German and inches: ${answer}`);
  // Typed in inches with a comma and no unit, it is in the book as such.
  await page.fill("#field-end_play", "0,003");
  await page.press("#field-end_play", "Enter");
  await page.locator(".chip", {hasText: "0,003 in"}).waitFor();
  const fit = await (await fetch(`${server.address}/api/visits/${sax}/fit?key=low-c`)).json();
  check(Math.abs(fit.keys[0].figures["end-play"].value - 0.0762) < 0.02, "the book read inches");
  await page.reload();
  await page.locator(".chip", {hasText: "0,003 in"}).waitFor();
  same(await page.locator("html").getAttribute("lang"), "de", "kept on this device");

  // Days are the shop's, wherever the device thinks it is, unless the person at it chooses otherwise; so is the paper.
  const promised = async () => {
    await page.evaluate(() => { location.hash = "#go=take-in"; });
    return page.locator("[name=promised]").getAttribute("min");
  };
  const set = (at, value, id) => fetch(`${server.address}/api/settings`, {method: "POST", headers: {"content-type": "application/json"},
    body: JSON.stringify({id: `${Date.now().toString(16).padStart(12, "0").replace(/^(.{8})/, "$1-")}-7000-8000-00000000000${id}`, at, value})});
  same(await promised(), dayIn(far), "the day where the shop says no zone");
  same((await set("/time_zone", behind, 1)).status, 200, "the shop's zone is set");
  same((await set("/paper", "letter", 2)).status, 200, "the shop's paper is set");
  await page.locator(`[name=promised][min="${dayIn(behind)}"]`).waitFor();
  await page.evaluate(() => { location.hash = "#go=choices"; });
  await page.locator("html[data-paper=Letter]").waitFor({state: "attached"});
  await page.locator("main select").nth(3).selectOption("device");
  same(await promised(), dayIn(far), "the day as the device has it");
  await page.evaluate(() => { location.hash = "#go=choices"; });
  await page.locator("main select").nth(4).selectOption("A4");
  await page.locator("html[data-paper=A4]").waitFor({state: "attached"});
  same(page.faults, [], "faults of the page");
});
