# Warnings and sanitizers, for our own code only.
add_library(evenhand_warnings INTERFACE)
target_compile_options(evenhand_warnings INTERFACE
  -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Werror)

if(EVENHAND_SANITIZE)
  add_compile_options(-fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer)
  add_link_options(-fsanitize=address,undefined)
endif()
