// Random tables through the core and through general-purpose libraries of R and Python, whose answers are
// stored with the library's name and version: tests/reference/differential, made by
//   scripts/differential --tables 60 --seed 20261125 --pairs 2 --store tests/reference/differential
// which compares thousands of other tables live. Differences that
// reports/methods/library-differences.md explains are marked in the answers, and must still be there.
#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include <catch2/catch.hpp>

#include "agreement/agreement.hpp"
#include "agreement/marginal_homogeneity.hpp"
#include "document/csv.hpp"
#include "report/agreement_json.hpp"

using namespace evenhand;
using namespace evenhand::agreement;

namespace {

constexpr double closed_form = 1e-8, iterative = 2e-4;  // relative
constexpr double closed_floor = 1e-12, iterative_floor = 1e-5;

using Row = std::map<std::string, std::string>;

std::vector<Row> rows_of(const std::string& bytes, const std::string& name) {
  auto reader = document::CsvReader::open(bytes, name);
  if (!reader) throw std::runtime_error(reader.error().message);
  std::vector<Row> rows;
  const auto& header = reader->header();
  document::CsvRow row;
  for (;;) {
    const auto more = reader->next(row);
    if (!more) throw std::runtime_error(more.error().message);
    if (!*more) return rows;
    Row& made = rows.emplace_back();
    for (std::size_t i = 0; i < header.size(); ++i) made[header[i]] = std::string(row.fields[i]);
  }
}

std::vector<Row> file_rows(const std::string& name) {
  const std::string path = "tests/reference/differential/" + name;
  std::ifstream stream(path, std::ios::binary);
  if (!stream) throw std::runtime_error(path + ": cannot be read");
  std::stringstream bytes;
  bytes << stream.rdbuf();
  return rows_of(bytes.str(), name);
}

/// The place of a name in a list, at its end when it is new.
std::size_t place(std::vector<std::string>& names, const std::string& name) {
  const auto found = std::ranges::find(names, name);
  if (found != names.end()) return static_cast<std::size_t>(found - names.begin());
  names.push_back(name);
  return names.size() - 1;
}

ScoreMatrix matrix_of(const Row& design, const std::vector<Row>& scores) {
  ScoreMatrix m;
  m.items = {""};
  std::istringstream categories(design.at("categories"));
  for (std::string one; std::getline(categories, one, '|');) m.categories.push_back(one);
  for (const Row& row : scores) {
    place(m.raters, row.at("rater"));
    place(m.cases, row.at("case"));
  }
  if (!design.at("key").empty()) m.key = place(m.raters, design.at("key"));
  m.resize_cells();
  for (const Row& row : scores)
    m.at(0, place(m.raters, row.at("rater")), place(m.cases, row.at("case"))).category =
        static_cast<std::int32_t>(place(m.categories, row.at("score")));
  return m;
}

/// A number as the program prints it, or why there is none.
struct Printed {
  std::optional<double> value;
  std::string why;
};
using Pages = std::map<std::pair<std::string, std::string>, Printed>;  // by raters and statistic

Pages printed(const ScoreMatrix& matrix, const std::string& level) {
  const auto all = Agreement::of(matrix, {.level = level == "nominal"   ? Level::nominal
                                                   : level == "ordinal" ? Level::ordinal
                                                                        : Level::interval,
                                          .pairs = PairChoice::all,
                                          .resamples = 0});
  REQUIRE(all);
  std::ostringstream out;
  const std::vector rounds{report::AgreementRound{*all, matrix.raters, {}}};
  report::write_agreement_csv(out, rounds, {}, StatisticSet::all());
  Pages pages;
  for (const Row& row : rows_of(out.str(), "evenhand")) {
    const std::string& value = row.at("value");
    pages[{row.at("raters"), row.at("statistic")}] = {
        value.empty() ? std::nullopt : std::optional(std::stod(value)), row.at("undefined")};
  }
  return pages;
}

/// A statistic without a value leaves its parts out: they share its reason. Nothing: no such key.
std::optional<Printed> look_up(const Pages& pages, const std::string& raters, std::string statistic) {
  const auto found = pages.find({raters, statistic});
  if (found != pages.end() && (found->second.value || !found->second.why.empty())) return found->second;
  for (auto dot = statistic.rfind('.'); dot != std::string::npos; dot = statistic.rfind('.')) {
    statistic.resize(dot);
    const auto whole = pages.find({raters, statistic + ".estimate"});
    if (whole != pages.end() && !whole->second.value) return whole->second;
  }
  if (found != pages.end()) return found->second;
  return {};
}

bool agrees(const Printed& ours, const Row& answer) {
  const std::string& value = answer.at("value");
  if (value == "undefined" || value == "error") return !ours.value;
  if (!ours.value) return false;
  const double theirs = std::stod(value), larger = std::max(std::abs(*ours.value), std::abs(theirs));
  const std::string& tolerance = answer.at("tolerance");
  const double allowed =
      tolerance == "closed"
          ? std::max(closed_form * larger, closed_floor)
          : std::max(iterative * larger,
                     iterative_floor * std::stod(tolerance.substr(tolerance.find(':') + 1)));
  return std::abs(*ours.value - theirs) <= allowed;
}

struct Counts {
  std::size_t numbers = 0;       ///< both have one, and they agree
  std::size_t undefined = 0;     ///< neither has one
  std::size_t documented = 0;    ///< they differ as the methods page says
  std::size_t not_compared = 0;  ///< the program does not print it
  std::map<std::string, std::size_t> by_library;
};

void compare(const Row& answer, const Pages& pages, Counts& counts) {
  const auto ours = look_up(pages, answer.at("raters"), answer.at("statistic"));
  if (!ours || ours->why == not_asked.text()) {
    ++counts.not_compared;
    return;
  }
  INFO(answer.at("table") << ' ' << answer.at("raters") << ' ' << answer.at("statistic") << ": "
                          << (ours->value ? std::to_string(*ours->value) : "undefined, " + ours->why) << "; "
                          << answer.at("library") << ' ' << answer.at("value"));
  const bool same = agrees(*ours, answer);
  if (!answer.at("documented").empty()) {
    CHECK_FALSE(same);
    ++counts.documented;
    return;
  }
  CHECK(same);
  ++(ours->value ? counts.numbers : counts.undefined);
  ++counts.by_library[answer.at("library").substr(0, answer.at("library").find(' '))];
}

}  // namespace

TEST_CASE("every statistic agrees with the libraries on random tables", "[reference]") {
  std::map<std::string, std::vector<Row>> scores, answers;
  for (Row& row : file_rows("tables.csv")) scores[row.at("table")].push_back(std::move(row));
  for (Row& row : file_rows("answers.csv")) answers[row.at("table")].push_back(std::move(row));

  Counts counts{};
  std::size_t tables = 0;
  for (const Row& design : file_rows("designs.csv")) {
    const std::string& name = design.at("table");
    const Pages pages = printed(matrix_of(design, scores.at(name)), design.at("level"));
    for (const Row& answer : answers.at(name)) compare(answer, pages, counts);
    ++tables;
  }
  // What was compared, so that a statistic that goes missing shows.
  CHECK(tables == 60);
  CHECK(counts.numbers == 12227);
  CHECK(counts.undefined == 1739);
  CHECK(counts.documented == 742);
  CHECK(counts.not_compared == 0);
  CHECK(counts.by_library == std::map<std::string, std::size_t>{{"R", 1565},
                                                                {"SciPy", 645},
                                                                {"lme4", 299},
                                                                {"numpy", 5127},
                                                                {"psych", 1230},
                                                                {"scikit-learn", 513},
                                                                {"statsmodels", 3546},
                                                                {"vcd", 1041}});
}

TEST_CASE("categories that mix by a long way round are one group", "[edge]") {
  // 0-6-5-2-3-4-1: each neighbor was taken for the next once. In a tree of discordant pairs the sum is that
  // of the pairs, 1 each; numpy's pseudo-inverse and statsmodels 0.13.5 give chi-square 6 on 6 degrees of
  // freedom.
  CrossTable table(7);
  for (const auto& [first, second] :
       {std::pair{0, 6}, std::pair{1, 4}, std::pair{2, 3}, std::pair{2, 5}, std::pair{3, 4}, std::pair{5, 6}})
    table.add(static_cast<std::size_t>(first), static_cast<std::size_t>(second));
  const HomogeneityTest test = stuart_maxwell(table);
  REQUIRE(test.df);
  CHECK(*test.df == 6.0);
  CHECK(*test.chi2 == Approx(6.0).epsilon(1e-12));
}
