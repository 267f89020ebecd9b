#include "hingeline/mechanism/running_fit.h"

#include <gtest/gtest.h>

#include <cmath>

namespace hingeline::mechanism {
namespace {

constexpr double kSizes[3][3] = {{0.5, 2, 3}, {3.001, 4, 6}, {6.001, 8, 10}};

template <class Class>
void expect_deviation(Class c, const int (&rows)[3][2]) {
  for (int k = 0; k < 3; ++k) {
    for (const double size : kSizes[k]) {
      SCOPED_TRACE(std::string(word(c)) + " at " + std::to_string(size));
      const auto d = deviation(c, millimetres(size));
      ASSERT_TRUE(d);
      EXPECT_EQ(in_millimetres(d->lower), rows[k][0] / 1000.0);
      EXPECT_EQ(in_millimetres(d->upper), rows[k][1] / 1000.0);
    }
  }
}

// ISO 286-2, two stored tables.
TEST(RunningFit, Bores) {
  expect_deviation(BoreClass::H7, {{0, 10}, {0, 12}, {0, 15}});
  expect_deviation(BoreClass::H8, {{0, 14}, {0, 18}, {0, 22}});
}

// f7, g6: JIS B 0401 (1999) = ISO 286-2. h6, h7: zero and the grades IT6, IT7 of ISO 286-1.
TEST(RunningFit, Rods) {
  expect_deviation(RodClass::f7, {{-16, -6}, {-22, -10}, {-28, -13}});
  expect_deviation(RodClass::g6, {{-8, -2}, {-12, -4}, {-14, -5}});
  expect_deviation(RodClass::h6, {{-6, 0}, {-8, 0}, {-9, 0}});
  expect_deviation(RodClass::h7, {{-10, 0}, {-12, 0}, {-15, 0}});
}

// Widths are the tolerance grades of ISO 286-1: IT6 6 8 9, IT7 10 12 15, IT8 14 18 22.
TEST(RunningFit, WidthsAreTheGrades) {
  const int it6[] = {6, 8, 9};
  const int it7[] = {10, 12, 15};
  const int it8[] = {14, 18, 22};
  const auto width = [](const auto& d) { return std::lround(in_millimetres(d->upper - d->lower) * 1000); };
  for (int k = 0; k < 3; ++k) {
    const Length size = millimetres(kSizes[k][1]);
    EXPECT_EQ(width(deviation(RodClass::g6, size)), it6[k]);
    EXPECT_EQ(width(deviation(RodClass::h6, size)), it6[k]);
    EXPECT_EQ(width(deviation(RodClass::f7, size)), it7[k]);
    EXPECT_EQ(width(deviation(RodClass::h7, size)), it7[k]);
    EXPECT_EQ(width(deviation(BoreClass::H7, size)), it7[k]);
    EXPECT_EQ(width(deviation(BoreClass::H8, size)), it8[k]);
  }
}

// Clearances follow from the rows above.
TEST(RunningFit, Clearances) {
  struct Row {
    const char* fit;
    int um[3][2];
  };
  const Row rows[] = {{"H7/g6", {{2, 18}, {4, 24}, {5, 29}}},
                      {"H7/f7", {{6, 26}, {10, 34}, {13, 43}}},
                      {"H8/f7", {{6, 30}, {10, 40}, {13, 50}}}};
  for (const Row& row : rows) {
    const auto fit = parse_running_fit(row.fit);
    ASSERT_TRUE(fit) << row.fit;
    for (int k = 0; k < 3; ++k) {
      for (const double size : kSizes[k]) {
        const auto c = fit_clearance(*fit, millimetres(size));
        ASSERT_TRUE(c);
        EXPECT_EQ(in_millimetres(c->least), row.um[k][0] / 1000.0) << row.fit << " at " << size;
        EXPECT_EQ(in_millimetres(c->most), row.um[k][1] / 1000.0) << row.fit << " at " << size;
      }
    }
  }
}

TEST(RunningFit, NamesAndSizesOutsideTheTable) {
  EXPECT_EQ(*parse_running_fit(" H8 / h7 "), (RunningFit{BoreClass::H8, RodClass::h7}));
  for (const char* text : {"", "H7", "h7/g6", "H7/G6", "H9/f7", "H7g6", "H7/g6x"}) {
    const auto fit = parse_running_fit(text);
    ASSERT_FALSE(fit) << text;
    EXPECT_EQ(fit.error().fault, Fault::syntax);
  }
  for (const double size : {0.0, -1.0, 10.0001, 1e9, double(NAN), double(INFINITY)}) {
    EXPECT_FALSE(fit_clearance({}, millimetres(size)));
    EXPECT_FALSE(deviation(BoreClass::H8, millimetres(size)));
    EXPECT_FALSE(deviation(RodClass::f7, millimetres(size)));
  }
}

}  // namespace
}  // namespace hingeline::mechanism
