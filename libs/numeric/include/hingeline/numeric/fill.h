#pragma once
/// \file
/// Random numbers of many streams at once, the same as Stream gives one after another.

#include <cstddef>
#include <cstdint>

namespace hingeline::numeric {

/// Streams that are filled together are rounded up to a multiple of this: rows have to have the room.
inline constexpr std::size_t kLanesTogether = 64;

/// What the streams `first_stream` to `first_stream + count - 1` of this seed give when each is asked for
/// `pairs` normal pairs and then `uniforms` uniforms. Rows of `stride` doubles, one number a stream: first
/// the normals in their order (two rows a pair), then the uniforms. `stride` is `count` rounded up to a
/// multiple of kLanesTogether or more; what stands in a row behind `count` is overwritten with anything.
///
/// The same bytes on every processor, by the widest vectors it has.
void fill(std::uint64_t seed, std::uint64_t first_stream, std::size_t count, std::size_t pairs,
          std::size_t uniforms, double* rows, std::size_t stride);

/// Vectors that code can be compiled for.
enum class Width { plain, avx2, avx512 };
/// The widest that this program has and this machine can run.
Width widest();
/// fill() by these vectors, which must not be wider than widest(). For tests and measurements.
void fill_with(Width width, std::uint64_t seed, std::uint64_t first_stream, std::size_t count,
               std::size_t pairs, std::size_t uniforms, double* rows, std::size_t stride);

}  // namespace hingeline::numeric
