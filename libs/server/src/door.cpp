#include "door.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "problem.h"

namespace hingeline::server {
namespace {

using access::Accounts;
using desk::Right;
using http::Method;
using http::Request;
using http::Response;
using Json = nlohmann::ordered_json;

constexpr const char* kSession = "session";
constexpr const char* kDevice = "device";
/// A device stays enrolled until it is withdrawn; browsers keep a cookie for 400 days at most (RFC 6265bis).
constexpr long kDeviceSeconds = 400L * 24 * 3600;

bool changes(Method method) {
  return method != Method::get && method != Method::head && method != Method::options;
}

Response json(int status, const Json& body) {
  Response out = Response::json(status, body.dump(-1, ' ', false, Json::error_handler_t::replace));
  out.set("cache-control", "no-store");
  return out;
}

Response as_problem(const Error& error) { return problem(desk::trouble_of(error)); }

/// Members of a body, all of them text; one that is not there is empty.
class Texts {
 public:
  static desk::Answer<Texts> of(std::string_view body, std::initializer_list<const char*> names) {
    Texts out;
    const Json object = Json::parse(body.begin(), body.end(), nullptr, false);
    if (!object.is_object())
      return desk::refuse(desk::Trouble::Kind::malformed, "it is no JSON object", "an object");
    for (const auto& item : object.items()) {
      const bool known =
          std::any_of(names.begin(), names.end(), [&](const char* name) { return item.key() == name; });
      if (!known || !item.value().is_string()) {
        return desk::refuse(desk::Trouble::Kind::not_valid,
                            fmt::format("\"{}\" cannot stand here", item.key().substr(0, 80)),
                            fmt::format("texts: {}", fmt::join(names, ", ")));
      }
      out.texts_[item.key()] = item.value().get<std::string>();
    }
    return out;
  }
  std::string operator[](const char* name) const {
    const auto at = texts_.find(name);
    return at == texts_.end() ? std::string() : at->second;
  }

 private:
  std::map<std::string, std::string> texts_;
};

/// The host and port that an Origin names; empty: it names none ("null").
std::string_view authority_of(std::string_view origin) {
  const std::size_t at = origin.find("://");
  return at == std::string_view::npos ? std::string_view{} : origin.substr(at + 3);
}

}  // namespace

class Door::Lent {
 public:
  Lent(Door& door, std::unique_ptr<Accounts> accounts) : door_(&door), accounts_(std::move(accounts)) {}
  Lent(Lent&&) = default;
  Lent& operator=(Lent&&) = delete;
  Lent(const Lent&) = delete;
  Lent& operator=(const Lent&) = delete;
  ~Lent() {
    if (!accounts_) return;
    const std::lock_guard lock(door_->pool_mutex_);
    door_->free_.push_back(std::move(accounts_));
  }
  Accounts& operator*() const { return *accounts_; }
  Accounts* operator->() const { return accounts_.get(); }

 private:
  Door* door_;
  std::unique_ptr<Accounts> accounts_;
};

Door::Door(desk::Desk& desk, sql::Address book, DoorRules rules, std::function<std::int64_t()> milliseconds,
           std::function<void()> ended)
    : desk_(desk),
      book_(std::move(book)),
      rules_(rules),
      milliseconds_(std::move(milliseconds)),
      ended_(std::move(ended)) {}
Door::~Door() = default;

Expected<std::unique_ptr<Door>> Door::open(desk::Desk& desk, const sql::Address& book, DoorRules rules,
                                           std::function<std::int64_t()> milliseconds,
                                           std::function<void()> ended) {
  std::unique_ptr<Door> out(new Door(desk, book, rules, std::move(milliseconds), std::move(ended)));
  // The first connection tells what is wrong with the accounts, if anything is.
  if (auto first = out->accounts(); !first) return tl::unexpected(first.error());
  return out;
}

Expected<Door::Lent> Door::accounts() {
  {
    const std::lock_guard lock(pool_mutex_);
    if (!free_.empty()) {
      auto out = std::move(free_.back());
      free_.pop_back();
      return Lent(*this, std::move(out));
    }
  }
  auto opened = Accounts::open(book_, rules_.access);
  if (!opened) return tl::unexpected(opened.error());
  return Lent(*this, std::move(*opened));
}

DoorCounts Door::counts() const {
  const std::lock_guard lock(count_mutex_);
  return counts_;
}

Expected<bool> Door::has_owner() {
  const auto lent = accounts();
  if (!lent) return tl::unexpected(lent.error());
  const auto all = (*lent)->accounts();
  if (!all) return tl::unexpected(all.error());
  return std::any_of(all->begin(), all->end(), [&](const access::Account& a) {
    const auto person = desk_.person(a.person);
    return !a.login.empty() && person && desk::right_of(person->role) == Right::owner;
  });
}

// ---- what every request has to show
// ------------------------------------------------------------------------

std::string Door::peer_of(const Request& request) const {
  if (!rules_.behind_proxy) return request.peer;
  // The proxy adds the address it sees at the end; what stands before may be anybody's invention.
  const std::string_view forwarded = request.header("x-forwarded-for");
  const std::size_t comma = forwarded.rfind(',');
  std::string_view last = comma == std::string_view::npos ? forwarded : forwarded.substr(comma + 1);
  while (!last.empty() && last.front() == ' ') last.remove_prefix(1);
  return last.empty() ? request.peer : std::string(last);
}

bool Door::within_rate(const std::string& peer) {
  if (rules_.alone) return true;
  constexpr std::size_t kMostPeers = 20'000;
  const std::int64_t at = milliseconds_();
  const std::lock_guard lock(rate_mutex_);
  auto found = buckets_.find(peer);
  if (found == buckets_.end()) {
    // Full buckets tell nothing: whoever has one may be forgotten.
    if (buckets_.size() >= kMostPeers) {
      std::erase_if(buckets_, [&](const auto& b) {
        const double filled =
            b.second.left + static_cast<double>(at - b.second.at) / 1000 * rules_.requests_per_second;
        return filled >= rules_.requests_at_once;
      });
      if (buckets_.size() >= kMostPeers) return false;
    }
    found = buckets_.emplace(peer, Bucket{rules_.requests_at_once, at}).first;
  }
  Bucket& bucket = found->second;
  const double passed = std::max(0.0, static_cast<double>(at - bucket.at) / 1000);
  bucket.left = std::min(rules_.requests_at_once, bucket.left + passed * rules_.requests_per_second);
  bucket.at = at;
  if (bucket.left < 1) return false;
  bucket.left -= 1;
  return true;
}

std::string Door::cookie_name(const char* what) const {
  // The prefix makes a browser take it from this very host only, over TLS, for all paths (RFC 6265bis).
  return (rules_.secure ? "__Host-hingeline-" : "hingeline-") + std::string(what);
}

std::string Door::cookie(const char* what, const std::string& value, long seconds) const {
  return fmt::format("{}={}; Path=/; HttpOnly; SameSite=Strict; Max-Age={}{}", cookie_name(what), value,
                     seconds, rules_.secure ? "; Secure" : "");
}

Expected<std::optional<Door::Caller>> Door::caller(const Request& request) {
  if (rules_.alone) return std::optional(Caller{desk::Who{}, {}, {}, {}});
  const auto token = request.cookie(cookie_name(kSession));
  if (!token || token->size() != access::kTokenSize) return std::optional<Caller>{};
  const auto lent = accounts();
  if (!lent) return tl::unexpected(lent.error());
  const auto session = (*lent)->session(std::string(*token), now());
  if (!session) return tl::unexpected(session.error());
  if (!*session) return std::optional<Caller>{};
  const auto person = desk_.person((*session)->person);
  if (!person) {
    if (person.error().kind != desk::Trouble::Kind::not_found)
      return tl::unexpected(person.error().errors.front());
    // Who no longer works here has no way in any more.
    if (auto removed = (*lent)->remove((*session)->person, now()); !removed)
      return tl::unexpected(removed.error());
    return std::optional<Caller>{};
  }
  return std::optional(Caller{desk::Who{(*session)->person, desk::right_of(person->role)}, person->name,
                              (*session)->csrf, std::string(*token)});
}

std::optional<Response> Door::forged(const Request& request, const std::optional<Caller>& caller) const {
  const auto refused = [](const char* why) { return problem(403, "forged", why); };
  // A page of elsewhere can make a browser send what a form can send. It cannot hide where it comes from, and
  // cannot choose another type or header without asking first, which nobody here answers.
  const std::string_view site = request.header("sec-fetch-site");
  if (!site.empty() && site != "same-origin" && site != "none")
    return refused("the request comes from another page");
  if (request.has_header("origin") && authority_of(request.header("origin")) != request.header("host"))
    return refused("the request comes from another page");
  const std::string_view type = request.header("content-type");
  const bool of_a_form = type.empty() || type.starts_with("text/plain") || type.starts_with("multipart/") ||
                         type.starts_with("application/x-www-form-urlencoded");
  if (!request.body.empty() && of_a_form)
    return problem(415, "type", "the body has to say its type: application/json, or that of a picture");
  if (caller && !rules_.alone && !access::same_secret(request.header("hingeline-csrf"), caller->csrf))
    return refused("the session's own word is missing (header Hingeline-CSRF)");
  return std::nullopt;
}

http::Handler Door::guarded(const Endpoint& endpoint) {
  return [this, endpoint](const Request& request) -> Response {
    const auto count = [this](std::uint64_t DoorCounts::*what) {
      const std::lock_guard lock(count_mutex_);
      ++(counts_.*what);
    };
    if (!within_rate(peer_of(request))) {
      count(&DoorCounts::too_many);
      Response out = problem(429, "too-many", "too many requests from this address");
      out.set("retry-after", "1");
      return out;
    }
    auto who = caller(request);
    if (!who) return as_problem(who.error());
    if (!*who && !endpoint.open) {
      count(&DoorCounts::not_logged_in);
      Response out = problem(401, "not-logged-in", "nobody is logged in");
      out.set("www-authenticate", "HingelineSession realm=\"shop\"");
      return out;
    }
    if (changes(request.method)) {
      if (auto refused = forged(request, endpoint.open ? std::nullopt : *who)) {
        count(&DoorCounts::forged);
        return std::move(*refused);
      }
    }
    if (!endpoint.open && !(*who)->who.has(endpoint.right)) {
      count(&DoorCounts::not_allowed);
      return problem(desk::must_have((*who)->who, endpoint.right).error());
    }
    // Of an open endpoint nobody need be logged in; nothing is lent to them either.
    return endpoint.handler({request, *who ? (*who)->who : desk::Who{{}, Right::look}});
  };
}

// ---- logging in and out
// -------------------------------------------------------------------------------------

Response Door::me(const Asked& asked) {
  auto who = caller(asked.request);
  if (!who) return as_problem(who.error());
  Json out = {{"alone", rules_.alone}, {"logged_in", who->has_value()}};
  if (*who) {
    out["person"] = (*who)->who.person;
    out["name"] = (*who)->name;
    out["right"] = word((*who)->who.right);
    out["csrf"] = (*who)->csrf;
    const auto beginning = desk_.beginning((*who)->who);
    if (!beginning) return problem(beginning.error());
    out["shop"] = Json::parse(*beginning);
    return json(200, out);
  }
  // An enrolled device shows who works here, to pick from: a PIN follows.
  const auto token = asked.request.cookie(cookie_name(kDevice));
  bool enrolled = false;
  if (token && token->size() == access::kTokenSize) {
    const auto lent = accounts();
    if (!lent) return as_problem(lent.error());
    const auto device = (*lent)->device(std::string(*token));
    if (!device) return as_problem(device.error());
    enrolled = device->has_value();
  }
  out["enrolled"] = enrolled;
  if (enrolled) {
    out["people"] = Json::array();
    const auto people = desk_.people();
    if (!people) return problem(people.error());
    for (const store::Thing& t : *people) {
      const auto& says = std::get<record::PersonSlip>(t.now.slip.body);
      out["people"].push_back({{"person", t.id}, {"name", says.name}});
    }
  }
  return json(200, out);
}

Response Door::admitted(const access::Admission& admission) {
  const bool in = admission.verdict == access::Verdict::admitted;
  {
    const std::lock_guard lock(count_mutex_);
    ++(in ? counts_.log_ins : counts_.refused_log_ins);
  }
  if (in) {
    const auto person = desk_.person(admission.session.person);
    if (!person) return problem(person.error());
    Response out = json(200, {{"person", admission.session.person},
                              {"name", person->name},
                              {"right", word(desk::right_of(person->role))},
                              {"csrf", admission.session.csrf}});
    const auto seconds =
        std::chrono::duration_cast<std::chrono::seconds>(rules_.access.longest_session).count();
    out.add("set-cookie", cookie(kSession, admission.token, static_cast<long>(seconds)));
    return out;
  }
  if (admission.verdict == access::Verdict::wait) {
    Response out = problem(429, "wait", "too many wrong tries; later");
    out.set("retry-after", std::to_string(std::max<std::int64_t>(1, (admission.wait.count() + 999) / 1000)));
    return out;
  }
  return problem(401, word(admission.verdict),
                 admission.verdict == access::Verdict::pin_locked
                     ? "the PIN is locked until its person logs in by password"
                     : "this opens nothing");
}

namespace {

/// Holds one of the few places for looking at passwords.
class Turn {
 public:
  Turn(std::mutex& mutex, std::size_t& now, std::size_t most) : mutex_(mutex), now_(now) {
    const std::lock_guard lock(mutex_);
    has_ = now_ < most;
    if (has_) ++now_;
  }
  ~Turn() {
    if (!has_) return;
    const std::lock_guard lock(mutex_);
    --now_;
  }
  Turn(const Turn&) = delete;
  Turn& operator=(const Turn&) = delete;
  [[nodiscard]] bool has() const { return has_; }

 private:
  std::mutex& mutex_;
  std::size_t& now_;
  bool has_ = false;
};

Response busy() {
  Response out = problem(503, "busy", "others are logging in; again in a moment");
  out.set("retry-after", "1");
  return out;
}

}  // namespace

Response Door::log_in(const Asked& asked) {
  if (rules_.alone) return problem(409, "alone", "nobody is asked for a name here");
  const auto body = Texts::of(asked.request.body, {"login", "password"});
  if (!body) return problem(body.error());
  const Turn turn(pool_mutex_, passwords_now_, rules_.passwords_at_once);
  if (!turn.has()) return busy();
  const auto lent = accounts();
  if (!lent) return as_problem(lent.error());
  const std::string device(asked.request.cookie(cookie_name(kDevice)).value_or(std::string_view{}));
  const auto admission =
      (*lent)->by_password({(*body)["login"], (*body)["password"], peer_of(asked.request), device}, now());
  if (!admission) return as_problem(admission.error());
  // A session that was there before is another's, or an older one's: it ends.
  if (admission->verdict == access::Verdict::admitted) {
    if (const auto old = asked.request.cookie(cookie_name(kSession));
        old && old->size() == access::kTokenSize) {
      if (auto ended = (*lent)->end(std::string(*old), now()); !ended) return as_problem(ended.error());
    }
  }
  return admitted(*admission);
}

Response Door::log_in_pin(const Asked& asked) {
  if (rules_.alone) return problem(409, "alone", "nobody is asked for a name here");
  const auto body = Texts::of(asked.request.body, {"person", "pin"});
  if (!body) return problem(body.error());
  const Turn turn(pool_mutex_, passwords_now_, rules_.passwords_at_once);
  if (!turn.has()) return busy();
  const auto lent = accounts();
  if (!lent) return as_problem(lent.error());
  const std::string device(asked.request.cookie(cookie_name(kDevice)).value_or(std::string_view{}));
  const auto admission =
      (*lent)->by_pin({(*body)["person"], (*body)["pin"], peer_of(asked.request), device}, now());
  if (!admission) return as_problem(admission.error());
  return admitted(*admission);
}

Response Door::log_out(const Asked& asked) {
  if (const auto token = asked.request.cookie(cookie_name(kSession));
      token && token->size() == access::kTokenSize) {
    const auto lent = accounts();
    if (!lent) return as_problem(lent.error());
    if (auto ended = (*lent)->end(std::string(*token), now()); !ended) return as_problem(ended.error());
    ended_();
  }
  Response out = json(200, Json::object());
  out.add("set-cookie", cookie(kSession, "", 0));
  return out;
}

// ---- accounts and devices
// ------------------------------------------------------------------------------------

std::optional<Response> Door::confirmed(Accounts& accounts, const Asked& asked, const std::string& password) {
  if (rules_.alone) return std::nullopt;
  const auto token = asked.request.cookie(cookie_name(kSession));
  const Turn turn(pool_mutex_, passwords_now_, rules_.passwords_at_once);
  if (!turn.has()) return busy();
  const auto verdict = accounts.confirm(std::string(token.value_or(std::string_view{})), password,
                                        peer_of(asked.request), now());
  if (!verdict) return as_problem(verdict.error());
  if (*verdict == access::Verdict::admitted) return std::nullopt;
  access::Admission refused;
  refused.verdict = *verdict;
  return admitted(refused);
}

Response Door::list_accounts(const Asked&) {
  const auto lent = accounts();
  if (!lent) return as_problem(lent.error());
  const auto all = (*lent)->accounts();
  if (!all) return as_problem(all.error());
  Json out = {{"accounts", Json::array()}};
  for (const access::Account& a : *all) {
    out["accounts"].push_back(
        {{"person", a.person}, {"login", a.login}, {"pin", a.pin}, {"pin_locked", a.pin_locked}});
  }
  return json(200, out);
}

Response Door::set_password(const Asked& asked) {
  const auto body = Texts::of(asked.request.body, {"login", "password", "own_password"});
  if (!body) return problem(body.error());
  const std::string person = asked.part("person");
  // Everybody may change their own; another's takes the right "owner".
  if (person != asked.who.person) {
    if (auto may = desk::must_have(asked.who, Right::owner); !may) return problem(may.error());
  }
  if (const auto known = desk_.person(person); !known) return problem(known.error());
  const auto lent = accounts();
  if (!lent) return as_problem(lent.error());
  if (auto refused = confirmed(**lent, asked, (*body)["own_password"])) return std::move(*refused);
  const std::string keep(person == asked.who.person
                             ? asked.request.cookie(cookie_name(kSession)).value_or(std::string_view{})
                             : std::string_view{});
  if (auto set = (*lent)->set_password(person, (*body)["login"], (*body)["password"], now(), keep); !set)
    return as_problem(set.error());
  ended_();
  return json(200, Json::object());
}

Response Door::set_pin(const Asked& asked) {
  const auto body = Texts::of(asked.request.body, {"pin", "own_password"});
  if (!body) return problem(body.error());
  const std::string person = asked.part("person");
  if (person != asked.who.person) {
    if (auto may = desk::must_have(asked.who, Right::owner); !may) return problem(may.error());
  }
  if (const auto known = desk_.person(person); !known) return problem(known.error());
  const auto lent = accounts();
  if (!lent) return as_problem(lent.error());
  if (auto refused = confirmed(**lent, asked, (*body)["own_password"])) return std::move(*refused);
  if (auto set = (*lent)->set_pin(person, (*body)["pin"], now()); !set) return as_problem(set.error());
  return json(200, Json::object());
}

Response Door::remove_account(const Asked& asked) {
  const auto lent = accounts();
  if (!lent) return as_problem(lent.error());
  if (!asked.who.alone() && asked.part("person") == asked.who.person)
    return problem(409, "own-account", "nobody takes away their own way in; another owner can");
  if (auto removed = (*lent)->remove(asked.part("person"), now()); !removed)
    return as_problem(removed.error());
  ended_();
  return json(200, Json::object());
}

Response Door::end_sessions(const Asked& asked) {
  const std::string person = asked.part("person");
  if (person != asked.who.person) {
    if (auto may = desk::must_have(asked.who, Right::owner); !may) return problem(may.error());
  }
  const auto lent = accounts();
  if (!lent) return as_problem(lent.error());
  if (auto ended = (*lent)->end_all(person, now()); !ended) return as_problem(ended.error());
  ended_();
  return json(200, Json::object());
}

Response Door::list_devices(const Asked&) {
  const auto lent = accounts();
  if (!lent) return as_problem(lent.error());
  const auto all = (*lent)->devices();
  if (!all) return as_problem(all.error());
  Json out = {{"devices", Json::array()}};
  for (const access::Device& d : *all)
    out["devices"].push_back({{"device", d.id}, {"name", d.name}, {"by", d.by}, {"since", d.since.count()}});
  return json(200, out);
}

Response Door::enrol(const Asked& asked) {
  const auto body = Texts::of(asked.request.body, {"name"});
  if (!body) return problem(body.error());
  const auto lent = accounts();
  if (!lent) return as_problem(lent.error());
  const auto enrolled = (*lent)->enrol((*body)["name"], asked.who.person, now());
  if (!enrolled) return as_problem(enrolled.error());
  Response out = json(200, {{"device", enrolled->device.id}, {"name", enrolled->device.name}});
  out.add("set-cookie", cookie(kDevice, enrolled->token, kDeviceSeconds));
  return out;
}

Response Door::withdraw(const Asked& asked) {
  const auto lent = accounts();
  if (!lent) return as_problem(lent.error());
  if (auto gone = (*lent)->withdraw(asked.part("device"), asked.who.person, now()); !gone)
    return as_problem(gone.error());
  ended_();
  return json(200, Json::object());
}

Response Door::list_log(const Asked&) {
  const auto lent = accounts();
  if (!lent) return as_problem(lent.error());
  const auto lines = (*lent)->log(1000);
  if (!lines) return as_problem(lines.error());
  Json out = {{"lines", Json::array()}};
  for (const access::LogLine& l : *lines)
    out["lines"].push_back({{"at", l.at.count()}, {"person", l.person}, {"what", l.what}});
  return json(200, out);
}

std::vector<Endpoint> Door::endpoints() {
  const auto by = [this](Response (Door::*what)(const Asked&)) {
    return [this, what](const Asked& asked) { return (this->*what)(asked); };
  };
  constexpr std::size_t kSmall = 4096;
  std::vector<Endpoint> out;
  const auto add = [&](Method method, const char* pattern, Right right, bool open, const char* summary,
                       const char* takes, const char* gives, Response (Door::*what)(const Asked&)) {
    Endpoint e;
    e.method = method;
    e.pattern = pattern;
    e.right = right;
    e.open = open;
    e.summary = summary;
    e.takes = takes;
    e.gives = gives;
    e.handler = by(what);
    e.body_bytes = kSmall;
    out.push_back(std::move(e));
  };
  add(Method::get, "/api/me", Right::look, true, "Who is logged in; on an enrolled device, who may be.", "",
      "Me", &Door::me);
  add(Method::post, "/api/log-in", Right::look, true, "Log in by password.", "LogIn", "LoggedIn",
      &Door::log_in);
  add(Method::post, "/api/log-in/pin", Right::look, true, "Log in by PIN, on an enrolled device.", "LogInPin",
      "LoggedIn", &Door::log_in_pin);
  add(Method::post, "/api/log-out", Right::look, true, "End the session.", "", "Nothing", &Door::log_out);
  add(Method::get, "/api/accounts", Right::owner, false, "Who has something to log in by.", "", "Accounts",
      &Door::list_accounts);
  add(Method::put, "/api/accounts/{person}/password", Right::look, false,
      "Set a password: one's own, or as owner another's.", "SetPassword", "Nothing", &Door::set_password);
  add(Method::put, "/api/accounts/{person}/pin", Right::look, false,
      "Set a PIN: one's own, or as owner another's.", "SetPin", "Nothing", &Door::set_pin);
  add(Method::remove, "/api/accounts/{person}", Right::owner, false, "Take away everything to log in by.", "",
      "Nothing", &Door::remove_account);
  add(Method::remove, "/api/accounts/{person}/sessions", Right::look, false,
      "End all sessions: one's own, or as owner another's.", "", "Nothing", &Door::end_sessions);
  add(Method::get, "/api/devices", Right::owner, false, "Enrolled devices.", "", "Devices",
      &Door::list_devices);
  add(Method::post, "/api/devices", Right::owner, false,
      "Enrol this device: PINs are valid on it from now on.", "NewDevice", "Device", &Door::enrol);
  add(Method::remove, "/api/devices/{device}", Right::owner, false, "Withdraw a device.", "", "Nothing",
      &Door::withdraw);
  add(Method::get, "/api/access-log", Right::owner, false, "Who logged in, and what was refused.", "",
      "AccessLog", &Door::list_log);
  return out;
}

}  // namespace hingeline::server
