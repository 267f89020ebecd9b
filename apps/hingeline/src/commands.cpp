#include "commands.h"

#include <fmt/format.h>
#include <functional>
#include <iostream>
#include <span>

#include "action.h"
#include "bow.h"
#include "budget.h"
#include "causes.h"
#include "files.h"
#include "hingeline/drawing/print.h"
#include "hingeline/drawing/svg.h"
#include "hingeline/record/slip.h"
#include "hingeline/service/pictures.h"
#include "hingeline/service/rig.h"
#include "lead.h"
#include "leak.h"
#include "outcome.h"
#include "regulate.h"
#include "reports.h"
#include "season.h"
#include "stack.h"

namespace hingeline::commands {

namespace {

/// Problems found in keys whose document reads well: parts that cannot belong together.
record::Errors problems_of(const service::InstrumentResult& result) {
  record::Errors out;
  for (const auto& key : result.keys) {
    if (key.problem) out.push_back(*key.problem);
  }
  return out;
}

/// What a ledger teaches of a shop; none where no ledger was named, or where it is yet to be begun.
tl::expected<std::optional<service::Learned>, record::Errors> learned_of(const std::string& path,
                                                                         const record::Shop& shop) {
  std::error_code ignored;
  if (path.empty() || !std::filesystem::exists(path, ignored)) return std::nullopt;
  const auto text = read_file(path);
  if (!text) return tl::unexpected(record::Errors{text.error()});
  const auto ledger = record::read_ledger(*text, path);
  if (!ledger) return tl::unexpected(ledger.error());
  auto learned = service::learn(*ledger, shop);
  if (!learned) return tl::unexpected(record::Errors{learned.error()});
  return std::optional(std::move(*learned));
}

/// Reads, works out, and hands over; errors are told.
int with_result(const Asked& asked,
                const std::function<int(const service::InstrumentResult&, LengthUnit)>& use) {
  auto bench = read_bench(asked.file, asked.shop);
  if (!bench) return tell(bench.error());
  const auto learned = learned_of(asked.ledger, bench->shop);
  if (!learned) return tell(learned.error());
  if (*learned) bench->shop = service::shop_with(bench->shop, **learned);
  const auto result = service::work_out(bench->instrument, bench->shop, asked.threads);
  return use(result, asked.unit_or(result.units));
}

int with_key(const Asked& asked, const std::function<int(const service::KeyResult&, LengthUnit)>& use) {
  return with_result(asked, [&](const service::InstrumentResult& result, LengthUnit unit) {
    const auto key = service::find_key(result, asked.key);
    return key ? use(**key, unit) : tell(key.error());
  });
}

drawing::Scene picture(const service::KeyResult& key, const std::string& kind, LengthUnit unit,
                       double scale = 0) {
  if (kind != "section") return drawing::draw_hinge_strip(service::strip_view(key, unit));
  drawing::SectionView view = service::section_view(key, unit);
  view.scale = scale;
  return drawing::draw_section(view);
}

/// The drawings that ask more than the key itself.
Expected<drawing::Scene> plate(const service::KeyResult& key, const service::InstrumentResult& result,
                               const Bench& bench, const std::string& kind, LengthUnit unit) {
  if (kind == "cutter-upper" || kind == "cutter-lower") {
    if (key.knowledge.geometry.kind == belief::HingeKind::rod)
      return fail(Fault::content, fmt::format("{} is on a rod: there is no seat to cut", key.id));
    const auto side = kind == "cutter-upper" ? mechanism::Side::upper : mechanism::Side::lower;
    return drawing::draw_cutter(service::cutter_view(key, side, unit));
  }
  if (kind == "wedge") {
    const auto leaks = service::leak_of(result, bench.instrument, bench.shop);
    if (!leaks) return tl::unexpected(leaks.error());
    const auto leak = service::find_key(*leaks, key.id);
    if (!leak) return tl::unexpected(leak.error());
    return service::wedge_view(key, **leak, unit).map(drawing::draw_wedge);
  }
  if (kind == "years") {
    const auto wear = service::wear_of(bench.instrument, bench.shop, result, day_of_today());
    if (!wear) return tl::unexpected(wear.error());
    for (const service::KeyWear& k : wear->keys) {
      if (k.id == key.id) return service::years_view(k, unit).map(drawing::draw_years);
    }
    return fail(Fault::not_found, fmt::format("nothing is worked out of the wear of {}", key.id));
  }
  const auto stacks = service::work_out_stacks(bench.instrument, bench.shop, unit);
  for (std::size_t i = 0; i < stacks.size() && i < bench.instrument.stacks.size(); ++i) {
    for (const service::TubeOnStack& tube : stacks[i].tubes) {
      if (tube.key == key.id)
        return service::stack_view(bench.instrument.stacks[i], stacks[i], result, unit)
            .map(drawing::draw_stack);
    }
  }
  return fail(Fault::not_found, fmt::format("{} is in no stack", key.id));
}

/// "svg", "pdf" or "png": as asked, else by the file's ending.
std::string form_of(const std::string& asked, const std::string& output) {
  if (!asked.empty()) return asked;
  for (const char* form : {"pdf", "png"}) {
    if (output.ends_with(std::string(".") + form)) return form;
  }
  return "svg";
}

/// Sharp enough for a laser printer.
constexpr double kDotsPerMillimetre = 300 / 25.4;

Expected<std::string> picture_file(const drawing::Scene& scene, const std::string& form) {
  if (form == "pdf") return drawing::to_pdf(std::span(&scene, 1), {.title = scene.title, .language = "en"});
  if (form == "png") return drawing::to_png(scene, kDotsPerMillimetre);
  return drawing::to_svg(scene);
}

Expected<int> draw_all(const service::InstrumentResult& result, LengthUnit unit,
                       const std::filesystem::path& folder) {
  if (auto made = make_folder(folder); !made) return tl::unexpected(made.error());
  int count = 0;
  for (const auto& key : result.keys) {
    if (key.problem) continue;
    for (const char* kind : {"strip", "section"}) {
      const auto wrote = write_file(folder / fmt::format("{}-{}.svg", key.id, kind),
                                    drawing::to_svg(picture(key, kind, unit)));
      if (!wrote) return tl::unexpected(wrote.error());
      ++count;
    }
  }
  return count;
}

}  // namespace

int fit(const Asked& asked) {
  return with_result(asked, [&](const service::InstrumentResult& result, LengthUnit unit) {
    std::string pictures;
    if (!asked.pictures.empty()) {
      const auto drawn = draw_all(result, unit, asked.pictures);
      if (!drawn) return tell(drawn.error());
      pictures = fmt::format("{} drawings in {}, two of each key: KEY-strip.svg and KEY-section.svg", *drawn,
                             asked.pictures);
    }
    const record::Errors problems = problems_of(result);
    const int code = problems.empty() ? static_cast<int>(kDone) : tell(problems);
    return print(
        asked.json ? service::to_json(result, unit) : fit_report(result, unit, asked.terminal(), pictures),
        code);
  });
}

int show(const Asked& asked) {
  if (!asked.key.empty()) {
    return with_result(asked, [&](const service::InstrumentResult& result, LengthUnit unit) {
      const auto key = service::find_key(result, asked.key);
      if (!key) return tell(key.error());
      const int code = (*key)->problem ? kDocument : kDone;
      return print(
          asked.json ? service::to_json(result, unit, asked.key) : key_sheet(**key, unit, asked.terminal()),
          code);
    });
  }
  return with_result(asked, [&](const service::InstrumentResult& result, LengthUnit unit) {
    return print(asked.json ? service::to_json(result, unit)
                            : instrument_table(result, unit, asked.terminal()));
  });
}

int plan(const Asked& asked) {
  return with_result(asked, [&](const service::InstrumentResult& result, LengthUnit unit) {
    if (!asked.key.empty()) {
      if (const auto key = service::find_key(result, asked.key); !key) return tell(key.error());
    }
    if (asked.json) return print(service::to_json(result, unit, asked.key));
    std::string out;
    bool metal = false;
    for (const auto& key : result.keys) {
      if (!asked.key.empty() && key.id != asked.key) continue;
      if (!out.empty()) out += "\n";
      out += plan_sheet(key, unit, asked.terminal());
      for (const auto& p : key.plan.plans) metal = metal || p.metal.raw() > 0;
    }
    if (metal) out += "\n" + cautions(asked.terminal());
    return print(out);
  });
}

int why(const Asked& asked) {
  const auto figure = service::find_figure(asked.figure);
  if (!figure) return tell(figure.error());
  return with_key(asked, [&](const service::KeyResult& key, LengthUnit unit) {
    if (key.problem) return tell(*key.problem);
    auto explanation = service::explain(key, *figure, unit);
    if (asked.draws > 0) {
      const auto drawn = belief::propagate(key.knowledge, asked.draws, asked.seed, asked.threads);
      if (!drawn) return tell(drawn.error());
      explanation.propagation = *drawn;
    }
    return print(asked.json ? service::to_json(key, explanation)
                            : explanation_sheet(key, explanation, unit, asked.terminal()));
  });
}

int regulate(const Asked& asked) {
  const auto bench = read_bench(asked.file, asked.shop);
  if (!bench) return tell(bench.error());
  const auto worked = service::work_out(bench->instrument, bench->shop, asked.threads);
  auto result = service::regulate(bench->instrument, bench->shop, worked);
  const int code = result.problems.empty() ? static_cast<int>(kDone) : tell(result.problems);
  if (!asked.key.empty()) {
    auto of_key = service::only(result, bench->instrument, asked.key);
    if (!of_key) return tell(of_key.error());
    result = std::move(*of_key);
  }
  const LengthUnit unit = asked.unit_or(result.units);
  return print(asked.json ? service::to_json(result, unit)
                          : regulation_report(result, unit, asked.terminal(), !asked.key.empty()),
               code);
}

int lead_key(const Asked& asked) {
  // Take-off, minutes and causes as learned are the guide's; the key is worked out as the documents say.
  const auto bench = read_bench(asked.file, asked.shop);
  if (!bench) return tell(bench.error());
  const auto learned = learned_of(asked.ledger, bench->shop);
  if (!learned) return tell(learned.error());
  const auto result = service::work_out(bench->instrument, bench->shop, asked.threads);
  const auto key = service::find_key(result, asked.key);
  if (!key) return tell(key.error());
  if ((*key)->problem) return tell(*(*key)->problem);
  LeadAsked led;
  led.complaint = belief::complaint_of(asked.complaint);
  led.journal = asked.journal;
  led.answers = asked.answers;
  led.json = asked.json;
  led.seed = asked.seed;
  led.threads = asked.threads;
  led.learned = *learned ? &**learned : nullptr;
  led.ledger = asked.ledger;
  led.person = asked.person;
  // A document from standard input leaves nothing to ask on.
  std::istream* input = asked.file == "-" ? nullptr : &std::cin;
  const auto done =
      lead(result, **key, bench->shop, led, input, asked.unit_or(result.units), asked.terminal());
  return done ? *done : tell(done.error());
}

/// Why every key is loose or binds, each with what its neighbours say of a bent body.
int show_causes(const Asked& asked) {
  const auto bench = read_bench(asked.file, asked.shop);
  if (!bench) return tell(bench.error());
  const auto learned = learned_of(asked.ledger, bench->shop);
  if (!learned) return tell(learned.error());
  const auto result = service::work_out(bench->instrument, bench->shop, asked.threads);
  if (!asked.key.empty()) {
    const auto key = service::find_key(result, asked.key);
    if (!key) return tell(key.error());
    if ((*key)->problem) return tell(*(*key)->problem);
  }
  const auto causes =
      service::causes_of(result, {asked.seed, asked.threads, *learned ? &**learned : nullptr, asked.person});
  const LengthUnit unit = asked.unit_or(result.units);
  const record::Errors problems = asked.key.empty() ? problems_of(result) : record::Errors{};
  const int code = problems.empty() ? static_cast<int>(kDone) : tell(problems);
  return print(asked.json ? service::to_json(causes, unit, asked.key)
                          : causes_report(causes, unit, asked.terminal(), asked.key),
               code);
}

int leak(const Asked& asked) {
  const auto bench = read_bench(asked.file, asked.shop);
  if (!bench) return tell(bench.error());
  const auto result = service::work_out(bench->instrument, bench->shop, asked.threads);
  const auto leaks = service::leak_of(result, bench->instrument, bench->shop);
  if (!leaks) return tell(leaks.error());
  const LengthUnit unit = asked.unit_or(result.units);
  if (asked.key.empty()) {
    return print(asked.json ? service::to_json(*leaks, unit) : leak_report(*leaks, unit, asked.terminal()));
  }
  const auto key = service::find_key(*leaks, asked.key);
  if (!key) return tell(key.error());
  return print(asked.json ? service::to_json(*leaks, unit, asked.key)
                          : leak_sheet(**key, *leaks, unit, asked.terminal()));
}

namespace {

/// A ledger that was asked for; none where none was, or where it is yet to be begun.
tl::expected<std::optional<record::Ledger>, record::Errors> ledger_of(const std::string& path) {
  std::error_code ignored;
  if (path.empty() || !std::filesystem::exists(path, ignored)) return std::nullopt;
  const auto text = read_file(path);
  if (!text) return tl::unexpected(record::Errors{text.error()});
  auto ledger = record::read_ledger(*text, path);
  if (!ledger) return tl::unexpected(ledger.error());
  return std::optional(std::move(*ledger));
}

}  // namespace

/// Which works fit the minutes and the money.
int budget(const Asked& asked) {
  service::BudgetAsked wanted;
  wanted.quick = asked.quick;
  wanted.weight_leak = asked.weight_leak;
  wanted.weight_feel = asked.weight_feel;
  if (auto read = service::read_limits(asked.minutes, asked.money, wanted); !read) {
    Error error = read.error();
    error.what = fmt::format("--{} {}", error.place.pointer, error.what);
    error.place = {};
    return tell(error);
  }
  auto bench = read_bench(asked.file, asked.shop);
  if (!bench) return tell(bench.error());
  const auto ledger = ledger_of(asked.ledger);
  if (!ledger) return tell(ledger.error());
  if (*ledger) {
    const auto learned = service::learn(**ledger, bench->shop);
    if (!learned) return tell(learned.error());
    bench->shop = service::shop_with(bench->shop, *learned);
    wanted.ledger = &**ledger;
  }
  const auto result = service::work_out(bench->instrument, bench->shop, asked.threads);
  const auto budgeted = service::budget_of(result, bench->instrument, bench->shop, wanted);
  if (!budgeted) return tell(budgeted.error());
  return print(asked.json ? service::to_json(*budgeted) : budget_report(*budgeted, asked.terminal()));
}

/// Which sizes of tools the shop should own.
int outfit(const Asked& asked) {
  const auto text = read_file(asked.file);
  if (!text) return tell(text.error());
  const auto shop = record::read_shop(*text, asked.file);
  if (!shop) return tell(shop.error());
  const auto ledger = ledger_of(asked.ledger);
  if (!ledger) return tell(ledger.error());
  std::vector<record::Instrument> instruments;
  for (const std::string& path : asked.files) {
    const auto one = read_file(path);
    if (!one) return tell(one.error());
    auto instrument = record::read_instrument(*one, path);
    if (!instrument) return tell(instrument.error());
    instruments.push_back(std::move(*instrument));
  }
  const auto result = service::outfit_of(*shop, instruments, *ledger ? &**ledger : nullptr);
  if (!result) return tell(result.error());
  return print(asked.json ? service::to_json(*result)
                          : outfit_report(*result, asked.unit_or(shop->units), asked.terminal()));
}

int show_learned(const Asked& asked) {
  auto text = read_file(asked.file);
  if (!text) return tell(text.error());
  record::Shop shop = service::general_shop();
  if (!asked.shop.empty()) {
    const auto shop_text = read_file(asked.shop);
    if (!shop_text) return tell(shop_text.error());
    auto read = record::read_shop(*shop_text, asked.shop);
    if (!read) return tell(read.error());
    shop = std::move(*read);
  }
  auto ledger = record::read_ledger(*text, asked.file);
  if (!ledger) return tell(ledger.error());
  if (!asked.forget.empty()) {
    std::string last;
    for (const auto& job : ledger->jobs) last = std::max(last, job.date);
    if (last.empty())
      return tell(Error{Fault::content, "the ledger has no jobs to forget", "", {asked.file, "", 0, 0}});
    auto less =
        record::with_forgotten(*text, asked.file, *record::subject_of(asked.forget), record::day_after(last));
    if (!less) return tell(less.error());
    if (asked.file != "-") {
      if (auto wrote = write_file(asked.file, *less); !wrote) return tell(wrote.error());
    }
    ledger = record::read_ledger(*less, asked.file);
    if (!ledger) return tell(ledger.error());
  }
  const auto learned = service::learn(*ledger, shop);
  if (!learned) return tell(learned.error());
  const LengthUnit unit = asked.unit_or(shop.units);
  if (asked.json) return print(service::to_json(*learned, unit));
  std::string out;
  for (const std::string& line : service::tell(*learned, unit)) out += line + "\n";
  return print(out);
}

int action(const Asked& asked) {
  const auto bench = read_bench(asked.file, asked.shop);
  if (!bench) return tell(bench.error());
  const auto result = service::work_out(bench->instrument, bench->shop, asked.threads);
  const LengthUnit unit = asked.unit_or(result.units);
  const auto moves = service::work_action(bench->instrument, bench->shop, result, unit);
  if (!moves) return tell(moves.error());
  if (asked.key.empty())
    return print(asked.json ? service::to_json(*moves) : action_table(*moves, unit, asked.terminal()));
  const auto key = service::find_key(*moves, asked.key);
  if (!key) return tell(key.error());
  return print(asked.json ? service::to_json(*moves, asked.key)
                          : action_sheet(*moves, **key, unit, asked.terminal()));
}

int stack(const Asked& asked) {
  const auto bench = read_bench(asked.file, asked.shop);
  if (!bench) return tell(bench.error());
  const LengthUnit unit = asked.unit_or(bench->instrument.units);
  const auto stacks = service::work_out_stacks(bench->instrument, bench->shop, unit);
  record::Errors problems;
  std::string out;
  if (!asked.stack.empty()) {
    if (const auto found = service::find_stack(stacks, asked.stack); !found) return tell(found.error());
  }
  for (const auto& s : stacks) {
    if (!asked.stack.empty() && s.id != asked.stack) continue;
    if (s.problem) problems.push_back(*s.problem);
    if (!asked.json) out += (out.empty() ? "" : "\n") + stack_sheet(s, unit, asked.terminal());
  }
  if (stacks.empty()) out = "This instrument lists no stacks.\n";
  if (asked.json) out = service::to_json(stacks, unit, asked.stack);
  return print(out, problems.empty() ? static_cast<int>(kDone) : tell(problems));
}

namespace {

/// Reads, works out, and asks something of the whole instrument; KEY has to be one of its keys.
template <class Ask, class Report>
int ask_instrument(const Asked& asked, const Ask& ask, const Report& report) {
  const auto bench = read_bench(asked.file, asked.shop);
  if (!bench) return tell(bench.error());
  const auto result = service::work_out(bench->instrument, bench->shop, asked.threads);
  if (!asked.key.empty()) {
    if (const auto key = service::find_key(result, asked.key); !key) return tell(key.error());
  }
  const auto answer = ask(result, bench->instrument, bench->shop);
  if (!answer) return tell(answer.error());
  const record::Errors problems = problems_of(result);
  const int code = problems.empty() ? static_cast<int>(kDone) : tell(problems);
  const LengthUnit unit = asked.unit_or(result.units);
  return print(asked.json ? service::to_json(*answer, unit, asked.key)
                          : report(*answer, unit, asked.terminal(), asked.key),
               code);
}

}  // namespace

int bow(const Asked& asked) { return ask_instrument(asked, service::bow, bow_report); }

int season(const Asked& asked) {
  return ask_instrument(
      asked,
      [&](const auto& result, const auto& instrument, const auto& shop) {
        return service::season(result, instrument, shop, asked.service);
      },
      season_report);
}

int trial(const Asked& asked) {
  const auto result = run_trial_with_progress(asked.trial);
  return print(asked.json ? trial_json(result) : trial_report(result, asked.terminal()));
}

int rig(const Asked& asked) {
  RigAsked what = asked.rig;
  what.file = asked.file;
  what.json = asked.json;
  const auto said = rig_command(what, asked.terminal());
  return said ? print(*said) : tell(said.error());
}

int wear(const Asked& asked) {
  const auto bench = read_bench(asked.file, asked.shop);
  if (!bench) return tell(bench.error());
  const auto result = service::work_out(bench->instrument, bench->shop, asked.threads);
  if (!asked.key.empty()) {
    const auto key = service::find_key(result, asked.key);
    if (!key) return tell(key.error());
    if ((*key)->problem) return tell(*(*key)->problem);
  }
  const auto worn = service::wear_of(bench->instrument, bench->shop, result, day_of_today());
  if (!worn) return tell(worn.error());
  const LengthUnit unit = asked.unit_or(result.units);
  return print(asked.json ? service::to_json(*worn, unit, asked.key)
                          : wear_sheet(*worn, asked.key, unit, asked.terminal()));
}

int draw(const Asked& asked) {
  const auto bench = read_bench(asked.file, asked.shop);
  if (!bench) return tell(bench.error());
  const auto result = service::work_out(bench->instrument, bench->shop, asked.threads);
  const LengthUnit unit = asked.unit_or(result.units);
  const auto key = service::find_key(result, asked.key);
  if (!key) return tell(key.error());
  if ((*key)->problem) return tell(*(*key)->problem);
  const bool of_key = asked.picture_kind == "section" || asked.picture_kind == "strip";
  const Expected<drawing::Scene> scene = of_key ? picture(**key, asked.picture_kind, unit, asked.scale)
                                                : plate(**key, result, *bench, asked.picture_kind, unit);
  if (!scene) return tell(scene.error());
  const std::string form = form_of(asked.picture_form, asked.output);
  if (asked.json && form != "svg")
    return tell(Error{Fault::usage, "--json holds a drawing as SVG only", "--as svg", {}});
  const auto made = asked.json ? service::to_json(**key, asked.picture_kind, drawing::to_svg(*scene))
                               : picture_file(*scene, form);
  if (!made) return tell(made.error());
  if (asked.output.empty() || asked.output == "-") return print(*made);
  const auto wrote = write_file(asked.output, *made);
  return wrote ? static_cast<int>(kDone) : tell(wrote.error());
}

int paper(const Asked& asked) {
  const auto made = make_papers(asked.paper);
  if (!made) return tell(made.error());
  if (made->files.empty()) return print(made->bytes);
  if (!asked.paper.folder.empty())
    return print(
        fmt::format("{} papers, {} pages, in {}\n", made->files.size(), made->pages, asked.paper.folder));
  return kDone;
}

namespace {

/// What is wrong with an instrument and its shop, or what there is to it.
tl::expected<std::string, record::Errors> check_instrument(const std::string& text, const Asked& asked) {
  const auto bench = bench_of(text, asked.file, asked.shop);
  if (!bench) return tl::unexpected(bench.error());
  const auto worked = service::work_out(bench->instrument, bench->shop, asked.threads);
  record::Errors problems = problems_of(worked);
  const auto linked = service::regulate(bench->instrument, bench->shop, worked).problems;
  problems.insert(problems.end(), linked.begin(), linked.end());
  if (!problems.empty()) return tl::unexpected(std::move(problems));
  return fmt::format("an instrument document, {} keys", bench->instrument.keys.size());
}

/// The same of any document.
tl::expected<std::string, record::Errors> check_document(const std::string& text, const Asked& asked) {
  const auto format = record::format_of(text, asked.file);
  if (!format) return tl::unexpected(format.error());
  switch (*format) {
    case record::Format::instrument:
      return check_instrument(text, asked);
    case record::Format::shop: {
      const auto shop = record::read_shop(text, asked.file);
      if (!shop) return tl::unexpected(shop.error());
      return fmt::format("a shop document, {} cutters, {} reamers, {} drivers, {} patterns",
                         shop->cutters.size(), shop->reamers.size(), shop->drivers.size(),
                         shop->patterns.size());
    }
    case record::Format::ledger: {
      const auto ledger = record::read_ledger(text, asked.file);
      if (!ledger) return tl::unexpected(ledger.error());
      if (const auto learned = service::learn(*ledger, service::general_shop()); !learned)
        return tl::unexpected(record::Errors{learned.error()});
      return fmt::format("a ledger, {} jobs", ledger->jobs.size());
    }
    case record::Format::rig:
      break;
  }
  const auto rig = record::read_rig(text, asked.file);
  if (!rig) return tl::unexpected(rig.error());
  if (const auto whole = service::rig_as_written(*rig); !whole)
    return tl::unexpected(record::Errors{whole.error()});
  return fmt::format("a rig document, {} specimens, {} periods, {} inspections", rig->specimens.size(),
                     rig->periods.size(), rig->inspections.size());
}

}  // namespace

int check(const Asked& asked) {
  const auto text = read_file(asked.file);
  if (!text) return tell(text.error());
  const auto said = check_document(*text, asked);
  const record::Errors problems = said ? record::Errors{} : said.error();
  if (asked.json)
    return print(service::to_json(problems), problems.empty() ? kDone : exit_code(problems.front().fault));
  return said ? print(fmt::format("{}: {}; no problems\n", asked.file, *said)) : tell(problems);
}

int schema(const Asked& asked) {
  if (asked.format == "slip") return print(std::string(record::slip_schema_text()));
  return print(std::string(record::schema_text(asked.format == "shop"     ? record::Format::shop
                                               : asked.format == "ledger" ? record::Format::ledger
                                               : asked.format == "rig"    ? record::Format::rig
                                                                          : record::Format::instrument)));
}

}  // namespace hingeline::commands
