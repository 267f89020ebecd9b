// What is read, written and read again is the same document.

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <bit>
#include <cmath>

#include "support.h"

namespace hingeline::record {
namespace {

using samples::Json;
using samples::shown;

/// Reads, writes, reads: says what is wrong, empty when nothing is.
std::string trip_of_instrument(const std::string& text) {
  const auto first = read_instrument(text, "d.json");
  if (!first) return "refused:\n" + shown(first.error());
  const std::string written = write_instrument(*first);
  const auto second = read_instrument(written, "d.json");
  if (!second) return "refused once written:\n" + shown(second.error()) + written;
  if (*first != *second) return "changed by writing:\n" + written;
  if (write_instrument(*second) != written) return "writing is no fixed point:\n" + written;
  return {};
}
std::string trip_of_shop(const std::string& text) {
  const auto first = read_shop(text, "d.json");
  if (!first) return "refused:\n" + shown(first.error());
  const std::string written = write_shop(*first);
  const auto second = read_shop(written, "d.json");
  if (!second) return "refused once written:\n" + shown(second.error()) + written;
  if (*first != *second) return "changed by writing:\n" + written;
  if (write_shop(*second) != written) return "writing is no fixed point:\n" + written;
  return {};
}

std::string trip_of_ledger(const std::string& text) {
  const auto first = read_ledger(text, "d.json");
  if (!first) return "refused:\n" + shown(first.error());
  const std::string written = write_ledger(*first);
  const auto second = read_ledger(written, "d.json");
  if (!second) return "refused once written:\n" + shown(second.error()) + written;
  if (*first != *second) return "changed by writing:\n" + written;
  if (write_ledger(*second) != written) return "writing is no fixed point:\n" + written;
  return {};
}
std::string trip_of_rig(const std::string& text) {
  const auto first = read_rig(text, "d.json");
  if (!first) return "refused:\n" + shown(first.error());
  const std::string written = write_rig(*first);
  const auto second = read_rig(written, "d.json");
  if (!second) return "refused once written:\n" + shown(second.error()) + written;
  if (*first != *second) return "changed by writing:\n" + written;
  if (write_rig(*second) != written) return "writing is no fixed point:\n" + written;
  return {};
}

TEST(RoundTrip, FullAndSmallDocuments) {
  EXPECT_EQ(trip_of_ledger(samples::full_ledger()), "");
  EXPECT_EQ(trip_of_ledger(samples::small_ledger()), "");
  EXPECT_EQ(trip_of_rig(samples::full_rig()), "");
  EXPECT_EQ(trip_of_rig(samples::small_rig()), "");
  EXPECT_EQ(trip_of_instrument(samples::full_instrument()), "");
  EXPECT_EQ(trip_of_instrument(samples::small_instrument()), "");
  EXPECT_EQ(trip_of_shop(samples::full_shop()), "");
  EXPECT_EQ(trip_of_shop(samples::small_shop()), "");
}

RC_GTEST_PROP(RoundTrip, AnyInstrument, (std::uint64_t seed)) {
  const std::string text = samples::made_instrument(seed).dump(1);
  const std::string fault = trip_of_instrument(text);
  if (!fault.empty()) RC_FAIL(fault + "\nfrom\n" + text);
}

RC_GTEST_PROP(RoundTrip, AnyShop, (std::uint64_t seed)) {
  const std::string text = samples::made_shop(seed).dump(1);
  const std::string fault = trip_of_shop(text);
  if (!fault.empty()) RC_FAIL(fault + "\nfrom\n" + text);
}

RC_GTEST_PROP(RoundTrip, AnyLedger, (std::uint64_t seed)) {
  const std::string text = samples::made_ledger(seed).dump(1);
  const std::string fault = trip_of_ledger(text);
  if (!fault.empty()) RC_FAIL(fault + "\nfrom\n" + text);
}

RC_GTEST_PROP(RoundTrip, AnyRig, (std::uint64_t seed)) {
  const std::string text = samples::made_rig(seed).dump(1);
  const std::string fault = trip_of_rig(text);
  if (!fault.empty()) RC_FAIL(fault + "\nfrom\n" + text);
}

/// A document with this text in the span's place.
std::string with_span(const std::string& entry) {
  std::string text = samples::small_instrument();
  const std::string old = "\"30.1 mm\"";
  return text.replace(text.find(old), old.size(), entry);
}

/// A length of any size keeps all its bits, in mm and in inch, even where no one would have typed it.
RC_GTEST_PROP(RoundTrip, AnyLengthKeepsItsBits, (std::uint64_t bits, bool inch, bool thousandths)) {
  // Exponents from 2^-30 mm to 2^13 mm, any digits behind.
  const double value =
      std::ldexp(1.0 + static_cast<double>(bits >> 12) * 0x1p-52, static_cast<int>(bits % 43) - 30);
  auto document = read_instrument(samples::small_instrument(), "d.json");
  RC_ASSERT(document.has_value());
  LengthEntry& length = document->keys[0].hinge.upper.post.room_behind;
  length.present = true;
  length.origin = Origin::read;
  length.value = millimetres(value);
  length.unit = inch ? thousandths ? "thou" : "in" : thousandths ? "um" : "mm";
  const auto again = read_instrument(write_instrument(*document), "d.json");
  if (!again) RC_FAIL(shown(again.error()));
  const LengthEntry& back = again->keys[0].hinge.upper.post.room_behind;
  RC_ASSERT(std::bit_cast<std::uint64_t>(back.value.raw()) == std::bit_cast<std::uint64_t>(value));
  RC_ASSERT(back.unit == length.unit);
}

/// What a program puts into a document that no document may hold is refused, not changed.
TEST(RoundTrip, ImpossibleValuesAreNotChangedInSilence) {
  const auto read = read_instrument(samples::small_instrument(), "d.json");
  ASSERT_TRUE(read);
  for (const double value : {20000.0, -1.0, 1e-20, 1e300, std::nan(""), HUGE_VAL}) {
    for (const char* unit : {"mm", "in"}) {
      Instrument changed = *read;
      changed.keys[0].hinge.span.value = millimetres(value);
      changed.keys[0].hinge.span.unit = unit;
      EXPECT_FALSE(read_instrument(write_instrument(changed), "d.json")) << value << unit;
      changed = *read;
      changed.keys[0].hinge.span.plus_minus = millimetres(value);
      EXPECT_FALSE(read_instrument(write_instrument(changed), "d.json")) << "± " << value << unit;
    }
  }
}

TEST(RoundTrip, NumbersInTextTakeTheirOwnUnit) {
  Json document = Json::parse(samples::small_instrument());
  document["units"] = "inch";
  document["keys"][0]["hinge"]["span"] = {{"value", "3.01e1"}, {"unit", "mm"}};
  const auto read = read_instrument(document.dump(), "d.json");
  ASSERT_TRUE(read) << shown(read.error());
  EXPECT_EQ(read->keys[0].hinge.span.value, millimetres(30.1));
}

TEST(RoundTrip, InchAndMillimetreAreTheSameLength) {
  const auto inch = read_instrument(with_span("\"1.1875 in\""), "d.json");
  const auto mm = read_instrument(with_span("\"30.1625 mm\""), "d.json");
  const auto fraction = read_instrument(with_span("\"1 3/16\\\"\""), "d.json");
  ASSERT_TRUE(inch && mm && fraction);
  EXPECT_EQ(inch->keys[0].hinge.span.value, mm->keys[0].hinge.span.value);
  EXPECT_EQ(inch->keys[0].hinge.span.value, fraction->keys[0].hinge.span.value);
  EXPECT_NE(*inch, *mm) << "the unit typed is part of what a document says";
}

TEST(RoundTrip, FormsOfOneEntry) {
  for (const char* entry :
       {R"("?")", R"({"origin": "unknown"})", R"({"origin": "unknown", "unit": "mm"})",
        R"({"origin": "unknown", "meaning": "lost"})",
        R"({"origin": "unknown", "between": ["1.2 in", "31 mm"]})",
        R"({"origin": "unknown", "between": [30.1, 30.1], "unit": "mm"})",
        R"({"repeats": [30.1, 30.2, 30.2], "unit": "mm"})", R"({"repeats": ["30.1 mm"]})",
        R"({"value": "30.1 mm", "plus_minus": "0.001 in"})",
        R"({"value": 30.1, "unit": "mm", "plus_minus": 0})", R"({"value": 3.01e1, "unit": "mm"})",
        R"({"value": "1 3/16", "unit": "in", "with": "caliper", "origin": "pattern", "meaning": "m"})",
        R"("30.1 ± 0.02 mm")", R"("30.1 mm ± 20 um")", R"("1 3/16 in ± 1/64")",
        R"("30.123456789012345678 mm ± 0.00123456789012345678")"}) {
    const std::string text = with_span(entry);
    const bool refused = std::string(entry).find("1.2 in") != std::string::npos;
    if (refused) {
      EXPECT_FALSE(samples::errors_of(Format::instrument, text).empty())
          << entry << ": two units in one range";
    } else {
      EXPECT_EQ(trip_of_instrument(text), "") << entry;
    }
  }
}

TEST(Threads, NumberedInchSizesAreExact) {
  struct Row {
    const char* thread;
    const char* major;
    const char* pitch;
  };
  // Major diameter 0.060 in + 0.013 in times the number (ASME B1.1); pitch one inch over the threads an inch.
  for (const Row& row : {Row{"0-80", "0.060 in", "0.3175 mm"}, Row{"2-56", "0.086 in", "1/56 in"},
                         Row{"4-40", "2.8448 mm", "0.635 mm"}, Row{"12-24", "0.216 in", "1/24 in"},
                         Row{"M2.5x0.45", "2.5 mm", "0.45 mm"}}) {
    Json document = Json::parse(samples::small_instrument());
    document["keys"][0]["hinge"]["upper"]["screw"]["thread"] = row.thread;
    const auto read = read_instrument(document.dump(), "d.json");
    ASSERT_TRUE(read) << shown(read.error());
    const Thread& thread = read->keys[0].hinge.upper.screw.thread;
    EXPECT_EQ(thread.text, row.thread);
    EXPECT_EQ(thread.major.value, parse_length(row.major, LengthUnit::mm, Sign::positive)->value)
        << row.thread;
    EXPECT_EQ(thread.pitch.value, parse_length(row.pitch, LengthUnit::mm, Sign::positive)->value)
        << row.thread;
  }
}

TEST(RoundTrip, BareLengthsTakeTheDocumentsUnit) {
  const auto read = read_instrument(samples::full_instrument(), "d.json");
  ASSERT_TRUE(read) << shown(read.error());
  // "1.4" in a document whose units are inch.
  EXPECT_EQ(read->keys[0].hinge.upper.screw.head_height.value, millimetres(35.56));
  EXPECT_EQ(read->keys[0].hinge.upper.screw.head_height.unit, "in");
}

}  // namespace
}  // namespace hingeline::record
