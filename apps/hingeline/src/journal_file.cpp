#include "journal_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <utility>

namespace hingeline {
namespace {

tl::unexpected<Error> cannot(const std::string& what, const std::string& path) {
  return fail(Fault::file, fmt::format("{} {}: {}", what, path, std::strerror(errno)), {}, {path, {}, 0, 0});
}

Expected<std::string> whole(int file, const std::string& path) {
  std::string out;
  char buffer[65536];
  for (;;) {
    const ssize_t n = ::read(file, buffer, sizeof buffer);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return cannot("cannot read", path);
    if (n == 0) return out;
    out.append(buffer, static_cast<std::size_t>(n));
    if (out.size() > record::kMostBytes) {
      return fail(Fault::file, "the journal is too long", {}, {path, {}, 0, 0});
    }
  }
}

/// A new file is only there for good when its folder says so.
void keep_folder(const std::string& path) {
  const std::size_t slash = path.rfind('/');
  const std::string folder = slash == std::string::npos ? "." : slash == 0 ? "/" : path.substr(0, slash);
  const int file = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (file < 0) return;
  ::fsync(file);
  ::close(file);
}

}  // namespace

JournalFile::JournalFile(JournalFile&& other) noexcept
    : path_(std::move(other.path_)),
      file_(std::exchange(other.file_, -1)),
      journal_(std::move(other.journal_)) {}
JournalFile::~JournalFile() {
  if (file_ >= 0) ::close(file_);
}

tl::expected<JournalFile, record::Errors> JournalFile::open(const std::string& path,
                                                            const record::Journal& heading) {
  const auto failed = [](Error e) { return tl::unexpected(record::Errors{std::move(e)}); };
  const int file = ::open(path.c_str(), O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC, 0666);
  if (file < 0) return failed(cannot("cannot open", path).value());
  JournalFile out(path, file);
  if (::flock(file, LOCK_EX | LOCK_NB) != 0) {
    return failed({Fault::file,
                   fmt::format("{} is open at another bench", path),
                   "leave it there first",
                   {path, {}, 0, 0}});
  }
  struct stat about {};
  if (::fstat(file, &about) != 0 || !S_ISREG(about.st_mode)) {
    return failed(
        {Fault::file, fmt::format("{} is no plain file", path), "a file for the journal", {path, {}, 0, 0}});
  }
  auto text = whole(file, path);
  if (!text) return failed(std::move(text.error()));
  // A heading cut short by a power failure is no journal yet.
  if (text->find('\n') == std::string::npos && record::journal_heading(heading).rfind(*text, 0) == 0)
    text->clear();
  if (text->empty()) {
    if (::ftruncate(file, 0) != 0) return failed(cannot("cannot write", path).value());
    out.journal_ = heading;
    if (auto wrote = out.write_line(record::journal_heading(heading)); !wrote)
      return failed(std::move(wrote.error()));
    keep_folder(path);
    return out;
  }
  auto journal = record::read_journal(*text, path);
  if (!journal) return tl::unexpected(std::move(journal.error()));
  if (journal->key != heading.key || journal->instrument != heading.instrument ||
      journal->serial != heading.serial) {
    return failed({Fault::content,
                   fmt::format("this is the journal of \"{}\" of \"{}\"", journal->key, journal->instrument),
                   "the journal of this key, or a new file",
                   {path, {}, 1, 1}});
  }
  if (journal->torn && ::ftruncate(file, static_cast<off_t>(journal->sound_bytes)) != 0) {
    return failed(cannot("cannot write", path).value());
  }
  out.journal_ = std::move(*journal);
  return out;
}

Expected<void> JournalFile::write_line(const std::string& line) {
  std::size_t done = 0;
  while (done < line.size()) {
    const ssize_t n = ::write(file_, line.data() + done, line.size() - done);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return cannot("cannot write", path_);
    done += static_cast<std::size_t>(n);
  }
  if (::fsync(file_) != 0) return cannot("cannot keep", path_);
  return {};
}

Expected<void> JournalFile::add(const record::JournalEntry& entry) {
  if (auto wrote = write_line(record::journal_line(entry)); !wrote) return wrote;
  journal_.entries.push_back(entry);
  return {};
}

}  // namespace hingeline
