#include "progress.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>

namespace hingeline {

Progress::Progress(std::string things) : things_(std::move(things)), shown_(::isatty(STDERR_FILENO) != 0) {}
Progress::~Progress() {
  if (shown_) std::fputs("\r\x1b[K", stderr);
}

void Progress::show(std::size_t done, std::size_t all) {
  if (!shown_) return;
  const std::lock_guard lock(mutex_);
  const auto now = std::chrono::steady_clock::now();
  if (done < all && now - last_ < std::chrono::milliseconds(200)) return;
  last_ = now;
  const double passed = std::chrono::duration<double>(now - begin_).count();
  const double left =
      passed * static_cast<double>(all - done) / static_cast<double>(std::max<std::size_t>(done, 1));
  constexpr std::size_t kWide = 30;
  const std::size_t full = kWide * done / std::max<std::size_t>(all, 1);
  std::string bar(kWide, '.');
  bar.replace(0, full, full, '#');
  std::fputs(
      fmt::format("\r[{}] {} of {} {}, {:.0f} s left; Ctrl-C stops \x1b[K", bar, done, all, things_, left)
          .c_str(),
      stderr);
  std::fflush(stderr);
}

}  // namespace hingeline
