#include "hingeline/record/slip.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <nlohmann/json.hpp>
#include <set>

#include "hingeline/base/utf8.h"

namespace hingeline::record {
namespace {

constexpr std::size_t kIdLength = 36;
constexpr bool is_dash_at(std::size_t i) { return i == 8 || i == 13 || i == 18 || i == 23; }
constexpr std::array kOwners{SlipKind::owner};
constexpr std::array kInstruments{SlipKind::instrument};
constexpr std::array kVisits{SlipKind::visit};
constexpr std::array kNoted{SlipKind::visit, SlipKind::instrument, SlipKind::owner};

/// The letter without its accent, small, for Latin letters up to U+017F; nothing for others. "ß",
/// "æ" and their like become two letters.
std::string plain_letter(char32_t c) {
  // Latin-1 Supplement and Latin Extended-A, in blocks of what they look like without marks.
  static constexpr std::string_view kLatin1 =
      "aaaaaa_ceeeeiiii_nooooo_ouuuuy__aaaaaa_ceeeeiiii_nooooo_ouuuuy_y";  // from U+00C0
  static constexpr std::string_view kExtended =
      "aaaaaaccccccccddddeeeeeeeeeegggggggghhhhiiiiiiiiii__jjkkklllllll"
      "lllnnnnnnnnnoooooo__rrrrrrssssssssttttttuuuuuuuuuuuuwwyyyzzzzzzs";  // from U+0100
  switch (c) {
    case 0xC6:
    case 0xE6:
      return "ae";
    case 0xDF:
      return "ss";
    case 0x152:
    case 0x153:
      return "oe";
    case 0xD0:
    case 0xF0:
      return "d";
    case 0xDE:
    case 0xFE:
      return "th";
    default:
      break;
  }
  const auto from = [&](std::string_view table, char32_t first) -> std::string {
    if (c < first || c >= first + table.size()) return {};
    const char letter = table[c - first];
    return letter == '_' ? std::string() : std::string(1, letter);
  };
  if (std::string plain = from(kLatin1, 0xC0); !plain.empty()) return plain;
  if (std::string plain = from(kExtended, 0x100); !plain.empty()) return plain;
  return {};
}

constexpr std::size_t kLongestWord = 40;

void add_words(std::set<std::string>& words, std::string_view text) {
  std::string word;
  const auto end_word = [&] {
    if (!word.empty()) words.insert(word.substr(0, kLongestWord));
    word.clear();
  };
  for (std::size_t at = 0; at < text.size();) {
    const auto [c, size] = utf8_character(text, at);
    if (c < 0x80) {
      const char letter = static_cast<char>(c);
      if (letter >= 'A' && letter <= 'Z') {
        word += static_cast<char>(letter - 'A' + 'a');
      } else if ((letter >= 'a' && letter <= 'z') || (letter >= '0' && letter <= '9')) {
        word += letter;
      } else {
        end_word();
      }
    } else if (const std::string plain = plain_letter(c); !plain.empty()) {
      word += plain;
    } else if ((c >= 0x391 && c <= 0x3A9) || (c >= 0x400 && c <= 0x42F)) {
      // Greek and Cyrillic capitals; small ones stand 32 further on, or 80 for the letters before U+0410.
      append_utf8(word, c + (c >= 0x400 && c < 0x410 ? 80 : 32));
    } else if (c < 0xC0 || (c >= 0x2000 && c < 0x2C00) || c == 0xD7 || c == 0xF7) {
      end_word();  // marks, not letters
    } else {
      word += text.substr(at, size);
    }
    at += std::max<std::size_t>(size, 1);  // a byte that is no character parts words
  }
  end_word();
}

}  // namespace

const char* word(SlipKind kind) {
  switch (kind) {
    case SlipKind::person:
      return "person";
    case SlipKind::owner:
      return "owner";
    case SlipKind::instrument:
      return "instrument";
    case SlipKind::key:
      return "key";
    case SlipKind::visit:
      return "visit";
    case SlipKind::reading:
      return "reading";
    case SlipKind::finding:
      return "finding";
    case SlipKind::operation:
      return "operation";
    case SlipKind::waiver:
      return "waiver";
    case SlipKind::exception:
      return "exception";
    case SlipKind::note:
      return "note";
    case SlipKind::photo:
      return "photo";
    case SlipKind::quote_line:
      return "quote-line";
    case SlipKind::tool:
      return "tool";
    case SlipKind::pattern:
      return "pattern";
    case SlipKind::preset:
      return "preset";
    case SlipKind::shop:
      break;
  }
  return "shop";
}

SlipRule rule_of(SlipKind kind) {
  switch (kind) {
    case SlipKind::instrument:
      return {.of = kOwners};
    case SlipKind::key:
    case SlipKind::visit:
      return {.of = kInstruments, .of_needed = true};
    case SlipKind::reading:
      return {.of = kVisits, .of_needed = true, .key_allowed = true, .reason_needed = true};
    case SlipKind::finding:
    case SlipKind::operation:
    case SlipKind::waiver:
      return {
          .of = kVisits, .of_needed = true, .key_allowed = true, .key_needed = true, .reason_needed = true};
    case SlipKind::exception:
      return {.of = kVisits, .of_needed = true, .key_allowed = true};
    case SlipKind::note:
      return {.of = kNoted, .of_needed = true, .key_allowed = true};
    case SlipKind::photo:
      return {.of = kVisits, .of_needed = true, .key_allowed = true};
    case SlipKind::quote_line:
      return {.of = kVisits, .of_needed = true};
    case SlipKind::person:
    case SlipKind::owner:
    case SlipKind::tool:
    case SlipKind::pattern:
    case SlipKind::preset:
    case SlipKind::shop:
      break;
  }
  return {};
}

const char* word(Role v) {
  switch (v) {
    case Role::owner:
      return "owner";
    case Role::bench:
      return "bench";
    case Role::counter:
      return "counter";
    case Role::look_only:
      break;
  }
  return "look-only";
}
const char* word(VisitState v) {
  switch (v) {
    case VisitState::waiting:
      return "waiting";
    case VisitState::looked_over:
      return "looked-over";
    case VisitState::quoted:
      return "quoted";
    case VisitState::agreed:
      return "agreed";
    case VisitState::in_work:
      return "in-work";
    case VisitState::proved:
      return "proved";
    case VisitState::handed_back:
      return "handed-back";
    case VisitState::called_off:
      break;
  }
  return "called-off";
}
const char* word(QuoteState v) {
  switch (v) {
    case QuoteState::offered:
      return "offered";
    case QuoteState::agreed:
      return "agreed";
    case QuoteState::declined:
      break;
  }
  return "declined";
}
const char* word(ToolList v) {
  switch (v) {
    case ToolList::cutters:
      return "cutters";
    case ToolList::reamers:
      return "reamers";
    case ToolList::drivers:
      return "drivers";
    case ToolList::rods:
      return "rods";
    case ToolList::measuring:
      return "measuring";
    case ToolList::sheets:
      return "sheets";
    case ToolList::wires:
      return "wires";
    case ToolList::oils:
      break;
  }
  return "oils";
}

bool is_slip_id(std::string_view text) {
  if (text.size() != kIdLength) return false;
  for (std::size_t i = 0; i < kIdLength; ++i) {
    const char c = text[i];
    const bool hexadecimal = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
    if (is_dash_at(i) ? c != '-' : !hexadecimal) return false;
  }
  const char variant = text[19];
  return text[14] == '7' && (variant == '8' || variant == '9' || variant == 'a' || variant == 'b');
}

std::string slip_id(std::uint64_t milliseconds, std::uint64_t random_high, std::uint64_t random_low) {
  const std::uint64_t time = milliseconds & 0xFFFFFFFFFFFFULL;
  return fmt::format("{:08x}-{:04x}-7{:03x}-{:04x}-{:012x}", time >> 16U, time & 0xFFFFU,
                     random_high & 0xFFFU, 0x8000U | (random_high >> 12U & 0x3FFFU),
                     random_low & 0xFFFFFFFFFFFFULL);
}

std::uint64_t milliseconds_of(std::string_view id) {
  std::string digits(id.substr(0, 8));
  digits += id.substr(9, 4);
  std::uint64_t out = 0;
  std::from_chars(digits.data(), digits.data() + digits.size(), out, 16);
  return out;
}

std::vector<std::string> search_words(std::string_view text) {
  std::set<std::string> words;
  add_words(words, text);
  return {words.begin(), words.end()};
}

std::vector<std::string> search_words(const Slip& slip) {
  std::set<std::string> words;
  const auto add = [&](const auto&... texts) { (add_words(words, texts), ...); };
  struct Says {
    decltype(add)& words;
    void operator()(const PersonSlip& s) const { words(s.name, s.initials); }
    void operator()(const OwnerSlip& s) const { words(s.name, s.reach, s.note); }
    void operator()(const InstrumentSlip& s) const { words(s.title, s.kind, s.serial); }
    void operator()(const KeySlip& s) const {
      words(s.id);
      const auto document = nlohmann::json::parse(s.document.json, nullptr, false);
      if (document.is_discarded()) return;
      for (const char* at : {"/name", "/hinge/upper/screw/pattern", "/hinge/lower/screw/pattern"}) {
        const nlohmann::json::json_pointer place(at);
        if (document.contains(place) && document.at(place).is_string())
          words(document.at(place).get_ref<const std::string&>());
      }
    }
    void operator()(const VisitSlip& s) const {
      words(s.complaint, s.bench, std::string_view(word(s.state)));
    }
    void operator()(const ReadingSlip&) const {}
    void operator()(const FindingSlip& s) const { words(s.of, s.answer); }
    void operator()(const OperationSlip& s) const { words(s.step, s.tool, s.note); }
    void operator()(const WaiverSlip& s) const { words(std::string_view(word(s.cause)), s.reason); }
    void operator()(const ExceptionSlip& s) const { words(s.of, s.reason); }
    void operator()(const NoteSlip& s) const { words(s.text); }
    void operator()(const PhotoSlip& s) const { words(s.caption); }
    void operator()(const QuoteLineSlip& s) const { words(s.text); }
    void operator()(const ToolSlip&) const {}
    void operator()(const PatternSlip&) const {}
    void operator()(const PresetSlip&) const {}
    void operator()(const ShopSlip&) const {}
  };
  std::visit(Says{add}, slip.body);
  return {words.begin(), words.end()};
}

}  // namespace hingeline::record
