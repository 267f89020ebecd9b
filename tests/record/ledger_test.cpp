// The ledger: jobs are added and never taken out, and what is forgotten no longer counts.

#include "hingeline/record/ledger.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "support.h"

namespace hingeline::record {
namespace {

using samples::shown;

Ledger full() {
  auto read = read_ledger(samples::full_ledger(), "d.json");
  EXPECT_TRUE(read) << shown(read.error());
  return std::move(*read);
}

TEST(Ledger, IsReadWhole) {
  const Ledger ledger = full();
  ASSERT_EQ(ledger.jobs.size(), 2u);
  const Job& job = ledger.jobs[0];
  EXPECT_EQ(job.complaint, Complaint::loose);
  EXPECT_EQ(job.causes, (std::vector{CauseWord::short_fit, CauseWord::worn_hole}));
  ASSERT_EQ(job.bites.size(), 3u);
  EXPECT_EQ(job.bites[0].end, WhichEnd::upper);
  EXPECT_EQ(job.bites[0].turns.value, 2.5);
  EXPECT_EQ(job.bites[0].taken.value, millimetres(0.048));
  EXPECT_EQ(job.bites[0].taken.plus_minus, millimetres(0.006));
  EXPECT_EQ(job.bites[1].taken.value, millimetres(-0.00254));
  EXPECT_TRUE(job.bites[2].turns.said_unknown());
  EXPECT_NEAR(in_millimetres(job.bites[2].taken.value), 0.021, 1e-15);
  EXPECT_EQ(job.minutes[0].of, "seat-cut");
  EXPECT_EQ(job.minutes[0].minutes.value, 7.5);
  EXPECT_EQ(job.measured[0].angle.value, degrees(20.3));
  EXPECT_TRUE(job.measured[0].length.absent());
  EXPECT_EQ(job.measured[2].length.value, millimetres(2.1));
  EXPECT_TRUE(job.measured[2].angle.absent());
  EXPECT_EQ(job.waivers[0].cause, CauseWord::bent_body);
  EXPECT_EQ(job.bites[1].place.pointer, "/jobs/0/bites/1");
}

TEST(Ledger, PlainNumbersStayPlain) {
  const std::string written = write_ledger(full());
  EXPECT_NE(written.find("\"turns\": 2.5"), std::string::npos) << written;
  EXPECT_NE(written.find("\"minutes\": 7.5"), std::string::npos) << written;
}

TEST(Ledger, TellsWhereTheDayIsWrong) {
  std::string text = samples::full_ledger();
  const std::string day = "\"2026-11-25\", \"complaint\"";
  text.replace(text.find(day), day.size(), "\"2026-11-31\", \"complaint\"");
  const Errors errors = samples::errors_of(Format::ledger, text);
  ASSERT_EQ(errors.size(), 1u) << shown(errors);
  EXPECT_EQ(errors[0].place.pointer, "/jobs/1/date");
  EXPECT_EQ(errors[0].what, "\"2026-11-31\" is not a day");
}

TEST(Ledger, AddsAJobAtTheEnd) {
  Job job;
  job.id = "2026-11-26-1";
  job.date = "2026-11-26";
  job.person = "B";
  job.complaint = Complaint::binds;
  job.causes = {CauseWord::over_cut};
  job.bites.push_back(
      {"4 mm", WhichEnd::lower, entry_of(1.25), entry_of(millimetres(0.021), millimetres(0.006)), {}});
  job.minutes.push_back({"seat-cut", entry_of(1.25), entry_of(6.5), {}});
  job.measured.push_back({MeasuredField::point_half_angle, {}, entry_of(degrees(20.25)), {}, {}});
  const auto text = with_job(samples::full_ledger(), "d.json", job);
  ASSERT_TRUE(text) << shown(text.error());
  const auto again = read_ledger(*text, "d.json");
  ASSERT_TRUE(again) << shown(again.error());
  Ledger expected = full();
  expected.jobs.push_back(job);
  EXPECT_EQ(*again, expected);
  EXPECT_NE(text->find("\"taken\": \"0.021 mm ± 0.006\""), std::string::npos) << *text;
  EXPECT_NE(text->find("\"value\": \"20.25 deg\""), std::string::npos) << *text;
}

TEST(Ledger, RefusesWhatMayNotBeAdded) {
  Job job;
  job.id = "2024-02-29-1";
  job.date = "2026-11-26";
  const auto twice = with_job(samples::full_ledger(), "d.json", job);
  ASSERT_FALSE(twice);
  EXPECT_NE(twice.error().at(0).what.find("two jobs are called \"2024-02-29-1\""), std::string::npos)
      << shown(twice.error());
  job.id = "new";
  job.date = "2026-02-30";
  EXPECT_FALSE(with_job(samples::full_ledger(), "d.json", job));
  job.date = "2026-02-28";
  job.causes = {CauseWord::sound, CauseWord::dirt};
  EXPECT_FALSE(with_job(samples::full_ledger(), "d.json", job));
  job.causes.clear();
  job.bites = {{"4 mm", WhichEnd::upper, entry_of(-1), entry_of(millimetres(0.02)), {}}};
  EXPECT_FALSE(with_job(samples::full_ledger(), "d.json", job));
  job.bites[0].turns.value = 1;
  EXPECT_TRUE(with_job(samples::full_ledger(), "d.json", job));
  EXPECT_FALSE(with_job("{}", "d.json", job));
  EXPECT_FALSE(with_job(samples::full_shop(), "d.json", job));
}

TEST(Ledger, ForgetsFromADayBack) {
  const Ledger ledger = full();
  // Take-off is forgotten before 2026-11-25, causes before 2025-01-01.
  EXPECT_FALSE(counts(ledger, ledger.jobs[0], Subject::take_off));
  EXPECT_TRUE(counts(ledger, ledger.jobs[1], Subject::take_off));
  EXPECT_FALSE(counts(ledger, ledger.jobs[0], Subject::causes));
  EXPECT_TRUE(counts(ledger, ledger.jobs[1], Subject::causes));
  EXPECT_TRUE(counts(ledger, ledger.jobs[0], Subject::minutes));
  const auto text =
      with_forgotten(samples::full_ledger(), "d.json", Subject::minutes, day_after("2026-11-25"));
  ASSERT_TRUE(text) << shown(text.error());
  const auto again = read_ledger(*text, "d.json");
  ASSERT_TRUE(again);
  EXPECT_EQ(again->jobs, ledger.jobs);
  EXPECT_FALSE(counts(*again, again->jobs[0], Subject::minutes));
  EXPECT_FALSE(counts(*again, again->jobs[1], Subject::minutes));
  EXPECT_FALSE(with_forgotten(samples::full_ledger(), "d.json", Subject::minutes, "today"));
}

TEST(Ledger, NewOneCanBeWritten) {
  Ledger ledger;
  ledger.title = "New";
  const auto again = read_ledger(write_ledger(ledger), "d.json");
  ASSERT_TRUE(again) << shown(again.error());
  EXPECT_EQ(*again, ledger);
}

TEST(Ledger, FreeIds) {
  Ledger ledger = full();
  EXPECT_EQ(free_id(ledger, "2024-02-29"), "2024-02-29-2");
  EXPECT_EQ(free_id(ledger, "2026-11-25"), "2026-11-25-1");
}

TEST(Ledger, Days) {
  EXPECT_EQ(day_after("2026-11-25"), "2026-11-26");
  EXPECT_EQ(day_after("2026-11-30"), "2026-12-01");
  EXPECT_EQ(day_after("2026-12-31"), "2027-01-01");
  // Leap years of the Gregorian calendar.
  EXPECT_EQ(day_after("2024-02-28"), "2024-02-29");
  EXPECT_EQ(day_after("2023-02-28"), "2023-03-01");
  EXPECT_EQ(day_after("1900-02-28"), "1900-03-01");
  EXPECT_EQ(day_after("2000-02-28"), "2000-02-29");
  int days = 0;
  for (std::string day = "2000-01-01"; day != "2400-01-01"; day = day_after(day)) {
    ASSERT_TRUE(is_date(day)) << day;
    ++days;
  }
  // 400 Gregorian years: 146097 days.
  EXPECT_EQ(days, 146097);
}

TEST(Ledger, SubjectsByTheirWord) {
  for (const Subject s : {Subject::take_off, Subject::minutes, Subject::patterns, Subject::causes})
    EXPECT_EQ(subject_of(word(s)), s);
  EXPECT_FALSE(subject_of("everything"));
  EXPECT_FALSE(subject_of(""));
}

}  // namespace
}  // namespace hingeline::record
