// Documents that are wrong, in families. Each gives an error that can be shown, never a document, and never
// a crash (this test also runs under the address and undefined-behaviour sanitizers).

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <set>

#include "support.h"

namespace hingeline::record {
namespace {

using samples::Json;

struct Malformed {
  Format format;
  std::string text;
};
using Family = std::vector<Malformed>;

/// `text` in place of the first `old`.
std::string with(std::string document, std::string_view old, std::string_view text) {
  const auto at = document.find(old);
  EXPECT_NE(at, std::string::npos) << old;
  return document.replace(at, old.size(), text);
}
/// The small instrument with JSON text in the span's place, in that of the title, or as one more member.
std::string span(std::string_view text) { return with(samples::small_instrument(), "\"30.1 mm\"", text); }
std::string title(std::string_view text) { return with(samples::small_instrument(), "\"Small\"", text); }
std::string extra(std::string_view text) {
  return with(samples::small_instrument(), "\"title\"", fmt::format("{}, \"title\"", text));
}
std::string repeated(std::string_view piece, std::size_t times) {
  std::string out;
  out.reserve(piece.size() * times);
  for (std::size_t i = 0; i < times; ++i) out += piece;
  return out;
}
Family instruments(const std::vector<std::string>& texts) {
  Family out;
  for (const std::string& text : texts) out.push_back({Format::instrument, text});
  return out;
}

Family cut_short() {
  Family out;
  const auto cut = [&](Format format, const std::string& text) {
    // Without the newline at the end a document is whole.
    for (std::size_t size = 0; size + 1 < text.size(); ++size) out.push_back({format, text.substr(0, size)});
  };
  cut(Format::instrument, samples::small_instrument());
  cut(Format::shop, samples::small_shop());
  cut(Format::ledger, samples::small_ledger());
  cut(Format::rig, samples::small_rig());
  return out;
}

/// Neither of these two is right anywhere.
Family wrong_types() {
  Family out;
  const auto replace = [&](Format format, const Json& document, auto& self, const Json& node,
                           const Json::json_pointer& at) -> void {
    for (const Json& wrong : {Json(true), Json(nullptr)}) {
      Json changed = document;
      changed[at] = wrong;
      out.push_back({format, changed.dump(1)});
    }
    if (node.is_object()) {
      for (const auto& [name, value] : node.items()) self(format, document, self, value, at / name);
    } else if (node.is_array()) {
      for (std::size_t i = 0; i < node.size(); ++i) self(format, document, self, node[i], at / i);
    }
  };
  const Json instrument = Json::parse(samples::full_instrument());
  const Json shop = Json::parse(samples::full_shop());
  replace(Format::instrument, instrument, replace, instrument, Json::json_pointer());
  replace(Format::shop, shop, replace, shop, Json::json_pointer());
  const Json ledger = Json::parse(samples::full_ledger());
  replace(Format::ledger, ledger, replace, ledger, Json::json_pointer());
  return out;
}

Family numbers() {
  std::vector<std::string> texts;
  const std::string many(400, '9');
  const std::vector<std::string> wrong{
      "1e999", "-1e999",   "1e-999",    many,  "-" + many, "0." + many, "1e5",  "1e-300", "1e61",
      "NaN",   "Infinity", "-Infinity", "nan", "inf",      "0x10",      "+30",  ".5",     "5.",
      "030",   "1e",       "1e+",       "-",   "--1",      "1_000",     "30,1", "1.2.3"};
  for (const std::string& number : wrong) {
    texts.push_back(span(fmt::format("{{\"value\": {}, \"unit\": \"mm\"}}", number)));
    texts.push_back(span(fmt::format("{{\"value\": 30, \"unit\": \"mm\", \"plus_minus\": {}}}", number)));
    texts.push_back(with(samples::small_instrument(), "\"version\": 1", "\"version\": " + number));
  }
  return instruments(texts);
}

Family readings() {
  std::vector<std::string> texts;
  for (const char* reading : {"",
                              " ",
                              "mm",
                              "thirty mm",
                              "30 mm in",
                              "30 mm 31 mm",
                              "30 cm",
                              "30 m",
                              "30 ft",
                              "30 mil",
                              "30'",
                              "30 kg",
                              "30 deg",
                              "1:10",
                              "nan",
                              "NaN mm",
                              "inf",
                              "infinity mm",
                              "1e999 mm",
                              "1e999",
                              "-30 mm",
                              "0 mm",
                              "0",
                              "-0 mm",
                              "1,234.5 mm",
                              "1'000 mm",
                              "1 000 mm",
                              "1.000,5",
                              "0x1E mm",
                              "30 mm ±",
                              "± 0.1 mm",
                              "30 mm ± -0.1",
                              "30 mm ± 0.1 deg",
                              "30 mm ± 0.1 ± 0.1",
                              "30 ± 5 um",
                              "3/0 in",
                              "3/ in",
                              "/3 in",
                              "1/2/3 in",
                              "??",
                              "? mm",
                              "unknown",
                              "30 mm?",
                              "30mm;",
                              "\\u0663\\u0660 mm",
                              "\\uFF13\\uFF10 mm",
                              "\\u0969\\u0966 mm",
                              "\\u00BD in",
                              "3\\u00B2 mm",
                              "1e4 m",
                              "10001 mm",
                              "1e-40 mm",
                              "30 mm\\n",
                              "30\\nmm",
                              "\\u000030 mm",
                              "30 \\u202Emm",
                              "99999999999999999999999999999999999999999999999999999999999999999 mm",
                              "0.00000000000000000000000000000000000000000000000000000000000000001 mm",
                              "1 5/32 mm",
                              "30 in mm"}) {
    texts.push_back(span(fmt::format("\"{}\"", reading)));
  }
  const auto flank = [&](const char* reading) {
    texts.push_back(with(samples::small_instrument(), "\"20 deg\"", fmt::format("\"{}\"", reading)));
  };
  for (const char* reading :
       {"90 deg", "0 deg", "-5 deg", "91", "2 rad", "1:0", "0:1", "1:-10", "1:1:1", "12°60'", "12'30°",
        "20 mm", "20°C", ":", "1:", "361 deg", "1:10 ± 0.1", "9e15551:5e155555551055", "1:1e400"})
    flank(reading);
  const auto body = [&](const char* member, const char* value) {
    texts.push_back(extra(fmt::format("\"body\": {{\"{}\": {}}}", member, value)));
  };
  for (const char* value : {"\"-274 degC\"", "\"1001 degC\"", "\"20 mm\"", "\"20 R\"", "\"-1 K\"", "20"})
    body("bench_temperature", value);
  for (const char* value : {"\"19\"", "\"19 1e-6\"", "\"-1 1e-6/K\"", "\"1001 1e-6/K\"", "\"1e-6/K\"", "19",
                            "{\"value\": 19}", "{\"value\": 19, \"unit\": \"mm\"}"})
    body("expansion", value);
  return instruments(texts);
}

Family sizes() {
  std::vector<std::string> texts;
  texts.push_back(std::string(kMostBytes + 1, ' '));
  texts.push_back(samples::small_instrument() + std::string(kMostBytes, ' '));
  texts.push_back(title("\"" + std::string(kMostBytes, 'a') + "\""));
  texts.push_back(title("\"" + std::string(7u << 20, 'a') + "\""));
  texts.push_back(title("\"" + repeated("é", 101) + "\""));
  texts.push_back(title("\"" + std::string(201, 'a') + "\""));
  texts.push_back(span("\"" + std::string(1u << 20, '9') + " mm\""));
  texts.push_back(span(std::string(1u << 20, '9')));
  texts.push_back(extra("\"" + std::string(1u << 20, 'n') + "\": 1"));
  texts.push_back(extra("\"" + repeated("日", 1000) + "\": 1"));
  std::string members;
  for (int i = 0; i < 300; ++i) members += fmt::format("\"m{}\": 1{}", i, i == 299 ? "" : ", ");
  texts.push_back(extra(members));
  texts.push_back(extra("\"zzz\": [" + repeated("0,", 200001) + "0]"));
  texts.push_back(extra("\"zzz\": [" + repeated("[],", 200001) + "0]"));
  texts.push_back("{\"format\": \"hingeline-instrument\", \"version\": 1, \"title\": \"T\", \"keys\": [" +
                  repeated("{},", kMostInList) + "{}]}");
  texts.push_back(span("{\"unit\": \"mm\", \"repeats\": [" + repeated("30,", kMostInList) + "30]}"));
  texts.push_back(span("{\"unit\": \"mm\", \"value\": 30, \"with\": \"" + std::string(201, 'w') + "\"}"));
  return instruments(texts);
}

Family depths() {
  std::vector<std::string> texts;
  for (const std::size_t depth : {33u, 100u, 1000u, 100000u, 1000000u}) {
    for (const char* piece : {"[", "{\"a\":", "[{\"a\":"}) {
      texts.push_back(repeated(piece, depth));
      texts.push_back(extra("\"zzz\": " + repeated(piece, depth)));
    }
    texts.push_back(repeated("[", depth) + repeated("]", depth));
    texts.push_back(repeated("{\"a\":", depth) + "1" + repeated("}", depth));
    texts.push_back(extra("\"zzz\": " + repeated("[", depth) + repeated("]", depth)));
  }
  texts.push_back(repeated("]", 1000));
  texts.push_back(repeated("}", 1000));
  return instruments(texts);
}

Family duplicates() {
  std::vector<std::string> texts;
  for (const char* name : {"format", "version", "title", "keys"})
    texts.push_back(
        with(samples::small_instrument(), "\"title\"", fmt::format("\"{}\": 1, \"title\"", name)));
  for (const char* name : {"id", "hinge"})
    texts.push_back(with(samples::small_instrument(), "\"id\"", fmt::format("\"{}\": 1, \"id\"", name)));
  for (const char* name : {"kind", "span", "upper"})
    texts.push_back(with(samples::small_instrument(), "\"kind\"", fmt::format("\"{}\": 1, \"kind\"", name)));
  texts.push_back(span(R"({"value": 30, "value": 30, "unit": "mm"})"));
  texts.push_back(span(R"({"value": 30, "unit": "mm", "\u0075nit": "mm"})"));
  // Twice the same id.
  Json twice = Json::parse(samples::small_instrument());
  twice["keys"].push_back(twice["keys"][0]);
  texts.push_back(twice.dump(1));
  Family out = instruments(texts);
  for (const char* list : {"cutters", "reamers", "rods", "patterns", "measuring"}) {
    Json shop = Json::parse(samples::full_shop());
    shop[list].push_back(shop[list][0]);
    out.push_back({Format::shop, shop.dump(1)});
  }
  Json shop = Json::parse(samples::full_shop());
  shop["presets"]["materials"].push_back(shop["presets"]["materials"][0]);
  out.push_back({Format::shop, shop.dump(1)});
  return out;
}

Family encodings() {
  std::vector<std::string> texts;
  const std::vector<std::string> wrong{"\x80",
                                       "\xBF",
                                       "\xC0\x80",
                                       "\xC1\xBF",
                                       "\xC2",
                                       "\xC2\x41",
                                       "\xE0\x80\x80",
                                       "\xE0\x9F\xBF",
                                       "\xE2\x82",
                                       "\xED\xA0\x80",
                                       "\xED\xBF\xBF",
                                       "\xEF\xBF",
                                       "\xF0\x80\x80\x80",
                                       "\xF0\x8F\xBF\xBF",
                                       "\xF0\x9F\x92",
                                       "\xF4\x90\x80\x80",
                                       "\xF5\x80\x80\x80",
                                       "\xF8\x88\x80\x80\x80",
                                       "\xFE",
                                       "\xFF",
                                       std::string(1, '\0'),
                                       "\x01",
                                       "\x1B[31m",
                                       "\x7F",
                                       "\xC2\x9B",
                                       "\b"};
  for (const std::string& bytes : wrong) {
    texts.push_back(title("\"a" + bytes + "b\""));
    texts.push_back(extra("\"a" + bytes + "b\": 1"));
    texts.push_back(span(bytes + "1"));
  }
  for (const char* escape : {"\\ud800", "\\udc00", "\\ud800\\u0041", "\\ud800\\ud800", "\\u12", "\\uZZZZ",
                             "\\x41", "\\'", "\\", "\\u0000", "\\u001b", "\\u007f", "\\u0085"})
    texts.push_back(title(fmt::format("\"a{}b\"", escape)));
  texts.push_back("\xEF\xBB\xBF" + samples::small_instrument());
  texts.push_back("\xFE\xFF" + samples::small_instrument());
  texts.push_back(samples::small_instrument() + std::string(1, '\0'));
  texts.push_back(samples::small_instrument() + std::string(1, '\0') + "{}");
  texts.push_back(std::string(100, '\0'));
  std::string wide;
  for (const char c : samples::small_instrument()) wide += std::string(1, c) + '\0';
  texts.push_back(wide);
  for (const char* digits : {"٣٠", "３０", "३०", "๓๐", "𝟛𝟘", "Ⅲ", "③"})
    texts.push_back(span(fmt::format("{{\"value\": {}, \"unit\": \"mm\"}}", digits)));
  return instruments(texts);
}

Family notations() {
  const std::string& small = samples::small_instrument();
  std::vector<std::string> texts{"",
                                 " ",
                                 "\n\n\t",
                                 "null",
                                 "true",
                                 "0",
                                 "\"text\"",
                                 "[]",
                                 "{}",
                                 "not JSON at all",
                                 "<xml/>",
                                 "format: hingeline-instrument",
                                 small + small,
                                 small + "{}",
                                 small + ",",
                                 small + "]",
                                 "[" + small + "]",
                                 with(small, "\"version\": 1,", "\"version\": 1,,"),
                                 with(small, "\"version\": 1,", "\"version\": 1"),
                                 with(small, "\"version\": 1,", "\"version\" 1,"),
                                 with(small, "\"version\": 1,", "\"version\":: 1,"),
                                 with(small, "\"version\": 1,", "\"version\": ,"),
                                 with(small, "\"version\": 1,", "\"version\","),
                                 with(small, "\"version\": 1,", "version: 1,"),
                                 with(small, "\"version\": 1,", "1: 1, \"version\": 1,"),
                                 with(small, "\"version\": 1,", "\"version\" = 1,"),
                                 with(small, "\"version\": 1,", "\"version\": 1;"),
                                 with(small, "\"version\": 1,", "\"version\": 1, // one"),
                                 with(small, "\"version\": 1,", "\"version\": /* one */ 1,"),
                                 with(small, "\"version\": 1,", "\"version\": 1, # one"),
                                 with(small, "\"Small\"", "'Small'"),
                                 with(small, "\"Small\"", "Small"),
                                 with(small, "\"Small\"", "\"Small"),
                                 with(small, "\"Small\"", "\"Sm\nall\""),
                                 with(small, "\"Small\"", "\"Sm\tall\""),
                                 with(small, "\"Small\"", "\"Sm\" + \"all\""),
                                 with(small, "\"Small\"", "True"),
                                 with(small, "\"Small\"", "NULL"),
                                 with(small, "\"Small\"", "undefined"),
                                 with(small, "\"p\"}}", "\"p\",}}"),
                                 with(small, "\n  ]\n", ",\n  ]\n"),
                                 with(small, "\n  ]\n", "\n  }\n"),
                                 with(small, "\n  ]\n", "\n  ]]\n"),
                                 "{" + small + "}",
                                 small.substr(1)};
  return instruments(texts);
}

Family headers() {
  const std::string& small = samples::small_instrument();
  std::vector<std::string> texts;
  for (const char* version :
       {"2", "3", "1000000", "99999999999999999999", "0", "-1", "1.0", "1.5", "\"1\"", "[]", "{}"})
    texts.push_back(with(small, "\"version\": 1", fmt::format("\"version\": {}", version)));
  for (const char* format :
       {"hingeline-shop", "hingeline", "Hingeline-instrument", "", "hingeline-instrument "})
    texts.push_back(with(small, "hingeline-instrument", format));
  texts.push_back(with(small, "\"version\": 1,", ""));
  texts.push_back(with(small, "\"format\": \"hingeline-instrument\",", ""));
  texts.push_back(with(small, "\"title\": \"Small\",", ""));
  Family out = instruments(texts);
  out.push_back({Format::shop, small});
  out.push_back({Format::instrument, samples::small_shop()});
  return out;
}

/// Values that cannot belong to one real thing. The small instrument's upper end has a conical point 3 mm
/// long in a hole 2 mm deep, the key is 30 mm long.
Family contradictions() {
  struct Edit {
    const char* pointer;
    const char* value;
  };
  const std::string hinge = "/keys/0/hinge";
  const std::vector<std::vector<Edit>> edits{
      {{"/upper/screw/point/length", "\"31 mm\""}},
      {{"/upper/screw/point/length", "\"1.25 in\""}},
      {{"/upper/hole/depth", "\"31 mm\""}},
      {{"/upper/hole/depth", "\"16 mm\""}, {"/lower/hole/depth", "\"16 mm\""}},
      {{"/upper/hole/mouth_diameter", "\"0.7 mm\""}},
      {{"/upper/screw/point/tip_diameter", "\"2.5 mm\""}},
      {{"/upper/screw/point/shank_diameter", "\"0.5 mm\""}},
      {{"/upper/screw/protrusion", "\"3.5 mm\""}},
      {{"/upper/screw/protrusion", "\"31 mm\""}, {"/upper/screw/point/length", "\"?\""}},
      {{"/upper/key_end_diameter", "\"1.5 mm\""}},
      {{"/key_length", "\"32 mm\""}},
      {{"/span", "\"1 in\""}},
      {{"/upper/screw/point/tip", "\"worn\""}, {"/upper/screw/point/wear_length", "\"3.5 mm\""}},
      {{"/upper/screw/point/tip", "\"worn\""}, {"/upper/screw/point/wear_depth", "\"0.5 mm\""}},
      {{"/upper/screw/point/wear_depth", "\"0.1 mm\""}},
      {{"/upper/screw/point/tip", "\"round\""}},
      {{"/upper/screw/point/tip_radius", "\"0.3 mm\""}},
      {{"/upper/screw/point/ball_diameter", "\"1 mm\""}},
      {{"/upper/screw/point/pin_length", "\"1 mm\""}},
      {{"/upper/screw/point/pairs", R"({"unit": "mm", "values": [[0, 1], [2, 1]]})"}},
      {{"/upper/screw/point", R"({"shape": "profile"})"}},
      {{"/upper/screw/point",
        R"({"shape": "profile", "pairs": {"unit": "mm", "values": [[0, 1], [2, 1], [1, 1]]}})"}},
      {{"/upper/screw/point",
        R"({"shape": "profile", "pairs": {"unit": "mm", "values": [[1, 1], [2, 1]]}})"}},
      {{"/upper/screw/point",
        R"({"shape": "profile", "pairs": {"unit": "mm", "values": [[0, 1], [2, "1/32 in"]]}})"}},
      {{"/upper/screw/point",
        R"({"shape": "profile", "length": "2 mm", "pairs": {"unit": "mm", "values": [[0, 1], [2, 1]]}})"}},
      {{"/upper/screw/point", R"({"shape": "ball", "ball_diameter": "1 mm", "neck_diameter": "1.1 mm"})"}},
      {{"/upper/screw/point", R"({"shape": "ball", "ball_diameter": "1 mm", "half_angle": "20 deg"})"}},
      {{"/upper/screw/point", R"({"shape": "ball", "ball_diameter": "1 mm", "tip": "flat"})"}},
      {{"/upper/screw/point",
        R"({"shape": "parallel", "pin_diameter": "1 mm", "shoulder_diameter": "0.9 mm"})"}},
      {{"/upper/screw/point",
        R"({"shape": "parallel", "pin_diameter": "1 mm", "pin_length": "3 mm", "length": "2 mm"})"}},
      {{"/upper/screw/point", R"({"shape": "parallel", "pin_diameter": "2.1 mm"})"}},
      {{"/upper/screw/point", R"({"tip": "flat"})"}},
      {{"/upper/hole", R"({"mouth_diameter": "2 mm"})"}},
      {{"/upper/hole", R"({"shape": "straight", "mouth_diameter": "2 mm", "half_angle": "20 deg"})"}},
      {{"/upper/hole", R"({"shape": "straight", "mouth_diameter": "2 mm", "floor_half_angle": "59 deg"})"}},
      {{"/upper/hole", R"({"shape": "cone", "mouth_diameter": "2 mm", "bell_depth": "0.5 mm"})"}},
      {{"/upper/hole",
        R"({"shape": "bell", "mouth_diameter": "2 mm", "depth": "2 mm", "bell_depth": "2.5 mm"})"}},
      {{"/upper/hole",
        R"({"shape": "bell", "mouth_diameter": "2 mm", "half_angle": "30 deg", "bell_half_angle": "20 deg"})"}},
      {{"/upper/hole", R"({"shape": "profile"})"}},
      {{"/upper/hole",
        R"({"shape": "profile", "depth": "2 mm", "pairs": {"unit": "mm", "values": [[0, 1], [2, 1]]}})"}},
      {{"/upper/screw/head", "\"headed\""},
       {"/upper/screw/head_diameter", "\"5 mm\""},
       {"/upper/post", R"({"diameter": "4 mm"})"}},
      {{"/upper/screw/stands_off", "\"0.1 mm\""}},
      {{"/upper/screw/head_height", "\"1 mm\""}},
      {{"/upper/screw/thread", R"({"pitch": "3 mm", "major": "2.5 mm"})"}},
      {{"/upper/screw/thread", "\"M0.45x2.5\""}},
      {{"/upper/screw/thread", "\"13-40\""}},
      {{"/upper/screw/thread", "\"M1x0.2\""}, {"/upper/screw/point/shank_diameter", "\"2 mm\""}},
      {{"/upper/post", R"({"web": "2 mm", "thickness": "1 mm"})"}},
      {{"/upper/post", R"({"engagement": "5 mm", "thickness": "4 mm"})"}},
      {{"/rod_diameter", "\"2 mm\""}},
      {{"/bore", "\"2 mm\""}},
      {{"", R"({"kind": "rod", "span": "30 mm", "key_length": "30 mm"})"}},
      {{"",
        R"({"kind": "rod", "span": "30 mm", "key_length": "30 mm", "rod_diameter": "2 mm", "bore": "1.9 mm"})"}},
      {{"",
        R"({"kind": "rod", "span": "30 mm", "key_length": "30 mm", "rod_diameter": "2 mm", "bore": "2.1 mm", "upper": {"screw": {"head": "headed"}}})"}},
      {{"",
        R"({"kind": "rod", "span": "30 mm", "key_length": "30 mm", "rod_diameter": "2 mm", "bore": "2.1 mm", "lower": {"hole": {"depth": "1 mm"}}})"}},
      {{"", R"({"kind": "pivot", "span": "30 mm", "key_length": "30 mm"})"}},
      {{"/span", R"({"origin": "unknown", "between": [31, 30], "unit": "mm"})"}},
      {{"/span", R"({"origin": "unknown", "between": [-1, 30], "unit": "mm"})"}},
      {{"/span", R"({"origin": "unknown", "value": 30, "unit": "mm"})"}},
      {{"/span", R"({"value": 30.1, "unit": "mm", "between": [30, 31]})"}},
      {{"/span", R"({"value": 30.1, "unit": "mm", "repeats": [35, 36]})"}},
      {{"/span", R"({"value": 30.1, "unit": "mm", "repeats": [30.1, "1.2 in"]})"}},
      {{"/span", R"({"value": "30.1 mm", "unit": "in"})"}},
      {{"/span", R"({"value": "30.1 mm ± 0.1", "unit": "mm", "plus_minus": 0.1})"}},
  };
  Family out;
  for (const auto& edit : edits) {
    Json document = Json::parse(samples::small_instrument());
    for (const Edit& one : edit) document[Json::json_pointer(hinge + one.pointer)] = Json::parse(one.value);
    out.push_back({Format::instrument, document.dump(1)});
  }
  const auto on_key = [&](const char* name, const char* value) {
    Json document = Json::parse(samples::small_instrument());
    document["keys"][0][name] = Json::parse(value);
    out.push_back({Format::instrument, document.dump(1)});
  };
  on_key("pad", R"({})");
  on_key("pad", R"({"tone_hole": "14 mm", "station": "3 mm"})");
  on_key("pad", R"({"tone_hole": "-14 mm", "station": "3 mm", "arm": "3 mm"})");
  on_key("allowed", R"({"window_low": "0.1 mm", "window_high": "0.05 mm"})");
  for (const auto& travel : {"2.1 mm ± 0.05", "3.9 mm ± 0.3", "3.11 mm"}) {
    Json document = Json::parse(samples::small_instrument());
    Json& key = document["keys"][0];
    key["pad"] = {{"tone_hole", "14 mm"}, {"station", "3 mm"}, {"arm", "15 mm"}};
    key["opening"] = "3 mm ± 0.1";
    key["moving"] = {{"stands", "open"}, {"travel", travel}};
    out.push_back({Format::instrument, document.dump(1)});
  }
  on_key("readings", R"({"gap_upper": "-0.1 mm"})");
  on_key("readings", R"({"rock": [{"station": "31 mm", "value": "0.1 mm"}]})");
  on_key("readings", R"({"rock": [{"station": "3 mm", "value": "-0.1 mm"}]})");
  out.push_back(
      {Format::instrument, extra(R"("body": {"service_from": "30 degC", "service_to": "10 degC"})")});
  const auto on_shop = [&](const char* pointer, const char* value) {
    Json document = Json::parse(samples::full_shop());
    document[Json::json_pointer(pointer)] = Json::parse(value);
    out.push_back({Format::shop, document.dump(1)});
  };
  on_shop("/presets/window_low", "\"0.5 mm\"");
  on_shop("/presets/unknown/span/between", "[3, 2]");
  on_shop("/reamers/0/small_diameter", "\"4 mm\"");
  on_shop("/patterns/0/screw/pattern", "\"another\"");
  on_shop("/patterns/0/screw/point/wear_length", "\"9 mm\"");
  on_shop("/patterns/0/hole/bell_depth", "\"9 mm\"");
  return out;
}

/// What no ledger may say, each well-formed.
Family ledgers() {
  Family out;
  const auto on_ledger = [&](const char* pointer, const char* value) {
    Json document = Json::parse(samples::full_ledger());
    document[Json::json_pointer(pointer)] = Json::parse(value);
    out.push_back({Format::ledger, document.dump(1)});
  };
  on_ledger("/jobs/1/id", "\"2024-02-29-1\"");
  on_ledger("/jobs/0/causes", R"(["sound", "dirt"])");
  on_ledger("/jobs/0/causes", R"(["dirt", "dirt"])");
  on_ledger("/jobs/0/causes", R"(["Dirt"])");
  on_ledger("/jobs/0/waivers/0/cause", "\"sound\"");
  for (const char* date :
       {"2023-02-29", "1900-02-29", "2100-02-29", "2024-02-30", "2024-04-31", "2024-00-10", "2024-13-10",
        "2024-01-00", "2024-01-32", "1899-12-31", "0000-01-01", "24-01-01", "2024/01/01", "2024-1-01",
        "2024-01-01T00:00", " 2024-01-01", "", "２０２４-01-01"}) {
    const std::string typed = fmt::format("\"{}\"", date);
    on_ledger("/jobs/0/date", typed.c_str());
    on_ledger("/forgotten/0/before", typed.c_str());
  }
  for (const char* number : {"0", "-2", "1e9", "1001", "\"\"", "\"two\"", "\"2 mm\"", "\"2 turns\"", "[2]",
                             R"({"value": 2, "unit": "turns"})", R"({"value": 0})", R"({"repeats": []})"}) {
    on_ledger("/jobs/0/bites/0/turns", number);
    on_ledger("/jobs/0/minutes/0/minutes", number);
  }
  for (const char* taken : {"0.05", "\"5 deg\"", "\"0.05 cm\"", R"({"value": 0.05})", "\"20000 mm\""})
    on_ledger("/jobs/0/bites/0/taken", taken);
  // An angle where a length belongs, and the other way about.
  on_ledger("/jobs/0/measured/0/value", "\"2 mm\"");
  on_ledger("/jobs/0/measured/0/value", "\"95 deg\"");
  on_ledger("/jobs/0/measured/2/value", "\"20 deg\"");
  on_ledger("/jobs/0/measured/2/value", "\"1:10\"");
  on_ledger("/jobs/0/measured/2/value", "\"-2 mm\"");
  on_ledger("/jobs/0/measured/0/field", "\"hole-depth\"");
  on_ledger("/jobs/0/measured/2/field", "\"hole-half-angle\"");
  on_ledger("/jobs/0/measured/2/field", "\"end-play\"");
  return out;
}

/// What no rig may say, each well-formed.
Family rigs() {
  Family out;
  const auto on_rig = [&](const char* pointer, const char* value) {
    Json document = Json::parse(samples::full_rig());
    document[Json::json_pointer(pointer)] = Json::parse(value);
    out.push_back({Format::rig, document.dump(1)});
  };
  on_rig("/specimens/1/id", "\"a-1\"");
  on_rig("/inspections/0/specimen", "\"nobody\"");
  for (const char* confidence : {"0.1", "1", "0", "\"sure\""}) on_rig("/confidence", confidence);
  for (const char* moment : {"\"2026-02-29T00:00Z\"", "\"2026-10-05T09:00\"", "\"2026-10-05T09:00+15:00\"",
                             "\"now\"", "\"1899-12-31T00:00Z\"", "7"}) {
    on_rig("/periods/0/from", moment);
    on_rig("/periods/0/to", moment);
    on_rig("/inspections/0/at", moment);
  }
  for (const char* rate :
       {"\"0 closings/s\"", "\"-1 closings/s\"", "\"101 closings/s\"", "\"2\"", "\"2 Hz\""})
    on_rig("/periods/0/rate", rate);
  for (const char* target : {"\"0 closings\"", "\"1e13 closings\"", "\"many\""}) on_rig("/target", target);
  on_rig("/assumed_shape/between", "[3, 1]");
  on_rig("/assumed_shape/between", "[0, 1]");
  return out;
}

const std::vector<std::pair<const char*, Family (*)()>> kFamilies{{"cut short", cut_short},
                                                                  {"wrong types", wrong_types},
                                                                  {"numbers", numbers},
                                                                  {"readings", readings},
                                                                  {"sizes", sizes},
                                                                  {"depths", depths},
                                                                  {"duplicates", duplicates},
                                                                  {"encodings", encodings},
                                                                  {"notations", notations},
                                                                  {"headers", headers},
                                                                  {"contradictions", contradictions},
                                                                  {"ledgers", ledgers},
                                                                  {"rigs", rigs}};

void expect_refused(const Family& family) {
  for (const Malformed& one : family) {
    const std::string start = one.text.size() > 3000 ? one.text.substr(0, 300) : one.text;
    const Errors errors = samples::errors_of(one.format, one.text);
    EXPECT_FALSE(errors.empty()) << "taken:\n" << start;
    EXPECT_EQ(samples::faults_of_form(errors, one.text), "") << start;
  }
}

TEST(Malformed, CutShort) { expect_refused(cut_short()); }
TEST(Malformed, WrongTypes) { expect_refused(wrong_types()); }
TEST(Malformed, Numbers) { expect_refused(numbers()); }
TEST(Malformed, Readings) { expect_refused(readings()); }
TEST(Malformed, Sizes) { expect_refused(sizes()); }
TEST(Malformed, Depths) { expect_refused(depths()); }
TEST(Malformed, Duplicates) { expect_refused(duplicates()); }
TEST(Malformed, Encodings) { expect_refused(encodings()); }
TEST(Malformed, Notations) { expect_refused(notations()); }
TEST(Malformed, Headers) { expect_refused(headers()); }

/// These are well-formed: each must be refused for the contradiction, and for nothing else.
TEST(Malformed, Contradictions) {
  const Family family = contradictions();
  expect_refused(family);
  for (const Malformed& one : family) {
    const Errors errors = samples::errors_of(one.format, one.text);
    for (const Error& error : errors) EXPECT_NE(error.fault, Fault::syntax) << describe(error);
  }
}

TEST(Malformed, Ledgers) { expect_refused(ledgers()); }
TEST(Malformed, Rigs) { expect_refused(rigs()); }

TEST(Malformed, OneOpeningIsNotTwo) {
  Json document = Json::parse(samples::small_instrument());
  Json& key = document["keys"][0];
  key["pad"] = {{"tone_hole", "14 mm"}, {"station", "3 mm"}, {"arm", "15 mm"}};
  key["opening"] = "3 mm ± 0.1";
  key["moving"] = {{"stands", "open"}, {"travel", "3.4 mm ± 0.3"}};
  const auto errors = [&] { return samples::errors_of(Format::instrument, document.dump(1)); };
  EXPECT_EQ(samples::shown(errors()), "");
  key["moving"]["travel"] = "3.41 mm ± 0.3";
  ASSERT_EQ(errors().size(), 1u);
  EXPECT_EQ(errors()[0].place.pointer, "/keys/0/moving/travel");
  EXPECT_EQ(errors()[0].fault, Fault::geometry);
  // Shut at rest, it opens when pressed; without a pad the travel is the touch's.
  key["moving"]["stands"] = "closed";
  EXPECT_EQ(samples::shown(errors()), "");
  key["moving"]["stands"] = "open";
  key.erase("pad");
  EXPECT_EQ(samples::shown(errors()), "");
}

/// What the families are made from is valid: nothing is refused for another reason than its own.
TEST(Malformed, TheirSourcesAreValid) {
  EXPECT_EQ(samples::shown(samples::errors_of(Format::instrument, samples::small_instrument())), "");
  EXPECT_EQ(samples::shown(samples::errors_of(Format::instrument, samples::full_instrument())), "");
  EXPECT_EQ(samples::shown(samples::errors_of(Format::shop, samples::small_shop())), "");
  EXPECT_EQ(samples::shown(samples::errors_of(Format::shop, samples::full_shop())), "");
  EXPECT_EQ(samples::shown(samples::errors_of(Format::ledger, samples::small_ledger())), "");
  EXPECT_EQ(samples::shown(samples::errors_of(Format::ledger, samples::full_ledger())), "");
  EXPECT_EQ(samples::shown(samples::errors_of(Format::rig, samples::small_rig())), "");
  EXPECT_EQ(samples::shown(samples::errors_of(Format::rig, samples::full_rig())), "");
  EXPECT_EQ(samples::shown(samples::errors_of(Format::instrument, span("\"30.2 mm\""))), "");
  EXPECT_EQ(samples::shown(samples::errors_of(Format::instrument, title("\"T\""))), "");
  EXPECT_EQ(samples::shown(samples::errors_of(Format::instrument, extra("\"kind\": \"k\""))), "");
}

TEST(Malformed, ThereAreEnough) {
  std::set<std::pair<Format, std::string>> all;
  for (const auto& [name, family] : kFamilies) {
    const Family made = family();
    EXPECT_GE(made.size(), 15u) << name;
    for (const Malformed& one : made) all.emplace(one.format, one.text);
    RecordProperty(std::string(name) == "cut short" ? "cut_short" : name, static_cast<int>(made.size()));
  }
  RecordProperty("distinct", static_cast<int>(all.size()));
  EXPECT_GE(all.size(), 260u);
}

}  // namespace
}  // namespace hingeline::record
