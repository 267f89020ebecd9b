#pragma once
/// \file
/// A paper before it is pages: blocks one under the other, and what stands at the head and foot of every
/// page.
///
/// Lengths are millimetres of paper. Nothing here knows what a key is.

#include <string>
#include <variant>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/drawing/print.h"
#include "hingeline/drawing/scene.h"
#include "hingeline/papers/voice.h"

namespace hingeline::papers {

enum class Sheet { a4, letter };
/// "a4", "letter".
const char* word(Sheet sheet);

struct Heading {
  std::string text;
  int level = 2;  ///< 1: the paper's name; 2; 3
};
struct Prose {
  std::string text;
  bool bold = false;
};
/// Sentences one by one, each behind a mark.
struct Points {
  enum class Mark { dot, number, box } mark = Mark::dot;  ///< box: to be ticked
  std::vector<std::string> texts;
};
struct Column {
  std::string title;
  double share = 1;  ///< of the width, against the others'
  bool right = false;
  bool whole = false;  ///< figures that belong together: on one line, where other columns can spare the width
};
/// Rows are never cut: where one does not fit, it begins the next page, under the head again.
struct Table {
  std::vector<Column> columns;
  std::vector<std::vector<std::string>> rows;  ///< as many cells as columns; fewer: the rest stays empty
  bool headed = true;
  bool last_bold = false;  ///< a total
  bool small = false;      ///< smaller letters and closer rows
};
/// A line of boxes to write in, each with its label above.
struct WriteIn {
  struct Box {
    std::string label;
    double share = 1;
  };
  std::vector<Box> boxes;
  double height = 8;
};
/// Lines to write on.
struct Lines {
  std::string label;
  int count = 3;
};
/// Framed words.
struct Framed {
  std::string heading;
  std::vector<std::string> texts;
};
/// A drawing at its own size, so that its scale stays true; one wider than the page is refused by lay_out().
struct Picture {
  drawing::Scene scene;
};
/// What machines read, as a QR code (ISO/IEC 18004, level M) with words beside it.
struct Code {
  std::string text;
  double side = 24;
  std::vector<std::string> words;
};
struct PageEnd {};
using Block = std::variant<Heading, Prose, Points, Table, WriteIn, Lines, Framed, Picture, Code, PageEnd>;

struct Paper {
  std::string title;
  std::string head_left, head_right;  ///< of every page
  std::string foot_left;
  std::vector<Block> blocks;
};

/// Width between the margins, the same on both sheets: what drawings are made for.
inline constexpr double kTextWidth = 180;

/// The paper's pages, one at least. Where a paper needs a page less when its lines stand closer, they do.
/// Columns are widened so that no word is broken, as far as others have width to spare; words that are too
/// wide for that are broken, never cut off; a table's row of more than a page is cut to one. `voice` says the
/// page numbers. Fault::usage for a picture wider than kTextWidth or taller than a page, and text too long
/// for a code.
Expected<std::vector<drawing::Scene>> lay_out(const Paper& paper, Sheet sheet, const Voice& voice);

/// A label of 90 x 50 mm to hang on an instrument: a code and lines beside it, the first one large.
Expected<drawing::Scene> tag(const std::string& code, const std::vector<std::string>& lines);

/// The pages as one PDF. `made`: the paper's day or moment, ISO 8601; the file says nothing of another.
Expected<std::string> to_pdf(const std::vector<drawing::Scene>& pages, const std::string& title,
                             const std::string& author, const std::string& made, Language language);

}  // namespace hingeline::papers
