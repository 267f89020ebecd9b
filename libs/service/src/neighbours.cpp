#include "hingeline/service/neighbours.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "hingeline/numeric/propagate.h"
#include "hingeline/service/lead.h"
#include "json_parts.h"

namespace hingeline::service {
namespace {

using belief::Cause;
using belief::Inquiry;
using Message = Inquiry::BowMessage;

/// A key's messages of many neighbours multiply to more than a double holds; the odds need no more than this.
constexpr double kMostLogOdds = 60;

Expected<guide::Guide> ask(const KeyResult& key, const Asking& asking, const Around& around) {
  return guide_of(key, std::nullopt, asking.seed, 1, asking.learned, asking.person, around);
}

belief::CausePresets presets_of(const Asking& asking) {
  const belief::CausePresets presets;
  return asking.learned != nullptr ? presets_with(presets, *asking.learned, {}) : presets;
}

/// Its answers are all from readings of this key; without its line's place a bend has no sign in it.
bool tells(const KeyResult& key) {
  return !key.problem && key.source->hinge.off_axis.known() && !key.knowledge.observations.empty();
}

/// Chances multiply: logarithms of all messages, added. A bend that is older than the fits is in them
/// already: the keys then say nothing of it, all of them together.
class Together {
 public:
  explicit Together(double bend_older) : older_(bend_older) {}
  void add(const Message& m) {
    for (std::size_t k = 0; k < m.size(); ++k) logs_[k] += std::log(m[k]);
  }
  [[nodiscard]] Message without(const std::optional<Message>& own) const {
    Message out;
    for (std::size_t k = 0; k < Inquiry::kBowCount; ++k) {
      const double log = logs_[k] - (own ? std::log((*own)[k]) : 0);
      out[k] = (1 - older_) * std::exp(std::clamp(log, -kMostLogOdds, kMostLogOdds)) + older_;
    }
    out[Inquiry::kBowCount] = 1;
    return out;
  }

 private:
  double older_;
  std::array<double, std::tuple_size_v<Message>> logs_{};
};

/// Chance that a body is bent before any key is looked at: that of a key's first or second cause.
double bend_prior(const belief::CausePresets& p) {
  double all = 0;
  for (const double s : p.share) all += s;
  const double one = p.share[static_cast<std::size_t>(Cause::bent_body)] / all;
  return (1 - p.sound_share) * (one + p.two_causes * (1 - one) * one);
}

/// What the keys say of a bow between the places of a message.
double between(const Message& m, double bow) {
  const double place = std::clamp((bow - Inquiry::bow_at(0)) / (Inquiry::bow_at(1) - Inquiry::bow_at(0)), 0.0,
                                  static_cast<double>(Inquiry::kBowCount - 1));
  const auto k = std::min(static_cast<std::size_t>(place), Inquiry::kBowCount - 2);
  const double part = place - static_cast<double>(k);
  return m[k] * (1 - part) + m[k + 1] * part;
}

/// The instrument's own odds: presets, everything the keys say, and the straightedge.
void judge(InstrumentCauses& out, const Message& all, const std::optional<BodyBend>& read,
           const belief::CausePresets& p) {
  const double over = p.bow_chord * p.bow_chord / 8;
  // As the inquiry takes a reading: normal, but for slips; several readings that make one bend are two slips.
  const double slip = read && read->readings > 1 ? p.misread * p.misread : p.misread;
  const auto chance_of_reading = [&](double bow) {
    if (!read) return 1.0;
    const double standard = read->standard * over;
    const double z = (read->curvature * over - bow) / standard;
    return (1 - slip) * std::exp(-0.5 * z * z) / (standard * std::sqrt(2 * std::numbers::pi)) +
           slip / (2 * p.misread_reach);
  };
  // Steps finer than any straightedge reads.
  constexpr int kSteps = 4800;
  const double last = Inquiry::bow_at(Inquiry::kBowCount - 1);
  double before = 0;
  double after = 0;
  double first = 0;
  double second = 0;
  for (int step = 0; step < kSteps; ++step) {
    const double bow = last * (2 * (step + 0.5) / kSteps - 1);
    const double z = std::log(std::abs(bow) / p.bow.median) / p.bow.sigma;
    double weight = std::exp(-0.5 * z * z) / std::abs(bow);
    before += weight;
    weight *= between(all, bow) * chance_of_reading(bow);
    after += weight;
    first += weight * bow;
    second += weight * bow * bow;
  }
  const double prior = bend_prior(p);
  const double bent = prior * after / before;
  out.bend = bent / (bent + (1 - prior) * chance_of_reading(0));
  const double mean = after > 0 ? first / after : 0;
  out.bow = millimetres(mean);
  out.bow_standard = millimetres(after > 0 ? std::sqrt(std::max(0.0, second / after - mean * mean)) : 0);
  out.chord = millimetres(p.bow_chord);
}

/// What every key says of a bend; absent for those that say nothing.
std::vector<std::optional<Message>> messages(const InstrumentResult& instrument, const Asking& asking,
                                             const KeyResult* but) {
  std::vector<std::optional<Message>> out(instrument.keys.size());
  numeric::for_blocks(
      out.size(), asking.threads,
      [&](std::size_t first, std::size_t last) {
        for (std::size_t i = first; i < last; ++i) {
          const KeyResult& key = instrument.keys[i];
          if (&key == but || !tells(key)) continue;
          if (const auto guide = ask(key, asking, {})) out[i] = guide->inquiry().say_bow();
        }
      },
      1);
  return out;
}

}  // namespace

InstrumentCauses causes_of(const InstrumentResult& instrument, const Asking& asking) {
  InstrumentCauses out;
  out.keys.resize(instrument.keys.size());
  out.read = instrument.bend.has_value();
  const auto for_each_key = [&](const auto& work) {
    numeric::for_blocks(
        out.keys.size(), asking.threads,
        [&](std::size_t first, std::size_t last) {
          for (std::size_t i = first; i < last; ++i) work(i);
        },
        1);
  };
  const auto put_down = [](KeyCauses& k, const Inquiry& inquiry) {
    k.bend = inquiry.share(Cause::bent_body);
    k.causes = inquiry.causes();
    for (const belief::CauseShare& c : k.causes) k.evidence.push_back(inquiry.evidence(c.cause));
    k.next = inquiry.next_check();
    k.before_cut = inquiry.barriers({});
  };
  const auto may_hear = [&](const KeyResult& key) { return out.read || key.source->hinge.off_axis.known(); };

  // Each alone. Those that hear nothing more are done with that.
  std::vector<std::optional<Message>> said(out.keys.size());
  for_each_key([&](std::size_t i) {
    KeyCauses& k = out.keys[i];
    k.key = &instrument.keys[i];
    k.problem = k.key->problem;
    if (k.problem) return;
    const auto alone = ask(*k.key, asking, {});
    if (!alone) {
      k.problem = alone.error();
      return;
    }
    k.bend_alone = alone->inquiry().share(Cause::bent_body);
    k.tells_of_bend = tells(*k.key);
    if (k.tells_of_bend) said[i] = alone->inquiry().say_bow();
    if (!may_hear(*k.key)) put_down(k, alone->inquiry());
  });

  const belief::CausePresets presets = presets_of(asking);
  Together together(presets.bend_older);
  for (const auto& m : said) {
    if (!m) continue;
    together.add(*m);
    ++out.telling;
  }
  if (out.known()) judge(out, together.without(std::nullopt), instrument.bend, presets);

  // Then with what the others say.
  for_each_key([&](std::size_t i) {
    KeyCauses& k = out.keys[i];
    if (k.problem || !may_hear(*k.key)) return;
    Around around;
    if (out.telling > (said[i] ? 1u : 0u) && k.key->source->hinge.off_axis.known())
      around.keys = together.without(said[i]);
    around.read = instrument.bend;
    const auto heard = ask(*k.key, asking, around);
    if (heard) {
      put_down(k, heard->inquiry());
    } else {
      k.problem = heard.error();
    }
  });
  return out;
}

Around around(const KeyResult& key, const InstrumentResult& instrument, const Asking& asking) {
  Around out;
  out.read = instrument.bend;
  if (!key.source->hinge.off_axis.known()) return out;
  Together together(presets_of(asking).bend_older);
  bool any = false;
  for (const auto& m : messages(instrument, asking, &key)) {
    if (!m) continue;
    together.add(*m);
    any = true;
  }
  if (any) out.keys = together.without(std::nullopt);
  return out;
}

std::string tell_bend(const InstrumentCauses& causes, LengthUnit unit) {
  if (!causes.known()) {
    return "whether the body is bent cannot be told from its keys: fewer than two have an end play read and "
           "their line's place off the body's axis (off_axis), and no bow was read";
  }
  const std::string keys = fmt::format("{} keys", causes.telling);
  const std::string by = !causes.read          ? keys
                         : causes.telling >= 2 ? "the straightedge and " + keys
                                               : std::string("the straightedge");
  std::string out = fmt::format("by {}: the body is bent with a chance of {:.0f} %", by, 100 * causes.bend);
  constexpr double kWorthSaying = 0.1;
  if (causes.bend < kWorthSaying) return out;
  const std::string size =
      say(WithDoubt{abs(causes.bow), causes.bow_standard * 2}, " over ", Size{causes.chord}).in(unit);
  return out + fmt::format("; if so by {}, hollow on the {} side of off_axis", size,
                           causes.bow.raw() > 0 ? "+" : "-");
}

std::string to_json(const InstrumentCauses& causes, LengthUnit unit, const std::string& only_key) {
  Json keys = Json::array();
  for (const KeyCauses& k : causes.keys) {
    if (!only_key.empty() && k.key->id != only_key) continue;
    Json key = {{"id", k.key->id}, {"name", k.key->name}};
    if (k.problem) {
      key["problem"] = k.problem->what;
      keys.push_back(std::move(key));
      continue;
    }
    Json list = Json::array();
    for (std::size_t c = 0; c < k.causes.size(); ++c) {
      Json speaks = Json::array();
      for (const belief::Evidence& e : k.evidence[c]) {
        Json said = answer_of(e);
        said["factor"] = number(e.factor);
        said["said"] = tell(e, unit);
        speaks.push_back(std::move(said));
      }
      list.push_back({{"cause", belief::code(k.causes[c].cause)},
                      {"share", number(k.causes[c].share)},
                      {"said", tell(k.causes[c])},
                      {"evidence", std::move(speaks)}});
    }
    key["causes"] = std::move(list);
    if (k.next) {
      key["next"] = {{"check", belief::code(k.next->check)},
                     {"said", belief::word(k.next->check)},
                     {"gain", number(k.next->gain)},
                     {"minutes", number(k.next->minutes)}};
    }
    key["before_cut"] = list_of(k.before_cut);
    key["bend"] = {
        {"alone", number(k.bend_alone)}, {"with_neighbours", number(k.bend)}, {"tells", k.tells_of_bend}};
    keys.push_back(std::move(key));
  }
  Json out = {{"telling", causes.telling}, {"said", tell_bend(causes, unit)}};
  if (causes.known()) {
    out["share"] = number(causes.bend);
    out["bow"] = number(causes.bow);
    out["bow_plus_minus"] = number(causes.bow_standard * 2);
    out["chord"] = number(causes.chord);
  }
  return text_of({{"keys", std::move(keys)}, {"bend", std::move(out)}});
}

}  // namespace hingeline::service
