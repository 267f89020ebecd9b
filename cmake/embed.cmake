# Makes a C++ file that holds the files of a folder: cmake -DFOLDER=... -DOUT=... -P embed.cmake
# For each a PageFile (libs/server/src/page.h); "index.html" is "/". NAME.gz is NAME, compressed; a name with a sum
# of eight digits and letters in it (esbuild's) never changes what it says.
include("${CMAKE_CURRENT_LIST_DIR}/embed_bytes.cmake")
file(GLOB files RELATIVE "${FOLDER}" "${FOLDER}/*")
list(SORT files)
set(data "")
set(rows "")
set(number 0)

foreach(name IN LISTS files)
  if(name MATCHES "\\.gz$")
    continue()
  endif()
  if(name MATCHES "\\.html$")
    set(type "text/html; charset=utf-8")
  elseif(name MATCHES "\\.css$")
    set(type "text/css; charset=utf-8")
  elseif(name MATCHES "\\.js$")
    set(type "text/javascript; charset=utf-8")
  elseif(name MATCHES "\\.json$")
    set(type "application/json")
  elseif(name MATCHES "\\.svg$")
    set(type "image/svg+xml")
  else()
    message(FATAL_ERROR "embed: no type for ${name}")
  endif()
  set(path "/${name}")
  if(name STREQUAL "index.html")
    set(path "/")
  endif()
  embed_bytes("${FOLDER}/${name}" kFile${number} size)
  set(gzip "std::string_view()")
  if(EXISTS "${FOLDER}/${name}.gz")
    embed_bytes("${FOLDER}/${name}.gz" kFile${number}Gzip gzip_size)
    set(gzip "std::string_view(kFile${number}Gzip, ${gzip_size})")
  endif()
  set(lasting false)
  if(name MATCHES "-[0-9A-Z][0-9A-Z][0-9A-Z][0-9A-Z][0-9A-Z][0-9A-Z][0-9A-Z][0-9A-Z]\\.")
    set(lasting true)
  endif()
  string(APPEND rows "    PageFile{\"${path}\", \"${type}\", std::string_view(kFile${number}, ${size}), ${gzip}, ${lasting}},\n")
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
