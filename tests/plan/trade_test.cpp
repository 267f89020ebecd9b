// What the trade knows about counterboring, reaming and the free work before it, and the words the plan
// gives for each verdict, refusal and relief. Facts without another source are common practice.

#include <gtest/gtest.h>

#include "cases.h"
#include "hingeline/base/reading.h"

namespace hingeline::plan {
namespace {

using samples::EndSpec;
using samples::KeySpec;

std::string mm(const Said& s) { return s.in(LengthUnit::mm); }
bool says(const Said& s, const char* part) { return mm(s).find(part) != std::string::npos; }

KeySpec loose(double end_play = 0.1) {
  KeySpec s;
  s.end_play = end_play;
  return s;
}

const Refusal* refusal(const KeyPlan& p, Operation op, Side side) {
  for (const Refusal& r : p.refusals) {
    if (r.operation == op && (!r.side || *r.side == side)) return &r;
  }
  return nullptr;
}

testing::AssertionResult refuses(const KeyPlan& p, Operation op, Side side, const char* why,
                                 const char* relief) {
  const Refusal* r = refusal(p, op, side);
  if (r == nullptr) return testing::AssertionFailure() << "nothing refused";
  if (!says(r->why, why) || !says(r->relief, relief))
    return testing::AssertionFailure() << mm(r->why) << " | " << mm(r->relief);
  return testing::AssertionSuccess();
}

bool uses(const Plan& p, Operation op, Side side) {
  return std::any_of(p.steps.begin(), p.steps.end(),
                     [&](const Step& s) { return s.operation == op && s.side == side; });
}

double play(const belief::KeyGeometry& g) { return belief::build_hinge(g)->travel().end_play().raw(); }
double middle(const belief::KeyGeometry& g) {
  const auto t = belief::build_hinge(g)->travel();
  return (t.low + t.high).raw() / 2;
}
Step work(Operation op, Side side, double amount) { return {op, side, millimetres(amount), 0, {}, {}, {}}; }

// common practice
TEST(Trade, HeadOfFourMillimetresTakesTheFourMillimetreCutter) {
  const auto metric = parse_length("4.00 mm", LengthUnit::mm, Sign::positive);
  const auto inch = parse_length("0.1575 in", LengthUnit::mm, Sign::positive);
  ASSERT_TRUE(metric && inch);
  EXPECT_NEAR((metric->value - inch->value).raw(), 0, 0.0006);  // 0.1575 in is 4.0005 mm: the same head
  for (const Length head : {metric->value, inch->value}) {
    EndFacts f;
    f.head_diameter = Measured<Length>{head, {}, Origin::read};
    const ToolChoice c = choose_cutter(f, samples::usual_tools(), Limits{});
    EXPECT_EQ(c.name, "4.00 cutter");
    EXPECT_TRUE(says(c.why, "its diameter is the head's, 4.00 mm")) << mm(c.why);
  }
}

// common practice
TEST(Trade, CutterIsTheNearestOrNoneFits) {
  EndFacts f;
  Tools tools = samples::usual_tools();
  EXPECT_TRUE(says(choose_cutter(f, tools, Limits{}).why, "head diameter not measured"));
  f.head_diameter = samples::read(4.42);
  const ToolChoice nearest = choose_cutter(f, tools, Limits{});
  EXPECT_EQ(nearest.name, "4.50 cutter");
  EXPECT_TRUE(says(nearest.why, "nearest to the 4.42 mm head, 0.08 mm wider")) << mm(nearest.why);
  f.head_diameter = samples::read(4.2);
  const ToolChoice none = choose_cutter(f, tools, Limits{});
  EXPECT_EQ(none.name, "");
  EXPECT_TRUE(says(none.why, "none fits a 4.20 mm head, you'd need 4.19 mm to 4.30 mm")) << mm(none.why);
  EXPECT_TRUE(says(none.why, "the nearest, 4.00 cutter, is 4.00 mm")) << mm(none.why);
  tools.cutters.clear();
  EXPECT_TRUE(says(choose_cutter(f, tools, Limits{}).why, "no cutters listed"));

  KeySpec s = loose();
  s.upper.head = 4.2;
  const KeyPlan p = plan_key(samples::case_of(s));
  EXPECT_TRUE(
      refuses(p, Operation::seat_cut, Side::upper, "cutter: none fits a 4.20 mm head", "own or borrow"));
  ASSERT_FALSE(p.plans.empty());
  for (const Plan& plan : p.plans) EXPECT_FALSE(uses(plan, Operation::seat_cut, Side::upper));
}

// common practice
TEST(Trade, ReamerHasThePointsTaper) {
  const Tools tools = samples::usual_tools();
  EXPECT_EQ(choose_reamer(degrees(15.4), millimetres(0.7), millimetres(1.4), tools, Limits{}).name,
            "15 degree reamer");
  const ToolChoice none = choose_reamer(degrees(20), millimetres(0.7), millimetres(1.4), tools, Limits{});
  EXPECT_EQ(none.name, "");
  EXPECT_TRUE(says(none.why, "none fits, you'd need half angle 20.0°")) << mm(none.why);
  EXPECT_TRUE(says(none.why, "the nearest, 15 degree reamer, is 15.0°")) << mm(none.why);
  EXPECT_EQ(choose_reamer(degrees(15), millimetres(0.2), millimetres(1.4), tools, Limits{}).name, "");
  EXPECT_EQ(choose_reamer(degrees(15), millimetres(0.7), millimetres(3.1), tools, Limits{}).name, "");
}

// common practice
TEST(Trade, DriverIsTheStraightestThatReaches) {
  const Tools tools = samples::usual_tools();
  EndSpec e;
  const auto reach = [&](double behind, double around) {
    e.room_behind = behind;
    e.room_around = around;
    return choose_reach(samples::facts_of(e), tools, nullptr);
  };
  EXPECT_EQ(reach(60, 12).name, "straight driver");
  EXPECT_EQ(reach(30, 12).name, "flexible driver");
  EXPECT_EQ(reach(30, 7).name, "short pinch-driven");
  EXPECT_EQ(reach(60, 7).name, "straight driver");
  EXPECT_EQ(reach(10, 12).name, "short pinch-driven");
  const ToolChoice none = reach(5, 12);
  EXPECT_EQ(none.name, "");
  EXPECT_TRUE(says(none.why, "no driver reaches: 5.00 mm free behind the post, the shortest needs 9.00 mm"))
      << mm(none.why);
  EXPECT_TRUE(says(choose_reach(EndFacts{}, tools, nullptr).why, "room behind the post not measured"));
  EXPECT_TRUE(says(choose_reach(samples::facts_of(e), Tools{}, nullptr).why, "no drivers listed"));
  // Only drivers that the cutter takes.
  e.room_behind = 60;
  e.room_around = 12;
  Cutter cutter{"4.00 mm seat cutter", millimetres(4), false, false, true};
  EXPECT_EQ(choose_reach(samples::facts_of(e), tools, &cutter).name, "short pinch-driven");
  cutter.pinch = false;
  EXPECT_TRUE(
      says(choose_reach(samples::facts_of(e), tools, &cutter).why, "no driver for the 4.00 mm seat cutter"));
}

// common practice
TEST(Trade, CutterTurnsTheWayAScrewIsTightened) {
  const KeyPlan p = plan_key(samples::case_of(loose()));
  ASSERT_FALSE(p.plans.empty());
  for (const Plan& plan : p.plans) {
    for (const Step& s : plan.steps) {
      EXPECT_EQ(s.turn_way, "as tightening");
      EXPECT_EQ(s.tool.name, "4.00 cutter");
      EXPECT_EQ(s.reach.name, "straight driver");
      EXPECT_NEAR(s.turns, s.amount.raw() / 0.02, 1e-9);  // book rate of the default pace
    }
  }
}

// common practice
TEST(Trade, StraightHoleRefusesCounterboring) {
  for (const auto shape : {contact::HoleShape::straight, contact::HoleShape::drilled}) {
    KeySpec s = loose();
    s.upper.hole = s.lower.hole = shape;
    const KeyPlan p = plan_key(samples::case_of(s));
    for (const Side side : {Side::upper, Side::lower}) {
      EXPECT_TRUE(
          refuses(p, Operation::seat_cut, side,
                  "the hole is straight: the point touches only its rim, and a deeper seat leaves it so",
                  "reamed to the point's taper"));
    }
    EXPECT_TRUE(p.plans.empty());
    EXPECT_TRUE(says(p.no_plan, "is to be taken off; upper end: refused, lower end: refused"))
        << mm(p.no_plan);
    EXPECT_TRUE(says(p.relief, "a parallel point that fits the hole"));
  }
}

// common practice
TEST(Trade, HeadlessScrewIsTurnedNotCounterbored) {
  KeySpec s = loose();
  s.upper.headed = s.lower.headed = false;
  const KeyPlan p = plan_key(samples::case_of(s));
  for (const Side side : {Side::upper, Side::lower}) {
    EXPECT_TRUE(refuses(p, Operation::seat_cut, side, "the screw has no head, so no seat sets its depth",
                        "turn the screw and lock it"));
  }
  ASSERT_FALSE(p.plans.empty());
  const Step& turn = p.plans.front().steps.front();
  EXPECT_EQ(turn.operation, Operation::turn_screw);
  EXPECT_EQ(turn.turn_way, "as tightening");
  EXPECT_NEAR(turn.turns, turn.amount.raw() / 0.45, 1e-12);
  EXPECT_EQ(p.plans.front().metal.raw(), 0);

  s.end_play = -0.02;
  const KeyPlan out = plan_key(samples::case_of(s));
  ASSERT_FALSE(out.plans.empty());
  EXPECT_EQ(out.plans.front().steps.front().turn_way, "as loosening");
}

// common practice
TEST(Trade, TipOnTheFloorRefusesEverything) {
  KeySpec s = loose();
  s.upper.tip_floor = -0.1;
  s.upper.web = s.lower.web = 1.5;
  const KeyPlan p = plan_key(samples::case_of(s));
  EXPECT_TRUE(refuses(p, Operation::seat_cut, Side::upper,
                      "the tip stands on the floor before the sides carry",
                      "shorten the tip or deepen the hole by 0.200 mm"));
  EXPECT_TRUE(refuses(p, Operation::ream, Side::upper, "a wider hole lets it in no further", "first"));
  for (const Plan& plan : p.plans) EXPECT_FALSE(uses(plan, Operation::seat_cut, Side::upper));
}

// common practice
TEST(Trade, MismatchedTaperIsRestoredBeforeTheSeatIsCut) {
  struct Row {
    double hole;
    const char* rides;
  };
  for (const Row& row : {Row{10, "point 15.0°, hole 10.0°, so it rides on its rim"},
                         Row{20, "point 15.0°, hole 20.0°, so it rides on the tip's edge"}}) {
    KeySpec s = loose();
    s.upper.hole_half_angle = row.hole;
    s.upper.stop = 0.6;
    s.upper.key_end = 5;
    s.upper.tip_floor = 1.5;
    const KeyPlan p = plan_key(samples::case_of(s));
    EXPECT_TRUE(refuses(p, Operation::seat_cut, Side::upper, row.rides,
                        "ream the hole to the point's taper, then cut the seat"));
    bool restored = false;
    for (const Plan& plan : p.plans) {
      if (plan.approach != Approach::restore_seat) {
        EXPECT_FALSE(uses(plan, Operation::seat_cut, Side::upper));
        continue;
      }
      restored = true;
      EXPECT_EQ(plan.steps.front().operation, Operation::ream);
      EXPECT_EQ(plan.steps.front().side, Side::upper);
      const auto home = belief::build_hinge(plan.geometry_after)->end(Side::upper).joint.home();
      EXPECT_GE(home.touching / home.insertion, Limits{}.flank_share_min - 1e-6);
    }
    EXPECT_TRUE(restored) << row.hole;
  }
  // Tapers closer than their uncertainty match.
  KeySpec s = loose();
  s.upper.hole_half_angle = 13.5;
  KeyCase k = samples::case_of(s);
  EXPECT_NE(refusal(plan_key(k), Operation::seat_cut, Side::upper), nullptr);
  k.upper_taper_doubt = degrees(0.8);
  EXPECT_EQ(refusal(plan_key(k), Operation::seat_cut, Side::upper), nullptr);
}

// common practice
TEST(Trade, BellMouthIsReamedPastTheDamage) {
  KeySpec s = loose();
  s.lower.hole = contact::HoleShape::bell;
  s.lower.stop = 0.6;
  s.lower.key_end = 5;
  const KeyPlan p = plan_key(samples::case_of(s));
  EXPECT_TRUE(refuses(p, Operation::seat_cut, Side::lower, "the hole is bell-mouthed: the flank carries over",
                      "ream past the damage with the point's taper, then cut the seat"));
  EXPECT_TRUE(std::any_of(p.plans.begin(), p.plans.end(),
                          [](const Plan& x) { return x.approach == Approach::restore_seat; }));
  // No wall for so much ream: bush it.
  s.lower.key_end = 2.1;
  const KeyPlan none = plan_key(samples::case_of(s));
  EXPECT_TRUE(refuses(none, Operation::ream, Side::lower,
                      "reaming until 50 % of the point carries passes a limit",
                      "bush the key end and cut a fresh cone"));
}

// common practice
TEST(Trade, RestoringDoesNotPassOverTheOtherRefusals) {
  KeySpec s = loose();
  s.upper.hole_half_angle = 10;
  s.upper.stop = 0.6;
  s.upper.key_end = 5;
  s.upper.post = 4.6;  // wall round the seat 0.3, least 0.4
  const KeyPlan p = plan_key(samples::case_of(s));
  for (const Plan& plan : p.plans) EXPECT_FALSE(uses(plan, Operation::seat_cut, Side::upper));
}

// common practice
TEST(Trade, ThinWallRoundTheSeatRefuses) {
  KeySpec s = loose();
  s.upper.post = 4.6;
  const KeyPlan p = plan_key(samples::case_of(s));
  EXPECT_TRUE(refuses(p, Operation::seat_cut, Side::upper,
                      "the wall round the seat is 0.300 mm, the least is 0.400 mm",
                      "a screw with a smaller head"));
}

// common practice
TEST(Trade, NeitherSeatNorReamChangesTheFaceGapsTogether) {
  const auto g = samples::geometry_of(loose());
  const Length gap = belief::build_hinge(g)->travel().face_gap;
  for (const Side side : {Side::upper, Side::lower}) {
    for (const Operation op : {Operation::seat_cut, Operation::ream, Operation::drive_home}) {
      const auto h = after(g, work(op, side, 0.07));
      ASSERT_TRUE(h);
      EXPECT_EQ(belief::build_hinge(*h)->travel().face_gap.raw(), gap.raw());
    }
  }
}

// common practice
TEST(Trade, OverCutBindsAndTheSameAxialReamFreesIt) {
  for (const Side side : {Side::upper, Side::lower}) {
    const auto g = samples::geometry_of(loose(0.02));
    const auto cut = after(g, work(Operation::seat_cut, side, 0.05));
    ASSERT_TRUE(cut);
    EXPECT_NEAR(play(*cut), -0.03, 1e-12);
    const auto freed = after(*cut, work(Operation::ream, side, 0.05));
    ASSERT_TRUE(freed);
    EXPECT_NEAR(play(*freed), 0.02, 1e-12);
    EXPECT_NEAR(middle(*freed), middle(g), 1e-12);
  }
}

// common practice
TEST(Trade, WorkOnOneEndShiftsTheKeyTowardsTheOther) {
  const auto g = samples::geometry_of(loose());
  EXPECT_NEAR(middle(*after(g, work(Operation::seat_cut, Side::upper, 0.04))) - middle(g), 0.02, 1e-12);
  EXPECT_NEAR(middle(*after(g, work(Operation::seat_cut, Side::lower, 0.04))) - middle(g), -0.02, 1e-12);
  KeySpec s = loose();
  s.lower.headed = false;
  s.lower.slot = 0;
  const KeyPlan p = plan_key(samples::case_of(s));
  ASSERT_FALSE(p.plans.empty());
  EXPECT_EQ(p.plans.front().approach, Approach::cut_upper);
  EXPECT_NEAR(p.plans.front().shift.raw(), 0.073 / 2, 1e-9);
}

// common practice
TEST(Trade, ScrewsHomeAndPostsBackComeBeforeMetal) {
  KeySpec s = loose(0.1);
  s.upper.stands_off = 0.08;
  const KeyPlan home = plan_key(samples::case_of(s));
  ASSERT_FALSE(home.plans.empty());
  EXPECT_EQ(home.plans.front().approach, Approach::free_first);
  ASSERT_EQ(home.plans.front().steps.size(), 1U);
  EXPECT_EQ(home.plans.front().steps[0].operation, Operation::drive_home);
  EXPECT_EQ(home.plans.front().metal.raw(), 0);

  s.lower.displaced = 0.03;
  s.end_play = 0.2;
  const KeyPlan both = plan_key(samples::case_of(s));
  ASSERT_FALSE(both.plans.empty());
  for (const Plan& plan : both.plans) {
    EXPECT_EQ(plan.steps.front().operation, Operation::drive_home);
    bool metal = false;
    for (const Step& step : plan.steps) {
      EXPECT_FALSE(metal && !takes_metal(step.operation));
      metal = metal || takes_metal(step.operation);
    }
  }
  EXPECT_TRUE(uses(both.plans.front(), Operation::restore_post, Side::lower));
  EXPECT_NEAR(both.plans.front().metal.raw(), 0.2 - 0.027 - 0.08 - 0.03, 1e-9);
}

// common practice
TEST(Trade, ScrewHomeThatThenBindsIsFreedAtTheKeyEnd) {
  KeySpec s = loose(0.05);
  s.upper.stands_off = 0.08;
  const KeyPlan p = plan_key(samples::case_of(s));
  ASSERT_FALSE(p.plans.empty()) << mm(p.no_plan);
  EXPECT_EQ(p.plans.front().steps.front().operation, Operation::drive_home);
  EXPECT_EQ(p.plans.front().steps.back().operation, Operation::ream);
  EXPECT_NEAR(p.plans.front().metal.raw(), 0.013 + 0.03, 1e-9);
}

// common practice
TEST(Trade, FacesTooNearAreFacedAndThePointsFreed) {
  KeySpec s;
  s.end_play = -0.03;  // face gap 0.01, points reaching 0.02 further in at each end
  s.upper.stop = s.lower.stop = 0.02;
  const KeyPlan p = plan_key(samples::case_of(s));
  ASSERT_FALSE(p.plans.empty()) << mm(p.no_plan);
  EXPECT_TRUE(uses(p.plans.front(), Operation::face, Side::upper));
  const auto& best = p.plans.front();
  EXPECT_NEAR(best.after[static_cast<std::size_t>(Figure::end_play)], 0.013, 1e-9);
  // The pad keeps its place on the key when an end is faced.
  const auto faced = after(samples::geometry_of(s), work(Operation::face, Side::upper, 0.1));
  ASSERT_TRUE(faced);
  EXPECT_NEAR(faced->pad->station.raw(), samples::geometry_of(s).pad->station.raw() - 0.1, 1e-12);
  const auto lower = after(samples::geometry_of(s), work(Operation::face, Side::lower, 0.1));
  EXPECT_NEAR(lower->pad->station.raw(), samples::geometry_of(s).pad->station.raw(), 1e-12);
}

// common practice
TEST(Trade, ReservesAreNamed) {
  KeySpec s = loose();
  const KeyPlan p = plan_key(samples::case_of(s));
  ASSERT_FALSE(p.plans.empty());
  const Plan& best = p.plans.front();
  const auto left = [&](const char* name, Side side) {
    for (const Reserve& r : best.reserves) {
      if (r.limit == name && r.side == side && r.left) return r.left->raw();
    }
    return std::nan("");
  };
  for (const Side side : {Side::upper, Side::lower}) {
    double cut = 0;
    for (const Step& st : best.steps) cut += st.side == side ? st.amount.raw() : 0;
    EXPECT_NEAR(left("metal under the head", side), 1.5 - cut - 0.8, 1e-9);
    EXPECT_NEAR(left("thread engagement", side), 3.0 - cut - 3 * 0.45, 1e-9);
    EXPECT_NEAR(left("the slot's reach", side), 1.0 - cut, 1e-9);
    EXPECT_NEAR(left("wall round the seat", side), 1.0 - 0.4, 1e-9);
    EXPECT_NEAR(left("wall at the key's mouth", side), 2 - (0.35 + 1.2 * tan(degrees(15))) - 0.3, 1e-9);
    EXPECT_NEAR(left("tip to floor", side), 0.5 - 0.1, 1e-9);
    EXPECT_NEAR(left("face gap", side), 0.15 + cut, 1e-9);
  }
  // What was not measured is asked for.
  KeyCase unmeasured = samples::case_of(s);
  unmeasured.upper.web.reset();
  unmeasured.lower.web.reset();
  const KeyPlan q = plan_key(unmeasured);
  ASSERT_FALSE(q.plans.empty());
  ASSERT_FALSE(q.plans.front().measure_first.empty());
  EXPECT_TRUE(says(q.plans.front().measure_first.front(), "metal under the head at the"));
}

TEST(Trade, DoubtWiderThanTheWindowIsReadBeforeCutting) {
  KeySpec s = loose(0.1);
  s.doubt = 0.03;
  const KeyPlan p = plan_key(samples::case_of(s));
  EXPECT_EQ(p.verdict, Verdict::loose);
  ASSERT_FALSE(p.plans.empty());
  ASSERT_FALSE(p.plans.front().measure_first.empty());
  EXPECT_TRUE(says(p.plans.front().measure_first.back(), "end play: ± 0.030 mm is too much to cut by"));
}

// common practice
TEST(Trade, ALimitAlreadyPassedForbidsWorkThereAndNowhereElse) {
  KeySpec s = loose();
  s.upper.web = 0.7;
  const KeyPlan p = plan_key(samples::case_of(s));
  ASSERT_EQ(p.plans.size(), 1U);
  EXPECT_EQ(p.plans.front().approach, Approach::cut_lower);
}

TEST(Words, OfTheVerdicts) {
  const auto verdict = [](double end_play, double doubt) {
    KeySpec s;
    s.end_play = end_play;
    s.doubt = doubt;
    return plan_key(samples::case_of(s));
  };
  const KeyPlan sound = verdict(0.02, 0.004);
  EXPECT_EQ(sound.verdict, Verdict::sound);
  EXPECT_EQ(mm(sound.because), "end play 0.020 ± 0.004 mm, window 0.010 to 0.030 mm");
  const KeyPlan unshown = verdict(0.033, 0.004);
  EXPECT_EQ(unshown.verdict, Verdict::sound);
  EXPECT_TRUE(says(unshown.because, ": not shown to be outside it"));
  EXPECT_EQ(verdict(0.035, 0.004).verdict, Verdict::loose);
  EXPECT_EQ(verdict(0.005, 0.004).verdict, Verdict::tight);
  const KeyPlan binds = verdict(-0.05, 0.004);
  EXPECT_EQ(binds.verdict, Verdict::binds);
  EXPECT_EQ(mm(binds.because), "it binds by 0.050 ± 0.004 mm");
  const KeyPlan unsure = verdict(0.05, 0.06);
  EXPECT_EQ(unsure.verdict, Verdict::cannot_tell);
  EXPECT_TRUE(unsure.plans.empty());
  EXPECT_TRUE(says(unsure.because, ": too unsure to say, read the end play"));
  belief::KeyKnowledge read;
  read.geometry = samples::geometry_of(loose(0.05));
  belief::Input stop;
  stop.value = 0.15;
  stop.standard = 1;
  stop.set = [](belief::KeyGeometry& g, double v) { g.upper.stop = millimetres(v); };
  read.inputs.push_back(stop);
  belief::Observation o;
  o.value = millimetres(0.05);
  o.standard = millimetres(0.03);
  read.observations.push_back(o);
  KeyCase k = samples::case_of(loose(0.05));
  k.estimate = *belief::estimate(read);
  const KeyPlan coarse = plan_key(k);
  EXPECT_EQ(coarse.verdict, Verdict::cannot_tell);
  EXPECT_TRUE(says(coarse.because, ": too unsure to say, read the end play with a finer instrument"));
  EXPECT_STREQ(word(Verdict::sound), "sound");
  EXPECT_STREQ(word(Verdict::loose), "loose");
  EXPECT_STREQ(word(Verdict::tight), "tight");
  EXPECT_STREQ(word(Verdict::binds), "binds");
  EXPECT_STREQ(word(Verdict::cannot_tell), "cannot tell");
}

TEST(Words, OfImpossibleGeometry) {
  KeyCase k = samples::case_of(loose());
  k.estimate.geometry.upper.hole.mouth_radius = millimetres(-1);
  const KeyPlan p = plan_key(k);
  EXPECT_EQ(p.verdict, Verdict::cannot_tell);
  EXPECT_FALSE(p.because.empty());
  EXPECT_TRUE(p.plans.empty());
}

TEST(Words, OfLimitsThatRule) {
  KeySpec s = loose();
  s.upper.web = 0.81;
  s.lower.slot = 0.02;
  const KeyPlan p = plan_key(samples::case_of(s));
  EXPECT_TRUE(p.plans.empty());
  EXPECT_TRUE(says(p.no_plan,
                   "0.073 mm is to be taken off; upper end: 0.010 mm left by metal under the head, lower "
                   "end: 0.020 mm left by the slot's reach"))
      << mm(p.no_plan);
  EXPECT_TRUE(says(p.relief, "a screw with a longer point, or a bushed post with a fresh seat"));

  KeySpec t;
  t.end_play = -0.2;
  t.upper.tip_floor = t.lower.tip_floor = 0.15;
  const KeyPlan q = plan_key(samples::case_of(t));
  EXPECT_TRUE(q.plans.empty());
  EXPECT_TRUE(
      says(q.no_plan, "is to be given back; upper end: 0.050 mm left by the tip's distance from the floor"))
      << mm(q.no_plan);
  EXPECT_TRUE(says(q.relief, "a shorter point, or the posts set further apart"));
}

belief::KeyGeometry rod(double end_play) {
  belief::KeyGeometry g;
  g.kind = belief::HingeKind::rod;
  g.key_length = millimetres(60);
  g.span = millimetres(60 + end_play);
  g.rod_diameter = millimetres(2.0);
  g.bore = millimetres(2.01);
  return g;
}

TEST(Words, OfRods) {
  KeyCase k = samples::case_of(loose());
  k.estimate = samples::estimate_of(rod(0.12));
  k.upper.stands_off = samples::read(0.05);  // a rod's screw sets no end play
  const KeyPlan p = plan_key(k);
  EXPECT_EQ(p.verdict, Verdict::loose);
  EXPECT_TRUE(p.plans.empty());
  EXPECT_TRUE(says(p.no_plan, "neither seat nor point does that on a rod")) << mm(p.no_plan);
  EXPECT_TRUE(says(p.relief, "swedge the tube or fit a washer of the missing length"));

  k.estimate = samples::estimate_of(rod(-0.02));
  const KeyPlan q = plan_key(k);
  EXPECT_EQ(q.verdict, Verdict::binds);
  ASSERT_FALSE(q.plans.empty()) << mm(q.no_plan);
  EXPECT_EQ(q.plans.front().steps.front().operation, Operation::face);
  EXPECT_NEAR(q.plans.front().metal.raw(), 0.033, 1e-9);
}

// common practice
TEST(Trade, PostsKnockedInwardsComeBackBeforeAnythingIsFaced) {
  KeyCase k = samples::case_of(loose());
  k.estimate = samples::estimate_of(rod(-0.02));
  k.lower.displaced = samples::read(-0.05);
  const KeyPlan whole = plan_key(k);
  ASSERT_FALSE(whole.plans.empty());
  EXPECT_EQ(whole.plans.front().approach, Approach::free_first);
  EXPECT_EQ(whole.plans.front().metal.raw(), 0);
  EXPECT_NEAR(whole.plans.front().steps.front().amount.raw(), -0.033, 1e-9);
  k.lower.displaced = samples::read(-0.02);
  const KeyPlan part = plan_key(k);
  ASSERT_FALSE(part.plans.empty());
  EXPECT_EQ(part.plans.front().steps.front().operation, Operation::restore_post);
  EXPECT_NEAR(part.plans.front().metal.raw(), 0.013, 1e-9);

  KeySpec s;
  s.end_play = -0.03;  // faces 0.01 apart, points 0.02 further in at each end
  s.upper.stop = s.lower.stop = 0.02;
  s.upper.displaced = -0.03;
  const KeyPlan p = plan_key(samples::case_of(s));
  ASSERT_FALSE(p.plans.empty()) << mm(p.no_plan);
  const Plan& best = p.plans.front();
  EXPECT_EQ(std::count_if(best.steps.begin(), best.steps.end(),
                          [](const Step& x) { return x.operation == Operation::restore_post; }),
            1);
  EXPECT_FALSE(uses(best, Operation::face, Side::upper));
  EXPECT_NEAR(best.metal.raw(), 0.043 - 0.03, 1e-9);

  // And a rod's post knocked outwards is brought back in.
  k.estimate = samples::estimate_of(rod(0.12));
  k.lower.displaced = samples::read(0.1);
  const KeyPlan in = plan_key(k);
  ASSERT_FALSE(in.plans.empty());
  EXPECT_NEAR(in.plans.front().steps.front().amount.raw(), 0.093, 1e-9);
}

TEST(Words, OfRockThatEndPlayDoesNotExplain) {
  belief::KeyKnowledge known;
  known.geometry = samples::geometry_of(loose(0.02));
  belief::Observation rock;
  rock.of = belief::Observation::Of::rock;
  rock.value = millimetres(0.2);
  rock.standard = millimetres(0.005);
  known.observations.push_back(rock);
  KeyCase k = samples::case_of(loose(0.02));
  k.estimate = *belief::estimate(known);
  const KeyPlan p = plan_key(k);
  EXPECT_EQ(p.verdict, Verdict::loose);
  EXPECT_TRUE(says(p.because, "rock of 0.200 mm read where the play explains"));
  EXPECT_TRUE(p.plans.empty());
  EXPECT_EQ(mm(p.no_plan), "cutting cannot take this rock away");
  EXPECT_TRUE(says(p.relief, "look for a worn-oval or bell-mouthed hole, loose threads or a loose post"));
  EXPECT_TRUE(
      refuses(p, Operation::seat_cut, Side::upper, "a deeper seat does not take it away", "worn-oval"));
}

TEST(Words, OfEveryOperationApproachAndDriver) {
  EXPECT_STREQ(word(Operation::drive_home), "drive the screw home");
  EXPECT_STREQ(word(Operation::turn_screw), "turn the screw");
  EXPECT_STREQ(word(Operation::restore_post), "bring the post back");
  EXPECT_STREQ(word(Operation::seat_cut), "cut the seat deeper");
  EXPECT_STREQ(word(Operation::ream), "ream the key end");
  EXPECT_STREQ(word(Operation::face), "face the key end");
  EXPECT_STREQ(word(Approach::leave_it), "leave it");
  EXPECT_STREQ(word(Approach::free_first), "no metal");
  EXPECT_STREQ(word(Approach::cut_upper), "upper seat");
  EXPECT_STREQ(word(Approach::cut_lower), "lower seat");
  EXPECT_STREQ(word(Approach::share_cut), "both seats");
  EXPECT_STREQ(word(Approach::keep_centred), "both seats, pad kept centred");
  EXPECT_STREQ(word(Approach::ream_upper), "upper key end");
  EXPECT_STREQ(word(Approach::ream_lower), "lower key end");
  EXPECT_STREQ(word(Approach::share_ream), "both key ends");
  EXPECT_STREQ(word(Approach::face_end), "face the key end");
  EXPECT_STREQ(word(Approach::restore_seat), "restore the taper, then the seat");
  EXPECT_STREQ(word(Driver::Kind::straight), "straight driver");
  EXPECT_STREQ(word(Driver::Kind::flexible), "flexible driver");
  EXPECT_STREQ(word(Driver::Kind::pinch), "short pinch-driven");
}

TEST(After, WhatCannotBeIsAFault) {
  const auto r = after(rod(0.1), work(Operation::ream, Side::upper, 0.1));
  ASSERT_FALSE(r);
  EXPECT_EQ(r.error().fault, Fault::geometry);
  const auto g = samples::geometry_of(loose());
  const auto f = after(g, work(Operation::face, Side::upper, 5));
  ASSERT_FALSE(f);
  EXPECT_EQ(f.error().fault, Fault::geometry);
}

}  // namespace
}  // namespace hingeline::plan
