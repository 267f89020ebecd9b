#pragma once
/// \file
/// What makes a key move, described once, as fields.h does for the rest: springs, what moves, oils. fields.h
/// includes it after its rules.

#include "fields.h"

namespace hingeline::record {

inline constexpr Rule kMass{.sign = Sign::positive, .unit = "g"};
inline constexpr Rule kKinematic{.sign = Sign::positive, .unit = "mm2/s"};
inline constexpr Rule kDensity{.sign = Sign::positive, .unit = "g/ml", .most = 25};
inline constexpr Rule kShare{.sign = Sign::not_negative, .most = 1};
/// One rule for all plain numbers: the schema has one definition for them.
inline constexpr Rule kNumber{.most = 5000};
inline constexpr Rule kMilliseconds{.sign = Sign::positive, .unit = "ms"};

template <>
struct Words<SpringKind> {
  static constexpr std::array all{SpringKind::needle, SpringKind::flat};
};
template <>
struct Words<SpringShape> {
  static constexpr std::array all{SpringShape::rectangular, SpringShape::tapered, SpringShape::triangular};
};
template <>
struct Words<Stands> {
  static constexpr std::array all{Stands::open, Stands::closed};
};

template <>
inline constexpr const char* kDefinition<Spring> = "spring";
template <>
inline constexpr const char* kDefinition<Moving> = "moving";
template <>
inline constexpr const char* kDefinition<OilInUse> = "oil_in_use";
template <>
inline constexpr const char* kDefinition<Oil> = "oil";
template <>
inline constexpr const char* kDefinition<Wire> = "wire";
template <>
inline constexpr const char* kDefinition<SpringMaterial> = "spring_material";
template <>
inline constexpr const char* kDefinition<MovementPresets> = "movement";

template <class V>
void fields(V& v, Seen<V, Spring>& s) {
  v.choice("kind", s.kind, "A needle in its post, or a flat spring under its screw.");
  v.entry("diameter", s.diameter, kSize, "Diameter of a needle spring.");
  v.entry("width", s.width, kSize, "Width of a flat spring at its foot.");
  v.entry("thickness", s.thickness, kSize, "Thickness of a flat spring.");
  v.choice("shape", s.shape,
           "How a flat spring's width runs to its end: all along the same, to about a fifth, or to a point; "
           "left out: rectangular.");
  v.entry("length", s.length, kSize, "Its free length, from the post or the screw to where it pushes.");
  v.entry("set", s.set, kGap, "How far its end is bent with the key at rest.");
  v.entry("works_at", s.works_at, kSize, "From the hinge axis to where it pushes.");
  v.text("material", s.material, TextRule::line,
         "Name of a spring material in the shop document; left out: music wire.");
  v.entry("wanted", s.wanted, kForce,
          "Force wanted at the touch to leave rest, for choosing a new needle spring.");
}

template <class V>
void fields(V& v, Seen<V, Moving>& m) {
  v.choice("stands", m.stands, "How it stands at rest.");
  v.entry("mass", m.mass, kMass, "What the key weighs.");
  v.entry("gyration", m.gyration, kSize, "Its radius of gyration about the hinge axis.");
  v.entry("travel", m.travel, kSize,
          "How far it opens at the pad's centre, or at the touch where it has no pad.");
}

template <class V>
void fields(V& v, Seen<V, OilInUse>& o) {
  v.text("name", o.name, TextRule::name, "Name of an oil in the shop document.");
}

template <class V>
void fields(V& v, Seen<V, Oil>& o) {
  v.text("name", o.name, TextRule::name, "The oil's name.");
  v.entry("grade", o.grade, kNumber, "Number of its ISO 3448 viscosity grade; in place of v40.");
  v.entry("v40", o.v40, kKinematic, "Viscosity at 40 degrees Celsius.");
  v.entry("v100", o.v100, kKinematic, "Viscosity at 100 degrees Celsius.");
  v.entry("index", o.index, kNumber, "Viscosity index; in place of v100.");
  v.entry("density", o.density, kDensity, "Density at 15 degrees Celsius.");
}

template <class V>
void fields(V& v, Seen<V, Wire>& w) {
  v.text("name", w.name, TextRule::name, "The needle spring's name.");
  v.entry("diameter", w.diameter, required(kSize), "Its diameter.");
}

template <class V>
void fields(V& v, Seen<V, SpringMaterial>& m) {
  v.text("name", m.name, TextRule::name, "The material's name.");
  v.entry("modulus", m.modulus, required(Rule{.sign = Sign::positive, .unit = "GPa", .most = 2000}),
          "Its elastic modulus.");
  v.entry("strength", m.strength, Rule{.sign = Sign::positive, .unit = "MPa"},
          "Its tensile strength; left out: that of music wire, by its diameter.");
}

template <class V>
void fields(V& v, Seen<V, MovementPresets>& m) {
  v.entry("stress_share", m.stress_share, kShare, "Share of a spring's strength that may be used.");
  v.entry("sluggish", m.sluggish, kMilliseconds, "A return that takes longer is sluggish.");
  v.entry("friction", m.friction, kShare, "Coefficient of friction in an oiled joint.");
  v.entry("touch", m.touch, kForce, "Force wanted at a touch to leave rest.");
  v.entry("stroke", m.stroke, kShare,
          "How far a pad opens where nobody read it, as a share of its tone hole's diameter.");
  v.entry("cup_weight", m.cup_weight, Rule{.sign = Sign::not_negative, .unit = "mg/mm2"},
          "Weight of a cup with its pad, over the tone hole's area.");
  v.entry("bar_weight", m.bar_weight, Rule{.sign = Sign::not_negative, .unit = "mg/mm"},
          "Weight of an arm or touch, over its length.");
  v.entry("inertia_share", m.inertia_share, kShare,
          "How far an inertia guessed from these weights may be off, as a share of it.");
  v.entry("knock", m.knock, Rule{.sign = Sign::not_negative, .unit = "mm/s"},
          "How fast a finger throws a key across its joints.");
  v.text("oil", m.oil, TextRule::line, "The oil taken where an instrument names none.");
  v.entry("index", m.index, kNumber,
          "Viscosity index of an oil that says neither that nor its viscosity at 100 degrees Celsius.");
  v.entry("density", m.density, kDensity, "Density at 15 degrees Celsius of an oil that does not say it.");
  v.entry("oil_expansion", m.oil_expansion, kExpansion,
          "How oils expand, by volume, in millionths per kelvin.");
  v.list("spring_materials", m.spring_materials, "What springs are made of.");
}

}  // namespace hingeline::record
