#pragma once
/// \file
/// The worst case of a linear question about a loose hinge as second-order cone programs, in the form that
/// tests/reference/cone_oracle.py reads. No project header is included here.

#include <array>
#include <nlohmann/json.hpp>

#include "exact_hinge.h"

namespace reference {

/// question: weights of the place (from the middle of the free range), of a (2) and of b (2).
inline nlohmann::json cone_problem(const PlainHinge& hinge, const std::array<double, 5>& question) {
  using nlohmann::json;
  const std::vector<Real> places = break_places(hinge);
  const Real middle = (places.front() + places.back()) / 2;
  json pieces = json::array();
  for (std::size_t k = 0; k + 1 < places.size(); ++k) {
    const Real from = places[k];
    const Real to = places[k + 1];
    // A piece this short holds nothing that its neighbours do not come within 1e-9 mm of.
    if (to - from < 1e-10L) continue;
    const auto lines = [&](std::size_t end) {
      json all = json::array();
      for (const LinePiece& line : clearance_lines(hinge, end, from, to)) {
        all.push_back({static_cast<double>(line.at_from), static_cast<double>(line.at_to)});
      }
      return all;
    };
    pieces.push_back({{"from", static_cast<double>(from - middle)},
                      {"length", static_cast<double>(to - from)},
                      {"upper", lines(0)},
                      {"lower", lines(1)}});
  }
  return {{"question", question}, {"pieces", std::move(pieces)}};
}

}  // namespace reference
