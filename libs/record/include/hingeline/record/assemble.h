#pragma once
/// \file
/// Documents taken apart into slips, and put together from them.

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/record/slip.h"

namespace hingeline::record {

/// What every slip of one writing has alike, and where new ids come from: each later than the one before.
struct SlipMaking {
  std::function<std::string()> next_id;
  std::string at;  ///< ISO 8601 with offset
  std::string by;
};

/// A thing with what it says now.
struct ThingSlip {
  std::string thing;
  Slip slip;
};

/// What makes up one instrument document. Struck slips are not among them.
struct InstrumentParts {
  Slip instrument;
  std::vector<ThingSlip> keys;
  std::vector<ThingSlip> readings;
};
/// The document: the instrument's, its keys in their order, and in each the readings, a later one over an
/// earlier one (by the things' ids). A reading's pointer may end in "-" to stand at the end of a list
/// (RFC 6901, 4). The errors of the document that comes out, whose places are in that document's text; or of
/// a pointer that leads nowhere.
tl::expected<std::string, Errors> instrument_document(const InstrumentParts& parts);

/// A document as slips: first the instrument, then its keys and, where it has any, a visit on that day with
/// what was read. `owner`: id of a thing, may be empty. The errors of the document. Put together again it
/// says the same.
tl::expected<std::vector<Slip>, Errors> instrument_slips(std::string_view document, const std::string& file,
                                                         const std::string& owner, const std::string& day,
                                                         const SlipMaking& making);

struct ShopParts {
  Slip shop;
  std::vector<ThingSlip> tools;
  std::vector<ThingSlip> patterns;
  std::vector<ThingSlip> presets;
};
/// The shop document alike: tools and patterns in the order of their things' ids, presets set where they say.
tl::expected<std::string, Errors> shop_document(const ShopParts& parts);
tl::expected<std::vector<Slip>, Errors> shop_slips(std::string_view document, const std::string& file,
                                                   const SlipMaking& making);

}  // namespace hingeline::record
