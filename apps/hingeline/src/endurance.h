#pragma once
/// \file
/// The endurance rig and the wear of fits from the command line.

#include <string>
#include <vector>

#include "hingeline/record/document.h"
#include "hingeline/service/wear.h"
#include "terminal.h"

namespace hingeline {

struct RigAsked {
  std::string file;
  std::string start;  ///< rate
  bool pause = false;
  std::string rate;
  std::vector<std::string> inspect;  ///< SPECIMEN=FINDING
  std::string note;
  std::string at;  ///< empty: now
  bool watch = false;
  bool json = false;
};
/// Does what was asked at the rig, keeps the document, and gives what is to be printed: how it stands now.
/// The only place that asks the clock for it. With `watch` it prints the counter each second until it is
/// interrupted.
tl::expected<std::string, record::Errors> rig_command(const RigAsked& asked, const Terminal& terminal);

/// All keys as a table, or one with how it came about.
std::string wear_sheet(const service::WearResult& result, const std::string& only_key, LengthUnit unit,
                       const Terminal& terminal);

/// "2026-11-25", by this place's clock.
std::string day_of_today();

}  // namespace hingeline
