#pragma once
/// \file
/// What stands in a ledger; see fields.h.

#include "fields.h"
#include "hingeline/record/ledger.h"

namespace hingeline::record {

/// Of a bite, a minute's work, a screw turned: plain numbers.
inline constexpr Rule kCounted{.sign = Sign::positive, .most = 1000};

template <>
struct Words<Complaint> {
  static constexpr std::array all{Complaint::loose, Complaint::binds, Complaint::sluggish, Complaint::noisy};
};
template <>
struct Words<CauseWord> {
  static constexpr std::array all{
      CauseWord::sound,          CauseWord::short_fit,     CauseWord::over_cut,     CauseWord::worn_hole,
      CauseWord::taper_mismatch, CauseWord::straight_hole, CauseWord::tip_on_floor, CauseWord::screw_off,
      CauseWord::loose_thread,   CauseWord::post_moved,    CauseWord::bent_body,    CauseWord::bent_key,
      CauseWord::worn_bore,      CauseWord::dirt,          CauseWord::climate};
};
template <>
struct Words<WhichEnd> {
  static constexpr std::array all{WhichEnd::upper, WhichEnd::lower};
};
template <>
struct Words<MeasuredField> {
  static constexpr std::array all{MeasuredField::point_half_angle, MeasuredField::hole_half_angle,
                                  MeasuredField::tip_diameter,     MeasuredField::point_length,
                                  MeasuredField::shank_diameter,   MeasuredField::head_diameter,
                                  MeasuredField::head_height,      MeasuredField::slot_reach,
                                  MeasuredField::mouth_diameter,   MeasuredField::hole_depth};
};

template <>
inline constexpr const char* kDefinition<JobBite> = "bite";
template <>
inline constexpr const char* kDefinition<JobMinutes> = "work_minutes";
template <>
inline constexpr const char* kDefinition<JobMeasure> = "measure";
template <>
inline constexpr const char* kDefinition<JobWaiver> = "waiver";
template <>
inline constexpr const char* kDefinition<Job> = "job";

template <class V>
void fields(V& v, Seen<V, JobBite>& b) {
  v.text("cutter", b.cutter, TextRule::name, "The cutter's name in the shop document.");
  v.choice("end", b.end, "Which end's seat was cut.");
  v.entry("turns", b.turns, required(kCounted), "How far the cutter was turned.");
  v.entry("taken", b.taken, required(kSigned),
          "What it took off the end play: reading before less reading after.");
}

template <class V>
void fields(V& v, Seen<V, JobMinutes>& m) {
  v.text("of", m.of, TextRule::identifier, "The operation or check.");
  v.entry("turns", m.turns, kCounted, "Turns of cutter, reamer or screw.");
  v.entry("minutes", m.minutes, required(kCounted), "How long it took, set-up and all.");
}

template <class V>
void fields(V& v, Seen<V, JobMeasure>& m) {
  v.choice("field", m.field, "What was measured.");
  v.choice("end", m.end, "At which end; measures of one field and end are of one screw.");
  v.either("value", is_angle(m.field), m.angle, required(kFlank), m.length, required(kSize),
           "The measure: an angle for a half angle, else a length.");
}

template <class V>
void fields(V& v, Seen<V, JobWaiver>& w) {
  v.choice("cause", w.cause, "The cause that was not looked for.");
  v.text("reason", w.reason, TextRule::name, "Why not.");
}

template <class V>
void fields(V& v, Seen<V, Job>& j) {
  v.text("id", j.id, TextRule::identifier,
         "The job's short name, unique in the ledger: small letters, digits, hyphens.");
  v.text("date", j.date, TextRule::date, "The day it was finished.");
  v.text("instrument", j.instrument, TextRule::line, "The instrument, in free words.");
  v.text("key", j.key, TextRule::line, "The key.");
  v.text("person", j.person, TextRule::line, "Who did it.");
  v.choice("complaint", j.complaint, "What it was brought in for.");
  v.text("pattern", j.pattern, TextRule::line, "Name of the screws' pattern in the shop document.");
  v.choices("causes", j.causes, "What was found to be the matter; sound stands alone.");
  v.list("bites", j.bites, "The cuts, in the order taken.");
  v.list("minutes", j.minutes, "How long the work took.");
  v.list("measured", j.measured, "Measures of the screws and their holes.");
  v.list("waivers", j.waivers, "Causes that were knowingly not looked for.");
  v.text("note", j.note, TextRule::free, "Anything worth saying.");
}

template <class V>
void fields(V& v, Seen<V, Ledger>& l) {
  v.header("hingeline-ledger");
  v.text("title", l.title, TextRule::name, "What to call this ledger.");
  v.text("note", l.note, TextRule::free, "Anything worth saying.");
  v.units("units", l.units, "The unit of a length typed without one; left out: mm.");
  v.list("jobs", l.jobs, "The finished jobs.", true);
  v.list("forgotten", l.forgotten,
         "What is no longer to count: the jobs stay, nothing is learned from them.");
}

}  // namespace hingeline::record
