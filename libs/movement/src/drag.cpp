#include "hingeline/movement/drag.h"

#include <algorithm>
#include <boost/math/quadrature/gauss.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <span>
#include <vector>

namespace hingeline::movement {
namespace {

using std::numbers::pi;

/// mPa s in N s / mm^2.
constexpr double kNewtonSeconds = 1e-9;

bool above_zero(Length l) { return is_finite(l) && l.raw() > 0; }
bool is_viscosity(Viscosity mu) { return mu.raw() >= 0; }

tl::unexpected<Error> dry() {
  return fail(Fault::geometry, "there is no room for a film: the joint is dry or binds",
              "a radial clearance above 0");
}
tl::unexpected<Error> wrong_measure() {
  return fail(Fault::geometry,
              "a joint's radius and length must be above 0 and its oil's viscosity not below 0");
}

/// A straight piece of a profile: radius at `from` and at `to`, both distances along the profile.
struct Piece {
  double from, to;
  double radius_from, radius_to;
  [[nodiscard]] double slope() const { return (radius_to - radius_from) / (to - from); }
  [[nodiscard]] double at(double along) const { return radius_from + slope() * (along - from); }
};
std::vector<Piece> pieces(const contact::Profile& profile) {
  std::vector<Piece> out;
  const auto vertices = profile.vertices();
  for (std::size_t k = 1; k < vertices.size(); ++k) {
    const double from = in_millimetres(vertices[k - 1].along);
    const double to = in_millimetres(vertices[k].along);
    if (to > from) {
      out.push_back({from, to, in_millimetres(vertices[k - 1].radius), in_millimetres(vertices[k].radius)});
    }
  }
  return out;
}

/// Where a film runs straight on both walls: from y0 on, `length` along the axis.
struct Run {
  double length;
  double gap_0, gap_1;        ///< radial, at both ends
  double radius_0, radius_1;  ///< mean of both walls
  double tangent;             ///< mean slope of both walls
};

/// Sums of integrals along runs.
struct Sums {
  double drag = 0;  ///< r^3 / (c cos^2 a)
  double film = 0;  ///< 1 / c
  double turn = 0;  ///< r / c
};

void add(Sums& sums, const Run& run) {
  // Parts whose gap at most doubles: the rule is exact to rounding there.
  const double span = std::log(run.gap_1 / run.gap_0);
  const int parts = std::max(1, static_cast<int>(std::ceil(std::abs(span) / std::numbers::ln2)));
  const double square = 1 + run.tangent * run.tangent;
  double from = 0;
  for (int k = 1; k <= parts; ++k) {
    const double to =
        k == parts ? 1 : (run.gap_0 * std::exp(span * k / parts) - run.gap_0) / (run.gap_1 - run.gap_0);
    using Rule = boost::math::quadrature::gauss<double, 20>;
    const auto over = [&](auto&& f) {
      return run.length * Rule::integrate(
                              [&](double x) {
                                const double gap = std::lerp(run.gap_0, run.gap_1, x);
                                return f(std::lerp(run.radius_0, run.radius_1, x)) / gap;
                              },
                              from, to);
    };
    sums.drag += square * over([](double r) { return r * r * r; });
    sums.film += over([](double) { return 1.0; });
    sums.turn += over([](double r) { return r; });
    from = to;
  }
}

}  // namespace

Expected<Drag> journal_drag(Viscosity mu, Length radius, Length length, Length clearance) {
  if (!above_zero(radius) || !above_zero(length) || !is_viscosity(mu)) return wrong_measure();
  if (!above_zero(clearance)) return dry();
  const double r = in_millimetres(radius);
  return newton_millimetre_seconds(2 * pi * in_millipascal_seconds(mu) * kNewtonSeconds * r * r * r *
                                   (length / clearance));
}

Expected<Drag> rod_drag(Viscosity mu, Length rod_radius, Length bore_radius, Length length) {
  if (!above_zero(rod_radius) || !is_finite(bore_radius) || !above_zero(length) || !is_viscosity(mu)) {
    return wrong_measure();
  }
  const double clearance = in_millimetres(bore_radius - rod_radius);
  if (!(clearance > 0)) return dry();
  const double a = in_millimetres(rod_radius);
  const double b = in_millimetres(bore_radius);
  return newton_millimetre_seconds(4 * pi * in_millipascal_seconds(mu) * kNewtonSeconds *
                                   in_millimetres(length) * (a * a * b * b) / (clearance * (a + b)));
}

Expected<Drag> cone_drag(Viscosity mu, Length small_radius, Length large_radius, Angle half_angle,
                         Length film) {
  const bool good = is_finite(small_radius) && small_radius.raw() >= 0 && above_zero(large_radius) &&
                    large_radius > small_radius && half_angle.raw() > 0 && half_angle < degrees(90) &&
                    is_viscosity(mu);
  if (!good) {
    return fail(Fault::geometry, "this is no cone's flank",
                "a larger radius above the smaller one and a half angle between 0 and 90 deg");
  }
  if (!above_zero(film)) return dry();
  const double r1 = in_millimetres(small_radius);
  const double r2 = in_millimetres(large_radius);
  return newton_millimetre_seconds(pi * in_millipascal_seconds(mu) * kNewtonSeconds * (r2 - r1) * (r2 + r1) *
                                   (r2 * r2 + r1 * r1) / (2 * in_millimetres(film) * sin(half_angle)));
}

Drag drag(const Film& film, Viscosity mu) {
  return newton_millimetre_seconds(film.drag_per_viscosity * in_millipascal_seconds(mu) * kNewtonSeconds);
}

Expected<Film> joint_film(const contact::Joint& joint, Length insertion) {
  if (joint.is_rod()) {
    return fail(Fault::geometry, "a rod's joint has no profiles", "rod and bore diameters");
  }
  const double t = in_millimetres(insertion);
  const double end = std::min(t, in_millimetres(joint.hole()->length()));
  const double begin = std::max(0.0, t - in_millimetres(joint.point()->length()));
  if (!is_finite(insertion) || !(end > begin)) {
    return fail(Fault::geometry, "the point is not inside the key's end");
  }
  const std::vector<Piece> hole = pieces(*joint.hole());
  const std::vector<Piece> point = pieces(*joint.point());
  std::vector<double> knots{begin, end};
  for (const Piece& p : hole) knots.push_back(p.to);
  for (const Piece& p : point) knots.push_back(t - p.to);
  std::erase_if(knots, [&](double y) { return y < begin || y > end; });
  std::ranges::sort(knots);

  Sums sums;
  double least_gap = std::numeric_limits<double>::infinity();
  double least_tangent = 0;
  for (std::size_t k = 1; k < knots.size(); ++k) {
    const double from = knots[k - 1];
    const double to = knots[k];
    if (!(to > from)) continue;
    const double middle = (from + to) / 2;
    const auto h = std::ranges::find_if(hole, [&](const Piece& p) { return middle < p.to; });
    const auto p = std::ranges::find_if(point, [&](const Piece& q) { return t - middle < q.to; });
    // Pieces shorter than rounding, at the very ends.
    if (h == hole.end() || p == point.end()) continue;
    const double hole_0 = h->at(from), hole_1 = h->at(to);
    const double point_0 = p->at(t - from), point_1 = p->at(t - to);
    const Run run{to - from,
                  hole_0 - point_0,
                  hole_1 - point_1,
                  (hole_0 + point_0) / 2,
                  (hole_1 + point_1) / 2,
                  (std::abs(h->slope()) + std::abs(p->slope())) / 2};
    const double gap = std::min(run.gap_0, run.gap_1);
    if (!(gap > 0)) return dry();
    if (gap < least_gap) {
      least_gap = gap;
      least_tangent = run.tangent;
    }
    add(sums, run);
  }
  Film film;
  film.drag_per_viscosity = 2 * pi * sums.drag;
  film.clearance = millimetres(least_gap);
  film.radius = millimetres(sums.turn / sums.film);
  film.length = millimetres(sums.film * least_gap);
  film.thickness = millimetres(least_gap / std::hypot(1, least_tangent));
  return film;
}

Expected<Film> rod_film(Length rod_diameter, Length bore, Length length) {
  return rod_drag(millipascal_seconds(1), rod_diameter / 2, bore / 2, length).map([&](Drag d) {
    const Length clearance = (bore - rod_diameter) / 2;
    return Film{in_newton_millimetre_seconds(d) / kNewtonSeconds, clearance, (rod_diameter + bore) / 4,
                length, clearance};
  });
}

double taylor_number(const Film& film, double radians_per_second, KinematicViscosity v) {
  const double c = in_millimetres(film.thickness);
  const double rate = radians_per_second / in_centistokes(v);
  return rate * rate * in_millimetres(film.radius) * c * c * c;
}

Squeeze squeeze(const Film& film, Viscosity mu) {
  const double r = in_millimetres(film.radius);
  const double l = in_millimetres(film.length);
  const double c = in_millimetres(film.clearance);
  const double q = l / (2 * r);
  // 1 - tanh(q) / q; below 0.01 its series, where the difference would cancel.
  const double open_ends = q < 1e-2 ? q * q / 3 * (1 - 2 * q * q / 5) : 1 - std::tanh(q) / q;
  return Squeeze::of(12 * pi * in_millipascal_seconds(mu) * kNewtonSeconds * r * r * r * l / (c * c * c) *
                     open_ends);
}

Length stopping_distance(Mass mass, double millimetres_per_second, Squeeze damping) {
  const double momentum = in_grams(mass) * millimetres_per_second * 1e-6;  // N s
  if (momentum == 0) return millimetres(0);
  return millimetres(momentum / in_newton_seconds_per_millimetre(damping));
}

}  // namespace hingeline::movement
