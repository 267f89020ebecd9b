// Nothing a document says is passed over in silence.

#include <gtest/gtest.h>

#include <set>

#include "support.h"

namespace hingeline::record {
namespace {

using samples::errors_of;
using samples::Json;
using samples::shown;

/// Pointers of all objects in a document.
void objects_in(const Json& node, const Json::json_pointer& at, std::vector<Json::json_pointer>& out) {
  if (node.is_object()) {
    out.push_back(at);
    for (const auto& [name, value] : node.items()) objects_in(value, at / name, out);
  } else if (node.is_array()) {
    for (std::size_t i = 0; i < node.size(); ++i) objects_in(node[i], at / i, out);
  }
}

struct Source {
  Format format;
  const std::string& text;
};
std::vector<Source> full_documents() {
  return {{Format::instrument, samples::full_instrument()},
          {Format::shop, samples::full_shop()},
          {Format::ledger, samples::full_ledger()},
          {Format::rig, samples::full_rig()}};
}

TEST(NothingDropped, UnknownMembersAreRefusedEverywhere) {
  std::size_t tried = 0;
  for (const Source& source : full_documents()) {
    const Json document = Json::parse(source.text);
    std::vector<Json::json_pointer> objects;
    objects_in(document, Json::json_pointer(), objects);
    for (const auto& object : objects) {
      Json changed = document;
      changed[object]["zz~z/z"] = 1;
      const std::string text = changed.dump(1);
      const Errors errors = errors_of(source.format, text);
      const std::string pointer = object.to_string() + "/zz~0z~1z";
      const bool said = std::any_of(errors.begin(), errors.end(), [&](const Error& error) {
        return error.place.pointer == pointer && error.what.find("not a member") != std::string::npos;
      });
      EXPECT_TRUE(said) << pointer << "\n" << shown(errors);
      EXPECT_EQ(samples::faults_of_form(errors, text), "");
      ++tried;
    }
  }
  EXPECT_GT(tried, 120u);
}

TEST(NothingDropped, NearNamesAreSuggested) {
  Json document = Json::parse(samples::small_instrument());
  document["keys"][0]["hinge"]["key_lenght"] = "30 mm";
  const Errors errors = errors_of(Format::instrument, document.dump(1));
  ASSERT_EQ(errors.size(), 1u) << shown(errors);
  EXPECT_EQ(errors[0].expected, "\"key_length\"");
}

/// The text with every member of the object named twice, one at a time: the same name and value again.
TEST(NothingDropped, DuplicateNamesAreRefusedEverywhere) {
  std::size_t tried = 0;
  for (const Source& source : full_documents()) {
    const std::string text = Json::parse(source.text).dump(1);
    // In this form each member begins its own line.
    for (std::size_t at = text.find("\n"); at != std::string::npos; at = text.find('\n', at + 1)) {
      const std::size_t name = text.find_first_not_of(" \n", at);
      const std::size_t end = text.find("\": ", at);
      if (name == std::string::npos || text[name] != '"' || end == std::string::npos) continue;
      if (text.find('\n', at + 1) < end) continue;
      const std::string member = text.substr(name, end - name) + "\": 0, ";
      std::string twice = text;
      twice.insert(name, member);
      const Errors errors = errors_of(source.format, twice);
      ASSERT_FALSE(errors.empty()) << member;
      EXPECT_NE(errors[0].what.find("stands twice"), std::string::npos) << shown(errors);
      EXPECT_EQ(samples::faults_of_form(errors, twice), "");
      ++tried;
    }
  }
  EXPECT_GT(tried, 400u);
}

TEST(NothingDropped, EscapedNamesAreTheSameName) {
  std::string text = samples::small_instrument();
  text.insert(text.find("\"title\""), "\"\\u0074itle\": \"again\", ");
  const Errors errors = errors_of(Format::instrument, text);
  ASSERT_EQ(errors.size(), 1u) << shown(errors);
  EXPECT_EQ(errors[0].place.pointer, "/title");
}

TEST(NothingDropped, NewerVersionsAreRefusedNamingBoth) {
  for (const Source& source : full_documents()) {
    for (const char* version : {"2", "17", "99999999999999999999"}) {
      Json document = Json::parse(source.text);
      document["version"] = 4242;
      document["something_new"] = true;  // Must not be called wrong: the newer format may have it.
      std::string text = document.dump(1);
      text.replace(text.find("4242"), 4, version);
      const Errors errors = errors_of(source.format, text);
      ASSERT_EQ(errors.size(), 1u) << shown(errors);
      EXPECT_EQ(errors[0].fault, Fault::version);
      EXPECT_EQ(errors[0].place.pointer, "/version");
      EXPECT_NE(errors[0].what.find(version), std::string::npos) << errors[0].what;
      EXPECT_NE(errors[0].what.find("up to " + std::to_string(kVersion)), std::string::npos)
          << errors[0].what;
      EXPECT_EQ(samples::faults_of_form(errors, text), "");
    }
  }
}

TEST(NothingDropped, OtherVersionsAndFormatsAreRefused) {
  for (const char* version : {"0", "-1", "1.5", "1.0", "1e0", "\"1\"", "null", "[1]", "true"}) {
    std::string text = samples::small_instrument();
    text.replace(text.find("\"version\": 1") + 11, 1, version);
    const Errors errors = errors_of(Format::instrument, text);
    ASSERT_EQ(errors.size(), 1u) << version << "\n" << shown(errors);
    EXPECT_EQ(errors[0].place.pointer, "/version");
  }
  EXPECT_EQ(errors_of(Format::shop, samples::full_instrument()).at(0).place.pointer, "/format");
  EXPECT_EQ(errors_of(Format::instrument, samples::full_shop()).at(0).place.pointer, "/format");
  EXPECT_EQ(errors_of(Format::ledger, samples::full_shop()).at(0).place.pointer, "/format");
  EXPECT_EQ(errors_of(Format::shop, samples::full_ledger()).at(0).place.pointer, "/format");
  EXPECT_EQ(errors_of(Format::rig, samples::full_ledger()).at(0).place.pointer, "/format");
}

/// Every property the schema knows, as "definition.name", that stands in the document.
void members_seen(const Json& schema, const Json& shape, const std::string& definition, const Json& node,
                  std::set<std::string>& seen) {
  if (shape.contains("$ref")) {
    const std::string name = shape["$ref"].get<std::string>().substr(std::string("#/$defs/").size());
    return members_seen(schema, schema["$defs"][name], name, node, seen);
  }
  if (shape.contains("items") && node.is_array()) {
    for (const Json& item : node) members_seen(schema, shape["items"], definition, item, seen);
  }
  if (!shape.contains("properties") || !node.is_object()) return;
  for (const auto& [name, value] : node.items()) {
    if (!shape["properties"].contains(name)) continue;
    seen.insert(definition + "." + name);
    members_seen(schema, shape["properties"][name], definition, value, seen);
  }
}

/// The other tests look at what stands in the full documents: it must be everything.
TEST(NothingDropped, FullDocumentsHoldEveryMember) {
  std::set<std::string> seen;
  std::set<std::string> all;
  for (const Source& source : full_documents()) {
    const Json schema = Json::parse(schema_text(source.format));
    members_seen(schema, schema, "", Json::parse(source.text), seen);
    for (const auto& [name, unused] : schema["properties"].items()) all.insert("." + name);
    for (const auto& [definition, shape] : schema["$defs"].items()) {
      if (!shape.contains("properties") || shape["properties"].contains("origin") || definition == "pairs")
        continue;
      for (const auto& [name, unused] : shape["properties"].items()) all.insert(definition + "." + name);
    }
  }
  for (const std::string& name : all) EXPECT_TRUE(seen.contains(name)) << name;
  EXPECT_GT(all.size(), 150u);
}

}  // namespace
}  // namespace hingeline::record
