#include "hingeline/record/journal.h"

#include <fmt/format.h>
#include <algorithm>
#include <array>
#include <charconv>
#include <nlohmann/json.hpp>

#include "json.h"

namespace hingeline::record {
namespace {

constexpr const char* kFormat = "hingeline-journal";
constexpr std::array<const char*, 8> kTold{"answered", "could-not", "waived",      "cured",
                                           "bitten",   "reamed",    "cutter-seen", "booked"};

struct Line {
  int number = 0;
  std::string_view text;
};

/// One line as members, all of them text but for numbers; anything else is an error.
class Reader {
 public:
  Reader(const Line& line, const std::string& file, Errors& errors)
      : line_(line), file_(file), errors_(errors) {
    Errors own;
    node_ = json::parse(line.text, file, own);
    for (Error& e : own) {
      e.place.line = line.number;
      errors_.push_back(std::move(e));
    }
    if (own.empty() && node_.kind != json::Kind::object) {
      fault(fmt::format("a line is {}", json::word(node_.kind)), "an object on every line", 1);
    }
    sound_ = own.empty() && node_.kind == json::Kind::object;
  }

  [[nodiscard]] bool sound() const { return sound_; }
  std::string text(const char* name, bool needed) {
    known_.emplace_back(name);
    const json::Node* n = node_.find(name);
    if (n == nullptr) {
      if (needed) fault(fmt::format("\"{}\" is missing", name), "text", 1);
      return {};
    }
    if (n->kind != json::Kind::string || n->text.size() > kLongestJournalText) {
      fault(
          fmt::format("\"{}\" is {}", name, n->kind == json::Kind::string ? "too long" : json::word(n->kind)),
          fmt::format("text of at most {} bytes", kLongestJournalText), n->column);
      return {};
    }
    return n->text;
  }
  std::uint64_t number(const char* name) {
    known_.emplace_back(name);
    const json::Node* n = node_.find(name);
    std::uint64_t out = 0;
    const char* end = n == nullptr ? nullptr : n->text.data() + n->text.size();
    if (n == nullptr || n->kind != json::Kind::number ||
        std::from_chars(n->text.data(), end, out).ptr != end) {
      fault(fmt::format("\"{}\" is not there or not a whole number", name), "a whole number from 0 up",
            n == nullptr ? 1 : n->column);
      return 0;
    }
    return out;
  }
  void refuse_others() {
    for (const json::Member& m : node_.members) {
      if (std::find(known_.begin(), known_.end(), m.name) == known_.end()) {
        fault(fmt::format("{} is not a member here", json::in_quotes(m.name)),
              "one of " + fmt::format("{}", fmt::join(known_, ", ")), m.column);
      }
    }
  }
  void fault(std::string what, std::string expected, int column, Fault kind = Fault::content) {
    errors_.push_back({kind, std::move(what), std::move(expected), {file_, "", line_.number, column}});
  }

 private:
  Line line_;
  std::string file_;
  Errors& errors_;
  json::Node node_;
  std::vector<std::string> known_;
  bool sound_ = false;
};

}  // namespace

tl::expected<Journal, Errors> read_journal(std::string_view text, const std::string& file) {
  Errors errors;
  Journal out;
  if (text.size() > kMostBytes) {
    errors.push_back({Fault::content,
                      "the journal is too long",
                      fmt::format("at most {} bytes", kMostBytes),
                      {file, "", 0, 0}});
    return tl::unexpected(std::move(errors));
  }
  std::vector<Line> lines;
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    if (end == std::string_view::npos) {
      // Every line was written with its newline: this one was cut short.
      out.torn = true;
      break;
    }
    lines.push_back({static_cast<int>(lines.size()) + 1, text.substr(0, end)});
    out.sound_bytes += end + 1;
    text.remove_prefix(end + 1);
  }
  if (lines.empty()) {
    errors.push_back({Fault::syntax, "the journal has no heading", "its first line", {file, "", 1, 1}});
    return tl::unexpected(std::move(errors));
  }
  Reader heading(lines.front(), file, errors);
  if (heading.sound()) {
    const std::string format = heading.text("format", true);
    if (format != kFormat) {
      heading.fault(fmt::format("\"format\" is {}", json::in_quotes(format)), fmt::format("\"{}\"", kFormat),
                    1);
      return tl::unexpected(std::move(errors));
    }
    const std::uint64_t version = heading.number("version");
    if (version > static_cast<std::uint64_t>(kVersion)) {
      heading.fault(fmt::format("the journal is of version {}", version),
                    fmt::format("version {} or older, or a newer program", kVersion), 1, Fault::version);
      return tl::unexpected(std::move(errors));
    }
    out.instrument = heading.text("instrument", true);
    out.serial = heading.text("serial", false);
    out.key = heading.text("key", true);
    out.complaint = heading.text("complaint", false);
    out.seed = heading.number("seed");
    heading.refuse_others();
  }
  for (std::size_t k = 1; k < lines.size() && errors.size() < kMostErrors; ++k) {
    Reader line(lines[k], file, errors);
    if (!line.sound()) continue;
    JournalEntry e;
    e.told = line.text("told", true);
    e.of = line.text("of", false);
    e.as = line.text("as", false);
    e.end = line.text("end", false);
    e.when = line.text("when", false);
    line.refuse_others();
    if (std::find(kTold.begin(), kTold.end(), e.told) == kTold.end()) {
      line.fault(fmt::format("\"told\" is {}", json::in_quotes(e.told)),
                 fmt::format("one of {}", fmt::join(kTold, ", ")), 1);
    }
    if (!e.end.empty() && e.end != "upper" && e.end != "lower") {
      line.fault(fmt::format("\"end\" is {}", json::in_quotes(e.end)), "upper or lower", 1);
    }
    out.entries.push_back(std::move(e));
  }
  if (!errors.empty()) return tl::unexpected(std::move(errors));
  return out;
}

std::string journal_heading(const Journal& j) {
  nlohmann::ordered_json out;
  out["format"] = kFormat;
  out["version"] = kVersion;
  out["instrument"] = j.instrument;
  if (!j.serial.empty()) out["serial"] = j.serial;
  out["key"] = j.key;
  if (!j.complaint.empty()) out["complaint"] = j.complaint;
  out["seed"] = j.seed;
  return out.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

std::string journal_line(const JournalEntry& e) {
  nlohmann::ordered_json out;
  out["told"] = e.told;
  for (const auto& [name, text] :
       {std::pair{"of", &e.of}, {"as", &e.as}, {"end", &e.end}, {"when", &e.when}}) {
    if (!text->empty()) out[name] = *text;
  }
  return out.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

}  // namespace hingeline::record
