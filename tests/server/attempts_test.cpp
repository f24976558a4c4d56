// A second attempt in a year on the site: told from when the scores were made, decided at its own level, and
// a third one refused.

#include <chrono>

#include "server/ward.hpp"
#include "store/assignments.hpp"
#include "store/sitting.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

/// A standard that looks after 4 and 6 cases: the shipped ones are fewer than the default's looks.
cases::Library quick_library() {
  auto library = confirmed_library();
  auto& text = library.standards.at("default").text;
  const std::string looks = "after_cases: [16, 24, 32]";
  const auto at = text.find(looks);
  REQUIRE(at != std::string::npos);
  text.replace(at, looks.size(), "after_cases: [4, 6]");
  return library;
}

/// The cases of the shipped key in two halves, scored so many days ago, off the key all over or as the key.
struct Tried {
  Ward ward{quick_library()};
  std::vector<CaseId> cases;

  Tried() {
    const auto key = competency::answer_key_of(shipped_library(), InstrumentId("pediatric-balance")).value();
    for (const auto& [id, one] : key.cases) cases.push_back(id);
  }
  /// Cases from one place to another.
  void bring(const std::string& rater, std::size_t from, std::size_t to, int days_ago, bool off) {
    const auto key = competency::answer_key_of(shipped_library(), InstrumentId("pediatric-balance")).value();
    std::vector<scores::Score> rows;
    for (std::size_t c = from; c < to && c < cases.size(); ++c)
      for (std::size_t item = 0; item < key.items.size(); ++item) {
        const auto* at = key.find(cases[c], item);
        if (at == nullptr || !at->category) continue;
        const auto& categories = key.items[item].categories;
        scores::Score score;
        score.rater = RaterId(rater);
        score.scored_case = cases[c];
        score.item = key.items[item].id;
        score.round = RoundId("day-" + std::to_string(days_ago));
        score.at = ward.house.now() - std::chrono::hours(24 * days_ago);
        score.value = categories[off ? (*at->category + 1) % categories.size() : *at->category];
        rows.push_back(score);
      }
    auto store = ward.house.store();
    REQUIRE(store.import_scores(scores::table_of(rows).value(),
                                {.name = "day.csv", .file_fingerprint = std::to_string(days_ago)},
                                ward.house.now()));
  }
  Json row(const std::string& rater) {
    const Json raters = ward.board().at("raters");
    for (const auto& one : raters)
      if (one.at("rater") == rater) return one;
    return nullptr;
  }
  Json checks(const std::string& rater) {
    return ward.ines.get(ward.at("/raters/" + rater)).body().at("checks");
  }
};

}  // namespace

TEST_CASE(
    "checks after one that ended are the second attempt, on the rater's page, the board and in the report") {
  Tried tried;
  auto dot = student(tried.ward.house, tried.ward.group.code, "dot");
  tried.bring("dot", 0, 5, 200, true);
  CHECK(tried.checks("dot").at("verdict") == "Not yet");
  CHECK(tried.checks("dot").at("attempt") == "First attempt of 2 in a year");
  CHECK(tried.checks("dot").at("level") == 0.97);
  tried.bring("dot", 5, 8, 50, false);
  const auto second = tried.checks("dot");
  CHECK(second.at("attempt") == "Second attempt of 2 in a year");
  CHECK(second.at("level") == 0.985);
  CHECK(second.at("cases") == 3);
  CHECK(second.at("verdict") == "More cases needed");
  std::string notices;
  const Json all = second.at("notices");
  for (const auto& one : all) notices += one.get<std::string>() + "\n";
  CHECK(notices.find("Second attempt of 2 in a year: the decision rests on") != std::string::npos);
  CHECK(notices.find("5 cases that count, not yet") != std::string::npos);
  CHECK(tried.row("dot").at("attempt") == "Second attempt of 2 in a year");
  CHECK(tried.row("dot").at("level") == 0.985);
  const auto report = tried.ward.ines.get(tried.ward.at("/raters/dot/report?format=json")).body();
  CHECK(report.at("attempts").at("made").size() == 2);
  CHECK(report.at("attempts").at("made")[0].at("verdict") == "Not yet");
  CHECK(tried.ward.ines.get(tried.ward.at("/raters/dot/report")).text.find("Second attempt of 2") !=
        std::string::npos);
}

TEST_CASE("when no attempt is left in the year, no other check can be begun before its day, which is said") {
  Tried tried;
  auto& ward = tried.ward;
  auto dot = student(ward.house, ward.group.code, "dot");
  const auto set = ward.ines.get("/api/sets").body();
  std::string check;
  for (const auto& one : set)
    if (one.at("mode") == "practice" && check.empty()) check = one.at("id");
  REQUIRE_FALSE(check.empty());
  const auto given =
      ward.ines.post(ward.at("/assignments"),
                     {{"set", check},
                      {"mode", "skills-check"},
                      {"opens", base::to_rfc3339(ward.house.now())},
                      {"closes", base::to_rfc3339(ward.house.now() + std::chrono::hours(24 * 300))}});
  INFO(given.text);
  REQUIRE(given.status == 201);
  tried.bring("dot", 0, 4, 200, true);
  CHECK(tried.row("dot").at("none_left_until").is_null());
  tried.bring("dot", 4, 8, 100, true);
  CHECK(tried.row("dot").at("none_left_until") ==
        base::to_date(ward.house.now() + std::chrono::hours(24 * (365 - 200))));
  const auto refused = dot.post("/api/sittings", {{"set", check}});
  CHECK(refused.status == 409);
  CHECK(refused.text.find("You have used every attempt") != std::string::npos);
  // Another one of the group may begin, and so may this one when the day has come.
  CHECK(ward.ben.post("/api/sittings", {{"set", check}}).status == 201);
  ward.house.wait(std::chrono::hours(24 * 166));
  dot = Browser(ward.house, "192.0.2.60");
  REQUIRE(dot.post("/api/sign-in", {{"rater", "dot"}, {"passphrase", passphrase}}).status == 200);
  CHECK(dot.post("/api/sittings", {{"set", check}}).status == 201);
}

TEST_CASE("scores of paper without a time are one attempt, and the page says that nothing is known of it") {
  Ward ward;
  const auto checks = ward.ines.get(ward.at("/raters/ann")).body().at("checks");
  CHECK(checks.at("attempt").is_null());
  CHECK(checks.at("level") == 0.97);
}
