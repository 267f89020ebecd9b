#pragma once
// What stands between those who push events and the one connection that sends them.

#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <string>

#include "hingeline/http/events.h"

namespace hingeline::http::detail {

class EventQueue {
 public:
  explicit EventQueue(const EventRules& rules) : rules_(rules) {}

  static const std::shared_ptr<EventQueue>& of(const EventStream& stream) { return stream.queue_; }

  bool push(const Event& event);
  void close();
  bool is_open();

  /// `wake` is called, from any thread, when there is something to take; once until the next take().
  /// False: another connection has this stream.
  bool attach(std::function<void()> wake);
  struct Taken {
    std::string text;        ///< all that waited
    std::size_t events = 0;  ///< in it
    bool ends = false;       ///< nothing comes after it
    bool too_slow = false;   ///< what waited was thrown away
  };
  Taken take();
  /// The connection is done with it.
  void detach();

  [[nodiscard]] const EventRules& rules() const { return rules_; }

 private:
  void wake_up(std::unique_lock<std::mutex>& lock);

  const EventRules rules_;
  std::mutex mutex_;
  std::deque<std::string> waiting_;
  std::size_t waiting_bytes_ = 0;
  bool open_ = true;
  bool too_slow_ = false;
  bool attached_ = false;
  bool woken_ = false;
  std::function<void()> wake_;
};

}  // namespace hingeline::http::detail
