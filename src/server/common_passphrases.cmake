# Writes a .cpp that holds the passwords in commonest use, as Debian's python3-zxcvbn lists them (30,000, the commonest
# first; a kept list, under the MIT license). Only the list is used, at build time: nothing of it runs.
#   cmake -D OUT=<.cpp> -D FROM=<frequency_lists.py> -P common_passphrases.cmake
file(READ "${FROM}" lists)
string(FIND "${lists}" "\"passwords\": \"" at)
if(at EQUAL -1)
  message(FATAL_ERROR "${FROM}: there is no list of passwords in it")
endif()
math(EXPR at "${at} + 14")
string(SUBSTRING "${lists}" ${at} -1 lists)
string(FIND "${lists}" "\"" end)
string(SUBSTRING "${lists}" 0 ${end} words)
string(REPLACE "\\\\" "\\" words "${words}")
string(LENGTH "${words}" size)
if(size LESS 100000)
  message(FATAL_ERROR "${FROM}: the list of passwords is too short to be the one")
endif()
file(WRITE ${OUT} "// Made by src/server/common_passphrases.cmake from ${FROM}.\n#include \"server/common_passphrases.hpp\"\n\nnamespace evenhand::server {\n\nstd::string_view common_passphrases() { return R\"evenhand(,${words},)evenhand\"; }\n\n}  // namespace evenhand::server\n")
