// WebP, by RFC 9649 (container and lossless) and RFC 6386 (VP8, section 9.1).

#include "parts.h"

namespace hingeline::photo {
namespace {

using namespace std::string_view_literals;

constexpr std::size_t kRiffHeader = 12;
constexpr std::size_t kChunkHeader = 8;

struct Size {
  std::int64_t width = 0;
  std::int64_t height = 0;
  friend bool operator==(const Size&, const Size&) = default;
};

/// The lossy picture's own header: a whole picture that is shown, its first part within it.
Expected<Size> lossy_size(std::string_view data) {
  if (data.size() < 10) return cut_short();
  const std::uint32_t tag = little_endian(data, 0, 3);
  const bool key_frame = (tag & 1U) == 0;
  const std::uint32_t version = tag >> 1U & 7U;
  const bool shown = (tag >> 4U & 1U) != 0;
  const std::uint32_t first_part = tag >> 5U;
  if (!key_frame || version > 3 || !shown || data.substr(3, 3) != "\x9D\x01\x2A"sv)
    return broken("the WebP's picture has a wrong header");
  if (first_part > data.size() - 10) return cut_short();
  return Size{little_endian(data, 6, 2) & 0x3FFFU, little_endian(data, 8, 2) & 0x3FFFU};
}

Expected<Size> lossless_size(std::string_view data) {
  if (data.size() < 6) return cut_short();
  const std::uint32_t bits = little_endian(data, 1, 4);
  if (byte_at(data, 0) != 0x2F || bits >> 29U != 0) return broken("the WebP's picture has a wrong header");
  return Size{std::int64_t{bits & 0x3FFFU} + 1, std::int64_t{bits >> 14U & 0x3FFFU} + 1};
}

class Walk {
 public:
  Walk(std::string_view bytes, const Bounds& bounds) : bytes_(bytes), bounds_(bounds) {}

  Expected<Clean> run() {
    const std::uint32_t length = little_endian(bytes_, 4, 4);
    if (length > bytes_.size() - 8) return cut_short();
    if (length < 4 + kChunkHeader || length % 2 != 0) return broken("the WebP says a wrong length of itself");
    // What lies behind is none of the picture's.
    bytes_ = bytes_.substr(0, std::size_t{8} + length);
    for (std::size_t at = kRiffHeader; at < bytes_.size();) {
      if (bytes_.size() - at < kChunkHeader) return cut_short();
      const std::string_view type = bytes_.substr(at, 4);
      const std::size_t size = little_endian(bytes_, at + 4, 4);
      const std::size_t padded = size + size % 2;
      if (bytes_.size() - at - kChunkHeader < padded) return cut_short();
      if (auto taken = take(type, bytes_.substr(at + kChunkHeader, size), at == kRiffHeader); !taken)
        return tl::unexpected(std::move(taken.error()));
      at += kChunkHeader + padded;
    }
    return written();
  }

 private:
  Expected<void> take(std::string_view type, std::string_view data, bool first) {
    if (type == "VP8X"sv) {
      if (!first) return broken("the WebP's header stands in a wrong place");
      return take_header(data);
    }
    if (type == "VP8 "sv || type == "VP8L"sv) return take_picture(type, data);
    if (first) return broken("the WebP does not begin with its picture");
    if (type == "ANIM"sv || type == "ANMF"sv) return moves();
    if (type == "ALPH"sv) return take_transparency(data);
    return {};
  }

  static tl::unexpected<Error> moves() {
    return fail(Fault::syntax, "the picture moves", "a picture that stands still");
  }

  Expected<void> take_header(std::string_view data) {
    if (data.size() != 10) return broken("the WebP's header has a wrong length");
    constexpr std::uint32_t kMoves = 0x02;
    if ((byte_at(data, 0) & kMoves) != 0) return moves();
    canvas_ = Size{std::int64_t{little_endian(data, 4, 3)} + 1, std::int64_t{little_endian(data, 7, 3)} + 1};
    return {};
  }

  Expected<void> take_picture(std::string_view type, std::string_view data) {
    if (!picture_.empty()) return broken("the WebP holds two pictures");
    lossy_ = type == "VP8 "sv;
    const auto size = lossy_ ? lossy_size(data) : lossless_size(data);
    if (!size) return tl::unexpected(size.error());
    if (canvas_ && *canvas_ != *size) return broken("the WebP's picture has another size than its header");
    if (auto fits = check_size(size->width, size->height, bounds_); !fits) return fits;
    size_ = *size;
    picture_ = data;
    return {};
  }

  Expected<void> take_transparency(std::string_view data) {
    // Readers pass over it where it means nothing.
    if (!canvas_ || !picture_.empty()) return {};
    if (!transparency_.empty()) return broken("the WebP has its transparency twice");
    if (data.size() < 2) return cut_short();
    const std::uint32_t how = byte_at(data, 0);
    if ((how & 3U) > 1 || (how >> 4U & 3U) > 1) return broken("the WebP's transparency has a wrong header");
    transparency_ = data;
    return {};
  }

  Expected<Clean> written() {
    if (picture_.empty()) return broken("the WebP holds no picture");
    if (!lossy_) transparency_ = {};  // a lossless picture has its own
    constexpr std::uint32_t kCompression = 3;
    if (!transparency_.empty() && (byte_at(transparency_, 0) & kCompression) == 0) {
      const auto pixels = static_cast<std::size_t>(size_.width * size_.height);
      if (transparency_.size() - 1 < pixels) return cut_short();
      transparency_ = transparency_.substr(0, pixels + 1);
    }
    Clean out;
    out.type = Type::webp;
    out.width = static_cast<int>(size_.width);
    out.height = static_cast<int>(size_.height);
    std::string parts;
    const auto put = [&parts](std::string_view type, std::string_view data) {
      parts.append(type);
      put_little_endian(parts, static_cast<std::uint32_t>(data.size()), 4);
      parts.append(data);
      if (data.size() % 2 != 0) parts.push_back('\0');
    };
    if (!transparency_.empty()) {
      std::string header;
      constexpr std::uint32_t kHasTransparency = 0x10;
      put_little_endian(header, kHasTransparency, 4);
      put_little_endian(header, static_cast<std::uint32_t>(size_.width - 1), 3);
      put_little_endian(header, static_cast<std::uint32_t>(size_.height - 1), 3);
      put("VP8X"sv, header);
      put("ALPH"sv, transparency_);
    }
    put(lossy_ ? "VP8 "sv : "VP8L"sv, picture_);
    out.bytes = "RIFF";
    put_little_endian(out.bytes, static_cast<std::uint32_t>(parts.size() + 4), 4);
    out.bytes.append("WEBP").append(parts);
    return out;
  }

  std::string_view bytes_;
  Bounds bounds_;
  std::optional<Size> canvas_;
  Size size_;
  bool lossy_ = false;
  std::string_view picture_;
  std::string_view transparency_;
};

}  // namespace

Expected<Clean> clean_webp(std::string_view bytes, const Bounds& bounds) { return Walk(bytes, bounds).run(); }

}  // namespace hingeline::photo
