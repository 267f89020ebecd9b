// The whole instrument: figures, verdict and plan of 25 keys on one core (aim: under 2 ms), the same split
// into its parts, and the program from its start to its last byte (aim: under 30 ms) beside one that does
// nothing.

#include <benchmark/benchmark.h>
#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <fstream>
#include <iterator>
#include <stdexcept>
#include <string>

#include "hingeline/record/document.h"
#include "hingeline/service/bench.h"

namespace {

using namespace hingeline;

std::string text_of(const std::string& name) {
  std::ifstream file(std::string(HINGELINE_SOURCE_DIR) + "/examples/" + name);
  return {std::istreambuf_iterator<char>(file), {}};
}

struct Documents {
  std::string text = text_of("saxophone.json");
  record::Instrument instrument = record::read_instrument(text, "saxophone.json").value();
  record::Shop shop = record::read_shop(text_of("shop.json"), "shop.json").value();
  Documents() { instrument.keys.resize(25); }
};
const Documents& documents() {
  static const Documents d;
  return d;
}

void read_document(benchmark::State& state) {
  const Documents& d = documents();
  for (auto _ : state) benchmark::DoNotOptimize(record::read_instrument(d.text, ""));
}

void work_out_25_keys(benchmark::State& state) {
  const Documents& d = documents();
  for (auto _ : state) benchmark::DoNotOptimize(service::work_out(d.instrument, d.shop, 1));
}

/// Estimates done before: what planning alone costs.
void plan_25_keys(benchmark::State& state) {
  const auto result = service::work_out(documents().instrument, documents().shop, 1);
  for (auto _ : state) {
    for (const auto& key : result.keys) benchmark::DoNotOptimize(plan::plan_key(*key.key_case));
  }
}

void start_to_end(benchmark::State& state, const std::string& program, std::vector<std::string> arguments) {
  std::vector<char*> argv;
  arguments.insert(arguments.begin(), program);
  for (auto& a : arguments) argv.push_back(a.data());
  argv.push_back(nullptr);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
  for (auto _ : state) {
    pid_t child = 0;
    if (posix_spawn(&child, program.c_str(), &actions, nullptr, argv.data(), environ) != 0) {
      throw std::runtime_error(program);
    }
    int status = 0;
    waitpid(child, &status, 0);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) throw std::runtime_error(program);
  }
  posix_spawn_file_actions_destroy(&actions);
}
void start_nothing(benchmark::State& state) { start_to_end(state, "/bin/true", {}); }
void start_fit_demo(benchmark::State& state) {
  start_to_end(state, HINGELINE_PROGRAM,
               {"fit", std::string(HINGELINE_SOURCE_DIR) + "/examples/saxophone.json"});
}

void settings(benchmark::internal::Benchmark* b) { b->Repetitions(9)->ReportAggregatesOnly(true); }

BENCHMARK(read_document)->Apply(settings)->Unit(benchmark::kMillisecond);
BENCHMARK(work_out_25_keys)->Apply(settings)->Unit(benchmark::kMillisecond);
BENCHMARK(plan_25_keys)->Apply(settings)->Unit(benchmark::kMillisecond);
BENCHMARK(start_nothing)->Apply(settings)->UseRealTime()->Unit(benchmark::kMillisecond);
BENCHMARK(start_fit_demo)->Apply(settings)->UseRealTime()->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
