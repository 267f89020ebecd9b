#include "hingeline/photo/clean.h"

#include <fmt/format.h>

#include "parts.h"

namespace hingeline::photo {

using namespace std::string_view_literals;

const char* media_type(Type type) {
  switch (type) {
    case Type::jpeg:
      return "image/jpeg";
    case Type::png:
      return "image/png";
    case Type::webp:
      break;
  }
  return "image/webp";
}

const char* file_ending(Type type) {
  switch (type) {
    case Type::jpeg:
      return "jpg";
    case Type::png:
      return "png";
    case Type::webp:
      break;
  }
  return "webp";
}

Expected<void> check_size(std::int64_t width, std::int64_t height, const Bounds& bounds) {
  if (width < 1 || height < 1) return broken("the picture has no size");
  if (width > bounds.side || height > bounds.side || width > bounds.pixels / height) {
    return fail(Fault::content, fmt::format("the picture has {} × {} pixels", width, height),
                fmt::format("at most {} a side and {} in all", bounds.side, bounds.pixels));
  }
  return {};
}

namespace {

Expected<void> check_weight(std::size_t bytes, const Bounds& bounds) {
  if (bytes <= bounds.bytes) return {};
  return fail(Fault::content, fmt::format("the picture has {} bytes", bytes),
              fmt::format("at most {} bytes", bounds.bytes));
}

Expected<Clean> by_content(std::string_view bytes, const Bounds& bounds) {
  if (bytes.starts_with("\xFF\xD8\xFF"sv)) return clean_jpeg(bytes, bounds);
  if (bytes.starts_with("\x89PNG\r\n\x1A\n"sv)) return clean_png(bytes, bounds);
  if (bytes.starts_with("RIFF"sv) && bytes.size() >= 12 && bytes.substr(8, 4) == "WEBP"sv)
    return clean_webp(bytes, bounds);
  return fail(Fault::syntax, "this is no picture that can be kept here", "a JPEG, PNG or WebP picture");
}

}  // namespace

Expected<Clean> clean(std::string_view bytes, const Bounds& bounds) {
  if (auto light = check_weight(bytes.size(), bounds); !light)
    return tl::unexpected(std::move(light.error()));
  auto out = by_content(bytes, bounds);
  // What is written fresh may make a picture longer than it came.
  if (out) {
    if (auto light = check_weight(out->bytes.size(), bounds); !light)
      return tl::unexpected(std::move(light.error()));
  }
  return out;
}

}  // namespace hingeline::photo
