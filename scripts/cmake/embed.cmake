# Writes a .cpp that holds files as text, so that the program needs no files beside it.
#   cmake -D ROOT=<folder> -D FILES=<a|b|...> -D OUT=<.cpp> -D HEADER=<x/y.hpp> -D NAMESPACE=<ns>
#         -D FUNCTION=<name> -P embed.cmake
# The header declares `std::string_view FUNCTION(std::string_view name);`: the text of a file, empty
# when there is none of that name.
string(REPLACE "|" ";" files "${FILES}")
set(out "// Made by scripts/cmake/embed.cmake.\n#include \"${HEADER}\"\n\nnamespace ${NAMESPACE} {\n\n")
string(APPEND out "std::string_view ${FUNCTION}(std::string_view name) {\n")
foreach(file IN LISTS files)
  file(READ ${ROOT}/${file} text)
  string(FIND "${text}" ")evenhand\"" clash)
  if(NOT clash EQUAL -1)
    message(FATAL_ERROR "${ROOT}/${file}: the text holds the mark that ends an embedded file")
  endif()
  string(APPEND out "  if (name == \"${file}\") return R\"evenhand(" "${text}" ")evenhand\";\n")
endforeach()
string(APPEND out "  return {};\n}\n\n}  // namespace ${NAMESPACE}\n")
file(WRITE ${OUT} "${out}")
