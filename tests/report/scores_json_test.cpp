// Scores in long form as JSON: what the CSV holds, name by name.

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "report/tables.hpp"
#include "scores/resolve.hpp"

using namespace evenhand;

TEST_CASE("every row of a table of scores is an object, with what it has and no more") {
  scores::Score full;
  full.round = RoundId("spring");
  full.sitting = SittingId("s-1");
  full.rater = RaterId("ann \"a\"");
  full.scored_case = CaseId("pb-lark");
  full.item = ItemId("9");
  full.trial = 2;
  full.value = "1+";
  full.seconds = 12.25;
  full.at = base::parse_rfc3339("2026-09-01T08:00:00Z").value();
  full.case_version = "abc";
  full.notes = {{"hold", "12.3 s"}, {"said \"what\"", "\xC3\xA9"}};
  scores::Score bare;
  bare.rater = RaterId("ben");
  bare.scored_case = CaseId("pb-lark");
  bare.item = ItemId("9");
  bare.status = scores::Status::refused;
  const auto table = scores::table_of(std::vector<scores::Score>{full, bare}).value();

  const auto json = nlohmann::json::parse(report::scores_json(table));
  CHECK(json.at("fingerprint") == scores::fingerprint(table));
  CHECK(json.at("scores") ==
        nlohmann::json::array(
            {{{"round", "spring"},
              {"sitting", "s-1"},
              {"rater", "ann \"a\""},
              {"case", "pb-lark"},
              {"item", "9"},
              {"trial", 2},
              {"score", "1+"},
              {"status", "observed"},
              {"seconds", 12.25},
              {"at", "2026-09-01T08:00:00Z"},
              {"case_version", "abc"},
              {"observed", nlohmann::json::array({{{"name", "hold"}, {"value", "12.3 s"}},
                                                  {{"name", "said \"what\""}, {"value", "\xC3\xA9"}}})}},
             {{"rater", "ben"}, {"case", "pb-lark"}, {"item", "9"}, {"status", "refused"}}}));
}

TEST_CASE("a table without scores is an empty list") {
  const auto table = scores::table_of({}).value();
  CHECK(nlohmann::json::parse(report::scores_json(table)).at("scores").empty());
}
