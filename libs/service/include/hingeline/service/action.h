#pragma once
/// \file
/// How the keys of an instrument move: springs, touch, oil, the way back; and which oil to take.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/reading.h"
#include "hingeline/movement/springs.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/worked.h"

namespace hingeline::service {

enum class ActionVerdict {
  quick,          ///< back in time, at the bench and at the coldest it is played at
  sluggish_cold,  ///< in time at the bench, not at the coldest
  sluggish,       ///< not in time at the bench
  stays,          ///< does not come back
  binds,          ///< no room for a film in a joint
  cannot_tell     ///< something needed is nowhere said
};
/// "quick", "sluggish in the cold", "sluggish", "stays", "binds", "cannot tell".
const char* word(ActionVerdict verdict);

/// One size of needle spring, bent to give the touch wanted.
struct WireRow {
  std::string name;
  movement::WireOption option;
  bool best = false;
};

struct KeyAction {
  std::string id;
  std::string name;
  ActionVerdict verdict = ActionVerdict::cannot_tell;
  std::vector<std::string> says;  ///< what to know and do, most pressing first; lengths in the unit asked for
  std::vector<Worked> figures;    ///< in the order they are shown; those that do not apply are left out
  /// Name of the thickest oil it still returns with in time at the coldest, its ± counted; absent: none does,
  /// or it cannot be told.
  std::optional<std::string> thickest;
  std::vector<WireRow> wires;  ///< needle springs only
  std::string wires_say;       ///< what the sizes are chosen for

  [[nodiscard]] const Worked* figure(const std::string& code) const;
};

/// One oil over the instrument.
struct OilRow {
  std::string name;
  Worked bench;                ///< mPa s
  std::optional<Worked> cold;  ///< at the coldest it is played at; absent: not said
  int in_time = 0;             ///< keys back in time at the coldest (else at the bench)
  int quiet = 0;               ///< keys whose knock its film takes up at the warmest (else at the bench)
  bool in_use = false;
};

struct ActionResult {
  std::string title;
  LengthUnit units = LengthUnit::mm;
  double bench = 20;  ///< degC
  std::optional<double> cold;
  std::optional<double> warm;
  double limit = 40;      ///< ms
  std::string oil;        ///< in use, or taken
  bool oil_said = false;  ///< the instrument names it
  std::vector<KeyAction> keys;
  std::vector<OilRow> oils;         ///< thinnest at the bench first
  int told = 0;                     ///< keys that the counts of `oils` are out of
  std::vector<std::string> advice;  ///< which oil, and what no oil cures
};

/// Every key of the result, in its order; the documents are those the result was worked out from.
/// Fault::content for an oil whose figures cannot be.
Expected<ActionResult> work_action(const record::Instrument& instrument, const record::Shop& shop,
                                   const InstrumentResult& result, LengthUnit unit);
/// Fault::not_found names the nearest id.
Expected<const KeyAction*> find_key(const ActionResult& result, const std::string& id);

/// `only_key` empty: all keys.
std::string to_json(const ActionResult& result, const std::string& only_key = {});

}  // namespace hingeline::service
