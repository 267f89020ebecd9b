// Slips: what they may say and name, their bytes, their ids, the words they are found by.

#include "hingeline/record/slip.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "support.h"

namespace hingeline::record {
namespace {

using nlohmann::json;

constexpr const char* kVisit = "0195f3a0-0000-7000-8000-000000000001";
constexpr const char* kKey = "0195f3a0-0000-7000-8000-000000000002";
constexpr const char* kSlip = "0195f3a0-0001-7000-8000-00000000000a";
constexpr const char* kOld = "0195f3a0-0000-7000-8000-00000000000b";

json reading() {
  return {{"id", kSlip},
          {"kind", "reading"},
          {"at", "2026-11-25T14:05:00+01:00"},
          {"of", kVisit},
          {"key", kKey},
          {"body", {{"at", "/readings/end_play"}, {"value", "0.085 mm ± 0.004"}}}};
}

std::string errors_of(const json& slip) {
  const auto read = read_slip(slip.dump(), "slip");
  if (read) return {};
  std::string out;
  for (const Error& e : read.error()) out += e.place.pointer + ": " + e.what + "; " + e.expected + "\n";
  return out;
}

TEST(Slip, AReadingIsReadAndWrittenBack) {
  const auto read = read_slip(reading().dump(2), "slip");
  ASSERT_TRUE(read) << errors_of(reading());
  EXPECT_EQ(read->kind(), SlipKind::reading);
  EXPECT_EQ(std::get<ReadingSlip>(read->body).value.json, "\"0.085 mm ± 0.004\"");
  const std::string line = write_slip(*read);
  EXPECT_EQ(line.find('\n'), std::string::npos);
  EXPECT_EQ(json::parse(line), reading());
  const auto again = read_slip(line, "slip");
  ASSERT_TRUE(again);
  EXPECT_EQ(*again, *read);
  EXPECT_EQ(write_slip(*again), line);
}

/// One full slip of every kind.
std::vector<json> one_of_each() {
  const auto slip = [](const char* kind, json body, const char* of = nullptr, bool key = false) {
    json out{{"id", kSlip},
             {"kind", kind},
             {"at", "2026-11-25T14:05:00Z"},
             {"by", kOld},
             {"body", std::move(body)}};
    if (of != nullptr) out["of"] = of;
    if (key) out["key"] = kKey;
    return out;
  };
  return {
      slip("person", {{"name", "Bench person"}, {"initials", "bp"}, {"role", "look-only"}, {"gone", true}}),
      slip("owner", {{"name", "Ada Example"}, {"reach", "555 0100"}, {"note", "rings\nin the evening"}}),
      slip("instrument",
           {{"title", "Tenor"},
            {"kind", "tenor saxophone"},
            {"serial", "12 345"},
            {"document", {{"units", "mm"}}}},
           kOld),
      slip("key", {{"id", "low-c"}, {"order", 3.5}, {"document", {{"hinge", {{"kind", "rod"}}}}}}, kOld),
      slip("visit",
           {{"complaint", "rattles"},
            {"came", "2026-11-20"},
            {"promised", "2026-11-28"},
            {"state", "looked-over"},
            {"bench", "window"}},
           kOld),
      slip("reading", {{"at", "/body/bow"}, {"value", {{"chord", "440 mm"}}}}, kVisit),
      slip("finding", {{"of", "wiggle"}, {"answer", "yes"}}, kVisit, true),
      slip("operation",
           {{"step", "seat-cut"},
            {"end", "upper"},
            {"tool", "4 mm seat cutter"},
            {"amount", "0.04 mm"},
            {"turns", "2 turns"},
            {"taken", "-0.01 mm ± 0.006"},
            {"minutes", "3 min"},
            {"note", "took nothing"}},
           kVisit, true),
      slip("waiver", {{"cause", "bent-body"}, {"reason", "seen straight"}}, kVisit, true),
      slip("exception", {{"of", "loose"}, {"reason", "as the owner likes it"}}, kVisit),
      slip("note", {{"text", "half a page"}}, kVisit, true),
      slip("photo",
           {{"type", "image/png"},
            {"sha256", std::string(64, 'a')},
            {"bytes", "1200 bytes"},
            {"caption", "the seat"}},
           kVisit, true),
      slip("quote-line",
           {{"text", "fit low C"}, {"minutes", "20 min"}, {"money", "24.00"}, {"state", "agreed"}}, kVisit),
      slip("tool", {{"list", "cutters"}, {"document", {{"name", "4 mm"}}}}),
      slip("pattern", {{"document", {{"name", "short"}}}}),
      slip("preset", {{"at", "/presets/window_low"}, {"value", "0.01 mm"}}),
      slip("shop", {{"document", {{"title", "Shop"}}}}),
  };
}

TEST(Slip, EveryKindKeepsAllItSays) {
  const auto slips = one_of_each();
  ASSERT_EQ(slips.size(), kSlipKinds.size());
  for (std::size_t k = 0; k < slips.size(); ++k) {
    const auto read = read_slip(slips[k].dump(), "slip");
    ASSERT_TRUE(read) << slips[k] << errors_of(slips[k]);
    EXPECT_EQ(read->kind(), kSlipKinds[k]);
    const json written = json::parse(write_slip(*read));
    // Plain numbers with a unit come back as members, which say the same.
    json expected = slips[k];
    const auto again = read_slip(written.dump(), "slip");
    ASSERT_TRUE(again) << written;
    EXPECT_EQ(*again, *read);
    for (const auto& [name, value] : expected["body"].items()) {
      ASSERT_TRUE(written["body"].contains(name)) << name;
      if (!written["body"][name].is_object() || value.is_object()) {
        EXPECT_EQ(written["body"][name], value) << name;
      }
    }
    expected.erase("body");
    json rest = written;
    rest.erase("body");
    EXPECT_EQ(rest, expected);
  }
}

TEST(Slip, ThePublishedSchemaTakesAndRefusesWithTheReader) {
  std::vector<samples::Json> taken;
  for (const json& slip : one_of_each()) {
    taken.push_back(slip);
    taken.push_back(samples::Json::parse(write_slip(*read_slip(slip.dump(), "slip"))));
  }
  const char* schema = "docs/formats/slip.schema.json";
  const auto takes = samples::schema_takes(schema, taken);
  for (std::size_t i = 0; i < taken.size(); ++i) EXPECT_TRUE(takes[i]) << taken[i];

  std::vector<samples::Json> refused;
  const auto with = [&](json slip, const char* pointer, const json& value) {
    const json::json_pointer at(pointer);
    if (value.is_null()) {
      slip[at.parent_pointer()].erase(at.back());
    } else {
      slip[at] = value;
    }
    refused.push_back(slip);
  };
  const auto slips = one_of_each();
  for (const char* needed : {"/id", "/kind", "/at", "/body", "/of", "/key"}) {
    if (std::string_view(needed) == "/key") {
      with(slips[6], needed, nullptr);  // a finding is always about a key
    } else {
      with(reading(), needed, nullptr);
    }
  }
  with(reading(), "/id", "0195f3a0-0001-4000-8000-00000000000a");
  with(reading(), "/of", "visit-1");
  with(reading(), "/kind", "rumour");
  with(reading(), "/owner", "x");
  with(reading(), "/struck", "yes");
  with(reading(), "/body/extra", 1);
  with(reading(), "/body/at", nullptr);
  with(slips[1], "/of", kVisit);  // an owner belongs to nothing
  with(slips[1], "/key", kKey);
  with(slips[0], "/body/role", "king");
  with(slips[4], "/body/came", "yesterday");
  const auto still = samples::schema_takes(schema, refused);
  for (std::size_t i = 0; i < refused.size(); ++i) {
    EXPECT_FALSE(still[i]) << "the schema takes " << refused[i];
    EXPECT_NE(errors_of(refused[i]), "") << "the reader takes " << refused[i];
  }
}

TEST(Slip, WhatItsKindMayNotIsRefusedWithItsPlace) {
  const auto with = [](const char* member, const json& value) {
    json out = reading();
    out[member] = value;
    return errors_of(out);
  };
  EXPECT_NE(with("of", "visit-1").find("/of: \"visit-1\" is not an id"), std::string::npos);
  EXPECT_NE(with("id", "0195f3a0-0001-4000-8000-00000000000a").find("/id: "), std::string::npos);
  EXPECT_NE(with("replaces", kOld).find("/why: a reading is put right without a reason"), std::string::npos);
  EXPECT_NE(with("replaces", kSlip).find("replaces itself"), std::string::npos);
  EXPECT_NE(with("why", "because").find("/why: a reason for replacing nothing"), std::string::npos);
  EXPECT_NE(with("struck", true).find("/struck: nothing that is struck"), std::string::npos);
  EXPECT_NE(with("kind", "rumour").find("/kind"), std::string::npos);
  EXPECT_NE(with("at", "yesterday").find("/at"), std::string::npos);
  EXPECT_NE(with("owner", "x").find("owner"), std::string::npos);
  json corrected = reading();
  corrected["replaces"] = kOld;
  corrected["why"] = "read at the wrong end";
  EXPECT_EQ(errors_of(corrected), "");

  json no_parent = reading();
  no_parent.erase("of");
  EXPECT_NE(errors_of(no_parent).find("/of: a reading belongs to something"), std::string::npos);
  json owner = one_of_each()[1];
  owner["of"] = kVisit;
  EXPECT_NE(errors_of(owner).find("belongs to nothing"), std::string::npos);
  owner.erase("of");
  owner["key"] = kKey;
  EXPECT_NE(errors_of(owner).find("is about no key"), std::string::npos);
  json photo = one_of_each()[11];
  photo["body"]["type"] = "text/html";
  EXPECT_NE(errors_of(photo).find("no type of photo"), std::string::npos);
  photo = one_of_each()[11];
  photo["body"]["sha256"] = "AB";
  EXPECT_NE(errors_of(photo).find("not a SHA-256"), std::string::npos);
  EXPECT_FALSE(read_slip("[1]", "slip"));
  EXPECT_FALSE(read_slip("{", "slip"));
  EXPECT_FALSE(read_slip(std::string(kLongestSlip + 1, ' '), "slip"));
}

TEST(SlipId, IsTheStandardsLayout) {
  // RFC 9562, appendix A.6: 2022-02-22 19:22:22 UTC, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F.
  constexpr std::uint64_t kWhen = 0x017F22E279B0ULL;
  const std::string id = slip_id(kWhen, 0xCC3ULL | (0x18C4ULL << 12U), 0xDC0C0C07398FULL);
  EXPECT_EQ(id, "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
  EXPECT_TRUE(is_slip_id(id));
  EXPECT_EQ(milliseconds_of(id), kWhen);
  EXPECT_EQ(kWhen, 1645557742000ULL);
  for (const char* wrong : {"", "017f22e2-79b0-4cc3-98c4-dc0c0c07398f",
                            "017F22E2-79B0-7CC3-98C4-DC0C0C07398F", "017f22e2-79b0-7cc3-c8c4-dc0c0c07398f",
                            "017f22e279b07cc398c4dc0c0c07398f0000", "017f22e2-79b0-7cc3-98c4-dc0c0c07398f "})
    EXPECT_FALSE(is_slip_id(wrong)) << wrong;
}

RC_GTEST_PROP(SlipId, SortsByTime,
              (std::uint64_t a, std::uint64_t b, std::uint64_t high, std::uint64_t low)) {
  const std::uint64_t first = a & 0xFFFFFFFFFFFFULL;
  const std::uint64_t second = b & 0xFFFFFFFFFFFFULL;
  const std::string one = slip_id(first, high, low);
  const std::string two = slip_id(second, low, high);
  RC_ASSERT(is_slip_id(one));
  RC_ASSERT(milliseconds_of(one) == first);
  if (first != second) RC_ASSERT((one < two) == (first < second));
}

TEST(SearchWords, AreSmallWithoutAccents) {
  using Words = std::vector<std::string>;
  EXPECT_EQ(search_words("Müller, ÉTUDE: no. 12-B  müller"), (Words{"12", "b", "etude", "muller", "no"}));
  EXPECT_EQ(search_words("Łódź Čapek Straße Ægir œuvre Þór Øre"),
            (Words{"aegir", "capek", "lodz", "oeuvre", "ore", "strasse", "thor"}));
  EXPECT_EQ(search_words("Ключ ЁЖ ΩΡΑ 鍵…“quoted”"), (Words{"quoted", "ωρα", "ключ", "ёж", "鍵"}));
  EXPECT_EQ(search_words(""), Words{});
  EXPECT_EQ(search_words("low\xFF\xC3(c"), (Words{"c", "low"}));
  EXPECT_EQ(search_words(std::string(100, 'a')), Words{std::string(40, 'a')});
  // A key is found by its name and by the patterns of its screws.
  Slip key;
  key.body =
      KeySlip{"g-sharp",
              {},
              {R"({"name":"Gis","hinge":{"upper":{"screw":{"pattern":"small"}},"lower":{"screw":{}}}})", {}},
              {}};
  EXPECT_EQ(search_words(key), (Words{"g", "gis", "sharp", "small"}));
  key.body = KeySlip{"g-sharp", {}, {"[", {}}, {}};
  EXPECT_EQ(search_words(key), (Words{"g", "sharp"}));
  const auto read = read_slip(one_of_each()[1].dump(), "slip");
  ASSERT_TRUE(read);
  EXPECT_EQ(search_words(*read), (Words{"0100", "555", "ada", "evening", "example", "in", "rings", "the"}));
}

}  // namespace
}  // namespace hingeline::record
