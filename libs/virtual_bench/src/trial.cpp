#include "hingeline/virtual_bench/trial.h"

#include <algorithm>
#include <atomic>
#include <cmath>

#include "hingeline/numeric/propagate.h"

namespace hingeline::virtual_bench {
namespace {

using belief::Cause;
using belief::Causes;
using belief::Check;
using guide::Event;
using guide::Guide;
using guide::Next;

/// Book rate: mm a turn.
constexpr double kBookRate = 0.02;
constexpr double kBetween = 0.45;
constexpr double kWithin = 0.15;
/// A rule of thumb that has made so many bites gives up.
constexpr std::size_t kMostBites = 200;

}  // namespace

belief::KeyGeometry design(std::uint64_t number, Outcome::Kind kind) {
  belief::KeyGeometry g;
  if (kind == Outcome::Kind::rod) {
    g.kind = belief::HingeKind::rod;
    g.key_length = millimetres(60);
    g.span = millimetres(60.02);
    g.rod_diameter = millimetres(2.0);
    g.bore = millimetres(2.016);
    g.pad = mechanism::Pad{millimetres(25), millimetres(30), millimetres(25), {}};
    return g;
  }
  struct Size {
    double half_angle, tip, length, shank, mouth, depth, key;
  };
  constexpr std::array<Size, 3> kSizes{{{20, 0.40, 3.4, 1.15, 1.00, 2.1, 40},
                                        {15, 0.30, 3.4, 0.85, 0.80, 2.3, 28},
                                        {30, 0.50, 3.2, 1.30, 1.20, 1.6, 55}}};
  const Size& size = kSizes[number % 3];
  g.key_length = millimetres(size.key);
  for (const Side side : {Side::upper, Side::lower}) {
    belief::JointGeometry& j = g.at(side);
    j.point.half_angle = j.hole.half_angle = degrees(size.half_angle);
    j.point.tip_radius = millimetres(size.tip);
    j.point.length = millimetres(size.length);
    j.point.shank_radius = millimetres(size.shank);
    j.hole.mouth_radius = millimetres(size.mouth);
    j.hole.depth = millimetres(size.depth);
    j.stop = millimetres(0.2);
  }
  g.span = g.key_length + millimetres(0.42);
  g.pad = mechanism::Pad{millimetres(size.key / 2), g.key_length * 0.6, millimetres(size.key * 0.7), {}};
  return g;
}

namespace {

guide::Job job_of(const TrialSetup& setup, const belief::KeyGeometry& geometry, EndHeads heads,
                  belief::Complaint complaint, std::uint64_t number) {
  guide::Job job;
  job.knowledge.geometry = geometry;
  belief::Input span;
  span.name = "span between posts";
  span.value = geometry.span.raw();
  span.standard = 0.02;
  span.origin = Origin::read;
  span.set = [](belief::KeyGeometry& g, double v) { g.span = millimetres(v); };
  job.knowledge.inputs.push_back(std::move(span));
  auto estimate = belief::estimate(job.knowledge);
  if (estimate) job.key_case.estimate = std::move(*estimate);
  for (plan::EndFacts* end : {&job.key_case.upper, &job.key_case.lower}) {
    end->headed = heads.upper_headed;
    end->pitch = millimetres(0.45);
  }
  job.key_case.window.window_low = setup.window_low;
  job.key_case.window.window_high = setup.window_high;
  job.key_case.window.window_firm = true;
  // The window is the one under trial: nothing of the key narrows it.
  job.key_case.window.pad_gap_allowed = job.key_case.window.rock_allowed = millimetres(1);
  job.key_case.limits.centring_allowed = millimetres(0.5);
  job.subject.geometry = geometry;
  job.subject.upper_headed = heads.upper_headed;
  job.subject.lower_headed = heads.lower_headed;
  job.presets = setup.presets;
  job.complaint = complaint;
  job.take_off = plan::TakeOff{std::log(kBookRate), kBetween, kWithin};
  job.seed = setup.seed * 0x9E3779B97F4A7C15ULL + number;
  job.samples = setup.samples;
  return job;
}

bool damaged_hole(Causes causes) {
  return causes.has(Cause::worn_hole) || causes.has(Cause::taper_mismatch) ||
         causes.has(Cause::straight_hole) || causes.has(Cause::tip_on_floor);
}

/// Does what the guide says until it is done.
void obey(Guide& guide, HiddenKey& key, const TrialSetup& setup, Outcome& out) {
  const Noise noise{setup.shift.noise, true};
  while (!guide.finished()) {
    const Next& next = guide.next();
    Event event;
    switch (next.what) {
      case Next::What::look: {
        const Finding f = key.answer(*next.check, noise);
        event.kind = Event::Kind::answered;
        event.check = *next.check;
        event.answer = {f.check, f.value, {}, f.choice};
        ++out.checks;
        out.minutes += setup.presets.minutes[static_cast<std::size_t>(*next.check)];
        break;
      }
      case Next::What::cure:
        key.treat(*next.cure);
        // Of a tube on its rod, that is: drawn out or faced. Seats are cut and eased by bites.
        out.tube_worked =
            out.tube_worked || *next.cure == belief::Cure::cut || *next.cure == belief::Cure::ease;
        if (*next.cure == belief::Cure::restore_hole || *next.cure == belief::Cure::deepen_hole) {
          out.hole_for_nothing = out.hole_for_nothing || !damaged_hole(out.truth);
        }
        event.kind = Event::Kind::cured;
        out.minutes += setup.presets.cure_minutes[static_cast<std::size_t>(*next.cure)];
        break;
      case Next::What::step:
        if (next.step->operation == plan::Operation::turn_screw)
          key.turn_screw(next.step->side, next.step->amount);
        event.kind = Event::Kind::cured;
        break;
      case Next::What::bite: {
        const double before = key.metal().cut.raw();
        key.cut(*next.side, next.turns);
        out.cut += key.metal().cut.raw() - before;
        ++out.bites;
        out.went_under = out.went_under || key.end_play() < setup.window_low;
        event.kind = Event::Kind::bitten;
        event.side = *next.side;
        event.turns = next.turns;
        break;
      }
      case Next::What::ream: {
        // The reamer's feed is read off its own collar: what is asked for, within the scatter of a bite.
        const double turns = next.amount / key.take_off();
        key.ream(*next.side, turns);
        ++out.reams;
        event.kind = Event::Kind::reamed;
        event.side = *next.side;
        event.amount = next.amount;
        break;
      }
      case Next::What::see_cutter:
        event.kind = Event::Kind::cutter_seen;
        break;
      case Next::What::done:
      case Next::What::beyond:
        return;
    }
    // An answer that is refused would be asked for again for ever.
    if (!guide.tell(event)) return;
  }
}

/// A rule of thumb: `turns_for(end play read)`, until the reading is in the window or below.
template <class TurnsFor>
Outcome::Rule by_rule(HiddenKey key, const TrialSetup& setup, TurnsFor turns_for) {
  Outcome::Rule out;
  const Noise noise{setup.shift.noise, true};
  const double before = key.metal().cut.raw();
  for (;;) {
    const double read = key.answer(Check::end_play, noise).value.raw();
    if (read <= setup.window_high.raw() || out.bites >= kMostBites) break;
    key.cut(Side::upper, turns_for(read));
    ++out.bites;
    out.went_under = out.went_under || key.end_play() < setup.window_low;
  }
  out.in_window = key.in_window(setup.window_low, setup.window_high);
  out.cut = key.metal().cut.raw() - before;
  return out;
}

Tally tally(const std::vector<Outcome>& outcomes, const std::function<Outcome::Rule(const Outcome&)>& of) {
  Tally t;
  double cut = 0;
  double least = 0;
  for (const Outcome& o : outcomes) {
    if (!o.needs_cut) continue;
    const Outcome::Rule r = of(o);
    ++t.keys;
    t.in_window += r.in_window ? 1 : 0;
    t.went_under += r.went_under ? 1 : 0;
    t.bites += static_cast<double>(r.bites);
    cut += r.cut;
    least += o.least;
  }
  const double n = std::max<double>(1, static_cast<double>(t.keys));
  t.in_window /= n;
  t.went_under /= n;
  t.bites /= n;
  t.metal = least > 0 ? cut / least : 0;
  return t;
}

}  // namespace

Outcome try_key(const TrialSetup& setup, std::uint64_t number) {
  Outcome out;
  const std::uint64_t place = number % 10;
  out.kind = place < 6 ? Outcome::Kind::headed : place < 8 ? Outcome::Kind::headless : Outcome::Kind::rod;
  const bool headed = out.kind != Outcome::Kind::headless;
  const EndHeads heads{headed, headed};
  const belief::KeyGeometry geometry = design(number / 10, out.kind);
  belief::CausePresets drawn = setup.presets;
  if (setup.shift.other_shares) {
    for (std::size_t k = 1; k < belief::kCauseCount; ++k) drawn.share[k] = 1;
    drawn.two_causes = 0.30;
  }
  const TakeOff take_off{millimetres(kBookRate * setup.shift.take_off), kBetween, kWithin, 0.01};
  HiddenKey key = HiddenKey::draw(geometry, heads, setup.window_low, setup.window_high, drawn, take_off,
                                  setup.seed, number);
  out.truth = key.causes();
  out.needs_cut = out.kind == Outcome::Kind::headed && out.truth.has(Cause::short_fit);
  out.least = out.needs_cut ? key.least_metal().raw() : 0;
  if (out.needs_cut) {
    HiddenKey rest = key;
    // For the rules everything but the fit is put right, however often it takes.
    for (int k = 0; k < 20 && !rest.standing().without({Cause::short_fit, Cause::climate}).empty(); ++k) {
      for (std::size_t c = 1; c < belief::kCureCount; ++c) {
        const auto cure = static_cast<belief::Cure>(c);
        if (cure != belief::Cure::cut && cure != belief::Cure::ease) rest.treat(cure);
      }
    }
    out.half_turn = by_rule(rest, setup, [](double) { return 0.5; });
    const double middle = (setup.window_low.raw() + setup.window_high.raw()) / 2;
    out.half_remaining = by_rule(rest, setup, [&](double read) { return (read - middle) / 2 / kBookRate; });
  }
  auto guide = Guide::begin(job_of(setup, geometry, heads, key.complaint(), number));
  if (!guide) return out;
  obey(*guide, key, setup, out);
  const auto& found = guide->found();
  if (found.size() > 1) {
    out.right_first = out.truth.has(found[0].cause);
    out.right_in_two = out.right_first || out.truth.has(found[1].cause);
  }
  out.done = guide->next().what == Next::What::done;
  out.in_window = key.in_window(setup.window_low, setup.window_high);
  const Causes left = key.standing().without({Cause::short_fit, Cause::over_cut, Cause::climate});
  out.cured = out.in_window && left.empty();
  return out;
}

TrialResult run_trial(const TrialSetup& setup, const std::function<bool(std::size_t done)>& go_on) {
  TrialResult r;
  r.setup = setup;
  std::vector<Outcome> all(setup.keys);
  std::vector<char> ran(setup.keys, 0);
  std::atomic<std::size_t> done{0};
  std::atomic<bool> stopped{false};
  numeric::for_blocks(
      setup.keys, setup.threads,
      [&](std::size_t first, std::size_t last) {
        for (std::size_t k = first; k < last && !stopped; ++k) {
          all[k] = try_key(setup, k);
          ran[k] = 1;
          if (go_on && !go_on(++done)) stopped = true;
        }
      },
      4);
  for (std::size_t k = 0; k < setup.keys; ++k) {
    if (ran[k] != 0) r.outcomes.push_back(all[k]);
  }
  const double n = std::max<double>(1, static_cast<double>(r.outcomes.size()));
  for (const Outcome& o : r.outcomes) {
    r.right_first += o.right_first ? 1 : 0;
    r.right_in_two += o.right_in_two ? 1 : 0;
    r.in_window += o.in_window ? 1 : 0;
    r.cured += o.cured ? 1 : 0;
    r.went_under += o.went_under ? 1 : 0;
    r.given_up += o.done ? 0 : 1;
    r.checks += static_cast<double>(o.checks);
    r.minutes += o.minutes;
    if (!o.truth.has(Cause::short_fit) && !o.truth.has(Cause::over_cut)) {
      ++r.cannot_help;
      r.cut_for_nothing += o.cut > 0 || o.reams > 0 || o.tube_worked ? 1 : 0;
    }
    if (!damaged_hole(o.truth)) {
      ++r.sound_holes;
      r.hole_for_nothing += o.hole_for_nothing ? 1 : 0;
    }
    for (std::size_t c = 0; c < belief::kCauseCount; ++c) {
      const Cause cause = static_cast<Cause>(c);
      if (cause == Cause::sound ? !o.truth.empty() : !(o.truth == Causes{cause})) continue;
      ++r.by_cause[c].keys;
      r.by_cause[c].first += o.right_first ? 1 : 0;
      r.by_cause[c].cured += o.cured ? 1 : 0;
    }
  }
  for (double* mean : {&r.right_first, &r.right_in_two, &r.in_window, &r.cured, &r.went_under, &r.given_up,
                       &r.checks, &r.minutes})
    *mean /= n;
  r.guided = tally(r.outcomes, [](const Outcome& o) {
    return Outcome::Rule{o.bites, o.in_window, o.went_under, o.cut};
  });
  r.half_turn = tally(r.outcomes, [](const Outcome& o) { return o.half_turn; });
  r.half_remaining = tally(r.outcomes, [](const Outcome& o) { return o.half_remaining; });
  return r;
}

}  // namespace hingeline::virtual_bench
