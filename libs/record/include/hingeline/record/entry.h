#pragma once
/// \file
/// What all documents are made of: quantities as they stand there, words, and their places.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/measured.h"
#include "hingeline/base/money.h"
#include "hingeline/base/quantity.h"

namespace hingeline::record {

/// A place in a document. All places are equal: where something stands is not part of what it says.
struct Where : Place {
  friend bool operator==(const Where&, const Where&) { return true; }
};

/// Both ends of a range, low <= high.
template <class Q>
struct Range {
  Q low{};
  Q high{};
  friend bool operator==(const Range&, const Range&) = default;
};

/// One quantity as it stands in a document.
template <class Q>
struct Entry {
  bool present = false;  ///< false: the member is not in the document
  Origin origin = Origin::unknown;
  Q value{};                      ///< when known(); with repeats and no value typed: their mean
  std::optional<Q> plus_minus;    ///< expanded (k = 2), >= 0
  std::optional<Range<Q>> range;  ///< unknown only: it must lie in there ("between")
  std::vector<Q> repeats;         ///< single readings, in the order taken
  std::string with;               ///< the measuring instrument's name in the shop document
  std::string unit;     ///< as typed: "mm", "um", "in", "thou", "deg", "rad", "taper", "degC", "K", ...
  std::string meaning;  ///< what the figure means; presets
  Where place;          ///< of the entry; an absent one has the place of the object it is missing from

  [[nodiscard]] bool absent() const { return !present; }
  /// There, with a value.
  [[nodiscard]] bool known() const { return present && origin != Origin::unknown; }
  /// There, and says that it is not known.
  [[nodiscard]] bool said_unknown() const { return present && origin == Origin::unknown; }
  friend bool operator==(const Entry&, const Entry&) = default;
};
using LengthEntry = Entry<Length>;
using AngleEntry = Entry<Angle>;
using TemperatureEntry = Entry<Temperature>;
/// A plain number; its unit ("1e-6/K", "min", "turns", or empty) is said where it is used.
using NumberEntry = Entry<double>;

/// A sum of money as it stands in a document, in the shop's currency.
struct Amount {
  bool present = false;
  Money money;
  Where place;
  [[nodiscard]] bool absent() const { return !present; }
  friend bool operator==(const Amount&, const Amount&) = default;
};

/// A word or name with its place.
struct Text {
  std::string text;
  Where place;
  [[nodiscard]] bool empty() const { return text.empty(); }
  friend bool operator==(const Text&, const Text&) = default;
};

}  // namespace hingeline::record
