#include "support/postgres_server.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <grp.h>
#include <pwd.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <sstream>
#include <stdexcept>
#include <thread>
#include <vector>

namespace hingeline::support {

namespace {

namespace fs = std::filesystem;

/// For a step of the server's life. Generous: the machine may be busy, and nothing waits longer than it must.
constexpr std::chrono::seconds kDeadline{60};

struct User {
  uid_t uid = 0;
  gid_t gid = 0;
};

/// Whom the server runs as: it refuses to run as root.
User server_user() {
  if (::geteuid() != 0) {
    return {::geteuid(), ::getegid()};
  }
  const passwd* const postgres = ::getpwnam("postgres");
  if (postgres == nullptr) {
    throw std::runtime_error("no user postgres to run a PostgreSQL server as (Debian package postgresql)");
  }
  return {postgres->pw_uid, postgres->pw_gid};
}

/// Debian keeps the server's programs out of the way, one folder for each version; the newest that is there.
fs::path programs() {
  fs::path best;
  int newest = 0;
  std::error_code none;
  for (const auto& entry : fs::directory_iterator("/usr/lib/postgresql", none)) {
    const int version = std::atoi(entry.path().filename().c_str());
    if (version > newest && fs::exists(entry.path() / "bin/initdb")) {
      newest = version;
      best = entry.path() / "bin";
    }
  }
  if (best.empty()) {
    throw std::runtime_error("no PostgreSQL server in /usr/lib/postgresql (Debian package postgresql)");
  }
  return best;
}

/// Starts a program as `user`, its output going to `log`. It is told to stop (SIGQUIT) when the calling
/// thread ends.
pid_t launch(const std::vector<std::string>& command, const User& user, const fs::path& log) {
  std::vector<char*> arguments;
  arguments.reserve(command.size() + 1);
  for (const std::string& one : command) {
    arguments.push_back(const_cast<char*>(one.c_str()));
  }
  arguments.push_back(nullptr);
  const pid_t parent = ::getpid();
  const pid_t child = ::fork();
  if (child < 0) {
    throw std::runtime_error(fmt::format("fork: {}", std::strerror(errno)));
  }
  if (child > 0) {
    return child;
  }
  // Between fork and exec only what is safe there.
  const int nothing = ::open("/dev/null", O_RDONLY);
  const int output = ::open(log.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0666);
  if (nothing < 0 || output < 0 || ::dup2(nothing, 0) < 0 || ::dup2(output, 1) < 0 || ::dup2(output, 2) < 0) {
    ::_exit(127);
  }
  // A group of its own: Ctrl-C at the terminal is for the test program, which stops the server in order.
  ::setpgid(0, 0);
  if (user.uid != ::geteuid() &&
      (::setgroups(1, &user.gid) != 0 || ::setgid(user.gid) != 0 || ::setuid(user.uid) != 0)) {
    ::_exit(127);
  }
  // After the change of user, which would undo it.
  ::prctl(PR_SET_PDEATHSIG, SIGQUIT);
  if (::getppid() != parent) {
    ::_exit(127);
  }
  ::execv(arguments[0], arguments.data());
  ::_exit(127);
}

std::string text_of(const fs::path& file) {
  std::ostringstream out;
  out << std::ifstream(file).rdbuf();
  return out.str();
}

/// Runs a program to its end; throws with what it said unless it went well.
void complete(const std::vector<std::string>& command, const User& user, const fs::path& log) {
  const pid_t child = launch(command, user, log);
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) {
    throw std::runtime_error(fmt::format("{} failed:\n{}", command.front(), text_of(log)));
  }
}

/// Until `reached` or the deadline; false: the deadline.
template <class Condition>
bool wait_until(Condition reached) {
  const auto deadline = std::chrono::steady_clock::now() + kDeadline;
  while (!reached()) {
    if (std::chrono::steady_clock::now() > deadline) {
      return false;
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  return true;
}

bool has_ended(pid_t child) { return ::waitpid(child, nullptr, WNOHANG) == child; }

/// Not of our own children: who became init's child when its parent ended may stay a zombie in a container.
bool is_running(pid_t process) {
  const std::string stat = text_of(fmt::format("/proc/{}/stat", process));
  const std::size_t name_end = stat.rfind(')');
  return name_end != std::string::npos && name_end + 2 < stat.size() && stat[name_end + 2] != 'Z' &&
         stat[name_end + 2] != 'X';
}

}  // namespace

PostgresServer& PostgresServer::shared() {
  static PostgresServer server{Options{}};
  return server;
}

PostgresServer::PostgresServer(const Options& options) : options_(options) {
  const User user = server_user();
  const fs::path bin = programs();
  // A socket's path may have 107 bytes: not below a long build folder.
  std::string pattern = options_.parent + "/hingeline-postgres-XXXXXX";
  if (::mkdtemp(pattern.data()) == nullptr) {
    throw std::runtime_error(fmt::format("{}: {}", pattern, std::strerror(errno)));
  }
  folder_ = pattern;
  try {
    if (::chown(folder_.c_str(), user.uid, user.gid) != 0) {
      throw std::runtime_error(fmt::format("{}: {}", pattern, std::strerror(errno)));
    }
    complete({bin / "initdb", "--pgdata", folder_ / "data", "--username", "hingeline", "--auth", "trust",
              "--encoding", "UTF8", "--locale", "C", "--no-sync", "--no-instructions"},
             user, folder_ / "initdb.log");
    start();
  } catch (...) {
    stop(SIGQUIT);
    fs::remove_all(folder_);
    throw;
  }
}

PostgresServer::~PostgresServer() {
  // Nothing in it is wanted any more: no orderly end.
  stop(SIGQUIT);
  std::error_code left;
  fs::remove_all(folder_, left);
}

void PostgresServer::start() {
  const fs::path log = folder_ / "server.log";
  const fs::path state = folder_ / "data/postmaster.pid";
  const std::string durable = options_.durable ? "on" : "off";
  fs::remove(state);  // of a server that was killed
  server_ =
      launch({programs() / "postgres", "-D", folder_ / "data", "-k", folder_, "-c", "listen_addresses=", "-c",
              "fsync=" + durable, "-c", "full_page_writes=" + durable, "-c", "max_connections=100", "-c",
              "shared_buffers=32MB", "-c", "dynamic_shared_memory_type=mmap"},
             server_user(), log);
  bool ended = false;
  // The last line of this file says how far it is.
  const bool there = wait_until([&] {
    ended = has_ended(server_);
    return ended || text_of(state).find("\nready") != std::string::npos;
  });
  if (ended) {
    server_ = 0;
  }
  if (ended || !there) {
    throw std::runtime_error(fmt::format("the PostgreSQL server does not start:\n{}", text_of(log)));
  }
}

std::string PostgresServer::fresh_database() {
  const std::string name = fmt::format("shop{}", ++databases_);
  complete({programs() / "createdb", "--host", folder_, "--username", "hingeline", "--no-password", name},
           {::geteuid(), ::getegid()}, folder_ / "createdb.log");
  return fmt::format("postgresql://hingeline@/{}?host={}", name, folder_.string());
}

std::vector<pid_t> PostgresServer::children() const {
  std::vector<pid_t> all;
  std::error_code none;
  for (const auto& task : fs::directory_iterator(fmt::format("/proc/{}/task", server_), none)) {
    std::ifstream listed(task.path() / "children");
    for (pid_t child = 0; listed >> child;) {
      all.push_back(child);
    }
  }
  return all;
}

void PostgresServer::limit_files(std::uint64_t bytes) {
  const rlimit limit{bytes, RLIM_INFINITY};
  // Itself first: whoever it starts from now on has its limit.
  ::prlimit(server_, RLIMIT_FSIZE, &limit, nullptr);
  for (const pid_t one : children()) {
    ::prlimit(one, RLIMIT_FSIZE, &limit, nullptr);
  }
}

bool PostgresServer::runs() {
  if (server_ != 0 && has_ended(server_)) {
    server_ = 0;
  }
  return server_ != 0;
}

void PostgresServer::crash() {
  if (server_ == 0) {
    return;
  }
  // Stopped first, so that it neither starts another nor does something about one that ends.
  ::kill(server_, SIGSTOP);
  const std::vector<pid_t> all = children();
  for (const pid_t one : all) {
    ::kill(one, SIGKILL);
  }
  stop(SIGKILL);
  if (!wait_until([&] { return std::none_of(all.begin(), all.end(), is_running); })) {
    throw std::runtime_error("processes of the PostgreSQL server do not end");
  }
}

void PostgresServer::stop(int signal) {
  if (server_ == 0) {
    return;
  }
  ::kill(server_, signal);
  if (!wait_until([&] { return has_ended(server_); })) {
    ::kill(server_, SIGKILL);
    ::waitpid(server_, nullptr, 0);
  }
  server_ = 0;
}

}  // namespace hingeline::support
