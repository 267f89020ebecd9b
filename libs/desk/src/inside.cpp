#include "inside.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <set>

#include "hingeline/base/moment.h"

namespace hingeline::desk {

Right right_to_see(record::SlipKind kind, std::optional<record::SlipKind> belongs_to) {
  const bool of_owner = belongs_to == record::SlipKind::owner;
  const bool hidden = kind == record::SlipKind::owner || (of_owner && kind != record::SlipKind::instrument);
  return hidden ? Right::counter : Right::look;
}

Answer<record::Slip> sound(const record::Slip& slip) {
  auto read = record::read_slip(record::write_slip(slip), record::word(slip.kind()));
  if (!read) return as_trouble(std::move(read.error()));
  return std::move(*read);
}

Answer<std::string> id_in(const Json& object) {
  auto id = needed_text(object, "id");
  if (id && !record::is_slip_id(*id))
    return refuse(Kind::not_valid, "\"id\" is no id of a slip", "a UUID of version 7, in small letters");
  return id;
}

std::string moment_of(const std::string& id) {
  // The latest that moments know; a made-up id may lie beyond.
  constexpr std::int64_t kLastSecond = 253'402'300'799;
  const auto seconds = static_cast<std::int64_t>(record::milliseconds_of(id) / 1000);
  return iso_text(Moment::at(std::min(seconds, kLastSecond)), UtcOffset{});
}

Answer<LengthUnit> unit_of(const std::string& typed, LengthUnit documents) {
  if (typed.empty()) return documents;
  if (typed == "mm") return LengthUnit::mm;
  if (typed == "in") return LengthUnit::inch;
  return refuse(Kind::not_valid, fmt::format("there is no unit \"{}\"", typed.substr(0, 40)), "mm or in");
}

Answer<Desk::Inside::Lent> Desk::Inside::book() {
  {
    std::unique_lock lock(mutex_);
    // A writer may hold its connection while it waits for others, but never for so long.
    constexpr std::chrono::seconds kPatience{20};
    const bool one =
        given_back_.wait_for(lock, kPatience, [&] { return !free_.empty() || lent_ < rules.connections; });
    if (!one)
      return refuse(Kind::unavailable, "the book is busy with others", "to try again in a little while");
    ++lent_;
    if (!free_.empty()) {
      auto out = std::move(free_.back());
      free_.pop_back();
      return Lent(*this, std::move(out));
    }
  }
  auto opened = Book::open(address);
  if (!opened) {
    const std::lock_guard lock(mutex_);
    --lent_;
    given_back_.notify_one();
    return as_trouble(opened.error());
  }
  return Lent(*this, std::move(*opened));
}

void Desk::Inside::give_back(std::unique_ptr<Book> book) {
  const std::lock_guard lock(mutex_);
  --lent_;
  free_.push_back(std::move(book));
  given_back_.notify_one();
}

std::int64_t Desk::Inside::now() const {
  if (rules.milliseconds) return rules.milliseconds();
  const auto since = std::chrono::system_clock::now().time_since_epoch();
  return std::chrono::duration_cast<std::chrono::milliseconds>(since).count();
}

std::string Desk::Inside::today() const { return day_text(Moment::at(now() / 1000), UtcOffset{}); }

Answer<Thing> Desk::Inside::needed(Book& book, const std::string& id, record::SlipKind kind) {
  auto thing = book.thing(id);
  if (!thing) return as_trouble(thing.error());
  if (!*thing || (*thing)->now.slip.kind() != kind || (*thing)->now.slip.struck) {
    return refuse(Kind::not_found, fmt::format("there is no {} with this id", record::word(kind)),
                  fmt::format("the id of a {}", record::word(kind)));
  }
  return std::move(**thing);
}

namespace {

Answer<std::vector<record::ThingSlip>> things(Expected<std::vector<Thing>> found) {
  if (!found) return as_trouble(found.error());
  std::vector<record::ThingSlip> out;
  for (Thing& t : *found) out.push_back({t.id, std::move(t.now.slip)});
  return out;
}

/// All of a kind, however many.
Answer<std::vector<record::ThingSlip>> all_things(Book& book, record::SlipKind kind) {
  std::vector<record::ThingSlip> out;
  for (;;) {
    auto page = things(book.all_of(kind, 1000, out.empty() ? std::string() : out.back().thing));
    if (!page) return page;
    if (page->empty()) return out;
    std::move(page->begin(), page->end(), std::back_inserter(out));
  }
}

/// The general figures as a shop's first slip.
const record::Slip& general_slip() {
  static const record::Slip slip = [] {
    record::SlipMaking making;
    making.next_id = [] { return record::slip_id(0, 0, 0); };
    making.at = iso_text(Moment::at(0), UtcOffset{});
    const auto slips =
        record::shop_slips(record::write_shop(service::general_shop()), "general figures", making);
    return slips->front();
  }();
  return slip;
}

}  // namespace

Answer<record::InstrumentParts> Desk::Inside::parts_of(Book& book, const Thing& instrument,
                                                       const std::string& visit) {
  record::InstrumentParts out;
  out.instrument = instrument.now.slip;
  auto keys = things(book.belonging(instrument.id, record::SlipKind::key));
  if (!keys) return tl::unexpected(keys.error());
  out.keys = std::move(*keys);
  if (visit.empty()) return out;
  auto readings = things(book.belonging(visit, record::SlipKind::reading));
  if (!readings) return tl::unexpected(readings.error());
  out.readings = std::move(*readings);
  return out;
}

record::ShopParts Desk::Inside::general_parts() {
  record::ShopParts out;
  out.shop = general_slip();
  return out;
}

Answer<std::optional<record::ShopParts>> Desk::Inside::shop_parts(Book& book) {
  record::ShopParts out;
  bool any = false;
  auto shops = all_things(book, record::SlipKind::shop);
  if (!shops) return tl::unexpected(shops.error());
  // Two benches that each began one: the later counts, as everywhere.
  any = !shops->empty();
  out.shop = any ? shops->back().slip : general_slip();
  for (auto [kind, into] :
       {std::pair{record::SlipKind::tool, &out.tools}, std::pair{record::SlipKind::pattern, &out.patterns},
        std::pair{record::SlipKind::preset, &out.presets}}) {
    auto found = all_things(book, kind);
    if (!found) return tl::unexpected(found.error());
    any = any || !found->empty();
    *into = std::move(*found);
  }
  if (!any) return std::optional<record::ShopParts>{};
  return std::optional(std::move(out));
}

Answer<std::string> Desk::Inside::instrument_text(Book& book, const Thing& instrument,
                                                  const std::string& visit) {
  const auto parts = parts_of(book, instrument, visit);
  if (!parts) return tl::unexpected(parts.error());
  auto text = record::instrument_document(*parts);
  if (!text) return as_trouble(std::move(text.error()));
  return std::move(*text);
}

Answer<std::string> Desk::Inside::first_text(Book& book, const Thing& instrument, const std::string& visit) {
  auto parts = parts_of(book, instrument, visit);
  if (!parts) return tl::unexpected(parts.error());
  std::set<std::pair<std::string, std::string>> seen;
  // Things come in the order of their ids, which is that of time.
  std::erase_if(parts->readings, [&](const record::ThingSlip& t) {
    const auto& says = std::get<record::ReadingSlip>(t.slip.body);
    // One more at the end of a list takes no other's place.
    return !says.at.ends_with("/-") && !seen.emplace(t.slip.key, says.at).second;
  });
  auto text = record::instrument_document(*parts);
  if (!text) return as_trouble(std::move(text.error()));
  return std::move(*text);
}

Answer<std::string> Desk::Inside::shop_text(Book& book) {
  const auto parts = shop_parts(book);
  if (!parts) return tl::unexpected(parts.error());
  if (!*parts) return record::write_shop(service::general_shop());
  auto text = record::shop_document(**parts);
  if (!text) return as_trouble(std::move(text.error()));
  return std::move(*text);
}

Answer<std::string> Desk::Inside::of_book(Book& book, const std::string& what,
                                          const std::function<Answer<std::string>()>& make) {
  const auto last = book.last_number();
  if (!last) return as_trouble(last.error());
  const std::string name = fmt::format("{}\n{}", what, *last);
  auto out = answers.get(name, make);
  if (!out) answers.forget(name);
  return out;
}

Answer<Desk::Inside::ShopRead> Desk::Inside::shop(Book& book) {
  auto text = shop_text(book);
  if (!text) return tl::unexpected(text.error());
  auto read = record::read_shop(*text, "shop");
  if (!read) return as_trouble(std::move(read.error()));
  return ShopRead{std::move(*text), std::move(*read)};
}

BenchAnswer Desk::Inside::work_out(const std::string& instrument_text, const std::string& shop_text) {
  // A document never holds NUL.
  return benches.get(instrument_text + '\0' + shop_text, [&]() -> BenchAnswer {
    auto bench = std::make_shared<Bench>();
    bench->instrument_text = instrument_text;
    bench->shop_text = shop_text;
    auto instrument = record::read_instrument(instrument_text, "instrument");
    if (!instrument) return as_trouble(std::move(instrument.error()));
    auto shop = record::read_shop(shop_text, "shop");
    if (!shop) return as_trouble(std::move(shop.error()));
    bench->instrument = std::move(*instrument);
    bench->shop = std::move(*shop);
    if (auto missing = service::names_missing(bench->instrument, bench->shop); !missing.empty())
      return as_trouble(std::move(missing));
    bench->result = service::work_out(bench->instrument, bench->shop, rules.threads);
    return std::shared_ptr<const Bench>(std::move(bench));
  });
}

BenchAnswer Desk::Inside::bench(const std::string& visit) {
  std::string instrument_words;
  std::string shop_words;
  {
    const auto lent = book();
    if (!lent) return tl::unexpected(lent.error());
    const auto thing = needed(**lent, visit, record::SlipKind::visit);
    if (!thing) return tl::unexpected(thing.error());
    const auto instrument = needed(**lent, thing->now.slip.of, record::SlipKind::instrument);
    if (!instrument) return tl::unexpected(instrument.error());
    auto text = instrument_text(**lent, *instrument, visit);
    if (!text) return tl::unexpected(text.error());
    instrument_words = std::move(*text);
    auto shop = shop_text(**lent);
    if (!shop) return tl::unexpected(shop.error());
    shop_words = std::move(*shop);
  }
  return work_out(instrument_words, shop_words);
}

}  // namespace hingeline::desk
