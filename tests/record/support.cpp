#include "support.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

namespace hingeline::record::samples {

std::string file_text(const std::string& path_in_source) {
  std::ifstream in(HINGELINE_SOURCE_DIR "/" + path_in_source, std::ios::binary);
  EXPECT_TRUE(in) << path_in_source << " cannot be read";
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

const std::string& full_instrument() {
  static const std::string text = R"({
  "format": "hingeline-instrument",
  "version": 1,
  "title": "Everything there is",
  "kind": "test piece",
  "serial": "T-1",
  "note": "Two\nlines.",
  "units": "inch",
  "shop": "shop.json",
  "body": {
    "material": "grenadilla",
    "expansion": {"value": 5, "unit": "1e-6/K", "plus_minus": 1, "origin": "preset", "meaning": "along the grain"},
    "bench_temperature": {"value": 21.5, "unit": "degC", "plus_minus": 0.5, "with": "thermometer"},
    "service_from": "41 degF ± 2",
    "service_to": {"origin": "unknown", "between": [300, 308.15], "unit": "K"},
    "moisture": {"origin": "unknown", "between": [0, 0.02], "unit": "mm", "meaning": "wood moves"}
  },
  "key_material": {"material": "nickel silver", "expansion": "17 1e-6/K"},
  "keys": [
    {
      "id": "cone",
      "name": "On cones",
      "hinge": {
        "kind": "pivot",
        "span": {"repeats": [30.10, 30.12, 30.11], "unit": "mm", "with": "caliper"},
        "key_length": {"value": 30.00, "repeats": [29.99, 30.01], "unit": "mm", "plus_minus": 0.02, "origin": "read"},
        "upper": {
          "screw": {
            "pattern": "middle headed",
            "head": "headed",
            "head_diameter": "0.1575 in",
            "head_height": "1.4",
            "slot_reach": "0.5 mm",
            "thread": "M2.5x0.45",
            "point": {
              "shape": "cone",
              "tip": "worn",
              "half_angle": {"value": "7:24", "unit": "taper", "plus_minus": "0.5 deg"},
              "tip_diameter": "0.8 mm ± 0.02",
              "wear_length": "0.5 mm",
              "wear_depth": "100 um ± 5",
              "length": "3.4 mm",
              "shank_diameter": "2.3 mm"
            },
            "protrusion": {"origin": "unknown", "between": [1.2, 1.9], "unit": "mm"},
            "stands_off": "0 mm",
            "sink": "-0.2 mm"
          },
          "hole": {
            "shape": "bell",
            "mouth_diameter": "5/64\"",
            "half_angle": "12°30'",
            "depth": "2.1 mm",
            "bell_half_angle": "0.6 rad",
            "bell_depth": "20 thou"
          },
          "key_end_diameter": "4.4 mm",
          "post": {
            "diameter": "5.6 mm",
            "thickness": "4.4 mm",
            "web": "1.1 mm",
            "engagement": "3 mm",
            "displaced": "-0.02 mm",
            "room_behind": "9 mm",
            "room_around": "4 mm"
          }
        },
        "lower": {
          "screw": {
            "head": "headless",
            "thread": {"pitch": "0.45 mm", "major": {"value": 98.4, "unit": "thou"}},
            "point": {"shape": "cone", "tip": "round", "half_angle": "1:10", "tip_radius": "0.3 mm", "length": "?"}
          },
          "hole": {"shape": "drilled", "mouth_diameter": "1.9 mm", "depth": "2 mm", "floor_half_angle": "59 deg"}
        }
      },
      "pad": {
        "tone_hole": "14 mm",
        "station": "12 mm",
        "arm": "?",
        "clock": "-90 deg",
        "offset": "-0.1 mm"
      },
      "touch": {"arm": "21 mm"},
      "opening": "2.4 mm ± 0.05",
      "opening_wanted": {"low": "2.2 mm", "high": "2.6 mm"},
      "stop": {"arm": "15 mm", "cork": "1.2 mm", "material": "cork"},
      "readings": {
        "end_play": "-0.01 mm",
        "gap_upper": "0.05 mm",
        "gap_lower": {"origin": "unknown"},
        "rock": [{"station": "3 mm", "value": "0.1 mm"}, {"station": "25 mm", "value": "0.12 mm"}]
      },
      "allowed": {"window_low": "0.01 mm", "window_high": "0.03 mm", "pad_gap": "0.02 mm", "rock": "0.1 mm"},
      "note": "A note."
    },
    {
      "id": "ball-and-pin",
      "hinge": {
        "kind": "pivot",
        "span": "?",
        "key_length": "20 mm",
        "upper": {
          "screw": {
            "head": "headless",
            "thread": "2-56",
            "point": {"shape": "ball", "ball_diameter": "1.2 mm", "neck_diameter": "0.8 mm", "length": "2 mm"}
          },
          "hole": {"shape": "straight", "mouth_diameter": "1.3 mm", "depth": "1.8 mm"}
        },
        "lower": {
          "screw": {
            "head": "headless",
            "point": {
              "shape": "parallel",
              "pin_diameter": "1.2 mm",
              "pin_length": "1.5 mm",
              "shoulder_diameter": "2.2 mm",
              "length": "3.2 mm"
            }
          },
          "hole": {"shape": "cone", "mouth_diameter": "1.5 mm", "half_angle": "20 deg", "depth": "2 mm"}
        }
      }
    },
    {
      "id": "profiles",
      "hinge": {
        "kind": "pivot",
        "span": "40 mm",
        "key_length": "39.9 mm",
        "upper": {
          "screw": {
            "head": "headless",
            "point": {"shape": "profile", "pairs": {"unit": "in", "values": [[0, 0.01], ["1/16", "0.04"]]}}
          },
          "hole": {"shape": "profile", "pairs": {"unit": "mm", "values": [[0, 1.2], [1, 0.9], [2, 0.4]]}}
        },
        "lower": {"screw": {"pattern": "middle headed"}}
      }
    },
    {
      "id": "rod",
      "hinge": {"kind": "rod", "span": "60 mm", "key_length": "59.95 mm", "rod_diameter": "2 mm", "bore": "2.04 mm",
                "off_axis": "-9 mm"}
    }
  ],
  "links": [
    {
      "from": "cone",
      "to": "rod",
      "driver_arm": "12 mm",
      "foot_arm": {"value": 0.5, "unit": "in"},
      "gap": "-0.05 mm ± 0.02",
      "cork": "0.8 mm",
      "material": "felt",
      "contact": "12 mm2",
      "tilt": "-3 deg",
      "note": "A note."
    }
  ],
  "closes_together": [{"key": "cone", "partner": "rod", "under": "cone", "open": "rod", "gap": {"value": 0.08, "unit": "mm", "with": "feeler"}}]
}
)";
  return text;
}

const std::string& full_shop() {
  static const std::string text = [] {
    Json shop = Json::parse(R"({
  "format": "hingeline-shop",
  "version": 1,
  "title": "Everything a shop has",
  "note": "A note.",
  "units": "mm",
  "cutters": [{"name": "4 mm", "diameter": "4.00 mm ± 0.01", "drivers": ["straight", "flexible", "pinch"]}],
  "reamers": [{"name": "20 degrees", "half_angle": "20 deg", "small_diameter": "0.5 mm", "large_diameter": "3 mm"}],
  "drivers": [{"kind": "flexible", "room_behind": "8 mm", "room_around": "4 mm"}],
  "rods": [{"name": "2 mm", "diameter": "2 mm"}],
  "sheets": [{"name": "thin cork", "material": "cork", "thickness": "0.4 mm ± 0.05"}],
  "patterns": [],
  "measuring": [{"name": "caliper", "plus_minus": {"value": 0.03, "unit": "mm", "meaning": "k = 2"},
                 "resolution": "0.01 mm", "scatter": "0.01 mm"},
                {"name": "feeler", "plus_minus": "0.003 mm", "leaf_step": "0.01 mm", "share": 0.02}],
  "presets": {
    "engagement_min_turns": {"value": 4, "unit": "turns", "origin": "preset"},
    "misalignment": "0.2 deg",
    "flank_share_min": 0.5,
    "taper_match": "1 deg",
    "angle_plus_minus_unstated": "0.5 deg",
    "materials": [{"name": "brass", "expansion": {"value": 19, "unit": "1e-6/K"}}],
    "regulation": {
      "together": "0.03 mm",
      "finger": {"value": 1.5, "unit": "N"},
      "spring": "0.5 N",
      "contact": "12 mm2 ± 8",
      "gap": {"origin": "unknown", "between": [0, 0.3], "unit": "mm"},
      "thinnest": "0.2 mm",
      "thickest": "3 mm",
      "change": "6 min",
      "soft_materials": [{"name": "cork", "modulus": {"value": 17, "unit": "MPa", "plus_minus": 10}}]
    }
  }
})");
    const Json instrument = Json::parse(full_instrument());
    const Json& ends = instrument["keys"];
    const auto add_pattern = [&](std::size_t key, const char* end) {
      Json screw = ends[key]["hinge"][end]["screw"];
      screw.erase("pattern");
      shop["patterns"].push_back({{"name", fmt::format("{} {}", key, end)},
                                  {"screw", screw},
                                  {"hole", ends[key]["hinge"][end]["hole"]}});
    };
    for (const std::size_t key : {0u, 1u}) {
      add_pattern(key, "upper");
      add_pattern(key, "lower");
    }
    add_pattern(2, "upper");
    shop["patterns"][0]["note"] = "A note.";
    Json& presets = shop["presets"];
    for (const char* name : {"window_low", "aim_guard", "pad_gap_allowed", "rock_allowed", "centring_allowed",
                             "web_min", "wall_seat_min", "wall_mouth_min", "tip_floor_min", "face_gap_min",
                             "cutter_over_max", "cutter_under_max", "least_cut", "roundness", "oil_film",
                             "take_off_per_turn", "plus_minus_unstated"})
      presets[name] = "0.01 mm";
    presets["window_high"] = "0.02 mm";
    for (const char* name : {"span",         "key_length",     "face_gaps",
                             "tip_diameter", "tip_radius",     "wear_length",
                             "wear_depth",   "ball_diameter",  "neck_diameter",
                             "pin_diameter", "pin_length",     "shoulder_diameter",
                             "point_length", "shank_diameter", "mouth_diameter",
                             "depth",        "bell_depth",     "rod_diameter",
                             "bore",         "tone_hole",      "station",
                             "arm"})
      presets["unknown"][name] = {{"origin", "unknown"}, {"between", {0.5, 1.5}}, {"unit", "mm"}};
    presets["unknown"]["span"]["meaning"] = "anything";
    for (const char* name : {"half_angle", "hole_half_angle", "floor_half_angle", "bell_half_angle"})
      presets["unknown"][name] = {{"origin", "unknown"}, {"between", {10, 30}}, {"unit", "deg"}};
    for (const char* name : {"drive_home", "turn_screw", "restore_post", "seat_cut", "ream", "face"})
      presets[name] = {{"set_up", "4 min"}, {"per_turn", {{"value", 0.5}, {"unit", "min"}}}};
    return shop.dump(2);
  }();
  return text;
}

const std::string& small_instrument() {
  static const std::string text = R"({
  "format": "hingeline-instrument",
  "version": 1,
  "title": "Small",
  "keys": [
    {
      "id": "a",
      "hinge": {
        "kind": "pivot",
        "span": "30.1 mm",
        "key_length": "30 mm",
        "upper": {
          "screw": {
            "head": "headless",
            "point": {"shape": "cone", "tip": "flat", "half_angle": "20 deg", "tip_diameter": "0.8 mm", "length": "3 mm"}
          },
          "hole": {"shape": "cone", "mouth_diameter": "2 mm", "half_angle": "20 deg", "depth": "2 mm"}
        },
        "lower": {"screw": {"pattern": "p"}}
      }
    }
  ]
}
)";
  return text;
}

const std::string& small_shop() {
  static const std::string text = R"({
  "format": "hingeline-shop",
  "version": 1,
  "title": "Small",
  "cutters": [{"name": "4 mm", "diameter": "4 mm", "drivers": ["straight"]}],
  "presets": {"window_low": "0.01 mm", "window_high": "0.03 mm", "flank_share_min": 0.5}
}
)";
  return text;
}

const std::string& full_ledger() {
  static const std::string text = R"({
  "format": "hingeline-ledger",
  "version": 1,
  "title": "Everything a ledger has",
  "note": "A note.",
  "units": "mm",
  "jobs": [
    {
      "id": "2024-02-29-1",
      "date": "2024-02-29",
      "instrument": "alto saxophone",
      "key": "low-c",
      "person": "A",
      "complaint": "loose",
      "pattern": "middle headed",
      "causes": ["short-fit", "worn-hole"],
      "bites": [
        {"cutter": "4.00 mm seat cutter", "end": "upper", "turns": 2.5, "taken": "0.048 mm ± 0.006"},
        {"cutter": "4.00 mm seat cutter", "end": "lower", "turns": {"value": 1, "plus_minus": 0.1}, "taken": "-0.1 thou"},
        {"cutter": "4.00 mm seat cutter", "turns": "?", "taken": {"repeats": [0.02, 0.022], "unit": "mm", "with": "indicator"}}
      ],
      "minutes": [{"of": "seat-cut", "turns": 4, "minutes": 7.5}, {"of": "end-play", "minutes": "2"}],
      "measured": [
        {"field": "point-half-angle", "end": "upper", "value": "20.3 deg ± 0.4"},
        {"field": "hole-half-angle", "value": "1:1.4"},
        {"field": "hole-depth", "end": "lower", "value": {"value": 2.1, "unit": "mm", "plus_minus": 0.1, "meaning": "pin"}}
      ],
      "waivers": [{"cause": "bent-body", "reason": "no straightedge at hand"}],
      "note": "Two\nlines."
    },
    {"id": "sound-one", "date": "2026-11-25", "complaint": "noisy", "causes": ["sound"]}
  ],
  "forgotten": [{"what": "take-off", "before": "2026-11-25"}, {"what": "causes", "before": "2025-01-01"}]
}
)";
  return text;
}

const std::string& small_ledger() {
  static const std::string text = R"({
  "format": "hingeline-ledger",
  "version": 1,
  "title": "Small",
  "jobs": [
    {
      "id": "a",
      "date": "2026-11-25",
      "causes": ["short-fit"],
      "bites": [{"cutter": "4 mm", "turns": 2, "taken": "0.04 mm"}],
      "minutes": [{"of": "seat-cut", "minutes": 5}],
      "measured": [{"field": "tip-diameter", "value": "0.8 mm"}]
    }
  ]
}
)";
  return text;
}

Errors errors_of(Format format, std::string_view text, const std::string& file) {
  if (format == Format::instrument) {
    const auto read = read_instrument(text, file);
    return read ? Errors{} : read.error();
  }
  if (format == Format::shop) {
    const auto read = read_shop(text, file);
    return read ? Errors{} : read.error();
  }
  const auto read = read_ledger(text, file);
  return read ? Errors{} : read.error();
}

std::string shown(const Errors& errors) {
  std::string out;
  for (const Error& error : errors) out += describe(error) + "\n";
  return out;
}

bool is_clean_utf8(std::string_view text) {
  for (std::size_t at = 0; at < text.size();) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[at + i]); };
    std::uint32_t code = byte(0);
    std::size_t size = 1;
    if (code >= 0x80) {
      size = code >= 0xF0 && code < 0xF5 ? 4 : code >= 0xE0 ? 3 : code >= 0xC2 ? 2 : 0;
      if (size == 0 || code >= 0xF5 || at + size > text.size()) return false;
      code &= 0x7Fu >> size;
      for (std::size_t i = 1; i < size; ++i) {
        if ((byte(i) & 0xC0u) != 0x80u) return false;
        code = code << 6 | (byte(i) & 0x3Fu);
      }
      if (size == 3 && (code < 0x800 || (code >= 0xD800 && code <= 0xDFFF))) return false;
      if (size == 4 && (code < 0x10000 || code > 0x10FFFF)) return false;
    }
    if (code < 0x20 || (code >= 0x7F && code < 0xA0)) return false;
    at += size;
  }
  return true;
}

std::string faults_of_form(const Errors& errors, std::string_view text) {
  std::string out;
  const auto lines = 1 + std::count(text.begin(), text.end(), '\n');
  for (std::size_t i = 0; i < errors.size(); ++i) {
    const Error& e = errors[i];
    const std::string line = describe(e);
    const bool says_more = i + 1 == kMostErrors;
    const auto say = [&](const char* what) { out += fmt::format("{}: {}\n", what, line); };
    if (e.what.empty()) say("says nothing");
    if (e.expected.empty() && !says_more) say("expects nothing");
    if (e.place.file != "d.json") say("names no file");
    if (e.place.line < 1 || e.place.line > lines || e.place.column < 1) say("has no place");
    if (!e.place.pointer.empty() && e.place.pointer.front() != '/') say("has no pointer");
    if (line.empty() || !is_clean_utf8(line)) say("is no clean line");
    constexpr std::size_t kReadable = 1000;
    if (line.size() > kReadable) say("is too long");
  }
  if (errors.size() > kMostErrors) out += "too many errors\n";
  const bool in_order = std::is_sorted(errors.begin(), errors.end(), [](const Error& a, const Error& b) {
    return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
  });
  if (!in_order) out += "errors out of order\n" + shown(errors);
  return out;
}

}  // namespace hingeline::record::samples
