#include "hingeline/base/reading.h"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <utility>

#include "characters.h"
#include "decimal.h"
#include "units.h"

namespace hingeline {
namespace {

using decimal::Decimal;
using units::Kind;
using units::Scale;
using units::Unit;

constexpr int kWidestRatioDigits = 4;  // of p and q in p/q
constexpr int kWidestWholeDigits = 6;  // of w in w p/q
constexpr double kAbsoluteZero = -273.15;

/// The digits of a number known to have at most 18.
std::uint64_t small_number(const Decimal& number) {
  std::uint64_t value = 0;
  std::from_chars(number.digits.data(), number.digits.data() + number.digits.size(), value);
  return value;
}

/// What a place takes besides a decimal number and its units.
struct Grammar {
  Kind kind = Kind::number;
  bool fractions = false;
  bool tapers = false;
  const Unit* bare = &units::kNone;
  std::string_view forms;  ///< two or three that would be right
};

/// A number with its unit, as typed.
struct Amount {
  Decimal number;                    ///< of a taper: a in a:b; of a fraction: over `divisor`
  std::uint64_t divisor = 1;         ///< q of a fraction p/q
  std::optional<Decimal> taper_run;  ///< b in a:b
  const Unit* unit = nullptr;        ///< null: none was typed
  bool fraction = false;
  std::size_t start = 0;
  std::size_t unit_at = 0;
  std::optional<std::size_t> sign_at;
};

struct Typed {
  Amount value;
  std::optional<Amount> plus_minus;
};

/// Reads typed text once, from left to right. The functions that return bool return false when they have
/// set the error.
class Reader {
 public:
  Reader(std::u32string_view text, const Grammar& grammar) : text_(text), grammar_(grammar) {}

  Expected<Typed> read() {
    Typed typed;
    if (!all(typed)) return tl::unexpected<Error>(std::move(error_));
    return typed;
  }

 private:
  enum class Angular { degree, minute, second };

  bool all(Typed& typed) {
    skip_blanks();
    if (at_end()) return refuse(0, text_.empty() ? "nothing was typed" : "only blanks were typed");
    if (plus_minus_length() > 0) return refuse(at_, "the value before ± is missing");
    if (!amount(typed.value)) return false;
    skip_blanks();
    if (const std::size_t length = plus_minus_length(); length > 0) {
      at_ += length;
      skip_blanks();
      if (at_end()) return refuse(at_, "the number after ± is missing");
      Amount spread;
      if (!amount(spread)) return false;
      if (spread.sign_at) return refuse(*spread.sign_at, "the number after ± has a sign; it takes none");
      typed.plus_minus = std::move(spread);
      skip_blanks();
    }
    if (at_end()) return true;
    if (plus_minus_length() > 0) return refuse(at_, "a second ±");
    if (characters::is_digit(now())) return refuse(at_, "a second number " + here());
    return refuse(at_, "text that does not belong to the reading, " + here() + ",");
  }

  bool amount(Amount& out) {
    out.start = at_;
    bool whole = false;
    if (!number(out, whole)) return false;
    if (grammar_.kind == Kind::angle) {
      const std::size_t after_number = at_;
      skip_blanks();
      if (is_angular_mark() && !is_temperature_mark()) return sexagesimal(out, whole);
      at_ = after_number;
    }
    if (!ratio(out, whole)) return false;
    if (out.taper_run) return true;
    return unit(out);
  }

  /// A decimal number with its sign. `whole`: without mark and exponent.
  bool number(Amount& out, bool& whole) {
    if (characters::is_minus(now()) || now() == U'+') {
      out.sign_at = at_;
      out.number.negative = characters::is_minus(now());
      ++at_;
    }
    std::string digits;
    take_digits(digits);
    int exponent = 0;
    whole = true;
    if (is_decimal_mark(now())) {
      const std::size_t mark = at_++;
      whole = false;
      const std::size_t before = digits.size();
      take_digits(digits);
      exponent = -static_cast<int>(digits.size() - before);
      if (digits.empty())
        return refuse(mark, "a number is missing: there are no digits round " + quoted(mark));
      if (exponent == 0) return refuse(at_, "digits are missing after the decimal mark");
    }
    if (digits.empty()) return no_number();
    if (!number_ends_well(digits, whole)) return false;
    if (characters::lower(now()) == U'e' && !power_of_ten(whole, exponent)) return false;
    const bool negative = out.number.negative;
    out.number = decimal::from_digits(digits, exponent);
    out.number.negative = negative && !out.number.is_zero();
    return true;
  }

  bool no_number() {
    std::u32string word;
    for (std::size_t i = at_; i < text_.size() && is_letter(text_[i]); ++i)
      word += characters::lower(text_[i]);
    if (word == U"nan") return refuse(at_, here() + " is not a number");
    if (word == U"inf" || word == U"infinity" || word.substr(0, 1) == U"\u221E")
      return refuse(at_, here() + " is not a finite number");
    return refuse(at_, "a number is missing: found " + here());
  }

  /// What may not follow a number's digits, where the right reading of it would be a guess.
  bool number_ends_well(const std::string& digits, bool whole) {
    const bool digit_next = at_ + 1 < text_.size() && characters::is_digit(text_[at_ + 1]);
    if (is_decimal_mark(now())) {
      return refuse(at_, "a second decimal mark or a mark between groups of digits " + here(),
                    "one decimal point or decimal comma, and no marks between groups of digits");
    }
    const bool group_mark =
        now() == U'_' || (grammar_.kind != Kind::angle && characters::is_single_mark(now()));
    if (group_mark && digit_next) {
      return refuse(at_, "a mark between groups of digits " + here(), "no marks between groups of digits");
    }
    if (whole && digits == "0" && characters::lower(now()) == U'x')
      return refuse(at_ - 1, "hexadecimal numbers are not read: " + quoted(at_ - 1));
    return true;
  }

  bool power_of_ten(bool& whole, int& exponent) {
    whole = false;
    const std::size_t letter = at_++;
    const bool negative = characters::is_minus(now());
    if (negative || now() == U'+') ++at_;
    std::string digits;
    take_digits(digits);
    if (digits.empty()) return refuse(at_, "digits are missing after the exponent's " + quoted(letter, 1));
    if (is_decimal_mark(now())) return refuse(at_, "an exponent is a whole number: found " + here());
    // Any number that fits in a reading is too large or too small by then.
    constexpr int kMostPower = 500;
    int power = kMostPower;
    const auto [end, fault] = std::from_chars(digits.data(), digits.data() + digits.size(), power);
    if (fault != std::errc{} || power > kMostPower) power = kMostPower;
    exponent += negative ? -power : power;
    return true;
  }

  /// p/q, w p/q, w-p/q or a:b after the first number, where there is one.
  bool ratio(Amount& out, bool whole) {
    const std::size_t after_number = at_;
    skip_blanks();
    if (characters::is_slash(now())) return fraction(out, whole, out.start, 0);
    if (characters::is_colon(now())) return taper(out);
    std::size_t part = at_;
    const bool joined = at_ == after_number && characters::is_minus(now());
    if (joined) ++part;
    if ((at_ > after_number || joined) && grammar_.fractions && numerator_at(part)) {
      if (!whole) return refuse(out.start, "the number before a fraction is not whole: " + quoted(out.start));
      const std::uint64_t wholes = small_number(out.number);
      if (out.number.digits.size() > kWidestWholeDigits)
        return refuse(out.start, "the number before a fraction has too many digits: " + quoted(out.start));
      at_ = part;
      std::string numerator;
      take_digits(numerator);
      const bool negative = out.sign_at && characters::is_minus(text_[*out.sign_at]);
      out.number = decimal::from_digits(numerator, 0);
      out.number.negative = negative;
      skip_blanks();
      return fraction(out, true, part, wholes);
    }
    return true;
  }

  /// Digits and then a slash?
  [[nodiscard]] bool numerator_at(std::size_t i) const {
    const std::size_t first = i;
    while (i < text_.size() && characters::is_digit(text_[i])) ++i;
    if (i == first) return false;
    while (i < text_.size() && characters::is_blank(text_[i])) ++i;
    return i < text_.size() && characters::is_slash(text_[i]);
  }

  /// From the slash on; `out.number` is the numerator, `wholes` what stands before it.
  bool fraction(Amount& out, bool whole, std::size_t numerator_at, std::uint64_t wholes) {
    const bool mixed = numerator_at != out.start;
    if (!grammar_.fractions) {
      return grammar_.tapers
                 ? refuse(at_, "a fraction is no angle: found " + here(), "a taper with a colon, as 1:10")
                 : refuse(at_, "a fraction can't be used here: found " + here());
    }
    if (!whole) return refuse(out.start, "a fraction's numerator is not whole: " + quoted(out.start));
    if (out.number.digits.size() > kWidestRatioDigits)
      return refuse(numerator_at, "a fraction's numerator has more than 4 digits: " + quoted(numerator_at));
    ++at_;
    skip_blanks();
    const std::size_t denominator_at = at_;
    std::string denominator;
    take_digits(denominator);
    if (denominator.empty()) return refuse(at_, "a fraction's denominator is missing: found " + here());
    if (is_decimal_mark(now())) return refuse(at_, "a fraction's denominator is not whole: found " + here());
    const Decimal q = decimal::from_digits(denominator, 0);
    if (q.is_zero()) return refuse(denominator_at, "a fraction's denominator is zero");
    if (q.digits.size() > kWidestRatioDigits) {
      return refuse(denominator_at,
                    "a fraction's denominator has more than 4 digits: " + quoted(denominator_at));
    }
    out.fraction = true;
    out.divisor = small_number(q);
    const std::uint64_t p = small_number(out.number);
    if (mixed && p >= out.divisor)
      return refuse(numerator_at,
                    "a fraction after a whole number is not less than one: " + quoted(numerator_at));
    const bool negative = out.number.negative;
    out.number = decimal::from_whole(wholes * out.divisor + p);
    out.number.negative = negative && !out.number.is_zero();
    return true;
  }

  bool taper(Amount& out) {
    if (!grammar_.tapers) return refuse(at_, "a ratio can't be used here: found " + here());
    if (out.sign_at) return refuse(*out.sign_at, "a taper takes no sign: found " + quoted(*out.sign_at));
    if (!taper_part(out, "first")) return false;
    ++at_;
    skip_blanks();
    Amount run;
    run.start = at_;
    bool whole = false;
    if (!number(run, whole)) return false;
    if (run.sign_at) return refuse(*run.sign_at, "a taper takes no sign: found " + quoted(*run.sign_at));
    if (!taper_part(run, "second")) return false;
    out.taper_run = run.number;
    return true;
  }

  /// Each number of a taper must be a double of its own, or their ratio is none.
  bool taper_part(const Amount& part, std::string_view which) {
    const double value = decimal::nearest_double(part.number);
    if (value > 0 && std::isfinite(value)) return true;
    const char* is = part.number.is_zero() ? "zero" : value > 0 ? "too large" : "too small to tell from zero";
    return refuse(part.start, fmt::format("a taper's {} number is {}", which, is), {}, Fault::content);
  }

  /// Degrees, minutes and seconds from the first mark on; `out.number` is what stands before it.
  bool sexagesimal(Amount& out, bool whole) {
    // The typed sign, not the number's: the first part may be zero.
    const bool negative = out.sign_at && characters::is_minus(text_[*out.sign_at]);
    Decimal seconds;
    Angular last = take_angular_mark();
    out.unit_at = at_ - 1;
    out.unit = last == Angular::degree ? &units::kDegree : &units::kArcSecond;
    Decimal part = std::exchange(out.number, {});
    part.negative = false;
    const Angular first = last;
    std::size_t part_at = out.start;
    for (bool compound = false;; compound = true) {
      constexpr std::uint64_t kSixty = 60;
      if (compound && decimal::nearest_double(part) >= static_cast<double>(kSixty)) {
        return refuse(part_at,
                      fmt::format("{} after {} are not less than 60: {}",
                                  last == Angular::minute ? "minutes" : "seconds",
                                  last == Angular::minute ? "degrees" : "the rest", quoted(part_at)));
      }
      const std::uint64_t in_seconds =
          last == Angular::degree ? kSixty * kSixty : (last == Angular::minute ? kSixty : 1);
      seconds = decimal::plus(seconds, decimal::times(part, in_seconds));
      const std::size_t after_mark = at_;
      skip_blanks();
      if (last == Angular::second || !characters::is_digit(now())) {
        at_ = after_mark;
        break;
      }
      if (!whole) return refuse(part_at, "a part before a smaller one is not whole: " + quoted(part_at));
      Amount next;
      part_at = at_;
      if (!number(next, whole)) return false;
      skip_blanks();
      if (!is_angular_mark())
        return refuse(at_, "the mark for minutes or seconds is missing: found " + here());
      const std::size_t mark = at_;
      const Angular rank = take_angular_mark();
      if (rank <= last)
        return refuse(mark, "degrees, minutes and seconds are out of order: found " + quoted(mark));
      last = rank;
      part = next.number;
      out.unit = &units::kArcSecond;
    }
    // One part in degrees stays as typed; the rest is a number of seconds.
    out.number = first == Angular::degree && out.unit == &units::kDegree ? part : seconds;
    out.number.negative = negative && !out.number.is_zero();
    return no_second_unit();
  }

  [[nodiscard]] bool is_angular_mark() const {
    return characters::is_degree_mark(now()) || characters::is_single_mark(now()) ||
           characters::is_double_mark(now());
  }
  /// A degree mark with a letter behind it, as in °C: for unit() to name.
  [[nodiscard]] bool is_temperature_mark() const {
    std::size_t next = at_ + 1;
    while (next < text_.size() && characters::is_blank(text_[next])) ++next;
    return characters::is_degree_mark(now()) && next < text_.size() && is_letter(text_[next]);
  }
  Angular take_angular_mark() {
    const char32_t mark = text_[at_++];
    if (characters::is_degree_mark(mark)) return Angular::degree;
    if (characters::is_double_mark(mark)) return Angular::second;
    if (!characters::is_single_mark(now())) return Angular::minute;
    ++at_;
    return Angular::second;
  }

  /// The unit after a number, where there is one.
  bool unit(Amount& out) {
    skip_blanks();
    out.unit_at = at_;
    if (at_end() || plus_minus_length() > 0) return true;
    if (characters::is_degree_mark(now())) return degree_mark(out);
    if (characters::is_double_mark(now()) || characters::is_single_mark(now())) return inch_mark(out);
    if (!is_letter(now())) return true;
    const std::u32string word = take_word();
    const units::Word found = units::look_up(word);
    if (found.unit == nullptr) {
      if (found.refused_because.empty())
        return refuse(out.unit_at, quoted(out.unit_at) + " is not a unit known here");
      return refuse(out.unit_at, fmt::format("{} {}", quoted(out.unit_at), found.refused_because),
                    std::string(found.hint));
    }
    return take_unit(out, *found.unit);
  }

  bool take_unit(Amount& out, const Unit& unit) {
    if (grammar_.kind == Kind::number)
      return refuse(out.unit_at, "a plain number takes no unit: found " + quoted(out.unit_at), {},
                    Fault::content);
    if (unit.kind != grammar_.kind) {
      return refuse(out.unit_at,
                    fmt::format("{} is a unit of {}, not of {},", quoted(out.unit_at), units::name(unit.kind),
                                units::name(grammar_.kind)),
                    {}, Fault::content);
    }
    if (out.fraction && grammar_.kind == Kind::length && &unit != &units::kInch)
      return refuse(out.unit_at, "a fraction is of an inch: found " + quoted(out.unit_at));
    out.unit = &unit;
    return no_second_unit();
  }

  bool no_second_unit() {
    skip_blanks();
    if (is_letter(now()) || is_angular_mark()) return refuse(at_, "a second unit " + here());
    return true;
  }

  bool degree_mark(Amount& out) {
    ++at_;
    const std::size_t after_mark = at_;
    skip_blanks();
    if (is_letter(now())) {
      const units::Word found = units::look_up(take_word());
      for (const Unit* scale : {&units::kCelsius, &units::kFahrenheit, &units::kKelvin})
        if (found.unit == scale) return take_unit(out, *scale);
    }
    at_ = after_mark;
    if (grammar_.kind != Kind::temperature) return take_unit(out, units::kDegree);
    return refuse(out.unit_at, "the scale after the degree mark is missing: found " + quoted(out.unit_at),
                  "°C or °F");
  }

  bool inch_mark(Amount& out) {
    const bool is_double = characters::is_double_mark(now());
    ++at_;
    if (!is_double) {
      if (!characters::is_single_mark(now())) {
        return refuse(out.unit_at, quoted(out.unit_at) + " is the mark of feet or minutes",
                      "two marks for inches, as 5/32\"");
      }
      ++at_;
    }
    return take_unit(out, units::kInch);
  }

  std::u32string take_word() {
    std::u32string word;
    while (is_letter(now())) word += text_[at_++];
    if (now() == U'.' && word.size() == 2 && characters::lower(word[0]) == U'i' &&
        characters::lower(word[1]) == U'n') {
      word += text_[at_++];
    }
    return word;
  }

  /// What a unit's name may be made of: letters of any script, and no sign or mark used here.
  static bool is_letter(char32_t c) {
    return characters::is_ascii_letter(c) ||
           (c > 0x7F && !characters::is_blank(c) && !characters::is_minus(c) && c != U'\u00B1' &&
            !characters::is_degree_mark(c) && !characters::is_single_mark(c) &&
            !characters::is_double_mark(c) && !characters::is_colon(c) && !characters::is_slash(c));
  }
  static bool is_decimal_mark(char32_t c) { return c == U'.' || c == U','; }

  /// Of the sign at the place: ±, +/- or +-; 0 when there is none.
  [[nodiscard]] std::size_t plus_minus_length() const {
    const auto there = [&](std::size_t i) { return at_ + i < text_.size() ? text_[at_ + i] : U'\0'; };
    if (there(0) == U'\u00B1') return 1;
    if (there(0) != U'+') return 0;
    if (characters::is_minus(there(1))) return 2;
    return characters::is_slash(there(1)) && characters::is_minus(there(2)) ? 3 : 0;
  }

  void take_digits(std::string& digits) {
    while (characters::is_digit(now())) digits += static_cast<char>(text_[at_++]);
  }
  void skip_blanks() {
    while (characters::is_blank(now())) ++at_;
  }
  [[nodiscard]] bool at_end() const { return at_ >= text_.size(); }
  /// NUL at the end; there is none inside.
  [[nodiscard]] char32_t now() const { return at_end() ? U'\0' : text_[at_]; }
  [[nodiscard]] std::string quoted(std::size_t from, std::size_t most = std::u32string_view::npos) const {
    return characters::quoted(most == std::u32string_view::npos ? text_ : text_.substr(0, from + most), from);
  }
  [[nodiscard]] std::string here() const { return quoted(at_); }

  bool refuse(std::size_t index, const std::string& message, std::string expected = {},
              Fault fault = Fault::syntax) {
    error_ = characters::error_at(fault, index, message, std::move(expected));
    return false;
  }

  std::u32string_view text_;
  const Grammar& grammar_;
  std::size_t at_ = 0;
  Error error_;
};

/// The amount in the kind's inner unit. `difference`: how far, not where on the scale.
double inner(const Amount& amount, const Unit& unit, bool difference) {
  if (amount.taper_run) {
    // 18 digits of the divisor leave a relative error of 1e-17, a tenth of what the division rounds away.
    constexpr int kDivisorDigits = 18;
    const Decimal run = decimal::cut(*amount.taper_run, kDivisorDigits);
    Decimal rise = amount.number;
    rise.exponent -= run.exponent;
    return std::atan(decimal::nearest_double(decimal::divided(rise, small_number(run))) / 2.0);
  }
  const auto in_number = [&](const Decimal& d) { return decimal::nearest_double(d); };
  switch (unit.scale) {
    case Scale::degree:
      return degrees(in_number(amount.number)).raw();
    case Scale::arc_second:
      return degrees(in_number(decimal::divided(amount.number, 3600))).raw();
    case Scale::kelvin:
      if (difference) return in_number(amount.number);
      return in_number(decimal::plus(amount.number, Decimal{true, "27315", -2}));
    case Scale::fahrenheit: {
      const Decimal above_ice =
          difference ? amount.number : decimal::plus(amount.number, Decimal{true, "32", 0});
      return in_number(decimal::divided(decimal::times(above_ice, 5), 9));
    }
    case Scale::exact:
      break;
  }
  Decimal scaled = decimal::times(amount.number, unit.factor);
  scaled.exponent += unit.power;
  return in_number(amount.divisor == 1 ? scaled : decimal::divided(scaled, amount.divisor));
}

struct Limits {
  Sign sign = Sign::any;
  double least = 0.0;  ///< inner
  double most = 0.0;   ///< inner; also for ±
  std::string_view least_words;
  std::string_view most_words;
};

struct Inner {
  double value = 0.0;
  std::optional<double> plus_minus;
  std::string unit;
};

tl::unexpected<Error> refuse(Fault fault, std::size_t index, std::string_view message,
                             std::string_view expected) {
  return tl::unexpected<Error>(characters::error_at(fault, index, message, std::string(expected)));
}

/// Of one amount, once its unit is known.
Expected<double> within(const Amount& amount, const Unit& unit, bool difference, const Limits& limits,
                        std::u32string_view text) {
  const double result = inner(amount, unit, difference);
  const auto typed = [&] { return characters::quoted(text, amount.start); };
  if (!(std::abs(result) <= limits.most) && (difference || result > 0 || -limits.most >= limits.least)) {
    return refuse(Fault::content, amount.start, typed() + " is too large", limits.most_words);
  }
  if (!difference && result < limits.least)
    return refuse(Fault::content, amount.start, typed() + " is less than can be", limits.least_words);
  const bool from_zero = unit.scale != Scale::fahrenheit && unit.scale != Scale::kelvin;
  if (result == 0.0 && (from_zero || difference) && !amount.number.is_zero())
    return refuse(Fault::content, amount.start, typed() + " is too small to tell from zero", {});
  return result;
}

Expected<Inner> resolve(const Typed& typed, const Grammar& grammar, const Limits& limits,
                        std::u32string_view text) {
  const Amount& value = typed.value;
  const bool spread_has_unit = typed.plus_minus && typed.plus_minus->unit != nullptr;
  const Unit* unit = value.unit;
  if (unit == nullptr && !value.taper_run && spread_has_unit) {
    if (!typed.plus_minus->unit->lends) {
      return refuse(Fault::syntax, value.start,
                    characters::quoted(text, value.start) + " has no unit while its ± has a small one",
                    "a unit after both, as 4.00 mm ± 5 um");
    }
    unit = typed.plus_minus->unit;
  }
  if (unit == nullptr) unit = grammar.bare;
  if (value.fraction && grammar.kind == Kind::length && unit != &units::kInch) {
    return refuse(Fault::syntax, value.start,
                  "a fraction is of an inch and has no mark: found " + characters::quoted(text, value.start),
                  "the inch mark, as 5/32\" or 5/32 in");
  }
  if (value.sign_at && value.number.negative && limits.sign != Sign::any)
    return refuse(Fault::content, *value.sign_at, "a value that can't be negative is", grammar.forms);
  const Expected<double> result = within(value, *unit, false, limits, text);
  if (!result) return tl::unexpected<Error>(result.error());
  if (limits.sign == Sign::positive && *result == 0.0)
    return refuse(Fault::content, value.start, "a value that can't be zero is", grammar.forms);

  Inner out{*result, std::nullopt, value.taper_run ? "taper" : std::string(unit->canonical)};
  if (!typed.plus_minus) return out;
  const Amount& spread = *typed.plus_minus;
  const Unit* spread_unit = spread.unit != nullptr ? spread.unit : unit;
  if (spread.taper_run || (spread.unit == nullptr && value.taper_run)) {
    return refuse(
        Fault::syntax, spread.start,
        "the ± of a taper is not an angle with its unit: found " + characters::quoted(text, spread.start),
        "an angle, as 1:10 ± 0.2°");
  }
  if (spread.unit == nullptr && spread_unit == &units::kArcSecond) {
    return refuse(Fault::syntax, spread.start,
                  "the ± of minutes or seconds has no mark: found " + characters::quoted(text, spread.start),
                  "a mark after both, as 12°30' ± 5'");
  }
  if (spread.fraction && grammar.kind == Kind::length && spread_unit != &units::kInch) {
    return refuse(Fault::syntax, spread.start,
                  "a fraction is of an inch: found " + characters::quoted(text, spread.start),
                  "the inch mark, as 1/64\" or 1/64 in");
  }
  const Expected<double> half_width = within(spread, *spread_unit, true, limits, text);
  if (!half_width) return tl::unexpected<Error>(half_width.error());
  out.plus_minus = *half_width;
  return out;
}

Expected<Inner> parse(std::string_view utf8, const Grammar& grammar, const Limits& limits) {
  const auto with_forms = [&](Error error) {
    if (error.expected.empty()) error.expected = grammar.forms;
    return tl::unexpected<Error>(std::move(error));
  };
  const Expected<std::u32string> text = characters::decode(utf8, kLongestReading);
  if (!text) return with_forms(text.error());
  const Expected<Typed> typed = Reader(*text, grammar).read();
  if (!typed) return with_forms(typed.error());
  Expected<Inner> result = resolve(*typed, grammar, limits, *text);
  if (!result) return with_forms(result.error());
  return result;
}

template <class Q>
Expected<Reading<Q>> as_reading(Expected<Inner> parsed) {
  return std::move(parsed).map([](Inner&& inner) {
    Reading<Q> out{Q::of(inner.value), std::nullopt, std::move(inner.unit)};
    if (inner.plus_minus) out.plus_minus = Q::of(*inner.plus_minus);
    return out;
  });
}

std::string_view suffix(LengthUnit unit) { return unit == LengthUnit::mm ? " mm" : " in"; }

/// The shortest decimal number of inches that reads back as v, nearest to v among those as short.
Decimal inches_of(double v) {
  Decimal exact = decimal::times(decimal::from_double(v), 10);
  exact = decimal::divided(exact, 254);
  const auto reads_back = [&](const Decimal& candidate) {
    Amount amount;
    amount.number = candidate;
    return inner(amount, units::kInch, false) == v;
  };
  // 17 digits step by at most 1e-16 of the number; the decimals that round to one double span at least
  // 1.1e-16 of it.
  constexpr int kEnough = 17;
  for (int count = 1; count <= kEnough; ++count) {
    const Decimal below = decimal::cut(exact, count);
    const Decimal above = decimal::one_up(below);
    const Decimal next = decimal::cut(exact, count + 1);
    const bool nearer_above = static_cast<int>(exact.digits.size()) > count && next.digits.back() >= '5';
    const Decimal& first = nearer_above ? above : below;
    const Decimal& second = nearer_above ? below : above;
    if (reads_back(first)) return first;
    if (reads_back(second)) return second;
  }
  return exact;
}

}  // namespace

Expected<Reading<Length>> parse_length(std::string_view text, LengthUnit unit_when_bare, Sign sign) {
  const Grammar grammar{Kind::length, true, false,
                        unit_when_bare == LengthUnit::mm ? &units::kMillimetre : &units::kInch,
                        "a length such as 4.00 mm, 0.1575 in or 5/32\""};
  const double most = in_millimetres(kLargestLength);
  return as_reading<Length>(parse(text, grammar, {sign, -most, most, {}, "at most 1000000 mm"}));
}

Expected<Reading<Angle>> parse_angle(std::string_view text, Sign sign) {
  const Grammar grammar{Kind::angle, false, false, &units::kDegree,
                        "an angle such as 12.5, 12°30' or 0.5 rad"};
  const double most = in_radians(kLargestAngle);
  return as_reading<Angle>(parse(text, grammar, {sign, -most, most, {}, "at most 360°"}));
}

Expected<Reading<Angle>> parse_half_angle(std::string_view text) {
  const Grammar grammar{Kind::angle, false, true, &units::kDegree,
                        "a half angle such as 30° or 12°30', or a taper such as 1:10"};
  const double most = std::nextafter(degrees(90.0).raw(), 0.0);
  return as_reading<Angle>(
      parse(text, grammar, {Sign::not_negative, 0.0, most, {}, "less than 90°, half of the full cone"}));
}

Expected<Reading<Force>> parse_force(std::string_view text, Sign sign) {
  const Grammar grammar{Kind::force, false, false, &units::kNewton,
                        "a force such as 0.5 N, 50 gf or 1.8 ozf"};
  const double most = in_newtons(kLargestForce);
  return as_reading<Force>(parse(text, grammar, {sign, -most, most, {}, "at most 1000000 N"}));
}

Expected<Reading<Temperature>> parse_temperature(std::string_view text) {
  const Grammar grammar{Kind::temperature, false, false, &units::kCelsius,
                        "a temperature such as 20 °C or 68 °F"};
  return as_reading<Temperature>(parse(text, grammar,
                                       {Sign::any, kAbsoluteZero, in_celsius(kHottest),
                                        "not below absolute zero, -273.15 °C", "at most 1000 °C"}));
}

Expected<PlainReading> parse_number(std::string_view text, Sign sign) {
  const Grammar grammar{Kind::number, true, false, &units::kNone, "a number such as 3, 0.25, 0,25 or 1/4"};
  return parse(text, grammar, {sign, -kLargestNumber, kLargestNumber, {}, "at most 1000000000"})
      .map([](const Inner& inner) {
        return PlainReading{inner.value, inner.plus_minus};
      });
}

std::string show_length(Length v, LengthUnit unit, int decimals) {
  const double number = unit == LengthUnit::mm ? in_millimetres(v) : in_inches(v);
  std::string digits = fmt::format("{:.{}f}", number, decimals < 0 ? 0 : decimals);
  if (digits.front() == '-' && digits.find_first_of("123456789") == std::string::npos &&
      std::isfinite(number))
    digits.erase(0, 1);
  return digits.append(suffix(unit));
}

int bench_decimals(LengthUnit unit) { return unit == LengthUnit::mm ? 3 : 4; }

std::string exact_text(Length v, LengthUnit unit) {
  const double mm = in_millimetres(v);
  if (!std::isfinite(mm)) return fmt::format("{}", mm).append(suffix(unit));
  if (mm == 0.0) return std::string("0").append(suffix(unit));
  if (unit == LengthUnit::inch) return decimal::text(inches_of(mm)).append(suffix(unit));
  // The shortest decimal that is nearest to mm and to no other double.
  std::array<char, 32> buffer{};
  const auto [end, fault] =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), mm, std::chars_format::scientific);
  return decimal::text(
             decimal::from_scientific({buffer.data(), static_cast<std::size_t>(end - buffer.data())}))
      .append(suffix(unit));
}

}  // namespace hingeline
