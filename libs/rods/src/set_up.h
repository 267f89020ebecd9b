#pragma once
/// \file
/// Least cost of continuous amounts that cost a set-up each as soon as they are used at all.

#include <cstddef>
#include <optional>
#include <vector>

namespace hingeline::rods::detail {

/// One kind of work on one place: either left out (amount 0) or done by `least` to `most`.
struct Operation {
  double least = 0;   ///< above 0
  double most = 0;    ///< `least` or more
  double set_up = 0;  ///< 0 or more, once it is used
  double rate = 0;    ///< 0 or more, for each unit of amount
  int rivals = -1;    ///< of operations with the same number, 0 or more, at most one is used
  int shared = -1;    ///< place in SetUpProblem::shared, if it also costs that
};

/// low <= sum of coefficients x amounts <= high; either may be infinite.
struct Row {
  std::vector<double> coefficients;  ///< one for each operation
  double low = 0;
  double high = 0;
};

struct SetUpProblem {
  std::vector<Operation> operations;
  std::vector<Row> rows;
  std::vector<double> shared;  ///< costs paid once however many operations ask for them
};

struct SetUpSolution {
  std::vector<double> amounts;
  double cost = 0;
};

/// Up to `count` solutions, cheapest first. The first is the optimum. Each further one is the cheapest that
/// does not use all operations of one before it (so never one of them with more added). Empty: infeasible.
///
/// Branch and bound over used and not used, cheapest bound first; bounds by a dual simplex on the relaxation
/// that charges a set-up by the share of `most`. Amounts meet their rows within kRowSlack.
std::vector<SetUpSolution> cheapest(const SetUpProblem& problem, std::size_t count);

/// Whether any solution exists.
bool feasible(const SetUpProblem& problem);

/// How far a row may be missed, mm.
inline constexpr double kRowSlack = 1e-10;

}  // namespace hingeline::rods::detail
