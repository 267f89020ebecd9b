#include "hingeline/plan/plan.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>

#include "operations.h"

namespace hingeline::plan {
namespace {

using belief::HingeKind;
using belief::KeyGeometry;
using contact::HoleShape;
using contact::PointShape;
using contact::Regime;

constexpr const char* kRockRelief =
    "look for a worn-oval or bell-mouthed hole, loose threads or a loose post before any metal is cut";
constexpr double kUnlimited = 1e9;
constexpr double kTiny = 1e-9;
constexpr std::array<Side, 2> kSides{Side::upper, Side::lower};

std::size_t index(Side s) { return s == Side::upper ? 0 : 1; }
Length mm(double v) { return millimetres(v); }
bool is_known(const MaybeLength& l) { return l && l->known(); }

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

/// Highest end play to aim at: inside the window by the estimate's uncertainty where there is room for it.
Length highest_aim(const KeyCase& key, const Window& window) {
  const Length doubt = Length::of(key.estimate[Figure::end_play].plus_minus);
  return std::max(window.high - std::max(doubt, key.limits.aim_guard), (window.low + window.high) / 2);
}

class Planner {
 public:
  Planner(const KeyCase& key, const mechanism::Hinge& hinge, KeyPlan& out)
      : key_(key), hinge_(hinge), out_(out) {
    for (const Side s : kSides) ends_[index(s)] = look_at(s);
    now_.geometry_after = key.estimate.geometry;
    now_.before = now_.after = belief::figures_of(key.estimate.geometry, hinge);
    now_.reserves = reserves(now_, now_.measure_first);
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

  /// Where further work starts: steps settled on, the pad's shift so far, where the points stop the key.
  struct Start {
    std::vector<Step> steps;
    double shift = 0;
    std::array<double, 2> stop{};
    std::array<double, 2> post{};  ///< how far each post has been brought back already
    [[nodiscard]] double dead(std::size_t end) const { return std::max(0.0, -stop[end]); }
  };

  EndCase look_at(Side side);
  /// Whether the shop has cutters, and none for this head.
  [[nodiscard]] bool no_cutter(const EndFacts& facts) const {
    return is_known(facts.head_diameter) && !key_.tools.cutters.empty() &&
           choose_cutter(facts, key_.tools, key_.limits).name.empty();
  }
  /// The wall round a headed screw's seat, where it is known and under the least.
  [[nodiscard]] std::optional<Length> thin_wall(const EndFacts& facts) const {
    const auto wall = seat_wall(facts);
    return facts.headed && wall && *wall < key_.limits.wall_seat_min ? wall : std::nullopt;
  }
  /// What the cutter, or where there is none the head, leaves of the post round the seat.
  [[nodiscard]] std::optional<Length> seat_wall(const EndFacts& facts) const {
    if (!is_known(facts.post_diameter) || !is_known(facts.head_diameter)) return std::nullopt;
    const Cutter* cutter = fitting_cutter(facts, key_.tools, key_.limits);
    const Length seat = cutter == nullptr ? facts.head_diameter->value
                                          : std::max(cutter->diameter, facts.head_diameter->value);
    return (facts.post_diameter->value - seat) / 2;
  }
  void refuse(Operation op, std::optional<Side> side, Said why, Said relief) {
    out_.refusals.push_back({op, side, std::move(why), std::move(relief)});
  }
  void judge();
  void loosen();
  [[nodiscard]] Start untouched() const { return {{}, 0, {ends_[0].stop.raw(), ends_[1].stop.raw()}, {}}; }
  [[nodiscard]] double free_room(Operation op, Side side, const Start& start, bool tighter) const;
  void tighten(double surplus);
  void restore_and_cut();
  void share_work(const Start& start, double need, bool tighter);
  void share_cuts(const Start& start, double need);
  void share_reams(const Start& start, double need);
  template <class Add>
  void split(double need, double shift_before, double sign, std::array<double, 2> room,
             std::array<double, 2> dead, Add add) const;
  void add_draft(Approach approach, std::vector<Step> steps);
  void finish();
  [[nodiscard]] std::optional<Plan> carry_out(const Draft& draft, Said& broken) const;
  [[nodiscard]] std::vector<Reserve> reserves(const Plan& plan, std::vector<Said>& measure_first) const;
  [[nodiscard]] Step step(Operation op, Side side, double amount) const;
  [[nodiscard]] double minutes_of(const Step& step) const;
  [[nodiscard]] double end_play() const { return key_.estimate[Figure::end_play].value; }
  [[nodiscard]] double doubt() const { return key_.estimate[Figure::end_play].plus_minus; }
  /// Highest and lowest end play to aim at: inside the window by the reading's uncertainty where the
  /// window leaves room for it (its lower edge holds that uncertainty already).
  [[nodiscard]] double aim_high() const { return highest_aim(key_, out_.window).raw(); }
  [[nodiscard]] double aim_low() const {
    const double low = out_.window.low.raw();
    return std::min(low + key_.limits.aim_guard.raw(), (low + out_.window.high.raw()) / 2);
  }

  const KeyCase& key_;
  const mechanism::Hinge& hinge_;
  KeyPlan& out_;
  std::array<EndCase, 2> ends_;
  std::vector<Draft> drafts_;
  Plan now_;  ///< the key as it stands: a plan without a step
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
  const auto no_cut = [&](Said why, Said relief) {
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
    no_cut(say("the tip stands on the floor before the sides carry: ", e.home.clearance * 2,
               " of rock stays even when home"),
           say("shorten the tip or deepen the hole by ", mm(needed)));
    if (!e.ream_refused) {
      e.ream_refused = true;
      refuse(Operation::ream, side, "the tip stands on the floor: a wider hole lets it in no further",
             "shorten the tip or deepen the hole first");
    }
  } else if (conical && joint.hole.shape == HoleShape::bell && e.home.insertion.raw() > 0 &&
             e.home.touching / e.home.insertion < key_.limits.flank_share_min) {
    e.needs_restoring = true;
    no_cut(say("the hole is bell-mouthed: the flank carries over ", e.home.touching, " of ", e.home.insertion,
               " only"),
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
    if (no_cutter(facts)) {
      no_cut(say("cutter: ", choose_cutter(facts, key_.tools, key_.limits).why),
             "own or borrow the cutter named");
    }
  }
  if (const auto wall = thin_wall(facts); wall && !e.cut_refused) {
    no_cut(say("the wall round the seat is ", *wall, ", the least is ", key_.limits.wall_seat_min),
           "a screw with a smaller head, or work the other end");
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
      s.reach = choose_reach(facts, key_.tools, fitting_cutter(facts, key_.tools, key_.limits));
      break;
    case Operation::ream: {
      const Angle taper = contact::fitting_taper(joint.point, joint.hole);
      const Length tip = joint.point.tip_radius * 2;
      const Length mouth =
          flank_radius_at_face(key_.estimate.geometry, side, ends_[index(side)].home.insertion) * 2;
      s.tool = choose_reamer(taper, std::max(tip, Length::of(0.01)),
                             mouth + Length::of(2 * amount * tan(taper)), key_.tools, key_.limits);
      s.turns = amount / key_.pace.take_off_per_turn.raw();
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
    case Operation::face:
      s.turns = amount / key_.pace.take_off_per_turn.raw();
      s.turn_way = "as tightening";
      break;
    case Operation::restore_post:
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
  return m.set_up + m.per_turn * s.turns;
}

void Planner::add_draft(Approach approach, std::vector<Step> steps) {
  std::erase_if(steps, [](const Step& s) { return std::abs(s.amount.raw()) < kTiny; });
  const auto same = [](const Step& x, const Step& y) {
    return x.operation == y.operation && x.side == y.side && std::abs((x.amount - y.amount).raw()) < kTiny;
  };
  for (const Draft& d : drafts_) {
    if (std::equal(d.steps.begin(), d.steps.end(), steps.begin(), steps.end(), same)) return;
  }
  Draft d;
  d.approach = approach;
  // The middle of the free range, in the body's frame, before and after.
  std::array<double, 2> stop = untouched().stop;
  double gap = (hinge_.span() - hinge_.key_length()).raw();
  double frame = 0;
  const auto middle = [&] { return (gap + std::max(0.0, stop[0]) - std::max(0.0, stop[1])) / 2 + frame; };
  const double before = middle();
  for (const Step& s : steps) {
    const double a = s.amount.raw();
    if (takes_metal(s.operation)) d.metal += a;
    d.minutes += minutes_of(s);
    const bool post = s.operation == Operation::restore_post;
    const bool facing = s.operation == Operation::face;
    if (!post) stop[index(s.side)] += s.operation == Operation::ream ? -a : a;
    if (post || facing) gap += post ? -a : a;
    frame += frame_moved(s);
  }
  d.shift = middle() - before;
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
  const auto take = [&](double upper, Approach approach) {
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
  const auto attempt = [&](double upper, Approach approach) {
    upper = std::clamp(upper, 0.0, need);
    // A share too small to cut is left out, or made just worth it.
    if (upper > 0 && upper < least) {
      take(0, approach);
      if (2 * least <= need) take(least, approach);
    } else if (upper < need && need - upper < least) {
      take(need, approach);
      if (2 * least <= need) take(need - least, approach);
    } else {
      take(upper, approach);
    }
  };
  attempt(need, Approach::cut_upper);
  attempt(0, Approach::cut_lower);
  attempt(share_for(0), Approach::keep_centred);
  attempt(share_for(allowed), Approach::share_cut);
  attempt(share_for(-allowed), Approach::share_cut);
  attempt(room[0] - dead[0], Approach::share_cut);
  attempt(need - (room[1] - dead[1]), Approach::share_cut);
}

void Planner::share_cuts(const Start& start, double need) {
  const std::array<double, 2> room{ends_[0].cut_refused ? 0.0 : ends_[0].cut_room,
                                   ends_[1].cut_refused ? 0.0 : ends_[1].cut_room};
  split(need, start.shift, 1.0, room, {start.dead(0), start.dead(1)},
        [&](double upper, double lower, Approach approach) {
          auto steps = start.steps;
          if (upper > 0) steps.push_back(step(Operation::seat_cut, Side::upper, upper));
          if (lower > 0) steps.push_back(step(Operation::seat_cut, Side::lower, lower));
          add_draft(approach, std::move(steps));
        });
}

void Planner::share_reams(const Start& start, double need) {
  std::array<double, 2> room{};
  for (const Side s : kSides) {
    const EndCase& e = ends_[index(s)];
    // Once the face stops the key, more ream gives nothing.
    const double useful = start.stop[index(s)] - key_.limits.face_gap_min.raw();
    room[index(s)] = e.ream_refused ? 0.0 : std::max(0.0, std::min(e.ream_room, useful));
  }
  split(need, start.shift, -1.0, room, {0, 0}, [&](double upper, double lower, Approach approach) {
    auto steps = start.steps;
    if (upper > 0) steps.push_back(step(Operation::ream, Side::upper, upper));
    if (lower > 0) steps.push_back(step(Operation::ream, Side::lower, lower));
    const Approach named = approach == Approach::cut_upper   ? Approach::ream_upper
                           : approach == Approach::cut_lower ? Approach::ream_lower
                                                             : Approach::share_ream;
    add_draft(named, std::move(steps));
  });
}

/// How much end play a knocked post brought back, or a headless screw turned, takes away or gives.
double Planner::free_room(Operation op, Side side, const Start& start, bool tighter) const {
  const EndFacts& facts = key_.facts(side);
  if (op == Operation::restore_post) {
    if (!is_known(facts.displaced)) return 0;
    const double out_of_place = tighter ? facts.displaced->value.raw() : -facts.displaced->value.raw();
    return std::max(0.0, out_of_place - start.post[index(side)]);
  }
  if (facts.headed || key_.estimate.geometry.kind == HingeKind::rod) return 0;
  if (tighter) {
    const double reach = is_known(facts.slot_left) ? facts.slot_left->value.raw() : kUnlimited;
    return std::max(0.0, reach - start.dead(index(side)));
  }
  double room = start.stop[index(side)] - key_.limits.face_gap_min.raw();
  if (is_known(facts.engagement) && facts.pitch) {
    room = std::min(room, (facts.engagement->value - *facts.pitch * key_.limits.engagement_min_turns).raw());
  }
  return std::max(0.0, room);
}

/// `need` of end play taken away, or given back: every choice of the free moves there are, shared between
/// the ends where they are enough, with metal for the rest where they are not.
void Planner::share_work(const Start& start, double need, bool tighter) {
  const double sign = tighter ? 1.0 : -1.0;
  constexpr unsigned kMoves = 4;  // posts at both ends, then screws
  const auto operation = [](unsigned move) {
    return move < 2 ? Operation::restore_post : Operation::turn_screw;
  };
  std::array<double, kMoves> all{};
  for (unsigned m = 0; m < kMoves; ++m) all[m] = free_room(operation(m), kSides[m % 2], start, tighter);
  for (unsigned chosen = 0; chosen < 1U << kMoves; ++chosen) {
    std::array<double, kMoves> room{};
    bool possible = true;
    for (unsigned m = 0; m < kMoves; ++m) {
      if ((chosen >> m & 1U) == 0) continue;
      possible = possible && all[m] > kTiny;
      room[m] = all[m];
    }
    if (!possible) continue;
    const std::array<double, 2> of_end{room[0] + room[2], room[1] + room[3]};
    // So much at the upper end and so much at the lower: posts first, they cost no time by the amount.
    const auto moved = [&](const std::array<double, 2>& share) {
      Start s = start;
      for (unsigned m = 0; m < kMoves; ++m) {
        const unsigned end = m % 2;
        const double give =
            m < 2 ? std::min(share[end], room[m]) : share[end] - std::min(share[end], room[end]);
        if (give <= kTiny) continue;
        double amount = give;
        if (m >= 2 && tighter) amount += start.dead(end);
        if (m < 2) {
          // One step for one post.
          amount += start.post[end];
          std::erase_if(s.steps,
                        [&](const Step& x) { return x.operation == operation(m) && x.side == kSides[end]; });
        }
        s.steps.push_back(step(operation(m), kSides[end], sign * amount));
        if (m >= 2) s.stop[end] += sign * give;
        s.shift += (end == 0 ? 0.5 : -0.5) * sign * give;
      }
      return s;
    };
    if (of_end[0] + of_end[1] < need - kTiny) {
      const Start s = moved(of_end);
      const double rest = need - of_end[0] - of_end[1];
      tighter ? share_cuts(s, rest) : share_reams(s, rest);
      continue;
    }
    if (chosen == 0) continue;
    const double least = std::max(0.0, need - of_end[1]);
    const double most = std::min(need, of_end[0]);
    const double off = key_.pad_off_centre.raw() + start.shift;
    const double allowed = key_.limits.centring_allowed.raw();
    const double centred = need / 2 - sign * off;
    for (const double upper :
         {most, least, centred, centred + allowed, centred - allowed, room[0], need - room[1]}) {
      const double u = std::min(std::max(upper, least), most);
      add_draft(Approach::free_first, moved({u, need - u}).steps);
    }
  }
}

/// Work that takes end play away. surplus: how much, at least.
void Planner::tighten(double surplus) {
  Start start = untouched();
  for (const Side s : kSides) {
    const EndFacts& facts = key_.facts(s);
    if (!facts.headed || key_.estimate.geometry.kind == HingeKind::rod || !is_known(facts.stands_off) ||
        facts.stands_off->value <= key_.limits.least_cut)
      continue;
    const double q = facts.stands_off->value.raw();
    double& stop = start.stop[index(s)];
    start.steps.push_back(step(Operation::drive_home, s, q));
    const double gained = std::max(0.0, stop + q) - std::max(0.0, stop);
    surplus -= gained;
    start.shift += (s == Side::upper ? 0.5 : -0.5) * gained;
    stop += q;
  }
  const double tight = aim_low() - (aim_high() + surplus);
  if (surplus > kTiny) {
    share_work(start, surplus, true);
  } else if (aim_high() + surplus < out_.window.low.raw() - kTiny) {
    share_work(start, tight, false);  // home, the screws are too far in
  } else {
    add_draft(Approach::free_first, start.steps);
  }
}

/// Work that gives end play back.
void Planner::loosen() {
  const bool rod = key_.estimate.geometry.kind == HingeKind::rod;
  const double wanted = aim_low() + 2 * key_.limits.face_gap_min.raw();
  for (unsigned posts = 0; posts < 4; ++posts) {
    Start start = untouched();
    double gap = key_.estimate[Figure::face_gap].value;
    // Where the faces are too near, whatever the points do: posts knocked inwards first, then the file.
    bool possible = true;
    for (const Side s : kSides) {
      if ((posts >> index(s) & 1U) == 0) continue;
      const double m = std::min(free_room(Operation::restore_post, s, start, false), wanted - gap);
      possible = possible && m > kTiny;
      if (!possible) break;
      start.steps.push_back(step(Operation::restore_post, s, -m));
      start.post[index(s)] = m;
      start.shift += (s == Side::upper ? -0.5 : 0.5) * m;
      gap += m;
    }
    if (!possible) continue;
    const bool faced = gap < wanted - kTiny;
    if (faced) {
      const Side s = start.stop[0] <= start.stop[1] ? Side::upper : Side::lower;
      start.steps.push_back(step(Operation::face, s, wanted - gap));
      start.stop[index(s)] += wanted - gap;
      gap = wanted;
    }
    const double points = rod ? 0.0 : std::max(0.0, start.stop[0]) + std::max(0.0, start.stop[1]);
    const double need = aim_low() - (gap - points);
    if (need > kTiny && !rod) {
      share_work(start, need, false);
    } else {
      add_draft(faced ? Approach::face_end : Approach::free_first, start.steps);
    }
  }
}

void Planner::restore_and_cut() {
  Start start = untouched();
  double need = end_play() - aim_high();
  const auto kept = ends_;
  for (const Side s : kSides) {
    EndCase& e = ends_[index(s)];
    if (!e.needs_restoring || e.ream_refused) continue;
    start.steps.push_back(step(Operation::ream, s, e.restore));
    double& stop = start.stop[index(s)];
    const double given = std::max(0.0, stop) - std::max(0.0, stop - e.restore);
    need += given;
    start.shift += (s == Side::upper ? -0.5 : 0.5) * given;
    stop -= e.restore;
    e.cut_refused = no_cutter(key_.facts(s)) || thin_wall(key_.facts(s)).has_value();
  }
  if (start.steps.empty()) return;
  const std::size_t from = drafts_.size();
  if (need > kTiny) {
    share_cuts(start, need);
  } else {
    add_draft(Approach::restore_seat, start.steps);
  }
  for (std::size_t k = from; k < drafts_.size(); ++k) drafts_[k].approach = Approach::restore_seat;
  ends_ = kept;
}

std::vector<Reserve> Planner::reserves(const Plan& plan, std::vector<Said>& measure_first) const {
  std::vector<Reserve> out;
  if (plan.geometry_after.kind == HingeKind::rod) return out;
  for (const Side s : kSides) {
    const EndFacts& facts = key_.facts(s);
    double cut = 0;
    double in = 0;
    double out_turned = 0;
    bool reamed = false;
    for (const Step& st : plan.steps) {
      if (st.side != s) continue;
      const double a = st.amount.raw();
      if (st.operation == Operation::seat_cut) cut += a;
      if (st.operation == Operation::turn_screw) (a > 0 ? in : out_turned) += std::abs(a);
      if (st.operation == Operation::ream) reamed = true;
    }
    const auto add = [&](const char* name, const MaybeLength& had, double used, Length least, bool matters) {
      Reserve r{name, s, std::nullopt, least};
      if (is_known(had)) {
        r.left = had->value - Length::of(used) - least;
      } else if (matters) {
        measure_first.push_back(
            say(name, " at the ", word(s), " post: at least ", mm(used) + least, " is needed"));
      }
      out.push_back(std::move(r));
    };
    if (facts.headed) {
      add("metal under the head", facts.web, cut, key_.limits.web_min, cut > 0);
      MaybeLength wall;
      if (const auto left = seat_wall(facts)) wall = Measured<Length>{*left, {}, Origin::read};
      add("wall round the seat", wall, 0, key_.limits.wall_seat_min, cut > 0);
    }
    if (facts.headed || in > 0) add("the slot's reach", facts.slot_left, cut + in, {}, cut > 0);
    const Length least_thread = facts.pitch ? *facts.pitch * key_.limits.engagement_min_turns : Length{};
    add("thread engagement", facts.engagement, cut + out_turned, least_thread, cut + out_turned > 0);
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

std::optional<Plan> Planner::carry_out(const Draft& draft, Said& broken) const {
  Plan p;
  p.approach = draft.approach;
  p.steps = draft.steps;
  p.metal = Length::of(draft.metal);
  p.minutes = draft.minutes;
  p.before = now_.before;
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
  double frame = 0;
  for (const Step& s : p.steps) frame += frame_moved(s);
  const auto middle = [](const mechanism::Hinge& h) { return (h.travel().low + h.travel().high) / 2; };
  p.shift = middle(*hinge) - middle(hinge_) + Length::of(frame);
  p.off_centre = key_.pad_off_centre + p.shift;
  p.reserves = reserves(p, p.measure_first);
  if (draft.metal > 0 && doubt() > (out_.window.high - out_.window.low).raw()) {
    p.measure_first.push_back(say("end play: ± ", mm(doubt()), " is too much to cut by"));
  }

  const double e = p.after[static_cast<std::size_t>(Figure::end_play)];
  constexpr double kSlack = 1e-6;
  if (!p.steps.empty() && (e < out_.window.low.raw() - kSlack || e > out_.window.high.raw() + kSlack)) {
    broken = say("end play would be ", mm(e), ", outside the window");
    return std::nullopt;
  }
  // A limit that is passed as the key stands is no reason against work that leaves it so.
  for (const Reserve& r : p.reserves) {
    if (!r.left || r.left->raw() >= -kSlack) continue;
    const auto was = std::find_if(now_.reserves.begin(), now_.reserves.end(),
                                  [&](const Reserve& n) { return n.limit == r.limit && n.side == r.side; });
    if (was != now_.reserves.end() && was->left && r.left->raw() >= was->left->raw() - kSlack) continue;
    broken = say(r.limit, " at the ", word(r.side), " end would be passed by ", -*r.left);
    return std::nullopt;
  }
  return p;
}

void Planner::judge() {
  const Window& w = out_.window;
  const double e = end_play();
  const double u = doubt();
  const double low = w.low.raw();
  const double high = w.high.raw();
  const Said read = say("end play ", WithDoubt{mm(e), mm(u)});
  const Said figure =
      w.crossed ? say(read, "; no end play is right for it") : say(read, ", window ", FromTo{w.low, w.high});
  // Too unsure where the doubt is wider than the window and than a reading's own, and outcomes differ.
  const bool unsure = u > std::max(high - low, key_.reading_uncertainty.raw()) + kTiny;
  const bool was_read = std::any_of(key_.estimate.agreements.begin(), key_.estimate.agreements.end(),
                                    [](const belief::Agreement& a) {
                                      return a.observation.of == belief::Observation::Of::end_play && a.used;
                                    });
  if (unsure && e - u <= high && e + u >= low) {
    out_.verdict = Verdict::cannot_tell;
    out_.because = say(figure, was_read ? ": too unsure to say, read the end play with a finer instrument"
                                        : ": too unsure to say, read the end play");
  } else if (e + u < 0) {
    out_.verdict = Verdict::binds;
    out_.because = say("it binds by ", WithDoubt{mm(-e), mm(u)});
  } else if (e < low - u - kTiny) {
    out_.verdict = Verdict::tight;
    out_.because = figure;
  } else if (e > high + u + kTiny) {
    out_.verdict = Verdict::loose;
    out_.because = figure;
  } else {
    out_.verdict = Verdict::sound;
    out_.because = say(figure, e < low || e > high ? ": not shown to be outside it" : "");
  }
  // Rock that end play does not explain: a reading beyond what the fit allows it.
  for (const auto& a : key_.estimate.agreements) {
    if (a.observation.of != belief::Observation::Of::rock || a.used ||
        a.observation.value.raw() <= a.predicted)
      continue;
    const Said more = say("rock of ", a.observation.value, " read where the play explains ", mm(a.predicted));
    for (const Side s : kSides) {
      EndCase& end = ends_[index(s)];
      if (!end.cut_refused)
        refuse(Operation::seat_cut, s, say(more, ": a deeper seat does not take it away"), kRockRelief);
      end.cut_refused = true;
    }
    if (out_.verdict == Verdict::sound) {
      out_.verdict = Verdict::loose;
      out_.because = say(more, "; end play itself is within the window");
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
  Said first_broken;
  constexpr std::size_t kMostPlans = 5;
  for (const Draft& d : drafts_) {
    if (out_.plans.size() >= kMostPlans) break;
    Said broken;
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
  const auto first_relief = [&](Said otherwise) {
    const auto r = std::find_if(out_.refusals.begin(), out_.refusals.end(),
                                [](const Refusal& x) { return !x.relief.empty(); });
    return r == out_.refusals.end() ? std::move(otherwise) : r->relief;
  };
  if (rock_beyond_play_) {
    out_.no_plan = "cutting cannot take this rock away";
    out_.relief = kRockRelief;
    return;
  }
  if (out_.window.crossed) {
    out_.no_plan = out_.window.conflict;
    // With no end play left the demand is passed still: the play lies across the line.
    const bool across = out_.window.high.raw() <= 0;
    const bool rod = key_.estimate.geometry.kind == HingeKind::rod;
    out_.relief =
        !across ? "allow more pad gap or rock for this key, narrow the service range, or bring points and "
                  "holes into line"
        : rod   ? "a rod of the next size, or the tube swedged until its bore fits the rod"
                : kRockRelief;
    return;
  }
  const bool too_loose = out_.verdict == Verdict::loose;
  if (too_loose) {
    tighten(end_play() - aim_high());
    restore_and_cut();
  } else {
    loosen();
  }
  finish();
  if (!out_.plans.empty()) return;
  const double need = too_loose ? end_play() - aim_high() : aim_low() - end_play();
  const bool rod = key_.estimate.geometry.kind == HingeKind::rod;
  Said why = say(mm(need), " is to be ", too_loose ? "taken off" : "given back",
                 rod && too_loose ? ", and neither seat nor point does that on a rod" : ";");
  const char* before = " ";
  for (const Side s : kSides) {
    if (rod) break;
    const EndCase& e = ends_[index(s)];
    const bool refused = too_loose ? e.cut_refused : e.ream_refused;
    const double room = too_loose ? e.cut_room : e.ream_room;
    why << before << word(s) << " end: ";
    before = ", ";
    if (refused) {
      why << "refused";
    } else if (room >= kUnlimited) {
      why << "not limited";
    } else {
      why << mm(room) << " left by " << (too_loose ? e.cut_rule : e.ream_rule);
    }
  }
  if (!out_.no_plan.empty()) why << "; " << out_.no_plan;
  out_.no_plan = std::move(why);
  out_.relief = first_relief(key_.estimate.geometry.kind == HingeKind::rod
                                 ? "swedge the tube or fit a washer of the missing length"
                             : too_loose ? "a screw with a longer point, or a bushed post with a fresh seat"
                                         : "a shorter point, or the posts set further apart");
}

}  // namespace

std::optional<Bite> first_bite(const KeyCase& key, const Window& window, const Plan& plan) {
  KeyGeometry geometry = key.estimate.geometry;
  for (const Step& s : plan.steps) {
    if (s.operation == Operation::seat_cut) {
      const auto hinge = belief::build_hinge(geometry);
      if (!hinge) return std::nullopt;
      const Length play = hinge->travel().end_play();
      const TakeOff rate = take_off_of(key.pace.take_off_per_turn, key.pace.take_off_plus_minus);
      return next_bite(play, Length::of(key.estimate[Figure::end_play].plus_minus / 2), window.low,
                       std::max(highest_aim(key, window), play - s.amount), rate);
    }
    auto next = after(geometry, s);
    if (!next) return std::nullopt;
    geometry = std::move(*next);
  }
  return std::nullopt;
}

KeyPlan plan_key(const KeyCase& key) {
  KeyPlan out;
  const auto hinge = belief::build_hinge(key.estimate.geometry);
  if (!hinge) {
    out.because = hinge.error().what;
    out.relief = hinge.error().expected;
    return out;
  }
  out.window = window_for(key.estimate.geometry, *hinge, key.reading_uncertainty, key.window);
  Planner(key, *hinge, out).run();
  return out;
}

}  // namespace hingeline::plan
