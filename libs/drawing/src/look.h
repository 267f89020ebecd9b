#pragma once
/// \file
/// What lines and areas look like, for every writer alike.

#include <array>
#include <cstddef>
#include <string_view>
#include <vector>

#include "hingeline/drawing/scene.h"

namespace hingeline::drawing {

struct InkLook {
  std::string_view colour = {};  ///< "#rgb" or "#rrggbb"; empty: not drawn
  double width = 0;              ///< mm
  std::vector<double> dashes = {};
};
/// Line widths step by about the square root of two, and an edge is twice as wide as what is said of it (ISO
/// 128-2, from memory).
InkLook look(Ink ink);

/// An area: a plain colour, or a tile that repeats.
struct FillLook {
  std::string_view colour = {};              ///< plain; of a tile: what lies under it; empty: nothing
  std::string_view name = {};                ///< of a tile; empty: it is plain
  double side = 0;                           ///< of a tile, mm
  double turn = 0;                           ///< degrees, clockwise
  std::string_view stroke = {};              ///< colour of its lines and dots
  double width = 0;                          ///< of its lines, mm
  std::array<double, 2> upright = {-1, -1};  ///< where lines go from top to bottom; below 0: none
  double level = -1;                         ///< where a line goes from side to side; below 0: none
  double dot = 0;                            ///< radius of a dot in the middle; 0: none

  [[nodiscard]] bool plain() const { return name.empty(); }
};
inline constexpr std::size_t kFillCount = static_cast<std::size_t>(Fill::contact) + 1;
const std::array<FillLook, kFillCount>& fill_looks();
inline const FillLook& look(Fill fill) { return fill_looks()[static_cast<std::size_t>(fill)]; }

inline constexpr std::string_view kTextColour = "#111";

/// Whether it is on any sheet (kLargestCoordinate).
bool fits(Length v);
inline bool fits(const Spot& spot) { return fits(spot.x) && fits(spot.y); }

}  // namespace hingeline::drawing
