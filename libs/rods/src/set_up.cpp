#include "set_up.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <queue>
#include <utility>

namespace hingeline::rods::detail {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
/// Coefficients are whole numbers, so a pivot this small is a rounding.
constexpr double kPivot = 1e-9;
constexpr double kCostSlack = 1e-9;

/// min c x, low <= x <= high (finite), with rows between bounds: the bounded dual simplex on a dense tableau.
/// Every amount at the bound its cost prefers is dual feasible, so there is no first phase.
class Relaxation {
 public:
  Relaxation(const SetUpProblem& problem, std::vector<double> low, std::vector<double> high,
             std::vector<double> costs)
      : amounts_(problem.operations.size()),
        rows_(problem.rows.size()),
        low_(std::move(low)),
        high_(std::move(high)),
        reduced_(std::move(costs)) {
    const std::size_t all = amounts_ + rows_;
    for (std::size_t k = 0; k < amounts_; ++k) value_.push_back(reduced_[k] < 0 ? high_[k] : low_[k]);
    value_.resize(all, 0.0);
    reduced_.resize(all, 0.0);
    for (const Row& row : problem.rows) {
      low_.push_back(row.low);
      high_.push_back(row.high);
    }
    basic_.resize(rows_);
    is_basic_.assign(all, false);
    for (std::size_t r = 0; r < rows_; ++r) {
      const Row& row = problem.rows[r];
      // Variable amounts_ + r is the row's sum: basic, as a combination of the amounts.
      std::vector<double> line(all, 0.0);
      double sum = 0;
      for (std::size_t k = 0; k < amounts_; ++k) {
        line[k] = row.coefficients[k];
        sum += row.coefficients[k] * value_[k];
      }
      tableau_.push_back(std::move(line));
      basic_[r] = amounts_ + r;
      is_basic_[amounts_ + r] = true;
      value_[amounts_ + r] = sum;
    }
  }

  /// False: infeasible.
  bool solve() {
    for (std::size_t turn = 0;; ++turn) {
      // After many turns the first infeasible row instead of the worst one: that cannot go round in circles.
      const bool careful = turn > 50 + 10 * rows_;
      std::size_t leaving = rows_;
      double worst = kRowSlack;
      for (std::size_t r = 0; r < rows_; ++r) {
        const std::size_t v = basic_[r];
        const double off = std::max(low_[v] - value_[v], value_[v] - high_[v]);
        if (off <= worst) continue;
        if (careful && leaving < rows_ && basic_[leaving] < v) continue;
        leaving = r;
        if (!careful) worst = off;
      }
      if (leaving == rows_) return true;
      const std::size_t out = basic_[leaving];
      const bool rises = value_[out] < low_[out];
      const double target = rises ? low_[out] : high_[out];
      // basic = sum of line x nonbasic: which nonbasic one can move it the way it must go, at least cost?
      std::size_t entering = value_.size();
      double least = kInfinity;
      double pivot = 0;
      const std::vector<double>& line = tableau_[leaving];
      for (std::size_t k = 0; k < value_.size(); ++k) {
        if (is_basic_[k] || std::abs(line[k]) < kPivot || !(high_[k] > low_[k])) continue;
        const bool at_low = !at_high(k);
        const bool needs_rise = (line[k] > 0) == rises;
        if (needs_rise != at_low) continue;
        const double ratio = std::abs(reduced_[k] / line[k]);
        if (ratio > least + kCostSlack * 1e-3) continue;
        const bool better = ratio < least - kCostSlack * 1e-3;
        if (!better && (careful || std::abs(line[k]) <= std::abs(pivot))) continue;
        least = better ? ratio : std::min(least, ratio);
        entering = k;
        pivot = line[k];
      }
      if (entering == value_.size()) return false;
      exchange(leaving, entering, target);
    }
  }

  [[nodiscard]] std::vector<double> amounts() const {
    std::vector<double> out(value_.begin(), value_.begin() + static_cast<std::ptrdiff_t>(amounts_));
    for (std::size_t k = 0; k < amounts_; ++k) out[k] = std::clamp(out[k], low_[k], high_[k]);
    return out;
  }

 private:
  /// A nonbasic variable stands at one of its bounds; a row's may have but one.
  [[nodiscard]] bool at_high(std::size_t k) const {
    if (low_[k] == -kInfinity) return true;
    if (high_[k] == kInfinity) return false;
    return value_[k] - low_[k] > high_[k] - value_[k];
  }

  void exchange(std::size_t leaving, std::size_t entering, double target) {
    const std::size_t out = basic_[leaving];
    std::vector<double>& line = tableau_[leaving];
    const double pivot = line[entering];
    const double step = (target - value_[out]) / pivot;
    value_[entering] += step;
    value_[out] = target;
    for (std::size_t r = 0; r < rows_; ++r) {
      if (r != leaving) value_[basic_[r]] += tableau_[r][entering] * step;
    }
    // entering = (out - sum of the other nonbasic ones) / pivot.
    for (double& x : line) x = -x / pivot;
    line[entering] = 0;
    line[out] = 1 / pivot;
    const auto put_in = [&](std::vector<double>& other) {
      const double factor = std::exchange(other[entering], 0.0);
      if (factor == 0) return;
      for (std::size_t k = 0; k < line.size(); ++k) other[k] += factor * line[k];
    };
    for (std::size_t r = 0; r < rows_; ++r) {
      if (r != leaving) put_in(tableau_[r]);
    }
    put_in(reduced_);
    basic_[leaving] = entering;
    is_basic_[entering] = true;
    is_basic_[out] = false;
  }

  std::size_t amounts_;
  std::size_t rows_;
  std::vector<double> low_;
  std::vector<double> high_;
  std::vector<double> reduced_;
  std::vector<double> value_;
  std::vector<std::vector<double>> tableau_;
  std::vector<std::size_t> basic_;
  std::vector<bool> is_basic_;
};

enum class Use : signed char { open, no, yes };

struct Node {
  std::vector<Use> uses;
  std::vector<double> amounts;  ///< of its relaxation
  double bound = 0;
  std::size_t order = 0;  ///< in which it was thought of
};
struct LaterIsBehind {
  bool operator()(const Node& a, const Node& b) const {
    return a.bound != b.bound ? a.bound > b.bound : a.order < b.order;
  }
};

/// Set-ups of what is certainly used, and the relaxation's cost of the rest.
class Search {
 public:
  /// `any`: the first solution found will do.
  Search(SetUpProblem problem, const std::vector<std::vector<std::size_t>>& without, bool any = false)
      : problem_(std::move(problem)), without_(without), any_(any) {}

  std::optional<SetUpSolution> run() {
    std::priority_queue<Node, std::vector<Node>, LaterIsBehind> open;
    std::size_t order = 0;
    const auto consider = [&](std::vector<Use> uses) {
      if (excluded(uses)) return;
      auto node = relaxed(std::move(uses));
      if (!node || node->bound >= best_cost()) return;
      offer(*node);
      if (node->bound >= best_cost()) return;
      node->order = order++;
      open.push(std::move(*node));
    };
    consider(std::vector<Use>(problem_.operations.size(), Use::open));
    if (best_ && !open.empty() && !any_) {
      const Node root = open.top();
      open.pop();
      tighten();
      consider(root.uses);
    }
    while (!open.empty() && !(any_ && best_)) {
      const Node node = open.top();
      open.pop();
      if (node.bound >= best_cost()) break;
      const auto branch = branching(node);
      if (!branch) continue;
      std::vector<Use> yes = node.uses;
      yes[*branch] = Use::yes;
      const int rivals = problem_.operations[*branch].rivals;
      for (std::size_t k = 0; k < yes.size(); ++k) {
        if (k != *branch && rivals >= 0 && problem_.operations[k].rivals == rivals) yes[k] = Use::no;
      }
      std::vector<Use> no = node.uses;
      no[*branch] = Use::no;
      consider(std::move(no));
      consider(std::move(yes));
    }
    return best_;
  }

 private:
  [[nodiscard]] double best_cost() const { return best_ ? best_->cost - kCostSlack : kInfinity; }

  /// Every solution under it would use all of one that is already known.
  [[nodiscard]] bool excluded(const std::vector<Use>& uses) const {
    return std::any_of(without_.begin(), without_.end(), [&](const auto& known) {
      return std::all_of(known.begin(), known.end(), [&](std::size_t k) { return uses[k] == Use::yes; });
    });
  }

  [[nodiscard]] double shared_cost(const std::vector<Use>& uses) const {
    std::vector<bool> asked(problem_.shared.size(), false);
    for (std::size_t k = 0; k < uses.size(); ++k) {
      if (uses[k] == Use::yes && problem_.operations[k].shared >= 0) {
        asked[static_cast<std::size_t>(problem_.operations[k].shared)] = true;
      }
    }
    double sum = 0;
    for (std::size_t s = 0; s < asked.size(); ++s) sum += asked[s] ? problem_.shared[s] : 0;
    return sum;
  }

  std::optional<Node> relaxed(std::vector<Use> uses) const {
    std::vector<double> low;
    std::vector<double> high;
    std::vector<double> costs;
    double paid = shared_cost(uses);
    for (std::size_t k = 0; k < uses.size(); ++k) {
      const Operation& o = problem_.operations[k];
      low.push_back(uses[k] == Use::yes ? o.least : 0);
      high.push_back(uses[k] == Use::no ? 0 : o.most);
      costs.push_back(o.rate + (uses[k] == Use::open ? o.set_up / o.most : 0));
      if (uses[k] == Use::yes) paid += o.set_up;
    }
    Relaxation relaxation(problem_, low, high, costs);
    if (!relaxation.solve()) return std::nullopt;
    Node node;
    node.uses = std::move(uses);
    node.amounts = relaxation.amounts();
    node.bound = paid;
    for (std::size_t k = 0; k < costs.size(); ++k) node.bound += costs[k] * node.amounts[k];
    return node;
  }

  /// No operation is worth more than what the best known solution leaves it: the less it can be, the more of
  /// its set-up the relaxation charges.
  void tighten() {
    SetUpProblem capped = problem_;
    Row cost{{}, -kInfinity, best_->cost};
    std::vector<double> high;
    for (const Operation& o : problem_.operations) {
      cost.coefficients.push_back(o.rate + o.set_up / o.most);
      high.push_back(o.most);
    }
    capped.rows.push_back(std::move(cost));
    const std::vector<double> low(high.size(), 0.0);
    for (std::size_t k = 0; k < high.size(); ++k) {
      std::vector<double> most_of_it(high.size(), 0.0);
      most_of_it[k] = -1;
      Relaxation relaxation(capped, low, high, most_of_it);
      if (!relaxation.solve()) continue;
      Operation& o = problem_.operations[k];
      // Room for roundings: a little too wide is only a little slower.
      o.most = std::max(o.least, std::min(o.most, relaxation.amounts()[k] * (1 + 1e-7) + 1e-7));
    }
  }

  /// What the relaxation says as a real solution: all that it uses is used, the rest is not.
  void offer(const Node& node) {
    std::vector<Use> uses = node.uses;
    std::vector<int> taken;
    for (std::size_t k = 0; k < uses.size(); ++k) {
      if (uses[k] == Use::open) uses[k] = node.amounts[k] > kRowSlack ? Use::yes : Use::no;
      const int rivals = problem_.operations[k].rivals;
      if (uses[k] != Use::yes || rivals < 0) continue;
      if (std::find(taken.begin(), taken.end(), rivals) != taken.end()) return;
      taken.push_back(rivals);
    }
    if (excluded(uses)) return;
    const auto settled = relaxed(std::move(uses));
    if (settled && settled->bound < best_cost()) best_ = SetUpSolution{settled->amounts, settled->bound};
  }

  /// The open operation whose set-up the relaxation saves most of; else any that is open.
  [[nodiscard]] std::optional<std::size_t> branching(const Node& node) const {
    std::optional<std::size_t> out;
    double most = -1;
    for (std::size_t k = 0; k < node.uses.size(); ++k) {
      if (node.uses[k] != Use::open) continue;
      const Operation& o = problem_.operations[k];
      double saved = 0;
      if (node.amounts[k] > kRowSlack) {
        saved = o.set_up * (1 - node.amounts[k] / o.most) + 1e-6;
        if (o.shared >= 0) saved += problem_.shared[static_cast<std::size_t>(o.shared)];
      }
      if (saved > most) {
        most = saved;
        out = k;
      }
    }
    return out;
  }

  SetUpProblem problem_;
  const std::vector<std::vector<std::size_t>>& without_;
  bool any_;
  std::optional<SetUpSolution> best_;
};

}  // namespace

std::vector<SetUpSolution> cheapest(const SetUpProblem& problem, std::size_t count) {
  std::vector<SetUpSolution> out;
  std::vector<std::vector<std::size_t>> known;
  while (out.size() < count) {
    auto found = Search(problem, known).run();
    if (!found) break;
    std::vector<std::size_t> used;
    for (std::size_t k = 0; k < found->amounts.size(); ++k) {
      if (found->amounts[k] > 0) used.push_back(k);
    }
    out.push_back(*std::move(found));
    known.push_back(std::move(used));
  }
  return out;
}

bool feasible(const SetUpProblem& problem) {
  SetUpProblem free = problem;
  for (Operation& o : free.operations) {
    o.set_up = 0;
    // Least work in all: no amount is there only to undo another.
    o.rate = 1;
  }
  free.shared.assign(free.shared.size(), 0.0);
  const std::vector<std::vector<std::size_t>> none;
  return Search(free, none, true).run().has_value();
}

}  // namespace hingeline::rods::detail
