#include "hingeline/belief/key.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace hingeline::belief {
namespace {

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

struct FigureName {
  Figure figure;
  const char* word;
  const char* code;
};
constexpr std::array<FigureName, kFigureCount> kNames{{
    {Figure::end_play, "end play", "end-play"},
    {Figure::gap_upper, "upper face gap, pushed home", "gap-upper"},
    {Figure::gap_lower, "lower face gap, pushed home", "gap-lower"},
    {Figure::face_gap, "face gaps together", "face-gap"},
    {Figure::rock_upper, "rock at the upper end", "rock-upper"},
    {Figure::rock_lower, "rock at the lower end", "rock-lower"},
    {Figure::rock_pad, "rock at the pad", "rock-pad"},
    {Figure::side_gap, "pad gap, side to side", "side-gap"},
    {Figure::front_gap, "pad gap, front to back", "front-gap"},
    {Figure::worst_gap, "pad gap, worst direction", "pad-gap"},
    {Figure::seat_wander, "seat wander", "seat-wander"},
    {Figure::home_rock_upper, "rock left when home, upper", "home-rock-upper"},
    {Figure::home_rock_lower, "rock left when home, lower", "home-rock-lower"},
    {Figure::insertion_upper, "upper point in the key", "insertion-upper"},
    {Figure::insertion_lower, "lower point in the key", "insertion-lower"},
    {Figure::tip_floor_upper, "upper tip to floor", "tip-floor-upper"},
    {Figure::tip_floor_lower, "lower tip to floor", "tip-floor-lower"},
}};

double& in(Figures& f, Figure which) { return f[static_cast<std::size_t>(which)]; }

Length floor_depth(const contact::Profile& hole) {
  const auto v = hole.vertices();
  return hole.floor_begin() < v.size() ? v[hole.floor_begin()].along : hole.length();
}

Expected<mechanism::HingeEnd> build_end(const JointGeometry& g) {
  auto point = contact::make_point(g.point);
  if (!point) return tl::unexpected(point.error());
  auto hole = contact::make_hole(g.hole);
  if (!hole) return tl::unexpected(hole.error());
  contact::Joint joint(std::move(*point), std::move(*hole));
  const Length protrusion = joint.home().insertion + g.stop;
  return mechanism::HingeEnd{std::move(joint), protrusion};
}

/// What a reading would be if this were the truth.
double predict(const Observation& o, const mechanism::Hinge& hinge) {
  using Of = Observation::Of;
  const auto& t = hinge.travel();
  switch (o.of) {
    case Of::end_play:
      return t.end_play().raw();
    case Of::gap_upper:
      return t.gap_at(Side::upper).raw();
    case Of::gap_lower:
      return t.gap_at(Side::lower).raw();
    case Of::protrusion_upper:
      return hinge.end(Side::upper).protrusion.raw();
    case Of::protrusion_lower:
      return hinge.end(Side::lower).protrusion.raw();
    case Of::rock:
      break;
  }
  return mechanism::rock(mechanism::Play(hinge), o.station).travel.raw();
}

/// The joint distribution of all inputs: mean and covariance, row by row.
struct Gaussian {
  std::vector<double> mean;
  std::vector<double> covariance;
  [[nodiscard]] std::size_t size() const { return mean.size(); }
  [[nodiscard]] double cov(std::size_t i, std::size_t j) const { return covariance[i * mean.size() + j]; }
  double& cov(std::size_t i, std::size_t j) { return covariance[i * mean.size() + j]; }
};

KeyGeometry with_values(const KeyKnowledge& key, const std::vector<double>& values) {
  KeyGeometry g = key.geometry;
  for (std::size_t i = 0; i < values.size(); ++i) key.inputs[i].set(g, values[i]);
  return g;
}

/// Gradient of a prediction by small symmetric steps; a step that leaves what can be built counts
/// one-sided.
std::vector<double> gradient(const KeyKnowledge& key, const Observation& o, const std::vector<double>& at,
                             double here) {
  std::vector<double> slope(at.size(), 0.0);
  for (std::size_t i = 0; i < at.size(); ++i) {
    const double h = std::clamp(key.inputs[i].standard * 1e-3, 1e-9, 1e-5);
    if (key.inputs[i].standard == 0) continue;
    double value[2] = {here, here};
    double reach = 0;
    for (int side = 0; side < 2; ++side) {
      auto moved = at;
      moved[i] += side == 0 ? -h : h;
      const KeyGeometry g = with_values(key, moved);
      const auto hinge = build_hinge(g);
      if (!hinge) continue;
      value[side] = predict(o, *hinge);
      reach += h;
    }
    if (reach > 0) slope[i] = (value[1] - value[0]) / reach;
  }
  return slope;
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

/// The joint distribution's axes: one step of a standard deviation along each, as columns whose
/// outer products add up to the covariance. Inputs are taken in the order given, so that an axis
/// named after an input holds what is still open once all before it are known.
struct Axis {
  std::size_t input;
  std::vector<double> step;
};
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

struct Fused {
  Gaussian state;
  std::vector<Agreement> agreements;
};

/// Gauss-Newton: each step starts from the given inputs and takes in every reading linearised at
/// the last step's result.
Expected<Fused> fuse(const KeyKnowledge& key) {
  const std::size_t n = key.inputs.size();
  Fused out;
  std::vector<double> given(n);
  for (std::size_t i = 0; i < n; ++i) given[i] = key.inputs[i].value;
  std::vector<double> at = given;
  constexpr int kSteps = 4;
  for (int step = 0; step < kSteps; ++step) {
    const KeyGeometry g = with_values(key, at);
    auto hinge = build_hinge(g);
    if (!hinge && step > 0) break;  // the readings led out of what can be built: keep the last
    if (!hinge) return tl::unexpected(hinge.error());
    Gaussian state;
    state.mean = given;
    state.covariance.assign(n * n, 0.0);
    for (std::size_t i = 0; i < n; ++i) state.cov(i, i) = key.inputs[i].standard * key.inputs[i].standard;
    std::vector<Agreement> agreements;
    // Rock last: it may only confirm what the others say.
    std::vector<std::size_t> order(key.observations.size());
    for (std::size_t k = 0; k < order.size(); ++k) order[k] = k;
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      const auto rank = [&](std::size_t k) {
        return key.observations[k].of == Observation::Of::rock ? 1 : 0;
      };
      return rank(a) < rank(b);
    });
    for (const std::size_t k : order) {
      const Observation& o = key.observations[k];
      const double here = predict(o, *hinge);
      const auto slope = gradient(key, o, at, here);
      double predicted = here;
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
    at = state.mean;
    out.state = std::move(state);
    out.agreements = std::move(agreements);
  }
  if (!build_hinge(with_values(key, out.state.mean))) out.state.mean = given;
  return out;
}

/// Lowest value a figure can have: play may be a bind, all else is a distance.
double lowest(Figure f) {
  return f == Figure::end_play || f == Figure::face_gap ? -std::numeric_limits<double>::infinity() : 0.0;
}

}  // namespace

const char* word(Figure f) { return kNames[static_cast<std::size_t>(f)].word; }
const char* code(Figure f) { return kNames[static_cast<std::size_t>(f)].code; }

std::optional<Figure> figure_of(const std::string& code) {
  for (const auto& n : kNames) {
    if (code == n.code) return n.figure;
  }
  return std::nullopt;
}

Expected<mechanism::Hinge> build_hinge(const KeyGeometry& key) {
  if (key.kind == HingeKind::rod) {
    const auto joint = contact::Joint::rod((key.bore - key.rod_diameter) / 2);
    return mechanism::Hinge(key.span, key.key_length, {joint, {}}, {joint, {}});
  }
  auto upper = build_end(key.upper);
  if (!upper) return tl::unexpected(upper.error());
  auto lower = build_end(key.lower);
  if (!lower) return tl::unexpected(lower.error());
  return mechanism::Hinge(key.span, key.key_length, std::move(*upper), std::move(*lower));
}

Figures figures_of(const KeyGeometry& key, const mechanism::Hinge& hinge) {
  Figures f;
  f.fill(kNone);
  const auto& t = hinge.travel();
  in(f, Figure::end_play) = t.end_play().raw();
  in(f, Figure::gap_upper) = t.gap_at(Side::upper).raw();
  in(f, Figure::gap_lower) = t.gap_at(Side::lower).raw();
  in(f, Figure::face_gap) = t.face_gap.raw();
  const mechanism::Play play(hinge);
  in(f, Figure::rock_upper) = mechanism::rock(play, Length{}).travel.raw();
  in(f, Figure::rock_lower) = mechanism::rock(play, key.key_length).travel.raw();
  if (key.pad) {
    in(f, Figure::rock_pad) = mechanism::rock(play, key.pad->station).travel.raw();
    const auto p = mechanism::pad_play(play, *key.pad);
    in(f, Figure::side_gap) = p.side_gap.raw();
    in(f, Figure::front_gap) = p.front_gap.raw();
    in(f, Figure::worst_gap) = p.worst_gap.raw();
    in(f, Figure::seat_wander) = p.seat_wander.raw();
  }
  in(f, Figure::home_rock_upper) = mechanism::home_end(hinge, Side::upper).rock_there.raw();
  in(f, Figure::home_rock_lower) = mechanism::home_end(hinge, Side::lower).rock_there.raw();
  if (key.kind == HingeKind::pivot) {
    const auto& u = hinge.end(Side::upper).joint;
    const auto& l = hinge.end(Side::lower).joint;
    in(f, Figure::insertion_upper) = u.home().insertion.raw();
    in(f, Figure::insertion_lower) = l.home().insertion.raw();
    in(f, Figure::tip_floor_upper) = (floor_depth(*u.hole()) - u.home().insertion).raw();
    in(f, Figure::tip_floor_lower) = (floor_depth(*l.hole()) - l.home().insertion).raw();
  }
  return f;
}

Expected<Estimate> estimate(const KeyKnowledge& key) {
  auto fused = fuse(key);
  if (!fused) return tl::unexpected(fused.error());
  const Gaussian& state = fused->state;
  const std::size_t n = key.inputs.size();
  Estimate e;
  const std::vector<double> mean = n > 0 ? state.mean : std::vector<double>{};
  e.geometry = with_values(key, mean);
  e.value = mean;
  e.agreements = std::move(fused->agreements);
  const auto hinge = build_hinge(e.geometry);
  if (!hinge) return tl::unexpected(hinge.error());
  const Figures here = figures_of(e.geometry, *hinge);

  const auto evaluate = [&](const std::vector<double>& values) -> std::optional<Figures> {
    const KeyGeometry g = with_values(key, values);
    const auto h = build_hinge(g);
    if (!h) return std::nullopt;
    return figures_of(g, *h);
  };
  const auto larger_step = [&](const std::vector<double>& step) {
    Figures out;
    out.fill(0);
    for (const double sign : {1.0, -1.0}) {
      std::vector<double> moved = mean;
      for (std::size_t i = 0; i < n; ++i) moved[i] += sign * step[i];
      const auto f = evaluate(moved);
      if (!f) continue;
      for (std::size_t k = 0; k < kFigureCount; ++k) {
        if (std::abs((*f)[k] - here[k]) > std::abs(out[k])) out[k] = sign * ((*f)[k] - here[k]);
      }
    }
    return out;
  };

  Figures variance;
  variance.fill(0);
  Figures from_unknown;
  from_unknown.fill(0);
  // Unknown inputs last: their axes then carry only what no reading settles.
  std::vector<std::size_t> order(n);
  for (std::size_t i = 0; i < n; ++i) order[i] = i;
  std::stable_partition(order.begin(), order.end(),
                        [&](std::size_t i) { return key.inputs[i].origin != Origin::unknown; });
  for (const Axis& axis : axes_of(state, order)) {
    const Figures moved = larger_step(axis.step);
    for (std::size_t k = 0; k < kFigureCount; ++k) {
      variance[k] += moved[k] * moved[k];
      if (key.inputs[axis.input].origin == Origin::unknown) from_unknown[k] += moved[k] * moved[k];
    }
  }
  for (std::size_t i = 0; i < n; ++i) {
    e.standard.push_back(std::sqrt(std::max(0.0, state.cov(i, i))));
    std::vector<double> step(n, 0.0);
    step[i] = key.inputs[i].standard;
    e.effect.push_back(step[i] > 0 ? larger_step(step) : Figures{});
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

}  // namespace hingeline::belief
