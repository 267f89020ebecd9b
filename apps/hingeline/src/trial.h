#pragma once
/// \file
/// The virtual bench from the command line: progress, a way to stop, and the table.

#include <string>

#include "hingeline/virtual_bench/trial.h"
#include "terminal.h"

namespace hingeline {

/// Runs the trial with its progress on standard error, where that is a terminal. An interrupt (Ctrl-C) ends
/// it with the keys done so far.
virtual_bench::TrialResult run_trial_with_progress(const virtual_bench::TrialSetup& setup);

std::string trial_report(const virtual_bench::TrialResult& result, const Terminal& terminal);
std::string trial_json(const virtual_bench::TrialResult& result);

}  // namespace hingeline
