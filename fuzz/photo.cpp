// Any bytes as a photo: nothing crashes, what is taken keeps to the bounds, and cleaned again it is the same.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "hingeline/photo/clean.h"

namespace {

using namespace hingeline::photo;

void demand(bool holds) {
  if (!holds) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const Bounds bounds;
  const auto once = clean(std::string_view(reinterpret_cast<const char*>(data), size), bounds);
  if (!once) {
    demand(!once.error().what.empty() && !once.error().expected.empty());
    return 0;
  }
  demand(once->width >= 1 && once->height >= 1 && once->width <= bounds.side && once->height <= bounds.side);
  demand(std::int64_t{once->width} * once->height <= bounds.pixels && once->bytes.size() <= bounds.bytes);
  demand(once->upright >= 1 && once->upright <= 8);
  const auto twice = clean(once->bytes, bounds);
  demand(twice.has_value());
  demand(twice->bytes == once->bytes && twice->type == once->type && twice->width == once->width &&
         twice->height == once->height && twice->upright == once->upright);
  return 0;
}
