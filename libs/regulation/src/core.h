#pragma once
/// \file
/// A chain in plain numbers (mm, rad), and its exact piecewise linear motion.

#include <cmath>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "hingeline/regulation/chain.h"

namespace hingeline::regulation {

struct CoreKey {
  bool has_pad = false;
  double arm = 0;
  double opening = 0;
  [[nodiscard]] double seat() const { return opening / arm; }  ///< angle at which the pad seats
};
struct CoreLink {
  std::size_t from = 0;
  std::size_t to = 0;
  double driver_arm = 0;
  double foot_arm = 0;
  double gap = 0;
  double slack = 0;
  [[nodiscard]] double loses() const { return gap + slack; }
};

/// angle = rise x driver's angle + start, from the driver's angle `from` on; by `link`, or by none (kStop).
struct Piece {
  double from = 0;
  double rise = 0;
  double start = 0;
  std::size_t link = 0;
};
inline constexpr std::size_t kStop = static_cast<std::size_t>(-1);    ///< on its own stop
inline constexpr std::size_t kFinger = static_cast<std::size_t>(-2);  ///< pressed

struct Core {
  std::vector<CoreKey> keys;
  std::vector<CoreLink> links;
  std::vector<std::size_t> order;
  std::vector<std::vector<std::size_t>> into;  ///< links by driven key

  explicit Core(const Chain& chain);

  /// Every key's angle over the driver's, convex and never falling; the first piece begins at 0.
  [[nodiscard]] std::vector<std::vector<Piece>> motion(std::size_t driver) const;
  /// Every key's angle with nobody pressing.
  [[nodiscard]] std::vector<double> rest() const;
};

/// The piece that holds just before `at` (the first one at 0).
const Piece& piece_before(const std::vector<Piece>& pieces, double at);
double angle_at(const std::vector<Piece>& pieces, double at);
/// Least driver's angle, 0 or more, at which the key has turned by `wanted`; infinity: never.
double reaches(const std::vector<Piece>& pieces, double wanted);

/// Moves each uncertain input of the chain up and down by its standard uncertainty and calls
/// `moved(core)` for both; `take(half difference)` once for each.
template <class Value>
double spread(const Chain& chain, const Core& core, Value&& value) {
  Core moved = core;
  double squares = 0;
  const auto by = [&](double& input, double standard) {
    if (!(standard > 0)) return;
    const double kept = input;
    input = kept + standard;
    const double up = value(moved);
    input = kept - standard;
    const double down = value(moved);
    input = kept;
    const double half = (up - down) / 2;
    if (std::isfinite(half)) squares += half * half;
  };
  for (std::size_t k = 0; k < chain.keys().size(); ++k) {
    const auto& pad = chain.keys()[k].pad;
    if (!pad) continue;
    by(moved.keys[k].arm, pad->arm.standard().raw());
    by(moved.keys[k].opening, pad->opening.standard().raw());
  }
  for (std::size_t n = 0; n < chain.links().size(); ++n) {
    const Link& link = chain.links()[n];
    by(moved.links[n].driver_arm, link.driver_arm.standard().raw());
    by(moved.links[n].foot_arm, link.foot_arm.standard().raw());
    by(moved.links[n].gap, link.gap.standard().raw());
    by(moved.links[n].slack, link.slack.standard().raw());
  }
  return std::sqrt(squares);
}

/// The value with its standard uncertainty.
template <class Q, class Value>
Figure<Q> figure(const Chain& chain, const Core& core, Value&& value) {
  return {Q::of(value(core)), Q::of(spread(chain, core, value))};
}

struct CoreClosing {
  double driver = 0;
  double pad_ratio = 0;
  std::vector<std::size_t> path;
  bool at_rest = false;
};
std::optional<CoreClosing> core_closing(const Core& core, const std::vector<std::vector<Piece>>& motion,
                                        std::size_t driver, std::size_t target);

}  // namespace hingeline::regulation
