#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <nlohmann/json.hpp>

#include "system/program.h"

namespace hingeline::test {
namespace {

using nlohmann::json;

const std::string kSaxophone = example("saxophone.json");
const std::string kClarinet = example("clarinet.json");

json parsed(const std::string& text) { return json::parse(text); }

std::vector<std::string> ids(const std::string& file) {
  std::vector<std::string> out;
  const json document = parsed(file_text(file));
  for (const auto& key : document["keys"]) out.push_back(key["id"]);
  EXPECT_GE(out.size(), 15u);
  return out;
}

/// Every number of a result is finite and no string has a control character.
void expect_clean(const json& value) {
  if (value.is_number()) {
    EXPECT_TRUE(std::isfinite(value.get<double>()));
  } else if (value.is_string()) {
    for (const char c : value.get<std::string>()) EXPECT_TRUE(static_cast<unsigned char>(c) >= 32);
  } else if (value.is_structured()) {
    for (const auto& item : value) expect_clean(item);
  }
}

TEST(Fit, TellsEveryKeyOfTheDemonstrations) {
  for (const auto& file : {kSaxophone, kClarinet}) {
    const Outcome o = hingeline_with({"fit", file});
    EXPECT_EQ(o.code, 0);
    EXPECT_EQ(o.err, "");
    for (const auto& id : ids(file)) EXPECT_NE(o.out.find("\n" + id + "  "), std::string::npos) << id;
    EXPECT_NE(o.out.find("Altogether: "), std::string::npos);
  }
}

TEST(Fit, BringsTheCautionsWhereMetalIsTaken) {
  const Outcome o = hingeline_with({"fit", kSaxophone});
  EXPECT_NE(o.out.find("Caution: wear eye protection"), std::string::npos);
  EXPECT_NE(o.out.find("First, without metal: "), std::string::npos);
}

TEST(Fit, DrawsEveryKey) {
  const Folder folder;
  const auto pictures = folder.path() / "a" / "b";
  const Outcome o = hingeline_with({"fit", kSaxophone, "--pictures", pictures.string()});
  ASSERT_EQ(o.code, 0) << o.err;
  std::size_t files = 0;
  for (const auto& id : ids(kSaxophone)) {
    for (const char* kind : {"strip", "section"}) {
      const std::string svg = file_text(pictures / (id + "-" + kind + ".svg"));
      EXPECT_NE(svg.find("<svg"), std::string::npos) << id << kind;
      EXPECT_EQ(svg.find("nan"), std::string::npos) << id << kind;
      EXPECT_EQ(svg, hingeline_with({"draw", kSaxophone, id, kind}).out) << id << kind;
      ++files;
    }
  }
  EXPECT_EQ(files,
            static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(pictures), {})));
  EXPECT_NE(o.out.find(std::to_string(files) + " drawings in "), std::string::npos);
}

TEST(Fit, SaysWhenItCannotDraw) {
  const Folder folder;
  const std::string in_the_way = folder.file("file", "x");
  const Outcome o = hingeline_with({"fit", kSaxophone, "--pictures", in_the_way + "/pictures"});
  EXPECT_EQ(o.code, 3);
  EXPECT_NE(o.err.find("cannot be made"), std::string::npos) << o.err;
}

TEST(Everything, GivesTheSameBytesOnEveryRunAndForAnyNumberOfThreads) {
  for (const auto& command : std::vector<std::vector<std::string>>{{"fit", kSaxophone},
                                                                   {"fit", kSaxophone, "--json"},
                                                                   {"plan", kClarinet},
                                                                   {"show", kClarinet, "--json"}}) {
    const Outcome first = hingeline_with(command);
    for (const char* threads : {"0", "1", "2", "5", "16"}) {
      auto with = command;
      with.insert(with.end(), {"--threads", threads});
      EXPECT_EQ(first.out, hingeline_with(with).out) << threads;
    }
  }
}

TEST(Everything, AnswersForEveryKeyAndFigure) {
  const json shown = parsed(hingeline_with({"show", kClarinet, "--json"}).out);
  for (const auto& key : shown["keys"]) {
    const std::string id = key["id"];
    EXPECT_EQ(hingeline_with({"show", kClarinet, id}).code, 0) << id;
    EXPECT_EQ(hingeline_with({"plan", kClarinet, id}).code, 0) << id;
    for (const auto& [code, figure] : key["figures"].items()) {
      const Outcome why = hingeline_with({"why", kClarinet, id, code, "--json"});
      ASSERT_EQ(why.code, 0) << id << code;
      EXPECT_EQ(parsed(why.out)["value"], figure["value"]) << id << code;
    }
  }
}

TEST(Draws, AreTheSameForOneSeedAndCheckThePlusMinus) {
  const std::vector<std::string> ask = {"why",     kSaxophone, "low-c",  "pad-gap", "--json",
                                        "--draws", "20000",    "--seed", "5"};
  const Outcome first = hingeline_with(ask);
  ASSERT_EQ(first.code, 0) << first.err;
  for (const char* threads : {"1", "3"}) {
    auto with = ask;
    with.insert(with.end(), {"--threads", threads});
    EXPECT_EQ(first.out, hingeline_with(with).out);
  }
  const json why = parsed(first.out);
  EXPECT_EQ(why["draws"]["seed"], 5);
  const double ratio = why["plus_minus"].get<double>() / (2 * why["draws"]["standard"].get<double>());
  EXPECT_GT(ratio, 0.95);
  EXPECT_LT(ratio, 1.6);
}

TEST(Json, IsWholeAndClean) {
  for (const auto& file : {kSaxophone, kClarinet}) {
    const json fit = parsed(hingeline_with({"fit", file, "--json"}).out);
    EXPECT_EQ(fit["unit"], "mm");
    EXPECT_EQ(fit["keys"].size(), ids(file).size());
    expect_clean(fit);
  }
}

TEST(Units, InchesAreShownWithoutChangingAnything) {
  const Outcome o = hingeline_with({"show", kSaxophone, "low-c", "--unit", "in"});
  EXPECT_EQ(o.code, 0);
  EXPECT_NE(o.out.find("end play                     0.0065 ± 0.0002 in"), std::string::npos) << o.out;
  EXPECT_EQ(o.out.find(" mm"), std::string::npos) << o.out;
  const json mm = parsed(hingeline_with({"fit", kSaxophone, "--json"}).out);
  const json in = parsed(hingeline_with({"fit", kSaxophone, "--json", "--unit", "in"}).out);
  for (std::size_t k = 0; k < mm["keys"].size(); ++k)
    EXPECT_EQ(mm["keys"][k]["figures"], in["keys"][k]["figures"]);
}

/// A document typed in inches and the same one typed in millimetres, exactly 25.4 times as many, give the
/// same bytes. The twin is made outside, in decimal.
TEST(Units, AnInchDocumentAndItsMillimetreTwinGiveTheSameBytes) {
  const Folder folder;
  const std::string script = R"(
import decimal, json, re, sys
decimal.getcontext().prec = 60
number = r'(-?\d+(?:\.\d+)?)'
def twin(x):
    if isinstance(x, dict): return {k: twin(v) for k, v in x.items()}
    if isinstance(x, list): return [twin(v) for v in x]
    if isinstance(x, str):
        m = re.fullmatch(number + r' in(?: ± ' + number + r')?', x)
        if m:
            mm = [str(decimal.Decimal(g) * decimal.Decimal('25.4')) for g in m.groups() if g]
            return mm[0] + ' mm' + (' ± ' + mm[1] if len(mm) > 1 else '')
    return x
key = json.load(open(sys.argv[1]))['keys'][5]
def inches(x):
    if isinstance(x, dict):
        if x.get('unit') == 'mm' and 'value' in x:
            return str(decimal.Decimal(repr(x['value'])).quantize(decimal.Decimal('0.0001'))) + ' in ± 0.0010'
        return {k: inches(v) for k, v in x.items()}
    if isinstance(x, list): return [inches(v) for v in x]
    return re.sub(number + ' mm', lambda m: m.group(1) + ' in', x) if isinstance(x, str) else x
# The same key, 25.4 times as large: a plain document in inches.
inch = inches(key)
base = {'format': 'hingeline-instrument', 'version': 1, 'title': 't', 'kind': 'k', 'units': 'mm',
        'body': {'bench_temperature': '20 degC'}, 'keys': [inch]}
json.dump(base, open(sys.argv[2], 'w'))
base['keys'] = [twin(inch)]
json.dump(base, open(sys.argv[3], 'w'))
)";
  const std::string inch = (folder.path() / "inch.json").string();
  const std::string mm = (folder.path() / "mm.json").string();
  const Outcome made = run_program(HINGELINE_PYTHON, {folder.file("twin.py", script), kSaxophone, inch, mm});
  ASSERT_EQ(made.code, 0) << made.err;
  ASSERT_NE(file_text(inch), file_text(mm));
  ASSERT_NE(file_text(inch).find(" in"), std::string::npos);
  ASSERT_EQ(file_text(mm).find(" in"), std::string::npos) << file_text(mm);
  const Outcome a = hingeline_with({"fit", inch, "--shop", example("shop.json"), "--json"});
  const Outcome b = hingeline_with({"fit", mm, "--shop", example("shop.json"), "--json"});
  EXPECT_EQ(a.code, 0) << a.err;
  EXPECT_EQ(a.out, b.out);
}

TEST(Colour, OnlyWhereItIsWanted) {
  const Outcome piped = hingeline_with({"fit", kSaxophone}, {{}, {"TERM=xterm-256color"}, {}});
  EXPECT_EQ(piped.out.find('\x1b'), std::string::npos);
  const Outcome wanted = hingeline_with({"fit", kSaxophone, "--colour", "always"});
  EXPECT_NE(wanted.out.find("\x1b["), std::string::npos);
  std::string plain;
  for (std::size_t k = 0; k < wanted.out.size(); ++k) {
    if (wanted.out[k] == '\x1b') {
      k = wanted.out.find('m', k);
    } else {
      plain += wanted.out[k];
    }
  }
  EXPECT_EQ(plain.size(), piped.out.size());
}

TEST(Width, StaysWithinAHundredWhenPiped) {
  for (const auto& command : std::vector<std::vector<std::string>>{{"fit", kSaxophone},
                                                                   {"show", kSaxophone},
                                                                   {"plan", kClarinet},
                                                                   {"why", kSaxophone, "low-c", "pad-gap"}}) {
    std::istringstream lines(hingeline_with(command).out);
    for (std::string line; std::getline(lines, line);) {
      const auto shown = std::count_if(line.begin(), line.end(), [](char c) { return (c & 0xC0) != 0x80; });
      EXPECT_LE(shown, 100) << line;
    }
  }
}

struct Refusal {
  std::vector<std::string> arguments;
  int code;
  std::string words;
};

TEST(Refusals, HaveTheirExitCodeAndSayWhatWouldBeRight) {
  const Folder folder;
  const std::string newer = folder.file(
      "newer.json",
      R"({"format": "hingeline-instrument", "version": 99, "title": "t", "kind": "k", "keys": []})");
  const std::string broken = folder.file("broken.json", "{\"format\": ");
  const std::string empty = folder.file("empty.json", "");
  const std::string shopless = folder.file(
      "shopless.json",
      R"({"format": "hingeline-instrument", "version": 1, "title": "t", "kind": "k", "units": "mm", "shop": "no.json",
          "body": {"bench_temperature": "20 degC"}, "keys": []})");
  const std::vector<Refusal> all = {
      {{}, 2, "--help"},
      {{"fitt", kSaxophone}, 2, "--help"},
      {{"fit"}, 2, "FILE"},
      {{"fit", kSaxophone, "--unit", "ft"}, 2, "mm"},
      {{"fit", kSaxophone, "--threads", "-1"}, 2, "threads"},
      {{"fit", kSaxophone, "--threads", "lots"}, 2, "threads"},
      {{"fit", kSaxophone, kClarinet}, 2, "--help"},
      {{"draw", kSaxophone, "low-c", "photograph"}, 2, "section"},
      {{"schema", "keyboard"}, 2, "instrument"},
      {{"why", kSaxophone, "low-c", "end-play", "--draws", "1"}, 2, "draws"},
      {{"why", kSaxophone, "low-c", "end-play", "--draws", "10000000"}, 2, "draws"},
      {{"fit", "/nowhere/at-all.json"}, 3, "cannot be read"},
      {{"fit", folder.path().string()}, 3, "cannot be read"},
      {{"fit", kSaxophone, "--shop", "/nowhere/at-all.json"}, 3, "cannot be read"},
      {{"fit", shopless}, 3, "--shop FILE"},
      {{"draw", kSaxophone, "low-c", "strip", "--output", "/nowhere/at/all.svg"}, 3, "cannot be written"},
      {{"fit", empty}, 4, "empty.json"},
      {{"fit", broken}, 4, "broken.json:1"},
      {{"fit", example("shop.json")}, 4, "format"},
      {{"fit", kSaxophone, "--shop", kSaxophone}, 4, "format"},
      {{"check", broken}, 4, "broken.json:1"},
      {{"fit", newer}, 5, "99"},
      {{"show", kSaxophone, "lowc"}, 6, "low-c"},
      {{"plan", kSaxophone, "lowc"}, 6, "low-c"},
      {{"why", kSaxophone, "low-c", "play"}, 6, "end-play"},
      {{"draw", kSaxophone, "lowc", "strip"}, 6, "low-c"},
  };
  for (const Refusal& r : all) {
    const Outcome o = hingeline_with(r.arguments);
    std::string said;
    for (const auto& a : r.arguments) said += a + " ";
    EXPECT_EQ(o.code, r.code) << said << o.err;
    EXPECT_NE(o.err.find(r.words), std::string::npos) << said << "\n" << o.err;
    EXPECT_EQ(o.err.rfind("hingeline: ", 0), 0u) << said << o.err;
    EXPECT_EQ(o.out, "") << said;
  }
}

TEST(Refusals, PartsThatCannotBeAreNamedAndTheOthersStillAnswered) {
  const Folder folder;
  json document = parsed(file_text(kSaxophone));
  document["shop"] = example("shop.json");
  auto& hole = document["keys"][5]["hinge"]["upper"]["hole"];
  hole["shape"] = "bell";
  hole["bell_depth"] = "0.2 mm";
  hole["bell_half_angle"] = "5 deg";
  const std::string file = folder.file("cannot.json", document.dump(2));
  const Outcome o = hingeline_with({"fit", file});
  EXPECT_EQ(o.code, 4);
  const std::string all = o.out + o.err;
  EXPECT_NE(all.find("bell"), std::string::npos) << all;
  EXPECT_EQ(hingeline_with({"check", file}).code, 4);
}

/// Damaged documents, each with its exit code and a word, and never a crash (this runs under the sanitizers
/// as well; a far larger set goes through the reader alone in tests/record).
TEST(Refusals, DamagedDocumentsNeverStopTheProgram) {
  const Folder folder;
  const std::string whole = file_text(example("clarinet.json"));
  std::vector<std::string> documents;
  for (std::size_t k = 0; k < 60; ++k) documents.push_back(whole.substr(0, whole.size() * k / 60));
  // A byte changed somewhere: always the same places.
  std::uint64_t state = 1;
  for (int k = 0; k < 80; ++k) {
    state = state * 6364136223846793005u + 1442695040888963407u;
    std::string damaged = whole;
    damaged[(state >> 20) % damaged.size()] = static_cast<char>(state >> 56);
    documents.push_back(std::move(damaged));
  }
  for (const std::size_t depth : {40u, 1000u, 200000u}) {
    documents.push_back(std::string(depth, '['));
    std::string objects;
    for (std::size_t k = 0; k < depth; ++k) objects += "{\"a\":";
    documents.push_back(objects);
  }
  documents.push_back(whole + whole);
  documents.push_back("\xEF\xBB\xBF" + whole);
  documents.push_back(std::string(9u << 20, ' '));
  int refused = 0;
  for (const std::string& text : documents) {
    const std::string file = folder.file("damaged.json", text);
    const Outcome o = hingeline_with({"fit", file, "--shop", example("shop.json")});
    // A changed letter in a name or a digit may leave a document that reads.
    EXPECT_TRUE(o.code == 0 || o.code == 4 || o.code == 5 || o.code == 6) << o.code << o.err;
    EXPECT_EQ(o.code == 0, o.err.empty()) << o.err;
    refused += o.code != 0 ? 1 : 0;
  }
  EXPECT_GE(refused, 120);
}

TEST(Check, SaysThatNothingIsWrong) {
  const std::pair<const char*, const char*> documents[] = {{"saxophone.json", "an instrument document, "},
                                                           {"clarinet.json", "an instrument document, "},
                                                           {"shop.json", "a shop document, "},
                                                           {"ledger.json", "a ledger, "},
                                                           {"rig.json", "a rig document, 8 specimens, "}};
  for (const auto& [name, kind] : documents) {
    const Outcome o = hingeline_with({"check", example(name)});
    EXPECT_EQ(o.code, 0) << o.err;
    EXPECT_NE(o.out.find(std::string(name) + ": " + kind), std::string::npos) << o.out;
    EXPECT_NE(o.out.find("no problems"), std::string::npos);
    EXPECT_EQ(parsed(hingeline_with({"check", example(name), "--json"}).out)["problems"].size(), 0u);
  }
}

TEST(Check, ListsEveryProblemWithItsPlace) {
  const Folder folder;
  json document = parsed(file_text(kSaxophone));
  document["keys"][0]["hinge"]["span"] = "24.22 furlongs";
  document["keys"][1]["colour"] = "red";
  const std::string file = folder.file("two.json", document.dump(2));
  const Outcome text = hingeline_with({"check", file});
  EXPECT_EQ(text.code, 4);
  EXPECT_NE(text.err.find("/keys/0/hinge/span"), std::string::npos) << text.err;
  EXPECT_NE(text.err.find("/keys/1/colour"), std::string::npos) << text.err;
  const Outcome o = hingeline_with({"check", file, "--json"});
  EXPECT_EQ(o.code, 4);
  const json problems = parsed(o.out)["problems"];
  ASSERT_EQ(problems.size(), 2u);
  for (const auto& p : problems) {
    EXPECT_GT(p["line"].get<int>(), 0);
    EXPECT_FALSE(p["expected"].get<std::string>().empty());
  }
}

TEST(Check, FindsWhatIsWrongInLedgersAndRigs) {
  const Folder folder;
  json ledger = parsed(file_text(example("ledger.json")));
  ledger["jobs"][1]["date"] = "yesterday";
  Outcome o = hingeline_with({"check", folder.file("ledger.json", ledger.dump(2))});
  EXPECT_EQ(o.code, 4);
  EXPECT_NE(o.err.find("/jobs/1/date"), std::string::npos) << o.err;

  const json rig = parsed(file_text(example("rig.json")));
  json wrong = rig;
  wrong["inspections"][0]["specimen"] = "nobody";
  o = hingeline_with({"check", folder.file("rig.json", wrong.dump(2))});
  EXPECT_EQ(o.code, 4);
  EXPECT_NE(o.err.find("/inspections/0/specimen: there is no specimen \"nobody\""), std::string::npos)
      << o.err;
  // Whole members that contradict one another: the first period never ends, and another begins.
  wrong = rig;
  wrong["periods"][0].erase("to");
  o = hingeline_with({"check", folder.file("rig.json", wrong.dump(2))});
  EXPECT_EQ(o.code, 4);
  EXPECT_NE(o.err.find("/periods/1: the period before this one has no end"), std::string::npos) << o.err;
  // A look at one that had failed, however far ahead it is dated.
  wrong = rig;
  wrong["inspections"].push_back({{"at", "2999-01-01T00:00Z"}, {"specimen", "dry-2"}, {"finding", "fine"}});
  o = hingeline_with({"check", folder.file("rig.json", wrong.dump(2)), "--json"});
  EXPECT_EQ(o.code, 4);
  ASSERT_EQ(parsed(o.out)["problems"].size(), 1u) << o.out;
  EXPECT_EQ(parsed(o.out)["problems"][0]["pointer"],
            "/inspections/" + std::to_string(rig["inspections"].size()));
}

TEST(Check, NamesTheFormatsThereAre) {
  const Folder folder;
  const Outcome o = hingeline_with({"check", folder.file("odd.json", R"({"format": "hingeline-piano"})")});
  EXPECT_EQ(o.code, 4);
  for (const char* said : {"/format", "hingeline-piano", "hingeline-instrument", "hingeline-shop",
                           "hingeline-ledger", "hingeline-rig"})
    EXPECT_NE(o.err.find(said), std::string::npos) << said << o.err;
}

TEST(StandardInput, IsAFileLikeAnyOther) {
  const Outcome o =
      hingeline_with({"show", "-", "--shop", example("shop.json")}, {file_text(kSaxophone), {}, {}});
  EXPECT_EQ(o.code, 0) << o.err;
  EXPECT_EQ(o.out, hingeline_with({"show", kSaxophone}).out);
}

TEST(StandardOutput, AFullDiskIsTold) {
  EXPECT_EQ(hingeline_with({"fit", kSaxophone}, {{}, {}, "/dev/full"}).code, 3);
}

TEST(Draw, AsJsonHoldsTheSameDrawing) {
  const json o = parsed(hingeline_with({"draw", kSaxophone, "low-c", "strip", "--json"}).out);
  EXPECT_EQ(o["svg"].get<std::string>(), hingeline_with({"draw", kSaxophone, "low-c", "strip"}).out);
  EXPECT_EQ(o["key"], "low-c");
}

TEST(Draw, WritesAFileWholeOrNotAtAll) {
  const Folder folder;
  const std::string svg = (folder.path() / "low-c.svg").string();
  ASSERT_EQ(hingeline_with({"draw", kSaxophone, "low-c", "section", "--output", svg}).code, 0);
  EXPECT_EQ(file_text(svg), hingeline_with({"draw", kSaxophone, "low-c", "section"}).out);
  EXPECT_EQ(1, std::distance(std::filesystem::directory_iterator(folder.path()), {}));
}

TEST(Draw, WritesPdfAndPngTrueToScale) {
  const Folder folder;
  const std::string pdf = (folder.path() / "low-c.pdf").string();
  ASSERT_EQ(hingeline_with({"draw", kSaxophone, "low-c", "section", "--scale", "10", "--output", pdf}).code,
            0);
  EXPECT_EQ(file_text(pdf).substr(0, 5), "%PDF-");
  const Outcome png = hingeline_with({"draw", kSaxophone, "low-c", "strip", "--as", "png"});
  ASSERT_EQ(png.code, 0);
  EXPECT_EQ(png.out.substr(1, 3), "PNG");
  const Outcome svg = hingeline_with({"draw", kSaxophone, "low-c", "section", "--scale", "10"});
  EXPECT_NE(svg.out.find(">scale 10:1<"), std::string::npos);
  EXPECT_EQ(hingeline_with({"draw", kSaxophone, "low-c", "section", "--scale", "0"}).code, 2);
  EXPECT_EQ(hingeline_with({"draw", kSaxophone, "low-c", "section", "--as", "pdf", "--json"}).code, 2);
}

TEST(Schema, IsThePublishedOne) {
  const std::string docs = std::string(HINGELINE_SOURCE_DIR) + "/docs/formats/";
  EXPECT_EQ(hingeline_with({"schema", "instrument"}).out, file_text(docs + "instrument.schema.json"));
  EXPECT_EQ(hingeline_with({"schema", "shop"}).out, file_text(docs + "shop.schema.json"));
  EXPECT_EQ(hingeline_with({"schema", "rig"}).out, file_text(docs + "rig.schema.json"));
  EXPECT_EQ(hingeline_with({"schema", "slip"}).out, file_text(docs + "slip.schema.json"));
}

// ---- help, manual page, completion, README: what is written down is what there is ------------------

const std::vector<std::string> kCommands = {"fit",   "check",  "show",     "plan",   "why",    "causes",
                                            "lead",  "leak",   "action",   "wear",   "rig",    "stack",
                                            "bow",   "season", "regulate", "budget", "outfit", "learned",
                                            "trial", "draw",   "paper",    "book",   "schema", "completion"};

/// Long options in a help text.
std::vector<std::string> options_in(const std::string& help) {
  std::vector<std::string> out;
  for (std::size_t at = help.find("--"); at != std::string::npos; at = help.find("--", at + 2)) {
    std::size_t end = at + 2;
    while (end < help.size() &&
           (std::islower(static_cast<unsigned char>(help[end])) != 0 || help[end] == '-'))
      ++end;
    if (end > at + 2) out.push_back(help.substr(at, end - at));
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

TEST(Help, EveryCommandHasExamplesThatWork) {
  for (const auto& command : kCommands) {
    const Outcome o = hingeline_with({command, "--help"});
    EXPECT_EQ(o.code, 0);
    EXPECT_NE(o.out.find("Examples:"), std::string::npos) << command;
  }
  const Outcome all = hingeline_with({"--help"});
  EXPECT_EQ(all.code, 0);
  for (const auto& command : kCommands)
    EXPECT_NE(all.out.find("\n  " + command + " "), std::string::npos) << command;
  EXPECT_EQ(hingeline_with({"--version"}).out.rfind("hingeline ", 0), 0u);
}

TEST(Manual, HasEveryCommandAndOption) {
  std::string manual = file_text(std::string(HINGELINE_SOURCE_DIR) + "/docs/hingeline.1");
  std::string plain;
  for (std::size_t k = 0; k < manual.size(); ++k) {
    if (manual.compare(k, 2, "\\-") == 0) continue;
    plain += manual[k];
  }
  for (const auto& command : kCommands) {
    EXPECT_NE(manual.find(".SS \"" + command), std::string::npos) << command;
    for (const auto& option : options_in(hingeline_with({command, "--help"}).out)) {
      std::string escaped;
      for (const char c : option) escaped += c == '-' ? std::string("\\-") : std::string(1, c);
      EXPECT_NE(manual.find(escaped), std::string::npos) << command << " " << option;
    }
  }
}

TEST(Completion, KnowsCommandsOptionsKeysAndFigures) {
  const Folder folder;
  const std::string script = folder.file("hingeline.bash", hingeline_with({"completion", "bash"}).out);
  const auto complete = [&](const std::string& words) {
    const Outcome o = run_program(
        "/bin/bash",
        {"-c", "source " + script + "; compopt() { :; }; COMP_WORDS=(" + words +
                   "); COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); _hingeline; echo \"${COMPREPLY[*]}\""});
    EXPECT_EQ(o.err, "");
    return o.out;
  };
  EXPECT_EQ(complete("hingeline sh"), "show\n");
  EXPECT_EQ(complete("hingeline why " + kSaxophone + " low-c-"), "low-c-sharp\n");
  EXPECT_EQ(complete("hingeline why " + kSaxophone + " low-c seat"), "seat-wander\n");
  EXPECT_EQ(complete("hingeline why --unit mm " + kSaxophone + " low-c seat"), "seat-wander\n");
  EXPECT_EQ(complete("hingeline book wr"), "write-out\n");
  EXPECT_EQ(complete("hingeline book copy --kee"), "--keep\n");
  EXPECT_EQ(complete("hingeline fit --un"), "--unit\n");
  EXPECT_EQ(complete("hingeline fit --unit i"), "in\n");
  EXPECT_EQ(complete("hingeline draw " + kSaxophone + " low-c s"), "section strip stack\n");
  EXPECT_EQ(complete("hingeline schema sl"), "slip\n");
  EXPECT_EQ(complete("hingeline paper --quick q"), "quote\n");  // nothing stands behind --quick
  EXPECT_EQ(complete("hingeline lead --complaint b"), "binds\n");
  for (const char* shell : {"zsh", "fish"}) {
    const Outcome o = hingeline_with({"completion", shell});
    EXPECT_EQ(o.code, 0);
    for (const auto& command : kCommands)
      EXPECT_NE(o.out.find(command), std::string::npos) << shell << command;
  }
}

bool updating() { return std::getenv("HINGELINE_UPDATE_GOLDEN") != nullptr; }

/// Blocks of README.md that begin with "$ hingeline ..." show exactly what the program says. With
/// HINGELINE_UPDATE_GOLDEN set they are written anew.
TEST(Readme, ShowsWhatTheProgramSays) {
  const std::string path = std::string(HINGELINE_SOURCE_DIR) + "/README.md";
  std::string readme = file_text(path);
  const std::string opening = "```text\n$ hingeline ";
  int shown = 0;
  for (std::size_t at = readme.find(opening); at != std::string::npos; at = readme.find(opening, at + 1)) {
    const std::size_t from = at + opening.size();
    const std::size_t line = readme.find('\n', from);
    const std::size_t end = readme.find("```", line);
    std::istringstream words(readme.substr(from, line - from));
    std::vector<std::string> arguments;
    for (std::string word; words >> word;) {
      arguments.push_back(word.rfind("examples/", 0) == 0 ? std::string(HINGELINE_SOURCE_DIR) + "/" + word
                                                          : word);
    }
    const Outcome o = hingeline_with(arguments);
    EXPECT_EQ(o.code, 0) << readme.substr(from, line - from);
    if (updating()) {
      readme.replace(line + 1, end - line - 1, o.out);
    } else {
      EXPECT_EQ(o.out, readme.substr(line + 1, end - line - 1));
    }
    ++shown;
  }
  EXPECT_GE(shown, 4);
  if (updating()) std::ofstream(path) << readme;
}

TEST(Readme, ItsPicturesAreWhatTheProgramDraws) {
  for (const char* kind : {"strip", "section"}) {
    const std::string path = std::string(HINGELINE_SOURCE_DIR) + "/docs/pictures/low-c-" + kind + ".svg";
    const Outcome o = hingeline_with({"draw", kSaxophone, "low-c", kind});
    if (updating()) {
      std::filesystem::create_directories(std::filesystem::path(path).parent_path());
      std::ofstream(path) << o.out;
    }
    EXPECT_EQ(o.out, file_text(path));
  }
}

}  // namespace
}  // namespace hingeline::test
