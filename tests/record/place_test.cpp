// Every error says where it is: file, JSON pointer (RFC 6901), line and column counted from 1 in characters.

#include <gtest/gtest.h>

#include "support.h"

namespace hingeline::record {
namespace {

using samples::errors_of;
using samples::shown;

struct Place {
  const char* text;
  Fault fault;
  const char* pointer;
  int line;
  int column;
  const char* what;      ///< a part of it
  const char* expected;  ///< a part of it
};

TEST(ErrorPlace, OfWhatIsNotJson) {
  const Place table[] = {
      {"", Fault::syntax, "", 1, 1, "empty", "object"},
      {" \n ", Fault::syntax, "", 2, 2, "empty", "object"},
      {"{", Fault::syntax, "", 1, 2, "too early", "brackets"},
      {"{\n  \"a\": [1,\n", Fault::syntax, "/a", 3, 1, "too early", "brackets"},
      {"{\"a\": {\"b\": [{}, {\"c\": tru", Fault::syntax, "/a/b/1", 1, 27, "too early", "brackets"},
      {"[1,,2]", Fault::syntax, "", 1, 4, "unexpected ',' at \",\"", "literal"},
      {"[1, 2,]", Fault::syntax, "", 1, 7, "unexpected ']' at \"]\"", "literal"},
      {"{\"a\": 1,}", Fault::syntax, "", 1, 9, "unexpected '}'", "string"},
      {"{\"a\" \"b\"}", Fault::syntax, "", 1, 6, "unexpected string", "':'"},
      {"{\"a\": 1 \"b\": 2}", Fault::syntax, "", 1, 9, "unexpected string", "'}'"},
      {"{\n  // no\n}", Fault::syntax, "", 2, 3, "invalid literal at \"/\"", "JSON"},
      {"[tru]", Fault::syntax, "", 1, 2, "invalid literal", "JSON"},
      {"[01]", Fault::syntax, "", 1, 3, "unexpected number", "']'"},
      {"[NaN]", Fault::syntax, "", 1, 2, "invalid literal", "JSON"},
      {"{\"a\": 'b'}", Fault::syntax, "", 1, 7, "invalid literal", "JSON"},
      {"{\"é\": é}", Fault::syntax, "", 1, 7, "invalid literal", "JSON"},
      {"[\"a\\x\"]", Fault::syntax, "", 1, 5, "invalid string", "JSON"},
      {"[\"a\nb\"]", Fault::syntax, "", 1, 4, "invalid string", "JSON"},
      {"[1e999]", Fault::syntax, "", 1, 2, "too large", "number"},
      {"{\"a\": [0, 1e999]}", Fault::syntax, "/a", 1, 11, "too large", "number"},
      {"{} {}", Fault::syntax, "", 1, 4, "unexpected '{'", "end of input"},
      {"\xEF\xBB\xBF{}", Fault::syntax, "", 1, 1, "byte order mark", "UTF-8"},
      {"{\"é\": \"\xFF\"}", Fault::syntax, "", 1, 8, "0xFF", "UTF-8"},
      {"{\"a\": 1,\n \"a\": 2}", Fault::syntax, "/a", 2, 2, "twice", "once"},
      {"{\"k\": [1, {\"a~/b\": 1, \"a~/b\": 2}]}", Fault::syntax, "/k/1/a~0~1b", 1, 23, "twice", "once"},
      {"{\"k\": [1, \"\\u0001\"]}", Fault::syntax, "/k/1", 1, 11, "control character", "plain"},
      {"{\"k\": {\"\\u0001\": 1}}", Fault::syntax, "/k/\x01", 1, 8, "control character", "plain"},
      {"7", Fault::content, "", 1, 1, "a number", "object"},
      {"\n []", Fault::content, "", 2, 2, "a list", "object"},
      {"{}", Fault::content, "", 1, 1, "\"format\" is missing", "hingeline-instrument"},
      {"{\n \"format\": \"x\"}", Fault::content, "/format", 2, 12, "another format", "hingeline-instrument"},
  };
  for (const Place& row : table) {
    const Errors errors = errors_of(Format::instrument, row.text);
    ASSERT_FALSE(errors.empty()) << row.text;
    const Error& e = errors.front();
    EXPECT_EQ(e.fault, row.fault) << row.text;
    EXPECT_EQ(e.place.file, "d.json") << row.text;
    EXPECT_EQ(e.place.pointer, row.pointer) << row.text << "\n" << shown(errors);
    EXPECT_EQ(e.place.line, row.line) << row.text << "\n" << shown(errors);
    EXPECT_EQ(e.place.column, row.column) << row.text << "\n" << shown(errors);
    EXPECT_NE(e.what.find(row.what), std::string::npos) << row.text << "\n" << shown(errors);
    EXPECT_NE(e.expected.find(row.expected), std::string::npos) << row.text << "\n" << shown(errors);
    EXPECT_EQ(samples::faults_of_form(errors, row.text), "");
  }
}

/// An instrument of a head of two lines and then this text.
std::string after_head(const std::string& rest) {
  return "{\"format\": \"hingeline-instrument\", \"version\": 1,\n\"title\": \"T\",\n" + rest;
}
/// One key of id a; its hinge is the text, which begins in line 4, column 10.
std::string with_hinge(const std::string& hinge) {
  return after_head("\"keys\": [{\"id\": \"a\",\n\"hinge\": " + hinge + "}]}");
}
/// A rod hinge with one more member; the member begins in line 5, column 1.
std::string with_member(const std::string& member) {
  return with_hinge(
      "{\"kind\": \"rod\", \"span\": \"9 mm\", \"key_length\": \"9 mm\", \"rod_diameter\": \"2 mm\", "
      "\"bore\": \"?\",\n" +
      member + "}");
}

TEST(ErrorPlace, OfContent) {
  struct Row {
    std::string text;
    Place place;
  };
  const Row table[] = {
      {after_head("\"keys\": 5}"), {"", Fault::content, "/keys", 3, 9, "a number where a list", "[ ]"}},
      {after_head("\"keys\": [5]}"), {"", Fault::content, "/keys/0", 3, 10, "where an object", "{ }"}},
      {after_head("\"keys\": [{}]}"),
       {"", Fault::content, "/keys/0", 3, 10, "\"id\" is missing", "small letters"}},
      {after_head("\"keyz\": [], \"keys\": []}"),
       {"", Fault::content, "/keyz", 3, 1, "not a member", "\"keys\""}},
      {after_head("\"keys\": [], \"a~b/c\": 0}"),
       {"", Fault::content, "/a~0b~1c", 3, 13, "not a member", ""}},
      {after_head("\"keys\": [], \"units\": \"cm\"}"),
       {"", Fault::content, "/units", 3, 22, "\"cm\"", "mm or inch"}},
      {after_head("\"keys\": [], \"note\": 4}"),
       {"", Fault::content, "/note", 3, 21, "where text", "quotes"}},
      {after_head("\"keys\": [],\n\t\"kind\": \"a\\nb\"}"),
       {"", Fault::content, "/kind", 4, 10, "newline", "one line"}},
      {with_hinge("{}"), {"", Fault::content, "/keys/0/hinge", 4, 10, "\"kind\" is missing", "pivot or rod"}},
      {with_member("\"span2\": 1"),
       {"", Fault::content, "/keys/0/hinge/span2", 5, 1, "not a member", "\"span\""}},
      {with_member("\"upper\": {\"post\": {\"web\": 3}}"),
       {"", Fault::content, "/keys/0/hinge/upper/post/web", 5, 27, "has no unit", "mm"}},
      {with_member("\"upper\": {\"post\": {\"web\": \"-1 mm\"}}"),
       {"", Fault::content, "/keys/0/hinge/upper/post/web", 5, 27, "-1 mm", ""}},
      {with_member("\"upper\": {\"post\": {\"web\": {\"value\": 1, \"unit\": \"ell\"}}}"),
       {"", Fault::content, "/keys/0/hinge/upper/post/web/unit", 5, 48, "\"ell\"", "mm, um, in or thou"}},
      {with_member("\"upper\": {\"post\": {\"web\": {\"value\": 1, \"unit\": \"mm\", \"plus_minus\": -1}}}"),
       {"", Fault::content, "/keys/0/hinge/upper/post/web/plus_minus", 5, 68, "-1", "not below 0"}},
      {with_member("\"upper\": {\"post\": {\"web\": {\"repeats\": [1, {}], \"unit\": \"mm\"}}}"),
       {"", Fault::content, "/keys/0/hinge/upper/post/web/repeats/1", 5, 43, "an object", "mm"}},
      {with_member("\"upper\": {\"post\": {\"web\": {\"origin\": \"unknown\", \"between\": [2, 1], \"unit\": "
                   "\"mm\"}}}"),
       {"", Fault::geometry, "/keys/0/hinge/upper/post/web/between", 5, 60, "low end", "[low, high]"}},
      {with_member("\"upper\": {\"post\": {\"web\": \"2 mm\", \"thickness\": \"1 mm\"}}"),
       {"", Fault::geometry, "/keys/0/hinge/upper/post/web", 5, 27, "2.000 mm", "at most 1.000 mm"}},
      {with_hinge("{\"kind\": \"rod\", \"span\": \"9 mm\", \"key_length\": \"9 mm\"}"),
       {"", Fault::geometry, "/keys/0/hinge", 4, 10, "\"rod_diameter\" is missing", "a length"}},
  };
  for (const Row& row : table) {
    const Errors errors = errors_of(Format::instrument, row.text);
    ASSERT_FALSE(errors.empty()) << row.text;
    const Error& e = errors.front();
    EXPECT_EQ(e.fault, row.place.fault) << row.text;
    EXPECT_EQ(e.place.pointer, row.place.pointer) << row.text << "\n" << shown(errors);
    EXPECT_EQ(e.place.line, row.place.line) << row.text << "\n" << shown(errors);
    EXPECT_EQ(e.place.column, row.place.column) << row.text << "\n" << shown(errors);
    EXPECT_NE(e.what.find(row.place.what), std::string::npos) << row.text << "\n" << shown(errors);
    EXPECT_NE(e.expected.find(row.place.expected), std::string::npos) << row.text << "\n" << shown(errors);
    EXPECT_EQ(samples::faults_of_form(errors, row.text), "");
  }
}

TEST(ErrorPlace, ColumnsCountCharacters) {
  const std::string text = after_head("\"note\": \"é𝄞日\", \"keys\": 5}");
  const Errors errors = errors_of(Format::instrument, text);
  ASSERT_EQ(errors.size(), 1u) << shown(errors);
  EXPECT_EQ(errors[0].place.column, 24);
}

TEST(ErrorPlace, KnownEntriesKeepTheirPlace) {
  const auto read = read_instrument(with_member("\"lower\": {\"key_end_diameter\": \"3 mm\"}"), "x.json");
  ASSERT_TRUE(read) << shown(read.error());
  const Where& place = read->keys[0].hinge.lower.key_end_diameter.place;
  EXPECT_EQ(place.file, "x.json");
  EXPECT_EQ(place.pointer, "/keys/0/hinge/lower/key_end_diameter");
  EXPECT_EQ(place.line, 5);
  EXPECT_EQ(place.column, 31);
}

TEST(ErrorPlace, AllProblemsOfAPassAreSaid) {
  const std::string text = after_head("\"keys\": [{}, {\"id\": 1}, 7], \"kind\": 5, \"zzz\": 1}");
  const Errors errors = errors_of(Format::instrument, text);
  EXPECT_GE(errors.size(), 6u) << shown(errors);
  EXPECT_EQ(samples::faults_of_form(errors, text), "");
}

TEST(ErrorPlace, NotMoreThanAPersonCanUse) {
  std::string keys;
  for (int i = 0; i < 300; ++i) keys += i == 0 ? "7" : ", 7";
  const Errors errors = errors_of(Format::instrument, after_head("\"keys\": [" + keys + "]}"));
  ASSERT_EQ(errors.size(), kMostErrors);
  EXPECT_NE(errors.back().what.find("251 more"), std::string::npos) << errors.back().what;
}

TEST(Describe, IsOneCleanLine) {
  const Error error{Fault::content, "what", "this", {"a\nb.json", "/k\x01\xFF", 3, 4}};
  EXPECT_EQ(describe(error), "a<0A>b.json:3:4: /k<01><FF>: what; expected this");
  EXPECT_EQ(describe(Error{Fault::file, "gone", "", {"x.json", "", 0, 0}}), "x.json: gone");
  EXPECT_EQ(describe(Error{Fault::usage, "what", "", {}}), "what");
}

}  // namespace
}  // namespace hingeline::record
