#pragma once
/// \file
/// The whole instrument within minutes and money, and the shop's outfit, as a person reads them.

#include <string>

#include "hingeline/service/budget.h"
#include "hingeline/service/outfit.h"
#include "terminal.h"

namespace hingeline {

std::string budget_report(const service::BudgetResult& result, const Terminal& terminal);
std::string outfit_report(const service::OutfitResult& result, LengthUnit unit, const Terminal& terminal);

}  // namespace hingeline
