#pragma once
/// \file
/// A result that explains itself: its formula, the numbers it rests on, and how far each of them moves it.

#include <functional>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "hingeline/base/measured.h"
#include "hingeline/base/reading.h"
#include "hingeline/record/document.h"

namespace hingeline::service {

/// One number a result rests on.
struct Given {
  std::string name;     ///< "span between posts"
  double value = 0;     ///< in the unit beside it; lengths mm, angles rad, temperatures degC
  double standard = 0;  ///< standard uncertainty, same unit
  std::string unit;     ///< "mm", "rad", "degC", "N", "cSt", ...; empty: a plain number
  Origin origin = Origin::read;
  std::string pointer;  ///< where it stands in the document; empty: it does not
  /// It lies in value ± √3 standard, anywhere alike.
  bool rectangular = false;

  /// Half-width to show: expanded (k = 2), or of the range.
  [[nodiscard]] double plus_minus() const;
};

/// A number out of the document, or where it has none, out of the shop's presets; absent where neither has
/// it. `own` may say a range ("between"), which is taken before a preset. Readings without a ± get that of
/// their measuring instrument, else the shop's for a reading with nothing said; presets are off by what they
/// say.
std::optional<Given> given(const std::string& name, const record::LengthEntry& own,
                           const record::LengthEntry& preset, const record::Shop& shop);
std::optional<Given> given(const std::string& name, const record::AngleEntry& own,
                           const record::AngleEntry& preset, const record::Shop& shop);
std::optional<Given> given(const std::string& name, const record::TemperatureEntry& own,
                           const record::TemperatureEntry& preset, const record::Shop& shop);
/// `unit`: the one the entry's rule asks for.
std::optional<Given> given(const std::string& name, const record::NumberEntry& own,
                           const record::NumberEntry& preset, const std::string& unit,
                           const record::Shop& shop);
/// A number another part of the program worked out.
Given reckoned(std::string name, double value, double standard, std::string unit);

/// How far one number moves a result.
struct Effect {
  Given given;
  double moves = 0;  ///< the result's change for the given's whole ±, signed; unit of the result
};

struct Worked {
  std::string code;  ///< "leak": as JSON and "why" name it
  std::string name;  ///< "leak at the test pressure"
  std::string unit;
  std::string formula;  ///< in words and symbols
  double value = 0;     ///< NaN: it does not apply; `remark` then says why
  double standard = 0;
  std::vector<Effect>
      effects;         ///< largest first; those that move it by less than 1/1000 of its ± are left out
  std::string remark;  ///< where the formula stops being valid, what was assumed; may be empty

  [[nodiscard]] double plus_minus() const { return 2 * standard; }
};

/// The result at the givens' values, and what their doubts make of it to first order (JCGM 100:2008, 5.1):
/// each is moved by its standard uncertainty both ways and half the difference is its part, so a bend or a
/// stop within that step counts for half of what it does. A side on which the model is not finite is left
/// out; where it is finite at neither, that given has no part. `model` gets the values in the order of the
/// givens.
Worked work(std::string code, std::string name, std::string unit, std::string formula,
            std::vector<Given> givens, const std::function<double(std::span<const double>)>& model);

/// "0.085 ± 0.004 mm"; lengths in `unit`, angles in degrees, other units as they are: two digits of the ±,
/// the value to the same place; without a ± three digits. "-" for what does not apply.
std::string show(const Worked& result, LengthUnit unit);
std::string show(const Given& given, LengthUnit unit);
/// The same for a bare pair.
std::string show(double value, double plus_minus, const std::string& unit, LengthUnit lengths);

/// What one of several results is called.
struct Heading {
  std::string code;
  std::string name;
  std::string unit;
  std::string formula;
};
/// The same for several results that one model gives at once, in the order of `headings`: it is asked once
/// for all of them. `model` gets the values and puts down the results.
std::vector<Worked> work(std::vector<Heading> headings, std::vector<Given> givens,
                         const std::function<void(std::span<const double>, std::span<double>)>& model);

/// How a result came about, line by line: the formula, what it rests on with origin and effect, the remark.
std::vector<std::string> explain(const Worked& result, LengthUnit unit);

/// {"value", "plus_minus", "unit", "formula", "inputs": [{"name", "value", "plus_minus", "unit", "origin",
/// "pointer", "moves"}], "remark"}; lengths in mm, angles in rad; null where it does not apply.
nlohmann::ordered_json json_of(const Worked& result);

}  // namespace hingeline::service
