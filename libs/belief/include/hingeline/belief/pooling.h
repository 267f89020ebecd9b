#pragma once
/// \file
/// Learning from finished jobs: what one cutter, one person or one screw family has shown sharpens the figure
/// for it, and a little for all others (partial pooling). With nothing to go by every figure is the preset,
/// to the bit; the more there is, the less the preset weighs. The order of the records plays no part.
///
/// Sources, from memory: Gelman and others, Bayesian Data Analysis, ch. 5 (hierarchical normal), 3.4 and 5.1
/// (Dirichlet, and exchangeable groups); Lindley and Smith, Bayes estimates for the linear model (1972).

#include <cstddef>
#include <map>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"

namespace hingeline::belief {

/// Cutters, people and kinds of work that are pooled at once, at most.
inline constexpr std::size_t kMostEffects = 400;

/// A normal.
struct Normal {
  double mean = 0;
  double standard = 0;
};

// ---- sums of effects -------------------------------------------------------------------------------

/// A sum of effects, read with noise. Each effect stands in it once.
struct EffectReading {
  std::vector<std::size_t> effects;
  double value = 0;
  double standard = 0;  ///< above 0
};

/// Independent normal effects of which only sums were read: the exact posterior, from one linear system in
/// effects scaled by their prior standards, which is symmetric with no eigenvalue below 1. An effect of
/// standard 0 stays where it is.
class EffectPool {
 public:
  /// Fault::content beyond kMostEffects, or when a reading is not finite, has a standard not above 0 or an
  /// effect that is not there.
  static Expected<EffectPool> of(std::vector<Normal> priors, std::vector<EffectReading> readings);

  /// The sum of these effects, each once.
  [[nodiscard]] Normal before(std::span<const std::size_t> effects) const;
  [[nodiscard]] Normal after(std::span<const std::size_t> effects) const;

 private:
  std::vector<Normal> priors_;
  std::vector<double> shift_;                ///< posterior mean less prior mean
  std::vector<std::vector<double>> factor_;  ///< lower Cholesky factor of the scaled precision
};

// ---- what was learned from what --------------------------------------------------------------------

/// Where a figure comes from. In the figure's own terms: ln of the ratio to the preset for rates and minutes,
/// the inner unit for measures.
struct Lesson {
  Normal prior;
  Normal posterior;
  std::size_t readings = 0;       ///< of this very thing: bites, pieces of work, screws
  double mean = 0;                ///< of those, weighted; 0 when there are none
  std::vector<std::string> jobs;  ///< they come from, each once, in order
  std::size_t others = 0;         ///< readings of other things that had a part in it
  double weight = 0;  ///< of all readings against the preset: share of its variance they took away
};

/// A figure by its ratio to the preset, whose ln is normal.
struct AgainstPreset {
  double factor = 1;   ///< median over preset
  double between = 0;  ///< standard deviation of ln from one job to the next
  Lesson lesson;
};

// ---- take-off of cutters ---------------------------------------------------------------------------

/// ln of the take-off per turn is shop + cutter + person + job + bite. Standards of ln.
struct TakeOffPriors {
  Length per_turn;     ///< median, above 0
  double shop = 0;     ///< of this shop's metals and habits against the preset
  double cutter = 0;   ///< from one cutter to another
  double person = 0;   ///< from one hand to another
  double job = 0;      ///< from one job to another of one cutter in one hand
  double bite = 0.15;  ///< from one bite to another of a job; from memory of common practice

  /// Of a job in a new hand with a new cutter: what the preset's ± stands for.
  [[nodiscard]] double between() const;
};
/// From a shop's figure with its expanded uncertainty (k = 2), from one job to another: a quarter of its
/// variance of ln each for shop, cutter, person and job (from memory of common practice: none outweighs the
/// others).
TakeOffPriors take_off_priors(Length per_turn, Length plus_minus);

struct BiteRecord {
  std::string cutter;
  std::string person;  ///< empty: not said
  std::string job;
  double turns = 0;  ///< above 0
  Length taken;      ///< off the end play
  Length standard;   ///< uncertainty of that difference
};

/// What bites of finished jobs teach about a cutter in a hand. A bite that took less than its readings can
/// tell apart from nothing counts as half of that, with all its doubt.
class TakeOffPool {
 public:
  /// Fault::content for a preset not above 0, a bite that is not finite or of no turns, too many names.
  static Expected<TakeOffPool> of(const TakeOffPriors& priors, std::vector<BiteRecord> bites);

  /// Empty or never seen before: any cutter, any person.
  [[nodiscard]] AgainstPreset rate(const std::string& cutter, const std::string& person) const;
  [[nodiscard]] Length median(const std::string& cutter, const std::string& person) const;
  [[nodiscard]] const TakeOffPriors& priors() const { return priors_; }
  [[nodiscard]] std::vector<std::string> cutters() const;
  /// Who used that cutter; of an empty one: anybody.
  [[nodiscard]] std::vector<std::string> people(const std::string& cutter) const;

 private:
  struct Lot {
    std::string cutter;
    std::string person;
    std::string job;
    double log_ratio = 0;  ///< of the preset
    double variance = 0;
    std::size_t bites = 0;
  };
  explicit TakeOffPool(EffectPool pool) : pool_(std::move(pool)) {}

  TakeOffPriors priors_;
  EffectPool pool_;
  std::vector<Lot> lots_;  ///< by cutter, person, job
  std::size_t bites_ = 0;
  std::map<std::string, std::size_t> cutters_;
  std::map<std::string, std::size_t> people_;
};

// ---- minutes ---------------------------------------------------------------------------------------

/// ln of the minutes over the preset's is work + person + job. Standards of ln, from memory of common
/// practice.
struct MinutesPriors {
  double work = 0.35;
  double work_without_preset = 1.0;
  double person = 0.25;  ///< who is quick at one thing is quick at all
  double job = 0.35;
};

struct WorkRecord {
  std::string of;
  std::string person;  ///< empty: not said
  std::string job;
  double minutes = 0;      ///< above 0
  double preset = 0;       ///< what the preset says for as many turns; above 0
  bool has_preset = true;  ///< false: `preset` is no more than a guess
};

class MinutesPool {
 public:
  /// Fault::content for minutes or a preset not above 0, too many names.
  static Expected<MinutesPool> of(const MinutesPriors& priors, std::vector<WorkRecord> work);

  /// `has_preset` matters for work never seen before only.
  [[nodiscard]] AgainstPreset pace(const std::string& of, const std::string& person,
                                   bool has_preset = true) const;
  [[nodiscard]] std::vector<std::string> kinds() const;
  [[nodiscard]] std::vector<std::string> people() const;

 private:
  explicit MinutesPool(EffectPool pool) : pool_(std::move(pool)) {}

  MinutesPriors priors_;
  EffectPool pool_;
  std::vector<WorkRecord> work_;
  std::map<std::string, std::size_t> kinds_;
  std::map<std::string, std::size_t> people_;
};

// ---- measures of a screw family --------------------------------------------------------------------

/// One reading of one measure, in its inner unit.
struct ScrewReading {
  std::string screw;  ///< readings of one screw are repeats
  std::string job;
  double value = 0;
  double standard = 0;  ///< above 0
};

struct FieldLearned {
  double value = 0;     ///< of the family's next screw: mean
  double standard = 0;  ///< and standard deviation
  double between = 0;   ///< from screw to screw, posterior mean of the variance, its root
  std::size_t screws = 0;
  Lesson lesson;
};

/// The family's next screw, from its figure (mean and standard deviation of a screw drawn from it, above 0)
/// and the screws measured. Half of the figure's variance is doubt about the family's mean, half is the
/// spread from screw to screw, which is lognormal with a standard of 0.5 in ln, so that a family can turn out
/// better or worse made than its figure says (from memory of common practice). The mean is integrated out in
/// closed form, the spread by the trapezoidal rule, as good as exact. Fault::content for readings that are
/// not finite or without a standard.
Expected<FieldLearned> learn_field(const Normal& figure, std::vector<ScrewReading> readings);

// ---- shares of causes ------------------------------------------------------------------------------

/// What was found in one job.
struct CauseRecord {
  std::string family;  ///< of its screws; empty: not known
  std::string job;
  std::vector<std::size_t> causes;  ///< indices into the preset; several: each counts its part of one job
};

struct ShareLesson {
  std::vector<double> share;    ///< adds up to 1
  std::vector<double> prior;    ///< likewise
  std::vector<double> counted;  ///< jobs
  double jobs = 0;
  double weight = 0;  ///< of the jobs against the prior: jobs / (jobs + the prior's strength)
  std::vector<std::string> from;
};

/// Dirichlet: the preset counts as so many jobs; a screw family's prior is the shares of all other jobs and
/// the preset together, at a strength of its own. No job counts twice.
class SharePool {
 public:
  /// Preset shares are 0 or more and not all 0 (any scale), strengths above 0; else Fault::content.
  static Expected<SharePool> of(std::vector<double> preset, std::vector<CauseRecord> records,
                                double preset_jobs = 20, double family_jobs = 10);

  [[nodiscard]] ShareLesson shop() const;
  /// A family never seen before, or none, has the shop's shares.
  [[nodiscard]] ShareLesson family(const std::string& name) const;
  [[nodiscard]] std::vector<std::string> families() const;

 private:
  /// The jobs of that family, or all but those; without shares.
  [[nodiscard]] ShareLesson counted(const std::string& family, bool of_it) const;

  std::vector<double> preset_;
  std::vector<CauseRecord> records_;
  double preset_jobs_ = 0;
  double family_jobs_ = 0;
};

}  // namespace hingeline::belief
