#include "hingeline/regulation/press.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "core.h"

namespace hingeline::regulation {
namespace {

/// The energy of keys and corks, N mm, over the keys' angles within their stops and seats: convex, with a
/// continuous gradient, quadratic wherever the same corks are squeezed.
class Energy {
 public:
  Energy(const Core& core, std::size_t driver, double moment, const Gives& gives) : core_(core) {
    for (std::size_t k = 0; k < core.keys.size(); ++k) {
      push_.push_back((k == driver ? moment : 0) - gives.springs[k].raw());
      most_.push_back(core.keys[k].has_pad ? core.keys[k].seat() : std::numeric_limits<double>::infinity());
    }
    for (const Stiffness s : gives.links) stiffness_.push_back(s.raw());
  }

  [[nodiscard]] std::size_t size() const { return push_.size(); }
  [[nodiscard]] double most(std::size_t k) const { return most_[k]; }
  [[nodiscard]] double push(std::size_t k) const { return push_[k]; }
  [[nodiscard]] double squeezed(std::size_t n, const std::vector<double>& turned) const {
    const CoreLink& l = core_.links[n];
    return l.driver_arm * turned[l.from] - l.foot_arm * turned[l.to] - l.loses();
  }
  [[nodiscard]] double force(std::size_t n, const std::vector<double>& turned) const {
    return stiffness_[n] * std::max(0.0, squeezed(n, turned));
  }
  /// Moments that would open each key: spring and corks less the finger.
  [[nodiscard]] std::vector<double> gradient(const std::vector<double>& turned) const {
    std::vector<double> g(size());
    for (std::size_t k = 0; k < size(); ++k) g[k] = -push_[k];
    for (std::size_t n = 0; n < core_.links.size(); ++n) {
      const double f = force(n, turned);
      g[core_.links[n].from] += f * core_.links[n].driver_arm;
      g[core_.links[n].to] -= f * core_.links[n].foot_arm;
    }
    return g;
  }
  /// Newton's step on the free keys, the squeezed corks' stiffness with a trace of stiffness on every key.
  [[nodiscard]] std::vector<double> step(const std::vector<double>& turned,
                                         const std::vector<double>& gradient, const std::vector<bool>& free,
                                         double trace) const {
    std::vector<std::size_t> column;
    std::vector<std::size_t> at(size(), kStop);
    for (std::size_t k = 0; k < size(); ++k) {
      if (!free[k]) continue;
      at[k] = column.size();
      column.push_back(k);
    }
    const std::size_t m = column.size();
    std::vector<double> a(m * m, 0);
    std::vector<double> b(m);
    for (std::size_t i = 0; i < m; ++i) {
      a[i * m + i] = trace;
      b[i] = -gradient[column[i]];
    }
    for (std::size_t n = 0; n < core_.links.size(); ++n) {
      if (squeezed(n, turned) < 0) continue;
      const CoreLink& l = core_.links[n];
      const std::size_t i = at[l.from];
      const std::size_t j = at[l.to];
      if (i != kStop) a[i * m + i] += stiffness_[n] * l.driver_arm * l.driver_arm;
      if (j != kStop) a[j * m + j] += stiffness_[n] * l.foot_arm * l.foot_arm;
      if (i != kStop && j != kStop) {
        a[i * m + j] -= stiffness_[n] * l.driver_arm * l.foot_arm;
        a[j * m + i] -= stiffness_[n] * l.driver_arm * l.foot_arm;
      }
    }
    // Cholesky: the trace keeps every pivot above 0.
    for (std::size_t c = 0; c < m; ++c) {
      for (std::size_t k = 0; k < c; ++k) a[c * m + c] -= a[c * m + k] * a[c * m + k];
      a[c * m + c] = std::sqrt(std::max(a[c * m + c], trace * 1e-3));
      for (std::size_t r = c + 1; r < m; ++r) {
        for (std::size_t k = 0; k < c; ++k) a[r * m + c] -= a[r * m + k] * a[c * m + k];
        a[r * m + c] /= a[c * m + c];
      }
    }
    for (std::size_t r = 0; r < m; ++r) {
      for (std::size_t k = 0; k < r; ++k) b[r] -= a[r * m + k] * b[k];
      b[r] /= a[r * m + r];
    }
    for (std::size_t r = m; r-- > 0;) {
      for (std::size_t k = r + 1; k < m; ++k) b[r] -= a[k * m + r] * b[k];
      b[r] /= a[r * m + r];
    }
    std::vector<double> out(size(), 0);
    for (std::size_t i = 0; i < m; ++i) out[column[i]] = b[i];
    return out;
  }
  /// How far along `step` (0 to 1, within stops and seats) the energy is least: its slope is piecewise
  /// linear.
  [[nodiscard]] double least_along(const std::vector<double>& turned, const std::vector<double>& step) const {
    double far = std::numeric_limits<double>::infinity();
    for (std::size_t k = 0; k < size(); ++k) {
      if (step[k] > 0) far = std::min(far, (most_[k] - turned[k]) / step[k]);
      if (step[k] < 0) far = std::min(far, -turned[k] / step[k]);
    }
    std::vector<double> ends;
    double slope = 0;
    double bend = 0;
    for (std::size_t k = 0; k < size(); ++k) slope -= push_[k] * step[k];
    struct Turn {
      double at;
      double bend;
    };
    std::vector<Turn> turns;
    for (std::size_t n = 0; n < core_.links.size(); ++n) {
      const CoreLink& l = core_.links[n];
      const double now = squeezed(n, turned);
      const double per = l.driver_arm * step[l.from] - l.foot_arm * step[l.to];
      const double k = stiffness_[n] * per * per;
      const bool carries = now > 0 || (now == 0 && per > 0);
      if (carries) {
        slope += stiffness_[n] * std::max(0.0, now) * per;
        bend += k;
      }
      if (per != 0 && -now / per > 0) turns.push_back({-now / per, carries ? -k : k});
    }
    std::sort(turns.begin(), turns.end(), [](const Turn& a, const Turn& b) { return a.at < b.at; });
    // What rounding leaves of the slope where the last cork lets go is none.
    const double nothing = 1e-13 * std::abs(slope);
    double at = 0;
    for (std::size_t n = 0;; ++n) {
      const double next = std::min(far, n < turns.size() ? turns[n].at : far);
      if (slope >= -nothing) return at;
      if (bend > 0 && at - slope / bend <= next) return at - slope / bend;
      if (next >= far) return far;
      slope += bend * (next - at);
      bend += turns[n].bend;
      at = next;
    }
  }

 private:
  const Core& core_;
  std::vector<double> push_;
  std::vector<double> most_;
  std::vector<double> stiffness_;
};

}  // namespace

Expected<Pressed> press(const Chain& chain, std::size_t driver, Torque moment, const Gives& gives) {
  const Core core(chain);
  if (driver >= core.keys.size()) return fail(Fault::not_found, "the pressed key is not there");
  if (gives.links.size() != core.links.size() || gives.springs.size() != core.keys.size())
    return fail(Fault::content, "stiffness or springs are not given for every link or key");
  for (const Stiffness s : gives.links) {
    if (!is_finite(s) || !(s.raw() > 0)) return fail(Fault::content, "a cork's stiffness is not above 0");
  }
  for (const Torque s : gives.springs) {
    if (!is_finite(s) || s.raw() < 0) return fail(Fault::content, "a spring's moment is below 0");
  }
  if (!is_finite(moment) || moment.raw() < 0) return fail(Fault::content, "the finger's moment is below 0");
  const auto motion = core.motion(driver);
  bool stops = false;
  for (std::size_t k = 0; k < core.keys.size(); ++k) stops = stops || core_closing(core, motion, driver, k);
  if (!stops)
    return fail(Fault::geometry, fmt::format("nothing stops {}: it moves no pad", chain.keys()[driver].name),
                "a pad on it, or a link to one");

  const Energy energy(core, driver, moment.raw(), gives);
  double largest = 0;
  double stiffest = 0;
  for (std::size_t k = 0; k < energy.size(); ++k) largest = std::max(largest, std::abs(energy.push(k)));
  for (std::size_t n = 0; n < core.links.size(); ++n) {
    const CoreLink& l = core.links[n];
    const double arm = std::max(l.driver_arm, l.foot_arm);
    stiffest = std::max(stiffest, gives.links[n].raw() * arm * arm);
    largest = std::max(largest, gives.links[n].raw() * arm * std::max(0.0, -l.loses()));
  }
  const double close = 1e-10 * largest + 1e-14 * stiffest;
  const double trace = 1e-9 * std::max(stiffest, 1e-6);
  std::vector<double> turned(energy.size(), 0);
  constexpr int kMostSteps = 10000;
  int steps = 0;
  for (;; ++steps) {
    const auto g = energy.gradient(turned);
    std::vector<bool> free(energy.size());
    double off = 0;
    for (std::size_t k = 0; k < energy.size(); ++k) {
      const bool stopped = (turned[k] <= 0 && g[k] >= 0) || (turned[k] >= energy.most(k) && g[k] <= 0);
      free[k] = !stopped;
      if (free[k]) off = std::max(off, std::abs(g[k]));
    }
    if (off <= close) break;
    if (steps == kMostSteps) return fail(Fault::geometry, "the keys under the finger come to no rest");
    std::vector<double> step = energy.step(turned, g, free, trace);
    // A key on its stop or seat that would be carried into it stays there.
    for (std::size_t k = 0; k < energy.size(); ++k) {
      const bool into = (step[k] < 0 && turned[k] <= 0) || (step[k] > 0 && turned[k] >= energy.most(k));
      if (!free[k] || !into) continue;
      free[k] = false;
      step = energy.step(turned, g, free, trace);
      k = static_cast<std::size_t>(-1);
    }
    const double share = energy.least_along(turned, step);
    for (std::size_t k = 0; k < energy.size(); ++k) {
      turned[k] += share * step[k];
      // Rounding may stop a key a hair before its stop or seat.
      constexpr double kHair = 1e-14;
      if (turned[k] < kHair) turned[k] = 0;
      if (turned[k] > energy.most(k) - kHair) turned[k] = energy.most(k);
    }
  }
  Pressed out;
  const auto g = energy.gradient(turned);
  for (std::size_t k = 0; k < energy.size(); ++k) {
    const CoreKey& key = core.keys[k];
    out.turned.push_back(radians(turned[k]));
    const bool seated = key.has_pad && turned[k] >= energy.most(k);
    out.open.push_back(key.has_pad
                           ? std::optional(millimetres(seated ? 0 : key.opening - key.arm * turned[k]))
                           : std::nullopt);
    out.at_pad.push_back(newtons(seated ? std::max(0.0, -g[k]) / key.arm : 0));
  }
  for (std::size_t n = 0; n < core.links.size(); ++n) {
    out.at_link.push_back(newtons(energy.force(n, turned)));
    out.squeezed.push_back(millimetres(std::max(0.0, energy.squeezed(n, turned))));
  }
  return out;
}

}  // namespace hingeline::regulation
