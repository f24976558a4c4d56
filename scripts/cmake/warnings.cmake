# Warnings and sanitizers, for our own code only.
add_library(evenhand_warnings INTERFACE)
target_compile_options(evenhand_warnings INTERFACE
  -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Werror
  # GCC 12 with optimisation sees overlaps and uninitialized members in std::string that are not there
  # (GCC bugs 105651 and 105562); Clang and the sanitizers look for the real ones.
  $<$<CXX_COMPILER_ID:GNU>:-Wno-restrict -Wno-maybe-uninitialized>)

# A sanitizer's report names files and lines; anything more that -g keeps fills the disk. Of what the sanitizers check,
# every place is a row of data, and in a program that may lie anywhere each row needs two more.
if(EVENHAND_SANITIZE OR EVENHAND_SANITIZE_THREADS)
  add_compile_options(-g1 -gz -fno-omit-frame-pointer)
  add_link_options(-gz)
endif()

if(EVENHAND_SANITIZE)
  add_compile_options(-fsanitize=address,undefined -fno-sanitize-recover=all -fno-pie)
  add_link_options(-fsanitize=address,undefined -no-pie)
endif()

if(EVENHAND_SANITIZE_THREADS)
  add_compile_options(-fsanitize=thread)
  add_link_options(-fsanitize=thread)
endif()

# The fuzzer must see which branches of the library an input takes, not only of the target.
if(EVENHAND_FUZZ)
  add_compile_options(-fsanitize=fuzzer-no-link)
endif()

# Clang 19 reports a deprecated call inside GCC 12's own std::stable_sort.
if(CMAKE_CXX_COMPILER_ID STREQUAL "Clang")
  target_compile_options(evenhand_warnings INTERFACE -Wno-deprecated-declarations)
endif()
