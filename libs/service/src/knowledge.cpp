#include "knowledge.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>

#include "climate.h"
#include "hingeline/mechanism/thread.h"
#include "standard.h"

namespace hingeline::service {
namespace {

using belief::HingeKind;
using belief::Input;
using belief::JointGeometry;
using belief::KeyGeometry;
using belief::KeyKnowledge;
using belief::Observation;
using record::AngleEntry;
using record::Entry;
using record::LengthEntry;

using Setter = void (*)(KeyGeometry&, double);

/// A number settled on: by reading, pattern or preset, or the middle of its range.
struct Settled {
  double value = 0;
  double standard = 0;
  Origin origin = Origin::unknown;
  std::string pointer;
  bool rectangular = false;
};

/// Setters of one number of one end. Diameters are kept as people give them and halved here.
template <Side S, auto Member>
void set_point(KeyGeometry& g, double v) {
  auto& m = g.at(S).point.*Member;
  m = std::remove_reference_t<decltype(m)>::of(v);
}
template <Side S, auto Member>
void set_point_half(KeyGeometry& g, double v) {
  set_point<S, Member>(g, v / 2);
}
template <Side S, auto Member>
void set_hole(KeyGeometry& g, double v) {
  auto& m = g.at(S).hole.*Member;
  m = std::remove_reference_t<decltype(m)>::of(v);
}
template <Side S, auto Member>
void set_hole_half(KeyGeometry& g, double v) {
  set_hole<S, Member>(g, v / 2);
}
/// A matched cone: one taper for the point and its hole.
template <Side S>
void set_both_tapers(KeyGeometry& g, double v) {
  g.at(S).point.half_angle = radians(v);
  g.at(S).hole.half_angle = radians(v);
}
template <Side S>
void set_stop(KeyGeometry& g, double v) {
  g.at(S).stop = millimetres(v);
}
template <Side S>
void set_protrusion(KeyGeometry& g, double v) {
  g.at(S).protrusion = millimetres(v);
}
template <auto Member>
void set_pad(KeyGeometry& g, double v) {
  auto& m = (*g.pad).*Member;
  m = std::remove_reference_t<decltype(m)>::of(v);
}

/// The pattern an end's screw names, where the shop has it.
const record::Pattern* pattern_of(const record::End& end, const record::Shop& shop) {
  if (end.screw.pattern.empty()) return nullptr;
  const auto p = std::find_if(shop.patterns.begin(), shop.patterns.end(),
                              [&](const record::Pattern& x) { return x.name == end.screw.pattern.text; });
  return p == shop.patterns.end() ? nullptr : &*p;
}

class Settler {
 public:
  Settler(const record::Key& key, const record::Shop& shop, std::vector<Said>& notes)
      : key_(key), shop_(shop), notes_(notes) {}

  Expected<KeyKnowledge> settle();

 private:
  /// The entry's own figure.
  template <class Q>
  [[nodiscard]] Settled known(const Entry<Q>& e, Origin origin) const {
    const Reckoned r = reckon(e, shop_);
    return {r.value, r.standard, origin, e.place.pointer, r.rectangular};
  }

  /// The first that is known of document, pattern and preset; else the range it must lie in.
  template <class Q>
  Settled settle_one(const std::string& name, const Entry<Q>& own, const Entry<Q>* pattern,
                     const Entry<Q>& unknown) {
    if (own.known()) return known(own, own.origin);
    if (pattern != nullptr && pattern->known()) {
      Settled s = known(*pattern, Origin::pattern);
      s.pointer.clear();
      return s;
    }
    if (unknown.known()) return known(unknown, Origin::preset);
    const auto& range = own.range ? own.range : unknown.range;
    if (!range) {
      if (!missing_) {
        missing_ =
            Error{Fault::content, fmt::format("{} of {} is not known", name, key_.name),
                  "a reading, a pattern that has it, or a range for it in the shop document", own.place};
      }
      return {};
    }
    const double half = (range->high - range->low).raw() / 2;
    return {range->low.raw() + half, half / std::sqrt(3.0), Origin::unknown, own.place.pointer, true};
  }

  void add(std::string name, const Settled& s, bool is_angle, Setter set) {
    out_.inputs.push_back({std::move(name), s.pointer, is_angle, s.value, s.standard, s.origin, set,
                           std::nullopt, s.rectangular});
    set(out_.geometry, s.value);
  }

  template <class Q>
  void take(const std::string& name, const Entry<Q>& own, const Entry<Q>* pattern, const Entry<Q>& unknown,
            Setter set) {
    add(name, settle_one(name, own, pattern, unknown), std::is_same_v<Q, Angle>, set);
  }

  template <Side S>
  void settle_end();
  template <Side S>
  void settle_cone(const std::string& at, const record::Point& p, const record::Point* pattern, bool matched);
  template <Side S>
  void settle_hole(const std::string& at, const record::Hole& h, const record::Hole* pattern, bool matched);
  template <Side S>
  void settle_stop(const std::string& at, double rest);
  void settle_line();
  void settle_pad();
  void observe(Observation::Of what, const LengthEntry& e, Length station = {});

  const record::Key& key_;
  const record::Shop& shop_;
  std::vector<Said>& notes_;
  KeyKnowledge out_;
  std::optional<Error> missing_;
};

std::vector<contact::Vertex> vertices_of(const record::Pairs& pairs) {
  std::vector<contact::Vertex> out;
  for (const auto& p : pairs.pairs) out.push_back({p.along, p.radius});
  return out;
}

/// The field of a pattern, when there is one.
template <class Owner, class Q>
const Entry<Q>* of(const Owner* owner, Entry<Q> Owner::*member) {
  return owner == nullptr ? nullptr : &(owner->*member);
}

template <Side S>
void Settler::settle_cone(const std::string& at, const record::Point& p, const record::Point* pattern,
                          bool matched) {
  const auto& unknown = shop_.presets.unknown;
  auto& form = out_.geometry.at(S).point;
  using contact::PointForm;
  take(at + " point half angle", p.half_angle, of(pattern, &record::Point::half_angle), unknown.half_angle,
       matched ? &set_both_tapers<S> : &set_point<S, &PointForm::half_angle>);
  if (form.tip == contact::TipShape::round) {
    take(at + " tip rounding", p.tip_radius, of(pattern, &record::Point::tip_radius), unknown.tip_radius,
         &set_point<S, &PointForm::tip_radius>);
  } else {
    take(at + " tip diameter", p.tip_diameter, of(pattern, &record::Point::tip_diameter),
         unknown.tip_diameter, &set_point_half<S, &PointForm::tip_radius>);
  }
  if (form.tip == contact::TipShape::worn) {
    take(at + " tip wear length", p.wear_length, of(pattern, &record::Point::wear_length),
         unknown.wear_length, &set_point<S, &PointForm::wear_length>);
    take(at + " tip wear depth", p.wear_depth, of(pattern, &record::Point::wear_depth), unknown.wear_depth,
         &set_point<S, &PointForm::wear_depth>);
  }
  const bool has_shank = p.shank_diameter.present || (pattern != nullptr && pattern->shank_diameter.present);
  if (has_shank) {
    take(at + " shank diameter", p.shank_diameter, of(pattern, &record::Point::shank_diameter),
         unknown.shank_diameter, &set_point_half<S, &PointForm::shank_radius>);
  }
}

template <Side S>
void Settler::settle_hole(const std::string& at, const record::Hole& h, const record::Hole* pattern,
                          bool matched) {
  const auto& unknown = shop_.presets.unknown;
  using contact::HoleForm;
  auto& form = out_.geometry.at(S).hole;
  if (form.shape == contact::HoleShape::pairs) {
    form.pairs = vertices_of(!h.pairs.absent() ? h.pairs : pattern->pairs);
    form.depth = form.pairs.back().along;
    form.mouth_radius = form.pairs.front().radius;
    return;
  }
  take(at + " mouth diameter", h.mouth_diameter, of(pattern, &record::Hole::mouth_diameter),
       unknown.mouth_diameter, &set_hole_half<S, &HoleForm::mouth_radius>);
  take(at + " hole depth", h.depth, of(pattern, &record::Hole::depth), unknown.depth,
       &set_hole<S, &HoleForm::depth>);
  if ((form.shape == contact::HoleShape::cone || form.shape == contact::HoleShape::bell) && !matched) {
    take(at + " hole half angle", h.half_angle, of(pattern, &record::Hole::half_angle),
         unknown.hole_half_angle, &set_hole<S, &HoleForm::half_angle>);
  }
  if (form.shape == contact::HoleShape::drilled) {
    take(at + " floor half angle", h.floor_half_angle, of(pattern, &record::Hole::floor_half_angle),
         unknown.floor_half_angle, &set_hole<S, &HoleForm::floor_half_angle>);
  }
  if (form.shape == contact::HoleShape::bell) {
    take(at + " bell half angle", h.bell_half_angle, of(pattern, &record::Hole::bell_half_angle),
         unknown.bell_half_angle, &set_hole<S, &HoleForm::bell_half_angle>);
    take(at + " bell depth", h.bell_depth, of(pattern, &record::Hole::bell_depth), unknown.bell_depth,
         &set_hole<S, &HoleForm::bell_depth>);
  }
}

template <Side S>
void Settler::settle_end() {
  const record::End& end = S == Side::upper ? key_.hinge.upper : key_.hinge.lower;
  const record::Pattern* pattern = pattern_of(end, shop_);
  const record::Point* pattern_point = pattern != nullptr ? &pattern->screw.point : nullptr;
  const record::Hole* pattern_hole = pattern != nullptr ? &pattern->hole : nullptr;
  const auto& unknown = shop_.presets.unknown;
  const std::string at = word(S);
  JointGeometry& joint = out_.geometry.at(S);

  const auto point_shape = end.screw.point.shape                              ? *end.screw.point.shape
                           : pattern_point != nullptr && pattern_point->shape ? *pattern_point->shape
                                                                              : record::PointShape::cone;
  const auto tip = end.screw.point.tip                              ? *end.screw.point.tip
                   : pattern_point != nullptr && pattern_point->tip ? *pattern_point->tip
                                                                    : record::TipShape::flat;
  const auto hole_shape = end.hole.shape                                   ? *end.hole.shape
                          : pattern_hole != nullptr && pattern_hole->shape ? *pattern_hole->shape
                                                                           : record::HoleShape::cone;
  joint.point.shape = static_cast<contact::PointShape>(point_shape);
  joint.point.tip = static_cast<contact::TipShape>(tip);
  joint.hole.shape = static_cast<contact::HoleShape>(hole_shape);

  // A hole nobody measured the taper of is taken as matched to its point: one number for both.
  const bool conical_hole = hole_shape == record::HoleShape::cone || hole_shape == record::HoleShape::bell;
  const bool matched = point_shape == record::PointShape::cone && conical_hole &&
                       !end.hole.half_angle.known() && !end.hole.half_angle.said_unknown();
  if (matched && !(pattern_hole != nullptr && pattern_hole->half_angle.known())) {
    notes_.push_back(fmt::format("the {} hole's taper was not read: taken as its point's", at));
  }

  const record::Point& p = end.screw.point;
  using contact::PointForm;
  if (point_shape == record::PointShape::profile) {
    const auto& pairs = !p.pairs.absent() || pattern_point == nullptr ? p.pairs : pattern_point->pairs;
    joint.point.pairs = vertices_of(pairs);
    if (!joint.point.pairs.empty()) joint.point.length = joint.point.pairs.back().along;
  } else {
    take(at + " point length", p.length, of(pattern_point, &record::Point::length), unknown.point_length,
         &set_point<S, &PointForm::length>);
    if (point_shape == record::PointShape::cone) {
      settle_cone<S>(at, p, pattern_point, matched);
    } else if (point_shape == record::PointShape::ball) {
      take(at + " ball diameter", p.ball_diameter, of(pattern_point, &record::Point::ball_diameter),
           unknown.ball_diameter, &set_point_half<S, &PointForm::ball_radius>);
      take(at + " neck diameter", p.neck_diameter, of(pattern_point, &record::Point::neck_diameter),
           unknown.neck_diameter, &set_point_half<S, &PointForm::neck_radius>);
    } else {
      take(at + " pin diameter", p.pin_diameter, of(pattern_point, &record::Point::pin_diameter),
           unknown.pin_diameter, &set_point_half<S, &PointForm::pin_radius>);
      const bool has_shoulder =
          p.pin_length.present || (pattern_point != nullptr && pattern_point->pin_length.present);
      if (has_shoulder) {
        take(at + " pin length", p.pin_length, of(pattern_point, &record::Point::pin_length),
             unknown.pin_length, &set_point<S, &PointForm::pin_length>);
        take(at + " shoulder diameter", p.shoulder_diameter,
             of(pattern_point, &record::Point::shoulder_diameter), unknown.shoulder_diameter,
             &set_point_half<S, &PointForm::shoulder_radius>);
      } else {
        joint.point.pin_length = joint.point.length;
        joint.point.shoulder_radius = joint.point.pin_radius;
      }
    }
  }
  settle_hole<S>(at, end.hole, pattern_hole, matched);
}

/// Where the point stops the key: from its protrusion, else from the face gap read there, else from
/// what the other end and the end play leave, else somewhere in the gap.
template <Side S>
void Settler::settle_stop(const std::string& at, double rest) {
  const record::End& end = S == Side::upper ? key_.hinge.upper : key_.hinge.lower;
  const LengthEntry& gap = S == Side::upper ? key_.readings.gap_upper : key_.readings.gap_lower;
  if (end.screw.protrusion.known()) {
    add(at + " protrusion", known(end.screw.protrusion, end.screw.protrusion.origin), false,
        &set_protrusion<S>);
    out_.inputs.back().protrusion_of = S;
    observe(S == Side::upper ? Observation::Of::gap_upper : Observation::Of::gap_lower, gap);
    return;
  }
  if (gap.known()) {
    add(at + " face gap, pushed home", known(gap, gap.origin), false, &set_stop<S>);
    return;
  }
  const double half = std::max(rest / 2, 0.02);
  add(at + " face gap, pushed home",
      {half, half / std::sqrt(3.0), Origin::unknown, end.screw.protrusion.place.pointer, true}, false,
      &set_stop<S>);
}

void Settler::observe(Observation::Of what, const LengthEntry& e, Length station) {
  if (!e.known()) return;
  const Reckoned r = reckon(e, shop_);
  out_.observations.push_back(
      {what, e.place.pointer, station, Length::of(r.value), Length::of(r.standard), e.origin});
}

/// Span and key length; where one is missing, the face gap stands for it.
void Settler::settle_line() {
  const auto& unknown = shop_.presets.unknown;
  const auto& h = key_.hinge;
  const Setter set_key = [](KeyGeometry& g, double v) { g.key_length = millimetres(v); };
  const Setter set_span = [](KeyGeometry& g, double v) { g.span = millimetres(v); };
  const LengthEntry* none = nullptr;
  // Where the span or the key's length is missing, the gap between them stands for it.
  const auto add_gap = [&](Setter set) {
    add("face gaps together",
        settle_one("the gap between posts and key ends", LengthEntry{},
                   static_cast<const LengthEntry*>(nullptr), unknown.face_gaps),
        false, set);
    out_.inputs.back().pointer = h.span.known() ? h.key_length.place.pointer : h.span.place.pointer;
  };
  if (h.span.known() && !h.key_length.known()) {
    add("span between posts", known(h.span, h.span.origin), false, set_span);
    add_gap([](KeyGeometry& g, double v) { g.key_length = g.span - millimetres(v); });
    return;
  }
  take("key length", h.key_length, none, unknown.key_length, set_key);
  if (h.span.known()) {
    add("span between posts", known(h.span, h.span.origin), false, set_span);
  } else {
    add_gap([](KeyGeometry& g, double v) { g.span = g.key_length + millimetres(v); });
  }
}

void Settler::settle_pad() {
  if (!key_.pad) return;
  const auto& unknown = shop_.presets.unknown;
  const LengthEntry* none = nullptr;
  out_.geometry.pad = mechanism::Pad{};
  using mechanism::Pad;
  take("tone hole diameter", key_.pad->tone_hole, none, unknown.tone_hole, &set_pad<&Pad::tone_hole>);
  take("pad station", key_.pad->station, none, unknown.station, &set_pad<&Pad::station>);
  take("pad arm", key_.pad->arm, none, unknown.arm, &set_pad<&Pad::arm>);
  if (key_.pad->clock.known())
    add("pad clock angle", known(key_.pad->clock, key_.pad->clock.origin), true, &set_pad<&Pad::clock>);
}

Expected<KeyKnowledge> Settler::settle() {
  out_.geometry.kind = key_.hinge.kind == record::HingeKind::rod ? HingeKind::rod : HingeKind::pivot;
  settle_line();
  if (out_.geometry.kind == HingeKind::rod) {
    const auto& unknown = shop_.presets.unknown;
    const LengthEntry* none = nullptr;
    take("rod diameter", key_.hinge.rod_diameter, none, unknown.rod_diameter,
         [](KeyGeometry& g, double v) { g.rod_diameter = millimetres(v); });
    take("bore of the tube", key_.hinge.bore, none, unknown.bore,
         [](KeyGeometry& g, double v) { g.bore = millimetres(v); });
  } else {
    settle_end<Side::upper>();
    settle_end<Side::lower>();
    // What the face gap leaves for ends nobody measured.
    const double gap = (out_.geometry.span - out_.geometry.key_length).raw();
    const double play = key_.readings.end_play.known() ? key_.readings.end_play.value.raw() : 0.0;
    settle_stop<Side::upper>("upper", gap - play);
    settle_stop<Side::lower>("lower", gap - play);
  }
  settle_pad();
  observe(Observation::Of::end_play, key_.readings.end_play);
  for (const auto& r : key_.readings.rock) {
    if (r.station.known()) observe(Observation::Of::rock, r.value, r.station.value);
  }
  if (missing_) return tl::unexpected(*missing_);
  return std::move(out_);
}

// ---- the plan's side -------------------------------------------------------------------------------

/// An end's facts are lengths a plan reckons with; only a measuring instrument named beside one moves it.
class Facts {
 public:
  explicit Facts(const record::Shop& shop) : shop_(shop) {}
  plan::MaybeLength operator()(const LengthEntry& own, const LengthEntry* pattern = nullptr) const {
    const LengthEntry* e = own.known() ? &own : pattern != nullptr && pattern->known() ? pattern : nullptr;
    if (e == nullptr) return std::nullopt;
    const Origin origin = e == &own ? own.origin : Origin::pattern;
    if (measuring_of(shop_, e->with) == nullptr)
      return Measured<Length>{e->value, e->plus_minus.value_or(Length{}), origin};
    const Reckoned r = reckon(*e, shop_);
    return Measured<Length>{millimetres(r.value), millimetres(2 * r.standard), origin};
  }

 private:
  const record::Shop& shop_;
};

plan::EndFacts facts_of(const record::End& end, const record::Shop& shop) {
  const record::Pattern* pattern = pattern_of(end, shop);
  const Facts maybe(shop);
  plan::EndFacts f;
  const record::Screw* from = pattern != nullptr ? &pattern->screw : nullptr;
  const auto head = end.screw.head ? end.screw.head : from != nullptr ? from->head : std::nullopt;
  f.headed = head != record::HeadKind::headless;
  f.head_diameter = maybe(end.screw.head_diameter, of(from, &record::Screw::head_diameter));
  f.stands_off = maybe(end.screw.stands_off);
  f.web = maybe(end.post.web);
  f.engagement = maybe(end.post.engagement);
  const record::Thread& thread =
      !end.screw.thread.absent() || from == nullptr ? end.screw.thread : from->thread;
  if (thread.pitch.known()) {
    f.pitch = thread.pitch.value;
  } else if (!thread.text.empty()) {
    if (const auto parsed = mechanism::parse_thread(thread.text)) f.pitch = parsed->pitch;
  }
  f.post_diameter = maybe(end.post.diameter);
  f.key_end_diameter = maybe(end.key_end_diameter);
  const auto reach = maybe(end.screw.slot_reach, of(from, &record::Screw::slot_reach));
  if (reach) {
    // A head that nobody said is sunk stands level with the post at the most.
    const Length sunk = end.screw.sink.known() ? end.screw.sink.value : Length{};
    f.slot_left = Measured<Length>{reach->value - sunk, reach->plus_minus, reach->origin};
  }
  f.displaced = maybe(end.post.displaced);
  f.room_behind = maybe(end.post.room_behind);
  f.room_around = maybe(end.post.room_around);
  return f;
}

template <class Q>
void override_with(Q& value, const Entry<Q>& e) {
  if (e.known()) value = e.value;
}

constexpr double kMillionth = 1e-6;

double expansion_of(const record::NumberEntry& own, const std::string& material, const record::Shop& shop) {
  const auto expansion = expansion_given("expansion", own, material, shop);
  return expansion ? expansion->value * kMillionth : 0;
}

plan::Minutes minutes_of(plan::Minutes standing, const record::MinutesPreset& p) {
  override_with(standing.set_up, p.set_up);
  override_with(standing.per_turn, p.per_turn);
  return standing;
}

plan::Tools tools_of(const record::Shop& shop) {
  plan::Tools t;
  for (const auto& c : shop.cutters) {
    const auto takes = [&](record::DriverKind k) {
      return std::find(c.drivers.begin(), c.drivers.end(), k) != c.drivers.end();
    };
    t.cutters.push_back({c.name, c.diameter.value, takes(record::DriverKind::straight),
                         takes(record::DriverKind::flexible), takes(record::DriverKind::pinch)});
  }
  for (const auto& r : shop.reamers)
    t.reamers.push_back({r.name, r.half_angle.value, r.small_diameter.value, r.large_diameter.value});
  for (const auto& d : shop.drivers) {
    t.drivers.push_back({static_cast<plan::Driver::Kind>(d.kind), d.room_behind.value, d.room_around.value});
  }
  return t;
}

plan::Limits limits_of(const record::Presets& p) {
  plan::Limits l;
  override_with(l.web_min, p.web_min);
  override_with(l.engagement_min_turns, p.engagement_min_turns);
  override_with(l.wall_seat_min, p.wall_seat_min);
  override_with(l.wall_mouth_min, p.wall_mouth_min);
  override_with(l.tip_floor_min, p.tip_floor_min);
  override_with(l.face_gap_min, p.face_gap_min);
  override_with(l.centring_allowed, p.centring_allowed);
  override_with(l.flank_share_min, p.flank_share_min);
  override_with(l.taper_match, p.taper_match);
  override_with(l.cutter_over_max, p.cutter_over_max);
  override_with(l.cutter_under_max, p.cutter_under_max);
  override_with(l.aim_guard, p.aim_guard);
  override_with(l.least_cut, p.least_cut);
  return l;
}

plan::WindowInputs window_of(const record::Key& key, const record::Instrument& instrument,
                             const record::Shop& shop) {
  plan::WindowInputs w;
  const auto& p = shop.presets;
  override_with(w.window_low, p.window_low);
  override_with(w.window_high, p.window_high);
  override_with(w.pad_gap_allowed, p.pad_gap_allowed);
  override_with(w.rock_allowed, p.rock_allowed);
  override_with(w.misalignment, p.misalignment);
  override_with(w.roundness, p.roundness);
  override_with(w.oil_film, p.oil_film);
  override_with(w.window_low, key.allowed.window_low);
  override_with(w.window_high, key.allowed.window_high);
  w.window_firm = key.allowed.window_high.known();
  override_with(w.pad_gap_allowed, key.allowed.pad_gap);
  override_with(w.rock_allowed, key.allowed.rock);
  const auto& body = instrument.body;
  if (const auto climate = climate_of(body, shop, {})) {
    const body::Service service = climate->service();
    w.colder = step_between(service.bench.value, service.coldest);
    w.warmer = step_between(service.bench.value, service.warmest);
    const double growth = moisture_given("growth", body.material, shop).value -
                          moisture_given("growth", instrument.key_material.material, shop).value;
    if (key.hinge.span.known()) {
      w.moisture =
          key.hinge.span.value * (kMillionth * std::max(growth * service.drier, -growth * service.wetter));
    }
  }
  override_with(w.moisture, body.moisture);
  w.body_expansion = expansion_of(body.expansion, body.material, shop);
  w.key_expansion = expansion_of(instrument.key_material.expansion, instrument.key_material.material, shop);
  return w;
}

/// Joint standard uncertainty of point's and hole's half angle; none when they are one number.
Angle taper_doubt(const KeyKnowledge& k, Side side) {
  double squares = 0;
  for (const Input& i : k.inputs) {
    const std::string at = word(side);
    if (i.name == at + " point half angle" || i.name == at + " hole half angle")
      squares += i.standard * i.standard;
  }
  return Angle::of(std::sqrt(squares));
}

/// How far off an end play read here may be (k = 2): this key's own reading, else the shop's best instrument.
Length reading_uncertainty(const KeyKnowledge& k, const record::Shop& shop) {
  Length best;
  for (const Observation& o : k.observations) {
    if (o.of == Observation::Of::end_play) return o.standard * 2;
  }
  for (const auto& m : shop.measuring) {
    // Only what lifts as far as a key's play: an instrument that reads to a share says nothing near nothing.
    const Length expanded = Length::of(2 * reading_by(m, millimetres(0)).standard);
    if (m.plus_minus.known() && (best.raw() == 0 || expanded < best)) best = expanded;
  }
  return best;
}

}  // namespace

Expected<KeyKnowledge> knowledge_of(const record::Key& key, const record::Shop& shop,
                                    std::vector<Said>& notes) {
  return Settler(key, shop, notes).settle();
}

plan::Pace pace_of(const record::Shop& shop) {
  plan::Pace pace;
  const auto& p = shop.presets;
  pace.drive_home = minutes_of(pace.drive_home, p.drive_home);
  pace.turn_screw = minutes_of(pace.turn_screw, p.turn_screw);
  pace.restore_post = minutes_of(pace.restore_post, p.restore_post);
  pace.seat_cut = minutes_of(pace.seat_cut, p.seat_cut);
  pace.ream = minutes_of(pace.ream, p.ream);
  pace.face = minutes_of(pace.face, p.face);
  override_with(pace.take_off_per_turn, p.take_off_per_turn);
  if (p.take_off_per_turn.plus_minus) pace.take_off_plus_minus = *p.take_off_per_turn.plus_minus;
  return pace;
}

plan::KeyCase case_of(const record::Key& key, const record::Instrument& instrument, const record::Shop& shop,
                      const KeyKnowledge& knowledge, belief::Estimate estimate) {
  plan::KeyCase c;
  c.estimate = std::move(estimate);
  c.upper = facts_of(key.hinge.upper, shop);
  c.lower = facts_of(key.hinge.lower, shop);
  if (key.pad && key.pad->offset.known()) c.pad_off_centre = key.pad->offset.value;
  c.window = window_of(key, instrument, shop);
  c.limits = limits_of(shop.presets);
  c.tools = tools_of(shop);
  c.pace = pace_of(shop);
  c.reading_uncertainty = reading_uncertainty(knowledge, shop);
  c.upper_taper_doubt = taper_doubt(knowledge, Side::upper);
  c.lower_taper_doubt = taper_doubt(knowledge, Side::lower);
  return c;
}

}  // namespace hingeline::service
