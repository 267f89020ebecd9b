#pragma once

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

namespace hingeline::rods {

/// What tests/rods/NAME.py answers to all problems in one run.
inline nlohmann::json answers_of(const std::string& name, const nlohmann::json& problems) {
  const auto folder = std::filesystem::path(HINGELINE_BINARY_DIR) / name;
  std::filesystem::create_directories(folder);
  const auto asked = folder / "problems.json";
  const auto answered = folder / "answers.json";
  std::ofstream(asked) << problems;
  const std::string command = std::string(HINGELINE_PYTHON) + " \"" HINGELINE_SOURCE_DIR "/tests/rods/" +
                              name + ".py\" \"" + asked.string() + "\" \"" + answered.string() + "\"";
  EXPECT_EQ(std::system(command.c_str()), 0);
  std::ifstream file(answered);
  return nlohmann::json::parse(file);
}

}  // namespace hingeline::rods
