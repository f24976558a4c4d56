#include "cases/style.hpp"

#include <string>

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

namespace {

std::string remarks_on(const Trial& trial) {
  Case the_case;
  the_case.items.emplace_back();
  the_case.items[0].id = evenhand::ItemId("8");
  the_case.items[0].trials.push_back(trial);
  evenhand::document::Faults remarks;
  check_style(the_case, remarks);
  return remarks.text();
}

Trial written(std::size_t words) {
  Trial trial;
  for (std::size_t i = 0; i < words; ++i) trial.written += "foot ";
  return trial;
}

Trial timed(Moment moment) {
  Trial trial;
  trial.timeline.push_back(std::move(moment));
  return trial;
}

}  // namespace

TEST_CASE("a written trial has 40 to 120 words, a practice trial as many as it likes") {
  CHECK(remarks_on(written(40)) == "");
  CHECK(remarks_on(written(120)) == "");
  CHECK(remarks_on(written(39)) ==
        ": item 8: a written trial of 39 words; 40 to 120 words show enough and read quickly\n");
  CHECK(remarks_on(written(121)).substr(0, 36) == ": item 8: a written trial of 121 wor");
  auto practice = written(3);
  practice.practice = true;
  CHECK(remarks_on(practice) == "");
}

TEST_CASE("a timed trial may give a time in the instruction only") {
  const Speech speech{Speech::Speaker::helper, "Stand still for thirty seconds."};
  CHECK(remarks_on(timed({.at = 1.0, .events = {"instruction"}, .says = speech})) == "");
  CHECK(remarks_on(timed({.at = 9.0, .says = speech})) ==
        ": item 8: `thirty seconds` gives the time away; in a timed trial the watch is the rater's own\n");
  CHECK(remarks_on(timed({.at = 9.0, .text = "After 20 s the foot moves."})) != "");
  CHECK(remarks_on(timed({.at = 9.0, .text = "The foot moves."})) == "");
}

TEST_CASE("the words of the criteria are remarked on wherever they stand") {
  auto trial = written(60);
  trial.written += "safely";
  CHECK(remarks_on(trial) ==
        ": item 8: `safely` is a word of the criteria; show what happens, and leave the step to the "
        "criterion to "
        "the rater\n");
  CHECK(remarks_on(timed({.at = 9.0, .text = "She stands unsupported."})) != "");
}
