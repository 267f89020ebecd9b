#include <fmt/format.h>
#include <cmath>
#include <nlohmann/json.hpp>

#include "hingeline/service/bench.h"
#include "json_parts.h"

namespace hingeline::service {

Json number(double v) {
  if (!std::isfinite(v)) return nullptr;
  const double rounded = std::round(v * 1e6) / 1e6;
  return rounded == 0 ? 0.0 : rounded;
}
const char* code(plan::Operation op) {
  using plan::Operation;
  switch (op) {
    case Operation::drive_home:
      return "drive-home";
    case Operation::turn_screw:
      return "turn-screw";
    case Operation::restore_post:
      return "restore-post";
    case Operation::seat_cut:
      return "seat-cut";
    case Operation::ream:
      return "ream";
    case Operation::face:
      break;
  }
  return "face";
}

Json answer_of(const belief::Evidence& evidence) {
  Json out = {{"check", belief::code(evidence.check)}};
  if (evidence.answer.empty()) {
    out["value"] = number(evidence.value);
  } else {
    out["answer"] = evidence.answer;
  }
  return out;
}

Json list_of(const std::vector<belief::Barrier>& barriers) {
  Json out = Json::array();
  for (const belief::Barrier& b : barriers) {
    Json checks = Json::array();
    for (const belief::Check c : b.checks) checks.push_back(belief::code(c));
    out.push_back(
        {{"cause", belief::code(b.cause)}, {"share", number(b.share)}, {"checks", std::move(checks)}});
  }
  return out;
}

std::string text_of(const Json& json) {
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

namespace {

Json figures_json(const belief::Estimate& e) {
  Json out = Json::object();
  for (std::size_t k = 0; k < belief::kFigureCount; ++k) {
    const auto f = static_cast<Figure>(k);
    const auto& v = e[f];
    if (std::isnan(v.value)) continue;
    out[belief::code(f)] = {{"value", number(v.value)},
                            {"plus_minus", number(v.plus_minus)},
                            {"low", number(v.low)},
                            {"high", number(v.high)},
                            {"range", v.is_range}};
  }
  return out;
}

Json figures_json(const belief::Figures& figures) {
  Json out = Json::object();
  for (std::size_t k = 0; k < belief::kFigureCount; ++k) {
    if (!std::isnan(figures[k])) out[belief::code(static_cast<Figure>(k))] = number(figures[k]);
  }
  return out;
}

Json choice_json(const plan::ToolChoice& c, LengthUnit unit) {
  if (c.name.empty() && c.why.empty()) return nullptr;
  return {{"name", c.name.empty() ? Json(nullptr) : Json(c.name)}, {"why", c.why.in(unit)}};
}

Json step_json(const plan::Step& s, LengthUnit unit) {
  Json out = {{"work", code(s.operation)}, {"end", word(s.side)}, {"amount", number(s.amount)},
              {"turns", number(s.turns)},  {"way", s.turn_way},   {"tell", tell(s, unit)}};
  if (const Json tool = choice_json(s.tool, unit); !tool.is_null()) out["tool"] = tool;
  if (const Json reach = choice_json(s.reach, unit); !reach.is_null()) out["reach"] = reach;
  return out;
}

Json plan_json(const plan::Plan& p, LengthUnit unit) {
  Json out = {{"approach", word(p.approach)},       {"metal", number(p.metal)},
              {"minutes", number(p.minutes)},       {"shift", number(p.shift)},
              {"off_centre", number(p.off_centre)}, {"steps", Json::array()},
              {"after", figures_json(p.after)},     {"reserves", Json::array()},
              {"measure_first", Json::array()}};
  for (const auto& s : p.steps) out["steps"].push_back(step_json(s, unit));
  for (const auto& r : p.reserves) {
    out["reserves"].push_back({{"limit", r.limit},
                               {"end", word(r.side)},
                               {"left", r.left ? number(*r.left) : Json(nullptr)},
                               {"least", number(r.least)}});
  }
  for (const auto& m : p.measure_first) out["measure_first"].push_back(m.in(unit));
  return out;
}

Json home_json(const KeyResult& key, Side side) {
  Json out = {{"rides_on", rides_on(key, side)}};
  if (key.knowledge.geometry.kind == belief::HingeKind::rod) return out;
  const auto& h = key.hinge->end(side).joint.home();
  out["insertion"] = number(h.insertion);
  out["regime"] = contact::word(h.regime);
  out["depth"] = number(h.depth);
  out["radius"] = number(h.radius);
  out["touching"] = number(h.touching);
  out["clearance"] = number(h.clearance);
  return out;
}

Json problem_json(const Error& e) {
  static constexpr const char* kWords[] = {"usage",    "file",    "syntax",   "content",
                                           "geometry", "version", "not found"};
  return {{"kind", kWords[static_cast<std::size_t>(e.fault)]},
          {"what", e.what},
          {"expected", e.expected},
          {"file", e.place.file},
          {"pointer", e.place.pointer},
          {"line", e.place.line},
          {"column", e.place.column}};
}

Json key_json(const KeyResult& key, LengthUnit unit) {
  Json out = {{"id", key.id}, {"name", key.name}};
  if (key.problem) {
    out["problem"] = problem_json(*key.problem);
    return out;
  }
  const auto& p = key.plan;
  out["verdict"] = word(p.verdict);
  out["because"] = p.because.in(unit);
  out["window"] = {{"low", number(p.window.low)},
                   {"high", number(p.window.high)},
                   {"high_rule", p.window.high_rule},
                   {"crossed", p.window.crossed},
                   {"low_parts", Json::array()}};
  for (const auto& part : p.window.low_parts) {
    out["window"]["low_parts"].push_back({{"name", part.name}, {"amount", number(part.amount)}});
  }
  out["figures"] = figures_json(key.estimate());
  out["home"] = {{"upper", home_json(key, Side::upper)}, {"lower", home_json(key, Side::lower)}};
  out["plans"] = Json::array();
  for (const auto& plan : p.plans) out["plans"].push_back(plan_json(plan, unit));
  if (const auto bite = first_bite(key)) {
    out["first_bite"] = {
        {"turns", number(bite->turns)}, {"expected", number(bite->expected)}, {"risk", number(bite->risk)}};
  }
  out["refusals"] = Json::array();
  for (const auto& r : p.refusals) {
    out["refusals"].push_back({{"work", code(r.operation)},
                               {"end", r.side ? Json(word(*r.side)) : Json(nullptr)},
                               {"why", r.why.in(unit)},
                               {"relief", r.relief.in(unit)}});
  }
  out["no_plan"] = p.no_plan.empty() ? Json(nullptr) : Json(p.no_plan.in(unit));
  out["relief"] = p.relief.empty() ? Json(nullptr) : Json(p.relief.in(unit));
  out["notes"] = Json::array();
  for (const auto& n : key.notes) out["notes"].push_back(n.in(unit));
  return out;
}

}  // namespace

std::string to_json(const InstrumentResult& result, LengthUnit unit, const std::string& only_key) {
  Json out = {{"title", result.title},
              {"kind", result.kind},
              {"serial", result.serial},
              {"unit", "mm"},
              {"keys", Json::array()}};
  for (const KeyResult& key : result.keys) {
    if (only_key.empty() || key.id == only_key) out["keys"].push_back(key_json(key, unit));
  }
  return text_of(out);
}

std::string to_json(const KeyResult& key, const Explanation& e) {
  const auto& v = key.estimate()[e.figure];
  Json out = {{"key", key.id},
              {"figure", belief::code(e.figure)},
              {"name", belief::word(e.figure)},
              {"unit", "mm"},
              {"value", number(v.value)},
              {"plus_minus", number(v.plus_minus)},
              {"low", number(v.low)},
              {"high", number(v.high)},
              {"range", v.is_range},
              {"formula", e.formula},
              {"working", e.working},
              {"inputs", Json::array()},
              {"readings", Json::array()}};
  for (const auto& line : e.inputs) {
    out["inputs"].push_back({{"name", line.name},
                             {"value", line.value},
                             {"origin", line.origin},
                             {"pointer", line.pointer},
                             {"effect", number(line.effect)}});
  }
  for (const auto& line : e.readings) {
    out["readings"].push_back({{"name", line.name},
                               {"value", line.value},
                               {"origin", line.origin},
                               {"pointer", line.pointer},
                               {"said", line.said}});
  }
  if (e.propagation) {
    const auto& spread = (*e.propagation)[e.figure];
    out["draws"] = {{"draws", e.propagation->draws},
                    {"seed", e.propagation->seed},
                    {"impossible", e.propagation->impossible},
                    {"mean", number(spread.mean)},
                    {"standard", number(spread.standard)},
                    {"low", number(spread.low)},
                    {"high", number(spread.high)},
                    {"shares", Json::array()}};
    for (const auto& [name, share] : shares_of(key, e)) {
      out["draws"]["shares"].push_back({{"name", name}, {"share", number(share)}});
    }
  }
  return text_of(out);
}

std::string to_json(const KeyResult& key, const std::string& picture, const std::string& svg) {
  return text_of({{"key", key.id}, {"name", key.name}, {"picture", picture}, {"svg", svg}});
}

std::string to_json(const record::Errors& problems) {
  Json out = {{"problems", Json::array()}};
  for (const Error& e : problems) out["problems"].push_back(problem_json(e));
  return text_of(out);
}

}  // namespace hingeline::service
