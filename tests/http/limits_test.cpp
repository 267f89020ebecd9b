// Clients that take too much or too long, and those beside them that are served all the same.

#include <sys/resource.h>

#include "client.h"

namespace hingeline::http {
namespace {

using std::chrono::milliseconds;

int answered(const Rig& rig, const std::string& request) {
  Client client = rig.client();
  const int status = client.status(request);
  EXPECT_EQ(client.read_to_end(), "");
  EXPECT_FALSE(client.was_reset());
  return status;
}

TEST(Limits, OfTheRequestLine) {
  Rig rig;
  rig.settings.limits.line_bytes = 100;
  rig.start();
  // "GET /items/" and " HTTP/1.1\r\n" are 11 bytes each.
  EXPECT_EQ(rig.client().status(get("/items/" + std::string(78, 'a'))), 200);
  EXPECT_EQ(answered(rig, get("/items/" + std::string(79, 'a'))), 414);
  EXPECT_EQ(answered(rig, std::string(101, 'G')), 414);
  EXPECT_EQ(rig.refused(Refused::long_line), 2U);
}

TEST(Limits, OfTheHeaders) {
  Rig rig;
  rig.settings.limits.header_bytes = 1000;
  rig.settings.limits.header_count = 10;
  rig.start();
  EXPECT_EQ(answered(rig, get("/hello", "X: " + std::string(1000, 'a') + "\r\n")), 431);
  std::string many;
  for (int i = 0; i < 9; ++i) many += "X: y\r\n";
  EXPECT_EQ(rig.client().status(get("/hello", many)), 200);
  EXPECT_EQ(answered(rig, get("/hello", many + "X: y\r\n")), 431);
  EXPECT_EQ(answered(rig, "GET /hello HTTP/1.1\r\n" + std::string(100000, 'X')), 431);
  const std::string line = get("/hello", "X: \r\n");
  EXPECT_EQ(rig.client().status(get("/hello", "X: " + std::string(1000 - line.size(), 'a') + "\r\n")), 200);
  EXPECT_EQ(answered(rig, get("/hello", "X: " + std::string(1001 - line.size(), 'a') + "\r\n")), 431);
  EXPECT_EQ(rig.refused(Refused::big_headers), 4U);
}

TEST(Limits, OfABodyAndOfItsRoute) {
  Rig rig;
  rig.settings.limits.body_bytes = 1000;
  rig.router.add(Method::post, "/photo",
                 [](const Request& r) { return Response::text(200, std::to_string(r.body.size())); },
                 {.body_bytes = 5000});
  rig.start();
  EXPECT_EQ(rig.client().status(post("/echo", std::string(1000, 'x'))), 200);
  EXPECT_EQ(answered(rig, post("/echo", std::string(1001, 'x'))), 413);
  EXPECT_EQ(rig.client().status(post("/photo", std::string(5000, 'x'))), 200);
  EXPECT_EQ(answered(rig, post("/photo", std::string(5001, 'x'))), 413);
  EXPECT_EQ(answered(rig, ask("POST", "/echo", "Content-Length: 99999999999\r\n")), 413);
  const std::string chunked = ask("POST", "/echo", "Transfer-Encoding: chunked\r\n");
  EXPECT_EQ(rig.client().status(chunked + "3e8\r\n" + std::string(1000, 'x') + "\r\n0\r\n\r\n"), 200);
  EXPECT_EQ(answered(rig, chunked + "3e8\r\n" + std::string(1000, 'x') + "\r\n1\r\nx\r\n0\r\n\r\n"), 413);
  EXPECT_EQ(answered(rig, chunked + "ffffffffffffffff\r\n"), 413);
  EXPECT_EQ(rig.refused(Refused::big_body), 5U);
  // A body that never ends: the answer is read although it goes on being sent.
  EXPECT_EQ(answered(rig, post("/echo", std::string(1U << 20U, 'x'))), 413);
}

TEST(Limits, OfWhatStandsAroundChunks) {
  Rig rig;
  rig.start();
  const std::string chunked = ask("POST", "/echo", "Transfer-Encoding: chunked\r\n");
  EXPECT_EQ(answered(rig, chunked + "5;" + std::string(100000, 'a')), 400);
  EXPECT_EQ(answered(rig, chunked + "0\r\n" + std::string(100000, 'a')), 400);
  std::string trailers;
  for (int i = 0; i < 20000; ++i) trailers += "X: y\r\n";
  EXPECT_EQ(answered(rig, chunked + "0\r\n" + trailers), 400);
}

TEST(Limits, OfAllBodiesTogether) {
  Rig rig;
  rig.settings.limits.all_bodies_bytes = 10000;
  rig.start();
  Client first = rig.client();
  first.send(ask("POST", "/echo", "Content-Length: 9000\r\n") + std::string(8000, 'x'));
  ASSERT_TRUE(becomes([&] { return rig.server->counters().body_bytes_now == 8000; }));
  Client second = rig.client();
  second.send(post("/echo", std::string(9000, 'y')));
  const std::optional<Answer> answer = second.read();
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->status, 503);
  EXPECT_EQ(answer->header("retry-after"), "1");
  EXPECT_EQ(rig.refused(Refused::memory), 1U);
  first.send(std::string(1000, 'x'));
  EXPECT_EQ(first.read()->status, 200);
  EXPECT_TRUE(becomes([&] { return rig.server->counters().body_bytes_now == 0; }));
  EXPECT_EQ(rig.client().status(post("/echo", std::string(9000, 'y'))), 200);
}

TEST(Slow, HeadersAreCutOffWhileOthersAreServed) {
  Rig rig;
  rig.settings.limits.header_time = milliseconds(300);
  rig.start();
  std::vector<Client> slow;
  for (int i = 0; i < 50; ++i) {
    slow.push_back(rig.client());
    slow.back().send("GET /hello HTTP/1.1\r\nHost: local");
  }
  EXPECT_TRUE(rig.serves());
  // One that goes on byte by byte is cut off like those that stopped.
  Client drip = rig.client();
  drip.send("GET /hello HTTP/1.1\r\nX: ");
  EXPECT_TRUE(becomes([&] {
    drip.send("a");
    return rig.refused(Refused::slow_headers) == 51;
  }));
  for (Client& client : slow) {
    EXPECT_EQ(client.read()->status, 408);
    EXPECT_EQ(client.read_to_end(), "");
  }
  EXPECT_EQ(drip.read()->status, 408);
  EXPECT_TRUE(rig.serves());
}

TEST(Slow, BodiesAreCutOffWhileOthersAreServed) {
  Rig rig;
  rig.settings.limits.body_time = milliseconds(300);
  rig.start();
  Client stopped = rig.client();
  stopped.send(ask("POST", "/echo", "Content-Length: 10\r\n") + "half");
  Client waiting = rig.client();
  waiting.send(ask("POST", "/echo", "Content-Length: 10\r\nExpect: 100-continue\r\n"));
  EXPECT_EQ(waiting.read()->status, 100);
  Client drip = rig.client();
  drip.send(ask("POST", "/echo", "Transfer-Encoding: chunked\r\n"));
  EXPECT_TRUE(rig.serves());
  EXPECT_TRUE(becomes([&] {
    drip.send("1\r\nx\r\n");
    return rig.refused(Refused::slow_body) == 3;
  }));
  EXPECT_EQ(stopped.read()->status, 408);
  EXPECT_EQ(waiting.read()->status, 408);
  EXPECT_EQ(drip.read()->status, 408);
  EXPECT_EQ(rig.server->counters().body_bytes_now, 0U);
}

TEST(Slow, ReadersAreCutOffWhileOthersAreServed) {
  Rig rig;
  rig.settings.limits.write_time = milliseconds(300);
  const Bytes big(std::string(32U << 20U, 'x'));
  rig.router.add(Method::get, "/big", [&](const Request&) {
    Response response;
    response.body = big;
    return response;
  });
  rig.start();
  Client slow(rig.port(), "127.0.0.1", 4096);
  slow.send(get("/big"));
  EXPECT_TRUE(rig.serves());
  EXPECT_TRUE(becomes([&] { return rig.refused(Refused::slow_reader) == 1; }));
  EXPECT_LT(slow.read_to_end().size(), big.view().size());
}

TEST(Idle, ConnectionsAreClosedWithoutAWord) {
  Rig rig;
  rig.settings.limits.idle_time = milliseconds(100);
  rig.start();
  Client silent = rig.client();
  Client served = rig.client();
  EXPECT_EQ(served.status(get("/hello")), 200);
  EXPECT_EQ(silent.read_to_end(), "");
  EXPECT_EQ(served.read_to_end(), "");
  EXPECT_TRUE(becomes([&] { return rig.server->counters().connections_now == 0; }));
}

TEST(Idle, AThousandDoNotStarveARequest) {
  rlimit descriptors{};
  ASSERT_EQ(::getrlimit(RLIMIT_NOFILE, &descriptors), 0);
  descriptors.rlim_cur = std::min<rlim_t>(descriptors.rlim_max, 8192);
  ASSERT_EQ(::setrlimit(RLIMIT_NOFILE, &descriptors), 0);
  Rig rig;
  rig.settings.limits = Limits::one_address();
  rig.start();
  std::vector<Client> idle;
  idle.reserve(1000);
  for (int i = 0; i < 1000; ++i) {
    idle.push_back(rig.client());
    // Half of them after a request, half before their first.
    if (i % 2 == 0) {
      ASSERT_EQ(idle.back().status(get("/hello")), 200);
    }
  }
  ASSERT_TRUE(becomes([&] { return rig.server->counters().connections_now == 1000; }));
  for (int i = 0; i < 100; ++i) EXPECT_TRUE(rig.serves());
  for (Client& client : idle) EXPECT_EQ(client.status(get("/hello")), 200);
}

TEST(Connections, TheLongestIdleGivesWay) {
  Rig rig;
  rig.settings.limits.connections = 3;
  rig.start();
  std::vector<Client> clients;
  for (int i = 0; i < 3; ++i) {
    clients.push_back(rig.client());
    ASSERT_EQ(clients.back().status(get("/hello")), 200);
  }
  // The second is now the one that has been idle longest.
  ASSERT_EQ(clients[0].status(get("/hello")), 200);
  EXPECT_TRUE(becomes([&] {
    Client one_more = rig.client();
    EXPECT_EQ(one_more.status(get("/hello")), 200);
    return clients[1].is_closed();
  }));
  EXPECT_EQ(rig.refused(Refused::many_connections), 0U);
}

TEST(Connections, AreRefusedWhenAllAreBusy) {
  Rig rig;
  rig.settings.limits.connections = 3;
  rig.start();
  std::vector<Client> busy;
  for (int i = 0; i < 3; ++i) {
    busy.push_back(rig.client());
    busy.back().send(get("/gate"));
  }
  ASSERT_TRUE(rig.gate.waits_for(3));
  for (int i = 0; i < 100; ++i) {
    Client client = rig.client();
    const std::optional<Answer> answer = client.read();
    ASSERT_TRUE(answer);
    EXPECT_EQ(answer->status, 503);
    EXPECT_EQ(answer->header("retry-after"), "1");
    EXPECT_EQ(client.read_to_end(), "");
  }
  EXPECT_EQ(rig.refused(Refused::many_connections), 100U);
  rig.gate.open();
  for (Client& client : busy) EXPECT_EQ(client.read()->body, "through");
  EXPECT_TRUE(rig.serves());
}

TEST(Connections, OfOneAddressAreLimited) {
  Rig rig;
  rig.settings.limits.connections_per_address = 2;
  rig.start();
  Client first = rig.client();
  Client second = rig.client();
  ASSERT_EQ(first.status(get("/hello")), 200);
  ASSERT_EQ(second.status(get("/hello")), 200);
  EXPECT_EQ(answered(rig, ""), 503);
  EXPECT_EQ(rig.refused(Refused::many_from_address), 1U);
  EXPECT_EQ(Client(rig.port(), "127.0.0.2").status(get("/hello")), 200);
  first.close();
  EXPECT_TRUE(becomes([&] { return rig.serves(); }));
}

TEST(Connections, ResetAtAnyMomentAreForgotten) {
  Rig rig;
  rig.start();
  const std::string request = post("/echo", "hello");
  for (std::size_t cut = 0; cut <= request.size(); ++cut) {
    Client client = rig.client();
    client.send(request.substr(0, cut));
    client.reset();
  }
  Client waiting = rig.client();
  waiting.send(get("/gate"));
  ASSERT_TRUE(rig.gate.waits_for(1));
  waiting.reset();
  rig.gate.open();
  EXPECT_TRUE(becomes([&] { return rig.server->counters().connections_now == 0; }));
  EXPECT_EQ(rig.server->counters().body_bytes_now, 0U);
  EXPECT_TRUE(rig.serves());
}

TEST(Workers, AreBoundedAndWhatIsTooMuchIsToldToComeAgain) {
  Rig rig;
  rig.settings.workers = 2;
  rig.settings.waiting_requests = 3;
  rig.start();
  std::vector<Client> clients;
  for (int i = 0; i < 5; ++i) {
    clients.push_back(rig.client());
    clients.back().send(get("/gate"));
    if (i == 1) {
      ASSERT_TRUE(rig.gate.waits_for(2));
    }
  }
  ASSERT_TRUE(becomes([&] { return rig.server->counters().waiting_now == 3; }));
  Client extra = rig.client();
  extra.send(get("/hello"));
  const std::optional<Answer> answer = extra.read();
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->status, 503);
  EXPECT_EQ(answer->header("retry-after"), "1");
  EXPECT_EQ(rig.refused(Refused::busy), 1U);
  // What needs no worker is answered all the while, and the same connection is served later.
  EXPECT_EQ(extra.status(get("/nowhere")), 404);
  rig.gate.open();
  for (Client& client : clients) EXPECT_EQ(client.read()->body, "through");
  EXPECT_EQ(extra.status(get("/hello")), 200);
}

TEST(Workers, QuickRequestsDoNotWaitBehindLongOnes) {
  Rig rig;
  rig.settings.workers = 1;
  rig.settings.long_workers = 2;
  rig.settings.waiting_requests = 2;
  RouteRules rules;
  rules.takes_long = true;
  rig.router.add(
      Method::get, "/long",
      [&](const Request&) {
        rig.gate.pass();
        // Linux: the nice value of this thread alone.
        return Response::text(200, std::to_string(::getpriority(PRIO_PROCESS, 0)));
      },
      rules);
  rig.router.add(Method::get, "/quick", [](const Request&) {
    return Response::text(200, std::to_string(::getpriority(PRIO_PROCESS, 0)));
  });
  rig.start();
  std::vector<Client> clients;
  for (int i = 0; i < 4; ++i) {
    clients.push_back(rig.client());
    clients.back().send(get("/long"));
    if (i == 1) {
      ASSERT_TRUE(rig.gate.waits_for(2));
    }
  }
  ASSERT_TRUE(becomes([&] { return rig.server->counters().waiting_now == 2; }));
  Client quick = rig.client();
  quick.send(get("/quick"));
  const std::optional<Answer> answer = quick.read();
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->body, std::to_string(::getpriority(PRIO_PROCESS, 0)));
  // One more of the long ones is too many, one more of the quick ones is not.
  EXPECT_EQ(rig.client().status(get("/long")), 503);
  EXPECT_EQ(quick.status(get("/quick")), 200);
  rig.gate.open();
  for (Client& client : clients)
    EXPECT_EQ(std::stoi(client.read()->body), std::min(19, std::stoi(answer->body) + 10));
}

// Leaves so many descriptors to this process, until it goes.
class FewDescriptors {
 public:
  explicit FewDescriptors(std::size_t left) {
    EXPECT_EQ(::getrlimit(RLIMIT_NOFILE, &before_), 0);
    rlimit low = before_;
    low.rlim_cur = 400;
    EXPECT_EQ(::setrlimit(RLIMIT_NOFILE, &low), 0);
    const auto take = [] { return ::open("/dev/null", O_RDONLY | O_CLOEXEC); };
    for (int one = take(); one >= 0; one = take()) taken_.push_back(one);
    EXPECT_GT(taken_.size(), left);
    for (std::size_t i = 0; i < left && !taken_.empty(); ++i) {
      ::close(taken_.back());
      taken_.pop_back();
    }
  }
  ~FewDescriptors() {
    for (const int one : taken_) ::close(one);
    ::setrlimit(RLIMIT_NOFILE, &before_);
  }
  FewDescriptors(const FewDescriptors&) = delete;
  FewDescriptors& operator=(const FewDescriptors&) = delete;

 private:
  rlimit before_{};
  std::vector<int> taken_;
};

TEST(Descriptors, WhenThereAreNoneAcceptingWaitsAndGoesOn) {
  Rig rig;
  rig.start();
  std::vector<Client> busy(6);
  std::vector<Client> waiting(20);
  {
    const FewDescriptors few(6);
    for (Client& client : busy) {
      ASSERT_TRUE(client.connect(rig.port()));
      const std::uint64_t before = rig.server->counters().bytes_in;
      client.send("GET /hello HTTP/1.1\r\n");
      // Not idle any more.
      ASSERT_TRUE(becomes([&] { return rig.server->counters().bytes_in > before; }));
    }
    ASSERT_TRUE(becomes([&] { return rig.server->counters().connections_now == 6; }));
    for (Client& client : waiting) {
      ASSERT_TRUE(client.connect(rig.port()));
      client.send(get("/hello"));
    }
    ASSERT_TRUE(becomes([&] { return rig.server->counters().accept_pauses >= 3; }));
    EXPECT_EQ(rig.server->counters().connections_now, 6U);
    // Those that were let in are served, and one by one, as descriptors come free, all others.
    for (Client& client : busy) {
      client.send("Host: localhost\r\nConnection: close\r\n\r\n");
      EXPECT_EQ(client.read()->status, 200);
      client.close();
    }
    for (Client& client : waiting) {
      EXPECT_EQ(client.read()->status, 200);
      client.close();
    }
  }
  EXPECT_TRUE(rig.serves());
}

TEST(Descriptors, AreTakenFromTheLongestIdle) {
  Rig rig;
  rig.start();
  std::vector<Client> idle(6);
  std::vector<Client> others(20);
  const FewDescriptors few(6);
  for (Client& client : idle) {
    ASSERT_TRUE(client.connect(rig.port()));
    ASSERT_EQ(client.status(get("/hello")), 200);
  }
  for (Client& client : others) {
    ASSERT_TRUE(client.connect(rig.port()));
    ASSERT_EQ(client.status(get("/hello")), 200);
  }
  for (Client& client : idle) EXPECT_TRUE(becomes([&] { return client.is_closed(); }));
}

}  // namespace
}  // namespace hingeline::http
