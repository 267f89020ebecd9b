#pragma once
/// \file
/// Stacks of tubes on one rod: from the document to what each tube does, and to the plan with the least work.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"
#include "hingeline/base/reading.h"
#include "hingeline/record/document.h"
#include "hingeline/rods/rod.h"
#include "hingeline/rods/stack.h"
#include "hingeline/service/worked.h"

namespace hingeline::service {

/// One tube as it is. What the document does not give leaves its figures absent.
struct TubeOnStack {
  std::string name;
  std::string key;                  ///< id of the key it is; may be empty
  std::size_t gap = 0;              ///< from 0
  std::size_t place = 0;            ///< in its gap, from 0
  std::optional<Worked> clearance;  ///< on the diameter
  std::optional<Worked> rock;       ///< at its pad, else at its ends
  std::optional<Worked> pad_up;     ///< offset of its pad, pushed up
  std::optional<Worked> pad_down;
  std::optional<Worked> bow_room;  ///< what the clearance leaves of the rod's bow; below 0: it binds
  std::optional<Worked> friction;  ///< torque that the bow makes
  std::optional<rods::BowInTube> bow;
  double chance_bow_binds = 0;
  std::optional<rods::ClearanceWindow> window;  ///< of the class of fit, at its rod
};

/// Between two posts.
struct GapOnStack {
  std::string name;  ///< "gap 1 (F, E)"
  Worked end_play;
  Length low;  ///< window
  Length high;
};

/// A step with what it means at the bench.
struct StackWorkStep {
  rods::StackStep step;
  rods::StackBite bite;
  std::string where;  ///< "F, above its arm", "post 2, towards the lower end"
  /// Swedging, where bore and outside are known: with the shop's share, and with all of it into length.
  std::optional<rods::Swedged> squeezed;
  std::optional<rods::Swedged> squeezed_least;
  Length squeezed_over;
  std::optional<rods::TubeWall> tube;
};

struct StackWorkPlan {
  std::vector<StackWorkStep> steps;
  rods::StackPlan plan;
  rods::StackCare care;
};

/// A rod of the shop for this stack.
struct RodForStack {
  std::string name;  ///< "as it is" for the one in there
  rods::RodChoice choice;
};

/// A limit that rules a plan and what 0.01 mm more of it would save.
struct Eased {
  std::string limit;
  std::optional<Duration> saved;
};

/// One stack, worked out.
struct StackResult {
  std::string id;
  std::string name;
  std::string note;
  std::optional<Error> problem;  ///< something needed is missing, or cannot be
  std::optional<Worked> rod;
  std::string fit;  ///< class wanted
  std::vector<TubeOnStack> tubes;
  std::vector<GapOnStack> gaps;
  std::vector<StackWorkPlan> plans;  ///< least work first
  std::vector<Eased> ruling;         ///< of the first plan
  std::vector<std::string> refusals;
  std::vector<RodForStack> rods;      ///< those that will do first
  std::string no_rods;                ///< why there are none
  std::vector<std::string> closings;  ///< bores too wide for the rod as it is: what squeezing them does
  std::vector<std::string> notes;
};

/// Every stack of the instrument, in the document's order; an instrument without stacks gives none.
std::vector<StackResult> work_out_stacks(const record::Instrument& instrument, const record::Shop& shop,
                                         LengthUnit unit);
/// One by its id; Fault::not_found names the nearest.
Expected<const StackResult*> find_stack(const std::vector<StackResult>& stacks, const std::string& id);

/// "swedge F above its arm 0.062 mm longer".
std::string tell(const StackWorkStep& step, LengthUnit unit);
/// How: what to squeeze to, what to do first, when to measure. May be empty.
std::string tell_how(const StackWorkStep& step, LengthUnit unit);
/// What stands against a rod, or what it asks for.
std::string tell(const StackResult& stack, const RodForStack& rod, LengthUnit unit);

/// All of them, or one, as JSON text; lengths in mm, durations in minutes, torques in N mm.
std::string to_json(const std::vector<StackResult>& stacks, LengthUnit unit, const std::string& only = {});

}  // namespace hingeline::service
