#pragma once
/// \file
/// A PostgreSQL server for tests: made in a temporary folder, heard on a Unix socket in it only, gone with
/// the program. Debian's packages postgresql and postgresql-common need not run a server of their own.

#include <sys/types.h>

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace hingeline::support {

class PostgresServer {
 public:
  struct Options {
    /// Whether a commit waits for the disk. A test that only asks what was said needs no disk; one that takes
    /// the server down at random and counts does.
    bool durable = false;
    /// Where its folder is made. A socket's path may have 107 bytes.
    std::string parent = "/tmp";
  };

  /// The one server of this test program, started by the first call (from its main thread: the server ends
  /// with the thread that started it) and stopped when the program ends.
  static PostgresServer& shared();

  /// Makes the cluster and starts the server; about a second. Throws std::runtime_error with the server's own
  /// words when that does not work: a test that needs it has failed then.
  explicit PostgresServer(const Options& options);
  ~PostgresServer();
  PostgresServer(const PostgresServer&) = delete;
  PostgresServer& operator=(const PostgresServer&) = delete;

  /// The address of a new, empty database (UTF-8, ordered by bytes). Its user may do everything.
  std::string fresh_database();

  /// As when the machine stops: no process of the server's does anything more. Nothing when it does not run.
  void crash();
  /// No file of it may grow beyond so many bytes, as on a full disk.
  void limit_files(std::uint64_t bytes);
  /// Whether it has not ended by itself.
  bool runs();
  /// After a crash: it recovers first. Throws as the constructor does.
  void start();

 private:
  void stop(int signal);
  [[nodiscard]] std::vector<pid_t> children() const;

  std::filesystem::path folder_;
  Options options_;
  pid_t server_ = 0;
  int databases_ = 0;
};

}  // namespace hingeline::support
