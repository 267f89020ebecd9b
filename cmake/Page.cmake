# The page out of web/: npm's packages once for each lock file, esbuild, and what it makes as a C++ source.
# `npm ci` is the only step that asks a network; with its cache filled it asks none.

function(hingeline_add_page embedded)
  find_program(HINGELINE_NODE node REQUIRED)
  find_program(HINGELINE_NPM npm REQUIRED)
  set(web "${PROJECT_SOURCE_DIR}/web")
  set(out "${PROJECT_BINARY_DIR}/page")
  set(packages "${PROJECT_BINARY_DIR}/page.packages")
  file(GLOB_RECURSE sources CONFIGURE_DEPENDS "${web}/src/*")
  add_custom_command(
    OUTPUT "${packages}"
    COMMAND "${CMAKE_COMMAND}" "-DWEB=${web}" "-DNPM=${HINGELINE_NPM}" "-DSTAMP=${packages}" -P
            "${PROJECT_SOURCE_DIR}/cmake/npm_packages.cmake"
    DEPENDS "${web}/package-lock.json" "${web}/package.json" "${web}/.npmrc" "${PROJECT_SOURCE_DIR}/cmake/npm_packages.cmake"
    COMMENT "Packages of the page"
    VERBATIM)
  add_custom_command(
    OUTPUT "${embedded}"
    COMMAND "${HINGELINE_NODE}" "${web}/build.mjs" "${out}"
    COMMAND "${CMAKE_COMMAND}" "-DFOLDER=${out}" "-DOUT=${embedded}" -P "${PROJECT_SOURCE_DIR}/cmake/embed.cmake"
    DEPENDS ${sources} "${packages}" "${web}/build.mjs" "${PROJECT_SOURCE_DIR}/cmake/embed.cmake"
            "${PROJECT_SOURCE_DIR}/cmake/embed_bytes.cmake"
            "${PROJECT_SOURCE_DIR}/examples/saxophone.json" "${PROJECT_SOURCE_DIR}/examples/clarinet.json"
    COMMENT "The page"
    VERBATIM)
endfunction()
