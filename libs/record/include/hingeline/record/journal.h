#pragma once
/// \file
/// The journal of one key being worked on: what was asked and told, one line for each, as it was typed. Lines
/// are only ever added. A line cut short by a power failure is the last one, and counts as never told.
///
/// Form: JSON Lines. The first line is the heading, every other one an entry.

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/record/document.h"

namespace hingeline::record {

/// What one line tells.
struct JournalEntry {
  std::string told;  ///< "answered", "could-not", "waived", "cured", "bitten", "reamed", "cutter-seen"
  std::string of;    ///< code of the check, cause or cure; empty where there is none
  std::string as;    ///< the answer or amount as typed, with its unit; the reason of a waiver
  std::string end;   ///< "upper", "lower", or empty
  std::string when;  ///< ISO 8601 with offset, as the bench's clock said; may be empty
  friend bool operator==(const JournalEntry&, const JournalEntry&) = default;
};

struct Journal {
  std::string instrument;  ///< title of the document
  std::string serial;
  std::string key;        ///< id of the key in it
  std::string complaint;  ///< "loose", ...; empty: none was told
  std::uint64_t seed = 1;
  std::vector<JournalEntry> entries;
  bool torn = false;            ///< the last line was cut short and is left out
  std::size_t sound_bytes = 0;  ///< of the text, before a line that was cut short
  friend bool operator==(const Journal&, const Journal&) = default;
};

inline constexpr std::size_t kLongestJournalText = 400;  ///< bytes, of each text of an entry

/// Reads a journal. Fault::syntax, content and version as for the documents, each with its line.
tl::expected<Journal, Errors> read_journal(std::string_view text, const std::string& file);
/// The first line of a journal, with its newline.
std::string journal_heading(const Journal& journal);
/// One line of it, with its newline.
std::string journal_line(const JournalEntry& entry);

}  // namespace hingeline::record
