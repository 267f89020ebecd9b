#include "hingeline/store/sha256.h"

#include <openssl/evp.h>

#include <algorithm>
#include <array>
#include <stdexcept>

namespace hingeline::store {
namespace {

/// Only a lack of memory makes these fail.
void needed(bool done) {
  if (!done) throw std::runtime_error("SHA-256 cannot be reckoned");
}

}  // namespace

struct Sha256::State {
  EVP_MD_CTX* context = EVP_MD_CTX_new();
  State() = default;
  ~State() { EVP_MD_CTX_free(context); }
  State(const State&) = delete;
  State& operator=(const State&) = delete;
};

Sha256::Sha256() : state_(std::make_unique<State>()) {
  needed(state_->context != nullptr && EVP_DigestInit_ex(state_->context, EVP_sha256(), nullptr) == 1);
}
Sha256::~Sha256() = default;

void Sha256::add(std::string_view bytes) {
  needed(EVP_DigestUpdate(state_->context, bytes.data(), bytes.size()) == 1);
}

std::string Sha256::hex() {
  std::array<unsigned char, EVP_MAX_MD_SIZE> sum{};
  unsigned size = 0;
  needed(EVP_DigestFinal_ex(state_->context, sum.data(), &size) == 1);
  static constexpr std::string_view kDigits = "0123456789abcdef";
  std::string out;
  for (unsigned i = 0; i < size; ++i) {
    out += kDigits[sum[i] >> 4U];
    out += kDigits[sum[i] & 0xFU];
  }
  return out;
}

std::string sha256_hex(std::string_view bytes) {
  Sha256 sum;
  sum.add(bytes);
  return sum.hex();
}
std::string sha256_hex(std::span<const std::byte> bytes) {
  return sha256_hex(std::string_view(reinterpret_cast<const char*>(bytes.data()), bytes.size()));
}

bool is_sha256_hex(std::string_view text) {
  constexpr std::size_t kDigits = 64;
  return text.size() == kDigits && std::all_of(text.begin(), text.end(), [](char c) {
           return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
         });
}

}  // namespace hingeline::store
