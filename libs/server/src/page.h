#pragma once
/// \file
/// The page and what belongs to it, out of the program itself (made from libs/server/page when it is built).

#include <span>
#include <string_view>

namespace hingeline::server {

struct PageFile {
  std::string_view path;  ///< "/", "/page.css"
  std::string_view type;
  std::string_view bytes;
};
std::span<const PageFile> page_files();

}  // namespace hingeline::server
