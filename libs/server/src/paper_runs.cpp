#include "paper_runs.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <vector>

#include "hingeline/record/slip.h"

namespace hingeline::server {

using desk::Trouble;

std::shared_ptr<PaperRuns::Run> PaperRuns::find(const desk::Who& who, const std::string& name) const {
  const auto at = std::find_if(runs_.begin(), runs_.end(), [&](const std::shared_ptr<Run>& r) {
    return r->name == name && r->person == who.person;
  });
  return at == runs_.end() ? nullptr : *at;
}

desk::Answer<desk::Pace> PaperRuns::begin(const desk::Who& who, const std::string& name) {
  if (!record::is_slip_id(name))
    return desk::refuse(Trouble::Kind::not_valid, "the run's name cannot be one", "an id as slips have");
  const std::lock_guard lock(mutex_);
  if (find(who, name))
    return desk::refuse(Trouble::Kind::not_valid, "there is a run of that name", "another name");
  if (runs_.size() >= kMost) runs_.pop_front();
  const auto run = std::make_shared<Run>();
  run->person = who.person;
  run->name = name;
  runs_.push_back(run);
  return [this, run](std::size_t done, std::size_t all) {
    const std::lock_guard held(mutex_);
    run->done = done;
    run->all = all;
    return !run->stopped;
  };
}

void PaperRuns::end(const desk::Who& who, const std::string& name,
                    const desk::Answer<desk::PaperMade>& made) {
  const auto file = made ? std::make_shared<const desk::PaperMade>(*made) : nullptr;
  const std::lock_guard lock(mutex_);
  if (const auto run = find(who, name)) {
    run->ended = true;
    run->made = file;
  }
}

desk::Answer<std::string> PaperRuns::look(const desk::Who& who, const std::string& name) {
  const std::lock_guard lock(mutex_);
  const auto run = find(who, name);
  if (!run) return desk::refuse(Trouble::Kind::not_found, "there is no such run", "one that was begun");
  return nlohmann::ordered_json({{"done", run->done},
                                 {"all", run->all},
                                 {"ended", run->ended},
                                 {"left_out", run->made ? run->made->failed : std::vector<std::string>()}})
      .dump();
}

desk::Answer<desk::PaperMade> PaperRuns::file(const desk::Who& who, const std::string& name) {
  std::shared_ptr<const desk::PaperMade> made;
  {
    const std::lock_guard lock(mutex_);
    if (const auto run = find(who, name)) made = run->made;
  }
  if (!made)
    return desk::refuse(Trouble::Kind::not_found, "there is no file of that run", "one that was made");
  return *made;
}

void PaperRuns::take_away(const desk::Who& who, const std::string& name) {
  const std::lock_guard lock(mutex_);
  const auto run = find(who, name);
  if (!run) return;
  run->stopped = true;
  runs_.remove(run);
}

}  // namespace hingeline::server
