#include "cases/style.hpp"

#include <catch2/catch.hpp>

using namespace evenhand::cases;

TEST_CASE("words are what stands between blanks") {
  CHECK(count_words("") == 0);
  CHECK(count_words("  She stands,\n one hand on the wall. ") == 7);
}

TEST_CASE("the words of the criteria are found in any case and only as whole words") {
  CHECK(criterion_word("He gets up Safely and sits down again") == "Safely");
  CHECK(criterion_word("with minimal assistance") == "minimal");
  CHECK(criterion_word("He needs supervision.") == "supervision");
  CHECK_FALSE(criterion_word("The tape is scored with chalk, the helper's hands stay down.").has_value());
  CHECK_FALSE(criterion_word("She puts her hand on the rail and pushes.").has_value());
}

TEST_CASE("a time that is given away is found however it is written") {
  CHECK(time_given("After 18 s the foot moves") == "18 s");
  CHECK(time_given("holds it for 18.4s") == "18.4s");
  CHECK(time_given("stands for twenty seconds") == "twenty seconds");
  CHECK(time_given("half a minute goes by") == "half a minute");
  CHECK(time_given("three more seconds") == "three more seconds");
}

TEST_CASE("ordinals, possessives and plain numbers give no time away") {
  CHECK_FALSE(time_given("At the second try the foot moves.").has_value());
  CHECK_FALSE(time_given("It's the child's turn; 2 helpers stand by.").has_value());
  CHECK_FALSE(time_given("He waits a moment and goes.").has_value());
  CHECK_FALSE(time_given("one's foot").has_value());
}
