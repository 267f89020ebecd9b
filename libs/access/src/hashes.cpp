#include "hashes.h"

#include <fmt/format.h>
#include <sodium.h>

#include <array>
#include <cerrno>

namespace hingeline::access {
namespace {

const unsigned char* bytes_of(std::string_view text) {
  return reinterpret_cast<const unsigned char*>(text.data());
}

using Digest = std::array<unsigned char, crypto_generichash_BYTES>;

std::string hex(const unsigned char* bytes, std::size_t size) {
  std::string out;
  for (std::size_t n = 0; n < size; ++n) out += fmt::format("{:02x}", bytes[n]);
  return out;
}

template <std::size_t N>
std::string base64(const std::array<unsigned char, N>& bytes, int variant) {
  std::string out(sodium_base64_ENCODED_LEN(N, static_cast<unsigned>(variant)), '\0');
  sodium_bin2base64(out.data(), out.size(), bytes.data(), bytes.size(), variant);
  while (!out.empty() && out.back() == '\0') out.pop_back();
  return out;
}

tl::unexpected<Error> no_memory() {
  return fail(Fault::file, "there is not enough memory to look at a password",
              "fewer at a time, or more memory");
}

}  // namespace

bool same_secret(std::string_view a, std::string_view b) {
  return a.size() == b.size() && sodium_memcmp(a.data(), b.data(), a.size()) == 0;
}

std::string random_token() {
  std::array<unsigned char, 32> bytes{};
  randombytes_buf(bytes.data(), bytes.size());
  return base64(bytes, sodium_base64_VARIANT_URLSAFE_NO_PADDING);
}

std::string random_hex(std::size_t bytes) {
  std::string random(bytes, '\0');
  randombytes_buf(random.data(), random.size());
  return hex(bytes_of(random), random.size());
}

std::string hash_of(std::string_view what_for, std::string_view text) {
  const std::string whole = fmt::format("{}:{}", what_for, text);
  Digest digest{};
  crypto_generichash(digest.data(), digest.size(), bytes_of(whole), whole.size(), nullptr, 0);
  return hex(digest.data(), digest.size());
}

std::string csrf_of(const std::string& token) {
  constexpr std::string_view kUse = "csrf";
  static_assert(kTokenSize >= crypto_generichash_KEYBYTES_MIN &&
                kTokenSize <= crypto_generichash_KEYBYTES_MAX);
  Digest digest{};
  crypto_generichash(digest.data(), digest.size(), bytes_of(kUse), kUse.size(), bytes_of(token),
                     token.size());
  return base64(digest, sodium_base64_VARIANT_URLSAFE_NO_PADDING);
}

Expected<std::string> keep_secret(std::string_view secret, const Cost& cost) {
  std::array<char, crypto_pwhash_STRBYTES> out{};
  if (crypto_pwhash_str_alg(out.data(), secret.data(), secret.size(), cost.passes, cost.memory,
                            crypto_pwhash_ALG_ARGON2ID13) != 0)
    return no_memory();
  return std::string(out.data());
}

std::string fits_nothing(const Cost& cost) {
  std::array<unsigned char, crypto_pwhash_SALTBYTES> salt{};
  std::array<unsigned char, 32> hash{};
  randombytes_buf(salt.data(), salt.size());
  randombytes_buf(hash.data(), hash.size());
  return fmt::format("$argon2id$v=19$m={},t={},p=1${}${}", cost.memory / 1024, cost.passes,
                     base64(salt, sodium_base64_VARIANT_ORIGINAL_NO_PADDING),
                     base64(hash, sodium_base64_VARIANT_ORIGINAL_NO_PADDING));
}

Expected<bool> fits(std::string_view secret, const std::string& kept) {
  // The library's string is an array of this size with zeros behind it.
  std::array<char, crypto_pwhash_STRBYTES> text{};
  if (kept.size() >= text.size()) return false;
  kept.copy(text.data(), kept.size());
  errno = 0;
  if (crypto_pwhash_str_verify(text.data(), secret.data(), secret.size()) == 0) return true;
  if (errno == ENOMEM) return no_memory();
  return false;
}

bool of_another_cost(const std::string& kept, const Cost& cost) {
  std::array<char, crypto_pwhash_STRBYTES> text{};
  if (kept.size() >= text.size()) return false;
  kept.copy(text.data(), kept.size());
  return crypto_pwhash_str_needs_rehash(text.data(), cost.passes, cost.memory) != 0;
}

}  // namespace hingeline::access
