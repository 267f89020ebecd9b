// The published schemas and the reader say the same, with python3-jsonschema as the other judge.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <random>

#include "hingeline/record/slip.h"
#include "support.h"

namespace hingeline::record {
namespace {

using samples::errors_of;
using samples::file_text;
using samples::Json;
using samples::shown;

std::string schema_path(Format format) {
  return format == Format::instrument ? "docs/formats/instrument.schema.json"
         : format == Format::shop     ? "docs/formats/shop.schema.json"
         : format == Format::rig      ? "docs/formats/rig.schema.json"
                                      : "docs/formats/ledger.schema.json";
}

std::vector<bool> schema_takes(Format format, const std::vector<Json>& documents) {
  return samples::schema_takes(schema_path(format), documents);
}

TEST(Schema, PublishedFilesAreTheProgramsOwn) {
  EXPECT_EQ(file_text(schema_path(Format::instrument)), schema_text(Format::instrument));
  EXPECT_EQ(file_text(schema_path(Format::shop)), schema_text(Format::shop));
  EXPECT_EQ(file_text(schema_path(Format::ledger)), schema_text(Format::ledger));
  EXPECT_EQ(file_text(schema_path(Format::rig)), schema_text(Format::rig));
  EXPECT_EQ(file_text("docs/formats/slip.schema.json"), slip_schema_text());
}

TEST(Schema, TakesDemonstrationAndFullDocuments) {
  const std::vector<Json> instruments{
      Json::parse(file_text("examples/saxophone.json")), Json::parse(file_text("examples/clarinet.json")),
      Json::parse(samples::full_instrument()), Json::parse(samples::small_instrument())};
  for (const bool valid : schema_takes(Format::instrument, instruments)) EXPECT_TRUE(valid);
  const std::vector<Json> shops{Json::parse(file_text("examples/shop.json")),
                                Json::parse(samples::full_shop()), Json::parse(samples::small_shop())};
  for (const bool valid : schema_takes(Format::shop, shops)) EXPECT_TRUE(valid);
  const std::vector<Json> ledgers{Json::parse(file_text("examples/ledger.json")),
                                  Json::parse(samples::full_ledger()), Json::parse(samples::small_ledger())};
  for (const bool valid : schema_takes(Format::ledger, ledgers)) EXPECT_TRUE(valid);
  const std::vector<Json> rigs{Json::parse(file_text("examples/rig.json")), Json::parse(samples::full_rig()),
                               Json::parse(samples::small_rig())};
  for (const bool valid : schema_takes(Format::rig, rigs)) EXPECT_TRUE(valid);
}

TEST(Schema, TakesWhatTheProgramWrites) {
  std::vector<Json> instruments;
  std::vector<Json> shops;
  std::vector<Json> ledgers;
  std::vector<Json> rigs;
  constexpr std::uint64_t kDocuments = 60;
  for (std::uint64_t seed = 1; seed <= kDocuments; ++seed) {
    for (const Json& made : {samples::made_instrument(seed)}) {
      const auto read = read_instrument(made.dump(), "d.json");
      ASSERT_TRUE(read) << shown(read.error());
      instruments.push_back(made);
      instruments.push_back(Json::parse(write_instrument(*read)));
    }
    const Json made = samples::made_shop(seed);
    const auto read = read_shop(made.dump(), "d.json");
    ASSERT_TRUE(read) << shown(read.error());
    shops.push_back(made);
    shops.push_back(Json::parse(write_shop(*read)));
    const Json jobs = samples::made_ledger(seed);
    const auto ledger = read_ledger(jobs.dump(), "d.json");
    ASSERT_TRUE(ledger) << shown(ledger.error());
    ledgers.push_back(jobs);
    ledgers.push_back(Json::parse(write_ledger(*ledger)));
    const Json running = samples::made_rig(seed);
    const auto rig = read_rig(running.dump(), "d.json");
    ASSERT_TRUE(rig) << shown(rig.error());
    rigs.push_back(running);
    rigs.push_back(Json::parse(write_rig(*rig)));
  }
  const auto takes_instrument = schema_takes(Format::instrument, instruments);
  for (std::size_t i = 0; i < instruments.size(); ++i)
    EXPECT_TRUE(takes_instrument[i]) << instruments[i].dump(1);
  const auto takes_shop = schema_takes(Format::shop, shops);
  for (std::size_t i = 0; i < shops.size(); ++i) EXPECT_TRUE(takes_shop[i]) << shops[i].dump(1);
  const auto takes_ledger = schema_takes(Format::ledger, ledgers);
  for (std::size_t i = 0; i < ledgers.size(); ++i) EXPECT_TRUE(takes_ledger[i]) << ledgers[i].dump(1);
  const auto takes_rig = schema_takes(Format::rig, rigs);
  for (std::size_t i = 0; i < rigs.size(); ++i) EXPECT_TRUE(takes_rig[i]) << rigs[i].dump(1);
}

/// One change of a valid document: the value put at the pointer, or what is there taken away.
struct Change {
  const char* pointer;
  const char* value;  ///< null: taken away
};

Json changed(const std::string& text, const Change& change) {
  Json document = Json::parse(text);
  const Json::json_pointer pointer(change.pointer);
  if (change.value != nullptr) {
    document[pointer] = Json::parse(change.value);
  } else {
    EXPECT_TRUE(document.contains(pointer)) << change.pointer;
    document[pointer.parent_pointer()].erase(pointer.back());
  }
  return document;
}

void both_refuse(Format format, const std::string& text, const std::vector<Change>& changes) {
  std::vector<Json> documents;
  for (const Change& change : changes) documents.push_back(changed(text, change));
  const auto takes = schema_takes(format, documents);
  for (std::size_t i = 0; i < documents.size(); ++i) {
    const std::string label =
        fmt::format("{} = {}", changes[i].pointer, changes[i].value ? changes[i].value : "-");
    EXPECT_FALSE(takes[i]) << "the schema takes " << label;
    EXPECT_FALSE(errors_of(format, documents[i].dump()).empty()) << "the reader takes " << label;
  }
}

TEST(Schema, RefusesInstrumentsTheReaderRefuses) {
  const std::vector<Change> changes{
      {"/format", nullptr},
      {"/format", "\"hingeline-shop\""},
      {"/version", nullptr},
      {"/version", "2"},
      {"/version", "0"},
      {"/version", "1.5"},
      {"/version", "\"1\""},
      {"/title", nullptr},
      {"/title", "\"\""},
      {"/title", "\"  \""},
      {"/title", "7"},
      {"/keys", nullptr},
      {"/keys", "{}"},
      {"/keys/0", "null"},
      {"/units", "\"cm\""},
      {"/shop", "[]"},
      {"/extra", "1"},
      {"/body", "[]"},
      {"/body/expansion", "5"},
      {"/body/expansion/unit", nullptr},
      {"/body/expansion/unit", "\"1e-5/K\""},
      {"/body/expansion/value", "-5"},
      {"/body/service_to/between", "[300]"},
      {"/body/service_to/between", "[300, 301, 302]"},
      {"/body/service_to/value", "301"},
      {"/keys/0/id", nullptr},
      {"/keys/0/id", "\"Cone\""},
      {"/keys/0/id", "\"\""},
      {"/keys/0/hinge", nullptr},
      {"/keys/0/hinge/kind", nullptr},
      {"/keys/0/hinge/kind", "\"Pivot\""},
      {"/keys/0/hinge/span", nullptr},
      {"/keys/0/hinge/span", "30.1"},
      {"/keys/0/hinge/span", "\"\""},
      {"/keys/0/hinge/span", "\"thirty\""},
      {"/keys/0/hinge/span", "null"},
      {"/keys/0/hinge/span/repeats", "[]"},
      {"/keys/0/hinge/span/unit", "\"cm\""},
      {"/keys/0/hinge/span/between", "[1, 2]"},
      {"/keys/0/hinge/span/extra", "1"},
      {"/keys/0/hinge/key_length", nullptr},
      {"/keys/0/hinge/key_length/value", "-30"},
      {"/keys/0/hinge/key_length/unit", nullptr},
      {"/keys/0/hinge/key_length/origin", "\"guess\""},
      {"/keys/0/hinge/key_length/plus_minus", "-0.1"},
      {"/keys/0/hinge/key_length/with", "5"},
      {"/keys/0/hinge/upper/screw/head", "\"round\""},
      {"/keys/0/hinge/upper/screw/thread", "\"M2.5\""},
      {"/keys/0/hinge/upper/screw/thread", "\"M2.5x0.45 left\""},
      {"/keys/0/hinge/upper/screw/thread", "5"},
      {"/keys/0/hinge/lower/screw/thread/pitch", nullptr},
      {"/keys/0/hinge/upper/screw/point/shape", "\"cube\""},
      {"/keys/0/hinge/upper/screw/point/tip", "\"sharp\""},
      {"/keys/0/hinge/upper/hole/shape", "1"},
      {"/keys/2/hinge/upper/screw/point/pairs/unit", nullptr},
      {"/keys/2/hinge/upper/screw/point/pairs/unit", "\"cm\""},
      {"/keys/2/hinge/upper/screw/point/pairs/values", "[[0, 1]]"},
      {"/keys/2/hinge/upper/screw/point/pairs/values", "[[0, 1], [1]]"},
      {"/keys/2/hinge/upper/screw/point/pairs/values", "[[0, 1], [1, -1]]"},
      {"/keys/2/hinge/upper/screw/point/pairs/values", "[[0, 1], [1, null]]"},
      {"/keys/0/pad/clock", "[]"},
      {"/keys/0/readings/rock", "{}"},
      {"/keys/0/readings/rock/0/station", nullptr},
      {"/keys/0/readings/rock/0/value", nullptr},
  };
  EXPECT_GE(changes.size(), 40u);
  both_refuse(Format::instrument, samples::full_instrument(), changes);
}

TEST(Schema, RefusesShopsTheReaderRefuses) {
  both_refuse(Format::shop, samples::full_shop(),
              {{"/title", nullptr},
               {"/paper", "\"A3\""},
               {"/time_zone", "\"Europe Vienna\""},
               {"/time_zone", "\"../etc\""},
               {"/time_zone", "\"Europe/\""},
               {"/time_zone", "5"},
               {"/cutters", "{}"},
               {"/cutters/0/name", nullptr},
               {"/cutters/0/diameter", nullptr},
               {"/cutters/0/drivers", "[\"straight\", \"straight\"]"},
               {"/cutters/0/drivers", "[\"bent\"]"},
               {"/cutters/0/drivers", "\"straight\""},
               {"/reamers/0/half_angle", nullptr},
               {"/drivers/0/kind", nullptr},
               {"/drivers/0/room_around", nullptr},
               {"/rods/0/diameter", "2"},
               {"/patterns/0/name", "\"\""},
               {"/patterns/0/extra", "0"},
               {"/measuring/0/plus_minus", nullptr},
               {"/presets/flank_share_min", "1.5"},
               {"/presets/flank_share_min", "-0.5"},
               {"/presets/flank_share_min", "{\"value\": 0.5, \"unit\": \"mm\"}"},
               {"/presets/engagement_min_turns", "4"},
               {"/presets/materials/0/expansion", nullptr},
               {"/presets/unknown/span", "\"?\""},
               {"/presets/unknown/span", "\"3 mm\""},
               {"/presets/unknown/span/between", nullptr},
               {"/presets/unknown/span/origin", "\"read\""},
               {"/presets/seat_cut/set_up", "4"},
               {"/presets/seat_cut/extra", "\"4 min\""}});
}

TEST(Schema, RefusesLedgersTheReaderRefuses) {
  both_refuse(Format::ledger, samples::full_ledger(),
              {{"/format", "\"hingeline-shop\""},
               {"/version", "2"},
               {"/title", nullptr},
               {"/jobs", nullptr},
               {"/jobs", "{}"},
               {"/extra", "1"},
               {"/jobs/0/id", nullptr},
               {"/jobs/0/id", "\"Job 1\""},
               {"/jobs/0/date", nullptr},
               {"/jobs/0/date", "\"25.11.2026\""},
               {"/jobs/0/date", "\"2026-13-01\""},
               {"/jobs/0/date", "\"2026-1-1\""},
               {"/jobs/0/date", "20261125"},
               {"/jobs/0/complaint", "\"wobbly\""},
               {"/jobs/0/causes", "\"dirt\""},
               {"/jobs/0/causes", "[\"rust\"]"},
               {"/jobs/0/causes", "[\"dirt\", \"dirt\"]"},
               {"/jobs/0/extra", "1"},
               {"/jobs/0/bites/0/cutter", nullptr},
               {"/jobs/0/bites/0/cutter", "\"\""},
               {"/jobs/0/bites/0/end", "\"left\""},
               {"/jobs/0/bites/0/turns", nullptr},
               {"/jobs/0/bites/0/turns", "0"},
               {"/jobs/0/bites/0/turns", "-1"},
               {"/jobs/0/bites/0/turns", "1001"},
               {"/jobs/0/bites/1/turns/unit", "\"mm\""},
               {"/jobs/0/bites/0/taken", nullptr},
               {"/jobs/0/bites/0/taken", "0.05"},
               {"/jobs/0/minutes/0/of", "\"Seat cut\""},
               {"/jobs/0/minutes/0/minutes", nullptr},
               {"/jobs/0/minutes/0/minutes", "0"},
               {"/jobs/0/minutes/0/minutes", "\"soon\""},
               {"/jobs/0/measured/0/field", nullptr},
               {"/jobs/0/measured/0/field", "\"colour\""},
               {"/jobs/0/measured/0/value", nullptr},
               {"/jobs/0/measured/0/value", "20.3"},
               {"/jobs/0/waivers/0/reason", nullptr},
               {"/jobs/0/waivers/0/reason", "\" \""},
               {"/jobs/0/waivers/0/cause", "\"rust\""},
               {"/forgotten/0/what", "\"everything\""},
               {"/forgotten/0/before", "\"yesterday\""}});
}

TEST(Schema, RefusesRigsTheReaderRefuses) {
  both_refuse(Format::rig, samples::full_rig(),
              {{"/format", "\"hingeline-shop\""},
               {"/version", "2"},
               {"/title", nullptr},
               {"/specimens", nullptr},
               {"/target", nullptr},
               {"/target", "5000000"},
               {"/target/value", "0"},
               {"/assumed_shape", "2"},
               {"/assumed_shape/unit", "\"mm\""},
               {"/confidence", "1.5"},
               {"/confidence", "-1"},
               {"/periods", nullptr},
               {"/periods/0/from", nullptr},
               {"/periods/0/from", "\"2026-10-05\""},
               {"/periods/0/from", "\"2026-10-05T09:00\""},
               {"/periods/0/from", "\"2026-10-05T24:00Z\""},
               {"/periods/0/from", "\"2026-10-05T09:00:00.5Z\""},
               {"/periods/0/to", "\"\""},
               {"/periods/0/to", "\"soon\""},
               {"/periods/0/rate", nullptr},
               {"/periods/0/rate", "2"},
               {"/periods/0/rate", "\"fast\""},
               {"/periods/1/rate/unit", "\"Hz\""},
               {"/inspections/0/at", nullptr},
               {"/inspections/0/specimen", nullptr},
               {"/inspections/0/specimen", "\" \""},
               {"/inspections/0/finding", nullptr},
               {"/inspections/0/finding", "\"good\""},
               {"/inspections/0/extra", "1"},
               {"/specimens/0/id", "\"A 1\""},
               {"/specimens/0/id", nullptr}});
}

/// Pointers of everything in a document but the document itself.
void places_in(const Json& node, const Json::json_pointer& at, std::vector<Json::json_pointer>& out) {
  if (!at.empty()) out.push_back(at);
  if (node.is_object()) {
    for (const auto& [name, value] : node.items()) places_in(value, at / name, out);
  } else if (node.is_array()) {
    for (std::size_t i = 0; i < node.size(); ++i) places_in(node[i], at / i, out);
  }
}

/// A value swapped for another of the document or for one of a few odd ones: mostly wrong, sometimes not.
/// Whatever the reader takes the schema must take.
TEST(Schema, TakesWhatTheReaderTakes) {
  const std::vector<Json> odd{nullptr,
                              true,
                              0,
                              -1,
                              1,
                              0.5,
                              1e-3,
                              30,
                              "",
                              "?",
                              " ",
                              "1",
                              "1 mm",
                              "1 in",
                              "1:10",
                              "1 deg",
                              "20 degC",
                              "4 min",
                              "a",
                              "M3x0.5",
                              "4-40",
                              Json::object(),
                              Json::array(),
                              Json{{"origin", "unknown"}},
                              Json{{"repeats", {"1 mm"}}},
                              Json{{"value", "1 mm"}}};
  for (const Format format : {Format::instrument, Format::shop, Format::ledger, Format::rig}) {
    const Json document = Json::parse(format == Format::instrument ? samples::full_instrument()
                                      : format == Format::shop     ? samples::full_shop()
                                      : format == Format::rig      ? samples::full_rig()
                                                                   : samples::full_ledger());
    std::vector<Json::json_pointer> places;
    places_in(document, Json::json_pointer(), places);
    std::mt19937_64 random(1);
    std::vector<Json> taken;
    constexpr std::size_t kTaken = 80;
    for (int tries = 0; tries < 4000 && taken.size() < kTaken; ++tries) {
      Json changed = document;
      const auto& place = places[random() % places.size()];
      changed[place] =
          random() % 2 == 0 ? odd[random() % odd.size()] : document[places[random() % places.size()]];
      if (changed != document && errors_of(format, changed.dump()).empty()) taken.push_back(changed);
    }
    EXPECT_EQ(taken.size(), kTaken);
    const auto takes = schema_takes(format, taken);
    for (std::size_t i = 0; i < taken.size(); ++i)
      EXPECT_TRUE(takes[i]) << Json::diff(document, taken[i]).dump();
  }
}

}  // namespace
}  // namespace hingeline::record
