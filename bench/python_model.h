#pragma once
/// \file
/// A model in another language beside the project's own: given a question as JSON, it answers in JSON.

#include <unistd.h>

#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

namespace hingeline {

/// Runs bench/SCRIPT of the source tree with a file that holds the question. None, and a word on standard
/// error, when it did not run.
inline std::optional<nlohmann::json> ask_python(const std::string& script, const nlohmann::json& question) {
  std::string path = (std::filesystem::temp_directory_path() / "hingeline_bench_XXXXXX").string();
  const int file = mkstemp(path.data());
  if (file < 0) return std::nullopt;
  close(file);
  std::ofstream(path) << question;
  const std::string command =
      "/usr/bin/python3 \"" HINGELINE_SOURCE_DIR "/bench/" + script + "\" \"" + path + "\"";
  std::FILE* pipe = popen(command.c_str(), "r");
  std::string text;
  if (pipe != nullptr) {
    std::array<char, 4096> block{};
    while (const std::size_t size = std::fread(block.data(), 1, block.size(), pipe))
      text.append(block.data(), size);
  }
  const bool ran = pipe != nullptr && pclose(pipe) == 0;
  std::remove(path.c_str());
  if (!ran) {
    std::fprintf(stderr, "bench: %s did not run\n", script.c_str());
    return std::nullopt;
  }
  return nlohmann::json::parse(text);
}

}  // namespace hingeline
