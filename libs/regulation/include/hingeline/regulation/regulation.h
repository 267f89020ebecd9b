#pragma once
/// \file
/// Two pads that should close together: which closes first, by how much, and which cork or felt puts it
/// right.

#include <optional>
#include <span>
#include <vector>

#include "hingeline/regulation/chain.h"

namespace hingeline::regulation {

/// Two pads that should seat together when one key is pressed.
struct Pair {
  std::size_t first = 0;
  std::size_t second = 0;
  std::size_t under = 0;  ///< the key that is pressed; may be one of the two
  /// Read at the bench: above 0, `first` has seated and `second` stands open by so much at its pad's centre;
  /// below 0, the other way round.
  std::optional<Measured<Length>> read;
  /// Weight of the reading against the chain, 0 to 1. None: by the uncertainty of both, as if the chain's
  /// inputs were independent.
  std::optional<double> read_share;
};

/// What a pair does.
struct Together {
  /// Above 0: `first` seats first and `second` then stands open by so much; below 0 the other way round. From
  /// the chain alone, from the reading alone, and both weighed by their uncertainty.
  Figure<Length> reckoned;
  std::optional<Figure<Length>> read;
  Figure<Length> gap;
  /// Chain and reading lie more than three joint standard uncertainties apart: `gap` is then the reading.
  bool contradicts = false;
  Closing first;  ///< how the two are closed, by the chain alone
  Closing second;
};

/// One cork or felt that would bring a pair together.
struct Cure {
  std::size_t link = 0;
  Figure<Length> thicker;   ///< change of its thickness; below 0: thinner
  double pad_per_cork = 0;  ///< how far the pair's gap moves per length of thickness, there
};

/// Refused: keys that are not there or the same, a pad that is not moved by `under`, a pad that is closed
/// before anybody presses. With `read_share` given nothing contradicts.
Expected<Together> together(const Chain& chain, const Pair& pair);

/// How much a link's cork may change: thinner to thicker, low <= 0 <= high. Infinite: no limit known.
struct Room {
  Length thinner;
  Length thicker;
};

/// Every single change of one cork that closes the pair exactly together, the smallest for each link, the
/// smallest first. `rooms` has an entry for each link; with `rooms` empty nothing limits a change. Exact: the
/// closing angles are concave piecewise linear in a cork's thickness, and all pieces are looked at. A link
/// that moves both pads alike, or past which another contact carries, has no entry.
///
/// The uncertainty is that of the pair's gap and of all arms, carried to the cork.
Expected<std::vector<Cure>> cures(const Chain& chain, const Pair& pair, std::span<const Room> rooms);

/// The one of that link, as cures() has it with nothing to limit a change; none where it has none.
Expected<std::optional<Cure>> cure(const Chain& chain, const Pair& pair, std::size_t link);

/// The chain with corks changed; `thicker` has an entry for each link.
Chain with_corks(const Chain& chain, std::span<const Length> thicker);

/// Which corks to change for many pairs at once.
struct Changes {
  std::vector<std::size_t> links;  ///< those that are changed, ascending
  std::vector<Length> thicker;     ///< for each link of the chain; 0: left alone
  std::vector<Length> left;        ///< for each pair, its gap afterwards, signed as Together::gap
};

/// The fewest corks after whose change every pair closes within `tolerance` (above 0, at the pad that is
/// late), of these sets the one with the least worst gap, of these the one with the least total change of
/// thickness. Ties: lower link numbers first. None: no change of corks within `rooms` does it.
///
/// Exact over all sets: a set is left out only when the dual of a linear program proves that none of its
/// supersets in question can do (see docs/theory). A pair's gap is taken as its pads' angles along the
/// contacts that carry at the end, which is never less than the gap itself and the same where they carry
/// throughout it.
///
/// Refused as together(); tolerance not above 0; more ways from a key to a pad than can be looked at (1024 in
/// all for pairs that share corks); a search of more than 200 000 sets.
Expected<std::optional<Changes>> fewest_changes(const Chain& chain, std::span<const Pair> pairs,
                                                std::span<const Room> rooms, Length tolerance);

/// A thickness to be had and what it leaves.
struct Sheet {
  std::size_t index = 0;  ///< in the list given
  Length left;            ///< wanted less the sheet's: above 0, the sheet is too thin by so much
};
/// The sheet nearest to the thickness wanted (the thinner of two equally near), and the thinnest one at least
/// as thick, to be sanded down. None: the list has none.
struct Sheets {
  std::optional<Sheet> nearest;
  std::optional<Sheet> to_sand;
};
Sheets choose_sheets(std::span<const Length> thicknesses, Length wanted);

/// What opening a pad wider does to the links of its key.
struct StopEffect {
  std::size_t link = 0;
  Length gap;  ///< change of the link's gap
};
/// The rest stop of `key` changed so that its pad opens `wider` (below 0: less). When a pad seats does not
/// change by it: only where its key rests, and so the gaps of its links. Empty without a pad.
std::vector<StopEffect> stop_effects(const Chain& chain, std::size_t key, Length wider);

/// Fitting work on one key.
struct FitWork {
  std::size_t key = 0;
  Length shift;       ///< of the key along its hinge line, + towards the lower post
  Length rock_taken;  ///< how much less the key rocks at its contacts, 0 or more
};
/// What fitting work does to one link.
struct WorkEffect {
  std::size_t link = 0;
  Length by_shift;  ///< change of its gap, by the tilt of its face
  Length by_rock;   ///< its lost motion falls by between 0 and this much (0 or more)
};
/// One entry for each link that the work reaches.
std::vector<WorkEffect> work_effects(const Chain& chain, std::span<const FitWork> work);
/// The chain afterwards. Of the rock taken, half counts as taken from a link's slack, give or take that half
/// (a range), as far as it has any.
Chain after_work(const Chain& chain, std::span<const FitWork> work);

}  // namespace hingeline::regulation
