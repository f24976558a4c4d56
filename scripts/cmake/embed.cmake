# Files as text inside the program, so that it needs none beside it.
#   evenhand_embed(<out.cpp> HEADER <x/y.hpp> NAMESPACE <ns> FUNCTION <name> TYPE <T>
#                  ROOT <folder> [PREFIX <path/>] FILES <file...>)
# makes a .cpp with `std::vector<T> ns::name()`, which HEADER declares: a T{"PREFIX + file", "its text"}
# for each file. It is made anew when one of them, or the list, changes.
if(NOT CMAKE_SCRIPT_MODE_FILE)
  function(evenhand_embed out)
    cmake_parse_arguments(PARSE_ARGV 1 arg "" "HEADER;NAMESPACE;FUNCTION;TYPE;ROOT;PREFIX" "FILES")
    list(JOIN arg_FILES "\n" listed)
    file(CONFIGURE OUTPUT ${out}.files CONTENT "${listed}\n" @ONLY)
    list(TRANSFORM arg_FILES PREPEND ${arg_ROOT}/ OUTPUT_VARIABLE paths)
    add_custom_command(OUTPUT ${out}
      COMMAND ${CMAKE_COMMAND} -D ROOT=${arg_ROOT} -D LIST=${out}.files -D OUT=${out} -D HEADER=${arg_HEADER}
              -D NAMESPACE=${arg_NAMESPACE} -D FUNCTION=${arg_FUNCTION} -D TYPE=${arg_TYPE}
              -D PREFIX=${arg_PREFIX} -P ${CMAKE_CURRENT_FUNCTION_LIST_FILE}
      DEPENDS ${paths} ${out}.files ${CMAKE_CURRENT_FUNCTION_LIST_FILE}
      COMMENT "Embedding the files of ${arg_NAMESPACE}::${arg_FUNCTION}"
      VERBATIM)
    # Files are longer than the standard obliges a compiler to take; GCC and Clang take any length.
    set_source_files_properties(${out} PROPERTIES COMPILE_OPTIONS -Wno-overlength-strings)
  endfunction()
  return()
endif()

file(STRINGS ${LIST} files)
set(out "// Made by scripts/cmake/embed.cmake.\n#include \"${HEADER}\"\n\nnamespace ${NAMESPACE} {\n\n")
string(APPEND out "std::vector<${TYPE}> ${FUNCTION}() {\n  return {\n")
foreach(file IN LISTS files)
  file(READ ${ROOT}/${file} text)
  string(FIND "${text}" ")evenhand\"" clash)
  if(NOT clash EQUAL -1)
    message(FATAL_ERROR "${ROOT}/${file}: the text holds the mark that ends an embedded file")
  endif()
  string(APPEND out "      {\"${PREFIX}${file}\", R\"evenhand(" "${text}" ")evenhand\"},\n")
endforeach()
string(APPEND out "  };\n}\n\n}  // namespace ${NAMESPACE}\n")
file(WRITE ${OUT} "${out}")
