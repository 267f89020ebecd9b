#pragma once
/// \file
/// The whole shop as one text: an archive. Its bytes follow from what the book holds and from nothing else,
/// neither from the database it is in nor from the order things came in. docs/formats/archive.md says how it
/// is written.
///
/// What is in it: every slip, the slips that still wait with what they wait for, which slips were forgotten,
/// and the bytes of photos. What is not: a slip's place in the book, which is each database's own, and
/// accounts.

#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <string_view>

#include "hingeline/store/book.h"

namespace hingeline::store {

/// Newest version of the archive's form.
inline constexpr int kArchiveVersion = 1;

/// What an archive holds.
struct Archived {
  std::int64_t slips = 0;      ///< that count
  std::int64_t waiting = 0;    ///< slips that wait for another, or that were refused after waiting
  std::int64_t forgotten = 0;  ///< of the slips, those whose words were taken out
  std::int64_t bytes = 0;      ///< photos and the like
  std::string sha256;          ///< the archive's sum: equal sums, equal shops
  friend bool operator==(const Archived&, const Archived&) = default;
};

/// Takes the next bytes; an error ends the writing and is given back.
using Sink = std::function<Expected<void>(std::string_view)>;
/// Fills a buffer from its beginning and gives how many bytes, 0 at the end.
using Source = std::function<Expected<std::size_t>(std::span<char>)>;
/// Told now and then: so many lines of so many are done.
using Step = std::function<void(std::int64_t done, std::int64_t all)>;

/// Writes the book's archive, in one consistent view of it while others write. Fault::file where the database
/// fails or a photo's bytes are not what they were.
Expected<Archived> write_archive(Book& book, const Sink& sink, const Step& step = {});

/// The archive's figures and sum without its text.
Expected<Archived> sum_of(Book& book, const Step& step = {});

/// Reads an archive into an empty book, all of it or nothing: heading, every line, counts and sum are
/// checked, and that the book then gives the very same archive, before it is acknowledged. `name` is what
/// errors call it. Fault::syntax where it is no archive, torn, changed or doubled, Fault::content where a
/// line says what cannot be, Fault::version where it is of a newer form, Fault::file where the book is not
/// empty or the database fails.
Expected<Archived> read_archive(Book& into, const Source& source, const std::string& name,
                                const Step& step = {});

/// Reads an archive to its end and keeps nothing: whether it is whole, and what is in it. Errors as of
/// read_archive; that every slip finds what it names is seen only there.
Expected<Archived> check_archive(const Source& source, const std::string& name, const Step& step = {});

struct Moved {
  Counts from;
  Counts to;
  Archived archive;  ///< of both
};
/// Writes all of a book into an empty one, on whichever databases, and compares both before it counts.
/// Errors as of write_archive and read_archive. What others write to `from` meanwhile is not moved.
Expected<Moved> move_book(Book& from, Book& to, const Step& step = {});

}  // namespace hingeline::store
