#pragma once
/// \file
/// What a drawing says: its words and lengths in one tongue and unit.

#include <fmt/format.h>

#include <string>

#include "hingeline/base/reading.h"
#include "hingeline/drawing/words.h"

namespace hingeline::drawing {

class Speech {
 public:
  Speech(const Tongue& tongue, LengthUnit unit) : tongue_(tongue), unit_(unit) {}

  template <class... Parts>
  [[nodiscard]] std::string operator()(Word word, const Parts&... parts) const {
    return fmt::format(fmt::runtime((*tongue_.words)[static_cast<std::size_t>(word)]), parts...);
  }
  [[nodiscard]] LengthUnit unit() const { return unit_; }
  /// A bench figure.
  [[nodiscard]] std::string bench(Length v) const {
    return with_mark(show_length(v, unit_, bench_decimals(unit_)));
  }
  [[nodiscard]] std::string bench(double mm) const { return bench(millimetres(mm)); }
  /// A part's size: one decimal fewer.
  [[nodiscard]] std::string sized(Length v) const {
    return with_mark(show_length(v, unit_, bench_decimals(unit_) - 1));
  }
  /// A figure's text with the tongue's decimal mark.
  [[nodiscard]] std::string with_mark(std::string figure) const {
    if (!tongue_.decimal_comma) return figure;
    for (char& c : figure) {
      if (c == '.') c = ',';
    }
    return figure;
  }

 private:
  Tongue tongue_;
  LengthUnit unit_;
};

}  // namespace hingeline::drawing
