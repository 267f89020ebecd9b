#pragma once
/// \file
/// Contradictions one sees without working anything out: a hole deeper than its key, a tip wider
/// than its shank, two keys of one name.

#include "hingeline/record/document.h"
#include "hingeline/record/ledger.h"
#include "hingeline/record/rig.h"

namespace hingeline::record {

void check(const Instrument& instrument, Errors& errors);
void check(const Shop& shop, Errors& errors);
void check(const Ledger& ledger, Errors& errors);
void check(const Rig& rig, Errors& errors);

}  // namespace hingeline::record
