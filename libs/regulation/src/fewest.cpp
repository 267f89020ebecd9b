// Which corks to change: sets are tried by size, each by a linear program whose dual says which further cork
// could help at all.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>

#include "hingeline/regulation/regulation.h"
#include "linear_program.h"
#include "pair.h"

namespace hingeline::regulation {
namespace {

constexpr std::size_t kMostWays = 1024;
constexpr std::size_t kMostSets = 200000;

/// constant + sum of by[link] x change of that link's cork.
struct Affine {
  double constant = 0;
  std::vector<double> by;
};
Affine minus(const Affine& a, const Affine& b) {
  Affine out = a;
  out.constant -= b.constant;
  for (std::size_t n = 0; n < out.by.size(); ++n) out.by[n] -= b.by[n];
  return out;
}

using Path = std::vector<std::size_t>;  ///< links, driver first

/// Every way from `driver` to `target`; stops when there are more than kMostWays.
std::vector<Path> ways(const Core& core, std::size_t driver, std::size_t target) {
  std::vector<Path> out;
  Path back;
  const auto walk = [&](const auto& self, std::size_t key) -> void {
    if (out.size() > kMostWays) return;
    if (key == driver) {
      out.emplace_back(back.rbegin(), back.rend());
      return;
    }
    for (const std::size_t n : core.into[key]) {
      back.push_back(n);
      self(self, core.links[n].from);
      back.pop_back();
    }
  };
  walk(walk, target);
  return out;
}

/// One pad closed from one key, over the corks' changes.
struct Target {
  std::size_t under = 0;
  std::size_t key = 0;
  std::vector<Path> paths;
  std::vector<Affine> closing;     ///< driver's angle along each path
  std::vector<Affine> on_the_way;  ///< angles that must stay 0 or more, or the pad would be closed at rest
};

Target target_of(const Core& core, std::size_t under, std::size_t key) {
  Target out{under, key, ways(core, under, key), {}, {}};
  for (const Path& path : out.paths) {
    Affine need{core.keys[key].seat(), std::vector<double>(core.links.size(), 0)};
    for (std::size_t left = path.size(); left > 0; --left) {
      const std::size_t n = path[left - 1];
      const CoreLink& l = core.links[n];
      need.constant = (l.loses() + l.foot_arm * need.constant) / l.driver_arm;
      for (double& b : need.by) b *= l.foot_arm / l.driver_arm;
      need.by[n] -= 1 / l.driver_arm;
      out.on_the_way.push_back(need);
    }
    out.closing.push_back(std::move(need));
  }
  return out;
}

struct PairRow {
  std::size_t first = 0;  ///< indices of targets
  std::size_t second = 0;
  PairCore core;
};

/// Pairs that share corks, with all they need.
class Search {
 public:
  Search(const Core& core, std::vector<Target> targets, std::vector<PairRow> pairs,
         std::span<const Room> rooms, double tolerance)
      : core_(core), targets_(std::move(targets)), pairs_(std::move(pairs)), tolerance_(tolerance) {
    constexpr double kAny = std::numeric_limits<double>::infinity();
    for (std::size_t n = 0; n < core.links.size(); ++n) {
      low_.push_back(rooms.empty() ? -kAny : rooms[n].thinner.raw());
      high_.push_back(rooms.empty() ? kAny : rooms[n].thicker.raw());
    }
    std::vector<bool> used(core.links.size(), false);
    for (const Target& t : targets_) {
      for (const Path& p : t.paths) {
        for (const std::size_t n : p) used[n] = true;
      }
    }
    for (std::size_t n = 0; n < used.size(); ++n) {
      if (used[n] && low_[n] < high_[n]) links_.push_back(n);
    }
  }

  /// False: too many sets.
  bool run() {
    for (std::size_t most = 0; most <= links_.size() && !best_; ++most) {
      std::vector<bool> left_out(core_.links.size(), false);
      if (!extend({}, left_out, most)) return false;
    }
    return true;
  }

  struct Best {
    double worst = 0;  ///< of the gaps, in tolerances
    double total = 0;  ///< of the changes, mm
    std::vector<std::size_t> links;
    std::vector<double> change;  ///< for each link of the chain
  };
  [[nodiscard]] const std::optional<Best>& best() const { return best_; }

 private:
  /// Which path of each target carries at the end.
  using Carrying = std::vector<std::size_t>;

  bool extend(const std::vector<std::size_t>& set, std::vector<bool> left_out, std::size_t most) {
    if (++tried_ > kMostSets) return false;
    std::vector<bool> may_help(core_.links.size(), false);
    if (look_at(set, may_help)) return true;
    if (set.size() == most) return true;
    for (const std::size_t n : links_) {
      if (!may_help[n] || left_out[n]) continue;
      std::vector<std::size_t> wider = set;
      wider.insert(std::lower_bound(wider.begin(), wider.end(), n), n);
      if (!extend(wider, left_out, most)) return false;
      // All sets with this one have been looked at.
      left_out[n] = true;
    }
    return true;
  }

  /// True when changes of these corks alone do it; otherwise marks the further ones that could help.
  bool look_at(const std::vector<std::size_t>& set, std::vector<bool>& may_help) {
    bool done = false;
    Carrying carrying(targets_.size(), 0);
    for (;;) {
      done = look_at(set, carrying, may_help) || done;
      std::size_t t = 0;
      while (t < carrying.size() && ++carrying[t] == targets_[t].paths.size()) carrying[t++] = 0;
      if (t == carrying.size()) return done;
    }
  }

  /// A row: scale x form + worst x the worst gap <= 0. Columns: thicker and thinner for each of the set, then
  /// the worst gap in tolerances.
  void add(Program& p, std::vector<std::pair<Affine, double>>& of, const std::vector<std::size_t>& set,
           const Affine& form, double scale, double worst) const {
    std::vector<double> row(2 * set.size() + 1, 0);
    for (std::size_t i = 0; i < set.size(); ++i) {
      row[2 * i] = scale * form.by[set[i]];
      row[2 * i + 1] = -scale * form.by[set[i]];
    }
    row.back() = worst;
    p.rows.push_back(std::move(row));
    p.limits.push_back(-scale * form.constant);
    of.emplace_back(form, scale);
  }

  bool look_at(const std::vector<std::size_t>& set, const Carrying& carrying, std::vector<bool>& may_help) {
    Program p;
    std::vector<std::pair<Affine, double>> of;
    for (const PairRow& pair : pairs_) {
      const Target& f = targets_[pair.first];
      const Target& s = targets_[pair.second];
      Affine late = minus(s.closing[carrying[pair.second]], f.closing[carrying[pair.first]]);
      late.constant += pair.core.offset;
      add(p, of, set, late, per_pad(s, carrying[pair.second]) / tolerance_, -1);
      add(p, of, set, late, -per_pad(f, carrying[pair.first]) / tolerance_, -1);
    }
    for (std::size_t t = 0; t < targets_.size(); ++t) {
      const Target& target = targets_[t];
      for (std::size_t n = 0; n < target.paths.size(); ++n) {
        if (n == carrying[t]) continue;
        const Affine before = minus(target.closing[carrying[t]], target.closing[n]);
        add(p, of, set, before, per_pad(target, carrying[t]), 0);
      }
      for (const Affine& angle : target.on_the_way) add(p, of, set, angle, -per_pad(target, carrying[t]), 0);
    }
    const std::size_t forms = p.rows.size();
    for (std::size_t i = 0; i < set.size(); ++i) {
      limit(p, 2 * i, high_[set[i]]);
      limit(p, 2 * i + 1, -low_[set[i]]);
    }
    p.cost.assign(2 * set.size() + 1, 0);
    p.cost.back() = 1;
    const Solved least_gap = solve(p);
    constexpr double kSlip = 1e-8;
    if (!least_gap.feasible || least_gap.least > 1 + kSlip) {
      for (const std::size_t n : links_) {
        if (std::binary_search(set.begin(), set.end(), n)) continue;
        double worth = 0;
        for (std::size_t r = 0; r < forms; ++r)
          worth += least_gap.proof[r] * of[r].second * of[r].first.by[n];
        constexpr double kNothing = 1e-9;
        if ((worth < -kNothing && high_[n] > 0) || (worth > kNothing && low_[n] < 0)) may_help[n] = true;
      }
      return false;
    }
    // That worst gap held, the least total change.
    limit(p, 2 * set.size(), least_gap.least + 1e-10);
    p.cost.assign(2 * set.size() + 1, 1);
    p.cost.back() = 0;
    const Solved least_change = solve(p);
    const std::vector<double>& x = least_change.feasible ? least_change.x : least_gap.x;
    Best found;
    found.links = set;
    found.change.assign(core_.links.size(), 0);
    for (std::size_t i = 0; i < set.size(); ++i) {
      found.change[set[i]] = x[2 * i] - x[2 * i + 1];
      found.total += std::abs(found.change[set[i]]);
    }
    found.worst = least_gap.least;
    if (!best_ || better(found, *best_)) best_ = std::move(found);
    return true;
  }

  static void limit(Program& p, std::size_t column, double most) {
    if (!std::isfinite(most)) return;
    std::vector<double> row(p.rows.front().size(), 0);
    row[column] = 1;
    p.rows.push_back(std::move(row));
    p.limits.push_back(most);
  }

  static bool better(const Best& a, const Best& b) {
    if (std::abs(a.worst - b.worst) > 1e-6) return a.worst < b.worst;
    if (std::abs(a.total - b.total) > 1e-9) return a.total < b.total;
    return a.links < b.links;
  }

  /// mm at the pad per driver's angle along that path.
  [[nodiscard]] double per_pad(const Target& t, std::size_t path) const {
    double per = core_.keys[t.key].arm;
    for (const std::size_t n : t.paths[path]) per *= core_.links[n].driver_arm / core_.links[n].foot_arm;
    return per;
  }

  const Core& core_;
  std::vector<Target> targets_;
  std::vector<PairRow> pairs_;
  double tolerance_;
  std::vector<double> low_;
  std::vector<double> high_;
  std::vector<std::size_t> links_;  ///< that any of the pairs passes and that may change
  std::optional<Best> best_;
  std::size_t tried_ = 0;
};

/// Groups of pairs that share a cork, directly or through others.
std::vector<std::vector<std::size_t>> groups(std::size_t links, const std::vector<PairRow>& pairs,
                                             const std::vector<Target>& targets) {
  std::vector<std::size_t> root(pairs.size());
  std::iota(root.begin(), root.end(), std::size_t{0});
  const auto find = [&](std::size_t n) {
    while (root[n] != n) n = root[n];
    return n;
  };
  std::vector<std::optional<std::size_t>> owner(links);
  for (std::size_t n = 0; n < pairs.size(); ++n) {
    for (const std::size_t t : {pairs[n].first, pairs[n].second}) {
      for (const Path& path : targets[t].paths) {
        for (const std::size_t l : path) {
          if (!owner[l]) owner[l] = n;
          const std::size_t a = find(n);
          const std::size_t b = find(*owner[l]);
          root[std::max(a, b)] = std::min(a, b);
        }
      }
    }
  }
  std::map<std::size_t, std::vector<std::size_t>> by_root;
  for (std::size_t n = 0; n < pairs.size(); ++n) by_root[find(n)].push_back(n);
  std::vector<std::vector<std::size_t>> out;
  out.reserve(by_root.size());
  for (auto& [_, members] : by_root) out.push_back(std::move(members));
  return out;
}

}  // namespace

Expected<std::optional<Changes>> fewest_changes(const Chain& chain, std::span<const Pair> pairs,
                                                std::span<const Room> rooms, Length tolerance) {
  if (!is_finite(tolerance) || !(tolerance.raw() > 0))
    return fail(Fault::content, "the tolerance for closing together is not above 0",
                "a small gap, as 0.03 mm");
  const Core core(chain);
  std::vector<Target> targets;
  std::vector<PairRow> rows;
  for (const Pair& pair : pairs) {
    auto made = pair_core(chain, core, pair);
    if (!made) return tl::unexpected(made.error());
    const auto index = [&](std::size_t key) {
      for (std::size_t t = 0; t < targets.size(); ++t) {
        if (targets[t].key == key && targets[t].under == pair.under) return t;
      }
      targets.push_back(target_of(core, pair.under, key));
      return targets.size() - 1;
    };
    const std::size_t first = index(pair.first);
    const std::size_t second = index(pair.second);
    rows.push_back({first, second, std::move(*made)});
  }

  Changes out;
  out.thicker.assign(core.links.size(), Length{});
  for (const auto& group : groups(core.links.size(), rows, targets)) {
    std::vector<Target> own;
    std::vector<PairRow> own_rows;
    std::map<std::size_t, std::size_t> moved;
    double combinations = 1;
    for (const std::size_t n : group) {
      PairRow row = rows[n];
      for (std::size_t* t : {&row.first, &row.second}) {
        const auto [at, fresh] = moved.emplace(*t, own.size());
        if (fresh) {
          own.push_back(targets[*t]);
          combinations *= static_cast<double>(targets[*t].paths.size());
        }
        *t = at->second;
      }
      own_rows.push_back(std::move(row));
    }
    if (combinations > static_cast<double>(kMostWays))
      return fail(
          Fault::content,
          fmt::format("there are more than {} ways from key to pad among pairs that share corks", kMostWays),
          "fewer pairs at once, or fewer links side by side");
    Search search(core, std::move(own), std::move(own_rows), rooms, tolerance.raw());
    if (!search.run())
      return fail(Fault::content, fmt::format("more than {} sets of corks to look at", kMostSets),
                  "fewer pairs at once");
    if (!search.best()) return std::optional<Changes>{};
    for (const std::size_t n : search.best()->links) {
      out.links.push_back(n);
      out.thicker[n] = millimetres(search.best()->change[n]);
    }
  }
  std::sort(out.links.begin(), out.links.end());
  Core changed = core;
  for (std::size_t n = 0; n < changed.links.size(); ++n) changed.links[n].gap -= out.thicker[n].raw();
  for (const PairRow& row : rows) {
    const double gap = row.core.offset == 0 ? row.core.gap(changed)
                                            : row.core.to_pad(row.core.late(changed) + row.core.offset);
    out.left.push_back(millimetres(gap));
  }
  return std::optional(std::move(out));
}

}  // namespace hingeline::regulation
