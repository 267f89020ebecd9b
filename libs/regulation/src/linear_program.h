#pragma once
/// \file
/// Small linear programs with the proof of their answer, solved by Clp.

#include <vector>

namespace hingeline::regulation {

/// Minimise cost . x over x >= 0 with rows . x <= limits (of any sign). Few rows and columns, each row as
/// long as the cost.
struct Program {
  std::vector<std::vector<double>> rows;
  std::vector<double> limits;
  std::vector<double> cost;
};

struct Solved {
  bool feasible = false;
  bool bounded = true;
  double least = 0;
  std::vector<double> x;
  /// One number, 0 or more, for each row: multiplied into the rows they prove the minimum, or, when not
  /// feasible, that there is no x. A further column could only help if its cost (0 when not feasible) plus
  /// its product with these is below 0. Empty where nothing bounds the minimum.
  std::vector<double> proof;
};

/// Numbers should be of a size about 1: rows are held to 1e-9.
Solved solve(const Program& program);

}  // namespace hingeline::regulation
