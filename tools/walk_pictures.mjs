#!/usr/bin/env node
// Makes the pictures of docs/walk.md from the program itself: tools/walk_pictures.mjs PROGRAM [SOURCE-FOLDER]
// A fresh book, the example shop, one instrument taken in on the page and one key led to its proof. The bench's finds
// are invented: every look is clean, and each turn takes 0.02 mm off the end play.
import path from "node:path";
import {pageBefore} from "./page_before.mjs";

const program = path.resolve(process.argv[2] ?? "build/release/hingeline");
const source = path.resolve(process.argv[3] ?? ".");
const {address, browser, end} = await pageBefore(program, source);
try {
  const context = await browser.newContext({viewport: {width: 900, height: 960}, locale: "en-GB", colorScheme: "light", serviceWorkers: "block"});
  const page = await context.newPage();
  page.setDefaultTimeout(30_000);
  const shot = (name) => page.screenshot({path: path.join(source, "docs", "pictures", `walk-${name}.png`)});
  await page.goto(address);
  await page.locator("main .empty").waitFor();
  await shot("day");
  await page.locator("main a.do").click();
  await page.fill("[name=owner]", "Ada Example");
  await page.fill("[name=complaint]", "palm keys rattle");
  await shot("take-in");
  await page.click("main .main-do");
  await page.locator("ol.keys").waitFor();
  await page.locator("summary", {hasText: "Readings one after another"}).click();
  await page.fill(".quick >> nth=3", "0.12");
  await page.press(".quick >> nth=3", "Enter");
  await page.locator(".quick-list li", {hasText: "Palm E flat"}).locator("text=0.12 mm").waitFor();
  await page.locator("ol.keys a", {hasText: "Palm E flat"}).locator("text=Before metal").waitFor();
  await page.evaluate(() => window.scrollTo(0, 0));
  await shot("instrument");
  await page.locator("ol.keys a", {hasText: "Palm E flat"}).click();
  await page.locator("[data-gate]").waitFor();
  await page.locator(".strip svg").waitFor();
  await shot("key");
  await page.locator(".faces a", {hasText: "Work on it"}).click();
  let play = 0.12;
  let seen = "";
  let first = true;
  for (;;) {
    await page.waitForFunction((old) => {
      const told = document.querySelector(".work [data-told]")?.getAttribute("data-told");
      return document.querySelector(".work .to-proof") || (told && told !== old);
    }, seen);
    if (await page.locator(".work .to-proof").count()) break;
    seen = (await page.locator(".work [data-told]").getAttribute("data-told")) ?? "";
    const what = await page.locator(".work [data-what]").getAttribute("data-what");
    if (what === "look") {
      const field = page.locator("#work-typed");
      if (await field.count()) {
        if ((await page.locator(".work [data-what]").getAttribute("data-check")) === "end-play") {
          await field.fill(play.toFixed(3));
          await page.keyboard.press("Enter");
        } else {
          await page.locator(".answers .cannot").click();
        }
      } else {
        const texts = await page.locator(".answers .main-do").allTextContents();
        await page.locator(".answers .main-do").nth(Math.max(0, texts.findIndex((x) => /no$|free$|clean cone$|flank$/.test(x)))).click();
      }
    } else {
      if (what === "bite") {
        if (first) await shot("bite");
        first = false;
        play -= 0.02 * Number(await page.locator("[data-turns]").getAttribute("data-turns"));
      }
      await page.locator(".confirm").click();
    }
  }
  await page.locator(".to-proof").click();
  await page.locator(".proof .sentence").waitFor();
  await shot("proof");
} finally {
  await end();
}
