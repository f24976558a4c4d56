// A sitting through a pipe, as a script or a screen reader's terminal has it.
#include <algorithm>

#include <catch2/catch.hpp>

#include "support.hpp"

using namespace evenhand::test;

namespace {

/// Facts as usual, then the score, no sureness.
std::string item(const std::string& score) { return "\n" + score + "\n\n"; }

/// A skills check of two items with one trial each.
std::vector<std::string> short_check(const TemporaryFolder& folder, const std::string& store) {
  folder.file("short.yaml",
              "format: evenhand/set-1\nid: short\ntitle: Short\nmode: skills-check\ndemonstration: yes\n"
              "entries: [{case: pb-lark, items: [\"1\", \"2\"]}]\n");
  return {"practice", "--set", "short", "--rater", "ann", "--store", store, "--library", folder.path("")};
}

}  // namespace

TEST_CASE("an answer gets its reason at once, and is in the store before the next question") {
  const TemporaryFolder folder;
  const auto store = folder.path("p.db");
  const std::vector<std::string> command{"practice", "--set", "pb-first-steps", "--rater", "ann",
                                         "--store",  store};
  const auto first = run(command, item("3"));
  REQUIRE(first.exit == 0);
  CHECK(first.out.find("Key: 4. You gave 3.") != std::string::npos);
  CHECK(first.out.find("Read the rule wrong") != std::string::npos);
  const auto second = run(command, "");
  CHECK(second.out.find("1 of 10 items is answered") != std::string::npos);
  // Whoever was cut off before the reason sees it now.
  CHECK(second.out.find("The last answer, and its reason: ") != std::string::npos);
  CHECK(second.out.find("Key: 4. You gave 3.") != std::string::npos);
  const auto exported = run({"export", "--store", store});
  REQUIRE(exported.exit == 0);
  CHECK(exported.out.find("ann,pb-lark,1") != std::string::npos);
}

TEST_CASE("another rater, another sitting") {
  const TemporaryFolder folder;
  const auto store = folder.path("p.db");
  run({"practice", "--set", "pb-first-steps", "--rater", "ann", "--store", store}, item("4"));
  const auto ben = run({"practice", "--set", "pb-first-steps", "--rater", "ben", "--store", store}, "");
  CHECK(ben.out.find("answered") == std::string::npos);
}

TEST_CASE("nothing is shown before the end of a skills check") {
  const TemporaryFolder folder;
  const auto ran =
      run({"practice", "--set", "pb-demonstration", "--rater", "ann", "--store", folder.path("p.db")},
          "2\n" + item("3"));
  REQUIRE(ran.exit == 0);
  CHECK(ran.out.find("Item 2 of 7") != std::string::npos);
  CHECK(ran.out.find("Key:") == std::string::npos);
}

TEST_CASE("the trial that was taken for the one that counts is a slip of its own") {
  const TemporaryFolder folder;
  const auto ran = run({"practice", "--set", "pb-all", "--rater", "ann", "--store", folder.path("p.db")},
                       "1\n" + item("3"));
  CHECK(ran.out.find("Scored the wrong trial. You scored trial 1; trial 2 counts, as level 4.") !=
        std::string::npos);
}

TEST_CASE("a slip of the keyboard is asked again, and q leaves with everything saved") {
  const TemporaryFolder folder;
  const auto ran =
      run({"practice", "--set", "pb-first-steps", "--rater", "ann", "--store", folder.path("p.db")},
          "99\n\nseven\n4\n200\n80\nq\n");
  REQUIRE(ran.exit == 0);
  CHECK(ran.out.find("Type a number from 1 to 9, or nothing.") != std::string::npos);
  CHECK(ran.out.find("Type one of 4, 3, 2, 1 or 0") != std::string::npos);
  CHECK(ran.out.find("Type a number from 0 to 100") != std::string::npos);
  CHECK(ran.out.find("Key: 4. You gave the same.") != std::string::npos);
  CHECK(ran.out.find("Saved.") != std::string::npos);
}

TEST_CASE("b begins an item again where the one before is closed, and goes back in a skills check") {
  const TemporaryFolder folder;
  const auto practice =
      run({"practice", "--set", "pb-first-steps", "--rater", "ann", "--store", folder.path("p.db")},
          item("3") + "\nb\n" + item("4"));
  CHECK(practice.out.find("This item begins again.") != std::string::npos);
  CHECK(practice.out.find("Key: 4. You gave the same.") != std::string::npos);

  const auto check = folder.path("c.db");
  REQUIRE(run(short_check(folder, check), item("3") + "b\n" + item("2")).exit == 0);
  const auto exported = run({"export", "--store", check});  // the second thought is in force, once
  CHECK(std::count(exported.out.begin(), exported.out.end(), '\n') == 2);
  CHECK(exported.out.find("ann,pb-lark,1,1,2,") != std::string::npos);
}

TEST_CASE("what cannot have been seen together is asked again") {
  const TemporaryFolder folder;
  // Eyes closed for 4 s, and still so when time was called after 10 s.
  const auto ran =
      run({"practice", "--set", "pb-first-steps", "--rater", "ann", "--store", folder.path("p.db")},
          item("4") + item("4") + "4\n2\n1\n\n1\n10\n" + item("4"));
  CHECK(ran.out.find("That does not fit together") != std::string::npos);
  CHECK(ran.out.find("held 10 s") != std::string::npos);
  CHECK(run({"export", "--store", folder.path("p.db")}).out.find("time-called") != std::string::npos);
}

TEST_CASE("a timed trial through a pipe tells its seconds, since there is no watch") {
  const TemporaryFolder folder;
  const auto ran =
      run({"practice", "--set", "pb-first-steps", "--rater", "ann", "--store", folder.path("p.db")},
          item("4") + item("4"));
  CHECK(ran.out.find(" s  The lids go down.") != std::string::npos);
}

TEST_CASE("a skills check is handed in by its rater, and its reasons come then") {
  const TemporaryFolder folder;
  const auto command = short_check(folder, folder.path("p.db"));
  const auto answered = run(command, item("4") + item("3"));
  CHECK(answered.out.find("Enter hands it in") != std::string::npos);
  CHECK(answered.out.find("Key:") == std::string::npos);
  const auto mended = run(command, "b\n" + item("4") + "\n");  // back to the last item, then handed in
  CHECK(mended.out.find("2 of 2 items are answered") != std::string::npos);
  CHECK(mended.out.find("Done. 2 of 2 scores equal the key") != std::string::npos);
  CHECK(run(command, "").out.find("are answered") == std::string::npos);  // a new sitting
}

TEST_CASE("no score is told apart from a score") {
  const TemporaryFolder folder;
  const auto ran =
      run({"practice", "--set", "pb-first-steps", "--rater", "ann", "--store", folder.path("p.db")},
          item("refused"));
  CHECK(ran.out.find("Key: 4. You gave refused.") != std::string::npos);
  CHECK(ran.out.find("enough for a level") != std::string::npos);
}

TEST_CASE("a shuffled sitting goes on in its own order") {
  const TemporaryFolder folder;
  std::vector<std::string> command{"practice",          "--set",  "pb-all", "--rater", "ann", "--store",
                                   folder.path("p.db"), "--seed", "3"};
  const auto first_case = [](const std::string& out) {
    const auto at = out.find("Case 1 of ");
    return at == std::string::npos ? std::string() : out.substr(at, out.find('\n', at) - at);
  };
  const auto begun = first_case(run(command, "").out);
  REQUIRE_FALSE(begun.empty());
  command.resize(7);
  CHECK(first_case(run(command, "").out) == begun);
  command[6] = folder.path("q.db");
  CHECK(first_case(run(command, "").out) != begun);
}

TEST_CASE("? says what each word for no score means") {
  const TemporaryFolder folder;
  const auto ran = run(
      {"practice", "--set", "pb-first-steps", "--rater", "ann", "--store", folder.path("p.db")}, "\n?\nq\n");
  for (const char* words : {"not-tested   the item was not given", "omitted      left out",
                            "refused      the child", "unsafe       not given, or stopped",
                            "cannot-rate  it was given", "skip-rule    not given because"}) {
    INFO(words);
    CHECK(ran.out.find(words) != std::string::npos);
  }
}

TEST_CASE("a calibration is scored in an open round, and its reasons come when the round closes") {
  const TemporaryFolder folder;
  const auto store = folder.path("p.db");
  const auto command = short_check(folder, store);
  folder.file("short.yaml",
              "format: evenhand/set-1\nid: short\ntitle: Short\nmode: calibration\ndemonstration: yes\n"
              "entries: [{case: pb-lark, items: [\"1\", \"2\"]}]\n");
  const auto none = run(command, "");
  CHECK(none.exit == 1);
  CHECK(none.err.find("No round is open for this set") != std::string::npos);
  const auto round = [&](const std::string& verb, const std::vector<std::string>& more = {}) {
    std::vector<std::string> words{"store", verb, "spring", "--store", store};
    words.insert(words.end(), more.begin(), more.end());
    return run(words);
  };
  CHECK(round("open-round", {"--set", "pb-support"}).err.find("a round takes a set of mode calibration") !=
        std::string::npos);
  REQUIRE(round("open-round", {"--set", "short", "--title", "Spring", "--library", folder.path("")}).exit ==
          0);
  const auto ran = run(command, item("3") + item("3") + "\n");
  INFO(ran.err);
  CHECK(ran.exit == 0);
  CHECK(ran.out.find("The reasons come when the round closes") != std::string::npos);
  CHECK(ran.out.find("Key:") == std::string::npos);
  CHECK(ran.out.find("the key") == std::string::npos);
  const auto again = run(command, "");
  CHECK(again.exit == 1);
  CHECK(again.err.find("You handed this round in") != std::string::npos);
  CHECK(again.out.find("Key:") == std::string::npos);

  REQUIRE(round("close-round").exit == 0);
  const auto told = run(command, "");
  CHECK(told.exit == 0);
  CHECK(told.out.find("Key: 4. You gave 3.") != std::string::npos);
  CHECK(told.out.find("Done. ") != std::string::npos);

  const auto locked = round("lock-round");
  CHECK(locked.exit == 0);
  CHECK(round("lock-round").out == locked.out);
  CHECK(round("reopen-round").err.find("never opened again") != std::string::npos);
  const auto list = run({"store", "rounds", "--store", store}).out;
  CHECK(list.find("spring") != std::string::npos);
  CHECK(list.find("locked") != std::string::npos);
  CHECK(list.find("1 rater") != std::string::npos);
}

TEST_CASE("a round closes by itself at the end of its day") {
  const TemporaryFolder folder;
  const auto store = folder.path("p.db");
  const auto command = short_check(folder, store);
  REQUIRE(run(command, "q\n").exit == 0);
  const auto open = [&](const std::string& closes) {
    return run({"store", "open-round", "old", "--set", "pb-round-demonstration", "--closes", closes,
                "--store", store});
  };
  CHECK(open("2020-01-01").err.find("it would close before it opens") != std::string::npos);
  CHECK(open("soon").err.find("2026-12-31") != std::string::npos);
  REQUIRE(open("2999-01-01").exit == 0);
  CHECK(run({"store", "rounds", "--store", store}).out.find("open until 2999-01-01") != std::string::npos);
}

TEST_CASE("the terminal says when criteria or rulings are others than when the answer was given") {
  const TemporaryFolder folder;
  const auto store = folder.path("p.db");
  const std::vector<std::string> command{"practice", "--set", "pb-first-steps", "--rater", "ann",
                                         "--store",  store};
  const auto first = run(command, item("3"));
  CHECK(first.out.find("Criteria or rulings have been changed") == std::string::npos);
  auto ruled = command;
  ruled.insert(ruled.end(), {"--library", folder.path("")});
  folder.file("example-department.yaml", text_of_file("cases/rulings/example-department.yaml"));
  const auto later = run(ruled, "");
  INFO(later.out << later.err);
  CHECK(later.out.find("The last answer, and its reason") != std::string::npos);
  CHECK(later.out.find("Criteria or rulings have been changed") != std::string::npos);
}

TEST_CASE("a decimal comma is understood where a number is asked for") {
  const TemporaryFolder folder;
  // The third item of the set asks for seconds: through a pipe there is no watch.
  const auto ran =
      run({"practice", "--set", "pb-first-steps", "--rater", "ann", "--store", folder.path("p.db")},
          item("4") + item("4") + "1,234\n4,5\n" + item("2"));
  CHECK(ran.out.find("may be 1.234 or 1234") != std::string::npos);
  CHECK(ran.out.find("held 4.5 s") != std::string::npos);
}

TEST_CASE("one of one score equals the key") {
  const TemporaryFolder folder;
  folder.file("one.yaml",
              "format: evenhand/set-1\nid: one\ntitle: One\nmode: practice\n"
              "entries: [{case: pb-lark, items: [\"1\"]}]\n");
  const auto ran = run({"practice", "--set", "one", "--rater", "ann", "--store", folder.path("p.db"),
                        "--library", folder.path("")},
                       item("4"));
  INFO(ran.err);
  CHECK(ran.out.find("Done. 1 of 1 score equals the key") != std::string::npos);
}

TEST_CASE("without a set the sets are listed") {
  const TemporaryFolder folder;
  const auto ran = run({"practice", "--rater", "ann", "--store", folder.path("p.db")}, "");
  CHECK(ran.out.find("pb-support") != std::string::npos);
  CHECK(ran.exit == 0);
}
