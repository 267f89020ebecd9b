#include "shaping.h"

#include <fmt/format.h>
#include <fribidi.h>
#include <hb.h>

#include <algorithm>
#include <array>
#include <memory>

#include "hingeline/drawing/text.h"

namespace hingeline::drawing {
namespace {

/// Fonts as HarfBuzz reads them, opened once for as long as the program runs; nobody changes them.
struct Fonts {
  std::array<hb_font_t*, kFaceCount> of{};
  std::array<double, kFaceCount> units{};  ///< of their size
};

Expected<Fonts> open_fonts() {
  Fonts out;
  for (std::size_t i = 0; i < kFaceCount; ++i) {
    const FaceFile file = file_of(static_cast<Face>(i));
    hb_blob_t* blob = hb_blob_create_from_file_or_fail(file.path);
    if (blob == nullptr)
      return fail(Fault::file, fmt::format("the font file {} cannot be read", file.path),
                  fmt::format("Debian's package {}", file.package));
    hb_face_t* face = hb_face_create(blob, 0);
    hb_blob_destroy(blob);
    out.units[i] = hb_face_get_upem(face);
    out.of[i] = hb_font_create(face);
    hb_face_destroy(face);
    hb_font_make_immutable(out.of[i]);
  }
  return out;
}

const Expected<Fonts>& fonts() {
  static const Expected<Fonts> kFonts = open_fonts();
  return kFonts;
}

bool turns(char32_t c) { return (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069); }

/// How deep each letter is embedded: odd ones run from right to left.
std::vector<FriBidiLevel> levels_of(std::u32string_view text) {
  const auto n = static_cast<FriBidiStrIndex>(text.size());
  const std::vector<FriBidiChar> letters(text.begin(), text.end());
  std::vector<FriBidiCharType> types(text.size());
  std::vector<FriBidiBracketType> brackets(text.size());
  std::vector<FriBidiLevel> out(text.size());
  fribidi_get_bidi_types(letters.data(), n, types.data());
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (turns(text[i])) types[i] = FRIBIDI_TYPE_BN;
  }
  fribidi_get_bracket_types(letters.data(), n, types.data(), brackets.data());
  FriBidiParType line = FRIBIDI_PAR_LTR;
  if (fribidi_get_par_embedding_levels_ex(types.data(), brackets.data(), n, &line, out.data()) == 0)
    std::fill(out.begin(), out.end(), FriBidiLevel{0});
  return out;
}

/// Letters one after the other that are shaped together.
struct Stretch {
  std::size_t from = 0;
  std::size_t end = 0;
  FriBidiLevel level = 0;
  Face face = Face::plain;
  hb_script_t script = HB_SCRIPT_COMMON;
};

std::vector<Stretch> stretches(std::u32string_view text, bool bold, const Fonts& fonts) {
  hb_unicode_funcs_t* const unicode = hb_unicode_funcs_get_default();
  const auto has = [&](Face face, char32_t c) {
    hb_codepoint_t glyph = 0;
    return hb_font_get_nominal_glyph(fonts.of[static_cast<std::size_t>(face)], c, &glyph) != 0;
  };
  const Face first = bold ? Face::bold : Face::plain;
  const std::vector<FriBidiLevel> levels = levels_of(text);
  std::vector<Stretch> out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    hb_script_t script = hb_unicode_script(unicode, text[i]);
    const bool leans = script == HB_SCRIPT_INHERITED;
    Face face = has(first, text[i]) || !has(Face::far_east, text[i]) ? first : Face::far_east;
    if (!out.empty() && out.back().level == levels[i]) {
      Stretch& last = out.back();
      // Marks go with the letter they stand on; blanks and points with what they stand in.
      if (leans) face = last.face;
      if (leans || script == HB_SCRIPT_COMMON) script = last.script;
      if (last.script == HB_SCRIPT_COMMON) last.script = script;
      if (last.face == face && last.script == script) {
        last.end = i + 1;
        continue;
      }
    }
    out.push_back({i, i + 1, levels[i], face, leans ? HB_SCRIPT_COMMON : script});
  }
  return out;
}

/// From the order of reading to that on the paper: rule L2 of UAX #9.
void put_in_place(std::vector<Stretch>& all) {
  FriBidiLevel deepest = 0;
  for (const Stretch& s : all) deepest = std::max(deepest, s.level);
  for (FriBidiLevel level = deepest; level > 0; --level) {
    const auto in = [&](const Stretch& s) { return s.level >= level; };
    for (auto from = std::find_if(all.begin(), all.end(), in); from != all.end();) {
      const auto end = std::find_if_not(from, all.end(), in);
      std::reverse(from, end);
      from = std::find_if(end, all.end(), in);
    }
  }
}

Run run_of(std::u32string_view text, const Stretch& stretch, const Fonts& fonts) {
  Run out;
  out.face = stretch.face;
  out.backward = stretch.level % 2 == 1;
  out.text = utf8_of(text.substr(stretch.from, stretch.end - stretch.from));
  const std::unique_ptr<hb_buffer_t, decltype(&hb_buffer_destroy)> buffer(hb_buffer_create(),
                                                                          hb_buffer_destroy);
  const std::vector<std::uint32_t> letters(text.begin(), text.end());
  // All of the line goes in, so that a letter joins its neighbour of the next stretch.
  hb_buffer_add_codepoints(buffer.get(), letters.data(), static_cast<int>(letters.size()),
                           static_cast<unsigned>(stretch.from), static_cast<int>(stretch.end - stretch.from));
  hb_buffer_set_direction(buffer.get(), out.backward ? HB_DIRECTION_RTL : HB_DIRECTION_LTR);
  hb_buffer_set_script(buffer.get(), stretch.script);
  hb_buffer_set_language(buffer.get(), hb_language_from_string("und", -1));
  const auto face = static_cast<std::size_t>(stretch.face);
  hb_shape(fonts.of[face], buffer.get(), nullptr, 0);
  unsigned count = 0;
  const hb_glyph_info_t* const infos = hb_buffer_get_glyph_infos(buffer.get(), &count);
  const hb_glyph_position_t* const places = hb_buffer_get_glyph_positions(buffer.get(), &count);
  const double units = fonts.units[face];
  for (unsigned i = 0; i < count; ++i)
    out.glyphs.push_back({infos[i].codepoint, places[i].x_offset / units, places[i].y_offset / units,
                          places[i].x_advance / units});
  // Glyphs come as they stand on the paper; clusters are wanted as they are read.
  std::vector<unsigned> begins(count);
  for (unsigned i = 0; i < count; ++i) begins[i] = infos[out.backward ? count - 1 - i : i].cluster;
  for (unsigned i = 0; i < count;) {
    unsigned next = i;
    while (next < count && begins[next] == begins[i]) ++next;
    const std::size_t end = next < count ? begins[next] : stretch.end;
    out.clusters.push_back({static_cast<int>(utf8_of(text.substr(begins[i], end - begins[i])).size()),
                            static_cast<int>(next - i)});
    i = next;
  }
  return out;
}

}  // namespace

FaceFile file_of(Face face) {
  switch (face) {
    case Face::plain:
      break;
    case Face::bold:
      return {HINGELINE_FONT_FOLDER "/DejaVuSans-Bold.ttf", "fonts-dejavu-core"};
    case Face::far_east:
      return {HINGELINE_FAR_EAST_FONT, "fonts-wqy-microhei"};
  }
  return {HINGELINE_FONT_FOLDER "/DejaVuSans.ttf", "fonts-dejavu-core"};
}

bool needs_shaping(std::u32string_view text) {
  return std::any_of(text.begin(), text.end(), [](char32_t c) {
    constexpr char32_t kReplacement = 0xFFFD;
    const bool mark = c >= 0x0300 && c <= 0x036F;
    // From Armenian on; Latin and Greek again up to punctuation and signs.
    return mark || (c >= 0x0530 && c < 0x1E00) || (c >= 0x200B && c <= 0x200F) || turns(c) ||
           (c >= 0x2E80 && c != kReplacement);
  });
}

Expected<std::vector<Run>> shaped(std::u32string_view text, bool bold) {
  const Expected<Fonts>& opened = fonts();
  if (!opened) return tl::unexpected(opened.error());
  std::vector<Stretch> parts = stretches(text, bold, *opened);
  put_in_place(parts);
  std::vector<Run> out;
  out.reserve(parts.size());
  for (const Stretch& s : parts) out.push_back(run_of(text, s, *opened));
  return out;
}

}  // namespace hingeline::drawing
