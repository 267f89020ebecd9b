// Documents drawn at random, valid by construction: each quantity is drawn between bounds that keep the
// parts of one hinge from contradicting each other.

#include <fmt/format.h>

#include <array>
#include <bit>
#include <cmath>
#include <random>

#include "support.h"

namespace hingeline::record::samples {
namespace {

class Maker {
 public:
  explicit Maker(std::uint64_t seed) : random_(seed) {}

  std::uint64_t below(std::uint64_t n) { return random_() % n; }
  bool chance(int percent) { return below(100) < static_cast<std::uint64_t>(percent); }
  /// In [low, high), whatever the standard library's distributions do.
  double between(double low, double high) {
    return low + (high - low) * (static_cast<double>(random_() >> 11) * 0x1p-53);
  }
  template <std::size_t N>
  const char* one_of(const std::array<const char*, N>& words) {
    return words[below(N)];
  }

  /// Decimal digits of a number in [low, high): from a bench's few to all a double has.
  std::string digits(double low, double high) {
    for (;;) {
      const double v = between(low, high);
      const int places = static_cast<int>(below(5));
      const std::string text = chance(40) ? fmt::format("{}", v) : fmt::format("{:.{}f}", v, places);
      const double back = std::stod(text);
      const bool plain = text.find('e') == std::string::npos;
      if (plain && back >= low && back < high) return text;
    }
  }

  /// A length between two bounds in mm, in any of the forms.
  Json length(double low, double high, bool may_lack = true) {
    if (may_lack && chance(6)) return "?";
    static constexpr std::array<const char*, 4> kUnits{"mm", "um", "in", "thou"};
    static constexpr std::array<double, 4> kSizes{1, 0.001, 25.4, 0.0254};
    const auto unit = below(4);
    return quantity(kUnits[unit], low / kSizes[unit], high / kSizes[unit], may_lack);
  }
  /// A flank's half angle between two bounds in degrees.
  Json flank(double low, double high) {
    const double rad = std::acos(-1.0) / 180;
    switch (below(6)) {
      case 0:
        return quantity("rad", low * rad, high * rad, true);
      case 1:
        return "1:" + digits(1 / (2 * std::tan(high * rad)), 1 / (2 * std::tan(low * rad)));
      case 2:
        return quantity("taper", 1 / (2 * std::tan(high * rad)), 1 / (2 * std::tan(low * rad)), true,
                        "0.5 deg");
      case 3:
        return fmt::format("{}°{}'", std::ceil(low), below(60));
      default:
        return quantity("deg", low, high, true);
    }
  }
  Json angle(double low, double high) {
    const double rad = std::acos(-1.0) / 180;
    return chance(30) ? quantity("rad", low * rad, high * rad, true) : quantity("deg", low, high, true);
  }
  Json temperature(double low, double high) {
    switch (below(3)) {
      case 0:
        return quantity("degF", low * 1.8 + 32, high * 1.8 + 32, true);
      case 1:
        return quantity("K", low + 273.15, high + 273.15, true);
      default:
        return quantity("degC", low, high, true);
    }
  }
  /// A plain number in its one unit.
  Json number_in(const char* unit, double low, double high) { return quantity(unit, low, high, true); }
  /// A plain number, of no unit.
  Json number(double low, double high) {
    Json out = quantity("", low, high, true);
    if (out.is_object()) out.erase("unit");
    return out;
  }
  Json minutes(double low, double high) { return quantity("min", low, high, false); }
  /// As text or as a number, with none, one or two decimals.
  Json money() {
    const auto whole = below(5000);
    switch (below(3)) {
      case 0:
        return whole;
      case 1:
        return fmt::format("{}.{}", whole, below(10));
      default:
        return fmt::format("{},{:02}", whole, below(100));
    }
  }
  Json plain(const char* unit, double low, double high) { return quantity(unit, low, high, true); }
  Json expansion() { return quantity("1e-6/K", 0, 40, true); }

  Json point() {
    Json p;
    const std::string shape = one_of<4>({"cone", "ball", "parallel", "profile"});
    p["shape"] = shape;
    if (shape == "profile") {
      p["pairs"] = pairs();
      return p;
    }
    if (chance(80)) p["length"] = length(2.5, 3.5);
    if (shape == "cone") {
      const std::string tip = one_of<3>({"flat", "round", "worn"});
      if (chance(90)) p["tip"] = tip;
      if (chance(90)) p["half_angle"] = flank(8, 40);
      if (!p.contains("tip") || tip != "round") p["tip_diameter"] = length(0.4, 0.9);
      if (p.contains("tip") && tip == "round") p["tip_radius"] = length(0.2, 0.5);
      if (p.contains("tip") && tip == "worn") {
        p["wear_length"] = length(0.2, 0.9);
        p["wear_depth"] = length(0, 0.15);
      }
      if (chance(50)) p["shank_diameter"] = length(2, 2.4);
    } else if (shape == "ball") {
      p["ball_diameter"] = length(1, 1.4);
      p["neck_diameter"] = length(0.4, 0.9);
    } else {
      p["pin_diameter"] = length(0.8, 1.1);
      if (chance(70)) p["pin_length"] = length(1, 2);
      if (chance(70)) p["shoulder_diameter"] = length(1.5, 2.2);
    }
    return p;
  }
  Json hole() {
    Json h;
    const std::string shape = one_of<5>({"cone", "straight", "drilled", "bell", "profile"});
    h["shape"] = shape;
    if (shape == "profile") {
      h["pairs"] = pairs();
      return h;
    }
    h["mouth_diameter"] = length(1.5, 2.4);
    if (chance(90)) h["depth"] = length(2, 3);
    if (shape == "cone" || shape == "bell") h["half_angle"] = flank(8, 20);
    if (shape == "drilled") h["floor_half_angle"] = flank(55, 65);
    if (shape == "bell") {
      h["bell_half_angle"] = flank(25, 50);
      h["bell_depth"] = length(0.2, 0.8);
    }
    return h;
  }
  Json screw(bool may_name_pattern) {
    Json s = Json::object();
    if (may_name_pattern && chance(30)) s["pattern"] = "middle";
    const std::string head = one_of<2>({"headed", "headless"});
    s["head"] = head;
    if (chance(60)) s["head_diameter"] = length(2.6, 4);
    if (head == "headed" && chance(50)) s["head_height"] = length(1, 2);
    if (chance(30)) s["slot_reach"] = length(0, 0.8);
    switch (below(4)) {
      case 0:
        s["thread"] = one_of<4>({"M2.5x0.45", "M3x0.5", "4-40", "5-44"});
        break;
      case 1:
        s["thread"] = {{"pitch", length(0.3, 0.6)}, {"major", length(2.5, 3)}};
        break;
      default:
        break;
    }
    s["point"] = point();
    if (chance(70)) s["protrusion"] = length(-0.5, 2);
    if (head == "headed" && chance(50)) s["stands_off"] = length(0, 0.3);
    if (chance(30)) s["sink"] = length(-0.5, 0.5);
    return s;
  }
  Json end() {
    Json e;
    e["screw"] = screw(true);
    e["hole"] = hole();
    if (chance(60)) e["key_end_diameter"] = length(3, 4.5);
    if (chance(60)) {
      Json p = Json::object();
      if (chance(80)) p["diameter"] = length(5, 6);
      if (chance(80)) p["thickness"] = length(4, 5);
      if (chance(50)) p["web"] = length(0.5, 1.5);
      if (chance(50)) p["engagement"] = length(2, 3.5);
      if (chance(30)) p["displaced"] = length(-0.3, 0.3);
      if (chance(50)) p["room_behind"] = length(0, 30);
      if (chance(50)) p["room_around"] = length(0, 10);
      if (chance(30)) p["lean"] = angle(-3, 3);
      if (chance(30)) p["turn"] = angle(-3, 3);
      if (chance(30)) p["across"] = length(-1, 1);
      e["post"] = p;
    }
    return e;
  }
  Json key(std::size_t number) {
    Json k;
    k["id"] = fmt::format("key-{}", number);
    if (chance(60)) k["name"] = words();
    Json h;
    const bool rod = chance(20);
    h["kind"] = rod ? "rod" : "pivot";
    h["span"] = length(31, 40);
    h["key_length"] = length(20, 31);
    if (rod) {
      h["rod_diameter"] = length(1.5, 2);
      h["bore"] = length(2, 2.2);
      if (chance(40)) h["off_axis"] = length(3, 20);
    } else {
      h["upper"] = end();
      h["lower"] = end();
    }
    if (chance(30)) h["off_axis"] = length(-30, 30);
    if (chance(30)) h["along"] = length(-10, 400);
    if (chance(30)) h["post_height"] = length(4, 12);
    k["hinge"] = h;
    if (chance(60)) {
      Json p{{"tone_hole", length(5, 40)}, {"station", length(-5, 30)}, {"arm", length(5, 30)}};
      if (chance(50)) p["clock"] = angle(-180, 180);
      if (chance(50)) p["offset"] = length(-0.5, 0.5);
      if (chance(30)) p["land"] = length(0.3, 2);
      if (chance(30)) p["take_up"] = length(0, 0.1);
      k["pad"] = p;
    }
    if (chance(30)) {
      Json t{{"arm", length(5, 30)}};
      if (chance(50)) t["clock"] = angle(-180, 180);
      for (std::uint64_t i = below(3); i > 0; --i)
        t["fingers"].push_back({{"name", words()}, {"station", length(-5, 40)}});
      k["touch"] = t;
    }
    if (chance(50)) {
      const bool needle = chance(60);
      Json spring{{"kind", needle ? "needle" : "flat"}};
      if (chance(80)) spring["length"] = length(15, 40);
      if (chance(80)) spring["set"] = length(0, 6);
      if (chance(80)) spring["works_at"] = length(3, 9);
      if (chance(30)) spring["material"] = words();
      if (needle) {
        if (chance(80)) spring["diameter"] = length(0.4, 1);
        if (chance(30)) spring["wanted"] = number_in("N", 0.05, 1);
      } else {
        if (chance(80)) spring["width"] = length(2, 4);
        if (chance(80)) spring["thickness"] = length(0.2, 0.6);
        if (chance(50)) spring["shape"] = one_of<3>({"rectangular", "tapered", "triangular"});
      }
      k["spring"] = spring;
    }
    if (chance(50)) {
      Json moving{{"stands", one_of<2>({"open", "closed"})}};
      if (chance(50)) moving["mass"] = number_in("g", 2, 30);
      if (chance(50)) moving["gyration"] = length(8, 30);
      if (chance(50)) moving["travel"] = length(2, 10);
      k["moving"] = moving;
    }
    if (chance(60)) {
      Json r = Json::object();
      if (chance(80)) r["end_play"] = length(-0.05, 0.2);
      if (chance(40)) r["gap_upper"] = length(0, 0.2);
      if (chance(40)) r["gap_lower"] = length(0, 0.2);
      for (std::uint64_t i = below(3); i > 0; --i)
        r["rock"].push_back({{"station", length(0, 20)}, {"value", length(0, 0.4)}});
      k["readings"] = r;
    }
    if (chance(20)) k["allowed"] = {{"window_low", length(0, 0.01)}, {"window_high", length(0.02, 0.05)}};
    if (chance(30)) k["touch"] = {{"arm", length(15, 40)}};
    if (chance(40)) k["opening"] = length(1, 4);
    // One that stands open has one opening, written down in one place or in both.
    if (k.contains("opening") && k.contains("moving") && k["moving"].contains("travel") &&
        k["moving"]["stands"] == "open") {
      k["moving"]["travel"] = k["opening"];
    }
    if (chance(20)) k["opening_wanted"] = {{"low", length(1, 2)}, {"high", length(2, 4)}};
    if (chance(20)) k["stop"] = {{"arm", length(5, 20)}, {"cork", length(0, 2)}, {"material", "cork"}};
    if (chance(30)) k["note"] = words() + "\n\t" + words();
    return k;
  }

  Json stack(std::size_t number) {
    Json s{{"id", fmt::format("stack-{}", number)}, {"gaps", Json::array()}};
    if (chance(60)) s["name"] = words();
    if (chance(80)) {
      s["rod"] = Json::object();
      if (chance(80)) s["rod"]["diameter"] = length(1.5, 2);
      if (chance(50)) {
        s["rod"]["bow"] = length(0, 0.3);
        s["rod"]["bow_over"] = length(50, 200);
      }
    }
    const auto gaps = 1 + below(3);
    for (std::uint64_t g = 0; g < gaps; ++g) {
      Json gap{{"tubes", Json::array()}};
      if (chance(50)) gap["span"] = length(40, 90);
      if (chance(80)) gap["end_play"] = length(-0.1, 0.3);
      if (chance(20)) gap["window_low"] = length(0, 0.01);
      if (chance(20)) gap["window_high"] = length(0.02, 0.05);
      for (std::uint64_t t = 1 + below(3); t > 0; --t) {
        Json tube;
        if (chance(30)) tube["key"] = "key-0";
        if (!tube.contains("key") || chance(50)) tube["name"] = words();
        if (chance(80)) tube["length"] = length(20, 40);
        if (chance(80)) tube["bore"] = length(2, 2.2);
        if (chance(80)) tube["outside"] = length(3, 4);
        if (chance(20)) tube["bearing"] = length(2, 10);
        if (chance(60)) {
          tube["station"] = length(-5, 20);
          tube["offset"] = length(-0.3, 0.3);
          if (chance(50)) tube["allowed"] = length(0, 0.3);
        }
        for (const char* work : {"swedge", "face", "ream"}) {
          if (chance(20)) tube[work] = one_of<2>({"yes", "no"});
        }
        gap["tubes"].push_back(tube);
      }
      s["gaps"].push_back(gap);
    }
    if (chance(40)) {
      for (std::uint64_t p = 0; p <= gaps; ++p) {
        Json post = Json::object();
        if (chance(50)) post["name"] = words();
        if (chance(30)) post["may_move"] = length(0, 0.3);
        s["posts"].push_back(post);
      }
    }
    if (chance(20)) s["note"] = words();
    return s;
  }

  std::string words() {
    static constexpr std::array<const char*, 8> kPieces{"G sharp",     "low B", "é",    "\"quoted\"",
                                                        "back\\slash", "/~1",   "日本", "𝄞"};
    std::string out = "k";
    for (std::uint64_t i = below(4); i > 0; --i) out += fmt::format(" {}", one_of(kPieces));
    return out;
  }
  Json range(const char* unit, double low, double high) {
    const double middle = between(low, high);
    Json a = number_or_text(digits(low, middle < high ? std::nextafter(middle, high) : high));
    // The upper end is drawn from what is left above the lower.
    const double floor = std::stod(a.is_string() ? a.get<std::string>() : a.dump());
    Json b = number_or_text(digits(std::max(floor, low), high));
    Json out{{"origin", "unknown"}, {"between", {a, b}}};
    if (*unit != '\0') out["unit"] = unit;
    if (chance(20)) out["meaning"] = words();
    return out;
  }

 private:
  Json number_or_text(const std::string& text) {
    if (chance(30)) return text;
    // A double prints with the fewest digits that come back, so the document holds the same number.
    return std::stod(text);
  }
  Json quantity(const char* unit, double low, double high, bool may_lack, const char* plus_minus = nullptr) {
    const std::string_view named = unit;
    if (may_lack && chance(8) && named != "taper") return range(unit, low, high);
    const std::string doubt = digits(0, std::abs(high - low) / 1000);
    const bool has_doubt = chance(50);
    if (chance(50) && named != "taper") {
      std::string text = fmt::format("{} {}", digits(low, high), unit);
      if (has_doubt) text += " ± " + doubt;
      // No reading is longer.
      if (text.size() < 60) return text;
    }
    Json out;
    out["unit"] = unit;
    if (has_doubt) out["plus_minus"] = plus_minus == nullptr ? number_or_text(doubt) : Json(plus_minus);
    const bool repeats = chance(20);
    if (repeats) {
      Json list = Json::array();
      for (std::uint64_t i = 1 + below(5); i > 0; --i) list.push_back(number_or_text(digits(low, high)));
      out["repeats"] = list;
      if (chance(30)) out["value"] = list[below(list.size())];
    } else {
      out["value"] = number_or_text(digits(low, high));
    }
    if (chance(20)) out["origin"] = one_of<3>({"read", "pattern", "preset"});
    if (chance(20)) out["with"] = "caliper";
    if (chance(10)) out["meaning"] = words();
    return out;
  }
  Json pairs() {
    const bool inch = chance(50);
    const double size = inch ? 25.4 : 1;
    Json values = Json::array({Json::array({0, number_or_text(digits(0, 0.5 / size))})});
    double along = 0;
    for (std::uint64_t i = 1 + below(4); i > 0; --i) {
      const std::string next = digits(along, along + 1 / size);
      along = std::stod(next);
      values.push_back({number_or_text(next), number_or_text(digits(0, 1.2 / size))});
    }
    return {{"unit", inch ? "in" : "mm"}, {"values", values}};
  }

  std::mt19937_64 random_;
};

}  // namespace

Json made_instrument(std::uint64_t seed) {
  Maker make(seed);
  Json i{{"format", "hingeline-instrument"}, {"version", 1}, {"title", make.words()}};
  if (make.chance(50)) i["kind"] = make.words();
  if (make.chance(50)) i["serial"] = "T-1";
  if (make.chance(50)) i["units"] = make.one_of<2>({"mm", "inch"});
  if (make.chance(50)) i["shop"] = "shop.json";
  if (make.chance(50)) {
    i["body"] = {{"material", "brass"},
                 {"expansion", make.expansion()},
                 {"bench_temperature", make.temperature(18, 24)},
                 {"service_from", make.temperature(-5, 10)},
                 {"service_to", make.temperature(20, 40)},
                 {"moisture", make.length(0, 0.1)}};
    if (make.chance(30)) i["body"]["service"] = "stage";
    if (make.chance(30)) i["body"]["diameter"] = make.length(10, 60);
    if (make.chance(40)) {
      Json bow{{"chord", make.length(400, 500)}, {"readings", Json::array()}};
      if (make.chance(50)) bow["side"] = make.one_of<2>({"plus", "minus"});
      for (std::uint64_t n = make.below(7); n > 0; --n)
        bow["readings"].push_back({{"station", make.length(0, 400)}, {"value", make.length(-2, 2)}});
      i["body"]["bow"] = bow;
    }
  }
  if (make.chance(50)) i["key_material"] = {{"material", "brass"}, {"expansion", make.expansion()}};
  if (make.chance(30)) i["oil"] = {{"name", make.words()}};
  if (make.chance(40)) {
    i["playing"] = {{"hours", {{"value", make.between(1, 40)}, {"unit", "h/week"}}},
                    {"closings", make.range("closings/h", 500, 9000)}};
    if (make.chance(50)) i["playing"]["surfaces"] = make.words();
    if (make.chance(50)) i["playing"]["read_on"] = "2024-02-29";
  }
  i["keys"] = Json::array();
  for (std::uint64_t n = make.below(4); n > 0; --n) {
    i["keys"].push_back(make.key(i["keys"].size()));
    if (make.chance(30)) i["keys"].back()["look"] = make.one_of<3>({"loose", "fine", "noisy"});
  }
  if (make.chance(40)) i["budget"]["minutes"] = make.minutes(1, 900);
  if (make.chance(40)) i["budget"]["money"] = make.money();
  for (std::uint64_t n = make.below(3); n > 0; --n) {
    Json work{{"id", fmt::format("work-{}", n)},
              {"stage", make.one_of<6>({"free-check", "straighten", "posts", "stack", "fit", "finish"})}};
    if (make.chance(50)) work["name"] = make.words();
    work["minutes"] = make.minutes(1, 90);
    if (make.chance(50)) work["money"] = make.money();
    if (make.chance(50)) work["feel"] = make.number(0, 2);
    if (make.chance(50)) work["together"] = make.words();
    if (!i["keys"].empty()) work["before"].push_back({{"key", i["keys"][0]["id"]}});
    if (!i.value("works", Json::array()).empty()) work["needs"].push_back({{"work", i["works"][0]["id"]}});
    i["works"].push_back(work);
  }
  for (std::uint64_t n = make.below(3); n > 0; --n)
    i["stacks"].push_back(make.stack(i.contains("stacks") ? i["stacks"].size() : 0));
  // A row of keys, each of which drives the next.
  for (std::size_t n = 0; n + 1 < i["keys"].size(); ++n) {
    const std::string from = i["keys"][n]["id"];
    const std::string to = i["keys"][n + 1]["id"];
    Json link{
        {"from", from}, {"to", to}, {"driver_arm", make.length(5, 20)}, {"foot_arm", make.length(5, 20)}};
    if (make.chance(70)) link["gap"] = make.length(-0.2, 0.5);
    if (make.chance(50)) link["cork"] = make.length(0, 2);
    if (make.chance(50)) link["material"] = make.one_of<2>({"cork", "felt"});
    if (make.chance(30)) link["tilt"] = make.angle(-10, 10);
    if (make.chance(20)) link["note"] = make.words();
    i["links"].push_back(link);
    Json pair{{"key", from}, {"partner", to}, {"under", from}};
    if (make.chance(50)) pair["open"] = make.chance(50) ? from : to;
    if (make.chance(50)) pair["gap"] = make.length(0, 0.3);
    i["closes_together"].push_back(pair);
  }
  return i;
}

Json made_shop(std::uint64_t seed) {
  Maker make(seed);
  Json s{{"format", "hingeline-shop"}, {"version", 1}, {"title", make.words()}};
  if (make.chance(50)) s["units"] = make.one_of<2>({"mm", "inch"});
  if (make.chance(50)) s["paper"] = make.one_of<2>({"A4", "letter"});
  if (make.chance(50)) s["time_zone"] = make.one_of<2>({"UTC", "Etc/GMT+3"});
  for (std::uint64_t n = make.below(4); n > 0; --n) {
    s["cutters"].push_back({{"name", fmt::format("c{}", n)}, {"diameter", make.length(2, 6)}});
    s["rods"].push_back({{"name", fmt::format("r{}", n)}, {"diameter", make.length(1, 3)}});
    s["sheets"].push_back(
        {{"name", fmt::format("s{}", n)}, {"material", "cork"}, {"thickness", make.length(0.2, 3)}});
    s["reamers"].push_back({{"name", fmt::format("m{}", n)},
                            {"half_angle", make.flank(8, 40)},
                            {"small_diameter", make.length(0.3, 0.8)},
                            {"large_diameter", make.length(2, 4)}});
    s["measuring"].push_back({{"name", fmt::format("i{}", n)}, {"plus_minus", make.length(0, 0.05)}});
    s["drivers"].push_back({{"kind", make.one_of<3>({"straight", "flexible", "pinch"})},
                            {"room_behind", make.length(1, 20)},
                            {"room_around", make.length(1, 9)}});
  }
  for (std::uint64_t n = make.below(4); n > 0; --n) {
    Json oil{{"name", fmt::format("o{}", n)}};
    if (make.chance(50)) {
      oil["grade"] = make.one_of<3>({"10", "32", "220"});
    } else {
      oil["v40"] = fmt::format("{} mm2/s", 20 + make.below(300));
    }
    if (make.chance(50)) oil["index"] = make.number(50, 150);
    if (make.chance(50)) oil["density"] = make.number_in("g/ml", 0.8, 1);
    s["oils"].push_back(oil);
    s["wires"].push_back({{"name", fmt::format("w{}", n)}, {"diameter", make.length(0.3, 1.2)}});
  }
  for (std::uint64_t n = make.below(4); n > 0; --n) {
    s["patterns"].push_back({{"name", fmt::format("p{} {}", n, make.words())},
                             {"screw", make.screw(false)},
                             {"hole", make.hole()}});
  }
  if (make.chance(50)) {
    s["prices"] = {{"currency", make.words()}, {"per_hour", make.money()}};
    s["prices"]["least"].push_back({{"of", "ream"}, {"money", make.money()}});
  }
  if (make.chance(50)) s["weights"]["leak"] = make.between(0, 9);
  if (make.chance(50))
    s["offered"]["cutters"].push_back({{"diameter", make.length(2, 6)}, {"price", make.money()}});
  if (make.chance(50)) s["offered"]["rods"].push_back({{"diameter", make.length(1, 3)}});
  if (make.chance(50) && s.contains("cutters")) s["cutters"][0]["wear"] = make.one_of<2>({"worn", "sound"});
  Json p = Json::object();
  if (make.chance(50)) p["looks"].push_back({{"look", "binds"}, {"minutes", make.minutes(1, 90)}});
  if (make.chance(50)) p["window_low"] = make.length(0, 0.01);
  if (make.chance(50)) p["window_high"] = make.length(0.02, 0.05);
  if (make.chance(50)) p["misalignment"] = make.angle(0, 2);
  if (make.chance(50)) p["flank_share_min"] = make.between(0, 1);
  if (make.chance(50)) {
    p["movement"] = {{"friction", make.number(0, 0.3)}, {"sluggish", make.number_in("ms", 20, 80)}};
    if (make.chance(50))
      p["movement"]["spring_materials"] =
          Json::array({{{"name", "wire"}, {"modulus", make.number_in("GPa", 100, 210)}}});
  }
  if (make.chance(50)) p["unknown"]["span"] = make.range("mm", 10, 300);
  if (make.chance(50)) p["unknown"]["half_angle"] = make.range("deg", 5, 45);
  if (make.chance(50)) {
    p["materials"] = Json::array({{{"name", "brass"}, {"expansion", make.expansion()}}});
    if (make.chance(50)) p["materials"][0]["moisture"] = make.plain("1e-6/%", 0, 400);
    if (make.chance(50)) p["materials"][0]["modulus"] = make.plain("GPa", 1, 300);
  }
  if (make.chance(50)) {
    p["services"] = Json::array({{{"name", "stage"},
                                  {"from", make.temperature(-5, 10)},
                                  {"to", make.temperature(20, 40)},
                                  {"drier", make.plain("%", 0, 5)},
                                  {"wetter", make.plain("%", 0, 5)}}});
  }
  if (make.chance(50)) {
    p["body"] = {{"post_height", make.length(4, 12)},
                 {"own_play", make.length(0.01, 0.1)},
                 {"common_play", make.length(0.01, 0.1)}};
  }
  if (make.chance(50))
    p["regulation"] = {{"together", make.length(0.01, 0.05)},
                       {"gap", make.range("mm", 0, 0.3)},
                       {"finger", "1.5 N"},
                       {"soft_materials", Json::array({{{"name", "cork"}, {"modulus", "17 MPa"}}})}};
  if (make.chance(50)) p["ream"] = {{"set_up", "4 min"}, {"per_turn", {{"value", 1.25}, {"unit", "min"}}}};
  if (make.chance(50)) {
    p["wear"] = {{"pairs",
                  {{{"name", "pair"},
                    {"coefficient", make.range("1e-6", 0.01, 900)},
                    {"hardness", make.range("MPa", 300, 3000)}}}},
                 {"swing", make.range("deg", 3, 30)},
                 {"edge", make.length(0.05, 0.5)},
                 {"unsteady", make.between(0, 1)}};
  }
  if (make.chance(50)) {
    Json& r = p["rods"];
    r["fit"] = make.one_of<2>({"H7/g6", "H8/f7"});
    if (make.chance(50)) r["friction"] = make.number(0, 1);
    if (make.chance(50)) r["swedge_reach"] = make.length(2, 20);
    if (make.chance(50)) r["swedge_share"] = make.number(0.1, 1);
    if (make.chance(50)) r["face_metal"] = {{"value", make.between(0, 90)}, {"unit", "min/mm"}};
  }
  s["presets"] = p;
  return s;
}

Json made_rig(std::uint64_t seed) {
  Maker make(seed);
  Json r{{"format", "hingeline-rig"}, {"version", 1}, {"title", make.words()}};
  if (make.chance(30)) r["note"] = make.words();
  const auto moment = [&] {
    return fmt::format("{:04}-{:02}-{:02}{}{:02}:{:02}{}{}", 1990 + make.below(60), 1 + make.below(12),
                       1 + make.below(28), make.one_of<2>({"T", " "}), make.below(24), make.below(60),
                       make.chance(50) ? fmt::format(":{:02}", make.below(60)) : "",
                       make.one_of<3>({"Z", "+05:45", "-03:30"}));
  };
  r["specimens"] = Json::array();
  const std::uint64_t specimens = make.below(5);
  for (std::uint64_t n = 0; n < specimens; ++n) {
    r["specimens"].push_back({{"id", fmt::format("s-{}", n)}});
    if (make.chance(50)) r["specimens"].back()["name"] = make.words();
  }
  r["target"] = {{"value", make.between(1, 9e6)}, {"unit", "closings"}};
  if (make.chance(50))
    r["assumed_shape"] = {{"origin", "unknown"}, {"between", {make.between(0.3, 1), make.between(1, 9)}}};
  if (make.chance(50)) r["confidence"] = make.between(0.5, 0.99);
  r["periods"] = Json::array();
  for (std::uint64_t n = make.below(4); n > 0; --n) {
    Json period{{"from", moment()}, {"rate", {{"value", make.between(0.1, 9)}, {"unit", "closings/s"}}}};
    if (make.chance(70)) period["to"] = moment();
    if (make.chance(50)) period["rate"]["plus_minus"] = make.between(0, 0.05);
    r["periods"].push_back(period);
  }
  for (std::uint64_t n = specimens == 0 ? 0 : make.below(4); n > 0; --n) {
    r["inspections"].push_back({{"at", moment()},
                                {"specimen", fmt::format("s-{}", make.below(specimens))},
                                {"finding", make.one_of<3>({"fine", "failed", "out"})}});
    if (make.chance(30)) r["inspections"].back()["note"] = make.words();
  }
  return r;
}

Json made_ledger(std::uint64_t seed) {
  Maker make(seed);
  Json l{{"format", "hingeline-ledger"}, {"version", 1}, {"title", make.words()}};
  if (make.chance(50)) l["units"] = make.one_of<2>({"mm", "inch"});
  if (make.chance(30)) l["note"] = make.words();
  const auto day = [&] {
    return fmt::format("{:04}-{:02}-{:02}", 1990 + make.below(60), 1 + make.below(12), 1 + make.below(28));
  };
  l["jobs"] = Json::array();
  for (std::uint64_t n = make.below(5); n > 0; --n) {
    Json job{{"id", fmt::format("job-{}", n)}, {"date", day()}};
    if (make.chance(50)) job["person"] = make.words();
    if (make.chance(50)) job["key"] = "low-c";
    if (make.chance(50)) job["instrument"] = make.words();
    if (make.chance(50)) job["pattern"] = make.words();
    if (make.chance(50)) job["complaint"] = make.one_of<4>({"loose", "binds", "sluggish", "noisy"});
    if (make.chance(50)) job["causes"] = {make.one_of<3>({"dirt", "climate", "screw-off"}), "worn-bore"};
    for (std::uint64_t k = make.below(4); k > 0; --k) {
      Json bite{{"cutter", make.words()}, {"taken", make.length(-0.02, 0.2)}};
      if (make.chance(50)) bite["end"] = make.one_of<2>({"upper", "lower"});
      if (make.chance(70)) {
        bite["turns"] = make.between(0.1, 9);
      } else {
        bite["turns"] = make.number(0.1, 9);
      }
      job["bites"].push_back(bite);
    }
    for (std::uint64_t k = make.below(3); k > 0; --k) {
      job["minutes"].push_back(
          {{"of", make.one_of<3>({"seat-cut", "ream", "end-play"})}, {"minutes", make.number(0.1, 90)}});
      if (make.chance(50)) job["minutes"].back()["turns"] = make.between(0.1, 9);
    }
    for (std::uint64_t k = make.below(4); k > 0; --k) {
      Json measure;
      if (make.chance(50)) {
        measure = {{"field", make.one_of<2>({"point-half-angle", "hole-half-angle"})},
                   {"value", make.flank(5, 45)}};
      } else {
        measure = {{"field", make.one_of<3>({"tip-diameter", "head-height", "hole-depth"})},
                   {"value", make.length(0.3, 4)}};
      }
      if (make.chance(50)) measure["end"] = make.one_of<2>({"upper", "lower"});
      job["measured"].push_back(measure);
    }
    if (make.chance(30))
      job["waivers"] = Json::array({{{"cause", "bent-body"}, {"reason", "as " + make.words()}}});
    l["jobs"].push_back(job);
  }
  if (make.chance(50))
    l["forgotten"] = Json::array(
        {{{"what", make.one_of<4>({"take-off", "minutes", "patterns", "causes"})}, {"before", day()}}});
  return l;
}

}  // namespace hingeline::record::samples
