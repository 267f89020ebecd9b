// The shop from the command line: instruments in and out of the book, who works here, and the server.

#include <gtest/gtest.h>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>

#include <chrono>
#include <csignal>
#include <nlohmann/json.hpp>
#include <optional>
#include <thread>

#include "program.h"

namespace hingeline::test {
namespace {

using nlohmann::json;
namespace fs = std::filesystem;

const std::string kExamples = std::string(HINGELINE_SOURCE_DIR) + "/examples/";

class ShopCommands : public testing::Test {
 protected:
  Outcome run(std::vector<std::string> arguments, const std::string& input = {}) {
    Setting setting;
    setting.input = input;
    setting.environment = {"HINGELINE_BOOK=" + place};
    return hingeline_with(std::move(arguments), setting);
  }
  json told(std::vector<std::string> arguments) {
    arguments.emplace_back("--json");
    const Outcome o = run(std::move(arguments));
    EXPECT_EQ(o.code, 0) << o.err;
    return o.code == 0 ? json::parse(o.out) : json();
  }
  const Folder folder;
  const std::string place = (folder.path() / "shop" / "book.db").string();
};

TEST_F(ShopCommands, AnInstrumentGoesInAndComesOut) {
  EXPECT_EQ(run({"book", "put-shop", kExamples + "shop.json"}).code, 0);
  const json taken = told({"book", "take-in", kExamples + "saxophone.json", "--owner", "Ada Example",
                           "--complaint", "low notes rattle", "--promised", "2026-12-01"});
  const std::string visit = taken.at("visit");
  EXPECT_EQ(told({"book", "find", "ada ratt"}).at("visits").size(), 1U);
  EXPECT_EQ(told({"book", "find", "--state", "in-work"}).at("visits").size(), 0U);
  const std::string out = (folder.path() / "out.json").string();
  const std::string shop = (folder.path() / "shop.json").string();
  EXPECT_EQ(run({"book", "document", visit, out}).code, 0);
  EXPECT_EQ(run({"book", "shop", shop}).code, 0);
  // It fits as the file it came from does, digit by digit.
  const Outcome before = run({"fit", kExamples + "saxophone.json", "--json"});
  const Outcome after = run({"fit", out, "--shop", shop, "--json"});
  EXPECT_EQ(after.code, before.code);
  EXPECT_EQ(after.out, before.out);

  EXPECT_EQ(run({"book", "set", "/presets/window_high", "0.040 mm"}).code, 0);
  const Outcome shown = run({"book", "settings", "/presets/window_high"});
  EXPECT_NE(shown.out.find("0.04 mm"), std::string::npos) << shown.out;
  EXPECT_NE(shown.out.find("From: set."), std::string::npos) << shown.out;
  const Outcome wrong = run({"book", "set", "/presets/window_high", "-1 mm"});
  EXPECT_EQ(wrong.code, 4);
  EXPECT_NE(wrong.err.find("/presets/window_high"), std::string::npos) << wrong.err;

  const Outcome readings = run({"book", "readings"});
  EXPECT_EQ(readings.code, 0);
  EXPECT_EQ(readings.out.rfind("number,slip,thing,at,", 0), 0U);
  const std::string csv = (folder.path() / "readings.csv").string();
  EXPECT_EQ(run({"book", "readings", csv}).code, 0);
  EXPECT_EQ(file_text(csv), readings.out);
  EXPECT_EQ(run({"book", "readings", csv}).code, 3);  // never over what is there

  const std::string owner = taken.at("owner");
  EXPECT_NE(run({"book", "owner", owner}).out.find("Ada Example"), std::string::npos);
  EXPECT_EQ(run({"book", "forget", owner}).code, 0);
  EXPECT_EQ(run({"book", "owner", owner}).out.find("Ada Example"), std::string::npos);
  EXPECT_EQ(run({"book", "forget", "nobody"}).code, 6);
  EXPECT_EQ(run({"book", "document", "nothing"}).code, 6);
  EXPECT_EQ(run({"book", "take-in", kExamples + "shop.json"}).code, 4);
}

TEST_F(ShopCommands, PeopleAreWrittenDown) {
  const Outcome short_one =
      run({"people", "add", "Kit Example", "--role", "owner", "--login", "kit"}, "short\n");
  EXPECT_EQ(short_one.code, 4) << short_one.out;
  EXPECT_EQ(told({"people", "list"}).at("people").size(), 0U);
  EXPECT_EQ(
      run({"people", "add", "Kit Example", "--role", "owner", "--login", "kit"}, "correct horse battery\n")
          .code,
      0);
  const json people = told({"people", "list"}).at("people");
  ASSERT_EQ(people.size(), 1U);
  EXPECT_EQ(people[0].at("login"), "kit");
  EXPECT_EQ(run({"people", "password", "kit"}, "another horse battery\n").code, 0);
  EXPECT_EQ(run({"people", "password", "nobody"}, "another horse battery\n").code, 6);
  EXPECT_EQ(run({"people", "add", "Lou Example", "--role", "king"}).code, 2);
  EXPECT_EQ(run({"people", "gone", "Kit Example"}).code, 0);
  EXPECT_EQ(told({"people", "list"}).at("people")[0].at("gone"), true);
  EXPECT_EQ(told({"people", "list"}).at("people")[0].at("login"), "");
}

/// A server that is running; its port, once it listens.
class Running {
 public:
  Running(const std::string& place, const std::string& out, std::vector<std::string> more = {}) : out_(out) {
    std::vector<std::string> arguments{HINGELINE_PROGRAM, "serve",      "--book", place,
                                       "--listen",        "127.0.0.1:0"};
    arguments.insert(arguments.end(), more.begin(), more.end());
    std::ofstream(out_) << "";
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, out_.c_str(), O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, (out_ + ".log").c_str(), O_WRONLY | O_CREAT,
                                     0600);
    std::vector<char*> argv;
    for (std::string& a : arguments) argv.push_back(a.data());
    argv.push_back(nullptr);
    char* environment[] = {nullptr};
    if (posix_spawn(&process_, HINGELINE_PROGRAM, &actions, nullptr, argv.data(), environment) != 0)
      process_ = -1;
    posix_spawn_file_actions_destroy(&actions);
  }
  ~Running() {
    if (process_ > 0) stop(SIGKILL);
  }
  Running(const Running&) = delete;
  Running& operator=(const Running&) = delete;

  [[nodiscard]] std::uint16_t port() const {
    for (int i = 0; i < 3000; ++i) {
      const std::string text = file_text(out_);
      const std::size_t at = text.find("127.0.0.1:");
      if (at != std::string::npos && text.find("/", at) != std::string::npos)
        return static_cast<std::uint16_t>(std::stoi(text.substr(at + 10)));
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    throw std::runtime_error("the server does not listen: " + file_text(out_ + ".log"));
  }
  int stop(int signal) {
    ::kill(process_, signal);
    int status = 0;
    ::waitpid(process_, &status, 0);
    process_ = -1;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  }
  [[nodiscard]] std::string log() const { return file_text(out_ + ".log"); }

 private:
  std::string out_;
  pid_t process_ = -1;
};

std::string get(std::uint16_t port, const std::string& path) {
  const int fd = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in to{};
  to.sin_family = AF_INET;
  to.sin_port = htons(port);
  ::inet_pton(AF_INET, "127.0.0.1", &to.sin_addr);
  std::string out;
  if (::connect(fd, reinterpret_cast<sockaddr*>(&to), sizeof to) == 0) {
    const std::string text = "GET " + path + " HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";
    static_cast<void>(::send(fd, text.data(), text.size(), MSG_NOSIGNAL));
    char bytes[4096];
    for (ssize_t got = 0; (got = ::recv(fd, bytes, sizeof bytes, 0)) > 0;)
      out.append(bytes, static_cast<std::size_t>(got));
  }
  ::close(fd);
  return out;
}

TEST_F(ShopCommands, TheServerGivesWhatTheCommandLineGives) {
  EXPECT_EQ(run({"book", "put-shop", kExamples + "shop.json"}).code, 0);
  const std::string visit = told({"book", "take-in", kExamples + "saxophone.json"}).at("visit");
  Running server(place, (folder.path() / "serve.out").string());
  const std::uint16_t port = server.port();
  const std::string answer = get(port, "/api/visits/" + visit + "/fit");
  const std::string body = answer.substr(answer.find("\r\n\r\n") + 4);
  EXPECT_EQ(body, run({"fit", kExamples + "saxophone.json", "--json"}).out);
  EXPECT_NE(get(port, "/").find("<title>Hingeline</title>"), std::string::npos);
  // Written by another program meanwhile, and seen.
  EXPECT_EQ(run({"book", "take-in", kExamples + "clarinet.json"}).code, 0);
  const std::string visits = get(port, "/api/visits");
  EXPECT_NE(visits.find("Demonstration clarinet"), std::string::npos);
  EXPECT_EQ(server.stop(SIGTERM), 0);
  EXPECT_NE(server.log().find("\"route\":\"/api/visits/{visit}/fit\""), std::string::npos) << server.log();
  EXPECT_EQ(server.log().find(visit), std::string::npos);
}

TEST_F(ShopCommands, TheServerRefusesWhatWouldNotBeSafe) {
  EXPECT_EQ(run({"serve", "--listen", "0.0.0.0:0", "--name", "shop.example"}).code, 2);
  const Outcome nobody = run({"serve", "--listen", "127.0.0.1:0", "--behind-proxy"});
  EXPECT_EQ(nobody.code, 2);
  EXPECT_NE(nobody.err.find("people add"), std::string::npos) << nobody.err;
  EXPECT_EQ(run({"serve", "--listen", "here"}).code, 2);
  EXPECT_EQ(run({"serve", "--certificate", "shop.pem"}).code, 2);
}

}  // namespace
}  // namespace hingeline::test
