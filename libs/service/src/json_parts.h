#pragma once
/// \file
/// What all JSON of the service shares.

#include <nlohmann/json.hpp>
#include <string>

#include "hingeline/base/quantity.h"
#include "hingeline/belief/inquiry.h"
#include "hingeline/plan/plan.h"

namespace hingeline::service {

/// Keeps members in the order they are said.
using Json = nlohmann::ordered_json;

/// Six decimals, so that no machine's last bit shows; null for what does not apply.
Json number(double v);
inline Json number(Length l) { return number(l.raw()); }

/// "seat-cut": as a ledger and a program say it.
const char* code(plan::Operation op);

/// What an answer says of a cause, in codes beside its sentence: {"check", "answer" (its word) or "value"
/// (mm)}.
Json answer_of(const belief::Evidence& evidence);
/// What stands before a cut: [{"cause", "share", "checks"}].
Json list_of(const std::vector<belief::Barrier>& barriers);

/// Two spaces of indent, bytes that are not UTF-8 replaced, newline at the end.
std::string text_of(const Json& json);

}  // namespace hingeline::service
