#include <fmt/format.h>
#include <algorithm>
#include <cmath>

#include "hingeline/service/bench.h"

namespace hingeline::service {
namespace {

using belief::Estimate;
using belief::HingeKind;
using mechanism::StopKind;

/// One figure's formula and the same with the key's numbers.
struct Derivation {
  std::string formula;
  std::vector<std::string> working;
};

class Deriver {
 public:
  Deriver(const KeyResult& key, LengthUnit unit)
      : key_(key), unit_(unit), hinge_(*key.hinge), play_(hinge_) {}

  [[nodiscard]] Derivation of(Figure f) const;

 private:
  [[nodiscard]] std::string mm(Length l) const { return show(l, unit_); }
  [[nodiscard]] const belief::KeyGeometry& geometry() const { return key_.estimate().geometry; }
  [[nodiscard]] bool rod() const { return geometry().kind == HingeKind::rod; }
  [[nodiscard]] StopKind stop(Side s) const {
    return s == Side::upper ? hinge_.travel().low_stop : hinge_.travel().high_stop;
  }
  [[nodiscard]] std::string gap_words(Side s) const;
  [[nodiscard]] std::string pose_words(const mechanism::Pose& pose) const;
  [[nodiscard]] Derivation gap(Side s) const;
  [[nodiscard]] Derivation rock(Length station, const char* where) const;
  [[nodiscard]] Derivation pad(Figure f) const;
  [[nodiscard]] Derivation home(Side s, Figure f) const;

  const KeyResult& key_;
  LengthUnit unit_;
  const mechanism::Hinge& hinge_;
  mechanism::Play play_;
};

std::string Deriver::gap_words(Side s) const {
  if (rod()) return fmt::format("{} gap: 0, the faces stop a key on a rod", word(s));
  if (stop(s) == StopKind::face) {
    return fmt::format("{} gap: 0, the post's face stops the key before the point does (by {})", word(s),
                       mm(-hinge_.point_stop(s)));
  }
  const Length home = hinge_.end(s).joint.home().insertion;
  return fmt::format("{} gap: protrusion {} less point in the key {} = {}", word(s),
                     mm(home + hinge_.point_stop(s)), mm(home), mm(hinge_.point_stop(s)));
}

std::string Deriver::pose_words(const mechanism::Pose& p) const {
  const auto size = [](const std::array<Length, 2>& v) {
    return Length::of(std::hypot(v[0].raw(), v[1].raw()));
  };
  return fmt::format("worst at {} from the upper post, upper end {} and lower end {} off the line",
                     mm(p.place), mm(size(p.upper)), mm(size(p.lower)));
}

Derivation Deriver::gap(Side s) const {
  return {"gap, pushed home = protrusion − point in the key when home; 0 where the face stops first",
          {gap_words(s)}};
}

Derivation Deriver::rock(Length station, const char* where) const {
  Derivation d;
  d.formula = fmt::format("rock {} = 2 × max over the travel of [(1 − z/K) c_upper + (z/K) c_lower]", where);
  const double share = geometry().key_length.raw() > 0 ? station / geometry().key_length : 0;
  d.working.push_back(fmt::format("z/K = {:.3f}, travel {}", share, mm(hinge_.travel().end_play())));
  if (!play_.empty()) d.working.push_back(pose_words(mechanism::rock(play_, station).pose));
  return d;
}

Derivation Deriver::pad(Figure f) const {
  Derivation d;
  if (!geometry().pad) return {"no pad is described for this key", {}};
  const mechanism::Pad& pad = *geometry().pad;
  if (f == Figure::side_gap) {
    d.formula = "side to side = tone hole × (c_upper + c_lower) / key length, worst over the travel";
    d.working.push_back(
        fmt::format("tone hole {}, key length {}", mm(pad.tone_hole), mm(geometry().key_length)));
  } else if (f == Figure::front_gap) {
    d.formula =
        "front to back = tone hole × [(1 − z/K) c_upper + (z/K) c_lower] / arm, worst over the travel";
    d.working.push_back(fmt::format("tone hole {}, arm {}, z/K = {:.3f}", mm(pad.tone_hole), mm(pad.arm),
                                    pad.station / geometry().key_length));
  } else if (f == Figure::worst_gap) {
    d.formula =
        "worst gap = tone hole × the largest tilt in any direction round the rim, both ends off the line at "
        "once";
    d.working.push_back(fmt::format("tone hole {}, arm {}", mm(pad.tone_hole), mm(pad.arm)));
  } else {
    d.formula = "seat wander = farthest apart two places of the pad's centre on its tone hole";
  }
  if (play_.empty()) {
    d.working.emplace_back("the key binds: it has no play");
    return d;
  }
  const auto play = mechanism::pad_play(play_, pad);
  if (f == Figure::side_gap) d.working.push_back(pose_words(play.side_pose));
  if (f == Figure::front_gap) d.working.push_back(pose_words(play.front_pose));
  if (f == Figure::worst_gap) d.working.push_back(pose_words(play.worst_pose));
  return d;
}

Derivation Deriver::home(Side s, Figure f) const {
  if (rod()) {
    if (f == Figure::insertion_upper || f == Figure::insertion_lower || f == Figure::tip_floor_upper ||
        f == Figure::tip_floor_lower) {
      return {"a key on a rod has no point", {}};
    }
    return {"rock left when home = bore − rod diameter: nothing centres it",
            {fmt::format("bore {}, rod {}", mm(geometry().bore), mm(geometry().rod_diameter))}};
  }
  const auto& joint = hinge_.end(s).joint;
  const auto& h = joint.home();
  std::string where =
      fmt::format("stopped by {} at depth {}, radius {}", contact::word(h.regime), mm(h.depth), mm(h.radius));
  if (h.touching.raw() > 0) where += fmt::format(", touching over {}", mm(h.touching));
  if (f == Figure::insertion_upper || f == Figure::insertion_lower) {
    return {"point in the key = the first insertion, from outside, at which the point meets the hole",
            {where}};
  }
  if (f == Figure::tip_floor_upper || f == Figure::tip_floor_lower) {
    return {"tip to floor = depth of the hole − point in the key when home",
            {fmt::format("point in the key {}", mm(h.insertion)), where}};
  }
  Derivation d{"rock left when home = 2 × radial clearance there; on a sound cone none", {where}};
  if (stop(s) == StopKind::face)
    d.working.emplace_back("the post's face stops the key before its point is home");
  return d;
}

Derivation Deriver::of(Figure f) const {
  const Length key_length = geometry().key_length;
  switch (f) {
    case Figure::end_play: {
      Derivation d{
          "end play = face gaps together − upper gap − lower gap, each with the key pushed home that way",
          {}};
      d.working.push_back(fmt::format("face gaps: span {} less key length {} = {}", mm(geometry().span),
                                      mm(key_length), mm(hinge_.travel().face_gap)));
      d.working.push_back(gap_words(Side::upper));
      d.working.push_back(gap_words(Side::lower));
      return d;
    }
    case Figure::gap_upper:
      return gap(Side::upper);
    case Figure::gap_lower:
      return gap(Side::lower);
    case Figure::face_gap:
      return {"face gaps together = span between the posts − key length",
              {fmt::format("span {}, key length {}", mm(geometry().span), mm(key_length))}};
    case Figure::rock_upper:
      return rock(Length{}, "at the upper end");
    case Figure::rock_lower:
      return rock(key_length, "at the lower end");
    case Figure::rock_pad:
      return geometry().pad ? rock(geometry().pad->station, "at the pad")
                            : Derivation{"no pad is described for this key", {}};
    case Figure::side_gap:
    case Figure::front_gap:
    case Figure::worst_gap:
    case Figure::seat_wander:
      return pad(f);
    case Figure::home_rock_upper:
    case Figure::insertion_upper:
    case Figure::tip_floor_upper:
      return home(Side::upper, f);
    case Figure::home_rock_lower:
    case Figure::insertion_lower:
    case Figure::tip_floor_lower:
      break;
  }
  return home(Side::lower, f);
}

std::string with_doubt(double value, double plus_minus, bool is_angle, Origin origin, LengthUnit unit) {
  if (is_angle) {
    const double v = in_degrees(radians(value));
    const double pm = in_degrees(radians(plus_minus));
    if (origin == Origin::unknown) return fmt::format("{:.2f} to {:.2f}°", v - pm, v + pm);
    return fmt::format("{:.2f} ± {:.2f}°", v, pm);
  }
  belief::FigureValue f;
  f.value = value;
  f.plus_minus = plus_minus;
  f.low = value - plus_minus;
  f.high = value + plus_minus;
  f.is_range = origin == Origin::unknown;
  return show(f, unit);
}

}  // namespace

Explanation explain(const KeyResult& key, Figure figure, LengthUnit unit) {
  const Estimate& e = key.estimate();
  const auto at = static_cast<std::size_t>(figure);
  Explanation out;
  out.figure = figure;
  Derivation d = Deriver(key, unit).of(figure);
  out.formula = std::move(d.formula);
  out.working = std::move(d.working);
  out.value = show(e[figure], unit);

  const auto effects = belief::effects(key.knowledge, e);
  constexpr double kNoEffect = 5e-7;  // mm: would show as 0 in every unit
  for (std::size_t i = 0; i < key.knowledge.inputs.size(); ++i) {
    const belief::Input& input = key.knowledge.inputs[i];
    const double effect = 2 * std::abs(effects[i][at]);
    if (!(effect > kNoEffect)) continue;
    // A range is shown from end to end, a known figure with its k = 2.
    const double width = input.standard * (input.origin == Origin::unknown ? std::sqrt(3.0) : 2.0);
    out.inputs.push_back({input.name,
                          with_doubt(input.value, width, input.is_angle, input.origin, unit),
                          word(input.origin),
                          input.pointer,
                          effect,
                          {}});
  }
  std::stable_sort(
      out.inputs.begin(), out.inputs.end(),
      [](const Explanation::Line& a, const Explanation::Line& b) { return a.effect > b.effect; });

  using Of = belief::Observation::Of;
  for (const auto& a : e.agreements) {
    const auto& o = a.observation;
    std::string name = std::string(belief::word(o.of)) + " read";
    if (o.of == Of::rock) name += " at " + show(o.station, unit);
    std::string said =
        say("all else gives ", WithDoubt{millimetres(a.predicted), millimetres(a.predicted_pm)}).in(unit);
    said += !a.used ? ", contradicts: left out" : o.of == Of::rock ? ", agrees: confirms only" : ", taken in";
    out.readings.push_back({name, with_doubt(o.value.raw(), 2 * o.standard.raw(), false, o.origin, unit),
                            word(o.origin), o.pointer, 0, said});
  }
  return out;
}

std::vector<std::pair<std::string, double>> shares_of(const KeyResult& key, const Explanation& e) {
  std::vector<std::pair<std::string, double>> out;
  if (!e.propagation) return out;
  const auto& inputs = key.knowledge.inputs;
  constexpr double kWorthNaming = 0.01;
  for (std::size_t k = 0; k < inputs.size() && k < e.propagation->shares.size(); ++k) {
    const double share = e.propagation->shares[k][static_cast<std::size_t>(e.figure)];
    if (share >= kWorthNaming) out.emplace_back(inputs[k].name, share);
  }
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
  return out;
}

}  // namespace hingeline::service
