#include "hingeline/regulation/regulation.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "pair.h"

namespace hingeline::regulation {
namespace {

/// A closing angle over one cork's change: the least of rise x change + start.
struct Line {
  double rise = 0;
  double start = 0;
};

/// The lower envelope, from the thinner side: each line with where it begins to be the least.
struct Lowest {
  std::vector<Line> lines;
  std::vector<double> from;
};

Lowest lowest(std::vector<Line> lines) {
  // Far on the thinner side the line with the greatest rise is the least.
  std::stable_sort(lines.begin(), lines.end(), [](const Line& a, const Line& b) {
    return a.rise != b.rise ? a.rise > b.rise : a.start < b.start;
  });
  Lowest out;
  for (const Line& line : lines) {
    if (!out.lines.empty() && out.lines.back().rise == line.rise) continue;
    double from = -std::numeric_limits<double>::infinity();
    while (!out.lines.empty()) {
      from = (line.start - out.lines.back().start) / (out.lines.back().rise - line.rise);
      if (from > out.from.back()) break;
      out.lines.pop_back();
      out.from.pop_back();
      from = -std::numeric_limits<double>::infinity();
    }
    out.lines.push_back(line);
    out.from.push_back(from);
  }
  return out;
}

const Line& line_at(const Lowest& l, double x) {
  std::size_t n = 0;
  while (n + 1 < l.lines.size() && l.from[n + 1] <= x) ++n;
  return l.lines[n];
}

/// Closing angle of `target` from `driver` over the change of the cork of `changed`.
Lowest closing_over_cork(const Core& core, std::size_t driver, std::size_t target, std::size_t changed) {
  std::vector<std::vector<Line>> need(core.keys.size());
  need[target] = {{0, core.keys[target].seat()}};
  for (auto k = core.order.rbegin(); k != core.order.rend(); ++k) {
    if (*k == driver) break;
    if (need[*k].empty()) continue;
    const Lowest at = lowest(std::move(need[*k]));
    for (const std::size_t n : core.into[*k]) {
      const CoreLink& l = core.links[n];
      for (const Line& line : at.lines) {
        need[l.from].push_back({(l.foot_arm * line.rise - (n == changed ? 1 : 0)) / l.driver_arm,
                                (l.loses() + l.foot_arm * line.start) / l.driver_arm});
      }
    }
  }
  return lowest(std::move(need[driver]));
}

/// Changes within [low, high] at which second - first + offset is 0, one or two for each linear piece.
std::vector<double> meets(const Lowest& first, const Lowest& second, double offset, double low, double high) {
  std::vector<double> ends{low, high};
  for (const Lowest* l : {&first, &second}) {
    for (const double x : l->from) {
      if (x > low && x < high) ends.push_back(x);
    }
  }
  std::sort(ends.begin(), ends.end());
  std::vector<double> out;
  for (std::size_t n = 0; n + 1 < ends.size(); ++n) {
    const double a = ends[n];
    const double b = ends[n + 1];
    const double inside = std::isfinite(a) && std::isfinite(b) ? (a + b) / 2
                          : std::isfinite(a)                   ? a + 1
                          : std::isfinite(b)                   ? b - 1
                                                               : 0;
    const Line& f = line_at(first, inside);
    const Line& s = line_at(second, inside);
    const double rise = s.rise - f.rise;
    const double start = s.start - f.start + offset;
    if (rise != 0) {
      const double x = -start / rise;
      constexpr double kSlip = 1e-12;
      if (x >= a - kSlip && x <= b + kSlip) out.push_back(std::clamp(x, a, b));
    } else if (start == 0) {
      out.push_back(std::clamp(0.0, a, b));
    }
  }
  return out;
}

}  // namespace

double PairCore::late(const Core& core) const {
  const auto motion = core.motion(under);
  return reaches(motion[second], core.keys[second].seat()) - reaches(motion[first], core.keys[first].seat());
}

double PairCore::gap(const Core& core) const {
  const auto motion = core.motion(under);
  const CoreKey& f = core.keys[first];
  const CoreKey& s = core.keys[second];
  const double at_first = reaches(motion[first], f.seat());
  const double at_second = reaches(motion[second], s.seat());
  if (at_first <= at_second) return std::max(0.0, s.opening - s.arm * angle_at(motion[second], at_first));
  return -std::max(0.0, f.opening - f.arm * angle_at(motion[first], at_second));
}

double PairCore::to_angle(double at_pad) const { return at_pad / (at_pad < 0 ? per_first : per_second); }
double PairCore::to_pad(double angle) const { return angle * (angle < 0 ? per_first : per_second); }

Expected<PairCore> pair_core(const Chain& chain, const Core& core, const Pair& pair) {
  const std::size_t count = chain.keys().size();
  if (pair.first >= count || pair.second >= count || pair.under >= count)
    return fail(Fault::not_found, "a pair names a key that is not there");
  const auto& keys = chain.keys();
  if (pair.first == pair.second)
    return fail(Fault::content, fmt::format("{} cannot close together with itself", keys[pair.first].name),
                "two different keys");
  PairCore out;
  out.first = pair.first;
  out.second = pair.second;
  out.under = pair.under;
  const auto motion = core.motion(pair.under);
  for (const std::size_t k : {pair.first, pair.second}) {
    if (!keys[k].pad)
      return fail(Fault::content, fmt::format("{} has no pad to close", keys[k].name),
                  "a key whose pad arm and opening are given");
    auto c = core_closing(core, motion, pair.under, k);
    if (c && c->at_rest)
      return fail(Fault::geometry,
                  fmt::format("{} is closed before {} is pressed", keys[k].name, keys[pair.under].name),
                  "a pad that stands open at rest, with no cork so thick that it holds the pad closed");
    if (!c)
      return fail(Fault::content,
                  fmt::format("pressing {} does not move {}", keys[pair.under].name, keys[k].name),
                  "a link, or links one after another, from the pressed key");
    const double per = core.keys[k].arm * c->pad_ratio;
    (k == pair.first ? out.first_closing : out.second_closing) = std::move(*c);
    (k == pair.first ? out.per_first : out.per_second) = per;
  }
  const double reckoned = out.late(core);
  if (pair.read) {
    const auto gap = [&](const Core& c) { return out.gap(c); };
    const double value = gap(core);
    const double read = pair.read->value.raw();
    if (pair.read_share) {
      out.read_share = *pair.read_share;
    } else {
      const double read_standard = pair.read->standard().raw();
      const double chain_standard = spread(chain, core, gap);
      const double both = chain_standard * chain_standard + read_standard * read_standard;
      out.contradicts = std::abs(value - read) > 3 * std::sqrt(both);
      out.read_share = out.contradicts || !(both > 0) ? 1 : chain_standard * chain_standard / both;
    }
    out.offset = out.read_share * (out.to_angle(read) - reckoned);
  }
  return out;
}

Expected<Together> together(const Chain& chain, const Pair& pair) {
  const Core core(chain);
  auto made = pair_core(chain, core, pair);
  if (!made) return tl::unexpected(made.error());
  const PairCore& p = *made;
  const auto closing_of = [](const CoreClosing& c) {
    return Closing{radians(c.driver), c.pad_ratio, c.path, c.at_rest};
  };
  Together out;
  out.first = closing_of(p.first_closing);
  out.second = closing_of(p.second_closing);
  out.contradicts = p.contradicts;
  out.reckoned = figure<Length>(chain, core, [&](const Core& c) { return p.gap(c); });
  out.gap = out.reckoned;
  if (pair.read) {
    out.read = Figure<Length>{pair.read->value, pair.read->standard()};
    const double r = p.read_share;
    out.gap = {out.read->value * r + out.reckoned.value * (1 - r),
               millimetres(std::hypot(r * out.read->standard.raw(), (1 - r) * out.reckoned.standard.raw()))};
  }
  return out;
}

namespace {

/// The smallest change of that cork within the room that closes the pair together.
std::optional<Cure> cure_by(const Chain& chain, const Core& core, const Pair& pair, const PairCore& p,
                            std::size_t n, const Room& room) {
  const double low = room.thinner.raw();
  const double high = room.thicker.raw();
  if (!(low < high)) return std::nullopt;
  const Lowest first = closing_over_cork(core, p.under, p.first, n);
  const Lowest second = closing_over_cork(core, p.under, p.second, n);
  std::vector<double> found = meets(first, second, p.offset, low, high);
  std::sort(found.begin(), found.end(), [](double a, double b) {
    return std::abs(a) != std::abs(b) ? std::abs(a) < std::abs(b) : a < b;
  });
  for (const double change : found) {
    // The lines know nothing of a key that is held closed at rest: what the whole chain says counts.
    Core changed = core;
    changed.links[n].gap -= change;
    const auto motion = changed.motion(p.under);
    const auto f = core_closing(changed, motion, p.under, p.first);
    const auto s = core_closing(changed, motion, p.under, p.second);
    if (!f || !s || f->at_rest || s->at_rest) continue;
    if (std::abs(s->driver - f->driver + p.offset) > 1e-9) continue;
    const auto weight = [n](const CoreClosing& c, const Core& in) {
      double per = 1;
      for (const std::size_t l : c.path) {
        if (l == n) return per / in.links[l].driver_arm;
        per *= in.links[l].foot_arm / in.links[l].driver_arm;
      }
      return 0.0;
    };
    // Thicker by one brings the closing angle down by this.
    const double per_cork = weight(*f, changed) - weight(*s, changed);
    if (per_cork == 0) continue;
    const bool second_late = p.late(core) + p.offset >= 0;
    const double per_pad = second_late ? p.per_second : p.per_first;
    // What the chain's inputs do to what is left after the change, the reading's share held to it.
    const double reckoned_share = 1 - p.read_share;
    const double spread_left = spread(chain, core, [&](const Core& c) {
      Core with = c;
      with.links[n].gap -= change;
      const double after = p.late(with);
      if (!pair.read) return after;
      return reckoned_share * after + p.read_share * (after - p.late(c));
    });
    const double read_part = pair.read ? p.read_share * pair.read->standard().raw() / per_pad : 0;
    const double standard = std::hypot(spread_left, read_part) / std::abs(per_cork);
    return Cure{n, {millimetres(change), millimetres(standard)}, per_cork * per_pad};
  }
  return std::nullopt;
}

constexpr Room kAnyRoom{millimetres(-std::numeric_limits<double>::infinity()),
                        millimetres(std::numeric_limits<double>::infinity())};

}  // namespace

Expected<std::vector<Cure>> cures(const Chain& chain, const Pair& pair, std::span<const Room> rooms) {
  const Core core(chain);
  auto made = pair_core(chain, core, pair);
  if (!made) return tl::unexpected(made.error());
  std::vector<Cure> out;
  for (std::size_t n = 0; n < core.links.size(); ++n) {
    if (auto one = cure_by(chain, core, pair, *made, n, rooms.empty() ? kAnyRoom : rooms[n]))
      out.push_back(*one);
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Cure& a, const Cure& b) { return abs(a.thicker.value) < abs(b.thicker.value); });
  return out;
}

Expected<std::optional<Cure>> cure(const Chain& chain, const Pair& pair, std::size_t link) {
  const Core core(chain);
  auto made = pair_core(chain, core, pair);
  if (!made) return tl::unexpected(made.error());
  return cure_by(chain, core, pair, *made, link, kAnyRoom);
}

Chain with_corks(const Chain& chain, std::span<const Length> thicker) {
  std::vector<Link> links = chain.links();
  for (std::size_t n = 0; n < links.size(); ++n) links[n].gap.value -= thicker[n];
  // Only gaps have moved: what could be still can.
  return *Chain::make(chain.keys(), std::move(links));
}

Sheets choose_sheets(std::span<const Length> thicknesses, Length wanted) {
  Sheets out;
  for (std::size_t n = 0; n < thicknesses.size(); ++n) {
    const Sheet sheet{n, wanted - thicknesses[n]};
    const auto thickness = [&](const std::optional<Sheet>& s) { return thicknesses[s->index]; };
    if (!out.nearest || abs(sheet.left) < abs(out.nearest->left) ||
        (abs(sheet.left) == abs(out.nearest->left) && thicknesses[n] < thickness(out.nearest)))
      out.nearest = sheet;
    if (thicknesses[n] >= wanted && (!out.to_sand || thicknesses[n] < thickness(out.to_sand)))
      out.to_sand = sheet;
  }
  return out;
}

std::vector<StopEffect> stop_effects(const Chain& chain, std::size_t key, Length wider) {
  std::vector<StopEffect> out;
  const auto& pad = chain.keys()[key].pad;
  if (!pad) return out;
  const double back = wider / pad->arm.value;
  for (std::size_t n = 0; n < chain.links().size(); ++n) {
    const Link& l = chain.links()[n];
    if (l.from == key) out.push_back({n, l.driver_arm.value * back});
    if (l.to == key) out.push_back({n, -l.foot_arm.value * back});
  }
  return out;
}

std::vector<WorkEffect> work_effects(const Chain& chain, std::span<const FitWork> work) {
  std::vector<WorkEffect> out;
  for (std::size_t n = 0; n < chain.links().size(); ++n) {
    const Link& l = chain.links()[n];
    WorkEffect effect{n, {}, {}};
    bool reached = false;
    for (const FitWork& w : work) {
      if (w.key != l.from && w.key != l.to) continue;
      reached = true;
      effect.by_shift += (w.key == l.from ? w.shift : -w.shift) * tan(l.tilt.value);
      effect.by_rock += w.rock_taken;
    }
    if (reached) out.push_back(effect);
  }
  return out;
}

Chain after_work(const Chain& chain, std::span<const FitWork> work) {
  std::vector<Link> links = chain.links();
  for (const WorkEffect& e : work_effects(chain, work)) {
    Link& l = links[e.link];
    l.gap.value += e.by_shift;
    const Length half = std::min(e.by_rock / 2, l.slack.value);
    l.slack.value -= half;
    // The range of the slack, 0 to twice its middle, closes up with it.
    if (l.slack.origin == Origin::unknown) l.slack.plus_minus = std::max(Length{}, l.slack.plus_minus - half);
  }
  return *Chain::make(chain.keys(), std::move(links));
}

}  // namespace hingeline::regulation
