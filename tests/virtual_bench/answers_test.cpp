// Readings, words and complaints in states chosen by hand, by the formulas of belief/cause.h written out a
// second time.

#include "support.h"

namespace hingeline::virtual_bench {
namespace {

constexpr std::size_t kAsked = 20000;

/// How often each word is the answer.
std::vector<std::size_t> words(HiddenKey key, Check check) {
  std::vector<std::size_t> counts(belief::answers(check).size());
  for (std::size_t k = 0; k < kAsked; ++k) {
    // Each time anew: a cleaning cleans.
    if (check == Check::clean) {
      CausePresets presets = only(key.causes().has(Cause::dirt) ? Cause::dirt : Cause::sound);
      ++counts[draw(cone_key(), presets, k).answer(check).choice];
    } else {
      ++counts[key.answer(check).choice];
    }
  }
  return counts;
}

void expect_words(const HiddenKey& key, Check check, const std::vector<double>& chances) {
  const std::vector<std::size_t> counts = words(key, check);
  ASSERT_EQ(counts.size(), chances.size());
  for (std::size_t w = 0; w < counts.size(); ++w) {
    expect_chance(counts[w], kAsked, chances[w],
                  std::string(belief::word(check)) + ": " + belief::answers(check)[w]);
  }
}

void expect_yes(const HiddenKey& key, Check check, double chance) {
  expect_words(key, check, {1 - chance, chance});
}

Check check_at(Check upper, Side side) {
  return static_cast<Check>(static_cast<std::size_t>(upper) + (side == Side::upper ? 0 : 1));
}

double felt_below_0(Length left) { return normal_below(-left.raw() / 0.002); }
constexpr double dirt(double drag) { return drag * drag / (1 + drag * drag); }

/// Fits that sit where sticking is in doubt; with a run-out also between one place and another.
HiddenKey tight_key(double fit, double runout, double drag) {
  CausePresets p = only(runout > 0 ? Cause::bent_key : Cause::sound);
  p.runout.median = runout;
  p.drag_clean = drag;
  p.fit_width_share = 0;
  p.residual_lean_sd = 0.0005;
  return HiddenKey::draw(cone_key(), kHeaded, Length::of(fit - 0.01), Length::of(fit + 0.01), p, {}, 3, 11);
}

TEST(Words, SticksByWhatIsLeftAndByDirt) {
  std::size_t in_doubt = 0;
  for (const double fit : {0.02, 0.001, -0.0015}) {
    for (const double drag : {0.05, 0.7, 2.0}) {
      const HiddenKey key = tight_key(fit, 0.005, drag);
      const double easiest = felt_below_0(key.left_easiest());
      const double worst = felt_below_0(key.left_worst());
      const double dirty = dirt(drag);
      if (worst - easiest > 0.1) ++in_doubt;
      expect_words(
          key, Check::sticks,
          {(1 - dirty) * (1 - worst), 1 - (1 - dirty) * (1 - easiest), (1 - dirty) * (worst - easiest)});
    }
  }
  EXPECT_GE(in_doubt, 2U);
}

TEST(Words, BackedOffAKeyFreesByWhatItStuck) {
  for (const double fit : {0.02, 0.0, -0.03, -0.055, -0.2}) {
    const HiddenKey key = tight_key(fit, 0, 0.7);
    const double dirty = dirt(0.7);
    const auto sticks = [&](double play) { return 1 - (1 - dirty) * (1 - normal_below(-play / 0.002)); };
    expect_yes(key, Check::back_off_upper, sticks(fit) - sticks(fit + 0.056));
  }
}

TEST(Words, ScrewsTurnOrWobble) {
  const HiddenKey off = draw(cone_key(), only(Cause::screw_off), 4, kHeadless);
  const Side side = *off.side_of(Cause::screw_off);
  expect_yes(off, check_at(Check::slack_upper, side), 0.92);
  expect_yes(off, check_at(Check::slack_upper, mechanism::other(side)), 0.03);
  CausePresets presets = only(Cause::loose_thread);
  presets.thread_slop.median = 0.009;
  const HiddenKey wobbly = draw(cone_key(), presets, 4);
  const Side loose = *wobbly.side_of(Cause::loose_thread);
  expect_yes(wobbly, check_at(Check::wobble_upper, loose), normal_below((0.018 - 0.015) / 0.005));
  expect_yes(wobbly, check_at(Check::wobble_upper, mechanism::other(loose)), normal_below(-3));
}

TEST(Words, InkIsRubbedOffWhereItTouches) {
  const HiddenKey sound = draw(cone_key(), only(Cause::sound), 1);
  expect_words(sound, Check::ink_upper, {1, 0, 0});
  for (std::uint64_t k = 0; k < 4; ++k) {
    const HiddenKey worn = draw(cone_key(), only(Cause::worn_hole), k);
    const double flank = std::min(1.0, (1 - worn.sizes().bell) / 0.6);
    expect_words(worn, check_at(Check::ink_upper, *worn.side_of(Cause::worn_hole)), {flank, 1 - flank, 0});
    const HiddenKey tapers = draw(cone_key(), only(Cause::taper_mismatch), k);
    const bool tip = tapers.sizes().mismatch.raw() > 0;
    expect_words(tapers, check_at(Check::ink_upper, *tapers.side_of(Cause::taper_mismatch)),
                 {0, tip ? 0.0 : 1.0, tip ? 1.0 : 0.0});
  }
  const HiddenKey straight = draw(cone_key(), only(Cause::straight_hole), 1);
  expect_words(straight, check_at(Check::ink_upper, *straight.side_of(Cause::straight_hole)), {0, 1, 0});
  const HiddenKey floor = draw(cone_key(), only(Cause::tip_on_floor), 1);
  expect_words(floor, check_at(Check::ink_upper, *floor.side_of(Cause::tip_on_floor)), {0, 0, 1});
  expect_words(floor, check_at(Check::ink_upper, mechanism::other(*floor.side_of(Cause::tip_on_floor))),
               {1, 0, 0});
  expect_words(draw(ball_key(), only(Cause::sound), 1), Check::ink_upper, {0, 1, 0});
}

TEST(Words, AShoulderOnTheFaceCarriesAtTheRim) {
  KeyGeometry key = cone_key();
  contact::PointForm& p = key.upper.point;
  p.shape = contact::PointShape::parallel;
  p.pin_radius = millimetres(0.5);
  p.pin_length = millimetres(1);
  p.shoulder_radius = millimetres(1.4);
  key.upper.hole.shape = contact::HoleShape::straight;
  key.upper.hole.mouth_radius = millimetres(0.52);
  const HiddenKey shouldered = draw(key, only(Cause::dirt), 1);
  EXPECT_NEAR(shouldered.home_insertion(Side::upper).raw(), 1, 1e-12);
  expect_words(shouldered, Check::ink_upper, {0, 1, 0});
  expect_words(shouldered, Check::look_upper, {0, 0, 1});
  key.upper.hole.depth = millimetres(0.9);
  expect_words(draw(key, only(Cause::dirt), 1), Check::ink_upper, {0, 0, 1});
}

TEST(Words, ALookFindsWear) {
  for (std::uint64_t k = 0; k < 4; ++k) {
    const HiddenKey worn = draw(cone_key(), only(Cause::worn_hole), k);
    const Side side = *worn.side_of(Cause::worn_hole);
    const double seen = 1 - std::exp(-(0.03 / 0.02 + worn.sizes().bell / 0.2));
    expect_words(worn, check_at(Check::look_upper, side), {1 - seen, seen, 0});
    expect_words(worn, check_at(Check::look_upper, mechanism::other(side)), {1, 0, 0});
  }
  const HiddenKey straight = draw(cone_key(), only(Cause::straight_hole), 1);
  expect_words(straight, check_at(Check::look_upper, *straight.side_of(Cause::straight_hole)), {0, 0, 1});
}

TEST(Words, PostsNeighboursWarmthAndCleaning) {
  CausePresets presets = only(Cause::post_moved);
  presets.post_sd = 0;
  presets.post_least = 0.025;
  const HiddenKey post = draw(cone_key(), presets, 2);
  const Side side = *post.side_of(Cause::post_moved);
  expect_yes(post, check_at(Check::post_upper, side), normal_below((0.025 - 0.03) / 0.008));
  expect_yes(post, check_at(Check::post_upper, mechanism::other(side)), normal_below(-0.03 / 0.008));
  presets = only(Cause::bent_body);
  presets.bow.median = 0.15;
  for (std::uint64_t k = 0; k < 3; ++k) {
    expect_yes(draw(rod_key(), presets, k), Check::neighbours, normal_below((0.15 - 0.12) / 0.04));
  }
  expect_yes(draw(rod_key(), only(Cause::sound), 2), Check::neighbours, normal_below(-3));
  presets = only(Cause::climate);
  presets.climate_sd = 0;
  presets.climate_least = 0.017;
  for (std::uint64_t k = 0; k < 3; ++k) {
    expect_yes(draw(cone_key(), presets, k), Check::warmth, normal_below((0.017 - 0.015) / 0.004));
  }
  expect_yes(draw(cone_key(), only(Cause::dirt), 2), Check::clean, dirt(2) + 0.02 * (1 - dirt(2)));
  expect_yes(draw(cone_key(), only(Cause::sound), 2), Check::clean, dirt(0.05) + 0.02 * (1 - dirt(0.05)));
}

TEST(Words, AWrongAnswerIsAnyWord) {
  CausePresets presets = only(Cause::straight_hole);
  presets.wrong_answer = 0.3;
  const HiddenKey key = draw(cone_key(), presets, 1);
  expect_words(key, check_at(Check::look_upper, *key.side_of(Cause::straight_hole)), {0.1, 0.1, 0.8});
}

TEST(Complaints, ByTheirWeights) {
  const auto hold = [](const KeyGeometry& geometry, const CausePresets& presets, const char* what) {
    // Those that close in where they are played, the others.
    std::array<std::array<std::size_t, 4>, 2> counts{};
    std::array<std::array<double, 4>, 2> expected{};
    std::array<std::size_t, 2> keys{};
    for (std::uint64_t k = 0; k < kAsked; ++k) {
      const HiddenKey key = draw(geometry, presets, k);
      const Length played = key.left_worst() + key.sizes().climate;
      const std::size_t group = key.sizes().climate.raw() < 0 ? 0 : 1;
      const double dirty = dirt(key.sizes().drag);
      const std::array<double, 4> weights{0.03 + normal_below((key.pad_rock().raw() - 0.05) / 0.015),
                                          0.03 + 1 - (1 - dirty) * (1 - felt_below_0(played)), 0.03 + dirty,
                                          0.03 + normal_below((key.end_play().raw() - 0.06) / 0.02) / 2};
      double total = 0;
      for (const double w : weights) total += w;
      ++keys[group];
      ++counts[group][static_cast<std::size_t>(key.complaint())];
      for (std::size_t c = 0; c < 4; ++c) expected[group][c] += weights[c] / total;
    }
    for (std::size_t group = 0; group < 2; ++group) {
      if (keys[group] == 0) continue;
      for (std::size_t c = 0; c < 4; ++c) {
        expect_chance(counts[group][c], keys[group], expected[group][c] / static_cast<double>(keys[group]),
                      std::string(what) + ": " + belief::word(static_cast<belief::Complaint>(c)));
      }
    }
  };
  for (const Cause cause : {Cause::sound, Cause::short_fit, Cause::over_cut, Cause::dirt, Cause::climate,
                            Cause::loose_thread, Cause::post_moved}) {
    hold(cone_key(), only(cause), belief::word(cause));
  }
  hold(rod_key(), only(Cause::worn_bore), "worn bore");
}

/// Errors of many readings of one key.
std::vector<double> readings(HiddenKey key, Check check, Noise noise) {
  std::vector<double> out;
  for (std::size_t k = 0; k < 4000; ++k) out.push_back(key.answer(check, noise).value.raw());
  return out;
}

TEST(Readings, AreNormalAboutTheTruth) {
  const auto hold = [](const HiddenKey& key, Check check, double truth, double standard) {
    for (const double scale : {1.0, 2.0}) {
      expect_distributed(
          readings(key, check, {scale, false}),
          [&](double x) { return normal_below((x - truth) / (scale * standard)); }, belief::word(check));
    }
  };
  const HiddenKey sound = draw(cone_key(), only(Cause::sound), 6);
  hold(sound, Check::end_play, sound.sizes().fit.raw(), 0.004);
  hold(sound, Check::rock_upper, 0, 0.006);
  hold(sound, Check::rock_pad, sound.pad_rock().raw(), 0.006);
  hold(sound, Check::stand_off_lower, 0, 0.015);
  hold(sound, Check::bow, 0, 0.030);
  hold(sound, Check::roll, 0, 0.015);
  const HiddenKey tight = draw(cone_key(), only(Cause::over_cut), 6);
  hold(tight, Check::end_play, tight.end_play().raw(), 0.010);
  const HiddenKey off = draw(cone_key(), only(Cause::screw_off), 6);
  const Side side = *off.side_of(Cause::screw_off);
  hold(off, check_at(Check::stand_off_upper, side), 0.12, 0.015);
  hold(off, check_at(Check::stand_off_upper, mechanism::other(side)), 0, 0.015);
  const HiddenKey worn = draw(cone_key(), only(Cause::worn_hole), 6);
  hold(worn, check_at(Check::rock_upper, *worn.side_of(Cause::worn_hole)), 0.06, 0.006);
  const HiddenKey floor = draw(cone_key(), only(Cause::tip_on_floor), 6);
  hold(floor, check_at(Check::rock_upper, *floor.side_of(Cause::tip_on_floor)),
       2 * floor.sizes().floor.raw() * std::tan(20 * std::numbers::pi / 180), 0.006);
  const HiddenKey bent = draw(cone_key(), only(Cause::bent_key), 6);
  hold(bent, Check::roll, 0.10, 0.015);
  const HiddenKey body = draw(cone_key(), only(Cause::bent_body), 6);
  hold(body, Check::bow, body.sizes().bow.raw(), 0.030);
  hold(draw(rod_key(), only(Cause::worn_bore), 6), Check::bore, 0.096, 0.004);
}

TEST(Readings, AtTheBenchASizeIsNeverBelowNothing) {
  const HiddenKey sound = draw(cone_key(), only(Cause::sound), 6);
  for (const Check check : {Check::rock_upper, Check::stand_off_upper, Check::roll}) {
    const std::vector<double> clamped = readings(sound, check, {});
    const std::vector<double> plain = readings(sound, check, {1, false});
    for (std::size_t k = 0; k < plain.size(); ++k) EXPECT_EQ(clamped[k], std::max(0.0, plain[k]));
    EXPECT_GT(std::count(clamped.begin(), clamped.end(), 0.0), 100);
  }
  // These can be below 0.
  for (const Check check : {Check::bow, Check::end_play}) {
    const HiddenKey tight = draw(cone_key(), only(Cause::over_cut), 6);
    EXPECT_EQ(readings(tight, check, {}), readings(tight, check, {1, false}));
  }
}

TEST(Readings, ASlipIsAnywhereInReach) {
  CausePresets presets = only(Cause::sound);
  presets.misread = 1;
  const HiddenKey key = draw(cone_key(), presets, 6);
  expect_distributed(
      readings(key, Check::end_play, {2, true}),
      [&](double x) { return std::clamp(x - key.end_play().raw() + 0.5, 0.0, 1.0); }, "slips");
}

TEST(Readings, WhatIsNotThereReadsNothing) {
  HiddenKey pivot = draw(cone_key(), only(Cause::screw_off), 6, {true, false});
  EXPECT_TRUE(pivot.applies(Check::stand_off_upper));
  EXPECT_FALSE(pivot.applies(Check::stand_off_lower));
  EXPECT_FALSE(pivot.applies(Check::slack_upper));
  EXPECT_TRUE(pivot.applies(Check::slack_lower));
  EXPECT_FALSE(pivot.applies(Check::bore));
  EXPECT_TRUE(pivot.applies(Check::ink_lower));
  HiddenKey rod = draw(rod_key(), only(Cause::dirt), 6);
  EXPECT_TRUE(rod.applies(Check::bore));
  for (const Check check : {Check::ink_upper, Check::look_lower, Check::wobble_upper, Check::slack_lower,
                            Check::back_off_upper, Check::stand_off_upper}) {
    EXPECT_FALSE(rod.applies(check));
    EXPECT_EQ(rod.answer(check).choice, 0U);
  }
  KeyGeometry bare = cone_key();
  bare.pad.reset();
  EXPECT_FALSE(draw(bare, only(Cause::dirt), 6).applies(Check::rock_pad));
  EXPECT_TRUE(draw(cone_key(), only(Cause::dirt), 6).applies(Check::rock_pad));
}

}  // namespace
}  // namespace hingeline::virtual_bench
