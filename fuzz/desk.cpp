// Any bytes as something asked of a desk with an instrument in its book: nothing crashes, what is refused is
// refused with a word, and the instrument can be put together afterwards. Each begins with the same book.

#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <memory>
#include <nlohmann/json.hpp>

#include "desk_words.h"

namespace {

using namespace hingeline;
using Json = nlohmann::ordered_json;

[[noreturn]] void stop(const std::string& why) {
  std::fprintf(stderr, "%s\n", why.c_str());
  std::abort();
}

Json example(const char* name) {
  std::ifstream file(std::filesystem::path(HINGELINE_SOURCE_DIR) / "examples" / name);
  return Json::parse(file);
}

std::unique_ptr<desk::Desk> opened(const std::filesystem::path& book) {
  desk::DeskRules rules;
  rules.connections = 1;
  rules.milliseconds = [] { return 1'764'000'000'000; };
  auto out = desk::Desk::open({book.string()}, rules);
  if (!out) stop(out.error().what);
  return std::move(*out);
}

/// A book with an owner and one key, made once, and copied for each run.
class Beginning {
 public:
  Beginning()
      : folder_(std::filesystem::temp_directory_path() / ("hingeline-fuzz-" + std::to_string(::getpid()))) {
    std::filesystem::create_directories(folder_);
    Json instrument = example("saxophone.json");
    Json keys = Json::array();
    for (const Json& key : instrument.at("keys")) {
      if (key.at("id") == "low-c") keys.push_back(key);
    }
    instrument["keys"] = keys;
    for (const char* member : {"stacks", "links", "closes_together", "works", "budget"})
      instrument.erase(member);
    const auto desk = opened(folder_ / "first.db");
    const auto done = [](const desk::Answer<std::string>& answer) {
      if (!answer) stop(answer.error().errors.front().what);
      return Json::parse(*answer);
    };
    done(desk->put_shop({}, Json({{"id", kShop}, {"document", example("shop.json")}}).dump()));
    done(desk->write({}, Json({{"slips",
                                {{{"id", kOwner},
                                  {"kind", "owner"},
                                  {"at", "2026-11-20T10:00:00Z"},
                                  {"body", {{"name", "Ada Example"}}}}}}})
                             .dump()));
    const Json in = done(desk->take_in({}, Json({{"id", kVisit},
                                                 {"owner", kOwner},
                                                 {"day", "2026-11-20"},
                                                 {"complaint", "rattles"},
                                                 {"promised", ""},
                                                 {"document", instrument}})
                                               .dump()));
    names = desk::fuzz::names_of(*desk, kOwner, in.at("visit"));
  }
  ~Beginning() {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }
  Beginning(const Beginning&) = delete;
  Beginning& operator=(const Beginning&) = delete;

  [[nodiscard]] std::unique_ptr<desk::Desk> again() const {
    for (const char* beside : {"-wal", "-shm"})
      std::filesystem::remove(folder_ / (std::string("book.db") + beside));
    std::filesystem::copy_file(folder_ / "first.db", folder_ / "book.db",
                               std::filesystem::copy_options::overwrite_existing);
    return opened(folder_ / "book.db");
  }

  desk::fuzz::Names names;

 private:
  static constexpr const char* kShop = "019a0000-0000-7000-8000-000000000001";
  static constexpr const char* kOwner = "019a0000-0000-7000-8000-000000100001";
  static constexpr const char* kVisit = "019a0000-0000-7000-8000-000000200001";
  std::filesystem::path folder_;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const Beginning beginning;
  const auto desk = beginning.again();
  const auto answer =
      desk::fuzz::ask(*desk, beginning.names, std::string_view(reinterpret_cast<const char*>(data), size));
  if (const std::string wrong = desk::fuzz::wrong_after(*desk, beginning.names, answer); !wrong.empty())
    stop(wrong);
  return 0;
}
