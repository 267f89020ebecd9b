// Plans of stacks against a general mixed-integer solver.

#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <nlohmann/json.hpp>

#include "hingeline/numeric/random.h"
#include "hingeline/rods/stack.h"
#include "oracle.h"

namespace hingeline::rods {
namespace {

using nlohmann::json;
using numeric::Stream;

/// A stack as places along the line in micrometres (for the solver) and as end plays and offsets.
struct Made {
  json places;
  Stack stack;
  StackPrices prices;
};

double um(Length l) { return in_millimetres(l) * 1000; }
Length from_um(double v) { return millimetres(v / 1000); }

Made make(std::uint64_t n) {
  Stream s(2026, n);
  const auto between = [&](double a, double b) { return a + (b - a) * s.uniform(); };
  const auto chance = [&](double p) { return s.uniform() < p; };
  Made out;
  const auto price = [&](double set_up, double rate, double metal) {
    return WorkPrice{seconds(60 * set_up), seconds(60 * rate), seconds(60 * metal)};
  };
  out.prices = {price(between(3, 8), between(5, 60), between(0, 50)),
                price(between(2, 6), between(5, 60), between(0, 200)),
                price(between(10, 25), between(5, 60), 0),
                seconds(60 * between(3, 10)),
                seconds(60 * between(0, 20)),
                from_um(between(5, 15))};
  const Length guard = from_um(chance(0.3) ? 0 : between(0, 8));
  const auto minutes = [](const WorkPrice& p) {
    return json{p.set_up.raw() / 60, (p.per_mm + p.metal_per_mm).raw() / 60 / 1000};
  };
  out.places["prices"] = {
      {"swedge", minutes(out.prices.swedge)},  {"face", minutes(out.prices.face)},
      {"post", minutes(out.prices.move_post)}, {"ream_swedged", out.prices.ream_swedged.raw() / 60},
      {"least", um(out.prices.least)},         {"guard", um(guard)}};
  const std::size_t gaps = 1 + s.bits() % 3;
  for (std::size_t p = 0; p <= gaps; ++p) {
    StackPost post;
    if (chance(0.25)) post = {from_um(between(0, 120)), from_um(between(0, 120))};
    out.stack.posts.push_back(post);
    out.places["posts"].push_back({{"up", um(post.up_most)}, {"down", um(post.down_most)}});
  }
  double at = 0;
  for (std::size_t g = 0; g < gaps; ++g) {
    StackGap gap;
    const std::size_t tubes = 1 + s.bits() % 3;
    const double low = between(5, 20);
    gap.guard = guard;
    gap.play_least = from_um(low);
    gap.play_most = from_um(low + between(5, 40));
    gap.end_play = from_um(chance(0.3) ? between(low, low + 10) : between(-120, 250));
    json places = {{"upper_face", at}, {"window", {um(gap.play_least), um(gap.play_most)}}};
    double top = at;
    for (std::size_t t = 0; t < tubes; ++t) {
      StackTube tube;
      const double length = between(15000, 60000);
      const double station = length * between(0.1, 0.9);
      json written = {{"length", length}, {"station", station}, {"tone_hole", nullptr}, {"allowed", 0}};
      if (chance(0.8)) {
        // The place of a group in the middle of its play.
        const double offset = 120 * s.normal();
        tube.pad = PadOnTube{from_um(offset), from_um(between(60, 250))};
        written["tone_hole"] = top + um(gap.end_play) / 2 + station - offset;
        written["allowed"] = um(tube.pad->allowed);
      }
      for (const char* side : {"upper", "lower"}) {
        TubePart part{from_um(chance(0.2) ? 0 : between(0, 200)), from_um(chance(0.3) ? 0 : between(0, 150)),
                      from_um(chance(0.2) ? 0 : between(0, 250))};
        written[side] = {{"swedge_most", um(part.swedge_most)},
                         {"swedge_free", um(part.swedge_free)},
                         {"face_most", um(part.face_most)}};
        (std::string_view(side) == "upper" ? tube.upper : tube.lower) = part;
      }
      gap.tubes.push_back(tube);
      places["tubes"].push_back(std::move(written));
      top += length;
    }
    places["lower_face"] = top + um(gap.end_play);
    at = top + um(gap.end_play) + 5000;
    out.stack.gaps.push_back(std::move(gap));
    out.places["gaps"].push_back(std::move(places));
  }
  return out;
}

/// What is wrong with a plan by its own numbers; empty: nothing.
std::string fault_of(const Made& made, const StackPlan& plan) {
  const double slack = kStackWorstError.raw();
  const StackPrices& prices = made.prices;
  for (const StackStep& s : plan.steps) {
    if (s.amount < prices.least - Length::of(slack)) return "less than the least";
    if (s.work == StackWork::move_post) {
      const StackPost& p = made.stack.posts[s.tube];
      if (s.amount > (s.side == Side::upper ? p.up_most : p.down_most) + Length::of(slack))
        return "post too far";
      continue;
    }
    const StackTube& t = made.stack.gaps[s.gap].tubes[s.tube];
    const TubePart& part = s.side == Side::upper ? t.upper : t.lower;
    const Length most = s.work == StackWork::swedge ? part.swedge_most : part.face_most;
    if (s.amount > most + Length::of(slack)) return "too much work";
    if (s.work == StackWork::swedge && !s.ream_after && s.amount > part.swedge_free + Length::of(slack)) {
      return "bore closed";
    }
  }
  for (std::size_t g = 0; g < plan.gaps.size(); ++g) {
    const StackGap& gap = made.stack.gaps[g];
    const Length guard = std::min(gap.guard, (gap.play_most - gap.play_least) / 2.0);
    if (plan.gaps[g].end_play < gap.play_least + guard - Length::of(slack)) return "too little play";
    if (plan.gaps[g].end_play > gap.play_most - guard + Length::of(slack)) return "too much play";
    for (std::size_t t = 0; t < gap.tubes.size(); ++t) {
      if (!gap.tubes[t].pad) continue;
      const auto& pad = *plan.gaps[g].pads[t];
      if (pad.up < -gap.tubes[t].pad->allowed - Length::of(slack)) return "pad too far up";
      if (pad.down > gap.tubes[t].pad->allowed + Length::of(slack)) return "pad too far down";
    }
  }
  return {};
}

TEST(StackAgainstASolver, SameCostOrNoneAtAll) {
  constexpr std::uint64_t kStacks = 1000;
  json problems = json::array();
  std::vector<Made> stacks;
  for (std::uint64_t n = 0; n < kStacks; ++n) {
    stacks.push_back(make(n));
    problems.push_back(stacks.back().places);
  }
  const auto begin = std::chrono::steady_clock::now();
  std::vector<StackAnswer> ours;
  for (const Made& m : stacks) {
    auto answer = plan_stack(m.stack, m.prices, 1);
    ASSERT_TRUE(answer);
    ours.push_back(*std::move(answer));
  }
  const double took = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  const json theirs = answers_of("stack_oracle", problems);
  int solved = 0;
  int idle = 0;
  int together = 0;
  double farthest = 0;
  for (std::size_t n = 0; n < kStacks; ++n) {
    SCOPED_TRACE(n);
    const StackAnswer& a = ours[n];
    EXPECT_EQ(a.plans.empty(), theirs[n].is_null());
    EXPECT_EQ(a.plans.empty(), !a.refusals.empty());
    if (a.plans.empty() || theirs[n].is_null()) continue;
    ++solved;
    const StackPlan& plan = a.plans[0];
    EXPECT_EQ(fault_of(stacks[n], plan), "");
    idle += plan.steps.empty();
    for (const StackStep& s : plan.steps) together += s.work == StackWork::move_post;
    const Duration apart = plan.steps.empty() ? Duration{} : stacks[n].prices.apart;
    const double cost = (plan.cost() - apart).raw() / 60;
    const double off = std::abs(cost - theirs[n].get<double>());
    EXPECT_LE(off, 1e-6) << cost << " against " << theirs[n];
    farthest = std::max(farthest, off);
  }
  RecordProperty("solved", solved);
  RecordProperty("farthest_minutes", ::testing::PrintToString(farthest));
  RecordProperty("seconds_for_all", ::testing::PrintToString(took));
  // The made stacks are of all sorts.
  EXPECT_GT(solved, 400);
  EXPECT_LT(solved, 900);
  EXPECT_GT(idle, 50);
  EXPECT_GT(together, 50);
}

}  // namespace
}  // namespace hingeline::rods
