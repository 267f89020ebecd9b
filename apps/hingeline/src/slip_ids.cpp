#include "slip_ids.h"

#include <chrono>
#include <random>

#include "hingeline/base/moment.h"

namespace hingeline {

record::Slip fresh_slip() {
  static std::random_device random;  // the system's own source
  const auto since = std::chrono::system_clock::now().time_since_epoch();
  const auto milliseconds = std::chrono::duration_cast<std::chrono::milliseconds>(since).count();
  constexpr std::int64_t kSecond = 1000;
  constexpr unsigned kHalf = 32;
  record::Slip out;
  // Room is left above: a document's slips count on from its first id.
  out.id = record::slip_id(static_cast<std::uint64_t>(milliseconds), random(),
                           static_cast<std::uint64_t>(random() & 0x3FFFU) << kHalf | random());
  out.at = iso_text(Moment::at(milliseconds / kSecond), UtcOffset{});
  return out;
}

std::optional<record::Role> role_of(const std::string& typed) {
  for (const record::Role role :
       {record::Role::owner, record::Role::bench, record::Role::counter, record::Role::look_only}) {
    if (typed == record::word(role)) return role;
  }
  return std::nullopt;
}

}  // namespace hingeline
