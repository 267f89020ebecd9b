#include "workers.h"

#include <sys/resource.h>

#include <utility>

namespace hingeline::http {

Workers::Workers(std::size_t threads, std::size_t waiting, bool gives_way)
    : most_waiting_(waiting), gives_way_(gives_way), free_(threads) {
  threads_.reserve(threads);
  for (std::size_t i = 0; i < threads; ++i) threads_.emplace_back([this] { work(); });
}

Workers::~Workers() { stop(); }

bool Workers::submit(std::function<void()> job) {
  {
    const std::lock_guard lock(mutex_);
    // A free thread will take one: that one does not count as waiting.
    if (stopping_ || jobs_.size() >= most_waiting_ + free_) return false;
    jobs_.push_back(std::move(job));
  }
  changed_.notify_one();
  return true;
}

std::size_t Workers::waiting() const {
  const std::lock_guard lock(mutex_);
  return jobs_.size() > free_ ? jobs_.size() - free_ : 0;
}

void Workers::stop() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  changed_.notify_all();
  for (std::thread& thread : threads_) thread.join();
  threads_.clear();
}

void Workers::work() {
  // On Linux this is the calling thread's alone. Where it is refused, nothing is lost but the order.
  constexpr int kNicer = 10;
  if (gives_way_) static_cast<void>(::setpriority(PRIO_PROCESS, 0, ::getpriority(PRIO_PROCESS, 0) + kNicer));
  std::unique_lock lock(mutex_);
  for (;;) {
    changed_.wait(lock, [this] { return stopping_ || !jobs_.empty(); });
    if (jobs_.empty()) return;
    {
      const std::function<void()> job = std::move(jobs_.front());
      jobs_.pop_front();
      --free_;
      lock.unlock();
      job();
    }
    lock.lock();
    ++free_;
  }
}

}  // namespace hingeline::http
