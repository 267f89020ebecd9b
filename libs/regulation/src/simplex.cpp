#include "simplex.h"

#include <cmath>

namespace hingeline::regulation {
namespace {

constexpr double kZero = 1e-10;

/// Columns: x, slacks, artificial ones, right-hand side.
class Tableau {
 public:
  explicit Tableau(const Program& p)
      : rows_(p.rows.size()), x_(p.cost.size()), basis_(rows_), last_(x_ + rows_) {
    for (const double limit : p.limits) last_ += limit < 0 ? 1 : 0;
    artificial_ = x_ + rows_;
    table_.assign(rows_, std::vector<double>(last_ + 1, 0));
    std::size_t next = artificial_;
    for (std::size_t r = 0; r < rows_; ++r) {
      const double sign = p.limits[r] < 0 ? -1 : 1;
      for (std::size_t c = 0; c < x_; ++c) table_[r][c] = sign * p.rows[r][c];
      table_[r][x_ + r] = sign;
      table_[r][last_] = sign * p.limits[r];
      basis_[r] = x_ + r;
      if (sign < 0) {
        table_[r][next] = 1;
        basis_[r] = next++;
      }
    }
  }

  /// Minimises over columns below `columns`. False: nothing bounds it.
  bool minimise(const std::vector<double>& cost, std::size_t columns) {
    reduced_.assign(last_ + 1, 0);
    for (std::size_t c = 0; c < cost.size(); ++c) reduced_[c] = cost[c];
    for (std::size_t r = 0; r < rows_; ++r) {
      const double price = basis_[r] < cost.size() ? cost[basis_[r]] : 0;
      if (price == 0) continue;
      for (std::size_t c = 0; c <= last_; ++c) reduced_[c] -= price * table_[r][c];
    }
    for (;;) {
      std::size_t enters = columns;
      for (std::size_t c = 0; c < columns && enters == columns; ++c) {
        if (reduced_[c] < -kZero) enters = c;
      }
      if (enters == columns) return true;
      std::size_t leaves = rows_;
      double least = 0;
      for (std::size_t r = 0; r < rows_; ++r) {
        if (!(table_[r][enters] > kZero)) continue;
        const double ratio = table_[r][last_] / table_[r][enters];
        if (leaves == rows_ || ratio < least || (ratio == least && basis_[r] < basis_[leaves])) {
          leaves = r;
          least = ratio;
        }
      }
      if (leaves == rows_) return false;
      pivot(leaves, enters);
    }
  }

  /// Takes artificial columns out of the basis where a real one can stand in.
  void drop_artificial() {
    for (std::size_t r = 0; r < rows_; ++r) {
      if (basis_[r] < artificial_) continue;
      for (std::size_t c = 0; c < artificial_; ++c) {
        if (std::abs(table_[r][c]) > kZero) {
          pivot(r, c);
          break;
        }
      }
    }
  }

  [[nodiscard]] double value() const { return -reduced_[last_]; }
  [[nodiscard]] std::size_t artificial() const { return artificial_; }
  [[nodiscard]] std::size_t last() const { return last_; }
  [[nodiscard]] std::vector<double> x() const {
    std::vector<double> out(x_, 0);
    for (std::size_t r = 0; r < rows_; ++r) {
      if (basis_[r] < x_) out[basis_[r]] = table_[r][last_];
    }
    return out;
  }
  [[nodiscard]] std::vector<double> proof() const {
    return {reduced_.begin() + static_cast<std::ptrdiff_t>(x_),
            reduced_.begin() + static_cast<std::ptrdiff_t>(x_ + rows_)};
  }

 private:
  void pivot(std::size_t row, std::size_t column) {
    const double by = table_[row][column];
    for (double& v : table_[row]) v /= by;
    const auto clear = [&](std::vector<double>& other) {
      const double times = other[column];
      if (times == 0) return;
      for (std::size_t c = 0; c <= last_; ++c) other[c] -= times * table_[row][c];
      other[column] = 0;
    };
    for (std::size_t r = 0; r < rows_; ++r) {
      if (r != row) clear(table_[r]);
    }
    clear(reduced_);
    basis_[row] = column;
  }

  std::size_t rows_;
  std::size_t x_;
  std::vector<std::size_t> basis_;
  std::size_t last_;
  std::size_t artificial_ = 0;
  std::vector<std::vector<double>> table_;
  std::vector<double> reduced_;
};

}  // namespace

Solved solve(const Program& program) {
  Solved out;
  Tableau t(program);
  if (t.artificial() < t.last()) {
    std::vector<double> cost(t.last(), 0);
    for (std::size_t c = t.artificial(); c < t.last(); ++c) cost[c] = 1;
    t.minimise(cost, t.last());
    if (t.value() > 1e-9) {
      out.proof = t.proof();
      return out;
    }
    t.drop_artificial();
  }
  out.feasible = true;
  out.bounded = t.minimise(program.cost, t.artificial());
  out.least = t.value();
  out.x = t.x();
  out.proof = t.proof();
  return out;
}

}  // namespace hingeline::regulation
