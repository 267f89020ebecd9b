// PNG, by ISO/IEC 15948 (the W3C's PNG Specification, second edition): the numbers in brackets are its
// sections.

#include <array>

#include "parts.h"

namespace hingeline::photo {
namespace {

using namespace std::string_view_literals;

constexpr std::size_t kSignature = 8;
constexpr std::size_t kAroundData = 12;  // length, type and check
constexpr std::uint32_t kLongestChunk = 0x7FFF'FFFFU;

/// CRC-32 (5.5).
std::uint32_t crc_of(std::string_view bytes) {
  static const auto table = [] {
    std::array<std::uint32_t, 256> out{};
    for (std::uint32_t n = 0; n < 256; ++n) {
      std::uint32_t c = n;
      for (int bit = 0; bit < 8; ++bit) c = (c & 1U) != 0 ? 0xEDB8'8320U ^ c >> 1U : c >> 1U;
      out[n] = c;
    }
    return out;
  }();
  std::uint32_t crc = 0xFFFF'FFFFU;
  for (const char c : bytes) crc = table[(crc ^ static_cast<std::uint8_t>(c)) & 0xFFU] ^ crc >> 8U;
  return crc ^ 0xFFFF'FFFFU;
}

struct Chunk {
  std::string_view type;
  std::string_view data;
};

/// What may stand in an IHDR (11.2.2).
struct Header {
  std::int64_t width = 0;
  std::int64_t height = 0;
  int depth = 0;
  int colour = 0;
};

bool depth_is_allowed(int colour, int depth) {
  switch (colour) {
    case 0:
      return depth == 1 || depth == 2 || depth == 4 || depth == 8 || depth == 16;
    case 3:
      return depth == 1 || depth == 2 || depth == 4 || depth == 8;
    case 2:
    case 4:
    case 6:
      return depth == 8 || depth == 16;
    default:
      return false;
  }
}

class Walk {
 public:
  Walk(std::string_view bytes, const Bounds& bounds) : bytes_(bytes), bounds_(bounds) {}

  Expected<Clean> run() {
    for (std::size_t at = kSignature;;) {
      const auto chunk = chunk_at(at);
      if (!chunk) return tl::unexpected(chunk.error());
      at += kAroundData + chunk->data.size();
      if (auto taken = take(*chunk); !taken) return tl::unexpected(std::move(taken.error()));
      if (chunk->type == "IEND"sv) break;
    }
    return written();
  }

 private:
  [[nodiscard]] Expected<Chunk> chunk_at(std::size_t at) const {
    if (bytes_.size() - at < kAroundData) return cut_short();
    const std::uint32_t length = big_endian(bytes_, at, 4);
    if (length > kLongestChunk) return broken("a part of the picture has an impossible length");
    if (bytes_.size() - at - kAroundData < length) return cut_short();
    const std::string_view checked = bytes_.substr(at + 4, std::size_t{4} + length);
    if (crc_of(checked) != big_endian(bytes_, at + 8 + length, 4))
      return broken("a part of the picture does not fit its check: it was changed or damaged");
    return Chunk{checked.substr(0, 4), checked.substr(4)};
  }

  Expected<void> take(const Chunk& chunk) {
    const bool first = !header_;
    if (first != (chunk.type == "IHDR"sv)) return broken("a PNG begins with one IHDR");
    if (first) return take_header(chunk.data);
    if (chunk.type == "IDAT"sv) {
      if (data_ended_) return broken("the picture's data are interrupted");
      data_seen_ = true;
      data_.append(chunk.data);
      return {};
    }
    data_ended_ = data_seen_;
    if (chunk.type == "IEND"sv) return take_end(chunk.data);
    if (chunk.type == "PLTE"sv) return take_palette(chunk.data);
    if (chunk.type == "tRNS"sv) return take_transparency(chunk.data);
    if (chunk.type == "sRGB"sv) return take_colour(srgb_, chunk.data, 1);
    if (chunk.type == "gAMA"sv) return take_colour(gamma_, chunk.data, 4);
    if (chunk.type == "cHRM"sv) return take_colour(primaries_, chunk.data, 32);
    if (chunk.type == "acTL"sv || chunk.type == "fcTL"sv || chunk.type == "fdAT"sv)
      return fail(Fault::syntax, "the picture moves", "a picture that stands still");
    // A capital says that the picture cannot be shown without it (5.4).
    if ((byte_at(chunk.type, 0) & 0x20U) == 0) return broken("the PNG has a part that nobody knows");
    return {};
  }

  Expected<void> take_header(std::string_view data) {
    if (data.size() != 13) return broken("the PNG's header has a wrong length");
    Header header;
    header.width = big_endian(data, 0, 4);
    header.height = big_endian(data, 4, 4);
    header.depth = byte_at(data, 8);
    header.colour = byte_at(data, 9);
    if (!depth_is_allowed(header.colour, header.depth) || byte_at(data, 10) != 0 || byte_at(data, 11) != 0 ||
        byte_at(data, 12) > 1)
      return broken("the PNG's header says what no PNG can be");
    if (auto fits = check_size(header.width, header.height, bounds_); !fits) return fits;
    header_ = header;
    header_bytes_ = data;
    return {};
  }

  Expected<void> take_palette(std::string_view data) {
    const std::size_t most = std::size_t{1} << static_cast<unsigned>(header_->depth);
    if (palette_ || transparency_ || data_seen_ || header_->colour == 0 || header_->colour == 4 ||
        data.empty() || data.size() % 3 != 0 || data.size() / 3 > 256 ||
        (header_->colour == 3 && data.size() / 3 > most))
      return broken("the PNG's palette is wrong or in a wrong place");
    palette_ = data;
    return {};
  }

  Expected<void> take_transparency(std::string_view data) {
    bool right = !transparency_ && !data_seen_;
    if (header_->colour == 0) {
      right = right && data.size() == 2;
    } else if (header_->colour == 2) {
      right = right && data.size() == 6;
    } else {
      right =
          right && header_->colour == 3 && palette_ && !data.empty() && data.size() <= palette_->size() / 3;
    }
    if (!right) return broken("the PNG's transparency is wrong or in a wrong place");
    transparency_ = data;
    return {};
  }

  Expected<void> take_colour(std::optional<std::string_view>& into, std::string_view data, std::size_t size) {
    if (into || palette_ || data_seen_ || data.size() != size || (size == 1 && byte_at(data, 0) > 3))
      return broken("what the PNG says of its colours is wrong or in a wrong place");
    into = data;
    return {};
  }

  Expected<void> take_end(std::string_view data) {
    if (!data.empty()) return broken("the PNG's end is not empty");
    // The zlib header (RFC 1950): deflate, a window of at most 32 KiB, no dictionary, its check.
    if (data_.size() < 8 || (byte_at(data_, 0) & 0x0FU) != 8 || byte_at(data_, 0) >> 4U > 7 ||
        big_endian(data_, 0, 2) % 31 != 0 || (byte_at(data_, 1) & 0x20U) != 0)
      return broken("the PNG holds no picture data");
    if (header_->colour == 3 && !palette_) return broken("the PNG has no palette");
    return {};
  }

  [[nodiscard]] Clean written() const {
    Clean out;
    out.type = Type::png;
    out.width = static_cast<int>(header_->width);
    out.height = static_cast<int>(header_->height);
    out.bytes.reserve(data_.size() + 2048);
    out.bytes.append(bytes_.substr(0, kSignature));
    const auto put = [&out](std::string_view type, std::string_view data) {
      put_big_endian(out.bytes, static_cast<std::uint32_t>(data.size()), 4);
      const std::size_t from = out.bytes.size();
      out.bytes.append(type).append(data);
      put_big_endian(out.bytes, crc_of(std::string_view(out.bytes).substr(from)), 4);
    };
    put("IHDR"sv, header_bytes_);
    if (srgb_) put("sRGB"sv, *srgb_);
    if (gamma_) put("gAMA"sv, *gamma_);
    if (primaries_) put("cHRM"sv, *primaries_);
    // Beside true colours a palette is only advice for poorer screens.
    if (palette_ && header_->colour == 3) put("PLTE"sv, *palette_);
    if (transparency_) put("tRNS"sv, *transparency_);
    put("IDAT"sv, data_);
    put("IEND"sv, {});
    return out;
  }

  std::string_view bytes_;
  Bounds bounds_;
  std::optional<Header> header_;
  std::string_view header_bytes_;
  std::optional<std::string_view> srgb_;
  std::optional<std::string_view> gamma_;
  std::optional<std::string_view> primaries_;
  std::optional<std::string_view> palette_;
  std::optional<std::string_view> transparency_;
  bool data_seen_ = false;
  bool data_ended_ = false;
  std::string data_;
};

}  // namespace

Expected<Clean> clean_png(std::string_view bytes, const Bounds& bounds) { return Walk(bytes, bounds).run(); }

}  // namespace hingeline::photo
