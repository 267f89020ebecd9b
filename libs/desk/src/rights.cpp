#include "hingeline/desk/rights.h"

#include <fmt/format.h>

namespace hingeline::desk {

const char* word(Right right) {
  switch (right) {
    case Right::look:
      return "look";
    case Right::counter:
      return "counter";
    case Right::bench:
      return "bench";
    case Right::owner:
      break;
  }
  return "owner";
}

Right right_of(record::Role role) {
  switch (role) {
    case record::Role::owner:
      return Right::owner;
    case record::Role::bench:
      return Right::bench;
    case record::Role::counter:
      return Right::counter;
    case record::Role::look_only:
      break;
  }
  return Right::look;
}

Right right_for(record::SlipKind kind) {
  using record::SlipKind;
  switch (kind) {
    case SlipKind::owner:
    case SlipKind::instrument:
    case SlipKind::key:
    case SlipKind::visit:
    case SlipKind::note:
    case SlipKind::photo:
    case SlipKind::quote_line:
      return Right::counter;
    case SlipKind::reading:
    case SlipKind::finding:
    case SlipKind::operation:
    case SlipKind::waiver:
    case SlipKind::exception:
    case SlipKind::tool:
    case SlipKind::pattern:
      return Right::bench;
    case SlipKind::person:
    case SlipKind::preset:
    case SlipKind::shop:
      break;
  }
  return Right::owner;
}

Right right_for_paper(const std::string& kind) {
  return kind == "quote" || kind == "report" || kind == "tag" ? Right::counter : Right::look;
}

Answer<void> must_have(const Who& who, Right right) {
  if (who.has(right)) return {};
  return refuse(Trouble::Kind::not_allowed,
                fmt::format("this takes the right \"{}\"; yours is \"{}\"", word(right), word(who.right)),
                "somebody who has it");
}

}  // namespace hingeline::desk
