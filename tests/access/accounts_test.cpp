// Who comes in and who does not, on SQLite and on PostgreSQL.

#include "hingeline/access/accounts.h"

#include <gtest/gtest.h>

#include <ctime>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <thread>

#include "access/support.h"

namespace hingeline::access::test {
namespace {

using Words = std::vector<std::string>;

class Passwords : public OnBothBooks {};
HINGELINE_ON_BOTH_BOOKS(Passwords);

TEST_P(Passwords, OpenASessionOrTellNothing) {
  begin_with_ada();
  const Admission in = log_in();
  EXPECT_EQ(in.verdict, Verdict::admitted);
  EXPECT_EQ(in.token.size(), kTokenSize);
  EXPECT_EQ(in.session.person, kAda);
  EXPECT_EQ(in.session.device, "");
  EXPECT_EQ(in.session.means, Means::password);
  const auto session = must(accounts->session(in.token, kNow + 1s));
  ASSERT_TRUE(session);
  EXPECT_EQ(session->person, kAda);
  EXPECT_EQ(session->csrf, in.session.csrf);
  EXPECT_EQ(session->since, kNow);
  EXPECT_EQ(session->last_seen, kNow);
  EXPECT_NE(session->csrf, in.token);
  // Capitals do not matter in the login, but in the password.
  EXPECT_EQ(log_in(kPassword, kNow, "ADA").verdict, Verdict::admitted);
  for (const auto& [login, password] :
       std::vector<std::pair<std::string, std::string>>{{"ada", "cork and felt by Candlelight"},
                                                        {"ada", ""},
                                                        {"ada", kPassword + " "},
                                                        {"ada", kPassword + "\0"s},
                                                        {"nobody", kPassword},
                                                        {"", kPassword},
                                                        {"ada ", kPassword},
                                                        {"' or 1=1 --", kPassword}}) {
    const Admission out = log_in(password, kNow, login);
    EXPECT_EQ(out.verdict, Verdict::wrong) << login;
    EXPECT_EQ(out.token, "");
    EXPECT_EQ(out.session.person, "");
    EXPECT_EQ(out.wait, 0ms);
  }
  EXPECT_EQ(log(), (Words{"ada password-set", "ada log-in", "ada log-in", "ada wrong-password",
                          "ada wrong-password", "ada wrong-password", "ada wrong-password", " wrong-password",
                          " wrong-password", " wrong-password", " wrong-password"}));
}

TEST_P(Passwords, EveryLogInHasATokenOfItsOwn) {
  begin_with_ada();
  std::set<std::string> tokens;
  std::set<std::string> csrf;
  for (int n = 0; n < 20; ++n) {
    const Admission in = log_in();
    tokens.insert(in.token);
    csrf.insert(in.session.csrf);
  }
  EXPECT_EQ(tokens.size(), 20U);
  EXPECT_EQ(csrf.size(), 20U);
  for (const std::string& token : tokens) EXPECT_TRUE(is_open(token));
}

TEST_P(Passwords, AreHeldToTheirRules) {
  const auto set = [&](const std::string& password, const std::string& login = "ada.example") {
    return refusal(accounts->set_password(kAda, login, password, kNow));
  };
  EXPECT_EQ(set("nine char"), "the password is too short");
  EXPECT_EQ(set("ten charac"), "taken");
  EXPECT_EQ(set(std::string(128, 'x').replace(5, 9, "not alike")), "taken");
  EXPECT_EQ(set(std::string(129, 'x').replace(5, 9, "not alike")), "the password is too long");
  // Characters are counted, not bytes.
  EXPECT_EQ(set("äöüßéèêëç"), "the password is too short");
  EXPECT_EQ(set("äöüßéèêëçà"), "taken");
  EXPECT_EQ(set("\xFF\xFE not text"), "the password is no text");
  for (const char* easy :
       {"password12", "1234567890", "0987654321", "aaaaaaaaaaaa", "abababababab", "abcdefghij",
        "Password!2026", "QWERTYUIOP", "2026saxophone", "ééééééééééé", "12341234123412", "hingeline1"})
    EXPECT_EQ(set(easy), "the password is easily guessed") << easy;
  for (const char* own : {"ada.example", "Ada.Example1", "ada.exampleada.example"})
    EXPECT_EQ(set(own), "the password is the name") << own;
  EXPECT_EQ(set("never the ada.example again"), "taken");
  EXPECT_EQ(set("my saxophone sleeps"), "taken");
  for (const std::string& login : {""s, " ada"s, "ada "s, "a\nb"s, std::string(65, 'x'), "\xC3"s, "a\0b"s})
    EXPECT_EQ(set(kPassword, login), "nobody can log in with this name");
  EXPECT_EQ(set(kPassword, "Ädä Beispiel"), "taken");
  EXPECT_EQ(refusal(accounts->set_password("", "x", kPassword, kNow)), "nobody is named");
  // Two persons cannot have one name.
  EXPECT_EQ(set(kPassword, "ada"), "taken");
  EXPECT_EQ(refusal(accounts->set_password(kBea, "ADA", kPassword, kNow)),
            "somebody else logs in with this name");
  EXPECT_EQ(log_in().session.person, kAda);
  // A new name: the old one opens nothing, and is free.
  EXPECT_EQ(set(kPassword, "ada2"), "taken");
  EXPECT_EQ(log_in().verdict, Verdict::wrong);
  EXPECT_EQ(refusal(accounts->set_password(kBea, "ada", kPassword, kNow)), "taken");
}

TEST_P(Passwords, AChangedOneEndsAllOtherSessions) {
  begin_with_ada();
  must(accounts->set_password(kBea, "bea", kPassword + "!", kNow));
  const std::string mine = log_in().token;
  const std::string other = log_in().token;
  const std::string beas = log_in(kPassword + "!", kNow, "bea").token;
  const std::string fresh = "pads and springs at noon";
  must(accounts->set_password(kAda, "ada", fresh, kNow, mine));
  EXPECT_TRUE(is_open(mine));
  EXPECT_FALSE(is_open(other));
  EXPECT_TRUE(is_open(beas));
  EXPECT_EQ(log_in().verdict, Verdict::wrong);
  EXPECT_EQ(log_in(fresh).verdict, Verdict::admitted);
  must(accounts->set_password(kAda, "ada", kPassword, kNow));
  EXPECT_FALSE(is_open(mine));
  // Somebody else's token keeps nothing of theirs open, and is not ended.
  const std::string again = log_in().token;
  must(accounts->set_password(kAda, "ada", fresh, kNow, beas));
  EXPECT_FALSE(is_open(again));
  EXPECT_TRUE(is_open(beas));
}

TEST_P(Passwords, WrongOnesMakeTheNextWait) {
  begin_with_ada();
  const Rules rules = cheap();
  Milliseconds now = kNow;
  // Alike for a login that is there and one that is not.
  for (const std::string& login : {"ada"s, "nobody"s}) {
    const std::string peer = login == "ada" ? kPeer : "192.0.2.8";
    now = kNow;
    for (int n = 0; n < rules.tries; ++n)
      EXPECT_EQ(log_in("wrong", now, login, "", peer).verdict, Verdict::wrong) << n;
    Milliseconds delay = rules.first_delay;
    for (int n = 0; n < 12; ++n) {
      // To the millisecond; and asking meanwhile makes it no longer.
      const Admission early = log_in(kPassword, now + delay - 1ms, login, "", peer);
      EXPECT_EQ(early.verdict, Verdict::wait);
      EXPECT_EQ(early.wait, 1ms);
      EXPECT_EQ(log_in(kPassword, now, login, "", peer).wait, delay);
      now += delay;
      EXPECT_EQ(log_in("wrong", now, login, "", peer).verdict, Verdict::wrong) << n;
      delay = std::min(delay * 2, rules.longest_delay);
    }
    EXPECT_EQ(delay, rules.longest_delay);
  }
  // From anywhere else, too: it is the login that is guessed at.
  EXPECT_EQ(log_in(kPassword, now, "ada", "", "198.51.100.1").verdict, Verdict::wait);
  // A right one begins anew.
  now += rules.longest_delay;
  EXPECT_EQ(log_in(kPassword, now, "ada", "", "198.51.100.1").verdict, Verdict::admitted);
  for (int n = 0; n < rules.tries; ++n)
    EXPECT_EQ(log_in("wrong", now, "ada", "", "198.51.100.1").verdict, Verdict::wrong);
  EXPECT_EQ(log_in(kPassword, now, "ada", "", "198.51.100.1").verdict, Verdict::wait);
  // And so does a day.
  EXPECT_EQ(log_in("wrong", now + rules.tries_forgotten_after, "ada", "", "198.51.100.1").verdict,
            Verdict::wrong);
  EXPECT_EQ(log_in(kPassword, now + rules.tries_forgotten_after, "ada", "", "198.51.100.1").verdict,
            Verdict::admitted);
  const Words said = log();
  EXPECT_EQ(std::count(said.begin(), said.end(), "ada slowed"), 2);
}

TEST_P(Passwords, AddressesAreCountedToo) {
  begin_with_ada();
  const int tries = cheap().peer_tries;
  // Each at another login, so only the address is the same; IPv6 counts by its first 64 bits.
  for (int n = 0; n < tries; ++n) {
    const std::string peer = "2001:db8:0:1::" + std::to_string(n + 1);
    EXPECT_EQ(log_in("wrong", kNow, "nobody" + std::to_string(n), "", peer).verdict, Verdict::wrong);
  }
  EXPECT_EQ(log_in(kPassword, kNow, "ada", "", "2001:db8:0:1:ffff::1").verdict, Verdict::wait);
  EXPECT_EQ(log_in(kPassword, kNow, "ada", "", "2001:db8:0:2::1").verdict, Verdict::admitted);
  // Who has a password of their own does not begin anew by it.
  const std::string peer = "192.0.2.9";
  for (int n = 0; n < tries; ++n) {
    EXPECT_EQ(log_in(kPassword, kNow, "ada", "", peer).verdict, Verdict::admitted);
    EXPECT_EQ(log_in("wrong", kNow, "other" + std::to_string(n), "", peer).verdict, Verdict::wrong);
  }
  EXPECT_EQ(log_in(kPassword, kNow, "ada", "", peer).verdict, Verdict::wait);
  // The same machine by its other way of writing.
  EXPECT_EQ(log_in(kPassword, kNow, "ada", "", "::ffff:192.0.2.9").verdict, Verdict::wait);
  EXPECT_EQ(log_in(kPassword, kNow, "ada", "", "192.0.2.10").verdict, Verdict::admitted);
}

TEST_P(Passwords, GuessingFromElsewhereKeepsNobodyOutAtTheBench) {
  begin_with_ada();
  const std::string bench = must(accounts->enrol("Bench 1", kAda, kNow)).token;
  for (int n = 0; n < cheap().tries; ++n) log_in("wrong", kNow, "ada", "", "203.0.113.5");
  EXPECT_EQ(log_in(kPassword, kNow, "ada", "", "203.0.113.5").verdict, Verdict::wait);
  EXPECT_EQ(log_in(kPassword, kNow, "ada", bench).verdict, Verdict::admitted);
  // A token that is made up counts as none.
  EXPECT_EQ(log_in(kPassword, kNow, "ada", random_token()).verdict, Verdict::wait);
  // And at the bench they are counted as well.
  for (int n = 0; n < cheap().tries; ++n)
    EXPECT_EQ(log_in("wrong", kNow, "ada", bench).verdict, Verdict::wrong);
  EXPECT_EQ(log_in(kPassword, kNow, "ada", bench).verdict, Verdict::wait);
}

TEST_P(Passwords, CountersAreBounded) {
  Rules rules = cheap();
  rules.most_counters = 10;
  accounts = opened(rules);
  for (int n = 0; n < 30; ++n)
    log_in("wrong", kNow + Milliseconds(n), "nobody" + std::to_string(n), "",
           "198.51.100." + std::to_string(n));
  auto database = sql::test::opened(address);
  EXPECT_EQ(sql::test::whole(*database, "select count(*) from access_tries"), 10);
  EXPECT_EQ(sql::test::whole(*database, "select min(last) from access_tries"), (kNow + 25ms).count());
  // What is forgotten is not kept either.
  log_in("wrong", kNow + rules.tries_forgotten_after + 1h, "nobody", "", kPeer);
  EXPECT_EQ(sql::test::whole(*database, "select count(*) from access_tries"), 2);
}

TEST_P(Passwords, AreKeptAnewWhenTheCostRises) {
  begin_with_ada();
  auto database = sql::test::opened(address);
  const auto kept = [&] {
    return std::get<std::string>(sql::test::rows(*database, "select hash from access_password")[0][0]);
  };
  EXPECT_EQ(kept().find("$argon2id$v=19$m=8,t=1,p=1$"), 0U) << kept();
  Rules dearer = cheap();
  dearer.cost = {2, 64U << 10U};
  accounts = opened(dearer);
  EXPECT_EQ(log_in("wrong").verdict, Verdict::wrong);
  EXPECT_EQ(kept().find("$argon2id$v=19$m=8,t=1,p=1$"), 0U);
  EXPECT_EQ(log_in().verdict, Verdict::admitted);
  const std::string anew = kept();
  EXPECT_EQ(anew.find("$argon2id$v=19$m=64,t=2,p=1$"), 0U) << anew;
  EXPECT_EQ(log_in().verdict, Verdict::admitted);
  EXPECT_EQ(kept(), anew);
  // PINs too.
  const std::string bench = must(accounts->enrol("Bench", kAda, kNow)).token;
  must(opened()->set_pin(kAda, "2749", kNow));
  EXPECT_EQ(pin_in("2749", bench).verdict, Verdict::admitted);
  EXPECT_EQ(std::get<std::string>(sql::test::rows(*database, "select hash from access_pin")[0][0])
                .find("$argon2id$v=19$m=64,t=2,p=1$"),
            0U);
  EXPECT_EQ(pin_in("2749", bench).verdict, Verdict::admitted);
}

TEST_P(Passwords, LookingAtALoginThatIsNotThereTakesAsLong) {
  Rules rules = cheap();
  rules.cost = {3, 16U << 20U};
  rules.tries = 1000;
  rules.peer_tries = 1000;
  accounts = opened(rules);
  begin_with_ada();
  must(accounts->set_pin(kAda, "2749", kNow));
  const std::string bench = must(accounts->enrol("Bench", kAda, kNow)).token;
  // Time of this thread's own processor, so that others on the machine do not matter; the least of a few.
  const auto least = [](const auto& work) {
    std::int64_t out = INT64_MAX;
    for (int n = 0; n < 4; ++n) {
      timespec from{};
      timespec to{};
      clock_gettime(CLOCK_THREAD_CPUTIME_ID, &from);
      work();
      clock_gettime(CLOCK_THREAD_CPUTIME_ID, &to);
      out = std::min<std::int64_t>(
          out, (to.tv_sec - from.tv_sec) * 1'000'000 + (to.tv_nsec - from.tv_nsec) / 1000);
    }
    return out;
  };
  const std::int64_t there = least([&] { log_in("wrong"); });
  const std::int64_t not_there = least([&] { log_in("wrong", kNow, "nobody"); });
  const std::int64_t pin_there = least([&] { pin_in("1111", bench); });
  const std::int64_t pin_not_there = least([&] { pin_in("1111", bench, kNow, kBea); });
  EXPECT_GT(there, 5'000);  // µs: the looking is what takes long
  EXPECT_LT(std::abs(there - not_there), there / 3) << there << " and " << not_there;
  EXPECT_LT(std::abs(pin_there - pin_not_there), pin_there / 3) << pin_there << " and " << pin_not_there;
}

TEST_P(Passwords, CanBeAskedForOnceMore) {
  begin_with_ada();
  const std::string token = log_in().token;
  const auto ask = [&](const std::string& t, const std::string& password) {
    return must(accounts->confirm(t, password, kPeer, kNow));
  };
  EXPECT_EQ(ask(token, kPassword), Verdict::admitted);
  EXPECT_EQ(ask(token, "wrong"), Verdict::wrong);
  EXPECT_EQ(ask(random_token(), kPassword), Verdict::wrong);
  EXPECT_EQ(ask("", kPassword), Verdict::wrong);
  for (int n = 1; n < cheap().tries; ++n) EXPECT_EQ(ask(token, "wrong"), Verdict::wrong);
  EXPECT_EQ(ask(token, kPassword), Verdict::wait);
  // Who only came in by PIN has none to ask for.
  const std::string bench = must(accounts->enrol("Bench", kAda, kNow)).token;
  must(accounts->set_pin(kBea, "2749", kNow));
  EXPECT_EQ(ask(pin_in("2749", bench, kNow, kBea).token, "x"), Verdict::wrong);
}

class Pins : public OnBothBooks {};
HINGELINE_ON_BOTH_BOOKS(Pins);

TEST_P(Pins, OpenOnEnrolledDevicesOnly) {
  begin_with_ada();
  must(accounts->set_pin(kAda, "2749", kNow));
  const Enrolled bench = must(accounts->enrol("Bench by the window", kAda, kNow));
  EXPECT_EQ(bench.token.size(), kTokenSize);
  const Admission in = pin_in("2749", bench.token);
  EXPECT_EQ(in.verdict, Verdict::admitted);
  EXPECT_EQ(in.session.device, bench.device.id);
  EXPECT_EQ(in.session.means, Means::pin);
  EXPECT_EQ(must(accounts->session(in.token, kNow))->means, Means::pin);
  EXPECT_EQ(pin_in("2748", bench.token).verdict, Verdict::wrong);
  EXPECT_EQ(pin_in("2749", bench.token, kNow, kBea).verdict, Verdict::wrong);
  for (const std::string& token :
       {""s, random_token(), bench.device.id, bench.token.substr(1), bench.token + "A"})
    EXPECT_EQ(pin_in("2749", token).verdict, Verdict::not_enrolled);
  // Withdrawn: nothing opens there any more, and what was open is closed. What is open elsewhere stays.
  const std::string by_password = log_in(kPassword, kNow, "ada", bench.token).token;
  const std::string elsewhere = log_in().token;
  EXPECT_EQ(must(accounts->session(by_password, kNow))->device, bench.device.id);
  EXPECT_EQ(refusal(accounts->withdraw("other", kAda, kNow)), "there is no such device");
  must(accounts->withdraw(bench.device.id, kAda, kNow));
  EXPECT_EQ(pin_in("2749", bench.token).verdict, Verdict::not_enrolled);
  EXPECT_FALSE(is_open(in.token));
  EXPECT_FALSE(is_open(by_password));
  EXPECT_TRUE(is_open(elsewhere));
  EXPECT_FALSE(must(accounts->device(bench.token)));
  EXPECT_EQ(refusal(accounts->withdraw(bench.device.id, kAda, kNow)), "there is no such device");
  EXPECT_EQ(log_in(kPassword, kNow, "ada", bench.token).session.device, "");
}

TEST_P(Pins, DevicesAreListedWithoutTheirTokens) {
  EXPECT_TRUE(must(accounts->devices()).empty());
  const Enrolled one = must(accounts->enrol("Bench 1", kAda, kNow));
  const Enrolled two = must(accounts->enrol("Bänk 2", kBea, kNow + 1ms));
  const auto all = must(accounts->devices());
  ASSERT_EQ(all.size(), 2U);
  EXPECT_EQ(all[0].id, one.device.id);
  EXPECT_EQ(all[0].name, "Bench 1");
  EXPECT_EQ(all[0].by, kAda);
  EXPECT_EQ(all[0].since, kNow);
  EXPECT_EQ(all[1].name, "Bänk 2");
  EXPECT_EQ(must(accounts->device(two.token))->id, two.device.id);
  EXPECT_FALSE(must(accounts->device(one.device.id)));
  for (const std::string& name : {""s, " x"s, "a\tb"s, std::string(81, 'x'), "\xE4"s})
    EXPECT_EQ(refusal(accounts->enrol(name, kAda, kNow)), "a device cannot have this name");
  must(accounts->withdraw(one.device.id, kBea, kNow));
  EXPECT_EQ(log(), (Words{"ada enrolled", "bea enrolled", "bea withdrawn"}));
}

TEST_P(Pins, AreHeldToTheirRules) {
  const auto set = [&](const std::string& pin) { return refusal(accounts->set_pin(kAda, pin, kNow)); };
  for (const std::string& pin : {""s, "274"s, "274927492"s, "27a9"s, " 2749"s, "२७४९"s, "27\0009"s})
    EXPECT_EQ(set(pin), "this is no PIN") << pin;
  for (const char* pin : {"0000", "1111", "1234", "4321", "7890", "98765432", "0987"})
    EXPECT_EQ(set(pin), "the PIN is easily guessed") << pin;
  EXPECT_EQ(set("2749"), "taken");
  EXPECT_EQ(set("27492749"), "taken");
}

TEST_P(Pins, AreLockedUntilAPassword) {
  begin_with_ada();
  must(accounts->set_pin(kAda, "2749", kNow));
  must(accounts->set_pin(kBea, "8306", kNow));
  const std::string one = must(accounts->enrol("Bench 1", kAda, kNow)).token;
  const std::string two = must(accounts->enrol("Bench 2", kAda, kNow)).token;
  const int tries = cheap().pin_tries;
  // A right one in between begins anew.
  for (int n = 1; n < tries; ++n) EXPECT_EQ(pin_in("0001", one).verdict, Verdict::wrong);
  EXPECT_EQ(pin_in("2749", two).verdict, Verdict::admitted);
  // On whichever device.
  for (int n = 0; n < tries; ++n) EXPECT_EQ(pin_in("0001", n % 2 == 0 ? one : two).verdict, Verdict::wrong);
  EXPECT_EQ(pin_in("2749", one).verdict, Verdict::pin_locked);
  EXPECT_EQ(pin_in("2749", two, kNow + 24h * 365).verdict, Verdict::pin_locked);
  EXPECT_EQ(must(accounts->accounts())[0].pin_locked, true);
  EXPECT_EQ(pin_in("8306", one, kNow, kBea).verdict, Verdict::admitted);
  EXPECT_EQ(log_in("wrong").verdict, Verdict::wrong);
  EXPECT_EQ(pin_in("2749", one).verdict, Verdict::pin_locked);
  EXPECT_EQ(log_in().verdict, Verdict::admitted);
  EXPECT_EQ(pin_in("2749", one).verdict, Verdict::admitted);
  const Words said = log();
  EXPECT_EQ(std::count(said.begin(), said.end(), "ada pin-locked"), 1);
}

TEST_P(Pins, GuessesAtADeviceAreCountedWhoeverTheyAreAt) {
  Rules rules = cheap();
  rules.peer_tries = 6;
  accounts = opened(rules);
  const Enrolled bench = must(accounts->enrol("Bench", kAda, kNow));
  for (int n = 0; n < 6; ++n) {
    EXPECT_EQ(
        must(accounts->by_pin(
                 {"nobody" + std::to_string(n), "2749", "192.0.2." + std::to_string(n), bench.token}, kNow))
            .verdict,
        Verdict::wrong);
  }
  const Admission out = must(accounts->by_pin({kAda, "2749", "198.51.100.3", bench.token}, kNow));
  EXPECT_EQ(out.verdict, Verdict::wait);
  EXPECT_EQ(out.wait, rules.first_delay);
}

class Sessions : public OnBothBooks {};
HINGELINE_ON_BOTH_BOOKS(Sessions);

TEST_P(Sessions, EndAtTheMillisecond) {
  begin_with_ada();
  const Rules rules = cheap();
  const std::string idle = log_in().token;
  // Looking does not write within a minute, and so does not make it longer.
  EXPECT_EQ(must(accounts->session(idle, kNow + rules.renewed_every - 1ms))->last_seen, kNow);
  EXPECT_TRUE(is_open(idle, kNow + rules.idle - 1ms));  // and renews it
  EXPECT_FALSE(is_open(idle, kNow + rules.idle - 1ms + rules.idle));
  EXPECT_TRUE(is_open(idle, kNow + rules.idle - 1ms + rules.idle - 1ms));
  const std::string left = log_in().token;
  EXPECT_EQ(must(accounts->session(left, kNow + rules.renewed_every))->last_seen, kNow + rules.renewed_every);
  EXPECT_FALSE(is_open(left, kNow + rules.renewed_every + rules.idle));
  // Used all the time it ends all the same.
  const std::string used = log_in().token;
  for (Milliseconds now = kNow; now < kNow + rules.longest_session; now += 1h)
    EXPECT_TRUE(is_open(used, now));
  EXPECT_TRUE(is_open(used, kNow + rules.longest_session - 1ms));
  EXPECT_FALSE(is_open(used, kNow + rules.longest_session));
}

TEST_P(Sessions, AreRenewedOnceAMinute) {
  begin_with_ada();
  const std::string token = log_in().token;
  auto database = sql::test::opened(address);
  const auto seen = [&] {
    return sql::test::whole(*database, "select last_seen from access_session") - kNow.count();
  };
  EXPECT_TRUE(is_open(token, kNow + 59'999ms));
  EXPECT_EQ(seen(), 0);
  EXPECT_TRUE(is_open(token, kNow + 60'000ms));
  EXPECT_EQ(seen(), 60'000);
  // Another server's clock, a little behind: what was seen stays seen.
  EXPECT_TRUE(is_open(token, kNow + 30'000ms));
  EXPECT_EQ(seen(), 60'000);
  EXPECT_TRUE(is_open(token, kNow + 120'000ms));
  EXPECT_EQ(seen(), 120'000);
}

TEST_P(Sessions, EndOneByOneOrAllOfAPerson) {
  begin_with_ada();
  must(accounts->set_password(kBea, "bea", kPassword, kNow));
  must(accounts->set_pin(kAda, "2749", kNow));
  const std::string one = log_in().token;
  const std::string two = log_in().token;
  const std::string three = log_in().token;
  const std::string beas = log_in(kPassword, kNow, "bea").token;
  must(accounts->end(one, kNow));
  must(accounts->end(one, kNow));
  must(accounts->end("nothing", kNow));
  EXPECT_FALSE(is_open(one));
  EXPECT_TRUE(is_open(two));
  must(accounts->end_all(kAda, kNow));
  EXPECT_FALSE(is_open(two));
  EXPECT_FALSE(is_open(three));
  EXPECT_TRUE(is_open(beas));
  const Words said = log();
  EXPECT_EQ(std::count(said.begin(), said.end(), "ada log-out"), 1);
  EXPECT_EQ(std::count(said.begin(), said.end(), "ada all-ended"), 1);
  const auto account = must(accounts->accounts());
  ASSERT_EQ(account.size(), 2U);
  EXPECT_EQ(account[0].person, kAda);
  EXPECT_EQ(account[0].login, "ada");
  EXPECT_TRUE(account[0].pin);
  EXPECT_FALSE(account[0].pin_locked);
  EXPECT_FALSE(account[1].pin);
  // Who has gone has nothing left.
  const std::string bench = must(accounts->enrol("Bench", kBea, kNow)).token;
  const std::string last = log_in().token;
  must(accounts->remove(kAda, kNow));
  EXPECT_FALSE(is_open(last));
  EXPECT_EQ(log_in().verdict, Verdict::wrong);
  EXPECT_EQ(pin_in("2749", bench).verdict, Verdict::wrong);
  EXPECT_EQ(must(accounts->accounts()).size(), 1U);
}

TEST_P(Sessions, AreBounded) {
  Rules rules = cheap();
  rules.most_sessions = 3;
  rules.most_log_lines = 5;
  accounts = opened(rules);
  begin_with_ada();
  std::vector<std::string> tokens;
  for (int n = 0; n < 5; ++n) tokens.push_back(log_in(kPassword, kNow + Milliseconds(n)).token);
  for (std::size_t n = 0; n < 5; ++n) EXPECT_EQ(is_open(tokens[n]), n >= 2) << n;
  EXPECT_EQ(log(), Words(5, "ada log-in"));
  EXPECT_EQ(must(accounts->log(2)).size(), 2U);
  EXPECT_EQ(must(accounts->log(1))[0].at, kNow + 4ms);
  // Those that are over do not lie about.
  log_in(kPassword, kNow + rules.longest_session);
  auto database = sql::test::opened(address);
  EXPECT_EQ(sql::test::whole(*database, "select count(*) from access_session"), 1);
}

TEST_P(Sessions, ATokenThatIsNoneIsNothing) {
  begin_with_ada();
  const std::string token = log_in().token;
  std::string other = token;
  other[0] = other[0] == 'A' ? 'B' : 'A';
  for (const std::string& t : {""s, "x"s, other, token + "A", token.substr(1), std::string(100'000, 'A'),
                               std::string(43, '\0'), std::string(43, '\xFF')})
    EXPECT_FALSE(is_open(t));
}

class Copies : public OnBothBooks {};
HINGELINE_ON_BOTH_BOOKS(Copies);

/// Every text that stands in any column of any table.
std::vector<std::string> all_texts(const sql::Address& address) {
  auto database = sql::test::opened(address);
  const bool postgres = address.dialect() == sql::Dialect::postgres;
  std::vector<std::string> out;
  std::size_t tables = 0;
  for (const sql::Row& table : sql::test::rows(
           *database,
           postgres ? "select cast(table_name as text) from information_schema.tables where table_schema = "
                      "current_schema()"
                    : "select name from sqlite_master where type = 'table'")) {
    ++tables;
    for (const sql::Row& row :
         sql::test::rows(*database, "select * from " + std::get<std::string>(table[0]))) {
      for (const sql::Cell& cell : row) {
        if (const auto* text = std::get_if<std::string>(&cell)) out.push_back(*text);
        if (const auto* bytes = std::get_if<sql::Bytes>(&cell))
          out.emplace_back(reinterpret_cast<const char*>(bytes->data()), bytes->size());
      }
    }
  }
  EXPECT_GT(tables, 10U);
  return out;
}

TEST_P(Copies, OfTheDatabaseOpenNothing) {
  begin_with_ada();
  must(accounts->set_pin(kAda, "2749", kNow));
  const Enrolled bench = must(accounts->enrol("Bench", kAda, kNow));
  const Admission by_password = log_in(kPassword, kNow, "ada", bench.token);
  const Admission by_pin = pin_in("2749", bench.token);
  log_in("not the password", kNow, "ada", bench.token);
  pin_in("6158", bench.token);
  const Words secrets{bench.token,
                      by_password.token,
                      by_pin.token,
                      by_password.session.csrf,
                      by_pin.session.csrf,
                      kPassword,
                      "not the password",
                      "2749",
                      "6158",
                      kPeer};
  const std::vector<std::string> texts = all_texts(address);
  for (const std::string& text : texts) {
    for (const std::string& secret : secrets) {
      // Four digits may stand in a hash by chance.
      if (secret.size() == 4 && text != secret) continue;
      EXPECT_EQ(text.find(secret), std::string::npos) << secret << " stands in " << text;
    }
    // And nothing that stands there is taken for one of them.
    EXPECT_FALSE(is_open(text)) << text;
    EXPECT_FALSE(must(accounts->device(text))) << text;
    EXPECT_EQ(pin_in("2749", text).verdict, Verdict::not_enrolled);
  }
  EXPECT_GT(texts.size(), 30U);
  if (GetParam() == sql::Dialect::sqlite) {
    // Nor in what the file holds besides its tables.
    for (const char* ending : {"", "-wal"}) {
      std::ifstream file(address.text + ending, std::ios::binary);
      std::ostringstream bytes;
      bytes << file.rdbuf();
      for (const std::string& secret : secrets) {
        if (secret.size() == 4) continue;
        EXPECT_EQ(bytes.str().find(secret), std::string::npos) << secret;
      }
    }
  }
}

TEST_P(Copies, ABookOfTheFirstFormGetsItsAccounts) {
  accounts.reset();
  {
    auto database = sql::test::opened(address);
    for (const char* table : {"password", "pin", "device", "session", "tries", "log"})
      sql::test::rows(*database, "drop table access_"s + table);
    for (const char* index : {"visit_due", "visit_state_due"})
      sql::test::rows(*database, "drop index "s + index);
    sql::test::rows(*database, "update meta set value = '1' where name = 'form'");
  }
  const auto none = Accounts::open(address, cheap());
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().fault, Fault::version);
  EXPECT_EQ(none.error().what, "this book has no accounts yet");
  must(must(store::Book::open(address))->check());
  accounts = opened();
  begin_with_ada();
  EXPECT_EQ(log_in().verdict, Verdict::admitted);
}

class Races : public OnBothBooks {};
HINGELINE_ON_BOTH_BOOKS(Races);

/// Runs `work` on several connections at once, as server processes would.
template <class Work>
std::map<Verdict, int> at_once(const std::vector<std::unique_ptr<Accounts>>& connections, int times,
                               const Work& work) {
  std::vector<std::map<Verdict, int>> counts(connections.size());
  std::vector<std::thread> threads;
  for (std::size_t n = 0; n < connections.size(); ++n) {
    threads.emplace_back([&, n] {
      for (int k = 0; k < times; ++k) {
        const auto out = work(*connections[n]);
        if (out) ++counts[n][out->verdict];
      }
    });
  }
  for (std::thread& t : threads) t.join();
  std::map<Verdict, int> sum;
  for (const auto& one : counts) {
    for (const auto& [verdict, count] : one) sum[verdict] += count;
  }
  return sum;
}

TEST_P(Races, GuessesAtOnceAreNoMoreThanGuessesInTurn) {
  // Slow enough that they overlap.
  Rules rules = cheap();
  rules.cost = {1, 1U << 20U};
  accounts = opened(rules);
  begin_with_ada();
  must(accounts->set_pin(kAda, "2749", kNow));
  const std::string bench = must(accounts->enrol("Bench", kAda, kNow)).token;
  std::vector<std::unique_ptr<Accounts>> connections;
  for (int n = 0; n < 4; ++n) connections.push_back(opened(rules));
  const auto passwords = at_once(connections, 10, [&](Accounts& a) {
    return a.by_password({"ada", "wrong", kPeer, ""}, kNow);
  });
  EXPECT_EQ(passwords,
            (std::map<Verdict, int>{{Verdict::wrong, rules.tries}, {Verdict::wait, 40 - rules.tries}}));
  const auto pins = at_once(connections, 10, [&](Accounts& a) {
    return a.by_pin({kAda, "0001", "192.0.2.99", bench}, kNow);
  });
  EXPECT_EQ(pins, (std::map<Verdict, int>{{Verdict::wrong, rules.pin_tries},
                                          {Verdict::pin_locked, 40 - rules.pin_tries}}));
  // Right ones do not hinder one another, and no try is left over.
  const auto right = at_once(connections, 10, [&](Accounts& a) {
    return a.by_password({"ada", kPassword, kPeer, ""}, kNow + 1h);
  });
  EXPECT_GT(right.at(Verdict::admitted), 0);
  EXPECT_EQ(right.count(Verdict::wrong), 0U);
  auto database = sql::test::opened(address);
  EXPECT_EQ(sql::test::whole(*database, "select count(*) from access_tries where counter like 'login%'"), 0);
  EXPECT_EQ(sql::test::whole(*database, "select cast(sum(wrong) as bigint) from access_tries"),
            rules.tries + 2 * rules.pin_tries);
}

TEST_P(Races, WithdrawingADeviceLeavesNothingOpenOnIt) {
  must(accounts->set_pin(kAda, "2749", kNow));
  for (int round = 0; round < 10; ++round) {
    const Enrolled bench = must(accounts->enrol("Bench", kAda, kNow));
    std::vector<std::unique_ptr<Accounts>> connections;
    connections.push_back(opened());
    connections.push_back(opened());
    std::thread withdrawing([&] { must(accounts->withdraw(bench.device.id, kAda, kNow)); });
    const auto verdicts = at_once(connections, 10, [&](Accounts& a) {
      return a.by_pin({kAda, "2749", kPeer, bench.token}, kNow);
    });
    withdrawing.join();
    for (const auto& [verdict, count] : verdicts)
      EXPECT_TRUE(verdict == Verdict::admitted || verdict == Verdict::not_enrolled)
          << word(verdict) << " " << count;
    auto database = sql::test::opened(address);
    EXPECT_EQ(sql::test::whole(*database, "select count(*) from access_session"), 0);
  }
}

TEST_P(Races, APasswordChangedWhileItIsLookedAtOpensNothing) {
  Rules slow = cheap();
  slow.cost = {8, 64U << 20U};
  must(opened(slow)->set_password(kAda, "ada", kPassword, kNow));
  const auto other = opened(slow);
  Admission late;
  std::thread logging_in([&] { late = must(other->by_password({"ada", kPassword, kPeer, ""}, kNow)); });
  // Its try has been counted: from here on it looks.
  auto database = sql::test::opened(address);
  const auto deadline = std::chrono::steady_clock::now() + sql::test::kDeadline;
  while (sql::test::whole(*database, "select count(*) from access_tries") == 0 &&
         std::chrono::steady_clock::now() < deadline)
    std::this_thread::sleep_for(1ms);
  must(accounts->set_password(kAda, "ada", "pads and springs at noon", kNow));
  logging_in.join();
  // Should this machine have been so slow that it came in before, that session has ended.
  EXPECT_FALSE(is_open(late.token)) << word(late.verdict);
  EXPECT_EQ(sql::test::whole(*database, "select count(*) from access_session"), 0);
}

TEST(Secrets, AreComparedWhole) {
  EXPECT_TRUE(same_secret("", ""));
  EXPECT_TRUE(same_secret("abc", "abc"));
  EXPECT_FALSE(same_secret("abc", "abd"));
  EXPECT_FALSE(same_secret("abc", "ab"));
  EXPECT_FALSE(same_secret("", "a"));
  EXPECT_FALSE(same_secret("a\0b"s, "a\0c"s));
}

TEST(Secrets, TokensAreOf256BitsAndNeverTheSame) {
  std::set<std::string> tokens;
  std::set<char> letters;
  for (int n = 0; n < 1000; ++n) {
    const std::string token = random_token();
    EXPECT_EQ(token.size(), kTokenSize);
    EXPECT_EQ(token.find_first_not_of("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"),
              std::string::npos);
    letters.insert(token.begin(), token.end());
    tokens.insert(token);
  }
  EXPECT_EQ(tokens.size(), 1000U);
  EXPECT_EQ(letters.size(), 64U);
}

}  // namespace
}  // namespace hingeline::access::test
