#include "fuse.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace hingeline::belief {
namespace {

/// What a reading would be if this were the truth.
double predict(const Observation& o, const mechanism::Hinge& hinge) {
  using Of = Observation::Of;
  const auto& t = hinge.travel();
  switch (o.of) {
    case Of::end_play:
      return t.end_play().raw();
    case Of::gap_upper:
    case Of::gap_lower: {
      const Side side = o.of == Of::gap_upper ? Side::upper : Side::lower;
      // Where a gap was seen, it was the point that stopped the key.
      return o.value > o.standard * 2 ? hinge.point_stop(side).raw() : t.gap_at(side).raw();
    }
    case Of::rock:
      break;
  }
  return mechanism::rock(mechanism::Play(hinge), o.station).travel.raw();
}

/// Whether a reading depends on what the joints are like inside: end play and gaps follow from where the
/// points stop the key alone.
bool shows_joints(const Observation& o) { return o.of == Observation::Of::rock; }

/// Slopes of every reading over one standard uncertainty of each input to either side: at a corner (a face
/// about to stop the key) that is what the reading can tell. A step that leaves what can be built counts
/// one-sided. [reading][input].
std::vector<std::vector<double>> slopes_of(const KeyKnowledge& key, const std::vector<double>& at,
                                           const Truth& truth, const std::vector<double>& here) {
  std::vector<std::vector<double>> out(here.size(), std::vector<double>(at.size(), 0.0));
  const bool any_shows = std::any_of(key.observations.begin(), key.observations.end(), shows_joints);
  std::vector<double> low = here;
  std::vector<double> high = here;
  for (std::size_t i = 0; i < at.size() && !here.empty(); ++i) {
    const double h = key.inputs[i].standard;
    if (h == 0) continue;
    double reach = 0;
    low = high = here;
    for (const bool up : {false, true}) {
      KeyGeometry g = truth.geometry;
      key.inputs[i].set(g, at[i] + (up ? h : -h));
      const bool same_joints = truth.same_joints(g);
      if (!same_joints && !any_shows) break;
      const auto hinge = truth.near(g);
      if (!hinge) continue;
      for (std::size_t k = 0; k < here.size(); ++k) {
        const Observation& o = key.observations[k];
        if (same_joints || shows_joints(o)) (up ? high : low)[k] = predict(o, *hinge);
      }
      reach += h;
    }
    if (reach == 0) continue;
    for (std::size_t k = 0; k < here.size(); ++k) out[k][i] = (high[k] - low[k]) / reach;
  }
  return out;
}

/// One scalar reading taken into the joint distribution.
void take_in(Gaussian& state, const std::vector<double>& slope, double innovation, double variance) {
  const std::size_t n = state.size();
  std::vector<double> cross(n, 0.0);
  double spread = variance;
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) cross[i] += state.cov(i, j) * slope[j];
    spread += slope[i] * cross[i];
  }
  if (!(spread > 0)) return;
  for (std::size_t i = 0; i < n; ++i) state.mean[i] += cross[i] * (innovation / spread);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) state.cov(i, j) -= cross[i] * cross[j] / spread;
  }
}

double spread_of(const Gaussian& state, const std::vector<double>& slope) {
  double v = 0;
  for (std::size_t i = 0; i < state.size(); ++i) {
    for (std::size_t j = 0; j < state.size(); ++j) v += slope[i] * state.cov(i, j) * slope[j];
  }
  return std::max(0.0, v);
}

}  // namespace

KeyGeometry with_values(const KeyKnowledge& key, const std::vector<double>& values) {
  KeyGeometry g = key.geometry;
  for (std::size_t i = 0; i < values.size(); ++i) key.inputs[i].set(g, values[i]);
  return g;
}

std::vector<Axis> axes_of(const Gaussian& state, const std::vector<std::size_t>& order) {
  const std::size_t n = state.size();
  std::vector<Axis> axes;
  for (std::size_t at = 0; at < n; ++at) {
    const std::size_t j = order[at];
    double left = state.cov(j, j);
    for (const Axis& axis : axes) left -= axis.step[j] * axis.step[j];
    if (left <= 1e-12 * std::max(state.cov(j, j), 1e-300)) continue;
    const double root = std::sqrt(left);
    Axis axis{j, std::vector<double>(n, 0.0)};
    for (std::size_t later = at; later < n; ++later) {
      const std::size_t i = order[later];
      double shared = state.cov(i, j);
      for (const Axis& before : axes) shared -= before.step[i] * before.step[j];
      axis.step[i] = shared / root;
    }
    axes.push_back(std::move(axis));
  }
  return axes;
}

Expected<Fused> fuse(const KeyKnowledge& key) {
  const std::size_t n = key.inputs.size();
  Fused out;
  std::vector<double> given(n);
  for (std::size_t i = 0; i < n; ++i) given[i] = key.inputs[i].value;
  out.state.mean = given;
  out.state.covariance.assign(n * n, 0.0);
  for (std::size_t i = 0; i < n; ++i) out.state.cov(i, i) = key.inputs[i].standard * key.inputs[i].standard;
  const Gaussian prior = out.state;
  std::vector<double> at = given;
  constexpr int kSteps = 4;
  for (int step = 0; step < kSteps && !key.observations.empty(); ++step) {
    const auto truth = truth_of(with_values(key, at));
    if (!truth && step > 0) break;  // the readings led out of what can be built: keep the last
    if (!truth) return tl::unexpected(truth.error());
    std::vector<double> here;
    for (const Observation& o : key.observations) here.push_back(predict(o, truth->hinge));
    const auto slopes = slopes_of(key, at, *truth, here);
    Gaussian state = prior;
    std::vector<Agreement> agreements;
    // Rock last: it may only confirm what the others say.
    std::vector<std::size_t> order(key.observations.size());
    for (std::size_t k = 0; k < order.size(); ++k) order[k] = k;
    std::stable_partition(order.begin(), order.end(),
                          [&](std::size_t k) { return key.observations[k].of != Observation::Of::rock; });
    for (const std::size_t k : order) {
      const Observation& o = key.observations[k];
      const auto& slope = slopes[k];
      double predicted = here[k];
      for (std::size_t i = 0; i < n; ++i) predicted += slope[i] * (state.mean[i] - at[i]);
      const double own = o.standard.raw() * o.standard.raw();
      const double model = spread_of(state, slope);
      const double joint = std::sqrt(own + model);
      Agreement a{o, predicted, 2 * std::sqrt(model), 0, true};
      a.distance = joint > 0 ? std::abs(o.value.raw() - predicted) / joint : 0;
      a.used = a.distance <= kContradicts;
      if (a.used && o.of != Observation::Of::rock) take_in(state, slope, o.value.raw() - predicted, own);
      agreements.push_back(std::move(a));
    }
    // What all else says of each: the parts with every other reading that was taken in.
    for (std::size_t a = 0; a < order.size(); ++a) {
      Gaussian others = prior;
      const auto predicted_at = [&](std::size_t k) {
        double v = here[k];
        for (std::size_t i = 0; i < n; ++i) v += slopes[k][i] * (others.mean[i] - at[i]);
        return v;
      };
      for (std::size_t b = 0; b < order.size(); ++b) {
        const Observation& o = key.observations[order[b]];
        if (b == a || !agreements[b].used || o.of == Observation::Of::rock) continue;
        take_in(others, slopes[order[b]], o.value.raw() - predicted_at(order[b]),
                o.standard.raw() * o.standard.raw());
      }
      agreements[a].predicted = predicted_at(order[a]);
      agreements[a].predicted_pm = 2 * std::sqrt(spread_of(others, slopes[order[a]]));
    }
    bool moved = false;
    for (std::size_t i = 0; i < n; ++i)
      moved = moved || std::abs(state.mean[i] - at[i]) > 1e-3 * key.inputs[i].standard;
    at = state.mean;
    out.state = std::move(state);
    out.agreements = std::move(agreements);
    if (!moved) break;
  }
  if (!build_hinge(with_values(key, out.state.mean))) out.state.mean = given;
  return out;
}

Expected<KeyKnowledge> with_stops(const KeyKnowledge& key) {
  KeyKnowledge out = key;
  if (std::none_of(key.inputs.begin(), key.inputs.end(),
                   [](const Input& i) { return i.protrusion_of.has_value(); })) {
    return out;
  }
  const auto truth = truth_of(key.geometry);
  if (!truth) return tl::unexpected(truth.error());
  constexpr std::array<Side, 2> kSides{Side::upper, Side::lower};
  std::array<double, 2> variance{};
  std::array<double, 2> from_unknown{};
  for (const Input& input : key.inputs) {
    if (input.standard == 0) continue;
    std::array<double, 2> moved{};
    for (const double step : {-input.standard, input.standard}) {
      KeyGeometry g = key.geometry;
      input.set(g, input.value + step);
      const auto h = truth->near(g);
      if (!h) continue;
      for (std::size_t s = 0; s < 2; ++s) {
        const Length change = h->point_stop(kSides[s]) - truth->hinge.point_stop(kSides[s]);
        moved[s] = std::max(moved[s], std::abs(change.raw()));
      }
    }
    for (std::size_t s = 0; s < 2; ++s) {
      variance[s] += moved[s] * moved[s];
      if (input.origin == Origin::unknown) from_unknown[s] += moved[s] * moved[s];
    }
  }
  for (Input& input : out.inputs) {
    if (!input.protrusion_of) continue;
    const Side side = *input.protrusion_of;
    const std::size_t s = side == Side::upper ? 0 : 1;
    const Length stop = truth->hinge.point_stop(side);
    input.value = stop.raw();
    input.standard = std::sqrt(variance[s]);
    if (from_unknown[s] > 0.5 * variance[s]) input.origin = Origin::unknown;
    input.set = side == Side::upper ? [](KeyGeometry& g, double v) { g.upper.stop = millimetres(v); }
                                    : [](KeyGeometry& g, double v) { g.lower.stop = millimetres(v); };
    out.geometry.at(side).protrusion.reset();
    out.geometry.at(side).stop = stop;
  }
  return out;
}

}  // namespace hingeline::belief
