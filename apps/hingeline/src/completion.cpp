#include "completion.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <vector>

#include "hingeline/belief/key.h"

namespace hingeline {
namespace {

/// What can stand in an option's place: the words that its own check takes, which stand in braces in its
/// type.
std::string words_for(const CLI::Option& option) {
  const std::string type = option.get_type_name();
  const std::size_t begin = type.find('{');
  const std::size_t end = type.find('}', begin);
  if (begin != std::string::npos && end != std::string::npos) {
    std::string words = type.substr(begin + 1, end - begin - 1);
    std::replace(words.begin(), words.end(), ',', ' ');
    return words;
  }
  if (option.get_name() == "FIGURE") {
    std::string out;
    for (std::size_t k = 0; k < belief::kFigureCount; ++k) {
      out += (k == 0 ? "" : " ") + std::string(belief::code(static_cast<belief::Figure>(k)));
    }
    return out;
  }
  return {};
}

std::string long_name(const CLI::Option& option) {
  return option.get_lnames().empty() ? std::string() : "--" + option.get_lnames().front();
}

/// Ids of the keys and stacks in the file already typed: asked of the program itself.
constexpr const char* kBashKeys =
    "_hingeline_keys() {\n"
    "  hingeline show \"$1\" --json 2>/dev/null | sed -n 's/^      \"id\": \"\\([a-z0-9-]*\\)\",$/\\1/p'\n"
    "}\n"
    "_hingeline_stacks() {\n"
    "  hingeline stack \"$1\" --json 2>/dev/null | sed -n 's/^      \"id\": \"\\([a-z0-9-]*\\)\",$/\\1/p'\n"
    "}\n";

/// Whether one of the same name is among them.
bool known_already(const std::vector<const CLI::Option*>& all, const CLI::Option& option) {
  return std::any_of(all.begin(), all.end(),
                     [&](const CLI::Option* o) { return long_name(*o) == long_name(option); });
}

std::string for_bash(const CLI::App& app) {
  std::set<std::string> flags{"--help"};  // options that no value follows
  std::string commands;
  std::string cases;
  for (const CLI::App* c : app.get_subcommands({})) {
    commands += (commands.empty() ? "" : " ") + c->get_name();
    std::string options = "--help";
    std::string values;
    std::string places;
    int place = 0;
    std::vector<const CLI::Option*> all = c->get_options();
    // A command of several: which one comes first, then files.
    if (const auto inner = c->get_subcommands({}); !inner.empty()) {
      std::string names;
      for (const CLI::App* one : inner) {
        names += (names.empty() ? "" : " ") + one->get_name();
        for (const CLI::Option* o : one->get_options()) {
          if (!o->get_positional() && !known_already(all, *o)) all.push_back(o);
        }
      }
      places += fmt::format(
          "        1) COMPREPLY=($(compgen -W \"{}\" -- \"$word\")) ;;\n        *) compopt -o default ;;\n",
          names);
    }
    for (const CLI::Option* o : all) {
      const std::string name = long_name(*o);
      if (o->get_positional()) {
        ++place;
        const std::string argument = o->get_name();
        const std::string known = words_for(*o);
        if (argument == "FILES") {
          places += "        *) compopt -o default ;;\n";
        } else if (argument == "KEY" || argument == "STACK") {
          places += fmt::format(
              "        {}) COMPREPLY=($(compgen -W \"$(_hingeline_{} \"${{places[0]}}\")\" -- \"$word\")) "
              ";;\n",
              place, argument == "KEY" ? "keys" : "stacks");
        } else if (known.empty()) {
          places += fmt::format("        {}) compopt -o default ;;\n", place);
        } else {
          places +=
              fmt::format("        {}) COMPREPLY=($(compgen -W \"{}\" -- \"$word\")) ;;\n", place, known);
        }
        continue;
      }
      if (name == "--help") continue;
      options += " " + name;
      if (o->get_items_expected_max() == 0) {
        flags.insert(name);
        continue;
      }
      const std::string known = words_for(*o);
      values += known.empty()
                    ? fmt::format("        {}) compopt -o default; return ;;\n", name)
                    : fmt::format("        {}) COMPREPLY=($(compgen -W \"{}\" -- \"$word\")); return ;;\n",
                                  name, known);
    }
    cases += fmt::format(
        "    {})\n      case \"$before\" in\n{}        *) ;;\n      esac\n      if [[ $word == -* ]]; then\n "
        "       "
        "COMPREPLY=($(compgen -W \"{}\" -- \"$word\"))\n        return\n      fi\n      case "
        "$((${{#places[@]}} + 1)) in\n{}        "
        "*) ;;\n      esac\n      ;;\n",
        c->get_name(), values, options, places);
  }
  return fmt::format(
      "# bash completion for hingeline; read it with: source <(hingeline completion bash)\n"
      "{}"
      "_hingeline() {{\n"
      "  local word=\"${{COMP_WORDS[COMP_CWORD]}}\" before=\"${{COMP_WORDS[COMP_CWORD - 1]}}\" skip=no k\n"
      "  local -a places=()\n"
      "  COMPREPLY=()\n"
      "  if [[ $COMP_CWORD -eq 1 ]]; then\n"
      "    COMPREPLY=($(compgen -W \"{} --help --version\" -- \"$word\"))\n"
      "    return\n"
      "  fi\n"
      "  for ((k = 2; k < COMP_CWORD; ++k)); do\n"
      "    if [[ $skip == yes ]]; then skip=no; continue; fi\n"
      "    case \"${{COMP_WORDS[k]}}\" in\n"
      "      {}|--*=*) ;;\n"
      "      --*) skip=yes ;;\n"
      "      *) places+=(\"${{COMP_WORDS[k]}}\") ;;\n"
      "    esac\n"
      "  done\n"
      "  case \"${{COMP_WORDS[1]}}\" in\n"
      "{}"
      "    *) ;;\n"
      "  esac\n"
      "}}\n"
      "complete -F _hingeline hingeline\n",
      kBashKeys, commands, fmt::join(flags, "|"), cases);
}

std::string for_fish(const CLI::App& app) {
  std::string out = "# fish completion for hingeline; read it with: hingeline completion fish | source\n";
  const auto quoted = [](const std::string& text) {
    std::string safe;
    for (const char c : text) safe += c == '\'' ? std::string("\\'") : std::string(1, c);
    return "'" + safe + "'";
  };
  for (const CLI::App* c : app.get_subcommands({})) {
    out += fmt::format("complete -c hingeline -n __fish_use_subcommand -f -a {} -d {}\n", c->get_name(),
                       quoted(c->get_description()));
    std::vector<const CLI::Option*> all = c->get_options();
    for (const CLI::App* one : c->get_subcommands({})) {
      out += fmt::format("complete -c hingeline -n '__fish_seen_subcommand_from {}' -a {} -d {}\n",
                         c->get_name(), one->get_name(), quoted(one->get_description()));
      for (const CLI::Option* o : one->get_options()) {
        if (!o->get_positional() && !known_already(all, *o)) all.push_back(o);
      }
    }
    for (const CLI::Option* o : all) {
      const std::string name = o->get_positional() ? o->get_name() : long_name(*o);
      const std::string known = words_for(*o);
      const std::string here =
          fmt::format("complete -c hingeline -n '__fish_seen_subcommand_from {}'", c->get_name());
      if (o->get_positional()) {
        if (!known.empty())
          out += fmt::format("{} -a '{}' -d {}\n", here, known, quoted(o->get_description()));
        continue;
      }
      out += fmt::format("{} -l {} -d {}", here, name.substr(2), quoted(o->get_description()));
      if (o->get_items_expected_max() > 0) out += known.empty() ? " -r" : fmt::format(" -x -a '{}'", known);
      out += "\n";
    }
  }
  return out;
}

}  // namespace

std::string completion_for(const CLI::App& app, const std::string& shell) {
  if (shell == "fish") return for_fish(app);
  const std::string bash = for_bash(app);
  // zsh reads bash's completions through its own bashcompinit.
  return shell == "zsh" ? "autoload -U +X bashcompinit && bashcompinit\n" + bash : bash;
}

}  // namespace hingeline
