#include "hingeline/contact/joint.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <memory_resource>

namespace hingeline::contact {
namespace {

constexpr double kNever = std::numeric_limits<double>::infinity();
/// From here to the home insertion the last straight piece of a clearance curve is taken, mm.
constexpr double kJustBefore = 1e-6;

/// One way the point can be stopped: a vertex of one meeting the other.
struct Stop {
  double insertion = kNever;
  Regime regime = Regime::none;
  double depth = 0;
  double radius = 0;
  double steepness = 0;  // of the wall it meets, dr per axial mm; infinite for a step
};

Regime regime_of_point_vertex(const Profile& point, std::size_t j, bool on_floor) {
  if (on_floor) return Regime::floor;
  if (point.rounded(j)) return Regime::round;
  return point.vertices()[j].along.raw() == 0 ? Regime::tip_edge : Regime::point_edge;
}

/// First place inwards where the hole is narrower than the point's vertex j.
Stop stop_of_point_vertex(const Profile& point, const Profile& hole, std::size_t j) {
  const double s = point.vertices()[j].along.raw();
  const double r = point.vertices()[j].radius.raw();
  const auto wall = hole.vertices();
  for (std::size_t k = 0; k < wall.size(); ++k) {
    const double here = wall[k].radius.raw();
    if (here >= r) continue;
    const bool on_floor =
        k > hole.floor_begin() || (k == hole.floor_begin() && k > 0 && wall[k].radius.raw() == 0);
    // A tip too wide for the mouth stands on the end face.
    if (k == 0) return {s, s == 0 ? Regime::shoulder : regime_of_point_vertex(point, j, false), 0, r, kNever};
    const double before = wall[k - 1].radius.raw();
    const double run = (wall[k].along - wall[k - 1].along).raw();
    const double depth = wall[k - 1].along.raw() + run * ((before - r) / (before - here));
    const bool step = run <= 0;
    // A flank that runs out on the axis has no floor but its own end. A ledge stops like a floor.
    const bool floor_hit = step || (on_floor && k > hole.floor_begin());
    return {depth + s, regime_of_point_vertex(point, j, floor_hit), depth, r,
            step ? kNever : (before - here) / run};
  }
  if (!hole.closed()) return {};
  const double depth = hole.length().raw();
  return {depth + s, Regime::floor, depth, r, kNever};
}

/// First place backwards from the tip where the point is wider than the hole's vertex i.
Stop stop_of_hole_vertex(const Profile& point, const Profile& hole, std::size_t i) {
  const double y = hole.vertices()[i].along.raw();
  const double r = hole.vertices()[i].radius.raw();
  const bool on_floor = i > hole.floor_begin();
  const auto flank = point.vertices();
  for (std::size_t k = 0; k < flank.size(); ++k) {
    const double here = flank[k].radius.raw();
    if (here <= r) continue;
    const auto regime = [&](bool step, bool round) {
      if (on_floor) return Regime::floor;
      if (step) return Regime::shoulder;
      if (round) return Regime::round;
      return i == 0 ? Regime::rim : Regime::inner_edge;
    };
    // A tip wider than the hole there: the tip's own edge tells where, not the hole's vertex.
    if (k == 0) return {y, i == 0 ? Regime::rim : regime(false, false), y, r, kNever};
    const double before = flank[k - 1].radius.raw();
    const double run = (flank[k].along - flank[k - 1].along).raw();
    const double s = flank[k - 1].along.raw() + run * ((r - before) / (here - before));
    const bool step = run <= 0;
    return {y + s, regime(step, point.rounded(k) && point.rounded(k - 1)), y, r,
            step ? kNever : (here - before) / run};
  }
  return {};
}

double radius_between(const Vertex& a, const Vertex& b, double along) {
  const double run = (b.along - a.along).raw();
  return run <= 0 ? b.radius.raw()
                  : a.radius.raw() + (b.radius - a.radius).raw() * ((along - a.along.raw()) / run);
}

/// Smaller radius of the hole at `along`, both sides of a step looked at.
double narrowest_at(const Profile& hole, double along) {
  const auto v = hole.vertices();
  double r = kNever;
  for (std::size_t k = 0; k + 1 < v.size(); ++k) {
    if (along < v[k].along.raw() || along > v[k + 1].along.raw()) continue;
    if (v[k].along == v[k + 1].along) {
      // Only the floor's step counts as wall from inside: passing it is judged by insertion.
      r = std::min(r, std::max(v[k].radius.raw(), v[k + 1].radius.raw()));
    } else {
      r = std::min(r, radius_between(v[k], v[k + 1], along));
    }
  }
  return r;
}

/// A straight piece of one candidate of the clearance: value at the interval's left end and slope.
struct Line {
  double start;
  double slope;
};

/// Smallest and largest radius over [from, to], which lies within the profile; both radii of a step count.
struct Radii {
  double least = kNever;
  double most = 0;
};
Radii radii_over(std::span<const Vertex> v, double from, double to) {
  const auto at_or_after =
      std::lower_bound(v.begin(), v.end(), from, [](const Vertex& w, double x) { return w.along.raw() < x; });
  // The segments that reach into the range; their ends stand for the range's own, so the bounds are wide
  // enough.
  auto k = at_or_after == v.begin() ? at_or_after : at_or_after - 1;
  Radii r;
  for (; k != v.end(); ++k) {
    r.least = std::min(r.least, k->radius.raw());
    r.most = std::max(r.most, k->radius.raw());
    if (k->along.raw() > to) break;
  }
  return r;
}

/// The vertices of both profiles that can decide the clearance somewhere in (from, to).
struct Deciding {
  std::pmr::vector<Vertex> wall;
  std::pmr::vector<Vertex> flank;
};

/// Leaves out every vertex whose distance from the other profile stays above one that another never exceeds:
/// of a rounded point only the few vertices near its contact are left.
Deciding deciding(const Profile& point, const Profile& hole, double from, double to,
                  std::pmr::memory_resource* memory) {
  const auto wall = hole.vertices();
  const auto flank = point.vertices();
  Deciding out{std::pmr::vector<Vertex>(memory), std::pmr::vector<Vertex>(memory)};
  std::pmr::vector<double> least(memory);
  least.reserve(wall.size() + flank.size());
  double never_more = kNever;
  const auto look = [&](std::span<const Vertex> fixed, std::span<const Vertex> line, double sign) {
    const double end = line.back().along.raw();
    for (const auto& v : fixed) {
      const double low = from - v.along.raw();
      const double high = to - v.along.raw();
      if (high <= 0 || low >= end) {
        least.push_back(kNever);
        continue;
      }
      const Radii r = radii_over(line, std::max(low, 0.0), std::min(high, end));
      const double own = v.radius.raw();
      least.push_back(sign > 0 ? r.least - own : own - r.most);
      if (low >= 0 && high <= end) never_more = std::min(never_more, sign > 0 ? r.most - own : own - r.least);
    }
  };
  look(wall, flank, -1);
  look(flank, wall, +1);
  const auto keep = [&](std::span<const Vertex> all, std::size_t first, std::pmr::vector<Vertex>& kept) {
    kept.reserve(all.size());
    for (std::size_t k = 0; k < all.size(); ++k) {
      if (least[first + k] < kNever && least[first + k] <= never_more) kept.push_back(all[k]);
    }
  };
  keep(wall, 0, out.wall);
  keep(flank, wall.size(), out.flank);
  return out;
}

/// The deciding vertices' lines on the open interval (from, to), none of which has a knot inside.
void candidate_lines(const Profile& point, const Profile& hole, const Deciding& vertices, double from,
                     double to, std::pmr::vector<Line>& out) {
  out.clear();
  const double middle = from + (to - from) / 2;
  // As the fixed vertices go inwards (backwards), their opposite on the other profile comes the other way:
  // one walk over each. sign +1: the wall minus a fixed point radius; -1: the other way round.
  const auto walk = [&](std::span<const Vertex> fixed, std::span<const Vertex> line, double sign) {
    std::size_t k = line.size() - 1;
    const double end = line.back().along.raw();
    for (const auto& v : fixed) {
      const double at = middle - v.along.raw();
      if (at <= 0) return;
      if (at >= end) continue;
      // The segment whose open interval holds `at`, which is no vertex.
      while (line[k].along.raw() > at) --k;
      const double run = (line[k + 1].along - line[k].along).raw();
      const double slope = (line[k + 1].radius - line[k].radius).raw() / run;
      const double r = line[k].radius.raw() + slope * (from - v.along.raw() - line[k].along.raw());
      out.push_back({sign * (r - v.radius.raw()), sign * slope});
    }
  };
  walk(vertices.wall, point.vertices(), -1);
  walk(vertices.flank, hole.vertices(), +1);
}

}  // namespace

const char* word(Regime regime) {
  switch (regime) {
    case Regime::flank:
      return "flank";
    case Regime::rim:
      return "rim";
    case Regime::tip_edge:
      return "tip edge";
    case Regime::inner_edge:
      return "inner edge";
    case Regime::point_edge:
      return "point edge";
    case Regime::round:
      return "round";
    case Regime::floor:
      return "floor";
    case Regime::shoulder:
      return "shoulder";
    case Regime::none:
      break;
  }
  return "nothing";
}

bool centres(Regime regime) {
  return regime != Regime::floor && regime != Regime::shoulder && regime != Regime::none;
}

Joint::Joint(Profile point, Profile hole)
    : point_(std::make_shared<const Profile>(std::move(point))),
      hole_(std::make_shared<const Profile>(std::move(hole))) {
  // On the stack as a rule: joints are made by the thousand.
  std::array<std::byte, 2048> room;
  std::pmr::monotonic_buffer_resource memory(room.data(), room.size());
  std::pmr::vector<Stop> stops(&memory);
  stops.reserve(point_->vertices().size() + hole_->vertices().size());
  for (std::size_t j = 0; j < point_->vertices().size(); ++j)
    stops.push_back(stop_of_point_vertex(*point_, *hole_, j));
  for (std::size_t i = 0; i < hole_->vertices().size(); ++i)
    stops.push_back(stop_of_hole_vertex(*point_, *hole_, i));

  const Stop first = *std::min_element(
      stops.begin(), stops.end(), [](const Stop& a, const Stop& b) { return a.insertion < b.insertion; });
  const double same = kSameContact.raw();
  double shallow = first.depth;
  double deep = first.depth;
  double next = kNever;
  Stop chosen = first;
  bool on_end = false;  // floor or shoulder among the ties: they stop it whatever the sides do
  const Stop* wall_a = nullptr;
  const Stop* wall_b = nullptr;
  for (const auto& stop : stops) {
    if (stop.insertion > first.insertion + same) {
      next = std::min(next, stop.insertion);
      continue;
    }
    if (stop.regime == Regime::floor || stop.regime == Regime::shoulder) {
      if (!on_end) chosen = stop;
      on_end = true;
      continue;
    }
    if (!std::isfinite(stop.steepness)) continue;
    shallow = std::min(shallow, stop.depth);
    deep = std::max(deep, stop.depth);
    if (wall_a == nullptr || stop.depth < wall_a->depth) wall_a = &stop;
    if (wall_b == nullptr || stop.depth > wall_b->depth) wall_b = &stop;
  }
  home_.insertion = Length::of(first.insertion);
  home_.depth = Length::of(chosen.depth);
  home_.radius = Length::of(chosen.radius);
  home_.regime = chosen.regime;
  home_.until_next = Length::of(next - first.insertion);
  if (!on_end && wall_a != nullptr && wall_b != wall_a && deep - shallow > same &&
      wall_a->radius > wall_b->radius) {
    home_.regime = Regime::flank;
    home_.touching = Length::of(deep - shallow);
    home_.depth = Length::of((shallow + deep) / 2);
    home_.radius = Length::of((wall_a->radius + wall_b->radius) / 2);
  }
  if (centres(home_.regime) || first.insertion <= 0) return;
  // What is left at the sides just before the end: at the end itself the step touches too.
  const Length before = Length::of(std::max(0.0, first.insertion - kJustBefore));
  home_.clearance = std::max(Length{}, curve(before, home_.insertion).back().clearance);
}

Joint Joint::rod(Length radial_clearance) {
  Joint j;
  j.rod_clearance_ = radial_clearance;
  j.home_.insertion = Length::of(kNever);
  j.home_.until_next = Length::of(kNever);
  j.home_.clearance = radial_clearance;
  return j;
}

Length Joint::clearance(Length insertion) const {
  if (rod_clearance_) return *rod_clearance_;
  if (insertion >= home_.insertion && !centres(home_.regime)) return home_.clearance;
  const double t = std::max(0.0, insertion.raw());
  const double point_length = point_->length().raw();
  double c = kNever;
  for (std::size_t i = 0; i < hole_->vertices().size(); ++i) {
    const auto& v = hole_->vertices()[i];
    const double s = t - v.along.raw();
    if (s < 0 || s > point_length) continue;
    c = std::min(c, v.radius.raw() - point_->radius_at(Length::of(s)).raw());
  }
  for (const auto& v : point_->vertices()) {
    const double y = t - v.along.raw();
    if (y < 0 || y > hole_->length().raw()) continue;
    c = std::min(c, narrowest_at(*hole_, y) - v.radius.raw());
  }
  return Length::of(c);
}

std::vector<ClearanceKnot> Joint::curve(Length from, Length to) const {
  if (rod_clearance_) return {{from, *rod_clearance_}, {to, *rod_clearance_}};
  std::vector<ClearanceKnot> knots;
  knots.reserve(8);
  if (from.raw() < 0) {
    const Length out = clearance(Length{});
    knots.push_back({from, out});
    if (to.raw() <= 0) {
      knots.push_back({to, out});
      return knots;
    }
    from = Length{};
  }
  // On the stack as a rule: curves are asked for by the thousand.
  std::array<std::byte, 8192> room;
  std::pmr::monotonic_buffer_resource memory(room.data(), room.size());
  const Deciding vertices = deciding(*point_, *hole_, from.raw(), to.raw(), &memory);
  std::pmr::vector<double> cuts({from.raw(), to.raw()}, &memory);
  const auto cut_at = [&](std::span<const Vertex> some, std::span<const Vertex> all) {
    for (const auto& v : some) {
      for (const auto& w : all) {
        const double t = (v.along + w.along).raw();
        if (t > from.raw() && t < to.raw()) cuts.push_back(t);
      }
    }
  };
  cut_at(vertices.wall, point_->vertices());
  cut_at(vertices.flank, hole_->vertices());
  std::sort(cuts.begin(), cuts.end());
  cuts.erase(std::unique(cuts.begin(), cuts.end()), cuts.end());
  if (cuts.size() < 2) {
    knots.push_back({from, clearance(from)});
    return knots;
  }
  const auto push = [&](double t, double c) {
    const ClearanceKnot k{Length::of(t), Length::of(c)};
    if (!knots.empty() && knots.back().insertion == k.insertion &&
        std::abs((knots.back().clearance - k.clearance).raw()) <= kClearanceWorstError.raw())
      return;
    knots.push_back(k);
  };
  std::pmr::vector<Line> lines(&memory);
  lines.reserve(vertices.wall.size() + vertices.flank.size());
  for (std::size_t k = 0; k + 1 < cuts.size(); ++k) {
    candidate_lines(*point_, *hole_, vertices, cuts[k], cuts[k + 1], lines);
    const double width = cuts[k + 1] - cuts[k];
    double at = 0;
    // Lowest line at the left end; of equals the one that falls fastest.
    std::size_t lowest = 0;
    for (std::size_t l = 1; l < lines.size(); ++l) {
      if (lines[l].start < lines[lowest].start ||
          (lines[l].start == lines[lowest].start && lines[l].slope < lines[lowest].slope))
        lowest = l;
    }
    push(cuts[k], lines[lowest].start);
    while (at < width) {
      double crossing = width;
      std::size_t lower = lowest;
      for (std::size_t l = 0; l < lines.size(); ++l) {
        if (lines[l].slope >= lines[lowest].slope) continue;
        const double x = (lines[l].start - lines[lowest].start) / (lines[lowest].slope - lines[l].slope);
        if (x < crossing || (x == crossing && lower != lowest && lines[l].slope < lines[lower].slope)) {
          if (x >= width) continue;
          crossing = std::max(x, at);
          lower = l;
        }
      }
      // The interval's end is the next cut itself: adding the width up again may miss it by a rounding.
      const double t = crossing < width ? std::min(cuts[k] + crossing, cuts[k + 1]) : cuts[k + 1];
      push(t, lines[lowest].start + lines[lowest].slope * crossing);
      at = crossing;
      if (lower == lowest) break;
      lowest = lower;
    }
  }
  return knots;
}

}  // namespace hingeline::contact
