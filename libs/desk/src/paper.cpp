#include <fmt/format.h>

#include <charconv>
#include <map>

#include "hingeline/base/reading.h"
#include "hingeline/belief/cause.h"
#include "hingeline/papers/paper.h"
#include "hingeline/service/papers.h"
#include "inside.h"
#include "led.h"

namespace hingeline::desk {
namespace {

using record::SlipKind;

/// What was asked, read; its unit is each document's own until it is known.
struct Typed {
  service::PaperAsked asked;
  std::string unit;
};

Answer<Typed> typed(const PaperWanted& wanted, const std::string& today, unsigned threads) {
  auto asked =
      service::paper_asked({wanted.kind, wanted.language, wanted.sheet, wanted.minutes, wanted.money});
  if (!asked) return as_trouble(asked.error());
  Typed out{std::move(*asked), wanted.unit};
  if (!wanted.scale.empty()) {
    double scale = 0;
    const char* end = wanted.scale.data() + wanted.scale.size();
    const auto [at, fault] = std::from_chars(wanted.scale.data(), end, scale);
    if (fault != std::errc{} || at != end || !(scale >= 0.1 && scale <= 100))
      return refuse(Kind::not_valid, "the scale is no number that can stand there", "0.1 to 100");
    out.asked.scale = scale;
  }
  out.asked.key = wanted.key;
  out.asked.day = wanted.day.empty() ? today : wanted.day;
  out.asked.answers = wanted.answers;
  out.asked.budget.quick = wanted.quick;
  out.asked.threads = threads;
  return out;
}

/// Keys of an instrument, by their things in the book: the id in the document, and the name.
struct NamedKey {
  std::string id;
  std::string name;
};
using NamedKeys = std::map<std::string, NamedKey>;

/// Bites of one kind at one end as one work.
std::vector<service::DoneWork> works_of(const std::vector<Thing>& rest, const NamedKeys& keys) {
  std::vector<service::DoneWork> out;
  for (const Thing& t : rest) {
    if (t.now.slip.kind() != SlipKind::operation || t.now.slip.struck) continue;
    const auto& did = std::get<record::OperationSlip>(t.now.slip.body);
    if (did.step == kCutterSeen) continue;  // of the bench's tools, not of the key
    service::DoneWork work;
    const auto key = keys.find(t.now.slip.key);
    if (key != keys.end()) work.key = key->second.name;
    work.step = did.step;
    if (did.end)
      work.side = *did.end == record::WhichEnd::upper ? mechanism::Side::upper : mechanism::Side::lower;
    const double turns = did.turns.known() ? did.turns.value : 0;
    const auto same = std::find_if(out.begin(), out.end(), [&](const service::DoneWork& w) {
      return w.key == work.key && w.step == work.step && w.side == work.side;
    });
    if (same != out.end()) {
      same->turns += turns;
      continue;
    }
    work.turns = turns;
    out.push_back(std::move(work));
  }
  return out;
}

/// Keys that were worked on, and their end play as read before and after: things in the order of their ids,
/// which is that of time.
std::vector<service::ReadPlay> plays_of(const std::vector<Thing>& rest, const NamedKeys& keys) {
  struct Seen {
    std::optional<service::ReadPlay> play;
    bool worked = false;
    bool read_since = false;
  };
  std::map<std::string, Seen> seen;
  const std::string end_play = belief::code(belief::Check::end_play);
  for (const Thing& t : rest) {
    const auto named = keys.find(t.now.slip.key);
    if (t.now.slip.struck || named == keys.end()) continue;
    const std::string& id = named->second.id;
    Seen& key = seen[id];
    if (const auto* did = std::get_if<record::OperationSlip>(&t.now.slip.body)) {
      if (did->step != kCutterSeen) key.worked = true;
      continue;
    }
    const auto* found = std::get_if<record::FindingSlip>(&t.now.slip.body);
    if (found == nullptr || found->of != end_play || found->answer == kCannot) continue;
    const auto read = parse_length(found->answer, LengthUnit::mm, Sign::any);
    if (!read) continue;
    if (!key.play) key.play = service::ReadPlay{id, *read, {}};
    key.play->last = *read;
    key.read_since = key.worked;
  }
  std::vector<service::ReadPlay> out;
  for (const auto& [id, key] : seen) {
    if (key.play && key.read_since) out.push_back(*key.play);
  }
  return out;
}

struct Pages {
  std::vector<drawing::Scene> scenes;
  std::string title;
  std::string shop;
};

}  // namespace

/// What a paper needs of the book.
struct PaperSource {
  std::shared_ptr<const Bench> bench;
  std::shared_ptr<const Bench> before;
  service::PaperFacts facts;
};

static Answer<PaperSource> source_of(Desk::Inside& inside, const Who& who, const std::string& visit,
                                     service::PaperKind kind) {
  const bool with_before = kind == service::PaperKind::report;
  PaperSource out;
  std::string first;
  {
    const auto lent = inside.book();
    if (!lent) return tl::unexpected(lent.error());
    const auto thing = inside.needed(**lent, visit, SlipKind::visit);
    if (!thing) return tl::unexpected(thing.error());
    const auto instrument = inside.needed(**lent, thing->now.slip.of, SlipKind::instrument);
    if (!instrument) return tl::unexpected(instrument.error());
    const auto& says = std::get<record::VisitSlip>(thing->now.slip.body);
    out.facts.complaint = says.complaint;
    out.facts.came = says.came;
    out.facts.promised = says.promised;
    out.facts.code = visit;
    if (const std::string& owner = instrument->now.slip.of; !owner.empty() && who.has(Right::counter)) {
      const auto person = (*lent)->thing(owner);
      if (!person) return as_trouble(person.error());
      if (*person && !(*person)->now.slip.struck) {
        if (const auto* o = std::get_if<record::OwnerSlip>(&(*person)->now.slip.body))
          out.facts.owner = o->name;
      }
    }
    NamedKeys named;
    const auto keys = (*lent)->belonging(instrument->id, SlipKind::key);
    if (!keys) return as_trouble(keys.error());
    for (const Thing& key : *keys) {
      const auto& slip = std::get<record::KeySlip>(key.now.slip.body);
      const Json document = Json::parse(slip.document.json, nullptr, false);
      named[key.id] = {slip.id, document.is_object() ? document.value("name", slip.id) : slip.id};
    }
    const auto rest = (*lent)->belonging(visit);
    if (!rest) return as_trouble(rest.error());
    out.facts.works = works_of(*rest, named);
    if (with_before) out.facts.plays = plays_of(*rest, named);
    for (const Thing& t : *rest) {
      if (t.now.slip.kind() != SlipKind::exception || t.now.slip.struck) continue;
      const std::string& reason = std::get<record::ExceptionSlip>(t.now.slip.body).reason;
      const auto key = named.find(t.now.slip.key);
      out.facts.left.push_back(key == named.end() ? reason : key->second.name + ": " + reason);
    }
    if (with_before) {
      auto text = inside.first_text(**lent, *instrument, visit);
      if (!text) return tl::unexpected(text.error());
      first = std::move(*text);
    }
  }
  auto bench = inside.bench(visit);
  if (!bench) return tl::unexpected(bench.error());
  out.bench = *bench;
  if (kind == service::PaperKind::quote) {
    // Minutes as the shop's own finished visits teach them.
    const auto lent = inside.book();
    if (!lent) return tl::unexpected(lent.error());
    const auto learned = inside.learned(**lent, out.bench->shop, out.bench->shop_text);
    if (!learned) return tl::unexpected(learned.error());
    if (*learned && (*learned)->jobs > 0) {
      auto sharper = inside.work_out(out.bench->instrument_text,
                                     record::write_shop(service::shop_with(out.bench->shop, **learned)));
      if (!sharper) return tl::unexpected(sharper.error());
      out.bench = *sharper;
    }
  }
  if (with_before && first != out.bench->instrument_text) {
    auto was = inside.work_out(first, out.bench->shop_text);
    if (!was) return tl::unexpected(was.error());
    out.before = *was;
  }
  return out;
}

static Answer<Pages> pages_of(Desk::Inside& inside, const Who& who, const std::string& visit, Typed typed) {
  const auto source = source_of(inside, who, visit, typed.asked.kind);
  if (!source) return tl::unexpected(source.error());
  const Bench& bench = *source->bench;
  const auto unit = unit_of(typed.unit, bench.result.units);
  if (!unit) return tl::unexpected(unit.error());
  typed.asked.unit = *unit;
  const service::PaperOf of{bench.instrument, bench.shop, bench.result,
                            source->before ? &source->before->result : nullptr, source->facts};
  auto scenes = service::paper_pages(of, typed.asked);
  if (!scenes) return as_trouble(scenes.error());
  return Pages{std::move(*scenes), service::paper_title(typed.asked, bench.result.title), bench.shop.title};
}

Answer<PaperMade> Desk::paper(const Who& who, const std::string& visit, const PaperWanted& wanted) {
  if (auto may = must_have(who, right_for_paper(wanted.kind)); !may) return tl::unexpected(may.error());
  const auto read = typed(wanted, inside_->today(), inside_->rules.threads);
  if (!read) return tl::unexpected(read.error());
  const auto pages = pages_of(*inside_, who, visit, *read);
  if (!pages) return tl::unexpected(pages.error());
  auto bytes = hingeline::papers::to_pdf(pages->scenes, pages->title, pages->shop, read->asked.day,
                                         read->asked.language);
  if (!bytes) return as_trouble(bytes.error());
  return PaperMade{service::paper_file_name(read->asked), std::move(*bytes), pages->scenes.size(), 1, {}};
}

Answer<PaperMade> Desk::papers(const Who& who, store::VisitQuery query, const PaperWanted& wanted,
                               const Pace& pace) {
  if (auto may = must_have(who, right_for_paper(wanted.kind)); !may) return tl::unexpected(may.error());
  if (!who.has(Right::counter)) {
    if (!query.owner.empty()) return tl::unexpected(must_have(who, Right::counter).error());
    query.owners_words = false;
  }
  const auto read = typed(wanted, inside_->today(), inside_->rules.threads);
  if (!read) return tl::unexpected(read.error());
  std::vector<store::VisitLine> visits;
  {
    const auto lent = inside_->book();
    if (!lent) return tl::unexpected(lent.error());
    auto found = (*lent)->visits(query);
    if (!found) return as_trouble(found.error());
    visits = std::move(*found);
  }
  PaperMade out;
  out.name = fmt::format("{}s.pdf", wanted.kind);
  std::vector<drawing::Scene> scenes;
  std::string shop;
  for (std::size_t i = 0; i < visits.size(); ++i) {
    auto pages = pages_of(*inside_, who, visits[i].visit, *read);
    if (pages) {
      for (drawing::Scene& s : pages->scenes) scenes.push_back(std::move(s));
      shop = pages->shop;
      ++out.visits;
    } else {
      const Error& why = pages.error().errors.front();
      out.failed.push_back(fmt::format("{} ({}): {}", visits[i].title, visits[i].visit, why.what));
    }
    if (pace && !pace(i + 1, visits.size())) return refuse(Kind::unavailable, "stopped", "again");
  }
  if (scenes.empty())
    return refuse(Kind::not_found, out.failed.empty() ? "there is no such visit" : out.failed.front(),
                  "other days or states");
  out.pages = scenes.size();
  auto bytes = hingeline::papers::to_pdf(scenes, service::paper_title(read->asked), shop, read->asked.day,
                                         read->asked.language);
  if (!bytes) return as_trouble(bytes.error());
  out.bytes = std::move(*bytes);
  return out;
}

namespace {

/// What was agreed and what was done, of every visit that is through.
Answer<std::vector<service::QuotedVisit>> quoted_visits(Book& book) {
  std::vector<service::QuotedVisit> visits;
  store::VisitQuery query;
  query.states = {record::VisitState::proved, record::VisitState::handed_back};
  query.most = 500;
  for (;; query.from += query.most) {
    const auto lines = book.visits(query);
    if (!lines) return as_trouble(lines.error());
    for (const store::VisitLine& line : *lines) {
      const auto rest = book.belonging(line.visit);
      if (!rest) return as_trouble(rest.error());
      service::QuotedVisit one;
      one.name = line.title;
      bool any = false;
      for (const Thing& t : *rest) {
        if (t.now.slip.struck) continue;
        if (const auto* q = std::get_if<record::QuoteLineSlip>(&t.now.slip.body); q != nullptr) {
          if (q->state != record::QuoteState::agreed) continue;
          any = true;
          if (q->minutes.known()) one.minutes_quoted += q->minutes.value;
          if (q->money.present) one.money_quoted += q->money.money;
        } else if (const auto* did = std::get_if<record::OperationSlip>(&t.now.slip.body); did != nullptr) {
          if (did->minutes.known()) one.minutes_actual += did->minutes.value;
        }
      }
      if (any) visits.push_back(std::move(one));
    }
    if (lines->size() < query.most) break;
  }
  return visits;
}

/// The visits with agreed quotes, and the shop whose prices they were made with.
struct Quoted {
  record::Shop shop;
  std::vector<service::QuotedVisit> visits;
};
Answer<Quoted> quoted_by_shop(auto& inside) {
  const auto lent = inside.book();
  if (!lent) return tl::unexpected(lent.error());
  auto shop = inside.shop(**lent);
  if (!shop) return tl::unexpected(shop.error());
  auto visits = quoted_visits(**lent);
  if (!visits) return tl::unexpected(visits.error());
  return Quoted{std::move(shop->shop), std::move(*visits)};
}

}  // namespace

Answer<std::string> Desk::quoted(const Who& who) {
  if (auto may = must_have(who, Right::owner); !may) return tl::unexpected(may.error());
  auto known = quoted_by_shop(*inside_);
  if (!known) return tl::unexpected(known.error());
  const record::Prices& prices = known->shop.prices;
  return service::to_json(service::against(std::move(known->visits), prices), prices);
}

Answer<PaperMade> Desk::quoted_paper(const Who& who, const PaperWanted& wanted) {
  if (auto may = must_have(who, Right::owner); !may) return tl::unexpected(may.error());
  PaperWanted any = wanted;
  any.kind = service::word(service::PaperKind::quote);
  const auto read = typed(any, inside_->today(), inside_->rules.threads);
  if (!read) return tl::unexpected(read.error());
  auto known = quoted_by_shop(*inside_);
  if (!known) return tl::unexpected(known.error());
  const record::Shop& shop = known->shop;
  const std::size_t count = known->visits.size();
  const auto pages =
      service::against_pages(service::against(std::move(known->visits), shop.prices), shop, read->asked);
  if (!pages) return as_trouble(pages.error());
  auto bytes = hingeline::papers::to_pdf(*pages, pages->front().title, shop.title, read->asked.day,
                                         read->asked.language);
  if (!bytes) return as_trouble(bytes.error());
  return PaperMade{"quoted.pdf", std::move(*bytes), pages->size(), count, {}};
}

}  // namespace hingeline::desk
