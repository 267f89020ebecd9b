#pragma once
/// \file
/// One possible truth about a key with its hinge, from which others near it are built.

#include <optional>

#include "hingeline/belief/key.h"

namespace hingeline::belief {

/// The joint of these forms. Fault::geometry when they cannot be made.
Expected<contact::Joint> build_joint(const JointGeometry& g);
/// The joint in its place.
mechanism::HingeEnd end_with(const JointGeometry& g, contact::Joint joint);

/// A truth with its hinge, from which others near it are built: joints that stay the same are kept.
struct Truth {
  KeyGeometry geometry;
  mechanism::Hinge hinge;

  [[nodiscard]] bool same_joint(const KeyGeometry& g, Side side) const {
    return g.at(side).point == geometry.at(side).point && g.at(side).hole == geometry.at(side).hole;
  }
  /// Whether the joints are the same and only their places may differ.
  [[nodiscard]] bool same_joints(const KeyGeometry& g) const {
    return g.kind == HingeKind::rod || (same_joint(g, Side::upper) && same_joint(g, Side::lower));
  }
  [[nodiscard]] std::optional<mechanism::Hinge> near(const KeyGeometry& g) const {
    if (g.kind == HingeKind::rod) {
      auto built = build_hinge(g);
      return built ? std::optional(std::move(*built)) : std::nullopt;
    }
    const auto end = [&](Side side) -> std::optional<mechanism::HingeEnd> {
      const JointGeometry& now = g.at(side);
      if (same_joint(g, side)) return end_with(now, hinge.end(side).joint);
      auto joint = build_joint(now);
      if (!joint) return std::nullopt;
      return end_with(now, std::move(*joint));
    };
    auto upper = end(Side::upper);
    if (!upper) return std::nullopt;
    auto lower = end(Side::lower);
    if (!lower) return std::nullopt;
    return mechanism::Hinge(g.span, g.key_length, std::move(*upper), std::move(*lower));
  }
};
inline Expected<Truth> truth_of(const KeyGeometry& g) {
  auto hinge = build_hinge(g);
  if (!hinge) return tl::unexpected(hinge.error());
  return Truth{g, std::move(*hinge)};
}

}  // namespace hingeline::belief
