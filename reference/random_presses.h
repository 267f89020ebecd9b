#pragma once
/// \file
/// Drawn keys under a finger, each from a seed and its own number.

#include <cmath>
#include <numbers>

#include "hingeline/numeric/random.h"
#include "hingeline/seal/pressed.h"

namespace reference {

struct PressCase {
  hingeline::seal::Freedom freedom;
  hingeline::seal::Seat seat;
  hingeline::seal::Push push;
};

/// A key as instruments have them, which something closes: one in five ends has no play, one touch in three
/// is in line with the pad. `dips` spots round its rim, none for a level one.
inline PressCase draw_press(std::uint64_t seed, std::uint64_t number, std::size_t dips) {
  using namespace hingeline;
  numeric::Stream s(seed, number);
  const auto u = [&](double low, double high) { return low + (high - low) * s.uniform(); };
  const auto clearance = [&] { return millimetres(s.uniform() < 0.2 ? 0 : u(0, 0.1)); };
  const auto clock = [&] { return radians(u(0, 2 * std::numbers::pi)); };
  PressCase c;
  const double key = u(10, 200);
  c.freedom = {millimetres(key), clearance(), clearance()};
  c.seat.pad = {millimetres(u(4, 60)), millimetres(u(-0.1, 1.1) * key), millimetres(u(5, 40)), clock()};
  c.seat.stiffness = newtons_per_millimetre(std::exp(u(1, 5)));
  if (s.uniform() < 0.5) {
    c.seat.side = millimetres(u(-0.1, 0.1));
    c.seat.front = millimetres(u(-0.1, 0.1));
  }
  const double arm = u(5, 50);
  const double finger = std::exp(u(-2, 1.5));
  c.push = {millimetres(u(-0.2, 1.2) * key), millimetres(arm),
            s.uniform() < 1.0 / 3 ? c.seat.pad.clock : clock(), newtons(finger),
            newton_millimetres(u(-0.7, 1) * finger * arm)};
  for (std::size_t k = 0; k < dips; ++k)
    c.seat.dips.push_back(millimetres(s.uniform() < 0.5 ? 0 : u(0, 0.05)));
  return c;
}

/// Sizes far beyond any key, over many powers of ten.
inline PressCase draw_absurd_press(std::uint64_t seed, std::uint64_t number) {
  using namespace hingeline;
  PressCase c = draw_press(seed, number, number % 4 == 0 ? 12 : 0);
  numeric::Stream s(seed + 1000, number);
  const auto power = [&](double decades) { return std::pow(10, decades * (2 * s.uniform() - 1)); };
  c.freedom.upper_clearance = c.freedom.upper_clearance * power(3);
  c.freedom.lower_clearance = c.freedom.lower_clearance * power(3);
  c.seat.stiffness = c.seat.stiffness * power(4);
  const double harder = power(4);
  c.push.finger = c.push.finger * harder;
  c.push.spring = c.push.spring * harder;
  c.seat.side = c.seat.side * power(2);
  c.seat.front = c.seat.front * power(2);
  return c;
}

}  // namespace reference
