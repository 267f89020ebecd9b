#include "load/shop_load.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <csignal>
#include <fstream>
#include <iterator>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <optional>
#include <random>
#include <set>
#include <stdexcept>
#include <thread>

#include "hingeline/access/accounts.h"
#include "hingeline/record/slip.h"
#include "hingeline/store/copies.h"
#include "support/serving.h"

namespace hingeline::load {
namespace {

using Json = nlohmann::ordered_json;
using Clock = std::chrono::steady_clock;
using std::chrono::microseconds;
using std::chrono::milliseconds;
using support::Answered;
using support::Asker;

constexpr const char* kPassword = "correct horse battery";
constexpr std::size_t kFaultsTold = 20;

std::string file_text(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw std::runtime_error("cannot read " + path);
  return {std::istreambuf_iterator<char>(file), {}};
}

template <class T>
T must(Expected<T> value) {
  if (!value) throw std::runtime_error(value.error().what + "; " + value.error().expected);
  if constexpr (!std::is_void_v<T>) return std::move(*value);
}

/// Ids of the present moment that no two benches share.
class FreshIds {
 public:
  explicit FreshIds(std::uint64_t seed) : engine_(seed) {}
  std::string next() {
    const auto now =
        std::chrono::duration_cast<milliseconds>(std::chrono::system_clock::now().time_since_epoch());
    last_ = std::max<std::uint64_t>(last_ + 1, static_cast<std::uint64_t>(now.count()));
    const std::uint64_t high = engine_();
    return record::slip_id(last_, high, engine_());
  }

 private:
  std::mt19937_64 engine_;
  std::uint64_t last_ = 0;
};

/// What all benches write down together.
class Notebook {
 public:
  void took(const char* what, microseconds time) {
    const std::lock_guard lock(mutex_);
    figures_.times[what].all.push_back(time);
    ++figures_.requests;
  }
  void fault(std::string what) {
    const std::lock_guard lock(mutex_);
    ++figures_.errors;
    if (figures_.faults.size() < kFaultsTold) figures_.faults.push_back(std::move(what));
  }
  void acknowledged(std::vector<std::string> ids) {
    const std::lock_guard lock(mutex_);
    for (std::string& id : ids) ids_.push_back(std::move(id));
  }
  /// Once nobody writes any more.
  LoadFigures& figures() { return figures_; }
  const std::vector<std::string>& ids() const { return ids_; }

 private:
  std::mutex mutex_;
  LoadFigures figures_;
  std::vector<std::string> ids_;
};

// ---- one bench --------------------------------------------------------------------------------------------

class Bench {
 public:
  Bench(std::size_t nth, const LoadAsked& asked, std::uint16_t port, std::string person, Notebook& notebook)
      : nth_(nth),
        asked_(asked),
        person_(std::move(person)),
        notebook_(notebook),
        asker_(port, fmt::format("192.0.2.{}", 1 + nth % 250)),
        ids_(asked.seed * 1000 + nth),
        engine_(asked.seed * 7919 + nth) {}

  void log_in() {
    if (!asker_.log_in(fmt::format("bench-{}", nth_), kPassword))
      throw std::runtime_error(fmt::format("bench {} cannot log in", nth_));
  }
  [[nodiscard]] int event_socket(std::int64_t after) const {
    return asker_.opened(fmt::format("/api/news?after={}", after), "Accept: text/event-stream\r\n");
  }

  void work(const std::atomic<bool>& over) {
    while (!over) {
      rest();  // also before the first thing: nobody begins the day at the same moment
      if (visit_.empty()) {
        take_in();
        continue;
      }
      const std::size_t dice = engine_() % 100;
      if (dice < 50) {
        save_reading();
        look_at_key();
        if (dice < 20) where_it_stands();
      } else if (dice < 65) {
        tell();
      } else if (dice < 70) {
        hand_back();
        take_in();
      } else if (dice < 78) {
        get("list", "/api/visits?most=50&state=waiting,looked-over,agreed,in-work");
      } else if (dice < 86) {
        static constexpr std::array kWords{"demo",    "ada ratt", "low",    "alto",
                                           "bo clar", "example",  "reading"};
        get("search", fmt::format("/api/visits?words={}", escaped(kWords[engine_() % kWords.size()])));
      } else if (dice < 94) {
        get("open a visit", "/api/visits/" + visit_);
      } else {
        note();
      }
    }
  }

 private:
  static std::string escaped(std::string words) {
    std::replace(words.begin(), words.end(), ' ', '+');
    return words;
  }

  void rest() {
    const double mean = static_cast<double>(asked_.pause.count());
    if (mean <= 0) return;
    // People are not regular: exponential, never above three times the mean.
    const double part = static_cast<double>(engine_() >> 11U) / 9007199254740992.0;
    const double wait = std::min(-std::log(1.0 - part), 3.0) * mean;
    std::this_thread::sleep_for(microseconds(static_cast<std::int64_t>(wait * 1000)));
  }

  /// Nothing when the answer is not the one that was to come, which is written down.
  std::optional<Json> timed(const char* what, std::string_view method, const std::string& path,
                            const std::string& body = {}) {
    const auto began = Clock::now();
    const Answered answer = asker_.ask(method, path, body);
    notebook_.took(what, std::chrono::duration_cast<microseconds>(Clock::now() - began));
    if (answer.status != 200) {
      notebook_.fault(fmt::format("{}: {} {}", what, answer.status, answer.body.substr(0, 200)));
      return std::nullopt;
    }
    auto out = Json::parse(answer.body, nullptr, false);
    if (out.is_discarded()) {
      notebook_.fault(fmt::format("{}: no JSON", what));
      return std::nullopt;
    }
    return out;
  }
  std::optional<Json> get(const char* what, const std::string& path) { return timed(what, "GET", path); }

  /// The outcomes' slips that are in the book now.
  void written(const char* what, const Json& answer) {
    std::vector<std::string> ids;
    for (const Json& outcome : answer.at("outcomes")) {
      if (outcome.at("outcome") != "written" && outcome.at("outcome") != "already")
        notebook_.fault(fmt::format("{}: {}", what, outcome.dump().substr(0, 200)));
      else
        ids.push_back(outcome.at("id"));
    }
    notebook_.acknowledged(std::move(ids));
  }

  [[nodiscard]] Json slip(const char* kind, Json body, const std::string& of, const std::string& key) {
    Json out = {
        {"id", ids_.next()}, {"kind", kind}, {"at", "2026-11-26T14:05:00Z"}, {"by", person_}, {"of", of}};
    if (!key.empty()) out["key"] = key;
    out["body"] = std::move(body);
    return out;
  }
  bool write(const char* what, const Json& slip) {
    const auto answer = timed(what, "POST", "/api/slips", Json({{"slips", {slip}}}).dump());
    if (answer) written(what, *answer);
    return answer.has_value();
  }

  void take_in() {
    visit_.clear();
    keys_.clear();
    readings_.clear();
    const bool sax = engine_() % 2 == 0;
    Json document = Json::parse(file_text(asked_.examples + (sax ? "/saxophone.json" : "/clarinet.json")));
    document["serial"] = fmt::format("DEMO-{}", engine_() % 100'000);
    const Json wanted = {{"id", ids_.next()},
                         {"day", "2026-11-20"},
                         {"complaint", sax ? "low notes rattle" : "binds when it is cold"},
                         {"promised", fmt::format("2026-12-{:02}", 1 + engine_() % 28)},
                         {"document", std::move(document)}};
    const auto taken = timed("take in", "POST", "/api/documents", wanted.dump());
    if (!taken) return;
    written("take in", *taken);
    const auto opened = get("open a visit", "/api/visits/" + taken->at("visit").get<std::string>());
    if (!opened) return;
    visit_ = taken->at("visit");
    visit_slip_ = opened->at("visit").at("slip");
    for (const Json& key : opened->at("keys")) {
      const Json& said = key.at("slip").at("body");
      keys_.push_back({key.at("thing"), said.at("id")});
    }
    for (const Json& reading : opened->at("readings")) {
      const Json& slip = reading.at("slip");
      if (slip.contains("key") && slip.at("body").at("at") == "/readings/end_play")
        readings_[slip.at("key")] = slip.at("id");
    }
    choose_key();
  }

  void choose_key() {
    // Of those whose end play can be read again: the pivoted and the rods alike.
    key_ = engine_() % keys_.size();
  }

  void save_reading() {
    if (engine_() % 4 == 0) choose_key();
    const Key& key = keys_[key_];
    const double value = 0.01 + static_cast<double>(engine_() % 80) / 1000;
    Json one =
        slip("reading", {{"at", "/readings/end_play"}, {"value", fmt::format("{:.3f} mm ± 0.006", value)}},
             visit_, key.thing);
    const auto old = readings_.find(key.thing);
    if (old != readings_.end()) {
      Json again = {{"id", one.at("id")}};
      for (const auto& item : one.items()) {
        if (item.key() == "body") {
          again["replaces"] = old->second;
          again["why"] = "read again";
        }
        again[item.key()] = item.value();
      }
      one = std::move(again);
    }
    if (write("save a reading", one)) readings_[key.thing] = one.at("id");
  }

  void look_at_key() {
    get("recompute a key", fmt::format("/api/visits/{}/fit?key={}", visit_, keys_[key_].id));
  }

  std::optional<Json> where_it_stands() {
    return get("where a key stands", fmt::format("/api/visits/{}/lead/{}", visit_, keys_[key_].id));
  }

  void tell() {
    const auto stands = where_it_stands();
    if (!stands) return;
    const Json& state = stands->at("state");
    if (state.at("finished").get<bool>()) {
      choose_key();
      return;
    }
    const Json& next = state.at("next");
    std::string typed = "done";
    if (next.at("what") == "look") {
      typed = "cannot";
      const Json answers = next.value("answers", Json::array());
      if (!answers.empty()) typed = answers[engine_() % answers.size()];
      if (next.value("check", "") == "end-play") typed = "0.03 mm";
    }
    const std::string id = ids_.next();
    const auto told =
        timed("tell an answer", "POST", fmt::format("/api/visits/{}/lead/{}", visit_, keys_[key_].id),
              Json({{"id", id}, {"typed", typed}, {"seen", stands->at("as_of")}}).dump());
    if (told) notebook_.acknowledged({id});
  }

  void note() { write("write a note", slip("note", {{"text", "chips under the head"}}, visit_, {})); }

  void hand_back() {
    Json one = visit_slip_;
    Json said = one.at("body");
    said["state"] = "handed-back";
    Json again = {{"id", ids_.next()}, {"kind", "visit"},    {"at", "2026-11-26T15:00:00Z"},
                  {"by", person_},     {"of", one.at("of")}, {"replaces", one.at("id")},
                  {"body", said}};
    write("hand back", again);
  }

  struct Key {
    std::string thing;
    std::string id;
  };
  std::size_t nth_;
  const LoadAsked& asked_;
  std::string person_;
  Notebook& notebook_;
  Asker asker_;
  FreshIds ids_;
  std::mt19937_64 engine_;
  std::string visit_;
  Json visit_slip_;
  std::vector<Key> keys_;
  std::map<std::string, std::string> readings_;  ///< last slip of the end play, by key
  std::size_t key_ = 0;
};

// ---- event streams ----------------------------------------------------------------------------------------

/// Reads one stream to its end and keeps which slips it told.
class Listener {
 public:
  Listener(int fd, std::int64_t after) : fd_(fd), last_(after) {
    thread_ = std::thread([this] { read(); });
  }
  ~Listener() {
    end();
    ::close(fd_);
  }
  Listener(const Listener&) = delete;
  Listener& operator=(const Listener&) = delete;

  void end() {
    ::shutdown(fd_, SHUT_RDWR);
    if (thread_.joinable()) thread_.join();
  }
  [[nodiscard]] std::int64_t last() const { return last_; }
  /// Once it has ended: how many slips it told, and how many it left out, told twice or out of order.
  [[nodiscard]] std::size_t told() const { return told_; }
  [[nodiscard]] std::size_t wrong() const { return wrong_; }

 private:
  void read() {
    std::string text;
    std::array<char, 16U << 10U> piece;
    for (ssize_t got = 0; (got = ::recv(fd_, piece.data(), piece.size(), 0)) > 0;) {
      text.append(piece.data(), static_cast<std::size_t>(got));
      std::size_t from = 0;
      for (std::size_t end = 0; (end = text.find('\n', from)) != std::string::npos; from = end + 1) {
        // Only the ids matter here: they are the slips' numbers.
        if (text.compare(from, 4, "id: ") == 0) number(std::stoll(text.substr(from + 4, end - from - 4)));
        if (text.compare(from, 3, "id:") == 0 && text[from + 3] != ' ')
          number(std::stoll(text.substr(from + 3, end - from - 3)));
      }
      text.erase(0, from);
    }
  }
  void number(std::int64_t n) {
    const std::int64_t next = last_ + 1;
    if (n == next)
      ++told_;
    else
      wrong_ += static_cast<std::size_t>(n > next ? n - next : 1);
    last_ = std::max<std::int64_t>(n, last_);
  }

  int fd_;
  std::atomic<std::int64_t> last_;
  std::size_t told_ = 0;
  std::size_t wrong_ = 0;
  std::thread thread_;
};

// ---- those who are in the way -----------------------------------------------------------------------------

/// Connections that say nothing, and clients that are slow: a byte of a request a second, a head that never
/// ends, answers that are asked for and not read.
class Crowd {
 public:
  Crowd(std::uint16_t port, std::size_t idle, std::size_t slow) : port_(port) {
    for (std::size_t i = 0; i < idle; ++i) clients_.push_back({Kind::idle});
    static constexpr std::array kSlow{Kind::byte_by_byte, Kind::never_ends, Kind::never_reads};
    for (std::size_t i = 0; i < slow; ++i) clients_.push_back({kSlow[i % kSlow.size()]});
    for (Client& c : clients_) begin(c);
    thread_ = std::thread([this] { run(); });
  }
  ~Crowd() { end(nullptr); }
  Crowd(const Crowd&) = delete;
  Crowd& operator=(const Crowd&) = delete;

  void end(LoadFigures* into) {
    over_ = true;
    if (thread_.joinable()) thread_.join();
    for (Client& c : clients_) {
      if (c.fd < 0) continue;
      if (into != nullptr) ++(c.kind == Kind::idle ? into->idle_held : into->slow_held);
      ::close(c.fd);
      c.fd = -1;
    }
    if (into == nullptr) return;
    into->idle_closed = idle_closed_;
    into->slow_ended = slow_ended_;
  }

 private:
  enum class Kind { idle, byte_by_byte, never_ends, never_reads };
  struct Client {
    Kind kind = Kind::idle;
    int fd = -1;
    std::size_t sent = 0;
  };

  void begin(Client& c) const {
    constexpr int kSmall = 4096;
    c.fd = support::connected(port_, c.kind == Kind::never_reads ? kSmall : 0);
    c.sent = 0;
    if (c.fd < 0) return;
    ::fcntl(c.fd, F_SETFL, ::fcntl(c.fd, F_GETFL) | O_NONBLOCK);
    if (c.kind == Kind::never_ends) say(c, "GET / HTTP/1.1\r\nHost: localhost\r\nX-More: ");
    if (c.kind == Kind::never_reads) {
      for (int i = 0; i < 200; ++i) say(c, "GET /page.js HTTP/1.1\r\nHost: localhost\r\n\r\n");
    }
  }
  static void say(const Client& c, std::string_view text) {
    static_cast<void>(::send(c.fd, text.data(), text.size(), MSG_NOSIGNAL));
  }

  void run() {
    std::vector<pollfd> looks;
    auto second = Clock::now();
    while (!over_) {
      looks.clear();
      for (const Client& c : clients_) {
        // Who does not read learns only by a hang-up that the server has had enough.
        looks.push_back({c.fd, static_cast<short>(c.kind == Kind::never_reads ? 0 : POLLIN), 0});
      }
      ::poll(looks.data(), looks.size(), 100);
      for (std::size_t i = 0; i < clients_.size(); ++i) {
        Client& c = clients_[i];
        if (c.fd >= 0 && looks[i].revents == 0) continue;
        if (c.fd >= 0) {
          ++(c.kind == Kind::idle ? idle_closed_ : slow_ended_);
          ::close(c.fd);
        }
        begin(c);
      }
      if (Clock::now() - second < std::chrono::seconds(1)) continue;
      second = Clock::now();
      static constexpr std::string_view kWhole =
          "GET /health HTTP/1.1\r\nHost: localhost\r\nX-Slow: aaaaaaaaaaaaaaaa";
      for (Client& c : clients_) {
        if (c.kind == Kind::byte_by_byte && c.fd >= 0) say(c, kWhole.substr(c.sent++ % kWhole.size(), 1));
      }
    }
  }

  std::uint16_t port_;
  std::vector<Client> clients_;
  std::atomic<bool> over_{false};
  std::size_t idle_closed_ = 0;
  std::size_t slow_ended_ = 0;
  std::thread thread_;
};

// ---- the book before and after ----------------------------------------------------------------------------

/// People with logins and the shop's document; who they are, by bench.
std::vector<std::string> prepare(const LoadAsked& asked) {
  auto book = must(store::Book::open(asked.book));
  access::Rules rules;
  if (asked.quick_passwords) {
    rules.cost.passes = 1;
    rules.cost.memory = 8U << 10U;
  }
  auto accounts = must(access::Accounts::open(asked.book, rules));
  const auto now =
      std::chrono::duration_cast<access::Milliseconds>(std::chrono::system_clock::now().time_since_epoch());
  FreshIds ids(asked.seed + 99);
  const auto person = [&](const std::string& name, record::Role role, const std::string& login) {
    record::Slip slip;
    slip.id = ids.next();
    slip.at = "2026-11-26T14:00:00Z";
    slip.body = record::PersonSlip{name, {}, role, false, {}};
    must(book->write({slip}));
    must(accounts->set_password(slip.id, login, kPassword, now));
    return slip.id;
  };
  person("Orla Example", record::Role::owner, "owner");
  std::vector<std::string> out;
  for (std::size_t n = 0; n < asked.benches; ++n)
    out.push_back(
        person(fmt::format("Bench Example {}", n), record::Role::bench, fmt::format("bench-{}", n)));
  return out;
}

void put_shop(const LoadAsked& asked, std::uint16_t port) {
  Asker owner(port, "192.0.2.254");
  if (!owner.log_in("owner", kPassword)) throw std::runtime_error("the owner cannot log in");
  FreshIds ids(asked.seed + 98);
  const Json wanted = {{"id", ids.next()},
                       {"document", Json::parse(file_text(asked.examples + "/shop.json"))}};
  const Answered answer = owner.ask("PUT", "/api/shop", wanted.dump());
  if (answer.status != 200) throw std::runtime_error("the shop document is refused: " + answer.body);
}

/// Every slip of a book, in its order.
std::vector<store::Kept> all_slips(store::Book& book) {
  std::vector<store::Kept> out;
  for (std::int64_t number = 0;;) {
    auto page = must(book.after(number, 5000));
    if (page.empty()) return out;
    number = page.back().number;
    std::move(page.begin(), page.end(), std::back_inserter(out));
  }
}

void compare_with_book(const LoadAsked& asked, const std::vector<std::string>& acknowledged,
                       LoadFigures& figures) {
  auto book = must(store::Book::open(asked.book));
  must(book->check());
  std::map<std::string, int> there;
  for (const store::Kept& kept : all_slips(*book)) {
    ++figures.slips;
    if (kept.number != figures.slips) figures.faults.push_back(fmt::format("no slip {}", figures.slips));
    if (++there[kept.slip.id] > 1) ++figures.twice;
  }
  figures.acknowledged = acknowledged.size();
  for (const std::string& id : acknowledged) {
    if (there.contains(id)) continue;
    ++figures.lost;
    if (figures.faults.size() < kFaultsTold) figures.faults.push_back(id + " was lost");
  }
}

/// Whether a copy, brought back, is the archive of the book's first slips, byte for byte.
bool copy_is_right(const LoadAsked& asked, const store::CopyMade& made, LoadFigures& figures) {
  const sql::Address back{asked.folder + "/back.db"};
  if (must(store::restore(made.copy.path, back)).copy.archive != made.archive) return false;
  auto restored = must(store::Book::open(back));
  const std::vector<store::Kept> in_copy = all_slips(*restored);
  figures.slips_in_copy = static_cast<std::int64_t>(in_copy.size());
  auto book = must(store::Book::open(asked.book));
  std::vector<record::Slip> first;
  for (const store::Kept& kept : all_slips(*book)) {
    if (kept.number <= figures.slips_in_copy) first.push_back(kept.slip);
  }
  auto again = must(store::Book::open({asked.folder + "/again.db"}));
  for (std::size_t at = 0; at < first.size(); at += 1000) {
    const auto end = first.begin() + static_cast<std::ptrdiff_t>(std::min(at + 1000, first.size()));
    must(again->write({first.begin() + static_cast<std::ptrdiff_t>(at), end}));
  }
  const auto written = [&](store::Book& one, const std::string& name) {
    const std::string path = asked.folder + "/" + name;
    must(store::write_archive_file(one, path));
    return file_text(path);
  };
  return written(*restored, "back.archive") == written(*again, "again.archive");
}

void allow_descriptors() {
  rlimit limit{};
  ::getrlimit(RLIMIT_NOFILE, &limit);
  limit.rlim_cur = limit.rlim_max;
  ::setrlimit(RLIMIT_NOFILE, &limit);
}

}  // namespace

microseconds Times::at(double part) const {
  if (all.empty()) return {};
  const auto rank = static_cast<std::size_t>(std::ceil(part * static_cast<double>(all.size())));
  return all[std::clamp<std::size_t>(rank, 1, all.size()) - 1];
}

LoadFigures run_load(const LoadAsked& asked) {
  allow_descriptors();
  const std::vector<std::string> people = prepare(asked);
  support::Serving server({asked.program,
                           asked.book.text,
                           asked.folder + "/serve.out",
                           {"--behind-proxy", "--quiet", "--workers", std::to_string(asked.workers)}});
  put_shop(asked, server.port());
  Notebook notebook;
  std::vector<std::unique_ptr<Bench>> benches;
  for (std::size_t n = 0; n < asked.benches; ++n) {
    benches.push_back(std::make_unique<Bench>(n, asked, server.port(), people[n], notebook));
    benches.back()->log_in();
  }
  const std::int64_t began = must(must(store::Book::open(asked.book))->last_number());
  std::vector<std::unique_ptr<Listener>> listeners;
  for (const auto& bench : benches)
    listeners.push_back(std::make_unique<Listener>(bench->event_socket(began), began));
  Crowd crowd(server.port(), asked.idle, asked.slow);

  std::atomic<bool> over{false};
  std::vector<std::thread> threads;
  const auto end = Clock::now() + asked.lasts;
  for (const auto& bench : benches) threads.emplace_back([&over, b = bench.get()] { b->work(over); });
  std::optional<store::CopyMade> made;
  LoadFigures& figures = notebook.figures();
  std::string copy_fault;
  if (asked.copy) {
    std::this_thread::sleep_until(end - asked.lasts / 2);
    const auto copy_began = Clock::now();
    const auto seconds =
        std::chrono::duration_cast<std::chrono::seconds>(std::chrono::system_clock::now().time_since_epoch());
    auto copied = store::make_copy(asked.book, asked.folder + "/copies", Moment::at(seconds.count()));
    figures.copy_took = std::chrono::duration_cast<milliseconds>(Clock::now() - copy_began);
    if (copied)
      made = std::move(*copied);
    else
      copy_fault = copied.error().what;
  }
  std::this_thread::sleep_until(end);
  over = true;
  for (std::thread& thread : threads) thread.join();
  if (!copy_fault.empty()) notebook.fault("copying: " + copy_fault);

  // What was written last is told within a moment; nothing else is waited for.
  const std::int64_t last = must(must(store::Book::open(asked.book))->last_number());
  const auto patience = Clock::now() + std::chrono::seconds(10);
  for (const auto& listener : listeners) {
    while (listener->last() < last && Clock::now() < patience) std::this_thread::sleep_for(milliseconds(10));
    listener->end();
    figures.events += listener->told();
    figures.untold += listener->wrong() + static_cast<std::size_t>(last - listener->last());
  }
  crowd.end(&figures);
  if (server.stop(SIGTERM) != 0) figures.faults.push_back("the server did not end well: " + server.told());
  for (auto& [what, times] : figures.times) std::sort(times.all.begin(), times.all.end());
  compare_with_book(asked, notebook.ids(), figures);
  if (made) figures.copy_is_right = copy_is_right(asked, *made, figures);
  return std::move(figures);
}

std::string text_of(const LoadFigures& f) {
  const auto ms = [](microseconds time) {
    return fmt::format("{:.1f}", static_cast<double>(time.count()) / 1000);
  };
  std::string out =
      fmt::format("{:<22}{:>9}{:>9}{:>9}{:>9}{:>9}  ms\n", "", "number", "p50", "p95", "p99", "max");
  for (const auto& [what, times] : f.times) {
    out += fmt::format("{:<22}{:>9}{:>9}{:>9}{:>9}{:>9}\n", what, times.all.size(), ms(times.at(0.5)),
                       ms(times.at(0.95)), ms(times.at(0.99)), ms(times.at(1)));
  }
  out += fmt::format("requests {}, errors {}\n", f.requests, f.errors);
  out += fmt::format("slips acknowledged {}, lost {}, twice {}; in the book {}\n", f.acknowledged, f.lost,
                     f.twice, f.slips);
  out += fmt::format("events told {}, not told or told twice {}\n", f.events, f.untold);
  out +=
      fmt::format("idle connections {} (closed meanwhile and opened anew: {}), slow clients {} (ended: {})\n",
                  f.idle_held, f.idle_closed, f.slow_held, f.slow_ended);
  if (f.copy_took.count() > 0)
    out += fmt::format("copy of {} slips in {} ms: {}\n", f.slips_in_copy, f.copy_took.count(),
                       f.copy_is_right ? "the same, byte for byte" : "NOT what the book was");
  for (const std::string& fault : f.faults) out += "! " + fault + "\n";
  return out;
}

}  // namespace hingeline::load
