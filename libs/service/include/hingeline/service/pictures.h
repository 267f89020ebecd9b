#pragma once
/// \file
/// What the drawings of a key show: the views that the drawing room turns into scenes.

#include "hingeline/drawing/plates.h"
#include "hingeline/drawing/section.h"
#include "hingeline/drawing/strip.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/leak.h"
#include "hingeline/service/stack.h"
#include "hingeline/service/wear.h"

namespace hingeline::service {

/// Both joints in section, now and, where the best plan changes them, afterwards. `key` without a
/// problem.
drawing::SectionView section_view(const KeyResult& key, LengthUnit unit);
/// The key between its posts with gaps, free range, pad and the best plan's cuts.
drawing::StripView strip_view(const KeyResult& key, LengthUnit unit);

/// The post at that end with the cutter that fits its screw's head. `key` without a problem, on pivot screws.
drawing::CutterView cutter_view(const KeyResult& key, Side side, LengthUnit unit);
/// A pad as its play lets it stand. Fault::content where nothing can be said of its leak.
Expected<drawing::WedgeView> wedge_view(const KeyResult& key, const KeyLeak& leak, LengthUnit unit);
/// End play over the years. Fault::content or geometry where it cannot be said.
Expected<drawing::YearsView> years_view(const KeyWear& wear, LengthUnit unit);
/// Tubes on one rod. Fault::content where the stack could not be worked out.
Expected<drawing::StackView> stack_view(const record::Stack& stack, const StackResult& result,
                                        const InstrumentResult& instrument, LengthUnit unit);

}  // namespace hingeline::service
