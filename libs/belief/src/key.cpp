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

Expected<contact::Joint> build_joint(const JointGeometry& g) {
  auto point = contact::make_point(g.point);
  if (!point) return tl::unexpected(point.error());
  auto hole = contact::make_hole(g.hole);
  if (!hole) return tl::unexpected(hole.error());
  return contact::Joint(std::move(*point), std::move(*hole));
}

mechanism::HingeEnd end_with(const JointGeometry& g, contact::Joint joint) {
  const Length protrusion = g.protrusion ? *g.protrusion : joint.home().insertion + g.stop;
  return {std::move(joint), protrusion};
}

/// A truth with its hinge, from which others near it are built: joints that stay the same are kept.
struct Truth {
  KeyGeometry geometry;
  mechanism::Hinge hinge;

  [[nodiscard]] bool same_joint(const KeyGeometry& g, Side side) const {
    return g.at(side).point == geometry.at(side).point && g.at(side).hole == geometry.at(side).hole;
  }
  /// Whether the joints are the same and only their places may differ.
  [[nodiscard]] bool same_joints(const KeyGeometry& g) const {
    return g.kind == HingeKind::rod || (same_joint(g, Side::upper) && same_joint(g, Side::lower));
  }
  [[nodiscard]] std::optional<mechanism::Hinge> near(const KeyGeometry& g) const {
    if (g.kind == HingeKind::rod) {
      auto built = build_hinge(g);
      return built ? std::optional(std::move(*built)) : std::nullopt;
    }
    const auto end = [&](Side side) -> std::optional<mechanism::HingeEnd> {
      const JointGeometry& now = g.at(side);
      if (same_joint(g, side)) return end_with(now, hinge.end(side).joint);
      auto joint = build_joint(now);
      if (!joint) return std::nullopt;
      return end_with(now, std::move(*joint));
    };
    auto upper = end(Side::upper);
    if (!upper) return std::nullopt;
    auto lower = end(Side::lower);
    if (!lower) return std::nullopt;
    return mechanism::Hinge(g.span, g.key_length, std::move(*upper), std::move(*lower));
  }
};
Expected<Truth> truth_of(const KeyGeometry& g) {
  auto hinge = build_hinge(g);
  if (!hinge) return tl::unexpected(hinge.error());
  return Truth{g, std::move(*hinge)};
}

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

/// Whether a reading depends on what the joints are like inside: end play and gaps follow from where the
/// points stop the key alone.
bool shows_joints(const Observation& o) {
  return o.of == Observation::Of::rock || o.of == Observation::Of::protrusion_upper ||
         o.of == Observation::Of::protrusion_lower;
}

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
/// the last step's result, until nothing moves by a thousandth of its uncertainty.
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
  auto upper = build_joint(key.upper);
  if (!upper) return tl::unexpected(upper.error());
  auto lower = build_joint(key.lower);
  if (!lower) return tl::unexpected(lower.error());
  return mechanism::Hinge(key.span, key.key_length, end_with(key.upper, std::move(*upper)),
                          end_with(key.lower, std::move(*lower)));
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

namespace {

/// The same knowledge with stops in the place of protrusions (see estimate()).
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
