#include "hingeline/drawing/svg.h"

#include <gtest/gtest.h>

#include <clocale>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include "sample_plates.h"
#include "sample_views.h"
#include "scene_tools.h"

namespace hingeline::drawing {
namespace {

using namespace samples;
namespace fs = std::filesystem;

const fs::path kGolden = fs::path(HINGELINE_SOURCE_DIR) / "tests/drawing/golden";

std::string read(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}
void write(const fs::path& file, const std::string& text) { std::ofstream(file, std::ios::binary) << text; }

std::vector<std::pair<std::string, Scene>> all_samples() {
  SectionView inches_view = section("Ball point above, bell-mouth below", ball_point(), bell_mouth());
  inches_view.unit = LengthUnit::inch;
  SectionView ten = loose_matched_cone();
  ten.scale = 10;
  std::vector<std::pair<std::string, Scene>> out = plate_samples();
  out.emplace_back("section-numbered", draw_numbered_section(loose_matched_cone()).scene);
  out.emplace_back("section-ten-to-one", draw_section(ten));
  const std::vector<std::pair<std::string, Scene>> more = {
      {"section-cone-seat-cut", draw_section(loose_matched_cone())},
      {"section-ream", draw_section(binding_reamed())},
      {"section-rim-and-floor",
       draw_section(section("Straight hole above, tip on the floor below", straight_hole(), tip_on_floor()))},
      {"section-ball-and-bell-inch", draw_section(inches_view)},
      {"section-rod", draw_section(section("Rod", rod_joint(), rod_joint()))},
      {"section-unmeasured", draw_section(section("Nothing measured", {}, {}))},
      {"strip-loose", draw_hinge_strip(loose_strip())},
      {"strip-binds", draw_hinge_strip(binding_strip())},
      {"strip-400-mm", draw_hinge_strip(long_strip())},
      {"strip-12-mm-inch", draw_hinge_strip(short_strip_in_inches())}};
  out.insert(out.end(), more.begin(), more.end());
  return out;
}

Scene with_text(std::string text) {
  Scene scene;
  scene.width = mm(20);
  scene.height = mm(10);
  scene.title = text;
  scene.description = text;
  scene.shapes.emplace_back(Label{{mm(1), mm(5)}, std::move(text), mm(3)});
  return scene;
}

Scene with_line(double x, double y) {
  Scene scene;
  scene.width = mm(20);
  scene.height = mm(10);
  scene.shapes.emplace_back(Path{{{mm(0), mm(0)}, {mm(x), mm(y)}}});
  return scene;
}

TEST(Golden, DrawingsAreByteForByteAsTheyWere) {
  const bool update = std::getenv("HINGELINE_UPDATE_GOLDEN") != nullptr;
  for (const auto& [name, scene] : all_samples()) {
    const fs::path file = kGolden / (name + ".svg");
    const std::string now = to_svg(scene);
    if (update) write(file, now);
    ASSERT_TRUE(fs::exists(file)) << file << " is missing; HINGELINE_UPDATE_GOLDEN=1 writes it";
    EXPECT_TRUE(read(file) == now) << name
                                   << " differs; look at it, then write it with HINGELINE_UPDATE_GOLDEN=1";
  }
}

TEST(Golden, NothingElseLiesThere) {
  std::vector<std::string> names;
  for (const auto& sample : all_samples()) names.push_back(sample.first + ".svg");
  for (const auto& entry : fs::directory_iterator(kGolden))
    EXPECT_TRUE(has(names, entry.path().filename().string())) << entry.path() << " belongs to no drawing";
}

/// One run of Python's XML reader over all files.
TEST(Svg, IsWellFormedAndComplete) {
  const fs::path folder = fs::path(HINGELINE_BINARY_DIR) / "drawing-test";
  fs::remove_all(folder);
  fs::create_directories(folder);
  for (const auto& [name, scene] : all_samples()) write(folder / (name + ".svg"), to_svg(scene));
  write(folder / "hostile.svg",
        to_svg(with_text("<&>\"'\x01\x1f ]]> \xff\xc0\xaf \xed\xa0\x80 \xef\xbf\xbf \xf4\x90\x80\x80 é 音")));
  const fs::path script = fs::path(HINGELINE_SOURCE_DIR) / "tests/drawing/check_svg.py";
  const std::string command = std::string("\"") + HINGELINE_PYTHON + "\" \"" + script.string() + "\" \"" +
                              folder.string() + "\" 2>&1";
  std::FILE* pipe = popen(command.c_str(), "r");
  ASSERT_NE(pipe, nullptr);
  std::string said;
  for (int c = std::fgetc(pipe); c != EOF; c = std::fgetc(pipe)) said += static_cast<char>(c);
  EXPECT_EQ(pclose(pipe), 0);
  EXPECT_EQ(said, "checked " + std::to_string(all_samples().size() + 1) + "\n");
}

TEST(Svg, EscapesText) {
  const std::string svg = to_svg(with_text("<b> & \"c\" > 'd'"));
  EXPECT_NE(svg.find(">&lt;b&gt; &amp; &quot;c&quot; &gt; &#39;d&#39;</text>"), std::string::npos);
  EXPECT_NE(svg.find(">&lt;b&gt; &amp; &quot;c&quot; &gt; &#39;d&#39;</title>"), std::string::npos);
  EXPECT_NE(svg.find(">&lt;b&gt; &amp; &quot;c&quot; &gt; &#39;d&#39;</desc>"), std::string::npos);
  EXPECT_EQ(svg.find("<b>"), std::string::npos);
}

TEST(Svg, WhatIsNoTextIsReplaced) {
  EXPECT_NE(to_svg(with_text("a\x01"
                             "b"))
                .find(">a\uFFFDb</text>"),
            std::string::npos);
  EXPECT_NE(to_svg(with_text("a\xff"
                             "b"))
                .find(">a\uFFFDb</text>"),
            std::string::npos);
  EXPECT_NE(to_svg(with_text("a\nb")).find(">a b</text>"), std::string::npos);
  EXPECT_NE(to_svg(with_text("é音")).find(">é音</text>"), std::string::npos);
}

TEST(Svg, WritesShortNumbers) {
  EXPECT_NE(to_svg(with_line(1.5, 2)).find("\"M0 0L1.5 2\""), std::string::npos);
  EXPECT_NE(to_svg(with_line(-0.0001, 1.2345678)).find("\"M0 0L0 1.235\""), std::string::npos);
  EXPECT_NE(to_svg(with_line(10, 0.25)).find("\"M0 0L10 0.25\""), std::string::npos);
}

TEST(Svg, LeavesOutWhatCannotBeDrawn) {
  EXPECT_NE(to_svg(with_line(3, 4)).find("<path"), std::string::npos);
  for (const double bad :
       {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity(), 1e300, -10001.0}) {
    EXPECT_EQ(to_svg(with_line(3, bad)).find("<path"), std::string::npos);
    Scene circle;
    circle.shapes.emplace_back(Circle{{mm(1), mm(1)}, mm(bad)});
    EXPECT_EQ(to_svg(circle).find("<circle"), std::string::npos);
  }
}

TEST(Svg, SameSceneSameBytesWhateverTheLocale) {
  const std::string first = to_svg(draw_section(loose_matched_cone()));
  EXPECT_TRUE(first == to_svg(draw_section(loose_matched_cone())));
  // A decimal comma, where the machine has such a locale.
  for (const char* name : {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8"}) {
    if (std::setlocale(LC_ALL, name) != nullptr) break;
  }
  const std::string abroad = to_svg(draw_section(loose_matched_cone()));
  std::setlocale(LC_ALL, "C");
  EXPECT_TRUE(first == abroad);
}

TEST(Svg, TwoDrawingsInOnePageShareNoNames) {
  const auto names = [](const std::string& svg) {
    std::vector<std::string> out;
    for (std::size_t at = svg.find(" id=\""); at != std::string::npos; at = svg.find(" id=\"", at + 1))
      out.push_back(svg.substr(at + 5, svg.find('"', at + 5) - at - 5));
    return out;
  };
  const std::vector<std::string> strip = names(to_svg(draw_hinge_strip(loose_strip())));
  ASSERT_GE(strip.size(), 4U);
  for (const std::string& name : names(to_svg(draw_section(loose_matched_cone()))))
    EXPECT_FALSE(has(strip, name)) << name;
}

}  // namespace
}  // namespace hingeline::drawing
