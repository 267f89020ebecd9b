# Makes a C++ file that holds the files of a folder: cmake -DFOLDER=... -DOUT=... -P embed.cmake
# For each a PageFile (libs/server/src/page.h); "index.html" is "/".
file(GLOB files RELATIVE "${FOLDER}" "${FOLDER}/*")
list(SORT files)
set(data "")
set(rows "")
set(number 0)
foreach(name IN LISTS files)
  if(name MATCHES "\\.html$")
    set(type "text/html; charset=utf-8")
  elseif(name MATCHES "\\.css$")
    set(type "text/css; charset=utf-8")
  elseif(name MATCHES "\\.js$")
    set(type "text/javascript; charset=utf-8")
  elseif(name MATCHES "\\.svg$")
    set(type "image/svg+xml")
  else()
    message(FATAL_ERROR "embed: no type for ${name}")
  endif()
  set(path "/${name}")
  if(name STREQUAL "index.html")
    set(path "/")
  endif()
  file(READ "${FOLDER}/${name}" hex HEX)
  string(LENGTH "${hex}" size)
  math(EXPR size "${size} / 2")
  string(REGEX REPLACE "(..)" "\\\\x\\1" text "${hex}")
  # In lines, as a compiler may limit one literal.
  string(REGEX REPLACE "((\\\\x..\\\\x..\\\\x..\\\\x..)(\\\\x..\\\\x..\\\\x..\\\\x..)(\\\\x..\\\\x..\\\\x..\\\\x..)(\\\\x..\\\\x..\\\\x..\\\\x..))"
                       "\\1\"\n    \"" text "${text}")
  string(APPEND data "constexpr char kFile${number}[] =\n    \"${text}\";\n")
  string(APPEND rows "    PageFile{\"${path}\", \"${type}\", std::string_view(kFile${number}, ${size})},\n")
  math(EXPR number "${number} + 1")
endforeach()
file(WRITE "${OUT}" "// Made by cmake/embed.cmake.
#include \"page.h\"

#include <array>

namespace hingeline::server {
namespace {

${data}
constexpr std::array kFiles{
${rows}};

}  // namespace

std::span<const PageFile> page_files() { return kFiles; }

}  // namespace hingeline::server
")
