// Bundles the tests of the page's parts and runs them in Node: node unit.mjs SOURCE-FOLDER OUT-FOLDER
import {spawnSync} from "node:child_process";
import fs from "node:fs";
import {createRequire} from "node:module";
import path from "node:path";

const [source, out] = process.argv.slice(2).map((p) => path.resolve(p));
const web = path.join(source, "web");
const {buildSync} = createRequire(path.join(web, "package.json"))("esbuild");
const folder = path.join(source, "tests", "page", "unit");
const names = fs.readdirSync(folder).filter((n) => n.endsWith(".test.ts"));
buildSync({
  entryPoints: names.map((n) => path.join(folder, n)),
  outdir: out, outExtension: {".js": ".cjs"}, bundle: true, platform: "node", format: "cjs", target: "node18",
  nodePaths: [path.join(web, "node_modules")], logLevel: "warning",
});
const ran = spawnSync(process.execPath, ["--test", ...names.map((n) => path.join(out, n.replace(/\.ts$/, ".cjs")))],
  {stdio: "inherit", env: {...process.env, HINGELINE_SOURCE: source}});
process.exit(ran.status ?? 1);
