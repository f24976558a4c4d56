#include "competency/evidence.hpp"

#include <catch2/catch.hpp>

#include "base/fingerprint.hpp"
#include "cases/key.hpp"
#include "competency/library_cases.hpp"
#include "support/shipped.hpp"

namespace evenhand::competency {
namespace {

using test::shipped_library;

StandardInForce shipped_standard() {
  const auto& file = shipped_library().standards.at("default");
  return standard_in_force(file.text, file.name).value();
}

/// Every item with a level scored by the key, shifted upward by `off` where that is possible.
void add_case(std::vector<scores::Score>& rows, const std::string& rater, const std::string& id, int off,
              const AnswerKey& key) {
  for (std::size_t item = 0; item < key.items.size(); ++item) {
    const Key* one = key.find(CaseId(id), item);
    if (one == nullptr || !one->category) continue;
    const auto& categories = key.items[item].categories;
    const auto place = std::min(categories.size() - 1, *one->category + static_cast<std::size_t>(off));
    scores::Score score;
    score.rater = RaterId(rater);
    score.scored_case = CaseId(id);
    score.item = key.items[item].id;
    score.value = categories[place];
    rows.push_back(score);
  }
}

scores::ScoreTable two_raters() {
  const auto key = answer_key_of(shipped_library(), InstrumentId("pediatric-balance")).value();
  std::vector<scores::Score> rows;
  for (const std::string id : {"pb-otter", "pb-lark"}) {
    add_case(rows, "ana", id, 0, key);
    add_case(rows, "ben", id, 1, key);
  }
  return scores::table_of(rows).value();
}

}  // namespace

TEST_CASE("evidence holds scores against the library's keys, and says what it rests on") {
  const auto table = two_raters();
  const auto evidence = evidence_of(table, shipped_library(), shipped_standard()).value();
  CHECK(evidence.key.instrument == InstrumentId("pediatric-balance"));
  CHECK(evidence.scores_fingerprint == scores::fingerprint(table));
  CHECK(evidence.standard.fingerprint == base::fingerprint(shipped_library().standards.at("default").text));
  CHECK_FALSE(evidence.department_rulings);
  REQUIRE(evidence.results.size() == 2);
  const auto all = summaries_of(evidence).value();
  REQUIRE(all.size() == 2);
  CHECK(*all[0].agreement.estimate == 1.0);
  CHECK(*all[1].agreement.estimate < 0.8);
  CHECK(*all[1].bias.points.estimate > 2.0);
  const auto one = summaries_of(evidence, 1, RaterId("ben")).value();
  REQUIRE(one.size() == 1);
  CHECK(one[0].rater == RaterId("ben"));
  // One rater alone is still compared with the others.
  REQUIRE(!one[0].worst.empty());
  CHECK(one[0].worst[0].others.raters == 1);
}

TEST_CASE("the instrument that the standard is for is the one reported, whatever rows come first") {
  auto library = shipped_library();
  auto other = library.cases.at("pb-wren");
  other.id = CaseId("elbow");
  other.instrument = InstrumentId("spasticity");
  library.cases.emplace("elbow", other);
  const auto key = answer_key_of(shipped_library(), InstrumentId("pediatric-balance")).value();
  std::vector<scores::Score> rows(1);
  rows[0].rater = RaterId("ana");
  rows[0].scored_case = CaseId("elbow");
  rows[0].item = ItemId("1");
  rows[0].value = "1";
  add_case(rows, "ana", "pb-otter", 0, key);
  const auto evidence = evidence_of(scores::table_of(rows).value(), library, shipped_standard()).value();
  CHECK(evidence.key.instrument == InstrumentId("pediatric-balance"));
  REQUIRE(evidence.results.size() == 1);
  CHECK(evidence.results[0].cases.size() == 1);
}

TEST_CASE("nobody is summed up who is not there, nor cases that the library does not have") {
  const auto evidence = evidence_of(two_raters(), shipped_library(), shipped_standard()).value();
  const auto none = summaries_of(evidence, 1, RaterId("bem"));
  REQUIRE_FALSE(none);
  CHECK(none.error().code == Errc::not_found);
  CHECK(none.error().message.find("ben") != std::string::npos);

  scores::Score stray;
  stray.rater = RaterId("ana");
  stray.scored_case = CaseId("no-such-case");
  stray.item = ItemId("1");
  stray.value = "2";
  const auto strange =
      evidence_of(scores::table_of({&stray, 1}).value(), shipped_library(), shipped_standard());
  REQUIRE_FALSE(strange);
  CHECK(strange.error().code == Errc::not_found);
  CHECK(evidence_of({}, shipped_library(), shipped_standard()).error().code == Errc::invalid);
}

TEST_CASE("a slip is named from what the rater wrote down beside the score") {
  const auto& library = shipped_library();
  const auto scoring = library.instruments.at("pediatric-balance").in_force;
  const auto slips = slips_by_notes(library, scoring);
  const auto key = answer_key_of(library, InstrumentId("pediatric-balance")).value();
  const std::size_t item = test::shipped_item("1");
  const auto* right = key.find(CaseId("pb-lark"), item);
  REQUIRE(right != nullptr);
  REQUIRE(right->category);
  ItemResult result{.case_id = CaseId("pb-lark"), .item = item, .key = right->category};
  result.score = *right->category == 0 ? 1 : *right->category - 1;
  CHECK(slips(result).empty());  // nothing was written down
  result.notes = {{"sit_hands", "after"}};
  const auto named = slips(result);
  CHECK_FALSE(named.empty());
}

TEST_CASE("a standard with a fault is refused, naming it") {
  const auto none = standard_in_force("format: evenhand/standard-1\nid: x\n", "x.yaml");
  REQUIRE_FALSE(none);
  CHECK(none.error().message.find("x.yaml") != std::string::npos);
}

}  // namespace evenhand::competency
