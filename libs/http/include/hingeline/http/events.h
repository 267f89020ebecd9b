#pragma once
/// \file
/// Server-sent events: one stream goes to one client, any thread may push into it.

#include <chrono>
#include <cstddef>
#include <memory>
#include <string>

namespace hingeline::http {

/// Line breaks and NUL in id and name are left out: they cannot be sent. Data may be of several lines.
struct Event {
  std::string id;    ///< empty: the client keeps the last one
  std::string name;  ///< empty: "message" to the client
  std::string data;  ///< UTF-8
};
/// As it goes over the wire, with the empty line that ends it.
std::string wire_text(const Event& event);

struct EventRules {
  /// What may wait for a client that does not read; one more and it is dropped.
  std::size_t waiting_events = 256;
  std::size_t waiting_bytes = 1U << 20U;
  /// A comment is sent after so long without an event, so that a dead connection shows.
  std::chrono::milliseconds heartbeat{15000};
  /// How long the client should wait before it comes back; it gives its Last-Event-ID then.
  std::chrono::milliseconds comes_back{2000};
};

namespace detail {
class EventQueue;
}

/// A handle; copies mean the same stream. A handler keeps one and returns one in its response.
class EventStream {
 public:
  explicit EventStream(const EventRules& rules = {});

  /// Queues an event, also before the response has gone out. False: the client is gone, too slow, or the
  /// stream was closed, and nothing that is pushed will go anywhere. An event beyond the rules drops the
  /// client: it is sent what is under way, then a comment that says so, then the end.
  bool push(const Event& event) const;
  /// What waits is still sent, then the stream ends.
  void close() const;
  [[nodiscard]] bool is_open() const;

 private:
  friend class detail::EventQueue;
  std::shared_ptr<detail::EventQueue> queue_;
};

}  // namespace hingeline::http
