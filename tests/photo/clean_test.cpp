// Photos made clean: what has to go is gone to the last byte, what shows the picture stays, the rest is
// refused.

#include "hingeline/photo/clean.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <random>
#include <sstream>
#include <vector>

#include "photo/support.h"

namespace hingeline::photo::test {
namespace {

const std::string kZip = "PK\x03\x04"s + std::string(26, '\0') + "a.html<html><script>alert(1)</script>"s;
const std::string kPage = "<html><body onload=alert(1)>"s;

TEST(Jpeg, WhatShowsThePictureStaysAsItIs) {
  const Clean out = cleaned(grey_jpeg());
  EXPECT_EQ(out.type, Type::jpeg);
  EXPECT_EQ(out.width, 8);
  EXPECT_EQ(out.height, 8);
  EXPECT_EQ(out.upright, 1);
  EXPECT_EQ(out.bytes, grey_jpeg());
  EXPECT_STREQ(media_type(out.type), "image/jpeg");
  EXPECT_STREQ(file_ending(out.type), "jpg");
}

TEST(Jpeg, EverythingElseIsGoneToTheLastByte) {
  const std::string plain = grey_jpeg();
  // JFIF with a small picture, a second JFIF segment with another, a page as a comment, a place, a profile, a
  // maker's own segment, and text under each of the sixteen numbers.
  std::string notes = segment(0xE0, "JFIF\0\x01\x02\x01\0\x48\0\x48\x01\x01"s + "RGB");
  notes += segment(0xE0, "JFXX\0\x10"s + grey_jpeg()) + segment(0xFE, kPage) + exif(1, true);
  notes += segment(0xE1, "http://ns.adobe.com/xap/1.0/\0<x:xmpmeta/>"s);
  notes += segment(0xE2, "ICC_PROFILE\0\x01\x01 profile of a maker"s);
  for (int n = 0; n < 16; ++n) notes += segment(0xE0 + n, kPage);
  EXPECT_EQ(cleaned(grey_jpeg(notes)).bytes, plain);
  // Between the other parts, and behind the end: an archive, another picture.
  const std::string within = kSoi + kJfif + quant(0) + segment(0xFE, kPage) + kGreyFrame +
                             segment(0xED, kZip) + kGreyTables + kGreyScan + segment(0xFE, kPage) + kEoi;
  EXPECT_EQ(cleaned(within).bytes, plain);
  EXPECT_EQ(cleaned(plain + kZip).bytes, plain);
  EXPECT_EQ(cleaned(plain + grey_jpeg(exif(1, false))).bytes, plain);
  // Tables that nothing uses are a place to hide in.
  const std::string hidden = segment(0xDB, bytes_of({3}) + (kPage + std::string(64, ' ')).substr(0, 64));
  EXPECT_EQ(cleaned(grey_jpeg(kJfif + hidden + quant(0, 9) + huffman(0x11) + huffman(0x00, 5))).bytes, plain);
  // Any number of 0xFF may stand before a marker.
  EXPECT_EQ(cleaned(kSoi + "\xFF\xFF\xFF"s + plain.substr(2)).bytes, plain);
}

TEST(Jpeg, OnlyTheWayUpIsKeptOfExif) {
  for (const bool little_endian : {false, true}) {
    for (int orientation = 2; orientation <= 8; ++orientation) {
      const Clean out = cleaned(grey_jpeg(exif(orientation, little_endian)));
      EXPECT_EQ(out.upright, orientation);
      EXPECT_EQ(out.bytes, grey_jpeg(kJfif + turned(orientation)));
      EXPECT_EQ(out.bytes.find("MADE-UP-CAM"), std::string::npos);
    }
    for (const int none : {0, 1, 9, 300}) {
      EXPECT_EQ(cleaned(grey_jpeg(exif(none, little_endian))).bytes, grey_jpeg());
    }
  }
  // The first one counts; one behind the picture's data counts for nothing, and nor does one that is cut off
  // anywhere before its value.
  EXPECT_EQ(cleaned(grey_jpeg(exif(6, true) + exif(3, true))).upright, 6);
  const std::string late =
      kSoi + kJfif + quant(0) + kGreyFrame + kGreyTables + kGreyScan + exif(6, true) + kEoi;
  EXPECT_EQ(cleaned(late).upright, 1);
  const std::string whole = exif(6, false).substr(4);
  for (std::size_t size = 0; size < whole.size(); ++size) {
    const int upright = cleaned(grey_jpeg(segment(0xE1, whole.substr(0, size)))).upright;
    EXPECT_EQ(upright, size < 6 + 10 + 24 ? 1 : 6) << size;
  }
  // A directory that says it lies outside.
  EXPECT_EQ(cleaned(grey_jpeg(segment(0xE1, "Exif\0\0II*\0\xFF\xFF\xFF\xFF\0\0"s))).upright, 1);
}

TEST(Jpeg, ColoursAreSaidAsTheyWereMeant) {
  const std::string tables = quant(0);
  const auto picture = [&](const std::string& notes, std::initializer_list<int> ids) {
    std::string parts;
    std::string chosen;
    for (const int id : ids) {
      parts += bytes_of({id, 0x11, 0});
      chosen += bytes_of({id, 0});
    }
    const auto count = static_cast<int>(ids.size());
    return kSoi + notes + tables + segment(0xC0, "\x08\0\x08\0\x08"s + bytes_of({count}) + parts) +
           kGreyTables + segment(0xDA, bytes_of({count}) + chosen + "\0\x3F\0"s) + "\x03"s + kEoi;
  };
  const auto adobe = [](int transform) {
    return segment(0xEE, "Adobe\0\x64\0\0\0\0"s + bytes_of({transform}));
  };
  const auto notes_of = [&](const std::string& notes, std::initializer_list<int> ids) {
    const std::string bytes = cleaned(picture(notes, ids)).bytes;
    return bytes.substr(2, bytes.find(tables) - 2);
  };
  EXPECT_EQ(notes_of("", {1, 2, 3}), kJfif);
  EXPECT_EQ(notes_of(adobe(0), {1, 2, 3}), adobe(0));
  EXPECT_EQ(notes_of(adobe(1), {1, 2, 3}), adobe(1));
  EXPECT_EQ(notes_of(adobe(7), {1, 2, 3}), adobe(1));
  EXPECT_EQ(notes_of(kJfif + adobe(0), {1, 2, 3}), kJfif);
  EXPECT_EQ(notes_of("", {'R', 'G', 'B'}), "");
  EXPECT_EQ(notes_of(kJfif, {'R', 'G', 'B'}), kJfif);
  EXPECT_EQ(notes_of(adobe(2), {1, 2, 3, 4}), adobe(2));
  EXPECT_EQ(notes_of(kJfif + adobe(0), {1, 2, 3, 4}), adobe(0));
  EXPECT_EQ(notes_of("", {1, 2, 3, 4}), "");
  // Nothing rides in Adobe's segment.
  EXPECT_EQ(notes_of(segment(0xEE, "Adobe\0\x65\x80\x01\x02\x03\x01"s + kPage), {1, 2, 3}), adobe(1));
}

TEST(Jpeg, WhatBreaksTheRulesIsRefused) {
  const std::string tables = quant(0);
  const auto made = [&](const std::string& frame_part, const std::string& rest) {
    return verdict(kSoi + tables + frame_part + rest + kEoi);
  };
  const std::string good = kGreyTables + kGreyScan;
  EXPECT_EQ(made(kGreyFrame, good), "taken");
  EXPECT_EQ(made(frame(0xC1, 8, 8, {1, 0x11, 0}), good), "taken");
  // Lossless, arithmetic, twelve bits, two colours: no browser shows them.
  for (const int marker : {0xC3, 0xC5, 0xC7, 0xC9, 0xCA, 0xCC, 0xCF})
    EXPECT_EQ(made(frame(marker, 8, 8, {1, 0x11, 0}), good), "this is a JPEG that browsers do not show");
  EXPECT_EQ(made(frame(0xC0, 8, 8, {1, 0x11, 0, 2, 0x11, 0}), good),
            "this is a JPEG that browsers do not show");
  EXPECT_EQ(made(segment(0xC1, "\x0C\0\x08\0\x08\x01\x01\x11\0"s), good),
            "this is a JPEG that browsers do not show");
  EXPECT_EQ(made(frame(0xC0, 8, 0, {1, 0x11, 0}), good), "the picture has no size");
  EXPECT_EQ(made(kGreyFrame + kGreyFrame, good), "the JPEG holds two pictures");
  EXPECT_EQ(made("", good), "the JPEG's picture comes before its header");
  EXPECT_EQ(made(frame(0xC0, 8, 8, {1, 0x51, 0}), good), "the JPEG's frame is wrong");
  EXPECT_EQ(made(frame(0xC0, 8, 8, {1, 0x11, 4}), good), "the JPEG's frame is wrong");
  EXPECT_EQ(made(frame(0xC0, 8, 8, {1, 0x11, 0, 1, 0x11, 0, 2, 0x11, 0}), good), "the JPEG's frame is wrong");
  EXPECT_EQ(made(kGreyFrame, ""), "the JPEG lacks one of its colours");
  EXPECT_EQ(made("", ""), "the JPEG holds no picture");
  EXPECT_EQ(made(kGreyFrame, kGreyScan), "the JPEG lacks a table that it needs");
  EXPECT_EQ(made(frame(0xC0, 8, 8, {1, 0x11, 2}), good), "the JPEG lacks a table that it needs");
  EXPECT_EQ(made(kGreyFrame, good + kGreyScan), "a scan of the JPEG is wrong");  // twice the same
  EXPECT_EQ(made(kGreyFrame, kGreyTables + scan({1, 2, 0, 0, 63, 0}, "\x3F")), "a scan of the JPEG is wrong");
  EXPECT_EQ(made(kGreyFrame, kGreyTables + scan({1, 1, 0, 0, 63, 0}, "")), "a scan of the JPEG is empty");
  EXPECT_EQ(made(kGreyFrame, kGreyTables + scan({1, 1, 0, 0, 63, 0}, "\x3F\xFF\xD0\x3F"s)),
            "a restart of the JPEG stands in a wrong place");
  const std::string each_block = segment(0xDD, "\0\x01"s);
  EXPECT_EQ(made(kGreyFrame, each_block + kGreyTables + scan({1, 1, 0, 0, 63, 0}, "\x3F\xFF\xD0\x3F"s)),
            "taken");
  EXPECT_EQ(made(kGreyFrame, each_block + kGreyTables + scan({1, 1, 0, 0, 63, 0}, "\x3F\xFF\xD1\x3F"s)),
            "a restart of the JPEG stands in a wrong place");
  // Between the parts, and parts that are none.
  EXPECT_EQ(made(kPage, kGreyFrame + good), "something lies between the parts of the JPEG");
  EXPECT_EQ(made(kSoi, kGreyFrame + good), "the JPEG has a part that does not belong there");
  EXPECT_EQ(made(segment(0xF0, kPage), kGreyFrame + good), "the JPEG has a part that does not belong there");
  EXPECT_EQ(made(segment(0xDC, "\0\x08"s), kGreyFrame + good),
            "the JPEG has a part that does not belong there");
  // A code of ones alone, more codes than there are, and none.
  const auto wrong_table = [&](const std::string& counts, std::size_t values) {
    return made(kGreyFrame, segment(0xC4, "\0"s + counts + std::string(values, '\0')) + good);
  };
  EXPECT_EQ(wrong_table("\x02"s + std::string(15, '\0'), 2), "a Huffman table of the JPEG is wrong");
  EXPECT_EQ(wrong_table("\x01\x02"s + std::string(14, '\0'), 3), "a Huffman table of the JPEG is wrong");
  EXPECT_EQ(wrong_table(std::string(16, '\0'), 0), "a Huffman table of the JPEG is wrong");
  EXPECT_EQ(wrong_table("\x01\x01"s + std::string(14, '\0'), 2), "taken");
  EXPECT_EQ(made(kGreyFrame, segment(0xDB, bytes_of({4}) + std::string(64, '\1')) + good),
            "a quantisation table of the JPEG is wrong");
}

TEST(Jpeg, ProgressiveScansComeInOrder) {
  const std::string start = kSoi + kJfif + quant(0) + frame(0xC2, 8, 8, {1, 0x11, 0});
  const std::string mean = huffman(0x00) + scan({1, 1, 0, 0, 0, 1}, "\x3F");
  const std::string mean_bit = scan({1, 1, 0, 0, 0, 0x10}, "\x7F");
  const std::string rest = huffman(0x10) + scan({1, 1, 0, 1, 63, 0}, "\x3F");
  EXPECT_EQ(cleaned(start + mean + rest + mean_bit + kEoi).bytes, start + mean + rest + mean_bit + kEoi);
  EXPECT_EQ(verdict(start + mean + kEoi), "taken");
  EXPECT_EQ(verdict(start + rest + mean + kEoi), "a scan of the JPEG is wrong");
  EXPECT_EQ(verdict(start + mean + mean + kEoi), "a scan of the JPEG is wrong");
  EXPECT_EQ(verdict(start + mean + mean_bit + mean_bit + kEoi), "a scan of the JPEG is wrong");
  EXPECT_EQ(verdict(start + huffman(0x00) + huffman(0x10) + scan({1, 1, 0, 0, 63, 0}, "\x3F") + kEoi),
            "a scan of the JPEG is wrong");
  // A table set anew between two scans is written where it was.
  const std::string halves = huffman(0x10) + scan({1, 1, 0, 1, 5, 0}, "\x3F") + huffman(0x10, 0x10) +
                             scan({1, 1, 0, 6, 63, 0}, "\x3F");
  EXPECT_EQ(cleaned(start + mean + halves + kEoi).bytes, start + mean + halves + kEoi);
}

TEST(Png, OnlyWhatShowsThePictureStays) {
  const std::string plain = grey_png();
  const Clean out = cleaned(plain);
  EXPECT_EQ(out.type, Type::png);
  EXPECT_EQ(out.width, 2);
  EXPECT_EQ(out.height, 2);
  EXPECT_EQ(out.bytes, plain);
  EXPECT_STREQ(media_type(out.type), "image/png");
  const std::string notes = chunk("tEXt", "Comment\0"s + kPage) + chunk("zTXt", "x\0\0"s + kPage) +
                            chunk("iTXt", "XML:com.adobe.xmp\0\0\0\0\0"s + kPage) +
                            chunk("tIME", std::string(7, 1)) + chunk("eXIf", exif(6, true).substr(10)) +
                            chunk("iCCP", "p\0\0"s + kPage) + chunk("sBIT", "\x08"s) +
                            chunk("pHYs", std::string(9, 1)) + chunk("maKr", kZip);
  EXPECT_EQ(cleaned(grey_png(notes)).bytes, plain);
  EXPECT_EQ(cleaned(grey_png("", chunk("tEXt", "Comment\0"s + kPage))).bytes, plain);
  EXPECT_EQ(cleaned(plain + kZip).bytes, plain);
  // Its data in any number of chunks.
  std::string pieces = kPngStart + header(2, 2, 8, 0);
  for (const char c : kGreyRows) pieces += chunk("IDAT", std::string(1, c)) + chunk("IDAT", "");
  EXPECT_EQ(cleaned(pieces + kPngEnd).bytes, plain);
  // What changes the colours stays, in one order.
  const std::string srgb = chunk("sRGB", "\0"s);
  const std::string gamma = chunk("gAMA", big(45455, 4));
  const std::string primaries = chunk("cHRM", std::string(32, 1));
  const std::string clear = chunk("tRNS", "\0\x10"s);
  EXPECT_EQ(cleaned(grey_png(primaries + gamma + srgb + clear)).bytes,
            grey_png(srgb + gamma + primaries + clear));
  const std::string palette = chunk("PLTE", "abcdef");
  const std::string with =
      kPngStart + header(2, 2, 8, 3) + palette + chunk("tRNS", "\x80"s) + chunk("IDAT", kGreyRows) + kPngEnd;
  EXPECT_EQ(cleaned(with).bytes, with);
  // Advice for poorer screens.
  const auto coloured = [](const std::string& before) {
    return kPngStart + header(1, 1, 8, 2) + before + chunk("IDAT", zlib("\0abc"s)) + kPngEnd;
  };
  EXPECT_EQ(cleaned(coloured(palette)).bytes, coloured(""));
}

TEST(Png, WhatBreaksTheRulesIsRefused) {
  std::string changed = grey_png();
  changed[changed.size() - 20] ^= 1;
  EXPECT_EQ(verdict(changed), "a part of the picture does not fit its check: it was changed or damaged");
  const auto with_header = [](int depth, int colour) {
    return verdict(kPngStart + header(2, 2, depth, colour) + (colour == 3 ? chunk("PLTE", "abc") : "") +
                   chunk("IDAT", kGreyRows) + kPngEnd);
  };
  // All depths and colours that there are (11.2.2, table 11.1).
  for (int depth = 0; depth <= 17; ++depth) {
    for (int colour = 0; colour <= 7; ++colour) {
      const bool power = depth == 1 || depth == 2 || depth == 4 || depth == 8 || depth == 16;
      const bool right = power && (colour == 0 || (colour == 3 && depth < 16) ||
                                   ((colour == 2 || colour == 4 || colour == 6) && depth >= 8));
      EXPECT_EQ(with_header(depth, colour), right ? "taken" : "the PNG's header says what no PNG can be")
          << depth << " " << colour;
    }
  }
  EXPECT_EQ(verdict(kPngStart + chunk("IDAT", kGreyRows) + kPngEnd), "a PNG begins with one IHDR");
  EXPECT_EQ(verdict(grey_png(header(2, 2, 8, 0))), "a PNG begins with one IHDR");
  EXPECT_EQ(verdict(grey_png(chunk("ABCD", ""))), "the PNG has a part that nobody knows");
  for (const char* moving : {"acTL", "fcTL", "fdAT"})
    EXPECT_EQ(verdict(grey_png(chunk(moving, std::string(26, 0)))), "the picture moves");
  EXPECT_EQ(verdict(grey_png("", chunk("tIME", std::string(7, 1)) + chunk("IDAT", "x"))),
            "the picture's data are interrupted");
  EXPECT_EQ(verdict(kPngStart + header(2, 2, 8, 0) + kPngEnd), "the PNG holds no picture data");
  EXPECT_EQ(verdict(kPngStart + header(2, 2, 8, 0) + chunk("IDAT", kPage) + kPngEnd),
            "the PNG holds no picture data");
  EXPECT_EQ(verdict(kPngStart + header(2, 2, 8, 3) + chunk("IDAT", kGreyRows) + kPngEnd),
            "the PNG has no palette");
  EXPECT_EQ(verdict(grey_png(chunk("PLTE", "abc"))), "the PNG's palette is wrong or in a wrong place");
  EXPECT_EQ(verdict(grey_png(chunk("tRNS", "abc"))), "the PNG's transparency is wrong or in a wrong place");
  EXPECT_EQ(verdict(grey_png("", chunk("tRNS", "ab"))),
            "the PNG's transparency is wrong or in a wrong place");
  EXPECT_EQ(verdict(grey_png(chunk("gAMA", "abc"))),
            "what the PNG says of its colours is wrong or in a wrong place");
  EXPECT_EQ(verdict(grey_png(chunk("sRGB", "\x04"s))),
            "what the PNG says of its colours is wrong or in a wrong place");
  EXPECT_EQ(verdict(kPngStart + header(2, 2, 8, 0) + chunk("IDAT", kGreyRows) + chunk("IEND", kPage)),
            "the PNG's end is not empty");
}

TEST(Webp, OnlyThePictureAndItsTransparencyStay) {
  const Clean out = cleaned(webp(lossless(5, 7)));
  EXPECT_EQ(out.type, Type::webp);
  EXPECT_EQ(out.width, 5);
  EXPECT_EQ(out.height, 7);
  EXPECT_EQ(out.bytes, webp(lossless(5, 7)));
  EXPECT_STREQ(media_type(out.type), "image/webp");
  EXPECT_STREQ(file_ending(out.type), "webp");
  EXPECT_EQ(cleaned(webp(lossy(5, 7))).bytes, webp(lossy(5, 7)));
  const std::string place = riff_chunk("EXIF", exif(6, true).substr(10)) + riff_chunk("XMP ", kPage + "."s);
  const std::string profile = riff_chunk("ICCP", "a maker's profile");
  for (const std::string& picture : {lossless(5, 7), lossy(5, 7)}) {
    const std::string plain = webp(picture);
    EXPECT_EQ(cleaned(webp(webp_header(0x2C, 5, 7) + profile + picture + place)).bytes, plain);
    EXPECT_EQ(cleaned(webp(picture + place)).bytes, plain);
    EXPECT_EQ(cleaned(plain + kZip).bytes, plain);
    EXPECT_EQ(cleaned(webp(webp_header(0, 5, 7) + riff_chunk("maKr", kZip) + picture)).bytes, plain);
  }
  // Transparency keeps the header, whose flags then say that and nothing else.
  const std::string clear = riff_chunk("ALPH", "\0"s + std::string(35, 'a'));
  const std::string whole = webp(webp_header(0x10, 5, 7) + clear + lossy(5, 7));
  EXPECT_EQ(cleaned(whole).bytes, whole);
  EXPECT_EQ(cleaned(webp(webp_header(0x3C, 5, 7) + profile + clear + lossy(5, 7) + place)).bytes, whole);
  // Uncompressed it has a byte a pixel and no more.
  const std::string longer = riff_chunk("ALPH", "\0"s + std::string(35, 'a') + kPage);
  EXPECT_EQ(cleaned(webp(webp_header(0x10, 5, 7) + longer + lossy(5, 7))).bytes, whole);
  EXPECT_EQ(verdict(webp(webp_header(0x10, 5, 8) + clear + lossy(5, 8))), "the picture ends too soon");
  // What fills up to an even length is 0.
  std::string filled = webp(lossless(5, 7));
  ASSERT_EQ(filled.back(), '\0');
  filled.back() = '!';
  EXPECT_EQ(cleaned(filled).bytes, webp(lossless(5, 7)));
}

TEST(Webp, WhatBreaksTheRulesIsRefused) {
  EXPECT_EQ(verdict(webp(webp_header(0x02, 5, 7) + lossless(5, 7))), "the picture moves");
  EXPECT_EQ(verdict(webp(webp_header(0, 5, 7) + riff_chunk("ANIM", "123456"))), "the picture moves");
  EXPECT_EQ(verdict(webp(webp_header(0, 5, 7) + riff_chunk("ANMF", lossless(5, 7)))), "the picture moves");
  EXPECT_EQ(verdict(webp(lossless(5, 7) + lossless(5, 7))), "the WebP holds two pictures");
  EXPECT_EQ(verdict(webp(webp_header(0, 5, 7))), "the WebP holds no picture");
  EXPECT_EQ(verdict(webp(webp_header(0, 5, 8) + lossless(5, 7))),
            "the WebP's picture has another size than its header");
  EXPECT_EQ(verdict(webp(riff_chunk("XMP ", kPage))), "the WebP does not begin with its picture");
  EXPECT_EQ(verdict(webp(lossless(5, 7) + webp_header(0, 5, 7))),
            "the WebP's header stands in a wrong place");
  EXPECT_EQ(verdict(webp(lossy(0, 7))), "the picture has no size");
  EXPECT_EQ(verdict(webp(riff_chunk("VP8L", "\x2E"s + little(4, 4) + "data"))),
            "the WebP's picture has a wrong header");
  EXPECT_EQ(verdict(webp(riff_chunk("VP8L", "\x2F"s + little(1U << 29U, 4) + "data"))),
            "the WebP's picture has a wrong header");
  std::string between = lossy(5, 7);
  between[8] = static_cast<char>(between[8] | 1);  // not a picture by itself
  EXPECT_EQ(verdict(webp(between)), "the WebP's picture has a wrong header");
  std::string cut = lossy(5, 7);
  cut[9] = '\x7F';  // the first part would reach beyond
  EXPECT_EQ(verdict(webp(cut)), "the picture ends too soon");
  const std::string clear = riff_chunk("ALPH", "\x01 data"s);
  EXPECT_EQ(verdict(webp(webp_header(0x10, 5, 7) + clear + clear + lossy(5, 7))),
            "the WebP has its transparency twice");
  EXPECT_EQ(verdict(webp(webp_header(0x10, 5, 7) + riff_chunk("ALPH", "\x02 data"s) + lossy(5, 7))),
            "the WebP's transparency has a wrong header");
}

TEST(Photos, WhatIsNoneIsRefused) {
  const std::string none = "this is no picture that can be kept here";
  for (const std::string& bytes :
       {""s, "x"s, kPage, kZip, "<svg xmlns=\"http://www.w3.org/2000/svg\" onload=\"alert(1)\"/>"s,
        "<?xml version=\"1.0\"?><svg/>"s, "GIF89a\x01\0\x01\0\0\0\0;"s, "BM\x1E\0\0\0"s, "%PDF-1.7\n"s,
        "II*\0\x08\0\0\0"s,
        "\0\0\0\x18"
        "ftypheic\0\0\0\0"s,
        "RIFF\x04\0\0\0WAVE"s, "\xFF\xD8"s, "\x89PNG"s, "RIFF"s, " "s + grey_jpeg(), "\n"s + grey_png(),
        kZip + grey_jpeg(), kPage + webp(lossless(5, 7))}) {
    EXPECT_EQ(verdict(bytes), none) << bytes.substr(0, 20);
  }
}

TEST(Photos, CutShortAnywhereTheyAreRefused) {
  const std::vector<std::string> whole{
      grey_jpeg(exif(6, true) + segment(0xFE, kPage)),
      grey_png(chunk("sRGB", "\0"s)),
      webp(webp_header(0x10, 5, 7) + riff_chunk("ALPH", "\0"s + std::string(35, 'a')) + lossy(5, 7)),
      webp(lossless(5, 7)),
  };
  for (const std::string& bytes : whole) {
    EXPECT_EQ(verdict(bytes), "taken");
    for (std::size_t size = 0; size < bytes.size(); ++size)
      EXPECT_NE(verdict(bytes.substr(0, size)), "taken") << size << " of " << bytes.size();
  }
}

TEST(Photos, AreHeldToTheirBounds) {
  const auto sized = [](int width, int height) {
    return std::vector<std::string>{
        kSoi + quant(0) + frame(0xC0, width, height, {1, 0x11, 0}) + kGreyTables + kGreyScan + kEoi,
        kPngStart + header(width, height, 8, 0) + chunk("IDAT", kGreyRows) + kPngEnd,
        webp(lossless(width, height)),
    };
  };
  for (const std::string& bytes : sized(16'383, 3'051)) EXPECT_EQ(verdict(bytes), "taken");  // 49,984,533
  for (const std::string& bytes : sized(10'000, 5'000)) EXPECT_EQ(verdict(bytes), "taken");
  for (const std::string& bytes : sized(5'000, 10'001))
    EXPECT_EQ(verdict(bytes), "the picture has 5000 × 10001 pixels");
  for (const auto& [width, height] : {std::pair{16'384, 1}, std::pair{1, 16'384}}) {
    for (const std::string& bytes : sized(width, height)) EXPECT_EQ(verdict(bytes), "taken");
  }
  // A side that would wrap round in fewer bits.
  EXPECT_NE(verdict(sized(16'385, 1)[0]), "taken");
  EXPECT_NE(verdict(sized(1, 16'385)[1]), "taken");
  EXPECT_NE(verdict(kPngStart + chunk("IHDR", big(0x80000000U, 4) + big(2, 4) + bytes_of({8, 0, 0, 0, 0})) +
                    chunk("IDAT", kGreyRows) + kPngEnd),
            "taken");
  Bounds bounds;
  bounds.pixels = 63;
  EXPECT_EQ(verdict(grey_jpeg(), bounds), "the picture has 8 × 8 pixels");
  bounds.pixels = 64;
  bounds.side = 7;
  EXPECT_EQ(verdict(grey_jpeg(), bounds), "the picture has 8 × 8 pixels");
  bounds.side = 8;
  bounds.bytes = grey_jpeg().size();
  EXPECT_EQ(verdict(grey_jpeg(), bounds), "taken");
  bounds.bytes -= 1;
  EXPECT_EQ(verdict(grey_jpeg(), bounds), "the picture has " + std::to_string(grey_jpeg().size()) + " bytes");
  // Short enough as it came, too long with what has to be written fresh: it would be refused the next time.
  EXPECT_LE(grey_jpeg("").size(), bounds.bytes);
  EXPECT_EQ(verdict(grey_jpeg(""), bounds),
            "the picture has " + std::to_string(grey_jpeg().size()) + " bytes");
  Bounds usual;
  EXPECT_EQ(usual.bytes, 12U * 1024 * 1024);
  EXPECT_EQ(verdict(grey_png() + std::string(usual.bytes - grey_png().size(), 'x')), "taken");
  EXPECT_NE(verdict(grey_png() + std::string(usual.bytes - grey_png().size() + 1, 'x')), "taken");
}

/// Whether what is taken is clean once and for all.
bool settles(const std::string& bytes) {
  const auto once = clean(bytes);
  if (!once) return true;
  const auto twice = clean(once->bytes);
  return twice && twice->bytes == once->bytes && twice->width == once->width &&
         twice->height == once->height && twice->upright == once->upright && twice->type == once->type;
}

TEST(Photos, CleanedAgainTheyAreTheSame) {
  const std::vector<std::string> pictures{
      grey_jpeg(exif(6, true) + segment(0xFE, kPage)) + kZip,
      kSoi + quant(0) + frame(0xC2, 8, 8, {1, 0x11, 0}) + huffman(0x00) + scan({1, 1, 0, 0, 0, 1}, "\x3F") +
          huffman(0x10) + quant(0, 7) + scan({1, 1, 0, 1, 63, 0}, "\x3F") + kEoi,
      grey_png(chunk("sRGB", "\0"s) + chunk("tEXt", "a\0b"s)),
      webp(webp_header(0x1C, 5, 7) + riff_chunk("ALPH", "\0"s + std::string(35, 'a')) + lossy(5, 7) +
           riff_chunk("XMP ", kPage)),
      webp(lossless(5, 7)),
  };
  for (const std::string& bytes : pictures) EXPECT_TRUE(settles(bytes));
  // With bytes changed, taken out, put in and copied elsewhere; the checks of a PNG mended, or none would
  // pass.
  std::mt19937_64 engine(1);
  const auto pick = [&](std::size_t n) { return static_cast<std::size_t>(engine() % n); };
  std::size_t taken = 0;
  for (int round = 0; round < 60'000; ++round) {
    std::string bytes = pictures[pick(pictures.size())];
    for (std::size_t change = pick(4) + 1; change > 0 && !bytes.empty(); --change) {
      const std::size_t at = pick(bytes.size());
      switch (pick(4)) {
        case 0:
          bytes[at] = static_cast<char>(engine());
          break;
        case 1:
          bytes.erase(at, pick(4) + 1);
          break;
        case 2:
          bytes.insert(at, 1, static_cast<char>(engine()));
          break;
        default:
          bytes.insert(at, bytes.substr(pick(bytes.size()), pick(80)));
      }
    }
    if (bytes.starts_with(kPngStart)) {
      for (std::size_t at = 8; at + 12 <= bytes.size();) {
        const std::size_t size = static_cast<std::uint8_t>(bytes[at + 3]);
        if (at + 12 + size > bytes.size()) break;
        bytes.replace(at + 8 + size, 4, big(crc32(std::string_view(bytes).substr(at + 4, size + 4)), 4));
        at += 12 + size;
      }
    }
    taken += clean(bytes) ? 1U : 0U;
    ASSERT_TRUE(settles(bytes)) << testing::PrintToString(bytes);
  }
  EXPECT_GT(taken, 1000U);
}

/// Everything the fuzzer starts from and everything that once broke something.
TEST(Photos, PastCrashes) {
  std::size_t count = 0;
  for (const char* folder : {"fuzz/corpus/photo", "fuzz/crashes/photo"}) {
    const std::filesystem::path path = std::filesystem::path(HINGELINE_SOURCE_DIR) / folder;
    if (!std::filesystem::exists(path)) continue;
    for (const auto& entry : std::filesystem::directory_iterator(path)) {
      std::ifstream file(entry.path(), std::ios::binary);
      std::ostringstream text;
      text << file.rdbuf();
      EXPECT_TRUE(settles(text.str())) << entry.path();
      ++count;
    }
  }
  EXPECT_GT(count, 10U);
}

}  // namespace
}  // namespace hingeline::photo::test
