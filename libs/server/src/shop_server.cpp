#include "hingeline/server/shop_server.h"

#include <fmt/format.h>

#include <algorithm>
#include <condition_variable>
#include <mutex>
#include <nlohmann/json.hpp>
#include <thread>

#include "desk_endpoints.h"
#include "door.h"
#include "hingeline/base/moment.h"
#include "hingeline/http/asset.h"
#include "hingeline/version.h"
#include "metrics.h"
#include "news.h"
#include "open_api.h"
#include "page.h"
#include "problem.h"

namespace hingeline::server {
namespace {

using http::Method;
using http::Response;
using Json = nlohmann::ordered_json;

constexpr std::size_t kPhotoBytes = 12U << 20U;

std::int64_t machine_clock() {
  const auto since = std::chrono::system_clock::now().time_since_epoch();
  return std::chrono::duration_cast<std::chrono::milliseconds>(since).count();
}

bool is_loopback(const std::string& address) { return address.starts_with("127.") || address == "::1"; }

/// Logs without a person in it: no address, no name, no path but its pattern.
std::string log_line(std::int64_t at, const http::LogEntry& entry) {
  Json out = {{"at", iso_text(Moment::at(at / 1000), UtcOffset{})},
              {"method", entry.method},
              {"route", entry.route},
              {"status", entry.status},
              {"bytes", entry.bytes},
              {"ms", static_cast<double>(entry.took.count()) / 1000}};
  if (entry.refused) out["refused"] = http::word(*entry.refused);
  if (!entry.fault.empty()) out["fault"] = entry.fault;
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Endpoint open_endpoint(const char* pattern, const char* summary, const char* gives, const char* type,
                       std::function<Response(const Asked&)> handler) {
  Endpoint out;
  out.pattern = pattern;
  out.open = true;
  out.summary = summary;
  out.gives = gives;
  out.gives_type = type;
  out.handler = std::move(handler);
  return out;
}

}  // namespace

class ShopServer::Inside {
 public:
  explicit Inside(ShopSettings s) : settings(std::move(s)) {
    if (!settings.milliseconds) settings.milliseconds = machine_clock;
  }
  ~Inside() { stop(std::chrono::milliseconds(5000)); }
  Inside(const Inside&) = delete;
  Inside& operator=(const Inside&) = delete;

  Expected<void> start();
  void stop(std::chrono::milliseconds patience);

  ShopSettings settings;
  bool alone = true;
  std::string description;
  std::vector<Endpoint> endpoints;
  std::unique_ptr<http::Server> server;

 private:
  Expected<void> allowed_to_listen();
  std::vector<Endpoint> own_endpoints();
  http::Router router();
  Response news_stream(const Asked& asked);
  Response health();
  Response metrics(const Asked& asked);
  Response list_copies();
  Response copy_now();
  Response archive();
  Expected<void> make_copy();
  void copy_on_schedule();
  void say(const Json& line) {
    if (settings.log) settings.log(line.dump(-1, ' ', false, Json::error_handler_t::replace));
  }

  std::unique_ptr<desk::Desk> desk_;
  std::unique_ptr<Door> door_;
  std::unique_ptr<News> news_;
  std::vector<http::Asset> assets_;

  std::mutex mutex_;
  std::condition_variable wake_;
  bool ends_ = false;
  CopyFigures copies_;
  std::thread copier_;
};

/// A network is only listened on where everybody has to say who they are, and nobody can listen in.
Expected<void> ShopServer::Inside::allowed_to_listen() {
  const bool network = std::any_of(settings.listen.begin(), settings.listen.end(),
                                   [](const http::Listen& l) { return !is_loopback(l.address); });
  alone = !network && !settings.behind_proxy;
  if (alone) return {};
  for (const http::Listen& l : settings.listen) {
    if (!is_loopback(l.address) && !l.secure && !settings.behind_proxy) {
      return fail(Fault::usage,
                  fmt::format("{} is on a network, and nothing there would be secret", l.address),
                  "a certificate and its key, or a proxy with TLS in front");
    }
  }
  return {};
}

std::vector<Endpoint> ShopServer::Inside::own_endpoints() {
  std::vector<Endpoint> out;
  out.push_back(open_endpoint("/health", "Whether the book answers.", "Health", "application/json",
                              [this](const Asked&) { return health(); }));
  out.push_back(
      open_endpoint("/api/description", "This description.", "", "application/json", [this](const Asked& a) {
        Response response = Response::json(200, description);
        response.set("cache-control", "no-cache");
        return http::with_etag(a.request, std::move(response), http::etag_of(description));
      }));
  Endpoint figures =
      open_endpoint("/metrics", "Figures for Prometheus: open on this machine, the owner's elsewhere.", "",
                    "text/plain", [this](const Asked& a) { return metrics(a); });
  out.push_back(std::move(figures));
  Endpoint news;
  news.pattern = "/api/news";
  news.right = desk::Right::look;
  news.summary = "Slips as they are written: server-sent events, resumed by Last-Event-ID.";
  news.query = {{"after", "Number of the last slip that is known; left out: from now on.",
                 R"({"type":"integer","minimum":0})"}};
  news.gives_type = "text/event-stream";
  news.handler = [this](const Asked& a) { return news_stream(a); };
  out.push_back(std::move(news));
  const auto owners = [&](Method method, const char* pattern, const char* summary, const char* gives,
                          const char* type, Response (Inside::*what)()) {
    Endpoint e;
    e.method = method;
    e.pattern = pattern;
    e.right = desk::Right::owner;
    e.summary = summary;
    e.gives = gives;
    e.gives_type = type;
    e.handler = [this, what](const Asked&) { return (this->*what)(); };
    e.takes_long = true;
    out.push_back(std::move(e));
  };
  owners(Method::get, "/api/copies", "Copies of the book: where, when, how large.", "Copies",
         "application/json", &Inside::list_copies);
  owners(Method::post, "/api/copies", "Make a copy now.", "Copies", "application/json", &Inside::copy_now);
  owners(Method::get, "/api/archive", "All of the shop in one text (docs/formats/archive.md).", "",
         "application/octet-stream", &Inside::archive);
  return out;
}

Response ShopServer::Inside::news_stream(const Asked& asked) {
  std::string from(asked.request.last_event_id());
  if (from.empty()) from = asked.field("after");
  std::int64_t after = -1;
  if (!from.empty()) {
    const bool digits = from.size() <= 18 &&
                        std::all_of(from.begin(), from.end(), [](char c) { return c >= '0' && c <= '9'; });
    if (!digits) return problem(422, "not-valid", "the last event's id is no number");
    after = std::stoll(from);
  }
  return Response::events(news_->subscribe(asked.who.right, after));
}

Response ShopServer::Inside::health() {
  const bool well = desk_->answers().has_value();
  Response out = Response::json(well ? 200 : 503,
                                Json({{"status", well ? "well" : "unwell"}, {"version", kVersion}}).dump());
  out.set("cache-control", "no-store");
  return out;
}

Response ShopServer::Inside::metrics(const Asked& asked) {
  // Through a proxy everybody seems to be on this machine.
  const bool here = is_loopback(asked.request.peer) && !settings.behind_proxy;
  if (!here && !asked.who.has(desk::Right::owner))
    return problem(403, "not-allowed", "figures are for this machine and for owners");
  const auto counts = desk_->figures();
  std::unique_lock lock(mutex_);
  const CopyFigures copies = copies_;
  lock.unlock();
  Response out = Response::text(
      200, metrics_text(server->counters(), door_->counts(), counts ? &*counts : nullptr, copies));
  out.set("content-type", "text/plain; version=0.0.4; charset=utf-8");
  out.set("cache-control", "no-store");
  return out;
}

// ---- copies
// ------------------------------------------------------------------------------------------------

namespace {
/// A longer archive is not held in memory for a page: the program writes it into a file.
constexpr std::size_t kArchiveBytes = 256U << 20U;
}  // namespace

Expected<void> ShopServer::Inside::make_copy() {
  const CopySchedule& schedule = *settings.copies;
  const std::int64_t at = settings.milliseconds();
  const auto made = store::make_copy(settings.book, schedule.folder, Moment::at(at / 1000), schedule.keep);
  Json line = {{"at", iso_text(Moment::at(at / 1000), UtcOffset{})},
               {"event", made ? "copied" : "copy-failed"}};
  if (made) line["slips"] = made->archive.slips;
  if (!made) line["fault"] = made.error().what;
  say(line);
  const std::lock_guard lock(mutex_);
  made ? ++copies_.made : ++copies_.failed;
  if (!made) return tl::unexpected(made.error());
  copies_.last = at / 1000;
  return {};
}

Response ShopServer::Inside::list_copies() {
  Json out = {{"folder", nullptr}, {"every_minutes", 0}, {"copies", Json::array()}};
  if (settings.copies) {
    out["folder"] = settings.copies->folder;
    out["every_minutes"] = settings.copies->every.count();
    // Before the first copy there is no folder: nothing is there yet.
    if (const auto copies = store::copies_in(settings.copies->folder)) {
      for (const store::Copy& c : *copies)
        out["copies"].push_back(
            {{"name", text_of(c.name)}, {"at", iso_text(c.name.at, UtcOffset{})}, {"bytes", c.size}});
    }
  }
  {
    const std::lock_guard lock(mutex_);
    out["made"] = copies_.made;
    out["failed"] = copies_.failed;
  }
  Response response = Response::json(200, out.dump(-1, ' ', false, Json::error_handler_t::replace));
  response.set("cache-control", "no-store");
  return response;
}

Response ShopServer::Inside::copy_now() {
  if (!settings.copies) {
    return problem(409, "no-folder",
                   "the server was started without a folder for copies; start it with --copies FOLDER");
  }
  if (auto made = make_copy(); !made) return problem(desk::trouble_of(made.error()));
  return list_copies();
}

Response ShopServer::Inside::archive() {
  const auto book = desk_->own_connection();
  if (!book) return problem(desk::trouble_of(book.error()));
  std::string text;
  const auto written = store::write_archive(**book, [&](std::string_view piece) -> Expected<void> {
    if (text.size() + piece.size() > kArchiveBytes) {
      return fail(Fault::content, "the archive is too long to be sent to a page",
                  "on the server: hingeline book write-out");
    }
    text += piece;
    return {};
  });
  if (!written) return problem(desk::trouble_of(written.error()));
  Response out = Response::text(200, std::move(text));
  out.set("content-type", "application/octet-stream");
  out.set("content-disposition",
          fmt::format("attachment; filename=\"shop-{}.archive\"",
                      day_text(Moment::at(settings.milliseconds() / 1000), UtcOffset{})));
  out.set("cache-control", "no-store");
  return out;
}

http::Router ShopServer::Inside::router() {
  http::Router out;
  for (const Endpoint& e : endpoints) {
    http::RouteRules rules;
    if (e.body_bytes > 0) rules.body_bytes = e.body_bytes;
    rules.takes_long = e.takes_long;
    out.add(e.method, e.pattern, door_->guarded(e), rules);
  }
  for (const PageFile& file : page_files()) {
    http::Asset asset;
    asset.bytes = http::Bytes(nullptr, file.bytes);
    if (!file.gzip.empty()) asset.gzip = http::Bytes(nullptr, file.gzip);
    asset.type = file.type;
    asset.etag = http::etag_of(file.bytes);
    asset.cache = file.lasting ? "public, max-age=31536000, immutable" : "no-cache";
    out.add(Method::get, file.path,
            [asset](const http::Request& request) { return http::serve(request, asset); });
  }
  return out;
}

void ShopServer::Inside::copy_on_schedule() {
  const CopySchedule& schedule = *settings.copies;
  std::unique_lock lock(mutex_);
  // The first one soon: a server that is started each morning and stopped each evening makes copies too.
  std::chrono::milliseconds pause =
      std::min<std::chrono::milliseconds>(schedule.every, std::chrono::minutes(5));
  while (!wake_.wait_for(lock, pause, [this] { return ends_; })) {
    lock.unlock();
    const auto made = make_copy();
    lock.lock();
    // A copy that failed is tried again before long.
    pause = made ? std::chrono::milliseconds(schedule.every)
                 : std::min<std::chrono::milliseconds>(schedule.every, std::chrono::minutes(10));
  }
}

Expected<void> ShopServer::Inside::start() {
  if (auto may = allowed_to_listen(); !may) return may;
  desk::DeskRules rules;
  rules.connections = 2 * settings.workers;
  rules.threads = settings.threads;
  rules.photo_bytes = kPhotoBytes;
  rules.milliseconds = settings.milliseconds;
  auto desk = desk::Desk::open(settings.book, rules);
  if (!desk) return tl::unexpected(desk.error());
  desk_ = std::move(*desk);
  DoorRules door_rules;
  door_rules.alone = alone;
  door_rules.secure = !alone;
  door_rules.behind_proxy = settings.behind_proxy;
  door_rules.requests_per_second = settings.requests_per_second;
  door_rules.requests_at_once = settings.requests_at_once;
  door_rules.access = settings.access;
  auto door = Door::open(*desk_, settings.book, door_rules, settings.milliseconds, [this] {
    if (news_) news_->end_all();
  });
  if (!door) return tl::unexpected(door.error());
  door_ = std::move(*door);
  if (!alone) {
    const auto owner = door_->has_owner();
    if (!owner) return tl::unexpected(owner.error());
    if (!*owner) {
      return fail(Fault::usage, "nobody could log in: the book has no owner with a password",
                  "to make one first: hingeline people add NAME --role owner --login LOGIN");
    }
  }
  auto news = News::listen(*desk_);
  if (!news) return tl::unexpected(news.error());
  news_ = std::move(*news);

  endpoints = desk_endpoints(*desk_, kPhotoBytes);
  for (auto more : {door_->endpoints(), own_endpoints()})
    endpoints.insert(endpoints.end(), more.begin(), more.end());
  description = open_api(endpoints, kVersion);

  http::Settings http;
  http.listen = settings.listen;
  http.certificate = settings.certificate;
  http.allowed_hosts = settings.allowed_hosts;
  http.limits = settings.limits                  ? *settings.limits
                : alone || settings.behind_proxy ? http::Limits::one_address()
                                                 : http::Limits::network();
  http.workers = settings.workers;
  http.long_workers = settings.workers;
  http::PageGuard guard;
  constexpr long kYear = 365L * 24 * 3600;
  if (settings.certificate) guard.strict_transport = kYear;
  http.headers = http::guard_headers(guard);
  http.refusal = [](int status, std::string_view why) {
    return problem(status, "refused", std::string(why));
  };
  http.log = [this](const http::LogEntry& entry) {
    if (settings.log) settings.log(log_line(settings.milliseconds(), entry));
  };
  auto started = http::Server::start(router(), std::move(http));
  if (!started) return tl::unexpected(started.error());
  server = std::move(*started);
  if (settings.copies) copier_ = std::thread([this] { copy_on_schedule(); });
  return {};
}

void ShopServer::Inside::stop(std::chrono::milliseconds patience) {
  {
    const std::lock_guard lock(mutex_);
    ends_ = true;
  }
  wake_.notify_all();
  if (news_) news_->end_all();
  if (server) server->stop(patience);
  if (copier_.joinable()) copier_.join();
}

Expected<std::unique_ptr<ShopServer>> ShopServer::start(ShopSettings settings) {
  auto inside = std::make_unique<Inside>(std::move(settings));
  if (auto started = inside->start(); !started) return tl::unexpected(started.error());
  return std::unique_ptr<ShopServer>(new ShopServer(std::move(inside)));
}

ShopServer::ShopServer(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
ShopServer::~ShopServer() = default;

const std::vector<http::Listen>& ShopServer::listening() const { return inside_->server->listening(); }
bool ShopServer::alone() const { return inside_->alone; }
void ShopServer::stop(std::chrono::milliseconds patience) { inside_->stop(patience); }
Expected<void> ShopServer::reload_certificate() { return inside_->server->reload_certificate(); }
const std::string& ShopServer::description() const { return inside_->description; }

std::vector<ShopServer::Row> ShopServer::rows() const {
  std::vector<Row> out;
  for (const Endpoint& e : inside_->endpoints)
    out.push_back({e.method, e.pattern, e.open ? std::string() : std::string(word(e.right))});
  return out;
}

}  // namespace hingeline::server
