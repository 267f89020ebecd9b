#pragma once
/// \file
/// What is in a book, and whether it is sound, without changing anything. A book of an older form is looked
/// at as it is.

#include <cstdint>

#include "hingeline/store/copies.h"

namespace hingeline::store {

struct BookFigures {
  int form = 0;
  Counts counts;
  std::int64_t visits = 0;     ///< that lists show
  std::int64_t forgotten = 0;  ///< slips whose words were taken out
  std::int64_t photos = 0;
  std::int64_t photo_bytes = 0;
  std::int64_t size = 0;  ///< bytes on the disk: the file with its log, or the server's database
};
/// Errors as of Book::open for reading.
Expected<BookFigures> look_at(const sql::Address& address);

/// Reads all of a book, of a copy or of an archive: whether the database is sound, every slip is written as
/// slips are, every photo has its SHA-256, and lists follow from the slips. A copy has the sum that stands
/// beside it. Others may write into the book meanwhile. Fault::file where something is damaged.
Expected<Proven> check_place(const sql::Address& address, const Step& step = {});

/// The archive's figures and sum of the book at that place, in whichever form it is.
Expected<Archived> sum_of_place(const sql::Address& address, const Step& step = {});

}  // namespace hingeline::store
