# The colour profile of papers, from where the distribution puts it, as a C++ source: a paper is the same wherever the
# program runs.

find_file(HINGELINE_SRGB_PROFILE sRGB.icc PATHS /usr/share/color/icc NO_DEFAULT_PATH REQUIRED)

function(hingeline_add_profile embedded)
  add_custom_command(
    OUTPUT "${embedded}"
    COMMAND "${CMAKE_COMMAND}" "-DPROFILE=${HINGELINE_SRGB_PROFILE}" "-DOUT=${embedded}" -P
            "${PROJECT_SOURCE_DIR}/cmake/embed_profile.cmake"
    DEPENDS "${HINGELINE_SRGB_PROFILE}" "${PROJECT_SOURCE_DIR}/cmake/embed_profile.cmake"
            "${PROJECT_SOURCE_DIR}/cmake/embed_bytes.cmake"
    COMMENT "The colour profile"
    VERBATIM)
endfunction()
