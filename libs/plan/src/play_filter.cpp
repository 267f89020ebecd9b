#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "hingeline/plan/cutting.h"

namespace hingeline::plan {
namespace {

/// Nodes are at most so far apart in ln.
constexpr double kFinest = 0.11;
constexpr double kLeastBetween = 0.02;
/// In standard deviations of ln from bite to bite: a node stands for its neighbourhood.
constexpr double kNodeShare = 0.75;
/// Of the bell from bite to bite, what one piece keeps of its variance.
constexpr double kPieceVariance = 0.4;
/// Parts lighter than this are dropped.
constexpr double kLightest = 1e-8;
/// Before two readings that agree against everything: the share of all belief that is put in doubt.
constexpr double kLost = 1e-3;
constexpr Length kLostWidth = millimetres(0.3);
/// Of what was learned about a cutter, when it was put right.
constexpr double kTakenBack = 0.25;
constexpr double kLeastVariance = 1e-12;

double normal_below(double z) {
  if (z < -6.5) return 0;
  if (z > 6.5) return 1;
  return std::erfc(-z / std::numbers::sqrt2) / 2;
}

double square(double v) { return v * v; }

}  // namespace

std::array<PlayFilter::Piece, PlayFilter::kPieces> PlayFilter::pieces(double within) {
  std::array<Piece, kPieces> out;
  double sum = 0;
  for (std::size_t k = 0; k < kPieces; ++k) {
    const double z = static_cast<double>(k) - (kPieces - 1) / 2.0;
    const double variance = kPieceVariance * square(within);
    out[k].weight = std::exp(-z * z / 2 / (1 - kPieceVariance));
    out[k].mean = std::exp(z * within + variance / 2);
    out[k].variance = square(out[k].mean) * std::expm1(variance);
    sum += out[k].weight;
  }
  for (Piece& p : out) p.weight /= sum;
  return out;
}

PlayFilter::PlayFilter(Length end_play, Length standard, std::vector<TakeOff> cutters) {
  for (const TakeOff& t : cutters) {
    Cutter c;
    c.before = t;
    const double between = std::max(t.between, kLeastBetween);
    const double reach = kFarthestRate * between;
    const double apart = std::min({kFinest, between / 2, std::max(t.within, 0.05) / kNodeShare});
    const int half = static_cast<int>(std::ceil(reach / apart));
    const double step = reach / half;
    c.within = std::max(t.within, kNodeShare * step);
    double sum = 0;
    double usual = 0;
    for (int k = -half; k <= half; ++k) {
      const double u = k * step;
      c.log_rate.push_back(t.log_median + u);
      c.rate.push_back(std::exp(c.log_rate.back()));
      const double z = u / between;
      c.usual.push_back(std::exp(-z * z / 2));
      usual += c.usual.back();
      c.prior.push_back((1 - kOddCutter) * std::exp(-z * z / 2) + kOddCutter / 2 * std::exp(-z * z / 8));
      sum += c.prior.back();
    }
    for (double& p : c.prior) p /= sum;
    for (double& p : c.usual) p /= usual;
    c.share = c.prior;
    cutters_.push_back(std::move(c));
  }
  pieces_ = pieces(cutters_[0].within);
  for (std::size_t node = 0; node < cutters_[0].prior.size(); ++node) {
    parts_.push_back({node, false, false, cutters_[0].prior[node], end_play.raw(),
                      std::max(square(standard.raw()), kLeastVariance)});
  }
}

void PlayFilter::normalise() {
  double sum = 0;
  for (const Part& p : parts_) sum += p.weight;
  double kept = 0;
  std::erase_if(parts_, [&](const Part& p) { return !(p.weight > kLightest * sum); });
  for (const Part& p : parts_) kept += p.weight;
  for (Part& p : parts_) p.weight /= kept;
}

/// One part, by its moments, for each kind of each node.
void PlayFilter::collapse(bool keep_nothing) {
  std::vector<Part> out;
  out.reserve(parts_.size());
  std::size_t at = 0;
  while (at < parts_.size()) {
    std::array<Part, 4> kinds{};
    std::array<double, 4> seconds{};
    const std::size_t node = parts_[at].node;
    // Measured from one of the means, so that no digits are lost where end play is far from 0.
    const double origin = parts_[at].mean;
    for (; at < parts_.size() && parts_[at].node == node; ++at) {
      const Part& p = parts_[at];
      const bool nothing = keep_nothing && p.nothing;
      const std::size_t kind = (nothing ? 1U : 0U) + (p.slip ? 2U : 0U);
      kinds[kind].node = node;
      kinds[kind].nothing = nothing;
      kinds[kind].slip = p.slip;
      kinds[kind].weight += p.weight;
      kinds[kind].mean += p.weight * (p.mean - origin);
      seconds[kind] += p.weight * (p.variance + square(p.mean - origin));
    }
    for (std::size_t kind = 0; kind < kinds.size(); ++kind) {
      Part& p = kinds[kind];
      if (!(p.weight > 0)) continue;
      p.mean /= p.weight;
      p.variance = std::max(seconds[kind] / p.weight - square(p.mean), kLeastVariance);
      p.mean += origin;
      out.push_back(p);
    }
  }
  parts_ = std::move(out);
}

void PlayFilter::bitten(std::size_t cutter, double turns) {
  take_up(cutter);
  collapse(false);
  std::vector<Part> out;
  out.reserve(parts_.size() * (kPieces + 1));
  for (const Part& p : parts_) {
    Part after = p;
    after.nothing = true;
    after.weight = p.weight * kNothing;
    out.push_back(after);
    const double full = turns * cutters_[in_use_].rate[p.node];
    after.nothing = false;
    for (const Piece& piece : pieces_) {
      after.weight = p.weight * (1 - kNothing) * piece.weight;
      after.mean = p.mean - full * piece.mean;
      after.variance = p.variance + square(full) * piece.variance;
      out.push_back(after);
    }
  }
  parts_ = std::move(out);
  normalise();
}

void PlayFilter::opened(Length amount, Length standard) {
  for (Part& p : parts_) {
    p.mean += amount.raw();
    p.variance += square(standard.raw());
  }
}

void PlayFilter::doubt(Length reading) {
  const double from = mean().raw();
  const double width = std::max(kLostWidth.raw(), std::abs(reading.raw() - from));
  std::vector<Part> out;
  out.reserve(parts_.size() * 2);
  for (const Part& p : parts_) {
    out.push_back(p);
    out.back().weight *= 1 - kLost;
    out.push_back(p);
    out.back().weight *= kLost;
    out.back().variance += square(width);
  }
  parts_ = std::move(out);
}

void PlayFilter::read(Length value, Length standard, double slip) {
  const double noise = square(standard.raw());
  const bool slips = slip > 0;
  std::vector<Part> out;
  out.reserve(parts_.size() * (slips ? 2 : 1));
  double most = -1e300;
  // Weights as logs first: a reading may be so far off that all likelihoods vanish.
  for (const Part& p : parts_) {
    const double total = p.variance + noise;
    const double off = value.raw() - p.mean;
    Part told = p;
    told.slip = false;
    told.weight = std::log(p.weight * (1 - slip)) - off * off / (2 * total) -
                  std::log(2 * std::numbers::pi * total) / 2;
    told.mean += off * p.variance / total;
    told.variance = std::max(p.variance * noise / total, kLeastVariance);
    most = std::max(most, told.weight);
    out.push_back(told);
    if (!slips) continue;
    Part not_told = p;
    not_told.slip = true;
    not_told.weight = std::log(p.weight * slip * kSlipDensity);
    most = std::max(most, not_told.weight);
    out.push_back(not_told);
  }
  for (Part& p : out) p.weight = std::exp(p.weight - most);
  parts_ = std::move(out);
  normalise();
  collapse(true);
}

std::vector<double> PlayFilter::shares(std::size_t cutter) const {
  if (cutter != in_use_) return cutters_[cutter].share;
  std::vector<double> out(cutters_[cutter].rate.size(), 0.0);
  for (const Part& p : parts_) out[p.node] += p.weight;
  return out;
}

/// End play and take-off made independent, with these shares of the nodes.
void PlayFilter::spread(const std::vector<double>& shares) {
  for (Part& p : parts_) p.node = 0;
  collapse(true);
  const std::vector<Part> kinds = std::move(parts_);
  parts_.clear();
  parts_.reserve(kinds.size() * shares.size());
  for (std::size_t node = 0; node < shares.size(); ++node) {
    for (Part p : kinds) {
      p.node = node;
      p.weight *= shares[node];
      parts_.push_back(p);
    }
  }
  normalise();
}

void PlayFilter::take_up(std::size_t cutter) {
  if (cutter == in_use_) return;
  cutters_[in_use_].share = shares(in_use_);
  in_use_ = cutter;
  pieces_ = pieces(cutters_[in_use_].within);
  spread(cutters_[in_use_].share);
}

void PlayFilter::widen(std::size_t cutter) {
  std::vector<double> now = shares(cutter);
  for (std::size_t node = 0; node < now.size(); ++node) {
    now[node] = (1 - kTakenBack) * now[node] + kTakenBack * cutters_[cutter].usual[node];
  }
  if (cutter == in_use_) {
    spread(now);
  } else {
    cutters_[cutter].share = std::move(now);
  }
}

double PlayFilter::tail(Length value, Length standard) const {
  double sum = 0;
  for (const Part& p : parts_) {
    sum += p.weight * normal_below((value.raw() - p.mean) / std::sqrt(p.variance + square(standard.raw())));
  }
  return std::clamp(2 * std::min(sum, 1 - sum), 0.0, 1.0);
}

double PlayFilter::slipped() const {
  double sum = 0;
  for (const Part& p : parts_) sum += p.slip ? p.weight : 0;
  return sum;
}

double PlayFilter::took_nothing() const {
  double sum = 0;
  for (const Part& p : parts_) sum += p.nothing ? p.weight : 0;
  return sum;
}

double PlayFilter::below(Length edge) const {
  double sum = 0;
  for (const Part& p : parts_) sum += p.weight * normal_below((edge.raw() - p.mean) / std::sqrt(p.variance));
  return std::clamp(sum, 0.0, 1.0);
}

Length PlayFilter::mean() const {
  double sum = 0;
  for (const Part& p : parts_) sum += p.weight * p.mean;
  return millimetres(sum);
}

Length PlayFilter::standard() const {
  const double middle = mean().raw();
  double sum = 0;
  for (const Part& p : parts_) sum += p.weight * (p.variance + square(p.mean - middle));
  return millimetres(std::sqrt(sum));
}

Length PlayFilter::standard_unless_slip() const {
  double weight = 0;
  double middle = 0;
  for (const Part& p : parts_) {
    if (p.slip) continue;
    weight += p.weight;
    middle += p.weight * p.mean;
  }
  if (!(weight > 0)) return standard();
  middle /= weight;
  double sum = 0;
  for (const Part& p : parts_) {
    if (!p.slip) sum += p.weight * (p.variance + square(p.mean - middle));
  }
  return millimetres(std::sqrt(sum / weight));
}

TakeOff PlayFilter::rate(std::size_t cutter) const {
  const std::vector<double> now = shares(cutter);
  const Cutter& c = cutters_[cutter];
  TakeOff out = c.before;
  double middle = 0;
  for (std::size_t node = 0; node < now.size(); ++node) middle += now[node] * c.log_rate[node];
  double sum = 0;
  for (std::size_t node = 0; node < now.size(); ++node) sum += now[node] * square(c.log_rate[node] - middle);
  out.log_median = middle;
  out.between = std::sqrt(sum);
  return out;
}

double PlayFilter::risk(double turns, Length low) const {
  double sum = 0;
  for (const Part& p : parts_) {
    const double full = turns * cutters_[in_use_].rate[p.node];
    const double room = p.mean - low.raw();
    double passed = kNothing * normal_below(-room / std::sqrt(p.variance));
    for (const Piece& piece : pieces_) {
      passed +=
          (1 - kNothing) * piece.weight *
          normal_below((full * piece.mean - room) / std::sqrt(p.variance + square(full) * piece.variance));
    }
    sum += p.weight * passed;
  }
  return std::clamp(sum, 0.0, 1.0);
}

double PlayFilter::risk_from(Length end_play, double turns, Length low) const {
  const std::vector<double> now = shares(in_use_);
  const double room = (end_play - low).raw();
  double sum = 0;
  for (std::size_t node = 0; node < now.size(); ++node) {
    const double full = turns * cutters_[in_use_].rate[node];
    double passed = room < 0 ? kNothing : 0;
    for (const Piece& piece : pieces_) {
      passed += (1 - kNothing) * piece.weight *
                normal_below((full * piece.mean - room) /
                             std::sqrt(square(full) * piece.variance + kLeastVariance));
    }
    sum += now[node] * passed;
  }
  return std::clamp(sum, 0.0, 1.0);
}

}  // namespace hingeline::plan
