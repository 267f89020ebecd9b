// Names that are meant to break a page stand there as text.
import fs from "node:fs";
import path from "node:path";
import {browser, exampleBook, folder, noSidewaysScroll, open, picture, same, serve, source, test} from "./support.mjs";

const bad = `<img src=x onerror="globalThis.broken=1">`;
const long = "Wasserklappe".repeat(25); // 300 characters without a blank
const rtl = "\u05de\u05e4\u05ea\u05d7 \u202egnp.exe"; // Hebrew, and a mark that turns what follows

await test(async () => {
  const {book} = exampleBook(false);
  const server = await serve(book);
  const document = JSON.parse(fs.readFileSync(path.join(source, "examples", "clarinet.json"), "utf8"));
  document.title = bad;
  document.keys[0].name = bad;
  document.keys[1].name = rtl;
  document.keys[2].name = long.slice(0, 200);
  const file = path.join(folder(), "hostile.json");
  fs.writeFileSync(file, JSON.stringify(document));
  const context = await browser();
  const page = await open(context, `${server.address}/#go=take-in`, {width: 360});
  await page.locator("input[name=from]").nth(2).check();
  await page.setInputFiles("[name=file]", file);
  await page.fill("[name=owner]", long.slice(0, 200)); // the book takes no longer name
  await page.fill("[name=complaint]", `${bad} ${rtl} ${long}`);
  await page.click("main .main-do");
  await page.locator("ol.keys, main .trouble").first().waitFor();
  same(await page.locator("main .trouble").allInnerTexts(), [], "what was refused");
  same(await page.locator("main h1").innerText(), bad, "the title as text");
  await noSidewaysScroll(page, "the instrument");
  await picture(page, "hostile-instrument");
  for (const i of [0, 1, 2]) {
    await page.locator("ol.keys a").nth(i).click();
    await page.locator(".key-nav h1").waitFor();
    same(await page.locator(".key-nav h1").textContent(), document.keys[i].name, "the key's name as text");
    await noSidewaysScroll(page, `key ${i}`);
    await page.goBack();
    await page.locator("ol.keys").waitFor();
  }
  await page.evaluate(() => { location.hash = "#"; });
  await page.locator(".tags a").waitFor();
  await noSidewaysScroll(page, "the day");
  await picture(page, "hostile-day");
  same(await page.evaluate(() => globalThis.broken), undefined, "nothing ran");
  same(await page.locator("main img").count(), 0, "no element was made of a name");
  same(page.faults, [], "faults of the page");
});
