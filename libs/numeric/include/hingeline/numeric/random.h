#pragma once
/// \file
/// Random numbers that depend on nothing but where they stand: seed, stream, place in the stream.

#include <array>
#include <cstdint>

namespace hingeline::numeric {

/// One block of Philox4x32-10: a counter of 128 bits and a key of 64 give 128 random bits. Words are least
/// significant first.
///
/// Source: Salmon, Moraes, Dror, Shaw, "Parallel random numbers: as easy as 1, 2, 3", SC11 (2011).
constexpr std::array<std::uint32_t, 4> philox(std::array<std::uint32_t, 4> counter,
                                              std::array<std::uint32_t, 2> key) {
  constexpr int kRounds = 10;
  for (int round = 0; round < kRounds; ++round) {
    const std::uint64_t even = std::uint64_t{0xD2511F53} * counter[0];
    const std::uint64_t odd = std::uint64_t{0xCD9E8D57} * counter[2];
    counter = {static_cast<std::uint32_t>(odd >> 32) ^ counter[1] ^ key[0], static_cast<std::uint32_t>(odd),
               static_cast<std::uint32_t>(even >> 32) ^ counter[3] ^ key[1],
               static_cast<std::uint32_t>(even)};
    key[0] += 0x9E3779B9;
    key[1] += 0xBB67AE85;
  }
  return counter;
}

/// The standard normal deviate z below which a share `p` of all deviates lies.
///
/// `p` strictly between 0 and 1. Relative error under 1e-15; exactly odd about p = 0.5 wherever 1 - p is
/// exact. Source: Wichura, Algorithm AS 241 (PPND16), Applied Statistics 37 (1988), 477-484.
double inverse_normal(double p);

/// Philox4x32-10 (Salmon et al. 2011): counter-based, so that draw k of stream s comes out the same on
/// whatever thread it is made. The seed is the key; the stream is the upper half of the counter and the
/// place the lower: streams of one seed never overlap (2^64 streams of 2^65 draws).
class Stream {
 public:
  Stream(std::uint64_t seed, std::uint64_t stream) : seed_(seed), stream_(stream) {}

  /// 64 random bits: the next draw. Each of the others takes exactly one of these.
  std::uint64_t bits() {
    const bool second = (next_ & 1) != 0;
    if (second && has_spare_) {
      has_spare_ = false;
      ++next_;
      return spare_;
    }
    const std::uint64_t block = next_ >> 1;
    const auto words =
        philox({low(block), high(block), low(stream_), high(stream_)}, {low(seed_), high(seed_)});
    ++next_;
    if (second) return joined(words[2], words[3]);
    spare_ = joined(words[2], words[3]);
    has_spare_ = true;
    return joined(words[0], words[1]);
  }
  /// Passes over so many draws: what comes after them is as if they had been taken.
  void skip(std::uint64_t draws) {
    next_ += draws;
    has_spare_ = has_spare_ && draws == 0;
  }

  /// Strictly between 0 and 1: an odd multiple of 2^-53, each as likely. 1 - x is exact and as likely as x.
  double uniform() { return static_cast<double>((bits() >> 11) | 1) * 0x1p-53; }

  /// Mean 0, standard deviation 1, |z| < 8.3: inverse_normal of one uniform.
  double normal() { return inverse_normal(uniform()); }

  /// Two independent ones from a single draw: the cheap way to many. The radius has 32 bits, so |z| < 6.8,
  /// and the angle 32; no result of the C library goes into them.
  std::array<double, 2> normal_pair();

 private:
  static constexpr std::uint32_t low(std::uint64_t x) { return static_cast<std::uint32_t>(x); }
  static constexpr std::uint32_t high(std::uint64_t x) { return static_cast<std::uint32_t>(x >> 32); }
  static constexpr std::uint64_t joined(std::uint32_t lower, std::uint32_t upper) {
    return std::uint64_t{upper} << 32 | lower;
  }

  std::uint64_t seed_;
  std::uint64_t stream_;
  std::uint64_t next_ = 0;  ///< draw; a block makes two
  std::uint64_t spare_ = 0;
  bool has_spare_ = false;
};

}  // namespace hingeline::numeric
