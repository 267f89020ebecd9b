#pragma once
/// \file
/// What works cost an owner: up to three options out of a budget's works, with the shop's least charge, tax
/// and rounding; and what was quoted held against what was done.
///
/// All sums are exact (base/money.h). Tax is worked out once, on an option's total, and rounded half up.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/money.h"
#include "hingeline/papers/voice.h"
#include "hingeline/service/budget.h"

namespace hingeline::service {

struct QuoteOption {
  enum class Why {
    within_budget,  ///< what the budget's minutes and money choose
    most_for_time,  ///< the least time that brings half of that, where it is at most three quarters of its
                    ///< time
    all             ///< all that gains anything
  };
  Why why = Why::within_budget;
  std::vector<std::size_t> works;  ///< places among the budget's works, in the order of work
  choice::Total total;             ///< as the budget reckons it, before tax
  Duration nine_in_ten;            ///< so much time is enough nine times in ten
  Money of_works;                  ///< the works' own prices
  Money of_set_ups;
  Money to_minimum;  ///< what the shop's least charge adds
  Money before_tax;
  Money tax;
  Money rounding;  ///< what rounding the total adds; below 0: takes off
  Money total_price;
  Money deposit;
};

struct Quote {
  std::string currency;
  bool priced = false;
  std::string tax_name;
  Percent rate;               ///< 0: no tax is said
  bool tax_included = false;  ///< the prices are with it
  Percent deposit;
  std::string valid_until;           ///< a day; empty: not said
  std::vector<QuoteOption> options;  ///< those that differ, in the order of Why
  Flow leak;                         ///< all that could be cured
  double feel = 0;                   ///< and gained
};

/// `budget` was made of that shop. `day`: the quote's. Fault::content for a rate or deposit of more than two
/// decimals, a day that is none, and sums that are too large.
Expected<Quote> quote_of(const BudgetResult& budget, const record::Shop& shop, const std::string& day);

/// Tax, least charge and rounding on the price of some works; the rest of the option stays as it is.
Expected<QuoteOption> priced(QuoteOption option, const record::Prices& prices);

// ---- quoted against actual
// ----------------------------------------------------------------------------------

/// One visit that was quoted and worked on.
struct QuotedVisit {
  std::string name;  ///< of the instrument
  double minutes_quoted = 0;
  double minutes_actual = 0;
  Money money_quoted;
};
struct Against {
  std::vector<QuotedVisit> visits;  ///< those with both minutes, as given
  std::size_t left_out = 0;         ///< those without
  double quoted = 0;                ///< minutes of all of them
  double actual = 0;
  double ratio = 1;  ///< actual to quoted
  double ratio_low =
      1;  ///< 95 of 100 shops like this one lie between these; equal to `ratio` below two visits
  double ratio_high = 1;
  Money money_quoted;
  std::optional<Money> earned_hourly;  ///< quoted money for the hours that were really spent
  Percent less_than_rate;              ///< by how much that lies under the shop's rate; 0: it does not
  bool sure = false;                   ///< the ratio lies above or below 1 whatever the spread
  /// A rate at which these quotes would have paid the hour as the shop sets it; absent: no rate, or not sure.
  std::optional<Money> rate_needed;
};
/// The ratio is that of the sums; its interval is Student's t on the logs of the visits' own ratios about
/// their mean, carried over to it (common practice of statistics).
Against against(std::vector<QuotedVisit> visits, const record::Prices& prices);
/// What to change, in sentences; none where nothing is sure.
std::vector<std::string> advice(const Against& against, const record::Prices& prices,
                                const papers::Voice& voice);
/// Minutes; money as text with two decimals; advice in English.
std::string to_json(const Against& against, const record::Prices& prices);

}  // namespace hingeline::service
