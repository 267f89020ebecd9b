#include "news.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

namespace hingeline::server {
namespace {

constexpr std::chrono::minutes kLongest{15};

}  // namespace

Expected<std::unique_ptr<News>> News::listen(desk::Desk& desk) {
  auto book = desk.own_connection();
  if (!book) return tl::unexpected(book.error());
  const auto last = (*book)->last_number();
  if (!last) return tl::unexpected(last.error());
  std::unique_ptr<News> out(new News(desk, std::move(*book)));
  out->last_ = out->served_ = *last;
  out->thread_ = std::thread([news = out.get()] { news->run(); });
  return out;
}

News::~News() {
  end_ = true;
  if (thread_.joinable()) thread_.join();
  for (const Listener& l : listeners_) l.stream.close();
  for (const Listener& l : new_) l.stream.close();
}

http::EventStream News::subscribe(desk::Right right, std::int64_t after) {
  Listener listener{http::EventStream(), right, after};
  http::EventStream out = listener.stream;
  const std::lock_guard lock(mutex_);
  new_.push_back(std::move(listener));
  return out;
}

void News::end_all() { end_streams_ = true; }

void News::run() {
  // Short enough that who comes, and who ends it, waits little; telling wakes it at once.
  constexpr std::chrono::milliseconds kLook{100};
  while (!end_) {
    const auto woken = book_->wait_for_news(kLook);
    if (!woken) {
      // The database is away: what was missed is read when it is back.
      std::this_thread::sleep_for(kLook);
      continue;
    }
    if (*woken) {
      if (const auto last = book_->last_number()) last_ = *last;
    }
    serve();
  }
}

void News::serve() {
  {
    const std::lock_guard lock(mutex_);
    for (Listener& l : new_) {
      if (l.told < 0 || l.told > last_) l.told = last_;
      listeners_.push_back(std::move(l));
    }
    new_.clear();
  }
  if (end_streams_.exchange(false)) {
    for (const Listener& l : listeners_) l.stream.close();
  }
  // Slips are read once for all who are up to date; who is further behind is served by itself. Nothing is
  // kept for later: an owner's words may be taken out at any time.
  std::vector<desk::News> fresh;
  if (served_ < last_ && last_ - served_ <= static_cast<std::int64_t>(kMostMissed)) {
    auto read = desk_.news(served_, kMostMissed);
    if (!read) return;
    fresh = std::move(*read);
  }
  listeners_.erase(
      std::remove_if(listeners_.begin(), listeners_.end(), [&](Listener& l) { return !tell(l, fresh); }),
      listeners_.end());
  served_ = last_;
}

bool News::tell(Listener& listener, const std::vector<desk::News>& fresh) {
  if (!listener.stream.is_open()) return false;
  if (std::chrono::steady_clock::now() - listener.since > kLongest) {
    listener.stream.close();
    return false;
  }
  if (listener.told >= last_) return true;
  std::vector<desk::News> own;
  const std::vector<desk::News>* from = &fresh;
  if (fresh.empty() || listener.told < served_) {
    auto missed = desk_.news(listener.told, kMostMissed + 1);
    if (!missed) return true;  // tried again the next time
    if (missed->size() > kMostMissed) {
      listener.told = last_;
      return listener.stream.push(
          {std::to_string(last_), "far-behind", fmt::format("{{\"last_number\":{}}}", last_)});
    }
    own = std::move(*missed);
    from = &own;
  }
  for (const desk::News& n : *from) {
    if (n.number <= listener.told) continue;
    listener.told = n.number;
    if (n.right > listener.right) continue;
    if (!listener.stream.push({std::to_string(n.number), "slip", n.json})) return false;
  }
  return true;
}

}  // namespace hingeline::server
