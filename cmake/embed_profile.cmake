# Makes a C++ file that holds a colour profile: cmake -DPROFILE=... -DOUT=... -P embed_profile.cmake
include("${CMAKE_CURRENT_LIST_DIR}/embed_bytes.cmake")
set(data "")
embed_bytes("${PROFILE}" kProfile size)
file(WRITE "${OUT}" "// Made by cmake/embed_profile.cmake.
#include \"srgb_profile.h\"

namespace hingeline::drawing {
namespace {

${data}
}  // namespace

std::string_view srgb_profile() { return {kProfile, ${size}}; }

}  // namespace hingeline::drawing
")
