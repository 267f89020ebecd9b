#include "hingeline/mechanism/thread.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

namespace hingeline::mechanism {
namespace {

constexpr double kInch = 25.4;

Thread read(const char* text) {
  const auto t = parse_thread(text);
  EXPECT_TRUE(t) << text << ": " << (t ? "" : t.error().what);
  return t.value_or(Thread{});
}

// d2, D1 and the stress areas computed from ISO 68-1 / ISO 724, pitches after an ISO 724 table; the area 8.78
// of M4 is printed there too.
TEST(Thread, MetricBasicProfile) {
  struct Row {
    const char* name;
    double major, pitch, d2, d1, d3, area;
  };
  const Row rows[] = {
      {"M1.6x0.35", 1.6, 0.35, 1.373, 1.221, 1.171, 1.270},
      {"M1.8x0.35", 1.8, 0.35, 1.573, 1.421, 1.371, 0},
      {"M2x0.4", 2, 0.4, 1.740, 1.567, 1.509, 2.073},
      {"M2.5x0.45", 2.5, 0.45, 2.208, 2.013, 1.948, 3.391},
      {"M3x0.5", 3, 0.5, 2.675, 2.459, 2.387, 5.031},
      {"M3.5x0.6", 3.5, 0.6, 3.110, 2.850, 2.764, 6.775},
      {"M4x0.7", 4, 0.7, 3.545, 3.242, 3.141, 8.779},
      {"M4x0.5", 4, 0.5, 3.675, 3.459, 3.387, 9.792},
  };
  for (const Row& row : rows) {
    SCOPED_TRACE(row.name);
    const Thread t = read(row.name);
    EXPECT_EQ(t.system, ThreadSystem::metric);
    EXPECT_EQ(in_millimetres(t.major), row.major);
    EXPECT_EQ(in_millimetres(t.pitch), row.pitch);
    const BasicProfile b = basic_profile(t);
    EXPECT_NEAR(in_millimetres(b.pitch_diameter), row.d2, 0.000501);
    EXPECT_NEAR(in_millimetres(b.minor_internal), row.d1, 0.000501);
    EXPECT_NEAR(in_millimetres(b.minor_external), row.d3, 0.000501);
    if (row.area > 0) {
      EXPECT_NEAR(b.stress_area.raw(), row.area, 0.001);
    }
    EXPECT_EQ(designation(t), row.name);
  }
  EXPECT_NEAR(basic_profile(read("M4")).stress_area.raw(), 8.78, 0.005);  // ISO 724 table page
}

// Coarse pitches, ISO 724 table page.
TEST(Thread, CoarsePitchWhenNoneIsNamed) {
  for (const char* pair : {"M1.6x0.35", "M1.8x0.35", "M2x0.4", "M2.5x0.45", "M3x0.5", "M3.5x0.6", "M4x0.7"}) {
    const std::string full = pair;
    const Thread coarse = read(full.substr(0, full.find('x')).c_str());
    EXPECT_EQ(designation(coarse), full);
  }
  const auto unknown = parse_thread("M2.7");
  ASSERT_FALSE(unknown);
  EXPECT_EQ(unknown.error().fault, Fault::syntax);
  EXPECT_NE(unknown.error().expected.find("M2.7x"), std::string::npos);
}

// A made screw stays under the basic size: ISO 965 6g limits, tool-catalogue table.
TEST(Thread, BasicSizesLieOverTheSixGLimits) {
  struct Row {
    const char* name;
    double d_max, d_min, d2_max, d2_min;
  };
  const Row rows[] = {{"M1.6", 1.581, 1.496, 1.354, 1.291},
                      {"M2", 1.981, 1.886, 1.721, 1.654},
                      {"M2.5", 2.480, 2.380, 2.188, 2.117},
                      {"M3", 2.980, 2.874, 2.655, 2.580},
                      {"M4", 3.978, 3.838, 3.523, 3.433}};
  for (const Row& row : rows) {
    SCOPED_TRACE(row.name);
    const Thread t = read(row.name);
    const BasicProfile b = basic_profile(t);
    const double under = in_millimetres(t.major) - row.d_max;
    EXPECT_GT(under, 0.015);
    EXPECT_LT(under, 0.025);
    EXPECT_NEAR(in_millimetres(b.pitch_diameter) - row.d2_max, under, 0.0016);
    EXPECT_LT(row.d2_min, row.d2_max);
    EXPECT_LT(row.d_min, row.d_max);
  }
  // 6H minor diameter of M1.6 starts at the basic one: 1.373 - 1.458 in the catalogue's table is D2.
  EXPECT_NEAR(in_millimetres(basic_profile(read("M1.6")).pitch_diameter), 1.373, 0.0005);
}

// ASME B1.1 basic sizes, three table pages. Stress areas: tables lie up to 1e-5 in2 over the formula.
TEST(Thread, InchBasicProfile) {
  struct Row {
    const char* name;
    double d, e, k_internal, k_external, area;
  };
  const Row rows[] = {
      {"0-80", .0600, .0519, .0465, .0451, .00180}, {"1-64", .0730, .0629, .0561, .0544, .00263},
      {"2-56", .0860, .0744, .0667, .0648, .00370}, {"3-48", .0990, .0855, .0764, .0741, .00487},
      {"4-40", .1120, .0958, .0849, .0822, .00604}, {"4-48", .1120, .0985, .0894, .0871, .00661},
      {"5-40", .1250, .1088, .0979, .0952, .00796}, {"6-32", .1380, .1177, .1042, .1008, .00909},
      {"6-40", .1380, .1218, .1109, .1082, .01015},
  };
  for (const Row& row : rows) {
    SCOPED_TRACE(row.name);
    const Thread t = read(row.name);
    EXPECT_EQ(t.system, ThreadSystem::inch);
    EXPECT_EQ(t.major, inches(row.d));
    const BasicProfile b = basic_profile(t);
    EXPECT_NEAR(in_inches(b.pitch_diameter), row.e, 1e-4);
    EXPECT_NEAR(in_inches(b.minor_internal), row.k_internal, 1e-4);
    EXPECT_NEAR(in_inches(b.minor_external), row.k_external, 1e-4);
    EXPECT_NEAR(b.stress_area.raw() / (kInch * kInch), row.area, 2e-5);
    EXPECT_EQ(designation(t), row.name);
  }
}

ThreadLimits inch_limits(double per_inch, double ds_min, double es_min, double en_max, double kn_max,
                         double at) {
  return {Length::of(kInch / per_inch), inches(ds_min), inches(es_min), inches(en_max), inches(kn_max),
          Area::of(at * kInch * kInch)};
}

// FED-STD-H28/2B formulas on ASME B1.1 class 2A/2B limits (table pages); the results are computed from them.
TEST(Thread, EngagementInch) {
  const ThreadLimits a = inch_limits(80, .0563, .0496, .0542, .0514, .0018);
  EXPECT_NEAR(in_inches(engagement_for_strength(a)), 0.05348, 5e-6);
  EXPECT_NEAR(external_shear_area(a, inches(.060)).raw() / (kInch * kInch), .0040388, 5e-8);
  EXPECT_NEAR(internal_shear_area(a, inches(.060)).raw() / (kInch * kInch), .0063355, 5e-8);
  const ThreadLimits b = inch_limits(56, .0813, .0717, .0772, .0737, .0037);
  EXPECT_NEAR(in_inches(engagement_for_strength(b)), 0.07342, 5e-6);
  EXPECT_NEAR(external_shear_area(b, inches(.086)).raw() / (kInch * kInch), .0086684, 5e-8);
  EXPECT_NEAR(internal_shear_area(b, inches(.086)).raw() / (kInch * kInch), .0138944, 5e-8);
}

// FED-STD-H28/2B formulas; D1max and D2max from memory, d and d2 from an ISO 965 6g catalogue table.
TEST(Thread, EngagementMetric) {
  const ThreadLimits m3{millimetres(.5),    millimetres(2.874), millimetres(2.580),
                        millimetres(2.775), millimetres(2.599), basic_profile(read("M3")).stress_area};
  EXPECT_NEAR(external_shear_area(m3, millimetres(1)).raw(), 3.903, 5e-4);
  EXPECT_NEAR(internal_shear_area(m3, millimetres(1)).raw(), 5.547, 5e-4);
  EXPECT_NEAR(in_millimetres(engagement_for_strength(m3)), 2.578, 5e-4);
  const ThreadLimits m25{millimetres(.45),   millimetres(2.380), millimetres(2.117),
                         millimetres(2.303), millimetres(2.138), basic_profile(read("M2.5")).stress_area};
  EXPECT_NEAR(external_shear_area(m25, millimetres(1)).raw(), 3.177, 5e-4);
  EXPECT_NEAR(internal_shear_area(m25, millimetres(1)).raw(), 4.477, 5e-4);
  EXPECT_NEAR(in_millimetres(engagement_for_strength(m25)), 2.134, 5e-4);
}

TEST(Thread, EngagementWithBasicSizesIsTheShortest) {
  for (const char* name : {"M2", "M2.5", "M3", "0-80", "2-56", "4-40"}) {
    SCOPED_TRACE(name);
    const Thread t = read(name);
    const ThreadLimits l = basic_limits(t);
    EXPECT_LT(external_shear_area(l, t.major), internal_shear_area(l, t.major));
    ThreadLimits loose = l;
    loose.internal_minor_max += t.pitch * 0.1;
    EXPECT_GT(engagement_for_strength(loose), engagement_for_strength(l));
    loose.internal_minor_max = t.major + t.pitch;
    EXPECT_FALSE(is_finite(engagement_for_strength(loose)));
  }
}

TEST(Thread, FormsPeopleType) {
  for (const char* text : {"M2.5x0.45", "m2.5X0.45", " M 2,5 x 0,45 ",
                           "M2.5\xC3\x97"
                           "0.45"}) {
    const Thread t = read(text);
    EXPECT_EQ(designation(t), "M2.5x0.45") << text;
    EXPECT_FALSE(t.left_hand);
  }
  EXPECT_EQ(designation(read("#2-56")), "2-56");
  EXPECT_EQ(designation(read("2 - 56")), "2-56");
  EXPECT_EQ(designation(read("2-56-LH")), "2-56 LH");
  EXPECT_EQ(designation(read("M3 lh")), "M3x0.5 LH");
  EXPECT_EQ(designation(read(designation(read("M3 lh")).c_str())), "M3x0.5 LH");
}

TEST(Thread, OtherTextIsRefused) {
  for (const char* text :
       {"",        "M",    "Mx",        "M2.5x", "Mx0.45",      "M-2x0.4",     "M0x0.1",  "M2.5x0",
        "M2.5x-1", "M1e9", "M2.5x1e-3", "M2..5", "Mnan",        "Minf",        "M99",     "2",
        "-56",     "2-",   "2-0",       "13-56", "2-56-3",      "2/56",        "2.5-56",  "2-56x",
        "#",       "LH",   "lh",        "x",     "M2.5x0.45x2", "\xD9\xA2-56", "1000-56", "2-99999999999"}) {
    const auto t = parse_thread(text);
    ASSERT_FALSE(t) << text;
    EXPECT_EQ(t.error().fault, Fault::syntax) << text;
    EXPECT_FALSE(t.error().expected.empty()) << text;
  }
  for (const char* text : {"M2x1", "M1x0.7", "0-20"}) {
    const auto t = parse_thread(text);
    ASSERT_FALSE(t) << text;
    EXPECT_EQ(t.error().fault, Fault::geometry) << text;
  }
}

TEST(Thread, OwnThread) {
  const auto t = make_thread(millimetres(0.4), millimetres(2.2));
  ASSERT_TRUE(t);
  EXPECT_EQ(t->system, ThreadSystem::own);
  EXPECT_EQ(designation(*t), "pitch 0.4 mm, major diameter 2.2 mm");
  EXPECT_NEAR(in_millimetres(basic_profile(*t).pitch_diameter), 2.2 - 0.4 * 0.649519, 1e-12);
  EXPECT_FALSE(make_thread(millimetres(0), millimetres(2)));
  EXPECT_FALSE(make_thread(millimetres(-0.1), millimetres(2)));
  EXPECT_FALSE(make_thread(millimetres(1), millimetres(2)));
  EXPECT_FALSE(make_thread(millimetres(0.4), Length::of(NAN)));
  EXPECT_FALSE(make_thread(millimetres(0.4), Length::of(INFINITY)));
}

TEST(Thread, WhichWayAndHowFar) {
  const Thread right = read("M2.5x0.45");
  EXPECT_EQ(turn_in(right), Turn::clockwise);  // a right-hand screw goes in clockwise: common practice
  EXPECT_EQ(turn_out(right), Turn::anticlockwise);
  const Thread left = read("M2.5x0.45 LH");
  EXPECT_EQ(turn_in(left), Turn::anticlockwise);
  EXPECT_EQ(turn_out(left), Turn::clockwise);
  EXPECT_STREQ(word(turn_in(left)), "anticlockwise");
  EXPECT_EQ(in_millimetres(advance(right, 0.5)), 0.225);
  EXPECT_EQ(turns_for(right, millimetres(-0.45)), -1);
  EXPECT_NEAR(in_inches(advance(read("0-80"), 80)), 1, 1e-15);
}

RC_GTEST_PROP(Thread, TurnsAndAdvanceUndoEachOther, ()) {
  const double turns = *rc::gen::inRange(-100000, 100000) / 1000.0;
  const int size = *rc::gen::inRange(0, 13);
  const int per_inch = *rc::gen::inRange(40, 120);
  const auto t = parse_thread(std::to_string(size) + "-" + std::to_string(per_inch));
  RC_ASSERT(t.has_value());
  RC_ASSERT(std::abs(turns_for(*t, advance(*t, turns)) - turns) <= 1e-15 * std::abs(turns));
  RC_ASSERT(designation(*t) == std::to_string(size) + "-" + std::to_string(per_inch));
}

RC_GTEST_PROP(Thread, AnyTextGivesAnAnswer, (const std::string& text)) {
  const auto t = parse_thread(text);
  RC_ASSERT(!t || (t->pitch.raw() > 0 && t->pitch * 2 < t->major));
}

}  // namespace
}  // namespace hingeline::mechanism
