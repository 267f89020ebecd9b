// From taking in to the paper in the owner's hand: by touch, with the keyboard alone and with the mouse, at three widths,
// light and dark.
import {execFileSync} from "node:child_process";
import fs from "node:fs";
import path from "node:path";
import {browser, check, folder, noSidewaysScroll, open, picture, run, same, serve, test} from "./support.mjs";

/** A finger, a mouse, or neither: what presses something on the page. */
function hand(page, by) {
  if (by === "touch") return (locator) => locator.tap();
  if (by === "mouse") return (locator) => locator.click();
  // By Tab alone, as somebody without a mouse comes there.
  return async (locator) => {
    await locator.waitFor();
    for (let i = 0; i < 250; ++i) {
      await page.keyboard.press("Tab");
      if (await locator.evaluate((e) => e === document.activeElement)) return page.keyboard.press("Enter");
    }
    throw new Error(`Tab never reaches ${locator}`);
  };
}

/** A bench that finds the same as tests/desk: all checks clean, and 0.02 mm off the end play for each turn. */
async function work(page, by, press) {
  const keyboard = by === "keyboard";
  let play = 0.12;
  let bites = 0;
  let turns = 0;
  let seen = "";
  for (let step = 0; step < 120; ++step) {
    await page.waitForFunction((old) => {
      const told = document.querySelector(".work [data-told]")?.getAttribute("data-told");
      return document.querySelector(".work .to-proof") || (told && told !== old);
    }, seen);
    seen = (await page.locator(".work [data-told]").getAttribute("data-told")) ?? "";
    if (await page.locator(".work .to-proof").count()) return {bites, play, turns};
    const what = await page.locator(".work [data-what]").getAttribute("data-what");
    const checked = await page.locator(".work [data-what]").getAttribute("data-check");
    if (what === "look") {
      const field = page.locator("#work-typed");
      if (await field.count()) {
        if (checked === "end-play") {
          if (by === "touch") await field.tap();
          else await field.focus();
          await page.keyboard.type(`${play.toFixed(3).replace(".", ",")} mm\n`); // as a caliper types
        } else if (keyboard) {
          await page.locator(".answers .cannot").focus();
          await page.keyboard.press("Enter");
        } else {
          await press(page.locator(".answers .cannot"));
        }
      } else {
        const texts = await page.locator(".answers .main-do").allTextContents();
        const at = Math.max(0, texts.findIndex((x) => /no$|free$|clean cone$|flank$/.test(x)));
        if (keyboard) await page.keyboard.press(String(at + 1));
        else await press(page.locator(".answers .main-do").nth(at));
      }
    } else if (what === "beyond") {
      throw new Error("it goes no further");
    } else {
      if (what === "bite") {
        const made = Number(await page.locator("[data-turns]").getAttribute("data-turns"));
        turns += made;
        play -= 0.02 * made;
        ++bites;
      }
      if (keyboard) await page.keyboard.press("PageDown");
      else await press(page.locator(".confirm"));
    }
  }
  throw new Error("no end of it");
}

/** The words of the PDF that pressing `link` opens, as pdftotext (Poppler) reads them. */
async function paperBehind(page, press, link, name) {
  const got = new Promise((resolve) => {
    void page.context().route("**/paper/**", async (route) => {
      const answer = await route.fetch();
      resolve({bytes: await answer.body(), type: answer.headers()["content-type"]});
      // The browser's own reader of PDF is not what is tested.
      await route.fulfill({status: 200, contentType: "text/plain", body: "paper"});
    });
  });
  const opened = page.context().waitForEvent("page");
  await press(link);
  const {bytes, type} = await got;
  same(type, "application/pdf", "what a paper's link gives");
  await (await opened).close();
  await page.context().unroute("**/paper/**");
  const file = path.join(folder(), `${name}.pdf`);
  fs.writeFileSync(file, bytes);
  return execFileSync("pdftotext", ["-layout", file, "-"], {encoding: "utf8"});
}

await test(async () => {
  const book = path.join(folder(), "book.db");
  run("book", "put-shop", "examples/shop.json", "--book", book);
  const server = await serve(book);
  const touched = await browser({touch: true});
  const context = await browser();
  for (const [width, dark, by] of [[360, false, "touch"], [820, true, "keyboard"], [1920, false, "mouse"]]) {
    const page = await open(by === "touch" ? touched : context, server.address, {width, dark});
    const press = hand(page, by);
    await press(page.locator("main a.do").first());
    await page.locator("main form").waitFor();
    await page.fill("[name=owner]", "Cy Example");
    await page.fill("[name=title]", `Practice alto ${width}`);
    await page.fill("[name=complaint]", `rattles at ${width}`);
    await press(page.locator("main .main-do"));
    await page.locator("ol.keys").waitFor();
    await noSidewaysScroll(page, `the instrument at ${width}`);
    await press(page.locator("ol.keys a", {hasText: "Palm E flat"}));
    await page.locator("#field-end_play").waitFor();
    // The strip moves while a number is typed.
    const mark = () => page.locator(".strip .now").getAttribute("d");
    const before = await mark();
    await page.locator("#field-end_play").focus();
    await page.keyboard.type("0.12");
    check((await mark()) !== before, "the strip moves as a number is typed");
    check(/loose/i.test(await page.locator(".as-typed").innerText()), "what is typed is judged at once");
    await page.keyboard.press("Enter");
    same(await page.evaluate(() => document.activeElement?.id), "field-gap_upper", "Enter goes to the next field");
    await page.locator(".chip", {hasText: "0.12 mm"}).waitFor();
    await press(page.locator(".faces a", {hasText: "Work on it"}));
    const {bites, play, turns} = await work(page, by, press);
    await picture(page, `worked-${width}`);
    check(bites > 0, "something was cut");
    await press(page.locator(".to-proof"));
    await page.locator(".proof .sentence").waitFor();
    same(await page.locator(".proof .sentence").innerText(), "It is in its window.", "the proof");
    same(await page.locator(".proof tbody tr").count(), bites, "bites on record");
    check((await page.locator(".proof").innerText()).includes(play.toFixed(3)), "the last reading stands in the proof");
    await noSidewaysScroll(page, `the proof at ${width}`);
    await picture(page, `proved-${width}`);

    // The paper: the owner's report, by the link that the page gives; its figures are those that were read and done.
    await press(page.locator(".key-nav a", {hasText: "All keys"}));
    await page.locator("ol.keys").waitFor();
    const report = await paperBehind(page, press, page.locator(".papers a", {hasText: "Report to the owner"}), `report-${width}`);
    for (const word of [`Practice alto ${width}`, "Cy Example", `rattles at ${width}`, "Palm E flat", "0.120"])
      check(report.includes(word), `the report says "${word}":\n${report}`);
    check(new RegExp(`Palm E flat +0\\.120 .*${play.toFixed(3)} `).test(report), `before and after stand beside each other:\n${report}`);
    // The report rounds turns to a tenth.
    const told = [...report.matchAll(/Palm E flat: seat cut deeper, \w+, ([\d.]+) turns?/g)].map((m) => Number(m[1]));
    check(told.length > 0 && Math.abs(told.reduce((sum, n) => sum + n, 0) - turns) < 0.051 * told.length, `${turns} turns in the report:\n${report}`);
    same(page.faults, [], "faults of the page");
    await page.close();
  }
});
