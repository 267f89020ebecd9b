import assert from "node:assert/strict";
import {test} from "node:test";
import {Strip, layOut, niceAtMost} from "../../../web/src/drawing/layout";

const key: Strip = {
  span: 31.3, keyLength: 31, gapUpper: 0.114, gapLower: 0.134, play: 0.052, playDoubt: 0.006, low: 0.023, high: 0.033,
  after: 0.028, cutUpper: 0.024, cutLower: 0, padStation: 16, toneHole: 16, padGap: 0.01,
};

test("strip and lenses are to scale", () => {
  for (const width of [280, 360, 820, 1600]) {
    const l = layOut(key, width, 80);
    assert.ok(Math.abs((l.lowerFace - l.upperFace) / l.scale - key.span) < 1e-9);
    assert.ok(Math.abs((l.keyTo - l.keyFrom) / l.scale - key.keyLength) < 1e-9);
    // By definition: a lens shows a gap as long as the strip does, times its factor.
    assert.ok(Math.abs(l.lens.upper.home / (l.scale * l.factor) - key.gapUpper) < 1e-12);
    assert.ok(Math.abs((l.lens.lower.away - l.lens.lower.home) / (l.scale * l.factor) - key.play) < 1e-12);
    assert.ok(Math.abs(l.lens.upper.cut / (l.scale * l.factor) - key.cutUpper) < 1e-12);
    assert.ok(l.lens.upper.away <= 80 && l.lens.lower.away <= 80);
    assert.ok(l.upperFace > 0 && l.lowerFace < width);
  }
});

test("a key never stands beyond a post, and one that binds still shows its end play", () => {
  for (const [gap, play] of [[5, 0.05], [0, -0.2], [-1, 0.01]] as const) {
    const l = layOut({...key, gapUpper: gap, play}, 800, 80);
    assert.ok(l.keyFrom >= l.upperFace - 1e-9 && l.keyTo <= l.lowerFace + 1e-9);
    assert.ok(l.gauge.from <= play && play <= l.gauge.to);
    assert.equal(l.lens.upper.away >= l.lens.upper.home, true);
  }
});

test("steps of a scale are 1, 2 or 5 times a power of ten", () => {
  for (let x = 1e-4; x < 1e4; x *= 1.37) {
    const n = niceAtMost(x);
    assert.ok(n <= x * (1 + 1e-9) && n > x / 2.5001, `${x}: ${n}`);
    assert.match((n / 10 ** Math.floor(Math.log10(n) + 1e-9)).toFixed(6), /^[125]\.000000$/);
  }
});
