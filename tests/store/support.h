#pragma once
/// \file
/// Slips to write, and a made shop of many.

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "hingeline/record/slip.h"
#include "hingeline/store/book.h"
#include "sql/support.h"

namespace hingeline::store::test {

using record::Slip;
using record::SlipBody;
using record::SlipKind;

/// Ids in the order they are asked for, alike on every run.
class Ids {
 public:
  std::string next() {
    ++count_;
    return record::slip_id(1'700'000'000'000ULL + count_ * 10, count_ * 2654435761U, count_ * 40503U);
  }

 private:
  std::uint64_t count_ = 0;
};

inline Slip slip(Ids& ids, SlipBody body, std::string of = {}, std::string key = {}) {
  Slip out;
  out.id = ids.next();
  out.at = "2026-11-25T14:05:00Z";
  out.of = std::move(of);
  out.key = std::move(key);
  out.body = std::move(body);
  return out;
}
inline Slip instead(Ids& ids, const Slip& old, SlipBody body, std::string why = "read wrongly") {
  Slip out = old;
  out.id = ids.next();
  out.replaces = old.id;
  out.why = std::move(why);
  out.body = std::move(body);
  out.struck = false;
  return out;
}
inline Slip struck(Ids& ids, const Slip& old) {
  Slip out = instead(ids, old, old.body, "not so");
  out.struck = true;
  return out;
}

inline record::OwnerSlip owner(const std::string& name) { return {name, "555 0100", {}, {}}; }
inline record::InstrumentSlip instrument(const std::string& title, const std::string& serial) {
  return {title, "alto saxophone", serial, {}, {}};
}
inline record::KeySlip key(const std::string& id) { return {id, {}, {R"({"hinge": {}})", {}}, {}}; }
inline record::VisitSlip visit(const std::string& complaint, const std::string& promised = {},
                               record::VisitState state = record::VisitState::waiting) {
  return {complaint, "2026-11-20", promised, state, {}, {}};
}
inline record::ReadingSlip reading(const std::string& value) {
  return {"/readings/end_play", {'"' + value + '"', {}}, {}};
}

/// A shop's slips in the order they were made: owners, instruments, keys, visits, readings, notes,
/// corrections that follow one another or part, and strikes. `count` slips.
inline std::vector<Slip> made_shop(std::uint64_t seed, std::size_t count) {
  std::mt19937_64 engine(seed);
  Ids ids;
  std::vector<Slip> out;
  const auto pick = [&](std::size_t n) { return static_cast<std::size_t>(engine() % n); };
  const auto one_of = [&](SlipKind kind) -> const Slip* {
    std::vector<const Slip*> all;
    for (const Slip& s : out) {
      if (s.kind() == kind && s.replaces.empty()) all.push_back(&s);
    }
    return all.empty() ? nullptr : all[pick(all.size())];
  };
  static const std::vector<std::string> kWords{"Ash", "Birch", "Cedar", "Doré",
                                               "Elm", "Fir",   "Gorse", "Hazel"};
  const auto word = [&] { return kWords[pick(kWords.size())]; };
  out.push_back(slip(ids, record::PersonSlip{"Bench", "b", record::Role::bench, false, {}}));
  const std::string person = out.front().id;
  while (out.size() < count) {
    const std::size_t what = pick(12);
    const Slip* i = one_of(SlipKind::instrument);
    const Slip* v = one_of(SlipKind::visit);
    Slip next;
    if (what == 0 || (what < 3 && i == nullptr)) {
      next = slip(ids, owner(word() + " " + word()));
    } else if (what == 1) {
      const Slip* of = one_of(SlipKind::owner);
      next = slip(ids, instrument(word() + " alto", std::to_string(1000 + pick(50))),
                  of == nullptr ? "" : of->id);
    } else if (what == 2 && i != nullptr) {
      next = slip(ids, key("key-" + std::to_string(pick(9))), i->id);
    } else if (what == 3 && i != nullptr) {
      next =
          slip(ids, visit(word() + " rattles", pick(3) == 0 ? "" : "2026-12-0" + std::to_string(1 + pick(9))),
               i->id);
    } else if (what == 4 && v != nullptr) {
      next = slip(ids, record::NoteSlip{word() + " " + word(), {}}, v->id);
    } else if (what == 5 && i != nullptr) {
      next = slip(ids, record::NoteSlip{"case " + word(), {}}, i->id);
    } else if (what < 9 && !out.empty()) {
      // A change of something, often of what was changed before: chains and forks.
      const Slip& old = out[pick(out.size())];
      if (old.kind() == SlipKind::person) continue;
      SlipBody body = old.body;
      if (auto* s = std::get_if<record::VisitSlip>(&body))
        s->state = static_cast<record::VisitState>(pick(8));
      if (auto* s = std::get_if<record::OwnerSlip>(&body)) s->name = word() + " " + word();
      if (auto* s = std::get_if<record::InstrumentSlip>(&body)) s->serial = std::to_string(1000 + pick(50));
      next = pick(9) == 0 ? struck(ids, old) : instead(ids, old, body);
    } else if (v != nullptr) {
      std::string k;
      for (const Slip& s : out) {
        if (s.kind() == SlipKind::key && s.replaces.empty() && s.of == v->of) k = s.id;
      }
      next = slip(ids, reading("0." + std::to_string(10 + pick(90)) + " mm"), v->id, k);
    } else {
      continue;
    }
    if (pick(2) == 0) next.by = person;
    out.push_back(std::move(next));
  }
  return out;
}

inline std::unique_ptr<Book> opened(const sql::Address& address) {
  auto book = Book::open(address);
  if (!book) throw std::runtime_error(book.error().what);
  return std::move(*book);
}
template <class T>
T must(Expected<T> value) {
  if (!value) throw std::runtime_error(value.error().what + "; " + value.error().expected);
  if constexpr (!std::is_void_v<T>) return std::move(*value);
}

/// All that a book says, without the order it was told in.
inline std::vector<std::string> says(Book& book) {
  std::vector<std::string> out;
  for (const SlipKind kind : record::kSlipKinds) {
    for (const Thing& t : must(book.all_of(kind, 100'000))) {
      out.push_back(t.id + " " + record::write_slip(t.now.slip) + " " + std::to_string(t.versions) +
                    (t.parted ? " parted" : ""));
    }
  }
  VisitQuery all;
  all.most = 100'000;
  for (const VisitLine& v : must(book.visits(all))) {
    out.push_back(v.visit + v.instrument + v.owner + record::word(v.state) + v.came + v.promised + v.title +
                  v.serial + v.owner_name + v.complaint);
  }
  for (const char* word : {"ash", "dore", "case", "rattles ced", "bir 10", "waiting"}) {
    all.words = word;
    for (const VisitLine& v : must(book.visits(all))) out.push_back(std::string(word) + v.visit);
  }
  return out;
}

class OnBothBooks : public testing::TestWithParam<sql::Dialect> {
 protected:
  OnBothBooks() : address(fresh()), book(opened(address)) {}
  /// A new, empty place for a book.
  sql::Address fresh() {
    if (GetParam() == sql::Dialect::postgres) return {support::PostgresServer::shared().fresh_database()};
    return {(folder.path() / ("book-" + std::to_string(++count_) + ".db")).string()};
  }
  std::vector<Written> write(const std::vector<Slip>& slips, const Writing& writing = {}) {
    return must(book->write(slips, writing));
  }

 private:
  int count_ = 0;

 protected:
  sql::test::TemporaryFolder folder;
  sql::Address address;
  std::unique_ptr<Book> book;
};

inline std::string name_of(const testing::TestParamInfo<sql::Dialect>& info) {
  return info.param == sql::Dialect::sqlite ? "sqlite" : "postgres";
}

}  // namespace hingeline::store::test
