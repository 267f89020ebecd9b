// Stopping.

#include <future>

#include "client.h"

namespace hingeline::http {
namespace {

using std::chrono::milliseconds;

bool refuses_connections(std::uint16_t port) {
  return becomes([&] {
    Client client;
    return !client.connect(port);
  });
}

TEST(Stop, LetsARequestFinishAndEndsWhatIsIdle) {
  Rig rig;
  const EventStream stream;
  rig.router.add(Method::get, "/events", [&](const Request&) { return Response::events(stream); });
  rig.start();
  const std::uint16_t port = rig.port();
  Client idle = rig.client();
  ASSERT_EQ(idle.status(get("/hello")), 200);
  Client events = rig.client();
  events.send(get("/events"));
  ASSERT_TRUE(events.read());
  ASSERT_TRUE(events.read_until("retry: 2000\n\n"));
  Client running = rig.client();
  running.send(get("/gate") + get("/hello"));
  ASSERT_TRUE(rig.gate.waits_for(1));
  Client sending = rig.client();
  sending.send(ask("POST", "/echo", "Content-Length: 5\r\n") + "he");
  ASSERT_TRUE(becomes([&] { return rig.server->counters().body_bytes_now == 2; }));

  std::future<void> stopped = std::async(std::launch::async, [&] { rig.server->stop(kDeadline); });
  EXPECT_EQ(idle.read_to_end(), "");
  EXPECT_EQ(events.read_to_end(), ": the server stops\n\n");
  events.close();
  EXPECT_FALSE(stream.push({"", "", "x"}));
  EXPECT_TRUE(refuses_connections(port));
  sending.send("llo");
  std::optional<Answer> answer = sending.read();
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->body, "hello");
  EXPECT_EQ(answer->header("connection"), "close");
  sending.close();
  EXPECT_EQ(stopped.wait_for(milliseconds(0)), std::future_status::timeout);
  rig.gate.open();
  answer = running.read();
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->body, "through");
  EXPECT_EQ(answer->header("connection"), "close");
  EXPECT_EQ(running.read_to_end(), "");
  running.close();
  ASSERT_EQ(stopped.wait_for(kDeadline), std::future_status::ready);
  EXPECT_EQ(rig.server->counters().connections_now, 0U);
}

TEST(Stop, CutsOffWhatTakesTooLong) {
  Rig rig;
  rig.start();
  Client sending = rig.client();
  sending.send(ask("POST", "/echo", "Content-Length: 5\r\n") + "he");
  Client heading = rig.client();
  heading.send("GET /hel");
  Client running = rig.client();
  running.send(get("/gate"));
  ASSERT_TRUE(rig.gate.waits_for(1));
  ASSERT_TRUE(becomes([&] { return rig.server->counters().body_bytes_now == 2; }));
  ASSERT_TRUE(becomes([&] { return rig.server->counters().connections_now == 3; }));
  std::future<void> stopped = std::async(std::launch::async, [&] { rig.server->stop(milliseconds(50)); });
  EXPECT_EQ(sending.read_to_end(), "");
  EXPECT_EQ(heading.read_to_end(), "");
  EXPECT_EQ(running.read_to_end(), "");
  // The handler itself is waited for.
  EXPECT_EQ(stopped.wait_for(milliseconds(0)), std::future_status::timeout);
  rig.gate.open();
  ASSERT_EQ(stopped.wait_for(kDeadline), std::future_status::ready);
}

TEST(Stop, MayBeCalledAgainAndBySeveral) {
  Rig rig;
  rig.start();
  Client client = rig.client();
  client.send(get("/gate"));
  ASSERT_TRUE(rig.gate.waits_for(1));
  std::vector<std::future<void>> stopping;
  for (int i = 0; i < 4; ++i) {
    stopping.push_back(std::async(std::launch::async, [&] { rig.server->stop(kDeadline); }));
  }
  EXPECT_TRUE(refuses_connections(rig.port()));
  for (const std::future<void>& one : stopping) {
    EXPECT_EQ(one.wait_for(milliseconds(0)), std::future_status::timeout);
  }
  rig.gate.open();
  EXPECT_EQ(client.read()->body, "through");
  client.close();
  for (std::future<void>& one : stopping) ASSERT_EQ(one.wait_for(kDeadline), std::future_status::ready);
  rig.server->stop(milliseconds(0));
}

TEST(Stop, AtOnceWhenThereIsNobody) {
  for (int i = 0; i < 50; ++i) {
    Rig rig;
    rig.start();
  }
}

TEST(Stop, UnderLoad) {
  for (int i = 0; i < 20; ++i) {
    Rig rig;
    rig.start();
    const std::uint16_t port = rig.port();
    std::vector<std::thread> clients;
    std::atomic<int> served{0};
    for (int t = 0; t < 4; ++t) {
      clients.emplace_back([&] {
        for (;;) {
          Client client;
          if (!client.connect(port)) return;
          while (client.status(post("/echo", "x")) == 200) ++served;
        }
      });
    }
    EXPECT_TRUE(becomes([&] { return served > 20; }));
    rig.server->stop(kDeadline);
    for (std::thread& client : clients) client.join();
    EXPECT_EQ(rig.server->counters().connections_now, 0U);
  }
}

}  // namespace
}  // namespace hingeline::http
