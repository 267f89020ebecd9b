#pragma once
/// \file
/// The database's forms, one after the other: what brings each forward from the one before it.

#include <string>
#include <vector>

#include "hingeline/sql/database.h"

namespace hingeline::store {

/// Statements that make form N + 1 of form N, N counted from 0 (nothing).
std::vector<std::string> forms(sql::Dialect dialect);

}  // namespace hingeline::store
