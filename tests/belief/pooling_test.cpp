// Learning from jobs: closed forms worked by hand, properties, and how often what was learned covers what is
// true.

#include "hingeline/belief/pooling.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <numeric>

#include "hingeline/numeric/random.h"
#include "hingeline/numeric/statistics.h"

namespace hingeline::belief {
namespace {

using numeric::Stream;

constexpr Length kPerTurn = millimetres(0.02);
constexpr Length kPlusMinus = millimetres(0.01);
constexpr double kRound = 1e-12;

template <class T>
T must(Expected<T> made) {
  EXPECT_TRUE(made) << made.error().what;
  return std::move(*made);
}

std::uint64_t bits_of(double v) { return std::bit_cast<std::uint64_t>(v); }

// ---- sums of effects -------------------------------------------------------------------------------

TEST(EffectPool, OneEffectIsTheWeightedMean) {
  // Prior 3 with variance 4 (precision 0.25); readings 5 and 8 with variances 1 and 0.5: precision
  // 0.25 + 1 + 2 = 3.25, mean (0.75 + 5 + 16) / 3.25 = 21.75 / 3.25. By hand.
  const auto pool = must(EffectPool::of({{3, 2}}, {{{0}, 5, 1}, {{0}, 8, std::sqrt(0.5)}}));
  const std::size_t one[] = {0};
  EXPECT_NEAR(pool.after(one).mean, 21.75 / 3.25, kRound);
  EXPECT_NEAR(pool.after(one).standard, std::sqrt(1 / 3.25), kRound);
  EXPECT_EQ(pool.before(one).mean, 3);
  EXPECT_EQ(pool.before(one).standard, 2);
}

TEST(EffectPool, SumOfTwoIsSplitByVariance) {
  // x ~ N(0, 3), y ~ N(0, 1), x + y read as 2 with variance 1: total variance 5, so x moves by 3/5 x 2 = 1.2,
  // y by 0.4; var x = 3 - 9/5 = 1.2, var y = 1 - 1/5 = 0.8, var of the sum 4 - 16/5 = 0.8. By hand.
  const auto pool = must(EffectPool::of({{0, std::sqrt(3.0)}, {0, 1}}, {{{0, 1}, 2, 1}}));
  const std::size_t x[] = {0};
  const std::size_t y[] = {1};
  const std::size_t both[] = {1, 0};
  EXPECT_NEAR(pool.after(x).mean, 1.2, kRound);
  EXPECT_NEAR(pool.after(y).mean, 0.4, kRound);
  EXPECT_NEAR(pool.after(x).standard, std::sqrt(1.2), kRound);
  EXPECT_NEAR(pool.after(y).standard, std::sqrt(0.8), kRound);
  EXPECT_NEAR(pool.after(both).mean, 1.6, kRound);
  EXPECT_NEAR(pool.after(both).standard, std::sqrt(0.8), kRound);
}

TEST(EffectPool, WhatIsCertainStaysWhereItIs) {
  const auto pool = must(EffectPool::of({{7, 0}, {0, 1}}, {{{0, 1}, 9, 1}}));
  const std::size_t certain[] = {0};
  const std::size_t other[] = {1};
  EXPECT_EQ(pool.after(certain).mean, 7);
  EXPECT_EQ(pool.after(certain).standard, 0);
  EXPECT_NEAR(pool.after(other).mean, 1, kRound);
}

TEST(EffectPool, RefusesWhatCannotBePooled) {
  EXPECT_FALSE(EffectPool::of({{0, 1}}, {{{0}, 1, 0}}));
  EXPECT_FALSE(EffectPool::of({{0, 1}}, {{{0}, 1, -1}}));
  EXPECT_FALSE(EffectPool::of({{0, 1}}, {{{0}, std::nan(""), 1}}));
  EXPECT_FALSE(EffectPool::of({{0, 1}}, {{{0}, HUGE_VAL, 1}}));
  EXPECT_FALSE(EffectPool::of({{0, 1}}, {{{1}, 1, 1}}));
  EXPECT_TRUE(EffectPool::of(std::vector<Normal>(kMostEffects, {0, 1}), {}));
  EXPECT_FALSE(EffectPool::of(std::vector<Normal>(kMostEffects + 1, {0, 1}), {}));
}

RC_GTEST_PROP(EffectPool, MoreReadingsNeverMakeItLessSure, (std::uint64_t seed)) {
  Stream s(seed, 0);
  const std::size_t n = 2 + s.bits() % 5;
  std::vector<Normal> priors;
  for (std::size_t i = 0; i < n; ++i) priors.push_back({s.normal(), 0.1 + s.uniform()});
  std::vector<EffectReading> readings;
  std::vector<double> before(n);
  for (std::size_t i = 0; i < n; ++i) before[i] = priors[i].standard;
  for (int k = 0; k < 12; ++k) {
    EffectReading r{{}, 3 * s.normal(), 0.05 + s.uniform()};
    for (std::size_t i = 0; i < n; ++i) {
      if (s.uniform() < 0.5) r.effects.push_back(i);
    }
    readings.push_back(r);
    const auto pool = EffectPool::of(priors, readings);
    RC_ASSERT(pool.has_value());
    for (std::size_t i = 0; i < n; ++i) {
      const std::size_t one[] = {i};
      const double now = pool->after(one).standard;
      RC_ASSERT(now <= before[i] * (1 + 1e-12));
      before[i] = now;
    }
  }
}

// ---- take-off --------------------------------------------------------------------------------------

TEST(TakeOffLearning, NothingReadIsThePreset) {
  const TakeOffPriors priors = take_off_priors(kPerTurn, kPlusMinus);
  // A quarter of the preset's share, 0.25, as a lognormal: ln(1 + 0.0625). By hand.
  EXPECT_NEAR(priors.between(), std::sqrt(std::log(1.0625)), kRound);
  const auto pool = must(TakeOffPool::of(priors, {}));
  for (const char* cutter : {"", "4 mm"}) {
    for (const char* person : {"", "A"}) {
      const AgainstPreset rate = pool.rate(cutter, person);
      EXPECT_EQ(rate.factor, 1);
      EXPECT_EQ(rate.between, priors.between());
      EXPECT_EQ(rate.lesson.weight, 0);
      EXPECT_EQ(pool.median(cutter, person), kPerTurn);
    }
  }
}

TEST(TakeOffLearning, OneBiteByHand) {
  // Standards 0.1 for shop, cutter, person and job, 0.2 for the bite: one bite of 2 turns that took e^0.4 of
  // what the preset says, read exactly. Its variance about the sum of the three is 0.01 + 0.04 = 0.05, theirs
  // together 0.03: the sum moves by 0.03 / 0.08 x 0.4 = 0.15, its variance is 0.03 - 0.0009 / 0.08 = 0.01875.
  // A new cutter in the same hand moves by 0.02 / 0.08 x 0.4 = 0.1. By hand.
  const TakeOffPriors priors{kPerTurn, 0.1, 0.1, 0.1, 0.1, 0.2};
  const auto pool =
      must(TakeOffPool::of(priors, {{"4 mm", "A", "j-1", 2, kPerTurn * 2 * std::exp(0.4), Length{}}}));
  const AgainstPreset same = pool.rate("4 mm", "A");
  // The doubt counted for an exact reading is a millionth of a millimetre.
  EXPECT_NEAR(std::log(same.factor), 0.15, 1e-8);
  EXPECT_NEAR(same.lesson.posterior.standard, std::sqrt(0.01875), 1e-8);
  EXPECT_NEAR(same.between, std::sqrt(0.01875 + 0.01), 1e-8);
  EXPECT_NEAR(same.lesson.weight, 1 - 0.01875 / 0.03, 1e-7);
  EXPECT_EQ(same.lesson.readings, 1u);
  EXPECT_EQ(same.lesson.jobs, std::vector<std::string>{"j-1"});
  const AgainstPreset other = pool.rate("3 mm", "A");
  EXPECT_NEAR(std::log(other.factor), 0.1, 1e-8);
  EXPECT_EQ(other.lesson.readings, 0u);
  EXPECT_EQ(other.lesson.others, 1u);
  EXPECT_NEAR(std::log(pool.rate("", "").factor), 0.05, 1e-8);
}

TEST(TakeOffLearning, BitesOfOneJobShareWhatThatJobHas) {
  // However many bites one job has, it stays one job: the rate is known no better than the job's own spread
  // lets.
  const TakeOffPriors priors{kPerTurn, 0.2, 0.1, 0.1, 0.1, 0.15};
  std::vector<BiteRecord> bites(10000, {"4 mm", "A", "j-1", 1, kPerTurn * 2, millimetres(1e-6)});
  const AgainstPreset rate = must(TakeOffPool::of(priors, bites)).rate("4 mm", "A");
  const double prior = 0.04 + 0.01 + 0.01;
  EXPECT_NEAR(rate.lesson.posterior.standard, std::sqrt(prior * 0.01 / (prior + 0.01)), 1e-4);
}

std::vector<BiteRecord> many_jobs(double factor, int jobs) {
  std::vector<BiteRecord> bites;
  for (int j = 0; j < jobs; ++j) {
    bites.push_back({"4 mm", "A", "j-" + std::to_string(j), 1.0 + j % 3, kPerTurn * factor * (1.0 + j % 3),
                     millimetres(0.0005)});
  }
  return bites;
}

TEST(TakeOffLearning, ManyJobsGoToTheData) {
  for (const double factor : {0.6, 1.7}) {
    double last = std::abs(std::log(factor));
    for (const int jobs : {1, 3, 10, 40, 200, 5000}) {
      const auto pool = must(TakeOffPool::of(take_off_priors(kPerTurn, kPlusMinus), many_jobs(factor, jobs)));
      const double off = std::abs(std::log(pool.rate("4 mm", "A").factor / factor));
      EXPECT_LT(off, last) << jobs;
      last = off;
    }
    EXPECT_LT(last, 0.001);
  }
}

TEST(TakeOffLearning, NothingTakenIsSlowNotImpossible) {
  std::vector<BiteRecord> bites{{"4 mm", "A", "j-1", 2, millimetres(0), millimetres(0.003)},
                                {"4 mm", "A", "j-2", 2, millimetres(-0.002), millimetres(0.003)}};
  const AgainstPreset rate =
      must(TakeOffPool::of(take_off_priors(kPerTurn, kPlusMinus), bites)).rate("4 mm", "A");
  EXPECT_GT(rate.factor, 0.5);
  EXPECT_LT(rate.factor, 1);
}

RC_GTEST_PROP(TakeOffLearning, OrderOfRecordsDoesNotMatter, (std::uint64_t seed)) {
  Stream s(seed, 1);
  std::vector<BiteRecord> bites;
  const char* const names[] = {"a", "b", "c", ""};
  for (int k = 0; k < 30; ++k) {
    bites.push_back({names[s.bits() % 3], names[s.bits() % 4], "j-" + std::to_string(s.bits() % 12),
                     0.25 + 3 * s.uniform(), millimetres(0.05 * s.uniform() - 0.005),
                     millimetres(0.004 * s.uniform())});
  }
  const TakeOffPriors priors = take_off_priors(kPerTurn, kPlusMinus);
  const auto first = TakeOffPool::of(priors, bites);
  for (std::size_t i = bites.size(); i > 1; --i) std::swap(bites[i - 1], bites[s.bits() % i]);
  const auto second = TakeOffPool::of(priors, bites);
  RC_ASSERT(first.has_value() && second.has_value());
  for (const char* cutter : {"", "a", "b", "c", "d"}) {
    for (const char* person : {"", "a", "b", "c", "d"}) {
      const AgainstPreset x = first->rate(cutter, person);
      const AgainstPreset y = second->rate(cutter, person);
      RC_ASSERT(bits_of(x.factor) == bits_of(y.factor) && bits_of(x.between) == bits_of(y.between));
      RC_ASSERT(x.lesson.jobs == y.lesson.jobs && bits_of(x.lesson.mean) == bits_of(y.lesson.mean));
      RC_ASSERT(x.factor > 0 && std::isfinite(x.factor));
    }
  }
}

/// Truth and records drawn from the presets: the 95 % interval for a job to come must hold it 95 times in
/// 100.
TEST(TakeOffLearning, CoversWhatIsDrawnFromThePresets) {
  constexpr int kDraws = 10000;
  const TakeOffPriors priors = take_off_priors(kPerTurn, kPlusMinus);
  int seen_before = 0;
  int never_seen = 0;
  for (int draw = 0; draw < kDraws; ++draw) {
    Stream s(2026, static_cast<std::uint64_t>(draw));
    const double shop = priors.shop * s.normal();
    const double cutters[] = {priors.cutter * s.normal(), priors.cutter * s.normal(),
                              priors.cutter * s.normal()};
    const double people[] = {priors.person * s.normal(), priors.person * s.normal()};
    const char* const names[] = {"a", "b", "c"};
    std::vector<BiteRecord> bites;
    const auto jobs = s.bits() % 8;
    for (std::size_t j = 0; j < jobs; ++j) {
      const std::size_t c = s.bits() % 2;
      const std::size_t p = s.bits() % 2;
      const double job = shop + cutters[c] + people[p] + priors.job * s.normal();
      const auto count = 1 + s.bits() % 3;
      for (std::size_t b = 0; b < count; ++b) {
        const double turns = 0.5 + 2 * s.uniform();
        bites.push_back({names[c], names[p], "j-" + std::to_string(j), turns,
                         kPerTurn * turns * std::exp(job + priors.bite * s.normal()), millimetres(1e-6)});
      }
    }
    const auto pool = must(TakeOffPool::of(priors, bites));
    const auto covers = [&](const char* cutter, const char* person, double truth) {
      const AgainstPreset rate = pool.rate(cutter, person);
      return std::abs(truth + priors.job * s.normal() - std::log(rate.factor)) <= 1.959964 * rate.between;
    };
    seen_before += covers("a", "b", shop + cutters[0] + people[1]);
    never_seen += covers("c", "a", shop + cutters[2] + people[0]);
  }
  RecordProperty("seen_before", seen_before);
  RecordProperty("never_seen", never_seen);
  EXPECT_GE(seen_before, kDraws * 94 / 100);
  EXPECT_LE(seen_before, kDraws * 96 / 100);
  EXPECT_GE(never_seen, kDraws * 94 / 100);
  EXPECT_LE(never_seen, kDraws * 96 / 100);
}

// ---- minutes ---------------------------------------------------------------------------------------

TEST(MinutesLearning, NothingReadIsThePreset) {
  const MinutesPriors priors;
  const auto pool = must(MinutesPool::of(priors, {}));
  EXPECT_EQ(pool.pace("seat-cut", "A").factor, 1);
  EXPECT_EQ(pool.pace("seat-cut", "A").lesson.weight, 0);
  EXPECT_NEAR(pool.pace("seat-cut", "").between, std::sqrt(0.35 * 0.35 + 0.25 * 0.25 + 0.35 * 0.35), kRound);
}

TEST(MinutesLearning, TwoJobsByHand) {
  // Standards 0.3 (work), 0.4 (person), 0.5 (job): two jobs of one person that took e^0.4 and e^0.8 times the
  // preset. Variance of their mean 0.125, of work and person together 0.25: the sum moves by 0.25 / 0.375 x
  // 0.6 = 0.4; other work of that person by 0.16 / 0.375 x 0.6 = 0.256; the same work in another's hand by
  // 0.09 / 0.375 x 0.6 = 0.144. By hand.
  const MinutesPriors priors{0.3, 1.0, 0.4, 0.5};
  const auto pool = must(MinutesPool::of(priors, {{"seat-cut", "A", "j-1", 5 * std::exp(0.4), 5, true},
                                                  {"seat-cut", "A", "j-2", 7 * std::exp(0.8), 7, true}}));
  EXPECT_NEAR(std::log(pool.pace("seat-cut", "A").factor), 0.4, kRound);
  EXPECT_NEAR(pool.pace("seat-cut", "A").lesson.posterior.standard, std::sqrt(0.25 - 0.0625 / 0.375), kRound);
  EXPECT_NEAR(pool.pace("seat-cut", "A").lesson.mean, 0.6, kRound);
  EXPECT_NEAR(std::log(pool.pace("ream", "A").factor), 0.256, kRound);
  EXPECT_NEAR(std::log(pool.pace("seat-cut", "B").factor), 0.144, kRound);
  EXPECT_EQ(pool.pace("ream", "B").factor, 1);
}

TEST(MinutesLearning, CoversWhatIsDrawnFromThePresets) {
  constexpr int kDraws = 10000;
  const MinutesPriors priors;
  int covered = 0;
  for (int draw = 0; draw < kDraws; ++draw) {
    Stream s(31, static_cast<std::uint64_t>(draw));
    const double kinds[] = {priors.work * s.normal(), priors.work * s.normal()};
    const double people[] = {priors.person * s.normal(), priors.person * s.normal()};
    const char* const names[] = {"a", "b"};
    std::vector<WorkRecord> work;
    const auto jobs = s.bits() % 12;
    for (std::size_t j = 0; j < jobs; ++j) {
      const std::size_t k = s.bits() % 2;
      const std::size_t p = s.bits() % 2;
      work.push_back({names[k], names[p], "j-" + std::to_string(j),
                      5 * std::exp(kinds[k] + people[p] + priors.job * s.normal()), 5, true});
    }
    const AgainstPreset pace = must(MinutesPool::of(priors, work)).pace("a", "b");
    const double next = kinds[0] + people[1] + priors.job * s.normal();
    covered += std::abs(next - std::log(pace.factor)) <= 1.959964 * pace.between;
  }
  RecordProperty("covered", covered);
  EXPECT_GE(covered, kDraws * 94 / 100);
  EXPECT_LE(covered, kDraws * 96 / 100);
}

TEST(MinutesLearning, RefusesNoTime) {
  EXPECT_FALSE(MinutesPool::of({}, {{"ream", "A", "j", 0, 5, true}}));
  EXPECT_FALSE(MinutesPool::of({}, {{"ream", "A", "j", 5, 0, true}}));
  EXPECT_FALSE(MinutesPool::of({}, {{"ream", "A", "j", std::nan(""), 5, true}}));
}

// ---- measures of a family --------------------------------------------------------------------------

TEST(FieldLearning, NothingReadIsTheFamilysFigure) {
  const FieldLearned learned = must(learn_field({20, 0.25}, {}));
  EXPECT_EQ(learned.value, 20);
  EXPECT_EQ(learned.standard, 0.25);
  EXPECT_EQ(learned.screws, 0u);
  // A reading that says nothing leaves it there.
  const FieldLearned dim = must(learn_field({20, 0.25}, {{"s", "j", 25, 1e6}}));
  EXPECT_NEAR(dim.value, 20, 1e-9);
  EXPECT_NEAR(dim.standard, 0.25, 1e-9);
}

TEST(FieldLearning, ManyScrewsGoToTheirMeanAndSpread) {
  // Screws at 20.4 +- 0.1 in even halves: mean 20.4, standard deviation 0.1.
  std::vector<ScrewReading> readings;
  for (int k = 0; k < 4000; ++k)
    readings.push_back({"s-" + std::to_string(k), "j", 20.4 + (k % 2 == 0 ? 0.1 : -0.1), 1e-3});
  const FieldLearned learned = must(learn_field({20, 0.25}, readings));
  EXPECT_NEAR(learned.value, 20.4, 1e-3);
  EXPECT_NEAR(learned.between, 0.1, 2e-3);
  EXPECT_NEAR(learned.standard, 0.1, 2e-3);
  EXPECT_EQ(learned.screws, 4000u);
  EXPECT_GT(learned.lesson.weight, 0.99);
}

TEST(FieldLearning, RepeatsOfOneScrewAreOneScrew) {
  std::vector<ScrewReading> repeats(50, {"s", "j", 20.5, 0.001});
  const FieldLearned many = must(learn_field({20, 0.25}, repeats));
  const FieldLearned once = must(learn_field({20, 0.25}, {{"s", "j", 20.5, 0.001 / std::sqrt(50.0)}}));
  EXPECT_EQ(many.screws, 1u);
  EXPECT_NEAR(many.value, once.value, 1e-9);
  EXPECT_NEAR(many.standard, once.standard, 1e-9);
  EXPECT_GT(many.value, 20.1);
  EXPECT_LT(many.value, 20.4);
}

RC_GTEST_PROP(FieldLearning, OrderDoesNotMatterAndTheMeanLiesBetween, (std::uint64_t seed)) {
  Stream s(seed, 2);
  std::vector<ScrewReading> readings;
  double low = 20;
  double high = 20;
  const auto count = 1 + s.bits() % 20;
  for (std::size_t k = 0; k < count; ++k) {
    const double v = 20 + 3 * s.normal();
    readings.push_back({"s-" + std::to_string(s.bits() % 9), "j", v, 0.01 + s.uniform()});
    low = std::min(low, v);
    high = std::max(high, v);
  }
  const auto first = learn_field({20, 0.25}, readings);
  for (std::size_t i = readings.size(); i > 1; --i) std::swap(readings[i - 1], readings[s.bits() % i]);
  const auto second = learn_field({20, 0.25}, readings);
  RC_ASSERT(first.has_value() && second.has_value());
  RC_ASSERT(bits_of(first->value) == bits_of(second->value));
  RC_ASSERT(bits_of(first->standard) == bits_of(second->standard));
  RC_ASSERT(first->value >= low - 1e-9 && first->value <= high + 1e-9);
  RC_ASSERT(first->standard > 0 && std::isfinite(first->standard));
}

TEST(FieldLearning, CoversWhatIsDrawnFromTheFigure) {
  constexpr int kDraws = 10000;
  const Normal figure{20, 0.25};
  const double half = figure.standard * figure.standard / 2;
  int covered = 0;
  for (int draw = 0; draw < kDraws; ++draw) {
    Stream s(77, static_cast<std::uint64_t>(draw));
    // As learn_field() supposes.
    const double spread = std::sqrt(half) * std::exp(0.5 * (s.normal() - 0.5));
    const double mean = figure.mean + std::sqrt(half) * s.normal();
    std::vector<ScrewReading> readings;
    const auto screws = s.bits() % 12;
    for (std::size_t k = 0; k < screws; ++k) {
      const double standard = 0.05 + 0.2 * s.uniform();
      readings.push_back(
          {"s-" + std::to_string(k), "j", mean + spread * s.normal() + standard * s.normal(), standard});
    }
    const FieldLearned learned = must(learn_field(figure, readings));
    covered += std::abs(mean + spread * s.normal() - learned.value) <= 1.959964 * learned.standard;
  }
  RecordProperty("covered", covered);
  EXPECT_GE(covered, kDraws * 94 / 100);
  EXPECT_LE(covered, kDraws * 96 / 100);
}

TEST(FieldLearning, RefusesWhatCannotBe) {
  EXPECT_FALSE(learn_field({20, 0}, {}));
  EXPECT_FALSE(learn_field({20, 0.25}, {{"s", "j", 20, 0}}));
  EXPECT_FALSE(learn_field({20, 0.25}, {{"s", "j", std::nan(""), 0.1}}));
}

// ---- shares of causes ------------------------------------------------------------------------------

TEST(CauseShares, NothingFoundIsThePreset) {
  const auto pool = must(SharePool::of({2, 1, 1}, {}));
  EXPECT_EQ(pool.shop().share, (std::vector<double>{0.5, 0.25, 0.25}));
  EXPECT_EQ(pool.family("large").share, (std::vector<double>{0.5, 0.25, 0.25}));
  EXPECT_EQ(pool.shop().weight, 0);
}

TEST(CauseShares, DirichletByHand) {
  // Preset (0.5, 0.25, 0.25) as 20 jobs; 5 jobs: three of cause 0 alone (two of family "a"), one of 1 ("a"),
  // one of 1 and 2 together (no family). Counts 3, 1.5, 0.5: shop (10 + 3, 5 + 1.5, 5 + 0.5) / 25. Family "a"
  // has counts 2, 1, 0; its prior is the others' (10 + 1, 5 + 0.5, 5 + 0.5) / 22 = (0.5, 0.25, 0.25) as 10
  // jobs: (5 + 2, 2.5 + 1, 2.5) / 13. By hand.
  const auto pool = must(SharePool::of(
      {0.5, 0.25, 0.25},
      {{"a", "j-1", {0}}, {"a", "j-2", {0}}, {"b", "j-3", {0}}, {"a", "j-4", {1}}, {"", "j-5", {2, 1}}}));
  const ShareLesson shop = pool.shop();
  const double shop_is[] = {13.0 / 25, 6.5 / 25, 5.5 / 25};
  const double family_is[] = {7.0 / 13, 3.5 / 13, 2.5 / 13};
  const ShareLesson family = pool.family("a");
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_NEAR(shop.share[i], shop_is[i], kRound);
    EXPECT_NEAR(family.share[i], family_is[i], kRound);
  }
  EXPECT_NEAR(shop.weight, 5.0 / 25, kRound);
  EXPECT_NEAR(family.weight, 3.0 / 13, kRound);
  EXPECT_EQ(shop.from, (std::vector<std::string>{"j-1", "j-2", "j-3", "j-4", "j-5"}));
  EXPECT_EQ(family.from, (std::vector<std::string>{"j-1", "j-2", "j-4"}));
  EXPECT_EQ(pool.families(), (std::vector<std::string>{"a", "b"}));
}

RC_GTEST_PROP(CauseShares, AddUpAndDoNotMindTheOrder, (std::uint64_t seed)) {
  Stream s(seed, 3);
  std::vector<CauseRecord> records;
  const auto count = s.bits() % 60;
  for (std::size_t k = 0; k < count; ++k) {
    CauseRecord r{s.bits() % 2 == 0 ? "a" : "b", "j-" + std::to_string(k), {}};
    for (std::size_t c = 0; c < 4; ++c) {
      if (s.uniform() < 0.3) r.causes.push_back(c);
    }
    records.push_back(r);
  }
  const std::vector<double> preset{s.uniform(), s.uniform(), 0, s.uniform()};
  const auto first = SharePool::of(preset, records);
  for (std::size_t i = records.size(); i > 1; --i) std::swap(records[i - 1], records[s.bits() % i]);
  const auto second = SharePool::of(preset, records);
  RC_ASSERT(first.has_value() && second.has_value());
  for (const char* family : {"", "a", "b", "c"}) {
    const ShareLesson x = first->family(family);
    const ShareLesson y = second->family(family);
    RC_ASSERT(x.share == y.share && x.from == y.from);
    RC_ASSERT(std::abs(std::accumulate(x.share.begin(), x.share.end(), 0.0) - 1) < 1e-12);
    for (const double share : x.share) RC_ASSERT(share >= 0);
  }
}

TEST(CauseShares, ManyJobsGoToTheData) {
  std::vector<CauseRecord> records;
  for (int k = 0; k < 20000; ++k) records.push_back({"a", "j-" + std::to_string(k), {k % 10 == 0 ? 1u : 0u}});
  const auto pool = must(SharePool::of({0.1, 0.1, 0.8}, records));
  EXPECT_NEAR(pool.shop().share[0], 0.9, 1e-3);
  EXPECT_NEAR(pool.family("a").share[1], 0.1, 1e-3);
}

TEST(CauseShares, RefusesWhatCannotBe) {
  EXPECT_FALSE(SharePool::of({}, {}));
  EXPECT_FALSE(SharePool::of({0, 0}, {}));
  EXPECT_FALSE(SharePool::of({1, -0.1}, {}));
  EXPECT_FALSE(SharePool::of({1, std::nan("")}, {}));
  EXPECT_FALSE(SharePool::of({1, 1}, {{"", "j", {2}}}));
  EXPECT_FALSE(SharePool::of({1, 1}, {}, 0));
}

}  // namespace
}  // namespace hingeline::belief
