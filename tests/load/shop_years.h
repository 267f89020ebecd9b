#pragma once
/// \file
/// A book as a shop has it after years: made up, the same for the same numbers, in bulk. And the questions
/// that are asked of it.

#include <cstdint>
#include <string>
#include <vector>

#include "hingeline/store/archive.h"
#include "hingeline/store/book.h"

namespace hingeline::load {

struct YearsAsked {
  std::int64_t visits = 50'000;
  std::int64_t readings = 20;  ///< of a visit
  std::string examples;        ///< folder with saxophone.json, whose first keys all instruments here have
  std::uint64_t seed = 1;
};

/// Fills an empty book: owners with one or two instruments of six keys each, about three visits of each
/// instrument over ten years up to 26 November 2026, readings, work done and notes of each visit. All but the
/// last visits are handed back. Throws std::runtime_error where the book does not take it.
store::Archived fill_years(store::Book& book, const YearsAsked& asked);

/// The made-up owner of that number, from 0: "Fern Hazel 00042 Example".
std::string owner_name(std::int64_t nth);
/// The serial of the made-up instrument of that number, from 0.
std::string serial(std::int64_t nth);
/// How many instruments and owners so many visits are of.
std::int64_t instruments_of(std::int64_t visits);
std::int64_t owners_of(std::int64_t visits);
/// One kind of question, with the paths asked for in turn.
struct Questions {
  std::string what;  ///< "a list by state", ...
  std::vector<std::string> paths;
};
/// Lists and searches of all kinds, and visits to open: 300 of each. `visits`, `owners`: ids of some.
std::vector<Questions> questions(const YearsAsked& asked, const std::vector<std::string>& visits,
                                 const std::vector<std::string>& owners);

}  // namespace hingeline::load
