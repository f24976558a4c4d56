// Catch2 2 is header-only: its main is compiled once, here.
#define CATCH_CONFIG_MAIN
#include <catch2/catch.hpp>
