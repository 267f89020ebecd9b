#pragma once
/// \file
/// Keys for the bench and tests of what is drawn.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <vector>

#include "belief/subjects.h"
#include "hingeline/virtual_bench/hidden_key.h"

namespace hingeline::virtual_bench {

using belief::Cause;
using belief::CausePresets;
using belief::Causes;
using belief::Check;
using belief::Cure;
using belief::KeyGeometry;

inline constexpr Length kLow = millimetres(0.01);
inline constexpr Length kHigh = millimetres(0.03);
inline constexpr EndHeads kHeaded{};
inline constexpr EndHeads kHeadless{false, false};
inline constexpr std::array kBothSides{Side::upper, Side::lower};

inline KeyGeometry cone_key() { return belief::cone_subject().geometry; }
inline KeyGeometry rod_key() { return belief::rod_subject().geometry; }
/// A ball in a cone above, a cone in a cone below.
inline KeyGeometry ball_key() {
  KeyGeometry key = cone_key();
  contact::PointForm& p = key.upper.point;
  p.shape = contact::PointShape::ball;
  p.ball_radius = millimetres(0.75);
  p.neck_radius = millimetres(0.4);
  p.length = millimetres(3);
  return key;
}
/// A round-tipped cone and a worn one.
inline KeyGeometry tipped_key() {
  KeyGeometry key = cone_key();
  key.upper.point.tip = contact::TipShape::round;
  key.lower.point.tip = contact::TipShape::worn;
  key.lower.point.wear_length = millimetres(0.5);
  key.lower.point.wear_depth = millimetres(0.08);
  return key;
}

/// Every key has this cause and no other; lognormals give their medians, and nobody errs.
inline CausePresets only(Cause cause) {
  CausePresets p;
  p.sound_share = cause == Cause::sound ? 1 : 0;
  p.two_causes = 0;
  p.share.fill(0);
  p.share[static_cast<std::size_t>(cause)] = 1;
  for (belief::Spread* s :
       {&p.screw_off, &p.thread_slop, &p.bow, &p.runout, &p.bore_wear, &p.oval, &p.drag}) {
    s->sigma = 0;
  }
  p.misread = p.wrong_answer = p.stubborn = 0;
  return p;
}

inline HiddenKey draw(const KeyGeometry& sound, const CausePresets& presets, std::uint64_t number,
                      EndHeads heads = kHeaded) {
  return HiddenKey::draw(sound, heads, kLow, kHigh, presets, {}, 20, number);
}

inline double normal_below(double z) { return std::erfc(-z / std::numbers::sqrt2) / 2; }

/// Of Kolmogorov and Smirnov: holds draws to a distribution at 1 % (asymptotic: 1.628 / sqrt(n), from
/// memory).
inline void expect_distributed(std::vector<double> draws, const std::function<double(double)>& below,
                               const char* what) {
  ASSERT_GT(draws.size(), 200U) << what;
  std::sort(draws.begin(), draws.end());
  const auto n = static_cast<double>(draws.size());
  double distance = 0;
  for (std::size_t k = 0; k < draws.size(); ++k) {
    const double share = below(draws[k]);
    distance =
        std::max({distance, share - static_cast<double>(k) / n, static_cast<double>(k + 1) / n - share});
  }
  EXPECT_LT(distance, 1.628 / std::sqrt(n)) << what;
}

/// Holds a count to a chance, within five standard deviations.
inline void expect_chance(std::size_t count, std::size_t of, double chance, const std::string& what) {
  const auto n = static_cast<double>(of);
  EXPECT_NEAR(static_cast<double>(count) / n, chance, 5 * std::sqrt(chance * (1 - chance) / n) + 1e-12)
      << what;
}

}  // namespace hingeline::virtual_bench
