#pragma once
/// \file
/// Why something that was asked of the desk is not done.

#include <string>
#include <tl/expected.hpp>
#include <utility>

#include "hingeline/record/document.h"

namespace hingeline::desk {

struct Trouble {
  enum class Kind {
    malformed,    ///< not what its form says
    not_valid,    ///< well formed, with values that cannot be
    not_found,    ///< names what is not there
    not_allowed,  ///< who asks may not
    overtaken,    ///< something else has been written meanwhile: look again
    newer,        ///< of a form that this program does not know
    unavailable   ///< the database does not answer, or the disk is full: again later
  };
  Kind kind = Kind::not_valid;
  record::Errors errors;  ///< one at least
};
/// "malformed", "not-valid", ...
const char* word(Trouble::Kind kind);

template <class T>
using Answer = tl::expected<T, Trouble>;

/// By what kind of fault the first of the errors is.
Trouble trouble_of(record::Errors errors);
inline Trouble trouble_of(Error error) { return trouble_of(record::Errors{std::move(error)}); }
tl::unexpected<Trouble> refuse(Trouble::Kind kind, std::string what, std::string expected = {});
template <class E>
tl::unexpected<Trouble> as_trouble(E error) {
  return tl::unexpected(trouble_of(std::move(error)));
}

}  // namespace hingeline::desk
