// How fast the page answers on a slow device: node bench/page.mjs PROGRAM [SOURCE-FOLDER]
// Chromium with its processor slowed to a quarter. Printed, not judged: time to the first screen that can be used, also over
// a slow network; of a hundred figures typed the time until the frame with the moved strip was made (middle and 95th of 100),
// and how long the page's thread itself was at work for one of them, not slowed: that does not depend on what else the machine
// does.
import os from "node:os";
import path from "node:path";
import {pageBefore} from "../tools/page_before.mjs";

const program = path.resolve(process.argv[2] ?? "build/release/hingeline");
const {address, browser, run, end} = await pageBefore(program, path.resolve(process.argv[3] ?? "."));
try {
  const visit = /[0-9a-f-]{36}/.exec(run("book", "take-in", "examples/saxophone.json", "--owner", "Ada Example"))[0];
  const firstScreen = async (network) => {
    const took = [];
    for (let i = 0; i < 5; ++i) {
      // A context of its own: nothing is kept from the one before.
      const context = await browser.newContext({viewport: {width: 820, height: 1100}, serviceWorkers: "block"});
      const page = await context.newPage();
      const session = await context.newCDPSession(page);
      await session.send("Emulation.setCPUThrottlingRate", {rate: 4});
      if (network) await session.send("Network.emulateNetworkConditions", network);
      const began = Date.now();
      await page.goto(address);
      await page.locator(".tags a").first().waitFor();
      took.push(Date.now() - began);
      await context.close();
    }
    took.sort((a, b) => a - b);
    return `${took[2]} ms (middle of 5; ${took[0]} to ${took[4]})`;
  };
  const first = await firstScreen(null);
  const away = await firstScreen({offline: false, latency: 40, downloadThroughput: 2e6, uploadThroughput: 1e6});
  const context = await browser.newContext({viewport: {width: 820, height: 1100}, serviceWorkers: "block"});
  const page = await context.newPage();
  await page.goto(`${address}/#v=${visit}&k=low-c`);
  await page.locator(".strip .now").waitFor();
  await page.waitForFunction(() => !document.querySelector("main .waiting"));
  const session = await context.newCDPSession(page);
  const type = () => page.evaluate(async () => {
    const field = document.querySelector("#field-end_play");
    const frame = () => new Promise(requestAnimationFrame);
    // A task of its own comes after the frame whose callbacks have just run.
    const task = () => new Promise((done) => {
      const channel = new MessageChannel();
      channel.port1.onmessage = () => done();
      channel.port2.postMessage(0);
    });
    const out = [];
    for (let i = 0; i < 100; ++i) {
      const says = () => document.querySelector(".strip svg").getAttribute("aria-label");
      const before = says();
      const began = performance.now();
      field.value = (0.02 + i * 0.0013).toFixed(3);
      field.dispatchEvent(new InputEvent("input", {bubbles: true}));
      do await frame();
      while (says() === before && performance.now() - began < 5000);
      await task();
      out.push(performance.now() - began);
      await new Promise((done) => setTimeout(done, 10 + 7 * (i % 5))); // not in step with the frames
    }
    return out.sort((a, b) => a - b);
  });
  await session.send("Performance.enable", {timeDomain: "threadTicks"});
  const busy = async () => (await session.send("Performance.getMetrics")).metrics.find((m) => m.name === "TaskDuration").value;
  await type();
  const before = await busy();
  await type();
  const work = (await busy()) - before;
  await session.send("Emulation.setCPUThrottlingRate", {rate: 4});
  const took = await type();
  console.log(`processor slowed to a quarter; ${os.cpus().length} cores, ${os.cpus()[0]?.model ?? ""}`);
  console.log(`first screen: ${first}`);
  console.log(`the same over a network of 40 ms and 2 MB/s: ${away}`);
  console.log(`strip redrawn after a figure typed: ${took[50].toFixed(0)} ms (middle), ${took[95].toFixed(0)} ms (95th of 100)`);
  console.log(`work of the page's thread for one of them, not slowed: ${(work * 10).toFixed(1)} ms`);
} finally {
  await end();
}
