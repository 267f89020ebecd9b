// Simulation-based calibration (Cook, Gelman, Rubin 2006; Talts et al. 2018; both from memory): keys drawn
// from the presets by the virtual bench, asked the same looks, must come to lie anywhere in what the inquiry
// then believes, each place as likely. The bench reckons contact and answers by other code than the inquiry.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdlib>
#include <string>
#include <vector>

#include "belief/subjects.h"
#include "hingeline/belief/inquiry.h"
#include "hingeline/numeric/propagate.h"
#include "hingeline/virtual_bench/hidden_key.h"

namespace hingeline::virtual_bench {
namespace {

using belief::Check;
using belief::Inquiry;
using Size = Inquiry::Size;

constexpr std::array<Size, 9> kSizes{Size::fit,    Size::screw_off, Size::slop, Size::post,   Size::bow,
                                     Size::runout, Size::oval,      Size::drag, Size::climate};
constexpr std::array<const char*, 9> kNames{"fit",     "screw off", "slop", "post",   "bow",
                                            "run-out", "oval",      "drag", "climate"};

double truth_of(const HiddenKey& key, Size size) {
  const Sizes& s = key.sizes();
  switch (size) {
    case Size::fit:
      return s.fit.raw();
    case Size::screw_off:
      return s.screw_off.raw();
    case Size::slop:
      return s.slop.raw();
    case Size::post:
      return s.post.raw();
    case Size::bow:
      return s.bow.raw();
    case Size::runout:
      return s.runout.raw();
    case Size::oval:
      return s.oval.raw();
    case Size::drag:
      return key.causes().has(belief::Cause::dirt) ? s.drag : 0;
    case Size::climate:
      break;
  }
  return s.climate.raw();
}

struct Places {
  std::array<double, kSizes.size()> place{};  ///< of the truth in what is believed, 0 to 1
  std::array<double, belief::kCauseCount> share{};
  belief::Causes truth;
};

Places places_of(std::uint64_t number, std::size_t samples) {
  const bool rod = number % 5 == 4;
  belief::Subject subject = rod               ? belief::rod_subject()
                            : number % 5 == 3 ? belief::headless_subject()
                                              : belief::cone_subject();
  const belief::CausePresets presets;
  HiddenKey key = HiddenKey::draw(subject.geometry, {subject.upper_headed, subject.lower_headed},
                                  subject.window_low, subject.window_high, presets, {}, 77, number);
  Places out;
  out.truth = key.causes();
  std::array<double, kSizes.size()> truth{};
  for (std::size_t k = 0; k < kSizes.size(); ++k) truth[k] = truth_of(key, kSizes[k]);
  auto inquiry = Inquiry::begin(subject, presets, key.complaint(), number, samples);
  if (!inquiry) return out;
  // Some keys are asked much, some little.
  const std::array<Check, 12> looks{
      Check::sticks,          Check::end_play,     Check::rock_pad,   Check::rock_upper,
      Check::stand_off_lower, Check::wobble_upper, Check::post_lower, Check::bow,
      Check::ink_upper,       Check::roll,         Check::look_lower, Check::warmth};
  const std::size_t asked = 2 + number % 11;
  for (std::size_t k = 0; k < asked && k < looks.size(); ++k) {
    if (!inquiry->applies(looks[k])) continue;
    const Finding f = key.answer(looks[k], {1, false});
    // What noise takes below nothing, no bench writes down.
    if (belief::is_reading(f.check) && f.check != Check::end_play && f.check != Check::bow &&
        f.value.raw() < 0)
      continue;
    static_cast<void>(inquiry->take({f.check, f.value, {}, f.choice}));
  }
  numeric::Stream ties(99, number);
  for (std::size_t k = 0; k < kSizes.size(); ++k) {
    double below = 0;
    double same = 0;
    for (const auto& [value, weight] : inquiry->sizes(kSizes[k])) {
      if (value < truth[k]) below += weight;
      if (value == truth[k]) same += weight;
    }
    // Most keys have nothing of most sizes: their place is anywhere among those that have nothing either.
    out.place[k] = below + ties.uniform() * same;
  }
  for (std::size_t c = 0; c < belief::kCauseCount; ++c)
    out.share[c] = inquiry->share(static_cast<belief::Cause>(c));
  return out;
}

/// How many keys; more when asked for by hand.
std::size_t how_many() {
  const char* asked = std::getenv("HINGELINE_CALIBRATION_KEYS");
  return asked == nullptr ? 1000 : static_cast<std::size_t>(std::strtoul(asked, nullptr, 10));
}

TEST(Calibration, TheTruthIsAnywhereInWhatIsBelievedAndIntervalsHold) {
  const std::size_t keys = how_many();
  std::vector<Places> all(keys);
  numeric::for_blocks(
      keys, 0,
      [&](std::size_t first, std::size_t last) {
        for (std::size_t k = first; k < last; ++k) all[k] = places_of(k, 4000);
      },
      8);
  constexpr std::size_t kBins = 20;
  // Chi-square with 19 degrees of freedom: 1 in 100 lie beyond 36.19 (tables of the chi-square distribution).
  // Nine sizes are looked at together, so each may go to 1 in 900: 42.0 (Wilson-Hilferty).
  for (std::size_t s = 0; s < kSizes.size(); ++s) {
    std::array<double, kBins> bins{};
    double inside = 0;
    for (const Places& p : all) {
      ++bins[std::min(kBins - 1, static_cast<std::size_t>(p.place[s] * kBins))];
      inside += p.place[s] >= 0.025 && p.place[s] <= 0.975 ? 1 : 0;
    }
    const double expected = static_cast<double>(keys) / kBins;
    double chi_square = 0;
    for (const double b : bins) chi_square += (b - expected) * (b - expected) / expected;
    const double coverage = inside / static_cast<double>(keys);
    std::printf("  %-10s chi-square %5.1f of 19, 95 %% intervals hold %.1f %%\n", kNames[s], chi_square,
                100 * coverage);
    EXPECT_LT(chi_square, 42.0) << kNames[s];
    // 94 to 96 % and three standard errors of so many keys.
    const double spread = 3 * std::sqrt(0.95 * 0.05 / static_cast<double>(keys));
    EXPECT_NEAR(coverage, 0.95, 0.01 + spread) << kNames[s];
  }
}

TEST(Calibration, OfCausesSaidToBeSoSureSoManyAreThere) {
  const std::size_t keys = how_many();
  std::vector<Places> all(keys);
  numeric::for_blocks(
      keys, 0,
      [&](std::size_t first, std::size_t last) {
        for (std::size_t k = first; k < last; ++k) all[k] = places_of(100000 + k, 4000);
      },
      8);
  constexpr std::size_t kBins = 5;
  std::array<double, kBins> said{};
  std::array<double, kBins> there{};
  std::array<double, kBins> variance{};
  for (const Places& p : all) {
    for (std::size_t c = 0; c < belief::kCauseCount; ++c) {
      const auto bin = std::min(kBins - 1, static_cast<std::size_t>(p.share[c] * kBins));
      said[bin] += p.share[c];
      variance[bin] += p.share[c] * (1 - p.share[c]);
      there[bin] += p.truth.has(static_cast<belief::Cause>(c)) ? 1 : 0;
    }
  }
  for (std::size_t b = 0; b < kBins; ++b) {
    std::printf("  said %6.1f, there %4.0f\n", said[b], there[b]);
    // Four standard deviations, and what a finite number of samples blurs.
    EXPECT_NEAR(there[b], said[b], 4 * std::sqrt(variance[b]) + 0.02 * said[b]) << b;
  }
}

}  // namespace
}  // namespace hingeline::virtual_bench
