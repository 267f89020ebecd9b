#pragma once
/// \file
/// Dated copies of a book in a folder: made while others write, proven before they get their name, thinned
/// out by rules, and brought back. A copy of a SQLite book is a book, with its SHA-256 beside it in a file
/// "NAME.sha256" that `sha256sum --check` reads; a copy of one on PostgreSQL is an archive (archive.h), which
/// holds its sum itself.

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/base/moment.h"
#include "hingeline/store/archive.h"

namespace hingeline::store {

/// What a copy's file name says: "BOOK-20261126T140600Z.db" or ".archive", and "-2" before the ending for a
/// second one of the same second.
struct CopyName {
  std::string book;  ///< which book it is of: its file's name without ending, or its database's name
  Moment at;         ///< when it was begun
  int nth = 1;       ///< of this second, from 1
  bool archive = false;
  friend auto operator<=>(const CopyName&, const CopyName&) = default;
};
std::string text_of(const CopyName& name);
/// Nothing for a file's name that is none of a copy.
std::optional<CopyName> copy_name_of(std::string_view file_name);

/// Which copies are kept. Days, weeks (from Monday, ISO 8601) and months are those of UTC, counted back from
/// the present one, which is the first. Of each the newest copy is kept.
struct KeepRules {
  int last = 0;  ///< the newest so many, whenever they were made
  int days = 0;
  int weeks = 0;
  int months = 0;
  friend bool operator==(const KeepRules&, const KeepRules&) = default;
};
/// Reads "10,14d,8w,12m": the last 10, one a day for 14 days, one a week for 8 weeks, one a month for 12
/// months; parts may be left out. Fault::usage for anything else, and for parts of 0 or above 10000.
Expected<KeepRules> parse_keep(std::string_view text);

/// Copies that no rule keeps, oldest first. Each book is reckoned by itself. The newest copy up to `now` is
/// always kept, and so is one from after `now`: some clock was wrong, and nobody knows which.
std::vector<CopyName> to_drop(std::vector<CopyName> made, const KeepRules& rules, Moment now);

struct Copy {
  CopyName name;
  std::string path;
  std::uintmax_t size = 0;  ///< bytes
};
/// Copies in a folder, newest first; other files are not looked at. Fault::file where it cannot be read.
Expected<std::vector<Copy>> copies_in(const std::string& folder);

struct CopyMade {
  Copy copy;
  Archived archive;                  ///< what is in it
  int form = 0;                      ///< of the book
  std::vector<std::string> dropped;  ///< paths of older copies that `rules` did not keep
};
/// Copies the book at `from` into a folder, which is made where there is none. The copy holds all that was
/// acknowledged when it was begun. It is opened, checked, read twice with the same sum and on the disk before
/// it gets its name; only then older ones are dropped. When anything fails there is no copy and nothing was
/// dropped. Two programs that copy into one folder wait for one another. Fault::file, with what would help.
Expected<CopyMade> make_copy(const sql::Address& from, const std::string& folder, Moment now,
                             const std::optional<KeepRules>& rules = {}, const Step& step = {});

/// What is in a copy, or in an archive, by reading all of it. Fault::file where it is damaged, is neither, or
/// has another sum than the one beside it;
/// errors of an archive as of check_archive.
struct Proven {
  Archived archive;
  int form = 0;  ///< of the book; 0 for an archive
};
Expected<Proven> prove_copy(const std::string& path, const Step& step = {});

struct Restored {
  Proven copy;
  std::string aside;  ///< where what was there before is now; empty: there was nothing
};
/// Brings a copy or an archive back as the book at `to`, a new file or an empty database. It is proven there,
/// with the sum that the copy has, before it counts. With `aside`, a file that is there is set aside first as
/// "PATH.aside-20261126T140600Z"; otherwise, and on a server, it is refused (Fault::file). When anything
/// fails, what was there is as it was.
Expected<Restored> restore(const std::string& copy, const sql::Address& to,
                           const std::optional<Moment>& aside = {}, const Step& step = {});

// ---- Archives in files ------------------------------------------------------------------------------------

/// Writes the book's archive into a new file: whole and on the disk, or not at all. Fault::file where there
/// is one already, or as of write_archive.
Expected<Archived> write_archive_file(Book& book, const std::string& path, const Step& step = {});
/// read_archive() and check_archive() of a file.
Expected<Archived> read_archive_file(Book& into, const std::string& path, const Step& step = {});
Expected<Archived> check_archive_file(const std::string& path, const Step& step = {});

}  // namespace hingeline::store
