#pragma once
/// \file
/// fill() on lanes. Include after lanes.h.

#include "hingeline/numeric/lane_functions.h"

namespace hingeline::numeric::HINGELINE_LANES_NAME {

/// Philox4x32-10 as in random.h; each word in the lower half of a lane, the upper halves hold anything.
template <class L>
HINGELINE_INLINE void philox_lanes(typename L::U (&counter)[4], std::uint64_t seed) {
  using U = typename L::U;
  const U even_factor = L::all_bits(0xD2511F53);
  const U odd_factor = L::all_bits(0xCD9E8D57);
  auto key_0 = static_cast<std::uint32_t>(seed);
  auto key_1 = static_cast<std::uint32_t>(seed >> 32);
#pragma GCC unroll 10
  for (int round = 0; round < 10; ++round) {
    const U even = L::times_low(even_factor, counter[0]);
    const U odd = L::times_low(odd_factor, counter[2]);
    counter[0] = (odd >> 32) ^ counter[1] ^ L::all_bits(key_0);
    counter[1] = odd;
    counter[2] = (even >> 32) ^ counter[3] ^ L::all_bits(key_1);
    counter[3] = even;
    key_0 += 0x9E3779B9;
    key_1 += 0xBB67AE85;
  }
}

template <class L>
HINGELINE_INLINE typename L::V uniform_of(typename L::U bits) {
  using U = typename L::U;
  const U odd = (bits >> 11) | L::all_bits(1);
  return (whole_number<L>(odd >> 32) * L::all(0x1p32) + whole_number<L>(odd & L::all_bits(0xffffffff))) *
         L::all(0x1p-53);
}

template <class L>
HINGELINE_INLINE void fill_lanes(std::uint64_t seed, std::uint64_t first_stream, std::size_t count,
                                 std::size_t pairs, std::size_t uniforms, double* rows, std::size_t stride) {
  using Many = Several<L, 8>;
  using U = typename Many::U;
  using V = typename Many::V;
  const std::size_t places = pairs + uniforms;
  const auto row_of = [&](std::size_t place) {
    return rows + (place < pairs ? 2 * place : pairs + place) * stride;
  };
  // One step after another over all streams: the steps' long chains then overlap. The bits stand where their
  // numbers will.
  for (std::size_t block = 0; 2 * block < places; ++block) {
    double* const first_row = row_of(2 * block);
    double* const second_row = 2 * block + 1 < places ? row_of(2 * block + 1) : first_row;
    for (std::size_t k = 0; k < count; k += Many::kWidth) {
      const U stream = Many::count_from(first_stream + k);
      U words[4] = {Many::all_bits(block & 0xffffffff), Many::all_bits(block >> 32), stream, stream >> 32};
      philox_lanes<Many>(words, seed);
      Many::store(second_row + k,
                  Many::as_number((words[3] << 32) | (words[2] & Many::all_bits(0xffffffff))));
      Many::store(first_row + k, Many::as_number((words[1] << 32) | (words[0] & Many::all_bits(0xffffffff))));
    }
  }
  for (std::size_t place = 0; place < pairs; ++place) {
    double* const row = row_of(place);
    for (std::size_t k = 0; k < count; k += Many::kWidth) {
      V first, second;
      normal_pair<Many>(Many::as_bits(Many::load(row + k)), first, second);
      Many::store(row + k, first);
      Many::store(row + stride + k, second);
    }
  }
  for (std::size_t place = pairs; place < places; ++place) {
    double* const row = row_of(place);
    for (std::size_t k = 0; k < count; k += Many::kWidth) {
      Many::store(row + k, uniform_of<Many>(Many::as_bits(Many::load(row + k))));
    }
  }
}

}  // namespace hingeline::numeric::HINGELINE_LANES_NAME

namespace hingeline::numeric {

/// One for each Width, in a file of its own.
using Fill = void (*)(std::uint64_t, std::uint64_t, std::size_t, std::size_t, std::size_t, double*,
                      std::size_t);
void fill_plain(std::uint64_t, std::uint64_t, std::size_t, std::size_t, std::size_t, double*, std::size_t);
void fill_avx2(std::uint64_t, std::uint64_t, std::size_t, std::size_t, std::size_t, double*, std::size_t);
void fill_avx512(std::uint64_t, std::uint64_t, std::size_t, std::size_t, std::size_t, double*, std::size_t);

}  // namespace hingeline::numeric
