#pragma once
/// \file
/// What the rooms' own files may know of a book: its connection, and how one is filled quickly.

#include <memory>
#include <string>

#include "hingeline/store/archive.h"
#include "hingeline/store/book.h"

namespace hingeline::store {

struct Inside {
  static sql::Database& database(Book& book) { return *book.database_; }
  static std::unique_ptr<Book> book(std::unique_ptr<sql::Database> database) {
    return std::unique_ptr<Book>(new Book(std::move(database)));
  }
};

/// Writes many slips into an empty book, inside a transaction: each is placed at once, lists and search are
/// made in one go at the end.
class Filling {
 public:
  explicit Filling(sql::Database& database);
  ~Filling();
  Filling(const Filling&) = delete;
  Filling& operator=(const Filling&) = delete;

  /// A slip that is not there yet, with its text. What it names may come later.
  sql::Result<Written> slip(const record::Slip& slip, const std::string& line);
  /// Lists, search and the book's count. Nothing may be added afterwards.
  sql::Result<void> finish();

 private:
  struct Inner;
  std::unique_ptr<Inner> inner_;
};

/// Opens a book to read it in the form it has, an older one too, and changes nothing. Errors as of
/// Book::open.
Expected<std::unique_ptr<Book>> open_as_it_is(const sql::Address& address);
Expected<int> form_of_book(Book& book);

/// After a book was brought forward from form `from`: makes search anew where it finds more than it did then.
sql::Result<void> search_anew(sql::Database& database, int from);

/// As sum_of(), each line held to the archive's form as if it were read.
Expected<Archived> checked_sum_of(Book& book, const Step& step);

}  // namespace hingeline::store
