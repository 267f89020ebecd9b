// A server on a fresh book, and a browser before it. Each script of this folder is one test: it ends with 0 when all
// it claims was found so. Arguments: the program, the source folder, a folder for pictures.
import {execFileSync, spawn} from "node:child_process";
import fs from "node:fs";
import {createRequire} from "node:module";
import os from "node:os";
import path from "node:path";

export const [program, source, pictures] = process.argv.slice(2);
const require = createRequire(path.join(source, "web", "package.json"));
const {chromium} = require("playwright-core");
export const axeSource = fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
fs.mkdirSync(pictures, {recursive: true});

const ends = [];
export function check(is, what) {
  if (!is) throw new Error(`not so: ${what}`);
}
export function same(found, wanted, what) {
  if (JSON.stringify(found) !== JSON.stringify(wanted))
    throw new Error(`${what}: found ${JSON.stringify(found)}, wanted ${JSON.stringify(wanted)}`);
}

export function folder() {
  const made = fs.mkdtempSync(path.join(os.tmpdir(), "hingeline-page-"));
  ends.push(() => fs.rmSync(made, {recursive: true, force: true}));
  return made;
}
export const run = (...words) => execFileSync(program, words, {cwd: source, encoding: "utf8"});

/** A server at `book`; the port is the machine's choice unless one is given. */
export async function serve(book, port = 0, ...more) {
  const child = spawn(program, ["serve", "--book", book, "--listen", `127.0.0.1:${port}`, "--quiet", ...more], {stdio: ["ignore", "pipe", "pipe"]});
  ends.push(() => child.kill("SIGKILL"));
  let said = "";
  const address = await new Promise((resolve, reject) => {
    const hear = (piece) => {
      said += piece;
      const m = /http:\/\/127\.0\.0\.1:(\d+)/.exec(said);
      if (m) resolve(m[0]);
    };
    child.stdout.on("data", hear);
    child.stderr.on("data", hear);
    child.on("exit", (code) => reject(new Error(`the server ended with ${code}: ${said}`)));
  });
  const ended = new Promise((resolve) => child.on("exit", resolve));
  return {address, port: Number(new URL(address).port), kill: async () => { child.kill("SIGKILL"); await ended; }};
}

/** The example shop; with `instruments`, both examples taken in. Gives the visits in that order. */
export function exampleBook(instruments = true) {
  const book = path.join(folder(), "book.db");
  run("book", "put-shop", "examples/shop.json", "--book", book);
  const visits = [];
  const take = (file, owner, complaint) => {
    const said = run("book", "take-in", file, "--owner", owner, "--complaint", complaint, "--book", book);
    visits.push(/[0-9a-f-]{36}/.exec(said)[0]);
  };
  if (instruments) {
    take("examples/saxophone.json", "Ada Example", "low notes rattle");
    take("examples/clarinet.json", "Bo Example", "binds when it is cold");
  }
  return {book, visits};
}

/** `keeps`: with the worker that keeps the page; it would hide requests from the other tests. `touch`: touched, not
 *  clicked. `zone`: the device's time zone. */
export async function browser({keeps = false, touch = false, zone = undefined} = {}) {
  const made = await chromium.launchPersistentContext(folder(), {
    hasTouch: touch,
    isMobile: touch,
    timezoneId: zone,
    executablePath: "/usr/bin/chromium",
    headless: true,
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
      "--disable-component-update", "--disable-sync"],
    viewport: {width: 820, height: 1100},
    locale: "en-GB",
    serviceWorkers: keeps ? "allow" : "block",
  });
  ends.push(() => made.close());
  return made;
}

/** A page that fails the test for what it says on its console, and for any request to elsewhere. */
export async function open(context, address, options = {}) {
  const page = await context.newPage();
  page.faults = [];
  page.asking = new Set();
  page.on("pageerror", (error) => page.faults.push(String(error)));
  page.on("console", (m) => {
    if (/Content Security Policy|Refused/.test(m.text())) page.faults.push(m.text());
  });
  for (const event of ["requestfinished", "requestfailed"]) page.on(event, (r) => page.asking.delete(r.url()));
  page.on("request", (r) => {
    page.asking.add(r.url());
    if (!r.url().startsWith(new URL(address).origin) && !r.url().startsWith("data:")) page.faults.push(`asked ${r.url()}`);
  });
  if (options.width) await page.setViewportSize({width: options.width, height: options.height ?? 900});
  if (options.dark !== undefined) await page.emulateMedia({colorScheme: options.dark ? "dark" : "light"});
  page.setDefaultTimeout(90_000);
  // What moves without being touched (web.dev's layout shift: entries of that kind without recent input).
  await page.addInitScript(() => {
    globalThis.moved = [];
    new PerformanceObserver((list) => {
      for (const e of list.getEntries()) if (!e.hadRecentInput) globalThis.moved.push([e.value, ...e.sources.map((s) => {
        const n = s.node?.nodeType === 3 ? s.node.parentElement : s.node;
        return `${n?.tagName ?? "gone"}.${n?.className?.baseVal ?? n?.className ?? ""} ${Math.round(s.previousRect.y)}+${Math.round(s.previousRect.height)} to ${Math.round(s.currentRect.y)}+${Math.round(s.currentRect.height)}: ${(n?.textContent ?? "").slice(0, 30)}`;
      })]);
    }).observe({type: "layout-shift", buffered: true});
  });
  await page.goto(address);
  return page;
}
/** Goes to another screen of the open page, until it has been drawn first and has settled. */
export async function move(page, hash, what = hash) {
  await page.evaluate((h) => new Promise((done) => {
    addEventListener("hashchange", () => setTimeout(done, 0), {once: true});
    const was = location.href;
    location.hash = h;
    if (location.href === was) done();
  }), hash);
  await settled(page, what);
}
/** Waits until a screen has its heading and nothing on it still waits; where that does not come, says what is there. Asked by
 *  the clock, not by frames: a browser that has fallen behind may make none for long. */
export async function settled(page, what) {
  try {
    await page.waitForFunction(() => document.querySelector("main h1") && !document.querySelector("main .waiting"), undefined, {polling: 50});
  } catch (error) {
    throw new Error(`${what} does not settle: ${await page.locator("main").innerText()}\nasked and not answered: ${[...page.asking].join(" ")}`, {cause: error});
  }
}
export const picture = (page, name) => page.screenshot({path: path.join(pictures, `${name}.png`), fullPage: true});
/** What jumped since the last time it was asked; the sum of all shifts is below 0.01 where nothing is seen to jump. */
export const jumps = async (page, what) => {
  const moved = await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => setTimeout(() => done(globalThis.moved.splice(0)), 0))));
  return moved.reduce((sum, m) => sum + m[0], 0) < 0.01 ? [] : [`${what} jumps: ${moved.map((m) => `${m[0].toFixed(4)} ${m.slice(1).join(" | ")}`).join("; ")}`];
};
export const noSidewaysScroll = async (page, what) =>
  check(await page.evaluate(() => document.documentElement.scrollWidth <= document.documentElement.clientWidth), `${what} fits its width`);

export async function test(body) {
  let fault = null;
  try {
    await body();
  } catch (error) {
    fault = error;
  }
  for (const end of ends.reverse()) {
    try {
      await end();
    } catch {
      // What is gone already needs no end.
    }
  }
  if (fault) console.error(fault);
  process.exit(fault ? 1 : 0);
}
