#include <algorithm>
#include <cmath>

#include "hingeline/body/posts.h"
#include "hingeline/body/season.h"
#include "hingeline/plan/plan.h"

namespace hingeline::plan {
namespace {

/// No end play to speak of. Not zero: rounding could make that a bind, which has no poses to ask about.
constexpr Length kNoPlay = millimetres(1e-9);

/// The same hinge with this much end play, both points moved alike.
mechanism::Hinge with_end_play(const mechanism::Hinge& hinge, Length end_play) {
  const auto& t = hinge.travel();
  const Length in = (t.end_play() - end_play) / 2;
  const auto moved = [&](Side side) {
    mechanism::HingeEnd e = hinge.end(side);
    // Start from where the key really stops, so that a face-stopped end follows too.
    e.protrusion = e.joint.home().insertion + t.gap_at(side) + in;
    return e;
  };
  return mechanism::Hinge(hinge.span(), hinge.key_length(), moved(Side::upper), moved(Side::lower));
}

/// Worst of pad gap and rock, each over what is allowed; above 1 is too much.
struct Demand {
  double share = 0;
  const char* name = "";
};
Demand demand(const belief::KeyGeometry& key, const mechanism::Hinge& hinge, const WindowInputs& in) {
  const mechanism::Play play(hinge);
  Demand d;
  const auto ask = [&](double share, const char* name) {
    if (share > d.share) d = {share, name};
  };
  if (key.pad) ask(mechanism::pad_play(play, *key.pad).worst_gap / in.pad_gap_allowed, "the pad gap allowed");
  ask(mechanism::rock(play, Length{}).travel / in.rock_allowed, "the rock allowed at the upper end");
  ask(mechanism::rock(play, key.key_length).travel / in.rock_allowed, "the rock allowed at the lower end");
  return d;
}

}  // namespace

Window window_for(const belief::KeyGeometry& key, const mechanism::Hinge& hinge, Length reading_uncertainty,
                  const WindowInputs& in) {
  Window w;
  const auto shrink = [&](TemperatureStep step) {
    return std::max(Length{}, -body::end_play_change(in.body_expansion, in.key_expansion, key.span, step));
  };
  w.low_parts.push_back(
      {"temperature over the service range", std::max(shrink(in.colder), shrink(in.warmer))});
  w.low_parts.push_back({"moisture of the body", in.moisture});
  Length tilt;
  for (const Side side : {Side::upper, Side::lower}) {
    if (key.kind != belief::HingeKind::pivot) break;
    const Angle taper = contact::fitting_taper(key.at(side).point, key.at(side).hole);
    if (taper.raw() <= 0) continue;
    const contact::PointForm& point = key.at(side).point;
    const Length tip = point.shape == contact::PointShape::cone ? point.tip_radius : Length{};
    tilt += body::tilt_cost({hinge.end(side).joint.home().insertion, taper, tip}, in.misalignment);
  }
  w.low_parts.push_back({"points out of line with the holes", tilt});
  w.low_parts.push_back({"roundness", in.roundness});
  w.low_parts.push_back({"oil film", in.oil_film});
  w.low_parts.push_back({"reading uncertainty", reading_uncertainty});
  Length sum;
  for (const auto& p : w.low_parts) sum += p.amount;
  w.low = std::max(sum, in.window_low);

  w.high = in.window_high;
  w.high_rule = in.window_firm ? "the window set for this key" : "the window set by the shop";
  const Length room = std::max((in.window_high - in.window_low) / 2, reading_uncertainty);
  if (!in.window_firm && w.low + room > w.high) {
    w.high = w.low + room;
    w.high_rule = "the shop's window, moved up by what eats clearance";
  }
  const Demand at_high = demand(key, with_end_play(hinge, w.high), in);
  if (at_high.share > 1) {
    const Demand at_none = demand(key, with_end_play(hinge, kNoPlay), in);
    if (at_none.share > 1) {
      w.crossed = true;
      w.conflict = say("even with no end play ", at_none.name, " is passed: it does not come from end play");
      w.high_rule = at_none.name;
      w.high = Length{};
    } else {
      // The demand grows with end play in straight pieces: false position closes in on the edge.
      double a = 0;
      double b = w.high.raw();
      double fa = at_none.share - 1;
      double fb = at_high.share - 1;
      const char* name = at_high.name;
      for (int k = 0; k < 60 && b - a > 1e-9; ++k) {
        double m = k % 3 == 2 ? (a + b) / 2 : a - fa * (b - a) / (fb - fa);
        m = std::clamp(m, a, b);
        const Demand d = demand(key, with_end_play(hinge, Length::of(m)), in);
        const double f = d.share - 1;
        if (std::abs(f) < 1e-12) {
          a = m;
          name = d.name;
          break;
        }
        if (f > 0) {
          b = m;
          fb = f;
          name = d.name;
        } else {
          a = m;
          fa = f;
        }
      }
      w.high = Length::of(a);
      w.high_rule = name;
    }
  }
  if (!w.crossed && w.low > w.high) {
    const auto most =
        std::max_element(w.low_parts.begin(), w.low_parts.end(),
                         [](const WindowPart& x, const WindowPart& y) { return x.amount < y.amount; });
    w.crossed = true;
    w.conflict = say("no fit satisfies both: ", w.low, " is eaten up (most by ",
                     sum > in.window_low ? most->name : "what the shop leaves", "), ", w.high_rule, " sets ",
                     w.high, " at most");
  }
  return w;
}

}  // namespace hingeline::plan
