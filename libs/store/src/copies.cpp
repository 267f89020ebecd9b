#include "hingeline/store/copies.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <memory>

#include "disk.h"
#include "hingeline/store/look.h"
#include "hingeline/store/sha256.h"
#include "inside.h"

namespace hingeline::store {
namespace {

namespace fs = std::filesystem;

/// What a copy is called until it is proven; no name of a copy ends so.
constexpr std::string_view kUnproven = ".unproven";
/// What stands beside a database's copy: its SHA-256, as sha256sum of the GNU coreutils writes and checks it.
constexpr std::string_view kSumEnding = ".sha256";
constexpr std::size_t kSumSize = 64;

struct CloseFile {
  void operator()(std::FILE* file) const { std::fclose(file); }  // NOLINT(cert-err33-c): seen to before
};
using File = std::unique_ptr<std::FILE, CloseFile>;

Expected<File> opened_for_reading(const std::string& path) {
  std::error_code unknown;
  if (fs::is_directory(path, unknown)) return disk_error(path, "read", EISDIR);
  File file(std::fopen(path.c_str(), "rb"));
  if (!file) return disk_error(path, "read", errno);
  return file;
}

/// Keeps others that copy into the same folder waiting.
class FolderLock {
 public:
  static Expected<FolderLock> of(const std::string& folder) {
    const int file = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (file < 0) return disk_error(folder, "read", errno);
    FolderLock lock(file);
    while (::flock(file, LOCK_EX) != 0) {
      if (errno != EINTR) return disk_error(folder, "locked", errno);
    }
    return lock;
  }
  FolderLock(FolderLock&& other) noexcept : file_(std::exchange(other.file_, -1)) {}
  ~FolderLock() {
    if (file_ >= 0) ::close(file_);
  }
  FolderLock(const FolderLock&) = delete;
  FolderLock& operator=(const FolderLock&) = delete;
  FolderLock& operator=(FolderLock&&) = delete;

 private:
  explicit FolderLock(int file) : file_(file) {}
  int file_;
};

/// Takes a database away that did not become what it was made for.
class Scratch {
 public:
  explicit Scratch(std::string path) : path_(std::move(path)) { remove_database(path_); }
  ~Scratch() { remove_database(path_); }
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  std::string path_;
};

/// A name for the book, out of letters that every file system takes.
std::string book_name(const sql::Address& address) {
  std::string name;
  if (address.dialect() == sql::Dialect::sqlite) {
    name = fs::path(address.text).stem().string();
  } else {
    const std::string place = address.text.substr(0, address.text.find('?'));
    const std::size_t slash = place.rfind('/');
    // Nothing of a password that should have been escaped.
    if (slash > place.find("://") + 2 && place.find('@', slash) == std::string::npos)
      name = place.substr(slash + 1);
  }
  for (char& c : name) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
    if (!plain) c = '_';
  }
  return name.empty() ? "book" : name;
}

/// A SQLite file as one file, without a log beside it, on the disk.
Expected<void> settle_file(const std::string& path) {
  {
    auto database = sql::open({path});
    if (!database) return tl::unexpected(sql::as_error(database.error()));
    if (const auto settled = (*database)->run("pragma journal_mode = delete"); !settled)
      return tl::unexpected(sql::as_error(settled.error()));
  }
  return sync_file(path);
}

/// Opens a SQLite book as it is, sees whether it is sound and reads all of it twice.
Expected<Proven> prove_file(const std::string& path, const Step& step) {
  Proven out;
  for (const bool first : {true, false}) {
    // Opened anew: the second reading asks the disk's copy again, not what the first has kept.
    auto book = open_as_it_is({path});
    if (!book) return tl::unexpected(book.error());
    if (first) {
      if (auto sound = (*book)->check(); !sound) return tl::unexpected(sound.error());
    }
    const auto archive = first ? checked_sum_of(**book, step) : sum_of(**book);
    if (!archive) return tl::unexpected(archive.error());
    const auto counts = (*book)->counts();
    if (!counts) return tl::unexpected(counts.error());
    const auto form = form_of_book(**book);
    if (!form) return tl::unexpected(form.error());
    if (!first && *archive != out.archive)
      return fail(Fault::file, "read twice it does not say the same", "a sound disk", {path, {}, 0, 0});
    if (counts->slips != archive->slips || counts->waiting != archive->waiting)
      return fail(Fault::file, "it does not hold as many slips as it says", "a sound copy", {path, {}, 0, 0});
    out = {*archive, *form};
  }
  return out;
}

enum class Kind { database, archive };
Expected<Kind> kind_of(const std::string& path) {
  constexpr std::string_view kDatabase{"SQLite format 3\0", 16};
  constexpr std::string_view kArchive = "{\"format\":\"hingeline-archive\"";
  std::error_code unknown;
  if (fs::is_directory(path, unknown)) return disk_error(path, "read", EISDIR);
  const File file(std::fopen(path.c_str(), "rb"));
  if (!file) return disk_error(path, "read", errno);
  std::string begin(kArchive.size(), '\0');
  begin.resize(std::fread(begin.data(), 1, begin.size(), file.get()));
  if (begin.starts_with(kDatabase)) return Kind::database;
  if (begin == kArchive) return Kind::archive;
  return fail(Fault::file, "this is neither a copy of a book nor an archive",
              "a file that \"book copy\" or \"book write-out\" made", {path, {}, 0, 0});
}

Expected<std::string> sum_of_file(const std::string& path) {
  const auto file = opened_for_reading(path);
  if (!file) return tl::unexpected(file.error());
  Sha256 sum;
  std::string piece(1U << 16U, '\0');
  while (const std::size_t size = std::fread(piece.data(), 1, piece.size(), file->get()))
    sum.add(std::string_view(piece).substr(0, size));
  if (std::ferror(file->get()) != 0) return disk_error(path, "read", errno);
  return sum.hex();
}

/// A database does not see every byte that was changed: its copy's sum stands beside it.
Expected<void> note_sum(const std::string& of, const std::string& copy) {
  const auto sum = sum_of_file(of);
  if (!sum) return tl::unexpected(sum.error());
  const std::string path = copy + std::string(kSumEnding);
  File file(std::fopen(path.c_str(), "wb"));
  const std::string text = fmt::format("{}  {}\n", *sum, fs::path(copy).filename().string());
  const bool wrote = file && std::fwrite(text.data(), 1, text.size(), file.get()) == text.size() &&
                     std::fflush(file.get()) == 0 && ::fsync(::fileno(file.get())) == 0;
  if (!wrote) return disk_error(path, "written", errno);
  return {};
}

/// Where a sum stands beside it, the file has that sum.
Expected<void> hold_to_sum(const std::string& path) {
  const std::string beside = path + std::string(kSumEnding);
  if (!is_there(beside)) return {};
  const auto file = opened_for_reading(beside);
  if (!file) return tl::unexpected(file.error());
  std::string noted(kSumSize, '\0');
  noted.resize(std::fread(noted.data(), 1, noted.size(), file->get()));
  const auto sum = sum_of_file(path);
  if (!sum) return tl::unexpected(sum.error());
  if (*sum != noted)
    return fail(Fault::file, "the copy was changed or is damaged: its sum is another", "another copy",
                {path, {}, 0, 0});
  return {};
}

/// What a program that was stopped has left behind. Nobody else works on the folder meanwhile.
void tidy(const std::string& folder) {
  std::error_code unknown;
  std::vector<fs::path> left;
  for (const auto& entry : fs::directory_iterator(folder, unknown)) {
    const std::string name = entry.path().filename().string();
    const std::size_t end = name.find(kUnproven);
    if (end != std::string::npos && copy_name_of(name.substr(0, end))) left.push_back(entry.path());
    // A sum is noted before its copy gets its name.
    if (!name.ends_with(kSumEnding)) continue;
    const std::string copy = name.substr(0, name.size() - kSumEnding.size());
    if (copy_name_of(copy) && !is_there((fs::path(folder) / copy).string())) left.push_back(entry.path());
  }
  for (const fs::path& path : left) fs::remove(path, unknown);
}

Expected<Proven> copy_database(const sql::Address& from, const std::string& to, const Step& step) {
  const Scratch scratch(to + std::string(kUnproven));
  {
    auto book = open_as_it_is(from);
    if (!book) return tl::unexpected(book.error());
    if (auto copied = (*book)->copy_to(scratch.path()); !copied) return tl::unexpected(copied.error());
  }
  if (auto settled = settle_file(scratch.path()); !settled) return tl::unexpected(settled.error());
  auto proven = prove_file(scratch.path(), step);
  if (!proven) return proven;
  if (auto noted = note_sum(scratch.path(), to); !noted) return tl::unexpected(noted.error());
  if (auto named = name_anew(scratch.path(), to); !named) return tl::unexpected(named.error());
  return proven;
}

Expected<Proven> copy_archive(const sql::Address& from, const std::string& to, const Step& step) {
  const std::string unproven = to + std::string(kUnproven);
  ::unlink(unproven.c_str());
  auto proven = [&]() -> Expected<Proven> {
    auto book = open_as_it_is(from);
    if (!book) return tl::unexpected(book.error());
    if (auto sound = (*book)->check(); !sound) return tl::unexpected(sound.error());
    const auto form = form_of_book(**book);
    if (!form) return tl::unexpected(form.error());
    const auto written = write_archive_file(**book, unproven, step);
    if (!written) return tl::unexpected(written.error());
    const auto read = check_archive_file(unproven);
    if (!read) return tl::unexpected(read.error());
    if (*read != *written)
      return fail(Fault::file, "read back it does not say the same", "a sound disk", {unproven, {}, 0, 0});
    if (auto named = name_anew(unproven, to); !named) return tl::unexpected(named.error());
    return Proven{*read, *form};
  }();
  ::unlink(unproven.c_str());
  return proven;
}

/// Sets a book's file aside, with what may stand beside it.
Expected<std::string> set_aside(const std::string& path, Moment at) {
  if (is_there(path)) {
    // What is still in its log goes into it, where it can be opened at all.
    auto old = sql::open({path});
    if (old) {
      const auto rows = (*old)->run("pragma wal_checkpoint(truncate)");
      if (rows && !rows->empty() && std::get<std::int64_t>(rows->front().front()) != 0)
        return fail(Fault::file, "others are at work in this book", "to end the programs that have it open",
                    {path, {}, 0, 0});
    }
  }
  std::string stamp = iso_text(at, {});
  std::erase_if(stamp, [](char c) { return c == '-' || c == ':'; });
  std::string to = fmt::format("{}.aside-{}", path, stamp);
  for (int n = 2; is_there(to); ++n) to = fmt::format("{}.aside-{}-{}", path, stamp, n);
  if (is_there(path)) {
    if (auto named = name_anew(path, to); !named) return tl::unexpected(named.error());
  }
  for (const char* ending : kBeside) {
    if (!is_there(path + ending)) continue;
    if (auto named = name_anew(path + ending, to + ending); !named) return tl::unexpected(named.error());
  }
  return to;
}

Expected<Restored> restore_file(const std::string& copy, Kind kind, const std::string& to,
                                const std::optional<Moment>& aside, const Step& step) {
  const bool taken = is_there(to) || std::any_of(std::begin(kBeside), std::end(kBeside),
                                                 [&](const char* ending) { return is_there(to + ending); });
  if (taken && !aside)
    return fail(Fault::file, "there is something already", "a new place, or to have it set aside",
                {to, {}, 0, 0});
  const Scratch scratch(fmt::format("{}.{}{}", to, ::getpid(), kUnproven));
  Archived expected;
  if (kind == Kind::database) {
    auto book = open_as_it_is({copy});
    if (!book) return tl::unexpected(book.error());
    const auto sum = sum_of(**book, step);
    if (!sum) return tl::unexpected(sum.error());
    expected = *sum;
    if (auto copied = (*book)->copy_to(scratch.path()); !copied) return tl::unexpected(copied.error());
  } else {
    auto book = Book::open({scratch.path()});
    if (!book) return tl::unexpected(book.error());
    const auto read = read_archive_file(**book, copy, step);
    if (!read) return tl::unexpected(read.error());
    expected = *read;
  }
  if (auto settled = settle_file(scratch.path()); !settled) return tl::unexpected(settled.error());
  Restored out;
  const auto proven = prove_file(scratch.path(), {});
  if (!proven) return tl::unexpected(proven.error());
  if (proven->archive != expected)
    return fail(Fault::file, "what was brought back is not what the copy holds", "a sound disk",
                {to, {}, 0, 0});
  out.copy = *proven;
  if (taken) {
    auto old = set_aside(to, *aside);
    if (!old) return tl::unexpected(old.error());
    out.aside = std::move(*old);
  }
  if (auto named = name_anew(scratch.path(), to); !named) return tl::unexpected(named.error());
  return out;
}

Expected<Restored> restore_server(const std::string& copy, Kind kind, const sql::Address& to,
                                  const Step& step) {
  auto book = Book::open(to);
  if (!book) return tl::unexpected(book.error());
  Restored out;
  out.copy.form = newest_form();
  if (kind == Kind::database) {
    auto from = open_as_it_is({copy});
    if (!from) return tl::unexpected(from.error());
    const auto moved = move_book(**from, **book, step);
    if (!moved) return tl::unexpected(moved.error());
    out.copy.archive = moved->archive;
  } else {
    const auto read = read_archive_file(**book, copy, step);
    if (!read) return tl::unexpected(read.error());
    out.copy.archive = *read;
  }
  if (auto sound = (*book)->check(); !sound) return tl::unexpected(sound.error());
  return out;
}

Source source_of(std::FILE* file, const std::string& path) {
  return [file, path](std::span<char> into) -> Expected<std::size_t> {
    const std::size_t size = std::fread(into.data(), 1, into.size(), file);
    if (size == 0 && std::ferror(file) != 0) return disk_error(path, "read", errno);
    return size;
  };
}

}  // namespace

Expected<Archived> write_archive_file(Book& book, const std::string& path, const Step& step) {
  if (is_there(path)) return disk_error(path, "made", EEXIST);
  const std::string part = fmt::format("{}.{}.part", path, ::getpid());
  File file(std::fopen(part.c_str(), "wb"));
  if (!file) return disk_error(path, "written", errno);
  auto written = write_archive(
      book,
      [&](std::string_view piece) -> Expected<void> {
        if (std::fwrite(piece.data(), 1, piece.size(), file.get()) != piece.size())
          return disk_error(path, "written", errno);
        return {};
      },
      step);
  if (written && (std::fflush(file.get()) != 0 || ::fsync(::fileno(file.get())) != 0))
    written = disk_error(path, "written", errno);
  file.reset();
  if (written) {
    if (auto named = name_anew(part, path); !named) written = tl::unexpected(named.error());
  }
  ::unlink(part.c_str());
  return written;
}

Expected<Archived> read_archive_file(Book& into, const std::string& path, const Step& step) {
  const auto file = opened_for_reading(path);
  if (!file) return tl::unexpected(file.error());
  return read_archive(into, source_of(file->get(), path), path, step);
}

Expected<Archived> check_archive_file(const std::string& path, const Step& step) {
  const auto file = opened_for_reading(path);
  if (!file) return tl::unexpected(file.error());
  return check_archive(source_of(file->get(), path), path, step);
}

Expected<std::vector<Copy>> copies_in(const std::string& folder) {
  std::error_code error;
  std::vector<Copy> out;
  for (fs::directory_iterator at(folder, error), end; !error && at != end; at.increment(error)) {
    const auto name = copy_name_of(at->path().filename().string());
    std::error_code gone;
    if (!name || !at->is_regular_file(gone)) continue;
    const std::uintmax_t size = at->file_size(gone);
    if (!gone) out.push_back({*name, at->path().string(), size});
  }
  if (error) return disk_error(folder, "read", error.value());
  std::sort(out.begin(), out.end(), [](const Copy& a, const Copy& b) {
    return a.name.at != b.name.at ? a.name.at > b.name.at : a.name > b.name;
  });
  return out;
}

Expected<CopyMade> make_copy(const sql::Address& from, const std::string& folder, Moment now,
                             const std::optional<KeepRules>& rules, const Step& step) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) return disk_error(folder, "made", error.value());
  const auto lock = FolderLock::of(folder);
  if (!lock) return tl::unexpected(lock.error());
  tidy(folder);

  CopyMade out;
  CopyName& name = out.copy.name;
  name.book = book_name(from);
  name.at = now;
  const auto there = copies_in(folder);
  if (!there) return tl::unexpected(there.error());
  for (const Copy& copy : *there) {
    if (copy.name.book == name.book && copy.name.at == now) name.nth = std::max(name.nth, copy.name.nth + 1);
  }
  name.archive = from.dialect() == sql::Dialect::postgres;
  out.copy.path = (fs::path(folder) / text_of(name)).string();
  const auto proven =
      name.archive ? copy_archive(from, out.copy.path, step) : copy_database(from, out.copy.path, step);
  if (!proven) return tl::unexpected(proven.error());
  out.archive = proven->archive;
  out.form = proven->form;
  out.copy.size = fs::file_size(out.copy.path, error);

  if (!rules) return out;
  std::vector<CopyName> names{name};
  for (const Copy& copy : *there) {
    if (copy.name.book == name.book) names.push_back(copy.name);
  }
  for (const CopyName& old : to_drop(names, *rules, now)) {
    const std::string path = (fs::path(folder) / text_of(old)).string();
    if (!fs::remove(path, error) && error) return disk_error(path, "dropped", error.value());
    fs::remove(path + std::string(kSumEnding), error);
    out.dropped.push_back(path);
  }
  return out;
}

Expected<Proven> prove_copy(const std::string& path, const Step& step) {
  const auto kind = kind_of(path);
  if (!kind) return tl::unexpected(kind.error());
  if (auto same = hold_to_sum(path); !same) return tl::unexpected(same.error());
  if (*kind == Kind::database) return prove_file(path, step);
  return check_archive_file(path, step).map([](const Archived& archive) { return Proven{archive, 0}; });
}

Expected<Restored> restore(const std::string& copy, const sql::Address& to,
                           const std::optional<Moment>& aside, const Step& step) {
  const auto kind = kind_of(copy);
  if (!kind) return tl::unexpected(kind.error());
  if (auto same = hold_to_sum(copy); !same) return tl::unexpected(same.error());
  if (to.dialect() == sql::Dialect::sqlite) return restore_file(copy, *kind, to.text, aside, step);
  if (aside)
    return fail(Fault::file, "a database on a server is not set aside", "a new, empty database",
                {to.shown(), {}, 0, 0});
  return restore_server(copy, *kind, to, step);
}

Expected<BookFigures> look_at(const sql::Address& address) {
  auto book = open_as_it_is(address);
  if (!book) return tl::unexpected(book.error());
  BookFigures out;
  const auto form = form_of_book(**book);
  if (!form) return tl::unexpected(form.error());
  out.form = *form;
  const auto counts = (*book)->counts();
  if (!counts) return tl::unexpected(counts.error());
  out.counts = *counts;
  const bool server = address.dialect() == sql::Dialect::postgres;
  const auto rows = Inside::database(**book).run(
      fmt::format("select (select count(*) from visit), (select count(*) from slip where forgotten = 1), "
                  "(select count(*) "
                  "from bytes), (select cast(coalesce(sum(length(data)), 0) as bigint) from bytes), {}",
                  server ? "pg_database_size(current_database())" : "0"));
  if (!rows) return tl::unexpected(sql::as_error(rows.error()));
  const auto figure = [&](std::size_t column) { return std::get<std::int64_t>(rows->front()[column]); };
  out.visits = figure(0);
  out.forgotten = figure(1);
  out.photos = figure(2);
  out.photo_bytes = figure(3);
  out.size = figure(4);
  if (server) return out;
  for (const char* ending : {"", "-wal"}) {
    std::error_code none;
    const std::uintmax_t size = fs::file_size(address.text + ending, none);
    if (!none) out.size += static_cast<std::int64_t>(size);
  }
  return out;
}

Expected<Proven> check_place(const sql::Address& address, const Step& step) {
  if (address.dialect() == sql::Dialect::sqlite) {
    const auto kind = kind_of(address.text);
    if (!kind) return tl::unexpected(kind.error());
    if (*kind == Kind::archive) return prove_copy(address.text, step);
    if (auto same = hold_to_sum(address.text); !same) return tl::unexpected(same.error());
  }
  auto book = open_as_it_is(address);
  if (!book) return tl::unexpected(book.error());
  if (auto sound = (*book)->check(); !sound) return tl::unexpected(sound.error());
  const auto form = form_of_book(**book);
  if (!form) return tl::unexpected(form.error());
  return checked_sum_of(**book, step).map([&](const Archived& archive) { return Proven{archive, *form}; });
}

Expected<Archived> sum_of_place(const sql::Address& address, const Step& step) {
  auto book = open_as_it_is(address);
  if (!book) return tl::unexpected(book.error());
  return sum_of(**book, step);
}

}  // namespace hingeline::store
