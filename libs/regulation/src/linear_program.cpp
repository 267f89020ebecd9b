#include "linear_program.h"

#include <ClpSimplex.hpp>
#include <CoinPackedMatrix.hpp>
#include <algorithm>
#include <memory>
#include <numeric>

namespace hingeline::regulation {
namespace {

constexpr double kTolerance = 1e-9;
/// Clp's codes of how a program ended.
constexpr int kOptimal = 0;
constexpr int kInfeasible = 1;

void load(ClpSimplex& clp, const Program& program) {
  const auto columns = static_cast<int>(program.cost.size());
  CoinPackedMatrix matrix(false, 0, 0);
  matrix.setDimensions(0, columns);
  std::vector<int> all(program.cost.size());
  std::iota(all.begin(), all.end(), 0);
  for (const auto& row : program.rows) matrix.appendRow(columns, all.data(), row.data());
  const std::vector<double> zeros(program.cost.size(), 0.0);
  const std::vector<double> below(program.rows.size(), -COIN_DBL_MAX);
  clp.loadProblem(matrix, zeros.data(), nullptr, program.cost.data(), below.data(), program.limits.data());
}

/// The ray that shows there is no x, with the sign by which its rows add up to at least 0 with a limit below
/// 0.
std::vector<double> no_answer(ClpSimplex& clp, const Program& program) {
  const std::unique_ptr<double[]> ray(clp.infeasibilityRay());
  std::vector<double> out(program.rows.size(), 0.0);
  if (!ray) return out;
  double limit = 0;
  for (std::size_t r = 0; r < out.size(); ++r) limit += ray[r] * program.limits[r];
  for (std::size_t r = 0; r < out.size(); ++r) out[r] = std::max(0.0, limit < 0 ? ray[r] : -ray[r]);
  return out;
}

}  // namespace

Solved solve(const Program& program) {
  Solved out;
  ClpSimplex clp;
  clp.setLogLevel(0);
  clp.setPrimalTolerance(kTolerance);
  clp.setDualTolerance(kTolerance);
  load(clp, program);
  clp.dual();
  if (clp.status() == kInfeasible) {
    out.proof = no_answer(clp, program);
    return out;
  }
  out.feasible = true;
  out.bounded = clp.status() == kOptimal;
  if (!out.bounded) return out;
  out.least = clp.objectiveValue();
  out.x.assign(clp.primalColumnSolution(), clp.primalColumnSolution() + clp.numberColumns());
  for (double& x : out.x) x = std::max(0.0, x);
  for (int r = 0; r < clp.numberRows(); ++r) out.proof.push_back(std::max(0.0, -clp.dualRowSolution()[r]));
  return out;
}

}  // namespace hingeline::regulation
