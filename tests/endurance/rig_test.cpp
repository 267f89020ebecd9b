// The rig's counter against brute force second by second, its finish, and what inspections say.

#include "hingeline/endurance/rig.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "hingeline/numeric/random.h"

namespace hingeline::endurance {
namespace {

using numeric::Stream;

Moment at(std::int64_t seconds) { return Moment::at(seconds); }
Rate rate(double r, double pm = 0) { return *rate_per_second(r, pm); }

/// A run with pauses and changes of rate; the last period may be open.
std::vector<Period> random_periods(Stream& s) {
  std::vector<Period> out;
  auto t = static_cast<std::int64_t>(s.bits() % 2'000);
  const std::size_t count = 1 + s.bits() % 6;
  for (std::size_t i = 0; i < count; ++i) {
    const double r = 0.01 + 9 * s.uniform();
    Period p{at(t), std::nullopt, rate(r, 0.2 * r * s.uniform())};
    t += static_cast<std::int64_t>(s.bits() % 900);
    if (i + 1 < count || s.uniform() < 0.5) p.to = at(t);
    if (s.uniform() < 0.5) t += static_cast<std::int64_t>(s.bits() % 900);
    out.push_back(p);
  }
  return out;
}

TEST(Rig, TwoASecondReachFiveMillionIn28Point9Days) {
  // Common practice: 28.9 days.
  const auto run = Run::of({{at(0), std::nullopt, rate(2)}});
  const auto when = run->reaches(5'000'000);
  ASSERT_TRUE(when);
  EXPECT_EQ(when->seconds(), 2'500'000);
  EXPECT_NEAR(static_cast<double>(when->seconds()) / static_cast<double>(kSecondsPerDay), 28.9, 0.05);
  EXPECT_EQ(run->count_at(*when).closings, 5'000'000);
  EXPECT_EQ(run->count_at(when->later(-1)).closings, 4'999'998);
}

TEST(Rig, CountsAsBruteForceDoes) {
  for (std::uint64_t n = 0; n < 600; ++n) {
    Stream s(71, n);
    const auto periods = random_periods(s);
    const auto run = Run::of(periods);
    ASSERT_TRUE(run) << run.error().what;
    // One second after another, no formula.
    std::int64_t millionths = 0;
    std::int64_t ran = 0;
    const auto target = static_cast<std::int64_t>(1 + s.bits() % 20'000);
    std::optional<std::int64_t> reached;
    for (std::int64_t t = 0; t < 9'000; ++t) {
      if (t % 97 == 0) {
        ASSERT_EQ(run->count_at(at(t)).millionths, millionths) << n << " at " << t;
        ASSERT_EQ(run->count_at(at(t)).closings, millionths / kMillionths);
        ASSERT_EQ(run->ran_for(at(t)), ran);
      }
      for (const Period& p : periods) {
        if (p.from.seconds() <= t && (!p.to || t < p.to->seconds())) {
          millionths += p.rate.millionths;
          ++ran;
        }
      }
      if (!reached && millionths >= target * kMillionths) reached = t + 1;
    }
    const auto when = run->reaches(target);
    if (reached) {
      ASSERT_TRUE(when) << n;
      EXPECT_EQ(when->seconds(), *reached) << n;
    } else if (when) {
      EXPECT_GT(when->seconds(), 9'000) << n;
    }
  }
}

RC_GTEST_PROP(Rig, StoppingAndStartingAgainLosesNothing, ()) {
  const auto length = *rc::gen::inRange<std::int64_t>(2, 4'000'000);
  const auto cut = *rc::gen::inRange<std::int64_t>(1, length);
  const Rate r = rate(*rc::gen::inRange(1, 9'999'999) / 1e6);
  const auto whole = Run::of({{at(0), at(length), r}});
  const auto in_two = Run::of({{at(0), at(cut), r}, {at(cut), at(length), r}});
  const auto paused = Run::of({{at(0), at(cut), r}, {at(cut + 777), at(length + 777), r}});
  RC_ASSERT(whole->count_at(at(length)).millionths == in_two->count_at(at(length)).millionths);
  RC_ASSERT(whole->count_at(at(length)).millionths == paused->count_at(at(length + 777)).millionths);
  RC_ASSERT(paused->count_at(at(cut)).millionths == paused->count_at(at(cut + 777)).millionths);
}

RC_GTEST_PROP(Rig, TheFinishIsTheFirstSecondThatWillDo, ()) {
  Stream s(*rc::gen::arbitrary<std::uint64_t>(), 0);
  const auto run = Run::of(random_periods(s));
  const auto target = *rc::gen::inRange<std::int64_t>(1, 5'000'000);
  const auto when = run->reaches(target);
  if (!when) return;
  RC_ASSERT(run->count_at(*when).closings >= target);
  RC_ASSERT(run->count_at(when->later(-1)).closings < target);
  const Finish f = run->finish(target, at(0));
  RC_ASSERT(f.earliest && *f.earliest <= *when);
  RC_ASSERT(!f.latest || *f.latest >= *when);
}

TEST(Rig, SaysHowItWillEnd) {
  const auto run = Run::of({{at(100), at(200), rate(2, 0.02)}, {at(300), std::nullopt, rate(4, 0.04)}});
  const Finish before = run->finish(600, at(250));
  EXPECT_EQ(before.state, Finish::State::running);
  EXPECT_EQ(before.left, 400);
  EXPECT_EQ(before.at->seconds(), 400);
  EXPECT_EQ(run->finish(600, at(400)).state, Finish::State::reached);
  EXPECT_EQ(run->finish(600, at(400)).left, 0);
  // ± 1 % of 600, one tachometer.
  EXPECT_NEAR(run->count_at(at(400)).plus_minus, 6, 1e-9);
  // 200 x 1.01 + 4.04 s = 600 and 200 x 0.99 + 3.96 s = 600, whole seconds.
  EXPECT_EQ(before.earliest->seconds(), 300 + 99);
  EXPECT_EQ(before.latest->seconds(), 300 + 102);

  const auto stopped = Run::of({{at(100), at(200), rate(2)}});
  const Finish f = stopped->finish(600, at(250));
  EXPECT_EQ(f.state, Finish::State::stopped);
  EXPECT_EQ(f.left, 400);
  EXPECT_EQ(in_seconds(*f.running), 200);
  EXPECT_FALSE(f.at);
  EXPECT_FALSE(stopped->rate_at(at(250)));
  EXPECT_EQ(stopped->rate_at(at(100))->millionths, 2 * kMillionths);
}

TEST(Rig, AnEmptyRunHasMadeNothing) {
  const auto run = Run::of({});
  ASSERT_TRUE(run);
  EXPECT_EQ(run->count_at(at(1'000'000)).closings, 0);
  EXPECT_FALSE(run->reaches(1));
  const Finish f = run->finish(5, at(0));
  EXPECT_EQ(f.state, Finish::State::stopped);
  EXPECT_EQ(f.left, 5);
  EXPECT_FALSE(f.running);
}

TEST(Rig, HoldsAtItsLimits) {
  // A hundred years at the fastest rate: no overflow, and nothing beyond.
  const auto run = Run::of({{at(0), std::nullopt, rate(kFastestRate)}});
  const auto most = run->count_at(at(std::numeric_limits<std::int64_t>::max()));
  EXPECT_EQ(most.millionths, kLongestRun * 100 * kMillionths);
  EXPECT_FALSE(run->reaches(kMostClosings));
  EXPECT_FALSE(Run::of({{at(0), std::nullopt, rate(0.000001)}})->reaches(kMostClosings));
  EXPECT_EQ(run->finish(kMostClosings, at(0)).state, Finish::State::stopped);
  EXPECT_EQ(run->count_at(at(std::numeric_limits<std::int64_t>::min() / 2)).closings, 0);
}

TEST(Rig, RefusesRatesThatAreNone) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double inf = std::numeric_limits<double>::infinity();
  for (const double r : {0.0, -1.0, 1e-7, 100.1, nan, inf, 1e300}) EXPECT_FALSE(rate_per_second(r)) << r;
  for (const double pm : {-0.1, 2.0, 3.0, nan, inf}) EXPECT_FALSE(rate_per_second(2, pm)) << pm;
  EXPECT_EQ(rate(2.5).millionths, 2'500'000);
}

TEST(Rig, RefusesPeriodsOutOfOrder) {
  const Rate r = rate(2);
  const auto refused = [&](std::vector<Period> periods, const char* pointer) {
    const auto run = Run::of(std::move(periods));
    ASSERT_FALSE(run);
    EXPECT_EQ(run.error().place.pointer, pointer);
  };
  refused({{at(10), at(5), r}}, "/periods/0");
  refused({{at(0), std::nullopt, r}, {at(20), at(30), r}}, "/periods/1");
  refused({{at(0), at(10), r}, {at(9), at(30), r}}, "/periods/1");
  refused({{at(0), at(10), r}, {at(20), at(kLongestRun + 1), r}}, "/periods/1");
  refused({{at(0), at(10), Rate{}}}, "/periods/0");
}

TEST(Inspections, SayWhatIsKnown) {
  const auto run = Run::of({{at(0), at(1'000), rate(2)}, {at(2'000), std::nullopt, rate(1)}});
  const std::vector<Inspection> looks{{at(2'500), 1, Finding::failed},
                                      {at(500), 0, Finding::fine},
                                      {at(500), 1, Finding::fine},
                                      {at(1'500), 2, Finding::out},
                                      {at(9'000), 0, Finding::failed}};
  const auto s = specimens_at(*run, 4, looks, at(3'000));
  ASSERT_TRUE(s) << s.error().what;
  // Seen sound at 1 000; the failure at 9 000 s lies ahead.
  EXPECT_EQ((*s)[0].state, Specimen::State::on);
  EXPECT_EQ((*s)[0].life, Life::suspended_at(1'000));
  EXPECT_EQ((*s)[1].state, Specimen::State::failed);
  EXPECT_EQ((*s)[1].life, Life::failed_within(1'000, 2'500));
  EXPECT_EQ((*s)[1].inspections, 2u);
  EXPECT_EQ((*s)[2].state, Specimen::State::out);
  EXPECT_EQ((*s)[2].life, Life::suspended_at(2'000));
  // Never looked at: nothing is known.
  EXPECT_EQ((*s)[3].life, Life::suspended_at(0));
  EXPECT_FALSE((*s)[3].seen);
}

TEST(Inspections, AreRefusedWhereTheyCannotBe) {
  const auto run = Run::of({{at(0), std::nullopt, rate(2)}});
  const auto refused = [&](const std::vector<Inspection>& looks, const char* pointer) {
    const auto s = specimens_at(*run, 2, looks, at(1'000));
    ASSERT_FALSE(s);
    EXPECT_EQ(s.error().place.pointer, pointer);
  };
  refused({{at(5), 2, Finding::fine}}, "/inspections/0");
  refused({{at(5), 0, Finding::failed}, {at(6), 0, Finding::fine}}, "/inspections/1");
  refused({{at(6), 0, Finding::fine}, {at(5), 0, Finding::out}}, "/inspections/0");
  refused({{at(0), 0, Finding::failed}}, "/inspections/0");
  // Sound, and failed without a closing between the two looks: at that count.
  const auto paused = Run::of({{at(0), at(100), rate(2)}});
  const auto s = specimens_at(
      *paused, 1, std::vector<Inspection>{{at(200), 0, Finding::fine}, {at(300), 0, Finding::failed}},
      at(400));
  ASSERT_TRUE(s);
  EXPECT_EQ((*s)[0].life, Life::failed_at(200));
}

}  // namespace
}  // namespace hingeline::endurance
