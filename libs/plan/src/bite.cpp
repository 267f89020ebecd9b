#include "hingeline/plan/bite.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "hingeline/numeric/statistics.h"

namespace hingeline::plan {
namespace {

/// From bite to bite of one job, in ln; from memory of common practice.
constexpr double kWithin = 0.15;
/// Of the room to the window's edge: a smaller doubt about the end play is none.
constexpr double kNoDoubt = 1e-3;

using numeric::normal_below;

}  // namespace

Length TakeOff::median() const { return millimetres(std::exp(log_median)); }

TakeOff take_off_of(Length per_turn, Length plus_minus) {
  const double share = plus_minus / per_turn / 2;
  return {std::log(per_turn.raw()), std::sqrt(std::log(1 + share * share)), kWithin};
}

double risk_of(double turns, Length end_play, Length standard, Length low, const TakeOff& take_off) {
  if (turns <= 0) return end_play < low ? 1 : 0;
  const double spread = std::max(std::hypot(take_off.between, take_off.within), 1e-12);
  const double median = std::exp(take_off.log_median) * turns;
  const double room = (end_play - low).raw();
  const double doubt = standard.raw();
  if (doubt <= kNoDoubt * std::abs(room)) {
    return room <= 0 ? 1.0 : normal_below(std::log(median / room) / spread);
  }
  // Over the take-off's bell: the end play's turns over within doubt / (spread x room) of it. The trapezoidal
  // rule is as good as exact once its steps are finer than both.
  constexpr double kReach = 8;
  const double turn_over = doubt / (spread * std::max(room, doubt));
  const int half_steps = static_cast<int>(std::ceil(kReach / std::min(0.5, 0.5 * turn_over)));
  const double step = kReach / half_steps;
  double sum = 0;
  for (int k = -half_steps; k <= half_steps; ++k) {
    const double w = k * step;
    sum += std::exp(-w * w / 2) * normal_below((median * std::exp(spread * w) - room) / doubt);
  }
  return std::min(1.0, sum * step / std::sqrt(2 * std::numbers::pi));
}

Bite next_bite(Length end_play, Length standard, Length low, Length aim, const TakeOff& take_off,
               double risk) {
  Bite b;
  const double most = (end_play - aim) / take_off.median();
  if (!(most > 0)) return b;
  const auto safe = [&](double turns) { return risk_of(turns, end_play, standard, low, take_off) <= risk; };
  constexpr double kHundredth = 0.01;
  double within = 0;
  double beyond = most;
  if (safe(most)) {
    within = most;
  } else {
    while (beyond - within > kHundredth / 4) {
      const double middle = (within + beyond) / 2;
      (safe(middle) ? within : beyond) = middle;
    }
  }
  b.turns = std::floor(within / kHundredth) * kHundredth;
  if (b.turns <= 0) return b;
  b.expected = take_off.median() * b.turns;
  b.risk = risk_of(b.turns, end_play, standard, low, take_off);
  return b;
}

}  // namespace hingeline::plan
