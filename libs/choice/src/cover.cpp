#include "hingeline/choice/cover.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>

#include "integer_program.h"

namespace hingeline::choice {
namespace {

using Indices = std::vector<std::size_t>;

/// Ends of ranges are sums of decimals: they may be off by a last digit.
constexpr Length kReckoning = millimetres(1e-5);
constexpr Angle kAngleReckoning = radians(1e-7);

Expected<void> sound(const Task& task) {
  for (const std::int64_t count : task.counts) {
    if (count <= 0) return fail(Fault::content, "a demand was met 0 times or less", "a count of 1 or more");
  }
  for (const Tool& tool : task.tools) {
    for (const std::size_t d : tool.serves) {
      if (d >= task.counts.size()) {
        return fail(Fault::content, fmt::format("a tool serves demand {}, which is not there", d + 1),
                    fmt::format("demands up to {}", task.counts.size()));
      }
    }
  }
  return {};
}

/// For each demand the tools among `tools` that serve it.
std::vector<Indices> servers(const Task& task, const Indices& tools) {
  std::vector<Indices> out(task.counts.size());
  for (const std::size_t t : tools) {
    for (const std::size_t d : task.tools[t].serves) out[d].push_back(t);
  }
  return out;
}

Indices tools_where(const Task& task, auto&& is_one) {
  Indices out;
  for (std::size_t t = 0; t < task.tools.size(); ++t) {
    if (is_one(task.tools[t])) out.push_back(t);
  }
  return out;
}
bool is_sound_owned(const Tool& t) { return t.owned && !t.worn; }
bool is_offer(const Tool& t) { return !t.owned; }

Indices taken_of(const Solved& solved, const Indices& tools) {
  Indices out;
  for (std::size_t k = 0; k < tools.size(); ++k) {
    if (solved.taken[k]) out.push_back(tools[k]);
  }
  return out;
}

/// Solves for `gain`, keeps that as a row, and goes on to the next: the lexicographic optimum. Ends with the
/// first answer that has none; the rows alone must allow one.
Expected<Solved> one_after_the_other(IntegerProgram program,
                                     const std::vector<std::vector<std::int64_t>>& gains) {
  Solved last;
  for (const auto& gain : gains) {
    program.gain = gain;
    auto solved = solve(program);
    if (!solved) return tl::unexpected(solved.error());
    assert(*solved);
    last = std::move(**solved);
    Row kept;
    for (std::size_t c = 0; c < gain.size(); ++c) {
      if (gain[c] != 0) kept.terms.emplace_back(c, gain[c]);
    }
    kept.low = last.gain;
    program.rows.push_back(std::move(kept));
  }
  return last;
}

/// The fewest of `tools` that serve each of `demands`; of those sets the one with the largest sum of
/// `liking`.
Expected<Indices> fewest(const Task& task, const Indices& tools, const Indices& demands,
                         const std::vector<std::int64_t>& liking) {
  const auto by = servers(task, tools);
  IntegerProgram p;
  for (const std::size_t d : demands) {
    Row row;
    for (const std::size_t t : by[d]) {
      row.terms.emplace_back(
          static_cast<std::size_t>(std::lower_bound(tools.begin(), tools.end(), t) - tools.begin()), 1);
    }
    row.low = 1;
    p.rows.push_back(std::move(row));
  }
  auto solved = one_after_the_other(std::move(p), {std::vector<std::int64_t>(tools.size(), -1), liking});
  if (!solved) return tl::unexpected(solved.error());
  return taken_of(*solved, tools);
}

/// Prices as whole numbers to be small; a tool without one counts as free, and only decides between equals.
std::vector<std::int64_t> cheapness(const Task& task, const Indices& tools) {
  std::vector<std::int64_t> out;
  for (const std::size_t t : tools) out.push_back(-task.tools[t].price.value_or(Money{}).in_hundredths());
  return out;
}

/// The most served with no more than `count` of `offers` bought, of the demands in `open`.
Expected<Indices> best_of(const Task& task, const Indices& offers, const Indices& open, std::size_t count) {
  const auto by = servers(task, offers);
  IntegerProgram p;
  std::vector<std::int64_t> served(offers.size(), 0);
  std::vector<std::int64_t> number(offers.size(), -1);
  std::vector<std::int64_t> cheap = cheapness(task, offers);
  Row no_more;
  for (std::size_t k = 0; k < offers.size(); ++k) no_more.terms.emplace_back(k, 1);
  no_more.high = static_cast<std::int64_t>(count);
  p.rows.push_back(std::move(no_more));
  for (const std::size_t d : open) {
    const std::size_t column = served.size();
    served.push_back(task.counts[d]);
    number.push_back(0);
    cheap.push_back(0);
    Row row;
    row.terms.emplace_back(column, 1);
    for (const std::size_t t : by[d]) {
      row.terms.emplace_back(
          static_cast<std::size_t>(std::lower_bound(offers.begin(), offers.end(), t) - offers.begin()), -1);
    }
    row.high = 0;
    p.rows.push_back(std::move(row));
  }
  auto solved = one_after_the_other(std::move(p), {served, cheap, number});
  if (!solved) return tl::unexpected(solved.error());
  return taken_of(*solved, offers);
}

Step step_of(const Task& task, Indices bought, std::int64_t owned_serve, const Indices& open) {
  Step step;
  std::vector<bool> is_served(task.counts.size(), false);
  for (const std::size_t t : bought) {
    for (const std::size_t d : task.tools[t].serves) is_served[d] = true;
    if (task.tools[t].price) {
      step.price += *task.tools[t].price;
    } else {
      step.priced = false;
    }
  }
  step.served = owned_serve;
  for (const std::size_t d : open) step.served += is_served[d] ? task.counts[d] : 0;
  step.bought = std::move(bought);
  return step;
}

}  // namespace

SizeRange cutters_for(Length head, Length under, Length over) { return {head - under, head + over}; }
SizeRange rods_for(Length bore, Length least, Length most) { return {bore - most, bore - least}; }

bool serves(Length size, const SizeRange& range) {
  return size >= range.from - kReckoning && size <= range.to + kReckoning;
}

bool serves(const Reamer& reamer, const Taper& taper) {
  return abs(reamer.half_angle - taper.half_angle) <= taper.tolerance + kAngleReckoning &&
         reamer.narrow <= taper.narrow + kReckoning && reamer.wide >= taper.wide - kReckoning;
}

Expected<Cover> cover(const Task& task, Steps steps) {
  if (const auto fine = sound(task); !fine) return tl::unexpected(fine.error());
  Cover out;
  const Indices owned = tools_where(task, is_sound_owned);
  const Indices offers = tools_where(task, is_offer);
  const auto by_owned = servers(task, owned);
  const auto by_offer = servers(task, offers);
  const auto by_worn = servers(task, tools_where(task, [](const Tool& t) { return t.owned && t.worn; }));

  Indices open;    // missing, and something on offer serves it
  Indices had;     // served by what is owned
  Indices can_be;  // had or open
  std::int64_t owned_serve = 0;
  for (std::size_t d = 0; d < task.counts.size(); ++d) {
    out.all += task.counts[d];
    if (!by_owned[d].empty()) {
      had.push_back(d);
      can_be.push_back(d);
      owned_serve += task.counts[d];
      continue;
    }
    out.missing.push_back(d);
    if (!by_worn[d].empty()) out.worn_alone.push_back(d);
    if (by_offer[d].empty()) {
      out.hopeless.push_back(d);
    } else {
      open.push_back(d);
      can_be.push_back(d);
    }
  }

  // The last step: everything that can be.
  const auto full = fewest(task, offers, open, cheapness(task, offers));
  if (!full) return tl::unexpected(full.error());
  out.steps.push_back(step_of(task, {}, owned_serve, open));
  for (std::size_t count = 1; steps == Steps::all && count < full->size(); ++count) {
    auto bought = best_of(task, offers, open, count);
    if (!bought) return tl::unexpected(bought.error());
    out.steps.push_back(step_of(task, std::move(*bought), owned_serve, open));
  }
  if (!full->empty()) out.steps.push_back(step_of(task, *full, owned_serve, open));

  Indices all = owned;
  all.insert(all.end(), offers.begin(), offers.end());
  std::sort(all.begin(), all.end());
  std::vector<std::int64_t> is_owned;
  for (const std::size_t t : all) is_owned.push_back(task.tools[t].owned ? 1 : 0);
  auto anew = fewest(task, all, can_be, is_owned);
  if (!anew) return tl::unexpected(anew.error());
  out.from_nothing = std::move(*anew);

  std::vector<std::int64_t> uses;
  for (const std::size_t t : owned) uses.push_back(std::clamp<std::int64_t>(task.tools[t].uses, 0, 100'000));
  const auto kept = fewest(task, owned, had, uses);
  if (!kept) return tl::unexpected(kept.error());
  for (std::size_t t = 0; t < task.tools.size(); ++t) {
    const Tool& tool = task.tools[t];
    if (!tool.owned) continue;
    if (tool.worn && !tool.serves.empty()) out.worn.push_back(t);
    if (tool.worn) continue;
    if (tool.uses <= 0) out.never_used.push_back(t);
    if (!std::binary_search(kept->begin(), kept->end(), t)) out.spare.push_back(t);
  }
  return out;
}

}  // namespace hingeline::choice
