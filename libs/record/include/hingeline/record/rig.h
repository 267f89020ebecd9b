#pragma once
/// \file
/// The rig document: which keys run on an endurance rig, when it ran and how fast, and what was found on
/// them. The count follows from it and the clock; nothing that runs has to be kept.
///
/// Published form: docs/formats/rig.schema.json. Moments are ISO 8601 with their offset (base/moment.h) and
/// stay as typed.

#include <string>
#include <vector>

#include "hingeline/record/document.h"

namespace hingeline::record {

/// One key on the rig.
struct RigSpecimen {
  std::string id;  ///< unique; small letters, digits, hyphens
  std::string name;
  Where place;
  friend bool operator==(const RigSpecimen&, const RigSpecimen&) = default;
};

/// The rig ran at one rate.
struct RigPeriod {
  Text from;
  Text to;           ///< empty: it runs on
  NumberEntry rate;  ///< closings/s
  Where place;
  friend bool operator==(const RigPeriod&, const RigPeriod&) = default;
};

/// What a look at a specimen found.
enum class RigFinding { fine, failed, out };
const char* word(RigFinding v);

struct RigInspection {
  Text at;
  Text specimen;  ///< its id
  RigFinding finding = RigFinding::fine;
  std::string note;
  Where place;
  friend bool operator==(const RigInspection&, const RigInspection&) = default;
};

/// An endurance rig ("format": "hingeline-rig").
struct Rig {
  std::string title;
  std::string note;
  std::vector<RigSpecimen> specimens;
  NumberEntry target;         ///< closings to reach
  NumberEntry assumed_shape;  ///< range of Weibull shapes to reckon with where failures do not tell it
  NumberEntry confidence;     ///< of what is stated, 0.5 to below 1
  std::vector<RigPeriod> periods;
  std::vector<RigInspection> inspections;
  std::string file;  ///< name it was read under; not part of what it says

  friend bool operator==(const Rig& a, const Rig& b) {
    return a.title == b.title && a.note == b.note && a.specimens == b.specimens && a.target == b.target &&
           a.assumed_shape == b.assumed_shape && a.confidence == b.confidence && a.periods == b.periods &&
           a.inspections == b.inspections;
  }
};

/// As read_instrument() and write_instrument(). The order of periods, and whether an inspection can be, is
/// left to who reckons with them.
tl::expected<Rig, Errors> read_rig(std::string_view text, const std::string& file);
std::string write_rig(const Rig& rig);

}  // namespace hingeline::record
