// The shop's server as its clients meet it.

#include <gtest/gtest.h>

#include <fmt/format.h>
#include <cctype>
#include <fstream>
#include <regex>
#include <set>
#include <thread>

#include "server/support.h"

namespace hingeline::server::test {
namespace {

INSTANTIATE_TEST_SUITE_P(Both, Shops, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres),
                         store::test::name_of);

TEST_P(Shops, OnePersonAtTheirOwnBenchIsAskedForNothing) {
  Shop shop(fresh(), true);
  shop.start();
  EXPECT_TRUE(shop.server->alone());
  Browser browser = shop.browser();
  EXPECT_EQ(browser.json("/api/me").at("alone"), true);
  put_shop(browser);
  const Json before = browser.json("/api/me").at("shop");
  EXPECT_EQ(before.at("time_zone"), "");
  browser.post("/api/settings", {{"id", shop.ids.next()}, {"at", "/time_zone"}, {"value", "Europe/Vienna"}});
  const Json after = browser.json("/api/me").at("shop");
  EXPECT_EQ(after.at("time_zone"), "Europe/Vienna");
  EXPECT_EQ(after.at("as_of").get<int>(), before.at("as_of").get<int>() + 1);
  const std::string visit = take_in(browser);
  const Json fit = browser.json("/api/visits/" + visit + "/fit?key=low-c");
  EXPECT_EQ(fit.at("keys").at(0).at("id"), "low-c");
  EXPECT_EQ(browser.json("/api/visits?words=rattles").at("visits").size(), 1U);
  const http::Answer svg = browser.get("/api/visits/" + visit + "/drawing/low-c/section");
  EXPECT_EQ(svg.status, 200);
  EXPECT_EQ(svg.header("content-type"), "image/svg+xml");
  EXPECT_NE(svg.header("content-security-policy").find("sandbox"), std::string::npos);
  const http::Answer card =
      browser.get("/api/visits/" + visit + "/paper/card?language=de&sheet=letter&day=2026-11-27");
  EXPECT_EQ(card.status, 200);
  EXPECT_EQ(card.header("content-type"), "application/pdf");
  EXPECT_EQ(card.header("content-disposition"), "inline; filename=\"card.pdf\"");
  EXPECT_EQ(card.header("hingeline-pages"), "1");
  EXPECT_EQ(card.body.substr(0, 5), "%PDF-");
  EXPECT_EQ(browser.get("/api/papers/card?day=2026-11-27").status, 200);
  EXPECT_EQ(browser.get("/api/papers/card?from=2099-01-01").status, 404);
  EXPECT_EQ(browser.get("/api/visits/" + visit + "/paper/drawings?key=low-c&scale=10").status, 200);
  EXPECT_EQ(browser.get("/api/visits/" + visit + "/paper/lesson").status, 400);
  EXPECT_TRUE(browser.json("/api/quoted").at("visits").empty());
  const http::Answer csv = browser.get("/api/csv/readings?most=2");
  EXPECT_NE(csv.header("link").find("rel=\"next\""), std::string::npos);
  EXPECT_EQ(csv.header("content-disposition"), "attachment; filename=\"readings.csv\"");
  EXPECT_EQ(browser.json("/health").at("status"), "well");

  const http::Answer page = browser.get("/");
  EXPECT_EQ(page.status, 200);
  EXPECT_NE(page.header("content-security-policy").find("script-src 'self'"), std::string::npos);
  EXPECT_EQ(page.header("cache-control"), "no-cache");
  for (const std::string end : {".css", ".js"}) {
    // "/page-ABCD2345.js": its name is a sum of what it says, so browsers may keep it for good.
    const std::size_t at = page.body.rfind("\"/page-", page.body.find(end + "\""));
    ASSERT_NE(at, std::string::npos);
    const std::string part = page.body.substr(at + 1, page.body.find('"', at + 1) - at - 1);
    const http::Answer plain = browser.get(part);
    EXPECT_EQ(plain.status, 200);
    EXPECT_EQ(plain.header("cache-control"), "public, max-age=31536000, immutable");
    EXPECT_EQ(plain.header("content-encoding"), "");
    Browser modern = browser;
    modern.headers["Accept-Encoding"] = "gzip";
    const http::Answer small = modern.get(part);
    EXPECT_EQ(small.header("content-encoding"), "gzip");
    EXPECT_LT(small.body.size(), plain.body.size() / 2);
    EXPECT_NE(small.header("etag"), plain.header("etag"));
    modern.headers["If-None-Match"] = small.header("etag");
    EXPECT_EQ(modern.get(part).status, 304);
  }
  // No script stands in the page itself, nothing comes from elsewhere.
  EXPECT_EQ(page.body.find("http://"), std::string::npos);
  EXPECT_EQ(page.body.find("https://"), std::string::npos);
  EXPECT_EQ(page.body.find("onclick"), std::string::npos);
  EXPECT_EQ(browser.get("/nowhere").status, 404);
  EXPECT_EQ(browser.ask("DELETE", "/api/visits").status, 405);
}

TEST_P(Shops, AKeyIsLedOverHttp) {
  Shop shop(fresh(), true);
  shop.start();
  Browser browser = shop.browser();
  put_shop(browser);
  const std::string visit = take_in(browser);
  const std::string path = "/api/visits/" + visit + "/lead/low-c";
  const Json begun = browser.json(path);
  const Json told = browser.post(path, {{"id", record::slip_id(1'761'000'000'000ULL, 1, 1)},
                                        {"typed", "sticks: free"},
                                        {"seen", begun.at("as_of")}});
  EXPECT_EQ(told.at("told"), 1);
  const Json late = {{"id", record::slip_id(1'761'000'000'000ULL, 2, 1)},
                     {"typed", "sticks: all round"},
                     {"seen", begun.at("as_of")}};
  EXPECT_EQ(browser.ask("POST", path, late.dump()).status, 409);
  const http::Answer wrong = browser.ask("POST", path,
                                         Json({{"id", record::slip_id(1'761'000'000'000ULL, 3, 1)},
                                               {"typed", "end-play: soon"},
                                               {"seen", told.at("as_of")}})
                                             .dump());
  EXPECT_TRUE(wrong.status == 400 || wrong.status == 422) << wrong.status;
  EXPECT_EQ(wrong.header("content-type"), "application/problem+json");
  const Json problem = Json::parse(wrong.body);
  EXPECT_EQ(problem.at("status"), wrong.status);
  EXPECT_FALSE(problem.at("errors").at(0).at("what").get<std::string>().empty());
}

// ---- who may do what
// ----------------------------------------------------------------------------------------

/// A path with something in each brace.
std::string filled(std::string pattern, const std::map<std::string, std::string>& parts) {
  for (const auto& [name, value] : parts) {
    const std::string brace = "{" + name + "}";
    if (const std::size_t at = pattern.find(brace); at != std::string::npos)
      pattern.replace(at, brace.size(), value);
  }
  return pattern;
}

/// Something for each brace of every path.
std::map<std::string, std::string> some_parts(const std::string& visit, const std::string& owner,
                                              const std::string& kind) {
  return {{"visit", visit},      {"thing", visit},  {"key", "low-c"}, {"figure", "end-play"},
          {"picture", "strip"},  {"kind", kind},    {"owner", owner}, {"person", "nobody"},
          {"device", "nothing"}, {"run", "nothing"}};
}

TEST_P(Shops, EveryRoleAtEveryDoor) {
  // A generated matrix of role × endpoint: what may not is refused, logged, and changes nothing.
  Shop shop(fresh());
  shop.start();
  Browser owner = shop.logged_in("owner");
  put_shop(owner);
  record::Slip person = store::test::slip(shop.ids, record::OwnerSlip{"Ada Example", "555 0100", {}, {}});
  person.by = shop.person["owner"];
  EXPECT_EQ(owner.post("/api/slips", {{"slips", {Json::parse(record::write_slip(person))}}})
                .at("outcomes")
                .at(0)
                .at("outcome"),
            "written");
  const std::string visit = take_in(owner, person.id);
  const auto parts = some_parts(visit, person.id, "visit");
  const std::map<std::string, int> rank{{"look", 0}, {"counter", 1}, {"bench", 2}, {"owner", 3}};
  const std::vector<std::pair<std::string, int>> roles{
      {"", -1}, {"look-only", 0}, {"counter", 1}, {"bench", 2}, {"owner", 3}};
  std::size_t refused = 0;
  std::size_t tried = 0;
  for (const auto& [role, right] : roles) {
    Browser browser = role.empty() ? shop.browser() : shop.logged_in(role);
    const auto session = browser.cookies;
    const std::string before = owner.json("/api/counts").dump() + owner.json("/api/accounts").dump() +
                               owner.json("/api/devices").dump();
    for (const ShopServer::Row& row : shop.server->rows()) {
      // The one never ends and is asked for below; the other would end the session.
      if (row.pattern == "/api/news" || row.pattern == "/api/log-out") continue;
      const std::string method = http::word(row.method);
      // Empty bodies and nonsense: whoever may, gets as far as being told what is wrong with it.
      const http::Answer answer =
          browser.ask(method, filled(row.pattern, parts), method == "GET" ? "" : "{}");
      ++tried;
      browser.cookies = session;
      if (row.right.empty()) {
        // Figures look at who asks by themselves; a test of their own has them.
        if (row.pattern != "/metrics") {
          EXPECT_NE(answer.status, 403) << row.pattern;
        }
        continue;
      }
      if (right < 0) {
        EXPECT_EQ(answer.status, 401) << method << " " << row.pattern;
        ++refused;
      } else if (right < rank.at(row.right)) {
        EXPECT_EQ(answer.status, 403) << role << " " << method << " " << row.pattern;
        ++refused;
      } else if (role != "owner") {
        EXPECT_NE(answer.status, 401) << role << " " << method << " " << row.pattern;
        EXPECT_LT(answer.status, 500) << role << " " << method << " " << row.pattern << answer.body;
      }
      if (answer.status >= 400) {
        EXPECT_EQ(answer.header("content-type"), "application/problem+json") << row.pattern;
      }
    }
    if (role != "owner") {
      EXPECT_EQ(owner.json("/api/counts").dump() + owner.json("/api/accounts").dump() +
                    owner.json("/api/devices").dump(),
                before)
          << role;
    }
    // What a look-only account may not, it may not with another's session word, a device, or no word either.
    if (role == "look-only") {
      Browser forger = browser;
      forger.csrf = owner.csrf;
      EXPECT_EQ(forger.ask("POST", "/api/slips", "{}").status, 403);
      forger.csrf.clear();
      EXPECT_EQ(forger.ask("POST", "/api/slips", "{}").status, 403);
    }
  }
  EXPECT_GT(refused, 60U);
  EXPECT_GT(tried, 200U);
  // Each refusal is in the log; no name, no login and no address is.
  std::size_t logged = 0;
  for (const std::string& line : shop.log()) {
    const Json entry = Json::parse(line);
    const int status = entry.value("status", 0);
    if (status == 401 || status == 403) ++logged;
    for (const char* word : {"Ada", "Orla", "555 0100", "127.0.0.1", kPassword})
      EXPECT_EQ(line.find(word), std::string::npos) << line;
  }
  EXPECT_GE(logged, refused);
  EXPECT_EQ(shop.browser().get("/api/news").status, 401);
}

/// Every byte that is no letter or digit as RFC 3986 2.1 has it.
std::string percent(const std::string& text) {
  std::string out;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    out += std::isalnum(byte) != 0 && byte < 128 ? std::string(1, c) : fmt::format("%{:02X}", byte);
  }
  return out;
}

TEST_P(Shops, HostileWordsAtEveryDoor) {
  // Each part of each path, each parameter, each body: what is meant for a database, a shell, a file system,
  // a page or a head is a word like any other (common practice: the OWASP testing guide's kinds, from
  // memory).
  const std::vector<std::string> hostile{"' or '1'='1' --",
                                         "\"; drop table slip; --",
                                         "../../../../etc/passwd",
                                         "x\r\nX-Planted: yes\r\n\r\n<html>",
                                         "<script>alert(1)</script>",
                                         std::string("a\0b", 3),
                                         "\xC3\x28\xF5",
                                         "$(id) `id` %s%n ${7*7}",
                                         "-1",
                                         "99999999999999999999",
                                         std::string(1500, '%')};
  Shop shop(fresh(), true);
  shop.start();
  Browser browser = shop.browser();
  put_shop(browser);
  const std::string visit = take_in(browser);
  const auto parts = some_parts(visit, visit, "card");
  const Json paths = browser.json("/api/description").at("paths");
  const auto held = [&] {
    return browser.json("/api/counts").dump() + browser.get("/api/visits/" + visit + "/document").body +
           browser.get("/api/shop").body;
  };
  const std::string before = held();
  std::size_t tried = 0;
  const auto ask = [&](const std::string& method, const std::string& path, const std::string& body) {
    const http::Answer answer = browser.ask(method, path, body);
    ++tried;
    EXPECT_LT(answer.status, 500) << method << " " << path << answer.body;
    EXPECT_TRUE(answer.header("x-planted").empty()) << path;
    EXPECT_EQ(answer.body.find("root:"), std::string::npos) << path;
    EXPECT_EQ(answer.header("x-content-type-options"), "nosniff") << path;
    EXPECT_EQ(answer.header("content-type").find("text/html"), std::string::npos) << path;
    if (answer.status >= 400) {
      EXPECT_EQ(answer.header("content-type"), "application/problem+json") << path;
      EXPECT_TRUE(Json::accept(answer.body)) << answer.body;
    }
  };
  for (const auto& path : paths.items()) {
    if (!path.key().starts_with("/api/") || path.key() == "/api/news" || path.key() == "/api/log-out")
      continue;
    for (const auto& way : path.value().items()) {
      std::string method = way.key();
      std::transform(method.begin(), method.end(), method.begin(), ::toupper);
      const std::string honest = filled(path.key(), parts);
      for (const std::string& word : hostile) {
        for (const auto& part : parts) {
          if (path.key().find("{" + part.first + "}") == std::string::npos) continue;
          auto changed = parts;
          changed[part.first] = percent(word);
          ask(method, filled(path.key(), changed), method == "GET" ? "" : "{}");
        }
        for (const Json& parameter : way.value().value("parameters", Json::array())) {
          if (parameter.value("in", "") != "query") continue;
          ask(method, honest + "?" + parameter.at("name").get<std::string>() + "=" + percent(word),
              method == "GET" ? "" : "{}");
        }
        if (method == "GET") continue;
        ask(method, honest, word);
        ask(method, honest,
            Json({{"id", word}, {"typed", word}, {"at", word}, {"login", word}, {"seen", word}})
                .dump(-1, ' ', false, Json::error_handler_t::replace));
      }
    }
  }
  EXPECT_GT(tried, 1000U);
  RecordProperty("tried", static_cast<int>(tried));
  EXPECT_EQ(held(), before);
}

TEST_P(Shops, PapersOfADayTellHowFarTheyAre) {
  Shop shop(fresh());
  shop.start();
  Browser browser = shop.logged_in("counter");
  Browser owner = shop.logged_in("owner");
  put_shop(owner);
  constexpr std::size_t kVisits = 30;
  for (std::size_t i = 1; i <= kVisits; ++i) {
    // Each has a document of its own, so that each is worked out.
    Json document = Json::parse(example("saxophone.json"));
    document["title"] = "Alto " + std::to_string(i);
    browser.post("/api/documents", {{"id", record::slip_id(1'760'000'000'000ULL + i, i, 0)},
                                    {"owner", ""},
                                    {"day", "2026-11-20"},
                                    {"complaint", "rattles"},
                                    {"promised", i == 1 ? "2026-12-01" : "2026-12-02"},
                                    {"document", document}});
  }
  const auto run_at = [](const std::string& run) { return "/api/papers/runs/" + run; };
  const auto cards = [](const std::string& day, const std::string& run) {
    return "/api/papers/card?day=2026-11-27&from=" + day + "&to=" + day + "&run=" + run;
  };

  // Made by a HEAD, fetched, forgotten; nobody else's business.
  const std::string one = shop.ids.next();
  EXPECT_EQ(browser.get(run_at(one)).status, 404);
  const http::Answer made = browser.ask("HEAD", cards("2026-12-01", one));
  EXPECT_EQ(made.status, 200);
  EXPECT_EQ(made.header("hingeline-pages"), "1");
  EXPECT_EQ(browser.json(run_at(one)), Json::parse(R"({"done":1,"all":1,"ended":true,"left_out":[]})"));
  const http::Answer file = browser.get(run_at(one) + "/file");
  EXPECT_EQ(file.header("content-type"), "application/pdf");
  EXPECT_EQ(file.body, browser.get("/api/papers/card?day=2026-11-27&from=2026-12-01&to=2026-12-01").body);
  EXPECT_EQ(shop.logged_in("bench").get(run_at(one)).status, 404);
  EXPECT_EQ(browser.get(cards("2026-12-01", one)).status, 422) << "the name is taken";
  EXPECT_EQ(browser.get(cards("2026-12-01", "mine")).status, 422);
  EXPECT_EQ(browser.ask("DELETE", run_at(one)).status, 200);
  EXPECT_EQ(browser.get(run_at(one) + "/file").status, 404);

  // Stopped while it goes on: there are twenty-nine to be made.
  const std::string two = shop.ids.next();
  int status = 0;
  {
    const std::jthread making(
        [&, other = browser]() mutable { status = other.get(cards("2026-12-02", two)).status; });
    Json now = Json::object();
    while (now.value("done", 0) == 0) {
      const http::Answer told = browser.get(run_at(two));
      if (told.status == 200) now = Json::parse(told.body);
    }
    EXPECT_EQ(now.at("all"), kVisits - 1);
    EXPECT_EQ(now.at("ended"), false);
    EXPECT_EQ(browser.ask("DELETE", run_at(two)).status, 200);
  }
  EXPECT_EQ(status, 503) << "stopped";
  // The oldest goes when many are kept.
  const std::string old = shop.ids.next();
  EXPECT_EQ(browser.ask("HEAD", cards("2026-12-01", old)).status, 200);
  for (int i = 0; i < 8; ++i)
    EXPECT_EQ(browser.ask("HEAD", cards("2026-12-01", shop.ids.next())).status, 200);
  EXPECT_EQ(browser.get(run_at(old)).status, 404);
}

TEST_P(Shops, SessionsBeginFreshAndEnd) {
  Shop shop(fresh());
  shop.start();
  // Fixation: a token that somebody else has put there is not the session's.
  Browser victim = shop.browser();
  const std::string planted(43, 'A');
  victim.cookies["__Host-hingeline-session"] = planted;
  ASSERT_EQ(victim.log_in("bench", kPassword), 200);
  EXPECT_NE(victim.cookies["__Host-hingeline-session"], planted);
  for (const std::string& cookie : victim.set_cookies) {
    for (const char* attribute : {"HttpOnly", "SameSite=Strict", "Secure", "Path=/"})
      EXPECT_NE(cookie.find(attribute), std::string::npos) << cookie;
  }
  EXPECT_EQ(victim.json("/api/me").at("name"), "Bo Example");
  // Logging in once more gives another, and the old one is worth nothing.
  Browser old = victim;
  ASSERT_EQ(victim.log_in("bench", kPassword), 200);
  EXPECT_EQ(old.get("/api/counts").status, 401);
  EXPECT_EQ(victim.get("/api/counts").status, 200);
  // It ends by itself, and at log-out.
  Browser other = shop.logged_in("counter");
  shop.clock += std::chrono::duration_cast<std::chrono::milliseconds>(shop.settings.access.idle).count();
  EXPECT_EQ(other.get("/api/counts").status, 401);
  Browser last = shop.logged_in("counter");
  Browser stolen = last;
  EXPECT_EQ(last.ask("POST", "/api/log-out").status, 200);
  EXPECT_EQ(stolen.get("/api/counts").status, 401);
  // Who has gone has no way in any more.
  Browser gone = shop.logged_in("bench");
  Browser owner = shop.logged_in("owner");
  const Json thing = owner.json("/api/things/" + shop.person["bench"]);
  record::Slip slip = *record::read_slip(thing.at("slip").dump(), "person");
  slip.replaces = slip.id;
  slip.id = shop.ids.next();
  slip.by = shop.person["owner"];
  std::get<record::PersonSlip>(slip.body).gone = true;
  owner.post("/api/slips", {{"slips", {Json::parse(record::write_slip(slip))}}});
  EXPECT_EQ(gone.get("/api/counts").status, 401);
  Browser again = shop.browser();
  EXPECT_NE(again.log_in("bench", kPassword), 200);
}

TEST_P(Shops, RequestsFromOtherPagesAreRefused) {
  Shop shop(fresh());
  shop.start();
  Browser owner = shop.logged_in("owner");
  const std::string body = Json({{"name", "Bench tablet"}}).dump();
  const auto with = [&](const std::string& name, const std::string& value,
                        const std::string& type = "application/json") {
    Browser forged = owner;
    if (!name.empty()) forged.headers[name] = value;
    return forged.ask("POST", "/api/devices", body, type).status;
  };
  EXPECT_EQ(with("Origin", "https://elsewhere.example"), 403);
  EXPECT_EQ(with("Origin", "null"), 403);
  EXPECT_EQ(with("Origin", "https://localhost.elsewhere.example"), 403);
  EXPECT_EQ(with("Sec-Fetch-Site", "cross-site"), 403);
  EXPECT_EQ(with("Sec-Fetch-Site", "same-site"), 403);
  for (const char* type :
       {"text/plain", "multipart/form-data; boundary=x", "application/x-www-form-urlencoded"})
    EXPECT_EQ(with("", "", type), 415);
  EXPECT_EQ(owner.json("/api/devices").at("devices").size(), 0U);
  EXPECT_EQ(with("Origin", "https://localhost"), 200);
  EXPECT_EQ(owner.json("/api/devices").at("devices").size(), 1U);
  // Nor is a name bent to this address taken, nor a request with two hosts.
  Browser rebound = owner;
  http::Client client(shop.port());
  client.send("GET /api/me HTTP/1.1\r\nHost: elsewhere.example\r\n\r\n");
  EXPECT_EQ(client.read()->status, 421);
}

TEST_P(Shops, GuessingIsSlowedAndTellsNothing) {
  Shop shop(fresh());
  shop.start();
  Browser guesser = shop.browser();
  const auto body_of = [&](const std::string& login, const std::string& password) {
    return guesser.ask("POST", "/api/log-in", Json({{"login", login}, {"password", password}}).dump());
  };
  const http::Answer known = body_of("owner", "not the password");
  const http::Answer unknown = body_of("nobody", "not the password");
  EXPECT_EQ(known.status, 401);
  EXPECT_EQ(unknown.status, known.status);
  EXPECT_EQ(unknown.body, known.body);
  int slowed = 0;
  for (int i = 0; i < 20; ++i) slowed += body_of("owner", "guess " + std::to_string(i)).status == 429 ? 1 : 0;
  EXPECT_GT(slowed, 10);
  // The right one is not taken either while it is slowed, and is afterwards.
  const http::Answer wait = body_of("owner", kPassword);
  EXPECT_EQ(wait.status, 429);
  EXPECT_GE(std::stoi(wait.header("retry-after")), 1);
  shop.clock +=
      std::chrono::duration_cast<std::chrono::milliseconds>(shop.settings.access.longest_delay).count();
  EXPECT_EQ(guesser.log_in("owner", kPassword), 200);
}

TEST_P(Shops, PinsOpenOnEnrolledDevicesOnly) {
  Shop shop(fresh());
  shop.start();
  Browser owner = shop.logged_in("owner");
  const std::string bench = shop.person["bench"];
  const auto pin = [&](Browser& browser) {
    return browser.ask("POST", "/api/log-in/pin", Json({{"person", bench}, {"pin", "4719"}}).dump()).status;
  };
  EXPECT_EQ(owner
                .ask("PUT", "/api/accounts/" + bench + "/pin",
                     Json({{"pin", "4719"}, {"own_password", "wrong wrong"}}).dump())
                .status,
            401);
  EXPECT_EQ(owner
                .ask("PUT", "/api/accounts/" + bench + "/pin",
                     Json({{"pin", "4719"}, {"own_password", kPassword}}).dump())
                .status,
            200);
  Browser stranger = shop.browser();
  EXPECT_EQ(pin(stranger), 401);
  EXPECT_FALSE(stranger.json("/api/me").contains("people"));
  EXPECT_FALSE(stranger.json("/api/me").contains("shop"));
  const std::string device = owner.post("/api/devices", {{"name", "Tablet at bench 1"}}).at("device");
  Browser tablet = shop.browser();
  tablet.cookies["__Host-hingeline-device"] = owner.cookies["__Host-hingeline-device"];
  EXPECT_EQ(tablet.json("/api/me").at("people").size(), 4U);
  EXPECT_EQ(pin(tablet), 200);
  EXPECT_EQ(tablet.json("/api/me").at("right"), "bench");
  EXPECT_EQ(owner.ask("DELETE", "/api/devices/" + device).status, 200);
  EXPECT_EQ(tablet.get("/api/counts").status, 401);
  EXPECT_EQ(pin(tablet), 401);
}

TEST_P(Shops, ManyRequestsFromOneAddressAreSlowed) {
  Shop shop(fresh());
  shop.settings.requests_per_second = 2;
  shop.settings.requests_at_once = 10;
  shop.start();
  Browser one = shop.browser();
  one.headers["X-Forwarded-For"] = "203.0.113.9, 192.0.2.1";  // RFC 5737's addresses for examples
  int through = 0;
  for (int i = 0; i < 30; ++i) through += one.get("/api/me").status == 200 ? 1 : 0;
  EXPECT_EQ(through, 10);
  Browser two = shop.browser();
  two.headers["X-Forwarded-For"] = "203.0.113.9, 192.0.2.2";
  EXPECT_EQ(two.get("/api/me").status, 200);
  // What stands before the proxy's own entry is anybody's invention.
  one.headers["X-Forwarded-For"] = "198.51.100.77, 192.0.2.1";
  EXPECT_EQ(one.get("/api/me").status, 429);
  shop.clock += 1000;
  EXPECT_EQ(one.get("/api/me").status, 200);
}

TEST_P(Shops, ANetworkIsNotListenedOnWithoutAccountsOrTls) {
  const sql::Address empty = fresh();
  ShopSettings settings;
  settings.book = empty;
  settings.listen = {{"0.0.0.0", 0, false}};
  settings.allowed_hosts = {"shop.example"};
  auto plain = ShopServer::start(settings);
  ASSERT_FALSE(plain);
  EXPECT_EQ(plain.error().fault, Fault::usage);
  EXPECT_NE(plain.error().expected.find("certificate"), std::string::npos);
  settings.listen = {{"127.0.0.1", 0, false}};
  settings.behind_proxy = true;
  auto nobody = ShopServer::start(settings);
  ASSERT_FALSE(nobody);
  EXPECT_EQ(nobody.error().fault, Fault::usage);
  EXPECT_NE(nobody.error().what.find("no owner"), std::string::npos);
}

// ---- live
// ------------------------------------------------------------------------------------------------------

TEST_P(Shops, SlipsAreToldLiveAndMissedOnesLater) {
  const sql::Address book = fresh();
  Shop shop(book);
  shop.start();
  Browser owner = shop.logged_in("owner");
  const auto listen = [&](const Browser& browser, const std::string& last) {
    http::Client client(shop.port());
    std::string text = "GET /api/news HTTP/1.1\r\nHost: localhost\r\n";
    for (const auto& [name, value] : browser.cookies) text += "Cookie: " + name + "=" + value + "\r\n";
    if (!last.empty()) text += "Last-Event-ID: " + last + "\r\n";
    client.send(text + "\r\n");
    EXPECT_EQ(client.read(true)->status, 200);
    return client;
  };
  const std::int64_t from = owner.json("/api/counts").at("last_number");
  http::Client stream = listen(owner, std::to_string(from));
  http::Client looker = listen(shop.logged_in("look-only"), std::to_string(from));
  // Another program writes into the same book.
  auto elsewhere = store::test::opened(book);
  const record::Slip person =
      store::test::slip(shop.ids, record::OwnerSlip{"Ada Example", "555 0100", {}, {}});
  const record::Slip sax = store::test::slip(shop.ids, store::test::instrument("Old alto", "12"), person.id);
  store::test::must(elsewhere->write({person, sax}));
  const auto first = stream.read_until("Old alto");
  ASSERT_TRUE(first);
  EXPECT_NE(first->find("Ada Example"), std::string::npos);
  EXPECT_NE(first->find("id: " + std::to_string(from + 1)), std::string::npos);
  EXPECT_NE(first->find("event: slip"), std::string::npos);
  const auto seen = looker.read_until("Old alto");
  ASSERT_TRUE(seen);
  EXPECT_EQ(seen->find("Ada"), std::string::npos);
  // Who was away is told what they missed, and nothing twice.
  stream.close();
  const record::Slip visit = store::test::slip(shop.ids, store::test::visit("squeaks"), sax.id);
  store::test::must(elsewhere->write({visit}));
  http::Client back = listen(owner, std::to_string(from + 2));
  const auto missed = back.read_until("squeaks");
  ASSERT_TRUE(missed);
  EXPECT_EQ(missed->find("Old alto"), std::string::npos);
  // Who missed very much is told to ask for everything anew.
  std::vector<record::Slip> many;
  for (int i = 0; i < 250; ++i)
    many.push_back(store::test::slip(shop.ids, record::NoteSlip{"note", {}}, visit.id));
  back.close();
  store::test::must(elsewhere->write(many));
  http::Client far = listen(owner, std::to_string(from + 3));
  EXPECT_TRUE(far.read_until("event: far-behind"));
  EXPECT_TRUE(far.read_until("\"last_number\":" + std::to_string(from + 253)));
  // Logging out ends the streams.
  Browser other = shop.logged_in("counter");
  http::Client ends = listen(other, "");
  EXPECT_EQ(other.ask("POST", "/api/log-out").status, 200);
  ends.read_to_end();
  EXPECT_EQ(owner.get("/api/news?after=x").status, 422);
}

// ---- what it says of itself
// --------------------------------------------------------------------------------------

TEST_P(Shops, FiguresAreAsPrometheusReadsThem) {
  Shop shop(fresh(), true);
  shop.start();
  Browser browser = shop.browser();
  browser.get("/api/visits");
  const http::Answer answer = browser.get("/metrics");
  EXPECT_EQ(answer.header("content-type"), "text/plain; version=0.0.4; charset=utf-8");
  // Prometheus, text exposition format 0.0.4: each line a comment or a sample, the file ends with a line
  // feed.
  static const std::regex kLine(
      R"(# (HELP|TYPE) [a-zA-Z_:][a-zA-Z0-9_:]* .+|[a-zA-Z_:][a-zA-Z0-9_:]*(\{[a-z_]+="[^"]*"\})? [-+0-9.eE]+)");
  std::istringstream lines(answer.body);
  std::string line;
  std::set<std::string> typed;
  while (std::getline(lines, line)) EXPECT_TRUE(std::regex_match(line, kLine)) << line;
  EXPECT_EQ(answer.body.back(), '\n');
  EXPECT_NE(answer.body.find("hingeline_book_up 1\n"), std::string::npos);
  EXPECT_NE(answer.body.find("hingeline_answer_seconds_bucket{le=\"+Inf\"}"), std::string::npos);
  // Through a proxy only an owner sees them.
  Shop network(fresh());
  network.start();
  EXPECT_EQ(network.browser().get("/metrics").status, 403);
  EXPECT_EQ(network.logged_in("bench").get("/metrics").status, 403);
  EXPECT_EQ(network.logged_in("owner").get("/metrics").status, 200);
}

TEST_P(Shops, TheDescriptionIsPublishedAndTrue) {
  Shop shop(fresh(), true);
  shop.start();
  Browser browser = shop.browser();
  const http::Answer answer = browser.get("/api/description");
  ASSERT_EQ(answer.status, 200);
  // docs/formats/api.json is this very text.
  const std::filesystem::path published =
      std::filesystem::path(HINGELINE_SOURCE_DIR) / "docs/formats/api.json";
  if (std::getenv("HINGELINE_UPDATE_GOLDEN") != nullptr) std::ofstream(published) << answer.body;
  EXPECT_EQ(answer.body, file_text(published)) << "HINGELINE_UPDATE_GOLDEN=1 writes it anew";
  // What the server answers is what the description says: checked by a general JSON Schema validator.
  put_shop(browser);
  const std::string visit = take_in(browser);
  const std::string key = "low-c";
  record::Slip note = store::test::slip(shop.ids, record::NoteSlip{"a note", {}}, visit);
  Json asked = Json::array();
  const auto look = [&](const std::string& method, const std::string& pattern, const std::string& path,
                        const std::string& body = {}) {
    const http::Answer a = browser.ask(method, path, body);
    asked.push_back({{"method", method},
                     {"pattern", pattern},
                     {"status", a.status},
                     {"type", a.header("content-type")},
                     {"sent", body},
                     {"body", a.body}});
  };
  look("POST", "/api/slips", "/api/slips", Json({{"slips", {Json::parse(record::write_slip(note))}}}).dump());
  look("GET", "/api/things/{thing}", "/api/things/" + visit);
  look("GET", "/api/things/{thing}", "/api/things/nothing");
  look("GET", "/api/to-read", "/api/to-read");
  look("GET", "/api/visits/{visit}/standing", "/api/visits/" + visit + "/standing");
  look("GET", "/api/copies", "/api/copies");
  look("POST", "/api/copies", "/api/copies");  // refused: the server has no folder for them
  look("POST", "/api/practice", "/api/practice",
       R"({"seed":7,"kind":"rod","acts":[{"do":"look","check":"end-play"}]})");
  look("GET", "/api/things/{thing}/history", "/api/things/" + visit + "/history");
  look("GET", "/api/things/{thing}/belonging", "/api/things/" + visit + "/belonging?kind=note");
  look("GET", "/api/list/{kind}", "/api/list/visit?most=5");
  look("GET", "/api/counts", "/api/counts");
  look("GET", "/api/visits", "/api/visits?state=looked-over,waiting&from=2026-01-01");
  look("GET", "/api/visits", "/api/visits?state=lost");
  look("GET", "/api/visits/{visit}", "/api/visits/" + visit);
  look("GET", "/api/visits/{visit}/document", "/api/visits/" + visit + "/document");
  look("GET", "/api/shop", "/api/shop");
  look("GET", "/api/settings", "/api/settings");
  look("POST", "/api/settings", "/api/settings",
       Json({{"id", shop.ids.next()}, {"at", "/presets/window_high"}, {"value", "0.1 mm"}}).dump());
  for (const char* question :
       {"fit", "causes", "leak", "bow", "season", "stack", "action", "regulate", "wear", "budget"})
    look("GET", std::string("/api/visits/{visit}/") + question, "/api/visits/" + visit + "/" + question);
  look("GET", "/api/visits/{visit}/why/{key}/{figure}", "/api/visits/" + visit + "/why/low-c/end-play");
  look("GET", "/api/visits/{visit}/lead/{key}", "/api/visits/" + visit + "/lead/low-c");
  const std::string run = shop.ids.next();
  browser.get("/api/papers/card?run=" + run);
  look("GET", "/api/papers/runs/{run}", "/api/papers/runs/" + run);
  look("DELETE", "/api/papers/runs/{run}", "/api/papers/runs/" + run);
  look("GET", "/api/learned", "/api/learned");
  look("GET", "/api/me", "/api/me");
  look("GET", "/api/accounts", "/api/accounts");
  look("GET", "/api/devices", "/api/devices");
  look("GET", "/api/access-log", "/api/access-log");
  look("GET", "/health", "/health");
  const std::filesystem::path file = folder.path() / "asked.json";
  std::ofstream(file) << Json({{"description", Json::parse(answer.body)}, {"asked", asked}}).dump();
  const std::string command = std::string(HINGELINE_PYTHON) + " " + HINGELINE_SOURCE_DIR +
                              "/tests/server/check_description.py " + file.string();
  EXPECT_EQ(std::system(command.c_str()), 0) << command;
}

TEST_P(Shops, ItStopsWithoutCuttingAnybodyOff) {
  Shop shop(fresh(), true);
  shop.start();
  Browser browser = shop.browser();
  put_shop(browser);
  const std::string visit = take_in(browser);
  const std::uint16_t port = shop.port();
  std::thread asks([&] {
    Browser slow(port);
    EXPECT_EQ(slow.get("/api/visits/" + visit + "/causes").status, 200);
  });
  http::becomes([&] { return Json::parse(R"({})").is_object() && !shop.log().empty(); });
  std::this_thread::sleep_for(std::chrono::milliseconds(20));
  shop.server->stop(std::chrono::seconds(20));
  asks.join();
  http::Client late;
  EXPECT_FALSE(late.connect(port));
}

TEST_P(Shops, CopiesAreMadeOnSchedule) {
  Shop shop(fresh(), true);
  CopySchedule schedule;
  schedule.folder = (folder.path() / "copies").string();
  schedule.every = std::chrono::minutes(0);  // at once, and again at once
  shop.settings.copies = schedule;
  shop.start();
  EXPECT_TRUE(http::becomes([&] {
    const auto copies = store::copies_in(schedule.folder);
    return copies && !copies->empty();
  }));
  shop.server->stop(std::chrono::seconds(5));
  bool told = false;
  for (const std::string& line : shop.log()) told = told || Json::parse(line).value("event", "") == "copied";
  EXPECT_TRUE(told);
}

}  // namespace
}  // namespace hingeline::server::test
