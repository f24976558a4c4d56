#include <sstream>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "support.hpp"

using namespace evenhand::test;
using nlohmann::json;

namespace {

/// A plan small enough for a test.
Ran plan(std::vector<std::string> arguments) {
  arguments.insert(arguments.begin(), "plan");
  arguments.insert(arguments.end(), {"--replicates", "200"});
  return run(arguments);
}

std::string first_line(const std::string& text) { return text.substr(0, text.find('\n')); }

}  // namespace

TEST_CASE("a plan answers first in one sentence, then shows other sizes and what was assumed") {
  const auto ran = plan({"--expected", "0.8", "--width", "0.25", "--raters", "5"});
  INFO(ran.out << ran.err);
  REQUIRE(ran.exit == 0);
  CHECK(ran.out.starts_with("You need "));
  CHECK(first_line(ran.out).find("scored by 5 raters: the 95 % interval of ICC(2,1)") != std::string::npos);
  CHECK(ran.out.find("Monte Carlo error") != std::string::npos);
  CHECK(ran.out.find("More raters or more cases") != std::string::npos);
  CHECK(ran.out.find("25 % of the error (--rater-share)") != std::string::npos);
  std::istringstream lines(ran.out);
  for (std::string line; std::getline(lines, line);) CHECK(line.size() <= 100);
}

TEST_CASE("the same plan as text, JSON and CSV has one answer") {
  const std::vector<std::string> question{"--expected", "0.8",    "--lower", "0.6",          "--raters",
                                          "6",          "--seed", "5",       "--categories", "5"};
  const auto with = [&](const char* format) {
    auto arguments = question;
    arguments.insert(arguments.end(), {"--format", format});
    return plan(arguments);
  };
  const auto text = with("table"), data = with("json"), rows = with("csv");
  REQUIRE(data.exit == 0);
  const json j = json::parse(data.out);
  const auto number = j.at("answer").at("number").get<std::size_t>();
  CHECK(text.out.starts_with("You need " + std::to_string(number) + " cases scored by 6 raters"));
  CHECK(rows.out.find("\nanswer,cases," + std::to_string(number) + ",") != std::string::npos);
  CHECK(j.at("answer").at("achieved").at("meeting").get<double>() >= .8);
  CHECK(j.at("question").at("goal").at("kind") == "assured_lower");
  CHECK(j.at("question").at("scale").at("shares").size() == 5);
  for (const auto& row : j.at("by_raters"))
    if (row.at("raters") == 6) CHECK(row.at("cases_needed").at("number") == number);
}

TEST_CASE("any number of threads prints the same plan") {
  const auto one = plan({"--expected", ".7", "--width", ".4", "--threads", "1", "--format", "json"});
  const auto three = plan({"--expected", ".7", "--width", ".4", "--threads", "3", "--format", "json"});
  REQUIRE(one.exit == 0);
  CHECK(one.out == three.out);
  CHECK(one.out != plan({"--expected", ".7", "--width", ".4", "--seed", "2", "--format", "json"}).out);
}

TEST_CASE("an answer beyond the limit is said, not made up") {
  const auto ran = plan({"--expected", ".8", "--rater-share", ".5", "--raters", "2", "--most-cases", "200"});
  REQUIRE(ran.exit == 0);
  CHECK(ran.out.starts_with("2 raters are too few, however many cases up to 200"));
  CHECK(ran.out.find("over 200") != std::string::npos);
  const auto data = plan({"--expected", ".8", "--rater-share", ".5", "--raters", "2", "--most-cases", "200",
                          "--format", "json"});
  const json answer = json::parse(data.out).at("answer");
  CHECK(answer.at("number").is_null());
  CHECK(answer.at("number_undefined") == "more than the limit of 200");
}

TEST_CASE("cases at hand: raters are sought, or both are described") {
  const auto sought = plan({"--expected", ".8", "--width", ".3", "--cases", "20"});
  REQUIRE(sought.exit == 0);
  CHECK(first_line(sought.out).find("raters who score 20 cases") != std::string::npos);
  const auto both = plan({"--expected", ".8", "--width", ".3", "--cases", "20", "--raters", "3"});
  REQUIRE(both.exit == 0);
  CHECK(both.out.starts_with("20 cases scored by 3 raters: the 95 % interval of ICC(2,1) is 0."));
}

TEST_CASE("a plan for kappa says that every rater needs the cases, and warns where intervals fail") {
  const auto ran = plan({"--measure", "kappa", "--expected", ".75"});
  REQUIRE(ran.exit == 0);
  CHECK(ran.out.starts_with("You need "));
  CHECK(first_line(ran.out).find("linear kappa against the key") != std::string::npos);
  CHECK(ran.out.find("Every rater needs as many") != std::string::npos);
  const auto exact = plan({"--measure", "kappa", "--exact", ".98", "--cases", "10"});
  REQUIRE(exact.exit == 0);
  CHECK(exact.out.find("the scores allow no interval") != std::string::npos);
}

TEST_CASE("under a strong ceiling the plan warns that the interval is too narrow") {
  const auto ran = plan({"--expected", ".8", "--rater-share", ".1", "--categories", "5", "--ceiling", ".8"});
  REQUIRE(ran.exit == 0);
  CHECK(ran.out.find("Caution: here the usual interval is too narrow") != std::string::npos);
}

TEST_CASE("formulas give the published numbers, each with its caution", "[reference]") {
  // Walter, Eliasziw & Donner 1998: .6 against .8, two raters, one-sided .05, power .8: 39.
  const auto walter = plan({"--by", "walter", "--expected", ".8", "--lower", ".6", "--raters", "2"});
  REQUIRE(walter.exit == 0);
  CHECK(walter.out.find("asks for 39 cases scored by 2 raters") != std::string::npos);
  CHECK(walter.out.find("Caution: It takes every rater to be as severe as the next") != std::string::npos);
  // Bonett 2002: ICC .85, four raters, width .2: 19.2, rounded up.
  const auto bonett = plan({"--by", "bonett", "--expected", ".85", "--raters", "4", "--rater-share", ".5"});
  REQUIRE(bonett.exit == 0);
  CHECK(bonett.out.find("asks for 20 cases scored by 4 raters") != std::string::npos);
  CHECK(bonett.out.find("when raters carry 50 % of the error") != std::string::npos);
  const auto donner = run({"plan", "--by", "donner", "--expected", ".6", "--lower", ".4", "--prevalence",
                           ".3", "--format", "json"});
  REQUIRE(donner.exit == 0);
  CHECK(json::parse(donner.out).at("answer").at("formula_cases").get<double>() == Approx(190.5).margin(.05));
  const auto cantor = run({"plan", "--by", "cantor", "--expected", ".85", "--lower", ".7", "--prevalence",
                           ".5", "--format", "csv"});
  REQUIRE(cantor.exit == 0);
  CHECK(cantor.out.find(",117,") != std::string::npos);
}

TEST_CASE("wrong usage ends with 2 and names the option at fault") {
  const auto wrong = [](const std::vector<std::string>& arguments, const std::string& said) {
    const auto ran = run(arguments);
    INFO(ran.err);
    CHECK(ran.exit == 2);
    CHECK(ran.out.empty());
    CHECK(ran.err.find(said) != std::string::npos);
  };
  wrong({"plan"}, "--expected 0.8");
  wrong({"plan", "--expected", "1.2"}, "1.2");
  wrong({"plan", "--expected", ".8", "--width", "0"}, "width");
  wrong({"plan", "--expected", ".8", "--lower", ".9"}, "0.9");
  wrong({"plan", "--expected", ".8", "--width", ".2", "--lower", ".6"}, "--width or --lower");
  wrong({"plan", "--expected", ".8", "--raters", "1"}, "1 raters given");
  wrong({"plan", "--expected", ".8", "--exact", ".8"}, "--exact says nothing to --measure icc");
  wrong({"plan", "--expected", ".8", "--by", "bonett", "--ceiling", ".5"},
        "--ceiling says nothing to --by bonett");
  wrong({"plan", "--expected", ".8", "--by", "walter"}, "--lower");
  wrong({"plan", "--expected", ".8", "--lower", ".6", "--by", "cantor"}, "--prevalence");
  wrong({"plan", "--expected", ".8", "--by", "bonett", "--measure", "kappa"}, "--measure icc");
  wrong({"plan", "--expected", ".8", "--shares", ".5,.4"}, "add up to 0.9");
  wrong({"plan", "--expected", ".8", "--by", "magic"}, "--by");
  wrong({"plan", "--expected", ".8", "--categories", "5", "--ceiling", "1.5"}, "1.5");
}

TEST_CASE("the examples of plan --help run") {
  const auto help = run({"plan", "--help"});
  REQUIRE(help.exit == 0);
  std::istringstream lines(help.out);
  std::size_t examples = 0;
  for (std::string line; std::getline(lines, line);) {
    if (!line.starts_with("  evenhand plan ")) continue;
    ++examples;
    std::istringstream words(line.substr(std::string("  evenhand plan ").size()));
    std::vector<std::string> arguments;
    for (std::string word; words >> word;) arguments.push_back(word);
    CHECK(plan(arguments).exit == 0);
  }
  CHECK(examples == 2);
}
