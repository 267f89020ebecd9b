# Libraries from outside. Which room may link which is decided in Rooms.cmake.

find_package(fmt 9 REQUIRED)
find_package(tl-expected 1 REQUIRED)
find_package(nlohmann_json 3.11 REQUIRED)
find_package(CLI11 2.1 REQUIRED)
find_package(Boost 1.74 REQUIRED)
find_package(SQLite3 3.37 REQUIRED)
find_package(PostgreSQL 14 REQUIRED)
find_package(OpenSSL 3 REQUIRED)
find_package(Threads REQUIRED)

# libsodium brings no CMake package.
find_path(HINGELINE_SODIUM_INCLUDE sodium.h REQUIRED)
find_library(HINGELINE_SODIUM_LIBRARY sodium REQUIRED)
add_library(Sodium::Sodium INTERFACE IMPORTED)
target_include_directories(Sodium::Sodium SYSTEM INTERFACE "${HINGELINE_SODIUM_INCLUDE}")
target_link_libraries(Sodium::Sodium INTERFACE "${HINGELINE_SODIUM_LIBRARY}")

# CBC brings no CMake package.
find_path(HINGELINE_CBC_INCLUDE CbcModel.hpp PATH_SUFFIXES coin REQUIRED)
add_library(Cbc::Cbc INTERFACE IMPORTED)
target_include_directories(Cbc::Cbc SYSTEM INTERFACE "${HINGELINE_CBC_INCLUDE}")
foreach(part Cbc Cgl OsiClp Clp Osi CoinUtils)
  find_library(HINGELINE_${part}_LIBRARY ${part} REQUIRED)
  target_link_libraries(Cbc::Cbc INTERFACE "${HINGELINE_${part}_LIBRARY}")
endforeach()

if(HINGELINE_TESTS)
  find_package(GTest 1.12 REQUIRED)
  find_package(rapidcheck REQUIRED)
endif()
if(HINGELINE_BENCH)
  find_package(benchmark 1.7 REQUIRED)
endif()
