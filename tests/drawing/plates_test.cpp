// Tubes on a rod, a cutter at its post, a pad's wedge, play over the years.

#include "hingeline/drawing/plates.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "any_length.h"
#include "hingeline/drawing/print.h"
#include "hingeline/drawing/svg.h"
#include "sample_plates.h"
#include "scene_tools.h"

namespace hingeline::drawing {
namespace {

using namespace samples;

/// "drawn 1.5:1", "scale 3:1" on the sheet.
double said_after(const Scene& scene, const std::string& word) {
  for (const std::string& words : texts(scene)) {
    const std::size_t at = words.find(word);
    if (at != std::string::npos) {
      const std::string said = words.substr(at + word.size());
      const double first = std::stod(said);
      return first / std::stod(said.substr(said.find(':') + 1));
    }
  }
  return 0;
}

TEST(Stack, TubesAndGapsAreToTheirScale) {
  const StackView view = stack_sample();
  const Scene scene = draw_stack(view);
  const double scale = said_after(scene, "drawn ");
  ASSERT_GT(scale, 0);
  const std::vector<const Path*> tubes = paths(scene, Fill::key);
  ASSERT_EQ(tubes.size(), 3U);
  EXPECT_NEAR(box_of(*tubes[0]).width(), 30 * scale, 1e-9);
  EXPECT_NEAR(box_of(*tubes[1]).width(), 19.9 * scale, 1e-9);
  EXPECT_NEAR(box_of(*tubes[2]).width(), 24.95 * scale, 1e-9);
  // Between posts the rod is seen over the span.
  const std::vector<const Path*> rods = paths(scene, Fill::screw);
  EXPECT_NEAR(box_of(*rods[0]).width(), 50 * scale, 1e-9);
  EXPECT_TRUE(has_part(texts(scene), "end play 0.100 mm, aimed at 0.010 mm to 0.030 mm"));
}

TEST(Cutter, BothViewsAreToOneScaleAndTheWallIsSaid) {
  const Scene scene = draw_cutter(cutter_sample());
  const double scale = said_after(scene, "scale ");
  double post = 0;
  double cut = 0;
  for (const Shape& shape : scene.shapes) {
    const auto* c = std::get_if<Circle>(&shape);
    if (c != nullptr && c->fill == Fill::post) post = in_millimetres(c->radius);
    if (c != nullptr && c->fill == Fill::cut) cut = in_millimetres(c->radius);
  }
  EXPECT_NEAR(post, 3 * scale, 1e-9);
  EXPECT_NEAR(cut, 2 * scale, 1e-9);
  EXPECT_NEAR(box_of(*paths(scene, Fill::post)[0]).width(), 5 * scale, 1e-9);
  EXPECT_TRUE(has(texts(scene), "wall round the seat 1.00 mm"));
  CutterView none = cutter_sample();
  none.cutter.clear();
  none.cutter_diameter = Length();
  EXPECT_TRUE(has(texts(draw_cutter(none)), "no cutter of the shop fits"));
}

TEST(Wedge, OpensByTheGapAndThePadTakesItsShare) {
  const Scene scene = draw_wedge(wedge_sample());
  const double scale = said_after(scene, "scale ");
  const double gap_scale = said_after(scene, "gap drawn ");
  // The pad's face rises by the gap over the tone hole.
  const Path* pad = paths(scene, Fill::pad)[0];
  const double rise = in_millimetres(pad->spots[0].y - pad->spots[1].y);
  const double run = in_millimetres(pad->spots[1].x - pad->spots[0].x);
  EXPECT_NEAR(rise / run * 20 * scale, 0.08 * gap_scale, 1e-6);
  // Half of it is taken up: what stays open is half as high as the wave.
  const std::vector<const Path*> open = paths(scene, Fill::bind);
  ASSERT_EQ(open.size(), 2U) << "and the legend";
  EXPECT_NEAR(box_of(*open[0]).height(), 10, 1e-6);
}

TEST(Years, TheMiddleLineReachesTheEdgeWhenItIsDue) {
  const YearsView view = years_sample();
  const Scene scene = draw_years(view);
  // 0.02 to 0.03 at 0.005 a year: two years, of three that are drawn.
  const Path* window = paths(scene, Fill::window)[0];
  const double edge = box_of(*window).top;
  const double left = box_of(*window).left;
  const double right = box_of(*window).right;
  bool met = false;
  for (const Shape& shape : scene.shapes) {
    const auto* p = std::get_if<Path>(&shape);
    if (p == nullptr || p->ink != Ink::line || p->spots.size() != 2) continue;
    const double x1 = in_millimetres(p->spots[0].x);
    const double x2 = in_millimetres(p->spots[1].x);
    const double y1 = in_millimetres(p->spots[0].y);
    const double y2 = in_millimetres(p->spots[1].y);
    if (std::abs(x1 - left) > 1e-6 || x2 <= x1 || y2 >= y1) continue;
    met = true;
    EXPECT_NEAR(x1 + (edge - y1) / (y2 - y1) * (x2 - x1), left + (right - left) * 2 / 3, 1e-6);
  }
  EXPECT_TRUE(met);
}

TEST(Plates, StayOnTheirSheetsInAnyTongue) {
  for (const auto& [name, scene] : plate_samples()) {
    EXPECT_EQ(off_sheet(scene), "") << name;
    EXPECT_FALSE(scene.description.empty()) << name;
    EXPECT_TRUE(to_pdf(std::vector<Scene>{scene}, {})) << name;
  }
}

RC_GTEST_PROP(Plates, NoMeasureBreaksThem, ()) {
  StackView stack;
  stack.rod = any_length();
  for (int i = *rc::gen::inRange(0, 5); i > 0; --i) {
    StackView::Gap g;
    g.span = any_length();
    for (int t = *rc::gen::inRange(0, 4); t > 0; --t) g.tubes.push_back({"tube", any_length()});
    g.play = any_length();
    g.window_high = any_length();
    stack.gaps.push_back(g);
  }
  CutterView cutter;
  cutter.post_diameter = any_length();
  cutter.post_thickness = any_length();
  cutter.head_diameter = any_length();
  cutter.cutter_diameter = any_length();
  cutter.cut = any_length();
  cutter.room_behind = any_length();
  cutter.room_around = any_length();
  WedgeView wedge;
  wedge.tone_hole = any_length();
  wedge.land = any_length();
  wedge.gap = any_length();
  wedge.take_up = any_length();
  YearsView years;
  years.now = any_length();
  years.window_low = any_length();
  years.window_high = any_length();
  years.slow = any_length();
  years.middle = any_length();
  years.fast = any_length();
  for (const Scene& scene : {draw_stack(stack), draw_cutter(cutter), draw_wedge(wedge), draw_years(years)}) {
    const std::string svg = to_svg(scene);
    RC_ASSERT(svg.find("nan") == std::string::npos);
    RC_ASSERT(svg.find("inf") == std::string::npos);
    RC_ASSERT(scene.shapes.size() < 3000U);
  }
}

}  // namespace
}  // namespace hingeline::drawing
