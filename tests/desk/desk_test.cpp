// The desk's use cases, on both databases.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>

#include "desk/support.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/budget.h"
#include "hingeline/service/leak.h"

namespace hingeline::desk::test {
namespace {

using record::SlipKind;
using Kind = Trouble::Kind;

INSTANTIATE_TEST_SUITE_P(Both, Desks, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres),
                         store::test::name_of);

TEST_P(Desks, ADocumentComesOutAsItWentIn) {
  const std::string visit = take_in();
  const auto before = record::read_instrument(example("saxophone.json"), "saxophone.json");
  ASSERT_TRUE(before);
  EXPECT_EQ(must(desk->document(kAlone, visit)), record::write_instrument(*before));
  const auto shop = record::read_shop(example("shop.json"), "shop.json");
  ASSERT_TRUE(shop);
  EXPECT_EQ(must(desk->shop(kAlone)), record::write_shop(*shop));

  // Sent twice it counts once.
  const auto counts = json(desk->counts(kAlone));
  const Json again = json(desk->take_in(kAlone, last_take_in.dump()));
  EXPECT_EQ(again.at("visit"), visit);
  for (const Json& o : again.at("outcomes")) EXPECT_EQ(o.at("outcome"), "already");
  EXPECT_EQ(json(desk->counts(kAlone)), counts);

  const Json whole = json(desk->visit(kAlone, visit));
  EXPECT_EQ(whole.at("visit").at("slip").at("body").at("complaint"), "low notes rattle");
  EXPECT_EQ(whole.at("keys").size(), before->keys.size());
  EXPECT_TRUE(whole.at("owner").is_null());
}

TEST_P(Desks, WhatIsWorkedOutIsWhatTheServiceSays) {
  const std::string visit = take_in();
  const auto instrument = record::read_instrument(example("saxophone.json"), "saxophone.json");
  const auto shop = record::read_shop(example("shop.json"), "shop.json");
  ASSERT_TRUE(instrument && shop);
  const auto result = service::work_out(*instrument, *shop, 1);
  EXPECT_EQ(must(desk->ask(kAlone, visit, Question::fit, {})), service::to_json(result, instrument->units));
  Asking inches;
  inches.unit = "in";
  inches.key = result.keys.front().id;
  EXPECT_EQ(must(desk->ask(kAlone, visit, Question::fit, inches)),
            service::to_json(result, LengthUnit::inch, inches.key));
  const auto leak = service::leak_of(result, *instrument, *shop);
  ASSERT_TRUE(leak);
  EXPECT_EQ(must(desk->ask(kAlone, visit, Question::leak, {})), service::to_json(*leak, instrument->units));
  Asking budget;
  budget.minutes = "120";
  budget.money = "150";
  service::BudgetAsked wanted;
  ASSERT_TRUE(service::read_limits("120", "150", wanted));
  const auto choice = service::budget_of(result, *instrument, *shop, wanted);
  ASSERT_TRUE(choice);
  EXPECT_EQ(must(desk->ask(kAlone, visit, Question::budget, budget)), service::to_json(*choice));
  for (const Question q : kQuestions) EXPECT_TRUE(desk->ask(kAlone, visit, q, {})) << word(q);

  EXPECT_NE(must(desk->drawing(kAlone, visit, "low-c", "strip", "")).find("<svg"), std::string::npos);
  EXPECT_EQ(json(desk->why(kAlone, visit, "low-c", "end-play", "mm")).at("figure"), "end-play");
  EXPECT_EQ(trouble(desk->drawing(kAlone, visit, "low-c", "photograph", "")), Kind::not_found);
  EXPECT_EQ(trouble(desk->why(kAlone, visit, "low-q", "end-play", "mm")), Kind::not_found);
  Asking wrong;
  wrong.unit = "furlong";
  EXPECT_EQ(trouble(desk->ask(kAlone, visit, Question::fit, wrong)), Kind::not_valid);
  wrong = {};
  wrong.minutes = "many";
  EXPECT_EQ(trouble(desk->ask(kAlone, visit, Question::budget, wrong)), Kind::malformed);
  EXPECT_EQ(trouble(desk->ask(kAlone, "nothing", Question::fit, {})), Kind::not_found);
}

TEST_P(Desks, AReadingMovesItsKey) {
  const std::string visit = take_in();
  const Json whole = json(desk->visit(kAlone, visit));
  std::string key;
  for (const Json& k : whole.at("keys")) {
    if (k.at("slip").at("body").at("id") == "low-c") key = k.at("thing");
  }
  Asking low_c;
  low_c.key = "low-c";
  const auto end_play = [&] {
    return json(desk->ask(kAlone, visit, Question::fit, low_c)).at("keys").at(0).at("figures").dump();
  };
  const std::string before = end_play();
  Json reading;
  for (const Json& r : whole.at("readings")) {
    const Json& slip = r.at("slip");
    if (slip.at("key") == key && slip.at("body").at("at") == "/readings/end_play") reading = slip;
  }
  ASSERT_FALSE(reading.is_null());
  const auto old = record::read_slip(reading.dump(), "reading");
  ASSERT_TRUE(old);
  const record::Slip better = store::test::instead(
      ids, *old, record::ReadingSlip{"/readings/end_play", {"\"0.300 mm ± 0.01 mm\"", {}}, {}});
  EXPECT_EQ(write({better}).at("outcomes").at(0).at("outcome"), "written");
  EXPECT_NE(end_play(), before);

  // One that leads nowhere would spoil the document for all: it is refused, with the place, and nothing of
  // its batch is written.
  const auto slips = json(desk->counts(kAlone)).at("slips");
  record::Slip astray = store::test::slip(
      ids, record::ReadingSlip{"/readings/end_play/0/deeper", {"\"1 mm\"", {}}, {}}, visit, key);
  // Later than what came with the document: the later one counts.
  astray.id = big_id();
  record::Slip fine = store::test::slip(ids, record::NoteSlip{"note", {}}, visit);
  const auto refused = desk->write(kAlone, batch({fine, astray}));
  EXPECT_EQ(trouble(refused), Kind::not_valid);
  EXPECT_EQ(json(desk->counts(kAlone)).at("slips"), slips);
  record::Slip negative =
      store::test::slip(ids, record::ReadingSlip{"/hinge/span", {"\"-4 mm\"", {}}, {}}, visit, key);
  negative.id = big_id();
  EXPECT_EQ(trouble(desk->write(kAlone, batch({negative}))), Kind::not_valid);
  // A correction says why.
  record::Slip silent = better;
  silent.id = ids.next();
  silent.replaces = better.id;
  silent.why.clear();
  EXPECT_EQ(trouble(desk->write(kAlone, batch({silent}))), Kind::not_valid);
}

TEST_P(Desks, RightsAreKept) {
  // Who may write what: every kind with every right.
  const std::string visit = take_in();
  const Json whole = json(desk->visit(kAlone, visit));
  const std::string instrument = whole.at("instrument").at("thing");
  const std::string key = whole.at("keys").at(0).at("thing");
  const std::string extra = whole.at("keys").at(0).at("slip").at("body").at("document").dump();
  const auto bodies = [&]() -> std::vector<record::Slip> {
    using namespace record;  // NOLINT(google-build-using-namespace): seventeen kinds
    namespace t = store::test;
    return {
        t::slip(ids, PersonSlip{"Kit Example", "k", Role::bench, false, {}}),
        t::slip(ids, OwnerSlip{"Ada Example", "555 0100", {}, {}}),
        t::slip(ids, InstrumentSlip{"Another", "clarinet", "7", {}, {}}),
        t::slip(ids, KeySlip{"extra", {}, {extra, {}}, {}}, instrument),
        t::slip(ids, VisitSlip{"", "2026-11-20", "", VisitState::waiting, {}, {}}, instrument),
        t::slip(ids, ReadingSlip{"/readings/end_play", {"\"0.2 mm\"", {}}, {}}, visit, key),
        t::slip(ids, FindingSlip{"sticks", "no", {}}, visit, key),
        t::slip(ids, OperationSlip{"seat-cut", {}, {}, {}, {}, {}, {}, {}, {}}, visit, key),
        t::slip(ids, WaiverSlip{CauseWord::dirt, "seen clean", {}}, visit, key),
        t::slip(ids, ExceptionSlip{"leak", "owner likes it", {}}, visit),
        t::slip(ids, NoteSlip{"note", {}}, visit),
        t::slip(ids, QuoteLineSlip{"fit", {}, {}, QuoteState::offered, {}}, visit),
        t::slip(ids, ToolSlip{ToolList::cutters, {R"({"name": "another", "diameter": "5.00 mm"})", {}}, {}}),
        t::slip(ids, PatternSlip{{R"({"name": "another"})", {}}, {}}),
        t::slip(ids, PresetSlip{"/presets/window_high", {"\"0.10 mm\"", {}}, {}})};
  };
  for (const Right right : {Right::look, Right::counter, Right::bench, Right::owner}) {
    const std::string person =
        "0190b6f0-0000-7000-8000-00000000000" + std::to_string(static_cast<int>(right));
    for (record::Slip& slip : bodies()) {
      slip.by = person;
      const auto before = json(desk->counts(kAlone));
      const auto answer = desk->write(with(right, person), batch({slip}));
      const bool may = right >= right_for(slip.kind());
      if (may) {
        EXPECT_TRUE(answer) << word(right) << " " << record::word(slip.kind()) << ": "
                            << answer.error().errors.front().what;
        continue;
      }
      EXPECT_EQ(trouble(answer), Kind::not_allowed) << word(right) << " " << record::word(slip.kind());
      EXPECT_EQ(json(desk->counts(kAlone)), before);
    }
    // Nobody signs for somebody else.
    record::Slip forged = store::test::slip(ids, record::NoteSlip{"note", {}}, visit);
    forged.by = "0190b6f0-0000-7000-8000-0000000000ff";
    EXPECT_EQ(trouble(desk->write(with(right, person), batch({forged}))), Kind::not_allowed);
    const bool owner = right == Right::owner;
    EXPECT_EQ(desk->put_shop(with(right), "{}").error().kind, owner ? Kind::not_valid : Kind::not_allowed);
    EXPECT_EQ(desk->set(with(right), "{}").error().kind, owner ? Kind::not_valid : Kind::not_allowed);
    EXPECT_EQ(desk->owner_all(with(right), "x").error().kind, owner ? Kind::not_found : Kind::not_allowed);
    EXPECT_EQ(desk->forget_owner(with(right), "x", "{}").error().kind,
              owner ? Kind::not_valid : Kind::not_allowed);
    EXPECT_EQ(desk->add_photo(with(right), "x", visit, "", "", "none").error().kind,
              right >= Right::counter ? Kind::malformed : Kind::not_allowed);
    EXPECT_EQ(static_cast<bool>(desk->readings_csv(with(right), 0, 1, [](std::string_view) { return true; })),
              right >= Right::bench);
    EXPECT_EQ(desk->tell(with(right), visit, "low-c", "", "{}").error().kind,
              right >= Right::bench ? Kind::not_valid : Kind::not_allowed);
  }
}

TEST_P(Desks, LookOnlySeesNoOwners) {
  const record::Slip owner =
      store::test::slip(ids, record::OwnerSlip{"Zenobia Example", "555 0199", "pays late", {}});
  const record::Slip note = store::test::slip(ids, record::NoteSlip{"asks for Quentin", {}}, owner.id);
  write({owner, note});
  const std::string visit = take_in(owner.id);
  const Who looker = with(Right::look);
  const Who counter = with(Right::counter);
  const auto found = [&](const Who& who, const std::string& words) {
    store::VisitQuery query;
    query.words = words;
    return json(desk->visits(who, query)).at("visits").size();
  };
  EXPECT_EQ(found(counter, "zenobia"), 1U);
  EXPECT_EQ(found(counter, "quentin"), 1U);
  EXPECT_EQ(found(looker, "zenobia"), 0U);
  EXPECT_EQ(found(looker, "quentin"), 0U);
  EXPECT_EQ(found(looker, "rattle"), 1U);
  const auto nowhere = [](const std::string& text) {
    for (const char* word : {"Zenobia", "555 0199", "pays late", "Quentin"})
      EXPECT_EQ(text.find(word), std::string::npos) << word << " in " << text;
  };
  nowhere(must(desk->visits(looker, {})));
  nowhere(must(desk->visit(looker, visit)));
  EXPECT_NE(must(desk->visit(counter, visit)).find("Zenobia"), std::string::npos);
  EXPECT_EQ(trouble(desk->thing(looker, owner.id)), Kind::not_found);
  EXPECT_EQ(trouble(desk->history(looker, owner.id)), Kind::not_found);
  EXPECT_EQ(trouble(desk->thing(looker, note.id)), Kind::not_found);
  EXPECT_EQ(trouble(desk->belonging(looker, owner.id, "", "")), Kind::not_found);
  EXPECT_EQ(trouble(desk->all_of(looker, "owner", "", 10)), Kind::not_allowed);
  EXPECT_EQ(trouble(desk->all_of(looker, "note", "", 10)), Kind::not_allowed);
  store::VisitQuery of_owner;
  of_owner.owner = owner.id;
  EXPECT_EQ(trouble(desk->visits(looker, of_owner)), Kind::not_allowed);
  for (const News& n : must(desk->news(0, 1000))) {
    if (n.right <= Right::look) nowhere(n.json);
  }
}

TEST_P(Desks, AnOwnerIsShownAndForgotten) {
  const record::Slip owner = store::test::slip(ids, record::OwnerSlip{"Zenobia Example", "555 0199", "", {}});
  const record::Slip note = store::test::slip(ids, record::NoteSlip{"Zenobia pays in cash", {}}, owner.id);
  write({owner, note});
  const std::string visit = take_in(owner.id);
  const Json all = json(desk->owner_all(kAlone, owner.id));
  EXPECT_NE(all.dump().find("555 0199"), std::string::npos);
  EXPECT_EQ(all.at("instruments").at(0).at("visits").size(), 1U);
  const std::string figures = must(desk->ask(kAlone, visit, Question::fit, {}));
  const Json named = {{"id", ids.next()}};
  must(desk->forget_owner(kAlone, owner.id, named.dump()));
  EXPECT_EQ(must(desk->owner_all(kAlone, owner.id)).find("Zenobia"), std::string::npos);
  EXPECT_EQ(must(desk->visit(kAlone, visit)).find("555 0199"), std::string::npos);
  // A bench that was away brings what it wrote before: the words do not come back.
  const record::Slip late =
      store::test::instead(ids, owner, record::OwnerSlip{"Zenobia Example", "555 0200", {}, {}});
  EXPECT_EQ(write({late}).at("outcomes").at(0).at("outcome"), "written");
  EXPECT_EQ(write({late}).at("outcomes").at(0).at("outcome"), "already");
  EXPECT_EQ(must(desk->history(kAlone, owner.id)).find("555 0200"), std::string::npos);
  EXPECT_EQ(must(desk->history(kAlone, note.id)).find("cash"), std::string::npos);
  store::VisitQuery query;
  for (const char* words : {"zenobia", "cash"}) {
    query.words = words;
    EXPECT_EQ(json(desk->visits(kAlone, query)).at("visits").size(), 0U);
  }
  EXPECT_EQ(must(desk->ask(kAlone, visit, Question::fit, {})), figures);
  EXPECT_EQ(trouble(desk->forget_owner(kAlone, visit, Json({{"id", ids.next()}}).dump())), Kind::not_found);
}

TEST_P(Desks, SettingsAreSaidAndSet) {
  const std::string visit = take_in();
  const auto setting = [&](const std::string& at) -> Json {
    const Json all = json(desk->settings(kAlone));
    for (const Json& s : all.at("settings")) {
      if (s.at("at") == at) return s;
    }
    return {};
  };
  const Json before = setting("/presets/window_high");
  ASSERT_FALSE(before.is_null());
  EXPECT_FALSE(before.at("meaning").get<std::string>().empty());
  EXPECT_TRUE(before.at("limits").contains("what"));
  const auto window = [&] {
    return json(desk->ask(kAlone, visit, Question::fit, {})).at("keys").at(0).at("window").at("high");
  };
  const Json high = window();
  const std::string id = ids.next();
  const Json wanted = {{"id", id}, {"at", "/presets/window_high"}, {"value", "0.040 mm"}};
  must(desk->set(kAlone, wanted.dump()));
  EXPECT_EQ(setting("/presets/window_high").at("origin"), "set");
  EXPECT_NE(window(), high);
  EXPECT_EQ(json(desk->set(kAlone, wanted.dump())).at("outcomes").size(), 0U);  // sent twice
  // What cannot be is refused, with its place.
  const auto refused = desk->set(
      kAlone, Json({{"id", ids.next()}, {"at", "/presets/window_high"}, {"value", "-1 mm"}}).dump());
  EXPECT_EQ(trouble(refused), Kind::not_valid);
  EXPECT_EQ(refused.error().errors.front().place.pointer, "/presets/window_high");
  EXPECT_EQ(trouble(desk->set(
                kAlone, Json({{"id", ids.next()}, {"at", "/presets/nothing"}, {"value", "1 mm"}}).dump())),
            Kind::not_valid);
  must(desk->set(kAlone,
                 Json({{"id", ids.next()}, {"at", "/presets/window_high"}, {"value", nullptr}}).dump()));
  EXPECT_EQ(window(), high);
  // Words are chosen from a few, or have a form.
  EXPECT_EQ(setting("/paper").at("general"), "A4");
  EXPECT_EQ(setting("/paper").at("limits").at("enum"), Json::parse(R"(["A4", "letter"])"));
  must(desk->set(kAlone, Json({{"id", ids.next()}, {"at", "/paper"}, {"value", "letter"}}).dump()));
  EXPECT_EQ(setting("/paper").at("value"), "letter");
  must(
      desk->set(kAlone, Json({{"id", ids.next()}, {"at", "/time_zone"}, {"value", "Europe/Vienna"}}).dump()));
  EXPECT_EQ(setting("/time_zone").at("value"), "Europe/Vienna");
  EXPECT_EQ(trouble(desk->set(kAlone,
                              Json({{"id", ids.next()}, {"at", "/time_zone"}, {"value", "Vienna!"}}).dump())),
            Kind::not_valid);
  // All that the shop's presets can say is there, each with its meaning.
  const Json all = json(desk->settings(kAlone)).at("settings");
  EXPECT_GT(all.size(), 150U);
  for (const Json& s : all) EXPECT_FALSE(s.at("meaning").get<std::string>().empty()) << s.at("at");
}

TEST_P(Desks, AKeyIsLed) {
  const std::string visit = take_in();
  Json state = json(desk->led(kAlone, visit, "low-c", ""));
  EXPECT_EQ(state.at("told"), 0);
  const auto tell = [&](const std::string& typed, const std::string& id, std::int64_t seen) {
    return desk->tell(kAlone, visit, "low-c", "",
                      Json({{"id", id}, {"typed", typed}, {"seen", seen}}).dump());
  };
  const std::string first = big_id();
  const std::int64_t seen = state.at("as_of").get<std::int64_t>();
  state = json(tell("sticks: free", first, seen));
  EXPECT_EQ(state.at("told"), 1);
  // Sent twice it counts once, and is answered with how things stand.
  EXPECT_EQ(json(tell("sticks: free", first, seen)).at("told"), 1);
  // Somebody else at the same key, who has not seen it, is told so.
  EXPECT_EQ(trouble(tell("sticks: all round", big_id(), seen)), Kind::overtaken);
  EXPECT_EQ(json(desk->led(kAlone, visit, "low-c", "")).at("told"), 1);
  EXPECT_EQ(trouble(tell("no such thing", big_id(), state.at("as_of"))), Kind::not_valid);
  EXPECT_EQ(trouble(tell("waive dirt because of\x01 it", big_id(), state.at("as_of"))), Kind::malformed);
  // Another desk on the same book, which has seen none of it, comes to the very same.
  auto other = Desk::open(address);
  ASSERT_TRUE(other);
  EXPECT_EQ(must((*other)->led(kAlone, visit, "low-c", "")), must(desk->led(kAlone, visit, "low-c", "")));
  // On to the end, saying what is asked for: each is an entry of the book.
  int steps = 0;
  while (!state.at("state").at("finished").get<bool>() && steps < 60) {
    const Json& next = state.at("state").at("next");
    const std::string what = next.at("what");
    std::string typed = "done";
    if (what == "look") {
      const std::string check = next.at("check");
      typed = check == "end-play" ? (steps < 12 ? "0.09 mm" : "0.03 mm") : "cannot";
    }
    const auto told = tell(typed, big_id(), state.at("as_of"));
    ASSERT_TRUE(told) << what << " " << typed << ": " << told.error().errors.front().what;
    state = Json::parse(*told);
    ++steps;
  }
  EXPECT_TRUE(state.at("state").at("finished").get<bool>()) << steps;
  EXPECT_TRUE(state.at("left_out").empty()) << state.at("left_out");
  // A fresh desk, which replays the book, stands where this one does.
  auto third = Desk::open(address);
  ASSERT_TRUE(third);
  EXPECT_EQ(must((*third)->led(kAlone, visit, "low-c", "")), must(desk->led(kAlone, visit, "low-c", "")));
  const Json whole = json(desk->visit(kAlone, visit));
  EXPECT_GT(whole.at("findings").size() + whole.at("operations").size(), 1U);
}

TEST_P(Desks, WhereAllKeysStandAgreesWithEachLed) {
  const std::string visit = take_in();
  const Json all = json(desk->standing(kAlone, visit)).at("keys");
  const auto row = [](const Json& keys, const std::string& key) {
    const auto at = std::find_if(keys.begin(), keys.end(), [&](const Json& k) { return k.at("key") == key; });
    return at == keys.end() ? Json() : *at;
  };
  EXPECT_EQ(all.size(), last_take_in.at("document").at("keys").size());
  // The examples' straightedge and keys say that the body is bent: nothing is to be cut before that is looked
  // at.
  const Json before = row(all, "low-c");
  ASSERT_FALSE(before.is_null());
  EXPECT_EQ(before.at("told"), 0);
  const auto bent = [](const Json& list) {
    return std::any_of(list.begin(), list.end(), [](const Json& b) { return b.at("cause") == "bent-body"; });
  };
  EXPECT_TRUE(bent(before.at("before_cut")));
  // A key that was told something is led; both say the same of it.
  const Json told =
      json(desk->tell(kAlone, visit, "low-c", "mm",
                      Json({{"id", ids.next()},
                            {"typed", "free"},
                            {"seen", json(desk->led(kAlone, visit, "low-c", "mm")).at("as_of")}})
                          .dump()));
  const Json after = row(json(desk->standing(kAlone, visit)).at("keys"), "low-c");
  EXPECT_EQ(after.at("told"), 1);
  EXPECT_EQ(after.at("next").at("what"), told.at("state").at("next").at("what"));
  EXPECT_EQ(after.at("before_cut"), told.at("state").at("before_cut"));
  EXPECT_EQ(after.at("cause"), told.at("state").at("causes").at(0).at("cause"));
  // Evidence comes in codes beside its sentence.
  bool coded = false;
  for (const char* way : {"for", "against"}) {
    for (const Json& e : told.at("state").at("causes").at(0).at(way)) {
      coded = true;
      EXPECT_TRUE(e.contains("answer") != e.contains("value")) << e;
    }
  }
  EXPECT_TRUE(coded);
}

TEST_P(Desks, WhatIsNotReadYetIsCounted) {
  const std::string visit = take_in();
  const auto row = [&] { return json(desk->to_read(kAlone)).at("visits").at(0); };
  const Json before = row();
  EXPECT_EQ(before.at("visit"), visit);
  std::size_t read = 0;
  for (const Json& k : last_take_in.at("document").at("keys"))
    read += k.contains("readings") && k.at("readings").contains("end_play") ? 1U : 0U;
  EXPECT_EQ(before.at("read"), read);
  EXPECT_EQ(before.at("keys"), last_take_in.at("document").at("keys").size());
  // A visit that is done waits for nothing.
  const Json thing = json(desk->thing(kAlone, visit));
  record::VisitSlip says;
  says.came = "2026-11-20";
  says.state = record::VisitState::handed_back;
  record::Slip slip = store::test::slip(ids, std::move(says), thing.at("slip").at("of").get<std::string>());
  slip.replaces = thing.at("slip").at("id").get<std::string>();
  slip.why = "moved on";
  write({slip});
  EXPECT_TRUE(json(desk->to_read(kAlone)).at("visits").empty());
}

TEST_P(Desks, FiguresComeWithoutTheirInputsWhenAsked) {
  const std::string visit = take_in();
  Asking asking;
  asking.key = "low-c";
  const std::string full = must(desk->ask(kAlone, visit, Question::leak, asking));
  asking.inputs = false;
  const std::string brief = must(desk->ask(kAlone, visit, Question::leak, asking));
  EXPECT_NE(full.find("\"inputs\""), std::string::npos);
  EXPECT_EQ(brief.find("\"inputs\""), std::string::npos);
  EXPECT_EQ(Json::parse(full).at("total").at("value"), Json::parse(brief).at("total").at("value"));
}

TEST_P(Desks, WhatTheShopForgetsNoLongerTeaches) {
  const std::string visit = take_in();
  // A finished visit with one bite that was read.
  record::OperationSlip bite;
  bite.step = "seat-cut";
  bite.end = record::WhichEnd::upper;
  bite.turns = record::entry_of(1);
  bite.taken = record::entry_of(millimetres(0.05), millimetres(0.004));
  bite.tool = "4.00 mm seat cutter";
  const Json whole = json(desk->visit(kAlone, visit));
  const auto keys = whole.at("keys");
  record::Slip cut = store::test::slip(ids, bite, visit);
  cut.key = keys.at(0).at("thing").get<std::string>();
  record::VisitSlip says;
  says.came = "2026-11-20";
  says.state = record::VisitState::proved;
  record::Slip done =
      store::test::slip(ids, std::move(says), whole.at("instrument").at("thing").get<std::string>());
  done.replaces = whole.at("visit").at("slip").at("id").get<std::string>();
  done.why = "moved on";
  write({cut, done});
  const Json learned = json(desk->learned(kAlone, "mm"));
  ASSERT_EQ(learned.at("jobs"), 1);
  const double taught = learned.at("take_off").at(0).at("per_turn");
  EXPECT_GT(taught, 0.02);
  const Json forget = {{"id", ids.next()},
                       {"at", "/forgotten"},
                       {"value", {{{"what", "take-off"}, {"before", "2030-01-01"}}}}};
  must(desk->set(kAlone, forget.dump()));
  const Json after = json(desk->learned(kAlone, "mm"));
  EXPECT_EQ(after.at("jobs"), 1);
  EXPECT_EQ(after.at("take_off").at(0).at("per_turn"), after.at("take_off").at(0).at("preset"));
}

TEST_P(Desks, ToolsAreCountedOverAllInstruments) {
  take_in();
  const Json outfit = json(desk->outfit(kAlone));
  EXPECT_EQ(outfit.at("instruments"), 1);
  ASSERT_EQ(outfit.at("kinds").at(0).at("tool"), "cutter");
  // As the command line's outfit has it of the same documents: heads of 3, 4 and 5 mm.
  EXPECT_EQ(outfit.at("kinds").at(0).at("met").size(), 3U);
}

TEST_P(Desks, ARigIsItsDocument) {
  const Json document = Json::parse(example("rig.json"));
  const Json asked = {{"document", document}, {"now", "2026-10-12T09:00:00+02:00"}};
  const Json now = json(desk->rig(kAlone, asked.dump()));
  // 2 a second from 5 October 09:00 to 12 October 08:30, then it stood: by hand.
  EXPECT_EQ(now.at("state").at("closings"), 2 * ((7 * 24 * 3600) - 1800));
  EXPECT_TRUE(now.at("state").at("rate").is_null());
  EXPECT_EQ(now.at("document"), document);
  Json act = asked;
  act["act"] = {{"do", "dance"}};
  EXPECT_EQ(trouble(desk->rig(kAlone, act.dump())), Trouble::Kind::not_valid);
}

TEST_P(Desks, APupilsBenchIsTheSameEachTime) {
  Json asked = {
      {"seed", 7},
      {"kind", "headed"},
      {"acts", {{{"do", "look"}, {"check", "end-play"}}, {{"do", "cut"}, {"end", "upper"}, {"turns", 1.5}}}}};
  const Json first = json(desk->practise(kAlone, asked.dump()));
  EXPECT_EQ(first, json(desk->practise(kAlone, asked.dump())));
  EXPECT_TRUE(first.at("said").at(0).contains("value"));
  EXPECT_GT(first.at("metal").get<double>(), 0);
  EXPECT_FALSE(first.contains("truth"));
  EXPECT_FALSE(first.contains("hint"));
  asked["show"] = "truth";
  EXPECT_TRUE(json(desk->practise(kAlone, asked.dump())).at("truth").contains("least_metal"));
  asked["show"] = "hint";
  EXPECT_FALSE(json(desk->practise(kAlone, asked.dump())).at("hint").at("causes").empty());
  asked["kind"] = "rod";  // nothing to cut there
  EXPECT_EQ(trouble(desk->practise(kAlone, asked.dump())), Trouble::Kind::not_valid);
}

TEST_P(Desks, WhatABiteTookIsWrittenOnceItIsRead) {
  const std::string visit = take_in();
  const std::string key = "palm-e-flat";
  Json state = json(desk->led(kAlone, visit, key, ""));
  double play = 0.052;
  std::size_t bites = 0;
  for (int step = 0; step < 100 && !state.at("state").at("finished").get<bool>(); ++step) {
    const Json next = state.at("state").at("next");
    std::vector<std::string> answers{"done"};
    if (next.at("what") == "look") answers = {"no", "free", "clean cone", "flank", "cannot"};
    if (next.value("check", "") == "end-play") answers = {fmt::format("{:.3f} mm", play)};
    if (next.at("what") == "bite") {
      play -= 0.02 * next.at("turns").get<double>();
      ++bites;
    }
    for (const std::string& typed : answers) {
      const auto told =
          desk->tell(kAlone, visit, key, "",
                     Json({{"id", big_id()}, {"typed", typed}, {"seen", state.at("as_of")}}).dump());
      if (!told) continue;
      state = Json::parse(*told);
      break;
    }
  }
  EXPECT_TRUE(state.at("state").at("finished").get<bool>());
  EXPECT_GT(bites, 0U);
  std::size_t cuts = 0;
  const Json whole = json(desk->visit(kAlone, visit));
  for (const Json& thing : whole.at("operations")) {
    const Json& body = thing.at("slip").at("body");
    if (body.at("step") != "seat-cut") continue;
    ++cuts;
    EXPECT_EQ(thing.at("versions"), 2) << thing;
    ASSERT_TRUE(body.contains("taken")) << thing;
    // As read: what the play fell by, and how sure that is.
    EXPECT_EQ(body.at("taken").get<std::string>().rfind(
                  fmt::format("{} mm ± ", 0.02 * body.at("turns").at("value").get<double>()), 0),
              0U)
        << thing;
  }
  EXPECT_EQ(cuts, bites);
}

TEST_P(Desks, ListsForOtherPrograms) {
  const std::string visit = take_in();
  const Json whole = json(desk->visit(kAlone, visit));
  const std::string key = whole.at("keys").at(0).at("thing");
  record::OperationSlip cut;
  cut.step = "seat-cut";
  cut.end = record::WhichEnd::upper;
  cut.tool = "=1+1";
  cut.turns = record::entry_of(2);
  cut.taken = record::entry_of(millimetres(0.038), millimetres(0.004));
  cut.note = "two\nlines, \"quoted\"";
  write({store::test::slip(ids, cut, visit, key)});
  std::string jobs;
  const auto sink = [&](std::string_view piece) {
    jobs += piece;
    return true;
  };
  EXPECT_EQ(must(desk->jobs_csv(kAlone, 0, 1000, sink)), 0);
  // Spreadsheets carry out what begins with "=": an apostrophe in front (OWASP, CSV injection; from memory).
  EXPECT_NE(jobs.find("seat-cut,upper,'=1+1,2,,0.038,0.004,,\"two\nlines, \"\"quoted\"\"\","),
            std::string::npos)
      << jobs;
  std::string readings;
  std::int64_t after = 0;
  std::size_t pages = 0;
  do {
    std::string page;
    after = must(desk->readings_csv(kAlone, after, 3, [&](std::string_view piece) {
      page += piece;
      return true;
    }));
    readings += page.substr(page.find("\r\n") + 2);
    ++pages;
  } while (after > 0);
  std::size_t rows = 0;
  for (std::size_t at = readings.find("\r\n"); at != std::string::npos; at = readings.find("\r\n", at + 2))
    ++rows;
  EXPECT_EQ(rows, whole.at("readings").size());
  EXPECT_NE(readings.find(",0.165,0.006,\r\n"), std::string::npos) << readings;  // low C's end play
  EXPECT_EQ(pages, (rows + 2) / 3 + (rows % 3 == 0 ? 1 : 0));
}

TEST_P(Desks, NonsenseIsRefusedWithItsReason) {
  for (const char* text : {"", "[]", "{", "null", "{\"slips\":3}", "{\"slips\":[]}", "{\"slips\":[1]}",
                           "{\"slips\":[{}]}", "{\"slips\":[],\"slips\":[]}", "{\"slop\":[]}",
                           "{\"slips\":[{\"id\":\"x\"}],\"all_or_none\":1}", "\xff\xfe"}) {
    const auto answer = desk->write(kAlone, text);
    ASSERT_FALSE(answer) << text;
    EXPECT_FALSE(answer.error().errors.front().what.empty());
    EXPECT_TRUE(answer.error().kind == Kind::malformed || answer.error().kind == Kind::not_valid) << text;
  }
  const std::string deep = "{\"slips\":" + std::string(100'000, '[') + std::string(100'000, ']') + "}";
  EXPECT_EQ(trouble(desk->write(kAlone, deep)), Kind::malformed);
  EXPECT_EQ(json(desk->counts(kAlone)).at("slips"), 0);
  // Without a shop of its own the general figures stand in.
  EXPECT_EQ(must(desk->shop(kAlone)), record::write_shop(service::general_shop()));
}

TEST_P(Desks, PhotosAreKeptClean) {
  const std::string visit = take_in();
  // One grey pixel (PNG, ISO/IEC 15948), with a text chunk that names a place.
  const std::string png = file_text(std::filesystem::path(HINGELINE_SOURCE_DIR) / "tests/desk/pixel.png");
  ASSERT_NE(png.find("Nowhere Street"), std::string::npos);
  const std::string id = ids.next();
  const Json kept = json(desk->add_photo(kAlone, id, visit, "", "the pad", png));
  EXPECT_EQ(kept.at("width"), 1);
  const Picture picture = must(desk->photo(kAlone, id));
  EXPECT_EQ(picture.type, "image/png");
  const std::string bytes(reinterpret_cast<const char*>(picture.bytes.data()), picture.bytes.size());
  EXPECT_EQ(bytes.find("Nowhere Street"), std::string::npos);
  EXPECT_LT(bytes.size(), png.size());
  EXPECT_EQ(json(desk->add_photo(kAlone, id, visit, "", "the pad", png)).at("outcomes").at(0).at("outcome"),
            "already");
  EXPECT_EQ(trouble(desk->add_photo(kAlone, ids.next(), visit, "", "", "<svg onload=alert(1)>")),
            Kind::malformed);
  EXPECT_EQ(trouble(desk->add_photo(kAlone, ids.next(), ids.next(), "", "", png)), Kind::not_found);
  // A slip alone, without its bytes, is none.
  record::PhotoSlip says;
  says.type = "image/png";
  says.sha256 = std::string(64, 'a');
  says.bytes = record::entry_of(10);
  EXPECT_EQ(trouble(desk->write(kAlone, batch({store::test::slip(ids, says, visit)}))), Kind::not_valid);
}

}  // namespace
}  // namespace hingeline::desk::test
