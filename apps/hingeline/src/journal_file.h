#pragma once
/// \file
/// A journal on disk: one bench at a time, every line safe before the next is asked for.

#include <string>

#include "hingeline/record/journal.h"

namespace hingeline {

class JournalFile {
 public:
  /// Opens the journal or begins it with this heading. Fault::file where it cannot be opened or another
  /// program has it open; Fault::content where it is of another key. A line that was cut short is taken out.
  static tl::expected<JournalFile, record::Errors> open(const std::string& path,
                                                        const record::Journal& heading);
  JournalFile(JournalFile&& other) noexcept;
  JournalFile& operator=(JournalFile&&) = delete;
  JournalFile(const JournalFile&) = delete;
  ~JournalFile();

  [[nodiscard]] const record::Journal& journal() const { return journal_; }
  /// Adds a line and returns when it is on the disk. Fault::file when it is not.
  Expected<void> add(const record::JournalEntry& entry);

 private:
  JournalFile(std::string path, int file) : path_(std::move(path)), file_(file) {}
  Expected<void> write_line(const std::string& line);

  std::string path_;
  int file_ = -1;
  record::Journal journal_;
};

}  // namespace hingeline
