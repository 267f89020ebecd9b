#include "hingeline/movement/action.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <boost/numeric/odeint.hpp>
#include <cmath>
#include <limits>
#include <numbers>

#include "brute_force.h"

namespace hingeline::movement {
namespace {

using std::numbers::pi;
constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();

Motion motion(double j, double b, double m, double k, double x) {
  return {gram_square_millimetres(j), newton_millimetre_seconds(b), newton_millimetres(m),
          newton_millimetres_per_radian(k), radians(x)};
}
double time(const Motion& m) { return in_seconds(come_back(m)->time); }

TEST(Return, WithoutDragOnASteadyMoment) {
  // J = 2000 g mm^2 = 2e-3 N mm s^2, M = 5 N mm, X = 0.2: t = sqrt(2 J X / M).
  const auto r = come_back(motion(2000, 0, 5, 0, .2));
  ASSERT_TRUE(r);
  EXPECT_EQ(r->kind, ReturnKind::returns);
  EXPECT_NEAR(in_seconds(r->time), std::sqrt(2 * 2e-3 * .2 / 5), 1e-14);
  EXPECT_NEAR(r->speed, std::sqrt(2 * 5 * .2 / 2e-3), 1e-9);
  EXPECT_EQ(r->damping_ratio, kInfinity);
}

TEST(Return, WithoutDragOnASpring) {
  // x = m / k (1 - cos w t).
  const double w = std::sqrt(10 / 2e-3);
  EXPECT_NEAR(time(motion(2000, 0, 5, 10, .2)), std::acos(1 - .2 * 10 / 5) / w, 1e-13);
  // Past the middle of its swing, on momentum.
  EXPECT_NEAR(time(motion(2000, 0, 5, 10, .9)), std::acos(1 - .9 * 10 / 5) / w, 1e-12);
}

TEST(Return, CreepingInThickOil) {
  // B x' = m - k x: t = B / k ln(m / (m - k X)).
  const double b = 1e4;
  EXPECT_NEAR(time(motion(2000, b, 5, 10, .2)) / (b / 10 * std::log(5. / 3)), 1, 1e-8);
  EXPECT_NEAR(time(motion(2000, b, 5, 0, .2)) / (b * .2 / 5), 1, 1e-8);
}

TEST(Return, NeverReturns) {
  for (const double m : {0., -1.}) {
    const auto r = come_back(motion(2000, .1, m, 10, .2));
    ASSERT_TRUE(r);
    EXPECT_EQ(r->kind, ReturnKind::stays);
    EXPECT_EQ(in_seconds(r->time), kInfinity);
    EXPECT_EQ(in_radians(r->reached), 0);
  }
  EXPECT_EQ(come_back(motion(2000, kInfinity, 5, 10, .2))->kind, ReturnKind::stays);
  // The spring is spent at 0.1 rad: with drag it stops there, without it swings on to 0.2.
  const auto creeps = come_back(motion(2000, 100, 1, 10, .15));
  EXPECT_EQ(creeps->kind, ReturnKind::stops_short);
  EXPECT_NEAR(in_radians(creeps->reached), .1, 1e-12);
  EXPECT_EQ(come_back(motion(2000, 0, 1, 10, .15))->kind, ReturnKind::returns);
  const auto swings = come_back(motion(2000, 0, 1, 10, .21));
  EXPECT_EQ(swings->kind, ReturnKind::stops_short);
  EXPECT_NEAR(in_radians(swings->reached), .2, 1e-12);
}

// ---- against integration ---------------------------------------------------------------------------------

using State = std::array<double, 2>;

/// First time at the stop by Boost.Odeint: controlled Dormand-Prince, dense output, the event by bisection in
/// the step that passes it. NaN when it does not get there by `until`, or turns back.
double by_integration(const Motion& m, double until) {
  namespace ode = boost::numeric::odeint;
  const double j = in_gram_square_millimetres(m.inertia) * 1e-6;
  const double b = in_newton_millimetre_seconds(m.drag);
  const double k = in_newton_millimetres_per_radian(m.rate);
  const double m0 = in_newton_millimetres(m.moment);
  const double stop = in_radians(m.swing);
  const auto equation = [&](const State& x, State& d, double) { d = {x[1], (m0 - k * x[0] - b * x[1]) / j}; };
  auto stepper = ode::make_dense_output(1e-16, 1e-13, ode::runge_kutta_dopri5<State>());
  stepper.initialize(State{0, 0}, 0, 1e-3 * std::sqrt(2 * stop * j / m0));
  while (stepper.current_time() < until) {
    const auto [from, to] = stepper.do_step(equation);
    if (stepper.current_state()[0] >= stop) {
      double low = from, high = to;
      State x;
      while (high - low > 1e-15 * high) {
        const double middle = (low + high) / 2;
        if (middle <= low || middle >= high) break;
        stepper.calc_state(middle, x);
        (x[0] < stop ? low : high) = middle;
      }
      return (low + high) / 2;
    }
    if (stepper.current_state()[1] < 0) return kNaN;
  }
  return kNaN;
}

Motion draw(reference::Engine& engine) {
  const auto spread = [&](double low, double high) {
    return std::exp(reference::uniform(engine, std::log(low), std::log(high)));
  };
  const double j = spread(50, 2e4);
  const double m = spread(.2, 30);
  const double x = spread(.02, .4);
  // From a spring that is spent before the stop to one that pushes harder as it comes back.
  const double k = m / x * reference::uniform(engine, -.5, 1.9);
  // Drag from nothing that shows to creeping.
  const double b = reference::pick(engine, 8) == 0 ? 0 : std::sqrt(j * 1e-6 * m / x) * spread(1e-4, 30);
  return motion(j, b, m, k, x);
}

// 800 motions of all kinds, to 1e-9 of the time.
TEST(Return, ByIntegration) {
  reference::Engine engine(17);
  int returned = 0, not_returned = 0;
  double worst = 0;
  for (int n = 0; n < 800; ++n) {
    const Motion m = draw(engine);
    const auto r = come_back(m);
    ASSERT_TRUE(r);
    const double unit = std::sqrt(2 * in_radians(m.swing) * in_gram_square_millimetres(m.inertia) * 1e-6 /
                                  in_newton_millimetres(m.moment));
    if (r->kind == ReturnKind::returns) {
      ++returned;
      // Where it arrives almost at rest its time hangs on the last digits of the stop.
      const double mean_speed = in_radians(m.swing) / in_seconds(r->time);
      const double stiff = std::max(1., mean_speed / r->speed);
      const double oracle = by_integration(m, 2 * in_seconds(r->time));
      const double off = std::abs(in_seconds(r->time) / oracle - 1);
      EXPECT_LT(off, 1e-9 * stiff) << n;
      if (stiff < 10) worst = std::max(worst, off);
    } else {
      ++not_returned;
      EXPECT_EQ(r->kind, ReturnKind::stops_short);
      EXPECT_TRUE(std::isnan(by_integration(m, 200 * unit))) << n;
      EXPECT_LT(r->reached, m.swing);
    }
  }
  EXPECT_LT(worst, 1e-10);
  EXPECT_GT(returned, 400);
  EXPECT_GT(not_returned, 50);
}

// The closed form against integration at 300 times, and that its speed is its slope.
TEST(Return, TheWholeSwingByIntegration) {
  namespace ode = boost::numeric::odeint;
  reference::Engine engine(23);
  for (int n = 0; n < 300; ++n) {
    const Motion m = draw(engine);
    const double j = in_gram_square_millimetres(m.inertia) * 1e-6;
    const double unit = std::sqrt(2 * in_radians(m.swing) * j / in_newton_millimetres(m.moment));
    const double t = unit * reference::uniform(engine, .01, 3);
    State x{0, 0};
    ode::integrate_adaptive(
        ode::make_controlled<ode::runge_kutta_dopri5<State>>(1e-16, 1e-13),
        [&](const State& s, State& d, double) {
          d = {s[1], (in_newton_millimetres(m.moment) - in_newton_millimetres_per_radian(m.rate) * s[0] -
                      in_newton_millimetre_seconds(m.drag) * s[1]) /
                         j};
        },
        x, 0., t, t / 100);
    const auto swing = swing_at(m, seconds(t));
    ASSERT_TRUE(swing);
    EXPECT_NEAR(in_radians(swing->angle), x[0], 1e-10 * in_radians(m.swing)) << n;
    EXPECT_NEAR(swing->speed, x[1], 1e-10 * in_radians(m.swing) / unit) << n;
  }
}

// Everything is one formula in three: no step where one hands over to the next.
TEST(Return, FormulasJoin) {
  const double j = 1000, w = std::sqrt(4 / 1e-3);
  for (const double zeta : {0., .3, .999999, 1., 1.000001, 3.}) {
    for (const double at : {.5, 1., 2., 3.}) {
      const double b = 2 * zeta * w * 1e-3;
      const double t = at / w;
      const auto value = [&](double moved) {
        return in_radians(swing_at(motion(j, b, 1, 4, 1), seconds(t * moved))->angle);
      };
      const double step = 1e-7;
      EXPECT_NEAR(value(1 + step) + value(1 - step) - 2 * value(1), 0, 1e-13 * (1 + value(1))) << zeta << at;
    }
  }
}

RC_GTEST_PROP(Return, MoreDragOrInertiaOrLessMomentTakesLonger, (std::uint64_t seed)) {
  reference::Engine engine(seed);
  const Motion m = draw(engine);
  const double t = time(m);
  Motion other = m;
  other.drag = m.drag * 1.3 + newton_millimetre_seconds(1e-4);
  RC_ASSERT(time(other) >= t);
  other = m;
  other.inertia = m.inertia * 1.3;
  // On a spring that slackens, inertia may carry a key to its stop sooner than creeping would.
  if (m.rate.raw() <= 0) RC_ASSERT(time(other) >= t * (1 - 1e-12));
  other = m;
  other.moment = m.moment * .9;
  RC_ASSERT(time(other) >= t);
  other = m;
  other.swing = m.swing * 1.1;
  RC_ASSERT(time(other) >= t);
}

RC_GTEST_PROP(Return, ScalesWithItsUnits, (std::uint64_t seed)) {
  reference::Engine engine(seed);
  const Motion m = draw(engine);
  // Twice everything that pushes, drags and is heavy: the same time. Four times the inertia and twice the
  // drag: twice.
  Motion all = m;
  all.drag = m.drag * 2;
  all.inertia = m.inertia * 2;
  all.moment = m.moment * 2;
  all.rate = m.rate * 2;
  Motion slow = m;
  slow.inertia = m.inertia * 4;
  slow.drag = m.drag * 2;
  const double t = time(m);
  RC_PRE(std::isfinite(t));
  const auto r = come_back(m);
  RC_PRE(r->speed * t > .1 * in_radians(m.swing));
  RC_ASSERT(std::abs(time(all) / t - 1) < 1e-11);
  RC_ASSERT(std::abs(time(slow) / t - 2) < 1e-11);
}

TEST(Return, MostDrag) {
  reference::Engine engine(29);
  int found = 0, none = 0;
  for (int n = 0; n < 500; ++n) {
    Motion m = draw(engine);
    m.drag = Drag{};
    const double quickest = time(m);
    const double limit =
        std::isfinite(quickest) ? quickest * std::exp(reference::uniform(engine, -.5, 3)) : .04;
    const auto most = most_drag(m, seconds(limit));
    ASSERT_TRUE(most);
    if (!*most) {
      ++none;
      EXPECT_GT(quickest, limit);
      continue;
    }
    ++found;
    m.drag = **most * (1 - 1e-9);
    EXPECT_LE(time(m), limit * (1 + 1e-7));
    m.drag = **most * (1 + 1e-6) + newton_millimetre_seconds(1e-12);
    EXPECT_GT(time(m), limit * (1 - 1e-9));
  }
  EXPECT_GT(found, 300);
  EXPECT_GT(none, 30);
}

TEST(Return, NothingComesOutNaN) {
  const double values[] = {0., 1e-12, 1e-3, 1., 1e3, 1e12, 1e150, kInfinity};
  for (const double b : values) {
    for (const double k : {-1e12, -1., 0., 1e-9, 1., 1e12}) {
      for (const double x : {1e-12, .1, 1e3}) {
        for (const double m : {-1., 0., 1e-9, 1., 1e9}) {
          const auto r = come_back(motion(1000, b, m, k, x));
          ASSERT_TRUE(r);
          EXPECT_FALSE(std::isnan(in_seconds(r->time)));
          EXPECT_FALSE(std::isnan(in_radians(r->reached)));
          EXPECT_FALSE(std::isnan(r->speed)) << b << " " << k << " " << x << " " << m;
          EXPECT_FALSE(std::isnan(r->damping_ratio));
          EXPECT_EQ(*damping_ratio(motion(1000, b, m, k, x)), r->damping_ratio);
          EXPECT_GE(in_radians(r->reached), 0);
          EXPECT_LE(in_radians(r->reached), x);
        }
      }
    }
  }
}

TEST(Absurd, WrongMotionsAreSaid) {
  for (const double bad : {0., -1., kNaN, kInfinity}) {
    EXPECT_FALSE(come_back(motion(bad, 0, 1, 1, .1)));
    EXPECT_FALSE(come_back(motion(1000, 0, 1, 1, bad)));
    EXPECT_FALSE(most_drag(motion(1000, 0, 1, 1, .1), seconds(bad)));
  }
  for (const double bad : {kNaN, kInfinity}) {
    EXPECT_FALSE(come_back(motion(1000, 0, bad, 1, .1)));
    EXPECT_FALSE(come_back(motion(1000, 0, 1, bad, .1)));
  }
  EXPECT_FALSE(come_back(motion(1000, -1, 1, 1, .1)));
  EXPECT_FALSE(come_back(motion(1000, kNaN, 1, 1, .1)));
  EXPECT_FALSE(swing_at(motion(1000, kInfinity, 1, 1, .1), seconds(1)));
  EXPECT_FALSE(swing_at(motion(1000, 1, 1, 1, .1), seconds(-1)));
}

// ---- forces
// ------------------------------------------------------------------------------------------------

Forces forces() {
  Forces f;
  f.spring = newtons_per_millimetre(.2);
  f.set = millimetres(5);
  f.works_at = millimetres(4);
  f.swing = radians(.25);
  f.friction = .1;
  f.joint_radius = millimetres(1);
  f.weight = newton_millimetres(.3);
  return f;
}

TEST(Forces, ByHand) {
  const Moments m = moments(forces());
  // At rest 0.2 x 5 = 1 N at 4 mm; pressed 1 mm more, 1.2 N.
  EXPECT_NEAR(in_newton_millimetres(m.at_rest), 4, 1e-12);
  EXPECT_NEAR(in_newton_millimetres(m.at_pressed), 4.8, 1e-12);
  EXPECT_NEAR(in_newton_millimetres(m.friction_at_rest), .1, 1e-12);
  EXPECT_NEAR(in_newton_millimetres(m.friction_at_pressed), .12, 1e-12);
  const Motion moves = motion_of(forces(), gram_square_millimetres(1000), newton_millimetre_seconds(.01));
  EXPECT_NEAR(in_newton_millimetres(moves.moment), 4.8 - .12 - .3, 1e-12);
  EXPECT_NEAR(in_newton_millimetres_per_radian(moves.rate), (4.8 - .12 - 4 + .1) / .25, 1e-12);
  const auto touch = touch_weight(forces(), millimetres(16));
  ASSERT_TRUE(touch);
  EXPECT_NEAR(in_newtons(touch->to_start), (4 + .1 - .3) / 16, 1e-12);
  EXPECT_NEAR(in_newtons(touch->to_hold), (4.8 - .3) / 16, 1e-12);
  EXPECT_FALSE(touch_weight(forces(), millimetres(0)));
  EXPECT_FALSE(touch_weight(forces(), millimetres(kNaN)));
}

TEST(Forces, NoSpringNeverReturns) {
  Forces f = forces();
  f.spring = newtons_per_millimetre(0);
  const Motion m = motion_of(f, gram_square_millimetres(1000), newton_millimetre_seconds(0));
  EXPECT_EQ(come_back(m)->kind, ReturnKind::stays);
}

TEST(Inertia, GuessedFromParts) {
  KeyParts parts;
  parts.cup_diameter = millimetres(20);
  parts.arm = millimetres(15);
  parts.touch_arm = millimetres(30);
  parts.cup_weight = .01;
  parts.bar_weight = .1;
  const Guess guess = guess_inertia(parts);
  const double cup = .01 * pi * 100;
  EXPECT_NEAR(in_grams(guess.mass), cup + .1 * 45, 1e-12);
  EXPECT_NEAR(in_gram_square_millimetres(guess.inertia), cup * (225 + 25) + .1 * (3375 + 27000) / 3., 1e-9);
  EXPECT_EQ(in_gram_square_millimetres(guess_inertia({}).inertia), 0);
}

// The weight's moment of bodies of random points never passes the bound, and one point attains it.
RC_GTEST_PROP(Inertia, WeightCannotTurnMoreThanItsGyration, (std::uint64_t seed)) {
  reference::Engine engine(seed);
  double mass = 0, moment = 0, inertia = 0;
  for (int k = reference::pick(engine, 6); k >= 0; --k) {
    const double m = reference::uniform(engine, .1, 5);
    const double r = reference::uniform(engine, -30, 30);
    mass += m;
    moment += m * 9.80665e-3 * r;
    inertia += m * r * r;
  }
  const double most =
      in_newton_millimetres(most_weight_moment(grams(mass), gram_square_millimetres(inertia)));
  RC_ASSERT(std::abs(moment) <= most * (1 + 1e-12));
  RC_ASSERT(std::abs(in_newton_millimetres(most_weight_moment(grams(2), gram_square_millimetres(2 * 81))) -
                     2 * 9.80665e-3 * 9) < 1e-15);
}

// ---- oil
// -----------------------------------------------------------------------------------------------------

TEST(Oil, ThickestByTryingAll) {
  reference::Engine engine(31);
  int some = 0, none = 0;
  for (int n = 0; n < 500; ++n) {
    Motion m = draw(engine);
    m.drag = Drag{};
    const double quickest = time(m);
    const double limit = std::isfinite(quickest) ? quickest * reference::uniform(engine, .9, 5) : .04;
    const double per_viscosity =
        std::sqrt(in_gram_square_millimetres(m.inertia) * 1e-6 * in_newton_millimetres(m.moment)) *
        reference::uniform(engine, 1e6, 1e8);
    std::vector<OilAtCold> oils;
    for (int k = reference::pick(engine, 10); k > 0; --k) {
      oils.push_back({millipascal_seconds(std::exp(reference::uniform(engine, 0, 9)))});
    }
    const auto chosen = thickest_oil(m, per_viscosity, oils, seconds(limit));
    ASSERT_TRUE(chosen);
    std::optional<std::size_t> best;
    for (std::size_t k = 0; k < oils.size(); ++k) {
      m.drag = newton_millimetre_seconds(per_viscosity * in_millipascal_seconds(oils[k].viscosity) * 1e-9);
      if (time(m) <= limit && (!best || oils[k].viscosity > oils[*best].viscosity)) best = k;
    }
    EXPECT_EQ(*chosen, best) << n;
    ++(best ? some : none);
  }
  EXPECT_GT(some, 100);
  EXPECT_GT(none, 50);
  EXPECT_FALSE(thickest_oil(motion(1000, 0, 1, 1, .1), kNaN, {}, seconds(1)));
}

}  // namespace
}  // namespace hingeline::movement
