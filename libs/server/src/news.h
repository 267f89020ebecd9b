#pragma once
/// \file
/// One who listens to the book and tells all who look at the page: slips as they are written, by whatever
/// program. Who was away and says where they left off is told what they missed.

#include <atomic>
#include <chrono>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "hingeline/desk/desk.h"
#include "hingeline/http/events.h"

namespace hingeline::server {

class News {
 public:
  /// Begins to listen. Fault::file where the book cannot be opened.
  static Expected<std::unique_ptr<News>> listen(desk::Desk& desk);
  ~News();
  News(const News&) = delete;
  News& operator=(const News&) = delete;

  /// A stream of events "slip", each with the slip's number as its id, from after that number on. Where more
  /// was missed than kMostMissed, one event "far-behind" in their place: to ask for everything anew. Below 0:
  /// from now on. It ends after a while, so that who comes back is asked again who they are.
  http::EventStream subscribe(desk::Right right, std::int64_t after);
  /// Ends the streams of who may no longer look.
  void end_all();

  static constexpr std::size_t kMostMissed = 200;

 private:
  News(desk::Desk& desk, std::unique_ptr<store::Book> book) : desk_(desk), book_(std::move(book)) {}
  void run();
  void serve();

  struct Listener {
    http::EventStream stream;
    desk::Right right = desk::Right::look;
    std::int64_t told = -1;
    std::chrono::steady_clock::time_point since = std::chrono::steady_clock::now();
  };
  /// Tells one listener all after what they were told; false: they are gone.
  bool tell(Listener& listener, const std::vector<desk::News>& fresh);

  desk::Desk& desk_;
  std::unique_ptr<store::Book> book_;
  std::mutex mutex_;
  std::vector<Listener> new_;        ///< not served yet
  std::vector<Listener> listeners_;  ///< the thread's own
  std::int64_t last_ = 0;            ///< the thread's own: number of the newest slip
  std::int64_t served_ = 0;          ///< up to here all who listen were told
  std::atomic<bool> end_{false};
  std::atomic<bool> end_streams_{false};
  std::thread thread_;
};

}  // namespace hingeline::server
