// Documents taken apart into slips and put together again.

#include "hingeline/record/assemble.h"

#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

namespace hingeline::record {
namespace {

using nlohmann::json;

std::string example(const std::string& name) {
  std::ifstream in(std::string(HINGELINE_SOURCE_DIR) + "/examples/" + name);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

SlipMaking making() {
  return {[n = std::uint64_t{0}]() mutable {
            ++n;
            return slip_id(1'700'000'000'000ULL + n, n, n * 7);
          },
          "2026-11-25T14:05:00Z",
          {}};
}

InstrumentParts parts_of(const std::vector<Slip>& slips) {
  InstrumentParts parts{slips.front(), {}, {}};
  for (const Slip& slip : slips) {
    if (slip.kind() == SlipKind::key) parts.keys.push_back({slip.id, slip});
    if (slip.kind() == SlipKind::reading) parts.readings.push_back({slip.id, slip});
  }
  return parts;
}

TEST(Assemble, TheExamplesComeBackAsTheyWere) {
  for (const char* name : {"saxophone.json", "clarinet.json"}) {
    const std::string text = example(name);
    const auto slips = instrument_slips(text, name, "", "2026-11-25", making());
    ASSERT_TRUE(slips) << slips.error().front().what;
    EXPECT_GT(slips->size(), 30U);
    for (const Slip& slip : *slips) {
      // Each is a slip that any book takes.
      const auto read = read_slip(write_slip(slip), "slip");
      ASSERT_TRUE(read) << write_slip(slip) << read.error().front().what;
      EXPECT_EQ(*read, slip);
    }
    // Whatever order they are kept in.
    InstrumentParts parts = parts_of(*slips);
    std::reverse(parts.keys.begin(), parts.keys.end());
    std::reverse(parts.readings.begin(), parts.readings.end());
    const auto back = instrument_document(parts);
    ASSERT_TRUE(back) << back.error().front().what << back.error().front().place.pointer;
    EXPECT_EQ(*back, write_instrument(*read_instrument(text, name)));
  }
  const std::string text = example("shop.json");
  const auto slips = shop_slips(text, "shop.json", making());
  ASSERT_TRUE(slips);
  ShopParts parts{slips->front(), {}, {}, {}};
  for (const Slip& slip : *slips) {
    EXPECT_TRUE(read_slip(write_slip(slip), "slip"));
    if (slip.kind() == SlipKind::tool) parts.tools.push_back({slip.id, slip});
    if (slip.kind() == SlipKind::pattern) parts.patterns.push_back({slip.id, slip});
  }
  EXPECT_GT(parts.tools.size(), 10U);
  const auto back = shop_document(parts);
  ASSERT_TRUE(back) << back.error().front().what;
  EXPECT_EQ(*back, write_shop(*read_shop(text, "shop.json")));

  PresetSlip preset{"/presets/window_high", {"\"0.04 mm\"", {}}, {}};
  Slip slip = slips->front();
  slip.body = preset;
  parts.presets.push_back({slip.id, slip});
  const auto changed = shop_document(parts);
  ASSERT_TRUE(changed) << changed.error().front().what;
  EXPECT_EQ(in_millimetres(read_shop(*changed, "shop")->presets.window_high.value), 0.04);
}

struct Low {
  std::vector<Slip> slips;
  InstrumentParts parts;
  ThingSlip key;
  Low() {
    slips = *instrument_slips(example("saxophone.json"), "saxophone.json", "", "2026-11-25", making());
    parts = parts_of(slips);
    for (const ThingSlip& k : parts.keys) {
      if (std::get<KeySlip>(k.slip.body).id == "low-c") key = k;
    }
  }
  void read(const std::string& at, const std::string& value, std::uint64_t later, bool of_key = true) {
    Slip slip = parts.readings.front().slip;
    slip.id = slip_id(1'800'000'000'000ULL + later, 1, 1);
    slip.key = of_key ? key.thing : "";
    slip.body = ReadingSlip{at, {value, {}}, {}};
    parts.readings.push_back({slip.id, slip});
  }
  [[nodiscard]] json object() const {
    const auto text = instrument_document(parts);
    if (!text) throw std::runtime_error(text.error().front().what);
    const json document = json::parse(*text);
    for (const json& k : document["keys"]) {
      if (k["id"] == "low-c") return k;
    }
    throw std::runtime_error("no low-c");
  }
};

TEST(Assemble, ALaterReadingStandsOverAnEarlierOne) {
  Low low;
  low.read("/readings/end_play", "\"0.031 mm ± 0.004\"", 2);
  low.read("/readings/end_play", "\"0.099 mm\"", 1);
  EXPECT_EQ(low.object()["readings"]["end_play"], "0.031 mm ± 0.004");
  low.read("/hinge/upper/screw/stands_off", "\"0.02 mm\"", 3);
  EXPECT_EQ(low.object()["hinge"]["upper"]["screw"]["stands_off"], "0.02 mm");
  low.read("/leak_reading/time", "\"0.75 s ± 0.05\"", 4, false);
  EXPECT_EQ(json::parse(*instrument_document(low.parts))["leak_reading"]["time"]["value"], 0.75);
}

TEST(Assemble, APointerThatLeadsNowhereIsRefused) {
  for (const char* at : {"readings/end_play", "/readings/end_play/value/x", "", "/", "/readings//end_play",
                         "/readings/~2", "/readings/rock/99"}) {
    Low low;
    low.read("/readings/rock", "[]", 1);
    low.read("/readings/end_play", "\"0.1 mm\"", 2);
    low.read(at, "\"0.1 mm\"", 3);
    EXPECT_FALSE(instrument_document(low.parts)) << at;
  }
  // And one that leads to a member no document has, with the document's own words.
  Low low;
  low.read("/readings/wobble", "\"0.1 mm\"", 1);
  const auto text = instrument_document(low.parts);
  ASSERT_FALSE(text);
  EXPECT_NE(text.error().front().place.pointer.find("/readings/wobble"), std::string::npos);
}

TEST(Assemble, ReadingsOfAStruckKeyGoWithIt) {
  Low low;
  std::erase_if(low.parts.keys, [&](const ThingSlip& k) { return k.thing == low.key.thing; });
  const auto text = instrument_document(low.parts);
  // Links and stacks of the document may name the key: then it is said, else it is gone.
  if (text)
    EXPECT_EQ(text->find("\"low-c\""), std::string::npos);
  else
    EXPECT_NE(text.error().front().what.find("low-c"), std::string::npos);
}

}  // namespace
}  // namespace hingeline::record
