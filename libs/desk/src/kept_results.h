#pragma once
/// \file
/// Results kept for the next who asks the same, the one asked for longest ago thrown out first. Each is
/// worked out once, however many ask at the same time.

#include <chrono>
#include <cstddef>
#include <functional>
#include <future>
#include <list>
#include <map>
#include <mutex>
#include <optional>
#include <string>

namespace hingeline::desk {

template <class T>
class KeptResults {
 public:
  explicit KeptResults(std::size_t most) : most_(most) {}

  /// The result of that name, made by `make` where there is none. What `make` throws, all who wait get.
  T get(const std::string& name, const std::function<T()>& make) {
    std::promise<T> mine;
    std::shared_future<T> result;
    bool makes = false;
    {
      const std::lock_guard lock(mutex_);
      if (const auto at = kept_.find(name); at != kept_.end()) {
        order_.splice(order_.begin(), order_, at->second.place);
        result = at->second.result;
      } else {
        makes = true;
        result = mine.get_future().share();
        place(name, result);
      }
    }
    if (!makes) return result.get();
    try {
      mine.set_value(make());
    } catch (...) {
      mine.set_exception(std::current_exception());
      forget(name);
    }
    return result.get();
  }

  /// What is kept under that name, made up already; nothing otherwise.
  std::optional<T> look(const std::string& name) {
    const std::lock_guard lock(mutex_);
    const auto at = kept_.find(name);
    if (at == kept_.end()) return std::nullopt;
    if (at->second.result.wait_for(std::chrono::seconds(0)) != std::future_status::ready) return std::nullopt;
    order_.splice(order_.begin(), order_, at->second.place);
    return at->second.result.get();
  }

  void put(const std::string& name, T value) {
    std::promise<T> made;
    made.set_value(std::move(value));
    const std::lock_guard lock(mutex_);
    if (const auto at = kept_.find(name); at != kept_.end()) remove(at);
    place(name, made.get_future().share());
  }

  void forget(const std::string& name) {
    const std::lock_guard lock(mutex_);
    if (const auto at = kept_.find(name); at != kept_.end()) remove(at);
  }

 private:
  struct Kept {
    std::shared_future<T> result;
    std::list<std::string>::iterator place;
  };
  using Map = std::map<std::string, Kept>;
  void remove(typename Map::iterator at) {
    order_.erase(at->second.place);
    kept_.erase(at);
  }
  void place(const std::string& name, std::shared_future<T> result) {
    if (most_ == 0) return;
    while (kept_.size() >= most_) remove(kept_.find(order_.back()));
    order_.push_front(name);
    kept_.emplace(name, Kept{std::move(result), order_.begin()});
  }

  std::size_t most_;
  std::mutex mutex_;
  std::list<std::string> order_;
  Map kept_;
};

}  // namespace hingeline::desk
