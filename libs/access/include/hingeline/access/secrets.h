#pragma once
/// \file
/// Random secrets, and comparing them without telling by the time it takes how far they agree.

#include <cstddef>
#include <string>
#include <string_view>

namespace hingeline::access {

/// Whether both are the same; takes as long wherever they differ (not when their lengths do).
bool same_secret(std::string_view a, std::string_view b);

/// 256 bits from the system's source of random bytes, in base64url without padding (RFC 4648, section 5).
std::string random_token();
inline constexpr std::size_t kTokenSize = 43;

}  // namespace hingeline::access
