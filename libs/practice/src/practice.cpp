#include "hingeline/practice/practice.h"

#include <fmt/format.h>

#include <cmath>

namespace hingeline::practice {
namespace {

using virtual_bench::EndHeads;
using virtual_bench::Finding;
using virtual_bench::HiddenKey;

/// Minutes of one bite with its refit, from memory: as long as a cure by cutting takes in all, in four bites.
constexpr double kBiteMinutes = 3;

}  // namespace

EndHeads Bench::heads() const {
  const bool headed = kind_ != Kind::headless;
  return {headed, headed};
}

Bench::Bench(std::uint64_t seed, Kind kind)
    : seed_(seed),
      kind_(kind),
      geometry_(virtual_bench::design(seed, kind)),
      key_(HiddenKey::draw(geometry_, heads(), window_low(), window_high(), presets_, {}, seed, 0)),
      came_with_(key_.end_play()) {}

Expected<std::optional<Finding>> Bench::act(const Act& act) {
  if (done_.size() >= kMostActs) {
    return fail(Fault::content, "too much was done at this key",
                fmt::format("at most {} acts; begin with another key", kMostActs));
  }
  const auto turns_can_be = std::isfinite(act.turns) && act.turns > 0 && act.turns <= kMostTurns;
  std::optional<Finding> out;
  switch (act.what) {
    case Act::What::look:
      if (!key_.applies(act.check)) {
        return fail(Fault::content, fmt::format("this key has nothing for \"{}\"", belief::word(act.check)),
                    "a check that its hinge has");
      }
      out = key_.answer(act.check);
      minutes_ += presets_.minutes[static_cast<std::size_t>(act.check)];
      break;
    case Act::What::cure:
      if (act.cure == belief::Cure::cut || act.cure == belief::Cure::ease ||
          act.cure == belief::Cure::leave) {
        return fail(Fault::content, fmt::format("\"{}\" is not done at one go", belief::word(act.cure)),
                    "a cut or a ream, so many turns at one end");
      }
      key_.treat(act.cure);
      minutes_ += presets_.cure_minutes[static_cast<std::size_t>(act.cure)];
      break;
    case Act::What::cut:
    case Act::What::ream: {
      const bool cut = act.what == Act::What::cut;
      if (kind_ == Kind::rod || (cut && kind_ != Kind::headed)) {
        return fail(Fault::content, cut ? "there is no seat to cut here" : "there is no cone to ream here",
                    "work that this hinge has");
      }
      if (!turns_can_be) {
        return fail(Fault::content, "so many turns cannot be made",
                    fmt::format("more than 0, at most {:g}", kMostTurns));
      }
      if (cut) {
        const bool above = key_.end_play() >= window_low();
        key_.cut(act.side, act.turns);
        went_under_ = went_under_ || (above && key_.end_play() < window_low());
      } else {
        key_.ream(act.side, act.turns);
      }
      minutes_ += kBiteMinutes;
      break;
    }
    case Act::What::screw:
      if (kind_ != Kind::headless)
        return fail(Fault::content, "only a headless screw is set by turning it", "work that this hinge has");
      if (!(abs(act.amount) <= millimetres(1)) || act.amount.raw() == 0)
        return fail(Fault::content, "a screw cannot be turned so far", "up to 1 mm, in or out");
      key_.turn_screw(act.side, act.amount);
      minutes_ += presets_.cure_minutes[static_cast<std::size_t>(belief::Cure::set_screw)];
      break;
  }
  done_.emplace_back(act, out.value_or(Finding{}));
  return out;
}

Expected<Hint> Bench::hint() const {
  belief::Subject subject;
  subject.geometry = geometry_;
  subject.upper_headed = heads().upper_headed;
  subject.lower_headed = heads().lower_headed;
  subject.window_low = window_low();
  subject.window_high = window_high();
  auto inquiry = belief::Inquiry::begin(subject, presets_, key_.complaint(), seed_);
  if (!inquiry) return tl::unexpected(inquiry.error());
  bool cut = false;
  for (const auto& [act, found] : done_) {
    cut = cut || act.what == Act::What::cut || act.what == Act::What::ream;
    if (act.what == Act::What::cure) inquiry->treat(act.cure);
    // Once metal went, a reading says how far the work is, and no longer what was wrong.
    if (act.what != Act::What::look || (cut && belief::is_reading(found.check))) continue;
    if (auto taken = inquiry->take({found.check, found.value, {}, found.choice}); !taken)
      return tl::unexpected(taken.error());
  }
  Hint out;
  out.causes = inquiry->causes();
  out.before_cut = inquiry->barriers({});
  if (const auto next = inquiry->next_check()) out.look = next->check;
  out.cure = inquiry->best_cure();
  return out;
}

Truth Bench::truth() const {
  Truth out;
  out.causes = key_.causes();
  out.standing = key_.standing();
  out.came_with = came_with_;
  out.end_play = key_.end_play();
  out.in_window = key_.in_window(window_low(), window_high());
  out.least_metal = key_.least_metal();
  out.went_under = went_under_;
  out.per_turn = key_.take_off();
  return out;
}

}  // namespace hingeline::practice
