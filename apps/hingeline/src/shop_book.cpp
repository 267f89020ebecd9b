#include "shop_book.h"

#include <fmt/format.h>

#include <cstdio>
#include <nlohmann/json.hpp>

#include "book.h"
#include "endurance.h"
#include "files.h"
#include "hingeline/desk/desk.h"
#include "progress.h"
#include "slip_ids.h"

namespace hingeline {
namespace {

using Json = nlohmann::ordered_json;
using Told = tl::expected<std::string, record::Errors>;

template <class T>
tl::unexpected<record::Errors> passed(const desk::Answer<T>& failed) {
  return tl::unexpected(failed.error().errors);
}
tl::unexpected<record::Errors> passed(const Error& error) { return tl::unexpected(record::Errors{error}); }

/// The person at this machine.
const desk::Who kHere{};
constexpr std::size_t kMostPapers = 2000;

tl::expected<std::unique_ptr<desk::Desk>, record::Errors> desk_of(const std::string& asked) {
  const auto place = book_place(asked);
  if (!place) return passed(place.error());
  if (auto made = folder_for_book(*place); !made) return passed(made.error());
  auto opened = desk::Desk::open(*place);
  if (!opened) return passed(opened.error());
  return std::move(*opened);
}

/// The document of a file, whose faults are told with their places in it.
tl::expected<Json, record::Errors> document_of(const std::string& path, record::Format wanted) {
  const auto text = read_file(path);
  if (!text) return passed(text.error());
  if (wanted == record::Format::instrument) {
    if (const auto read = record::read_instrument(*text, path); !read) return tl::unexpected(read.error());
  } else if (const auto read = record::read_shop(*text, path); !read) {
    return tl::unexpected(read.error());
  }
  return Json::parse(*text);
}

std::string id_or_said(const Json& json, const ShopBookAsked& asked, const std::string& sentence) {
  return asked.json ? json.dump(2) + "\n" : sentence;
}

/// To the file, or for standard output as what is to be printed.
Told to_file(const std::string& path, const std::string& text) {
  if (path.empty() || path == "-") return text;
  if (auto kept = keep_file(path, text); !kept) return passed(kept.error());
  return std::string();
}

Told csv(const ShopBookAsked& asked,
         const std::function<desk::Answer<std::int64_t>(desk::Desk&, const desk::Sink&)>& rows) {
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  const bool prints = asked.file.empty() || asked.file == "-";
  std::FILE* const file = prints ? stdout : std::fopen(asked.file.c_str(), "wbx");  // NOLINT: closed below
  if (file == nullptr)
    return passed(Error{Fault::file,
                        fmt::format("{} cannot be made", asked.file),
                        "a new file in a folder that is there",
                        {}});
  bool wrote = true;
  const auto done = rows(**desk, [&](std::string_view piece) {
    wrote = std::fwrite(piece.data(), 1, piece.size(), file) == piece.size();
    return wrote;
  });
  wrote = std::fflush(file) == 0 && wrote;
  if (!prints) wrote = std::fclose(file) == 0 && wrote;
  if (!done) return passed(done);
  if (!wrote) return passed(Error{Fault::file, "it could not be written whole", "room on the disk", {}});
  return std::string();
}

/// A figure as it would be typed: "0.03 mm"; anything else as JSON.
std::string typed(const Json& value) {
  if (value.is_null()) return "-";
  if (value.is_string()) return value.get<std::string>();
  if (!value.is_object() || !value.contains("value")) return value.dump();
  const Json& number = value.at("value");
  std::string out = number.is_string() ? number.get<std::string>() : number.dump();
  if (value.contains("plus_minus")) out += " ± " + value.at("plus_minus").dump();
  if (value.contains("unit")) out += " " + value.at("unit").get<std::string>();
  return out;
}

}  // namespace

Told shop_take_in(const ShopBookAsked& asked, const Terminal&) {
  const auto document = document_of(asked.file, record::Format::instrument);
  if (!document) return tl::unexpected(document.error());
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  std::string owner;
  if (!asked.owner.empty()) {
    if (record::is_slip_id(asked.owner)) {
      owner = asked.owner;
    } else {
      record::Slip slip = fresh_slip();
      slip.body = record::OwnerSlip{asked.owner, {}, {}, {}};
      const Json batch = {{"slips", {Json::parse(record::write_slip(slip))}}};
      const auto written = (*desk)->write(kHere, batch.dump());
      if (!written) return passed(written);
      owner = slip.id;
    }
  }
  const Json wanted = {{"id", fresh_slip().id},      {"owner", owner},
                       {"day", day_of_today()},      {"complaint", asked.complaint},
                       {"promised", asked.promised}, {"document", *document}};
  const auto taken = (*desk)->take_in(kHere, wanted.dump());
  if (!taken) return passed(taken);
  const Json said = Json::parse(*taken);
  Json out = {{"visit", said.at("visit")}, {"instrument", said.at("instrument")}, {"owner", owner}};
  return id_or_said(out, asked, fmt::format("Taken in as visit {}\n", said.at("visit").get<std::string>()));
}

Told shop_find(const ShopBookAsked& asked, const Terminal& terminal) {
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  store::VisitQuery query;
  query.words = asked.words;
  for (const record::VisitState s : record::kVisitStates) {
    if (asked.state == record::word(s)) query.states.push_back(s);
  }
  const auto found = (*desk)->visits(kHere, query);
  if (!found) return passed(found);
  const Json json = Json::parse(*found);
  if (asked.json) return json.dump(2) + "\n";
  if (json.at("visits").empty()) return std::string("No visit is found.\n");
  Table table({"promised", "state", "instrument", "visit", "serial", "owner"});
  for (const Json& v : json.at("visits")) {
    const auto text = [&](const char* name) { return v.at(name).get<std::string>(); };
    table.row({text("promised").empty() ? "-" : text("promised"), text("state"), text("title"), text("visit"),
               text("serial"), text("owner_name")});
  }
  constexpr std::size_t kFirstOptional = 4;
  return table.text(terminal, kFirstOptional);
}

Told shop_document(const ShopBookAsked& asked, const Terminal&) {
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  const auto document = (*desk)->document(kHere, asked.id);
  if (!document) return passed(document);
  return to_file(asked.file, *document);
}

Told shop_put_shop(const ShopBookAsked& asked, const Terminal&) {
  const auto document = document_of(asked.file, record::Format::shop);
  if (!document) return tl::unexpected(document.error());
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  const Json wanted = {{"id", fresh_slip().id}, {"document", *document}};
  const auto put = (*desk)->put_shop(kHere, wanted.dump());
  if (!put) return passed(put);
  return id_or_said(Json::parse(*put), asked, "The shop document is in the book.\n");
}

Told shop_get_shop(const ShopBookAsked& asked, const Terminal&) {
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  const auto shop = (*desk)->shop(kHere);
  if (!shop) return passed(shop);
  return to_file(asked.file, *shop);
}

Told shop_settings(const ShopBookAsked& asked, const Terminal& terminal) {
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  const auto settings = (*desk)->settings(kHere);
  if (!settings) return passed(settings);
  const Json json = Json::parse(*settings);
  if (asked.json) return json.dump(2) + "\n";
  std::string out;
  for (const Json& s : json.at("settings")) {
    const std::string at = s.at("at");
    if (!asked.at.empty() && at.compare(0, asked.at.size(), asked.at) != 0) continue;
    const Json& value = s.at("value").is_null() ? s.at("general") : s.at("value");
    out += fmt::format("{}  {}\n", terminal.paint(at, Tone::strong), typed(value));
    out += terminal.paragraph("  ", s.at("meaning").get<std::string>(), 2);
    out += terminal.paragraph("  ",
                              fmt::format("{} From: {}.", s.at("limits").at("what").get<std::string>(),
                                          s.at("origin").get<std::string>()),
                              2);
  }
  if (out.empty())
    return passed(Error{
        Fault::not_found, fmt::format("no setting begins with \"{}\"", asked.at), "such as /presets", {}});
  return out;
}

Told shop_set(const ShopBookAsked& asked, const Terminal&) {
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  // A figure is typed as at the bench; what is JSON already stays so.
  Json value = Json::parse(asked.value, nullptr, false);
  if (asked.value.empty())
    value = nullptr;
  else if (value.is_discarded() || value.is_number())
    value = asked.value;
  const Json wanted = {{"id", fresh_slip().id}, {"at", asked.at}, {"value", value}};
  const auto set = (*desk)->set(kHere, wanted.dump());
  if (!set) return passed(set);
  return id_or_said(Json::parse(*set), asked, fmt::format("{} is set.\n", asked.at));
}

Told shop_readings(const ShopBookAsked& asked, const Terminal&) {
  return csv(asked, [](desk::Desk& desk, const desk::Sink& sink) {
    return desk.readings_csv(kHere, 0, SIZE_MAX, sink);
  });
}

Told shop_jobs(const ShopBookAsked& asked, const Terminal&) {
  return csv(asked, [](desk::Desk& desk, const desk::Sink& sink) {
    return desk.jobs_csv(kHere, 0, SIZE_MAX, sink);
  });
}

Told shop_papers(const ShopBookAsked& asked, const Terminal&) {
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  desk::PaperWanted wanted;
  wanted.kind = asked.kind;
  wanted.key = asked.key;
  wanted.language = asked.language;
  wanted.sheet = asked.sheet;
  wanted.unit = asked.unit;
  wanted.day = asked.day.empty() ? day_of_today() : asked.day;
  desk::Answer<desk::PaperMade> made;
  if (!asked.visit.empty()) {
    made = (*desk)->paper(kHere, asked.visit, wanted);
  } else {
    store::VisitQuery query;
    query.words = asked.words;
    query.promised_from = query.promised_to = asked.promised;
    for (const record::VisitState s : record::kVisitStates) {
      if (asked.state == record::word(s)) query.states.push_back(s);
    }
    // More are asked for day by day.
    query.most = kMostPapers;
    Progress progress("papers");
    made = (*desk)->papers(kHere, query, wanted, [&](std::size_t done, std::size_t all) {
      progress.show(done, all);
      return true;
    });
  }
  if (!made) return passed(made);
  auto wrote = to_file(asked.file, made->bytes);
  if (!wrote) return wrote;
  if (asked.file.empty() || asked.file == "-") return wrote;
  std::string out = *wrote + fmt::format("{} pages of {} visits\n", made->pages, made->visits);
  for (const std::string& one : made->failed) out += "left out: " + one + "\n";
  return out;
}

Told shop_quoted(const ShopBookAsked& asked, const Terminal& terminal) {
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  if (!asked.file.empty()) {
    desk::PaperWanted wanted;
    wanted.language = asked.language;
    wanted.day = asked.day.empty() ? day_of_today() : asked.day;
    const auto made = (*desk)->quoted_paper(kHere, wanted);
    return made ? to_file(asked.file, made->bytes) : passed(made);
  }
  const auto quoted = (*desk)->quoted(kHere);
  if (!quoted) return passed(quoted);
  if (asked.json) return *quoted;
  const Json json = Json::parse(*quoted);
  std::string out;
  if (!json.at("visits").empty()) {
    Table table({"instrument", "quoted", "actual", "money"});
    for (const Json& v : json.at("visits"))
      table.row({v.at("instrument").get<std::string>(),
                 fmt::format("{:.0f} min", v.at("quoted").get<double>()),
                 fmt::format("{:.0f} min", v.at("actual").get<double>()), v.at("money").get<std::string>()});
    constexpr std::size_t kFirstOptional = 3;
    out = table.text(terminal, kFirstOptional) + "\n";
  }
  for (const Json& line : json.at("advice")) out += terminal.paragraph("", line.get<std::string>(), 0);
  return out;
}

Told shop_owner(const ShopBookAsked& asked, const Terminal&) {
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  const auto all = (*desk)->owner_all(kHere, asked.id);
  if (!all) return passed(all);
  return to_file(asked.file, Json::parse(*all).dump(2) + "\n");
}

Told shop_forget(const ShopBookAsked& asked, const Terminal&) {
  auto desk = desk_of(asked.book);
  if (!desk) return tl::unexpected(desk.error());
  const auto done = (*desk)->forget_owner(kHere, asked.id, Json({{"id", fresh_slip().id}}).dump());
  if (!done) return passed(done);
  return id_or_said(Json::parse(*done), asked,
                    "The owner's words are taken out; the bench's figures stay.\n");
}

}  // namespace hingeline
