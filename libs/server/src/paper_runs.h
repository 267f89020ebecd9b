#pragma once
/// \file
/// Papers of many visits while they are made, and the file when it is: for who asked.

#include <cstddef>
#include <list>
#include <memory>
#include <mutex>
#include <string>

#include "hingeline/desk/desk.h"

namespace hingeline::server {

/// Any thread. A run and its file are kept until it is taken away, or kMost began after it.
class PaperRuns {
 public:
  static constexpr std::size_t kMost = 8;

  /// Begins a run by the name its asker gave it, an id as slips have. What comes back is told how far it is,
  /// and must not outlive this. Trouble::Kind::not_valid for another name, and for one that there is.
  desk::Answer<desk::Pace> begin(const desk::Who& who, const std::string& name);
  /// It has ended; nothing that was made: that it cannot be had.
  void end(const desk::Who& who, const std::string& name, const desk::Answer<desk::PaperMade>& made);
  /// {"done": 3, "all": 12, "ended": false, "left_out": []}. Trouble::Kind::not_found where there is none of
  /// that name, or it is another person's.
  desk::Answer<std::string> look(const desk::Who& who, const std::string& name);
  /// What was made. Trouble::Kind::not_found as above, and where it has not ended or nothing was made.
  desk::Answer<desk::PaperMade> file(const desk::Who& who, const std::string& name);
  /// Stops it, if it has not ended, and forgets it.
  void take_away(const desk::Who& who, const std::string& name);

 private:
  struct Run {
    std::string person;
    std::string name;
    std::size_t done = 0;
    std::size_t all = 0;
    bool ended = false;
    bool stopped = false;
    std::shared_ptr<const desk::PaperMade> made;
  };
  std::shared_ptr<Run> find(const desk::Who& who, const std::string& name) const;

  std::mutex mutex_;
  std::list<std::shared_ptr<Run>> runs_;  ///< the oldest first
};

}  // namespace hingeline::server
