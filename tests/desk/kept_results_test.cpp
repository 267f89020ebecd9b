// Results kept for the next who asks: made once, thrown out in their turn.

#include "../../libs/desk/src/kept_results.h"

#include <gtest/gtest.h>

#include <atomic>
#include <stdexcept>
#include <thread>
#include <vector>

namespace hingeline::desk {
namespace {

TEST(KeptResults, ManyWhoAskAtOnceWaitForOne) {
  KeptResults<int> kept(4);
  std::atomic<int> made{0};
  std::vector<std::thread> threads;
  for (int i = 0; i < 8; ++i) {
    threads.emplace_back([&] {
      EXPECT_EQ(kept.get("a",
                         [&] {
                           ++made;
                           std::this_thread::sleep_for(std::chrono::milliseconds(20));
                           return 7;
                         }),
                7);
    });
  }
  for (std::thread& t : threads) t.join();
  EXPECT_EQ(made, 1);
}

TEST(KeptResults, TheOneAskedForLongestAgoGoesFirst) {
  KeptResults<int> kept(2);
  const auto ask = [&](const std::string& name) {
    bool made = false;
    kept.get(name, [&] {
      made = true;
      return 1;
    });
    return made;
  };
  EXPECT_TRUE(ask("a"));
  EXPECT_TRUE(ask("b"));
  EXPECT_FALSE(ask("a"));
  EXPECT_TRUE(ask("c"));  // b goes
  EXPECT_FALSE(ask("a"));
  EXPECT_TRUE(ask("b"));
  EXPECT_EQ(kept.look("b"), 1);
  EXPECT_EQ(kept.look("nobody"), std::nullopt);
}

TEST(KeptResults, WhatFailsIsMadeAgain) {
  KeptResults<int> kept(2);
  EXPECT_THROW(kept.get("a", []() -> int { throw std::runtime_error("no"); }), std::runtime_error);
  EXPECT_EQ(kept.get("a", [] { return 3; }), 3);
  KeptResults<int> none(0);
  EXPECT_EQ(none.get("a", [] { return 4; }), 4);
}

}  // namespace
}  // namespace hingeline::desk
