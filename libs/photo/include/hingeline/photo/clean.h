#pragma once
/// \file
/// A photo as it came, made into one that holds nothing but the picture: no place, no camera, no date, no
/// text, no second picture, nothing before, between or after its parts.
///
/// The bytes are walked part by part (JPEG: ITU-T T.81; PNG: ISO/IEC 15948; WebP: RFC 9649) and written anew
/// from those parts that are needed to show the picture. The compressed picture data themselves are not
/// decoded: they are copied as they are, and whether they show anything is not known.
/// - JPEG: of the segments APPn and COM none. Written fresh where it is needed: JFIF, or the marker that says
///   which colours they are, and an Exif segment with the orientation alone. Tables that nothing uses go too.
/// - PNG: IHDR, sRGB, gAMA, cHRM, PLTE, tRNS, IDAT, IEND. sBIT goes: it says how many bits the source had and
///   changes no colour. A colour profile (iCCP) goes, as it names its maker.
/// - WebP: the picture and its transparency. Profile, Exif and XMP go.
///
/// What is cleaned is clean: cleaning it again gives the same bytes.

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "hingeline/base/error.h"

namespace hingeline::photo {

enum class Type { jpeg, png, webp };
/// "image/jpeg", "image/png", "image/webp" (registered with IANA).
const char* media_type(Type type);
/// "jpg", "png", "webp".
const char* file_ending(Type type);

/// All inclusive.
struct Bounds {
  std::size_t bytes = std::size_t{12} << 20U;  ///< as it came, and as it is written
  std::int64_t pixels = 50'000'000;
  int side = 16'384;  ///< width and height each
};

struct Clean {
  Type type = Type::jpeg;
  int width = 0;   ///< pixels, from 1, as stored: not yet turned
  int height = 0;  ///< the same
  /// How it has to be turned to stand upright: Exif's orientation, 1 (as it is) to 8. Kept in the bytes of a
  /// JPEG, where every viewer turns it; always 1 for the others.
  int upright = 1;
  std::string bytes;
};

/// Tells the type by what the bytes are, never by a name. Fault::syntax for what is no JPEG, PNG or WebP
/// picture, breaks its format's rules, is of a kind that browsers do not show, moves, or ends too soon;
/// Fault::content for one beyond the bounds.
Expected<Clean> clean(std::string_view bytes, const Bounds& bounds = {});

}  // namespace hingeline::photo
