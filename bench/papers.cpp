// How fast papers come: bench cards of the demonstration saxophone, 200 in one run, from its worked-out
// result to one PDF file; pages a second and the most memory that the program held.

#include <benchmark/benchmark.h>
#include <sys/resource.h>

#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "hingeline/drawing/print.h"
#include "hingeline/papers/paper.h"
#include "hingeline/record/document.h"
#include "hingeline/service/papers.h"

namespace hingeline {
namespace {

std::string example(const char* name) {
  std::ifstream file(std::string(HINGELINE_SOURCE_DIR) + "/examples/" + name);
  return {std::istreambuf_iterator<char>(file), {}};
}

struct Bench {
  record::Instrument instrument =
      record::read_instrument(example("saxophone.json"), "saxophone.json").value();
  record::Shop shop = record::read_shop(example("shop.json"), "shop.json").value();
  service::InstrumentResult result = service::work_out(instrument, shop, 1);
};

service::PaperAsked asked(service::PaperKind kind, const char* key = "") {
  service::PaperAsked out;
  out.kind = kind;
  out.key = key;
  out.day = "2026-11-27";
  return out;
}

/// Most memory the program ever held, MB.
double peak() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024;
}

void cards(benchmark::State& state) {
  const Bench bench;
  const auto count = static_cast<std::size_t>(state.range(0));
  std::size_t pages = 0;
  std::size_t bytes = 0;
  for (auto _ : state) {
    std::vector<drawing::Scene> all;
    for (std::size_t i = 0; i < count; ++i) {
      auto made = service::paper_pages({bench.instrument, bench.shop, bench.result, nullptr, {}},
                                       asked(service::PaperKind::card));
      if (!made) return state.SkipWithError(made.error().what.c_str());
      for (drawing::Scene& page : *made) all.push_back(std::move(page));
    }
    const auto pdf = papers::to_pdf(all, "cards", "", "2026-11-27", papers::Language::english);
    if (!pdf) return state.SkipWithError(pdf.error().what.c_str());
    pages += all.size();
    bytes = pdf->size();
  }
  state.counters["pages/s"] = benchmark::Counter(static_cast<double>(pages), benchmark::Counter::kIsRate);
  state.counters["file_MB"] = static_cast<double>(bytes) / 1e6;
  state.counters["peak_MB"] = peak();
}
BENCHMARK(cards)->Arg(1)->Arg(200)->Unit(benchmark::kMillisecond);

void one_paper(benchmark::State& state, service::PaperKind kind, const char* key) {
  const Bench bench;
  for (auto _ : state) {
    auto made =
        service::paper_file({bench.instrument, bench.shop, bench.result, nullptr, {}}, asked(kind, key));
    if (!made) return state.SkipWithError(made.error().what.c_str());
    benchmark::DoNotOptimize(made->data());
  }
}
BENCHMARK_CAPTURE(one_paper, quote, service::PaperKind::quote, "")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(one_paper, lesson, service::PaperKind::lesson, "low-c")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(one_paper, drawings, service::PaperKind::drawings, "low-c")->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace hingeline

BENCHMARK_MAIN();
