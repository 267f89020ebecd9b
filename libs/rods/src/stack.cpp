#include "hingeline/rods/stack.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <string>
#include <utility>

#include "hingeline/numeric/random.h"
#include "hingeline/numeric/statistics.h"
#include "set_up.h"

namespace hingeline::rods {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
/// What an eased limit of a tube or post is taken for when asking whether it stands in the way, mm.
constexpr double kNoLimit = 1000;

tl::unexpected<Error> impossible(std::string what, std::string expected) {
  return fail(Fault::geometry, std::move(what), std::move(expected));
}
bool not_below_zero(Length l) { return is_finite(l) && l.raw() >= 0; }
bool not_below_zero(Duration d) { return is_finite(d) && d.raw() >= 0; }

Expected<void> check(const TubePart& p) {
  if (!not_below_zero(p.swedge_most) || !not_below_zero(p.swedge_free) || !not_below_zero(p.face_most)) {
    return impossible("no such limit of work on a tube", "0 or more");
  }
  return {};
}

Expected<void> check(const StackPrices& prices) {
  for (const WorkPrice* p : {&prices.swedge, &prices.face, &prices.move_post}) {
    if (!not_below_zero(p->set_up) || !not_below_zero(p->per_mm) || !not_below_zero(p->metal_per_mm)) {
      return impossible("no such price of work", "0 or more");
    }
  }
  if (!not_below_zero(prices.ream_swedged) || !not_below_zero(prices.apart)) {
    return impossible("no such price of work", "0 or more");
  }
  if (!is_finite(prices.least) || prices.least.raw() <= 0) {
    return impossible("work has no least amount", "above 0");
  }
  return {};
}

Expected<void> check(const Stack& stack) {
  if (stack.gaps.empty()) return impossible("a stack without a gap", "one or more");
  if (stack.posts.size() != stack.gaps.size() + 1) {
    return impossible("posts and gaps do not go together", "one post more than gaps");
  }
  for (const StackPost& p : stack.posts) {
    if (!not_below_zero(p.up_most) || !not_below_zero(p.down_most)) {
      return impossible("no such limit of a post's way", "0 or more");
    }
  }
  for (const StackGap& g : stack.gaps) {
    if (g.tubes.empty()) return impossible("a gap without a tube", "one or more");
    if (!is_finite(g.end_play) || !not_below_zero(g.play_least) || !is_finite(g.play_most) ||
        g.play_most < g.play_least) {
      return impossible("no such end play or window", "a window from 0 up, its least not above its most");
    }
    if (!not_below_zero(g.guard)) return impossible("no such guard", "0 or more");
    for (const StackTube& t : g.tubes) {
      for (const TubePart* p : {&t.upper, &t.lower}) {
        if (auto sound = check(*p); !sound) return sound;
      }
      if (t.pad && (!is_finite(t.pad->offset) || !not_below_zero(t.pad->allowed))) {
        return impossible("no such pad offset", "a finite one, allowed 0 or more");
      }
    }
  }
  return {};
}

/// The way a limit gives way. Windows and pads: not there; tubes and posts: to kNoLimit.
struct Waived {
  std::vector<LimitAt> limits;
  [[nodiscard]] bool has(const LimitAt& l) const {
    return std::find(limits.begin(), limits.end(), l) != limits.end();
  }
};

/// One group of gaps as a problem with set-ups, and what its operations and rows stand for.
struct Group {
  std::size_t first;
  std::size_t last;
  detail::SetUpProblem problem;
  std::vector<StackStep> steps;            ///< of each operation, amounts left at 0
  std::vector<LimitAt> most;               ///< of each operation
  std::vector<std::array<LimitAt, 2>> at;  ///< of each row: low, high
};

class Builder {
 public:
  Builder(const Stack& stack, const StackPrices& prices, std::size_t first, std::size_t last,
          const Waived& waived)
      : stack_(stack), prices_(prices), waived_(waived) {
    group_.first = first;
    group_.last = last;
    for (std::size_t p = first; p <= last + 1; ++p) add_post(p);
    for (std::size_t g = first; g <= last; ++g) {
      for (std::size_t t = 0; t < stack.gaps[g].tubes.size(); ++t) add_tube(g, t);
    }
    for (std::size_t g = first; g <= last; ++g) add_rows(g);
  }
  Group take() { return std::move(group_); }

 private:
  void add(StackStep step, const LimitAt& limit, double least, double most, const WorkPrice& price,
           int rivals, int shared) {
    if (most < least) return;
    group_.problem.operations.push_back(
        {least, most, price.set_up.raw(), price.per_mm.raw() + price.metal_per_mm.raw(), rivals, shared});
    group_.steps.push_back(step);
    group_.most.push_back(limit);
  }

  [[nodiscard]] double most(const LimitAt& limit) const {
    return waived_.has(limit) ? kNoLimit : limit.value.raw();
  }

  void add_post(std::size_t p) {
    const int rivals = rivals_++;
    for (const Side side : {Side::upper, Side::lower}) {
      const Length far = side == Side::upper ? stack_.posts[p].up_most : stack_.posts[p].down_most;
      const LimitAt limit{StackLimit::post_most, 0, p, side, far};
      add({StackWork::move_post, 0, p, side, {}, false}, limit, prices_.least.raw(), most(limit),
          prices_.move_post, rivals, -1);
    }
  }

  void add_tube(std::size_t g, std::size_t t) {
    const StackTube& tube = stack_.gaps[g].tubes[t];
    const int shared = static_cast<int>(group_.problem.shared.size());
    group_.problem.shared.push_back(prices_.ream_swedged.raw());
    const double least = prices_.least.raw();
    for (const Side side : {Side::upper, Side::lower}) {
      const TubePart& part = side == Side::upper ? tube.upper : tube.lower;
      const int rivals = rivals_++;
      const LimitAt grows{StackLimit::swedge_most, g, t, side, part.swedge_most};
      const double free = std::min(part.swedge_free.raw(), most(grows));
      add({StackWork::swedge, g, t, side, {}, false}, grows, least, free, prices_.swedge, rivals, -1);
      // With the bore reamed; where that is needed.
      if (most(grows) > free) {
        add({StackWork::swedge, g, t, side, {}, true}, grows, std::max(least, free), most(grows),
            prices_.swedge, rivals, shared);
      }
      const LimitAt loses{StackLimit::face_most, g, t, side, part.face_most};
      add({StackWork::face, g, t, side, {}, false}, loses, least, most(loses), prices_.face, rivals, -1);
    }
  }

  void add_row(std::vector<double> coefficients, double low, double high, LimitAt at_low, LimitAt at_high) {
    if (waived_.has(at_low)) low = -kInfinity;
    if (waived_.has(at_high)) high = kInfinity;
    group_.problem.rows.push_back({std::move(coefficients), low, high});
    group_.at.push_back({at_low, at_high});
  }

  void add_rows(std::size_t g) {
    const StackGap& gap = stack_.gaps[g];
    const std::size_t count = group_.steps.size();
    const double now = gap.end_play.raw();
    const double guard = std::min(gap.guard.raw(), (gap.play_most - gap.play_least).raw() / 2);
    std::vector<double> play(count, 0.0);
    for (std::size_t k = 0; k < count; ++k) {
      const StackStep& s = group_.steps[k];
      if (s.work == StackWork::move_post) {
        const double down = s.side == Side::lower ? 1 : -1;
        if (s.tube == g + 1) play[k] = down;
        if (s.tube == g) play[k] = -down;
      } else if (s.gap == g) {
        play[k] = s.work == StackWork::swedge ? -1 : 1;
      }
    }
    add_row(play, gap.play_least.raw() + guard - now, gap.play_most.raw() - guard - now,
            {StackLimit::play_least, g, 0, Side::upper, gap.play_least},
            {StackLimit::play_most, g, 0, Side::upper, gap.play_most});
    for (std::size_t t = 0; t < gap.tubes.size(); ++t) {
      if (!gap.tubes[t].pad) continue;
      const PadOnTube& pad = *gap.tubes[t].pad;
      const LimitAt up{StackLimit::pad_up, g, t, Side::upper, pad.allowed};
      const LimitAt down{StackLimit::pad_down, g, t, Side::lower, pad.allowed};
      // Pushed up: what lies above it carries it. Pushed down: that and the play there is then.
      std::vector<double> pushed_up(count, 0.0);
      for (std::size_t k = 0; k < count; ++k) {
        const StackStep& s = group_.steps[k];
        if (s.work == StackWork::move_post) {
          if (s.tube == g) pushed_up[k] = s.side == Side::lower ? 1 : -1;
        } else if (s.gap == g && (s.tube < t || (s.tube == t && s.side == Side::upper))) {
          pushed_up[k] = s.work == StackWork::swedge ? 1 : -1;
        }
      }
      std::vector<double> pushed_down = play;
      for (std::size_t k = 0; k < count; ++k) pushed_down[k] += pushed_up[k];
      add_row(std::move(pushed_up), -pad.allowed.raw() - (pad.offset.raw() - now / 2), kInfinity, up, up);
      add_row(std::move(pushed_down), -kInfinity, pad.allowed.raw() - (pad.offset.raw() + now / 2), down,
              down);
    }
  }

  const Stack& stack_;
  const StackPrices& prices_;
  const Waived& waived_;
  Group group_;
  int rivals_ = 0;
};

/// Gaps that a movable post joins stand in one group.
std::vector<std::pair<std::size_t, std::size_t>> groups(const Stack& stack) {
  std::vector<std::pair<std::size_t, std::size_t>> out;
  for (std::size_t g = 0; g < stack.gaps.size(); ++g) {
    const StackPost& above = stack.posts[g];
    const bool joined = g > 0 && (above.up_most.raw() > 0 || above.down_most.raw() > 0);
    if (joined) {
      out.back().second = g;
    } else {
      out.emplace_back(g, g);
    }
  }
  return out;
}

std::vector<StackStep> steps_of(const Group& group, const detail::SetUpSolution& solution) {
  std::vector<StackStep> out;
  for (std::size_t k = 0; k < solution.amounts.size(); ++k) {
    if (solution.amounts[k] <= 0) continue;
    out.push_back(group.steps[k]);
    out.back().amount = Length::of(solution.amounts[k]);
  }
  return out;
}

std::vector<LimitAt> ruling_of(const Group& group, const detail::SetUpSolution& solution) {
  constexpr double kReached = 1e-8;
  std::vector<LimitAt> out;
  bool any = false;
  for (std::size_t k = 0; k < solution.amounts.size(); ++k) {
    if (solution.amounts[k] <= 0) continue;
    any = true;
    // Not where the bore closes: that limit can be passed, by reaming.
    if (solution.amounts[k] >= group.most[k].value.raw() - kReached) out.push_back(group.most[k]);
  }
  if (!any) return {};
  for (std::size_t r = 0; r < group.problem.rows.size(); ++r) {
    const detail::Row& row = group.problem.rows[r];
    double sum = 0;
    for (std::size_t k = 0; k < solution.amounts.size(); ++k) {
      sum += row.coefficients[k] * solution.amounts[k];
    }
    if (sum <= row.low + kReached) out.push_back(group.at[r][0]);
    if (sum >= row.high - kReached) out.push_back(group.at[r][1]);
  }
  return out;
}

/// Everything that limits the group, most telling last: what is dropped first is not named when it need not
/// be.
std::vector<LimitAt> all_limits(const Group& group) {
  std::vector<LimitAt> out;
  const auto once = [&](const LimitAt& l) {
    if (std::find(out.begin(), out.end(), l) == out.end()) out.push_back(l);
  };
  const auto rows = [&](bool of_play) {
    for (std::size_t r = group.at.size(); r-- > 0;) {
      for (const LimitAt& l : group.at[r]) {
        if ((l.limit == StackLimit::play_least || l.limit == StackLimit::play_most) == of_play) once(l);
      }
    }
  };
  rows(false);
  for (const LimitAt& l : group.most) once(l);
  rows(true);
  return out;
}

/// Drops limits one after another as long as it stays infeasible.
StackRefusal refusal_of(const Stack& stack, const StackPrices& prices, const Group& group) {
  StackRefusal out{group.first, group.last, {}};
  Waived waived;
  for (const LimitAt& l : all_limits(group)) {
    waived.limits.push_back(l);
    if (detail::feasible(Builder(stack, prices, group.first, group.last, waived).take().problem)) {
      waived.limits.pop_back();
      out.limits.push_back(l);
    }
  }
  std::reverse(out.limits.begin(), out.limits.end());
  return out;
}

/// End plays and pads after these steps.
std::vector<GapAfter> after(const Stack& stack, const std::vector<StackStep>& steps) {
  std::vector<GapAfter> out;
  for (std::size_t g = 0; g < stack.gaps.size(); ++g) {
    const StackGap& gap = stack.gaps[g];
    Length upper_post;
    Length lower_post;
    std::vector<std::array<Length, 2>> growth(gap.tubes.size());
    for (const StackStep& s : steps) {
      if (s.work == StackWork::move_post) {
        const Length down = s.side == Side::lower ? s.amount : -s.amount;
        if (s.tube == g) upper_post += down;
        if (s.tube == g + 1) lower_post += down;
      } else if (s.gap == g) {
        growth[s.tube][s.side == Side::upper ? 0 : 1] += s.work == StackWork::swedge ? s.amount : -s.amount;
      }
    }
    GapAfter a;
    a.end_play = gap.end_play + lower_post - upper_post;
    for (const auto& [above, below] : growth) a.end_play -= above + below;
    Length carried = upper_post - gap.end_play / 2.0;
    for (std::size_t t = 0; t < gap.tubes.size(); ++t) {
      a.pads.emplace_back();
      if (const auto& pad = gap.tubes[t].pad) {
        const Length up = pad->offset + carried + growth[t][0];
        a.pads.back() = GapAfter::PadRange{up, up + a.end_play};
        // Bound tubes cannot be where they overlap: in the middle of it.
        if (a.end_play.raw() < 0)
          a.pads.back() = GapAfter::PadRange{up + a.end_play / 2.0, up + a.end_play / 2.0};
      }
      carried += growth[t][0] + growth[t][1];
    }
    out.push_back(std::move(a));
  }
  return out;
}

void price(StackPlan& plan, const StackPrices& prices) {
  if (!plan.steps.empty()) plan.time += prices.apart;
  std::vector<std::pair<std::size_t, std::size_t>> reamed;
  for (const StackStep& s : plan.steps) {
    const WorkPrice& p = s.work == StackWork::swedge ? prices.swedge
                         : s.work == StackWork::face ? prices.face
                                                     : prices.move_post;
    plan.time += p.set_up + p.per_mm * s.amount.raw();
    plan.metal += p.metal_per_mm * s.amount.raw();
    const std::pair tube(s.gap, s.tube);
    if (s.ream_after && std::find(reamed.begin(), reamed.end(), tube) == reamed.end()) {
      reamed.push_back(tube);
      plan.time += prices.ream_swedged;
    }
  }
}

}  // namespace

const char* word(StackWork work) {
  switch (work) {
    case StackWork::swedge:
      return "swedge";
    case StackWork::face:
      return "face";
    case StackWork::move_post:
      break;
  }
  return "move post";
}

Length StackStep::play_change() const {
  if (work == StackWork::move_post) return {};
  return work == StackWork::swedge ? -amount : amount;
}

std::vector<GapAfter> as_it_stands(const Stack& stack) { return after(stack, {}); }

Expected<StackAnswer> plan_stack(const Stack& stack, const StackPrices& prices, std::size_t count) {
  if (auto sound = check(stack); !sound) return tl::unexpected(sound.error());
  if (auto sound = check(prices); !sound) return tl::unexpected(sound.error());
  if (count < 1 || count > 10) return impossible("no such number of plans", "1 to 10");
  StackAnswer out;
  // The cheapest of the whole stack are sums of the cheapest of each group.
  struct Sum {
    double cost = 0;
    StackPlan plan;
  };
  std::vector<Sum> sums(1);
  for (const auto& [first, last] : groups(stack)) {
    std::size_t tubes = 0;
    for (std::size_t g = first; g <= last; ++g) tubes += stack.gaps[g].tubes.size();
    if (tubes > kMostTubesTogether) {
      return impossible("too many tubes between posts that stand still",
                        "at most " + std::to_string(kMostTubesTogether));
    }
    const Group group = Builder(stack, prices, first, last, {}).take();
    const auto solutions = detail::cheapest(group.problem, count);
    if (solutions.empty()) {
      out.refusals.push_back(refusal_of(stack, prices, group));
      continue;
    }
    std::vector<Sum> next;
    for (const Sum& sum : sums) {
      for (const detail::SetUpSolution& s : solutions) {
        Sum with = sum;
        with.cost += s.cost;
        for (StackStep& step : steps_of(group, s)) with.plan.steps.push_back(step);
        for (LimitAt& limit : ruling_of(group, s)) with.plan.ruling.push_back(limit);
        next.push_back(std::move(with));
      }
    }
    std::stable_sort(next.begin(), next.end(), [](const Sum& a, const Sum& b) { return a.cost < b.cost; });
    if (next.size() > count) next.resize(count);
    sums = std::move(next);
  }
  if (!out.refusals.empty()) return out;
  for (Sum& sum : sums) {
    std::stable_sort(sum.plan.steps.begin(), sum.plan.steps.end(),
                     [](const StackStep& a, const StackStep& b) {
                       return (a.work == StackWork::move_post) > (b.work == StackWork::move_post);
                     });
    price(sum.plan, prices);
    sum.plan.gaps = after(stack, sum.plan.steps);
    out.plans.push_back(std::move(sum.plan));
  }
  return out;
}

Expected<std::optional<Duration>> saved_by_easing(const Stack& stack, const StackPrices& prices,
                                                  const LimitAt& limit, Length by) {
  if (!is_finite(by) || by.raw() <= 0) return impossible("a limit gives way by nothing", "above 0");
  if (auto sound = check(stack); !sound) return tl::unexpected(sound.error());
  const bool is_post = limit.limit == StackLimit::post_most;
  if (is_post ? limit.tube >= stack.posts.size()
              : limit.gap >= stack.gaps.size() || limit.tube >= stack.gaps[limit.gap].tubes.size()) {
    return impossible("there is no such limit in this stack", "one of its gaps, tubes or posts");
  }
  Stack eased = stack;
  const auto part = [&]() -> TubePart& {
    StackTube& t = eased.gaps[limit.gap].tubes[limit.tube];
    return limit.side == Side::upper ? t.upper : t.lower;
  };
  switch (limit.limit) {
    case StackLimit::play_least: {
      Length& least = eased.gaps[limit.gap].play_least;
      least = std::max(Length{}, least - by);
      break;
    }
    case StackLimit::play_most:
      eased.gaps[limit.gap].play_most += by;
      break;
    case StackLimit::pad_up:
    case StackLimit::pad_down:
      if (auto& pad = eased.gaps[limit.gap].tubes[limit.tube].pad) pad->allowed += by;
      break;
    case StackLimit::swedge_most:
      part().swedge_most += by;
      break;
    case StackLimit::face_most:
      part().face_most += by;
      break;
    case StackLimit::post_most:
      (limit.side == Side::upper ? eased.posts[limit.tube].up_most : eased.posts[limit.tube].down_most) += by;
      break;
  }
  const auto before = plan_stack(stack, prices, 1);
  if (!before) return tl::unexpected(before.error());
  const auto then = plan_stack(eased, prices, 1);
  if (!then) return tl::unexpected(then.error());
  if (before->plans.empty() || then->plans.empty()) return std::optional<Duration>{};
  return std::optional(std::max(Duration{}, before->plans[0].cost() - then->plans[0].cost()));
}

// ---- care ------------------------------------------------------------------------------------------

namespace {

bool touches(const StackStep& s, std::size_t gap) {
  return s.work == StackWork::move_post ? s.tube == gap || s.tube == gap + 1 : s.gap == gap;
}

double chance_within(const StackGap& gap, Length end_play, double standard) {
  const double low = (gap.play_least - end_play).raw();
  const double high = (gap.play_most - end_play).raw();
  // An aim on the edge of the window to the last digits is in it.
  if (standard <= 0) return low <= kStackWorstError.raw() && high >= -kStackWorstError.raw() ? 1 : 0;
  return numeric::normal_below(high / standard) - numeric::normal_below(low / standard);
}

/// What a step does to the end play of a gap it touches.
double change_of(const StackStep& s, std::size_t gap) {
  if (s.work != StackWork::move_post) return s.play_change().raw();
  return ((s.side == Side::lower) == (s.tube == gap + 1) ? 1 : -1) * s.amount.raw();
}

/// Most of `amount` that eats no more than `room`, at the risk that belongs to this z.
double bite(double room, double amount, double reading, double share, double z) {
  const auto keeps = [&](double b) { return room - b >= z * std::hypot(reading, share * b); };
  if (keeps(amount)) return amount;
  if (!keeps(0)) return 0;
  double low = 0;
  double high = amount;
  while (true) {
    const double middle = low + (high - low) / 2;
    if (middle <= low || middle >= high) return low;
    (keeps(middle) ? low : high) = middle;
  }
}

}  // namespace

Expected<StackCare> care_for(const Stack& stack, const StackPlan& plan, const StackDoubt& doubt) {
  if (auto sound = check(stack); !sound) return tl::unexpected(sound.error());
  if (doubt.end_play.size() != stack.gaps.size()) {
    return impossible("doubts and gaps do not go together", "one for each gap");
  }
  for (const Length l : doubt.end_play) {
    if (!not_below_zero(l)) return impossible("no such doubt of a reading", "0 or more");
  }
  for (const double share : {doubt.swedge_share, doubt.face_share, doubt.post_share}) {
    if (!(share >= 0) || !std::isfinite(share)) return impossible("no such doubt of a step", "0 or more");
  }
  if (!(doubt.chance_wanted > 0 && doubt.chance_wanted < 1)) {
    return impossible("no such chance", "above 0, below 1");
  }
  if (!(doubt.overshoot_risk > 0 && doubt.overshoot_risk < 0.5)) {
    return impossible("no such risk", "above 0, below 0.5");
  }
  const auto share = [&](const StackStep& s) {
    return s.work == StackWork::swedge ? doubt.swedge_share
           : s.work == StackWork::face ? doubt.face_share
                                       : doubt.post_share;
  };
  StackCare out;
  for (const StackStep& s : plan.steps) out.steps.push_back({false, s.amount});
  const auto chance = [&](std::size_t g) {
    double variance = doubt.end_play[g].raw() * doubt.end_play[g].raw();
    for (std::size_t k = 0; k < plan.steps.size(); ++k) {
      const StackStep& s = plan.steps[k];
      if (!touches(s, g) || out.steps[k].measure_after) continue;
      const double off = share(s) * s.amount.raw();
      variance += off * off;
    }
    return chance_within(stack.gaps[g], plan.gaps[g].end_play, std::sqrt(variance));
  };
  for (std::size_t g = 0; g < stack.gaps.size(); ++g) out.chance.push_back(chance(g));
  for (std::size_t g = 0; g < stack.gaps.size(); ++g) {
    while (chance(g) < doubt.chance_wanted) {
      std::optional<std::size_t> least_certain;
      double most = 0;
      for (std::size_t k = 0; k < plan.steps.size(); ++k) {
        const double off = share(plan.steps[k]) * plan.steps[k].amount.raw();
        if (!touches(plan.steps[k], g) || out.steps[k].measure_after || off <= most) continue;
        most = off;
        least_certain = k;
      }
      if (!least_certain) break;
      out.steps[*least_certain].measure_after = true;
    }
  }
  const double z = -numeric::inverse_normal(doubt.overshoot_risk);
  for (std::size_t g = 0; g < stack.gaps.size(); ++g) {
    out.chance_measured.push_back(chance(g));
    double now = stack.gaps[g].end_play.raw();
    for (std::size_t k = 0; k < plan.steps.size(); ++k) {
      const StackStep& s = plan.steps[k];
      if (!touches(s, g)) continue;
      const double change = change_of(s, g);
      if (out.steps[k].measure_after) {
        // From here to the window's far edge, and what later steps of this gap bring back.
        double room = change > 0 ? stack.gaps[g].play_most.raw() - now : now - stack.gaps[g].play_least.raw();
        for (std::size_t later = k + 1; later < plan.steps.size(); ++later) {
          if (!touches(plan.steps[later], g)) continue;
          const double back = change_of(plan.steps[later], g);
          if ((back > 0) != (change > 0)) room += std::abs(back);
        }
        // A move of a post answers to both its gaps.
        const double most = bite(room, s.amount.raw(), doubt.end_play[g].raw(), share(s), z);
        out.steps[k].first = std::min(out.steps[k].first, Length::of(most));
      }
      now += change;
    }
  }
  return out;
}

}  // namespace hingeline::rods
