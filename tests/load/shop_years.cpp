#include "load/shop_years.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <random>
#include <stdexcept>

#include "hingeline/base/moment.h"
#include "hingeline/record/assemble.h"
#include "hingeline/store/sha256.h"

namespace hingeline::load {
namespace {

using Json = nlohmann::ordered_json;
using record::Slip;

constexpr std::int64_t kVisitsOfOne = 3;       ///< of an instrument
constexpr std::int64_t kInstrumentsOfTwo = 3;  ///< of two owners
constexpr std::size_t kKeys = 6;
constexpr std::int64_t kOpen = 120;                  ///< visits that are not handed back, at the most
constexpr std::uint64_t kBegan = 1'479'000'000'000;  ///< November 2016
constexpr std::uint64_t kTenYears = 316'000'000'000;

constexpr std::array kFirst{"Ada", "Bo", "Cay", "Dee", "Eli", "Fern", "Gil", "Hope", "Ivo", "Joy"};
constexpr std::array kLast{"Ash", "Birch", "Cedar", "Elm", "Fir", "Gorse", "Hazel", "Iris", "Larch", "Maple"};
struct Sort {
  const char* title;
  const char* kind;
};
constexpr std::array kSorts{Sort{"Demonstration alto", "alto saxophone"},
                            Sort{"Demonstration clarinet", "clarinet"}, Sort{"Demonstration flute", "flute"},
                            Sort{"Demonstration oboe", "oboe"}, Sort{"Demonstration bassoon", "bassoon"}};
constexpr std::array kComplaints{"low notes rattle", "binds when it is cold", "a pad leaks",
                                 "slow to come back", "clicks at the side keys"};

std::string file_text(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw std::runtime_error("cannot read " + path);
  return {std::istreambuf_iterator<char>(file), {}};
}

/// A word nobody else uses, one of a few thousand: "cork-0042" in letters.
std::string word_of(std::uint64_t n) {
  static constexpr std::array kParts{"ba", "de", "fi", "go", "ku", "la", "me", "ni", "po", "ru"};
  std::string out;
  for (int i = 0; i < 4; ++i, n /= kParts.size()) out += kParts[n % kParts.size()];
  return out;
}

/// All slips one after the other, as the lines of an archive.
class Maker {
 public:
  explicit Maker(const YearsAsked& asked) : asked_(asked), engine_(asked.seed) { take_apart(); }

  [[nodiscard]] std::int64_t slips() const {
    const std::int64_t owners = owners_of(asked_.visits);
    const std::int64_t instruments = instruments_of(asked_.visits);
    // Of each visit: itself, its end or present state, readings, two pieces of work, a finding, a note.
    return owners + instruments * static_cast<std::int64_t>(1 + kKeys) +
           asked_.visits * (asked_.readings + 6);
  }

  /// The next lines; false: there are no more.
  bool next(std::string& lines) {
    const std::int64_t owners = owners_of(asked_.visits);
    if (owner_ < owners) {
      add(lines, record::OwnerSlip{owner_name(owner_), fmt::format("555 {:05}", owner_), {}, {}}, {}, {});
      ++owner_;
      return true;
    }
    const std::int64_t instruments = instruments_of(asked_.visits);
    if (instrument_ < instruments) {
      instrument(lines);
      ++instrument_;
      return true;
    }
    if (visit_ == asked_.visits) return false;
    visit(lines);
    ++visit_;
    return true;
  }

 private:
  struct Made {
    std::string id;
    std::array<std::string, kKeys> keys;
  };

  /// The instrument and its keys that all here are made after.
  void take_apart() {
    Json document = Json::parse(file_text(asked_.examples + "/saxophone.json"));
    Json short_one = Json::object();
    for (const auto& item : document.items()) {
      // What names other keys is left out with them.
      if (item.key() != "works" && item.key() != "stacks" && item.key() != "links" &&
          item.key() != "closes_together" && item.key() != "budget" && item.key() != "oil")
        short_one[item.key()] = item.value();
    }
    Json keys = Json::array();
    for (const Json& key : document.at("keys")) {
      if (keys.size() < kKeys && key.at("hinge").at("kind") == "pivot") keys.push_back(key);
    }
    short_one["keys"] = keys;
    record::SlipMaking making;
    std::uint64_t n = 0;
    making.next_id = [&] {
      ++n;
      return record::slip_id(n, n, n);
    };
    making.at = "2016-11-26T14:05:00Z";
    auto slips = record::instrument_slips(short_one.dump(), "example", {}, "2016-11-26", making);
    if (!slips) throw std::runtime_error(slips.error().front().what);
    for (Slip& s : *slips) {
      if (s.kind() == record::SlipKind::instrument)
        like_instrument_ = std::get<record::InstrumentSlip>(s.body);
      if (s.kind() == record::SlipKind::key) like_keys_.push_back(std::get<record::KeySlip>(s.body));
    }
    if (like_keys_.size() != kKeys) throw std::runtime_error("the example has too few keys on pivots");
  }

  [[nodiscard]] std::string id_of(std::int64_t nth) const {
    const auto n = static_cast<std::uint64_t>(nth);
    return record::slip_id(kBegan + n * (kTenYears / static_cast<std::uint64_t>(slips())), n,
                           n * 2654435761U);
  }
  std::string add(std::string& lines, record::SlipBody body, const std::string& of, const std::string& key,
                  const std::string& replaces = {}) {
    Slip slip;
    slip.id = id_of(slip_++);
    slip.at =
        iso_text(Moment::at(static_cast<std::int64_t>(record::milliseconds_of(slip.id) / 1000)), UtcOffset{});
    slip.of = of;
    slip.key = key;
    slip.replaces = replaces;
    slip.body = std::move(body);
    lines += R"({"slip":)" + record::write_slip(slip) + "}\n";
    return slip.id;
  }

  void instrument(std::string& lines) {
    const Sort& sort = kSorts[static_cast<std::size_t>(instrument_) % kSorts.size()];
    record::InstrumentSlip says = like_instrument_;
    says.title = sort.title;
    says.kind = sort.kind;
    says.serial = serial(instrument_);
    Json document = Json::parse(says.document.json);
    for (const auto& [name, text] : {std::pair{"title", &says.title}, std::pair{"kind", &says.kind},
                                     std::pair{"serial", &says.serial}}) {
      if (document.contains(name)) document[name] = *text;
    }
    says.document.json = document.dump();
    Made made;
    made.id = add(lines, says, id_of(instrument_ * 2 / kInstrumentsOfTwo), {});
    for (std::size_t k = 0; k < kKeys; ++k) made.keys[k] = add(lines, like_keys_[k], made.id, {});
    made_.push_back(std::move(made));
  }

  void visit(std::string& lines) {
    // Instruments come round in turn, so those of one are years apart.
    const Made& what = made_[static_cast<std::size_t>(visit_) % made_.size()];
    const bool open = asked_.visits - visit_ <= kOpen;
    record::VisitSlip says;
    says.complaint =
        fmt::format("{}, {}", kComplaints[engine_() % kComplaints.size()], word_of(engine_() % 9000));
    const auto day = static_cast<std::int64_t>(record::milliseconds_of(id_of(slip_)) / 1000);
    says.came = day_text(Moment::at(day), UtcOffset{});
    if (engine_() % 20 != 0) says.promised = day_text(Moment::at(day + 14L * 24 * 3600), UtcOffset{});
    const std::string id = add(lines, says, what.id, {});
    for (std::int64_t n = 0; n < asked_.readings; ++n) {
      const std::string& key = what.keys[static_cast<std::size_t>(n) % kKeys];
      add(lines,
          record::ReadingSlip{
              "/readings/end_play", {fmt::format("\"0.{:03} mm ± 0.006\"", 15 + engine_() % 90), {}}, {}},
          id, key);
    }
    const std::string& key = what.keys[engine_() % kKeys];
    add(lines, record::FindingSlip{"sticks", "free", {}}, id, key);
    record::OperationSlip work;
    work.step = "drive-home";
    work.minutes.present = true;
    work.minutes.origin = Origin::read;
    work.minutes.value = 2;
    work.minutes.unit = "min";
    add(lines, work, id, key);
    work.note = "chips cleaned out";
    add(lines, work, id, key);
    add(lines, record::NoteSlip{fmt::format("felt {} under the arm", word_of(engine_() % 9000)), {}}, id, {});
    static constexpr std::array kStates{record::VisitState::looked_over, record::VisitState::agreed,
                                        record::VisitState::in_work, record::VisitState::proved};
    says.state = open ? kStates[engine_() % kStates.size()] : record::VisitState::handed_back;
    add(lines, says, what.id, {}, id);
  }

  YearsAsked asked_;
  std::mt19937_64 engine_;
  record::InstrumentSlip like_instrument_;
  std::vector<record::KeySlip> like_keys_;
  std::vector<Made> made_;
  std::int64_t slip_ = 0;
  std::int64_t owner_ = 0;
  std::int64_t instrument_ = 0;
  std::int64_t visit_ = 0;
};

}  // namespace

std::string owner_name(std::int64_t nth) {
  const auto n = static_cast<std::size_t>(nth);
  return fmt::format("{} {} {:05} Example", kFirst[n % kFirst.size()],
                     kLast[n / kFirst.size() % kLast.size()], nth);
}
std::string serial(std::int64_t nth) { return fmt::format("DEMO{:06}", nth * 7); }
std::int64_t instruments_of(std::int64_t visits) { return std::max<std::int64_t>(visits / kVisitsOfOne, 1); }
std::int64_t owners_of(std::int64_t visits) { return instruments_of(visits) * 2 / kInstrumentsOfTwo + 1; }

store::Archived fill_years(store::Book& book, const YearsAsked& asked) {
  Maker maker(asked);
  store::Sha256 sum;
  std::string text = fmt::format(
      "{{\"format\":\"hingeline-archive\",\"version\":1,\"slips\":{},\"waiting\":0,\"forgotten\":0,\"bytes\":"
      "0}}\n",
      maker.slips());
  bool over = false;
  std::size_t given = 0;
  sum.add(text);
  const store::Source source = [&](std::span<char> into) -> Expected<std::size_t> {
    while (given == text.size() && !over) {
      text.clear();
      given = 0;
      if (maker.next(text)) {
        sum.add(text);
      } else {
        text = fmt::format("{{\"sha256\":\"{}\"}}\n", sum.hex());
        over = true;
      }
    }
    const std::size_t size = std::min(into.size(), text.size() - given);
    std::copy_n(text.begin() + static_cast<std::ptrdiff_t>(given), size, into.begin());
    given += size;
    return size;
  };
  auto archived = store::read_archive(book, source, "years");
  if (!archived) throw std::runtime_error(archived.error().what + "; " + archived.error().expected);
  return std::move(*archived);
}

std::vector<Questions> questions(const YearsAsked& asked, const std::vector<std::string>& visits,
                                 const std::vector<std::string>& owners) {
  std::mt19937_64 engine(asked.seed + 1);
  const std::int64_t instruments = instruments_of(asked.visits);
  const auto below = [&](std::int64_t n) {
    return static_cast<std::int64_t>(engine() % static_cast<std::uint64_t>(n));
  };
  constexpr std::size_t kEach = 300;
  std::vector<Questions> out;
  const auto ask = [&](const char* what, auto path) {
    Questions q{what, {}};
    for (std::size_t i = 0; i < kEach; ++i) q.paths.push_back(path());
    out.push_back(std::move(q));
  };
  const std::string list = "/api/visits?most=100";
  ask("the list, first page", [&] { return list; });
  ask("the list, some page", [&] { return fmt::format("{}&skip={}", list, below(asked.visits)); });
  ask("by state: what is open",
      [&] { return list + "&state=waiting,looked-over,quoted,agreed,in-work,proved"; });
  ask("by state: one of the few", [&] { return list + "&state=in-work"; });
  ask("by state: handed back", [&] { return list + "&state=handed-back"; });
  ask("by promise date: a week", [&] {
    const std::int64_t day = static_cast<std::int64_t>(kBegan / 1000) + below(3600) * 24 * 3600;
    return fmt::format("{}&from={}&to={}", list, day_text(Moment::at(day), UtcOffset{}),
                       day_text(Moment::at(day + 6L * 24 * 3600), UtcOffset{}));
  });
  ask("by promise date: from a day on", [&] {
    const std::int64_t day = static_cast<std::int64_t>(kBegan / 1000) + below(3600) * 24 * 3600;
    return fmt::format("{}&from={}", list, day_text(Moment::at(day), UtcOffset{}));
  });
  ask("by owner (id)", [&] { return list + "&owner=" + owners[engine() % owners.size()]; });
  ask("owner's name, two words", [&] {
    const std::int64_t n = below(owners_of(asked.visits));
    return fmt::format("{}&words={}+{:05}", list, kFirst[static_cast<std::size_t>(n) % kFirst.size()], n);
  });
  ask("owner's name, a common word",
      [&] { return fmt::format("{}&words={}", list, kLast[engine() % kLast.size()]); });
  ask("serial", [&] { return fmt::format("{}&words={}", list, serial(below(instruments))); });
  ask("serial, as far as typed",
      [&] { return fmt::format("{}&words={}", list, serial(below(instruments)).substr(0, 8)); });
  ask("serial that is not there", [&] { return fmt::format("{}&words=DEMO9{:05}", list, below(90'000)); });
  ask("key", [&] { return list + "&words=palm+flat"; });
  ask("pattern", [&] { return list + "&words=small+headless"; });
  ask("full text: a rare word", [&] { return fmt::format("{}&words={}", list, word_of(engine() % 9000)); });
  ask("full text: common words", [&] { return list + "&words=rattle+felt+alto"; });
  ask("full text: words that never meet", [&] { return list + "&words=alto+bassoon"; });
  ask("full text with a state", [&] { return list + "&words=leaks&state=in-work,agreed"; });
  ask("full text with a week", [&] {
    const std::int64_t day = static_cast<std::int64_t>(kBegan / 1000) + below(3600) * 24 * 3600;
    return fmt::format("{}&words=rattle&from={}&to={}", list, day_text(Moment::at(day), UtcOffset{}),
                       day_text(Moment::at(day + 6L * 24 * 3600), UtcOffset{}));
  });
  const auto some_visit = [&] { return visits[engine() % visits.size()]; };
  ask("open a visit", [&] { return "/api/visits/" + some_visit(); });
  ask("its document", [&] { return "/api/visits/" + some_visit() + "/document"; });
  ask("fit of one key", [&] { return "/api/visits/" + some_visit() + "/fit?key=palm-d"; });
  return out;
}

}  // namespace hingeline::load
