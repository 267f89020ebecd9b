#pragma once
/// \file
/// Inputs and readings become one joint distribution.

#include <vector>

#include "truth.h"

namespace hingeline::belief {

/// The joint distribution of all inputs: mean and covariance, row by row.
struct Gaussian {
  std::vector<double> mean;
  std::vector<double> covariance;
  [[nodiscard]] std::size_t size() const { return mean.size(); }
  [[nodiscard]] double cov(std::size_t i, std::size_t j) const { return covariance[i * mean.size() + j]; }
  double& cov(std::size_t i, std::size_t j) { return covariance[i * mean.size() + j]; }
};

/// All inputs of the key set to these values.
KeyGeometry with_values(const KeyKnowledge& key, const std::vector<double>& values);

/// The same knowledge with stops in the place of protrusions (see estimate()).
Expected<KeyKnowledge> with_stops(const KeyKnowledge& key);

struct Fused {
  Gaussian state;
  std::vector<Agreement> agreements;
};

/// Gauss-Newton: each step starts from the given inputs and takes in every reading linearised at
/// the last step's result, until nothing moves by a thousandth of its uncertainty.
Expected<Fused> fuse(const KeyKnowledge& key);

/// The joint distribution's axes: one step of a standard deviation along each, as columns whose
/// outer products add up to the covariance. Inputs are taken in the order given, so that an axis
/// named after an input holds what is still open once all before it are known.
struct Axis {
  std::size_t input;
  std::vector<double> step;
};
std::vector<Axis> axes_of(const Gaussian& state, const std::vector<std::size_t>& order);

}  // namespace hingeline::belief
