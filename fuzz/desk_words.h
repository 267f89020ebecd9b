#pragma once
/// \file
/// Any bytes as something that is asked of a desk: shared by the fuzzer and by the test that replays what it
/// starts from.

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <utility>

#include "hingeline/desk/desk.h"

namespace hingeline::desk::fuzz {

/// What there is in the book, for "$visit", "$instrument", "$owner", "$key" (a thing) and "$as_of" to stand
/// for.
struct Names {
  std::string visit;
  std::string instrument;
  std::string owner;
  std::string key;
};

/// Those of a visit whose instrument has a key low-c.
inline Names names_of(Desk& desk, const std::string& owner, const std::string& visit) {
  const auto whole = nlohmann::json::parse(desk.visit({}, visit).value());
  Names out{visit, whole.at("instrument").at("thing"), owner, {}};
  for (const auto& key : whole.at("keys")) {
    if (key.at("slip").at("body").at("id") == "low-c") out.key = key.at("thing");
  }
  return out;
}

/// `bytes`: on the first line what is asked ("write", "take-in", "shop", "set", "tell", "rig", "practise",
/// "forget", "find", "fit"), then the text it is asked with; "tell" and "fit" are of the key low-c.
inline Answer<std::string> ask(Desk& desk, const Names& names, std::string_view bytes) {
  const Who alone;
  const std::size_t line = std::min(bytes.find('\n'), bytes.size());
  const std::string_view what = bytes.substr(0, line);
  std::string text(bytes.substr(std::min(line + 1, bytes.size())));
  using Stands = std::pair<std::string_view, std::string>;
  std::array<Stands, 5> stands{{{"$visit", names.visit},
                                {"$instrument", names.instrument},
                                {"$owner", names.owner},
                                {"$key", names.key},
                                {"$as_of", "0"}}};
  if (what == "tell" && text.find("$as_of") != std::string::npos) {
    // How things stand is what is answered to.
    const auto led = desk.led(alone, names.visit, "low-c", {});
    if (led) stands.back().second = nlohmann::json::parse(*led).at("as_of").dump();
  }
  for (const auto& [word, id] : stands) {
    for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at + id.size()))
      text.replace(at, word.size(), id);
  }
  if (what == "write") return desk.write(alone, text);
  if (what == "take-in") return desk.take_in(alone, text);
  if (what == "shop") return desk.put_shop(alone, text);
  if (what == "set") return desk.set(alone, text);
  if (what == "tell") return desk.tell(alone, names.visit, "low-c", {}, text);
  if (what == "rig") return desk.rig(alone, text);
  if (what == "practise") return desk.practise(alone, text);
  if (what == "forget") return desk.forget_owner(alone, names.owner, text);
  if (what == "fit") return desk.ask(alone, names.visit, Question::fit, {});
  store::VisitQuery query;
  query.words = std::move(text);
  return desk.visits(alone, std::move(query));
}

/// Nothing, or what is wrong after that: an answer that is no JSON, a refusal without a word, a visit that
/// cannot be put together any more, a desk that no longer answers.
inline std::string wrong_after(Desk& desk, const Names& names, const Answer<std::string>& answer) {
  const Who alone;
  if (answer) {
    if (!nlohmann::json::accept(*answer)) return "the answer is no JSON: " + *answer;
  } else {
    if (answer.error().errors.empty() || answer.error().errors.front().what.empty())
      return "refused without a word";
    if (answer.error().kind == Trouble::Kind::unavailable) return answer.error().errors.front().what;
  }
  if (const auto document = desk.document(alone, names.visit);
      !document && document.error().kind != Trouble::Kind::not_found) {
    return "the visit cannot be put together: " + document.error().errors.front().what;
  }
  if (const auto shop = desk.shop(alone); !shop)
    return "there is no shop: " + shop.error().errors.front().what;
  if (const auto counts = desk.counts(alone); !counts) return "nothing is counted";
  return {};
}

}  // namespace hingeline::desk::fuzz
