// The store looked after, and read where a file of scores could stand.
#include <sstream>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "cli/command.hpp"
#include "store/accounts.hpp"
#include "store/groups.hpp"
#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Contains;

namespace {

base::Time minute(int n) {
  return base::Time(std::chrono::sys_days(std::chrono::year{2026} / 9 / 1)) + std::chrono::minutes(n);
}

store::Answer answer_of(const std::string& scored_case, int item, int score) {
  store::Answer answer;
  answer.scored_case = CaseId(scored_case);
  answer.item = ItemId(std::to_string(item));
  answer.value = std::to_string(score);
  answer.sureness = 0.5;
  answer.at = minute(item);
  return answer;
}

/// A store as the site leaves it: two students and their instructor, sittings with revisions, live and
/// described readings.
void fill(const std::string& path) {
  auto store = store::Store::open(path, store::OpenMode::create, minute(0)).value();
  bool done = add_account(store, {RaterId("cyd"), store::Role::instructor, "$hash", minute(0)}).has_value() &&
              add_group(store, {GroupId("g"), "Spring class", RaterId("cyd"), minute(0)}).has_value();
  for (const std::string rater : {"ann", "ben"}) {
    done = done &&
           add_account(store, {RaterId(rater), store::Role::student, "$hash", minute(0)}).has_value() &&
           join_group(store, GroupId("g"), RaterId(rater), minute(0)).has_value();
    store::Sitting sitting;
    sitting.id = SittingId("s-" + rater);
    sitting.rater = RaterId(rater);
    sitting.set = SetId("first-steps");
    sitting.mode = store::Mode::skills_check;
    sitting.begun = minute(0);
    done = done && store.begin_sitting(sitting).has_value();
    for (const std::string scored : {"pb-otter", "pb-lynx", "pb-heron"})
      for (int item = 1; item <= 14; ++item) {
        auto answer = answer_of(scored, item, (item + static_cast<int>(scored.size())) % 5);
        if (item == 8)
          answer.trial = 2,
          answer.stopwatch = {{.trial = 1, .seconds = 3.5},
                              {.trial = 2, .seconds = 9.25, .form = store::Form::described}};
        done = done && store.append_answer(sitting.id, answer).has_value();
        if (item != 9 || rater != "ben") continue;
        answer.revision = 2;
        answer.value = "0";
        done = done && store.append_answer(sitting.id, answer).has_value();
      }
    done = done && store.finish_sitting(sitting.id, minute(30)).has_value();
  }
  if (!done) throw std::runtime_error("the store of the test could not be filled");
}

struct Site {
  TemporaryFolder folder;
  std::string store = folder.path("d.db");
  Site() { fill(store); }
};

Ran run_at_terminal(const std::vector<std::string>& arguments, const std::string& input) {
  std::istringstream in(input);
  std::ostringstream out, err;
  cli::Console console{in, out, err};
  console.in_is_terminal = true;
  const auto exit = cli::run(arguments, console);
  return {static_cast<int>(exit), out.str(), err.str()};
}

}  // namespace

TEST_CASE("agreement says of the store of a site what it says of the file exported from it") {
  const Site site;
  const auto csv = site.folder.path("out.csv");
  REQUIRE(run({"export", "--store", site.store, "--out", csv}).exit == 0);
  auto from_store = std::vector<std::string>{"agreement", "--store", site.store};
  auto from_file = std::vector<std::string>{"agreement", csv};
  for (auto* arguments : {&from_store, &from_file})
    for (const auto& one : {"--only", "exact,kappa", "--format", "json"}) arguments->push_back(one);
  const auto a = run(from_store);
  const auto b = run(from_file);
  REQUIRE(a.exit == 0);
  CHECK(a.out == b.out);
  const auto result = nlohmann::json::parse(a.out);
  CHECK(result.dump().find("\"ann\"") != std::string::npos);
}

TEST_CASE("agreement needs a file or a store, with scores in it", "[edge]") {
  const TemporaryFolder folder;
  CHECK(run({"agreement"}).exit == 2);
  CHECK_THAT(run({"agreement"}).err, Contains("--store"));
  CHECK_THAT(run({"agreement", "--store", folder.path("none.db")}).err, Contains("no such file"));
  const auto empty = folder.path("empty.db");
  {
    (void)store::Store::open(empty, store::OpenMode::create, minute(0)).value();
  }
  CHECK_THAT(run({"agreement", "--store", empty}).err, Contains("there are no scores in it"));
  CHECK_THAT(run({"competency", "--all", "--out", folder.path("r"), "--store", empty}).err,
             Contains("there are no scores in it"));
}

TEST_CASE("scores of a site are exported, are known again, and go into another store") {
  const Site site;
  const auto csv = site.folder.path("out.csv");
  REQUIRE(run({"export", "--store", site.store, "--out", csv}).exit == 0);
  const auto text = text_of_file(csv);
  CHECK_THAT(text, Contains("seconds-described") && Contains("9.25"));
  const auto again = run({"import", csv, "--store", site.store});
  CHECK(again.exit == 0);
  CHECK_THAT(again.err, Contains("0 rows added"));
  const auto other = site.folder.path("e.db");
  CHECK(run({"import", csv, "--store", other}).exit == 0);
  const auto out = run({"export", "--store", other});
  CHECK(out.out == text);
}

TEST_CASE("a competency report is made from the store of a site") {
  const Site site;
  const auto report = run({"competency", "--store", site.store, "--rater", "ann", "--format", "json"});
  REQUIRE(report.exit == 0);
  CHECK(nlohmann::json::parse(report.out).dump().find("ann") != std::string::npos);
}

TEST_CASE("a backup is restored where nothing stands, and in place of a store only when that was said") {
  const Site site;
  const auto copy = site.folder.path("copy.db");
  REQUIRE(run({"store", "backup", copy, "--store", site.store}).exit == 0);
  const auto elsewhere = site.folder.path("new.db");
  CHECK(run({"store", "restore", copy, "--store", elsewhere}).exit == 0);
  CHECK_THAT(run({"store", "check", "--store", elsewhere}).out, Contains("in order. 3 people"));

  const auto refused = run({"store", "restore", copy, "--store", site.store});
  CHECK(refused.exit == 1);
  CHECK_THAT(refused.err, Contains("--replace"));
  const auto replaced = run({"store", "restore", copy, "--replace", "--store", site.store});
  CHECK(replaced.exit == 0);
  CHECK_THAT(replaced.err, Contains("is kept: " + site.store + ".before-restore-"));
  CHECK(run({"store", "restore", site.folder.path("none"), "--store", elsewhere}).exit == 1);
}

TEST_CASE("a person is erased with --yes, or when the terminal hears the id") {
  const Site site;
  const auto erase = [&](const std::string& rater) {
    return std::vector<std::string>{"store", "erase", "--rater", rater, "--store", site.store};
  };
  const auto scores_of = [&](const std::string& rater) {
    return run({"export", "--store", site.store, "--rater", rater}).exit == 0;
  };
  const auto silent = run(erase("ann"));
  CHECK(silent.exit == 1);
  CHECK_THAT(silent.err, Contains("ann: an account (student, made 2026-09-01)") && Contains("1 sitting") &&
                             Contains("42 answers") && Contains("--yes"));
  CHECK(run_at_terminal(erase("ann"), "yes\n").exit == 1);
  CHECK(run_at_terminal(erase("ann"), "").exit == 1);
  CHECK(scores_of("ann"));
  CHECK(run_at_terminal(erase("ann"), "ann\n").exit == 0);
  CHECK_FALSE(scores_of("ann"));

  auto instructor = erase("cyd");
  instructor.push_back("--yes");
  const auto gone = run(instructor);
  CHECK(gone.exit == 0);
  CHECK_THAT(gone.err, Contains("1 group they look after (the members stay)") && Contains("Erased."));
  CHECK(scores_of("ben"));
  CHECK(run(instructor).exit == 1);  // nobody of that id
  CHECK_THAT(run({"store", "check", "--store", site.store}).out, Contains("in order. 1 person"));
}
