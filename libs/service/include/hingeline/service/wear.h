#pragma once
/// \file
/// Wear over years of playing: for each key, when its fit will be due again, as a range.
///
/// What goes into it is known by its order of magnitude only, the wear coefficient by decades: a range in a
/// document holds nine times in ten, lower end to upper, as a lognormal; a value with its ± likewise. Results
/// are chances, by exact integrals (endurance/wear.h), not draws.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/endurance/wear.h"
#include "hingeline/service/bench.h"

namespace hingeline::service {

/// Of the range that is told: 5 in 100 sooner, 5 in 100 later.
inline constexpr double kTold = 0.9;

/// A number the growth rests on.
struct WearInput {
  std::string name;
  endurance::Lognormal value;
  std::string unit;
  std::string origin;   ///< "read", "preset", ...
  std::string pointer;  ///< in the instrument document; empty: it stands in the shop's
  double share = 0;     ///< of the doubt about the growth, 0 to 1
  std::string meaning;
};

struct KeyWear {
  std::string id;
  std::string name;
  belief::FigureValue now;        ///< end play
  Length edge;                    ///< the window's upper one
  std::string edge_rule;          ///< what sets it
  endurance::Lognormal reckoned;  ///< growth, mm a year, from loads and coefficients
  endurance::Lognormal growth;    ///< after what the key's earlier end plays show
  std::size_t seen = 0;           ///< series of earlier end plays that were used
  std::vector<WearInput> inputs;  ///< of `reckoned`, the largest share of the doubt first
  bool below = false;             ///< it is tighter than its window: to be fitted before wear matters
  double past = 0;                ///< chance that it is due already
  /// Due by then with a chance of 5, 50 and 95 in 100; may be infinite.
  struct Range {
    Duration early;
    Duration middle;
    Duration late;
  };
  Range due;                       ///< left as it is
  Length aim;                      ///< the middle of its window
  Range fitted;                    ///< once fitted to there, as well as it can be read
  std::vector<std::string> rides;  ///< how its two ends carry
  std::vector<Said> notes;
  std::optional<Error> problem;  ///< what keeps it from being said
};

struct WearResult {
  std::string title;
  std::string read_on;  ///< the day the end plays were read
  LengthUnit units = LengthUnit::mm;
  std::vector<KeyWear> keys;
};

/// `today`: a day of the calendar, for an instrument that does not say when its end plays were read. `bench`
/// is work_out() of the same documents. Fault::not_found when the instrument names a wear pair the shop has
/// not; Fault::content for days out of order.
Expected<WearResult> wear_of(const record::Instrument& instrument, const record::Shop& shop,
                             const InstrumentResult& bench, const std::string& today);

/// "4 months to 30 years": whole figures of years, months below one year; "now" and "over 200 years" at the
/// ends.
std::string show_years(const KeyWear::Range& range);
std::string show_years(Duration d);
/// One key in a line or two: now, edge, due again.
std::string tell(const KeyWear& key, LengthUnit unit);
/// How it came about: formula, inputs with their ranges and shares, earlier end plays, cautions.
std::vector<std::string> explain(const KeyWear& key, LengthUnit unit);
/// `only_key` empty: all keys.
std::string to_json(const WearResult& result, LengthUnit unit, const std::string& only_key = {});

}  // namespace hingeline::service
