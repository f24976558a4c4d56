# An archive names its objects and does not hold them a second time: a gigabyte of a sanitized build.
set(CMAKE_CXX_ARCHIVE_CREATE "<CMAKE_AR> qcT <TARGET> <LINK_FLAGS> <OBJECTS>")
set(CMAKE_CXX_ARCHIVE_APPEND "<CMAKE_AR> qT <TARGET> <LINK_FLAGS> <OBJECTS>")

# A folder below src/ is a module: one library, one namespace, one test folder.
# Modules are added lowest layer first, so a dependency that is not a target yet is
# an upward dependency, and the configure step stops.
function(evenhand_module name)
  cmake_parse_arguments(PARSE_ARGV 1 arg "" "" "SOURCES;HEADERS;DEPENDS;LINK;LINK_PUBLIC")
  add_library(evenhand_${name} STATIC ${arg_SOURCES})
  add_library(evenhand::${name} ALIAS evenhand_${name})
  target_sources(evenhand_${name} PUBLIC FILE_SET HEADERS
    BASE_DIRS ${PROJECT_SOURCE_DIR}/src FILES ${arg_HEADERS})
  foreach(dep IN LISTS arg_DEPENDS)
    if(NOT TARGET evenhand::${dep})
      message(FATAL_ERROR "src/${name} may not depend on src/${dep}: not in a lower layer")
    endif()
    target_link_libraries(evenhand_${name} PUBLIC evenhand::${dep})
  endforeach()
  target_link_libraries(evenhand_${name} PUBLIC ${arg_LINK_PUBLIC} PRIVATE ${arg_LINK} evenhand_warnings)
  # scripts/check-layers reads this list and holds the includes against it.
  file(WRITE ${PROJECT_BINARY_DIR}/layers/${name} "${arg_DEPENDS}\n")
endfunction()

# tests/<module>: one program, every case a test of its own.
function(evenhand_test name)
  cmake_parse_arguments(PARSE_ARGV 1 arg "" "" "SOURCES;LINK")
  add_executable(${name}_test ${arg_SOURCES})
  target_link_libraries(${name}_test PRIVATE ${arg_LINK} evenhand_test_support evenhand_warnings)
  # A name that the list of tests cannot carry, such as one with a semicolon, would run nothing and pass.
  catch_discover_tests(${name}_test TEST_PREFIX "${name}: " DISCOVERY_MODE PRE_TEST EXTRA_ARGS --warn NoTests
    WORKING_DIRECTORY ${PROJECT_SOURCE_DIR})
endfunction()

# Fuzz targets replay their corpus as an ordinary test in every build; with
# EVENHAND_FUZZ (clang) they become libFuzzer programs.
function(evenhand_fuzz name)
  cmake_parse_arguments(PARSE_ARGV 1 arg "" "" "SOURCES;LINK")
  add_executable(fuzz_${name} ${arg_SOURCES})
  target_link_libraries(fuzz_${name} PRIVATE ${arg_LINK} evenhand_warnings)
  if(EVENHAND_FUZZ)
    target_compile_options(fuzz_${name} PRIVATE -fsanitize=fuzzer,address,undefined)
    target_link_options(fuzz_${name} PRIVATE -fsanitize=fuzzer,address,undefined)
  else()
    target_sources(fuzz_${name} PRIVATE ${PROJECT_SOURCE_DIR}/tests/fuzz/replay.cpp)
  endif()
  add_test(NAME "fuzz: the ${name} corpus replays"
    COMMAND fuzz_${name} ${PROJECT_SOURCE_DIR}/tests/fuzz/corpus/${name})
  if(EVENHAND_FUZZ)
    set_tests_properties("fuzz: the ${name} corpus replays" PROPERTIES DISABLED TRUE)
  endif()
endfunction()
