#pragma once
/// \file
/// From documents to what the engine takes: which number stands for what, where it came from.

#include "hingeline/service/bench.h"

namespace hingeline::service {

/// Everything about one key but the plan. Fault::content where a figure is missing and the shop has
/// no range for it.
Expected<belief::KeyKnowledge> knowledge_of(const record::Key& key, const record::Shop& shop,
                                            std::vector<Said>& notes);

/// Take-off and minutes: the shop's own, else the program's.
plan::Pace pace_of(const record::Shop& shop);

/// The key ready for planning, with its estimate.
plan::KeyCase case_of(const record::Key& key, const record::Instrument& instrument, const record::Shop& shop,
                      const belief::KeyKnowledge& knowledge, belief::Estimate estimate);

}  // namespace hingeline::service
