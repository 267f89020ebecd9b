#pragma once
/// \file
/// A shop at work, against the whole server: benches that log in, take instruments in, save readings, look at
/// keys, tell answers, list and search, each with its event stream open; beside them connections that say
/// nothing and clients as slow as they can be. In C++ rather than a script: on a machine with few cores the
/// client must not be what is measured.

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "hingeline/sql/database.h"

namespace hingeline::load {

struct LoadAsked {
  std::string program;   ///< path of hingeline
  std::string examples;  ///< folder with shop.json, saxophone.json, clarinet.json
  std::string folder;    ///< an empty folder for logs and copies
  sql::Address book;     ///< an empty place
  std::size_t benches = 16;
  std::chrono::milliseconds lasts{300'000};
  std::chrono::milliseconds pause{1000};  ///< of a bench between two things it does, on average
  std::size_t idle = 1000;                ///< connections that say nothing
  std::size_t slow = 50;                  ///< clients that are slow
  std::size_t workers = 4;                ///< of the server
  bool copy = true;                       ///< a copy is made in the middle
  bool quick_passwords = false;           ///< cheap ones: a test need not pay for them
  std::uint64_t seed = 1;
};

/// Times of one kind of request, ascending.
struct Times {
  std::vector<std::chrono::microseconds> all;
  /// The nearest rank: the least of them that so large a part (0 to 1) does not exceed; 0: there are none.
  [[nodiscard]] std::chrono::microseconds at(double part) const;
};

struct LoadFigures {
  std::size_t requests = 0;
  std::map<std::string, Times> times;  ///< by what was done: "save a reading", "recompute a key", ...
  std::size_t errors = 0;              ///< answers that were not what was to come
  std::vector<std::string> faults;     ///< the first of all that went wrong, here and below
  std::size_t acknowledged = 0;        ///< slips
  std::size_t events = 0;              ///< slips that streams told
  std::size_t lost = 0;                ///< acknowledged, and not in the book
  std::size_t twice = 0;               ///< in the book more than once
  std::size_t untold = 0;              ///< slips a stream should have told and did not, or told twice
  std::size_t idle_held = 0;           ///< connections that say nothing, at the end
  std::size_t idle_closed = 0;         ///< closed by the server meanwhile, each opened anew
  std::size_t slow_held = 0;           ///< slow clients, at the end
  std::size_t slow_ended = 0;          ///< ended by the server meanwhile, each begun anew
  std::int64_t slips = 0;              ///< in the book at the end
  std::int64_t slips_in_copy = 0;
  bool copy_is_right = false;  ///< restored it is, byte for byte, the archive of the book as far as it goes
  std::chrono::milliseconds copy_took{0};
};

/// Starts the server, works, stops it, and compares the book with what was acknowledged. Throws
/// std::runtime_error where it cannot begin.
LoadFigures run_load(const LoadAsked& asked);

/// As a table for people.
std::string text_of(const LoadFigures& figures);

}  // namespace hingeline::load
