#include "hingeline/regulation/chain.h"

#include <fmt/format.h>

#include <algorithm>
#include <numbers>

#include "core.h"

namespace hingeline::regulation {
namespace {

template <class Q>
bool sound(const Measured<Q>& m) {
  return is_finite(m.value) && is_finite(m.plus_minus) && m.plus_minus.raw() >= 0;
}

std::string said(const std::vector<ChainKey>& keys, const Link& link) {
  return fmt::format("the link from {} to {}", keys[link.from].name, keys[link.to].name);
}

Expected<void> check_key(const ChainKey& key) {
  if (!key.pad) return {};
  if (!sound(key.pad->arm) || !(key.pad->arm.value.raw() > 0))
    return fail(Fault::geometry, fmt::format("the pad arm of {} is not a length above 0", key.name),
                "the distance from hinge axis to pad centre");
  if (!sound(key.pad->opening) || key.pad->opening.value.raw() < 0)
    return fail(Fault::geometry, fmt::format("the opening of {} is not a length of 0 or more", key.name),
                "how far the pad stands open at rest");
  return {};
}

Expected<void> check_link(const std::vector<ChainKey>& keys, const Link& link) {
  if (link.from >= keys.size() || link.to >= keys.size())
    return fail(Fault::not_found, "a link names a key that is not there");
  if (link.from == link.to)
    return fail(Fault::geometry, fmt::format("{} is linked to itself", keys[link.from].name),
                "two different keys");
  for (const Measured<Length>* arm : {&link.driver_arm, &link.foot_arm}) {
    if (!sound(*arm) || !(arm->value.raw() > 0))
      return fail(Fault::geometry, fmt::format("an arm of {} is not a length above 0", said(keys, link)),
                  "the distance from hinge axis to contact");
  }
  if (!sound(link.gap))
    return fail(Fault::geometry, fmt::format("the gap of {} is not a length", said(keys, link)));
  if (!sound(link.slack) || link.slack.value.raw() < 0)
    return fail(Fault::geometry,
                fmt::format("the slack of {} is not a length of 0 or more", said(keys, link)));
  if (!sound(link.tilt) || !(abs(link.tilt.value).raw() < std::numbers::pi / 2))
    return fail(Fault::geometry, fmt::format("the tilt of {} is not within a right angle", said(keys, link)));
  return {};
}

/// Keys of one ring among those that are left over, in the order in which they drive one another.
std::string ring(const std::vector<ChainKey>& keys, const std::vector<Link>& links,
                 const std::vector<std::size_t>& left) {
  // Every key left over has a driver left over: going back from driver to driver must come round.
  std::vector<std::size_t> way;
  std::size_t k = static_cast<std::size_t>(
      std::find_if(left.begin(), left.end(), [](std::size_t n) { return n > 0; }) - left.begin());
  while (std::find(way.begin(), way.end(), k) == way.end()) {
    way.push_back(k);
    for (const Link& l : links) {
      if (l.to == k && left[l.from] > 0) {
        k = l.from;
        break;
      }
    }
  }
  way.erase(way.begin(), std::find(way.begin(), way.end(), k));
  std::reverse(way.begin(), way.end());
  // Begin with the key that stands first in the list, so that the same ring is always said the same way.
  std::rotate(way.begin(), std::min_element(way.begin(), way.end()), way.end());
  std::string names;
  for (const std::size_t n : way) names += keys[n].name + " drives ";
  return names + keys[way.front()].name;
}

}  // namespace

Expected<Chain> Chain::make(std::vector<ChainKey> keys, std::vector<Link> links) {
  for (const ChainKey& k : keys) {
    if (auto ok = check_key(k); !ok) return tl::unexpected(ok.error());
  }
  for (const Link& l : links) {
    if (auto ok = check_link(keys, l); !ok) return tl::unexpected(ok.error());
  }
  Chain out;
  std::vector<std::size_t> drivers(keys.size(), 0);
  std::vector<std::vector<std::size_t>> driven(keys.size());
  for (const Link& l : links) {
    ++drivers[l.to];
    driven[l.from].push_back(l.to);
  }
  for (std::size_t k = 0; k < keys.size(); ++k) {
    if (drivers[k] == 0) out.order_.push_back(k);
  }
  for (std::size_t n = 0; n < out.order_.size(); ++n) {
    for (const std::size_t to : driven[out.order_[n]]) {
      if (--drivers[to] == 0) out.order_.push_back(to);
    }
  }
  if (out.order_.size() != keys.size())
    return fail(Fault::geometry, "the links go round in a ring: " + ring(keys, links, drivers),
                "links that lead from the pressed key to the pads");
  out.keys_ = std::move(keys);
  out.links_ = std::move(links);
  return out;
}

Pose pose(const Chain& chain, std::size_t driver, Angle angle) {
  const Core core(chain);
  std::vector<double> turned(core.keys.size(), 0);
  Pose out;
  for (const std::size_t k : core.order) {
    if (k == driver) turned[k] = angle.raw();
    for (const std::size_t n : core.into[k]) {
      const CoreLink& l = core.links[n];
      turned[k] = std::max(turned[k], (l.driver_arm * turned[l.from] - l.loses()) / l.foot_arm);
    }
  }
  for (std::size_t k = 0; k < turned.size(); ++k) {
    out.turned.push_back(radians(turned[k]));
    const CoreKey& key = core.keys[k];
    out.open.push_back(key.has_pad ? std::optional(millimetres(key.opening - key.arm * turned[k]))
                                   : std::nullopt);
  }
  return out;
}

std::vector<Happening> stroke(const Chain& chain, std::size_t driver) {
  const Core core(chain);
  const auto motion = core.motion(driver);
  std::vector<Happening> out;
  double last = 0;
  for (std::size_t k = 0; k < core.keys.size(); ++k) {
    if (const auto c = core_closing(core, motion, driver, k)) last = std::max(last, c->driver);
  }
  for (std::size_t k = 0; k < core.keys.size(); ++k) {
    for (const Piece& p : motion[k]) {
      if (p.from > 0 && p.from < last && p.link != kStop && p.link != kFinger &&
          piece_before(motion[k], p.from).link != p.link)
        out.push_back({radians(p.from), Happening::Kind::takes_up, p.link});
    }
    // At 0 a link begins to move its key unless it only holds it.
    const Piece& first = motion[k].front();
    if (first.rise > 0 && first.link != kFinger && first.start <= 0 && last > 0)
      out.push_back({radians(0), Happening::Kind::takes_up, first.link});
    const auto c = core_closing(core, motion, driver, k);
    if (c && !c->at_rest) out.push_back({radians(c->driver), Happening::Kind::seats, k});
  }
  std::sort(out.begin(), out.end(), [](const Happening& a, const Happening& b) {
    if (a.driver != b.driver) return a.driver < b.driver;
    if (a.kind != b.kind) return a.kind < b.kind;
    return a.which < b.which;
  });
  return out;
}

std::optional<Closing> closing(const Chain& chain, std::size_t driver, std::size_t target) {
  const Core core(chain);
  auto c = core_closing(core, core.motion(driver), driver, target);
  if (!c) return std::nullopt;
  return Closing{radians(c->driver), c->pad_ratio, std::move(c->path), c->at_rest};
}

LostMotion lost_motion(const Chain& chain, std::size_t link) {
  const Core core(chain);
  const auto between = [link](const Core& c) {
    const auto rest = c.rest();
    const CoreLink& l = c.links[link];
    return l.loses() + l.foot_arm * rest[l.to] - l.driver_arm * rest[l.from];
  };
  const auto lost = [between](const Core& c) { return std::max(0.0, between(c)); };
  const std::size_t to = core.links[link].to;
  LostMotion out;
  out.at_contact = figure<Length>(chain, core, lost);
  out.at_driver =
      figure<Angle>(chain, core, [&](const Core& c) { return lost(c) / c.links[link].driver_arm; });
  if (core.keys[to].has_pad) {
    out.at_pad = figure<Length>(
        chain, core, [&](const Core& c) { return lost(c) * c.keys[to].arm / c.links[link].foot_arm; });
  }
  out.holds_off = figure<Length>(chain, core, [&](const Core& c) {
    const auto rest = c.rest();
    const CoreLink& l = c.links[link];
    const double held = (l.driver_arm * rest[l.from] - l.loses()) / l.foot_arm;
    if (!(held > 0) || held < rest[to]) return 0.0;
    return held * (c.keys[to].has_pad ? c.keys[to].arm : l.foot_arm);
  });
  return out;
}

}  // namespace hingeline::regulation
