/// \file
/// The program: command line in, exit code out. The one place where errors become messages.

#include <fmt/format.h>
#include <CLI/CLI.hpp>
#include <cstdio>
#include <functional>
#include <iostream>
#include <span>

#include "action.h"
#include "book.h"
#include "bow.h"
#include "budget.h"
#include "causes.h"
#include "completion.h"
#include "endurance.h"
#include "files.h"
#include "hingeline/drawing/print.h"
#include "hingeline/drawing/svg.h"
#include "hingeline/record/slip.h"
#include "hingeline/service/pictures.h"
#include "hingeline/service/rig.h"
#include "hingeline/version.h"
#include "lead.h"
#include "leak.h"
#include "paper.h"
#include "regulate.h"
#include "reports.h"
#include "season.h"
#include "serve.h"
#include "shop_book.h"
#include "stack.h"
#include "trial.h"

namespace hingeline {
namespace {

/// Exit codes, as the manual page lists them.
enum Exit : int { kDone = 0, kUsage = 2, kFile = 3, kDocument = 4, kNewer = 5, kNotFound = 6 };

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

/// What the person asked for.
struct Asked {
  std::string file;
  std::string key;
  std::string stack;
  std::string minutes;
  std::string money;
  std::optional<double> weight_leak;
  std::optional<double> weight_feel;
  bool quick = false;
  std::vector<std::string> files;
  std::string figure;
  std::string shop;
  std::string unit;
  std::string colour = "auto";
  std::string pictures;
  std::string picture_kind;
  std::string picture_form;
  double scale = 0;
  PaperLine paper;
  std::string output;
  std::string format;
  std::string shell;
  bool json = false;
  unsigned threads = 0;
  std::size_t draws = 0;
  std::uint64_t seed = 1;
  std::string complaint;
  std::string journal;
  std::string ledger;
  std::string person;
  std::string forget;
  std::string service;
  virtual_bench::TrialSetup trial;
  std::vector<std::string> answers;
  RigAsked rig;
  BookAsked book;
  ShopBookAsked shop_book;
  ServeAsked serve;
  PeopleAsked people;

  [[nodiscard]] LengthUnit unit_or(LengthUnit documents) const {
    return unit.empty() ? documents : unit == "in" ? LengthUnit::inch : LengthUnit::mm;
  }
  [[nodiscard]] Terminal terminal() const {
    using Colour = Terminal::Colour;
    return Terminal::of_standard_output(colour == "always"  ? Colour::always
                                        : colour == "never" ? Colour::never
                                                            : Colour::automatic);
  }
};

/// Prints, and tells when standard output did not take it (a full disk, a closed pipe).
int print(const std::string& text, int code = kDone) {
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

int check(const Asked& asked) {
  const auto text = read_file(asked.file);
  if (!text) return tell(text.error());
  const auto said = check_document(*text, asked);
  const record::Errors problems = said ? record::Errors{} : said.error();
  if (asked.json)
    return print(service::to_json(problems), problems.empty() ? kDone : exit_code(problems.front().fault));
  return said ? print(fmt::format("{}: {}; no problems\n", asked.file, *said)) : tell(problems);
}

/// One of the book's commands.
template <Expected<std::string> (*What)(const BookAsked&, const Terminal&)>
int book(const Asked& asked) {
  BookAsked what = asked.book;
  what.json = asked.json;
  const auto said = What(what, asked.terminal());
  return said ? print(*said) : tell(said.error());
}

/// One of what goes into the book and comes out of it.
template <tl::expected<std::string, record::Errors> (*What)(const ShopBookAsked&, const Terminal&)>
int shop_book(const Asked& asked) {
  ShopBookAsked what = asked.shop_book;
  what.book = asked.book.place;
  what.json = asked.json;
  const auto said = What(what, asked.terminal());
  return said ? print(*said) : tell(said.error());
}

template <Expected<std::string> (*What)(const PeopleAsked&, const Terminal&)>
int people(const Asked& asked) {
  PeopleAsked what = asked.people;
  what.book = asked.book.place;
  what.json = asked.json;
  const auto said = What(what, asked.terminal());
  return said ? print(*said) : tell(said.error());
}

int serve_shop(const Asked& asked) {
  ServeAsked what = asked.serve;
  what.book = asked.book.place;
  const auto code = serve(what);
  return code ? *code : tell(code.error());
}

int schema(const Asked& asked) {
  if (asked.format == "slip") return print(std::string(record::slip_schema_text()));
  return print(std::string(record::schema_text(asked.format == "shop"     ? record::Format::shop
                                               : asked.format == "ledger" ? record::Format::ledger
                                               : asked.format == "rig"    ? record::Format::rig
                                                                          : record::Format::instrument)));
}

std::vector<std::string> paper_kinds() {
  std::vector<std::string> out;
  for (const service::PaperKind kind : service::kPaperKinds) out.emplace_back(service::word(kind));
  return out;
}

/// Adds the book's commands.
void describe_book(CLI::App& app, Asked& asked, std::function<int()>& run) {
  CLI::App* all = app.add_subcommand("book", "The shop's book: what is in it, copies of it, moving it");
  all->get_formatter()->label("SUBCOMMAND", "COMMAND");
  all->get_formatter()->label("Subcommands", "Commands");
  all->require_subcommand(1);
  all->footer(
      "Examples:\n"
      "  hingeline book show\n"
      "  hingeline book copy /media/stick/copies --keep 10,14d,8w,12m\n"
      "  hingeline book restore copies/book-20261126T140600Z.db book.db --aside\n"
      "\n"
      "A place is a file or postgresql://... Where none is named: HINGELINE_BOOK, else\n"
      "$XDG_DATA_HOME/hingeline/book.db, else ~/.local/share/hingeline/book.db.");
  const auto command = [&](const char* name, const char* says, int (*what)(const Asked&),
                           const std::string& examples) {
    CLI::App* c = all->add_subcommand(name, says);
    c->footer("Examples:\n" + examples);
    c->callback([&asked, &run, what] { run = [&asked, what] { return what(asked); }; });
    c->add_flag("--json", asked.json, "Result as JSON");
    c->add_option("--colour", asked.colour, "auto, always or never")
        ->check(CLI::IsMember({"auto", "always", "never"}))
        ->type_name("WHEN");
    return c;
  };
  const auto of_book = [&](CLI::App* c) {
    c->add_option("--book", asked.book.place, "The book's place, instead of the usual one")
        ->type_name("PLACE");
  };

  CLI::App* c = command("show", "What is in it: slips, visits, photos, size, form", &book<book_show>,
                        "  hingeline book show\n  hingeline book show book.db --sum\n");
  c->add_option("PLACE", asked.book.place, "A file or postgresql://...");
  c->add_flag("--sum", asked.book.sum, "Also the shop's sum; all of the book is read for it");

  c = command("check", "Whether a book, a copy or an archive is sound", &book<book_check>,
              "  hingeline book check\n  hingeline book check copies/book-20261126T140600Z.db\n");
  c->add_option("PLACE", asked.book.place, "A file or postgresql://...");

  c = command("copy", "Make a dated copy in a folder, proven, while others work", &book<book_copy>,
              "  hingeline book copy copies\n  hingeline book copy copies --keep 10,14d,8w,12m\n");
  c->add_option("FOLDER", asked.book.folder, "Where copies are kept; made where there is none")->required();
  c->add_option(
       "--keep", asked.book.keep,
       "Drop older copies but the last 10, one a day for 14 days, one a week for 8 weeks, one a month "
       "for 12 months: 10,14d,8w,12m")
      ->type_name("RULES");
  of_book(c);

  c = command("copies", "The copies in a folder, newest first", &book<book_copies>,
              "  hingeline book copies copies\n  hingeline book copies copies --check\n");
  c->add_option("FOLDER", asked.book.folder, "Where copies are kept")->required();
  c->add_flag("--check", asked.book.check, "Read every copy and say whether it is sound");

  c = command("restore", "Bring a copy or an archive back into a new place, proven", &book<book_restore>,
              "  hingeline book restore copies/book-20261126T140600Z.db new.db\n"
              "  hingeline book restore shop.archive postgresql://shop@server/shop\n");
  c->add_option("COPY", asked.book.file, "A copy or an archive")->required();
  c->add_option("NEW", asked.book.to, "Where no book is yet: a file or postgresql://...")->required();
  c->add_flag("--aside", asked.book.aside, "Set the file that is there aside first, under a dated name");

  c = command(
      "write-out", "Write all of it into one text, an archive", &book<book_write_out>,
      "  hingeline book write-out shop.archive\n  hingeline book write-out - | xz > shop.archive.xz\n");
  c->add_option("FILE", asked.book.file, "A new file; - is standard output")->required();
  of_book(c);

  c = command("read-in", "Read an archive into an empty book", &book<book_read_in>,
              "  hingeline book read-in shop.archive --book new.db\n");
  c->add_option("FILE", asked.book.file, "Archive; - is standard input")->required();
  of_book(c);

  c = command("move", "Write all of a book into an empty one, from a file to a server or back",
              &book<book_move>, "  hingeline book move book.db postgresql://shop@server/shop\n");
  c->add_option("FROM", asked.book.place, "A book's place")->required();
  c->add_option("TO", asked.book.to, "Where no book is yet: a file or postgresql://...")->required();

  c = command(
      "take-in", "Take an instrument in by its document, as a visit that begins today",
      &shop_book<shop_take_in>,
      "  hingeline book take-in saxophone.json --complaint \"low notes rattle\" --promised 2026-12-01\n");
  c->add_option("FILE", asked.shop_book.file, "Instrument document; - is standard input")->required();
  c->add_option("--owner", asked.shop_book.owner, "Whose it is: an owner's id, or the name of a new one")
      ->type_name("OWNER");
  c->add_option("--complaint", asked.shop_book.complaint, "What the owner says is wrong")->type_name("TEXT");
  c->add_option("--promised", asked.shop_book.promised, "The day it is promised for")->type_name("DAY");
  of_book(c);

  c = command("find", "Visits by words, those promised first before the rest", &shop_book<shop_find>,
              "  hingeline book find\n  hingeline book find \"alto rattle\" --state in-work\n");
  c->add_option("WORDS", asked.shop_book.words,
                "Each begins a word of the visit, its instrument, owner or keys");
  std::vector<std::string> states;
  for (const record::VisitState s : record::kVisitStates) states.emplace_back(record::word(s));
  c->add_option("--state", asked.shop_book.state, "Only visits that are so far")
      ->check(CLI::IsMember(states))
      ->type_name("STATE");
  of_book(c);

  c = command("document", "The instrument document of a visit, with what was read on it",
              &shop_book<shop_document>, "  hingeline book document 0199b6f0-... saxophone.json\n");
  c->add_option("VISIT", asked.shop_book.id, "A visit's id")->required();
  c->add_option("FILE", asked.shop_book.file, "Write to this file instead of standard output");
  of_book(c);

  c = command("put-shop", "Another shop document in the place of the one in the book",
              &shop_book<shop_put_shop>, "  hingeline book put-shop shop.json\n");
  c->add_option("FILE", asked.shop_book.file, "Shop document; - is standard input")->required();
  of_book(c);

  c = command("shop", "The shop document as the book has it", &shop_book<shop_get_shop>,
              "  hingeline book shop shop.json\n");
  c->add_option("FILE", asked.shop_book.file, "Write to this file instead of standard output");
  of_book(c);

  c = command("settings", "All settings: meaning, limits, value, and where it comes from",
              &shop_book<shop_settings>, "  hingeline book settings /presets/window\n");
  c->add_option("AT", asked.shop_book.at, "Only those whose place begins so");
  of_book(c);

  c = command("set", "Set one; without a value: as the shop document has it", &shop_book<shop_set>,
              "  hingeline book set /presets/window_high \"0.030 mm\"\n");
  c->add_option("AT", asked.shop_book.at, "Its place in the shop document, as settings shows it")->required();
  c->add_option("VALUE", asked.shop_book.value, "As typed at the bench, or JSON");
  of_book(c);

  c = command("readings", "All readings as CSV", &shop_book<shop_readings>,
              "  hingeline book readings readings.csv\n");
  c->add_option("FILE", asked.shop_book.file, "A new file; left out: standard output");
  of_book(c);
  c = command("jobs", "All work done as CSV", &shop_book<shop_jobs>, "  hingeline book jobs jobs.csv\n");
  c->add_option("FILE", asked.shop_book.file, "A new file; left out: standard output");
  of_book(c);

  c = command("papers", "One paper of every visit that is asked for, in one PDF", &shop_book<shop_papers>,
              "  hingeline book papers card today.pdf --promised 2026-11-27\n"
              "  hingeline book papers report low-c.pdf --visit 0199b6f0-... --language de\n");
  c->add_option("KIND", asked.shop_book.kind, "card, quote, report, lesson, readings, drawings or tag")
      ->required()
      ->check(CLI::IsMember(paper_kinds()));
  c->add_option("FILE", asked.shop_book.file, "Write to this file instead of standard output");
  c->add_option("--visit", asked.shop_book.visit, "Of this visit only")->type_name("VISIT");
  c->add_option("--key", asked.shop_book.key, "Of this key only")->type_name("KEY");
  c->add_option("--words", asked.shop_book.words,
                "Each begins a word of the visit, its instrument, owner or keys")
      ->type_name("WORDS");
  c->add_option("--state", asked.shop_book.state, "Only visits that are so far")
      ->check(CLI::IsMember(states))
      ->type_name("STATE");
  c->add_option("--promised", asked.shop_book.promised, "Only visits promised for that day")
      ->type_name("DAY");
  c->add_option("--language", asked.shop_book.language, "en or de")->check(CLI::IsMember({"en", "de"}));
  c->add_option("--sheet", asked.shop_book.sheet, "a4 or letter")->check(CLI::IsMember({"a4", "letter"}));
  c->add_option("--unit", asked.shop_book.unit, "mm or in")->check(CLI::IsMember({"mm", "in"}));
  c->add_option("--day", asked.shop_book.day, "The day that stands on it; left out: today")->type_name("DAY");
  of_book(c);
  c = command("quoted", "Agreed quotes held against the minutes that were written down",
              &shop_book<shop_quoted>,
              "  hingeline book quoted\n  hingeline book quoted quoted.pdf --language de\n");
  c->add_option("FILE", asked.shop_book.file, "Write it to this file as a paper instead");
  c->add_option("--language", asked.shop_book.language, "Of the paper: en or de")
      ->check(CLI::IsMember({"en", "de"}));
  of_book(c);

  c = command("owner", "All the book has of an owner, for them to take along", &shop_book<shop_owner>,
              "  hingeline book owner 0199b6f0-... owner.json\n");
  c->add_option("OWNER", asked.shop_book.id, "An owner's id")->required();
  c->add_option("FILE", asked.shop_book.file, "Write to this file instead of standard output");
  of_book(c);
  c = command("forget", "Take an owner's words out for good; the bench's figures stay",
              &shop_book<shop_forget>, "  hingeline book forget 0199b6f0-...\n");
  c->add_option("OWNER", asked.shop_book.id, "An owner's id")->required();
  of_book(c);
}

/// Adds the server, and who may come in.
void describe_serve(CLI::App& app, Asked& asked, std::function<int()>& run) {
  CLI::App* c = app.add_subcommand("serve", "Serve the shop's book: the page, and an HTTP interface");
  c->footer(
      "Examples:\n"
      "  hingeline serve\n"
      "  hingeline serve --listen 192.0.2.7:8443 --certificate shop.pem --key shop.key --copies copies\n"
      "\n"
      "On this machine alone nobody is asked for a name. On a network everybody logs in, over TLS.");
  c->callback([&asked, &run] { run = [&asked] { return serve_shop(asked); }; });
  c->add_option("--book", asked.book.place, "The book's place, instead of the usual one")->type_name("PLACE");
  c->add_option("--listen", asked.serve.listen,
                "Where to listen; may be given again. 127.0.0.1:8420 by default")
      ->type_name("ADDRESS:PORT")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  c->add_option("--name", asked.serve.names, "What clients call this server; may be given again")
      ->type_name("HOST")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  c->add_option("--certificate", asked.serve.certificate,
                "Certificate with its chain (PEM); read again on SIGHUP")
      ->type_name("FILE");
  c->add_option("--key", asked.serve.key, "The certificate's key (PEM)")->type_name("FILE");
  c->add_flag("--behind-proxy", asked.serve.behind_proxy,
              "A proxy with TLS stands in front: everybody logs in");
  c->add_option("--copies", asked.serve.copies, "Make copies of the book in this folder, on schedule")
      ->type_name("FOLDER");
  c->add_option("--copies-every", asked.serve.copies_every, "Hours between copies; 24 by default")
      ->check(CLI::Range(0.25, 1000.0))
      ->type_name("HOURS");
  c->add_option("--keep", asked.serve.keep, "Which copies stay, as for book copy: 10,14d,8w,12m")
      ->type_name("RULES");
  c->add_option("--workers", asked.serve.workers,
                "Requests worked on at a time, and besides as many that work something out; 4 by default")
      ->check(CLI::Range(std::size_t{1}, std::size_t{64}))
      ->type_name("N");
  c->add_flag("--quiet", asked.serve.quiet, "Leave requests that went well out of the log");

  CLI::App* all = app.add_subcommand("people", "Who works here, and how they log in");
  all->get_formatter()->label("SUBCOMMAND", "COMMAND");
  all->get_formatter()->label("Subcommands", "Commands");
  all->require_subcommand(1);
  all->footer(
      "Examples:\n  hingeline people add \"Kit Example\" --role owner --login kit\n  hingeline people list");
  const auto command = [&](const char* name, const char* says, int (*what)(const Asked&),
                           const std::string& examples) {
    CLI::App* one = all->add_subcommand(name, says);
    one->footer("Examples:\n" + examples);
    one->callback([&asked, &run, what] { run = [&asked, what] { return what(asked); }; });
    one->add_option("--book", asked.book.place, "The book's place, instead of the usual one")
        ->type_name("PLACE");
    one->add_flag("--json", asked.json, "Result as JSON");
    one->add_option("--colour", asked.colour, "auto, always or never")
        ->check(CLI::IsMember({"auto", "always", "never"}))
        ->type_name("WHEN");
    return one;
  };
  const auto login = [&](CLI::App* one, const char* says) {
    one->add_option("--login", asked.people.login, says)->type_name("LOGIN");
  };
  c = command("add", "Write a person down", &people<people_add>,
              "  hingeline people add \"Kit Example\" --role owner --login kit\n");
  c->add_option("NAME", asked.people.who, "The person's name")->required();
  c->add_option("--role", asked.people.role, "owner, bench, counter or look-only; bench by default")
      ->check(CLI::IsMember({"owner", "bench", "counter", "look-only"}))
      ->type_name("ROLE");
  login(c, "Name to log in with; the password is asked for, or read from standard input");
  command("list", "Who works here, and who can log in", &people<people_list>,
          "  hingeline people list --json\n");
  c = command("password", "Set a password; it is asked for, or read from standard input",
              &people<people_password>, "  hingeline people password kit\n");
  c->add_option("WHO", asked.people.who, "Id, name or login")->required();
  login(c, "Another name to log in with");
  c = command("gone", "They no longer work here: nothing opens for them any more", &people<people_gone>,
              "  hingeline people gone kit\n");
  c->add_option("WHO", asked.people.who, "Id, name or login")->required();
}

/// Adds the commands. `run` is set to what was asked.
void describe_commands(CLI::App& app, Asked& asked, std::function<int()>& run) {
  app.description(
      "From bench readings to the fit of every key: how it sits between its posts, and the least metal that "
      "cures it.");
  app.name("hingeline");
  app.get_formatter()->label("SUBCOMMAND", "COMMAND");
  app.get_formatter()->label("Subcommands", "Commands");
  app.set_version_flag("--version", std::string("hingeline ") + kVersion);
  app.set_help_flag("-h,--help", "Say what there is, with examples");
  app.require_subcommand(0, 1);
  app.footer(
      "Examples:\n"
      "  hingeline fit saxophone.json --pictures drawings\n"
      "  hingeline show saxophone.json\n"
      "  hingeline plan saxophone.json low-c --unit in\n"
      "  hingeline why saxophone.json low-c end-play\n"
      "\n"
      "Exit codes: 0 done, 2 command line not understood, 3 file cannot be read or written,\n"
      "4 document with problems, 5 document of a newer version, 6 name not found.\n"
      "All of it: man hingeline");

  const auto command = [&](const char* name, const char* says, int (*what)(const Asked&),
                           const std::string& examples) {
    CLI::App* c = app.add_subcommand(name, says);
    c->footer("Examples:\n" + examples);
    c->callback([&asked, &run, what] { run = [&asked, what] { return what(asked); }; });
    return c;
  };
  const auto file = [&](CLI::App* c) {
    c->add_option("FILE", asked.file, "Document; - is standard input")->required();
  };
  const auto shops = [&](CLI::App* c) {
    c->add_option("--shop", asked.shop, "Shop document, instead of the one the instrument names")
        ->type_name("FILE");
  };
  const auto results = [&](CLI::App* c) {
    shops(c);
    c->add_option("--threads", asked.threads, "Most threads to use; 0: as many as useful")
        ->check(CLI::Range(0u, 256u))
        ->type_name("N");
  };
  const auto learns = [&](CLI::App* c) {
    c->add_option("--ledger", asked.ledger,
                  "Finished jobs to learn take-off, minutes, screws and causes from")
        ->type_name("FILE");
  };
  const auto units = [&](CLI::App* c) {
    c->add_option("--unit", asked.unit, "Show lengths in mm or in; otherwise as the document says")
        ->check(CLI::IsMember({"mm", "in"}))
        ->type_name("UNIT");
  };
  const auto reads = [&](CLI::App* c) {
    results(c);
    units(c);
  };
  const auto shows = [&](CLI::App* c) {
    c->add_flag("--json", asked.json, "Result as JSON, lengths in mm");
    c->add_option("--colour", asked.colour, "auto, always or never")
        ->check(CLI::IsMember({"auto", "always", "never"}))
        ->type_name("WHEN");
  };
  const auto prints = [&](CLI::App* c) {
    reads(c);
    shows(c);
  };

  CLI::App* c = command(
      "fit", "The main job: for every key its verdict, what to do, and pictures", &fit,
      "  hingeline fit saxophone.json\n  hingeline fit saxophone.json --pictures drawings --unit in\n");
  file(c);
  prints(c);
  learns(c);
  c->add_option("--pictures", asked.pictures, "Draw every key into this folder, as SVG")->type_name("FOLDER");

  c = command("check", "Look for problems in a document: instrument, shop, ledger or rig", &check,
              "  hingeline check saxophone.json\n  hingeline check rig.json --json\n");
  file(c);
  results(c);
  c->add_flag("--json", asked.json, "Problems as JSON");

  c = command("show", "All keys as a table, or every figure of one key", &show,
              "  hingeline show saxophone.json\n  hingeline show saxophone.json low-c --json\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);

  c = command("plan", "Plans with their runners-up, what each does and what remains", &plan,
              "  hingeline plan saxophone.json\n  hingeline plan saxophone.json low-c\n");
  learns(c);
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);

  c = command(
      "why", "Explain one figure: its formula, what it rests on, how sure it is", &why,
      "  hingeline why saxophone.json low-c end-play\n  hingeline why saxophone.json low-c pad-gap --json\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id")->required();
  c->add_option("FIGURE", asked.figure, "A figure's code, as \"show FILE KEY\" lists them")->required();
  prints(c);
  c->add_option("--draws", asked.draws, "Check the ± by that many draws through the exact engine")
      ->check(CLI::Range(std::size_t{2}, belief::kMostDraws))
      ->type_name("N");
  c->add_option("--seed", asked.seed, "Seed of the draws; the same seed gives the same draws")
      ->type_name("N");

  c = command("action", "How keys move: springs, touch, the way back in the cold, and which oil to take",
              &action, "  hingeline action saxophone.json\n  hingeline action saxophone.json low-c\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);

  c = command("regulate", "Linked keys: which pads close together, and which cork or felt puts them right",
              &regulate,
              "  hingeline regulate saxophone.json\n  hingeline regulate saxophone.json f-sharp\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id: all it has to do with, explained from finger to pads");
  prints(c);

  c = command("lead",
              "Lead through one key: what to look at, why it is loose or binds, how far to cut, the proof",
              &lead_key,
              "  hingeline lead saxophone.json low-c --complaint loose --journal low-c.journal\n"
              "  hingeline lead saxophone.json low-c --answer free --answer 0.14 --json\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id")->required();
  prints(c);
  c->add_option("--ledger", asked.ledger,
                "Ledger to learn from, and to book the finished key in; made where there is none")
      ->type_name("FILE");
  c->add_option("--person", asked.person, "Who works: take-off and minutes are learned hand by hand")
      ->type_name("NAME");
  c->add_option("--complaint", asked.complaint, "What the player says: loose, binds, sluggish or noisy")
      ->check(CLI::IsMember({"loose", "binds", "sluggish", "noisy"}))
      ->type_name("WORD");
  c->add_option("--journal", asked.journal, "Keep every answer in this file, and go on from it the next time")
      ->type_name("FILE");
  c->add_option("--answer", asked.answers, "Tell this before anything is asked; may be given again")
      ->type_name("TEXT")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  c->add_option("--seed", asked.seed, "Seed of the samples; a journal keeps its own")->type_name("N");

  c = command(
      "causes",
      "Why every key is loose or binds, by its readings and by what its neighbours say of a bent body",
      &show_causes, "  hingeline causes saxophone.json\n  hingeline causes saxophone.json low-c\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id: its causes with what speaks for and against");
  prints(c);
  learns(c);
  c->add_option("--person", asked.person, "Who works: minutes are learned hand by hand")->type_name("NAME");
  c->add_option("--seed", asked.seed, "Seed of the samples; the same seed gives the same shares")
      ->type_name("N");

  c = command("leak", "What every pad leaks, by its gap and under each finger, and all of them together",
              &leak, "  hingeline leak saxophone.json\n  hingeline leak saxophone.json low-c --json\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);

  c = command(
      "budget",
      "Which works are worth their minutes and money, in which order, and what the next improvement costs",
      &budget,
      "  hingeline budget saxophone.json --minutes 120 --money 150\n"
      "  hingeline budget saxophone.json --minutes 60 --quick --weight-leak 3 --json\n");
  file(c);
  results(c);
  learns(c);
  c->add_option("--minutes", asked.minutes, "Minutes there are, instead of the document's")->type_name("N");
  c->add_option("--money", asked.money, "Money there is, instead of the document's")->type_name("AMOUNT");
  c->add_option("--weight-leak", asked.weight_leak,
                "Points for each mL/s of leak cured, instead of the shop's")
      ->check(CLI::Range(0.0, 1000.0))
      ->type_name("X");
  c->add_option("--weight-feel", asked.weight_feel,
                "Points for each key brought from hopeless to right, instead of the shop's")
      ->check(CLI::Range(0.0, 1000.0))
      ->type_name("X");
  c->add_flag("--quick", asked.quick,
              "Take keys without readings by how they look, \"look\" in the document");
  c->add_flag("--json", asked.json, "Result as JSON");
  c->add_option("--colour", asked.colour, "auto, always or never")
      ->check(CLI::IsMember({"auto", "always", "never"}))
      ->type_name("WHEN");

  c = command(
      "outfit",
      "Which sizes of cutters, reamers and rods serve what was met, what is missing, worn or never used",
      &outfit,
      "  hingeline outfit shop.json saxophone.json clarinet.json\n"
      "  hingeline outfit shop.json --ledger ledger.json --json\n");
  c->add_option("SHOP", asked.file, "Shop document; - is standard input")->required();
  c->add_option("FILE", asked.files, "Instrument documents whose heads, tapers and bores count");
  c->add_option("--ledger", asked.ledger,
                "Finished jobs: their heads count, and how often each cutter was used")
      ->type_name("FILE");
  c->add_option("--unit", asked.unit, "Show lengths in mm or in; otherwise as the shop says")
      ->check(CLI::IsMember({"mm", "in"}))
      ->type_name("UNIT");
  c->add_flag("--json", asked.json, "Result as JSON, lengths in mm");
  c->add_option("--colour", asked.colour, "auto, always or never")
      ->check(CLI::IsMember({"auto", "always", "never"}))
      ->type_name("WHEN");

  c = command("trial", "Try the whole method on keys whose faults are hidden from it, beside rules of thumb",
              &trial,
              "  hingeline trial --keys 2000\n"
              "  hingeline trial --keys 10000 --seed 7 --take-off 1.7 --noise 2 --other-causes\n");
  c->add_option("--keys", asked.trial.keys, "How many keys; 1000 by default")
      ->check(CLI::Range(std::size_t{1}, std::size_t{1'000'000}))
      ->type_name("N");
  c->add_option("--seed", asked.trial.seed, "Seed of the keys; the same seed gives the same keys")
      ->type_name("N");
  c->add_option("--take-off", asked.trial.shift.take_off,
                "Cutters take so many times what the method believes")
      ->check(CLI::Range(0.05, 20.0))
      ->type_name("X");
  c->add_option("--noise", asked.trial.shift.noise, "Readings scatter so many times what it believes")
      ->check(CLI::Range(0.0, 20.0))
      ->type_name("X");
  c->add_flag("--other-causes", asked.trial.shift.other_shares,
              "Every cause as likely as any other, two more often");
  c->add_option("--threads", asked.trial.threads, "Most threads to use; 0: as many as useful")
      ->check(CLI::Range(0u, 256u))
      ->type_name("N");
  c->add_flag("--json", asked.json, "Result as JSON");
  c->add_option("--colour", asked.colour, "auto, always or never")
      ->check(CLI::IsMember({"auto", "always", "never"}))
      ->type_name("WHEN");

  c = command("wear", "When each fit will be due again, as a range over years of playing", &wear,
              "  hingeline wear saxophone.json\n  hingeline wear saxophone.json low-c --json\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id; it is then told how its range came about");
  prints(c);

  c = command("rig", "An endurance rig: its counter, its finish, and what its specimens show", &rig,
              "  hingeline rig rig.json\n  hingeline rig rig.json --start 2\n"
              "  hingeline rig rig.json --inspect upper-1=fine --note \"oiled\"\n");
  c->add_option("FILE", asked.file, "Rig document; - is standard input")->required();
  c->add_option("--start", asked.rig.start, "It was started: closings a second, as 2 or \"2 ± 0.01\"")
      ->type_name("RATE");
  c->add_flag("--pause", asked.rig.pause, "It was stopped");
  c->add_option("--rate", asked.rig.rate, "It runs on at another rate")->type_name("RATE");
  c->add_option(
       "--inspect", asked.rig.inspect,
       "A specimen was looked at: SPECIMEN=fine, =failed or =out (sound and taken off); may be given again")
      ->type_name("LOOK")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  c->add_option("--note", asked.rig.note, "Words to keep with the inspections")->type_name("TEXT");
  c->add_option("--at", asked.rig.at, "The moment, instead of now: 2026-11-25T14:05+01:00")
      ->type_name("TIME");
  c->add_flag("--watch", asked.rig.watch, "Show the counter each second until Ctrl-C; on a terminal only");
  c->add_flag("--json", asked.json, "Result as JSON");
  c->add_option("--colour", asked.colour, "auto, always or never")
      ->check(CLI::IsMember({"auto", "always", "never"}))
      ->type_name("WHEN");
  c = command("bow", "How bent the body is, what that does to every key, and what leaning posts do", &bow,
              "  hingeline bow saxophone.json\n  hingeline bow saxophone.json low-c\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);

  c = command("season", "How every key fits where it is played: cold, warm, dry and wet", &season,
              "  hingeline season saxophone.json --service stage\n  hingeline season saxophone.json low-c\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);
  c->add_option("--service", asked.service,
                "Where it is played: a service range of the shop's, instead of what the document says")
      ->type_name("NAME");

  c = command("draw",
              "Draw one key to scale: in section, between its posts, at the cutter, its leak, its years",
              &draw,
              "  hingeline draw saxophone.json low-c strip > low-c.svg\n"
              "  hingeline draw saxophone.json low-c section --scale 10 --output low-c.pdf\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id")->required();
  c->add_option("PICTURE", asked.picture_kind,
                "section, strip, cutter-upper, cutter-lower, wedge, years, or stack (the one it is in)")
      ->required()
      ->check(CLI::IsMember({"section", "strip", "cutter-upper", "cutter-lower", "wedge", "years", "stack"}));
  reads(c);
  c->add_option("--output", asked.output, "Write to this file instead of standard output")->type_name("FILE");
  c->add_option("--as", asked.picture_form,
                "svg, pdf, or png at 300 dots an inch; left out: by FILE's ending, else svg")
      ->check(CLI::IsMember({"svg", "pdf", "png"}));
  c->add_option("--scale", asked.scale,
                "section: true to this scale, so 1 for 1:1 and 10 for 10:1; left out: the largest that fits")
      ->type_name("N")
      ->check(CLI::Range(0.1, 100.0));
  c->add_flag("--json", asked.json, "The drawing as JSON: key, picture, and the SVG as text");

  c = command("paper",
              "A paper as PDF: bench card, quote, report, lesson, certificate of readings, drawings, tag",
              &paper,
              "  hingeline paper card saxophone.json --key low-c --output low-c.pdf\n"
              "  hingeline paper quote saxophone.json --minutes 90 --language de --output quote.pdf\n"
              "  hingeline paper card *.json --folder today\n");
  PaperLine& p = asked.paper;
  c->add_option("KIND", p.kind, "card, quote, report, lesson, readings, drawings or tag")
      ->required()
      ->check(CLI::IsMember(paper_kinds()));
  c->add_option("FILES", p.files, "Instrument documents; - is standard input")->required();
  c->add_option("--key", p.key, "Of this key only")->type_name("KEY");
  c->add_flag("--each-key", p.each_key, "One for every key");
  c->add_option("--output", p.output, "All pages into this file instead of standard output")
      ->type_name("FILE");
  c->add_option("--folder", p.folder, "Each document's paper into a file of its own in there")
      ->type_name("FOLDER");
  c->add_option("--language", p.language, "en or de")->check(CLI::IsMember({"en", "de"}));
  c->add_option("--sheet", p.sheet, "a4 or letter; left out: as the shop document says")
      ->check(CLI::IsMember({"a4", "letter"}));
  c->add_option("--day", p.day, "The day that stands on it, as 2026-11-27; left out: today")
      ->type_name("DAY");
  c->add_option("--before", p.before, "report: the instrument as it came")->type_name("FILE");
  c->add_option("--work-done", p.done, "report: a work that was done, once for each")->type_name("TEXT");
  c->add_option("--owner", p.owner, "Whose it is")->type_name("NAME");
  c->add_option("--complaint", p.complaint, "What the player complains of")->type_name("TEXT");
  c->add_option("--came", p.came, "Day it came")->type_name("DAY");
  c->add_option("--promised", p.promised, "Day it is promised for")->type_name("DAY");
  c->add_option("--code", p.code, "tag: what its code says")->type_name("TEXT");
  c->add_option("--scale", p.scale, "drawings: true to this scale, 1 for 1:1 and 10 for 10:1")
      ->type_name("N")
      ->check(CLI::Range(0.1, 100.0));
  c->add_flag("--answers", p.answers, "lesson: with its answers on a page of their own");
  c->add_option("--minutes", p.minutes, "quote: minutes there are")->type_name("MINUTES");
  c->add_option("--money", p.money, "quote: money there is")->type_name("AMOUNT");
  c->add_flag("--quick", p.quick, "quote: keys without readings by how they look");
  c->add_option("--ledger", p.ledger, "Minutes and take-off as these finished jobs taught")
      ->type_name("FILE");
  c->add_option("--shop", p.shop, "Shop document, instead of the one the instrument names")
      ->type_name("FILE");
  c->add_option("--threads", p.threads, "Most threads to use; 0: as many as useful")
      ->check(CLI::Range(0u, 256u))
      ->type_name("N");
  c->add_option("--unit", p.unit, "Show lengths in mm or in; otherwise as the document says")
      ->check(CLI::IsMember({"mm", "in"}))
      ->type_name("UNIT");

  c = command(
      "stack", "Tubes that share a rod: clearance, bow, and the least work that brings every gap right",
      &stack, "  hingeline stack saxophone.json\n  hingeline stack saxophone.json lower-stack --json\n");
  file(c);
  c->add_option("STACK", asked.stack, "A stack's id");
  // Its plans are worked out on one thread.
  shops(c);
  units(c);
  shows(c);

  c = command("learned", "What the finished jobs of a ledger teach, and what it was learned from",
              &show_learned,
              "  hingeline learned ledger.json --shop shop.json\n"
              "  hingeline learned ledger.json --forget take-off\n");
  c->add_option("FILE", asked.file, "Ledger; - is standard input")->required();
  c->add_option("--shop", asked.shop, "Shop document whose presets it is held against")->type_name("FILE");
  c->add_option("--unit", asked.unit, "Show lengths in mm or in; otherwise as the shop says")
      ->check(CLI::IsMember({"mm", "in"}))
      ->type_name("UNIT");
  c->add_flag("--json", asked.json, "Result as JSON, lengths in mm");
  c->add_option("--forget", asked.forget,
                "Begin afresh from now on: take-off, minutes, patterns or causes; jobs stay")
      ->check(CLI::IsMember({"take-off", "minutes", "patterns", "causes"}))
      ->type_name("WHAT");

  describe_book(app, asked, run);
  describe_serve(app, asked, run);

  c = command("schema", "The JSON Schema of a document", &schema,
              "  hingeline schema instrument > instrument.schema.json\n");
  c->add_option("FORMAT", asked.format, "instrument, shop, ledger, rig or slip")
      ->required()
      ->check(CLI::IsMember({"instrument", "shop", "ledger", "rig", "slip"}));

  c = app.add_subcommand("completion", "Completion for a shell, to be read by it");
  c->footer("Examples:\n  source <(hingeline completion bash)\n  hingeline completion fish | source\n");
  c->add_option("SHELL", asked.shell, "bash, zsh or fish")
      ->required()
      ->check(CLI::IsMember({"bash", "zsh", "fish"}));
  c->callback(
      [&app, &asked, &run] { run = [&app, &asked] { return print(completion_for(app, asked.shell)); }; });
}

int run_program(int argc, char** argv) {
  CLI::App app;
  Asked asked;
  std::function<int()> run;
  describe_commands(app, asked, run);
  // The command that was chosen, with those it stands under: " book copy".
  const auto chosen = [&app] {
    std::pair<const CLI::App*, std::string> out{&app, ""};
    while (!out.first->get_subcommands().empty()) {
      out.first = out.first->get_subcommands().front();
      out.second += " " + out.first->get_name();
    }
    return out;
  };
  try {
    app.parse(argc, argv);
  } catch (const CLI::CallForHelp&) {
    const auto [command, name] = chosen();
    const std::string above =
        name.substr(0, name.size() - std::min(name.size(), command->get_name().size() + 1));
    return print(name.empty() ? app.help() : command->help("hingeline" + above));
  } catch (const CLI::CallForVersion&) {
    return print(std::string("hingeline ") + kVersion + "\n");
  } catch (const CLI::ParseError& e) {
    std::fputs(fmt::format("hingeline: {}\nSee: hingeline{} --help\n", e.what(), chosen().second).c_str(),
               stderr);
    return kUsage;
  }
  if (!run) {
    std::fputs("hingeline: nothing to do; begin with: hingeline fit FILE\nSee: hingeline --help\n", stderr);
    return kUsage;
  }
  return run();
}

}  // namespace
}  // namespace hingeline

int main(int argc, char** argv) {
  try {
    return hingeline::run_program(argc, argv);
  } catch (const std::exception& e) {
    std::fputs(fmt::format("hingeline: stopped by a fault of the program's own: {}\n", e.what()).c_str(),
               stderr);
    return 70;
  }
}
