#include "json_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <vector>

namespace hingeline::desk {
namespace {

constexpr int kDeepest = 64;

}  // namespace

std::string text_of(const Json& json) {
  return json.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

Answer<Json> object_of(std::string_view text) {
  // What the reader would let pass: members said twice, and objects nested without end.
  std::string why;
  std::vector<std::set<std::string>> seen;
  const auto look = [&](int depth, Json::parse_event_t event, Json& parsed) {
    using Event = Json::parse_event_t;
    if (depth > kDeepest) why = "it is nested too deep";
    if (event == Event::object_start) seen.emplace_back();
    if (event == Event::object_end) seen.pop_back();
    if (event == Event::key && !seen.back().insert(parsed.get<std::string>()).second)
      why = fmt::format("the member \"{}\" is there twice", parsed.get<std::string>().substr(0, 80));
    return true;
  };
  Json out;
  try {
    out = Json::parse(text.begin(), text.end(), look);
  } catch (const Json::parse_error& e) {
    why = fmt::format("it is not JSON, at byte {}", e.byte);
  } catch (const Json::out_of_range&) {
    why = "it holds a number that is too large";
  }
  if (!why.empty()) return refuse(Trouble::Kind::malformed, why, "a JSON object");
  if (!out.is_object()) return refuse(Trouble::Kind::malformed, "it is no JSON object", "an object");
  return out;
}

Answer<std::string> text_in(const Json& object, const char* member) {
  const auto at = object.find(member);
  if (at == object.end()) return std::string();
  if (!at->is_string())
    return refuse(Trouble::Kind::not_valid, fmt::format("\"{}\" is no text", member), "text in quotes");
  return at->get<std::string>();
}

Answer<std::string> needed_text(const Json& object, const char* member) {
  auto text = text_in(object, member);
  if (text && text->empty())
    return refuse(Trouble::Kind::not_valid, fmt::format("\"{}\" is missing", member), "text in quotes");
  return text;
}

Answer<void> only_members(const Json& object, std::initializer_list<std::string_view> members) {
  for (const auto& item : object.items()) {
    if (std::find(members.begin(), members.end(), item.key()) == members.end()) {
      return refuse(Trouble::Kind::not_valid,
                    fmt::format("there is no member \"{}\"", item.key().substr(0, 80)),
                    fmt::format("{}", fmt::join(members, ", ")));
    }
  }
  return {};
}

Json json_of(const record::Slip& slip) { return Json::parse(record::write_slip(slip)); }
Json json_of(const store::Thing& thing) {
  return {{"thing", thing.id},
          {"number", thing.now.number},
          {"versions", thing.versions},
          {"parted", thing.parted},
          {"slip", json_of(thing.now.slip)}};
}
Json json_of(const store::Kept& kept) {
  return {{"number", kept.number}, {"thing", kept.thing}, {"slip", json_of(kept.slip)}};
}
Json json_of(const store::VisitLine& line) {
  return {{"visit", line.visit},
          {"instrument", line.instrument},
          {"owner", line.owner},
          {"state", record::word(line.state)},
          {"came", line.came},
          {"promised", line.promised},
          {"title", line.title},
          {"serial", line.serial},
          {"owner_name", line.owner_name},
          {"complaint", line.complaint}};
}
Json json_of(const store::Written& written) {
  Json out = {{"id", written.id},
              {"outcome", store::word(written.outcome)},
              {"thing", written.thing},
              {"number", written.number}};
  if (written.outcome == store::Outcome::refused) {
    static constexpr std::array kWords{"none", "other-words", "wrong-kind", "overtaken"};
    out["refusal"] = kWords[static_cast<std::size_t>(written.refusal)];
    out["what"] = written.what;
    out["expected"] = written.expected;
  }
  return out;
}

}  // namespace hingeline::desk
