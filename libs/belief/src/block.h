#pragma once
/// \file
/// Many truths about one key at once: their figures by straight-line arithmetic on vectors. mm and rad.
///
/// Covers rods and every pairing of a conical (flat or worn) or parallel point with a conical, straight,
/// drilled or bell-mouthed hole, as long as the insertion stays within the part of the point that is
/// described and no clearance bends at a vertex within the free range. A truth outside of that is marked
/// irregular and is left to the engine (build_hinge and figures_of). The others' figures are the engine's
/// within the errors that it publishes (contact/joint.h, mechanism/hinge.h).

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "hingeline/belief/key.h"

namespace hingeline::belief {

/// Truths that are worked out together; one bit each in a word.
inline constexpr std::size_t kTile = 64;

/// Rows of numbers of a tile of truths.
enum LineRow : std::size_t { kSpan, kKeyLength, kToneHole, kStation, kArm, kRodDiameter, kBore, kLineRows };
/// Rows of one end, counted from end_row().
enum EndRow : std::size_t {
  kHalfAngle,
  kTipRadius,
  kPointLength,
  kShankRadius,
  kWearLength,
  kWearDepth,
  kPinRadius,
  kPinLength,
  kShoulderRadius,
  kMouthRadius,
  kDepth,
  kHoleAngle,
  kFloorAngle,
  kBellAngle,
  kBellDepth,
  kStop,  ///< stop or protrusion, whichever the key is given by
  kGivenEndRows,
  kPointTangent = kGivenEndRows,  ///< from here on: tangent and cotangent of the four angles
  kPointCotangent,
  kHoleTangent,
  kHoleCotangent,
  kFloorTangent,
  kFloorCotangent,
  kBellTangent,
  kBellCotangent,
  kEndRows
};
inline constexpr std::size_t kRows = kLineRows + 2 * kEndRows;
constexpr std::size_t end_row(std::size_t end) { return kLineRows + end * kEndRows; }

/// Part of a row: so much per standard deviate.
struct Term {
  std::size_t deviate;
  double step;
};
/// A row that is mean + sum of terms.
struct DrawnRow {
  std::size_t row;
  double mean;
  std::vector<Term> terms;
};
/// Tangent and cotangent rows of an angle's row.
struct AngleRow {
  std::size_t angle;
  std::size_t tangent;  ///< the cotangent's row is the next
  bool near = false;    ///< never farther from its mean than lanes::tangents_near() allows
  double mean = 0;
  double mean_tangent = 0;
};

/// What is the same for all truths of a key.
struct EndPlan {
  bool parallel = false;
  bool worn = false;
  bool shouldered = false;
  bool by_protrusion = false;
  contact::HoleShape hole = contact::HoleShape::cone;
  bool operator==(const EndPlan&) const = default;
};
struct Forms {
  bool rod = false;
  bool pad = false;
  std::array<EndPlan, 2> ends;  ///< upper, lower
  bool operator==(const Forms&) const = default;
};
struct BlockPlan {
  Forms forms;
  std::array<double, kRows> still{};  ///< rows that are alike in all truths
  std::vector<DrawnRow> drawn;
  std::vector<AngleRow> angles;                  ///< drawn ones whose tangents are looked at
  std::vector<std::array<std::size_t, 2>> same;  ///< tangent rows that are another's: {row, that one}
};

/// The plan of this key when truths come from deviates z_0, z_1, ... as mean + sum of z_a x steps[a], both
/// over the key's inputs. Nothing when the forms are not covered, or an input does not enter in a straight
/// line.
std::optional<BlockPlan> plan_block(const KeyKnowledge& key, const std::vector<double>& mean,
                                    const std::vector<std::vector<double>>& steps);
/// The key's numbers as rows; those of the tangents are left as they are.
void rows_of(const KeyGeometry& key, std::array<double, kRows>& rows);

/// Sums of one figure over truths, each in eight parts: truth k goes into part k mod 8, so that they do not
/// depend on the vectors' width.
struct alignas(64) Sums {
  std::array<double, 8> first{};
  std::array<double, 8> second{};
  /// The parts added in their order.
  [[nodiscard]] static double whole(const std::array<double, 8>& parts) {
    double sum = 0;
    for (const double part : parts) sum += part;
    return sum;
  }
};

/// Values from `low` to `high`, both included, are kept and those below counted. Where both bounds are the
/// same, values there are counted only. Bounds that are no number keep and count nothing.
struct Bracket {
  double low;
  double high;
};
struct alignas(64) Caught {
  std::array<std::uint64_t, 8> below{};  ///< parts as in Sums
  std::size_t alike = 0;                 ///< at both bounds, where they are the same
  std::size_t kept = 0;
};

/// One figure's values on their way into sums and brackets.
struct Sieve {
  std::size_t row = 0;  ///< the figure's
  double origin = 0;
  std::array<Bracket, 2> brackets;
  Sums sums;  ///< of value - origin and its square
  std::array<Caught, 2> caught;
  std::array<double*, 2> kept{};  ///< each with room for kTile more
};

/// The work on one tile. Rows are kTile long. One table for each numeric::Width.
struct BlockWork {
  /// Fills the drawn rows and their tangents from the deviates' rows.
  void (*draw)(const BlockPlan& plan, const double* deviates, double* rows);
  /// Fills the figures' rows; returns the irregular truths' bits, whose figures are anything.
  std::uint64_t (*figures)(const BlockPlan& plan, const double* rows, double* figures);
  /// Takes figures' rows into their sieves; values that are no number are left out. `whole`: there are none.
  void (*sift)(const double* figures, bool whole, std::span<Sieve> sieves);
  /// Takes the origin off a row; what is no number becomes 0.
  void (*centre)(double* row, double origin);
  /// The row that is the sum of these parts of the deviates' rows.
  void (*combine)(const std::vector<Term>& terms, const double* deviates, double* row);
  /// Adds x and x^2, and x^2 and x^4 over a row.
  void (*add_powers)(const double* x, Sums& sums, Sums& square_sums);
  /// Adds value x and value x^2 over these rows of the figures, x the other row's, into the sums of each.
  void (*add_products)(const double* figures, std::span<const std::size_t> rows, const double* x, Sums* sums);
};
extern const BlockWork kBlockPlain;
extern const BlockWork kBlockAvx2;
extern const BlockWork kBlockAvx512;
/// For the machine this runs on.
const BlockWork& block_work();

}  // namespace hingeline::belief
