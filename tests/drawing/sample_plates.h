#pragma once
/// \file
/// Further drawings for tests: plainly invented.

#include <string>
#include <utility>
#include <vector>

#include "hingeline/drawing/plates.h"
#include "sample_views.h"

namespace hingeline::drawing::samples {

inline StackView stack_sample() {
  StackView v;
  v.title = "Lower stack: tubes on one rod";
  v.rod = mm(2);
  v.gaps = {{mm(50), {{"F", mm(30)}, {"E", mm(19.9)}}, mm(0.10), mm(0.01), mm(0.03)},
            {mm(25), {{"D", mm(24.95)}}, mm(0.05), mm(0.01), mm(0.03)}};
  return v;
}

inline CutterView cutter_sample() {
  CutterView v;
  v.title = "G sharp: cutter and reach";
  v.post_diameter = mm(6);
  v.post_thickness = mm(5);
  v.head_diameter = mm(4);
  v.cutter_diameter = mm(4);
  v.cutter = "4.00 mm cutter";
  v.cut = mm(0.065);
  v.room_behind = mm(14);
  v.room_around = mm(3);
  v.driver = "straight driver";
  return v;
}

inline WedgeView wedge_sample() {
  WedgeView v;
  v.title = "G sharp: pad wedge and leak";
  v.tone_hole = mm(20);
  v.land = mm(1);
  v.gap = mm(0.08);
  v.take_up = mm(0.04);
  v.leak = "3.2 ± 0.8 mL/s";
  v.as_hole = "as a hole of 0.80 mm";
  return v;
}

inline YearsView years_sample() {
  YearsView v;
  v.title = "G sharp: end play over the years";
  v.now = mm(0.02);
  v.window_low = mm(0.01);
  v.window_high = mm(0.03);
  v.slow = mm(0.002);
  v.middle = mm(0.005);
  v.fast = mm(0.02);
  return v;
}

inline std::vector<std::pair<std::string, Scene>> plate_samples() {
  YearsView inches_view = years_sample();
  inches_view.unit = LengthUnit::inch;
  inches_view.tongue.decimal_comma = true;
  return {{"stack", draw_stack(stack_sample())},
          {"cutter", draw_cutter(cutter_sample())},
          {"wedge", draw_wedge(wedge_sample())},
          {"years", draw_years(years_sample())},
          {"years-inch", draw_years(inches_view)}};
}

}  // namespace hingeline::drawing::samples
