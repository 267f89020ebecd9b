#pragma once
/// \file
/// What uncertain inputs do to a result: by draws (JCGM 101:2008) and to first order (JCGM 100:2008).

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "hingeline/numeric/random.h"

namespace hingeline::numeric {

/// Large enough that taking a block of draws costs nothing beside it, small enough that threads end together.
inline constexpr std::size_t kDrawsInBlock = 1024;

/// Calls `work(first, last)` for consecutive blocks of `block` (the last may be shorter) that together are 0
/// to `count`, on `threads` threads (0: as many as the machine has). Which thread takes which block is left
/// open: `work` must be safe to call at once and give the same for a block whoever calls it. Returns when all
/// is done; an exception of `work` ends the run and comes out of here.
void for_blocks(std::size_t count, unsigned threads,
                const std::function<void(std::size_t first, std::size_t last)>& work,
                std::size_t block = kDrawsInBlock);

/// Monte Carlo propagation (JCGM 101): `model(Stream&)` draws its inputs and gives one value of the result.
/// Draw k has Stream(seed, k) for its own, so the values are the same bytes for any number of threads (0: as
/// many as the machine has); they come in the order of draws, and sums taken over them do too.
///
/// `model` is called from several threads at once. Uses 8 bytes a draw.
template <class Model>
std::vector<double> draw_outputs(std::size_t draws, std::uint64_t seed, unsigned threads, Model&& model) {
  std::vector<double> out(draws);
  for_blocks(draws, threads, [&](std::size_t first, std::size_t last) {
    for (std::size_t k = first; k < last; ++k) {
      Stream stream(seed, k);
      out[k] = model(stream);
    }
  });
  return out;
}

/// One input's part in the result.
struct Contribution {
  double sensitivity;  ///< change of the result per unit of the input
  double standard;     ///< of the result by this input: |sensitivity| x the input's standard uncertainty
  double degrees_of_freedom;  ///< of the input
};

struct GumResult {
  double value;
  double standard;
  double degrees_of_freedom;  ///< effective (Welch-Satterthwaite); infinity when nothing limits it
  std::vector<Contribution> contributions;  ///< in the order of the inputs
};

/// First-order propagation of independent inputs (JCGM 100, 5.1 and G.4): what the law of propagation says,
/// no more; where `model` bends within the inputs' uncertainty, draw_outputs is right and this is not.
///
/// Sensitivities are numeric, by the five-point central difference with steps of a tenth of the input's
/// standard uncertainty: exact for polynomials up to the fourth degree, but for rounding. `model` must be
/// defined and finite that far around. An input without uncertainty is not moved, its sensitivity is given as
/// 0. The three spans are equally long; standards 0 or more; degrees of freedom above 0 or infinity.
GumResult propagate_gum(const std::function<double(std::span<const double>)>& model,
                        std::span<const double> values, std::span<const double> standards,
                        std::span<const double> degrees_of_freedom);

}  // namespace hingeline::numeric
