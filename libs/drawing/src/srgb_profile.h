#pragma once
/// \file
/// The colours that drawings are meant in.

#include <string_view>

namespace hingeline::drawing {

/// Bytes of an ICC profile of sRGB (IEC 61966-2-1), version 2: PDF/A-1 knows no later one. From Debian's
/// icc-profiles-free, put into the program as it is built (cmake/Profile.cmake).
std::string_view srgb_profile();

}  // namespace hingeline::drawing
