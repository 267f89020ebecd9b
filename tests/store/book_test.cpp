// The shop's book: the same contract on SQLite and on PostgreSQL.

#include "hingeline/store/book.h"

#include <gtest/gtest.h>

#include <atomic>
#include <thread>

#include "hingeline/store/sha256.h"
#include "store/support.h"

namespace hingeline::store::test {
namespace {

std::vector<Outcome> outcomes(const std::vector<Written>& written) {
  std::vector<Outcome> out;
  for (const Written& w : written) out.push_back(w.outcome);
  return out;
}
using Outcomes = std::vector<Outcome>;

using Books = OnBothBooks;
INSTANTIATE_TEST_SUITE_P(Both, Books, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres), name_of);

TEST_P(Books, KeepsWhatItWasTold) {
  Ids ids;
  const Slip who = slip(ids, owner("Ada Example"));
  const Slip sax = slip(ids, instrument("Old alto", "12 345"), who.id);
  const Slip low_c = slip(ids, key("low-c"), sax.id);
  const Slip in = slip(ids, visit("rattles", "2026-12-01"), sax.id);
  const Slip play = slip(ids, reading("0.085 mm"), in.id, low_c.id);
  const auto written = write({who, sax, low_c, in, play});
  EXPECT_EQ(outcomes(written), Outcomes(5, Outcome::written));
  for (std::size_t n = 0; n < 5; ++n) EXPECT_EQ(written[n].number, static_cast<std::int64_t>(n) + 1);

  // Sent twice it counts once.
  EXPECT_EQ(outcomes(write({play, in})), Outcomes(2, Outcome::already));
  EXPECT_EQ(must(book->counts()).slips, 5);

  const auto thing = must(book->thing(play.id));
  ASSERT_TRUE(thing);
  EXPECT_EQ(thing->now.slip, play);
  EXPECT_EQ(thing->versions, 1);
  EXPECT_FALSE(must(book->thing("nothing")));

  const Slip right = instead(ids, play, reading("0.058 mm"));
  EXPECT_EQ(write({right})[0].thing, play.id);
  EXPECT_EQ(must(book->thing(play.id))->now.slip, right);
  const auto history = must(book->history(play.id));
  ASSERT_EQ(history.size(), 2U);
  EXPECT_EQ(history[0].slip, play);
  EXPECT_EQ(history[1].slip, right);

  EXPECT_EQ(must(book->belonging(in.id, SlipKind::reading, low_c.id)).size(), 1U);
  EXPECT_EQ(must(book->belonging(in.id, SlipKind::note)).size(), 0U);
  EXPECT_EQ(must(book->belonging(sax.id)).size(), 2U);
  write({struck(ids, right)});
  EXPECT_EQ(must(book->belonging(in.id, SlipKind::reading)).size(), 0U);
  EXPECT_TRUE(must(book->thing(play.id))->now.slip.struck);

  const auto later = must(book->after(5));
  ASSERT_EQ(later.size(), 2U);
  EXPECT_EQ(later[0].number, 6);
  EXPECT_EQ(must(book->after(0, 3)).size(), 3U);
  must(book->check());
  // Another connection, and another program, sees all of it.
  EXPECT_EQ(says(*opened(address)), says(*book));
}

TEST_P(Books, ListsAndSearchFollowEveryChange) {
  Ids ids;
  const Slip who = slip(ids, owner("Ada Müller"));
  const Slip sax = slip(ids, instrument("Old alto", "12 345"), who.id);
  const Slip in = slip(ids, visit("rattles", "2026-12-02"), sax.id);
  const Slip again = slip(ids, visit("leaks", "", record::VisitState::in_work), sax.id);
  const Slip other = slip(ids, instrument("Clarinet", "777"));
  const Slip third = slip(ids, visit("squeaks", "2026-12-01"), other.id);
  const Slip low_c = slip(ids, key("low-c"), sax.id);
  const Slip note = slip(ids, record::NoteSlip{"cracked tenon", {}}, third.id);
  const Slip of_owner = slip(ids, record::NoteSlip{"pays promptly", {}}, who.id);
  write({who, sax, in, again, other, third, low_c, note, of_owner});
  const auto found = [&](const std::string& words, VisitQuery query = {}) {
    query.words = words;
    std::vector<std::string> out;
    for (const VisitLine& v : must(book->visits(query))) out.push_back(v.visit);
    return out;
  };
  using Found = std::vector<std::string>;
  // Promised first, then those without a promise.
  EXPECT_EQ(found(""), (Found{third.id, in.id, again.id}));
  EXPECT_EQ(found("MULLER"), (Found{in.id, again.id}));
  EXPECT_EQ(found("ada rat"), (Found{in.id}));
  EXPECT_EQ(found("low-c"), (Found{in.id, again.id}));
  EXPECT_EQ(found("345 leak"), (Found{again.id}));
  EXPECT_EQ(found("tenon"), (Found{third.id}));
  EXPECT_EQ(found("promptly"), (Found{in.id, again.id}));
  EXPECT_EQ(found("enon"), Found{});
  EXPECT_EQ(found("%"), found(""));
  VisitQuery query;
  query.states = {record::VisitState::in_work, record::VisitState::proved};
  EXPECT_EQ(found("", query), (Found{again.id}));
  query = {};
  query.promised_from = "2026-12-02";
  query.promised_to = "2026-12-31";
  EXPECT_EQ(found("", query), (Found{in.id}));
  query = {};
  query.owner = who.id;
  query.most = 1;
  query.from = 1;
  EXPECT_EQ(found("", query), (Found{again.id}));

  // The owner has another name; the instrument goes to somebody else; a note is struck.
  const Slip renamed = instead(ids, who, owner("Bea Example"));
  write({renamed});
  EXPECT_EQ(found("muller"), Found{});
  EXPECT_EQ(found("bea"), (Found{in.id, again.id}));
  EXPECT_EQ(must(book->visits({}))[1].owner_name, "Bea Example");
  const Slip next = slip(ids, owner("Cid"));
  Slip sold = instead(ids, sax, instrument("Old alto", "12 345"));
  sold.of = next.id;
  write({next, sold, struck(ids, note)});
  EXPECT_EQ(found("bea"), Found{});
  EXPECT_EQ(found("promptly"), Found{});
  EXPECT_EQ(found("cid"), (Found{in.id, again.id}));
  EXPECT_EQ(found("tenon"), Found{});
  EXPECT_EQ(must(book->visits({}))[1].owner, next.id);
  write({struck(ids, third)});
  EXPECT_EQ(found("").size(), 2U);
  must(book->check());
}

TEST_P(Books, RefusesWhatCanNeverBeRight) {
  Ids ids;
  const Slip sax = slip(ids, instrument("Alto", "1"));
  const Slip other = slip(ids, instrument("Clarinet", "2"));
  const Slip in = slip(ids, visit("rattles"), sax.id);
  const Slip foreign = slip(ids, key("low-c"), other.id);
  write({sax, other, in, foreign});
  const auto refusal = [&](const Slip& s) {
    const Written w = write({s})[0];
    EXPECT_EQ(w.outcome, Outcome::refused) << word(w.outcome);
    EXPECT_FALSE(w.what.empty());
    return w.refusal;
  };
  Slip changed = in;
  changed.body = visit("leaks");
  EXPECT_EQ(refusal(changed), Refusal::other_words);
  EXPECT_EQ(refusal(slip(ids, visit("x"), in.id)), Refusal::wrong_kind);
  EXPECT_EQ(refusal(slip(ids, reading("1 mm"), in.id, foreign.id)), Refusal::wrong_kind);
  EXPECT_EQ(refusal(slip(ids, reading("1 mm"), in.id, sax.id)), Refusal::wrong_kind);
  Slip by = slip(ids, visit("x"), sax.id);
  by.by = sax.id;
  EXPECT_EQ(refusal(by), Refusal::wrong_kind);
  Slip elsewhere = instead(ids, in, visit("x"));
  elsewhere.of = other.id;
  EXPECT_EQ(refusal(elsewhere), Refusal::wrong_kind);
  Slip kind = instead(ids, in, visit("x"));
  kind.replaces = sax.id;
  EXPECT_EQ(refusal(kind), Refusal::wrong_kind);
  EXPECT_EQ(must(book->counts()).slips, 4);

  // Somebody else was quicker.
  const Slip first = instead(ids, in, visit("first"));
  const Slip second = instead(ids, in, visit("second"));
  write({first});
  EXPECT_EQ(write({second}, {.must_be_current = true})[0].refusal, Refusal::overtaken);
  // One that was written without knowing of the other is kept; the later id counts, and it shows.
  write({second});
  const auto thing = must(book->thing(in.id));
  EXPECT_TRUE(thing->parted);
  EXPECT_EQ(thing->now.slip, second);
  // Who settles it replaces the one that counts.
  const Slip settled = instead(ids, second, visit("settled"));
  write({settled}, {.must_be_current = true});
  EXPECT_EQ(must(book->thing(in.id))->now.slip, settled);

  // All or none.
  const auto all = write({slip(ids, owner("New")), slip(ids, visit("x"), in.id)}, {.all_or_none = true});
  EXPECT_EQ(all.size(), 2U);
  EXPECT_EQ(outcomes(all), Outcomes(2, Outcome::refused));
  EXPECT_EQ(must(book->all_of(SlipKind::owner)).size(), 0U);
}

TEST_P(Books, WhatNamesWhatIsNotThereWaitsForIt) {
  Ids ids;
  const Slip who = slip(ids, owner("Ada"));
  const Slip sax = slip(ids, instrument("Alto", "1"), who.id);
  const Slip in = slip(ids, visit("rattles"), sax.id);
  const Slip changed = instead(ids, in, visit("leaks"));
  EXPECT_EQ(outcomes(write({changed, in, sax})), Outcomes(3, Outcome::waiting));
  EXPECT_EQ(outcomes(write({changed})), Outcomes{Outcome::waiting});
  EXPECT_EQ(must(book->counts()).waiting, 3);
  EXPECT_TRUE(must(book->visits({})).empty());
  EXPECT_EQ(outcomes(write({who})), Outcomes{Outcome::written});
  EXPECT_EQ(must(book->counts()).waiting, 0);
  EXPECT_EQ(must(book->counts()).slips, 4);
  EXPECT_EQ(must(book->visits({}))[0].complaint, "leaks");
  EXPECT_EQ(outcomes(write({changed})), Outcomes{Outcome::already});
  // One that waited for something of the wrong kind is kept, and told to be refused.
  Ids more;
  for (int n = 0; n < 100; ++n) more.next();
  const Slip late = slip(more, owner("Late"));
  const Slip wrong = slip(more, visit("of an owner"), late.id);
  write({wrong});
  write({late});
  EXPECT_EQ(write({wrong})[0].refusal, Refusal::wrong_kind);
  EXPECT_EQ(must(book->counts()).waiting, 1);
  must(book->check());
}

TEST_P(Books, AnyOrderSaysTheSameInTheEnd) {
  for (const std::uint64_t seed : {1U, 2U, 3U}) {
    const std::vector<Slip> slips = made_shop(seed, 300);
    auto in_order = opened(fresh());
    must(in_order->write(slips));
    const auto expected = says(*in_order);
    EXPECT_EQ(must(in_order->counts()).waiting, 0);
    must(in_order->check());
    for (int shuffle = 0; shuffle < 3; ++shuffle) {
      std::vector<Slip> shuffled = slips;
      // Some sent twice.
      shuffled.insert(shuffled.end(), slips.begin(), slips.begin() + 50);
      std::mt19937_64 engine(seed * 100 + static_cast<std::uint64_t>(shuffle));
      std::shuffle(shuffled.begin(), shuffled.end(), engine);
      auto other = opened(fresh());
      for (std::size_t at = 0; at < shuffled.size();) {
        const std::size_t size = std::min<std::size_t>(1 + engine() % 40, shuffled.size() - at);
        must(other->write({shuffled.begin() + static_cast<std::ptrdiff_t>(at),
                           shuffled.begin() + static_cast<std::ptrdiff_t>(at + size)}));
        at += size;
      }
      EXPECT_EQ(must(other->counts()).slips, static_cast<std::int64_t>(slips.size()));
      EXPECT_EQ(must(other->counts()).waiting, 0);
      EXPECT_EQ(says(*other), expected) << "seed " << seed << " shuffle " << shuffle;
      must(other->check());
    }
  }
}

TEST_P(Books, ManyWriteAtOnce) {
  constexpr int kWriters = 4;
  constexpr int kEach = 40;
  Ids ids;
  const Slip sax = slip(ids, instrument("Alto", "1"));
  const Slip in = slip(ids, visit("rattles"), sax.id);
  write({sax, in});
  std::vector<std::vector<Slip>> of_each(kWriters);
  for (auto& slips : of_each) {
    for (int n = 0; n < kEach; ++n) slips.push_back(slip(ids, reading("0.1 mm"), in.id));
  }
  std::atomic<int> failed{0};
  std::vector<std::thread> threads;
  for (const auto& slips : of_each) {
    threads.emplace_back([&, &slips = slips] {
      auto own = Book::open(address, {false, std::chrono::seconds(60)});
      for (const Slip& s : slips) {
        const auto written = own ? (*own)->write({s}) : tl::unexpected(own.error());
        if (!written || written->front().outcome != Outcome::written) ++failed;
      }
    });
  }
  for (std::thread& t : threads) t.join();
  EXPECT_EQ(failed, 0);
  const auto all = must(book->after(0, 1000));
  ASSERT_EQ(all.size(), 2U + kWriters * kEach);
  for (std::size_t n = 0; n < all.size(); ++n) EXPECT_EQ(all[n].number, static_cast<std::int64_t>(n) + 1);
  must(book->check());
}

TEST_P(Books, AnOwnerIsForgottenAndTheBenchFiguresStay) {
  Ids ids;
  const Slip who = slip(ids, owner("Ada Example"));
  const Slip renamed = instead(ids, who, owner("Ada Other"), "Ada married");
  const Slip sax = slip(ids, instrument("Alto", "1"), who.id);
  const Slip in = slip(ids, visit("rattles"), sax.id);
  const Slip play = slip(ids, reading("0.085 mm"), in.id);
  write({who, renamed, sax, in, play});
  must(book->forget_owner(who.id));
  for (const Kept& kept : must(book->after(0))) {
    const std::string line = record::write_slip(kept.slip);
    for (const char* word : {"Ada", "555", "married"}) EXPECT_EQ(line.find(word), std::string::npos) << line;
  }
  VisitQuery query;
  query.words = "ada";
  EXPECT_TRUE(must(book->visits(query)).empty());
  EXPECT_EQ(must(book->visits({}))[0].owner_name, "forgotten");
  EXPECT_EQ(must(book->thing(play.id))->now.slip, play);
  // A bench that sends it again does not bring it back.
  EXPECT_EQ(outcomes(write({who, renamed})), Outcomes(2, Outcome::already));
  EXPECT_EQ(std::get<record::OwnerSlip>(must(book->thing(who.id))->now.slip.body).name, "forgotten");
  EXPECT_FALSE(book->forget_owner(sax.id));
  EXPECT_FALSE(book->forget_owner("nobody"));
  must(book->check());
}

TEST_P(Books, ANewerFormIsRefusedWithAClearWord) {
  {
    auto raw = sql::test::opened(address);
    ASSERT_TRUE(raw->run("update meta set value = '99' where name = 'form'"));
  }
  const auto newer = Book::open(address);
  ASSERT_FALSE(newer);
  EXPECT_EQ(newer.error().fault, Fault::version);
  EXPECT_NE(newer.error().what.find("form 99"), std::string::npos);
  {
    auto raw = sql::test::opened(address);
    ASSERT_TRUE(raw->run("update meta set value = 'x' where name = 'form'"));
  }
  EXPECT_EQ(Book::open(address).error().fault, Fault::file);
}

TEST_P(Books, TellsOthersThatThereIsSomethingNew) {
  auto other = opened(address);
  must(other->wait_for_news(std::chrono::milliseconds(0)));
  EXPECT_FALSE(must(other->wait_for_news(std::chrono::milliseconds(50))));
  Ids ids;
  write({slip(ids, owner("Ada"))});
  EXPECT_TRUE(must(other->wait_for_news(std::chrono::seconds(30))));
  EXPECT_EQ(must(other->after(0)).size(), 1U);
}

TEST_P(Books, BytesAreKeptOnce) {
  const sql::Bytes bytes{std::byte{0}, std::byte{255}, std::byte{7}};
  const std::string name = sha256_hex(bytes);
  must(book->keep_bytes(name, bytes));
  must(book->keep_bytes(name, bytes));
  EXPECT_EQ(must(book->bytes_of(name)), bytes);
  // Under another's name they are refused, and so nothing can take its place.
  EXPECT_EQ(book->keep_bytes(name, {std::byte{1}}).error().fault, Fault::content);
  EXPECT_EQ(must(book->bytes_of(name)), bytes);
  EXPECT_FALSE(must(book->bytes_of(std::string(64, 'b'))));
}

TEST(BothBooks, SayTheSameToTheByte) {
  // The same random sequences, refusals and all; what they answer and what they then hold is compared.
  sql::test::TemporaryFolder folder;
  for (std::uint64_t seed = 11; seed < 14; ++seed) {
    auto one = opened({(folder.path() / ("book-" + std::to_string(seed))).string()});
    auto two = opened({support::PostgresServer::shared().fresh_database()});
    std::vector<Slip> slips = made_shop(seed, 250);
    std::mt19937_64 engine(seed);
    std::shuffle(slips.begin(), slips.end(), engine);
    for (Slip s : slips) {
      if (engine() % 10 == 0) s.of = s.of.empty() ? s.of : slips[engine() % slips.size()].id;
      const Writing writing{engine() % 2 == 0, engine() % 3 == 0};
      const auto a = must(one->write({s}, writing));
      const auto b = must(two->write({s}, writing));
      ASSERT_EQ(a.size(), b.size());
      EXPECT_EQ(a[0].outcome, b[0].outcome);
      EXPECT_EQ(a[0].refusal, b[0].refusal);
      EXPECT_EQ(a[0].thing, b[0].thing);
      EXPECT_EQ(a[0].number, b[0].number);
      EXPECT_EQ(a[0].what, b[0].what);
      if (engine() % 40 == 0) {
        const std::string who = slips[engine() % slips.size()].id;
        EXPECT_EQ(one->forget_owner(who).has_value(), two->forget_owner(who).has_value());
      }
    }
    EXPECT_EQ(says(*one), says(*two));
    const auto all = [](Book& book) {
      std::string out;
      for (const Kept& kept : must(book.after(0, 100'000)))
        out += std::to_string(kept.number) + kept.thing + record::write_slip(kept.slip) + '\n';
      return out;
    };
    EXPECT_EQ(all(*one), all(*two));
    EXPECT_GT(all(*one).size(), 10'000U);
    const Counts c = must(one->counts());
    const Counts d = must(two->counts());
    EXPECT_EQ(c.waiting, d.waiting);
    EXPECT_EQ(c.things, d.things);
    must(one->check());
    must(two->check());
  }
}

TEST(Sqlite, ACopyIsABookOfItsOwn) {
  sql::test::TemporaryFolder folder;
  auto book = opened({(folder.path() / "book").string()});
  must(book->write(made_shop(5, 100)));
  must(book->copy_to((folder.path() / "copy").string()));
  auto copy = opened({(folder.path() / "copy").string()});
  EXPECT_EQ(says(*copy), says(*book));
  must(copy->check());
}

TEST(Sqlite, WhatIsNoBookIsRefused) {
  sql::test::TemporaryFolder folder;
  const std::string path = (folder.path() / "text").string();
  std::FILE* file = std::fopen(path.c_str(), "w");
  for (int n = 0; n < 1000; ++n) std::fputs("This is no database.\n", file);
  std::fclose(file);
  EXPECT_EQ(Book::open({path}).error().fault, Fault::file);
  EXPECT_FALSE(Book::open({(folder.path() / "no" / "such").string()}));
}

}  // namespace
}  // namespace hingeline::store::test
