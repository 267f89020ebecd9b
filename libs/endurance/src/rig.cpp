#include "hingeline/endurance/rig.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>

namespace hingeline::endurance {
namespace {

/// Seconds of a period before `now`.
std::int64_t seconds_of(const Period& p, Moment now) {
  const Moment end = p.to ? std::min(*p.to, now) : now;
  return std::max<std::int64_t>(0, seconds_between(p.from, end));
}

/// The first whole second by which the periods make `millionths`, each rate off by `sign` times its ±.
std::optional<Moment> when_reached(std::span<const Period> periods, std::int64_t millionths, int sign) {
  std::int64_t left = millionths;
  const auto in_time = [&](const Period& p, std::int64_t needed) -> std::optional<Moment> {
    if (seconds_between(periods.front().from, p.from) + needed > kLongestRun) return std::nullopt;
    return p.from.later(needed);
  };
  for (const Period& p : periods) {
    const std::int64_t rate = p.rate.millionths + sign * p.rate.plus_minus_millionths;
    const std::int64_t needed = left / rate + (left % rate != 0 ? 1 : 0);
    if (!p.to || needed <= seconds_between(p.from, *p.to)) return in_time(p, needed);
    left -= rate * seconds_between(p.from, *p.to);
  }
  return std::nullopt;
}

tl::unexpected<Error> wrong(const char* list, std::size_t index, std::string what, std::string expected) {
  return fail(Fault::content, std::move(what), std::move(expected),
              Place{"", fmt::format("/{}/{}", list, index), 0, 0});
}

}  // namespace

Expected<Rate> rate_per_second(double rate, double plus_minus) {
  const double million = static_cast<double>(kMillionths);
  const double whole = std::round(rate * million);
  const double doubt = std::round(plus_minus * million);
  if (!(whole >= 1 && rate <= kFastestRate)) {
    return fail(Fault::content, fmt::format("a rate of {} closings a second", rate),
                fmt::format("more than 0, at most {} a second", kFastestRate));
  }
  if (!(plus_minus >= 0 && doubt < whole))
    return fail(Fault::content, fmt::format("a rate of {} ± {} closings a second", rate, plus_minus),
                "a ± smaller than the rate");
  return Rate{static_cast<std::int64_t>(whole), static_cast<std::int64_t>(doubt)};
}

Expected<Run> Run::of(std::vector<Period> periods) {
  for (std::size_t i = 0; i < periods.size(); ++i) {
    const Period& p = periods[i];
    if (p.rate.millionths < 1 || p.rate.plus_minus_millionths < 0 ||
        p.rate.plus_minus_millionths >= p.rate.millionths ||
        p.rate.millionths > static_cast<std::int64_t>(kFastestRate) * kMillionths)
      return wrong("periods", i, "this is no rate", "more than 0, with a ± smaller than itself");
    if (p.to && *p.to < p.from)
      return wrong("periods", i, "this period ends before it begins", "an end after its beginning");
    if (i > 0 && !periods[i - 1].to)
      return wrong("periods", i, "the period before this one has no end",
                   "an end for all but the last period");
    if (i > 0 && p.from < *periods[i - 1].to)
      return wrong("periods", i, "this period begins before the one before it has ended",
                   "periods one after the other");
    if (seconds_between(periods.front().from, p.to.value_or(p.from)) > kLongestRun)
      return wrong("periods", i, "this period lies more than a hundred years after the first",
                   "periods of one rig");
  }
  return Run(std::move(periods));
}

Moment Run::held(Moment now) const {
  return periods_.empty() ? now : std::min(now, periods_.front().from.later(kLongestRun));
}

Count Run::count_at(Moment now) const {
  const Moment until = held(now);
  Count out;
  std::int64_t doubt = 0;
  for (const Period& p : periods_) {
    const std::int64_t seconds = seconds_of(p, until);
    out.millionths += p.rate.millionths * seconds;
    doubt += p.rate.plus_minus_millionths * seconds;
  }
  out.closings = out.millionths / kMillionths;
  out.plus_minus = static_cast<double>(doubt) / static_cast<double>(kMillionths);
  return out;
}

std::optional<Rate> Run::rate_at(Moment now) const {
  for (const Period& p : periods_) {
    if (p.from <= now && (!p.to || now < *p.to)) return p.rate;
  }
  return std::nullopt;
}

std::int64_t Run::ran_for(Moment now) const {
  const Moment until = held(now);
  return std::accumulate(periods_.begin(), periods_.end(), std::int64_t{0},
                         [&](std::int64_t sum, const Period& p) { return sum + seconds_of(p, until); });
}

std::optional<Moment> Run::reaches(std::int64_t closings) const {
  if (closings > kMostClosings) return std::nullopt;
  return when_reached(periods_, closings * kMillionths, 0);
}

Finish Run::finish(std::int64_t closings, Moment now) const {
  Finish out;
  const Count count = count_at(now);
  out.left = std::max<std::int64_t>(0, closings - count.closings);
  out.at = reaches(closings);
  if (out.at) {
    out.state = *out.at <= now ? Finish::State::reached : Finish::State::running;
    out.earliest = when_reached(periods_, closings * kMillionths, 1);
    out.latest = when_reached(periods_, closings * kMillionths, -1);
    return out;
  }
  if (!periods_.empty()) {
    const double needed = static_cast<double>(closings) * static_cast<double>(kMillionths) -
                          static_cast<double>(count.millionths);
    out.running = seconds(std::ceil(needed / static_cast<double>(periods_.back().rate.millionths)));
  }
  return out;
}

Expected<std::vector<Specimen>> specimens_at(const Run& run, std::size_t specimens,
                                             std::span<const Inspection> inspections, Moment now) {
  std::vector<std::size_t> order(inspections.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return inspections[a].at < inspections[b].at; });
  std::vector<Specimen> out(specimens);
  for (const std::size_t i : order) {
    const Inspection& look = inspections[i];
    if (look.specimen >= specimens)
      return wrong("inspections", i, "there is no such specimen", "one that is on the rig");
    if (look.at > now) break;
    Specimen& s = out[look.specimen];
    if (s.state != Specimen::State::on) {
      return wrong("inspections", i,
                   s.state == Specimen::State::failed ? "this specimen had failed before"
                                                      : "this specimen had been taken out before",
                   "nothing after that");
    }
    const auto count = static_cast<double>(run.count_at(look.at).closings);
    s.seen = look.at;
    ++s.inspections;
    switch (look.finding) {
      case Finding::failed:
        if (!(count > 0))
          return wrong("inspections", i, "this specimen failed before the first closing",
                       "a look after the rig was started");
        s.state = Specimen::State::failed;
        s.life.failed_by = count;
        break;
      case Finding::out:
        s.state = Specimen::State::out;
        s.life.sound_to = count;
        break;
      case Finding::fine:
        s.life.sound_to = count;
        break;
    }
  }
  return out;
}

}  // namespace hingeline::endurance
