#include "hingeline/drawing/strip.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <string>
#include <vector>

#include "any_length.h"
#include "hingeline/drawing/svg.h"
#include "sample_views.h"
#include "scene_tools.h"

namespace hingeline::drawing {
namespace {

using namespace samples;

/// "lens 40:1".
double lens_scale(const Scene& scene) {
  for (const std::string& words : texts(scene)) {
    if (words.rfind("lens ", 0) == 0) return std::stod(words.substr(5));
  }
  return 0;
}

/// The path with that filling seen in the upper (0) or lower (1) lens.
Box in_lens(const Scene& scene, Fill fill, std::size_t window) {
  for (const Path* p : paths(scene, fill)) {
    if (p->window == window) return box_of(*p);
  }
  return {};
}

TEST(Strip, KeyAndSpanAreToScale) {
  StripView view = loose_strip();
  view.span = mm(70);
  view.key_length = mm(69);
  const Scene scene = draw_hinge_strip(view);
  EXPECT_TRUE(has(texts(scene), "between posts 70.00 mm, drawn 2:1"));
  std::vector<Box> keys;
  for (const Path* p : paths(scene, Fill::paper)) {
    if (std::abs(box_of(*p).width() - 69 * 2) < 1e-9) keys.push_back(box_of(*p));
  }
  ASSERT_EQ(keys.size(), 1U);
  const std::vector<const Path*> posts = paths(scene, Fill::post);
  ASSERT_GE(posts.size(), 2U);
  EXPECT_NEAR(box_of(*posts[1]).left - box_of(*posts[0]).right, 70 * 2, 1e-9);
}

TEST(Strip, LensesMagnifyGapFreeRangeAndCut) {
  const Scene scene = draw_hinge_strip(loose_strip());
  const double scale = lens_scale(scene);
  ASSERT_GT(scale, 1);
  for (const std::size_t side : {0U, 1U}) {
    const double gap = side == 0 ? 0.30 : 0.25;
    const double cut = side == 0 ? 0.065 : 0.050;
    const Box post = in_lens(scene, Fill::post, side);
    const Box range = in_lens(scene, Fill::free_range, side);
    const Box hatched = in_lens(scene, Fill::cut, side);
    EXPECT_NEAR(range.width(), 0.160 * scale, 1e-9);
    EXPECT_NEAR(hatched.width(), cut * scale, 1e-9);
    const double found = side == 0 ? range.left - post.right : post.left - range.right;
    EXPECT_NEAR(found, gap * scale, 1e-9);
    // Taken off the play at its near end.
    EXPECT_NEAR(side == 0 ? hatched.left - range.left : range.right - hatched.right, 0, 1e-9);
  }
}

TEST(Strip, EqualEndsAreMirrorImages) {
  StripView view = loose_strip();
  view.lower = view.upper;
  const Scene scene = draw_hinge_strip(view);
  for (const Fill fill : {Fill::post, Fill::key, Fill::cut, Fill::free_range}) {
    const Box upper = in_lens(scene, fill, 0);
    const Box lower = in_lens(scene, fill, 1);
    EXPECT_NEAR(upper.left, 180 - lower.right, 1e-9);
    EXPECT_NEAR(upper.right, 180 - lower.left, 1e-9);
    EXPECT_NEAR(upper.top, lower.top, 1e-9);
  }
}

TEST(Strip, BindShowsTheOverlapAndReamingOpens) {
  const Scene scene = draw_hinge_strip(binding_strip());
  const double scale = lens_scale(scene);
  EXPECT_TRUE(has_part(texts(scene), "(binds)"));
  EXPECT_TRUE(has(texts(scene), "overlap: it binds"));
  EXPECT_NEAR(in_lens(scene, Fill::bind, 0).width(), 0.030 * scale, 1e-9);
  EXPECT_TRUE(in_lens(scene, Fill::free_range, 0).width() < 0) << "a key that binds has no free range";
  // The reamed key comes nearer to its post.
  const Box cut = in_lens(scene, Fill::cut, 0);
  const Box key = in_lens(scene, Fill::key, 0);
  EXPECT_NEAR(cut.right, key.left, 1e-9);
  EXPECT_NEAR(cut.width(), 0.075 * scale, 1e-9);
}

TEST(Strip, SaysReserveAndPad) {
  StripView view = loose_strip();
  std::vector<std::string> words = texts(draw_hinge_strip(view));
  EXPECT_TRUE(has(words, "reserve 0.610 mm: tip to floor"));
  EXPECT_TRUE(has(words, "pad gap side to side 0.021 mm"));
  EXPECT_TRUE(has(words, "allowed 0.025 mm: too much"));
  view.lower.reserve = mm(0);
  view.worst_gap = mm(0.020);
  words = texts(draw_hinge_strip(view));
  EXPECT_TRUE(has(words, "no reserve left: tip to floor"));
  EXPECT_TRUE(has(words, "allowed 0.025 mm: within it"));
  view.has_pad = false;
  EXPECT_FALSE(has_part(texts(draw_hinge_strip(view)), "pad gap"));
}

TEST(Strip, InchesEverywhereOrNowhere) {
  StripView view = short_strip_in_inches();
  view.upper.work = view.lower.work = "";
  const Scene scene = draw_hinge_strip(view);
  EXPECT_FALSE(has_part(texts(scene), " mm"));
  EXPECT_EQ(scene.description.find(" mm"), std::string::npos);
  EXPECT_TRUE(has(texts(scene), "take 0.0026 in"));
}

TEST(Strip, StaysOnItsSheet) {
  for (StripView view : {loose_strip(), binding_strip(), long_strip(), short_strip_in_inches()}) {
    EXPECT_EQ(off_sheet(draw_hinge_strip(view)), "");
    view.title = std::string(300, 'W');
    view.sentence = std::string(50, 'x') + " " + std::string(2000, 'y');
    view.verdict =
        "a verdict that has much more to say than a verdict should and therefore goes on, and on, and on, "
        "and on";
    view.upper.work = view.verdict;
    view.upper.reserve_name = view.verdict;
    EXPECT_EQ(off_sheet(draw_hinge_strip(view)), "");
    view.upper.gap_home = mm(8);
    EXPECT_EQ(off_sheet(draw_hinge_strip(view)), "");
  }
}

TEST(Strip, TextLongerThanItsPlaceEndsInAnEllipsis) {
  StripView view = loose_strip();
  view.upper.reserve_name = std::string(300, 'n');
  EXPECT_TRUE(has_part(texts(draw_hinge_strip(view)), "\u2026"));
}

RC_GTEST_PROP(Strip, NoMeasureBreaksIt, ()) {
  StripView v = loose_strip();
  v.span = any_length();
  v.key_length = any_length();
  v.end_play = any_length();
  v.end_play_pm = any_length();
  v.window_low = any_length();
  v.window_high = any_length();
  v.end_play_after = any_length();
  for (StripEnd* end : {&v.upper, &v.lower}) {
    end->gap_home = any_length();
    end->cut = any_length();
    end->reserve = any_length();
    end->work = "";
  }
  v.pad_station = any_length();
  v.tone_hole = any_length();
  v.side_gap = any_length();
  v.worst_gap = any_length();
  v.pad_gap_allowed = any_length();
  v.pad_offset = any_length();
  const Scene scene = draw_hinge_strip(v);
  RC_ASSERT(off_sheet(scene) == "");
  const std::string svg = to_svg(scene);
  RC_ASSERT(svg.find("nan") == std::string::npos);
  RC_ASSERT(svg.find("inf") == std::string::npos);
}

}  // namespace
}  // namespace hingeline::drawing
