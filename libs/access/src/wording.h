#pragma once
/// \file
/// What a password, a PIN, a login and a device's name may be; and which counter an address has.

#include <string>
#include <string_view>

#include "hingeline/access/accounts.h"

namespace hingeline::access {

/// As it is kept and compared: capitals A to Z as small letters.
std::string login_as_kept(std::string_view login);
Expected<void> check_login(std::string_view login);
/// `login` as it is kept. NIST SP 800-63B, 5.1.1.2 (from memory): no list of kinds of characters, but none
/// that is commonly used, repeated, a run, or the name itself.
Expected<void> check_password(std::string_view password, std::string_view login, const Rules& rules);
Expected<void> check_pin(std::string_view pin);
Expected<void> check_name(std::string_view name);

/// An IPv4 address (also written as IPv6), or an IPv6 address's first 64 bits: behind them a machine chooses
/// freely (RFC 4291, 2.5.1). Other text as it is.
std::string peer_as_counted(const std::string& peer);

}  // namespace hingeline::access
