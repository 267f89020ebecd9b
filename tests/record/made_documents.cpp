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
  /// A plain number, of no unit.
  Json number(double low, double high) {
    Json out = quantity("", low, high, true);
    if (out.is_object()) out.erase("unit");
    return out;
  }
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
    k["hinge"] = h;
    if (chance(60)) {
      Json p{{"tone_hole", length(5, 40)}, {"station", length(-5, 30)}, {"arm", length(5, 30)}};
      if (chance(50)) p["clock"] = angle(-180, 180);
      if (chance(50)) p["offset"] = length(-0.5, 0.5);
      k["pad"] = p;
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
    if (chance(20)) k["opening_wanted"] = {{"low", length(1, 2)}, {"high", length(2, 4)}};
    if (chance(20)) k["stop"] = {{"arm", length(5, 20)}, {"cork", length(0, 2)}, {"material", "cork"}};
    if (chance(30)) k["note"] = words() + "\n\t" + words();
    return k;
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
  }
  if (make.chance(50)) i["key_material"] = {{"material", "brass"}, {"expansion", make.expansion()}};
  i["keys"] = Json::array();
  for (std::uint64_t n = make.below(4); n > 0; --n) i["keys"].push_back(make.key(i["keys"].size()));
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
    s["patterns"].push_back({{"name", fmt::format("p{} {}", n, make.words())},
                             {"screw", make.screw(false)},
                             {"hole", make.hole()}});
  }
  Json p = Json::object();
  if (make.chance(50)) p["window_low"] = make.length(0, 0.01);
  if (make.chance(50)) p["window_high"] = make.length(0.02, 0.05);
  if (make.chance(50)) p["misalignment"] = make.angle(0, 2);
  if (make.chance(50)) p["flank_share_min"] = make.between(0, 1);
  if (make.chance(50)) p["unknown"]["span"] = make.range("mm", 10, 300);
  if (make.chance(50)) p["unknown"]["half_angle"] = make.range("deg", 5, 45);
  if (make.chance(50)) p["materials"] = Json::array({{{"name", "brass"}, {"expansion", make.expansion()}}});
  if (make.chance(50))
    p["regulation"] = {{"together", make.length(0.01, 0.05)},
                       {"gap", make.range("mm", 0, 0.3)},
                       {"finger", "1.5 N"},
                       {"soft_materials", Json::array({{{"name", "cork"}, {"modulus", "17 MPa"}}})}};
  if (make.chance(50)) p["ream"] = {{"set_up", "4 min"}, {"per_turn", {{"value", 1.25}, {"unit", "min"}}}};
  s["presets"] = p;
  return s;
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
