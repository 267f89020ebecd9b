#pragma once
/// \file
/// What libsodium is used for here: hashes of tokens, and Argon2id strings of passwords and PINs.

#include <string>
#include <string_view>

#include "hingeline/access/accounts.h"

namespace hingeline::access {

/// BLAKE2b of 256 bits of text, told apart by what it is for; 64 hexadecimal digits.
std::string hash_of(std::string_view what_for, std::string_view text);
/// What goes along with a session's requests; follows from the token, and does not tell it.
std::string csrf_of(const std::string& token);
/// So many random bytes as hexadecimal digits.
std::string random_hex(std::size_t bytes);

/// "$argon2id$v=19$m=...,t=...,p=1$salt$hash". Fault::file where there is no memory for it.
Expected<std::string> keep_secret(std::string_view secret, const Cost& cost);
/// An Argon2id string of that cost that nothing fits: looking at it takes as long as at any other.
std::string fits_nothing(const Cost& cost);
/// Fault::file where there is no memory for it.
Expected<bool> fits(std::string_view secret, const std::string& kept);
/// Whether it was kept at another cost.
bool of_another_cost(const std::string& kept, const Cost& cost);

}  // namespace hingeline::access
