#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "inside.h"

namespace hingeline::desk {
namespace {

/// What the shop document's schema says of each figure it can hold, one by one.
class Leaves {
 public:
  Leaves() : schema_(Json::parse(record::schema_text(record::Format::shop))) {}

  struct Leaf {
    std::string at;  ///< JSON pointer into the shop document
    std::string meaning;
    Json limits;
  };
  [[nodiscard]] std::vector<Leaf> all() const {
    // Tools and patterns are things of their own; what is left is the shop's figures and words.
    static constexpr std::array kMembers{"title",     "note",   "units",   "paper",
                                         "time_zone", "prices", "weights", "presets"};
    std::vector<Leaf> out;
    for (const char* name : kMembers) {
      const auto& properties = schema_.at("properties");
      if (properties.contains(name)) walk(std::string("/") + name, properties.at(name), {}, out);
    }
    return out;
  }

 private:
  [[nodiscard]] const Json& resolved(const Json& node) const {
    const auto reference = node.find("$ref");
    if (reference == node.end()) return node;
    return schema_.at(Json::json_pointer(reference->get<std::string>().substr(1)));
  }

  void walk(const std::string& at, const Json& node, const std::string& above, std::vector<Leaf>& out) const {
    const Json& shape = resolved(node);
    std::string meaning = node.value("description", shape.value("description", std::string()));
    const auto properties = shape.find("properties");
    if (properties == shape.end()) {
      out.push_back({at, above.empty() ? meaning : above + " " + meaning, limits_of(shape)});
      return;
    }
    // Of a group within a group only its own words: the whole chain would say too much.
    const bool named = at.find('/', 1) != std::string::npos;
    for (const auto& item : properties->items())
      walk(at + "/" + item.key(), item.value(), named ? meaning : std::string(), out);
  }

  /// What may stand there: the words of the schema, and its bounds.
  [[nodiscard]] Json limits_of(const Json& shape) const {
    Json out = {{"what", shape.value("description", std::string())}};
    gather(shape, out);
    if (shape.value("type", Json()) == "array") {
      out["what"] = "A list.";
      out["most"] = shape.value("maxItems", 0);
    }
    return out;
  }
  void gather(const Json& shape, Json& out) const {
    static constexpr std::array kBounds{"minimum",          "maximum", "exclusiveMinimum",
                                        "exclusiveMaximum", "enum",    "maxLength"};
    for (const char* bound : kBounds) {
      if (shape.contains(bound) && !out.contains(bound)) out[bound] = shape.at(bound);
    }
    if (shape.contains("anyOf")) {
      // As typed, or as an object: the bounds stand with the object's value.
      for (const Json& way : shape.at("anyOf")) {
        const Json::json_pointer value("/properties/value");
        if (way.contains(value)) gather(way.at(value), out);
      }
    }
  }

  Json schema_;
};

bool within(const std::string& inner, const std::string& outer) {
  return inner == outer || (inner.size() > outer.size() && inner.compare(0, outer.size(), outer) == 0 &&
                            inner[outer.size()] == '/');
}

}  // namespace

Answer<std::string> Desk::settings(const Who& who) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  static const std::vector<Leaves::Leaf> kLeaves = Leaves().all();
  static const Json kGeneral = Json::parse(record::write_shop(service::general_shop()));
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto parts = inside_->shop_parts(**lent);
  if (!parts) return tl::unexpected(parts.error());
  std::set<std::string> set;
  Json shop = Json::object();
  if (*parts) {
    const auto text = record::shop_document(**parts);
    if (!text) return as_trouble(text.error());
    shop = Json::parse(*text);
    for (const record::ThingSlip& t : (*parts)->presets)
      set.insert(std::get<record::PresetSlip>(t.slip.body).at);
  }
  Json out = {{"settings", Json::array()}};
  for (const Leaves::Leaf& leaf : kLeaves) {
    const Json::json_pointer at(leaf.at);
    const Json value = shop.contains(at) ? shop.at(at) : Json();
    const Json general = kGeneral.contains(at) ? kGeneral.at(at) : Json();
    const bool is_set = std::any_of(set.begin(), set.end(), [&](const std::string& s) {
      return within(s, leaf.at) || within(leaf.at, s);
    });
    out["settings"].push_back({{"at", leaf.at},
                               {"meaning", leaf.meaning},
                               {"limits", leaf.limits},
                               {"value", value},
                               {"general", general},
                               {"origin", value.is_null() ? general.is_null() ? "none" : "general"
                                          : is_set        ? "set"
                                                          : "shop"}});
  }
  return text_of(out);
}

}  // namespace hingeline::desk
