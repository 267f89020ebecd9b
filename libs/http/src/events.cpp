#include "hingeline/http/events.h"

#include <algorithm>
#include <string_view>
#include <utility>

#include "event_queue.h"

namespace hingeline::http {

namespace {

void add_line(std::string& text, std::string_view name, std::string_view value) {
  text.append(name).append(": ").append(value).push_back('\n');
}

std::string in_one_line(std::string text) {
  std::erase_if(text, [](char c) { return c == '\n' || c == '\r' || c == '\0'; });
  return text;
}

}  // namespace

std::string wire_text(const Event& event) {
  std::string text;
  if (!event.id.empty()) add_line(text, "id", in_one_line(event.id));
  if (!event.name.empty()) add_line(text, "event", in_one_line(event.name));
  // A carriage return alone ends a line too; both together are one end.
  std::string_view rest = event.data;
  for (;;) {
    const std::size_t end = rest.find_first_of("\r\n");
    add_line(text, "data", rest.substr(0, end));
    if (end == std::string_view::npos) break;
    rest.remove_prefix(end + (rest.substr(end, 2) == "\r\n" ? 2 : 1));
  }
  text.push_back('\n');
  return text;
}

EventStream::EventStream(const EventRules& rules) : queue_(std::make_shared<detail::EventQueue>(rules)) {}

bool EventStream::push(const Event& event) const { return queue_->push(event); }

void EventStream::close() const { queue_->close(); }

bool EventStream::is_open() const { return queue_->is_open(); }

namespace detail {

bool EventQueue::push(const Event& event) {
  std::string text = wire_text(event);
  std::unique_lock lock(mutex_);
  if (!open_) return false;
  if (waiting_.size() >= rules_.waiting_events || waiting_bytes_ + text.size() > rules_.waiting_bytes) {
    open_ = false;
    too_slow_ = true;
    waiting_.clear();
    waiting_bytes_ = 0;
    wake_up(lock);
    return false;
  }
  waiting_bytes_ += text.size();
  waiting_.push_back(std::move(text));
  wake_up(lock);
  return true;
}

void EventQueue::close() {
  std::unique_lock lock(mutex_);
  open_ = false;
  wake_up(lock);
}

bool EventQueue::is_open() {
  const std::lock_guard lock(mutex_);
  return open_;
}

bool EventQueue::attach(std::function<void()> wake) {
  const std::lock_guard lock(mutex_);
  if (attached_) return false;
  attached_ = true;
  wake_ = std::move(wake);
  return true;
}

EventQueue::Taken EventQueue::take() {
  const std::lock_guard lock(mutex_);
  Taken taken;
  taken.text.reserve(waiting_bytes_);
  for (const std::string& text : waiting_) taken.text += text;
  taken.events = waiting_.size();
  waiting_.clear();
  waiting_bytes_ = 0;
  woken_ = false;
  taken.ends = !open_;
  taken.too_slow = too_slow_;
  return taken;
}

void EventQueue::detach() {
  std::function<void()> wake;  // destroyed after the lock is gone: it may hold the last of something
  const std::lock_guard lock(mutex_);
  open_ = false;
  waiting_.clear();
  waiting_bytes_ = 0;
  wake.swap(wake_);
}

void EventQueue::wake_up(std::unique_lock<std::mutex>& lock) {
  if (woken_ || !wake_) return;
  woken_ = true;
  const std::function<void()> wake = wake_;
  lock.unlock();
  wake();
}

}  // namespace detail

}  // namespace hingeline::http
