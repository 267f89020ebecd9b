#include "hingeline/service/action.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "hingeline/movement/action.h"
#include "hingeline/movement/drag.h"
#include "hingeline/movement/oil.h"
#include "json_parts.h"
#include "nearest.h"
#include "opening.h"

namespace hingeline::service {
namespace {

using movement::Film;
using movement::Forces;
using record::NumberEntry;

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
constexpr double kPerSecond = 1000;  // ms
/// A key that takes this share of the limit without any oil is not cured by a thinner one.
constexpr double kMostlyDry = 0.8;

// ---- the shop's figures, else the program's -------------------------------------------------------------

const record::MovementPresets& general() { return general_shop().presets.movement; }

class ShopFigures {
 public:
  explicit ShopFigures(const record::Shop& shop) : shop_(shop) {}

  [[nodiscard]] Given number(const std::string& name, NumberEntry record::MovementPresets::*which,
                             const std::string& unit, const NumberEntry& own = {}) const {
    const NumberEntry& mine = shop_.presets.movement.*which;
    return given(name, own, mine.known() ? mine : general().*which, unit, shop_)
        .value_or(Given{name, 0, 0, unit, Origin::unknown, {}, false});
  }
  [[nodiscard]] const record::Shop& shop() const { return shop_; }
  /// nullptr where neither the shop nor the program has it.
  [[nodiscard]] const record::SpringMaterial* material(const std::string& name) const {
    for (const auto* list : {&shop_.presets.movement.spring_materials, &general().spring_materials}) {
      for (const auto& m : *list) {
        if (m.name == name) return &m;
      }
    }
    return nullptr;
  }
  [[nodiscard]] const std::vector<record::Oil>& oils() const {
    return shop_.oils.empty() ? general_shop().oils : shop_.oils;
  }
  [[nodiscard]] const record::Oil* oil(const std::string& name) const {
    const auto found = std::ranges::find(oils(), name, &record::Oil::name);
    return found == oils().end() ? nullptr : &*found;
  }
  [[nodiscard]] const std::string& usual_oil() const {
    const auto& mine = shop_.presets.movement.oil;
    return mine.empty() ? general().oil.text : mine.text;
  }

 private:
  const record::Shop& shop_;
};

// ---- oils ------------------------------------------------------------------------------------------------

/// How thick an oil is, with its ±.
class OilModel {
 public:
  static Expected<OilModel> of(const record::Oil& oil, const ShopFigures& shop) {
    OilModel m;
    m.name_ = oil.name;
    if (oil.grade.known()) {
      const double number = oil.grade.value;
      const auto grade = std::abs(number) < 1e6 && number == std::floor(number)
                             ? movement::oil_grade(static_cast<int>(number))
                             : movement::oil_grade(0);
      if (!grade) {
        Error e = grade.error();
        e.fault = Fault::content;
        e.what = fmt::format("{:g} is no viscosity grade of ISO 3448", number);
        e.place = oil.grade.place;
        return tl::unexpected(e);
      }
      const double middle = in_centistokes(grade->midpoint);
      m.v40_ = {fmt::format("viscosity at 40 °C, ISO VG {}", number),
                middle,
                middle * movement::kGradeTolerance / std::numbers::sqrt3,
                "mm2/s",
                Origin::pattern,
                oil.grade.place.pointer,
                true};
    } else {
      m.v40_ = *given("viscosity at 40 °C", oil.v40, {}, "mm2/s", shop.shop());
    }
    m.by_index_ = !oil.v100.known();
    m.second_ = m.by_index_ ? shop.number("viscosity index", &record::MovementPresets::index, "", oil.index)
                            : *given("viscosity at 100 °C", oil.v100, {}, "mm2/s", shop.shop());
    m.density_ = shop.number("density at 15 °C", &record::MovementPresets::density, "g/ml", oil.density);
    m.expansion_ = shop.number("expansion of the oil", &record::MovementPresets::oil_expansion, "1e-6/K");
    const double there = m.viscosity(m.v40_.value, m.second_.value, m.density_.value, m.expansion_.value, 40);
    if (!std::isfinite(there)) {
      return fail(
          Fault::content,
          fmt::format("no oil can be as \"{}\": {:g} mm2/s at 40 °C with {} {:g}", oil.name, m.v40_.value,
                      m.by_index_ ? "the viscosity index" : "at 100 °C", m.second_.value),
          "figures from one data sheet", oil.place);
    }
    return m;
  }

  /// Where its thickness came from.
  [[nodiscard]] Origin origin() const { return v40_.origin; }
  [[nodiscard]] Worked at(const std::string& when, const Given& temperature) const {
    return work("viscosity-" + when, fmt::format("viscosity of the {} {}", name_, where(when)), "mPa s",
                formula(), {v40_, second_, density_, expansion_, temperature},
                [this](std::span<const double> x) { return viscosity(x[0], x[1], x[2], x[3], x[4]); });
  }

 private:
  static std::string where(const std::string& when) {
    return when == "bench" ? "at the bench" : when == "cold" ? "at the coldest" : "at the warmest";
  }
  [[nodiscard]] std::string formula() const {
    return fmt::format("ASTM D341: log log(v + 0.7) = A - B log T through 40 and 100 °C{}; times density",
                       by_index_ ? ", the latter by ASTM D2270" : "");
  }
  [[nodiscard]] double viscosity(double v40, double second, double density, double expansion,
                                 double at) const {
    double v100 = second;
    if (by_index_) {
      const auto found = movement::viscosity_at_100(centistokes(v40), second);
      if (!found) return kNaN;
      v100 = in_centistokes(*found);
    }
    const auto curve =
        movement::OilCurve::through(celsius(40), centistokes(v40), celsius(100), centistokes(v100));
    if (!curve) return kNaN;
    const auto rho =
        movement::density_at(movement::grams_per_millilitre(density), expansion * 1e-6, celsius(at));
    return in_millipascal_seconds(movement::dynamic(curve->at(celsius(at)), rho));
  }

  std::string name_;
  Given v40_, second_, density_, expansion_;
  bool by_index_ = false;
};

// ---- joints
// ------------------------------------------------------------------------------------------------

/// What the films of a key's joints come to.
struct Films {
  Worked drag_per_viscosity;  ///< mm3
  std::vector<Film> each;
  double radius = 0;  ///< mean, mm
};

/// The number a key's geometry was given under this name, as settled; nothing where it has none.
std::optional<Given> settled(const KeyResult& key, const std::string& name, double value) {
  const auto& inputs = key.knowledge.inputs;
  for (std::size_t k = 0; k < inputs.size(); ++k) {
    if (inputs[k].name == name) {
      return Given{name, value, key.estimate().standard[k], "mm", inputs[k].origin, inputs[k].pointer, false};
    }
  }
  return std::nullopt;
}

Expected<Films> films_of(const KeyResult& key) {
  Films out;
  const auto& geometry = key.estimate().geometry;
  if (geometry.kind == belief::HingeKind::rod) {
    const auto rod = settled(key, "rod diameter", in_millimetres(geometry.rod_diameter));
    const auto bore = settled(key, "bore of the tube", in_millimetres(geometry.bore));
    const auto length = settled(key, "key length", in_millimetres(geometry.key_length));
    if (!rod || !bore || !length || rod->origin == Origin::unknown || bore->origin == Origin::unknown)
      return fail(Fault::content,
                  "Rod and bore of its tube were not both read: what oil does there cannot be told.");
    const auto film = movement::rod_film(geometry.rod_diameter, geometry.bore, geometry.key_length);
    if (!film) return tl::unexpected(film.error());
    out.each.push_back(*film);
    out.drag_per_viscosity =
        work("film", "film of the rod in its tube", "mm3",
             "drag per viscosity = 4 π L r1² r2² / (r2² - r1²), concentric cylinders", {*rod, *bore, *length},
             [](std::span<const double> x) {
               const auto f = movement::rod_film(millimetres(x[0]), millimetres(x[1]), millimetres(x[2]));
               return f ? f->drag_per_viscosity : kNaN;
             });
  } else {
    // At the middle of its play each end has half of the end play between its point and home.
    const mechanism::Hinge& hinge = *key.hinge;
    const auto& travel = hinge.travel();
    const auto& play = key.estimate()[Figure::end_play];
    if (!(travel.end_play().raw() > 0)) {
      if (in_millimetres(travel.end_play()) + play.plus_minus > 0)
        return fail(Fault::content, "Whether it binds is not sure: read its end play.");
      return fail(Fault::geometry, "there is no room for a film: the joint is dry or binds");
    }
    const auto at = [&hinge, &travel](Side side, double between) {
      const Length home = hinge.insertion(side, side == Side::upper ? travel.low : travel.high);
      return movement::joint_film(hinge.end(side).joint, home - millimetres(between / 2));
    };
    for (const Side side : {Side::upper, Side::lower}) {
      const auto film = at(side, in_millimetres(travel.end_play()));
      if (!film) return tl::unexpected(film.error());
      out.each.push_back(*film);
    }
    Given end_play = reckoned("end play", in_millimetres(travel.end_play()), play.plus_minus / 2, "mm");
    out.drag_per_viscosity =
        work("film", "films of both joints", "mm3",
             "drag per viscosity = 2 π ∫ r³ / (c cos² a) along both points, in the middle of the play; on a "
             "matched cone π (r2⁴ - r1⁴) / (2 h sin a)",
             {std::move(end_play)}, [&at](std::span<const double> x) {
               double sum = 0;
               for (const Side side : {Side::upper, Side::lower}) {
                 const auto f = at(side, x[0]);
                 if (!f) return kNaN;
                 sum += f->drag_per_viscosity;
               }
               return sum;
             });
  }
  for (const Film& f : out.each) {
    out.radius += in_millimetres(f.radius) / static_cast<double>(out.each.size());
    if (f.thinness() > movement::kThinFilmLimit)
      out.drag_per_viscosity.remark = "The film is thick for its radius: the drag may be off by a tenth.";
  }
  return out;
}

/// Of the joints' clearance, the share in which a knock is spent; the worst joint's.
double knock_share(const Films& films, double mass, double speed, double viscosity) {
  double worst = 0;
  for (const Film& f : films.each) {
    // Each end carries its part of the key.
    const Length path =
        movement::stopping_distance(grams(mass / static_cast<double>(films.each.size())), speed,
                                    movement::squeeze(f, millipascal_seconds(viscosity)));
    worst = std::max(worst, path / f.clearance);
  }
  return worst;
}

// ---- one key
// -----------------------------------------------------------------------------------------------

/// The numbers a key's motion rests on. Not every key has all of them.
enum Slot : std::size_t {
  kSection,  ///< diameter, or thickness
  kWidth,
  kLength,
  kModulus,
  kSet,
  kWorksAt,
  kFormula,  ///< 1: what the small-deflection formula is off by
  kStrength,
  kTravel,
  kTravelArm,
  kTouchArm,
  kFriction,
  kWeightWay,  ///< -1 to 1: for or against the spring, however the instrument is held
  kInertia,
  kMass,
  kFilm,
  kViscosity,
  kSlots
};
using Values = std::array<double, kSlots>;

class KeyModel {
 public:
  KeyModel(const KeyResult& key, const ShopFigures& shop, LengthUnit unit)
      : key_(key), source_(*key.source), shop_(shop), unit_(unit) {}

  KeyAction run(const OilModel& oil, const Given& bench, const std::optional<Given>& cold, double limit);

  /// Set where the motion is known: without oil, and what the oil adds.
  [[nodiscard]] bool moves() const { return moves_; }
  [[nodiscard]] bool is_rod() const { return key_.estimate().geometry.kind == belief::HingeKind::rod; }
  /// ms; infinite: does not come back.
  [[nodiscard]] double returns(double viscosity) const {
    Values v = values_;
    v[kViscosity] = viscosity;
    return return_ms(v);
  }
  [[nodiscard]] double doubt() const { return doubt_; }
  [[nodiscard]] const Films& films() const { return *films_; }
  [[nodiscard]] double knock(double viscosity) const {
    return knock_share(*films_, values_[kMass],
                       shop_.number("knock", &record::MovementPresets::knock, "mm/s").value, viscosity);
  }

 private:
  bool take_spring(KeyAction& out);
  bool take_swing(KeyAction& out);
  void take_inertia();
  void give(Slot slot, Given g) {
    values_[slot] = g.value;
    givens_[slot] = std::move(g);
  }
  bool need(Slot slot, std::optional<Given> g, const char* what, KeyAction& out) {
    if (!g) {
      out.says.push_back(fmt::format("{} is not known: write it down as {}.", what, kWhere[slot]));
      return false;
    }
    give(slot, std::move(*g));
    return true;
  }
  Worked figure(const char* code, std::string name, const char* unit, std::string formula,
                std::initializer_list<Slot> slots, double (KeyModel::*model)(const Values&) const) const;

  [[nodiscard]] movement::Spring spring(const Values& v) const {
    movement::Spring s;
    s.length = millimetres(v[kLength]);
    s.modulus = movement::gigapascals(v[kModulus]);
    if (source_.spring->kind == record::SpringKind::needle) {
      s.diameter = millimetres(v[kSection]);
      return s;
    }
    s.kind = movement::SpringKind::flat;
    s.thickness = millimetres(v[kSection]);
    s.width = millimetres(v[kWidth]);
    switch (source_.spring->shape.value_or(record::SpringShape::rectangular)) {
      case record::SpringShape::rectangular:
        break;
      case record::SpringShape::tapered:
        s.shape = movement::FlatShape::tapered;
        break;
      case record::SpringShape::triangular:
        s.shape = movement::FlatShape::triangular;
        break;
    }
    return s;
  }
  [[nodiscard]] Forces forces(const Values& v) const {
    Forces f;
    const auto rate = movement::stiffness(spring(v));
    f.spring = (rate ? *rate : newtons_per_millimetre(kNaN)) * v[kFormula];
    f.set = millimetres(v[kSet]);
    f.works_at = millimetres(v[kWorksAt]);
    f.swing = radians(v[kTravel] / v[kTravelArm]);
    f.friction = v[kFriction];
    f.joint_radius = millimetres(films_ ? films_->radius : 0);
    f.weight =
        movement::most_weight_moment(grams(v[kMass]), gram_square_millimetres(v[kInertia])) * v[kWeightWay];
    return f;
  }
  [[nodiscard]] Length pressed(const Values& v) const {
    return millimetres(v[kSet] + v[kWorksAt] * v[kTravel] / v[kTravelArm]);
  }
  [[nodiscard]] double force_at_rest(const Values& v) const {
    const Forces f = forces(v);
    return f.spring.raw() * in_millimetres(f.set);
  }
  [[nodiscard]] double force_pressed(const Values& v) const {
    return forces(v).spring.raw() * in_millimetres(pressed(v));
  }
  [[nodiscard]] double stress_share(const Values& v) const {
    const auto stress = movement::stress(spring(v), pressed(v));
    return stress ? movement::in_megapascals(*stress) / v[kStrength] : kNaN;
  }
  [[nodiscard]] double touch_start(const Values& v) const {
    const auto t = movement::touch_weight(forces(v), millimetres(v[kTouchArm]));
    return t ? in_newtons(t->to_start) : kNaN;
  }
  [[nodiscard]] double touch_hold(const Values& v) const {
    const auto t = movement::touch_weight(forces(v), millimetres(v[kTouchArm]));
    return t ? in_newtons(t->to_hold) : kNaN;
  }
  [[nodiscard]] movement::Motion motion(const Values& v) const {
    return movement::motion_of(forces(v), gram_square_millimetres(v[kInertia]),
                               movement::newton_millimetre_seconds(v[kFilm] * v[kViscosity] * 1e-9));
  }
  [[nodiscard]] double drag(const Values& v) const { return v[kFilm] * v[kViscosity] * 1e-9; }
  [[nodiscard]] double return_ms(const Values& v) const {
    const auto r = movement::come_back(motion(v));
    return r ? in_seconds(r->time) * kPerSecond : kNaN;
  }
  [[nodiscard]] double damping(const Values& v) const {
    const auto ratio = movement::damping_ratio(motion(v));
    return ratio ? *ratio : kNaN;
  }
  [[nodiscard]] double knock_figure(const Values& v) const { return knock(v[kViscosity]); }

  void choose_wires(KeyAction& out) const;
  void judge(KeyAction& out, const Worked& at_bench, const std::optional<Worked>& at_cold,
             double limit) const;
  /// The instrument held so that the key's weight pulls against its spring.
  void judge_held(KeyAction& out) const;

  static constexpr std::array<const char*, kSlots> kWhere{"\"diameter\" or \"thickness\" of the spring",
                                                          "\"width\" of the spring",
                                                          "\"length\" of the spring",
                                                          "\"material\" of the spring",
                                                          "\"set\" of the spring",
                                                          "\"works_at\" of the spring",
                                                          "",
                                                          "",
                                                          "\"travel\" of \"moving\"",
                                                          "\"arm\" of the pad or of the touch",
                                                          "\"arm\" of \"touch\"",
                                                          "",
                                                          "",
                                                          "\"mass\" and \"gyration\" of \"moving\"",
                                                          "",
                                                          "",
                                                          ""};

  const KeyResult& key_;
  const record::Key& source_;
  const ShopFigures& shop_;
  LengthUnit unit_;
  Values values_{};
  std::array<std::optional<Given>, kSlots> givens_;
  std::optional<Films> films_;
  std::string spring_remark_;
  std::string strength_remark_;
  bool moves_ = false;
  double doubt_ = 0;  ///< ± of the return as a share of it: oils are chosen with that to spare
};

Worked KeyModel::figure(const char* code, std::string name, const char* unit, std::string formula,
                        std::initializer_list<Slot> slots,
                        double (KeyModel::*model)(const Values&) const) const {
  std::vector<Given> givens;
  std::vector<Slot> at;
  for (const Slot s : slots) {
    if (!givens_[s]) continue;
    givens.push_back(*givens_[s]);
    at.push_back(s);
  }
  return work(code, std::move(name), unit, std::move(formula), std::move(givens),
              [&](std::span<const double> x) {
                Values v = values_;
                for (std::size_t k = 0; k < at.size(); ++k) v[at[k]] = x[k];
                return (this->*model)(v);
              });
}

bool KeyModel::take_spring(KeyAction& out) {
  const record::Spring& s = *source_.spring;
  const record::Shop& shop = shop_.shop();
  const bool needle = s.kind == record::SpringKind::needle;
  const std::string material = s.material.empty() ? "music wire" : s.material.text;
  const record::SpringMaterial* m = shop_.material(material);
  if (m == nullptr) {
    out.says.push_back(
        fmt::format("Neither the shop nor the program knows the spring material \"{}\".", material));
    return false;
  }
  bool all = need(kSection,
                  given(needle ? "diameter of the spring" : "thickness of the spring",
                        needle ? s.diameter : s.thickness, {}, shop),
                  needle ? "The spring's diameter" : "The spring's thickness", out);
  if (!needle)
    all = need(kWidth, given("width of the spring", s.width, {}, shop), "The spring's width", out) && all;
  all = need(kLength, given("length of the spring", s.length, {}, shop), "The spring's length", out) && all;
  all = need(kSet, given("set of the spring", s.set, {}, shop), "How far the spring is bent at rest", out) &&
        all;
  all = need(kWorksAt, given("where the spring works", s.works_at, {}, shop),
             "How far from the hinge axis the spring works", out) &&
        all;
  all = need(kModulus, given("modulus of " + material, {}, m->modulus, "GPa", shop), "The spring's modulus",
             out) &&
        all;
  if (!all) return false;
  if (const auto own = given("strength of " + material, {}, m->strength, "MPa", shop)) {
    give(kStrength, *own);
  } else {
    const auto wire = movement::music_wire_strength(millimetres(values_[kSection]));
    if (!wire) return false;
    give(kStrength, {fmt::format("least strength of {} of this size, ASTM A228", material),
                     movement::in_megapascals(wire->least),
                     0,
                     "MPa",
                     Origin::preset,
                     {},
                     false});
    if (!wire->in_table)
      strength_remark_ = "ASTM A228's table ends before this size: its strength is by A / d^m, less a tenth.";
  }
  return true;
}

bool KeyModel::take_swing(KeyAction& out) {
  const record::Shop& shop = shop_.shop();
  if (source_.touch) {
    if (const auto arm = given("arm of the touch", source_.touch->arm, {}, shop)) give(kTouchArm, *arm);
  }
  if (source_.pad) {
    const record::LengthEntry& arm_range =
        shop.presets.unknown.arm.range ? shop.presets.unknown.arm : general_shop().presets.unknown.arm;
    if (!need(kTravelArm, given("arm of the pad", source_.pad->arm, arm_range, shop), "The pad's arm", out))
      return false;
    if (auto own = travel_at_pad("opening at the pad", source_, shop)) {
      give(kTravel, std::move(*own));
      return true;
    }
    const auto hole = given("tone hole", source_.pad->tone_hole, {}, shop);
    if (!hole) return need(kTravel, std::nullopt, "How far the pad opens", out);
    const Given stroke = shop_.number("stroke", &record::MovementPresets::stroke, "");
    give(kTravel, {"opening at the pad, guessed from the tone hole",
                   stroke.value * hole->value,
                   std::hypot(stroke.standard * hole->value, stroke.value * hole->standard),
                   "mm",
                   Origin::preset,
                   {},
                   false});
    return true;
  }
  if (!givens_[kTouchArm]) {
    out.says.emplace_back(
        "It has neither a pad nor a \"touch\" with an arm: how far it turns cannot be told.");
    return false;
  }
  Given arm = *givens_[kTouchArm];
  give(kTravelArm, std::move(arm));
  const record::LengthEntry travel = source_.moving ? source_.moving->travel : record::LengthEntry{};
  return need(kTravel, given("travel at the touch", travel, {}, shop), "How far the touch goes down", out);
}

void KeyModel::take_inertia() {
  const record::Shop& shop = shop_.shop();
  movement::KeyParts parts;
  if (source_.pad) {
    const auto hole = given("tone hole", source_.pad->tone_hole, {}, shop);
    parts.cup_diameter = millimetres(hole ? hole->value : 0);
    parts.arm = millimetres(values_[kTravelArm]);
  }
  if (givens_[kTouchArm]) parts.touch_arm = millimetres(values_[kTouchArm]);
  parts.cup_weight = shop_.number("cup", &record::MovementPresets::cup_weight, "mg/mm2").value / 1000;
  parts.bar_weight = shop_.number("bar", &record::MovementPresets::bar_weight, "mg/mm").value / 1000;
  const movement::Guess guess = movement::guess_inertia(parts);
  const double doubt = shop_.number("doubt", &record::MovementPresets::inertia_share, "").value / 2;

  const record::Moving* moving = source_.moving ? &*source_.moving : nullptr;
  std::optional<Given> mass, gyration;
  if (moving != nullptr) {
    mass = given("mass", moving->mass, {}, "g", shop);
    gyration = given("radius of gyration", moving->gyration, {}, shop);
  }
  const double guessed_mass = in_grams(guess.mass);
  const double guessed_inertia = in_gram_square_millimetres(guess.inertia);
  if (!mass) {
    give(
        kMass,
        {"mass, guessed from its parts", guessed_mass, guessed_mass * doubt, "g", Origin::preset, {}, false});
  } else {
    give(kMass, *mass);
  }
  if (mass && gyration) {
    const double inertia = mass->value * gyration->value * gyration->value;
    const double share = std::hypot(mass->standard / mass->value, 2 * gyration->standard / gyration->value);
    give(kInertia, {"inertia = mass x gyration²", inertia, inertia * share, "g mm2", mass->origin,
                    gyration->pointer, false});
  } else {
    // A weighed key is as its parts would be, made heavier or lighter.
    const double inertia =
        mass && guessed_mass > 0 ? guessed_inertia * mass->value / guessed_mass : guessed_inertia;
    give(kInertia, {"inertia, guessed from cup, arm and touch",
                    inertia,
                    inertia * doubt,
                    "g mm2",
                    Origin::preset,
                    {},
                    false});
  }
}

KeyAction KeyModel::run(const OilModel& oil, const Given& bench, const std::optional<Given>& cold,
                        double limit) {
  KeyAction out;
  out.id = key_.id;
  out.name = key_.name;
  if (key_.problem) {
    out.says.push_back("Its hinge cannot be worked out: " + key_.problem->what + ".");
    return out;
  }
  auto films = films_of(key_);
  if (films) films_ = std::move(*films);
  if (!source_.spring) {
    out.says.emplace_back("No spring is written down for it.");
    return out;
  }
  if (!take_spring(out) || !take_swing(out)) return out;
  take_inertia();
  give(kFriction, shop_.number("friction in the joints", &record::MovementPresets::friction, ""));
  give(kWeightWay, {"how its weight pulls as the instrument is held, -1 to 1",
                    0,
                    1 / std::numbers::sqrt3,
                    "",
                    Origin::unknown,
                    {},
                    true});
  values_[kFormula] = 1;

  const auto bent = movement::bend(spring(values_), pressed(values_));
  if (!bent) {
    out.says.push_back(
        "The spring would be bent further than a spring of its length can be: look at \"set\", "
        "\"length\" and \"travel\" again.");
    return out;
  }
  give(kFormula, {"what the formula leaves out of a bent spring's shape",
                  1,
                  (bent->exact.force - 1) / std::numbers::sqrt3,
                  "",
                  Origin::preset,
                  {},
                  true});
  if (bent->past_limit) {
    spring_remark_ = fmt::format(
        "Bent past where the formula holds (20°): a bar bent so far gives {:.2f} times this force and {:.2f} "
        "times this stress.",
        bent->exact.force, bent->exact.stress);
  }

  const bool needle = source_.spring->kind == record::SpringKind::needle;
  const char* force_formula = needle ? "F = 3 E I δ / L³, I = π d⁴ / 64" : "F = E b t³ δ / (k L³)";
  auto force = figure("spring-rest", "spring at rest", "N", force_formula,
                      {kSection, kWidth, kLength, kModulus, kSet}, &KeyModel::force_at_rest);
  out.figures.push_back(std::move(force));
  auto most = figure("spring-pressed", "spring, key pressed", "N",
                     std::string(force_formula) + ", δ = set + works at x travel / arm",
                     {kSection, kWidth, kLength, kModulus, kSet, kWorksAt, kFormula, kTravel, kTravelArm},
                     &KeyModel::force_pressed);
  most.remark = spring_remark_;
  out.figures.push_back(std::move(most));
  auto stress = figure("stress-share", "share of the spring's strength used, key pressed", "",
                       needle ? "32 F L / (π d³) / strength" : "6 F L / (b t²) / strength",
                       {kSection, kWidth, kLength, kModulus, kSet, kWorksAt, kStrength, kTravel, kTravelArm},
                       &KeyModel::stress_share);
  stress.remark = strength_remark_;
  const double used = stress.value;
  out.figures.push_back(std::move(stress));
  if (givens_[kTouchArm]) {
    out.figures.push_back(figure("touch-start", "touch, to leave rest", "N",
                                 "(spring moment + friction ± weight) / arm of the touch",
                                 {kSection, kWidth, kLength, kModulus, kSet, kWorksAt, kTouchArm, kFriction,
                                  kWeightWay, kInertia, kMass},
                                 &KeyModel::touch_start));
    out.figures.push_back(figure("touch-hold", "touch, to hold it pressed", "N",
                                 "(spring moment ± weight) / arm of the touch",
                                 {kSection, kWidth, kLength, kModulus, kSet, kWorksAt, kFormula, kTravel,
                                  kTravelArm, kTouchArm, kWeightWay, kInertia, kMass},
                                 &KeyModel::touch_hold));
  }
  const auto allowed = shop_.number("share", &record::MovementPresets::stress_share, "");
  const auto say_stress = [&] {
    if (used > 1) {
      out.says.push_back(
          fmt::format("The spring is asked for {:.0f} % of its strength: it sets or breaks.", used * 100));
    } else if (used > allowed.value) {
      out.says.push_back(
          fmt::format("The spring is asked for {:.0f} % of its strength, more than the {:.0f} % allowed: it "
                      "may take a set.",
                      used * 100, allowed.value * 100));
    }
  };
  choose_wires(out);
  if (!films_ && films.error().fault == Fault::content) {
    out.says.push_back(films.error().what);
    say_stress();
    return out;
  }
  if (!films_) {
    out.verdict = ActionVerdict::binds;
    out.says.emplace_back("No room for a film of oil in its joints: it binds, or runs dry. Free it first.");
    say_stress();
    return out;
  }

  Given film = reckoned(films_->drag_per_viscosity.name, films_->drag_per_viscosity.value,
                        films_->drag_per_viscosity.standard, "mm3");
  give(kFilm, std::move(film));
  out.figures.push_back(films_->drag_per_viscosity);
  const auto with_oil = [&](const std::string& when, const Given& temperature) {
    Worked thick = oil.at(when, temperature);
    Given viscosity = reckoned(thick.name, thick.value, thick.standard, thick.unit);
    viscosity.origin = oil.origin();
    give(kViscosity, std::move(viscosity));
    out.figures.push_back(std::move(thick));
  };
  const auto back = [&](const std::string& when, const char* place) {
    return figure(("return-" + when).c_str(), fmt::format("return {}", place), "ms",
                  "J x'' + B x' = M0 - k x from pressed to the stop, solved exactly",
                  {kSection, kWidth, kLength, kModulus, kSet, kWorksAt, kFormula, kTravel, kTravelArm,
                   kFriction, kWeightWay, kInertia, kMass, kFilm, kViscosity},
                  &KeyModel::return_ms);
  };
  moves_ = true;
  std::optional<Worked> at_cold;
  if (cold) {
    with_oil("cold", *cold);
    out.figures.push_back(figure("drag-cold", "drag at the coldest", "N mm s", "B = film x viscosity",
                                 {kFilm, kViscosity}, &KeyModel::drag));
    at_cold = back("cold", "at the coldest");
  }
  with_oil("bench", bench);
  out.figures.push_back(figure("drag-bench", "drag at the bench", "N mm s", "B = film x viscosity",
                               {kFilm, kViscosity}, &KeyModel::drag));
  Worked at_bench = back("bench", "at the bench");
  out.figures.push_back(at_bench);
  if (at_cold) out.figures.push_back(*at_cold);
  out.figures.push_back(figure("damping", "damping of its swing at the bench", "", "B / (2 √(J k))",
                               {kSection, kWidth, kLength, kModulus, kWorksAt, kInertia, kFilm, kViscosity},
                               &KeyModel::damping));
  Worked knocked = figure("knock", "share of the clearance in which a knock is spent, at the bench", "",
                          "m v / C / c, C = 12 π μ r³ l / c³ (1 - tanh q / q), q = l / 2 r",
                          {kMass, kViscosity}, &KeyModel::knock_figure);
  knocked.remark = "Below 1 the film takes the knock and the joint is quiet; above 1 metal meets metal.";
  out.figures.push_back(std::move(knocked));
  const Worked& by = at_cold ? *at_cold : at_bench;
  doubt_ = std::isfinite(by.value) ? by.plus_minus() / by.value : 0;
  judge(out, at_bench, at_cold, limit);
  judge_held(out);
  say_stress();
  return out;
}

void KeyModel::judge(KeyAction& out, const Worked& at_bench, const std::optional<Worked>& at_cold,
                     double limit) const {
  const auto shown = [&](const Worked& w) { return show(w, unit_); };
  if (!std::isfinite(at_bench.value)) {
    out.verdict = ActionVerdict::stays;
    const auto r = movement::come_back(motion(values_));
    const double part = r ? in_radians(r->reached) / (values_[kTravel] / values_[kTravelArm]) : 0;
    out.says.push_back(part > 0.01
                           ? fmt::format("It comes back {:.0f} % of the way and stays there: more set, "
                                         "or a stronger spring.",
                                         part * 100)
                           : std::string("It never returns: its spring does not overcome friction. More "
                                         "set, or a stronger spring."));
    return;
  }
  const auto doubt = [&](const Worked& w) {
    return std::abs(w.value - limit) < w.plus_minus() ? " Its ± reaches over the limit: it may be either."
                                                      : "";
  };
  if (at_bench.value > limit) {
    out.verdict = ActionVerdict::sluggish;
    Values dry = values_;
    dry[kViscosity] = 0;
    const double without = return_ms(dry);
    out.says.push_back(fmt::format(
        "Back in {}, more than {:.0f} ms. {}{}", shown(at_bench), limit,
        without > kMostlyDry * limit
            ? fmt::format(
                  "Without any oil it would take {:.0f} ms: spring, friction or weight, more than oil.",
                  without)
            : "A thinner oil cures it.",
        doubt(at_bench)));
    return;
  }
  if (at_cold && !(at_cold->value <= limit)) {
    out.verdict = ActionVerdict::sluggish_cold;
    out.says.push_back(
        std::isfinite(at_cold->value)
            ? fmt::format("Back in {} at the bench, but {} at the coldest, more than {:.0f} ms: a "
                          "thinner oil.{}",
                          shown(at_bench), shown(*at_cold), limit, doubt(*at_cold))
            : fmt::format("Back in {} at the bench, but at the coldest it does not come back.",
                          shown(at_bench)));
    return;
  }
  out.verdict = ActionVerdict::quick;
  const Worked& by = at_cold ? *at_cold : at_bench;
  out.says.push_back(fmt::format("Back in {}{}.{}", shown(by), at_cold ? " at the coldest" : "", doubt(by)));
}

void KeyModel::judge_held(KeyAction& out) const {
  Values against = values_;
  against[kWeightWay] = 1;
  if (out.verdict == ActionVerdict::stays || std::isfinite(return_ms(against))) return;
  if (out.verdict == ActionVerdict::quick) out.verdict = ActionVerdict::sluggish;
  out.says.emplace_back(
      "Held so that its weight pulls against the spring it may not come back: it wants more spring.");
}

void KeyModel::choose_wires(KeyAction& out) const {
  if (source_.spring->kind != record::SpringKind::needle || !givens_[kTouchArm]) return;
  const Given wanted =
      shop_.number("touch wanted", &record::MovementPresets::touch, "N", source_.spring->wanted);
  movement::WireWish wish;
  wish.length = millimetres(values_[kLength]);
  wish.works_at = millimetres(values_[kWorksAt]);
  wish.touch_arm = millimetres(values_[kTouchArm]);
  wish.swing = radians(values_[kTravel] / values_[kTravelArm]);
  wish.touch = newtons(wanted.value);
  wish.share = shop_.number("share", &record::MovementPresets::stress_share, "").value;
  wish.modulus = movement::gigapascals(values_[kModulus]);
  const record::SpringMaterial* m =
      shop_.material(source_.spring->material.empty() ? "music wire" : source_.spring->material.text);
  if (m != nullptr && m->strength.known()) wish.strength = movement::megapascals(m->strength.value);

  std::vector<Length> sizes;
  std::vector<std::string> names;
  const bool stock = !shop_.shop().wires.empty();
  if (stock) {
    for (const record::Wire& w : shop_.shop().wires) {
      if (!w.diameter.known()) continue;
      sizes.push_back(w.diameter.value);
      names.push_back(w.name);
    }
  } else {
    // Needle springs lie between these; thinner and thicker gauges are for other work.
    for (const movement::Gauge& g : movement::music_wire_gauges()) {
      if (g.diameter < inches(.009) || g.diameter > inches(.045)) continue;
      sizes.push_back(g.diameter);
      names.push_back(fmt::format("music wire gauge {}", g.name));
    }
  }
  const auto choice = movement::choose_wire(wish, sizes);
  if (!choice) return;
  for (std::size_t k = 0; k < choice->options.size(); ++k) {
    out.wires.push_back({names[k], choice->options[k], choice->best == k});
  }
  out.wires_say = fmt::format(
      "Each size bent so that the touch needs {:.2f} N to leave rest (spring alone), with at most {:.0f} % "
      "of "
      "its strength used and no more than 20° of bend. The thinnest that fits presses most evenly.{}",
      wanted.value, wish.share * 100,
      choice->best ? "" : " None of these fits: a longer spring, or one that works farther from the axis.");
}

/// "A, B and C".
std::string named(const std::vector<std::string>& names) {
  std::string out;
  for (std::size_t k = 0; k < names.size(); ++k) {
    out += (k == 0 ? "" : k + 1 == names.size() ? " and " : ", ") + names[k];
  }
  return out;
}

}  // namespace

const char* word(ActionVerdict verdict) {
  switch (verdict) {
    case ActionVerdict::quick:
      return "quick";
    case ActionVerdict::sluggish_cold:
      return "sluggish in the cold";
    case ActionVerdict::sluggish:
      return "sluggish";
    case ActionVerdict::stays:
      return "stays";
    case ActionVerdict::binds:
      return "binds";
    case ActionVerdict::cannot_tell:
      break;
  }
  return "cannot tell";
}

const Worked* KeyAction::figure(const std::string& code) const {
  const auto found = std::ranges::find(figures, code, &Worked::code);
  return found == figures.end() ? nullptr : &*found;
}

Expected<ActionResult> work_action(const record::Instrument& instrument, const record::Shop& shop,
                                   const InstrumentResult& result, LengthUnit unit) {
  const ShopFigures figures(shop);
  ActionResult out;
  out.title = instrument.title;
  out.units = instrument.units;
  const auto temperature = [&](const char* name, const record::TemperatureEntry& e) {
    return given(name, e, {}, shop);
  };
  const Given bench =
      temperature("temperature at the bench", instrument.body.bench_temperature)
          .value_or(Given{"temperature at the bench", 20, 0, "degC", Origin::preset, {}, false});
  const auto cold = temperature("coldest it is played at", instrument.body.service_from);
  const auto warm = temperature("warmest it is played at", instrument.body.service_to);
  out.bench = bench.value;
  if (cold) out.cold = cold->value;
  if (warm) out.warm = warm->value;
  out.limit = figures.number("sluggish above", &record::MovementPresets::sluggish, "ms").value;

  struct Candidate {
    OilModel model;
    double cold, warm;
  };
  std::vector<Candidate> oils;
  for (const record::Oil& oil : figures.oils()) {
    auto model = OilModel::of(oil, figures);
    if (!model) return tl::unexpected(model.error());
    OilRow row;
    row.name = oil.name;
    row.bench = model->at("bench", bench);
    if (cold) row.cold = model->at("cold", *cold);
    const double warmest = warm ? model->at("warm", *warm).value : row.bench.value;
    oils.push_back({std::move(*model), row.cold ? row.cold->value : row.bench.value, warmest});
    out.oils.push_back(std::move(row));
  }
  out.oil_said = instrument.oil.has_value();
  out.oil = out.oil_said ? instrument.oil->name.text : figures.usual_oil();
  // A shop that lists oils and not the usual one: the first it lists.
  if (!out.oil_said && figures.oil(out.oil) == nullptr) out.oil = out.oils.front().name;
  const auto used = std::ranges::find(out.oils, out.oil, &OilRow::name);
  if (used == out.oils.end()) {
    return fail(Fault::not_found, fmt::format("the shop document has no oil \"{}\"", out.oil),
                "one of its oils", instrument.oil ? Place(instrument.oil->name.place) : Place{});
  }
  used->in_use = true;
  const OilModel& oil = oils[static_cast<std::size_t>(used - out.oils.begin())].model;

  // What is asked of an oil: in time at the coldest with the return's own ± to spare.
  struct Told {
    std::string name;
    bool rod;
    std::vector<bool> in_time;
    bool without_any;
  };
  std::vector<Told> told;
  for (const KeyResult& key : result.keys) {
    KeyModel model(key, figures, unit);
    KeyAction action = model.run(oil, bench, cold, out.limit);
    if (model.moves()) {
      const double limit = out.limit / (1 + model.doubt());
      Told t{key.id, model.is_rod(), {}, model.returns(0) <= limit};
      double thickest = -1;
      for (std::size_t k = 0; k < oils.size(); ++k) {
        t.in_time.push_back(model.returns(oils[k].cold) <= limit);
        out.oils[k].in_time += t.in_time.back() ? 1 : 0;
        out.oils[k].quiet += model.knock(oils[k].warm) < 1 ? 1 : 0;
        if (t.in_time.back() && oils[k].cold > thickest) {
          thickest = oils[k].cold;
          action.thickest = out.oils[k].name;
        }
      }
      told.push_back(std::move(t));
    }
    out.keys.push_back(std::move(action));
  }
  out.told = static_cast<int>(told.size());

  // Advice: the thickest that all keys bear which bear any oil at all; for rods and points apart where that
  // differs.
  const std::string when = cold ? fmt::format("at {:g} °C", *out.cold) : "at the bench";
  const auto best_for = [&](auto&& counts) -> std::optional<std::size_t> {
    std::optional<std::size_t> best;
    for (std::size_t k = 0; k < oils.size(); ++k) {
      const bool all = std::ranges::all_of(told, [&](const Told& t) { return !counts(t) || t.in_time[k]; });
      if (all && (!best || oils[k].cold > oils[*best].cold)) best = k;
    }
    return best;
  };
  const auto bears = [](const Told& t) { return t.without_any; };
  if (!std::ranges::any_of(told, bears)) {
    out.advice.emplace_back(told.empty() ? "No key's motion is known: springs and openings first."
                                         : "No key comes back in time, even without oil: springs first.");
  } else if (const auto best = best_for(bears)) {
    out.advice.push_back(
        fmt::format("The thickest oil with which they are back within {:.0f} ms {}, their ± counted: {}.",
                    out.limit, when, out.oils[*best].name));
    for (const bool rods : {true, false}) {
      const auto part = [&](const Told& t) { return bears(t) && t.rod == rods; };
      const auto own = best_for(part);
      if (own && *own != *best && std::ranges::any_of(told, part)) {
        out.advice.push_back(
            fmt::format("{} alone would bear {}.", rods ? "The rods" : "The points", out.oils[*own].name));
      }
    }
    // What keeps the next thicker one out.
    std::optional<std::size_t> next;
    for (std::size_t k = 0; k < oils.size(); ++k) {
      if (oils[k].cold > oils[*best].cold && (!next || oils[k].cold < oils[*next].cold)) next = k;
    }
    if (next) {
      std::vector<std::string> late;
      for (const Told& t : told) {
        if (bears(t) && !t.in_time[*next]) late.push_back(t.name);
      }
      out.advice.push_back(
          fmt::format("With {} these would be late: {}.", out.oils[*next].name, named(late)));
    }
    if (!out.oils[*best].in_use && out.oil_said) {
      out.advice.push_back(fmt::format("In use is {}.", out.oil));
    }
  } else {
    std::vector<std::string> late;
    for (const Told& t : told) {
      if (bears(t) && std::ranges::none_of(t.in_time, [](bool in) { return in; })) late.push_back(t.name);
    }
    out.advice.push_back(
        late.empty() ? fmt::format("No one oil is in time {} with every key.", when)
                     : fmt::format("None of the oils at hand is thin enough {} for {}.", when, named(late)));
  }
  std::vector<std::string> beyond;
  for (const Told& t : told) {
    if (!t.without_any) beyond.push_back(t.name);
  }
  if (!beyond.empty() && std::ranges::any_of(told, bears)) {
    out.advice.push_back(fmt::format("No oil cures {}: spring, friction or weight.", named(beyond)));
  }
  return out;
}

Expected<const KeyAction*> find_key(const ActionResult& result, const std::string& id) {
  std::vector<std::string> ids;
  for (const KeyAction& key : result.keys) {
    if (key.id == id) return &key;
    ids.push_back(key.id);
  }
  const std::string near = nearest_name(id, ids);
  return fail(Fault::not_found, fmt::format("there is no key \"{}\"", id),
              near.empty() ? "one of " + listed(ids) : fmt::format("perhaps \"{}\"", near));
}

std::string to_json(const ActionResult& result, const std::string& only_key) {
  const auto maybe = [](const std::optional<double>& v) { return v ? number(*v) : Json(nullptr); };
  Json out = {
      {"title", result.title},
      {"oil", result.oil},
      {"oil_named", result.oil_said},
      {"limit_ms", number(result.limit)},
      {"temperatures",
       {{"bench", number(result.bench)}, {"coldest", maybe(result.cold)}, {"warmest", maybe(result.warm)}}}};
  Json keys = Json::array();
  for (const KeyAction& key : result.keys) {
    if (!only_key.empty() && key.id != only_key) continue;
    Json figures = Json::object();
    for (const Worked& w : key.figures) figures[w.code] = json_of(w);
    Json wires = Json::array();
    for (const WireRow& w : key.wires) {
      wires.push_back({{"name", w.name},
                       {"diameter", number(w.option.diameter)},
                       {"set", number(w.option.set)},
                       {"touch_at_rest", number(in_newtons(w.option.touch_at_rest))},
                       {"touch_pressed", number(in_newtons(w.option.touch_pressed))},
                       {"stress_share", number(w.option.share)},
                       {"slope_deg", number(in_degrees(w.option.slope))},
                       {"fits", w.option.fit == movement::WireFit::fits},
                       {"best", w.best}});
    }
    keys.push_back({{"id", key.id},
                    {"name", key.name},
                    {"verdict", word(key.verdict)},
                    {"says", key.says},
                    {"figures", std::move(figures)},
                    {"thickest_oil", key.thickest ? Json(*key.thickest) : Json(nullptr)},
                    {"wires", std::move(wires)}});
  }
  out["keys"] = std::move(keys);
  Json oils = Json::array();
  for (const OilRow& row : result.oils) {
    oils.push_back({{"name", row.name},
                    {"in_use", row.in_use},
                    {"viscosity_bench", json_of(row.bench)},
                    {"viscosity_cold", row.cold ? json_of(*row.cold) : Json(nullptr)},
                    {"keys_in_time", row.in_time},
                    {"keys_quiet", row.quiet},
                    {"keys_told", result.told}});
  }
  out["oils"] = std::move(oils);
  out["advice"] = result.advice;
  return text_of(out);
}

}  // namespace hingeline::service
