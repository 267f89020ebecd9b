#include "hingeline/service/bow.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>
#include <limits>

#include "climate.h"
#include "json_parts.h"

namespace hingeline::service {
namespace {

constexpr double kPerMetre = 1e-3;  // of 1/mm
constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

WithDoubt doubt(const Worked& w) { return {millimetres(w.value), millimetres(w.plus_minus())}; }

Measured<Length> length_of(const Given& g) {
  return body::with_standard(Length::of(g.value), Length::of(g.standard));
}
Measured<Angle> angle_of(const Given& g) {
  return body::with_standard(Angle::of(g.value), Angle::of(g.standard));
}

/// The general figures' preset where the shop has none.
template <class E>
const E& preset(const record::Shop& shop, E record::BodyPresets::*member) {
  const E& own = shop.presets.body.*member;
  return own.known() ? own : general_shop().presets.body.*member;
}

/// Numbers of the bow's readings, and the readings made of such numbers again.
struct BowGivens {
  std::vector<Given> givens;
  int side = 1;
  bool has_chord = false;
  bool has_diameter = false;

  [[nodiscard]] body::BowReadings readings(std::span<const double> v) const {
    body::BowReadings r;
    r.side = side;
    std::size_t k = 0;
    const auto next = [&] {
      const std::size_t at = k++;
      return body::with_standard(Length::of(v[at]), Length::of(givens[at].standard));
    };
    if (has_chord) r.chord = next();
    if (has_diameter) r.surface = next().value / 2;
    while (k < v.size()) {
      const Measured<Length> station = next();
      r.readings.push_back({station, next()});
    }
    return r;
  }
  [[nodiscard]] body::BowReadings readings() const {
    std::vector<double> v;
    v.reserve(givens.size());
    for (const Given& g : givens) v.push_back(g.value);
    return readings(v);
  }
};

BowGivens bow_givens(const record::Body& body, const record::Shop& shop, std::vector<Said>& notes) {
  BowGivens out;
  const record::Bow& bow = *body.bow;
  out.side = bow.side == record::BodySide::minus ? -1 : 1;
  if (const auto chord = given("chord", bow.chord, {}, shop)) {
    out.has_chord = true;
    out.givens.push_back(*chord);
  }
  if (const auto diameter = given("diameter of the body", body.diameter, {}, shop)) {
    out.has_diameter = true;
    out.givens.push_back(*diameter);
  } else {
    notes.emplace_back("the body's diameter is not given: the straightedge is taken to lie on its axis");
  }
  int number = 0;
  for (const record::BowReading& r : bow.readings) {
    ++number;
    const auto station = given(fmt::format("station {}", number), r.station, {}, shop);
    const auto value = given(fmt::format("gap at station {}", number), r.value, {}, shop);
    if (!station || !value) {
      notes.push_back(say(fmt::format("bow reading {} has no value: left out", number)));
      continue;
    }
    out.givens.push_back(*station);
    out.givens.push_back(*value);
  }
  return out;
}

Expected<BowRead> read_bow(const BowGivens& g, const Place& place) {
  auto bow = body::fit_bow(g.readings());
  if (!bow) {
    Error e = bow.error();
    if (e.place.pointer.empty()) e.place = place;
    return tl::unexpected(std::move(e));
  }
  BowRead out;
  out.bow = std::move(*bow);
  const bool ends = out.bow.degrees_of_freedom == 0 && g.readings().readings.size() == 1;
  out.curvature =
      work("curvature", "curvature of the body", "1/m",
           ends ? "8 f / (C² + 4 f²) for a gap f at the middle of the chord C (off the middle 2 f / (a b), a "
                  "and b from there to the ends), turned to the body's axis"
                : "weighted least squares of a circle through the readings, straightedge free at both "
                  "ends, turned to the body's axis",
           g.givens, [&](std::span<const double> v) {
             const auto b = body::fit_bow(g.readings(v));
             return b ? b->curvature.value.raw() / kPerMetre : kNone;
           });
  // Where the bend is not even the fit's own, wider figure stands.
  out.curvature.standard = std::max(out.curvature.standard, out.bow.curvature.standard().raw() / kPerMetre);
  if (!out.bow.even) {
    out.curvature.remark =
        fmt::format("chi-square {:.1f} with {} degrees of freedom: ± widened by its root share",
                    out.bow.chi_square, out.bow.degrees_of_freedom);
  }
  const Length chord = out.bow.to - out.bow.from;
  const Given kappa = reckoned("curvature of the body", out.curvature.value, out.curvature.standard, "1/m");
  out.sagitta = work("sagitta", "sagitta over the readings' length", "mm", "R - sqrt(R² - C²/4)", {kappa},
                     [&](std::span<const double> v) {
                       const auto f = body::sagitta_of(body::per_millimetre(v[0] * kPerMetre), chord);
                       return f ? f->raw() : kNone;
                     });
  if (std::abs(out.curvature.value) > out.curvature.plus_minus()) {
    out.radius = work("radius", "radius of the bend", "m", "1 / curvature", {kappa},
                      [](std::span<const double> v) { return 1 / std::abs(v[0]); });
  }
  return out;
}

/// A key's place and joints, for the body room.
struct PlacedKey {
  const KeyResult* key = nullptr;
  Given end_play;
  Given span;
  Given off_axis;
  std::array<std::optional<body::ConeJoint>, 2> joints;
  Length low, high;

  [[nodiscard]] body::KeyOnBody on_body(double span_mm, double off_axis_mm) const {
    return {Length::of(span_mm), body::with_standard(Length::of(off_axis_mm), Length::of(off_axis.standard)),
            joints};
  }
  [[nodiscard]] body::KeyWitness witness() const {
    return {on_body(span.value, off_axis.value), {length_of(end_play), low, high}};
  }
};

/// The end play wanted: the plan's window, or where no fit satisfies it, what was asked for.
std::pair<Length, Length> window_of(const KeyResult& key) {
  const plan::Window& w = key.plan.window;
  if (!w.crossed) return {w.low, w.high};
  return {key.key_case->window.window_low, key.key_case->window.window_high};
}

std::optional<PlacedKey> place_of(const KeyResult& key, const record::Shop& shop) {
  const auto off_axis = given("hinge line off the body's axis", key.source->hinge.off_axis, {}, shop);
  if (!off_axis) return std::nullopt;
  PlacedKey p;
  p.key = &key;
  const auto& play = key.estimate()[Figure::end_play];
  p.end_play = reckoned("end play now", play.value, play.plus_minus / 2, "mm");
  const auto span = given("span between the posts", key.source->hinge.span, {}, shop);
  p.span = span ? *span : reckoned("span between the posts", 0, 0, "mm");
  p.span.value = key.estimate().geometry.span.raw();
  p.off_axis = *off_axis;
  p.joints = cone_joints(key);
  std::tie(p.low, p.high) = window_of(key);
  return p;
}

constexpr const char* kEffectFormula =
    "- curvature x off the axis x span, exactly S - (2/k) asin(k S / (2 (1 - k y))), less what the posts' "
    "lean k S/2 "
    "costs in both joints";

void work_key(BowKey& k, const PlacedKey& p, const Given& curvature) {
  const auto bent = [&](double per_metre, double off_axis, double span) {
    return body::bend_effect(
        p.on_body(span, off_axis),
        body::with_standard(body::per_millimetre(per_metre * kPerMetre), body::Curvature{}));
  };
  /// v: end play, curvature, off the axis, span.
  const auto explained = [&](std::span<const double> v) -> std::optional<body::Explained> {
    const auto e = bent(v[1], v[2], v[3]);
    if (!e) return std::nullopt;
    return body::explain({body::with_standard(Length::of(v[0]), Length{}), p.low, p.high}, *e);
  };
  const auto at = bent(curvature.value, p.off_axis.value, p.span.value);
  if (!at) {
    k.problem = at.error();
    k.problem->place = p.key->source->hinge.off_axis.place;
    return;
  }
  k.lean = at->lean;
  k.tilt_cost = at->tilt_cost;
  k.effect = work("effect", "what the bend does to the end play", "mm", kEffectFormula,
                  {curvature, p.off_axis, p.span}, [&](std::span<const double> v) {
                    const auto e = bent(v[0], v[1], v[2]);
                    return e ? e->end_play.value.raw() : kNone;
                  });
  k.remains = work("remains", "end play after straightening", "mm", "end play now less what the bend does",
                   {p.end_play, curvature, p.off_axis, p.span}, [&](std::span<const double> v) {
                     const auto e = explained(v);
                     return e ? e->remains.value.raw() : kNone;
                   });
  // What is not surely off its window leaves nothing to explain.
  const Length excess = body::explain({length_of(p.end_play), p.low, p.high}, *at).excess;
  if (!(std::abs(excess.raw()) > p.end_play.plus_minus())) return;
  k.share = work("share", "share that the bend explains", "%",
                 "what the bend does over what the end play is off its window",
                 {p.end_play, curvature, p.off_axis, p.span}, [&](std::span<const double> v) {
                   const auto e = explained(v);
                   return e && e->share ? 100 * e->share->value : kNone;
                 });
}

/// How the end play stands to the window.
enum class Stands { under, within, over };
Stands stands(double play, const BowKey& k) {
  return play < k.low.raw() ? Stands::under : play > k.high.raw() ? Stands::over : Stands::within;
}
const char* fault_of(Stands s, double play) {
  return s == Stands::over ? "loose" : play < 0 ? "binding" : "tight";
}

Said words_of(const BowKey& k) {
  const Stands now = k.share ? stands(k.end_play.value, k) : Stands::within;
  const Stands then = stands(k.remains.value, k);
  const double effect = std::abs(k.effect.value);
  if (effect <= k.effect.plus_minus() && effect < 1e-3) return "the bend hardly touches it";
  if (now == Stands::within) {
    if (then == Stands::within)
      return say("within its window or nearly, and after straightening with ", doubt(k.remains));
    return say("right only because of the bend: straightened it is ", fault_of(then, k.remains.value),
               " with ", doubt(k.remains));
  }
  const std::string share = show(*k.share, LengthUnit::mm);
  const char* fault = fault_of(now, k.end_play.value);
  if (k.share->value < 0) {
    return say("not ", fault, " by the bend, which works the other way: straightened it has ",
               doubt(k.remains));
  }
  if (then == Stands::within) {
    return say("the bend explains why it is ", fault, " (", share,
               "): straightened it is within its window with ", doubt(k.remains));
  }
  if (then != now) {
    return say("the bend does more than it is ", fault, " by (", share, "): straightened it is ",
               fault_of(then, k.remains.value), " with ", doubt(k.remains));
  }
  return say("the bend explains ", share, " of its being ", fault, ": straightened it still has ",
             doubt(k.remains));
}

/// Which way it is hollow, by the keys that stand there.
std::string sides(const std::vector<BowKey>& keys, const std::vector<PlacedKey>& placed, bool plus) {
  std::string out;
  std::size_t count = 0;
  constexpr std::size_t kMostNamed = 3;
  for (const PlacedKey& p : placed) {
    if (p.off_axis.value == 0 || (p.off_axis.value > 0) != plus) continue;
    if (++count > kMostNamed) continue;
    const auto k = std::find_if(keys.begin(), keys.end(), [&](const BowKey& b) { return b.id == p.key->id; });
    out += (out.empty() ? "" : ", ") + (k->name.empty() ? k->id : k->name);
  }
  if (count > kMostNamed) out += fmt::format(" and {} more", count - kMostNamed);
  return out;
}

/// Two digits of a distance.
std::string sigmas(double d) { return fmt::format("{:.1f} standard uncertainties", d); }

// ---- posts

constexpr std::size_t kPostParts = 3;  // lean, turn, across

struct PostGivens {
  std::vector<Given> givens;      ///< what was read, then the height where a lean needs it
  std::vector<std::size_t> part;  ///< of each reading: 0 to 2 upper lean, turn, across; 3 to 5 lower
  Given height;
  bool with_height = false;
  double span = 0;

  [[nodiscard]] std::pair<body::Posture, body::Posture> posts(std::span<const double> v) const {
    body::Posture upper;
    body::Posture lower;
    for (std::size_t k = 0; k < part.size(); ++k) {
      body::Posture& p = part[k] < kPostParts ? upper : lower;
      Given g = givens[k];
      g.value = v[k];
      switch (part[k] % kPostParts) {
        case 0:
          p.lean = angle_of(g);
          break;
        case 1:
          p.turn = angle_of(g);
          break;
        default:
          p.across = length_of(g);
      }
    }
    upper.height = lower.height = Length::of(with_height ? v[part.size()] : height.value);
    return {upper, lower};
  }
};

std::optional<PostGivens> post_givens(const KeyResult& key, const record::Shop& shop) {
  PostGivens out;
  const record::Hinge& h = key.source->hinge;
  for (const Side side : {Side::upper, Side::lower}) {
    const record::Post& post = side == Side::upper ? h.upper.post : h.lower.post;
    const std::string of = word(side);
    const std::size_t first = side == Side::upper ? 0 : kPostParts;
    const auto take = [&](std::size_t part, const auto& entry, const char* name) {
      const auto g = given(of + " post's " + name, entry, {}, shop);
      if (!g) return;
      out.givens.push_back(*g);
      out.part.push_back(first + part);
      out.with_height = out.with_height || part == 0;
    };
    take(0, post.lean, "lean");
    take(1, post.turn, "turn");
    take(2, post.across, "offset across");
  }
  if (out.part.empty()) return std::nullopt;
  const auto height =
      given("height of the hinge line", h.post_height, preset(shop, &record::BodyPresets::post_height), shop);
  out.height = height ? *height : reckoned("height of the hinge line", 0, 0, "mm");
  if (out.with_height) out.givens.push_back(out.height);
  out.span = key.estimate().geometry.span.raw();
  return out;
}

void add_corrections(PostsKey& k, const PostGivens& g) {
  std::optional<Given> across[2];
  for (std::size_t i = 0; i < g.part.size(); ++i) {
    const Given& read = g.givens[i];
    const bool is_upper = g.part[i] < kPostParts;
    const char* side = is_upper ? "upper" : "lower";
    const bool matters = std::abs(read.value) > read.plus_minus();
    if (g.part[i] % kPostParts == 2) {
      across[is_upper ? 0 : 1] = read;
      continue;
    }
    const char* what = g.part[i] % kPostParts == 0 ? "lean" : "turn";
    if (!matters) {
      k.corrections.push_back(say("the ", side, " post's ", what, " of ",
                                  show(read.value, read.plus_minus(), "rad", LengthUnit::mm),
                                  " is within its ±: leave it"));
      continue;
    }
    const std::string by = show(std::abs(read.value), read.plus_minus(), "rad", LengthUnit::mm);
    if (g.part[i] % kPostParts == 1) {
      k.corrections.push_back(say("turn the ", side, " post back by ", by));
      continue;
    }
    const Given lean = read;
    const Worked tip =
        work("tip", "tip", "mm", "height x sin(lean)", {lean, g.height}, [](std::span<const double> v) {
          return body::tip_travel(Angle::of(std::abs(v[0])), Length::of(v[1])).raw();
        });
    k.corrections.push_back(say("lean the ", side, " post back ", read.value > 0 ? "inwards" : "outwards",
                                " by ", by, ", ", doubt(tip), " at the hinge line"));
  }
  if (across[0] || across[1]) {
    const double upper = across[0] ? across[0]->value : 0;
    const double lower = across[1] ? across[1]->value : 0;
    const double pm =
        std::hypot(across[0] ? across[0]->plus_minus() : 0, across[1] ? across[1]->plus_minus() : 0);
    const Length apart = millimetres(std::abs(upper - lower));
    if (apart.raw() > pm) {
      k.corrections.push_back(
          say("bring the posts into line across: they are ", WithDoubt{apart, millimetres(pm)}, " out"));
    } else {
      k.corrections.push_back(
          say("across the line the posts agree within ", millimetres(pm), ": leave them"));
    }
  }
}

PostsKey work_posts(const KeyResult& key, const PostGivens& g, const record::Shop& shop) {
  PostsKey k;
  k.id = key.id;
  k.name = key.name;
  const auto joints = cone_joints(key);
  const auto effect_at = [&](std::span<const double> v) {
    const auto [upper, lower] = g.posts(v);
    return body::post_effect(upper, lower, Length::of(g.span));
  };
  const auto total = [&](std::span<const double> v) {
    const body::PostEffect e = effect_at(v);
    double play = e.span_change.value.raw();
    if (joints[0]) play -= body::tilt_cost(*joints[0], e.upper.value).raw();
    if (joints[1]) play -= body::tilt_cost(*joints[1], e.lower.value).raw();
    return play;
  };
  k.span_change = work("span_change", "change of the distance between the points", "mm",
                       "height x sin(lean) of both posts, and the line's slant", g.givens,
                       [&](std::span<const double> v) { return effect_at(v).span_change.value.raw(); });
  const char* tilt =
      "angle between where the point looks (lean and turn) and the line between the posts (offset across)";
  k.upper_tilt = work("upper_tilt", "upper point out of line", "rad", tilt, g.givens,
                      [&](std::span<const double> v) { return effect_at(v).upper.value.raw(); });
  k.lower_tilt = work("lower_tilt", "lower point out of line", "rad", tilt, g.givens,
                      [&](std::span<const double> v) { return effect_at(v).lower.value.raw(); });
  k.effect =
      work("effect", "what the posts do to the end play", "mm",
           "change of the distance between the points less the tilts' costs, about gamma h / sin 2a each",
           g.givens, total);
  std::vector<Given> with_play = g.givens;
  const auto& play = key.estimate()[Figure::end_play];
  with_play.push_back(reckoned("end play now", play.value, play.plus_minus / 2, "mm"));
  k.remains =
      work("remains", "end play with the posts brought back", "mm", "end play now less what the posts do",
           with_play, [&](std::span<const double> v) { return v.back() - total(v.first(v.size() - 1)); });

  const belief::KeyGeometry& geometry = key.estimate().geometry;
  if (geometry.kind == belief::HingeKind::rod) {
    const record::MaterialPreset* steel = material_of(shop, "steel");
    if (steel == nullptr || steel->modulus.absent()) steel = material_of(general_shop(), "steel");
    const auto modulus = given("modulus of the rod", {}, steel->modulus, "GPa", shop);
    const auto& rods = shop.presets.rods.friction;
    const auto friction = given("friction of the rod", {},
                                rods.present ? rods : general_shop().presets.rods.friction, "", shop);
    const auto binding = [&](std::span<const double> v, double gpa) {
      const auto [upper, lower] = g.posts(v);
      return body::rod_binding({geometry.rod_diameter, geometry.bore, geometry.span}, upper, lower,
                               body::gigapascals(gpa), friction ? friction->value : 0);
    };
    k.bow = work("rod_bow", "how far the posts bend the rod", "mm",
                 "a beam held in each post at the angle of its bore, without load between", g.givens,
                 [&](std::span<const double> v) { return binding(v, modulus->value).bow.raw(); });
    std::vector<Given> with_modulus = g.givens;
    with_modulus.push_back(*modulus);
    k.force =
        work("rod_force", "force of the rod on its tube", "N", "48 E I (bow - clearance) / L³", with_modulus,
             [&](std::span<const double> v) { return binding(v.first(v.size() - 1), v.back()).force.raw(); });
    std::vector<double> at;
    for (const Given& x : g.givens) at.push_back(x.value);
    const body::RodBinding b = binding(at, modulus->value);
    k.words = say("the posts bend the rod by ", doubt(*k.bow), ", its tube leaves ", b.clearance);
    const double spare = b.clearance.raw() - k.bow->value;
    if (b.binds) {
      k.words << fmt::format(": it {} with {} and drags with {:.2g} N mm",
                             -spare > k.bow->plus_minus() ? "binds" : "may bind",
                             show(*k.force, LengthUnit::mm), b.torque.raw());
    } else {
      k.words << (spare > k.bow->plus_minus() ? ": free" : ": free, but hardly");
    }
  } else {
    const double value = k.effect.value;
    const Length cost = millimetres(k.span_change.value - value);
    k.words = say("the posts ", value < 0 ? "take " : "give ",
                  WithDoubt{millimetres(std::abs(value)), millimetres(k.effect.plus_minus())},
                  value < 0 ? " of the end play" : " of end play");
    if (cost.raw() > 0) k.words << say(", ", cost, " of it lost by the points' standing out of line");
    if (value >= 0 && cost.raw() > 0) {
      k.words = say("the posts give ", WithDoubt{millimetres(value), millimetres(k.effect.plus_minus())},
                    " of end play, what the points lose by standing out of line (", cost, ") taken off");
    }
    k.words << say("; brought back, the key has ", doubt(k.remains));
  }
  add_corrections(k, g);
  return k;
}

}  // namespace

std::optional<BodyBend> bend_read(const record::Instrument& instrument, const record::Shop& shop) {
  if (!instrument.body.bow) return std::nullopt;
  std::vector<Said> unsaid;
  const auto read = read_bow(bow_givens(instrument.body, shop, unsaid), instrument.body.bow->place);
  if (!read) return std::nullopt;
  return BodyBend{read->curvature.value * kPerMetre, read->curvature.standard * kPerMetre,
                  instrument.body.bow->readings.size()};
}

Expected<BowResult> bow(const InstrumentResult& result, const record::Instrument& instrument,
                        const record::Shop& shop) {
  BowResult out;
  out.title = result.title;
  std::vector<PlacedKey> placed;
  for (const KeyResult& key : result.keys) {
    BowKey k;
    k.id = key.id;
    k.name = key.name;
    k.problem = key.problem;
    if (!key.problem) {
      if (auto p = place_of(key, shop)) {
        k.placed = true;
        k.low = p->low;
        k.high = p->high;
        placed.push_back(std::move(*p));
      }
      if (const auto g = post_givens(key, shop)) out.posts.push_back(work_posts(key, *g, shop));
    }
    out.keys.push_back(std::move(k));
  }
  const bool readings = instrument.body.bow && !instrument.body.bow->readings.empty();
  if (!readings && placed.empty() && out.posts.empty()) {
    return fail(
        Fault::content, "nothing in the document tells of a bent body or of posts",
        "\"bow\" under \"body\", \"off_axis\" under a key's \"hinge\", or \"lean\", \"turn\" or \"across\" "
        "under a post",
        instrument.body.place);
  }

  std::optional<BowGivens> givens;
  if (readings) {
    givens = bow_givens(instrument.body, shop, out.notes);
    auto read = read_bow(*givens, instrument.body.bow->place);
    if (!read) return tl::unexpected(read.error());
    out.read = std::move(*read);
  }
  if (!placed.empty()) {
    std::vector<body::KeyWitness> witnesses;
    for (const PlacedKey& p : placed) witnesses.push_back(p.witness());
    body::OwnPlay own;
    const auto half = [](const record::LengthEntry& e, Length& into) {
      if (e.known()) into = e.value / 2;
    };
    half(preset(shop, &record::BodyPresets::own_play), own.each);
    half(preset(shop, &record::BodyPresets::common_play), own.common);
    const auto told = body::bend_from_keys(witnesses, own);
    if (told) {
      const auto as_worked = [](const char* code, const char* name, const char* unit, double value,
                                double standard) {
        Worked w;
        w.code = code;
        w.name = name;
        w.unit = unit;
        w.formula = "weighted least squares of one curvature and one common part over all keys' end plays";
        w.value = value;
        w.standard = standard;
        return w;
      };
      BowTold t;
      t.curvature =
          as_worked("curvature", "curvature by the keys", "1/m", told->curvature.value.raw() / kPerMetre,
                    told->curvature.standard().raw() / kPerMetre);
      t.common = as_worked("common", "what all keys have beyond the middle of their windows", "mm",
                           told->common.value.raw(), told->common.standard().raw());
      t.chi_square = told->chi_square;
      t.degrees_of_freedom = told->degrees_of_freedom;
      t.asked = placed.size();
      for (std::size_t i = 0; i < placed.size(); ++i) {
        auto& k = *std::find_if(out.keys.begin(), out.keys.end(),
                                [&](const BowKey& b) { return b.id == placed[i].key->id; });
        k.distance = told->keys[i].distance;
        k.contradicts = !told->keys[i].used;
        t.used += told->keys[i].used ? 1U : 0U;
      }
      out.told = std::move(t);
    } else {
      out.notes.push_back(say(told.error().what, ": the keys cannot tell of a bend"));
    }
  }
  if (readings || !placed.empty()) {
    std::string lacking;
    for (const BowKey& k : out.keys) {
      if (!k.problem && !k.placed)
        lacking += (lacking.empty() ? "" : ", ") + (k.name.empty() ? k.id : k.name);
    }
    if (!lacking.empty()) {
      out.notes.push_back(
          say("\"off_axis\" is not given, so what the bend does is not known, of: ", lacking));
    }
  }

  // What was read stands before what the keys tell: their end plays are what it is held against.
  std::optional<Given> curvature;
  if (out.read) {
    curvature =
        reckoned("curvature of the body", out.read->curvature.value, out.read->curvature.standard, "1/m");
  } else if (out.told) {
    curvature =
        reckoned("curvature by the keys", out.told->curvature.value, out.told->curvature.standard, "1/m");
  }
  if (curvature) {
    const bool bent = std::abs(curvature->value) > curvature->plus_minus();
    if (!bent) {
      out.words.push_back(say("no bend is shown: ", show(*curvature, LengthUnit::mm), " is within its ±"));
    } else {
      const bool plus = curvature->value > 0;
      const std::string hollow = sides(out.keys, placed, plus);
      const std::string round = sides(out.keys, placed, !plus);
      Said w = say("bent, hollow on the ", plus ? "plus" : "minus", " side");
      if (out.read)
        w << say(": ", doubt(out.read->sagitta), " over ", Size{out.read->bow.to - out.read->bow.from});
      if (!hollow.empty()) w << say("; there posts close in and keys tighten: ", hollow);
      if (!round.empty()) w << say("; on the round side posts spread and keys loosen: ", round);
      out.words.push_back(std::move(w));
    }
    for (const PlacedKey& p : placed) {
      auto& k =
          *std::find_if(out.keys.begin(), out.keys.end(), [&](const BowKey& b) { return b.id == p.key->id; });
      Given here = *curvature;
      if (out.read && !out.read->bow.even) {
        // A bend that is not even is another one at every key.
        const auto along = given("along", p.key->source->hinge.along, {}, shop);
        if (along) {
          const Length from = Length::of(along->value);
          const auto local = body::bend_between(givens->readings(), from, from + Length::of(p.span.value));
          if (local) {
            here = reckoned("curvature of the body at this key", local->curvature.value.raw() / kPerMetre,
                            local->curvature.standard().raw() / kPerMetre, "1/m");
          }
        }
      }
      k.end_play = work("end_play", "end play now", "mm", "", {p.end_play},
                        [](std::span<const double> v) { return v[0]; });
      work_key(k, p, here);
      if (k.problem) continue;
      k.words = words_of(k);
      if (k.contradicts) {
        k.words << say("; the other keys foretell otherwise (", sigmas(*k.distance),
                       "): look at its own posts and fit");
      }
    }
  }
  if (out.read && !out.read->bow.even) {
    Said w = say("not one even bend: readings would lie so badly only ",
                 fmt::format("{:.2g} times in a hundred", 100 * out.read->bow.chance));
    const auto worst = std::max_element(out.read->bow.stretches.begin(), out.read->bow.stretches.end(),
                                        [](const body::Stretch& a, const body::Stretch& b) {
                                          return abs(a.curvature.value) < abs(b.curvature.value);
                                        });
    if (worst != out.read->bow.stretches.end()) {
      w << say("; sharpest from ", Size{worst->from}, " to ", Size{worst->to}, " (",
               show(worst->curvature.value.raw() / kPerMetre, worst->curvature.plus_minus.raw() / kPerMetre,
                    "1/m", LengthUnit::mm),
               "). Keys with \"along\" are held against the bend where they stand");
    }
    out.words.push_back(std::move(w));
  }
  if (out.told) {
    Said w = say("by themselves the keys tell of ", show(out.told->curvature, LengthUnit::mm),
                 fmt::format(" ({} of {} keys", out.told->used, out.told->asked),
                 out.told->used < out.told->asked ? ", the others contradict" : "", ")");
    if (out.read) {
      const auto made = [](const Worked& c) {
        return body::with_standard(body::per_millimetre(c.value * kPerMetre),
                                   body::per_millimetre(c.standard * kPerMetre));
      };
      out.comparison = body::compare(made(out.read->curvature), made(out.told->curvature));
      w << say(out.comparison->contradict() ? ": that contradicts the straightedge, "
                                            : ": that agrees with the straightedge, ",
               sigmas(out.comparison->distance), " apart");
      if (out.comparison->contradict()) w << say(". Read the bow again, on the side that \"side\" names");
    }
    out.words.push_back(std::move(w));
  }
  return out;
}

std::string to_json(const BowResult& r, LengthUnit unit, const std::string& only_key) {
  Json body = Json::object();
  if (r.read) {
    const body::Bow& b = r.read->bow;
    Json stretches = Json::array();
    for (const auto& s : b.stretches) {
      stretches.push_back({{"from", number(s.from)},
                           {"to", number(s.to)},
                           {"curvature", number(s.curvature.value.raw() / kPerMetre)},
                           {"plus_minus", number(s.curvature.plus_minus.raw() / kPerMetre)}});
    }
    Json residuals = Json::array();
    for (const Length l : b.residuals) residuals.push_back(number(l));
    body["read"] = {{"curvature", json_of(r.read->curvature)},
                    {"sagitta", json_of(r.read->sagitta)},
                    {"radius", r.read->radius ? Json(json_of(*r.read->radius)) : Json()},
                    {"from", number(b.from)},
                    {"to", number(b.to)},
                    {"even", b.even},
                    {"chi_square", number(b.chi_square)},
                    {"degrees_of_freedom", b.degrees_of_freedom},
                    {"chance", number(b.chance)},
                    {"residuals", std::move(residuals)},
                    {"stretches", std::move(stretches)}};
  }
  if (r.told) {
    body["told_by_keys"] = {{"curvature", json_of(r.told->curvature)},
                            {"common", json_of(r.told->common)},
                            {"keys_used", r.told->used},
                            {"keys_asked", r.told->asked},
                            {"chi_square", number(r.told->chi_square)},
                            {"degrees_of_freedom", r.told->degrees_of_freedom}};
  }
  if (r.comparison) {
    body["comparison"] = {
        {"distance", number(r.comparison->distance)},
        {"contradict", r.comparison->contradict()},
        {"together", number(r.comparison->together.value.raw() / kPerMetre)},
        {"together_plus_minus", number(r.comparison->together.plus_minus.raw() / kPerMetre)}};
  }
  Json keys = Json::array();
  for (const BowKey& k : r.keys) {
    if (!only_key.empty() && k.id != only_key) continue;
    Json key = {{"id", k.id}, {"name", k.name}};
    if (k.problem) {
      key["problem"] = record::describe(*k.problem);
    } else if (k.placed && !k.effect.code.empty()) {
      key["end_play"] = json_of(k.end_play);
      key["window"] = {{"low", number(k.low)}, {"high", number(k.high)}};
      key["effect"] = json_of(k.effect);
      key["lean"] = number(k.lean.raw());
      key["tilt_cost"] = number(k.tilt_cost);
      key["share"] = k.share ? Json(json_of(*k.share)) : Json();
      key["remains"] = json_of(k.remains);
      key["distance"] = k.distance ? number(*k.distance) : Json();
      key["contradicts"] = k.contradicts;
      key["words"] = k.words.in(unit);
    }
    keys.push_back(std::move(key));
  }
  Json posts = Json::array();
  for (const PostsKey& k : r.posts) {
    if (!only_key.empty() && k.id != only_key) continue;
    Json corrections = Json::array();
    for (const Said& c : k.corrections) corrections.push_back(c.in(unit));
    Json key = {{"id", k.id},
                {"name", k.name},
                {"span_change", json_of(k.span_change)},
                {"upper_tilt", json_of(k.upper_tilt)},
                {"lower_tilt", json_of(k.lower_tilt)},
                {"effect", json_of(k.effect)},
                {"remains", json_of(k.remains)}};
    if (k.bow) key["rod_bow"] = json_of(*k.bow);
    if (k.force) key["rod_force"] = json_of(*k.force);
    key["words"] = k.words.in(unit);
    key["corrections"] = std::move(corrections);
    posts.push_back(std::move(key));
  }
  const auto said = [&](const std::vector<Said>& list) {
    Json out = Json::array();
    for (const Said& s : list) out.push_back(s.in(unit));
    return out;
  };
  const Json out = {{"title", r.title},        {"body", std::move(body)},   {"words", said(r.words)},
                    {"keys", std::move(keys)}, {"posts", std::move(posts)}, {"notes", said(r.notes)}};
  return text_of(out);
}

}  // namespace hingeline::service
