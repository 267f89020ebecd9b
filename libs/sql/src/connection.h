#pragma once
/// \file
/// What is the same on both databases is here once: the rules of transactions, of arguments and of what a
/// failure leaves behind. A driver only does what it is asked to and says how it went.

#include <map>
#include <optional>

#include "hingeline/sql/database.h"

namespace hingeline::sql {

inline tl::unexpected<Failure> failure(Trouble trouble, std::string what) {
  return tl::unexpected<Failure>(Failure{trouble, std::move(what)});
}

/// How many statements a connection keeps prepared; then it forgets all and begins anew, so that a program
/// that makes up its statements does not fill the memory.
inline constexpr std::size_t kStatementsKept = 256;

/// Whether `statement` names the numbers $1 to $count, each at least once, and no other. What stands in
/// quotes and in comments does not count.
bool names_exactly(std::string_view statement, std::size_t count);

/// The first word, in small letters, after blanks, comments and brackets.
std::string first_word(std::string_view statement);

/// Whether `statement` begins or ends a transaction, or a part of one.
bool moves_transactions(std::string_view statement);

/// Whether one of several statements does so. What stands in quotes, $tag$ quotes among them, does not count.
bool any_moves_transactions(std::string_view statements);

class Connection : public Database {
 public:
  Result<Rows> run(std::string_view statement, std::span<const Cell> arguments) final;
  [[nodiscard]] std::int64_t changed() const final { return changed_; }
  Result<void> run_all(std::string_view statements) final;
  Result<void> begin(Mode mode) final;
  Result<void> commit() final;
  void rollback() final;
  Result<void> tell() final;
  Result<bool> wait_for_news(std::chrono::milliseconds at_most) final;
  Result<void> check() final;
  Result<void> copy_to(const std::string& path) final;

 protected:
  explicit Connection(const Opening& opening) : opening_(opening) {}

  struct Done {
    Rows rows;
    std::int64_t changed = 0;
  };
  /// `arguments` are as the interface asks for. Outside a transaction a writer waits for its turn.
  virtual Result<Done> do_run(std::string_view statement, std::span<const Cell> arguments) = 0;
  /// Only inside a transaction. Statements that begin or end one are refused.
  virtual Result<void> do_run_all(std::string_view statements) = 0;
  virtual Result<void> do_begin(Mode mode) = 0;
  /// A failure leaves the transaction open or not; do_rollback follows.
  virtual Result<void> do_commit() = 0;
  /// Whatever state the transaction is in, afterwards there is none.
  virtual void do_rollback() = 0;
  /// Only inside a transaction.
  virtual Result<void> do_tell() = 0;
  virtual Result<bool> do_wait_for_news(std::chrono::milliseconds at_most) = 0;
  virtual Result<void> do_check() = 0;
  virtual Result<void> do_copy_to(const std::string& path) = 0;

  [[nodiscard]] const Opening& opening() const { return opening_; }
  [[nodiscard]] bool in_transaction() const { return mode_.has_value(); }
  [[nodiscard]] bool may_write() const { return mode_ ? *mode_ == Mode::write : !opening_.read_only; }

 private:
  Result<void> sound_transaction() const;
  Result<void> outside(const char* what) const;
  /// Takes note of a failure.
  tl::unexpected<Failure> spoil(Failure&& what);

  Opening opening_;
  std::optional<Mode> mode_;      ///< of the transaction under way
  std::optional<Failure> first_;  ///< what failed in it first
  std::int64_t changed_ = 0;
};

Result<std::unique_ptr<Database>> open_sqlite(const Address& address, const Opening& opening);
Result<std::unique_ptr<Database>> open_postgres(const Address& address, const Opening& opening);

}  // namespace hingeline::sql
