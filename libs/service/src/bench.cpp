#include "hingeline/service/bench.h"
#include "hingeline/service/bow.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>

#include "hingeline/numeric/propagate.h"
#include "knowledge.h"
#include "nearest.h"

namespace hingeline::service {
namespace {

using belief::Observation;

constexpr const char* kGeneralShop =
#include "general_shop.inc"
    ;

KeyResult work_out_key(const record::Key& key, const record::Instrument& instrument,
                       const record::Shop& shop) {
  KeyResult out;
  out.id = key.id;
  out.name = key.name;
  out.note = key.note;
  out.source = &key;
  const auto give_up = [&](Error error) {
    if (error.place.pointer.empty()) error.place = key.place;
    out.problem = std::move(error);
    out.plan.because = "";
    return std::move(out);
  };
  auto knowledge = knowledge_of(key, shop, out.notes);
  if (!knowledge) return give_up(std::move(knowledge.error()));
  out.knowledge = std::move(*knowledge);
  auto estimate = belief::estimate(out.knowledge);
  if (!estimate) return give_up(std::move(estimate.error()));
  auto hinge = belief::build_hinge(estimate->geometry);
  if (!hinge) return give_up(std::move(hinge.error()));
  out.hinge = std::move(*hinge);
  for (const auto& a : estimate->agreements) {
    if (a.used) continue;
    const Observation& o = a.observation;
    const bool rock_unexplained = o.of == Observation::Of::rock && o.value.raw() > a.predicted;
    out.notes.push_back(
        say(belief::word(o.of), " read as ", o.value, " where all else gives ",
            WithDoubt{millimetres(a.predicted), millimetres(a.predicted_pm)},
            rock_unexplained ? ": more than the play explains" : ": left out, measure again"));
  }
  out.key_case = case_of(key, instrument, shop, out.knowledge, std::move(*estimate));
  out.plan = plan::plan_key(*out.key_case);
  for (const Side side : {Side::upper, Side::lower}) {
    const auto& facts = out.key_case->facts(side);
    const bool stands_off = facts.headed && facts.stands_off && facts.stands_off->known() &&
                            facts.stands_off->value > out.key_case->limits.least_cut;
    const bool in_plan = !out.plan.plans.empty() && !out.plan.plans.front().steps.empty();
    if (stands_off && !in_plan) {
      out.notes.push_back(say("the ", word(side), " screw stands off its seat by ", facts.stands_off->value,
                              ": drive it home and read again"));
    }
  }
  return out;
}

}  // namespace

InstrumentResult work_out(const record::Instrument& instrument, const record::Shop& shop, unsigned threads) {
  InstrumentResult out;
  out.title = instrument.title;
  out.kind = instrument.kind;
  out.serial = instrument.serial;
  out.units = instrument.units;
  out.keys.resize(instrument.keys.size());
  // Each key has its own place in the result, so the order of work leaves no trace. Fewer keys than a block's
  // are done before a second thread has started.
  constexpr std::size_t kKeysInBlock = 32;
  numeric::for_blocks(
      out.keys.size(), threads,
      [&](std::size_t first, std::size_t last) {
        for (std::size_t k = first; k < last; ++k) {
          out.keys[k] = work_out_key(instrument.keys[k], instrument, shop);
        }
      },
      kKeysInBlock);
  out.bend = bend_read(instrument, shop);
  return out;
}

Expected<const KeyResult*> find_key(const InstrumentResult& result, const std::string& id) {
  std::vector<std::string> ids;
  for (const KeyResult& key : result.keys) {
    if (key.id == id) return &key;
    ids.push_back(key.id);
  }
  const std::string near = nearest_name(id, ids);
  return fail(Fault::not_found, fmt::format("there is no key \"{}\"", id),
              near.empty() ? "one of " + listed(ids) : fmt::format("perhaps \"{}\"", near));
}

Expected<Figure> find_figure(const std::string& code) {
  if (const auto f = belief::figure_of(code)) return *f;
  std::vector<std::string> codes;
  for (std::size_t k = 0; k < belief::kFigureCount; ++k)
    codes.emplace_back(belief::code(static_cast<Figure>(k)));
  return fail(Fault::not_found, fmt::format("there is no figure \"{}\"", code), "one of " + listed(codes));
}

const record::Shop& general_shop() {
  static const record::Shop shop = [] {
    auto read = record::read_shop(kGeneralShop, "general figures");
    if (!read) throw std::logic_error(record::describe(read.error().front()));
    return std::move(*read);
  }();
  return shop;
}

std::string show(Length length, LengthUnit unit) { return show_length(length, unit, bench_decimals(unit)); }

std::string show(const belief::FigureValue& v, LengthUnit unit) {
  if (std::isnan(v.value)) return "-";
  const auto number = [&](double mm) {
    std::string text = show(millimetres(mm), unit);
    text.resize(text.find(' '));
    return text;
  };
  const char* name = unit == LengthUnit::mm ? "mm" : "in";
  if (v.is_range) return fmt::format("{} to {} {}", number(v.low), number(v.high), name);
  return fmt::format("{} ± {} {}", number(v.value), number(v.plus_minus), name);
}

std::string rides_on(const KeyResult& key, Side side) {
  if (key.knowledge.geometry.kind == belief::HingeKind::rod) return "rod";
  const auto home = mechanism::home_end(*key.hinge, side);
  return home.stop == mechanism::StopKind::face ? "face" : contact::word(home.regime);
}

std::optional<plan::Bite> first_bite(const KeyResult& key) {
  if (!key.key_case || key.plan.plans.empty()) return std::nullopt;
  return plan::first_bite(*key.key_case, key.plan.window, key.plan.plans.front());
}

std::string tell(const plan::Step& s, LengthUnit unit) {
  using plan::Operation;
  const std::string end = word(s.side);
  const std::string amount = show(abs(s.amount), unit);
  switch (s.operation) {
    case Operation::drive_home:
      return fmt::format("drive the {} screw home: it stands off by {}", end, amount);
    case Operation::turn_screw:
      return fmt::format("turn the {} screw {} by {}, and lock it", end, s.amount.raw() >= 0 ? "in" : "out",
                         amount);
    case Operation::restore_post:
      return fmt::format("bring the {} post back {} by {}", end, s.amount.raw() >= 0 ? "inwards" : "outwards",
                         amount);
    case Operation::seat_cut:
      return fmt::format("cut the {} seat {} deeper", end, amount);
    case Operation::ream:
      return fmt::format("ream the {} key end so that its point goes {} further in", end, amount);
    case Operation::face:
      break;
  }
  return fmt::format("face {} off the {} key end", amount, end);
}

std::string tell_how(const plan::Step& s, LengthUnit unit) {
  using plan::Operation;
  std::string out;
  const auto add = [&](const std::string& text) {
    if (text.empty()) return;
    if (!out.empty()) out += "; ";
    out += text;
  };
  if (s.operation == Operation::seat_cut || s.operation == Operation::ream) {
    add(s.tool.name.empty() ? s.tool.why.in(unit) : fmt::format("{} ({})", s.tool.name, s.tool.why.in(unit)));
  }
  if (s.operation == Operation::seat_cut) {
    add(s.reach.name.empty() ? s.reach.why.in(unit)
                             : fmt::format("{} ({})", s.reach.name, s.reach.why.in(unit)));
  }
  if (!s.turn_way.empty()) {
    const bool cutting = plan::takes_metal(s.operation);
    if (s.turns > 0) {
      add(cutting ? fmt::format("turn it {}, about {:.1f} turns at book rate in all", s.turn_way, s.turns)
                  : fmt::format("turn it {}, {:.2f} turns", s.turn_way, s.turns));
    } else {
      add(fmt::format("turn it {}", s.turn_way));
    }
  }
  return out;
}

}  // namespace hingeline::service
