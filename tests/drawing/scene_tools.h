#pragma once
/// \file
/// Looking into scenes.

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>
#include <variant>
#include <vector>

#include <fmt/format.h>

#include "hingeline/drawing/scene.h"

namespace hingeline::drawing {

struct Point2 {
  double x = 0, y = 0;
};

struct Box {
  double left = std::numeric_limits<double>::infinity();
  double right = -left;
  double top = left;
  double bottom = -left;
  [[nodiscard]] double width() const { return right - left; }
  [[nodiscard]] double height() const { return bottom - top; }
};

inline Box box_of(const Path& path) {
  Box b;
  for (const Spot& s : path.spots) {
    b.left = std::min(b.left, in_millimetres(s.x));
    b.right = std::max(b.right, in_millimetres(s.x));
    b.top = std::min(b.top, in_millimetres(s.y));
    b.bottom = std::max(b.bottom, in_millimetres(s.y));
  }
  return b;
}

inline std::vector<const Path*> paths(const Scene& scene, Fill fill) {
  std::vector<const Path*> out;
  for (const Shape& shape : scene.shapes) {
    const auto* p = std::get_if<Path>(&shape);
    if (p != nullptr && p->fill == fill) out.push_back(p);
  }
  return out;
}

inline std::vector<std::string> texts(const Scene& scene) {
  std::vector<std::string> out;
  for (const Shape& shape : scene.shapes) {
    if (const auto* label = std::get_if<Label>(&shape)) out.push_back(label->text);
  }
  return out;
}

inline bool has(const std::vector<std::string>& words, const std::string& one) {
  return std::find(words.begin(), words.end(), one) != words.end();
}
inline bool has_part(const std::vector<std::string>& words, const std::string& part) {
  return std::any_of(words.begin(), words.end(),
                     [&](const std::string& w) { return w.find(part) != std::string::npos; });
}

/// As the writer prints it.
inline std::string short_number(double v) {
  std::string text = fmt::format("{:.3f}", v);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

/// The first thing that leaves the sheet, or "". Text counts with a cautious width for its letters; shapes
/// in windows are cut off there and don't count.
inline std::string off_sheet(const Scene& scene) {
  const double width = in_millimetres(scene.width);
  const double height = in_millimetres(scene.height);
  const auto out = [&](double x, double y) {
    return !(x >= -1e-9 && x <= width + 1e-9 && y >= -1e-9 && y <= height + 1e-9);
  };
  for (const Shape& shape : scene.shapes) {
    if (const auto* p = std::get_if<Path>(&shape)) {
      if (p->window) continue;
      const Box b = box_of(*p);
      if (out(b.left, b.top) || out(b.right, b.bottom))
        return fmt::format("path from {},{} to {},{}", b.left, b.top, b.right, b.bottom);
    } else if (const auto* c = std::get_if<Circle>(&shape)) {
      const double x = in_millimetres(c->centre.x);
      const double y = in_millimetres(c->centre.y);
      const double r = in_millimetres(c->radius);
      if (!c->window && (out(x - r, y - r) || out(x + r, y + r))) return fmt::format("circle at {},{}", x, y);
    } else if (const auto* label = std::get_if<Label>(&shape)) {
      // DejaVu Sans: 0.6 of the size for a letter of running text (from memory); a line of capital Ws,
      // 0.99 each, is as wide as text can be.
      const bool wide = label->text.find("WWW") != std::string::npos;
      const double length =
          static_cast<double>(label->text.size()) * in_millimetres(label->size) * (wide ? 0.95 : 0.5);
      const double x = in_millimetres(label->at.x);
      const double y = in_millimetres(label->at.y);
      const double left = label->anchor == Anchor::start    ? x
                          : label->anchor == Anchor::middle ? x - length / 2
                                                            : x - length;
      if (out(left, y - in_millimetres(label->size)) || out(left + length, y))
        return "text \"" + label->text + "\"";
    }
  }
  return "";
}

}  // namespace hingeline::drawing
