#pragma once
/// \file
/// What the drawings of a key show: the views that the drawing room turns into scenes.

#include "hingeline/drawing/section.h"
#include "hingeline/drawing/strip.h"
#include "hingeline/service/bench.h"

namespace hingeline::service {

/// Both joints in section, now and, where the best plan changes them, afterwards. `key` without a
/// problem.
drawing::SectionView section_view(const KeyResult& key, LengthUnit unit);
/// The key between its posts with gaps, free range, pad and the best plan's cuts.
drawing::StripView strip_view(const KeyResult& key, LengthUnit unit);

}  // namespace hingeline::service
