#pragma once
/// \file
/// One point in its hole by the reference's reckoning: home, what carries there, clearance before home.

#include <vector>

#include "exact_contact.h"
#include "hingeline/belief/key.h"

namespace hingeline::virtual_bench {

/// What marking ink would be rubbed off by.
enum class Carries {
  flank,  ///< flank on flank, over touching() of its length
  rim,    ///< the mouth, a shoulder on the end face, a rounded part somewhere on the wall
  tip     ///< the edge of the tip or an edge inside on the other's flank, the tip on a floor or ledge
};

class Contact {
 public:
  /// Clearances are kept every `step` (mm) from home to `reach` (mm) short of it; further off they are
  /// reckoned when asked for.
  Contact(const belief::JointGeometry& joint, double step, double reach);

  /// Insertion of the tip, mm.
  [[nodiscard]] double home() const { return home_; }
  [[nodiscard]] Carries carries() const { return carries_; }
  /// Length of the touching flank along the axis, mm.
  [[nodiscard]] double touching() const { return touching_; }
  /// Radial, that far (mm, >= 0) short of home: straight lines between the kept ones. A point that has left
  /// its hole keeps what it had at the mouth.
  [[nodiscard]] double clearance(double short_of_home) const;

 private:
  [[nodiscard]] double reckon(double short_of_home) const;
  void find_what_carries(double rounded_to);

  reference::RealOutline point_;
  reference::RealOutline hole_;
  double step_;
  double home_ = 0;
  Carries carries_ = Carries::flank;
  double touching_ = 0;
  std::vector<double> kept_;
};

}  // namespace hingeline::virtual_bench
