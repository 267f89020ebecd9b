// Scenes as PDF and PNG. What lies on the paper is read back with other programs: qpdf, poppler's pdfinfo,
// pdffonts and pdftotext.

#include "hingeline/drawing/print.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cstdint>
#include <cstdio>
#include <span>
#include <sstream>
#include <thread>

#include "hingeline/drawing/svg.h"
#include "hingeline/drawing/text.h"
#include "sample_views.h"
#include "scene_tools.h"
#include "support/other_programs.h"

namespace hingeline::drawing {
namespace {

using namespace samples;
using support::Ran;
using support::run;
using support::written;

/// True to this much, mm: what the drawings promise.
constexpr double kTrue = 0.01;

const PdfFacts kFacts{"Drawings", "A bench", "A test", "en", "2026-11-27T08:00:00Z"};

std::string pdf_of(const std::vector<Scene>& pages) {
  const auto made = to_pdf(pages, kFacts);
  EXPECT_TRUE(made) << made.error().what;
  return made.value_or("");
}

/// A line of read_pdf.py.
struct Drawn {
  int page = 0;
  std::string kind;
  double width = 0;
  std::vector<Point2> points;
};
std::vector<Drawn> read_back(const std::string& file) {
  const Ran ran = run(std::string("\"") + HINGELINE_PYTHON + "\" \"" + HINGELINE_SOURCE_DIR +
                      "/tests/drawing/read_pdf.py\" " + file);
  EXPECT_EQ(ran.status, 0) << ran.said;
  std::vector<Drawn> out;
  std::istringstream lines(ran.said);
  for (std::string line; std::getline(lines, line);) {
    std::istringstream words(line);
    Drawn d;
    std::string width;
    words >> d.page >> d.kind >> width;
    if (width != "-") d.width = std::stod(width);
    for (std::string pair; words >> pair;) {
      const std::size_t comma = pair.find(',');
      d.points.push_back({std::stod(pair.substr(0, comma)), std::stod(pair.substr(comma + 1))});
    }
    out.push_back(d);
  }
  return out;
}

double distance(Point2 p, Point2 a, Point2 b) {
  const double dx = b.x - a.x;
  const double dy = b.y - a.y;
  const double length = dx * dx + dy * dy;
  const double t = length > 0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / length, 0.0, 1.0) : 0.0;
  return std::hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}
/// Whether every corner of one lies on the other's line.
bool lies_on(const std::vector<Point2>& corners, const std::vector<Point2>& line) {
  return std::all_of(corners.begin(), corners.end(), [&](Point2 p) {
    for (std::size_t i = 1; i < line.size(); ++i) {
      if (distance(p, line[i - 1], line[i]) <= kTrue) return true;
    }
    return false;
  });
}
/// Cairo leaves out corners that turn nowhere: so each has to lie on the other.
bool same(const Path& path, const Drawn& drawn) {
  std::vector<Point2> ours;
  for (const Spot& s : path.spots) ours.push_back({in_millimetres(s.x), in_millimetres(s.y)});
  std::vector<Point2> theirs = drawn.points;
  if (path.closed) {
    ours.push_back(ours.front());
    theirs.push_back(theirs.front());
  }
  return lies_on(ours, theirs) && lies_on(theirs, ours);
}

std::vector<Scene> samples_to_print() {
  SectionView true_ten = loose_matched_cone();
  true_ten.scale = 10;
  SectionView true_one = loose_matched_cone();
  true_one.scale = 1;
  return {draw_section(loose_matched_cone()), draw_section(true_ten), draw_section(true_one),
          draw_hinge_strip(loose_strip())};
}

TEST(Pdf, EveryLineLiesWhereTheSceneSays) {
  const std::vector<Scene> scenes = samples_to_print();
  const std::vector<Drawn> drawn = read_back(written("lines.pdf", pdf_of(scenes)));
  std::size_t checked = 0;
  for (std::size_t page = 0; page < scenes.size(); ++page) {
    for (const Shape& shape : scenes[page].shapes) {
      const auto* path = std::get_if<Path>(&shape);
      if (path == nullptr || path->ink == Ink::none) continue;
      ++checked;
      EXPECT_TRUE(std::any_of(drawn.begin(), drawn.end(),
                              [&](const Drawn& d) {
                                return d.page == static_cast<int>(page) + 1 && d.kind == "stroke" &&
                                       same(*path, d);
                              }))
          << "page " << page + 1 << ": a path from " << in_millimetres(path->spots[0].x) << ", "
          << in_millimetres(path->spots[0].y);
    }
  }
  EXPECT_GT(checked, 150U);
}

TEST(Pdf, LineWidthsAreThoseOfTheSvg) {
  const std::vector<Drawn> drawn =
      read_back(written("widths.pdf", pdf_of({draw_section(loose_matched_cone())})));
  for (const double width : {0.35, 0.18, 0.9, 0.15})
    EXPECT_TRUE(std::any_of(drawn.begin(), drawn.end(), [&](const Drawn& d) {
      return std::abs(d.width - width) < 0.002;
    })) << width;
}

TEST(Pdf, PagesAreAsLargeAsTheirScenes) {
  std::vector<Scene> pages(2);
  pages[0].width = mm(210);
  pages[0].height = mm(297);
  pages[1].width = inches(8.5);
  pages[1].height = inches(11);
  for (Scene& p : pages) p.shapes.emplace_back(Path{{{mm(10), mm(10)}, {mm(60), mm(10)}}});
  const Ran info = run("pdfinfo -f 1 -l 2 " + written("sizes.pdf", pdf_of(pages)));
  EXPECT_EQ(info.status, 0);
  EXPECT_NE(info.said.find("Page    1 size:  595.276 x 841.89 pts (A4)"), std::string::npos) << info.said;
  EXPECT_NE(info.said.find("Page    2 size:  612 x 792 pts (letter)"), std::string::npos) << info.said;
  EXPECT_NE(info.said.find("Title:           Drawings"), std::string::npos);
}

TEST(Pdf, OtherProgramsFindNoFault) {
  const std::string file = written("whole.pdf", pdf_of(samples_to_print()));
  const Ran checked = run("qpdf --check " + file);
  EXPECT_EQ(checked.status, 0) << checked.said;
  EXPECT_NE(checked.said.find("No syntax or stream encoding errors found"), std::string::npos)
      << checked.said;
  const Ran fonts = run("pdffonts " + file);
  EXPECT_EQ(fonts.status, 0);
  std::istringstream lines(fonts.said);
  std::string line;
  std::getline(lines, line);
  std::getline(lines, line);
  int count = 0;
  while (std::getline(lines, line)) {
    ++count;
    EXPECT_NE(line.find("+DejaVuSans"), std::string::npos) << line;
    EXPECT_NE(line.find(" yes yes yes "), std::string::npos)
        << "embedded, a part, with a map to text: " << line;
  }
  EXPECT_EQ(count, 2);
}

TEST(Pdf, ItsFiguresCanBeSearchedAndCopied) {
  const Ran text = run("pdftotext -layout " + written("text.pdf", pdf_of(samples_to_print())) + " -");
  EXPECT_EQ(text.status, 0);
  for (const char* words : {"seat deeper by 0.065 mm", "rides on its flank", "scale 10:1", "scale 1:1"})
    EXPECT_NE(text.said.find(words), std::string::npos) << words;
}

TEST(Pdf, AnyTextCanBeCopiedAsItWas) {
  Scene scene;
  scene.width = mm(180);
  scene.height = mm(40);
  scene.shapes.emplace_back(Label{{mm(2), mm(10)}, "Böckchen ± ß € ø 音 <&> \xff", mm(4)});
  // Noncharacters of Unicode, with and without letters that are shaped: no paper fails by them.
  scene.shapes.emplace_back(Label{{mm(2), mm(20)}, "a \uFDD0 \U0001FFFE b", mm(4)});
  scene.shapes.emplace_back(Label{{mm(2), mm(30)}, "\u05D0 \uFDEF \U0010FFFF b", mm(4)});
  const Ran text = run("pdftotext " + written("any.pdf", pdf_of({scene})) + " -");
  EXPECT_NE(text.said.find("Böckchen ± ß € ø 音 <&> \uFFFD"), std::string::npos) << text.said;
}

/// Where poppler's pdftotext finds a word: its left and right edge, points.
std::pair<double, double> found_at(const std::string& boxes, const std::string& word) {
  const std::size_t end = boxes.find("\">" + word + "</word>");
  const std::size_t begin = end == std::string::npos ? end : boxes.rfind("<word ", end);
  std::pair<double, double> out{0, 0};
  if (begin == std::string::npos ||
      std::sscanf(boxes.c_str() + begin, "<word xMin=\"%lf\" yMin=\"%*f\" xMax=\"%lf\"", &out.first,
                  &out.second) != 2)
    ADD_FAILURE() << word << " is not found in " << boxes;
  return out;
}

TEST(Pdf, NamesOfOtherScriptsComeOutAsTheyAreWritten) {
  Scene scene;
  scene.width = mm(180);
  scene.height = mm(100);
  const auto line = [&](const char* words, Anchor anchor = Anchor::start, double x = 10) {
    const double y = 8.0 * static_cast<double>(scene.shapes.size() + 1);
    scene.shapes.emplace_back(Label{{mm(x), mm(y)}, words, mm(4), anchor, scene.shapes.size() % 2 == 1});
  };
  line("Owner \u05E9\u05DC\u05D5\u05DD \u05DB\u05D4\u05DF, here");  // Hebrew: shalom kohen
  line("\u0628\u0628\u0628\u0628");                                 // Arabic: beh, four times joined
  line("\u0628");                                                   // and alone
  line("\u5C71\u7530 \uAE40\uBBFC\uC218");                          // Han and Hangul
  line("\u0E2A\u0E21\u0E0A\u0E32\u0E22");                           // Thai, which no face has
  line("one \u202Etwo\u202C three");                                // a mark that would turn it round
  line("\u05D0\u05D1 end", Anchor::end, 170);
  const std::string file = written("names.pdf", pdf_of({scene}));
  const std::string boxes = run("pdftotext -bbox " + file + " -").said;

  // From right to left, between what runs from left to right. To poppler each of such letters is a word.
  const auto here = found_at(boxes, "here");
  double left = here.first;
  for (const char* letter : {"\u05E9", "\u05DC", "\u05D5", "\u05DD", "\u05DB", "\u05D4", "\u05DF"}) {
    const auto at = found_at(boxes, letter);
    EXPECT_LT(at.second, left + 0.1) << letter << " stands left of the letter before it";
    left = at.first;
  }
  EXPECT_LT(found_at(boxes, "Owner").second, left);
  const std::string text = run("pdftotext " + file + " -").said;
  EXPECT_NE(text.find("\u05E9\u05DC\u05D5\u05DD \u05DB\u05D4\u05DF"), std::string::npos)
      << "found when searched: " << text;

  // Joined letters are narrower than letters alone: of four the rightmost begins, and the leftmost ends them.
  const auto joined = found_at(boxes, "\u0628");
  const auto alone_after =
      boxes.find("\u0628", boxes.find("\u0628", boxes.find("\u0628", boxes.find("\u0628") + 1) + 1) + 1);
  ASSERT_NE(alone_after, std::string::npos);
  double joined_right = 0;
  std::sscanf(boxes.c_str() + boxes.rfind("xMax=", alone_after), "xMax=\"%lf\"", &joined_right);
  const auto alone = found_at(boxes.substr(alone_after + 2), "\u0628");
  EXPECT_LT(joined_right - joined.first, 0.75 * 4 * (alone.second - alone.first));

  EXPECT_NE(run("pdffonts " + file).said.find("MicroHei"), std::string::npos);
  EXPECT_LT(found_at(boxes, "one").second, found_at(boxes, "three").first);
  EXPECT_NEAR(found_at(boxes, "end").second, 170 * 72 / 25.4, 1) << "ends where it was to end";
  for (const char* words : {"\u5C71\u7530", "\uAE40\uBBFC\uC218", "\u0E2A\u0E21\u0E0A\u0E32\u0E22"})
    EXPECT_NE(text.find(words), std::string::npos) << words << " in " << text;
}

/// Letters of every script, marks, signs and what is no letter, as names may be made of.
RC_GTEST_PROP(Pdf, AnyTextMakesAFile, ()) {
  const auto letters = *rc::gen::container<std::vector<std::uint32_t>>(rc::gen::oneOf(
      rc::gen::inRange<std::uint32_t>(0, 0x700), rc::gen::inRange<std::uint32_t>(0x2000, 0x2070),
      rc::gen::inRange<std::uint32_t>(0x4E00, 0xD7FF), rc::gen::inRange<std::uint32_t>(0xF900, 0x110000)));
  std::u32string text;
  for (const std::uint32_t c : letters) text += static_cast<char32_t>(c);
  Scene scene;
  scene.width = scene.height = mm(100);
  scene.shapes.emplace_back(Label{{mm(5), mm(10)}, utf8_of(text), mm(3)});
  scene.shapes.emplace_back(Label{{mm(95), mm(20)}, utf8_of(text), mm(3), Anchor::end, true});
  const auto made = to_pdf(std::span(&scene, 1), {.title = utf8_of(text)});
  RC_ASSERT(made.has_value());
}

TEST(Pdf, MarksBecomeStructure) {
  Scene scene;
  scene.width = mm(100);
  scene.height = mm(100);
  for (const char* words : {"A heading", "name", "value", "after"})
    scene.shapes.emplace_back(
        Label{{mm(5), mm(10 + 5 * static_cast<double>(scene.shapes.size()))}, words, mm(3)});
  scene.marks = {{Role::heading, 0, 1}, {Role::table, 1, 3}, {Role::row, 1, 3},
                 {Role::cell, 1, 2},    {Role::cell, 2, 3},  {Role::paragraph, 3, 4}};
  const std::string file = written("marks.pdf", pdf_of({scene}));
  const std::string info = run("pdfinfo " + file).said;
  EXPECT_NE(info.find("Tagged:          yes"), std::string::npos) << info;
  EXPECT_NE(run("pdfinfo -meta " + file).said.find("<dc:language>"), std::string::npos);
  EXPECT_EQ(run("qpdf --check " + file).status, 0);
  const Ran tree = run("pdfinfo -struct-text " + file);
  EXPECT_EQ(tree.status, 0);
  EXPECT_EQ(tree.said.find("Warning"), std::string::npos) << tree.said;
  for (const char* element : {"Document", "H1", "Table", "TR", "TD", "P"})
    EXPECT_NE(tree.said.find(element), std::string::npos) << element << "\n" << tree.said;
  const std::size_t name = tree.said.find("\"name\"");
  const std::size_t value = tree.said.find("\"value\"");
  EXPECT_LT(tree.said.find("\"A heading\""), name);
  EXPECT_LT(name, value);
  EXPECT_LT(value, tree.said.find("\"after\""));
}

TEST(Pdf, AFileOfManyPapersHasAPartForEach) {
  // An array of PDF/A-1 holds at most 8191 (ISO 19005-1, 6.1.12): no file of kMostPages may have a longer
  // one.
  EXPECT_LE(2 * kMostPages, 8191U) << "the tree of parents has two entries for each page";
  std::vector<Scene> pages(1000);
  for (std::size_t i = 0; i < pages.size(); ++i) {
    pages[i].width = pages[i].height = mm(50);
    pages[i].goes_on = i % 2 == 1;
    for (std::size_t k = 0; k < 9; ++k) {
      pages[i].shapes.emplace_back(Label{{mm(5), mm(10)}, "words", mm(3)});
      pages[i].marks.push_back({Role::paragraph, k, k + 1});
    }
  }
  const std::string file = written("many.pdf", pdf_of(pages));
  const Ran longest = run("qpdf --json " + file + " | \"" + HINGELINE_PYTHON + "\" -c \"" + R"(
import json, sys
def arrays(v):
    inner = v if isinstance(v, list) else v.values() if isinstance(v, dict) else []
    return max([len(v) if isinstance(v, list) else 0] + [arrays(x) for x in inner])
objects = json.load(sys.stdin)['qpdf'][1]
parts = sum(o.get('value', {}).get('/S') == '/Part' for o in objects.values() if isinstance(o.get('value'), dict))
print(arrays(objects), parts)
)" + "\"");
  EXPECT_EQ(longest.status, 0) << longest.said;
  int most = 0;
  int parts = 0;
  ASSERT_EQ(std::sscanf(longest.said.c_str(), "%d %d", &most, &parts), 2) << longest.said;
  EXPECT_GE(most, 1000) << "the pages themselves";
  EXPECT_LE(most, 8191);
  EXPECT_EQ(parts, 500);
}

TEST(Pdf, WhatIsNotSaidIsNotInTheFile) {
  const std::vector<Scene> scenes = {draw_section(loose_matched_cone())};
  for (const char* made : {"", "yesterday", "2026-11-27 08:00", "2026-11-27T08:00:00+01:00"}) {
    const auto file = to_pdf(scenes, {.title = "  ", .language = "(en)", .made = made});
    ASSERT_TRUE(file);
    const std::string info = run("pdfinfo " + written("unsaid.pdf", *file)).said;
    EXPECT_EQ(info.find("CreationDate"), std::string::npos) << "no clock: " << info;
    EXPECT_EQ(info.find("Title"), std::string::npos) << info;
    EXPECT_EQ(file->find("/Lang"), std::string::npos);
  }
}

TEST(Pdf, SameSceneSameBytesOnEveryThread) {
  const std::vector<Scene> scenes = samples_to_print();
  const std::string once = pdf_of(scenes);
  std::vector<std::string> others(4);
  {
    std::vector<std::jthread> threads;
    for (std::string& other : others)
      threads.emplace_back([&] { other = to_pdf(scenes, kFacts).value_or("none"); });
  }
  for (const std::string& other : others) EXPECT_TRUE(other == once);
  const Ran info = run("pdfinfo -rawdates " + written("once.pdf", once));
  EXPECT_NE(info.said.find("20261127080000"), std::string::npos)
      << "the day it was made comes from outside: " << info.said;
}

TEST(Pdf, WhatCannotBeAPageIsRefused) {
  EXPECT_EQ(to_pdf({}, {}).error().fault, Fault::usage);
  EXPECT_EQ(to_pdf(std::vector<Scene>(1), {}).error().fault, Fault::usage);
  Scene wild;
  wild.width = wild.height = mm(50);
  const double nan = std::numeric_limits<double>::quiet_NaN();
  wild.shapes.emplace_back(Path{{{mm(nan), mm(1)}, {mm(2), mm(1)}}});
  wild.shapes.emplace_back(Circle{{mm(1), mm(1)}, mm(1e300)});
  wild.shapes.emplace_back(Label{{mm(nan), mm(1)}, "x", mm(3)});
  wild.shapes.emplace_back(Path{{{mm(1), mm(1)}, {mm(2), mm(1)}}, false, Ink::line, Fill::none, 7});
  wild.windows.push_back({{mm(1), mm(1)}, mm(nan)});
  wild.shapes.emplace_back(Path{{{mm(1), mm(1)}, {mm(2), mm(1)}}, false, Ink::line, Fill::none, 0});
  const auto made = to_pdf(std::vector<Scene>{wild}, {});
  ASSERT_TRUE(made);
  EXPECT_EQ(run("qpdf --check " + written("wild.pdf", *made)).status, 0);
}

TEST(Png, IsAsLargeAsAskedAndNotBlank) {
  const Scene scene = draw_section(loose_matched_cone());
  const auto made = to_png(scene, 10);
  ASSERT_TRUE(made) << made.error().what;
  EXPECT_EQ(made->substr(1, 3), "PNG");
  const auto big_endian = [&](std::size_t at) {
    unsigned v = 0;
    for (std::size_t i = 0; i < 4; ++i) v = v << 8U | static_cast<unsigned char>((*made)[at + i]);
    return v;
  };
  EXPECT_EQ(big_endian(16), 1800U);
  EXPECT_EQ(big_endian(20), static_cast<unsigned>(std::ceil(in_millimetres(scene.height) * 10 - 1e-9)));
  EXPECT_TRUE(*made == to_png(scene, 10).value());
  // Pillow counts the dots that are not white.
  const Ran dark = run(std::string("\"") + HINGELINE_PYTHON +
                       "\" -c \"import sys; from PIL import Image; i=Image.open(sys.argv[1]).convert('L'); "
                       "print(sum(i.histogram()[:200])*100//(i.width*i.height))\" " +
                       written("section.png", *made));
  EXPECT_GE(std::atoi(dark.said.c_str()), 3) << dark.said;
  EXPECT_EQ(to_png(scene, 0).error().fault, Fault::usage);
  EXPECT_EQ(to_png(scene, 200).error().fault, Fault::usage);
  Scene wide;
  wide.width = mm(9000);
  wide.height = mm(1);
  EXPECT_EQ(to_png(wide, 10).error().fault, Fault::usage);
}

// ---- true to scale
// -----------------------------------------------------------------------------------------

/// x of the points of an SVG path, as a reader of the file sees them.
std::vector<Point2> svg_points(const std::string& svg, std::size_t from) {
  std::vector<Point2> out;
  const std::size_t begin = svg.find("d=\"", from) + 3;
  std::istringstream d(svg.substr(begin, svg.find('"', begin) - begin));
  for (char op = 0; d >> op && op != 'Z';) {
    Point2 p;
    d >> p.x >> p.y;
    out.push_back(p);
  }
  return out;
}

class TrueScale : public ::testing::TestWithParam<double> {};

TEST_P(TrueScale, LengthsInTheFilesAreTheRealOnesTimesTheScale) {
  SectionView view = section("Measured", matched_cone(), straight_hole());
  view.scale = GetParam();
  const Scene scene = draw_section(view);
  EXPECT_TRUE(has_part(texts(scene), view.scale == 1 ? "scale 1:1" : "scale 10:1"));
  const std::vector<Drawn> pdf = read_back(written("true.pdf", pdf_of({scene})));
  const std::string svg = to_svg(scene);
  // The upper screw: tip 0.45 mm in radius, protrusion 2.8 + 0.3 mm from the post's face; the post 3.6 mm
  // thick.
  const std::vector<const Path*> screws = paths(scene, Fill::screw);
  ASSERT_FALSE(screws.empty());
  const std::string fill = "-screw)";
  std::size_t at = svg.find("<path", svg.find("</defs>"));
  while (svg.substr(at, svg.find("/>", at) - at).find(fill) == std::string::npos)
    at = svg.find("<path", at + 5);
  const std::vector<Point2> in_svg = svg_points(svg, at);
  const auto in_pdf = std::find_if(pdf.begin(), pdf.end(),
                                   [&](const Drawn& d) { return d.kind == "stroke" && same(*screws[0], d); });
  ASSERT_NE(in_pdf, pdf.end());
  for (const std::vector<Point2>* points : {&in_svg, &in_pdf->points}) {
    double tip = -1e9;
    double top = 1e9;
    double bottom = -1e9;
    for (const Point2& p : *points) tip = std::max(tip, p.x);
    for (const Point2& p : *points) {
      if (p.x < tip - 1e-3) continue;
      top = std::min(top, p.y);
      bottom = std::max(bottom, p.y);
    }
    EXPECT_NEAR(bottom - top, 2 * 0.45 * view.scale, kTrue) << "the tip's flat";
    // The post's face, read from the same file: the right edge of the post's hatched outline.
    const std::vector<const Path*> posts = paths(scene, Fill::post);
    const double face = box_of(*posts[0]).right;
    EXPECT_NEAR(tip - face, 3.1 * view.scale, kTrue) << "the protrusion";
  }
}

TEST_P(TrueScale, TheContactLiesWhereTheViewSays) {
  // On its flank over the 2.8 mm that are inside, from the key's end on; on a rim at radius 0.95.
  SectionView view = section("Contact", matched_cone(), straight_hole());
  view.scale = GetParam();
  const Scene scene = draw_section(view);
  const std::vector<Drawn> drawn = read_back(written("contact.pdf", pdf_of({scene})));
  std::vector<const Drawn*> flanks;
  for (const Drawn& d : drawn) {
    if (d.kind == "stroke" && std::abs(d.width - 0.9) < 0.01 && d.points.size() == 2) flanks.push_back(&d);
  }
  ASSERT_EQ(flanks.size(), 3U) << "two flanks, and the legend";
  const double face = box_of(*paths(scene, Fill::post)[0]).right;
  EXPECT_NEAR(flanks[0]->points[0].x - face, 0.30 * view.scale, kTrue);
  EXPECT_NEAR(flanks[0]->points[1].x - face, 3.10 * view.scale, kTrue);
  const double fall = std::abs(flanks[0]->points[1].y - flanks[0]->points[0].y);
  EXPECT_NEAR(fall, 2.8 * slope(12) * view.scale, kTrue) << "along the flank of 12 degrees";
}

INSTANTIATE_TEST_SUITE_P(Scales, TrueScale, ::testing::Values(1.0, 10.0));

TEST(TrueScale, WhatFindsNoRoomIsBrokenOffAndStaysOnTheSheet) {
  SectionView view = section("Large", matched_cone(), rod_joint());
  view.upper.post_thickness = mm(12);
  view.upper.key_end_radius = mm(4);
  view.scale = 10;
  EXPECT_EQ(off_sheet(draw_section(view)), "");
  view.scale = 25;
  EXPECT_EQ(off_sheet(draw_section(view)), "");
}

}  // namespace
}  // namespace hingeline::drawing
