#pragma once
/// \file
/// How far a long command is, on standard error where that is a terminal.

#include <chrono>
#include <cstddef>
#include <mutex>
#include <string>

namespace hingeline {

/// One line that is written over, at most five times a second, and wiped at the end. Any thread may show.
class Progress {
 public:
  /// `things`: what is counted, as "keys".
  explicit Progress(std::string things);
  ~Progress();
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  void show(std::size_t done, std::size_t all);

 private:
  std::string things_;
  bool shown_;
  std::mutex mutex_;
  std::chrono::steady_clock::time_point begin_ = std::chrono::steady_clock::now();
  std::chrono::steady_clock::time_point last_{};
};

}  // namespace hingeline
