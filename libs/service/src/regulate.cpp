#include "hingeline/service/regulate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "hingeline/regulation/press.h"
#include "hingeline/regulation/regulation.h"
#include "json_parts.h"
#include "nearest.h"
#include "opening.h"

namespace hingeline::service {

const char* word(Closes c) {
  switch (c) {
    case Closes::together:
      return "together";
    case Closes::key_first:
      return "key first";
    case Closes::partner_first:
      return "partner first";
    case Closes::cannot_tell:
      break;
  }
  return "cannot tell";
}

namespace {

using Values = std::span<const double>;
using regulation::Chain;

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

/// Keys that links hold together, as numbers that each may be off.
class Group {
 public:
  /// The chain in an order of its own; nothing when a link's arm is not known.
  struct KeySlots {
    std::size_t key = 0;  ///< in the document
    std::optional<std::size_t> arm, opening, rock, share;
    double rock_left = 1;  ///< of the rock, after planned work
    double shift = 0;      ///< mm, by planned work
    [[nodiscard]] bool worked_on() const { return rock_left != 1 || shift != 0; }
  };
  struct LinkSlots {
    std::size_t link = 0;  ///< in the document
    std::size_t from = 0, to = 0;
    std::size_t driver_arm = 0, foot_arm = 0, gap = 0;
    std::optional<std::size_t> tilt;
    std::optional<Given> modulus, contact, cork;
  };

  const record::Instrument* instrument = nullptr;
  std::vector<KeySlots> keys;
  std::vector<LinkSlots> links;
  std::vector<Given> givens;

  std::size_t add(Given given) {
    givens.push_back(std::move(given));
    return givens.size() - 1;
  }
  [[nodiscard]] std::optional<std::size_t> place_of(std::size_t key) const {
    for (std::size_t k = 0; k < keys.size(); ++k) {
      if (keys[k].key == key) return k;
    }
    return std::nullopt;
  }
  [[nodiscard]] const std::string& id(std::size_t place) const {
    return instrument->keys[keys[place].key].id;
  }
  [[nodiscard]] std::vector<double> values() const {
    std::vector<double> out;
    out.reserve(givens.size());
    for (const Given& g : givens) out.push_back(g.value);
    return out;
  }

  [[nodiscard]] Expected<Chain> chain(Values v, bool after_work = false) const {
    const auto exact = [](double mm) { return Measured<Length>{millimetres(mm), Length{}, Origin::read}; };
    std::vector<regulation::ChainKey> chain_keys;
    for (std::size_t k = 0; k < keys.size(); ++k) {
      regulation::ChainKey key{id(k), std::nullopt};
      if (keys[k].arm && keys[k].opening)
        key.pad = regulation::ChainPad{exact(v[*keys[k].arm]), exact(std::max(0.0, v[*keys[k].opening]))};
      chain_keys.push_back(std::move(key));
    }
    std::vector<regulation::Link> chain_links;
    bool held = false;
    for (const LinkSlots& l : links) {
      double gap = v[l.gap];
      if (after_work && l.tilt) gap += std::tan(v[*l.tilt]) * (keys[l.from].shift - keys[l.to].shift);
      double slack = 0;
      for (const std::size_t k : {l.from, l.to}) {
        if (keys[k].rock)
          slack += v[*keys[k].rock] * v[*keys[k].share] * (after_work ? keys[k].rock_left : 1);
      }
      held = held || v[l.gap] < 0;
      chain_links.push_back({l.from,
                             l.to,
                             exact(v[l.driver_arm]),
                             exact(v[l.foot_arm]),
                             exact(gap),
                             exact(std::max(0.0, slack)),
                             {Angle{}, Angle{}, Origin::read}});
    }
    if (held) {
      // Openings were read as the pads stand. On their own stops those that a link holds off would be wider.
      auto as_read = chain_links;
      for (std::size_t n = 0; n < links.size(); ++n) {
        as_read[n].gap = exact(v[links[n].gap]);
        as_read[n].slack = exact(0);
      }
      auto stands = Chain::make(chain_keys, std::move(as_read));
      if (!stands) return stands;
      const auto rest = regulation::pose(*stands, 0, Angle{});
      for (std::size_t k = 0; k < chain_keys.size(); ++k) {
        if (chain_keys[k].pad)
          chain_keys[k].pad->opening.value += in_radians(rest.turned[k]) * chain_keys[k].pad->arm.value;
      }
    }
    return Chain::make(std::move(chain_keys), std::move(chain_links));
  }

  /// A figure of the chain, with every number's part in it.
  template <class F>
  [[nodiscard]] Worked figure(const char* code, const char* name, const char* unit, const char* formula,
                              F&& of) const {
    return work(code, name, unit, formula, givens, [&](Values v) {
      const auto made = chain(v);
      return made ? of(*made) : kNone;
    });
  }
};

/// The words of the formulas, once.
constexpr const char* kLost = "gap at rest + rock that load takes up";
constexpr const char* kLostAtPad = "motion lost x pad arm / foot arm";
constexpr const char* kLostAtTouch = "motion lost x touch arm / driver arm";
constexpr const char* kReckoned =
    "opening of the late pad - its arm x its angle when the first seats; angles by arms, gaps and rock along "
    "the links (piecewise linear)";
constexpr const char* kWeighed = "reckoned and read, each weighed by 1 / its standard uncertainty squared";
constexpr const char* kCork = "the thickness at which both seat at one angle of the pressed key";
constexpr const char* kFinger =
    "moments of finger, springs, corks (modulus x area / thickness) and pads in balance";
constexpr const char* kAfter = "gap now + what shifts along tilted faces and rock taken change";

class Regulator {
 public:
  Regulator(const record::Instrument& instrument, const record::Shop& shop, const InstrumentResult& worked)
      : instrument_(instrument), shop_(shop), presets_(shop.presets.regulation), worked_(worked) {
    const auto& general = general_shop().presets.regulation;
    const auto preset = [](const auto& own, const auto& other) -> const auto& {
      return own.known() || own.range ? own : other;
    };
    together_ = preset(presets_.together, general.together).value;
    finger_ = &preset(presets_.finger, general.finger);
    spring_ = &preset(presets_.spring, general.spring);
    contact_ = &preset(presets_.contact, general.contact);
    gap_ = &preset(presets_.gap, general.gap);
    thinnest_ = preset(presets_.thinnest, general.thinnest).value;
    thickest_ = preset(presets_.thickest, general.thickest).value;
    change_ = preset(presets_.change, general.change).value;
  }

  Regulation run() {
    out_.title = instrument_.title;
    out_.units = instrument_.units;
    out_.together = together_;
    make_groups();
    for (std::size_t k = 0; k < instrument_.keys.size(); ++k) opening(k);
    out_.links.reserve(instrument_.links.size());
    for (Group& g : groups_) settle(g);
    std::sort(out_.links.begin(), out_.links.end(),
              [](const LinkResult& a, const LinkResult& b) { return a.index < b.index; });
    std::sort(out_.pairs.begin(), out_.pairs.end(),
              [](const PairResult& a, const PairResult& b) { return a.index < b.index; });
    out_.minutes = change_ * static_cast<double>(out_.changes.size());
    return std::move(out_);
  }

 private:
  [[nodiscard]] std::size_t index_of(const std::string& id) const {
    const auto at = std::find_if(instrument_.keys.begin(), instrument_.keys.end(),
                                 [&](const record::Key& k) { return k.id == id; });
    return static_cast<std::size_t>(at - instrument_.keys.begin());
  }
  [[nodiscard]] std::optional<Given> pad_arm(const record::Key& key) const {
    if (!key.pad) return std::nullopt;
    return given(fmt::format("pad arm of {}", key.id), key.pad->arm, shop_.presets.unknown.arm, shop_);
  }
  [[nodiscard]] std::optional<Given> opening_of(const record::Key& key) const {
    return opening_at_rest(fmt::format("opening of {}", key.id), key, shop_);
  }
  [[nodiscard]] std::optional<Given> touch_arm(const record::Key& key) const {
    if (!key.touch) return std::nullopt;
    return given(fmt::format("touch arm of {}", key.id), key.touch->arm, {}, shop_);
  }

  void make_groups();
  void make_keys(Group& g, const std::vector<std::size_t>& members) const;
  void opening(std::size_t key);
  void settle(Group& g);
  LinkResult link(const Group& g, std::size_t n) const;
  PairResult pair(const Group& g, std::size_t index, std::optional<regulation::Pair>& made) const;
  void happenings(const Group& g, std::size_t under, PairResult& out) const;
  std::optional<Worked> under_finger(const Group& g, const regulation::Pair& p, const Worked& gap,
                                     const Chain& as_read, const regulation::Cure& moves) const;
  CorkChange change(const Group& g, std::size_t n, Worked thicker, double pad_per_cork) const;
  std::vector<regulation::Room> rooms(const Group& g) const;
  void fewest(const Group& g, const std::vector<regulation::Pair>& pairs, bool apart);

  const record::Instrument& instrument_;
  const record::Shop& shop_;
  const record::RegulationPresets& presets_;
  const InstrumentResult& worked_;
  const record::NumberEntry* finger_ = nullptr;
  const record::NumberEntry* spring_ = nullptr;
  const record::NumberEntry* contact_ = nullptr;
  const record::LengthEntry* gap_ = nullptr;
  Length together_;
  Length thinnest_;
  Length thickest_;
  double change_ = 0;
  std::vector<Group> groups_;
  Regulation out_;
};

void Regulator::make_keys(Group& g, const std::vector<std::size_t>& members) const {
  for (const std::size_t k : members) {
    const record::Key& key = instrument_.keys[k];
    Group::KeySlots slots;
    slots.key = k;
    if (auto arm = pad_arm(key)) {
      if (auto open = opening_of(key)) {
        slots.arm = g.add(std::move(*arm));
        slots.opening = g.add(std::move(*open));
      }
    }
    const KeyResult& result = worked_.keys[k];
    if (!result.problem) {
      const auto& estimate = result.estimate();
      const auto rock_of = [&](const auto& figure_at) {
        const double at_pad = figure_at(Figure::rock_pad);
        return std::isnan(at_pad) ? std::max(figure_at(Figure::rock_upper), figure_at(Figure::rock_lower))
                                  : at_pad;
      };
      const double rock = rock_of([&](Figure f) { return estimate[f].value; });
      const bool at_pad = !std::isnan(estimate[Figure::rock_pad].value);
      const double pm =
          at_pad ? estimate[Figure::rock_pad].plus_minus
                 : std::max(estimate[Figure::rock_upper].plus_minus, estimate[Figure::rock_lower].plus_minus);
      if (rock > 0 && std::isfinite(pm)) {
        slots.rock = g.add(reckoned(fmt::format("rock of {}", key.id), rock, pm / 2, "mm"));
        slots.share = g.add({fmt::format("share of the rock of {} that load takes up", key.id),
                             0.5,
                             0.5 / std::numbers::sqrt3,
                             "",
                             Origin::unknown,
                             {},
                             true});
        if (!result.plan.plans.empty() && !result.plan.plans.front().steps.empty()) {
          const plan::Plan& p = result.plan.plans.front();
          const double after = rock_of([&](Figure f) { return p.after[static_cast<std::size_t>(f)]; });
          slots.rock_left = std::clamp(after / rock, 0.0, 1.0);
          slots.shift = in_millimetres(p.shift);
        }
      }
    }
    g.keys.push_back(slots);
  }
}

void Regulator::make_groups() {
  std::vector<std::size_t> root(instrument_.keys.size());
  for (std::size_t k = 0; k < root.size(); ++k) root[k] = k;
  const auto find = [&](std::size_t k) {
    while (root[k] != k) k = root[k] = root[root[k]];
    return k;
  };
  const auto join = [&](const std::string& one, const std::string& other) {
    const std::size_t a = find(index_of(one));
    const std::size_t b = find(index_of(other));
    root[std::max(a, b)] = std::min(a, b);
  };
  for (const record::KeyLink& l : instrument_.links) join(l.from.text, l.to.text);
  for (const record::ClosesTogether& t : instrument_.closes_together) {
    join(t.key.text, t.partner.text);
    join(t.key.text, t.under.text);
  }
  std::vector<std::vector<std::size_t>> members(root.size());
  for (std::size_t k = 0; k < root.size(); ++k) members[find(k)].push_back(k);
  for (const auto& some : members) {
    if (some.size() < 2) continue;
    Group g;
    g.instrument = &instrument_;
    make_keys(g, some);
    groups_.push_back(std::move(g));
  }
  for (std::size_t n = 0; n < instrument_.links.size(); ++n) {
    const record::KeyLink& l = instrument_.links[n];
    const auto group = std::find_if(groups_.begin(), groups_.end(), [&](const Group& g) {
      return g.place_of(index_of(l.from.text)).has_value();
    });
    const std::string name = fmt::format("{} to {}", l.from.text, l.to.text);
    const auto arm = [&](const char* what, const record::LengthEntry& entry) {
      auto g = given(fmt::format("{}, {}", what, name), entry, {}, shop_);
      if (!g) {
        out_.problems.push_back(
            {Fault::content, fmt::format("the {} of the link from {} is not known", what, name),
             R"(a length, or {"origin": "unknown", "between": [low, high], "unit": "mm"})", entry.place});
      }
      return g;
    };
    auto driver = arm("driver arm", l.driver_arm);
    auto foot = arm("foot arm", l.foot_arm);
    auto gap = given(fmt::format("gap, {}", name), l.gap, *gap_, shop_);
    if (!driver || !foot || !gap) continue;
    Group::LinkSlots slots;
    slots.link = n;
    slots.from = *group->place_of(index_of(l.from.text));
    slots.to = *group->place_of(index_of(l.to.text));
    slots.driver_arm = group->add(std::move(*driver));
    slots.foot_arm = group->add(std::move(*foot));
    slots.gap = group->add(std::move(*gap));
    if (auto tilt = given(fmt::format("tilt, {}", name), l.tilt, {}, shop_))
      slots.tilt = group->add(std::move(*tilt));
    for (const auto* shop : {&shop_, &general_shop()}) {
      for (const record::SoftMaterial& m : shop->presets.regulation.soft_materials) {
        if (m.name == l.material.text && !slots.modulus)
          slots.modulus = given(fmt::format("modulus of {}", m.name), {}, m.modulus, "MPa", shop_);
      }
    }
    slots.contact = given(fmt::format("contact, {}", name), l.contact, *contact_, "mm2", shop_);
    slots.cork = given(fmt::format("thickness, {}", name), l.cork, {}, shop_);
    group->links.push_back(std::move(slots));
  }
}

void Regulator::opening(std::size_t k) {
  const record::Key& key = instrument_.keys[k];
  if (!key.opening.present && !key.opening_wanted) return;
  OpeningResult out;
  out.key = key.id;
  out.opening = opening_of(key);
  out.by_travel = out.opening && !key.opening.known() && key.moving &&
                  out.opening->pointer == key.moving->travel.place.pointer;
  if (key.opening_wanted && key.opening_wanted->low.known() && key.opening_wanted->high.known()) {
    out.low = key.opening_wanted->low.value;
    out.high = key.opening_wanted->high.value;
  }
  if (out.opening && out.low) {
    const double read = out.opening->value;
    const double low = in_millimetres(*out.low);
    const double high = in_millimetres(*out.high);
    const double inside = std::min(out.opening->plus_minus(), (high - low) / 2);
    double aim = read;
    if (read < low) aim = low + inside;
    if (read > high) aim = high - inside;
    if (aim != read) {
      out.wider = work("wider", "opening to gain", "mm", "opening aimed at - opening", {*out.opening},
                       [aim](Values v) { return aim - v[0]; });
      const auto arm = pad_arm(key);
      const auto stop =
          key.stop ? given(fmt::format("stop arm of {}", key.id), key.stop->arm, {}, shop_) : std::nullopt;
      if (arm && stop) {
        out.stop_thicker =
            work("stop-cork", "change of the stop's cork", "mm", "-(opening to gain) x stop arm / pad arm",
                 {*out.opening, *arm, *stop}, [aim](Values v) { return -(aim - v[0]) * v[2] / v[1]; });
      }
      if (arm) {
        const double back = (aim - read) / arm->value;
        for (const record::KeyLink& l : instrument_.links) {
          if (l.from.text == key.id && l.driver_arm.known())
            out.effects.push_back({l.from.text, l.to.text, l.driver_arm.value * back});
          if (l.to.text == key.id && l.foot_arm.known())
            out.effects.push_back({l.from.text, l.to.text, l.foot_arm.value * -back});
        }
      }
    }
  }
  out_.openings.push_back(std::move(out));
}

LinkResult Regulator::link(const Group& g, std::size_t n) const {
  const Group::LinkSlots& slots = g.links[n];
  LinkResult out;
  out.index = slots.link;
  out.from = g.id(slots.from);
  out.to = g.id(slots.to);
  const auto lost = [n](const Chain& c) { return regulation::lost_motion(c, n); };
  out.lost = g.figure("lost-motion", "motion lost", "mm", kLost,
                      [&](const Chain& c) { return lost(c).at_contact.value.raw(); });
  if (g.keys[slots.to].arm) {
    out.lost_at_pad = g.figure("lost-at-pad", "motion lost at the pad", "mm", kLostAtPad,
                               [&](const Chain& c) { return lost(c).at_pad->value.raw(); });
  }
  if (const auto touch = touch_arm(instrument_.keys[g.keys[slots.from].key])) {
    auto givens = g.givens;
    givens.push_back(*touch);
    out.lost_at_touch =
        work("lost-at-touch", "finger travel lost", "mm", kLostAtTouch, std::move(givens), [&](Values v) {
          const auto made = g.chain(v);
          return made ? lost(*made).at_driver.value.raw() * v.back() : kNone;
        });
  }
  Worked held = g.figure("held-off", "held off its stop", "mm", "-(gap) x pad arm / foot arm",
                         [&](const Chain& c) { return lost(c).holds_off.value.raw(); });
  if (held.value > 0) out.holds_off = std::move(held);
  const auto& from = g.keys[slots.from];
  const auto& to = g.keys[slots.to];
  if (slots.tilt && (from.shift != 0 || to.shift != 0)) {
    const double along = from.shift - to.shift;
    out.by_shift = work("by-shift", "gap changed by the shift", "mm",
                        "tan(tilt) x (shift of the driver - shift of the driven key)",
                        {g.givens[*slots.tilt]}, [along](Values v) { return std::tan(v[0]) * along; });
  }
  double rock = 0;
  for (const auto* k : {&from, &to}) {
    if (k->rock) rock += g.givens[*k->rock].value * (1 - k->rock_left);
  }
  if (rock > 0) out.by_rock = millimetres(rock);
  return out;
}

CorkChange Regulator::change(const Group& g, std::size_t n, Worked thicker, double pad_per_cork) const {
  const record::KeyLink& l = instrument_.links[g.links[n].link];
  CorkChange out;
  out.link = g.links[n].link;
  out.from = l.from.text;
  out.to = l.to.text;
  out.material = l.material.text;
  out.thicker = std::move(thicker);
  if (!l.cork.known()) return out;
  out.now = l.cork.value;
  out.wanted = l.cork.value + millimetres(out.thicker.value);
  std::vector<Length> thicknesses;
  std::vector<const record::Sheet*> sheets;
  for (const record::Sheet& s : shop_.sheets) {
    if (s.material.text != l.material.text || !s.thickness.known()) continue;
    thicknesses.push_back(s.thickness.value);
    sheets.push_back(&s);
  }
  const auto chosen = regulation::choose_sheets(thicknesses, *out.wanted);
  if (chosen.nearest) {
    out.nearest = sheets[chosen.nearest->index]->name;
    out.nearest_left = chosen.nearest->left;
    out.nearest_left_at_pad = abs(chosen.nearest->left) * std::abs(pad_per_cork);
  }
  if (chosen.to_sand) out.to_sand = sheets[chosen.to_sand->index]->name;
  return out;
}

std::vector<regulation::Room> Regulator::rooms(const Group& g) const {
  constexpr double kAny = std::numeric_limits<double>::infinity();
  std::vector<regulation::Room> out;
  for (const auto& slots : g.links) {
    const record::LengthEntry& cork = instrument_.links[slots.link].cork;
    if (!cork.known()) {
      out.push_back({millimetres(-kAny), millimetres(kAny)});
      continue;
    }
    out.push_back({std::min(Length{}, thinnest_ - cork.value), std::max(Length{}, thickest_ - cork.value)});
  }
  return out;
}

void Regulator::happenings(const Group& g, std::size_t under, PairResult& out) const {
  const auto chain = g.chain(g.values());
  const auto touch = touch_arm(instrument_.keys[g.keys[under].key]);
  for (const auto& h : regulation::stroke(*chain, under)) {
    const bool seats = h.kind == regulation::Happening::Kind::seats;
    HappeningResult one;
    one.seats = seats;
    one.to = seats ? g.id(h.which) : g.id(g.links[h.which].to);
    if (!seats) one.from = g.id(g.links[h.which].from);
    auto givens = g.givens;
    if (touch) givens.push_back(*touch);
    one.at = work(seats ? "seats" : "takes-up", touch ? "finger travel" : "turn of the pressed key",
                  touch ? "mm" : "rad", "angles by arms, gaps and rock along the links (piecewise linear)",
                  std::move(givens), [&](Values v) {
                    const auto made = g.chain(v);
                    if (!made) return kNone;
                    const double scale = touch ? v.back() : 1;
                    for (const auto& again : regulation::stroke(*made, under)) {
                      if (again.kind == h.kind && again.which == h.which)
                        return in_radians(again.driver) * scale;
                    }
                    return kNone;
                  });
    out.happenings.push_back(std::move(one));
  }
}

std::optional<Worked> Regulator::under_finger(const Group& g, const regulation::Pair& p, const Worked& gap,
                                              const Chain& as_read, const regulation::Cure& moves) const {
  const auto touch = touch_arm(instrument_.keys[g.keys[p.under].key]);
  const auto force = given("finger", record::NumberEntry{}, *finger_, "N", shop_);
  const auto spring = given("spring at a pad", record::NumberEntry{}, *spring_, "N", shop_);
  if (!touch || !force || !spring) return std::nullopt;
  std::vector<Given> givens{reckoned("gap at the late pad", gap.value, gap.standard, "mm"), *force, *touch,
                            *spring};
  const std::size_t first_cork = givens.size();
  for (const auto& l : g.links) {
    if (!l.modulus || !l.contact || !l.cork || !(l.cork->value > 0)) return std::nullopt;
    givens.insert(givens.end(), {*l.modulus, *l.contact, *l.cork});
  }
  return work("under-finger", "open under the finger", "mm", kFinger, std::move(givens), [&](Values v) {
    // Where the gap is another, one cork is as much thinner or thicker as makes it so.
    std::vector<Length> thicker(g.links.size());
    thicker[moves.link] = millimetres((v[0] - gap.value) / moves.pad_per_cork);
    const Chain chain = regulation::with_corks(as_read, thicker);
    regulation::Gives gives;
    for (std::size_t n = 0; n < g.links.size(); ++n) {
      const double* cork = &v[first_cork + 3 * n];
      gives.links.push_back(newtons_per_millimetre(cork[0] * cork[1] / cork[2]));
    }
    for (const auto& k : chain.keys()) {
      const double arm = k.pad ? in_millimetres(k.pad->arm.value) : 0;
      gives.springs.push_back(newton_millimetres(std::max(0.0, v[3]) * arm));
    }
    const auto pressed =
        regulation::press(chain, p.under, newton_millimetres(std::max(0.0, v[1] * v[2])), gives);
    if (!pressed) return kNone;
    return std::max(pressed->open[p.first]->raw(), pressed->open[p.second]->raw());
  });
}

PairResult Regulator::pair(const Group& g, std::size_t index, std::optional<regulation::Pair>& made) const {
  const record::ClosesTogether& t = instrument_.closes_together[index];
  PairResult out;
  out.index = index;
  out.key = t.key.text;
  out.partner = t.partner.text;
  out.under = t.under.text;
  regulation::Pair p{*g.place_of(index_of(t.key.text)),
                     *g.place_of(index_of(t.partner.text)),
                     *g.place_of(index_of(t.under.text)),
                     {},
                     {}};
  for (const std::size_t k : {p.first, p.second}) {
    const record::Key& key = instrument_.keys[g.keys[k].key];
    if (!g.keys[k].arm) {
      out.problem =
          Error{Fault::content,
                key.pad ? fmt::format("the opening of {} was not read", key.id)
                        : fmt::format("{} has no pad", key.id),
                "\"opening\" of the key, or \"travel\" of its \"moving\", and its pad's \"arm\"", key.place};
      return out;
    }
  }
  const auto chain = g.chain(g.values());
  if (auto refused = regulation::together(*chain, p); !refused) {
    out.problem = refused.error();
    out.problem->place = t.place;
    return out;
  }
  out.reckoned =
      g.figure("gap-reckoned", "gap at the late pad, reckoned", "mm", kReckoned, [&](const Chain& c) {
        const auto again = regulation::together(c, p);
        return again ? in_millimetres(again->gap.value) : kNone;
      });
  out.gap = out.reckoned;
  out.gap.code = "gap";
  out.gap.name = "gap at the late pad";
  if (auto read = given("gap read", t.gap, {}, shop_)) {
    if (t.open.text == t.key.text) read->value = -read->value;
    out.read = read;
    const double a = out.reckoned.standard * out.reckoned.standard;
    const double b = read->standard * read->standard;
    out.contradicts = std::abs(read->value - out.reckoned.value) > 3 * std::sqrt(a + b);
    const double share = out.contradicts || !(a + b > 0) ? 1 : a / (a + b);
    p.read = Measured<Length>{millimetres(read->value), millimetres(2 * read->standard), Origin::read};
    p.read_share = share;
    out.gap = work("gap", "gap at the late pad", "mm", kWeighed,
                   {reckoned("gap reckoned", out.reckoned.value, out.reckoned.standard, "mm"), *read},
                   [share](Values v) { return (1 - share) * v[0] + share * v[1]; });
    if (out.contradicts)
      out.gap.remark = "reading and chain lie too far apart for their ±: the reading is taken";
  }
  const double allowed = in_millimetres(together_);
  const double gap = out.gap.value;
  const double pm = out.gap.plus_minus();
  if (pm > allowed && std::abs(gap) < pm) {
    out.closes = Closes::cannot_tell;
  } else if (std::abs(gap) <= allowed) {
    out.closes = Closes::together;
  } else {
    out.closes = gap > 0 ? Closes::key_first : Closes::partner_first;
  }
  happenings(g, p.under, out);

  // The chain as the reading has it: one cork of it so much thinner as the reading's cure is thicker.
  Chain as_read = *chain;
  const auto cures = regulation::cures(*chain, p, rooms(g));
  const auto free_cures = regulation::cures(*chain, p, {});
  if (p.read && free_cures) {
    regulation::Pair alone = p;
    alone.read.reset();
    const auto reckoned_cures = regulation::cures(*chain, alone, {});
    for (const auto& c : *free_cures) {
      const auto same = std::find_if(reckoned_cures->begin(), reckoned_cures->end(),
                                     [&](const regulation::Cure& r) { return r.link == c.link; });
      if (same == reckoned_cures->end()) continue;
      std::vector<Length> thicker(g.links.size());
      thicker[c.link] = same->thicker.value - c.thicker.value;
      as_read = regulation::with_corks(*chain, thicker);
      break;
    }
  }
  if (cures && std::abs(gap) > 0) {
    for (const auto& c : *cures) {
      std::vector<Given> givens = g.givens;
      if (out.read) givens.push_back(*out.read);
      Worked thicker = work("cork", "change of thickness", "mm", kCork, std::move(givens), [&](Values v) {
        const auto moved = g.chain(v);
        if (!moved) return kNone;
        regulation::Pair again = p;
        if (again.read) again.read->value = millimetres(v.back());
        const auto found = regulation::cure(*moved, again, c.link);
        return found && *found ? in_millimetres((**found).thicker.value) : kNone;
      });
      out.cures.push_back(change(g, c.link, std::move(thicker), c.pad_per_cork));
    }
  }
  if (free_cures && !free_cures->empty())
    out.under_finger = under_finger(g, p, out.gap, as_read, free_cures->front());
  if (std::any_of(g.keys.begin(), g.keys.end(), [](const auto& k) { return k.worked_on(); })) {
    std::vector<Given> givens = g.givens;
    givens.push_back(reckoned("gap now", gap, out.gap.standard, "mm"));
    // Only what the work changes is uncertain here beyond the gap now.
    for (std::size_t n = 0; n + 1 < givens.size(); ++n) {
      const bool of_work =
          std::any_of(g.keys.begin(), g.keys.end(), [n](const auto& k) { return k.share == n; }) ||
          std::any_of(g.links.begin(), g.links.end(), [n](const auto& l) { return l.tilt == n; });
      if (!of_work) givens[n].standard = 0;
    }
    Worked after = work("gap-after-work", "gap at the late pad after the planned work", "mm", kAfter,
                        std::move(givens), [&](Values v) {
                          const auto before = g.chain(v.first(v.size() - 1));
                          const auto behind = g.chain(v.first(v.size() - 1), true);
                          if (!before || !behind) return kNone;
                          std::vector<Length> moved;
                          for (std::size_t n = 0; n < g.links.size(); ++n)
                            moved.push_back(chain->links()[n].gap.value - as_read.links()[n].gap.value);
                          regulation::Pair alone = p;
                          alone.read.reset();
                          const auto a = regulation::together(regulation::with_corks(*before, moved), alone);
                          const auto b = regulation::together(regulation::with_corks(*behind, moved), alone);
                          return a && b ? v.back() + in_millimetres(b->gap.value - a->gap.value) : kNone;
                        });
    std::erase_if(after.effects, [](const Effect& e) { return e.moves == 0; });
    out.after_work = std::move(after);
  }
  made = p;
  return out;
}

void Regulator::fewest(const Group& g, const std::vector<regulation::Pair>& pairs, bool apart) {
  if (!apart) return;
  const auto chain = g.chain(g.values());
  const auto found = regulation::fewest_changes(*chain, pairs, rooms(g), together_);
  if (!found) {
    out_.no_changes = found.error().what;
    return;
  }
  if (!*found) {
    out_.no_changes = fmt::format(
        "no change of corks between {} and {} brings all of these pairs together: bend a key, or build up a "
        "foot",
        show(thinnest_, out_.units), show(thickest_, out_.units));
    return;
  }
  for (const std::size_t n : (**found).links) {
    // Which pair this cork answers for, and with what doubt: the one it brings together by itself, else all.
    double standard = 0;
    double per_cork = 1;
    for (const auto& p : pairs) {
      const auto single = regulation::cures(*chain, p, {});
      if (!single) continue;
      for (const auto& c : *single) {
        if (c.link != n) continue;
        per_cork = c.pad_per_cork;
        for (const PairResult& r : out_.pairs) {
          if (g.id(p.first) == r.key && g.id(p.second) == r.partner && g.id(p.under) == r.under)
            standard = std::max(standard, r.gap.standard / std::abs(c.pad_per_cork));
        }
      }
    }
    Worked thicker;
    thicker.code = "cork";
    thicker.name = "change of thickness";
    thicker.unit = "mm";
    thicker.formula = "fewest corks after which every pair closes together, then the least change";
    thicker.value = in_millimetres((**found).thicker[n]);
    thicker.standard = standard;
    // Where one pair alone asks for it, that pair's figure says what it rests on.
    for (const PairResult& r : out_.pairs) {
      for (const CorkChange& c : r.cures) {
        constexpr double kSame = 1e-6;
        if (c.link != g.links[n].link || std::abs(c.thicker.value - thicker.value) > kSame) continue;
        thicker.standard = c.thicker.standard;
        thicker.effects = c.thicker.effects;
      }
    }
    out_.changes.push_back(change(g, n, std::move(thicker), per_cork));
  }
}

void Regulator::settle(Group& g) {
  const auto chain = g.chain(g.values());
  if (!chain) {
    Error e = chain.error();
    for (const record::KeyLink& l : instrument_.links) {
      if (g.place_of(index_of(l.from.text))) {
        e.place = l.place;
        break;
      }
    }
    out_.problems.push_back(std::move(e));
    return;
  }
  for (std::size_t n = 0; n < g.links.size(); ++n) out_.links.push_back(link(g, n));
  std::vector<regulation::Pair> settled;
  bool apart = false;
  for (std::size_t n = 0; n < instrument_.closes_together.size(); ++n) {
    if (!g.place_of(index_of(instrument_.closes_together[n].key.text))) continue;
    std::optional<regulation::Pair> made;
    PairResult result = pair(g, n, made);
    if (made && result.closes != Closes::cannot_tell) settled.push_back(*made);
    apart = apart || result.closes == Closes::key_first || result.closes == Closes::partner_first;
    out_.pairs.push_back(std::move(result));
  }
  fewest(g, settled, apart);
}

}  // namespace

Regulation regulate(const record::Instrument& instrument, const record::Shop& shop,
                    const InstrumentResult& worked) {
  return Regulator(instrument, shop, worked).run();
}

Expected<Regulation> only(const Regulation& all, const record::Instrument& instrument,
                          const std::string& key) {
  std::vector<std::string> ids;
  for (const record::Key& k : instrument.keys) ids.push_back(k.id);
  if (std::find(ids.begin(), ids.end(), key) == ids.end()) {
    const std::string near = nearest_name(key, ids);
    return fail(Fault::not_found, fmt::format("there is no key \"{}\"", key),
                near.empty() ? "one of " + listed(ids) : fmt::format("perhaps \"{}\"", near));
  }
  Regulation out = all;
  std::erase_if(out.openings, [&](const OpeningResult& o) { return o.key != key; });
  std::erase_if(out.links, [&](const LinkResult& l) { return l.from != key && l.to != key; });
  std::erase_if(out.pairs, [&](const PairResult& p) {
    const bool on_the_way =
        std::any_of(p.happenings.begin(), p.happenings.end(),
                    [&](const HappeningResult& h) { return h.from == key || h.to == key; });
    return p.key != key && p.partner != key && p.under != key && !on_the_way;
  });
  std::erase_if(out.changes, [&](const CorkChange& c) {
    return std::none_of(out.pairs.begin(), out.pairs.end(), [&](const PairResult& p) {
      return std::any_of(p.cures.begin(), p.cures.end(),
                         [&](const CorkChange& k) { return k.link == c.link; });
    });
  });
  out.minutes = all.changes.empty() ? 0
                                    : all.minutes * static_cast<double>(out.changes.size()) /
                                          static_cast<double>(all.changes.size());
  if (out.openings.empty() && out.links.empty() && out.pairs.empty()) {
    return fail(Fault::content, fmt::format("nothing about {} has to do with regulation", key),
                "its \"opening\", or a link or pair that names it");
  }
  return out;
}

// ---- words -----------------------------------------------------------------------------------------

namespace {

std::string plain(Length l, LengthUnit unit) { return show(l, unit); }

/// "0.20 ± 0.03 mm", without the sign.
std::string size_of(const Worked& w, LengthUnit unit) {
  return show(std::abs(w.value), w.plus_minus(), w.unit, unit);
}

}  // namespace

std::string tell(const OpeningResult& o, LengthUnit unit) {
  if (!o.opening) return "its opening was not read";
  const char* by = o.by_travel ? "; its opening was not read, its \"travel\" stands in" : "";
  if (!o.low) return fmt::format("{}; nothing said of what is wanted{}", show(*o.opening, unit), by);
  if (!o.wider) return std::string("as wanted") + by;
  const bool more = o.wider->value > 0;
  std::string out = fmt::format("opens {} too {}", size_of(*o.wider, unit), more ? "little" : "far");
  if (o.stop_thicker) {
    out += fmt::format(": make the cork of its stop {} {}", size_of(*o.stop_thicker, unit),
                       o.stop_thicker->value > 0 ? "thicker" : "thinner");
  }
  for (const LinkEffect& e : o.effects) {
    out += fmt::format("; the lost motion from {} to {} then {} by {}", e.from, e.to,
                       e.gap.raw() > 0 ? "grows" : "falls", plain(abs(e.gap), unit));
  }
  if (!o.effects.empty()) out += "; when pads seat does not change by it";
  return out + by;
}

std::string tell(const LinkResult& l, LengthUnit unit) {
  std::string out;
  const auto add = [&](const std::string& text) { out += (out.empty() ? "" : "; ") + text; };
  if (l.holds_off) {
    add(fmt::format("holds {} off its stop: its pad stands {} lower for it", l.to, show(*l.holds_off, unit)));
  }
  // Less than a cork can be sanded to is not worth a word.
  constexpr double kWorthAWord = 0.003;
  if (l.by_shift && std::abs(l.by_shift->value) > kWorthAWord) {
    add(fmt::format("planned work moves the keys: gap {} {}", l.by_shift->value > 0 ? "grows" : "falls",
                    size_of(*l.by_shift, unit)));
  }
  if (l.by_rock && in_millimetres(*l.by_rock) > kWorthAWord)
    add(fmt::format("planned work takes rock: lost motion falls by up to {}", plain(*l.by_rock, unit)));
  return out;
}

std::string tell(const CorkChange& c, LengthUnit unit) {
  std::string out =
      fmt::format("make the {} between {} and {} {} {}", c.material.empty() ? "cork" : c.material, c.from,
                  c.to, size_of(c.thicker, unit), c.thicker.value > 0 ? "thicker" : "thinner");
  if (c.wanted) out += fmt::format(" ({} to {})", plain(*c.now, unit), plain(*c.wanted, unit));
  if (!c.nearest.empty()) {
    out += fmt::format("; nearest sheet {}, {} too {}, which leaves {} at the pad", c.nearest,
                       plain(abs(c.nearest_left), unit), c.nearest_left.raw() > 0 ? "thin" : "thick",
                       plain(c.nearest_left_at_pad, unit));
    if (!c.to_sand.empty() && c.to_sand != c.nearest) out += fmt::format("; or {} sanded down", c.to_sand);
    if (c.to_sand == c.nearest && c.nearest_left.raw() < 0) out += " unless it is sanded down";
  }
  return out;
}

std::vector<std::string> tell(const PairResult& p, const Regulation& all, LengthUnit unit) {
  std::vector<std::string> out;
  if (p.problem) {
    out.push_back(p.problem->what + (p.problem->expected.empty() ? "" : "; needed: " + p.problem->expected));
    return out;
  }
  const bool partner_late = p.gap.value > 0;
  const std::string& late = partner_late ? p.partner : p.key;
  const std::string& early = partner_late ? p.key : p.partner;
  const std::string by =
      p.read ? (p.contradicts ? "read; the arms and gaps do not agree with it" : "read and reckoned")
             : "reckoned, not read";
  switch (p.closes) {
    case Closes::together:
      out.push_back(fmt::format("close together: {} of gap at {} ({})", size_of(p.gap, unit), late, by));
      break;
    case Closes::cannot_tell:
      out.push_back(
          fmt::format("cannot tell: {} stands open {} when {} has seated ({}); read that gap with a feeler",
                      late, size_of(p.gap, unit), early, by));
      break;
    case Closes::key_first:
    case Closes::partner_first:
      out.push_back(fmt::format("{} closes first and {} then stands open {} ({})", early, late,
                                size_of(p.gap, unit), by));
      break;
  }
  if (p.read) {
    out.push_back(fmt::format("reckoned alone: {} at {}", size_of(p.reckoned, unit),
                              p.reckoned.value > 0 ? p.partner : p.key));
  }
  if (p.under_finger) {
    const bool shut = !(p.under_finger->value > 0);
    if (shut) {
      out.push_back("under the finger cork and felt give enough to close both");
    } else {
      out.push_back(fmt::format("under the finger {} still stands open {}, {}", late,
                                show(*p.under_finger, unit),
                                p.under_finger->value > in_millimetres(all.together)
                                    ? "and leaks where its pad does not take that up"
                                    : "which a pad takes up"));
    }
  }
  if (p.after_work) {
    const bool same_side = (p.after_work->value > 0) == partner_late;
    out.push_back(fmt::format("after the planned fitting work: {} at {}", size_of(*p.after_work, unit),
                              same_side ? late : early));
  }
  if (p.closes == Closes::key_first || p.closes == Closes::partner_first) {
    if (p.cures.empty()) out.push_back("no single cork brings them together");
    const auto is_change = [&](const CorkChange& c) {
      return std::any_of(all.changes.begin(), all.changes.end(),
                         [&](const CorkChange& a) { return a.link == c.link; });
    };
    for (std::size_t n = 0; n < p.cures.size(); ++n) {
      const CorkChange& c = p.cures[n];
      out.push_back(
          fmt::format("{}{}{}", n == 0 ? "" : "or ", tell(c, unit), is_change(c) ? " (proposed)" : ""));
    }
  }
  return out;
}

// ---- JSON ------------------------------------------------------------------------------------------

namespace {

Json change_json(const CorkChange& c, LengthUnit unit) {
  return {{"link", c.link},
          {"from", c.from},
          {"to", c.to},
          {"material", c.material},
          {"thicker", json_of(c.thicker)},
          {"now", c.now ? number(*c.now) : Json(nullptr)},
          {"wanted", c.wanted ? number(*c.wanted) : Json(nullptr)},
          {"nearest_sheet", c.nearest.empty() ? Json(nullptr) : Json(c.nearest)},
          {"nearest_left", c.nearest.empty() ? Json(nullptr) : number(c.nearest_left)},
          {"nearest_left_at_pad", c.nearest.empty() ? Json(nullptr) : number(c.nearest_left_at_pad)},
          {"sheet_to_sand", c.to_sand.empty() ? Json(nullptr) : Json(c.to_sand)},
          {"tell", tell(c, unit)}};
}

Json given_json(const Given& g) {
  return {{"value", number(g.value)},
          {"plus_minus", number(g.plus_minus())},
          {"unit", g.unit},
          {"origin", word(g.origin)},
          {"pointer", g.pointer}};
}

template <class T, class F>
Json or_null(const std::optional<T>& v, F&& f) {
  return v ? Json(f(*v)) : Json(nullptr);
}

}  // namespace

std::string to_json(const Regulation& r, LengthUnit unit) {
  const auto length = [](Length l) { return number(l); };
  Json out = {{"title", r.title},
              {"unit", "mm"},
              {"together", number(r.together)},
              {"openings", Json::array()},
              {"links", Json::array()},
              {"pairs", Json::array()},
              {"changes", Json::array()},
              {"minutes", number(r.minutes)},
              {"no_changes", r.no_changes.empty() ? Json(nullptr) : Json(r.no_changes)}};
  for (const OpeningResult& o : r.openings) {
    Json effects = Json::array();
    for (const LinkEffect& e : o.effects)
      effects.push_back({{"from", e.from}, {"to", e.to}, {"gap", number(e.gap)}});
    out["openings"].push_back({{"key", o.key},
                               {"opening", or_null(o.opening, given_json)},
                               {"by_travel", o.by_travel},
                               {"low", or_null(o.low, length)},
                               {"high", or_null(o.high, length)},
                               {"wider", or_null(o.wider, json_of)},
                               {"stop_thicker", or_null(o.stop_thicker, json_of)},
                               {"effects", std::move(effects)},
                               {"tell", tell(o, unit)}});
  }
  for (const LinkResult& l : r.links) {
    out["links"].push_back({{"link", l.index},
                            {"from", l.from},
                            {"to", l.to},
                            {"lost", json_of(l.lost)},
                            {"lost_at_pad", or_null(l.lost_at_pad, json_of)},
                            {"lost_at_touch", or_null(l.lost_at_touch, json_of)},
                            {"holds_off", or_null(l.holds_off, json_of)},
                            {"by_shift", or_null(l.by_shift, json_of)},
                            {"by_rock", or_null(l.by_rock, length)},
                            {"tell", tell(l, unit)}});
  }
  for (const PairResult& p : r.pairs) {
    Json one = {{"pair", p.index}, {"key", p.key}, {"partner", p.partner}, {"under", p.under}};
    if (p.problem) {
      one["problem"] = p.problem->what;
      one["tell"] = tell(p, r, unit);
      out["pairs"].push_back(std::move(one));
      continue;
    }
    one["closes"] = word(p.closes);
    one["gap"] = json_of(p.gap);
    one["reckoned"] = json_of(p.reckoned);
    one["read"] = or_null(p.read, given_json);
    one["contradicts"] = p.contradicts;
    one["under_finger"] = or_null(p.under_finger, json_of);
    one["after_work"] = or_null(p.after_work, json_of);
    one["happenings"] = Json::array();
    for (const HappeningResult& h : p.happenings) {
      one["happenings"].push_back({{"what", h.seats ? "seats" : "takes up"},
                                   {"from", h.from.empty() ? Json(nullptr) : Json(h.from)},
                                   {"to", h.to},
                                   {"at", json_of(h.at)}});
    }
    one["cures"] = Json::array();
    for (const CorkChange& c : p.cures) one["cures"].push_back(change_json(c, unit));
    one["tell"] = tell(p, r, unit);
    out["pairs"].push_back(std::move(one));
  }
  for (const CorkChange& c : r.changes) out["changes"].push_back(change_json(c, unit));
  out["problems"] = Json::array();
  for (const Error& e : r.problems) {
    out["problems"].push_back(
        {{"what", e.what}, {"expected", e.expected}, {"pointer", e.place.pointer}, {"line", e.place.line}});
  }
  return text_of(out);
}

}  // namespace hingeline::service
