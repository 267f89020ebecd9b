#pragma once
/// \file
/// Yes-or-no programs with whole numbers, solved to a proven optimum by CBC.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "hingeline/base/error.h"

namespace hingeline::choice {

/// sum of coefficient x column, from `low` to `high` (nothing there: no limit).
struct Row {
  std::vector<std::pair<std::size_t, std::int64_t>> terms;
  std::optional<std::int64_t> low;
  std::optional<std::int64_t> high;
};

/// Every column is 0 or 1.
struct IntegerProgram {
  std::vector<std::int64_t> gain;  ///< of each column; their sum is made as large as it can be
  std::vector<Row> rows;
};

struct Solved {
  std::vector<bool> taken;
  std::int64_t gain = 0;
  int nodes = 0;  ///< of the search tree; 0 when the first relaxation was already whole
};

/// The largest coefficient sum (absolute, of the gain or of a row, its common divisor taken out) that is
/// taken: CBC's doubles hold it to far less than one unit.
inline constexpr std::int64_t kLargestSum = 100'000'000;
/// Where the search stops. 60 works have never needed a thousandth of it.
inline constexpr int kMostNodes = 200'000;

/// The optimum, deterministic for one build of CBC. CBC reckons in doubles; so the answer is put back into
/// whole numbers and checked here against every row, and is only given when CBC's bound is less than one unit
/// away, which with whole numbers is no distance. Nothing: no choice satisfies the rows. An error
/// (Fault::content) when a sum is too large or the search was stopped.
///
/// `known`: a choice that satisfies the rows, to begin from; empty: none.
Expected<std::optional<Solved>> solve(const IntegerProgram& program, const std::vector<bool>& known = {});

}  // namespace hingeline::choice
