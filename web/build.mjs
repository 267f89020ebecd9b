// Builds the page: node build.mjs OUT-FOLDER. What the program embeds is in OUT-FOLDER afterwards, and nothing else:
// index.html, page-HASH.js, page-HASH.css, part-HASH.js for what is fetched when it is needed, sw.js,
// icon.svg, pattern-*.json, each beside its .gz where that is smaller.
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
  entryNames: "page-[hash]",
  chunkNames: "part-[hash]",
  bundle: true,
  splitting: true,
  minify: true,
  write: false,
  metafile: true,
  format: "esm",
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
// esbuild's names hold a sum of what is in the file and in those it asks for.
for (const file of made.outputFiles) put(path.basename(file.path), Buffer.from(file.contents));
const entry = (extension) => path.basename(made.outputFiles.find((f) => /page-\w+\.\w+$/.test(f.path) && f.path.endsWith(extension)).path);
const script = entry(".js");
const style = entry(".css");
// What the entry asks for at once is fetched beside it, not after it was read.
const outputs = made.metafile.outputs;
const atOnce = new Set();
const gather = (name) => outputs[name].imports.filter((i) => i.kind === "import-statement" && !atOnce.has(i.path))
  .forEach((i) => { atOnce.add(i.path); gather(i.path); });
gather(Object.keys(outputs).find((o) => path.basename(o) === script));
const links = [...atOnce].map((o) => `<link rel="modulepreload" href="/${path.basename(o)}">\n`).sort().join("");
const html = fs.readFileSync(path.join(here, "src", "index.html"), "utf8")
  .replace("page.js", script).replace("page.css", style).replace("<script", `${links}<script`);
put("index.html", Buffer.from(html));
// What opens the page without a network: the page, its style and all its parts.
const files = ["/", "/icon.svg", ...made.outputFiles.map((f) => "/" + path.basename(f.path))].sort();
const sum = createHash("sha256").update(html).update(files.join()).digest("hex").slice(0, 12);
put("sw.js", Buffer.from(fs.readFileSync(path.join(here, "src", "sw.js"), "utf8")
  .replace(/\$\{SUM\}/, sum).replace(/^/, `const FILES = ${JSON.stringify(files)};\n`)));
put("icon.svg", fs.readFileSync(path.join(here, "src", "icon.svg")));

// Instruments to begin with: the examples without what was read, found or planned of them.
for (const name of ["saxophone", "clarinet"]) {
  const document = JSON.parse(fs.readFileSync(path.join(here, "..", "examples", name + ".json"), "utf8"));
  for (const own of ["note", "serial", "works", "budget", "leak_reading"]) delete document[own];
  delete document.body?.bow;
  for (const key of document.keys) {
    for (const own of ["readings", "past", "note", "look"]) delete key[own];
    for (const end of [key.hinge.upper, key.hinge.lower]) {
      delete end?.screw?.stands_off;
      for (const moved of ["lean", "turn", "across"]) delete end?.post?.[moved];
    }
  }
  put(`pattern-${name}.json`, Buffer.from(JSON.stringify(document)));
}
