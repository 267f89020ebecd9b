#include "hingeline/service/outfit.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <tuple>

#include "hingeline/mechanism/running_fit.h"
#include "hingeline/rods/rod.h"
#include "json_parts.h"
#include "nearest.h"

namespace hingeline::service {
namespace {

template <class E>
const E& settled(const E& own, const E& general) {
  return own.known() ? own : general;
}

const record::Pattern* pattern_of(const record::Shop& shop, const std::string& name) {
  for (const record::Shop* s : {&shop, &general_shop()}) {
    for (const record::Pattern& p : s->patterns) {
      if (!name.empty() && p.name == name) return &p;
    }
  }
  return nullptr;
}

/// Things met, gathered by their size.
class Gathering {
 public:
  void add(Length size, const std::string& where) { put({steps(size, 0.01), 0, 0}, size, {}, {}, where); }
  void add(Angle half_angle, Length narrow, Length wide, const std::string& where) {
    put({steps(wide, 0.1), std::llround(2 * in_degrees(half_angle)), steps(narrow, 0.1)}, wide, half_angle,
        narrow, where);
  }
  [[nodiscard]] std::vector<Met> take() {
    std::vector<Met> out;
    for (auto& [key, met] : by_size_) {
      std::sort(met.where.begin(), met.where.end());
      met.where.erase(std::unique(met.where.begin(), met.where.end()), met.where.end());
      out.push_back(std::move(met));
    }
    return out;
  }

 private:
  using Key = std::tuple<std::int64_t, std::int64_t, std::int64_t>;
  static std::int64_t steps(Length l, double step) { return std::llround(in_millimetres(l) / step); }
  void put(const Key& key, Length size, std::optional<Angle> half_angle, Length narrow,
           const std::string& where) {
    const auto [at, is_new] = by_size_.emplace(key, Met{size, half_angle, narrow, 0, {}});
    ++at->second.count;
    at->second.where.push_back(where);
  }
  std::map<Key, Met> by_size_;
};

struct Gathered {
  Gathering heads;
  Gathering tapers;
  Gathering bores;
};

/// The entry itself, else that of the pattern.
template <class E>
const E& own_or(const E& own, const E* pattern) {
  return own.known() || pattern == nullptr ? own : *pattern;
}

void gather_end(Gathered& g, const record::Shop& shop, const record::End& end, const std::string& where) {
  const record::Pattern* p = pattern_of(shop, end.screw.pattern.text);
  const auto head = end.screw.head ? end.screw.head : p != nullptr ? p->screw.head : std::nullopt;
  const auto& diameter = own_or(end.screw.head_diameter, p != nullptr ? &p->screw.head_diameter : nullptr);
  if (head == record::HeadKind::headed && diameter.known()) g.heads.add(diameter.value, where);

  const auto shape = end.hole.shape ? end.hole.shape : p != nullptr ? p->hole.shape : std::nullopt;
  if (shape != record::HoleShape::cone && shape != record::HoleShape::bell) return;
  // A reamer restores the point's own taper.
  const auto& point = end.screw.point;
  const auto& angle = own_or(point.half_angle, p != nullptr ? &p->screw.point.half_angle : nullptr);
  const auto& tip = own_or(point.tip_diameter, p != nullptr ? &p->screw.point.tip_diameter : nullptr);
  const auto& mouth = own_or(end.hole.mouth_diameter, p != nullptr ? &p->hole.mouth_diameter : nullptr);
  if (angle.known() && mouth.known())
    g.tapers.add(angle.value, tip.known() ? std::min(tip.value, mouth.value) : mouth.value, mouth.value,
                 where);
}

void gather(Gathered& g, const record::Shop& shop, const record::Instrument& instrument) {
  for (const record::Key& key : instrument.keys) {
    const std::string where = fmt::format("{}: {}", instrument.title, key.id);
    if (key.hinge.kind == record::HingeKind::rod) {
      if (key.hinge.bore.known()) g.bores.add(key.hinge.bore.value, where);
      continue;
    }
    gather_end(g, shop, key.hinge.upper, where);
    gather_end(g, shop, key.hinge.lower, where);
  }
  for (const record::Stack& stack : instrument.stacks) {
    for (const record::StackGap& gap : stack.gaps) {
      for (const record::StackTube& tube : gap.tubes) {
        if (tube.bore.known() && tube.key.empty())
          g.bores.add(tube.bore.value, fmt::format("{}: {}", instrument.title, stack.id));
      }
    }
  }
}

/// Heads measured in a job, one of each end; else those of its pattern's two screws.
void gather(Gathered& g, const record::Shop& shop, const record::Job& job) {
  const std::string where = "ledger: " + (job.pattern.empty() ? std::string("measured") : job.pattern);
  std::map<std::optional<record::WhichEnd>, Length> heads;
  for (const record::JobMeasure& m : job.measured) {
    if (m.field == record::MeasuredField::head_diameter && m.length.known())
      heads.emplace(m.end, m.length.value);
  }
  for (const auto& [end, head] : heads) g.heads.add(head, where);
  const record::Pattern* p = pattern_of(shop, job.pattern);
  if (p == nullptr) return;
  constexpr int kEnds = 2;
  for (int end = 0; end < kEnds; ++end) {
    record::End both;
    both.screw = p->screw;
    both.hole = p->hole;
    if (!heads.empty()) both.screw.head_diameter = {};
    gather_end(g, shop, both, where);
  }
}

ToolAt tool_at(std::string name, Length size, bool owned, std::optional<record::Wear> wear,
               const record::Amount& price) {
  ToolAt t{std::move(name), size, {}, {}, {}};
  t.tool.owned = owned;
  t.tool.worn = wear == record::Wear::worn;
  if (price.present) t.tool.price = price.money;
  return t;
}

std::string size_name(Length size) { return show_length(size, LengthUnit::mm, 2); }

std::vector<ToolAt> cutters_of(const record::Shop& shop, const record::Ledger* ledger) {
  std::vector<ToolAt> out;
  for (const record::Cutter& c : shop.cutters) {
    if (!c.diameter.known()) continue;
    out.push_back(tool_at(c.name, c.diameter.value, true, c.wear, {}));
    if (ledger == nullptr) continue;
    for (const record::Job& job : ledger->jobs) {
      for (const record::JobBite& bite : job.bites) out.back().tool.uses += bite.cutter == c.name ? 1 : 0;
    }
  }
  for (const record::OfferedCutter& c : shop.offered.cutters) {
    if (c.diameter.known())
      out.push_back(tool_at(size_name(c.diameter.value) + " cutter", c.diameter.value, false, {}, c.price));
  }
  return out;
}

std::vector<ToolAt> reamers_of(const record::Shop& shop) {
  std::vector<ToolAt> out;
  const auto shape = [&out](const record::AngleEntry& angle, const record::LengthEntry& narrow) {
    out.back().half_angle = angle.value;
    out.back().narrow = narrow.value;
  };
  const auto whole = [](const auto& r) {
    return r.half_angle.known() && r.small_diameter.known() && r.large_diameter.known();
  };
  for (const record::Reamer& r : shop.reamers) {
    if (!whole(r)) continue;
    out.push_back(tool_at(r.name, r.large_diameter.value, true, r.wear, {}));
    shape(r.half_angle, r.small_diameter);
  }
  for (const record::OfferedReamer& r : shop.offered.reamers) {
    if (!whole(r)) continue;
    out.push_back(tool_at(fmt::format("{:.1f}° reamer, {} to {}", in_degrees(r.half_angle.value),
                                      size_name(r.small_diameter.value), size_name(r.large_diameter.value)),
                          r.large_diameter.value, false, {}, r.price));
    shape(r.half_angle, r.small_diameter);
  }
  return out;
}

std::vector<ToolAt> rods_of(const record::Shop& shop) {
  std::vector<ToolAt> out;
  for (const record::Rod& r : shop.rods) {
    if (r.diameter.known()) out.push_back(tool_at(r.name, r.diameter.value, true, r.wear, {}));
  }
  for (const record::OfferedRod& r : shop.offered.rods) {
    if (r.diameter.known())
      out.push_back(tool_at(size_name(r.diameter.value) + " rod", r.diameter.value, false, {}, r.price));
  }
  return out;
}

template <class Serves>
Expected<KindOfTool> kind_of(ToolKind kind, std::vector<Met> met, std::vector<ToolAt> tools, Serves serves) {
  KindOfTool out;
  out.kind = kind;
  out.met = std::move(met);
  out.tools = std::move(tools);
  choice::Task task;
  for (const Met& m : out.met) task.counts.push_back(m.count);
  for (ToolAt& t : out.tools) {
    for (std::size_t d = 0; d < out.met.size(); ++d) {
      if (serves(t, out.met[d])) t.tool.serves.push_back(d);
    }
    task.tools.push_back(t.tool);
  }
  auto cover = choice::cover(task);
  if (!cover) return tl::unexpected(cover.error());
  out.cover = std::move(*cover);
  return out;
}

std::string names_of(const std::vector<std::size_t>& tools, const KindOfTool& kind) {
  std::vector<std::string> names;
  names.reserve(tools.size());
  for (const std::size_t t : tools) names.push_back(kind.tools[t].name);
  return listed(names);
}

std::string plural(ToolKind kind) { return std::string(word(kind)) + "s"; }

}  // namespace

const char* word(ToolKind kind) {
  switch (kind) {
    case ToolKind::cutter:
      return "cutter";
    case ToolKind::reamer:
      return "reamer";
    case ToolKind::rod:
      break;
  }
  return "rod";
}
const char* demand_word(ToolKind kind) {
  switch (kind) {
    case ToolKind::cutter:
      return "head";
    case ToolKind::reamer:
      return "taper";
    case ToolKind::rod:
      break;
  }
  return "bore";
}

Expected<OutfitResult> outfit_of(const record::Shop& shop, const std::vector<record::Instrument>& instruments,
                                 const record::Ledger* ledger) {
  OutfitResult out;
  out.title = shop.title;
  out.currency = shop.prices.currency;
  out.instruments = instruments.size();
  Gathered met;
  for (const record::Instrument& i : instruments) gather(met, shop, i);
  if (ledger != nullptr) {
    out.jobs = ledger->jobs.size();
    for (const record::Job& job : ledger->jobs) gather(met, shop, job);
  }
  if (instruments.empty() && ledger == nullptr)
    out.notes.emplace_back("nothing was given to look through: name instrument documents, or --ledger");

  const record::Presets& general = general_shop().presets;
  const Length over = settled(shop.presets.cutter_over_max, general.cutter_over_max).value;
  const Length under = settled(shop.presets.cutter_under_max, general.cutter_under_max).value;
  const Angle match = settled(shop.presets.taper_match, general.taper_match).value;
  const record::Text& fit_text = shop.presets.rods.fit.empty() ? general.rods.fit : shop.presets.rods.fit;
  const auto fit = mechanism::parse_running_fit(fit_text.text);
  if (!fit) {
    Error error = fit.error();
    error.place = fit_text.place;
    return tl::unexpected(std::move(error));
  }

  auto cutters = kind_of(ToolKind::cutter, met.heads.take(), cutters_of(shop, ledger),
                         [&](const ToolAt& t, const Met& m) {
                           return choice::serves(t.size, choice::cutters_for(m.size, under, over));
                         });
  auto reamers =
      kind_of(ToolKind::reamer, met.tapers.take(), reamers_of(shop), [&](const ToolAt& t, const Met& m) {
        return choice::serves(choice::Reamer{*t.half_angle, t.narrow, t.size},
                              choice::Taper{*m.half_angle, match, m.narrow, m.size});
      });
  auto rods = kind_of(ToolKind::rod, met.bores.take(), rods_of(shop), [&](const ToolAt& t, const Met& m) {
    const auto window = hingeline::rods::clearance_window(*fit, t.size);
    return window && choice::serves(t.size, choice::rods_for(m.size, window->least, window->most));
  });
  for (auto* kind : {&cutters, &reamers, &rods}) {
    if (!*kind) return tl::unexpected(kind->error());
    out.kinds.push_back(std::move(**kind));
  }
  out.kinds.front().uses_known = ledger != nullptr;
  return out;
}

std::string show(const Met& met, LengthUnit unit) {
  const int decimals = bench_decimals(unit) - 1;
  if (!met.half_angle) return show_length(met.size, unit, decimals);
  std::string narrow = show_length(met.narrow, unit, decimals - 1);
  narrow.resize(narrow.find(' '));
  return fmt::format("{:.1f}°, {} to {}", in_degrees(*met.half_angle), narrow,
                     show_length(met.size, unit, decimals - 1));
}

std::vector<std::string> tell(const KindOfTool& kind, const OutfitResult& result, LengthUnit unit) {
  std::vector<std::string> out;
  const choice::Cover& c = kind.cover;
  const auto sizes_of = [&](const std::vector<std::size_t>& demands) {
    std::vector<std::string> names;
    names.reserve(demands.size());
    for (const std::size_t d : demands) names.push_back(show(kind.met[d], unit));
    return kind.kind == ToolKind::reamer ? fmt::format("{}", fmt::join(names, "; ")) : listed(names);
  };
  if (c.all == 0) {
    out.push_back(fmt::format("No {} met: nothing to choose by.", demand_word(kind.kind)));
    return out;
  }
  const auto share = [&](std::int64_t served) {
    return fmt::format("{} of {} ({:.0f} %)", served, c.all,
                       100 * static_cast<double>(served) / static_cast<double>(c.all));
  };
  out.push_back(fmt::format("Owned and sound they serve {}.", share(c.steps.front().served)));
  if (!c.missing.empty()) out.push_back("Not served: " + sizes_of(c.missing) + ".");
  if (c.steps.size() > 1) {
    const choice::Step& last = c.steps.back();
    std::string text =
        fmt::format("To serve all that can be, the fewest to buy: {}", names_of(last.bought, kind));
    if (last.priced)
      text +=
          fmt::format("; {}{}", show_money(last.price), result.currency.empty() ? "" : " " + result.currency);
    out.push_back(text + ".");
  }
  if (!c.hopeless.empty()) {
    const bool none_offered =
        std::all_of(kind.tools.begin(), kind.tools.end(), [](const auto& t) { return t.tool.owned; });
    out.push_back(none_offered ? fmt::format("The shop's document offers no {} to buy.", plural(kind.kind))
                               : "Nothing on offer serves: " + sizes_of(c.hopeless) + ".");
  }
  if (!c.worn.empty()) out.push_back("Worn: " + names_of(c.worn, kind) + ".");
  if (!c.worn_alone.empty()) out.push_back("Only a worn one serves: " + sizes_of(c.worn_alone) + ".");
  if (kind.uses_known && !c.never_used.empty())
    out.push_back("Never used in the ledger: " + names_of(c.never_used, kind) + ".");
  if (!c.spare.empty()) out.push_back("Could go, the others serve as much: " + names_of(c.spare, kind) + ".");
  if (!c.from_nothing.empty()) {
    out.push_back(fmt::format("With nothing owned, {} would do: {}.", c.from_nothing.size(),
                              names_of(c.from_nothing, kind)));
  }
  return out;
}

std::string to_json(const OutfitResult& result) {
  Json out{{"title", result.title},
           {"currency", result.currency},
           {"instruments", result.instruments},
           {"jobs", result.jobs},
           {"kinds", Json::array()}};
  for (const KindOfTool& kind : result.kinds) {
    const auto names = [&](const std::vector<std::size_t>& tools) {
      Json list = Json::array();
      for (const std::size_t t : tools) list.push_back(kind.tools[t].name);
      return list;
    };
    const choice::Cover& c = kind.cover;
    Json j{{"tool", word(kind.kind)}, {"met", Json::array()}, {"tools", Json::array()}};
    const auto has = [](const std::vector<std::size_t>& list, std::size_t i) {
      return std::find(list.begin(), list.end(), i) != list.end();
    };
    for (std::size_t d = 0; d < kind.met.size(); ++d) {
      const Met& m = kind.met[d];
      Json met{{"size", number(m.size)}, {"count", m.count}};
      if (m.half_angle) {
        met["half_angle"] = number(in_degrees(*m.half_angle));
        met["narrow"] = number(m.narrow);
      }
      met["served"] = !has(c.missing, d);
      met["can_be_bought"] = has(c.missing, d) && !has(c.hopeless, d);
      met["where"] = m.where;
      j["met"].push_back(std::move(met));
    }
    for (std::size_t t = 0; t < kind.tools.size(); ++t) {
      const ToolAt& at = kind.tools[t];
      Json tool{{"name", at.name}, {"size", number(at.size)}};
      if (at.half_angle) {
        tool["half_angle"] = number(in_degrees(*at.half_angle));
        tool["narrow"] = number(at.narrow);
      }
      tool["owned"] = at.tool.owned;
      tool["worn"] = at.tool.worn;
      tool["uses"] = kind.uses_known && at.tool.owned ? Json(at.tool.uses) : Json(nullptr);
      tool["price"] = at.tool.price ? Json(show_money(*at.tool.price)) : Json(nullptr);
      tool["serves"] = at.tool.serves;
      tool["spare"] = has(c.spare, t);
      tool["never_used"] = kind.uses_known && has(c.never_used, t);
      j["tools"].push_back(std::move(tool));
    }
    j["all"] = c.all;
    j["steps"] = Json::array();
    for (const choice::Step& s : c.steps) {
      j["steps"].push_back({{"bought", names(s.bought)},
                            {"served", s.served},
                            {"price", s.priced ? Json(show_money(s.price)) : Json(nullptr)}});
    }
    j["from_nothing"] = names(c.from_nothing);
    out["kinds"].push_back(std::move(j));
  }
  out["notes"] = result.notes;
  return text_of(out);
}

}  // namespace hingeline::service
