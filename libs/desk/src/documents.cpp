#include <fmt/format.h>

#include <algorithm>

#include "ids.h"
#include "inside.h"

namespace hingeline::desk {
namespace {

using record::Slip;
using record::SlipKind;
using record::ThingSlip;

record::SlipMaking making(IdsFrom& ids, const Who& who, std::string at) {
  record::SlipMaking out;
  out.next_id = [&ids] { return ids.next(); };
  out.at = std::move(at);
  out.by = who.person;
  return out;
}

Slip struck(const ThingSlip& old, const record::SlipMaking& making, const std::string& why) {
  Slip out = old.slip;
  out.id = making.next_id();
  out.at = making.at;
  out.by = making.by;
  out.replaces = old.slip.id;
  out.why = why;
  out.struck = true;
  return out;
}

/// Whether a request with this id was taken already.
Answer<bool> taken_before(Book& book, const std::string& id) {
  const auto thing = book.thing(id);
  if (!thing) return as_trouble(thing.error());
  return thing->has_value();
}

}  // namespace

Answer<std::string> Desk::take_in(const Who& who, std::string_view json) {
  const auto object = object_of(json);
  if (!object) return tl::unexpected(object.error());
  if (auto known = only_members(*object, {"id", "owner", "day", "complaint", "promised", "document"}); !known)
    return tl::unexpected(known.error());
  const auto id = id_in(*object);
  if (!id) return tl::unexpected(id.error());
  const auto owner = text_in(*object, "owner");
  if (!owner) return tl::unexpected(owner.error());
  const auto day = needed_text(*object, "day");
  if (!day) return tl::unexpected(day.error());
  if (!record::is_date(*day)) return refuse(Kind::not_valid, "\"day\" is no day", "such as 2026-11-26");
  const auto complaint = text_in(*object, "complaint");
  if (!complaint) return tl::unexpected(complaint.error());
  const auto promised = text_in(*object, "promised");
  if (!promised) return tl::unexpected(promised.error());
  const auto document = object->find("document");
  if (document == object->end() || !document->is_object())
    return refuse(Kind::not_valid, "\"document\" is no instrument document", "an object");

  IdsFrom ids(*id);
  const auto make = making(ids, who, moment_of(*id));
  auto slips = record::instrument_slips(text_of(*document), "document", *owner, *day, make);
  if (!slips) return as_trouble(std::move(slips.error()));
  auto visit =
      std::find_if(slips->begin(), slips->end(), [](const Slip& s) { return s.kind() == SlipKind::visit; });
  if (visit == slips->end()) {
    // Nothing was read yet: it is here all the same.
    Slip fresh;
    fresh.id = ids.next();
    fresh.at = make.at;
    fresh.by = make.by;
    fresh.of = slips->front().id;
    record::VisitSlip says;
    says.came = *day;
    fresh.body = std::move(says);
    slips->push_back(std::move(fresh));
    visit = slips->end() - 1;
  }
  auto& says = std::get<record::VisitSlip>(visit->body);
  says.complaint = *complaint;
  says.promised = *promised;
  // Read again as any slip is: what was typed has to be what a visit can say.
  if (auto read = sound(*visit); !read) return tl::unexpected(read.error());
  const std::string visit_id = visit->id;
  const std::string instrument_id = slips->front().id;

  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  if (!owner->empty()) {
    if (const auto known = inside_->needed(**lent, *owner, SlipKind::owner); !known)
      return tl::unexpected(known.error());
  }
  store::Writing writing;
  writing.all_or_none = true;
  // Readings that came with the document take a bench's right; taking the instrument in does not.
  Who writes = who;
  if (who.has(Right::counter)) writes.right = std::max(who.right, Right::bench);
  const auto written = inside_->write(**lent, writes, *slips, writing);
  if (!written) return tl::unexpected(written.error());
  const auto refused = std::find_if(written->begin(), written->end(), [](const store::Written& w) {
    return w.outcome == store::Outcome::refused;
  });
  if (refused != written->end()) return refuse(Kind::overtaken, refused->what, refused->expected);
  return Inside::outcomes_text(*written, {{"instrument", instrument_id}, {"visit", visit_id}});
}

Answer<std::string> Desk::document(const Who& who, const std::string& visit) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto thing = inside_->needed(**lent, visit, SlipKind::visit);
  if (!thing) return tl::unexpected(thing.error());
  const auto instrument = inside_->needed(**lent, thing->now.slip.of, SlipKind::instrument);
  if (!instrument) return tl::unexpected(instrument.error());
  return inside_->instrument_text(**lent, *instrument, visit);
}

Answer<std::string> Desk::shop(const Who& who) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  return inside_->shop_text(**lent);
}

Answer<std::string> Desk::beginning(const Who& who) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  Book& book = **lent;
  const auto last = book.last_number();
  if (!last) return as_trouble(last.error());
  const auto text = inside_->shop_text(book);
  if (!text) return tl::unexpected(text.error());
  const Json shop = Json::parse(*text);
  return text_of({{"as_of", *last},
                  {"time_zone", shop.value("time_zone", std::string())},
                  {"paper", shop.value("paper", std::string())}});
}

Answer<std::string> Desk::put_shop(const Who& who, std::string_view json) {
  if (auto may = must_have(who, Right::owner); !may) return tl::unexpected(may.error());
  const auto object = object_of(json);
  if (!object) return tl::unexpected(object.error());
  if (auto known = only_members(*object, {"id", "document"}); !known) return tl::unexpected(known.error());
  const auto id = id_in(*object);
  if (!id) return tl::unexpected(id.error());
  const auto document = object->find("document");
  if (document == object->end() || !document->is_object())
    return refuse(Kind::not_valid, "\"document\" is no shop document", "an object");
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto before = taken_before(**lent, *id);
  if (!before) return tl::unexpected(before.error());
  if (*before) return Inside::outcomes_text({});

  IdsFrom ids(*id);
  const auto make = making(ids, who, moment_of(*id));
  auto slips = record::shop_slips(text_of(*document), "document", make);
  if (!slips) return as_trouble(std::move(slips.error()));
  // What was there goes; the new shop slip is a thing of its own, so that sending it twice is seen.
  const auto old = inside_->shop_parts(**lent);
  if (!old) return tl::unexpected(old.error());
  if (*old) {
    for (const auto* things : {&(*old)->tools, &(*old)->patterns, &(*old)->presets}) {
      for (const ThingSlip& t : *things) slips->push_back(struck(t, make, "another shop document"));
    }
  }
  store::Writing writing;
  writing.all_or_none = true;
  writing.must_be_current = true;
  const auto written = inside_->write(**lent, who, *slips, writing);
  if (!written) return tl::unexpected(written.error());
  return Inside::outcomes_text(*written);
}

Answer<std::string> Desk::set(const Who& who, std::string_view json) {
  if (auto may = must_have(who, Right::owner); !may) return tl::unexpected(may.error());
  const auto object = object_of(json);
  if (!object) return tl::unexpected(object.error());
  if (auto known = only_members(*object, {"id", "at", "value"}); !known) return tl::unexpected(known.error());
  const auto id = id_in(*object);
  if (!id) return tl::unexpected(id.error());
  const auto at = needed_text(*object, "at");
  if (!at) return tl::unexpected(at.error());
  const auto value = object->find("value");
  if (value == object->end())
    return refuse(Kind::not_valid, "\"value\" is missing", "what is to stand there, or null");

  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto parts = inside_->shop_parts(**lent);
  if (!parts) return tl::unexpected(parts.error());
  const ThingSlip* there = nullptr;
  if (*parts) {
    for (const ThingSlip& p : (*parts)->presets) {
      if (p.slip.id == *id) return Inside::outcomes_text({});  // sent again
      if (std::get<record::PresetSlip>(p.slip.body).at == *at) there = &p;
    }
  }
  if (value->is_null() && there == nullptr) return Inside::outcomes_text({});
  Slip slip;
  slip.id = *id;
  slip.at = moment_of(*id);
  slip.by = who.person;
  if (there != nullptr) slip.replaces = there->slip.id;
  if (value->is_null()) {
    slip.struck = true;
    slip.why = "as the shop document has it";
    slip.body = there->slip.body;
  } else {
    slip.body = record::PresetSlip{*at, {text_of(*value), {}}, {}};
  }
  auto read = sound(slip);
  if (!read) return tl::unexpected(read.error());
  store::Writing writing;
  writing.must_be_current = true;
  const auto written = inside_->write(**lent, who, {std::move(*read)}, writing);
  if (!written) return tl::unexpected(written.error());
  if (written->front().refusal == store::Refusal::overtaken)
    return refuse(Kind::overtaken, written->front().what, written->front().expected);
  return Inside::outcomes_text(*written);
}

}  // namespace hingeline::desk
