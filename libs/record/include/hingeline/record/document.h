#pragma once
/// \file
/// The instrument and shop documents: what a bench wrote down, nothing worked out.
///
/// Every quantity is an `Entry`: its value in the inner unit of its kind (quantity.h) with unit as
/// typed, uncertainty, origin and place. A member that does not stand in the document is an absent
/// entry; `"?"` is an entry that is there and says "not known". Documents compare equal when they
/// say the same, wherever in their files it stands.
///
/// Published form: docs/formats/instrument.schema.json and shop.schema.json. The shop's finished jobs
/// are in ledger.h, an endurance rig in rig.h.

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/measured.h"
#include "hingeline/base/quantity.h"
#include "hingeline/base/reading.h"
#include "hingeline/record/entry.h"
#include "hingeline/record/playing.h"

namespace hingeline::record {

/// The newest document version this program reads and the one it writes.
inline constexpr int kVersion = 1;
/// Larger documents are refused unread.
inline constexpr std::size_t kMostBytes = 8u << 20;
/// Deeper nesting of objects and arrays is refused.
inline constexpr int kMostDepth = 32;
/// Problems reported of one document; the last one then says that there are more.
inline constexpr std::size_t kMostErrors = 50;
/// Keys in an instrument, entries of one list, pairs of a profile.
inline constexpr std::size_t kMostInList = 4096;

// ---- a hinge's parts -------------------------------------------------------------------------------

enum class HingeKind { pivot, rod };
enum class HeadKind { headed, headless };
enum class PointShape { cone, ball, parallel, profile };
enum class TipShape { flat, round, worn };
enum class HoleShape { cone, straight, drilled, bell, profile };
enum class DriverKind { straight, flexible, pinch };
/// Whether a piece of work may be done at all.
enum class Leave { yes, no };
/// The side of the body's neutral axis on which off_axis is above 0, or below it.
enum class BodySide { plus, minus };
const char* word(HingeKind v);
const char* word(HeadKind v);
const char* word(PointShape v);
const char* word(TipShape v);
const char* word(HoleShape v);
const char* word(DriverKind v);
const char* word(Leave v);
const char* word(BodySide v);

/// One pair of a profile.
struct Pair {
  Length along;  ///< from the tip backwards; from the key's end face inwards
  Length radius;
  friend bool operator==(const Pair&, const Pair&) = default;
};
/// A profile given as pairs, in the unit they were typed in ("mm" or "in").
struct Pairs {
  std::vector<Pair> pairs;
  std::string unit;
  Where place;
  [[nodiscard]] bool absent() const { return pairs.empty(); }
  friend bool operator==(const Pairs&, const Pairs&) = default;
};

/// A screw's thread: typed as "M2.5x0.45" or "2-56" (then `text` keeps it and pitch and major
/// diameter follow from it), or as the two lengths.
struct Thread {
  std::string text;
  LengthEntry pitch;
  LengthEntry major;
  Where place;
  [[nodiscard]] bool absent() const { return text.empty() && pitch.absent() && major.absent(); }
  friend bool operator==(const Thread&, const Thread&) = default;
};

/// A screw's point. All absent in a document that leaves them to the pattern.
struct Point {
  std::optional<PointShape> shape;
  std::optional<TipShape> tip;
  AngleEntry half_angle;          ///< cone: of the flank
  LengthEntry tip_diameter;       ///< cone: of the tip as made (flat, worn)
  LengthEntry tip_radius;         ///< round: radius of the rounding
  LengthEntry wear_length;        ///< worn: how far back from the tip
  LengthEntry wear_depth;         ///< worn: radius lost at the tip
  LengthEntry ball_diameter;      ///< ball
  LengthEntry neck_diameter;      ///< ball: of the neck behind it
  LengthEntry pin_diameter;       ///< parallel
  LengthEntry pin_length;         ///< parallel: tip to shoulder; absent: no shoulder
  LengthEntry shoulder_diameter;  ///< parallel
  LengthEntry length;             ///< tip to the end of what is described
  LengthEntry shank_diameter;     ///< cone: where the flank ends
  Pairs pairs;                    ///< profile
  Where place;
  friend bool operator==(const Point&, const Point&) = default;
};

/// A key end's hole.
struct Hole {
  std::optional<HoleShape> shape;
  LengthEntry mouth_diameter;   ///< at the end face
  AngleEntry half_angle;        ///< cone; bell: of the inner flank
  LengthEntry depth;            ///< to the floor's outer edge
  AngleEntry floor_half_angle;  ///< drilled
  AngleEntry bell_half_angle;   ///< bell: of the worn mouth
  LengthEntry bell_depth;       ///< bell: how deep the worn mouth reaches
  Pairs pairs;                  ///< profile
  Where place;
  friend bool operator==(const Hole&, const Hole&) = default;
};

struct Screw {
  Text pattern;  ///< name of a pattern in the shop document; empty: none
  std::optional<HeadKind> head;
  LengthEntry head_diameter;
  LengthEntry head_height;
  LengthEntry slot_reach;  ///< how deep the head may sink below the post's outside and still be turned
  Thread thread;
  Point point;
  LengthEntry protrusion;  ///< of the point past the post's inner face, as it is now
  LengthEntry stands_off;  ///< headed: gap under the head; 0 = home
  LengthEntry sink;        ///< head's top below the post's outside, as it is now; below 0: proud
  Where place;
  friend bool operator==(const Screw&, const Screw&) = default;
};

struct Post {
  LengthEntry diameter;
  LengthEntry thickness;    ///< along the hinge line
  LengthEntry web;          ///< metal left under the head: seat to inner face
  LengthEntry engagement;   ///< threaded length engaged
  LengthEntry displaced;    ///< out of its place along the hinge line, + outward (posts too far apart)
  LengthEntry room_behind;  ///< free room behind the post along the axis
  LengthEntry room_around;  ///< free radius round the axis behind the post
  AngleEntry lean;          ///< along the hinge line, + outward, away from the key
  AngleEntry turn;          ///< about its own axis; + swings its point to the side that across counts from
  LengthEntry across;       ///< its foot out of line, square to the hinge line
  Where place;
  friend bool operator==(const Post&, const Post&) = default;
};

struct End {
  Screw screw;
  Hole hole;
  LengthEntry key_end_diameter;  ///< outside of the key's tube at that end
  Post post;
  Where place;
  friend bool operator==(const End&, const End&) = default;
};

struct Hinge {
  HingeKind kind = HingeKind::pivot;
  LengthEntry span;          ///< between the posts' inner faces; always there, may be unknown
  LengthEntry key_length;    ///< between the key's end faces; always there, may be unknown
  End upper;                 ///< nearer the mouthpiece
  End lower;                 ///< nearer the bell
  LengthEntry rod_diameter;  ///< rod
  LengthEntry bore;          ///< rod: of the key's tube
  /// How far the hinge line stands off the body's neutral axis in the plane the body is bent in; above 0 on
  /// one side, below 0 on the other, the same sides for all keys and for the bow readings.
  LengthEntry off_axis;
  LengthEntry along;        ///< where the upper post stands along the body, counted as the bow's stations are
  LengthEntry post_height;  ///< of the hinge line, from where its posts lean
  Where place;
  friend bool operator==(const Hinge&, const Hinge&) = default;
};

struct Pad {
  LengthEntry tone_hole;  ///< diameter
  LengthEntry station;    ///< from the key's upper end face along the hinge line
  LengthEntry arm;        ///< hinge axis to pad centre
  AngleEntry clock;       ///< direction of the arm round the axis
  LengthEntry
      offset;  ///< how far the pad stands off its tone hole's centre along the line, + towards the lower post
  LengthEntry land;           ///< width of the tone hole's rim that the pad lies on
  LengthEntry take_up;        ///< how much of a gap the pad gives
  NumberEntry rim_stiffness;  ///< N/mm2: force that presses a mm of rim a mm deeper into the pad
  NumberEntry closing_force;  ///< N at the pad, by the spring: above 0 presses it shut, below 0 opens the key
  Where place;
  friend bool operator==(const Pad&, const Pad&) = default;
};

/// A place where players press a touch.
struct FingerPlace {
  std::string name;
  LengthEntry station;  ///< from the key's upper end face
  Where place;
  friend bool operator==(const FingerPlace&, const FingerPlace&) = default;
};

/// Where the finger acts.
struct Touch {
  LengthEntry arm;    ///< hinge axis to where the finger presses
  AngleEntry clock;   ///< direction of that arm round the axis; left out: the pad's
  NumberEntry force;  ///< N, of the finger
  std::vector<FingerPlace> fingers;
  Where place;
  friend bool operator==(const Touch&, const Touch&) = default;
};

struct RockReading {
  LengthEntry station;  ///< from the key's upper end face
  LengthEntry value;    ///< travel across from one extreme to the other
  friend bool operator==(const RockReading&, const RockReading&) = default;
};

struct Readings {
  LengthEntry end_play;   ///< below 0: bind
  LengthEntry gap_upper;  ///< at the upper post, key pushed home up
  LengthEntry gap_lower;
  std::vector<RockReading> rock;
  friend bool operator==(const Readings&, const Readings&) = default;
};

/// What this key is allowed, where it differs from the shop's presets.
struct Allowed {
  LengthEntry window_low;
  LengthEntry window_high;
  LengthEntry pad_gap;
  LengthEntry rock;
  friend bool operator==(const Allowed&, const Allowed&) = default;
};

// ---- what makes a key move ---------------------------------------------------------------------------

enum class SpringKind { needle, flat };
enum class SpringShape { rectangular, tapered, triangular };
enum class Stands { open, closed };
const char* word(SpringKind v);
const char* word(SpringShape v);
const char* word(Stands v);

struct Spring {
  SpringKind kind = SpringKind::needle;
  LengthEntry diameter;              ///< needle
  LengthEntry width;                 ///< flat: at its foot
  LengthEntry thickness;             ///< flat
  std::optional<SpringShape> shape;  ///< flat; absent: rectangular
  LengthEntry length;                ///< free, from the post or screw to where it pushes
  LengthEntry set;                   ///< how far it is bent with the key at rest
  LengthEntry works_at;              ///< from the hinge axis to where it pushes
  Text material;                     ///< name of a spring material in the shop document; empty: music wire
  NumberEntry wanted;                ///< N, at the touch to leave rest: what a new spring should give
  Where place;
  friend bool operator==(const Spring&, const Spring&) = default;
};

/// What moves, and how far.
struct Moving {
  Stands stands = Stands::open;  ///< at rest
  NumberEntry mass;              ///< g
  LengthEntry gyration;          ///< radius of gyration about the hinge axis
  LengthEntry travel;            ///< between rest and pressed, at the pad's centre (for a key that stands
                                 ///< open, its opening); without a pad, at the touch
  Where place;
  friend bool operator==(const Moving&, const Moving&) = default;
};

// ---- linked keys -----------------------------------------------------------------------------------

/// How far a pad should stand open at rest, at its centre.
struct OpeningWanted {
  LengthEntry low;
  LengthEntry high;
  Where place;
  friend bool operator==(const OpeningWanted&, const OpeningWanted&) = default;
};
/// What stops a key at rest: the cork or felt under its foot.
struct RestStop {
  LengthEntry arm;   ///< from the hinge axis
  LengthEntry cork;  ///< its thickness
  Text material;     ///< name of a soft material in the shop document
  Where place;
  friend bool operator==(const RestStop&, const RestStop&) = default;
};
/// One key's arm that pushes another's foot.
struct KeyLink {
  Text from;               ///< id of the key that pushes
  Text to;                 ///< id of the key that is pushed
  LengthEntry driver_arm;  ///< from the pushing key's hinge axis to the contact
  LengthEntry foot_arm;    ///< from the pushed key's hinge axis to the contact
  LengthEntry gap;         ///< at rest; below 0: the pushed key is held off its stop
  LengthEntry cork;        ///< thickness of what lies between
  Text material;           ///< name of a soft material in the shop document
  NumberEntry contact;     ///< mm2 that carry
  AngleEntry tilt;  ///< of the contact's face against the hinge line; above 0: the gap grows as the pushing
                    ///< key moves towards the lower post
  std::string note;
  Where place;
  friend bool operator==(const KeyLink&, const KeyLink&) = default;
};
/// Two pads that should close together.
struct ClosesTogether {
  Text key;
  Text partner;
  Text under;       ///< id of the key that is pressed
  Text open;        ///< which of the two stands open when the other has seated; empty: the partner
  LengthEntry gap;  ///< how far it then stands open
  Where place;
  friend bool operator==(const ClosesTogether&, const ClosesTogether&) = default;
};

/// What a glance and a wiggle say of a key that was not measured.
enum class Look { fine, loose, binds, leaks, sluggish, noisy };
const char* word(Look v);

struct Key {
  std::string id;  ///< unique; small letters, digits, hyphens
  std::string name;
  Hinge hinge;
  std::optional<Pad> pad;
  std::optional<Spring> spring;
  std::optional<Moving> moving;
  std::optional<Touch> touch;
  LengthEntry opening;  ///< of the pad at rest, at its centre; for a key that stands open also its travel
  std::optional<OpeningWanted> opening_wanted;
  std::optional<RestStop> stop;
  Readings readings;
  Allowed allowed;
  std::optional<Look> look;
  std::vector<PastPlay> past;  ///< end plays of earlier days, in order
  std::string note;
  Where place;
  friend bool operator==(const Key&, const Key&) = default;
};

/// The gap under a straightedge at one station.
struct BowReading {
  LengthEntry station;  ///< from the straightedge's end nearer the mouthpiece
  LengthEntry value;    ///< above 0: the body stands back from the straightedge
  Where place;
  friend bool operator==(const BowReading&, const BowReading&) = default;
};
/// How bent the body was read.
struct Bow {
  LengthEntry chord;             ///< between the straightedge's ends
  std::optional<BodySide> side;  ///< where the straightedge lay; absent: plus
  std::vector<BowReading> readings;
  Where place;
  friend bool operator==(const Bow&, const Bow&) = default;
};

struct Body {
  std::string material;
  NumberEntry expansion;  ///< 1e-6/K, along the body
  TemperatureEntry bench_temperature;
  TemperatureEntry service_from;  ///< coldest it is played at
  TemperatureEntry service_to;
  LengthEntry moisture;  ///< how far the body may shorten between two posts
  Text service;          ///< name of one of the shop's service ranges; service_from and service_to come first
  LengthEntry diameter;  ///< outside
  std::optional<Bow> bow;
  Where place;
  friend bool operator==(const Body&, const Body&) = default;
};

struct KeyWork {
  std::string material;
  NumberEntry expansion;  ///< 1e-6/K
  Where place;
  friend bool operator==(const KeyWork&, const KeyWork&) = default;
};

/// A leak measured on the closed body: a flow at a pressure, or how fast its pressure falls.
struct LeakReading {
  NumberEntry flow;           ///< mL/s
  NumberEntry pressure;       ///< kPa, that the flow was read at
  NumberEntry pressure_from;  ///< kPa
  NumberEntry pressure_to;    ///< kPa
  NumberEntry time;           ///< s, from the one to the other
  NumberEntry volume;         ///< mL, of the closed body and what hangs on it
  Where place;
  friend bool operator==(const LeakReading&, const LeakReading&) = default;
};

/// The oil in the joints.
struct OilInUse {
  Text name;  ///< of an oil in the shop document
  Where place;
  friend bool operator==(const OilInUse&, const OilInUse&) = default;
};

/// A rod that several tubes turn on.
struct StackRod {
  LengthEntry diameter;
  LengthEntry bow;       ///< sagitta over `bow_over`
  LengthEntry bow_over;  ///< chord
  Where place;
  friend bool operator==(const StackRod&, const StackRod&) = default;
};
/// A tube of a stack. What it leaves out is taken from the key it names.
struct StackTube {
  Text key;   ///< id of a key on a rod; empty: none
  Text name;  ///< shown; empty: the key's
  LengthEntry length;
  LengthEntry bore;
  LengthEntry outside;
  LengthEntry bearing;  ///< how far in from each end the bore carries; absent: all along
  LengthEntry station;  ///< of the pad, from the tube's upper end face
  LengthEntry offset;   ///< of the pad, in the middle of the play, + towards the lower post
  LengthEntry allowed;  ///< most offset of the pad either way
  std::optional<Leave> swedge;
  std::optional<Leave> face;
  std::optional<Leave> ream;
  Where place;
  friend bool operator==(const StackTube&, const StackTube&) = default;
};
/// Between two neighbouring posts of a stack.
struct StackGap {
  LengthEntry span;      ///< between the posts' inner faces
  LengthEntry end_play;  ///< of all its tubes together; below 0: they bind
  LengthEntry window_low;
  LengthEntry window_high;
  std::vector<StackTube> tubes;  ///< from the upper post down
  Where place;
  friend bool operator==(const StackGap&, const StackGap&) = default;
};
/// One of a stack's posts.
struct StackPost {
  Text name;
  LengthEntry may_move;  ///< either way along the line; absent: it stands
  Where place;
  friend bool operator==(const StackPost&, const StackPost&) = default;
};
/// Tubes between posts on one rod.
struct Stack {
  std::string id;  ///< unique among stacks
  std::string name;
  StackRod rod;
  std::vector<StackPost> posts;  ///< none, or one more than gaps
  std::vector<StackGap> gaps;    ///< from the upper end down
  std::string note;
  Where place;
  friend bool operator==(const Stack&, const Stack&) = default;
};

/// The trade's order of work.
enum class WorkStage { free_check, straighten, posts, stack, fit, finish };
const char* word(WorkStage v);

/// A work or a key by its id, where several are named.
struct NamedWork {
  std::string work;
  Where place;
  friend bool operator==(const NamedWork&, const NamedWork&) = default;
};
struct NamedKey {
  std::string key;
  Where place;
  friend bool operator==(const NamedKey&, const NamedKey&) = default;
};
/// A work the shop thought of itself: a body to be straightened, a pad, a stack.
struct OwnWork {
  std::string id;    ///< unique; small letters, digits, hyphens
  std::string name;  ///< as shown
  WorkStage stage = WorkStage::finish;
  NumberEntry minutes;           ///< min; absent: the shop's preset for that stage
  Amount money;                  ///< besides its minutes: pads, rods, parts
  NumberEntry leak;              ///< mL/s at the shop's test pressure that it cures
  NumberEntry feel;              ///< keys' worth of feel that it gains
  std::vector<NamedKey> before;  ///< keys whose own works wait for it
  std::vector<NamedWork> needs;  ///< own works it waits for
  std::string together;          ///< name of a group done whole or not at all
  std::string instead;           ///< name of a group of which at most one is done
  std::string note;
  Where place;
  friend bool operator==(const OwnWork&, const OwnWork&) = default;
};
/// What the owner gives.
struct InstrumentBudget {
  NumberEntry minutes;  ///< min
  Amount money;
  Where place;
  friend bool operator==(const InstrumentBudget&, const InstrumentBudget&) = default;
};

/// An instrument on the bench ("format": "hingeline-instrument").
struct Instrument {
  std::string title;
  std::string kind;    ///< free words: "alto saxophone"
  std::string serial;  ///< may be empty
  std::string note;
  LengthUnit units = LengthUnit::mm;  ///< what to show; also the unit of a length typed without one
  Text shop;                          ///< path of the shop document, relative to this one; empty: none named
  Body body;
  KeyWork key_material;
  std::optional<LeakReading> leak_reading;
  std::optional<OilInUse> oil;
  Playing playing;
  std::vector<Key> keys;
  std::vector<Stack> stacks;
  std::vector<KeyLink> links;
  std::vector<ClosesTogether> closes_together;
  InstrumentBudget budget;
  std::vector<OwnWork> works;
  std::string file;  ///< name it was read under; not part of what it says

  friend bool operator==(const Instrument& a, const Instrument& b) {
    return a.title == b.title && a.kind == b.kind && a.serial == b.serial && a.note == b.note &&
           a.units == b.units && a.shop == b.shop && a.body == b.body && a.key_material == b.key_material &&
           a.leak_reading == b.leak_reading && a.oil == b.oil && a.playing == b.playing && a.keys == b.keys &&
           a.stacks == b.stacks && a.links == b.links && a.closes_together == b.closes_together &&
           a.budget == b.budget && a.works == b.works;
  }
};

// ---- the shop --------------------------------------------------------------------------------------

/// Whether a tool can still be counted on; absent: it can.
enum class Wear { sound, worn };
const char* word(Wear v);

struct Cutter {
  std::string name;
  LengthEntry diameter;
  std::vector<DriverKind> drivers;  ///< that can turn it
  std::optional<Wear> wear;
  Where place;
  friend bool operator==(const Cutter&, const Cutter&) = default;
};
struct Reamer {
  std::string name;
  AngleEntry half_angle;
  LengthEntry small_diameter;
  LengthEntry large_diameter;
  std::optional<Wear> wear;
  Where place;
  friend bool operator==(const Reamer&, const Reamer&) = default;
};
struct Driver {
  DriverKind kind = DriverKind::straight;
  LengthEntry room_behind;  ///< it needs
  LengthEntry room_around;
  Where place;
  friend bool operator==(const Driver&, const Driver&) = default;
};
struct Rod {
  std::string name;
  LengthEntry diameter;
  std::optional<Wear> wear;
  Where place;
  friend bool operator==(const Rod&, const Rod&) = default;
};
/// An oil: by its ISO 3448 grade or its viscosity at 40 degC, and by that at 100 degC or its viscosity index.
struct Oil {
  std::string name;
  NumberEntry grade;    ///< number of the ISO 3448 grade
  NumberEntry v40;      ///< mm2/s at 40 degC
  NumberEntry v100;     ///< mm2/s at 100 degC
  NumberEntry index;    ///< viscosity index
  NumberEntry density;  ///< g/ml at 15 degC
  Where place;
  friend bool operator==(const Oil&, const Oil&) = default;
};
/// A needle spring in stock.
struct Wire {
  std::string name;
  LengthEntry diameter;
  Where place;
  friend bool operator==(const Wire&, const Wire&) = default;
};

/// Cork or felt in stock.
struct Sheet {
  std::string name;
  Text material;  ///< name of a soft material
  LengthEntry thickness;
  Where place;
  friend bool operator==(const Sheet&, const Sheet&) = default;
};
/// Cork, felt and the like.
struct SoftMaterial {
  std::string name;
  NumberEntry modulus;  ///< MPa, in compression
  Where place;
  friend bool operator==(const SoftMaterial&, const SoftMaterial&) = default;
};
/// General figures for linked keys. An absent figure is left out of what needs it.
struct RegulationPresets {
  LengthEntry together;  ///< gap at the late pad at which two still count as closing together
  NumberEntry finger;    ///< N, at the touch
  NumberEntry spring;    ///< N that a spring holds a pad open with, at the pad's centre
  NumberEntry contact;   ///< mm2 of cork or felt that carry
  LengthEntry gap;       ///< lost motion of a link that nobody read
  LengthEntry thinnest;  ///< cork or felt that still holds
  LengthEntry thickest;  ///< that there is room for
  NumberEntry change;    ///< min to change one cork or felt
  std::vector<SoftMaterial> soft_materials;
  friend bool operator==(const RegulationPresets&, const RegulationPresets&) = default;
};
/// A screw family: what its screws and the holes made for them have in common.
struct Pattern {
  std::string name;
  Screw screw;  ///< its own `pattern` is empty
  Hole hole;    ///< the hole matched to it
  std::string note;
  Where place;
  friend bool operator==(const Pattern&, const Pattern&) = default;
};
/// A measuring instrument: what a reading taken `with` it may be off by. Absent parts add nothing.
struct Measuring {
  std::string name;        ///< "caliper", "indicator", "feeler", "depth gauge", "eye", ...
  LengthEntry plus_minus;  ///< its own error: calibration, leaf thickness; k = 2
  LengthEntry resolution;  ///< one step of its scale or display
  LengthEntry leaf_step;   ///< from one leaf to the next: a reading is the thickest leaf that goes in
  LengthEntry scatter;     ///< by the hand that holds it, of a single reading; k = 2
  NumberEntry share;       ///< of the reading, k = 2: for guesses; 0 to 1
  Where place;
  friend bool operator==(const Measuring&, const Measuring&) = default;
};
struct MaterialPreset {
  std::string name;
  NumberEntry expansion;  ///< 1e-6/K
  NumberEntry moisture;   ///< 1e-6/% along the grain: growth per percent of moisture content
  NumberEntry modulus;    ///< GPa, Young's
  Where place;
  friend bool operator==(const MaterialPreset&, const MaterialPreset&) = default;
};
struct SpringMaterial {
  std::string name;
  NumberEntry modulus;   ///< GPa
  NumberEntry strength;  ///< MPa, tensile; absent: that of music wire by its diameter
  Where place;
  friend bool operator==(const SpringMaterial&, const SpringMaterial&) = default;
};
/// General figures of how keys move.
struct MovementPresets {
  NumberEntry stress_share;   ///< of a spring's strength that may be used, 0 to 1
  NumberEntry sluggish;       ///< ms: a return that takes longer
  NumberEntry friction;       ///< coefficient in oiled joints
  NumberEntry touch;          ///< N wanted at the touch to leave rest
  NumberEntry stroke;         ///< share of the tone hole's diameter a pad opens, where no travel was read
  NumberEntry cup_weight;     ///< mg/mm2 of cup with pad, over the tone hole's area
  NumberEntry bar_weight;     ///< mg/mm of arm and touch
  NumberEntry inertia_share;  ///< how far an inertia guessed from these may be off, as a share, k = 2
  NumberEntry knock;          ///< mm/s at which a finger throws a key across its joints
  Text oil;                   ///< name of the oil taken where the instrument names none
  NumberEntry index;          ///< viscosity index of an oil that says neither that nor v100
  NumberEntry density;        ///< g/ml at 15 degC of an oil that does not say
  NumberEntry oil_expansion;  ///< 1e-6/K, by volume
  std::vector<SpringMaterial> spring_materials;
  friend bool operator==(const MovementPresets&, const MovementPresets&) = default;
};

/// Where an instrument may be played, by name.
struct ServiceRange {
  std::string name;
  TemperatureEntry from;  ///< coldest
  TemperatureEntry to;    ///< warmest
  NumberEntry drier;      ///< %: by how much a wooden body's moisture content may fall below the bench's
  NumberEntry wetter;     ///< %: and rise above it
  std::string note;
  Where place;
  friend bool operator==(const ServiceRange&, const ServiceRange&) = default;
};
/// What is supposed of bodies and posts. An absent figure is left out of what needs it.
struct BodyPresets {
  LengthEntry post_height;  ///< of a hinge line over where its posts lean
  LengthEntry own_play;     ///< what a key's end play may be off the middle of its window by itself, k = 2
  LengthEntry common_play;  ///< what all keys together may, k = 2
  friend bool operator==(const BodyPresets&, const BodyPresets&) = default;
};
/// Minutes of one operation.
struct MinutesPreset {
  NumberEntry set_up;    ///< min
  NumberEntry per_turn;  ///< min per turn of cutter, reamer or screw
  friend bool operator==(const MinutesPreset&, const MinutesPreset&) = default;
};
/// Sizes that can be bought.
struct OfferedCutter {
  LengthEntry diameter;
  Amount price;
  Where place;
  friend bool operator==(const OfferedCutter&, const OfferedCutter&) = default;
};
struct OfferedReamer {
  AngleEntry half_angle;
  LengthEntry small_diameter;
  LengthEntry large_diameter;
  Amount price;
  Where place;
  friend bool operator==(const OfferedReamer&, const OfferedReamer&) = default;
};
struct OfferedRod {
  LengthEntry diameter;
  Amount price;
  Where place;
  friend bool operator==(const OfferedRod&, const OfferedRod&) = default;
};
struct Offered {
  std::vector<OfferedCutter> cutters;
  std::vector<OfferedReamer> reamers;
  std::vector<OfferedRod> rods;
  friend bool operator==(const Offered&, const Offered&) = default;
};
/// What a work costs at least, however quick it was.
struct LeastPrice {
  std::string of;  ///< "seat-cut", "ream", ...: small letters, digits, hyphens
  Amount money;
  Where place;
  friend bool operator==(const LeastPrice&, const LeastPrice&) = default;
};
/// Whether a shop's prices are with tax or without.
enum class TaxRule { added, included };
const char* word(TaxRule v);
struct Prices {
  std::string currency;  ///< the shop's word for it
  Amount per_hour;
  std::vector<LeastPrice> least;
  Amount minimum;                     ///< what a visit costs at least
  Amount round_to;                    ///< what a total is rounded to
  std::string tax;                    ///< its name as the shop's papers say it; empty: none is said
  NumberEntry rate;                   ///< of the tax, %
  std::optional<TaxRule> prices_are;  ///< absent: it is added
  NumberEntry deposit;                ///< % of a quote's total
  NumberEntry valid_days;             ///< that a quote holds
  friend bool operator==(const Prices&, const Prices&) = default;
};
/// What a gain is worth, in points.
struct Weights {
  NumberEntry leak;        ///< for each mL/s cured
  NumberEntry feel;        ///< for one key brought from hopeless to right
  NumberEntry least_step;  ///< an improvement is one from so many points on
  friend bool operator==(const Weights&, const Weights&) = default;
};
/// What a key only looked over usually takes and gives.
struct LookPreset {
  Look look = Look::fine;
  NumberEntry minutes;  ///< min, ± as one job differs from another
  NumberEntry leak;     ///< mL/s
  NumberEntry feel;
  Where place;
  friend bool operator==(const LookPreset&, const LookPreset&) = default;
};
/// Ranges for what a bench may lack: entries of origin unknown with a range.
struct UnknownRanges {
  LengthEntry span;
  LengthEntry key_length;
  LengthEntry face_gaps;  ///< both together
  AngleEntry half_angle;  ///< of a point's flank
  LengthEntry tip_diameter;
  LengthEntry tip_radius;
  LengthEntry wear_length;
  LengthEntry wear_depth;
  LengthEntry ball_diameter;
  LengthEntry neck_diameter;
  LengthEntry pin_diameter;
  LengthEntry pin_length;
  LengthEntry shoulder_diameter;
  LengthEntry point_length;
  LengthEntry shank_diameter;
  LengthEntry mouth_diameter;
  AngleEntry hole_half_angle;
  LengthEntry depth;
  AngleEntry floor_half_angle;
  AngleEntry bell_half_angle;
  LengthEntry bell_depth;
  LengthEntry rod_diameter;
  LengthEntry bore;
  LengthEntry tone_hole;
  LengthEntry station;
  LengthEntry arm;
  friend bool operator==(const UnknownRanges&, const UnknownRanges&) = default;
};
/// What leaks are reckoned with. An absent one: the general figure.
struct SealPresets {
  LengthEntry land;
  LengthEntry take_up;
  NumberEntry rim_stiffness;  ///< N/mm2
  NumberEntry finger_force;   ///< N
  NumberEntry test_pressure;  ///< kPa
  NumberEntry discharge;      ///< of a sharp edge, 0 to 1
  LengthEntry hole_allowed;   ///< a leak as of a larger hole is too much
  NumberEntry reading_share;  ///< of a leak reading without a ±, that it may be off by
  NumberEntry sum_share;      ///< of the sum of all pads' leaks, that it may be off by at a known take-up
  friend bool operator==(const SealPresets&, const SealPresets&) = default;
};

/// General figures for rods and stacks. Durations in minutes.
struct RodPresets {
  NumberEntry modulus;       ///< GPa
  NumberEntry friction;      ///< of a tube on its rod
  Text fit;                  ///< class of running fit: "H7/g6"
  LengthEntry wall_min;      ///< of a tube, after reaming
  LengthEntry swedge_reach;  ///< length of tube that is squeezed
  LengthEntry swedge_most;   ///< growth of one part of a tube
  NumberEntry swedge_share;  ///< of what a squeeze displaces, into length; 0 to 1
  LengthEntry face_most;     ///< off one end
  LengthEntry least;         ///< no work on a tube by less
  NumberEntry swedge_set_up;
  NumberEntry swedge_per_mm;
  NumberEntry swedge_metal;  ///< what a mm of swedging is reckoned as
  NumberEntry face_per_mm;
  NumberEntry face_metal;  ///< what a mm off a tube's end is reckoned as
  NumberEntry post_per_mm;
  NumberEntry ream_tube;
  NumberEntry rod_change;
  NumberEntry apart;           ///< rod out, tubes off and on again
  NumberEntry swedge_scatter;  ///< share of the amount, k = 2
  NumberEntry face_scatter;
  NumberEntry post_scatter;
  NumberEntry chance_wanted;   ///< that a gap ends in its window
  NumberEntry overshoot_risk;  ///< of one bite
  friend bool operator==(const RodPresets&, const RodPresets&) = default;
};
/// The shop's general figures. An absent one leaves the program's own default standing.
struct Presets {
  LengthEntry window_low;
  LengthEntry window_high;
  LengthEntry aim_guard;  ///< how far inside the window to aim
  LengthEntry pad_gap_allowed;
  LengthEntry rock_allowed;
  LengthEntry centring_allowed;
  LengthEntry web_min;
  NumberEntry engagement_min_turns;
  LengthEntry wall_seat_min;
  LengthEntry wall_mouth_min;
  LengthEntry tip_floor_min;
  LengthEntry face_gap_min;
  LengthEntry cutter_over_max;
  LengthEntry cutter_under_max;
  LengthEntry least_cut;
  LengthEntry roundness;
  LengthEntry oil_film;
  AngleEntry misalignment;
  NumberEntry flank_share_min;  ///< 0 to 1
  AngleEntry taper_match;
  LengthEntry take_off_per_turn;
  LengthEntry plus_minus_unstated;  ///< of a reading that names neither its ± nor its instrument, k = 2
  AngleEntry angle_plus_minus_unstated;
  std::vector<MaterialPreset> materials;
  MovementPresets movement;
  std::vector<ServiceRange> services;
  BodyPresets body;
  UnknownRanges unknown;
  MinutesPreset drive_home;
  MinutesPreset turn_screw;
  MinutesPreset restore_post;
  MinutesPreset seat_cut;
  MinutesPreset ream;
  MinutesPreset face;
  SealPresets seal;
  WearPresets wear;
  RodPresets rods;
  RegulationPresets regulation;
  MinutesPreset straighten;    ///< a bent body
  MinutesPreset tool_change;   ///< a cutter or reamer got out, looked over and put away
  NumberEntry minutes_spread;  ///< share of its minutes one work may lie off them, k = 2
  std::vector<LookPreset> looks;
  friend bool operator==(const Presets&, const Presets&) = default;
};

/// What papers are printed on: ISO 216 A4, 210 x 297 mm, or ANSI/ASME Y14.1 A (letter), 8.5 x 11 in.
enum class PaperSize { a4, letter };
const char* word(PaperSize v);

/// What is learned from jobs.
enum class Subject { take_off, minutes, patterns, causes };
const char* word(Subject v);
/// From here back nothing counts for that subject.
struct Forgotten {
  Subject what = Subject::take_off;
  std::string before;  ///< jobs dated before this day do not count; those of the day itself do
  Where place;
  friend bool operator==(const Forgotten&, const Forgotten&) = default;
};

/// A workshop's tools and habits ("format": "hingeline-shop").
struct Shop {
  std::string title;
  std::string note;
  LengthUnit units = LengthUnit::mm;
  std::optional<PaperSize> paper;
  std::string time_zone;  ///< as the IANA time zone database names it, "Europe/Vienna"; empty: not said
  std::vector<Cutter> cutters;
  std::vector<Reamer> reamers;
  std::vector<Driver> drivers;
  std::vector<Rod> rods;
  std::vector<Oil> oils;
  std::vector<Wire> wires;
  std::vector<Sheet> sheets;
  std::vector<Pattern> patterns;
  std::vector<Measuring> measuring;
  Offered offered;
  Prices prices;
  Weights weights;
  Presets presets;
  std::vector<Forgotten> forgotten;  ///< of what the shop's finished visits teach
  std::string file;                  ///< name it was read under; not part of what it says

  friend bool operator==(const Shop& a, const Shop& b) {
    return a.title == b.title && a.note == b.note && a.units == b.units && a.paper == b.paper &&
           a.time_zone == b.time_zone && a.cutters == b.cutters && a.reamers == b.reamers &&
           a.drivers == b.drivers && a.rods == b.rods && a.oils == b.oils && a.wires == b.wires &&
           a.patterns == b.patterns && a.measuring == b.measuring && a.presets == b.presets &&
           a.sheets == b.sheets && a.offered == b.offered && a.prices == b.prices && a.weights == b.weights &&
           a.forgotten == b.forgotten;
  }
};

// ---- reading and writing ---------------------------------------------------------------------------

using Errors = std::vector<Error>;

/// Which document it is: what its "format" says, nothing else being looked at. Errors: no JSON, no object,
/// no such format.
enum class Format { instrument, shop, ledger, rig };
tl::expected<Format, Errors> format_of(std::string_view text, const std::string& file);

/// Reads an instrument document. `file` only names it in places. All problems of one pass are
/// reported, in the order of the text, at most kMostErrors; there is no partial document. The passes:
/// whether it is JSON, format and version, each member, then contradictions between members.
tl::expected<Instrument, Errors> read_instrument(std::string_view text, const std::string& file);
tl::expected<Shop, Errors> read_shop(std::string_view text, const std::string& file);

/// The document as text (UTF-8, two spaces of indent, newline at the end). Reading it gives an
/// equal document: every number is written with as many digits as it takes to come back exactly. A value
/// that reading refuses (larger than can be, not finite) is written all the same, and refused.
std::string write_instrument(const Instrument& instrument);
std::string write_shop(const Shop& shop);

/// One line: `saxophone.json:12:18: /keys/3/hinge/span: what; expected ...`. Always UTF-8 without control
/// characters: those of names and files are shown as <0A>.
std::string describe(const Error& error);

/// The published JSON Schema of the format.
std::string_view schema_text(Format format);

}  // namespace hingeline::record
