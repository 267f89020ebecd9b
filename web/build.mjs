// Builds the page: node build.mjs OUT-FOLDER. What the program embeds is in OUT-FOLDER afterwards, and nothing else:
// index.html, page-HASH.js, page-HASH.css, icon.svg, pattern-*.json, each beside its .gz where that is smaller.
import {createHash} from "node:crypto";
import fs from "node:fs";
import path from "node:path";
import {fileURLToPath} from "node:url";
import {gzipSync} from "node:zlib";
import {build} from "esbuild";

const here = path.dirname(fileURLToPath(import.meta.url));
const out = path.resolve(process.argv[2] ?? path.join(here, "..", "build", "page"));
fs.mkdirSync(out, {recursive: true});
for (const name of fs.readdirSync(out)) fs.rmSync(path.join(out, name));

const made = await build({
  absWorkingDir: here,
  entryPoints: {page: "src/main.tsx", style: "src/style.css"},
  outdir: out,
  bundle: true,
  minify: true,
  write: false,
  format: "iife",
  target: ["chrome94", "firefox93", "safari15"],
  charset: "utf8",
  legalComments: "none",
  logLevel: "warning",
  jsx: "automatic",
  jsxImportSource: "preact",
});

const put = (name, bytes) => {
  fs.writeFileSync(path.join(out, name), bytes);
  // Level and time stamp are fixed, so that equal sources give equal bytes.
  const small = gzipSync(bytes, {level: 9});
  small[9] = 255;  // RFC 1952: operating system not said
  if (small.length < bytes.length) fs.writeFileSync(path.join(out, name + ".gz"), small);
};
const hashed = (extension) => {
  const file = made.outputFiles.find((f) => f.path.endsWith(extension));
  const hash = createHash("sha256").update(file.contents).digest("hex").slice(0, 12);
  const name = `page-${hash}${extension}`;
  put(name, Buffer.from(file.contents));
  return name;
};
const script = hashed(".js");
const style = hashed(".css");
const html = fs.readFileSync(path.join(here, "src", "index.html"), "utf8")
  .replace("page.js", script).replace("page.css", style);
put("index.html", Buffer.from(html));
put("icon.svg", fs.readFileSync(path.join(here, "src", "icon.svg")));

// Instruments to begin with: the examples without what was read of them.
for (const name of ["saxophone", "clarinet"]) {
  const document = JSON.parse(fs.readFileSync(path.join(here, "..", "examples", name + ".json"), "utf8"));
  for (const key of document.keys) {
    delete key.readings;
    delete key.past;
  }
  put(`pattern-${name}.json`, Buffer.from(JSON.stringify(document)));
}
