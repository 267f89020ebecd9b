// Every screen at three widths, light and dark: nothing wider than the page, nothing to touch smaller than 44 px (WCAG
// 2.5.5), no violation that axe-core finds, nothing that jumps while it comes, and no motion where less is asked for.
// Pictures of all of them are left for looking at.
import {axeSource, browser, check, exampleBook, jumps, noSidewaysScroll, open, picture, same, serve, settled, test} from "./support.mjs";

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
      await settled(page, `${name} at ${width}`);
      await noSidewaysScroll(page, `${name} at ${width}`);
      faults.push(...await jumps(page, `${name} at ${width}`));
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

  // The next instruction comes without a touch of this bench: nothing that stays on the screen moves.
  const at = `${server.address}/api/visits/${sax}/lead/palm-e-flat`;
  const work = await open(context, `${server.address}/#v=${sax}&k=palm-e-flat&s=work`, {width: 820});
  const answers = new Set();
  for (let told = 0; told < 4; ++told) {
    await work.locator(`[data-told="${told}"]`).waitFor();
    faults.push(...await jumps(work, `instruction ${told}`));
    answers.add(await work.evaluate(() => Math.round(document.querySelector(".answers").getBoundingClientRect().y)));
    const led = await (await fetch(at)).json();
    const id = `${Date.now().toString(16).padStart(12, "0").replace(/^(.{8})/, "$1-")}-7000-8000-00000000000${told}`;
    await fetch(at, {method: "POST", headers: {"content-type": "application/json"}, body: JSON.stringify({id, seen: led.as_of,
      typed: led.state.next.what !== "look" ? "done" : led.state.next.answers?.length ? led.state.next.answers[0] : "0.12 mm"})});
  }
  await work.locator('[data-told="4"]').waitFor();
  faults.push(...await jumps(work, "the last instruction"));
  same(answers.size, 1, "places of the answers: a hand finds them where they were");

  // Who asks the device for less motion gets none: not from the page's style, and not where something else would move.
  const moving = () => work.evaluate(() => {
    const probe = document.body.appendChild(document.createElement("div"));
    probe.style.transition = "opacity 2s";
    void probe.offsetWidth;
    probe.style.opacity = "0.5";
    const seconds = (list) => Math.max(...list.split(",").map((x) => parseFloat(x)));
    const long = [...document.querySelectorAll("*")].flatMap((e) => [null, "::before", "::after"].map((part) => getComputedStyle(e, part)))
      .filter((s) => seconds(s.transitionDuration) > 0.01 || (s.animationName !== "none" && seconds(s.animationDuration) > 0.01) || s.scrollBehavior === "smooth").length;
    const running = document.getAnimations().length;
    probe.remove();
    return {long, running};
  });
  same(await moving(), {long: 1, running: 1}, "what moves when nobody asked for less: what this test put there, and nothing else");
  await work.emulateMedia({reducedMotion: "reduce"});
  same(await moving(), {long: 0, running: 0}, "what moves when less motion is asked for");
  check(faults.length === 0, `all screens are well:\n${faults.join("\n")}`);
});
