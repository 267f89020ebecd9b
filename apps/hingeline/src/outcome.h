#pragma once
/// \file
/// How a command ends: what it prints, what it tells of errors, its exit code.

#include <string>

#include "hingeline/record/document.h"

namespace hingeline {

/// Exit codes, as the manual page lists them.
enum Exit : int { kDone = 0, kUsage = 2, kFile = 3, kDocument = 4, kNewer = 5, kNotFound = 6 };

/// The exit code of a fault.
int exit_code(Fault fault);
/// Prints, and tells when standard output did not take it (a full disk, a closed pipe). Gives the exit code.
int print(const std::string& text, int code = kDone);
/// Says errors on standard error, and gives the first one's exit code.
int tell(const record::Errors& errors);
int tell(const Error& error);

}  // namespace hingeline
