#include "hingeline/service/worked.h"

#include <gtest/gtest.h>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "service/documents.h"

namespace hingeline::service {
namespace {

Given known(const std::string& name, double value, double standard, const std::string& unit = "mm") {
  return reckoned(name, value, standard, unit);
}

// JCGM 100:2008, 5.1.3: for a sum of squares of independent inputs the parts are c_i u_i; here of a product,
// (u/y)^2 = (u_a/a)^2 + (u_b/b)^2 (5.1.6), exact for first order.
TEST(Worked, AddsRelativeDoubtsOfAProductBySquares) {
  const Worked w = work("area", "area", "mm2", "a × b", {known("a", 3, 0.03), known("b", 4, 0.08)},
                        [](std::span<const double> v) { return v[0] * v[1]; });
  EXPECT_DOUBLE_EQ(w.value, 12);
  EXPECT_NEAR(w.standard, 12 * std::hypot(0.01, 0.02), 1e-12);
  ASSERT_EQ(w.effects.size(), 2u);
  EXPECT_EQ(w.effects[0].given.name, "b");
  EXPECT_NEAR(w.effects[0].moves, 3 * 0.16, 1e-12);
}

TEST(Worked, CountsAStopForHalf) {
  const Worked w = work("gap", "gap", "mm", "what is left, never below 0", {known("a", 0, 0.1)},
                        [](std::span<const double> v) { return std::max(0.0, v[0]); });
  EXPECT_NEAR(w.standard, 0.05, 1e-15);
}

TEST(Worked, TakesTheSideWhereTheModelIsFinite) {
  const auto root = [](std::span<const double> v) { return std::sqrt(v[0]); };
  const Worked w = work("r", "r", "", "√a", {known("a", 0, 0.04)}, root);
  EXPECT_NEAR(w.standard, 0.2, 1e-15);
  const Worked none = work("r", "r", "", "√a", {known("a", -1, 0.04)}, root);
  EXPECT_TRUE(std::isnan(none.value));
  EXPECT_EQ(show(none, LengthUnit::mm), "-");
  EXPECT_TRUE(json_of(none)["value"].is_null());
}

TEST(Worked, LeavesOutWhatDoesNotMoveItButNamesExactNumbers) {
  const Worked w =
      work("s", "s", "mm", "a + b + c", {known("a", 1, 0.1), known("b", 1, 1e-6), known("c", 2, 0)},
           [](std::span<const double> v) { return v[0] + v[1] + v[2]; });
  ASSERT_EQ(w.effects.size(), 2u);
  EXPECT_EQ(w.effects[1].given.name, "c");
  const auto lines = explain(w, LengthUnit::mm);
  EXPECT_EQ(lines[0], "s = 4.00 ± 0.20 mm");
  EXPECT_EQ(lines[1], "by a + b + c");
  EXPECT_EQ(lines[2], "a: 1.00 ± 0.20 mm (read); moves it by 0.200 mm");
}

TEST(Worked, SeveralOfOneModelAreAsEachAlone) {
  const std::vector<Given> givens{known("a", 0.01, 0.04), known("b", 4, 0.08), known("c", 2, 0)};
  const auto root = [](std::span<const double> v) { return std::sqrt(v[0]) + v[1]; };
  const auto product = [](std::span<const double> v) { return v[1] * v[2]; };
  const auto never = [](std::span<const double>) { return std::numeric_limits<double>::quiet_NaN(); };
  int asked = 0;
  const auto all =
      work({{"r", "root", "", "√a + b"}, {"n", "none", "", "-"}, {"p", "product", "mm2", "b × c"}}, givens,
           [&](std::span<const double> v, std::span<double> to) {
             ++asked;
             to[0] = root(v);
             to[1] = never(v);
             to[2] = product(v);
           });
  EXPECT_EQ(asked, 5);  // at the values, and both ways of the two that may be off
  ASSERT_EQ(all.size(), 3u);
  EXPECT_EQ(json_of(all[0]), json_of(work("r", "root", "", "√a + b", givens, root)));
  EXPECT_EQ(json_of(all[1]), json_of(work("n", "none", "", "-", givens, never)));
  EXPECT_EQ(json_of(all[2]), json_of(work("p", "product", "mm2", "b × c", givens, product)));
  EXPECT_EQ(all[2].code, "p");
}

TEST(Worked, ShowsInchesDegreesAndWholeNumbers) {
  EXPECT_EQ(show(25.4, 0.254, "mm", LengthUnit::inch), "1.000 ± 0.010 in");
  EXPECT_EQ(show(0.5, 0, "rad", LengthUnit::mm), "28.6°");
  EXPECT_EQ(show(1234, 100, "N", LengthUnit::mm), "1234 ± 100 N");
  EXPECT_EQ(show(-0.0001, 0.1, "mm", LengthUnit::mm), "0.00 ± 0.10 mm");
  EXPECT_EQ(show(std::numeric_limits<double>::infinity(), 1, "s", LengthUnit::mm), "-");
}

class GivenNumbers : public ::testing::Test {
 protected:
  record::LengthEntry entry(double value, std::optional<double> plus_minus, const std::string& with = {}) {
    record::LengthEntry e;
    e.present = true;
    e.origin = Origin::read;
    e.value = millimetres(value);
    if (plus_minus) e.plus_minus = millimetres(*plus_minus);
    e.with = with;
    return e;
  }
  record::Shop shop_ = general_shop();
};

TEST_F(GivenNumbers, TakeTheirOwnDoubtBeforeTheInstruments) {
  const auto own = given("x", entry(0.05, 0.02, "feeler"), {}, shop_);
  ASSERT_TRUE(own);
  EXPECT_DOUBLE_EQ(own->value, 0.05);
  EXPECT_DOUBLE_EQ(own->plus_minus(), 0.02);
  EXPECT_FALSE(own->rectangular);
}

// A leaf of 0.05 goes in and that of 0.06 does not: the gap lies between, anywhere alike (JCGM 100:2008,
// 4.3.7: half-width over the root of three).
TEST_F(GivenNumbers, ByLeavesLieBetweenTwoLeaves) {
  const auto g = given("x", entry(0.05, std::nullopt, "feeler"), {}, shop_);
  ASSERT_TRUE(g);
  EXPECT_NEAR(g->value, 0.055, 1e-12);
  EXPECT_NEAR(g->standard, std::hypot(0.005 / std::sqrt(3.0), 0.0015), 1e-12);
  for (auto& m : shop_.measuring) {
    if (m.name == "feeler") m.plus_minus.value = millimetres(0.001);
  }
  const auto even = given("x", entry(0.05, std::nullopt, "feeler"), {}, shop_);
  EXPECT_TRUE(even->rectangular);
  EXPECT_NEAR(even->plus_minus(), 0.005, 0.0001);
}

TEST_F(GivenNumbers, GuessedByEyeAreOffByAShare) {
  const auto small = given("x", entry(0.1, std::nullopt, "eye"), {}, shop_);
  const auto large = given("x", entry(10, std::nullopt, "eye"), {}, shop_);
  EXPECT_GT(large->plus_minus(), 30 * small->plus_minus());
  EXPECT_NEAR(large->plus_minus(), 4, 0.01);
}

TEST_F(GivenNumbers, RepeatsShowTheirOwnScatter) {
  record::LengthEntry alike = entry(0.05, std::nullopt, "indicator");
  const double single = given("x", alike, {}, shop_)->standard;
  alike.repeats = std::vector<Length>(8, millimetres(0.05));
  EXPECT_LT(given("x", alike, {}, shop_)->standard, single);
}

TEST_F(GivenNumbers, GoFromReadingToRangeToPreset) {
  record::LengthEntry nothing;
  record::LengthEntry ranged;
  ranged.present = true;
  ranged.range = record::Range<Length>{millimetres(1), millimetres(2)};
  record::LengthEntry preset = entry(3, std::nullopt);
  EXPECT_FALSE(given("x", nothing, nothing, shop_));
  EXPECT_EQ(given("x", ranged, preset, shop_)->value, 1.5);
  EXPECT_TRUE(given("x", ranged, preset, shop_)->rectangular);
  EXPECT_EQ(show(*given("x", ranged, preset, shop_), LengthUnit::mm), "1.00 to 2.00 mm");
  const auto from_preset = given("x", nothing, preset, shop_);
  EXPECT_EQ(from_preset->value, 3);
  EXPECT_EQ(from_preset->standard, 0);
  EXPECT_EQ(from_preset->origin, Origin::preset);
  EXPECT_EQ(given("x", entry(4, 0.1), preset, shop_)->value, 4);
}

}  // namespace
}  // namespace hingeline::service
