#pragma once
/// \file
/// How each key fits where the instrument is played: cold, warm, dry and wet.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/said.h"
#include "hingeline/body/season.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/worked.h"

namespace hingeline::service {

struct SeasonKey {
  std::string id;
  std::string name;
  std::optional<Error> problem;  ///< of the key itself; nothing else is then worked out
  Worked coldest;                ///< end play at the bench's moisture
  Worked bench;
  Worked warmest;
  Worked least;  ///< over cold, warm, dry and wet
  Worked most;
  body::Air least_in;
  body::Air most_in;
  Length needed;   ///< what has to be left anywhere: out of line, out of round, oil, the shop's least
  Length allowed;  ///< the most anywhere: the window's, pad gap and rock
  body::BenchWindow window;  ///< end play at the bench that holds everywhere
  body::Sure binds = body::Sure::no;
  body::Sure rattles = body::Sure::no;
  bool tight = false;          ///< free everywhere, but not by what is needed
  bool wrong_already = false;  ///< surely binds or rattles at the bench: not the season's doing
  std::string verdict;         ///< "holds", "binds in the cold", "may rattle in the warm", ...
  Said because;
};

struct SeasonResult {
  std::string title;
  std::string service;                         ///< name of the range; empty: the document's own
  double bench = 0, coldest = 0, warmest = 0;  ///< degC
  double drier = 0, wetter = 0;  ///< % of moisture content; 0 where the body does not move with it
  std::vector<SeasonKey> keys;
  std::vector<Said> notes;
};

/// Every key of the result, or the one asked for. `service` names a range of the shop's and comes before what
/// the document says; empty: the document's. Fault::not_found for a range that is not there; Fault::content
/// where nothing says how body or keys expand.
Expected<SeasonResult> season(const InstrumentResult& result, const record::Instrument& instrument,
                              const record::Shop& shop, const std::string& service);

/// "in the cold", "when warm and dry", "at the bench".
std::string where(body::Air air);

/// Lengths in mm; `only_key` empty: all keys.
std::string to_json(const SeasonResult& result, LengthUnit unit, const std::string& only_key = {});

}  // namespace hingeline::service
