#pragma once
/// \file
/// Ids that follow from one a client made, so that what is sent twice makes the same slips twice.

#include <charconv>
#include <cstdint>
#include <string>

#include "hingeline/record/slip.h"

namespace hingeline::desk {

/// Gives the base itself, then the ids after it: each of the same millisecond and later than the one before.
class IdsFrom {
 public:
  /// `base`: is_slip_id().
  explicit IdsFrom(const std::string& base)
      : time_(record::milliseconds_of(base)),
        high_(digits(base.substr(15, 3)) | (digits(base.substr(19, 4)) & 0x3FFFU) << 12U),
        low_(digits(base.substr(24, 12))) {}
  std::string next() {
    std::string out = record::slip_id(time_, high_, low_);
    // Past the last one the time goes on: later all the same.
    if (low_ == kMostLow) ++time_;
    low_ = low_ == kMostLow ? 0 : low_ + 1;
    return out;
  }

 private:
  static constexpr std::uint64_t kMostLow = 0xFFFFFFFFFFFFULL;
  static std::uint64_t digits(const std::string& text) {
    std::uint64_t out = 0;
    std::from_chars(text.data(), text.data() + text.size(), out, 16);
    return out;
  }
  std::uint64_t time_;
  std::uint64_t high_;
  std::uint64_t low_;
};

}  // namespace hingeline::desk
