// Requests that two readers could take for different ones: all refused, and nothing behind them is read.

#include "client.h"

namespace hingeline::http {
namespace {

struct Case {
  const char* what;
  std::string request;
  int status;
};

std::string with(const std::string& headers, const std::string& body) {
  return "POST /echo HTTP/1.1\r\nHost: localhost\r\n" + headers + "\r\n" + body;
}

std::vector<Case> cases() {
  const std::string chunked = "Transfer-Encoding: chunked\r\n";
  const std::string end = "0\r\n\r\n";
  return {
      {"a length and chunks", with("Content-Length: 5\r\n" + chunked, end), 400},
      {"chunks and a length", with(chunked + "Content-Length: 5\r\n", end), 400},
      {"two lengths", with("Content-Length: 5\r\nContent-Length: 6\r\n", "hello"), 400},
      {"the same length twice", with("Content-Length: 5\r\nContent-Length: 5\r\n", "hello"), 400},
      {"a list of lengths", with("Content-Length: 5, 5\r\n", "hello"), 400},
      {"a negative length", with("Content-Length: -5\r\n", "hello"), 400},
      {"a length with a sign", with("Content-Length: +5\r\n", "hello"), 400},
      {"a length in hex", with("Content-Length: 0x5\r\n", "hello"), 400},
      {"a length with a blank", with("Content-Length: 5 5\r\n", "hello"), 400},
      {"an empty length", with("Content-Length:\r\n", "hello"), 400},
      {"a length beyond 64 bits", with("Content-Length: 18446744073709551621\r\n", "hello"), 400},
      {"a blank before the colon", with("Content-Length : 5\r\n", "hello"), 400},
      {"a header over two lines", with("X: a\r\n b\r\nContent-Length: 5\r\n", "hello"), 400},
      {"a coding over two lines", with("Transfer-Encoding:\r\n chunked\r\n", end), 400},
      {"a coding that is not known", with("Transfer-Encoding: gzip\r\n", end), 501},
      {"chunked and not the last", with("Transfer-Encoding: chunked, gzip\r\n", end), 501},
      {"chunked but not the first", with("Transfer-Encoding: gzip, chunked\r\n", end), 501},
      {"chunked by another name", with("Transfer-Encoding: xchunked\r\n", end), 501},
      {"chunked in quotes", with("Transfer-Encoding: \"chunked\"\r\n", end), 501},
      {"chunked with a form feed",
       with("Transfer-Encoding: \x0C"
            "chunked\r\n",
            end),
       400},
      {"chunked twice", with(chunked + chunked, end), 400},
      {"a chunk's size that is none", with(chunked, "x\r\nhello\r\n" + end), 400},
      {"a chunk's size with 0x", with(chunked, "0x5\r\nhello\r\n" + end), 400},
      {"a chunk's size with a sign", with(chunked, "+5\r\nhello\r\n" + end), 400},
      {"a chunk's size beyond 64 bits", with(chunked, "10000000000000005\r\nhello\r\n" + end), 400},
      {"a chunk longer than its size", with(chunked, "4\r\nhello\r\n" + end), 400},
      {"a chunk without its line end", with(chunked, "5\r\nhello0\r\n\r\n"), 400},
      {"chunks with bare line feeds", with(chunked, "5\nhello\n0\n\n\r\n\r\n"), 400},
      {"a bare carriage return in a chunk's line", with(chunked, "5\rX\r\nhello\r\n" + end), 400},
      {"a length among the trailers", with(chunked, "1\r\nx\r\n0\r\nContent-Length: 5\r\n\r\n"), 400},
      {"trailers that are none", with(chunked, "1\r\nx\r\n0\r\na b\r\n\r\n"), 400},
      {"bare line feeds", "GET /hello HTTP/1.1\nHost: localhost\n\n", 400},
      {"one bare line feed", "GET /hello HTTP/1.1\r\nHost: localhost\nX: y\r\n\r\n", 400},
      {"a bare carriage return", "GET /hello HTTP/1.1\r\nHost: localhost\rX: y\r\n\r\n", 400},
      {"a NUL", get("/hello", std::string("X: a\0b\r\n", 8)), 400},
      {"a header without a name", "GET /hello HTTP/1.1\r\nHost: localhost\r\n: y\r\n\r\n", 400},
      {"a header without a colon", "GET /hello HTTP/1.1\r\nHost: localhost\r\nX\r\n\r\n", 400},
      {"two blanks in the request line", "GET  /hello HTTP/1.1\r\nHost: localhost\r\n\r\n", 400},
      {"no version", "GET /hello\r\nHost: localhost\r\n\r\n", 400},
      {"another version", "GET /hello HTTP/2.0\r\nHost: localhost\r\n\r\n", 505},
      {"a version with blanks behind it", "GET /hello HTTP/1.1 \r\nHost: localhost\r\n\r\n", 505},
      {"HTTP/1.0 in chunks", "POST /echo HTTP/1.0\r\nHost: localhost\r\n" + chunked + "\r\n" + end, 400},
      {"two empty lines before it", "\r\n\r\n" + get("/hello"), 400},
      {"a TLS greeting", std::string("\x16\x03\x01\x02", 4), 400},
      {"CONNECT", "CONNECT localhost:80 HTTP/1.1\r\nHost: localhost\r\n\r\n", 501},
      {"TRACE", ask("TRACE", "/hello"), 501},
      {"a method in small letters", ask("get", "/hello"), 501},
      {"the preface of HTTP/2", "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n", 505},
  };
}

TEST(Framing, WhatCouldBeReadInTwoWaysIsRefusedAndEndsTheConnection) {
  Rig rig;
  rig.start();
  std::uint64_t before = 0;
  for (const Case& one : cases()) {
    Client client = rig.client();
    client.send(one.request + get("/items/smuggled"));
    const std::optional<Answer> answer = client.read();
    ASSERT_TRUE(answer) << one.what;
    EXPECT_EQ(answer->status, one.status) << one.what;
    EXPECT_EQ(answer->header("connection"), "close") << one.what;
    EXPECT_EQ(client.read_to_end(), "") << one.what;
    EXPECT_FALSE(client.was_reset()) << one.what;
    const Counters counters = rig.server->counters();
    const std::uint64_t refused = counters.refused_for(Refused::syntax) +
                                  counters.refused_for(Refused::framing) +
                                  counters.refused_for(Refused::method);
    EXPECT_EQ(refused, ++before) << one.what;
  }
  EXPECT_TRUE(rig.serves());
}

TEST(Framing, ABodyThatEndsEarlyReachesNoHandler) {
  Rig rig;
  std::atomic<int> ran{0};
  rig.router.add(Method::post, "/count", [&](const Request&) {
    ++ran;
    return Response::empty(204);
  });
  rig.start();
  for (const std::string& request :
       {ask("POST", "/count", "Content-Length: 10\r\n") + "short",
        ask("POST", "/count", "Transfer-Encoding: chunked\r\n") + "5\r\nhel",
        ask("POST", "/count", "Transfer-Encoding: chunked\r\n") + "5\r\nhello\r\n",
        std::string("POST /count HT")}) {
    Client client = rig.client();
    client.send(request);
    client.say_no_more();
    EXPECT_EQ(client.read_to_end(), "");
  }
  EXPECT_EQ(ran, 0);
  EXPECT_EQ(rig.server->counters().body_bytes_now, 0U);
}

}  // namespace
}  // namespace hingeline::http
