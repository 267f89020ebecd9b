#pragma once
/// \file
/// SHA-256 (FIPS 180-4), reckoned by libcrypto.

#include <cstddef>
#include <memory>
#include <span>
#include <string>
#include <string_view>

namespace hingeline::store {

/// The sum of bytes that come piece by piece.
class Sha256 {
 public:
  Sha256();
  ~Sha256();
  Sha256(const Sha256&) = delete;
  Sha256& operator=(const Sha256&) = delete;

  void add(std::string_view bytes);
  /// 64 hexadecimal digits, in small letters. Nothing may be added afterwards.
  std::string hex();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// 64 hexadecimal digits, in small letters.
std::string sha256_hex(std::string_view bytes);
std::string sha256_hex(std::span<const std::byte> bytes);
/// Whether text is such a sum.
bool is_sha256_hex(std::string_view text);

}  // namespace hingeline::store
