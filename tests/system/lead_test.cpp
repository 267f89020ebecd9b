// A key led on the command line as a person would be: typed answers, left and resumed, cut short.
#include <gtest/gtest.h>
#include <sys/file.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <random>
#include <string>
#include <vector>

#include "program.h"

namespace hingeline::test {
namespace {

using nlohmann::json;

const std::string kSaxophone = example("saxophone.json");

/// A key on matched cones with headed screws, so far only measured.
std::string document(const Folder& folder) {
  return folder.file("horn.json", R"({
  "format": "hingeline-instrument", "version": 1, "title": "Trial horn", "kind": "tenor horn", "units": "mm",
  "body": {"material": "brass"}, "key_material": {"material": "brass"},
  "keys": [{
    "id": "side-b", "name": "Side B",
    "hinge": {
      "kind": "pivot", "span": "40.42 mm ± 0.04", "key_length": "40.00 mm ± 0.04",
      "upper": {"screw": {"pattern": "middle headed"}, "hole": {}, "post": {"diameter": "6.0 mm", "web": "1.6 mm"}},
      "lower": {"screw": {"pattern": "middle headed"}, "hole": {}, "post": {"diameter": "6.0 mm", "web": "1.6 mm"}}
    },
    "allowed": {"pad_gap": "0.5 mm", "rock": "0.5 mm"},
    "readings": {}
  }]
})");
}

/// What the key on the bench shows: a short fit, and nothing else.
class Bench {
 public:
  double end_play = 0.14;
  std::string answer_to(const json& state) {
    const json& next = state["next"];
    const std::string what = next["what"];
    if (what == "look") {
      if (next["check"] == "end-play") return std::to_string(end_play);
      if (next["check"] == "sticks") return "free";
      return next["answers"].empty() ? "0" : next["answers"][0].get<std::string>();
    }
    if (what == "bite") end_play -= next["turns"].get<double>() * 0.021;
    if (what == "ream") end_play += next["amount"].get<double>();
    return "done";
  }
};

json state_of(const std::string& file, const std::string& journal) {
  const Outcome o =
      hingeline_with({"lead", file, "side-b", "--journal", journal, "--json", "--complaint", "loose"});
  EXPECT_EQ(o.code, 0) << o.err;
  return json::parse(o.out);
}

TEST(Lead, ALooseKeyIsLedToItsProofOneAnswerAtATime) {
  const Folder folder;
  const std::string file = document(folder);
  const std::string journal = (folder.path() / "side-b.journal").string();
  const std::string ledger = (folder.path() / "ledger.json").string();
  Bench bench;
  json state = state_of(file, journal);
  std::size_t bites = 0;
  int answers = 0;
  while (!state["finished"].get<bool>() && answers < 120) {
    bites += state["next"]["what"] == "bite" ? 1U : 0U;
    const std::string typed = bench.answer_to(state);
    // Each answer by a program of its own: nothing but the journal connects them.
    const Outcome o = hingeline_with({"lead", file, "side-b", "--journal", journal, "--answer", typed});
    ASSERT_EQ(o.code, 0) << o.err << " after " << state["next"];
    state = state_of(file, journal);
    ++answers;
  }
  EXPECT_EQ(state["next"]["what"], "done") << state["next"];
  EXPECT_GT(bites, 0U);
  EXPECT_GE(bench.end_play, state["window"]["low"].get<double>());
  EXPECT_LE(bench.end_play, state["window"]["high"].get<double>());
  EXPECT_EQ(state["bites"].size(), bites);
  EXPECT_NEAR(state["end_play"]["first"]["value"].get<double>(), 0.14, 1e-6);
  // The end of it, on paper, and the job in the ledger, once.
  for (int k = 0; k < 2; ++k) {
    const Outcome end =
        hingeline_with({"lead", file, "side-b", "--journal", journal, "--ledger", ledger, "--person", "A"});
    EXPECT_EQ(end.code, 0) << end.err;
    EXPECT_NE(end.out.find("before"), std::string::npos);
    EXPECT_NE(end.out.find("after"), std::string::npos);
    EXPECT_NE(end.out.find("wear eye protection"), std::string::npos) << end.out;
  }
  const json booked = json::parse(file_text(ledger));
  ASSERT_EQ(booked["jobs"].size(), 1U);
  EXPECT_EQ(booked["jobs"][0]["key"], "side-b");
  EXPECT_EQ(booked["jobs"][0]["causes"], json({"short-fit"}));
  EXPECT_EQ(booked["jobs"][0]["person"], "A");
  const Outcome learned = hingeline_with({"learned", ledger});
  EXPECT_EQ(learned.code, 0) << learned.err;
}

TEST(Lead, TypedLinesDoTheSameAsAnswersGiven) {
  const Folder folder;
  const std::string file = document(folder);
  const std::string one = (folder.path() / "one.journal").string();
  const std::string two = (folder.path() / "two.journal").string();
  const std::vector<std::string> typed{"free", "0.14 ± 0.008", "rock-upper: 0.01",
                                       "waive bent-key because rolled last week"};
  std::string lines = "causes\nhelp\nnonsense\n";
  std::vector<std::string> arguments{"lead", file, "side-b", "--complaint", "loose", "--journal", two};
  for (const auto& t : typed) {
    lines += t + "\n";
    arguments.insert(arguments.end(), {"--answer", t});
  }
  const Outcome a = hingeline_with({"lead", file, "side-b", "--complaint", "loose", "--journal", one},
                                   {lines + "leave\n", {}, {}});
  EXPECT_EQ(a.code, 0) << a.err;
  EXPECT_NE(a.out.find("nonsense"), std::string::npos);
  EXPECT_NE(a.out.find("for:"), std::string::npos) << a.out;
  EXPECT_EQ(hingeline_with(arguments).code, 0);
  EXPECT_EQ(state_of(file, one), state_of(file, two));
}

TEST(Lead, NothingTypedIsLostHoweverItEnds) {
  const Folder folder;
  const std::string file = document(folder);
  const std::string journal = (folder.path() / "j").string();
  ASSERT_EQ(hingeline_with({"lead", file, "side-b", "--complaint", "loose", "--journal", journal, "--answer",
                            "free", "--answer", "0.14", "--answer", "rock-upper: 0.012"})
                .code,
            0);
  const std::string whole = file_text(journal);
  const json before = state_of(file, journal);
  // Power fails in the middle of the last line, at every byte of it.
  const std::size_t last = whole.rfind('\n', whole.size() - 2) + 1;
  ASSERT_EQ(
      hingeline_with({"lead", file, "side-b", "--journal", journal, "--answer", "wobble-upper: no"}).code, 0);
  const std::string longer = file_text(journal);
  for (std::size_t cut = whole.size(); cut < longer.size(); cut += 7) {
    const std::string torn = folder.file("torn", longer.substr(0, cut));
    EXPECT_EQ(state_of(file, torn), before) << cut;
    EXPECT_EQ(file_text(torn), whole);
  }
  EXPECT_GT(last, 0U);
  // Damage anywhere else is told with its line, and nothing is changed.
  std::string damaged = longer;
  damaged[last + 3] = '\x07';
  const std::string broken = folder.file("broken", damaged);
  const Outcome o = hingeline_with({"lead", file, "side-b", "--journal", broken, "--json"});
  EXPECT_EQ(o.code, 4);
  EXPECT_NE(o.err.find(":4:"), std::string::npos) << o.err;
  EXPECT_EQ(file_text(broken), damaged);
}

TEST(Lead, RefusesWhatIsNotItsOwn) {
  const Folder folder;
  const std::string file = document(folder);
  const std::string journal = (folder.path() / "j").string();
  ASSERT_EQ(hingeline_with({"lead", file, "side-b", "--journal", journal, "--answer", "free"}).code, 0);
  // Another key's journal.
  const Outcome other = hingeline_with({"lead", kSaxophone, "low-c", "--journal", journal});
  EXPECT_EQ(other.code, 4);
  EXPECT_NE(other.err.find("Side B"), other.err.find("side-b"));
  // Open at another bench.
  const int held = open(journal.c_str(), O_RDWR);
  ASSERT_GE(held, 0);
  ASSERT_EQ(flock(held, LOCK_EX), 0);
  const Outcome busy = hingeline_with({"lead", file, "side-b", "--journal", journal, "--json"});
  EXPECT_EQ(busy.code, 3);
  EXPECT_NE(busy.err.find("another bench"), std::string::npos) << busy.err;
  close(held);
  EXPECT_EQ(hingeline_with({"lead", file, "side-b", "--journal", folder.path().string()}).code, 3);
  EXPECT_EQ(hingeline_with({"lead", file, "side-b", "--journal", "/dev/full", "--answer", "free"}).code, 3);
  EXPECT_EQ(hingeline_with({"lead", file, "no-such-key"}).code, 6);
  EXPECT_EQ(hingeline_with({"lead", file, "side-b", "--complaint", "sad"}).code, 2);
  for (const char* wrong : {"perhaps", "waive dirt", "waive nothing because", "rock-uper: 0.1", "bore: 0.1",
                            "sticks: 9", "end-play: 1e9"}) {
    const Outcome o = hingeline_with({"lead", file, "side-b", "--answer", wrong});
    EXPECT_GE(o.code, 4) << wrong << o.out;
    EXPECT_FALSE(o.err.empty());
  }
}

TEST(Lead, AnyLinesTypedNeverBreakIt) {
  const Folder folder;
  const std::string file = document(folder);
  std::mt19937 engine(4);
  const std::vector<std::string> words{"free",
                                       "yes",
                                       "no",
                                       "done",
                                       "0.1",
                                       "-0.4 mm",
                                       "1e300",
                                       "cannot",
                                       "causes",
                                       "waive dirt because x",
                                       "2.5 turns",
                                       "rim",
                                       "worn",
                                       "1",
                                       "\x01\xff",
                                       "end-play: 0.2 in",
                                       "look-upper: cannot",
                                       ":",
                                       "::",
                                       "0.02 ± 0.01 mm"};
  for (int run = 0; run < 6; ++run) {
    std::string lines;
    for (int k = 0; k < 150; ++k) lines += words[engine() % words.size()] + "\n";
    const Outcome o = hingeline_with({"lead", file, "side-b"}, {lines, {}, {}});
    EXPECT_EQ(o.code, 0) << o.err;
    EXPECT_EQ(o.out.find("nan"), std::string::npos);
  }
}

TEST(Lead, TakesAReadingWithAnInstrumentOfTheShop) {
  const Folder folder;
  const std::string file = document(folder);
  const auto state = [&](const std::string& answer) {
    const Outcome o = hingeline_with({"lead", file, "side-b", "--answer", answer, "--json"});
    EXPECT_EQ(o.code, 0) << o.err;
    return o.code == 0 ? json::parse(o.out) : json();
  };
  // The leaf of 0.14 goes in, that of 0.15 does not: between the two, and the leaf itself 0.003 off (k = 2).
  const json by_leaf = state("end-play: 0.14 mm with feeler");
  EXPECT_NEAR(by_leaf["end_play"]["latest"]["value"].get<double>(), 0.145, 1e-9);
  EXPECT_NEAR(by_leaf["end_play"]["latest"]["plus_minus"].get<double>(),
              2 * std::hypot(0.01 / std::sqrt(12.0), 0.0015), 1e-6);
  const json stated = state("end-play: 0.14 ± 0.02 mm with feeler");
  EXPECT_NEAR(stated["end_play"]["latest"]["value"].get<double>(), 0.14, 1e-9);
  EXPECT_NEAR(stated["end_play"]["latest"]["plus_minus"].get<double>(), 0.02, 1e-9);
  const Outcome none = hingeline_with({"lead", file, "side-b", "--answer", "end-play: 0.14 with felt"});
  EXPECT_EQ(none.code, 6);
  EXPECT_NE(none.err.find("no measuring instrument \"felt\""), std::string::npos) << none.err;
  // Kept in a journal as it was typed, and the same when it goes on.
  const std::string journal = (folder.path() / "j").string();
  ASSERT_EQ(hingeline_with({"lead", file, "side-b", "--journal", journal, "--answer",
                            "end-play: 0.14 with feeler", "--json"})
                .code,
            0);
  EXPECT_NE(file_text(journal).find("0.14 mm with feeler"), std::string::npos);
  const Outcome again = hingeline_with({"lead", file, "side-b", "--journal", journal, "--json"});
  EXPECT_EQ(json::parse(again.out)["end_play"], by_leaf["end_play"]);
}

TEST(Causes, TellsOfEveryKeyAndOfTheBody) {
  const Outcome o = hingeline_with({"causes", kSaxophone});
  EXPECT_EQ(o.code, 0) << o.err;
  EXPECT_NE(o.out.find("\nhigh-e "), std::string::npos);
  EXPECT_NE(o.out.find("Body: "), std::string::npos);
  const json all = json::parse(hingeline_with({"causes", kSaxophone, "--json"}).out);
  EXPECT_EQ(all["keys"].size(), json::parse(file_text(kSaxophone))["keys"].size());
  for (const json& key : all["keys"]) EXPECT_FALSE(key["causes"].empty()) << key["id"];
  const Outcome one = hingeline_with({"causes", kSaxophone, "low-c"});
  EXPECT_NE(one.out.find("against: "), std::string::npos);
  EXPECT_EQ(hingeline_with({"causes", kSaxophone, "low-c", "--json", "--threads", "1"}).out,
            hingeline_with({"causes", kSaxophone, "low-c", "--json", "--threads", "3"}).out);
  EXPECT_EQ(hingeline_with({"causes", kSaxophone, "lowc"}).code, 6);
}

TEST(Trial, PrintsItsTableAndTheSameForTheSameSeed) {
  const std::vector<std::string> ask{"trial", "--keys", "12", "--seed", "3"};
  const Outcome a = hingeline_with(ask);
  EXPECT_EQ(a.code, 0) << a.err;
  EXPECT_NE(a.out.find("right cause named first"), std::string::npos);
  EXPECT_EQ(a.out, hingeline_with({"trial", "--keys", "12", "--seed", "3", "--threads", "1"}).out);
  const json j = json::parse(hingeline_with({"trial", "--keys", "12", "--seed", "3", "--json"}).out);
  EXPECT_EQ(j["keys"], 12);
  EXPECT_EQ(hingeline_with({"trial", "--keys", "0"}).code, 2);
}

}  // namespace
}  // namespace hingeline::test
