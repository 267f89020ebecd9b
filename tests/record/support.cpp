#include "support.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
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

std::vector<bool> schema_takes(const std::string& schema, const std::vector<Json>& documents) {
  const std::string name = ::testing::UnitTest::GetInstance()->current_test_info()->name();
  const std::string stem = fmt::format("{}schema_test_{}", ::testing::TempDir(), name);
  const std::string in = stem + ".in";
  const std::string out = stem + ".out";
  {
    std::ofstream file(in, std::ios::binary);
    for (const Json& document : documents) file << document.dump() << "\n";
  }
  const std::string command =
      fmt::format("'{}' '{}/tests/record/validate_documents.py' '{}/{}' '{}' > '{}'", HINGELINE_PYTHON,
                  HINGELINE_SOURCE_DIR, HINGELINE_SOURCE_DIR, schema, in, out);
  EXPECT_EQ(std::system(command.c_str()), 0) << command;
  std::vector<bool> verdicts;
  std::ifstream file(out);
  for (std::string line; std::getline(file, line);) verdicts.push_back(line == "valid");
  EXPECT_EQ(verdicts.size(), documents.size());
  verdicts.resize(documents.size());
  std::remove(in.c_str());
  std::remove(out.c_str());
  return verdicts;
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
    "moisture": {"origin": "unknown", "between": [0, 0.02], "unit": "mm", "meaning": "wood moves"},
    "service": "stage",
    "diameter": "30 mm",
    "bow": {
      "chord": "400 mm ± 1",
      "side": "minus",
      "readings": [{"station": "100 mm", "value": "0.3 mm ± 0.02"}, {"station": "200 mm", "value": "-0.02 in"}]
    }
  },
  "key_material": {"material": "nickel silver", "expansion": "17 1e-6/K"},
  "leak_reading": {
    "flow": "3 mL/s",
    "pressure": "2 kPa",
    "pressure_from": "2.5 kPa",
    "pressure_to": "1.5 kPa",
    "time": "20 s",
    "volume": "900 mL"
  },
  "oil": {"name": "middle key oil"},
  "playing": {
    "hours": {"value": 8, "unit": "h/week", "plus_minus": 3},
    "closings": {"origin": "unknown", "between": [2000, 8000.5], "unit": "closings/h"},
    "surfaces": "brass on steel",
    "read_on": "2026-11-20"
  },
  "keys": [
    {
      "id": "cone",
      "past": [
        {"on": "2022-05-10", "kind": "fitted", "end_play": "0.018 mm ± 0.006"},
        {"on": "2024-03-02", "kind": "read", "end_play": {"value": -0.4, "unit": "thou", "with": "feeler"}}
      ],
      "name": "On cones",
      "hinge": {
        "kind": "pivot",
        "span": {"repeats": [30.10, 30.12, 30.11], "unit": "mm", "with": "caliper"},
        "off_axis": "-14 mm ± 1",
        "along": "120 mm",
        "post_height": "8 mm",
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
            "room_around": "4 mm",
            "lean": "-0.5 deg ± 0.2",
            "turn": "1 deg",
            "across": "0.1 mm"
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
        "offset": "-0.1 mm",
        "land": "0.8 mm",
        "take_up": "0.03 mm",
        "rim_stiffness": "0.3 N/mm2",
        "closing_force": "-0.4 N"
      },
      "touch": {
        "arm": "20 mm",
        "clock": "-80 deg",
        "force": "1.5 N",
        "fingers": [{"name": "middle", "station": "12 mm"}, {"name": "far end", "station": "30 mm"}]
      },
      "spring": {
        "kind": "needle",
        "diameter": "0.028 in ± 0.0003",
        "length": "30 mm",
        "set": {"value": 4.5, "unit": "mm", "plus_minus": 0.5, "with": "caliper"},
        "works_at": "5 mm",
        "material": "music wire",
        "wanted": "0.5 N ± 0.1"
      },
      "moving": {"stands": "open", "mass": "9.5 g ± 0.1", "gyration": "16 mm ± 2", "travel": "2.4 mm"},
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
      "look": "leaks",
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
                "off_axis": "-9 mm"},
      "spring": {
        "kind": "flat",
        "width": "3 mm",
        "thickness": "0.4 mm",
        "shape": "tapered",
        "length": "25 mm",
        "set": "1.5 mm",
        "works_at": "?"
      },
      "moving": {"stands": "closed"}
    }
  ],
  "budget": {"minutes": "120 min", "money": "150.00"},
  "works": [
    {
      "id": "straighten-body",
      "name": "Straighten the body",
      "stage": "straighten",
      "minutes": "40 min ± 20",
      "money": 12.5,
      "leak": "0.8 mL/s ± 0.4",
      "feel": 0.4,
      "before": [{"key": "rod"}, {"key": "profiles"}],
      "needs": [{"work": "look"}],
      "together": "body",
      "instead": "which way",
      "note": "A note."
    },
    {"id": "look", "stage": "posts"}
  ],
  "stacks": [
    {
      "id": "low-stack",
      "name": "Lower stack",
      "rod": {"diameter": "2.00 mm ± 0.005", "bow": "0.05 mm", "bow_over": "150 mm"},
      "posts": [{"name": "top"}, {"name": "middle", "may_move": "0.1 mm"}, {}],
      "gaps": [
        {
          "span": "60.1 mm ± 0.02",
          "end_play": {"value": 0.12, "unit": "mm", "with": "caliper"},
          "window_low": "0.01 mm",
          "window_high": "0.03 mm",
          "tubes": [
            {
              "name": "F",
              "length": "30 mm",
              "bore": "2.03 mm",
              "outside": "3.2 mm",
              "bearing": "8 mm",
              "station": "12 mm",
              "offset": "0.05 mm",
              "allowed": "0.2 mm",
              "swedge": "yes",
              "face": "no",
              "ream": "yes"
            },
            {"key": "rod-key", "length": "30 mm"}
          ]
        },
        {"tubes": [{"name": "touch"}]}
      ],
      "note": "Anything."
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
  "paper": "letter",
  "time_zone": "America/Argentina/Buenos_Aires",
  "cutters": [{"name": "4 mm", "diameter": "4.00 mm ± 0.01", "drivers": ["straight", "flexible", "pinch"], "wear": "worn"}],
  "reamers": [{"name": "20 degrees", "half_angle": "20 deg", "small_diameter": "0.5 mm", "large_diameter": "3 mm", "wear": "sound"}],
  "drivers": [{"kind": "flexible", "room_behind": "8 mm", "room_around": "4 mm"}],
  "rods": [{"name": "2 mm", "diameter": "2 mm", "wear": "worn"}],
  "offered": {
    "cutters": [{"diameter": "0.1575 in", "price": "48.00"}, {"diameter": "5 mm"}],
    "reamers": [{"half_angle": "1:10", "small_diameter": "0.4 mm", "large_diameter": "2 mm", "price": "60"}],
    "rods": [{"diameter": "2.05 mm", "price": "4,5"}]
  },
  "prices": {"currency": "crowns", "per_hour": "60.00", "least": [{"of": "seat-cut", "money": "9"}]},
  "weights": {"leak": {"value": 1, "meaning": "for each mL/s"}, "feel": 2, "least_step": 0.25},
  "oils": [
    {"name": "by grade", "grade": 32, "index": "95 ± 10", "density": "0.87 g/ml"},
    {"name": "by points", "v40": "30 mm2/s ± 1", "v100": {"value": 5.2, "unit": "mm2/s"}}
  ],
  "wires": [{"name": "needle 0.70", "diameter": "0.70 mm ± 0.01"}],
  "sheets": [{"name": "thin cork", "material": "cork", "thickness": "0.4 mm ± 0.05"}],
  "patterns": [],
  "measuring": [{"name": "caliper", "plus_minus": {"value": 0.03, "unit": "mm", "meaning": "k = 2"},
                 "resolution": "0.01 mm", "scatter": "0.01 mm"},
                {"name": "feeler", "plus_minus": "0.003 mm", "leaf_step": "0.01 mm", "share": 0.02}],
  "presets": {
    "minutes_spread": 0.7,
    "looks": [{"look": "loose", "minutes": "15 min ± 12", "leak": "0.1 mL/s", "feel": "0.5 ± 0.3"}],
    "engagement_min_turns": {"value": 4, "unit": "turns", "origin": "preset"},
    "misalignment": "0.2 deg",
    "flank_share_min": 0.5,
    "taper_match": "1 deg",
    "angle_plus_minus_unstated": "0.5 deg",
    "movement": {
      "stress_share": 0.7,
      "sluggish": "40 ms",
      "friction": {"value": 0.1, "plus_minus": 0.05, "meaning": "oiled"},
      "touch": "0.5 N",
      "stroke": 0.3,
      "cup_weight": "6 mg/mm2",
      "bar_weight": "80 mg/mm",
      "inertia_share": 0.6,
      "knock": "100 mm/s",
      "oil": "by grade",
      "index": 100,
      "density": "0.87 g/ml",
      "oil_expansion": "700 1e-6/K",
      "spring_materials": [{"name": "music wire", "modulus": "207 GPa"}, {"name": "bronze", "modulus": "110 GPa", "strength": "700 MPa"}]
    },
    "materials": [
      {"name": "brass", "expansion": {"value": 19, "unit": "1e-6/K"}, "modulus": "100 GPa"},
      {"name": "grenadilla", "expansion": "5 1e-6/K", "moisture": {"value": 116, "unit": "1e-6/%", "plus_minus": 60}}
    ],
    "services": [
      {"name": "stage", "from": "5 degC", "to": "35 degC", "drier": "2 %", "wetter": "1 % ± 0.5", "note": "Hot lamps."}
    ],
    "body": {"post_height": "8 mm ± 3", "own_play": "0.06 mm", "common_play": "0.04 mm"},
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
    presets["seal"] = {{"land", "0.8 mm"},         {"take_up", "0.03 mm"},     {"rim_stiffness", "0.3 N/mm2"},
                       {"finger_force", "1.5 N"},  {"test_pressure", "2 kPa"}, {"discharge", 0.61},
                       {"hole_allowed", "0.3 mm"}, {"reading_share", 0.1},     {"sum_share", 0.5}};
    for (const char* name : {"drive_home", "turn_screw", "restore_post", "seat_cut", "ream", "face",
                             "straighten", "tool_change"})
      presets[name] = {{"set_up", "4 min"}, {"per_turn", {{"value", 0.5}, {"unit", "min"}}}};
    const auto range = [](double low, double high, const char* unit) {
      Json out{{"origin", "unknown"}, {"between", {low, high}}};
      if (*unit != 0) out["unit"] = unit;
      return out;
    };
    presets["wear"] = {{"pairs",
                        {{{"name", "brass on steel"},
                          {"coefficient", range(0.1, 100, "1e-6")},
                          {"hardness", {{"value", 1200}, {"unit", "MPa"}, {"plus_minus", 200}}}}}},
                       {"hours", range(2, 15, "h/week")},
                       {"closings", "4000 closings/h"},
                       {"load", range(0.3, 2, "N")},
                       {"swing", range(6, 16, "deg")},
                       {"share", range(0.1, 1, "")},
                       {"edge", "0.2 mm"},
                       {"unsteady", 0.3}};
    Json& rods = presets["rods"];
    rods["modulus"] = "207 GPa";
    rods["fit"] = "H7/g6";
    for (const char* name : {"wall_min", "swedge_reach", "swedge_most", "face_most", "least"})
      rods[name] = {{"value", 0.3}, {"unit", "mm"}};
    for (const char* name : {"friction", "swedge_share", "swedge_scatter", "face_scatter", "post_scatter",
                             "chance_wanted", "overshoot_risk"})
      rods[name] = 0.3;
    for (const char* name : {"swedge_set_up", "ream_tube", "rod_change", "apart"}) rods[name] = "4 min";
    for (const char* name : {"swedge_per_mm", "swedge_metal", "face_per_mm", "face_metal", "post_per_mm"})
      rods[name] = {{"value", 20}, {"unit", "min/mm"}};
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

const std::string& full_rig() {
  static const std::string text = R"({
  "format": "hingeline-rig",
  "version": 1,
  "title": "Everything a rig has",
  "note": "A note.",
  "specimens": [{"id": "a-1", "name": "oiled"}, {"id": "b-2"}],
  "target": {"value": 5000000, "unit": "closings", "meaning": "ten years"},
  "assumed_shape": {"origin": "unknown", "between": [1, 3.5], "meaning": "wear"},
  "confidence": 0.95,
  "periods": [
    {"from": "2026-10-05T09:00:00+02:00", "to": "2026-10-12T08:30Z", "rate": "2 closings/s"},
    {"from": "2026-10-12 09:15:00-03:30", "rate": {"value": 1.5, "unit": "closings/s", "plus_minus": 0.01}}
  ],
  "inspections": [
    {"at": "2026-10-12T08:45:00+02:00", "specimen": "a-1", "finding": "fine", "note": "Two\nlines."},
    {"at": "2026-10-13T08:45:00+02:00", "specimen": "b-2", "finding": "failed"},
    {"at": "2026-10-14T08:45:00+02:00", "specimen": "a-1", "finding": "out"}
  ]
}
)";
  return text;
}

const std::string& small_rig() {
  static const std::string text = R"({
  "format": "hingeline-rig",
  "version": 1,
  "title": "Small",
  "specimens": [],
  "target": "1000 closings",
  "periods": []
}
)";
  return text;
}

Errors errors_of(Format format, std::string_view text, const std::string& file) {
  if (format == Format::rig) {
    const auto read = read_rig(text, file);
    return read ? Errors{} : read.error();
  }
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
