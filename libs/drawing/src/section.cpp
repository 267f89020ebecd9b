#include "hingeline/drawing/section.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <string_view>
#include <variant>

#include "joint_drawing.h"
#include "joint_shape.h"
#include "pen.h"
#include "text.h"

namespace hingeline::drawing {
namespace {

// The sheet, mm of paper.
constexpr double kSheetWidth = 180;
constexpr double kMargin = 2;
constexpr double kTallest = 46;  // of a joint
constexpr std::size_t kMostWorkLines = 4;

const std::vector<double>& scales() {
  static const std::vector<double> steps = {0.1, 0.2, 0.25, 0.5, 1,  1.5, 2,  2.5, 3,  4,  5, 6,
                                            7,   8,   9,    10,  12, 15,  20, 25,  30, 40, 50};
  return steps;
}
/// "now" or "after the work": both joints side by side.
struct Row {
  std::string heading;
  std::array<Panel, 2> panels;
};

double scale_for(const std::vector<Row>& rows) {
  double wanted = scales().back();
  for (const Row& row : rows) {
    for (const Panel& p : row.panels) {
      if (p.shape.empty()) continue;
      wanted = std::min({wanted, (kPostSide - 3) / -p.shape.first(), (kKeySide - 3) / p.shape.last(),
                         kTallest / (2 * p.shape.half_height())});
    }
  }
  return scale_at_most(wanted, scales());
}

double panel_left(std::size_t side) { return side == 0 ? kMargin : kSheetWidth - kMargin - kPanelWidth; }

/// Draws a row from `top`; returns where it ends.
double draw_row(Pen& pen, const Row& row, double top, double scale, LengthUnit unit) {
  pen.text({kMargin, top + 3}, row.heading, kHeadSize, Anchor::start, true);
  pen.line({kMargin + width_of(row.heading, kHeadSize, true) + 3, top + 2}, {kSheetWidth - kMargin, top + 2},
           Ink::thin);
  double words_end = top + 8.5;
  for (std::size_t side = 0; side < row.panels.size(); ++side) {
    const Panel& panel = row.panels[side];
    const bool mirrored = side == 1;
    const double x = mirrored ? kSheetWidth - kMargin : kMargin;
    const Anchor anchor = mirrored ? Anchor::end : Anchor::start;
    double y = top + 8.5;
    pen.text({x, y}, panel.heading, kTextSize, anchor, true);
    for (const std::string& step : panel.work) {
      y += kLineStep;
      pen.text({x, y}, shortened(step, kTextSize, kPanelWidth), kTextSize, anchor);
    }
    words_end = std::max(words_end, y);
  }

  double height = 0;
  double notes = 0;
  double dimensions = 0;
  bool any = false;
  for (std::size_t side = 0; side < row.panels.size(); ++side) {
    const Panel& p = row.panels[side];
    if (p.shape.empty()) continue;
    any = true;
    height = std::max(height, p.shape.half_height() * scale);
    notes = std::max(notes, notes_height(p, scale, side == 1, unit));
    dimensions = std::max(dimensions, dimensions_height(p.shape));
  }
  const double notes_top = words_end + 5;
  const double axis = any ? notes_top + notes + height : notes_top + 6;
  for (std::size_t side = 0; side < row.panels.size(); ++side) {
    const Panel& panel = row.panels[side];
    const Frame frame(panel_left(side), axis, scale, side == 1);
    if (panel.shape.empty()) {
      pen.text({panel_left(side) + kPanelWidth / 2, axis}, "not measured yet", kTextSize, Anchor::middle);
      continue;
    }
    draw_joint(pen, panel, frame, unit, notes_top);
  }
  return any ? axis + height + dimensions : axis + 4;
}

/// Draws what the hatchings mean and the scale; returns where it ends.
double draw_legend(Pen& pen, double top, double scale, bool any_taken, bool any_contact, LengthUnit unit) {
  pen.line({kMargin, top}, {kSheetWidth - kMargin, top}, Ink::thin);
  const double y = top + 3;
  double x = kMargin;
  const auto entry = [&](Fill fill, Ink ink, std::string_view words) {
    pen.box({x, y}, {x + 6, y + 3.6}, ink, fill);
    pen.text({x + 7.2, y + 2.8}, words);
    x += 7.2 + width_of(words, kTextSize) + 4;
  };
  entry(Fill::post, Ink::line, "post");
  entry(Fill::key, Ink::line, "key end");
  entry(Fill::screw, Ink::line, "screw, rod");
  if (any_taken) entry(Fill::cut, Ink::cut, "metal gone");
  if (any_contact) {
    pen.line({x + 0.5, y + 1.8}, {x + 3.5, y + 1.8}, Ink::contact);
    pen.circle({x + 5.2, y + 1.8}, kContactDot, Ink::none, Fill::contact);
    pen.text({x + 7.2, y + 2.8}, "rides here");
  }

  // A scale bar: 1, 2, 5 or 10 ... of the unit's tenths.
  const double unit_mm = unit == LengthUnit::mm ? 1.0 : kMillimetresPerInch;
  const double bar =
      scale_at_most(25 / scale / unit_mm, {0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100});
  const double length = bar * unit_mm * scale;
  const double right = kSheetWidth - kMargin;
  pen.line({right - length, y + 2.8}, {right, y + 2.8}, Ink::line);
  for (const double tick : {right - length, right}) pen.line({tick, y + 1.6}, {tick, y + 4}, Ink::line);
  pen.text({right - length - 2, y + 2.8}, "scale " + scale_words(scale), kTextSize, Anchor::end);
  pen.text({right - length / 2, y + 6.6}, fmt::format("{:.4g} {}", bar, unit == LengthUnit::mm ? "mm" : "in"),
           kTextSize, Anchor::middle);
  return y + 8.5;
}

std::vector<std::string> work_words(const std::vector<std::string>& work) {
  std::vector<std::string> out;
  for (const std::string& step : work) {
    if (out.size() == kMostWorkLines) {
      out.back() += fmt::format(" (and {} more)", work.size() - kMostWorkLines);
      break;
    }
    out.push_back(step);
  }
  if (out.empty()) out.emplace_back("no work at this end");
  return out;
}

/// The row in words.
std::string told(const Row& row, LengthUnit unit) {
  std::string out = row.heading + ". ";
  for (const Panel& p : row.panels) {
    out += p.heading + ": ";
    if (p.shape.empty()) {
      out += "not measured yet. ";
      continue;
    }
    std::vector<std::string> parts = p.work;
    const std::string words = riding(*p.view);
    if (!words.empty()) parts.push_back(words);
    for (const std::string& figure : riding_figures(*p.view, p.shape, unit)) parts.push_back(figure);
    if (measured(p.view->face_gap)) parts.push_back("face gap " + bench(p.view->face_gap, unit));
    if (!p.shape.rod && !p.shape.point.empty()) {
      parts.push_back("insertion " + bench(p.shape.insertion, unit));
      parts.push_back("protrusion " + bench(p.shape.protrusion(), unit));
      if (p.shape.floor_shown)
        parts.push_back("tip to floor " + bench(p.shape.floor - p.shape.insertion, unit));
    }
    out += joined(parts, ", ") + ". ";
  }
  return out;
}

}  // namespace

Scene draw_section(const SectionView& view) {
  std::vector<Row> rows(1);
  Row& now = rows[0];
  now.heading = "Now";
  now.panels[0] = {&view.upper, shape_of(view.upper), {}, "Upper joint, pushed home", {}};
  now.panels[1] = {&view.lower, shape_of(view.lower), {}, "Lower joint, pushed home", {}};
  bool any_taken = false;
  if (view.upper_after || view.lower_after) {
    rows.emplace_back();
    Row& after = rows[1];
    after.heading = "After the work";
    const std::array<const JointView*, 2> views = {view.upper_after ? &*view.upper_after : &view.upper,
                                                   view.lower_after ? &*view.lower_after : &view.lower};
    const std::array<const std::vector<std::string>*, 2> work = {&view.work_upper, &view.work_lower};
    for (std::size_t side = 0; side < 2; ++side) {
      Panel& p = after.panels[side];
      const JointShape& before = rows[0].panels[side].shape;
      p = {views[side],
           shape_of(*views[side]),
           {},
           side == 0 ? "Upper joint" : "Lower joint",
           work_words(*work[side])};
      p.taken = taken_between(before, p.shape);
      keep_guesses(before, p.shape);
      any_taken = any_taken || p.taken.seat > 0 || p.taken.faced > 0 || p.taken.opened > 0;
    }
  }

  bool any_contact = false;
  for (const Row& row : rows) {
    for (const Panel& p : row.panels) any_contact = any_contact || (!p.shape.rod && !riding(*p.view).empty());
  }
  const double scale = scale_for(rows);
  Scene scene;
  Pen pen(scene);
  scene.width = millimetres(kSheetWidth);
  scene.title = view.title;
  pen.box({0, 0}, {kSheetWidth, 0}, Ink::none, Fill::paper);  // grows to the sheet below
  double y = pen.lines({kMargin, 6}, wrapped(view.title, kTitleSize, kSheetWidth - 2 * kMargin, 2, true),
                       kTitleSize, Anchor::start, true);
  y = pen.lines({kMargin, y}, wrapped(view.subtitle, kTextSize, kSheetWidth - 2 * kMargin, 3));
  for (const Row& row : rows) y = draw_row(pen, row, y, scale, view.unit) + 4;
  y = draw_legend(pen, y, scale, any_taken, any_contact, view.unit);

  scene.height = millimetres(y);
  auto& sheet = std::get<Path>(scene.shapes.front());
  for (const std::size_t corner : {2U, 3U}) sheet.spots[corner].y = scene.height;
  scene.description = view.subtitle.empty() ? "" : view.subtitle + ". ";
  for (const Row& row : rows) scene.description += told(row, view.unit);
  scene.description += "Scale " + scale_words(scale) + ".";
  return scene;
}

}  // namespace hingeline::drawing
