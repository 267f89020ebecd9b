# Installs what web/package-lock.json names, unless that is what was installed: cmake -DWEB=... -DNPM=... -DSTAMP=... -P
file(SHA256 "${WEB}/package-lock.json" sum)
set(mark "${WEB}/node_modules/.hingeline")
set(there "")
if(EXISTS "${mark}")
  file(READ "${mark}" there)
endif()
if(NOT there STREQUAL sum)
  execute_process(
    COMMAND "${NPM}" ci --ignore-scripts --prefer-offline --no-audit --no-fund
    WORKING_DIRECTORY "${WEB}" RESULT_VARIABLE result OUTPUT_VARIABLE said ERROR_VARIABLE said)
  if(NOT result EQUAL 0)
    message(FATAL_ERROR "npm ci failed; it needs the network once, or npm's cache filled:\n${said}")
  endif()
  file(WRITE "${mark}" "${sum}")
endif()
file(WRITE "${STAMP}" "${sum}")
