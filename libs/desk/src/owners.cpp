#include "inside.h"

namespace hingeline::desk {

using record::SlipKind;

namespace {

/// Every slip of a thing.
Answer<Json> all_slips(Book& book, const std::string& thing) {
  const auto slips = book.history(thing);
  if (!slips) return as_trouble(slips.error());
  Json out = Json::array();
  for (const store::Kept& kept : *slips) out.push_back(json_of(kept));
  return out;
}

}  // namespace

Answer<std::string> Desk::owner_all(const Who& who, const std::string& owner) {
  if (auto may = must_have(who, Right::owner); !may) return tl::unexpected(may.error());
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  Book& book = **lent;
  const auto thing = inside_->needed(book, owner, SlipKind::owner);
  if (!thing) return tl::unexpected(thing.error());
  auto own = all_slips(book, owner);
  if (!own) return tl::unexpected(own.error());
  Json out = {{"owner", std::move(*own)}, {"notes", Json::array()}, {"instruments", Json::array()}};
  const auto belongs = book.belonging(owner);
  if (!belongs) return as_trouble(belongs.error());
  for (const Thing& t : *belongs) {
    auto slips = all_slips(book, t.id);
    if (!slips) return tl::unexpected(slips.error());
    if (t.now.slip.kind() == SlipKind::note) out["notes"].push_back(std::move(*slips));
    if (t.now.slip.kind() != SlipKind::instrument) continue;
    Json instrument = {{"slips", std::move(*slips)}, {"visits", Json::array()}};
    const auto visits = book.belonging(t.id, SlipKind::visit);
    if (!visits) return as_trouble(visits.error());
    for (const Thing& v : *visits) {
      auto of_visit = all_slips(book, v.id);
      if (!of_visit) return tl::unexpected(of_visit.error());
      const auto rest = book.belonging(v.id);
      if (!rest) return as_trouble(rest.error());
      Json things = Json::array();
      for (const Thing& r : *rest) things.push_back(json_of(r));
      instrument["visits"].push_back({{"slips", std::move(*of_visit)}, {"things", std::move(things)}});
    }
    out["instruments"].push_back(std::move(instrument));
  }
  return text_of(out);
}

Answer<std::string> Desk::forget_owner(const Who& who, const std::string& owner, std::string_view json) {
  if (auto may = must_have(who, Right::owner); !may) return tl::unexpected(may.error());
  const auto object = object_of(json);
  if (!object) return tl::unexpected(object.error());
  if (auto known = only_members(*object, {"id"}); !known) return tl::unexpected(known.error());
  const auto id = id_in(*object);
  if (!id) return tl::unexpected(id.error());
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  if (auto done = (*lent)->forget_owner(owner); !done) return as_trouble(done.error());
  record::Slip note;
  note.id = *id;
  note.at = moment_of(*id);
  note.by = who.person;
  note.of = owner;
  note.body = record::NoteSlip{"This owner's words were taken out on request.", {}};
  const auto written = inside_->write(**lent, who, {note}, {});
  if (!written) return tl::unexpected(written.error());
  return Inside::outcomes_text(*written);
}

}  // namespace hingeline::desk
