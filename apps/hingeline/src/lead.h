#pragma once
/// \file
/// Leading a person through one key on a terminal: asks, takes what is typed, keeps it, says the next step.

#include <cstdio>
#include <istream>
#include <optional>
#include <string>
#include <vector>

#include "hingeline/service/lead.h"
#include "terminal.h"

namespace hingeline {

/// What `lead` was asked for.
struct LeadAsked {
  std::optional<belief::Complaint> complaint;
  std::string journal;               ///< file the answers are kept in; empty: none are kept
  std::vector<std::string> answers;  ///< told before anything is asked
  bool json = false;                 ///< the state as JSON, nothing is asked
  std::uint64_t seed = 1;
  unsigned threads = 0;
  const service::Learned* learned = nullptr;  ///< what the ledger teaches; null: no ledger
  std::string ledger;                         ///< file the finished job is booked in; empty: none
  std::string person;
};

/// Leads through the key, read with the instruments of `shop`, until it is done, the input ends, or `leave`
/// is typed. `input` null: nothing is asked. What is typed wrong is told on standard error and asked again.
/// An error is one that ends it.
tl::expected<int, record::Errors> lead(const service::InstrumentResult& result, const service::KeyResult& key,
                                       const record::Shop& shop, const LeadAsked& asked, std::istream* input,
                                       LengthUnit unit, const Terminal& terminal);

}  // namespace hingeline
