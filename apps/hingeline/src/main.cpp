/// \file
/// The program: command line in, exit code out.

#include <fmt/format.h>
#include <cstdio>
#include <functional>

#include "asked.h"
#include "describe.h"
#include "hingeline/version.h"
#include "outcome.h"

namespace hingeline {
namespace {

int run_program(int argc, char** argv) {
  CLI::App app;
  Asked asked;
  std::function<int()> run;
  describe_commands(app, asked, run);
  // The command that was chosen, with those it stands under: " book copy".
  const auto chosen = [&app] {
    std::pair<const CLI::App*, std::string> out{&app, ""};
    while (!out.first->get_subcommands().empty()) {
      out.first = out.first->get_subcommands().front();
      out.second += " " + out.first->get_name();
    }
    return out;
  };
  try {
    app.parse(argc, argv);
  } catch (const CLI::CallForHelp&) {
    const auto [command, name] = chosen();
    const std::string above =
        name.substr(0, name.size() - std::min(name.size(), command->get_name().size() + 1));
    return print(name.empty() ? app.help() : command->help("hingeline" + above));
  } catch (const CLI::CallForVersion&) {
    return print(std::string("hingeline ") + kVersion + "\n");
  } catch (const CLI::ParseError& e) {
    std::fputs(fmt::format("hingeline: {}\nSee: hingeline{} --help\n", e.what(), chosen().second).c_str(),
               stderr);
    return kUsage;
  }
  if (!run) {
    std::fputs("hingeline: nothing to do; begin with: hingeline fit FILE\nSee: hingeline --help\n", stderr);
    return kUsage;
  }
  return run();
}

}  // namespace
}  // namespace hingeline

int main(int argc, char** argv) {
  try {
    return hingeline::run_program(argc, argv);
  } catch (const std::exception& e) {
    std::fputs(fmt::format("hingeline: stopped by a fault of the program's own: {}\n", e.what()).c_str(),
               stderr);
    return 70;
  }
}
