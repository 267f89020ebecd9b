#pragma once
/// \file
/// Drawing on a sheet in plain millimetres: what the drawings of this room have in common.

#include <cstddef>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/base/quantity.h"
#include "hingeline/base/reading.h"
#include "hingeline/drawing/scene.h"

namespace hingeline::drawing {

struct Point {
  double x = 0, y = 0;
};
using Points = std::vector<Point>;

/// Letter sizes, mm.
inline constexpr double kTitleSize = 4.2;
inline constexpr double kHeadSize = 3.3;
inline constexpr double kTextSize = 2.7;
inline constexpr double kLineStep = 3.7;  ///< from one line of text to the next

inline Spot spot(Point p) { return {millimetres(p.x), millimetres(p.y)}; }
/// Whether it is a length at all: finite and no larger than what can be read in.
inline bool measured(Length v) { return is_finite(v) && abs(v) <= kLargestLength; }
/// Whether there is a measure: as above and greater than 0.
inline bool known(Length v) { return measured(v) && v > Length(); }
/// In millimetres; 0 for what is no length.
inline double mm_or_0(Length v) { return measured(v) ? in_millimetres(v) : 0.0; }
/// "8:1", "1:2.5".
std::string scale_words(double scale);
/// The largest of `steps` (rising) that is at most `wanted`; the first when all are larger.
double scale_at_most(double wanted, const std::vector<double>& steps);

class Pen {
 public:
  explicit Pen(Scene& scene) : scene_(scene) {}

  void line(Point a, Point b, Ink ink, std::optional<std::size_t> window = {});
  void path(const Points& points, Ink ink, std::optional<std::size_t> window = {});
  void area(const Points& points, Ink ink, Fill fill, std::optional<std::size_t> window = {});
  /// Between two opposite corners.
  void box(Point a, Point b, Ink ink, Fill fill, std::optional<std::size_t> window = {});
  void circle(Point centre, double radius, Ink ink, Fill fill, std::optional<std::size_t> window = {});
  void text(Point at, std::string_view words, double size = kTextSize, Anchor anchor = Anchor::start,
            bool bold = false);
  /// Lines one under another, the first at `at`; returns the y of the line that would come next.
  double lines(Point at, const std::vector<std::string>& words, double size = kTextSize,
               Anchor anchor = Anchor::start, bool bold = false);
  /// From `a` to `b` with an arrow head at `b`.
  void arrow(Point a, Point b);
  /// A measure between two places on one level, arrow heads at both; drawn from outside when it is
  /// too short for two heads.
  void measure(double x1, double x2, double y);
  /// A new circular window; returns its index.
  std::size_t window(Point centre, double radius);

 private:
  void head(Point tip, double dx, double dy);

  Scene& scene_;
};

}  // namespace hingeline::drawing
