#pragma once
/// \file
/// Sentences with lengths in them, for a person who has yet to say millimetres or inches.

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "hingeline/base/quantity.h"
#include "hingeline/base/reading.h"

namespace hingeline {

/// A tool's or a screw's size, said with one decimal fewer than a bench figure.
struct Size {
  Length length;
};

/// "0.165 ± 0.006 mm".
struct WithDoubt {
  Length value;
  Length plus_minus;
};

/// "0.014 to 0.030 mm".
struct FromTo {
  Length low;
  Length high;
};

/// Words and lengths in the order they are said.
class Said {
 public:
  Said() = default;
  Said(std::string text) {
    *this << std::move(text);
  }  // NOLINT(google-explicit-constructor): text is a sentence
  Said(const char* text) { *this << std::string(text); }  // NOLINT(google-explicit-constructor)

  [[nodiscard]] bool empty() const { return parts_.empty(); }
  /// The sentence, with every length in that unit.
  [[nodiscard]] std::string in(LengthUnit unit) const {
    std::string out;
    for (const Part& p : parts_) {
      out += p.text;
      if (!p.length) continue;
      std::string shown = show_length(*p.length, unit, bench_decimals(unit) - p.fewer);
      // A length that another one follows leaves the unit to that.
      if (p.shares_unit) shown.resize(shown.find(' '));
      out += shown;
    }
    return out;
  }

  Said& operator<<(std::string text) {
    if (!text.empty()) parts_.push_back({std::move(text), std::nullopt, 0, false});
    return *this;
  }
  Said& operator<<(const char* text) { return *this << std::string(text); }
  Said& operator<<(Length length) {
    parts_.push_back({{}, length, 0, false});
    return *this;
  }
  Said& operator<<(Size size) {
    parts_.push_back({{}, size.length, 1, false});
    return *this;
  }
  Said& operator<<(WithDoubt measured) {
    parts_.push_back({{}, measured.value, 0, true});
    return *this << " ± " << measured.plus_minus;
  }
  Said& operator<<(FromTo range) {
    parts_.push_back({{}, range.low, 0, true});
    return *this << " to " << range.high;
  }
  Said& operator<<(const Said& more) {
    const std::vector<Part> parts = more.parts_;
    parts_.insert(parts_.end(), parts.begin(), parts.end());
    return *this;
  }

  friend bool operator==(const Said&, const Said&) = default;

 private:
  struct Part {
    std::string text;
    std::optional<Length> length;
    int fewer = 0;  ///< decimals fewer than a bench figure has
    bool shares_unit = false;
    friend bool operator==(const Part&, const Part&) = default;
  };
  std::vector<Part> parts_;
};

/// A sentence from its pieces: say("rock of ", travel, " read").
template <class... Pieces>
Said say(Pieces&&... pieces) {
  Said out;
  (out << ... << std::forward<Pieces>(pieces));
  return out;
}

}  // namespace hingeline
