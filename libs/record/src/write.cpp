#include <fmt/format.h>

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

/// Visits a description and puts what is there into an object. What is absent is left out.
class Out {
 public:
  static constexpr bool kWrites = true;

  explicit Out(Origin usual) : usual_(usual) { object_.kind = Kind::object; }
  [[nodiscard]] Node take() { return std::move(object_); }

  template <class T>
  static Node written(const T& value, Origin usual) {
    Out out(usual);
    fields(out, value);
    return out.take();
  }

  void header(const char* format) {
    add("format", json::text_node(format));
    add("version", json::number_node(std::to_string(kVersion)));
  }
  void units(const char* name, LengthUnit unit, const char*) {
    add(name, json::text_node(unit == LengthUnit::inch ? "inch" : "mm"));
  }
  void text(const char* name, const Text& value, TextRule rule, const char* about) {
    text(name, value.text, rule, about);
  }
  void text(const char* name, const std::string& value, TextRule, const char*) {
    if (!value.empty()) add(name, json::text_node(value));
  }
  void flag(const char* name, bool value, const char*) {
    if (!value) return;
    Node node;
    node.kind = Kind::boolean;
    node.text = "true";
    add(name, std::move(node));
  }
  void piece(const char* name, const Piece& value, const char*, bool = false) {
    Errors errors;
    if (!value.empty()) add(name, json::parse(value.json, "", errors));
  }
  template <class E>
  void choice(const char* name, const std::optional<E>& value, const char*) {
    if (value) add(name, json::text_node(word(*value)));
  }
  template <class E>
  void choice(const char* name, E value, const char*) {
    add(name, json::text_node(word(value)));
  }
  template <class E>
  void choices(const char* name, const std::vector<E>& values, const char*) {
    if (values.empty()) return;
    Node list = empty_list();
    for (const E value : values) list.items.push_back(json::text_node(word(value)));
    add(name, std::move(list));
  }
  template <class T>
  void object(const char* name, const T& value, const char*, bool must = false) {
    Node node = written(value, usual_for<T>());
    if (must || !node.members.empty()) add(name, std::move(node));
  }
  template <class T>
  void maybe(const char* name, const std::optional<T>& value, const char*) {
    if (value) add(name, written(*value, usual_for<T>()));
  }
  template <class T>
  void list(const char* name, const std::vector<T>& values, const char*, bool must = false) {
    if (values.empty() && !must) return;
    Node list = empty_list();
    for (const T& value : values) list.items.push_back(written(value, usual_for<T>()));
    add(name, std::move(list));
  }
  template <class Q>
  void entry(const char* name, const Entry<Q>& value, Rule rule, const char*) {
    if (value.present) add(name, written_entry(value, rule));
  }

  void either(const char* name, bool is_angle, const AngleEntry& angle, Rule angle_rule,
              const LengthEntry& length, Rule length_rule, const char* about) {
    if (is_angle) return entry(name, angle, angle_rule, about);
    entry(name, length, length_rule, about);
  }

  void pairs(const char* name, const Pairs& value, const char*) {
    if (value.absent()) return;
    std::string unit = value.unit.empty() ? "mm" : value.unit;
    const auto all_fit = [&] {
      for (const Pair& pair : value.pairs) {
        if (!digits_in(pair.along, unit, kGap) || !digits_in(pair.radius, unit, kGap)) return false;
      }
      return true;
    };
    if (!all_fit()) unit = "mm";
    Node list = empty_list();
    for (const Pair& pair : value.pairs) {
      Node both = empty_list();
      both.items.push_back(digits_node(digits_for(pair.along, unit, kGap)));
      both.items.push_back(digits_node(digits_for(pair.radius, unit, kGap)));
      list.items.push_back(std::move(both));
    }
    Out out(usual_);
    out.add("unit", json::text_node(unit));
    out.add("values", std::move(list));
    add(name, out.take());
  }
  void amount(const char* name, const Amount& value, const char*) {
    if (value.present) add(name, json::text_node(show_money(value.money)));
  }
  void thread(const char* name, const Thread& value, const char*) {
    if (!value.text.empty()) {
      add(name, json::text_node(value.text));
    } else if (!value.absent()) {
      Out out(usual_);
      out.entry("pitch", value.pitch, kSize, "");
      out.entry("major", value.major, kSize, "");
      add(name, out.take());
    }
  }

 private:
  void add(const char* name, Node value) {
    object_.members.push_back(json::Member{name, 0, 0, std::move(value)});
  }
  static Node empty_list() {
    Node node;
    node.kind = Kind::array;
    return node;
  }
  template <class T>
  [[nodiscard]] Origin usual_for() const {
    if constexpr (std::is_same_v<T, Pattern>) return Origin::pattern;
    if constexpr (std::is_same_v<T, Presets>) return Origin::preset;
    return usual_;
  }

  /// Whether the value follows from the repeats, so that it need not be written.
  template <class Q>
  static bool is_mean(const Entry<Q>& value) {
    return !value.repeats.empty() && value.value == mean_of(value.repeats);
  }
  /// The unit everything in the entry can be said in exactly: the one it was typed in, else that of
  /// the inner value.
  template <class Q>
  static std::string unit_for(const Entry<Q>& value, const Rule& rule) {
    if (std::is_same_v<Q, double>) return rule.unit;
    const auto fits = [&](const std::string& unit) {
      const bool range_fits = !value.range || (digits_in(value.range->low, unit, rule) &&
                                               digits_in(value.range->high, unit, rule));
      bool repeats_fit = true;
      for (const Q& repeat : value.repeats) repeats_fit = repeats_fit && digits_in(repeat, unit, rule);
      const bool value_fits =
          !value.known() || is_mean(value) || digits_in(value.value, unit, rule).has_value();
      return range_fits && repeats_fit && value_fits;
    };
    return !value.unit.empty() && fits(value.unit) ? value.unit : std::string(KindOf<Q>::inner_unit);
  }
  /// The digits in the unit. What no document may hold is put down in the inner unit, unit_for()'s last
  /// resort, so that reading refuses it instead of taking another number.
  template <class Q>
  static std::string digits_for(Q q, const std::string& unit, const Rule& rule) {
    return digits_in(q, unit, rule).value_or(fmt::format("{:.17g}", inner(q)));
  }
  /// A number as a number when its digits are one, else as text (a taper, another unit).
  static Node digits_node(std::string digits) {
    const bool plain = digits.find_first_not_of("0123456789.-") == std::string::npos;
    return plain ? json::number_node(std::move(digits)) : json::text_node(std::move(digits));
  }
  template <class Q>
  Node written_entry(const Entry<Q>& value, const Rule& rule) const {
    const std::string unit = unit_for(value, rule);
    const auto digits = [&](Q q) { return digits_for(q, unit, rule); };
    const bool nothing_else = value.repeats.empty() && value.with.empty() && value.meaning.empty();
    const bool known = value.origin != Origin::unknown;
    if (!known && !value.range && nothing_else && value.unit.empty()) return json::text_node("?");
    std::string plus_minus;
    if (value.plus_minus) plus_minus = uncertainty_text(*value.plus_minus, unit, rule);
    // A plain number with a unit of its own is easier on the eye as members.
    if (value.origin == usual_ && nothing_else && !std::is_same_v<Q, double>) {
      std::string text = typed(digits(value.value), unit);
      if (!plus_minus.empty()) text += " ± " + plus_minus;
      // Both with all their digits may be longer than a reading may be.
      if (parse_typed<Q>(text, rule, LengthUnit::mm)) return json::text_node(std::move(text));
    }
    if (value.origin == usual_ && nothing_else && unit.empty() && plus_minus.empty())
      return digits_node(digits(value.value));
    Out out(usual_);
    if (known && !is_mean(value)) out.add("value", digits_node(digits(value.value)));
    if (!known) out.add("origin", json::text_node(word(value.origin)));
    if (value.range) {
      Node between = empty_list();
      between.items.push_back(digits_node(digits(value.range->low)));
      between.items.push_back(digits_node(digits(value.range->high)));
      out.add("between", std::move(between));
    }
    if (!unit.empty() && (known || value.range || !value.unit.empty()))
      out.add("unit", json::text_node(unit));
    if (!plus_minus.empty()) out.add("plus_minus", digits_node(plus_minus));
    if (known && value.origin != usual_) out.add("origin", json::text_node(word(value.origin)));
    if (!value.repeats.empty()) {
      Node repeats = empty_list();
      for (const Q& repeat : value.repeats) repeats.items.push_back(digits_node(digits(repeat)));
      out.add("repeats", std::move(repeats));
    }
    if (!value.with.empty()) out.add("with", json::text_node(value.with));
    if (!value.meaning.empty()) out.add("meaning", json::text_node(value.meaning));
    return out.take();
  }

  Origin usual_;
  Node object_;
};

}  // namespace

std::string write_instrument(const Instrument& instrument) {
  return json::print(Out::written(instrument, Origin::read));
}
std::string write_shop(const Shop& shop) { return json::print(Out::written(shop, Origin::read)); }
std::string write_ledger(const Ledger& ledger) { return json::print(Out::written(ledger, Origin::read)); }
std::string write_rig(const Rig& rig) { return json::print(Out::written(rig, Origin::read)); }

std::string write_slip(const Slip& slip) {
  SlipHead head{slip.id,       slip.kind(), slip.at,     slip.by, slip.of, slip.key,
                slip.replaces, slip.why,    slip.struck, {},      {}};
  Node node = Out::written(head, Origin::read);
  Node body = std::visit([](const auto& b) { return Out::written(b, Origin::read); }, slip.body);
  node.members.push_back(json::Member{"body", 0, 0, std::move(body)});
  return json::print_line(node);
}

}  // namespace hingeline::record
