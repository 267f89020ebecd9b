#include "hingeline/guide/guide.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>

#include "hingeline/numeric/statistics.h"

namespace hingeline::guide {
namespace {

using belief::Answer;
using belief::Barrier;
using numeric::normal_below;

constexpr std::array<Side, 2> kSides{Side::upper, Side::lower};
/// Limits that nobody measured leave this much; what is cut is told, and the card says to measure first.
constexpr Length kUnmeasured = millimetres(5);
/// A cure that did nothing so often is not asked for again.
constexpr std::ptrdiff_t kMostOfOne = 3;

/// A cure is begun when it is as likely as that to be called for; one that takes metal when it is so sure.
constexpr double kLikely = 0.6;
constexpr double kSureForMetal = 0.85;
/// What takes no metal may be tried once at this.
constexpr double kWorthTrying = 0.3;
/// The end play is taken to be outside, or inside, the window when it is as sure as that.
constexpr double kSureOutside = 0.95;
constexpr double kSureInside = 0.95;
constexpr int kMostRereads = 4;
/// Minutes of a look that is quickly done twice.
constexpr double kQuick = 1.0;
/// Minutes saved per minute of looking, below which a look tells next to nothing.
constexpr double kTellsAnything = 0.1;

/// What the limits leave after the plan, of those that this work eats.
Length room_left(const plan::Plan& plan, Side side, std::initializer_list<const char*> limits, double slope) {
  Length room = kUnmeasured;
  for (const plan::Reserve& r : plan.reserves) {
    if (r.side != side || !r.left) continue;
    for (const char* name : limits) {
      if (r.limit != name) continue;
      // The wall at the mouth is measured across, reaming along.
      const bool across = r.limit == "wall at the key's mouth";
      if (across && slope <= 0) continue;
      room = std::min(room, std::max(Length{}, across ? *r.left / slope : *r.left));
    }
  }
  return room;
}

/// The looks whose one wrong word could hide a cause.
std::vector<Check> second_looks(Cause cause) {
  switch (cause) {
    case Cause::post_moved:
      return {Check::post_upper, Check::post_lower};
    case Cause::loose_thread:
      return {Check::wobble_upper, Check::wobble_lower};
    case Cause::screw_off:
      return {Check::stand_off_upper, Check::stand_off_lower, Check::slack_upper, Check::slack_lower};
    case Cause::bent_body:
      return {Check::bow};
    case Cause::bent_key:
      return {Check::roll};
    default:
      return {};
  }
}

Length planned(const plan::Plan& plan, plan::Operation op, Side side) {
  Length sum;
  for (const plan::Step& s : plan.steps) {
    if (s.operation == op && s.side == side) sum += s.amount;
  }
  return sum;
}

/// The estimate with its posts moved so that the key has the end play that was found: readings of the whole
/// stand above what its parts add up to.
belief::Estimate with_end_play(belief::Estimate e, Length end_play, Length standard) {
  constexpr auto kEndPlay = static_cast<std::size_t>(belief::Figure::end_play);
  e.geometry.span += end_play - millimetres(e.figures[kEndPlay].value);
  const auto hinge = belief::build_hinge(e.geometry);
  if (!hinge) return e;
  const belief::Figures now = belief::figures_of(e.geometry, *hinge);
  for (std::size_t f = 0; f < belief::kFigureCount; ++f) {
    belief::FigureValue& v = e.figures[f];
    const double moved = now[f] - v.value;
    v.value = now[f];
    v.low += moved;
    v.high += moved;
  }
  const double plus_minus = 2 * standard.raw();
  e.figures[kEndPlay] = {now[kEndPlay], plus_minus, now[kEndPlay] - plus_minus, now[kEndPlay] + plus_minus,
                         false};
  return e;
}

}  // namespace

const char* word(Next::What what) {
  switch (what) {
    case Next::What::look:
      return "look";
    case Next::What::cure:
      return "cure";
    case Next::What::step:
      return "step";
    case Next::What::bite:
      return "bite";
    case Next::What::ream:
      return "ream";
    case Next::What::see_cutter:
      return "see cutter";
    case Next::What::done:
      return "done";
    case Next::What::beyond:
      break;
  }
  return "beyond";
}

Expected<Guide> Guide::begin(Job job) {
  const auto hinge = belief::build_hinge(job.key_case.estimate.geometry);
  if (!hinge) return tl::unexpected(hinge.error());
  const plan::Window window = plan::window_for(job.key_case.estimate.geometry, *hinge,
                                               job.key_case.reading_uncertainty, job.key_case.window);
  job.subject.window_low = window.low;
  job.subject.window_high = window.high;
  auto inquiry =
      belief::Inquiry::begin(job.subject, job.presets, job.complaint, job.seed, job.samples, job.threads);
  if (!inquiry) return tl::unexpected(inquiry.error());
  if (job.heard) inquiry->hear_bow(*job.heard);
  const std::vector<Answer> answered = job.answered;
  Guide guide(std::move(job), std::move(*inquiry));
  guide.window_low_ = window.low;
  guide.window_high_ = window.high;
  for (const Answer& a : answered) {
    if (!guide.inquiry_.applies(a.check)) continue;
    if (auto taken = guide.take_answer(a); !taken) return tl::unexpected(taken.error());
  }
  guide.decide();
  return guide;
}

std::vector<Barrier> Guide::barriers() const { return inquiry_.barriers(waived_); }

Length Guide::standard_of(const Answer& end_play) const {
  return millimetres(
      belief::reading_standard(Check::end_play, end_play.value.raw(), end_play.standard.raw(), job_.presets));
}

Expected<void> Guide::take_answer(const Answer& answer) {
  if (auto taken = inquiry_.take(answer); !taken) return taken;
  if (answer.check == Check::clean) {
    // To clean it is to cure it of dirt: that it helped is the finding.
    if (answer.choice == 1 && found_.empty()) found_ = inquiry_.causes();
    inquiry_.treat(Cure::clean);
  }
  if (answer.check == Check::end_play) {
    latest_ = Reading{answer.value, standard_of(answer)};
    if (!first_) first_ = latest_;
  }
  return {};
}

Expected<void> Guide::tell(const Event& event) {
  const auto cannot = [](const char* what, const char* expected) {
    return fail(Fault::content, what, expected);
  };
  switch (event.kind) {
    case Event::Kind::answered: {
      if (event.answer.check == Check::end_play && cutting_now_) {
        const Length standard = standard_of(event.answer);
        plan::Cutting next = *cutting_;
        if (auto taken = next.read(event.answer.value, standard); !taken) return taken;
        cutting_ = std::move(next);
        latest_ = Reading{event.answer.value, standard};
        break;
      }
      if (auto taken = take_answer(event.answer); !taken) return taken;
      break;
    }
    case Event::Kind::could_not:
      if (event.check == Check::end_play) {
        stuck_ = "without a reading of end play no fit can be proved";
      } else if (!inquiry_.applies(event.check)) {
        return cannot("this hinge has no such check", "a check that it has");
      } else {
        inquiry_.skip(event.check);
      }
      break;
    case Event::Kind::waived: {
      const bool blank =
          std::all_of(event.reason.begin(), event.reason.end(), [](char c) { return c == ' ' || c == '\t'; });
      if (blank) return cannot("a cause is waived without a reason", "the reason, in words: it is kept");
      if (event.cause == Cause::sound || !inquiry_.applies(event.cause)) {
        return cannot("that cannot be waived", "a cause that this hinge can have");
      }
      waived_.add(event.cause);
      waivers_.push_back({event.cause, event.reason});
      break;
    }
    case Event::Kind::cured:
      if (next_.what == Next::What::step) {
        if (!steps_.empty()) steps_.erase(steps_.begin());
        // What it did is read, not reckoned.
        if (steps_.empty()) {
          cutting_now_ = false;
          for (const Cure cure : {Cure::set_screw, Cure::cut, Cure::ease}) inquiry_.treat(cure);
          cures_.push_back(Cure::set_screw);
          proven_ = false;
          reread_ = 0;
        }
      } else if (next_.what == Next::What::cure) {
        const Cure cure = *next_.cure;
        inquiry_.treat(cure);
        cures_.push_back(cure);
        if (takes_metal(cure)) metal_begun_ = true;
        proven_ = false;
        reread_ = 0;
      } else {
        return cannot("nothing was asked for that could be done", "what is asked for next");
      }
      break;
    case Event::Kind::bitten:
    case Event::Kind::reamed:
    case Event::Kind::cutter_seen: {
      if (!cutting_now_ || !cutting_) return cannot("no seat is being cut", "what is asked for next");
      plan::Cutting next = *cutting_;
      if (event.kind == Event::Kind::bitten) {
        if (auto taken = next.bitten(event.side, event.turns); !taken) return taken;
      } else if (event.kind == Event::Kind::reamed) {
        if (auto taken = next.reamed(event.side, event.amount); !taken) return taken;
      } else {
        next.cutter_seen_to();
      }
      cutting_ = std::move(next);
      break;
    }
  }
  events_.push_back(event);
  decide();
  return {};
}

void Guide::stop(Said why) {
  next_ = {};
  next_.what = Next::What::beyond;
  next_.why = std::move(why);
}

void Guide::ask(Check check, Said why, bool before_cut) {
  next_ = {};
  next_.what = Next::What::look;
  next_.check = check;
  next_.side = belief::side_of(check);
  next_.why = std::move(why);
  next_.before_cut = before_cut;
}

void Guide::ask_cure(Cure cure) {
  if (found_.empty()) found_ = inquiry_.causes();
  if (std::count(cures_.begin(), cures_.end(), cure) >= kMostOfOne) {
    stop(fmt::format("\"{}\" was done {} times and the key is as before: look at it again with fresh eyes",
                     word(cure), kMostOfOne));
    return;
  }
  next_ = {};
  next_.what = Next::What::cure;
  next_.cure = cure;
  for (const belief::CauseShare& c : inquiry_.causes()) {
    if (c.cause == Cause::sound || belief::cure_of(c.cause) != cure) continue;
    next_.why = fmt::format("{}: {:.0f} % sure", word(c.cause), 100 * c.share);
    if (belief::at_one_end(c.cause)) next_.side = c.upper_share >= 0.5 ? Side::upper : Side::lower;
    break;
  }
}

/// Asks for a look once more; false where the hinge has none such, or that was done already.
bool Guide::ask_again(Check check, Said why, bool before_cut) {
  const auto& done = looked_twice_;
  if (!inquiry_.applies(check) || std::find(done.begin(), done.end(), check) != done.end()) return false;
  looked_twice_.push_back(check);
  ask(check, std::move(why), before_cut);
  return true;
}

double Guide::cure_share(Cure cure) const {
  double none = 1;
  for (const belief::CauseShare& c : inquiry_.causes()) {
    if (c.cause != Cause::sound && belief::cure_of(c.cause) == cure) none -= c.share;
  }
  return 1 - std::max(0.0, none);
}

/// Asks for the check that is worth its minutes, if one is.
bool Guide::ask_worthy() {
  const auto worth = inquiry_.next_check();
  if (!worth) return false;
  ask(worth->check, fmt::format("worth {:.0f} min for the {:.1f} it takes", worth->gain, worth->minutes),
      false);
  return true;
}

/// Whether nothing cheaper stands before a cut; else what stands is asked for.
bool Guide::pass_gate() {
  const auto barriers = this->barriers();
  std::optional<Check> cheapest;
  Cause before = Cause::dirt;
  for (const Barrier& b : barriers) {
    for (const Check c : b.checks) {
      const auto minutes = [&](Check x) { return job_.presets.minutes[static_cast<std::size_t>(x)]; };
      if (cheapest && minutes(*cheapest) <= minutes(c)) continue;
      cheapest = c;
      before = b.cause;
    }
  }
  if (cheapest) {
    ask(*cheapest, fmt::format("before any metal is cut: it may be {}", word(before)), true);
    return false;
  }
  // What is not quite ruled out is looked at a second time before it is worked on, and before it is passed
  // by.
  for (const Cause cause :
       {Cause::post_moved, Cause::screw_off, Cause::loose_thread, Cause::bent_body, Cause::bent_key}) {
    if (waived_.has(cause) || inquiry_.share(cause) <= job_.presets.look_again_share) continue;
    for (const Check c : second_looks(cause)) {
      if (ask_again(c, fmt::format("a second look before any metal is cut: {} is not ruled out", word(cause)),
                    true)) {
        return false;
      }
    }
  }
  if (barriers.empty()) {
    // Both screws are driven home before a seat is cut, whatever the feeler said: it costs a minute.
    const bool headed = job_.subject.geometry.kind == belief::HingeKind::pivot &&
                        (job_.subject.upper_headed || job_.subject.lower_headed);
    if (!headed || waived_.has(Cause::screw_off) ||
        std::count(cures_.begin(), cures_.end(), Cure::set_screw) > 0) {
      return true;
    }
    ask_cure(Cure::set_screw);
    next_.side.reset();
    next_.why = "before a seat is cut: drive both screws home, whatever the feeler said, and read once more";
    return false;
  }
  const auto surest = std::max_element(barriers.begin(), barriers.end(),
                                       [](const Barrier& a, const Barrier& b) { return a.share < b.share; });
  ask_cure(belief::cure_of(surest->cause));
  return false;
}

void Guide::decide() {
  if (stuck_) {
    stop(*stuck_);
  } else if (events_.size() >= kMostEvents) {
    stop("this key has taken too many steps: put it aside and look at it again with fresh eyes");
  } else if (cutting_now_) {
    decide_cut();
  } else {
    decide_look();
  }
}

void Guide::decide_look() {
  if (!inquiry_.answered(Check::sticks)) {
    ask(Check::sticks, "what the hand feels comes first", false);
    return;
  }
  if (!inquiry_.answered(Check::end_play)) {
    ask(Check::end_play, "all else is judged beside it", false);
    return;
  }
  if (metal_begun_ && !proven_ && read_after_metal()) return;
  if (ask_worthy()) return;
  Cure cure = inquiry_.best_cure();
  if (proven_ && (cure == Cure::cut || cure == Cure::ease)) cure = Cure::leave;
  const double sound = inquiry_.share(Cause::sound);
  if (cure != Cure::leave && cure_share(cure) < needed_for(cure)) {
    if (ask_telling("no one cause stands out yet")) return;
    // What little speaks for it is not worth metal. What takes none may be tried once, and cleaning tells
    // whether it helped.
    const bool tried = std::find(cures_.begin(), cures_.end(), cure) != cures_.end();
    if (cure == Cure::clean && !inquiry_.answered(Check::clean)) {
      ask(Check::clean, fmt::format("{:.0f} % that it helps, and it harms nothing", 100 * cure_share(cure)),
          false);
      return;
    }
    if (takes_metal(cure) || tried || cure_share(cure) < kWorthTrying) cure = Cure::leave;
  }
  if (cure == Cure::leave && !proven_) {
    // Nothing is suspected, yet what was read is surely outside: the fit itself.
    if (surely_above() && inquiry_.applies(Cause::short_fit)) cure = Cure::cut;
    if (surely_below() && inquiry_.applies(Cause::over_cut)) cure = Cure::ease;
  }
  if (cure == Cure::leave) {
    if (found_.empty()) found_ = inquiry_.causes();
    if (sound < job_.presets.sure_share &&
        ask_telling(fmt::format("to be surer that it is sound: {:.0f} % so far", 100 * sound))) {
      return;
    }
    next_ = {};
    next_.what = Next::What::done;
    next_.why = fmt::format("sound: {:.0f} % sure", 100 * sound);
    return;
  }
  if (takes_metal(cure)) {
    if (!pass_gate() || look_twice(cure)) return;
    if (job_.subject.geometry.kind == belief::HingeKind::pivot && (cure == Cure::cut || cure == Cure::ease)) {
      begin_cut();
      return;
    }
  }
  if (!takes_metal(cure) && look_twice(cure)) return;
  ask_cure(cure);
}

double Guide::needed_for(Cure cure) { return takes_metal(cure) ? kSureForMetal : kLikely; }

double Guide::below(Length edge) const {
  const auto [mean, standard] = inquiry_.end_play();
  return normal_below((edge.raw() - mean) / std::max(standard, 1e-6));
}
bool Guide::surely_above() const { return 1 - below(window_high_) > kSureOutside; }
bool Guide::surely_below() const { return below(window_low_) > kSureOutside; }

/// After metal was taken a reading outside the window needs no further cause: the seats are cut, or the hole
/// eased. A tube is worked on again too, since work may fail; but first the body is looked at. Whether
/// something was asked for.
bool Guide::read_after_metal() {
  if (surely_above() || surely_below()) {
    if (job_.subject.geometry.kind == belief::HingeKind::pivot) {
      begin_cut();
      return true;
    }
    if (!waived_.has(Cause::bent_body) &&
        ask_again(Check::bow,
                  "it does not fit yet: before the tube is worked on again, see that the body is straight",
                  true)) {
      return true;
    }
    if (inquiry_.share(Cause::bent_body) >= kLikely) return false;
    ask_cure(surely_above() ? Cure::cut : Cure::ease);
    return true;
  }
  const double inside = below(window_high_) - below(window_low_);
  if (inside >= kSureInside || reread_ >= kMostRereads) {
    proven_ = true;
    return false;
  }
  ++reread_;
  ask(Check::end_play, fmt::format("it is in the window by {:.0f} %: read it once more", 100 * inside),
      false);
  return true;
}

/// Asks for the check that tells most, if any tells something.
bool Guide::ask_telling(Said why) {
  for (const belief::Worth& w : inquiry_.worths()) {
    if (w.per_minute() < kTellsAnything) break;
    ask(w.check, std::move(why), false);
    return true;
  }
  return false;
}

/// Before work is begun the look that speaks most for it is done a second time, where that is quick or where
/// metal hangs on it: one slip must not send the key to the wrong bench.
bool Guide::look_twice(Cure cure) {
  for (const belief::CauseShare& c : inquiry_.causes()) {
    if (c.cause == Cause::sound || belief::cure_of(c.cause) != cure) continue;
    for (const belief::Evidence& e : inquiry_.evidence(c.cause)) {
      const bool quick = job_.presets.minutes[static_cast<std::size_t>(e.check)] <= kQuick;
      if (e.factor < 3 || e.check == Check::clean || e.check == Check::end_play) continue;
      if (!quick && (!takes_metal(cure) || belief::is_reading(e.check))) continue;
      if (ask_again(e.check, "a second look, before work is begun on the word of the first",
                    takes_metal(cure))) {
        return true;
      }
    }
    break;
  }
  return false;
}

void Guide::begin_cut() {
  if (found_.empty()) found_ = inquiry_.causes();
  if (!latest_) {
    stop("without a reading of end play nothing can be cut");
    return;
  }
  metal_begun_ = true;
  const auto [mean, standard] = inquiry_.end_play();
  plan::KeyCase key_case = job_.key_case;
  key_case.estimate = with_end_play(key_case.estimate, millimetres(mean), millimetres(standard));
  const plan::KeyPlan found = plan::plan_key(key_case);
  plan::CuttingJob job;
  job.low = window_low_;
  job.high = window_high_;
  job.end_play = millimetres(mean);
  job.standard = millimetres(std::max(standard, 5e-4));
  job.least_cut = key_case.limits.least_cut;
  job.aim_guard = key_case.limits.aim_guard;
  job.centring_allowed = std::max(millimetres(0.02), key_case.limits.centring_allowed / 4);
  plan::Plan best;
  if (!found.plans.empty()) {
    best = found.plans.front();
  } else if (found.verdict == plan::Verdict::loose || found.verdict == plan::Verdict::binds) {
    stop(say(found.no_plan, "; ", found.relief));
    return;
  }
  for (const plan::Step& s : best.steps) {
    if (s.operation != plan::Operation::seat_cut && s.operation != plan::Operation::ream) steps_.push_back(s);
  }
  for (const Side side : kSides) {
    plan::CuttingEnd& end = side == Side::upper ? job.upper : job.lower;
    const Angle taper = contact::fitting_taper(key_case.estimate.geometry.at(side).point,
                                               key_case.estimate.geometry.at(side).hole);
    const Length cut = planned(best, plan::Operation::seat_cut, side);
    const Length reamed = planned(best, plan::Operation::ream, side);
    end.share = cut;
    end.room =
        cut + room_left(best, side, {"metal under the head", "thread engagement", "the slot's reach"}, 0);
    end.ream_room =
        reamed + room_left(best, side, {"wall at the key's mouth", "tip to floor", "face gap"}, tan(taper));
  }
  if (job.upper.share.raw() == 0 && job.lower.share.raw() == 0) {
    // Nothing to cut by now. Should a reading say otherwise, both ends get as much.
    job.upper.share = job.lower.share = job.least_cut;
  }
  const auto cutter_name = [&](Side side) {
    const plan::Cutter* c = plan::fitting_cutter(key_case.facts(side), key_case.tools, key_case.limits);
    return c == nullptr ? std::string() : c->name;
  };
  const plan::TakeOff take_off = job_.take_off.value_or(
      plan::take_off_of(key_case.pace.take_off_per_turn, key_case.pace.take_off_plus_minus));
  job.cutters = {take_off};
  if (cutter_name(Side::upper) != cutter_name(Side::lower)) {
    job.cutters.push_back(take_off);
    job.lower.cutter = 1;
  }
  auto cutting = plan::Cutting::of(std::move(job));
  if (!cutting) {
    stop(cutting.error().what);
    return;
  }
  cutting_ = std::move(*cutting);
  cutting_now_ = true;
  decide_cut();
}

void Guide::decide_cut() {
  if (!steps_.empty()) {
    next_ = {};
    next_.what = Next::What::step;
    next_.step = steps_.front();
    next_.side = steps_.front().side;
    next_.why = "the plan begins with what takes no metal";
    return;
  }
  const plan::Instruction i = cutting_->next();
  next_ = {};
  next_.why = i.why;
  next_.side = i.side;
  next_.turns = i.turns;
  next_.amount = i.amount;
  next_.risk = i.risk;
  next_.stop = i.stop;
  switch (i.kind) {
    case plan::Instruction::Kind::read_again:
      ask(Check::end_play, i.why, false);
      break;
    case plan::Instruction::Kind::bite:
      next_.what = Next::What::bite;
      break;
    case plan::Instruction::Kind::check_cutter:
      next_.what = Next::What::see_cutter;
      break;
    case plan::Instruction::Kind::recover:
      next_.what = Next::What::ream;
      break;
    case plan::Instruction::Kind::finished:
      end_cut();
      break;
    case plan::Instruction::Kind::stuck:
      stop(i.why);
      break;
  }
}

/// The fit is proven; whatever else the key has is looked at again.
void Guide::end_cut() {
  cutting_now_ = false;
  proven_ = true;
  const bool opened = std::any_of(events_.begin(), events_.end(),
                                  [](const Event& e) { return e.kind == Event::Kind::reamed; });
  const Cure cure = opened && cutting_->bites().empty() ? Cure::ease : Cure::cut;
  cures_.push_back(cure);
  inquiry_.treat(Cure::cut);
  inquiry_.treat(Cure::ease);
  Answer read;
  read.check = Check::end_play;
  read.value = cutting_->end_play();
  read.standard = cutting_->standard();
  if (auto taken = inquiry_.take(read); !taken) {
    stop(taken.error().what);
    return;
  }
  decide_look();
}

}  // namespace hingeline::guide
