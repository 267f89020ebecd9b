#include "serve.h"

#include <fmt/format.h>
#include <poll.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <iostream>
#include <nlohmann/json.hpp>
#include <optional>

#include "book.h"
#include "hingeline/access/accounts.h"
#include "hingeline/record/slip.h"
#include "hingeline/server/shop_server.h"
#include "hingeline/store/book.h"
#include "slip_ids.h"

namespace hingeline {
namespace {

constexpr const char* kUsualListen = "127.0.0.1:8420";

/// "127.0.0.1:8420", "[2001:db8::7]:443".
Expected<http::Listen> listen_of(const std::string& typed) {
  const auto wrong = [&] {
    return fail(Fault::usage, fmt::format("\"{}\" is no address to listen on", typed),
                "such as 127.0.0.1:8420 or [::1]:8420; port 0 takes any free one");
  };
  const std::size_t colon = typed.rfind(':');
  if (colon == std::string::npos) return wrong();
  std::string address = typed.substr(0, colon);
  if (address.size() > 2 && address.front() == '[' && address.back() == ']')
    address = address.substr(1, address.size() - 2);
  const char* const from = typed.data() + colon + 1;
  const char* const to = typed.data() + typed.size();
  std::uint16_t port = 0;
  const auto [end, fault] = std::from_chars(from, to, port);
  if (fault != std::errc{} || end != to || from == to || address.empty()) return wrong();
  return http::Listen{address, port, false};
}

std::string url_of(const http::Listen& l) {
  const bool six = l.address.find(':') != std::string::npos;
  return fmt::format("{}://{}{}{}:{}/", l.secure ? "https" : "http", six ? "[" : "", l.address,
                     six ? "]" : "", l.port);
}

Expected<server::ShopSettings> settings_of(const ServeAsked& asked) {
  server::ShopSettings out;
  const auto place = book_place(asked.book);
  if (!place) return tl::unexpected(place.error());
  out.book = *place;
  if (auto made = folder_for_book(*place); !made) return tl::unexpected(made.error());
  out.listen.clear();
  for (const std::string& typed :
       asked.listen.empty() ? std::vector<std::string>{kUsualListen} : asked.listen) {
    auto listen = listen_of(typed);
    if (!listen) return tl::unexpected(listen.error());
    listen->secure = !asked.certificate.empty();
    out.listen.push_back(std::move(*listen));
  }
  if (asked.certificate.empty() != asked.key.empty())
    return fail(Fault::usage, "a certificate and its key come together", "--certificate FILE --key FILE");
  if (!asked.certificate.empty()) out.certificate = http::Certificate{asked.certificate, asked.key};
  out.allowed_hosts = asked.names;
  out.behind_proxy = asked.behind_proxy;
  out.workers = asked.workers;
  if (!asked.copies.empty()) {
    server::CopySchedule schedule;
    schedule.folder = asked.copies;
    schedule.every = std::chrono::minutes(static_cast<long>(asked.copies_every * 60));
    if (!asked.keep.empty()) {
      const auto keep = store::parse_keep(asked.keep);
      if (!keep) return tl::unexpected(keep.error());
      schedule.keep = *keep;
    }
    out.copies = std::move(schedule);
  }
  const bool quiet = asked.quiet;
  out.log = [quiet](const std::string& line) {
    // What went wrong is told in any case, and so is everything that is no request.
    const auto entry = nlohmann::json::parse(line, nullptr, false);
    constexpr int kOurFault = 500;
    if (quiet && entry.is_object() && entry.contains("status") && entry.value("status", 0) < kOurFault)
      return;
    const std::string whole = line + "\n";
    std::fwrite(whole.data(), 1, whole.size(), stderr);
  };
  return out;
}

access::Milliseconds now() {
  return std::chrono::duration_cast<access::Milliseconds>(
      std::chrono::system_clock::now().time_since_epoch());
}

/// A line without its end; on a terminal it is not shown as it is typed.
std::optional<std::string> hidden_line(const char* asks) {
  const bool talks = ::isatty(STDIN_FILENO) != 0;
  termios before{};
  if (talks) {
    std::fputs(asks, stderr);
    ::tcgetattr(STDIN_FILENO, &before);
    termios hidden = before;
    hidden.c_lflag &= ~static_cast<tcflag_t>(ECHO);
    ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &hidden);
  }
  std::string line;
  const bool read = static_cast<bool>(std::getline(std::cin, line));
  if (talks) {
    ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &before);
    std::fputs("\n", stderr);
  }
  if (!line.empty() && line.back() == '\r') line.pop_back();
  return read ? std::optional(line) : std::nullopt;
}

Expected<std::string> new_password() {
  const auto first = hidden_line("Password: ");
  if (!first) return fail(Fault::usage, "there is no password on standard input", "a line with it");
  if (::isatty(STDIN_FILENO) != 0) {
    const auto second = hidden_line("Once more: ");
    if (!second || *second != *first) return fail(Fault::usage, "the two are not the same", "the same twice");
  }
  return *first;
}

/// The book with its accounts.
struct Opened {
  std::unique_ptr<store::Book> book;
  std::unique_ptr<access::Accounts> accounts;
};
Expected<Opened> opened(const std::string& asked) {
  const auto place = book_place(asked);
  if (!place) return tl::unexpected(place.error());
  if (auto made = folder_for_book(*place); !made) return tl::unexpected(made.error());
  auto book = store::Book::open(*place);
  if (!book) return tl::unexpected(book.error());
  auto accounts = access::Accounts::open(*place);
  if (!accounts) return tl::unexpected(accounts.error());
  return Opened{std::move(*book), std::move(*accounts)};
}

/// A person by id, name or login.
Expected<store::Thing> person_of(Opened& shop, const std::string& who) {
  const auto people = shop.book->all_of(record::SlipKind::person);
  if (!people) return tl::unexpected(people.error());
  const auto accounts = shop.accounts->accounts();
  if (!accounts) return tl::unexpected(accounts.error());
  std::vector<store::Thing> found;
  for (const store::Thing& t : *people) {
    const bool by_login = std::any_of(accounts->begin(), accounts->end(), [&](const access::Account& a) {
      return a.person == t.id && !a.login.empty() && a.login == who;
    });
    if (t.id == who || by_login || std::get<record::PersonSlip>(t.now.slip.body).name == who)
      found.push_back(t);
  }
  if (found.size() == 1) return std::move(found.front());
  return fail(Fault::not_found,
              found.empty() ? fmt::format("nobody is called \"{}\"", who)
                            : fmt::format("several are called \"{}\"", who),
              "a person's id, name or login: hingeline people list");
}

Expected<void> write_person(Opened& shop, const record::Slip& slip) {
  auto sound = record::read_slip(record::write_slip(slip), "person");
  if (!sound) return tl::unexpected(sound.error().front());
  const auto written = shop.book->write({*sound});
  if (!written) return tl::unexpected(written.error());
  if (written->front().outcome == store::Outcome::refused)
    return fail(Fault::content, written->front().what, written->front().expected);
  return {};
}

}  // namespace

Expected<int> serve(const ServeAsked& asked) {
  // Signals are waited for here; threads that begin from now on leave them alone.
  sigset_t signals;
  sigemptyset(&signals);
  for (const int s : {SIGTERM, SIGINT, SIGHUP}) sigaddset(&signals, s);
  pthread_sigmask(SIG_BLOCK, &signals, nullptr);
  auto settings = settings_of(asked);
  if (!settings) return tl::unexpected(settings.error());
  const std::string place = settings->book.shown();
  auto server = server::ShopServer::start(std::move(*settings));
  if (!server) return tl::unexpected(server.error());
  for (const http::Listen& l : (*server)->listening())
    fmt::print("Hingeline serves {} at {}{}\n", place, url_of(l),
               (*server)->alone() ? "" : ", to who logs in");
  std::fflush(stdout);
  for (;;) {
    int got = 0;
    if (sigwait(&signals, &got) != 0) continue;
    if (got != SIGHUP) break;
    if (const auto reloaded = (*server)->reload_certificate(); !reloaded)
      fmt::print(stderr, "hingeline: {}\n", reloaded.error().what);
  }
  constexpr std::chrono::seconds kPatience{20};
  (*server)->stop(kPatience);
  return 0;
}

Expected<std::string> people_add(const PeopleAsked& asked, const Terminal&) {
  auto shop = opened(asked.book);
  if (!shop) return tl::unexpected(shop.error());
  std::string password;
  if (!asked.login.empty()) {
    auto typed = new_password();
    if (!typed) return tl::unexpected(typed.error());
    password = std::move(*typed);
  }
  record::Slip slip = fresh_slip();
  record::PersonSlip says;
  says.name = asked.who;
  says.role = *role_of(asked.role);
  slip.body = std::move(says);
  if (auto written = write_person(*shop, slip); !written) return tl::unexpected(written.error());
  if (!asked.login.empty()) {
    if (auto set = shop->accounts->set_password(slip.id, asked.login, password, now()); !set) {
      // A person nobody can log in as would only be in the way.
      record::Slip gone = slip;
      gone.id = fresh_slip().id;
      gone.replaces = slip.id;
      gone.struck = true;
      gone.why = "no password was set";
      if (auto undone = write_person(*shop, gone); !undone) return tl::unexpected(undone.error());
      return tl::unexpected(set.error());
    }
  }
  if (asked.json) return nlohmann::ordered_json({{"person", slip.id}}).dump() + "\n";
  return fmt::format("{} is written down as {}\n", asked.who, slip.id);
}

Expected<std::string> people_list(const PeopleAsked& asked, const Terminal& terminal) {
  auto shop = opened(asked.book);
  if (!shop) return tl::unexpected(shop.error());
  const auto people = shop->book->all_of(record::SlipKind::person);
  if (!people) return tl::unexpected(people.error());
  const auto accounts = shop->accounts->accounts();
  if (!accounts) return tl::unexpected(accounts.error());
  nlohmann::ordered_json json = {{"people", nlohmann::ordered_json::array()}};
  Table table({"name", "role", "login", "PIN", "id"});
  for (const store::Thing& t : *people) {
    const auto& says = std::get<record::PersonSlip>(t.now.slip.body);
    const auto account = std::find_if(accounts->begin(), accounts->end(),
                                      [&](const access::Account& a) { return a.person == t.id; });
    const bool has = account != accounts->end();
    const std::string login = has ? account->login : std::string();
    const std::string pin = !has || !account->pin ? "no" : account->pin_locked ? "locked" : "yes";
    json["people"].push_back({{"person", t.id},
                              {"name", says.name},
                              {"role", record::word(says.role)},
                              {"gone", says.gone},
                              {"login", login},
                              {"pin", pin}});
    table.row({says.name, says.gone ? "gone" : record::word(says.role), login, pin, t.id});
  }
  if (asked.json) return json.dump(2) + "\n";
  if (people->empty())
    return std::string("Nobody is written down yet: hingeline people add NAME --role owner --login LOGIN\n");
  constexpr std::size_t kFirstOptional = 3;
  return table.text(terminal, kFirstOptional);
}

Expected<std::string> people_password(const PeopleAsked& asked, const Terminal&) {
  auto shop = opened(asked.book);
  if (!shop) return tl::unexpected(shop.error());
  const auto person = person_of(*shop, asked.who);
  if (!person) return tl::unexpected(person.error());
  std::string login = asked.login;
  if (login.empty()) {
    const auto accounts = shop->accounts->accounts();
    if (!accounts) return tl::unexpected(accounts.error());
    for (const access::Account& a : *accounts) {
      if (a.person == person->id) login = a.login;
    }
  }
  if (login.empty()) return fail(Fault::usage, "this person has no login yet", "--login LOGIN");
  const auto password = new_password();
  if (!password) return tl::unexpected(password.error());
  if (auto set = shop->accounts->set_password(person->id, login, *password, now()); !set)
    return tl::unexpected(set.error());
  return fmt::format("{} logs in as {}\n", std::get<record::PersonSlip>(person->now.slip.body).name, login);
}

Expected<std::string> people_gone(const PeopleAsked& asked, const Terminal&) {
  auto shop = opened(asked.book);
  if (!shop) return tl::unexpected(shop.error());
  const auto person = person_of(*shop, asked.who);
  if (!person) return tl::unexpected(person.error());
  if (auto removed = shop->accounts->remove(person->id, now()); !removed)
    return tl::unexpected(removed.error());
  record::Slip slip = fresh_slip();
  auto says = std::get<record::PersonSlip>(person->now.slip.body);
  says.gone = true;
  slip.replaces = person->now.slip.id;
  slip.body = says;
  if (auto written = write_person(*shop, slip); !written) return tl::unexpected(written.error());
  return fmt::format("{} no longer works here\n", says.name);
}

}  // namespace hingeline
