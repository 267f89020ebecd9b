#include <algorithm>
#include <cmath>
#include <limits>

#include "fuse.h"

namespace hingeline::belief {
namespace {

/// Lowest value a figure can have: play may be a bind, all else is a distance.
double lowest(Figure f) {
  return f == Figure::end_play || f == Figure::face_gap ? -std::numeric_limits<double>::infinity() : 0.0;
}

/// What moving some inputs does to every figure: the larger of both directions, with its sign.
Figures larger_step(const KeyKnowledge& key, const Truth& truth, const std::vector<double>& mean,
                    const std::vector<double>& step, const Figures& here) {
  Figures out;
  out.fill(0);
  for (const double sign : {1.0, -1.0}) {
    KeyGeometry g = truth.geometry;
    for (std::size_t i = 0; i < mean.size(); ++i) {
      if (step[i] != 0) key.inputs[i].set(g, mean[i] + sign * step[i]);
    }
    const auto hinge = truth.near(g);
    if (!hinge) continue;
    const Figures f = figures_of(g, *hinge);
    for (std::size_t k = 0; k < kFigureCount; ++k) {
      if (std::abs(f[k] - here[k]) > std::abs(out[k])) out[k] = sign * (f[k] - here[k]);
    }
  }
  return out;
}

}  // namespace

Expected<Estimate> estimate(const KeyKnowledge& key) {
  const auto stopped = with_stops(key);
  if (!stopped) return tl::unexpected(stopped.error());
  auto fused = fuse(*stopped);
  if (!fused) return tl::unexpected(fused.error());
  const Gaussian& state = fused->state;
  const std::size_t n = key.inputs.size();
  const std::vector<double>& mean = state.mean;
  const auto truth = truth_of(with_values(*stopped, mean));
  if (!truth) return tl::unexpected(truth.error());
  Estimate e;
  e.geometry = truth->geometry;
  e.agreements = std::move(fused->agreements);
  const Figures here = figures_of(truth->geometry, truth->hinge);
  e.value = mean;
  for (std::size_t i = 0; i < n; ++i) {
    e.standard.push_back(std::sqrt(std::max(0.0, state.cov(i, i))));
    if (const auto side = key.inputs[i].protrusion_of) e.value[i] = truth->hinge.end(*side).protrusion.raw();
  }

  Figures variance;
  variance.fill(0);
  Figures from_unknown;
  from_unknown.fill(0);
  // Unknown inputs last: their axes then carry only what no reading settles.
  std::vector<std::size_t> order(n);
  for (std::size_t i = 0; i < n; ++i) order[i] = i;
  std::stable_partition(order.begin(), order.end(),
                        [&](std::size_t i) { return stopped->inputs[i].origin != Origin::unknown; });
  for (const Axis& axis : axes_of(state, order)) {
    const Figures moved = larger_step(*stopped, *truth, mean, axis.step, here);
    // An unknown that the readings have brought down to half its range is known by them.
    const Input& input = stopped->inputs[axis.input];
    const bool open = input.origin == Origin::unknown && axis.step[axis.input] > 0.5 * input.standard;
    for (std::size_t k = 0; k < kFigureCount; ++k) {
      variance[k] += moved[k] * moved[k];
      if (open) from_unknown[k] += moved[k] * moved[k];
    }
  }
  for (std::size_t k = 0; k < kFigureCount; ++k) {
    FigureValue& v = e.figures[k];
    v.value = here[k];
    v.plus_minus = 2 * std::sqrt(variance[k]);
    v.low = std::max(lowest(static_cast<Figure>(k)), v.value - v.plus_minus);
    v.high = v.value + v.plus_minus;
    v.is_range = from_unknown[k] > 0.5 * variance[k] && variance[k] > 0;
  }
  return e;
}

std::vector<Figures> effects(const KeyKnowledge& key, const Estimate& estimate) {
  std::vector<Figures> out(key.inputs.size(), Figures{});
  const auto truth = truth_of(with_values(key, estimate.value));
  if (!truth) return out;
  const Figures here = figures_of(truth->geometry, truth->hinge);
  std::vector<double> step(key.inputs.size(), 0.0);
  for (std::size_t i = 0; i < step.size(); ++i) {
    if (key.inputs[i].standard == 0) continue;
    step[i] = key.inputs[i].standard;
    out[i] = larger_step(key, *truth, estimate.value, step, here);
    step[i] = 0;
  }
  return out;
}

}  // namespace hingeline::belief
