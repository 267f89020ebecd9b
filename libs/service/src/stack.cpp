#include "hingeline/service/stack.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include "hingeline/numeric/statistics.h"
#include "hingeline/service/bench.h"
#include "json_parts.h"
#include "nearest.h"

namespace hingeline::service {
namespace {

using record::LengthEntry;
using record::NumberEntry;
using rods::Side;

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
const LengthEntry kAbsent{};

/// The shop's own figure, else the general one.
template <class Entry>
const Entry& or_general(const Entry& shops, const Entry& general) {
  return shops.known() ? shops : general;
}

/// General figures for rods, settled.
class Habits {
 public:
  explicit Habits(const record::Shop& shop) : shop_(shop), general_(general_shop()) {}

  Length length(LengthEntry record::RodPresets::*member) const {
    return or_general(shop_.presets.rods.*member, general_.presets.rods.*member).value;
  }
  Length length(LengthEntry record::Presets::*member) const {
    return or_general(shop_.presets.*member, general_.presets.*member).value;
  }
  double number(NumberEntry record::RodPresets::*member) const {
    return or_general(shop_.presets.rods.*member, general_.presets.rods.*member).value;
  }
  Duration minutes(NumberEntry record::RodPresets::*member) const { return seconds(60 * number(member)); }
  Duration set_up(record::MinutesPreset record::Presets::*member) const {
    return seconds(60 * or_general((shop_.presets.*member).set_up, (general_.presets.*member).set_up).value);
  }
  /// With its doubt; the general shop has every one of them.
  Given given(const std::string& name, NumberEntry record::RodPresets::*member,
              const std::string& unit) const {
    return *service::given(name, {}, or_general(shop_.presets.rods.*member, general_.presets.rods.*member),
                           unit, shop_);
  }
  const record::Text& fit() const {
    return shop_.presets.rods.fit.empty() ? general_.presets.rods.fit : shop_.presets.rods.fit;
  }
  const record::Shop& shop() const { return shop_; }

 private:
  const record::Shop& shop_;
  const record::Shop& general_;
};

/// One tube's numbers, its own or its key's.
struct KnownTube {
  const record::StackTube* source = nullptr;
  std::string name;
  std::optional<Given> length;
  std::optional<Given> bore;
  std::optional<Given> outside;
  std::optional<Given> bearing;
  std::optional<Given> station;
  std::optional<Given> offset;
  Length allowed;

  [[nodiscard]] bool has_pad() const { return station.has_value(); }
  [[nodiscard]] std::optional<rods::TubeWall> wall() const {
    if (!bore || !outside || !(outside->value > bore->value)) return std::nullopt;
    return rods::TubeWall{millimetres(outside->value), millimetres(bore->value)};
  }
  [[nodiscard]] bool may(const std::optional<record::Leave>& leave) const {
    return leave.value_or(record::Leave::yes) == record::Leave::yes;
  }
};

const record::Key* key_of(const record::Instrument& instrument, const std::string& id) {
  for (const record::Key& key : instrument.keys) {
    if (!id.empty() && key.id == id) return &key;
  }
  return nullptr;
}

class StackWorker {
 public:
  StackWorker(const record::Instrument& instrument, const record::Stack& stack, const Habits& habits,
              LengthUnit unit)
      : instrument_(instrument), stack_(stack), habits_(habits), unit_(unit) {
    out_.id = stack.id;
    out_.name = stack.name.empty() ? stack.id : stack.name;
    out_.note = stack.note;
  }

  StackResult run() {
    const auto fit = mechanism::parse_running_fit(habits_.fit().text);
    if (!fit) {
      out_.problem = fit.error();
      out_.problem->place = habits_.fit().place;
      return std::move(out_);
    }
    fit_ = *fit;
    out_.fit = fmt::format("{}/{}", mechanism::word(fit_.bore), mechanism::word(fit_.rod));
    know_tubes();
    for (std::size_t g = 0; g < stack_.gaps.size(); ++g) {
      if (!know_gap(g)) return std::move(out_);
    }
    figures();
    plan();
    if (out_.problem) return std::move(out_);
    choose_rods();
    close_bores();
    return std::move(out_);
  }

 private:
  void know_tubes() {
    std::optional<Given> rod = given("rod diameter", stack_.rod.diameter, kAbsent, habits_.shop());
    for (const record::StackGap& gap : stack_.gaps) {
      tubes_.emplace_back();
      for (const record::StackTube& t : gap.tubes) {
        const record::Key* key = key_of(instrument_, t.key.text);
        KnownTube k;
        k.source = &t;
        k.name = !t.name.empty()                        ? t.name.text
                 : key != nullptr && !key->name.empty() ? key->name
                                                        : t.key.text;
        const auto own = [&](const char* name, const LengthEntry& entry, const LengthEntry* keys) {
          const LengthEntry& settled = entry.present || keys == nullptr ? entry : *keys;
          return given(fmt::format("{} of {}", name, k.name), settled, kAbsent, habits_.shop());
        };
        const record::Pad* pad = key != nullptr && key->pad ? &*key->pad : nullptr;
        k.length = own("length", t.length, key != nullptr ? &key->hinge.key_length : nullptr);
        k.bore = own("bore", t.bore, key != nullptr ? &key->hinge.bore : nullptr);
        k.outside =
            own("outside diameter", t.outside, key != nullptr ? &key->hinge.upper.key_end_diameter : nullptr);
        k.bearing = own("bearing", t.bearing, nullptr);
        k.station = own("pad station", t.station, pad != nullptr ? &pad->station : nullptr);
        k.offset = own("pad offset", t.offset, pad != nullptr ? &pad->offset : nullptr);
        k.allowed = t.allowed.known() ? t.allowed.value : habits_.length(&record::Presets::centring_allowed);
        if (!rod && key != nullptr) {
          rod = given("rod diameter", key->hinge.rod_diameter, kAbsent, habits_.shop());
        }
        if (k.has_pad() && !k.offset) {
          k.offset = reckoned(fmt::format("pad offset of {}, taken for 0", k.name), 0, 0, "mm");
          out_.notes.push_back(
              fmt::format("{}: the offset of its pad was not read; it is taken for centred.", k.name));
        }
        tubes_.back().push_back(std::move(k));
      }
    }
    rod_ = rod;
    if (!rod_) out_.notes.push_back("The rod's diameter was not read: no clearance, bow or rod can be told.");
    if (rod_) {
      out_.rod = work("rod", "rod diameter", "mm", "as read", {*rod_},
                      [](std::span<const double> v) { return v[0]; });
    }
  }

  std::string gap_name(std::size_t g) const {
    std::vector<std::string> names;
    for (const KnownTube& t : tubes_[g]) names.push_back(t.name);
    return fmt::format("gap {} ({})", g + 1, listed(names));
  }

  bool know_gap(std::size_t g) {
    const record::StackGap& gap = stack_.gaps[g];
    const record::Key* only = gap.tubes.size() == 1 ? key_of(instrument_, gap.tubes[0].key.text) : nullptr;
    const auto keys = [&](const LengthEntry& own, const LengthEntry& of_key) -> const LengthEntry& {
      return own.present || only == nullptr ? own : of_key;
    };
    const LengthEntry& read = only != nullptr ? keys(gap.end_play, only->readings.end_play) : gap.end_play;
    const LengthEntry& span = only != nullptr ? keys(gap.span, only->hinge.span) : gap.span;
    GapOnStack out;
    out.name = gap_name(g);
    if (auto play = given("end play", read, kAbsent, habits_.shop())) {
      out.end_play = work("end-play", "end play", "mm", "as read", {*play},
                          [](std::span<const double> v) { return v[0]; });
    } else {
      std::vector<Given> givens;
      if (auto s = given("span", span, kAbsent, habits_.shop())) givens.push_back(*s);
      for (const KnownTube& t : tubes_[g]) {
        if (t.length) givens.push_back(*t.length);
      }
      if (givens.size() != tubes_[g].size() + 1) {
        Error e{Fault::content,
                fmt::format("the end play of {} was not read and cannot be reckoned", out.name),
                "\"end_play\", or \"span\" and the length of every tube", gap.place};
        out_.problem = std::move(e);
        return false;
      }
      out.end_play = work("end-play", "end play", "mm", "span - lengths of the tubes", std::move(givens),
                          [](std::span<const double> v) {
                            double rest = v[0];
                            for (const double length : v.subspan(1)) rest -= length;
                            return rest;
                          });
      out.end_play.remark = "Reckoned from lengths: an end play that is read is surer.";
    }
    const LengthEntry& low =
        only != nullptr ? keys(gap.window_low, only->allowed.window_low) : gap.window_low;
    const LengthEntry& high =
        only != nullptr ? keys(gap.window_high, only->allowed.window_high) : gap.window_high;
    out.low = low.known() ? low.value : habits_.length(&record::Presets::window_low);
    out.high = high.known() ? high.value : habits_.length(&record::Presets::window_high);
    if (out.high < out.low) {
      out_.problem =
          Error{Fault::geometry, fmt::format("the window of {} ends below where it begins", out.name),
                "\"window_low\" not above \"window_high\"", gap.place};
      return false;
    }
    out_.gaps.push_back(std::move(out));
    return true;
  }

  void figures() {
    const auto bow = given("bow of the rod", stack_.rod.bow, kAbsent, habits_.shop());
    const auto over = given("length the bow was read over", stack_.rod.bow_over, kAbsent, habits_.shop());
    for (std::size_t g = 0; g < tubes_.size(); ++g) {
      for (std::size_t t = 0; t < tubes_[g].size(); ++t) {
        const KnownTube& k = tubes_[g][t];
        TubeOnStack out;
        out.name = k.name;
        out.key = k.source->key.text;
        out.gap = g;
        out.place = t;
        if (k.bore && rod_) clearance_of(k, out);
        if (k.bore && rod_ && k.length && bow && over) bow_of(k, *bow, *over, out);
        if (k.has_pad()) pad_of(g, k, out);
        out_.tubes.push_back(std::move(out));
      }
    }
  }

  void clearance_of(const KnownTube& k, TubeOnStack& out) const {
    out.clearance = work("clearance", fmt::format("clearance of {} on its rod", k.name), "mm",
                         "bore - rod diameter (radial: half of it)", {*k.bore, *rod_},
                         [](std::span<const double> v) { return v[0] - v[1]; });
    if (auto window = rods::clearance_window(fit_, millimetres(rod_->value))) out.window = *window;
    if (!k.length) return;
    // At the pad where it is beyond an end, else anywhere along the tube.
    std::vector<Given> givens{*k.bore, *rod_, *k.length};
    if (k.station) givens.push_back(*k.station);
    out.rock = work("rock", fmt::format("rock of {} {}", k.name, k.station ? "at its pad" : "at its ends"),
                    "mm", "(bore - rod) (|1 - s| + |s|), s = station / length", std::move(givens),
                    [](std::span<const double> v) {
                      const auto rock = rods::rock_at(millimetres((v[0] - v[1]) / 2), millimetres(v[2]),
                                                      millimetres(v.size() > 3 ? v[3] : 0));
                      return rock ? rock->raw() : kNone;
                    });
  }

  void bow_of(const KnownTube& k, const Given& bow, const Given& over, TubeOnStack& out) const {
    std::vector<Given> givens{bow,
                              over,
                              *k.length,
                              *k.bore,
                              *rod_,
                              habits_.given("friction", &record::RodPresets::friction, ""),
                              habits_.given("modulus of the rod", &record::RodPresets::modulus, "GPa")};
    const std::optional<Length> bearing =
        k.bearing ? std::optional(millimetres(k.bearing->value)) : std::nullopt;
    const auto at = [bearing](std::span<const double> v) {
      const rods::RodShaft rod{millimetres(v[4]), millimetres(std::max(0.0, v[0])), millimetres(v[1]),
                               pascals(v[6] * 1e9)};
      return rods::bow_in_tube(rod, {millimetres(v[2]), millimetres(v[3]), bearing}, std::max(0.0, v[5]));
    };
    out.bow_room =
        work("bow-room", fmt::format("what the clearance of {} leaves of the rod's bow", k.name), "mm",
             bearing ? "(bore - rod) - 4 f b (1 - b), f = bow x (length / read over)^2, b = bearing / "
                       "length"
                     : "(bore - rod) - bow x (length / read over)^2",
             givens, [&](std::span<const double> v) {
               const auto b = at(v);
               return b ? -b->excess.raw() : kNone;
             });
    out.friction =
        work("bow-friction", fmt::format("torque to turn {} against the rod's bow", k.name), "N mm",
             "friction x radius x 2 F, F = 48 E I (bow - clearance) / L^3 while it touches at three points "
             "(F in the middle, as much again at the ends)",
             givens, [&](std::span<const double> v) {
               const auto b = at(v);
               return b && b->friction ? b->friction->raw() : kNone;
             });
    out.friction->remark =
        "For an evenly bowed rod in a stiff tube: an upper end, since tube and posts give a little.";
    std::vector<double> values;
    for (const Given& g : givens) values.push_back(g.value);
    if (const auto b = at(values)) out.bow = *b;
    const Worked& room = *out.bow_room;
    out.chance_bow_binds = !std::isfinite(room.value) ? 0
                           : room.standard > 0        ? numeric::normal_below(-room.value / room.standard)
                           : room.value < 0           ? 1
                                                      : 0;
  }

  void pad_of(std::size_t g, const KnownTube& k, TubeOnStack& out) const {
    const Worked& play = out_.gaps[g].end_play;
    const std::vector<Given> givens{*k.offset,
                                    reckoned("end play of its gap", play.value, play.standard, "mm")};
    const auto side = [&](const char* code, const char* name, double sign) {
      return work(code, fmt::format("pad of {} {}", k.name, name), "mm",
                  sign < 0 ? "offset - half the end play" : "offset + half the end play", givens,
                  [sign](std::span<const double> v) { return v[0] + sign * std::max(0.0, v[1]) / 2; });
    };
    out.pad_up = side("pad-up", "pushed up", -1);
    out.pad_down = side("pad-down", "pushed down", 1);
  }

  /// How much of the tube's part on that side can be squeezed.
  Length reach(const KnownTube& k, Side side) const {
    const Length most = habits_.length(&record::RodPresets::swedge_reach);
    if (!k.length) return most;
    const double station =
        k.station ? std::clamp(k.station->value, 0.0, k.length->value) : k.length->value / 2;
    return std::min(most, millimetres(side == Side::upper ? station : k.length->value - station));
  }

  rods::TubePart part(const KnownTube& k, Side side) const {
    rods::TubePart out;
    if (k.may(k.source->face)) out.face_most = habits_.length(&record::RodPresets::face_most);
    const Length over = reach(k, side);
    if (!k.may(k.source->swedge) || over.raw() <= 0) return out;
    out.swedge_most = habits_.length(&record::RodPresets::swedge_most);
    if (const auto wall = k.wall(); wall && rod_) {
      const Length rod = millimetres(rod_->value);
      const auto window = rods::clearance_window(fit_, rod);
      const Length room = wall->bore - rod - (window ? window->least : Length{});
      if (room.raw() > 0) {
        const auto squeezed =
            rods::swedge_to_close(*wall, over, room, habits_.number(&record::RodPresets::swedge_share));
        if (squeezed) out.swedge_free = squeezed->growth;
      }
    }
    if (!k.may(k.source->ream)) out.swedge_most = std::min(out.swedge_most, out.swedge_free);
    return out;
  }

  void build() {
    for (std::size_t g = 0; g < tubes_.size(); ++g) {
      rods::StackGap gap{millimetres(out_.gaps[g].end_play.value),
                         out_.gaps[g].low,
                         out_.gaps[g].high,
                         // As for a key: what was reached has to be seen to be inside.
                         std::max(habits_.length(&record::Presets::aim_guard),
                                  millimetres(out_.gaps[g].end_play.plus_minus())),
                         {}};
      for (const KnownTube& k : tubes_[g]) {
        rods::StackTube tube;
        tube.upper = part(k, Side::upper);
        tube.lower = part(k, Side::lower);
        if (k.has_pad()) tube.pad = rods::PadOnTube{millimetres(k.offset->value), k.allowed};
        gap.tubes.push_back(tube);
      }
      model_.gaps.push_back(std::move(gap));
    }
    model_.posts.resize(model_.gaps.size() + 1);
    for (std::size_t p = 0; p < stack_.posts.size(); ++p) {
      const LengthEntry& may = stack_.posts[p].may_move;
      if (may.known()) model_.posts[p] = {may.value, may.value};
    }
    const auto price = [&](Duration set_up, NumberEntry record::RodPresets::*each,
                           NumberEntry record::RodPresets::*metal) {
      return rods::WorkPrice{set_up, habits_.minutes(each),
                             metal != nullptr ? habits_.minutes(metal) : Duration{}};
    };
    using R = record::RodPresets;
    prices_.swedge = price(habits_.minutes(&R::swedge_set_up), &R::swedge_per_mm, &R::swedge_metal);
    prices_.face = price(habits_.set_up(&record::Presets::face), &R::face_per_mm, &R::face_metal);
    prices_.move_post = price(habits_.set_up(&record::Presets::restore_post), &R::post_per_mm, nullptr);
    prices_.ream_swedged = habits_.minutes(&R::ream_tube);
    prices_.apart = habits_.minutes(&R::apart);
    prices_.least = habits_.length(&R::least);
  }

  void plan() {
    build();
    const auto answer = rods::plan_stack(model_, prices_);
    if (!answer) {
      out_.problem = answer.error();
      out_.problem->place = stack_.place;
      return;
    }
    for (const rods::StackRefusal& r : answer->refusals) out_.refusals.push_back(words(r));
    for (const rods::StackPlan& p : answer->plans) {
      StackWorkPlan out;
      out.plan = p;
      using R = record::RodPresets;
      rods::StackDoubt doubt;
      for (const GapOnStack& g : out_.gaps) doubt.end_play.push_back(millimetres(g.end_play.standard));
      doubt.swedge_share = habits_.number(&R::swedge_scatter) / 2;
      doubt.face_share = habits_.number(&R::face_scatter) / 2;
      doubt.post_share = habits_.number(&R::post_scatter) / 2;
      doubt.chance_wanted = habits_.number(&R::chance_wanted);
      doubt.overshoot_risk = habits_.number(&R::overshoot_risk);
      auto care = rods::care_for(model_, p, doubt);
      if (!care) {
        out_.problem = care.error();
        out_.problem->place = stack_.place;
        return;
      }
      out.care = *std::move(care);
      for (std::size_t k = 0; k < p.steps.size(); ++k)
        out.steps.push_back(step(p.steps[k], out.care.steps[k]));
      out_.plans.push_back(std::move(out));
    }
    if (out_.plans.empty()) return;
    for (const rods::LimitAt& limit : out_.plans[0].plan.ruling) {
      const auto saved = rods::saved_by_easing(model_, prices_, limit, millimetres(0.01));
      Eased e{words(limit), std::nullopt};
      if (saved) e.saved = *saved;
      out_.ruling.push_back(std::move(e));
    }
  }

  std::string where(const rods::StackStep& s) const {
    if (s.work == rods::StackWork::move_post) {
      return fmt::format("{} towards the {} end", post_name(s.tube), word(s.side));
    }
    const KnownTube& k = tubes_[s.gap][s.tube];
    if (s.work == rods::StackWork::face) return fmt::format("the {} end of {}", word(s.side), k.name);
    if (!k.has_pad()) return fmt::format("{} near its {} end", k.name, word(s.side));
    return fmt::format("{} {} its arm", k.name, s.side == Side::upper ? "above" : "below");
  }
  std::string post_name(std::size_t p) const {
    if (p < stack_.posts.size() && !stack_.posts[p].name.empty()) {
      return fmt::format("post {} ({})", p + 1, stack_.posts[p].name.text);
    }
    return fmt::format("post {}", p + 1);
  }

  StackWorkStep step(const rods::StackStep& s, const rods::StackBite& bite) const {
    StackWorkStep out;
    out.step = s;
    out.bite = bite;
    out.where = where(s);
    if (s.work != rods::StackWork::swedge) return out;
    const KnownTube& k = tubes_[s.gap][s.tube];
    out.squeezed_over = reach(k, s.side);
    out.tube = k.wall();
    if (!out.tube) return out;
    const double share = habits_.number(&record::RodPresets::swedge_share);
    if (auto swedged = rods::swedge_to_grow(*out.tube, out.squeezed_over, s.amount, share)) {
      out.squeezed = *swedged;
    }
    if (auto least = rods::swedge_to_grow(*out.tube, out.squeezed_over, s.amount, 1)) {
      out.squeezed_least = *least;
    }
    return out;
  }

  std::string words(const rods::LimitAt& l) const {
    const std::string value = show(l.value, unit_);
    switch (l.limit) {
      case rods::StackLimit::play_least:
        return fmt::format("{} wants an end play of at least {}", out_.gaps[l.gap].name, value);
      case rods::StackLimit::play_most:
        return fmt::format("{} wants an end play of at most {}", out_.gaps[l.gap].name, value);
      case rods::StackLimit::pad_up:
      case rods::StackLimit::pad_down:
        return fmt::format("the pad of {} may stand {} off towards the {} post, no more",
                           tubes_[l.gap][l.tube].name, value,
                           l.limit == rods::StackLimit::pad_up ? "upper" : "lower");
      case rods::StackLimit::swedge_most:
        return fmt::format("{} is made to grow by {}, no more",
                           where({rods::StackWork::swedge, l.gap, l.tube, l.side, {}, false}), value);
      case rods::StackLimit::face_most:
        return fmt::format("{} loses {}, no more",
                           where({rods::StackWork::face, l.gap, l.tube, l.side, {}, false}), value);
      case rods::StackLimit::post_most:
        break;
    }
    return fmt::format("{} moves {} towards the {} end, no more", post_name(l.tube), value, word(l.side));
  }

  std::string words(const rods::StackRefusal& r) const {
    std::string out =
        r.first_gap == r.last_gap
            ? fmt::format("{}: nothing that may be done brings it right.", out_.gaps[r.first_gap].name)
            : fmt::format("gaps {} to {}: nothing that may be done brings them all right.", r.first_gap + 1,
                          r.last_gap + 1);
    out += " These stand against one another: ";
    for (std::size_t k = 0; k < r.limits.size(); ++k) out += (k > 0 ? "; " : "") + words(r.limits[k]);
    out += ". Any one of them given up, the rest can be met";
    const bool works = std::any_of(r.limits.begin(), r.limits.end(), [](const rods::LimitAt& l) {
      return l.limit == rods::StackLimit::swedge_most || l.limit == rods::StackLimit::face_most ||
             l.limit == rods::StackLimit::post_most;
    });
    return out + (works ? "." : ", with the work that is allowed.");
  }

  void choose_rods() {
    if (!rod_) {
      out_.no_rods = "the rod's diameter was not read";
      return;
    }
    rods::RodQuestion q;
    for (const auto& gap : tubes_) {
      for (const KnownTube& k : gap) {
        const auto wall = k.wall();
        if (!wall || !k.length) {
          out_.no_rods = fmt::format("bore, outside diameter or length of {} was not read", k.name);
          return;
        }
        q.tubes.push_back({*wall, millimetres(k.length->value), k.may(k.source->ream)});
      }
    }
    q.now = millimetres(rod_->value);
    q.least_wall = habits_.length(&record::RodPresets::wall_min);
    q.guard = habits_.length(&record::Presets::aim_guard);
    q.rod_change = habits_.minutes(&record::RodPresets::rod_change);
    q.ream_set_up = habits_.minutes(&record::RodPresets::ream_tube);
    std::vector<Length> sizes{q.now};
    std::vector<std::string> names{"as it is"};
    for (const record::Rod& r : habits_.shop().rods) {
      // The fits are tabled up to 10 mm.
      if (!r.diameter.known() || r.diameter.value > millimetres(10)) continue;
      sizes.push_back(r.diameter.value);
      names.push_back(r.name);
    }
    const auto choices = rods::choose_rod(q, sizes, fit_);
    if (!choices) {
      out_.no_rods = choices.error().what;
      return;
    }
    for (const rods::RodChoice& c : *choices) out_.rods.push_back({names[c.rod], c});
  }

  /// A bore that is too wide for its rod can also be squeezed back.
  void close_bores() {
    for (const TubeOnStack& t : out_.tubes) {
      const KnownTube& k = tubes_[t.gap][t.place];
      const auto wall = k.wall();
      if (!t.window || !wall || !k.may(k.source->swedge)) continue;
      const Length over = millimetres(t.clearance->value) - t.window->most;
      if (over.raw() <= 0) continue;
      const Length aim = over + (t.window->most - t.window->least) / 2.0;
      const double share = habits_.number(&record::RodPresets::swedge_share);
      std::string ends;
      for (const Side side : {Side::upper, Side::lower}) {
        const Length reach_there = reach(k, side);
        if (reach_there.raw() <= 0) continue;
        const auto likely = rods::swedge_to_close(*wall, reach_there, aim, share);
        const auto longest = rods::swedge_to_close(*wall, reach_there, aim, 1);
        if (!likely || !longest) continue;
        ends += fmt::format("{}{} at the {} end by about {} (at most {})", ends.empty() ? "" : ", ",
                            show_length(reach_there, unit_, bench_decimals(unit_) - 1), word(side),
                            show(likely->growth, unit_), show(longest->growth, unit_));
      }
      if (ends.empty()) continue;
      out_.closings.push_back(fmt::format(
          "{}: squeezed so that its bore closes by {}, it runs in {} on the rod as it is; that makes "
          "it longer: {}. Swedging of the plan counts towards that.",
          k.name, show(aim, unit_), out_.fit, ends));
    }
  }

  const record::Instrument& instrument_;
  const record::Stack& stack_;
  const Habits& habits_;
  LengthUnit unit_;
  mechanism::RunningFit fit_;
  StackResult out_;
  std::vector<std::vector<KnownTube>> tubes_;  ///< by gap
  std::optional<Given> rod_;
  rods::Stack model_;
  rods::StackPrices prices_;
};

double minutes(Duration d) { return in_seconds(d) / 60; }

}  // namespace

std::vector<StackResult> work_out_stacks(const record::Instrument& instrument, const record::Shop& shop,
                                         LengthUnit unit) {
  const Habits habits(shop);
  std::vector<StackResult> out;
  for (const record::Stack& stack : instrument.stacks) {
    out.push_back(StackWorker(instrument, stack, habits, unit).run());
  }
  return out;
}

Expected<const StackResult*> find_stack(const std::vector<StackResult>& stacks, const std::string& id) {
  std::vector<std::string> ids;
  for (const StackResult& s : stacks) {
    if (s.id == id) return &s;
    ids.push_back(s.id);
  }
  const std::string near = nearest_name(id, ids);
  return fail(Fault::not_found, fmt::format("there is no stack \"{}\"", id),
              ids.empty()    ? std::string("the instrument lists none")
              : near.empty() ? "one of " + listed(ids)
                             : fmt::format("perhaps \"{}\"", near));
}

namespace {

/// A diameter or a reach, with one decimal fewer than a bench figure.
std::string size(Length l, LengthUnit unit) { return show_length(l, unit, bench_decimals(unit) - 1); }

}  // namespace

std::string tell(const StackWorkStep& s, LengthUnit unit) {
  const std::string amount = show(s.step.amount, unit);
  switch (s.step.work) {
    case rods::StackWork::swedge:
      return fmt::format("swedge {}, {} longer", s.where, amount);
    case rods::StackWork::face:
      return fmt::format("face {}, {} off", s.where, amount);
    case rods::StackWork::move_post:
      break;
  }
  return fmt::format("move {} by {}", s.where, amount);
}

std::string tell_how(const StackWorkStep& s, LengthUnit unit) {
  std::string out;
  const auto sentence = [&](const std::string& text) { out += (out.empty() ? "" : " ") + text; };
  if (s.squeezed && s.squeezed_least && s.tube) {
    sentence(fmt::format(
        "Squeeze {} of it: outside from {} to about {} ({} if all of it went into length); the bore closes "
        "by "
        "{}.",
        size(s.squeezed_over, unit), size(s.tube->outside, unit), size(s.squeezed->tube.outside, unit),
        size(s.squeezed_least->tube.outside, unit), show(s.squeezed->closes, unit)));
  }
  if (s.step.ream_after) sentence("Its bore closes on the rod: ream it to its running fit afterwards.");
  if (s.bite.measure_after) {
    if (s.bite.first.raw() <= 0) {
      sentence("Read the end play closer first: as it was read, no step is safe yet.");
    } else if (show(s.bite.first, unit) == show(s.step.amount, unit)) {
      sentence("Then put it together and read the gap before going on.");
    } else {
      sentence(fmt::format("Do {} first, put it together, read the gap, then work out the rest.",
                           show(s.bite.first, unit)));
    }
  }
  return out;
}

std::string tell(const StackResult& stack, const RodForStack& rod, LengthUnit unit) {
  const rods::RodChoice& c = rod.choice;
  std::vector<std::string> reams;
  for (std::size_t k = 0; k < c.tubes.size(); ++k) {
    if (c.tubes[k].ream.raw() > 0) {
      reams.push_back(fmt::format("{} by {} (wall left {})", stack.tubes[k].name, show(c.tubes[k].ream, unit),
                                  show(c.tubes[k].wall, unit)));
    }
  }
  const std::string ream = reams.empty() ? "no reaming" : "ream " + listed(reams);
  switch (c.trouble) {
    case rods::RodTrouble::none:
      return fmt::format("will do: {}; {:.0f} min", ream, minutes(c.minutes));
    case rods::RodTrouble::too_thin:
      return fmt::format("too thin: {} would be {} too loose", stack.tubes[c.tube].name, show(c.by, unit));
    case rods::RodTrouble::may_not:
      return fmt::format("too thick: {} would have to be reamed and may not be", stack.tubes[c.tube].name);
    case rods::RodTrouble::wall:
      break;
  }
  return fmt::format("too thick: the wall of {} would be {} too thin", stack.tubes[c.tube].name,
                     show(c.by, unit));
}

namespace {

Json worked(const std::optional<Worked>& w) { return w ? Json(json_of(*w)) : Json(nullptr); }

Json tube_json(const TubeOnStack& t) {
  Json out = {{"name", t.name},
              {"key", t.key.empty() ? Json(nullptr) : Json(t.key)},
              {"gap", t.gap + 1},
              {"clearance", worked(t.clearance)},
              {"fit", nullptr},
              {"rock", worked(t.rock)},
              {"pad_up", worked(t.pad_up)},
              {"pad_down", worked(t.pad_down)},
              {"bow", nullptr}};
  if (t.window) out["fit"] = {{"least", number(t.window->least)}, {"most", number(t.window->most)}};
  if (t.bow) {
    out["bow"] = {{"touches", rods::word(t.bow->regime)},
                  {"room", worked(t.bow_room)},
                  {"friction", worked(t.friction)},
                  {"chance_binds", number(t.chance_bow_binds)}};
  }
  return out;
}

Json plan_json(const StackWorkPlan& p, LengthUnit unit) {
  Json out = {{"minutes", number(minutes(p.plan.time))},
              {"metal_minutes", number(minutes(p.plan.metal))},
              {"steps", Json::array()},
              {"gaps", Json::array()}};
  for (const StackWorkStep& s : p.steps) {
    const bool post = s.step.work == rods::StackWork::move_post;
    out["steps"].push_back({{"work", rods::word(s.step.work)},
                            {"gap", post ? Json(nullptr) : Json(s.step.gap + 1)},
                            {post ? "post" : "tube", s.step.tube + 1},
                            {"side", word(s.step.side)},
                            {"amount", number(s.step.amount)},
                            {"ream_after", s.step.ream_after},
                            {"measure_after", s.bite.measure_after},
                            {"first", number(s.bite.first)},
                            {"tell", tell(s, unit)},
                            {"how", tell_how(s, unit)}});
  }
  for (std::size_t g = 0; g < p.plan.gaps.size(); ++g) {
    Json pads = Json::array();
    for (const auto& pad : p.plan.gaps[g].pads) {
      pads.push_back(pad ? Json{{"up", number(pad->up)}, {"down", number(pad->down)}} : Json(nullptr));
    }
    out["gaps"].push_back({{"end_play", number(p.plan.gaps[g].end_play)},
                           {"pads", std::move(pads)},
                           {"chance", number(p.care.chance[g])},
                           {"chance_measured", number(p.care.chance_measured[g])}});
  }
  return out;
}

}  // namespace

std::string to_json(const std::vector<StackResult>& stacks, LengthUnit unit, const std::string& only) {
  Json out = {{"unit", "mm"}, {"stacks", Json::array()}};
  for (const StackResult& s : stacks) {
    if (!only.empty() && s.id != only) continue;
    Json j = {{"id", s.id}, {"name", s.name}};
    if (s.problem) {
      j["problem"] = {{"what", s.problem->what},
                      {"expected", s.problem->expected},
                      {"file", s.problem->place.file},
                      {"pointer", s.problem->place.pointer}};
      out["stacks"].push_back(std::move(j));
      continue;
    }
    j["rod"] = worked(s.rod);
    j["fit"] = s.fit;
    j["tubes"] = Json::array();
    for (const TubeOnStack& t : s.tubes) j["tubes"].push_back(tube_json(t));
    j["gaps"] = Json::array();
    for (const GapOnStack& g : s.gaps) {
      j["gaps"].push_back({{"name", g.name},
                           {"end_play", json_of(g.end_play)},
                           {"window", {{"low", number(g.low)}, {"high", number(g.high)}}}});
    }
    j["plans"] = Json::array();
    for (const StackWorkPlan& p : s.plans) j["plans"].push_back(plan_json(p, unit));
    j["ruling"] = Json::array();
    for (const Eased& e : s.ruling) {
      j["ruling"].push_back(
          {{"limit", e.limit}, {"minutes_saved", e.saved ? number(minutes(*e.saved)) : Json(nullptr)}});
    }
    j["refusals"] = s.refusals;
    j["rods"] = Json::array();
    for (const RodForStack& r : s.rods) {
      j["rods"].push_back({{"name", r.name},
                           {"diameter", number(r.choice.diameter)},
                           {"does", r.choice.trouble == rods::RodTrouble::none},
                           {"metal_mm3", number(r.choice.metal)},
                           {"minutes", number(minutes(r.choice.minutes))},
                           {"says", tell(s, r, unit)}});
    }
    if (!s.no_rods.empty()) j["no_rods"] = s.no_rods;
    j["closings"] = s.closings;
    j["notes"] = s.notes;
    out["stacks"].push_back(std::move(j));
  }
  return text_of(out);
}

}  // namespace hingeline::service
