#pragma once
/// \file
/// Documents on disk: the only place that opens a file.

#include <filesystem>
#include <string>

#include "hingeline/record/document.h"

namespace hingeline {

/// The whole file; "-" is standard input. Fault::file with the system's word for what went wrong, also for
/// files larger than a document may be.
Expected<std::string> read_file(const std::string& path);
/// Writes the whole file or nothing: into a neighbour first, then renamed.
Expected<void> write_file(const std::filesystem::path& path, const std::string& text);
/// The same, and on the disk when it returns: pull the plug at any time, and the old file or the new one is
/// there.
Expected<void> keep_file(const std::filesystem::path& path, const std::string& text);

/// Keeps other runs of this program from changing the file in between: held from open to destruction.
class FileLock {
 public:
  /// Waits for its turn. Fault::file when there is no such file.
  static Expected<FileLock> of(const std::string& path);
  FileLock(FileLock&& other) noexcept : file_(other.file_) { other.file_ = -1; }
  ~FileLock();
  FileLock(const FileLock&) = delete;
  FileLock& operator=(const FileLock&) = delete;
  FileLock& operator=(FileLock&&) = delete;

 private:
  explicit FileLock(int file) : file_(file) {}
  int file_;
};
Expected<void> make_folder(const std::filesystem::path& path);

/// An instrument with the shop it is to be worked in.
struct Bench {
  record::Instrument instrument;
  record::Shop shop;
};
/// The instrument of this text, read from `path`, and its shop: `shop_path` when not empty, else what the
/// instrument names (relative to its own folder, or to the working folder from standard input), else the
/// general figures. Names that the shop does not have are errors.
tl::expected<Bench, record::Errors> bench_of(const std::string& text, const std::string& path,
                                             const std::string& shop_path);
/// The same with the instrument read from the file.
tl::expected<Bench, record::Errors> read_bench(const std::string& path, const std::string& shop_path);

}  // namespace hingeline
