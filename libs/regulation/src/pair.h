#pragma once
/// \file
/// A pair in plain numbers.

#include "core.h"
#include "hingeline/regulation/regulation.h"

namespace hingeline::regulation {

struct PairCore {
  std::size_t first = 0;
  std::size_t second = 0;
  std::size_t under = 0;
  CoreClosing first_closing;
  CoreClosing second_closing;
  double per_first = 0;   ///< mm at the first pad per driver's angle, just before it seats
  double per_second = 0;  ///< and at the second
  bool contradicts = false;
  double read_share = 0;  ///< weight of the reading, 0 to 1
  double offset = 0;      ///< what the reading adds to the chain's lateness

  /// Driver's angle from the first's seating to the second's, by the chain alone.
  [[nodiscard]] double late(const Core& core) const;
  /// Together::reckoned of that chain.
  [[nodiscard]] double gap(const Core& core) const;
  /// Between lateness and gap at the pad that is late.
  [[nodiscard]] double to_angle(double at_pad) const;
  [[nodiscard]] double to_pad(double angle) const;
};

Expected<PairCore> pair_core(const Chain& chain, const Core& core, const Pair& pair);

}  // namespace hingeline::regulation
