#include "hingeline/plan/cutting.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>
#include <random>
#include <string>
#include <vector>

namespace hingeline::plan {
namespace {

using Kind = Instruction::Kind;

constexpr Length mm(double v) { return millimetres(v); }
const TakeOff kBook{std::log(0.02), 0.45, 0.15};

/// Window 0.010 to 0.030 mm, one end to cut, all the metal one could wish for.
CuttingJob one_end() {
  CuttingJob job;
  job.low = mm(0.010);
  job.high = mm(0.030);
  job.cutters = {kBook};
  job.upper = {mm(0.2), mm(1.0), mm(0.3), 0};
  return job;
}

Cutting started(const CuttingJob& job) {
  auto cutting = Cutting::of(job);
  EXPECT_TRUE(cutting) << cutting.error().what;
  return *cutting;
}

/// The same reading until something else than reading is asked for.
Instruction read_out(Cutting& cutting, double value, double standard = 0.004) {
  for (int k = 0; k < 2 * kMostRepeats; ++k) {
    const Instruction i = cutting.next();
    if (i.kind != Kind::read_again) return i;
    EXPECT_TRUE(cutting.read(mm(value), mm(standard)));
  }
  ADD_FAILURE() << "reads for ever";
  return {};
}

std::string text(const Said& said) { return said.in(LengthUnit::mm); }

// ---- the filter against brute force ------------------------------------------------------------------

/// End play and take-off on a dense grid, moved by straight interpolation: slow, and with nothing of the
/// filter's in it.
class Grid {
 public:
  Grid(double mean, double standard, const TakeOff& rate) : rate_(rate) {
    constexpr double kStandards = kFarthestRate;
    double sum = 0;
    for (int k = 0; k < kNodes; ++k) {
      const double z = kStandards * (2.0 * k / (kNodes - 1) - 1);
      log_rate_.push_back(rate.log_median + z * rate.between);
      share_.push_back((1 - kOddCutter) * std::exp(-z * z / 2) + kOddCutter / 2 * std::exp(-z * z / 8));
      sum += share_.back();
    }
    for (double s : share_) {
      std::vector<double> row;
      for (int e = 0; e < kCells; ++e) {
        const double z = (place(e) - mean) / standard;
        row.push_back(s / sum * std::exp(-z * z / 2));
      }
      mass_.push_back(std::move(row));
    }
    normalise();
  }

  void bitten(double turns) {
    constexpr int kScatter = 61;
    for (int k = 0; k < kNodes; ++k) {
      const auto node = static_cast<std::size_t>(k);
      std::vector<double> after(kCells, 0.0);
      const std::vector<double>& before = mass_[node];
      double sum = 0;
      for (int j = 0; j < kScatter; ++j) sum += bell(j, kScatter);
      for (int j = 0; j < kScatter; ++j) {
        const double w = rate_.within * 4.5 * (2.0 * j / (kScatter - 1) - 1);
        const double cells = turns * std::exp(log_rate_[node] + w) / kStep;
        // What would leave the grid gathers in its lowest cell, far below all edges.
        const auto whole = static_cast<std::size_t>(std::min<double>(cells, kCells));
        const double part = whole == kCells ? 0 : cells - static_cast<double>(whole);
        const double weight = (1 - kNothing) * bell(j, kScatter) / sum;
        for (std::size_t e = 0; e < kCells && e <= whole; ++e) {
          after[0] += weight * before[e] * (e < whole ? 1 : part);
        }
        for (std::size_t e = 0; e + whole + 1 < kCells; ++e) {
          after[e] += weight * ((1 - part) * before[e + whole] + part * before[e + whole + 1]);
        }
      }
      for (std::size_t e = 0; e < kCells; ++e) after[e] += kNothing * before[e];
      mass_[node] = std::move(after);
    }
  }

  void read(double value, double standard) {
    for (auto& row : mass_) {
      for (int e = 0; e < kCells; ++e) {
        const double z = (value - place(e)) / standard;
        row[static_cast<std::size_t>(e)] *=
            (1 - kSlip) * std::exp(-z * z / 2) / standard / std::sqrt(2 * M_PI) + kSlip * kSlipDensity;
      }
    }
    normalise();
  }

  [[nodiscard]] double below(double edge) const {
    double sum = 0;
    for (const auto& row : mass_) {
      for (int e = 0; e < kCells; ++e) {
        const double covered = std::clamp((edge - place(e)) / kStep + 0.5, 0.0, 1.0);
        sum += covered * row[static_cast<std::size_t>(e)];
      }
    }
    return sum;
  }
  [[nodiscard]] double mean() const {
    double sum = 0;
    for (const auto& row : mass_) {
      for (int e = 0; e < kCells; ++e) sum += place(e) * row[static_cast<std::size_t>(e)];
    }
    return sum;
  }
  /// Mean and standard deviation of the log take-off.
  [[nodiscard]] std::pair<double, double> log_rate() const {
    double first = 0;
    double second = 0;
    for (std::size_t k = 0; k < mass_.size(); ++k) {
      double weight = 0;
      for (const double m : mass_[k]) weight += m;
      first += weight * log_rate_[k];
      second += weight * log_rate_[k] * log_rate_[k];
    }
    return {first, std::sqrt(second - first * first)};
  }

 private:
  static constexpr int kNodes = 121;
  static constexpr int kCells = 1600;
  static constexpr double kStep = 0.00025;
  static double place(int e) { return -0.1 + kStep * e; }
  static double bell(int j, int of) {
    const double z = 4.5 * (2.0 * j / (of - 1) - 1);
    return std::exp(-z * z / 2);
  }
  void normalise() {
    double sum = 0;
    for (const auto& row : mass_) {
      for (const double m : row) sum += m;
    }
    for (auto& row : mass_) {
      for (double& m : row) m /= sum;
    }
  }

  TakeOff rate_;
  std::vector<double> log_rate_;
  std::vector<double> share_;
  std::vector<std::vector<double>> mass_;
};

TEST(PlayFilter, AgreesWithADenseGridToItsPublishedErrors) {
  std::mt19937_64 engine(3);
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> uniform;
  double worst_share = 0;
  double worst_risk = 0;
  double worst_ratio = 0;
  double worst_mean = 0;
  double worst_rate = 0;
  for (int key = 0; key < 30; ++key) {
    const TakeOff rate{std::log(0.02), 0.2 + 0.4 * uniform(engine), 0.1 + 0.1 * uniform(engine)};
    const double standard = 0.002 + 0.008 * uniform(engine);
    double play = 0.06 + 0.16 * uniform(engine);
    const double true_rate = 0.02 * std::exp(rate.between * normal(engine));
    const double start = play + 0.01 * normal(engine);
    PlayFilter filter(mm(start), mm(0.01), {rate});
    Grid grid(start, 0.01, rate);
    const auto compare = [&] {
      for (const double edge : {0.01, 0.03}) {
        worst_share = std::max(worst_share, std::abs(filter.below(mm(edge)) - grid.below(edge)));
      }
      worst_mean = std::max(worst_mean, std::abs(filter.mean().raw() - grid.mean()));
      const auto [log_mean, log_spread] = grid.log_rate();
      worst_rate = std::max({worst_rate, std::abs(filter.rate(0).log_median - log_mean),
                             std::abs(filter.rate(0).between - log_spread)});
    };
    for (int bite = 0; bite < 3; ++bite) {
      const int readings = 1 + static_cast<int>(3 * uniform(engine));
      for (int k = 0; k < readings; ++k) {
        const double slip = uniform(engine) < 0.05 ? 0.1 * (uniform(engine) - 0.5) : 0;
        const double value = play + slip + standard * normal(engine);
        filter.read(mm(value), mm(standard), kSlip);
        grid.read(value, standard);
        compare();
      }
      const double turns = std::max(0.1, 0.6 * (filter.mean().raw() - 0.02) / 0.02);
      Grid cut = grid;
      cut.bitten(turns);
      worst_risk = std::max(worst_risk, std::abs(filter.risk(turns, mm(0.01)) - cut.below(0.01)));
      // And of the small risks that bites are sized by.
      double few = turns;
      for (int k = 0; k < 60 && filter.risk(few, mm(0.01)) > 0.001; ++k) few *= 0.9;
      Grid small = grid;
      small.bitten(few);
      if (const double risk = filter.risk(few, mm(0.01)); risk > 0.0001 && risk < 0.001) {
        worst_ratio = std::max(worst_ratio, std::abs(std::log(risk / small.below(0.01))));
      }
      if (uniform(engine) > 0.1) play -= turns * true_rate * std::exp(rate.within * normal(engine));
      filter.bitten(0, turns);
      grid = std::move(cut);
      if (play < -0.05) break;  // off the grid
    }
  }
  std::printf("filter against grid: share %.5f, risk %.5f, small risks x %.3f, mean %.6f mm, log rate %.5f\n",
              worst_share, worst_risk, std::exp(worst_ratio), worst_mean, worst_rate);
  EXPECT_LE(worst_share, kFilterWorstShare);
  EXPECT_LE(worst_risk, kFilterWorstShare);
  EXPECT_LE(std::exp(worst_ratio), kFilterWorstRatio);
  EXPECT_LE(worst_mean, kFilterWorstMean.raw());
  EXPECT_LE(worst_rate, kFilterWorstLogRate);
  // Published errors are not to be idle ones.
  EXPECT_GE(worst_share, kFilterWorstShare / 3);
  EXPECT_GE(worst_mean, kFilterWorstMean.raw() / 3);
}

TEST(PlayFilter, AReadingMillionsOfStandardsOffLeavesItAsItWas) {
  PlayFilter filter(mm(0.1), mm(0.004), {kBook});
  for (const double absurd : {1e3, -1e3}) {
    filter.read(mm(absurd), mm(1e-4), kSlip);
    EXPECT_NEAR(filter.mean().raw(), 0.1, 1e-12);
    EXPECT_NEAR(filter.slipped(), 1, 1e-12);
  }
}

TEST(PlayFilter, TwoCuttersKeepTheirRatesApart) {
  PlayFilter filter(mm(0.2), mm(0.002), {kBook, {std::log(0.03), 0.3, 0.15}});
  filter.bitten(0, 2);
  filter.read(mm(0.12), mm(0.002), kSlip);
  const TakeOff first = filter.rate(0);
  EXPECT_GT(first.log_median, std::log(0.03));
  EXPECT_NEAR(filter.rate(1).log_median, std::log(0.03), 1e-9);
  filter.bitten(1, 1);
  filter.read(mm(0.10), mm(0.002), kSlip);
  EXPECT_LT(filter.rate(1).log_median, std::log(0.03));
  EXPECT_NEAR(filter.rate(0).log_median, first.log_median, 1e-6);
  EXPECT_NEAR(filter.rate(0).between, first.between, 1e-6);
}

// ---- what is said in which case ------------------------------------------------------------------

TEST(Cutting, RefusesAtTheDoorWhatCannotBe) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double inf = std::numeric_limits<double>::infinity();
  CuttingJob job = one_end();
  std::swap(job.low, job.high);
  EXPECT_FALSE(Cutting::of(job));
  job = one_end();
  job.upper.share = mm(0);
  EXPECT_FALSE(Cutting::of(job));
  job = one_end();
  job.upper.room = mm(nan);
  EXPECT_FALSE(Cutting::of(job));
  job = one_end();
  job.upper.cutter = 1;
  EXPECT_FALSE(Cutting::of(job));
  job = one_end();
  job.cutters[0].log_median = inf;
  EXPECT_FALSE(Cutting::of(job));
  job.cutters.clear();
  EXPECT_FALSE(Cutting::of(job));

  Cutting cutting = started(one_end());
  for (const double bad : {nan, inf, -inf, 1e4}) {
    EXPECT_FALSE(cutting.read(mm(bad), mm(0.004))) << bad;
    EXPECT_FALSE(cutting.read(mm(0.1), mm(bad))) << bad;
    EXPECT_FALSE(cutting.bitten(Side::upper, bad)) << bad;
    EXPECT_FALSE(cutting.reamed(Side::upper, mm(bad))) << bad;
  }
  EXPECT_FALSE(cutting.read(mm(0.1), mm(0)));
  EXPECT_FALSE(cutting.bitten(Side::upper, 0));
  EXPECT_FALSE(cutting.bitten(Side::lower, 1));  // not in the plan
  EXPECT_EQ(cutting.next().kind, Kind::read_again);
  EXPECT_TRUE(cutting.bites().empty());
}

TEST(Cutting, ReadsBeforeItCutsAndAfterEveryBite) {
  Cutting cutting = started(one_end());
  EXPECT_EQ(cutting.next().kind, Kind::read_again);
  const Instruction bite = read_out(cutting, 0.2);
  ASSERT_EQ(bite.kind, Kind::bite);
  EXPECT_EQ(bite.side, Side::upper);
  EXPECT_GE(bite.turns, 1);
  EXPECT_EQ(bite.turns * 8, std::floor(bite.turns * 8));  // in eighths
  EXPECT_LE(bite.risk, 0.001);
  EXPECT_EQ(bite.stop.size(), 3U);
  ASSERT_TRUE(cutting.bitten(bite.side, bite.turns));
  const Instruction after = cutting.next();
  EXPECT_EQ(after.kind, Kind::read_again);
  EXPECT_NE(text(after.why).find("chips"), std::string::npos);
}

TEST(Cutting, AKeyInItsWindowIsProvenByReadingsAlone) {
  Cutting cutting = started(one_end());
  const Instruction i = read_out(cutting, 0.021);
  EXPECT_EQ(i.kind, Kind::finished);
  EXPECT_GE(i.in_window, kProof);
  EXPECT_TRUE(cutting.bites().empty());
}

// Metal does not grow back: the first bite waits until the fit is shown to need it.
TEST(Cutting, NoMetalGoesForAReadingThatChanceMayHavePutAboveTheWindow) {
  CuttingJob job = one_end();
  job.end_play = mm(0.034);
  job.standard = mm(0.004);
  Cutting near_edge = started(job);
  ASSERT_TRUE(near_edge.read(mm(0.033), mm(0.004)));
  EXPECT_EQ(near_edge.next().kind, Kind::read_again);
  EXPECT_NE(text(near_edge.next().why).find("not surely above 0.030 mm"), std::string::npos);
  Cutting wide = near_edge;
  // What it reads from now on decides.
  const Instruction in = read_out(near_edge, 0.026);
  EXPECT_EQ(in.kind, Kind::finished) << text(in.why);
  EXPECT_TRUE(near_edge.bites().empty());
  const Instruction above = read_out(wide, 0.040);
  EXPECT_EQ(above.kind, Kind::bite) << text(above.why);
  // Right at the edge it never can be shown: then the likelier half, after as many readings as a bite is
  // worth.
  Cutting at_edge = started(job);
  int readings = 0;
  for (; at_edge.next().kind == Kind::read_again; ++readings)
    ASSERT_TRUE(at_edge.read(mm(0.0288), mm(0.004)));
  EXPECT_EQ(at_edge.next().kind, Kind::finished) << text(at_edge.next().why);
  EXPECT_LE(readings, 10);
}

TEST(Cutting, OneAbsurdReadingIsDroppedTwoThatAgreeAreBelieved) {
  Cutting cutting = started(one_end());
  read_out(cutting, 0.2);
  const double before = cutting.end_play().raw();
  ASSERT_TRUE(cutting.read(mm(0.09), mm(0.004)));
  EXPECT_EQ(cutting.next().kind, Kind::read_again);
  EXPECT_NE(text(cutting.next().why).find("0.090"), std::string::npos);
  EXPECT_EQ(cutting.end_play().raw(), before);
  Cutting other = cutting;
  ASSERT_TRUE(cutting.read(mm(0.2), mm(0.004)));
  EXPECT_NEAR(cutting.end_play().raw(), 0.2, 0.001);
  ASSERT_TRUE(other.read(mm(0.094), mm(0.004)));
  EXPECT_NEAR(other.end_play().raw(), 0.092, 0.003);
}

TEST(Cutting, ReadingsThatNeverAgreeEndIt) {
  Cutting cutting = started(one_end());
  read_out(cutting, 0.2);
  for (const double v : {0.5, 0.9, -0.3, 1.4, -0.9, 2.0}) ASSERT_TRUE(cutting.read(mm(v), mm(0.004)));
  EXPECT_EQ(cutting.next().kind, Kind::stuck);
  EXPECT_NE(text(cutting.next().why).find("do not agree"), std::string::npos);
}

TEST(Cutting, ABiteThatTakesNothingSendsToTheCutter) {
  Cutting cutting = started(one_end());
  int checks = 0;
  Instruction i = read_out(cutting, 0.2);
  while (i.kind == Kind::bite || i.kind == Kind::check_cutter) {
    if (i.kind == Kind::check_cutter) {
      ++checks;
      EXPECT_GT(cutting.bites().back().nothing, 0.5);
      cutting.cutter_seen_to();
    } else {
      ASSERT_TRUE(cutting.bitten(i.side, i.turns));
    }
    i = read_out(cutting, 0.2);
  }
  EXPECT_EQ(i.kind, Kind::stuck);
  EXPECT_GE(checks, 1);
  EXPECT_LE(checks, 3);
}

TEST(Cutting, SeenToTheCutterItsRateIsOpenAgain) {
  Cutting cutting = started(one_end());
  for (int k = 0; k < 3; ++k) {
    const Instruction i = read_out(cutting, 0.2 - 0.03 * k);
    ASSERT_EQ(i.kind, Kind::bite);
    ASSERT_TRUE(cutting.bitten(i.side, i.turns));
    ASSERT_TRUE(cutting.read(mm(0.2 - 0.03 * (k + 1)), mm(0.004)));
  }
  const TakeOff before = cutting.take_off(0);
  cutting.cutter_seen_to();
  EXPECT_GT(cutting.take_off(0).between, before.between);
}

TEST(Cutting, TooTightIsConfirmedAndReamedByTheLeast) {
  Cutting cutting = started(one_end());
  ASSERT_TRUE(cutting.read(mm(-0.02), mm(0.002)));
  EXPECT_EQ(cutting.next().kind, Kind::read_again);
  const Instruction i = read_out(cutting, -0.02, 0.002);
  ASSERT_EQ(i.kind, Kind::recover);
  // To the window's lower edge and the guard.
  EXPECT_NEAR(i.amount.raw(), 0.033, 0.002);
  ASSERT_TRUE(cutting.reamed(i.side, i.amount));
  EXPECT_EQ(cutting.next().kind, Kind::read_again);
  EXPECT_EQ(read_out(cutting, 0.016, 0.002).kind, Kind::finished);
}

TEST(Cutting, TooTightWithoutMetalToReamIsSaid) {
  CuttingJob job = one_end();
  job.upper.ream_room = mm(0.01);
  Cutting cutting = started(job);
  const Instruction i = read_out(cutting, -0.02, 0.002);
  EXPECT_EQ(i.kind, Kind::stuck);
  EXPECT_NE(text(i.why).find("ream"), std::string::npos);
}

TEST(Cutting, TheLimitsOfAnEndAreNotPassed) {
  CuttingJob job = one_end();
  job.upper.room = mm(0.06);
  Cutting cutting = started(job);
  double play = 0.2;
  double cut = 0;
  Instruction i = read_out(cutting, play, 0.002);
  while (i.kind == Kind::bite) {
    // A cutter that takes twice what the book says.
    const double taken = i.turns * 0.04;
    play -= taken;
    cut += taken;
    ASSERT_TRUE(cutting.bitten(i.side, i.turns));
    i = read_out(cutting, play, 0.002);
  }
  EXPECT_EQ(i.kind, Kind::stuck);
  EXPECT_NE(text(i.why).find("limits"), std::string::npos);
  EXPECT_LE(cut, 0.06);
  EXPECT_GE(cut, 0.02);
}

TEST(Cutting, TheEndsTakeTurnsSoThatThePadStaysCentred) {
  CuttingJob job = one_end();
  job.upper.share = mm(0.06);
  job.lower = {mm(0.12), mm(1.0), mm(0.3), 0};
  Cutting cutting = started(job);
  double play = 0.2;
  std::array<double, 2> cut{};
  Instruction i = read_out(cutting, play, 0.002);
  EXPECT_EQ(i.side, Side::lower);  // it has the larger share
  while (i.kind == Kind::bite) {
    const double taken = i.turns * 0.02;
    play -= taken;
    cut[i.side == Side::upper ? 0 : 1] += taken;
    ASSERT_TRUE(cutting.bitten(i.side, i.turns));
    i = read_out(cutting, play, 0.002);
  }
  EXPECT_EQ(i.kind, Kind::finished);
  EXPECT_NEAR(cut[1], 2 * (cut[0] + cut[1]) / 3, job.centring_allowed.raw() + 0.01);
}

TEST(Cutting, WhatItLearnedIsKeptForTheRecord) {
  Cutting cutting = started(one_end());
  double play = 0.25;
  Instruction i = read_out(cutting, play, 0.002);
  while (i.kind == Kind::bite) {
    play -= i.turns * 0.03;
    ASSERT_TRUE(cutting.bitten(i.side, i.turns));
    i = read_out(cutting, play, 0.002);
  }
  EXPECT_EQ(i.kind, Kind::finished);
  const auto bites = cutting.bites();
  ASSERT_GE(bites.size(), 2U);
  for (const BiteTaken& b : bites) {
    ASSERT_TRUE(b.taken);
    EXPECT_NEAR(b.taken->raw(), b.turns * 0.03, 1e-9);
    EXPECT_LE(b.standard, mm(0.003));
    EXPECT_LT(b.nothing, 0.2);
  }
  const TakeOff learned = cutting.take_off(0);
  EXPECT_NEAR(learned.median().raw(), 0.03, 0.003);
  EXPECT_LT(learned.between, 0.45 / 3);
}

TEST(Cutting, ReadingsThatScatterMoreThanTheySayAreTrustedLess) {
  Cutting cutting = started(one_end());
  for (const double v : {0.100, 0.108, 0.094, 0.107, 0.093, 0.101})
    ASSERT_TRUE(cutting.read(mm(v), mm(0.002)));
  EXPECT_GT(cutting.scatter(), 1.5);
  Cutting quiet = started(one_end());
  for (int k = 0; k < 6; ++k) ASSERT_TRUE(quiet.read(mm(0.1), mm(0.002)));
  EXPECT_EQ(quiet.scatter(), 1);
}

// ---- a bench of its own ----------------------------------------------------------------------------

struct Bench {
  const char* name;
  int keys;
  double noise = 0.004;    ///< mm, true
  double stated = 0.004;   ///< as told
  double rate = 1;         ///< times the book's
  double slips = 0;        ///< share of readings off by 0.05 to 0.1 mm
  double nothings = 0;     ///< share of bites that take nothing
  bool both_ends = false;  ///< with a cutter each
};

struct Tally {
  double bites = 0;  ///< per key
  double readings = 0;
  double overshot = 0;  ///< share of keys that were below the window at any time
  double in_window = 0;
  double finished = 0;
  double metal = 0;  ///< over the clairvoyant least, which stops at the upper edge
  double half_bites = 0;
  double half_overshot = 0;
  double half_in_window = 0;
};

Tally run(const Bench& b, std::uint64_t seed) {
  std::mt19937_64 engine(seed);
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> uniform;
  Tally t;
  double least = 0;
  const auto read = [&](double play) {
    double value = play + b.noise * normal(engine);
    if (uniform(engine) < b.slips)
      value += (uniform(engine) < 0.5 ? -1 : 1) * (0.05 + 0.05 * uniform(engine));
    return value;
  };
  const auto take = [&](double turns, double rate) {
    const double taken = turns * rate * std::exp(0.15 * normal(engine));
    return uniform(engine) < b.nothings ? 0.0 : taken;
  };
  for (int key = 0; key < b.keys; ++key) {
    const double start = 0.05 + 0.25 * uniform(engine);
    std::array<double, 2> rates{};
    for (double& r : rates) r = 0.02 * b.rate * std::exp(0.45 * normal(engine));
    least += start - 0.030;

    double play = start;
    bool below = false;
    while (read(play) >= 0.030) {
      play -= take(0.5, rates[0]);
      below = below || play < 0.010;
      ++t.half_bites;
    }
    t.half_overshot += below ? 1 : 0;
    t.half_in_window += play >= 0.010 && play <= 0.030 ? 1 : 0;

    CuttingJob job = one_end();
    if (b.both_ends) {
      job.lower = job.upper;
      job.lower.cutter = 1;
      job.cutters.push_back(kBook);
    }
    auto cutting = Cutting::of(job);
    play = start;
    below = false;
    for (int step = 0;; ++step) {
      if (step > 2 * kMostEvents) {
        ADD_FAILURE() << b.name << ": key " << key << " does not end";
        break;
      }
      const Instruction i = cutting->next();
      if (i.kind == Kind::finished || i.kind == Kind::stuck) {
        t.finished += i.kind == Kind::finished ? 1 : 0;
        break;
      }
      if (i.kind == Kind::bite) {
        const double taken = take(i.turns, rates[i.side == Side::upper ? 0 : 1]);
        play -= taken;
        t.metal += taken;
        below = below || play < 0.010;
        ++t.bites;
        EXPECT_TRUE(cutting->bitten(i.side, i.turns));
      } else if (i.kind == Kind::check_cutter) {
        cutting->cutter_seen_to();
      } else if (i.kind == Kind::recover) {
        play += i.amount.raw() * std::exp(0.15 * normal(engine));
        EXPECT_TRUE(cutting->reamed(i.side, i.amount));
      } else {
        ++t.readings;
        EXPECT_TRUE(cutting->read(mm(read(play)), mm(b.stated)));
      }
    }
    t.overshot += below ? 1 : 0;
    t.in_window += play >= 0.010 && play <= 0.030 ? 1 : 0;
  }
  t.metal /= least;
  for (double* v : {&t.bites, &t.readings, &t.overshot, &t.in_window, &t.finished, &t.half_bites,
                    &t.half_overshot, &t.half_in_window}) {
    *v /= b.keys;
  }
  std::printf(
      "%-34s %5d keys: %.2f bites, %.1f readings, overshot %.2f %%, in window %.2f %%, shown %.2f %%, metal "
      "%.3f; "
      "half turns: %.1f, %.1f %%, %.1f %%\n",
      b.name, b.keys, t.bites, t.readings, 100 * t.overshot, 100 * t.in_window, 100 * t.finished, t.metal,
      t.half_bites, 100 * t.half_overshot, 100 * t.half_in_window);
  return t;
}

/// Physics, section 11. Seeds are fixed, and no number below was chosen with them.
TEST(CuttingBench, TenThousandKeysOnTheBenchItWasToldOf) {
  Bench b{"as told", 10'000};
  const Tally t = run(b, 2024);
  EXPECT_LE(t.bites, 5);
  EXPECT_LE(t.overshot, 0.002);
  EXPECT_GE(t.in_window, 0.995);
  EXPECT_LE(t.metal, 1.10);
  EXPECT_GE(t.half_bites, 3 * t.bites);
}

TEST(CuttingBench, WithReadingsHalfAsGood) {
  Bench b{"readings of 0.008 mm, as told", 2'000};
  b.noise = b.stated = 0.008;
  const Tally t = run(b, 2025);
  EXPECT_LE(t.bites, 5.5);
  EXPECT_LE(t.overshot, 0.004);
  EXPECT_GE(t.in_window, 0.995);
  EXPECT_LE(t.metal, 1.10);
}

TEST(CuttingBench, WithSlipsAndBitesThatTakeNothing) {
  Bench b{"2 % slips, 3 % bites of nothing", 2'000};
  b.slips = 0.02;
  b.nothings = 0.03;
  const Tally t = run(b, 2026);
  EXPECT_LE(t.bites, 5);
  EXPECT_LE(t.overshot, 0.005);
  EXPECT_GE(t.in_window, 0.995);
  b.name = "the same, both ends, a cutter each";
  b.both_ends = true;
  const Tally both = run(b, 2027);
  EXPECT_LE(both.bites, 7);
  EXPECT_LE(both.overshot, 0.005);
  EXPECT_GE(both.in_window, 0.99);
}

/// The bench is not as the presets say, and nobody says so.
TEST(CuttingBench, Shifted) {
  Bench slow{"take-off x 0.6, not told", 2'000};
  slow.rate = 0.6;
  const Tally a = run(slow, 2028);
  EXPECT_LE(a.overshot, 0.002);
  EXPECT_GE(a.in_window, 0.995);
  Bench fast{"take-off x 1.7, not told", 2'000};
  fast.rate = 1.7;
  const Tally c = run(fast, 2029);
  EXPECT_LE(c.overshot, 0.01);
  EXPECT_GE(c.in_window, 0.995);
  Bench noisy{"readings twice as bad, not told", 2'000};
  noisy.noise = 0.008;
  const Tally d = run(noisy, 2030);
  EXPECT_LE(d.overshot, 0.015);
  EXPECT_GE(d.in_window, 0.97);
}

// ---- whatever is answered --------------------------------------------------------------------------

RC_GTEST_PROP(Cutting, WhateverIsAnsweredItEndsWithoutNonsense, ()) {
  const auto real = [](double low, double high) {
    return low + (high - low) * *rc::gen::inRange(0, 10'001) / 10'000.0;
  };
  CuttingJob job = one_end();
  job.low = mm(real(-0.02, 0.03));
  job.high = job.low + mm(real(0.002, 0.05));
  job.cutters = {{std::log(real(0.001, 0.1)), real(0, 1.5), real(0, 0.6)}};
  job.upper = {mm(real(0, 0.3)), mm(real(0, 0.5)), mm(real(0, 0.2)), 0};
  job.lower = {mm(real(0.001, 0.3)), mm(real(0, 0.5)), mm(real(0, 0.2)), 0};
  if (*rc::gen::arbitrary<bool>()) {
    job.cutters.push_back(kBook);
    job.lower.cutter = 1;
  }
  auto cutting = Cutting::of(job);
  RC_ASSERT(bool(cutting));
  double play = real(-0.1, 0.5);
  const double absurd = real(0, 0.5);
  int step = 0;
  for (;; ++step) {
    RC_ASSERT(step <= kMostEvents + 1);
    const Instruction i = cutting->next();
    RC_ASSERT(i.in_window >= 0 && i.in_window <= 1);
    RC_ASSERT(is_finite(cutting->end_play()) && is_finite(cutting->standard()));
    for (std::size_t c = 0; c < job.cutters.size(); ++c) {
      const TakeOff t = cutting->take_off(c);
      RC_ASSERT(std::isfinite(t.log_median) && std::isfinite(t.between));
    }
    if (i.kind == Kind::finished || i.kind == Kind::stuck) {
      RC_ASSERT(!i.why.empty());
      break;
    }
    if (i.kind == Kind::bite) {
      RC_ASSERT(i.turns > 0 && i.turns <= 20);
      RC_ASSERT(i.risk >= 0 && i.risk <= 0.001);
      RC_ASSERT(job.end(i.side).share > mm(0));
      RC_ASSERT(cutting->cut_at_most(i.side) + i.amount <= job.end(i.side).room);
      play -= real(0, 1) < 0.3 ? 0 : i.amount.raw() * real(0, 3);
      RC_ASSERT(bool(cutting->bitten(i.side, i.turns)));
    } else if (i.kind == Kind::check_cutter) {
      cutting->cutter_seen_to();
    } else if (i.kind == Kind::recover) {
      RC_ASSERT(i.amount > mm(0) && i.amount <= job.end(i.side).ream_room);
      play += i.amount.raw() * real(0, 3);
      RC_ASSERT(bool(cutting->reamed(i.side, i.amount)));
    } else {
      RC_ASSERT(i.kind == Kind::read_again);
      const double value = real(0, 1) < absurd ? real(-1e3, 1e3) : play + real(-0.01, 0.01);
      RC_ASSERT(bool(cutting->read(mm(value), mm(real(0.0005, 0.02)))));
    }
  }
}

}  // namespace
}  // namespace hingeline::plan
