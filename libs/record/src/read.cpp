#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "check.h"
#include "fields.h"
#include "hingeline/base/moment.h"
#include "json.h"
#include "ledger_fields.h"
#include "quantity_text.h"
#include "rig_fields.h"
#include "slip_fields.h"

namespace hingeline::record {
namespace {

using json::in_quotes;
using json::Kind;
using json::Node;

/// Fewest single-character edits from one word to the other.
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replaced = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
      diagonal = row[j];
      row[j] = std::min({row[j] + 1, row[j - 1] + 1, replaced});
    }
  }
  return row[b.size()];
}

std::string listed(const std::vector<std::string>& names) {
  std::string out;
  for (std::size_t i = 0; i < names.size(); ++i)
    out += (i == 0 ? "" : i + 1 == names.size() ? " or " : ", ") + names[i];
  return out;
}

/// The one of the names that is near, else all of them when they are few.
std::string suggestion(std::string_view wrong, const std::vector<std::string>& names) {
  constexpr std::size_t kLongestWord = 40;
  std::string nearest;
  std::size_t best = std::min<std::size_t>(3, wrong.size() / 2 + 1);
  if (wrong.size() <= kLongestWord) {
    for (const std::string& name : names) {
      const std::size_t distance = edit_distance(wrong, name);
      if (distance < best) {
        best = distance;
        nearest = name;
      }
    }
  }
  if (!nearest.empty()) return fmt::format("\"{}\"", nearest);
  constexpr std::size_t kFew = 12;
  return names.size() <= kFew ? listed(names) : "a member the published schema has";
}

/// See kZonePattern.
bool is_zone_name(std::string_view text) {
  constexpr auto kLetter = [](char c) { return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'); };
  constexpr auto kDigit = [](char c) { return c >= '0' && c <= '9'; };
  char before = '/';
  for (const char c : text) {
    const bool plain = kLetter(c) || kDigit(c);
    if (!plain && (before == '/' || std::string_view("/+-_").find(c) == std::string_view::npos)) return false;
    before = c;
  }
  return !text.empty() && kLetter(text.front()) && before != '/';
}

constexpr const char* kDateForm = "year, month and day: 2026-11-25";
constexpr const char* kMomentForm = "a moment with its offset from UTC: 2026-11-25T14:05:00+01:00";

/// What all parts of one reading share.
struct Session {
  std::string file;
  LengthUnit bare = LengthUnit::mm;
  Errors errors;

  void add(Fault fault, const Where& where, std::string what, std::string expected = {}) {
    errors.push_back(Error{fault, std::move(what), std::move(expected), where});
  }
};

/// Visits a description with an object of the document; with none, only says where it would be.
class In {
 public:
  static constexpr bool kWrites = false;

  In(Session& session, const Node* node, Where where, Origin usual)
      : session_(session), node_(node), where_(std::move(where)), usual_(usual) {}

  /// Reads a struct from the object: its members, what is unknown or missing among them, its place.
  template <class T>
  static void read(Session& session, const Node* node, const Where& where, Origin usual, T& out) {
    const Node* object = node;
    if (node != nullptr && node->kind != Kind::object) {
      session.add(Fault::content, where, fmt::format("{} where an object belongs", json::word(node->kind)),
                  "members in { }");
      object = nullptr;
    }
    In in(session, object, where, usual);
    if constexpr (requires { out.place; }) out.place = where;
    fields(in, out);
    in.finish();
  }

  void header(const char*) {
    // Both were looked at before anything else.
    take("format");
    take("version");
  }
  void units(const char* name, LengthUnit& out, const char*) {
    const Node* node = take(name);
    if (node == nullptr) return;
    if (node->kind == Kind::string && node->text == "inch") {
      out = LengthUnit::inch;
    } else if (node->kind == Kind::string && node->text == "mm") {
      out = LengthUnit::mm;
    } else {
      session_.add(Fault::content, at(name, node), fmt::format("{} is not a unit to show", shown(*node)),
                   "mm or inch");
    }
  }
  void text(const char* name, Text& out, TextRule rule, const char* about) {
    text(name, out.text, rule, about);
    out.place = at(name, node_ == nullptr ? nullptr : node_->find(name));
  }
  void text(const char* name, std::string& out, TextRule rule, const char*) {
    const bool must = is_required(rule);
    const Node* node = take(name);
    if (node == nullptr) {
      if (must) {
        missing(name, rule == TextRule::identifier ? "small letters, digits, hyphens"
                      : rule == TextRule::date     ? kDateForm
                      : rule == TextRule::moment   ? kMomentForm
                                                   : "a name");
      }
      return;
    }
    const Where where = at(name, node);
    if (node->kind != Kind::string) {
      session_.add(Fault::content, where, fmt::format("{} where text belongs", shown(*node)),
                   "text in double quotes");
      return;
    }
    if (must && node->text.find_first_not_of(" \t\n") == std::string::npos) {
      session_.add(Fault::content, where, fmt::format("an empty {}", name), "at least one letter");
    } else if (rule != TextRule::free && node->text.size() > kMostLine) {
      session_.add(Fault::content, where, fmt::format("{} of {} bytes", name, node->text.size()),
                   fmt::format("at most {}", kMostLine));
    } else if (rule != TextRule::free && node->text.find_first_of("\n\t") != std::string::npos) {
      session_.add(Fault::content, where, fmt::format("a newline or tab in a {}", name), "one line");
    } else if (rule == TextRule::identifier &&
               node->text.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") != std::string::npos) {
      session_.add(Fault::content, where, fmt::format("{} is not an id", in_quotes(node->text)),
                   "small letters, digits, hyphens");
    } else if (rule == TextRule::time_zone && !node->text.empty() && !is_zone_name(node->text)) {
      session_.add(Fault::content, where, fmt::format("{} is no name of a time zone", in_quotes(node->text)),
                   "one like Europe/Vienna or UTC");
    } else if (is_day(rule) && !is_date(node->text)) {
      session_.add(Fault::content, where, fmt::format("{} is not a day", in_quotes(node->text)), kDateForm);
    } else if (is_moment(rule)) {
      if (const auto moment = parse_moment(node->text); !moment)
        session_.add(Fault::content, where, moment.error().what, moment.error().expected);
    }
    out = node->text;
  }

  void flag(const char* name, bool& out, const char*) {
    const Node* node = take(name);
    if (node == nullptr) return;
    if (node->kind != Kind::boolean) {
      session_.add(Fault::content, at(name, node),
                   fmt::format("{} where true or false belongs", shown(*node)), "true or false");
      return;
    }
    out = node->text == "true";
  }
  void piece(const char* name, Piece& out, const char*, bool must = false) {
    const Node* node = take(name);
    out.place = at(name, node);
    if (node == nullptr) {
      if (must) missing(name, "a piece of a document");
      return;
    }
    out.json = json::print_line(*node);
  }

  template <class E>
  void choice(const char* name, std::optional<E>& out, const char*) {
    if (const Node* node = take(name)) out = choose<E>(*node, at(name, node), name);
  }
  template <class E>
  void choice(const char* name, E& out, const char*) {
    const Node* node = take(name);
    if (node == nullptr) return missing(name, listed(words<E>()));
    out = choose<E>(*node, at(name, node), name).value_or(out);
  }
  template <class E>
  void choices(const char* name, std::vector<E>& out, const char*) {
    const Node* node = take(name);
    if (node == nullptr || !is_list(*node, at(name, node))) return;
    for (std::size_t i = 0; i < node->items.size(); ++i) {
      const Where where = item_at(at(name, node), i, node->items[i]);
      const auto one = choose<E>(node->items[i], where, name);
      if (!one) continue;
      if (std::find(out.begin(), out.end(), *one) != out.end()) {
        session_.add(Fault::content, where, fmt::format("\"{}\" stands twice in one list", word(*one)),
                     "each once");
      }
      out.push_back(*one);
    }
  }

  template <class T>
  void object(const char* name, T& out, const char*, bool must = false) {
    const Node* node = take(name);
    if (node == nullptr && must) missing(name, "an object");
    read(session_, node, at(name, node), usual_for<T>(), out);
  }
  template <class T>
  void maybe(const char* name, std::optional<T>& out, const char*) {
    if (const Node* node = take(name)) read(session_, node, at(name, node), usual_for<T>(), out.emplace());
  }
  template <class T>
  void list(const char* name, std::vector<T>& out, const char*, bool must = false) {
    const Node* node = take(name);
    if (node == nullptr) {
      if (must) missing(name, "a list");
      return;
    }
    const Where where = at(name, node);
    if (!is_list(*node, where)) return;
    out.reserve(node->items.size());
    for (std::size_t i = 0; i < node->items.size(); ++i) {
      const Node& item = node->items[i];
      read(session_, &item, item_at(where, i, item), usual_for<T>(), out.emplace_back());
    }
  }

  template <class Q>
  void entry(const char* name, Entry<Q>& out, Rule rule, const char*) {
    const Node* node = take(name);
    out.place = at(name, node);
    if (node == nullptr) {
      if (rule.required) missing(name, fmt::format("{} or \"?\"", forms<Q>(rule)));
      return;
    }
    out.present = true;
    const std::size_t before = session_.errors.size();
    if (node->kind == Kind::string) {
      short_form(*node, out, rule);
    } else if (node->kind == Kind::object) {
      long_form(*node, out, rule);
    } else if (node->kind == Kind::number) {
      if (std::is_same_v<Q, double> && rule.unit[0] == '\0') {
        number_form(*node, out, rule);
      } else {
        session_.add(Fault::content, out.place, fmt::format("the number {} has no unit", shown(*node)),
                     forms<Q>(rule));
      }
    } else {
      session_.add(Fault::content, out.place, fmt::format("{} is not {}", shown(*node), KindOf<Q>::name),
                   fmt::format("{}, or \"?\" when it is not known", forms<Q>(rule)));
    }
    if (session_.errors.size() == before && rule.range && !out.range) {
      session_.add(Fault::content, out.place, "not a range",
                   R"({"origin": "unknown", "between": [low, high], "unit": ...})");
    }
    if (session_.errors.size() != before) out.origin = Origin::unknown;
  }

  /// A member that is an angle or a length.
  void either(const char* name, bool is_angle, AngleEntry& angle, Rule angle_rule, LengthEntry& length,
              Rule length_rule, const char* about) {
    if (is_angle) return entry(name, angle, angle_rule, about);
    entry(name, length, length_rule, about);
  }

  void pairs(const char* name, Pairs& out, const char*) {
    const Node* node = take(name);
    out.place = at(name, node);
    if (node == nullptr) return;
    if (node->kind != Kind::object) {
      session_.add(Fault::content, out.place, fmt::format("{} is not a profile", shown(*node)),
                   R"({"unit": "mm", "values": [[0, 0.4], [2.5, 1.2]]})");
      return;
    }
    In in(session_, node, out.place, usual_);
    const Node* unit = in.take("unit");
    const Node* values = in.take("values");
    if (unit == nullptr) in.missing("unit", listed(unit_names<Length>(kGap)));
    if (values == nullptr) in.missing("values", "[[0, 0.4], [2.5, 1.2]]");
    in.finish();
    if (unit == nullptr || values == nullptr || !in.is_unit<Length>(*unit, kGap)) return;
    out.unit = unit->text;
    const Where list_place = in.at("values", values);
    if (!is_list(*values, list_place)) return;
    if (values->items.size() < 2) {
      session_.add(Fault::content, list_place, "a profile of fewer than two pairs", "two pairs or more");
    }
    for (std::size_t i = 0; i < values->items.size(); ++i) {
      const Node& item = values->items[i];
      const Where where = item_at(list_place, i, item);
      if (item.kind != Kind::array || item.items.size() != 2) {
        session_.add(Fault::content, where, fmt::format("{} is not a pair", shown(item)),
                     "[distance, radius]");
        continue;
      }
      Pair pair;
      std::array<Length*, 2> parts{&pair.along, &pair.radius};
      for (std::size_t k = 0; k < 2; ++k) {
        const Where part = item_at(where, k, item.items[k]);
        if (const auto reading = measure<Length>(item.items[k], out.unit, kGap, part))
          *parts[k] = reading->value;
      }
      if (i == 0 && pair.along != Length{}) {
        session_.add(Fault::geometry, where, "a profile that does not begin at 0", "0 as the first distance");
      }
      if (!out.pairs.empty() && pair.along < out.pairs.back().along) {
        session_.add(Fault::geometry, where, "a profile that runs backwards", "distances that do not fall");
      }
      out.pairs.push_back(pair);
    }
  }

  /// Text, or a number as it is written: no double lies between.
  void amount(const char* name, Amount& out, const char*) {
    const Node* node = take(name);
    out.place = at(name, node);
    if (node == nullptr) return;
    if (node->kind != Kind::string && node->kind != Kind::number) {
      session_.add(Fault::content, out.place,
                   fmt::format("{} where an amount of money belongs", shown(*node)), "\"12.50\"");
      return;
    }
    const auto money = parse_money(node->text);
    if (!money) {
      session_.add(Fault::content, out.place,
                   fmt::format("{} is not an amount of money: {}", shown(*node), money.error().what),
                   money.error().expected);
      return;
    }
    out.present = true;
    out.money = *money;
  }

  void thread(const char* name, Thread& out, const char*) {
    const Node* node = take(name);
    out.place = at(name, node);
    out.pitch.place = out.major.place = out.place;
    if (node == nullptr) return;
    if (node->kind == Kind::object) {
      In in(session_, node, out.place, usual_);
      in.entry("pitch", out.pitch, required(kSize), "");
      in.entry("major", out.major, required(kSize), "");
      in.finish();
      return;
    }
    if (node->kind != Kind::string || !thread_text(node->text, out)) {
      session_.add(Fault::content, out.place, fmt::format("{} is not a thread", shown(*node)),
                   "M2.5x0.45, 2-56, or pitch and major diameter");
    }
  }

 private:
  const Node* take(const char* name) {
    names_.emplace_back(name);
    return node_ == nullptr ? nullptr : node_->find(name);
  }
  /// The place of a member of this object; of one that is not there, the object's with the member's pointer.
  [[nodiscard]] Where at(std::string_view name, const Node* node) const {
    return Where{{session_.file, json::step(where_.pointer, name), node == nullptr ? where_.line : node->line,
                  node == nullptr ? where_.column : node->column}};
  }
  /// The place of an item of a list.
  static Where item_at(const Where& list, std::size_t index, const Node& item) {
    return Where{{list.file, json::step(list.pointer, index), item.line, item.column}};
  }
  template <class T>
  [[nodiscard]] Origin usual_for() const {
    if constexpr (std::is_same_v<T, Pattern>) return Origin::pattern;
    if constexpr (std::is_same_v<T, Presets>) return Origin::preset;
    return usual_;
  }
  void missing(const char* name, std::string expected) {
    if (node_ == nullptr) return;
    session_.add(Fault::content, Where{{session_.file, where_.pointer, node_->line, node_->column}},
                 fmt::format("\"{}\" is missing", name), std::move(expected));
  }
  void finish() {
    if (node_ == nullptr) return;
    for (const json::Member& member : node_->members) {
      if (std::find(names_.begin(), names_.end(), member.name) != names_.end()) continue;
      session_.add(Fault::content,
                   Where{{session_.file, json::step(where_.pointer, json::cut(member.name, kMostLine)),
                          member.line, member.column}},
                   fmt::format("{} is not a member here", in_quotes(member.name)),
                   suggestion(member.name, names_));
    }
  }
  bool is_list(const Node& node, const Where& where) {
    if (node.kind != Kind::array) {
      session_.add(Fault::content, where, fmt::format("{} where a list belongs", json::word(node.kind)),
                   "items in [ ]");
      return false;
    }
    if (node.items.size() > kMostInList) {
      session_.add(Fault::content, where, fmt::format("a list of {} items", node.items.size()),
                   fmt::format("at most {}", kMostInList));
      return false;
    }
    return true;
  }

  static std::string shown(const Node& node) {
    switch (node.kind) {
      case Kind::string:
        return in_quotes(node.text);
      case Kind::number:
      case Kind::boolean:
        return node.text.size() > kMostLine ? node.text.substr(0, 20) + "..." : node.text;
      default:
        return json::word(node.kind);
    }
  }
  template <class E>
  static std::vector<std::string> words() {
    std::vector<std::string> out;
    out.reserve(Words<E>::all.size());
    for (const E e : Words<E>::all) out.emplace_back(word(e));
    return out;
  }
  template <class E>
  std::optional<E> choose(const Node& node, const Where& where, const char* name) {
    if (node.kind == Kind::string) {
      for (const E e : Words<E>::all) {
        if (node.text == word(e)) return e;
      }
    }
    session_.add(Fault::content, where,
                 fmt::format("{} is not one of the words for \"{}\"", shown(node), name), listed(words<E>()));
    return std::nullopt;
  }

  template <class Q>
  static std::vector<std::string> unit_names(const Rule& rule) {
    const auto units = units_of<Q>(rule);
    return {units.begin(), units.end()};
  }
  template <class Q>
  static std::string forms(const Rule& rule) {
    if constexpr (std::is_same_v<Q, double>) {
      return rule.unit[0] == '\0' ? "a number" : fmt::format("\"4 {}\"", rule.unit);
    }
    const std::string out = rule.half_angle ? "20 deg, 12°30', 1:10" : KindOf<Q>::forms;
    return "e.g. " + out;
  }
  template <class Q>
  bool is_unit(const Node& node, const Rule& rule) {
    const auto names = unit_names<Q>(rule);
    if (node.kind == Kind::string && std::find(names.begin(), names.end(), node.text) != names.end())
      return true;
    session_.add(Fault::content, at("unit", &node),
                 names.empty() ? "a unit where a plain number belongs"
                               : fmt::format("{} is not a unit here", shown(node)),
                 names.empty() ? "the number alone" : listed(names));
    return false;
  }
  void refused(const Error& error, const Where& where, std::string_view text, const char* kind) {
    std::string what = error.what;
    // Base says where in the text it stopped; the text itself is said once.
    if (what.find(in_quotes(text)) == std::string::npos)
      what = fmt::format("{} is not {}: {}", in_quotes(text), kind, what);
    session_.add(error.fault == Fault::syntax ? Fault::content : error.fault, where, std::move(what),
                 error.expected);
  }

  /// One number or text in the unit (empty: it says its own).
  template <class Q>
  std::optional<Reading<Q>> measure(const Node& node, const std::string& unit, const Rule& rule,
                                    const Where& where) {
    if (node.kind != Kind::number && node.kind != Kind::string) {
      session_.add(Fault::content, where, fmt::format("{} is not {}", shown(node), KindOf<Q>::name),
                   forms<Q>(rule));
      return std::nullopt;
    }
    std::string text = node.text;
    if (node.kind == Kind::number) {
      text = without_exponent(text);
      if (text.empty()) {
        session_.add(Fault::content, where, fmt::format("{} is larger or smaller than can be", shown(node)),
                     forms<Q>(rule));
        return std::nullopt;
      }
      if (unit.empty() && !units_of<Q>(rule).empty()) {
        session_.add(Fault::content, where, fmt::format("the number {} has no unit", shown(node)),
                     "\"unit\": " + listed(unit_names<Q>(rule)));
        return std::nullopt;
      }
    } else if (text.find("±") != std::string::npos || text.find("+-") != std::string::npos ||
               text.find("+/-") != std::string::npos) {
      session_.add(Fault::content, where, fmt::format("{} holds an uncertainty of its own", in_quotes(text)),
                   "it in \"plus_minus\"");
      return std::nullopt;
    }
    const bool bare =
        node.kind == Kind::number || text.find_first_not_of("0123456789.,/+-eE ") == std::string::npos;
    const std::string whole = bare ? typed(text, unit) : text;
    auto reading = parse_typed<Q>(whole, rule, session_.bare);
    if (!reading) {
      refused(reading.error(), where, whole, KindOf<Q>::name);
      return std::nullopt;
    }
    if (!unit.empty() && reading->unit != unit) {
      session_.add(Fault::content, where,
                   fmt::format("{} has another unit than \"unit\" says", in_quotes(text)),
                   fmt::format("the same unit, {}", unit));
      return std::nullopt;
    }
    return *reading;
  }

  template <class Q>
  void short_form(const Node& node, Entry<Q>& out, const Rule& rule) {
    if (node.text == "?") {
      out.origin = Origin::unknown;
      return;
    }
    const auto reading = parse_typed<Q>(node.text, rule, session_.bare);
    if (!reading) return refused(reading.error(), out.place, node.text, KindOf<Q>::name);
    out.origin = usual_;
    out.value = reading->value;
    out.plus_minus = reading->plus_minus;
    out.unit = reading->unit;
  }
  template <class Q>
  void number_form(const Node& node, Entry<Q>& out, const Rule& rule) {
    const auto reading = measure<Q>(node, "", rule, out.place);
    if (!reading) return;
    out.origin = usual_;
    out.value = reading->value;
  }

  template <class Q>
  void long_form(const Node& node, Entry<Q>& out, const Rule& rule) {
    In in(session_, &node, out.place, usual_);
    const Node* value = in.take("value");
    const Node* unit = in.take("unit");
    const Node* plus_minus = in.take("plus_minus");
    const Node* origin = in.take("origin");
    const Node* between = in.take("between");
    const Node* repeats = in.take("repeats");
    in.text("with", out.with, TextRule::line, "");
    in.text("meaning", out.meaning, TextRule::free, "");
    in.finish();
    if (unit != nullptr) {
      if (!in.is_unit<Q>(*unit, rule)) return;
      out.unit = unit->text;
    }
    out.origin = usual_;
    if (origin != nullptr) {
      const auto named = origin_of(*origin);
      if (!named) {
        session_.add(Fault::content, in.at("origin", origin),
                     fmt::format("{} is not an origin", shown(*origin)), "read, pattern, preset or unknown");
        return;
      }
      out.origin = *named;
    }
    if (out.origin == Origin::unknown) {
      for (const char* name : {"value", "plus_minus", "repeats", "with"}) {
        if (const Node* extra = node.find(name)) {
          session_.add(Fault::content, in.at(name, extra), fmt::format("\"{}\" of something unknown", name),
                       "\"between\" for the range it must lie in");
        }
      }
      if (between != nullptr) in.range(*between, out, rule);
      return;
    }
    if (between != nullptr) {
      session_.add(Fault::content, in.at("between", between), "\"between\" of something known",
                   "\"origin\": \"unknown\" with it");
      return;
    }
    if (value == nullptr && repeats == nullptr) return in.missing("value", forms<Q>(rule));
    if (value != nullptr) {
      const auto reading = in.measure<Q>(*value, out.unit, rule, in.at("value", value));
      if (!reading) return;
      out.value = reading->value;
      out.unit = reading->unit;
    }
    if (repeats != nullptr && !in.read_repeats(*repeats, value == nullptr, out, rule)) return;
    if (plus_minus != nullptr) in.uncertainty(*plus_minus, out, rule);
    if (value != nullptr && repeats != nullptr && !among_repeats(out)) {
      session_.add(Fault::geometry, in.at("value", value),
                   fmt::format("{} lies outside its own repeats", shown(*value)),
                   "their mean; left out, it is worked out");
    }
  }
  /// Whether the value lies between the repeats, give or take its uncertainty and a hundredth for rounding.
  template <class Q>
  static bool among_repeats(const Entry<Q>& entry) {
    const auto [low, high] = std::minmax_element(entry.repeats.begin(), entry.repeats.end());
    const double doubt =
        inner(entry.plus_minus.value_or(Q{})) + std::max(std::abs(inner(*low)), std::abs(inner(*high))) / 100;
    const double value = inner(entry.value);
    return value >= inner(*low) - doubt && value <= inner(*high) + doubt;
  }
  static std::optional<Origin> origin_of(const Node& node) {
    if (node.kind != Kind::string) return std::nullopt;
    for (const Origin o : {Origin::read, Origin::pattern, Origin::preset, Origin::unknown}) {
      if (node.text == word(o)) return o;
    }
    return std::nullopt;
  }
  template <class Q>
  void range(const Node& node, Entry<Q>& out, const Rule& rule) {
    const Where where = at("between", &node);
    if (node.kind != Kind::array || node.items.size() != 2) {
      session_.add(Fault::content, where, fmt::format("{} is not a range", shown(node)), "[low, high]");
      return;
    }
    std::array<Q, 2> ends{};
    for (std::size_t i = 0; i < 2; ++i) {
      const Where part = item_at(where, i, node.items[i]);
      const auto reading = measure<Q>(node.items[i], out.unit, rule, part);
      if (!reading) return;
      ends[i] = reading->value;
      if (out.unit.empty()) out.unit = reading->unit;
    }
    if (ends[0] > ends[1]) {
      session_.add(Fault::geometry, where, "a range whose low end lies above its high end", "[low, high]");
      return;
    }
    out.range = Range<Q>{ends[0], ends[1]};
  }
  template <class Q>
  bool read_repeats(const Node& node, bool mean_wanted, Entry<Q>& out, const Rule& rule) {
    const Where where = at("repeats", &node);
    if (!is_list(node, where)) return false;
    if (node.items.empty()) {
      session_.add(Fault::content, where, "an empty list of repeats", "one reading or more");
      return false;
    }
    for (std::size_t i = 0; i < node.items.size(); ++i) {
      const Where part = item_at(where, i, node.items[i]);
      const auto reading = measure<Q>(node.items[i], out.unit, rule, part);
      if (!reading) return false;
      if (out.unit.empty()) out.unit = reading->unit;
      out.repeats.push_back(reading->value);
    }
    if (mean_wanted) out.value = mean_of(out.repeats);
    return true;
  }
  /// The uncertainty, in its own unit or the value's: read as the second half of a whole reading,
  /// so that it is taken as a difference whatever the unit's zero is.
  template <class Q>
  void uncertainty(const Node& node, Entry<Q>& out, const Rule& rule) {
    const Where where = at("plus_minus", &node);
    std::string text = node.kind == Kind::number ? without_exponent(node.text) : node.text;
    if ((node.kind != Kind::number && node.kind != Kind::string) || text.empty()) {
      session_.add(Fault::content, where, fmt::format("{} is not an uncertainty", shown(node)),
                   "a number in the value's unit, not below 0");
      return;
    }
    Rule any = rule;
    any.sign = Sign::any;
    const std::string unit = std::is_same_v<Q, double> ? "" : out.unit;
    any.unit = "";
    const std::string probe = typed("1", unit);
    const auto reading = parse_typed<Q>(fmt::format("{} ± {}", probe, text), any, session_.bare);
    if (!reading || !reading->plus_minus) {
      session_.add(Fault::content, where, fmt::format("{} is not an uncertainty", shown(node)),
                   "a number in the value's unit, not below 0");
      return;
    }
    out.plus_minus = reading->plus_minus;
  }

  bool thread_text(const std::string& text, Thread& out) {
    const auto number = [](std::string_view digits, double& v) {
      const auto [end, fault] =
          std::from_chars(digits.data(), digits.data() + digits.size(), v, std::chars_format::fixed);
      return fault == std::errc{} && end == digits.data() + digits.size() && v > 0 && v <= 100;
    };
    const auto set = [&](LengthEntry& entry, Length value, const char* unit) {
      entry.present = true;
      entry.origin = usual_;
      entry.value = value;
      entry.unit = unit;
    };
    const std::string_view view = text;
    double first = 0;
    double second = 0;
    if (view.size() > 1 && view.front() == 'M') {
      const auto cross = view.find('x');
      if (cross == std::string_view::npos || !number(view.substr(1, cross - 1), first) ||
          !number(view.substr(cross + 1), second) || second >= first) {
        return false;
      }
      set(out.major, millimetres(first), "mm");
      set(out.pitch, millimetres(second), "mm");
      out.text = text;
      return true;
    }
    // Numbered inch sizes: major diameter 0.060 in + 0.013 in for each number (ASME B1.1), and threads an
    // inch. Read as the lengths they stand for, so that they are exact.
    const auto dash = view.find('-');
    constexpr double kMostNumber = 12;
    if (dash == std::string_view::npos || dash == 0 || view.find('.') != std::string_view::npos) return false;
    const bool zero = view.substr(0, dash) == "0";
    if ((!zero && !number(view.substr(0, dash), first)) || first > kMostNumber ||
        !number(view.substr(dash + 1), second)) {
      return false;
    }
    const auto major = parse_length(fmt::format("0.{:03} in", 60 + 13 * static_cast<int>(first)),
                                    LengthUnit::inch, Sign::positive);
    const auto pitch =
        parse_length(fmt::format("1/{} in", static_cast<int>(second)), LengthUnit::inch, Sign::positive);
    if (!major || !pitch) return false;
    set(out.major, major->value, "in");
    set(out.pitch, pitch->value, "in");
    out.text = text;
    return true;
  }

  Session& session_;
  const Node* node_;
  Where where_;
  Origin usual_;
  std::vector<std::string> names_;
};

/// What documents of each format call it.
constexpr std::array kFormats{
    std::pair(Format::instrument, "hingeline-instrument"),
    std::pair(Format::shop, "hingeline-shop"),
    std::pair(Format::ledger, "hingeline-ledger"),
    std::pair(Format::rig, "hingeline-rig"),
};
const char* name_of(Format format) {
  return std::find_if(kFormats.begin(), kFormats.end(), [&](const auto& f) { return f.first == format; })
      ->second;
}

/// The document's format, when it is among those wanted.
std::optional<Format> format_among(Session& session, const Node& root, const std::vector<Format>& wanted) {
  const Where top{{session.file, "", root.line, root.column}};
  if (root.kind != Kind::object) {
    session.add(Fault::content, top, fmt::format("the document is {}", json::word(root.kind)),
                "an object in { }");
    return std::nullopt;
  }
  std::vector<std::string> names;
  for (const Format format : wanted) names.push_back(fmt::format("\"{}\"", name_of(format)));
  const Node* named = root.find("format");
  if (named == nullptr) {
    session.add(Fault::content, top, "\"format\" is missing", fmt::format("\"format\": {}", listed(names)));
    return std::nullopt;
  }
  if (named->kind == Kind::string) {
    for (const Format format : wanted) {
      if (named->text == name_of(format)) return format;
    }
  }
  session.add(Fault::content, Where{{session.file, json::step("", "format"), named->line, named->column}},
              named->kind == Kind::string ? fmt::format("{} is another format", in_quotes(named->text))
                                          : "not a format's name",
              listed(names));
  return std::nullopt;
}

/// The document's format and version, before anything else: a newer one may have members this program
/// would call wrong.
bool header_fits(Session& session, const Node& root, Format format) {
  if (!format_among(session, root, {format})) return false;
  const Where top{{session.file, "", root.line, root.column}};
  const auto place = [&](const char* name, const Node& node) {
    return Where{{session.file, json::step("", name), node.line, node.column}};
  };
  const Node* version = root.find("version");
  if (version == nullptr) {
    session.add(Fault::content, top, "\"version\" is missing", fmt::format("\"version\": {}", kVersion));
    return false;
  }
  const std::string& digits = version->text;
  const bool whole =
      version->kind == Kind::number && digits.find_first_not_of("0123456789") == std::string::npos;
  if (!whole || digits == "0") {
    session.add(Fault::content, place("version", *version),
                fmt::format("{} is not a version",
                            version->kind == Kind::number ? in_quotes(digits) : json::word(version->kind)),
                fmt::format("a whole number from 1 to {}", kVersion));
    return false;
  }
  int number = 0;
  const auto [end, fault] = std::from_chars(digits.data(), digits.data() + digits.size(), number);
  if (fault != std::errc{} || number > kVersion) {
    session.add(Fault::version, place("version", *version),
                fmt::format("this document is version {}; this program reads up to {}", digits.substr(0, 20),
                            kVersion),
                "a newer program, or a document it wrote for this one");
    return false;
  }
  return true;
}

/// In the order of the text, not more than a person can use.
Errors settled(Errors errors) {
  std::stable_sort(errors.begin(), errors.end(), [](const Error& a, const Error& b) {
    return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
  });
  if (errors.size() > kMostErrors) {
    const std::size_t more = errors.size() - (kMostErrors - 1);
    errors.resize(kMostErrors);
    errors.back().fault = Fault::content;
    errors.back().what = fmt::format("{} more problems from here on", more);
    errors.back().expected.clear();
  }
  return errors;
}

template <class Document>
tl::expected<Document, Errors> read_document(std::string_view text, const std::string& file, Format format) {
  Session session{file, LengthUnit::mm, {}};
  const Node root = json::parse(text, file, session.errors);
  if (!session.errors.empty() || !header_fits(session, root, format))
    return tl::unexpected(settled(std::move(session.errors)));
  if (const Node* units = root.find("units"); units != nullptr && units->text == "inch")
    session.bare = LengthUnit::inch;
  Document document;
  document.file = file;
  In::read(session, &root, Where{{file, "", root.line, root.column}}, Origin::read, document);
  // What is missing or wrong above would contradict the rest of its part as well.
  if (session.errors.empty()) check(document, session.errors);
  if (!session.errors.empty()) return tl::unexpected(settled(std::move(session.errors)));
  return document;
}

/// Ids, and what the slip's kind may name.
void check(const Slip& slip, const SlipHead& head, Session& session) {
  const SlipRule rule = rule_of(head.kind);
  const auto say = [&](const char* member, std::string what, std::string expected) {
    Where where = head.place;
    where.pointer = json::step(where.pointer, member);
    session.add(Fault::content, where, std::move(what), std::move(expected));
  };
  const auto is_id = [&](const char* member, const std::string& text) {
    if (!text.empty() && !is_slip_id(text))
      say(member, fmt::format("{} is not an id", in_quotes(text)), "a UUID of version 7 in small letters");
  };
  is_id("id", slip.id);
  is_id("by", slip.by);
  is_id("of", slip.of);
  is_id("key", slip.key);
  is_id("replaces", slip.replaces);
  const std::string kind = word(head.kind);
  if (slip.of.empty() && rule.of_needed) say("of", fmt::format("a {} belongs to something", kind), "its id");
  if (!slip.of.empty() && rule.of.empty())
    say("of", fmt::format("a {} belongs to nothing", kind), "left out");
  if (slip.key.empty() && rule.key_needed)
    say("key", fmt::format("a {} is about a key", kind), "the key's id");
  if (!slip.key.empty() && !rule.key_allowed)
    say("key", fmt::format("a {} is about no key", kind), "left out");
  if (slip.struck && slip.replaces.empty()) say("struck", "nothing that is struck", "\"replaces\" says what");
  if (slip.replaces == slip.id) say("replaces", "a slip that replaces itself", "the id of an earlier one");
  const bool blank = slip.why.find_first_not_of(" \t\n") == std::string::npos;
  if (!slip.replaces.empty() && blank && (rule.reason_needed || slip.struck))
    say("why", fmt::format("a {} is put right without a reason", kind), "why the old one is wrong");
  if (slip.replaces.empty() && !slip.why.empty()) say("why", "a reason for replacing nothing", "left out");
  if (const auto* photo = std::get_if<PhotoSlip>(&slip.body)) {
    const bool hexadecimal = photo->sha256.find_first_not_of("0123456789abcdef") == std::string::npos;
    if (!photo->sha256.empty() && (photo->sha256.size() != 64 || !hexadecimal))
      session.add(Fault::content, photo->place, "not a SHA-256", "64 hexadecimal digits in small letters");
    if (!photo->type.empty() && photo->type != "image/jpeg" && photo->type != "image/png" &&
        photo->type != "image/webp") {
      session.add(Fault::content, photo->place, fmt::format("{} is no type of photo", in_quotes(photo->type)),
                  "image/jpeg, image/png or image/webp");
    }
  }
}

template <std::size_t At = 0>
void read_body(Session& session, const Node* node, const Where& where, SlipKind kind, SlipBody& out) {
  if constexpr (At < std::variant_size_v<SlipBody>) {
    if (static_cast<std::size_t>(kind) == At)
      return In::read(session, node, where, Origin::read, out.template emplace<At>());
    read_body<At + 1>(session, node, where, kind, out);
  }
}

}  // namespace

tl::expected<Format, Errors> format_of(std::string_view text, const std::string& file) {
  Session session{file, LengthUnit::mm, {}};
  const Node root = json::parse(text, file, session.errors);
  std::optional<Format> found;
  if (session.errors.empty()) {
    std::vector<Format> all;
    for (const auto& [format, name] : kFormats) all.push_back(format);
    found = format_among(session, root, all);
  }
  if (!found) return tl::unexpected(settled(std::move(session.errors)));
  return *found;
}

tl::expected<Slip, Errors> read_slip(std::string_view text, const std::string& file) {
  Session session{file, LengthUnit::mm, {}};
  if (text.size() > kLongestSlip) {
    session.add(Fault::content, {}, fmt::format("a slip of {} bytes", text.size()),
                fmt::format("at most {}", kLongestSlip));
    return tl::unexpected(std::move(session.errors));
  }
  const Node root = json::parse(text, file, session.errors);
  if (!session.errors.empty()) return tl::unexpected(settled(std::move(session.errors)));
  SlipHead head;
  const Where top{{file, "", root.line, root.column}};
  In::read(session, &root, top, Origin::read, head);
  if (!session.errors.empty()) return tl::unexpected(settled(std::move(session.errors)));
  Slip slip{head.id, head.at, head.by, head.of, head.key, head.replaces, head.why, head.struck, {}};
  const Node* body = root.find("body");
  const Where where{{file, "/body", body->line, body->column}};
  read_body(session, body, where, head.kind, slip.body);
  check(slip, head, session);
  if (!session.errors.empty()) return tl::unexpected(settled(std::move(session.errors)));
  return slip;
}

tl::expected<Instrument, Errors> read_instrument(std::string_view text, const std::string& file) {
  return read_document<Instrument>(text, file, Format::instrument);
}
tl::expected<Shop, Errors> read_shop(std::string_view text, const std::string& file) {
  return read_document<Shop>(text, file, Format::shop);
}
tl::expected<Ledger, Errors> read_ledger(std::string_view text, const std::string& file) {
  return read_document<Ledger>(text, file, Format::ledger);
}
tl::expected<Rig, Errors> read_rig(std::string_view text, const std::string& file) {
  return read_document<Rig>(text, file, Format::rig);
}

}  // namespace hingeline::record
