#pragma once
/// \file
/// The shop's book from the command line: what is in it, copies, archives, moving it.

#include <string>

#include "hingeline/base/error.h"
#include "hingeline/sql/database.h"
#include "terminal.h"

namespace hingeline {

struct BookAsked {
  std::string place;  ///< of the book; empty: the usual one
  std::string folder;
  std::string file;  ///< archive or copy; "-" is standard input or output
  std::string to;    ///< place of the other book
  std::string keep;  ///< as store::parse_keep reads it
  bool sum = false;
  bool check = false;
  bool aside = false;
  bool json = false;
};

/// Where the book is: as asked, else HINGELINE_BOOK, else by the XDG Base Directory Specification.
/// Fault::usage where nobody says.
Expected<sql::Address> book_place(const std::string& asked);
/// Makes the folder that a book's file is to stand in.
Expected<void> folder_for_book(const sql::Address& address);

/// Each does what its command says and gives what is to be printed.
Expected<std::string> book_show(const BookAsked& asked, const Terminal& terminal);
Expected<std::string> book_check(const BookAsked& asked, const Terminal& terminal);
Expected<std::string> book_copy(const BookAsked& asked, const Terminal& terminal);
Expected<std::string> book_copies(const BookAsked& asked, const Terminal& terminal);
Expected<std::string> book_restore(const BookAsked& asked, const Terminal& terminal);
/// With "-" the archive itself goes to standard output, and nothing is given.
Expected<std::string> book_write_out(const BookAsked& asked, const Terminal& terminal);
Expected<std::string> book_read_in(const BookAsked& asked, const Terminal& terminal);
Expected<std::string> book_move(const BookAsked& asked, const Terminal& terminal);

}  // namespace hingeline
