// Pictures that other libraries wrote, cleaned here, read by them again: the same pixels, and nothing more.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "photo/support.h"

namespace hingeline::photo::test {
namespace {

std::string file_text(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

/// Runs the oracle; gives what it says.
std::string oracle(const std::string& what, const std::filesystem::path& folder) {
  const std::filesystem::path said = folder / "said";
  const std::string command =
      fmt::format("'{}' '{}/tests/photo/picture_oracle.py' {} '{}' > '{}' 2>&1", HINGELINE_PYTHON,
                  HINGELINE_SOURCE_DIR, what, folder.string(), said.string());
  const int status = std::system(command.c_str());  // NOLINT(cert-env33-c): a command of this test's own
  const std::string out = file_text(said);
  std::filesystem::remove(said);
  return status == 0 ? out : "failed: " + out;
}

TEST(Others, SeeTheSamePictureAndNothingMore) {
  std::string pattern = (std::filesystem::temp_directory_path() / "hingeline-photo-XXXXXX").string();
  ASSERT_NE(::mkdtemp(pattern.data()), nullptr);
  const std::filesystem::path folder = pattern;
  ASSERT_EQ(oracle("make", folder), "");
  std::size_t taken = 0;
  std::size_t refused = 0;
  std::vector<std::filesystem::path> pictures;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) pictures.push_back(entry.path());
  for (const std::filesystem::path& path : pictures) {
    const auto out = clean(file_text(path));
    if (path.stem().string().starts_with("refused")) {
      EXPECT_FALSE(out) << path;
      ++refused;
      continue;
    }
    ASSERT_TRUE(out) << path << ": " << out.error().what;
    EXPECT_EQ(path.extension().string(), "." + std::string(file_ending(out->type)));
    const auto again = clean(out->bytes);
    ASSERT_TRUE(again) << path << ": " << again.error().what;
    EXPECT_EQ(again->bytes, out->bytes) << path;
    std::ofstream(path.string() + ".clean", std::ios::binary) << out->bytes;
    ++taken;
  }
  EXPECT_GT(taken, 40U);
  EXPECT_EQ(refused, 5U);
  EXPECT_EQ(oracle("compare", folder), fmt::format("{} compared\n", taken));
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace hingeline::photo::test
