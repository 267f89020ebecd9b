#pragma once
/// \file
/// The shop's server, and the people who may come in, from the command line.

#include <string>
#include <vector>

#include "hingeline/base/error.h"
#include "terminal.h"

namespace hingeline {

struct ServeAsked {
  std::string book;                 ///< place; empty: the usual one
  std::vector<std::string> listen;  ///< "127.0.0.1:8420", "[::1]:8420"; empty: the usual one
  std::vector<std::string> names;   ///< what clients may call this server
  std::string certificate;
  std::string key;
  bool behind_proxy = false;
  std::string copies;        ///< folder; empty: no copies on schedule
  double copies_every = 24;  ///< hours
  std::string keep;
  std::size_t workers = 4;
  bool quiet = false;  ///< no log line for each request
};
/// Serves until it is told to stop (SIGTERM, SIGINT); reads the certificate again on SIGHUP. The log goes to
/// standard error, a JSON line each.
Expected<int> serve(const ServeAsked& asked);

struct PeopleAsked {
  std::string book;
  std::string who;  ///< a person's id, name or login
  std::string role = "bench";
  std::string login;
  bool json = false;
};
/// Writes a person down, and with a login sets the password, which is asked for.
Expected<std::string> people_add(const PeopleAsked& asked, const Terminal& terminal);
Expected<std::string> people_list(const PeopleAsked& asked, const Terminal& terminal);
Expected<std::string> people_password(const PeopleAsked& asked, const Terminal& terminal);
/// They no longer work here: nothing opens for them, and what they wrote stays theirs.
Expected<std::string> people_gone(const PeopleAsked& asked, const Terminal& terminal);

}  // namespace hingeline
