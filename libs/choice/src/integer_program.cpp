#include "integer_program.h"

#include <fmt/format.h>

#include <CbcHeuristic.hpp>
#include <CbcModel.hpp>
#include <CglKnapsackCover.hpp>
#include <CoinPackedMatrix.hpp>
#include <OsiClpSolverInterface.hpp>
#include <algorithm>
#include <cassert>
#include <numeric>

namespace hingeline::choice {
namespace {

/// Whole numbers: an improvement is at least one unit.
constexpr double kLeastStep = 0.999;
constexpr double kHalfAUnit = 0.5;
constexpr double kIntegerTolerance = 1e-7;
constexpr int kFewestRows = 8;
constexpr int kEveryTenNodes = 10;  // a generator's turn

bool within(const Row& row, std::int64_t sum) {
  return (!row.low || sum >= *row.low) && (!row.high || sum <= *row.high);
}

std::int64_t sum_of(const Row& row, const std::vector<bool>& taken) {
  std::int64_t sum = 0;
  for (const auto& [column, coefficient] : row.terms) sum += taken[column] ? coefficient : 0;
  return sum;
}

std::int64_t gain_of(const IntegerProgram& program, const std::vector<bool>& taken) {
  std::int64_t sum = 0;
  for (std::size_t c = 0; c < taken.size(); ++c) sum += taken[c] ? program.gain[c] : 0;
  return sum;
}

/// Greatest common divisor of a row's coefficients; 1 of an empty one.
std::int64_t divisor_of(const Row& row) {
  std::int64_t divisor = 0;
  for (const auto& term : row.terms) divisor = std::gcd(divisor, term.second);
  return std::max<std::int64_t>(divisor, 1);
}

std::int64_t floor_divided(std::int64_t a, std::int64_t b) { return a / b - (a % b < 0 ? 1 : 0); }

/// The same choices by smaller numbers: common divisors taken out, limits rounded to what whole numbers can
/// reach.
IntegerProgram reduced(const IntegerProgram& program) {
  IntegerProgram out = program;
  std::int64_t divisor = 0;
  for (const std::int64_t g : out.gain) divisor = std::gcd(divisor, g);
  for (std::int64_t& g : out.gain) g /= std::max<std::int64_t>(divisor, 1);
  for (Row& row : out.rows) {
    const std::int64_t by = divisor_of(row);
    for (auto& term : row.terms) term.second /= by;
    if (row.low) row.low = -floor_divided(-*row.low, by);
    if (row.high) row.high = floor_divided(*row.high, by);
  }
  return out;
}

bool sizes_allowed(const IntegerProgram& program) {
  const auto fits = [](std::int64_t& sum, std::int64_t v) {
    // Looked at one by one, so that nothing can overflow.
    if (v > kLargestSum || v < -kLargestSum) return false;
    sum += v < 0 ? -v : v;
    return sum <= kLargestSum;
  };
  std::int64_t gains = 0;
  for (const std::int64_t g : program.gain) {
    if (!fits(gains, g)) return false;
  }
  for (const Row& row : program.rows) {
    std::int64_t sum = 0;
    for (const auto& term : row.terms) {
      if (!fits(sum, term.second)) return false;
    }
  }
  return true;
}

void load(OsiClpSolverInterface& solver, const IntegerProgram& program) {
  const auto columns = program.gain.size();
  CoinPackedMatrix matrix(false, 0, 0);
  matrix.setDimensions(0, static_cast<int>(columns));
  std::vector<double> low;
  std::vector<double> high;
  std::vector<int> index;
  std::vector<double> value;
  for (const Row& row : program.rows) {
    index.clear();
    value.clear();
    for (const auto& [column, coefficient] : row.terms) {
      index.push_back(static_cast<int>(column));
      value.push_back(static_cast<double>(coefficient));
    }
    matrix.appendRow(static_cast<int>(index.size()), index.data(), value.data());
    low.push_back(row.low ? static_cast<double>(*row.low) : -solver.getInfinity());
    high.push_back(row.high ? static_cast<double>(*row.high) : solver.getInfinity());
  }
  // Clp 1.17's strong branching stops the program (an assertion on its work space) where there are fewer than
  // three rows; rows that say nothing make up for them.
  const int first = 0;
  const double one = 1;
  for (int rows = matrix.getNumRows(); rows < kFewestRows; ++rows) {
    matrix.appendRow(1, &first, &one);
    low.push_back(0);
    high.push_back(1);
  }
  const std::vector<double> zeros(columns, 0.0);
  const std::vector<double> ones(columns, 1.0);
  std::vector<double> cost;
  for (const std::int64_t g : program.gain) cost.push_back(-static_cast<double>(g));
  solver.loadProblem(matrix, zeros.data(), ones.data(), cost.data(), low.data(), high.data());
  for (std::size_t c = 0; c < columns; ++c) solver.setInteger(static_cast<int>(c));
}

void quieten(OsiClpSolverInterface& solver) {
  solver.messageHandler()->setLogLevel(0);
  solver.setHintParam(OsiDoReducePrint, true, OsiHintTry);
}

}  // namespace

Expected<std::optional<Solved>> solve(const IntegerProgram& program, const std::vector<bool>& known) {
  const IntegerProgram smaller = reduced(program);
  if (!sizes_allowed(smaller)) {
    return fail(Fault::content, "the sums to choose by are too large to be proven",
                fmt::format("sums up to {} of their largest common unit", kLargestSum));
  }
  assert(known.empty() || known.size() == program.gain.size());
  if (program.gain.empty()) {
    for (const Row& row : program.rows) {
      if (!within(row, 0)) return std::nullopt;
    }
    return Solved{};
  }

  OsiClpSolverInterface solver;
  quieten(solver);
  load(solver, smaller);

  CbcModel model(solver);
  model.setLogLevel(0);
  model.solver()->messageHandler()->setLogLevel(0);
  model.setIntegerTolerance(kIntegerTolerance);
  model.setAllowableGap(0);
  model.setAllowableFractionGap(0);
  model.setCutoffIncrement(kLeastStep);
  model.setMaximumNodes(kMostNodes);

  // Few rows, one or two of them knapsacks: cover cuts pay, Gomory's and the like cost more than they save.
  CglKnapsackCover covers;
  model.addCutGenerator(&covers, kEveryTenNodes, "knapsack cover");
  CbcRounding heuristic(model);
  model.addHeuristic(&heuristic);

  // Only what is better than the known choice is looked for; that nothing is proves it. (Given to CBC as a
  // choice to begin from, it came back with the value of one and the columns of another.)
  if (!known.empty()) model.setCutoff(-static_cast<double>(gain_of(smaller, known)) - kHalfAUnit);

  model.branchAndBound();

  const bool nothing_found = model.isProvenInfeasible();
  if (nothing_found && known.empty()) return std::nullopt;
  const double* found = model.bestSolution();
  if (!nothing_found && (!model.isProvenOptimal() || found == nullptr)) {
    return fail(Fault::content,
                fmt::format("the best choice was not proven within {} steps of the search", kMostNodes),
                "fewer works, or minutes in rounder figures");
  }
  Solved out;
  out.nodes = model.getNodeCount();
  for (std::size_t c = 0; c < program.gain.size(); ++c) {
    out.taken.push_back(nothing_found ? known[c] : found[c] > 0.5);
  }
  out.gain = gain_of(program, out.taken);
  for (const Row& row : program.rows) {
    if (!within(row, sum_of(row, out.taken))) {
      return fail(Fault::content, "the best choice does not bear checking in whole numbers",
                  "minutes and gains of more alike sizes");
    }
  }
  if (!nothing_found &&
      -model.getBestPossibleObjValue() - static_cast<double>(gain_of(smaller, out.taken)) >= 1) {
    return fail(Fault::content, "the best choice could not be proven",
                "minutes and gains of more alike sizes");
  }
  return out;
}

}  // namespace hingeline::choice
