// Without the network, with the server killed in the middle, and with two benches at one key.
import path from "node:path";
import {browser, check, exampleBook, open, run, same, serve, source, test} from "./support.mjs";

const readingsOf = async (address, visit, key) => {
  const whole = await (await fetch(`${address}/api/visits/${visit}`)).json();
  const thing = whole.keys.find((k) => k.slip.body.id === key).thing;
  const history = whole.readings.filter((r) => r.slip.key === thing);
  const slips = [];
  for (const r of history) slips.push(...(await (await fetch(`${address}/api/things/${r.thing}/history`)).json()).slips);
  return slips.map((k) => k.slip);
};

await test(async () => {
  const {book, visits: [sax]} = exampleBook();
  let server = await serve(book);
  const context = await browser();
  const at = `${server.address}/#v=${sax}&k=palm-e-flat`;
  const page = await open(context, at);
  await page.locator(".chip").first().waitFor();

  // Away: two readings, kept and shown as not in the book; then back: both there once, in order.
  await context.setOffline(true);
  for (const [field, value] of [["end_play", "0.061"], ["gap_upper", "0.200"]]) {
    await page.fill(`#field-${field}`, value);
    await page.press(`#field-${field}`, "Enter");
    await page.locator(`#field-${field}-says .unsent-mark`).waitFor();
  }
  check(/2 not in the book yet/.test(await page.locator(".book").innerText()), "what is unsent is counted");
  same((await readingsOf(server.address, sax, "palm-e-flat")).length, 1, "nothing has reached the book");
  // The page is gone before the network is back: what was kept is kept.
  await page.close();
  await context.setOffline(false);
  let again = await open(context, at);
  await again.locator(".chip", {hasText: "0.061 mm"}).waitFor();
  await again.locator(".in-book").waitFor();
  const slips = (await readingsOf(server.address, sax, "palm-e-flat")).filter((s) => ["0.061 mm", "0.200 mm"].includes(s.body.value));
  same(slips.map((s) => s.body.value).sort(), ["0.061 mm", "0.200 mm"], "each once");
  const [first, second] = ["0.061 mm", "0.200 mm"].map((v) => slips.find((s) => s.body.value === v).id);
  check(first < second, "ids ascend as they were entered");

  // Photos taken away from the network: kept on the device with the reading between them, sent in order, each once, though
  // the answer to the first is lost and it is sent again.
  await again.evaluate((h) => { location.hash = h; }, `#v=${sax}&p=photos`);
  await again.locator("[name=photo]").waitFor();
  await context.setOffline(true);
  const pixel = path.join(source, "tests", "desk", "pixel.png");
  for (const caption of ["dent before", "dent after"]) {
    await again.setInputFiles("[name=photo]", pixel);
    await again.fill("[name=caption]", caption);
    await again.locator("main .main-do").click();
    await again.locator(".photos-wait li", {hasText: caption}).waitFor();
  }
  check(/2 not in the book yet/.test(await again.locator(".book").innerText()), "photos that wait are counted");
  // Gone and come back before the network is: they are in the device's own store.
  await again.close();
  const photos = await context.newPage();
  let answered = 0;
  const order = [];
  await photos.route("**/api/photos?**", async (route) => {
    order.push(new URL(route.request().url()).searchParams.get("caption"));
    if (answered++ > 0) return route.continue();
    await route.fetch(); // the book has it
    await route.abort(); // the page does not know
  });
  await context.setOffline(false);
  await photos.goto(`${server.address}/#v=${sax}&p=photos`);
  await photos.locator(".photos img").nth(1).waitFor();
  await photos.locator(".in-book").waitFor();
  same(order, ["before: dent before", "before: dent before", "before: dent after"], "photos as they were sent");
  same((await (await fetch(`${server.address}/api/visits/${sax}`)).json()).photos.map((p) => p.slip.body.caption), ["before: dent before", "before: dent after"], "photos in the book");
  await photos.close();
  again = await open(context, at);
  await again.locator(".chip").first().waitFor();

  // Killed while it saves: the answer never comes, the entry stays, and counts once when the server is back.
  const port = server.port;
  let held = null;
  await again.route("**/api/slips", async (route) => {
    if (held !== null) return route.continue();
    held = "writing";
    await route.fetch(); // the book has it
    await server.kill();
    await route.abort(); // the page does not know
  });
  await again.fill("#field-gap_lower", "0.150");
  await again.press("#field-gap_lower", "Enter");
  await again.locator(".line-away").waitFor();
  check(/1 not in the book yet/.test(await again.locator(".book").innerText()), "the entry is still kept");
  server = await serve(book, port);
  await again.locator(".in-book").waitFor({timeout: 40000});
  await again.locator("#field-gap_lower-says .chip", {hasText: "0.150 mm"}).waitFor();
  same((await readingsOf(server.address, sax, "palm-e-flat")).filter((s) => s.body.value === "0.150 mm").length, 1, "it counts once");
  check(run("book", "show", book).length > 0, "the book is whole");

  // Two benches: one sees the other's entry by itself; an answer to what is no longer asked is refused and said so.
  const work = `${server.address}/#v=${sax}&k=low-c&s=work`;
  const one = await open(context, work);
  const two = await open(context, work);
  await one.locator(".answers .main-do").first().waitFor();
  await two.locator(".answers .main-do").first().waitFor();
  await two.route("**/lead/**", async (route) => {
    if (route.request().method() !== "POST") return route.abort(); // two does not hear of it in time
    return route.continue();
  });
  await one.locator(".answers .main-do").first().click();
  await one.locator("[data-told='1']").waitFor();
  await two.locator(".answers .main-do").nth(1).click();
  await two.locator(".trouble", {hasText: "Another bench"}).waitFor();
  await two.unroute("**/lead/**");
  const led = await (await fetch(`${server.address}/api/visits/${sax}/lead/low-c`)).json();
  same(led.told, 1, "only the first answer was taken");
  await two.reload();
  await two.locator("[data-told='1']").waitFor();
  const three = await open(context, `${server.address}/#v=${sax}&k=palm-e-flat`);
  await three.locator(".chip").first().waitFor();
  await again.fill("#field-end_play", "0.071");
  await again.press("#field-end_play", "Enter");
  await three.locator(".chip", {hasText: "0.071 mm"}).waitFor();
  same(three.faults, [], "faults of the page");
  // An answer given while the page asks anew, because another key's reading came, is held and then told: not lost.
  await two.route("**/lead/**", async (route) => {
    if (route.request().method() === "GET") await new Promise((done) => setTimeout(done, 1000));
    return route.continue();
  });
  await again.fill("#field-end_play", "0.072");
  await again.press("#field-end_play", "Enter");
  await two.locator(".instruction:not([data-told])").waitFor();
  await two.keyboard.press("1");
  await two.locator("[data-told='2']").waitFor();
  same(two.faults, [], "faults of the page");

  // With the network gone altogether the page still opens, and says so; no answer of the interface is kept.
  const kept = await browser({keeps: true});
  const fresh = await open(kept, server.address);
  await fresh.locator(".tags a").first().waitFor();
  await fresh.evaluate(() => navigator.serviceWorker.ready.then((r) => r.active?.state));
  await fresh.waitForFunction(async () => (await caches.keys()).length > 0 && (await navigator.serviceWorker.getRegistration())?.active?.state === "activated");
  same(await fresh.evaluate(async () => {
    const names = await caches.keys();
    const all = await Promise.all(names.map(async (n) => (await (await caches.open(n)).keys()).map((r) => new URL(r.url).pathname)));
    return all.flat().filter((p) => p.startsWith("/api"));
  }), [], "answers of the interface that are kept");
  await server.kill();
  await fresh.reload();
  await fresh.locator("main .trouble", {hasText: "does not answer"}).waitFor();
  await fresh.evaluate(() => { location.hash = "#go=choices"; });
});
