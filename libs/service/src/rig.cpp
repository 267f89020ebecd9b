#include "hingeline/service/rig.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "hingeline/base/reading.h"
#include "json_parts.h"

namespace hingeline::service {
namespace {

using endurance::Bounds;
using endurance::Finish;
using endurance::Life;

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
/// Taken where the document says none.
constexpr record::Range<double> kUsualShapes{1, 3};
constexpr double kUsualConfidence = 0.9;
/// Fewer failures than this tell no shape that is worth a line.
constexpr std::size_t kEnoughFailures = 3;

/// "1 234 567".
std::string thousands(std::int64_t n) {
  std::string digits = std::to_string(n);
  for (int at = static_cast<int>(digits.size()) - 3; at > 0; at -= 3)
    digits.insert(static_cast<std::size_t>(at), " ");
  return digits;
}
std::string thousands(double n) {
  return n < 1e15 ? thousands(static_cast<std::int64_t>(std::llround(n))) : fmt::format("{:.3g}", n);
}
/// Three digits, in groups: bounds are no better than that.
std::string about(double n) {
  if (!std::isfinite(n)) return "any number";
  if (n < 1) return fmt::format("{:.2g}", n);
  const double step = std::pow(10, std::max(0.0, std::floor(std::log10(n)) - 2));
  return thousands(std::round(n / step) * step);
}
std::string percent(double share) { return fmt::format("{:.1f} %", 100 * share); }
std::string closings_a_second(const endurance::Rate& rate) {
  std::string out = fmt::format("{:g}", static_cast<double>(rate.millionths) / 1e6);
  if (rate.plus_minus_millionths > 0)
    out += fmt::format(" ± {:g}", static_cast<double>(rate.plus_minus_millionths) / 1e6);
  return out + " a second";
}
/// "28 d 22 h", "3 h 05 min", "40 s".
std::string long_time(std::int64_t seconds) {
  const std::int64_t days = seconds / kSecondsPerDay;
  const std::int64_t hours = seconds / 3600 % 24;
  const std::int64_t minutes = seconds / 60 % 60;
  if (days > 0) return fmt::format("{} d {} h", days, hours);
  if (hours > 0) return fmt::format("{} h {:02} min", hours, minutes);
  if (minutes > 0) return fmt::format("{} min", minutes);
  return fmt::format("{} s", seconds);
}

/// An error of the room below, with the document's place for its pointer.
tl::unexpected<Error> placed(Error error, const record::Rig& rig) {
  const auto index = [&](const char* list) -> std::optional<std::size_t> {
    const std::string start = std::string("/") + list + "/";
    if (error.place.pointer.rfind(start, 0) != 0) return std::nullopt;
    return static_cast<std::size_t>(std::stoul(error.place.pointer.substr(start.size())));
  };
  if (const auto i = index("periods"); i && *i < rig.periods.size()) error.place = rig.periods[*i].place;
  if (const auto i = index("inspections"); i && *i < rig.inspections.size())
    error.place = rig.inspections[*i].place;
  return tl::unexpected(std::move(error));
}

Moment moment_of(const record::Text& text) { return parse_moment(text.text)->moment; }

Expected<endurance::Run> run_of(const record::Rig& rig) {
  std::vector<endurance::Period> periods;
  for (const record::RigPeriod& p : rig.periods) {
    if (!p.rate.known())
      return fail(Fault::content, "a rig that runs at a rate nobody knows", "closings a second",
                  p.rate.place);
    const auto rate = endurance::rate_per_second(p.rate.value, p.rate.plus_minus.value_or(0));
    if (!rate) {
      Error e = rate.error();
      e.place = p.rate.place;
      return tl::unexpected(std::move(e));
    }
    periods.push_back(
        {moment_of(p.from), p.to.empty() ? std::nullopt : std::optional(moment_of(p.to)), *rate});
  }
  auto run = endurance::Run::of(std::move(periods));
  if (!run) return placed(run.error(), rig);
  return *run;
}

Worked stated(std::string code, std::string name, std::string unit, std::string formula, double value,
              std::vector<Given> givens) {
  Worked out;
  out.code = std::move(code);
  out.name = std::move(name);
  out.unit = std::move(unit);
  out.formula = std::move(formula);
  out.value = value;
  for (Given& g : givens) out.effects.push_back({std::move(g), 0});
  return out;
}

/// What the specimens show.
void state(RigResult& out, const record::Range<double>& shapes) {
  std::vector<Life> lives;
  std::size_t failures = 0;
  std::size_t seen = 0;
  std::size_t failed_before = 0;
  std::size_t went_through = 0;
  double total = 0;
  const auto target = static_cast<double>(out.target);
  for (const RigSpecimenResult& s : out.specimens) {
    const Life& life = s.specimen.life;
    lives.push_back(life);
    if (life.failed()) ++failures;
    if (life.sound_to > 0) ++seen;
    total += life.sound_to;
    if (life.failed_by <= target) ++failed_before;
    if (life.sound_to >= target) ++went_through;
  }
  if (seen == 0) {
    out.cautions.emplace_back(
        "nothing can be said yet: no specimen has been seen sound after the first closing");
    return;
  }
  const std::string sure = fmt::format("{:g} % sure", 100 * out.confidence);
  const Given confidence = reckoned("confidence", out.confidence, 0, "");
  const Given units = reckoned("specimens seen sound", static_cast<double>(seen), 0, "");
  const Given failed = reckoned("failures", static_cast<double>(failures), 0, "");
  const Given least = reckoned("least Weibull shape", shapes.low, 0, "");
  const Given most = reckoned("greatest Weibull shape", shapes.high, 0, "");

  const auto shown = endurance::with_assumed_shape(lives, shapes.low, shapes.high, target, out.confidence);
  if (!shown) {
    out.cautions.push_back(shown.error().what);
  } else {
    const char* formula =
        "R = exp(-(T^b / sum t^b) chi2(C; 2r + 2)/2), t as last seen sound, the worst b of the range";
    RigStatement r{stated("reliability", "share that lasts to the target", "", formula, shown->reliability,
                          {units, failed, confidence, least, most,
                           reckoned("worst shape", shown->reliability_shape, 0, "")}),
                   shown->reliability,
                   kNone,
                   {}};
    r.words =
        shown->reliability < 5e-4
            ? fmt::format("{}: no share of such keys can be promised to last {} closings", sure,
                          thousands(out.target))
            : fmt::format(
                  "{}: at least {} of such keys last {} closings{} (Weibull shape {:g} to {:g} assumed)",
                  sure, percent(shown->reliability), thousands(out.target),
                  failures == 0 ? ", none having failed" : fmt::format(", {} having failed", failures),
                  shapes.low, shapes.high);
    out.statements.push_back(std::move(r));
    RigStatement b{
        stated("b10-assumed", "closings by which a tenth has failed", "closings",
               "B10 = (sum t^b (-ln 0.9) / (chi2(C; 2r + 2)/2))^(1/b), the worst b of the range", shown->b10,
               {units, failed, confidence, least, most, reckoned("worst shape", shown->b10_shape, 0, "")}),
        shown->b10,
        kNone,
        {}};
    b.words = fmt::format("{}: nine in ten last {} closings or more (same shapes)", sure, about(shown->b10));
    out.statements.push_back(std::move(b));
  }

  if (failures == 0) {
    const auto needed = endurance::units_without_failure({.reliability = 0.9, .confidence = out.confidence});
    if (needed) {
      RigStatement n{
          stated("units-needed", "specimens needed", "",
                 "n = ln(1 - C)/ln R, each run to the target without a failure (classical; Bayes' success "
                 "run needs one less)",
                 needed->whole, {confidence, reckoned("reliability to show", 0.9, 0, "")}),
          kNone,
          kNone,
          {}};
      n.words = fmt::format(
          "to show that nine in ten last, {} specimens have to reach {} closings without a failure",
          thousands(needed->whole), thousands(out.target));
      out.statements.push_back(std::move(n));
    }
  } else if (failures >= kEnoughFailures) {
    const auto fit = endurance::WeibullFit::of(lives);
    if (!fit) {
      out.cautions.push_back("no Weibull shape can be fitted: " + fit.error().what);
    } else {
      const char* how =
          "maximum likelihood, failures between looks, suspended ones counted; likelihood-ratio bounds";
      const auto add = [&](const char* code, const char* name, const char* unit, double value,
                           const Bounds& b, const std::string& words) {
        out.statements.push_back(
            {stated(code, name, unit, how, value, {units, failed, confidence}), b.low, b.high, words});
      };
      const Bounds shape = fit->shape_bounds(out.confidence);
      add("shape", "Weibull shape", "", fit->best().shape, shape,
          fmt::format("Weibull shape {:.2g}, {:.2g} to {}{}", fit->best().shape, shape.low,
                      std::isfinite(shape.high) ? fmt::format("{:.2g}", shape.high) : "anything",
                      shape.low > 1    ? ": they wear out"
                      : shape.high < 1 ? ": early failures, as from bad assembly"
                                       : ""));
      const Bounds scale = fit->scale_bounds(out.confidence);
      add("scale", "Weibull scale", "closings", fit->best().scale, scale,
          fmt::format("63 in 100 have failed by {} closings, {} to {}", about(fit->best().scale),
                      about(scale.low), about(scale.high)));
      const Bounds b10 = fit->life_bounds(0.1, out.confidence);
      add("b10", "closings by which a tenth has failed", "closings", fit->best().life(0.1), b10,
          fmt::format("a tenth has failed by {} closings, {} to {}", about(fit->best().life(0.1)),
                      about(b10.low), about(b10.high)));
      const Bounds r = fit->reliability_bounds(target, out.confidence);
      add("reliability-fitted", "share that lasts to the target", "", fit->best().reliability(target), r,
          fmt::format("{} last {} closings, {} to {}", percent(fit->best().reliability(target)),
                      thousands(out.target), percent(r.low), percent(r.high)));
      if (failures < 10)
        out.cautions.push_back(fmt::format("with {} failures these bounds are approximate", failures));
    }
  } else {
    out.cautions.push_back(fmt::format("{} failure{} tell{} no shape: it is taken from the range above",
                                       failures, failures == 1 ? "" : "s", failures == 1 ? "s" : ""));
  }

  if (failed_before + went_through > 0) {
    // Those that have neither failed nor got there may do either: counted as sound below, as failed above.
    const std::size_t all = lives.size();
    const std::size_t open = all - failed_before - went_through;
    const auto low = endurance::share_bounds(failed_before, all, out.confidence);
    const auto high = endurance::share_bounds(failed_before + open, all, out.confidence);
    if (low && high) {
      const double share = open == 0 ? static_cast<double>(failed_before) / static_cast<double>(all) : kNone;
      RigStatement s{
          stated("share-failed", "share that fails before the target", "",
                 "Clopper and Pearson; specimens still undecided count as sound below and as failed above",
                 share,
                 {reckoned("failed before the target", static_cast<double>(failed_before), 0, ""),
                  reckoned("reached it", static_cast<double>(went_through), 0, ""),
                  reckoned("undecided", static_cast<double>(open), 0, ""), confidence}),
          low->low,
          high->high,
          {}};
      s.words =
          fmt::format("{} of {} failed before the target{}: {} to {} of such keys do, with no shape assumed",
                      failed_before, all, open > 0 ? fmt::format(", {} still open", open) : "",
                      percent(s.low), percent(s.high));
      out.statements.push_back(std::move(s));
    }
  }
  if (const auto mean =
          endurance::mean_life_bounds(total, failures, out.confidence, endurance::Sides::lower)) {
    RigStatement m{stated("mean-life", "mean closings to a failure", "closings",
                          "2 T/chi2(C; 2r + 2), T all closings seen sound together", mean->low,
                          {reckoned("closings in all", total, 0, "closings"), failed, confidence}),
                   mean->low,
                   kNone,
                   {}};
    m.words =
        fmt::format("were failures as likely at any age, they would be {} closings apart or more on average",
                    about(mean->low));
    out.statements.push_back(std::move(m));
  }
}

}  // namespace

Expected<RigResult> rig_at(const record::Rig& rig, const LocalMoment& now) {
  const auto run = run_of(rig);
  if (!run) return tl::unexpected(run.error());
  if (!rig.target.known())
    return fail(Fault::content, "a rig whose target nobody knows", "closings to reach", rig.target.place);
  RigResult out;
  out.title = rig.title;
  out.now = now;
  out.count = run->count_at(now.moment);
  out.rate = run->rate_at(now.moment);
  for (const auto& p : run->periods()) {
    if (p.from <= now.moment) out.last_rate = p.rate;
    if (p.from > now.moment) ++out.ahead;
  }
  out.ran = run->ran_for(now.moment);
  out.target = std::max<std::int64_t>(1, std::llround(rig.target.value));
  out.finish = run->finish(out.target, now.moment);
  out.confidence = rig.confidence.known() ? rig.confidence.value : kUsualConfidence;

  std::vector<endurance::Inspection> inspections;
  for (const record::RigInspection& i : rig.inspections) {
    const auto at = std::find_if(rig.specimens.begin(), rig.specimens.end(),
                                 [&](const record::RigSpecimen& s) { return s.id == i.specimen.text; });
    const auto finding = i.finding == record::RigFinding::fine     ? endurance::Finding::fine
                         : i.finding == record::RigFinding::failed ? endurance::Finding::failed
                                                                   : endurance::Finding::out;
    const auto when = *parse_moment(i.at.text);
    inspections.push_back({when.moment, static_cast<std::size_t>(at - rig.specimens.begin()), finding});
    if (when.moment > now.moment) {
      ++out.ahead;
      continue;
    }
    out.looks.push_back({when, i.specimen.text, i.finding, i.note, run->count_at(when.moment).closings});
  }
  std::stable_sort(out.looks.begin(), out.looks.end(),
                   [](const RigLook& a, const RigLook& b) { return a.at.moment < b.at.moment; });
  const auto specimens = endurance::specimens_at(*run, rig.specimens.size(), inspections, now.moment);
  if (!specimens) return placed(specimens.error(), rig);
  for (std::size_t i = 0; i < rig.specimens.size(); ++i)
    out.specimens.push_back({rig.specimens[i].id, rig.specimens[i].name, (*specimens)[i]});
  state(out, rig.assumed_shape.range.value_or(kUsualShapes));
  return out;
}

Expected<RigResult> rig_as_written(const record::Rig& rig) {
  LocalMoment last;
  const auto up_to = [&](const record::Text& text) {
    if (text.empty()) return;
    const LocalMoment at = *parse_moment(text.text);
    if (at.moment > last.moment) last = at;
  };
  for (const record::RigPeriod& p : rig.periods) {
    up_to(p.from);
    up_to(p.to);
  }
  for (const record::RigInspection& i : rig.inspections) up_to(i.at);
  return rig_at(rig, last);
}

// ---- what is done at the rig -----------------------------------------------------------------------

Expected<RigAct> inspection_of(const std::string& typed, const std::string& note) {
  const auto equals = typed.find('=');
  const std::string finding = equals == std::string::npos ? "" : typed.substr(equals + 1);
  for (const auto f : {record::RigFinding::fine, record::RigFinding::failed, record::RigFinding::out}) {
    if (equals != 0 && finding == word(f))
      return RigAct{RigAct::Kind::inspect, {}, typed.substr(0, equals), f, note};
  }
  return fail(Fault::usage, fmt::format("\"{}\" is no inspection", typed),
              "SPECIMEN=fine, SPECIMEN=failed or SPECIMEN=out");
}

tl::expected<std::string, record::Errors> rig_with(std::string_view text, const std::string& file,
                                                   const RigAct& act, const LocalMoment& at) {
  const auto cannot = [&](std::string what, std::string expected) {
    return tl::unexpected(
        record::Errors{Error{Fault::usage, std::move(what), std::move(expected), {file, {}, 0, 0}}});
  };
  auto rig = record::read_rig(text, file);
  if (!rig) return tl::unexpected(std::move(rig.error()));
  if (const auto sound = rig_at(*rig, at); !sound) return tl::unexpected(record::Errors{sound.error()});

  const bool runs = !rig->periods.empty() && rig->periods.back().to.empty();
  const std::string when = iso_text(at);
  if (act.kind == RigAct::Kind::inspect) {
    record::RigInspection i;
    i.at.text = when;
    i.specimen.text = act.specimen;
    i.finding = act.finding;
    i.note = act.note;
    rig->inspections.push_back(std::move(i));
  } else {
    if (!rig->periods.empty()) {
      const record::RigPeriod& last = rig->periods.back();
      const record::Text& written = last.to.empty() ? last.from : last.to;
      if (at.moment < moment_of(written))
        return cannot(fmt::format("that is before {}, which is written already", written.text),
                      "a later moment");
    }
    if (act.kind == RigAct::Kind::start && runs)
      return cannot(fmt::format("the rig has been running since {}", rig->periods.back().from.text),
                    "--pause, or --rate for another rate");
    if (act.kind != RigAct::Kind::start && !runs) return cannot("the rig stands still", "--start RATE");
    if (act.kind != RigAct::Kind::start) {
      // A rate that was never run at leaves nothing behind.
      if (moment_of(rig->periods.back().from) == at.moment) {
        rig->periods.pop_back();
      } else {
        rig->periods.back().to.text = when;
      }
    }
    if (act.kind != RigAct::Kind::pause) {
      const auto reading = parse_number(act.rate, Sign::positive);
      if (!reading)
        return cannot(fmt::format("\"{}\" is no rate", act.rate), "closings a second, as 2 or \"2 ± 0.01\"");
      record::RigPeriod p;
      p.from.text = when;
      p.rate.present = true;
      p.rate.origin = Origin::read;
      p.rate.value = reading->value;
      p.rate.plus_minus = reading->plus_minus;
      p.rate.unit = "closings/s";
      rig->periods.push_back(std::move(p));
    }
  }
  std::string out = record::write_rig(*rig);
  const auto again = record::read_rig(out, file);
  if (!again) return tl::unexpected(again.error());
  if (const auto sound = rig_as_written(*again); !sound) return tl::unexpected(record::Errors{sound.error()});
  return out;
}

// ---- words -----------------------------------------------------------------------------------------

std::string counter_line(const RigResult& rig) {
  std::string out = thousands(rig.count.closings);
  if (rig.count.plus_minus >= 0.5) out += " ± " + about(rig.count.plus_minus);
  out += fmt::format(" closings, {} of {}; ",
                     percent(static_cast<double>(rig.count.closings) / static_cast<double>(rig.target)),
                     thousands(rig.target));
  if (rig.rate) return out + "running at " + closings_a_second(*rig.rate);
  return out + (rig.last_rate ? "it stands still" : "not started yet");
}

std::string finish_line(const RigResult& rig) {
  const UtcOffset offset = rig.now.offset;
  const auto spread = [&]() -> std::string {
    if (!rig.finish.earliest || *rig.finish.earliest == *rig.finish.at) return "";
    if (!rig.finish.latest)
      return fmt::format(", {} at the soonest", clock_text(*rig.finish.earliest, offset));
    return fmt::format(", between {} and {}", clock_text(*rig.finish.earliest, offset),
                       clock_text(*rig.finish.latest, offset));
  };
  switch (rig.finish.state) {
    case Finish::State::reached:
      return fmt::format("reached its target on {}{}", clock_text(*rig.finish.at, offset), spread());
    case Finish::State::running:
      return fmt::format("will reach its target on {}{}: {} closings to go, {} from now",
                         clock_text(*rig.finish.at, offset), spread(), thousands(rig.finish.left),
                         long_time(seconds_between(rig.now.moment, *rig.finish.at)));
    case Finish::State::stopped:
      break;
  }
  if (rig.rate) return "will not reach its target within a hundred years at this rate";
  if (!rig.finish.running)
    return fmt::format("{} closings to go once it is started", thousands(rig.finish.left));
  return fmt::format("{} closings to go: {} of running at {}, once it is started again",
                     thousands(rig.finish.left),
                     long_time(static_cast<std::int64_t>(in_seconds(*rig.finish.running))),
                     closings_a_second(*rig.last_rate));
}

std::string to_json(const RigResult& rig) {
  const UtcOffset offset = rig.now.offset;
  const auto moment = [&](const std::optional<Moment>& m) {
    return m ? Json(iso_text(*m, offset)) : Json(nullptr);
  };
  const auto bound = [](double v) { return std::isfinite(v) ? number(v) : Json(nullptr); };
  const char* state = rig.finish.state == Finish::State::reached   ? "reached"
                      : rig.finish.state == Finish::State::running ? "running"
                                                                   : "stopped";
  Json out = {
      {"title", rig.title},
      {"now", iso_text(rig.now)},
      {"closings", rig.count.closings},
      {"closings_plus_minus", number(rig.count.plus_minus)},
      {"target", rig.target},
      {"ran_seconds", rig.ran},
      {"rate", rig.rate ? number(static_cast<double>(rig.rate->millionths) / 1e6) : Json(nullptr)},
      {"finish",
       {{"state", state},
        {"left", rig.finish.left},
        {"at", moment(rig.finish.at)},
        {"earliest", moment(rig.finish.earliest)},
        {"latest", moment(rig.finish.latest)},
        {"running_seconds", rig.finish.running ? number(in_seconds(*rig.finish.running)) : Json(nullptr)},
        {"said", finish_line(rig)}}},
      {"confidence", number(rig.confidence)},
      {"specimens", Json::array()},
      {"inspections", Json::array()},
      {"statements", Json::array()},
      {"cautions", rig.cautions},
      {"left_out_as_later", rig.ahead}};
  for (const RigSpecimenResult& s : rig.specimens) {
    const auto& state_of = s.specimen.state;
    out["specimens"].push_back({{"id", s.id},
                                {"name", s.name},
                                {"state", state_of == endurance::Specimen::State::on       ? "on"
                                          : state_of == endurance::Specimen::State::failed ? "failed"
                                                                                           : "out"},
                                {"sound_to", number(s.specimen.life.sound_to)},
                                {"failed_by", bound(s.specimen.life.failed_by)},
                                {"seen", moment(s.specimen.seen)},
                                {"inspections", s.specimen.inspections}});
  }
  for (const RigLook& l : rig.looks) {
    out["inspections"].push_back({{"at", iso_text(l.at)},
                                  {"specimen", l.specimen},
                                  {"finding", word(l.finding)},
                                  {"closings", l.closings},
                                  {"note", l.note}});
  }
  for (const RigStatement& s : rig.statements) {
    Json one = json_of(s.worked);
    one["code"] = s.worked.code;
    one["low"] = bound(s.low);
    one["high"] = bound(s.high);
    one["said"] = s.words;
    out["statements"].push_back(std::move(one));
  }
  return text_of(out);
}

}  // namespace hingeline::service
