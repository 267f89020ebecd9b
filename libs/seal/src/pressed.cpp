#include "hingeline/seal/pressed.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "arc.h"

namespace hingeline::seal {
namespace {

using std::numbers::pi;

using Three = std::array<double, 3>;
using Five = std::array<double, 5>;
using Square = std::array<Five, 5>;

/// Energy of the ring and its derivatives by compression at its middle and by the two tilts, each as the
/// compression it makes at the rim.
struct RingState {
  double energy = 0;
  Three force{};
  std::array<Three, 3> stiffness{};
};

/// Compression round a level rim: depth + along cos(psi) + out sin(psi). `density` is the stiffness per
/// radian, N/mm.
RingState level_ring(double density, const Three& face) {
  RingState s;
  const double tilt = std::hypot(face[1], face[2]);
  const double depth = face[0];
  if (depth <= -tilt) return s;
  if (depth >= tilt) {
    s.energy = density * pi * (depth * depth + tilt * tilt / 2);
    s.force = {2 * pi * density * depth, pi * density * face[1], pi * density * face[2]};
    s.stiffness[0][0] = 2 * pi * density;
    s.stiffness[1][1] = s.stiffness[2][2] = pi * density;
    return s;
  }
  const Arc arc = arc_of(depth, tilt);
  const double one = arc_integral_1(arc);
  const double two = arc_integral_2(arc);
  s.energy = density * tilt * tilt * two;
  const double by_tilt = 2 * density * tilt * (two + arc.cosine * one);
  const double nc = face[1] / tilt;
  const double ns = face[2] / tilt;
  s.force = {2 * density * tilt * one, by_tilt * nc, by_tilt * ns};
  const double bend = density * (arc.omega + arc.sine * arc.cosine);
  const double turn = by_tilt / tilt;
  const double mixed = 2 * density * arc.sine;
  s.stiffness[0] = {2 * density * arc.omega, mixed * nc, mixed * ns};
  s.stiffness[1] = {mixed * nc, bend * nc * nc + turn * ns * ns, (bend - turn) * nc * ns};
  s.stiffness[2] = {mixed * ns, (bend - turn) * nc * ns, bend * ns * ns + turn * nc * nc};
  return s;
}

/// A rim read at equal steps: one spring at each.
class DippedRim {
 public:
  explicit DippedRim(std::span<const Length> dips) {
    for (std::size_t k = 0; k < dips.size(); ++k) {
      const double psi = 2 * pi * static_cast<double>(k) / static_cast<double>(dips.size());
      spots_.push_back({std::cos(psi), std::sin(psi), dips[k].raw()});
    }
  }
  [[nodiscard]] bool level() const { return spots_.empty(); }
  [[nodiscard]] std::size_t size() const { return spots_.size(); }
  [[nodiscard]] double compression(std::size_t k, const Three& face) const {
    const Spot& s = spots_[k];
    return face[0] + face[1] * s.cosine + face[2] * s.sine - s.dip;
  }
  [[nodiscard]] double lowest() const {
    double low = 0;
    for (const Spot& s : spots_) low = std::max(low, s.dip);
    return low;
  }
  [[nodiscard]] RingState ring(double density, const Three& face) const {
    if (level()) return level_ring(density, face);
    const double each = density * 2 * pi / static_cast<double>(spots_.size());
    RingState s;
    double carrying = 0;
    double cosines = 0, sines = 0, cosines_squared = 0, products = 0;
    double squares = 0;
    for (const Spot& spot : spots_) {
      const double c = face[0] + face[1] * spot.cosine + face[2] * spot.sine - spot.dip;
      if (c <= 0) continue;
      squares += c * c;
      s.force[0] += c;
      s.force[1] += c * spot.cosine;
      s.force[2] += c * spot.sine;
      carrying += 1;
      cosines += spot.cosine;
      sines += spot.sine;
      cosines_squared += spot.cosine * spot.cosine;
      products += spot.cosine * spot.sine;
    }
    s.energy = each / 2 * squares;
    for (double& f : s.force) f *= each;
    s.stiffness[0] = {each * carrying, each * cosines, each * sines};
    s.stiffness[1] = {each * cosines, each * cosines_squared, each * products};
    s.stiffness[2] = {each * sines, each * products, each * (carrying - cosines_squared)};
    return s;
  }

 private:
  struct Spot {
    double cosine, sine, dip;
  };
  std::vector<Spot> spots_;
};

/// The problem in plain numbers without size. The unknowns are the upper end's displacement across and along
/// the pad's arm as shares of its clearance, the lower end's, and the turn as a share of the depth that the
/// load presses the pad to. Energies are shares of load x depth.
struct Problem {
  const DippedRim* rim;
  double density;
  double scale;                    ///< 1 / (load x depth)
  std::array<Three, 5> face_by{};  ///< how each unknown moves the pad's face; 1 and 3 do not
  Three face_at_zero{};
  std::array<Three, 3> full{};  ///< stiffness of the ring where all of it carries
  Five load{};                  ///< scaled
  double start = 1;             ///< turn that presses the centred pad on all of the rim

  [[nodiscard]] Three face(const Five& x) const {
    Three f = face_at_zero;
    for (std::size_t i = 0; i < 5; ++i) {
      for (std::size_t j = 0; j < 3; ++j) f[j] += face_by[i][j] * x[i];
    }
    return f;
  }
  [[nodiscard]] double energy(const Five& x, const RingState& ring) const {
    double e = scale * ring.energy;
    for (std::size_t i = 0; i < 5; ++i) e -= load[i] * x[i];
    return e;
  }
};

/// Solves a positive definite system in place by square roots; a pivot lost to rounding counts as the least
/// that keeps the step finite.
Five solved(Square m, Five v) {
  for (std::size_t j = 0; j < 5; ++j) {
    const double full = m[j][j];
    for (std::size_t k = 0; k < j; ++k) m[j][j] -= m[j][k] * m[j][k];
    m[j][j] = std::sqrt(std::max(m[j][j], 1e-15 * full + 1e-300));
    for (std::size_t i = j + 1; i < 5; ++i) {
      for (std::size_t k = 0; k < j; ++k) m[i][j] -= m[i][k] * m[j][k];
      m[i][j] /= m[j][j];
    }
  }
  for (std::size_t i = 0; i < 5; ++i) {
    for (std::size_t k = 0; k < i; ++k) v[i] -= m[i][k] * v[k];
    v[i] /= m[i][i];
  }
  for (std::size_t i = 5; i-- > 0;) {
    for (std::size_t k = i + 1; k < 5; ++k) v[i] -= m[k][i] * v[k];
    v[i] /= m[i][i];
  }
  return v;
}

/// Room left in an end's disc: (1 - |x|^2) / 2.
double room(const Five& x, std::size_t end) {
  const double a = x[2 * end];
  const double b = x[2 * end + 1];
  return (1 - a * a - b * b) / 2;
}

/// Largest step along d that keeps a share `kept` of the room of both ends, at most 1.
double longest(const Five& x, const Five& d, double kept) {
  double step = 1;
  for (std::size_t end = 0; end < 2; ++end) {
    const double dd = d[2 * end] * d[2 * end] + d[2 * end + 1] * d[2 * end + 1];
    const double xd = x[2 * end] * d[2 * end] + x[2 * end + 1] * d[2 * end + 1];
    // (|x + t d|^2 - |x|^2) / 2 = t xd + t^2 dd / 2 must not pass (1 - kept) room.
    const double give = (1 - kept) * room(x, end);
    if (xd + dd / 2 <= give) continue;
    step = std::min(step, 2 * give / (xd + std::sqrt(xd * xd + 2 * dd * give)));
  }
  return step;
}

struct Solution {
  Five x{};
  int steps = 0;
  bool settled = false;
};

/// A barrier keeps both ends inside their discs and is lowered to nothing; directions are primal-dual, and
/// every step lowers the barrier problem's own function, so that each comes to its end from anywhere.
Solution solve(const Problem& p) {
  constexpr double kLeast = 1e-15;  // of the barrier
  constexpr int kMostSteps = 500;
  Solution out;
  Five& x = out.x;
  x[4] = p.start;
  RingState ring = p.rim->ring(p.density, p.face(x));
  double largest = 1;  // of what pushes: load, and the ring where the search begins
  for (std::size_t i = 0; i < 4; ++i) {
    double pushed = 0;
    for (std::size_t j = 0; j < 3; ++j) pushed += p.face_by[i][j] * ring.force[j];
    largest = std::max({largest, std::abs(p.load[i]), std::abs(p.scale * pushed)});
  }
  double barrier = largest;
  std::array<double, 2> push{barrier / room(x, 0), barrier / room(x, 1)};

  while (out.steps < kMostSteps) {
    // Slope of the energy.
    Five slope{};
    for (std::size_t i = 0; i < 5; ++i) {
      for (std::size_t j = 0; j < 3; ++j) slope[i] += p.face_by[i][j] * ring.force[j];
      slope[i] = p.scale * slope[i] - p.load[i];
    }
    // How the ring resists each unknown. Without contact it does not resist at all: then as much as it ever
    // does, which bounds its energy from above.
    const auto& resists = ring.force[0] > 0 ? ring.stiffness : p.full;
    Square m{};
    double terms = largest;  // sizes of what cancels in the balance of forces
    for (std::size_t i = 0; i < 5; ++i) {
      Three row{};
      for (std::size_t j = 0; j < 3; ++j) {
        for (std::size_t k = 0; k < 3; ++k) row[j] += resists[j][k] * p.face_by[i][k];
      }
      double moved = 0;
      for (std::size_t k = 0; k < 5; ++k) {
        for (std::size_t j = 0; j < 3; ++j) m[i][k] += p.scale * row[j] * p.face_by[k][j];
        moved += std::abs(m[i][k] * x[k]);
      }
      terms = std::max(terms, moved);
    }

    double off = std::abs(slope[4]);
    for (std::size_t i = 0; i < 4; ++i) off = std::max(off, std::abs(slope[i] + push[i / 2] * x[i]));
    for (std::size_t end = 0; end < 2; ++end)
      off = std::max(off, std::abs(push[end] * room(x, end) - barrier));
    if (off <= std::max(barrier, 5e-14 * terms)) {
      if (barrier <= kLeast * largest) {
        out.settled = true;
        break;
      }
      const double share = barrier / largest;
      barrier = largest * std::max(kLeast, std::min(0.1 * share, share * std::sqrt(share)));
    }

    Five down{};
    for (std::size_t i = 0; i < 5; ++i) down[i] = -slope[i];
    for (std::size_t end = 0; end < 2; ++end) {
      const double r = room(x, end);
      for (std::size_t i = 2 * end; i < 2 * end + 2; ++i) {
        down[i] -= barrier / r * x[i];
        m[i][i] += push[end];
        for (std::size_t k = 2 * end; k < 2 * end + 2; ++k) m[i][k] += push[end] / r * x[i] * x[k];
      }
    }
    const Five d = solved(m, down);

    double along = 0;
    for (std::size_t i = 0; i < 5; ++i) along += down[i] * d[i];
    const auto merit = [&](const Five& y, const RingState& at) {
      return p.energy(y, at) - barrier * (std::log(room(y, 0)) + std::log(room(y, 1)));
    };
    const double before = merit(x, ring);
    const double rounding = 1e-14 * (std::abs(before) + largest);
    const double kept = std::min(0.1, barrier / largest);
    double step = longest(x, d, kept);
    Five next = x;
    RingState there;
    for (int halved = 0; halved < 60; ++halved, step /= 2) {
      for (std::size_t i = 0; i < 5; ++i) next[i] = x[i] + step * d[i];
      there = p.rim->ring(p.density, p.face(next));
      if (merit(next, there) <= before - 1e-4 * step * along + rounding) break;
    }
    for (std::size_t end = 0; end < 2; ++end) {
      const double r = room(x, end);
      const double xd = x[2 * end] * d[2 * end] + x[2 * end + 1] * d[2 * end + 1];
      const double wanted = barrier / r - push[end] + push[end] / r * xd;
      double share = 1;
      if (wanted < 0) share = std::min(1.0, -(1 - kept) * push[end] / wanted);
      push[end] += share * wanted;
      // Near what the barrier itself would push.
      const double pure = barrier / room(next, end);
      push[end] = std::clamp(push[end], pure / 1e10, pure * 1e10);
    }
    x = next;
    ring = there;
    ++out.steps;
  }
  return out;
}

Expected<void> possible(const Freedom& f, const Seat& s, const Push& p) {
  const auto above = [](auto q) { return q.raw() > 0 && is_finite(q); };
  const auto not_below = [](auto q) { return q.raw() >= 0 && is_finite(q); };
  if (!above(f.key_length)) return fail(Fault::geometry, "a key of no length", "a key length above 0");
  if (!not_below(f.upper_clearance) || !not_below(f.lower_clearance))
    return fail(Fault::geometry, "a clearance below 0", "0 or more");
  if (!above(s.pad.tone_hole)) return fail(Fault::geometry, "a tone hole of no size", "a diameter above 0");
  if (!above(s.pad.arm)) return fail(Fault::geometry, "a pad without an arm", "an arm above 0");
  if (!is_finite(s.pad.station) || !is_finite(s.pad.clock))
    return fail(Fault::geometry, "a pad at no place", "a station and a clock angle");
  if (!above(s.stiffness)) return fail(Fault::geometry, "a pad without stiffness", "a stiffness above 0");
  if (!is_finite(s.side) || !is_finite(s.front))
    return fail(Fault::geometry, "a pad that stands off without end", "finite openings");
  if (!s.dips.empty() && s.dips.size() < 3)
    return fail(Fault::geometry, "too few dips round a rim", "none, or 3 and more");
  if (!std::all_of(s.dips.begin(), s.dips.end(), [](Length d) { return is_finite(d); }))
    return fail(Fault::geometry, "a dip without end", "finite dips");
  if (!is_finite(p.station) || !is_finite(p.clock) || !not_below(p.arm))
    return fail(Fault::geometry, "a touch at no place", "station, clock angle and an arm of 0 or more");
  if (!not_below(p.finger)) return fail(Fault::geometry, "a finger that pulls", "a force of 0 or more");
  if (!is_finite(p.spring)) return fail(Fault::geometry, "a spring without end", "a finite torque");
  return {};
}

}  // namespace

Expected<Pressed> press(const Freedom& freedom, const Seat& seat, const Push& push) {
  if (const auto ok = possible(freedom, seat, push); !ok) return tl::unexpected(ok.error());
  Pressed out;
  const double torque = push.finger.raw() * push.arm.raw() + push.spring.raw();
  const DippedRim rim(seat.dips);
  const double radius = seat.pad.tone_hole.raw() / 2;
  const double arm = seat.pad.arm.raw();
  const double load = torque / arm;
  if (!(load > 0)) return out;
  out.closes = true;

  const double depth = load / seat.stiffness.raw();
  const double cu = freedom.upper_clearance.raw();
  const double cl = freedom.lower_clearance.raw();
  const double key = freedom.key_length.raw();
  const double s = seat.pad.station.raw() / key;
  const double f = push.station.raw() / key;
  const double between = push.clock.raw() - seat.pad.clock.raw();
  const double across = push.finger.raw() * std::cos(between);
  const double along = -push.finger.raw() * std::sin(between);

  Problem p;
  p.rim = &rim;
  p.density = seat.stiffness.raw() / (2 * pi);
  p.scale = 1 / (load * depth);
  p.face_by[0] = {(1 - s) * cu, -radius / key * cu, 0};
  p.face_by[2] = {s * cl, radius / key * cl, 0};
  p.face_by[4] = {depth, 0, radius / arm * depth};
  p.face_at_zero = {0, -seat.side.raw() / 2, -seat.front.raw() / 2};
  p.full[0][0] = seat.stiffness.raw();
  p.full[1][1] = p.full[2][2] = seat.stiffness.raw() / 2;
  p.start = 1 + (rim.lowest() + std::abs(p.face_at_zero[1]) + std::abs(p.face_at_zero[2])) / depth;
  p.load = {p.scale * across * (1 - f) * cu, p.scale * along * (1 - f) * cu, p.scale * across * f * cl,
            p.scale * along * f * cl, 1};
  const Solution solution = solve(p);
  if (!solution.settled) {
    return fail(Fault::geometry, "a key whose forces and plays lie too far apart to find how it sits",
                "clearances, stiffness and forces of a key");
  }
  const Five& x = solution.x;

  // From the pad's frame: along its turning direction and along its arm.
  const double phi = seat.pad.clock.raw();
  const auto turned = [&](double turning, double radial) {
    return mechanism::Across{radial * std::cos(phi) - turning * std::sin(phi),
                             radial * std::sin(phi) + turning * std::cos(phi)};
  };
  out.upper = turned(cu * x[0], cu * x[1]);
  out.lower = turned(cl * x[2], cl * x[3]);
  const Three face = p.face(x);
  const RingState ring = rim.ring(p.density, face);
  out.turn = Angle::of(depth * x[4] / arm);
  out.energy = p.energy(x, ring) / p.scale;
  out.pad = Force::of(ring.force[0]);
  out.steps = solution.steps;
  const double tilt = std::hypot(face[1], face[2]);
  out.gap = {Length::of(-face[0]), Length::of(tilt)};
  if (rim.level()) {
    out.deepest = Length::of(std::max(0.0, face[0] + tilt));
    out.widest = Length::of(std::max(0.0, tilt - face[0]));
    out.contact_share = 1 - open_share(out.gap);
    return out;
  }
  std::size_t carrying = 0;
  for (std::size_t k = 0; k < rim.size(); ++k) {
    const Length compression = Length::of(rim.compression(k, face));
    out.gaps.push_back(-compression);
    out.deepest = std::max(out.deepest, compression);
    out.widest = std::max(out.widest, -compression);
    if (compression.raw() > 0) ++carrying;
  }
  out.contact_share = static_cast<double>(carrying) / static_cast<double>(rim.size());
  return out;
}

Expected<Leak> leak(const Pressed& pressed, const Rim& rim, const Conditions& conditions) {
  return pressed.gaps.empty() ? leak(pressed.gap, rim, conditions)
                              : leak(std::span(pressed.gaps), rim, conditions);
}

std::vector<PlaceOfKey> places_of(const mechanism::Play& play) {
  using mechanism::Side;
  std::vector<PlaceOfKey> out;
  for (std::size_t k = 0; k < play.knots(); ++k) {
    out.push_back(
        {play.place(k), {play.key_length(), play.clearance(Side::upper, k), play.clearance(Side::lower, k)}});
  }
  return out;
}

Expected<std::vector<Pressed>> press_everywhere(std::span<const PlaceOfKey> places, const Seat& seat,
                                                const Push& push) {
  if (places.empty()) return fail(Fault::geometry, "a key that binds has no way to sit", "a free key");
  std::vector<Pressed> out;
  out.reserve(places.size());
  for (const PlaceOfKey& at : places) {
    auto pressed = press(at.freedom, seat, push);
    if (!pressed) return tl::unexpected(pressed.error());
    out.push_back(std::move(*pressed));
  }
  return out;
}

Expected<PressedAnywhere> leakiest(std::span<const PlaceOfKey> places, std::span<const Pressed> pressed,
                                   const Rim& rim, const Conditions& conditions) {
  PressedAnywhere out;
  std::size_t worst = 0;
  for (std::size_t k = 0; k < pressed.size(); ++k) {
    const auto l = leak(pressed[k], rim, conditions);
    if (!l) return tl::unexpected(l.error());
    // Of places that leak alike the one where the pad is pressed least.
    if (k == 0 || l->flow > out.leak.flow ||
        (l->flow == out.leak.flow && pressed[k].deepest < pressed[worst].deepest)) {
      worst = k;
      out.leak = *l;
    }
    if (k == 0 || l->flow < out.least.flow) out.least = *l;
  }
  out.pressed = pressed[worst];
  out.place = places[worst].place;
  return out;
}

Expected<PressedAnywhere> press_anywhere(std::span<const PlaceOfKey> places, const Seat& seat,
                                         const Push& push, const Rim& rim, const Conditions& conditions) {
  const auto pressed = press_everywhere(places, seat, push);
  if (!pressed) return tl::unexpected(pressed.error());
  return leakiest(places, *pressed, rim, conditions);
}

}  // namespace hingeline::seal
