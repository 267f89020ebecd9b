#pragma once
/// \file
/// What a shop writes down, one slip for each thing: an owner, an instrument, a visit, a reading, a bite, ...
/// Slips are only ever added. What was wrong is put right by a new slip that names the old one; readings,
/// findings, operations and waivers say why.
///
/// A thing (a visit, a reading) is its first slip and all that replace it, one after the other. Its id is the
/// first slip's; what it says now is the last slip. Ids are made by whoever writes (UUID version 7, RFC
/// 9562): they sort by time, and a slip may be sent twice and counts once.

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "hingeline/record/document.h"
#include "hingeline/record/ledger.h"

namespace hingeline::record {

enum class SlipKind {
  person,      ///< who works here
  owner,       ///< whom an instrument belongs to
  instrument,  ///< all of an instrument but its keys
  key,         ///< one key of it
  visit,       ///< an instrument in the shop, from taking in to handing back
  reading,     ///< a figure read on a key or on the body
  finding,     ///< a yes or no, an observation in words
  operation,   ///< a piece of work done: a bite, a screw driven home
  waiver,      ///< a cause knowingly not looked for
  exception,   ///< something left as it is on purpose
  note,
  photo,
  quote_line,
  tool,
  pattern,
  preset,
  shop  ///< the shop document's remaining members
};
inline constexpr std::array kSlipKinds{
    SlipKind::person,  SlipKind::owner,   SlipKind::instrument, SlipKind::key,    SlipKind::visit,
    SlipKind::reading, SlipKind::finding, SlipKind::operation,  SlipKind::waiver, SlipKind::exception,
    SlipKind::note,    SlipKind::photo,   SlipKind::quote_line, SlipKind::tool,   SlipKind::pattern,
    SlipKind::preset,  SlipKind::shop};
/// "person", "quote-line", ...
const char* word(SlipKind kind);

/// What a kind's slips may name.
struct SlipRule {
  std::span<const SlipKind> of;  ///< kinds it may belong to; empty: it belongs to nothing
  bool of_needed = false;
  bool key_allowed = false;  ///< may name a key of the instrument
  bool key_needed = false;
  bool reason_needed = false;  ///< replacing one says why
};
SlipRule rule_of(SlipKind kind);

enum class Role { owner, bench, counter, look_only };
enum class VisitState { waiting, looked_over, quoted, agreed, in_work, proved, handed_back, called_off };
enum class QuoteState { offered, agreed, declined };
enum class ToolList { cutters, reamers, drivers, rods, measuring, sheets, wires, oils };
inline constexpr std::array kVisitStates{VisitState::waiting,     VisitState::looked_over, VisitState::quoted,
                                         VisitState::agreed,      VisitState::in_work,     VisitState::proved,
                                         VisitState::handed_back, VisitState::called_off};
inline constexpr std::array kToolLists{ToolList::cutters, ToolList::reamers,   ToolList::drivers,
                                       ToolList::rods,    ToolList::measuring, ToolList::sheets,
                                       ToolList::wires,   ToolList::oils};
const char* word(Role v);
const char* word(VisitState v);
const char* word(QuoteState v);
const char* word(ToolList v);

/// A piece of a document as it stands there: JSON on one line. Whether it fits its document is seen when that
/// is put together.
struct Piece {
  std::string json;
  Where place;
  [[nodiscard]] bool empty() const { return json.empty(); }
  friend bool operator==(const Piece&, const Piece&) = default;
};

struct PersonSlip {
  std::string name;
  std::string initials;
  Role role = Role::bench;
  bool gone = false;  ///< no longer works here
  Where place;
  friend bool operator==(const PersonSlip&, const PersonSlip&) = default;
};
/// As little of a person as a shop needs.
struct OwnerSlip {
  std::string name;
  std::string reach;  ///< how to reach them: a number, an address
  std::string note;
  Where place;
  friend bool operator==(const OwnerSlip&, const OwnerSlip&) = default;
};
struct InstrumentSlip {
  std::string title;
  std::string kind;
  std::string serial;
  Piece document;  ///< the instrument document without its keys
  Where place;
  friend bool operator==(const InstrumentSlip&, const InstrumentSlip&) = default;
};
struct KeySlip {
  std::string id;     ///< in the instrument document
  NumberEntry order;  ///< keys stand in this order, then by the thing's id
  Piece document;     ///< the key's object in the document, without what was read
  Where place;
  friend bool operator==(const KeySlip&, const KeySlip&) = default;
};
struct VisitSlip {
  std::string complaint;
  std::string came;      ///< day
  std::string promised;  ///< day; may be empty
  VisitState state = VisitState::waiting;
  std::string bench;
  Where place;
  friend bool operator==(const VisitSlip&, const VisitSlip&) = default;
};
struct ReadingSlip {
  std::string at;  ///< JSON pointer into the key's object, or into the document where no key is named
  Piece value;     ///< as it stands there
  Where place;
  friend bool operator==(const ReadingSlip&, const ReadingSlip&) = default;
};
struct FindingSlip {
  std::string of;      ///< code of the check
  std::string answer;  ///< as typed
  Where place;
  friend bool operator==(const FindingSlip&, const FindingSlip&) = default;
};
struct OperationSlip {
  std::string step;  ///< code: "seat-cut", "drive-home", ...
  std::optional<WhichEnd> end;
  std::string tool;
  LengthEntry amount;  ///< meant
  NumberEntry turns;
  LengthEntry taken;  ///< off the end play, as read
  NumberEntry minutes;
  std::string note;
  Where place;
  friend bool operator==(const OperationSlip&, const OperationSlip&) = default;
};
struct WaiverSlip {
  CauseWord cause = CauseWord::sound;
  std::string reason;
  Where place;
  friend bool operator==(const WaiverSlip&, const WaiverSlip&) = default;
};
struct ExceptionSlip {
  std::string of;  ///< what is left: a verdict's or figure's code
  std::string reason;
  Where place;
  friend bool operator==(const ExceptionSlip&, const ExceptionSlip&) = default;
};
struct NoteSlip {
  std::string text;
  Where place;
  friend bool operator==(const NoteSlip&, const NoteSlip&) = default;
};
struct PhotoSlip {
  std::string type;    ///< "image/jpeg", "image/png", "image/webp"
  std::string sha256;  ///< of its bytes, 64 hexadecimal digits
  NumberEntry bytes;
  std::string caption;
  Where place;
  friend bool operator==(const PhotoSlip&, const PhotoSlip&) = default;
};
struct QuoteLineSlip {
  std::string text;
  NumberEntry minutes;
  Amount money;
  QuoteState state = QuoteState::offered;
  Where place;
  friend bool operator==(const QuoteLineSlip&, const QuoteLineSlip&) = default;
};
struct ToolSlip {
  ToolList list = ToolList::cutters;
  Piece document;
  Where place;
  friend bool operator==(const ToolSlip&, const ToolSlip&) = default;
};
struct PatternSlip {
  Piece document;
  Where place;
  friend bool operator==(const PatternSlip&, const PatternSlip&) = default;
};
struct PresetSlip {
  std::string at;  ///< JSON pointer into the shop document: "/presets/window_low"
  Piece value;
  Where place;
  friend bool operator==(const PresetSlip&, const PresetSlip&) = default;
};
struct ShopSlip {
  Piece document;  ///< without the lists of ToolList, patterns and presets
  Where place;
  friend bool operator==(const ShopSlip&, const ShopSlip&) = default;
};

/// In the order of SlipKind.
using SlipBody = std::variant<PersonSlip, OwnerSlip, InstrumentSlip, KeySlip, VisitSlip, ReadingSlip,
                              FindingSlip, OperationSlip, WaiverSlip, ExceptionSlip, NoteSlip, PhotoSlip,
                              QuoteLineSlip, ToolSlip, PatternSlip, PresetSlip, ShopSlip>;

struct Slip {
  std::string id;
  std::string at;        ///< when it was written, by the writer's clock: ISO 8601 with offset
  std::string by;        ///< id of a person; empty: a shop of one
  std::string of;        ///< id of the thing it belongs to; empty: of none
  std::string key;       ///< id of the key it is about; empty: of none
  std::string replaces;  ///< id of the slip it takes the place of; empty: it is new
  std::string why;       ///< why that one is replaced
  bool struck = false;   ///< what it replaces no longer counts; the body then says what it said
  SlipBody body;
  [[nodiscard]] SlipKind kind() const { return static_cast<SlipKind>(body.index()); }
  friend bool operator==(const Slip&, const Slip&) = default;
};

/// Most bytes of one slip's text.
inline constexpr std::size_t kLongestSlip = 1u << 20;

/// Reads a slip. Fault::syntax where it is not JSON, Fault::content for members that are wrong, missing or
/// too many, an id that is none, or what its kind may not name; each with its place.
tl::expected<Slip, Errors> read_slip(std::string_view json, const std::string& file);
/// On one line, without a newline; the same slip always gives the same bytes.
std::string write_slip(const Slip& slip);

/// The published JSON Schema of a slip: what it refuses, read_slip() refuses.
std::string_view slip_schema_text();

/// Whether text is a UUID of version 7, in small letters.
bool is_slip_id(std::string_view text);
/// The id of that millisecond since 1970 (48 bits) with so many random bits (74 are used).
std::string slip_id(std::uint64_t milliseconds, std::uint64_t random_high, std::uint64_t random_low);
/// Milliseconds since 1970 that an id was made at.
std::uint64_t milliseconds_of(std::string_view slip_id);

/// The words that a search finds a slip by: small letters, accents off, each once, sorted.
std::vector<std::string> search_words(const Slip& slip);
/// The words of any text, alike.
std::vector<std::string> search_words(std::string_view text);

}  // namespace hingeline::record
