// Lists and searches against going through everything, in a book large enough that words are rare and common
// alike: whichever way a statement takes, it says the same.

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "store/support.h"

namespace hingeline::store::test {
namespace {

class Lists : public OnBothBooks {};
INSTANTIATE_TEST_SUITE_P(Both, Lists, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres), name_of);

/// A visit's line with all text that finds it.
struct Known {
  VisitLine line;
  std::vector<std::string> words;
};

bool finds(const Known& known, const std::string& typed) {
  const auto wanted = record::search_words(typed);
  return std::all_of(wanted.begin(), wanted.end(), [&](const std::string& w) {
    return std::any_of(known.words.begin(), known.words.end(),
                       [&](const std::string& k) { return k.rfind(w, 0) == 0; });
  });
}

TEST_P(Lists, SayWhatGoingThroughEverythingSays) {
  // 900 visits: "alto" and "rattles" stand in more rows than are counted, "rare..." in few.
  Ids ids;
  std::mt19937_64 engine(5);
  std::vector<Slip> slips;
  std::vector<Known> all;
  for (int n = 0; n < 300; ++n) {
    const Slip who = slip(ids, owner("Ada" + std::to_string(n % 40) + " Example"));
    const Slip what =
        slip(ids, instrument(n % 3 == 0 ? "Clarinet" : "Alto", "S" + std::to_string(n)), who.id);
    slips.insert(slips.end(), {who, what});
    for (int v = 0; v < 3; ++v) {
      const std::string promised = engine() % 6 == 0 ? "" : "2026-12-" + std::to_string(10 + engine() % 20);
      const auto state = static_cast<record::VisitState>(engine() % 8);
      const std::string complaint = "rattles rare" + std::to_string(engine() % 200);
      const Slip in = slip(ids, visit(complaint, promised, state), what.id);
      slips.push_back(in);
      Known known;
      const auto& thing = std::get<record::InstrumentSlip>(what.body);
      known.line = {in.id,       what.id,      who.id,
                    state,       "2026-11-20", promised,
                    thing.title, thing.serial, std::get<record::OwnerSlip>(who.body).name,
                    complaint};
      for (const Slip* s : {&who, &what, &in}) {
        const auto words = record::search_words(*s);
        known.words.insert(known.words.end(), words.begin(), words.end());
      }
      all.push_back(std::move(known));
    }
  }
  write(slips);
  std::sort(all.begin(), all.end(), [](const Known& a, const Known& b) {
    return std::tuple(a.line.promised.empty(), a.line.promised, a.line.visit) <
           std::tuple(b.line.promised.empty(), b.line.promised, b.line.visit);
  });
  static const std::vector<std::string> kWords{
      "",           "alto", "alto ratt",   "clarinet alto", "rare1",       "rare17 alt",
      "ada3 rattl", "s12",  "nobody here", "rattles s2",    "example rare"};
  using record::VisitState;
  static const std::vector<std::vector<VisitState>> kStates{
      {},
      {VisitState::in_work},
      {VisitState::in_work, VisitState::handed_back, VisitState::in_work},
      {record::kVisitStates.begin(), record::kVisitStates.end()}};
  std::size_t some = 0;
  for (const std::string& words : kWords) {
    for (const auto& states : kStates) {
      for (const auto& [from, to] : {std::pair{"", ""}, std::pair{"2026-12-15", ""},
                                     std::pair{"", "2026-12-12"}, std::pair{"2026-12-14", "2026-12-16"}}) {
        for (const std::size_t skip : {0U, 7U}) {
          VisitQuery query;
          query.words = words;
          query.states = states;
          query.promised_from = from;
          query.promised_to = to;
          query.most = 25;
          query.from = skip;
          std::vector<VisitLine> expected;
          std::size_t left_out = 0;
          for (const Known& k : all) {
            const bool dated = query.promised_from.empty() && query.promised_to.empty();
            const bool in_time =
                dated || (!k.line.promised.empty() && k.line.promised >= query.promised_from &&
                          (query.promised_to.empty() || k.line.promised <= query.promised_to));
            const bool in_state =
                states.empty() || std::find(states.begin(), states.end(), k.line.state) != states.end();
            if (!in_time || !in_state || !finds(k, words) || expected.size() == query.most) continue;
            if (left_out++ >= skip) expected.push_back(k.line);
          }
          some += expected.size();
          EXPECT_EQ(must(book->visits(query)), expected)
              << words << " " << states.size() << " " << from << to << skip;
        }
      }
    }
  }
  EXPECT_GT(some, 1000U);
}

TEST_P(Lists, FindWordsByTheirBeginningInAnyScript) {
  // The last byte of these beginnings is the highest that UTF-8 has there: D0 BF and CE BF.
  Ids ids;
  const Slip who = slip(ids, owner("Супру Οβοο Example"));
  const Slip what = slip(ids, instrument("Клапан", "S1"), who.id);
  const Slip in = slip(ids, visit("клоп скрип", "", record::VisitState::waiting), what.id);
  write(std::vector<Slip>{who, what, in});
  for (const char* typed : {"суп", "Суп", "клоп", "скрип", "оп", "οβο", "οβοο", "клапа"}) {
    VisitQuery query;
    query.words = typed;
    EXPECT_EQ(must(book->visits(query)).size(), std::string(typed) == "оп" ? 0U : 1U) << typed;
  }
}

}  // namespace
}  // namespace hingeline::store::test
