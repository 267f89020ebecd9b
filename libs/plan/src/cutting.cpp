#include "hingeline/plan/cutting.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>
#include <utility>

namespace hingeline::plan {
namespace {

constexpr std::array<Side, 2> kSides{Side::upper, Side::lower};
constexpr std::size_t index(Side s) { return s == Side::upper ? 0 : 1; }

/// Of what is left of a key's risk, what one bite may take; and what it may always take.
constexpr double kRiskShare = 0.5;
constexpr double kLeastRisk = 2.5e-4;
constexpr double kMostRisk = 0.001;
/// A hand does not make more in one go.
constexpr double kMostTurns = 20;
/// More readings than this in a row are dearer than a bite.
constexpr double kWorthReadings = 16;
/// Readings before a bite that could be longer after another one.
constexpr int kReadingsBeforeBite = 10;
constexpr double kLongerBite = 0.95;
/// Standard deviations a probability of kProof leaves on both sides.
constexpr double kProofStandards = 2.81;
/// Two readings agree within so many joint standard uncertainties.
constexpr double kAgree = 3;
/// The stated uncertainty of readings is worth so many degrees of freedom of their scatter.
constexpr double kScatterWorth = 6;
constexpr int kMostOdds = 6;
constexpr int kMostNothings = 3;
constexpr int kMostReams = 3;
/// What is reamed and what was to be: from memory of common practice.
constexpr double kReamDoubt = 0.25;
/// Of a bite's take, on the side of the limits.
constexpr double kRoomStandards = 2.6;
constexpr double kMostReading = 1000;  // mm
constexpr double kMostTold = 200;      // turns
constexpr double kMostReamed = 5;      // mm

double square(double v) { return v * v; }

/// Down to what a hand can tell: an eighth of a turn, below one turn a twentieth.
double by_hand(double turns) {
  const double parts = turns >= 1 ? 8 : 20;
  return std::floor(turns * parts + 1e-9) / parts;
}

std::string in_turns(double turns) {
  return fmt::format("{:g} {}", turns, turns == 1 ? "turn" : turns < 1 ? "of a turn" : "turns");
}

Error cannot_be(std::string what, std::string expected) {
  return Error{Fault::content, std::move(what), std::move(expected), {}};
}

bool within(double v, double low, double high) { return std::isfinite(v) && v >= low && v <= high; }

}  // namespace

const char* word(Instruction::Kind kind) {
  switch (kind) {
    case Instruction::Kind::read_again:
      return "read again";
    case Instruction::Kind::bite:
      return "cut";
    case Instruction::Kind::check_cutter:
      return "see to the cutter";
    case Instruction::Kind::recover:
      return "ream";
    case Instruction::Kind::finished:
      return "finished";
    case Instruction::Kind::stuck:
      return "stuck";
  }
  return "";
}

Expected<Cutting> Cutting::of(CuttingJob job) {
  const auto refuse = [](std::string what, std::string expected) {
    return tl::unexpected(cannot_be(std::move(what), std::move(expected)));
  };
  if (!within(job.low.raw(), -10, 10) || !within(job.high.raw(), -10, 10) || job.high <= job.low) {
    return refuse("a window that has no inside", "a lower edge below the upper one");
  }
  if (!within(job.end_play.raw(), -100, 100) || !within(job.standard.raw(), 1e-6, 100)) {
    return refuse("an end play that cannot be", "a length, with an uncertainty above 0");
  }
  if (job.cutters.empty() || job.cutters.size() > 2) return refuse("no cutter", "one cutter or two");
  for (const TakeOff& t : job.cutters) {
    if (!within(t.log_median, -14, 3) || !within(t.between, 0, 3) || !within(t.within, 0, 2)) {
      return refuse("a take-off that cannot be", "a length per turn with its scatter");
    }
  }
  bool any = false;
  for (const Side s : kSides) {
    const CuttingEnd& e = job.end(s);
    for (const Length l : {e.share, e.room, e.ream_room}) {
      if (!(l.raw() >= 0)) return refuse("less than nothing to cut", "0 or more");
    }
    if (!is_finite(e.share)) return refuse("a share without end", "a length");
    if (e.cutter >= job.cutters.size()) return refuse("an end without its cutter", "a cutter of the job");
    any = any || e.share.raw() > 0;
  }
  if (!any) return refuse("no end to cut", "a share above 0 for one end at least");
  for (const Length l : {job.centring_allowed, job.aim_guard, job.least_cut}) {
    if (!within(l.raw(), 0, 10)) return refuse("a limit that cannot be", "0 or more");
  }
  PlayFilter filter(job.end_play, job.standard, job.cutters);
  return Cutting(std::move(job), std::move(filter));
}

void Cutting::count(Reading r) {
  State& s = states_.back();
  const double weight = 1 / square(r.standard.raw());
  if (s.weight > 0) {
    s.scatter += square(r.value.raw() - s.sum / s.weight) / (1 / weight + 1 / s.weight);
  }
  s.weight += weight;
  s.sum += weight * r.value.raw();
  ++s.readings;
}

double Cutting::scatter() const {
  double squares = kScatterWorth;
  double freedom = kScatterWorth;
  for (const State& s : states_) {
    squares += s.scatter;
    freedom += std::max(0, s.readings - 1);
  }
  return std::sqrt(std::max(1.0, squares / freedom));
}

Expected<void> Cutting::read(Length value, Length standard) {
  if (!within(value.raw(), -kMostReading, kMostReading) || !within(standard.raw(), 1e-6, 1)) {
    return tl::unexpected(cannot_be("a reading that is no end play", "a length with an uncertainty above 0"));
  }
  ++events_;
  ++repeats_;
  const Reading now{value, standard};
  const double wider = scatter();
  standard = standard * wider;
  last_standard_ = standard;
  const bool expected = filter_.tail(value, standard) >= kSurprise;
  const bool agrees = odd_ && abs(value - odd_->value).raw() <=
                                  kAgree * wider * std::hypot(now.standard.raw(), odd_->standard.raw());
  if (!expected && !agrees) {
    odd_ = now;
    ++odds_;
    return {};
  }
  if (expected) {
    filter_.read(value, standard, kSlip);
    const bool counts = filter_.slipped() < 0.5;
    if (counts) count(now);
    // The one before was no slip then, only far out.
    if (agrees && counts) {
      filter_.read(odd_->value, odd_->standard * wider, kSlip);
      count(*odd_);
    }
  } else {
    // Two slips of the same size are far less likely than an odd bite, or a wrong start.
    filter_.doubt(value);
    filter_.read(odd_->value, odd_->standard * wider, 0);
    filter_.read(value, standard, 0);
    states_.back() = {};
    count(*odd_);
    count(now);
  }
  odd_.reset();
  if (bites_.empty() || state_before_.back() + 2 != states_.size()) return {};
  bites_.back().nothing = filter_.took_nothing();
  return {};
}

Cutting::Metal Cutting::metal(Side side) const {
  Metal m = metal_[index(side)];
  if (pending_ && pending_->side == side) {
    const double by_reading = pending_->mean_before - filter_.mean().raw();
    m.cut += std::max({by_reading, pending_->by_rate * (1 - filter_.took_nothing()), 0.0});
    m.variance += pending_->variance_before + square(filter_.standard().raw());
  }
  return m;
}

void Cutting::new_state() {
  for (const Side s : kSides) metal_[index(s)] = metal(s);
  pending_.reset();
  states_.push_back({});
  odd_.reset();
  repeats_ = 0;
  odds_ = 0;
}

Expected<void> Cutting::bitten(Side side, double turns) {
  if (!(turns > 0 && turns <= kMostTold)) {
    return tl::unexpected(cannot_be("a cut that cannot be", "turns above 0"));
  }
  if (job_.end(side).share.raw() <= 0) {
    return tl::unexpected(cannot_be(fmt::format("a cut at the {} end, which is not to be cut", word(side)),
                                    fmt::format("a cut at the {} end", word(mechanism::other(side)))));
  }
  ++events_;
  if (!bites_.empty() && bites_.back().nothing <= 0.5) nothings_ = 0;
  const std::size_t cutter = job_.end(side).cutter;
  new_state();
  state_before_.push_back(states_.size() - 2);
  BiteTaken b;
  b.side = side;
  b.cutter = cutter;
  b.turns = turns;
  bites_.push_back(b);
  filter_.take_up(cutter);
  risk_taken_ += std::max(0.0, filter_.risk(turns, job_.low) - filter_.below(job_.low));
  pending_ = Pending{side, filter_.mean().raw(), square(filter_.standard().raw()),
                     turns * filter_.rate(cutter).median().raw()};
  filter_.bitten(cutter, turns);
  see_to_cutter_ = true;
  return {};
}

Expected<void> Cutting::reamed(Side side, Length amount) {
  if (!(amount.raw() > 0 && amount.raw() <= kMostReamed)) {
    return tl::unexpected(cannot_be("a reaming that cannot be", "a length above 0"));
  }
  ++events_;
  ++reams_;
  new_state();
  metal_[index(side)].reamed += amount.raw();
  filter_.opened(amount, amount * kReamDoubt);
  return {};
}

void Cutting::cutter_seen_to() {
  ++events_;
  if (bites_.empty()) return;
  if (see_to_cutter_ && bites_.back().nothing > 0.5) ++nothings_;
  see_to_cutter_ = false;
  filter_.widen(bites_.back().cutter);
}

double Cutting::in_window() const {
  return std::clamp(filter_.below(job_.high) - filter_.below(job_.low), 0.0, 1.0);
}

Length Cutting::cut_at_most(Side side) const {
  const Metal m = metal(side);
  return millimetres(m.cut + 2 * std::sqrt(m.variance));
}

std::vector<BiteTaken> Cutting::bites() const {
  std::vector<BiteTaken> out = bites_;
  for (std::size_t k = 0; k < out.size(); ++k) {
    const State& before = states_[state_before_[k]];
    const State& after = states_[state_before_[k] + 1];
    if (before.weight <= 0 || after.weight <= 0) continue;
    out[k].taken = millimetres(before.sum / before.weight - after.sum / after.weight);
    out[k].standard = millimetres(std::sqrt(1 / before.weight + 1 / after.weight));
  }
  return out;
}

/// The end that is behind with its share, and the most turns its limits, the aim and the risk allow.
std::optional<Cutting::Choice> Cutting::choose(Said& why_not) const {
  const Length to_go = filter_.mean() - aim();
  const double shares = (job_.upper.share + job_.lower.share).raw();
  std::array<double, 2> net{};
  for (const Side s : kSides) net[index(s)] = metal(s).cut - metal(s).reamed;
  std::optional<Side> side;
  double remaining = 0;
  double room = 0;
  for (const Side s : kSides) {
    if (job_.end(s).share.raw() <= 0) continue;
    const double left = (job_.end(s).room - cut_at_most(s)).raw();
    if (left < job_.least_cut.raw() || left <= 0) {
      why_not = say("the limits of the ", word(s), " end leave no metal to cut");
      continue;
    }
    const double behind = job_.end(s).share.raw() / shares * (net[0] + net[1] + to_go.raw()) - net[index(s)];
    if (side && behind <= remaining) continue;
    side = s;
    remaining = behind;
    room = left;
  }
  if (!side) return std::nullopt;
  PlayFilter filter = filter_;
  filter.take_up(job_.end(*side).cutter);
  const TakeOff rate = filter.rate(job_.end(*side).cutter);
  double most = to_go / rate.median();
  why_not = say("the end play is not known well enough for a cut that is worth a cutter");
  const bool both = job_.upper.share.raw() > 0 && job_.lower.share.raw() > 0;
  if (both) {
    const double by_share = (std::max(remaining, 0.0) + job_.centring_allowed.raw()) / rate.median().raw();
    if (by_share < most) {
      most = by_share;
      if (by_hand(most) * rate.median().raw() < job_.least_cut.raw()) {
        why_not = say("only the ", word(*side),
                      " end can be cut further, and that would take the pad off its tone hole");
      }
    }
  }
  const double by_room =
      room / std::exp(rate.log_median + kRoomStandards * std::hypot(rate.between, rate.within));
  if (by_room < most) {
    most = by_room;
    if (by_hand(most) * rate.median().raw() < job_.least_cut.raw()) {
      why_not = say("the limits of the ", word(*side), " end leave too little metal for a cut");
    }
  }
  most = by_hand(std::min(most, kMostTurns));
  const double allowed = std::clamp((kKeyRisk - risk_taken_) * kRiskShare, kLeastRisk, kMostRisk);
  const double already = filter.below(job_.low);
  /// Most turns a hand can tell for which `risk` stays within what is allowed.
  const auto longest = [&](auto&& risk) {
    if (most > 0 && risk(most) <= allowed) return most;
    // In eighths above one turn, in twentieths below; counted through as whole numbers.
    const auto turns_of = [](int k) { return k <= 20 ? k / 20.0 : 1 + (k - 20) / 8.0; };
    int good = 0;
    int bad = static_cast<int>(most >= 1 ? 20 + std::ceil((most - 1) * 8) : std::ceil(most * 20));
    while (bad - good > 1) {
      const int middle = (good + bad) / 2;
      (risk(turns_of(middle)) <= allowed ? good : bad) = middle;
    }
    return turns_of(good);
  };
  Choice c;
  c.side = *side;
  c.turns = longest([&](double turns) { return filter.risk(turns, job_.low) - already; });
  c.turns_if_known = longest([&](double turns) { return filter.risk_from(filter.mean(), turns, job_.low); });
  c.expected = rate.median() * c.turns;
  if (c.turns <= 0 || c.expected < job_.least_cut) {
    c.turns = 0;
    return c;
  }
  c.risk = std::max(0.0, filter.risk(c.turns, job_.low) - already);
  const double spread = std::hypot(rate.between, rate.within) * c.expected.raw();
  c.after_standard = millimetres(std::hypot(spread, filter.standard().raw()));
  return c;
}

Instruction Cutting::too_tight(Instruction i) const {
  const double below = filter_.below(job_.low);
  const bool sure = below >= kProof && repeats_ >= 2;
  if (!sure && repeats_ < kMostRepeats) {
    i.kind = Instruction::Kind::read_again;
    i.why = say("it seems to be tighter than ", job_.low, ": read it once more before a key end is reamed");
    return i;
  }
  // So far inside that a few readings can show it, but not past the middle.
  const Length provable = last_standard_ * (kProofStandards / 2);
  const Length inside = std::min(std::max(job_.aim_guard, provable), (job_.high - job_.low) / 2);
  const Length amount = std::max(job_.low + inside - filter_.mean(), job_.least_cut);
  const Side ahead =
      metal(Side::upper).cut - metal(Side::upper).reamed >= metal(Side::lower).cut - metal(Side::lower).reamed
          ? Side::upper
          : Side::lower;
  i.kind = Instruction::Kind::stuck;
  if (reams_ >= kMostReams) {
    i.why = say("it was reamed ", fmt::format("{} times", reams_), " and is still tighter than ", job_.low);
    return i;
  }
  for (const Side s : {ahead, mechanism::other(ahead)}) {
    if ((job_.end(s).ream_room - millimetres(metal(s).reamed)) < amount || amount.raw() > kMostReamed)
      continue;
    i.kind = Instruction::Kind::recover;
    i.side = s;
    i.amount = amount;
    i.why = say("it is tighter than ", job_.low, ": ream the ", word(s), " key end by ", amount,
                ", the least that brings it back");
    return i;
  }
  i.why = say("it is tighter than ", job_.low, ", and the limits leave neither key end enough to ream");
  return i;
}

/// Neither shown to be in the window nor below it.
Instruction Cutting::unsettled(Instruction i) const {
  using Kind = Instruction::Kind;
  const bool may_repeat = repeats_ < kMostRepeats;
  const Length mean = filter_.mean();
  const double above = 1 - filter_.below(job_.high);
  i.kind = Kind::read_again;
  // What another few readings can settle needs no metal.
  const double inside = std::min((mean - job_.low).raw(), (job_.high - mean).raw());
  const double needed = square(std::max(inside, 0.0) / kProofStandards);
  const double now = square(filter_.standard_unless_slip().raw());
  const double readings = needed > 0 ? square(last_standard_.raw()) * (1 / needed - 1 / now) : 1e9;
  if (inside > 0 && readings <= kWorthReadings && may_repeat) {
    i.why = say("it reads ", mean, "; another reading should show that it is in the window");
    return i;
  }
  // The first metal waits until the fit is shown to need it, or a few readings more have not shown that.
  const bool untouched = bites_.empty() && reams_ == 0;
  if (untouched && above < kProof) {
    if (repeats_ < kReadingsBeforeBite) {
      i.why =
          say("it reads ", mean, ", not surely above ", job_.high, ": read it again before any metal goes");
      return i;
    }
    if (i.in_window > 0.5) {
      i.kind = Kind::finished;
      i.why = say("it reads ", mean, ", in the window by ", fmt::format("{:.0f} %", 100 * i.in_window),
                  ": not shown to need a cut");
      return i;
    }
  }
  Said why_not;
  const std::optional<Choice> c = choose(why_not);
  if (c && c->turns > 0) {
    if (repeats_ < kReadingsBeforeBite && c->turns < kLongerBite * c->turns_if_known) {
      i.why = say("another reading lets the cut go further");
      return i;
    }
    i.kind = Kind::bite;
    i.side = c->side;
    i.turns = c->turns;
    i.amount = c->expected;
    i.risk = c->risk;
    i.why = say("end play ", WithDoubt{mean, filter_.standard() * 2}, ", to come down to ", aim());
    const Length after = mean - c->expected;
    i.stop.push_back(say("stop at ", in_turns(c->turns), ", however it feels"));
    i.stop.push_back(say("stop before if the cutter chatters, tilts or runs free"));
    i.stop.push_back(say("clean out the chips, drive the screw home and read: ",
                         FromTo{after - c->after_standard * 2, after + c->after_standard * 2},
                         " is to be expected"));
    return i;
  }
  const bool too_wide_to_cut = !c && above >= kProof;
  if (may_repeat && !too_wide_to_cut) {
    i.why = inside > 0 ? say("it reads ", mean, ", near an edge of the window: read it again")
                       : say("read it closer: no cut is safe on what is known");
    return i;
  }
  if (inside > 0 && i.in_window > 0.5) {
    // More readings will not tell more, and metal would be taken for nothing but certainty.
    i.kind = Kind::finished;
    i.why = say("it reads ", mean, ", in the window by ", fmt::format("{:.0f} %", 100 * i.in_window),
                ": as sure as these readings can be");
    return i;
  }
  i.kind = Kind::stuck;
  i.why =
      inside > 0 ? say("it cannot be shown with these readings that ", mean, " is in the window") : why_not;
  return i;
}

Instruction Cutting::next() const {
  using Kind = Instruction::Kind;
  Instruction i;
  i.in_window = in_window();
  if (events_ >= kMostEvents || bites_.size() > static_cast<std::size_t>(kMostBites)) {
    i.kind = Kind::stuck;
    i.why = say("it does not come to an end: look for what else moves");
    return i;
  }
  if (odds_ >= kMostOdds) {
    i.kind = Kind::stuck;
    i.why =
        say("the readings do not agree with each other: look for a loose post, chips or a screw not home");
    return i;
  }
  if (odd_) {
    i.why = say("a reading of ", odd_->value,
                " is not what was to be expected: clean out the chips, drive the screw home, read again");
    return i;
  }
  if (repeats_ == 0) {
    i.why = bites_.empty() && reams_ == 0 ? say("no reading yet")
                                          : say("clean out the chips, drive the screw home, read");
    return i;
  }
  if (see_to_cutter_ && filter_.took_nothing() > 0.5) {
    const bool again = nothings_ + 1 >= kMostNothings;
    i.kind = again ? Kind::stuck : Kind::check_cutter;
    i.why = again ? say("bite after bite takes nothing: another cutter, or the point does not carry where "
                        "the seat stops it")
                  : say("the cut took nothing: look for a dull or tilted cutter, and chips under the head");
    return i;
  }
  if (i.in_window >= kProof) {
    i.kind = Kind::finished;
    i.why = say("in the window, at ", WithDoubt{filter_.mean(), filter_.standard() * 2});
    return i;
  }
  return filter_.below(job_.low) > 0.5 ? too_tight(std::move(i)) : unsettled(std::move(i));
}

}  // namespace hingeline::plan
