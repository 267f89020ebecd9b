#include "hingeline/belief/inquiry.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <span>

#include "condition.h"
#include "hingeline/numeric/propagate.h"
#include "hingeline/numeric/random.h"
#include "hingeline/numeric/statistics.h"
#include "truth.h"

namespace hingeline::belief {
namespace {

using mechanism::Side;
using numeric::normal_below;

constexpr double kImpossible = -1e6;     ///< ln of no chance at all
constexpr double kMostReading = 10;      ///< mm
constexpr std::size_t kForWorth = 1024;  ///< samples that the worth of checks is reckoned with
constexpr std::size_t kBins = 12;        ///< outcomes a reading is parted into for it

constexpr std::array<Cause, 4> kForms{Cause::worn_hole, Cause::taper_mismatch, Cause::straight_hole,
                                      Cause::tip_on_floor};

bool is_form(Cause c) { return std::find(kForms.begin(), kForms.end(), c) != kForms.end(); }
bool is_fit(Cause c) { return c == Cause::short_fit || c == Cause::over_cut; }
/// Whether two causes can hold at once.
bool go_together(Cause a, Cause b) {
  return a != b && !(is_form(a) && is_form(b)) && !(is_fit(a) && is_fit(b));
}
/// A reading of one cause's own size.
bool says_a_size(Check c) {
  return c == Check::stand_off_upper || c == Check::stand_off_lower || c == Check::bow || c == Check::roll;
}
Cause cause_at(std::size_t k) { return static_cast<Cause>(k); }
std::size_t index(Cause c) { return static_cast<std::size_t>(c); }
std::size_t index(Check c) { return static_cast<std::size_t>(c); }
std::size_t index(Cure c) { return static_cast<std::size_t>(c); }

/// Cheaper causes that a cut must not be led by.
constexpr std::array<Cause, 7> kBeforeCut{Cause::screw_off,  Cause::loose_thread, Cause::bent_body,
                                          Cause::post_moved, Cause::bent_key,     Cause::dirt,
                                          Cause::climate};

struct Bell {
  double mean = 0;
  double variance = 0;
};

/// How the parts were made to fit.
struct FitKind {
  Bell bell;
  double low = -1e9;
  double high = 1e9;
  double log_inside = 0;  ///< ln of the bell's share between them

  [[nodiscard]] bool bounded() const { return low > -1e8 || high < 1e8; }
  [[nodiscard]] double inside(double mean, double variance) const {
    const double sd = std::sqrt(variance);
    return normal_below((high - mean) / sd) - normal_below((low - mean) / sd);
  }
};

struct Entry {
  Answer answer;
  std::size_t stage = 0;
  std::array<double, kCauseCount> factor{};
};

/// What has been dealt with up to a stage.
struct Stage {
  std::array<int, kCureCount> done{};
  bool nothing_done = true;
  int epoch = 0;  ///< how often metal was taken: the fit is another one after
};

struct Sample {
  Condition condition;
  double log_share = 0;                             ///< ln of its weight before any answer
  std::array<std::uint8_t, kCureCount> resisted{};  ///< how often each cure did nothing
  std::uint64_t number = 0;
  double log_weight = 0;
  double weight = 0;
  std::array<double, 2> fit{};  ///< as made, and after metal was taken
  Bench bench;
  Causes there;  ///< the causes that still stand
};

/// Every cause with its cure, to be gone through quickly.
const std::array<std::pair<Cause, Cure>, kCauseCount - 1> kCureOf = [] {
  std::array<std::pair<Cause, Cure>, kCauseCount - 1> out;
  for (std::size_t k = 1; k < kCauseCount; ++k) out[k - 1] = {cause_at(k), cure_of(cause_at(k))};
  return out;
}();

Causes cured(const Sample& s, const Stage& stage) {
  Causes out;
  if (stage.nothing_done) return out;
  for (const auto& [cause, cure] : kCureOf) {
    if (stage.done[index(cure)] > s.resisted[index(cure)]) out.add(cause);
  }
  return out;
}
Causes standing(const Sample& s, const Stage& stage) { return s.condition.causes.without(cured(s, stage)); }

/// A place in (0, 1) of a sample's own, for its n-th choice.
double own_place(std::uint64_t seed, std::uint64_t sample, std::uint64_t n) {
  numeric::Stream stream(seed ^ (0x9E3779B97F4A7C15ULL * (n + 1)), sample);
  return stream.uniform();
}

/// Density of a normal variable at z standard deviations from its mean.
double normal_density(double z, double standard) {
  constexpr double kPeak = 0.39894228040143268;  // 1 / sqrt(2 pi)
  return kPeak * std::exp(-0.5 * z * z) / standard;
}

/// About where a size is to be drawn.
struct Near {
  double middle = 0, sd = 0;
};

}  // namespace

struct Inquiry::State {
  Subject subject;
  Ground ground;
  std::vector<JointFacts> joints;
  std::vector<Sample> samples;
  std::vector<Entry> entries;
  std::vector<Stage> stages{Stage{}};
  std::optional<Complaint> complaint;
  std::uint64_t seed = 0;
  std::size_t wanted = 0;        ///< samples
  std::size_t most_samples = 0;  ///< more are not parted
  std::size_t sound_joints = 0;  ///< of `joints`, those without a cause
  unsigned threads = 1;
  std::array<bool, kCauseCount> cause_applies{};
  std::array<bool, kCheckCount> check_applies{};
  std::array<bool, kCheckCount> done{};
  std::array<FitKind, 4> fits;  ///< sound, short, over, and after metal was taken
  double post_share = 0;        ///< of a post's displacement and of a climate's, below the least that counts
  double climate_share = 0;
  BowMessage heard{};
  // Sums over the samples, as normalise() left them.
  std::array<double, kCauseCount> shares{};
  std::array<double, kCauseCount> upper_shares{};
  std::vector<std::pair<Causes, double>> sets;  ///< weight of every set of causes that still stand
  double squares = 0;
  std::uint64_t drawn = 0;  ///< samples ever drawn: each has a stream of its own

  [[nodiscard]] const CausePresets& presets() const { return ground.presets; }
  [[nodiscard]] const Stage& now() const { return stages.back(); }

  Expected<void> lay_ground();
  struct Set {
    Causes causes;
    double chance = 0;
  };
  [[nodiscard]] std::vector<Set> possible_sets() const;
  void draw();
  /// Samples of the ground's joints and of joints made for them, which are numbered on from the ground's.
  class Drawing;
  void renew_if_thin();

  [[nodiscard]] const FitKind& fit_kind(const Sample& s, int epoch) const;
  double settle_fit(Sample& s, int epoch) const;
  double log_likelihood(const Entry& e, const Bench& b) const;
  void settle(Sample& s) const;
  void settle_all();
  void normalise();
  void part_by_success(Cure cure);
  [[nodiscard]] double bow_factor(const Sample& s) const;
  [[nodiscard]] std::optional<Near> bow_as_heard() const;
  [[nodiscard]] double loss_of(Causes causes, Cure cure) const;
  [[nodiscard]] std::vector<const Sample*> spread(std::size_t count) const;
  [[nodiscard]] bool cure_applies(Cure cure) const;
  void outcome_chances(Check check, const std::vector<const Sample*>& some, std::vector<double>& chances,
                       std::size_t& outcomes) const;
};

// ---- the ground ------------------------------------------------------------------------------------

Expected<void> Inquiry::State::lay_ground() {
  const KeyGeometry& g = subject.geometry;
  ground.kind = g.kind;
  ground.span = g.span.raw();
  ground.key_length = g.key_length.raw();
  const auto truth = truth_of(g);
  if (!truth) return tl::unexpected(truth.error());
  if (!(ground.key_length > 0)) return fail(Fault::geometry, "the key has no length", "a length above 0");
  const mechanism::Travel& travel = truth->hinge.travel();
  const double play = std::max(0.0, travel.end_play().raw());
  ground.gap = {std::max(0.02, travel.low.raw()),
                std::max(0.02, travel.face_gap.raw() - travel.low.raw() - play)};
  ground.pad_share = g.pad ? std::clamp(g.pad->station.raw() / ground.key_length, 0.0, 1.0) : 0.5;
  const bool pivot = g.kind == HingeKind::pivot;
  if (pivot) {
    for (const Side side : {Side::upper, Side::lower}) {
      const std::size_t e = side == Side::upper ? 0 : 1;
      const JointGeometry& j = g.at(side);
      JointFacts facts(truth->hinge.end(side).joint);
      facts.taper = j.point.shape == contact::PointShape::cone ? tan(j.point.half_angle) : 0;
      facts.straight =
          j.hole.shape == contact::HoleShape::straight || j.hole.shape == contact::HoleShape::drilled;
      if (j.hole.shape == contact::HoleShape::bell && facts.home > 0)
        facts.bell_share = j.hole.bell_depth.raw() / facts.home;
      facts.look_next_to_home();
      ground.sound_joint[e] = static_cast<int>(joints.size());
      joints.push_back(std::move(facts));
    }
  } else {
    const double made = (g.bore - g.rod_diameter).raw() / 2;
    ground.bore_clearance = made > 0.002 && made < 0.03 ? made : presets().bore_clearance;
  }

  const auto shaped = [&](contact::PointShape p, std::initializer_list<contact::HoleShape> holes) {
    for (const Side s : {Side::upper, Side::lower}) {
      const JointGeometry& j = g.at(s);
      if (j.point.shape == p && std::find(holes.begin(), holes.end(), j.hole.shape) != holes.end())
        return true;
    }
    return false;
  };
  using contact::HoleShape;
  const bool cones = pivot && shaped(contact::PointShape::cone, {HoleShape::cone});
  for (std::size_t k = 0; k < kCauseCount; ++k) {
    const Cause c = cause_at(k);
    bool applies = true;
    switch (c) {
      case Cause::short_fit:
        applies = !pivot || subject.upper_headed || subject.lower_headed;
        break;
      case Cause::worn_hole:
      case Cause::screw_off:
      case Cause::loose_thread:
        applies = pivot;
        break;
      case Cause::taper_mismatch:
      case Cause::straight_hole:
      case Cause::tip_on_floor:
        applies = cones;
        break;
      case Cause::worn_bore:
        applies = !pivot;
        break;
      default:
        break;
    }
    cause_applies[k] = (applies && !subject.excluded.has(c)) || (c != Cause::sound && subject.known.has(c));
  }
  check_applies.fill(true);
  const auto set = [&](std::initializer_list<Check> checks, bool applies) {
    for (const Check c : checks) check_applies[index(c)] = applies;
  };
  set({Check::rock_upper, Check::rock_lower, Check::wobble_upper, Check::wobble_lower, Check::back_off_upper,
       Check::back_off_lower},
      pivot);
  set({Check::stand_off_upper}, pivot && subject.upper_headed);
  set({Check::stand_off_lower}, pivot && subject.lower_headed);
  set({Check::slack_upper}, pivot && !subject.upper_headed);
  set({Check::slack_lower}, pivot && !subject.lower_headed);
  const bool upper_cone = pivot && g.upper.point.shape == contact::PointShape::cone;
  const bool lower_cone = pivot && g.lower.point.shape == contact::PointShape::cone;
  set({Check::ink_upper, Check::look_upper}, upper_cone);
  set({Check::ink_lower, Check::look_lower}, lower_cone);
  set({Check::bore}, !pivot);

  const CausePresets& p = presets();
  const double low = subject.window_low.raw();
  const double high = subject.window_high.raw();
  const double sd = (high - low) * p.fit_width_share;
  fits[0] = {{(low + high) / 2, sd * sd}, low, high};
  fits[3].bell = {(low + high) / 2, (high - low) * (high - low)};
  fits[1] = {
      {std::max(p.short_mean, high + p.short_least), p.short_sd * p.short_sd}, high + p.short_least, 1e9};
  fits[2] = {{p.over_mean, p.over_sd * p.over_sd}, -1e9, 0};
  for (FitKind& f : fits) {
    if (f.bounded()) f.log_inside = std::log(std::max(f.inside(f.bell.mean, f.bell.variance), 1e-300));
  }
  post_share = normal_below(-p.post_least / p.post_sd);
  climate_share = normal_below(-p.climate_least / p.climate_sd);
  heard.fill(1);
  return {};
}

class Inquiry::State::Drawing {
 public:
  explicit Drawing(const State& state)
      : state_(state), ground_(state.ground), subject_(state.subject), bow_heard_(state.bow_as_heard()) {}

  [[nodiscard]] Sample sample(std::uint64_t number, Causes causes, double log_share);
  std::vector<JointFacts> made;

 private:
  [[nodiscard]] const CausePresets& presets() const { return state_.presets(); }
  [[nodiscard]] const JointFacts& joint(int number) const {
    const auto k = static_cast<std::size_t>(number);
    return k < state_.sound_joints ? state_.joints[k] : made[k - state_.sound_joints];
  }
  Condition condition(Causes causes, numeric::Stream& stream);
  int joint_with(std::size_t end, Cause form, numeric::Stream& stream);
  void aim(Sample& sample, numeric::Stream& stream) const;

  const State& state_;
  const Ground& ground_;
  const Subject& subject_;
  const std::optional<Near> bow_heard_;
};

int Inquiry::State::Drawing::joint_with(std::size_t end, Cause form, numeric::Stream& stream) {
  const int sound = ground_.sound_joint[end];
  const Side side = end == 0 ? Side::upper : Side::lower;
  const double a = stream.uniform();
  const double b = stream.uniform();
  // A document that says how the hole is has said how badly.
  if (subject_.known.has(form)) return sound;
  JointGeometry g = subject_.geometry.at(side);
  const CausePresets& p = presets();
  const double home = joint(sound).home;
  const auto between = [](double low, double high, double u) { return low + (high - low) * u; };
  const bool cone = g.hole.shape == contact::HoleShape::cone;
  double bell_share = 0;
  switch (form) {
    case Cause::worn_hole: {
      if (!cone) return sound;
      bell_share = between(p.bell_low, p.bell_high, a);
      g.hole.shape = contact::HoleShape::bell;
      g.hole.bell_depth = millimetres(bell_share * home);
      g.hole.bell_half_angle = radians(std::min(1.5, g.hole.half_angle.raw() + p.bell_steeper));
      g.hole.mouth_radius =
          g.hole.mouth_radius + g.hole.bell_depth * (tan(g.hole.bell_half_angle) - tan(g.hole.half_angle));
      break;
    }
    case Cause::taper_mismatch: {
      const double off = between(p.mismatch_low, p.mismatch_high, a) * (b < 0.5 ? -1 : 1);
      g.hole.half_angle = radians(std::max(0.01, g.hole.half_angle.raw() + off));
      break;
    }
    case Cause::straight_hole:
      g.hole.shape = contact::HoleShape::straight;
      break;
    case Cause::tip_on_floor:
      g.hole.depth = millimetres(std::max(0.1, home - between(p.floor_low, p.floor_high, a)));
      break;
    default:
      return sound;
  }
  auto built = build_joint(g);
  if (!built) return sound;
  JointFacts facts(std::move(*built));
  facts.taper = joint(sound).taper;
  facts.bell_share = bell_share;
  facts.straight = g.hole.shape == contact::HoleShape::straight;
  made.push_back(std::move(facts));
  return static_cast<int>(state_.sound_joints + made.size()) - 1;
}

Condition Inquiry::State::Drawing::condition(Causes causes, numeric::Stream& stream) {
  const CausePresets& p = presets();
  Condition c;
  c.causes = causes;
  c.joint = ground_.sound_joint;
  for (std::size_t k = 1; k < kCauseCount; ++k) {
    const Cause cause = cause_at(k);
    if (!causes.has(cause) || !at_one_end(cause)) {
      stream.skip(1);
      continue;
    }
    const bool upper = stream.uniform() < 0.5;
    const auto fits_end = [&](std::size_t e) {
      const auto& j = subject_.geometry.at(e == 0 ? Side::upper : Side::lower);
      if (cause == Cause::straight_hole)
        return subject_.known.has(cause) ? joint(ground_.sound_joint[e]).straight
                                         : j.hole.shape == contact::HoleShape::cone;
      if (cause == Cause::taper_mismatch || cause == Cause::tip_on_floor)
        return subject_.known.has(cause) || j.hole.shape == contact::HoleShape::cone;
      return true;
    };
    std::size_t end = upper ? 0 : 1;
    if (!fits_end(end) && fits_end(1 - end)) end = 1 - end;
    c.at[end].add(cause);
  }
  const auto lognormal = [&](const Spread& s) { return s.median * std::exp(s.sigma * stream.normal()); };
  const auto sign = [&] { return stream.uniform() < 0.5 ? -1.0 : 1.0; };
  // A normal that is no smaller in size than where `share_below` of it lies, on either side.
  const auto at_least = [&](double sd, double share_below) {
    const double size = -sd * numeric::inverse_normal(share_below * stream.uniform());
    return size * sign();
  };
  // Every size has draws of its own, passed over where its cause is not there: a sample's other sizes do not
  // hang on its causes.
  const auto sized = [&](Cause cause, std::uint64_t draws, auto&& size) {
    if (causes.has(cause)) return size();
    stream.skip(draws);
    return 0.0;
  };
  Sizes& s = c.sizes;
  s.screw_off = sized(Cause::screw_off, 1, [&] { return lognormal(p.screw_off); });
  s.slop = sized(Cause::loose_thread, 1, [&] { return lognormal(p.thread_slop); });
  s.post = sized(Cause::post_moved, 2, [&] { return at_least(p.post_sd, state_.post_share); });
  s.bow = sized(Cause::bent_body, 2, [&] {
    const double size = lognormal(p.bow);
    return size * sign();
  });
  s.runout = sized(Cause::bent_key, 1, [&] { return lognormal(p.runout); });
  s.bore_wear = sized(Cause::worn_bore, 1, [&] { return lognormal(p.bore_wear); });
  s.oval = sized(Cause::worn_hole, 1, [&] { return lognormal(p.oval); });
  s.drag = sized(Cause::dirt, 1, [&] { return lognormal(p.drag); });
  s.climate = sized(Cause::climate, 2, [&] { return at_least(p.climate_sd, state_.climate_share); });
  const auto residual = [&](double sd) { return std::abs(stream.normal()) * sd; };
  s.residual_lean = sized(Cause::bent_key, 1, [&] { return residual(p.residual_lean_sd); });
  s.residual_runout = sized(Cause::bent_key, 1, [&] { return residual(p.residual_runout_sd); });
  s.line_offset = sized(Cause::bent_body, 1, [&] { return p.line_offset * sign(); });
  if (subject_.line_offset) s.line_offset = subject_.line_offset->raw();
  if (ground_.kind == HingeKind::pivot) {
    for (std::size_t e = 0; e < 2; ++e) {
      for (const Cause form : kForms) {
        if (c.at[e].has(form) && form != Cause::sound) c.joint[e] = joint_with(e, form, stream);
      }
    }
  }
  return c;
}

std::vector<Inquiry::State::Set> Inquiry::State::possible_sets() const {
  const CausePresets& p = presets();
  std::vector<Set> out;
  const auto share = [&](Cause c) { return cause_applies[index(c)] ? p.share[index(c)] : 0.0; };
  double all = 0;
  for (std::size_t k = 1; k < kCauseCount; ++k) all += share(cause_at(k));
  out.push_back({{}, p.sound_share});
  for (std::size_t i = 1; i < kCauseCount; ++i) {
    const Cause a = cause_at(i);
    if (share(a) <= 0) continue;
    double partners = 0;
    for (std::size_t j = 1; j < kCauseCount; ++j) {
      if (go_together(a, cause_at(j))) partners += share(cause_at(j));
    }
    const double first = (1 - p.sound_share) * share(a) / all;
    const double two = partners > 0 ? p.two_causes : 0;
    out.push_back({{a}, first * (1 - two)});
    for (std::size_t j = 1; j < kCauseCount; ++j) {
      const Cause b = cause_at(j);
      if (!go_together(a, b) || share(b) <= 0) continue;
      const double chance = first * two * share(b) / partners;
      const Causes both{a, b};
      const auto same = std::find_if(out.begin(), out.end(), [&](const Set& s) { return s.causes == both; });
      if (same == out.end()) {
        out.push_back({both, chance});
      } else {
        same->chance += chance;
      }
    }
  }
  std::erase_if(out, [&](const Set& s) { return s.chance <= 0 || !subject.known.without(s.causes).empty(); });
  // What a document settles may be more than two causes: then they, and nothing else.
  if (out.empty()) out.push_back({subject.known, 1.0});
  return out;
}

/// Every set of causes that can be gets samples by the root of its chance: rare ones enough of them to be
/// told apart. Later, when the answers have left few samples that matter, mostly by what they have left of
/// it.
void Inquiry::State::draw() {
  std::vector<Set> all = possible_sets();
  std::vector<double> left(all.size(), 0.0);
  // Samples of one set mostly stand together.
  auto at = all.begin();
  for (const Sample& sample : samples) {
    const Causes& causes = sample.condition.causes;
    if (at == all.end() || at->causes != causes)
      at = std::find_if(all.begin(), all.end(), [&](const Set& s) { return s.causes == causes; });
    if (at != all.end()) left[static_cast<std::size_t>(at - all.begin())] += sample.weight;
  }
  double roots = 0;
  double left_roots = 0;
  for (std::size_t k = 0; k < all.size(); ++k) {
    roots += std::sqrt(all[k].chance);
    left_roots += std::sqrt(left[k]);
  }
  struct Lot {
    Causes causes;
    double log_share = 0;
    std::size_t end = 0;  ///< of its samples, by their place
  };
  std::vector<Lot> lots;
  lots.reserve(all.size());
  std::size_t total = 0;
  for (std::size_t k = 0; k < all.size(); ++k) {
    const Set& s = all[k];
    double part = std::sqrt(s.chance) / roots;
    if (left_roots > 0) part = 0.2 * part + 0.8 * std::sqrt(left[k]) / left_roots;
    const auto count =
        std::max<std::size_t>(4, static_cast<std::size_t>(std::lround(static_cast<double>(wanted) * part)));
    total += count;
    lots.push_back({s.causes, std::log(s.chance / static_cast<double>(count)), total});
  }
  if (!joints.empty()) joints.resize(sound_joints, joints.front());
  samples.resize(total);
  // Every sample has a stream of its own, and the joints made for a block are put in the blocks' order after:
  // the same for any number of threads.
  constexpr std::size_t kBlock = 512;
  std::vector<std::vector<JointFacts>> made((total + kBlock - 1) / kBlock);
  const auto work = [&](std::size_t first, std::size_t last) {
    Drawing drawing(*this);
    auto lot = std::upper_bound(lots.begin(), lots.end(), first,
                                [](std::size_t place, const Lot& l) { return place < l.end; });
    for (std::size_t k = first; k < last; ++k) {
      while (k >= lot->end) ++lot;
      samples[k] = drawing.sample(drawn + k, lot->causes, lot->log_share);
    }
    made[first / kBlock] = std::move(drawing.made);
  };
  if (threads == 1) {
    for (std::size_t first = 0; first < total; first += kBlock) work(first, std::min(total, first + kBlock));
  } else {
    numeric::for_blocks(total, threads, work, kBlock);
  }
  drawn += total;
  for (std::size_t block = 0; block < made.size(); ++block) {
    const auto before = static_cast<int>(joints.size() - sound_joints);
    if (made[block].empty()) continue;
    for (std::size_t k = block * kBlock; k < std::min(total, (block + 1) * kBlock); ++k) {
      for (int& joint : samples[k].condition.joint) {
        if (joint >= static_cast<int>(sound_joints)) joint += before;
      }
    }
    std::move(made[block].begin(), made[block].end(), std::back_inserter(joints));
  }
}

Sample Inquiry::State::Drawing::sample(std::uint64_t number, Causes causes, double log_share) {
  Sample out;
  out.number = number;
  out.log_share = log_share;
  numeric::Stream stream(state_.seed, number);
  out.condition = condition(causes, stream);
  if (!state_.entries.empty() || bow_heard_) aim(out, stream);
  return out;
}

/// Draws sizes that were measured near their readings, and cures that were done as failed now and then, and
/// weighs the sample for it.
void Inquiry::State::Drawing::aim(Sample& sample, numeric::Stream& stream) const {
  const CausePresets& p = presets();
  Condition& c = sample.condition;
  // At most a reading and what the end play leaves; thousands of samples are aimed at each reading.
  struct Nears {
    std::array<Near, 2> all{};
    std::size_t count = 0;
    void add(const Near& near) { all[count++] = near; }
    [[nodiscard]] std::span<const Near> said() const { return {all.data(), count}; }
  };
  // A mixture of the size's own distribution and of normals about what readings say of it; the weight is the
  // one density over the other.
  const auto towards = [&](double& size, const Nears& nears, const auto& own) {
    const double which = stream.uniform();
    const double z = stream.normal();
    const std::span<const Near> near = nears.said();
    if (near.empty()) return;
    constexpr double kOwn = 0.3;
    const double part = (1 - kOwn) / static_cast<double>(near.size());
    if (which >= kOwn) {
      const auto k = std::min(near.size() - 1, static_cast<std::size_t>((which - kOwn) / part));
      size = near[k].middle + near[k].sd * z;
    }
    const double as_own = own(size);
    double mixed = kOwn * as_own;
    for (const Near& n : near) mixed += part * normal_density((size - n.middle) / n.sd, n.sd);
    sample.log_share += as_own > 0 ? std::log(as_own / mixed) : kImpossible;
  };
  const auto lognormal = [](const Spread& spread) {
    return [spread](double x) {
      return x > 0 ? normal_density(std::log(x / spread.median) / spread.sigma, spread.sigma) / x : 0.0;
    };
  };
  // The latest reading of a check while the cause was not yet dealt with.
  const auto reading_of = [&](Check check, Cause cause) -> const Entry* {
    const auto found = std::find_if(state_.entries.rbegin(), state_.entries.rend(), [&](const Entry& e) {
      const Stage& at = state_.stages[e.stage];
      return e.answer.check == check && at.done[index(cure_of(cause))] == 0 && at.epoch == 0;
    });
    return found == state_.entries.rend() ? nullptr : &*found;
  };
  const auto near_reading = [&](Check check, Cause cause, Nears& near, double sign) {
    const Entry* e = reading_of(check, cause);
    if (e == nullptr) return;
    const double read = e->answer.value.raw() * sign;
    near.add({read, 1.5 * reading_standard(check, read, e->answer.standard.raw(), p)});
  };
  // The bend of the body when a reading was taken.
  const auto bend_then = [&](const Entry& e) {
    const bool there =
        c.causes.has(Cause::bent_body) && state_.stages[e.stage].done[index(cure_of(Cause::bent_body))] == 0;
    return there ? bend_of(c.sizes, ground_) : Bend{};
  };
  // What a fit in the window, and a bend of the body as it was drawn, leave of the end play for a cause to
  // explain.
  const bool fit_is_right = !c.causes.has(Cause::short_fit) && !c.causes.has(Cause::over_cut);
  const auto near_play = [&](Cause cause, Nears& near, double share_up, double share_down) {
    const Entry* e = fit_is_right ? reading_of(Check::end_play, cause) : nullptr;
    if (e == nullptr) return;
    double left = e->answer.value.raw() - state_.fits[0].bell.mean;
    if (c.causes.has(Cause::bent_body) &&
        state_.stages[e->stage].done[index(cure_of(Cause::bent_body))] == 0) {
      const Bend bend = bend_of(c.sizes, ground_);
      left -= bend.added;
      if (ground_.kind == HingeKind::pivot)
        left += bend.lean * (joint(c.joint[0]).per_lean() + joint(c.joint[1]).per_lean());
    }
    near.add({left / (left > 0 ? share_up : share_down), 0.012});
  };
  // What a bent tube ate of the end play: by the reading after it was straightened, or by a fit in the
  // window.
  const auto near_eaten = [&](Nears& near) {
    const Entry* bent = reading_of(Check::end_play, Cause::bent_key);
    if (bent == nullptr || ground_.kind == HingeKind::rod) return;
    double per_lean = 0;
    for (const int j : c.joint) {
      per_lean += joint(j).per_lean();
    }
    if (per_lean <= 0) return;
    std::optional<double> straight;
    for (const Entry& e : state_.entries) {
      const Stage& at = state_.stages[e.stage];
      if (e.answer.check == Check::end_play && at.epoch == 0 && at.done[index(Cure::straighten_key)] > 0) {
        straight = e.answer.value.raw();
      }
    }
    const Bend bend = bend_then(*bent);
    if (!straight && fit_is_right && !c.causes.has(Cause::post_moved) && !c.causes.has(Cause::screw_off)) {
      straight = state_.fits[0].bell.mean + bend.added;
    }
    if (!straight) return;
    const double eaten = std::max(0.0, *straight - bent->answer.value.raw());
    const double turning = eaten / per_lean + c.sizes.residual_lean + bend.lean;
    near.add({turning * ground_.key_length / 4, 0.012 / per_lean * ground_.key_length / 4});
  };
  Sizes& s = c.sizes;
  if (c.causes.has(Cause::bent_body)) {
    Nears near;
    near_reading(Check::bow, Cause::bent_body, near, 1);
    if (bow_heard_) near.add(*bow_heard_);
    const auto size = lognormal(p.bow);
    towards(s.bow, near, [&](double x) { return size(std::abs(x)) / 2; });
  }
  if (c.causes.has(Cause::bent_key)) {
    Nears near;
    near_reading(Check::roll, Cause::bent_key, near, 1);
    near_eaten(near);
    towards(s.runout, near, lognormal(p.runout));
  }
  if (c.causes.has(Cause::screw_off)) {
    Nears near;
    near_reading(c.at[0].has(Cause::screw_off) ? Check::stand_off_upper : Check::stand_off_lower,
                 Cause::screw_off, near, 1);
    if (!c.causes.has(Cause::post_moved)) near_play(Cause::screw_off, near, 1, 1);
    towards(s.screw_off, near, lognormal(p.screw_off));
  }
  if (c.causes.has(Cause::post_moved)) {
    Nears near;
    const bool upper = c.at[0].has(Cause::post_moved);
    const double eats =
        ground_.kind == HingeKind::rod ? 0 : joint(c.joint[upper ? 0 : 1]).per_lean() / p.post_height;
    if (!c.causes.has(Cause::screw_off))
      near_play(Cause::post_moved, near, std::max(0.2, 1 - eats), 1 + eats);
    const double kept = 2 * normal_below(-p.post_least / p.post_sd);
    towards(s.post, near, [&](double x) {
      return std::abs(x) < p.post_least ? 0.0 : normal_density(x / p.post_sd, p.post_sd) / kept;
    });
  }
  for (std::size_t k = 1; k < kCureCount; ++k) {
    const int times = state_.now().done[k];
    if (times == 0) continue;
    bool meant = false;
    for (const auto& [cause, cure] : kCureOf) meant = meant || (index(cure) == k && c.causes.has(cause));
    if (!meant) continue;
    const double fails = std::clamp(p.stubborn, 1e-12, 1 - 1e-12);
    constexpr double kFirst = 0.8;
    const double u = stream.uniform();
    int failed = 0;
    if (u >= kFirst) failed = std::min(times, 1 + static_cast<int>((u - kFirst) / (1 - kFirst) * times));
    sample.resisted[k] = static_cast<std::uint8_t>(std::min(failed, 255));
    const double chance = std::pow(fails, failed) * (failed < times ? 1 - fails : 1.0);
    sample.log_share += std::log(chance / (failed == 0 ? kFirst : (1 - kFirst) / times));
  }
}

/// When the answers, or what was heard, have left too few samples that matter, others are drawn where they
/// point to. kThin: by counting so many, a share is known to two hundredths (one standard deviation, where it
/// is a half).
void Inquiry::State::renew_if_thin() {
  constexpr double kThin = 500;
  if (1 / squares >= kThin || (entries.empty() && !bow_as_heard())) return;
  draw();
  settle_all();
}

// ---- settling --------------------------------------------------------------------------------------

const FitKind& Inquiry::State::fit_kind(const Sample& s, int epoch) const {
  if (epoch > 0) return fits[3];
  if (s.condition.causes.has(Cause::short_fit)) return fits[1];
  if (s.condition.causes.has(Cause::over_cut)) return fits[2];
  return fits[0];
}

/// Takes in all end-play readings of an epoch and puts the sample's fit at its own place in what is left.
/// Returns ln of the chance of these readings.
double Inquiry::State::settle_fit(Sample& s, int epoch) const {
  const CausePresets& p = presets();
  const FitKind& kind = fit_kind(s, epoch);
  double mean = kind.bell.mean;
  double variance = kind.bell.variance;
  double log_chance = -kind.log_inside;
  std::uint64_t n = 0;
  for (const Entry& e : entries) {
    ++n;
    if (e.answer.check != Check::end_play || stages[e.stage].epoch != epoch) continue;
    const double read = e.answer.value.raw();
    const double standard = reading_standard(Check::end_play, read, e.answer.standard.raw(), p);
    const double offset = added_play(s.condition, cured(s, stages[e.stage]), ground, joints)[0];
    const double spread = std::sqrt(variance + standard * standard);
    const double z = (read - offset - mean) / spread;
    const double as_read = (1 - p.misread) * normal_density(z, spread);
    const double slipped = p.misread / (2 * p.misread_reach);
    log_chance += std::log(as_read + slipped);
    // Each sample holds the reading for one or the other, by its own place.
    if (own_place(seed, s.number, 100 + n) * (as_read + slipped) < as_read) {
      const double weight = variance / (variance + standard * standard);
      mean += weight * (read - offset - mean);
      variance *= 1 - weight;
    }
  }
  const double sd = std::sqrt(variance);
  const double place = own_place(seed, s.number, static_cast<std::uint64_t>(epoch));
  double& fit = s.fit[static_cast<std::size_t>(epoch)];
  if (!kind.bounded()) {
    fit = mean + sd * numeric::inverse_normal(place);
    return log_chance;
  }
  const double below = normal_below((kind.low - mean) / sd);
  const double left = normal_below((kind.high - mean) / sd) - below;
  if (left < 1e-12) {
    // The readings leave nothing of this kind of fit: at its edge, with hardly a chance.
    fit = kind.low > -1e8 ? kind.low : kind.high;
    return log_chance + std::log(1e-12);
  }
  const double share = std::clamp(below + place * left, 1e-15, 1 - 1e-15);
  fit = std::clamp(mean + sd * numeric::inverse_normal(share), kind.low, kind.high);
  return log_chance + std::log(left);
}

double Inquiry::State::log_likelihood(const Entry& e, const Bench& b) const {
  const CausePresets& p = presets();
  const Check check = e.answer.check;
  if (!is_reading(check)) {
    return std::log(std::max(choice_chances(check, b, ground, joints)[e.answer.choice], 1e-12));
  }
  if (check == Check::end_play) return 0;  // taken in closed form
  const double read = e.answer.value.raw();
  const double middle = reading_middle(check, b, ground, joints);
  const double standard = reading_standard(check, read, e.answer.standard.raw(), p);
  const double z = (read - middle) / standard;
  const double slip = e.answer.several ? p.misread * p.misread : p.misread;
  return std::log((1 - slip) * normal_density(z, standard) + slip / (2 * p.misread_reach));
}

double Inquiry::State::bow_factor(const Sample& s) const {
  if (!s.condition.causes.has(Cause::bent_body)) return 1;
  const double place = (s.condition.sizes.bow - bow_at(0)) / (bow_at(1) - bow_at(0));
  const double clamped = std::clamp(place, 0.0, static_cast<double>(kBowCount - 1));
  const auto k = std::min(static_cast<std::size_t>(clamped), kBowCount - 2);
  const double part = clamped - static_cast<double>(k);
  return heard[k] * (1 - part) + heard[k + 1] * part;
}

/// Where the other keys see the bow; nothing where they are of no one mind.
std::optional<Near> Inquiry::State::bow_as_heard() const {
  const auto [least, most] = std::minmax_element(heard.begin(), heard.begin() + kBowCount);
  constexpr double kSaysNothing = 2;
  if (*most < kSaysNothing * *least) return std::nullopt;
  double sum = 0;
  double first = 0;
  double second = 0;
  for (std::size_t k = 0; k < kBowCount; ++k) {
    const double bow = bow_at(k);
    const Spread& own = presets().bow;
    if (bow == 0) continue;
    const double weight = heard[k] *
                          normal_density(std::log(std::abs(bow) / own.median) / own.sigma, own.sigma) /
                          std::abs(bow);
    sum += weight;
    first += weight * bow;
    second += weight * bow * bow;
  }
  if (!(sum > 0)) return std::nullopt;
  const double mean = first / sum;
  // Between two places of a message the bow is anywhere.
  return Near{mean, std::max(std::sqrt(std::max(0.0, second / sum - mean * mean)), bow_at(1) - bow_at(0))};
}

void Inquiry::State::settle(Sample& s) const {
  double log_weight = s.log_share + std::log(std::max(bow_factor(s), 1e-300));
  for (int epoch = 0; epoch <= std::min(now().epoch, 1); ++epoch) log_weight += settle_fit(s, epoch);
  for (std::size_t stage = 0; stage < stages.size(); ++stage) {
    const Stage& at = stages[stage];
    const bool asked =
        stage + 1 == stages.size() || (stage == 0 && complaint) ||
        std::any_of(entries.begin(), entries.end(), [&](const Entry& e) { return e.stage == stage; });
    if (!asked) continue;
    const Bench b = bench_of(s.condition, cured(s, at), s.fit[at.epoch > 0 ? 1 : 0], ground, joints);
    if (stage == 0 && complaint) {
      log_weight += std::log(complaint_chances(b, ground, joints)[static_cast<std::size_t>(*complaint)]);
    }
    for (const Entry& e : entries) {
      if (e.stage == stage) log_weight += log_likelihood(e, b);
    }
    if (stage + 1 == stages.size()) s.bench = b;
  }
  s.there = standing(s, now());
  s.log_weight = log_weight;
}

void Inquiry::State::settle_all() {
  const auto work = [&](std::size_t first, std::size_t last) {
    for (std::size_t k = first; k < last; ++k) settle(samples[k]);
  };
  if (threads == 1) {
    work(0, samples.size());
  } else {
    numeric::for_blocks(samples.size(), threads, work);
  }
  normalise();
}

/// A cure may do nothing. Every sample that it is meant for and that still matters becomes two: one it cured,
/// one it did not.
void Inquiry::State::part_by_success(Cure cure) {
  const double fails = presets().stubborn;
  const std::size_t c = index(cure);
  const std::size_t count = samples.size();
  constexpr double kMatters = 1e-7;
  constexpr std::uint8_t kMostTries = 20;
  if (!(fails > 0 && fails < 1) || count > most_samples) return;
  for (std::size_t k = 0; k < count; ++k) {
    const Causes there = standing(samples[k], now());
    bool meant = false;
    for (std::size_t n = 1; n < kCauseCount; ++n)
      meant = meant || (there.has(cause_at(n)) && cure_of(cause_at(n)) == cure);
    if (!meant || samples[k].weight < kMatters || samples[k].resisted[c] >= kMostTries) continue;
    Sample failed = samples[k];
    ++failed.resisted[c];
    failed.log_share += std::log(fails);
    samples[k].log_share += std::log1p(-fails);
    samples.push_back(failed);
  }
}

void Inquiry::State::normalise() {
  double most = -1e300;
  for (const Sample& s : samples) most = std::max(most, s.log_weight);
  double sum = 0;
  for (Sample& s : samples) sum += s.weight = std::exp(s.log_weight - most);
  shares.fill(0);
  upper_shares.fill(0);
  squares = 0;
  std::map<Causes, double> by_set;
  auto set = by_set.end();
  for (Sample& s : samples) {
    s.weight /= sum;
    squares += s.weight * s.weight;
    // Samples of one set mostly stand together.
    if (set == by_set.end() || !(set->first == s.there)) set = by_set.try_emplace(s.there, 0.0).first;
    set->second += s.weight;
    for (const auto& [cause, cure] : kCureOf) {
      if (at_one_end(cause) && s.there.has(cause) && s.condition.at[0].has(cause))
        upper_shares[index(cause)] += s.weight;
    }
  }
  sets.assign(by_set.begin(), by_set.end());
  for (const auto& [causes, weight] : sets) {
    for (std::size_t k = 0; k < kCauseCount; ++k) {
      if (causes.has(cause_at(k))) shares[k] += weight;
    }
  }
  for (std::size_t k = 0; k < kCauseCount; ++k) {
    shares[k] = std::clamp(shares[k], 0.0, 1.0);
    upper_shares[k] = shares[k] > 0 ? std::min(1.0, upper_shares[k] / shares[k]) : 0;
  }
}

// ---- decisions -------------------------------------------------------------------------------------

bool Inquiry::State::cure_applies(Cure cure) const {
  if (cure == Cure::leave) return true;
  for (std::size_t k = 1; k < kCauseCount; ++k) {
    if (cause_applies[k] && cure_of(cause_at(k)) == cure) return true;
  }
  return false;
}

double Inquiry::State::loss_of(Causes causes, Cure cure) const {
  const CausePresets& p = presets();
  int others = 0;
  bool cures = false;
  bool cheaper = false;
  for (std::size_t k = 1; k < kCauseCount; ++k) {
    const Cause c = cause_at(k);
    if (!causes.has(c)) continue;
    if (cure != Cure::leave && cure_of(c) == cure) {
      cures = true;
    } else {
      ++others;
      cheaper = cheaper || std::find(kBeforeCut.begin(), kBeforeCut.end(), c) != kBeforeCut.end();
    }
  }
  if (cure == Cure::leave) return others * p.uncured;
  double loss = p.cure_minutes[index(cure)] + others * p.put_off;
  // Metal taken while something cheaper shifts the key is metal taken for nothing, or too much.
  if (!cures || (takes_metal(cure) && cheaper)) loss += p.cure_harm[index(cure)];
  return loss;
}

/// Samples by their weights, evenly: each stands for the same share.
std::vector<const Sample*> Inquiry::State::spread(std::size_t count) const {
  std::vector<const Sample*> out;
  out.reserve(count);
  double reached = 0;
  std::size_t at = 0;
  for (std::size_t k = 0; k < count; ++k) {
    const double place = (static_cast<double>(k) + 0.5) / static_cast<double>(count);
    while (at + 1 < samples.size() && reached + samples[at].weight < place) reached += samples[at++].weight;
    out.push_back(&samples[at]);
  }
  return out;
}

/// Chance of every outcome of a check for every one of these samples: [sample * outcomes + outcome]. Readings
/// are parted into bins that hold about equally many.
void Inquiry::State::outcome_chances(Check check, const std::vector<const Sample*>& some,
                                     std::vector<double>& chances, std::size_t& outcomes) const {
  if (!is_reading(check)) {
    outcomes = answers(check).size();
    chances.resize(some.size() * outcomes);
    for (std::size_t i = 0; i < some.size(); ++i) {
      const auto c = choice_chances(check, some[i]->bench, ground, joints);
      for (std::size_t k = 0; k < outcomes; ++k) chances[i * outcomes + k] = c[k];
    }
    return;
  }
  outcomes = kBins;
  std::vector<double> middles;
  middles.reserve(some.size());
  for (const Sample* s : some) middles.push_back(reading_middle(check, s->bench, ground, joints));
  std::vector<double> sorted = middles;
  std::sort(sorted.begin(), sorted.end());
  // Half of the edges by how many, half by how far: a rare large size is an outcome of its own.
  std::vector<double> edges;
  for (std::size_t k = 1; k <= kBins / 2; ++k)
    edges.push_back(sorted[k * (sorted.size() - 1) / (kBins / 2 + 1)]);
  const double reach = sorted.back() - sorted.front();
  constexpr std::size_t kSteps = kBins / 2;
  for (std::size_t k = 1; k < kSteps; ++k) {
    edges.push_back(sorted.front() +
                    reach * static_cast<double>(k * k) / static_cast<double>(kSteps * kSteps));
  }
  std::sort(edges.begin(), edges.end());
  const double standard = reading_standard(check, 0, 0, presets());
  for (double& e : edges) e += standard / 2;
  chances.assign(some.size() * outcomes, 0.0);
  for (std::size_t i = 0; i < some.size(); ++i) {
    double before = 0;
    for (std::size_t k = 0; k < outcomes; ++k) {
      const double z = k < edges.size() ? (edges[k] - middles[i]) / standard : 9;
      const double below = z > 5 ? 1 : z < -5 ? 0 : normal_below(z);
      chances[i * outcomes + k] = std::max(0.0, below - before);
      before = std::max(before, below);
    }
  }
}

// ---- the public face -------------------------------------------------------------------------------

Inquiry::Inquiry(std::unique_ptr<State> state) : state_(std::move(state)) {}
Inquiry::Inquiry(const Inquiry& other) : state_(std::make_unique<State>(*other.state_)) {}
Inquiry::Inquiry(Inquiry&&) noexcept = default;
Inquiry& Inquiry::operator=(Inquiry&&) noexcept = default;
Inquiry::~Inquiry() = default;

Expected<Inquiry> Inquiry::begin(const Subject& subject, const CausePresets& presets,
                                 std::optional<Complaint> complaint, std::uint64_t seed, std::size_t samples,
                                 unsigned threads) {
  auto state = std::make_unique<State>();
  state->subject = subject;
  state->ground.presets = presets;
  state->complaint = complaint;
  state->seed = seed;
  state->threads = threads;
  if (auto laid = state->lay_ground(); !laid) return tl::unexpected(laid.error());
  state->wanted = samples;
  state->sound_joints = state->joints.size();
  state->draw();
  state->most_samples = 2 * state->samples.size();
  state->settle_all();
  return Inquiry(std::move(state));
}

Expected<void> Inquiry::take(const Answer& answer) {
  State& s = *state_;
  const Check check = answer.check;
  if (!applies(check)) {
    return fail(Fault::content, fmt::format("this hinge has no \"{}\"", word(check)), "a check that it has");
  }
  if (is_reading(check)) {
    const double read = answer.value.raw();
    const double standard = answer.standard.raw();
    const bool may_be_negative = check == Check::end_play || check == Check::bow;
    if (!std::isfinite(read) || std::abs(read) > kMostReading || (read < 0 && !may_be_negative)) {
      return fail(Fault::content, fmt::format("{} cannot be that", word(check)),
                  may_be_negative ? "a length between -10 and 10 mm" : "a length between 0 and 10 mm");
    }
    if (!std::isfinite(standard) || standard < 0 || standard > kMostReading) {
      return fail(Fault::content, "the uncertainty cannot be that", "a length between 0 and 10 mm");
    }
  } else if (answer.choice >= answers(check).size()) {
    return fail(Fault::content, fmt::format("\"{}\" has no such answer", word(check)), "one of its answers");
  }
  Entry entry{answer, s.stages.size() - 1, {}};
  // Smaller than this no reading's doubt is.
  constexpr double kLeastStandard = 1e-4;
  if (entry.answer.standard.raw() > 0)
    entry.answer.standard = std::max(entry.answer.standard, millimetres(kLeastStandard));
  const std::array<double, kCauseCount> before = s.shares;
  s.entries.push_back(entry);
  if (check == Check::end_play || says_a_size(check)) {
    // Few samples have a cause just that large: others are drawn near the reading, and for the end play,
    // beside which all else is judged, near what it leaves to explain.
    s.draw();
    s.settle_all();
  } else {
    for (Sample& sample : s.samples) sample.log_weight += s.log_likelihood(entry, sample.bench);
    s.normalise();
  }
  const auto odds = [](double share) { return std::max(share, 1e-9) / std::max(1 - share, 1e-9); };
  for (std::size_t k = 0; k < kCauseCount; ++k) {
    s.entries.back().factor[k] = odds(s.shares[k]) / odds(before[k]);
  }
  s.renew_if_thin();
  s.done[index(check)] = true;
  return {};
}

void Inquiry::skip(Check check) { state_->done[index(check)] = true; }

void Inquiry::treat(Cure cure) {
  State& s = *state_;
  if (cure == Cure::leave) return;
  Stage next = s.now();
  ++next.done[index(cure)];
  next.nothing_done = false;
  if (takes_metal(cure)) next.epoch = 1;
  s.part_by_success(cure);
  s.stages.push_back(next);
  for (const Check c : {Check::sticks, Check::end_play, Check::rock_upper, Check::rock_lower, Check::rock_pad,
                        Check::back_off_upper, Check::back_off_lower}) {
    s.done[index(c)] = false;
  }
  s.settle_all();
}

std::vector<CauseShare> Inquiry::causes() const {
  const State& s = *state_;
  std::vector<CauseShare> out;
  for (std::size_t k = 0; k < kCauseCount; ++k) {
    if (s.cause_applies[k] || k == 0) out.push_back({cause_at(k), s.shares[k], s.upper_shares[k]});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const CauseShare& a, const CauseShare& b) { return a.share > b.share; });
  return out;
}

double Inquiry::share(Cause cause) const { return state_->shares[index(cause)]; }

std::vector<Evidence> Inquiry::evidence(Cause cause) const {
  std::vector<Evidence> out;
  for (const Entry& e : state_->entries) {
    const double factor = e.factor[index(cause)];
    if (std::abs(std::log(factor)) < 0.4) continue;
    const auto& words = answers(e.answer.check);
    out.push_back(
        {e.answer.check, words.empty() ? std::string() : words[e.answer.choice], e.answer.value, factor});
  }
  std::stable_sort(out.begin(), out.end(), [](const Evidence& a, const Evidence& b) {
    return std::abs(std::log(a.factor)) > std::abs(std::log(b.factor));
  });
  return out;
}

std::optional<Check> Inquiry::telling_apart(Cause one, Cause another) const {
  const State& s = *state_;
  const auto some = s.spread(kForWorth);
  std::vector<double> chances;
  std::optional<Check> best;
  double most = 0.05;
  for (std::size_t k = 0; k < kCheckCount; ++k) {
    const Check check = static_cast<Check>(k);
    if (!applies(check) || s.done[k]) continue;
    std::size_t outcomes = 0;
    s.outcome_chances(check, some, chances, outcomes);
    // How far apart the two causes' outcomes lie: total variation.
    std::vector<double> with_one(outcomes, 0.0);
    std::vector<double> with_another(outcomes, 0.0);
    double ones = 0;
    double others = 0;
    for (std::size_t i = 0; i < some.size(); ++i) {
      const Causes there = some[i]->there;
      const bool a = there.has(one);
      const bool b = there.has(another);
      if (a == b) continue;
      (a ? ones : others) += 1;
      for (std::size_t o = 0; o < outcomes; ++o)
        (a ? with_one : with_another)[o] += chances[i * outcomes + o];
    }
    if (ones == 0 || others == 0) continue;
    double apart = 0;
    for (std::size_t o = 0; o < outcomes; ++o)
      apart += std::abs(with_one[o] / ones - with_another[o] / others) / 2;
    if (apart > most) {
      most = apart;
      best = check;
    }
  }
  return best;
}

double Inquiry::loss(Cure cure) const {
  double sum = 0;
  for (const auto& [causes, weight] : state_->sets) sum += weight * state_->loss_of(causes, cure);
  return sum;
}

Cure Inquiry::best_cure() const {
  Cure best = Cure::leave;
  double least = loss(best);
  for (std::size_t k = 1; k < kCureCount; ++k) {
    const Cure cure = static_cast<Cure>(k);
    if (!state_->cure_applies(cure)) continue;
    const double l = loss(cure);
    if (l < least) {
      least = l;
      best = cure;
    }
  }
  return best;
}

std::vector<Worth> Inquiry::worths() const {
  const State& s = *state_;
  const auto some = s.spread(kForWorth);
  std::vector<Cure> cures;
  for (std::size_t k = 0; k < kCureCount; ++k) {
    if (s.cure_applies(static_cast<Cure>(k))) cures.push_back(static_cast<Cure>(k));
  }
  const std::size_t n = cures.size();
  std::vector<double> losses(some.size() * n);
  for (std::size_t i = 0; i < some.size(); ++i) {
    const Causes there = some[i]->there;
    for (std::size_t c = 0; c < n; ++c) losses[i * n + c] = s.loss_of(there, cures[c]);
  }
  const auto least_of = [&](const std::vector<double>& sums) {
    return *std::min_element(sums.begin(), sums.end());
  };
  std::vector<double> sums(n, 0.0);
  for (std::size_t i = 0; i < some.size(); ++i) {
    for (std::size_t c = 0; c < n; ++c) sums[c] += losses[i * n + c];
  }
  const double now = least_of(sums);
  std::vector<Worth> out;
  std::vector<double> chances;
  for (std::size_t k = 0; k < kCheckCount; ++k) {
    const Check check = static_cast<Check>(k);
    if (!applies(check) || s.done[k]) continue;
    std::size_t outcomes = 0;
    s.outcome_chances(check, some, chances, outcomes);
    double after = 0;
    for (std::size_t o = 0; o < outcomes; ++o) {
      std::fill(sums.begin(), sums.end(), 0.0);
      for (std::size_t i = 0; i < some.size(); ++i) {
        const double chance = chances[i * outcomes + o];
        if (chance < 1e-6) continue;
        for (std::size_t c = 0; c < n; ++c) sums[c] += chance * losses[i * n + c];
      }
      after += least_of(sums);
    }
    const double gain = std::max(0.0, (now - after) / static_cast<double>(some.size()));
    out.push_back({check, gain, s.presets().minutes[k]});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Worth& a, const Worth& b) { return a.per_minute() > b.per_minute(); });
  return out;
}

std::optional<Worth> Inquiry::next_check() const {
  const auto all = worths();
  if (all.empty() || all.front().per_minute() <= 1) return std::nullopt;
  return all.front();
}

std::vector<Barrier> Inquiry::barriers(Causes waived) const {
  const State& s = *state_;
  const auto undone = [&](std::initializer_list<Check> checks) {
    std::vector<Check> out;
    for (const Check c : checks) {
      if (applies(c) && !s.done[index(c)]) out.push_back(c);
    }
    return out;
  };
  std::vector<Barrier> out;
  for (const Cause cause : kBeforeCut) {
    if (!s.cause_applies[index(cause)] || waived.has(cause)) continue;
    Barrier b{cause, {}, share(cause)};
    switch (cause) {
      case Cause::screw_off:
        b.checks =
            undone({Check::stand_off_upper, Check::stand_off_lower, Check::slack_upper, Check::slack_lower});
        break;
      case Cause::loose_thread:
        b.checks = undone({Check::wobble_upper, Check::wobble_lower});
        break;
      case Cause::bent_body:
        // The neighbours' word is enough where it leaves little doubt.
        if (!s.done[index(Check::bow)]) b.checks = undone({Check::neighbours});
        if (b.checks.empty() && b.share > s.presets().gate_share) b.checks = undone({Check::bow});
        break;
      case Cause::post_moved:
        b.checks = undone({Check::post_upper, Check::post_lower});
        break;
      case Cause::bent_key:
        b.checks = undone({Check::roll});
        break;
      case Cause::dirt:
        b.checks = undone({Check::clean});
        break;
      default:
        // Climate is asked after only where it is suspected.
        if (b.share > s.presets().gate_share) b.checks = undone({Check::warmth});
        break;
    }
    if (!b.checks.empty() || b.share > s.presets().gate_share) out.push_back(std::move(b));
  }
  return out;
}

bool Inquiry::answered(Check check) const { return state_->done[index(check)]; }
bool Inquiry::applies(Check check) const { return state_->check_applies[index(check)]; }
bool Inquiry::applies(Cause cause) const { return state_->cause_applies[index(cause)]; }

double Inquiry::effective_samples() const { return 1 / state_->squares; }

std::pair<double, double> Inquiry::end_play() const {
  double mean = 0;
  double square = 0;
  for (const Sample& s : state_->samples) mean += s.weight * s.bench.end_play;
  for (const Sample& s : state_->samples)
    square += s.weight * (s.bench.end_play - mean) * (s.bench.end_play - mean);
  return {mean, std::sqrt(square)};
}

std::vector<std::pair<double, double>> Inquiry::sizes(Size size) const {
  std::vector<std::pair<double, double>> out;
  for (const Sample& s : state_->samples) {
    const Sizes& z = s.condition.sizes;
    const auto of = [&](Cause cause, double value) { return s.condition.causes.has(cause) ? value : 0.0; };
    const double value = [&] {
      switch (size) {
        case Size::fit:
          return s.fit[0];
        case Size::screw_off:
          return of(Cause::screw_off, z.screw_off);
        case Size::slop:
          return of(Cause::loose_thread, z.slop);
        case Size::post:
          return of(Cause::post_moved, z.post);
        case Size::bow:
          return of(Cause::bent_body, z.bow);
        case Size::runout:
          return of(Cause::bent_key, z.runout);
        case Size::oval:
          return of(Cause::worn_hole, z.oval);
        case Size::drag:
          return of(Cause::dirt, z.drag);
        case Size::climate:
          break;
      }
      return of(Cause::climate, z.climate);
    }();
    out.emplace_back(value, s.weight);
  }
  return out;
}

double Inquiry::bow_at(std::size_t k) {
  return -1.2 + 2.4 * static_cast<double>(k) / static_cast<double>(kBowCount - 1);
}

Inquiry::BowMessage Inquiry::say_bow() const {
  const State& s = *state_;
  BowMessage out;
  out.fill(1);
  std::array<double, kBowCount> after{};
  std::array<double, kBowCount> before{};
  double straight_after = 0;
  double straight_before = 0;
  for (const Sample& sample : s.samples) {
    const double prior = std::exp(sample.log_share);
    // What was heard from others is not said again.
    const double own = sample.weight / std::max(s.bow_factor(sample), 1e-12);
    if (!sample.condition.causes.has(Cause::bent_body)) {
      straight_before += prior;
      straight_after += own;
      continue;
    }
    const double place = std::clamp((sample.condition.sizes.bow - bow_at(0)) / (bow_at(1) - bow_at(0)), 0.0,
                                    static_cast<double>(kBowCount - 1));
    // Spread over the neighbouring places: a few samples stand for a smooth curve.
    for (std::size_t k = 0; k < kBowCount; ++k) {
      const double d = (static_cast<double>(k) - place) / 0.8;
      const double near = std::exp(-0.5 * d * d);
      before[k] += near * prior;
      after[k] += near * own;
    }
  }
  if (straight_before <= 0 || straight_after <= 0) return out;
  for (std::size_t k = 0; k < kBowCount; ++k) {
    if (before[k] > 1e-9)
      out[k] = std::clamp((after[k] / before[k]) / (straight_after / straight_before), 1e-3, 1e3);
  }
  return out;
}

void Inquiry::hear_bow(const BowMessage& message) {
  state_->heard = message;
  for (double& m : state_->heard) {
    if (!(m > 0) || !std::isfinite(m)) m = 1;
  }
  state_->settle_all();
  state_->renew_if_thin();
}

}  // namespace hingeline::belief
