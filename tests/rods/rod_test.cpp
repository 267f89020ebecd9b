// Clearance, rock, bow, swedging and the next rod.

#include "hingeline/rods/rod.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "hingeline/numeric/random.h"
#include "oracle.h"

namespace hingeline::rods {
namespace {

using nlohmann::json;
using numeric::Stream;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();

/// Somewhere between two numbers.
double between(double a, double b) { return a + (b - a) * *rc::gen::inRange(0, 1'000'001) / 1e6; }

TubeWall any_tube() {
  const double bore = between(1, 5);
  return {millimetres(bore + between(0.2, 3)), millimetres(bore)};
}

double metal(const TubeWall& tube, Length length) {
  return std::numbers::pi * tube.mean().raw() * tube.wall().raw() * length.raw();
}

TEST(Rod, ClearanceAndRock) {
  EXPECT_NEAR(in_millimetres(radial_clearance(millimetres(2.04), millimetres(2.0))), 0.02, 1e-15);
  const Length c = millimetres(0.02);
  const Length tube = millimetres(40);
  for (const double station : {0.0, 7.0, 20.0, 40.0}) {
    EXPECT_NEAR(in_millimetres(*rock_at(c, tube, millimetres(station))), 0.04, 1e-15) << station;
  }
  // Half a tube beyond its end: twice as far.
  EXPECT_NEAR(in_millimetres(*rock_at(c, tube, millimetres(60))), 0.08, 1e-15);
  EXPECT_NEAR(in_millimetres(*rock_at(c, tube, millimetres(-20))), 0.08, 1e-15);
  EXPECT_EQ(*rock_at(millimetres(-0.01), tube, millimetres(10)), Length{});
  EXPECT_FALSE(rock_at(c, Length{}, millimetres(1)));
  EXPECT_FALSE(rock_at(millimetres(kNan), tube, millimetres(1)));
}

// PL^3/48EI: 1 N, 100 mm, d 3 mm, E 207 GPa give 25.312 um. "Mechanics of Materials" formula, number
// computed.
TEST(Bow, MidspanForce) {
  const RodShaft rod{millimetres(3), millimetres(0.075312), millimetres(100)};
  const auto b = bow_in_tube(rod, {millimetres(100), millimetres(3.05), {}}, 0.2);
  ASSERT_TRUE(b);
  EXPECT_EQ(b->regime, BowRegime::three_points);
  EXPECT_NEAR(in_millimetres(b->excess), 0.025312, 1e-12);
  EXPECT_NEAR(in_newtons(*b->middle), 1, 5e-5);
  // Friction x radius x (the middle and as much again at the ends).
  EXPECT_NEAR(in_newton_millimetres(*b->friction), 0.2 * 1.5 * 2 * in_newtons(*b->middle), 1e-15);
}

// Two loads R at a from the ends of a simple beam bend the places they act on by R a^2 (3L - 4a)/(6EI):
// "Mechanics of Materials" formula.
TEST(Bow, BearingAtTheEnds) {
  const double a = 10;
  const double length = 60;
  const RodShaft rod{millimetres(2), millimetres(0.3), millimetres(120)};
  const auto b = bow_in_tube(rod, {millimetres(length), millimetres(2.03), millimetres(a)}, 0);
  ASSERT_TRUE(b);
  // 0.3 over 120 is 0.075 over 60; of that 4 x 1/6 x 5/6 between the inner edges and the ends.
  EXPECT_NEAR(in_millimetres(b->bow), 0.075 * 20 / 36, 1e-15);
  EXPECT_EQ(b->regime, BowRegime::three_points);
  const double stiffness = 207e3 * std::numbers::pi / 64 * 16;
  const double bent = *b->middle / newtons(1) / 2 * a * a * (3 * length - 4 * a) / (6 * stiffness);
  EXPECT_NEAR(bent, in_millimetres(b->excess), 1e-15);
  // All along binds more.
  const auto whole = bow_in_tube(rod, {millimetres(length), millimetres(2.03), {}}, 0);
  EXPECT_GT(whole->excess, b->excess);
}

TEST(Bow, NoneIsFree) {
  const auto b = bow_in_tube({millimetres(2), {}, {}}, {millimetres(40), millimetres(2.01), {}}, 0.15);
  ASSERT_TRUE(b);
  EXPECT_EQ(b->regime, BowRegime::free);
  EXPECT_EQ(*b->middle, newtons(0));
  EXPECT_EQ(*b->friction, newton_millimetres(0));
  const auto tight = bow_in_tube({millimetres(2), {}, {}}, {millimetres(40), millimetres(2), {}}, 0.15);
  EXPECT_EQ(tight->regime, BowRegime::no_room);
  EXPECT_FALSE(tight->middle);
  EXPECT_FALSE(tight->friction);
}

TEST(Bow, RefusesWhatCannotBe) {
  const RodShaft rod{millimetres(2), millimetres(0.1), millimetres(100)};
  const Bearing tube{millimetres(40), millimetres(2.02), {}};
  ASSERT_TRUE(bow_in_tube(rod, tube, 0));
  for (const double bad : {0.0, -1.0, kNan, kInfinity}) {
    const Length l = millimetres(bad);
    EXPECT_FALSE(bow_in_tube({l, rod.bow, rod.over}, tube, 0));
    EXPECT_FALSE(bow_in_tube({rod.diameter, rod.bow, l}, tube, 0));
    EXPECT_FALSE(bow_in_tube({rod.diameter, rod.bow, rod.over, pascals(bad)}, tube, 0));
    EXPECT_FALSE(bow_in_tube(rod, {l, tube.bore, {}}, 0));
    EXPECT_FALSE(bow_in_tube(rod, {tube.length, l, {}}, 0));
    EXPECT_FALSE(bow_in_tube(rod, {tube.length, tube.bore, l}, 0));
    if (bad != 0) {
      EXPECT_FALSE(bow_in_tube({rod.diameter, l, rod.over}, tube, 0));
      EXPECT_FALSE(bow_in_tube(rod, tube, bad));
    }
  }
}

// Finite elements and a general quadratic solver.
TEST(Bow, AgreesWithAGeneralSolver) {
  constexpr std::uint64_t kCases = 60;
  json problems = json::array();
  std::vector<BowInTube> ours;
  for (std::uint64_t n = 0; n < kCases; ++n) {
    Stream s(77, n);
    const double length = 20 + 80 * s.uniform();
    // Whole elements of the solver's half tube.
    const double bearing = n % 3 == 0 ? 1 : std::ceil(100 * (0.1 + 0.85 * s.uniform())) / 100;
    const double bow = 0.02 + 0.2 * s.uniform();
    const double room = bow * (0.01 + 0.9 * s.uniform());
    const RodShaft rod{millimetres(2), millimetres(bow), millimetres(length)};
    const auto b =
        bow_in_tube(rod, {millimetres(length), millimetres(2 + room), millimetres(bearing * length / 2)}, 0);
    ASSERT_TRUE(b);
    ours.push_back(*b);
    const double half = length / 2;
    const double curvature = 8 * bow / (length * length);
    problems.push_back(
        {{"clearance", in_millimetres(b->room) / 2 / (curvature * half * half)}, {"bearing", bearing}});
    const double unit = 207e3 * std::numbers::pi / 64 * 16 * curvature / half;
    ours.back().middle = newtons(2 * in_newtons(*b->middle) / unit);
  }
  const json theirs = answers_of("bow_oracle", problems);
  int regimes[3] = {};
  double farthest = 0;
  for (std::size_t n = 0; n < kCases; ++n) {
    const double all = theirs[n];
    const double mine = in_newtons(*ours[n].middle);
    ++regimes[static_cast<int>(ours[n].regime)];
    // The solver's contact can only be at a node.
    const double off = std::abs(mine - all) / std::max(1.0, mine);
    EXPECT_LE(off, 2e-3) << n << " " << word(ours[n].regime) << ": " << mine << " against " << all
                         << problems[n];
    farthest = std::max(farthest, off);
  }
  RecordProperty("farthest", ::testing::PrintToString(farthest));
  for (const int count : regimes) EXPECT_GT(count, 3);
}

RC_GTEST_PROP(Bow, ForceGrowsWithBowAndFallsWithRoom, ()) {
  const double length = between(10, 100);
  const std::optional<Length> each =
      *rc::gen::arbitrary<bool>() ? std::optional(millimetres(between(1, 60))) : std::nullopt;
  const double bow = between(0, 0.3);
  const double room = between(0.001, 0.1);
  const auto force = [&](double f, double r) {
    const auto b = bow_in_tube({millimetres(2), millimetres(f), millimetres(100)},
                               {millimetres(length), millimetres(2 + r), each}, 0.2);
    return in_newtons(*b->middle);
  };
  const double at = force(bow, room);
  RC_ASSERT(force(bow + 0.01, room) >= at);
  RC_ASSERT(force(bow, room + 0.005) <= at);
  // No jump anywhere, so none where the regimes meet.
  const double near = force(bow + 1e-9, room);
  RC_ASSERT(near - at <= 1e-3 * (1 + at));
}

TEST(Swedge, ByHand) {
  // Outside 3, bore 2: mean 2.5, wall 0.5. 10 mm, mean down by 0.1: 2.5/2.4.
  const TubeWall tube{millimetres(3), millimetres(2)};
  const auto longer = swedge(tube, millimetres(10), millimetres(0.1), 1);
  ASSERT_TRUE(longer);
  EXPECT_NEAR(in_millimetres(longer->growth), 10 * 0.1 / 2.4, 1e-14);
  EXPECT_NEAR(in_millimetres(longer->closes), 0.1, 1e-15);
  EXPECT_NEAR(in_millimetres(longer->tube.wall()), 0.5, 1e-15);
  const auto thicker = swedge(tube, millimetres(10), millimetres(0.1), 0);
  ASSERT_TRUE(thicker);
  EXPECT_EQ(thicker->growth, Length{});
  EXPECT_NEAR(in_millimetres(thicker->tube.wall()), 0.5 * 2.5 / 2.4, 1e-15);
  EXPECT_NEAR(in_millimetres(thicker->closes), 0.1 + 0.5 * 0.1 / 2.4, 1e-14);
}

RC_GTEST_PROP(Swedge, KeepsVolume, ()) {
  const TubeWall tube = any_tube();
  const Length length = millimetres(between(1, 30));
  const Length squeeze = tube.mean() * between(0, 0.2);
  const double share = between(0, 1);
  const auto s = swedge(tube, length, squeeze, share);
  RC_PRE(s.has_value());
  RC_ASSERT(std::abs(metal(s->tube, length + s->growth) / metal(tube, length) - 1) < 1e-14);
  RC_ASSERT(abs(tube.mean() - s->tube.mean() - squeeze).raw() < 1e-14);
  RC_ASSERT(abs(tube.bore - s->tube.bore - s->closes).raw() < 1e-14);
  // Between the two extremes.
  const auto most = swedge(tube, length, squeeze, 1);
  RC_ASSERT(s->growth <= most->growth);
  RC_ASSERT(s->closes.raw() >= most->closes.raw() - 1e-15);
  // "Up to l delta / D_mean" to first order.
  const double first = length.raw() * (squeeze / tube.mean());
  RC_ASSERT(std::abs(most->growth.raw() - first) <= 1.3 * first * (squeeze / tube.mean()) + 1e-15);
}

RC_GTEST_PROP(Swedge, ThereAndBack, ()) {
  const TubeWall tube = any_tube();
  const Length length = millimetres(between(1, 30));
  const double share = between(0.05, 1);
  const auto s = swedge(tube, length, tube.mean() * between(0, 0.1), share);
  RC_PRE(s.has_value());
  const auto grown = swedge_to_grow(tube, length, s->growth, share);
  RC_ASSERT(grown.has_value());
  RC_ASSERT(abs(grown->closes - s->closes).raw() < 1e-13);
  RC_ASSERT(abs(grown->growth - s->growth).raw() < 1e-13);
  const auto closed = swedge_to_close(tube, length, s->closes, share);
  RC_ASSERT(closed.has_value());
  RC_ASSERT(abs(closed->closes - s->closes).raw() < 1e-12);
  RC_ASSERT(abs(closed->growth - s->growth).raw() < 1e-10);
}

TEST(Swedge, RefusesWhatCannotBe) {
  const TubeWall tube{millimetres(3), millimetres(2)};
  const Length l = millimetres(10);
  EXPECT_FALSE(swedge({millimetres(2), millimetres(2)}, l, millimetres(0.1), 0.5));
  EXPECT_FALSE(swedge({millimetres(2), Length{}}, l, millimetres(0.1), 0.5));
  EXPECT_FALSE(swedge(tube, Length{}, millimetres(0.1), 0.5));
  EXPECT_FALSE(swedge(tube, l, millimetres(-0.1), 0.5));
  EXPECT_FALSE(swedge(tube, l, millimetres(2.5), 1));
  EXPECT_FALSE(swedge(tube, l, millimetres(2.2), 1));
  EXPECT_FALSE(swedge(tube, l, millimetres(kNan), 1));
  for (const double share : {-0.1, 1.1, kNan}) EXPECT_FALSE(swedge(tube, l, millimetres(0.1), share));
  EXPECT_FALSE(swedge_to_grow(tube, l, millimetres(0.1), 0));
  EXPECT_FALSE(swedge_to_grow(tube, l, millimetres(1e6), 0.5));
  EXPECT_FALSE(swedge_to_close(tube, l, millimetres(2), 0.5));
  EXPECT_EQ(swedge_to_close(tube, l, Length{}, 0.5)->growth, Length{});
}

RodQuestion question() {
  RodQuestion q;
  q.tubes = {{{millimetres(3.2), millimetres(2.06)}, millimetres(40), true},
             {{millimetres(3.2), millimetres(2.03)}, millimetres(60), true}};
  q.now = millimetres(2.0);
  q.least_wall = millimetres(0.4);
  q.guard = millimetres(0.002);
  q.rod_change = seconds(900);
  q.ream_set_up = seconds(480);
  return q;
}

// H7/g6 up to 3 mm: clearance 2 to 18 um (ISO 286-2).
TEST(NextRod, ByHand) {
  const std::vector<Length> rods{millimetres(2.0), millimetres(2.05), millimetres(2.1), millimetres(2.4)};
  const auto found = choose_rod(question(), rods, mechanism::RunningFit{});
  ASSERT_TRUE(found);
  ASSERT_EQ(found->size(), 4u);
  const RodChoice& best = found->front();
  EXPECT_EQ(best.rod, 1u);
  EXPECT_EQ(best.trouble, RodTrouble::none);
  EXPECT_EQ(best.window.least, millimetres(0.002));
  EXPECT_EQ(best.window.most, millimetres(0.018));
  // 2.06 on 2.05: 10 um, in the window. 2.03 has to come to 2.05 + 0.002 + 0.002.
  EXPECT_EQ(best.tubes[0].ream, Length{});
  EXPECT_NEAR(in_millimetres(best.tubes[0].clearance), 0.01, 1e-12);
  EXPECT_NEAR(in_millimetres(best.tubes[1].ream), 0.024, 1e-12);
  EXPECT_NEAR(in_millimetres(best.tubes[1].wall), (3.2 - 2.054) / 2, 1e-12);
  EXPECT_NEAR(best.metal, std::numbers::pi / 4 * (2.054 * 2.054 - 2.03 * 2.03) * 60, 1e-9);
  EXPECT_EQ(best.minutes, seconds(900 + 480));
  // 2.1 does as well, with more metal.
  EXPECT_EQ((*found)[1].rod, 2u);
  EXPECT_EQ((*found)[1].trouble, RodTrouble::none);
  // The rod in there: 60 um on the first tube is 42 too many. 2.4: wall (3.2 - 2.404)/2 = 0.398.
  EXPECT_EQ((*found)[2].rod, 3u);
  EXPECT_EQ((*found)[2].trouble, RodTrouble::wall);
  EXPECT_NEAR(in_millimetres((*found)[2].by), 0.002, 1e-12);
  EXPECT_EQ((*found)[3].rod, 0u);
  EXPECT_EQ((*found)[3].trouble, RodTrouble::too_thin);
  EXPECT_NEAR(in_millimetres((*found)[3].by), 0.042, 1e-12);
}

TEST(NextRod, OfNoneAndOfNonsense) {
  EXPECT_TRUE(choose_rod(question(), {}, mechanism::RunningFit{})->empty());
  const std::vector<Length> rods{millimetres(2.05)};
  RodQuestion q = question();
  q.tubes[1].may_ream = false;
  EXPECT_EQ(choose_rod(q, rods, mechanism::RunningFit{})->front().trouble, RodTrouble::may_not);
  EXPECT_FALSE(choose_rod(question(), std::vector{millimetres(-1)}, mechanism::RunningFit{}));
  EXPECT_FALSE(choose_rod(question(), std::vector{millimetres(11)}, mechanism::RunningFit{}));
  EXPECT_FALSE(choose_rod(question(), rods, ClearanceWindow{Length{}, millimetres(0.1)}));
  EXPECT_FALSE(choose_rod(question(), rods, ClearanceWindow{millimetres(0.2), millimetres(0.1)}));
  q = question();
  q.tubes.clear();
  EXPECT_FALSE(choose_rod(q, rods, mechanism::RunningFit{}));
  q = question();
  q.tubes[0].tube.outside = q.tubes[0].tube.bore;
  EXPECT_FALSE(choose_rod(q, rods, mechanism::RunningFit{}));
  q = question();
  q.now = Length{};
  EXPECT_FALSE(choose_rod(q, rods, mechanism::RunningFit{}));
}

// Against every bore there could be, in steps of a micrometre.
RC_GTEST_PROP(NextRod, IsTheLeastMetalOfAll, ()) {
  RodQuestion q = question();
  q.guard = {};
  q.tubes.clear();
  const int count = *rc::gen::inRange(1, 4);
  for (int k = 0; k < count; ++k) {
    const int bore = *rc::gen::inRange(2000, 2120);
    q.tubes.push_back({{millimetres(3.1), millimetres(bore / 1000.0)}, millimetres(30), true});
  }
  const std::vector<Length> rods{millimetres(1.995), millimetres(2.04), millimetres(2.08), millimetres(2.2)};
  const ClearanceWindow window{millimetres(0.005), millimetres(0.020)};
  const auto found = choose_rod(q, rods, window);
  RC_ASSERT(found.has_value());
  double least = kInfinity;
  for (const Length rod : rods) {
    double metal_off = 0;
    for (const RunningTube& t : q.tubes) {
      double best = kInfinity;
      const auto before = std::lround(t.tube.bore.raw() * 1000);
      for (long bore = before; bore <= 2300; ++bore) {
        const long room = bore - std::lround(rod.raw() * 1000);
        if (room < 5 || room > 20) continue;
        const double b = static_cast<double>(bore) / 1000;
        if ((3.1 - b) / 2 < 0.4) continue;
        best = std::min(best, std::numbers::pi / 4 * (b * b - t.tube.bore.raw() * t.tube.bore.raw()) * 30);
      }
      metal_off += best;
    }
    least = std::min(least, metal_off);
  }
  const RodChoice& first = found->front();
  // A limit met to the last digit may go either way in doubles.
  const bool on_an_edge = std::any_of(q.tubes.begin(), q.tubes.end(), [&](const RunningTube& t) {
    return std::any_of(rods.begin(), rods.end(), [&](Length rod) {
      const double room = (t.tube.bore - rod).raw();
      return std::abs(room - 0.005) < 1e-9 || std::abs(room - 0.020) < 1e-9;
    });
  });
  RC_PRE(!on_an_edge);
  RC_ASSERT((first.trouble == RodTrouble::none) == (least < kInfinity));
  if (least < kInfinity) RC_ASSERT(std::abs(first.metal - least) < 1e-9);
}

}  // namespace
}  // namespace hingeline::rods
