#include "hingeline/record/rig.h"

#include <fmt/format.h>

#include <map>

#include "check.h"

namespace hingeline::record {

const char* word(RigFinding v) {
  switch (v) {
    case RigFinding::fine:
      return "fine";
    case RigFinding::failed:
      return "failed";
    case RigFinding::out:
      break;
  }
  return "out";
}

void check(const Rig& rig, Errors& errors) {
  const auto say = [&](const Where& where, std::string what, std::string expected) {
    errors.push_back(Error{Fault::content, std::move(what), std::move(expected), where});
  };
  std::map<std::string, int> first_line;
  for (const RigSpecimen& s : rig.specimens) {
    const auto [at, is_new] = first_line.emplace(s.id, s.place.line);
    if (!is_new) {
      say(s.place, fmt::format("two specimens are called \"{}\"; the first is on line {}", s.id, at->second),
          "an id of its own");
    }
  }
  for (const RigInspection& i : rig.inspections) {
    if (!first_line.contains(i.specimen.text)) {
      say(i.specimen.place, fmt::format("there is no specimen \"{}\"", i.specimen.text),
          "the id of one under \"specimens\"");
    }
  }
  if (rig.confidence.known() && !(rig.confidence.value >= 0.5 && rig.confidence.value < 1))
    say(rig.confidence.place, "a confidence that says nothing, or everything", "0.5 or more, below 1");
}

}  // namespace hingeline::record
