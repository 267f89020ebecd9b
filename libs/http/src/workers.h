#pragma once
// Threads that run handlers, and the bounded queue before them.

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

namespace hingeline::http {

class Workers {
 public:
  /// `gives_way`: on a busy machine other threads come first, about ten to one.
  Workers(std::size_t threads, std::size_t waiting, bool gives_way = false);
  /// As stop().
  ~Workers();
  Workers(const Workers&) = delete;
  Workers& operator=(const Workers&) = delete;

  /// False: as many wait as may. Jobs do not throw.
  bool submit(std::function<void()> job);
  [[nodiscard]] std::size_t waiting() const;
  /// Runs what waits, takes nothing more, returns when all threads have ended. Not from a job.
  void stop();

 private:
  void work();

  const std::size_t most_waiting_;
  const bool gives_way_;
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<std::function<void()>> jobs_;
  std::size_t free_ = 0;  // threads without a job
  bool stopping_ = false;
  std::vector<std::thread> threads_;
};

}  // namespace hingeline::http
