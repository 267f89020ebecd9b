#pragma once
/// \file
/// What results say, in a paper's language: from codes and numbers, not from English sentences.

#include <string>

#include "hingeline/belief/inquiry.h"
#include "hingeline/papers/voice.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/budget.h"
#include "hingeline/service/papers.h"

namespace hingeline::service {

using papers::Say;
using papers::Voice;

papers::Say of(plan::Verdict verdict);
papers::Say of(Origin origin);
papers::Say of(Side side);
papers::Say of(belief::Cause cause);
/// Of rides_on()'s words.
papers::Say of_riding(const std::string& regime);

/// A step as a sentence, with tool, reach and turns.
std::string say_step(const plan::Step& step, const Voice& voice);
/// In a few words, for tables and drawings.
std::string say_short(const plan::Step& step, const Voice& voice);
/// Of a driver's name.
papers::Say of_reach(const std::string& driver);
/// Work that was done.
std::string say_done(const DoneWork& work, const Voice& voice);
/// A limit's name; one nobody has thought of as it is.
std::string say_limit(const std::string& limit, const Voice& voice);
/// "0.085 ± 0.004 mm", a range, or "-".
std::string say(const belief::FigureValue& value, const Voice& voice);
std::string say_window(const plan::Window& window, const Voice& voice);
/// The same without the unit, for columns that say it.
std::string say_bare(const belief::FigureValue& value, const Voice& voice);
std::string say_bare(const plan::Window& window, const Voice& voice);
std::string say_cause(const belief::CauseShare& share, const Voice& voice);
/// A budget's work by its id.
std::string say_work(std::size_t work, const BudgetResult& budget, const InstrumentResult& result,
                     const Voice& voice);

}  // namespace hingeline::service
