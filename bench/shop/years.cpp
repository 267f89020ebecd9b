// hingeline_years: a book of ten years, and how long the server takes over lists, searches and opening a
// visit: by itself, and while a copy is being taken and somebody writes; docs/measured.md.

#include <fmt/format.h>
#include <CLI/CLI.hpp>
#include <atomic>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <stdexcept>
#include <thread>

#include "hingeline/record/slip.h"
#include "hingeline/sql/database.h"
#include "hingeline/store/copies.h"
#include "load/shop_load.h"
#include "load/shop_years.h"
#include "support/postgres_server.h"
#include "support/serving.h"

namespace {

using namespace hingeline;
using Clock = std::chrono::steady_clock;
using std::chrono::microseconds;

template <class T, class E>
T must(tl::expected<T, E> value) {
  if (!value) throw std::runtime_error(value.error().what);
  return std::move(*value);
}

double seconds_since(Clock::time_point began) {
  return std::chrono::duration<double>(Clock::now() - began).count();
}

/// What the server does by itself over the years: here they took minutes.
void be_swept(const sql::Address& address) { must(must(sql::open(address))->run("vacuum analyze")); }

/// Every 7th of a kind's things.
std::vector<std::string> some(store::Book& book, record::SlipKind kind) {
  std::vector<std::string> out;
  std::string after;
  for (std::size_t n = 0;;) {
    const auto page = must(book.all_of(kind, 1000, after));
    if (page.empty()) return out;
    after = page.back().id;
    for (const store::Thing& t : page) {
      if (n++ % 7 == 0) out.push_back(t.id);
    }
  }
}

void ask(std::uint16_t port, const std::vector<load::Questions>& all, const char* when) {
  std::printf("%s\n%-36s%8s%9s%9s%9s%9s  ms\n", when, "", "number", "p50", "p95", "p99", "max");
  support::Asker asker(port);
  for (const load::Questions& q : all) {
    load::Times times;
    for (const std::string& path : q.paths) {
      const auto began = Clock::now();
      const support::Answered answer = asker.get(path);
      times.all.push_back(std::chrono::duration_cast<microseconds>(Clock::now() - began));
      if (answer.status != 200)
        throw std::runtime_error(fmt::format("{}: {} {}", path, answer.status, answer.body));
    }
    std::sort(times.all.begin(), times.all.end());
    const auto ms = [&](double part) { return static_cast<double>(times.at(part).count()) / 1000; };
    std::printf("%-36s%8zu%9.1f%9.1f%9.1f%9.1f%s\n", q.what.c_str(), times.all.size(), ms(0.5), ms(0.95),
                ms(0.99), ms(1), ms(0.95) < 50 ? "" : "  above 50");
    std::fflush(stdout);
  }
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"A book of ten years, and how long lists, searches and opening a visit take"};
  load::YearsAsked asked;
  asked.examples = std::string(HINGELINE_SOURCE_DIR) + "/examples";
  std::string database = "sqlite";
  std::string folder;
  bool alone = false;
  app.add_option("--visits", asked.visits, "50000 by default");
  app.add_option("--readings", asked.readings, "Of a visit; 20 by default");
  app.add_option("--database", database, "sqlite, or postgres: a server of its own")
      ->check(CLI::IsMember({"sqlite", "postgres"}));
  app.add_option("--folder", folder, "For the book; one that is there is taken as it is (sqlite)")
      ->required();
  app.add_flag("--alone", alone, "Without the second round, beside a copy and a writer");
  CLI11_PARSE(app, argc, argv);
  try {
    std::filesystem::create_directories(folder);
    folder = std::filesystem::absolute(folder).string();
    std::unique_ptr<support::PostgresServer> postgres;
    if (database == "postgres")
      postgres = std::make_unique<support::PostgresServer>(support::PostgresServer::Options{.durable = true});
    const sql::Address address{postgres ? postgres->fresh_database() : folder + "/book.db"};
    auto book = must(store::Book::open(address));
    if (must(book->last_number()) == 0) {
      const auto began = Clock::now();
      const auto filled = load::fill_years(*book, asked);
      std::printf("filled with %lld slips in %.0f s\n", static_cast<long long>(filled.slips),
                  seconds_since(began));
      if (postgres) be_swept(address);
    }
    const auto all =
        load::questions(asked, some(*book, record::SlipKind::visit), some(*book, record::SlipKind::owner));
    support::Serving server({HINGELINE_PROGRAM, address.text, folder + "/serve.out", {"--quiet"}});
    ask(server.port(), all, "alone");
    if (!alone) {
      std::atomic<bool> over{false};
      std::atomic<int> copies{0};
      std::atomic<int> written{0};
      const std::string instrument = must(book->all_of(record::SlipKind::instrument, 1)).front().id;
      std::thread copier([&] {
        for (int n = 0; !over; ++n) {
          must(store::make_copy(address, folder + "/copies", Moment::at(1'795'000'000 + n),
                                store::KeepRules{1, 0, 0, 0}));
          ++copies;
        }
      });
      std::thread writer([&] {
        support::Asker asker(server.port());
        for (std::uint64_t n = 0; !over; ++n) {
          const std::string id = record::slip_id(1'795'000'000'000ULL + n, n, n);
          const auto answer = asker.ask(
              "POST", "/api/slips",
              fmt::format(R"({{"slips":[{{"id":"{}","kind":"note","at":"2026-11-26T14:05:00Z","of":"{}",)"
                          R"("body":{{"text":"written meanwhile {}"}}}}]}})",
                          id, instrument, n));
          if (answer.status == 200) ++written;
          std::this_thread::sleep_for(std::chrono::milliseconds(100));
        }
      });
      const auto began = Clock::now();
      ask(server.port(), all, "while a copy is being taken and somebody writes ten notes a second");
      const double lasted = seconds_since(began);
      over = true;
      copier.join();
      writer.join();
      std::printf("meanwhile, in %.0f s: %d copies, %d notes written\n", lasted, copies.load(),
                  written.load());
    }
    server.stop(SIGTERM);
    return 0;
  } catch (const std::exception& e) {
    std::fprintf(stderr, "hingeline_years: %s\n", e.what());
    return 2;
  }
}
