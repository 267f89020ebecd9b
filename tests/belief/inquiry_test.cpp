#include "hingeline/belief/inquiry.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <set>

#include "subjects.h"

namespace hingeline::belief {
namespace {

constexpr std::uint64_t kSeed = 20;

Inquiry begin(const Subject& subject, std::optional<Complaint> complaint = std::nullopt,
              const CausePresets& presets = {}, std::size_t samples = Inquiry::kSamples) {
  auto inquiry = Inquiry::begin(subject, presets, complaint, kSeed, samples);
  EXPECT_TRUE(inquiry.has_value());
  return std::move(*inquiry);
}

void read(Inquiry& q, Check check, double mm) {
  const auto taken = q.take({check, millimetres(mm), {}, 0});
  ASSERT_TRUE(taken.has_value()) << taken.error().what;
}
void say(Inquiry& q, Check check, const std::string& answer) {
  const auto& words = answers(check);
  const auto at = std::find(words.begin(), words.end(), answer);
  ASSERT_NE(at, words.end()) << answer;
  ASSERT_TRUE(q.take({check, {}, {}, static_cast<std::size_t>(at - words.begin())}).has_value());
}

/// Everything that is looked at on a key with nothing to see.
void nothing_to_see(Inquiry& q) {
  for (const Check c :
       {Check::stand_off_upper, Check::stand_off_lower, Check::rock_upper, Check::rock_lower, Check::roll}) {
    if (q.applies(c)) read(q, c, 0);
  }
  for (const Check c : {Check::wobble_upper, Check::wobble_lower, Check::slack_upper, Check::slack_lower,
                        Check::post_upper, Check::post_lower, Check::neighbours, Check::clean}) {
    if (q.applies(c)) say(q, c, "no");
  }
}

TEST(Inquiry, BeforeAnyAnswerTheSharesAreThePresets) {
  const CausePresets p;
  const Inquiry q = begin(cone_subject());
  EXPECT_NEAR(q.share(Cause::sound), p.sound_share, 1e-12);
  // As first of one or two, or as second after another.
  double all = 0;
  for (std::size_t k = 1; k < kCauseCount; ++k)
    all += static_cast<Cause>(k) == Cause::worn_bore ? 0 : p.share[k];
  const double bent = p.share[static_cast<std::size_t>(Cause::bent_body)];
  double second = 0;
  for (std::size_t k = 1; k < kCauseCount; ++k) {
    const Cause first = static_cast<Cause>(k);
    if (first == Cause::worn_bore || first == Cause::bent_body) continue;
    double partners = 0;
    const auto form = [](Cause c) {
      return c == Cause::worn_hole || c == Cause::taper_mismatch || c == Cause::straight_hole ||
             c == Cause::tip_on_floor;
    };
    const auto fit = [](Cause c) { return c == Cause::short_fit || c == Cause::over_cut; };
    for (std::size_t j = 1; j < kCauseCount; ++j) {
      const Cause c = static_cast<Cause>(j);
      if (c == first || c == Cause::worn_bore || (form(c) && form(first)) || (fit(c) && fit(first))) continue;
      partners += p.share[j];
    }
    second += p.share[k] / all * p.two_causes * bent / partners;
  }
  EXPECT_NEAR(q.share(Cause::bent_body), (1 - p.sound_share) * (bent / all + second), 1e-12);
  EXPECT_FALSE(q.applies(Cause::worn_bore));
}

TEST(Inquiry, AGapUnderTheHeadIsAScrewNotHome) {
  Inquiry q = begin(cone_subject(), Complaint::loose);
  say(q, Check::sticks, "free");
  read(q, Check::end_play, 0.17);
  EXPECT_GT(q.share(Cause::short_fit), 0.3);
  read(q, Check::stand_off_upper, 0.15);
  const auto list = q.causes();
  EXPECT_EQ(list.front().cause, Cause::screw_off);
  EXPECT_GT(list.front().share, 0.97);
  EXPECT_GT(list.front().upper_share, 0.97);
  EXPECT_EQ(q.best_cure(), Cure::set_screw);
  const auto evidence = q.evidence(Cause::screw_off);
  ASSERT_FALSE(evidence.empty());
  EXPECT_EQ(evidence.front().check, Check::stand_off_upper);
  EXPECT_GT(evidence.front().factor, 30);
}

TEST(Inquiry, WhenNothingCheaperIsLeftTheFitIsShort) {
  Inquiry q = begin(cone_subject(), Complaint::loose);
  say(q, Check::sticks, "free");
  read(q, Check::end_play, 0.14);
  nothing_to_see(q);
  EXPECT_GT(q.share(Cause::short_fit), 0.95);
  EXPECT_EQ(q.best_cure(), Cure::cut);
  EXPECT_TRUE(q.barriers({}).empty());
}

TEST(Inquiry, EveryCauseIsFoundByWhatShowsIt) {
  struct Row {
    Cause cause;
    Subject subject;
    Complaint complaint;
    std::vector<std::pair<Check, double>> readings;
    std::vector<std::pair<Check, std::string>> words;
  };
  const Subject cone = cone_subject();
  const std::vector<Row> rows{
      {Cause::over_cut,
       cone,
       Complaint::binds,
       {{Check::end_play, -0.04}},
       {{Check::sticks, "all round"},
        {Check::post_upper, "no"},
        {Check::post_lower, "no"},
        {Check::neighbours, "no"},
        {Check::clean, "no"},
        {Check::back_off_upper, "yes"}}},
      {Cause::worn_hole,
       cone,
       Complaint::loose,
       {{Check::end_play, 0.02}, {Check::rock_upper, 0.07}},
       {{Check::sticks, "free"}, {Check::wobble_upper, "no"}, {Check::look_upper, "worn"}}},
      {Cause::loose_thread,
       cone,
       Complaint::loose,
       {{Check::end_play, 0.02}, {Check::rock_upper, 0.06}},
       {{Check::sticks, "free"}, {Check::wobble_upper, "yes"}}},
      {Cause::taper_mismatch,
       cone,
       Complaint::loose,
       {{Check::end_play, 0.02}},
       {{Check::sticks, "free"}, {Check::ink_lower, "rim"}, {Check::look_lower, "clean cone"}}},
      {Cause::straight_hole,
       cone,
       Complaint::loose,
       {{Check::end_play, 0.02}},
       {{Check::sticks, "free"}, {Check::ink_lower, "rim"}, {Check::look_lower, "straight"}}},
      {Cause::tip_on_floor,
       cone,
       Complaint::loose,
       {{Check::end_play, 0.02}, {Check::rock_lower, 0.09}},
       {{Check::sticks, "free"}, {Check::ink_lower, "tip"}, {Check::look_lower, "clean cone"}}},
      {Cause::post_moved,
       cone,
       Complaint::loose,
       {{Check::end_play, 0.12}, {Check::stand_off_lower, 0}, {Check::stand_off_upper, 0}},
       {{Check::sticks, "free"}, {Check::post_lower, "yes"}}},
      {Cause::bent_body,
       cone,
       Complaint::loose,
       {{Check::end_play, 0.05}, {Check::bow, -0.4}},
       {{Check::sticks, "free"}, {Check::neighbours, "yes"}}},
      {Cause::bent_key,
       cone,
       Complaint::binds,
       {{Check::end_play, 0.004}, {Check::roll, 0.11}},
       {{Check::sticks, "at one place"}}},
      {Cause::dirt, cone, Complaint::sluggish, {{Check::end_play, 0.02}}, {{Check::sticks, "all round"}}},
      {Cause::climate,
       cone,
       Complaint::binds,
       {{Check::end_play, 0.02}},
       {{Check::sticks, "free"}, {Check::warmth, "yes"}, {Check::neighbours, "no"}}},
      {Cause::worn_bore,
       rod_subject(),
       Complaint::loose,
       {{Check::end_play, 0.02}, {Check::bore, 0.11}},
       {{Check::sticks, "free"}}},
      {Cause::bent_key,
       rod_subject(),
       Complaint::binds,
       {{Check::end_play, 0.02}, {Check::roll, 0.09}, {Check::bore, 0.016}},
       {{Check::sticks, "all round"}}},
      {Cause::screw_off,
       headless_subject(),
       Complaint::noisy,
       {{Check::end_play, 0.15}},
       {{Check::sticks, "free"}, {Check::slack_lower, "yes"}}},
  };
  for (const Row& row : rows) {
    Inquiry q = begin(row.subject, row.complaint);
    for (const auto& [check, answer] : row.words) say(q, check, answer);
    for (const auto& [check, mm] : row.readings) read(q, check, mm);
    const auto list = q.causes();
    EXPECT_EQ(list.front().cause, row.cause) << code(row.cause) << " but " << code(list.front().cause);
    EXPECT_GT(list.front().share, 0.7) << code(row.cause);
  }
}

TEST(Inquiry, TwoCausesAtOnceAreBothSeen) {
  Inquiry q = begin(cone_subject(), Complaint::loose);
  say(q, Check::sticks, "free");
  read(q, Check::end_play, 0.21);
  say(q, Check::neighbours, "yes");
  read(q, Check::bow, -0.45);
  // The bow explains some thousandths; the rest is the fit.
  for (const Check c : {Check::stand_off_upper, Check::stand_off_lower}) read(q, c, 0);
  for (const Check c : {Check::post_upper, Check::post_lower, Check::wobble_upper, Check::wobble_lower})
    say(q, c, "no");
  EXPECT_GT(q.share(Cause::bent_body), 0.9);
  EXPECT_GT(q.share(Cause::short_fit), 0.8);
  EXPECT_EQ(q.best_cure(), Cure::straighten_body);
  ASSERT_FALSE(q.barriers({}).empty());
  q.treat(Cure::straighten_body);
  EXPECT_LT(q.share(Cause::bent_body), 0.1);
  EXPECT_GT(q.share(Cause::short_fit), 0.8);
  EXPECT_FALSE(q.answered(Check::end_play));
}

TEST(Inquiry, AReadingIsTakenInClosedForm) {
  // Short fits only: what is left of a truncated normal after a reading, by Simpson's rule.
  CausePresets p;
  p.sound_share = p.two_causes = p.misread = 0;
  p.share = {};
  p.share[static_cast<std::size_t>(Cause::short_fit)] = 1;
  for (const double standard : {0.004, 0.03}) {
    Inquiry q = begin(cone_subject(), std::nullopt, p, 20000);
    ASSERT_TRUE(q.take({Check::end_play, millimetres(0.06), millimetres(standard), 0}).has_value());
    double mass = 0;
    double first = 0;
    double second = 0;
    constexpr int kSteps = 4000;
    for (int k = 0; k <= kSteps; ++k) {
      const double x = 0.04 + 0.4 * k / kSteps;
      const double weight = k == 0 || k == kSteps ? 1 : k % 2 == 1 ? 4 : 2;
      const double density = weight * std::exp(-0.5 * std::pow((x - p.short_mean) / p.short_sd, 2) -
                                               0.5 * std::pow((x - 0.06) / standard, 2));
      mass += density;
      first += density * x;
      second += density * x * x;
    }
    const double mean = first / mass;
    const double sd = std::sqrt(second / mass - mean * mean);
    // Five standard errors of 20,000 draws.
    EXPECT_NEAR(q.end_play().first, mean, 5 * sd / std::sqrt(20000.0)) << standard;
    EXPECT_NEAR(q.end_play().second, sd, 5 * sd / std::sqrt(20000.0)) << standard;
  }
}

// But for what a sample of keys can tell: samples are drawn anew when the answers have left few.
TEST(Inquiry, TheOrderOfAnswersDoesNotMatter) {
  CausePresets p;
  p.misread = 0;
  const std::vector<Answer> all{{Check::sticks, {}, {}, 0},
                                {Check::end_play, millimetres(0.11), {}, 0},
                                {Check::rock_upper, millimetres(0.012), {}, 0},
                                {Check::wobble_upper, {}, {}, 0},
                                {Check::stand_off_lower, millimetres(0.04), {}, 0}};
  std::vector<std::size_t> order{0, 1, 2, 3, 4};
  std::vector<double> first;
  int orders = 0;
  do {
    if (orders++ % 10 != 0) continue;
    Inquiry q = begin(cone_subject(), Complaint::loose, p, 20000);
    for (const std::size_t k : order) ASSERT_TRUE(q.take(all[k]).has_value());
    std::vector<double> shares;
    for (std::size_t k = 0; k < kCauseCount; ++k) shares.push_back(q.share(static_cast<Cause>(k)));
    if (first.empty()) first = shares;
    for (std::size_t k = 0; k < kCauseCount; ++k) EXPECT_NEAR(shares[k], first[k], 0.03);
  } while (std::next_permutation(order.begin(), order.end()));
}

TEST(Inquiry, SameBytesForAnyNumberOfThreads) {
  const auto run = [](unsigned threads) {
    auto q = Inquiry::begin(cone_subject(), {}, Complaint::loose, 7, 5000, threads);
    EXPECT_TRUE(q->take({Check::end_play, millimetres(0.1), {}, 0}).has_value());
    EXPECT_TRUE(q->take({Check::rock_upper, millimetres(0.01), {}, 0}).has_value());
    std::vector<double> out{q->end_play().first, q->end_play().second};
    for (const auto& c : q->causes()) out.push_back(c.share);
    for (const auto& w : q->worths()) out.push_back(w.gain);
    return out;
  };
  const auto one = run(1);
  EXPECT_EQ(one, run(2));
  EXPECT_EQ(one, run(5));
}

TEST(Inquiry, NeverAsksForWhatWasAnswered) {
  Inquiry q = begin(cone_subject(), Complaint::loose);
  std::set<Check> asked;
  for (int k = 0; k < 40; ++k) {
    const auto next = q.next_check();
    if (!next) break;
    EXPECT_TRUE(asked.insert(next->check).second) << word(next->check);
    EXPECT_GT(next->per_minute(), 1);
    // Half of them cannot be done.
    if (k % 2 == 1) {
      q.skip(next->check);
    } else if (is_reading(next->check)) {
      read(q, next->check, next->check == Check::end_play ? 0.12 : 0.0);
    } else {
      ASSERT_TRUE(q.take({next->check, {}, {}, 0}).has_value());
    }
    if (next->check == Check::clean) break;  // what it changes may be asked again
  }
  EXPECT_GE(asked.size(), 3U);
}

TEST(Inquiry, StopsAskingWhenNoCheckIsWorthItsMinutes) {
  Inquiry q = begin(cone_subject(), Complaint::loose);
  say(q, Check::sticks, "free");
  read(q, Check::end_play, 0.14);
  nothing_to_see(q);
  q.skip(Check::end_play);
  const auto next = q.next_check();
  if (next) {
    EXPECT_GT(next->gain, next->minutes);
  }
  // The answers that are left could not change the decision: they are worth next to nothing.
  for (const Worth& w : q.worths()) EXPECT_GE(w.gain, 0);
}

TEST(Inquiry, TheWorthOfACheckIsWhatPerfectNewsWouldSaveAtMost) {
  // The expected loss with all known is a bound for every check (value of perfect information).
  Inquiry q = begin(cone_subject(), Complaint::binds);
  double least = 1e9;
  for (std::size_t k = 0; k < kCureCount; ++k) least = std::min(least, q.loss(static_cast<Cure>(k)));
  EXPECT_DOUBLE_EQ(q.loss(q.best_cure()), least);
  for (const Worth& w : q.worths()) EXPECT_LE(w.gain, least);
}

TEST(Inquiry, TheWorthOfAYesOrNoIsTheOneReckonedByHand) {
  // Two causes, one word: dirt or a loose thread, by whether the screw wobbles. Sizes are settled, so that
  // the chance of a yes is the wrong-answer share of two words without and nearly certain with.
  CausePresets p;
  p.sound_share = p.two_causes = 0;
  p.share = {};
  p.share[static_cast<std::size_t>(Cause::dirt)] = 0.6;
  p.share[static_cast<std::size_t>(Cause::loose_thread)] = 0.4;
  p.thread_slop = {0.05, 1e-9};
  const Inquiry q = begin(cone_subject(), std::nullopt, p, 20000);
  const double wrong = p.wrong_answer / 2;
  const double feels = 0.5 * std::erfc((p.wobble_at - 0.0) / p.wobble_sharpness / std::numbers::sqrt2);
  const double yes_without = (1 - p.wrong_answer) * feels + wrong;
  const double yes_with = 1 - wrong;  // 0.1 mm of slop is 17 sharpnesses past the edge
  // Slop is at the upper end in half of the loose threads.
  const double yes = 0.6 * yes_without + 0.2 * yes_without + 0.2 * yes_with;
  const double thread_yes = 0.2 * yes_without + 0.2 * yes_with;
  const double clean_minutes = p.cure_minutes[1];
  const double thread_minutes = p.cure_minutes[3];
  const auto least = [&](double dirt, double thread) {  // of a part of all keys, the cures' losses
    const double clean = dirt * clean_minutes + thread * (clean_minutes + p.cure_harm[1] + p.put_off);
    const double mend = thread * thread_minutes + dirt * (thread_minutes + p.cure_harm[3] + p.put_off);
    return std::min({clean, mend, (dirt + thread) * p.uncured});
  };
  const double gain = least(0.6, 0.4) - least(yes - thread_yes, thread_yes) -
                      least(0.6 - (yes - thread_yes), 0.4 - thread_yes);
  for (const Worth& w : q.worths()) {
    // 1,024 samples stand for all.
    if (w.check == Check::wobble_upper) {
      EXPECT_NEAR(w.gain, gain, 0.05 * gain + 0.1);
    }
  }
}

TEST(Inquiry, NoCutWhileACheaperCauseIsUncheckedAndUnwaived) {
  Inquiry q = begin(cone_subject(), Complaint::loose);
  say(q, Check::sticks, "free");
  read(q, Check::end_play, 0.15);
  const auto before = q.barriers({});
  std::set<Cause> standing;
  for (const Barrier& b : before) standing.insert(b.cause);
  for (const Cause c : {Cause::screw_off, Cause::loose_thread, Cause::bent_body, Cause::post_moved,
                        Cause::bent_key, Cause::dirt}) {
    EXPECT_TRUE(standing.count(c)) << word(c);
  }
  // Waiving takes one away.
  for (const Barrier& b : q.barriers({Cause::bent_body})) EXPECT_NE(b.cause, Cause::bent_body);
  nothing_to_see(q);
  EXPECT_TRUE(q.barriers({}).empty());
  // A check that was skipped is no check that was done well, but the person knows: its cause stands by share.
  Inquiry other = begin(cone_subject(), Complaint::loose);
  read(other, Check::end_play, 0.15);
  other.skip(Check::stand_off_upper);
  other.skip(Check::stand_off_lower);
  bool stands = false;
  for (const Barrier& b : other.barriers({}))
    stands = stands || (b.cause == Cause::screw_off && b.share > 0.05);
  EXPECT_TRUE(stands);
}

TEST(Inquiry, ABendShowsInSeveralKeysWithASign) {
  const auto key = [](double offset, double end_play) {
    Subject s = cone_subject();
    s.line_offset = millimetres(offset);
    Inquiry q = begin(s, Complaint::loose, {}, 20000);
    read(q, Check::end_play, end_play);
    return q;
  };
  // On the round side (+ offset, bow below 0) keys loosen, on the hollow side they bind.
  const auto heard_by = [&](const std::vector<std::pair<double, double>>& others) {
    Inquiry q = key(9, 0.05);
    Inquiry::BowMessage all;
    all.fill(1);
    for (const auto& [offset, play] : others) {
      const auto said = key(offset, play).say_bow();
      for (std::size_t k = 0; k < all.size(); ++k) all[k] *= said[k];
    }
    q.hear_bow(all);
    return q.share(Cause::bent_body);
  };
  const double alone = heard_by({});
  const double bent = heard_by({{9, 0.052}, {-9, -0.012}, {9, 0.048}});
  const double straight = heard_by({{9, 0.02}, {-9, 0.021}, {9, 0.019}});
  const double against = heard_by({{9, -0.012}, {-9, 0.05}});
  EXPECT_GT(bent, 3 * alone);
  EXPECT_LT(straight, alone);
  // Neighbours that agree on a bend the other way make one likely too, but less than those that explain this
  // key.
  EXPECT_LT(against, bent);
}

TEST(Inquiry, WhatWasHeardIsNotSaidBack) {
  Inquiry q = begin(cone_subject(), Complaint::loose, {}, 20000);
  read(q, Check::end_play, 0.05);
  const auto before = q.say_bow();
  Inquiry::BowMessage message;
  message.fill(1);
  for (std::size_t k = 0; k < 8; ++k) message[k] = 3;
  q.hear_bow(message);
  const auto after = q.say_bow();
  for (std::size_t k = 0; k < before.size(); ++k) EXPECT_NEAR(after[k] / before[k], 1, 0.02) << k;
}

TEST(Inquiry, WhatADocumentSettlesIsCertain) {
  Subject s = cone_subject();
  s.geometry.upper.hole.shape = contact::HoleShape::straight;
  s.known = {Cause::straight_hole};
  const Inquiry q = begin(s, Complaint::loose);
  EXPECT_NEAR(q.share(Cause::straight_hole), 1, 1e-12);
  EXPECT_NEAR(q.causes().front().upper_share, 1, 1e-12);
  Subject none = cone_subject();
  none.excluded = {Cause::climate, Cause::bent_body};
  const Inquiry r = begin(none);
  EXPECT_EQ(r.share(Cause::climate), 0);
  EXPECT_FALSE(r.applies(Cause::bent_body));
}

TEST(Inquiry, WhatTellsTwoCausesApart) {
  Inquiry q = begin(cone_subject(), Complaint::loose);
  say(q, Check::sticks, "free");
  read(q, Check::end_play, 0.02);
  say(q, Check::ink_upper, "rim");
  const auto check = q.telling_apart(Cause::straight_hole, Cause::taper_mismatch);
  ASSERT_TRUE(check.has_value());
  EXPECT_EQ(*check, Check::look_upper);
}

TEST(Inquiry, RefusesWhatCannotBe) {
  Inquiry q = begin(cone_subject());
  const double nan = std::nan("");
  for (const double v : {nan, 1e300, -11.0, HUGE_VAL})
    EXPECT_FALSE(q.take({Check::end_play, millimetres(v), {}, 0}).has_value());
  EXPECT_FALSE(q.take({Check::rock_upper, millimetres(-0.01), {}, 0}).has_value());
  EXPECT_FALSE(q.take({Check::rock_upper, millimetres(0.01), millimetres(nan), 0}).has_value());
  EXPECT_FALSE(q.take({Check::sticks, {}, {}, 3}).has_value());
  EXPECT_FALSE(q.take({Check::bore, millimetres(0.02), {}, 0}).has_value());
  EXPECT_FALSE(q.take({Check::slack_upper, {}, {}, 0}).has_value());
  Subject impossible = cone_subject();
  impossible.geometry.upper.hole.mouth_radius = millimetres(-1);
  EXPECT_FALSE(Inquiry::begin(impossible, {}, std::nullopt, 1).has_value());
}

TEST(Inquiry, AnswersOfAnyKindNeverBreakIt) {
  std::mt19937_64 engine(3);
  const auto unit = [&] { return static_cast<double>(engine() >> 11) * 0x1p-53; };
  for (int run = 0; run < 150; ++run) {
    const Subject subject = run % 3 == 0 ? cone_subject() : run % 3 == 1 ? headless_subject() : rod_subject();
    Inquiry q =
        begin(subject, run % 5 == 4 ? std::nullopt : std::optional(static_cast<Complaint>(run % 4)), {}, 600);
    for (int step = 0; step < 25; ++step) {
      const auto check = static_cast<Check>(engine() % kCheckCount);
      const double size = std::pow(10.0, unit() * 4 - 3) * (unit() < 0.3 ? -1 : 1);
      static_cast<void>(
          q.take({check, millimetres(size), millimetres(unit() < 0.5 ? 0 : std::pow(10.0, unit() * 8 - 7)),
                  static_cast<std::size_t>(engine() % 4)}));
      if (unit() < 0.1) q.treat(static_cast<Cure>(engine() % kCureCount));
      if (unit() < 0.1) q.skip(check);
      double most = 0;
      for (const CauseShare& c : q.causes()) {
        ASSERT_TRUE(std::isfinite(c.share) && c.share >= 0 && c.share <= 1) << word(c.cause);
        ASSERT_TRUE(c.upper_share >= 0 && c.upper_share <= 1);
        most = std::max(most, c.share);
      }
      ASSERT_GT(most, 0.05);
      ASSERT_TRUE(std::isfinite(q.end_play().first) && q.end_play().second >= 0);
      for (const Worth& w : q.worths()) ASSERT_TRUE(std::isfinite(w.gain) && w.gain >= 0);
      ASSERT_TRUE(std::isfinite(q.loss(q.best_cure())));
    }
  }
}

}  // namespace
}  // namespace hingeline::belief
