#include "hingeline/drawing/section.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <limits>
#include <set>
#include <variant>
#include <vector>

#include "any_length.h"
#include "hingeline/drawing/svg.h"
#include "sample_views.h"
#include "scene_tools.h"

namespace hingeline::drawing {
namespace {

using namespace samples;

/// A square-ended pin in a straight hole, every length told apart: insertion 2, protrusion 3, hole 4 deep.
JointView blocks() {
  JointView j;
  j.point = {{mm(0), mm(0)}, {mm(0), mm(0.5)}, {mm(6), mm(0.5)}};
  j.hole = {{mm(0), mm(0.75)}, {mm(4), mm(0.75)}, {mm(4), mm(0)}};
  j.insertion = mm(2);
  j.face_gap = mm(1);
  j.key_end_radius = mm(1.5);
  j.post_thickness = mm(5);
  j.regime = "rim";
  return j;
}

/// "scale 8:1" on the sheet.
double said_scale(const Scene& scene) {
  for (const std::string& words : texts(scene)) {
    if (words.rfind("scale ", 0) == 0) return std::stod(words.substr(6));
  }
  return 0;
}

TEST(Section, IsToItsScale) {
  const Scene scene = draw_section(section("Blocks", blocks(), blocks()));
  const double scale = said_scale(scene);
  ASSERT_GT(scale, 1);
  // The hole of the upper key end: the only blank closed path four corners of which are 4 mm by 1.5 mm.
  std::vector<Box> holes;
  for (const Path* p : paths(scene, Fill::paper)) {
    const Box b = box_of(*p);
    if (std::abs(b.width() - 4 * scale) < 1e-9 && std::abs(b.height() - 1.5 * scale) < 1e-9)
      holes.push_back(b);
  }
  ASSERT_EQ(holes.size(), 2U);
  // And the screws reach 2 mm into it.
  const std::vector<const Path*> screws = paths(scene, Fill::screw);
  ASSERT_GE(screws.size(), 2U);
  EXPECT_NEAR(box_of(*screws[0]).right - holes[0].left, 2 * scale, 1e-9);
  EXPECT_NEAR(holes[1].right - box_of(*screws[1]).left, 2 * scale, 1e-9);
}

TEST(Section, MillimetresReachTheFile) {
  Scene scene = draw_section(section("Blocks", blocks(), blocks()));
  const double scale = said_scale(scene);
  const std::string svg = to_svg(scene);
  EXPECT_NE(svg.find("width=\"180mm\""), std::string::npos);
  EXPECT_NE(svg.find("viewBox=\"0 0 180 "), std::string::npos);
  // The post's face stands 42 mm from the sheet's left edge, the key's end 1 mm of the real thing
  // further in: the hole begins there.
  EXPECT_NE(svg.find(std::string("M") + short_number(42 + scale) + " "), std::string::npos);
}

TEST(Section, BothEndsUseOneScaleAndItIsSaid) {
  JointView large = blocks();
  for (OutlinePoint& p : large.hole) p.radius = p.radius * 3;
  large.key_end_radius = mm(4.5);
  const double small_scale = said_scale(draw_section(section("", blocks(), blocks())));
  const double both_scale = said_scale(draw_section(section("", blocks(), large)));
  EXPECT_LT(both_scale, small_scale);
}

TEST(Section, TheLowerJointIsTheUpperOneMirrored) {
  const Scene scene = draw_section(section("Twins", matched_cone(), matched_cone()));
  for (const Fill fill : {Fill::post, Fill::key, Fill::screw}) {
    const std::vector<const Path*> parts = paths(scene, fill);
    ASSERT_EQ(parts.size(), 3U) << "two joints and the legend";
    ASSERT_EQ(parts[0]->spots.size(), parts[1]->spots.size());
    for (std::size_t i = 0; i < parts[0]->spots.size(); ++i) {
      EXPECT_NEAR(in_millimetres(parts[0]->spots[i].x), 180 - in_millimetres(parts[1]->spots[i].x), 1e-9);
      EXPECT_NEAR(in_millimetres(parts[0]->spots[i].y), in_millimetres(parts[1]->spots[i].y), 1e-9);
    }
  }
}

TEST(Section, SaysWhatTheKeyRidesOn) {
  const auto said = [](const JointView& j) { return texts(draw_section(section("", j, JointView()))); };
  EXPECT_TRUE(has(said(matched_cone()), "rides on its flank"));
  EXPECT_TRUE(has(said(straight_hole()), "rides on its rim"));
  EXPECT_TRUE(has(said(tip_on_floor()), "stands on the floor of its hole"));
  EXPECT_TRUE(has(said(ball_point()), "rides on its rounding"));
  EXPECT_TRUE(has(said(bell_mouth()), "rides on an edge inside the hole"));
  EXPECT_TRUE(has(said(rod_joint()), "runs on its rod"));
  JointView on_face = matched_cone();
  on_face.regime = "face";
  EXPECT_TRUE(has(said(on_face), "stands on the post's face"));
  EXPECT_TRUE(has(said(JointView()), "not measured yet"));
}

TEST(Section, MarksTheContactWhereItIs) {
  const Scene scene = draw_section(section("", straight_hole(), JointView()));
  const double scale = said_scale(scene);
  std::vector<Point2> dots;
  for (const Shape& shape : scene.shapes) {
    const auto* c = std::get_if<Circle>(&shape);
    if (c != nullptr && c->fill == Fill::contact)
      dots.push_back({in_millimetres(c->centre.x), in_millimetres(c->centre.y)});
  }
  ASSERT_EQ(dots.size(), 3U) << "above and below the axis, and in the legend";
  EXPECT_NEAR(dots[0].x, 42 + 0.22 * scale, 1e-9);
  EXPECT_NEAR(dots[1].y - dots[0].y, 2 * 0.95 * scale, 1e-9);
}

TEST(Section, SeatCutIsHatchedToScaleAndSaid) {
  const SectionView view = loose_matched_cone();
  const Scene scene = draw_section(view);
  const double scale = said_scale(scene);
  EXPECT_TRUE(has(texts(scene), "Now"));
  EXPECT_TRUE(has(texts(scene), "After the work"));
  EXPECT_TRUE(has(texts(scene), "seat deeper by 0.065 mm"));
  EXPECT_TRUE(has(texts(scene), "seat deeper by 0.050 mm"));
  const std::vector<const Path*> cuts = paths(scene, Fill::cut);
  ASSERT_EQ(cuts.size(), 5U) << "two at each end, and the legend";
  EXPECT_NEAR(box_of(*cuts[0]).width(), 0.065 * scale, 1e-9);
  EXPECT_NEAR(box_of(*cuts[2]).width(), 0.050 * scale, 1e-9);
  // As wide as the head stands out over the screw's body.
  const double body = 0.45 + 3.4 * slope(12);
  EXPECT_NEAR(box_of(*cuts[0]).height(), (2.0 - body) * scale, 0.03 * scale);
}

TEST(Section, ReamedMetalIsHatchedAndSaid) {
  const Scene scene = draw_section(binding_reamed());
  const double wider = 2 * 0.1 * slope(12);
  EXPECT_TRUE(has(texts(scene), "hole wider by " + show_length(mm(wider), LengthUnit::mm, 3)));
  EXPECT_EQ(paths(scene, Fill::cut).size(), 3U) << "above and below the axis, and the legend";
  EXPECT_TRUE(has(texts(scene), "no work at this end"));
}

TEST(Section, TheAmountOpenedIsTheLargest) {
  // A straight hole under a conical reamer: 0.25 mm wider in radius at its mouth, nothing farther in.
  SectionView view = section("", straight_hole(), JointView());
  JointView after = view.upper;
  after.hole = {{mm(0), mm(1.2)}, {mm(1), mm(0.95)}, {mm(3), mm(0.95)}, {mm(3), mm(0)}};
  // And a little deeper in, as a second knot.
  after.hole.insert(after.hole.begin() + 1, {mm(0.5), mm(1.0)});
  view.upper_after = after;
  const Scene scene = draw_section(view);
  EXPECT_TRUE(has(texts(scene), "hole wider by 0.500 mm"));
  const std::vector<const Path*> cuts = paths(scene, Fill::cut);
  ASSERT_EQ(cuts.size(), 3U);
  EXPECT_NEAR(box_of(*cuts[0]).width(), 1.0 * said_scale(scene), 1e-6)
      << "hatched over the length that was opened";
  EXPECT_NEAR(box_of(*cuts[0]).height(), 0.25 * said_scale(scene), 1e-6);
}

TEST(Section, FacedKeyEndIsHatchedAndSaid) {
  SectionView view = section("", matched_cone(), matched_cone());
  JointView after = view.upper;
  for (OutlinePoint& p : after.hole) p.along -= mm(0.2);
  after.hole[0] = {mm(0), after.hole[0].radius - mm(0.2 * slope(12))};
  after.insertion -= mm(0.2);
  after.face_gap += mm(0.2);
  view.upper_after = after;
  const Scene scene = draw_section(view);
  EXPECT_TRUE(has(texts(scene), "end shorter by 0.200 mm"));
  EXPECT_FALSE(has_part(texts(scene), "hole wider"));
  EXPECT_FALSE(has_part(texts(scene), "seat deeper"));
}

TEST(Section, NothingTakenNothingHatched) {
  SectionView view = section("", matched_cone(), straight_hole());
  view.upper_after = view.upper;
  const Scene scene = draw_section(view);
  EXPECT_TRUE(paths(scene, Fill::cut).empty());
  EXPECT_FALSE(has(texts(scene), "metal gone"));
}

TEST(Section, InchesEverywhereOrNowhere) {
  SectionView view = loose_matched_cone();
  view.subtitle.clear();
  view.work_upper.clear();
  view.work_lower.clear();
  view.unit = LengthUnit::inch;
  const Scene scene = draw_section(view);
  EXPECT_FALSE(has_part(texts(scene), " mm"));
  EXPECT_EQ(scene.description.find(" mm"), std::string::npos);
  EXPECT_TRUE(has(texts(scene), "seat deeper by 0.0026 in"));
}

TEST(Section, UnknownMeasuresAreDashed) {
  JointView j = matched_cone();
  const auto dashed = [](const Scene& scene) {
    return std::count_if(scene.shapes.begin(), scene.shapes.end(), [](const Shape& s) {
      const auto* p = std::get_if<Path>(&s);
      return p != nullptr && p->ink == Ink::hidden;
    });
  };
  EXPECT_EQ(dashed(draw_section(section("", j, JointView()))), 0);
  j.key_end_radius = Length();
  EXPECT_EQ(dashed(draw_section(section("", j, JointView()))), 2);
  j.post_thickness = mm(std::numeric_limits<double>::quiet_NaN());
  EXPECT_EQ(dashed(draw_section(section("", j, JointView()))), 3);
}

TEST(Section, NumbersEveryPartOnce) {
  const Numbered numbered = draw_numbered_section(loose_matched_cone());
  ASSERT_EQ(numbered.parts.size(), 9U);
  for (std::size_t i = 1; i <= numbered.parts.size(); ++i)
    EXPECT_TRUE(has(texts(numbered.scene), std::to_string(i))) << i;
  const std::set<JointPart> once(numbered.parts.begin(), numbered.parts.end());
  EXPECT_EQ(once.size(), numbered.parts.size());
  EXPECT_FALSE(has_part(texts(numbered.scene), "rides on")) << "no answers on it";
  EXPECT_EQ(off_sheet(numbered.scene), "");
  const Numbered rod = draw_numbered_section(section("Rod", rod_joint(), rod_joint()));
  EXPECT_TRUE(std::find(rod.parts.begin(), rod.parts.end(), JointPart::rod) != rod.parts.end());
}

TEST(Section, OneJointOrOnlyAfterwards) {
  SectionView view = loose_matched_cone();
  view.sides = SectionView::Sides::lower;
  Scene scene = draw_section(view);
  EXPECT_FALSE(has_part(texts(scene), "Upper joint"));
  EXPECT_TRUE(has_part(texts(scene), "Lower joint"));
  view.only_after = true;
  scene = draw_section(view);
  EXPECT_FALSE(has(texts(scene), "Now"));
  EXPECT_TRUE(has(texts(scene), "seat deeper by 0.050 mm"));
  EXPECT_EQ(off_sheet(scene), "");
}

TEST(Section, StaysOnItsSheet) {
  std::vector<SectionView> views = {
      loose_matched_cone(), binding_reamed(), section("", straight_hole(), tip_on_floor()),
      section("", ball_point(), bell_mouth()), section("", rod_joint(), rod_joint())};
  views[1].unit = LengthUnit::inch;
  for (SectionView& view : views) {
    EXPECT_EQ(off_sheet(draw_section(view)), "");
    view.title = std::string(400, 'W');
    view.subtitle = "a subtitle that goes on " + std::string(900, 'x') + " and on";
    view.work_upper.assign(
        9, "a step that takes many words to say and then some more words, and a few more after them all");
    view.upper.regime = "something nobody has thought of yet and that needs many words";
    EXPECT_EQ(off_sheet(draw_section(view)), "");
  }
}

RC_GTEST_PROP(Section, NoMeasureBreaksIt, ()) {
  const auto joint = [] {
    JointView j;
    for (Outline* outline : {&j.point, &j.hole}) {
      const int count = *rc::gen::inRange(0, 6);
      for (int i = 0; i < count; ++i) outline->push_back({any_length(), any_length()});
    }
    j.insertion = any_length();
    j.face_gap = any_length();
    j.key_end_radius = any_length();
    j.post_thickness = any_length();
    j.head_radius = any_length();
    j.head_height = any_length();
    j.headed = *rc::gen::arbitrary<bool>();
    j.rod = *rc::gen::inRange(0, 4) == 0;
    j.rod_radius = any_length();
    j.bore_radius = any_length();
    j.regime =
        *rc::gen::element(std::string(""), std::string("flank"), std::string("rim"), std::string("face"));
    j.touch_depth = any_length();
    j.touch_radius = any_length();
    j.touch_length = any_length();
    return j;
  };
  SectionView v;
  v.title = "Any";
  v.upper = joint();
  v.lower = joint();
  v.upper_after = joint();
  const Scene scene = draw_section(v);
  RC_ASSERT(off_sheet(scene) == "");
  const std::string svg = to_svg(scene);
  RC_ASSERT(svg.find("nan") == std::string::npos);
  RC_ASSERT(svg.find("inf") == std::string::npos);
}

}  // namespace
}  // namespace hingeline::drawing
