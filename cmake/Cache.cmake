# Where ccache is installed it is used: a fresh checkout, or another one beside this, compiles only what nobody here has
# compiled before. A launcher that was asked for stays.

option(HINGELINE_CCACHE "Use ccache where it is installed" ON)
if(HINGELINE_CCACHE AND NOT CMAKE_CXX_COMPILER_LAUNCHER)
  find_program(HINGELINE_CCACHE_PROGRAM ccache)
  if(HINGELINE_CCACHE_PROGRAM)
    # The checkout's place is no part of what is compiled, and a precompiled header is known by what is in it.
    set(CMAKE_CXX_COMPILER_LAUNCHER
        "${CMAKE_COMMAND}" -E env "CCACHE_BASEDIR=${PROJECT_SOURCE_DIR}" CCACHE_NOHASHDIR=1
        CCACHE_SLOPPINESS=pch_defines,time_macros "${HINGELINE_CCACHE_PROGRAM}")
  endif()
endif()
