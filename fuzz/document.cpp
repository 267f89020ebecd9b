// Any bytes as an instrument, a shop and a ledger document: nothing crashes, errors can be shown, and what is
// read comes back the same from writing.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "hingeline/record/document.h"
#include "hingeline/record/ledger.h"

namespace {

using namespace hingeline::record;

void demand(bool holds) {
  if (!holds) std::abort();
}

template <class Read, class Write>
void trip(std::string_view text, const Read& read, const Write& write) {
  const auto first = read(text, "fuzz.json");
  if (!first) {
    demand(!first.error().empty());
    for (const auto& error : first.error()) {
      demand(error.place.line > 0 && error.place.column > 0);
      demand(describe(error).find('\n') == std::string::npos);
    }
    return;
  }
  const std::string written = write(*first);
  const auto second = read(written, "fuzz.json");
  demand(second.has_value());
  demand(*first == *second);
  demand(write(*second) == written);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  trip(text, read_instrument, write_instrument);
  trip(text, read_shop, write_shop);
  trip(text, read_ledger, write_ledger);
  return 0;
}
