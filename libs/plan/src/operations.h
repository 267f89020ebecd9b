#pragma once
/// \file
/// What work does to a key's numbers.

#include "hingeline/contact/joint.h"
#include "hingeline/plan/plan.h"

namespace hingeline::plan {

/// Radius of the line of a conical point's flank, carried forward to the key's end face, with the point that
/// deep in the key; of any other point that of the hole's mouth.
Length flank_radius_at_face(const belief::KeyGeometry& key, Side side, Length insertion);

/// Home of a joint by its forms. Fault::geometry when they cannot be made.
Expected<contact::Home> home_of(const belief::JointGeometry& joint);

/// Work at the upper end moves where places are counted from: the body keeps the other post when this one
/// is brought back, and the pad keeps its place on the key when that end is faced.
double frame_moved(const Step& s);

}  // namespace hingeline::plan
