#include "nearest.h"

#include <algorithm>
#include <numeric>

namespace hingeline::service {
namespace {

std::size_t letters_to_change(const std::string& a, const std::string& b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t above = row[j];
      row[j] = std::min({row[j] + 1, row[j - 1] + 1, diagonal + (a[i - 1] == b[j - 1] ? 0 : 1)});
      diagonal = above;
    }
  }
  return row.back();
}

}  // namespace

std::string nearest_name(const std::string& typed, const std::vector<std::string>& names) {
  constexpr std::size_t kLongestTyped = 256;
  if (typed.size() > kLongestTyped) return {};
  std::string best;
  std::size_t least = std::max<std::size_t>(2, typed.size() / 2) + 1;
  for (const std::string& name : names) {
    const std::size_t changes = letters_to_change(typed, name);
    if (changes < least) {
      least = changes;
      best = name;
    }
  }
  return best;
}

std::string listed(const std::vector<std::string>& names) {
  std::string out;
  for (const std::string& name : names) {
    if (!out.empty()) out += ", ";
    out += name;
  }
  return out;
}

}  // namespace hingeline::service
