#include "visit_list.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>
#include <string>
#include <utility>
#include <vector>

namespace hingeline::store {
namespace {

using sql::Cell;
using sql::Result;
using sql::Rows;

/// The statement of a list of visits, put together from what is wanted.
class VisitList {
 public:
  VisitList(sql::Database& database, const VisitQuery& query) : db_(database), query_(query) {}

  Result<Rows> run() {
    if (auto narrowed = by_words(); !narrowed) return tl::unexpected(narrowed.error());
    if (nothing_) return Rows{};
    if (!query_.promised_from.empty()) also("v.promised >= " + argument(query_.promised_from));
    if (!query_.promised_to.empty()) also("v.promised <= " + argument(query_.promised_to));
    const bool dated = !query_.promised_from.empty() || !query_.promised_to.empty();
    if (dated) also("v.promised <> ''");
    if (!query_.owner.empty()) also("v.owner = " + argument(query_.owner));
    if (!query_.instrument.empty()) also("v.instrument = " + argument(query_.instrument));
    // As the indexes have it: where all are promised, their order is shorter.
    order_ = dated ? "" : "case when v.promised = '' then 1 else 0 end, ";
    order_ += "v.promised, v.id";
    const auto most = static_cast<std::int64_t>(query_.most);
    const auto from = static_cast<std::int64_t>(query_.from);
    const std::string ends =
        fmt::format(" order by {} limit {} offset {}", order_, argument(most), argument(from));
    const std::set<record::VisitState> states(query_.states.begin(), query_.states.end());
    if (states.size() < 2) {
      const std::string state = states.empty() ? "" : record::word(*states.begin());
      // Words that meet often meet soon. Where the list's beginning does not give all that is wanted, a
      // longer one may; then what they have in common is looked up.
      for (const std::int64_t first : kBeginnings) {
        if (meeting_.empty() || most + from > first) continue;
        const std::size_t before = arguments_.size();
        const std::string text = lines(state, first) + ends;
        auto beginning = db_.run(text, arguments_);
        if (!beginning || static_cast<std::int64_t>(beginning->size()) == most) return beginning;
        arguments_.resize(before);
      }
      also(meeting_);
      // First the text: it may need one more argument.
      const std::string text = lines(state) + ends;
      return db_.run(text, arguments_);
    }
    also(meeting_);
    // Each state's first lines come in order from an index; of all of them together only these are sorted.
    const std::string first = fmt::format(" order by {} limit {}", order_, argument(most + from));
    std::string all;
    for (const record::VisitState state : states)
      all += fmt::format("{}select * from ({}{}) s", all.empty() ? "" : " union all ",
                         lines(record::word(state)), first);
    const std::string text = fmt::format("select * from ({}) v{}", all, ends);
    return db_.run(text, arguments_);
  }

 private:
  struct Word {
    std::string from;  ///< the arguments that a word lies between
    std::string to;
    std::int64_t often = 0;  ///< rows that it finds, counted up to kOften
  };
  static constexpr std::int64_t kOften = 500;
  /// Visits of a list that are asked for all words first.
  static constexpr std::array<std::int64_t, 2> kBeginnings{500, 3000};

  std::string argument(Cell value) {
    arguments_.push_back(std::move(value));
    return fmt::format("${}", arguments_.size());
  }
  void also(const std::string& condition) {
    if (!condition.empty()) where_ += " and " + condition;
  }

  /// Lines of visits in one state (empty: in any); of all, or of the list's first ones.
  std::string lines(const std::string& state, std::int64_t first = 0) {
    std::string where = "where 1 = 1" + where_;
    if (!state.empty()) where += " and v.state = " + argument(state);
    const std::string source = first == 0 ? fmt::format("visit v {}{}", where, words_)
                                          : fmt::format(
                                                "(select * from visit v {} order by {} limit {}) v "
                                                "where 1 = 1{}",
                                                where, order_, argument(first), words_);
    return "select v.id, v.instrument, v.owner, v.state, v.came, v.promised, v.title, v.serial, "
           "v.owner_name, v.complaint from " +
           source;
  }

  /// What finds rows of the word, for a person who may see owners' words or not.
  [[nodiscard]] std::string found(const Word& word) const {
    static constexpr const char* kNotOfOwners =
        " and not exists (select 1 from thing o left join thing p on p.id = o.belongs where o.id = f.source "
        "and (o.kind = 'owner' or (o.kind <> 'instrument' and p.kind = 'owner')))";
    return fmt::format("f.word >= {} and f.word < {}{}", word.from, word.to,
                       query_.owners_words ? "" : kNotOfOwners);
  }

  /// A rare word is looked up, and its visits are gone through; common ones are asked of each visit in the
  /// list's order, of which the first that are wanted come soon.
  Result<void> by_words() {
    std::vector<Word> words;
    for (const std::string& typed : record::search_words(query_.words)) {
      // Words that begin so: up to the same with Unicode's last code point behind it, which is no character.
      // It must be text: PostgreSQL refuses bytes that are not UTF-8.
      const std::string end = typed + "\xF4\x8F\xBF\xBF";
      const auto often = db_.run(
          "select count(*) from (select 1 from found f where f.word >= $1 and f.word < $2 limit $3) s",
          std::vector<Cell>{typed, end, kOften});
      if (!often) return tl::unexpected(often.error());
      const auto rows = std::get<std::int64_t>(often->front().front());
      nothing_ = nothing_ || rows == 0;
      const std::string from = argument(typed);
      words.push_back({from, argument(end), rows});
    }
    std::sort(words.begin(), words.end(), [](const Word& a, const Word& b) { return a.often < b.often; });
    for (const Word& word : words) {
      if (&word == &words.front() && word.often < kOften) {
        also(fmt::format(
            "v.id in (select f.visit from found f where {0} and f.visit <> '' union select w.id "
            "from found f join visit w on w.instrument = f.instrument where {0} and f.visit = '')",
            found(word)));
      } else {
        words_ += fmt::format(
            " and exists (select 1 from found f where {} and f.instrument = v.instrument and (f.visit = '' "
            "or f.visit = v.id))",
            found(word));
      }
    }
    if (words.size() > 1 && words.front().often == kOften) {
      for (const Word& word : words) {
        meeting_ += fmt::format("{}select f.instrument from found f where f.word >= {} and f.word < {}",
                                meeting_.empty() ? "v.instrument in (" : " intersect ", word.from, word.to);
      }
      meeting_ += ")";
    }
    return {};
  }

  sql::Database& db_;
  const VisitQuery& query_;
  std::vector<Cell> arguments_;
  std::string where_;
  std::string words_;    ///< conditions of words that are asked of each visit
  std::string meeting_;  ///< instruments that all of several common words find
  std::string order_;
  bool nothing_ = false;
};

}  // namespace

Result<Rows> list_visits(sql::Database& database, const VisitQuery& query) {
  return VisitList(database, query).run();
}

}  // namespace hingeline::store
