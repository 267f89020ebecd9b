#pragma once
/// \file
/// Small weighted least squares by Householder reflections.

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

namespace hingeline::body {

/// One equation: sum of factors x unknowns = value, each divided by its standard uncertainty already.
template <std::size_t P>
struct Row {
  std::array<double, P> factor{};
  double value = 0;
};

template <std::size_t P>
struct Solution {
  std::array<double, P> value{};
  std::array<double, P> standard{};  ///< roots of the covariance's diagonal, for rows of unit uncertainty
  double chi_square = 0;
};

/// Least squares of rows that are not fewer than unknowns. Nothing where the rows do not determine them (a
/// column within 1e-12 of the others). Columns are scaled to unit length first.
template <std::size_t P>
std::optional<Solution<P>> least_squares(std::vector<Row<P>> rows);

extern template std::optional<Solution<2>> least_squares<2>(std::vector<Row<2>>);
extern template std::optional<Solution<3>> least_squares<3>(std::vector<Row<3>>);

/// Chance that chi-square with so many degrees of freedom is at least x; 1 with none. Closed form: a
/// finite sum, with the error function for an odd number. Relative error under 1e-12 where it is above
/// 1e-280.
double chi_square_above(double x, std::size_t degrees_of_freedom);

}  // namespace hingeline::body
