#pragma once
/// \file
/// Who may do what. Rights stand in a row: whoever has one has all before it.

#include <string>

#include "hingeline/desk/trouble.h"
#include "hingeline/record/slip.h"

namespace hingeline::desk {

enum class Right {
  look,     ///< the bench's figures, without owners
  counter,  ///< takes in and hands back: owners, instruments, visits, quotes, photos
  bench,    ///< reads, works, says what is left as it is
  owner     ///< people, the shop's own figures, copies, what owners ask for
};
/// "look", "counter", "bench", "owner".
const char* word(Right right);

/// What a person's role lets them do.
Right right_of(record::Role role);
/// What it takes to write a slip of that kind.
Right right_for(record::SlipKind kind);

/// What it takes to see a paper of that kind ("quote", ...): those that name owners and prices, the counter.
Right right_for_paper(const std::string& kind);

/// Who asks.
struct Who {
  std::string person;  ///< id; empty: one person at their own bench, who is never asked for a name
  Right right = Right::owner;
  [[nodiscard]] bool alone() const { return person.empty(); }
  [[nodiscard]] bool has(Right needed) const { return right >= needed; }
};

/// Trouble::Kind::not_allowed unless who asks has that right.
Answer<void> must_have(const Who& who, Right right);

}  // namespace hingeline::desk
