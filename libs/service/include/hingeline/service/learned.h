#pragma once
/// \file
/// What a shop's finished jobs teach: take-off of its cutters, minutes of its work, measures of its screw
/// families, shares of causes. Each with what it was learned from, and how much that weighs against the
/// preset.

#include <string>
#include <vector>

#include "hingeline/base/said.h"
#include "hingeline/belief/cause.h"
#include "hingeline/belief/pooling.h"
#include "hingeline/plan/bite.h"
#include "hingeline/plan/plan.h"
#include "hingeline/record/ledger.h"

namespace hingeline::service {

struct LearnedTakeOff {
  std::string cutter;  ///< empty: one never used before
  std::string person;  ///< empty: anybody
  Length per_turn;     ///< half of all jobs stay under
  Length preset;
  Length low;  ///< 95 of 100 jobs lie between these
  Length high;
  belief::AgainstPreset ratio;
  Said said;
};

struct LearnedMinutes {
  std::string of;
  std::string person;  ///< empty: anybody
  bool has_preset = true;
  plan::Minutes preset;  ///< without one: a guess
  plan::Minutes minutes;
  belief::AgainstPreset ratio;
  Said said;
};

/// A measure of a family's next screw.
struct LearnedField {
  std::string pattern;
  record::MeasuredField field = record::MeasuredField::point_half_angle;
  Measured<Angle> angle;  ///< when is_angle(field); k = 2, as is the next
  Measured<Angle> angle_before;
  Measured<Length> length;  ///< when not
  Measured<Length> length_before;
  belief::FieldLearned learned;
  Said said;
};

struct LearnedShares {
  std::string pattern;         ///< empty: the whole shop
  belief::ShareLesson lesson;  ///< in the order of record::CauseWord
  Said said;
};

struct Learned {
  std::string title;                     ///< of the ledger
  std::size_t jobs = 0;                  ///< in the ledger, counting or not
  std::vector<LearnedTakeOff> take_off;  ///< the shop's first, then cutter by cutter, then hand by hand
  std::vector<LearnedMinutes> minutes;   ///< by work
  std::vector<LearnedField> patterns;    ///< those that screws were measured of, in the shop's order
  std::vector<LearnedShares> causes;     ///< the shop's first
  std::vector<Said> notes;               ///< what was left out, what no longer counts
  belief::TakeOffPool take_off_pool;
  belief::MinutesPool minutes_pool;
  belief::SharePool share_pool;
};

/// Everything the ledger's jobs teach about the shop. Fault::content where there are more names than
/// belief::kMostEffects. The order of the jobs plays no part. `shop` is the document as written, never one
/// from shop_with(): the jobs would count twice.
Expected<Learned> learn(const record::Ledger& ledger, const record::Shop& shop,
                        const belief::CausePresets& presets = {});

/// The shop with its general figures and patterns as learned; what nothing was learned of stays as it is, to
/// the bit. Its take-off is that of any of its cutters in any hand: sharpen() knows better.
record::Shop shop_with(const record::Shop& shop, const Learned& learned);

/// The take-off of one cutter in one hand; empty or unknown names: of any.
plan::TakeOff take_off_for(const Learned& learned, const std::string& cutter, const std::string& person);

/// A key's pace as learned: the take-off of the cutter that fits both its seats (where they take different
/// ones, or none fits, the shop's) in that person's hand, and that person's minutes.
void sharpen(plan::KeyCase& key, const Learned& learned, const std::string& person);

/// Causes with shares as learned; `pattern` empty or unknown: the shop's. Untouched where nothing was
/// learned.
belief::CausePresets presets_with(belief::CausePresets presets, const Learned& learned,
                                  const std::string& pattern);

/// As lines of text, a heading before each subject.
std::vector<std::string> tell(const Learned& learned, LengthUnit unit);
/// Lengths are numbers in mm, angles in degrees, rounded to six decimals; sentences use `unit`.
std::string to_json(const Learned& learned, LengthUnit unit);

}  // namespace hingeline::service
