#pragma once
/// \file
/// What makes of a PDF file one that is still read in many years: PDF/A-1b (ISO 19005-1).

#include <string>
#include <string_view>

#include "hingeline/base/error.h"
#include "hingeline/drawing/print.h"

namespace hingeline::drawing {

/// The file that Cairo wrote, as PDF/A-1b: the facts in its Info and, alike, as XMP; what its colours mean
/// (an sRGB profile); no transparency groups; which glyphs its fonts hold; an identifier made of its own
/// bytes. Streams stay as they are, so that the pass costs little. What is see-through on a page stays so:
/// Cairo must not be asked for that. Fault::file for bytes that are no such file.
Expected<std::string> for_keeping(std::string_view cairos, const PdfFacts& facts);

}  // namespace hingeline::drawing
