#pragma once
/// \file
/// Archives as texts, and shops with something of everything in them.

#include <string>
#include <string_view>

#include "hingeline/store/archive.h"
#include "hingeline/store/sha256.h"
#include "store/support.h"

namespace hingeline::store::test {

struct Text {
  std::string text;
  Archived archived;
};
inline Text archive_of(Book& book) {
  Text out;
  out.archived = must(write_archive(book, [&](std::string_view piece) -> Expected<void> {
    out.text += piece;
    return {};
  }));
  return out;
}

/// Gives a text in pieces of that many bytes at most.
inline Source pieces_of(const std::string& text, std::size_t size = 1000) {
  return [&text, size, at = std::size_t{0}](std::span<char> into) mutable -> Expected<std::size_t> {
    const std::size_t n = std::min({size, into.size(), text.size() - at});
    std::copy_n(text.begin() + static_cast<std::ptrdiff_t>(at), n, into.begin());
    at += n;
    return n;
  };
}

inline sql::Bytes bytes_from(std::string_view text) {
  sql::Bytes out;
  for (const char c : text) out.push_back(static_cast<std::byte>(c));
  return out;
}
inline void keep(Book& book, std::string_view text) {
  const sql::Bytes bytes = bytes_from(text);
  must(book.keep_bytes(sha256_hex(bytes), bytes));
}

/// Slips in any order, some left out, some twice, some that name what does not suit them, an owner forgotten,
/// photos: what a book may live through. Does the same to every book of `books`.
inline void live_through(const std::vector<Book*>& books, std::uint64_t seed, std::size_t count) {
  std::mt19937_64 engine(seed);
  std::vector<Slip> slips = made_shop(seed, count);
  std::shuffle(slips.begin(), slips.end(), engine);
  std::vector<Slip> sent;
  for (Slip s : slips) {
    if (engine() % 150 == 0) continue;  // lost on the way: what names it waits
    if (engine() % 25 == 0 && !s.of.empty()) s.of = slips[engine() % slips.size()].id;
    sent.push_back(s);
    if (engine() % 6 == 0) sent.push_back(sent[engine() % sent.size()]);
  }
  for (std::size_t at = 0; at < sent.size();) {
    const std::size_t size = std::min<std::size_t>(1 + engine() % 20, sent.size() - at);
    const std::vector<Slip> batch(sent.begin() + static_cast<std::ptrdiff_t>(at),
                                  sent.begin() + static_cast<std::ptrdiff_t>(at + size));
    const Writing writing{engine() % 8 == 0, engine() % 4 == 0};
    for (Book* book : books) must(book->write(batch, writing));
    at += size;
    if (engine() % 4 == 0) {
      const Slip& any = sent[engine() % sent.size()];
      const std::string who = any.kind() == SlipKind::instrument ? any.of : any.id;
      for (Book* book : books) {
        if (auto done = book->forget_owner(who); !done && done.error().fault != Fault::not_found)
          throw std::runtime_error(done.error().what);
      }
    }
    if (engine() % 8 == 0) {
      std::string photo(engine() % 300, '\0');
      for (char& c : photo) c = static_cast<char>(engine());
      for (Book* book : books) keep(*book, photo);
    }
  }
}

}  // namespace hingeline::store::test
