#include "outcome.h"

#include <cstdio>

namespace hingeline {

int exit_code(Fault fault) {
  switch (fault) {
    case Fault::usage:
      return kUsage;
    case Fault::file:
      return kFile;
    case Fault::version:
      return kNewer;
    case Fault::not_found:
      return kNotFound;
    case Fault::syntax:
    case Fault::content:
    case Fault::geometry:
      break;
  }
  return kDocument;
}

int print(const std::string& text, int code) {
  const bool wrote = std::fwrite(text.data(), 1, text.size(), stdout) == text.size();
  return wrote && std::fflush(stdout) == 0 ? code : kFile;
}

int tell(const record::Errors& errors) {
  std::string text;
  for (const Error& e : errors) text += "hingeline: " + record::describe(e) + "\n";
  std::fputs(text.c_str(), stderr);
  return exit_code(errors.front().fault);
}
int tell(const Error& error) { return tell(record::Errors{error}); }

}  // namespace hingeline
