// From taking in to the proof, with the mouse and with the keyboard alone, at three widths, light and dark.
import path from "node:path";
import {browser, check, folder, noSidewaysScroll, open, picture, run, same, serve, test} from "./support.mjs";

/** A bench that finds the same as tests/desk: all checks clean, and 0.02 mm off the end play for each turn. */
async function work(page, keyboard) {
  let play = 0.12;
  let bites = 0;
  let seen = "";
  for (let step = 0; step < 120; ++step) {
    await page.waitForFunction((old) => {
      const told = document.querySelector(".work [data-told]")?.getAttribute("data-told");
      return document.querySelector(".work .to-proof") || (told && told !== old);
    }, seen);
    seen = (await page.locator(".work [data-told]").getAttribute("data-told")) ?? "";
    if (await page.locator(".work .to-proof").count()) return {bites, play};
    const what = await page.locator(".work [data-what]").getAttribute("data-what");
    const checked = await page.locator(".work [data-what]").getAttribute("data-check");
    if (what === "look") {
      const field = page.locator("#work-typed");
      if (await field.count()) {
        if (checked === "end-play") {
          await field.focus();
          await page.keyboard.type(`${play.toFixed(3).replace(".", ",")} mm\n`); // as a caliper types
        } else if (keyboard) {
          await page.locator(".answers .cannot").focus();
          await page.keyboard.press("Enter");
        } else {
          await page.locator(".answers .cannot").click();
        }
      } else {
        const texts = await page.locator(".answers .main-do").allTextContents();
        const at = Math.max(0, texts.findIndex((x) => /no$|free$|clean cone$|flank$/.test(x)));
        if (keyboard) await page.keyboard.press(String(at + 1));
        else await page.locator(".answers .main-do").nth(at).click();
      }
    } else if (what === "beyond") {
      throw new Error("it goes no further");
    } else {
      if (what === "bite") {
        play -= 0.02 * Number(await page.locator("[data-turns]").getAttribute("data-turns"));
        ++bites;
      }
      if (keyboard) await page.keyboard.press("PageDown");
      else await page.locator(".confirm").click();
    }
  }
  throw new Error("no end of it");
}

await test(async () => {
  const book = path.join(folder(), "book.db");
  run("book", "put-shop", "examples/shop.json", "--book", book);
  const server = await serve(book);
  const context = await browser();
  for (const [width, dark, keyboard] of [[360, false, false], [820, true, true], [1920, false, false]]) {
    const page = await open(context, server.address, {width, dark});
    const press = async (locator) => {
      await locator.waitFor();
      if (!keyboard) return locator.click();
      // By Tab alone, as somebody without a mouse comes there.
      for (let i = 0; i < 200; ++i) {
        await page.keyboard.press("Tab");
        if (await locator.evaluate((e) => e === document.activeElement)) return page.keyboard.press("Enter");
      }
      throw new Error(`Tab never reaches ${locator}`);
    };
    await press(page.locator("main a.do").first());
    await page.locator("main form").waitFor();
    await page.fill("[name=owner]", "Cy Example");
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
    const {bites, play} = await work(page, keyboard);
    await picture(page, `worked-${width}`);
    check(bites > 0, "something was cut");
    await press(page.locator(".to-proof"));
    await page.locator(".proof .sentence").waitFor();
    same(await page.locator(".proof .sentence").innerText(), "It is in its window.", "the proof");
    same(await page.locator(".proof tbody tr").count(), bites, "bites on record");
    check((await page.locator(".proof").innerText()).includes(play.toFixed(3)), "the last reading stands in the proof");
    await noSidewaysScroll(page, `the proof at ${width}`);
    await picture(page, `proved-${width}`);
    same(page.faults, [], "faults of the page");
    await page.close();
  }
});
