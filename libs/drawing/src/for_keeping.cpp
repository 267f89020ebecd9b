#include "for_keeping.h"

#include <fmt/format.h>

#include <cstddef>
#include <exception>
#include <qpdf/Pl_String.hh>
#include <qpdf/QPDF.hh>
#include <qpdf/QPDFObjectHandle.hh>
#include <qpdf/QPDFWriter.hh>
#include <vector>

#include "hingeline/drawing/text.h"
#include "srgb_profile.h"
#include "xml.h"

namespace hingeline::drawing {
namespace {

using Handle = QPDFObjectHandle;

/// A fact as it stands both in Info and in XMP: readers of XML drop blanks at the ends, so nobody gets them.
std::string fact(const std::string& text) {
  const std::string clean = utf8_of(characters_of(text));
  const std::size_t first = clean.find_first_not_of(' ');
  if (first == std::string::npos) return {};
  return clean.substr(first, clean.find_last_not_of(' ') - first + 1);
}

/// A day, or a moment in UTC, as PDF writes it: "2026-11-27T08:00:00Z" is "D:20261127080000Z". Empty for any
/// other text.
std::string pdf_date(std::string_view iso) {
  constexpr std::string_view kMoment = "0000-00-00T00:00:00Z";
  constexpr std::size_t kDay = 10;
  if (iso.size() != kMoment.size() && iso.size() != kDay) return {};
  std::string out = "D:";
  for (std::size_t i = 0; i < iso.size(); ++i) {
    const bool digit = iso[i] >= '0' && iso[i] <= '9';
    if (kMoment[i] == '0' ? !digit : iso[i] != kMoment[i]) return {};
    if (digit || iso[i] == 'Z') out += iso[i];
  }
  return out;
}

/// The facts once, for both places where a file says them.
struct Said {
  explicit Said(const PdfFacts& facts)
      : title(fact(facts.title)), author(fact(facts.author)), subject(fact(facts.subject)) {
    for (const char c : facts.language) {
      if ((c < 'a' || c > 'z') && (c < 'A' || c > 'Z') && c != '-') return;
    }
    language = facts.language;
  }
  std::string title, author, subject, language;
};
constexpr const char* kCreator = "Hingeline";

/// XMP (ISO 16684-1) with the part of ISO 19005 that the file keeps to.
std::string packet(const Said& said, const std::string& producer, const std::string& made) {
  const auto list = [](std::string_view name, std::string_view kind, const std::string& text) {
    return text.empty() ? std::string()
                        : fmt::format("<dc:{0}><rdf:{1}><rdf:li{2}>{3}</rdf:li></rdf:{1}></dc:{0}>\n", name,
                                      kind, kind == "Alt" ? " xml:lang=\"x-default\"" : "", escaped(text));
  };
  std::string out =
      "<?xpacket begin=\"\xEF\xBB\xBF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n"
      "<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n"
      "<rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n"
      "<rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" "
      "xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" "
      "xmlns:pdfaid=\"http://www.aiim.org/pdfa/ns/id/\">\n"
      "<pdfaid:part>1</pdfaid:part>\n<pdfaid:conformance>B</pdfaid:conformance>\n";
  out += list("title", "Alt", said.title);
  out += list("creator", "Seq", said.author);
  out += list("description", "Alt", said.subject);
  out += list("language", "Bag", said.language);
  out += fmt::format("<xmp:CreatorTool>{}</xmp:CreatorTool>\n", kCreator);
  if (!producer.empty()) out += fmt::format("<pdf:Producer>{}</pdf:Producer>\n", escaped(producer));
  if (!made.empty()) out += fmt::format("<xmp:CreateDate>{}</xmp:CreateDate>\n", made);
  return out + "</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"r\"?>";
}

void say_facts(QPDF& pdf, const PdfFacts& facts) {
  const Said said(facts);
  Handle was = pdf.getTrailer().getKey("/Info");
  const std::string producer =
      was.isDictionary() && was.hasKey("/Producer") ? was.getKey("/Producer").getUTF8Value() : std::string();
  const std::string date = pdf_date(facts.made);
  Handle info = pdf.makeIndirectObject(Handle::newDictionary());
  const auto put = [&](const char* key, const std::string& text) {
    if (!text.empty()) info.replaceKey(key, Handle::newUnicodeString(text));
  };
  put("/Title", said.title);
  put("/Author", said.author);
  put("/Subject", said.subject);
  put("/Creator", kCreator);
  put("/Producer", producer);
  put("/CreationDate", date);
  pdf.getTrailer().replaceKey("/Info", info);

  Handle metadata = pdf.newStream(packet(said, producer, date.empty() ? std::string() : facts.made));
  metadata.getDict().replaceKey("/Type", Handle::newName("/Metadata"));
  metadata.getDict().replaceKey("/Subtype", Handle::newName("/XML"));
  Handle root = pdf.getRoot();
  root.replaceKey("/Metadata", metadata);
  root.replaceKey("/ViewerPreferences", Handle::parse("<< /DisplayDocTitle true >>"));
  if (!said.language.empty()) root.replaceKey("/Lang", Handle::newString(said.language));
  // Cairo writes the structure, and says nothing of it.
  if (root.hasKey("/StructTreeRoot")) root.replaceKey("/MarkInfo", Handle::parse("<< /Marked true >>"));
}

/// Device colours mean what the profile says (ISO 19005-1, 6.2.2).
void say_colours(QPDF& pdf) {
  Handle profile = pdf.newStream(std::string(srgb_profile()));
  profile.getDict().replaceKey("/N", Handle::newInteger(3));
  Handle intent = Handle::parse(
      "<< /Type /OutputIntent /S /GTS_PDFA1 /OutputConditionIdentifier (sRGB IEC61966-2.1) "
      "/RegistryName (http://www.color.org) /Info (sRGB IEC61966-2.1) >>");
  intent.replaceKey("/DestOutputProfile", profile);
  pdf.getRoot().replaceKey("/OutputIntents", Handle::newArray({pdf.makeIndirectObject(intent)}));
}

unsigned big_endian(const Buffer& data, std::size_t at, std::size_t bytes) {
  unsigned out = 0;
  for (std::size_t i = 0; i < bytes && at + i < data.getSize(); ++i)
    out = out << 8U | data.getBuffer()[at + i];
  return out;
}

/// How many glyphs a TrueType font holds: "maxp" of the OpenType specification. 0: none.
unsigned glyphs_of(const Buffer& font) {
  constexpr std::size_t kHead = 12;
  constexpr std::size_t kRecord = 16;
  constexpr unsigned kMaxp = 0x6D617870;
  const unsigned tables = big_endian(font, 4, 2);
  for (std::size_t i = 0; i < tables; ++i) {
    const std::size_t at = kHead + kRecord * i;
    if (big_endian(font, at, 4) == kMaxp)
      return big_endian(font, big_endian(font, at + 8, 4) + std::size_t{4}, 2);
  }
  return 0;
}

/// A part of a font says which glyphs it holds, and that they go by their numbers (6.3.3.2, 6.3.5): Cairo
/// numbers a part's glyphs from 0 on, so it is all of them.
void complete_font(QPDF& pdf, Handle font) {
  font.replaceKey("/CIDToGIDMap", Handle::newName("/Identity"));
  Handle descriptor = font.getKey("/FontDescriptor");
  if (!descriptor.isDictionary() || !descriptor.getKey("/FontFile2").isStream()) return;
  const unsigned count = glyphs_of(*descriptor.getKey("/FontFile2").getStreamData(qpdf_dl_generalized));
  std::string set((count + 7) / 8, '\xFF');
  // The highest bit of the first byte is glyph 0.
  if (count % 8 != 0) set.back() = static_cast<char>(0xFF00U >> count % 8);
  descriptor.replaceKey("/CIDSet", pdf.newStream(set));
}

}  // namespace

Expected<std::string> for_keeping(std::string_view cairos, const PdfFacts& facts) {
  try {
    QPDF pdf;
    pdf.setSuppressWarnings(true);
    pdf.setAttemptRecovery(false);
    pdf.processMemoryFile("paper", cairos.data(), cairos.size());
    say_facts(pdf, facts);
    say_colours(pdf);
    // A group to blend in on every page, though nothing is see-through (6.4).
    for (Handle page : pdf.getAllPages()) page.removeKey("/Group");
    for (Handle object : pdf.getAllObjects()) {
      if (object.isDictionaryOfType("/Font", "/CIDFontType2")) complete_font(pdf, object);
    }
    std::string out;
    out.reserve(cairos.size() + cairos.size() / 4);
    Pl_String to("paper", nullptr, out);
    QPDFWriter writer(pdf);
    writer.setOutputPipeline(&to);
    writer.forcePDFVersion("1.4");
    writer.setObjectStreamMode(qpdf_o_disable);
    writer.setDecodeLevel(qpdf_dl_none);
    writer.setNewlineBeforeEndstream(true);
    writer.setDeterministicID(true);
    writer.write();
    return out;
  } catch (const std::exception& e) {
    return fail(Fault::file, fmt::format("the drawing could not be made fit for keeping: {}", e.what()));
  }
}

}  // namespace hingeline::drawing
