// The demonstration documents that come with the program.

#include <gtest/gtest.h>

#include <set>
#include <string>

#include "support.h"

namespace hingeline::record {
namespace {

using samples::file_text;
using samples::shown;

Instrument instrument(const std::string& name) {
  const auto read = read_instrument(file_text("examples/" + name), name);
  EXPECT_TRUE(read) << shown(read.error());
  return read.value_or(Instrument{});
}

Shop shop() {
  const auto read = read_shop(file_text("examples/shop.json"), "shop.json");
  EXPECT_TRUE(read) << shown(read.error());
  return read.value_or(Shop{});
}

TEST(Demo, ReadsWithoutAProblem) {
  EXPECT_FALSE(instrument("saxophone.json").keys.empty());
  EXPECT_FALSE(instrument("clarinet.json").keys.empty());
  EXPECT_FALSE(shop().patterns.empty());
}

TEST(Demo, SaxophoneIsLargeEnough) {
  const Instrument sax = instrument("saxophone.json");
  EXPECT_GE(sax.keys.size(), 22u);
  EXPECT_GE(2 * sax.keys.size(), 40u) << "two joints a key";
}

const Pattern* pattern_of(const Shop& shop, const Screw& screw) {
  for (const Pattern& pattern : shop.patterns) {
    if (pattern.name == screw.pattern.text) return &pattern;
  }
  return nullptr;
}

TEST(Demo, EveryNameIsInTheShop) {
  const Shop in = shop();
  std::set<std::string> instruments;
  for (const Measuring& one : in.measuring) instruments.insert(one.name);
  for (const char* name : {"saxophone.json", "clarinet.json"}) {
    for (const Key& key : instrument(name).keys) {
      for (const End* end : {&key.hinge.upper, &key.hinge.lower}) {
        if (!end->screw.pattern.empty()) {
          EXPECT_NE(pattern_of(in, end->screw), nullptr) << key.id << ": " << end->screw.pattern.text;
        }
        if (!end->screw.protrusion.with.empty()) {
          EXPECT_TRUE(instruments.contains(end->screw.protrusion.with)) << key.id;
        }
      }
      if (!key.readings.end_play.with.empty()) {
        EXPECT_TRUE(instruments.contains(key.readings.end_play.with)) << key.id;
      }
    }
  }
}

TEST(Demo, ShowsEveryKindOfKey) {
  const Shop in = shop();
  std::set<std::string> seen;
  for (const char* name : {"saxophone.json", "clarinet.json"}) {
    for (const Key& key : instrument(name).keys) {
      const Hinge& h = key.hinge;
      if (h.kind == HingeKind::rod) {
        seen.insert("rod");
        continue;
      }
      const LengthEntry& play = key.readings.end_play;
      if (play.known()) {
        // Common practice: some hundredths are loose, anything below nothing binds.
        if (play.value < Length{}) seen.insert("binding");
        if (play.value > millimetres(0.05)) seen.insert("loose");
        if (play.value >= millimetres(0.005) && play.value <= millimetres(0.03)) seen.insert("sound");
      } else {
        seen.insert("reading missing");
      }
      if (h.span.unit == "mm") seen.insert("mm");
      if (h.span.unit == "in" || h.span.unit == "thou") seen.insert("inch");
      for (const LengthEntry* entry :
           {&h.span, &h.key_length, &h.upper.screw.protrusion, &h.lower.screw.protrusion}) {
        if (entry->said_unknown()) seen.insert("unknown");
      }
      for (const End* end : {&h.upper, &h.lower}) {
        const Pattern* pattern = pattern_of(in, end->screw);
        const auto head = end->screw.head ? end->screw.head : pattern ? pattern->screw.head : std::nullopt;
        if (head) seen.insert(word(*head));
        const auto hole = end->hole.shape ? end->hole.shape : pattern ? pattern->hole.shape : std::nullopt;
        if (hole == HoleShape::straight || hole == HoleShape::drilled) seen.insert("straight-holed");
        if (hole == HoleShape::bell) seen.insert("bell-mouthed");
        const AngleEntry& flank = !end->screw.point.half_angle.absent() || pattern == nullptr
                                      ? end->screw.point.half_angle
                                      : pattern->screw.point.half_angle;
        if (flank.known() && end->hole.half_angle.known() &&
            abs(flank.value - end->hole.half_angle.value) > degrees(1.5)) {
          seen.insert("mismatched");
        }
        const LengthEntry& depth = end->hole.depth;
        if (depth.known() && end->screw.protrusion.known() && end->screw.protrusion.value > depth.value)
          seen.insert("tip-bottoming");
      }
    }
  }
  for (const char* kind :
       {"loose", "binding", "sound", "straight-holed", "mismatched", "tip-bottoming", "bell-mouthed",
        "headless", "headed", "mm", "inch", "unknown", "reading missing", "rod"})
    EXPECT_TRUE(seen.contains(kind)) << kind;
}

TEST(Demo, ComesBackFromWriting) {
  for (const char* name : {"saxophone.json", "clarinet.json"}) {
    const Instrument first = instrument(name);
    const std::string text = write_instrument(first);
    const auto again = read_instrument(text, "again.json");
    ASSERT_TRUE(again) << shown(again.error());
    EXPECT_EQ(first, *again) << name;
    EXPECT_EQ(text, write_instrument(*again)) << name;
  }
  const Shop first = shop();
  const std::string text = write_shop(first);
  const auto again = read_shop(text, "again.json");
  ASSERT_TRUE(again) << shown(again.error());
  EXPECT_EQ(first, *again);
  EXPECT_EQ(text, write_shop(*again));
}

}  // namespace
}  // namespace hingeline::record
