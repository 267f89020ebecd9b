#include "hingeline/belief/pooling.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <set>
#include <tuple>

namespace hingeline::belief {
namespace {

double square(double v) { return v * v; }

/// Names in order, numbered from `first`.
std::map<std::string, std::size_t> numbered(const std::set<std::string>& names, std::size_t first) {
  std::map<std::string, std::size_t> out;
  for (const std::string& name : names) out.emplace(name, first + out.size());
  return out;
}

std::vector<std::string> names_of(const std::map<std::string, std::size_t>& map) {
  std::vector<std::string> out;
  out.reserve(map.size());
  for (const auto& [name, unused] : map) out.push_back(name);
  return out;
}

/// Weighted mean as it grows.
class Mean {
 public:
  void add(double value, double variance) {
    weights_ += 1 / variance;
    sum_ += value / variance;
  }
  [[nodiscard]] double value() const { return weights_ > 0 ? sum_ / weights_ : 0; }
  [[nodiscard]] double variance() const { return 1 / weights_; }

 private:
  double weights_ = 0;
  double sum_ = 0;
};

double weight_of(const Normal& prior, const Normal& posterior) {
  if (!(prior.standard > 0)) return 0;
  return std::clamp(1 - square(posterior.standard / prior.standard), 0.0, 1.0);
}

Error bad_reading(std::string what) {
  return Error{Fault::content, std::move(what), "finite numbers, with an uncertainty above 0", {}};
}

}  // namespace

// ---- sums of effects -------------------------------------------------------------------------------

Expected<EffectPool> EffectPool::of(std::vector<Normal> priors, std::vector<EffectReading> readings) {
  const std::size_t n = priors.size();
  if (n > kMostEffects) {
    return fail(Fault::content, fmt::format("{} cutters, people or kinds of work", n),
                fmt::format("at most {}; one name for one thing", kMostEffects));
  }
  for (EffectReading& r : readings) {
    std::sort(r.effects.begin(), r.effects.end());
    if (!std::isfinite(r.value) || !(r.standard > 0) || !std::isfinite(r.standard) ||
        (!r.effects.empty() && r.effects.back() >= n)) {
      return tl::unexpected(bad_reading("a reading that cannot be pooled"));
    }
  }
  // Sums round by their order.
  std::sort(readings.begin(), readings.end(), [](const EffectReading& a, const EffectReading& b) {
    return std::tie(a.effects, a.value, a.standard) < std::tie(b.effects, b.value, b.standard);
  });
  EffectPool pool;
  pool.priors_ = std::move(priors);
  std::vector<double> right(n, 0.0);
  auto& m = pool.factor_;
  m.resize(n);
  for (std::size_t i = 0; i < n; ++i) {
    m[i].assign(i + 1, 0.0);
    m[i][i] = 1;
  }
  for (const EffectReading& r : readings) {
    const double precision = 1 / square(r.standard);
    const double off = r.value - pool.before(r.effects).mean;
    for (std::size_t a = 0; a < r.effects.size(); ++a) {
      const std::size_t i = r.effects[a];
      const double scaled = pool.priors_[i].standard * precision;
      right[i] += scaled * off;
      for (std::size_t b = 0; b <= a; ++b) m[i][r.effects[b]] += scaled * pool.priors_[r.effects[b]].standard;
    }
  }
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      double v = m[i][j];
      for (std::size_t k = 0; k < j; ++k) v -= m[i][k] * m[j][k];
      m[i][j] = i == j ? std::sqrt(v) : v / m[j][j];
    }
  }
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = 0; k < i; ++k) right[i] -= m[i][k] * right[k];
    right[i] /= m[i][i];
  }
  for (std::size_t i = n; i-- > 0;) {
    for (std::size_t k = i + 1; k < n; ++k) right[i] -= m[k][i] * right[k];
    right[i] /= m[i][i];
  }
  for (std::size_t i = 0; i < n; ++i) right[i] *= pool.priors_[i].standard;
  pool.shift_ = std::move(right);
  return pool;
}

Normal EffectPool::before(std::span<const std::size_t> effects) const {
  Normal sum;
  double variance = 0;
  for (const std::size_t i : effects) {
    sum.mean += priors_[i].mean;
    variance += square(priors_[i].standard);
  }
  sum.standard = std::sqrt(variance);
  return sum;
}

Normal EffectPool::after(std::span<const std::size_t> effects) const {
  Normal sum;
  if (effects.empty()) return sum;
  std::vector<double> w(priors_.size(), 0.0);
  for (const std::size_t i : effects) {
    sum.mean += priors_[i].mean + shift_[i];
    w[i] = priors_[i].standard;
  }
  double variance = 0;
  for (std::size_t i = *std::min_element(effects.begin(), effects.end()); i < w.size(); ++i) {
    for (std::size_t k = 0; k < i; ++k) w[i] -= factor_[i][k] * w[k];
    w[i] /= factor_[i][i];
    variance += square(w[i]);
  }
  sum.standard = std::sqrt(variance);
  return sum;
}

// ---- take-off of cutters ---------------------------------------------------------------------------

double TakeOffPriors::between() const {
  return std::sqrt(square(shop) + square(cutter) + square(person) + square(job));
}

TakeOffPriors take_off_priors(Length per_turn, Length plus_minus) {
  const double share = plus_minus / per_turn / 2;
  TakeOffPriors priors;
  priors.per_turn = per_turn;
  priors.shop = priors.cutter = priors.person = priors.job = std::sqrt(std::log1p(square(share))) / 2;
  return priors;
}

Expected<TakeOffPool> TakeOffPool::of(const TakeOffPriors& priors, std::vector<BiteRecord> bites) {
  constexpr double kLeastDoubt = 1e-6;  // mm
  if (!(priors.per_turn > Length{}) || !is_finite(priors.per_turn))
    return fail(Fault::content, "a preset take-off that cannot be", "a length above 0");
  std::set<std::string> cutters;
  std::set<std::string> people;
  for (const BiteRecord& b : bites) {
    if (!(b.turns > 0) || !std::isfinite(b.turns) || !is_finite(b.taken) || !is_finite(b.standard))
      return tl::unexpected(bad_reading(fmt::format("a bite of job {} that cannot be pooled", b.job)));
    cutters.insert(b.cutter);
    if (!b.person.empty()) people.insert(b.person);
  }
  std::sort(bites.begin(), bites.end(), [](const BiteRecord& a, const BiteRecord& b) {
    return std::tie(a.cutter, a.person, a.job, a.turns, a.taken, a.standard) <
           std::tie(b.cutter, b.person, b.job, b.turns, b.taken, b.standard);
  });
  // Bites of one job with one cutter share what that job has of its own: their weighted mean says all they
  // do.
  std::vector<Lot> lots;
  for (std::size_t i = 0; i < bites.size();) {
    const BiteRecord& first = bites[i];
    Mean mean;
    Lot lot{first.cutter, first.person, first.job, 0, 0, 0};
    for (; i < bites.size() && bites[i].cutter == first.cutter && bites[i].person == first.person &&
           bites[i].job == first.job;
         ++i) {
      const double doubt = std::max(bites[i].standard.raw(), kLeastDoubt);
      const double seen = std::max(bites[i].taken.raw(), doubt / 2);
      mean.add(std::log(seen / bites[i].turns / priors.per_turn.raw()),
               square(priors.bite) + square(doubt / seen));
      ++lot.bites;
    }
    lot.log_ratio = mean.value();
    lot.variance = mean.variance() + square(priors.job);
    lots.push_back(std::move(lot));
  }
  const auto cutter_numbers = numbered(cutters, 1);
  const auto person_numbers = numbered(people, 1 + cutter_numbers.size());
  std::vector<Normal> effects(1, {0, priors.shop});
  effects.insert(effects.end(), cutter_numbers.size(), {0, priors.cutter});
  effects.insert(effects.end(), person_numbers.size(), {0, priors.person});
  std::vector<EffectReading> readings;
  readings.reserve(lots.size());
  for (const Lot& lot : lots) {
    EffectReading r{{0, cutter_numbers.at(lot.cutter)}, lot.log_ratio, std::sqrt(lot.variance)};
    if (lot.person.empty()) {
      r.standard = std::sqrt(lot.variance + square(priors.person));
    } else {
      r.effects.push_back(person_numbers.at(lot.person));
    }
    readings.push_back(std::move(r));
  }
  auto effect_pool = EffectPool::of(std::move(effects), std::move(readings));
  if (!effect_pool) return tl::unexpected(std::move(effect_pool.error()));
  TakeOffPool pool(std::move(*effect_pool));
  pool.priors_ = priors;
  pool.lots_ = std::move(lots);
  pool.bites_ = bites.size();
  pool.cutters_ = cutter_numbers;
  pool.people_ = person_numbers;
  return pool;
}

AgainstPreset TakeOffPool::rate(const std::string& cutter, const std::string& person) const {
  std::vector<std::size_t> effects{0};
  double unseen = 0;
  const auto take = [&](const std::map<std::string, std::size_t>& known, const std::string& name,
                        double standard) {
    const auto at = known.find(name);
    if (at != known.end()) {
      effects.push_back(at->second);
    } else {
      unseen += square(standard);
    }
  };
  take(cutters_, cutter, priors_.cutter);
  take(people_, person, priors_.person);
  AgainstPreset pace;
  Lesson& lesson = pace.lesson;
  const Normal posterior = pool_.after(effects);
  lesson.prior = {0, std::sqrt(square(priors_.shop) + square(priors_.cutter) + square(priors_.person))};
  lesson.posterior = {posterior.mean, std::sqrt(square(posterior.standard) + unseen)};
  Mean mean;
  std::set<std::string> jobs;
  const auto [first, last] =
      cutter.empty() ? std::pair(lots_.begin(), lots_.end())
                     : std::pair(std::partition_point(lots_.begin(), lots_.end(),
                                                      [&](const Lot& l) { return l.cutter < cutter; }),
                                 std::partition_point(lots_.begin(), lots_.end(),
                                                      [&](const Lot& l) { return l.cutter <= cutter; }));
  for (auto lot = first; lot != last; ++lot) {
    if (!person.empty() && lot->person != person) continue;
    lesson.readings += lot->bites;
    mean.add(lot->log_ratio, lot->variance);
    jobs.insert(lot->job);
  }
  lesson.others = bites_ - lesson.readings;
  lesson.mean = mean.value();
  lesson.jobs.assign(jobs.begin(), jobs.end());
  if (lots_.empty()) lesson.posterior = lesson.prior;
  lesson.weight = weight_of(lesson.prior, lesson.posterior);
  pace.factor = std::exp(lesson.posterior.mean);
  pace.between = lots_.empty() ? priors_.between() : std::hypot(lesson.posterior.standard, priors_.job);
  return pace;
}

Length TakeOffPool::median(const std::string& cutter, const std::string& person) const {
  return priors_.per_turn * rate(cutter, person).factor;
}

std::vector<std::string> TakeOffPool::cutters() const { return names_of(cutters_); }

std::vector<std::string> TakeOffPool::people(const std::string& cutter) const {
  std::set<std::string> people;
  for (const Lot& lot : lots_) {
    if (!lot.person.empty() && (cutter.empty() || lot.cutter == cutter)) people.insert(lot.person);
  }
  return {people.begin(), people.end()};
}

// ---- minutes ---------------------------------------------------------------------------------------

Expected<MinutesPool> MinutesPool::of(const MinutesPriors& priors, std::vector<WorkRecord> work) {
  std::map<std::string, bool> with_preset;
  std::set<std::string> kinds;
  std::set<std::string> people;
  for (const WorkRecord& w : work) {
    if (!(w.minutes > 0) || !std::isfinite(w.minutes) || !(w.preset > 0) || !std::isfinite(w.preset))
      return tl::unexpected(bad_reading(fmt::format("minutes of job {} that cannot be pooled", w.job)));
    kinds.insert(w.of);
    with_preset[w.of] = w.has_preset;
    if (!w.person.empty()) people.insert(w.person);
  }
  std::sort(work.begin(), work.end(), [](const WorkRecord& a, const WorkRecord& b) {
    return std::tie(a.of, a.person, a.job, a.minutes, a.preset) <
           std::tie(b.of, b.person, b.job, b.minutes, b.preset);
  });
  const auto kind_numbers = numbered(kinds, 0);
  const auto person_numbers = numbered(people, kind_numbers.size());
  std::vector<Normal> effects;
  effects.reserve(kind_numbers.size() + person_numbers.size());
  for (const auto& [kind, unused] : kind_numbers)
    effects.push_back({0, with_preset.at(kind) ? priors.work : priors.work_without_preset});
  effects.insert(effects.end(), person_numbers.size(), {0, priors.person});
  std::vector<EffectReading> readings;
  readings.reserve(work.size());
  for (const WorkRecord& w : work) {
    EffectReading r{{kind_numbers.at(w.of)}, std::log(w.minutes / w.preset), priors.job};
    if (w.person.empty()) {
      r.standard = std::hypot(priors.job, priors.person);
    } else {
      r.effects.push_back(person_numbers.at(w.person));
    }
    readings.push_back(std::move(r));
  }
  auto effect_pool = EffectPool::of(std::move(effects), std::move(readings));
  if (!effect_pool) return tl::unexpected(std::move(effect_pool.error()));
  MinutesPool pool(std::move(*effect_pool));
  pool.priors_ = priors;
  pool.work_ = std::move(work);
  pool.kinds_ = kind_numbers;
  pool.people_ = person_numbers;
  return pool;
}

AgainstPreset MinutesPool::pace(const std::string& of, const std::string& person, bool has_preset) const {
  std::vector<std::size_t> effects;
  double unseen = 0;
  double prior = square(priors_.person);
  if (const auto at = kinds_.find(of); at != kinds_.end()) {
    effects.push_back(at->second);
    prior += square(pool_.before(effects).standard);
  } else {
    unseen += square(has_preset ? priors_.work : priors_.work_without_preset);
    prior += unseen;
  }
  if (const auto at = people_.find(person); at != people_.end()) {
    effects.push_back(at->second);
  } else {
    unseen += square(priors_.person);
  }
  AgainstPreset pace;
  Lesson& lesson = pace.lesson;
  const Normal posterior = pool_.after(effects);
  lesson.prior = {0, std::sqrt(prior)};
  lesson.posterior = {posterior.mean, std::sqrt(square(posterior.standard) + unseen)};
  if (effects.empty()) lesson.posterior = lesson.prior;
  Mean mean;
  std::set<std::string> jobs;
  for (const WorkRecord& w : work_) {
    if (w.of != of || (!person.empty() && w.person != person)) {
      ++lesson.others;
      continue;
    }
    ++lesson.readings;
    mean.add(std::log(w.minutes / w.preset), square(priors_.job));
    jobs.insert(w.job);
  }
  lesson.mean = mean.value();
  lesson.jobs.assign(jobs.begin(), jobs.end());
  lesson.weight = weight_of(lesson.prior, lesson.posterior);
  pace.factor = std::exp(lesson.posterior.mean);
  pace.between = std::hypot(lesson.posterior.standard, priors_.job);
  return pace;
}

std::vector<std::string> MinutesPool::kinds() const { return names_of(kinds_); }
std::vector<std::string> MinutesPool::people() const { return names_of(people_); }

// ---- measures of a screw family --------------------------------------------------------------------

Expected<FieldLearned> learn_field(const Normal& figure, std::vector<ScrewReading> readings) {
  if (!std::isfinite(figure.mean) || !(figure.standard > 0) || !std::isfinite(figure.standard))
    return tl::unexpected(bad_reading("a family's figure without a spread"));
  for (const ScrewReading& r : readings) {
    if (!std::isfinite(r.value) || !(r.standard > 0) || !std::isfinite(r.standard))
      return tl::unexpected(bad_reading(fmt::format("a measure of job {} that cannot be pooled", r.job)));
  }
  FieldLearned out;
  out.value = figure.mean;
  out.standard = figure.standard;
  out.between = figure.standard / std::sqrt(2.0);
  out.lesson.prior = out.lesson.posterior = figure;
  if (readings.empty()) return out;

  std::sort(readings.begin(), readings.end(), [](const ScrewReading& a, const ScrewReading& b) {
    return std::tie(a.screw, a.value, a.standard, a.job) < std::tie(b.screw, b.value, b.standard, b.job);
  });
  struct Screw {
    double off;  ///< from the figure
    double variance;
  };
  std::vector<Screw> screws;
  std::set<std::string> jobs;
  for (std::size_t i = 0; i < readings.size();) {
    const std::string& name = readings[i].screw;
    Mean mean;
    for (; i < readings.size() && readings[i].screw == name; ++i) {
      mean.add(readings[i].value - figure.mean, square(readings[i].standard));
      jobs.insert(readings[i].job);
    }
    screws.push_back({mean.value(), mean.variance()});
  }

  const double half = square(figure.standard) / 2;
  struct Point {
    double log_weight;
    double variance;  ///< from screw to screw
    Normal mean;      ///< the family's, of that spread
  };
  // ln of the spread is kSpreadOfLn (z - kSpreadOfLn), so that the spread's square is half the figure's
  // variance on the average.
  const auto at = [&](double z) {
    constexpr double kSpreadOfLn = 0.5;
    Point p{-z * z / 2, half * std::exp(2 * kSpreadOfLn * (z - kSpreadOfLn)), {}};
    double precision = 1 / half;
    double sum = 0;
    for (const Screw& s : screws) {
      const double v = s.variance + p.variance;
      precision += 1 / v;
      sum += s.off / v;
      p.log_weight -= (std::log(v) + square(s.off) / v) / 2;
    }
    p.log_weight += (square(sum) / precision - std::log(precision)) / 2;
    p.mean = {sum / precision, std::sqrt(1 / precision)};
    return p;
  };
  // Where the weight is, by a coarse look; then in steps of at most half the standard deviation that so many
  // screws leave at the least.
  constexpr int kHalfGrid = 32;
  constexpr double kCoarse = 0.25;
  constexpr double kNegligible = 40;
  std::vector<double> coarse;
  for (int k = -kHalfGrid; k <= kHalfGrid; ++k) coarse.push_back(at(k * kCoarse).log_weight);
  const double best = *std::max_element(coarse.begin(), coarse.end());
  const auto matters = [&](double log_weight) { return log_weight > best - kNegligible; };
  const auto first = std::find_if(coarse.begin(), coarse.end(), matters) - coarse.begin();
  const auto last = coarse.rend() - std::find_if(coarse.rbegin(), coarse.rend(), matters) - 1;
  const double from = (static_cast<double>(first) - kHalfGrid - 1) * kCoarse;
  const double to = (static_cast<double>(last) - kHalfGrid + 1) * kCoarse;
  const double least = 1 / std::sqrt(1 + static_cast<double>(screws.size()) / 2);
  const int steps = static_cast<int>(std::ceil((to - from) / std::min(kCoarse / 2, least / 2)));
  std::vector<Point> grid;
  double peak = best;
  for (int k = 0; k <= steps; ++k) {
    grid.push_back(at(from + (to - from) * k / steps));
    peak = std::max(peak, grid.back().log_weight);
  }
  double total = 0;
  double mean = 0;
  double between = 0;
  double second = 0;
  for (const Point& p : grid) {
    const double w = std::exp(p.log_weight - peak);
    total += w;
    mean += w * p.mean.mean;
    between += w * p.variance;
    second += w * (square(p.mean.mean) + square(p.mean.standard));
  }
  mean /= total;
  between /= total;
  const double of_mean = std::max(0.0, second / total - square(mean));
  out.value = figure.mean + mean;
  out.between = std::sqrt(between);
  out.standard = std::sqrt(of_mean + between);
  out.screws = screws.size();
  Mean plain;
  for (const Screw& s : screws) plain.add(figure.mean + s.off, s.variance + between);
  out.lesson.posterior = {out.value, out.standard};
  out.lesson.readings = screws.size();
  out.lesson.mean = plain.value();
  out.lesson.jobs.assign(jobs.begin(), jobs.end());
  out.lesson.weight = std::clamp(1 - of_mean / half, 0.0, 1.0);
  return out;
}

// ---- shares of causes ------------------------------------------------------------------------------

namespace {

std::vector<double> scaled_to_one(std::vector<double> v) {
  const double sum = std::accumulate(v.begin(), v.end(), 0.0);
  for (double& x : v) x /= sum;
  return v;
}

/// Prior of that strength and counts together; with no counts, the prior to the bit.
void settle(ShareLesson& lesson, double strength) {
  if (lesson.jobs == 0) {
    lesson.share = lesson.prior;
    return;
  }
  lesson.share.resize(lesson.prior.size());
  for (std::size_t i = 0; i < lesson.prior.size(); ++i)
    lesson.share[i] = (strength * lesson.prior[i] + lesson.counted[i]) / (strength + lesson.jobs);
  lesson.weight = lesson.jobs / (strength + lesson.jobs);
}

}  // namespace

Expected<SharePool> SharePool::of(std::vector<double> preset, std::vector<CauseRecord> records,
                                  double preset_jobs, double family_jobs) {
  double sum = 0;
  for (const double share : preset) {
    if (!(share >= 0) || !std::isfinite(share)) sum = -std::numeric_limits<double>::infinity();
    sum += share;
  }
  if (!(sum > 0) || !std::isfinite(sum) || !(preset_jobs > 0) || !(family_jobs > 0) ||
      !std::isfinite(preset_jobs) || !std::isfinite(family_jobs)) {
    return fail(Fault::content, "shares of causes that cannot be", "0 or more and not all 0");
  }
  SharePool pool;
  pool.preset_ = scaled_to_one(std::move(preset));
  pool.preset_jobs_ = preset_jobs;
  pool.family_jobs_ = family_jobs;
  for (CauseRecord& r : records) {
    std::sort(r.causes.begin(), r.causes.end());
    r.causes.erase(std::unique(r.causes.begin(), r.causes.end()), r.causes.end());
    if (r.causes.empty()) continue;
    if (r.causes.back() >= pool.preset_.size())
      return fail(Fault::content, fmt::format("job {} has a cause that is none", r.job), "one of the causes");
    pool.records_.push_back(std::move(r));
  }
  std::sort(pool.records_.begin(), pool.records_.end(), [](const CauseRecord& a, const CauseRecord& b) {
    return std::tie(a.family, a.causes, a.job) < std::tie(b.family, b.causes, b.job);
  });
  return pool;
}

ShareLesson SharePool::counted(const std::string& family, bool of_it) const {
  ShareLesson lesson;
  lesson.counted.assign(preset_.size(), 0.0);
  for (const CauseRecord& r : records_) {
    if ((r.family == family) != of_it) continue;
    for (const std::size_t c : r.causes) lesson.counted[c] += 1.0 / static_cast<double>(r.causes.size());
    lesson.jobs += 1;
  }
  return lesson;
}

ShareLesson SharePool::shop() const {
  ShareLesson lesson = counted({}, true);
  const ShareLesson named = counted({}, false);
  for (std::size_t i = 0; i < preset_.size(); ++i) lesson.counted[i] += named.counted[i];
  lesson.jobs += named.jobs;
  for (const CauseRecord& r : records_) lesson.from.push_back(r.job);
  std::sort(lesson.from.begin(), lesson.from.end());
  lesson.prior = preset_;
  settle(lesson, preset_jobs_);
  return lesson;
}

ShareLesson SharePool::family(const std::string& name) const {
  if (name.empty()) return shop();
  ShareLesson lesson = counted(name, true);
  if (lesson.jobs == 0) return shop();
  ShareLesson rest = counted(name, false);
  rest.prior = preset_;
  settle(rest, preset_jobs_);
  for (const CauseRecord& r : records_) {
    if (r.family == name) lesson.from.push_back(r.job);
  }
  std::sort(lesson.from.begin(), lesson.from.end());
  lesson.prior = std::move(rest.share);
  settle(lesson, family_jobs_);
  return lesson;
}

std::vector<std::string> SharePool::families() const {
  std::set<std::string> names;
  for (const CauseRecord& r : records_) {
    if (!r.family.empty()) names.insert(r.family);
  }
  return {names.begin(), names.end()};
}

}  // namespace hingeline::belief
