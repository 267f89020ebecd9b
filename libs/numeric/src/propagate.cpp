#include "hingeline/numeric/propagate.h"

#include <algorithm>
#include <atomic>
#include <cassert>
#include <cmath>
#include <exception>
#include <mutex>
#include <thread>

#include "hingeline/numeric/statistics.h"

namespace hingeline::numeric {

void for_blocks(std::size_t count, unsigned threads,
                const std::function<void(std::size_t first, std::size_t last)>& work, std::size_t block) {
  assert(block > 0);
  const std::size_t blocks = (count + block - 1) / block;
  const std::size_t wanted = threads == 0 ? std::max(1u, std::thread::hardware_concurrency()) : threads;
  std::atomic<std::size_t> next{0};
  std::mutex failing;
  std::exception_ptr failure;
  const auto take_blocks = [&] {
    try {
      for (std::size_t n = next++; n < blocks; n = next++) {
        work(n * block, std::min(count, (n + 1) * block));
      }
    } catch (...) {
      const std::lock_guard lock(failing);
      if (!failure) failure = std::current_exception();
      next = blocks;
    }
  };
  {
    std::vector<std::jthread> others;
    for (std::size_t i = 1; i < std::min(wanted, blocks); ++i) others.emplace_back(take_blocks);
    take_blocks();
  }
  if (failure) std::rethrow_exception(failure);
}

GumResult propagate_gum(const std::function<double(std::span<const double>)>& model,
                        std::span<const double> values, std::span<const double> standards,
                        std::span<const double> degrees_of_freedom) {
  assert(values.size() == standards.size() && values.size() == degrees_of_freedom.size());
  std::vector<double> point(values.begin(), values.end());
  GumResult out{model(point), 0, 0, {}};
  std::vector<Part> parts;
  double variance = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    assert(standards[i] >= 0);
    const double step = 0.1 * standards[i];
    const auto rise = [&](double reach) {
      point[i] = values[i] + reach;
      const double up = model(point);
      point[i] = values[i] - reach;
      const double down = model(point);
      point[i] = values[i];
      return up - down;
    };
    const double sensitivity = step > 0 ? (8 * rise(step) - rise(2 * step)) / (12 * step) : 0.0;
    const double standard = std::abs(sensitivity) * standards[i];
    variance += standard * standard;
    out.contributions.push_back({sensitivity, standard, degrees_of_freedom[i]});
    parts.push_back({standard, degrees_of_freedom[i]});
  }
  out.standard = std::sqrt(variance);
  out.degrees_of_freedom = welch_satterthwaite(parts);
  return out;
}

}  // namespace hingeline::numeric
