#include "for_keeping.h"

#include <fmt/format.h>
#include <qpdf/qpdf-c.h>

#include <cstddef>
#include <cstdlib>
#include <memory>

#include "hingeline/drawing/text.h"
#include "srgb_profile.h"
#include "xml.h"

namespace hingeline::drawing {
namespace {

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

struct Close {
  void operator()(_qpdf_data* pdf) const { qpdf_cleanup(&pdf); }
  void operator()(unsigned char* bytes) const { std::free(bytes); }  // as qpdf-c.h has it
};

/// A file in qpdf's hands. Faults are kept by qpdf and asked for once, at the end.
class File {
 public:
  explicit File(std::string_view bytes) : pdf_(qpdf_init()) {
    qpdf_silence_errors(get());
    qpdf_set_suppress_warnings(get(), QPDF_TRUE);
    qpdf_set_attempt_recovery(get(), QPDF_FALSE);
    qpdf_read_memory(get(), "paper", bytes.data(), bytes.size(), nullptr);
  }
  [[nodiscard]] qpdf_data get() const { return pdf_.get(); }
  /// What went wrong since it was last asked; empty: nothing.
  [[nodiscard]] std::string fault() const {
    if (qpdf_has_error(get()) == QPDF_FALSE) return {};
    const char* said = qpdf_get_error_full_text(get(), qpdf_get_error(get()));
    return said != nullptr ? said : "a fault without words";
  }

  [[nodiscard]] qpdf_oh at(qpdf_oh dictionary, const char* key) const {
    return qpdf_oh_get_key(get(), dictionary, key);
  }
  void put(qpdf_oh dictionary, const char* key, qpdf_oh value) const {
    qpdf_oh_replace_key(get(), dictionary, key, value);
  }
  /// From PDF's own way of writing.
  [[nodiscard]] qpdf_oh object(const std::string& written) const {
    return qpdf_oh_parse(get(), written.c_str());
  }
  [[nodiscard]] qpdf_oh stream(std::string_view bytes) const {
    const qpdf_oh out = qpdf_oh_new_stream(get());
    qpdf_oh_replace_stream_data(get(), out, reinterpret_cast<const unsigned char*>(bytes.data()),
                                bytes.size(), qpdf_oh_new_null(get()), qpdf_oh_new_null(get()));
    return out;
  }

 private:
  std::unique_ptr<_qpdf_data, Close> pdf_;
};

void say_facts(const File& pdf, const PdfFacts& facts) {
  const Said said(facts);
  const qpdf_oh was = pdf.at(qpdf_get_trailer(pdf.get()), "/Info");
  std::string producer;
  if (qpdf_oh_is_dictionary(pdf.get(), was) && qpdf_oh_has_key(pdf.get(), was, "/Producer"))
    producer = qpdf_oh_get_utf8_value(pdf.get(), pdf.at(was, "/Producer"));
  const std::string date = pdf_date(facts.made);
  const qpdf_oh info = qpdf_make_indirect_object(pdf.get(), qpdf_oh_new_dictionary(pdf.get()));
  const auto put = [&](const char* key, const std::string& text) {
    if (!text.empty()) pdf.put(info, key, qpdf_oh_new_unicode_string(pdf.get(), text.c_str()));
  };
  put("/Title", said.title);
  put("/Author", said.author);
  put("/Subject", said.subject);
  put("/Creator", kCreator);
  put("/Producer", producer);
  put("/CreationDate", date);
  pdf.put(qpdf_get_trailer(pdf.get()), "/Info", info);

  const qpdf_oh metadata = pdf.stream(packet(said, producer, date.empty() ? std::string() : facts.made));
  const qpdf_oh about = qpdf_oh_get_dict(pdf.get(), metadata);
  pdf.put(about, "/Type", pdf.object("/Metadata"));
  pdf.put(about, "/Subtype", pdf.object("/XML"));
  const qpdf_oh root = qpdf_get_root(pdf.get());
  pdf.put(root, "/Metadata", metadata);
  pdf.put(root, "/ViewerPreferences", pdf.object("<< /DisplayDocTitle true >>"));
  if (!said.language.empty()) pdf.put(root, "/Lang", qpdf_oh_new_string(pdf.get(), said.language.c_str()));
  // Cairo writes the structure, and says nothing of it.
  if (qpdf_oh_has_key(pdf.get(), root, "/StructTreeRoot"))
    pdf.put(root, "/MarkInfo", pdf.object("<< /Marked true >>"));
}

/// Device colours mean what the profile says (ISO 19005-1, 6.2.2).
void say_colours(const File& pdf) {
  const qpdf_oh profile = pdf.stream(srgb_profile());
  pdf.put(qpdf_oh_get_dict(pdf.get(), profile), "/N", pdf.object("3"));
  const qpdf_oh intent = pdf.object(
      "<< /Type /OutputIntent /S /GTS_PDFA1 /OutputConditionIdentifier (sRGB IEC61966-2.1) "
      "/RegistryName (http://www.color.org) /Info (sRGB IEC61966-2.1) >>");
  pdf.put(intent, "/DestOutputProfile", profile);
  const qpdf_oh intents = qpdf_oh_new_array(pdf.get());
  qpdf_oh_append_item(pdf.get(), intents, qpdf_make_indirect_object(pdf.get(), intent));
  pdf.put(qpdf_get_root(pdf.get()), "/OutputIntents", intents);
}

unsigned big_endian(std::string_view data, std::size_t at, std::size_t bytes) {
  unsigned out = 0;
  for (std::size_t i = 0; i < bytes && at + i < data.size(); ++i)
    out = out << 8U | static_cast<unsigned char>(data[at + i]);
  return out;
}

/// How many glyphs a TrueType font holds: "maxp" of the OpenType specification. 0: none.
unsigned glyphs_of(std::string_view font) {
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
void complete_font(const File& pdf, qpdf_oh font) {
  pdf.put(font, "/CIDToGIDMap", pdf.object("/Identity"));
  const qpdf_oh descriptor = pdf.at(font, "/FontDescriptor");
  if (!qpdf_oh_is_dictionary(pdf.get(), descriptor)) return;
  const qpdf_oh program = pdf.at(descriptor, "/FontFile2");
  if (!qpdf_oh_is_stream(pdf.get(), program)) return;
  unsigned char* bytes = nullptr;
  std::size_t size = 0;
  QPDF_BOOL plain = QPDF_FALSE;
  qpdf_oh_get_stream_data(pdf.get(), program, qpdf_dl_generalized, &plain, &bytes, &size);
  const std::unique_ptr<unsigned char, Close> kept(bytes);
  const unsigned count = bytes == nullptr ? 0 : glyphs_of({reinterpret_cast<const char*>(bytes), size});
  std::string set((count + 7) / 8, '\xFF');
  // The highest bit of the first byte is glyph 0.
  if (count % 8 != 0) set.back() = static_cast<char>(0xFF00U >> count % 8);
  pdf.put(descriptor, "/CIDSet", pdf.stream(set));
}

/// Numbers of the file's objects go from 1 to below this: the trailer's /Size.
int object_numbers(const File& pdf) {
  return qpdf_oh_get_int_value_as_int(pdf.get(), pdf.at(qpdf_get_trailer(pdf.get()), "/Size"));
}

}  // namespace

Expected<std::string> for_keeping(std::string_view cairos, const PdfFacts& facts) {
  const File pdf(cairos);
  std::string fault = pdf.fault();
  if (fault.empty()) {
    // A group to blend in on every page, though nothing is see-through (6.4).
    const int pages = qpdf_get_num_pages(pdf.get());
    for (int i = 0; i < pages; ++i)
      qpdf_oh_remove_key(pdf.get(), qpdf_get_page_n(pdf.get(), static_cast<std::size_t>(i)), "/Group");
    const int numbers = object_numbers(pdf);
    for (int i = 1; i < numbers; ++i) {
      const qpdf_oh object = qpdf_get_object_by_id(pdf.get(), i, 0);
      if (qpdf_oh_is_dictionary_of_type(pdf.get(), object, "/Font", "/CIDFontType2"))
        complete_font(pdf, object);
      qpdf_oh_release(pdf.get(), object);
    }
    say_facts(pdf, facts);
    say_colours(pdf);
    qpdf_init_write_memory(pdf.get());
    qpdf_force_pdf_version(pdf.get(), "1.4");
    qpdf_set_object_stream_mode(pdf.get(), qpdf_o_disable);
    qpdf_set_decode_level(pdf.get(), qpdf_dl_none);
    qpdf_set_newline_before_endstream(pdf.get(), QPDF_TRUE);
    qpdf_set_deterministic_ID(pdf.get(), QPDF_TRUE);
    qpdf_write(pdf.get());
    fault = pdf.fault();
  }
  if (!fault.empty())
    return fail(Fault::file, fmt::format("the drawing could not be made fit for keeping: {}", fault));
  return std::string(reinterpret_cast<const char*>(qpdf_get_buffer(pdf.get())),
                     qpdf_get_buffer_length(pdf.get()));
}

}  // namespace hingeline::drawing
