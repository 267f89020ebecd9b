// Every figure of every key of both examples on the page is that of `hingeline fit FILE --json`, digit by digit: the
// exact value behind it, and what is shown, rounded here by hand in decimal digits.
import {browser, check, exampleBook, open, run, same, serve, test} from "./support.mjs";

/** Rounds what stands in a JSON text to three decimals, half away from zero, without binary numbers. */
function rounded(text) {
  const m = /^(-?)(\d+)(?:\.(\d+))?$/.exec(text);
  if (!m) throw new Error(`no plain decimal: ${text}`);
  const digits = (m[3] ?? "").padEnd(4, "0");
  let n = BigInt(m[2] + digits.slice(0, 3));
  if (digits[3] >= "5") n += 1n;
  const all = n.toString().padStart(4, "0");
  return (n === 0n ? "" : m[1] ? "\u2212" : "") + all.slice(0, -3) + "." + all.slice(-3);
}

await test(async () => {
  const {book, visits} = exampleBook();
  const server = await serve(book);
  const context = await browser();
  let compared = 0;
  for (const [i, file] of ["examples/saxophone.json", "examples/clarinet.json"].entries()) {
    const fit = JSON.parse(run("fit", file, "--json"));
    const page = await open(context, `${server.address}/#v=${visits[i]}`);
    for (const key of fit.keys) {
      await page.evaluate((hash) => { location.hash = hash; }, `#v=${visits[i]}&k=${key.id}`);
      await page.locator(".key-nav h1", {hasText: new RegExp(`^${key.name.replace(/[.*+?^${}()|[\]\\]/g, "\\$&")}$`)}).waitFor();
      await page.locator("[data-figure]").first().waitFor();
      const shown = await page.evaluate(() => [...document.querySelectorAll("[data-figure]")].map((e) => {
        const data = e.querySelector("data");
        return [e.dataset.figure, data.value, data.textContent];
      }));
      same(shown.map((s) => s[0]), Object.keys(key.figures), `figures of ${key.id}`);
      for (const [name, value, text] of shown) {
        const f = key.figures[name];
        same(Number(value), f.value, `${key.id} ${name}`);
        const words = f.range ? `${rounded(String(f.low))} to ${rounded(String(f.high))}\u00a0mm`
          : f.plus_minus > 0 ? `${rounded(String(f.value))} ± ${rounded(String(f.plus_minus))}\u00a0mm` : `${rounded(String(f.value))}\u00a0mm`;
        same(text, words, `${key.id} ${name} as shown`);
        ++compared;
      }
    }
    same(page.faults, [], "faults of the page");
    await page.close();
  }
  check(compared > 400, `${compared} figures compared`);
});
