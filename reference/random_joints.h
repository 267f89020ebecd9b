#pragma once
/// \file
/// Drawn joints of every shape, from a seed. Sizes are those of woodwind keys.

#include <utility>

#include "brute_force.h"
#include "hingeline/contact/joint.h"

namespace reference {

inline Outline outline(const hingeline::contact::Profile& profile) {
  Outline o;
  for (const auto& v : profile.vertices()) {
    o.along.push_back(v.along.raw());
    o.radius.push_back(v.radius.raw());
  }
  return o;
}

struct JointForms {
  hingeline::contact::PointForm point;
  hingeline::contact::HoleForm hole;
};

enum class Roundness { any, straight_only };

/// A point of any shape and a hole of any shape, so that the tip can enter.
inline JointForms draw_forms(Engine& engine, Roundness roundness) {
  using namespace hingeline;
  using namespace hingeline::contact;
  const auto mm = [&](double low, double high) { return millimetres(uniform(engine, low, high)); };
  JointForms forms;
  PointForm& p = forms.point;
  p.length = mm(2, 5);
  const bool straight = roundness == Roundness::straight_only;
  const int shape = pick(engine, straight ? 4 : 6);
  Length widest;  // of the part that goes in first
  switch (shape) {
    case 0:
    case 1:
    case 4: {
      p.shape = PointShape::cone;
      p.tip = shape == 0 ? TipShape::flat : shape == 1 ? TipShape::worn : TipShape::round;
      p.half_angle = degrees(uniform(engine, 4, 40));
      p.tip_radius = mm(0.15, 0.5);
      p.wear_length = mm(0.1, 0.8);
      p.wear_depth = p.tip_radius * uniform(engine, 0.02, 0.4);
      if (pick(engine, 2) == 0) p.shank_radius = p.tip_radius + mm(0.8, 1.5);
      widest = p.tip_radius;
      break;
    }
    case 2: {
      p.shape = PointShape::parallel;
      p.pin_radius = mm(0.3, 0.8);
      p.pin_length = pick(engine, 4) == 0 ? p.length : p.length * uniform(engine, 0.2, 0.9);
      p.shoulder_radius = p.pin_radius + mm(0.1, 0.8);
      widest = p.pin_radius;
      break;
    }
    case 3: {
      p.shape = PointShape::pairs;
      double along = 0;
      double radius = uniform(engine, 0.1, 0.4);
      p.pairs.push_back({millimetres(along), millimetres(radius)});
      const int parts = 2 + pick(engine, 4);
      bool step = false;
      for (int k = 0; k < parts; ++k) {
        // A step now and then, but no two at one place: a collar has a thickness.
        step = !step && k > 0 && pick(engine, 4) == 0;
        if (!step) along += uniform(engine, 0.2, 1);
        radius = std::max(0.05, radius + uniform(engine, -0.15, 0.35));
        p.pairs.push_back({millimetres(along), millimetres(radius)});
      }
      p.pairs.push_back({millimetres(along + 0.5), millimetres(radius)});
      widest = p.pairs.front().radius;
      break;
    }
    default: {
      p.shape = PointShape::ball;
      p.ball_radius = mm(0.3, 0.9);
      p.neck_radius = p.ball_radius * uniform(engine, 0.2, 0.9);
      p.length = p.ball_radius * 2 + mm(0.5, 2);
      widest = p.ball_radius;
      break;
    }
  }
  HoleForm& h = forms.hole;
  h.mouth_radius = widest + mm(0.02, 0.9);
  h.depth = mm(1.5, 4);
  h.half_angle =
      p.shape == PointShape::cone && pick(engine, 2) == 0 ? p.half_angle : degrees(uniform(engine, 3, 35));
  switch (pick(engine, 5)) {
    case 0:
      h.shape = HoleShape::straight;
      break;
    case 1:
      h.shape = HoleShape::drilled;
      h.floor_half_angle = degrees(uniform(engine, 40, 70));
      break;
    case 2:
      h.shape = HoleShape::bell;
      h.bell_depth = mm(0.05, 0.4);
      h.bell_half_angle = h.half_angle + degrees(uniform(engine, 3, 20));
      h.mouth_radius += h.bell_depth;
      break;
    case 3: {
      h.shape = HoleShape::pairs;
      double along = 0;
      double radius = h.mouth_radius.raw();
      h.pairs.push_back({millimetres(along), millimetres(radius)});
      const int parts = 1 + pick(engine, 4);
      bool step = false;
      for (int k = 0; k < parts; ++k) {
        step = !step && k > 0 && pick(engine, 4) == 0;
        if (!step) along += uniform(engine, 0.3, 1.2);
        radius = std::max(0.05, radius + uniform(engine, -0.4, 0.12));
        h.pairs.push_back({millimetres(along), millimetres(radius)});
      }
      if (pick(engine, 2) == 0) {
        h.pairs.push_back({millimetres(along + 0.3), millimetres(radius * uniform(engine, 0, 1))});
        h.floor_pairs = 2;
      }
      break;
    }
    default:
      h.shape = HoleShape::cone;
      break;
  }
  return forms;
}

/// Hard for the home insertion: half angles next to 1 degree, radii next to 100 mm.
inline JointForms draw_slender_forms(Engine& engine) {
  using namespace hingeline;
  using namespace hingeline::contact;
  const auto mm = [&](double low, double high) { return millimetres(uniform(engine, low, high)); };
  JointForms forms;
  PointForm& p = forms.point;
  p.tip = pick(engine, 2) == 0 ? TipShape::flat : TipShape::worn;
  p.half_angle = degrees(uniform(engine, 1, 1.05));
  p.tip_radius = mm(80, 98);
  p.length = mm(50, 100);
  p.wear_length = mm(0.5, 30);
  p.wear_depth = mm(0.01, 1);
  HoleForm& h = forms.hole;
  h.shape = pick(engine, 2) == 0 ? HoleShape::cone : HoleShape::bell;
  h.half_angle = pick(engine, 2) == 0 ? p.half_angle : degrees(uniform(engine, 1, 1.05));
  h.mouth_radius = p.tip_radius + mm(0.01, 2);
  h.depth = mm(50, 100);
  h.bell_half_angle = h.half_angle + degrees(uniform(engine, 0.5, 3));
  h.bell_depth = mm(0.1, 10);
  return forms;
}

/// Draws until both forms can be made and the point enters.
inline hingeline::contact::Joint draw_joint(Engine& engine, Roundness roundness) {
  for (;;) {
    const JointForms forms = draw_forms(engine, roundness);
    auto point = hingeline::contact::make_point(forms.point);
    auto hole = hingeline::contact::make_hole(forms.hole);
    if (!point || !hole) continue;
    hingeline::contact::Joint joint(std::move(*point), std::move(*hole));
    if (joint.home().insertion > hingeline::millimetres(0.05)) return joint;
  }
}

}  // namespace reference
