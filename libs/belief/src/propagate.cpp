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
/// The draws after which brackets round the ends of the coverage intervals are taken, and taken anew from
/// what fell into the last.
constexpr std::array<std::size_t, 2> kPilots{8192, 131'072};
/// Fewer draws than this are kept all.
constexpr std::size_t kKeepAll = 65'536;
/// Standard errors of a pilot's rank on either side of a bracket. Should an end lie outside all the same, all
/// draws are made again: a key in a hundred, at most.
constexpr double kBracketReach = 4;

static_assert(kChunk % kTile == 0 && kPilots[0] % kChunk == 0 && kPilots[1] % kChunk == 0 &&
              kShareDraws % kChunk == 0);

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

/// What a bracket caught.
struct Counts {
  std::size_t below = 0;
  std::size_t alike = 0;
  std::size_t kept = 0;
};

/// What is left of a chunk of draws.
struct Chunk {
  std::size_t possible = 0;
  std::size_t one_by_one = 0;
  std::array<Sums, kFigureCount> sums;
  std::array<std::array<Counts, 2>, kFigureCount> counts;
  std::vector<double> kept;       ///< values in the brackets, one figure and end after another
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
        work_(block_work()) {
    for (std::size_t f = 0; f < kFigureCount; ++f) {
      if (!std::isnan(origin_[f])) applying_.push_back(f);
    }
  }

  [[nodiscard]] const Figures& origin() const { return origin_; }

  /// The draws from `from`, a chunk's first, up to `to`; those that there are already are not made again.
  void operator()(std::size_t from, std::size_t to, const Brackets& brackets, bool shares, unsigned threads,
                  std::vector<Chunk>& out) {
    out.resize((to + kChunk - 1) / kChunk);
    numeric::for_blocks(
        to - from, threads,
        [&](std::size_t first, std::size_t last) {
          const std::size_t at = from + first;
          work(at, from + last, brackets, shares && at < kShareDraws, out[at / kChunk]);
        },
        kChunk);
  }

 private:
  /// What a thread writes on while it works a chunk out.
  struct Desk {
    std::vector<double> deviates;
    std::vector<double> rows;
    std::vector<double> figures;
    std::vector<double> kept;
    std::array<double, kTile> input{};
    std::vector<Sieve> sieves;
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
    desk->sieves.clear();
    for (const std::size_t f : applying_) {
      double* const kept = desk->kept.data() + 2 * f * kRoom;
      desk->sieves.push_back({f, origin_[f], brackets[f], {}, {}, {kept, kept + kRoom}});
    }
    const std::size_t n = source_.inputs.size();
    if (shares) {
      out.products.resize(n * kFigureCount);
      out.input_sums.resize(n);
      out.square_sums.resize(n);
    }
    for (std::size_t at = first; at < last; at += kTile) {
      const std::uint64_t left_out = work_out(at, std::min(kTile, last - at), *desk, out);
      work_.sift(desk->figures.data(), left_out == 0, desk->sieves);
      if (shares) add_shares(left_out, *desk, out);
    }
    std::size_t kept = 0;
    for (const Sieve& sieve : desk->sieves) {
      out.sums[sieve.row] = sieve.sums;
      for (std::size_t end = 0; end < 2; ++end) {
        const Caught& caught = sieve.caught[end];
        std::size_t below = 0;
        for (const std::uint64_t part : caught.below) below += part;
        out.counts[sieve.row][end] = {below, caught.alike, caught.kept};
        kept += caught.kept;
      }
    }
    out.kept.reserve(kept);
    for (const Sieve& sieve : desk->sieves) {
      for (std::size_t end = 0; end < 2; ++end)
        out.kept.insert(out.kept.end(), sieve.kept[end], sieve.kept[end] + sieve.caught[end].kept);
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

  /// Takes the figures' origins off them.
  void add_shares(std::uint64_t left_out, Desk& desk, Chunk& out) const {
    for (const std::size_t f : applying_) work_.centre(desk.figures.data() + f * kTile, origin_[f]);
    for (std::size_t i = 0; i < source_.inputs.size(); ++i) {
      if (source_.inputs[i].empty()) continue;
      work_.combine(source_.inputs[i], desk.deviates.data(), desk.input.data());
      for (std::uint64_t rest = left_out; rest != 0; rest &= rest - 1)
        desk.input[static_cast<std::size_t>(std::countr_zero(rest))] = 0;
      work_.add_powers(desk.input.data(), out.input_sums[i], out.square_sums[i]);
      work_.add_products(desk.figures.data(), applying_, desk.input.data(),
                         out.products.data() + i * kFigureCount);
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
  std::vector<std::size_t> applying_;  ///< figures that apply to the key
  std::optional<BlockPlan> plan_;
  const BlockWork& work_;
  std::mutex at_desks_;
  std::vector<std::unique_ptr<Desk>> desks_;
};

/// Some values that hold those of two ranks and all between.
struct Thinned {
  std::size_t below = 0;  ///< values that were left out and are smaller than the rest
  std::vector<double> values;
};
/// Values between two of a sample, as few as hold the ranks `from` to `to`, as a rule; all, when they do not.
/// Asks no question whose answer could not be foreseen.
Thinned thinned(std::span<const double> values, std::size_t from, std::size_t to) {
  constexpr std::size_t kSample = 256;
  constexpr double kReach = 4;
  const std::size_t n = values.size();
  if (n > 2 * kSample) {
    std::array<double, kSample> sample;
    for (std::size_t k = 0; k < kSample; ++k) sample[k] = values[k * n / kSample];
    const auto in_sample = [&](double place, double beyond) {
      if (place < 0 || place >= kSample) return beyond;
      const auto at = sample.begin() + static_cast<std::ptrdiff_t>(place);
      std::nth_element(sample.begin(), at, sample.end());
      return *at;
    };
    const auto reach = [&](double share) { return 1 + kReach * std::sqrt(kSample * share * (1 - share)); };
    const double first = static_cast<double>(from) / static_cast<double>(n);
    const double last = static_cast<double>(to) / static_cast<double>(n);
    const double low = in_sample(std::floor(kSample * first - reach(first)), -kInfinity);
    const double high = in_sample(std::ceil(kSample * last + reach(last)), kInfinity);
    const auto left = std::make_unique_for_overwrite<double[]>(n);
    std::size_t below = 0;
    std::size_t count = 0;
    for (const double x : values) {
      left[count] = x;
      below += static_cast<std::size_t>(x < low);
      count += static_cast<std::size_t>(x >= low) & static_cast<std::size_t>(x <= high);
    }
    if (below <= from && to < below + count) return {below, {left.get(), left.get() + count}};
  }
  return {0, {values.begin(), values.end()}};
}

/// What the bracket at one end of a figure's interval caught of all draws so far.
struct Pool {
  Bracket bracket;
  std::size_t below = 0;
  std::size_t alike = 0;
  std::vector<double> values;

  [[nodiscard]] std::optional<double> of_rank(std::size_t rank) const {
    if (rank < below) return std::nullopt;
    if (bracket.low == bracket.high) {
      return rank < below + alike ? std::optional(bracket.low) : std::nullopt;
    }
    if (rank >= below + values.size()) return std::nullopt;
    rank -= below;
    Thinned few = thinned(values, rank, rank);
    const auto place = few.values.begin() + static_cast<std::ptrdiff_t>(rank - few.below);
    std::nth_element(few.values.begin(), place, few.values.end());
    return *place;
  }
  /// What the bracket that holds these ranks and no more would have caught; ranks that are outside of this
  /// bracket leave its bound as it is.
  [[nodiscard]] Pool within(std::size_t from, std::size_t to) const {
    if (bracket.low == bracket.high || values.empty()) return *this;
    const std::size_t all = values.size();
    const std::size_t first = std::min(from < below ? 0 : from - below, all - 1);
    const std::size_t last = std::min(to < below ? 0 : to - below, all - 1);
    Thinned few = thinned(values, first, last);
    const auto in_few = [&](std::size_t rank) {
      const auto at = few.values.begin() + static_cast<std::ptrdiff_t>(rank - few.below);
      std::nth_element(few.values.begin(), at, few.values.end());
      return *at;
    };
    Pool out;
    out.bracket = {from < below ? bracket.low : in_few(first),
                   to >= below + all ? bracket.high : in_few(last)};
    out.below = below + few.below;
    out.values.reserve(few.values.size());
    for (const double x : few.values) {
      out.below += static_cast<std::size_t>(x < out.bracket.low);
      if (x >= out.bracket.low && x <= out.bracket.high) out.values.push_back(x);
    }
    if (out.bracket.low == out.bracket.high) {
      out.alike = out.values.size();
      out.values.clear();
    }
    return out;
  }
};

/// Both ends of every figure. While all is kept, the second end's are in the first's pool.
class Pools {
 public:
  Pools() {
    for (auto& figure : pools_) {
      figure[0].bracket = kAll;
      figure[1].bracket = kNothing;
    }
  }
  [[nodiscard]] Brackets brackets() const {
    Brackets out;
    for (std::size_t f = 0; f < kFigureCount; ++f) out[f] = {pools_[f][0].bracket, pools_[f][1].bracket};
    return out;
  }
  void take(std::span<Chunk> chunks) {
    for (Chunk& c : chunks) {
      possible_ += c.possible;
      auto from = c.kept.cbegin();
      for (std::size_t f = 0; f < kFigureCount; ++f) {
        for (std::size_t end = 0; end < 2; ++end) {
          const Counts& counts = c.counts[f][end];
          Pool& pool = pools_[f][end];
          pool.below += counts.below;
          pool.alike += counts.alike;
          const auto to = from + static_cast<std::ptrdiff_t>(counts.kept);
          pool.values.insert(pool.values.end(), from, to);
          from = to;
        }
      }
      c.kept = {};
    }
  }
  /// Brackets between which the ranks of the interval's ends lie, as a rule, when all draws are made.
  void narrow(unsigned threads) {
    const auto n = static_cast<double>(possible_);
    if (possible_ < kPilots[0] / 4) return;
    const double tail = (1 - kCoverage) / 2;
    const auto reach = static_cast<std::size_t>(std::ceil(kBracketReach * std::sqrt(n * tail * (1 - tail))));
    const numeric::Ranks ranks = numeric::symmetric_ranks(possible_, kCoverage);
    const auto narrow_one = [&](std::size_t f, std::size_t) {
      Ends& figure = pools_[f];
      if (figure[0].below + figure[0].alike + figure[0].values.size() == 0) return;
      const auto round = [&](std::size_t end, std::size_t rank) {
        return figure[held(figure, end)].within(rank < reach ? 0 : rank - reach, rank + reach);
      };
      Pool low = round(0, ranks.low);
      Pool high = round(1, ranks.high);
      figure = {std::move(low), std::move(high)};
    };
    numeric::for_blocks(kFigureCount, threads, narrow_one, 1);
  }
  /// The draw of this rank, if it lies in the bracket.
  [[nodiscard]] std::optional<double> of_rank(std::size_t f, std::size_t end, std::size_t rank) const {
    return pools_[f][held(pools_[f], end)].of_rank(rank);
  }

 private:
  using Ends = std::array<Pool, 2>;
  static std::size_t held(const Ends& figure, std::size_t end) {
    return std::isnan(figure[end].bracket.low) ? 0 : end;
  }
  std::array<Ends, kFigureCount> pools_;
  std::size_t possible_ = 0;
};

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
  std::array<std::array<double, 2>, kFigureCount> values;
  for (std::size_t f = 0; f < kFigureCount; ++f)
    values[f] = total(chunks, [&](const Chunk& c) -> const Sums& { return c.sums[f]; });
  for (std::size_t i = 0; i < out.size(); ++i) {
    const auto x = total(chunks, [&](const Chunk& c) -> const Sums& { return c.input_sums[i]; });
    const auto q = total(chunks, [&](const Chunk& c) -> const Sums& { return c.square_sums[i]; });
    for (std::size_t f = 0; f < kFigureCount; ++f) {
      out[i][f] = std::isnan(origin[f]) || n < 2 ? kNone : 0.0;
      if (std::isnan(out[i][f]) || source.inputs[i].empty()) continue;
      const auto& y = values[f];
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

  Pools pools;
  std::vector<Chunk> chunks;
  const auto run_on = [&](std::size_t to) {
    const std::size_t from = chunks.size() * kChunk;
    run(from, to, pools.brackets(), true, threads, chunks);
    pools.take(std::span(chunks).subspan(from / kChunk));
  };
  for (const std::size_t pilot : kPilots) {
    if (draws <= kKeepAll || draws <= pilot) continue;
    run_on(pilot);
    pools.narrow(threads);
  }
  run_on(draws);

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
  const numeric::Ranks ranks =
      possible < 2 ? numeric::Ranks{} : numeric::symmetric_ranks(possible, kCoverage);
  std::array<std::array<std::optional<double>, 2>, kFigureCount> ends;
  const auto find_ends = [&](std::size_t f, std::size_t) {
    ends[f] = {pools.of_rank(f, 0, ranks.low), pools.of_rank(f, 1, ranks.high)};
  };
  if (possible >= 2) numeric::for_blocks(kFigureCount, draws > kKeepAll ? threads : 1, find_ends, 1);
  std::optional<Pools> again;
  for (std::size_t f = 0; f < kFigureCount; ++f) {
    out.figures[f] = {kNone, kNone, kNone, kNone};
    if (std::isnan(run.origin()[f]) || possible < 2) continue;
    const auto y = total(chunks, [&](const Chunk& c) -> const Sums& { return c.sums[f]; });
    const double variance = std::max(0.0, y[1] - y[0] * y[0] / n) / (n - 1);
    const auto end_at = [&](std::size_t end, std::size_t rank) {
      if (ends[f][end]) return *ends[f][end];
      if (!again) {
        std::vector<Chunk> all;
        run(0, draws, Pools().brackets(), false, threads, all);
        again.emplace().take(all);
      }
      return again->of_rank(f, end, rank).value();
    };
    out.figures[f] = {run.origin()[f] + y[0] / n, std::sqrt(variance), end_at(0, ranks.low),
                      end_at(1, ranks.high)};
  }
  out.shares = shares_of(chunks, source, run.origin());
  return out;
}

}  // namespace hingeline::belief
