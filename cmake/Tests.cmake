# One GoogleTest program for each folder of tests/: test_ROOM, linked to its room (and so to what that room
# uses). tests/reference and tests/system look at the whole house. Each program's tests carry its folder's
# name as their ctest label. tests/page holds no C++: see hingeline_add_page_tests. tests/support holds no tests but what several folders share.

include(GoogleTest)

set(HINGELINE_WHOLE_HOUSE_TESTS load reference system)
# Folders whose tests are also run under the sanitizers by ./test: where text from outside comes in.
set(HINGELINE_HARDENED_TESTS base http photo record sql system)
# Folders whose programs start a database server. ctest runs them in a few parts instead of test by test: a server
# for each test would cost more than all tests together.
set(HINGELINE_SERVER_TESTS access desk load server sql store)
set(HINGELINE_SERVER_TEST_PARTS 4)
# The rooms are compiled as they are shipped; the checks themselves run once, and take half the time to compile.
# With less optimisation GCC loses track of what an optional holds and of how long a string is.
set(HINGELINE_TEST_OPTIONS -O1 $<$<CXX_COMPILER_ID:GNU>:-Wno-maybe-uninitialized;-Wno-array-bounds;-Wno-stringop-overflow;-Wno-stringop-overread>)
if(HINGELINE_SANITIZE)
  set(HINGELINE_TEST_OPTIONS -O0)
endif()

function(hingeline_add_test_folder name)
  file(GLOB sources CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/tests/${name}/*.cpp")
  if(name STREQUAL load)
    list(FILTER sources INCLUDE REGEX "_test\\.cpp$")
  endif()
  if(NOT sources)
    return()
  endif()
  set(target test_${name})
  add_executable(${target} ${sources})
  if(name STREQUAL load)
    target_link_libraries(${target} PRIVATE hingeline_shop_load)
  endif()
  target_link_libraries(${target} PRIVATE hingeline_flags hingeline_test_support GTest::gtest_main rapidcheck_gtest fmt::fmt tl::expected
                                          nlohmann_json::nlohmann_json)
  if(name IN_LIST HINGELINE_WHOLE_HOUSE_TESTS)
    set(rooms ${HINGELINE_ROOMS})
  else()
    set(rooms ${name} ${HINGELINE_TESTS_OF_${name}_MAY_USE})
  endif()
  foreach(room IN LISTS rooms)
    if(TARGET hingeline_${room})
      target_link_libraries(${target} PRIVATE hingeline_${room})
    endif()
  endforeach()
  target_include_directories(${target} PRIVATE "${PROJECT_SOURCE_DIR}/reference" "${PROJECT_SOURCE_DIR}/tests")
  target_compile_options(${target} PRIVATE ${HINGELINE_TEST_OPTIONS})
  hingeline_precompile(${target} tests)
  target_compile_definitions(${target} PRIVATE HINGELINE_SOURCE_DIR="${PROJECT_SOURCE_DIR}"
                                               HINGELINE_BINARY_DIR="${PROJECT_BINARY_DIR}"
                                               HINGELINE_PYTHON="${HINGELINE_PYTHON}")
  if(name IN_LIST HINGELINE_WHOLE_HOUSE_TESTS AND TARGET hingeline)
    # These may run the program itself.
    add_dependencies(${target} hingeline)
    target_compile_definitions(${target} PRIVATE HINGELINE_PROGRAM="$<TARGET_FILE:hingeline>")
  endif()
  if(name STREQUAL system)
    target_compile_definitions(${target} PRIVATE HINGELINE_JAVA="${HINGELINE_JAVA}"
                                                 HINGELINE_PREFLIGHT="${HINGELINE_PREFLIGHT}")
  endif()
  set(label ${name})
  if(name IN_LIST HINGELINE_HARDENED_TESTS)
    add_dependencies(hardened_tests ${target})
    # One label of two words: gtest_discover_tests cannot pass a list of labels on.
    string(APPEND label " hardened")
  endif()
  if(name IN_LIST HINGELINE_SERVER_TESTS)
    foreach(part RANGE 1 ${HINGELINE_SERVER_TEST_PARTS})
      set(test "${name}: part ${part} of ${HINGELINE_SERVER_TEST_PARTS}")
      math(EXPR shard "${part} - 1")
      add_test(NAME ${test} COMMAND ${target} WORKING_DIRECTORY "${PROJECT_BINARY_DIR}")
      set_tests_properties(
        ${test}
        PROPERTIES LABELS "${label}" TIMEOUT 600 SKIP_REGULAR_EXPRESSION "\\[  SKIPPED \\]" ENVIRONMENT
                   "RC_PARAMS=seed=1;GTEST_TOTAL_SHARDS=${HINGELINE_SERVER_TEST_PARTS};GTEST_SHARD_INDEX=${shard}")
    endforeach()
    return()
  endif()
  # RapidCheck draws a new seed on every run unless told one: here the same tree gives the same verdict. To look
  # further, run the test program by hand, or with RC_PARAMS="max_success=10000".
  gtest_discover_tests(
    ${target}
    TEST_PREFIX "${name}: "
    DISCOVERY_MODE PRE_TEST
    DISCOVERY_TIMEOUT 60
    WORKING_DIRECTORY "${PROJECT_BINARY_DIR}"
    PROPERTIES LABELS "${label}" TIMEOUT 300 ENVIRONMENT "RC_PARAMS=seed=1")
endfunction()

# The page: its types, its parts in Node, and each script of tests/page in a browser before the program itself.
function(hingeline_add_page_tests)
  set(web "${PROJECT_SOURCE_DIR}/web")
  set(folder "${PROJECT_SOURCE_DIR}/tests/page")
  add_test(NAME "page: types" COMMAND "${HINGELINE_NODE}" "${web}/node_modules/typescript/bin/tsc" --noEmit -p "${web}")
  add_test(NAME "page: parts" COMMAND "${HINGELINE_NODE}" "${folder}/unit.mjs" "${PROJECT_SOURCE_DIR}" "${PROJECT_BINARY_DIR}/page-unit")
  set(tests "page: types" "page: parts")
  file(GLOB scripts CONFIGURE_DEPENDS "${folder}/*.test.mjs")
  foreach(script IN LISTS scripts)
    get_filename_component(name "${script}" NAME)
    string(REPLACE ".test.mjs" "" name "${name}")
    add_test(NAME "page: ${name}" COMMAND "${HINGELINE_NODE}" "${script}" "$<TARGET_FILE:hingeline>" "${PROJECT_SOURCE_DIR}"
                                          "${PROJECT_BINARY_DIR}/page-pictures")
    list(APPEND tests "page: ${name}")
    # A browser wants a core for itself.
    set_tests_properties("page: ${name}" PROPERTIES PROCESSORS 2)
  endforeach()
  set_tests_properties(${tests} PROPERTIES LABELS page TIMEOUT 600)
endfunction()

function(hingeline_add_tests)
  # The distribution's own Python: the oracles' packages are installed for that one.
  find_program(HINGELINE_PYTHON python3 PATHS /usr/bin NO_DEFAULT_PATH REQUIRED)
  # The validator of PDF/A. Debian's package leaves out two that later versions of Java no longer bring.
  find_program(HINGELINE_JAVA java REQUIRED)
  set(classes "")
  foreach(part preflight pdfbox2 fontbox2 xmpbox commons-logging javax.activation jaxb-api)
    find_file(HINGELINE_JAR_${part} ${part}.jar PATHS /usr/share/java NO_DEFAULT_PATH REQUIRED)
    list(APPEND classes "${HINGELINE_JAR_${part}}")
  endforeach()
  list(JOIN classes ":" HINGELINE_PREFLIGHT)
  add_custom_target(hardened_tests)

  file(GLOB folders CONFIGURE_DEPENDS LIST_DIRECTORIES true RELATIVE "${PROJECT_SOURCE_DIR}/tests"
       "${PROJECT_SOURCE_DIR}/tests/*")
  list(REMOVE_ITEM folders support)
  file(GLOB shared CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/tests/support/*.cpp")
  add_library(hingeline_test_support STATIC ${shared})
  target_link_libraries(hingeline_test_support PRIVATE hingeline_flags fmt::fmt)
  target_include_directories(hingeline_test_support PRIVATE "${PROJECT_SOURCE_DIR}/tests")
  # What tests/load and the programs of bench/shop do alike, in small and in large.
  file(GLOB of_load CONFIGURE_DEPENDS "${PROJECT_SOURCE_DIR}/tests/load/*.cpp")
  list(FILTER of_load EXCLUDE REGEX "_test\\.cpp$")
  add_library(hingeline_shop_load STATIC ${of_load})
  target_link_libraries(hingeline_shop_load PRIVATE hingeline_flags)
  target_link_libraries(hingeline_shop_load PUBLIC hingeline_test_support hingeline_access hingeline_store
                                                   nlohmann_json::nlohmann_json fmt::fmt)
  target_include_directories(hingeline_shop_load PUBLIC "${PROJECT_SOURCE_DIR}/tests")
  foreach(folder IN LISTS folders)
    if(IS_DIRECTORY "${PROJECT_SOURCE_DIR}/tests/${folder}")
      hingeline_add_test_folder(${folder})
    endif()
  endforeach()

  hingeline_add_page_tests()
  add_test(NAME "rooms: includes follow the table" COMMAND "${HINGELINE_PYTHON}" "${PROJECT_SOURCE_DIR}/tools/check_rooms")
  add_test(NAME "rooms: the check catches what it should"
           COMMAND "${HINGELINE_PYTHON}" "${PROJECT_SOURCE_DIR}/tools/check_rooms" --self-test)
  set_tests_properties("rooms: includes follow the table" "rooms: the check catches what it should"
                       PROPERTIES LABELS rooms)
endfunction()
