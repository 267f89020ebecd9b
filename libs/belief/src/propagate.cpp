#include "hingeline/belief/propagate.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "fuse.h"
#include "hingeline/numeric/propagate.h"
#include "hingeline/numeric/random.h"
#include "hingeline/numeric/statistics.h"

namespace hingeline::belief {
namespace {

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

/// The joint distribution, ready to be drawn from.
class Source {
 public:
  Source(const KeyKnowledge& key, const Gaussian& state) : key_(key), mean_(state.mean) {
    std::vector<std::size_t> order(state.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    axes_ = axes_of(state, order);
    for (const Axis& axis : axes_) {
      const double own = key.inputs[axis.input].standard;
      bool alone = true;
      for (std::size_t j = 0; j < state.size(); ++j) {
        alone = alone && (j == axis.input || state.cov(axis.input, j) == 0);
      }
      // A number that no reading touched and of which only a range is known.
      const bool untouched = alone && std::abs(axis.step[axis.input] - own) <= 1e-12 * own;
      rectangular_.push_back(untouched && key.inputs[axis.input].origin == Origin::unknown);
    }
  }

  [[nodiscard]] KeyGeometry draw(numeric::Stream& stream) const {
    std::vector<double> values = mean_;
    for (std::size_t a = 0; a < axes_.size(); ++a) {
      const double z = rectangular_[a] ? std::sqrt(3.0) * (2 * stream.uniform() - 1) : stream.normal();
      for (std::size_t i = 0; i < values.size(); ++i) values[i] += z * axes_[a].step[i];
    }
    return with_values(key_, values);
  }

 private:
  const KeyKnowledge& key_;
  std::vector<double> mean_;
  std::vector<Axis> axes_;
  std::vector<bool> rectangular_;
};

}  // namespace

Expected<Propagation> propagate(const KeyKnowledge& key, std::size_t draws, std::uint64_t seed,
                                unsigned threads) {
  const auto stopped = with_stops(key);
  if (!stopped) return tl::unexpected(stopped.error());
  const auto fused = fuse(*stopped);
  if (!fused) return tl::unexpected(fused.error());
  const Source source(*stopped, fused->state);
  const auto middle = truth_of(with_values(*stopped, fused->state.mean));
  if (!middle) return tl::unexpected(middle.error());

  // One row per figure; a draw that cannot be is NaN throughout.
  std::array<std::vector<double>, kFigureCount> rows;
  for (auto& row : rows) row.assign(draws, kNone);
  std::vector<char> possible(draws, 0);
  numeric::for_blocks(draws, threads, [&](std::size_t first, std::size_t last) {
    for (std::size_t k = first; k < last; ++k) {
      numeric::Stream stream(seed, k);
      const KeyGeometry g = source.draw(stream);
      const auto hinge = middle->near(g);
      if (!hinge) continue;
      possible[k] = 1;
      const Figures f = figures_of(g, *hinge);
      for (std::size_t n = 0; n < kFigureCount; ++n) rows[n][k] = f[n];
    }
  });

  Propagation out;
  out.seed = seed;
  out.draws = draws;
  out.impossible = static_cast<std::size_t>(std::count(possible.begin(), possible.end(), 0));
  for (std::size_t n = 0; n < kFigureCount; ++n) {
    auto& row = rows[n];
    std::erase_if(row, [](double v) { return std::isnan(v); });
    if (row.size() < 2) {
      out.figures[n] = {kNone, kNone, kNone, kNone};
      continue;
    }
    const numeric::Summary summary = numeric::summarise(row);
    std::sort(row.begin(), row.end());
    const numeric::Interval interval = numeric::symmetric_interval(row, 0.95);
    out.figures[n] = {summary.mean, summary.standard_deviation, interval.low, interval.high};
  }
  return out;
}

}  // namespace hingeline::belief
