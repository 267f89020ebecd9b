#include "hingeline/service/leak.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>
#include <limits>

#include "json_parts.h"
#include "nearest.h"

namespace hingeline::service {
namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
constexpr double kPascal = 1e-3;  // of a kPa

constexpr const char* kLeakFormula =
    "round the rim, of the gap less what the pad gives: h^3 dp / (12 mu w), with what is lost at the slit's "
    "ends";
constexpr const char* kPressedFormula =
    "pose of least energy of finger, spring, pad ring and play; then h^3 dp / (12 mu w) round the rim";
constexpr const char* kHoleFormula =
    "diameter of a sharp-edged hole with that flow: leak = Cd A sqrt(2 dp / rho)";

template <class E>
const E& settled(const E& own, const E& general) {
  return own.known() || own.range ? own : general;
}

/// The figures every leak rests on: the shop's, else the general ones.
struct Common {
  Given pressure;   ///< kPa
  Given air;        ///< degC
  Given discharge;  ///< a number
  Given take_up;
  Given land;
  Given stiffness;  ///< N/mm2
  Given force;      ///< N
  double hole_allowed = 0;
  double reading_share = 0;
  double sum_share = 0;
};

/// The general shop has every one of them.
Common common_of(const record::Instrument& instrument, const record::Shop& shop) {
  const record::SealPresets& own = shop.presets.seal;
  const record::SealPresets& general = general_shop().presets.seal;
  const auto number = [&](const char* name, const record::NumberEntry& mine,
                          const record::NumberEntry& theirs, const char* unit) {
    return *given(name, record::NumberEntry{}, settled(mine, theirs), unit, shop);
  };
  const auto length = [&](const char* name, const record::LengthEntry& mine,
                          const record::LengthEntry& theirs) {
    return *given(name, record::LengthEntry{}, settled(mine, theirs), shop);
  };
  Common c;
  c.pressure = number("test pressure", own.test_pressure, general.test_pressure, "kPa");
  c.discharge = number("discharge coefficient", own.discharge, general.discharge, "");
  c.take_up = length("what a pad gives", own.take_up, general.take_up);
  c.land = length("width of the rim", own.land, general.land);
  c.stiffness =
      number("stiffness of the pad along its rim", own.rim_stiffness, general.rim_stiffness, "N/mm2");
  c.force = number("finger force", own.finger_force, general.finger_force, "N");
  c.hole_allowed = length("", own.hole_allowed, general.hole_allowed).value;
  c.reading_share = number("", own.reading_share, general.reading_share, "").value;
  c.sum_share = number("", own.sum_share, general.sum_share, "").value;
  const auto air =
      given("air temperature", instrument.body.bench_temperature, record::TemperatureEntry{}, shop);
  c.air = air ? *air : Given{"air temperature", 20, 5, "degC", Origin::preset, {}, false};
  return c;
}

seal::Conditions conditions_of(double pressure, double air, double discharge) {
  seal::Conditions c;
  c.over = pascals(pressure / kPascal);
  c.air = celsius(air);
  c.discharge = std::min(1.0, discharge);
  return c;
}

/// A leak by gap, from the numbers in the order of gap_givens().
Expected<seal::Leak> leak_by_gap(std::span<const double> v) {
  const Length gap = millimetres(std::max(0.0, v[0]));
  const Length take_up = millimetres(std::max(0.0, v[1]));
  return seal::leak(seal::less(seal::wedge_of(gap, {}), take_up), {millimetres(v[2]), millimetres(v[3])},
                    conditions_of(v[4], v[5], v[6]));
}

double flow_or_nothing(const Expected<seal::Leak>& l) {
  return l ? in_millilitres_per_second(l->flow) : kNothing;
}

Worked hole_of(const Worked& leak, const Common& c) {
  const Given flow = reckoned(leak.name, leak.value, leak.standard, leak.unit);
  return work("hole", "hole that leaks as much", "mm", kHoleFormula, {flow, c.pressure, c.air, c.discharge},
              [](std::span<const double> v) {
                return in_millimetres(seal::as_hole(millilitres_per_second(std::max(0.0, v[0])),
                                                    conditions_of(v[1], v[2], v[3])));
              });
}

Length hole_at(double flow, const seal::Conditions& c) {
  return seal::as_hole(millilitres_per_second(std::max(0.0, flow)), c);
}

/// Under this a leak is none, mL/s.
constexpr double kNoLeak = 0.05;

std::string hole_text(const Worked& leak, const Worked& hole, Length low, Length high, LengthUnit unit) {
  if (leak.value + leak.plus_minus() < kNoLeak) return "none";
  if (leak.value < kNoLeak) return "none to " + show_length(high, unit, bench_decimals(unit) - 1);
  if (leak.plus_minus() <= leak.value / 3) return show(hole, unit);
  const auto number = [&](Length l) {
    std::string text = show_length(l, unit, bench_decimals(unit) - 2);
    text.resize(text.find(' '));
    return text;
  };
  return fmt::format("{} to {} {}", number(low), number(high), unit == LengthUnit::mm ? "mm" : "in");
}

Given given_gap(const KeyResult& key) {
  const auto& figure = key.estimate()[Figure::worst_gap];
  return reckoned("gap that the play lets open", figure.value, figure.plus_minus / 2, "mm");
}

/// What a key's leak by its gap rests on.
std::vector<Given> gap_givens(const KeyResult& key, const Common& c, const record::Shop& shop) {
  const record::Pad& pad = *key.source->pad;
  const record::LengthEntry none;
  const Length tone_hole = key.estimate().geometry.pad->tone_hole;
  auto hole = given("tone hole", pad.tone_hole, none, shop);
  if (!hole) hole = reckoned("tone hole", in_millimetres(tone_hole), 0, "mm");
  const auto take_up = given("what this pad gives", pad.take_up, none, shop);
  const auto land = given("width of the rim", pad.land, none, shop);
  return {given_gap(key), take_up ? *take_up : c.take_up, *hole, land ? *land : c.land, c.pressure, c.air,
          c.discharge};
}

std::string validity(const seal::Leak& l) {
  if (l.rules == seal::Rules::nothing) return "closed: nothing passes";
  std::string out = fmt::format(
      "Reynolds number {:.0f} at its widest, {:.0f} % of the pressure is lost at the "
      "slit's ends; what rules: {}",
      l.reynolds, 100 * l.entry_share, seal::word(l.rules));
  if (l.rules != seal::Rules::slit) {
    out +=
        fmt::format(". The slit formula alone would say {:.3g} mL/s, a sharp edge of that area {:.3g} mL/s",
                    in_millilitres_per_second(l.slit), in_millilitres_per_second(l.orifice));
  }
  if (l.reynolds > seal::kLaminarReynolds) out += ". The flow may be turbulent: take it as an upper bound";
  return out;
}

// ---- pressed ---------------------------------------------------------------------------------------

/// Everything that a pressed key rests on, in this order; its pose on those before kLand alone.
enum Pressing : std::size_t {
  kPlay,
  kToneHole,
  kPadStation,
  kPadArm,
  kFinger,
  kFingerStation,
  kFingerArm,
  kSpring,
  kStiffness,
  kLand,
  kPressure,
  kAir,
  kDischarge
};

class Presser {
 public:
  Presser(const KeyResult& key, Angle clock)
      : places_(seal::places_of(mechanism::Play(*key.hinge))),
        pad_(*key.estimate().geometry.pad),
        clock_(clock),
        gap_(key.estimate()[Figure::worst_gap].value) {}

  [[nodiscard]] Expected<seal::PressedAnywhere> press(std::span<const double> v) {
    // Many of the numbers a leak rests on leave the poses as they are.
    const auto by = v.first(kLand);
    if (!std::equal(by.begin(), by.end(), posed_by_.begin(), posed_by_.end())) {
      auto poses = pose(v);
      if (!poses) return tl::unexpected(poses.error());
      poses_ = std::move(*poses);
      posed_by_.assign(by.begin(), by.end());
    }
    return seal::leakiest(places_, poses_, {millimetres(v[kToneHole]), millimetres(v[kLand])},
                          conditions_of(v[kPressure], v[kAir], v[kDischarge]));
  }

 private:
  [[nodiscard]] Expected<std::vector<seal::Pressed>> pose(std::span<const double> v) const {
    // The play at both ends goes with the gap that it opens.
    const double looser = gap_ > 0 ? std::max(0.0, v[kPlay]) / gap_ : 1;
    auto places = places_;
    for (auto& at : places) {
      at.freedom.upper_clearance = at.freedom.upper_clearance * looser;
      at.freedom.lower_clearance = at.freedom.lower_clearance * looser;
    }
    seal::Seat seat;
    seat.pad = pad_;
    seat.pad.tone_hole = millimetres(v[kToneHole]);
    seat.pad.station = millimetres(v[kPadStation]);
    seat.pad.arm = millimetres(v[kPadArm]);
    seat.stiffness = newtons_per_millimetre(v[kStiffness] * std::numbers::pi * v[kToneHole]);
    const seal::Push push{millimetres(v[kFingerStation]), millimetres(v[kFingerArm]), clock_,
                          newtons(std::max(0.0, v[kFinger])), newton_millimetres(v[kSpring] * v[kPadArm])};
    return seal::press_everywhere(places, seat, push);
  }

  std::vector<seal::PlaceOfKey> places_;
  mechanism::Pad pad_;
  Angle clock_;
  double gap_;
  std::vector<seal::Pressed> poses_;  ///< the last ones
  std::vector<double> posed_by_;
};

Given of_pad(const char* name, const record::LengthEntry& entry, Length estimated, const record::Shop& shop) {
  const auto own = given(name, entry, record::LengthEntry{}, shop);
  return own ? *own : reckoned(name, in_millimetres(estimated), 0, "mm");
}

void press_fingers(KeyLeak& out, const KeyResult& key, const Common& c, const record::Shop& shop) {
  const record::Pad& pad = *key.source->pad;
  const mechanism::Pad& shape = *key.estimate().geometry.pad;
  const auto& touch = key.source->touch;
  const auto spring = given("spring, at the pad", pad.closing_force, record::NumberEntry{}, "N", shop);
  const bool sprung_shut = spring && spring->value > 0 && !touch;
  if (!touch && !sprung_shut) {
    out.unpressed = "no touch is given, so how it lies under a finger cannot be said";
    return;
  }
  const Angle clock = touch && touch->clock.known() ? touch->clock.value : shape.clock;
  Presser presser(key, clock);
  const auto land = given("width of the rim", pad.land, record::LengthEntry{}, shop);
  const auto stiffness =
      given(c.stiffness.name, pad.rim_stiffness, record::NumberEntry{}, c.stiffness.unit, shop);
  std::vector<Given> givens(kDischarge + 1);
  givens[kPlay] = given_gap(key);
  givens[kToneHole] = of_pad("tone hole", pad.tone_hole, shape.tone_hole, shop);
  givens[kPadStation] = of_pad("pad's station", pad.station, shape.station, shop);
  givens[kPadArm] = of_pad("pad's arm", pad.arm, shape.arm, shop);
  givens[kFingerStation] = reckoned("finger's station", in_millimetres(shape.station), 0, "mm");
  givens[kFingerArm] = reckoned("finger's arm", in_millimetres(shape.arm), 0, "mm");
  givens[kFinger] = reckoned("finger force", 0, 0, "N");
  givens[kSpring] = spring ? *spring : reckoned("spring, at the pad", 0, 0, "N");
  givens[kStiffness] = stiffness ? *stiffness : c.stiffness;
  givens[kLand] = land ? *land : c.land;
  givens[kPressure] = c.pressure;
  givens[kAir] = c.air;
  givens[kDischarge] = c.discharge;

  struct Asked {
    std::string name;
    Given station;
  };
  std::vector<Asked> asked;
  if (touch) {
    if (const auto arm = given("finger's arm", touch->arm, record::LengthEntry{}, shop))
      givens[kFingerArm] = *arm;
    const auto force = given("finger force", touch->force, record::NumberEntry{}, "N", shop);
    givens[kFinger] = force ? *force : c.force;
    for (const auto& finger : touch->fingers) {
      if (const auto station = given("finger's station", finger.station, record::LengthEntry{}, shop))
        asked.push_back({finger.name, *station});
    }
    if (asked.empty()) asked.push_back({"beside the pad", givens[kFingerStation]});
  } else {
    asked.push_back({"spring", givens[kFingerStation]});
  }

  for (const Asked& a : asked) {
    givens[kFingerStation] = a.station;
    std::vector<double> at;
    at.reserve(givens.size());
    for (const Given& g : givens) at.push_back(g.value);
    auto found = presser.press(at);
    if (!found) {
      out.unpressed = found.error().what;
      return;
    }
    FingerLeak f;
    f.name = a.name;
    auto figures =
        work({{"leak-pressed", fmt::format("leak, finger at {}", a.name), "mL/s", kPressedFormula},
              {"gap-pressed", fmt::format("widest gap left, finger at {}", a.name), "mm", kPressedFormula}},
             givens, [&presser](std::span<const double> v, std::span<double> to) {
               const auto p = presser.press(v);
               to[0] = p ? in_millilitres_per_second(p->leak.flow) : kNothing;
               to[1] = p ? in_millimetres(p->pressed.widest) : kNothing;
             });
    f.leak = std::move(figures[0]);
    f.gap = std::move(figures[1]);
    f.hole = hole_of(f.leak, c);
    f.leak.remark = !found->pressed.closes
                        ? "finger and spring together do not close it: reckoned where it stands"
                        : "taken: the pad level with the key centred, the rim flat, no friction. " +
                              validity(found->leak);
    f.found = std::move(*found);
    out.fingers.push_back(std::move(f));
  }
  const auto by_leak = [](const FingerLeak& a, const FingerLeak& b) {
    return a.leak.value < b.leak.value || (a.leak.value == b.leak.value && a.gap.value < b.gap.value);
  };
  const auto at = [&](auto found) { return static_cast<std::size_t>(found - out.fingers.begin()); };
  out.worst_finger = at(std::max_element(out.fingers.begin(), out.fingers.end(), by_leak));
  out.best_finger = at(std::min_element(out.fingers.begin(), out.fingers.end(), by_leak));
}

// ---- the instrument --------------------------------------------------------------------------------

/// The sum over keys as one model, in which what keys share is one number.
class Sum {
 public:
  explicit Sum(const Common& c)
      : shared_{{&c.take_up, {}}, {&c.land, {}}, {&c.pressure, {}}, {&c.air, {}}, {&c.discharge, {}}} {}

  void add(const std::string& key, const std::vector<Given>& givens) {
    std::array<std::size_t, 7> at{};
    for (std::size_t k = 0; k < at.size(); ++k) at[k] = place_of(key, givens[k]);
    Key own{at, {}, 0};
    for (std::size_t k = 0; k < at.size(); ++k) own.values[k] = givens_[at[k]].value;
    own.flow = flow_or_nothing(leak_by_gap(own.values));
    keys_.push_back(own);
  }
  [[nodiscard]] Worked worked() const {
    return work("total", "leak of all pads", "mL/s", "sum over the keys", givens_,
                [this](std::span<const double> v) {
                  double sum = 0;
                  for (const Key& key : keys_) {
                    std::array<double, 7> own{};
                    for (std::size_t k = 0; k < own.size(); ++k) own[k] = v[key.at[k]];
                    // A number that is one key's alone leaves the others as they are.
                    sum += own == key.values ? key.flow : flow_or_nothing(leak_by_gap(own));
                  }
                  return sum;
                });
  }

 private:
  struct Shared {
    const Given* given;
    std::optional<std::size_t> at;
  };

  std::size_t place_of(const std::string& key, const Given& g) {
    for (Shared& s : shared_) {
      if (s.given->name != g.name || !g.pointer.empty() || s.given->value != g.value) continue;
      if (!s.at) {
        s.at = givens_.size();
        givens_.push_back(g);
      }
      return *s.at;
    }
    givens_.push_back(g);
    givens_.back().name = fmt::format("{}, {}", key, g.name);
    return givens_.size() - 1;
  }

  struct Key {
    std::array<std::size_t, 7> at;  ///< places of its numbers in `givens_`
    std::array<double, 7> values;
    double flow;  ///< by these
  };

  std::vector<Shared> shared_;
  std::vector<Given> givens_;
  std::vector<Key> keys_;
};

Expected<Worked> read_leak(const record::LeakReading& r, const Common& c, const record::Shop& shop) {
  const record::NumberEntry none;
  const auto number = [&](const char* name, const record::NumberEntry& e, const char* unit) {
    auto g = given(name, e, none, unit, shop);
    // A reading with nothing said about it.
    if (g && g->standard == 0) g->standard = c.reading_share * std::abs(g->value) / 2;
    return g;
  };
  const auto flow = number("flow read", r.flow, "mL/s");
  const auto at = number("pressure it was read at", r.pressure, "kPa");
  if (flow && at) {
    return work("leak-read", "leak read", "mL/s", "flow read x test pressure / pressure it was read at",
                {*flow, *at, c.pressure}, [](std::span<const double> v) { return v[0] * v[2] / v[1]; });
  }
  const auto from = number("pressure at the beginning", r.pressure_from, "kPa");
  const auto to = number("pressure at the end", r.pressure_to, "kPa");
  const auto time = number("time", r.time, "s");
  const auto volume = number("volume closed in", r.volume, "mL");
  if (!from || !to || !time || !volume) {
    return fail(Fault::content, "a leak reading that is not whole",
                "flow and pressure, or pressure_from, pressure_to, time and volume", r.place);
  }
  const auto decayed = [](std::span<const double> v) -> Expected<Flow> {
    return seal::flow_of({pascals(v[0] / kPascal), pascals(v[1] / kPascal), seconds(v[2]), v[3]},
                         conditions_of(v[4], 20, 1));
  };
  const std::array<double, 5> here{from->value, to->value, time->value, volume->value, c.pressure.value};
  if (const auto q = decayed(here); !q) {
    Error e = q.error();
    e.place = r.place;
    return tl::unexpected(e);
  }
  return work("leak-read", "leak read", "mL/s", "V / (air pressure x t) x ln(p from / p to) x test pressure",
              {*from, *to, *time, *volume, c.pressure}, [&](std::span<const double> v) {
                const auto q = decayed(v);
                return q ? in_millilitres_per_second(*q) : kNothing;
              });
}

std::string flow_text(Flow q) { return show(in_millilitres_per_second(q), 0, "mL/s", LengthUnit::mm); }

Expected<MeasuredLeak> weighed(const record::LeakReading& reading, const InstrumentLeak& leaks,
                               const std::vector<seal::Opening>& openings, const Common& c,
                               const record::Shop& shop) {
  auto read = read_leak(reading, c, shop);
  if (!read) return tl::unexpected(read.error());
  MeasuredLeak m;
  m.read = std::move(*read);
  m.read.remark =
      "taken as all of it through the pads and in proportion to pressure; a decay in a body that keeps its "
      "volume "
      "and temperature";
  // Beyond four standard uncertainties nothing of what was thought is left.
  const double most = c.take_up.value + 4 * c.take_up.standard;
  if (!(c.take_up.standard > 0)) {
    return fail(Fault::content, "a take-up preset without a ±, so that a leak can say nothing of it",
                "a plus_minus above 0 at presets/seal/take_up");
  }
  const auto w = seal::weigh(openings,
                             {millilitres_per_second(m.read.value),
                              millilitres_per_second(std::max(m.read.standard, 1e-9)), c.sum_share / 2},
                             millimetres(c.take_up.value), millimetres(c.take_up.standard), millimetres(most),
                             leaks.conditions);
  if (!w) return tl::unexpected(w.error());
  m.take_up_before = work("take-up-before", "what pads were thought to give", "mm", "preset", {c.take_up},
                          [](std::span<const double> v) { return v[0]; });
  m.take_up.code = "take-up";
  m.take_up.name = "what pads give by this leak";
  m.take_up.unit = "mm";
  m.take_up.formula = "preset weighed by the leak read, point by point (Bayes)";
  m.take_up.value = in_millimetres(w->posterior.mean());
  m.take_up.standard = in_millimetres(w->posterior.standard());
  m.take_up_low = w->posterior.quantile(0.025);
  m.take_up_high = w->posterior.quantile(0.975);
  m.expected = w->expected_after;
  m.unexplained = w->unexplained;
  const double apart = m.read.value - leaks.total.value;
  const double doubt = std::hypot(m.read.standard, leaks.total.standard, c.sum_share / 2 * leaks.total.value);
  if (m.unexplained.raw() > 2 * m.read.standard) {
    m.says = fmt::format(
        "{} more than all gaps of the fit let through even with pads that give nothing: look elsewhere "
        "first, "
        "at pads not level, rims, seams and tenons",
        flow_text(m.unexplained));
  } else if (apart > 2 * doubt) {
    m.says = "more than the sum: pads give less than was thought, or air leaves elsewhere";
  } else if (apart < -2 * doubt) {
    m.says = "less than the sum: pads give more than was thought, or the keys do not sit at their worst";
  } else {
    m.says = "the reading and the sum agree within their doubt";
  }
  return m;
}

}  // namespace

Expected<InstrumentLeak> leak_of(const InstrumentResult& result, const record::Instrument& instrument,
                                 const record::Shop& shop) {
  const Common c = common_of(instrument, shop);
  InstrumentLeak out;
  out.title = result.title;
  out.serial = result.serial;
  out.conditions = conditions_of(c.pressure.value, c.air.value, c.discharge.value);
  out.hole_allowed = millimetres(c.hole_allowed);
  Sum sum(c);
  std::vector<seal::Opening> openings;
  for (const KeyResult& key : result.keys) {
    KeyLeak k;
    k.id = key.id;
    k.name = key.name;
    if (key.problem) {
      k.nothing = key.problem->what;
    } else if (!key.estimate().geometry.pad || !key.source->pad) {
      k.nothing = "no pad";
    } else if (mechanism::Play(*key.hinge).empty()) {
      k.nothing = "it binds, and may hold its pad off; free it first";
    } else if (std::isnan(key.estimate()[Figure::worst_gap].value)) {
      k.nothing = "no gap can be told";
    }
    if (!k.nothing.empty()) {
      out.keys.push_back(std::move(k));
      continue;
    }
    const std::vector<Given> givens = gap_givens(key, c, shop);
    std::vector<double> at;
    at.reserve(givens.size());
    for (const Given& g : givens) at.push_back(g.value);
    const auto l = leak_by_gap(at);
    if (!l) {
      k.nothing = l.error().what;
      out.keys.push_back(std::move(k));
      continue;
    }
    k.flow = *l;
    k.gap = work("gap", "gap that the play lets open", "mm", "as \"why\" tells it of pad-gap", {givens[0]},
                 [](std::span<const double> v) { return v[0]; });
    k.leak = work("leak", "leak", "mL/s", kLeakFormula, givens,
                  [](std::span<const double> v) { return flow_or_nothing(leak_by_gap(v)); });
    k.leak.remark = validity(*l);
    k.hole = hole_of(k.leak, c);
    k.hole_low = hole_at(k.leak.value - k.leak.plus_minus(), out.conditions);
    k.hole_high = hole_at(k.leak.value + k.leak.plus_minus(), out.conditions);
    k.too_much = k.hole.value > c.hole_allowed;
    press_fingers(k, key, c, shop);
    sum.add(k.id, givens);
    const bool own = key.source->pad->take_up.known();
    openings.push_back({seal::wedge_of(millimetres(at[0]), {}),
                        {millimetres(at[2]), millimetres(at[3])},
                        own ? millimetres(at[1] - c.take_up.value) : Length{}});
    out.keys.push_back(std::move(k));
  }
  out.total = sum.worked();
  out.total.remark =
      "each key at the worst that its play allows: what the fit can cost, not what every pad does at once";
  out.hole = hole_of(out.total, c);
  out.hole_low = hole_at(out.total.value - out.total.plus_minus(), out.conditions);
  out.hole_high = hole_at(out.total.value + out.total.plus_minus(), out.conditions);
  for (KeyLeak& k : out.keys) {
    if (k.nothing.empty() && out.total.value > 0) k.share = k.leak.value / out.total.value;
  }
  if (instrument.leak_reading) {
    auto m = weighed(*instrument.leak_reading, out, openings, c, shop);
    if (!m) return tl::unexpected(m.error());
    out.measured = std::move(*m);
  }
  return out;
}

Expected<Worked> leak_cured(const KeyResult& key, const Given& before, const Given& after, bool moved,
                            const record::Instrument& instrument, const record::Shop& shop) {
  std::vector<Given> givens = gap_givens(key, common_of(instrument, shop), shop);
  const std::size_t own = givens.size();
  givens[0] = before;
  givens.push_back(after);
  const auto leaks = [own, moved](std::span<const double> v) {
    std::vector<double> at(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(own));
    const auto now = leak_by_gap(at);
    at[0] = std::max(0.0, moved ? v[0] + v[own] : v[own]);
    return std::pair(now, leak_by_gap(at));
  };
  std::vector<double> here;
  here.reserve(givens.size());
  for (const Given& g : givens) here.push_back(g.value);
  const auto [now, later] = leaks(here);
  if (!now) return tl::unexpected(now.error());
  if (!later) return tl::unexpected(later.error());
  return work("leak", "leak cured", "mL/s",
              "leak by the gap that the play lets open now, less that by the gap afterwards",
              std::move(givens), [&](std::span<const double> v) {
                const auto both = leaks(v);
                return flow_or_nothing(both.first) - flow_or_nothing(both.second);
              });
}

Expected<const KeyLeak*> find_key(const InstrumentLeak& leaks, const std::string& id) {
  std::vector<std::string> ids;
  for (const KeyLeak& key : leaks.keys) {
    if (key.id == id) return &key;
    ids.push_back(key.id);
  }
  const std::string near = nearest_name(id, ids);
  return fail(Fault::not_found, fmt::format("there is no key \"{}\"", id),
              near.empty() ? "one of " + listed(ids) : fmt::format("perhaps \"{}\"", near));
}

bool seals(const FingerLeak& finger) { return finger.found.pressed.closes && finger.leak.value < kNoLeak; }

std::string show_leak(const Worked& leak) {
  if (leak.value >= kNoLeak) return show(leak, LengthUnit::mm);
  const double most = leak.value + leak.plus_minus();
  return most < kNoLeak ? "none" : fmt::format("none to {:.1f} mL/s", most);
}

std::string show_hole(const KeyLeak& k, LengthUnit unit) {
  return hole_text(k.leak, k.hole, k.hole_low, k.hole_high, unit);
}

std::vector<std::string> tell(const KeyLeak& k, const InstrumentLeak& all, LengthUnit unit) {
  std::vector<std::string> out;
  if (!k.nothing.empty()) return {"Nothing to say of its leak: " + k.nothing + "."};
  const std::string at = show(all.conditions.over.raw() * kPascal, 0, "kPa", unit);
  std::string first = fmt::format("The play lets the pad open {} at its rim.", show(k.gap, unit));
  if (k.leak.value + k.leak.plus_minus() < kNoLeak) {
    first += " What the pad gives covers that: no leak.";
  } else if (k.leak.value < kNoLeak) {
    first += fmt::format(
        " What the pad gives covers that if it is as soft as thought; within the doubt: {} at {}, as a hole "
        "of {}.",
        show_leak(k.leak), at, show_hole(k, unit));
  } else {
    first += fmt::format(
        " Beyond what the pad gives it leaks {} at {}, as a hole of {}: {:.0f} % of the "
        "instrument's sum.",
        show_leak(k.leak), at, show_hole(k, unit), 100 * k.share);
  }
  out.push_back(std::move(first));
  if (!k.unpressed.empty()) out.push_back(fmt::format("Pressed: {}.", k.unpressed));
  for (const FingerLeak& f : k.fingers) {
    const seal::Pressed& p = f.found.pressed;
    const std::string who = f.name == "spring" ? "Held by its spring" : "Finger, " + f.name;
    if (!p.closes) {
      out.push_back(fmt::format("{}: finger and spring together do not close it.", who));
    } else if (seals(f)) {
      const std::string leak = show_leak(f.leak);
      out.push_back(fmt::format("{}: closed all round; the pad carries {:.2g} N.{}", who, in_newtons(p.pad),
                                leak == "none" ? "" : fmt::format(" Within the doubt: {}.", leak)));
    } else {
      out.push_back(fmt::format("{}: leaks {}; a gap of {} is left over {:.0f} % of the rim.", who,
                                show_leak(f.leak), show(f.gap, unit), 100 * f.found.leak.open_share));
    }
  }
  if (k.fingers.size() > 1) {
    const FingerLeak& worst = k.fingers[*k.worst_finger];
    const FingerLeak& best = k.fingers[*k.best_finger];
    if (seals(best) && !seals(worst)) {
      out.push_back(
          fmt::format("It seals under one finger and leaks under another: closed at {}, leaks at {}. "
                      "Take up the play before the pad is blamed.",
                      best.name, worst.name));
    }
  }
  return out;
}

std::vector<std::string> tell(const InstrumentLeak& leaks, LengthUnit unit) {
  std::vector<std::string> out;
  const std::string at = show(leaks.conditions.over.raw() * kPascal, 0, "kPa", unit);
  out.push_back(fmt::format(
      "All pads together, each at the worst its play allows: {} at {}, as a hole of {}.",
      show_leak(leaks.total), at, hole_text(leaks.total, leaks.hole, leaks.hole_low, leaks.hole_high, unit)));
  if (const auto& m = leaks.measured) {
    out.push_back(
        fmt::format("Read on the closed instrument: {} at {}: {}.", show(m->read, unit), at, m->says));
    out.push_back(fmt::format("By that reading pads give {} ({} before); the sum is then {}.",
                              show(m->take_up, unit), show(m->take_up_before, unit), flow_text(m->expected)));
  }
  return out;
}

std::vector<std::string> explain(const KeyLeak& k, const InstrumentLeak& all, LengthUnit unit) {
  std::vector<std::string> out = tell(k, all, unit);
  if (!k.nothing.empty()) return out;
  const auto add = [&](const Worked& w) {
    // What is nothing whatever its givens do needs no reckoning shown.
    if (w.value == 0 && w.standard == 0) return;
    out.emplace_back();
    for (auto& line : explain(w, unit)) out.push_back(std::move(line));
  };
  add(k.leak);
  add(k.hole);
  for (const FingerLeak& f : k.fingers) {
    add(f.leak);
    add(f.gap);
  }
  return out;
}

namespace {

Json flow_json(const seal::Leak& l) {
  return {{"flow", number(l.flow.raw())},       {"slit", number(l.slit.raw())},
          {"orifice", number(l.orifice.raw())}, {"hole", number(l.hole)},
          {"widest", number(l.widest)},         {"open_share", number(l.open_share)},
          {"reynolds", number(l.reynolds)},     {"entry_share", number(l.entry_share)},
          {"rules", seal::word(l.rules)}};
}

Json key_json(const KeyLeak& k, const InstrumentLeak& all, LengthUnit unit) {
  Json out = {{"id", k.id}, {"name", k.name}};
  if (!k.nothing.empty()) {
    out["nothing"] = k.nothing;
    return out;
  }
  out["gap"] = json_of(k.gap);
  out["leak"] = json_of(k.leak);
  out["hole"] = json_of(k.hole);
  out["hole_low"] = number(k.hole_low);
  out["hole_high"] = number(k.hole_high);
  out["flow"] = flow_json(k.flow);
  out["share"] = number(k.share);
  out["too_much"] = k.too_much;
  out["fingers"] = Json::array();
  for (const FingerLeak& f : k.fingers) {
    const seal::Pressed& p = f.found.pressed;
    out["fingers"].push_back({{"name", f.name},
                              {"closes", p.closes},
                              {"leak", json_of(f.leak)},
                              {"gap", json_of(f.gap)},
                              {"hole", json_of(f.hole)},
                              {"place", number(f.found.place)},
                              {"least_leak", number(f.found.least.flow.raw())},
                              {"pad_force", number(p.pad.raw())},
                              {"deepest", number(p.deepest)},
                              {"contact_share", number(p.contact_share)},
                              {"upper", {number(p.upper[0]), number(p.upper[1])}},
                              {"lower", {number(p.lower[0]), number(p.lower[1])}},
                              {"flow", flow_json(f.found.leak)}});
  }
  if (!k.unpressed.empty()) out["unpressed"] = k.unpressed;
  if (k.worst_finger) out["worst_finger"] = k.fingers[*k.worst_finger].name;
  if (k.best_finger) out["best_finger"] = k.fingers[*k.best_finger].name;
  out["said"] = tell(k, all, unit);
  return out;
}

}  // namespace

std::string to_json(const InstrumentLeak& leaks, LengthUnit unit, const std::string& only_key) {
  Json out = {{"title", leaks.title},
              {"serial", leaks.serial},
              {"pressure", number(leaks.conditions.over.raw() * kPascal)},
              {"air", number(leaks.conditions.air.raw())},
              {"discharge", number(leaks.conditions.discharge)},
              {"hole_allowed", number(leaks.hole_allowed)},
              {"total", json_of(leaks.total)},
              {"hole", json_of(leaks.hole)},
              {"hole_low", number(leaks.hole_low)},
              {"hole_high", number(leaks.hole_high)}};
  if (const auto& m = leaks.measured) {
    out["measured"] = {{"read", json_of(m->read)},
                       {"take_up_before", json_of(m->take_up_before)},
                       {"take_up", json_of(m->take_up)},
                       {"take_up_low", number(m->take_up_low)},
                       {"take_up_high", number(m->take_up_high)},
                       {"expected", number(m->expected.raw())},
                       {"unexplained", number(m->unexplained.raw())},
                       {"says", m->says}};
  }
  out["said"] = tell(leaks, unit);
  out["keys"] = Json::array();
  for (const KeyLeak& k : leaks.keys) {
    if (only_key.empty() || k.id == only_key) out["keys"].push_back(key_json(k, leaks, unit));
  }
  return text_of(out);
}

}  // namespace hingeline::service
