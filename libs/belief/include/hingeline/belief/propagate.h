#pragma once
/// \file
/// Monte Carlo propagation of what is known about a key through the exact engine (JCGM 101:2008).

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

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
  std::size_t one_by_one = 0;  ///< draws that went through the engine alone, the impossible ones included
  std::array<FigureSpread, kFigureCount> figures{};
  /// [input][figure], inputs as the key has them: the share of the figure's variance that would go, on
  /// average, if this input alone became known exactly: var(E[figure | input]) / var(figure), the first-order
  /// index of Sobol (Saltelli et al., Global Sensitivity Analysis, 2008, section 1.2.8), from 0 to 1. The
  /// conditional mean is taken as a polynomial of second degree in the input, whose terms are orthogonal for
  /// a normal and for a rectangular one (Sudret, Reliability Engineering and System Safety 93, 2008; both
  /// from memory). What inputs do together only, or beyond the second degree, is in no share: they add up to
  /// 1 or less. Inputs that readings have tied together each get what they tell of the other too: then they
  /// may add up to more. From the first kShareDraws draws: standard error under 0.005, under 0.015 where the
  /// figure bends. NaN where the figure does not apply, 0 where it does not vary.
  std::vector<Figures> shares;

  [[nodiscard]] const FigureSpread& operator[](Figure f) const {
    return figures[static_cast<std::size_t>(f)];
  }
};

inline constexpr std::size_t kMostDraws = 1'000'000;
inline constexpr std::size_t kShareDraws = 32'768;

/// Draws the key's numbers from their joint distribution after the readings (see estimate()) and works out
/// every figure of each draw exactly. Numbers that no reading touches keep their own distribution:
/// rectangular where only a range is known, normal else. Draw k depends on the seed and k alone, so the same
/// bytes come out for any number of threads (0: as many as the machine has). 2 <= draws <= kMostDraws.
///
/// Draw k takes Stream(seed, k): its normal numbers as normal pairs, then a uniform for each rectangular one.
/// Most draws are worked out many at a time (straight-sided points and holes), the others one by one through
/// the engine; the figures agree within the errors that contact/joint.h and mechanism/hinge.h publish.
Expected<Propagation> propagate(const KeyKnowledge& key, std::size_t draws, std::uint64_t seed,
                                unsigned threads);

}  // namespace hingeline::belief
