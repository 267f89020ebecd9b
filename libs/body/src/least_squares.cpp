#include "least_squares.h"

#include <cmath>
#include <numbers>

namespace hingeline::body {

template <std::size_t P>
std::optional<Solution<P>> least_squares(std::vector<Row<P>> rows) {
  constexpr double kDependent = 1e-12;
  std::array<double, P> scale{};
  for (std::size_t j = 0; j < P; ++j) {
    for (const auto& r : rows) scale[j] = std::hypot(scale[j], r.factor[j]);
    if (!(scale[j] > 0) || !std::isfinite(scale[j])) return std::nullopt;
    for (auto& r : rows) r.factor[j] /= scale[j];
  }
  std::array<std::array<double, P>, P> upper{};
  for (std::size_t j = 0; j < P; ++j) {
    double length = 0;
    for (std::size_t i = j; i < rows.size(); ++i) length = std::hypot(length, rows[i].factor[j]);
    if (!(length > kDependent)) return std::nullopt;
    const double first = rows[j].factor[j];
    const double diagonal = first > 0 ? -length : length;
    // The reflection's vector is the column itself but for its first number.
    rows[j].factor[j] = first - diagonal;
    const double half_square = length * (length + std::abs(first));
    const auto reflect = [&](auto&& part) {
      double sum = 0;
      for (std::size_t i = j; i < rows.size(); ++i) sum += rows[i].factor[j] * part(rows[i]);
      const double by = sum / half_square;
      for (std::size_t i = j; i < rows.size(); ++i) part(rows[i]) -= by * rows[i].factor[j];
    };
    for (std::size_t k = j + 1; k < P; ++k) {
      reflect([k](Row<P>& r) -> double& { return r.factor[k]; });
    }
    reflect([](Row<P>& r) -> double& { return r.value; });
    upper[j][j] = diagonal;
    for (std::size_t k = j + 1; k < P; ++k) upper[j][k] = rows[j].factor[k];
  }
  Solution<P> s;
  for (std::size_t i = P; i < rows.size(); ++i) s.chi_square += rows[i].value * rows[i].value;
  // Back substitution, for the values and for the inverse of the triangle.
  std::array<std::array<double, P>, P> inverse{};
  for (std::size_t c = 0; c < P; ++c) {
    for (std::size_t i = c + 1; i-- > 0;) {
      double sum = i == c ? 1.0 : 0.0;
      for (std::size_t k = i + 1; k <= c; ++k) sum -= upper[i][k] * inverse[k][c];
      inverse[i][c] = sum / upper[i][i];
    }
  }
  for (std::size_t i = 0; i < P; ++i) {
    double square = 0;
    for (std::size_t k = i; k < P; ++k) {
      s.value[i] += inverse[i][k] * rows[k].value;
      square = std::hypot(square, inverse[i][k]);
    }
    s.value[i] /= scale[i];
    s.standard[i] = square / scale[i];
  }
  return s;
}

template std::optional<Solution<2>> least_squares<2>(std::vector<Row<2>>);
template std::optional<Solution<3>> least_squares<3>(std::vector<Row<3>>);

double chi_square_above(double x, std::size_t degrees_of_freedom) {
  if (degrees_of_freedom == 0 || !(x > 0)) return 1;
  const double half = x / 2;
  double sum = 0;
  double term = 0;
  double from = 0;
  if (degrees_of_freedom % 2 == 0) {
    term = std::exp(-half);
    from = 1;
  } else {
    sum = std::erfc(std::sqrt(half));
    term = 2 * std::sqrt(half / std::numbers::pi) * std::exp(-half);
    from = 1.5;
  }
  for (std::size_t k = 0; k < degrees_of_freedom / 2; ++k) {
    sum += term;
    term *= half / (from + static_cast<double>(k));
  }
  return sum;
}

}  // namespace hingeline::body
