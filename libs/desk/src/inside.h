#pragma once
/// \file
/// What the desk's parts share: connections to the book, documents put together, results that are kept.

#include <condition_variable>
#include <future>
#include <map>
#include <mutex>
#include <optional>

#include "hingeline/desk/desk.h"
#include "hingeline/guide/guide.h"
#include "hingeline/record/assemble.h"
#include "hingeline/record/journal.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/learned.h"
#include "json_text.h"
#include "kept_results.h"

namespace hingeline::desk {

using Kind = Trouble::Kind;
using store::Book;
using store::Thing;

/// An instrument worked out. It does not move: the result points into the documents.
struct Bench {
  std::string instrument_text;
  std::string shop_text;
  record::Instrument instrument;
  record::Shop shop;
  service::InstrumentResult result;
};
using BenchAnswer = tl::expected<std::shared_ptr<const Bench>, Trouble>;

/// A key that was led, and what was told of it.
struct Led {
  std::shared_ptr<const Bench> bench;
  std::string complaint;
  std::shared_ptr<const service::Learned> learned;
  std::vector<record::JournalEntry> entries;
  guide::Guide guide;
  std::vector<std::string> left_out;  ///< what the guide could not be told, as sentences
};

class Desk::Inside {
 public:
  Inside(sql::Address where, DeskRules with)
      : address(std::move(where)),
        rules(std::move(with)),
        benches(rules.kept_results),
        answers(rules.kept_results * 8),
        guides(rules.kept_results) {}

  /// A connection, for as long as it is held.
  class Lent {
   public:
    Lent(Inside& inside, std::unique_ptr<Book> book) : inside_(&inside), book_(std::move(book)) {}
    Lent(Lent&&) = default;
    Lent& operator=(Lent&&) = delete;
    Lent(const Lent&) = delete;
    Lent& operator=(const Lent&) = delete;
    ~Lent() {
      if (book_) inside_->give_back(std::move(book_));
    }
    Book& operator*() const { return *book_; }
    Book* operator->() const { return book_.get(); }

   private:
    Inside* inside_;
    std::unique_ptr<Book> book_;
  };
  Answer<Lent> book();

  [[nodiscard]] std::int64_t now() const;
  [[nodiscard]] std::string today() const;

  void give_first(std::unique_ptr<Book> book) { free_.push_back(std::move(book)); }

  /// Writes what who asks may write; nothing where a document would no longer hold.
  Answer<std::vector<store::Written>> write(Book& book, const Who& who,
                                            const std::vector<record::Slip>& slips,
                                            const store::Writing& writing);
  /// {..., "outcomes": [...]}
  static std::string outcomes_text(const std::vector<store::Written>& written, Json with = Json::object());

  /// The thing, of that kind; Kind::not_found otherwise.
  Answer<Thing> needed(Book& book, const std::string& id, record::SlipKind kind);
  /// What the documents are put together from.
  Answer<record::InstrumentParts> parts_of(Book& book, const Thing& instrument, const std::string& visit);
  /// Nothing where the book has none of it.
  Answer<std::optional<record::ShopParts>> shop_parts(Book& book);
  /// What stands in where the book has no shop.
  static record::ShopParts general_parts();
  Answer<std::string> instrument_text(Book& book, const Thing& instrument, const std::string& visit);
  /// As it came: each place's first reading of the visit only.
  Answer<std::string> first_text(Book& book, const Thing& instrument, const std::string& visit);
  /// The general shop's where the book has none.
  Answer<std::string> shop_text(Book& book);
  /// The same, read.
  struct ShopRead {
    std::string text;
    record::Shop shop;
  };
  Answer<ShopRead> shop(Book& book);
  /// What depends on nothing but the book: made once for all who ask until its next slip. What could not be
  /// had is tried again.
  Answer<std::string> of_book(Book& book, const std::string& what,
                              const std::function<Answer<std::string>()>& make);
  /// A visit's instrument, worked out or as it was kept.
  BenchAnswer bench(const std::string& visit);
  BenchAnswer work_out(const std::string& instrument_text, const std::string& shop_text);
  /// What finished visits teach; kept for a while.
  Answer<std::shared_ptr<const service::Learned>> learned(Book& book, const record::Shop& shop,
                                                          const std::string& shop_text);

  sql::Address address;
  DeskRules rules;
  KeptResults<BenchAnswer> benches;
  KeptResults<Answer<std::string>> answers;
  KeptResults<std::shared_ptr<const Led>> guides;

 private:
  void give_back(std::unique_ptr<Book> book);

  std::mutex mutex_;
  std::condition_variable given_back_;
  std::vector<std::unique_ptr<Book>> free_;
  std::size_t lent_ = 0;

  struct Lesson {
    std::string shop_text;
    std::int64_t number = -1;
    std::int64_t made = 0;  ///< ms
    std::shared_ptr<const service::Learned> learned;
  };
  std::mutex lesson_mutex_;
  Lesson lesson_;
};

/// The right it takes to see a slip: owners and what belongs to them, from the counter on.
Right right_to_see(record::SlipKind kind, std::optional<record::SlipKind> belongs_to);
/// A slip as read_slip() takes it: what the desk made of what was typed has to be one too.
Answer<record::Slip> sound(const record::Slip& slip);
/// The member "id", which has to be a slip's.
Answer<std::string> id_in(const Json& object);
/// When a client's request was made, by the id it brought: the same each time it is sent.
std::string moment_of(const std::string& id);
/// "mm" or "in"; empty: the document's.
Answer<LengthUnit> unit_of(const std::string& typed, LengthUnit documents);

}  // namespace hingeline::desk
