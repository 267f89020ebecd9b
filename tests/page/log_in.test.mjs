// Where people log in: nothing is shown before, what one may not do is refused, and leaving leaves nothing behind.
// Over plain HTTP a browser keeps no secure cookie but for a loopback name (W3C Secure Contexts, 3.2; RFC 6265bis).
import {execFileSync} from "node:child_process";
import {axeSource, browser, check, exampleBook, noSidewaysScroll, open, picture, program, same, serve, test} from "./support.mjs";

await test(async () => {
  const {book, visits: [sax]} = exampleBook();
  const word = "correct horse battery";
  execFileSync(program, ["people", "add", "Kit Example", "--role", "owner", "--login", "kit", "--book", book], {input: `${word}\n`});
  execFileSync(program, ["people", "add", "Lee Example", "--role", "look-only", "--login", "lee", "--book", book], {input: `${word}\n`});
  const server = await serve(book, 0, "--behind-proxy");
  const address = server.address.replace("127.0.0.1", "localhost");
  const context = await browser();
  const page = await open(context, `${address}/#v=${sax}`, {width: 360});
  await page.locator("[name=password]").waitFor();
  await noSidewaysScroll(page, "logging in");
  check(!(await page.content()).includes("Ada Example"), "nothing of the book is shown before");
  const session = await context.newCDPSession(page);
  await session.send("Runtime.evaluate", {expression: axeSource});
  const found = await page.evaluate(() => globalThis.axe.run(document, {resultTypes: ["violations"]}));
  same(found.violations.map((v) => v.id), [], "violations that axe finds");
  await page.fill("[name=login]", "kit");
  await page.fill("[name=password]", "wrong horse battery");
  await page.keyboard.press("Enter");
  await page.locator("main .trouble").waitFor();
  await page.fill("[name=password]", word);
  await page.keyboard.press("Enter");
  await page.locator("ol.keys").waitFor();
  check((await page.content()).includes("Ada Example"), "the owner of the shop sees whose it is");
  await picture(page, "logged-in");
  await page.locator(".who button").click();
  await page.locator("[name=password]").waitFor();
  check(!(await page.content()).includes("Ada Example"), "nothing of the book is left");
  await page.fill("[name=login]", "lee");
  await page.fill("[name=password]", word);
  await page.keyboard.press("Enter");
  await page.locator("ol.keys a").first().waitFor();
  check(!(await page.content()).includes("Ada Example"), "who may look only sees no owner");
  await page.locator("ol.keys a", {hasText: "Palm E flat"}).click();
  await page.fill("#field-end_play", "0.3");
  await page.press("#field-end_play", "Enter");
  await page.locator(".unsent button", {hasText: "1 not in the book"}).click();
  await page.locator(".unsent-list li", {hasText: "refused"}).waitFor();
  await page.locator(".unsent-list button").click();
  await page.locator(".in-book").waitFor();
  same(page.faults, [], "faults of the page");
});
