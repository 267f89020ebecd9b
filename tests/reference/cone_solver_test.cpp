// The worst case of a question over all poses against a general second-order cone solver, CVXOPT. The
// solver's problems are drawn up from the outlines by reference/cone_problem.h; nothing of the project's
// clearance curves goes into them.

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "cone_problem.h"
#include "hingeline/mechanism/hinge.h"
#include "random_hinges.h"

namespace hingeline::mechanism {
namespace {

using nlohmann::json;
using reference::Engine;
using reference::Roundness;
using reference::uniform;

/// Runs the oracle; false when it fails.
bool run_oracle(const std::string& arguments) {
  const std::string command = std::string(HINGELINE_PYTHON) +
                              " \"" HINGELINE_SOURCE_DIR "/tests/reference/cone_oracle.py\" " + arguments;
  return std::system(command.c_str()) == 0;
}

std::filesystem::path scratch(const char* name) {
  const auto folder = std::filesystem::path(HINGELINE_BINARY_DIR) / "cone_oracle";
  std::filesystem::create_directories(folder);
  return folder / name;
}

json read(const std::filesystem::path& path) {
  std::ifstream file(path);
  return json::parse(file);
}

TEST(ConeSolver, SolvesPublishedProblems) {
  const auto answers = scratch("published.json");
  ASSERT_TRUE(run_oracle("--published > \"" + answers.string() + "\""));
  const json solved = read(answers);
  // CVXOPT user guide and the documentation of an R optimization package.
  EXPECT_NEAR(solved[0]["value"].get<double>(), -38.34637, 1e-5);
  const double x[] = {-5.01477, -5.76692, -8.52180};
  for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(solved[0]["x"][i].get<double>(), x[i], 1e-5);
  // A linear form over a ball, worked by hand.
  EXPECT_NEAR(solved[1]["value"].get<double>(), -7, 1e-8);
}

Question draw_question(Engine& engine, const Hinge& hinge) {
  if (reference::pick(engine, 2) == 0) {
    const auto w = [&] { return uniform(engine, -2, 2); };
    return {w(), {w(), w()}, {w(), w()}};
  }
  // Those that are asked of pads: a gap, or a place on the tone hole.
  const double key = in_millimetres(hinge.key_length());
  const double s = uniform(engine, -0.2, 1.2);
  const double arm = uniform(engine, 8, 40);
  const double phi = uniform(engine, 0, 6.28);
  const double c = std::cos(phi);
  const double d = std::sin(phi);
  switch (reference::pick(engine, 3)) {
    case 0:
      return {0, {-d * 20 / key, c * 20 / key}, {d * 20 / key, -c * 20 / key}};
    case 1:
      return {0, {-d * (1 - s) * 20 / arm, c * (1 - s) * 20 / arm}, {-d * s * 20 / arm, c * s * 20 / arm}};
    default:
      return {1, {c * arm / key, d * arm / key}, {-c * arm / key, -d * arm / key}};
  }
}

TEST(ConeSolver, AgreesOnTwoThousandHinges) {
  constexpr int kStraight = 2000;
  constexpr int kAny = 50;             // a ball's polyline makes a hundred pieces and more
  constexpr double kAgreement = 1e-8;  // mm
  Engine engine(41);
  json problems = json::array();
  std::vector<double> ours;
  for (int n = 0; n < kStraight + kAny; ++n) {
    const Hinge hinge =
        reference::draw_hinge(engine, n < kStraight ? Roundness::straight_only : Roundness::any);
    const Question q = draw_question(engine, hinge);
    ours.push_back(in_millimetres(Play(hinge).worst(q)));
    problems.push_back(reference::cone_problem(reference::plain(hinge),
                                               {q.axial, q.upper[0], q.upper[1], q.lower[0], q.lower[1]}));
  }
  const auto asked = scratch("problems.json");
  const auto answered = scratch("answers.json");
  std::ofstream(asked) << problems;
  ASSERT_TRUE(run_oracle("\"" + asked.string() + "\" \"" + answered.string() + "\""));
  const json answers = read(answered);
  ASSERT_EQ(answers.size(), ours.size());
  double farthest = 0;
  for (std::size_t n = 0; n < ours.size(); ++n) {
    const double off = std::abs(ours[n] - answers[n].get<double>());
    EXPECT_LE(off, kAgreement) << "hinge " << n;
    farthest = std::max(farthest, off);
  }
  RecordProperty("farthest", ::testing::PrintToString(farthest));
}

}  // namespace
}  // namespace hingeline::mechanism
