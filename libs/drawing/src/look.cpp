#include "look.h"

#include "hingeline/drawing/svg.h"

namespace hingeline::drawing {

InkLook look(Ink ink) {
  switch (ink) {
    case Ink::none:
      break;
    case Ink::line:
      return {"#111", 0.35, {}};
    case Ink::thin:
      return {"#333", 0.18, {}};
    case Ink::hidden:
      return {"#333", 0.25, {1.2, 0.8}};
    case Ink::axis:
      return {"#333", 0.18, {4, 0.8, 0.6, 0.8}};
    case Ink::contact:
      return {"#8a1515", 0.9, {}};
    case Ink::cut:
      return {"#8a1515", 0.15, {}};
  }
  return {};
}

const std::array<FillLook, kFillCount>& fill_looks() {
  static constexpr std::array<FillLook, kFillCount> kLooks = {
      FillLook{.colour = "none"},
      FillLook{.colour = "#fff"},
      FillLook{
          .name = "post", .side = 1.8, .turn = 45, .stroke = "#444", .width = 0.18, .upright = {0.9, -1}},
      FillLook{
          .name = "key", .side = 1.1, .turn = -45, .stroke = "#444", .width = 0.18, .upright = {0.55, -1}},
      FillLook{.colour = "#ececec",
               .name = "screw",
               .side = 1.6,
               .turn = 70,
               .stroke = "#555",
               .width = 0.12,
               .upright = {0.5, 0.9}},
      FillLook{.name = "cut",
               .side = 0.7,
               .turn = 45,
               .stroke = "#8a1515",
               .width = 0.2,
               .upright = {0.35, -1},
               .level = 0.35},
      FillLook{.name = "range", .side = 1, .stroke = "#333", .dot = 0.16},
      FillLook{.name = "bind", .side = 1, .stroke = "#111", .width = 0.4, .upright = {0.5, -1}},
      FillLook{.colour = "#dfe9e4"},
      FillLook{.colour = "#d8d8d8"},
      FillLook{.colour = "#111"},
      FillLook{.colour = "#8a1515"},
  };
  return kLooks;
}

bool fits(Length v) { return is_finite(v) && abs(v) <= kLargestCoordinate; }

}  // namespace hingeline::drawing
