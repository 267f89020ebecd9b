#include "hingeline/drawing/section.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <string_view>
#include <variant>

#include "hingeline/drawing/pen.h"
#include "hingeline/drawing/text.h"
#include "joint_drawing.h"
#include "joint_shape.h"

namespace hingeline::drawing {
namespace {

// The sheet, mm of paper.
constexpr double kSheetWidth = 180;
constexpr double kMargin = 2;
constexpr double kTallest = 46;  // of a joint, where the scale is free
constexpr double kEdge = 3;      // kept free at a panel's ends
constexpr std::size_t kMostWorkLines = 4;

const std::vector<double>& scales() {
  static const std::vector<double> steps = {0.1, 0.2, 0.25, 0.5, 1,  1.5, 2,  2.5, 3,  4,  5, 6,
                                            7,   8,   9,    10,  12, 15,  20, 25,  30, 40, 50};
  return steps;
}
/// "now" or "after the work": both joints.
struct Row {
  std::string heading;
  std::array<Panel, 2> panels;
};

/// How joints stand on the sheet: side by side, or each on a line of its own as wide as the sheet.
struct Layout {
  double scale = 1;
  bool side_by_side = true;
  std::vector<std::size_t> sides = {0, 1};
};

constexpr double kWholeWidth = kSheetWidth - 2 * kMargin;

/// The largest scale at which all joints find room side by side.
double widest_scale(const std::vector<Row>& rows, double tallest) {
  const PanelRoom room;
  double wanted = scales().back();
  for (const Row& row : rows) {
    for (const Panel& p : row.panels) {
      if (p.shape.empty()) continue;
      wanted = std::min({wanted, (room.post - kEdge) / -p.shape.first(), (room.key - kEdge) / p.shape.last(),
                         tallest / (2 * p.shape.half_height())});
    }
  }
  return wanted;
}

/// The same of one joint on a line of its own.
double widest_alone(const std::vector<Row>& rows, std::size_t side) {
  constexpr double kTallestAlone = 54;
  double wanted = scales().back();
  for (const Row& row : rows) {
    const JointShape& shape = row.panels[side].shape;
    if (shape.empty()) continue;
    wanted = std::min({wanted, (kWholeWidth / 2 - kEdge) / -shape.first(),
                       (kWholeWidth / 2 - kEdge) / shape.last(), kTallestAlone / (2 * shape.half_height())});
  }
  return wanted;
}

Layout layout_for(const std::vector<Row>& rows, double asked, SectionView::Sides sides) {
  if (sides != SectionView::Sides::both) {
    const std::size_t side = sides == SectionView::Sides::upper ? 0 : 1;
    return {asked > 0 ? asked : scale_at_most(widest_alone(rows, side), scales()), false, {side}};
  }
  if (!(asked > 0)) return {scale_at_most(widest_scale(rows, kTallest), scales()), true, {0, 1}};
  return {asked, widest_scale(rows, kWholeWidth) >= asked, {0, 1}};
}

/// The room of one joint; on a line of its own the post gets what it needs, at least that of the words under
/// it, and leaves the key half of the sheet.
PanelRoom room_for(const Panel& panel, const Layout& layout) {
  PanelRoom room;
  if (layout.side_by_side) return room;
  if (!panel.shape.empty())
    room.post = std::clamp(-panel.shape.first() * layout.scale + kEdge, room.post, kWholeWidth / 2);
  room.key = kWholeWidth - room.post;
  return room;
}

double panel_left(std::size_t side, const Layout& layout) {
  return side == 0 || !layout.side_by_side ? kMargin : kSheetWidth - kMargin - PanelRoom().width();
}

/// Heading and work of a joint from `top` down; returns where they end.
double draw_words(Pen& pen, const Panel& panel, bool mirrored, double top, double limit) {
  const double x = mirrored ? kSheetWidth - kMargin : kMargin;
  const Anchor anchor = mirrored ? Anchor::end : Anchor::start;
  pen.text({x, top}, panel.heading, kTextSize, anchor, true);
  for (const std::string& step : panel.work) {
    top += kLineStep;
    pen.text({x, top}, shortened(step, kTextSize, limit), kTextSize, anchor);
  }
  return top;
}

/// Draws joints on one axis below `top`; returns where they end.
double draw_joints(Pen& pen, const Row& row, const std::vector<std::size_t>& sides, double top,
                   const Layout& layout, const Speech& say, std::vector<JointPart>* numbered) {
  const auto frame = [&](std::size_t side, double axis) {
    return Frame(room_for(row.panels[side], layout), panel_left(side, layout), axis, layout.scale, side == 1);
  };
  double words_end = top;
  for (const std::size_t side : sides)
    words_end = std::max(words_end, draw_words(pen, row.panels[side], side == 1, top,
                                               room_for(row.panels[side], layout).width()));
  double height = 0;
  double notes = 0;
  double dimensions = 0;
  bool any = false;
  for (const std::size_t side : sides) {
    const Panel& p = row.panels[side];
    if (p.shape.empty()) continue;
    any = true;
    height = std::max(height, p.shape.half_height() * layout.scale);
    notes = numbered != nullptr ? kNumbersHeight : std::max(notes, notes_height(p, frame(side, 0), say));
    dimensions = numbered != nullptr ? kPostFoot + 3 : std::max(dimensions, dimensions_height(p.shape));
  }
  const double notes_top = words_end + 5;
  const double axis = any ? notes_top + notes + height : notes_top + 6;
  for (const std::size_t side : sides) {
    const Panel& panel = row.panels[side];
    const Frame at = frame(side, axis);
    if (panel.shape.empty()) {
      pen.text({panel_left(side, layout) + at.room().width() / 2, axis}, say(Word::not_measured), kTextSize,
               Anchor::middle);
      continue;
    }
    if (numbered == nullptr) {
      draw_joint(pen, panel, at, say, notes_top);
      continue;
    }
    draw_numbered_joint(pen, panel, at, say, notes_top, numbered->size() + 1);
    for (const PartPlace& p : part_places(panel, at)) numbered->push_back(p.part);
  }
  return any ? axis + height + dimensions : axis + 4;
}

/// Draws a row from `top`; returns where it ends.
double draw_row(Pen& pen, const Row& row, double top, const Layout& layout, const Speech& say,
                std::vector<JointPart>* numbered) {
  pen.text({kMargin, top + 3}, row.heading, kHeadSize, Anchor::start, true);
  pen.line({kMargin + width_of(row.heading, kHeadSize, true) + 3, top + 2}, {kSheetWidth - kMargin, top + 2},
           Ink::thin);
  if (layout.side_by_side) return draw_joints(pen, row, {0, 1}, top + 8.5, layout, say, numbered);
  double y = top + 8.5;
  for (const std::size_t side : layout.sides) {
    if (side != layout.sides.front()) y += 6;
    y = draw_joints(pen, row, {side}, y, layout, say, numbered);
  }
  return y;
}

/// Draws what the hatchings mean and the scale; returns where it ends.
double draw_legend(Pen& pen, double top, double scale, bool any_taken, bool any_contact, const Speech& say) {
  pen.line({kMargin, top}, {kSheetWidth - kMargin, top}, Ink::thin);
  double y = top + 3;
  double x = kMargin;
  const auto entry = [&](Fill fill, Ink ink, std::string_view words) {
    pen.box({x, y}, {x + 6, y + 3.6}, ink, fill);
    pen.text({x + 7.2, y + 2.8}, words);
    x += 7.2 + width_of(words, kTextSize) + 4;
  };
  entry(Fill::post, Ink::line, say(Word::post));
  entry(Fill::key, Ink::line, say(Word::key_end));
  entry(Fill::screw, Ink::line, say(Word::screw_rod));
  if (any_taken) entry(Fill::cut, Ink::cut, say(Word::metal_gone));
  if (any_contact) {
    pen.line({x + 0.5, y + 1.8}, {x + 3.5, y + 1.8}, Ink::contact);
    pen.circle({x + 5.2, y + 1.8}, kContactDot, Ink::none, Fill::contact);
    pen.text({x + 7.2, y + 2.8}, say(Word::rides_here));
    x += 7.2 + width_of(say(Word::rides_here), kTextSize) + 4;
  }

  // A scale bar: 1, 2, 5 or 10 ... of the unit's tenths.
  const double unit_mm = say.unit() == LengthUnit::mm ? 1.0 : kMillimetresPerInch;
  const double bar =
      scale_at_most(25 / scale / unit_mm, {0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100});
  const double length = bar * unit_mm * scale;
  const double right = kSheetWidth - kMargin;
  const std::string scale_said = say(Word::scale, say.with_mark(scale_words(scale)));
  // Longer words push the scale onto a line of its own.
  if (x > right - length - 2 - width_of(scale_said, kTextSize)) y += 6.5;
  pen.line({right - length, y + 2.8}, {right, y + 2.8}, Ink::line);
  for (const double tick : {right - length, right}) pen.line({tick, y + 1.6}, {tick, y + 4}, Ink::line);
  pen.text({right - length - 2, y + 2.8}, scale_said, kTextSize, Anchor::end);
  pen.text({right - length / 2, y + 6.6},
           say.with_mark(fmt::format("{:.4g} {}", bar, say.unit() == LengthUnit::mm ? "mm" : "in")),
           kTextSize, Anchor::middle);
  return y + 8.5;
}

std::vector<std::string> work_words(const std::vector<std::string>& work, const Speech& say) {
  std::vector<std::string> out;
  for (const std::string& step : work) {
    if (out.size() == kMostWorkLines) {
      out.back() += say(Word::and_more, work.size() - kMostWorkLines);
      break;
    }
    out.push_back(step);
  }
  if (out.empty()) out.push_back(say(Word::no_work));
  return out;
}

/// The row in words.
std::string told(const Row& row, const Speech& say) {
  std::string out = row.heading + ". ";
  for (const Panel& p : row.panels) {
    out += p.heading + ": ";
    if (p.shape.empty()) {
      out += say(Word::not_measured) + ". ";
      continue;
    }
    std::vector<std::string> parts = p.work;
    const std::string words = riding(*p.view, say);
    if (!words.empty()) parts.push_back(words);
    for (const std::string& figure : riding_figures(*p.view, p.shape, say)) parts.push_back(figure);
    if (measured(p.view->face_gap)) parts.push_back(say(Word::face_gap, say.bench(p.view->face_gap)));
    if (!p.shape.rod && !p.shape.point.empty()) {
      parts.push_back(say(Word::insertion, say.bench(p.shape.insertion)));
      parts.push_back(say(Word::protrusion, say.bench(p.shape.protrusion())));
      if (p.shape.floor_shown)
        parts.push_back(say(Word::tip_to_floor, say.bench(p.shape.floor - p.shape.insertion)));
    }
    out += joined(parts, ", ") + ". ";
  }
  return out;
}

Scene draw(const SectionView& view, std::vector<JointPart>* numbered) {
  const Speech say(view.tongue, view.unit);
  std::vector<Row> rows(1);
  Row& now = rows[0];
  now.heading = say(Word::now);
  now.panels[0] = {&view.upper, shape_of(view.upper), {}, say(Word::upper_joint_home), {}};
  now.panels[1] = {&view.lower, shape_of(view.lower), {}, say(Word::lower_joint_home), {}};
  bool any_taken = false;
  if (view.upper_after || view.lower_after) {
    rows.emplace_back();
    Row& after = rows[1];
    after.heading = say(Word::after_the_work);
    const std::array<const JointView*, 2> views = {view.upper_after ? &*view.upper_after : &view.upper,
                                                   view.lower_after ? &*view.lower_after : &view.lower};
    const std::array<const std::vector<std::string>*, 2> work = {&view.work_upper, &view.work_lower};
    for (std::size_t side = 0; side < 2; ++side) {
      Panel& p = after.panels[side];
      const JointShape& before = rows[0].panels[side].shape;
      p = {views[side],
           shape_of(*views[side]),
           {},
           say(side == 0 ? Word::upper_joint : Word::lower_joint),
           work_words(*work[side], say)};
      p.taken = taken_between(before, p.shape);
      keep_guesses(before, p.shape);
      any_taken = any_taken || p.taken.seat > 0 || p.taken.faced > 0 || p.taken.opened > 0;
    }
  }

  bool any_contact = false;
  for (const Row& row : rows) {
    for (const Panel& p : row.panels) any_contact = any_contact || (!p.shape.rod && rides(*p.view));
  }
  if (view.only_after && rows.size() > 1) rows.erase(rows.begin());
  const Layout layout = layout_for(rows, view.scale, view.sides);
  const double scale = layout.scale;
  for (Row& row : rows) {
    for (Panel& p : row.panels) {
      const PanelRoom room = room_for(p, layout);
      break_off(p.shape, (room.post - kEdge) / scale, (room.key - kEdge) / scale);
      // Where the head is broken off, its seat is too.
      if (p.shape.post_broken) p.taken.seat = 0;
      p.taken.opened_to = std::min(p.taken.opened_to, p.shape.key_shown);
      if (p.taken.opened_to <= p.taken.opened_from) p.taken.opened = 0;
    }
  }
  Scene scene;
  Pen pen(scene);
  scene.width = millimetres(kSheetWidth);
  scene.title = view.title;
  pen.box({0, 0}, {kSheetWidth, 0}, Ink::none, Fill::paper);  // grows to the sheet below
  double y = pen.lines({kMargin, 6}, wrapped(view.title, kTitleSize, kSheetWidth - 2 * kMargin, 2, true),
                       kTitleSize, Anchor::start, true);
  y = pen.lines({kMargin, y}, wrapped(view.subtitle, kTextSize, kSheetWidth - 2 * kMargin, 3));
  for (const Row& row : rows) y = draw_row(pen, row, y, layout, say, numbered) + 4;
  if (numbered == nullptr) y = draw_legend(pen, y, scale, any_taken, any_contact, say);

  scene.height = millimetres(y);
  auto& sheet = std::get<Path>(scene.shapes.front());
  for (const std::size_t corner : {2U, 3U}) sheet.spots[corner].y = scene.height;
  scene.description = view.subtitle.empty() ? "" : view.subtitle + ". ";
  for (const Row& row : rows) scene.description += told(row, say);
  scene.description += say(Word::scale, say.with_mark(scale_words(scale))) + ".";
  return scene;
}

}  // namespace

Scene draw_section(const SectionView& view) { return draw(view, nullptr); }

Numbered draw_numbered_section(const SectionView& view) {
  SectionView now = view;
  now.upper_after.reset();
  now.lower_after.reset();
  now.only_after = false;
  if (now.sides == SectionView::Sides::both) now.sides = SectionView::Sides::upper;
  Numbered out;
  out.scene = draw(now, &out.parts);
  // What the drawing shows would be the answer.
  out.scene.description = view.title;
  return out;
}

}  // namespace hingeline::drawing
