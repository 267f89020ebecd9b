import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import {test} from "node:test";
import ts from "typescript";
import {de} from "../../../web/src/words/de";
import {en} from "../../../web/src/words/en";

const catalogues = {en, de};

const source = process.env["HINGELINE_SOURCE"] ?? ".";
const web = path.join(source, "web", "src");

/** What stands between double quotes of a C++ array of names, joined where it goes over lines. */
function strings(text: string, array: string): string[] {
  const begin = text.indexOf(array);
  assert.ok(begin >= 0, array);
  const block = text.slice(begin, text.indexOf("};", begin));
  return [...block.matchAll(/((?:"(?:[^"\\]|\\.)*"\s*)+)/g)].map((m) => [...(m[1] ?? "").matchAll(/"((?:[^"\\]|\\.)*)"/g)].map((x) => x[1]).join(""));
}

test("both catalogues have the same keys, each with words, and the same places to fill", () => {
  const {en, de} = catalogues;
  assert.deepEqual(Object.keys(de).sort(), Object.keys(en).sort());
  const fills = (s: string) => [...new Set(s.match(/\{\w+\}/g) ?? [])].sort();
  for (const key of Object.keys(en) as (keyof typeof en)[]) {
    assert.ok(en[key].trim() && de[key].trim(), key);
    assert.deepEqual(fills(de[key]), fills(en[key]), key);
  }
});

test("German uses the trade's words", () => {
  const all = Object.values(catalogues.de).join(" ");
  for (const word of ["Böckchen", "Spitzschraube", "Achse", "Achsröhrchen", "Klappe", "Polster", "Axialspiel", "Senker", "Reibahle"])
    assert.ok(all.includes(word), word);
  for (const word of ["Pfosten", "Scharnier", "Taste ", "Kissen"]) assert.ok(!all.replace(/Taste \{key\}/g, "").includes(word), word);
});

test("every cause, check, cure and answer of the program has its words, and in English the program's own", () => {
  const text = fs.readFileSync(path.join(source, "libs", "belief", "src", "cause.cpp"), "utf8");
  const en = catalogues.en as Record<string, string>;
  for (const [array, group] of [["kCauses{", "cause"], ["kChecks{", "check"], ["kCures{", "cure"]] as const) {
    const found = strings(text, array);
    assert.ok(found.length > 20 && found.length % 2 === 0, array);
    for (let i = 0; i < found.length; i += 2) assert.equal(en[`${group}.${found[i + 1]}`], found[i], `${group}.${found[i + 1]}`);
  }
  const codes = strings(text, "kChecks{").filter((_, i) => i % 2 === 1);
  strings(text, "kHow{").forEach((how, i) => assert.equal(en[`how.${codes[i]}`], how, codes[i]));
  const answers = text.slice(text.indexOf("& answers(Check c)"), text.indexOf("is_reading(c)) return none"));
  for (const m of answers.matchAll(/"([^"]+)"/g)) assert.ok(en[`answer.${m[1]}`], m[1]);
});

/** The literals an expression may come to. */
function shown(e: ts.Expression): string[] {
  if (ts.isStringLiteralLike(e)) return [e.text];
  if (ts.isTemplateExpression(e)) return [e.head.text, ...e.templateSpans.map((s) => s.literal.text)];
  if (ts.isParenthesizedExpression(e)) return shown(e.expression);
  if (ts.isConditionalExpression(e)) return [...shown(e.whenTrue), ...shown(e.whenFalse)];
  if (ts.isBinaryExpression(e)) {
    const compares = [ts.SyntaxKind.EqualsEqualsEqualsToken, ts.SyntaxKind.ExclamationEqualsEqualsToken].includes(e.operatorToken.kind);
    return compares ? [] : [...shown(e.left), ...shown(e.right)];
  }
  return [];
}

test("no word is in the catalogue that the page never says", () => {
  let all = "";
  for (const folder of ["screens", "parts", "drawing", "outbox", "api", "live", "visit", "shop", "."])
    for (const file of fs.readdirSync(path.join(web, folder)).filter((f) => /\.tsx?$/.test(f))) all += fs.readFileSync(path.join(web, folder, file), "utf8");
  const groups = [...all.matchAll(/(?:ofCode\("|`)([a-z-]+)(?:"|\.\$)/g)].map((m) => m[1]);
  // The form for one of a thing is said with the form for many.
  const idle = Object.keys(catalogues.en).map((k) => k.replace(/-1$/, "")).filter((k) => !all.includes(`"${k}"`) && !groups.includes(k.split(".")[0]));
  assert.deepEqual(idle, []);
});

test("no words stand in the screens themselves", () => {
  const said = new Set(["aria-label", "title", "alt", "placeholder", "label", "aria-description", "aria-roledescription"]);
  const bad: string[] = [];
  for (const folder of ["screens", "parts", "drawing", "visit", "shop", "."])
    for (const file of fs.readdirSync(path.join(web, folder)).filter((f) => f.endsWith(".tsx"))) {
      const tree = ts.createSourceFile(file, fs.readFileSync(path.join(web, folder, file), "utf8"), ts.ScriptTarget.Latest, true, ts.ScriptKind.TSX);
      const words = (s: string) => /\p{L}{2}/u.test(s);
      const look = (node: ts.Node): void => {
        if (ts.isJsxText(node) && words(node.text)) bad.push(`${file}: ${node.text.trim()}`);
        if (ts.isJsxAttribute(node) && said.has(node.name.getText()) && node.initializer && ts.isStringLiteral(node.initializer)) bad.push(`${file}: ${node.getText()}`);
        if (ts.isJsxExpression(node) && node.expression && (!ts.isJsxAttribute(node.parent) || said.has(node.parent.name.getText())))
          for (const literal of shown(node.expression)) if (words(literal)) bad.push(`${file}: ${node.getText()}`);
        ts.forEachChild(node, look);
      };
      look(tree);
    }
  assert.deepEqual(bad, []);
});
