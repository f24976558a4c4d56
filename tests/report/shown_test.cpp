// Who may not see names must not be able to work out what a few raters gave: neither from what is said of one
// case-item, nor from what is said of an item over all cases.
#include "report/shown.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <random>
#include <set>

#include <fmt/core.h>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "report/calibrated.hpp"
#include "report/calibration_page.hpp"

using namespace evenhand;
using namespace evenhand::report;
using Json = nlohmann::json;

namespace {

constexpr std::size_t least = 5;

/// Score of a rater on a case and item.
using ScoreOf = std::function<int(int rater, int one_case, int item)>;

calibration::Calibration calibration_of(int raters, int cases, int items, const ScoreOf& score,
                                        const ScoreOf& key) {
  std::string csv = "rater,case,item,score\n";
  const auto row = [&](const std::string& who, int c, int i, int level) {
    csv += who + ",c" + std::to_string(c) + "," + std::to_string(i) + "," + std::to_string(level) + "\n";
  };
  for (int c = 1; c <= cases; ++c)
    for (int i = 1; i <= items; ++i) {
      row("key", c, i, key(0, c, i));
      for (int r = 1; r <= raters; ++r) row("zoe" + std::to_string(r), c, i, score(r, c, i));
    }
  return test::calibrated(csv);
}

int plain_key(int, int c, int i) { return (c + i) % 5; }

CalibrationFrame without_names() {
  CalibrationFrame frame;
  frame.reader = Reader::may_not_see_names;
  return frame;
}

/// Every way to divide n raters among the levels from `level` on.
void divide(std::size_t n, std::size_t level, std::vector<std::size_t>& times,
            const std::function<void(const std::vector<std::size_t>&)>& take) {
  if (level + 1 == times.size()) {
    times[level] = n;
    take(times);
    return;
  }
  for (std::size_t here = 0; here <= n; ++here) {
    times[level] = here;
    divide(n - here, level + 1, times, take);
  }
}

calibration::AgendaPoint point_of(const std::vector<std::size_t>& times) {
  calibration::AgendaPoint point;
  int rater = 0;
  for (std::size_t level = 0; level < times.size(); ++level) {
    if (times[level] == 0) continue;
    calibration::GaveLevel gave{level, {}};
    for (std::size_t n = 0; n < times[level]; ++n) gave.raters.emplace_back("r" + std::to_string(++rater));
    point.raters += times[level];
    point.given.push_back(std::move(gave));
  }
  return point;
}

std::string everything(const Workbook& book) {
  std::string text;
  for (const Sheet& sheet : book.sheets) {
    text += sheet.name + "\n";
    for (const auto& row : sheet.rows)
      for (const Cell& each : row)
        text += std::holds_alternative<double>(each)        ? std::to_string(std::get<double>(each)) + "|"
                : std::holds_alternative<std::string>(each) ? std::get<std::string>(each) + "|"
                                                            : "|";
  }
  return text;
}

const Sheet& sheet_named(const Workbook& book, const std::string& name) {
  const auto found = std::ranges::find(book.sheets, name, &Sheet::name);
  REQUIRE(found != book.sheets.end());
  return *found;
}

}  // namespace

TEST_CASE("no hidden cell of a case-item can be worked out, however many raters one knows of", "[property]") {
  calibration::Calibration of;
  of.categories = {"0", "1", "2", "3"};
  const Shown shown(of, Reader::may_not_see_names);
  const Shown all(of, Reader::may_see_names);
  std::size_t hidden = 0, counted = 0;
  for (std::size_t n = least; n <= 13; ++n) {
    // What the reader sees, and every number that stands behind it for each level.
    std::map<std::pair<std::vector<std::size_t>, std::optional<std::size_t>>,
             std::vector<std::set<std::size_t>>>
        behind;
    std::vector<std::size_t> start(4);
    divide(n, 0, start, [&](const std::vector<std::size_t>& times) {
      const auto point = point_of(times);
      REQUIRE(all.point(point).counted);
      const auto seen = shown.point(point);
      if (seen.counted) {
        ++counted;
        for (const std::size_t each : times) REQUIRE((each == 0 || each >= least));
        return;
      }
      ++hidden;
      auto& cells = behind[{seen.given, seen.commonest}];
      cells.resize(4);
      for (std::size_t level = 0; level < 4; ++level) cells[level].insert(times[level]);
    });
    for (const auto& [seen, cells] : behind)
      for (std::size_t level = 0; level < 4; ++level) {
        if (!seen.first.empty() && std::ranges::find(seen.first, level) == seen.first.end()) continue;
        INFO(n << " raters, level " << level);
        CHECK(cells[level].size() > 1);
      }
  }
  CHECK(hidden > 1000);
  CHECK(counted > 20);
}

TEST_CASE("the agenda is the same whatever stands behind what is left out") {
  // Twelve raters; on c4, item 1 so many give 4 where the key is 0.
  const auto with = [](int apart) {
    return calibration_of(
        12, 6, 2,
        [apart](int r, int c, int i) { return c == 4 && i == 1 && r <= apart ? 4 : plain_key(0, c, i); },
        plain_key);
  };
  const auto two = with(2), four = with(4), six = with(6);
  const auto frame = without_names();
  CHECK(agenda_html(two, frame) == agenda_html(four, frame));
  CHECK(Json::parse(calibration_json(two, frame))["agenda"] ==
        Json::parse(calibration_json(four, frame))["agenda"]);
  CHECK(everything({"", "", {}, {sheet_named(calibration_tables(two, frame), "Agenda")}}) ==
        everything({"", "", {}, {sheet_named(calibration_tables(four, frame), "Agenda")}}));
  // Where five or more gave each level, it is all there; and who may see names sees all.
  const auto point = Json::parse(calibration_json(six, frame))["agenda"]["points"][0];
  CHECK(point["given"][1]["raters"] == 6);
  CHECK(point["exact"] == 0.5);
  CHECK(agenda_html(two, {}) != agenda_html(four, {}));
  const auto hidden = Json::parse(calibration_json(two, frame))["agenda"]["points"][0];
  for (const char* name : {"raters", "spread", "exact"}) CHECK_FALSE(hidden.contains(name));
  CHECK(hidden["levels"] == Json{"0", "4"});
  CHECK(hidden["commonest"] == "0");
}

TEST_CASE("what is said of an item leaves no few misses over", "[property]") {
  std::mt19937 random(5);
  std::size_t left_out = 0, told = 0;
  for (int trial = 0; trial < 40; ++trial) {
    const int raters = 5 + trial % 16;
    std::vector<int> noise;
    for (int k = 0; k < raters * 6 * 4; ++k) noise.push_back(static_cast<int>(random() % 1000));
    const auto of = calibration_of(
        raters, 6, 4,
        [&](int r, int c, int i) {
          const int draw = noise[static_cast<std::size_t>(((r - 1) * 6 + c - 1) * 4 + i - 1)];
          // The first items are easy, the last hard; one case splits everybody.
          const bool off = draw < i * i * 12 || (c == 2 && i == 3 && r % 2 == 0);
          return (plain_key(0, c, i) + (off ? 1 + draw % 2 : 0)) % 5;
        },
        plain_key);
    const auto report = Json::parse(calibration_json(of, without_names()));
    std::map<std::string, long> at_points;
    for (const auto& point : report["agenda"]["points"])
      if (point["given"].is_array())
        for (const auto& given : point["given"])
          if (given["level"] != point["key"]) at_points[point["item"]] += given["raters"].get<long>();
    double misses = 0.0, counted = 0.0;
    bool some_told = false;
    for (const auto& item : report["items"]) {
      counted += item["counted"].get<double>();
      INFO("trial " << trial << ", item " << item["item"]);
      CHECK_FALSE(item.contains("key_by_score"));
      CHECK_FALSE(item.contains("differences"));
      if (item.contains("left_out")) {
        ++left_out;
        for (const char* name : {"missed", "missed_share", "exact", "signed_error", "excess"})
          CHECK_FALSE(item.contains(name));
        continue;
      }
      ++told;
      const long rest = item["missed"].get<long>() - at_points[item["item"]];
      CHECK((rest == 0 || rest >= static_cast<long>(least)));
      misses += item["missed"].get<double>();
      some_told = some_told || item["missed"] > 0;
    }
    // The total of all items gives what is left out away only where that is nothing, or enough.
    const double all = std::round((1.0 - report["group"]["exact"]["estimate"].get<double>()) * counted);
    const double hidden = all - misses;
    CHECK((hidden == 0 || hidden >= static_cast<double>(least) || !some_told));
  }
  CHECK(left_out > 10);
  CHECK(told > 50);
}

TEST_CASE("what the JSON says of an item stands in the workbook, and what it leaves out does not") {
  const auto of = calibration_of(
      9, 12, 4,
      [](int r, int c, int i) { return (plain_key(0, c, i) + ((r + c) % (9 - 2 * i) == 0 ? 1 : 0)) % 5; },
      plain_key);
  for (const auto& frame : {CalibrationFrame{}, without_names()}) {
    const auto items = Json::parse(calibration_json(of, frame))["items"];
    const auto sheet = sheet_named(calibration_tables(of, frame), "Items");
    std::size_t found = 0;
    for (std::size_t i = 0; i < items.size(); ++i)
      for (std::size_t column = 4; column < sheet.columns.size(); ++column) {
        const Json one = items[i].value(sheet.columns[column].name, Json());
        const Json number = one.is_object() ? one["estimate"] : one;
        const auto* cell = std::get_if<double>(&sheet.rows[i][column]);
        if (!number.is_number()) continue;
        INFO("item " << i << ", " << sheet.columns[column].name);
        REQUIRE(cell != nullptr);
        CHECK(*cell == number.get<double>());
        ++found;
      }
    CHECK(found >= (frame.reader == Reader::may_see_names ? 36U : 5U));
    for (std::size_t i = 0; i < items.size(); ++i)
      if (items[i].contains("left_out"))
        for (std::size_t column = 3; column < sheet.columns.size(); ++column)
          CHECK_FALSE(std::holds_alternative<double>(sheet.rows[i][column]));
    for (const char* name : {"n", "exact", "within_one", "share_of_disagreement", "weighted_kappa"})
      CHECK(std::ranges::count(sheet.columns, name, &Column::name) == 1);
  }
}

TEST_CASE("a lone rater's total shows in no form without names") {
  const auto of = calibration_of(
      6, 4, 2, [](int r, int c, int i) { return r == 6 && c == 4 && i == 1 ? 3 : plain_key(0, c, i); },
      plain_key);
  const auto page = calibration_html(of, {});
  CHECK(page.find("Highest") != std::string::npos);
  CHECK(page.find("+3.0") != std::string::npos);
  const auto frame = without_names();
  const auto bare = calibration_html(of, frame);
  for (const char* word : {"Highest", "Lowest", "+3.0", "score less key, points", "zoe"})
    CHECK(bare.find(word) == std::string::npos);
  const auto report = Json::parse(calibration_json(of, frame))["differences"];
  CHECK_FALSE(report.contains("points"));
  for (const auto& at : report["by_total"]) CHECK_FALSE(at.contains("highest"));
  const auto book = calibration_tables(of, frame);
  CHECK(sheet_named(book, "Totals").columns.size() == 4);
  CHECK(everything(book).find("zoe") == std::string::npos);
  CHECK(everything(calibration_tables(of, {})).find("zoe6") != std::string::npos);
  CHECK(calibration_text(of, frame).find("zoe") == std::string::npos);
}

TEST_CASE("a total of the key behind which few may stand is left out, and one more with it") {
  calibration::Calibration of;
  of.differences.by_total = {{4, 1, 12, 0.5, 0, 1}, {5, 2, 8, 1.0, 0, 2}, {6, 1, 7, 0.2, 0, 1}};
  const Shown shown(of, Reader::may_not_see_names);
  CHECK(shown.total(0));
  CHECK_FALSE(shown.total(1));  // eight totals of two cases: four raters may be all
  CHECK_FALSE(shown.total(2));  // else the mean of all would give it away
  CHECK(Shown(of, Reader::may_see_names).total(1));
}

TEST_CASE("of a small group who may not see names learns only how many took part") {
  const auto with = [](int apart) {
    return calibration_of(
        3, 6, 2, [apart](int r, int c, int i) { return r == 2 && c <= apart ? 4 : plain_key(0, c, i); },
        plain_key);
  };
  const auto one = with(1), other = with(5);
  const auto frame = without_names();
  CHECK(calibration_json(one, frame) == calibration_json(other, frame));
  CHECK(calibration_text(one, frame) == calibration_text(other, frame));
  CHECK(calibration_html(one, frame) == calibration_html(other, frame));
  CHECK(agenda_html(one, frame) == agenda_html(other, frame));
  CHECK(everything(calibration_tables(one, frame)) == everything(calibration_tables(other, frame)));
  CHECK(calibration_json(one, {}) != calibration_json(other, {}));
  CHECK(calibration_text(one, frame).find("3 raters took part, with 6 cases.") != std::string::npos);
  for (const auto& reader : {frame, CalibrationFrame{}})
    CHECK(calibration_text(one, reader).find("no license") != std::string::npos);
  const auto report = Json::parse(calibration_json(one, frame));
  CHECK(report["group"] == Json{{"raters", 3}, {"cases", 6}, {"items", 2}});
  CHECK(report["items"].is_null());
}

TEST_CASE("how many changed is told only where enough scored in both rounds, in no form otherwise") {
  // Six raters, of whom so many were in the round before; the first came to score one level higher.
  const auto with = [](int before) {
    std::string csv = "round,rater,case,item,score\n";
    for (const int round : {1, 2})
      for (int c = 1; c <= 20; ++c)
        for (int i = 1; i <= 3; ++i) {
          const int key = (c + i) % 4;
          for (int r = 0; r <= (round == 1 ? before : 6); ++r) {
            // Each misses a key now and then, so that there is scatter to test against.
            const int level =
                r == 0 ? key : key + ((r * 7 + c * 3 + i + round) % 9 == 0 || (r == 1 && round == 2));
            csv += fmt::format("{},{},c{},{},{}\n", round, r == 0 ? "key" : "zoe" + std::to_string(r), c, i,
                               level);
          }
        }
    return test::calibrated(csv, 1);
  };
  const auto frame = without_names();
  const auto last_row = [](const calibration::Calibration& of, const CalibrationFrame& how) {
    return sheet_named(calibration_tables(of, how), "Rounds").rows.back().back();
  };
  for (const int before : {4, 5}) {
    INFO(before << " of six were in the round before");
    const auto of = with(before);
    REQUIRE(of.rounds.back().flagged >= 1);
    const bool told = before >= static_cast<int>(least);
    CHECK(Json::parse(calibration_json(of, frame))["rounds"][1].contains("flagged") == told);
    CHECK(std::holds_alternative<double>(last_row(of, frame)) == told);
    auto other = of;
    other.rounds.back().flagged += 1;
    CHECK((calibration_text(of, frame) == calibration_text(other, frame)) == !told);
    CHECK((calibration_html(of, frame) == calibration_html(other, frame)) == !told);
    CHECK(calibration_text(of, {}).find("Among so few it can be another") != std::string::npos);
    // Who may see names sees the number in any case.
    CHECK(Json::parse(calibration_json(of, {}))["rounds"][1]["flagged"] == of.rounds.back().flagged);
    CHECK(std::holds_alternative<double>(last_row(of, {})));
  }
}

TEST_CASE("an item that few raters scored is left out, although blanks make its misses many") {
  const auto item_two = [](int raters) {
    std::string csv = "rater,case,item,score,status\n";
    for (int c = 1; c <= 6; ++c)
      for (int i = 1; i <= 2; ++i)
        for (int r = 0; r <= 8; ++r) {
          const bool blank = i == 2 && r > raters;
          csv += fmt::format("{},c{},{},{},{}\n", r == 0 ? "key" : "zoe" + std::to_string(r), c, i,
                             blank ? "" : std::to_string(c % 5), blank ? "not_tested" : "observed");
        }
    const auto of = test::calibrated(csv);
    REQUIRE(of.by_item[1].missed >= least);
    auto misread = of;
    misread.by_item[1].misread = true;
    CHECK((calibration_text(misread, without_names()).find("looks misread, item 2") == std::string::npos) ==
          (raters < 5));
    return Json::parse(calibration_json(of, without_names()))["items"][1];
  };
  const auto two = item_two(2);
  CHECK(two.contains("left_out"));
  for (const char* name : {"missed", "missed_share", "exact", "icc", "weighted_kappa"})
    CHECK_FALSE(two.contains(name));
  CHECK(item_two(6).contains("missed"));
}

TEST_CASE("a suspect key is named without counts to who may not see names") {
  const auto of = calibration_of(
      9, 8, 2, [](int r, int c, int i) { return c == 3 && i == 2 && r > 2 ? 1 : plain_key(0, c, i); },
      plain_key);
  REQUIRE(of.suspect_keys.size() == 1);
  const auto frame = without_names();
  const auto report = Json::parse(calibration_json(of, frame))["suspect_keys"][0];
  CHECK(report["says"] == "most of the raters who agree best with the other keys gave 1 where the key is 0");
  CHECK_FALSE(report.contains("all_gave"));
  CHECK(Json::parse(calibration_json(of, {}))["suspect_keys"][0]["all_gave"] == 7);
  const auto text = calibration_text(of, frame);
  CHECK(text.find("most of the raters who agree best") != std::string::npos);
  CHECK(text.find("7 of 9") == std::string::npos);
}
