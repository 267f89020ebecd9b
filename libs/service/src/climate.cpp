#include "climate.h"

#include <fmt/format.h>
#include <algorithm>

#include "hingeline/contact/profile.h"
#include "nearest.h"

namespace hingeline::service {
namespace {

constexpr double kMillionth = 1e-6;

template <class Q>
Measured<Q> measured(const Given& g, double scale = 1) {
  if constexpr (std::is_same_v<Q, double>) {
    return {g.value * scale, 2 * g.standard * scale, Origin::preset};
  } else {
    return {Q::of(g.value * scale), Q::of(2 * g.standard * scale), Origin::read};
  }
}

const record::ServiceRange* range_of(const record::Shop& shop, const std::string& name) {
  for (const record::Shop* s : {&shop, &general_shop()}) {
    for (const auto& range : s->presets.services) {
      if (range.name == name) return &range;
    }
  }
  return nullptr;
}

}  // namespace

const record::MaterialPreset* material_of(const record::Shop& shop, const std::string& name) {
  for (const record::Shop* s : {&shop, &general_shop()}) {
    for (const auto& m : s->presets.materials) {
      if (m.name == name) return &m;
    }
  }
  return nullptr;
}

std::optional<Given> expansion_given(const std::string& name, const record::NumberEntry& own,
                                     const std::string& material, const record::Shop& shop) {
  const record::MaterialPreset* m = material_of(shop, material);
  return given(name, own, m != nullptr ? m->expansion : record::NumberEntry{}, "1e-6/K", shop);
}

Given moisture_given(const std::string& name, const std::string& material, const record::Shop& shop) {
  const record::MaterialPreset* m = material_of(shop, material);
  if (m != nullptr && m->moisture.absent()) {
    // A shop's own list of materials may be older than this figure.
    m = material_of(general_shop(), material);
  }
  const auto out = given(name, {}, m != nullptr ? m->moisture : record::NumberEntry{}, "1e-6/%", shop);
  return out ? *out : Given{name, 0, 0, "1e-6/%", Origin::preset, {}, false};
}

body::Service Climate::service() const {
  body::Service s;
  s.bench = measured<Temperature>(bench);
  s.coldest = std::min(s.bench.value, celsius(coldest ? coldest->value : bench.value));
  s.warmest = std::max(s.bench.value, celsius(warmest ? warmest->value : bench.value));
  s.drier = drier.value;
  s.wetter = wetter.value;
  return s;
}

Expected<Climate> climate_of(const record::Body& body, const record::Shop& shop, const std::string& asked) {
  Climate out;
  const auto bench = given("temperature at the bench", body.bench_temperature, {}, shop);
  constexpr double kUsualBench = 20;
  out.bench =
      bench ? *bench : Given{"temperature at the bench", kUsualBench, 0, "degC", Origin::preset, {}, false};
  const std::string& named = asked.empty() ? body.service.text : asked;
  const record::ServiceRange* range = nullptr;
  if (!named.empty()) {
    range = range_of(shop, named);
    if (range == nullptr) {
      std::vector<std::string> names;
      for (const record::Shop* s : {&shop, &general_shop()}) {
        for (const auto& r : s->presets.services) {
          if (std::find(names.begin(), names.end(), r.name) == names.end()) names.push_back(r.name);
        }
      }
      const std::string near = nearest_name(named, names);
      return fail(Fault::not_found, fmt::format("there is no service range \"{}\"", named),
                  near.empty() ? "one of " + listed(names) : fmt::format("perhaps \"{}\"", near),
                  asked.empty() ? static_cast<Place>(body.service.place) : Place{});
    }
    out.name = range->name;
  }
  const record::TemperatureEntry none;
  const bool own = asked.empty();
  out.coldest =
      given("coldest it is played at", own ? body.service_from : none, range ? range->from : none, shop);
  out.warmest =
      given("warmest it is played at", own ? body.service_to : none, range ? range->to : none, shop);
  const auto points = [&](const char* name, const record::NumberEntry& preset) {
    const auto g = given(name, {}, preset, "%", shop);
    return g ? *g : Given{name, 0, 0, "%", Origin::preset, {}, false};
  };
  out.drier = points("moisture content below the bench's", range ? range->drier : record::NumberEntry{});
  out.wetter = points("moisture content above the bench's", range ? range->wetter : record::NumberEntry{});
  return out;
}

body::HingeLine LineGivens::line() const {
  body::HingeLine l;
  l.span = measured<Length>(span);
  l.body = {measured<double>(body_expansion, kMillionth), measured<double>(body_moisture, kMillionth)};
  l.key = {measured<double>(key_expansion, kMillionth), measured<double>(key_moisture, kMillionth)};
  if (dries_by) l.dries_by = measured<Length>(*dries_by);
  return l;
}

std::array<std::optional<body::ConeJoint>, 2> cone_joints(const KeyResult& key) {
  std::array<std::optional<body::ConeJoint>, 2> out;
  const belief::KeyGeometry& geometry = key.estimate().geometry;
  if (geometry.kind != belief::HingeKind::pivot) return out;
  for (const Side side : {Side::upper, Side::lower}) {
    const auto& joint = geometry.at(side);
    const Angle taper = contact::fitting_taper(joint.point, joint.hole);
    if (taper.raw() <= 0) continue;
    const bool cone = joint.point.shape == contact::PointShape::cone;
    out[side == Side::upper ? 0 : 1] = body::ConeJoint{key.hinge->end(side).joint.home().insertion, taper,
                                                       cone ? joint.point.tip_radius : Length{}};
  }
  return out;
}

}  // namespace hingeline::service
