// The forms of points and holes, what they refuse, and what reaming and facing leave.

#include "hingeline/contact/profile.h"

#include <gtest/gtest.h>

#include <functional>
#include <limits>

#include "make.h"

namespace hingeline::contact {
namespace {

using Pairs = std::vector<std::pair<double, double>>;
constexpr double kRounding = 1e-14;  // mm, for values of a few millimetres

void expect_outline(const Profile& profile, const Pairs& expected) {
  const auto v = profile.vertices();
  ASSERT_EQ(v.size(), expected.size());
  for (std::size_t i = 0; i < v.size(); ++i) {
    SCOPED_TRACE(i);
    EXPECT_NEAR(in_millimetres(v[i].along), expected[i].first, kRounding);
    EXPECT_NEAR(in_millimetres(v[i].radius), expected[i].second, kRounding);
  }
}

double tan_deg(double angle) { return std::tan(angle * std::numbers::pi / 180); }
double sin_deg(double angle) { return std::sin(angle * std::numbers::pi / 180); }
double cos_deg(double angle) { return std::cos(angle * std::numbers::pi / 180); }

TEST(PointForms, FlatCone) {
  const Profile p = make_point(cone_point(30, 0.5, 3)).value();
  expect_outline(p, {{0, 0.5}, {3, 0.5 + 3 * tan_deg(30)}});
  EXPECT_FALSE(p.closed());
  EXPECT_EQ(p.floor_begin(), p.vertices().size());
  EXPECT_FALSE(p.rounded(0));
}

TEST(PointForms, SharpCone) {
  expect_outline(make_point(cone_point(45, 0, 2)).value(), {{0, 0}, {2, 2 * tan_deg(45)}});
}

TEST(PointForms, ConeWithShank) {
  PointForm f = cone_point(30, 0.5, 3);
  f.shank_radius = millimetres(0.9);
  expect_outline(make_point(f).value(), {{0, 0.5}, {0.4 / tan_deg(30), 0.9}, {3, 0.9}});
  f.shank_radius = millimetres(9);  // the flank ends before it would reach the shank
  expect_outline(make_point(f).value(), {{0, 0.5}, {3, 0.5 + 3 * tan_deg(30)}});
}

TEST(PointForms, WornCone) {
  PointForm f = cone_point(20, 0.5, 3);
  f.tip = TipShape::worn;
  f.wear_length = millimetres(0.4);
  f.wear_depth = millimetres(0.2);
  expect_outline(
      make_point(f).value(),
      {{0, 0.3}, {0.4, 0.5 + 0.4 * tan_deg(20)}, {3, 0.5 + 0.4 * tan_deg(20) + 2.6 * tan_deg(20)}});
  f.shank_radius = millimetres(0.8);
  expect_outline(make_point(f).value(),
                 {{0, 0.3}, {0.4, 0.5 + 0.4 * tan_deg(20)}, {0.3 / tan_deg(20), 0.8}, {3, 0.8}});
}

TEST(PointForms, RoundTipIsTangentToItsFlank) {
  const Profile p = make_point(round_point(30, 0.4, 3)).value();
  const auto v = p.vertices();
  EXPECT_EQ(v.front(), (Vertex{}));
  // The flank begins where the arc's tangent has its slope.
  const Vertex begin = v[v.size() - 2];
  EXPECT_NEAR(in_millimetres(begin.along), 0.4 * (1 - sin_deg(30)), kRounding);
  EXPECT_NEAR(in_millimetres(begin.radius), 0.4 * cos_deg(30), kRounding);
  EXPECT_TRUE(p.rounded(0));
  EXPECT_TRUE(p.rounded(v.size() - 2));
  EXPECT_FALSE(p.rounded(v.size() - 1));
  EXPECT_NEAR((v.back().radius - begin.radius) / (v.back().along - begin.along), tan_deg(30), 1e-13);
  for (std::size_t i = 1; i < v.size(); ++i) EXPECT_GE(v[i].radius, v[i - 1].radius);
}

TEST(PointForms, Ball) {
  const Profile p = make_point(ball_point(0.5, 0.3, 2)).value();
  const auto v = p.vertices();
  EXPECT_EQ(v.front(), (Vertex{}));
  // Where the ball meets its neck: 3-4-5.
  EXPECT_NEAR(in_millimetres(v[v.size() - 2].along), 0.9, kRounding);
  EXPECT_NEAR(in_millimetres(v[v.size() - 2].radius), 0.3, kRounding);
  EXPECT_EQ(v.back(), (Vertex{millimetres(2), millimetres(0.3)}));
  // A ball without a neck ends on the axis.
  const Profile whole = make_point(ball_point(0.5, 0, 1)).value();
  EXPECT_NEAR(in_millimetres(whole.vertices().back().radius), 0, kRounding);
  EXPECT_EQ(whole.length(), millimetres(1));
}

TEST(PointForms, Parallel) {
  expect_outline(make_point(pin(0.4, 1.2, 0.9, 3)).value(), {{0, 0.4}, {1.2, 0.4}, {1.2, 0.9}, {3, 0.9}});
  expect_outline(make_point(pin(0.4, 3, 0.9, 3)).value(), {{0, 0.4}, {3, 0.4}});  // no shoulder
}

TEST(PointForms, Pairs) {
  const Pairs pairs{{0, 0.2}, {0, 0.3}, {1, 0.3}, {1.5, 0.25}};
  expect_outline(make_point(point_pairs(pairs)).value(), pairs);
}

TEST(HoleForms, Cone) {
  const Profile open = make_hole(cone_hole(30, 1, 1)).value();
  expect_outline(open, {{0, 1}, {1, 1 - tan_deg(30)}, {1, 0}});
  EXPECT_TRUE(open.closed());
  EXPECT_EQ(open.floor_begin(), 1U);
  // A flank that reaches the axis first ends there.
  expect_outline(make_hole(cone_hole(30, 1, 9)).value(), {{0, 1}, {1 / tan_deg(30), 0}});
}

TEST(HoleForms, StraightDrilledAndBell) {
  expect_outline(make_hole(straight_hole(0.5, 2)).value(), {{0, 0.5}, {2, 0.5}, {2, 0}});
  const Profile drilled = make_hole(drilled_hole(0.5, 2, 59)).value();
  expect_outline(drilled, {{0, 0.5}, {2, 0.5}, {2 + 0.5 / tan_deg(59), 0}});
  EXPECT_EQ(drilled.floor_begin(), 1U);
  expect_outline(
      make_hole(bell_hole(10, 1.2, 2, 50, 0.3)).value(),
      {{0, 1.2}, {0.3, 1.2 - 0.3 * tan_deg(50)}, {2, 1.2 - 0.3 * tan_deg(50) - 1.7 * tan_deg(10)}, {2, 0}});
  const double inner = 1.2 - 0.3 * tan_deg(50);
  expect_outline(make_hole(bell_hole(40, 1.2, 9, 50, 0.3)).value(),
                 {{0, 1.2}, {0.3, inner}, {0.3 + inner / tan_deg(40), 0}});
}

TEST(HoleForms, Pairs) {
  const Profile flat = make_hole(hole_pairs({{0, 1}, {1, 0.5}}, 0)).value();
  expect_outline(flat, {{0, 1}, {1, 0.5}, {1, 0}});
  EXPECT_EQ(flat.floor_begin(), 1U);
  const Profile sloped = make_hole(hole_pairs({{0, 1}, {1, 0.8}, {1.2, 0.3}}, 2)).value();
  expect_outline(sloped, {{0, 1}, {1, 0.8}, {1.2, 0.3}, {1.2, 0}});
  EXPECT_EQ(sloped.floor_begin(), 1U);
}

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();

template <class Form>
struct Refusal {
  const char* named;  // words of the message that name the measure
  std::function<void(Form&)> spoil;
};

template <class T>
void expect_refused(const Expected<T>& made, const char* named) {
  ASSERT_FALSE(made) << "not refused: " << named;
  EXPECT_EQ(made.error().fault, Fault::geometry);
  EXPECT_NE(made.error().what.find(named), std::string::npos) << made.error().what;
  EXPECT_FALSE(made.error().expected.empty()) << made.error().what;
}

TEST(PointForms, Refusals) {
  using F = PointForm;
  const auto mm = [](double v) { return millimetres(v); };
  const auto check = [](const F& good, const std::vector<Refusal<F>>& refusals) {
    ASSERT_TRUE(make_point(good));
    for (const auto& r : refusals) {
      F form = good;
      r.spoil(form);
      expect_refused(make_point(form), r.named);
    }
  };
  F cone = cone_point(20, 0.5, 3);
  cone.shank_radius = mm(1);
  check(cone, {
                  {"not a number", [&](F& f) { f.length = mm(kNan); }},
                  {"not a number", [&](F& f) { f.tip_radius = mm(kInfinity); }},
                  {"not a number", [&](F& f) { f.shank_radius = mm(-kInfinity); }},
                  {"no length", [&](F& f) { f.length = mm(0); }},
                  {"no length", [&](F& f) { f.length = mm(-1); }},
                  {"negative radius", [&](F& f) { f.tip_radius = mm(-0.1); }},
                  {"negative radius", [&](F& f) { f.shank_radius = mm(-0.1); }},
                  {"half angle", [&](F& f) { f.half_angle = degrees(0); }},
                  {"half angle", [&](F& f) { f.half_angle = degrees(-5); }},
                  {"half angle", [&](F& f) { f.half_angle = degrees(90); }},
                  {"half angle", [&](F& f) { f.half_angle = degrees(kNan); }},
                  {"tip is wider than the shank", [&](F& f) { f.shank_radius = mm(0.4); }},
              });
  F round = round_point(20, 0.4, 3);
  round.shank_radius = mm(1);
  check(round, {
                   {"rounded tip", [&](F& f) { f.tip_radius = mm(0); }},
                   {"rounding is longer", [&](F& f) { f.length = mm(0.2); }},
                   {"shank is thinner", [&](F& f) { f.shank_radius = mm(0.3); }},
               });
  F worn = cone;
  worn.tip = TipShape::worn;
  worn.wear_length = mm(0.4);
  worn.wear_depth = mm(0.2);
  check(worn, {
                  {"wear reaches beyond the point", [&](F& f) { f.wear_length = mm(0); }},
                  {"wear reaches beyond the point", [&](F& f) { f.wear_length = mm(3.1); }},
                  {"negative wear", [&](F& f) { f.wear_depth = mm(-0.1); }},
                  {"more wear than the tip", [&](F& f) { f.wear_depth = mm(0.6); }},
                  {"wear reaches into the shank", [&](F& f) { f.wear_length = mm(2); }},
                  {"not a number", [&](F& f) { f.wear_length = mm(kNan); }},
                  {"not a number", [&](F& f) { f.wear_depth = mm(kNan); }},
              });
  check(ball_point(0.5, 0.3, 2), {
                                     {"without a ball", [&](F& f) { f.ball_radius = mm(0); }},
                                     {"neck is not thinner", [&](F& f) { f.neck_radius = mm(0.5); }},
                                     {"neck is not thinner", [&](F& f) { f.neck_radius = mm(-0.1); }},
                                     {"ball is longer", [&](F& f) { f.length = mm(0.8); }},
                                     {"not a number", [&](F& f) { f.ball_radius = mm(kNan); }},
                                     {"not a number", [&](F& f) { f.neck_radius = mm(kNan); }},
                                 });
  check(pin(0.4, 1, 0.9, 3), {
                                 {"without a diameter", [&](F& f) { f.pin_radius = mm(0); }},
                                 {"pin is longer", [&](F& f) { f.pin_length = mm(0); }},
                                 {"pin is longer", [&](F& f) { f.pin_length = mm(3.1); }},
                                 {"shoulder is thinner", [&](F& f) { f.shoulder_radius = mm(0.3); }},
                                 {"not a number", [&](F& f) { f.pin_radius = mm(kNan); }},
                                 {"not a number", [&](F& f) { f.pin_length = mm(kNan); }},
                                 {"not a number", [&](F& f) { f.shoulder_radius = mm(kNan); }},
                             });
  check(point_pairs({{0, 1}, {1, 1}, {2, 1}}),
        {
            {"profile of 1 pairs", [&](F& f) { f.pairs.resize(1); }},
            {"profile of 0 pairs", [&](F& f) { f.pairs.clear(); }},
            {"profile of 4097 pairs", [&](F& f) { f.pairs.resize(kMostVertices + 1); }},
            {"pair 2 is not a number", [&](F& f) { f.pairs[1].radius = mm(kNan); }},
            {"pair 3 is not a number", [&](F& f) { f.pairs[2].along = mm(kInfinity); }},
            {"pair 2 has a negative radius", [&](F& f) { f.pairs[1].radius = mm(-1e-9); }},
            {"pair 1 does not start at 0", [&](F& f) { f.pairs[0].along = mm(0.1); }},
            {"pair 3 goes back", [&](F& f) { f.pairs[2].along = mm(0.9); }},
            {"no length",
             [&](F& f) {
               f.pairs = {{mm(0), mm(1)}, {mm(0), mm(2)}};
             }},
        });
}

TEST(HoleForms, Refusals) {
  using F = HoleForm;
  const auto mm = [](double v) { return millimetres(v); };
  const auto check = [](const F& good, const std::vector<Refusal<F>>& refusals) {
    ASSERT_TRUE(make_hole(good));
    for (const auto& r : refusals) {
      F form = good;
      r.spoil(form);
      expect_refused(make_hole(form), r.named);
    }
  };
  check(cone_hole(20, 1, 2), {
                                 {"not a number", [&](F& f) { f.mouth_radius = mm(kNan); }},
                                 {"not a number", [&](F& f) { f.depth = mm(kInfinity); }},
                                 {"no mouth", [&](F& f) { f.mouth_radius = mm(0); }},
                                 {"no mouth", [&](F& f) { f.mouth_radius = mm(-1); }},
                                 {"no depth", [&](F& f) { f.depth = mm(0); }},
                                 {"no depth", [&](F& f) { f.depth = mm(-1); }},
                                 {"hole's half angle", [&](F& f) { f.half_angle = degrees(0); }},
                                 {"hole's half angle", [&](F& f) { f.half_angle = degrees(90); }},
                                 {"hole's half angle", [&](F& f) { f.half_angle = degrees(kNan); }},
                             });
  check(drilled_hole(1, 2, 59), {
                                    {"floor's half angle", [&](F& f) { f.floor_half_angle = degrees(0); }},
                                    {"floor's half angle", [&](F& f) { f.floor_half_angle = degrees(90); }},
                                });
  check(bell_hole(10, 1.2, 2, 50, 0.3),
        {
            {"hole's half angle", [&](F& f) { f.half_angle = degrees(0); }},
            {"bell-mouth is not wider", [&](F& f) { f.bell_half_angle = degrees(10); }},
            {"bell-mouth is not wider", [&](F& f) { f.bell_half_angle = degrees(90); }},
            {"bell-mouth takes the whole", [&](F& f) { f.bell_depth = mm(0); }},
            {"bell-mouth takes the whole", [&](F& f) { f.bell_depth = mm(2); }},
            {"bell-mouth takes the whole", [&](F& f) { f.bell_depth = mm(1.1); }},  // past the axis
            {"not a number", [&](F& f) { f.bell_depth = mm(kNan); }},
        });
  check(hole_pairs({{0, 1}, {1, 1}, {2, 1}}, 1),
        {
            {"more floor than pairs", [&](F& f) { f.floor_pairs = 4; }},
            {"profile of 1 pairs", [&](F& f) { f.pairs.resize(1); }},
            {"pair 2 goes back", [&](F& f) { f.pairs[1].along = mm(-1); }},
            {"pair 2 has a negative radius", [&](F& f) { f.pairs[1].radius = mm(-1); }},
        });
}

TEST(Profile, RadiusAtTakesTheLargerSideOfAStep) {
  const Profile p = make_point(point_pairs({{0, 0.1}, {0, 0.3}, {1, 0.5}, {1, 0.9}, {2, 0.7}})).value();
  const auto at = [&](double s) { return in_millimetres(p.radius_at(millimetres(s))); };
  EXPECT_EQ(at(-1), 0.3);
  EXPECT_EQ(at(0), 0.3);
  EXPECT_NEAR(at(0.5), 0.4, kRounding);
  EXPECT_EQ(at(1), 0.9);
  EXPECT_NEAR(at(1.5), 0.8, kRounding);
  EXPECT_EQ(at(2), 0.7);
  EXPECT_EQ(at(3), 0.7);
}

TEST(Profile, FittingTaperIsThePointsElseTheHoles) {
  EXPECT_EQ(fitting_taper(cone_point(20, 0.5, 3), cone_hole(30, 1, 2)), degrees(20));
  EXPECT_EQ(fitting_taper(ball_point(0.5, 0.3, 2), cone_hole(30, 1, 2)), degrees(30));
  EXPECT_EQ(fitting_taper(ball_point(0.5, 0.3, 2), bell_hole(10, 1.2, 2, 50, 0.3)), degrees(10));
  EXPECT_EQ(fitting_taper(pin(0.4, 1, 0.9, 3), straight_hole(0.5, 2)), Angle{});
}

TEST(Ream, TakesTheLargerOfBothAndLeavesTheFloor) {
  // The reamer's cone crosses the old wall at y = 0.5: 1 - 0.5 tan 20 = radius there.
  const Profile hole = make_hole(straight_hole(1, 2)).value();
  const Profile reamed = ream(hole, degrees(20), millimetres(1 + 0.5 * tan_deg(20)));
  expect_outline(reamed, {{0, 1 + 0.5 * tan_deg(20)}, {0.5, 1}, {2, 1}, {2, 0}});
  EXPECT_TRUE(reamed.closed());
  EXPECT_EQ(reamed.floor_begin(), 2U);
  // A reamer smaller than the hole changes nothing.
  EXPECT_EQ(ream(hole, degrees(20), millimetres(0.9)), hole);
  // One that reaches the floor leaves a flat ring round its old edge.
  const Profile wide = ream(hole, degrees(20), millimetres(2));
  expect_outline(wide, {{0, 2}, {2, 2 - 2 * tan_deg(20)}, {2, 1}, {2, 0}});
  EXPECT_EQ(wide.floor_begin(), 1U);
  // A drilled floor keeps its cone.
  const Profile drilled = ream(make_hole(drilled_hole(1, 2, 59)).value(), degrees(20), millimetres(2));
  expect_outline(drilled, {{0, 2}, {2, 2 - 2 * tan_deg(20)}, {2, 1}, {2 + 1 / tan_deg(59), 0}});
}

TEST(Ream, ReachesNoDeeperThanTheReamersOwnAxis) {
  const Profile hole = make_hole(cone_hole(20, 0.5, 5)).value();  // to the axis at 0.5 / tan 20
  const Profile reamed = ream(hole, degrees(45), millimetres(0.8));
  const double cross = 0.3 / (tan_deg(45) - tan_deg(20));
  expect_outline(reamed, {{0, 0.8}, {cross, 0.5 - cross * tan_deg(20)}, {0.5 / tan_deg(20), 0}});
}

TEST(Ream, DeepensAHoleThatHasNoFloor) {
  // A sharp point goes home on the hole's own end; reaming has to free it like any other.
  const Profile hole = make_hole(cone_hole(20, 0.5, 5)).value();
  const Profile reamed = ream(hole, degrees(20), millimetres(0.6));
  expect_outline(reamed, {{0, 0.6}, {0.6 / tan_deg(20), 0}});
  EXPECT_EQ(reamed.floor_begin(), 1U);
}

TEST(Face, MovesTheMouthIn) {
  const Profile hole = make_hole(cone_hole(20, 1, 2)).value();
  const Profile faced = face(hole, millimetres(0.25)).value();
  expect_outline(faced, {{0, 1 - 0.25 * tan_deg(20)}, {1.75, 1 - 2 * tan_deg(20)}, {1.75, 0}});
  EXPECT_EQ(faced.floor_begin(), 1U);
  EXPECT_TRUE(faced.closed());
  expect_outline(face(hole, Length{}).value(), {{0, 1}, {2, 1 - 2 * tan_deg(20)}, {2, 0}});
  // Facing past a bell-mouth takes it away.
  const Profile bell = make_hole(bell_hole(10, 1.2, 2, 50, 0.3)).value();
  const double inner = 1.2 - 0.3 * tan_deg(50);
  expect_outline(face(bell, millimetres(0.3)).value(),
                 {{0, inner}, {1.7, inner - 1.7 * tan_deg(10)}, {1.7, 0}});
}

TEST(Face, Refusals) {
  const Profile hole = make_hole(drilled_hole(1, 2, 59)).value();
  expect_refused(face(hole, millimetres(2)), "whole hole");
  expect_refused(face(hole, millimetres(-0.1)), "not a length");
  expect_refused(face(hole, millimetres(kNan)), "not a length");
  EXPECT_TRUE(face(hole, millimetres(1.999)));
}

}  // namespace
}  // namespace hingeline::contact
