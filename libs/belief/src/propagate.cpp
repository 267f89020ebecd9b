#include "hingeline/belief/propagate.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <memory>
#include <mutex>
#include <span>

#include "block.h"
#include "fuse.h"
#include "hingeline/numeric/fill.h"
#include "hingeline/numeric/propagate.h"
#include "hingeline/numeric/statistics.h"

namespace hingeline::belief {
namespace {

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kCoverage = 0.95;
/// Draws that one thread works out at a time.
constexpr std::size_t kChunk = 4096;
/// The first draws, from which brackets round the ends of the coverage intervals are taken.
constexpr std::size_t kPilot = 16'384;
/// Fewer draws than this are kept all.
constexpr std::size_t kKeepAll = 65'536;
/// Standard errors of a pilot's rank on either side of a bracket. Should an end lie outside all the same, all
/// draws are made again: a key in a hundred, at most.
constexpr double kBracketReach = 4;

static_assert(kChunk % kTile == 0 && kPilot % kChunk == 0 && kShareDraws % kChunk == 0);

/// The joint distribution, ready to be drawn from.
struct Source {
  const KeyKnowledge& key;
  std::vector<double> mean;
  std::vector<std::vector<double>> steps;  ///< of each deviate, over the inputs
  std::size_t pairs = 0;                   ///< of normal deviates, which come first
  std::size_t uniforms = 0;
  std::vector<std::vector<Term>> inputs;  ///< each input less its mean over its standard deviation

  Source(const KeyKnowledge& k, const Gaussian& state) : key(k), mean(state.mean) {
    std::vector<std::size_t> order(state.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::vector<std::vector<double>> rectangular;
    for (Axis& axis : axes_of(state, order)) {
      const double own = key.inputs[axis.input].standard;
      bool alone = true;
      for (std::size_t j = 0; j < state.size(); ++j) {
        alone = alone && (j == axis.input || state.cov(axis.input, j) == 0);
      }
      // A number that no other reading touched and of which only an interval is known.
      const bool untouched = alone && std::abs(axis.step[axis.input] - own) <= 1e-12 * own;
      const bool is_rectangular = untouched && key.inputs[axis.input].rectangular;
      (is_rectangular ? rectangular : steps).push_back(std::move(axis.step));
    }
    pairs = (steps.size() + 1) / 2;
    steps.resize(2 * pairs, std::vector<double>(state.size(), 0.0));
    uniforms = rectangular.size();
    std::move(rectangular.begin(), rectangular.end(), std::back_inserter(steps));
    for (std::size_t i = 0; i < state.size(); ++i) {
      double variance = 0;
      for (const auto& step : steps) variance += step[i] * step[i];
      std::vector<Term> terms;
      for (std::size_t a = 0; a < steps.size(); ++a) {
        if (steps[a][i] != 0) terms.push_back({a, steps[a][i] / std::sqrt(variance)});
      }
      inputs.push_back(std::move(terms));
    }
  }

  /// Deviates of the draws from `first` on, as rows.
  void deviates(std::uint64_t seed, std::size_t first, double* rows) const {
    numeric::fill(seed, first, kTile, pairs, uniforms, rows, kTile);
    const double half = std::sqrt(3.0);
    for (double* u = rows + 2 * pairs * kTile; u != rows + (2 * pairs + uniforms) * kTile; ++u)
      *u = half * (2 * *u - 1);
  }
  [[nodiscard]] KeyGeometry truth(const double* rows, std::size_t k) const {
    std::vector<double> values = mean;
    for (std::size_t a = 0; a < steps.size(); ++a) {
      for (std::size_t i = 0; i < values.size(); ++i) values[i] += rows[a * kTile + k] * steps[a][i];
    }
    return with_values(key, values);
  }
};

/// Brackets round the two ends of each figure's coverage interval.
using Brackets = std::array<std::array<Bracket, 2>, kFigureCount>;
constexpr Bracket kAll{-kInfinity, kInfinity};
constexpr Bracket kNothing{kNone, kNone};

struct Kept {
  double below = 0;
  double alike = 0;
  std::vector<double> values;
};

/// What is left of a chunk of draws.
struct Chunk {
  std::size_t possible = 0;
  std::size_t one_by_one = 0;
  std::array<Sums, kFigureCount> sums;
  std::array<std::array<Kept, 2>, kFigureCount> kept;
  std::vector<Sums> products;     ///< [input][figure]; empty where no shares are taken
  std::vector<Sums> input_sums;   ///< [input]: x and x^2
  std::vector<Sums> square_sums;  ///< [input]: x^2 and x^4
};

class Run {
 public:
  Run(const Source& source, const Truth& middle, std::uint64_t seed)
      : source_(source),
        middle_(middle),
        seed_(seed),
        origin_(figures_of(middle.geometry, middle.hinge)),
        plan_(plan_block(source.key, source.mean, source.steps)),
        work_(block_work()) {}

  [[nodiscard]] const Figures& origin() const { return origin_; }

  [[nodiscard]] std::vector<Chunk> operator()(std::size_t draws, const Brackets& brackets, bool shares,
                                              unsigned threads) {
    std::vector<Chunk> out((draws + kChunk - 1) / kChunk);
    numeric::for_blocks(
        draws, threads,
        [&](std::size_t first, std::size_t last) {
          work(first, last, brackets, shares && first < kShareDraws, out[first / kChunk]);
        },
        kChunk);
    return out;
  }

 private:
  /// What a thread writes on while it works a chunk out.
  struct Desk {
    std::vector<double> deviates;
    std::vector<double> rows;
    std::vector<double> figures;
    std::vector<double> kept;
    std::array<double, kTile> input{};
    std::array<double, kTile> square{};
    std::array<Sieve, kFigureCount> sieves;
  };
  /// One that nobody sits at.
  std::unique_ptr<Desk> take_desk() {
    {
      const std::lock_guard lock(at_desks_);
      if (!desks_.empty()) {
        auto desk = std::move(desks_.back());
        desks_.pop_back();
        return desk;
      }
    }
    auto desk = std::make_unique<Desk>();
    desk->deviates.resize((source_.steps.size() + 1) * kTile);
    desk->rows.resize(kRows * kTile);
    for (std::size_t row = 0; plan_ && row < kRows; ++row)
      std::fill_n(desk->rows.data() + row * kTile, kTile, plan_->still[row]);
    desk->figures.resize(kFigureCount * kTile);
    desk->kept.resize(kFigureCount * 2 * kRoom);
    return desk;
  }

  void work(std::size_t first, std::size_t last, const Brackets& brackets, bool shares, Chunk& out) {
    auto desk = take_desk();
    for (std::size_t f = 0; f < kFigureCount; ++f) {
      double* const kept = desk->kept.data() + 2 * f * kRoom;
      desk->sieves[f] = {origin_[f], brackets[f], {}, {}, {kept, kept + kRoom}};
    }
    const std::size_t n = source_.inputs.size();
    if (shares) {
      out.products.resize(n * kFigureCount);
      out.input_sums.resize(n);
      out.square_sums.resize(n);
    }
    for (std::size_t at = first; at < last; at += kTile) {
      const std::uint64_t left_out = work_out(at, std::min(kTile, last - at), *desk, out);
      for (std::size_t f = 0; f < kFigureCount; ++f) {
        if (!std::isnan(origin_[f]))
          work_.sift(desk->figures.data() + f * kTile, left_out == 0, desk->sieves[f]);
      }
      if (shares) add_shares(left_out, *desk, out);
    }
    for (std::size_t f = 0; f < kFigureCount; ++f) {
      const Sieve& sieve = desk->sieves[f];
      out.sums[f] = sieve.sums;
      for (std::size_t end = 0; end < 2; ++end) {
        const Caught& caught = sieve.caught[end];
        out.kept[f][end] = {Sums::whole(caught.below),
                            Sums::whole(caught.alike),
                            {sieve.kept[end], sieve.kept[end] + caught.kept}};
      }
    }
    const std::lock_guard lock(at_desks_);
    desks_.push_back(std::move(desk));
  }

  /// Figures of a tile of draws; the bits of those that are left out.
  std::uint64_t work_out(std::size_t at, std::size_t count, Desk& desk, Chunk& out) const {
    source_.deviates(seed_, at, desk.deviates.data());
    std::uint64_t irregular = ~std::uint64_t{0};
    if (plan_) {
      work_.draw(*plan_, desk.deviates.data(), desk.rows.data());
      irregular = work_.figures(*plan_, desk.rows.data(), desk.figures.data());
    }
    out.possible += count;
    if (count < kTile) irregular |= ~std::uint64_t{0} << count;
    std::uint64_t left_out = 0;
    for (std::uint64_t rest = irregular; rest != 0; rest &= rest - 1) {
      const auto k = static_cast<std::size_t>(std::countr_zero(rest));
      if (k < count) {
        ++out.one_by_one;
        if (by_engine(desk.deviates.data(), k, desk.figures.data())) continue;
        --out.possible;
      }
      for (std::size_t f = 0; f < kFigureCount; ++f) desk.figures[f * kTile + k] = kNone;
      left_out |= std::uint64_t{1} << k;
    }
    return left_out;
  }

  void add_shares(std::uint64_t left_out, Desk& desk, Chunk& out) const {
    for (std::size_t i = 0; i < source_.inputs.size(); ++i) {
      if (source_.inputs[i].empty()) continue;
      desk.input.fill(0);
      for (const Term& term : source_.inputs[i]) {
        const double* const deviate = desk.deviates.data() + term.deviate * kTile;
        for (std::size_t k = 0; k < kTile; ++k) desk.input[k] += deviate[k] * term.step;
      }
      for (std::uint64_t rest = left_out; rest != 0; rest &= rest - 1)
        desk.input[static_cast<std::size_t>(std::countr_zero(rest))] = 0;
      for (std::size_t k = 0; k < kTile; ++k) desk.square[k] = desk.input[k] * desk.input[k];
      work_.add(desk.input.data(), out.input_sums[i]);
      work_.add(desk.square.data(), out.square_sums[i]);
      for (std::size_t f = 0; f < kFigureCount; ++f) {
        if (std::isnan(origin_[f])) continue;
        work_.add_products(desk.figures.data() + f * kTile, origin_[f], desk.input.data(),
                           out.products[i * kFigureCount + f]);
      }
    }
  }

  /// The engine's figures of one draw; false when its parts cannot be.
  bool by_engine(const double* deviates, std::size_t k, double* figures) const {
    const KeyGeometry g = source_.truth(deviates, k);
    const auto hinge = middle_.near(g);
    if (!hinge) return false;
    const Figures f = figures_of(g, *hinge);
    for (std::size_t n = 0; n < kFigureCount; ++n) figures[n * kTile + k] = f[n];
    return true;
  }

  static constexpr std::size_t kRoom = kChunk + kTile;

  const Source& source_;
  const Truth& middle_;
  std::uint64_t seed_;
  Figures origin_;
  std::optional<BlockPlan> plan_;
  const BlockWork& work_;
  std::mutex at_desks_;
  std::vector<std::unique_ptr<Desk>> desks_;
};

std::vector<double> gathered(const std::vector<Chunk>& chunks, std::size_t f, std::size_t end) {
  std::vector<double> all;
  for (const Chunk& c : chunks)
    all.insert(all.end(), c.kept[f][end].values.begin(), c.kept[f][end].values.end());
  return all;
}

/// Values by rank, counted from 0: of a histogram's cells only those that are asked for are put in order.
class Ranking {
 public:
  explicit Ranking(std::span<const double> values) : values_(values), starts_(kCells + 1, 0) {
    const auto [least, most] = std::minmax_element(values.begin(), values.end());
    low_ = *least;
    const double width = *most - *least;
    scale_ = width > 0 ? static_cast<double>(kCells) / width : 0;
    // So narrow that no cell has a width: all in one.
    if (!std::isfinite(scale_)) scale_ = 0;
    for (const double x : values) ++starts_[cell_of(x) + 1];
    for (std::size_t cell = 0; cell < kCells; ++cell) starts_[cell + 1] += starts_[cell];
  }
  [[nodiscard]] double operator[](std::size_t rank) const {
    const auto after = std::upper_bound(starts_.begin(), starts_.end(), rank);
    const auto cell = static_cast<std::size_t>(after - starts_.begin()) - 1;
    std::vector<double> some;
    some.reserve(starts_[cell + 1] - starts_[cell]);
    for (const double x : values_) {
      if (cell_of(x) == cell) some.push_back(x);
    }
    const auto place = some.begin() + static_cast<std::ptrdiff_t>(rank - starts_[cell]);
    std::nth_element(some.begin(), place, some.end());
    return *place;
  }

 private:
  static constexpr std::size_t kCells = 512;
  [[nodiscard]] std::size_t cell_of(double x) const {
    return std::min(static_cast<std::size_t>((x - low_) * scale_), kCells - 1);
  }
  std::span<const double> values_;
  std::vector<std::size_t> starts_;
  double low_ = 0;
  double scale_ = 0;
};

/// Bounds between which the draws of the ranks of the interval's ends lie, as a rule.
Brackets brackets_of(const std::vector<Chunk>& pilot, const Figures& origin) {
  Brackets out;
  for (std::size_t f = 0; f < kFigureCount; ++f) {
    out[f] = {kNothing, kNothing};
    if (std::isnan(origin[f])) continue;
    const std::vector<double> values = gathered(pilot, f, 0);
    const std::size_t n = values.size();
    if (n < kPilot / 4) {
      out[f] = {kAll, kNothing};
      continue;
    }
    const Ranking ranked(values);
    const double tail = (1 - kCoverage) / 2;
    const auto reach = static_cast<std::size_t>(
        std::ceil(kBracketReach * std::sqrt(static_cast<double>(n) * tail * (1 - tail))));
    const numeric::Ranks ranks = numeric::symmetric_ranks(n, kCoverage);
    const auto round = [&](std::size_t rank) {
      return Bracket{rank < reach ? -kInfinity : ranked[rank - reach],
                     rank + reach < n ? ranked[rank + reach] : kInfinity};
    };
    out[f] = {round(ranks.low), round(ranks.high)};
  }
  return out;
}

/// The draw of this rank, if it lies in the bracket.
std::optional<double> draw_of_rank(const std::vector<Chunk>& chunks, std::size_t f, std::size_t end,
                                   Bracket bracket, std::size_t rank) {
  double below = 0;
  double alike = 0;
  for (const Chunk& c : chunks) {
    below += c.kept[f][end].below;
    alike += c.kept[f][end].alike;
  }
  const auto under = static_cast<std::size_t>(below);
  if (rank < under) return std::nullopt;
  if (bracket.low == bracket.high) {
    return rank < under + static_cast<std::size_t>(alike) ? std::optional(bracket.low) : std::nullopt;
  }
  const std::vector<double> values = gathered(chunks, f, end);
  if (rank >= under + values.size()) return std::nullopt;
  return Ranking(values)[rank - under];
}

/// Sums of all chunks, added in their order.
template <class Pick>
std::array<double, 2> total(const std::vector<Chunk>& chunks, Pick&& pick) {
  std::array<double, 2> sum{};
  for (const Chunk& c : chunks) {
    const Sums& s = pick(c);
    sum[0] += Sums::whole(s.first);
    sum[1] += Sums::whole(s.second);
  }
  return sum;
}

std::vector<Figures> shares_of(std::vector<Chunk>& chunks, const Source& source, const Figures& origin) {
  chunks.resize(std::min(chunks.size(), kShareDraws / kChunk));
  double n = 0;
  for (const Chunk& c : chunks) n += static_cast<double>(c.possible);
  std::vector<Figures> out(source.inputs.size());
  for (std::size_t i = 0; i < out.size(); ++i) {
    for (std::size_t f = 0; f < kFigureCount; ++f) {
      out[i][f] = std::isnan(origin[f]) || n < 2 ? kNone : 0.0;
      if (std::isnan(out[i][f]) || source.inputs[i].empty()) continue;
      const auto y = total(chunks, [&](const Chunk& c) -> const Sums& { return c.sums[f]; });
      const auto x = total(chunks, [&](const Chunk& c) -> const Sums& { return c.input_sums[i]; });
      const auto q = total(chunks, [&](const Chunk& c) -> const Sums& { return c.square_sums[i]; });
      const auto p =
          total(chunks, [&](const Chunk& c) -> const Sums& { return c.products[i * kFigureCount + f]; });
      const double variance = y[1] - y[0] * y[0] / n;
      // Rounding is no variance: a figure that does not move stays below this.
      if (!(variance > n * 1e-24)) continue;
      double share = 0;
      const auto add = [&](double product, double sum, double squares) {
        const double own = squares - sum * sum / n;
        const double shared = product - y[0] * sum / n;
        if (own > 0) share += shared * shared / (own * variance);
      };
      add(p[0], x[0], x[1]);
      add(p[1], q[0], q[1]);
      out[i][f] = std::min(share, 1.0);
    }
  }
  return out;
}

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
  Run run(source, *middle, seed);

  Brackets brackets;
  brackets.fill({kAll, kNothing});
  if (draws > kKeepAll) brackets = brackets_of(run(kPilot, brackets, false, threads), run.origin());
  auto chunks = run(draws, brackets, true, threads);

  Propagation out;
  out.seed = seed;
  out.draws = draws;
  std::size_t possible = 0;
  for (const Chunk& c : chunks) {
    possible += c.possible;
    out.one_by_one += c.one_by_one;
  }
  out.impossible = draws - possible;
  const auto n = static_cast<double>(possible);
  std::vector<Chunk> again;
  for (std::size_t f = 0; f < kFigureCount; ++f) {
    out.figures[f] = {kNone, kNone, kNone, kNone};
    if (std::isnan(run.origin()[f]) || possible < 2) continue;
    const auto y = total(chunks, [&](const Chunk& c) -> const Sums& { return c.sums[f]; });
    const double variance = std::max(0.0, y[1] - y[0] * y[0] / n) / (n - 1);
    const numeric::Ranks ranks = numeric::symmetric_ranks(possible, kCoverage);
    const auto end_at = [&](std::size_t end, std::size_t rank) {
      const std::size_t held = std::isnan(brackets[f][end].low) ? 0 : end;
      if (const auto found = draw_of_rank(chunks, f, held, brackets[f][held], rank)) return *found;
      if (again.empty()) {
        Brackets all;
        all.fill({kAll, kNothing});
        again = run(draws, all, false, threads);
      }
      return draw_of_rank(again, f, 0, kAll, rank).value();
    };
    out.figures[f] = {run.origin()[f] + y[0] / n, std::sqrt(variance), end_at(0, ranks.low),
                      end_at(1, ranks.high)};
  }
  out.shares = shares_of(chunks, source, run.origin());
  return out;
}

}  // namespace hingeline::belief
