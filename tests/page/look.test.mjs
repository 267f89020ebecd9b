// Every screen at three widths, light and dark: nothing wider than the page, nothing to touch smaller than 44 px (WCAG
// 2.5.5), no violation that axe-core finds. Pictures of all of them are left for looking at.
import {axeSource, browser, check, exampleBook, noSidewaysScroll, open, picture, serve, test} from "./support.mjs";

await test(async () => {
  const {book, visits: [sax]} = exampleBook();
  const server = await serve(book);
  const context = await browser();
  const screens = {
    "day": "#", "take-in": "#go=take-in", "instrument": `#v=${sax}`, "key": `#v=${sax}&k=low-c`,
    "work": `#v=${sax}&k=palm-e-flat&s=work`, "proof": `#v=${sax}&k=palm-e-flat&s=proof`, "choices": "#go=choices", "settings": "#go=settings",
  };
  const faults = [];
  for (const [width, dark] of [[360, false], [820, true], [1920, false]]) {
    for (const [name, hash] of Object.entries(screens)) {
      const page = await open(context, `${server.address}/${hash}`, {width, dark});
      await page.locator("main h1, main .key-nav").first().waitFor();
      await page.waitForFunction(() => !document.querySelector("main .waiting"));
      await noSidewaysScroll(page, `${name} at ${width}`);
      await picture(page, `${name}-${width}-${dark ? "dark" : "light"}`);
      const small = await page.evaluate(() => [...document.querySelectorAll("button, main a, input, select, summary")]
        .filter((e) => e.offsetParent !== null && !e.closest(".pick") && e.getBoundingClientRect().height < 43.9)
        .map((e) => `${e.tagName} ${e.textContent?.slice(0, 30)} ${e.getBoundingClientRect().height}`));
      if (small.length) faults.push(`${name} at ${width}: too small to touch: ${small.slice(0, 5).join("; ")}`);
      // The page's own rule forbids scripts that were put in: the tester's session may, the page may not.
      const session = await context.newCDPSession(page);
      await session.send("Runtime.evaluate", {expression: axeSource});
      const found = await page.evaluate(() => globalThis.axe.run(document, {resultTypes: ["violations"]}));
      for (const v of found.violations) faults.push(`${name} at ${width}: ${v.id}: ${v.nodes.slice(0, 3).map((n) => n.html.slice(0, 120) + " " + (n.any[0]?.message ?? "")).join(" | ")}`);
      faults.push(...page.faults.map((f) => `${name}: ${f}`));
      await page.close();
    }
  }
  check(faults.length === 0, `all screens are well:\n${faults.join("\n")}`);
});
