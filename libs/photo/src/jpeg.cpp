// JPEG, by ITU-T T.81 (ISO/IEC 10918-1): the letters and numbers in brackets are its sections. JFIF is T.871,
// Adobe's marker T.872, Exif's orientation is CIPA DC-008.

#include <array>
#include <vector>

#include "parts.h"

namespace hingeline::photo {
namespace {

using namespace std::string_view_literals;

// Markers (B.1.1.3), each after a byte 0xFF.
constexpr std::uint8_t kBaseline = 0xC0;
constexpr std::uint8_t kProgressive = 0xC2;
constexpr std::uint8_t kHuffmanTables = 0xC4;
constexpr std::uint8_t kStart = 0xD8;
constexpr std::uint8_t kEnd = 0xD9;
constexpr std::uint8_t kScan = 0xDA;
constexpr std::uint8_t kQuantTables = 0xDB;
constexpr std::uint8_t kRestartInterval = 0xDD;
constexpr std::uint8_t kApp0 = 0xE0;
constexpr std::uint8_t kApp1 = 0xE1;
constexpr std::uint8_t kApp14 = 0xEE;
constexpr std::uint8_t kApp15 = 0xEF;
constexpr std::uint8_t kComment = 0xFE;

constexpr int kCoefficients = 64;
/// More scans than any writer makes, fewer than a reader could be kept busy with.
constexpr int kMostScans = 100;

bool is_restart(std::uint8_t marker) { return marker >= 0xD0 && marker <= 0xD7; }

void put_segment(std::string& out, std::uint8_t marker, std::string_view data) {
  out.push_back('\xFF');
  out.push_back(static_cast<char>(marker));
  put_big_endian(out, static_cast<std::uint32_t>(data.size() + 2), 2);
  out.append(data);
}

/// The orientation that an Exif segment tells, behind its "Exif\0\0"; 1 where it tells none.
int orientation_of(std::string_view tiff) {
  if (tiff.size() < 8) return 1;
  const bool little = tiff.starts_with("II*\0"sv);
  if (!little && !tiff.starts_with("MM\0*"sv)) return 1;
  const auto number = [&](std::size_t at, std::size_t count) {
    return little ? little_endian(tiff, at, count) : big_endian(tiff, at, count);
  };
  const std::size_t directory = number(4, 4);
  if (directory > tiff.size() - 2) return 1;
  const std::size_t entries = number(directory, 2);
  for (std::size_t n = 0; n < entries; ++n) {
    const std::size_t at = directory + 2 + 12 * n;
    if (at + 12 > tiff.size()) return 1;
    constexpr std::uint32_t kOrientation = 0x0112;
    constexpr std::uint32_t kShort = 3;
    if (number(at, 2) != kOrientation) continue;
    const std::uint32_t value = number(at + 8, 2);
    const bool right = number(at + 2, 2) == kShort && number(at + 4, 4) == 1 && value >= 1 && value <= 8;
    return right ? static_cast<int>(value) : 1;
  }
  return 1;
}

/// A table as it would be written now.
struct Table {
  std::string segment;  ///< empty: not there
  bool written = false;
};

struct Component {
  std::uint8_t id = 0;
  std::uint8_t sampling = 0;
  std::uint8_t quant = 0;
  /// Bits of each coefficient that are still to come; -1: none came yet.
  std::array<int, kCoefficients> lacking{};
};

class Walk {
 public:
  Walk(std::string_view bytes, const Bounds& bounds) : bytes_(bytes), bounds_(bounds) {}

  Expected<Clean> run() {
    for (;;) {
      const auto marker = next_marker();
      if (!marker) return tl::unexpected(marker.error());
      if (*marker == kEnd) break;
      if (auto taken = take(*marker); !taken) return tl::unexpected(std::move(taken.error()));
    }
    // What lies behind the end is none of the picture's.
    return written();
  }

 private:
  /// The marker at `at_`, which any number of 0xFF may come before (B.1.1.2).
  Expected<std::uint8_t> next_marker() {
    if (at_ >= bytes_.size()) return cut_short();
    if (byte_at(bytes_, at_) != 0xFF) return broken("something lies between the parts of the JPEG");
    while (at_ < bytes_.size() && byte_at(bytes_, at_) == 0xFF) ++at_;
    if (at_ >= bytes_.size()) return cut_short();
    return byte_at(bytes_, at_++);
  }

  Expected<std::string_view> segment() {
    if (bytes_.size() - at_ < 2) return cut_short();
    const std::size_t length = big_endian(bytes_, at_, 2);
    if (length < 2) return broken("a part of the JPEG has an impossible length");
    if (bytes_.size() - at_ < length) return cut_short();
    const std::string_view data = bytes_.substr(at_ + 2, length - 2);
    at_ += length;
    return data;
  }

  Expected<void> take(std::uint8_t marker) {
    const bool frame = marker >= 0xC0 && marker <= 0xCF && marker != kHuffmanTables;
    if (frame && marker > kProgressive)
      return fail(Fault::syntax, "this is a JPEG that browsers do not show", "baseline or progressive");
    const bool known = frame || marker == kHuffmanTables || marker == kScan || marker == kQuantTables ||
                       marker == kRestartInterval || (marker >= kApp0 && marker <= kApp15) ||
                       marker == kComment;
    if (!known) return broken("the JPEG has a part that does not belong there");
    const auto data = segment();
    if (!data) return tl::unexpected(data.error());
    if (frame) return take_frame(marker, *data);
    switch (marker) {
      case kHuffmanTables:
        return take_huffman(*data);
      case kQuantTables:
        return take_quant(*data);
      case kRestartInterval:
        if (data->size() != 2) return broken("the JPEG's restart interval has a wrong length");
        interval_ = big_endian(*data, 0, 2);
        return {};
      case kScan:
        return take_scan(*data);
      default:
        take_note(marker, *data);
        return {};
    }
  }

  /// Of applications' segments only what says the colours and which way is up.
  void take_note(std::uint8_t marker, std::string_view data) {
    if (scans_ > 0) return;
    if (marker == kApp0 && data.size() >= 14 && data.starts_with("JFIF\0"sv)) {
      jfif_ = true;
    } else if (marker == kApp14 && data.size() >= 12 && data.starts_with("Adobe"sv)) {
      adobe_ = byte_at(data, 11);
    } else if (marker == kApp1 && data.starts_with("Exif\0\0"sv) && !exif_seen_) {
      exif_seen_ = true;
      upright_ = orientation_of(data.substr(6));
    }
  }

  Expected<void> take_quant(std::string_view data) {
    while (!data.empty()) {
      const std::uint8_t head = byte_at(data, 0);
      const std::size_t size = 1 + std::size_t{kCoefficients} * ((head >> 4U) + 1U);
      if (head >> 4U > 1 || (head & 0x0FU) > 3 || data.size() < size)
        return broken("a quantisation table of the JPEG is wrong");
      quant_[head & 0x0FU] = {std::string(data.substr(0, size)), false};
      data.remove_prefix(size);
    }
    return {};
  }

  Expected<void> take_huffman(std::string_view data) {
    while (!data.empty()) {
      const std::uint8_t head = byte_at(data, 0);
      constexpr std::size_t kCounts = 17;
      if (head >> 4U > 1 || (head & 0x0FU) > 3 || data.size() < kCounts) return wrong_huffman();
      std::size_t values = 0;
      std::uint32_t free_codes = 1;  // of the length looked at (C.2)
      for (std::size_t length = 1; length < kCounts; ++length) {
        const std::uint32_t count = byte_at(data, length);
        free_codes *= 2;
        // The code of ones alone may not be used.
        if (count >= free_codes && count > 0) return wrong_huffman();
        free_codes -= count;
        values += count;
      }
      if (values == 0 || values > 256 || data.size() < kCounts + values) return wrong_huffman();
      huffman_[head >> 4U][head & 0x0FU] = {std::string(data.substr(0, kCounts + values)), false};
      data.remove_prefix(kCounts + values);
    }
    return {};
  }
  static tl::unexpected<Error> wrong_huffman() { return broken("a Huffman table of the JPEG is wrong"); }

  /// B.2.2.
  Expected<void> take_frame(std::uint8_t marker, std::string_view data) {
    if (!components_.empty()) return broken("the JPEG holds two pictures");
    if (data.size() < 6) return wrong_frame();
    const std::size_t count = byte_at(data, 5);
    if (data.size() != 6 + 3 * count) return wrong_frame();
    if (byte_at(data, 0) != 8 || (count != 1 && count != 3 && count != 4))
      return fail(Fault::syntax, "this is a JPEG that browsers do not show", "8 bits in 1, 3 or 4 colours");
    height_ = big_endian(data, 1, 2);
    width_ = big_endian(data, 3, 2);
    if (auto fits = check_size(width_, height_, bounds_); !fits) return fits;
    for (std::size_t n = 0; n < count; ++n) {
      Component next;
      next.id = byte_at(data, 6 + 3 * n);
      next.sampling = byte_at(data, 7 + 3 * n);
      next.quant = byte_at(data, 8 + 3 * n);
      next.lacking.fill(-1);
      const unsigned across = next.sampling >> 4U;
      const unsigned down = next.sampling & 0x0FU;
      for (const Component& other : components_) {
        if (other.id == next.id) return wrong_frame();
      }
      if (across < 1 || across > 4 || down < 1 || down > 4 || next.quant > 3) return wrong_frame();
      components_.push_back(next);
    }
    progressive_ = marker == kProgressive;
    baseline_ = marker == kBaseline;
    for (const Component& c : components_) put_table(kQuantTables, quant_[c.quant]);
    put_segment(body_, marker, data);
    return {};
  }
  static tl::unexpected<Error> wrong_frame() { return broken("the JPEG's frame is wrong"); }

  /// B.2.3, and G.1.1.1 for progressive ones.
  Expected<void> take_scan(std::string_view data) {
    if (components_.empty()) return broken("the JPEG's picture comes before its header");
    if (++scans_ > kMostScans) return broken("the JPEG has too many scans");
    const std::size_t count = data.empty() ? 0 : byte_at(data, 0);
    if (count < 1 || count > components_.size() || data.size() != 4 + 2 * count) return wrong_scan();
    Selection of;
    if (progressive_) {
      of.first = byte_at(data, data.size() - 3);
      of.last = byte_at(data, data.size() - 2);
      of.bits_before = byte_at(data, data.size() - 1) >> 4U;
      of.bits = byte_at(data, data.size() - 1) & 0x0FU;
      const bool right = of.last < kCoefficients && of.first <= of.last && of.bits <= 13 &&
                         (of.first == 0 ? of.last == 0 : count == 1) &&
                         (of.bits_before == 0 || of.bits_before == of.bits + 1);
      if (!right) return wrong_scan();
    }
    std::string header(1, static_cast<char>(count));
    std::size_t from = 0;
    unsigned blocks = 0;
    for (std::size_t n = 0; n < count; ++n) {
      const auto chosen =
          take_component(byte_at(data, 1 + 2 * n), byte_at(data, 2 + 2 * n), of, from, header);
      if (!chosen) return tl::unexpected(chosen.error());
      blocks += (components_[*chosen].sampling >> 4U) * (components_[*chosen].sampling & 0x0FU);
      from = *chosen + 1;
    }
    constexpr unsigned kMostBlocks = 10;
    if (count > 1 && blocks > kMostBlocks) return wrong_scan();
    header.push_back(static_cast<char>(of.first));
    header.push_back(static_cast<char>(of.last));
    header.push_back(static_cast<char>(of.bits_before << 4U | of.bits));
    if (interval_ != interval_written_) {
      std::string number;
      put_big_endian(number, interval_, 2);
      put_segment(body_, kRestartInterval, number);
      interval_written_ = interval_;
    }
    put_segment(body_, kScan, header);
    return take_coded();
  }
  static tl::unexpected<Error> wrong_scan() { return broken("a scan of the JPEG is wrong"); }

  /// Which coefficients a scan brings, and which of their bits.
  struct Selection {
    unsigned first = 0;
    unsigned last = kCoefficients - 1;
    unsigned bits_before = 0;
    unsigned bits = 0;
  };

  /// Looks up a scan's component, from place `from` of the frame on, writes its tables, and adds it to the
  /// header. Gives its place.
  Expected<std::size_t> take_component(std::uint8_t id, std::uint8_t tables, const Selection& of,
                                       std::size_t from, std::string& header) {
    std::size_t at = from;
    while (at < components_.size() && components_[at].id != id) ++at;
    if (at == components_.size()) return wrong_scan();
    Component& component = components_[at];
    // Every coefficient comes once, or bit by bit in order; those of a block's mean before its others.
    if (of.first > 0 && component.lacking[0] < 0) return wrong_scan();
    for (unsigned k = of.first; k <= of.last; ++k) {
      const int expected = of.bits_before == 0 ? -1 : static_cast<int>(of.bits_before);
      if (component.lacking[k] != expected) return wrong_scan();
      component.lacking[k] = static_cast<int>(of.bits);
    }
    const bool needs_dc = of.first == 0 && of.bits_before == 0;
    const bool needs_ac = of.last > 0;
    const unsigned dc = needs_dc ? tables >> 4U : 0;
    const unsigned ac = needs_ac ? tables & 0x0FU : 0;
    const unsigned most = baseline_ ? 1 : 3;
    if (dc > most || ac > most || quant_[component.quant].segment.empty() ||
        (needs_dc && huffman_[0][dc].segment.empty()) || (needs_ac && huffman_[1][ac].segment.empty()))
      return broken("the JPEG lacks a table that it needs");
    put_table(kQuantTables, quant_[component.quant]);
    if (needs_dc) put_table(kHuffmanTables, huffman_[0][dc]);
    if (needs_ac) put_table(kHuffmanTables, huffman_[1][ac]);
    header.push_back(static_cast<char>(id));
    header.push_back(static_cast<char>(dc << 4U | ac));
    return at;
  }

  void put_table(std::uint8_t marker, Table& table) {
    if (table.segment.empty() || table.written) return;
    put_segment(body_, marker, table.segment);
    table.written = true;
  }

  /// Coded data up to the next marker (B.1.1.5): a 0xFF in them has a 0 behind it, and restart markers count
  /// from 0 to 7 over and over.
  Expected<void> take_coded() {
    std::size_t from = at_;
    unsigned restarts = 0;
    const auto copy = [&](std::size_t to) { body_.append(bytes_.substr(from, to - from)); };
    const std::size_t began = at_;
    for (;;) {
      at_ = bytes_.find('\xFF', at_);
      if (at_ == std::string_view::npos || at_ + 1 >= bytes_.size()) return cut_short();
      if (byte_at(bytes_, at_ + 1) == 0) {
        at_ += 2;
        continue;
      }
      copy(at_);
      if (at_ == began) return broken("a scan of the JPEG is empty");
      const std::size_t here = at_;
      const auto marker = next_marker();
      if (!marker) return tl::unexpected(marker.error());
      if (!is_restart(*marker)) {
        at_ = here;
        return {};
      }
      if (interval_ == 0 || *marker != 0xD0 + restarts % 8)
        return broken("a restart of the JPEG stands in a wrong place");
      ++restarts;
      put_marker(body_, *marker);
      from = at_;
    }
  }

  static void put_marker(std::string& out, std::uint8_t marker) {
    out.push_back('\xFF');
    out.push_back(static_cast<char>(marker));
  }

  Expected<Clean> written() {
    if (components_.empty()) return broken("the JPEG holds no picture");
    for (const Component& c : components_) {
      if (c.lacking[0] < 0) return broken("the JPEG lacks one of its colours");
    }
    Clean out;
    out.type = Type::jpeg;
    out.width = static_cast<int>(width_);
    out.height = static_cast<int>(height_);
    out.upright = upright_;
    out.bytes.reserve(body_.size() + 128);
    put_marker(out.bytes, kStart);
    put_colours(out.bytes);
    if (upright_ != 1) {
      // One directory with one entry, and no next one.
      std::string exif("Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01"sv);
      put_big_endian(exif, static_cast<std::uint32_t>(upright_), 2);
      exif.append(6, '\0');
      put_segment(out.bytes, kApp1, exif);
    }
    out.bytes.append(body_);
    put_marker(out.bytes, kEnd);
    return out;
  }

  /// What the common decoders made of the original's segments, they make of these: JFIF counts before Adobe's
  /// where there are three colours and for nothing where there are four; without either, components called
  /// R, G and B are those. (As libjpeg decides, from memory; the tests hold it against that library.)
  void put_colours(std::string& out) const {
    const bool called_rgb = components_.size() == 3 && components_[0].id == 'R' && components_[1].id == 'G' &&
                            components_[2].id == 'B';
    const bool by_adobe = components_.size() == 4 || (components_.size() == 3 && !jfif_);
    if (by_adobe && adobe_) {
      // Version 100, no flags. Other transforms than the two that there are count as the usual one.
      const std::uint8_t usual = components_.size() == 4 ? 2 : 1;
      std::string adobe("Adobe\0\x64\0\0\0\0"sv);
      adobe.push_back(static_cast<char>(*adobe_ == 0 ? std::uint8_t{0} : usual));
      put_segment(out, kApp14, adobe);
    } else if (components_.size() != 4 && (jfif_ || !called_rgb)) {
      // Version 1.01, square pixels, no small picture.
      put_segment(out, kApp0, "JFIF\0\x01\x01\0\0\x01\0\x01\0\0"sv);
    }
  }

  std::string_view bytes_;
  Bounds bounds_;
  std::size_t at_ = 2;
  std::int64_t width_ = 0;
  std::int64_t height_ = 0;
  bool progressive_ = false;
  bool baseline_ = false;
  std::vector<Component> components_;
  std::array<Table, 4> quant_;
  std::array<std::array<Table, 4>, 2> huffman_;
  std::uint32_t interval_ = 0;
  std::uint32_t interval_written_ = 0;
  int scans_ = 0;
  bool jfif_ = false;
  std::optional<std::uint8_t> adobe_;
  bool exif_seen_ = false;
  int upright_ = 1;
  std::string body_;
};

}  // namespace

Expected<Clean> clean_jpeg(std::string_view bytes, const Bounds& bounds) { return Walk(bytes, bounds).run(); }

}  // namespace hingeline::photo
