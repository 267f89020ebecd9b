// What keys do while one is pressed: by hand, by small steps, by virtual work.

#include "hingeline/regulation/chain.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "hingeline/regulation/press.h"
#include "make.h"

namespace hingeline::regulation {
namespace {

/// Key 0 with a pad, which drives key 1 with a pad.
Chain two_keys(double gap = 0.3) {
  return *Chain::make({padded("a", 20, 2), padded("b", 25, 2.5)}, {link(0, 1, 10, 15, gap)});
}

TEST(Chain, TwoKeysByHand) {
  const Chain chain = two_keys();
  // a: 2 / 20. b: 2.5 / 25 = 0.1 on 15 mm is 1.5 mm, and 0.3 mm lost: 1.8 mm on 10 mm.
  EXPECT_DOUBLE_EQ(in_radians(closing(chain, 0, 0)->driver), 0.1);
  EXPECT_NEAR(in_radians(closing(chain, 0, 1)->driver), 0.18, 1e-15);
  EXPECT_NEAR(closing(chain, 0, 1)->pad_ratio, 10.0 / 15, 1e-15);
  EXPECT_EQ(closing(chain, 0, 1)->path, (std::vector<std::size_t>{0}));
  EXPECT_TRUE(closing(chain, 0, 0)->path.empty());
  EXPECT_FALSE(closing(chain, 1, 0));
  // At a's seat: 0.1 x 10 - 0.3 = 0.7 mm at the foot, 0.7 / 15 x 25 = 1.16667 mm at the pad.
  const Pose p = pose(chain, 0, radians(0.1));
  EXPECT_NEAR(in_millimetres(*p.open[1]), 2.5 - 0.7 / 15 * 25, 1e-14);
  EXPECT_NEAR(in_millimetres(*p.open[0]), 0, 1e-15);
  const auto happenings = stroke(chain, 0);
  ASSERT_EQ(happenings.size(), 3u);
  EXPECT_EQ(happenings[0].kind, Happening::Kind::takes_up);
  EXPECT_NEAR(in_radians(happenings[0].driver), 0.03, 1e-16);
  EXPECT_EQ(happenings[1].kind, Happening::Kind::seats);
  EXPECT_EQ(happenings[1].which, 0u);
  EXPECT_EQ(happenings[2].which, 1u);
  const LostMotion lost = lost_motion(chain, 0);
  EXPECT_NEAR(in_millimetres(lost.at_contact.value), 0.3, 1e-15);
  EXPECT_NEAR(in_millimetres(lost.at_pad->value), 0.5, 1e-15);
  EXPECT_NEAR(in_radians(lost.at_driver.value), 0.03, 1e-16);
  EXPECT_EQ(lost.holds_off.value, Length{});
}

TEST(Chain, CompoundLeverMultipliesItsLevers) {
  // Compound lever: the mechanical advantage is the product of the levers' own (elementary mechanics, from
  // memory); here by hand 2/1 x 3/1 x 5/2.
  const Chain chain = *Chain::make({lever("a"), lever("b"), lever("c"), padded("d", 10, 1)},
                                   {link(0, 1, 10, 20, 0), link(1, 2, 6, 18, 0), link(2, 3, 4, 10, 0)});
  const auto c = closing(chain, 0, 3);
  EXPECT_NEAR(1 / c->pad_ratio, 2.0 * 3 * 2.5, 1e-13);
  const auto p =
      press(chain, 0, newton_millimetres(7), {{3, newtons_per_millimetre(50)}, std::vector<Torque>(4)});
  EXPECT_NEAR(in_newtons(p->at_pad[3]), 7.0 * 15 / 10, 1e-8);
}

TEST(Chain, ACorkTooThickHoldsItsKeyOff) {
  const Chain chain = two_keys(-0.15);
  const Pose p = pose(chain, 0, radians(0));
  EXPECT_NEAR(in_radians(p.turned[1]), 0.01, 1e-16);
  EXPECT_NEAR(in_millimetres(*p.open[1]), 2.25, 1e-14);
  const LostMotion lost = lost_motion(chain, 0);
  EXPECT_EQ(in_millimetres(lost.at_contact.value), 0);
  EXPECT_NEAR(in_millimetres(lost.holds_off.value), 0.25, 1e-15);
  for (const Happening& h : stroke(chain, 0)) EXPECT_EQ(h.kind, Happening::Kind::seats);
  // 3 mm at the foot would be 5 mm at the pad: closed before anybody presses.
  EXPECT_TRUE(closing(two_keys(-3), 0, 1)->at_rest);
  EXPECT_EQ(closing(two_keys(-3), 0, 1)->driver, radians(0));
}

TEST(Chain, RefusesARingAndNamesItsKeys) {
  const auto made = Chain::make({lever("x"), lever("a"), lever("b"), lever("c"), lever("y")},
                                {link(0, 1, 9, 9, 0), link(2, 3, 9, 9, 0), link(1, 2, 9, 9, 0),
                                 link(3, 1, 9, 9, 0), link(3, 4, 9, 9, 0)});
  ASSERT_FALSE(made);
  EXPECT_EQ(made.error().fault, Fault::geometry);
  EXPECT_NE(made.error().what.find("a drives b drives c drives a"), std::string::npos) << made.error().what;
}

TEST(Chain, RefusesWhatCannotBe) {
  const double nan = std::nan("");
  const double far = std::numeric_limits<double>::infinity();
  const auto chain_of = [](ChainKey key, const Link& l) {
    return Chain::make({std::move(key), padded("b", 20, 2)}, {l});
  };
  EXPECT_TRUE(chain_of(padded("a", 20, 0), link(0, 1, 9, 9, -5)));
  for (const double bad : {0.0, -1.0, nan, far}) {
    EXPECT_FALSE(chain_of(padded("a", bad, 2), link(0, 1, 9, 9, 0))) << bad;
    EXPECT_FALSE(chain_of(lever("a"), link(0, 1, bad, 9, 0))) << bad;
    EXPECT_FALSE(chain_of(lever("a"), link(0, 1, 9, bad, 0))) << bad;
  }
  EXPECT_FALSE(chain_of(padded("a", 20, -0.1), link(0, 1, 9, 9, 0)));
  EXPECT_FALSE(chain_of(padded("a", 20, nan), link(0, 1, 9, 9, 0)));
  EXPECT_FALSE(chain_of(lever("a"), link(0, 1, 9, 9, nan)));
  EXPECT_FALSE(chain_of(lever("a"), link(1, 1, 9, 9, 0)));
  EXPECT_FALSE(chain_of(lever("a"), link(0, 2, 9, 9, 0)));
  Link l = link(0, 1, 9, 9, 0);
  l.slack = mm(-0.1);
  EXPECT_FALSE(chain_of(lever("a"), l));
  l.slack = mm(0, -1);
  EXPECT_FALSE(chain_of(lever("a"), l));
  l = link(0, 1, 9, 9, 0);
  l.tilt.value = degrees(90);
  EXPECT_FALSE(chain_of(lever("a"), l));
  EXPECT_TRUE(Chain::make({}, {}));
}

/// All contacts settled by going round them until none is violated, knowing nothing of their order.
std::vector<double> settle(const Chain& chain, double pressed) {
  std::vector<double> turned(chain.keys().size(), 0);
  turned[0] = pressed;
  for (bool moved = true; moved;) {
    moved = false;
    for (const Link& l : chain.links()) {
      const double pushed =
          l.driver_arm.value.raw() * turned[l.from] - l.gap.value.raw() - l.slack.value.raw();
      if (pushed > l.foot_arm.value.raw() * turned[l.to] * (1 + 1e-15) + 1e-15) {
        turned[l.to] = pushed / l.foot_arm.value.raw();
        moved = true;
      }
    }
  }
  return turned;
}

TEST(Chain, AgreesWithSmallStepsOnFiveHundredChains) {
  Engine engine(4);
  double farthest = 0;
  std::size_t side_by_side = 0;
  for (int n = 0; n < 500; ++n) {
    const Chain chain = draw_chain(engine, {});
    for (std::size_t k = 0; k < chain.keys().size(); ++k) {
      const auto c = closing(chain, 0, k);
      if (!chain.keys()[k].pad) {
        EXPECT_FALSE(c);
        continue;
      }
      ASSERT_TRUE(c);
      const double seat = chain.keys()[k].pad->opening.value / chain.keys()[k].pad->arm.value;
      if (c->at_rest) {
        EXPECT_GE(settle(chain, 0)[k], seat - 1e-12);
        continue;
      }
      // Steps that halve.
      double low = 0;
      double high = 1;
      while (settle(chain, high)[k] < seat) high *= 2;
      for (int step = 0; step < 60; ++step) {
        const double middle = (low + high) / 2;
        (settle(chain, middle)[k] < seat ? low : high) = middle;
      }
      farthest = std::max(farthest, std::abs(high - in_radians(c->driver)));
      // The path named leads there and its ratio is what a small step shows.
      double ratio = 1;
      std::size_t at = 0;
      for (const std::size_t l : c->path) {
        EXPECT_EQ(chain.links()[l].from, at);
        at = chain.links()[l].to;
        ratio *= chain.links()[l].driver_arm.value / chain.links()[l].foot_arm.value;
      }
      EXPECT_EQ(at, k);
      EXPECT_NEAR(ratio, c->pad_ratio, 1e-12 * ratio);
      const double step = 1e-7;
      const double shown = (settle(chain, high)[k] - settle(chain, high - step)[k]) / step;
      EXPECT_NEAR(shown, ratio, 1e-6 * ratio + 1e-7) << n << ' ' << k;
    }
    if (chain.links().size() >= chain.keys().size()) ++side_by_side;
    for (const double angle : {0.0, 0.01, 0.05, 0.1, 0.2}) {
      const auto brute = settle(chain, angle);
      const Pose p = pose(chain, 0, radians(angle));
      for (std::size_t k = 0; k < brute.size(); ++k)
        farthest = std::max(farthest, std::abs(brute[k] - in_radians(p.turned[k])));
    }
  }
  EXPECT_LE(farthest, 1e-9);
  EXPECT_GE(side_by_side, 100u) << "too few chains with several ways to one key";
  RecordProperty("farthest", ::testing::PrintToString(farthest));
}

RC_GTEST_PROP(Stroke, NamesEveryBendOfEveryKey, (std::uint64_t seed)) {
  Engine engine(seed);
  const Chain chain = draw_chain(engine, {});
  const auto happenings = stroke(chain, 0);
  RC_ASSERT(std::is_sorted(happenings.begin(), happenings.end(),
                           [](const Happening& a, const Happening& b) { return a.driver < b.driver; }));
  // Between two links' taking up every key moves straight.
  std::vector<double> ends{0};
  for (const Happening& h : happenings) {
    if (h.kind == Happening::Kind::takes_up) ends.push_back(in_radians(h.driver));
  }
  if (!happenings.empty()) ends.push_back(in_radians(happenings.back().driver));
  for (std::size_t n = 0; n + 1 < ends.size(); ++n) {
    const double a = ends[n];
    const double b = ends[n + 1];
    const auto at_a = pose(chain, 0, radians(a)).turned;
    const auto at_b = pose(chain, 0, radians(b)).turned;
    const auto at_third = pose(chain, 0, radians(a + (b - a) / 3)).turned;
    for (std::size_t k = 0; k < at_a.size(); ++k)
      RC_ASSERT(std::abs(in_radians(at_a[k] * 2.0 + at_b[k] - at_third[k] * 3.0)) < 1e-12);
  }
}

// ---- under a finger --------------------------------------------------------------------------------

TEST(Press, TwoPadsShareAFingerByHand) {
  // b's cork is 0.05 mm too thick: b seats first and its cork has to be squeezed by 0.05 mm until a closes.
  // a needs 2 mm on 20 mm: 0.1; b the same; link 10 on 10.
  const Chain chain = *Chain::make({padded("a", 20, 2), padded("b", 20, 2)}, {link(0, 1, 10, 10, -0.05)});
  const Gives gives{{newtons_per_millimetre(20)}, std::vector<Torque>(2)};
  // 1 N through the cork is 10 N mm: less than that and a stands open.
  const auto soft = press(chain, 0, newton_millimetres(6), gives);
  ASSERT_TRUE(soft);
  EXPECT_NEAR(in_newtons(soft->at_link[0]), 0.6, 1e-9);
  EXPECT_NEAR(in_millimetres(soft->squeezed[0]), 0.03, 1e-10);
  EXPECT_NEAR(in_millimetres(*soft->open[0]), 0.02 / 10 * 20, 1e-9);
  EXPECT_NEAR(in_newtons(soft->at_pad[1]), 0.3, 1e-9);
  EXPECT_EQ(in_newtons(soft->at_pad[0]), 0);
  const auto firm = press(chain, 0, newton_millimetres(30), gives);
  EXPECT_EQ(in_millimetres(*firm->open[0]), 0);
  EXPECT_NEAR(in_newtons(firm->at_link[0]), 1, 1e-9);
  EXPECT_NEAR(in_newtons(firm->at_pad[0]), (30.0 - 10) / 20, 1e-9);
  EXPECT_NEAR(in_newtons(firm->at_pad[1]), 0.5, 1e-9);
}

TEST(Press, RefusesWhatCannotBe) {
  const Chain chain = two_keys();
  const Gives good{{newtons_per_millimetre(20)}, std::vector<Torque>(2)};
  EXPECT_TRUE(press(chain, 0, newton_millimetres(0), good));
  EXPECT_FALSE(press(chain, 2, newton_millimetres(1), good));
  EXPECT_FALSE(press(chain, 0, newton_millimetres(-1), good));
  EXPECT_FALSE(press(chain, 0, newton_millimetres(std::nan("")), good));
  EXPECT_FALSE(press(chain, 0, newton_millimetres(1), {{}, std::vector<Torque>(2)}));
  EXPECT_FALSE(press(chain, 0, newton_millimetres(1), {{newtons_per_millimetre(0)}, std::vector<Torque>(2)}));
  EXPECT_FALSE(press(chain, 0, newton_millimetres(1),
                     {{newtons_per_millimetre(9)}, std::vector<Torque>(2, newton_millimetres(-1))}));
  const Chain no_pad = *Chain::make({lever("a"), lever("b")}, {link(0, 1, 9, 9, 0)});
  const auto pressed = press(no_pad, 0, newton_millimetres(1), good);
  ASSERT_FALSE(pressed);
  EXPECT_NE(pressed.error().what.find("nothing stops a"), std::string::npos);
}

struct Loaded {
  Chain chain;
  Gives gives;
  double moment;
};
Loaded draw_loaded(std::uint64_t seed) {
  Engine engine(seed);
  Shape shape;
  shape.most_keys = 9;
  Loaded out{draw_chain(engine, shape), {}, 0};
  for (std::size_t n = 0; n < out.chain.links().size(); ++n)
    out.gives.links.push_back(newtons_per_millimetre(std::pow(10, uniform(engine, -0.5, 3))));
  for (std::size_t n = 0; n < out.chain.keys().size(); ++n)
    out.gives.springs.push_back(newton_millimetres(pick(engine, 3) == 0 ? 0 : uniform(engine, 0, 20)));
  out.moment = uniform(engine, 0, 60);
  return out;
}

TEST(Press, ComesToRestOnFiveThousandChains) {
  for (std::uint64_t seed = 0; seed < 5000; ++seed) {
    const Loaded l = draw_loaded(seed);
    const auto p = press(l.chain, 0, newton_millimetres(l.moment), l.gives);
    ASSERT_TRUE(p || p.error().what.rfind("nothing stops", 0) == 0) << seed << ": " << p.error().what;
  }
  // Where the last squeezed cork lets go, rounding once left a slope with nothing to end it.
  for (const std::uint64_t seed : {229150502ull, 470536756775ull}) {
    const Loaded l = draw_loaded(seed);
    EXPECT_TRUE(press(l.chain, 0, newton_millimetres(l.moment), l.gives)) << seed;
  }
}

RC_GTEST_PROP(Press, MomentsBalanceOnEveryKey, (std::uint64_t seed)) {
  const auto [chain, gives, moment] = draw_loaded(seed);
  const auto p = press(chain, 0, newton_millimetres(moment), gives);
  if (closable(chain).empty()) {
    RC_DISCARD("no pad");
  }
  RC_ASSERT(p.has_value());
  // Sum of moments, worked anew: nothing pulls, stops and seats only push, and both only where they touch.
  // The energy is convex, so this is the only rest there is (but for keys that nothing holds).
  std::vector<double> sum(chain.keys().size(), 0);
  sum[0] += moment;
  for (std::size_t k = 0; k < sum.size(); ++k) sum[k] -= gives.springs[k].raw();
  for (std::size_t n = 0; n < chain.links().size(); ++n) {
    const Link& l = chain.links()[n];
    const double squeeze = l.driver_arm.value.raw() * in_radians(p->turned[l.from]) -
                           l.foot_arm.value.raw() * in_radians(p->turned[l.to]) - l.gap.value.raw();
    RC_ASSERT(std::abs(std::max(0.0, squeeze) - in_millimetres(p->squeezed[n])) < 1e-12);
    const double force = gives.links[n].raw() * std::max(0.0, squeeze);
    RC_ASSERT(std::abs(force - in_newtons(p->at_link[n])) < 1e-9);
    sum[l.from] -= force * l.driver_arm.value.raw();
    sum[l.to] += force * l.foot_arm.value.raw();
  }
  for (std::size_t k = 0; k < sum.size(); ++k) {
    constexpr double kClose = 1e-6;  // N mm of up to 1000
    const auto& pad = chain.keys()[k].pad;
    const double at = in_radians(p->turned[k]);
    RC_ASSERT(at >= 0);
    if (pad && *p->open[k] == Length{}) {
      if (pad->opening.value.raw() > 0 && at > 0) RC_ASSERT(sum[k] >= -kClose);
      RC_ASSERT(std::abs(std::max(0.0, sum[k]) - in_newtons(p->at_pad[k]) * pad->arm.value.raw()) < kClose);
    } else if (at > 0) {
      RC_ASSERT(std::abs(sum[k]) < kClose);
    } else {
      RC_ASSERT(sum[k] <= kClose);
    }
    if (pad) RC_ASSERT(in_millimetres(*p->open[k]) >= 0);
  }
}

RC_GTEST_PROP(Press, ForceRatioIsTheInverseOfTheMotionRatio, (std::uint64_t seed)) {
  // Virtual work: what the finger puts in comes out at the one pad that stops.
  Engine engine(seed);
  const std::size_t count = 2 + pick(engine, 5);
  std::vector<ChainKey> keys;
  std::vector<Link> links;
  for (std::size_t k = 0; k + 1 < count; ++k) {
    keys.push_back(lever(std::string(1, static_cast<char>('a' + k))));
    links.push_back(link(k, k + 1, uniform(engine, 5, 20), uniform(engine, 5, 20), uniform(engine, 0, 0.3)));
  }
  keys.push_back(padded("last", uniform(engine, 10, 40), uniform(engine, 1, 4)));
  const Chain chain = *Chain::make(std::move(keys), std::move(links));
  const double moment = uniform(engine, 0.5, 50);
  const Gives gives{std::vector<Stiffness>(count - 1, newtons_per_millimetre(uniform(engine, 5, 200))),
                    std::vector<Torque>(count)};
  const auto pressed = press(chain, 0, newton_millimetres(moment), gives);
  RC_ASSERT(pressed.has_value());
  const double at_pad = in_newtons(pressed->at_pad.back());
  const double closed = in_radians(closing(chain, 0, count - 1)->driver);
  const double step = 1e-6;
  const double pad_moves = in_millimetres(*pose(chain, 0, radians(closed - step)).open.back() -
                                          *pose(chain, 0, radians(closed)).open.back());
  RC_ASSERT(std::abs(at_pad * pad_moves / (moment * step) - 1) < 1e-6);
}

RC_GTEST_PROP(Press, HardCorksCloseWhatTheRigidChainCloses, (std::uint64_t seed)) {
  Engine engine(seed);
  Shape shape;
  shape.held = 0;
  const Chain chain = draw_chain(engine, shape);
  const auto pads = closable(chain);
  RC_PRE(pads.size() >= 1);
  double first = 1e9;
  for (const std::size_t k : pads) first = std::min(first, in_radians(closing(chain, 0, k)->driver));
  Gives gives{std::vector<Stiffness>(chain.links().size(), newtons_per_millimetre(1e7)),
              std::vector<Torque>(chain.keys().size(), newton_millimetres(1e-3))};
  const auto p = press(chain, 0, newton_millimetres(1), gives);
  RC_ASSERT(p.has_value());
  const Pose rigid = pose(chain, 0, radians(first));
  for (std::size_t k = 0; k < chain.keys().size(); ++k) {
    RC_ASSERT(std::abs(in_radians(p->turned[k] - rigid.turned[k])) < 1e-5);
  }
}

}  // namespace
}  // namespace hingeline::regulation
