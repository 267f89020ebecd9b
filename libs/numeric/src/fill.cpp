#include "hingeline/numeric/fill.h"

#include <array>
#include <cassert>

#include "fill_lanes.h"
#include "hingeline/numeric/random.h"

namespace hingeline::numeric {

Width widest() {
#if HINGELINE_LANES_X86
  static const Width found = [] {
    __builtin_cpu_init();
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") &&
        __builtin_cpu_supports("avx512vl") && __builtin_cpu_supports("popcnt")) {
      return Width::avx512;
    }
    return __builtin_cpu_supports("avx2") && __builtin_cpu_supports("popcnt") ? Width::avx2 : Width::plain;
  }();
  return found;
#else
  return Width::plain;
#endif
}

void fill_with(Width width, std::uint64_t seed, std::uint64_t first_stream, std::size_t count,
               std::size_t pairs, std::size_t uniforms, double* rows, std::size_t stride) {
  assert(width <= widest());
  assert(stride >= (count + kLanesTogether - 1) / kLanesTogether * kLanesTogether);
  constexpr std::array<Fill, 3> kFills{fill_plain, fill_avx2, fill_avx512};
  kFills[static_cast<std::size_t>(width)](seed, first_stream, count, pairs, uniforms, rows, stride);
}

void fill(std::uint64_t seed, std::uint64_t first_stream, std::size_t count, std::size_t pairs,
          std::size_t uniforms, double* rows, std::size_t stride) {
  fill_with(widest(), seed, first_stream, count, pairs, uniforms, rows, stride);
}

std::array<double, 2> Stream::normal_pair() {
  double first = 0;
  double second = 0;
  lanes::normal_pair<lanes::Scalar>(bits(), first, second);
  return {first, second};
}

}  // namespace hingeline::numeric
