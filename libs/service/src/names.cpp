#include <fmt/format.h>
#include <algorithm>

#include "climate.h"
#include "hingeline/service/bench.h"
#include "nearest.h"

namespace hingeline::service {
namespace {

using record::LengthEntry;

template <class List>
std::vector<std::string> names_of(const List& list) {
  std::vector<std::string> out;
  out.reserve(list.size());
  for (const auto& item : list) out.push_back(item.name);
  return out;
}

class NameCheck {
 public:
  NameCheck(const record::Instrument& instrument, const record::Shop& shop)
      : instrument_(instrument),
        shop_(shop),
        patterns_(names_of(shop.patterns)),
        measuring_(names_of(shop.measuring)),
        materials_(names_of(shop.presets.materials)),
        oils_(names_of(shop.oils.empty() ? general_shop().oils : shop.oils)),
        spring_materials_(names_of(shop.presets.movement.spring_materials)),
        soft_materials_(names_of(shop.presets.regulation.soft_materials)) {
    for (const auto& m : general_shop().presets.movement.spring_materials) {
      if (!has(spring_materials_, m.name)) spring_materials_.push_back(m.name);
    }
    const record::Text& usual = shop.presets.movement.oil;
    if (!usual.empty() && !has(oils_, usual.text)) missing("oil", usual.text, oils_, usual.place, "");
  }

  record::Errors run() {
    material(instrument_.body.expansion, instrument_.body.material, instrument_.body.place, "body");
    material(instrument_.key_material.expansion, instrument_.key_material.material,
             instrument_.key_material.place, "keys");
    with(instrument_.body.moisture);
    if (instrument_.oil && !has(oils_, instrument_.oil->name.text))
      missing("oil", instrument_.oil->name.text, oils_, instrument_.oil->name.place, "");
    with(instrument_.body.diameter);
    if (const auto& bow = instrument_.body.bow) {
      with(bow->chord);
      for (const record::BowReading& r : bow->readings) {
        with(r.station);
        with(r.value);
      }
    }
    if (const auto climate = climate_of(instrument_.body, shop_, {}); !climate)
      out_.push_back(climate.error());
    for (const record::Key& key : instrument_.keys) look_at(key);
    for (const record::Stack& stack : instrument_.stacks) look_at(stack);
    for (const record::KeyLink& link : instrument_.links) look_at(link);
    for (const record::ClosesTogether& pair : instrument_.closes_together) with(pair.gap);
    return std::move(out_);
  }

 private:
  void missing(const char* what, const std::string& name, const std::vector<std::string>& there, Place place,
               const std::string& otherwise) {
    const std::string near = nearest_name(name, there);
    std::string expected = there.empty()   ? std::string("the shop document lists none")
                           : !near.empty() ? fmt::format("perhaps \"{}\"", near)
                                           : fmt::format("one of {}", listed(there));
    if (!otherwise.empty()) expected += ", or " + otherwise;
    out_.push_back({Fault::not_found, fmt::format("the shop document has no {} \"{}\"", what, name), expected,
                    std::move(place)});
  }
  void with(const LengthEntry& e) { named(e.with, e.place); }
  void with(const record::AngleEntry& e) { named(e.with, e.place); }
  void named(const std::string& name, const Place& place) {
    if (!name.empty() && !has(measuring_, name)) missing("measuring instrument", name, measuring_, place, "");
  }
  static bool has(const std::vector<std::string>& names, const std::string& name) {
    return std::find(names.begin(), names.end(), name) != names.end();
  }
  void material(const record::NumberEntry& expansion, const std::string& name, const Place& place,
                const char* of) {
    if (expansion.known() || name.empty() || has(materials_, name)) return;
    missing(fmt::format("expansion for the {}: material", of).c_str(), name, materials_, place,
            "\"expansion\" in the document itself");
  }
  void look_at(const record::Key& key);
  void look_at(const record::End& end);
  void look_at(const record::Stack& stack);
  void look_at(const record::KeyLink& link);
  void soft(const record::Text& name) {
    if (!name.empty() && !has(soft_materials_, name.text))
      missing("soft material", name.text, soft_materials_, name.place, "");
  }

  const record::Instrument& instrument_;
  const record::Shop& shop_;
  std::vector<std::string> patterns_;
  std::vector<std::string> measuring_;
  std::vector<std::string> materials_;
  std::vector<std::string> oils_;
  std::vector<std::string> spring_materials_;
  std::vector<std::string> soft_materials_;
  record::Errors out_;
};

void NameCheck::look_at(const record::End& end) {
  const record::Text& pattern = end.screw.pattern;
  if (!pattern.empty() && !has(patterns_, pattern.text)) {
    missing("pattern", pattern.text, patterns_, pattern.place, "");
  }
  const record::Screw& s = end.screw;
  const record::Point& p = s.point;
  const record::Hole& h = end.hole;
  const record::Post& post = end.post;
  for (const LengthEntry* e : {&s.head_diameter,  &s.head_height,    &s.slot_reach,        &s.thread.pitch,
                               &s.thread.major,   &s.protrusion,     &s.stands_off,        &s.sink,
                               &p.tip_diameter,   &p.tip_radius,     &p.wear_length,       &p.wear_depth,
                               &p.ball_diameter,  &p.neck_diameter,  &p.pin_diameter,      &p.pin_length,
                               &p.length,         &p.shank_diameter, &p.shoulder_diameter, &h.mouth_diameter,
                               &h.depth,          &h.bell_depth,     &post.diameter,       &post.thickness,
                               &post.web,         &post.engagement,  &post.displaced,      &post.room_behind,
                               &post.room_around, &post.across,      &end.key_end_diameter}) {
    with(*e);
  }
  for (const record::AngleEntry* e :
       {&p.half_angle, &h.half_angle, &h.floor_half_angle, &h.bell_half_angle, &post.lean, &post.turn}) {
    with(*e);
  }
}

void NameCheck::look_at(const record::Key& key) {
  const record::Hinge& h = key.hinge;
  look_at(h.upper);
  look_at(h.lower);
  const record::Readings& r = key.readings;
  const record::Allowed& a = key.allowed;
  for (const LengthEntry* e :
       {&h.span, &h.key_length, &h.rod_diameter, &h.bore, &h.off_axis, &h.along, &h.post_height, &r.end_play,
        &r.gap_upper, &r.gap_lower, &a.window_low, &a.window_high, &a.pad_gap, &a.rock}) {
    with(*e);
  }
  for (const record::RockReading& rock : r.rock) {
    with(rock.station);
    with(rock.value);
  }
  if (key.spring) {
    const record::Spring& s = *key.spring;
    for (const LengthEntry* e : {&s.diameter, &s.width, &s.thickness, &s.length, &s.set, &s.works_at})
      with(*e);
    if (!s.material.empty() && !has(spring_materials_, s.material.text))
      missing("spring material", s.material.text, spring_materials_, s.material.place, "");
  }
  if (key.moving) {
    with(key.moving->gyration);
    with(key.moving->travel);
  }
  if (key.touch) with(key.touch->arm);
  with(key.opening);
  if (key.opening_wanted) {
    with(key.opening_wanted->low);
    with(key.opening_wanted->high);
  }
  if (key.stop) {
    with(key.stop->arm);
    with(key.stop->cork);
    soft(key.stop->material);
  }
  if (!key.pad) return;
  for (const LengthEntry* e : {&key.pad->tone_hole, &key.pad->station, &key.pad->arm, &key.pad->offset})
    with(*e);
  with(key.pad->clock);
}

void NameCheck::look_at(const record::Stack& stack) {
  for (const LengthEntry* e : {&stack.rod.diameter, &stack.rod.bow, &stack.rod.bow_over}) with(*e);
  for (const record::StackPost& post : stack.posts) with(post.may_move);
  std::vector<std::string> on_rods;
  for (const record::Key& key : instrument_.keys) {
    if (key.hinge.kind == record::HingeKind::rod) on_rods.push_back(key.id);
  }
  for (const record::StackGap& gap : stack.gaps) {
    for (const LengthEntry* e : {&gap.span, &gap.end_play, &gap.window_low, &gap.window_high}) with(*e);
    for (const record::StackTube& t : gap.tubes) {
      for (const LengthEntry* e :
           {&t.length, &t.bore, &t.outside, &t.bearing, &t.station, &t.offset, &t.allowed}) {
        with(*e);
      }
      if (t.key.empty() || has(on_rods, t.key.text)) continue;
      const std::string near = nearest_name(t.key.text, on_rods);
      out_.push_back({Fault::not_found, fmt::format("there is no key \"{}\" on a rod", t.key.text),
                      on_rods.empty() ? std::string("a key whose hinge is of kind rod")
                      : near.empty()  ? "one of " + listed(on_rods)
                                      : fmt::format("perhaps \"{}\"", near),
                      t.key.place});
    }
  }
}

void NameCheck::look_at(const record::KeyLink& link) {
  for (const LengthEntry* e : {&link.driver_arm, &link.foot_arm, &link.gap, &link.cork}) with(*e);
  with(link.tilt);
  soft(link.material);
}

}  // namespace

record::Errors names_missing(const record::Instrument& instrument, const record::Shop& shop) {
  return NameCheck(instrument, shop).run();
}

}  // namespace hingeline::service
