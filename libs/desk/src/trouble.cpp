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

tl::unexpected<Trouble> refuse(Trouble::Kind kind, std::string what, std::string expected) {
  using Kind = Trouble::Kind;
  // As a command's exit code has it.
  Fault fault = Fault::content;
  if (kind == Kind::malformed) fault = Fault::syntax;
  if (kind == Kind::not_found) fault = Fault::not_found;
  if (kind == Kind::newer) fault = Fault::version;
  if (kind == Kind::unavailable) fault = Fault::file;
  return tl::unexpected(Trouble{kind, {Error{fault, std::move(what), std::move(expected), {}}}});
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
