#pragma once
/// \file
/// A small vocabulary for tests that run the program: what it is given, what it says, how it ends.

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <stdexcept>
#include <string>
#include <vector>

namespace hingeline::test {

inline std::string file_text(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw std::runtime_error("cannot read " + path.string());
  return {std::istreambuf_iterator<char>(file), {}};
}

/// A folder of its own that goes away afterwards.
class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "hingeline-test-XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder for the test");
    path_ = name;
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  /// Writes a file and returns its path.
  [[nodiscard]] std::string file(const std::string& name, const std::string& text) const {
    std::ofstream(path_ / name, std::ios::binary) << text;
    return (path_ / name).string();
  }

 private:
  std::filesystem::path path_;
};

struct Outcome {
  int code = -1;  ///< exit code; 128 + signal when it was killed
  std::string out;
  std::string err;
};

struct Setting {
  std::string input = {};                     ///< given on standard input
  std::vector<std::string> environment = {};  ///< "NAME=value", added to a plain one
  std::string output = {};                    ///< a file for standard output instead of being kept
};

/// Runs a program and waits for it.
inline Outcome run_program(const std::string& program, std::vector<std::string> arguments,
                           const Setting& setting = {}) {
  const Folder folder;
  const std::string in = folder.file("in", setting.input);
  const std::string out = setting.output.empty() ? folder.file("out", "") : setting.output;
  const std::string err = folder.file("err", "");
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, in.c_str(), O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, out.c_str(), O_WRONLY, 0);
  posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, err.c_str(), O_WRONLY, 0);
  arguments.insert(arguments.begin(), program);
  std::vector<char*> argv;
  for (auto& a : arguments) argv.push_back(a.data());
  argv.push_back(nullptr);
  std::vector<std::string> environment = setting.environment;
  environment.emplace_back("PATH=" + std::filesystem::path(HINGELINE_PROGRAM).parent_path().string() +
                           ":/usr/bin:/bin");
  environment.emplace_back("LC_ALL=C.UTF-8");
  std::vector<char*> envp;
  for (auto& e : environment) envp.push_back(e.data());
  envp.push_back(nullptr);
  pid_t child = 0;
  const int failed = posix_spawn(&child, program.c_str(), &actions, nullptr, argv.data(), envp.data());
  posix_spawn_file_actions_destroy(&actions);
  if (failed != 0) throw std::runtime_error("cannot start " + program);
  int status = 0;
  waitpid(child, &status, 0);
  Outcome o;
  o.code = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  if (setting.output.empty()) o.out = file_text(out);
  o.err = file_text(err);
  return o;
}

/// Runs Hingeline itself.
inline Outcome hingeline_with(std::vector<std::string> arguments, const Setting& setting = {}) {
  return run_program(HINGELINE_PROGRAM, std::move(arguments), setting);
}

inline std::string example(const std::string& name) {
  return std::string(HINGELINE_SOURCE_DIR) + "/examples/" + name;
}

}  // namespace hingeline::test
