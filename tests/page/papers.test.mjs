// Papers of a whole day on the page: made with a bar that says how far, opened, and none where none is promised.
import {browser, check, exampleBook, noSidewaysScroll, open, picture, run, same, serve, test} from "./support.mjs";

await test(async () => {
  const {book} = exampleBook();
  const day = "2026-12-01";
  for (const owner of ["Cy Example", "\u05e9\u05dc\u05d5\u05dd Example"])
    run("book", "take-in", "examples/saxophone.json", "--owner", owner, "--complaint", "rattles", "--promised", day, "--book", book);
  const server = await serve(book);
  const page = await open(await browser(), server.address, {width: 360});
  const panel = page.locator(".panel", {hasText: "Papers of a whole day"});
  await panel.locator("input[type=date]").fill(day);
  await panel.getByRole("button", {name: "Make them"}).click();
  const link = panel.getByRole("link", {name: "Open 2 pages to print"});
  await link.waitFor();
  await noSidewaysScroll(page, "the day with its papers");
  await picture(page, "papers-of-a-day");
  const file = await page.evaluate(async (at) => {
    const answer = await fetch(at);
    return [answer.status, answer.headers.get("content-type"), (await answer.text()).slice(0, 5)];
  }, await link.getAttribute("href"));
  same(file, [200, "application/pdf", "%PDF-"], "the file behind the link");

  // While it is made the bar says how far, and it can be stopped: the answer is held back for that.
  let letGo = () => undefined;
  const held = new Promise((resolve) => { letGo = resolve; });
  await page.route("**/api/papers/tag?*", async (route) => { await held; await route.abort(); });
  await page.route("**/api/papers/runs/*", (route) => route.request().method() === "GET"
    ? route.fulfill({json: {done: 3, all: 12, ended: false, left_out: []}}) : route.continue());
  await panel.locator("select").selectOption("tag");
  await panel.getByRole("button", {name: "Make them"}).click();
  await panel.getByText("3 of 12 made").waitFor();
  same(await panel.locator("progress").evaluate((e) => [e.value, e.max]), [3, 12], "the bar");
  check(await panel.getByRole("button", {name: "Make them"}).isDisabled(), "not twice at once");
  await panel.getByRole("button", {name: "Stop"}).click();
  await panel.locator("progress").waitFor({state: "detached"});
  check(await panel.locator(".trouble").count() === 0, "stopping is no trouble");
  letGo();
  await page.unrouteAll({behavior: "ignoreErrors"});

  await panel.locator("input[type=date]").fill("2031-01-01");
  await panel.getByRole("button", {name: "Make them"}).click();
  await panel.getByText("No instrument that is still here").waitFor();
  same(page.faults, [], "faults of the page");
});
