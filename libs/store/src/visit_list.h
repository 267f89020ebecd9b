#pragma once
/// \file
/// The list of visits as one statement, quick in a book of many years whatever is asked for.

#include "hingeline/sql/database.h"
#include "hingeline/store/book.h"

namespace hingeline::store {

/// Rows of a VisitLine's members in their order, as Book::visits().
sql::Result<sql::Rows> list_visits(sql::Database& database, const VisitQuery& query);

}  // namespace hingeline::store
