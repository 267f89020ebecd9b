// Everything the fuzzer of requests starts from, and whatever once broke something, is sent once more.

#include <filesystem>
#include <fstream>
#include <iterator>

#include "client.h"

namespace hingeline::http {
namespace {

TEST(PastRequests, EndInResponsesOrInNothing) {
  Rig rig;
  rig.settings.limits.header_bytes = 2048;
  rig.settings.limits.body_bytes = 4096;
  rig.start();
  std::size_t count = 0;
  std::size_t served = 0;
  for (const char* folder : {"/fuzz/corpus/http", "/fuzz/crashes/http"}) {
    const std::filesystem::path all = std::string(HINGELINE_SOURCE_DIR) + folder;
    if (!std::filesystem::exists(all)) continue;
    for (const auto& entry : std::filesystem::directory_iterator(all)) {
      std::ifstream file(entry.path(), std::ios::binary);
      const std::string bytes{std::istreambuf_iterator<char>(file), {}};
      Client client = rig.client();
      client.send(bytes);
      client.say_no_more();
      const std::string answers = client.read_to_end();
      EXPECT_TRUE(answers.empty() || answers.starts_with("HTTP/1.1 ")) << entry.path();
      EXPECT_EQ(answers.find("HTTP/1.1 500"), std::string::npos) << entry.path();
      served += answers.find("HTTP/1.1 200") != std::string::npos ? 1U : 0U;
      ++count;
    }
  }
  EXPECT_GT(count, 5U);
  EXPECT_GT(served, 3U);
  EXPECT_TRUE(rig.serves());
}

}  // namespace
}  // namespace hingeline::http
