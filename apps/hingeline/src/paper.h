#pragma once
/// \file
/// Papers from documents: one, or one of each of many.

#include <string>
#include <vector>

#include "hingeline/record/document.h"
#include "hingeline/service/papers.h"

namespace hingeline {

/// As typed.
struct PaperLine {
  std::string kind;
  std::vector<std::string> files;
  std::string shop;
  std::string key;
  bool each_key = false;
  std::string output;
  std::string folder;
  std::string language = "en";
  std::string sheet;  ///< empty: each shop's
  std::string ledger;
  std::string unit;  ///< empty: each document's own
  std::string day;   ///< empty: today
  std::string before;
  std::vector<std::string> done;
  std::string owner;
  std::string complaint;
  std::string came;
  std::string promised;
  std::string code;
  double scale = 0;
  bool answers = false;
  std::string minutes;
  std::string money;
  bool quick = false;
  unsigned threads = 0;
};

/// What was made: bytes for standard output, or files that were written.
struct PapersMade {
  std::string bytes;
  std::vector<std::string> files;
  std::size_t pages = 0;
};

/// All pages go into one file (--output, or standard output), or each document's into one of its own
/// (--folder). With --each-key a paper for every key that can be worked out. Progress on standard error.
tl::expected<PapersMade, record::Errors> make_papers(const PaperLine& line);

}  // namespace hingeline
