#include "desk_endpoints.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <memory>

#include "paper_runs.h"
#include "problem.h"

namespace hingeline::server {
namespace {

using desk::Answer;
using desk::Right;
using http::Method;
using http::Response;

Response answered(const Answer<std::string>& answer) {
  if (!answer) return problem(answer.error());
  Response out = Response::json(200, *answer);
  out.set("cache-control", "no-store");
  return out;
}

/// A whole number in a query field.
Answer<std::int64_t> number(const Asked& asked, std::string_view name, std::int64_t otherwise,
                            std::int64_t most) {
  const std::string text = asked.field(name);
  if (text.empty()) return otherwise;
  std::int64_t out = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), out);
  if (fault != std::errc{} || end != text.data() + text.size() || out < 0 || out > most) {
    return desk::refuse(desk::Trouble::Kind::not_valid,
                        fmt::format("\"{}\" is no number that can stand there", name),
                        fmt::format("0 to {}", most));
  }
  return out;
}

constexpr const char* kNumberSchema = R"({"type":"integer","minimum":0})";
constexpr const char* kDaySchema = R"({"type":"string","format":"date"})";
constexpr const char* kFlagSchema = R"({"enum":["yes","no"]})";
const Query kUnit{"unit", "Lengths in sentences; left out: as the document says.", R"({"enum":["mm","in"]})"};
const Query kInputs{"inputs", "no: figures without the numbers they rest on.", kFlagSchema};
const Query kKey{"key", "Id of one key in the instrument document; left out: all."};

/// A list's fields, comma between them.
Answer<std::vector<record::VisitState>> states(const std::string& typed) {
  std::vector<record::VisitState> out;
  for (std::size_t at = 0; at < typed.size();) {
    const std::size_t end = std::min(typed.find(',', at), typed.size());
    const std::string one = typed.substr(at, end - at);
    bool found = false;
    for (const record::VisitState s : record::kVisitStates) {
      if (one != record::word(s)) continue;
      out.push_back(s);
      found = true;
    }
    if (!found) {
      return desk::refuse(desk::Trouble::Kind::not_valid,
                          fmt::format("there is no state \"{}\"", one.substr(0, 40)),
                          "waiting, looked-over, quoted, agreed, in-work, proved, handed-back, called-off");
    }
    at = end + 1;
  }
  return out;
}

constexpr std::int64_t kMostVisits = 1000;
/// A file of more is held whole for too long.
constexpr std::int64_t kMostPapers = 250;

/// Which visits are wanted.
Answer<store::VisitQuery> visit_query(const Asked& asked, std::int64_t most_of_all) {
  store::VisitQuery query;
  query.words = asked.field("words");
  const auto wanted = states(asked.field("state"));
  if (!wanted) return tl::unexpected(wanted.error());
  query.states = *wanted;
  query.promised_from = asked.field("from");
  query.promised_to = asked.field("to");
  for (const std::string* day : {&query.promised_from, &query.promised_to}) {
    if (!day->empty() && !record::is_date(*day))
      return desk::refuse(desk::Trouble::Kind::not_valid, "a day is not one of the calendar",
                          "such as 2026-11-26");
  }
  query.owner = asked.field("owner");
  query.instrument = asked.field("instrument");
  const auto most = number(asked, "most", 100, most_of_all);
  if (!most) return tl::unexpected(most.error());
  const auto skip = number(asked, "skip", 0, 1'000'000'000);
  if (!skip) return tl::unexpected(skip.error());
  query.most = static_cast<std::size_t>(*most);
  query.from = static_cast<std::size_t>(*skip);
  return query;
}

/// Its fields in the description.
std::vector<Query> visit_queries(std::int64_t most) {
  return {{"words", "Each begins a word of the visit, its instrument, owner or keys."},
          {"state", "States, with commas between."},
          {"from", "Promised on this day or later.", kDaySchema},
          {"to", "Promised on this day or before.", kDaySchema},
          {"owner", "Id of an owner."},
          {"instrument", "Id of an instrument."},
          {"most", fmt::format("At most so many, up to {}.", most), kNumberSchema},
          {"skip", "Leave out so many at the front.", kNumberSchema}};
}

Response visits(desk::Desk& desk, const Asked& asked) {
  auto query = visit_query(asked, kMostVisits);
  if (!query) return problem(query.error());
  return answered(desk.visits(asked.who, std::move(*query)));
}

Response csv(const Asked& asked, const char* name,
             const std::function<Answer<std::int64_t>(std::int64_t, std::size_t, const desk::Sink&)>& rows) {
  const auto after = number(asked, "after", 0, INT64_MAX);
  if (!after) return problem(after.error());
  // A page is held whole until it is sent.
  const auto most = number(asked, "most", 50'000, 50'000);
  if (!most) return problem(most.error());
  std::string text;
  const auto next = rows(*after, static_cast<std::size_t>(*most), [&](std::string_view piece) {
    text += piece;
    return true;
  });
  if (!next) return problem(next.error());
  Response out = Response::text(200, std::move(text));
  out.set("content-type", "text/csv; charset=utf-8; header=present");
  out.set("content-disposition", fmt::format("attachment; filename=\"{}.csv\"", name));
  out.set("cache-control", "no-store");
  if (*next > 0)
    out.set("link", fmt::format("</api/csv/{}?after={}&most={}>; rel=\"next\"", name, *next, *most));
  return out;
}

const std::vector<Query>& paper_queries() {
  static const std::vector<Query> kQueries{
      {"language", "Of the paper; left out: English.", R"({"enum":["en","de"]})"},
      {"sheet", "Left out: the shop's.", R"({"enum":["a4","letter"]})"},
      {"unit", "Of lengths; left out: as the document says.", R"({"enum":["mm","in"]})"},
      {"day", "That stands on it; left out: today.", kDaySchema}};
  return kQueries;
}

/// A paper's own fields besides those.
std::vector<Query> paper_queries(const std::string& kind) {
  std::vector<Query> out = paper_queries();
  if (kind == "card" || kind == "readings") out.push_back(kKey);
  if (kind == "lesson" || kind == "drawings")
    out.push_back({"key", "Id of the key in the instrument document."});
  if (kind == "lesson") out.push_back({"answers", "With the answers on a page of their own.", kFlagSchema});
  if (kind == "drawings")
    out.push_back({"scale", "1 for 1:1, 10 for 10:1; left out: the largest that fits.",
                   R"({"type":"number","minimum":0.1,"maximum":100})"});
  if (kind == "quote") {
    out.push_back({"minutes", "Minutes there are; left out: the document's."});
    out.push_back({"money", "Money there is; left out: the document's."});
    out.push_back({"quick", "Keys without readings by how they look.", kFlagSchema});
  }
  return out;
}

desk::PaperWanted paper_wanted(const Asked& a, const char* kind) {
  return {kind,
          a.field("key"),
          a.field("language"),
          a.field("sheet"),
          a.field("unit"),
          a.field("day"),
          a.field("scale"),
          a.field("minutes"),
          a.field("money"),
          a.field("quick") == "yes",
          a.field("answers") == "yes"};
}

Response paper_answer(const Answer<desk::PaperMade>& made) {
  if (!made) return problem(made.error());
  Response out = Response::text(200, made->bytes);
  out.set("content-type", "application/pdf");
  out.set("content-disposition", fmt::format("inline; filename=\"{}\"", made->name));
  out.set("cache-control", "no-store");
  out.set("hingeline-pages", fmt::format("{}", made->pages));
  if (made->visits > 1 || !made->failed.empty())
    out.set("hingeline-visits", fmt::format("{}; left out {}", made->visits, made->failed.size()));
  return out;
}

/// A paper of many visits; where the asker named the run, it can be asked meanwhile how far it is, and the
/// file is kept for a while, so that a HEAD makes it.
Response papers_of_many(desk::Desk& desk, PaperRuns& runs, const Asked& a, const char* kind) {
  auto query = visit_query(a, kMostPapers);
  if (!query) return problem(query.error());
  const std::string run = a.field("run");
  desk::Pace pace;
  if (!run.empty()) {
    auto begun = runs.begin(a.who, run);
    if (!begun) return problem(begun.error());
    pace = std::move(*begun);
  }
  const auto made = desk.papers(a.who, std::move(*query), paper_wanted(a, kind), pace);
  if (!run.empty()) runs.end(a.who, run, made);
  return paper_answer(made);
}

/// How far the papers of many visits are. Not among what takes long: it is asked while those are at work.
void add_paper_runs(std::vector<Endpoint>& out, const std::shared_ptr<PaperRuns>& runs) {
  Endpoint look;
  look.pattern = "/api/papers/runs/{run}";
  look.summary = "How far a run of papers is that was asked for with that name.";
  look.gives = "PaperRun";
  look.handler = [runs](const Asked& a) { return answered(runs->look(a.who, a.part("run"))); };
  out.push_back(std::move(look));
  Endpoint file;
  file.pattern = "/api/papers/runs/{run}/file";
  file.summary = "What that run made. Kept until the run is forgotten, or some others began after it.";
  file.gives_type = "application/pdf";
  file.handler = [runs](const Asked& a) { return paper_answer(runs->file(a.who, a.part("run"))); };
  out.push_back(std::move(file));
  Endpoint stop;
  stop.method = Method::remove;
  stop.pattern = "/api/papers/runs/{run}";
  stop.summary = "Stop that run if it still goes on, and forget it.";
  stop.gives = "Nothing";
  stop.handler = [runs](const Asked& a) {
    runs->take_away(a.who, a.part("run"));
    return Response::json(200, "{}");
  };
  out.push_back(std::move(stop));
}

/// Papers of one visit, and of many at once.
void add_papers(std::vector<Endpoint>& out, desk::Desk& desk, const std::shared_ptr<PaperRuns>& runs) {
  struct Line {
    const char* kind;
    const char* summary;
    bool of_many;
  };
  static constexpr std::array kLines{
      Line{"card", "The bench card of a visit's instrument, or of one key, as PDF.", true},
      Line{"quote", "What works cost: options within the budget, as PDF.", true},
      Line{"report", "What was found and done, for the owner, as PDF.", true},
      Line{"lesson", "A key's teaching sheet, as PDF.", false},
      Line{"readings", "The certificate of readings, as PDF.", true},
      Line{"drawings", "A key drawn to scale, as PDF.", false},
      Line{"tag", "A tag to hang on the instrument, as PDF.", true}};
  for (const Line& line : kLines) {
    const char* kind = line.kind;
    Endpoint one;
    one.pattern = fmt::format("/api/visits/{{visit}}/paper/{}", kind);
    one.right = desk::right_for_paper(kind);
    one.summary = line.summary;
    one.query = paper_queries(kind);
    one.gives_type = "application/pdf";
    one.handler = [&desk, kind](const Asked& a) {
      return paper_answer(desk.paper(a.who, a.part("visit"), paper_wanted(a, kind)));
    };
    out.push_back(std::move(one));
    if (!line.of_many) continue;
    Endpoint many;
    many.pattern = fmt::format("/api/papers/{}", kind);
    many.right = desk::right_for_paper(kind);
    many.summary = "The same of every visit that is asked for, in one file.";
    many.query = paper_queries();
    for (const Query& q : visit_queries(kMostPapers)) many.query.push_back(q);
    many.query.push_back({"run", "An id for it, to ask at /api/papers/runs how far it is."});
    many.gives_type = "application/pdf";
    many.handler = [&desk, runs, kind](const Asked& a) { return papers_of_many(desk, *runs, a, kind); };
    out.push_back(std::move(many));
  }
  Endpoint quoted;
  quoted.pattern = "/api/quoted/paper";
  quoted.right = Right::owner;
  quoted.summary = "The same as PDF.";
  quoted.query = paper_queries();
  quoted.gives_type = "application/pdf";
  quoted.handler = [&desk](const Asked& a) {
    return paper_answer(desk.quoted_paper(a.who, paper_wanted(a, "quote")));
  };
  out.push_back(std::move(quoted));
  out.push_back({Method::get,
                 "/api/quoted",
                 Right::owner,
                 false,
                 "Agreed quotes held against the minutes that were written down.",
                 {},
                 {},
                 {},
                 "Result",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.quoted(a.who)); }});
}

/// Where slips, things and documents are written and read.
void add_slips(std::vector<Endpoint>& out, desk::Desk& desk) {
  constexpr std::size_t kBatchBytes = 8U << 20U;
  out.push_back({Method::post,
                 "/api/slips",
                 Right::counter,
                 false,
                 "Write slips. Each counts once, however often it is sent.",
                 {},
                 "Batch",
                 "application/json",
                 "Outcomes",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.write(a.who, a.request.body)); },
                 kBatchBytes});
  out.push_back({Method::get,
                 "/api/things/{thing}",
                 Right::look,
                 false,
                 "A thing as it is now.",
                 {},
                 {},
                 {},
                 "Thing",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.thing(a.who, a.part("thing"))); }});
  out.push_back({Method::get,
                 "/api/things/{thing}/history",
                 Right::look,
                 false,
                 "Every slip of a thing, first to last.",
                 {},
                 {},
                 {},
                 "Slips",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.history(a.who, a.part("thing"))); }});
  out.push_back({Method::get,
                 "/api/things/{thing}/belonging",
                 Right::look,
                 false,
                 "What belongs to a thing.",
                 {{"kind", "Only this kind: reading, note, ..."},
                  {"about", "Only what is about this key (id of a thing)."}},
                 {},
                 {},
                 "Things",
                 "application/json",
                 [&desk](const Asked& a) {
                   return answered(desk.belonging(a.who, a.part("thing"), a.field("kind"), a.field("about")));
                 }});
  out.push_back(
      {Method::get,
       "/api/list/{kind}",
       Right::look,
       false,
       "All things of a kind, ascending by id.",
       {{"after", "Id of the thing to go on from."}, {"most", "At most so many, up to 1000.", kNumberSchema}},
       {},
       {},
       "Things",
       "application/json",
       [&desk](const Asked& a) {
         const auto most = number(a, "most", 100, 1000);
         if (!most) return problem(most.error());
         return answered(
             desk.all_of(a.who, a.part("kind"), a.field("after"), static_cast<std::size_t>(*most)));
       }});
  out.push_back({Method::get,
                 "/api/counts",
                 Right::look,
                 false,
                 "How much is in the book.",
                 {},
                 {},
                 {},
                 "Counts",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.counts(a.who)); }});
  out.push_back({Method::get,
                 "/api/visits",
                 Right::look,
                 false,
                 "Visits, those promised first before the rest.",
                 visit_queries(kMostVisits),
                 {},
                 {},
                 "Visits",
                 "application/json",
                 [&desk](const Asked& a) { return visits(desk, a); }});
  out.push_back({Method::get,
                 "/api/visits/{visit}",
                 Right::look,
                 false,
                 "A visit with all that belongs to it.",
                 {},
                 {},
                 {},
                 "Visit",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.visit(a.who, a.part("visit"))); }});
  out.push_back({Method::post,
                 "/api/documents",
                 Right::counter,
                 false,
                 "Take an instrument in by its document.",
                 {},
                 "TakeIn",
                 "application/json",
                 "TakenIn",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.take_in(a.who, a.request.body)); },
                 kBatchBytes});
  out.push_back({Method::get,
                 "/api/visits/{visit}/document",
                 Right::look,
                 false,
                 "The instrument document, with what was read on this visit.",
                 {},
                 {},
                 {},
                 "Document",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.document(a.who, a.part("visit"))); }});
  out.push_back({Method::get,
                 "/api/shop",
                 Right::look,
                 false,
                 "The shop document.",
                 {},
                 {},
                 {},
                 "Document",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.shop(a.who)); }});
  out.push_back({Method::put,
                 "/api/shop",
                 Right::owner,
                 false,
                 "Another shop document in its place.",
                 {},
                 "PutShop",
                 "application/json",
                 "Outcomes",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.put_shop(a.who, a.request.body)); },
                 kBatchBytes});
  out.push_back({Method::get,
                 "/api/settings",
                 Right::look,
                 false,
                 "All settings: meaning, limits, value, and where it comes from.",
                 {},
                 {},
                 {},
                 "Settings",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.settings(a.who)); }});
  out.push_back({Method::post,
                 "/api/settings",
                 Right::owner,
                 false,
                 "Set one; null: as the shop document has it.",
                 {},
                 "Setting",
                 "application/json",
                 "Outcomes",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.set(a.who, a.request.body)); }});
}

/// What is worked out of them.
void add_work(std::vector<Endpoint>& out, desk::Desk& desk) {
  out.push_back(
      {Method::get,
       "/api/to-read",
       Right::look,
       false,
       "Of all visits that are not done: how many keys there are, and of how many the end play was read.",
       {},
       {},
       {},
       "ToRead",
       "application/json",
       [&desk](const Asked& a) { return answered(desk.to_read(a.who)); }});
  struct Line {
    desk::Question question;
    const char* summary;
    std::vector<Query> query;
  };
  const std::vector<Line> lines{
      {desk::Question::fit, "Every key's verdict, figures and plan.", {kKey, kUnit}},
      {desk::Question::causes, "Why each key is loose or binds, and how sure that is.", {kKey, kUnit}},
      {desk::Question::leak, "What every pad leaks.", {kKey, kUnit}},
      {desk::Question::bow, "How bent the body is, and what that does.", {kKey, kUnit}},
      {desk::Question::season,
       "How every key fits where it is played.",
       {kKey, kUnit, {"service", "A service range of the shop's."}}},
      {desk::Question::stack, "Tubes that share a rod.", {kUnit}},
      {desk::Question::action, "Springs, oil, and how fast keys come back.", {kKey, kUnit}},
      {desk::Question::regulate, "Linked keys: who closes first, which cork puts it right.", {kKey, kUnit}},
      {desk::Question::wear, "When each fit will be due again.", {kKey, kUnit}},
      {desk::Question::budget,
       "Which works are worth their minutes and money.",
       {{"minutes", "Minutes there are; left out: the document's."},
        {"money", "Money there is; left out: the document's."},
        {"quick", "Keys without readings by how they look.", kFlagSchema}}}};
  for (const Line& line : lines) {
    const desk::Question question = line.question;
    std::vector<Query> query = line.query;
    query.push_back(kInputs);
    out.push_back({Method::get,
                   fmt::format("/api/visits/{{visit}}/{}", desk::word(question)),
                   Right::look,
                   false,
                   line.summary,
                   query,
                   {},
                   {},
                   "Result",
                   "application/json",
                   [&desk, question](const Asked& a) {
                     desk::Asking asking;
                     asking.key = a.field("key");
                     asking.unit = a.field("unit");
                     asking.service = a.field("service");
                     asking.minutes = a.field("minutes");
                     asking.money = a.field("money");
                     asking.quick = a.field("quick") == "yes";
                     asking.inputs = a.field("inputs") != "no";
                     return answered(desk.ask(a.who, a.part("visit"), question, asking));
                   }});
  }
  out.push_back({Method::get,
                 "/api/visits/{visit}/why/{key}/{figure}",
                 Right::look,
                 false,
                 "Why a figure is what it is.",
                 {kUnit},
                 {},
                 {},
                 "Result",
                 "application/json",
                 [&desk](const Asked& a) {
                   return answered(
                       desk.why(a.who, a.part("visit"), a.part("key"), a.part("figure"), a.field("unit")));
                 }});
  out.push_back(
      {Method::get,
       "/api/visits/{visit}/drawing/{key}/{picture}",
       Right::look,
       false,
       "A key drawn to scale: section or strip.",
       {kUnit},
       {},
       {},
       {},
       "image/svg+xml",
       [&desk](const Asked& a) {
         const auto svg =
             desk.drawing(a.who, a.part("visit"), a.part("key"), a.part("picture"), a.field("unit"));
         if (!svg) return problem(svg.error());
         Response response = Response::text(200, *svg);
         response.set("content-type", "image/svg+xml");
         // Opened by itself it is a page of this server's.
         response.set("content-security-policy", "default-src 'none'; style-src 'unsafe-inline'; sandbox");
         response.set("cache-control", "no-store");
         return response;
       }});
  out.push_back({Method::get,
                 "/api/visits/{visit}/lead/{key}",
                 Right::look,
                 false,
                 "Where a key stands, and what comes next.",
                 {kUnit},
                 {},
                 {},
                 "Led",
                 "application/json",
                 [&desk](const Asked& a) {
                   return answered(desk.led(a.who, a.part("visit"), a.part("key"), a.field("unit")));
                 }});
  out.push_back({Method::get,
                 "/api/visits/{visit}/standing",
                 Right::look,
                 false,
                 "Where all keys stand: likeliest cause, what comes next, what stands before metal.",
                 {},
                 {},
                 {},
                 "Standing",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.standing(a.who, a.part("visit"))); }});
  out.push_back({Method::post,
                 "/api/visits/{visit}/lead/{key}",
                 Right::bench,
                 false,
                 "Tell what was read or done, as typed at the bench.",
                 {kUnit},
                 "Tell",
                 "application/json",
                 "Led",
                 "application/json",
                 [&desk](const Asked& a) {
                   return answered(
                       desk.tell(a.who, a.part("visit"), a.part("key"), a.field("unit"), a.request.body));
                 }});
  out.push_back({Method::get,
                 "/api/learned",
                 Right::look,
                 false,
                 "What finished visits teach.",
                 {kUnit},
                 {},
                 {},
                 "Result",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.learned(a.who, a.field("unit"))); }});
  out.push_back({Method::get,
                 "/api/outfit",
                 Right::look,
                 false,
                 "Which sizes of cutters, reamers and rods serve what was met, and what the next one brings.",
                 {},
                 {},
                 {},
                 "Result",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.outfit(a.who)); }});
  out.push_back(
      {Method::post,
       "/api/practice",
       Right::look,
       false,
       "A hidden key to practise on, after what was done at it. Nothing is kept: seed and acts say it all.",
       {},
       "Practice",
       "application/json",
       "PracticeNow",
       "application/json",
       [&desk](const Asked& a) { return answered(desk.practise(a.who, a.request.body)); }});
  out.push_back(
      {Method::post,
       "/api/rig",
       Right::look,
       false,
       "An endurance rig at a moment, after what was done at it. Nothing is kept: the document has it all.",
       {},
       "AskRig",
       "application/json",
       "RigNow",
       "application/json",
       [&desk](const Asked& a) { return answered(desk.rig(a.who, a.request.body)); }});
}

/// Photos, owners, lists.
void add_rest(std::vector<Endpoint>& out, desk::Desk& desk, std::size_t photo_bytes) {
  out.push_back({Method::post,
                 "/api/photos",
                 Right::counter,
                 false,
                 "Keep a photo of a visit, without its place and maker.",
                 {{"id", "Id of its slip."},
                  {"visit", "Id of the visit."},
                  {"about", "Id of the key (thing)."},
                  {"caption", "What it shows."}},
                 {},
                 "image/*",
                 "PhotoKept",
                 "application/json",
                 [&desk](const Asked& a) {
                   return answered(desk.add_photo(a.who, a.field("id"), a.field("visit"), a.field("about"),
                                                  a.field("caption"), a.request.body));
                 },
                 photo_bytes});
  out.push_back({Method::get,
                 "/api/photos/{thing}",
                 Right::look,
                 false,
                 "A photo.",
                 {},
                 {},
                 {},
                 {},
                 "image/*",
                 [&desk](const Asked& a) {
                   const auto photo = desk.photo(a.who, a.part("thing"));
                   if (!photo) return problem(photo.error());
                   const auto* data =
                       reinterpret_cast<const char*>(photo->bytes.data());  // NOLINT: bytes as they are
                   Response response = Response::text(200, std::string(data, photo->bytes.size()));
                   response.set("content-type", photo->type);
                   // Never anything but a picture, whatever its bytes may look like.
                   response.set("content-security-policy", "default-src 'none'; sandbox");
                   response.set("content-disposition", "inline");
                   response.set("cache-control", "private, max-age=31536000, immutable");
                   return response;
                 }});
  out.push_back({Method::get,
                 "/api/owners/{owner}/all",
                 Right::owner,
                 false,
                 "All the book has of an owner, for them to take along.",
                 {},
                 {},
                 {},
                 "OwnerAll",
                 "application/json",
                 [&desk](const Asked& a) { return answered(desk.owner_all(a.who, a.part("owner"))); }});
  out.push_back({Method::post,
                 "/api/owners/{owner}/forget",
                 Right::owner,
                 false,
                 "Take an owner's words out for good; the bench's figures stay.",
                 {},
                 "Named",
                 "application/json",
                 "Outcomes",
                 "application/json",
                 [&desk](const Asked& a) {
                   return answered(desk.forget_owner(a.who, a.part("owner"), a.request.body));
                 }});
  const std::vector<Query> pages{{"after", "Place in the book to go on from.", kNumberSchema},
                                 {"most", "At most so many rows, up to 50000.", kNumberSchema}};
  out.push_back({Method::get,
                 "/api/csv/readings",
                 Right::bench,
                 false,
                 "Readings, one a row.",
                 pages,
                 {},
                 {},
                 {},
                 "text/csv",
                 [&desk](const Asked& a) {
                   return csv(a, "readings",
                              [&](std::int64_t after, std::size_t most, const desk::Sink& sink) {
                                return desk.readings_csv(a.who, after, most, sink);
                              });
                 }});
  out.push_back({Method::get,
                 "/api/csv/jobs",
                 Right::bench,
                 false,
                 "Work done, one piece a row.",
                 pages,
                 {},
                 {},
                 {},
                 "text/csv",
                 [&desk](const Asked& a) {
                   return csv(a, "jobs", [&](std::int64_t after, std::size_t most, const desk::Sink& sink) {
                     return desk.jobs_csv(a.who, after, most, sink);
                   });
                 }});
}

}  // namespace

std::vector<Endpoint> desk_endpoints(desk::Desk& desk, std::size_t photo_bytes) {
  std::vector<Endpoint> out;
  add_slips(out, desk);
  const std::size_t quick = out.size();
  add_work(out, desk);
  const auto runs = std::make_shared<PaperRuns>();
  add_papers(out, desk, runs);
  std::for_each(out.begin() + static_cast<std::ptrdiff_t>(quick), out.end(),
                [](Endpoint& e) { e.takes_long = true; });
  add_paper_runs(out, runs);
  add_rest(out, desk, photo_bytes);
  for (Endpoint& e : out) e.takes_long = e.takes_long || e.gives_type == "text/csv";
  return out;
}

}  // namespace hingeline::server
