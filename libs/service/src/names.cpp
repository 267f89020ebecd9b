#include <fmt/format.h>
#include <algorithm>

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
        patterns_(names_of(shop.patterns)),
        measuring_(names_of(shop.measuring)),
        materials_(names_of(shop.presets.materials)),
        soft_materials_(names_of(shop.presets.regulation.soft_materials)) {}

  record::Errors run() {
    material(instrument_.body.expansion, instrument_.body.material, instrument_.body.place, "body");
    material(instrument_.key_material.expansion, instrument_.key_material.material,
             instrument_.key_material.place, "keys");
    with(instrument_.body.moisture);
    for (const record::Key& key : instrument_.keys) look_at(key);
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
  void look_at(const record::KeyLink& link);
  void soft(const record::Text& name) {
    if (!name.empty() && !has(soft_materials_, name.text))
      missing("soft material", name.text, soft_materials_, name.place, "");
  }

  const record::Instrument& instrument_;
  std::vector<std::string> patterns_;
  std::vector<std::string> measuring_;
  std::vector<std::string> materials_;
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
  for (const LengthEntry* e :
       {&s.head_diameter, &s.head_height,  &s.slot_reach,     &s.thread.pitch,      &s.thread.major,
        &s.protrusion,    &s.stands_off,   &s.sink,           &p.tip_diameter,      &p.tip_radius,
        &p.wear_length,   &p.wear_depth,   &p.ball_diameter,  &p.neck_diameter,     &p.pin_diameter,
        &p.pin_length,    &p.length,       &p.shank_diameter, &p.shoulder_diameter, &h.mouth_diameter,
        &h.depth,         &h.bell_depth,   &post.diameter,    &post.thickness,      &post.web,
        &post.engagement, &post.displaced, &post.room_behind, &post.room_around,    &end.key_end_diameter}) {
    with(*e);
  }
  for (const record::AngleEntry* e :
       {&p.half_angle, &h.half_angle, &h.floor_half_angle, &h.bell_half_angle}) {
    with(*e);
  }
}

void NameCheck::look_at(const record::Key& key) {
  const record::Hinge& h = key.hinge;
  look_at(h.upper);
  look_at(h.lower);
  const record::Readings& r = key.readings;
  const record::Allowed& a = key.allowed;
  for (const LengthEntry* e : {&h.span, &h.key_length, &h.rod_diameter, &h.bore, &r.end_play, &r.gap_upper,
                               &r.gap_lower, &a.window_low, &a.window_high, &a.pad_gap, &a.rock}) {
    with(*e);
  }
  for (const record::RockReading& rock : r.rock) {
    with(rock.station);
    with(rock.value);
  }
  with(key.opening);
  if (key.touch) with(key.touch->arm);
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
