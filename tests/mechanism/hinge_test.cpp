// A key between its posts: worked by hand, and what holds for every hinge.

#include "hingeline/mechanism/hinge.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "contact/make.h"
#include "exact_forms.h"
#include "hingeline/base/reading.h"
#include "random_hinges.h"

namespace hingeline::mechanism {
namespace {

using namespace hingeline::contact;
using reference::Engine;
using reference::Roundness;
using reference::uniform;

constexpr double kExact = 1e-13;  // mm
constexpr double kInfinity = std::numeric_limits<double>::infinity();

double tan_deg(double a) { return std::tan(a * std::numbers::pi / 180); }
double mm(Length l) { return in_millimetres(l); }

/// A matched cone with flank's home at 0.5 / tan a.
HingeEnd cone_end(double half_angle, double protrusion) {
  return {joint_of(cone_point(half_angle, 0.5, 3), cone_hole(half_angle, 1, 2)), millimetres(protrusion)};
}
HingeEnd rod_end(double clearance) { return {Joint::rod(millimetres(clearance)), {}}; }
Hinge hinge(double gap, HingeEnd upper, HingeEnd lower, double key = 40) {
  return {millimetres(key + gap), millimetres(key), std::move(upper), std::move(lower)};
}
const double kHome = 0.5 / tan_deg(30);  // of cone_end(30, ...)

TEST(Travel, ConesOffTheFaces) {
  // E = G - P_u - P_l + t*_u + t*_l.
  const double home_20 = 0.5 / tan_deg(20);
  const Hinge h = hinge(0.3, cone_end(30, kHome + 0.08), cone_end(20, home_20 + 0.15));
  EXPECT_NEAR(mm(h.travel().end_play()), 0.3 - (kHome + 0.08) - (home_20 + 0.15) + kHome + home_20, kExact);
  EXPECT_NEAR(mm(h.travel().low), 0.08, kExact);
  EXPECT_NEAR(mm(h.travel().high), 0.15, kExact);
  EXPECT_NEAR(mm(h.travel().face_gap), 0.3, kExact);
  EXPECT_EQ(h.travel().low_stop, StopKind::joint);
  EXPECT_EQ(h.travel().high_stop, StopKind::joint);
  EXPECT_NEAR(mm(h.travel().gap_at(Side::upper)), 0.08, kExact);
  EXPECT_NEAR(mm(h.travel().gap_at(Side::lower)), 0.15, kExact);
  EXPECT_NEAR(mm(h.point_stop(Side::upper)), 0.08, kExact);
  EXPECT_NEAR(mm(h.point_stop(Side::lower)), 0.15, kExact);
  EXPECT_NEAR(mm(h.insertion(Side::upper, millimetres(0.1))), kHome - 0.02, kExact);
  EXPECT_NEAR(mm(h.insertion(Side::lower, millimetres(0.1))), home_20 + 0.15 - 0.2, kExact);
  EXPECT_FALSE(h.can_drop_out());
}

TEST(Travel, FacesStopTheKey) {
  const Hinge both = hinge(0.2, cone_end(30, kHome - 0.3), cone_end(30, kHome - 0.4));
  EXPECT_EQ(both.travel().low, Length{});
  EXPECT_EQ(both.travel().high, both.travel().face_gap);
  EXPECT_EQ(both.travel().end_play(), both.travel().face_gap);
  EXPECT_EQ(both.travel().low_stop, StopKind::face);
  EXPECT_EQ(both.travel().high_stop, StopKind::face);
  EXPECT_NEAR(mm(both.point_stop(Side::upper)), -0.3, kExact);
  EXPECT_EQ(both.travel().gap_at(Side::upper), Length{});

  const Hinge one = hinge(0.2, cone_end(30, kHome - 0.3), cone_end(30, kHome + 0.05));
  EXPECT_EQ(one.travel().low, Length{});
  EXPECT_NEAR(mm(one.travel().end_play()), 0.15, kExact);
  EXPECT_EQ(one.travel().low_stop, StopKind::face);
  EXPECT_EQ(one.travel().high_stop, StopKind::joint);
}

TEST(Travel, BindIsByHowMuchThePartsOverlap) {
  const Hinge h = hinge(0.2, cone_end(30, kHome + 0.15), cone_end(30, kHome + 0.12));
  EXPECT_NEAR(mm(h.travel().end_play()), -0.07, kExact);
  // A key longer than its span binds on the faces alone.
  EXPECT_NEAR(mm(hinge(-0.04, rod_end(0.02), rod_end(0.02)).travel().end_play()), -0.04, kExact);
}

TEST(Travel, ABoundKeyHasNoPoses) {
  const Hinge h = hinge(0.2, cone_end(30, kHome + 0.15), cone_end(30, kHome + 0.12));
  const Play play(h);
  EXPECT_TRUE(play.empty());
  EXPECT_EQ(play.knots(), 0U);
  EXPECT_NEAR(mm(play.middle()), 0.115, kExact);
  EXPECT_EQ(play.worst({1, {1, 0}, {0, 1}}), Length{});
  const Answer a = play.answer({1, {1, 0}, {0, 1}});
  EXPECT_EQ(a.worst, Length{});
  EXPECT_EQ(a.pose.place, play.middle());
  EXPECT_EQ(rock(play, millimetres(3)).travel, Length{});
  const PadPlay pad = pad_play(play, {millimetres(15), millimetres(20), millimetres(25), degrees(30)});
  for (const Length l : {pad.side_gap, pad.front_gap, pad.worst_gap, pad.seat_wander}) EXPECT_EQ(l, Length{});
  for (const Pose& p : {pad.side_pose, pad.front_pose, pad.worst_pose}) EXPECT_EQ(p.place, play.middle());
}

TEST(Travel, NoPlayIsOnePlace) {
  const Hinge h = hinge(0, rod_end(0.02), rod_end(0.03));
  const Play play(h);
  EXPECT_FALSE(play.empty());
  EXPECT_EQ(play.knots(), 1U);
  EXPECT_NEAR(mm(play.worst({5, {1, 0}, {0, 1}})), 0.05, kExact);
}

TEST(Travel, RodIsStoppedByTheFacesOnly) {
  const Hinge h = hinge(0.06, rod_end(0.01), rod_end(0.025));
  EXPECT_NEAR(mm(h.travel().end_play()), 0.06, kExact);
  EXPECT_EQ(h.travel().low_stop, StopKind::face);
  EXPECT_EQ(h.travel().high_stop, StopKind::face);
  EXPECT_EQ(mm(h.point_stop(Side::upper)), -kInfinity);
  EXPECT_FALSE(h.can_drop_out());
  const Play play(h);
  EXPECT_NEAR(mm(rock(play, Length{}).travel), 0.02, kExact);
  EXPECT_NEAR(mm(rock(play, millimetres(40)).travel), 0.05, kExact);
  EXPECT_NEAR(mm(rock(play, millimetres(10)).travel), 2 * (0.75 * 0.01 + 0.25 * 0.025), kExact);
}

TEST(Travel, APointThatLeavesItsHole) {
  EXPECT_TRUE(hinge(0.5, cone_end(30, 0.4), cone_end(30, 0.8)).can_drop_out());
  EXPECT_FALSE(hinge(0.5, cone_end(30, 0.6), cone_end(30, 0.8)).can_drop_out());
}

TEST(Words, OfSides) {
  EXPECT_STREQ(word(Side::upper), "upper");
  EXPECT_STREQ(word(Side::lower), "lower");
  EXPECT_EQ(other(Side::upper), Side::lower);
  EXPECT_EQ(other(Side::lower), Side::upper);
}

// Common practice: on matched cones end play is also what makes the key rock; one mm of axial gap gives
// tan a mm of radial gap.
TEST(Rock, IsTwiceTanOfTheHalfAngleTimesTheAxialGap) {
  const double E = 0.09;
  const Play play(hinge(0.2, cone_end(30, kHome + 0.05), cone_end(30, kHome + 0.2 - E - 0.05)));
  // At an end the key stands at the other post: all of the end play is axial gap there.
  EXPECT_NEAR(mm(rock(play, Length{}).travel), 2 * tan_deg(30) * E, kExact);
  EXPECT_NEAR(mm(rock(play, millimetres(40)).travel), 2 * tan_deg(30) * E, kExact);
  // In the middle both ends share it, wherever the key stands.
  EXPECT_NEAR(mm(rock(play, millimetres(20)).travel), tan_deg(30) * E, kExact);
  // And a quarter of the way along the key's far end is at home.
  EXPECT_NEAR(mm(rock(play, millimetres(10)).travel), 2 * 0.75 * tan_deg(30) * E, kExact);
}

// Common practice: a conical point in a straight hole touches the rim only; its end play rocks like a cone's
// with the point's own taper.
TEST(Rock, OfAStraightHoleFollowsThePointsTaper) {
  const auto end = [](double stop) -> HingeEnd {
    Joint j = joint_of(cone_point(30, 0.5, 3), straight_hole(0.8, 2.5));
    EXPECT_EQ(j.home().regime, Regime::rim);
    const Length p = j.home().insertion + millimetres(stop);
    return {std::move(j), p};
  };
  const Play play(hinge(0.2, end(0.05), end(0.06)));
  EXPECT_NEAR(mm(rock(play, Length{}).travel), 2 * tan_deg(30) * 0.09, kExact);
}

// Common practice: seat depth moves the point further in and takes the same off the end play; it does not
// change how far the key's faces are from the posts together.
TEST(Work, DeeperSeatTakesEndPlayAndLeavesTheFaceGap) {
  const Hinge before = hinge(0.3, cone_end(30, kHome + 0.08), cone_end(30, kHome + 0.05));
  const Hinge after = hinge(0.3, cone_end(30, kHome + 0.08 + 0.0625), cone_end(30, kHome + 0.05));
  EXPECT_NEAR(mm(before.travel().end_play() - after.travel().end_play()), 0.0625, kExact);
  EXPECT_EQ(before.travel().face_gap, after.travel().face_gap);
  // The key is pushed away from that end by as much, and not at all where the other joint stops it.
  EXPECT_NEAR(mm(after.travel().low - before.travel().low), 0.0625, kExact);
  EXPECT_EQ(after.travel().high, before.travel().high);
}

// Common practice: too deep a seat makes the key bind; reaming that key end a little with the point's own
// taper frees it.
TEST(Work, ReamingFreesWhatAnOverCutBound) {
  constexpr double kOverCut = 0.04;
  const auto end = [](double protrusion, double reamed) -> HingeEnd {
    const Profile hole = make_hole(cone_hole(30, 1, 1.6)).value();
    return {Joint(make_point(cone_point(30, 0.5, 3)).value(),
                  ream(hole, degrees(30), millimetres(1 + reamed * tan_deg(30)))),
            millimetres(protrusion)};
  };
  const Hinge just_free = hinge(0.2, end(kHome + 0.1, 0), end(kHome + 0.1, 0));
  EXPECT_NEAR(mm(just_free.travel().end_play()), 0, kExact);
  const Hinge bound = hinge(0.2, end(kHome + 0.1 + kOverCut, 0), end(kHome + 0.1, 0));
  EXPECT_NEAR(mm(bound.travel().end_play()), -kOverCut, kExact);
  const Hinge freed = hinge(0.2, end(kHome + 0.1 + kOverCut, kOverCut), end(kHome + 0.1, 0));
  EXPECT_NEAR(mm(freed.travel().end_play()), 0, kExact);
}

// Common practice: pushed home on one end, a sound joint does not rock there; rock that stays does not come
// from end play.
TEST(HomeEndTest, TellsASoundEndFromOneThatRocks) {
  struct Row {
    const char* name;
    Joint joint;
    Regime regime;
    double rock;
  };
  const Row rows[] = {
      {"matched cone", joint_of(cone_point(30, 0.5, 3), cone_hole(30, 1, 2)), Regime::flank, 0},
      {"straight hole", joint_of(cone_point(30, 0.5, 3), straight_hole(0.8, 2)), Regime::rim, 0},
      {"tip edge", joint_of(cone_point(15, 0.5, 3), cone_hole(30, 1, 2)), Regime::tip_edge, 0},
      {"tip on the floor", joint_of(cone_point(30, 0.5, 3), cone_hole(30, 1, 0.4)), Regime::floor,
       2 * (kHome - 0.4) * tan_deg(30)},
      {"shouldered", joint_of(pin(0.4, 1, 0.9, 3), straight_hole(0.425, 2)), Regime::shoulder, 0.05},
  };
  for (const Row& row : rows) {
    SCOPED_TRACE(row.name);
    const HingeEnd end{row.joint, row.joint.home().insertion + millimetres(0.1)};
    const Hinge h = hinge(0.3, end, end);
    for (const Side side : {Side::upper, Side::lower}) {
      const HomeEnd home = home_end(h, side);
      EXPECT_EQ(home.stop, StopKind::joint);
      EXPECT_STREQ(word(home.regime), word(row.regime));
      EXPECT_NEAR(mm(home.rock_there), row.rock, kExact);
    }
  }
  // Stopped by the faces before its cone is home: what is left of the cone rocks.
  const Hinge faces = hinge(0.1, cone_end(30, kHome - 0.02), cone_end(30, kHome - 0.05));
  EXPECT_EQ(home_end(faces, Side::upper).stop, StopKind::face);
  EXPECT_NEAR(mm(home_end(faces, Side::upper).rock_there), 2 * 0.02 * tan_deg(30), kExact);
  EXPECT_NEAR(mm(home_end(faces, Side::lower).rock_there), 2 * 0.05 * tan_deg(30), kExact);
  EXPECT_NEAR(mm(home_end(hinge(0.1, rod_end(0.02), rod_end(0.03)), Side::lower).rock_there), 0.06, kExact);
}

TEST(PadPlayTest, RodByHand) {
  // K 50, station in the middle, arm 20, tone hole 15; both clearances 0.02, end play 0.1.
  const double c = 0.02;
  const Play play(hinge(0.1, rod_end(c), rod_end(c), 50));
  for (const double clock : {0.0, 30.0, 90.0, 200.0}) {
    const PadPlay p = pad_play(play, {millimetres(15), millimetres(25), millimetres(20), degrees(clock)});
    EXPECT_NEAR(mm(p.side_gap), 15 * 2 * c / 50, kExact);
    EXPECT_NEAR(mm(p.front_gap), 15 * c / 20, kExact);
    // Lifting and tilting want opposite things of the two ends here: the larger alone.
    EXPECT_NEAR(mm(p.worst_gap), 15 * c / 20, kExact);
    // Both ends one way: the pad goes out and in by c. Opposite ways: 2 c / 50 x 20 along the line.
    EXPECT_NEAR(mm(p.seat_wander), 0.1 + 2 * (2 * c / 50 * 20), kExact);
  }
  // Off the middle they are partly both at once: 0.8 / 0.2.
  const PadPlay p = pad_play(play, {millimetres(15), millimetres(10), millimetres(20), degrees(0)});
  const double same = 0.75 * c;
  const double opposite = std::hypot(0.3 * 2 * c, 0.75 * 0.6 * c);
  EXPECT_NEAR(mm(p.worst_gap), std::max(same, opposite), kExact);
}

// Published errors, from the measures of the forms to the travel, on hinges that are hard for it.
TEST(PublishedError, OfTheTravel) {
  Engine engine(61);
  double place = 0;
  double end_play = 0;
  for (int n = 0; n < 100'000; ++n) {
    std::array<reference::Real, 2> homes{};
    std::vector<HingeEnd> ends;
    for (auto& home : homes) {
      const auto forms = reference::draw_slender_forms(engine);
      const auto point = make_point(forms.point);
      const auto hole = make_hole(forms.hole);
      if (!point || !hole) break;
      home = reference::exact_home(reference::exact_point(forms.point), reference::exact_hole(forms.hole));
      Joint joint(*point, *hole);
      const Length protrusion = joint.home().insertion + millimetres(uniform(engine, 0.001, 0.2));
      ends.push_back({std::move(joint), protrusion});
    }
    if (ends.size() < 2) continue;
    const double span = uniform(engine, 50, 100);
    const double key = span - uniform(engine, 0.5, 1);
    const std::array<reference::Real, 2> stops{mm(ends[0].protrusion) - homes[0],
                                               mm(ends[1].protrusion) - homes[1]};
    const reference::Real gap = static_cast<reference::Real>(span) - key;
    const Hinge h(millimetres(span), millimetres(key), ends[0], ends[1]);
    const auto off = [](Length ours, reference::Real exact) {
      return static_cast<double>(std::abs(mm(ours) - exact));
    };
    place = std::max({place, off(h.travel().low, stops[0]), off(h.travel().high, gap - stops[1])});
    end_play = std::max(end_play, off(h.travel().end_play(), gap - stops[0] - stops[1]));
  }
  RecordProperty("place", ::testing::PrintToString(place));
  RecordProperty("end_play", ::testing::PrintToString(end_play));
  EXPECT_LE(place, mm(kPlaceWorstError));
  EXPECT_GE(place, mm(kPlaceWorstError) / 2);
  EXPECT_LE(end_play, mm(kEndPlayWorstError));
  EXPECT_GE(end_play, mm(kEndPlayWorstError) / 2);
}

// ---- what holds for every hinge -------------------------------------------------------------------------

Hinge draw(Engine& engine, Roundness roundness = Roundness::any) {
  return reference::draw_hinge(engine, roundness);
}
Question draw_question(Engine& engine) {
  const auto w = [&] { return reference::pick(engine, 5) == 0 ? 0.0 : uniform(engine, -2, 2); };
  return {w(), {w(), w()}, {w(), w()}};
}
Pad draw_pad(Engine& engine, Length key) {
  return {millimetres(uniform(engine, 5, 45)), key * uniform(engine, -0.2, 1.2),
          millimetres(uniform(engine, 8, 40)), degrees(uniform(engine, 0, 360))};
}
bool near(Length a, Length b, double tolerance) { return std::abs(mm(a - b)) <= tolerance; }

RC_GTEST_PROP(Mirror, SwappingTheEndsMirrorsEverything, (std::uint64_t seed)) {
  Engine engine(seed);
  const Hinge h = draw(engine);
  const Hinge m(h.span(), h.key_length(), h.end(Side::lower), h.end(Side::upper));
  const Length gap = h.travel().face_gap;
  RC_ASSERT(near(m.travel().low, gap - h.travel().high, kExact));
  RC_ASSERT(near(m.travel().high, gap - h.travel().low, kExact));
  RC_ASSERT(near(m.travel().end_play(), h.travel().end_play(), kExact));
  RC_ASSERT(m.travel().low_stop == h.travel().high_stop);
  RC_ASSERT(m.can_drop_out() == h.can_drop_out());
  const Play play(h);
  const Play mirrored(m);
  RC_ASSERT(play.empty() == mirrored.empty());
  const Length station = h.key_length() * uniform(engine, 0, 1);
  // The frame's rounding shifts places by 1e-14 mm; a flank makes less than ten times that of it.
  constexpr double kFrame = 1e-12;
  RC_ASSERT(near(rock(play, station).travel, rock(mirrored, h.key_length() - station).travel, kFrame));
  Pad pad = draw_pad(engine, h.key_length());
  const PadPlay a = pad_play(play, pad);
  pad.station = h.key_length() - pad.station;
  const PadPlay b = pad_play(mirrored, pad);
  RC_ASSERT(near(a.side_gap, b.side_gap, kFrame));
  RC_ASSERT(near(a.front_gap, b.front_gap, kFrame));
  RC_ASSERT(near(a.worst_gap, b.worst_gap, kFrame));
  RC_ASSERT(near(a.seat_wander, b.seat_wander, kFrame));
  for (const Side side : {Side::upper, Side::lower}) {
    RC_ASSERT(near(home_end(h, side).rock_there, home_end(m, other(side)).rock_there, kFrame));
  }
}

RC_GTEST_PROP(Turning, TheClockAngleChangesNoFigure, (std::uint64_t seed)) {
  Engine engine(seed);
  const Hinge h = draw(engine);
  const Play play(h);
  Pad pad = draw_pad(engine, h.key_length());
  const PadPlay a = pad_play(play, pad);
  pad.clock = degrees(uniform(engine, 0, 360));
  const PadPlay b = pad_play(play, pad);
  RC_ASSERT(near(a.side_gap, b.side_gap, kExact));
  RC_ASSERT(near(a.front_gap, b.front_gap, kExact));
  RC_ASSERT(near(a.worst_gap, b.worst_gap, kExact));
  RC_ASSERT(near(a.seat_wander, b.seat_wander, kExact));
}

TEST(Units, InchesAndMillimetresGiveTheSameBits) {
  const auto build = [](const std::vector<const char*>& lengths) {
    std::vector<Length> l;
    for (const char* text : lengths) l.push_back(parse_length(text, LengthUnit::mm, Sign::any)->value);
    PointForm p;
    p.half_angle = degrees(17);
    p.tip_radius = l[0];
    p.length = l[1];
    HoleForm h;
    h.half_angle = degrees(19);
    h.mouth_radius = l[2];
    h.depth = l[3];
    const HingeEnd end{joint_of(p, h), l[4]};
    return Hinge(l[5], l[6], end, end);
  };
  const Hinge inch = build({"0.0175 in", "1/8\"", ".035\"", "70 thou", "0.0516 in", "1.5757 in", "1 9/16\""});
  const Hinge metric =
      build({"0.4445 mm", "3.175 mm", "0.889", "1778 um", "1.31064", "40.02278 mm", "39.6875 mm"});
  EXPECT_EQ(inch.travel().low, metric.travel().low);
  EXPECT_EQ(inch.travel().high, metric.travel().high);
  EXPECT_EQ(inch.travel().face_gap, metric.travel().face_gap);
  EXPECT_GT(inch.travel().end_play(), Length{});
  const Play a(inch);
  const Play b(metric);
  const Question q{0.3, {1, 0.5}, {-0.2, 2}};
  EXPECT_EQ(a.worst(q), b.worst(q));
  EXPECT_EQ(rock(a, inches(0.5)).travel, rock(b, millimetres(12.7)).travel);
}

Profile scaled(const Profile& p, double k) {
  std::vector<Vertex> v;
  for (const Vertex& x : p.vertices()) v.push_back({x.along * k, x.radius * k});
  return Profile::from_vertices(v).value();
}

RC_GTEST_PROP(Scaling, ByTwoDoublesEveryLengthToTheBit, (std::uint64_t seed)) {
  Engine engine(seed);
  const auto forms = reference::draw_forms(engine, Roundness::straight_only);
  const auto point = make_point(forms.point);
  RC_PRE(point.has_value());
  const Profile hole =
      Profile::from_vertices(std::vector<Vertex>{{Length{}, forms.hole.mouth_radius},
                                                 {forms.hole.depth, forms.hole.mouth_radius * 0.1}})
          .value();
  const Joint j(*point, hole);
  RC_PRE(is_finite(j.home().insertion));
  const double stop = uniform(engine, 0, 0.1);
  const auto build = [&](double k) {
    const Joint big(scaled(*point, k), scaled(hole, k));
    const HingeEnd end{big, j.home().insertion * k + millimetres(stop * k)};
    return Hinge(millimetres(40.5 * k), millimetres(40.1 * k), end, end);
  };
  const Hinge one = build(1);
  const Hinge two = build(2);
  RC_ASSERT(two.travel().low == one.travel().low * 2);
  RC_ASSERT(two.travel().high == one.travel().high * 2);
  const Pad pad = draw_pad(engine, one.key_length());
  const Pad big{pad.tone_hole * 2, pad.station * 2, pad.arm * 2, pad.clock};
  const PadPlay a = pad_play(Play(one), pad);
  const PadPlay b = pad_play(Play(two), big);
  RC_ASSERT(b.side_gap == a.side_gap * 2);
  RC_ASSERT(b.front_gap == a.front_gap * 2);
  RC_ASSERT(b.worst_gap == a.worst_gap * 2);
  RC_ASSERT(b.seat_wander == a.seat_wander * 2);
  RC_ASSERT(rock(Play(two), big.station).travel == rock(Play(one), pad.station).travel * 2);
}

RC_GTEST_PROP(Protrusion, TakesItsOwnAmountOffTheEndPlay, (std::uint64_t seed)) {
  Engine engine(seed);
  const Hinge h = draw(engine);
  const Side side = reference::pick(engine, 2) == 0 ? Side::upper : Side::lower;
  const StopKind stop = side == Side::upper ? h.travel().low_stop : h.travel().high_stop;
  const double d = uniform(engine, 0, 0.3);
  HingeEnd grown = h.end(side);
  grown.protrusion += millimetres(d);
  const Hinge after(h.span(), h.key_length(), side == Side::upper ? grown : h.end(Side::upper),
                    side == Side::lower ? grown : h.end(Side::lower));
  const double taken = mm(h.travel().end_play() - after.travel().end_play());
  RC_ASSERT(after.travel().face_gap == h.travel().face_gap);
  if (h.end(side).joint.is_rod()) {
    RC_ASSERT(taken == 0);
  } else if (stop == StopKind::joint) {
    RC_ASSERT(std::abs(taken - d) <= kExact);
  } else {
    // Off the face it takes only what goes past the face.
    RC_ASSERT(std::abs(taken - std::max(0.0, d + mm(h.point_stop(side)))) <= kExact);
  }
  RC_ASSERT(after.travel().low >= h.travel().low);
  RC_ASSERT(after.travel().high <= h.travel().high);
  // And where clearances only fall with depth, the key never rocks or gapes more for it.
  const auto falls = [&](Side end) {
    const Joint& j = h.end(end).joint;
    const auto radii_sorted = [](const Profile& p, double sign) {
      const auto v = p.vertices();
      return std::is_sorted(v.begin(), v.end(), [&](const Vertex& a, const Vertex& b) {
        return sign * mm(a.radius) < sign * mm(b.radius);
      });
    };
    return j.is_rod() || (radii_sorted(*j.point(), 1) && radii_sorted(*j.hole(), -1));
  };
  if (!falls(Side::upper) || !falls(Side::lower)) return;
  const Pad pad = draw_pad(engine, h.key_length());
  const PadPlay before = pad_play(Play(h), pad);
  const PadPlay less = pad_play(Play(after), pad);
  const Length slack = millimetres(kExact);
  RC_ASSERT(rock(Play(after), pad.station).travel <= rock(Play(h), pad.station).travel + slack);
  RC_ASSERT(less.side_gap <= before.side_gap + slack);
  RC_ASSERT(less.front_gap <= before.front_gap + slack);
  RC_ASSERT(less.worst_gap <= before.worst_gap + slack);
  RC_ASSERT(less.seat_wander <= before.seat_wander + slack);
}

/// Clearance at a place by the reference, both sides of a step looked at.
double reference_clearance(const Hinge& h, Side side, double place) {
  const HingeEnd& end = h.end(side);
  if (end.joint.is_rod()) return mm(end.joint.home().clearance);
  const auto point = reference::outline(*end.joint.point());
  const auto hole = reference::outline(*end.joint.hole());
  const double t = mm(h.insertion(side, millimetres(place)));
  double most = 0;
  for (const double beside : {-1e-12, 0.0, 1e-12}) {
    most = std::max(most, static_cast<double>(reference::exact_clearance(
                              point, hole, std::max<reference::Real>(1e-12L, t + beside))));
  }
  return most;
}

bool attainable(const Hinge& h, const Pose& pose) {
  const double place = mm(pose.place);
  if (place < mm(h.travel().low) || place > mm(h.travel().high)) return false;
  const auto size = [](const std::array<Length, 2>& v) { return std::hypot(mm(v[0]), mm(v[1])); };
  constexpr double kSlack = 1e-9;  // a place 1e-12 mm off where the tip of a rounding stands nearly square
  return size(pose.upper) <= reference_clearance(h, Side::upper, place) + kSlack &&
         size(pose.lower) <= reference_clearance(h, Side::lower, place) + kSlack;
}

RC_GTEST_PROP(Answers, PoseIsAttainableAndGivesTheWorst, (std::uint64_t seed)) {
  Engine engine(seed);
  const Hinge h = draw(engine);
  const Play play(h);
  RC_PRE(!play.empty());
  const Question q = draw_question(engine);
  const Answer a = play.answer(q);
  RC_ASSERT(a.worst == play.worst(q));
  RC_ASSERT(attainable(h, a.pose));
  const double value = q.axial * mm(a.pose.place - play.middle()) + q.upper[0] * mm(a.pose.upper[0]) +
                       q.upper[1] * mm(a.pose.upper[1]) + q.lower[0] * mm(a.pose.lower[0]) +
                       q.lower[1] * mm(a.pose.lower[1]);
  RC_ASSERT(std::abs(value - mm(a.worst)) <= kExact);
}

RC_GTEST_PROP(Answers, PadAndRockPosesAreAttainableAndGiveTheWorst, (std::uint64_t seed)) {
  Engine engine(seed);
  const Hinge h = draw(engine);
  const Play play(h);
  RC_PRE(!play.empty());
  const Pad pad = draw_pad(engine, h.key_length());
  const double s = pad.station / h.key_length();
  const PadPlay p = pad_play(play, pad);
  const double phi = in_radians(pad.clock);
  const auto turning = [&](const std::array<Length, 2>& v) {
    return -std::sin(phi) * mm(v[0]) + std::cos(phi) * mm(v[1]);
  };
  const auto tilt = [&](const Pose& pose) {
    return pad.tone_hole / h.key_length() * (turning(pose.upper) - turning(pose.lower));
  };
  const auto lift = [&](const Pose& pose) {
    return pad.tone_hole / pad.arm * ((1 - s) * turning(pose.upper) + s * turning(pose.lower));
  };
  RC_ASSERT(std::abs(tilt(p.side_pose) - mm(p.side_gap)) <= kExact);
  RC_ASSERT(std::abs(lift(p.front_pose) - mm(p.front_gap)) <= kExact);
  RC_ASSERT(std::abs(std::hypot(tilt(p.worst_pose), lift(p.worst_pose)) - mm(p.worst_gap)) <= kExact);
  for (const Pose& pose : {p.side_pose, p.front_pose, p.worst_pose}) RC_ASSERT(attainable(h, pose));
  RC_ASSERT(p.worst_gap >= std::max(p.side_gap, p.front_gap) - millimetres(kExact));
  RC_ASSERT(mm(p.worst_gap) <= std::hypot(mm(p.side_gap), mm(p.front_gap)) + kExact);
  RC_ASSERT(p.seat_wander >= h.travel().end_play() - millimetres(kExact));

  const Rock r = rock(play, pad.station);
  RC_ASSERT(attainable(h, r.pose));
  const double lateral = std::hypot((1 - s) * mm(r.pose.upper[0]) + s * mm(r.pose.lower[0]),
                                    (1 - s) * mm(r.pose.upper[1]) + s * mm(r.pose.lower[1]));
  RC_ASSERT(std::abs(2 * lateral - mm(r.travel)) <= kExact);
}

// At the ends of the key's travel the play knows what the home-end test says.
RC_GTEST_PROP(Answers, HomeEndAgreesWithThePlay, (std::uint64_t seed)) {
  Engine engine(seed);
  const Hinge h = draw(engine);
  const Play play(h);
  RC_PRE(!play.empty());
  const auto agrees = [&](Side side, std::size_t knot) {
    return near(home_end(h, side).rock_there, play.clearance(side, knot) * 2, 1e-11);
  };
  RC_ASSERT(play.place(0) == h.travel().low);
  RC_ASSERT(play.place(play.knots() - 1) == h.travel().high);
  RC_ASSERT(agrees(Side::upper, 0));
  RC_ASSERT(agrees(Side::lower, play.knots() - 1));
}

}  // namespace
}  // namespace hingeline::mechanism
