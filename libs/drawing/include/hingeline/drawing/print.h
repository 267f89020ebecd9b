#pragma once
/// \file
/// Scenes as PDF and PNG files, drawn by Cairo from the same shapes as the SVG.
///
/// Text is set in DejaVu Sans, from the files of Debian's fonts-dejavu-core, glyph by glyph by the font's own
/// advances: no kerning, no hinting, so that lines break alike everywhere. Letters that the font does not
/// have come out as its empty box; in a PDF the text under them is still what was written. Scripts that join
/// their letters or run from right to left are not shaped.
///
/// The same scenes and facts give the same bytes, for one version of Cairo, FreeType and the font. Any
/// thread may draw.

#include <cstddef>
#include <span>
#include <string>

#include "hingeline/base/error.h"
#include "hingeline/drawing/scene.h"

namespace hingeline::drawing {

/// What a PDF file says of itself.
struct PdfFacts {
  std::string title = {};
  std::string author = {};
  std::string subject = {};
  std::string language = {};  ///< "en", "de"; empty: not said
  /// When it was made: a day ("2026-11-27") or a moment in UTC ("2026-11-27T08:00:00Z"). It always comes from
  /// outside; empty, or any other text: not said.
  std::string made = {};
};

/// Most pages of one file.
inline constexpr std::size_t kMostPages = 4000;

/// One page for each scene, of the scene's size, in its order. Lengths on paper are true to 0.003 mm (Cairo
/// holds them to 1/256 point). Text is text with the font's used part embedded; marks become structure
/// elements of a tagged PDF, each paper of a file of several one part. The file is PDF/A-1b (ISO 19005-1):
/// fonts embedded, colours in sRGB by an embedded profile, the facts as XMP too, nothing see-through, no date
/// but the one that was given. Shapes beyond kLargestCoordinate are left out. Fault::usage for no page, more
/// than kMostPages, or a page that is no larger than nothing; Fault::file where the font is not installed, or
/// Cairo refuses.
Expected<std::string> to_pdf(std::span<const Scene> pages, const PdfFacts& facts);

/// Most dots of a picture, across or down.
inline constexpr int kMostDots = 20000;

/// A picture on white, `dots_per_mm` from 0.1 to 100, so that 300 dots an inch are 11.811. Fault::usage where
/// it would have no dots or more than kMostDots one way; Fault::file as above.
Expected<std::string> to_png(const Scene& scene, double dots_per_mm);

}  // namespace hingeline::drawing
