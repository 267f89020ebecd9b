#pragma once
/// \file
/// How a book comes to its form. The forms come in as an argument, so that tests can know one more.

#include <functional>
#include <string>
#include <vector>

#include "hingeline/sql/database.h"

namespace hingeline::store {

/// The form a book has; 0 where there is nothing yet.
sql::Result<int> form_of(sql::Database& database);

/// Opened and in the newest of `steps` forms (forms.h). An older one is brought forward in one transaction
/// that others wait for, after its copy is there: on SQLite a file "PATH.before-N", on PostgreSQL a schema
/// "before_N" with all tables, N being the newest form; where that name is taken, "PATH.before-N-2" and so
/// on. When anything fails, all is as it was. `then` does, in the same transaction, what statements cannot;
/// it is given the form from before. Errors as of Book::open.
using Then = std::function<sql::Result<void>(sql::Database& database, int from)>;
Expected<std::unique_ptr<sql::Database>> open_in_form(const sql::Address& address,
                                                      const sql::Opening& opening,
                                                      const std::vector<std::string>& steps,
                                                      const Then& then = {});

/// Opened for reading in whichever form it has, up to `newest`. Errors as of Book::open.
Expected<std::unique_ptr<sql::Database>> open_to_read(const sql::Address& address, int newest);

}  // namespace hingeline::store
