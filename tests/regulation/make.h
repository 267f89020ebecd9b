#pragma once
// Chains for the tests.

#include <random>
#include <string>
#include <vector>

#include "hingeline/regulation/regulation.h"

namespace hingeline::regulation {

using Engine = std::mt19937_64;

inline double uniform(Engine& engine, double low, double high) {
  return low + (high - low) * (static_cast<double>(engine() >> 11) * 0x1p-53);
}
inline std::size_t pick(Engine& engine, std::size_t count) {
  return static_cast<std::size_t>(engine() % count);
}

inline Measured<Length> mm(double value, double plus_minus = 0) {
  return {millimetres(value), millimetres(plus_minus), Origin::read};
}
inline ChainKey padded(std::string name, double arm, double opening) {
  return {std::move(name), ChainPad{mm(arm), mm(opening)}};
}
inline ChainKey lever(std::string name) { return {std::move(name), std::nullopt}; }
inline Link link(std::size_t from, std::size_t to, double driver_arm, double foot_arm, double gap) {
  return {from, to, mm(driver_arm), mm(foot_arm), mm(gap), mm(0), {radians(0), radians(0), Origin::read}};
}

struct Shape {
  std::size_t most_keys = 7;
  double more_links = 0.4;  // chance of a second driver
  double held = 0.1;        // chance of a link that holds its key off its stop
  bool single_ways = false;
  double shortest = 6;  // arms of contacts, mm
  double longest = 20;
};
/// Key 0 drives all others, directly or not.
inline Chain draw_chain(Engine& engine, const Shape& shape) {
  const std::size_t count = 2 + pick(engine, shape.most_keys - 1);
  std::vector<ChainKey> keys;
  std::vector<Link> links;
  for (std::size_t k = 0; k < count; ++k) {
    const std::string name(1, static_cast<char>('a' + k));
    keys.push_back(k > 0 && uniform(engine, 0, 1) < 0.2
                       ? lever(name)
                       : padded(name, uniform(engine, 12, 40), uniform(engine, 1.5, 4)));
    if (k == 0) continue;
    const std::size_t drivers =
        1 + (!shape.single_ways && k > 1 && uniform(engine, 0, 1) < shape.more_links ? 1 : 0);
    std::size_t before = k;
    for (std::size_t n = 0; n < drivers; ++n) {
      const std::size_t from = pick(engine, k);
      if (from == before) continue;
      before = from;
      const bool held = uniform(engine, 0, 1) < shape.held;
      links.push_back(link(from, k, uniform(engine, shape.shortest, shape.longest),
                           uniform(engine, shape.shortest, shape.longest),
                           held ? -uniform(engine, 0.01, 0.2) : uniform(engine, 0, 0.4)));
    }
  }
  return *Chain::make(std::move(keys), std::move(links));
}

/// Pads that close when key 0 is pressed and stand open before.
inline std::vector<std::size_t> closable(const Chain& chain) {
  std::vector<std::size_t> out;
  for (std::size_t k = 0; k < chain.keys().size(); ++k) {
    const auto c = closing(chain, 0, k);
    if (c && !c->at_rest) out.push_back(k);
  }
  return out;
}

}  // namespace hingeline::regulation
