// A fresh book served, and a browser before it: for pictures and for figures of the page.
import {execFileSync, spawn} from "node:child_process";
import fs from "node:fs";
import {createRequire} from "node:module";
import os from "node:os";
import path from "node:path";

/** Serves a new book that has the example shop. `run` runs the program with words; `end` ends all of it. */
export async function pageBefore(program, source) {
  const {chromium} = createRequire(path.join(source, "web", "package.json"))("playwright-core");
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), "hingeline-page-"));
  const book = path.join(folder, "book.db");
  const run = (...words) => execFileSync(program, [...words, "--book", book], {cwd: source, encoding: "utf8"});
  run("book", "put-shop", "examples/shop.json");
  const server = spawn(program, ["serve", "--book", book, "--listen", "127.0.0.1:0", "--quiet"], {stdio: ["ignore", "pipe", "pipe"]});
  const address = await new Promise((resolve, reject) => {
    const hear = (piece) => {
      const m = /http:\/\/127\.0\.0\.1:\d+/.exec(String(piece));
      if (m) resolve(m[0]);
    };
    server.stdout.on("data", hear);
    server.stderr.on("data", hear);
    server.on("exit", (code) => reject(new Error(`the server ended with ${code}`)));
  });
  const browser = await chromium.launch({executablePath: "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"]});
  const end = async () => {
    await browser.close();
    server.removeAllListeners("exit");
    server.kill("SIGKILL");
    fs.rmSync(folder, {recursive: true, force: true});
  };
  return {address, browser, run, end};
}
