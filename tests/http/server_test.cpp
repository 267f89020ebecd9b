// What a client that behaves gets.

#include "client.h"

#include "hingeline/http/asset.h"

namespace hingeline::http {
namespace {

TEST(Serves, ARequest) {
  Rig rig;
  rig.settings.headers = guard_headers();
  rig.start();
  Client client = rig.client();
  client.send(get("/hello"));
  const std::optional<Answer> answer = client.read();
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->status, 200);
  EXPECT_EQ(answer->body, "hello");
  EXPECT_EQ(answer->header("content-type"), "text/plain; charset=utf-8");
  EXPECT_EQ(answer->header("x-content-type-options"), "nosniff");
  EXPECT_EQ(answer->header("connection"), "");
  // RFC 9110, section 5.6.7: "Sun, 06 Nov 1994 08:49:37 GMT".
  EXPECT_EQ(answer->header("date").size(), 29U);
  EXPECT_EQ(answer->header("date").substr(25), " GMT");
}

TEST(Serves, SeveralOnOneConnection) {
  Rig rig;
  rig.start();
  Client client = rig.client();
  for (int i = 0; i < 100; ++i) {
    client.send(get("/items/" + std::to_string(i)));
    const std::optional<Answer> answer = client.read();
    ASSERT_TRUE(answer);
    EXPECT_EQ(answer->body, std::to_string(i));
  }
  EXPECT_EQ(rig.server->counters().connections, 1U);
}

TEST(Serves, PipelinedRequestsInTheirOrder) {
  Rig rig;
  rig.start();
  Client client = rig.client();
  std::string all;
  for (int i = 0; i < 200; ++i) {
    all += i % 2 == 0 ? get("/items/" + std::to_string(i)) : post("/echo", "body " + std::to_string(i));
  }
  client.send(all);
  for (int i = 0; i < 200; ++i) {
    const std::optional<Answer> answer = client.read();
    ASSERT_TRUE(answer) << i;
    EXPECT_EQ(answer->body, (i % 2 == 0 ? "" : "body ") + std::to_string(i));
  }
}

TEST(Serves, AnswersThatStayInOrderWhenTheFirstTakesLong) {
  Rig rig;
  rig.start();
  Client client = rig.client();
  client.send(get("/gate") + get("/hello"));
  ASSERT_TRUE(rig.gate.waits_for(1));
  EXPECT_TRUE(rig.serves());
  EXPECT_EQ(client.unread(), "");
  rig.gate.open();
  EXPECT_EQ(client.read()->body, "through");
  EXPECT_EQ(client.read()->body, "hello");
}

TEST(Serves, HeadWithTheLengthButNotTheBody) {
  Rig rig;
  rig.start();
  Client client = rig.client();
  client.send(ask("HEAD", "/hello") + get("/items/next") + ask("HEAD", "/none") + get("/items/last"));
  std::optional<Answer> answer = client.read(true);
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->status, 200);
  EXPECT_EQ(answer->header("content-length"), "5");
  EXPECT_EQ(client.read()->body, "next");
  EXPECT_EQ(client.read(true)->status, 404);
  EXPECT_EQ(client.read()->body, "last");
}

TEST(Serves, OptionsAndWhatIsNotAllowed) {
  Rig rig;
  rig.start();
  Client client = rig.client();
  client.send(ask("OPTIONS", "/hello"));
  std::optional<Answer> answer = client.read();
  EXPECT_EQ(answer->status, 204);
  EXPECT_EQ(answer->header("allow"), "GET, HEAD, OPTIONS");
  EXPECT_EQ(answer->header("content-length"), "");
  client.send(ask("OPTIONS", "*"));
  EXPECT_EQ(client.read()->status, 204);
  client.send(ask("DELETE", "/echo"));
  answer = client.read();
  EXPECT_EQ(answer->status, 405);
  EXPECT_EQ(answer->header("allow"), "POST, OPTIONS");
  EXPECT_EQ(client.status(get("/nowhere")), 404);
  EXPECT_EQ(client.status(get("/hello/")), 404);
}

TEST(Serves, AClientThatWantsToLeave) {
  Rig rig;
  rig.start();
  Client client = rig.client();
  client.send(get("/hello", "Connection: Close\r\n"));
  EXPECT_EQ(client.read()->header("connection"), "close");
  EXPECT_EQ(client.read_to_end(), "");
  EXPECT_FALSE(client.was_reset());

  Client old = rig.client();
  old.send("GET /hello HTTP/1.0\r\nHost: localhost\r\n\r\n");
  EXPECT_EQ(old.read()->body, "hello");
  EXPECT_EQ(old.read_to_end(), "");

  Client half = rig.client();
  half.send(get("/hello"));
  half.say_no_more();
  EXPECT_EQ(half.read()->body, "hello");
  EXPECT_EQ(half.read_to_end(), "");
}

TEST(Serves, ManyRequestsButNotForEver) {
  Rig rig;
  rig.settings.limits.requests_per_connection = 3;
  rig.start();
  Client client = rig.client();
  client.send(get("/hello") + get("/hello") + get("/hello") + get("/hello"));
  EXPECT_EQ(client.read()->header("connection"), "");
  EXPECT_EQ(client.read()->header("connection"), "");
  EXPECT_EQ(client.read()->header("connection"), "close");
  EXPECT_EQ(client.read_to_end(), "");
}

// What the handler saw, as text.
std::string seen(const Rig& rig, const std::string& request) {
  Client client = rig.client();
  client.send(request);
  const std::optional<Answer> answer = client.read();
  return answer ? std::to_string(answer->status) + " " + answer->body : "";
}

TEST(Takes, ARequestApart) {
  Rig rig;
  rig.router.add(Method::get, "/show/{name}/{rest*}", [](const Request& request) {
    std::string text =
        request.host + "|" + request.peer + "|" + request.route + "|" + (request.secure ? "s" : "p");
    for (const Field& field : request.parameters) text += "|" + field.name + "=" + field.value;
    for (const Field& field : request.query) text += "|" + field.name + "?" + field.value;
    text +=
        "|" + std::string(request.header("x-thing")) + "|" + std::string(request.asked("b").value_or("none"));
    return Response::text(200, text);
  });
  rig.start();
  EXPECT_EQ(seen(rig,
                 "GET /show/caf%C3%A9/a%20b/c+d?a=1+2&b=%26&&c&=x HTTP/1.1\r\nhOST:  LocalHost:80 \r\n"
                 "X-Thing: \t one two \t\r\n\r\n"),
            "200 localhost|127.0.0.1|/show/{name}/{rest*}|p|name=caf\xC3\xA9|rest=a b/c+d|a?1 "
            "2|b?&|c?|?x|one two|&");
  EXPECT_EQ(seen(rig, "\r\n" + get("/hello")), "200 hello");
}

TEST(Takes, NoNonsenseForAPath) {
  Rig rig;
  rig.start();
  for (const char* target : {"/items/%",
                             "/items/%4",
                             "/items/%G1",
                             "/items/%00",
                             "/items/..",
                             "/items/%2e%2E",
                             "/items/.",
                             "/../hello",
                             "/items/a%2Fb",
                             "/items/a%5Cb",
                             "/items/%0Aa",
                             "/items/%7F",
                             "/items/%FF",
                             "/items/%C0%AF",
                             "/items/%ED%A0%80",
                             "/items/%F4%90%80%80",
                             "/items/%E2%82",
                             "/hello?a=%",
                             "/hello?a=%00",
                             "/hello?%FF=1",
                             "/hello#a",
                             "hello",
                             "*",
                             "ftp://localhost/hello",
                             "https://localhost/hello",
                             "http:/hello"}) {
    EXPECT_EQ(seen(rig, get(target)).substr(0, 3), "400") << target;
  }
  EXPECT_EQ(seen(rig, get("/items/%F0%9F%8E%B7")), "200 \xF0\x9F\x8E\xB7");
  EXPECT_EQ(seen(rig, get("/items/...")), "200 ...");
}

TEST(Takes, AHostOfItsOwn) {
  Rig rig;
  rig.settings.allowed_hosts = {"Bench.example", "127.0.0.1", "[::1]"};
  rig.start();
  const auto with = [&](const std::string& target, const std::string& host) {
    return seen(rig, "GET " + target + " HTTP/1.1\r\n" + host + "\r\n").substr(0, 3);
  };
  EXPECT_EQ(with("/hello", "Host: bench.EXAMPLE\r\n"), "200");
  EXPECT_EQ(with("/hello", "Host: bench.example:8443\r\n"), "200");
  EXPECT_EQ(with("/hello", "Host: [::1]:80\r\n"), "200");
  for (const char* host : {"evil.example", "bench.example.evil.example", "localhost", "127.0.0.2", "[::2]"}) {
    EXPECT_EQ(with("/hello", "Host: " + std::string(host) + "\r\n"), "421") << host;
  }
  for (const char* host : {"Host:\r\n", "Host: a b\r\n", "Host: bench.example:x\r\n",
                           "Host: bench.example:123456\r\n", "Host: u@bench.example\r\n", "Host: [::1\r\n",
                           "Host: []\r\n", "", "Host: bench.example\r\nHost: bench.example\r\n"}) {
    EXPECT_EQ(with("/hello", host), "400") << host;
  }
  // The target's host goes before the header's (RFC 9112, section 3.2.2).
  EXPECT_EQ(with("http://bench.example/hello", "Host: evil.example\r\n"), "200");
  EXPECT_EQ(with("HTTP://bench.example:1/hello", "Host: bench.example\r\n"), "200");
  EXPECT_EQ(with("http://evil.example/hello", "Host: bench.example\r\n"), "421");
  EXPECT_EQ(with("http://bench.example", "Host: bench.example\r\n"), "404");
  EXPECT_EQ(with("http://bench.example@evil.example/", "Host: bench.example\r\n"), "400");
  EXPECT_EQ(rig.refused(Refused::host), 5U + 9U + 2U);
}

TEST(Takes, BodiesByLengthAndInChunks) {
  Rig rig;
  rig.start();
  const std::string big(1U << 20U, 'x');
  EXPECT_EQ(seen(rig, post("/echo", big)), "200 " + big);
  EXPECT_EQ(seen(rig, post("/echo", "")), "200 ");
  const std::string chunked = ask("POST", "/echo", "Transfer-Encoding: Chunked\r\n");
  EXPECT_EQ(seen(rig, chunked + "5\r\nhello\r\n6;a=b;c=\"d\"\r\n world\r\n000\r\n\r\n"), "200 hello world");
  EXPECT_EQ(seen(rig, chunked + "0\r\n\r\n"), "200 ");
  EXPECT_EQ(seen(rig, chunked + "1\r\nx\r\n0\r\nX-Trailer: 1\r\nHost: evil.example\r\n\r\n"), "200 x");
}

TEST(Takes, ChunksHoweverTheyAreCut) {
  Rig rig;
  rig.start();
  const std::string head = ask("POST", "/echo", "Transfer-Encoding: chunked\r\n");
  const std::string body = "5\r\nhello\r\n1\r\n!\r\n0\r\n\r\n";
  Client client = rig.client();
  const auto take = [&](const std::vector<std::string>& parts) {
    for (const std::string& part : parts) {
      const std::uint64_t before = rig.server->counters().bytes_in;
      client.send(part);
      // The server has this part before the next is sent.
      EXPECT_TRUE(becomes([&] { return rig.server->counters().bytes_in >= before + part.size(); }));
    }
    const std::optional<Answer> answer = client.read();
    return answer ? answer->body : "";
  };
  for (std::size_t cut = 1; cut < body.size(); ++cut) {
    EXPECT_EQ(take({head + body.substr(0, cut), body.substr(cut)}), "hello!") << cut;
  }
  std::vector<std::string> single{head};
  for (const char c : body) single.emplace_back(1, c);
  EXPECT_EQ(take(single), "hello!");
  // The same with nothing but the end.
  EXPECT_EQ(take({head, "0", "\r", "\n", "\r", "\n"}), "");
  EXPECT_EQ(take({head + "0\r\n", "\r", "\n"}), "");
}

TEST(Takes, TheHeadByteByByte) {
  Rig rig;
  rig.start();
  Client client = rig.client();
  for (const char c : "\r\n" + get("/items/slow")) client.send({&c, 1});
  EXPECT_EQ(client.read()->body, "slow");
}

TEST(Continue, IsSaidBeforeTheBody) {
  Rig rig;
  rig.start();
  Client client = rig.client();
  client.send(ask("POST", "/echo", "Expect: 100-Continue\r\nContent-Length: 4\r\n"));
  EXPECT_EQ(client.read()->status, 100);
  client.send("body");
  EXPECT_EQ(client.read()->body, "body");
  // With the body there already nothing needs to be said.
  client.send(ask("POST", "/echo", "Expect: 100-continue\r\nContent-Length: 4\r\n") + "next");
  EXPECT_EQ(client.read()->body, "next");
  client.send(ask("GET", "/hello", "Expect: 100-continue\r\n"));
  EXPECT_EQ(client.read()->body, "hello");
}

TEST(Continue, IsNotSaidToWhatIsRefused) {
  Rig rig;
  rig.settings.limits.body_bytes = 10;
  rig.start();
  for (const auto& [request, status] : std::vector<std::pair<std::string, int>>{
           {ask("POST", "/echo", "Expect: 100-continue\r\nContent-Length: 11\r\n"), 413},
           {ask("POST", "/none", "Expect: 100-continue\r\nContent-Length: 4\r\n"), 404},
           {ask("POST", "/hello", "Expect: 100-continue\r\nContent-Length: 4\r\n"), 405},
           {ask("POST", "/echo", "Expect: wonders\r\nContent-Length: 4\r\n"), 417}}) {
    Client client = rig.client();
    client.send(request);
    const std::optional<Answer> answer = client.read();
    ASSERT_TRUE(answer);
    EXPECT_EQ(answer->status, status);
    EXPECT_EQ(answer->header("connection"), "close");
    EXPECT_EQ(client.read_to_end(), "");
  }
}

TEST(Handlers, ThatThrowOrSayTheImpossibleAreAnswered500) {
  Rig rig;
  rig.router.add(Method::get, "/throws",
                 [](const Request&) -> Response { throw std::runtime_error("a reason"); });
  rig.router.add(Method::get, "/number", [](const Request&) -> Response { throw 7; });
  rig.router.add(Method::get, "/status", [](const Request&) { return Response::empty(99); });
  rig.router.add(Method::get, "/inject", [](const Request& request) {
    return Response::empty(200).set("x-name", std::string(request.asked("n").value_or("")));
  });
  rig.router.add(Method::get, "/name", [](const Request&) { return Response::empty(200).set("a: b", "c"); });
  rig.router.add(Method::get, "/own",
                 [](const Request&) { return Response::empty(200).set("Content-Length", "3"); });
  rig.start();
  Client client = rig.client();
  EXPECT_EQ(client.status(get("/inject?n=fine")), 200);
  for (const char* target :
       {"/throws", "/number", "/status", "/inject?n=a%0D%0Aset-cookie:%20b", "/name", "/own"}) {
    client.send(get(target));
    const std::optional<Answer> answer = client.read();
    ASSERT_TRUE(answer) << target;
    EXPECT_EQ(answer->status, 500) << target;
    EXPECT_EQ(answer->body.find("reason"), std::string::npos);
    EXPECT_EQ(answer->header("set-cookie"), "");
  }
  const std::vector<LogEntry> log = rig.log(7);
  EXPECT_EQ(log[1].fault, "a reason");
  EXPECT_EQ(log[1].route, "/throws");
  EXPECT_NE(log[2].fault, "");
  EXPECT_EQ(log[0].fault, "");
}

TEST(Bodies, MayBeSharedAndLarge) {
  Rig rig;
  const Bytes shared(std::string(8U << 20U, 'y'));
  rig.router.add(Method::get, "/big", [&](const Request&) {
    Response response;
    response.body = shared;
    return response;
  });
  rig.router.add(Method::get, "/none", [](const Request&) { return Response::text(204, "ignored"); });
  rig.start();
  Client client = rig.client();
  client.send(get("/big") + get("/none") + get("/hello"));
  EXPECT_EQ(client.read()->body, shared.view());
  EXPECT_EQ(client.read()->status, 204);
  EXPECT_EQ(client.read()->body, "hello");
}

TEST(Assets, AreServedOnceAndThenKnown) {
  Rig rig;
  const Asset asset{Bytes("plain"), Bytes("zipped"), "text/css", etag_of("plain"), "no-cache"};
  rig.router.add(Method::get, "/style.css", [&](const Request& request) { return serve(request, asset); });
  rig.start();
  Client client = rig.client();
  client.send(get("/style.css", "Accept-Encoding: gzip\r\n"));
  const std::optional<Answer> first = client.read();
  ASSERT_TRUE(first);
  EXPECT_EQ(first->body, "zipped");
  client.send(get("/style.css", "Accept-Encoding: gzip\r\nIf-None-Match: " + first->header("etag") + "\r\n"));
  const std::optional<Answer> second = client.read();
  EXPECT_EQ(second->status, 304);
  EXPECT_EQ(second->header("etag"), first->header("etag"));
  EXPECT_EQ(second->header("content-length"), "");
  EXPECT_EQ(client.status(get("/hello")), 200);
}

TEST(Refusals, AreWordedByTheSettings) {
  Rig rig;
  rig.settings.refusal = [](int status, std::string_view why) {
    if (status == 405) return Response::empty(405).set("bad name", "x");
    return Response::json(200, "{\"why\": \"" + std::string(why) + "\"}");
  };
  rig.start();
  Client client = rig.client();
  client.send(get("/nowhere") + ask("PUT", "/hello"));
  std::optional<Answer> answer = client.read();
  EXPECT_EQ(answer->status, 404);
  EXPECT_EQ(answer->header("content-type"), "application/json");
  EXPECT_EQ(answer->body, "{\"why\": \"There is nothing here\"}");
  // One that cannot be sent is put into plain words.
  answer = client.read();
  EXPECT_EQ(answer->status, 405);
  EXPECT_EQ(answer->header("content-type"), "text/plain; charset=utf-8");
}

TEST(Log, NamesTheRouteAndNotThePath) {
  Rig rig;
  rig.start();
  Client client = rig.client();
  client.send(get("/items/secret") + get("/secret") + "SECRET / HTTP/1.1\r\n\r\n");
  const std::vector<LogEntry> log = rig.log(3);
  EXPECT_EQ(log[0].method, "GET");
  EXPECT_EQ(log[0].route, "/items/{id}");
  EXPECT_EQ(log[0].status, 200);
  EXPECT_EQ(log[0].peer, "127.0.0.1");
  EXPECT_EQ(log[1].route, "-");
  EXPECT_EQ(log[1].status, 404);
  EXPECT_EQ(log[2].method, "-");
  EXPECT_EQ(log[2].status, 501);
  EXPECT_EQ(log[2].refused, Refused::method);
  const std::string answers = client.read_to_end();
  EXPECT_EQ(log[0].bytes + log[1].bytes + log[2].bytes, answers.size());
  const Counters counters = rig.server->counters();
  EXPECT_EQ(counters.bytes_out, answers.size());
  EXPECT_EQ(counters.answers, (std::array<std::uint64_t, 6>{0, 0, 1, 0, 1, 1}));
  std::uint64_t timed = 0;
  for (const std::uint64_t bucket : counters.times) timed += bucket;
  EXPECT_EQ(timed, 1U);
  client.close();
  EXPECT_TRUE(becomes([&] { return rig.server->counters().connections_now == 0; }));
}

TEST(Start, RefusesWhatItCannotDo) {
  const auto fault = [](Settings settings) {
    const Expected<std::unique_ptr<Server>> started = Server::start(Router{}, std::move(settings));
    return started ? std::optional<Fault>{} : started.error().fault;
  };
  Settings settings;
  settings.listen = {{"localhost", 0, false}};
  EXPECT_EQ(fault(settings), Fault::usage);
  settings.listen = {{"0.0.0.0", 0, false}};
  EXPECT_EQ(fault(settings), Fault::usage);
  settings.listen = {{"127.0.0.1", 0, true}};
  EXPECT_EQ(fault(settings), Fault::usage);
  settings.certificate = Certificate{"/nowhere/chain.pem", "/nowhere/key.pem"};
  EXPECT_EQ(fault(settings), Fault::file);
  settings = {};
  settings.workers = 0;
  EXPECT_EQ(fault(settings), Fault::usage);
  settings = {};
  settings.headers = {{"date", "today"}};
  EXPECT_EQ(fault(settings), Fault::usage);

  Rig rig;
  rig.start();
  settings = {};
  settings.listen = {{"127.0.0.1", 0, false}, {"127.0.0.1", rig.port(), false}};
  EXPECT_EQ(fault(settings), Fault::file);
}

TEST(Start, ListensOnSeveralAddresses) {
  Rig rig;
  rig.settings.listen = {{"127.0.0.1", 0, false}, {"127.0.0.1", 0, false}};
  rig.start();
  EXPECT_NE(rig.port(0), rig.port(1));
  EXPECT_EQ(Client(rig.port(0)).status(get("/hello")), 200);
  EXPECT_EQ(Client(rig.port(1)).status(get("/hello")), 200);
}

}  // namespace
}  // namespace hingeline::http
