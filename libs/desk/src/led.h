#pragma once
/// \file
/// Codes under which what was told to the guide stands in the book.

namespace hingeline::desk {

/// Operations; every other one is a cure's, or a step's of a plan.
inline constexpr const char* kBite = "seat-cut";
inline constexpr const char* kReam = "ream";
inline constexpr const char* kCutterSeen = "see-cutter";
/// The answer to a check that could not be done.
inline constexpr const char* kCannot = "cannot";

}  // namespace hingeline::desk
