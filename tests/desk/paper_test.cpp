// Papers out of the book, on both databases.

#include <regex>

#include "desk/support.h"
#include "hingeline/belief/cause.h"
#include "support/other_programs.h"

namespace hingeline::desk {
namespace {

using record::OperationSlip;
using record::QuoteLineSlip;
using record::ReadingSlip;
using test::json;
using test::kAlone;
using test::must;
using test::trouble;
using test::with;

class Papers : public test::Desks {
 protected:
  static PaperWanted wanted(const std::string& kind, const std::string& key = {}) {
    PaperWanted out;
    out.kind = kind;
    out.key = key;
    return out;
  }
  static std::string text(const PaperMade& made) {
    return support::run("pdftotext -layout " + support::written("desk-" + made.name, made.bytes) + " -").said;
  }
  std::string key_thing(const std::string& visit, const std::string& id) {
    const auto whole = json(desk->visit(kAlone, visit));
    for (const auto& k : whole.at("keys")) {
      if (k.at("slip").at("body").at("id") == id) return k.at("thing");
    }
    return {};
  }
};

TEST_P(Papers, TheOwnerIsOnThemForThoseWhoMayKnow) {
  const record::Slip ada = store::test::slip(ids, record::OwnerSlip{"Ada Example", "555 0100", {}, {}});
  write({ada});
  const std::string visit = take_in(ada.id);
  const std::string seen = text(must(desk->paper(with(Right::counter), visit, wanted("card"))));
  EXPECT_NE(seen.find("Ada Example"), std::string::npos);
  EXPECT_NE(seen.find("low notes rattle"), std::string::npos);
  EXPECT_EQ(seen.find("555 0100"), std::string::npos) << "as little of a person as a paper needs";
  const std::string unseen = text(must(desk->paper(with(Right::look), visit, wanted("card"))));
  EXPECT_EQ(unseen.find("Ada Example"), std::string::npos);
  for (const char* kind : {"quote", "report", "tag"}) {
    EXPECT_EQ(trouble(desk->paper(with(Right::look), visit, wanted(kind))), Trouble::Kind::not_allowed)
        << kind;
    EXPECT_TRUE(desk->paper(with(Right::counter), visit, wanted(kind))) << kind;
  }
}

TEST_P(Papers, AReportHoldsTheFirstReadingsAgainstTheLast) {
  const std::string visit = take_in();
  const std::string key = key_thing(visit, "low-c");
  record::Slip cut = store::test::slip(ids, OperationSlip{}, visit, key);
  auto& did = std::get<OperationSlip>(cut.body);
  did.step = "seat-cut";
  did.end = record::WhichEnd::upper;
  did.turns = record::entry_of(3);
  record::Slip again = cut;
  again.id = ids.next();
  write({cut, again,
         store::test::slip(ids, ReadingSlip{"/readings/end_play", {"\"0.022 mm ± 0.004 mm\"", {}}, {}}, visit,
                           key)});
  PaperWanted report = wanted("report");
  report.language = "de";
  const std::string said = text(must(desk->paper(kAlone, visit, report)));
  for (const char* words :
       {"Vorher und nachher", "0,165", "0,022", "Senkung tiefer gefräst, oben, 6,0 Umdrehungen"})
    EXPECT_NE(said.find(words), std::string::npos) << words << "\n" << said;
}

// What a bench was led through is told to the owner in words, with the end play read first and last.
TEST_P(Papers, AReportTellsOfLedWorkInWords) {
  const std::string visit = take_in();
  const std::string key = key_thing(visit, "low-c");
  const auto told = [&](record::SlipBody body) {
    return store::test::slip(ids, std::move(body), visit, key);
  };
  const auto did = [&](std::string step) {
    OperationSlip out;
    out.step = std::move(step);
    return told(std::move(out));
  };
  std::vector<record::Slip> all{told(record::FindingSlip{"end-play", "0.117 mm", {}})};
  for (std::size_t k = 1; k < belief::kCureCount; ++k)
    all.push_back(did(belief::code(static_cast<belief::Cure>(k))));
  for (const char* step : {"seat-cut", "ream", "face", "drive-home", "turn-screw", "see-cutter", "step"})
    all.push_back(did(step));
  all.push_back(told(record::FindingSlip{"end-play", "cannot", {}}));
  all.push_back(told(record::FindingSlip{"end-play", "0.019 mm ± 0.002 mm", {}}));
  write(all);
  const std::string said = text(must(desk->paper(kAlone, visit, wanted("report"))));
  for (const char* words : {"body straightened", "thread mended", "seat cut deeper", "Before and after"})
    EXPECT_NE(said.find(words), std::string::npos) << words << "\n" << said;
  EXPECT_TRUE(std::regex_search(said, std::regex(R"(0\.117 ± 0\.008.*0\.019 ± 0\.002.*as aimed at)")))
      << said;
  // No code stands for want of words; what was done to a cutter is the shop's.
  EXPECT_FALSE(std::regex_search(said, std::regex(R"(: [a-z]+-[a-z]+|: (ease|cut|step)\b|cutter)"))) << said;
}

TEST_P(Papers, AllOfTheDaysCardsAreOneFile) {
  take_in();
  take_in();
  store::VisitQuery query;
  query.promised_from = query.promised_to = "2026-12-01";
  std::vector<std::size_t> seen;
  const PaperMade all =
      must(desk->papers(kAlone, query, wanted("card"), [&](std::size_t done, std::size_t of) {
        EXPECT_EQ(of, 2U);
        seen.push_back(done);
        return true;
      }));
  EXPECT_EQ(all.visits, 2U);
  EXPECT_EQ(all.pages, 2U);
  EXPECT_TRUE(all.failed.empty());
  EXPECT_EQ(seen, (std::vector<std::size_t>{1, 2}));
  EXPECT_TRUE(all.bytes == must(desk->papers(kAlone, query, wanted("card"))).bytes);
  EXPECT_FALSE(desk->papers(kAlone, query, wanted("card"), [](std::size_t, std::size_t) { return false; }));
  query.promised_from = query.promised_to = "2027-01-01";
  EXPECT_EQ(trouble(desk->papers(kAlone, query, wanted("card"))), Trouble::Kind::not_found);
}

TEST_P(Papers, WhatCannotBeIsRefused) {
  const std::string visit = take_in();
  EXPECT_FALSE(desk->paper(kAlone, visit, wanted("poster")));
  EXPECT_FALSE(desk->paper(kAlone, visit, wanted("lesson")));
  EXPECT_EQ(trouble(desk->paper(kAlone, visit, wanted("card", "no-key"))), Trouble::Kind::not_found);
  EXPECT_EQ(trouble(desk->paper(kAlone, ids.next(), wanted("card"))), Trouble::Kind::not_found);
  for (const char* scale : {"x", "0", "1e9", "10 "}) {
    PaperWanted odd = wanted("drawings", "low-c");
    odd.scale = scale;
    EXPECT_EQ(trouble(desk->paper(kAlone, visit, odd)), Trouble::Kind::not_valid) << scale;
  }
  PaperWanted odd = wanted("card");
  odd.language = "xx";
  EXPECT_FALSE(desk->paper(kAlone, visit, odd));
}

TEST_P(Papers, AgreedQuotesAreHeldAgainstTheMinutes) {
  const std::string visit = take_in();
  const auto whole = json(desk->visit(kAlone, visit));
  record::Slip handed = record::read_slip(whole.at("visit").at("slip").dump(), "visit").value();
  handed.replaces = handed.id;
  handed.id = ids.next();
  std::get<record::VisitSlip>(handed.body).state = record::VisitState::handed_back;
  QuoteLineSlip line{"Low C", record::entry_of(20), {}, record::QuoteState::agreed, {}};
  line.money.present = true;
  line.money.money = Money::hundredths(2000);
  QuoteLineSlip declined = line;
  declined.state = record::QuoteState::declined;
  OperationSlip did;
  did.step = "seat-cut";
  did.minutes = record::entry_of(30);
  write({handed, store::test::slip(ids, line, visit), store::test::slip(ids, declined, visit),
         store::test::slip(ids, did, visit, key_thing(visit, "low-c"))});
  const auto said = json(desk->quoted(kAlone));
  ASSERT_EQ(said.at("visits").size(), 1U) << said.dump(1);
  EXPECT_EQ(said.at("quoted"), 20);
  EXPECT_EQ(said.at("actual"), 30);
  EXPECT_EQ(said.at("ratio"), 1.5);
  EXPECT_EQ(said.at("earned_hourly"), "40.00") << "20 for half an hour";
  EXPECT_EQ(said.at("sure"), false);
  EXPECT_EQ(trouble(desk->quoted(with(Right::bench))), Trouble::Kind::not_allowed);
  PaperWanted german;
  german.language = "de";
  EXPECT_EQ(trouble(desk->quoted_paper(with(Right::bench), german)), Trouble::Kind::not_allowed);
  const std::string paper = text(must(desk->quoted_paper(kAlone, german)));
  for (const char* words :
       {"Veranschlagt und gebraucht", "Demonstration alto saxophone", "150 %", "40,00 crowns", "zu wenige"})
    EXPECT_NE(paper.find(words), std::string::npos) << words << "\n" << paper;
}

INSTANTIATE_TEST_SUITE_P(Databases, Papers, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres));

}  // namespace
}  // namespace hingeline::desk
