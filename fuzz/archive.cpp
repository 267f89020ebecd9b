// Any bytes as an archive, whole and in small pieces: nothing crashes, both say the same, and what is refused
// is refused with a word.

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "hingeline/store/archive.h"

namespace {

using namespace hingeline;

void demand(bool holds) {
  if (!holds) std::abort();
}

Expected<store::Archived> checked(std::string_view text, std::size_t piece) {
  return store::check_archive(
      [&](std::span<char> into) -> Expected<std::size_t> {
        const std::size_t size = std::min({into.size(), piece, text.size()});
        std::copy_n(text.begin(), size, into.begin());
        text.remove_prefix(size);
        return size;
      },
      "fuzz");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto whole = checked(text, size + 1);
  const auto pieces = checked(text, 7);
  demand(whole.has_value() == pieces.has_value());
  if (whole) {
    demand(*whole == *pieces);
    return 0;
  }
  demand(!whole.error().what.empty() && whole.error().what == pieces.error().what);
  return 0;
}
