// Papers of instruments, and what other programs find in them; quotes by hand.

#include "hingeline/service/papers.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <variant>

#include "hingeline/drawing/print.h"
#include "hingeline/service/pictures.h"
#include "service/documents.h"
#include "support/other_programs.h"

namespace hingeline::service {
namespace {

using papers::Language;
using papers::Sheet;
using support::run;
using support::written;
using test::cone_key;
using test::instrument_json;
using test::instrument_of;

constexpr const char* kDay = "2026-11-27";

struct Bench {
  record::Instrument instrument;
  record::Shop shop;
  InstrumentResult result;
  Bench(record::Instrument i, record::Shop s)
      : instrument(std::move(i)), shop(std::move(s)), result(work_out(instrument, shop, 1)) {}
};

const Bench& saxophone() {
  static const Bench kBench(test::example_instrument("saxophone.json"), test::example_shop());
  return kBench;
}

PaperAsked asked(PaperKind kind, const std::string& key = {}) {
  PaperAsked out;
  out.kind = kind;
  out.key = key;
  out.day = kDay;
  return out;
}

PaperOf of(const Bench& bench) { return {bench.instrument, bench.shop, bench.result, nullptr, {}}; }

std::string needs_key(PaperKind kind) {
  return kind == PaperKind::lesson || kind == PaperKind::drawings ? "low-c" : "";
}

std::string text_of(const std::string& name, const std::string& bytes) {
  return run("pdftotext -layout " + written(name, bytes) + " -").said;
}

TEST(Papers, EveryKindInBothLanguagesAndSizesIsSound) {
  for (const PaperKind kind : kPaperKinds) {
    for (const Language language : {Language::english, Language::german}) {
      for (const Sheet sheet : {Sheet::a4, Sheet::letter}) {
        PaperAsked a = asked(kind, needs_key(kind));
        a.language = language;
        a.sheet = sheet;
        a.answers = true;
        a.unit = sheet == Sheet::letter ? LengthUnit::inch : LengthUnit::mm;
        const auto made = paper_file(of(saxophone()), a);
        ASSERT_TRUE(made) << word(kind) << ": " << made.error().what;
        const std::string name =
            fmt::format("{}-{}-{}.pdf", word(kind), papers::code(language), papers::word(sheet));
        const std::string file = written(name, *made);
        const auto checked = run("qpdf --check " + file);
        EXPECT_EQ(checked.status, 0) << name << checked.said;
        const std::string fonts = run("pdffonts " + file).said;
        EXPECT_NE(fonts.find("+DejaVuSans"), std::string::npos) << name;
        EXPECT_EQ(fonts.find(" no "), std::string::npos) << name << ": all embedded, with maps to text\n"
                                                         << fonts;
        EXPECT_NE(run("pdfinfo " + file).said.find("Tagged:          yes"), std::string::npos) << name;
        EXPECT_TRUE(*made == paper_file(of(saxophone()), a).value()) << "same input, same bytes: " << name;
      }
    }
  }
}

TEST(Papers, TheFiguresAreInTheText) {
  const std::string card =
      text_of("card.pdf", paper_file(of(saxophone()), asked(PaperKind::card, "low-c")).value());
  const KeyResult& low_c = **find_key(saxophone().result, "low-c");
  EXPECT_NE(card.find(show(low_c.estimate()[Figure::end_play], LengthUnit::mm)), std::string::npos) << card;
  EXPECT_NE(card.find("Low C: loose"), std::string::npos);
  for (const plan::Reserve& r : low_c.plan.plans.front().reserves)
    EXPECT_NE(card.find(r.limit), std::string::npos) << r.limit;
  PaperAsked german = asked(PaperKind::card, "low-c");
  german.language = Language::german;
  const std::string karte = text_of("karte.pdf", paper_file(of(saxophone()), german).value());
  for (const char* words :
       {"Werkbankkarte", "Axialspiel", "0,165 ± 0,006", "Senkung", "Böckchen", "Augenschutz"})
    EXPECT_NE(karte.find(words), std::string::npos) << words;
}

TEST(Papers, AnOwnerReadsHowMuchTooLongAKeyIsNotAPlayBelowNothing) {
  const KeyResult& palm_f = **find_key(saxophone().result, "palm-f");
  ASSERT_LT(palm_f.estimate()[Figure::end_play].value, 0);
  const std::string text =
      text_of("report.pdf", paper_file(of(saxophone()), asked(PaperKind::report)).value());
  EXPECT_NE(text.find("Palm F: binds. It is 0.035"), std::string::npos) << text;
  EXPECT_EQ(text.find("End play -"), std::string::npos);
}

TEST(Papers, WhatLeadsMetalWorkCarriesTheCautions) {
  for (const PaperKind kind : {PaperKind::card, PaperKind::lesson}) {
    const std::string text =
        text_of("caution.pdf", paper_file(of(saxophone()), asked(kind, "low-c")).value());
    for (const char* words :
         {"eye protection", "lead", "compressed air", "ventilate", "fire watch", "instructions"})
      EXPECT_NE(text.find(words), std::string::npos) << word(kind) << ": " << words;
  }
  // Where nothing is to be done, nothing is led.
  const Bench sound(instrument_of(instrument_json({cone_key("a", 0.02)})), general_shop());
  ASSERT_EQ(sound.result.keys[0].plan.verdict, plan::Verdict::sound);
  const std::string text = text_of("sound.pdf", paper_file(of(sound), asked(PaperKind::card)).value());
  EXPECT_EQ(text.find("Caution"), std::string::npos);
}

TEST(Papers, ACardIsOnePage) {
  EXPECT_EQ(paper_pages(of(saxophone()), asked(PaperKind::card))->size(), 1U);
  EXPECT_EQ(paper_pages(of(saxophone()), asked(PaperKind::card, "low-c"))->size(), 1U);
}

TEST(Papers, SixtyKeysAndHostileNamesAreAllThere) {
  std::vector<nlohmann::json> keys;
  for (int i = 0; i < 60; ++i) {
    keys.push_back(cone_key(fmt::format("k{}", i), i % 3 == 0 ? 0.02 : 0.15));
    keys.back()["name"] = i == 7 ? std::string(200, 'W') : fmt::format("name{}", i);
  }
  nlohmann::json document = instrument_json(keys);
  document["title"] = "<script>&\"' %s {} {0} " + std::string(160, 'W');
  const Bench bench(instrument_of(document), general_shop());
  PaperOf all = of(bench);
  all.facts.owner = std::string(300, 'M');
  all.facts.complaint = "{} %n <b>";
  for (const PaperKind kind :
       {PaperKind::card, PaperKind::quote, PaperKind::report, PaperKind::readings, PaperKind::tag}) {
    const auto made = paper_file(all, asked(kind));
    ASSERT_TRUE(made) << word(kind) << ": " << made.error().what;
    const std::string file = written(fmt::format("sixty-{}.pdf", word(kind)), *made);
    EXPECT_EQ(run("qpdf --check " + file).status, 0);
    if (kind == PaperKind::tag || kind == PaperKind::quote) continue;
    const std::string text = run("pdftotext -raw " + file + " -").said;
    for (int i = 0; i < 60; ++i) {
      if (i == 7 || (kind == PaperKind::report && i % 3 == 0)) continue;
      EXPECT_NE(text.find(fmt::format("name{}", i)), std::string::npos) << word(kind) << i;
    }
    EXPECT_GE(std::count(text.begin(), text.end(), 'W'), 200) << word(kind);
    if (kind == PaperKind::card) {
      EXPECT_NE(text.find("{} %n <b>"), std::string::npos);
    }
  }
}

TEST(Papers, WhatCannotBeMadeIsRefused) {
  EXPECT_EQ(paper_file(of(saxophone()), asked(PaperKind::card, "no-key")).error().fault, Fault::not_found);
  EXPECT_EQ(paper_file(of(saxophone()), asked(PaperKind::lesson)).error().fault, Fault::usage);
  PaperAsked a = asked(PaperKind::card);
  a.day = "2026-02-30";
  EXPECT_EQ(paper_file(of(saxophone()), a).error().fault, Fault::usage);
  EXPECT_EQ(paper_kind_of("poster").error().fault, Fault::usage);
  EXPECT_EQ(language_of("fr").error().fault, Fault::usage);
  EXPECT_EQ(sheet_of("A3").error().fault, Fault::usage);
  EXPECT_EQ(sheet_of("A4").value(), Sheet::a4);
  EXPECT_FALSE(sheet_of("").value());
  for (const PaperKind kind : kPaperKinds) EXPECT_EQ(paper_kind_of(word(kind)).value(), kind);
}

// ---- the drawn contact lies where the engine says
// ------------------------------------------------------------

/// Both ends of the thick lines of a section, as the PDF holds them, from the post's face and in millimetres
/// of the joint.
TEST(Drawings, TheDrawnContactLiesWhereTheEngineSays) {
  std::size_t checked = 0;
  for (const double scale : {1.0, 10.0}) {
    for (const KeyResult& key : saxophone().result.keys) {
      if (key.problem || key.knowledge.geometry.kind != belief::HingeKind::pivot) continue;
      const auto& joint = key.hinge->end(Side::upper).joint;
      if (rides_on(key, Side::upper) != "flank" || !(joint.home().touching > Length())) continue;
      drawing::SectionView view = section_view(key, LengthUnit::mm);
      view.upper_after.reset();
      view.lower_after.reset();
      view.sides = drawing::SectionView::Sides::upper;
      view.scale = scale;
      const drawing::Scene scene = drawing::draw_section(view);
      double face = -1;
      std::vector<const drawing::Path*> thick;
      for (const drawing::Shape& shape : scene.shapes) {
        const auto* path = std::get_if<drawing::Path>(&shape);
        if (path == nullptr) continue;
        if (path->fill == drawing::Fill::post && face < 0) {
          for (const drawing::Spot& s : path->spots) face = std::max(face, in_millimetres(s.x));
        }
        if (path->ink == drawing::Ink::contact && path->spots.size() == 2) thick.push_back(path);
      }
      ASSERT_GE(thick.size(), 2U) << key.id;
      const double gap = in_millimetres(key.hinge->travel().gap_at(Side::upper));
      const double middle = gap + in_millimetres(joint.home().depth);
      const double half = in_millimetres(joint.home().touching) / 2;
      EXPECT_NEAR(in_millimetres(thick[0]->spots[0].x) - face, (middle - half) * scale, 0.01) << key.id;
      EXPECT_NEAR(in_millimetres(thick[0]->spots[1].x) - face, (middle + half) * scale, 0.01) << key.id;
      ++checked;
    }
  }
  EXPECT_GE(checked, 20U);
}

// ---- money
// ---------------------------------------------------------------------------------------------------

Money amount(const char* text) { return parse_money(text).value(); }

record::Prices prices(const char* json) {
  const std::string text =
      std::string(R"({"format": "hingeline-shop", "version": 1, "title": "Prices", "prices": )") + json + "}";
  return test::must(record::read_shop(text, "prices.json")).prices;
}

QuoteOption of_sum(const char* works, const char* set_ups) {
  QuoteOption out;
  out.works = {0};
  out.of_works = amount(works);
  out.of_set_ups = amount(set_ups);
  return out;
}

TEST(Quote, TaxIsAddedOrInsideAsTheShopSaysByHand) {
  const auto added =
      priced(of_sum("100.00", "3.50"), prices(R"({"rate": "19 %", "round_to": "0.05", "deposit": "30 %"})"));
  ASSERT_TRUE(added);
  EXPECT_EQ(added->before_tax, amount("103.50"));
  EXPECT_EQ(added->tax, amount("19.67"));  // 19.665: half up
  EXPECT_EQ(added->total_price, amount("123.15"));
  EXPECT_EQ(added->rounding, Money::hundredths(-2));
  EXPECT_EQ(added->deposit, amount("36.95"));  // 36.945
  const auto inside = priced(of_sum("100.00", "3.50"),
                             prices(R"({"rate": "19 %", "prices_are": "included", "round_to": "1"})"));
  ASSERT_TRUE(inside);
  EXPECT_EQ(inside->total_price, amount("104"));
  EXPECT_EQ(inside->rounding, amount("0.50"));
  EXPECT_EQ(inside->tax, amount("16.61"));  // 16.605: half up
  EXPECT_EQ(inside->before_tax, amount("87.39"));
  const auto least = priced(of_sum("7.00", "0"), prices(R"({"minimum": "20", "rate": "7 %"})"));
  ASSERT_TRUE(least);
  EXPECT_EQ(least->to_minimum, amount("13"));
  EXPECT_EQ(least->total_price, amount("21.40"));
  const auto plain = priced(of_sum("7.00", "0"), {});
  EXPECT_EQ(plain->total_price, amount("7"));
  EXPECT_EQ(plain->tax, Money{});
  EXPECT_EQ(priced(of_sum("1", "0"), prices(R"({"rate": "8.125 %"})")).error().fault, Fault::content);
}

TEST(Quote, TheLinesOfThePaperAddUp) {
  for (const char* minutes : {"30", "90", "300"}) {
    BudgetAsked wanted;
    ASSERT_TRUE(read_limits(minutes, "", wanted));
    const auto budget = budget_of(saxophone().result, saxophone().instrument, saxophone().shop, wanted);
    ASSERT_TRUE(budget);
    const auto quote = quote_of(*budget, saxophone().shop, kDay);
    ASSERT_TRUE(quote);
    ASSERT_FALSE(quote->options.empty());
    EXPECT_EQ(quote->valid_until, "2026-12-27");
    for (const QuoteOption& o : quote->options) {
      Money works;
      for (const std::size_t w : o.works) works += budget->candidates.works[w].money;
      EXPECT_EQ(works, o.of_works);
      EXPECT_EQ(o.of_works + o.of_set_ups + o.to_minimum + o.rounding, o.total_price) << "the tax is inside";
      EXPECT_EQ(o.before_tax + o.tax, o.total_price);
      EXPECT_EQ(o.total_price.in_hundredths() % 50, 0) << "rounded to half a crown";
      EXPECT_GE(o.nine_in_ten, o.total.time.mean);
    }
    // All that helps gains no less than any other.
    for (const QuoteOption& o : quote->options)
      EXPECT_LE(o.total.points.thousandths, quote->options.back().total.points.thousandths);
  }
}

TEST(Quote, SaysItsTermsOnPaper) {
  PaperAsked a = asked(PaperKind::quote);
  ASSERT_TRUE(read_limits("90", "", a.budget));
  const std::string text = text_of("quote.pdf", paper_file(of(saxophone()), a).value());
  for (const char* words :
       {"within your budget", "all that helps", "2026-12-27", "turnover tax 20 %", "Paid ahead: 30 %",
        "nine times in ten", "Leaves undone", "takes metal that does not come back"})
    EXPECT_NE(text.find(words), std::string::npos) << words;
}

TEST(Against, ByHand) {
  // Two visits: 60 quoted, 90 taken; 40 quoted, 60 taken. Half as much again, both times alike.
  const auto out =
      against({{"a", 60, 90, amount("60")}, {"b", 40, 60, amount("40")}, {"c", 0, 10, amount("5")}},
              prices(R"({"per_hour": "60.00"})"));
  EXPECT_EQ(out.visits.size(), 2U);
  EXPECT_EQ(out.left_out, 1U);
  EXPECT_DOUBLE_EQ(out.ratio, 1.5);
  EXPECT_NEAR(out.ratio_low, 1.5, 1e-12);
  EXPECT_TRUE(out.sure);
  EXPECT_EQ(out.earned_hourly, amount("40"));  // 100 for 150 minutes
  EXPECT_EQ(out.less_than_rate, Percent::hundredths(3333));
  EXPECT_EQ(out.rate_needed, amount("90"));
  const papers::Voice voice(Language::english, LengthUnit::mm);
  const auto said = advice(out, prices(R"({"per_hour": "60.00", "currency": "crowns"})"), voice);
  ASSERT_EQ(said.size(), 3U);
  EXPECT_NE(said[0].find("Only 2 visits"), std::string::npos);
  EXPECT_NE(said[1].find("takes longer"), std::string::npos);
  EXPECT_NE(said[1].find("1.50 times"), std::string::npos);
  EXPECT_NE(said[2].find("90.00 crowns instead of 60.00 crowns"), std::string::npos);
  // One visit shows nothing sure.
  const auto one = against({{"a", 60, 90, amount("60")}}, prices(R"({"per_hour": "60.00"})"));
  EXPECT_FALSE(one.sure);
  EXPECT_FALSE(one.rate_needed);
  // Ratios 2 and 1/2: their mean is 1, and Student's t for one degree of freedom is 12.706 (JCGM 100, table
  // G.2).
  const auto wide = against({{"a", 50, 100, {}}, {"b", 100, 50, {}}}, {});
  EXPECT_DOUBLE_EQ(wide.ratio, 1);
  EXPECT_NEAR(std::log(wide.ratio_high), 12.706 * std::log(2.0), 1e-3);
  EXPECT_FALSE(wide.sure);
  EXPECT_TRUE(against({}, {}).visits.empty());
}

}  // namespace
}  // namespace hingeline::service
