#include "hingeline/service/quote.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "hingeline/base/moment.h"
#include "hingeline/numeric/statistics.h"

namespace hingeline::service {
namespace {

Expected<Percent> percent_of(const record::NumberEntry& entry, const char* of) {
  if (!entry.known()) return Percent{};
  const double hundredths = entry.value * 100;
  const auto whole = std::llround(hundredths);
  if (whole < 0 || whole > kWhole.in_hundredths() || std::abs(hundredths - static_cast<double>(whole)) > 1e-6)
    return fail(
        Fault::content,
        fmt::format("the {} of {} % has more than two decimals, or is not from 0 to 100", of, entry.value),
        "such as 19 % or 8.25 %", entry.place);
  return Percent::hundredths(whole);
}

bool included(const record::Prices& prices) { return prices.prices_are == record::TaxRule::included; }

Expected<std::string> days_later(const std::string& day, std::int64_t days) {
  Day from;
  long long year = 0;
  if (!record::is_date(day) || std::sscanf(day.c_str(), "%lld-%d-%d", &year, &from.month, &from.day) != 3)
    return fail(Fault::content, fmt::format("\"{}\" is no day of the calendar", day), "such as 2026-11-27");
  from.year = year;
  const Day to = civil_from_days(days_from_civil(from) + days);
  return fmt::format("{:04}-{:02}-{:02}", to.year, to.month, to.day);
}

void in_order(std::vector<std::size_t>& works, const choice::Candidates& candidates) {
  std::stable_sort(works.begin(), works.end(), [&](std::size_t a, std::size_t b) {
    return candidates.works[a].stage < candidates.works[b].stage;
  });
}

QuoteOption option_of(QuoteOption::Why why, const choice::Total& total, std::vector<std::size_t> works,
                      const choice::Candidates& candidates) {
  QuoteOption out;
  out.why = why;
  out.total = total;
  out.works = std::move(works);
  in_order(out.works, candidates);
  for (const std::size_t w : out.works) out.of_works += candidates.works[w].money;
  out.of_set_ups = total.money - out.of_works;
  out.nine_in_ten = choice::enough_for(total.time, 0.9);
  return out;
}

/// A smaller option is worth a place on the paper from here down: share of the time of the one before.
constexpr double kMuchQuicker = 0.75;

constexpr std::size_t kFewVisits = 5;

std::vector<std::size_t> works_of(const choice::Choice& choice) {
  std::vector<std::size_t> out;
  for (const choice::Done& d : choice.done) out.push_back(d.work);
  return out;
}

}  // namespace

Expected<QuoteOption> priced(QuoteOption option, const record::Prices& prices) {
  const auto rate = percent_of(prices.rate, "rate");
  if (!rate) return tl::unexpected(rate.error());
  const auto deposit = percent_of(prices.deposit, "deposit");
  if (!deposit) return tl::unexpected(deposit.error());
  const auto sum = checked_sum(option.of_works, option.of_set_ups);
  if (!sum) return tl::unexpected(sum.error());
  const Money least = prices.minimum.present && !option.works.empty() ? prices.minimum.money : Money{};
  option.to_minimum = *sum < least ? least - *sum : Money{};
  const Money price = *sum + option.to_minimum;
  const Money step = prices.round_to.present ? prices.round_to.money : Money{};
  if (included(prices)) {
    option.total_price = rounded_to(price, step);
    option.rounding = option.total_price - price;
    option.tax = tax_within(option.total_price, *rate);
    option.before_tax = option.total_price - option.tax;
  } else {
    option.before_tax = price;
    option.tax = share_of(price, *rate);
    const auto with_tax = checked_sum(price, option.tax);
    if (!with_tax) return tl::unexpected(with_tax.error());
    option.total_price = rounded_to(*with_tax, step);
    option.rounding = option.total_price - *with_tax;
  }
  option.deposit = share_of(option.total_price, *deposit);
  return option;
}

Expected<Quote> quote_of(const BudgetResult& budget, const record::Shop& shop, const std::string& day) {
  Quote out;
  out.currency = budget.currency;
  out.priced = budget.priced;
  out.tax_name = shop.prices.tax;
  out.tax_included = included(shop.prices);
  const auto rate = percent_of(shop.prices.rate, "rate");
  if (!rate) return tl::unexpected(rate.error());
  out.rate = *rate;
  const auto deposit = percent_of(shop.prices.deposit, "deposit");
  if (!deposit) return tl::unexpected(deposit.error());
  out.deposit = *deposit;
  if (shop.prices.valid_days.known()) {
    const auto until = days_later(day, std::llround(shop.prices.valid_days.value));
    if (!until) return tl::unexpected(until.error());
    out.valid_until = *until;
  }

  using Why = QuoteOption::Why;
  choice::Options options;
  options.least_step = budget.least_step;
  options.reasons = false;
  const auto all = choice::choose(budget.candidates, {}, budget.weights, options);
  if (!all) return tl::unexpected(all.error());
  std::vector<QuoteOption> found;
  found.push_back(
      option_of(Why::within_budget, budget.choice.total, works_of(budget.choice), budget.candidates));
  // The ladder's first rung that brings half of what the budget brings, where it is much quicker than that.
  for (const choice::Rung& rung : budget.ladder) {
    const choice::Total& chosen = budget.choice.total;
    if (2 * rung.total.points.thousandths < chosen.points.thousandths || rung.works.empty()) continue;
    if (rung.total.time.mean > chosen.time.mean * kMuchQuicker) break;
    found.push_back(option_of(Why::most_for_time, rung.total, rung.works, budget.candidates));
    break;
  }
  found.push_back(option_of(Why::all, all->total, works_of(*all), budget.candidates));
  for (QuoteOption& option : found) {
    const bool there = std::any_of(out.options.begin(), out.options.end(),
                                   [&](const QuoteOption& o) { return o.works == option.works; });
    if (option.works.empty() || there) continue;
    auto made = priced(std::move(option), shop.prices);
    if (!made) return tl::unexpected(made.error());
    out.options.push_back(std::move(*made));
  }
  out.leak = all->total.leak;
  out.feel = all->total.feel;
  return out;
}

Against against(std::vector<QuotedVisit> visits, const record::Prices& prices) {
  Against out;
  std::vector<double> logs;
  for (QuotedVisit& v : visits) {
    if (!(v.minutes_quoted > 0 && v.minutes_actual > 0)) {
      ++out.left_out;
      continue;
    }
    out.quoted += v.minutes_quoted;
    out.actual += v.minutes_actual;
    out.money_quoted += v.money_quoted;
    logs.push_back(std::log(v.minutes_actual / v.minutes_quoted));
    out.visits.push_back(std::move(v));
  }
  if (out.visits.empty()) return out;
  out.ratio = out.actual / out.quoted;
  out.ratio_low = out.ratio_high = out.ratio;
  const auto n = static_cast<double>(logs.size());
  if (logs.size() >= 2) {
    double mean = 0;
    for (const double l : logs) mean += l / n;
    double squares = 0;
    for (const double l : logs) squares += (l - mean) * (l - mean);
    const double standard = std::sqrt(squares / (n - 1) / n);
    const double wide = numeric::student_t(0.95, n - 1) * standard;
    out.ratio_low = out.ratio * std::exp(-wide);
    out.ratio_high = out.ratio * std::exp(wide);
    out.sure = out.ratio_low > 1 || out.ratio_high < 1;
  }
  const auto earned = std::llround(static_cast<double>(out.money_quoted.in_hundredths()) * 60 / out.actual);
  if (out.money_quoted > Money{}) out.earned_hourly = Money::hundredths(earned);
  if (!prices.per_hour.present || prices.per_hour.money <= Money{} || !out.earned_hourly) return out;
  const double share = static_cast<double>(prices.per_hour.money.in_hundredths() - earned) /
                       static_cast<double>(prices.per_hour.money.in_hundredths());
  out.less_than_rate = Percent::hundredths(std::clamp<std::int64_t>(std::llround(share * 10'000), 0, 10'000));
  if (out.sure)
    out.rate_needed = Money::hundredths(
        std::llround(static_cast<double>(prices.per_hour.money.in_hundredths()) * out.ratio));
  return out;
}

std::vector<std::string> advice(const Against& a, const record::Prices& prices, const papers::Voice& voice) {
  using papers::Say;
  if (a.visits.empty()) return {voice(Say::against_none)};
  std::vector<std::string> out;
  if (a.visits.size() < kFewVisits) out.push_back(voice(Say::against_few, a.visits.size()));
  if (!a.sure) {
    out.push_back(voice(Say::against_unsure));
    return out;
  }
  const auto percent = [&](double ratio) { return voice.number(100 * ratio, 0); };
  out.push_back(voice(a.ratio > 1 ? Say::against_longer : Say::against_shorter, percent(a.ratio_low),
                      percent(a.ratio_high), voice.number(a.ratio, 2)));
  if (a.rate_needed && a.ratio > 1)
    out.push_back(voice(Say::against_rate, voice.money(*a.rate_needed, prices.currency),
                        voice.money(prices.per_hour.money, prices.currency)));
  return out;
}

std::string to_json(const Against& a, const record::Prices& prices) {
  nlohmann::ordered_json out = {{"visits", nlohmann::ordered_json::array()},
                                {"left_out", a.left_out},
                                {"quoted", a.quoted},
                                {"actual", a.actual},
                                {"ratio", a.ratio},
                                {"ratio_low", a.ratio_low},
                                {"ratio_high", a.ratio_high},
                                {"sure", a.sure},
                                {"money_quoted", show_money(a.money_quoted)},
                                {"earned_hourly", nullptr},
                                {"rate_needed", nullptr},
                                {"currency", prices.currency},
                                {"advice", advice(a, prices, {papers::Language::english, LengthUnit::mm})}};
  if (a.earned_hourly) out["earned_hourly"] = show_money(*a.earned_hourly);
  if (a.rate_needed) out["rate_needed"] = show_money(*a.rate_needed);
  for (const QuotedVisit& v : a.visits)
    out["visits"].push_back({{"instrument", v.name},
                             {"quoted", v.minutes_quoted},
                             {"actual", v.minutes_actual},
                             {"money", show_money(v.money_quoted)}});
  return out.dump(2) + "\n";
}

}  // namespace hingeline::service
