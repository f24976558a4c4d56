#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "competency/library_cases.hpp"
#include "server/support.hpp"
#include "support/shipped.hpp"

namespace evenhand::test {

/// The shipped cases, as if second readers had confirmed them: so that something is decided.
inline cases::Library confirmed_library() {
  cases::Library library = shipped_library();
  for (auto& [id, one] : library.cases) one.reviewed_by = 2;
  return library;
}

/// Scores of every case: as the key, but for item 4, where `off` is added as far as that goes.
inline std::vector<scores::Score> scores_of(const std::string& rater, int off) {
  const auto key = competency::answer_key_of(shipped_library(), InstrumentId("pediatric-balance")).value();
  std::vector<scores::Score> rows;
  for (const auto& [id, one] : key.cases)
    for (std::size_t item = 0; item < key.items.size(); ++item) {
      if (!one.keys[item] || !one.keys[item]->category) continue;
      const auto& categories = key.items[item].categories;
      int place = static_cast<int>(*one.keys[item]->category);
      if (key.items[item].id == ItemId("4"))
        place = std::clamp(place + off, 0, static_cast<int>(categories.size()) - 1);
      scores::Score score;
      score.rater = RaterId(rater);
      score.scored_case = id;
      score.item = key.items[item].id;
      score.value = categories[static_cast<std::size_t>(place)];
      rows.push_back(score);
    }
  return rows;
}

/// A group of Ines with Ann, who scores as the key, and Ben, who scores item 4 too high.
struct Ward {
  House house;
  Browser ines = instructor(house);
  OpenGroup group = open_group(ines);
  Browser ann = student(house, group.code, "ann");
  Browser ben = student(house, group.code, "ben");

  explicit Ward(cases::Library library = confirmed_library()) : house({}, std::move(library)) {
    import("ann", 0);
    import("ben", 2);
  }
  void import(const std::string& rater, int off, const std::string& name = "checks.csv") {
    auto store = house.store();
    const auto rows = scores_of(rater, off);
    REQUIRE(store.import_scores(scores::table_of(rows).value(), {.name = name, .file_fingerprint = "f"},
                                house.now()));
  }
  std::string at(const std::string& rest = "") const { return "/api/groups/" + group.id + rest; }
  Json board() {
    const auto answer = ines.get(at("/board"));
    REQUIRE(answer.status == 200);
    return answer.body();
  }
  /// With what the page says that the report rests on.
  Json read_and(const std::string& rater, Json body) {
    const auto page = ines.get(at("/raters/" + rater));
    REQUIRE(page.status == 200);
    body.update(page.body().at("checks").at("rests_on"));
    return body;
  }
  /// Reads the page, and signs.
  Json sign(const std::string& rater, const Json& body, unsigned status = 201) {
    const auto answer = ines.post(at("/raters/" + rater + "/sign-offs"), read_and(rater, body));
    INFO(answer.text);
    REQUIRE(answer.status == status);
    return answer.body();
  }
};

inline const Json ready_until{{"name", "Ines Faber, PT"}, {"valid_until", "2027-08-31"}};

}  // namespace evenhand::test
