// Everything the fuzzer of the desk starts from, and whatever once broke something, is asked once more.

#include "../fuzz/desk_words.h"
#include "support.h"

namespace hingeline::desk::test {
namespace {

class PastWords : public Desks {};
INSTANTIATE_TEST_SUITE_P(Both, PastWords, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres),
                         store::test::name_of);

TEST_P(PastWords, AreAnsweredOrRefusedWithAWord) {
  std::size_t done = 0;
  for (const char* of : {"fuzz/corpus/desk", "fuzz/crashes/desk"}) {
    const std::filesystem::path all = std::filesystem::path(HINGELINE_SOURCE_DIR) / of;
    if (!std::filesystem::exists(all)) continue;
    for (const auto& entry : std::filesystem::directory_iterator(all)) {
      fresh();
      const record::Slip owner = store::test::slip(ids, store::test::owner("Ada Example"));
      write({owner});
      const fuzz::Names names = fuzz::names_of(*desk, owner.id, take_in(owner.id));
      const auto answer = fuzz::ask(*desk, names, file_text(entry.path()));
      EXPECT_EQ(fuzz::wrong_after(*desk, names, answer), "") << entry.path();
      done += answer ? 1U : 0U;
      if (std::string_view(of) == "fuzz/corpus/desk") {
        EXPECT_TRUE(answer) << entry.path() << ": " << answer.error().errors.front().what;
      }
    }
  }
  EXPECT_GT(done, 10U);
}

}  // namespace
}  // namespace hingeline::desk::test
