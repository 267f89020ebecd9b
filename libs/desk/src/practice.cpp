#include "hingeline/practice/practice.h"

#include <fmt/format.h>

#include <cmath>

#include "inside.h"

namespace hingeline::desk {
namespace {

using practice::Act;
using Pupil = practice::Bench;

/// Whole numbers up to here are the same in every JSON (RFC 8259, 6).
constexpr std::int64_t kMostSeed = (std::int64_t{1} << 53) - 1;

constexpr std::array kKinds{std::pair{"headed", practice::Kind::headed},
                            std::pair{"headless", practice::Kind::headless},
                            std::pair{"rod", practice::Kind::rod}};

Json millimetres_of(Length length) { return std::round(in_millimetres(length) * 1e6) / 1e6; }

Answer<double> number_in(const Json& object, const char* member) {
  const auto at = object.find(member);
  if (at == object.end() || !at->is_number())
    return refuse(Kind::not_valid, fmt::format("\"{}\" is no number", member), "a number");
  return at->get<double>();
}

Answer<Act> act_of(const Json& typed) {
  if (!typed.is_object()) return refuse(Kind::not_valid, "an act is no object", "{\"do\": ...}");
  if (auto known = only_members(typed, {"do", "check", "cure", "end", "turns", "amount"}); !known)
    return tl::unexpected(known.error());
  const auto what = needed_text(typed, "do");
  if (!what) return tl::unexpected(what.error());
  Act out;
  if (*what == "look") {
    const auto code = needed_text(typed, "check");
    if (!code) return tl::unexpected(code.error());
    const auto check = belief::check_of(*code);
    if (!check)
      return refuse(Kind::not_valid, fmt::format("there is no check \"{}\"", code->substr(0, 40)),
                    "a check's code");
    out.check = *check;
    return out;
  }
  if (*what == "cure") {
    const auto code = needed_text(typed, "cure");
    if (!code) return tl::unexpected(code.error());
    out.what = Act::What::cure;
    for (std::size_t c = 0; c < belief::kCureCount; ++c) {
      if (*code != belief::code(static_cast<belief::Cure>(c))) continue;
      out.cure = static_cast<belief::Cure>(c);
      return out;
    }
    return refuse(Kind::not_valid, fmt::format("there is no cure \"{}\"", code->substr(0, 40)),
                  "a cure's code");
  }
  const bool cut = *what == "cut";
  if (!cut && *what != "ream" && *what != "screw") {
    return refuse(Kind::not_valid, fmt::format("\"{}\" is nothing to do at a key", what->substr(0, 40)),
                  "look, cure, cut, ream or screw");
  }
  out.what = cut ? Act::What::cut : *what == "ream" ? Act::What::ream : Act::What::screw;
  const auto end = needed_text(typed, "end");
  if (!end) return tl::unexpected(end.error());
  if (*end != "upper" && *end != "lower")
    return refuse(Kind::not_valid, "\"end\" is no end", "upper or lower");
  out.side = *end == "upper" ? belief::Side::upper : belief::Side::lower;
  const auto size = number_in(typed, out.what == Act::What::screw ? "amount" : "turns");
  if (!size) return tl::unexpected(size.error());
  if (out.what == Act::What::screw) {
    out.amount = millimetres(*size);
  } else {
    out.turns = *size;
  }
  return out;
}

Json causes_of(belief::Causes causes) {
  Json out = Json::array();
  for (std::size_t c = 0; c < belief::kCauseCount; ++c) {
    if (causes.has(static_cast<belief::Cause>(c))) out.push_back(belief::code(static_cast<belief::Cause>(c)));
  }
  return out;
}

Json hint_of(const practice::Hint& hint) {
  Json out = {{"causes", Json::array()}, {"before_cut", Json::array()}};
  for (const belief::CauseShare& c : hint.causes)
    out["causes"].push_back({{"cause", belief::code(c.cause)}, {"share", std::round(c.share * 1e6) / 1e6}});
  for (const belief::Barrier& b : hint.before_cut) {
    Json checks = Json::array();
    for (const belief::Check c : b.checks) checks.push_back(belief::code(c));
    out["before_cut"].push_back({{"cause", belief::code(b.cause)},
                                 {"share", std::round(b.share * 1e6) / 1e6},
                                 {"checks", std::move(checks)}});
  }
  if (hint.look) out["look"] = belief::code(*hint.look);
  out["cure"] = belief::code(hint.cure);
  return out;
}

Json truth_of(const Pupil& bench) {
  const practice::Truth truth = bench.truth();
  return {{"causes", causes_of(truth.causes)},
          {"standing", causes_of(truth.standing)},
          {"came_with", millimetres_of(truth.came_with)},
          {"end_play", millimetres_of(truth.end_play)},
          {"in_window", truth.in_window},
          {"least_metal", millimetres_of(truth.least_metal)},
          {"went_under", truth.went_under},
          {"per_turn", millimetres_of(truth.per_turn)}};
}

Json key_of(const Pupil& bench) {
  const belief::KeyGeometry& g = bench.geometry();
  Json out = {{"span", millimetres_of(g.span)}, {"key_length", millimetres_of(g.key_length)}};
  if (bench.kind() == practice::Kind::rod) {
    out["rod_diameter"] = millimetres_of(g.rod_diameter);
  } else {
    out["half_angle"] = std::round(in_degrees(g.upper.point.half_angle) * 1e6) / 1e6;
  }
  return out;
}

}  // namespace

Answer<std::string> Desk::practise(const Who& who, std::string_view json) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto object = object_of(json);
  if (!object) return tl::unexpected(object.error());
  if (auto known = only_members(*object, {"seed", "kind", "acts", "show"}); !known)
    return tl::unexpected(known.error());
  const auto seed = object->find("seed");
  if (seed == object->end() || !seed->is_number_unsigned() || seed->get<std::uint64_t>() > kMostSeed)
    return refuse(Kind::not_valid, "\"seed\" is no seed", fmt::format("a whole number, 0 to {}", kMostSeed));
  const auto kind = needed_text(*object, "kind");
  if (!kind) return tl::unexpected(kind.error());
  const auto* found =
      std::find_if(kKinds.begin(), kKinds.end(), [&](const auto& k) { return *kind == k.first; });
  if (found == kKinds.end())
    return refuse(Kind::not_valid, fmt::format("there is no kind \"{}\"", kind->substr(0, 40)),
                  "headed, headless or rod");
  const auto show = text_in(*object, "show");
  if (!show) return tl::unexpected(show.error());
  if (!show->empty() && *show != "hint" && *show != "truth")
    return refuse(Kind::not_valid, "\"show\" is nothing to show", "hint or truth");
  const auto acts = object->find("acts");
  if (acts == object->end() || !acts->is_array())
    return refuse(Kind::not_valid, "\"acts\" is no list", "what was done so far");
  if (acts->size() > Pupil::kMostActs)
    return refuse(Kind::not_valid, "too much was done at this key",
                  fmt::format("at most {} acts", Pupil::kMostActs));

  Pupil bench(seed->get<std::uint64_t>(), found->second);
  Json said = Json::array();
  for (const Json& typed : *acts) {
    const auto act = act_of(typed);
    if (!act) return tl::unexpected(act.error());
    const auto finding = bench.act(*act);
    if (!finding) return as_trouble(finding.error());
    Json row = typed;
    if (*finding) {
      if (belief::is_reading((*finding)->check)) {
        // Nobody reads a dial closer than that.
        row["value"] = std::round(in_millimetres((*finding)->value) * 1000) / 1000;
      } else {
        row["answer"] = belief::answers((*finding)->check)[(*finding)->choice];
      }
    }
    said.push_back(std::move(row));
  }
  Json checks = Json::array();
  for (std::size_t c = 0; c < belief::kCheckCount; ++c) {
    const auto check = static_cast<belief::Check>(c);
    if (bench.applies(check))
      checks.push_back({{"check", belief::code(check)}, {"minutes", bench.presets().minutes[c]}});
  }
  Json out = {{"kind", found->first},
              {"complaint", belief::word(bench.complaint())},
              {"window",
               {{"low", millimetres_of(bench.window_low())}, {"high", millimetres_of(bench.window_high())}}},
              {"key", key_of(bench)},
              {"checks", std::move(checks)},
              {"said", std::move(said)},
              {"minutes", std::round(bench.minutes() * 10) / 10},
              {"metal", millimetres_of(bench.metal().total())}};
  if (*show == "hint") {
    const auto hint = bench.hint();
    if (!hint) return as_trouble(hint.error());
    out["hint"] = hint_of(*hint);
  }
  if (*show == "truth") out["truth"] = truth_of(bench);
  return text_of(out);
}

}  // namespace hingeline::desk
