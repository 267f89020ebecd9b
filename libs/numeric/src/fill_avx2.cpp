#define HINGELINE_LANES_AVX2
#include "fill_lanes.h"

namespace hingeline::numeric {

void fill_avx2(std::uint64_t seed, std::uint64_t first_stream, std::size_t count, std::size_t pairs,
               std::size_t uniforms, double* rows, std::size_t stride) {
  lanes::fill_lanes<lanes::Lanes>(seed, first_stream, count, pairs, uniforms, rows, stride);
}

}  // namespace hingeline::numeric
