#pragma once
/// \file
/// What the instrument's pads leak: of every key by its gap, and by how it lies under each finger; the sum
/// over the instrument; and what a leak that was measured says about both.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/seal/leak.h"
#include "hingeline/seal/pressed.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/worked.h"

namespace hingeline::service {

/// A key under one finger, at the place along its line where it leaks most.
struct FingerLeak {
  std::string name;  ///< of the finger's place; "spring" where the spring alone closes the key
  Worked leak;       ///< mL/s
  Worked gap;        ///< mm: the widest that is left
  Worked hole;       ///< mm: diameter of the hole that leaks as much
  seal::PressedAnywhere found;
};

struct KeyLeak {
  std::string id;
  std::string name;
  std::string nothing;  ///< why nothing can be said of its leak; empty: it can
  /// mm: the most that the play lets the pad stand open at its rim.
  Worked gap;
  Worked leak;      ///< mL/s through that gap less what the pad gives
  Worked hole;      ///< mm
  Length hole_low;  ///< the same for the leak less its ±, and with it
  Length hole_high;
  seal::Leak flow;                          ///< the same with what rules it
  double share = 0;                         ///< of the instrument's total, 0 to 1
  bool too_much = false;                    ///< as a larger hole than the shop allows
  std::vector<FingerLeak> fingers;          ///< in the document's order
  std::string unpressed;                    ///< why there are no fingers; empty: there are
  std::optional<std::size_t> worst_finger;  ///< leaks most
  std::optional<std::size_t> best_finger;   ///< leaks least
};

/// A leak of the whole closed instrument that was measured.
struct MeasuredLeak {
  Worked read;            ///< mL/s, brought to the test pressure
  Worked take_up_before;  ///< mm: what pads were thought to give
  Worked take_up;         ///< mm: what they give by this reading
  Length take_up_low;     ///< holds 95 % from here
  Length take_up_high;
  Flow expected;     ///< sum with that take-up
  Flow unexplained;  ///< what even pads without any give do not explain
  std::string says;  ///< in words
};

struct InstrumentLeak {
  std::string title;
  std::string serial;
  seal::Conditions conditions;
  Length hole_allowed;
  std::vector<KeyLeak> keys;  ///< in the document's order
  Worked total;               ///< mL/s, of all keys by their gaps
  Worked hole;                ///< mm
  Length hole_low;            ///< the same for the total less its ±, and with it
  Length hole_high;
  std::optional<MeasuredLeak> measured;
};

/// Reckons the leaks. `result` is of the same two documents. Fault::content where the leak reading lacks what
/// it needs; a key that cannot be reckoned says so and does not stop the others.
Expected<InstrumentLeak> leak_of(const InstrumentResult& result, const record::Instrument& instrument,
                                 const record::Shop& shop);
Expected<const KeyLeak*> find_key(const InstrumentLeak& leaks, const std::string& id);

/// mL/s: what that key leaks less when its play lets its pad open by `after` instead of `before`, both in mm;
/// with `moved`, `after` is what that opening changes by. What both rest on, the pad's give above all, is one
/// number in both. Below 0 where it leaks more. The key has a pad; Fault::geometry where that or the shop's
/// figures cannot be.
Expected<Worked> leak_cured(const KeyResult& key, const Given& before, const Given& after, bool moved,
                            const record::Instrument& instrument, const record::Shop& shop);

/// Under it the pad closes: less than 0.05 mL/s.
bool seals(const FingerLeak& finger);
/// A leak as it is shown: "12.0 ± 3.1 mL/s"; under 0.05 mL/s "none", or "none to 0.5 mL/s" where its ± says
/// so.
std::string show_leak(const Worked& leak);
/// "1.02 ± 0.11 mm", or "0.4 to 1.3 mm" where the leak is too unsure for a ± of its root; "none" and "none to
/// 0.10 mm" as above.
std::string show_hole(const KeyLeak& key, LengthUnit unit);
/// Whole sentences about one key and about all.
std::vector<std::string> tell(const KeyLeak& key, const InstrumentLeak& all, LengthUnit unit);
std::vector<std::string> tell(const InstrumentLeak& leaks, LengthUnit unit);
/// Everything about one key, each figure with what it rests on.
std::vector<std::string> explain(const KeyLeak& key, const InstrumentLeak& all, LengthUnit unit);

/// Lengths in mm, flows in mL/s, pressures in kPa. `only_key` empty: all keys.
std::string to_json(const InstrumentLeak& leaks, LengthUnit unit, const std::string& only_key = {});

}  // namespace hingeline::service
