// What cures, cuts and reams do to a key; and that nothing is ever not a number.

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support.h"

namespace hingeline::virtual_bench {
namespace {

bool is_fit(Cause c) { return c == Cause::short_fit || c == Cause::over_cut; }

TEST(Cures, TakeTheirCauseAndLeaveTheFit) {
  for (std::size_t c = 1; c < belief::kCauseCount; ++c) {
    const auto cause = static_cast<Cause>(c);
    if (is_fit(cause)) continue;
    const KeyGeometry sound = cause == Cause::worn_bore ? rod_key() : cone_key();
    for (std::uint64_t k = 0; k < 20; ++k) {
      HiddenKey key = draw(sound, only(cause), k);
      const Length fit = key.sizes().fit;
      EXPECT_EQ(key.standing(), Causes{cause});
      // Other work leaves it as it is.
      for (std::size_t w = 1; w < belief::kCureCount; ++w) {
        const auto work = static_cast<Cure>(w);
        if (work != belief::cure_of(cause)) key.treat(work);
      }
      EXPECT_EQ(key.standing(), Causes{cause});
      key.treat(belief::cure_of(cause));
      EXPECT_TRUE(key.standing().empty()) << belief::word(cause);
      EXPECT_EQ(key.causes(), Causes{cause});
      EXPECT_EQ(key.sizes().fit, fit);
      EXPECT_NEAR(key.end_play().raw(), fit.raw(), 1e-12) << belief::word(cause);
      // As the key that never had it.
      HiddenKey never = draw(sound, only(Cause::sound), k);
      EXPECT_EQ(key.sizes().drag, never.sizes().drag);
      EXPECT_NEAR(key.pad_rock().raw(), never.pad_rock().raw(), 1e-9) << belief::word(cause);
      for (const Side side : kBothSides) {
        EXPECT_EQ(key.joint(side).hole, never.joint(side).hole);
        EXPECT_NEAR(key.home_rock(side).raw(), never.home_rock(side).raw(), 1e-12);
      }
    }
  }
}

TEST(Cures, CleaningIsAlsoAnAnswer) {
  HiddenKey key = draw(cone_key(), only(Cause::dirt), 3);
  key.answer(Check::clean);
  EXPECT_TRUE(key.standing().empty());
  EXPECT_EQ(key.sizes().drag, CausePresets{}.drag_clean);
}

TEST(Cures, SometimesDoNothing) {
  CausePresets presets = only(Cause::dirt);
  presets.stubborn = 0.3;
  std::size_t first = 0;
  std::size_t second = 0;
  constexpr std::size_t kKeys = 10000;
  for (std::uint64_t k = 0; k < kKeys; ++k) {
    HiddenKey key = draw(cone_key(), presets, k);
    key.treat(Cure::clean);
    if (key.standing().empty()) continue;
    ++first;
    key.treat(Cure::clean);
    if (!key.standing().empty()) ++second;
  }
  expect_chance(first, kKeys, 0.3, "the first time");
  expect_chance(second, first, 0.3, "each time");
}

TEST(Work, TakesWhatTheLognormalsSay) {
  CausePresets presets = only(Cause::short_fit);
  constexpr TakeOff kTakeOff{millimetres(0.02), 0.45, 0.15, 0.01};
  std::vector<double> between;
  for (std::uint64_t k = 0; k < 4000; ++k) {
    between.push_back(draw(cone_key(), presets, k).take_off().raw());
  }
  expect_distributed(
      between, [&](double x) { return normal_below(std::log(x / 0.02) / kTakeOff.between); }, "between");

  HiddenKey key = draw(cone_key(), presets, 1);
  std::vector<double> within;
  std::size_t nothing = 0;
  constexpr std::size_t kBites = 8000;
  for (std::size_t k = 0; k < kBites; ++k) {
    const Sizes before = key.sizes();
    const Metal metal = key.metal();
    const Length play = key.end_play();
    // Cut and ream in turn, so that the key stays where it is.
    const bool cut = k % 2 == 0;
    if (cut) {
      key.cut(Side::upper, 0.5);
    } else {
      key.ream(Side::lower, 0.5);
    }
    const double taken = (cut ? before.fit - key.sizes().fit : key.sizes().fit - before.fit).raw();
    EXPECT_NEAR((cut ? key.metal().cut - metal.cut : key.metal().reamed - metal.reamed).raw(), taken, 1e-10);
    EXPECT_NEAR((key.metal().total() - metal.total()).raw(), taken, 1e-10);
    EXPECT_NEAR(std::abs((key.end_play() - play).raw()), taken, 1e-10);
    if (taken < 1e-9) {
      ++nothing;
    } else {
      within.push_back(taken / 0.5 / key.take_off().raw());
    }
  }
  expect_chance(nothing, kBites, kTakeOff.nothing, "nothing");
  expect_distributed(
      within, [&](double x) { return normal_below(std::log(x) / kTakeOff.within); }, "within");
  const Sizes before = key.sizes();
  key.cut(Side::upper, 0);
  key.cut(Side::upper, -3);
  EXPECT_EQ(key.sizes().fit, before.fit);
}

TEST(Work, TheLeastIsToTheWindowsEdge) {
  for (std::uint64_t k = 0; k < 200; ++k) {
    HiddenKey loose = draw(cone_key(), only(Cause::short_fit), k);
    EXPECT_NEAR(loose.least_metal().raw(), loose.sizes().fit.raw() - 0.03, 1e-15);
    EXPECT_GE(loose.least_metal().raw(), 0.01);
    EXPECT_FALSE(loose.in_window(kLow, kHigh));
    HiddenKey tight = draw(cone_key(), only(Cause::over_cut), k);
    EXPECT_NEAR(tight.least_metal().raw(), 0.01 - tight.sizes().fit.raw(), 1e-15);
    EXPECT_EQ(draw(cone_key(), only(Cause::screw_off), k).least_metal().raw(), 0);
    const Length least = loose.least_metal();
    while (loose.standing().has(Cause::short_fit)) {
      EXPECT_GT(loose.sizes().fit, kHigh);
      loose.cut(Side::lower, 0.1);
    }
    EXPECT_LE(loose.sizes().fit, kHigh);
    EXPECT_GE(loose.metal().cut, least);
    EXPECT_EQ(loose.least_metal(), least);
    while (tight.standing().has(Cause::over_cut)) {
      EXPECT_LT(tight.sizes().fit, kLow);
      tight.ream(Side::upper, 0.1);
    }
    EXPECT_GE(tight.sizes().fit, kLow);
  }
}

TEST(Work, InTheWindowIsByEndPlay) {
  const HiddenKey key = draw(cone_key(), only(Cause::sound), 3);
  const Length play = key.end_play();
  EXPECT_TRUE(key.in_window(play, play));
  EXPECT_FALSE(key.in_window(play + millimetres(1e-9), kHigh));
  EXPECT_FALSE(key.in_window(kLow, play - millimetres(1e-9)));
}

RC_GTEST_PROP(Anything, IsANumber, (std::uint64_t number)) {
  const std::array<KeyGeometry, 4> keys{cone_key(), ball_key(), tipped_key(), rod_key()};
  const KeyGeometry& sound = keys[*rc::gen::inRange<std::size_t>(0, keys.size())];
  CausePresets presets;
  presets.two_causes = 1;
  // Presets at their edges: sizes without spread, hands without doubt, shares of nothing.
  if (*rc::gen::arbitrary<bool>())
    presets.stick_sharpness = presets.wobble_sharpness = presets.rock_sharpness = 0;
  if (*rc::gen::arbitrary<bool>())
    presets.post_sd = presets.climate_sd = presets.short_sd = presets.over_sd = 0;
  if (*rc::gen::arbitrary<bool>()) presets.share.fill(0);
  if (*rc::gen::arbitrary<bool>()) presets.short_mean = -40;
  const EndHeads heads{*rc::gen::arbitrary<bool>(), *rc::gen::arbitrary<bool>()};
  HiddenKey key = draw(sound, presets, number, heads);
  const auto steps = *rc::gen::inRange(1, 60);
  for (int k = 0; k < steps; ++k) {
    const Side side = *rc::gen::element(Side::upper, Side::lower);
    switch (*rc::gen::inRange(0, 4)) {
      case 0:
        key.treat(static_cast<Cure>(*rc::gen::inRange<int>(0, belief::kCureCount)));
        break;
      case 1:
        key.cut(side, *rc::gen::inRange(0, 40) * 0.5);
        break;
      case 2:
        key.ream(side, *rc::gen::inRange(0, 40) * 0.5);
        break;
      default: {
        const Finding f = key.answer(static_cast<Check>(*rc::gen::inRange<int>(0, belief::kCheckCount)));
        RC_ASSERT(is_finite(f.value));
        if (!belief::is_reading(f.check)) RC_ASSERT(f.choice < belief::answers(f.check).size());
      }
    }
    for (const Length l : {key.end_play(), key.left_easiest(), key.left_worst(), key.pad_rock(),
                           key.home_rock(side), key.home_insertion(side), key.take_off(), key.least_metal(),
                           key.metal().total(), key.sizes().fit}) {
      RC_ASSERT(is_finite(l));
    }
    for (const Length l :
         {key.pad_rock(), key.home_rock(side), key.home_insertion(side), key.least_metal()}) {
      RC_ASSERT(l.raw() >= 0);
    }
  }
}

}  // namespace
}  // namespace hingeline::virtual_bench
