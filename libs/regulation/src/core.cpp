#include "core.h"

#include <algorithm>
#include <limits>

namespace hingeline::regulation {
namespace {

/// Upper envelope of lines over driver's angles from 0 up. At least one line.
std::vector<Piece> envelope(std::vector<Piece> lines) {
  // Flattest first; of equally steep ones the highest, of the same line the one named first.
  std::stable_sort(lines.begin(), lines.end(), [](const Piece& a, const Piece& b) {
    return a.rise != b.rise ? a.rise < b.rise : a.start > b.start;
  });
  std::vector<Piece> kept;
  for (Piece& line : lines) {
    if (!kept.empty() && kept.back().rise == line.rise) continue;
    line.from = 0;
    while (!kept.empty()) {
      const double from = (kept.back().start - line.start) / (line.rise - kept.back().rise);
      if (from > kept.back().from) {
        line.from = from;
        break;
      }
      kept.pop_back();
    }
    kept.push_back(line);
  }
  return kept;
}

}  // namespace

Core::Core(const Chain& chain) : order(chain.order()), into(chain.keys().size()) {
  keys.reserve(chain.keys().size());
  for (const ChainKey& k : chain.keys()) {
    CoreKey key;
    if (k.pad) {
      key.has_pad = true;
      key.arm = k.pad->arm.value.raw();
      key.opening = k.pad->opening.value.raw();
    }
    keys.push_back(key);
  }
  links.reserve(chain.links().size());
  for (const Link& l : chain.links()) {
    into[l.to].push_back(links.size());
    links.push_back({l.from, l.to, l.driver_arm.value.raw(), l.foot_arm.value.raw(), l.gap.value.raw(),
                     l.slack.value.raw()});
  }
}

std::vector<std::vector<Piece>> Core::motion(std::size_t driver) const {
  std::vector<std::vector<Piece>> of(keys.size());
  for (const std::size_t k : order) {
    std::vector<Piece> lines{{0, 0, 0, kStop}};
    if (k == driver) lines.push_back({0, 1, 0, kFinger});
    for (const std::size_t n : into[k]) {
      const CoreLink& l = links[n];
      for (const Piece& p : of[l.from]) {
        lines.push_back(
            {0, l.driver_arm * p.rise / l.foot_arm, (l.driver_arm * p.start - l.loses()) / l.foot_arm, n});
      }
    }
    of[k] = envelope(std::move(lines));
  }
  return of;
}

std::vector<double> Core::rest() const {
  std::vector<double> turned(keys.size(), 0);
  for (const std::size_t k : order) {
    for (const std::size_t n : into[k]) {
      const CoreLink& l = links[n];
      turned[k] = std::max(turned[k], (l.driver_arm * turned[l.from] - l.loses()) / l.foot_arm);
    }
  }
  return turned;
}

const Piece& piece_before(const std::vector<Piece>& pieces, double at) {
  std::size_t n = 0;
  while (n + 1 < pieces.size() && pieces[n + 1].from < at) ++n;
  return pieces[n];
}

double angle_at(const std::vector<Piece>& pieces, double at) {
  const Piece& p = piece_before(pieces, at);
  return p.rise * at + p.start;
}

double reaches(const std::vector<Piece>& pieces, double wanted) {
  if (pieces.front().start >= wanted) return 0;
  for (std::size_t n = 0; n < pieces.size(); ++n) {
    const Piece& p = pieces[n];
    if (!(p.rise > 0)) continue;
    const double at = std::max(p.from, (wanted - p.start) / p.rise);
    if (n + 1 == pieces.size() || at <= pieces[n + 1].from) return at;
  }
  return std::numeric_limits<double>::infinity();
}

std::optional<CoreClosing> core_closing(const Core& core, const std::vector<std::vector<Piece>>& motion,
                                        std::size_t driver, std::size_t target) {
  if (!core.keys[target].has_pad) return std::nullopt;
  CoreClosing out;
  const double seat = core.keys[target].seat();
  out.driver = reaches(motion[target], seat);
  if (!std::isfinite(out.driver)) return std::nullopt;
  out.at_rest = motion[target].front().start >= seat;
  if (out.at_rest) return out;
  const Piece& last = piece_before(motion[target], out.driver);
  out.pad_ratio = last.rise;
  for (std::size_t k = target; k != driver;) {
    const Piece& p = piece_before(motion[k], out.driver);
    if (p.link == kStop || p.link == kFinger) break;
    out.path.push_back(p.link);
    k = core.links[p.link].from;
  }
  std::reverse(out.path.begin(), out.path.end());
  return out;
}

}  // namespace hingeline::regulation
