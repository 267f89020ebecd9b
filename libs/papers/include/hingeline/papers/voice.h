#pragma once
/// \file
/// How papers speak: every sentence that stands on one, in English and German, and figures in their form.
///
/// The catalogue is words.inc, a row for each sentence. Trade words as the trade uses them (common practice).

#include <fmt/format.h>

#include <array>
#include <cstddef>
#include <string>
#include <string_view>

#include "hingeline/base/money.h"
#include "hingeline/base/quantity.h"
#include "hingeline/base/reading.h"
#include "hingeline/drawing/words.h"

namespace hingeline::papers {

enum class Language { english, german };
/// "en", "de": ISO 639-1.
const char* code(Language language);

/// A sentence's name.
enum class Say {
#define SAY(name, english, german) name,
#include "hingeline/papers/words.inc"
#undef SAY
  count
};
inline constexpr std::size_t kSayCount = static_cast<std::size_t>(Say::count);
/// As the catalogue has it, with its gaps "{}".
std::string_view text(Say what, Language language);
/// The words of drawings.
const drawing::Words& drawing_words(Language language);

class Voice {
 public:
  Voice(Language language, LengthUnit unit) : language_(language), unit_(unit) {}

  [[nodiscard]] Language language() const { return language_; }
  [[nodiscard]] LengthUnit unit() const { return unit_; }
  /// For views of the drawing room.
  [[nodiscard]] drawing::Tongue tongue() const {
    return {&drawing_words(language_), language_ == Language::german};
  }

  template <class... Parts>
  [[nodiscard]] std::string operator()(Say what, const Parts&... parts) const {
    return fmt::format(fmt::runtime(text(what, language_)), parts...);
  }
  /// "0.085 mm", "0,085 mm": a bench figure.
  [[nodiscard]] std::string length(Length v) const;
  /// A part's size: one decimal fewer.
  [[nodiscard]] std::string size(Length v) const;
  /// Of a measuring instrument: as many decimals more as it takes to be true to a twentieth, two at most.
  [[nodiscard]] std::string fine(Length v) const;
  /// "0.085", "0,085": where the unit stands in the head of the column.
  [[nodiscard]] std::string bare(Length v) const;
  /// "mm", "in".
  [[nodiscard]] std::string unit_word() const { return unit_ == LengthUnit::mm ? "mm" : "in"; }
  /// "0.085 ± 0.004 mm".
  [[nodiscard]] std::string length(Length v, Length plus_minus) const;
  /// "0.014 to 0.030 mm".
  [[nodiscard]] std::string range(Length low, Length high) const;
  /// With so many decimals.
  [[nodiscard]] std::string number(double v, int decimals) const;
  /// "12.50 crowns"; without a currency the bare amount.
  [[nodiscard]] std::string money(Money amount, const std::string& currency) const;
  [[nodiscard]] std::string percent(Percent percent) const;
  /// Of an ISO day "2026-11-27": as it is in English, "27.11.2026" in German. Other text comes back as it is.
  [[nodiscard]] std::string day(const std::string& iso) const;

 private:
  [[nodiscard]] std::string with_mark(std::string figure) const;

  Language language_;
  LengthUnit unit_;
};

}  // namespace hingeline::papers
