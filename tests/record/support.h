#pragma once
/// \file
/// What the tests of the documents share.

#include <cstdint>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/record/document.h"
#include "hingeline/record/ledger.h"
#include "hingeline/record/rig.h"

namespace hingeline::record::samples {

/// Keeps members in the order of the text.
using Json = nlohmann::ordered_json;

/// A file of the source tree; fails the test when it is not there.
std::string file_text(const std::string& path_in_source);

/// Whether the published schema (a file of the source tree) takes each of the documents, as
/// python3-jsonschema says.
std::vector<bool> schema_takes(const std::string& schema, const std::vector<Json>& documents);

/// Valid documents in which every member the formats know stands at least once.
const std::string& full_instrument();
const std::string& full_shop();
const std::string& full_ledger();
const std::string& full_rig();
/// The least there can be: one key on two conical points.
const std::string& small_instrument();
const std::string& small_shop();
const std::string& small_ledger();
const std::string& small_rig();

/// The errors of a document of that format; none when it was read.
Errors errors_of(Format format, std::string_view text, const std::string& file = "d.json");

/// All errors as lines, for a failing test to show.
std::string shown(const Errors& errors);

/// What is wrong with the form of errors (of a document read as d.json): no place, nothing expected, a
/// description that is empty, of several lines, or no clean UTF-8. Empty when all is well.
std::string faults_of_form(const Errors& errors, std::string_view text);

/// Well-formed UTF-8 (RFC 3629, table of section 4) without control characters.
bool is_clean_utf8(std::string_view text);

/// A valid document drawn from the seed: numbers of any exactness, all units, repeats, ranges, unknowns,
/// every shape.
Json made_instrument(std::uint64_t seed);
Json made_shop(std::uint64_t seed);
Json made_ledger(std::uint64_t seed);
Json made_rig(std::uint64_t seed);

}  // namespace hingeline::record::samples
