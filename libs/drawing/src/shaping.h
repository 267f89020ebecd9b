#pragma once
/// \file
/// Text that is more than one letter after the other: scripts that join their letters or run from right to
/// left, and those of the far east, which another font has.

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/base/error.h"

namespace hingeline::drawing {

enum class Face : std::size_t { plain, bold, far_east };
inline constexpr std::size_t kFaceCount = 3;
/// The file that holds a face, the first one in it, and Debian's package it is from.
struct FaceFile {
  const char* path;
  const char* package;
};
FaceFile file_of(Face face);

/// Whether it holds letters that come out wrong one by one: other than Latin, Greek and Cyrillic.
bool needs_shaping(std::u32string_view text);

/// One glyph, lengths in shares of the letters' size.
struct Glyph {
  unsigned index = 0;
  double right = 0, up = 0;  ///< of where the pen is
  double advance = 0;
};
/// So many bytes of the text came out as so many glyphs.
struct Cluster {
  int bytes = 0;
  int glyphs = 0;
};
/// Glyphs of one face from left to right, and what they stand for.
struct Run {
  Face face = Face::plain;
  std::string text;               ///< UTF-8, in the order of reading
  bool backward = false;          ///< read from right to left
  std::vector<Glyph> glyphs;      ///< from left to right
  std::vector<Cluster> clusters;  ///< in the order of reading
};

/// A line's runs from left to right: ordered by the Unicode bidirectional algorithm (UAX #9) in a line that
/// runs from left to right, as all ours do; marks in it that would turn what stands around them have no
/// effect. A letter that no face has is that face's empty box. Fault::file where a font is not installed.
Expected<std::vector<Run>> shaped(std::u32string_view text, bool bold);

}  // namespace hingeline::drawing
