#include "describe.h"

#include "commands.h"
#include "completion.h"
#include "hingeline/version.h"
#include "outcome.h"

namespace hingeline {
namespace {

/// What stands under a program or a command is called a command too.
void call_commands(CLI::App& app) {
  app.get_formatter()->label("SUBCOMMAND", "COMMAND");
  app.get_formatter()->label("Subcommands", "Commands");
}

}  // namespace

std::vector<std::string> paper_kinds() {
  std::vector<std::string> out;
  for (const service::PaperKind kind : service::kPaperKinds) out.emplace_back(service::word(kind));
  return out;
}

void add_colour(CLI::App* command, Asked& asked) {
  command->add_option("--colour", asked.colour, "auto, always or never")
      ->check(CLI::IsMember({"auto", "always", "never"}))
      ->type_name("WHEN");
}

CLI::App* add_command(CLI::App& all, Asked& asked, std::function<int()>& run, const Offered& offered) {
  CLI::App* out = all.add_subcommand(offered.name, offered.says);
  out->footer("Examples:\n" + offered.examples);
  out->callback([&asked, &run, what = offered.what] { run = [&asked, what] { return what(asked); }; });
  return out;
}

CLI::App* add_group(CLI::App& app, const char* name, const char* says, const std::string& footer) {
  CLI::App* out = app.add_subcommand(name, says);
  call_commands(*out);
  out->require_subcommand(1);
  out->footer(footer);
  return out;
}

void describe_commands(CLI::App& app, Asked& asked, std::function<int()>& run) {
  app.description(
      "From bench readings to the fit of every key: how it sits between its posts, and the least metal that "
      "cures it.");
  app.name("hingeline");
  call_commands(app);
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

  const auto command = [&](const char* name, const char* says, Command what, const std::string& examples) {
    return add_command(app, asked, run, {name, says, what, examples});
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
    add_colour(c, asked);
  };
  const auto prints = [&](CLI::App* c) {
    reads(c);
    shows(c);
  };

  CLI::App* c = command(
      "fit", "The main job: for every key its verdict, what to do, and pictures", &commands::fit,
      "  hingeline fit saxophone.json\n  hingeline fit saxophone.json --pictures drawings --unit in\n");
  file(c);
  prints(c);
  learns(c);
  c->add_option("--pictures", asked.pictures, "Draw every key into this folder, as SVG")->type_name("FOLDER");

  c = command("check", "Look for problems in a document: instrument, shop, ledger or rig", &commands::check,
              "  hingeline check saxophone.json\n  hingeline check rig.json --json\n");
  file(c);
  results(c);
  c->add_flag("--json", asked.json, "Problems as JSON");

  c = command("show", "All keys as a table, or every figure of one key", &commands::show,
              "  hingeline show saxophone.json\n  hingeline show saxophone.json low-c --json\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);

  c = command("plan", "Plans with their runners-up, what each does and what remains", &commands::plan,
              "  hingeline plan saxophone.json\n  hingeline plan saxophone.json low-c\n");
  learns(c);
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);

  c = command(
      "why", "Explain one figure: its formula, what it rests on, how sure it is", &commands::why,
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
              &commands::action,
              "  hingeline action saxophone.json\n  hingeline action saxophone.json low-c\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);

  c = command("regulate", "Linked keys: which pads close together, and which cork or felt puts them right",
              &commands::regulate,
              "  hingeline regulate saxophone.json\n  hingeline regulate saxophone.json f-sharp\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id: all it has to do with, explained from finger to pads");
  prints(c);

  c = command("lead",
              "Lead through one key: what to look at, why it is loose or binds, how far to cut, the proof",
              &commands::lead_key,
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
      &commands::show_causes, "  hingeline causes saxophone.json\n  hingeline causes saxophone.json low-c\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id: its causes with what speaks for and against");
  prints(c);
  learns(c);
  c->add_option("--person", asked.person, "Who works: minutes are learned hand by hand")->type_name("NAME");
  c->add_option("--seed", asked.seed, "Seed of the samples; the same seed gives the same shares")
      ->type_name("N");

  c = command("leak", "What every pad leaks, by its gap and under each finger, and all of them together",
              &commands::leak,
              "  hingeline leak saxophone.json\n  hingeline leak saxophone.json low-c --json\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);

  c = command(
      "budget",
      "Which works are worth their minutes and money, in which order, and what the next improvement costs",
      &commands::budget,
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
  add_colour(c, asked);

  c = command(
      "outfit",
      "Which sizes of cutters, reamers and rods serve what was met, what is missing, worn or never used",
      &commands::outfit,
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
  add_colour(c, asked);

  c = command("trial", "Try the whole method on keys whose faults are hidden from it, beside rules of thumb",
              &commands::trial,
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
  add_colour(c, asked);

  c = command("wear", "When each fit will be due again, as a range over years of playing", &commands::wear,
              "  hingeline wear saxophone.json\n  hingeline wear saxophone.json low-c --json\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id; it is then told how its range came about");
  prints(c);

  c = command("rig", "An endurance rig: its counter, its finish, and what its specimens show", &commands::rig,
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
  add_colour(c, asked);
  c = command("bow", "How bent the body is, what that does to every key, and what leaning posts do",
              &commands::bow, "  hingeline bow saxophone.json\n  hingeline bow saxophone.json low-c\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);

  c = command("season", "How every key fits where it is played: cold, warm, dry and wet", &commands::season,
              "  hingeline season saxophone.json --service stage\n  hingeline season saxophone.json low-c\n");
  file(c);
  c->add_option("KEY", asked.key, "A key's id");
  prints(c);
  c->add_option("--service", asked.service,
                "Where it is played: a service range of the shop's, instead of what the document says")
      ->type_name("NAME");

  c = command("draw",
              "Draw one key to scale: in section, between its posts, at the cutter, its leak, its years",
              &commands::draw,
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
              &commands::paper,
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

  c = command("stack",
              "Tubes that share a rod: clearance, bow, and the least work that brings every gap right",
              &commands::stack,
              "  hingeline stack saxophone.json\n  hingeline stack saxophone.json lower-stack --json\n");
  file(c);
  c->add_option("STACK", asked.stack, "A stack's id");
  // Its plans are worked out on one thread.
  shops(c);
  units(c);
  shows(c);

  c = command("learned", "What the finished jobs of a ledger teach, and what it was learned from",
              &commands::show_learned,
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

  c = command("schema", "The JSON Schema of a document", &commands::schema,
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

}  // namespace hingeline
