/// \file
/// The commands of a shop's book and its server, in words.

#include "describe.h"
#include "hingeline/record/slip.h"
#include "outcome.h"

namespace hingeline {
namespace {

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

void add_book(CLI::App* command, Asked& asked) {
  command->add_option("--book", asked.book.place, "The book's place, instead of the usual one")
      ->type_name("PLACE");
}

}  // namespace

void describe_book(CLI::App& app, Asked& asked, std::function<int()>& run) {
  CLI::App* all =
      add_group(app, "book", "The shop's book: what is in it, copies of it, moving it",
                "Examples:\n"
                "  hingeline book show\n"
                "  hingeline book copy /media/stick/copies --keep 10,14d,8w,12m\n"
                "  hingeline book restore copies/book-20261126T140600Z.db book.db --aside\n"
                "\n"
                "A place is a file or postgresql://... Where none is named: HINGELINE_BOOK, else\n"
                "$XDG_DATA_HOME/hingeline/book.db, else ~/.local/share/hingeline/book.db.");
  const auto command = [&](const char* name, const char* says, Command what, const std::string& examples) {
    CLI::App* one = add_command(*all, asked, run, {name, says, what, examples});
    one->add_flag("--json", asked.json, "Result as JSON");
    add_colour(one, asked);
    return one;
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
  add_book(c, asked);

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
  add_book(c, asked);

  c = command("read-in", "Read an archive into an empty book", &book<book_read_in>,
              "  hingeline book read-in shop.archive --book new.db\n");
  c->add_option("FILE", asked.book.file, "Archive; - is standard input")->required();
  add_book(c, asked);

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
  add_book(c, asked);

  c = command("find", "Visits by words, those promised first before the rest", &shop_book<shop_find>,
              "  hingeline book find\n  hingeline book find \"alto rattle\" --state in-work\n");
  c->add_option("WORDS", asked.shop_book.words,
                "Each begins a word of the visit, its instrument, owner or keys");
  std::vector<std::string> states;
  for (const record::VisitState s : record::kVisitStates) states.emplace_back(record::word(s));
  c->add_option("--state", asked.shop_book.state, "Only visits that are so far")
      ->check(CLI::IsMember(states))
      ->type_name("STATE");
  add_book(c, asked);

  c = command("document", "The instrument document of a visit, with what was read on it",
              &shop_book<shop_document>, "  hingeline book document 0199b6f0-... saxophone.json\n");
  c->add_option("VISIT", asked.shop_book.id, "A visit's id")->required();
  c->add_option("FILE", asked.shop_book.file, "Write to this file instead of standard output");
  add_book(c, asked);

  c = command("put-shop", "Another shop document in the place of the one in the book",
              &shop_book<shop_put_shop>, "  hingeline book put-shop shop.json\n");
  c->add_option("FILE", asked.shop_book.file, "Shop document; - is standard input")->required();
  add_book(c, asked);

  c = command("shop", "The shop document as the book has it", &shop_book<shop_get_shop>,
              "  hingeline book shop shop.json\n");
  c->add_option("FILE", asked.shop_book.file, "Write to this file instead of standard output");
  add_book(c, asked);

  c = command("settings", "All settings: meaning, limits, value, and where it comes from",
              &shop_book<shop_settings>, "  hingeline book settings /presets/window\n");
  c->add_option("AT", asked.shop_book.at, "Only those whose place begins so");
  add_book(c, asked);

  c = command("set", "Set one; without a value: as the shop document has it", &shop_book<shop_set>,
              "  hingeline book set /presets/window_high \"0.030 mm\"\n");
  c->add_option("AT", asked.shop_book.at, "Its place in the shop document, as settings shows it")->required();
  c->add_option("VALUE", asked.shop_book.value, "As typed at the bench, or JSON");
  add_book(c, asked);

  c = command("readings", "All readings as CSV", &shop_book<shop_readings>,
              "  hingeline book readings readings.csv\n");
  c->add_option("FILE", asked.shop_book.file, "A new file; left out: standard output");
  add_book(c, asked);
  c = command("jobs", "All work done as CSV", &shop_book<shop_jobs>, "  hingeline book jobs jobs.csv\n");
  c->add_option("FILE", asked.shop_book.file, "A new file; left out: standard output");
  add_book(c, asked);

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
  add_book(c, asked);
  c = command("quoted", "Agreed quotes held against the minutes that were written down",
              &shop_book<shop_quoted>,
              "  hingeline book quoted\n  hingeline book quoted quoted.pdf --language de\n");
  c->add_option("FILE", asked.shop_book.file, "Write it to this file as a paper instead");
  c->add_option("--language", asked.shop_book.language, "Of the paper: en or de")
      ->check(CLI::IsMember({"en", "de"}));
  add_book(c, asked);

  c = command("owner", "All the book has of an owner, for them to take along", &shop_book<shop_owner>,
              "  hingeline book owner 0199b6f0-... owner.json\n");
  c->add_option("OWNER", asked.shop_book.id, "An owner's id")->required();
  c->add_option("FILE", asked.shop_book.file, "Write to this file instead of standard output");
  add_book(c, asked);
  c = command("forget", "Take an owner's words out for good; the bench's figures stay",
              &shop_book<shop_forget>, "  hingeline book forget 0199b6f0-...\n");
  c->add_option("OWNER", asked.shop_book.id, "An owner's id")->required();
  add_book(c, asked);
}

void describe_serve(CLI::App& app, Asked& asked, std::function<int()>& run) {
  CLI::App* c = app.add_subcommand("serve", "Serve the shop's book: the page, and an HTTP interface");
  c->footer(
      "Examples:\n"
      "  hingeline serve\n"
      "  hingeline serve --listen 192.0.2.7:8443 --certificate shop.pem --key shop.key --copies copies\n"
      "\n"
      "On this machine alone nobody is asked for a name. On a network everybody logs in, over TLS.");
  c->callback([&asked, &run] { run = [&asked] { return serve_shop(asked); }; });
  add_book(c, asked);
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

  CLI::App* all = add_group(
      app, "people", "Who works here, and how they log in",
      "Examples:\n  hingeline people add \"Kit Example\" --role owner --login kit\n  hingeline people list");
  const auto command = [&](const char* name, const char* says, Command what, const std::string& examples) {
    CLI::App* one = add_command(*all, asked, run, {name, says, what, examples});
    add_book(one, asked);
    one->add_flag("--json", asked.json, "Result as JSON");
    add_colour(one, asked);
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

}  // namespace hingeline
