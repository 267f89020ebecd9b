// What is drawn: causes, ends and sizes by the presets; the same key for the same seed and number.

#include <bit>
#include <map>

#include "support.h"

namespace hingeline::virtual_bench {
namespace {

std::size_t place(Cause c) { return static_cast<std::size_t>(c); }

bool hole_damage(Cause c) {
  return c == Cause::worn_hole || c == Cause::taper_mismatch || c == Cause::straight_hole ||
         c == Cause::tip_on_floor;
}

/// The chance of every set of causes.
std::map<Causes, double> chances(const std::vector<Cause>& possible, const CausePresets& p) {
  std::map<Causes, double> out;
  out[Causes{}] = p.sound_share;
  double all = 0;
  for (const Cause c : possible) all += p.share[place(c)];
  for (const Cause first : possible) {
    const double chance = (1 - p.sound_share) * p.share[place(first)] / all;
    out[Causes{first}] += chance * (1 - p.two_causes);
    std::vector<Cause> others;
    for (const Cause c : possible) {
      const bool fits = (c == Cause::short_fit && first == Cause::over_cut) ||
                        (c == Cause::over_cut && first == Cause::short_fit);
      if (c != first && !fits && !(hole_damage(c) && hole_damage(first))) others.push_back(c);
    }
    double rest = 0;
    for (const Cause c : others) rest += p.share[place(c)];
    for (const Cause c : others) {
      out[Causes{first, c}] += chance * p.two_causes * p.share[place(c)] / rest;
    }
  }
  return out;
}

/// Pearson's chi-square at 1 %; sets too rare to be expected five times are counted together. Its quantile by
/// Wilson and Hilferty (from memory), good to a few parts in a thousand here.
void expect_shares(const KeyGeometry& sound, EndHeads heads, const std::vector<Cause>& possible,
                   std::size_t keys = 40000) {
  const CausePresets presets;
  const std::map<Causes, double> expected = chances(possible, presets);
  std::map<Causes, std::size_t> seen;
  for (std::size_t k = 0; k < keys; ++k) ++seen[draw(sound, presets, k, heads).causes()];
  for (const auto& [causes, count] : seen) EXPECT_EQ(expected.count(causes), 1U);
  double square = 0;
  double rare_expected = 0;
  double rare_seen = 0;
  int cells = 0;
  const auto add = [&](double is, double should) {
    square += (is - should) * (is - should) / should;
    ++cells;
  };
  for (const auto& [causes, chance] : expected) {
    const double should = chance * static_cast<double>(keys);
    const auto is = static_cast<double>(seen[causes]);
    if (should < 5) {
      rare_expected += should;
      rare_seen += is;
    } else {
      add(is, should);
    }
  }
  if (rare_expected > 0) add(rare_seen, rare_expected);
  const double freedom = cells - 1;
  const double spread = 2 / (9 * freedom);
  const double root = 1 - spread + numeric::inverse_normal(0.99) * std::sqrt(spread);
  EXPECT_LT(square, freedom * root * root * root);
}

std::vector<Cause> causes_but(std::initializer_list<Cause> not_these) {
  std::vector<Cause> out;
  for (std::size_t c = 1; c < belief::kCauseCount; ++c) {
    if (std::find(not_these.begin(), not_these.end(), static_cast<Cause>(c)) == not_these.end()) {
      out.push_back(static_cast<Cause>(c));
    }
  }
  return out;
}

TEST(Causes, HeadedScrewsHaveAllButAWornBore) {
  expect_shares(cone_key(), kHeaded, causes_but({Cause::worn_bore}));
}

TEST(Causes, HeadlessScrewsHaveNoShortFit) {
  expect_shares(cone_key(), kHeadless, causes_but({Cause::worn_bore, Cause::short_fit}));
}

TEST(Causes, RodsHaveTheirOwn) {
  expect_shares(rod_key(), kHeaded,
                {Cause::short_fit, Cause::over_cut, Cause::post_moved, Cause::bent_body, Cause::bent_key,
                 Cause::worn_bore, Cause::dirt, Cause::climate});
}

TEST(Causes, EndsAreEvenUnlessOnlyOneCanHaveIt) {
  for (const Cause cause : {Cause::worn_hole, Cause::taper_mismatch, Cause::straight_hole,
                            Cause::tip_on_floor, Cause::screw_off, Cause::loose_thread, Cause::post_moved}) {
    const bool needs_cones =
        cause == Cause::taper_mismatch || cause == Cause::straight_hole || cause == Cause::tip_on_floor;
    std::size_t upper = 0;
    constexpr std::size_t kDraws = 2000;
    for (std::size_t k = 0; k < kDraws; ++k) {
      const auto side = draw(cone_key(), only(cause), k).side_of(cause);
      ASSERT_TRUE(side);
      if (*side == Side::upper) ++upper;
      if (k >= 100) continue;
      const auto by_the_ball = draw(ball_key(), only(cause), k).side_of(cause);
      ASSERT_TRUE(by_the_ball);
      if (needs_cones) {
        EXPECT_EQ(*by_the_ball, Side::lower);
      } else {
        EXPECT_EQ(*by_the_ball, *side);
      }
    }
    expect_chance(upper, kDraws, 0.5, belief::word(cause));
  }
  EXPECT_FALSE(draw(cone_key(), only(Cause::dirt), 1).side_of(Cause::dirt));
  EXPECT_FALSE(draw(cone_key(), only(Cause::dirt), 1).side_of(Cause::screw_off));
}

TEST(Causes, BallsInBothEndsTakeTheConesCausesAway) {
  KeyGeometry key = ball_key();
  key.lower = key.upper;
  expect_shares(
      key, kHeaded,
      causes_but({Cause::worn_bore, Cause::taper_mismatch, Cause::straight_hole, Cause::tip_on_floor}), 4000);
}

/// Of keys with this cause alone, by the presets as they are.
std::vector<double> sizes(Cause cause, const std::function<double(const Sizes&)>& of) {
  CausePresets presets;
  presets.sound_share = cause == Cause::sound ? 1 : 0;
  presets.two_causes = 0;
  presets.share.fill(0);
  presets.share[place(cause)] = 1;
  std::vector<double> out;
  const KeyGeometry key = cause == Cause::worn_bore ? rod_key() : cone_key();
  for (std::uint64_t k = 0; k < 10000; ++k) out.push_back(of(draw(key, presets, k).sizes()));
  return out;
}

TEST(Sizes, LognormalsAreThePresets) {
  const CausePresets p;
  const auto hold = [](Cause cause, belief::Spread s, const std::function<double(const Sizes&)>& of) {
    expect_distributed(
        sizes(cause, of), [&](double x) { return normal_below(std::log(x / s.median) / s.sigma); },
        belief::word(cause));
  };
  hold(Cause::screw_off, p.screw_off, [](const Sizes& s) { return s.screw_off.raw(); });
  hold(Cause::loose_thread, p.thread_slop, [](const Sizes& s) { return s.slop.raw(); });
  hold(Cause::bent_body, p.bow, [](const Sizes& s) { return std::abs(s.bow.raw()); });
  hold(Cause::bent_key, p.runout, [](const Sizes& s) { return s.runout.raw(); });
  hold(Cause::worn_bore, p.bore_wear, [](const Sizes& s) { return s.bore_wear.raw(); });
  hold(Cause::worn_hole, p.oval, [](const Sizes& s) { return s.oval.raw(); });
  hold(Cause::dirt, p.drag, [](const Sizes& s) { return s.drag; });
}

TEST(Sizes, UniformsAreThePresets) {
  const CausePresets p;
  const auto hold = [](Cause cause, double low, double high, const std::function<double(const Sizes&)>& of) {
    expect_distributed(
        sizes(cause, of), [&](double x) { return std::clamp((x - low) / (high - low), 0.0, 1.0); },
        belief::word(cause));
  };
  hold(Cause::worn_hole, p.bell_low, p.bell_high, [](const Sizes& s) { return s.bell; });
  hold(Cause::taper_mismatch, p.mismatch_low, p.mismatch_high,
       [](const Sizes& s) { return std::abs(s.mismatch.raw()); });
  hold(Cause::tip_on_floor, p.floor_low, p.floor_high, [](const Sizes& s) { return s.floor.raw(); });
}

TEST(Sizes, NormalsAreThePresetsAndKeepWithinTheirPart) {
  const CausePresets p;
  const auto fit = [](const Sizes& s) { return s.fit.raw(); };
  const auto part = [](double mean, double sd, double from, double to) {
    return [=](double x) {
      const double start = normal_below((from - mean) / sd);
      const double end = normal_below((to - mean) / sd);
      return (normal_below((std::clamp(x, from, to) - mean) / sd) - start) / (end - start);
    };
  };
  expect_distributed(sizes(Cause::sound, fit), part(0.02, 0.2 * 0.02, 0.01, 0.03), "sound");
  expect_distributed(sizes(Cause::short_fit, fit), part(p.short_mean, p.short_sd, 0.03 + p.short_least, 9),
                     "short");
  expect_distributed(sizes(Cause::over_cut, fit), part(p.over_mean, p.over_sd, -9, 0), "over-cut");
  // Twice the tail, either sign.
  const auto two_tails = [](double sd, double least) {
    return [=](double size) {
      const double rest = normal_below(-size / sd) / normal_below(-least / sd);
      return size < least ? 0 : 1 - rest;
    };
  };
  expect_distributed(sizes(Cause::post_moved, [](const Sizes& s) { return std::abs(s.post.raw()); }),
                     two_tails(p.post_sd, p.post_least), "post");
  expect_distributed(sizes(Cause::climate, [](const Sizes& s) { return std::abs(s.climate.raw()); }),
                     two_tails(p.climate_sd, p.climate_least), "climate");
  const auto half = [](double sd) { return [=](double x) { return 2 * normal_below(x / sd) - 1; }; };
  expect_distributed(sizes(Cause::sound, [](const Sizes& s) { return s.residual_lean.raw(); }),
                     half(p.residual_lean_sd), "residual lean");
  expect_distributed(sizes(Cause::sound, [](const Sizes& s) { return s.residual_runout.raw(); }),
                     half(p.residual_runout_sd), "residual run-out");
}

TEST(Sizes, SignsAreEven) {
  const auto hold = [](Cause cause, const std::function<double(const Sizes&)>& of) {
    const std::vector<double> all = sizes(cause, of);
    const auto above =
        static_cast<std::size_t>(std::count_if(all.begin(), all.end(), [](double x) { return x > 0; }));
    expect_chance(above, all.size(), 0.5, belief::word(cause));
  };
  hold(Cause::post_moved, [](const Sizes& s) { return s.post.raw(); });
  hold(Cause::bent_body, [](const Sizes& s) { return s.bow.raw(); });
  hold(Cause::taper_mismatch, [](const Sizes& s) { return s.mismatch.raw(); });
  hold(Cause::climate, [](const Sizes& s) { return s.climate.raw(); });
  hold(Cause::sound, [](const Sizes& s) { return s.line_offset.raw(); });
}

TEST(Sizes, WhatAKeyHasNotIsNothing) {
  const Sizes s = draw(cone_key(), only(Cause::sound), 3).sizes();
  for (const Length l :
       {s.screw_off, s.slop, s.post, s.bow, s.runout, s.bore_wear, s.oval, s.floor, s.climate}) {
    EXPECT_EQ(l.raw(), 0);
  }
  EXPECT_EQ(s.mismatch.raw(), 0);
  EXPECT_EQ(s.bell, 0);
  EXPECT_EQ(s.drag, CausePresets{}.drag_clean);
  EXPECT_EQ(std::abs(s.line_offset.raw()), CausePresets{}.line_offset);
}

TEST(Sizes, ASlimPointHasItsMismatchOnTheBluntSide) {
  KeyGeometry key = cone_key();
  for (const Side side : kBothSides)
    key.at(side).point.half_angle = key.at(side).hole.half_angle = degrees(3);
  for (std::uint64_t k = 0; k < 200; ++k) {
    EXPECT_GT(draw(key, only(Cause::taper_mismatch), k).sizes().mismatch.raw(), 0);
  }
}

/// All that can be seen of a key, as bits.
std::vector<std::uint64_t> bits_of(HiddenKey key) {
  std::vector<std::uint64_t> out;
  const auto add = [&](Length l) { out.push_back(std::bit_cast<std::uint64_t>(l.raw())); };
  out.push_back(static_cast<std::uint64_t>(key.complaint()));
  for (int round = 0; round < 3; ++round) {
    for (std::size_t c = 0; c < belief::kCheckCount; ++c) {
      const Finding f = key.answer(static_cast<Check>(c));
      add(f.value);
      out.push_back(f.choice);
    }
    key.treat(static_cast<Cure>(1 + round * 4));
    key.cut(Side::upper, 0.5);
    key.ream(Side::lower, 0.25);
    for (const Length l : {key.end_play(), key.left_worst(), key.pad_rock(), key.metal().total()}) add(l);
  }
  return out;
}

TEST(Chance, SameSeedAndNumberSameBytes) {
  const CausePresets presets;
  std::vector<std::vector<std::uint64_t>> forth;
  for (std::uint64_t k = 0; k < 200; ++k) forth.push_back(bits_of(draw(cone_key(), presets, k)));
  for (std::uint64_t k = 200; k-- > 0;) EXPECT_EQ(bits_of(draw(cone_key(), presets, k)), forth[k]) << k;
  EXPECT_NE(forth[0], forth[1]);
}

TEST(Chance, ACopyGoesOnAsTheKeyWould) {
  HiddenKey key = draw(cone_key(), {}, 5);
  key.answer(Check::end_play);
  const HiddenKey copy = key;
  EXPECT_EQ(bits_of(key), bits_of(copy));
  EXPECT_EQ(bits_of(copy), bits_of(key));
}

}  // namespace
}  // namespace hingeline::virtual_bench
