#pragma once
/// \file
/// Bytes read and written by number, and what the three formats share.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "hingeline/photo/clean.h"

namespace hingeline::photo {

inline std::uint8_t byte_at(std::string_view bytes, std::size_t at) {
  return static_cast<std::uint8_t>(bytes[at]);
}
/// The number of `count` bytes, at most 4, most significant first; all of them are there.
inline std::uint32_t big_endian(std::string_view bytes, std::size_t at, std::size_t count) {
  std::uint32_t out = 0;
  for (std::size_t n = 0; n < count; ++n) out = out << 8U | byte_at(bytes, at + n);
  return out;
}
inline std::uint32_t little_endian(std::string_view bytes, std::size_t at, std::size_t count) {
  std::uint32_t out = 0;
  for (std::size_t n = count; n > 0; --n) out = out << 8U | byte_at(bytes, at + n - 1);
  return out;
}
inline void put_big_endian(std::string& out, std::uint32_t value, std::size_t count) {
  for (std::size_t n = count; n > 0; --n) out.push_back(static_cast<char>(value >> (8 * (n - 1)) & 0xFFU));
}
inline void put_little_endian(std::string& out, std::uint32_t value, std::size_t count) {
  for (std::size_t n = 0; n < count; ++n) out.push_back(static_cast<char>(value >> (8 * n) & 0xFFU));
}

inline tl::unexpected<Error> broken(std::string what) {
  return fail(Fault::syntax, std::move(what), "a photo as the camera or the phone wrote it");
}
inline tl::unexpected<Error> cut_short() { return broken("the picture ends too soon"); }

/// Refuses sides of 0 and what is beyond the bounds.
Expected<void> check_size(std::int64_t width, std::int64_t height, const Bounds& bounds);

Expected<Clean> clean_jpeg(std::string_view bytes, const Bounds& bounds);
Expected<Clean> clean_png(std::string_view bytes, const Bounds& bounds);
Expected<Clean> clean_webp(std::string_view bytes, const Bounds& bounds);

}  // namespace hingeline::photo
