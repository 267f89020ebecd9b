import assert from "node:assert/strict";
import {test} from "node:test";
import {beforeMetal} from "../../../web/src/parts/gate";
import {link, ofTag, read} from "../../../web/src/route";
import {placesFor} from "../../../web/src/units/units";

const visit = "01a21a4a-794b-7184-81b2-00ccc2f67454";

test("a tag's link leads to its instrument, whatever stands before it; nothing else is a tag", () => {
  for (const text of [`https://shop.example/#/visit/${visit}`, `#/tag/${visit}`, `/visit/${visit.toUpperCase()}`, ` ${visit} `]) assert.equal(ofTag(text), visit, text);
  for (const text of ["", "nonsense", `https://shop.example/#v=${visit}`, `${visit}0`, "#/visit/1"]) assert.equal(ofTag(text), null, text);
  assert.deepEqual(read(`#/visit/${visit}`), read(`#v=${visit}`));
  assert.equal(read(`#/tag/${visit}`).at, "visit");
});

test("every place leads back to itself", () => {
  for (const hash of ["", `v=${visit}`, `v=${visit}&k=low-c`, `v=${visit}&k=low-c&s=work`, `v=${visit}&p=leak`, "go=shop", "go=shop&p=rig", "go=take-in", "go=choices"])
    assert.equal(link(read(`#${hash}`)), `#${hash}`);
  assert.equal(read(`#v=${visit}&p=nothing`).at, "visit");
  assert.equal(read("#go=shop&p=leak").part, "");
});

test("nothing is cut while something cheaper is to be looked at or stands", () => {
  const bent = {cause: "bent-body", share: 0.97, checks: []};
  const dirt = {cause: "dirt", share: 0.001, checks: ["clean"]};
  const look = {what: "look", check: "sticks"};
  assert.deepEqual(beforeMetal(0.1, look, [dirt, bent]), {cause: "bent-body", share: 0.97, check: "sticks"});
  assert.deepEqual(beforeMetal(0.1, null, [dirt, bent]), {cause: "bent-body", share: 0.97, check: "clean"});
  assert.deepEqual(beforeMetal(0.1, {what: "cure"}, [bent]), {cause: "bent-body", share: 0.97, check: undefined});
  // No metal, nothing left before it, or the guide is cutting already.
  assert.equal(beforeMetal(0, look, [bent]), null);
  assert.equal(beforeMetal(0.1, look, []), null);
  assert.equal(beforeMetal(0.1, {what: "bite"}, [dirt]), null);
});

test("a figure has two digits of its doubt", () => {
  assert.deepEqual([placesFor(52.43, 5.85), placesFor(137, 110), placesFor(2.86, 0.8), placesFor(0.3, 0.002), placesFor(0, 0)], [1, 0, 2, 4, 0]);
});
