# How everything of ours is compiled. Linking hingeline_flags (privately) is what makes a target ours.

set(CMAKE_CXX_STANDARD 20)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_CXX_VISIBILITY_PRESET hidden)
set(CMAKE_VISIBILITY_INLINES_HIDDEN ON)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)

add_library(hingeline_flags INTERFACE)
target_compile_options(
  hingeline_flags
  INTERFACE -Wall
            -Wextra
            -Wpedantic
            -Wshadow
            -Wconversion
            -Wsign-conversion
            -Werror
            # GCC 12 sees overlaps in std::string's own code that cannot be (GCC bug 105651).
            $<$<CXX_COMPILER_ID:GNU>:-Wno-restrict>
            # A fused multiply-add rounds once instead of twice: the same input would give other last
            # digits on a machine that has it.
            -ffp-contract=off)
target_compile_definitions(hingeline_flags INTERFACE $<$<CONFIG:Debug>:_GLIBCXX_ASSERTIONS>)

if(HINGELINE_SANITIZE)
  # GCC's flow analysis sees paths through the sanitizers' own checks and warns of them. The check of virtual tables
  # opens a pipe to look at memory, and takes having no descriptor left for a fault. What the checks of null and of
  # object sizes see, the address sanitizer sees too; without them and alignment's a third less is compiled.
  target_compile_options(
    hingeline_flags INTERFACE -fsanitize=${HINGELINE_SANITIZE} -fno-sanitize-recover=all
                              -fno-sanitize=vptr,null,alignment,object-size
                              -fno-omit-frame-pointer $<$<CXX_COMPILER_ID:GNU>:-Wno-maybe-uninitialized>)
  target_link_options(hingeline_flags INTERFACE -fsanitize=${HINGELINE_SANITIZE})
endif()
