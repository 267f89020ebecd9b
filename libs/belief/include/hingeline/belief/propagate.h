#pragma once
/// \file
/// Monte Carlo propagation of what is known about a key through the exact engine (JCGM 101:2008).

#include <array>
#include <cstddef>
#include <cstdint>

#include "hingeline/belief/key.h"

namespace hingeline::belief {

/// How one figure spreads over the draws, mm; NaN where it does not apply to the key.
struct FigureSpread {
  double mean = 0;
  double standard = 0;
  double low = 0;  ///< the probabilistically symmetric 95 % coverage interval (JCGM 101:2008, 7.7)
  double high = 0;
};

struct Propagation {
  std::uint64_t seed = 0;
  std::size_t draws = 0;       ///< asked for
  std::size_t impossible = 0;  ///< draws whose parts cannot be; they are left out
  std::array<FigureSpread, kFigureCount> figures{};

  [[nodiscard]] const FigureSpread& operator[](Figure f) const {
    return figures[static_cast<std::size_t>(f)];
  }
};

inline constexpr std::size_t kMostDraws = 1'000'000;

/// Draws the key's numbers from their joint distribution after the readings (see estimate()) and works out
/// every figure of each draw exactly. Numbers that no reading touches keep their own distribution:
/// rectangular where only a range is known, normal else. Draw k depends on the seed and k alone, so the same
/// bytes come out for any number of threads (0: as many as the machine has). 2 <= draws <= kMostDraws.
Expected<Propagation> propagate(const KeyKnowledge& key, std::size_t draws, std::uint64_t seed,
                                unsigned threads);

}  // namespace hingeline::belief
