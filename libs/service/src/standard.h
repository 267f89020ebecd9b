#pragma once
/// \file
/// What an entry of a document is worth as a number: its value, how far it may be off, and how that is
/// spread.

#include <vector>

#include "hingeline/record/document.h"

namespace hingeline::service {

/// An entry's number, in the entry's inner unit.
struct Reckoned {
  double value = 0;
  double standard = 0;       ///< standard uncertainty; twice of it holds 95 %
  bool rectangular = false;  ///< nearly all of it is an interval's, spread evenly: value ± √3 standard
};

/// The measuring instrument of that name; nullptr where the shop has none.
const record::Measuring* measuring_of(const record::Shop& shop, const std::string& name);

/// One reading by an instrument (type B, JCGM 100:2008, 4.3): its calibration, half a step of its display and
/// the space between two leaves spread evenly, its share of the reading, and the hand's scatter. A leaf that
/// goes in says that the gap lies between it and the next one: the value is the middle of the two.
Reckoned reading_by(const record::Measuring& instrument, Length typed);

/// A known entry's number. Its own ±, else its instrument's, else the shop's for a reading with nothing said;
/// repeats bring the scatter of their mean in place of the hand's (JCGM 100:2008, 4.2, 4.3 and annex G).
Reckoned reckon(const record::LengthEntry& entry, const record::Shop& shop);
Reckoned reckon(const record::AngleEntry& entry, const record::Shop& shop);
/// The same for what no instrument of the shop reads: off by its own ±, and by nothing where it has none.
Reckoned reckon(const record::TemperatureEntry& entry, const record::Shop& shop);
Reckoned reckon(const record::NumberEntry& entry, const record::Shop& shop);

}  // namespace hingeline::service
