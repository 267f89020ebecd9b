#include "block.h"

#include <algorithm>
#include <cmath>

#include "fuse.h"
#include "hingeline/numeric/fill.h"
#include "hingeline/numeric/lane_functions.h"

namespace hingeline::belief {
namespace {

using contact::HoleShape;
using contact::PointShape;
using contact::TipShape;

constexpr std::array<Side, 2> kSides{Side::upper, Side::lower};

/// No deviate of a draw is larger (numeric::Stream::normal_pair; a rectangular one ends at the root of 3).
constexpr double kMostDeviate = 6.8;

bool covered(const JointGeometry& g) {
  const bool point = g.point.shape == PointShape::parallel ||
                     (g.point.shape == PointShape::cone && g.point.tip != TipShape::round);
  return point && g.hole.shape != HoleShape::pairs;
}

/// The rows of angles whose tangents the joint looks at.
std::vector<AngleRow> angles_of(const JointGeometry& g, std::size_t first) {
  std::vector<AngleRow> out;
  const auto add = [&](std::size_t angle, std::size_t tangent) {
    out.push_back({.angle = first + angle, .tangent = first + tangent});
  };
  if (g.point.shape == PointShape::cone) add(kHalfAngle, kPointTangent);
  if (g.hole.shape == HoleShape::cone || g.hole.shape == HoleShape::bell) add(kHoleAngle, kHoleTangent);
  if (g.hole.shape == HoleShape::drilled) add(kFloorAngle, kFloorTangent);
  if (g.hole.shape == HoleShape::bell) add(kBellAngle, kBellTangent);
  return out;
}

}  // namespace

void rows_of(const KeyGeometry& key, std::array<double, kRows>& rows) {
  rows[kSpan] = key.span.raw();
  rows[kKeyLength] = key.key_length.raw();
  if (key.pad) {
    rows[kToneHole] = key.pad->tone_hole.raw();
    rows[kStation] = key.pad->station.raw();
    rows[kArm] = key.pad->arm.raw();
  }
  rows[kRodDiameter] = key.rod_diameter.raw();
  rows[kBore] = key.bore.raw();
  for (std::size_t e = 0; e < 2; ++e) {
    const JointGeometry& j = key.at(kSides[e]);
    double* const row = rows.data() + end_row(e);
    row[kHalfAngle] = j.point.half_angle.raw();
    row[kTipRadius] = j.point.tip_radius.raw();
    row[kPointLength] = j.point.length.raw();
    row[kShankRadius] = j.point.shank_radius.raw();
    row[kWearLength] = j.point.wear_length.raw();
    row[kWearDepth] = j.point.wear_depth.raw();
    row[kPinRadius] = j.point.pin_radius.raw();
    row[kPinLength] = j.point.pin_length.raw();
    row[kShoulderRadius] = j.point.shoulder_radius.raw();
    row[kMouthRadius] = j.hole.mouth_radius.raw();
    row[kDepth] = j.hole.depth.raw();
    row[kHoleAngle] = j.hole.half_angle.raw();
    row[kFloorAngle] = j.hole.floor_half_angle.raw();
    row[kBellAngle] = j.hole.bell_half_angle.raw();
    row[kBellDepth] = j.hole.bell_depth.raw();
    row[kStop] = j.protrusion ? j.protrusion->raw() : j.stop.raw();
  }
}

std::optional<BlockPlan> plan_block(const KeyKnowledge& key, const std::vector<double>& mean,
                                    const std::vector<std::vector<double>>& steps) {
  BlockPlan plan;
  const KeyGeometry middle = with_values(key, mean);
  plan.forms.rod = middle.kind == HingeKind::rod;
  plan.forms.pad = middle.pad.has_value();
  for (std::size_t e = 0; e < 2 && !plan.forms.rod; ++e) {
    const JointGeometry& j = middle.at(kSides[e]);
    if (!covered(j)) return std::nullopt;
    EndPlan& end = plan.forms.ends[e];
    end.parallel = j.point.shape == PointShape::parallel;
    end.worn = !end.parallel && j.point.tip == TipShape::worn;
    end.by_protrusion = j.protrusion.has_value();
    end.hole = j.hole.shape;
    // With a pin as long as the point there is no shoulder; that both stay alike is seen below.
    end.shouldered = end.parallel && j.point.pin_length < j.point.length;
    if (end.parallel && !end.shouldered) return std::nullopt;
  }
  rows_of(middle, plan.still);

  // What a row moves by, taken far out, where rounding is small beside it.
  constexpr double kFarOut = 0x1p20;
  const auto rows_at = [&](const std::vector<double>& deviates) {
    std::vector<double> values = mean;
    for (std::size_t a = 0; a < steps.size(); ++a) {
      for (std::size_t i = 0; i < values.size(); ++i) values[i] += deviates[a] * steps[a][i];
    }
    std::array<double, kRows> rows{};
    rows_of(with_values(key, values), rows);
    return rows;
  };
  std::array<std::vector<Term>, kRows> terms;
  std::vector<double> deviates(steps.size(), 0.0);
  for (std::size_t a = 0; a < steps.size(); ++a) {
    deviates[a] = kFarOut;
    const auto out = rows_at(deviates);
    deviates[a] = -kFarOut;
    const auto back = rows_at(deviates);
    deviates[a] = 0;
    for (std::size_t row = 0; row < kRows; ++row) {
      const double step = (out[row] - back[row]) / (2 * kFarOut);
      if (step != 0) terms[row].push_back({a, step});
    }
  }
  // Straight lines and nothing else, or the engine has to do it.
  for (const double reach : {0.7, -2.3}) {
    for (std::size_t a = 0; a < steps.size(); ++a) deviates[a] = a % 2 == 0 ? reach : 0.3 - reach;
    const auto rows = rows_at(deviates);
    for (std::size_t row = 0; row < kRows; ++row) {
      double sum = plan.still[row];
      for (const Term& term : terms[row]) sum += deviates[term.deviate] * term.step;
      if (!(std::abs(rows[row] - sum) <= 1e-12 * (1 + std::abs(sum)))) return std::nullopt;
    }
  }
  for (std::size_t row = 0; row < kRows; ++row) {
    if (!terms[row].empty()) plan.drawn.push_back({row, plan.still[row], terms[row]});
  }

  const auto alike = [&](std::size_t a, std::size_t b) {
    const auto same_term = [](const Term& x, const Term& y) {
      return x.deviate == y.deviate && x.step == y.step;
    };
    return plan.still[a] == plan.still[b] &&
           std::equal(terms[a].begin(), terms[a].end(), terms[b].begin(), terms[b].end(), same_term);
  };
  for (std::size_t e = 0; e < 2 && !plan.forms.rod; ++e) {
    for (AngleRow& angle : angles_of(middle.at(kSides[e]), end_row(e))) {
      using numeric::lanes::Scalar;
      if (terms[angle.angle].empty()) {
        numeric::lanes::tangents<Scalar>(plan.still[angle.angle], plan.still[angle.tangent],
                                         plan.still[angle.tangent + 1]);
        continue;
      }
      const auto twin = std::find_if(plan.angles.begin(), plan.angles.end(),
                                     [&](const AngleRow& other) { return alike(other.angle, angle.angle); });
      if (twin != plan.angles.end()) {
        plan.same.push_back({angle.tangent, twin->tangent});
      } else {
        double reach = 0;
        for (const Term& term : terms[angle.angle]) reach += kMostDeviate * std::abs(term.step);
        angle.mean = plan.still[angle.angle];
        angle.near = reach <= numeric::lanes::kNearAngle &&
                     2 * reach <= std::min(angle.mean, 1.5707963267948966 - angle.mean);
        if (angle.near) {
          double cotangent = 0;
          numeric::lanes::tangents<Scalar>(angle.mean, angle.mean_tangent, cotangent);
        }
        plan.angles.push_back(angle);
      }
    }
  }
  return plan;
}

const BlockWork& block_work() {
  switch (numeric::widest()) {
    case numeric::Width::avx512:
      return kBlockAvx512;
    case numeric::Width::avx2:
      return kBlockAvx2;
    case numeric::Width::plain:
      break;
  }
  return kBlockPlain;
}

}  // namespace hingeline::belief
