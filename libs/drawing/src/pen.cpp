#include "hingeline/drawing/pen.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

namespace hingeline::drawing {
namespace {

constexpr double kHeadLength = 1.6;
constexpr double kHeadHalfWidth = 0.35;

}  // namespace

std::string scale_words(double scale) {
  return scale >= 1 ? fmt::format("{:.4g}:1", scale) : fmt::format("1:{:.4g}", 1 / scale);
}

double scale_at_most(double wanted, const std::vector<double>& steps) {
  double best = steps.front();
  for (const double step : steps) {
    if (step <= wanted) best = step;
  }
  return best;
}

void Pen::line(Point a, Point b, Ink ink, std::optional<std::size_t> window) { path({a, b}, ink, window); }

void Pen::path(const Points& points, Ink ink, std::optional<std::size_t> window) {
  Path p{{}, false, ink, Fill::none, window};
  for (const Point& q : points) p.spots.push_back(spot(q));
  scene_.shapes.emplace_back(std::move(p));
}

void Pen::area(const Points& points, Ink ink, Fill fill, std::optional<std::size_t> window) {
  Path p{{}, true, ink, fill, window};
  for (const Point& q : points) p.spots.push_back(spot(q));
  scene_.shapes.emplace_back(std::move(p));
}

void Pen::box(Point a, Point b, Ink ink, Fill fill, std::optional<std::size_t> window) {
  area({a, {b.x, a.y}, b, {a.x, b.y}}, ink, fill, window);
}

void Pen::circle(Point centre, double radius, Ink ink, Fill fill, std::optional<std::size_t> window) {
  scene_.shapes.emplace_back(Circle{spot(centre), millimetres(radius), ink, fill, window});
}

void Pen::text(Point at, std::string_view words, double size, Anchor anchor, bool bold) {
  if (words.empty()) return;
  scene_.shapes.emplace_back(Label{spot(at), std::string(words), millimetres(size), anchor, bold});
}

double Pen::lines(Point at, const std::vector<std::string>& words, double size, Anchor anchor, bool bold) {
  for (const std::string& line : words) {
    text(at, line, size, anchor, bold);
    at.y += kLineStep * size / kTextSize;
  }
  return at.y;
}

void Pen::head(Point tip, double dx, double dy) {
  const double length = std::hypot(dx, dy);
  if (!(length > 0)) return;
  const double ux = dx / length * kHeadLength;
  const double uy = dy / length * kHeadLength;
  const double across = kHeadHalfWidth / kHeadLength;
  area({tip,
        {tip.x - ux - uy * across, tip.y - uy + ux * across},
        {tip.x - ux + uy * across, tip.y - uy - ux * across}},
       Ink::none, Fill::solid);
}

void Pen::arrow(Point a, Point b) {
  line(a, b, Ink::thin);
  head(b, b.x - a.x, b.y - a.y);
}

void Pen::measure(double x1, double x2, double y) {
  const auto [left, right] = std::minmax(x1, x2);
  const double width = right - left;
  if (width >= 2.5 * kHeadLength) {
    line({left, y}, {right, y}, Ink::thin);
    head({left, y}, -1, 0);
    head({right, y}, 1, 0);
    return;
  }
  line({left - 2 * kHeadLength, y}, {right + 2 * kHeadLength, y}, Ink::thin);
  head({left, y}, 1, 0);
  head({right, y}, -1, 0);
}

std::size_t Pen::window(Point centre, double radius) {
  scene_.windows.push_back({spot(centre), millimetres(radius)});
  return scene_.windows.size() - 1;
}

}  // namespace hingeline::drawing
