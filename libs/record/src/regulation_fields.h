#pragma once
/// \file
/// Linked keys in the description of documents: included by fields.h, and only there.

namespace hingeline::record {

inline constexpr Rule kNewtons{.sign = Sign::not_negative, .unit = "N", .most = 1000};
inline constexpr Rule kSquareMillimetres{.sign = Sign::positive, .unit = "mm2", .most = 10000};
inline constexpr Rule kSoftModulus{.sign = Sign::positive, .unit = "MPa", .most = 10000};

template <>
inline constexpr const char* kDefinition<OpeningWanted> = "opening_wanted";
template <>
inline constexpr const char* kDefinition<RestStop> = "rest_stop";
template <>
inline constexpr const char* kDefinition<KeyLink> = "key_link";
template <>
inline constexpr const char* kDefinition<ClosesTogether> = "closes_together";
template <>
inline constexpr const char* kDefinition<Sheet> = "sheet";
template <>
inline constexpr const char* kDefinition<SoftMaterial> = "soft_material";
template <>
inline constexpr const char* kDefinition<RegulationPresets> = "regulation_presets";

template <class V>
void fields(V& v, Seen<V, OpeningWanted>& o) {
  v.entry("low", o.low, required(kGap), "Least opening at the pad's centre.");
  v.entry("high", o.high, required(kGap), "Most opening at the pad's centre.");
}

template <class V>
void fields(V& v, Seen<V, RestStop>& s) {
  v.entry("arm", s.arm, required(kSize), "From the hinge axis to where the stop acts.");
  v.entry("cork", s.cork, kGap, "Thickness of its cork or felt.");
  v.text("material", s.material, TextRule::line, "Name of a soft material in the shop document.");
}

template <class V>
void fields(V& v, Seen<V, KeyLink>& l) {
  v.text("from", l.from, TextRule::identifier, "Id of the key that pushes.");
  v.text("to", l.to, TextRule::identifier, "Id of the key that is pushed.");
  v.entry("driver_arm", l.driver_arm, required(kSize), "From the pushing key's hinge axis to the contact.");
  v.entry("foot_arm", l.foot_arm, required(kSize), "From the pushed key's hinge axis to the contact.");
  v.entry(
      "gap", l.gap, kSigned,
      "Lost motion: the gap at the contact with both keys at rest; below 0: the pushed key is held off its "
      "stop by so much.");
  v.entry("cork", l.cork, kGap, "Thickness of the cork or felt between them.");
  v.text("material", l.material, TextRule::line, "Name of a soft material in the shop document.");
  v.entry("contact", l.contact, kSquareMillimetres, "How much of the cork or felt carries.");
  v.entry(
      "tilt", l.tilt, kSigned,
      "Tilt of the contact's face against the hinge line; above 0: the gap grows as the pushing key moves "
      "towards the lower post.");
  v.text("note", l.note, TextRule::free, "Anything worth saying.");
}

template <class V>
void fields(V& v, Seen<V, ClosesTogether>& c) {
  v.text("key", c.key, TextRule::identifier, "Id of one of the two keys.");
  v.text("partner", c.partner, TextRule::identifier, "Id of the other.");
  v.text("under", c.under, TextRule::identifier, "Id of the key that is pressed; may be one of the two.");
  v.text("open", c.open, TextRule::line,
         "Id of the one that stands open when the other has seated; left out: the partner.");
  v.entry("gap", c.gap, kGap, "How far it then stands open at its pad's centre.");
}

template <class V>
void fields(V& v, Seen<V, Sheet>& s) {
  v.text("name", s.name, TextRule::name, "The sheet's name.");
  v.text("material", s.material, TextRule::name, "Name of a soft material.");
  v.entry("thickness", s.thickness, required(kSize), "Its thickness.");
}

template <class V>
void fields(V& v, Seen<V, SoftMaterial>& m) {
  v.text("name", m.name, TextRule::name, "The material's name.");
  v.entry("modulus", m.modulus, required(kSoftModulus), "Its modulus in compression.");
}

template <class V>
void fields(V& v, Seen<V, RegulationPresets>& r) {
  v.entry("together", r.together, kSize,
          "How far the late pad may stand open when the other has seated, for the two to count as closing "
          "together.");
  v.entry("finger", r.finger, kNewtons, "Force of a finger at the touch.");
  v.entry("spring", r.spring, kNewtons, "Force that a spring holds a pad open with, at the pad's centre.");
  v.entry("contact", r.contact, kSquareMillimetres, "How much cork or felt carries at a contact.");
  v.entry("gap", r.gap, kGap, "Lost motion of a link that nobody read.");
  v.entry("thinnest", r.thinnest, kGap, "Thinnest cork or felt that still holds.");
  v.entry("thickest", r.thickest, kGap, "Thickest cork or felt that there is room for.");
  v.entry("change", r.change, kMinutes, "Minutes to change one cork or felt.");
  v.list("soft_materials", r.soft_materials, "Cork, felt and the like.");
}

}  // namespace hingeline::record
