#include "hingeline/desk/trouble.h"

namespace hingeline::desk {

const char* word(Trouble::Kind kind) {
  switch (kind) {
    case Trouble::Kind::malformed:
      return "malformed";
    case Trouble::Kind::not_valid:
      return "not-valid";
    case Trouble::Kind::not_found:
      return "not-found";
    case Trouble::Kind::not_allowed:
      return "not-allowed";
    case Trouble::Kind::overtaken:
      return "overtaken";
    case Trouble::Kind::newer:
      return "newer";
    case Trouble::Kind::unavailable:
      break;
  }
  return "unavailable";
}

Trouble trouble_of(record::Errors errors) {
  using Kind = Trouble::Kind;
  Kind kind = Kind::not_valid;
  switch (errors.front().fault) {
    case Fault::usage:
    case Fault::syntax:
      kind = Kind::malformed;
      break;
    case Fault::file:
      kind = Kind::unavailable;
      break;
    case Fault::version:
      kind = Kind::newer;
      break;
    case Fault::not_found:
      kind = Kind::not_found;
      break;
    case Fault::content:
    case Fault::geometry:
      break;
  }
  return {kind, std::move(errors)};
}

}  // namespace hingeline::desk
