#pragma once
/// \file
/// Running other programs over files that tests write.

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <string>

namespace hingeline::support {

struct Ran {
  int status = 0;
  std::string said;
};
inline Ran run(const std::string& command) {
  Ran out;
  std::FILE* pipe = popen((command + " 2>&1").c_str(), "r");
  if (pipe == nullptr) return {-1, "not started"};
  for (int c = std::fgetc(pipe); c != EOF; c = std::fgetc(pipe)) out.said += static_cast<char>(c);
  out.status = pclose(pipe);
  return out;
}

/// Writes the file into the running test's own folder of the build and gives its quoted path: tests, and one
/// test with several parameters, run beside each other.
inline std::string written(const std::string& name, const std::string& bytes) {
  const ::testing::TestInfo* test = ::testing::UnitTest::GetInstance()->current_test_info();
  std::string of = std::string(test->test_suite_name()) + "." + test->name();
  std::replace(of.begin(), of.end(), '/', '-');
  const std::filesystem::path folder = std::filesystem::path(HINGELINE_BINARY_DIR) / "written-by-tests" / of;
  std::filesystem::create_directories(folder);
  std::ofstream(folder / name, std::ios::binary) << bytes;
  return "\"" + (folder / name).string() + "\"";
}

}  // namespace hingeline::support
