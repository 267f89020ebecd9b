// hingeline_load: a shop at work against the whole server, for as long as is asked; docs/measured.md.

#include <CLI/CLI.hpp>
#include <cstdio>
#include <filesystem>
#include <memory>

#include "load/shop_load.h"
#include "support/postgres_server.h"

int main(int argc, char** argv) {
  using namespace hingeline;
  CLI::App app{"A shop at work against hingeline serve: what it takes, and that nothing is lost"};
  load::LoadAsked asked;
  asked.program = HINGELINE_PROGRAM;
  asked.examples = std::string(HINGELINE_SOURCE_DIR) + "/examples";
  double seconds = 300;
  long pause = 1000;
  std::string database = "sqlite";
  app.add_option("--benches", asked.benches, "Benches at work; 16 by default")->check(CLI::Range(1, 250));
  app.add_option("--seconds", seconds, "For so long; 300 by default")->check(CLI::Range(1, 86400));
  app.add_option("--pause", pause, "Of a bench between two things it does, ms on average; 1000 by default")
      ->check(CLI::Range(0, 60000));
  app.add_option("--idle", asked.idle, "Connections that say nothing; 1000 by default");
  app.add_option("--slow", asked.slow, "Slow clients; 50 by default");
  app.add_option("--workers", asked.workers, "Of the server; 4 by default");
  app.add_option("--database", database, "sqlite, or postgres: a server of its own, waiting for the disk")
      ->check(CLI::IsMember({"sqlite", "postgres"}));
  app.add_option("--folder", asked.folder, "An empty folder for book, logs and copies")->required();
  CLI11_PARSE(app, argc, argv);
  asked.lasts = std::chrono::milliseconds(static_cast<long>(seconds * 1000));
  asked.pause = std::chrono::milliseconds(pause);
  try {
    std::filesystem::create_directories(asked.folder);
    asked.folder = std::filesystem::absolute(asked.folder).string();
    std::unique_ptr<support::PostgresServer> postgres;
    if (database == "postgres")
      postgres = std::make_unique<support::PostgresServer>(support::PostgresServer::Options{.durable = true});
    asked.book.text = postgres ? postgres->fresh_database() : asked.folder + "/book.db";
    const load::LoadFigures figures = load::run_load(asked);
    std::fputs(load::text_of(figures).c_str(), stdout);
    return figures.faults.empty() && figures.errors == 0 && figures.lost == 0 && figures.twice == 0 &&
                   figures.untold == 0 && figures.copy_is_right
               ? 0
               : 1;
  } catch (const std::exception& e) {
    std::fprintf(stderr, "hingeline_load: %s\n", e.what());
    return 2;
  }
}
