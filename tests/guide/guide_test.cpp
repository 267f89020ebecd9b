#include "hingeline/guide/guide.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <random>
#include <set>

#include "belief/subjects.h"

namespace hingeline::guide {
namespace {

using belief::Answer;
using What = Next::What;
using Kind = Event::Kind;

Job job_of(const belief::Subject& subject, std::optional<belief::Complaint> complaint) {
  Job job;
  job.subject = subject;
  job.knowledge.geometry = subject.geometry;
  belief::Input span;
  span.name = "span between posts";
  span.value = subject.geometry.span.raw();
  span.standard = 0.02;
  span.origin = Origin::read;
  span.set = [](belief::KeyGeometry& g, double v) { g.span = millimetres(v); };
  job.knowledge.inputs.push_back(span);
  job.key_case.estimate = *belief::estimate(job.knowledge);
  job.key_case.upper.headed = subject.upper_headed;
  job.key_case.lower.headed = subject.lower_headed;
  // Wide, so that the window is the shop's.
  job.key_case.window.pad_gap_allowed = job.key_case.window.rock_allowed = millimetres(1);
  job.complaint = complaint;
  job.take_off = plan::TakeOff{std::log(0.02), 0.45, 0.15};
  job.samples = 2000;
  return job;
}

Guide begin(const belief::Subject& subject, std::optional<belief::Complaint> complaint) {
  auto guide = Guide::begin(job_of(subject, complaint));
  EXPECT_TRUE(guide.has_value());
  return std::move(*guide);
}

Event answer(Check check, double mm) {
  Event e;
  e.answer = Answer{check, millimetres(mm), {}, 0, false};
  e.check = check;
  return e;
}
Event answer(Check check, std::size_t choice) {
  Event e;
  e.answer = Answer{check, {}, {}, choice, false};
  e.check = check;
  return e;
}
Event of(Kind kind) {
  Event e;
  e.kind = kind;
  return e;
}

/// A key on the bench: what it shows, without any noise, until the guide is done.
struct Shown {
  double end_play = 0.02;
  std::function<std::optional<Event>(Check)> shows;  ///< absent answer: nothing to see
  std::function<void(Cure)> cured;
  double take_off = 0.02;
  std::vector<std::string> log;
  double metal = 0;
  double lowest = 1;
};

void lead(Guide& guide, Shown& key, std::size_t most = 150) {
  for (std::size_t k = 0; k < most && !guide.finished(); ++k) {
    const Next next = guide.next();
    key.log.emplace_back(word(next.what));
    Event e;
    switch (next.what) {
      case What::look: {
        key.log.back() += std::string(" ") + belief::code(*next.check);
        std::optional<Event> shown = key.shows ? key.shows(*next.check) : std::nullopt;
        if (!shown && *next.check == Check::end_play) shown = answer(Check::end_play, key.end_play);
        if (!shown)
          shown = belief::is_reading(*next.check) ? answer(*next.check, 0.0)
                                                  : answer(*next.check, std::size_t{0});
        e = *shown;
        break;
      }
      case What::cure:
        key.log.back() += std::string(" ") + belief::code(*next.cure);
        if (key.cured) key.cured(*next.cure);
        e = of(Kind::cured);
        break;
      case What::step:
        e = of(Kind::cured);
        break;
      case What::bite:
        e = of(Kind::bitten);
        e.side = *next.side;
        e.turns = next.turns;
        key.end_play -= next.turns * key.take_off;
        key.metal += next.turns * key.take_off;
        key.lowest = std::min(key.lowest, key.end_play);
        break;
      case What::ream:
        e = of(Kind::reamed);
        e.side = *next.side;
        e.amount = next.amount;
        key.end_play += next.amount.raw();
        break;
      case What::see_cutter:
        e = of(Kind::cutter_seen);
        break;
      case What::done:
      case What::beyond:
        return;
    }
    const auto told = guide.tell(e);
    ASSERT_TRUE(told.has_value()) << told.error().what << " after " << key.log.back();
  }
}

std::string joined(const std::vector<std::string>& log) {
  std::string out;
  for (const auto& l : log) out += l + "; ";
  return out;
}

TEST(Guide, AScrewOffItsSeatIsDrivenHomeAndNothingIsCut) {
  Guide guide = begin(belief::cone_subject(), belief::Complaint::loose);
  Shown key;
  double off = 0.14;
  key.end_play = 0.16;
  key.shows = [&](Check c) -> std::optional<Event> {
    if (c == Check::stand_off_lower) return answer(c, off);
    return std::nullopt;
  };
  key.cured = [&](Cure c) {
    if (c != Cure::set_screw) return;
    key.end_play -= off;
    off = 0;
  };
  lead(guide, key);
  EXPECT_EQ(guide.next().what, What::done) << joined(key.log);
  EXPECT_EQ(key.metal, 0);
  ASSERT_FALSE(guide.found().empty());
  EXPECT_EQ(guide.found().front().cause, Cause::screw_off);
  EXPECT_EQ(guide.cures(), std::vector<Cure>{Cure::set_screw});
  EXPECT_NEAR(guide.first_end_play()->value.raw(), 0.16, 1e-12);
  EXPECT_NEAR(guide.latest_end_play()->value.raw(), 0.02, 1e-12);
}

TEST(Guide, AShortFitIsCutInBitesToItsProof) {
  for (const double take_off : {0.009, 0.02, 0.045}) {
    Guide guide = begin(belief::cone_subject(), belief::Complaint::loose);
    Shown key;
    key.end_play = 0.14;
    key.take_off = take_off;
    lead(guide, key);
    EXPECT_EQ(guide.next().what, What::done) << guide.next().why.in(LengthUnit::mm) << joined(key.log);
    EXPECT_EQ(guide.found().front().cause, Cause::short_fit);
    EXPECT_GE(key.end_play, 0.01);
    EXPECT_LE(key.end_play, 0.03);
    EXPECT_GE(key.lowest, 0.01);
    // Every free look came before the first bite.
    const auto first = std::find(key.log.begin(), key.log.end(), "bite");
    ASSERT_NE(first, key.log.end());
    const std::set<std::string> before(key.log.begin(), first);
    for (const char* look :
         {"look stand-off-upper", "look stand-off-lower", "look wobble-upper", "look wobble-lower",
          "look post-upper", "look post-lower", "look roll", "look clean"}) {
      EXPECT_TRUE(before.count(look)) << look;
    }
    EXPECT_TRUE(before.count("look neighbours") + before.count("look bow"));
  }
}

TEST(Guide, ACauseMayBeWaivedWithAReasonThatIsKept) {
  Guide guide = begin(belief::cone_subject(), belief::Complaint::loose);
  Event waiver = of(Kind::waived);
  waiver.cause = Cause::bent_key;
  waiver.reason = "  ";
  EXPECT_FALSE(guide.tell(waiver).has_value());
  waiver.reason = "new key, rolled last week";
  EXPECT_TRUE(guide.tell(waiver).has_value());
  waiver.cause = Cause::worn_bore;
  EXPECT_FALSE(guide.tell(waiver).has_value());
  Shown key;
  key.end_play = 0.14;
  lead(guide, key);
  EXPECT_EQ(guide.next().what, What::done) << joined(key.log);
  EXPECT_EQ(std::count(key.log.begin(), key.log.end(), "look roll"), 0);
  ASSERT_EQ(guide.waivers().size(), 1U);
  EXPECT_EQ(guide.waivers().front().reason, "new key, rolled last week");
}

TEST(Guide, NothingIsCutWhileACheaperCauseStands) {
  Guide guide = begin(belief::cone_subject(), belief::Complaint::loose);
  Shown key;
  key.end_play = 0.15;
  key.shows = [](Check c) -> std::optional<Event> {
    // A post out of square that stays so.
    if (c == Check::post_lower) return answer(c, std::size_t{1});
    return std::nullopt;
  };
  lead(guide, key);
  EXPECT_NE(joined(key.log).find("cure restore-post"), std::string::npos);
  const auto bite = std::find(key.log.begin(), key.log.end(), "bite");
  const auto post = std::find(key.log.begin(), key.log.end(), "cure restore-post");
  EXPECT_LT(post - key.log.begin(), bite - key.log.begin());
}

TEST(Guide, TooDeepASeatIsEasedByALeastReam) {
  Guide guide = begin(belief::cone_subject(), belief::Complaint::binds);
  Shown key;
  key.end_play = -0.04;
  key.shows = [&](Check c) -> std::optional<Event> {
    if (c == Check::sticks) return answer(c, std::size_t{key.end_play < 0 ? 1U : 0U});
    if (c == Check::back_off_upper || c == Check::back_off_lower)
      return answer(c, std::size_t{key.end_play < 0 ? 1U : 0U});
    return std::nullopt;
  };
  lead(guide, key);
  EXPECT_EQ(guide.next().what, What::done) << guide.next().why.in(LengthUnit::mm) << joined(key.log);
  EXPECT_EQ(guide.found().front().cause, Cause::over_cut);
  EXPECT_EQ(key.metal, 0);
  EXPECT_GE(key.end_play, 0.01);
  EXPECT_LE(key.end_play, 0.03);
}

TEST(Guide, ADullCutterIsSeenToBeforeItTurnsOn) {
  Guide guide = begin(belief::cone_subject(), belief::Complaint::loose);
  Shown key;
  key.end_play = 0.15;
  key.take_off = 0;
  for (int k = 0; k < 120 && guide.next().what != What::see_cutter && !guide.finished(); ++k) {
    lead(guide, key, 1);
  }
  EXPECT_EQ(guide.next().what, What::see_cutter) << joined(key.log);
  key.take_off = 0.02;
  lead(guide, key);
  EXPECT_EQ(guide.next().what, What::done) << joined(key.log);
  EXPECT_GE(key.lowest, 0.01);
}

TEST(Guide, WhereLimitsLeaveNoMetalItSaysWhichAndStops) {
  Job job = job_of(belief::cone_subject(), belief::Complaint::loose);
  for (plan::EndFacts* f : {&job.key_case.upper, &job.key_case.lower}) {
    f->web = Measured<Length>{millimetres(0.82), {}, Origin::read};
  }
  auto guide = Guide::begin(job);
  ASSERT_TRUE(guide.has_value());
  Shown key;
  key.end_play = 0.2;
  lead(*guide, key);
  EXPECT_EQ(guide->next().what, What::beyond) << joined(key.log);
  EXPECT_EQ(key.metal, 0);
  EXPECT_NE(guide->next().why.in(LengthUnit::mm).find("metal under the head"), std::string::npos)
      << guide->next().why.in(LengthUnit::mm);
}

TEST(Guide, NoBitePassesALimit) {
  Job job = job_of(belief::cone_subject(), belief::Complaint::loose);
  for (plan::EndFacts* f : {&job.key_case.upper, &job.key_case.lower}) {
    f->web = Measured<Length>{millimetres(0.90), {}, Origin::read};
  }
  auto guide = Guide::begin(job);
  ASSERT_TRUE(guide.has_value());
  Shown key;
  key.end_play = 0.16;
  double upper = 0;
  double lower = 0;
  for (int k = 0; k < 150 && !guide->finished(); ++k) {
    if (guide->next().what == What::bite) {
      (*guide->next().side == Side::upper ? upper : lower) += guide->next().turns * key.take_off;
    }
    lead(*guide, key, 1);
  }
  EXPECT_EQ(guide->next().what, What::done) << guide->next().why.in(LengthUnit::mm) << joined(key.log);
  // 0.10 mm of web above the least at each end.
  EXPECT_LE(upper, 0.10);
  EXPECT_LE(lower, 0.10);
  EXPECT_GT(upper, 0.02);
  EXPECT_GT(lower, 0.02);
}

TEST(Guide, ToldTheSameAgainItStandsWhereItStood) {
  Guide guide = begin(belief::cone_subject(), belief::Complaint::loose);
  Shown key;
  key.end_play = 0.13;
  while (!guide.finished()) {
    Guide again = begin(belief::cone_subject(), belief::Complaint::loose);
    for (const Event& e : guide.events()) ASSERT_TRUE(again.tell(e).has_value());
    ASSERT_EQ(again.next().what, guide.next().what);
    ASSERT_EQ(again.next().check, guide.next().check);
    ASSERT_EQ(again.next().turns, guide.next().turns);
    ASSERT_EQ(again.next().why, guide.next().why);
    const auto a = again.inquiry().causes();
    const auto b = guide.inquiry().causes();
    for (std::size_t k = 0; k < a.size(); ++k) ASSERT_EQ(a[k].share, b[k].share);
    lead(guide, key, 4);
  }
}

TEST(Guide, ARodIsLedByItsOwnCauses) {
  Guide guide = begin(belief::rod_subject(), belief::Complaint::loose);
  Shown key;
  double bore = 0.10;
  key.shows = [&](Check c) -> std::optional<Event> {
    if (c == Check::bore || c == Check::rock_pad) return answer(c, bore);
    return std::nullopt;
  };
  key.cured = [&](Cure c) {
    if (c == Cure::fit_rod) bore = 0.016;
  };
  lead(guide, key);
  EXPECT_EQ(guide.next().what, What::done) << guide.next().why.in(LengthUnit::mm) << joined(key.log);
  EXPECT_EQ(guide.found().front().cause, Cause::worn_bore);
  EXPECT_EQ(guide.cures(), std::vector<Cure>{Cure::fit_rod});
}

// It binds by a bent body that neighbours did not tell of, and reads like a tube too long.
TEST(Guide, ATubeFacedInVainIsNotFacedAgainBeforeTheBodyIsLookedAt) {
  Job job = job_of(belief::rod_subject(), belief::Complaint::binds);
  job.samples = belief::Inquiry::kSamples;
  // Only what is surer than this would be looked at before the first facing.
  job.presets.gate_share = job.presets.look_again_share = 0.2;
  auto guide = Guide::begin(job);
  ASSERT_TRUE(guide.has_value());
  Shown key;
  key.end_play = -0.03;
  std::size_t faced = 0;
  std::size_t faced_before_bow = 0;
  key.shows = [&](Check c) -> std::optional<Event> {
    if (c == Check::sticks) return answer(c, std::size_t{key.end_play < 0 ? 1U : 0U});
    if (c != Check::bow) return std::nullopt;
    faced_before_bow = faced;
    return answer(c, 0.35);
  };
  key.cured = [&](Cure c) {
    faced += c == Cure::ease ? 1 : 0;
    if (c == Cure::straighten_body) key.end_play = 0.02;
  };
  lead(*guide, key);
  EXPECT_EQ(guide->next().what, What::done) << guide->next().why.in(LengthUnit::mm) << joined(key.log);
  EXPECT_LE(faced_before_bow, 1U) << joined(key.log);
  EXPECT_EQ(faced, faced_before_bow) << joined(key.log);
}

TEST(Guide, RefusesWhatIsNotAskedForAndStaysAsItWas) {
  Guide guide = begin(belief::cone_subject(), belief::Complaint::loose);
  const Next before = guide.next();
  Event bite = of(Kind::bitten);
  bite.turns = 2;
  EXPECT_FALSE(guide.tell(bite).has_value());
  EXPECT_FALSE(guide.tell(of(Kind::cured)).has_value());
  EXPECT_FALSE(guide.tell(of(Kind::cutter_seen)).has_value());
  EXPECT_FALSE(guide.tell(answer(Check::bore, 0.02)).has_value());
  EXPECT_FALSE(guide.tell(answer(Check::end_play, std::nan(""))).has_value());
  Event skip = of(Kind::could_not);
  skip.check = Check::bore;
  EXPECT_FALSE(guide.tell(skip).has_value());
  EXPECT_TRUE(guide.events().empty());
  EXPECT_EQ(guide.next().check, before.check);
  // Without an end play nothing can be proved.
  skip.check = Check::end_play;
  EXPECT_TRUE(guide.tell(skip).has_value());
  EXPECT_EQ(guide.next().what, What::beyond);
}

// Contradictory, absurd and hostile answers: no figure that is none, no cut past a limit, always an end.
TEST(Guide, AnswersOfAnyKindLeadToAnEnd) {
  std::mt19937_64 engine(11);
  const auto unit = [&] { return static_cast<double>(engine() >> 11) * 0x1p-53; };
  for (int run = 0; run < 60; ++run) {
    Job job = job_of(run % 4 == 3   ? belief::rod_subject()
                     : run % 4 == 2 ? belief::headless_subject()
                                    : belief::cone_subject(),
                     static_cast<belief::Complaint>(run % 4));
    job.samples = 500;
    job.seed = static_cast<std::uint64_t>(run);
    const double room = 0.25;
    for (plan::EndFacts* f : {&job.key_case.upper, &job.key_case.lower}) {
      f->web = Measured<Length>{millimetres(0.8 + room), {}, Origin::read};
    }
    auto guide = Guide::begin(job);
    ASSERT_TRUE(guide.has_value());
    std::size_t steps = 0;
    double least_asked[2] = {0, 0};
    while (!guide->finished() && steps < 3 * Guide::kMostEvents) {
      ++steps;
      const Next& next = guide->next();
      ASSERT_TRUE(std::isfinite(next.turns) && next.turns >= 0 && next.turns < 200);
      ASSERT_TRUE(std::isfinite(next.amount.raw()) && next.risk >= 0 && next.risk <= 1);
      if (next.what == What::bite) least_asked[*next.side == Side::upper ? 0 : 1] += next.amount.raw();
      Event e;
      const double any = std::pow(10.0, unit() * 5 - 4) * (unit() < 0.3 ? -1 : 1);
      if (unit() < 0.15) {
        e.kind = static_cast<Kind>(engine() % 7);
        e.check = static_cast<Check>(engine() % belief::kCheckCount);
        e.cause = static_cast<Cause>(engine() % belief::kCauseCount);
        e.reason = unit() < 0.5 ? "" : "because";
        e.turns = any;
        e.amount = millimetres(any);
        e.answer = Answer{e.check, millimetres(any), {}, static_cast<std::size_t>(engine() % 4), false};
      } else if (next.what == What::look) {
        e = belief::is_reading(*next.check)
                ? answer(*next.check, unit() < 0.5 ? any : unit() * 0.3)
                : answer(*next.check,
                         static_cast<std::size_t>(engine() % belief::answers(*next.check).size()));
      } else if (next.what == What::bite) {
        e = of(Kind::bitten);
        e.side = *next.side;
        e.turns = next.turns;
      } else if (next.what == What::ream) {
        e = of(Kind::reamed);
        e.side = *next.side;
        e.amount = next.amount;
      } else {
        e = of(next.what == What::see_cutter ? Kind::cutter_seen : Kind::cured);
      }
      static_cast<void>(guide->tell(e));
      for (const auto& c : guide->inquiry().causes()) ASSERT_TRUE(c.share >= 0 && c.share <= 1);
    }
    EXPECT_TRUE(guide->finished()) << run;
    // Medians of what was asked for stay within what the limits leave.
    EXPECT_LE(least_asked[0], room + 0.01);
    EXPECT_LE(least_asked[1], room + 0.01);
  }
}

}  // namespace
}  // namespace hingeline::guide
