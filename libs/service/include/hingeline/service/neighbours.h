#pragma once
/// \file
/// Why each key of an instrument is loose or binds, with what its neighbours say of it: a bent body shows in
/// several keys at once, with a sign for each side of the body.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "hingeline/belief/inquiry.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/lead.h"
#include "hingeline/service/learned.h"

namespace hingeline::service {

/// What leads every key of the instrument: the seed of the samples, the shop's ledger, who works.
struct Asking {
  std::uint64_t seed = 1;
  unsigned threads = 1;              ///< 0: as many as the machine has; leave no trace
  const Learned* learned = nullptr;  ///< null: presets
  std::string person;
};

/// One key's causes by what the document says of it.
struct KeyCauses {
  const KeyResult* key = nullptr;  ///< of the result it was made from
  std::vector<belief::CauseShare> causes;
  std::vector<std::vector<belief::Evidence>> evidence;  ///< for and against, in the order of `causes`
  std::optional<belief::Worth> next;        ///< check worth its minutes; none: the causes are sure
  std::vector<belief::Barrier> before_cut;  ///< what stands before metal, nothing being waived
  /// Its own readings say something of a bend: it has some, and its line's place off the axis is known.
  bool tells_of_bend = false;
  double bend_alone = 0;  ///< chance of a bent body by this key alone, and by all of them
  double bend = 0;
  std::optional<Error> problem;  ///< no causes then
};

struct InstrumentCauses {
  std::vector<KeyCauses> keys;  ///< in the document's order, those without geometry too
  /// Keys that tell of a bend. With fewer than two nothing passes between them.
  std::size_t telling = 0;
  bool read = false;  ///< the straightedge speaks too
  /// With neither two keys nor a straightedge the rest is not said.
  [[nodiscard]] bool known() const { return telling >= 2 || read; }
  double bend = 0;  ///< chance that the body is bent, by all of them
  Length bow;       ///< if it is: sagitta over `chord`, above 0: hollow on the side where off_axis is above 0
  Length bow_standard;  ///< standard deviation
  Length chord;
};

/// Every key alone, then with what the others say of a bend.
InstrumentCauses causes_of(const InstrumentResult& instrument, const Asking& asking);
/// What the other keys and the straightedge say of a bend to this one. `key` is of `instrument`.
Around around(const KeyResult& key, const InstrumentResult& instrument, const Asking& asking);

/// What is to be said of the body, in one sentence.
std::string tell_bend(const InstrumentCauses& causes, LengthUnit unit);
/// `only_key` empty: all keys.
std::string to_json(const InstrumentCauses& causes, LengthUnit unit, const std::string& only_key = {});

}  // namespace hingeline::service
