#include "files.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <fmt/format.h>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>

#include "hingeline/service/bench.h"

namespace hingeline {
namespace {

struct Close {
  void operator()(std::FILE* f) const {
    if (f != stdin) std::fclose(f);  // NOLINT(cert-err33-c): read only, nothing is lost
  }
};

tl::unexpected<Error> file_error(const std::string& path, const char* doing, int number) {
  return fail(Fault::file, fmt::format("cannot be {}: {}", doing, std::generic_category().message(number)),
              {}, {path, {}, 0, 0});
}

/// Into a neighbour first, then renamed; `keep`: each of the two is on the disk before going on.
Expected<void> write_whole(const std::filesystem::path& path, const std::string& text, bool keep) {
  const std::string name = path.string();
  const std::string beside = fmt::format("{}.{}.part", name, getpid());
  std::FILE* file = std::fopen(beside.c_str(), "wb");
  if (file == nullptr) return file_error(name, "written", errno);
  const bool wrote = std::fwrite(text.data(), 1, text.size(), file) == text.size() &&
                     std::fflush(file) == 0 && (!keep || ::fsync(::fileno(file)) == 0);
  const int write_error = errno;
  const bool closed = std::fclose(file) == 0;
  if (!wrote || !closed || std::rename(beside.c_str(), name.c_str()) != 0) {
    const int number = wrote ? errno : write_error;
    std::remove(beside.c_str());  // NOLINT(cert-err33-c): the first failure is the one to tell
    return file_error(name, "written", number);
  }
  if (keep) {
    const std::string folder = path.has_parent_path() ? path.parent_path().string() : ".";
    const int there = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (there >= 0) {
      ::fsync(there);
      ::close(there);
    }
  }
  return {};
}

}  // namespace

Expected<std::string> read_file(const std::string& path) {
  std::error_code ignored;
  if (path != "-" && std::filesystem::is_directory(path, ignored)) return file_error(path, "read", EISDIR);
  const std::unique_ptr<std::FILE, Close> file(path == "-" ? stdin : std::fopen(path.c_str(), "rb"));
  if (!file) return file_error(path, "read", errno);
  std::string out;
  char buffer[1 << 16];
  while (const std::size_t n = std::fread(buffer, 1, sizeof buffer, file.get())) {
    out.append(buffer, n);
    // One byte more than may be: the reader then says how large a document may be.
    if (out.size() > record::kMostBytes) break;
  }
  if (std::ferror(file.get()) != 0) return file_error(path, "read", errno);
  return out;
}

Expected<void> make_folder(const std::filesystem::path& path) {
  std::error_code error;
  std::filesystem::create_directories(path, error);
  if (error) return file_error(path.string(), "made", error.value());
  return {};
}

Expected<void> write_file(const std::filesystem::path& path, const std::string& text) {
  return write_whole(path, text, false);
}
Expected<void> keep_file(const std::filesystem::path& path, const std::string& text) {
  return write_whole(path, text, true);
}

Expected<FileLock> FileLock::of(const std::string& path) {
  while (true) {
    const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
    if (file < 0) return file_error(path, "read", errno);
    FileLock lock(file);
    while (::flock(file, LOCK_EX) != 0) {
      if (errno != EINTR) return file_error(path, "locked", errno);
    }
    // Whoever held it may have put another file in its place.
    struct stat held {};
    struct stat there {};
    if (::fstat(file, &held) == 0 && ::stat(path.c_str(), &there) == 0 && held.st_ino == there.st_ino &&
        held.st_dev == there.st_dev)
      return lock;
  }
}
FileLock::~FileLock() {
  if (file_ >= 0) ::close(file_);
}

tl::expected<Bench, record::Errors> bench_of(const std::string& text, const std::string& path,
                                             const std::string& shop_path) {
  auto instrument = record::read_instrument(text, path);
  if (!instrument) return tl::unexpected(std::move(instrument.error()));

  std::string from = shop_path;
  if (from.empty() && !instrument->shop.empty()) {
    const auto folder = path == "-" ? std::filesystem::path() : std::filesystem::path(path).parent_path();
    from = (folder / instrument->shop.text).string();
  }
  record::Shop shop;
  if (from.empty()) {
    shop = service::general_shop();
  } else {
    const auto shop_text = read_file(from);
    if (!shop_text) {
      Error e = shop_text.error();
      if (shop_path.empty()) {
        e.what =
            fmt::format("the instrument names the shop document \"{}\": {}", instrument->shop.text, e.what);
        e.expected = "its path from the instrument's folder, or --shop FILE";
        e.place = instrument->shop.place;
      }
      return tl::unexpected(record::Errors{std::move(e)});
    }
    auto read = record::read_shop(*shop_text, from);
    if (!read) return tl::unexpected(std::move(read.error()));
    shop = std::move(*read);
  }
  auto missing = service::names_missing(*instrument, shop);
  if (!missing.empty()) return tl::unexpected(std::move(missing));
  return Bench{std::move(*instrument), std::move(shop)};
}

tl::expected<Bench, record::Errors> read_bench(const std::string& path, const std::string& shop_path) {
  const auto text = read_file(path);
  if (!text) return tl::unexpected(record::Errors{text.error()});
  return bench_of(*text, path, shop_path);
}

}  // namespace hingeline
