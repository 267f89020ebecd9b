// Requests with random faults: each connection ends in whole responses and is closed, and nothing stays
// behind.

#include <random>

#include "client.h"

namespace hingeline::http {
namespace {

constexpr int kMutations = 5000;

std::vector<std::string> seeds() {
  return {get("/hello"),
          get("/items/caf%C3%A9?a=b&c=%20", "Accept: */*\r\nCookie: a=b; c=d\r\nIf-None-Match: \"x\"\r\n"),
          post("/echo", "some body"),
          ask("POST", "/echo", "Transfer-Encoding: chunked\r\n") +
              "5;x=\"y\"\r\nhello\r\nA\r\n0123456789\r\n0\r\nT: u\r\n\r\n",
          ask("POST", "/echo", "Expect: 100-continue\r\nContent-Length: 4\r\n") + "body",
          get("http://localhost:80/hello", "Connection: keep-alive, close\r\n"),
          ask("OPTIONS", "*"),
          get("/hello") + post("/echo", "second") + get("/nowhere")};
}

class Mutator {
 public:
  explicit Mutator(std::uint32_t seed) : random_(seed) {}

  std::string operator()(const std::vector<std::string>& texts) {
    std::string text = texts[below(texts.size())];
    for (std::size_t changes = 1 + below(4); changes > 0; --changes) change(text, texts);
    return text;
  }

 private:
  std::size_t below(std::size_t end) { return random_() % end; }

  void change(std::string& text, const std::vector<std::string>& texts) {
    static const std::vector<std::string> kPieces{"\r\n",
                                                  "\n",
                                                  "\r",
                                                  "\r\n\r\n",
                                                  std::string(1, '\0'),
                                                  "%",
                                                  "%00",
                                                  "/../",
                                                  " ",
                                                  "\t",
                                                  ":",
                                                  ";",
                                                  ",",
                                                  "Content-Length: 3\r\n",
                                                  "Transfer-Encoding: chunked\r\n",
                                                  "0\r\n",
                                                  "ffffffffffffffff\r\n",
                                                  "-1",
                                                  "HTTP/1.0",
                                                  "HTTP/1.1",
                                                  "Host: localhost\r\n",
                                                  "\xFF\xFE",
                                                  "Expect: x\r\n",
                                                  "99999999999999999999",
                                                  "Connection: close\r\n"};
    const std::size_t at = below(text.size() + 1);
    switch (below(6)) {
      case 0:
        if (at < text.size()) text[at] = static_cast<char>(below(256));
        break;
      case 1:
        text.erase(at, 1 + below(8));
        break;
      case 2:
        text.insert(at, kPieces[below(kPieces.size())]);
        break;
      case 3:
        text.resize(at);
        break;
      case 4:
        text.insert(at, text.substr(below(text.size() + 1), 1 + below(40)));
        break;
      default: {
        const std::string& other = texts[below(texts.size())];
        text = text.substr(0, at) + other.substr(below(other.size()));
      }
    }
  }

  std::mt19937 random_;
};

// Whether these are whole responses, one after the other.
bool is_responses(std::string text) {
  while (!text.empty()) {
    const std::optional<Answer> answer = take_head(text);
    if (!answer) return false;
    if (answer->status < 200 || answer->status == 204 || answer->status == 304) continue;
    if (answer->header("content-length").empty()) return false;
    const std::size_t length = std::stoul(answer->header("content-length"));
    if (text.size() < length) return false;
    text.erase(0, length);
  }
  return true;
}

class Mutations : public testing::TestWithParam<std::uint32_t> {};

TEST_P(Mutations, AlwaysEndInResponsesOrInNothing) {
  Rig rig;
  rig.settings.limits.header_bytes = 2048;
  rig.settings.limits.body_bytes = 4096;
  rig.start();
  const std::vector<std::string> texts = seeds();
  std::vector<std::thread> threads;
  std::atomic<std::uint64_t> answered{0};
  for (std::uint32_t t = 0; t < 2; ++t) {
    threads.emplace_back([&, t] {
      Mutator mutate(2 * GetParam() + t);
      for (int i = 0; i < kMutations / 2; ++i) {
        const std::string request = mutate(texts);
        Client client = rig.client();
        // Sometimes in two parts.
        const std::size_t cut = i % 3 == 0 ? request.size() / 2 : request.size();
        client.send(std::string_view(request).substr(0, cut));
        client.send(std::string_view(request).substr(cut));
        client.say_no_more();
        const std::string answers = client.read_to_end();
        ASSERT_TRUE(is_responses(answers)) << testing::PrintToString(request) << "\n" << answers;
        ASSERT_EQ(answers.find("HTTP/1.1 500"), std::string::npos) << testing::PrintToString(request);
        if (!answers.empty()) ++answered;
      }
    });
  }
  for (std::thread& thread : threads) thread.join();
  // Most are understood well enough to be told something.
  EXPECT_GT(answered, kMutations / 2U);
  EXPECT_TRUE(becomes([&] { return rig.server->counters().connections_now == 0; }));
  EXPECT_EQ(rig.server->counters().body_bytes_now, 0U);
  EXPECT_TRUE(rig.serves());
}

INSTANTIATE_TEST_SUITE_P(Seeds, Mutations, testing::Values(1U, 2U, 3U, 4U));

}  // namespace
}  // namespace hingeline::http
