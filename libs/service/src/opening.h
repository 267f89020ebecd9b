#pragma once
/// \file
/// How far a pad opens: one figure that a document may say in either of two places.

#include <optional>
#include <string>

#include "hingeline/service/worked.h"

namespace hingeline::service {

/// The opening of a pad that stands open at rest, at its centre, mm: the key's "opening". It is also how far
/// the pad has to go until it seats, so the "travel" of the key's "moving" stands in where "opening" is not
/// known; the name then says so. Nothing where neither is known, or where the key is written down as standing
/// closed and has no "opening": its travel is what it opens when pressed, not how it rests.
std::optional<Given> opening_at_rest(const std::string& name, const record::Key& key,
                                     const record::Shop& shop);

/// How far the pad moves at its centre between rest and pressed, mm: the "travel" of the key's "moving". For
/// a key that stands open its "opening" stands in where "travel" is not known (unless it is 0: such a pad
/// does not move); the name then says so. The key has a pad.
std::optional<Given> travel_at_pad(const std::string& name, const record::Key& key, const record::Shop& shop);

}  // namespace hingeline::service
