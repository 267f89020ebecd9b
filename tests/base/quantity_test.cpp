// Quantities and measured values: what they do, and what does not compile.

#include "hingeline/base/quantity.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <type_traits>

#include "hingeline/base/measured.h"

namespace hingeline {
namespace {

template <class A, class B>
concept Adds = requires(A a, B b) {
  a + b;
};
template <class A, class B>
concept Subtracts = requires(A a, B b) {
  a - b;
};
template <class A, class B>
concept Multiplies = requires(A a, B b) {
  a* b;
};
template <class A, class B>
concept Divides = requires(A a, B b) {
  a / b;
};
template <class A, class B>
concept Orders = requires(A a, B b) {
  a < b;
};
template <class A, class B>
concept Equals = requires(A a, B b) {
  a == b;
};
template <class A, class B>
concept AddsOn = requires(A a, B b) {
  a += b;
};
template <class A, class B>
concept Assigns = requires(A a, B b) {
  a = b;
};
template <class A>
concept HasTangent = requires(A a) {
  tan(a);
};
template <class A>
concept ReadsAsMillimetres = requires(A a) {
  in_millimetres(a);
};

/// Nothing mixes two kinds.
template <class A, class B>
inline constexpr bool kApart =
    !Adds<A, B> && !Subtracts<A, B> && !Multiplies<A, B> && !Divides<A, B> && !Orders<A, B> &&
    !Equals<A, B> && !AddsOn<A, B> && !Assigns<A, B> && !std::is_constructible_v<A, B>;
static_assert(kApart<Length, Angle> && kApart<Angle, Length>);
static_assert(kApart<Length, Force> && kApart<Force, Length>);
static_assert(kApart<Length, Temperature> && kApart<Temperature, Length>);
static_assert(kApart<Angle, Force> && kApart<Force, Angle>);
static_assert(kApart<Angle, Temperature> && kApart<Force, Temperature>);
static_assert(kApart<Temperature, TemperatureStep> && kApart<TemperatureStep, Temperature>);
static_assert(kApart<Length, TemperatureStep>);

// A bare number is no quantity, and a quantity no bare number.
static_assert(!std::is_constructible_v<Length, double> && !std::is_constructible_v<Angle, double>);
static_assert(!std::is_constructible_v<Force, int> && !std::is_constructible_v<Temperature, double>);
static_assert(!std::is_convertible_v<double, Length> && !std::is_convertible_v<Length, double>);
static_assert(!std::is_constructible_v<double, Length>);
static_assert(!Adds<Length, double> && !Adds<double, Length> && !Subtracts<Length, double>);
static_assert(!Orders<Length, double> && !Equals<Length, double> && !AddsOn<Length, double>);
static_assert(!Assigns<Length, double> && !Assigns<double, Length>);
// No areas by accident, and no reciprocal lengths.
static_assert(!Multiplies<Length, Length> && !Divides<double, Length>);
// Functions take their own kind.
static_assert(HasTangent<Angle> && !HasTangent<Length>);
static_assert(ReadsAsMillimetres<Length> && !ReadsAsMillimetres<Angle> && !ReadsAsMillimetres<double>);

// What does compile gives what it should.
static_assert(std::is_same_v<decltype(Length{} + Length{}), Length>);
static_assert(std::is_same_v<decltype(Length{} * 2.0), Length>);
static_assert(std::is_same_v<decltype(2.0 * Angle{}), Angle>);
static_assert(std::is_same_v<decltype(Length{} / Length{}), double>);
static_assert(std::is_same_v<decltype(step_between(Temperature{}, Temperature{})), TemperatureStep>);
static_assert(std::is_trivially_copyable_v<Length> && sizeof(Length) == sizeof(double));

// All of it at compile time.
static_assert(Length{} == millimetres(0));
static_assert(millimetres(3) + millimetres(4) == millimetres(7));
static_assert(millimetres(3) - millimetres(4) == millimetres(-1));
static_assert(-millimetres(3) == millimetres(-3));
static_assert(2.0 * millimetres(3) == millimetres(3) * 2.0);
static_assert(millimetres(3) / 2.0 == millimetres(1.5));
static_assert(millimetres(3) / millimetres(2) == 1.5);
static_assert(millimetres(3) < millimetres(4) && newtons(2) >= newtons(2));
static_assert(abs(millimetres(-3)) == millimetres(3) && abs(degrees(2)) == degrees(2));
static_assert(in_kelvins(step_between(celsius(20), celsius(5))) == -15);

TEST(Quantity, AddsOnAndTakesOff) {
  Length l = millimetres(1);
  l += millimetres(0.5);
  EXPECT_EQ(in_millimetres(l), 1.5);
  l -= millimetres(2);
  EXPECT_EQ(in_millimetres(l), -0.5);
}

TEST(Quantity, TheirUnitsComeBack) {
  EXPECT_EQ(in_millimetres(inches(1)), 25.4);
  EXPECT_EQ(in_inches(millimetres(25.4)), 1.0);
  EXPECT_EQ(in_radians(degrees(180)), std::numbers::pi);
  EXPECT_NEAR(in_degrees(degrees(30)), 30, 1e-14);
  EXPECT_EQ(in_newtons(newtons(0.5)), 0.5);
  EXPECT_EQ(in_celsius(celsius(-5)), -5);
}

TEST(Quantity, Trigonometry) {
  EXPECT_NEAR(tan(degrees(45)), 1, 1e-15);
  EXPECT_NEAR(sin(degrees(30)), 0.5, 1e-15);
  EXPECT_NEAR(cos(degrees(60)), 0.5, 1e-15);
}

TEST(Quantity, WhatIsNotANumberIsInNoOrder) {
  const Length none = millimetres(std::numeric_limits<double>::quiet_NaN());
  EXPECT_FALSE(is_finite(none));
  EXPECT_FALSE(none < Length{});
  EXPECT_FALSE(none >= Length{});
  EXPECT_FALSE(none == none);
  EXPECT_FALSE(is_finite(millimetres(std::numeric_limits<double>::infinity())));
  EXPECT_TRUE(is_finite(kMillimetresPerInch * millimetres(1)));
}

// JCGM 100:2008: 4.3.4, an expanded uncertainty is divided by its coverage factor (k = 2); 4.3.7, the
// variance of a rectangular distribution of half-width a is a^2 / 3.
TEST(Measured, StandardUncertainty) {
  for (const Origin origin : {Origin::read, Origin::pattern, Origin::preset}) {
    const Measured<Length> m{millimetres(4), millimetres(0.02), origin};
    EXPECT_TRUE(m.known()) << word(origin);
    EXPECT_EQ(in_millimetres(m.standard()), 0.01) << word(origin);
  }
  const Measured<Length> range{millimetres(4), millimetres(0.3), Origin::unknown};
  EXPECT_FALSE(range.known());
  EXPECT_NEAR(in_millimetres(range.standard()) * in_millimetres(range.standard()), 0.3 * 0.3 / 3, 1e-17);
  // The guide's own example, 4.3.7: the coefficient of copper lies within 16.52e-6 +- 0.40e-6 /K, so
  // u = 0.23e-6 /K.
  EXPECT_NEAR((Measured<Length>{{}, millimetres(0.40), Origin::unknown}.standard().raw()), 0.23, 0.005);
}

TEST(Measured, NothingSaidIsUnknown) {
  const Measured<Angle> m;
  EXPECT_EQ(m.origin, Origin::unknown);
  EXPECT_EQ(m.value, Angle{});
}

TEST(Measured, OriginsHaveWords) {
  EXPECT_STREQ(word(Origin::read), "read");
  EXPECT_STREQ(word(Origin::pattern), "pattern");
  EXPECT_STREQ(word(Origin::preset), "preset");
  EXPECT_STREQ(word(Origin::unknown), "unknown");
}

}  // namespace
}  // namespace hingeline
