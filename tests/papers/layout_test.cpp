// Pages laid out, and what other programs find in them.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <iterator>
#include <variant>

#include "hingeline/drawing/svg.h"
#include "hingeline/papers/paper.h"
#include "support/other_programs.h"

namespace hingeline::papers {
namespace {

using drawing::Label;
using drawing::Scene;
using support::Ran;
using support::run;
using support::written;

const Voice kVoice(Language::english, LengthUnit::mm);

std::vector<Scene> laid_out(const Paper& paper, Sheet sheet = Sheet::a4) {
  auto made = lay_out(paper, sheet, kVoice);
  EXPECT_TRUE(made) << made.error().what;
  return made.value_or(std::vector<Scene>{});
}

std::vector<const Label*> labels(const Scene& scene) {
  std::vector<const Label*> out;
  for (const auto& shape : scene.shapes) {
    if (const auto* l = std::get_if<Label>(&shape)) out.push_back(l);
  }
  return out;
}

/// As no row names two lines of a page and all its cells stand on one page: which page holds a text.
std::vector<std::size_t> pages_with(const std::vector<Scene>& pages, const std::string& text) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < pages.size(); ++i) {
    for (const Label* l : labels(pages[i])) {
      if (l->text == text) {
        out.push_back(i);
        break;
      }
    }
  }
  return out;
}

Table long_table(std::size_t rows) {
  Table table;
  table.columns = {{"Key", 1}, {"What", 3}, {"Minutes", 1, true}};
  for (std::size_t i = 0; i < rows; ++i)
    table.rows.push_back(
        {fmt::format("begin{}", i),
         "some words that go over more than one line of this column, so that a row has a middle "
         "and an end to be cut from its beginning",
         fmt::format("end{}", i)});
  return table;
}

TEST(Layout, RowsAreNeverCutAndTheHeadComesAgain) {
  Paper paper;
  paper.title = "Rows";
  paper.blocks = {Heading{"Rows", 1}, long_table(60)};
  for (const Sheet sheet : {Sheet::a4, Sheet::letter}) {
    const std::vector<Scene> pages = laid_out(paper, sheet);
    ASSERT_GT(pages.size(), 2U);
    for (std::size_t i = 0; i < 60; ++i) {
      const auto first = pages_with(pages, fmt::format("begin{}", i));
      ASSERT_EQ(first.size(), 1U);
      EXPECT_EQ(first, pages_with(pages, fmt::format("end{}", i)));
    }
    EXPECT_EQ(pages_with(pages, "Minutes").size(), pages.size()) << "on every page";
    for (const Scene& page : pages) {
      const double foot = in_millimetres(page.height) - 16;
      for (const Label* l : labels(page)) {
        const double y = in_millimetres(l->at.y);
        const bool edge = y < 14 || y > in_millimetres(page.height) - 13;
        EXPECT_TRUE(edge || (y >= 20 && y <= foot)) << l->text << " at " << y;
      }
    }
  }
}

TEST(Layout, AHeadingStaysWithWhatItHeads) {
  for (int lines = 40; lines < 70; ++lines) {
    Paper paper;
    for (int i = 0; i < lines; ++i) paper.blocks.emplace_back(Prose{fmt::format("line {}", i)});
    paper.blocks.emplace_back(Heading{"Heading", 2});
    paper.blocks.emplace_back(Prose{"headed"});
    const std::vector<Scene> pages = laid_out(paper);
    EXPECT_EQ(pages_with(pages, "Heading"), pages_with(pages, "headed")) << lines;
  }
}

TEST(Layout, ATotalDoesNotStandAloneOverleaf) {
  for (std::size_t rows = 2; rows < 40; ++rows) {
    Paper paper;
    Table table = long_table(rows);
    table.last_bold = true;
    paper.blocks = {table};
    const std::vector<Scene> pages = laid_out(paper);
    EXPECT_EQ(pages_with(pages, fmt::format("begin{}", rows - 1)),
              pages_with(pages, fmt::format("begin{}", rows - 2)))
        << rows;
  }
}

TEST(Layout, ASignatureDoesNotStandAloneOverleaf) {
  for (int lines = 40; lines < 80; ++lines) {
    Paper paper;
    for (int i = 0; i < lines; ++i) paper.blocks.emplace_back(Prose{fmt::format("line {}", i)});
    paper.blocks.emplace_back(WriteIn{{{"Signature", 1}}, 11});
    const std::vector<Scene> pages = laid_out(paper);
    EXPECT_EQ(pages_with(pages, "Signature"), pages_with(pages, fmt::format("line {}", lines - 1))) << lines;
  }
}

TEST(Layout, LinesStandCloserWhereThatSavesAPage) {
  const auto paper_of = [](int lines) {
    Paper paper;
    for (int i = 0; i < lines; ++i) paper.blocks.emplace_back(Prose{fmt::format("line {}", i)});
    return paper;
  };
  // From one line down to the next, mm.
  const auto step = [](const Scene& page) {
    const auto of = labels(page);
    return in_millimetres(of[1]->at.y - of[0]->at.y);
  };
  const double wide = step(laid_out(paper_of(2))[0]);
  double last = wide;
  int close = 0;
  for (int lines = 20; lines < 90; ++lines) {
    const std::vector<Scene> pages = laid_out(paper_of(lines));
    if (pages.size() > 1) break;
    last = step(pages[0]);
    if (last < wide) ++close;
    for (const Label* l : labels(pages[0])) {
      const double y = in_millimetres(l->at.y);
      EXPECT_TRUE(y < in_millimetres(pages[0].height) - 16 || y > in_millimetres(pages[0].height) - 13)
          << l->text;
    }
  }
  EXPECT_LT(last, wide);
  EXPECT_GE(last, 3.0 * 1.2) << "lines of 3 mm do not run together";
  EXPECT_GE(close, 3) << "so many lines more on one page";
}

TEST(Layout, ColumnsAreWidenedBeforeAWordIsBroken) {
  Paper paper;
  Table table;
  table.columns = {{"Wiederholungen", 0.5, true}, {"a", 1, false, true}, {"What", 9}};
  table.rows = {{"1", "0.0007 \u00B1 0.0002", "some words"}};
  paper.blocks = {table};
  const auto pages = laid_out(paper);
  for (const char* whole : {"Wiederholungen", "0.0007 \u00B1 0.0002"})
    EXPECT_EQ(pages_with(pages, whole).size(), 1U);
  // What nobody has the width for is broken as before.
  table.columns = {{std::string(60, 'W'), 1}, {std::string(60, 'W'), 1}};
  table.rows.clear();
  paper.blocks = {table};
  for (const Label* l : labels(laid_out(paper)[0])) EXPECT_LT(l->text.size(), 60U);
}

TEST(Layout, HostileWordsStayOnThePageWhole) {
  const std::string name = std::string(300, 'W');
  Paper paper;
  paper.title = name;
  paper.head_left = name;
  paper.head_right = name;
  paper.foot_left = name;
  Table table;
  table.columns = {{name, 1}, {"b", 1}, {"c", 1}, {"d", 1}, {"e", 1}, {"f", 1}};
  table.rows = {{name, name}, {"<&>\"'\x01\xff {} {0} %s", "音 ß ø", "", "", "", "x"}};
  paper.blocks = {Heading{name, 1},
                  Prose{name},
                  Points{Points::Mark::box, {name}},
                  table,
                  WriteIn{{{name, 1}, {"b", 1}}, 9},
                  Framed{name, {name}},
                  Code{"code", 24, {name}}};
  const std::vector<Scene> pages = laid_out(paper);
  std::size_t letters = 0;
  for (const Scene& page : pages) {
    const double right = in_millimetres(page.width) - 14.9;
    for (const Label* l : labels(page)) {
      const auto n = static_cast<std::size_t>(std::count(l->text.begin(), l->text.end(), 'W'));
      letters += n;
      if (l->anchor != drawing::Anchor::start || n < 2) continue;
      // 0.989 of the size for a W, 1.103 in bold (hmtx of DejaVu Sans 2.37).
      EXPECT_LE(in_millimetres(l->at.x) +
                    static_cast<double>(n) * in_millimetres(l->size) * (l->bold ? 1.103 : 0.989),
                right + 0.01);
    }
  }
  EXPECT_GE(letters, 9 * 300U) << "heading, prose, point, three cells, label, frame twice, code";
  const auto pdf = to_pdf(pages, paper.title, "", "2026-11-27", Language::english);
  ASSERT_TRUE(pdf);
  EXPECT_EQ(run("qpdf --check " + written("hostile.pdf", *pdf)).status, 0);
}

TEST(Layout, ARowOfMoreThanAPageIsCutToOne) {
  Paper paper;
  Table table;
  table.columns = {{"a", 1}, {"b", 9}};
  table.rows = {{std::string(4000, 'W'), "x"}, {"after", "y"}};
  paper.blocks = {table};
  const std::vector<Scene> pages = laid_out(paper);
  EXPECT_LE(pages.size(), 3U);
  EXPECT_EQ(pages_with(pages, "after").size(), 1U);
}

TEST(Layout, PicturesKeepTheirScale) {
  Scene scene;
  scene.width = millimetres(100);
  scene.height = millimetres(50);
  scene.windows.push_back({{millimetres(10), millimetres(10)}, millimetres(5)});
  scene.shapes.emplace_back(
      drawing::Path{{{millimetres(0), millimetres(0)}, {millimetres(100), millimetres(50)}},
                    false,
                    drawing::Ink::line,
                    drawing::Fill::none,
                    0});
  Paper paper;
  paper.blocks = {Picture{scene}, Picture{scene}};
  const std::vector<Scene> pages = laid_out(paper);
  ASSERT_EQ(pages.size(), 1U);
  ASSERT_EQ(pages[0].windows.size(), 2U);
  std::vector<const drawing::Path*> placed;
  for (const auto& shape : pages[0].shapes) {
    const auto* p = std::get_if<drawing::Path>(&shape);
    if (p != nullptr && p->window) placed.push_back(p);
  }
  ASSERT_EQ(placed.size(), 2U);
  EXPECT_EQ(placed[1]->window, std::optional<std::size_t>(1));
  for (const auto* p : placed) {
    EXPECT_NEAR(in_millimetres(p->spots[1].x - p->spots[0].x), 100, 1e-9);
    EXPECT_NEAR(in_millimetres(p->spots[1].y - p->spots[0].y), 50, 1e-9);
  }
  scene.width = millimetres(181);
  paper.blocks = {Picture{scene}};
  EXPECT_EQ(lay_out(paper, Sheet::a4, kVoice).error().fault, Fault::usage);
  scene.width = millimetres(10);
  scene.height = millimetres(270);
  paper.blocks = {Picture{scene}};
  EXPECT_EQ(lay_out(paper, Sheet::a4, kVoice).error().fault, Fault::usage);
}

TEST(Layout, AnEmptyPaperIsOnePage) { EXPECT_EQ(laid_out(Paper{}).size(), 1U); }

TEST(Layout, TablesAreTablesToAReader) {
  Paper paper;
  paper.title = "Tagged";
  paper.blocks = {Heading{"Tagged", 1}, long_table(30), Prose{"after"}};
  const auto pdf = to_pdf(laid_out(paper), paper.title, "", "2026-11-27", Language::german);
  ASSERT_TRUE(pdf);
  const Ran tree = run("pdfinfo -struct-text " + written("tagged.pdf", *pdf));
  EXPECT_EQ(tree.said.find("Warning"), std::string::npos) << tree.said.substr(0, 400);
  for (const char* element : {"Document", "H1", "Table", "TR", "TH", "TD"})
    EXPECT_NE(tree.said.find(element), std::string::npos) << element;
  // In the order of reading.
  EXPECT_LT(tree.said.find("\"begin0\""), tree.said.find("\"end0\""));
  EXPECT_LT(tree.said.find("\"end0\""), tree.said.find("\"begin1\""));
}

/// Its finder squares are seven squares wide (ISO/IEC 18004).
TEST(Tag, HoldsACodeAndItsLines) {
  const auto made = tag("hl:0190-demo", {"Alto saxophone", "No. 12345", std::string(300, 'W'), "27.11.2026"});
  ASSERT_TRUE(made);
  EXPECT_EQ(in_millimetres(made->width), 90);
  EXPECT_EQ(in_millimetres(made->height), 50);
  std::vector<std::string> words;
  for (const Label* l : labels(*made)) {
    words.push_back(l->text);
    EXPECT_LE(in_millimetres(l->at.y), 49);
  }
  EXPECT_NE(std::find(words.begin(), words.end(), "27.11.2026"), words.end())
      << "a hostile line takes no other line's place";
  double dark = 0;
  double widest = 0;
  for (const auto& shape : made->shapes) {
    const auto* p = std::get_if<drawing::Path>(&shape);
    if (p == nullptr || p->fill != drawing::Fill::solid) continue;
    const double w = in_millimetres(p->spots[2].x - p->spots[0].x);
    const double h = in_millimetres(p->spots[2].y - p->spots[0].y);
    dark += w * h;
    widest = std::max(widest, w / h);
  }
  EXPECT_GE(widest, 7 - 1e-9) << "a finder's edge is seven squares long";
  EXPECT_GT(dark, 0.2 * 40 * 40 * 0.6);
  EXPECT_EQ(tag("", {}).error().fault, Fault::usage);
  EXPECT_EQ(tag(std::string(5000, 'x'), {}).error().fault, Fault::usage);
}

/// Another program reads the code, from a picture of the tag as a camera would see it.
TEST(Tag, ItsCodeIsReadByAnotherProgram) {
  for (const std::string code :
       {"0199b6f0-1c2d-7e3f-8a4b-5c6d7e8f9a0b", "hingeline Demonstration alto, DEMO-1"}) {
    const auto made = tag(code, {"Alto"});
    ASSERT_TRUE(made);
    const std::string picture = written("tag.png", drawing::to_png(*made, 8).value());
    // It complains of a message bus that a bare machine has not; what it read goes to standard output.
    EXPECT_EQ(run("(zbarimg --quiet --raw " + picture + " 2>/dev/null)").said, code + "\n");
  }
}

/// Every kind of block, as vectors: text, lines and places, not dots.
TEST(Golden, PagesAreAsTheyWere) {
  Paper paper;
  paper.title = "Every block";
  paper.head_left = "Demonstration shop";
  paper.head_right = "Every block, 2026-11-27";
  paper.foot_left = "Demonstration alto";
  Table prices = long_table(3);
  prices.last_bold = true;
  prices.small = true;
  Scene picture;
  picture.width = millimetres(60);
  picture.height = millimetres(20);
  picture.shapes.emplace_back(drawing::Path{{{millimetres(0), millimetres(0)},
                                             {millimetres(60), millimetres(0)},
                                             {millimetres(60), millimetres(20)}},
                                            true,
                                            drawing::Ink::line,
                                            drawing::Fill::post});
  paper.blocks = {Heading{"Every block", 1},
                  Prose{"Plain words that go on.", false},
                  Prose{"Bold words.", true},
                  Points{Points::Mark::dot, {"a dot"}},
                  Points{Points::Mark::number, {"a number", "another"}},
                  Points{Points::Mark::box, {"a box to tick"}},
                  Heading{"A table", 2},
                  long_table(2),
                  prices,
                  WriteIn{{{"Date", 1}, {"Signature", 2}}, 9},
                  Lines{"Notes", 2},
                  Framed{"Caution", {"Wear eye protection."}},
                  Picture{picture},
                  Code{"hingeline demonstration", 24, {"words beside", "the code"}},
                  PageEnd{},
                  Prose{"overleaf"}};
  const std::vector<Scene> pages = laid_out(paper);
  ASSERT_EQ(pages.size(), 2U);
  for (std::size_t i = 0; i < pages.size(); ++i) {
    const std::string file =
        std::string(HINGELINE_SOURCE_DIR) + "/tests/papers/golden/blocks-" + std::to_string(i + 1) + ".svg";
    const std::string now = drawing::to_svg(pages[i]);
    if (std::getenv("HINGELINE_UPDATE_GOLDEN") != nullptr) std::ofstream(file, std::ios::binary) << now;
    std::ifstream in(file, std::ios::binary);
    const std::string was{std::istreambuf_iterator<char>(in), {}};
    EXPECT_TRUE(was == now) << file << " differs; look at it, then write it with HINGELINE_UPDATE_GOLDEN=1";
  }
}

TEST(Papers, SameInputSameBytes) {
  Paper paper;
  paper.title = "Same";
  paper.blocks = {Heading{"Same", 1}, long_table(80), Code{"x", 20, {"y"}}};
  const auto one = to_pdf(laid_out(paper), "t", "a", "2026-11-27", Language::english);
  const auto other = to_pdf(laid_out(paper), "t", "a", "2026-11-27", Language::english);
  ASSERT_TRUE(one && other);
  EXPECT_TRUE(*one == *other);
}

}  // namespace
}  // namespace hingeline::papers
