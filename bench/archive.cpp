// Writing the whole shop as an archive and reading it back, by the number of slips.
//
// HINGELINE_BENCH_SERVER=postgresql://... adds an empty database of that server; its schema "public" is
// emptied.

#include <benchmark/benchmark.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <map>
#include <stdexcept>

#include "hingeline/store/archive.h"

namespace hingeline::store {
namespace {

using record::Slip;

template <class T>
T must(Expected<T> value) {
  if (!value) throw std::runtime_error(value.error().what);
  if constexpr (!std::is_void_v<T>) return std::move(*value);
}

/// A shop of so many slips: one owner and one instrument in a hundred, four visits, the rest readings and
/// notes, some of them put right.
std::vector<Slip> made(std::size_t count) {
  std::vector<Slip> out;
  std::string who;
  std::string what;
  std::string in;
  const auto add = [&](record::SlipBody body, const std::string& of) {
    Slip s;
    const std::uint64_t n = out.size() + 1;
    s.id = record::slip_id(1'700'000'000'000ULL + n * 100, n, n * 2654435761U);
    s.at = "2026-11-25T14:05:00Z";
    s.of = of;
    s.body = std::move(body);
    out.push_back(std::move(s));
    return out.back().id;
  };
  for (std::size_t n = 0; out.size() < count; ++n) {
    if (n % 100 == 0) who = add(record::OwnerSlip{fmt::format("Ada Example {}", n), "555 0100", {}, {}}, "");
    if (n % 100 == 0)
      what = add(record::InstrumentSlip{"Old alto", "alto saxophone", fmt::format("{}", n), {}, {}}, who);
    if (n % 25 == 0)
      in = add(
          record::VisitSlip{
              "rattles in the low notes", "2026-11-20", "2026-12-01", record::VisitState::in_work, {}, {}},
          what);
    if (n % 5 == 0) {
      add(record::NoteSlip{fmt::format("cork {} is hard, felt is thin", n), {}}, in);
    } else {
      add(record::ReadingSlip{"/readings/end_play", {fmt::format("\"0.{:03} mm\"", n % 1000), {}}, {}}, in);
    }
    if (n % 20 == 19) {
      Slip s = out.back();
      s.replaces = s.id;
      s.why = "read again";
      s.id = add(s.body, s.of);
      out.back() = s;
    }
  }
  out.resize(count);
  return out;
}

std::filesystem::path folder() {
  static const std::filesystem::path path = [] {
    auto p = std::filesystem::temp_directory_path() / fmt::format("hingeline-bench-{}", ::getpid());
    std::filesystem::create_directories(p);
    std::atexit([] {
      std::error_code left;
      std::filesystem::remove_all(
          std::filesystem::temp_directory_path() / fmt::format("hingeline-bench-{}", ::getpid()), left);
    });
    return p;
  }();
  return path;
}

/// The archive of a shop of so many slips.
const std::string& text_of(std::size_t count) {
  static std::map<std::size_t, std::string> texts;
  std::string& text = texts[count];
  if (text.empty()) {
    auto book = must(Book::open({(folder() / fmt::format("made-{}", count)).string()}));
    must(book->write(made(count)));
    must(write_archive(*book, [&](std::string_view piece) -> Expected<void> {
      text += piece;
      return {};
    }));
  }
  return text;
}

sql::Address empty_place(bool server) {
  static int places = 0;
  if (!server) return {(folder() / fmt::format("book-{}", ++places)).string()};
  const sql::Address address{std::getenv("HINGELINE_BENCH_SERVER")};
  auto raw = sql::open(address);
  if (!raw || !(*raw)->run_all("drop schema public cascade; create schema public"))
    throw std::runtime_error("the server's database cannot be emptied");
  return address;
}

Archived read_into(Book& book, const std::string& text) {
  std::size_t at = 0;
  return must(read_archive(
      book,
      [&](std::span<char> into) -> Expected<std::size_t> {
        const std::size_t n = std::min(into.size(), text.size() - at);
        text.copy(into.data(), n, at);
        at += n;
        return n;
      },
      "the archive"));
}

void reads(benchmark::State& state, bool server) {
  const std::string& text = text_of(static_cast<std::size_t>(state.range(0)));
  for (auto _ : state) {
    state.PauseTiming();
    auto book = must(Book::open(empty_place(server)));
    state.ResumeTiming();
    read_into(*book, text);
  }
  state.SetItemsProcessed(state.iterations() * state.range(0));
}

void writes(benchmark::State& state, bool server) {
  auto book = must(Book::open(empty_place(server)));
  read_into(*book, text_of(static_cast<std::size_t>(state.range(0))));
  for (auto _ : state) benchmark::DoNotOptimize(must(sum_of(*book)));
  state.SetItemsProcessed(state.iterations() * state.range(0));
}

const bool kAdded = [] {
  for (const bool server : {false, true}) {
    if (server && std::getenv("HINGELINE_BENCH_SERVER") == nullptr) continue;
    const std::string where = server ? "server" : "file";
    for (const bool reading : {true, false}) {
      benchmark::RegisterBenchmark(
          (where + (reading ? "/read" : "/write")).c_str(),
          [=](benchmark::State& s) { reading ? reads(s, server) : writes(s, server); })
          ->Arg(10'000)
          ->Arg(100'000)
          ->Unit(benchmark::kMillisecond)
          ->UseRealTime()
          ->Iterations(1);
    }
  }
  return true;
}();

}  // namespace
}  // namespace hingeline::store

BENCHMARK_MAIN();
