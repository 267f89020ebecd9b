// TLS, with throw-away certificates made by the openssl command.

#include <openssl/err.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "client.h"

namespace hingeline::http {
namespace {

using std::chrono::milliseconds;
namespace fs = std::filesystem;

struct FreeContext {
  void operator()(SSL_CTX* context) const { SSL_CTX_free(context); }
};
using Context = std::unique_ptr<SSL_CTX, FreeContext>;

class Tls : public testing::Test {
 protected:
  Tls() {
    std::string name = (fs::temp_directory_path() / "hingeline-http-XXXXXX").string();
    folder_ = ::mkdtemp(name.data());
    make("first");
    take("first");
    rig.settings.listen = {{"127.0.0.1", 0, true}};
    rig.settings.certificate = Certificate{chain(), key()};
  }
  ~Tls() override { fs::remove_all(folder_); }

  void make(const std::string& name) const {
    const std::string command =
        "openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2 -keyout " +
        (folder_ / (name + ".key")).string() + " -out " + (folder_ / (name + ".pem")).string() +
        " -subj /CN=" + name + " -addext subjectAltName=DNS:localhost 2>/dev/null";
    ASSERT_EQ(std::system(command.c_str()), 0);
  }
  /// Puts that certificate where the server reads it.
  void take(const std::string& name) const {
    fs::copy_file(folder_ / (name + ".pem"), chain(), fs::copy_options::overwrite_existing);
    fs::copy_file(folder_ / (name + ".key"), key(), fs::copy_options::overwrite_existing);
  }
  [[nodiscard]] std::string chain() const { return (folder_ / "chain.pem").string(); }
  [[nodiscard]] std::string key() const { return (folder_ / "key.pem").string(); }

  /// One that trusts that certificate alone.
  [[nodiscard]] Context trusting(const std::string& name) const {
    Context context(SSL_CTX_new(TLS_client_method()));
    SSL_CTX_load_verify_locations(context.get(), (folder_ / (name + ".pem")).c_str(), nullptr);
    SSL_CTX_set_verify(context.get(), SSL_VERIFY_PEER, nullptr);
    return context;
  }

  fs::path folder_;
  Rig rig;
};

TEST_F(Tls, ServesARequest) {
  rig.router.add(Method::get, "/secure", [](const Request& request) {
    return Response::text(200, request.secure ? "secure" : "plain");
  });
  rig.settings.listen.push_back({"127.0.0.1", 0, false});
  rig.start();
  const Context context = trusting("first");
  Client client = rig.client();
  ASSERT_TRUE(client.shake_hands(context.get()));
  client.send(get("/secure") + get("https://localhost/hello"));
  EXPECT_EQ(client.read()->body, "secure");
  EXPECT_EQ(client.read()->body, "hello");
  const std::string big(900000, 'x');
  client.send(post("/echo", big));
  EXPECT_EQ(client.read()->body, big);
  client.send(get("/hello", "Connection: close\r\n"));
  EXPECT_EQ(client.read()->body, "hello");
  EXPECT_EQ(client.read_to_end(), "");
  // Ended with TLS's own good-bye: nothing was cut off.
  EXPECT_EQ(SSL_get_shutdown(client.ssl()) & SSL_RECEIVED_SHUTDOWN, SSL_RECEIVED_SHUTDOWN);

  Client plain(rig.port(1));
  plain.send(get("/secure"));
  EXPECT_EQ(plain.read()->body, "plain");
}

TEST_F(Tls, OfOldVersionsIsRefused) {
  rig.start();
  for (const int version : {TLS1_VERSION, TLS1_1_VERSION, TLS1_2_VERSION, TLS1_3_VERSION}) {
    const Context context = trusting("first");
    SSL_CTX_set_security_level(context.get(), 0);
    ASSERT_EQ(SSL_CTX_set_min_proto_version(context.get(), version), 1);
    ASSERT_EQ(SSL_CTX_set_max_proto_version(context.get(), version), 1);
    Client client = rig.client();
    EXPECT_EQ(client.shake_hands(context.get()), version >= TLS1_2_VERSION) << version;
  }
  EXPECT_TRUE(becomes([&] { return rig.refused(Refused::tls) >= 2; }));
}

TEST_F(Tls, TellsPlainHttpWhatItIs) {
  rig.start();
  Client client = rig.client();
  client.send(get("/hello"));
  const std::optional<Answer> answer = client.read();
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->status, 400);
  EXPECT_EQ(answer->body, "This port is for https.\n");
  EXPECT_EQ(client.read_to_end(), "");
  EXPECT_EQ(rig.refused(Refused::plain_on_tls), 1U);

  Client nonsense = rig.client();
  nonsense.send(std::string(100, '\x7F'));
  nonsense.read_to_end();
  EXPECT_TRUE(becomes([&] { return rig.refused(Refused::tls) >= 1; }));
}

TEST_F(Tls, HandshakesThatDoNotEndAreCutOff) {
  rig.settings.limits.header_time = milliseconds(300);
  rig.start();
  Client silent = rig.client();
  Client half = rig.client();
  half.send(std::string("\x16\x03\x01\x02\x00\x01", 6));
  const Context context = trusting("first");
  Client good = rig.client();
  ASSERT_TRUE(good.shake_hands(context.get()));
  EXPECT_EQ(good.status(get("/hello")), 200);
  EXPECT_EQ(silent.read_to_end(), "");
  half.read_to_end();
  EXPECT_EQ(rig.refused(Refused::tls), 2U);
  // Slow headers and bodies are answered over TLS too.
  good.send("GET /hel");
  EXPECT_EQ(good.read()->status, 408);
  EXPECT_EQ(good.read_to_end(), "");
}

TEST_F(Tls, ReadsItsCertificateAgain) {
  make("second");
  rig.start();
  const Context first = trusting("first");
  const Context second = trusting("second");
  Client before = rig.client();
  ASSERT_TRUE(before.shake_hands(first.get()));
  {
    Client client = rig.client();
    EXPECT_FALSE(client.shake_hands(second.get()));
  }
  take("second");
  ASSERT_TRUE(rig.server->reload_certificate());
  Client after = rig.client();
  ASSERT_TRUE(after.shake_hands(second.get()));
  EXPECT_EQ(after.status(get("/hello")), 200);
  EXPECT_EQ(before.status(get("/hello")), 200);

  // A key of another certificate, and no certificate at all: what there was stays.
  fs::copy_file(folder_ / "first.key", key(), fs::copy_options::overwrite_existing);
  EXPECT_EQ(rig.server->reload_certificate().error().fault, Fault::file);
  std::ofstream(chain()) << "nothing";
  EXPECT_EQ(rig.server->reload_certificate().error().place.file, chain());
  Client still = rig.client();
  EXPECT_TRUE(still.shake_hands(second.get()));
  EXPECT_EQ(still.status(get("/hello")), 200);
}

TEST_F(Tls, CarriesEvents) {
  const EventStream stream;
  rig.router.add(Method::get, "/events", [&](const Request&) { return Response::events(stream); });
  rig.start();
  const Context context = trusting("first");
  Client client = rig.client();
  ASSERT_TRUE(client.shake_hands(context.get()));
  client.send(get("/events"));
  ASSERT_TRUE(client.read());
  for (int i = 0; i < 100; ++i) {
    EXPECT_TRUE(stream.push({"", "", std::to_string(i)}));
    EXPECT_TRUE(client.read_until("data: " + std::to_string(i) + "\n\n"));
  }
  rig.server->stop(kDeadline);
  EXPECT_EQ(client.read_to_end(), ": the server stops\n\n");
}

TEST_F(Tls, OfAnyBytesNeverHarms) {
  rig.start();
  const Context context = trusting("first");
  for (int i = 0; i < 300; ++i) {
    Client client = rig.client();
    std::string bytes("\x16\x03\x01", 3);
    for (int b = 0; b < i; ++b) bytes.push_back(static_cast<char>((i * 7919 + b * 104729) >> 3));
    client.send(bytes);
    client.say_no_more();
    client.read_to_end();
  }
  Client client = rig.client();
  ASSERT_TRUE(client.shake_hands(context.get()));
  EXPECT_EQ(client.status(get("/hello")), 200);
}

}  // namespace
}  // namespace hingeline::http
