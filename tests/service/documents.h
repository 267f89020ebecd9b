#pragma once
/// \file
/// Small documents for the tests of the service.

#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>

#include "hingeline/record/document.h"
#include "hingeline/service/bench.h"

namespace hingeline::test {

inline std::string example_text(const std::string& name) {
  std::ifstream file(std::string(HINGELINE_SOURCE_DIR) + "/examples/" + name);
  if (!file) throw std::runtime_error("no example " + name);
  return {std::istreambuf_iterator<char>(file), {}};
}

template <class T>
T must(tl::expected<T, record::Errors> read) {
  if (!read) throw std::runtime_error(record::describe(read.error().front()));
  return std::move(*read);
}

inline record::Instrument instrument_of(const nlohmann::json& json) {
  return must(record::read_instrument(json.dump(), "test.json"));
}
inline record::Instrument example_instrument(const std::string& name) {
  return must(record::read_instrument(example_text(name), name));
}
inline record::Shop example_shop() { return must(record::read_shop(example_text("shop.json"), "shop.json")); }

/// One end on a matched cone of half angle 20 degrees: the point goes 1.5 mm in, and stands out by
/// 1.5 mm + gap.
inline nlohmann::json cone_end(double gap) {
  return {{"screw",
           {{"head", "headed"},
            {"head_diameter", "4.00 mm"},
            {"thread", "M2.5x0.45"},
            {"point",
             {{"shape", "cone"},
              {"tip", "flat"},
              {"half_angle", "20 deg ± 0.3"},
              {"tip_diameter", "0.80 mm ± 0.02"},
              {"length", "3.4 mm"}}},
            {"protrusion", {{"value", 1.5 + gap}, {"unit", "mm"}, {"plus_minus", 0.01}}},
            {"stands_off", "0 mm"}}},
          {"hole",
           {{"shape", "cone"},
            // 0.8 + 2 x 1.5 x tan 20 degrees
            {"mouth_diameter",
             {{"value", 0.8 + 3.0 * 0.36397023426620234}, {"unit", "mm"}, {"plus_minus", 0.01}}},
            {"half_angle", "20 deg ± 0.3"},
            {"depth", "1.8 mm"}}},
          {"key_end_diameter", "4.2 mm"},
          {"post",
           {{"diameter", "6 mm"},
            {"thickness", "5 mm"},
            {"web", "2 mm"},
            {"engagement", "3 mm"},
            {"room_behind", "14 mm"},
            {"room_around", "4 mm"}}}};
}

/// A key of 40 mm with 0.2 mm of face gap on each side and this end play read.
inline nlohmann::json cone_key(const std::string& id, double end_play) {
  const double gap = 0.2 - end_play / 2;
  return {{"id", id},
          {"name", "Key " + id},
          {"hinge",
           {{"kind", "pivot"},
            {"span", "40.4 mm ± 0.01"},
            {"key_length", "40 mm ± 0.01"},
            {"upper", cone_end(gap)},
            {"lower", cone_end(gap)}}},
          {"pad", {{"tone_hole", "20 mm"}, {"station", "20 mm"}, {"arm", "18 mm"}, {"clock", "90 deg"}}},
          {"readings", {{"end_play", {{"value", end_play}, {"unit", "mm"}, {"plus_minus", 0.004}}}}}};
}

inline nlohmann::json instrument_json(std::vector<nlohmann::json> keys) {
  return {{"format", "hingeline-instrument"},
          {"version", 1},
          {"title", "Test bench"},
          {"kind", "none"},
          {"units", "mm"},
          {"body", {{"bench_temperature", "20 degC"}}},
          {"keys", std::move(keys)}};
}

}  // namespace hingeline::test
