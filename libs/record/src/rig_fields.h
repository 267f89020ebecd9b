#pragma once
/// \file
/// What stands in a rig document, as fields.h has it for the others.

#include "fields.h"
#include "hingeline/record/rig.h"

namespace hingeline::record {

template <>
struct Words<RigFinding> {
  static constexpr std::array all{RigFinding::fine, RigFinding::failed, RigFinding::out};
};

template <>
inline constexpr const char* kDefinition<RigSpecimen> = "specimen";
template <>
inline constexpr const char* kDefinition<RigPeriod> = "period";
template <>
inline constexpr const char* kDefinition<RigInspection> = "inspection";

inline constexpr Rule kClosingsRate{.sign = Sign::positive, .unit = "closings/s", .most = 100};
inline constexpr Rule kClosings{.sign = Sign::positive, .unit = "closings", .most = 1e12};
inline constexpr Rule kShapeRange{.sign = Sign::positive, .range = true, .most = 100};
inline constexpr Rule kConfidence{.sign = Sign::positive, .most = 1};

template <class V>
void fields(V& v, Seen<V, RigSpecimen>& s) {
  v.text("id", s.id, TextRule::identifier,
         "The specimen's short name, unique on the rig: small letters, digits, hyphens.");
  v.text("name", s.name, TextRule::line, "What it is.");
}

template <class V>
void fields(V& v, Seen<V, RigPeriod>& p) {
  v.text("from", p.from, TextRule::moment, "When the rig was started, or its rate changed.");
  v.text("to", p.to, TextRule::open_moment,
         "When it was stopped, or its rate changed; left out: it runs on.");
  v.entry("rate", p.rate, required(kClosingsRate), "Closings a second.");
}

template <class V>
void fields(V& v, Seen<V, RigInspection>& i) {
  v.text("at", i.at, TextRule::moment, "When it was looked at.");
  v.text("specimen", i.specimen, TextRule::name, "The specimen's id.");
  v.choice("finding", i.finding,
           "Sound; failed since it was last seen sound; or sound and taken off the rig.");
  v.text("note", i.note, TextRule::free, "Anything worth saying.");
}

template <class V>
void fields(V& v, Seen<V, Rig>& r) {
  v.header("hingeline-rig");
  v.text("title", r.title, TextRule::name, "What to call this rig.");
  v.text("note", r.note, TextRule::free, "Anything worth saying.");
  v.list("specimens", r.specimens, "The keys that run on it.", true);
  v.entry("target", r.target, required(kClosings), "How many closings it is to make.");
  v.entry("assumed_shape", r.assumed_shape, kShapeRange,
          "Weibull shapes to reckon with as long as failures do not tell the shape; left out: 1 to 3.");
  v.entry("confidence", r.confidence, kConfidence, "How sure statements are to be, below 1; left out: 0.9.");
  v.list("periods", r.periods, "When it ran, one after the other; only the last may have no end.", true);
  v.list("inspections", r.inspections, "What was found on the specimens.");
}

}  // namespace hingeline::record
