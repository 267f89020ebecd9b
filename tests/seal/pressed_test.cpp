// The pressed key: what a ring of springs does by hand, and what holds for every key.

#include "hingeline/seal/pressed.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <cstring>
#include <limits>
#include <numbers>

#include "contact/make.h"
#include "hingeline/numeric/random.h"
#include "random_presses.h"

namespace hingeline::seal {
namespace {

using std::numbers::pi;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kTight = 1e-9;  // mm

double mm(Length l) { return in_millimetres(l); }

/// A pad of 20 mm on an arm of 18 mm in the middle of a key of 60 mm, 40 N/mm.
Seat plain_seat() {
  Seat s;
  s.pad = {millimetres(20), millimetres(30), millimetres(18), degrees(0)};
  s.stiffness = newtons_per_millimetre(40);
  return s;
}
Freedom tight() { return {millimetres(60), Length{}, Length{}}; }
Freedom loose(double clearance) { return {millimetres(60), millimetres(clearance), millimetres(clearance)}; }
Push at(double station, double arm, double force) {
  return {millimetres(station), millimetres(arm), degrees(0), newtons(force), {}};
}

TEST(Press, StraightAboveThePadTheRingGivesEvenly) {
  // A uniform ring pressed in its middle: compression F / (k pi d), the whole ring's stiffness.
  const Pressed p = *press(loose(1), plain_seat(), at(30, 18, 2));
  EXPECT_TRUE(p.closes);
  EXPECT_NEAR(mm(p.deepest), 2.0 / 40, kTight);
  EXPECT_NEAR(-mm(p.gap.level), 2.0 / 40, kTight);
  EXPECT_NEAR(mm(p.gap.swing), 0, kTight);
  EXPECT_NEAR(in_newtons(p.pad), 2, 1e-9);
  EXPECT_EQ(p.contact_share, 1);
  EXPECT_EQ(mm(p.widest), 0);
  EXPECT_NEAR(p.energy, -2 * (2.0 / 40) / 2, 1e-9);
}

TEST(Press, InATightHingeALeverPresses) {
  // No play at all: the pad turns about the hinge line. Compression arm x turn over the ring, and moments
  // about the line balance: k turn (arm^2 + r^2 / 2) = F a, for a thin ring's mean of (arm + r sin)^2.
  const Pressed p = *press(tight(), plain_seat(), at(10, 30, 2));
  const double turn = 2.0 * 30 / (40 * (18.0 * 18 + 10.0 * 10 / 2));
  EXPECT_NEAR(in_radians(p.turn), turn, 1e-12);
  EXPECT_NEAR(in_newtons(p.pad), 40 * 18 * turn, 1e-9);
  EXPECT_EQ(p.upper, (mechanism::Across{0, 0}));
  EXPECT_EQ(p.contact_share, 1);
  // Where along the line the finger is makes no difference then.
  EXPECT_NEAR(in_radians(press(tight(), plain_seat(), at(55, 30, 2))->turn), turn, 1e-12);
}

TEST(Press, OffTheMiddleTheRingTiltsAndLiftsBeyondHalfItsRadius) {
  // A thin ring's section: area 2 pi r, modulus pi r^2, so its kern reaches r / 2 from the middle. While all
  // of it carries, k pi r^2 tilt / (2 pi) = F e, with k the whole ring's stiffness: tilt at the rim = 2 F e /
  // (k r).
  const double force = 1.0;
  for (const double share : {0.1, 0.3, 0.49}) {
    const double e = share * 10;
    const Pressed along = *press(loose(5), plain_seat(), at(30 + e, 18, force));
    EXPECT_NEAR(mm(along.gap.swing), 2 * force * e / (40 * 10), 2e-9) << share;
    EXPECT_NEAR(-mm(along.gap.level), force / 40, kTight) << share;
    EXPECT_EQ(along.contact_share, 1) << share;
    const Pressed outward = *press(loose(5), plain_seat(), at(30, 18 + e, force));
    EXPECT_NEAR(mm(outward.gap.swing), 2 * force * e / (40 * 10), 2e-9) << share;
    EXPECT_EQ(mm(outward.widest), 0) << share;
  }
  const Pressed beyond = *press(loose(5), plain_seat(), at(30 + 5.1, 18, force));
  EXPECT_LT(beyond.contact_share, 1);
  EXPECT_GT(mm(beyond.widest), 0);
  EXPECT_NEAR(in_newtons(beyond.pad), force, 1e-9);
  const Pressed kern = *press(loose(5), plain_seat(), at(30 + 5, 18, force));
  EXPECT_NEAR(mm(kern.deepest), 2 * force / 40, 2e-7);
  EXPECT_NEAR(mm(kern.widest), 0, 2e-7);
}

TEST(Press, TheHalfThatCarries) {
  // Half of the ring carries: compression B cos(psi) over -pi/2 to pi/2. Force k / (2 pi) x 2 B, moment
  // k / (2 pi) x r B pi / 2: eccentricity r pi / 4.
  const Pressed p = *press(loose(5), plain_seat(), at(30 + 10 * pi / 4, 18, 1));
  EXPECT_NEAR(p.contact_share, 0.5, 1e-6);
  EXPECT_NEAR(mm(p.gap.swing), 2 * pi / 40 / 2, 1e-7);
  EXPECT_NEAR(mm(p.widest), mm(p.deepest), 1e-7);
}

TEST(Press, PlayLetsAFingerAtTheWrongPlaceOpenThePad) {
  // The same key, finger over the pad and finger at its far end.
  const Rim rim{millimetres(20), millimetres(0.8)};
  const Seat seat = plain_seat();
  const Pressed good = *press(loose(0.1), seat, at(30, 18, 0.4));
  const Pressed bad = *press(loose(0.1), seat, at(58, 18, 0.4));
  EXPECT_EQ(leak(good, rim, {})->flow, Flow{});
  EXPECT_GT(leak(bad, rim, {})->flow.raw(), 0);
  // Without play both seal.
  EXPECT_EQ(leak(*press(tight(), seat, at(58, 18, 0.4)), rim, {})->flow, Flow{});
}

TEST(Press, NothingThatClosesIt) {
  const Pressed none = *press(loose(0.02), plain_seat(), at(30, 18, 0));
  EXPECT_FALSE(none.closes);
  EXPECT_EQ(none.pad, Force{});
  Push opening = at(30, 18, 0.5);
  opening.spring = newton_millimetres(-20);
  EXPECT_FALSE(press(loose(0.02), plain_seat(), opening)->closes);
  // A finger on the hinge line turns nothing.
  EXPECT_FALSE(press(loose(0.02), plain_seat(), at(30, 0, 5))->closes);
  // A spring alone closes it.
  Push sprung = at(30, 18, 0);
  sprung.spring = newton_millimetres(9);
  EXPECT_TRUE(press(loose(0), plain_seat(), sprung)->closes);
}

TEST(Press, ASpringAloneLiftsALooseHinge) {
  // Only a torque: the posts' reaction carries the pad's force, both ends stand at their limits away from it,
  // and nothing pushes along the arm: the pose nearest the line is given.
  Push sprung = at(30, 18, 0);
  sprung.spring = newton_millimetres(18);
  const Pressed p = *press(loose(0.03), plain_seat(), sprung);
  EXPECT_NEAR(p.upper[0], 0, 1e-9);
  EXPECT_NEAR(p.upper[1], -0.03, 1e-9);
  EXPECT_NEAR(p.lower[1], -0.03, 1e-9);
}

TEST(Press, APadOutOfLevel) {
  // Open by 0.04 at the lower post's side: pressed by 1 N it lies on the other side only if that gives less.
  Seat seat = plain_seat();
  seat.side = millimetres(0.12);
  const Pressed p = *press(tight(), seat, at(30, 18, 0.5));
  EXPECT_GT(mm(p.widest), 0);
  EXPECT_NEAR(mm(p.widest) + mm(p.deepest), 2 * mm(p.gap.swing), 1e-12);
  // Turned over it is the same key from the other side.
  seat.side = millimetres(-0.12);
  const Pressed q = *press(tight(), seat, at(30, 18, 0.5));
  EXPECT_NEAR(mm(q.widest), mm(p.widest), kTight);
}

TEST(Press, ADipInTheRim) {
  // One spot of 36 lies 0.03 mm lower: as long as the pad presses deeper there is no gap.
  Seat seat = plain_seat();
  seat.dips.assign(36, Length{});
  seat.dips[9] = millimetres(0.03);
  const Pressed deep = *press(loose(5), seat, at(30, 18, 4));
  EXPECT_EQ(mm(deep.widest), 0);
  const Pressed light = *press(loose(5), seat, at(30, 18, 0.2));
  EXPECT_GT(mm(light.widest), 0.02);
  EXPECT_GT(light.gaps[9], Length{});
  EXPECT_GT(leak(light, {millimetres(20), millimetres(0.8)}, {})->flow.raw(), 0);
}

TEST(Press, RefusesWhatCannotBe) {
  const Seat seat = plain_seat();
  const Push push = at(30, 18, 1);
  for (const double bad : {-1.0, kNan, std::numeric_limits<double>::infinity()}) {
    EXPECT_FALSE(press({millimetres(bad), {}, {}}, seat, push));
    EXPECT_FALSE(press({millimetres(10), millimetres(bad), {}}, seat, push));
    EXPECT_FALSE(press({millimetres(10), {}, millimetres(bad)}, seat, push));
    Seat s = seat;
    s.pad.tone_hole = millimetres(bad);
    EXPECT_FALSE(press(tight(), s, push));
    s = seat;
    s.pad.arm = millimetres(bad);
    EXPECT_FALSE(press(tight(), s, push));
    s = seat;
    s.stiffness = newtons_per_millimetre(bad);
    EXPECT_FALSE(press(tight(), s, push));
    Push p = push;
    p.finger = newtons(bad);
    EXPECT_FALSE(press(tight(), seat, p));
    p = push;
    p.arm = millimetres(bad);
    EXPECT_FALSE(press(tight(), seat, p));
  }
  Seat s = seat;
  s.dips.assign(2, Length{});
  EXPECT_FALSE(press(tight(), s, push));
  s.dips.assign(3, millimetres(kNan));
  EXPECT_FALSE(press(tight(), s, push));
  s = seat;
  s.side = millimetres(kNan);
  EXPECT_FALSE(press(tight(), s, push));
  Push p = push;
  p.spring = newton_millimetres(kNan);
  EXPECT_FALSE(press(tight(), seat, p));
}

/// Energy of a pose, from the rigid motion of the key, ring by a plain sum.
double slow_energy(const reference::PressCase& c, const mechanism::Across& a, const mechanism::Across& b,
                   double turn, int spots) {
  const double key = mm(c.freedom.key_length);
  const auto tangent = [](Angle clock) {
    return mechanism::Across{-std::sin(clock.raw()), std::cos(clock.raw())};
  };
  const auto moved = [&](double station, double arm, Angle clock) {
    const mechanism::Across t = tangent(clock);
    const double s = station / key;
    return (1 - s) * (a[0] * t[0] + a[1] * t[1]) + s * (b[0] * t[0] + b[1] * t[1]) + arm * turn;
  };
  const double r = mm(c.seat.pad.tone_hole) / 2;
  double ring = 0;
  for (int k = 0; k < spots; ++k) {
    const double psi = 2 * pi * k / spots;
    const double compression = moved(mm(c.seat.pad.station) + r * std::cos(psi),
                                     mm(c.seat.pad.arm) + r * std::sin(psi), c.seat.pad.clock) -
                               (mm(c.seat.side) * std::cos(psi) + mm(c.seat.front) * std::sin(psi)) / 2 -
                               (c.seat.dips.empty() ? 0 : mm(c.seat.dips[static_cast<std::size_t>(k)]));
    const double pressed = std::max(0.0, compression);
    ring += pressed * pressed;
  }
  ring *= in_newtons_per_millimetre(c.seat.stiffness) / spots / 2;
  return ring - c.push.finger.raw() * moved(mm(c.push.station), mm(c.push.arm), c.push.clock) -
         c.push.spring.raw() * turn;
}

TEST(Press, EnergyIsThatOfItsOwnPose) {
  for (std::uint64_t n = 0; n < 500; ++n) {
    const auto c = reference::draw_press(31, n, n % 2 == 0 ? 0 : 48);
    const Pressed p = *press(c.freedom, c.seat, c.push);
    ASSERT_TRUE(p.closes);
    const int spots = c.seat.dips.empty() ? 4096 : static_cast<int>(c.seat.dips.size());
    const double slow = slow_energy(c, p.upper, p.lower, in_radians(p.turn), spots);
    EXPECT_NEAR(p.energy, slow, 1e-6 * std::abs(slow)) << n;
  }
}

TEST(Press, NoPoseNearbyCostsLess) {
  for (std::uint64_t n = 0; n < 400; ++n) {
    const auto c = reference::draw_press(32, n, 24);
    const Pressed p = *press(c.freedom, c.seat, c.push);
    const double here = slow_energy(c, p.upper, p.lower, in_radians(p.turn), 24);
    EXPECT_LE(std::hypot(p.upper[0], p.upper[1]), mm(c.freedom.upper_clearance) * (1 + 1e-12));
    EXPECT_LE(std::hypot(p.lower[0], p.lower[1]), mm(c.freedom.lower_clearance) * (1 + 1e-12));
    numeric::Stream s(33, n);
    for (int k = 0; k < 200; ++k) {
      const double size = std::pow(10, -6 * s.uniform());
      const auto near = [&](const mechanism::Across& v, Length clearance) {
        mechanism::Across w{v[0] + size * mm(clearance) * s.normal(),
                            v[1] + size * mm(clearance) * s.normal()};
        const double far = std::hypot(w[0], w[1]);
        if (far > mm(clearance) && far > 0) w = {w[0] * mm(clearance) / far, w[1] * mm(clearance) / far};
        return w;
      };
      const auto a = near(p.upper, c.freedom.upper_clearance);
      const auto b = near(p.lower, c.freedom.lower_clearance);
      const double turn = in_radians(p.turn) * (1 + size * s.normal());
      EXPECT_GE(slow_energy(c, a, b, turn, 24), here - kPressedEnergyError * std::abs(here)) << n;
    }
  }
}

TEST(Press, ManySpotsComeToTheClosedForm) {
  // The sum over N spots of a ring differs from its closed form by less the more there are.
  double worst = 0;
  for (std::uint64_t n = 0; n < 200; ++n) {
    auto c = reference::draw_press(34, n, 0);
    const Pressed level = *press(c.freedom, c.seat, c.push);
    c.seat.dips.assign(4096, Length{});
    const Pressed spots = *press(c.freedom, c.seat, c.push);
    worst = std::max(worst, std::abs(level.energy / spots.energy - 1));
    EXPECT_NEAR(mm(level.widest), mm(spots.widest), 2e-5 * (1 + mm(level.gap.swing))) << n;
    EXPECT_NEAR(level.contact_share, spots.contact_share, 2e-3) << n;
  }
  EXPECT_LT(worst, 1e-7);
}

TEST(Press, IsInBalance) {
  // With all of the play taken up or none: pad, finger and posts balance, moments about the line are the
  // pad's.
  for (std::uint64_t n = 0; n < 500; ++n) {
    const auto c = reference::draw_press(35, n, 0);
    const Pressed p = *press(c.freedom, c.seat, c.push);
    const double torque = c.push.finger.raw() * mm(c.push.arm) + c.push.spring.raw();
    // The pad's force acts within its ring.
    const double arm = torque / in_newtons(p.pad);
    const double r = mm(c.seat.pad.tone_hole) / 2;
    EXPECT_GE(arm, mm(c.seat.pad.arm) - r - 1e-9) << n;
    EXPECT_LE(arm, mm(c.seat.pad.arm) + r + 1e-9) << n;
  }
}

TEST(Press, TakesFewSteps) {
  int most = 0;
  for (std::uint64_t n = 0; n < 20000; ++n) {
    const auto c = reference::draw_press(36, n, n % 8 == 0 ? 12 : 0);
    most = std::max(most, press(c.freedom, c.seat, c.push)->steps);
  }
  EXPECT_LT(most, 60);
}

TEST(Press, AbsurdSizesGiveAPoseOrAnError) {
  int unsettled = 0;
  for (std::uint64_t n = 0; n < 20000; ++n) {
    const auto c = reference::draw_absurd_press(36, n);
    const auto p = press(c.freedom, c.seat, c.push);
    if (!p) {
      ++unsettled;
      continue;
    }
    EXPECT_TRUE(std::isfinite(p->energy)) << n;
    EXPECT_TRUE(std::isfinite(mm(p->widest))) << n;
    EXPECT_GT(p->pad, Force{}) << n;
  }
  EXPECT_LT(unsettled, 20);
}

RC_GTEST_PROP(Press, TurnsWithTheKey, ()) {
  // The clock's zero is a choice: turning everything turns the pose.
  auto c = reference::draw_press(37, *rc::gen::inRange<std::uint64_t>(0, 1u << 30), 0);
  const Pressed p = *press(c.freedom, c.seat, c.push);
  const double by = 1.234;
  c.seat.pad.clock += radians(by);
  c.push.clock += radians(by);
  const Pressed q = *press(c.freedom, c.seat, c.push);
  RC_ASSERT(std::abs(p.energy - q.energy) <= 1e-10 * std::abs(p.energy));
  RC_ASSERT(std::abs(mm(p.widest) - mm(q.widest)) <= 1e-7);
  RC_ASSERT(std::abs(q.upper[0] - (p.upper[0] * std::cos(by) - p.upper[1] * std::sin(by))) <= 1e-6);
}

RC_GTEST_PROP(Press, MorePlayNeverCostsMore, ()) {
  auto c = reference::draw_press(38, *rc::gen::inRange<std::uint64_t>(0, 1u << 30), 0);
  const double before = press(c.freedom, c.seat, c.push)->energy;
  c.freedom.upper_clearance += millimetres(0.01);
  const double after = press(c.freedom, c.seat, c.push)->energy;
  RC_ASSERT(after <= before + 1e-10 * std::abs(before));
}

RC_GTEST_PROP(Press, ScalesWithForce, ()) {
  // Twice the forces on a pad twice as stiff: the same pose, twice the energy.
  auto c = reference::draw_press(39, *rc::gen::inRange<std::uint64_t>(0, 1u << 30), 0);
  const Pressed p = *press(c.freedom, c.seat, c.push);
  c.push.finger = c.push.finger * 2;
  c.push.spring = c.push.spring * 2;
  c.seat.stiffness = c.seat.stiffness * 2;
  const Pressed q = *press(c.freedom, c.seat, c.push);
  RC_ASSERT(std::abs(q.energy - 2 * p.energy) <= 1e-9 * std::abs(q.energy));
  RC_ASSERT(std::abs(mm(p.widest) - mm(q.widest)) <= 1e-7);
}

TEST(Press, SameBytesEveryTime) {
  for (std::uint64_t n = 0; n < 200; ++n) {
    const auto c = reference::draw_press(40, n, 0);
    const Pressed p = *press(c.freedom, c.seat, c.push);
    const Pressed q = *press(c.freedom, c.seat, c.push);
    EXPECT_EQ(std::memcmp(&p.energy, &q.energy, sizeof p.energy), 0);
    EXPECT_EQ(p.upper, q.upper);
    EXPECT_EQ(p.steps, q.steps);
  }
}

mechanism::Hinge rod_hinge(double span) {
  const mechanism::HingeEnd end{contact::Joint::rod(millimetres(0.05)), {}};
  return {millimetres(span), millimetres(60), end, end};
}

TEST(PressAnywhere, FindsTheFingerThatLeaks) {
  const auto places = places_of(mechanism::Play(rod_hinge(60.02)));
  const Rim rim{millimetres(20), millimetres(0.8)};
  const auto flow = [&](double station) {
    return press_anywhere(places, plain_seat(), at(station, 18, 0.3), rim, {})->leak.flow;
  };
  EXPECT_EQ(flow(30), Flow{});
  EXPECT_GT(flow(5).raw(), 0);
  // The key is the same from both ends.
  EXPECT_NEAR(flow(5) / flow(55), 1, 1e-6);
}

TEST(PressAnywhere, ABoundKeyHasNoPoses) {
  const auto places = places_of(mechanism::Play(rod_hinge(59.9)));
  EXPECT_TRUE(places.empty());
  EXPECT_FALSE(press_anywhere(places, plain_seat(), at(30, 18, 1), {millimetres(20), millimetres(0.8)}, {}));
}

TEST(PressAnywhere, TheKeysPlaceCounts) {
  // In cones the play sideways depends on where the key is along its line: pushed home on one end that end
  // has none.
  using namespace mechanism;
  const auto end = [] {
    return HingeEnd{contact::joint_of(contact::cone_point(30, 0.5, 3), contact::cone_hole(30, 1, 2)),
                    millimetres(0.9)};
  };
  const double home = 0.5 / std::tan(pi / 6);
  const Play play(Hinge(millimetres(60.06 + 2 * (0.9 - home)), millimetres(60), end(), end()));
  const auto places = places_of(play);
  const auto found =
      press_anywhere(places, plain_seat(), at(70, 18, 0.1), {millimetres(20), millimetres(0.8)}, {});
  ASSERT_TRUE(found);
  EXPECT_LT(found->least.flow, found->leak.flow);
  EXPECT_TRUE(found->place == places.front().place || found->place == places.back().place);
}

}  // namespace
}  // namespace hingeline::seal
