#pragma once
/// \file
/// Small pictures written byte by byte.

#include <gtest/gtest.h>

#include <cstdint>
#include <initializer_list>
#include <string>
#include <string_view>

#include "hingeline/photo/clean.h"

namespace hingeline::photo::test {

using namespace std::string_literals;
using namespace std::string_view_literals;

inline std::string bytes_of(std::initializer_list<int> values) {
  std::string out;
  for (const int v : values) out.push_back(static_cast<char>(v));
  return out;
}
inline std::string big(std::uint32_t value, int count) {
  std::string out;
  for (int n = count - 1; n >= 0; --n)
    out.push_back(static_cast<char>(value >> (8U * static_cast<unsigned>(n))));
  return out;
}
inline std::string little(std::uint32_t value, int count) {
  const std::string turned = big(value, count);
  return {turned.rbegin(), turned.rend()};
}

// JPEG (ITU-T T.81, annex B).

inline std::string segment(int marker, const std::string& data) {
  return bytes_of({0xFF, marker}) + big(static_cast<std::uint32_t>(data.size() + 2), 2) + data;
}
inline const std::string kSoi = bytes_of({0xFF, 0xD8});
inline const std::string kEoi = bytes_of({0xFF, 0xD9});
inline const std::string kJfif = segment(0xE0, "JFIF\0\x01\x01\0\0\x01\0\x01\0\0"s);
inline std::string quant(int slot, char step = 1) {
  return segment(0xDB, bytes_of({slot}) + std::string(64, step));
}
/// One code of one bit, 0, for `value`.
inline std::string huffman(int kind_and_slot, int value = 0) {
  return segment(0xC4, bytes_of({kind_and_slot, 1}) + std::string(15, '\0') + bytes_of({value}));
}
inline std::string frame(int marker, int width, int height, std::initializer_list<int> components) {
  return segment(marker, bytes_of({8}) + big(static_cast<std::uint32_t>(height), 2) +
                             big(static_cast<std::uint32_t>(width), 2) +
                             bytes_of({static_cast<int>(components.size() / 3)}) + bytes_of(components));
}
inline std::string scan(std::initializer_list<int> header, const std::string& coded) {
  return segment(0xDA, bytes_of(header)) + coded;
}
/// Eight by eight in one grey: the mean's difference 0 and no more, two bits of 0, filled up with ones.
inline const std::string kGreyFrame = frame(0xC0, 8, 8, {1, 0x11, 0});
inline const std::string kGreyScan = scan({1, 1, 0, 0, 63, 0}, "\x3F"s);
inline const std::string kGreyTables = huffman(0x00) + huffman(0x10);
inline std::string grey_jpeg(const std::string& notes = kJfif) {
  return kSoi + notes + quant(0) + kGreyFrame + kGreyTables + kGreyScan + kEoi;
}
/// An Exif segment of a camera: maker, orientation, and a place on the Earth.
inline std::string exif(int orientation, bool little_endian) {
  const auto n = [&](std::uint32_t value, int count) {
    return little_endian ? little(value, count) : big(value, count);
  };
  std::string tiff = little_endian ? "II"s : "MM"s;
  tiff += n(42, 2) + n(8, 4) + n(3, 2);
  tiff += n(0x010F, 2) + n(2, 2) + n(12, 4) + n(80, 4);  // maker
  tiff += n(0x0112, 2) + n(3, 2) + n(1, 4) + n(static_cast<std::uint32_t>(orientation), 2) + n(0, 2);
  tiff += n(0x8825, 2) + n(4, 2) + n(1, 4) + n(50, 4);  // place
  tiff += n(0, 4);
  tiff += n(1, 2) + n(2, 2) + n(5, 2) + n(3, 4) + n(92, 4) + n(0, 4);
  tiff.resize(80, '\0');
  tiff += "MADE-UP-CAM\0"s + n(47, 4) + n(1, 4) + n(30, 4) + n(1, 4) + n(0, 4) + n(1, 4);
  return segment(0xE1, "Exif\0\0"s + tiff);
}
/// What of it may stay.
inline std::string turned(int orientation) {
  return segment(0xE1, "Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01"s +
                           big(static_cast<std::uint32_t>(orientation), 2) + std::string(6, '\0'));
}

// PNG (ISO/IEC 15948). CRC-32 and Adler-32 by their plainest definitions.

inline std::uint32_t crc32(std::string_view data) {
  std::uint32_t crc = ~0U;
  for (const char c : data) {
    crc ^= static_cast<std::uint8_t>(c);
    for (int bit = 0; bit < 8; ++bit) crc = (crc >> 1U) ^ ((crc & 1U) * 0xEDB88320U);
  }
  return ~crc;
}
inline std::string chunk(const std::string& type, const std::string& data) {
  return big(static_cast<std::uint32_t>(data.size()), 4) + type + data + big(crc32(type + data), 4);
}
/// As one stored block of zlib's (RFC 1950, 1951).
inline std::string zlib(const std::string& data) {
  std::uint32_t a = 1;
  std::uint32_t b = 0;
  for (const char c : data) {
    a = (a + static_cast<std::uint8_t>(c)) % 65521;
    b = (b + a) % 65521;
  }
  const auto size = static_cast<std::uint32_t>(data.size());
  return "\x78\x01\x01"s + little(size, 2) + little(~size, 2) + data + big(b << 16U | a, 4);
}
inline const std::string kPngStart = "\x89PNG\r\n\x1A\n"s;
inline std::string header(int width, int height, int depth, int colour) {
  return chunk("IHDR", big(static_cast<std::uint32_t>(width), 4) +
                           big(static_cast<std::uint32_t>(height), 4) + bytes_of({depth, colour, 0, 0, 0}));
}
inline const std::string kGreyRows = zlib("\0\x10\x20\0\x30\x40"s);  // two rows of two, without a filter
inline const std::string kPngEnd = chunk("IEND", "");
inline std::string grey_png(const std::string& before = "", const std::string& after = "") {
  return kPngStart + header(2, 2, 8, 0) + before + chunk("IDAT", kGreyRows) + after + kPngEnd;
}

// WebP (RFC 9649).

inline std::string riff_chunk(const std::string& type, const std::string& data) {
  return type + little(static_cast<std::uint32_t>(data.size()), 4) + data +
         (data.size() % 2 == 0 ? ""s : "\0"s);
}
inline std::string webp(const std::string& chunks) {
  return "RIFF" + little(static_cast<std::uint32_t>(chunks.size() + 4), 4) + "WEBP" + chunks;
}
/// Of its picture only the header is right: nothing here decodes it.
inline std::string lossless(int width, int height) {
  const auto bits = static_cast<std::uint32_t>(width - 1) | static_cast<std::uint32_t>(height - 1) << 14U;
  return riff_chunk("VP8L", "\x2F"s + little(bits, 4) + "made-up data"s);
}
inline std::string lossy(int width, int height) {
  const std::string data = "first part, and then the others";
  const std::uint32_t tag = 1U << 4U | 10U << 5U;
  return riff_chunk("VP8 ", little(tag, 3) + "\x9D\x01\x2A"s + little(static_cast<std::uint32_t>(width), 2) +
                                little(static_cast<std::uint32_t>(height), 2) + data);
}
inline std::string webp_header(int flags, int width, int height) {
  return riff_chunk("VP8X", bytes_of({flags, 0, 0, 0}) + little(static_cast<std::uint32_t>(width - 1), 3) +
                                little(static_cast<std::uint32_t>(height - 1), 3));
}

inline Clean cleaned(const std::string& bytes, const Bounds& bounds = {}) {
  auto out = clean(bytes, bounds);
  if (!out) throw std::runtime_error(out.error().what);
  return std::move(*out);
}
/// "taken", or the sentence it was refused with.
inline std::string verdict(const std::string& bytes, const Bounds& bounds = {}) {
  const auto out = clean(bytes, bounds);
  if (out) return "taken";
  EXPECT_FALSE(out.error().what.empty());
  EXPECT_FALSE(out.error().expected.empty());
  return out.error().what;
}

}  // namespace hingeline::photo::test
