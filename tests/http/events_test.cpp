// Event streams.

#include "client.h"

namespace hingeline::http {
namespace {

using std::chrono::milliseconds;

/// GET /events: a stream that begins with what came after Last-Event-ID, of 100 numbered events; kept in
/// `streams`.
class EventRig : public Rig {
 public:
  explicit EventRig(const EventRules& rules = {}) {
    router.add(Method::get, "/events", [this, rules](const Request& request) {
      const EventStream stream(rules);
      const std::string last(request.last_event_id());
      for (int i = last.empty() ? 98 : std::stoi(last) + 1; i < 100; ++i) {
        stream.push({std::to_string(i), "number", "event " + std::to_string(i)});
      }
      const std::lock_guard lock(mutex_);
      streams_.push_back(stream);
      return Response::events(stream);
    });
  }
  EventStream stream(std::size_t which = 0) {
    EXPECT_TRUE(becomes([&] {
      const std::lock_guard lock(mutex_);
      return streams_.size() > which;
    }));
    const std::lock_guard lock(mutex_);
    return streams_.at(which);
  }
  [[nodiscard]] bool has_event_clients(std::size_t count) const {
    return becomes([&] { return server->counters().event_clients_now == count; });
  }

 private:
  std::mutex mutex_;
  std::vector<EventStream> streams_;
};

TEST(Events, ArePushedFromAnyThread) {
  EventRig rig;
  rig.start();
  Client client = rig.client();
  client.send(get("/events"));
  const std::optional<Answer> head = client.read();
  ASSERT_TRUE(head);
  EXPECT_EQ(head->status, 200);
  EXPECT_EQ(head->header("content-type"), "text/event-stream");
  EXPECT_EQ(head->header("cache-control"), "no-store");
  EXPECT_EQ(head->header("content-length"), "");
  EXPECT_EQ(
      client.read_until("event 99\n\n"),
      "retry: 2000\n\nid: 98\nevent: number\ndata: event 98\n\nid: 99\nevent: number\ndata: event 99\n\n");
  const EventStream stream = rig.stream();
  std::vector<std::thread> threads;
  for (int t = 0; t < 4; ++t) {
    threads.emplace_back([&, t] {
      for (int i = 0; i < 50; ++i) {
        EXPECT_TRUE(stream.push({"", "", "from " + std::to_string(t) + " " + std::to_string(i)}));
      }
    });
  }
  // Each thread's in their order, none lost.
  std::array<int, 4> next{};
  for (int i = 0; i < 200; ++i) {
    const std::optional<std::string> event = client.read_until("\n\n");
    ASSERT_TRUE(event);
    const auto thread = static_cast<std::size_t>(event->at(11) - '0');
    ASSERT_LT(thread, next.size());
    EXPECT_EQ(*event, "data: from " + std::to_string(thread) + " " + std::to_string(next[thread]++) + "\n\n");
  }
  for (std::thread& thread : threads) thread.join();
  stream.close();
  EXPECT_EQ(client.read_to_end(), "");
  EXPECT_TRUE(rig.has_event_clients(0));
  EXPECT_EQ(rig.server->counters().events, 202U);
}

TEST(Events, AreResumedWhereTheClientLeftOff) {
  EventRig rig;
  rig.start();
  Client client = rig.client();
  client.send(get("/events", "Last-Event-ID: 41\r\n"));
  ASSERT_TRUE(client.read());
  const std::optional<std::string> text = client.read_until("event 99\n\n");
  ASSERT_TRUE(text);
  EXPECT_TRUE(text->starts_with("retry: 2000\n\nid: 42\n")) << *text;
}

TEST(Events, AClientThatLeavesIsNoticed) {
  EventRig rig;
  rig.start();
  Client one = rig.client();
  one.send(get("/events"));
  ASSERT_TRUE(one.read());
  Client two = rig.client();
  two.send(get("/events"));
  ASSERT_TRUE(two.read());
  EXPECT_TRUE(rig.has_event_clients(2));
  one.close();
  two.reset();
  EXPECT_TRUE(rig.has_event_clients(0));
  EXPECT_TRUE(becomes([&] { return !rig.stream(0).is_open() && !rig.stream(1).is_open(); }));
  EXPECT_FALSE(rig.stream(0).push({"", "", "x"}));
}

TEST(Events, ASlowClientIsDroppedAndTold) {
  EventRules rules;
  rules.waiting_events = 20;
  EventRig rig(rules);
  rig.start();
  Client slow(rig.port(), "127.0.0.1", 4096);
  slow.send(get("/events"));
  Client quick = rig.client();
  quick.send(get("/events"));
  ASSERT_TRUE(slow.read());
  ASSERT_TRUE(quick.read());
  ASSERT_TRUE(slow.read_until("event 99\n\n"));
  ASSERT_TRUE(quick.read_until("event 99\n\n"));
  const bool slow_is_first = slow.unread().empty();
  ASSERT_TRUE(slow_is_first);

  // More than the system's buffers hold; the client reads nothing until it has been dropped.
  const std::string big(100000, 'x');
  std::size_t pushed = 0;
  while (rig.stream(0).push({"", "", big}) && rig.stream(1).push({"", "", big})) {
    ++pushed;
    // The quick one reads each, so only the slow one can be dropped.
    ASSERT_TRUE(quick.read_until("\n\n")) << pushed;
    ASSERT_LT(pushed, 10000U);
  }
  const bool first_dropped = !rig.stream(0).is_open();
  EXPECT_NE(first_dropped, !rig.stream(1).is_open());
  const std::string rest = slow.read_to_end();
  EXPECT_FALSE(slow.was_reset());
  // Whole events, then the word, then the end.
  const std::string last = ": dropped: too much waited\n\n";
  const std::string event = "data: " + big + "\n\n";
  ASSERT_GE(rest.size(), last.size());
  EXPECT_EQ(rest.substr(rest.size() - last.size()), last);
  EXPECT_EQ((rest.size() - last.size()) % event.size(), 0U);
  EXPECT_EQ(rig.refused(Refused::slow_reader), 1U);
  EXPECT_TRUE(rig.has_event_clients(1));
}

TEST(Events, AClientThatReadsNothingIsCutOffInTheEnd) {
  EventRig rig;
  rig.settings.limits.write_time = milliseconds(200);
  rig.start();
  Client slow(rig.port(), "127.0.0.1", 4096);
  slow.send(get("/events"));
  ASSERT_TRUE(slow.read());
  const std::string big(500000, 'x');
  EXPECT_TRUE(becomes([&] { return !rig.stream().push({"", "", big}); }));
  EXPECT_TRUE(rig.has_event_clients(0));
  EXPECT_GE(rig.refused(Refused::slow_reader), 1U);
}

TEST(Events, ASilentStreamBeats) {
  EventRules rules;
  rules.heartbeat = milliseconds(20);
  rules.comes_back = milliseconds(70);
  EventRig rig(rules);
  rig.start();
  Client client = rig.client();
  client.send(get("/events", "Last-Event-ID: 99\r\n"));
  ASSERT_TRUE(client.read());
  EXPECT_EQ(client.read_until("\n\n"), "retry: 70\n\n");
  for (int i = 0; i < 5; ++i) EXPECT_EQ(client.read_until("\n\n"), ":\n\n");
  rig.stream().push({"", "", "x"});
  EXPECT_TRUE(client.read_until("data: x\n\n"));
}

TEST(Events, OnlySoManyMayFollow) {
  EventRig rig;
  rig.settings.limits.event_clients = 1;
  rig.start();
  Client one = rig.client();
  one.send(get("/events"));
  ASSERT_TRUE(one.read());
  EXPECT_TRUE(rig.has_event_clients(1));
  Client two = rig.client();
  two.send(get("/events"));
  const std::optional<Answer> answer = two.read();
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->status, 503);
  EXPECT_EQ(rig.refused(Refused::many_events), 1U);
  EXPECT_FALSE(rig.stream(1).is_open());
  // The connection is still of use.
  EXPECT_EQ(two.status(get("/hello")), 200);
}

TEST(Events, AStreamGoesToOneClientOnly) {
  Rig rig;
  const EventStream stream;
  rig.router.add(Method::get, "/same", [&](const Request&) { return Response::events(stream); });
  rig.start();
  Client one = rig.client();
  one.send(get("/same"));
  EXPECT_EQ(one.read()->status, 200);
  EXPECT_EQ(rig.client().status(get("/same")), 500);
  EXPECT_TRUE(stream.push({"", "", "still here"}));
  EXPECT_TRUE(one.read_until("data: still here\n\n"));
}

TEST(Events, HeadSendsNone) {
  EventRig rig;
  rig.start();
  Client client = rig.client();
  client.send(ask("HEAD", "/events"));
  const std::optional<Answer> answer = client.read(true);
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->header("content-type"), "text/event-stream");
  EXPECT_EQ(client.read_to_end(), "");
  EXPECT_FALSE(rig.stream().is_open());
}

TEST(Events, AStreamOutlivesItsServer) {
  std::optional<EventStream> kept;
  {
    EventRig rig;
    rig.start();
    Client client = rig.client();
    client.send(get("/events"));
    ASSERT_TRUE(client.read());
    kept = rig.stream();
    client.close();
  }
  EXPECT_FALSE(kept->push({"", "", "x"}));
}

}  // namespace
}  // namespace hingeline::http
