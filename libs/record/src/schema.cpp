#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "fields.h"
#include "json.h"
#include "ledger_fields.h"
#include "quantity_text.h"
#include "rig_fields.h"
#include "slip_fields.h"

namespace hingeline::record {
namespace {

using json::Kind;
using json::Node;

using Named = std::vector<std::pair<const char*, Node>>;

void add(Node& node, std::string name, Node value) {
  node.members.push_back(json::Member{std::move(name), 0, 0, std::move(value)});
}
Node make_object(const Named& members) {
  Node node;
  node.kind = Kind::object;
  for (const auto& [name, value] : members) add(node, name, value);
  return node;
}
Node make_list(std::vector<Node> items) {
  Node node;
  node.kind = Kind::array;
  node.items = std::move(items);
  return node;
}
Node make_flag(bool value) {
  Node node;
  node.kind = Kind::boolean;
  node.text = value ? "true" : "false";
  return node;
}
Node make_text(std::string value) { return json::text_node(std::move(value)); }
Node make_number(std::string digits) { return json::number_node(std::move(digits)); }
Node make_type(const char* name) { return make_object({{"type", make_text(name)}}); }
Node refer(const std::string& definition) {
  return make_object({{"$ref", make_text("#/$defs/" + definition)}});
}

/// Visits a description and puts its shape into JSON Schema. Rules that look at two members at once,
/// and the forms numbers are typed in, are the reader's alone; everything the schema refuses, the
/// reader refuses.
class Shape {
 public:
  static constexpr bool kWrites = false;
  using Definitions = std::map<std::string, Node>;

  explicit Shape(Definitions& definitions) : definitions_(definitions) {
    properties_.kind = Kind::object;
    required_.kind = Kind::array;
  }

  template <class T>
  static Node of(Definitions& definitions) {
    Shape shape(definitions);
    T nothing{};
    fields(shape, nothing);
    Node node = make_type("object");
    add(node, "properties", std::move(shape.properties_));
    if (!shape.required_.items.empty()) add(node, "required", std::move(shape.required_));
    add(node, "additionalProperties", make_flag(false));
    return node;
  }

  void header(const char* format) {
    property("format", make_object({{"const", make_text(format)}}), "Which format this document is in.",
             true);
    property("version",
             make_object({{"type", make_text("integer")},
                          {"minimum", make_number("1")},
                          {"maximum", make_number(std::to_string(kVersion))}}),
             "Version of the format.", true);
  }
  void units(const char* name, LengthUnit&, const char* about) {
    property(name, make_object({{"enum", make_list({make_text("mm"), make_text("inch")})}}), about, false);
  }
  void text(const char* name, Text& out, TextRule rule, const char* about) {
    text(name, out.text, rule, about);
  }
  void text(const char* name, std::string&, TextRule rule, const char* about) {
    Node node = make_type("string");
    if (rule != TextRule::free) add(node, "maxLength", make_number(std::to_string(kMostLine)));
    if (rule == TextRule::identifier) add(node, "pattern", make_text("^[a-z0-9-]+$"));
    if (rule == TextRule::name) add(node, "pattern", make_text("[^ \\t\\n]"));
    if (is_day(rule))
      add(node, "pattern", make_text("^(19|[2-9][0-9])[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$"));
    if (rule == TextRule::time_zone) add(node, "pattern", make_text(fmt::format("^$|{}", kZonePattern)));
    if (is_moment(rule)) {
      add(node, "pattern",
          make_text("^(19|[2-9][0-9])[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])[T "
                    "]([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?(Z|[+-](0[0-9]|1[0-4]):[0-5][0-9])$"));
    }
    property(name, std::move(node), about, is_required(rule));
  }
  void flag(const char* name, bool&, const char* about) {
    property(name, make_type("boolean"), about, false);
  }
  /// What it is a piece of says what may stand in it.
  void piece(const char* name, Piece&, const char* about, bool must = false) {
    property(name, make_object({}), about, must);
  }
  template <class E>
  void choice(const char* name, std::optional<E>&, const char* about) {
    property(name, one_of_words<E>(), about, false);
  }
  template <class E>
  void choice(const char* name, E&, const char* about) {
    property(name, one_of_words<E>(), about, true);
  }
  template <class E>
  void choices(const char* name, std::vector<E>&, const char* about) {
    property(
        name,
        make_object(
            {{"type", make_text("array")}, {"items", one_of_words<E>()}, {"uniqueItems", make_flag(true)}}),
        about, false);
  }
  template <class T>
  void object(const char* name, T&, const char* about, bool must = false) {
    property(name, refer(define<T>()), about, must);
  }
  template <class T>
  void maybe(const char* name, std::optional<T>&, const char* about) {
    property(name, refer(define<T>()), about, false);
  }
  template <class T>
  void list(const char* name, std::vector<T>&, const char* about, bool must = false) {
    property(name,
             make_object({{"type", make_text("array")},
                          {"items", refer(define<T>())},
                          {"maxItems", make_number(std::to_string(kMostInList))}}),
             about, must);
  }
  template <class Q>
  void entry(const char* name, Entry<Q>&, Rule rule, const char* about) {
    property(name, refer(define_quantity<Q>(rule)), about, rule.required);
  }
  /// Which of the two it is, another member says: that rule is the reader's.
  void either(const char* name, bool, AngleEntry&, Rule angle_rule, LengthEntry&, Rule length_rule,
              const char* about) {
    property(name,
             make_object({{"anyOf", make_list({refer(define_quantity<Angle>(angle_rule)),
                                               refer(define_quantity<Length>(length_rule))})}}),
             about, angle_rule.required);
  }
  void pairs(const char* name, Pairs&, const char* about) {
    Node pair =
        make_object({{"type", make_text("array")},
                     {"items", make_object({{"type", make_list({make_text("number"), make_text("string")})},
                                            {"minimum", make_number("0")}})},
                     {"minItems", make_number("2")},
                     {"maxItems", make_number("2")}});
    Node values = make_object({{"type", make_text("array")},
                               {"items", std::move(pair)},
                               {"minItems", make_number("2")},
                               {"maxItems", make_number(std::to_string(kMostInList))}});
    definitions_["pairs"] = make_object(
        {{"description", make_text("A profile as pairs of distance and radius, distances not falling.")},
         {"type", make_text("object")},
         {"properties",
          make_object({{"unit", make_object({{"enum", unit_list<Length>(kGap)}})}, {"values", values}})},
         {"required", make_list({make_text("unit"), make_text("values")})},
         {"additionalProperties", make_flag(false)}});
    property(name, refer("pairs"), about, false);
  }
  void amount(const char* name, Amount&, const char* about) {
    definitions_["money"] = make_object(
        {{"description", make_text("An amount in the shop's currency, with at most two decimals.")},
         {"anyOf",
          make_list({make_object({{"type", make_text("string")},
                                  {"pattern", make_text("^[ \\t]*[0-9]+([.,][0-9]{1,2})?[ \\t]*$")}}),
                     make_object({{"type", make_text("number")}, {"minimum", make_number("0")}})})}});
    property(name, refer("money"), about, false);
  }
  void thread(const char* name, Thread&, const char* about) {
    const Node length = refer(define_quantity<Length>(kSize));
    Node typed_form = make_object(
        {{"type", make_text("string")}, {"pattern", make_text("^(M[0-9.]+x[0-9.]+|[0-9]+-[0-9]+)$")}});
    Node measures = make_object({{"type", make_text("object")},
                                 {"properties", make_object({{"pitch", length}, {"major", length}})},
                                 {"required", make_list({make_text("pitch"), make_text("major")})},
                                 {"additionalProperties", make_flag(false)}});
    property(name, make_object({{"anyOf", make_list({std::move(typed_form), std::move(measures)})}}), about,
             false);
  }

 private:
  void property(const char* name, Node shape, const char* about, bool must) {
    std::string title = name;
    std::replace(title.begin(), title.end(), '_', ' ');
    Node node = make_object({{"title", make_text(title)}, {"description", make_text(about)}});
    for (json::Member& member : shape.members) node.members.push_back(std::move(member));
    add(properties_, name, std::move(node));
    if (must) required_.items.push_back(make_text(name));
  }
  template <class E>
  static Node one_of_words() {
    Node words = make_list({});
    for (const E e : Words<E>::all) words.items.push_back(make_text(word(e)));
    return make_object({{"enum", std::move(words)}});
  }
  template <class T>
  std::string define() {
    std::string name = kDefinition<T>;
    if (!definitions_.contains(name)) {
      Node shape = of<T>(definitions_);
      definitions_[name] = std::move(shape);
    }
    return name;
  }
  template <class Q>
  static Node unit_list(const Rule& rule) {
    Node units = make_list({});
    for (const char* unit : units_of<Q>(rule)) units.items.push_back(make_text(unit));
    return units;
  }
  /// Bounds of a number as the rule sets them.
  static void bound(Node& node, const Rule& rule) {
    if (rule.sign == Sign::positive) add(node, "exclusiveMinimum", make_number("0"));
    if (rule.sign == Sign::not_negative) add(node, "minimum", make_number("0"));
  }
  template <class Q>
  static std::string quantity_name(const Rule& rule) {
    std::string name;
    if constexpr (std::is_same_v<Q, Length>) name = "length";
    if constexpr (std::is_same_v<Q, Angle>) name = rule.half_angle ? "half_angle" : "angle";
    if constexpr (std::is_same_v<Q, Temperature>) name = "temperature";
    if constexpr (std::is_same_v<Q, double>) {
      const std::string_view unit = rule.unit;
      if (unit == "1e-6/K") return "expansion";
      name = unit.empty() ? rule.most <= 1 ? "share" : "number" : "number_of_";
      // A name stands in a JSON pointer, where a slash parts.
      for (const char c : unit) name += c == '/' ? std::string("_per_") : std::string(1, c);
      if (rule.sign == Sign::positive) name += "_above_zero";
      if (rule.sign == Sign::any) name += "_of_either_sign";
      if (rule.range) name += "_range";
      if (rule.most > 1 && rule.most != Rule{}.most) name += fmt::format("_to_{:g}", rule.most);
      return name;
    }
    if (rule.sign == Sign::positive && !rule.half_angle) name += "_above_zero";
    if (rule.sign == Sign::not_negative) name += "_not_below_zero";
    if (rule.range) name += "_range";
    return name;
  }

  template <class Q>
  std::string define_quantity(const Rule& rule) {
    std::string name = quantity_name<Q>(rule);
    if (definitions_.contains(name)) return name;
    const Node units = unit_list<Q>(rule);
    Node number_or_text = make_object({{"type", make_list({make_text("number"), make_text("string")})}});
    bound(number_or_text, rule);
    Node unit = make_object({{"enum", units}});

    Node unknown_properties = make_object(
        {{"origin", make_object({{"const", make_text("unknown")}})},
         {"between", make_object({{"description", make_text("The range it must lie in: [low, high].")},
                                  {"type", make_text("array")},
                                  {"items", number_or_text},
                                  {"minItems", make_number("2")},
                                  {"maxItems", make_number("2")}})},
         {"meaning", make_type("string")}});
    if (!units.items.empty()) add(unknown_properties, "unit", unit);
    Node unknown =
        make_object({{"description", make_text("Not known; only the range it must lie in.")},
                     {"type", make_text("object")},
                     {"properties", std::move(unknown_properties)},
                     {"required", rule.range ? make_list({make_text("origin"), make_text("between")})
                                             : make_list({make_text("origin")})},
                     {"additionalProperties", make_flag(false)}});
    if (rule.range) {
      unknown.members.front().value = make_text("The range it must lie in when it is not known.");
      definitions_[name] = std::move(unknown);
      return name;
    }

    Node known_properties = make_object(
        {{"value", number_or_text},
         {"plus_minus",
          make_object({{"description", make_text("Expanded uncertainty, k = 2, in the value's unit.")},
                       {"type", make_list({make_text("number"), make_text("string")})},
                       {"minimum", make_number("0")}})},
         {"origin",
          make_object({{"enum", make_list({make_text("read"), make_text("pattern"), make_text("preset")})}})},
         {"repeats",
          make_object({{"description", make_text("Single readings; without a value, their mean is it.")},
                       {"type", make_text("array")},
                       {"items", number_or_text},
                       {"minItems", make_number("1")},
                       {"maxItems", make_number(std::to_string(kMostInList))}})},
         {"with",
          make_object({{"description", make_text("The measuring instrument's name in the shop document.")},
                       {"type", make_text("string")},
                       {"maxLength", make_number(std::to_string(kMostLine))}})},
         {"meaning", make_type("string")}});
    if (!units.items.empty()) add(known_properties, "unit", unit);
    Node known =
        make_object({{"description", make_text("A value with its unit and where it came from.")},
                     {"type", make_text("object")},
                     {"properties", std::move(known_properties)},
                     {"anyOf", make_list({make_object({{"required", make_list({make_text("value")})}}),
                                          make_object({{"required", make_list({make_text("repeats")})}})})},
                     {"additionalProperties", make_flag(false)}});
    if (!units.items.empty()) {
      add(known, "if",
          make_object({{"properties", make_object({{"value", make_type("number")}})},
                       {"required", make_list({make_text("value")})}}));
      add(known, "then", make_object({{"required", make_list({make_text("unit")})}}));
    }
    std::string forms = KindOf<Q>::forms;
    if (rule.half_angle) forms = "20 deg, 12°30', 1:10";
    if (std::is_same_v<Q, double>) forms = rule.unit[0] == '\0' ? "0.5" : fmt::format("4 {}", rule.unit);
    Node as_typed = make_object(
        {{"description",
          make_text(fmt::format("As typed at the bench, with ± when known: {}; or ? when it is not known.",
                                forms))},
         {"type", make_text("string")},
         {"pattern", make_text("^\\?$|[0-9]")}});
    Node ways = make_list({std::move(as_typed), std::move(known), std::move(unknown)});
    if (std::is_same_v<Q, double> && units.items.empty()) {
      Node plain = make_type("number");
      bound(plain, rule);
      add(plain, "maximum", make_number(fmt::format("{:g}", rule.most)));
      ways.items.push_back(std::move(plain));
    }
    const char* bounds = rule.half_angle                   ? ", above 0 and below 90 degrees"
                         : rule.sign == Sign::positive     ? ", above 0"
                         : rule.sign == Sign::not_negative ? ", not below 0"
                                                           : "";
    definitions_[name] =
        make_object({{"description", make_text(fmt::format("{}{}.", KindOf<Q>::name, bounds))},
                     {"anyOf", std::move(ways)}});
    std::string& about = definitions_[name].members.front().value.text;
    about.front() = 'A';
    return name;
  }

  Definitions& definitions_;
  Node properties_;
  Node required_;
};

template <class Document>
Node root_of(const char* title, const char* about, Shape::Definitions& definitions) {
  Node body = Shape::of<Document>(definitions);
  Node root = make_object({{"$schema", make_text("https://json-schema.org/draft/2020-12/schema")},
                           {"title", make_text(title)},
                           {"description", make_text(about)}});
  for (json::Member& member : body.members) root.members.push_back(std::move(member));
  return root;
}
std::string finished(Node root, Shape::Definitions definitions) {
  Node defs = make_object({});
  for (auto& [name, node] : definitions) add(defs, name, std::move(node));
  add(root, "$defs", std::move(defs));
  return json::print(root);
}

template <class Document>
std::string schema_of(const char* title, const char* about) {
  Shape::Definitions definitions;
  Node root = root_of<Document>(title, about, definitions);
  return finished(std::move(root), std::move(definitions));
}

/// What only a slip of this kind may hold, as a rule of the slip's schema. A member left empty is one left
/// out.
template <class Body>
Node rule_for(SlipKind kind, Shape::Definitions& definitions) {
  const std::string name = word(kind);
  const SlipRule rule = rule_of(kind);
  definitions[name] = Shape::of<Body>(definitions);
  const Node nothing = make_object({{"const", make_text("")}});
  Node properties = make_object({{"body", refer(name)}});
  if (rule.of.empty()) add(properties, "of", nothing);
  if (!rule.key_allowed) add(properties, "key", nothing);
  Node required = make_list({});
  if (rule.of_needed) required.items.push_back(make_text("of"));
  if (rule.key_needed) required.items.push_back(make_text("key"));
  Node then = make_object({{"properties", std::move(properties)}});
  if (!required.items.empty()) add(then, "required", std::move(required));
  const Node is_kind =
      make_object({{"properties", make_object({{"kind", make_object({{"const", make_text(name)}})}})}});
  return make_object({{"if", is_kind}, {"then", std::move(then)}});
}
template <std::size_t... At>
Node rules_for(std::index_sequence<At...>, Shape::Definitions& definitions) {
  return make_list({rule_for<std::variant_alternative_t<At, SlipBody>>(kSlipKinds.at(At), definitions)...});
}

Node& member_of(Node& object, std::string_view name) {
  return std::find_if(object.members.begin(), object.members.end(),
                      [&](const json::Member& m) { return m.name == name; })
      ->value;
}

std::string slip_schema() {
  Shape::Definitions definitions;
  Node root = root_of<SlipHead>("Hingeline slip, version 1",
                                "One entry of a shop's book: what one person wrote at one moment. A slip is "
                                "never changed; a later one may "
                                "take its place and says why.",
                                definitions);
  // RFC 9562: a UUID of version 7, in small letters.
  const std::string id = "^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$";
  for (const std::string_view pointer : {"id", "by", "of", "key", "replaces"}) {
    const bool must = pointer == "id";
    add(member_of(member_of(root, "properties"), pointer), "pattern", make_text(must ? id : "^$|" + id));
  }
  add(root, "allOf", rules_for(std::make_index_sequence<std::variant_size_v<SlipBody>>(), definitions));
  return finished(std::move(root), std::move(definitions));
}

}  // namespace

std::string_view slip_schema_text() {
  static const std::string kText = slip_schema();
  return kText;
}

std::string_view schema_text(Format format) {
  static const std::string instrument =
      schema_of<Instrument>("Hingeline instrument document, version 1",
                            "An instrument's keys as the bench read them. Every quantity has a unit and may "
                            "have an uncertainty (expanded, "
                            "k = 2) and an origin: read, pattern, preset or unknown.");
  static const std::string shop =
      schema_of<Shop>("Hingeline shop document, version 1",
                      "A workshop's tools, screw patterns, measuring instruments and general figures.");
  static const std::string ledger = schema_of<Ledger>(
      "Hingeline ledger document, version 1",
      "A workshop's finished jobs: what was found, how far each cut went, how long the work "
      "took. What is learned is learned from these.");
  static const std::string rig = schema_of<Rig>(
      "Hingeline rig document, version 1",
      "An endurance rig: the keys that run on it, when it ran and how fast, and what was found on them.");
  switch (format) {
    case Format::instrument:
      return instrument;
    case Format::shop:
      return shop;
    case Format::ledger:
      return ledger;
    case Format::rig:
      break;
  }
  return rig;
}

}  // namespace hingeline::record
