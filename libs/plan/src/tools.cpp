#include <fmt/format.h>
#include <algorithm>
#include <cmath>

#include "hingeline/plan/plan.h"

namespace hingeline::plan {
namespace {

Size mm(Length l) { return {l}; }

}  // namespace

const char* word(Operation op) {
  switch (op) {
    case Operation::drive_home:
      return "drive the screw home";
    case Operation::turn_screw:
      return "turn the screw";
    case Operation::restore_post:
      return "bring the post back";
    case Operation::seat_cut:
      return "cut the seat deeper";
    case Operation::ream:
      return "ream the key end";
    case Operation::face:
      break;
  }
  return "face the key end";
}

const char* word(Approach a) {
  switch (a) {
    case Approach::leave_it:
      return "leave it";
    case Approach::free_first:
      return "no metal";
    case Approach::cut_upper:
      return "upper seat";
    case Approach::cut_lower:
      return "lower seat";
    case Approach::share_cut:
      return "both seats";
    case Approach::keep_centred:
      return "both seats, pad kept centred";
    case Approach::ream_upper:
      return "upper key end";
    case Approach::ream_lower:
      return "lower key end";
    case Approach::share_ream:
      return "both key ends";
    case Approach::face_end:
      return "face the key end";
    case Approach::restore_seat:
      break;
  }
  return "restore the taper, then the seat";
}

const char* word(Verdict v) {
  switch (v) {
    case Verdict::sound:
      return "sound";
    case Verdict::loose:
      return "loose";
    case Verdict::tight:
      return "tight";
    case Verdict::binds:
      return "binds";
    case Verdict::cannot_tell:
      break;
  }
  return "cannot tell";
}

const char* word(Driver::Kind kind) {
  switch (kind) {
    case Driver::Kind::straight:
      return "straight driver";
    case Driver::Kind::flexible:
      return "flexible driver";
    case Driver::Kind::pinch:
      break;
  }
  return "short pinch-driven";
}

const Cutter* fitting_cutter(const EndFacts& end, const Tools& tools, const Limits& limits) {
  if (!end.head_diameter || !end.head_diameter->known()) return nullptr;
  const Length head = end.head_diameter->value;
  const Cutter* best = nullptr;
  for (const Cutter& c : tools.cutters) {
    const Length over = c.diameter - head;
    if (over > limits.cutter_over_max || -over > limits.cutter_under_max) continue;
    if (best == nullptr || abs(over) < abs(best->diameter - head)) best = &c;
  }
  return best;
}

ToolChoice choose_cutter(const EndFacts& end, const Tools& tools, const Limits& limits) {
  if (!end.head_diameter || !end.head_diameter->known())
    return {"", "head diameter not measured: the cutter has to match it"};
  const Length head = end.head_diameter->value;
  if (tools.cutters.empty())
    return {"", say("no cutters listed for the shop: a ", mm(head), " one is needed")};
  if (const Cutter* best = fitting_cutter(end, tools, limits)) {
    const Length over = best->diameter - head;
    if (abs(over) <= limits.cutter_under_max)
      return {best->name, say("its diameter is the head's, ", mm(head))};
    return {best->name, say("nearest to the ", mm(head), " head, ", mm(over), " wider")};
  }
  Said why = say("none fits a ", mm(head), " head, you'd need ", mm(head - limits.cutter_under_max), " to ",
                 mm(head + limits.cutter_over_max));
  const auto nearest = std::min_element(
      tools.cutters.begin(), tools.cutters.end(),
      [&](const Cutter& a, const Cutter& b) { return abs(a.diameter - head) < abs(b.diameter - head); });
  why << say("; the nearest, ", nearest->name, ", is ", mm(nearest->diameter));
  return {"", why};
}

ToolChoice choose_reamer(Angle taper, Length smallest, Length largest, const Tools& tools,
                         const Limits& limits) {
  const Reamer* best = nullptr;
  const Reamer* nearest = nullptr;
  const auto off = [&](const Reamer& r) { return abs(r.half_angle - taper); };
  for (const Reamer& r : tools.reamers) {
    if (nearest == nullptr || off(r) < off(*nearest)) nearest = &r;
    if (off(r) > limits.taper_match || r.small_diameter > smallest || r.large_diameter < largest) continue;
    if (best == nullptr || off(r) < off(*best)) best = &r;
  }
  if (best != nullptr) {
    return {best->name, fmt::format("half angle {:.1f}° for the point's {:.1f}°",
                                    in_degrees(best->half_angle), in_degrees(taper))};
  }
  Said why = say(fmt::format("none fits, you'd need half angle {:.1f}° ± {:.1f}° from ", in_degrees(taper),
                             in_degrees(limits.taper_match)),
                 mm(smallest), " to ", mm(largest));
  if (nearest != nullptr) {
    why << say(fmt::format("; the nearest, {}, is {:.1f}°, ", nearest->name, in_degrees(nearest->half_angle)),
               mm(nearest->small_diameter), " to ", mm(nearest->large_diameter));
  }
  return {"", why};
}

ToolChoice choose_reach(const EndFacts& end, const Tools& tools, const Cutter* cutter) {
  const auto room = [](const MaybeLength& l) {
    return l && l->known() ? std::optional<Length>(l->value) : std::nullopt;
  };
  const auto behind = room(end.room_behind);
  const auto around = room(end.room_around);
  if (!behind && !around)
    return {"", "room behind the post not measured: look whether a straight driver reaches"};
  const auto fits = [&](const Driver& d) {
    return (!behind || *behind >= d.room_behind) && (!around || *around >= d.room_around);
  };
  const auto taken = [&](Driver::Kind kind) {
    return cutter == nullptr || (kind == Driver::Kind::straight   ? cutter->straight
                                 : kind == Driver::Kind::flexible ? cutter->flexible
                                                                  : cutter->pinch);
  };
  // Straight before flexible before pinch-driven: the straighter, the squarer the cut (common practice).
  const Driver* best = nullptr;
  Length least = Length::of(1e9);
  bool any = false;
  for (const Driver& d : tools.drivers) {
    if (!taken(d.kind)) continue;
    any = true;
    least = std::min(least, d.room_behind);
    if (fits(d) && (best == nullptr || d.kind < best->kind)) best = &d;
  }
  const Said has = behind ? say(mm(*behind), " free behind the post") : Said("room behind not measured");
  if (best != nullptr) return {word(best->kind), has};
  if (tools.drivers.empty()) return {"", "no drivers listed for the shop"};
  if (!any) return {"", say("the shop has no driver for the ", cutter->name)};
  return {"", say("no driver reaches: ", has, ", the shortest needs ", mm(least),
                  "; take the post or the neighbour key off first")};
}

}  // namespace hingeline::plan
