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

# Cairo brings no CMake package. The font is read by the program as it runs, from where the distribution puts it.
find_package(Freetype 2.12 REQUIRED)
find_path(HINGELINE_CAIRO_INCLUDE cairo/cairo-pdf.h REQUIRED)
find_library(HINGELINE_CAIRO_LIBRARY cairo REQUIRED)
add_library(Cairo::Cairo INTERFACE IMPORTED)
target_include_directories(Cairo::Cairo SYSTEM INTERFACE "${HINGELINE_CAIRO_INCLUDE}")
target_link_libraries(Cairo::Cairo INTERFACE "${HINGELINE_CAIRO_LIBRARY}" Freetype::Freetype)
find_path(HINGELINE_FONT_FOLDER DejaVuSans-Bold.ttf PATHS /usr/share/fonts/truetype/dejavu NO_DEFAULT_PATH REQUIRED)

# Names in other scripts. FriBidi brings no CMake package.
find_package(harfbuzz REQUIRED CONFIG)
find_path(HINGELINE_FRIBIDI_INCLUDE fribidi.h PATH_SUFFIXES fribidi REQUIRED)
find_library(HINGELINE_FRIBIDI_LIBRARY fribidi REQUIRED)
add_library(Fribidi::Fribidi INTERFACE IMPORTED)
target_include_directories(Fribidi::Fribidi SYSTEM INTERFACE "${HINGELINE_FRIBIDI_INCLUDE}")
target_link_libraries(Fribidi::Fribidi INTERFACE "${HINGELINE_FRIBIDI_LIBRARY}")
find_file(HINGELINE_FAR_EAST_FONT wqy-microhei.ttc PATHS /usr/share/fonts/truetype/wqy NO_DEFAULT_PATH REQUIRED)

find_package(qpdf 11.3 REQUIRED CONFIG)

# libqrencode brings no CMake package.
find_path(HINGELINE_QRENCODE_INCLUDE qrencode.h REQUIRED)
find_library(HINGELINE_QRENCODE_LIBRARY qrencode REQUIRED)
add_library(Qrencode::Qrencode INTERFACE IMPORTED)
target_include_directories(Qrencode::Qrencode SYSTEM INTERFACE "${HINGELINE_QRENCODE_INCLUDE}")
target_link_libraries(Qrencode::Qrencode INTERFACE "${HINGELINE_QRENCODE_LIBRARY}")

if(HINGELINE_TESTS)
  find_package(GTest 1.12 REQUIRED)
  find_package(rapidcheck REQUIRED)
endif()
if(HINGELINE_BENCH)
  find_package(benchmark 1.7 REQUIRED)
endif()
