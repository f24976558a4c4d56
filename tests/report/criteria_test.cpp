#include "report/criteria.hpp"

#include <catch2/catch.hpp>

#include "support/shipped.hpp"

using namespace evenhand;

namespace {

/// A summary of a rater who scored these items of the key, by place.
competency::Summary scored(const std::vector<std::size_t>& items) {
  competency::Summary summary;
  competency::CaseResult one;
  for (const auto item : items) one.items.push_back({.case_id = CaseId("c"), .item = item});
  summary.cases.push_back(std::move(one));
  return summary;
}

competency::AnswerKey three_items() {
  competency::AnswerKey key;
  for (const char* id : {"1", "2", "3"}) key.items.push_back({.id = ItemId(id)});
  return key;
}

}  // namespace

TEST_CASE("a skills check names the items it used whose criteria nobody held against the printed form") {
  const auto key = three_items();
  const auto says = [&](const std::vector<std::string>& unconfirmed, const std::vector<std::size_t>& used) {
    const std::vector all{scored(used)};
    const auto text = report::criteria_notice(unconfirmed, all, key);
    return text.substr(0, text.find(" scored here"));
  };
  CHECK(says({"1", "2", "3"}, {0, 1, 2}) == "The criteria of all 3 items");
  CHECK(says({"1", "3"}, {0, 1, 2}) == "The criteria of items 1 and 3");
  CHECK(says({"2"}, {0, 1, 2}) == "The criteria of item 2");
  // What was not scored is not spoken of.
  CHECK(says({"1", "3"}, {1, 2}) == "The criteria of item 3");
  CHECK(says({"1"}, {1, 2}).empty());
  CHECK(says({}, {0, 1, 2}).empty());
  // Of a group: whatever any of its raters scored.
  const std::vector two{scored({0}), scored({2})};
  CHECK(report::criteria_notice({"1", "2", "3"}, two, key).find("all 2 items") != std::string::npos);
}

TEST_CASE("no item of the scale that comes with the program has been held against the printed form yet") {
  CHECK(report::unconfirmed_items(test::shipped_scale().instrument).size() == 14);
}
