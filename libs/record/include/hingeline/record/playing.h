#pragma once
/// \file
/// How an instrument is played, what its end plays were before, and what a shop reckons wear with. All of it
/// may be left out.

#include <string>
#include <vector>

#include "hingeline/record/entry.h"

namespace hingeline::record {

/// "playing" of an instrument. Ranges hold nine times in ten.
struct Playing {
  NumberEntry hours;     ///< h/week
  NumberEntry closings;  ///< closings/h of one key
  std::string surfaces;  ///< name of a wear pair of the shop's; empty: the shop's first
  Text read_on;          ///< the day the end plays were read; empty: not said
  Where place;
  friend bool operator==(const Playing&, const Playing&) = default;
};

/// What stands at the beginning of a past end play: a fit, or a mere reading.
enum class PastKind { fitted, read };
const char* word(PastKind v);
/// An end play of a key on an earlier day.
struct PastPlay {
  std::string on;  ///< "2023-04-01"
  PastKind kind = PastKind::read;
  LengthEntry end_play;
  Where place;
  friend bool operator==(const PastPlay&, const PastPlay&) = default;
};

/// Two metals that turn on each other. Ranges hold nine times in ten.
struct WearPair {
  std::string name;         ///< "brass on steel"
  NumberEntry coefficient;  ///< 1e-6: k of V = k F s/H
  NumberEntry hardness;     ///< MPa, of the softer one
  Where place;
  friend bool operator==(const WearPair&, const WearPair&) = default;
};
/// A shop's figures for wear.
struct WearPresets {
  std::vector<WearPair> pairs;
  NumberEntry hours;     ///< h/week
  NumberEntry closings;  ///< closings/h of one key
  NumberEntry load;      ///< N, on one end of a key
  AngleEntry swing;      ///< that a key turns through from open to closed
  NumberEntry share;     ///< of a flank or face that carries, 0 to 1
  LengthEntry edge;      ///< along the axis, that an edge has run in to
  NumberEntry unsteady;  ///< how much growth differs from one time to the next: standard deviation of ln
  friend bool operator==(const WearPresets&, const WearPresets&) = default;
};

}  // namespace hingeline::record
