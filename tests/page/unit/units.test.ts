import assert from "node:assert/strict";
import {test} from "node:test";
import {Choices, first, paperOf} from "../../../web/src/units/choices";
import {bareLength, forBook, readLength, showFigure, showLength, showNumber, today} from "../../../web/src/units/units";

const by = (some: Partial<Choices>): Choices => ({...first("en"), ...some});

test("a length is read as the book reads it", () => {
  // The same texts and values as tests/base/reading_test.cpp; 25.4 mm to the inch: NIST SP 811, B.6.
  const cases: [string, "mm" | "in" | "thou", number][] = [
    ["4.00", "mm", 4], ["4,02", "mm", 4.02], ["4.00 mm", "in", 4], ["0.1575 in", "mm", 4.0005], [".1575\"", "mm", 4.0005],
    ["157 thou", "mm", 3.9878], ["5/32\"", "mm", 3.96875], ["1 5/32 in", "mm", 29.36875], ["40 um", "mm", 0.04], ["40 µm", "mm", 0.04],
    ["0.002", "in", 0.0508], ["2", "thou", 0.0508], ["-0.035", "mm", -0.035], ["\u22120.035", "mm", -0.035], ["1,234", "mm", 1.234],
  ];
  for (const [text, unit, mm] of cases) {
    const read = readLength(text, unit);
    assert.ok(read !== null, text);
    assert.ok(Math.abs(read.mm - mm) < 1e-12, `${text}: ${read.mm}`);
  }
  const doubt = readLength("0.085 ± 0.004 mm", "mm");
  assert.equal(doubt?.plusMinus, 0.004);
});

test("what is no length is none", () => {
  for (const text of ["", "abc", "1,234.5", "1'000", "1 000", "4 cm", "4 m", "--4", "4 ± 1 ± 1", "1/0\"", "0x10", "NaN", "1e999", "4 ± -1"])
    assert.equal(readLength(text, "mm"), null, text);
});

test("a bare value goes to the book with the chosen unit, any other as typed", () => {
  assert.equal(forBook("0.002", "in"), "0.002 in");
  assert.equal(forBook(" 0,052 ", "mm"), "0,052 mm");
  assert.equal(forBook("0.052 ± 0.006", "mm"), "0.052 mm ± 0.006");
  assert.equal(forBook("0.1575in", "mm"), "0.1575in");
  assert.equal(forBook("nonsense", "mm"), "nonsense");
});

test("a length is shown in the chosen unit and sign", () => {
  assert.equal(showLength(0.052, by({})), "0.052\u00a0mm");
  assert.equal(showLength(0.052, by({comma: true})), "0,052\u00a0mm");
  assert.equal(showLength(0.0508, by({unit: "in"})), "0.0020\u00a0in");
  assert.equal(showLength(0.0508, by({unit: "thou"})), "2.0\u00a0thou");
  assert.equal(bareLength(-0.035, by({})), "\u22120.035");
  assert.equal(bareLength(-0.0001, by({})), "0.000");
  assert.equal(showFigure({value: 0.1, plus_minus: 0.01, low: 0.03, high: 0.21, range: true}, "to", by({})), "0.030 to 0.210\u00a0mm");
  assert.equal(showNumber(1234.5, 1, by({comma: true})), "1234,5");
});

test("reading what is shown gives the length back, in every unit", () => {
  for (const unit of ["mm", "in", "thou"] as const)
    for (const comma of [false, true])
      for (let mm = -0.2; mm <= 5; mm += 0.037) {
        const back = readLength(showLength(mm, by({unit, comma})), "mm");
        // Half of the last decimal shown: 0.0005 mm; 0.00005 in = 0.00127 mm; 0.05 thou the same.
        assert.ok(back && Math.abs(back.mm - mm) <= (unit === "mm" ? 0.000501 : 0.00128), `${mm} ${unit}`);
      }
});

test("today is that of the chosen zone", () => {
  const now = new Date("2026-11-26T23:30:00Z");
  assert.equal(today(by({zone: "UTC"}), now), "2026-11-26");
  assert.equal(today(by({zone: "No/Where"}), now), today(by({zone: "device"}), now));
  assert.equal(today(by({zone: "Asia/Tokyo"}), now), "2026-11-27"); // UTC+9 the year round: IANA time zone data
  assert.equal(today(by({zone: "America/New_York"}), now), "2026-11-26");
});

test("a device begins as its language does", () => {
  assert.deepEqual([first("de-AT").language, first("de-AT").comma, paperOf(first("de-AT"), "de-AT")], ["de", true, "A4"]);
  assert.deepEqual([first("en-US").language, first("en-US").comma, paperOf(first("en-US"), "en-US")], ["en", false, "Letter"]);
});
