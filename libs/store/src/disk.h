#pragma once
/// \file
/// Files that are there whole and on the disk, or not at all. Errors are Fault::file with the system's word.

#include <string>

#include "hingeline/base/error.h"

namespace hingeline::store {

/// An error of the system's, number as errno.
tl::unexpected<Error> disk_error(const std::string& path, const char* doing, int number);
/// Puts a file on the disk.
Expected<void> sync_file(const std::string& path);
/// Gives a file a name that nothing has yet, and puts that on the disk.
Expected<void> name_anew(const std::string& from, const std::string& to);
/// Whether anything has that name, a link that leads nowhere too.
bool is_there(const std::string& path);
/// The folder that a path is in.
std::string folder_of(const std::string& path);
/// Takes a SQLite file and what may stand beside it away; nothing where there is none.
void remove_database(const std::string& path);
/// What stands beside a SQLite file while it is used.
inline constexpr const char* kBeside[] = {"-wal", "-shm", "-journal"};

}  // namespace hingeline::store
