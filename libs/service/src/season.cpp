#include "hingeline/service/season.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>

#include "climate.h"
#include "json_parts.h"

namespace hingeline::service {
namespace {

using body::Air;
using body::Moisture;
using body::Sure;
using body::Warmth;

constexpr double kMillionth = 1e-6;

/// End play in one air as a worked result. Which numbers it rests on depends on the air.
Worked end_play_in(const char* code, const std::string& name, Air air, const Given& end_play,
                   const LineGivens& g, const Climate& climate) {
  std::vector<Given> givens{end_play};
  const bool warmth = air.warmth != Warmth::bench;
  const bool own_word = air.moisture == Moisture::driest && g.dries_by.has_value();
  const bool moisture =
      air.moisture != Moisture::bench && !own_word && (g.body_moisture.value > 0 || g.key_moisture.value > 0);
  if (warmth || moisture) givens.push_back(g.span);
  if (warmth) {
    const auto& there = air.warmth == Warmth::coldest ? climate.coldest : climate.warmest;
    givens.insert(givens.end(), {g.body_expansion, g.key_expansion, climate.bench, *there});
  }
  if (own_word) givens.push_back(*g.dries_by);
  const Given& points = air.moisture == Moisture::driest ? climate.drier : climate.wetter;
  if (moisture) givens.insert(givens.end(), {g.body_moisture, g.key_moisture, points});
  std::string formula = "end play at the bench";
  if (warmth) formula += " + (alpha body - alpha key) x span x (temperature - bench)";
  if (own_word) formula += " - what the body shortens as it dries";
  if (moisture) {
    formula += fmt::format(" {} (beta body - beta key) x span x change of moisture",
                           air.moisture == Moisture::driest ? "-" : "+");
  }
  const double way = air.moisture == Moisture::driest ? -1 : 1;
  return work(code, name, "mm", formula, std::move(givens), [&, way](std::span<const double> v) {
    double play = v[0];
    std::size_t at = 2;
    if (warmth) {
      play +=
          body::end_play_change(v[2] * kMillionth, v[3] * kMillionth, millimetres(v[1]), kelvins(v[5] - v[4]))
              .raw();
      at = 6;
    }
    if (own_word) play -= v[warmth ? at : 1];
    if (moisture) play += way * (v[at] - v[at + 1]) * kMillionth * v[1] * v[at + 2];
    return play;
  });
}

/// What is wanted of a key anywhere: the plan's window without what season and bench add to it.
plan::Window still_window(const KeyResult& key) {
  plan::WindowInputs in = key.key_case->window;
  in.colder = in.warmer = TemperatureStep{};
  in.moisture = {};
  return plan::window_for(key.estimate().geometry, *key.hinge, Length{}, in);
}

std::string verdict_of(const SeasonKey& k) {
  std::string out;
  const auto add = [&](Sure sure, const char* does, const char* may, Air air) {
    if (sure == Sure::no) return;
    if (!out.empty()) out += ", ";
    out += fmt::format("{} {}", sure == Sure::yes ? does : may, air == Air{} ? "already" : where(air));
  };
  // What is wrong at the bench is not the season's doing.
  add(k.binds, "binds", "may bind", k.wrong_already && k.binds == Sure::yes ? Air{} : k.least_in);
  if (k.tight) add(Sure::yes, "tight", "tight", k.bench.value < k.needed.raw() ? Air{} : k.least_in);
  add(k.rattles, "rattles", "may rattle", k.wrong_already && k.rattles == Sure::yes ? Air{} : k.most_in);
  return out.empty() ? "holds" : out;
}

Said because_of(const SeasonKey& k) {
  const auto doubt = [](const Worked& w) {
    return WithDoubt{millimetres(w.value), millimetres(w.plus_minus())};
  };
  const bool falls = k.least_in != Air{};
  const bool rises = k.most_in != Air{};
  Said out = say("end play ", doubt(k.bench), " at the bench");
  if (falls) out << say(", ", doubt(k.least), " ", where(k.least_in));
  if (rises) out << say(", ", doubt(k.most), " ", where(k.most_in));
  if (!falls && !rises) out << " and wherever it is played: by these figures body and keys move alike";
  if (k.window.crossed()) {
    out << say("; no fit at the bench holds everywhere: it takes ", k.window.low, " to stay free ",
               where(k.least_in), ", and then has ", k.window.low + k.window.high_part, " ", where(k.most_in),
               " where ", k.allowed, " is allowed");
  } else if (k.verdict != "holds") {
    out << say("; fitted to ", FromTo{k.window.low, k.window.high}, " at the bench it holds everywhere");
  }
  return out;
}

}  // namespace

std::string where(Air air) {
  if (air == Air{}) return "at the bench";
  const bool cold = air.warmth == Warmth::coldest;
  const bool dry = air.moisture == Moisture::driest;
  if (air.moisture == Moisture::bench) return cold ? "in the cold" : "in the warm";
  if (air.warmth == Warmth::bench) return dry ? "when dry" : "when damp";
  return fmt::format("when {} and {}", cold ? "cold" : "warm", dry ? "dry" : "damp");
}

Expected<SeasonResult> season(const InstrumentResult& result, const record::Instrument& instrument,
                              const record::Shop& shop, const std::string& service) {
  const auto climate = climate_of(instrument.body, shop, service);
  if (!climate) return tl::unexpected(climate.error());
  const auto missing = [&](const char* what, const Place& place) {
    return fail(Fault::content,
                fmt::format("nothing says how the {} expand{}", what, what[0] == 'b' ? "s" : ""),
                "a material of the shop's, or \"expansion\"", place);
  };
  const auto body_expansion =
      expansion_given("expansion of the body", instrument.body.expansion, instrument.body.material, shop);
  if (!body_expansion) return missing("body", instrument.body.place);
  const auto key_expansion = expansion_given("expansion of the keys", instrument.key_material.expansion,
                                             instrument.key_material.material, shop);
  if (!key_expansion) return missing("keys", instrument.key_material.place);

  LineGivens g;
  g.body_expansion = *body_expansion;
  g.key_expansion = *key_expansion;
  g.body_moisture = moisture_given("growth of the body with moisture", instrument.body.material, shop);
  g.key_moisture = moisture_given("growth of the keys with moisture", instrument.key_material.material, shop);
  g.dries_by = given("shortening of the body as it dries", instrument.body.moisture, {}, shop);
  if (g.dries_by && g.dries_by->origin == Origin::preset && !instrument.body.moisture.plus_minus) {
    g.dries_by->standard = 0;  // a rule of thumb, not a reading
  }

  SeasonResult out;
  out.title = result.title;
  out.service = climate->name;
  const body::Service where_played = climate->service();
  out.bench = climate->bench.value;
  out.coldest = in_celsius(where_played.coldest);
  out.warmest = in_celsius(where_played.warmest);
  if (g.body_moisture.value > 0 || g.key_moisture.value > 0) {
    out.drier = climate->drier.value;
    out.wetter = climate->wetter.value;
  }
  if (!climate->coldest && !climate->warmest) {
    out.notes.emplace_back(
        "nothing says how cold or warm it is played: give \"service\" or \"service_from\" and "
        "\"service_to\", or ask with --service");
  }
  if (climate->coldest && climate->coldest->value > climate->bench.value) {
    out.notes.emplace_back("the bench is colder than it is played at");
  }
  if (climate->warmest && climate->warmest->value < climate->bench.value) {
    out.notes.emplace_back("the bench is warmer than it is played at");
  }

  // The ends as they are reckoned with: never on this side of the bench.
  Climate ends = *climate;
  if (!ends.coldest || ends.coldest->value > ends.bench.value) ends.coldest = ends.bench;
  if (!ends.warmest || ends.warmest->value < ends.bench.value) ends.warmest = ends.bench;

  for (const KeyResult& key : result.keys) {
    SeasonKey k;
    k.id = key.id;
    k.name = key.name;
    if (key.problem) {
      k.problem = key.problem;
      out.keys.push_back(std::move(k));
      continue;
    }
    const belief::FigureValue& play = key.estimate()[Figure::end_play];
    const Given end_play = reckoned("end play at the bench", play.value, play.plus_minus / 2, "mm");
    const auto span = given("span between the posts", key.source->hinge.span, {}, shop);
    g.span = span ? *span : reckoned("span between the posts", key.estimate().geometry.span.raw(), 0, "mm");
    g.span.value = key.estimate().geometry.span.raw();
    const body::HingeLine line = g.line();
    const body::SeasonPlay airs = body::season_play(
        {millimetres(play.value), millimetres(play.plus_minus), Origin::read}, line, where_played);
    k.least_in = airs.least_in;
    k.most_in = airs.most_in;
    const auto in = [&](const char* code, const std::string& name, Air air) {
      return end_play_in(code, name, air, end_play, g, ends);
    };
    k.coldest =
        in("coldest", fmt::format("end play at {:g} °C", out.coldest), {Warmth::coldest, Moisture::bench});
    k.bench = in("bench", fmt::format("end play at {:g} °C, the bench", out.bench), {});
    k.warmest =
        in("warmest", fmt::format("end play at {:g} °C", out.warmest), {Warmth::warmest, Moisture::bench});
    k.least = in("least", "least end play, " + where(k.least_in), k.least_in);
    k.most = in("most", "most end play, " + where(k.most_in), k.most_in);
    const plan::Window still = still_window(key);
    k.needed = still.low;
    // Rock or pad gap that stays without end play is no reason to take end play off.
    k.allowed = still.crossed && still.high.raw() == 0 ? key.key_case->window.window_high : still.high;
    k.window = body::bench_window(k.needed, k.allowed, line, where_played);
    const auto measured = [](const Worked& w) {
      return Measured<Length>{millimetres(w.value), millimetres(w.plus_minus()), Origin::read};
    };
    k.binds = body::below(measured(k.least), Length{});
    k.tight = k.binds == Sure::no && k.least.value < k.needed.raw();
    k.rattles = k.most.value > k.allowed.raw() ? body::above(measured(k.most), k.allowed) : Sure::no;
    k.wrong_already = body::below(measured(k.bench), Length{}) == Sure::yes ||
                      body::above(measured(k.bench), k.allowed) == Sure::yes;
    k.verdict = verdict_of(k);
    k.because = because_of(k);
    out.keys.push_back(std::move(k));
  }
  return out;
}

std::string to_json(const SeasonResult& result, LengthUnit unit, const std::string& only_key) {
  const auto sure = [](Sure s) { return s == Sure::yes ? "yes" : s == Sure::perhaps ? "perhaps" : "no"; };
  Json keys = Json::array();
  for (const SeasonKey& k : result.keys) {
    if (!only_key.empty() && k.id != only_key) continue;
    Json key = {{"id", k.id}, {"name", k.name}};
    if (k.problem) {
      key["problem"] = record::describe(*k.problem);
      keys.push_back(std::move(key));
      continue;
    }
    key["verdict"] = k.verdict;
    key["binds"] = sure(k.binds);
    key["tight"] = k.tight;
    key["rattles"] = sure(k.rattles);
    key["wrong_already"] = k.wrong_already;
    key["because"] = k.because.in(unit);
    key["end_play"] = {{"coldest", json_of(k.coldest)},    {"bench", json_of(k.bench)},
                       {"warmest", json_of(k.warmest)},    {"least", json_of(k.least)},
                       {"least_where", where(k.least_in)}, {"most", json_of(k.most)},
                       {"most_where", where(k.most_in)}};
    key["needed"] = number(k.needed);
    key["allowed"] = number(k.allowed);
    key["bench_window"] = {{"low", number(k.window.low)},
                           {"high", number(k.window.high)},
                           {"crossed", k.window.crossed()},
                           {"low_moved_by", number(k.window.low_part)},
                           {"high_moved_by", number(k.window.high_part)}};
    keys.push_back(std::move(key));
  }
  Json notes = Json::array();
  for (const Said& n : result.notes) notes.push_back(n.in(unit));
  const Json out = {
      {"title", result.title},
      {"service", result.service},
      {"temperature",
       {{"bench", number(result.bench)},
        {"coldest", number(result.coldest)},
        {"warmest", number(result.warmest)},
        {"unit", "degC"}}},
      {"moisture", {{"drier", number(result.drier)}, {"wetter", number(result.wetter)}, {"unit", "%"}}},
      {"notes", std::move(notes)},
      {"keys", std::move(keys)}};
  return text_of(out);
}

}  // namespace hingeline::service
