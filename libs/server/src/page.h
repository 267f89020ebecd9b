#pragma once
/// \file
/// The page and what belongs to it, out of the program itself (made from web/ when it is built).

#include <span>
#include <string_view>

namespace hingeline::server {

struct PageFile {
  std::string_view path;  ///< "/", "/page-ABCD2345.css"
  std::string_view type;
  std::string_view bytes;
  std::string_view gzip;  ///< the same, compressed; empty: not worth it
  bool lasting;           ///< its name holds its sum: what it says never changes
};
std::span<const PageFile> page_files();

}  // namespace hingeline::server
