#include "hingeline/service/rig.h"

#include <fmt/format.h>

#include "inside.h"

namespace hingeline::desk {
namespace {

Answer<service::RigAct> act_of(const Json& typed) {
  if (!typed.is_object()) return refuse(Kind::not_valid, "\"act\" is no object", "{\"do\": ...}");
  if (auto known = only_members(typed, {"do", "rate", "specimen", "finding", "note"}); !known)
    return tl::unexpected(known.error());
  const auto what = needed_text(typed, "do");
  if (!what) return tl::unexpected(what.error());
  const auto rate = text_in(typed, "rate");
  if (!rate) return tl::unexpected(rate.error());
  service::RigAct out;
  using Act = service::RigAct::Kind;
  if (*what == "inspect") {
    const auto specimen = needed_text(typed, "specimen");
    if (!specimen) return tl::unexpected(specimen.error());
    const auto finding = needed_text(typed, "finding");
    if (!finding) return tl::unexpected(finding.error());
    const auto note = text_in(typed, "note");
    if (!note) return tl::unexpected(note.error());
    auto read = service::inspection_of(*specimen + "=" + *finding, *note);
    if (!read) return as_trouble(read.error());
    return std::move(*read);
  }
  if (*what == "start" || *what == "rate") {
    out.kind = *what == "start" ? Act::start : Act::rate;
    out.rate = *rate;
    return out;
  }
  if (*what != "pause")
    return refuse(Kind::not_valid, fmt::format("\"{}\" is nothing to do at a rig", what->substr(0, 40)),
                  "start, pause, rate or inspect");
  out.kind = Act::pause;
  return out;
}

}  // namespace

Answer<std::string> Desk::rig(const Who& who, std::string_view json) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto object = object_of(json);
  if (!object) return tl::unexpected(object.error());
  if (auto known = only_members(*object, {"document", "now", "act"}); !known)
    return tl::unexpected(known.error());
  const auto moment = needed_text(*object, "now");
  if (!moment) return tl::unexpected(moment.error());
  const auto now = parse_moment(*moment);
  if (!now) return as_trouble(now.error());
  const auto document = object->find("document");
  if (document == object->end() || !document->is_object())
    return refuse(Kind::not_valid, "\"document\" is no rig document", "an object");
  std::string text = text_of(*document);
  if (object->contains("act")) {
    const auto act = act_of(object->at("act"));
    if (!act) return tl::unexpected(act.error());
    auto done = service::rig_with(text, "rig", *act, *now);
    if (!done) return as_trouble(std::move(done.error()));
    text = std::move(*done);
  }
  const auto rig = record::read_rig(text, "rig");
  if (!rig) return as_trouble(rig.error());
  const auto state = service::rig_at(*rig, *now);
  if (!state) return as_trouble(state.error());
  return text_of({{"document", Json::parse(text)}, {"state", Json::parse(service::to_json(*state))}});
}

}  // namespace hingeline::desk
