#pragma once
/// \file
/// What the command line offers, in words.

#include <CLI/CLI.hpp>
#include <functional>

#include "asked.h"

namespace hingeline {

/// Adds the commands. `run` is set to what was asked.
void describe_commands(CLI::App& app, Asked& asked, std::function<int()>& run);
/// Adds the book's commands.
void describe_book(CLI::App& app, Asked& asked, std::function<int()>& run);
/// Adds the server, and who may come in.
void describe_serve(CLI::App& app, Asked& asked, std::function<int()>& run);
/// The papers' kinds, as they are typed.
std::vector<std::string> paper_kinds();

}  // namespace hingeline
