#pragma once
/// \file
/// Completion scripts made from the commands themselves, so that they never lag behind.

#include <CLI/CLI.hpp>
#include <string>

namespace hingeline {

/// The script for "bash", "zsh" or "fish".
std::string completion_for(const CLI::App& app, const std::string& shell);

}  // namespace hingeline
