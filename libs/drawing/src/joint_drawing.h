#pragma once
/// \file
/// One joint in section: the parts, where it rides, what was taken off, notes and dimensions.

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/base/reading.h"
#include "hingeline/drawing/pen.h"
#include "hingeline/drawing/section.h"
#include "joint_shape.h"
#include "speech.h"

namespace hingeline::drawing {

// A joint's panel, mm of paper.
/// A panel's room across the sheet.
struct PanelRoom {
  double post = 40;  ///< outer edge to post face
  double key = 47;   ///< post face to inner edge
  [[nodiscard]] double width() const { return post + key; }
};
inline constexpr double kPostFoot = 3;  // how far the post goes on below the joint
inline constexpr double kDimensionStep = 4.4;
inline constexpr double kContactDot = 0.75;

/// One joint to draw.
struct Panel {
  const JointView* view = nullptr;
  JointShape shape;
  Taken taken;
  std::string heading;
  std::vector<std::string> work;
};

/// One joint's place on the sheet. `mirrored`: the post stands on the right.
class Frame {
 public:
  Frame(const PanelRoom& room, double panel_left, double axis_y, double scale, bool mirrored)
      : room_(room),
        x0_(mirrored ? panel_left + room.key : panel_left + room.post),
        y0_(axis_y),
        scale_(scale),
        direction_(mirrored ? -1 : 1) {}

  /// u along, v across (upwards), mm of the joint; `dx` mm of paper further into the key.
  [[nodiscard]] Point at(double u, double v, double dx = 0) const {
    return {x0_ + direction_ * (u * scale_ + dx), y0_ - v * scale_};
  }
  [[nodiscard]] double x(double u, double dx = 0) const { return at(u, 0, dx).x; }
  /// The sheet's x of a place `dx` mm of paper into the key from the post's face, and back.
  [[nodiscard]] double from_face(double dx) const { return x0_ + direction_ * dx; }
  [[nodiscard]] double into_key(double sheet_x) const { return (sheet_x - x0_) * direction_; }
  [[nodiscard]] double scale() const { return scale_; }
  [[nodiscard]] const PanelRoom& room() const { return room_; }
  [[nodiscard]] double axis() const { return y0_; }
  [[nodiscard]] bool mirrored() const { return direction_ < 0; }
  /// For text that begins at its end nearer the post.
  [[nodiscard]] Anchor from_post() const { return mirrored() ? Anchor::end : Anchor::start; }
  [[nodiscard]] Anchor to_post() const { return mirrored() ? Anchor::start : Anchor::end; }

 private:
  PanelRoom room_;
  double x0_, y0_, scale_, direction_;
};

/// Draws the joint with its notes from `notes_top` down.
void draw_joint(Pen& pen, const Panel& panel, const Frame& frame, const Speech& say, double notes_top);
/// A part and where a number's line ends in it.
struct PartPlace {
  JointPart part = JointPart::post;
  Point at;
};
/// From the post into the key.
std::vector<PartPlace> part_places(const Panel& panel, const Frame& frame);
inline constexpr double kNumbersHeight = 9;
/// Draws the joint with numbers from `first` on in a row at `top`.
void draw_numbered_joint(Pen& pen, const Panel& panel, const Frame& frame, const Speech& say, double top,
                         std::size_t first);
/// How much room the notes above a joint take.
double notes_height(const Panel& panel, const Frame& frame, const Speech& say);
/// How much room the dimensions below a joint take.
double dimensions_height(const JointShape& shape);

/// What the joint rides on, as a sentence's end; empty when on nothing.
std::string riding(const JointView& view, const Speech& say);
/// Whether it rides on anything.
bool rides(const JointView& view);
/// Figures that go with riding().
std::vector<std::string> riding_figures(const JointView& view, const JointShape& shape, const Speech& say);
std::string joined(const std::vector<std::string>& parts, std::string_view between);

}  // namespace hingeline::drawing
