#pragma once
/// \file
/// Linked keys as lever chains: what every key does while one of them is pressed.
///
/// Every key turns about its own hinge line from its rest stop (0) towards closed (+). A link is one contact:
/// the driver's arm pushes the driven key's foot through a piece of cork or felt and never pulls. One key may
/// drive several and be driven by several; a ring of keys is refused.
///
/// Displacements are arm x angle. For an opening o on an arm a that is off by no more than a share
/// (o / a)^2 / 24 of the opening when the opening was read straight across (0.0004 for 3 mm on 30 mm).
/// Contacts are taken to stay where they are on their arms.
///
/// Within that, all angles here are exact piecewise linear functions of the driver's angle, to rounding
/// (a relative 1e-12). Nothing is sampled.

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/measured.h"
#include "hingeline/base/quantity.h"

namespace hingeline::regulation {

/// A figure worked out from uncertain inputs. The standard uncertainty is to first order, each input moved by
/// its own standard uncertainty up and down and half the difference taken (JCGM 100:2008, 5.1.3 note 2).
template <class Q>
struct Figure {
  Q value{};
  Q standard{};
  /// Expanded, k = 2.
  [[nodiscard]] constexpr Q plus_minus() const { return standard * 2.0; }
};

/// A pad on a key.
struct ChainPad {
  Measured<Length> arm;      ///< hinge axis to pad centre, above 0
  Measured<Length> opening;  ///< at rest on the key's own stop, at the pad's centre, 0 or more
};

struct ChainKey {
  std::string name;             ///< for messages
  std::optional<ChainPad> pad;  ///< none: a lever without a pad
};

/// One contact between two keys.
struct Link {
  std::size_t from = 0;         ///< the driver, as an index into the keys
  std::size_t to = 0;           ///< the driven key
  Measured<Length> driver_arm;  ///< driver's hinge axis to the contact, above 0
  Measured<Length> foot_arm;    ///< driven key's hinge axis to the contact, above 0
  /// Between cork and foot with both keys on their stops: lost motion. Below 0 the contact holds the driven
  /// key off its stop by so much.
  Measured<Length> gap;
  /// What the keys' rock takes up at the contact under load before motion passes on, 0 or more; a feeler at
  /// rest does not see it.
  Measured<Length> slack;
  /// Tilt of the contact's face against the hinge line. Above 0 the gap grows when the driver moves towards
  /// the lower post against the driven key. Within a right angle.
  Measured<Angle> tilt;
};

/// Keys and links that can be: every number finite and in its range, no ring.
class Chain {
 public:
  /// Refused: arms that are not above 0, openings or slacks below 0, a link of a key with itself or to a key
  /// that is not there, uncertainties below 0, and rings, with their keys named.
  static Expected<Chain> make(std::vector<ChainKey> keys, std::vector<Link> links);

  [[nodiscard]] const std::vector<ChainKey>& keys() const { return keys_; }
  [[nodiscard]] const std::vector<Link>& links() const { return links_; }
  /// All keys, every driver before what it drives.
  [[nodiscard]] const std::vector<std::size_t>& order() const { return order_; }

 private:
  std::vector<ChainKey> keys_;
  std::vector<Link> links_;
  std::vector<std::size_t> order_;
};

/// Where all keys are.
struct Pose {
  std::vector<Angle> turned;  ///< each key from its stop
  /// How far each pad stands open; below 0: its pad would have to give by so much. None: no pad.
  std::vector<std::optional<Length>> open;
};

/// The pose with `driver` turned by `angle` (0: nobody presses) and every other key as little as the links
/// allow.
Pose pose(const Chain& chain, std::size_t driver, Angle angle);

/// Something that happens while a key is pressed.
struct Happening {
  enum class Kind {
    takes_up,  ///< a link begins to move its driven key
    seats      ///< a pad reaches its tone hole
  };
  Angle driver;  ///< how far the pressed key has turned
  Kind kind = Kind::takes_up;
  std::size_t which = 0;  ///< link or key
};

/// All that happens from rest until the last pad that moves has seated, in order, as if pads gave way; at
/// equal angles links before pads, lower numbers first. Links that carry at rest are not named.
std::vector<Happening> stroke(const Chain& chain, std::size_t driver);

/// How a pad is closed from a key.
struct Closing {
  Angle driver;                   ///< by how much the driver has turned when the pad seats
  double pad_ratio = 0;           ///< pad's angle per driver's angle just before it seats
  std::vector<std::size_t> path;  ///< links that carry just before it seats, from the driver to the pad
  bool at_rest = false;           ///< it is closed before anybody presses
};

/// None: `target` has no pad or does not move with `driver`. A key closes its own pad with an empty path.
std::optional<Closing> closing(const Chain& chain, std::size_t driver, std::size_t target);

/// What a link loses before it moves its driven key, nobody pressing.
struct LostMotion {
  Figure<Length> at_contact;             ///< gap and slack; 0 for a link that carries at rest
  std::optional<Figure<Length>> at_pad;  ///< what the driven pad would have moved for it
  Figure<Angle> at_driver;               ///< how far the driver turns for it
  /// Above 0: this contact holds the driven key off its stop; its pad stands that much lower (at the contact
  /// when there is no pad).
  Figure<Length> holds_off;
};
LostMotion lost_motion(const Chain& chain, std::size_t link);

}  // namespace hingeline::regulation
