#include "hingeline/sql/database.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "connection.h"
#include "hingeline/base/utf8.h"

namespace hingeline::sql {

namespace {

bool starts_with_server(std::string_view text) {
  return text.starts_with("postgresql://") || text.starts_with("postgres://");
}

bool is_space(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\f' || c == '\v'; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_'; }

/// Where the comment that begins at `at` ends; `at` itself when none does. Those between /* and */ nest in
/// PostgreSQL and not in SQLite: statements here do not nest them.
std::size_t past_comment(std::string_view text, std::size_t at) {
  const std::string_view rest = text.substr(at);
  if (rest.starts_with("--")) {
    const std::size_t end = text.find('\n', at);
    return end == std::string_view::npos ? text.size() : end + 1;
  }
  if (rest.starts_with("/*")) {
    const std::size_t end = text.find("*/", at + 2);
    return end == std::string_view::npos ? text.size() : end + 2;
  }
  return at;
}

/// Where what stands in quotes from `at` on ends. A doubled quote ends it and begins it anew, which comes to
/// the same.
std::size_t past_quotes(std::string_view text, std::size_t at) {
  const std::size_t end = text.find(text[at], at + 1);
  return end == std::string_view::npos ? text.size() : end + 1;
}

/// Where PostgreSQL's other quotes, $$ ... $$ or $tag$ ... $tag$, end that begin at `at`; behind the dollar
/// when none begin there.
std::size_t past_dollar_quotes(std::string_view text, std::size_t at) {
  std::size_t tag_end = at + 1;
  while (tag_end < text.size() &&
         (is_letter(text[tag_end]) || (tag_end > at + 1 && is_digit(text[tag_end])))) {
    ++tag_end;
  }
  if (tag_end == text.size() || text[tag_end] != '$') {
    return at + 1;
  }
  const std::string_view tag = text.substr(at, tag_end + 1 - at);
  const std::size_t end = text.find(tag, tag_end + 1);
  return end == std::string_view::npos ? text.size() : end + tag.size();
}

bool is_text(std::string_view text) { return is_utf8(text) && text.find('\0') == std::string_view::npos; }

Result<void> sound_arguments(std::span<const Cell> arguments) {
  for (std::size_t i = 0; i < arguments.size(); ++i) {
    if (const auto* number = std::get_if<double>(&arguments[i]); number != nullptr && std::isnan(*number)) {
      return failure(Trouble::statement, fmt::format("argument ${} is not a number", i + 1));
    }
    if (const auto* text = std::get_if<std::string>(&arguments[i]); text != nullptr && !is_text(*text)) {
      return failure(Trouble::statement, fmt::format("argument ${} is not UTF-8 text without NUL", i + 1));
    }
  }
  return {};
}

}  // namespace

const char* word(Trouble trouble) {
  switch (trouble) {
    case Trouble::unique:
      return "unique";
    case Trouble::reference:
      return "reference";
    case Trouble::check:
      return "check";
    case Trouble::busy:
      return "busy";
    case Trouble::full:
      return "full";
    case Trouble::lost:
      return "lost";
    case Trouble::damaged:
      return "damaged";
    case Trouble::unavailable:
      return "unavailable";
    case Trouble::statement:
      return "statement";
  }
  return "";
}

Error as_error(const Failure& failure) {
  const auto help = [&] {
    switch (failure.trouble) {
      case Trouble::unique:
        return "something that is not there yet";
      case Trouble::reference:
        return "something that is there, and that nothing else names when it is to go";
      case Trouble::check:
        return "values that keep the rules of the record";
      case Trouble::busy:
        return "a database that others let go of in time; trying again helps";
      case Trouble::full:
        return "room on the disk; nothing of this was saved";
      case Trouble::lost:
        return "a server that stays in reach; look whether this was saved before trying again";
      case Trouble::damaged:
        return "a sound database on a sound disk; the latest copy can be restored";
      case Trouble::unavailable:
        return "a file in a folder that may be written, or a server that answers";
      case Trouble::statement:
        return "no such fault in this program; please report it";
    }
    return "";
  };
  return Error{Fault::file, failure.what, help(), {}};
}

Dialect Address::dialect() const { return starts_with_server(text) ? Dialect::postgres : Dialect::sqlite; }

std::string Address::shown() const {
  if (dialect() == Dialect::sqlite) {
    return text;
  }
  std::string out = text;
  // A password may hold what should have been escaped: rather hide too much than a part of it.
  const std::size_t user = out.find("://") + 3;
  const std::size_t at = out.rfind('@');
  const std::size_t colon = out.find(':', user);
  if (at != std::string::npos && colon != std::string::npos && colon < at) {
    out.erase(colon, at - colon);
  }
  // "sslpassword=" is another.
  constexpr std::string_view kParameter = "password=";
  for (std::size_t found = out.find(kParameter); found != std::string::npos;
       found = out.find(kParameter, found)) {
    found += kParameter.size();
    const std::size_t end = out.find('&', found);
    out.replace(found, end == std::string::npos ? end : end - found, "***");
  }
  return out;
}

Result<std::unique_ptr<Database>> open(const Address& address, const Opening& opening) {
  if (address.text.empty() || address.text.find('\0') != std::string::npos) {
    return failure(Trouble::unavailable, "the address of the database is empty or holds NUL");
  }
  return address.dialect() == Dialect::postgres ? open_postgres(address, opening)
                                                : open_sqlite(address, opening);
}

bool names_exactly(std::string_view statement, std::size_t count) {
  std::vector<bool> named(count, false);
  for (std::size_t at = 0; at < statement.size();) {
    const char c = statement[at];
    if (c == '\'' || c == '"') {
      at = past_quotes(statement, at);
    } else if (const std::size_t past = past_comment(statement, at); past != at) {
      at = past;
    } else if (c == '$' && at + 1 < statement.size() && is_digit(statement[at + 1])) {
      std::size_t number = 0;
      for (++at; at < statement.size() && is_digit(statement[at]); ++at) {
        number = number > count ? number : number * 10 + static_cast<std::size_t>(statement[at] - '0');
      }
      if (number == 0 || number > count) {
        return false;
      }
      named[number - 1] = true;
    } else {
      ++at;
    }
  }
  for (const bool one : named) {
    if (!one) {
      return false;
    }
  }
  return true;
}

std::string first_word(std::string_view statement) {
  std::size_t at = 0;
  while (at < statement.size()) {
    if (is_space(statement[at]) || statement[at] == ';' || statement[at] == '(') {
      ++at;
    } else if (const std::size_t past = past_comment(statement, at); past != at) {
      at = past;
    } else {
      break;
    }
  }
  std::string out;
  for (; at < statement.size() && is_letter(statement[at]); ++at) {
    const char c = statement[at];
    out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  return out;
}

bool moves_transactions(std::string_view statement) {
  constexpr std::array kWords = {"begin", "start",     "commit",  "end",    "rollback",
                                 "abort", "savepoint", "release", "prepare"};
  const std::string word = first_word(statement);
  for (const char* one : kWords) {
    if (word == one) {
      return true;
    }
  }
  return false;
}

bool any_moves_transactions(std::string_view statements) {
  std::size_t begun = 0;
  for (std::size_t at = 0; at < statements.size();) {
    const char c = statements[at];
    if (c == '\'' || c == '"') {
      at = past_quotes(statements, at);
    } else if (const std::size_t past = past_comment(statements, at); past != at) {
      at = past;
    } else if (c == '$') {
      at = past_dollar_quotes(statements, at);
    } else if (c == ';') {
      if (moves_transactions(statements.substr(begun, at - begun))) {
        return true;
      }
      begun = ++at;
    } else {
      ++at;
    }
  }
  return moves_transactions(statements.substr(begun));
}

Result<void> Connection::sound_transaction() const {
  if (first_) {
    return failure(Trouble::statement,
                   fmt::format("the transaction can only be rolled back after this: {}", first_->what));
  }
  return {};
}

Result<void> Connection::outside(const char* what) const {
  if (mode_) {
    return failure(Trouble::statement, fmt::format("{} inside a transaction", what));
  }
  return {};
}

tl::unexpected<Failure> Connection::spoil(Failure&& what) {
  changed_ = 0;
  if (mode_ && !first_) {
    first_ = what;
  }
  return tl::unexpected<Failure>(std::move(what));
}

Result<Rows> Connection::run(std::string_view statement, std::span<const Cell> arguments) {
  const auto done =
      sound_transaction()
          .and_then([&] { return sound_arguments(arguments); })
          .and_then([&]() -> Result<Done> {
            if (moves_transactions(statement)) {
              return failure(Trouble::statement, "a statement that begins or ends a transaction");
            }
            return do_run(statement, arguments);
          });
  if (!done) {
    return spoil(Failure(done.error()));
  }
  changed_ = done->changed;
  return done->rows;
}

Result<void> Connection::run_all(std::string_view statements) {
  if (!mode_) {
    return sql::in_transaction(
        *this, opening_.read_only ? Mode::read : Mode::write, [&] { return run_all(statements); }, 1);
  }
  changed_ = 0;
  if (Result<void> done = sound_transaction().and_then([&] { return do_run_all(statements); }); !done) {
    return spoil(std::move(done.error()));
  }
  return {};
}

Result<void> Connection::begin(Mode mode) {
  if (mode_) {
    return spoil(Failure{Trouble::statement, "a transaction inside a transaction"});
  }
  if (mode == Mode::write && opening_.read_only) {
    return failure(Trouble::statement, "a transaction that writes on a connection opened for reading");
  }
  Result<void> begun = do_begin(mode);
  if (begun) {
    mode_ = mode;
    first_.reset();
  } else {
    do_rollback();
  }
  return begun;
}

Result<void> Connection::commit() {
  if (!mode_) {
    return failure(Trouble::statement, "a commit outside a transaction");
  }
  Result<void> done = sound_transaction().and_then([&] { return do_commit(); });
  if (!done) {
    rollback();
  }
  mode_.reset();
  return done;
}

void Connection::rollback() {
  if (mode_) {
    do_rollback();
    mode_.reset();
    first_.reset();
  }
}

Result<void> Connection::tell() {
  if (!mode_) {
    return sql::in_transaction(
        *this, Mode::write, [&] { return tell(); }, 1);
  }
  Result<void> told = sound_transaction();
  if (told && *mode_ == Mode::read) {
    told = failure(Trouble::statement, "news told where nothing may be changed");
  }
  if (told) {
    told = do_tell();
  }
  if (!told) {
    return spoil(std::move(told.error()));
  }
  return {};
}

Result<bool> Connection::wait_for_news(std::chrono::milliseconds at_most) {
  return outside("waiting for news").and_then([&] { return do_wait_for_news(at_most); });
}

Result<void> Connection::check() {
  return outside("a check").and_then([&] { return do_check(); });
}

Result<void> Connection::copy_to(const std::string& path) {
  return outside("a copy").and_then([&] { return do_copy_to(path); });
}

}  // namespace hingeline::sql
