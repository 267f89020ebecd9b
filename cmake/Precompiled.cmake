# Headers that nearly every source reads, read once for all: a third of what compiling costs. A source that forgets an
# include compiles with them all the same, so the rooms of the release build, which is what is shipped, go without.

set(HINGELINE_PRECOMPILED_HEADERS
    <algorithm>
    <array>
    <cmath>
    <functional>
    <map>
    <memory>
    <optional>
    <span>
    <string>
    <string_view>
    <variant>
    <vector>
    <fmt/format.h>
    <tl/expected.hpp>
    <nlohmann/json.hpp>)

# hingeline_precompile(TARGET KIND LIBRARY...): `target` reads the headers of its kind, which are compiled once for all
# targets of that kind. They share their compile options.
function(hingeline_precompile target kind)
  set(once hingeline_precompiled_${kind})
  if(NOT TARGET ${once})
    set(empty "${PROJECT_BINARY_DIR}/generated/precompiled_${kind}.cpp")
    file(CONFIGURE OUTPUT "${empty}" CONTENT "")
    add_library(${once} OBJECT "${empty}")
    target_link_libraries(${once} PRIVATE hingeline_flags fmt::fmt tl::expected nlohmann_json::nlohmann_json)
    target_precompile_headers(${once} PRIVATE ${HINGELINE_PRECOMPILED_HEADERS})
    if(kind STREQUAL "tests")
      target_link_libraries(${once} PRIVATE GTest::gtest rapidcheck_gtest)
      target_precompile_headers(${once} PRIVATE <gtest/gtest.h> <rapidcheck/gtest.h>)
      target_compile_options(${once} PRIVATE ${HINGELINE_TEST_OPTIONS})
    endif()
  endif()
  target_precompile_headers(${target} REUSE_FROM ${once})
  # For ccache, which otherwise cannot tell what was read.
  target_compile_options(${target} PRIVATE $<$<CXX_COMPILER_ID:GNU>:-fpch-preprocess>)
endfunction()
