// The pressed pose against a general cone solver that knows rigid motions and springs only: the same energy,
// and the same pose where there is only one.

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "hingeline/seal/pressed.h"
#include "press_problem.h"

namespace hingeline::seal {
namespace {

using nlohmann::json;

json answers_to(const json& problems) {
  const auto folder = std::filesystem::path(HINGELINE_BINARY_DIR) / "pressed_oracle";
  std::filesystem::create_directories(folder);
  const auto asked = folder / "problems.json";
  const auto answered = folder / "answers.json";
  std::ofstream(asked) << problems;
  const std::string command = std::string(HINGELINE_PYTHON) +
                              " \"" HINGELINE_SOURCE_DIR "/tests/reference/pressed_oracle.py\" \"" +
                              asked.string() + "\" \"" + answered.string() + "\"";
  EXPECT_EQ(std::system(command.c_str()), 0);
  std::ifstream file(answered);
  return json::parse(file);
}

TEST(PressedPose, AgreesWithAConeSolver) {
  constexpr std::size_t kCases = 600;
  std::vector<reference::PressCase> cases;
  std::vector<Pressed> ours;
  json problems = json::array();
  for (std::size_t n = 0; n < kCases; ++n) {
    cases.push_back(reference::draw_press(71, n, 36));
    ours.push_back(*press(cases.back().freedom, cases.back().seat, cases.back().push));
    problems.push_back(reference::press_problem(cases.back()));
  }
  const json answers = answers_to(problems);
  ASSERT_EQ(answers.size(), kCases);
  double worst = 0;
  std::size_t lifted = 0;
  for (std::size_t n = 0; n < kCases; ++n) {
    const auto& c = cases[n];
    const json& a = answers[n];
    const double energy = a["energy"].get<double>();
    // Sizes of what the energy is made of.
    const double size = std::abs(energy) + c.push.finger.raw() * (c.freedom.upper_clearance.raw() +
                                                                  c.freedom.lower_clearance.raw());
    worst = std::max(worst, std::abs(ours[n].energy - energy) / size);
    EXPECT_NEAR(in_radians(ours[n].turn), a["turn"].get<double>(), 1e-5 * std::abs(a["turn"].get<double>()))
        << n;
    // Across the pad's arm the pose is the only one; along it only where the finger pushes that way.
    const double phi = c.seat.pad.clock.raw();
    const auto across = [&](double x, double y) { return y * std::cos(phi) - x * std::sin(phi); };
    EXPECT_NEAR(across(ours[n].upper[0], ours[n].upper[1]),
                across(a["upper"][0].get<double>(), a["upper"][1].get<double>()), 1e-5)
        << n;
    EXPECT_NEAR(across(ours[n].lower[0], ours[n].lower[1]),
                across(a["lower"][0].get<double>(), a["lower"][1].get<double>()), 1e-5)
        << n;
    if (ours[n].contact_share < 1) ++lifted;
  }
  EXPECT_LT(worst, kPressedEnergyError);
  // Both kinds are among them.
  EXPECT_GT(lifted, kCases / 10);
  EXPECT_LT(lifted, kCases);
}

}  // namespace
}  // namespace hingeline::seal
