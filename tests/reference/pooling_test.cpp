// Partial pooling against CVXOPT's linear algebra, by another formula, and a screw family's measure by brute
// force.

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "hingeline/belief/pooling.h"
#include "hingeline/numeric/random.h"

namespace hingeline::belief {
namespace {

using nlohmann::json;
using numeric::Stream;

json answers_to(const json& problems) {
  const auto folder = std::filesystem::path(HINGELINE_BINARY_DIR) / "pooling_oracle";
  std::filesystem::create_directories(folder);
  const auto asked = folder / "problems.json";
  const auto answered = folder / "answers.json";
  std::ofstream(asked) << problems;
  const std::string command = std::string(HINGELINE_PYTHON) +
                              " \"" HINGELINE_SOURCE_DIR "/tests/reference/pooling_oracle.py\" \"" +
                              asked.string() + "\" \"" + answered.string() + "\"";
  EXPECT_EQ(std::system(command.c_str()), 0);
  std::ifstream file(answered);
  return json::parse(file);
}

TEST(Pooling, AgreesWithOtherFormulas) {
  constexpr int kSystems = 300;
  constexpr int kFields = 6;
  json problems = {{"effects", json::array()}, {"fields", json::array()}};
  std::vector<Normal> effects;
  for (int n = 0; n < kSystems; ++n) {
    Stream s(4242, static_cast<std::uint64_t>(n));
    const std::size_t count = 1 + s.bits() % 12;
    std::vector<Normal> priors;
    json problem = {{"means", json::array()}, {"standards", json::array()}, {"design", json::array()},
                    {"noise", json::array()}, {"read", json::array()},      {"asked", json::array()}};
    for (std::size_t i = 0; i < count; ++i) {
      // Now and then one that is certain.
      priors.push_back({2 * s.normal(), s.uniform() < 0.1 ? 0 : 0.02 + s.uniform()});
      problem["means"].push_back(priors.back().mean);
      problem["standards"].push_back(priors.back().standard);
    }
    std::vector<EffectReading> readings;
    const auto rows = s.bits() % 40;
    for (std::size_t k = 0; k < rows; ++k) {
      EffectReading r{{}, 3 * s.normal(), 0.01 + s.uniform()};
      json row = json::array();
      for (std::size_t i = 0; i < count; ++i) {
        const bool in = s.uniform() < 0.4;
        if (in) r.effects.push_back(i);
        row.push_back(in ? 1 : 0);
      }
      problem["design"].push_back(row);
      problem["noise"].push_back(r.standard);
      problem["read"].push_back(r.value);
      readings.push_back(std::move(r));
    }
    std::vector<std::size_t> asked;
    for (std::size_t i = 0; i < count; ++i) {
      const bool in = s.uniform() < 0.5;
      if (in) asked.push_back(i);
      problem["asked"].push_back(in ? 1 : 0);
    }
    const auto pool = EffectPool::of(priors, readings);
    ASSERT_TRUE(pool);
    effects.push_back(pool->after(asked));
    problems["effects"].push_back(std::move(problem));
  }
  std::vector<FieldLearned> fields;
  for (int n = 0; n < kFields; ++n) {
    Stream s(4243, static_cast<std::uint64_t>(n));
    const Normal figure{20 + s.normal(), 0.1 + 0.4 * s.uniform()};
    json problem = {{"figure", figure.mean}, {"standard", figure.standard}, {"screws", json::array()}};
    std::vector<ScrewReading> readings;
    const auto screws = 1 + s.bits() % 20;
    for (std::size_t k = 0; k < screws; ++k) {
      readings.push_back({"s-" + std::to_string(k), "j", figure.mean + figure.standard * 1.5 * s.normal(),
                          figure.standard * (0.1 + s.uniform())});
      problem["screws"].push_back({readings.back().value, readings.back().standard});
    }
    const auto learned = learn_field(figure, readings);
    ASSERT_TRUE(learned);
    fields.push_back(*learned);
    problems["fields"].push_back(std::move(problem));
  }

  const json answers = answers_to(problems);
  double farthest = 0;
  for (std::size_t n = 0; n < effects.size(); ++n) {
    const json& a = answers["effects"][n];
    const double mean = std::abs(effects[n].mean - a["mean"].get<double>());
    const double variance = std::abs(effects[n].standard * effects[n].standard - a["variance"].get<double>());
    EXPECT_LE(mean, 1e-10) << n;
    EXPECT_LE(variance, 1e-10) << n;
    farthest = std::max({farthest, mean, variance});
  }
  double farthest_field = 0;
  for (std::size_t n = 0; n < fields.size(); ++n) {
    const json& a = answers["fields"][n];
    const double size = fields[n].lesson.prior.standard;
    for (const auto& [ours, theirs] : {std::pair(fields[n].value, a["mean"].get<double>()),
                                       std::pair(fields[n].standard, std::sqrt(a["variance"].get<double>())),
                                       std::pair(fields[n].between, std::sqrt(a["between"].get<double>()))}) {
      const double off = std::abs(ours - theirs) / size;
      EXPECT_LE(off, 1e-8) << n;
      farthest_field = std::max(farthest_field, off);
    }
  }
  RecordProperty("farthest", ::testing::PrintToString(farthest));
  RecordProperty("farthest_field", ::testing::PrintToString(farthest_field));
}

}  // namespace
}  // namespace hingeline::belief
