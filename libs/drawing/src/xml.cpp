#include "xml.h"

#include "hingeline/drawing/text.h"

namespace hingeline::drawing {

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : utf8_of(characters_of(text))) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

}  // namespace hingeline::drawing
