# Writes a .cpp that holds the library files as text, so that the program needs no files
# beside it.
#   cmake -D ROOT=<cases> -D LIST=<file with one path a line> -D OUT=<.cpp> -P embed.cmake
file(STRINGS ${LIST} files)
set(out "// Made by src/cases/embed.cmake from the files under cases/.\n")
string(APPEND out "#include \"cases/built_in.hpp\"\n\n")
string(APPEND out "namespace evenhand::cases {\n\n")
string(APPEND out "std::vector<SourceFile> built_in_files() {\n  return {\n")
foreach(file IN LISTS files)
  file(READ ${ROOT}/${file} text)
  string(FIND "${text}" ")evenhand\"" clash)
  if(NOT clash EQUAL -1)
    message(FATAL_ERROR "${ROOT}/${file}: the text holds the mark that ends an embedded file")
  endif()
  string(APPEND out "      {\"cases/${file}\", R\"evenhand(")
  string(APPEND out "${text}" ")evenhand\"},\n")
endforeach()
string(APPEND out "  };\n}\n\n}  // namespace evenhand::cases\n")
file(WRITE ${OUT} "${out}")
