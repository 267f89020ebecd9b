#pragma once
/// \file
/// The endurance rig: from its document and a moment to the count, the finish, and what its specimens show.
///
/// Everything follows from the document and the moment: a rig survives any restart of the computer that
/// counts for it. What is done at the rig (started, stopped, looked at) is one more line of the document.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/base/moment.h"
#include "hingeline/endurance/life.h"
#include "hingeline/endurance/rig.h"
#include "hingeline/record/rig.h"
#include "hingeline/service/worked.h"

namespace hingeline::service {

struct RigSpecimenResult {
  std::string id;
  std::string name;
  endurance::Specimen specimen;
};

/// One look at a specimen.
struct RigLook {
  LocalMoment at;
  std::string specimen;
  record::RigFinding finding = record::RigFinding::fine;
  std::string note;
  std::int64_t closings = 0;  ///< made by then
};

/// A statement on how long such keys last: how it came about, and its words.
struct RigStatement {
  Worked worked;    ///< its value; for a pair of bounds, the value in between
  double low = 0;   ///< NaN: no such bound
  double high = 0;  ///< NaN: no such bound; infinite: nothing bounds it
  std::string words;
};

struct RigResult {
  std::string title;
  LocalMoment now;
  endurance::Count count;
  std::optional<endurance::Rate> rate;  ///< none: it stands still
  std::optional<endurance::Rate> last_rate;
  std::int64_t ran = 0;  ///< seconds
  std::int64_t target = 0;
  endurance::Finish finish;
  double confidence = 0.9;
  std::vector<RigSpecimenResult> specimens;
  std::vector<RigLook> looks;  ///< up to now, in order of time
  std::size_t ahead = 0;       ///< inspections and periods that lie after now, left out
  std::vector<RigStatement> statements;
  std::vector<std::string> cautions;
};

/// As the rig stands at `now`; the moment's offset is that of all times shown. Errors carry the document's
/// places.
Expected<RigResult> rig_at(const record::Rig& rig, const LocalMoment& now);
/// As seen from the end of all that is written in it: an error when one entry contradicts another.
Expected<RigResult> rig_as_written(const record::Rig& rig);

/// What is done at the rig: the document's text with it in, or why it cannot be.
struct RigAct {
  enum class Kind { start, pause, rate, inspect } kind = Kind::start;
  std::string rate;      ///< as typed: "2", "2 ± 0.01"
  std::string specimen;  ///< inspect
  record::RigFinding finding = record::RigFinding::fine;
  std::string note;
};
/// Fault::usage when the rig is in no state for it (started while it runs, paused while it stands), when the
/// moment lies before what was written last, or the rate is none; otherwise errors as reading the new text
/// would give.
tl::expected<std::string, record::Errors> rig_with(std::string_view text, const std::string& file,
                                                   const RigAct& act, const LocalMoment& at);
/// "upper-1=fine": the specimen and the finding. Fault::usage otherwise.
Expected<RigAct> inspection_of(const std::string& typed, const std::string& note);

/// The counter in one line: "1 234 567 closings, 24.7 % of 5 000 000; running at 2 a second".
std::string counter_line(const RigResult& rig);
/// When it will be done, in one line.
std::string finish_line(const RigResult& rig);
std::string to_json(const RigResult& rig);

}  // namespace hingeline::service
