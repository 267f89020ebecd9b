// Any bytes as a slip, a journal, a rig: nothing crashes, errors can be shown, and what is read comes back
// the same from writing. A slip's words are found whatever it says.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "hingeline/record/rig.h"
#include "hingeline/record/slip.h"

namespace {

using namespace hingeline::record;

void demand(bool holds) {
  if (!holds) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto slip = read_slip(text, "fuzz.json");
  if (!slip) {
    demand(!slip.error().empty());
    for (const auto& error : slip.error()) demand(!error.what.empty());
  } else {
    const std::string line = write_slip(*slip);
    demand(line.find('\n') == std::string::npos);
    const auto again = read_slip(line, "fuzz.json");
    demand(again.has_value());
    demand(*again == *slip && write_slip(*again) == line);
    const auto words = search_words(*slip);
    for (std::size_t i = 1; i < words.size(); ++i) demand(words[i - 1] < words[i]);
  }
  const auto typed = search_words(text);
  for (const auto& word : typed) demand(!word.empty() && word.find(' ') == std::string::npos);
  return 0;
}
