#include "report/pair_json.hpp"

#include <bit>
#include <cmath>
#include <cstdint>
#include <limits>

#include <catch2/catch.hpp>

#include "base/random.hpp"

using namespace evenhand;
using report::JsonText;
using report::JsonTree;

namespace {

std::string text_of(const JsonText& object) {
  std::string text;
  object.append_to(text);
  return text;
}

/// Some raters who score few cases, often one and the same level, with gaps.
agreement::ScoreMatrix random_scores(base::Random& random, std::vector<std::string> categories) {
  agreement::ScoreMatrix m;
  m.raters = {"plain", "two \"words\"", "back\\slash", "Zoë"};
  m.categories = std::move(categories);
  const std::size_t cases = 1 + random.index(12), items = 1 + random.index(2);
  for (std::size_t c = 0; c < cases; ++c) m.cases.push_back("c" + std::to_string(c));
  for (std::size_t i = 0; i < items; ++i) m.items.push_back("i" + std::to_string(i));
  m.resize_cells();
  const std::size_t used = 1 + random.index(m.categories.size());
  for (auto& cell : m.cells)
    if (random.chance(0.9)) cell.category = static_cast<std::int32_t>(random.index(used));
  return m;
}

std::size_t compare_pairs(const agreement::ScoreMatrix& m) {
  const auto only = agreement::StatisticSet::all();
  const auto result =
      agreement::agreement(m, {.pairs = agreement::PairChoice::all, .only = only, .resamples = 0});
  REQUIRE(result);
  std::size_t compared = 0;
  for (const auto& measure : result->measures)
    for (const auto& pair : measure.pairs) {
      const auto tree = report::json(pair, m.raters, only);
      const auto text = text_of(report::json<JsonText>(pair, m.raters, only));
      CHECK(JsonTree::parse(text) == tree);
      ++compared;
    }
  return compared;
}

}  // namespace

TEST_CASE("a pair as text holds what its tree holds", "[property]") {
  base::Random random(71);
  const std::vector<std::vector<std::string>> scales{
      {"0", "1", "2", "3", "4"}, {"no", "yes"}, {"0", "1", "1+", "2"}, {"0.5", "1.5", "4"}};
  std::size_t compared = 0;
  for (int table = 0; table < 60; ++table)
    compared += compare_pairs(random_scores(random, scales[random.index(scales.size())]));
  CHECK(compared > 360);
}

TEST_CASE("a number written as text is read back to the same double", "[property]") {
  base::Random random(72);
  const auto read_back = [](double number) {
    JsonText object;
    object["x"] = number;
    const auto parsed = JsonTree::parse(text_of(object))["x"];
    CHECK(parsed.is_number_float());
    CHECK(std::bit_cast<std::uint64_t>(parsed.get<double>()) == std::bit_cast<std::uint64_t>(number));
  };
  for (const double number :
       {0.0, -0.0, 1.0, -17.0, 0.1, 1e-5, 1e22, 1e300, 123456789012.0, std::numeric_limits<double>::min(),
        std::numeric_limits<double>::denorm_min(), std::numeric_limits<double>::max()})
    read_back(number);
  for (int i = 0; i < 1000; ++i) read_back(random.normal() * std::pow(10.0, random.normal() * 20.0));
}

TEST_CASE("text is an object of names in the order given", "[edge]") {
  JsonText empty;
  CHECK(text_of(empty) == "{}");
  JsonText object;
  const double lower = 0.25;
  object["n"] = std::size_t{3};
  object["flag"] = true;
  object["none"] = nullptr;
  object["words"] = std::string_view("a \"b\"");
  object["empty"] = empty;
  object.list("limits", &lower, nullptr);
  CHECK(text_of(object) ==
        R"({"n":3,"flag":true,"none":null,"words":"a \"b\"","empty":{},"limits":[0.25,null]})");
}

TEST_CASE("limits of no width are marked, for people and for programs", "[edge]") {
  agreement::ScoreMatrix m;
  m.raters = {"ann", "ben"};
  m.items = {""};
  m.categories = {"0", "1", "2", "3", "4"};
  for (int c = 0; c < 12; ++c) m.cases.push_back("c" + std::to_string(c));
  m.resize_cells();
  for (std::size_t r = 0; r < 2; ++r)
    for (std::size_t c = 0; c < 12; ++c) m.at(0, r, c).category = static_cast<std::int32_t>(c % 5);
  const auto marked = [&](const char* statistic) {
    const auto only = agreement::StatisticSet::all();
    const auto result = agreement::agreement(m, {.resamples = 0});
    REQUIRE(result);
    auto pair = report::json(result->measures.at(0).pairs.at(0), m.raters, only).at(statistic);
    if (pair.contains("quadratic")) pair = pair.at("quadratic");
    CHECK_FALSE(pair.at("lower").is_null());
    return pair.contains("no_spread") && pair.at("no_spread") == "no spread was seen: the limits say nothing";
  };
  const std::vector<const char*> statistics{"kappa", "gwet", "brennan_prediger", "bias",
                                            "limits_of_agreement"};
  for (const char* statistic : statistics) {
    INFO(statistic);
    CHECK(marked(statistic));
  }
  CHECK_FALSE(marked("exact"));  // its limits come from the number of cases, not from a spread
  m.at(0, 0, 3).category = 2;
  for (const char* statistic : statistics) {
    INFO(statistic);
    CHECK_FALSE(marked(statistic));
  }
}
