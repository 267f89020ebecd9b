#include <fmt/format.h>
#include <qrencode.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <memory>
#include <optional>
#include <utility>

#include "hingeline/drawing/pen.h"
#include "hingeline/drawing/text.h"
#include "hingeline/papers/paper.h"

namespace hingeline::papers {
namespace {

using drawing::Anchor;
using drawing::Fill;
using drawing::Ink;
using drawing::Pen;
using drawing::Role;
using drawing::Scene;

constexpr double kBody = 3.0;   // letters of running text, mm
constexpr double kSmall = 2.5;  // of heads, feet and labels
constexpr double kHeadRoom = 20;
constexpr double kFootRoom = 16;
constexpr double kCellSide = 1.2;
constexpr double kCellTop = 0.9;
constexpr double kCloseTop = 0.25;  // of a small table
constexpr double kWriteStep = 7;    // between lines to write on

/// How far apart things stand.
struct Spacing {
  double line = 1.4;   ///< from line to line, of the letters' size
  double after = 2.4;  ///< from one block to the next, mm
  double between = 1;  ///< from one text to the next, mm
  double write = 1;    ///< room to write in, of what it is else
};
/// As close as is still read well, where a paper else needs a page more for a few lines.
constexpr Spacing kClose{1.25, 1.5, 0.5, 0.8};

double heading_size(int level) { return level <= 1 ? 5.6 : level == 2 ? 3.9 : 3.2; }

/// One page while it is drawn on.
class Page {
 public:
  Page(double width, double height, double left, double line) : left_(left), line_(line) {
    scene.width = millimetres(width);
    scene.height = millimetres(height);
  }
  Scene scene;

  [[nodiscard]] double left() const { return left_; }
  /// Lines from `top` down in so much width; returns where they end.
  double lines(const std::vector<std::string>& texts, double x, double top, double size, bool bold = false,
               Anchor anchor = Anchor::start) {
    Pen pen(scene);
    for (const std::string& line : texts) {
      pen.text({x, top + size}, line, size, anchor, bold);
      top += size * line_;
    }
    return top;
  }
  /// Gives all that `draw` draws that role.
  void as(Role role, const std::function<void()>& draw) {
    const std::size_t at = scene.marks.size();
    scene.marks.push_back({role, scene.shapes.size(), 0});
    draw();
    scene.marks[at].end = scene.shapes.size();
    if (scene.marks[at].end == scene.marks[at].first)
      scene.marks.erase(scene.marks.begin() + static_cast<std::ptrdiff_t>(at));
  }

 private:
  double left_;
  double line_;
};

/// What is never cut.
struct Unit {
  double height = 0;
  bool with_next = false;  ///< stays on one page with what follows
  bool page_end = false;
  std::size_t table = 0;  ///< number of the table it is a row of; 0: none
  std::function<void(Page&, double top)> draw;
};

using Matrix = std::unique_ptr<QRcode, decltype(&QRcode_free)>;

Expected<std::shared_ptr<QRcode>> code_of(const std::string& text) {
  std::shared_ptr<QRcode> made(
      QRcode_encodeData(static_cast<int>(std::min<std::size_t>(text.size(), 4000)),
                        reinterpret_cast<const unsigned char*>(text.data()), 0, QR_ECLEVEL_M),
      QRcode_free);
  if (!made || text.empty() || text.size() > 4000)
    return fail(Fault::usage, "the text of the code is empty or too long",
                "at most about two thousand letters");
  return made;
}

/// Dark squares in rows that run together: fewer shapes, no seams between them.
void draw_code(Scene& scene, const QRcode& code, double x, double y, double side) {
  Pen pen(scene);
  const int n = code.width;
  // Four squares of quiet zone all round (ISO/IEC 18004).
  const double square = side / (n + 8);
  for (int row = 0; row < n; ++row) {
    for (int from = 0; from < n; ++from) {
      if ((code.data[row * n + from] & 1U) == 0) continue;
      int to = from + 1;
      while (to < n && (code.data[row * n + to] & 1U) != 0) ++to;
      pen.box({x + (4 + from) * square, y + (4 + row) * square},
              {x + (4 + to) * square, y + (5 + row) * square}, Ink::none, Fill::solid);
      from = to;
    }
  }
}

void place(Scene& onto, const Scene& scene, double x, double y) {
  const Length dx = millimetres(x);
  const Length dy = millimetres(y);
  const std::size_t windows = onto.windows.size();
  for (drawing::Window w : scene.windows) {
    w.centre = {w.centre.x + dx, w.centre.y + dy};
    onto.windows.push_back(w);
  }
  const auto moved = [&](std::optional<std::size_t> window) {
    return window ? std::optional(*window + windows) : window;
  };
  for (const drawing::Shape& shape : scene.shapes) {
    if (const auto* path = std::get_if<drawing::Path>(&shape)) {
      drawing::Path p = *path;
      for (drawing::Spot& s : p.spots) s = {s.x + dx, s.y + dy};
      p.window = moved(p.window);
      onto.shapes.emplace_back(std::move(p));
    } else if (const auto* circle = std::get_if<drawing::Circle>(&shape)) {
      drawing::Circle c = *circle;
      c.centre = {c.centre.x + dx, c.centre.y + dy};
      c.window = moved(c.window);
      onto.shapes.emplace_back(c);
    } else {
      drawing::Label l = std::get<drawing::Label>(shape);
      l.at = {l.at.x + dx, l.at.y + dy};
      onto.shapes.emplace_back(std::move(l));
    }
  }
}

class Layout {
 public:
  Layout(const Paper& paper, Sheet sheet, const Voice& voice, const Spacing& spacing)
      : paper_(paper),
        voice_(voice),
        spacing_(spacing),
        width_(sheet == Sheet::a4 ? 210 : 215.9),
        height_(sheet == Sheet::a4 ? 297 : 279.4),
        left_((width_ - kTextWidth) / 2) {}

  Expected<std::vector<Scene>> pages() {
    for (const Block& block : paper_.blocks) {
      const auto added = std::visit([this](const auto& b) { return add(b); }, block);
      if (!added) return tl::unexpected(added.error());
    }
    fill();
    std::vector<Scene> out;
    for (std::size_t i = 0; i < pages_.size(); ++i) {
      edges(pages_[i], i + 1);
      pages_[i].scene.title = paper_.title;
      pages_[i].scene.goes_on = i > 0;
      out.push_back(std::move(pages_[i].scene));
    }
    return out;
  }

 private:
  [[nodiscard]] double body() const { return height_ - kHeadRoom - kFootRoom; }

  void put(double height, std::function<void(Page&, double)> draw, bool with_next = false) {
    units_.push_back({height, with_next, false, 0, std::move(draw)});
  }
  [[nodiscard]] static std::vector<std::string> fold(const std::string& text, double size, double width,
                                                     bool bold = false) {
    return drawing::folded(text, size, width, bold);
  }

  Expected<void> add(const Heading& h) {
    const double size = heading_size(h.level);
    const auto words = fold(h.text, size, kTextWidth, true);
    const double above = h.level <= 1 ? 0 : 1.6;
    const double height = above + static_cast<double>(words.size()) * size * spacing_.line + 1.2;
    put(
        height,
        [=](Page& page, double top) {
          page.as(Role::heading, [&] { page.lines(words, page.left(), top + above, size, true); });
        },
        true);
    return {};
  }

  Expected<void> add(const Prose& p) {
    text(p.text, 0, p.bold, {});
    units_.back().height += spacing_.after - spacing_.between;
    return {};
  }

  /// Text of any length: its lines may go on overleaf, two of them at least together.
  void text(const std::string& what, double indent, bool bold,
            const std::function<void(Page&, double)>& mark) {
    const auto words = fold(what, kBody, kTextWidth - indent, bold);
    constexpr std::size_t kTogether = 40;
    for (std::size_t at = 0; at < std::max<std::size_t>(words.size(), 1); at += kTogether) {
      const std::vector<std::string> some(
          words.begin() + static_cast<std::ptrdiff_t>(std::min(at, words.size())),
          words.begin() + static_cast<std::ptrdiff_t>(std::min(words.size(), at + kTogether)));
      put(static_cast<double>(some.size()) * kBody * spacing_.line + spacing_.between,
          [=](Page& page, double top) {
            page.as(Role::paragraph, [&] {
              if (mark && at == 0) mark(page, top);
              page.lines(some, page.left() + indent, top, kBody, bold);
            });
          });
    }
  }

  Expected<void> add(const Points& points) {
    int number = 0;
    for (const std::string& one : points.texts) {
      ++number;
      const auto kind = points.mark;
      text(one, 7, false, [=](Page& page, double top) {
        Pen pen(page.scene);
        const double x = page.left() + 2;
        if (kind == Points::Mark::number) {
          pen.text({x + 3.2, top + kBody}, fmt::format("{}.", number), kBody, Anchor::end);
        } else if (kind == Points::Mark::box) {
          pen.box({x, top + 0.3}, {x + 3, top + 3.3}, Ink::line, Fill::none);
        } else {
          pen.circle({x + 2, top + kBody * 0.66}, 0.5, Ink::none, Fill::solid);
        }
      });
    }
    if (!units_.empty()) units_.back().height += spacing_.after - spacing_.between;
    return {};
  }

  struct Cells {
    std::vector<double> x;  ///< left edges, and the right edge of the last
    std::vector<bool> right;
  };

  void row(const Cells& cells, const std::vector<std::string>& texts, bool head, bool bold, std::size_t table,
           bool may_part, bool small) {
    std::vector<std::vector<std::string>> words(cells.right.size());
    std::size_t most = 1;
    const double size = head || small ? kSmall : kBody;
    const double inset = small ? kCloseTop : kCellTop;
    const auto room = static_cast<std::size_t>((body() - 12) / (size * spacing_.line)) - 2;
    for (std::size_t i = 0; i < words.size() && i < texts.size(); ++i) {
      words[i] = fold(texts[i], size, cells.x[i + 1] - cells.x[i] - 2 * kCellSide, bold || head);
      if (words[i].size() > room) {
        words[i].resize(room);
        words[i].back() += "…";
      }
      most = std::max(most, words[i].size());
    }
    const double height = static_cast<double>(most) * size * spacing_.line + 2 * inset;
    Unit unit;
    unit.height = height;
    unit.with_next = head || !may_part;
    unit.table = table;
    unit.draw = [=](Page& page, double top) {
      const auto cell_role = head ? Role::header_cell : Role::cell;
      Pen pen(page.scene);
      page.as(Role::row, [&] {
        for (std::size_t i = 0; i < words.size(); ++i) {
          page.as(cell_role, [&] {
            const double x = cells.right[i] ? cells.x[i + 1] - kCellSide : cells.x[i] + kCellSide;
            page.lines(words[i], page.left() + x, top + inset, size, bold || head,
                       cells.right[i] ? Anchor::end : Anchor::start);
          });
        }
      });
      pen.line({page.left(), top + height}, {page.left() + kTextWidth, top + height},
               head ? Ink::line : Ink::thin);
    };
    units_.push_back(std::move(unit));
  }

  /// What each column needs so that no word in it is broken, and in those that are to stay on one line, no
  /// cell.
  [[nodiscard]] static std::vector<double> wanted_widths(const Table& table) {
    // Nobody gets so much that the others have nothing left.
    constexpr double kMost = kTextWidth * 0.3;
    std::vector<double> out(table.columns.size());
    const auto want = [&](std::size_t column, const std::string& text, double size, bool bold, bool whole) {
      double width = 0;
      if (whole) width = drawing::width_of(text, size, bold);
      for (std::size_t at = 0; !whole && at < text.size();) {
        const std::size_t end = std::min(text.find(' ', at), text.size());
        width = std::max(width, drawing::width_of(text.substr(at, end - at), size, bold));
        at = end + 1;
      }
      width += 2 * kCellSide + 0.1;
      if (width <= kMost) out[column] = std::max(out[column], width);
    };
    for (std::size_t i = 0; i < out.size(); ++i) {
      if (table.headed) want(i, table.columns[i].title, kSmall, true, false);
      for (std::size_t r = 0; r < table.rows.size(); ++r) {
        const bool bold = table.last_bold && r + 1 == table.rows.size();
        if (i < table.rows[r].size())
          want(i, table.rows[r][i], table.small ? kSmall : kBody, bold, table.columns[i].whole);
      }
    }
    return out;
  }

  /// Gives narrow columns what they want out of what the others have to spare; nothing changes where that is
  /// not enough for all.
  static void widen(std::vector<double>& widths, const std::vector<double>& wanted) {
    double lack = 0;
    double spare = 0;
    for (std::size_t i = 0; i < widths.size(); ++i) {
      lack += std::max(0.0, wanted[i] - widths[i]);
      spare += std::max(0.0, widths[i] - wanted[i]);
    }
    if (lack <= 0 || lack > spare) return;
    for (std::size_t i = 0; i < widths.size(); ++i)
      widths[i] = std::max(wanted[i], widths[i] - lack * std::max(0.0, widths[i] - wanted[i]) / spare);
  }

  Expected<void> add(const Table& table) {
    if (table.columns.empty()) return {};
    double shares = 0;
    for (const Column& c : table.columns) shares += c.share;
    std::vector<double> widths;
    for (const Column& c : table.columns) widths.push_back(c.share / shares * kTextWidth);
    widen(widths, wanted_widths(table));
    Cells cells;
    double x = 0;
    for (std::size_t i = 0; i < widths.size(); ++i) {
      cells.x.push_back(x);
      cells.right.push_back(table.columns[i].right);
      x += widths[i];
    }
    cells.x.push_back(kTextWidth);
    const std::size_t number = ++tables_;
    if (table.headed) {
      std::vector<std::string> titles;
      for (const Column& c : table.columns) titles.push_back(c.title);
      row(cells, titles, true, false, number, true, table.small);
      heads_.resize(number + 1);
      heads_[number] = units_.back();
    } else {
      heads_.resize(number + 1);
    }
    for (std::size_t i = 0; i < table.rows.size(); ++i)
      row(cells, table.rows[i], false, table.last_bold && i + 1 == table.rows.size(), number,
          // A total does not stand alone overleaf.
          !(table.last_bold && i + 2 == table.rows.size()), table.small);
    put(spacing_.after, [](Page&, double) {});
    return {};
  }

  Expected<void> add(const WriteIn& line) {
    double shares = 0;
    for (const WriteIn::Box& b : line.boxes) shares += b.share;
    if (!(shares > 0)) return {};
    std::vector<std::vector<std::string>> labels;
    std::vector<double> edges = {0};
    std::size_t most = 1;
    for (const WriteIn::Box& b : line.boxes) {
      const double width = b.share / shares * kTextWidth;
      labels.push_back(fold(b.label, kSmall, width - 2));
      most = std::max(most, labels.back().size());
      edges.push_back(edges.back() + width);
    }
    const double above = static_cast<double>(most) * kSmall * spacing_.line;
    const double height = line.height * spacing_.write;
    // What is signed stands on the page with what it is signed for.
    if (!units_.empty() && !units_.back().page_end) units_.back().with_next = true;
    put(above + height + 2 * spacing_.write, [=](Page& page, double top) {
      for (std::size_t i = 0; i < labels.size(); ++i) {
        page.as(Role::paragraph, [&] { page.lines(labels[i], page.left() + edges[i], top, kSmall); });
        Pen pen(page.scene);
        pen.box({page.left() + edges[i], top + above},
                {page.left() + edges[i + 1] - (i + 1 < labels.size() ? 1.5 : 0.0), top + above + height},
                Ink::line, Fill::none);
      }
    });
    return {};
  }

  Expected<void> add(const Lines& lines) {
    const auto label = fold(lines.label, kSmall, kTextWidth);
    const double above = static_cast<double>(label.size()) * kSmall * spacing_.line;
    const double step = kWriteStep * spacing_.write;
    const int count = std::clamp(lines.count, 1, 20);
    put(above + count * step + 2, [=](Page& page, double top) {
      page.as(Role::paragraph, [&] { page.lines(label, page.left(), top, kSmall); });
      Pen pen(page.scene);
      for (int i = 1; i <= count; ++i)
        pen.line({page.left(), top + above + step * i}, {page.left() + kTextWidth, top + above + step * i},
                 Ink::thin);
    });
    return {};
  }

  Expected<void> add(const Framed& framed) {
    constexpr double kInset = 2.5;
    std::vector<std::vector<std::string>> parts;
    std::size_t count = 0;
    for (const std::string& one : framed.texts) {
      parts.push_back(fold(one, kSmall, kTextWidth - 2 * kInset));
      count += parts.back().size();
    }
    const auto head = fold(framed.heading, kBody, kTextWidth - 2 * kInset, true);
    const double height = static_cast<double>(head.size()) * kBody * spacing_.line +
                          static_cast<double>(count) * (kSmall)*spacing_.line + 2 * kInset +
                          0.6 * static_cast<double>(parts.size());
    if (height > body()) return fail(Fault::usage, "framed words that fill more than a page");
    put(height + spacing_.after, [=](Page& page, double top) {
      Pen pen(page.scene);
      pen.box({page.left(), top}, {page.left() + kTextWidth, top + height}, Ink::line, Fill::none);
      double y = top + kInset;
      page.as(Role::paragraph, [&] { y = page.lines(head, page.left() + kInset, y, kBody, true); });
      for (const auto& part : parts)
        page.as(Role::paragraph, [&] { y = page.lines(part, page.left() + kInset, y + 0.6, kSmall); });
    });
    return {};
  }

  Expected<void> add(const Picture& picture) {
    const double width = in_millimetres(picture.scene.width);
    const double height = in_millimetres(picture.scene.height);
    if (!(width > 0 && width <= kTextWidth + 1e-6 && height > 0 && height <= body()))
      return fail(Fault::usage,
                  fmt::format("a picture of {:.0f} by {:.0f} mm does not go on the page", width, height),
                  fmt::format("at most {:.0f} by {:.0f} mm", kTextWidth, body()));
    const auto scene = std::make_shared<Scene>(picture.scene);
    put(height + spacing_.after, [=](Page& page, double top) {
      page.as(Role::figure, [&] { place(page.scene, *scene, page.left() + (kTextWidth - width) / 2, top); });
    });
    return {};
  }

  Expected<void> add(const Code& code) {
    const auto made = code_of(code.text);
    if (!made) return tl::unexpected(made.error());
    std::vector<std::string> words;
    for (const std::string& one : code.words) {
      for (std::string& line : fold(one, kBody, kTextWidth - code.side - 4)) words.push_back(std::move(line));
    }
    const double height = std::max(code.side, static_cast<double>(words.size()) * kBody * spacing_.line);
    const double side = code.side;
    const std::shared_ptr<QRcode>& squares = *made;
    put(height + spacing_.after, [=](Page& page, double top) {
      page.as(Role::figure, [&] { draw_code(page.scene, *squares, page.left(), top, side); });
      page.as(Role::paragraph, [&] { page.lines(words, page.left() + side + 4, top + 1, kBody); });
    });
    return {};
  }

  Expected<void> add(const PageEnd&) {
    Unit unit;
    unit.page_end = true;
    units_.push_back(std::move(unit));
    return {};
  }

  Page& fresh() {
    pages_.emplace_back(width_, height_, left_, spacing_.line);
    y_ = kHeadRoom;
    open_table_ = 0;
    return pages_.back();
  }

  /// Table marks run from a table's first row on a page to its last one there.
  void end_table() {
    if (open_table_ == 0) return;
    Scene& scene = pages_.back().scene;
    scene.marks[table_mark_].end = scene.shapes.size();
    open_table_ = 0;
  }

  void draw(const Unit& unit) {
    Page& page = pages_.back();
    if (unit.table != open_table_) end_table();
    if (unit.table != 0 && open_table_ == 0) {
      table_mark_ = page.scene.marks.size();
      page.scene.marks.push_back({Role::table, page.scene.shapes.size(), page.scene.shapes.size()});
      open_table_ = unit.table;
    }
    unit.draw(page, y_);
    y_ += unit.height;
    if (unit.table != 0) page.scene.marks[table_mark_].end = page.scene.shapes.size();
  }

  void fill() {
    fresh();
    for (std::size_t i = 0; i < units_.size(); ++i) {
      const Unit& unit = units_[i];
      if (unit.page_end) {
        if (y_ > kHeadRoom) fresh();
        continue;
      }
      double needed = unit.height;
      for (std::size_t j = i; j + 1 < units_.size() && units_[j].with_next && !units_[j + 1].page_end; ++j)
        needed += units_[j + 1].height;
      const double bottom = height_ - kFootRoom;
      const bool alone_fits = kHeadRoom + needed <= bottom;
      if (y_ + (alone_fits ? needed : unit.height) > bottom && y_ > kHeadRoom) {
        const bool goes_on = unit.table != 0 && unit.table == open_table_;
        end_table();
        fresh();
        if (goes_on && heads_[unit.table].draw) draw(heads_[unit.table]);
      }
      draw(unit);
    }
  }

  void edges(Page& page, std::size_t number) const {
    Pen pen(page.scene);
    const double right = left_ + kTextWidth;
    pen.text({left_, 12}, drawing::shortened(paper_.head_left, kSmall, kTextWidth * 0.62), kSmall);
    pen.text({right, 12}, drawing::shortened(paper_.head_right, kSmall, kTextWidth * 0.34), kSmall,
             Anchor::end);
    pen.line({left_, 14}, {right, 14}, Ink::thin);
    const double foot = height_ - 9;
    pen.line({left_, foot - 4}, {right, foot - 4}, Ink::thin);
    pen.text({left_, foot}, drawing::shortened(paper_.foot_left, kSmall, kTextWidth * 0.76), kSmall);
    pen.text({right, foot}, voice_(Say::page_of, number, pages_.size()), kSmall, Anchor::end);
  }

  const Paper& paper_;
  const Voice& voice_;
  Spacing spacing_;
  double width_, height_, left_;
  std::vector<Unit> units_;
  std::vector<Unit> heads_;  ///< of tables, by number
  std::size_t tables_ = 0;
  std::vector<Page> pages_;
  double y_ = 0;
  std::size_t open_table_ = 0;
  std::size_t table_mark_ = 0;
};

}  // namespace

const char* word(Sheet sheet) { return sheet == Sheet::letter ? "letter" : "a4"; }

Expected<std::vector<Scene>> lay_out(const Paper& paper, Sheet sheet, const Voice& voice) {
  auto pages = Layout(paper, sheet, voice, {}).pages();
  if (!pages || pages->size() < 2) return pages;
  // A page for a few lines more is paper nobody wants; where standing closer saves it, they do.
  auto close = Layout(paper, sheet, voice, kClose).pages();
  return close && close->size() < pages->size() ? close : pages;
}

Expected<Scene> tag(const std::string& code, const std::vector<std::string>& lines) {
  constexpr double kWide = 90;
  constexpr double kHigh = 50;
  constexpr double kSide = 40;
  constexpr double kInset = 4;
  const auto made = code_of(code);
  if (!made) return tl::unexpected(made.error());
  constexpr double kLine = 1.4;
  Page page(kWide, kHigh, 0, kLine);
  Pen pen(page.scene);
  pen.box({0.5, 0.5}, {kWide - 0.5, kHigh - 0.5}, Ink::thin, Fill::none);
  // Where the string goes through.
  pen.circle({kWide - 6, 6}, 2, Ink::thin, Fill::none);
  page.as(Role::figure, [&] { draw_code(page.scene, **made, 1.5, (kHigh - kSide) / 2, kSide); });
  const double left = kSide + kInset;
  double y = 5;
  bool first = true;
  for (const std::string& one : lines) {
    const double size = first ? 4.2 : 2.9;
    const double room = kWide - left - 3;
    auto words = drawing::folded(one, size, first ? room - 6 : room, first);
    // What does not fit is shortened, so that every line has its turn.
    if (words.size() > 2) {
      words.resize(2);
      words[1] = drawing::shortened(words[1] + "…", size, room, first);
    }
    if (y + static_cast<double>(words.size()) * size * kLine > kHigh - 2) break;
    page.as(Role::paragraph, [&] { y = page.lines(words, left, y, size, first) + (first ? 1.5 : 0.4); });
    first = false;
  }
  if (!lines.empty()) page.scene.title = lines.front();
  return std::move(page.scene);
}

Expected<std::string> to_pdf(const std::vector<Scene>& pages, const std::string& title,
                             const std::string& author, const std::string& made, Language language) {
  return drawing::to_pdf(pages, {title, author, {}, code(language), made});
}

}  // namespace hingeline::papers
