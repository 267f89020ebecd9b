#pragma once
/// \file
/// A drawing before it becomes a file: shapes on a sheet, in millimetres of paper.
///
/// The origin is the sheet's upper left corner, x to the right, y downwards. Shapes are drawn in
/// their order, later ones over earlier ones. What a line or an area *means* is kept here; what it
/// looks like is the writer's (svg.h).

#include <cstddef>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "hingeline/base/quantity.h"

namespace hingeline::drawing {

/// A place on the paper.
struct Spot {
  Length x, y;
  friend bool operator==(const Spot&, const Spot&) = default;
};

/// What a line is.
enum class Ink {
  none,
  line,     ///< an edge that is seen
  thin,     ///< dimensions, leaders, thread, break lines
  hidden,   ///< an edge that was not measured, or is not there any more: dashed
  axis,     ///< the hinge line: chain line
  contact,  ///< where the key rides
  cut       ///< round metal to be taken
};

/// What an area is. Solid parts differ by their hatching, so that they are told apart in grey.
enum class Fill {
  none,
  paper,  ///< blank
  post,
  key,
  screw,
  cut,         ///< metal to be taken: crossed hatching
  free_range,  ///< where the key can go: dots
  bind,        ///< where parts overlap: upright bars
  window,      ///< what is aimed at: pale
  pad,         ///< pale grey
  solid,       ///< arrow heads
  contact      ///< a dot where the key rides
};

/// A circular window: shapes that name it are seen only inside it.
struct Window {
  Spot centre;
  Length radius;
};

struct Path {
  std::vector<Spot> spots;
  bool closed = false;
  Ink ink = Ink::line;
  Fill fill = Fill::none;
  std::optional<std::size_t> window = std::nullopt;  ///< index into Scene::windows
};

struct Circle {
  Spot centre;
  Length radius;
  Ink ink = Ink::line;
  Fill fill = Fill::none;
  std::optional<std::size_t> window = std::nullopt;
};

enum class Anchor { start, middle, end };

/// One line of text; `at` lies on its baseline.
struct Label {
  Spot at;
  std::string text;
  Length size;
  Anchor anchor = Anchor::start;
  bool bold = false;
};

using Shape = std::variant<Path, Circle, Label>;

/// What some of a page's shapes are, one after the other, for who has it read out or copies from it.
enum class Role { heading, paragraph, table, row, header_cell, cell, figure };

/// The shapes from `first` up to `end` have that role. A mark may stand inside another one, not across its
/// edge; the outer one comes first in Scene::marks.
struct Mark {
  Role role = Role::paragraph;
  std::size_t first = 0;
  std::size_t end = 0;
};

struct Scene {
  Length width, height;
  std::string title;        ///< for screen readers: what the drawing is
  std::string description;  ///< for screen readers: what it shows, with its figures
  std::vector<Window> windows;
  std::vector<Shape> shapes;
  std::vector<Mark> marks;  ///< for PDF files
  bool goes_on = false;     ///< a further page of the paper before it, in a file of several
};

}  // namespace hingeline::drawing
