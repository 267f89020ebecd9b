#pragma once
/// \file
/// What stands in a slip, as fields.h has it for the documents.

#include "fields.h"
#include "hingeline/record/slip.h"
#include "ledger_fields.h"

namespace hingeline::record {

template <>
struct Words<SlipKind> {
  static constexpr auto all = kSlipKinds;
};
template <>
struct Words<Role> {
  static constexpr std::array all{Role::owner, Role::bench, Role::counter, Role::look_only};
};
template <>
struct Words<VisitState> {
  static constexpr auto all = kVisitStates;
};
template <>
struct Words<QuoteState> {
  static constexpr std::array all{QuoteState::offered, QuoteState::agreed, QuoteState::declined};
};
template <>
struct Words<ToolList> {
  static constexpr auto all = kToolLists;
};

inline constexpr Rule kOrder{.sign = Sign::any};
inline constexpr Rule kByteCount{.sign = Sign::not_negative, .unit = "bytes", .most = 1e9};

/// A slip with its body as it stands.
struct SlipHead {
  std::string id;
  SlipKind kind = SlipKind::note;
  std::string at, by, of, key, replaces, why;
  bool struck = false;
  Piece body;
  Where place;
};

template <class V>
void fields(V& v, Seen<V, PersonSlip>& s) {
  v.text("name", s.name, TextRule::name, "The person's name.");
  v.text("initials", s.initials, TextRule::line, "How entries are signed on paper.");
  v.choice("role", s.role, "What the person may do.");
  v.flag("gone", s.gone, "No longer works here.");
}
template <class V>
void fields(V& v, Seen<V, OwnerSlip>& s) {
  v.text("name", s.name, TextRule::name, "The owner's name.");
  v.text("reach", s.reach, TextRule::line, "How to reach them.");
  v.text("note", s.note, TextRule::free, "Anything worth knowing at the counter.");
}
template <class V>
void fields(V& v, Seen<V, InstrumentSlip>& s) {
  v.text("title", s.title, TextRule::name, "What to call the instrument.");
  v.text("kind", s.kind, TextRule::line, "Alto saxophone, clarinet, ...");
  v.text("serial", s.serial, TextRule::line, "The number on it.");
  v.piece("document", s.document, "The instrument document without its keys.");
}
template <class V>
void fields(V& v, Seen<V, KeySlip>& s) {
  v.text("id", s.id, TextRule::identifier, "The key's id in the instrument document.");
  v.entry("order", s.order, kOrder, "Keys stand in this order.");
  v.piece("document", s.document, "The key's object in the instrument document, without what was read.");
}
template <class V>
void fields(V& v, Seen<V, VisitSlip>& s) {
  v.text("complaint", s.complaint, TextRule::free, "What the owner says is wrong.");
  v.text("came", s.came, TextRule::date, "The day it came in.");
  v.text("promised", s.promised, TextRule::open_date, "The day it is promised for.");
  v.choice("state", s.state, "How far it is.");
  v.text("bench", s.bench, TextRule::line, "Which bench has it.");
}
template <class V>
void fields(V& v, Seen<V, ReadingSlip>& s) {
  v.text("at", s.at, TextRule::name, "JSON pointer to the figure in the key's object, or in the document.");
  v.piece("value", s.value, "The figure as it stands there.", true);
}
template <class V>
void fields(V& v, Seen<V, FindingSlip>& s) {
  v.text("of", s.of, TextRule::name, "Code of the check.");
  v.text("answer", s.answer, TextRule::name, "What was found, as typed.");
}
template <class V>
void fields(V& v, Seen<V, OperationSlip>& s) {
  v.text("step", s.step, TextRule::identifier, "Code of the work: seat-cut, drive-home, ...");
  v.choice("end", s.end, "At which end.");
  v.text("tool", s.tool, TextRule::line, "With which tool.");
  v.entry("amount", s.amount, kSigned, "How far was meant.");
  v.entry("turns", s.turns, Rule{.sign = Sign::positive, .unit = "turns"}, "Turns of the tool or screw.");
  v.entry("taken", s.taken, kSigned, "What it took off the end play, as read.");
  v.entry("minutes", s.minutes, kMinutes, "How long it took.");
  v.text("note", s.note, TextRule::free, "Anything worth saying.");
}
template <class V>
void fields(V& v, Seen<V, WaiverSlip>& s) {
  v.choice("cause", s.cause, "The cause that is not looked for.");
  v.text("reason", s.reason, TextRule::name, "Why not.");
}
template <class V>
void fields(V& v, Seen<V, ExceptionSlip>& s) {
  v.text("of", s.of, TextRule::name, "What is left as it is.");
  v.text("reason", s.reason, TextRule::name, "Why.");
}
template <class V>
void fields(V& v, Seen<V, NoteSlip>& s) {
  v.text("text", s.text, TextRule::free, "The note.");
}
template <class V>
void fields(V& v, Seen<V, PhotoSlip>& s) {
  v.text("type", s.type, TextRule::name, "image/jpeg, image/png or image/webp.");
  v.text("sha256", s.sha256, TextRule::name, "SHA-256 of its bytes, hexadecimal.");
  v.entry("bytes", s.bytes, required(kByteCount), "How many bytes it has.");
  v.text("caption", s.caption, TextRule::line, "What it shows.");
}
template <class V>
void fields(V& v, Seen<V, QuoteLineSlip>& s) {
  v.text("text", s.text, TextRule::name, "What is offered.");
  v.entry("minutes", s.minutes, kMinutes, "Minutes it is reckoned with.");
  v.amount("money", s.money, "What it costs.");
  v.choice("state", s.state, "What the owner said to it.");
}
template <class V>
void fields(V& v, Seen<V, ToolSlip>& s) {
  v.choice("list", s.list, "The list of the shop document it stands in.");
  v.piece("document", s.document, "Its object there.", true);
}
template <class V>
void fields(V& v, Seen<V, PatternSlip>& s) {
  v.piece("document", s.document, "Its object in the shop document's patterns.", true);
}
template <class V>
void fields(V& v, Seen<V, PresetSlip>& s) {
  v.text("at", s.at, TextRule::name, "JSON pointer into the shop document.");
  v.piece("value", s.value, "What stands there.", true);
}
template <class V>
void fields(V& v, Seen<V, ShopSlip>& s) {
  v.piece("document", s.document, "The shop document without tools, patterns and presets.", true);
}

template <class V>
void fields(V& v, Seen<V, SlipHead>& h) {
  v.text("id", h.id, TextRule::name, "UUID of version 7, made by the writer.");
  v.choice("kind", h.kind, "What the slip is.");
  v.text("at", h.at, TextRule::moment, "When it was written, by the writer's clock.");
  v.text("by", h.by, TextRule::line, "Id of the person who wrote it.");
  v.text("of", h.of, TextRule::line, "Id of the thing it belongs to.");
  v.text("key", h.key, TextRule::line, "Id of the key it is about.");
  v.text("replaces", h.replaces, TextRule::line, "Id of the slip it takes the place of.");
  v.text("why", h.why, TextRule::free, "Why that one is replaced.");
  v.flag("struck", h.struck, "What it replaces no longer counts.");
  v.piece("body", h.body, "What it says, by its kind.", true);
}

}  // namespace hingeline::record
