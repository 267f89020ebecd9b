#include "hingeline/rods/rod.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>
#include <tuple>

namespace hingeline::rods {
namespace {

bool above_zero(Length l) { return is_finite(l) && l.raw() > 0; }
bool not_below_zero(Length l) { return is_finite(l) && l.raw() >= 0; }

tl::unexpected<Error> impossible(std::string what, std::string expected) {
  return fail(Fault::geometry, std::move(what), std::move(expected));
}

bool is_tube(const TubeWall& tube) {
  return above_zero(tube.bore) && is_finite(tube.outside) && tube.outside > tube.bore;
}

constexpr const char* kNotATube = "this is not a tube";
constexpr const char* kATube = "a bore above 0 and an outside diameter larger than it";

/// After squeezing so that the mean diameter is the q-th part of what it was; log q given.
Swedged squeezed(const TubeWall& tube, Length length, double log_q, double share) {
  Swedged out;
  const Length mean = tube.mean() * std::exp(-log_q);
  const Length wall = tube.wall() * std::exp((1 - share) * log_q);
  out.growth = length * std::expm1(share * log_q);
  out.tube = {mean + wall, mean - wall};
  // Not bore - bore: for a light squeeze that would leave only the roundings.
  out.closes = tube.wall() * std::expm1((1 - share) * log_q) - tube.mean() * std::expm1(-log_q);
  return out;
}

Expected<void> check(const TubeWall& tube, Length length, double share, bool all_into_the_wall) {
  if (!is_tube(tube)) return impossible(kNotATube, kATube);
  if (!above_zero(length)) return impossible("nothing to squeeze", "a length above 0");
  const bool allowed = share <= 1 && (all_into_the_wall ? share >= 0 : share > 0);
  if (!allowed) return impossible("no such share of what a squeeze displaces goes into length", "0 to 1");
  return {};
}

Expected<Swedged> with_a_bore(const Swedged& s) {
  if (!above_zero(s.tube.bore)) return impossible("the squeeze leaves no bore", "less");
  return s;
}

}  // namespace

Expected<Length> rock_at(Length clearance, Length tube_length, Length station) {
  if (!above_zero(tube_length)) return impossible("the tube has no length", "a length above 0");
  if (!is_finite(clearance) || !is_finite(station)) return impossible("not a length", "a finite number");
  if (clearance.raw() <= 0) return Length{};
  const double s = station / tube_length;
  return clearance * (2 * (std::abs(1 - s) + std::abs(s)));
}

const char* word(BowRegime regime) {
  switch (regime) {
    case BowRegime::free:
      return "free";
    case BowRegime::three_points:
      return "three points";
    case BowRegime::lies_flat:
      return "lies flat";
    case BowRegime::no_room:
      break;
  }
  return "no room";
}

Expected<BowInTube> bow_in_tube(const RodShaft& rod, const Bearing& tube, double friction) {
  if (!above_zero(rod.diameter) || !above_zero(tube.bore) || !above_zero(tube.length)) {
    return impossible("a rod or tube without size", "diameters and a length above 0");
  }
  if (!not_below_zero(rod.bow) || (rod.bow.raw() > 0 && !above_zero(rod.over))) {
    return impossible("no such bow", "0 or more, and the length above 0 that it was read over");
  }
  if (!(rod.modulus.raw() > 0) || !is_finite(rod.modulus)) return impossible("no such modulus", "above 0");
  if (!(friction >= 0) || !std::isfinite(friction)) return impossible("no such friction", "0 or more");
  if (tube.each_end && !above_zero(*tube.each_end)) {
    return impossible("a bearing without length", "above 0, or none given");
  }
  const double length = tube.length.raw();
  const double a = tube.each_end ? std::min(tube.each_end->raw(), length / 2) : length / 2;
  const double curvature = rod.bow.raw() > 0 ? 8 * rod.bow.raw() / (rod.over.raw() * rod.over.raw()) : 0;

  BowInTube out;
  out.bow = Length::of(curvature * a * (length - a) / 2);
  out.room = tube.bore - rod.diameter;
  out.excess = out.bow - out.room;
  if (out.room.raw() <= 0) {
    out.regime = BowRegime::no_room;
    return out;
  }
  double each = 0;
  if (out.excess.raw() > 0) {
    const double d2 = rod.diameter.raw() * rod.diameter.raw();
    // N mm2: pascals are 1e-6 N/mm2.
    const double stiffness = rod.modulus.raw() * 1e-6 * std::numbers::pi * d2 * d2 / 64;
    each = 6 * stiffness * out.excess.raw() / (a * a * (3 * length - 4 * a));
    out.regime = BowRegime::three_points;
    if (const double flat = std::sqrt(6 * out.room.raw() / curvature); flat < a) {
      each = stiffness * curvature / flat;
      out.regime = BowRegime::lies_flat;
    }
  }
  out.middle = newtons(2 * each);
  out.friction = newton_millimetres(friction * rod.diameter.raw() / 2 * 4 * each);
  return out;
}

Expected<Swedged> swedge(const TubeWall& tube, Length length, Length squeeze, double share) {
  if (auto sound = check(tube, length, share, true); !sound) return tl::unexpected(sound.error());
  if (!not_below_zero(squeeze) || squeeze >= tube.mean()) {
    return impossible("no such squeeze", "0 or more, less than the tube");
  }
  return with_a_bore(squeezed(tube, length, -std::log1p(-(squeeze / tube.mean())), share));
}

Expected<Swedged> swedge_to_grow(const TubeWall& tube, Length length, Length growth, double share) {
  if (auto sound = check(tube, length, share, false); !sound) return tl::unexpected(sound.error());
  if (!not_below_zero(growth)) return impossible("no such growth", "0 or more");
  return with_a_bore(squeezed(tube, length, std::log1p(growth / length) / share, share));
}

Expected<Swedged> swedge_to_close(const TubeWall& tube, Length length, Length closes, double share) {
  if (auto sound = check(tube, length, share, true); !sound) return tl::unexpected(sound.error());
  if (!not_below_zero(closes) || closes >= tube.bore) {
    return impossible("no such closing of a bore", "0 or more, less than the bore");
  }
  // The bore closes steadily with log q, and never slower than the mean diameter alone does.
  double low = 0;
  double high = -std::log1p(-(closes / tube.mean()));
  while (true) {
    const double middle = low + (high - low) / 2;
    if (middle <= low || middle >= high) break;
    (squeezed(tube, length, middle, share).closes < closes ? low : high) = middle;
  }
  return with_a_bore(squeezed(tube, length, high, share));
}

Expected<ClearanceWindow> clearance_window(mechanism::RunningFit fit, Length rod) {
  return mechanism::fit_clearance(fit, rod).map([](const mechanism::FitClearance& c) {
    return ClearanceWindow{c.least, c.most};
  });
}

namespace {

Expected<void> check(const RodQuestion& question, std::span<const Length> rods) {
  if (question.tubes.empty()) return impossible("no tube to run on the rod", "one or more");
  for (const RunningTube& t : question.tubes) {
    if (!is_tube(t.tube)) return impossible(kNotATube, kATube);
    if (!above_zero(t.length)) return impossible("a tube has no length", "a length above 0");
  }
  if (!above_zero(question.now)) return impossible("the rod has no diameter", "above 0");
  if (!not_below_zero(question.least_wall) || !not_below_zero(question.guard)) {
    return impossible("no such limit", "0 or more");
  }
  for (const Length rod : rods) {
    if (!above_zero(rod)) return impossible("a rod of the list has no diameter", "above 0");
  }
  return {};
}

RodChoice judge(const RodQuestion& question, std::size_t place, Length rod, const ClearanceWindow& window) {
  RodChoice out;
  out.rod = place;
  out.diameter = rod;
  out.changes = rod != question.now;
  out.window = window;
  if (out.changes) out.minutes = question.rod_change;
  const Length guard = std::min(question.guard, (window.most - window.least) / 2.0);
  const auto trouble = [&](RodTrouble what, std::size_t tube, Length by) {
    // A bore that is too wide cannot be mended by anything here, so it outranks the rest.
    const auto rank = [](RodTrouble t) { return t == RodTrouble::too_thin ? 1 : 0; };
    if (out.trouble == RodTrouble::none ||
        std::tuple(rank(what), by) > std::tuple(rank(out.trouble), out.by)) {
      out.trouble = what;
      out.tube = tube;
      out.by = by;
    }
  };
  for (std::size_t k = 0; k < question.tubes.size(); ++k) {
    const RunningTube& t = question.tubes[k];
    TubeOnRod on;
    const Length room = t.tube.bore - rod;
    if (room > window.most) trouble(RodTrouble::too_thin, k, room - window.most);
    if (room < window.least) on.ream = rod + window.least + guard - t.tube.bore;
    on.clearance = room + on.ream;
    on.wall = t.tube.wall() - on.ream / 2.0;
    if (on.ream.raw() > 0) {
      if (!t.may_ream) trouble(RodTrouble::may_not, k, on.ream);
      if (on.wall < question.least_wall) trouble(RodTrouble::wall, k, question.least_wall - on.wall);
      out.metal +=
          std::numbers::pi / 4 * on.ream.raw() * (2 * t.tube.bore.raw() + on.ream.raw()) * t.length.raw();
      out.minutes += question.ream_set_up;
    }
    out.tubes.push_back(on);
  }
  return out;
}

void sort(std::vector<RodChoice>& choices) {
  std::stable_sort(choices.begin(), choices.end(), [](const RodChoice& a, const RodChoice& b) {
    const auto order = [](const RodChoice& c) {
      const bool bad = c.trouble != RodTrouble::none;
      return std::tuple(bad, bad ? c.by.raw() : c.metal, c.minutes, c.diameter);
    };
    return order(a) < order(b);
  });
}

}  // namespace

Expected<std::vector<RodChoice>> choose_rod(const RodQuestion& question, std::span<const Length> rods,
                                            mechanism::RunningFit fit) {
  if (auto sound = check(question, rods); !sound) return tl::unexpected(sound.error());
  std::vector<RodChoice> out;
  for (std::size_t k = 0; k < rods.size(); ++k) {
    const auto window = clearance_window(fit, rods[k]);
    if (!window) return tl::unexpected(window.error());
    out.push_back(judge(question, k, rods[k], *window));
  }
  sort(out);
  return out;
}

Expected<std::vector<RodChoice>> choose_rod(const RodQuestion& question, std::span<const Length> rods,
                                            const ClearanceWindow& window) {
  if (auto sound = check(question, rods); !sound) return tl::unexpected(sound.error());
  if (!above_zero(window.least) || !is_finite(window.most) || window.most < window.least) {
    return impossible("no such clearance window", "a least above 0 and a most not below it");
  }
  std::vector<RodChoice> out;
  for (std::size_t k = 0; k < rods.size(); ++k) out.push_back(judge(question, k, rods[k], window));
  sort(out);
  return out;
}

}  // namespace hingeline::rods
