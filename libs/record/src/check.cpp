#include "check.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "hingeline/base/reading.h"

namespace hingeline::record {
namespace {

constexpr const char* kLeftOut = "it left out";
constexpr const char* kPairsForm = "\"pairs\": {\"unit\": \"mm\", \"values\": [[0, 0.4], [2.5, 1.2]]}";

class Checker {
 public:
  Checker(LengthUnit unit, Errors& errors) : unit_(unit), errors_(errors) {}

  void say(const Where& where, std::string what, std::string expected = {}) {
    errors_.push_back(Error{Fault::geometry, std::move(what), std::move(expected), where});
  }
  /// Whether a exceeds b by more than both their uncertainties allow.
  template <class Q>
  static bool exceeds(const Entry<Q>& a, const Entry<Q>& b, Q by = Q{}) {
    if (!a.known() || !b.known()) return false;
    const Q doubt = a.plus_minus.value_or(Q{}) + b.plus_minus.value_or(Q{});
    return a.value - b.value > by + doubt;
  }
  /// Says so when a is larger than b. `what` names a, `limit` names b.
  void not_above(const LengthEntry& a, const char* what, const LengthEntry& b, const char* limit,
                 Length by = Length{}) {
    if (!exceeds(a, b, by)) return;
    // What differs by less than is shown is shown whole.
    const Length limited = b.value + by;
    const bool alike = show(a.value) == show(limited);
    const auto digits = [&](Length v) { return alike ? exact_text(v, unit_) : show(v); };
    say(a.place, fmt::format("{} of {} is more than {}, {}", what, digits(a.value), limit, digits(b.value)),
        "at most " + digits(limited));
  }
  [[nodiscard]] std::string show(Length v) const { return show_length(v, unit_, bench_decimals(unit_)); }

  template <class Q>
  void must_not_be(const Entry<Q>& entry, const char* name, const char* why) {
    if (entry.present) say(entry.place, fmt::format("\"{}\" does not belong to {}", name, why), kLeftOut);
  }

 private:
  LengthUnit unit_;
  Errors& errors_;
};

/// What a point's or hole's shape has no use for would be dropped silently: it is refused instead.
void check_point(Checker& c, const Point& p) {
  if (p.shape) {
    const bool cone = *p.shape == PointShape::cone;
    const bool ball = *p.shape == PointShape::ball;
    const bool parallel = *p.shape == PointShape::parallel;
    const bool profile = *p.shape == PointShape::profile;
    const std::string whose = fmt::format("a {} point", word(*p.shape));
    const char* why = whose.c_str();
    if (!cone) {
      c.must_not_be(p.half_angle, "half_angle", why);
      c.must_not_be(p.tip_diameter, "tip_diameter", why);
      c.must_not_be(p.tip_radius, "tip_radius", why);
      c.must_not_be(p.wear_length, "wear_length", why);
      c.must_not_be(p.wear_depth, "wear_depth", why);
      c.must_not_be(p.shank_diameter, "shank_diameter", why);
      if (p.tip) c.say(p.place, fmt::format("\"tip\" does not belong to {}", why), kLeftOut);
    }
    if (!ball) {
      c.must_not_be(p.ball_diameter, "ball_diameter", why);
      c.must_not_be(p.neck_diameter, "neck_diameter", why);
    }
    if (!parallel) {
      c.must_not_be(p.pin_diameter, "pin_diameter", why);
      c.must_not_be(p.pin_length, "pin_length", why);
      c.must_not_be(p.shoulder_diameter, "shoulder_diameter", why);
    }
    if (profile) {
      c.must_not_be(p.length, "length", why);
      if (p.pairs.absent()) c.say(p.place, "a point given as a profile has no \"pairs\"", kPairsForm);
    } else if (!p.pairs.absent()) {
      c.say(p.pairs.place, fmt::format("\"pairs\" do not belong to {}", why), kLeftOut);
    }
  }
  if (p.tip) {
    const std::string whose = fmt::format("a {} tip", word(*p.tip));
    if (*p.tip == TipShape::round) {
      c.must_not_be(p.tip_diameter, "tip_diameter", whose.c_str());
    } else {
      c.must_not_be(p.tip_radius, "tip_radius", whose.c_str());
    }
    if (*p.tip != TipShape::worn) {
      c.must_not_be(p.wear_length, "wear_length", whose.c_str());
      c.must_not_be(p.wear_depth, "wear_depth", whose.c_str());
    }
  }
  c.not_above(p.tip_diameter, "a tip", p.shank_diameter, "its shank");
  c.not_above(p.wear_length, "wear", p.length, "its point");
  c.not_above(p.neck_diameter, "a neck", p.ball_diameter, "its ball");
  c.not_above(p.pin_length, "a pin", p.length, "its point");
  c.not_above(p.pin_diameter, "a pin", p.shoulder_diameter, "its shoulder");
  if (p.wear_depth.known() && p.tip_diameter.known()) {
    LengthEntry radius = p.tip_diameter;
    radius.value = radius.value / 2;
    if (radius.plus_minus) radius.plus_minus = *radius.plus_minus / 2;
    c.not_above(p.wear_depth, "wear", radius, "the tip's radius");
  }
}

void check_hole(Checker& c, const Hole& h) {
  if (h.shape) {
    const std::string whose = fmt::format("a {} hole", word(*h.shape));
    const char* why = whose.c_str();
    const bool bell = *h.shape == HoleShape::bell;
    const bool profile = *h.shape == HoleShape::profile;
    if (*h.shape != HoleShape::cone && !bell) c.must_not_be(h.half_angle, "half_angle", why);
    if (*h.shape != HoleShape::drilled) c.must_not_be(h.floor_half_angle, "floor_half_angle", why);
    if (!bell) {
      c.must_not_be(h.bell_half_angle, "bell_half_angle", why);
      c.must_not_be(h.bell_depth, "bell_depth", why);
    }
    if (profile) {
      c.must_not_be(h.mouth_diameter, "mouth_diameter", why);
      c.must_not_be(h.depth, "depth", why);
      if (h.pairs.absent()) c.say(h.place, "a hole given as a profile has no \"pairs\"", kPairsForm);
    } else if (!h.pairs.absent()) {
      c.say(h.pairs.place, fmt::format("\"pairs\" do not belong to {}", why), kLeftOut);
    }
  }
  c.not_above(h.bell_depth, "a worn mouth", h.depth, "its hole's depth");
  if (Checker::exceeds(h.half_angle, h.bell_half_angle)) {
    c.say(h.bell_half_angle.place, "a worn mouth that is narrower than the flank behind it",
          "\"bell_half_angle\" above \"half_angle\"");
  }
}

void check_screw(Checker& c, const Screw& s) {
  check_point(c, s.point);
  c.not_above(s.point.shank_diameter, "a shank", s.thread.major, "the thread's major diameter");
  c.not_above(s.thread.pitch, "a pitch", s.thread.major, "the thread's major diameter");
  if (s.head == HeadKind::headless) {
    c.must_not_be(s.stands_off, "stands_off", "a headless screw");
    c.must_not_be(s.head_height, "head_height", "a headless screw");
  }
}

void check_end(Checker& c, const End& e, const LengthEntry& key_length) {
  check_screw(c, e.screw);
  check_hole(c, e.hole);
  c.not_above(e.screw.point.length, "a point", key_length, "its key's length");
  c.not_above(e.screw.protrusion, "a protrusion", key_length, "its key's length");
  c.not_above(e.screw.protrusion, "a protrusion", e.screw.point.length, "the point's length");
  c.not_above(e.hole.depth, "a hole", key_length, "its key's length");
  c.not_above(e.hole.mouth_diameter, "a hole", e.key_end_diameter, "its key's end");
  if (e.screw.point.tip != TipShape::worn)
    c.not_above(e.screw.point.tip_diameter, "a tip", e.hole.mouth_diameter, "its hole's mouth");
  c.not_above(e.screw.point.pin_diameter, "a pin", e.hole.mouth_diameter, "its hole's mouth");
  c.not_above(e.screw.head_diameter, "a head", e.post.diameter, "its post's diameter");
  c.not_above(e.post.web, "metal under the head", e.post.thickness, "the post's thickness");
  c.not_above(e.post.engagement, "thread engaged", e.post.thickness, "the post's thickness");
}

void check_pivot_end(Checker& c, const End& e, const char* side) {
  if (e.screw.pattern.empty()) {
    if (!e.screw.point.shape) {
      c.say(e.screw.point.place, fmt::format("the {} point has neither a shape nor a pattern", side),
            "\"shape\" in \"point\", or \"pattern\" in \"screw\"");
    }
    if (!e.hole.shape) {
      c.say(e.hole.place, fmt::format("the {} hole has neither a shape nor a pattern", side),
            "\"shape\" in \"hole\", or \"pattern\" in \"screw\"");
    }
    if (!e.screw.head) {
      c.say(e.screw.place, fmt::format("the {} screw says neither \"head\" nor \"pattern\"", side),
            "headed or headless");
    }
  }
}

void check_hinge(Checker& c, const Hinge& h) {
  // Posts knocked together may press on a key, but not by this much.
  constexpr Length kMostPressed = millimetres(1);
  c.not_above(h.key_length, "a key", h.span, "the span between its posts", kMostPressed);
  check_end(c, h.upper, h.key_length);
  check_end(c, h.lower, h.key_length);
  if (h.upper.hole.depth.known() && h.lower.hole.depth.known()) {
    LengthEntry both = h.upper.hole.depth;
    both.value += h.lower.hole.depth.value;
    both.plus_minus = both.plus_minus.value_or(Length{}) + h.lower.hole.depth.plus_minus.value_or(Length{});
    c.not_above(both, "the depth of both holes", h.key_length, "their key's length");
  }
  if (h.kind == HingeKind::pivot) {
    check_pivot_end(c, h.upper, "upper");
    check_pivot_end(c, h.lower, "lower");
    c.must_not_be(h.rod_diameter, "rod_diameter", "a pivot hinge");
    c.must_not_be(h.bore, "bore", "a pivot hinge");
    return;
  }
  for (const End* end : {&h.upper, &h.lower}) {
    if (end->screw != Screw{})
      c.say(end->screw.place, "a pivot screw does not belong to a rod hinge", kLeftOut);
    if (end->hole != Hole{})
      c.say(end->hole.place, "a point's hole does not belong to a rod hinge", "\"bore\" of the hinge");
  }
  if (h.rod_diameter.absent()) c.say(h.place, "\"rod_diameter\" is missing", "a length or \"?\"");
  if (h.bore.absent()) c.say(h.place, "\"bore\" is missing", "a length or \"?\"");
  c.not_above(h.rod_diameter, "a rod", h.bore, "the bore it runs in");
}

void check_pad(Checker& c, const Key& key) {
  if (!key.pad) return;
  const Pad& p = *key.pad;
  for (const auto& [entry, name] :
       {std::pair(&p.tone_hole, "tone_hole"), std::pair(&p.station, "station"), std::pair(&p.arm, "arm")}) {
    if (entry->absent()) {
      c.say(p.place, fmt::format("\"{}\" is missing", name), "a length or \"?\"");
    }
  }
}

/// A pad that stands open goes as far as it stands open: the two may not contradict.
void check_opening(Checker& c, const Key& key) {
  if (!key.pad || !key.moving || key.moving->stands != Stands::open) return;
  const LengthEntry& travel = key.moving->travel;
  if (!Checker::exceeds(travel, key.opening) && !Checker::exceeds(key.opening, travel)) return;
  c.say(travel.place,
        fmt::format("a pad that stands {} open, by its \"opening\", has a \"travel\" of {}",
                    c.show(key.opening.value), c.show(travel.value)),
        "one of them, or both alike within their ±");
}

void check_spring(Checker& c, const Spring& s) {
  if (s.kind == SpringKind::needle) {
    c.must_not_be(s.width, "width", "a needle spring");
    c.must_not_be(s.thickness, "thickness", "a needle spring");
    if (s.shape) c.say(s.place, "\"shape\" does not belong to a needle spring", kLeftOut);
  } else {
    c.must_not_be(s.diameter, "diameter", "a flat spring");
    c.must_not_be(s.wanted, "wanted", "a flat spring");
  }
  c.not_above(s.diameter, "a spring's diameter", s.length, "its length");
  c.not_above(s.thickness, "a spring's thickness", s.length, "its length");
  c.not_above(s.set, "a spring's set", s.length, "its length");
}

void check_oil(Checker& c, const Oil& o) {
  if (o.grade.present && o.v40.present) {
    c.say(o.grade.place, "an oil with both \"grade\" and \"v40\"", "one of them");
  } else if (!o.grade.known() && !o.v40.known()) {
    c.say(o.place, "an oil that says neither \"grade\" nor \"v40\"",
          "as \"grade\": 32, or \"v40\": \"30 mm2/s\"");
  }
  if (o.v100.present && o.index.present)
    c.say(o.index.place, "an oil with both \"v100\" and \"index\"", "one of them");
  if (o.v40.known() && o.v100.known() && !(o.v100.value < o.v40.value))
    c.say(o.v100.place, "an oil that is not thinner at 100 than at 40 degrees Celsius",
          "\"v100\" below \"v40\"");
}

/// Names that must be unique: says where one stands again.
template <class T, class NameOf>
void unique_names(Checker& c, const std::vector<T>& list, const char* what, NameOf name_of) {
  std::map<std::string, int> first_line;
  for (const T& item : list) {
    const std::string& name = name_of(item);
    if (name.empty()) continue;
    const auto [at, is_new] = first_line.emplace(name, item.place.line);
    if (!is_new) {
      c.say(item.place,
            fmt::format("two {} are called \"{}\"; the first is on line {}", what, name, at->second),
            "a name of its own");
    }
  }
}

void check_stack(Checker& c, const Stack& stack) {
  if (stack.gaps.empty()) c.say(stack.place, "a stack without a gap", "one or more in \"gaps\"");
  if (!stack.posts.empty() && stack.posts.size() != stack.gaps.size() + 1) {
    c.say(stack.place, fmt::format("{} posts round {} gaps", stack.posts.size(), stack.gaps.size()),
          fmt::format("{} posts, or none named", stack.gaps.size() + 1));
  }
  if (stack.rod.bow.known() && stack.rod.bow.value.raw() > 0 && stack.rod.bow_over.absent()) {
    c.say(stack.rod.bow.place, "a bow without the length that it was read over", "\"bow_over\" beside it");
  }
  for (const StackGap& gap : stack.gaps) {
    if (gap.tubes.empty()) c.say(gap.place, "a gap without a tube", "one or more in \"tubes\"");
    c.not_above(gap.window_low, "the window's low edge", gap.window_high, "its high edge");
    for (const StackTube& tube : gap.tubes) {
      c.not_above(tube.bore, "a bore", tube.outside, "its tube");
      c.not_above(tube.station, "a station", tube.length, "its tube's length");
      c.not_above(stack.rod.diameter, "a rod", tube.bore, "the bore it runs in");
      if (!tube.key.empty()) continue;
      if (tube.name.empty()) c.say(tube.place, "a tube without a name", "\"name\", or the \"key\" it is");
      if (tube.offset.present && tube.station.absent()) {
        c.say(tube.offset.place, "a pad without its station", "\"station\" beside it");
      }
    }
  }
}

/// Few readings need the straightedge's ends.
void check_bow(Checker& c, const Bow& bow) {
  if (bow.readings.size() >= 3) return;
  if (bow.chord.absent()) {
    c.say(bow.place, "fewer than three bow readings need the chord", "\"chord\"");
    return;
  }
  for (const BowReading& r : bow.readings) {
    c.not_above(r.station, "a station", bow.chord, "the chord");
  }
}

/// Ids that links and pairs name.
void check_links(Checker& c, const Instrument& instrument) {
  const auto named = [&](const Text& id) {
    const bool there = std::any_of(instrument.keys.begin(), instrument.keys.end(),
                                   [&](const Key& k) { return k.id == id.text; });
    if (!there) c.say(id.place, fmt::format("there is no key \"{}\"", id.text), "the id of one of the keys");
  };
  for (const KeyLink& l : instrument.links) {
    named(l.from);
    named(l.to);
    if (l.from.text == l.to.text)
      c.say(l.place, fmt::format("\"{}\" is linked to itself", l.from.text), "two different keys");
  }
  for (const ClosesTogether& t : instrument.closes_together) {
    named(t.key);
    named(t.partner);
    named(t.under);
    if (t.key.text == t.partner.text)
      c.say(t.place, fmt::format("\"{}\" cannot close together with itself", t.key.text),
            "two different keys");
    if (!t.open.empty() && t.open.text != t.key.text && t.open.text != t.partner.text)
      c.say(t.open.place, fmt::format("\"{}\" is neither of the pair", t.open.text),
            fmt::format("{} or {}", t.key.text, t.partner.text));
  }
}

/// Keys and works that are named must be there, and minutes that no preset has.
void check_works(Checker& c, const Instrument& instrument) {
  const auto there = [](const auto& list, const std::string& id) {
    return std::any_of(list.begin(), list.end(), [&](const auto& item) { return item.id == id; });
  };
  for (const OwnWork& w : instrument.works) {
    const bool has_preset = w.stage == WorkStage::straighten || w.stage == WorkStage::posts;
    if (!has_preset && !w.minutes.known())
      c.say(w.place, fmt::format("the work \"{}\" does not say its minutes", w.id),
            "\"minutes\": \"20 min ± 8\"");
    for (const NamedKey& named : w.before) {
      if (!there(instrument.keys, named.key))
        c.say(named.place, fmt::format("there is no key \"{}\"", named.key), "the id of a key");
    }
    for (const NamedWork& named : w.needs) {
      if (!there(instrument.works, named.work))
        c.say(named.place, fmt::format("there is no work \"{}\"", named.work), "the id of a work here");
    }
  }
}

}  // namespace

void check(const Instrument& instrument, Errors& errors) {
  Checker c(instrument.units, errors);
  if (Checker::exceeds(instrument.body.service_from, instrument.body.service_to)) {
    c.say(instrument.body.service_from.place, "the coldest service temperature is above the warmest",
          "\"service_from\" not above \"service_to\"");
  }
  if (const auto& bow = instrument.body.bow) check_bow(c, *bow);
  unique_names(c, instrument.keys, "keys", [](const Key& k) -> const std::string& { return k.id; });
  unique_names(c, instrument.works, "works", [](const OwnWork& w) -> const std::string& { return w.id; });
  check_works(c, instrument);
  unique_names(c, instrument.stacks, "stacks", [](const Stack& s) -> const std::string& { return s.id; });
  for (const Stack& stack : instrument.stacks) check_stack(c, stack);
  for (const Key& key : instrument.keys) {
    check_hinge(c, key.hinge);
    check_pad(c, key);
    check_opening(c, key);
    if (key.spring) check_spring(c, *key.spring);
    for (const RockReading& rock : key.readings.rock) {
      c.not_above(rock.station, "a station", key.hinge.key_length, "the key's length");
    }
    c.not_above(key.allowed.window_low, "the window's low edge", key.allowed.window_high, "its high edge");
    if (key.opening_wanted)
      c.not_above(key.opening_wanted->low, "the least opening wanted", key.opening_wanted->high, "the most");
  }
  check_links(c, instrument);
}

void check(const Shop& shop, Errors& errors) {
  Checker c(shop.units, errors);
  const auto named = [](const auto& item) -> const std::string& { return item.name; };
  unique_names(c, shop.cutters, "cutters", named);
  unique_names(c, shop.reamers, "reamers", named);
  unique_names(c, shop.rods, "rods", named);
  unique_names(c, shop.sheets, "sheets", named);
  unique_names(c, shop.presets.regulation.soft_materials, "soft materials", named);
  c.not_above(shop.presets.regulation.thinnest, "the thinnest cork", shop.presets.regulation.thickest,
              "the thickest");
  unique_names(c, shop.patterns, "patterns", named);
  unique_names(c, shop.oils, "oils", named);
  unique_names(c, shop.wires, "needle springs", named);
  unique_names(c, shop.presets.movement.spring_materials, "spring materials", named);
  unique_names(c, shop.measuring, "measuring instruments", named);
  unique_names(c, shop.presets.materials, "materials", named);
  unique_names(c, shop.presets.wear.pairs, "wear pairs", named);
  unique_names(c, shop.presets.services, "service ranges", named);
  for (const ServiceRange& range : shop.presets.services) {
    if (Checker::exceeds(range.from, range.to)) {
      c.say(range.from.place, "the coldest service temperature is above the warmest",
            "\"from\" not above \"to\"");
    }
  }
  for (const Reamer& reamer : shop.reamers) {
    c.not_above(reamer.small_diameter, "a small end", reamer.large_diameter, "the large end");
  }
  for (const Oil& oil : shop.oils) check_oil(c, oil);
  for (const Pattern& pattern : shop.patterns) {
    if (!pattern.screw.pattern.empty())
      c.say(pattern.screw.pattern.place, "a pattern that names a pattern", "its own figures");
    check_screw(c, pattern.screw);
    check_hole(c, pattern.hole);
  }
  c.not_above(shop.presets.window_low, "the window's low edge", shop.presets.window_high, "its high edge");
  for (const OfferedReamer& reamer : shop.offered.reamers) {
    c.not_above(reamer.small_diameter, "a small end", reamer.large_diameter, "the large end");
  }
  const RodPresets& rods = shop.presets.rods;
  if (rods.chance_wanted.known() && rods.chance_wanted.value >= 1) {
    c.say(rods.chance_wanted.place, "a chance of 1 is never reached", "below 1");
  }
  if (rods.overshoot_risk.known() && rods.overshoot_risk.value >= 0.5) {
    c.say(rods.overshoot_risk.place, "a risk of a half or more is no care", "below 0.5");
  }
}

}  // namespace hingeline::record
