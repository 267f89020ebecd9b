#pragma once
/// \file
/// Scenes as SVG files.

#include <string>

#include "hingeline/drawing/scene.h"

namespace hingeline::drawing {

/// Shapes with a coordinate farther from the origin than this, or not finite, are left out of the
/// file.
inline constexpr Length kLargestCoordinate = millimetres(10000.0);

/// The scene as an SVG 1.1 file in UTF-8: its physical size in millimetres, one user unit to the
/// millimetre, coordinates to the nearest micrometre, text as text, title and description for
/// screen readers. The same scene gives the same bytes, whatever the locale. Text is escaped;
/// bytes that are no UTF-8 and characters that XML does not allow become U+FFFD.
/// Names of patterns and windows are made from the scene, so that several drawings can stand in
/// one page.
std::string to_svg(const Scene& scene);

}  // namespace hingeline::drawing
