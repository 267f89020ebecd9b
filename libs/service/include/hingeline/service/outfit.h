#pragma once
/// \file
/// Owning the right tools: which sizes of cutters, reamers and rods the screws and tubes met so far ask for,
/// what of them the shop owns, and what the next size bought would bring.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/choice/cover.h"
#include "hingeline/record/ledger.h"
#include "hingeline/service/bench.h"

namespace hingeline::service {

enum class ToolKind { cutter, reamer, rod };
/// "cutter", "reamer", "rod"; what each is chosen by: "head", "taper", "bore".
const char* word(ToolKind kind);
const char* demand_word(ToolKind kind);

/// Something met that a tool has to fit.
struct Met {
  Length size;                      ///< head, bore; of a taper its wide end
  std::optional<Angle> half_angle;  ///< taper
  Length narrow;                    ///< taper: its narrow end
  std::int64_t count = 0;           ///< how often
  std::vector<std::string> where;   ///< "Demonstration alto saxophone: low-c", at most a few, and the ledger
};

/// A tool owned or on offer.
struct ToolAt {
  std::string name;  ///< of one on offer: its size
  Length size;       ///< diameter; of a reamer its large end
  std::optional<Angle> half_angle;
  Length narrow;
  choice::Tool tool;
};

/// One kind of tool.
struct KindOfTool {
  ToolKind kind = ToolKind::cutter;
  std::vector<Met> met;       ///< smallest first
  std::vector<ToolAt> tools;  ///< owned ones first
  bool uses_known = false;    ///< the ledger counts them
  choice::Cover cover;
};

struct OutfitResult {
  std::string title;  ///< of the shop
  std::string currency;
  std::size_t instruments = 0;
  std::size_t jobs = 0;
  std::vector<KindOfTool> kinds;  ///< cutters, reamers, rods
  std::vector<std::string> notes;
};

/// What was met: heads of headed screws and cones of key ends in the instruments, else of their patterns;
/// bores of rod hinges and stacks; in the ledger heads measured, else those of the job's pattern. A cutter
/// serves a head by the shop's limits over and under, a reamer a cone whose half angle is within
/// "taper_match" and that it spans, a rod a bore with the clearance of the shop's class of fit. Sizes met are
/// counted by 0.01 mm (tapers 0.1 mm and half a degree).
Expected<OutfitResult> outfit_of(const record::Shop& shop, const std::vector<record::Instrument>& instruments,
                                 const record::Ledger* ledger);

/// "4.00 mm", "20.0°, 0.8 to 2.0 mm".
std::string show(const Met& met, LengthUnit unit);
/// What to buy, what is worn, spare or never used, in sentences.
std::vector<std::string> tell(const KindOfTool& kind, const OutfitResult& result, LengthUnit unit);
/// Lengths in mm, angles in degrees.
std::string to_json(const OutfitResult& result);

}  // namespace hingeline::service
