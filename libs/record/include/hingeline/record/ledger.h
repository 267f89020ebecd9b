#pragma once
/// \file
/// The ledger: a shop's finished jobs, one after the other. What was found, how far each bite went, how long
/// each piece of work took. Nothing in it is worked out, and by custom nothing is taken out again: what is no
/// longer to count is said in `forgotten`, and the jobs stay.
///
/// Published form: docs/formats/ledger.schema.json.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/record/document.h"

namespace hingeline::record {

/// What a key was brought in for.
enum class Complaint { loose, binds, sluggish, noisy };
/// What was found to be the matter; `sound` stands alone.
enum class CauseWord {
  sound,
  short_fit,
  over_cut,
  worn_hole,
  taper_mismatch,
  straight_hole,
  tip_on_floor,
  screw_off,
  loose_thread,
  post_moved,
  bent_body,
  bent_key,
  worn_bore,
  dirt,
  climate
};
enum class WhichEnd { upper, lower };
/// What of a screw or of its hole was measured. The first two are angles, the others lengths.
enum class MeasuredField {
  point_half_angle,
  hole_half_angle,
  tip_diameter,
  point_length,
  shank_diameter,
  head_diameter,
  head_height,
  slot_reach,
  mouth_diameter,
  hole_depth
};
constexpr bool is_angle(MeasuredField f) {
  return f == MeasuredField::point_half_angle || f == MeasuredField::hole_half_angle;
}
const char* word(Complaint v);
const char* word(CauseWord v);
const char* word(WhichEnd v);
const char* word(MeasuredField v);
/// The subject of that word, as typed on a command line; absent: there is none.
std::optional<Subject> subject_of(std::string_view typed);

/// One cut of a seat.
struct JobBite {
  std::string cutter;  ///< its name in the shop document
  std::optional<WhichEnd> end;
  NumberEntry turns;  ///< above 0
  LengthEntry taken;  ///< off the end play, as the difference of the readings before and after
  Where place;
  friend bool operator==(const JobBite&, const JobBite&) = default;
};
/// How long one operation or check took.
struct JobMinutes {
  std::string of;       ///< "seat-cut", "drive-home", ...: small letters, digits, hyphens
  NumberEntry turns;    ///< of the cutter, reamer or screw, where it is counted in turns
  NumberEntry minutes;  ///< above 0
  Where place;
  friend bool operator==(const JobMinutes&, const JobMinutes&) = default;
};
/// One measure of a screw or its hole. Measures of one job, end and field are of one screw.
struct JobMeasure {
  MeasuredField field = MeasuredField::point_half_angle;
  std::optional<WhichEnd> end;
  AngleEntry angle;    ///< when is_angle(field); else absent
  LengthEntry length;  ///< when not
  Where place;
  friend bool operator==(const JobMeasure&, const JobMeasure&) = default;
};
/// A cause that was knowingly not looked for.
struct JobWaiver {
  CauseWord cause = CauseWord::sound;
  std::string reason;
  Where place;
  friend bool operator==(const JobWaiver&, const JobWaiver&) = default;
};

/// One key, finished.
struct Job {
  std::string id;          ///< unique; small letters, digits, hyphens: "2026-11-25-1"
  std::string date;        ///< "2026-11-25"
  std::string instrument;  ///< free words
  std::string key;         ///< its id in the instrument document, or free words
  std::string person;      ///< who did it; empty: not said
  std::optional<Complaint> complaint;
  std::string pattern;            ///< screw family by its name in the shop document; empty: not known
  std::vector<CauseWord> causes;  ///< found; empty: none was settled on
  std::vector<JobBite> bites;
  std::vector<JobMinutes> minutes;
  std::vector<JobMeasure> measured;
  std::vector<JobWaiver> waivers;
  std::string note;
  Where place;
  friend bool operator==(const Job&, const Job&) = default;
};

/// A shop's finished jobs ("format": "hingeline-ledger").
struct Ledger {
  std::string title;
  std::string note;
  LengthUnit units = LengthUnit::mm;  ///< of a length typed without one
  std::vector<Job> jobs;
  std::vector<Forgotten> forgotten;
  std::string file;  ///< name it was read under; not part of what it says

  friend bool operator==(const Ledger& a, const Ledger& b) {
    return a.title == b.title && a.note == b.note && a.units == b.units && a.jobs == b.jobs &&
           a.forgotten == b.forgotten;
  }
};

/// As read_instrument() and write_instrument().
tl::expected<Ledger, Errors> read_ledger(std::string_view text, const std::string& file);
std::string write_ledger(const Ledger& ledger);

/// Whether a job counts for a subject: no entry of `forgotten` has it out.
bool counts(const Ledger& ledger, const Job& job, Subject subject);

/// The ledger's text with one job more, at its end. The errors of the text as it stands; else those the new
/// text would have: an id that is there already, an impossible date, a figure no document may hold.
tl::expected<std::string, Errors> with_job(std::string_view text, const std::string& file, const Job& job);
/// The ledger's text with one more thing forgotten. Errors as above.
tl::expected<std::string, Errors> with_forgotten(std::string_view text, const std::string& file, Subject what,
                                                 const std::string& before);

/// An entry of what was read or counted at the bench, for a job to be written.
LengthEntry entry_of(Length value, std::optional<Length> plus_minus = {});
AngleEntry entry_of(Angle value, std::optional<Angle> plus_minus = {});
NumberEntry entry_of(double value);

/// The next free id of that day: "2026-11-25-3" when -1 and -2 are taken.
std::string free_id(const Ledger& ledger, const std::string& date);
/// Whether text is a day of the calendar, as "2026-02-28"; years 1900 to 9999.
bool is_date(std::string_view text);
/// The day after a date; is_date(date).
std::string day_after(const std::string& date);

}  // namespace hingeline::record
