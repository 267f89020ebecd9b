#include "hingeline/body/bow.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "least_squares.h"

namespace hingeline::body {
namespace {

double square(double x) { return x * x; }

/// A reading as numbers, mm.
struct Mark {
  double station, height, station_doubt, height_doubt;
};

Mark mark_of(const BowReading& r) {
  return {r.station.value.raw(), r.height.value.raw(), r.station.standard().raw(),
          std::max(r.height.standard(), kLeastDoubt).raw()};
}

/// Of the neutral axis, from the curvature of the surface on the side of the straightedge (above 0: hollow
/// there): radii of one centre differ by the distance between the lines.
double axis_curvature(double surface_curvature, const BowReadings& r) {
  return r.side * surface_curvature / (1 + surface_curvature * r.surface.raw());
}
Measured<Curvature> on_axis(double surface_curvature, double standard, const BowReadings& r) {
  const double slope = 1 / square(1 + surface_curvature * r.surface.raw());
  return with_standard(Curvature::of(axis_curvature(surface_curvature, r)), Curvature::of(standard * slope));
}

/// A circle through heights: gap(x) = height + slope term - what the curvature takes off, x from `middle`.
/// The sine of a circle's slope is a straight line in x, so with s the sine at the middle
///   gap(x) = height + x (2 s - k x) / (sqrt(1 - (s - k x)^2) + sqrt(1 - s^2)),
/// which is good at k = 0 as well.
struct Circle {
  double middle = 0, height = 0, sine = 0, curvature = 0;

  [[nodiscard]] bool reaches(double station) const {
    return std::abs(sine - curvature * (station - middle)) < 1 && std::abs(sine) < 1;
  }
  [[nodiscard]] double gap(double station) const {
    const double x = station - middle;
    const double u = sine - curvature * x;
    return height + x * (2 * sine - curvature * x) / (std::sqrt(1 - u * u) + std::sqrt(1 - sine * sine));
  }
  [[nodiscard]] double slope(double station) const {
    const double u = sine - curvature * (station - middle);
    return u / std::sqrt(1 - u * u);
  }
};

struct Fit {
  double curvature = 0, standard = 0, chi_square = 0;
  std::size_t degrees_of_freedom = 0;
  Circle circle;
};

Error too_far() {
  return {Fault::geometry,
          "the heights differ by more than a quarter of the distance between the stations",
          "heights of the gap between straightedge and body",
          {}};
}

/// Weighted least squares of a circle, by Gauss-Newton from the flat line.
Expected<Fit> fit_circle(const std::vector<Mark>& marks) {
  const auto [first, last] = std::minmax_element(
      marks.begin(), marks.end(), [](const Mark& a, const Mark& b) { return a.station < b.station; });
  const double half = (last->station - first->station) / 2;
  const auto [lowest, highest] = std::minmax_element(
      marks.begin(), marks.end(), [](const Mark& a, const Mark& b) { return a.height < b.height; });
  if (!(highest->height - lowest->height <= kMostRise * 2 * half)) return tl::unexpected(too_far());

  Fit fit;
  Circle& c = fit.circle;
  c.middle = first->station + half;
  constexpr int kMostSteps = 40;
  for (int step = 0; step < kMostSteps; ++step) {
    std::vector<Row<3>> rows;
    rows.reserve(marks.size());
    for (const Mark& m : marks) {
      if (!c.reaches(m.station)) return tl::unexpected(too_far());
      const double doubt = std::hypot(m.height_doubt, c.slope(m.station) * m.station_doubt);
      const double x = m.station - c.middle;
      const double u = c.sine - c.curvature * x;
      const double root_u = std::sqrt(1 - u * u);
      const double root_s = std::sqrt(1 - c.sine * c.sine);
      const double below = root_u + root_s;
      const double above = x * (2 * c.sine - c.curvature * x);
      // d(root_u) = -u/root_u du, du = ds - x dk.
      const double by_sine = 2 * x / below + above / square(below) * (u / root_u + c.sine / root_s);
      const double by_curvature = -x * x / below - above / square(below) * (u / root_u) * x;
      rows.push_back(
          {{1 / doubt, by_sine / doubt, by_curvature / doubt}, (m.height - c.gap(m.station)) / doubt});
    }
    const auto solution = least_squares<3>(std::move(rows));
    if (!solution) {
      return fail(Fault::content, "the bow readings stand at fewer than three different stations",
                  "readings at three stations, or one and the chord");
    }
    c.height += solution->value[0];
    c.sine += solution->value[1];
    c.curvature += solution->value[2];
    fit.standard = solution->standard[2];
    // Steps shrink by the square of the slopes each time: this one is the last that counts.
    if (std::abs(solution->value[2]) <= 1e-13 * (std::abs(c.curvature) + fit.standard) &&
        std::abs(solution->value[1]) * half <= 1e-15 * half + 1e-13 * fit.standard * half * half) {
      break;
    }
  }
  for (const Mark& m : marks) {
    if (!c.reaches(m.station)) return tl::unexpected(too_far());
    const double doubt = std::hypot(m.height_doubt, c.slope(m.station) * m.station_doubt);
    fit.chi_square += square((m.height - c.gap(m.station)) / doubt);
  }
  fit.curvature = c.curvature;
  fit.degrees_of_freedom = marks.size() - 3;
  if (fit.degrees_of_freedom == 0) fit.chi_square = 0;
  return fit;
}

/// The circle through both ends of the chord and one point: 2f/(ab), a and b the point's distances from
/// the ends.
Expected<Fit> through_ends(const Mark& m, const BowReadings& r) {
  const double chord = r.chord.value.raw();
  const double near = m.station;
  const double far = chord - m.station;
  if (!(near > 0) || !(far > 0)) {
    return fail(Fault::geometry, "a single bow reading stands at or beyond the end of the chord",
                "a station between the ends of the straightedge");
  }
  if (!(std::abs(m.height) <= kMostRise * chord)) return tl::unexpected(too_far());
  const double f = m.height;
  const double a2 = near * near + f * f;
  const double b2 = far * far + f * f;
  Fit fit;
  fit.curvature = 2 * f / std::sqrt(a2 * b2);
  // Derivatives of ln kappa = ln 2f - (ln a2 + ln b2) / 2, but for f itself, which may be 0.
  const double by_height = 2 / std::sqrt(a2 * b2) - fit.curvature * (f / a2 + f / b2);
  const double by_station = -fit.curvature * (near / a2 - far / b2);
  const double by_chord = -fit.curvature * far / b2;
  fit.standard = std::hypot(by_height * m.height_doubt, by_station * m.station_doubt,
                            by_chord * r.chord.standard().raw());
  return fit;
}

/// Readings in the order of their stations.
std::vector<std::size_t> in_order(const std::vector<Mark>& marks) {
  std::vector<std::size_t> order(marks.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return marks[a].station < marks[b].station; });
  return order;
}

Expected<std::vector<Mark>> marks_of(const BowReadings& r) {
  if (r.readings.empty()) return fail(Fault::content, "there is no bow reading", "at least one");
  std::vector<Mark> marks;
  for (const BowReading& b : r.readings) {
    const Mark m = mark_of(b);
    if (!std::isfinite(m.station) || !std::isfinite(m.height)) {
      return fail(Fault::content, "a bow reading is not a number", "a station and a height");
    }
    marks.push_back(m);
  }
  if (marks.size() < 3 && !(r.chord.value.raw() > 0)) {
    return fail(Fault::geometry, "fewer than three bow readings need the chord, and it is not above 0",
                "the length of the straightedge between its ends");
  }
  return marks;
}

/// All readings, and the chord's ends where there are only two.
Expected<Fit> fit_marks(std::vector<Mark> marks, const BowReadings& r) {
  if (marks.size() == 1) return through_ends(marks.front(), r);
  if (marks.size() == 2) {
    const double doubt = std::max(marks[0].height_doubt, marks[1].height_doubt);
    for (const Mark& m : marks) {
      if (m.station < 0 || m.station > r.chord.value.raw()) {
        return fail(Fault::geometry, "a bow reading stands beyond the end of the chord",
                    "stations between the ends of the straightedge");
      }
    }
    marks.push_back({0, 0, 0, doubt});
    marks.push_back({r.chord.value.raw(), 0, r.chord.standard().raw(), doubt});
  }
  return fit_circle(marks);
}

/// What a bend of so much does to one key's end play, mm; NaN where the key cannot be there. The tilt's cost
/// is the same for both signs of the bend; with `way` given (+1 or -1) it is carried on smoothly through a
/// straight body from that sign's side.
double effect_on(const KeyOnBody& key, double off_axis, double curvature, double way = 0) {
  const auto change = span_change(key.span, Length::of(off_axis), Curvature::of(curvature));
  if (!change) return std::numeric_limits<double>::quiet_NaN();
  const double straight = key.span.raw() - change->raw();
  double cost = 0;
  for (const auto& joint : key.joints) {
    if (joint) cost += tilt_cost(*joint, Angle::of(curvature * straight / 2)).raw();
  }
  return change->raw() - (curvature * way < 0 ? -cost : cost);
}

/// One key's equation: common + slope x curvature = over, to be divided by the standard uncertainty.
struct Answering {
  double over = 0, slope = 0, standard = 0;
};

struct KeyFit {
  double common = 0, curvature = 0, curvature_standard = 0, common_standard = 0, chi_square = 0;
  std::vector<Answering> keys;  ///< as they stand at this curvature
};

/// All keys' end plays as witnesses of one bend.
class Witnesses {
 public:
  Witnesses(std::span<const KeyWitness> witnesses, const OwnPlay& own)
      : witnesses_(witnesses), own_(own), common_doubt_(std::max(own.common, kLeastDoubt).raw()) {}

  /// The best bend by the keys taken in: to either side, or none at all.
  [[nodiscard]] Expected<KeyFit> fit(const std::vector<bool>& used) const {
    auto up = fit_side(used, 1);
    auto down = fit_side(used, -1);
    if (!up) return up;
    if (!down) return down;
    return up->chi_square <= down->chi_square ? up : down;
  }

  /// How far a key is from what the others taken in foretell, in joint standard uncertainties; 0 where they
  /// foretell nothing of it.
  [[nodiscard]] double distance(const KeyFit& fit, const std::vector<bool>& used, std::size_t i) const {
    const std::vector<Answering>& keys = fit.keys;
    // First unknown: what key i should show, common + slope_i x curvature.
    std::vector<Row<2>> rows{{{1 / common_doubt_, -keys[i].slope / common_doubt_}, 0}};
    for (std::size_t k = 0; k < keys.size(); ++k) {
      if (!used[k] || k == i) continue;
      const double w = 1 / keys[k].standard;
      rows.push_back({{w, (keys[k].slope - keys[i].slope) * w}, keys[k].over * w});
    }
    const auto s = least_squares<2>(std::move(rows));
    if (!s) return 0;
    return std::abs(keys[i].over - s->value[0]) / std::hypot(keys[i].standard, s->standard[0]);
  }

 private:
  /// The equations at a curvature, by its tangent there.
  [[nodiscard]] Expected<std::vector<Answering>> tangents(double curvature, double way) const {
    constexpr double kStep = 1e-6;
    std::vector<Answering> out;
    for (const KeyWitness& w : witnesses_) {
      const double y = w.key.off_axis.value.raw();
      const double here = effect_on(w.key, y, curvature, way);
      const double before = effect_on(w.key, y, curvature - kStep, way);
      const double after = effect_on(w.key, y, curvature + kStep, way);
      if (!std::isfinite(before) || !std::isfinite(after)) {
        return tl::unexpected(span_change(w.key.span, w.key.off_axis.value,
                                          Curvature::of(curvature + (std::isfinite(after) ? -kStep : kStep)))
                                  .error());
      }
      Answering a;
      a.slope = (after - before) / (2 * kStep);
      a.over = (w.play.end_play.value - (w.play.low + w.play.high) / 2).raw() - here + a.slope * curvature;
      const double place = curvature * w.key.span.raw() * w.key.off_axis.standard().raw();
      a.standard =
          std::max(std::hypot(w.play.end_play.standard().raw(), own_.each.raw(), place), kLeastDoubt.raw());
      out.push_back(a);
    }
    return out;
  }

  [[nodiscard]] Expected<KeyFit> fit_side(const std::vector<bool>& used, double way) const {
    KeyFit fit;
    constexpr int kMostSteps = 30;
    for (int step = 0; step < kMostSteps; ++step) {
      auto keys = tangents(fit.curvature, way);
      if (!keys) return tl::unexpected(keys.error());
      fit.keys = std::move(*keys);
      std::vector<Row<2>> rows{{{1 / common_doubt_, 0}, 0}};
      for (std::size_t i = 0; i < fit.keys.size(); ++i) {
        if (!used[i]) continue;
        const double w = 1 / fit.keys[i].standard;
        rows.push_back({{w, fit.keys[i].slope * w}, fit.keys[i].over * w});
      }
      const auto s = least_squares<2>(std::move(rows));
      if (!s) {
        return fail(Fault::content, "no key's end play depends on the bend",
                    "a hinge line off the body's neutral axis");
      }
      fit.curvature_standard = s->standard[1];
      fit.common_standard = s->standard[0];
      const double next = s->value[1] * way > 0 ? s->value[1] : 0;
      const double moved = std::abs(next - fit.curvature);
      fit.curvature = next;
      if (moved <= 1e-12 * std::abs(next) + 1e-12 * fit.curvature_standard) break;
    }
    // With the curvature settled (or held at none) the common part is a weighted mean.
    double weights = 1 / square(common_doubt_);
    double sum = 0;
    const auto rest = [&](std::size_t i) { return fit.keys[i].over - fit.keys[i].slope * fit.curvature; };
    for (std::size_t i = 0; i < fit.keys.size(); ++i) {
      if (!used[i]) continue;
      weights += 1 / square(fit.keys[i].standard);
      sum += rest(i) / square(fit.keys[i].standard);
    }
    fit.common = sum / weights;
    fit.chi_square = square(fit.common / common_doubt_);
    for (std::size_t i = 0; i < fit.keys.size(); ++i) {
      if (used[i]) fit.chi_square += square((rest(i) - fit.common) / fit.keys[i].standard);
    }
    return fit;
  }

  std::span<const KeyWitness> witnesses_;
  OwnPlay own_;
  double common_doubt_;
};

}  // namespace

Curvature curvature_from_sagitta(Length sagitta, Length chord) {
  return Curvature::of(8 * sagitta.raw() / (square(chord.raw()) + 4 * square(sagitta.raw())));
}

Expected<Length> sagitta_of(Curvature curvature, Length chord) {
  const double half = curvature.raw() * chord.raw() / 2;
  if (!(std::abs(half) <= 1)) {
    return fail(Fault::geometry, "the chord is longer than the circle is wide", "a shorter chord");
  }
  return Length::of(half * (chord.raw() / 2) / (1 + std::sqrt(1 - half * half)));
}

Length radius_of(Curvature curvature) { return Length::of(1 / std::abs(curvature.raw())); }

Expected<Bow> fit_bow(const BowReadings& r) {
  auto marks = marks_of(r);
  if (!marks) return tl::unexpected(marks.error());
  const auto fit = fit_marks(*marks, r);
  if (!fit) return tl::unexpected(fit.error());
  Bow bow;
  bow.chi_square = fit->chi_square;
  bow.degrees_of_freedom = fit->degrees_of_freedom;
  bow.chance = chi_square_above(bow.chi_square, bow.degrees_of_freedom);
  bow.even = bow.chance >= kUnevenChance;
  double standard = fit->standard;
  if (!bow.even) standard *= std::sqrt(bow.chi_square / static_cast<double>(bow.degrees_of_freedom));
  bow.curvature = on_axis(fit->curvature, standard, r);
  const std::vector<std::size_t> order = in_order(*marks);
  if (marks->size() < 3) {
    bow.to = r.chord.value;
  } else {
    bow.from = Length::of((*marks)[order.front()].station);
    bow.to = Length::of((*marks)[order.back()].station);
  }
  for (const Mark& m : *marks) {
    bow.residuals.push_back(marks->size() == 1 ? Length{}
                                               : Length::of(m.height - fit->circle.gap(m.station)));
  }
  if (marks->size() >= 4) {
    for (std::size_t k = 0; k + 2 < order.size(); ++k) {
      const std::vector<Mark> three{(*marks)[order[k]], (*marks)[order[k + 1]], (*marks)[order[k + 2]]};
      const auto local = fit_circle(three);
      if (!local) continue;  // two of them at one station
      bow.stretches.push_back({Length::of(three.front().station), Length::of(three.back().station),
                               on_axis(local->curvature, local->standard, r)});
    }
  }
  return bow;
}

Expected<Stretch> bend_between(const BowReadings& r, Length from, Length to) {
  auto marks = marks_of(r);
  if (!marks) return tl::unexpected(marks.error());
  if (marks->size() > 3) {
    const std::vector<std::size_t> order = in_order(*marks);
    const auto at = [&](std::size_t k) { return (*marks)[order[k]].station; };
    std::size_t first = 0;
    while (first + 1 < order.size() && at(first + 1) <= from.raw()) ++first;
    std::size_t last = order.size() - 1;
    while (last > 0 && at(last - 1) >= to.raw()) --last;
    // Three different stations at least, widened to the nearer side.
    const auto different = [&] {
      std::size_t n = 1;
      for (std::size_t k = first + 1; k <= last; ++k) n += at(k) > at(k - 1) ? 1U : 0U;
      return n;
    };
    if (first > last) std::swap(first, last);
    while (different() < 3 && (first > 0 || last + 1 < order.size())) {
      const double before = first > 0 ? from.raw() - at(first - 1) : std::numeric_limits<double>::infinity();
      const double after =
          last + 1 < order.size() ? at(last + 1) - to.raw() : std::numeric_limits<double>::infinity();
      before <= after ? --first : ++last;
    }
    std::vector<Mark> part;
    for (std::size_t k = first; k <= last; ++k) part.push_back((*marks)[order[k]]);
    *marks = std::move(part);
  }
  const auto fit = fit_marks(*marks, r);
  if (!fit) return tl::unexpected(fit.error());
  double standard = fit->standard;
  const double chance = chi_square_above(fit->chi_square, fit->degrees_of_freedom);
  if (chance < kUnevenChance) {
    standard *= std::sqrt(fit->chi_square / static_cast<double>(fit->degrees_of_freedom));
  }
  Stretch out{Length{}, r.chord.value, on_axis(fit->curvature, standard, r)};
  if (marks->size() >= 3) {
    const std::vector<std::size_t> order = in_order(*marks);
    out.from = Length::of((*marks)[order.front()].station);
    out.to = Length::of((*marks)[order.back()].station);
  }
  return out;
}

Expected<Length> span_change(Length span, Length off_axis, Curvature curvature) {
  const double k = curvature.raw();
  const double s = span.raw();
  const double y = off_axis.raw();
  const double nearer = 1 - k * y;
  const double half = nearer > 0 ? k * s / (2 * nearer) : 2;
  if (!(std::abs(half) <= 1)) {
    return fail(Fault::geometry, "the bend is so sharp that the hinge line does not fit into it",
                "a smaller bend, or a hinge line nearer to the body's axis");
  }
  // s - (2/k) asin(half) in two parts that each keep their digits: the chord against its own arc at y, and
  // that arc against the one on the axis.
  const double arc_over = half == 0 ? 1 : std::asin(half) / half;  // arc over chord, >= 1
  const double square_half = half * half;
  const double slack = square_half < 1e-4 ? square_half / 6 + 3 * square_half * square_half / 40 +
                                                5 * square_half * square_half * square_half / 112
                                          : arc_over - 1;
  // Straight arc = s arc_over / nearer; s - s (1 + slack) / (1 - k y) = -s (k y + slack) / (1 - k y).
  return Length::of(-s * (k * y + slack) / nearer);
}

Expected<BendEffect> bend_effect(const KeyOnBody& key, Measured<Curvature> curvature) {
  const double k = curvature.value.raw();
  const double y = key.off_axis.value.raw();
  const auto change = span_change(key.span, key.off_axis.value, curvature.value);
  if (!change) return tl::unexpected(change.error());
  BendEffect out;
  const double straight = key.span.raw() - change->raw();
  out.lean = Angle::of(std::abs(k) * straight / 2);
  for (const auto& joint : key.joints) {
    if (joint) out.tilt_cost += tilt_cost(*joint, out.lean);
  }
  const double effect = change->raw() - out.tilt_cost.raw();
  double span_square = 0;
  double effect_square = 0;
  const auto vary = [&](double by_curvature, double by_off_axis) {
    double span_most = 0;
    double effect_most = 0;
    for (const double way : {-1.0, 1.0}) {
      const double moved_k = k + way * by_curvature;
      const double moved_y = y + way * by_off_axis;
      const auto moved = span_change(key.span, Length::of(moved_y), Curvature::of(moved_k));
      if (!moved) continue;  // beyond what can be: the other side speaks
      span_most = std::max(span_most, std::abs(moved->raw() - change->raw()));
      effect_most = std::max(effect_most, std::abs(effect_on(key, moved_y, moved_k) - effect));
    }
    span_square += square(span_most);
    effect_square += square(effect_most);
  };
  vary(curvature.standard().raw(), 0);
  vary(0, key.off_axis.standard().raw());
  out.span_change = with_standard(*change, Length::of(std::sqrt(span_square)));
  out.end_play = with_standard(Length::of(effect), Length::of(std::sqrt(effect_square)));
  return out;
}

Explained explain(const KeyPlay& play, const BendEffect& effect) {
  Explained out;
  const Length value = play.end_play.value;
  if (value > play.high) out.excess = value - play.high;
  if (value < play.low) out.excess = value - play.low;
  const double own = play.end_play.standard().raw();
  const double bend = effect.end_play.standard().raw();
  if (out.excess.raw() != 0) {
    const double share = effect.end_play.value / out.excess;
    out.share = Measured<double>{
        share, 2 * std::hypot(bend / out.excess.raw(), share * own / out.excess.raw()), Origin::read};
  }
  out.remains = with_standard(value - effect.end_play.value, Length::of(std::hypot(own, bend)));
  return out;
}

Expected<BendFromKeys> bend_from_keys(std::span<const KeyWitness> keys, const OwnPlay& own) {
  const Witnesses witnesses(keys, own);
  std::vector<bool> used(keys.size(), true);
  auto fit = witnesses.fit(used);
  if (!fit) return tl::unexpected(fit.error());
  std::size_t left = keys.size();
  while (left > 3 && (left - 1) * 2 > keys.size()) {
    std::size_t worst = keys.size();
    double farthest = kContradicts;
    for (std::size_t i = 0; i < keys.size(); ++i) {
      if (!used[i]) continue;
      const double distance = witnesses.distance(*fit, used, i);
      if (distance > farthest) {
        farthest = distance;
        worst = i;
      }
    }
    if (worst == keys.size()) break;
    used[worst] = false;
    auto again = witnesses.fit(used);
    if (!again) {
      // Without it nothing tells of the bend any more: it stays.
      used[worst] = true;
      break;
    }
    --left;
    fit = std::move(again);
  }

  BendFromKeys out;
  out.chi_square = fit->chi_square;
  // The common part's own preset counts as an equation.
  out.degrees_of_freedom = left - 1;
  double wider = 1;
  if (out.degrees_of_freedom > 0) {
    wider = std::max(1.0, std::sqrt(out.chi_square / static_cast<double>(out.degrees_of_freedom)));
  }
  out.curvature =
      with_standard(Curvature::of(fit->curvature), Curvature::of(fit->curvature_standard * wider));
  out.common = with_standard(Length::of(fit->common), Length::of(fit->common_standard * wider));
  for (std::size_t i = 0; i < keys.size(); ++i) {
    const KeyWitness& w = keys[i];
    const double effect = effect_on(w.key, w.key.off_axis.value.raw(), fit->curvature);
    out.keys.push_back({(w.play.low + w.play.high) / 2 + Length::of(fit->common + effect),
                        witnesses.distance(*fit, used, i), used[i]});
  }
  return out;
}

Comparison compare(Measured<Curvature> read, Measured<Curvature> told) {
  const double a = read.standard().raw();
  const double b = told.standard().raw();
  const double joint = std::hypot(a, b);
  const double apart = std::abs(read.value.raw() - told.value.raw());
  Comparison out;
  out.distance = joint > 0 ? apart / joint : (apart > 0 ? std::numeric_limits<double>::infinity() : 0);
  if (a == 0 || b == 0) {
    out.together = a == 0 ? read : told;
    return out;
  }
  const double wa = 1 / square(a);
  const double wb = 1 / square(b);
  out.together = with_standard(Curvature::of((read.value.raw() * wa + told.value.raw() * wb) / (wa + wb)),
                               Curvature::of(1 / std::sqrt(wa + wb)));
  return out;
}

}  // namespace hingeline::body
