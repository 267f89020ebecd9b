#pragma once
/// \file
/// What stands in a document, once: each struct's members with their names, rules and meanings.
/// Reading, writing and the published schema all visit this description, so none of them can know a
/// member the others do not.
///
/// A visitor has `kWrites` and the members used below: text, entry, choice, choices, object, list
/// and so on, each given the member's name, the place it is kept in, its rule and what it means.

#include <array>
#include <span>
#include <type_traits>

#include "hingeline/record/document.h"

namespace hingeline::record {

/// What a quantity's place takes.
struct Rule {
  Sign sign = Sign::any;
  bool required = false;
  bool half_angle = false;  ///< a flank's half angle: also as a taper, in (0, 90 deg)
  const char* unit = "";    ///< plain numbers: the one unit they come in
  bool range = false;       ///< only an unknown with its range
  double most = 1e6;        ///< plain numbers: the largest that is taken
};
inline constexpr Rule kSize{.sign = Sign::positive};
inline constexpr Rule kGap{.sign = Sign::not_negative};
inline constexpr Rule kSigned{};
inline constexpr Rule kFlank{.sign = Sign::positive, .half_angle = true};
inline constexpr Rule kSizeRange{.sign = Sign::not_negative, .range = true};
inline constexpr Rule kFlankRange{.sign = Sign::positive, .half_angle = true, .range = true};
inline constexpr Rule kDays{.sign = Sign::not_negative, .unit = "days", .most = 3650};
inline constexpr Rule kMinutes{.sign = Sign::not_negative, .unit = "min"};
inline constexpr Rule kMoistureGrowth{.sign = Sign::not_negative, .unit = "1e-6/%", .most = 10000};
inline constexpr Rule kPercent{.sign = Sign::not_negative, .unit = "%", .most = 100};
inline constexpr Rule kModulus{.sign = Sign::positive, .unit = "GPa", .most = 10000};
inline constexpr Rule kExpansion{.sign = Sign::not_negative, .unit = "1e-6/K", .most = 1000};
inline constexpr Rule kForce{.sign = Sign::positive, .unit = "N", .most = 1000};
inline constexpr Rule kPressure{.sign = Sign::positive, .unit = "kPa", .most = 1000};
inline constexpr Rule kRimStiffness{.sign = Sign::positive, .unit = "N/mm2"};
inline constexpr Rule kGain{.sign = Sign::not_negative, .most = 1000};
inline constexpr Rule kFlowGain{.sign = Sign::not_negative, .unit = "mL/s", .most = 1000};
constexpr Rule required(Rule rule) {
  rule.required = true;
  return rule;
}

enum class TextRule {
  free,         ///< any words
  line,         ///< one line, at most kMostLine characters
  name,         ///< a line that may not be empty; required
  identifier,   ///< small letters, digits, hyphens; required
  date,         ///< a day of the calendar, 2026-11-25; required
  open_date,    ///< the same; may be left out
  moment,       ///< with its offset from UTC, 2026-11-25T14:05:00+01:00; required
  open_moment,  ///< the same; may be left out
  time_zone     ///< written as the names of the IANA time zone database are; may be left out
};
inline constexpr std::size_t kMostLine = 200;

/// A text that may not be left out.
constexpr bool is_required(TextRule rule) {
  return rule == TextRule::name || rule == TextRule::identifier || rule == TextRule::date ||
         rule == TextRule::moment;
}
constexpr bool is_day(TextRule rule) { return rule == TextRule::date || rule == TextRule::open_date; }
constexpr bool is_moment(TextRule rule) { return rule == TextRule::moment || rule == TextRule::open_moment; }

/// What a time zone's name is written like (the database's own rule for names, "theory.html", part Timezone
/// identifiers: parts of ASCII letters, digits, '-', '+' and '_', each begun by a letter or digit, parted by
/// slashes). Whether there is such a zone is for who shows a clock.
inline constexpr const char* kZonePattern = "^[A-Za-z][A-Za-z0-9+_-]*(/[A-Za-z0-9][A-Za-z0-9+_-]*)*$";

template <class E>
struct Words;
template <>
struct Words<Subject> {
  static constexpr std::array all{Subject::take_off, Subject::minutes, Subject::patterns, Subject::causes};
};
template <>
struct Words<PaperSize> {
  static constexpr std::array all{PaperSize::a4, PaperSize::letter};
};
template <>
struct Words<HingeKind> {
  static constexpr std::array all{HingeKind::pivot, HingeKind::rod};
};
template <>
struct Words<HeadKind> {
  static constexpr std::array all{HeadKind::headed, HeadKind::headless};
};
template <>
struct Words<PointShape> {
  static constexpr std::array all{PointShape::cone, PointShape::ball, PointShape::parallel,
                                  PointShape::profile};
};
template <>
struct Words<TipShape> {
  static constexpr std::array all{TipShape::flat, TipShape::round, TipShape::worn};
};
template <>
struct Words<HoleShape> {
  static constexpr std::array all{HoleShape::cone, HoleShape::straight, HoleShape::drilled, HoleShape::bell,
                                  HoleShape::profile};
};
template <>
struct Words<BodySide> {
  static constexpr std::array all{BodySide::plus, BodySide::minus};
};
template <>
struct Words<DriverKind> {
  static constexpr std::array all{DriverKind::straight, DriverKind::flexible, DriverKind::pinch};
};

template <>
struct Words<PastKind> {
  static constexpr std::array all{PastKind::fitted, PastKind::read};
};

template <>
struct Words<Leave> {
  static constexpr std::array all{Leave::yes, Leave::no};
};

template <>
struct Words<Look> {
  static constexpr std::array all{Look::fine,  Look::loose,    Look::binds,
                                  Look::leaks, Look::sluggish, Look::noisy};
};
template <>
struct Words<WorkStage> {
  static constexpr std::array all{WorkStage::free_check, WorkStage::straighten, WorkStage::posts,
                                  WorkStage::stack,      WorkStage::fit,        WorkStage::finish};
};
template <>
struct Words<Wear> {
  static constexpr std::array all{Wear::sound, Wear::worn};
};
template <>
struct Words<TaxRule> {
  static constexpr std::array all{TaxRule::added, TaxRule::included};
};

/// A struct as a visitor sees it: const when it only looks.
template <class V, class T>
using Seen = std::conditional_t<V::kWrites, const T, T>;

/// The struct's name in the schema.
template <class T>
inline constexpr const char* kDefinition = nullptr;
template <>
inline constexpr const char* kDefinition<Point> = "point";
template <>
inline constexpr const char* kDefinition<Hole> = "hole";
template <>
inline constexpr const char* kDefinition<Screw> = "screw";
template <>
inline constexpr const char* kDefinition<Post> = "post";
template <>
inline constexpr const char* kDefinition<End> = "end";
template <>
inline constexpr const char* kDefinition<Hinge> = "hinge";
template <>
inline constexpr const char* kDefinition<Pad> = "pad";
template <>
inline constexpr const char* kDefinition<FingerPlace> = "finger_place";
template <>
inline constexpr const char* kDefinition<Touch> = "touch";
template <>
inline constexpr const char* kDefinition<LeakReading> = "leak_reading";
template <>
inline constexpr const char* kDefinition<SealPresets> = "seal_presets";
template <>
inline constexpr const char* kDefinition<RockReading> = "rock_reading";
template <>
inline constexpr const char* kDefinition<Readings> = "readings";
template <>
inline constexpr const char* kDefinition<Allowed> = "allowed";
template <>
inline constexpr const char* kDefinition<Key> = "key";
template <>
inline constexpr const char* kDefinition<BowReading> = "bow_reading";
template <>
inline constexpr const char* kDefinition<Bow> = "bow";
template <>
inline constexpr const char* kDefinition<Body> = "body";
template <>
inline constexpr const char* kDefinition<KeyWork> = "key_material";
template <>
inline constexpr const char* kDefinition<Cutter> = "cutter";
template <>
inline constexpr const char* kDefinition<Reamer> = "reamer";
template <>
inline constexpr const char* kDefinition<Driver> = "driver";
template <>
inline constexpr const char* kDefinition<Rod> = "rod";
template <>
inline constexpr const char* kDefinition<Pattern> = "pattern";
template <>
inline constexpr const char* kDefinition<Forgotten> = "forgotten";
template <>
inline constexpr const char* kDefinition<Measuring> = "measuring";
template <>
inline constexpr const char* kDefinition<MaterialPreset> = "material";
template <>
inline constexpr const char* kDefinition<ServiceRange> = "service_range";
template <>
inline constexpr const char* kDefinition<BodyPresets> = "body_presets";
template <>
inline constexpr const char* kDefinition<MinutesPreset> = "minutes";
template <>
inline constexpr const char* kDefinition<UnknownRanges> = "unknown_ranges";
template <>
inline constexpr const char* kDefinition<Presets> = "presets";
template <>
inline constexpr const char* kDefinition<InstrumentBudget> = "budget";
template <>
inline constexpr const char* kDefinition<OwnWork> = "own_work";
template <>
inline constexpr const char* kDefinition<NamedWork> = "named_work";
template <>
inline constexpr const char* kDefinition<NamedKey> = "named_key";
template <>
inline constexpr const char* kDefinition<OfferedCutter> = "offered_cutter";
template <>
inline constexpr const char* kDefinition<OfferedReamer> = "offered_reamer";
template <>
inline constexpr const char* kDefinition<OfferedRod> = "offered_rod";
template <>
inline constexpr const char* kDefinition<Offered> = "offered";
template <>
inline constexpr const char* kDefinition<LeastPrice> = "least_price";
template <>
inline constexpr const char* kDefinition<Prices> = "prices";
template <>
inline constexpr const char* kDefinition<Weights> = "weights";
template <>
inline constexpr const char* kDefinition<LookPreset> = "look";
template <>
inline constexpr const char* kDefinition<Playing> = "playing";
template <>
inline constexpr const char* kDefinition<PastPlay> = "past_play";
template <>
inline constexpr const char* kDefinition<WearPair> = "wear_pair";
template <>
inline constexpr const char* kDefinition<WearPresets> = "wear";
template <>
inline constexpr const char* kDefinition<Stack> = "stack";
template <>
inline constexpr const char* kDefinition<StackRod> = "stack_rod";
template <>
inline constexpr const char* kDefinition<StackTube> = "stack_tube";
template <>
inline constexpr const char* kDefinition<StackGap> = "stack_gap";
template <>
inline constexpr const char* kDefinition<StackPost> = "stack_post";
template <>
inline constexpr const char* kDefinition<RodPresets> = "rod_presets";

template <class V>
void fields(V& v, Seen<V, Point>& p) {
  v.choice("shape", p.shape,
           "The point's shape: a cone, a ball on a neck, a parallel pin with a shoulder, or a profile given "
           "as pairs.");
  v.choice("tip", p.tip, "How a cone's tip ends: flat, rounded, or worn thinner.");
  v.entry("half_angle", p.half_angle, kFlank,
          "Half angle of the cone's flank, between flank and axis; also as a taper, 1:10.");
  v.entry("tip_diameter", p.tip_diameter, kGap, "Diameter of a cone's flat tip, as made.");
  v.entry("tip_radius", p.tip_radius, kSize, "Radius of a rounded tip.");
  v.entry("wear_length", p.wear_length, kSize, "How far back from the tip the wear reaches.");
  v.entry("wear_depth", p.wear_depth, kGap, "Radius lost at a worn tip, falling to nothing at wear_length.");
  v.entry("ball_diameter", p.ball_diameter, kSize, "Diameter of a ball point.");
  v.entry("neck_diameter", p.neck_diameter, kGap, "Diameter of the neck behind the ball.");
  v.entry("pin_diameter", p.pin_diameter, kSize, "Diameter of a parallel point.");
  v.entry("pin_length", p.pin_length, kSize,
          "From a parallel point's tip to its shoulder; left out: no shoulder.");
  v.entry("shoulder_diameter", p.shoulder_diameter, kSize, "Diameter of a parallel point's shoulder.");
  v.entry("length", p.length, kSize, "From the tip to the end of what is described.");
  v.entry("shank_diameter", p.shank_diameter, kSize,
          "Diameter at which a cone's flank ends and the shank begins.");
  v.pairs("pairs", p.pairs, "The profile: [distance behind the tip, radius], first at 0.");
}

template <class V>
void fields(V& v, Seen<V, Hole>& h) {
  v.choice("shape", h.shape,
           "The hole's shape: a cone, straight with a flat floor, straight with a drill's conical floor, a "
           "cone worn to a bell mouth, or a profile given as pairs.");
  v.entry("mouth_diameter", h.mouth_diameter, kSize, "Diameter at the key's end face.");
  v.entry("half_angle", h.half_angle, kFlank,
          "Half angle of the hole's cone (bell: of the inner, unworn flank); also as a taper, 1:10.");
  v.entry("depth", h.depth, kSize,
          "From the key's end face to the floor (drilled: to the floor's outer edge).");
  v.entry("floor_half_angle", h.floor_half_angle, kFlank, "Half angle of a drilled floor.");
  v.entry("bell_half_angle", h.bell_half_angle, kFlank, "Half angle of the worn mouth.");
  v.entry("bell_depth", h.bell_depth, kSize, "How deep the worn mouth reaches.");
  v.pairs("pairs", h.pairs,
          "The profile: [distance inwards from the key's end face, radius], first at 0; it ends in a floor.");
}

template <class V>
void fields(V& v, Seen<V, Screw>& s) {
  v.text("pattern", s.pattern, TextRule::line,
         "Name of the screw's pattern in the shop document; what is not given here is taken from it.");
  v.choice("head", s.head,
           "A headed screw stops with its head on a seat; a headless one stands where it was turned to.");
  v.entry("head_diameter", s.head_diameter, kSize, "Diameter of the head.");
  v.entry("head_height", s.head_height, kSize, "Height of the head along the axis.");
  v.entry("slot_reach", s.slot_reach, kGap,
          "How deep the head may sink below the post's outside and still be turned.");
  v.thread("thread", s.thread, "The thread: M2.5x0.45, 2-56, or pitch and major diameter.");
  v.object("point", s.point, "The point.");
  v.entry("protrusion", s.protrusion, kSigned,
          "How far the point stands out past the post's inner face, as it is now.");
  v.entry("stands_off", s.stands_off, kGap, "Gap under the head of a headed screw; 0: home.");
  v.entry("sink", s.sink, kSigned,
          "How far the head's top lies below the post's outside now; below 0: it stands proud.");
}

template <class V>
void fields(V& v, Seen<V, Post>& p) {
  v.entry("diameter", p.diameter, kSize, "Diameter of the post's head round the screw.");
  v.entry("thickness", p.thickness, kSize, "Thickness of the post along the hinge line.");
  v.entry("web", p.web, kGap, "Metal left under the screw's head: from its seat to the post's inner face.");
  v.entry("engagement", p.engagement, kGap, "Length of thread engaged in the post.");
  v.entry("displaced", p.displaced, kSigned,
          "How far the post stands out of its place along the hinge line; above 0: outward, posts too far "
          "apart.");
  v.entry("room_behind", p.room_behind, kGap, "Free room behind the post along the axis.");
  v.entry("room_around", p.room_around, kGap, "Free radius round the axis behind the post.");
  v.entry("lean", p.lean, kSigned,
          "How far the post leans along the hinge line; above 0: outward, away from the key.");
  v.entry(
      "turn", p.turn, kSigned,
      "How far the post is turned about its own axis; above 0: its point swings to the side that \"across\" "
      "counts from.");
  v.entry(
      "across", p.across, kSigned,
      "How far the post's foot stands out of line, square to the hinge line; the same side above 0 for both "
      "posts of a key.");
}

template <class V>
void fields(V& v, Seen<V, End>& e) {
  v.object("screw", e.screw, "The pivot screw.");
  v.object("hole", e.hole, "The hole in the key's end.");
  v.entry("key_end_diameter", e.key_end_diameter, kSize, "Outside diameter of the key's tube at this end.");
  v.object("post", e.post, "The post.");
}

template <class V>
void fields(V& v, Seen<V, Hinge>& h) {
  v.choice("kind", h.kind, "On pivot screws, or on a rod through the whole tube.");
  v.entry("span", h.span, required(kSize), "Between the inner faces of the two posts.");
  v.entry("key_length", h.key_length, required(kSize), "Between the end faces of the key's tube.");
  v.object("upper", h.upper, "The end nearer the mouthpiece.");
  v.object("lower", h.lower, "The end nearer the bell.");
  v.entry("rod_diameter", h.rod_diameter, kSize, "Diameter of a hinge rod.");
  v.entry("bore", h.bore, kSize, "Bore of the key's tube round a hinge rod.");
  v.entry("off_axis", h.off_axis, kSigned,
          "How far the hinge line stands off the body's neutral axis in the plane the body is bent in; above "
          "0 on "
          "one side, below 0 on the other, the same sides for all keys and for the bow readings.");
  v.entry("along", h.along, kSigned,
          "Where the upper post stands along the body, counted as the stations of the bow are.");
  v.entry("post_height", h.post_height, kSize, "Height of the hinge line over where its posts lean.");
}

template <class V>
void fields(V& v, Seen<V, Pad>& p) {
  v.entry("tone_hole", p.tone_hole, kSize, "Diameter of the tone hole.");
  v.entry("station", p.station, kSigned,
          "Where along the hinge line the pad stands, from the key's upper end face.");
  v.entry("arm", p.arm, kSize, "From the hinge axis to the pad's centre.");
  v.entry("clock", p.clock, kSigned, "Direction of the arm round the axis.");
  v.entry("offset", p.offset, kSigned,
          "How far the pad stands off its tone hole's centre along the hinge line; above 0: towards the "
          "lower post.");
  v.entry("land", p.land, kSize, "Width of the tone hole's rim that the pad lies on.");
  v.entry("take_up", p.take_up, kGap, "How much of a gap the pad gives.");
  v.entry("rim_stiffness", p.rim_stiffness, kRimStiffness,
          "Force that presses one millimetre of rim a millimetre deeper into the pad.");
  v.entry("closing_force", p.closing_force, Rule{.unit = "N", .most = 1000},
          "What the spring does at the pad: above 0 it presses the pad shut, below 0 it opens the key.");
}

template <class V>
void fields(V& v, Seen<V, FingerPlace>& f) {
  v.text("name", f.name, TextRule::name, "What to call this place of the finger.");
  v.entry("station", f.station, required(kSigned),
          "Where along the hinge line, from the key's upper end face.");
}

template <class V>
void fields(V& v, Seen<V, Touch>& t) {
  v.entry("arm", t.arm, required(kSize), "From the hinge axis to where the finger presses.");
  v.entry("clock", t.clock, kSigned, "Direction of that arm round the axis; left out: the pad's.");
  v.entry("force", t.force, kForce, "Force of the finger.");
  v.list("fingers", t.fingers, "Places along the touch where players press.");
}

template <class V>
void fields(V& v, Seen<V, RockReading>& r) {
  v.entry("station", r.station, required(kGap), "Where it was taken, from the key's upper end face.");
  v.entry("value", r.value, required(kGap), "Travel across the hinge line from one extreme to the other.");
}

template <class V>
void fields(V& v, Seen<V, Readings>& r) {
  v.entry("end_play", r.end_play, kSigned,
          "How far the key moves along its hinge line; below 0: it binds by so much.");
  v.entry("gap_upper", r.gap_upper, kGap, "Gap between upper post and key end with the key pushed home up.");
  v.entry("gap_lower", r.gap_lower, kGap,
          "Gap between lower post and key end with the key pushed home down.");
  v.list("rock", r.rock, "Rock readings.");
}

template <class V>
void fields(V& v, Seen<V, Allowed>& a) {
  v.entry("window_low", a.window_low, kGap, "Least end play wanted.");
  v.entry("window_high", a.window_high, kGap, "Most end play wanted.");
  v.entry("pad_gap", a.pad_gap, kGap, "Most gap at the pad's rim.");
  v.entry("rock", a.rock, kGap, "Most rock.");
}

inline constexpr Rule kHours{.sign = Sign::positive, .unit = "h/week", .most = 168};
inline constexpr Rule kClosingsAnHour{.sign = Sign::positive, .unit = "closings/h", .most = 1e5};

template <class V>
void fields(V& v, Seen<V, Playing>& p) {
  v.entry("hours", p.hours, kHours, "Hours it is played in a week.");
  v.entry("closings", p.closings, kClosingsAnHour, "How often one key closes in an hour of playing.");
  v.text("surfaces", p.surfaces, TextRule::line,
         "Name of the shop's wear pair that its pivots are; left out: the shop's first.");
  v.text("read_on", p.read_on, TextRule::open_date, "The day the end plays were read; left out: today.");
}

template <class V>
void fields(V& v, Seen<V, PastPlay>& p) {
  v.text("on", p.on, TextRule::date, "The day.");
  v.choice("kind", p.kind, "Read just after a fit, or at any other time.");
  v.entry("end_play", p.end_play, required(kSigned), "The end play that day.");
}

template <class V>
void fields(V& v, Seen<V, Key>& k) {
  v.text("id", k.id, TextRule::identifier,
         "The key's short name, unique in the document: small letters, digits, hyphens.");
  v.text("name", k.name, TextRule::line, "The key's name as shown.");
  v.object("hinge", k.hinge, "How it is hung.", true);
  v.maybe("pad", k.pad, "Its pad.");
  v.maybe("touch", k.touch, "Where the finger acts.");
  v.maybe("spring", k.spring, "Its spring.");
  v.maybe("moving", k.moving, "What moves, and how far.");
  v.entry("opening", k.opening, kGap, "How far its pad stands open at rest, at its centre.");
  v.maybe("opening_wanted", k.opening_wanted, "How far its pad should stand open.");
  v.maybe("stop", k.stop, "What stops it at rest.");
  v.object("readings", k.readings, "What was read of the key in place.");
  v.object("allowed", k.allowed, "What this key is allowed where it differs from the shop's presets.");
  v.choice("look", k.look, "What a glance and a wiggle say of it, where nothing was measured.");
  v.list("past", k.past, "End plays of earlier days, the earliest first: what it has worn by.");
  v.text("note", k.note, TextRule::free, "Anything worth saying.");
}

template <class V>
void fields(V& v, Seen<V, BowReading>& r) {
  v.entry("station", r.station, required(kSigned),
          "Where it was taken, from the end of the straightedge nearer the mouthpiece.");
  v.entry("value", r.value, required(kSigned),
          "The gap between straightedge and body there; only its difference from a straight line counts.");
}

template <class V>
void fields(V& v, Seen<V, Bow>& b) {
  v.entry("chord", b.chord, kSize,
          "Between the ends of the straightedge; with one or two readings these are taken to touch.");
  v.choice(
      "side", b.side,
      "The side of the body the straightedge lies on: plus where \"off_axis\" is above 0, else minus. Left "
      "out: plus.");
  v.list("readings", b.readings, "Gaps under the straightedge.", true);
}

template <class V>
void fields(V& v, Seen<V, Body>& b) {
  v.text("material", b.material, TextRule::line, "What the body is made of.");
  v.entry("expansion", b.expansion, kExpansion,
          "Thermal expansion along the body, in millionths per kelvin.");
  v.entry("bench_temperature", b.bench_temperature, kSigned, "Temperature at the bench.");
  v.entry("service_from", b.service_from, kSigned, "Coldest temperature it is played at.");
  v.entry("service_to", b.service_to, kSigned, "Warmest temperature it is played at.");
  v.entry("moisture", b.moisture, kGap, "How far the body may shorten between two posts as it dries.");
  v.text("service", b.service, TextRule::line,
         "Name of one of the shop's service ranges; \"service_from\" and \"service_to\" come before it.");
  v.entry("diameter", b.diameter, kSize, "Outside diameter where the straightedge lies.");
  v.maybe("bow", b.bow, "How bent the body was read with a straightedge.");
}

template <class V>
void fields(V& v, Seen<V, KeyWork>& k) {
  v.text("material", k.material, TextRule::line, "What the keys are made of.");
  v.entry("expansion", k.expansion, kExpansion, "Thermal expansion of the keys, in millionths per kelvin.");
}

template <class V>
void fields(V& v, Seen<V, LeakReading>& l) {
  v.entry("flow", l.flow, Rule{.sign = Sign::not_negative, .unit = "mL/s"},
          "What leaked; with the pressure it was read at.");
  v.entry("pressure", l.pressure, kPressure, "Pressure inside over outside as the flow was read.");
  v.entry("pressure_from", l.pressure_from, kPressure,
          "Pressure at the beginning, where its fall was timed.");
  v.entry("pressure_to", l.pressure_to, kPressure, "Pressure at the end.");
  v.entry("time", l.time, Rule{.sign = Sign::positive, .unit = "s"}, "From the one to the other.");
  v.entry("volume", l.volume, Rule{.sign = Sign::positive, .unit = "mL"},
          "Of the closed body and of what hangs on it.");
}

template <class V>
void fields(V& v, Seen<V, StackRod>& r) {
  v.entry("diameter", r.diameter, kSize, "The rod's diameter; left out: that of the first key named.");
  v.entry("bow", r.bow, kGap, "How far its middle stands off a straight line over \"bow_over\".");
  v.entry("bow_over", r.bow_over, kSize, "The length that the bow was read over.");
}

template <class V>
void fields(V& v, Seen<V, StackTube>& t) {
  v.text("key", t.key, TextRule::line,
         "Id of a key on a rod that this tube is: what is left out here is taken from it.");
  v.text("name", t.name, TextRule::line, "The tube's name as shown; left out: the key's.");
  v.entry("length", t.length, kSize, "Between its end faces.");
  v.entry("bore", t.bore, kSize, "Its bore.");
  v.entry("outside", t.outside, kSize, "Its outside diameter.");
  v.entry("bearing", t.bearing, kSize, "How far in from each end the bore carries; left out: all along.");
  v.entry("station", t.station, kSigned, "Where its pad stands, from its upper end face.");
  v.entry("offset", t.offset, kSigned,
          "How far its pad stands off its tone hole's centre along the line, all tubes of the gap closed up "
          "and in the middle of their play; above 0: towards the lower post.");
  v.entry("allowed", t.allowed, kGap, "Most offset of its pad either way, wherever the tube stands.");
  v.choice("swedge", t.swedge, "Whether it may be swedged; left out: yes.");
  v.choice("face", t.face, "Whether its ends may be faced; left out: yes.");
  v.choice("ream", t.ream, "Whether its bore may be reamed; left out: yes.");
}

template <class V>
void fields(V& v, Seen<V, StackGap>& g) {
  v.entry("span", g.span, kSize, "Between the inner faces of its two posts.");
  v.entry("end_play", g.end_play, kSigned,
          "End play of all its tubes together; below 0: they bind by so much.");
  v.entry("window_low", g.window_low, kGap, "Least end play wanted, all tubes together.");
  v.entry("window_high", g.window_high, kGap, "Most end play wanted.");
  v.list("tubes", g.tubes, "Its tubes, from the upper post down.", true);
}

template <class V>
void fields(V& v, Seen<V, StackPost>& p) {
  v.text("name", p.name, TextRule::line, "The post's name.");
  v.entry("may_move", p.may_move, kGap, "How far it may be moved along the line, either way; left out: not.");
}

template <class V>
void fields(V& v, Seen<V, Stack>& s) {
  v.text("id", s.id, TextRule::identifier,
         "The stack's short name, unique in the document: small letters, digits, hyphens.");
  v.text("name", s.name, TextRule::line, "The stack's name as shown.");
  v.object("rod", s.rod, "The rod that all its tubes turn on.");
  v.list("posts", s.posts, "Its posts from the upper end down: none, or one more than gaps.");
  v.list("gaps", s.gaps, "What lies between two neighbouring posts, from the upper end down.", true);
  v.text("note", s.note, TextRule::free, "Anything worth saying.");
}

template <class V>
void fields(V& v, Seen<V, InstrumentBudget>& b) {
  v.entry("minutes", b.minutes, kMinutes, "Minutes there are for the whole instrument.");
  v.amount("money", b.money, "Money there is for it.");
}

template <class V>
void fields(V& v, Seen<V, NamedWork>& n) {
  v.text("work", n.work, TextRule::identifier, "Its id.");
}

template <class V>
void fields(V& v, Seen<V, NamedKey>& n) {
  v.text("key", n.key, TextRule::identifier, "Its id.");
}

template <class V>
void fields(V& v, Seen<V, OwnWork>& w) {
  v.text("id", w.id, TextRule::identifier,
         "The work's short name, unique among these: small letters, digits, hyphens.");
  v.text("name", w.name, TextRule::line, "The work as shown.");
  v.choice("stage", w.stage, "Where it stands in the trade's order of work.");
  v.entry("minutes", w.minutes, kMinutes,
          "What it takes, ± as one time differs from another; left out: the shop's preset for its stage.");
  v.amount("money", w.money, "What it costs besides its minutes: pads, rods, parts.");
  v.entry("leak", w.leak, kFlowGain, "Leak it cures at the shop's test pressure.");
  v.entry("feel", w.feel, kGain, "Feel it gains: 1 brings one key from hopeless to right.");
  v.list("before", w.before, "Keys whose own works wait for it.");
  v.list("needs", w.needs, "Works of this list that it waits for.");
  v.text("together", w.together, TextRule::line, "Name of a group that is done whole or not at all.");
  v.text("instead", w.instead, TextRule::line, "Name of a group of which at most one is done.");
  v.text("note", w.note, TextRule::free, "Anything worth saying.");
}

template <class V>
void fields(V& v, Seen<V, Instrument>& i) {
  v.header("hingeline-instrument");
  v.text("title", i.title, TextRule::name, "What to call this instrument.");
  v.text("kind", i.kind, TextRule::line, "What it is, in free words.");
  v.text("serial", i.serial, TextRule::line, "Its serial number.");
  v.text("note", i.note, TextRule::free, "Anything worth saying.");
  v.units("units", i.units,
          "The unit to show lengths in, and that of a length typed without one; left out: mm.");
  v.text("shop", i.shop, TextRule::line, "Path of the shop document, relative to this one.");
  v.object("body", i.body, "The body.");
  v.object("key_material", i.key_material, "What the keys are made of.");
  v.maybe("leak_reading", i.leak_reading, "A leak measured with all keys closed.");
  v.maybe("oil", i.oil, "The oil in its joints.");
  v.object("playing", i.playing, "How much it is played.");
  v.list("keys", i.keys, "The keys.", true);
  v.list("stacks", i.stacks, "Tubes that share a rod.");
  v.list("links", i.links, "Keys that push other keys.");
  v.list("closes_together", i.closes_together, "Pairs of pads that should close together.");
  v.object("budget", i.budget, "What the owner gives for it.");
  v.list("works", i.works, "Works that do not follow from a key's readings: a bent body, pads.");
}

template <class V>
void fields(V& v, Seen<V, Cutter>& c) {
  v.text("name", c.name, TextRule::name, "The cutter's name.");
  v.entry("diameter", c.diameter, required(kSize), "The diameter it cuts.");
  v.choices("drivers", c.drivers, "The drivers that can turn it.");
  v.choice("wear", c.wear, "Whether it can still be counted on; left out: it can.");
}

template <class V>
void fields(V& v, Seen<V, Reamer>& r) {
  v.text("name", r.name, TextRule::name, "The reamer's name.");
  v.entry("half_angle", r.half_angle, required(kFlank), "Half angle of its flank; also as a taper, 1:10.");
  v.entry("small_diameter", r.small_diameter, required(kGap), "Diameter at its small end.");
  v.entry("large_diameter", r.large_diameter, required(kSize), "Diameter at its large end.");
  v.choice("wear", r.wear, "Whether it can still be counted on; left out: it can.");
}

template <class V>
void fields(V& v, Seen<V, Driver>& d) {
  v.choice("kind", d.kind, "Straight, flexible, or short and turned by a pinch of the fingers.");
  v.entry("room_behind", d.room_behind, required(kGap), "Room it needs behind the post along the axis.");
  v.entry("room_around", d.room_around, required(kGap), "Free radius it needs round the axis.");
}

template <class V>
void fields(V& v, Seen<V, Rod>& r) {
  v.text("name", r.name, TextRule::name, "The rod's name.");
  v.entry("diameter", r.diameter, required(kSize), "Its diameter.");
  v.choice("wear", r.wear, "Whether it can still be counted on; left out: it can.");
}

template <class V>
void fields(V& v, Seen<V, OfferedCutter>& c) {
  v.entry("diameter", c.diameter, required(kSize), "The diameter it cuts.");
  v.amount("price", c.price, "What it costs.");
}

template <class V>
void fields(V& v, Seen<V, OfferedReamer>& r) {
  v.entry("half_angle", r.half_angle, required(kFlank), "Half angle of its flank; also as a taper, 1:10.");
  v.entry("small_diameter", r.small_diameter, required(kGap), "Diameter at its small end.");
  v.entry("large_diameter", r.large_diameter, required(kSize), "Diameter at its large end.");
  v.amount("price", r.price, "What it costs.");
}

template <class V>
void fields(V& v, Seen<V, OfferedRod>& r) {
  v.entry("diameter", r.diameter, required(kSize), "Its diameter.");
  v.amount("price", r.price, "What it costs.");
}

template <class V>
void fields(V& v, Seen<V, Offered>& o) {
  v.list("cutters", o.cutters, "Seat cutters.");
  v.list("reamers", o.reamers, "Conical reamers.");
  v.list("rods", o.rods, "Hinge rods.");
}

template <class V>
void fields(V& v, Seen<V, LeastPrice>& l) {
  v.text("of", l.of, TextRule::identifier, "Which work: seat-cut, ream, drive-home, ...");
  v.amount("money", l.money, "What it costs at least, however quick it was.");
}

template <class V>
void fields(V& v, Seen<V, Prices>& p) {
  v.text("currency", p.currency, TextRule::line, "The shop's word for its money.");
  v.amount("per_hour", p.per_hour, "What an hour of work costs.");
  v.list("least", p.least, "What a work costs at least.");
  v.amount("minimum", p.minimum, "What all the work of one visit costs at least.");
  v.amount("round_to", p.round_to, "What a quote's total is rounded to: 0.05, 1, ...");
  v.text("tax", p.tax, TextRule::line, "The tax's name as papers say it.");
  v.entry("rate", p.rate, kPercent, "The tax, in percent with at most two decimals.");
  v.choice("prices_are", p.prices_are, "Whether the tax is added to these prices or is in them.");
  v.entry("deposit", p.deposit, kPercent, "What is paid ahead, in percent of a quote's total.");
  v.entry("valid_days", p.valid_days, kDays, "Days that a quote holds.");
}

template <class V>
void fields(V& v, Seen<V, Weights>& w) {
  v.entry("leak", w.leak, kGain, "Points for each mL/s of leak cured at the test pressure.");
  v.entry("feel", w.feel, kGain, "Points for one key brought from hopeless to right.");
  v.entry("least_step", w.least_step, kGain, "An improvement counts as one from so many points on.");
}

template <class V>
void fields(V& v, Seen<V, LookPreset>& l) {
  v.choice("look", l.look, "What a glance said.");
  v.entry("minutes", l.minutes, required(kMinutes), "What such a key takes, ± as one differs from another.");
  v.entry("leak", l.leak, kFlowGain, "Leak that is cured on one.");
  v.entry("feel", l.feel, kGain, "Feel that is gained on one, 0 to 1.");
}

template <class V>
void fields(V& v, Seen<V, Pattern>& p) {
  v.text("name", p.name, TextRule::name, "The pattern's name, used by screws in instrument documents.");
  v.object("screw", p.screw, "What its screws have in common.");
  v.object("hole", p.hole, "The hole made for them.");
  v.text("note", p.note, TextRule::free, "Anything worth saying.");
}

template <class V>
void fields(V& v, Seen<V, Measuring>& m) {
  v.text("name", m.name, TextRule::name, "The measuring instrument's name, used by readings taken with it.");
  v.entry("plus_minus", m.plus_minus, required(kGap),
          "What it may be off by itself, by calibration or leaf thickness: expanded uncertainty, k = 2.");
  v.entry("resolution", m.resolution, kGap, "One step of its scale or display.");
  v.entry(
      "leaf_step", m.leaf_step, kGap,
      "Leaves only: from one leaf to the next. A reading is the thickest leaf that goes in, so the gap lies "
      "between it and the next.");
  v.entry("scatter", m.scatter, kGap,
          "What the hand that holds it adds to a single reading, k = 2; repeated readings show their own.");
  v.entry("share", m.share, Rule{.sign = Sign::not_negative, .most = 1},
          "For guesses: the share of the reading it may be off by, k = 2; 0 to 1.");
}

template <class V>
void fields(V& v, Seen<V, MaterialPreset>& m) {
  v.text("name", m.name, TextRule::name, "The material's name.");
  v.entry("expansion", m.expansion, required(kExpansion), "Its thermal expansion, in millionths per kelvin.");
  v.entry("moisture", m.moisture, kMoistureGrowth,
          "Wood: its growth along the grain, in millionths per percent of moisture content.");
  v.entry("modulus", m.modulus, kModulus, "Its Young's modulus.");
}

template <class V>
void fields(V& v, Seen<V, ServiceRange>& s) {
  v.text("name", s.name, TextRule::name, "The range's name, used by instruments and on the command line.");
  v.entry("from", s.from, required(kSigned), "Coldest temperature.");
  v.entry("to", s.to, required(kSigned), "Warmest temperature.");
  v.entry(
      "drier", s.drier, kPercent,
      "By how many percent the moisture content of a wooden body may fall below what it is at the bench.");
  v.entry("wetter", s.wetter, kPercent, "And by how many it may rise above it.");
  v.text("note", s.note, TextRule::free, "Anything worth saying.");
}

template <class V>
void fields(V& v, Seen<V, BodyPresets>& b) {
  v.entry("post_height", b.post_height, kSize, "Height of a hinge line over where its posts lean.");
  v.entry(
      "own_play", b.own_play, kSize,
      "How far a key's end play may be off the middle of its window by itself, k = 2: what a bend is told "
      "from.");
  v.entry("common_play", b.common_play, kSize, "How far all keys' together may, k = 2.");
}

template <class V>
void fields(V& v, Seen<V, MinutesPreset>& m) {
  v.entry("set_up", m.set_up, kMinutes, "Minutes to set up, once.");
  v.entry("per_turn", m.per_turn, kMinutes, "Minutes per turn of cutter, reamer or screw.");
}

template <class V>
void fields(V& v, Seen<V, UnknownRanges>& u) {
  v.entry("span", u.span, kSizeRange, "Between the posts' inner faces.");
  v.entry("key_length", u.key_length, kSizeRange, "Between the key's end faces.");
  v.entry("face_gaps", u.face_gaps, kSizeRange, "Between post faces and key ends, both together.");
  v.entry("half_angle", u.half_angle, kFlankRange, "Of a point's flank.");
  v.entry("tip_diameter", u.tip_diameter, kSizeRange, "Of a flat tip.");
  v.entry("tip_radius", u.tip_radius, kSizeRange, "Of a rounded tip.");
  v.entry("wear_length", u.wear_length, kSizeRange, "Of a worn tip.");
  v.entry("wear_depth", u.wear_depth, kSizeRange, "Of a worn tip.");
  v.entry("ball_diameter", u.ball_diameter, kSizeRange, "Of a ball point.");
  v.entry("neck_diameter", u.neck_diameter, kSizeRange, "Behind a ball point.");
  v.entry("pin_diameter", u.pin_diameter, kSizeRange, "Of a parallel point.");
  v.entry("pin_length", u.pin_length, kSizeRange, "Of a parallel point.");
  v.entry("shoulder_diameter", u.shoulder_diameter, kSizeRange, "Of a parallel point.");
  v.entry("point_length", u.point_length, kSizeRange, "Of any point.");
  v.entry("shank_diameter", u.shank_diameter, kSizeRange, "Behind a cone's flank.");
  v.entry("mouth_diameter", u.mouth_diameter, kSizeRange, "Of a key's hole.");
  v.entry("hole_half_angle", u.hole_half_angle, kFlankRange, "Of a conical hole.");
  v.entry("depth", u.depth, kSizeRange, "Of a key's hole.");
  v.entry("floor_half_angle", u.floor_half_angle, kFlankRange, "Of a drilled floor.");
  v.entry("bell_half_angle", u.bell_half_angle, kFlankRange, "Of a worn mouth.");
  v.entry("bell_depth", u.bell_depth, kSizeRange, "Of a worn mouth.");
  v.entry("rod_diameter", u.rod_diameter, kSizeRange, "Of a hinge rod.");
  v.entry("bore", u.bore, kSizeRange, "Of a tube round a hinge rod.");
  v.entry("tone_hole", u.tone_hole, kSizeRange, "Diameter of a tone hole.");
  v.entry("station", u.station, kSizeRange, "Of a pad along its hinge line.");
  v.entry("arm", u.arm, kSizeRange, "From hinge axis to pad centre.");
}

template <class V>
void fields(V& v, Seen<V, SealPresets>& s) {
  v.entry("land", s.land, kSize, "Width of a tone hole's rim that the pad lies on.");
  v.entry("take_up", s.take_up, kGap, "How much of a gap a pad gives.");
  v.entry("rim_stiffness", s.rim_stiffness, kRimStiffness,
          "Force that presses one millimetre of rim a millimetre deeper into a pad.");
  v.entry("finger_force", s.finger_force, kForce, "Force of a finger.");
  v.entry("test_pressure", s.test_pressure, kPressure,
          "Pressure inside over outside that leaks are told for.");
  v.entry("discharge", s.discharge, Rule{.sign = Sign::positive, .most = 1},
          "Discharge coefficient of a sharp edge, above 0, at most 1.");
  v.entry("hole_allowed", s.hole_allowed, kGap, "A pad that leaks as a larger hole does leaks too much.");
  v.entry("reading_share", s.reading_share, Rule{.sign = Sign::positive, .most = 1},
          "Share of a leak reading that it may be off by where it has no ± of its own, k = 2.");
  v.entry(
      "sum_share", s.sum_share, Rule{.sign = Sign::not_negative, .most = 10},
      "Share of the sum of all pads' leaks that it may be off by even where the take-up is known, k = 2.");
}

template <class V>
void fields(V& v, Seen<V, WearPair>& w) {
  v.text("name", w.name, TextRule::name, "The pair's name, used by instrument documents.");
  v.entry("coefficient", w.coefficient, required(Rule{.sign = Sign::positive, .unit = "1e-6"}),
          "Archard's coefficient k in V = k F s/H, in millionths; a range holds nine times in ten.");
  v.entry("hardness", w.hardness, required(Rule{.sign = Sign::positive, .unit = "MPa"}),
          "Hardness H of the softer one.");
}

template <class V>
void fields(V& v, Seen<V, WearPresets>& w) {
  v.list("pairs", w.pairs, "Metals that turn on each other.");
  v.entry("hours", w.hours, kHours, "Hours an instrument is played in a week.");
  v.entry("closings", w.closings, kClosingsAnHour, "How often one key closes in an hour of playing.");
  v.entry("load", w.load, Rule{.sign = Sign::positive, .unit = "N"},
          "What presses one end of a key on its pivot or post, from finger and spring.");
  v.entry("swing", w.swing, kSize, "How far a key turns from open to closed.");
  v.entry("share", w.share, Rule{.sign = Sign::positive, .most = 1},
          "Share of a flank or end face that carries, 0 to 1.");
  v.entry("edge", w.edge, kSize, "Length along the axis that a rim or edge has run in to where it carries.");
  v.entry("unsteady", w.unsteady, Rule{.sign = Sign::not_negative, .most = 1},
          "How much growth differs from one time to the next: standard deviation of its logarithm, 0 to 1.");
}

template <class V>
void fields(V& v, Seen<V, RodPresets>& r) {
  constexpr Rule kShare{.sign = Sign::not_negative, .most = 1};
  constexpr Rule kPartOfOne{.sign = Sign::positive, .most = 1};
  constexpr Rule kMinutesEachMm{.sign = Sign::not_negative, .unit = "min/mm"};
  v.entry("modulus", r.modulus, Rule{.sign = Sign::positive, .unit = "GPa", .most = 1000},
          "Modulus of elasticity of rods.");
  v.entry("friction", r.friction, kShare, "Coefficient of friction of a tube on its rod.");
  v.text("fit", r.fit, TextRule::line, "Class of running fit wanted of a rod in its tube: H7/g6.");
  v.entry("wall_min", r.wall_min, kGap, "Wall of a tube that must stay when it is reamed.");
  v.entry("swedge_reach", r.swedge_reach, kSize, "Length of tube that swedging squeezes.");
  v.entry("swedge_most", r.swedge_most, kGap, "Most that one part of a tube is made to grow.");
  v.entry(
      "swedge_share", r.swedge_share, kPartOfOne,
      "Share of what a squeeze displaces that goes into length, the rest into the wall; above 0, up to 1.");
  v.entry("face_most", r.face_most, kGap, "Most that is faced off one end of a tube.");
  v.entry("least", r.least, kSize, "Less than this is not swedged, faced or moved.");
  v.entry("swedge_set_up", r.swedge_set_up, kMinutes, "Minutes to set up swedging one part of a tube.");
  v.entry("swedge_per_mm", r.swedge_per_mm, kMinutesEachMm, "Minutes of swedging for each mm of growth.");
  v.entry("swedge_metal", r.swedge_metal, kMinutesEachMm,
          "Minutes that a mm of growth is reckoned as when plans are compared, since it does not go back.");
  v.entry("face_per_mm", r.face_per_mm, kMinutesEachMm, "Minutes of facing for each mm.");
  v.entry("face_metal", r.face_metal, kMinutesEachMm,
          "Minutes that a mm of metal off a tube's end is reckoned as when plans are compared.");
  v.entry("post_per_mm", r.post_per_mm, kMinutesEachMm, "Minutes of moving a post for each mm.");
  v.entry("ream_tube", r.ream_tube, kMinutes, "Minutes to ream a tube for its rod.");
  v.entry("rod_change", r.rod_change, kMinutes, "Minutes to make and fit another rod.");
  v.entry("apart", r.apart, kMinutes, "Minutes to draw the rod, take the tubes off and put all back.");
  v.entry("swedge_scatter", r.swedge_scatter, kShare, "Share of an amount that swedging is off by, k = 2.");
  v.entry("face_scatter", r.face_scatter, kShare, "The same for facing.");
  v.entry("post_scatter", r.post_scatter, kShare, "The same for moving a post.");
  v.entry("chance_wanted", r.chance_wanted, kPartOfOne,
          "Chance to end in the window under which the work is measured in between; above 0, below 1.");
  v.entry("overshoot_risk", r.overshoot_risk, kPartOfOne,
          "Chance that one bite goes past the window; above 0, below a half.");
}

template <class V>
void fields(V& v, Seen<V, Presets>& p) {
  v.entry("window_low", p.window_low, kGap, "Least end play wanted, before what eats clearance is added.");
  v.entry("window_high", p.window_high, kGap, "Most end play wanted.");
  v.entry("aim_guard", p.aim_guard, kGap, "How far inside the window to aim.");
  v.entry("pad_gap_allowed", p.pad_gap_allowed, kGap, "Most gap at a pad's rim.");
  v.entry("rock_allowed", p.rock_allowed, kGap, "Most rock.");
  v.entry("centring_allowed", p.centring_allowed, kGap,
          "How far a pad may stand off its tone hole along the line.");
  v.entry("web_min", p.web_min, kGap, "Metal that must stay under a head.");
  v.entry("engagement_min_turns", p.engagement_min_turns,
          Rule{.sign = Sign::not_negative, .unit = "turns", .most = 1000},
          "Turns of thread that must stay engaged.");
  v.entry("wall_seat_min", p.wall_seat_min, kGap, "Wall that must stay round a seat.");
  v.entry("wall_mouth_min", p.wall_mouth_min, kGap, "Wall that must stay round a key's hole.");
  v.entry("tip_floor_min", p.tip_floor_min, kGap, "Room that must stay between tip and floor.");
  v.entry("face_gap_min", p.face_gap_min, kGap, "Gap that must stay between post and key end.");
  v.entry("cutter_over_max", p.cutter_over_max, kGap, "How much wider than the head a cutter may be.");
  v.entry("cutter_under_max", p.cutter_under_max, kGap, "How much narrower than the head a cutter may be.");
  v.entry("least_cut", p.least_cut, kGap, "Less than this is left alone.");
  v.entry("roundness", p.roundness, kGap, "What points and holes may be out of round.");
  v.entry("oil_film", p.oil_film, kGap, "What a film of oil takes up.");
  v.entry("misalignment", p.misalignment, kGap, "Angle between a point and its hole.");
  v.entry("flank_share_min", p.flank_share_min, Rule{.sign = Sign::not_negative, .most = 1},
          "Share of the point inside that must carry, 0 to 1.");
  v.entry("taper_match", p.taper_match, kGap, "Tapers closer than this count as the same.");
  v.entry("take_off_per_turn", p.take_off_per_turn, kGap, "What a seat cutter takes off in one turn.");
  v.entry(
      "plus_minus_unstated", p.plus_minus_unstated, kGap,
      "What a length is off by when neither its uncertainty nor its measuring instrument is named, k = 2.");
  v.entry("angle_plus_minus_unstated", p.angle_plus_minus_unstated, kGap, "The same for an angle.");
  v.object("movement", p.movement, "How keys move: springs, friction, oil.");
  v.list("materials", p.materials, "How materials move with warmth and moisture.");
  v.list("services", p.services, "Where instruments are played, by name.");
  v.object("body", p.body, "What is supposed of bodies and posts.");
  v.object("unknown", p.unknown,
           "For a quantity that is not known and names no range: the range it must lie in.");
  v.object("seal", p.seal, "What leaks are reckoned with.");
  v.object("drive_home", p.drive_home, "Minutes to turn a screw home.");
  v.object("turn_screw", p.turn_screw, "Minutes to set a headless screw.");
  v.object("restore_post", p.restore_post, "Minutes to bring a post back.");
  v.object("seat_cut", p.seat_cut, "Minutes to deepen a seat.");
  v.object("ream", p.ream, "Minutes to ream a key's hole.");
  v.object("face", p.face, "Minutes to face a key's end.");
  v.object("wear", p.wear, "What wear is reckoned with.");
  v.object("rods", p.rods, "General figures for rods and stacks.");
  v.object("regulation", p.regulation, "How linked keys are regulated.");
  v.object("straighten", p.straighten, "Minutes to straighten a body.");
  v.object("tool_change", p.tool_change,
           "Minutes to get a cutter or reamer out, look it over and put it away: spent once for all keys.");
  v.entry("minutes_spread", p.minutes_spread, kGain,
          "Share of a work's minutes that one doing of it may lie off them, k = 2.");
  v.list("looks", p.looks, "What keys only looked over usually take and give.");
}

template <class V>
void fields(V& v, Seen<V, Forgotten>& f) {
  v.choice("what", f.what, "What is no longer to be learned from those jobs.");
  v.text("before", f.before, TextRule::date, "Jobs dated before this day do not count for it.");
}

template <class V>
void fields(V& v, Seen<V, Shop>& s) {
  v.header("hingeline-shop");
  v.text("title", s.title, TextRule::name, "What to call this shop's document.");
  v.text("note", s.note, TextRule::free, "Anything worth saying.");
  v.units("units", s.units, "The unit of a length typed without one; left out: mm.");
  v.choice("paper", s.paper, "What papers are printed on.");
  v.text("time_zone", s.time_zone, TextRule::time_zone,
         "Where the shop's clock stands, as the IANA time zone database names it: Europe/Vienna.");
  v.list("cutters", s.cutters, "Seat cutters.");
  v.list("reamers", s.reamers, "Conical reamers.");
  v.list("drivers", s.drivers, "What can turn a cutter.");
  v.list("rods", s.rods, "Hinge rods in stock.");
  v.list("oils", s.oils, "Oils at hand.");
  v.list("wires", s.wires, "Needle springs in stock.");
  v.list("sheets", s.sheets, "Cork and felt in stock.");
  v.list("patterns", s.patterns, "Screw families.");
  v.list("measuring", s.measuring, "Measuring instruments.");
  v.object("offered", s.offered, "Sizes of tools and rods that can be bought.");
  v.object("prices", s.prices, "What the shop's work costs.");
  v.object("weights", s.weights, "What a gain is worth when a budget is spent.");
  v.object("presets", s.presets, "The shop's general figures.");
  v.list("forgotten", s.forgotten, "What is no longer to be learned from finished visits: the visits stay.");
}

}  // namespace hingeline::record

#include "movement_fields.h"
#include "regulation_fields.h"
