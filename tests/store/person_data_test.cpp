#include "store/person_data.hpp"

#include "site.hpp"
#include "store/tickets.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::Role;

namespace {

const RaterId ada("ada-of-the-north");

/// A store with everything of two people who look alike.
struct Peopled {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);

  Peopled() {
    bool done = add_account(store, account_of("cyd", Role::instructor)).has_value() &&
                add_group(store, group_of("cyd", "g")).has_value();
    for (const std::string& rater : {ada.text(), std::string("ben")}) {
      done = done && add_account(store, account_of(rater, Role::instructor)).has_value() &&
             begin_session(store, session_of(rater, rater + "-phone")).has_value() &&
             join_group(store, GroupId("g"), RaterId(rater), minute(3)).has_value() &&
             add_group(store, group_of(rater, "g-" + rater)).has_value() &&
             join_group(store, GroupId("g-" + rater), RaterId("cyd"), minute(3)).has_value() &&
             add_set(store, {SetId("set-" + rater), "Set", "yaml", RaterId(rater), minute(4)}).has_value() &&
             add_ticket(store, {"r-" + rater, store::Purpose::reset, RaterId(rater), minute(1), minute(9)})
                 .has_value();
      for (const std::string n : {"1", "2"}) {
        auto sitting = sitting_of(rater, rater + "-s" + n);
        sitting.set = SetId("set-" + n);
        sitting.begun = minute(n == "1" ? 1 : 2);
        done = done && store.begin_sitting(sitting).has_value() &&
               store.append_answer(sitting.id, answer_of("8", "4")).has_value() &&
               store.append_answer(sitting.id, answer_of("8", "3", 2)).has_value();
      }
      done = done && store.finish_sitting(SittingId(rater + "-s1"), minute(8)).has_value();
    }
    const auto scores = fmt::format("rater,case,item,score\n{0},c,1,4\nben,c,1,3\n{0},d,1,2\n", ada.text());
    done = done &&
           store.import_scores(table_from(scores), {.name = "a.csv", .file_fingerprint = "f"}, minute(1));
    if (!done) throw std::runtime_error("the store of the test could not be filled");
  }
};

bool holds(const std::string& bytes, const std::string& text) {
  return bytes.find(text) != std::string::npos;
}

}  // namespace

TEST_CASE("everything of a person is theirs, all of it, without secrets") {
  Peopled peopled;
  const auto data = everything_of(peopled.store, ada);
  REQUIRE(data);
  CHECK(data->rater == ada);
  CHECK(data->added == minute(1));
  auto account = account_of(ada.text(), Role::instructor);
  account.passphrase_hash.clear();
  CHECK(data->account == account);
  auto session = session_of(ada.text(), ada.text() + "-phone");
  session.token_hash.clear();
  CHECK(data->sessions == std::vector{session});
  REQUIRE(data->joined.size() == 1);
  CHECK(data->joined[0].title == "Group g");
  CHECK(data->joined[0].joined == minute(3));
  CHECK(data->looks_after == std::vector{group_of(ada.text(), "g-" + ada.text())});
  REQUIRE(data->sets.size() == 1);
  CHECK(data->sets[0].rater == ada);
  REQUIRE(data->sittings.size() == 2);
  CHECK(data->sittings[0].sitting.id == SittingId(ada.text() + "-s2"));
  CHECK(data->sittings[1].sitting.finished == minute(8));
  for (const auto& [sitting, revisions] : data->sittings) {
    CHECK(sitting.rater == ada);
    CHECK(revisions == std::vector{answer_of("8", "4"), answer_of("8", "3", 2)});
  }
  CHECK(data->imported ==
        table_from(fmt::format("rater,case,item,score\n{0},c,1,4\n{0},d,1,2\n", ada.text())));
  CHECK(everything_of(peopled.store, RaterId("zoe")).error().code == Errc::not_found);
}

TEST_CASE("what a person did for the department is theirs to have, and stays without the name") {
  Peopled peopled;
  auto& store = peopled.store;
  for (const std::string& who : {ada.text(), std::string("ben")}) {
    REQUIRE(add_round(store, {.id = RoundId(who == "ben" ? "round-b" : "round-a"),
                              .title = "Fall",
                              .set = SetId("s"),
                              .opened = minute(2),
                              .opened_by = RaterId(who)}));
    REQUIRE(write_text(store, {.kind = store::TextKind::standard,
                               .name = "standard-" + std::string(who == "ben" ? "b" : "a"),
                               .yaml = "text",
                               .why = "agreed in the meeting",
                               .by = RaterId(who),
                               .at = minute(3)}));
    REQUIRE(store.import_scores(table_from("rater,case,item,score\ncyd,c,1,4\n"),
                                {.name = "paper.csv", .file_fingerprint = "f", .by = RaterId(who)},
                                minute(4)));
  }
  const auto data = everything_of(store, ada).value();
  REQUIRE(data.rounds.size() == 1);
  CHECK(data.rounds[0].title == "Fall");
  REQUIRE(data.texts.size() == 1);
  CHECK(data.texts[0].name == "standard-a");
  CHECK(data.texts[0].yaml == "text");
  REQUIRE(data.imports.size() == 1);
  CHECK(data.imports[0].source.name == "paper.csv");

  REQUIRE(erase(store, ada, minute(30)));
  const auto kept = round(store, RoundId("round-a")).value();
  CHECK_FALSE(kept.opened_by);
  std::size_t without_name = 0;
  for (const auto& one : all_texts(store)) without_name += one.name == "standard-a" && !one.by;
  CHECK(without_name == 1);
  REQUIRE(store.imports().size() == 3);
  CHECK_FALSE(store.imports()[1].source.by);
  CHECK(store.imports()[2].source.by == RaterId("ben"));
  CHECK(store.check().empty());
}

TEST_CASE("everything of a rater who never signed in is what there is") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  REQUIRE(store.ensure_person(ada, minute(1)));
  const auto data = everything_of(store, ada);
  REQUIRE(data);
  CHECK_FALSE(data->account);
  CHECK(data->sittings.empty());
  CHECK(data->imported.empty());
}

TEST_CASE("an erased person is gone, and nobody else") {
  Peopled peopled;
  auto& store = peopled.store;
  const store::Erasure expected{minute(30), 2, 4, 2};
  CHECK(erase(store, ada, minute(30)).value() == expected);
  CHECK(erasures(store) == std::vector{expected});
  CHECK(everything_of(store, ada).error().code == Errc::not_found);
  CHECK(session(store, "token of " + ada.text() + "-phone").error().code == Errc::not_found);
  CHECK(use_ticket(store, "r-" + ada.text(), store::Purpose::reset, minute(5)).error().code ==
        Errc::not_found);
  CHECK(group(store, GroupId("g-" + ada.text())).error().code == Errc::not_found);
  CHECK(composed_set(store, SetId("set-" + ada.text())).error().code == Errc::not_found);
  CHECK(store.sitting(SittingId(ada.text() + "-s1")).error().code == Errc::not_found);
  CHECK(members(store, GroupId("g")).value() ==
        std::vector<store::Member>{{RaterId("ben"), minute(3), minute(2)}});
  CHECK(store.scores()->raters() == std::vector{RaterId("ben")});

  const auto ben = everything_of(store, RaterId("ben"));
  REQUIRE(ben);
  CHECK(ben->sittings.size() == 2);
  CHECK(ben->imported.size() == 1);
  CHECK(ben->looks_after.size() == 1);
  CHECK(account(store, RaterId("cyd")));
  CHECK(store.check().empty());
  CHECK(erase(store, ada, minute(31)).error().code == Errc::not_found);
  CHECK(erasures(store).size() == 1);
  // The id is free again.
  CHECK(add_account(store, account_of(ada.text())));
}

TEST_CASE("of an erased person no byte is left in the file or the log beside it") {
  Peopled peopled;
  REQUIRE(holds(read_file(peopled.path) + read_file(peopled.path + "-wal"), ada.text()));
  REQUIRE(erase(peopled.store, ada, minute(30)));
  CHECK_FALSE(holds(read_file(peopled.path), ada.text()));
  CHECK_FALSE(holds(read_file(peopled.path + "-wal"), ada.text()));
  CHECK(holds(read_file(peopled.path), "ben"));
}

TEST_CASE("of erased people no byte is left in a store that grew and shrank", "[property]") {
  const Folder folder;
  const std::string path = folder / "a.db";
  auto store = open_store(path);
  base::Random random(11);
  const auto name = [](std::size_t n) { return fmt::format("rater-{:03}-{:x}", n, n * 2654435761U); };
  for (std::size_t n = 0; n < 120; ++n) {
    REQUIRE(add_account(store, account_of(name(n))));
    auto sitting = sitting_of(name(n), "s-" + name(n));
    REQUIRE(store.begin_sitting(sitting));
    for (std::size_t item = 1; item <= 1 + random.index(14); ++item) {
      auto answer = answer_of(std::to_string(item), "4");
      answer.observations.push_back({"said", name(n) + std::string(random.index(200), '.')});
      REQUIRE(store.append_answer(sitting.id, answer));
    }
    // Now and then someone leaves, from anywhere in the file.
    if (n % 3 != 2) continue;
    const auto gone = name(random.index(n));
    if (account(store, RaterId(gone))) REQUIRE(erase(store, RaterId(gone), minute(30)));
  }
  const auto bytes = read_file(path) + read_file(path + "-wal");
  std::size_t erased = 0;
  for (std::size_t n = 0; n < 120; ++n) {
    INFO(name(n));
    const bool here = account(store, RaterId(name(n))).has_value();
    erased += here ? 0 : 1;
    CHECK(holds(bytes, name(n)) == here);
  }
  CHECK(erased == erasures(store).size());
  CHECK(erased > 20);
  CHECK(store.check().empty());
}

TEST_CASE("an erasure inside a batch is undone with it, and the log is cleared later") {
  Peopled peopled;
  const auto batch = [&] {
    peopled.store.together([&] {
      REQUIRE(erase(peopled.store, ada, minute(30)));
      throw std::runtime_error("stop");
    });
  };
  CHECK_THROWS_WITH(batch(), "stop");
  CHECK(everything_of(peopled.store, ada)->sittings.size() == 2);
  peopled.store.together([&] { REQUIRE(erase(peopled.store, ada, minute(30))); });
  CHECK(everything_of(peopled.store, ada).error().code == Errc::not_found);
  {
    const store::Store closed = std::move(peopled.store);
  }
  CHECK_FALSE(holds(read_file(peopled.path), ada.text()));
  CHECK_FALSE(std::filesystem::exists(peopled.path + "-wal"));
}

TEST_CASE("after a batch with an erasure the log is cleared while the store stays open") {
  Peopled peopled;
  auto& store = peopled.store;
  REQUIRE(store.clear_log());
  const auto bytes = [&] { return read_file(peopled.path) + read_file(peopled.path + "-wal"); };
  store.together([&] {
    REQUIRE(erase(store, ada, minute(30)));
    CHECK_FALSE(store.clear_log());
    // What a checkpoint inside the batch would have written cannot be undone with it.
    CHECK(holds(read_file(peopled.path), ada.text()));
  });
  CHECK(holds(bytes(), ada.text()));
  CHECK(store.clear_log());
  CHECK_FALSE(holds(bytes(), ada.text()));
  CHECK(read_file(peopled.path + "-wal").empty());
  CHECK(everything_of(store, RaterId("ben"))->sittings.size() == 2);
}

TEST_CASE("the log of a store that another program reads is not empty, and that is said", "[edge]") {
  Peopled peopled;
  {
    SQLite::Database reader(peopled.path, SQLite::OPEN_READONLY);
    reader.exec("BEGIN");
    REQUIRE(reader.execAndGet("SELECT count(*) FROM person").getInt() == 3);
    peopled.store.together([&] { REQUIRE(erase(peopled.store, ada, minute(30))); });
    CHECK_FALSE(peopled.store.clear_log());
  }
  CHECK(peopled.store.clear_log());
  CHECK_FALSE(holds(read_file(peopled.path) + read_file(peopled.path + "-wal"), ada.text()));
}
