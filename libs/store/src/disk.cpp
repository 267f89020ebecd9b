#include "disk.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <filesystem>

namespace hingeline::store {
namespace {

Expected<void> sync_path(const std::string& path, int flags) {
  const int file = ::open(path.c_str(), flags | O_CLOEXEC);
  if (file < 0) return disk_error(path, "put on the disk", errno);
  const bool synced = ::fsync(file) == 0;
  const int number = errno;
  ::close(file);
  if (!synced) return disk_error(path, "put on the disk", number);
  return {};
}

}  // namespace

tl::unexpected<Error> disk_error(const std::string& path, const char* doing, int number) {
  return fail(Fault::file, fmt::format("cannot be {}: {}", doing, std::generic_category().message(number)),
              number == EEXIST   ? "a place where nothing is yet"
              : number == ENOSPC ? "room on the disk"
                                 : "",
              {path, {}, 0, 0});
}

Expected<void> sync_file(const std::string& path) { return sync_path(path, O_RDONLY); }

std::string folder_of(const std::string& path) {
  const std::string folder = std::filesystem::path(path).parent_path().string();
  return folder.empty() ? "." : folder;
}

bool is_there(const std::string& path) {
  std::error_code unknown;
  return std::filesystem::exists(std::filesystem::symlink_status(path, unknown));
}

Expected<void> name_anew(const std::string& from, const std::string& to) {
  // Some file systems know only the one way, some only the other.
  if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) != 0) {
    if (errno != EINVAL || ::link(from.c_str(), to.c_str()) != 0) return disk_error(to, "made", errno);
    ::unlink(from.c_str());
  }
  return sync_path(folder_of(to), O_RDONLY | O_DIRECTORY);
}

void remove_database(const std::string& path) {
  ::unlink(path.c_str());
  for (const char* ending : kBeside) ::unlink((path + ending).c_str());
}

}  // namespace hingeline::store
