#include "hingeline/service/papers.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <utility>

#include "hingeline/service/pictures.h"
#include "paper_words.h"

namespace hingeline::service {
namespace {

using papers::Column;
using papers::Framed;
using papers::Heading;
using papers::Lines;
using papers::Paper;
using papers::Points;
using papers::Prose;
using papers::Table;
using papers::WriteIn;

const plan::Plan* first_plan(const KeyResult& key) {
  return key.problem || key.plan.plans.empty() || key.plan.plans.front().steps.empty()
             ? nullptr
             : &key.plan.plans.front();
}

class Writer {
 public:
  Writer(const PaperOf& of, const PaperAsked& asked)
      : of_(of), asked_(asked), voice_(asked.language, asked.unit) {}

  Expected<Paper> card() {
    begin();
    const KeyResult* key = nullptr;
    if (auto found = wanted(key); !found) return tl::unexpected(found.error());
    key == nullptr ? whole_card() : (key_card(*key), void());
    cautions(metal_ || fire_);
    return std::move(paper_);
  }

  Expected<Paper> quote() {
    const auto budget = budget_of(of_.result, of_.instrument, of_.shop, asked_.budget);
    if (!budget) return tl::unexpected(budget.error());
    const auto made = quote_of(*budget, of_.shop, asked_.day);
    if (!made) return tl::unexpected(made.error());
    begin();
    std::string limits;
    if (budget->budget.minutes)
      limits = voice_(Say::minutes, voice_.number(in_seconds(*budget->budget.minutes) / 60, 0));
    if (budget->budget.money)
      limits += (limits.empty() ? "" : ", ") + voice_.money(*budget->budget.money, budget->currency);
    if (!limits.empty()) put(Prose{voice_(Say::budget_line, limits)});
    if (made->options.empty()) put(Prose{voice_(Say::nothing_gains), true});
    for (std::size_t i = 0; i < made->options.size(); ++i) option(made->options[i], i, *made, *budget);
    put(Heading{voice_(Say::terms), 2});
    Points terms;
    if (!made->priced) terms.texts.push_back(voice_(Say::no_prices));
    if (!made->valid_until.empty())
      terms.texts.push_back(voice_(Say::valid_until, voice_.day(made->valid_until)));
    if (made->deposit > Percent{} && made->priced) {
      for (std::size_t i = 0; i < made->options.size(); ++i)
        terms.texts.push_back(voice_(Say::deposit, voice_.percent(made->deposit),
                                     voice_.money(made->options[i].deposit, made->currency), letter(i)));
    }
    terms.texts.push_back(voice_(Say::unexpected));
    if (metal_) terms.texts.push_back(voice_(Say::metal_gone));
    if (made->priced) terms.texts.push_back(voice_(Say::rounding_rule));
    put(std::move(terms));
    put(WriteIn{{{voice_(Say::i_choose), 1}, {voice_(Say::day), 1}, {voice_(Say::signature), 2}}, 11});
    return std::move(paper_);
  }

  Expected<Paper> report() {
    begin();
    put(Heading{voice_(Say::found), 2});
    put(Prose{voice_(Say::means_play)});
    const InstrumentResult& came = of_.before != nullptr ? *of_.before : of_.result;
    Points found;
    std::size_t sound = 0;
    for (const KeyResult& key : came.keys) {
      if (key.problem) continue;
      if (key.plan.verdict == plan::Verdict::sound) {
        ++sound;
        continue;
      }
      const std::string verdict = voice_(of(key.plan.verdict));
      belief::FigureValue play = play_of(key);
      // To an owner a play below nothing says nothing: it is how much too long the key is.
      const bool squeezed = play.value < 0;
      if (squeezed) play = {-play.value, play.plus_minus, -play.high, -play.low, play.is_range};
      const std::string much = say(play, voice_);
      if (key.plan.window.crossed) {
        found.texts.push_back(
            voice_(squeezed ? Say::squeezed_unfit : Say::found_unfit, key.name, verdict, much));
      } else {
        found.texts.push_back(voice_(squeezed ? Say::found_squeezed : Say::found_key, key.name, verdict, much,
                                     say_window(key.plan.window, voice_)));
      }
    }
    put(std::move(found));
    put(Prose{voice_(Say::found_sound, came.keys.size(), sound)});
    put(Heading{voice_(Say::done), 2});
    Points done{Points::Mark::dot, of_.facts.done};
    for (const DoneWork& work : of_.facts.works) done.texts.push_back(say_done(work, voice_));
    if (done.texts.empty()) {
      put(Prose{voice_(Say::done_nothing)});
    } else {
      put(std::move(done));
    }
    Points left;
    for (const std::string& one : of_.facts.left) left.texts.push_back(voice_(Say::left_as_is, one));
    if (!left.texts.empty()) put(std::move(left));
    before_after();
    put(Heading{voice_(Say::expect), 2});
    put(Points{Points::Mark::dot,
               {voice_(Say::expect_quiet), voice_(Say::expect_settle), voice_(Say::expect_oil)}});
    put(Heading{voice_(Say::come_again), 2});
    come_again();
    put(WriteIn{{{voice_(Say::day), 1}, {voice_(Say::signature), 2}}, 11});
    return std::move(paper_);
  }

  Expected<Paper> readings() {
    begin();
    Table table;
    table.small = true;
    table.columns = {{voice_(Say::key), 1.5},
                     {voice_(Say::cert_reading), 3},
                     {with_unit(Say::cert_value), 0.9, true},
                     {with_unit(Say::cert_doubt), 1.1, true},
                     {voice_(Say::cert_repeats), 1.15, true},
                     {voice_(Say::cert_with), 1.1},
                     {with_unit(Say::cert_limits), 1.5, false, true},
                     {voice_(Say::cert_verdict), 1.6, false, true}};
    const KeyResult* only = nullptr;
    if (auto found = wanted(only); !found) return tl::unexpected(found.error());
    std::map<std::string, bool> used;
    for (const KeyResult& key : of_.result.keys) {
      if (only != nullptr && &key != only) continue;
      for (const belief::Observation& o : key.knowledge.observations) {
        const record::LengthEntry* entry = entry_of(*key.source, o);
        if (entry == nullptr || !entry->known()) continue;
        if (!entry->with.empty()) used[entry->with] = true;
        table.rows.push_back(reading_row(key, o, *entry));
      }
    }
    if (table.rows.empty()) {
      put(Prose{voice_(Say::cert_no_readings)});
    } else {
      put(std::move(table));
    }
    instruments(used);
    Points says;
    says.texts = {voice_(Say::cert_doubt_says), voice_(Say::cert_rule), voice_(Say::cert_at),
                  voice_(Say::cert_nobody)};
    put(std::move(says));
    put(WriteIn{{{voice_(Say::day), 1}, {voice_(Say::initials), 1}, {voice_(Say::signature), 2}}, 11});
    return std::move(paper_);
  }

  Expected<Paper> lesson() {
    const auto key = needed();
    if (!key) return tl::unexpected(key.error());
    begin();
    put(WriteIn{{{voice_(Say::teach_name), 2}, {voice_(Say::day), 1}}, 8});
    drawing::SectionView view = spoken_section(**key, false);
    const drawing::Numbered numbered = drawing::draw_numbered_section(view);
    put(papers::Picture{numbered.scene});
    put(Prose{voice_(Say::teach_write), true});
    std::vector<std::string> names;
    for (const drawing::JointPart part : numbered.parts) names.push_back(voice_(of_part(part)));
    constexpr std::size_t kAcross = 3;
    for (std::size_t i = 0; i < names.size(); i += kAcross) {
      WriteIn line{{}, 7};
      for (std::size_t j = i; j < i + kAcross && j < names.size(); ++j)
        line.boxes.push_back({fmt::format("{}", j + 1), 1});
      put(std::move(line));
    }
    put(Lines{voice_(Say::teach_q_rides), 1});
    put(Lines{voice_(Say::teach_q_first), 1});
    put(Lines{voice_(Say::teach_q_cut), 2});
    cautions(true);
    if (asked_.answers) {
      put(papers::PageEnd{});
      put(Heading{voice_(Say::teach_answers), 2});
      put(Points{Points::Mark::number, names});
      put(Prose{voice_(Say::rides, voice_(of_riding(rides_on(**key, Side::upper))),
                       voice_(of_riding(rides_on(**key, Side::lower))))});
      put(Prose{voice_(Say::free_checks_first)});
      steps(**key);
      reserves(**key);
    }
    return std::move(paper_);
  }

  Expected<Paper> drawings() {
    const auto key = needed();
    if (!key) return tl::unexpected(key.error());
    begin();
    if (asked_.scale > 0) put(true_bar());
    drawing::SectionView view = spoken_section(**key, true);
    view.scale = asked_.scale;
    // Now and afterwards apart; where the scale is asked for, every joint apart: at 10:1 two of them fill a
    // page.
    using Sides = drawing::SectionView::Sides;
    const bool changes = view.upper_after || view.lower_after;
    const auto sides =
        asked_.scale > 0 ? std::vector<Sides>{Sides::upper, Sides::lower} : std::vector<Sides>{Sides::both};
    for (const Sides side : sides) {
      view.sides = side;
      drawing::SectionView now = view;
      now.upper_after.reset();
      now.lower_after.reset();
      now.work_upper.clear();
      now.work_lower.clear();
      put(papers::Picture{drawing::draw_section(now)});
      if (!changes) continue;
      view.only_after = true;
      put(papers::Picture{drawing::draw_section(view)});
    }
    put(papers::Picture{drawing::draw_hinge_strip(spoken_strip(**key))});
    plates(**key);
    return std::move(paper_);
  }

  Expected<drawing::Scene> tag() const {
    const PaperFacts& f = of_.facts;
    std::vector<std::string> lines = {of_.result.title};
    if (!of_.result.serial.empty()) lines.push_back(labelled(Say::serial, of_.result.serial));
    if (!f.owner.empty()) lines.push_back(f.owner);
    if (!f.promised.empty()) lines.push_back(labelled(Say::promised, voice_.day(f.promised)));
    if (!f.came.empty()) lines.push_back(labelled(Say::came, voice_.day(f.came)));
    if (!of_.shop.title.empty()) lines.push_back(of_.shop.title);
    std::string code = f.code;
    if (code.empty()) code = "hingeline " + of_.result.title + " " + of_.result.serial;
    return papers::tag(code, lines);
  }

 private:
  template <class Block>
  void put(Block block) {
    paper_.blocks.emplace_back(std::move(block));
  }

  /// "End play, mm": the head of a column of bare figures.
  [[nodiscard]] std::string with_unit(Say what) const {
    return voice_(Say::in_unit, voice_(what), voice_.unit_word());
  }
  [[nodiscard]] std::string labelled(Say label, const std::string& text) const {
    return voice_(Say::done_line, voice_(label), text);
  }

  /// The key that was asked for; none: all of them.
  Expected<void> wanted(const KeyResult*& key) const {
    if (asked_.key.empty()) return {};
    const auto found = find_key(of_.result, asked_.key);
    if (!found) return tl::unexpected(found.error());
    if ((*found)->problem) return tl::unexpected(*(*found)->problem);
    key = *found;
    return {};
  }
  Expected<const KeyResult*> needed() const {
    const KeyResult* key = nullptr;
    if (auto found = wanted(key); !found) return tl::unexpected(found.error());
    if (key == nullptr)
      return fail(Fault::usage, fmt::format("a paper of kind {} is of one key", word(asked_.kind)),
                  "a key's id");
    return key;
  }

  void begin() {
    const std::string name = paper_title(asked_);
    paper_.title = paper_title(asked_, of_.result.title);
    paper_.head_left = of_.shop.title;
    paper_.head_right = fmt::format("{}, {}", name, voice_.day(asked_.day));
    paper_.foot_left = of_.result.serial.empty() ? of_.result.title
                                                 : fmt::format("{}, {}", of_.result.title, of_.result.serial);
    put(Heading{name, 1});
    Table facts;
    facts.headed = false;
    facts.small = true;
    facts.columns = {{"", 1}, {"", 2.4}, {"", 1}, {"", 1.6}};
    std::vector<std::pair<Say, std::string>> pairs;
    const PaperFacts& f = of_.facts;
    const auto add = [&](Say label, const std::string& text) {
      if (!text.empty()) pairs.emplace_back(label, text);
    };
    add(Say::instrument, of_.result.title);
    add(Say::day, voice_.day(asked_.day));
    add(Say::owner, f.owner);
    add(Say::serial, of_.result.serial);
    add(Say::complaint, f.complaint);
    add(Say::came, voice_.day(f.came));
    add(Say::shop, of_.shop.title);
    add(Say::promised, voice_.day(f.promised));
    for (std::size_t i = 0; i < pairs.size(); i += 2) {
      std::vector<std::string> row = {voice_(pairs[i].first), pairs[i].second};
      if (i + 1 < pairs.size()) {
        row.push_back(voice_(pairs[i + 1].first));
        row.push_back(pairs[i + 1].second);
      }
      facts.rows.push_back(std::move(row));
    }
    put(std::move(facts));
  }

  void cautions(bool any) {
    if (!any) return;
    put(Framed{voice_(Say::caution),
               {voice_(Say::caution_eyes), voice_(Say::caution_dust), voice_(Say::caution_fire),
                voice_(Say::caution_rules)}});
  }

  void note_work(const plan::Plan& plan) {
    // Cleaning with solvent goes before every fit, so a paper that leads any work leads that too.
    fire_ = true;
    for (const plan::Step& s : plan.steps) metal_ = metal_ || plan::takes_metal(s.operation);
  }

  // ---- bench card

  void whole_card() {
    Table table;
    table.small = true;
    table.columns = {{"", 0.42, true},
                     {voice_(Say::key), 1.8},
                     {voice_(Say::verdict), 1.15},
                     {with_unit(Say::end_play), 1.45, false, true},
                     {with_unit(Say::aimed_at), 1.6, false, true},
                     {voice_(Say::to_do), 2.9},
                     {"min", 0.55, true},
                     {voice_(Say::play_after), 1.2},
                     {voice_(Say::initials), 0.95}};
    std::size_t wrong = 0;
    double minutes = 0;
    std::size_t number = 0;
    for (const KeyResult& key : of_.result.keys) {
      std::vector<std::string> row = {fmt::format("{}", ++number), key.name};
      if (key.problem) {
        row.push_back(voice_(Say::cannot_be));
        ++wrong;
        table.rows.push_back(std::move(row));
        continue;
      }
      wrong += key.plan.verdict == plan::Verdict::sound ? 0U : 1U;
      row.push_back(voice_(of(key.plan.verdict)));
      row.push_back(say_bare(key.estimate()[Figure::end_play], voice_));
      row.push_back(say_bare(key.plan.window, voice_));
      std::string work;
      if (const plan::Plan* p = first_plan(key)) {
        note_work(*p);
        for (const plan::Step& s : p->steps) work += (work.empty() ? "" : "; ") + say_short(s, voice_);
        minutes += p->minutes;
        row.push_back(work);
        row.push_back(voice_.number(p->minutes, 0));
      }
      table.rows.push_back(std::move(row));
    }
    put(Prose{wrong == 0 ? voice_(Say::all_sound)
                         : voice_(Say::keys_wrong, wrong, of_.result.keys.size(), voice_.number(minutes, 0)),
              true});
    if (wrong > 0) put(Prose{voice_(Say::free_checks_first)});
    put(std::move(table));
    put(Lines{voice_(Say::notes), 2});
    put(WriteIn{{{voice_(Say::day), 1}, {voice_(Say::minutes_taken), 1}, {voice_(Say::signature), 2}}});
  }

  void key_card(const KeyResult& key) {
    put(Heading{fmt::format("{}: {}", key.name, voice_(of(key.plan.verdict))), 2});
    put(Prose{voice_(Say::play_now, say(key.estimate()[Figure::end_play], voice_),
                     say_window(key.plan.window, voice_))});
    put(Prose{voice_(Say::rides, voice_(of_riding(rides_on(key, Side::upper))),
                     voice_(of_riding(rides_on(key, Side::lower))))});
    figures(key);
    causes(key);
    put(Heading{voice_(Say::plan), 3});
    steps(key);
    reserves(key);
    WriteIn bites;
    for (int i = 1; i <= 3; ++i) {
      bites.boxes.push_back({voice_(Say::bite_turns, i), 1});
      bites.boxes.push_back({voice_(Say::bite_play), 1});
    }
    if (first_plan(key) != nullptr) put(std::move(bites));
    put(WriteIn{{{voice_(Say::play_before), 1},
                 {voice_(Say::play_after), 1},
                 {voice_(Say::minutes_taken), 1},
                 {voice_(Say::initials), 1}}});
  }

  void figures(const KeyResult& key) {
    Table table;
    table.small = true;
    table.columns = {{voice_(Say::figure), 2.4},
                     {with_unit(Say::value), 1.2, true},
                     {voice_(Say::aimed_at), 1.5},
                     {"", 1}};
    const auto& window = key.key_case->window;
    const auto row = [&](Figure f, Say name, const std::string& aim) {
      const belief::FigureValue& v = key.estimate()[f];
      if (!std::isfinite(v.value)) return;
      table.rows.push_back({voice_(name), say_bare(v, voice_), aim,
                            voice_(was_read(key, f) ? Say::origin_read : Say::worked_out)});
    };
    row(Figure::end_play, Say::end_play, say_window(key.plan.window, voice_));
    row(Figure::gap_upper, Say::gap_upper, "");
    row(Figure::gap_lower, Say::gap_lower, "");
    row(Figure::rock_upper, Say::rock_upper, voice_(Say::allowed, voice_.length(window.rock_allowed)));
    row(Figure::rock_lower, Say::rock_lower, voice_(Say::allowed, voice_.length(window.rock_allowed)));
    row(Figure::worst_gap, Say::worst_gap, voice_(Say::allowed, voice_.length(window.pad_gap_allowed)));
    row(Figure::tip_floor_upper, Say::tip_floor_upper, "");
    row(Figure::tip_floor_lower, Say::tip_floor_lower, "");
    put(std::move(table));
  }

  static bool was_read(const KeyResult& key, Figure f) {
    using Of = belief::Observation::Of;
    return std::any_of(key.knowledge.observations.begin(), key.knowledge.observations.end(),
                       [&](const auto& o) {
                         return (f == Figure::end_play && o.of == Of::end_play) ||
                                (f == Figure::gap_upper && o.of == Of::gap_upper) ||
                                (f == Figure::gap_lower && o.of == Of::gap_lower);
                       });
  }

  void causes(const KeyResult& key) {
    if (key.plan.verdict == plan::Verdict::sound) return;
    std::optional<InstrumentCauses> own;
    if (of_.causes == nullptr) own = paper_causes(of_.result, asked_.threads);
    for (const KeyCauses& one : (own ? *own : *of_.causes).keys) {
      if (one.key != &key || one.problem) continue;
      put(Heading{voice_(Say::causes), 3});
      Points points;
      for (const belief::CauseShare& share : one.causes) {
        if (points.texts.size() == 3 || share.share < 0.05) break;
        points.texts.push_back(say_cause(share, voice_) + ", " +
                               voice_(Say::percent_sure, voice_.number(100 * share.share, 0)));
      }
      put(std::move(points));
    }
  }

  void steps(const KeyResult& key) {
    const plan::Plan* p = first_plan(key);
    if (p == nullptr) {
      const bool nothing = key.plan.verdict == plan::Verdict::sound || !key.plan.plans.empty();
      put(Prose{voice_(nothing ? Say::no_work : Say::no_plan)});
      return;
    }
    note_work(*p);
    Points points{Points::Mark::box, {voice_(Say::free_checks_first)}};
    bool cut = false;
    for (const plan::Step& s : p->steps) {
      points.texts.push_back(say_step(s, voice_));
      cut = cut || plan::takes_metal(s.operation);
    }
    if (cut) points.texts.push_back(voice_(Say::step_refit));
    put(std::move(points));
    const double after = p->after[static_cast<std::size_t>(Figure::end_play)];
    put(Prose{voice_(Say::leaves, voice_.length(millimetres(after)), voice_.length(p->metal),
                     voice_.number(p->minutes, 0))});
  }

  void reserves(const KeyResult& key) {
    const plan::Plan* p = first_plan(key);
    if (p == nullptr || p->reserves.empty()) return;
    put(Heading{voice_(Say::reserves), 3});
    Table table;
    table.small = true;
    const auto left_at = [&](Side side) {
      return voice_(Say::in_unit, voice_(Say::left_above), voice_(of(side)));
    };
    table.columns = {{voice_(Say::limit), 2},
                     {with_unit(Say::least), 1, true},
                     {left_at(Side::upper), 1.2, true},
                     {left_at(Side::lower), 1.2, true}};
    for (const plan::Reserve& r : p->reserves) {
      const std::string name = say_limit(r.limit, voice_);
      auto row = std::find_if(table.rows.begin(), table.rows.end(),
                              [&](const auto& cells) { return cells[0] == name; });
      if (row == table.rows.end()) row = table.rows.insert(row, {name, voice_.bare(r.least), "-", "-"});
      (*row)[r.side == Side::upper ? 2 : 3] = r.left ? voice_.bare(*r.left) : voice_(Say::not_measured);
    }
    put(std::move(table));
  }

  // ---- quote

  static std::string letter(std::size_t i) { return std::string(1, static_cast<char>('A' + i)); }

  void option(const QuoteOption& o, std::size_t i, const Quote& quote, const BudgetResult& budget) {
    using Why = QuoteOption::Why;
    const Say why = o.why == Why::within_budget   ? Say::option_budget
                    : o.why == Why::most_for_time ? Say::option_most
                                                  : Say::option_all;
    put(Heading{voice_(Say::option, letter(i), voice_(why)), 2});
    Table table;
    table.columns = {{voice_(Say::work), 4}, {"min", 1, true}};
    if (quote.priced)
      table.columns.push_back({quote.currency.empty()
                                   ? voice_(Say::price)
                                   : voice_(Say::in_unit, voice_(Say::price), quote.currency),
                               1.4, true});
    table.small = true;
    const auto money = [&](Money m) { return voice_.money(m, ""); };
    const auto line = [&](const std::string& what, const std::string& minutes, Money m) {
      table.rows.push_back({what, minutes, money(m)});
    };
    for (const std::size_t w : o.works) {
      const choice::Work& work = budget.candidates.works[w];
      metal_ = metal_ || work.takes_metal;
      const double mean = in_seconds(work.time.mean) / 60;
      const double spread = in_seconds(work.time.plus_minus) / 60;
      table.rows.push_back(
          {say_work(w, budget, of_.result, voice_),
           spread > 0.5 ? voice_.number(mean, 0) + " ± " + voice_.number(spread, 0) : voice_.number(mean, 0),
           money(work.money)});
    }
    if (quote.priced) {
      if (o.of_set_ups > Money{}) line(voice_(Say::tools_out), "", o.of_set_ups);
      if (o.to_minimum > Money{}) line(voice_(Say::to_minimum), "", o.to_minimum);
      const std::string tax = quote.tax_name.empty() ? voice_(Say::tax_word) : quote.tax_name;
      if (quote.rate > Percent{} && !quote.tax_included) {
        line(voice_(Say::before_tax), "", o.before_tax);
        line(voice_(Say::tax_added, tax, voice_.percent(quote.rate)), "", o.tax);
      }
      if (o.rounding != Money{}) line(voice_(Say::rounding), "", o.rounding);
      std::string total = voice_(Say::total);
      if (quote.rate > Percent{} && quote.tax_included)
        total += " (" + voice_(Say::tax_inside, tax, voice_.percent(quote.rate)) + ": " +
                 voice_.money(o.tax, quote.currency) + ")";
      line(total, voice_.number(in_seconds(o.total.time.mean) / 60, 0), o.total_price);
      table.last_bold = true;
    }
    put(std::move(table));
    Points buys;
    if (const double all = raw(quote.leak); all > 0) {
      // Nobody hears a hundredth of it.
      const int decimals = all >= 10 ? 0 : all >= 1 ? 1 : 2;
      const double less = raw(o.total.leak);
      buys.texts.push_back(voice_(Say::buys_leak, voice_.number(100 * less / all, 0),
                                  voice_.number(less, decimals), voice_.number(all, decimals)));
    }
    if (quote.feel > 0)
      buys.texts.push_back(
          voice_(Say::buys_feel, voice_.number(o.total.feel, 1), voice_.number(quote.feel, 1)));
    buys.texts.push_back(voice_(Say::takes_time, voice_.number(in_seconds(o.total.time.mean) / 60, 0),
                                voice_.number(in_seconds(o.nine_in_ten) / 60, 0)));
    const std::string out = left_out(o, quote, budget);
    if (!out.empty()) buys.texts.push_back(voice_(Say::leaves_out, out));
    put(std::move(buys));
  }

  static double raw(Flow flow) { return in_millilitres_per_second(flow); }

  /// What the fullest option does and this one does not.
  [[nodiscard]] std::string left_out(const QuoteOption& o, const Quote& quote,
                                     const BudgetResult& budget) const {
    std::string out;
    std::size_t more = 0;
    for (const std::size_t w : quote.options.back().works) {
      const auto& work = budget.candidates.works[w];
      const bool in = std::any_of(o.works.begin(), o.works.end(), [&](std::size_t done) {
        const auto& other = budget.candidates.works[done];
        return done == w || (!work.instead.empty() && other.instead == work.instead);
      });
      if (in) continue;
      if (++more > 12) continue;
      out += (out.empty() ? "" : "; ") + say_work(w, budget, of_.result, voice_);
    }
    return more > 12 ? voice_(Say::and_more, out, more - 12) : out;
  }

  // ---- report

  void before_after() {
    Table table;
    table.columns = {{voice_(Say::key), 1.6},
                     {voice_(Say::before), 1.4, true},
                     {voice_(Say::after), 1.4, true},
                     {voice_(Say::aimed_at), 1.4},
                     {"", 1.8}};
    for (const KeyResult& key : of_.result.keys) {
      if (key.problem) continue;
      const auto& plays = of_.facts.plays;
      const auto read =
          std::find_if(plays.begin(), plays.end(), [&](const ReadPlay& p) { return p.key == key.id; });
      belief::FigureValue then;
      belief::FigureValue now;
      if (read != plays.end()) {
        then = figure_of(read->first);
        now = figure_of(read->last);
      } else {
        if (of_.before == nullptr) continue;
        const auto& keys = of_.before->keys;
        const auto was =
            std::find_if(keys.begin(), keys.end(), [&](const KeyResult& k) { return k.id == key.id; });
        if (was == keys.end() || was->problem) continue;
        now = play_of(key);
        then = play_of(*was);
        if (std::abs(now.value - then.value) < 5e-4) continue;
      }
      table.rows.push_back({key.name, say(then, voice_), say(now, voice_),
                            say_window(key.plan.window, voice_), voice_(placed(now, key.plan.window))});
    }
    if (table.rows.empty()) return;
    put(Heading{voice_(Say::before_after), 2});
    put(std::move(table));
  }

  /// A reading in mm with its standard uncertainty.
  static belief::FigureValue figure_of(double value, double standard) {
    const double doubt = 2 * standard;
    return {value, doubt, value - doubt, value + doubt, false};
  }
  static belief::FigureValue figure_of(const Reading<Length>& read) {
    const double value = in_millimetres(read.value);
    const double given = read.plus_minus ? in_millimetres(*read.plus_minus) / 2 : 0;
    return figure_of(value, belief::reading_standard(belief::Check::end_play, value, given, {}));
  }

  /// What was read, where it was: after work the parts' own measures may still be those of before.
  static belief::FigureValue play_of(const KeyResult& key) {
    for (const belief::Observation& o : key.knowledge.observations) {
      if (o.of != belief::Observation::Of::end_play) continue;
      return figure_of(in_millimetres(o.value), in_millimetres(o.standard));
    }
    return key.estimate()[Figure::end_play];
  }

  static Say placed(const belief::FigureValue& v, const plan::Window& window) {
    const double low = in_millimetres(window.low);
    const double high = in_millimetres(window.high);
    if (window.crossed) return Say::near_window;
    if (v.value >= low && v.value <= high) return Say::in_window;
    return v.high < low || v.low > high ? Say::out_of_window : Say::near_window;
  }

  void come_again() {
    Points points;
    const auto wear = wear_of(of_.instrument, of_.shop, of_.result, asked_.day);
    if (wear) {
      // The soonest three that can be said; the rest come with the look-over.
      std::vector<const KeyWear*> soonest;
      for (const KeyWear& k : wear->keys) {
        // A range of a month to a lifetime says nothing to an owner.
        constexpr double kWidest = 40;
        if (!k.problem && !k.below && k.past < 0.5 && std::isfinite(in_seconds(k.due.middle)) &&
            in_seconds(k.due.late) <= kWidest * in_seconds(k.due.early))
          soonest.push_back(&k);
      }
      std::stable_sort(soonest.begin(), soonest.end(),
                       [](const KeyWear* a, const KeyWear* b) { return a->due.middle < b->due.middle; });
      for (const KeyWear* k : soonest) {
        if (points.texts.size() == 3) break;
        points.texts.push_back(voice_(Say::come_when, k->name, span(k->due.early), span(k->due.late)));
      }
    }
    points.texts.push_back(voice_(Say::come_rule));
    put(std::move(points));
  }

  [[nodiscard]] std::string span(Duration d) const {
    constexpr double kYear = 365.25 * 24 * 3600;
    constexpr double kMost = 30;
    const double years = in_seconds(d) / kYear;
    if (!(years < kMost)) return voice_(Say::more_years, voice_.number(kMost, 0));
    if (years * 12 < 1.5) return voice_(Say::one_month);
    if (years < 1.5) return voice_(Say::months, voice_.number(years * 12, 0));
    return voice_(Say::years, voice_.number(years, 0));
  }

  // ---- certificate

  static const record::LengthEntry* entry_of(const record::Key& key, const belief::Observation& o) {
    using Of = belief::Observation::Of;
    const record::Readings& r = key.readings;
    switch (o.of) {
      case Of::end_play:
        return &r.end_play;
      case Of::gap_upper:
        return &r.gap_upper;
      case Of::gap_lower:
        return &r.gap_lower;
      case Of::rock:
        break;
    }
    for (const record::RockReading& rock : r.rock) {
      if (rock.value.known() && rock.value.value == o.value) return &rock.value;
    }
    return nullptr;
  }

  [[nodiscard]] std::vector<std::string> reading_row(const KeyResult& key, const belief::Observation& o,
                                                     const record::LengthEntry& entry) const {
    using Of = belief::Observation::Of;
    const Length u = o.standard * 2;
    std::string limits = "-";
    Say verdict = Say::cert_none;
    const auto decide = [&](Length low, Length high) {
      if (o.value - u >= low && o.value + u <= high) return Say::cert_in;
      return o.value + u < low || o.value - u > high ? Say::cert_out : Say::cert_open;
    };
    if (o.of == Of::end_play && !key.problem && !key.plan.window.crossed) {
      limits = say_bare(key.plan.window, voice_);
      verdict = decide(key.plan.window.low, key.plan.window.high);
    } else if (o.of == Of::rock && !key.problem) {
      const Length allowed = key.key_case->window.rock_allowed;
      limits = voice_(Say::from_to, voice_.bare(Length()), voice_.bare(allowed));
      verdict = decide(-u, allowed);
    }
    const std::string name = o.of == Of::end_play    ? voice_(Say::end_play)
                             : o.of == Of::gap_upper ? voice_(Say::gap_upper)
                             : o.of == Of::gap_lower ? voice_(Say::gap_lower)
                                                     : voice_(Say::rock_at, voice_.size(o.station));
    return {key.name,
            name,
            voice_.bare(o.value),
            voice_.bare(u),
            fmt::format("{}", std::max<std::size_t>(1, entry.repeats.size())),
            entry.with.empty() ? voice_(Say::cert_unnamed) : entry.with,
            limits,
            voice_(verdict)};
  }

  void instruments(const std::map<std::string, bool>& used) {
    if (used.empty()) return;
    put(Heading{voice_(Say::cert_instruments), 2});
    Table table;
    table.small = true;
    table.columns = {{voice_(Say::cert_instrument), 2},
                     {voice_(Say::cert_own), 1, true},
                     {voice_(Say::cert_step), 1, true},
                     {voice_(Say::cert_leaf), 1, true}};
    const auto& list = of_.shop.measuring.empty() ? general_shop().measuring : of_.shop.measuring;
    const auto figure = [&](const record::LengthEntry& e) { return e.known() ? voice_.fine(e.value) : "-"; };
    for (const record::Measuring& m : list) {
      if (used.contains(m.name))
        table.rows.push_back({m.name, figure(m.plus_minus), figure(m.resolution), figure(m.leaf_step)});
    }
    put(std::move(table));
  }

  // ---- drawings

  [[nodiscard]] std::string head_words(const KeyResult& key) const {
    return fmt::format("{}. {}", voice_(of(key.plan.verdict)),
                       voice_(Say::play_now, say(key.estimate()[Figure::end_play], voice_),
                              say_window(key.plan.window, voice_)));
  }

  [[nodiscard]] drawing::SectionView spoken_section(const KeyResult& key, bool after) const {
    drawing::SectionView view = section_view(key, asked_.unit);
    view.title = key.name;
    view.subtitle = head_words(key);
    view.tongue = voice_.tongue();
    view.work_upper.clear();
    view.work_lower.clear();
    if (!after) {
      view.upper_after.reset();
      view.lower_after.reset();
    }
    if (const plan::Plan* p = first_plan(key)) {
      for (const plan::Step& s : p->steps)
        (s.side == Side::upper ? view.work_upper : view.work_lower).push_back(say_short(s, voice_));
    }
    return view;
  }

  [[nodiscard]] drawing::StripView spoken_strip(const KeyResult& key) const {
    drawing::StripView view = strip_view(key, asked_.unit);
    view.verdict = voice_(of(key.plan.verdict));
    view.sentence = voice_(Say::play_now, say(key.estimate()[Figure::end_play], voice_),
                           say_window(key.plan.window, voice_));
    view.tongue = voice_.tongue();
    for (drawing::StripEnd* e : {&view.upper, &view.lower}) {
      e->work.clear();
      if (!e->reserve_name.empty()) e->reserve_name = say_limit(e->reserve_name, voice_);
    }
    if (const plan::Plan* p = first_plan(key)) {
      for (const plan::Step& s : p->steps) {
        std::string& words = (s.side == Side::upper ? view.upper : view.lower).work;
        words += (words.empty() ? "" : "; ") + say_short(s, voice_);
      }
    }
    return view;
  }

  /// What else can be drawn of the key, as far as it is known.
  void plates(const KeyResult& key) {
    if (key.knowledge.geometry.kind == belief::HingeKind::pivot) {
      for (const Side side : {Side::upper, Side::lower}) {
        drawing::CutterView view = cutter_view(key, side, asked_.unit);
        if (!(view.cut > Length())) continue;
        metal_ = true;
        view.title = voice_(Say::cutter_title, key.name, voice_(of(side)));
        if (!view.driver.empty()) view.driver = voice_(of_reach(view.driver));
        view.tongue = voice_.tongue();
        put(papers::Picture{drawing::draw_cutter(view)});
      }
    }
    if (const auto leaks = leak_of(of_.result, of_.instrument, of_.shop)) {
      const auto leak = find_key(*leaks, key.id);
      auto view = leak ? wedge_view(key, **leak, asked_.unit) : tl::unexpected(leak.error());
      if (view) {
        view->title = voice_(Say::wedge_title, key.name);
        view->leak = voice_.number((*leak)->leak.value, 1) + " ± " +
                     voice_.number((*leak)->leak.plus_minus(), 1) + " mL/s";
        view->as_hole = std::isfinite((*leak)->hole.value) && (*leak)->hole.value > 0
                            ? voice_(Say::as_hole, voice_.size(millimetres((*leak)->hole.value)))
                            : std::string();
        view->tongue = voice_.tongue();
        put(papers::Picture{drawing::draw_wedge(*view)});
      }
    }
    if (const auto wear = wear_of(of_.instrument, of_.shop, of_.result, asked_.day)) {
      for (const KeyWear& k : wear->keys) {
        if (k.id != key.id) continue;
        auto view = years_view(k, asked_.unit);
        if (!view) continue;
        view->title = voice_(Say::time_title, key.name);
        view->subtitle = k.past >= 0.5
                             ? voice_(Say::come_now, key.name)
                             : voice_(Say::come_when, key.name, span(k.due.early), span(k.due.late));
        view->tongue = voice_.tongue();
        put(papers::Picture{drawing::draw_years(*view)});
      }
    }
    const auto stacks = work_out_stacks(of_.instrument, of_.shop, asked_.unit);
    for (std::size_t i = 0; i < stacks.size() && i < of_.instrument.stacks.size(); ++i) {
      const bool on_it = std::any_of(stacks[i].tubes.begin(), stacks[i].tubes.end(),
                                     [&](const TubeOnStack& t) { return t.key == key.id; });
      auto view = on_it ? stack_view(of_.instrument.stacks[i], stacks[i], of_.result, asked_.unit)
                        : Expected<drawing::StackView>(tl::unexpected(Error{}));
      if (!view) continue;
      view->title = voice_(Say::stack_title, stacks[i].name.empty() ? stacks[i].id : stacks[i].name);
      view->tongue = voice_.tongue();
      put(papers::Picture{drawing::draw_stack(*view)});
    }
    cautions(metal_);
  }

  /// A bar of known length, to hold a rule against.
  [[nodiscard]] papers::Picture true_bar() const;

  static Say of_part(drawing::JointPart part) {
    using P = drawing::JointPart;
    switch (part) {
      case P::post:
        return Say::part_post;
      case P::seat:
        return Say::part_seat;
      case P::head:
        return Say::part_head;
      case P::point:
        return Say::part_point;
      case P::key_end:
        return Say::part_key_end;
      case P::mouth:
        return Say::part_mouth;
      case P::floor:
        return Say::part_floor;
      case P::gap:
        return Say::part_gap;
      case P::contact:
        return Say::part_contact;
      case P::rod:
        return Say::part_rod;
      case P::bore:
        break;
    }
    return Say::part_bore;
  }

  const PaperOf& of_;
  const PaperAsked& asked_;
  Voice voice_;
  Paper paper_;
  bool metal_ = false;
  bool fire_ = false;
};

/// A kind's word, and its name on paper.
struct KindName {
  const char* word;
  Say name;
};
const KindName& name_of(PaperKind kind) {
  static constexpr std::array<KindName, kPaperKinds.size()> kNames{{{"card", Say::bench_card},
                                                                    {"quote", Say::quote},
                                                                    {"report", Say::owner_report},
                                                                    {"lesson", Say::teaching_sheet},
                                                                    {"readings", Say::certificate},
                                                                    {"drawings", Say::drawings},
                                                                    {"tag", Say::tag}}};
  return kNames[static_cast<std::size_t>(kind)];
}

papers::Sheet sheet_for(const record::Shop& shop, const PaperAsked& asked) {
  return asked.sheet.value_or(shop.paper == record::PaperSize::letter ? papers::Sheet::letter
                                                                      : papers::Sheet::a4);
}

papers::Picture Writer::true_bar() const {
  const bool inch = asked_.unit == LengthUnit::inch;
  const double length = inch ? 4 * kMillimetresPerInch : 100;
  drawing::Scene scene;
  scene.width = millimetres(papers::kTextWidth);
  scene.height = millimetres(12);
  const auto line = [&](double x1, double y1, double x2, double y2) {
    scene.shapes.emplace_back(
        drawing::Path{{{millimetres(x1), millimetres(y1)}, {millimetres(x2), millimetres(y2)}}});
  };
  line(0, 9, length, 9);
  const int parts = inch ? 4 : 10;
  for (int i = 0; i <= parts; ++i) line(length * i / parts, i % 5 == 0 ? 6.5 : 7.8, length * i / parts, 9);
  scene.shapes.emplace_back(drawing::Label{
      {millimetres(0), millimetres(4)}, voice_(Say::true_print, inch ? "4 in" : "100 mm"), millimetres(2.7)});
  return {scene};
}

}  // namespace

const char* word(PaperKind kind) { return name_of(kind).word; }

Expected<PaperKind> paper_kind_of(const std::string& typed) {
  std::string all;
  for (const PaperKind kind : kPaperKinds) {
    if (typed == word(kind)) return kind;
    all += (all.empty() ? "" : ", ") + std::string(word(kind));
  }
  return fail(Fault::usage, fmt::format("there is no paper \"{}\"", typed.substr(0, 40)), all);
}

Expected<papers::Language> language_of(const std::string& typed) {
  for (const auto language : {papers::Language::english, papers::Language::german}) {
    if (typed == papers::code(language)) return language;
  }
  return fail(Fault::usage, fmt::format("papers do not speak \"{}\"", typed.substr(0, 40)), "en or de");
}

Expected<std::optional<papers::Sheet>> sheet_of(const std::string& typed) {
  if (typed.empty()) return std::nullopt;
  std::string small = typed;
  for (char& c : small) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  for (const auto sheet : {papers::Sheet::a4, papers::Sheet::letter}) {
    if (small == papers::word(sheet)) return sheet;
  }
  return fail(Fault::usage, fmt::format("there is no paper size \"{}\"", typed.substr(0, 40)),
              "a4 or letter");
}

Expected<PaperAsked> paper_asked(const PaperTyped& typed) {
  PaperAsked out;
  const auto kind = paper_kind_of(typed.kind);
  if (!kind) return tl::unexpected(kind.error());
  out.kind = *kind;
  if (!typed.language.empty()) {
    const auto language = language_of(typed.language);
    if (!language) return tl::unexpected(language.error());
    out.language = *language;
  }
  const auto sheet = sheet_of(typed.sheet);
  if (!sheet) return tl::unexpected(sheet.error());
  out.sheet = *sheet;
  if (auto read = read_limits(typed.minutes, typed.money, out.budget); !read)
    return tl::unexpected(read.error());
  return out;
}

InstrumentCauses paper_causes(const InstrumentResult& result, unsigned threads) {
  return causes_of(result, {1, threads, nullptr, {}});
}

Expected<std::vector<drawing::Scene>> paper_pages(const PaperOf& of, const PaperAsked& asked) {
  if (!record::is_date(asked.day))
    return fail(Fault::usage, fmt::format("\"{}\" is no day of the calendar", asked.day.substr(0, 40)),
                "such as 2026-11-27");
  Writer writer(of, asked);
  if (asked.kind == PaperKind::tag) {
    auto made = writer.tag();
    if (!made) return tl::unexpected(made.error());
    return std::vector<drawing::Scene>{std::move(*made)};
  }
  const Expected<Paper> paper = [&] {
    switch (asked.kind) {
      case PaperKind::quote:
        return writer.quote();
      case PaperKind::report:
        return writer.report();
      case PaperKind::lesson:
        return writer.lesson();
      case PaperKind::readings:
        return writer.readings();
      case PaperKind::drawings:
        return writer.drawings();
      case PaperKind::card:
      case PaperKind::tag:
        break;
    }
    return writer.card();
  }();
  if (!paper) return tl::unexpected(paper.error());
  return papers::lay_out(*paper, sheet_for(of.shop, asked), Voice(asked.language, asked.unit));
}

Expected<std::vector<drawing::Scene>> against_pages(const Against& against, const record::Shop& shop,
                                                    const PaperAsked& asked) {
  const Voice voice(asked.language, asked.unit);
  Paper paper;
  paper.title = voice(Say::against);
  paper.head_left = shop.title;
  paper.head_right = fmt::format("{}, {}", paper.title, voice.day(asked.day));
  paper.blocks.emplace_back(papers::Heading{paper.title, 1});
  if (!against.visits.empty()) {
    Table table;
    table.small = true;
    table.columns = {{voice(Say::instrument), 4},
                     {voice(Say::quoted), 1.2, true},
                     {voice(Say::actual), 1.2, true},
                     {voice(Say::price), 1.4, true}};
    for (const QuotedVisit& v : against.visits)
      table.rows.push_back({v.name, voice.number(v.minutes_quoted, 0), voice.number(v.minutes_actual, 0),
                            voice.money(v.money_quoted, shop.prices.currency)});
    paper.blocks.emplace_back(std::move(table));
    paper.blocks.emplace_back(
        Prose{voice(Say::against_sums, voice.number(against.quoted, 0), voice.number(against.actual, 0),
                    voice.number(100 * against.ratio, 0))});
    if (against.earned_hourly)
      paper.blocks.emplace_back(
          Prose{voice(Say::against_earned, voice.money(*against.earned_hourly, shop.prices.currency))});
  }
  paper.blocks.emplace_back(papers::Heading{voice(Say::should_change), 2});
  paper.blocks.emplace_back(Points{Points::Mark::dot, advice(against, shop.prices, voice)});
  return papers::lay_out(paper, sheet_for(shop, asked), voice);
}

Expected<std::string> paper_file(const PaperOf& of, const PaperAsked& asked) {
  const auto pages = paper_pages(of, asked);
  if (!pages) return tl::unexpected(pages.error());
  return papers::to_pdf(*pages, paper_title(asked, of.result.title), of.shop.title, asked.day,
                        asked.language);
}

std::string paper_title(const PaperAsked& asked, const std::string& instrument) {
  const Voice voice(asked.language, asked.unit);
  const std::string name = voice(name_of(asked.kind).name);
  return instrument.empty() ? name : fmt::format("{}: {}", name, instrument);
}

std::string paper_file_name(const PaperAsked& asked) {
  std::string out = word(asked.kind);
  if (!asked.key.empty()) out += "-";
  for (const char c : asked.key) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
    if (plain) out += c;
  }
  return out + ".pdf";
}

}  // namespace hingeline::service
