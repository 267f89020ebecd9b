#include "hingeline/plan/plan.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>

namespace hingeline::plan {
namespace {

using belief::HingeKind;
using belief::KeyGeometry;
using contact::HoleShape;
using contact::PointShape;
using contact::Regime;

constexpr double kUnlimited = 1e9;
constexpr double kTiny = 1e-9;
constexpr std::array<Side, 2> kSides{Side::upper, Side::lower};

std::size_t index(Side s) { return s == Side::upper ? 0 : 1; }
std::string mm(double v) { return fmt::format("{:.3f} mm", v); }
bool is_known(const MaybeLength& l) { return l && l->known(); }

contact::HoleForm as_pairs(const contact::HoleForm& form, const contact::Profile& profile) {
  contact::HoleForm out = form;
  out.shape = HoleShape::pairs;
  const auto v = profile.vertices();
  out.pairs.assign(v.begin(), v.end());
  out.floor_pairs = v.size() - std::min(profile.floor_begin(), v.size());
  out.depth = profile.floor_begin() < v.size() ? v[profile.floor_begin()].along : profile.length();
  out.mouth_radius = v.front().radius;
  return out;
}

/// The flank's line of a conical point, carried forward to the key's end face when home.
Length flank_radius_at_face(const KeyGeometry& key, Side side, Length insertion) {
  const auto& p = key.at(side).point;
  const double slope = tan(p.half_angle);
  if (p.shape != PointShape::cone) return key.at(side).hole.mouth_radius;
  if (p.tip == contact::TipShape::round) {
    const Length tangent_along = p.tip_radius * (1 - sin(p.half_angle));
    return p.tip_radius * cos(p.half_angle) + (insertion - tangent_along) * slope;
  }
  return p.tip_radius + insertion * slope;
}

Expected<contact::Home> home_of(const belief::JointGeometry& joint) {
  auto point = contact::make_point(joint.point);
  if (!point) return tl::unexpected(point.error());
  auto hole = contact::make_hole(joint.hole);
  if (!hole) return tl::unexpected(hole.error());
  return contact::Joint(std::move(*point), std::move(*hole)).home();
}

/// What the plan may do at one end, and what that end is like.
struct EndCase {
  Angle taper;
  contact::Home home;
  Length stop;
  double cut_room = 0;  ///< mm of seat cut the limits leave; kUnlimited when nothing is known
  double ream_room = 0;
  std::string cut_rule;  ///< which limit sets cut_room
  std::string ream_rule;
  bool cut_refused = false;
  bool ream_refused = false;
  bool needs_restoring = false;
  double restore = 0;  ///< mm of ream that brings the flank to carry
};

class Planner {
 public:
  Planner(const KeyCase& key, const mechanism::Hinge& hinge, KeyPlan& out)
      : key_(key), hinge_(hinge), out_(out) {
    for (const Side s : kSides) ends_[index(s)] = look_at(s);
  }

  void run();

 private:
  struct Draft {
    Approach approach = Approach::free_first;
    std::vector<Step> steps;
    double metal = 0;
    double minutes = 0;
    double shift = 0;
    double off_centre = 0;
  };

  EndCase look_at(Side side);
  void refuse(Operation op, std::optional<Side> side, std::string why, std::string relief) {
    out_.refusals.push_back({op, side, std::move(why), std::move(relief)});
  }
  void judge();
  void loosen(double need);
  void tighten(double surplus);
  void restore_and_cut();
  void share_cuts(std::vector<Step> before, double need, double shift, const std::array<double, 2>& dead);
  void share_reams(std::vector<Step> before, double need, double shift);
  template <class Add>
  void split(double need, double shift_before, double sign, std::array<double, 2> room,
             std::array<double, 2> dead, Add add) const;
  void add_draft(Approach approach, std::vector<Step> steps);
  void finish();
  [[nodiscard]] std::optional<Plan> carry_out(const Draft& draft, std::string& broken) const;
  [[nodiscard]] std::vector<Reserve> reserves(const Plan& plan,
                                              std::vector<std::string>& measure_first) const;
  [[nodiscard]] Step step(Operation op, Side side, double amount) const;
  [[nodiscard]] double minutes_of(const Step& step) const;
  [[nodiscard]] double end_play() const { return key_.estimate[Figure::end_play].value; }
  [[nodiscard]] double doubt() const { return key_.estimate[Figure::end_play].plus_minus; }
  /// Highest and lowest end play to aim at: inside the window by the reading's uncertainty where the
  /// window leaves room for it (its lower edge holds that uncertainty already).
  [[nodiscard]] double aim_high() const {
    const double low = out_.window.low.raw();
    const double high = out_.window.high.raw();
    return std::max(high - doubt(), (low + high) / 2);
  }
  [[nodiscard]] double aim_low() const { return out_.window.low.raw(); }

  const KeyCase& key_;
  const mechanism::Hinge& hinge_;
  KeyPlan& out_;
  std::array<EndCase, 2> ends_;
  std::vector<Draft> drafts_;
  bool rock_beyond_play_ = false;
};

EndCase Planner::look_at(Side side) {
  EndCase e;
  const EndFacts& facts = key_.facts(side);
  const auto& joint = key_.estimate.geometry.at(side);
  if (key_.estimate.geometry.kind == HingeKind::rod) {
    e.cut_refused = e.ream_refused = true;
    return e;
  }
  e.taper = contact::fitting_taper(joint.point, joint.hole);
  e.home = hinge_.end(side).joint.home();
  e.stop = joint.stop;

  const auto smaller = [](double& room, std::string& rule, double value, const char* name) {
    if (value < room) {
      room = std::max(0.0, value);
      rule = name;
    }
  };
  e.cut_room = e.ream_room = kUnlimited;
  if (is_known(facts.web))
    smaller(e.cut_room, e.cut_rule, (facts.web->value - key_.limits.web_min).raw(), "metal under the head");
  if (is_known(facts.engagement) && facts.pitch) {
    smaller(e.cut_room, e.cut_rule,
            (facts.engagement->value - *facts.pitch * key_.limits.engagement_min_turns).raw(),
            "thread engagement");
  }
  if (is_known(facts.slot_left))
    smaller(e.cut_room, e.cut_rule, facts.slot_left->value.raw(), "the slot's reach");
  const double slope = tan(e.taper);
  if (is_known(facts.key_end_diameter) && slope > 0) {
    const Length wall = facts.key_end_diameter->value / 2 - joint.hole.mouth_radius;
    smaller(e.ream_room, e.ream_rule, (wall - key_.limits.wall_mouth_min).raw() / slope,
            "wall at the key's mouth");
  }
  const double tip_floor =
      key_.estimate[side == Side::upper ? Figure::tip_floor_upper : Figure::tip_floor_lower].value;
  smaller(e.ream_room, e.ream_rule, tip_floor - key_.limits.tip_floor_min.raw(),
          "the tip's distance from the floor");

  // Where cutting cannot help.
  const bool conical = joint.point.shape == PointShape::cone;
  const bool straight = joint.hole.shape == HoleShape::straight || joint.hole.shape == HoleShape::drilled;
  const Angle doubt = side == Side::upper ? key_.upper_taper_doubt : key_.lower_taper_doubt;
  const auto no_cut = [&](std::string why, std::string relief) {
    e.cut_refused = true;
    refuse(Operation::seat_cut, side, std::move(why), std::move(relief));
  };
  if (!facts.headed) {
    no_cut("the screw has no head, so no seat sets its depth", "turn the screw and lock it");
  } else if (conical && straight) {
    no_cut("the hole is straight: the point touches only its rim, and a deeper seat leaves it so",
           "a parallel point that fits the hole, or the hole reamed to the point's taper");
  } else if (e.home.regime == Regime::floor) {
    const double needed = std::min(e.home.until_next.raw(), 10.0) + key_.limits.tip_floor_min.raw();
    no_cut(fmt::format("the tip stands on the floor before the sides carry: {} of rock stays even when home",
                       mm(2 * e.home.clearance.raw())),
           fmt::format("shorten the tip or deepen the hole by {}", mm(needed)));
    if (!e.ream_refused) {
      e.ream_refused = true;
      refuse(Operation::ream, side, "the tip stands on the floor: a wider hole lets it in no further",
             "shorten the tip or deepen the hole first");
    }
  } else if (conical && joint.hole.shape == HoleShape::bell && e.home.insertion.raw() > 0 &&
             e.home.touching / e.home.insertion < key_.limits.flank_share_min) {
    e.needs_restoring = true;
    no_cut(fmt::format("the hole is bell-mouthed: the flank carries over {} of {} only",
                       mm(e.home.touching.raw()), mm(e.home.insertion.raw())),
           "ream past the damage with the point's taper, then cut the seat");
  } else if (conical && joint.hole.shape == HoleShape::cone &&
             abs(joint.point.half_angle - joint.hole.half_angle) >
                 std::max(key_.limits.taper_match, doubt * 2)) {
    e.needs_restoring = true;
    no_cut(fmt::format("the tapers do not match: point {:.1f}°, hole {:.1f}°, so it rides on {}",
                       in_degrees(joint.point.half_angle), in_degrees(joint.hole.half_angle),
                       e.home.regime == Regime::rim ? "its rim" : "the tip's edge"),
           "ream the hole to the point's taper, then cut the seat");
  } else {
    const ToolChoice cutter = choose_cutter(facts, key_.tools, key_.limits);
    if (cutter.name.empty() && is_known(facts.head_diameter)) {
      no_cut("cutter: " + cutter.why, "own or borrow the cutter named");
    }
  }
  if (facts.headed && is_known(facts.post_diameter) && is_known(facts.head_diameter) && !e.cut_refused) {
    const Length wall = (facts.post_diameter->value - facts.head_diameter->value) / 2;
    if (wall < key_.limits.wall_seat_min) {
      no_cut(fmt::format("the wall round the seat is {}, the least is {}", mm(wall.raw()),
                         mm(key_.limits.wall_seat_min.raw())),
             "a screw with a smaller head, or work the other end");
    }
  }
  if (e.needs_restoring) {
    // The least ream after which the flank carries its share: more ream, more flank.
    const auto share = [&](double amount) {
      const auto reamed =
          after(key_.estimate.geometry, Step{Operation::ream, side, Length::of(amount), 0, {}, {}, {}});
      if (!reamed) return 0.0;
      const auto home = home_of(reamed->at(side));
      return home && home->insertion.raw() > 0 ? home->touching / home->insertion : 0.0;
    };
    double low = 0;
    double high = std::max(e.ream_room, 0.0);
    if (high >= kUnlimited) high = e.home.insertion.raw();
    if (share(high) >= key_.limits.flank_share_min) {
      for (int k = 0; k < 24; ++k) {
        const double middle = (low + high) / 2;
        (share(middle) >= key_.limits.flank_share_min ? high : low) = middle;
      }
      e.restore = high;
    } else {
      e.ream_refused = true;
      refuse(Operation::ream, side,
             fmt::format("reaming until {:.0f} % of the point carries passes a limit ({})",
                         100 * key_.limits.flank_share_min, e.ream_rule),
             "bush the key end and cut a fresh cone");
    }
  }
  return e;
}

Step Planner::step(Operation op, Side side, double amount) const {
  Step s;
  s.operation = op;
  s.side = side;
  s.amount = Length::of(amount);
  const EndFacts& facts = key_.facts(side);
  const auto& joint = key_.estimate.geometry.at(side);
  switch (op) {
    case Operation::seat_cut:
      s.turns = amount / key_.pace.take_off_per_turn.raw();
      s.turn_way = "as tightening";
      s.tool = choose_cutter(facts, key_.tools, key_.limits);
      s.reach = choose_reach(facts, key_.tools);
      break;
    case Operation::ream: {
      const Angle taper = contact::fitting_taper(joint.point, joint.hole);
      const Length tip = joint.point.tip_radius * 2;
      const Length mouth =
          flank_radius_at_face(key_.estimate.geometry, side, ends_[index(side)].home.insertion) * 2;
      s.tool = choose_reamer(taper, std::max(tip, Length::of(0.01)),
                             mouth + Length::of(2 * amount * tan(taper)), key_.tools, key_.limits);
      s.turn_way = "as tightening";
      break;
    }
    case Operation::turn_screw:
      if (facts.pitch) s.turns = std::abs(amount) / facts.pitch->raw();
      s.turn_way = amount >= 0 ? "as tightening" : "as loosening";
      break;
    case Operation::drive_home:
      if (facts.pitch) s.turns = amount / facts.pitch->raw();
      s.turn_way = "as tightening";
      break;
    case Operation::restore_post:
    case Operation::face:
      break;
  }
  return s;
}

double Planner::minutes_of(const Step& s) const {
  const Minutes& m = [&]() -> const Minutes& {
    switch (s.operation) {
      case Operation::drive_home:
        return key_.pace.drive_home;
      case Operation::turn_screw:
        return key_.pace.turn_screw;
      case Operation::restore_post:
        return key_.pace.restore_post;
      case Operation::seat_cut:
        return key_.pace.seat_cut;
      case Operation::ream:
        return key_.pace.ream;
      case Operation::face:
        break;
    }
    return key_.pace.face;
  }();
  return m.set_up + m.per_unit * std::abs(s.amount.raw());
}

void Planner::add_draft(Approach approach, std::vector<Step> steps) {
  std::erase_if(steps, [](const Step& s) { return std::abs(s.amount.raw()) < kTiny; });
  Draft d;
  d.approach = approach;
  for (const Step& s : steps) {
    const double a = s.amount.raw();
    if (takes_metal(s.operation)) d.metal += a;
    d.minutes += minutes_of(s);
    const double away = s.side == Side::upper ? 1.0 : -1.0;
    // What the step does to the middle of the free range while the points carry.
    if (s.operation == Operation::ream) {
      d.shift -= away * a / 2;
    } else if (s.operation == Operation::restore_post) {
      d.shift += away * a / 2;
    } else if (s.operation != Operation::face) {
      d.shift += away * a / 2;
    }
  }
  d.off_centre = key_.pad_off_centre.raw() + d.shift;
  d.steps = std::move(steps);
  drafts_.push_back(std::move(d));
}

/// All ways worth trying to share `need` between the ends: at the edges, at the pad's centre, and
/// where the pad just keeps within what is allowed. sign: +1 when work pushes the key away.
template <class Add>
void Planner::split(double need, double shift_before, double sign, std::array<double, 2> room,
                    std::array<double, 2> dead, Add add) const {
  const double off = key_.pad_off_centre.raw() + shift_before;
  const double allowed = key_.limits.centring_allowed.raw();
  // off + sign * (share_upper - share_lower) / 2 = target, with both shares adding up to need.
  const auto share_for = [&](double target) { return need / 2 + sign * (target - off); };
  const double least = key_.limits.least_cut.raw();
  std::vector<double> tried;
  const auto attempt = [&](double upper, Approach approach) {
    upper = std::clamp(upper, 0.0, need);
    if (upper < least) upper = 0;
    if (need - upper < least) upper = need;
    const double lower = need - upper;
    const double upper_metal = upper > 0 ? upper + dead[0] : 0;
    const double lower_metal = lower > 0 ? lower + dead[1] : 0;
    if (upper_metal > room[0] + kTiny || lower_metal > room[1] + kTiny) return;
    for (const double t : tried) {
      if (std::abs(t - upper) < kTiny) return;
    }
    tried.push_back(upper);
    if (upper == need) approach = Approach::cut_upper;
    if (upper == 0) approach = Approach::cut_lower;
    add(upper_metal, lower_metal, approach);
  };
  attempt(need, Approach::cut_upper);
  attempt(0, Approach::cut_lower);
  attempt(share_for(0), Approach::keep_centred);
  attempt(share_for(allowed), Approach::share_cut);
  attempt(share_for(-allowed), Approach::share_cut);
  attempt(room[0] - dead[0], Approach::share_cut);
  attempt(need - (room[1] - dead[1]), Approach::share_cut);
}

void Planner::share_cuts(std::vector<Step> before, double need, double shift,
                         const std::array<double, 2>& dead) {
  const std::array<double, 2> room{ends_[0].cut_refused ? 0.0 : ends_[0].cut_room,
                                   ends_[1].cut_refused ? 0.0 : ends_[1].cut_room};
  split(need, shift, 1.0, room, dead, [&](double upper, double lower, Approach approach) {
    auto steps = before;
    if (upper > 0) steps.push_back(step(Operation::seat_cut, Side::upper, upper));
    if (lower > 0) steps.push_back(step(Operation::seat_cut, Side::lower, lower));
    add_draft(approach, std::move(steps));
  });
}

void Planner::share_reams(std::vector<Step> before, double need, double shift) {
  std::array<double, 2> room{};
  for (const Side s : kSides) {
    const EndCase& e = ends_[index(s)];
    // Once the face stops the key, more ream gives nothing.
    const double useful = e.stop.raw() - key_.limits.face_gap_min.raw();
    room[index(s)] = e.ream_refused ? 0.0 : std::max(0.0, std::min(e.ream_room, useful));
  }
  split(need, shift, -1.0, room, {0, 0}, [&](double upper, double lower, Approach approach) {
    auto steps = before;
    if (upper > 0) steps.push_back(step(Operation::ream, Side::upper, upper));
    if (lower > 0) steps.push_back(step(Operation::ream, Side::lower, lower));
    const Approach named = approach == Approach::cut_upper   ? Approach::ream_upper
                           : approach == Approach::cut_lower ? Approach::ream_lower
                                                             : Approach::share_ream;
    add_draft(named, std::move(steps));
  });
}

/// Work that takes end play away. surplus: how much, at least.
void Planner::tighten(double surplus) {
  std::vector<Step> first;
  double shift = 0;
  std::array<double, 2> dead{};
  for (const Side s : kSides) {
    const EndFacts& facts = key_.facts(s);
    double stop = ends_[index(s)].stop.raw();
    if (facts.headed && is_known(facts.stands_off) &&
        facts.stands_off->value.raw() > key_.limits.least_cut.raw()) {
      const double q = facts.stands_off->value.raw();
      first.push_back(step(Operation::drive_home, s, q));
      const double gained = std::max(0.0, stop + q) - std::max(0.0, stop);
      surplus -= gained;
      shift += (s == Side::upper ? 0.5 : -0.5) * gained;
      stop += q;
    }
    dead[index(s)] = std::max(0.0, -stop);
  }
  if (surplus <= kTiny) {
    add_draft(Approach::free_first, first);
    return;
  }
  // Free moves: a post that was knocked outwards, a headless screw.
  struct Free {
    std::vector<Step> steps;
    double left;
    double shift;
  };
  std::vector<Free> ways{{first, surplus, shift}};
  for (const Side s : kSides) {
    const EndFacts& facts = key_.facts(s);
    const double away = s == Side::upper ? 0.5 : -0.5;
    if (is_known(facts.displaced) && facts.displaced->value.raw() > 0) {
      for (const Free& w : std::vector<Free>(ways)) {
        const double m = std::min(facts.displaced->value.raw(), w.left);
        if (m <= kTiny) continue;
        Free f = w;
        f.steps.push_back(step(Operation::restore_post, s, m));
        f.left -= m;
        f.shift += away * m;
        ways.push_back(std::move(f));
      }
    }
  }
  for (const Side s : kSides) {
    if (key_.facts(s).headed || key_.estimate.geometry.kind == HingeKind::rod) continue;
    for (const Free& w : std::vector<Free>(ways)) {
      if (w.left <= kTiny) continue;
      Free f = w;
      f.steps.push_back(step(Operation::turn_screw, s, w.left + dead[index(s)]));
      f.shift += (s == Side::upper ? 0.5 : -0.5) * w.left;
      f.left = 0;
      ways.push_back(std::move(f));
    }
  }
  for (const Free& w : ways) {
    if (w.left <= kTiny) {
      add_draft(Approach::free_first, w.steps);
    } else {
      share_cuts(w.steps, w.left, w.shift, dead);
    }
  }
}

/// Work that gives end play back. need: how much, at least.
void Planner::loosen(double need) {
  std::vector<Step> first;
  const double face_gap = key_.estimate[Figure::face_gap].value;
  const double wanted = aim_low() + 2 * key_.limits.face_gap_min.raw();
  const double points_play = face_gap - ends_[0].stop.raw() - ends_[1].stop.raw();
  if (face_gap < wanted - kTiny) {
    // The faces are too near whatever the points do.
    first.push_back(
        step(Operation::face, ends_[0].stop <= ends_[1].stop ? Side::upper : Side::lower, wanted - face_gap));
    need = std::max(0.0, aim_low() - points_play);
  }
  if (key_.estimate.geometry.kind == HingeKind::rod) need = 0;
  if (need <= kTiny) {
    add_draft(Approach::share_ream, first);
    return;
  }
  for (const Side s : kSides) {
    const EndFacts& facts = key_.facts(s);
    if (is_known(facts.displaced) && facts.displaced->value.raw() < 0) {
      const double m = std::min(-facts.displaced->value.raw(), need);
      auto steps = first;
      steps.push_back(step(Operation::restore_post, s, -m));
      if (need - m <= kTiny) {
        add_draft(Approach::free_first, steps);
      } else {
        share_reams(steps, need - m, (s == Side::upper ? -0.5 : 0.5) * m);
      }
    }
    if (!facts.headed) {
      auto steps = first;
      steps.push_back(step(Operation::turn_screw, s, -need));
      add_draft(Approach::free_first, steps);
    }
  }
  share_reams(first, need, 0);
}

void Planner::restore_and_cut() {
  std::vector<Step> first;
  double given = 0;
  double shift = 0;
  for (const Side s : kSides) {
    EndCase& e = ends_[index(s)];
    if (!e.needs_restoring || e.ream_refused) continue;
    first.push_back(step(Operation::ream, s, e.restore));
    given += e.restore;
    shift += (s == Side::upper ? -0.5 : 0.5) * e.restore;
  }
  if (first.empty()) return;
  const auto kept = ends_;
  for (const Side s : kSides) {
    EndCase& e = ends_[index(s)];
    if (e.needs_restoring && !e.ream_refused) {
      e.cut_refused = choose_cutter(key_.facts(s), key_.tools, key_.limits).name.empty() &&
                      is_known(key_.facts(s).head_diameter);
      e.stop -= Length::of(e.restore);
    }
  }
  const double need = end_play() + given - aim_high();
  const std::array<double, 2> dead{std::max(0.0, -ends_[0].stop.raw()), std::max(0.0, -ends_[1].stop.raw())};
  const std::size_t from = drafts_.size();
  if (need > kTiny) {
    share_cuts(first, need, shift, dead);
  } else {
    add_draft(Approach::restore_seat, first);
  }
  for (std::size_t k = from; k < drafts_.size(); ++k) drafts_[k].approach = Approach::restore_seat;
  ends_ = kept;
}

std::vector<Reserve> Planner::reserves(const Plan& plan, std::vector<std::string>& measure_first) const {
  std::vector<Reserve> out;
  if (plan.geometry_after.kind == HingeKind::rod) return out;
  for (const Side s : kSides) {
    const EndFacts& facts = key_.facts(s);
    double cut = 0;
    bool reamed = false;
    for (const Step& st : plan.steps) {
      if (st.side != s) continue;
      if (st.operation == Operation::seat_cut) cut += st.amount.raw();
      if (st.operation == Operation::ream) reamed = true;
    }
    const auto add = [&](const char* name, const MaybeLength& had, double used, Length least, bool matters) {
      Reserve r{name, s, std::nullopt, least};
      if (is_known(had)) {
        r.left = had->value - Length::of(used) - least;
      } else if (matters) {
        measure_first.push_back(
            fmt::format("{} at the {} post: at least {} is needed", name, word(s), mm(used + least.raw())));
      }
      out.push_back(std::move(r));
    };
    if (facts.headed) {
      add("metal under the head", facts.web, cut, key_.limits.web_min, cut > 0);
      add("the slot's reach", facts.slot_left, cut, {}, cut > 0);
      MaybeLength wall;
      if (is_known(facts.post_diameter) && is_known(facts.head_diameter)) {
        wall =
            Measured<Length>{(facts.post_diameter->value - facts.head_diameter->value) / 2, {}, Origin::read};
      }
      add("wall round the seat", wall, 0, key_.limits.wall_seat_min, cut > 0);
    }
    const Length least_thread = facts.pitch ? *facts.pitch * key_.limits.engagement_min_turns : Length{};
    add("thread engagement", facts.engagement, cut, least_thread, cut > 0);
    const auto& hole = plan.geometry_after.at(s).hole;
    MaybeLength mouth_wall;
    if (is_known(facts.key_end_diameter)) {
      mouth_wall = Measured<Length>{facts.key_end_diameter->value / 2 - hole.mouth_radius, {}, Origin::read};
    }
    add("wall at the key's mouth", mouth_wall, 0, key_.limits.wall_mouth_min, reamed);
    const Figure tip = s == Side::upper ? Figure::tip_floor_upper : Figure::tip_floor_lower;
    out.push_back({"tip to floor", s,
                   Length::of(plan.after[static_cast<std::size_t>(tip)]) - key_.limits.tip_floor_min,
                   key_.limits.tip_floor_min});
    const Figure gap = s == Side::upper ? Figure::gap_upper : Figure::gap_lower;
    out.push_back({"face gap", s,
                   Length::of(plan.after[static_cast<std::size_t>(gap)]) - key_.limits.face_gap_min,
                   key_.limits.face_gap_min});
  }
  return out;
}

std::optional<Plan> Planner::carry_out(const Draft& draft, std::string& broken) const {
  Plan p;
  p.approach = draft.approach;
  p.steps = draft.steps;
  p.metal = Length::of(draft.metal);
  p.minutes = draft.minutes;
  p.before = belief::figures_of(key_.estimate.geometry, hinge_);
  p.geometry_after = key_.estimate.geometry;
  for (const Step& s : p.steps) {
    auto next = after(p.geometry_after, s);
    if (!next) {
      broken = next.error().what;
      return std::nullopt;
    }
    p.geometry_after = std::move(*next);
  }
  const auto hinge = belief::build_hinge(p.geometry_after);
  if (!hinge) {
    broken = hinge.error().what;
    return std::nullopt;
  }
  p.after = belief::figures_of(p.geometry_after, *hinge);
  // A post brought back by m at its own end moves the frame: the body keeps the other post.
  double frame = 0;
  for (const Step& s : p.steps) {
    if (s.operation == Operation::restore_post && s.side == Side::upper) frame += s.amount.raw();
  }
  const auto middle = [](const mechanism::Hinge& h) { return (h.travel().low + h.travel().high) / 2; };
  p.shift = middle(*hinge) - middle(hinge_) + Length::of(frame);
  p.off_centre = key_.pad_off_centre + p.shift;
  p.reserves = reserves(p, p.measure_first);

  const double e = p.after[static_cast<std::size_t>(Figure::end_play)];
  constexpr double kSlack = 1e-6;
  if (!p.steps.empty() && (e < out_.window.low.raw() - kSlack || e > out_.window.high.raw() + kSlack)) {
    broken = fmt::format("end play would be {}, outside the window", mm(e));
    return std::nullopt;
  }
  for (const Reserve& r : p.reserves) {
    // A face that already stops the key before any work is not made worse by leaving it.
    const bool was_so = r.limit == "face gap" || r.limit == "tip to floor";
    if (r.left && r.left->raw() < -kSlack && !(was_so && draft.metal == 0)) {
      broken =
          fmt::format("{} at the {} end would be passed by {}", r.limit, word(r.side), mm(-r.left->raw()));
      return std::nullopt;
    }
  }
  return p;
}

void Planner::judge() {
  const Window& w = out_.window;
  const double e = end_play();
  const double u = doubt();
  const double low = w.low.raw();
  const double high = w.high.raw();
  const std::string figure =
      fmt::format("end play {:.3f} ± {:.3f} mm, window {:.3f} to {:.3f} mm", e, u, low, high);
  if (e - u < low && e + u > high && u > (high - low) / 2 + kTiny) {
    out_.verdict = Verdict::cannot_tell;
    out_.because = figure + ": too unsure to say, read the end play";
  } else if (e + u < 0) {
    out_.verdict = Verdict::binds;
    out_.because = fmt::format("it binds by {:.3f} ± {:.3f} mm", -e, u);
  } else if (e < low - u) {
    out_.verdict = Verdict::tight;
    out_.because = figure;
  } else if (e > high + u) {
    out_.verdict = Verdict::loose;
    out_.because = figure;
  } else {
    out_.verdict = Verdict::sound;
    out_.because = figure + (e < low || e > high ? ": not shown to be outside it" : "");
  }
  // Rock that end play does not explain: a reading beyond what the fit allows it.
  for (const auto& a : key_.estimate.agreements) {
    if (a.observation.of != belief::Observation::Of::rock || a.used ||
        a.observation.value.raw() <= a.predicted)
      continue;
    const std::string more = fmt::format("rock of {} read where the play explains {}",
                                         mm(a.observation.value.raw()), mm(a.predicted));
    const char* relief =
        "look for a worn-oval or bell-mouthed hole, loose threads or a loose post before any metal is cut";
    for (const Side s : kSides) {
      EndCase& end = ends_[index(s)];
      if (!end.cut_refused)
        refuse(Operation::seat_cut, s, more + ": a deeper seat does not take it away", relief);
      end.cut_refused = true;
    }
    if (out_.verdict == Verdict::sound) {
      out_.verdict = Verdict::loose;
      out_.because = more + "; end play itself is within the window";
      rock_beyond_play_ = true;
    }
    return;
  }
}

void Planner::finish() {
  const double allowed = key_.limits.centring_allowed.raw();
  const auto rounded = [](double v) { return std::round(v * 1e7); };
  std::stable_sort(drafts_.begin(), drafts_.end(), [&](const Draft& a, const Draft& b) {
    const auto rank = [&](const Draft& d) {
      return std::array<double, 4>{rounded(d.metal), rounded(std::max(0.0, std::abs(d.off_centre) - allowed)),
                                   rounded(d.minutes), rounded(std::abs(d.off_centre))};
    };
    return rank(a) < rank(b);
  });
  std::string first_broken;
  constexpr std::size_t kMostPlans = 5;
  for (const Draft& d : drafts_) {
    if (out_.plans.size() >= kMostPlans) break;
    std::string broken;
    if (auto p = carry_out(d, broken)) {
      out_.plans.push_back(std::move(*p));
    } else if (first_broken.empty()) {
      first_broken = broken;
    }
  }
  if (out_.plans.empty()) out_.no_plan = first_broken;
}

void Planner::run() {
  judge();
  if (out_.verdict == Verdict::sound) {
    add_draft(Approach::leave_it, {});
    finish();
    return;
  }
  if (out_.verdict == Verdict::cannot_tell) return;
  const auto first_relief = [&](std::string otherwise) {
    const auto r = std::find_if(out_.refusals.begin(), out_.refusals.end(),
                                [](const Refusal& x) { return !x.relief.empty(); });
    return r == out_.refusals.end() ? std::move(otherwise) : r->relief;
  };
  if (out_.window.crossed || rock_beyond_play_) {
    out_.no_plan = rock_beyond_play_ ? "cutting cannot take this rock away" : out_.window.conflict;
    out_.relief = first_relief("allow more pad gap or rock for this key, or narrow the service range");
    return;
  }
  const bool too_loose = out_.verdict == Verdict::loose;
  if (too_loose) {
    tighten(end_play() - aim_high());
    restore_and_cut();
  } else {
    loosen(aim_low() - end_play());
  }
  finish();
  if (!out_.plans.empty()) return;
  const double need = too_loose ? end_play() - aim_high() : aim_low() - end_play();
  std::string rooms;
  for (const Side s : kSides) {
    const EndCase& e = ends_[index(s)];
    const bool refused = too_loose ? e.cut_refused : e.ream_refused;
    const double room = too_loose ? e.cut_room : e.ream_room;
    if (!rooms.empty()) rooms += ", ";
    if (refused) {
      rooms += fmt::format("{} end: refused", word(s));
    } else if (room >= kUnlimited) {
      rooms += fmt::format("{} end: not limited", word(s));
    } else {
      rooms += fmt::format("{} end: {} left by {}", word(s), mm(room), too_loose ? e.cut_rule : e.ream_rule);
    }
  }
  out_.no_plan = fmt::format("{} is to be {}; {}", mm(need), too_loose ? "taken off" : "given back", rooms) +
                 (out_.no_plan.empty() ? std::string() : "; " + out_.no_plan);
  out_.relief = first_relief(
      key_.estimate.geometry.kind == HingeKind::rod ? "swedge the tube or fit a washer of the missing length"
      : too_loose ? "a screw with a longer point or a thicker head, or a bushed post with a fresh seat"
                  : "a shorter point, or the posts set further apart");
}

}  // namespace

Expected<KeyGeometry> after(const KeyGeometry& key, const Step& s) {
  KeyGeometry out = key;
  auto& joint = out.at(s.side);
  switch (s.operation) {
    case Operation::drive_home:
    case Operation::turn_screw:
    case Operation::seat_cut:
      joint.stop += s.amount;
      return out;
    case Operation::restore_post:
      out.span -= s.amount;
      return out;
    case Operation::ream:
    case Operation::face:
      break;
  }
  if (key.kind == HingeKind::rod) {
    if (s.operation == Operation::ream)
      return fail(Fault::geometry, "a rod's tube is not reamed with a taper", "the next rod size");
    out.key_length -= s.amount;
    return out;
  }
  const auto before = home_of(joint);
  if (!before) return tl::unexpected(before.error());
  const Length protrusion = before->insertion + joint.stop;
  const auto hole = contact::make_hole(joint.hole);
  if (!hole) return tl::unexpected(hole.error());
  if (s.operation == Operation::ream) {
    const Angle taper = contact::fitting_taper(joint.point, joint.hole);
    if (taper.raw() <= 0)
      return fail(Fault::geometry,
                  "a straight hole with a point that has no taper cannot be reamed along its taper",
                  "a conical point or hole");
    if (joint.hole.shape == HoleShape::cone && joint.hole.half_angle == taper) {
      joint.hole.mouth_radius += s.amount * tan(taper);
    } else {
      const Length at_face = flank_radius_at_face(key, s.side, before->insertion + s.amount);
      joint.hole = as_pairs(joint.hole, contact::ream(*hole, taper, at_face));
    }
  } else {
    auto faced = contact::face(*hole, s.amount);
    if (!faced) return tl::unexpected(faced.error());
    if (joint.hole.shape == HoleShape::cone || joint.hole.shape == HoleShape::straight ||
        joint.hole.shape == HoleShape::drilled) {
      joint.hole.mouth_radius = faced->vertices().front().radius;
      joint.hole.depth -= s.amount;
    } else {
      joint.hole = as_pairs(joint.hole, *faced);
    }
    out.key_length -= s.amount;
  }
  const auto now = home_of(joint);
  if (!now) return tl::unexpected(now.error());
  joint.stop = protrusion - now->insertion;
  return out;
}

KeyPlan plan_key(const KeyCase& key) {
  KeyPlan out;
  const auto hinge = belief::build_hinge(key.estimate.geometry);
  if (!hinge) {
    out.because = hinge.error().what;
    out.relief = hinge.error().expected;
    return out;
  }
  out.window = window_for(key.estimate.geometry, *hinge,
                          Length::of(key.estimate[Figure::end_play].plus_minus), key.window);
  Planner(key, *hinge, out).run();
  return out;
}

}  // namespace hingeline::plan
