#include "hingeline/service/wear.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <numbers>
#include <string>

#include "hingeline/base/moment.h"
#include "hingeline/mechanism/hinge.h"
#include "json_parts.h"
#include "nearest.h"
#include "standard.h"

namespace hingeline::service {
namespace {

using endurance::Lognormal;
using endurance::Rubbing;

constexpr double kWeeksPerYear = 365.2425 / 7;
constexpr const char* kFormula =
    "growth = k F s / (H A sin a) at each end, s = swing there and back x mean radius; x closings an hour x "
    "hours a "
    "year";

double raw(double v) { return v; }
template <class K>
double raw(Quantity<K> q) {
  return q.raw();
}

/// The lognormal of an entry: of its range, or of its value with its ±.
template <class Q>
std::optional<Lognormal> lognormal_of(const record::Entry<Q>& e, const record::Shop& shop) {
  if (e.range) {
    const auto l = endurance::lognormal_within(raw(e.range->low), raw(e.range->high), kTold);
    return l ? std::optional(*l) : std::nullopt;
  }
  if (!e.known() || !(raw(e.value) > 0)) return std::nullopt;
  const double relative = reckon(e, shop).standard / raw(e.value);
  return Lognormal{raw(e.value), std::sqrt(std::log1p(relative * relative))};
}

/// The first of three that says anything: the instrument's, the shop's, the general figures'.
template <class Q>
Expected<WearInput> settled(const std::string& name, const std::string& unit, const record::Entry<Q>& own,
                            const record::Entry<Q>& shops, const record::Entry<Q>& general,
                            const record::Shop& shop) {
  for (const auto* e : {&own, &shops, &general}) {
    if (const auto value = lognormal_of(*e, shop)) {
      const bool is_own = e == &own;
      const char* origin = e->range && is_own ? "range" : is_own ? word(e->origin) : "preset";
      return WearInput{name, *value, unit, origin, is_own ? e->place.pointer : "", 0, e->meaning};
    }
  }
  return fail(Fault::content, fmt::format("{}: nothing says how large", name), "a range above 0", own.place);
}

struct Figures {
  std::vector<WearInput> inputs;  ///< a product of these and the key's geometry
  double edge = 0;                ///< mm
  double unsteady = 0;
};

Expected<Figures> figures_for(const record::Instrument& instrument, const record::Shop& shop) {
  const record::WearPresets& own = shop.presets.wear;
  const record::WearPresets& general = general_shop().presets.wear;
  const auto& pairs = own.pairs.empty() ? general.pairs : own.pairs;
  const record::WearPair* pair = &pairs.front();
  if (!instrument.playing.surfaces.empty()) {
    std::vector<std::string> names;
    for (const auto& p : pairs) names.push_back(p.name);
    const auto at = std::find(names.begin(), names.end(), instrument.playing.surfaces);
    if (at == names.end()) {
      const std::string near = nearest_name(instrument.playing.surfaces, names);
      record::Where place = instrument.playing.place;
      place.pointer += "/surfaces";
      return fail(
          Fault::not_found, fmt::format("the shop has no wear pair \"{}\"", instrument.playing.surfaces),
          near.empty() ? "one of the shop's \"wear\" pairs" : fmt::format("perhaps \"{}\"", near), place);
    }
    pair = &pairs[static_cast<std::size_t>(at - names.begin())];
  }
  const record::NumberEntry none;
  const record::AngleEntry no_angle;
  Figures out;
  const auto& playing = instrument.playing;
  for (auto& input :
       {settled("wear coefficient k, " + pair->name, "1e-6", none, pair->coefficient, none, shop),
        settled("hours of playing", "h/week", playing.hours, own.hours, general.hours, shop),
        settled("closings of a key", "closings/h", playing.closings, own.closings, general.closings, shop),
        settled("load on a key's end", "N", none, own.load, general.load, shop),
        settled("swing of the key", "rad", no_angle, own.swing, general.swing, shop),
        settled("hardness", "MPa", none, pair->hardness, none, shop),
        settled("share of the surface that carries", "", none, own.share, general.share, shop)}) {
    if (!input) return tl::unexpected(input.error());
    out.inputs.push_back(*input);
  }
  const auto& unsteady = own.unsteady.known() ? own.unsteady : general.unsteady;
  const auto& edge = own.edge.known() ? own.edge : general.edge;
  out.unsteady = unsteady.value;
  out.edge = in_millimetres(edge.value);
  return out;
}

/// Median of an input by its place in figures_for().
enum : std::size_t { kCoefficient, kHours, kClosings, kLoad, kSwing, kHardness, kShare };

struct Carries {
  Rubbing rubbing;
  std::string said;
};

/// What carries at one end, whole: the share of it comes in afterwards.
Expected<Carries> carries_at(const KeyResult& key, Side side, double edge) {
  const auto home = mechanism::home_end(*key.hinge, side);
  const auto& joint = key.hinge->end(side).joint;
  const auto& ends = key.source->hinge;
  const record::End& end = side == Side::upper ? ends.upper : ends.lower;
  const auto& form = key.estimate().geometry.at(side);
  const bool on_sides =
      !joint.is_rod() && home.stop == mechanism::StopKind::joint && contact::centres(home.regime);
  if (on_sides) {
    const double radius = in_millimetres(joint.home().radius);
    const double run_in = in_millimetres(joint.home().touching);
    const bool ball = form.point.shape == contact::PointShape::ball;
    const double ball_radius = in_millimetres(form.point.ball_radius);
    const Angle half_angle = form.point.shape == contact::PointShape::cone ? form.point.half_angle
                             : ball && radius < ball_radius      ? radians(std::acos(radius / ball_radius))
                             : form.hole.half_angle > radians(0) ? form.hole.half_angle
                                                                 : radians(std::numbers::pi / 4);
    const double length = std::max(run_in, edge);
    const double half = std::min(length / 2 * tan(half_angle), radius);
    auto rubbing = endurance::flank(millimetres(radius - half), millimetres(radius + half), half_angle);
    if (!rubbing) return tl::unexpected(rubbing.error());
    return Carries{*rubbing, fmt::format("{} end on its {}", word(side), contact::word(home.regime))};
  }
  const record::LengthEntry& outside = end.key_end_diameter;
  const Length inner = joint.is_rod() ? key.estimate().geometry.rod_diameter / 2 : form.hole.mouth_radius;
  if (!outside.known() || outside.value / 2 <= inner) {
    return fail(Fault::content,
                fmt::format("the {} end runs on its face, and nothing says how wide that is", word(side)),
                "\"key_end_diameter\" at that end", end.place);
  }
  auto rubbing = endurance::face(inner, outside.value / 2);
  if (!rubbing) return tl::unexpected(rubbing.error());
  return Carries{*rubbing, fmt::format("{} end on its face", word(side))};
}

Moment noon_of(const std::string& date) { return parse_moment(date + "T12:00Z")->moment; }

/// The key's own growth, from its earlier end plays and the present one: one series for each fit.
Expected<std::vector<endurance::Growth>> growths_of(const KeyResult& key, const record::Shop& shop,
                                                    const std::string& read_on, std::vector<Said>& notes) {
  std::vector<std::vector<endurance::PlayAt>> series;
  std::string before;
  for (const record::PastPlay& past : key.source->past) {
    if (past.on < before)
      return fail(Fault::content, fmt::format("{} stands after {}", past.on, before),
                  "the earliest day first", past.place);
    if (past.on > read_on) {
      return fail(Fault::content,
                  fmt::format("an earlier end play of {}, after {} when they were read", past.on, read_on),
                  "a day before that", past.place);
    }
    before = past.on;
    if (series.empty() || past.kind == record::PastKind::fitted) series.emplace_back();
    if (!past.end_play.known()) continue;
    const Reckoned r = reckon(past.end_play, shop);
    if (!(r.standard > 0)) {
      return fail(Fault::content, "an end play that cannot be off", "its ±, or the measuring instrument",
                  past.end_play.place);
    }
    series.back().push_back({noon_of(past.on), millimetres(r.value), millimetres(r.standard)});
  }
  // What stands in the estimate has been read after all of these.
  const auto& now = key.estimate()[Figure::end_play];
  if (!series.empty() && key.source->readings.end_play.known() && now.plus_minus > 0)
    series.back().push_back({noon_of(read_on), millimetres(now.value), millimetres(now.plus_minus / 2)});
  std::vector<endurance::Growth> out;
  for (const auto& one : series) {
    const auto growth = endurance::growth_in(one);
    if (!growth) continue;
    out.push_back(*growth);
    notes.push_back(say("since ", day_text(one.front().when, {}), " it has grown by ", growth->per_year,
                        " ± ", growth->standard * 2.0, " a year, by ", std::to_string(one.size()),
                        " readings"));
  }
  return out;
}

KeyWear wear_of_key(const KeyResult& key, const Figures& figures, const record::Shop& shop,
                    const std::string& read_on) {
  KeyWear out;
  out.id = key.id;
  out.name = key.name;
  out.problem = key.problem;
  if (out.problem) return out;
  out.now = key.estimate()[Figure::end_play];
  out.edge = key.plan.window.high;
  out.edge_rule = key.plan.window.high_rule;
  if (key.plan.window.crossed) {
    out.problem = Error{Fault::geometry, "no end play is right for it: its window is crossed",
                        "what \"plan\" says of it", key.source->place};
    return out;
  }
  const auto& in = figures.inputs;
  const auto refuse = [&](const Error& e) {
    out.problem = e;
    return out;
  };
  Length per_closing;
  for (const Side side : {Side::upper, Side::lower}) {
    const auto carries = carries_at(key, side, figures.edge);
    if (!carries) return refuse(carries.error());
    out.rides.push_back(carries->said);
    per_closing += endurance::freer_per_closing(
        in[kCoefficient].value.median * 1e-6, newtons(in[kLoad].value.median), carries->rubbing,
        radians(2 * in[kSwing].value.median), pascals(in[kHardness].value.median * 1e6));
  }
  per_closing = per_closing / in[kShare].value.median;
  double variance = 0;
  for (const WearInput& i : in) variance += i.value.spread * i.value.spread;
  out.reckoned = {
      in_millimetres(per_closing) * in[kClosings].value.median * in[kHours].value.median * kWeeksPerYear,
      std::sqrt(variance)};
  out.inputs = in;
  for (WearInput& i : out.inputs) i.share = variance > 0 ? i.value.spread * i.value.spread / variance : 0;
  std::stable_sort(out.inputs.begin(), out.inputs.end(),
                   [](const WearInput& a, const WearInput& b) { return a.share > b.share; });

  const auto seen = growths_of(key, shop, read_on, out.notes);
  if (!seen) return refuse(seen.error());
  out.seen = seen->size();
  const auto growth = endurance::sharpened(out.reckoned, *seen, figures.unsteady);
  if (!growth) return refuse(growth.error());
  out.growth = *growth;
  // The years to come differ from those gone by as these do among themselves.
  const Lognormal coming = out.growth * Lognormal{1, figures.unsteady};
  const Length standard = millimetres(out.now.plus_minus / 2);
  const auto range_of = [](const endurance::Due& due) {
    return KeyWear::Range{due.by((1 - kTold) / 2), due.by(0.5), due.by((1 + kTold) / 2)};
  };
  const auto due = endurance::Due::of(millimetres(out.now.value), standard, out.edge, coming);
  if (!due) return refuse(due.error());
  out.below = millimetres(out.now.value) < key.plan.window.low;
  out.past = due->passed_by(endurance::years(0));
  out.due = range_of(*due);
  out.aim = (key.plan.window.low + out.edge) / 2;
  const auto fitted = endurance::Due::of(out.aim, standard, out.edge, coming);
  if (!fitted) return refuse(fitted.error());
  out.fitted = range_of(*fitted);
  return out;
}

std::string origin_text(const WearInput& i) {
  return i.pointer.empty() ? i.origin : fmt::format("{}, {}", i.origin, i.pointer);
}

/// Three digits; angles in degrees.
std::string shown(double v, const std::string& unit) {
  if (unit == "rad") return fmt::format("{:.3g}", in_degrees(radians(v)));
  return v >= 100 ? fmt::format("{:.0f}", v) : fmt::format("{:.3g}", v);
}
std::string unit_shown(const std::string& unit) {
  return unit == "rad" ? "°" : unit == "1e-6" ? " millionths" : unit.empty() ? "" : " " + unit;
}

std::string growth_text(const Lognormal& growth, LengthUnit unit) {
  const double scale = unit == LengthUnit::inch ? 1 / kMillimetresPerInch : 1;
  const char* name = unit == LengthUnit::inch ? "in" : "mm";
  return fmt::format("{:.2g} to {:.2g} {} a year", growth.quantile(0.05) * scale,
                     growth.quantile(0.95) * scale, name);
}

Json years_json(Duration d) {
  const double y = endurance::in_years(d);
  return std::isfinite(y) ? Json(std::round(y * 1e4) / 1e4) : Json(nullptr);
}

}  // namespace

Expected<WearResult> wear_of(const record::Instrument& instrument, const record::Shop& shop,
                             const InstrumentResult& bench, const std::string& today) {
  const auto figures = figures_for(instrument, shop);
  if (!figures) return tl::unexpected(figures.error());
  WearResult out;
  out.title = bench.title;
  out.units = bench.units;
  out.read_on = instrument.playing.read_on.empty() ? today : instrument.playing.read_on.text;
  for (const KeyResult& key : bench.keys) out.keys.push_back(wear_of_key(key, *figures, shop, out.read_on));
  return out;
}

std::string show_years(Duration d) {
  const double y = endurance::in_years(d);
  constexpr double kLong = 200;
  if (y <= 0) return "now";
  if (!(y <= kLong)) return fmt::format("over {:.0f} years", kLong);
  const double months = y * 12;
  if (months < 1) return "under a month";
  if (months < 23.5) return fmt::format("{:.0f} month{}", months, std::lround(months) == 1 ? "" : "s");
  return y < 9.95 ? fmt::format("{:.1f} years", y) : fmt::format("{:.0f} years", y);
}

std::string show_years(const KeyWear::Range& range) {
  const std::string from = show_years(range.early);
  const std::string to = show_years(range.late);
  if (from == to) return from;
  const auto unit_of = [](const std::string& t) { return t.substr(std::min(t.find(' '), t.size())); };
  // "3 to 9 years", but "4 months to 9 years".
  const bool short_form = unit_of(from) == unit_of(to) &&
                          std::isdigit(static_cast<unsigned char>(from.front())) != 0 &&
                          std::isdigit(static_cast<unsigned char>(to.front())) != 0;
  return fmt::format("{} to {}", short_form ? from.substr(0, from.find(' ')) : from, to);
}

std::string tell(const KeyWear& key, LengthUnit unit) {
  if (key.problem) return "cannot say: " + key.problem->what;
  std::string out = fmt::format("end play {}, window up to {}: ", show(key.now, unit), show(key.edge, unit));
  if (key.below) {
    out += "tighter than its window, so wear is not what it waits for";
  } else if (key.due.late <= seconds(0)) {
    out += "due now";
  } else {
    out += fmt::format("due again in {}, nine times in ten; as likely before as after {}",
                       show_years(key.due), show_years(key.due.middle));
    if (key.past >= 0.05) out += fmt::format("; {:.0f} in 100 that it is due already", 100 * key.past);
  }
  return out + fmt::format(". Fitted to {}: again in {}, as likely before as after {}", show(key.aim, unit),
                           show_years(key.fitted), show_years(key.fitted.middle));
}

std::vector<std::string> explain(const KeyWear& key, LengthUnit unit) {
  std::vector<std::string> out;
  if (key.problem) return {"cannot say: " + key.problem->what + "; expected " + key.problem->expected};
  out.push_back(tell(key, unit));
  if (!key.edge_rule.empty()) out.push_back("the window's upper edge: " + key.edge_rule);
  out.push_back("growth of end play by loads and coefficients: " + growth_text(key.reckoned, unit));
  out.push_back(std::string("by ") + kFormula);
  for (const std::string& r : key.rides) out.push_back(r);
  for (const WearInput& i : key.inputs) {
    out.push_back(fmt::format("{}: {} to {}{} ({}); {:.0f} % of the doubt", i.name,
                              shown(i.value.quantile(0.05), i.unit), shown(i.value.quantile(0.95), i.unit),
                              unit_shown(i.unit), origin_text(i), 100 * i.share));
  }
  for (const Said& n : key.notes) out.push_back(n.in(unit));
  if (key.seen > 0) {
    out.push_back("with what this key has shown: " + growth_text(key.growth, unit));
  } else if (!key.inputs.empty()) {
    out.push_back(fmt::format(
        "{} rules: it is known by its order of magnitude only. An end play read again in a year or two says "
        "more than any table: note it under \"past\"",
        key.inputs.front().name));
  }
  return out;
}

std::string to_json(const WearResult& result, LengthUnit unit, const std::string& only_key) {
  Json keys = Json::array();
  // Growth may be a millionth of a millimetre: six digits, not six decimals.
  const auto digits = [](double v) { return Json(std::stod(fmt::format("{:.6g}", v))); };
  const auto growth = [&](const Lognormal& g) {
    return Json{{"median", digits(g.median)},
                {"low", digits(g.quantile(0.05))},
                {"high", digits(g.quantile(0.95))},
                {"unit", "mm/year"}};
  };
  for (const KeyWear& k : result.keys) {
    if (!only_key.empty() && k.id != only_key) continue;
    Json one = {{"id", k.id}, {"name", k.name}};
    if (k.problem) {
      one["problem"] = {{"what", k.problem->what}, {"expected", k.problem->expected}};
      keys.push_back(std::move(one));
      continue;
    }
    Json inputs = Json::array();
    for (const WearInput& i : k.inputs) {
      inputs.push_back({{"name", i.name},
                        {"median", number(i.value.median)},
                        {"low", number(i.value.quantile(0.05))},
                        {"high", number(i.value.quantile(0.95))},
                        {"unit", i.unit},
                        {"origin", i.origin},
                        {"pointer", i.pointer},
                        {"share_of_doubt", number(i.share)},
                        {"meaning", i.meaning}});
    }
    one["end_play"] = {{"value", number(k.now.value)}, {"plus_minus", number(k.now.plus_minus)}};
    one["upper_edge"] = number(k.edge);
    const auto range = [](const KeyWear::Range& r) {
      return Json{{"early", years_json(r.early)},
                  {"middle", years_json(r.middle)},
                  {"late", years_json(r.late)},
                  {"coverage", kTold}};
    };
    one["tighter_than_window"] = k.below;
    one["due_years"] = range(k.due);
    one["fitted_to"] = number(k.aim);
    one["fitted_due_years"] = range(k.fitted);
    one["due_already"] = number(k.past);
    one["growth_reckoned"] = growth(k.reckoned);
    one["growth"] = growth(k.growth);
    one["series_seen"] = k.seen;
    one["formula"] = kFormula;
    one["inputs"] = std::move(inputs);
    one["rides"] = k.rides;
    one["said"] = tell(k, unit);
    one["notes"] = Json::array();
    for (const Said& n : k.notes) one["notes"].push_back(n.in(unit));
    keys.push_back(std::move(one));
  }
  return text_of(
      {{"title", result.title}, {"read_on", result.read_on}, {"unit", "mm"}, {"keys", std::move(keys)}});
}

}  // namespace hingeline::service
