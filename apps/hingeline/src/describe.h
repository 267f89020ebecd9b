#pragma once
/// \file
/// What the command line offers, in words.

#include <CLI/CLI.hpp>
#include <functional>
#include <string>
#include <vector>

#include "asked.h"

namespace hingeline {

/// Adds the commands. `run` is set to what was asked.
void describe_commands(CLI::App& app, Asked& asked, std::function<int()>& run);
/// Adds the book's commands.
void describe_book(CLI::App& app, Asked& asked, std::function<int()>& run);
/// Adds the server, and who may come in.
void describe_serve(CLI::App& app, Asked& asked, std::function<int()>& run);

/// What a chosen command does; its exit code.
using Command = int (*)(const Asked&);
/// A command in words.
struct Offered {
  const char* name;
  const char* says;
  Command what;
  std::string examples;
};
/// Adds a command to those of `all`; chosen, it becomes what is run.
CLI::App* add_command(CLI::App& all, Asked& asked, std::function<int()>& run, const Offered& offered);
/// Adds a command that has commands of its own under it.
CLI::App* add_group(CLI::App& app, const char* name, const char* says, const std::string& footer);
/// Adds --colour.
void add_colour(CLI::App* command, Asked& asked);
/// The papers' kinds, as they are typed.
std::vector<std::string> paper_kinds();

}  // namespace hingeline
