#pragma once
/// \file
/// Expected failures are values. A message says what was wrong, where, and what would be right.

#include <string>
#include <tl/expected.hpp>

namespace hingeline {

/// What kind of failure it is; one place (the program's main) turns it into an exit code.
enum class Fault {
  usage,     ///< the command line was not understood
  file,      ///< a file could not be read or written
  syntax,    ///< text that is not what its format says
  content,   ///< well-formed text with a wrong or missing value
  geometry,  ///< values that cannot belong to one real thing
  version,   ///< a document newer than this program
  not_found  ///< a name that is not in the document
};

/// Where in a document: file name, JSON pointer (RFC 6901), line and column counted from 1
/// (0: not known).
struct Place {
  std::string file;
  std::string pointer;
  int line = 0;
  int column = 0;
};

struct Error {
  Fault fault = Fault::content;
  std::string what;      ///< what was wrong, as a sentence without a full stop
  std::string expected;  ///< what would be right; empty when there is nothing to add
  Place place;
};

template <class T>
using Expected = tl::expected<T, Error>;

inline tl::unexpected<Error> fail(Fault fault, std::string what, std::string expected = {},
                                  Place place = {}) {
  return tl::unexpected<Error>(Error{fault, std::move(what), std::move(expected), std::move(place)});
}

}  // namespace hingeline
