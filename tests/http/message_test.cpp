// What needs no socket: routes, tags, assets, events as text.

#include <gtest/gtest.h>

#include <stdexcept>

#include "hingeline/http/asset.h"
#include "hingeline/http/router.h"

namespace hingeline::http {
namespace {

Handler nothing() {
  return [](const Request&) { return Response::empty(204); };
}

std::string found(const Router& router, Method method, const std::vector<std::string>& segments) {
  const Match match = router.find(method, segments);
  if (match.route == nullptr) return match.allow.empty() ? "nothing" : "only " + match.allow;
  std::string text = match.route->pattern;
  for (const Field& field : match.parameters) text += " " + field.name + "=" + field.value;
  return text;
}

TEST(Router, AWordGoesBeforeANameAndANameBeforeTheRest) {
  Router router;
  // Added in the order in which they must not be tried.
  router.add(Method::get, "/{all*}", nothing());
  router.add(Method::get, "/visits/{id}", nothing());
  router.add(Method::get, "/{kind}/new", nothing());
  router.add(Method::get, "/visits/new", nothing());
  router.add(Method::get, "/", nothing());
  EXPECT_EQ(found(router, Method::get, {"visits", "new"}), "/visits/new");
  EXPECT_EQ(found(router, Method::get, {"visits", "7"}), "/visits/{id} id=7");
  EXPECT_EQ(found(router, Method::get, {"keys", "new"}), "/{kind}/new kind=keys");
  EXPECT_EQ(found(router, Method::get, {"keys", "7", "x"}), "/{all*} all=keys/7/x");
  EXPECT_EQ(found(router, Method::get, {""}), "/");
  EXPECT_EQ(router.routes().size(), 5U);
  EXPECT_EQ(router.routes().front()->pattern, "/{all*}");
}

TEST(Router, NothingIsNotAName) {
  Router router;
  router.add(Method::get, "/visits/{id}", nothing());
  router.add(Method::get, "/files/{path*}", nothing());
  for (const std::vector<std::string>& segments : std::vector<std::vector<std::string>>{
           {"visits", ""}, {"visits"}, {"visits", "7", ""}, {"files"}, {"files", ""}, {"VISITS", "7"}}) {
    EXPECT_EQ(found(router, Method::get, segments), "nothing") << segments.back();
  }
}

TEST(Router, SaysWhatAPathAllows) {
  Router router;
  router.add(Method::put, "/visits/{id}", nothing());
  router.add(Method::remove, "/visits/{id}", nothing());
  EXPECT_EQ(found(router, Method::get, {"visits", "7"}), "only PUT, DELETE, OPTIONS");
  router.add(Method::get, "/visits/{id}", nothing());
  EXPECT_EQ(found(router, Method::head, {"visits", "7"}), "/visits/{id} id=7");
  EXPECT_EQ(found(router, Method::post, {"visits", "7"}), "only GET, HEAD, PUT, DELETE, OPTIONS");
}

TEST(Router, RefusesWhatIsNoPattern) {
  Router router;
  router.add(Method::get, "/a/{b}", nothing());
  for (const char* pattern : {"", "a", "/a{b}", "/{a}b", "/{a*}/b", "/{}x", "/x*", "/{{a}}"}) {
    EXPECT_THROW(router.add(Method::get, pattern, nothing()), std::invalid_argument) << pattern;
  }
  EXPECT_THROW(router.add(Method::get, "/a/{b}", nothing()), std::invalid_argument);
}

Request asking(Fields headers) {
  Request request;
  request.headers = std::move(headers);
  return request;
}

TEST(Tag, IsTheBytesSha256) {
  // FIPS 180-2, appendix B.1: SHA-256 of "abc" begins ba7816bf 8f01cfea 414140de 5dae2223.
  EXPECT_EQ(etag_of("abc"), "\"ba7816bf8f01cfea414140de5dae2223\"");
}

TEST(Tag, IsFoundWeakOrInAList) {
  const std::string tag = "\"a\"";
  for (const char* value : {"\"a\"", "W/\"a\"", "\"b\", \"a\"", "\"b\" ,W/\"a\"", "*"}) {
    EXPECT_TRUE(client_has(asking({{"if-none-match", value}}), tag)) << value;
  }
  for (const char* value : {"\"b\"", "a", "\"aa\"", ""}) {
    EXPECT_FALSE(client_has(asking({{"if-none-match", value}}), tag)) << value;
  }
  EXPECT_FALSE(client_has(asking({}), tag));
}

TEST(Tag, OnlyAReadingIsSpared) {
  Request request = asking({{"if-none-match", "\"a\""}});
  EXPECT_EQ(with_etag(request, Response::text(200, "x"), "\"a\"").status, 304);
  EXPECT_EQ(with_etag(request, Response::text(404, "x"), "\"a\"").status, 404);
  request.method = Method::post;
  EXPECT_EQ(with_etag(request, Response::text(200, "x"), "\"a\"").status, 200);
}

TEST(Gzip, IsTakenAsTheClientSays) {
  // RFC 9110, section 12.5.3.
  for (const char* value : {"gzip", "deflate, gzip", "GZIP;q=0.5", "*", "br;q=1.0, gzip;q=0.8, *;q=0.1"}) {
    EXPECT_TRUE(takes_gzip(asking({{"accept-encoding", value}}))) << value;
  }
  for (const char* value : {"", "br", "gzip;q=0", "gzip; q=0.000", "*;q=0", "gzip;q=0, *", "identity"}) {
    EXPECT_FALSE(takes_gzip(asking({{"accept-encoding", value}}))) << value;
  }
  EXPECT_FALSE(takes_gzip(asking({})));
}

TEST(Asset, HasTwoVariantsWithTwoTags) {
  const Asset asset{Bytes("plain"), Bytes("zipped"), "text/css; charset=utf-8", "\"t\"", "no-cache"};
  const Response plain = serve(asking({}), asset);
  EXPECT_EQ(std::get<Bytes>(plain.body).view(), "plain");
  EXPECT_EQ(plain.header("ETag"), "\"t\"");
  EXPECT_EQ(plain.header("Vary"), "accept-encoding");
  EXPECT_EQ(plain.header("Content-Encoding"), "");

  const Response zipped = serve(asking({{"accept-encoding", "gzip"}}), asset);
  EXPECT_EQ(std::get<Bytes>(zipped.body).view(), "zipped");
  EXPECT_EQ(zipped.header("ETag"), "\"t-gzip\"");
  EXPECT_EQ(zipped.header("Content-Encoding"), "gzip");
  EXPECT_EQ(zipped.header("Content-Type"), "text/css; charset=utf-8");

  const Response same = serve(asking({{"accept-encoding", "gzip"}, {"if-none-match", "\"t-gzip\""}}), asset);
  EXPECT_EQ(same.status, 304);
  EXPECT_EQ(same.header("Cache-Control"), "no-cache");
  EXPECT_EQ(same.header("Content-Type"), "");
  EXPECT_EQ(serve(asking({{"accept-encoding", "gzip"}, {"if-none-match", "\"t\""}}), asset).status, 200);
}

TEST(Guard, SaysWhoMayFrameAndEmbed) {
  const auto value = [](const Fields& fields, std::string_view name) {
    for (const Field& field : fields) {
      if (field.name == name) return field.value;
    }
    return std::string();
  };
  const Fields plain = guard_headers();
  EXPECT_NE(value(plain, "content-security-policy").find("frame-ancestors 'none'"), std::string::npos);
  EXPECT_EQ(value(plain, "content-security-policy").find("unsafe"), std::string::npos);
  EXPECT_EQ(value(plain, "x-content-type-options"), "nosniff");
  EXPECT_EQ(value(plain, "cross-origin-opener-policy"), "same-origin");
  EXPECT_EQ(value(plain, "cross-origin-resource-policy"), "same-origin");
  EXPECT_EQ(value(plain, "referrer-policy"), "no-referrer");
  EXPECT_EQ(value(plain, "strict-transport-security"), "");
  PageGuard guard;
  guard.strict_transport = 3600;
  EXPECT_EQ(value(guard_headers(guard), "strict-transport-security"), "max-age=3600");
}

TEST(Cookie, IsFoundByItsWholeName) {
  const Request request = asking({{"cookie", "aid=1; id=2;b=\"3\""}, {"cookie", "c=4=5; d="}});
  EXPECT_EQ(request.cookie("id"), "2");
  EXPECT_EQ(request.cookie("b"), "3");
  EXPECT_EQ(request.cookie("c"), "4=5");
  EXPECT_EQ(request.cookie("d"), "");
  EXPECT_EQ(request.cookie("i"), std::nullopt);
}

TEST(Headers, AreSetInPlaceOfAndAddedBeside) {
  Response response = Response::text(200, "");
  response.set("Content-Type", "a/b").add("set-cookie", "x=1").add("set-cookie", "y=2");
  EXPECT_EQ(response.header("content-type"), "a/b");
  EXPECT_EQ(response.headers.size(), 3U);
}

TEST(Event, BreaksOutOfNoLine) {
  EXPECT_EQ(wire_text({"7", "reading", "{}"}), "id: 7\nevent: reading\ndata: {}\n\n");
  EXPECT_EQ(wire_text({"", "", ""}), "data: \n\n");
  EXPECT_EQ(wire_text({"1\ndata: x", "a\r\nid: 9", "one\ntwo\r\nthree\rfour\n"}),
            "id: 1data: x\nevent: aid: 9\ndata: one\ndata: two\ndata: three\ndata: four\ndata: \n\n");
}

TEST(Event, NoMoreThanTheRulesWaits) {
  EventRules rules;
  rules.waiting_events = 2;
  const EventStream few(rules);
  EXPECT_TRUE(few.push({"", "", "a"}));
  EXPECT_TRUE(few.push({"", "", "b"}));
  EXPECT_TRUE(few.is_open());
  EXPECT_FALSE(few.push({"", "", "c"}));
  EXPECT_FALSE(few.is_open());
  EXPECT_FALSE(few.push({"", "", "d"}));

  rules = {};
  rules.waiting_bytes = 16;
  const EventStream small(rules);
  EXPECT_TRUE(small.push({"", "", "1234"}));
  EXPECT_FALSE(small.push({"", "", "1234"}));

  const EventStream closed;
  closed.close();
  EXPECT_FALSE(closed.push({"", "", "a"}));
}

}  // namespace
}  // namespace hingeline::http
