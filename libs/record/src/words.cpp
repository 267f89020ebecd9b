#include <fmt/format.h>

#include "hingeline/record/document.h"
#include "json.h"

namespace hingeline::record {

const char* word(HingeKind v) { return v == HingeKind::pivot ? "pivot" : "rod"; }
const char* word(PastKind v) { return v == PastKind::fitted ? "fitted" : "read"; }
const char* word(HeadKind v) { return v == HeadKind::headed ? "headed" : "headless"; }
const char* word(PointShape v) {
  switch (v) {
    case PointShape::cone:
      return "cone";
    case PointShape::ball:
      return "ball";
    case PointShape::parallel:
      return "parallel";
    case PointShape::profile:
      break;
  }
  return "profile";
}
const char* word(TipShape v) {
  switch (v) {
    case TipShape::flat:
      return "flat";
    case TipShape::round:
      return "round";
    case TipShape::worn:
      break;
  }
  return "worn";
}
const char* word(HoleShape v) {
  switch (v) {
    case HoleShape::cone:
      return "cone";
    case HoleShape::straight:
      return "straight";
    case HoleShape::drilled:
      return "drilled";
    case HoleShape::bell:
      return "bell";
    case HoleShape::profile:
      break;
  }
  return "profile";
}
const char* word(PaperSize v) { return v == PaperSize::a4 ? "A4" : "letter"; }
const char* word(BodySide v) { return v == BodySide::plus ? "plus" : "minus"; }
const char* word(DriverKind v) {
  switch (v) {
    case DriverKind::straight:
      return "straight";
    case DriverKind::flexible:
      return "flexible";
    case DriverKind::pinch:
      break;
  }
  return "pinch";
}
const char* word(SpringKind v) { return v == SpringKind::needle ? "needle" : "flat"; }
const char* word(SpringShape v) {
  switch (v) {
    case SpringShape::rectangular:
      return "rectangular";
    case SpringShape::tapered:
      return "tapered";
    case SpringShape::triangular:
      break;
  }
  return "triangular";
}
const char* word(Stands v) { return v == Stands::open ? "open" : "closed"; }

const char* word(Leave v) { return v == Leave::yes ? "yes" : "no"; }

const char* word(Look v) {
  switch (v) {
    case Look::fine:
      return "fine";
    case Look::loose:
      return "loose";
    case Look::binds:
      return "binds";
    case Look::leaks:
      return "leaks";
    case Look::sluggish:
      return "sluggish";
    case Look::noisy:
      break;
  }
  return "noisy";
}
const char* word(WorkStage v) {
  switch (v) {
    case WorkStage::free_check:
      return "free-check";
    case WorkStage::straighten:
      return "straighten";
    case WorkStage::posts:
      return "posts";
    case WorkStage::stack:
      return "stack";
    case WorkStage::fit:
      return "fit";
    case WorkStage::finish:
      break;
  }
  return "finish";
}
const char* word(Wear v) { return v == Wear::worn ? "worn" : "sound"; }

std::string describe(const Error& error) {
  std::string out = error.place.file;
  if (error.place.line > 0) out += fmt::format(":{}:{}", error.place.line, error.place.column);
  if (!out.empty()) out += ": ";
  if (!error.place.pointer.empty()) out += error.place.pointer + ": ";
  out += error.what;
  if (!error.expected.empty()) out += "; expected " + error.expected;
  // File names and member names are other people's bytes.
  return json::visible(out);
}

}  // namespace hingeline::record
