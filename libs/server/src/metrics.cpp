#include "metrics.h"

#include <fmt/format.h>

namespace hingeline::server {
namespace {

class Figures {
 public:
  void family(const char* name, const char* type, const char* help) {
    text_ += fmt::format("# HELP hingeline_{0} {2}\n# TYPE hingeline_{0} {1}\n", name, type, help);
    name_ = name;
  }
  template <class N>
  void value(N number, const std::string& labels = {}, const char* suffix = "") {
    text_ +=
        fmt::format("hingeline_{}{}{} {}\n", name_, suffix, labels.empty() ? "" : "{" + labels + "}", number);
  }
  template <class N>
  void one(const char* name, const char* type, const char* help, N number) {
    family(name, type, help);
    value(number);
  }
  [[nodiscard]] std::string text() const { return text_; }

 private:
  std::string text_;
  std::string name_;
};

double in_seconds(std::chrono::microseconds time) { return static_cast<double>(time.count()) / 1e6; }

}  // namespace

std::string metrics_text(const http::Counters& http, const DoorCounts& door, const store::Counts* book,
                         const CopyFigures& copies) {
  Figures out;
  out.one("connections", "gauge", "Open connections.", http.connections_now);
  out.one("connections_total", "counter", "Connections since the start.", http.connections);
  out.family("answers_total", "counter", "Answers by the first digit of their status.");
  for (std::size_t digit = 2; digit < http.answers.size(); ++digit)
    out.value(http.answers[digit], fmt::format("status=\"{}xx\"", digit));
  out.family("refused_total", "counter", "Requests refused before anything was done for them.");
  for (std::size_t i = 0; i < http::kRefusedCount; ++i)
    out.value(http.refused[i], fmt::format("why=\"{}\"", http::word(static_cast<http::Refused>(i))));
  for (const auto& [why, count] :
       {std::pair{"not-logged-in", door.not_logged_in}, std::pair{"not-allowed", door.not_allowed},
        std::pair{"forged", door.forged}, std::pair{"too-many", door.too_many}})
    out.value(count, fmt::format("why=\"{}\"", why));
  out.one("log_ins_total", "counter", "People who logged in.", door.log_ins);
  out.one("refused_log_ins_total", "counter", "Wrong passwords and PINs, and tries too soon.",
          door.refused_log_ins);
  out.one("received_bytes_total", "counter", "Bytes of requests.", http.bytes_in);
  out.one("sent_bytes_total", "counter", "Bytes of answers.", http.bytes_out);
  out.one("event_streams", "gauge", "Clients that listen.", http.event_clients_now);
  out.one("events_total", "counter", "Events sent.", http.events);
  out.one("waiting_requests", "gauge", "Requests waiting for a worker.", http.waiting_now);
  out.one("held_body_bytes", "gauge", "Bytes of bodies held.", http.body_bytes_now);
  out.family("answer_seconds", "histogram", "From a request's last byte to its answer's last byte.");
  std::uint64_t below = 0;
  for (std::size_t i = 0; i < http.times.size(); ++i) {
    below += http.times[i];
    const std::string bound = i < http::kTimeBounds.size()
                                  ? fmt::format("{}", in_seconds(http::kTimeBounds[i]))
                                  : std::string("+Inf");
    out.value(below, fmt::format("le=\"{}\"", bound), "_bucket");
  }
  out.value(in_seconds(http.time_sum), {}, "_sum");
  out.value(below, {}, "_count");
  if (book != nullptr) {
    out.one("slips", "gauge", "Slips in the book.", book->slips);
    out.one("waiting_slips", "gauge", "Slips that wait for what they name.", book->waiting);
  }
  out.one("book_up", "gauge", "Whether the book answers.", book != nullptr ? 1 : 0);
  out.one("copies_total", "counter", "Copies made on schedule.", copies.made);
  out.one("failed_copies_total", "counter", "Copies on schedule that failed.", copies.failed);
  out.one("last_copy_seconds", "gauge", "When the last copy on schedule was made, since 1970.", copies.last);
  return out.text();
}

}  // namespace hingeline::server
