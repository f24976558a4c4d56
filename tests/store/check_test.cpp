#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;

namespace {

/// A store with something in every table, closed.
struct Filled {
  Folder folder;
  std::string path = folder / "a.db";

  Filled() {
    auto store = open_store(path);
    const auto table = table_from("rater,case,item,score,obs.hold\nada,c,1,4,9\nben,c,1,3,8\n");
    const bool done = store.import_scores(table, {.name = "a.csv", .file_fingerprint = "f"}, minute(1)) &&
                      store.import_scores(table, {.name = "b.csv", .file_fingerprint = "f"}, minute(1)) &&
                      store.begin_sitting(sitting_of("ada", "s-1")) &&
                      store.append_answer(SittingId("s-1"), answer_of("8", "4")) &&
                      store.append_answer(SittingId("s-1"), answer_of("8", "3", 2));
    if (!done) throw std::runtime_error("the store of the test could not be filled");
  }

  std::string findings() const {
    std::string all;
    for (const std::string& finding : open_store(path, store::OpenMode::existing).check())
      all += finding + "\n";
    return all;
  }
};

}  // namespace

TEST_CASE("a sound store has no findings") { CHECK(Filled().findings().empty()); }

TEST_CASE("answers without a sitting are found") {
  const Filled filled;
  tamper(filled.path, "DROP TRIGGER sitting_kept; PRAGMA foreign_keys = OFF; DELETE FROM sitting");
  CHECK_THAT(filled.findings(),
             Contains("2 x answer, whose sitting is gone") && Contains("sitting_kept is missing"));
}

TEST_CASE("rows without a person are found") {
  const Filled filled;
  tamper(filled.path, "PRAGMA foreign_keys = OFF; DELETE FROM person WHERE rater = 'ben'");
  CHECK_THAT(filled.findings(), Contains("1 x score, whose person is gone"));
}

TEST_CASE("a gap in the revisions is found") {
  const Filled filled;
  tamper(filled.path,
         "PRAGMA foreign_keys = ON; DROP TRIGGER answer_kept; DELETE FROM answer WHERE revision = 1");
  CHECK_THAT(filled.findings(),
             Contains("sitting s-1, case pb-otter, item 8: the latest revision is 2, but there are 1"));
}

TEST_CASE("a schema that was changed behind the program's back is found") {
  const Filled filled;
  tamper(filled.path,
         "DROP INDEX score_counting; CREATE TABLE extra (x INTEGER); ALTER TABLE person ADD COLUMN y TEXT");
  CHECK_THAT(filled.findings(), Contains("index score_counting is missing") &&
                                    Contains("table extra does not belong") &&
                                    Contains("table person is not as"));
}

TEST_CASE("a migration that differs from the program's is found") {
  const Filled filled;
  tamper(filled.path, "UPDATE schema_migration SET fingerprint = 'x'");
  CHECK_THAT(filled.findings(), Contains("migration 1 (initial) differs"));
}

TEST_CASE("scores that no table takes are found") {
  const Filled filled;
  tamper(filled.path, "DROP TRIGGER score_stays; UPDATE score SET status = 'refused' WHERE value = '4'");
  CHECK_THAT(filled.findings(), Contains("refused"));
}

TEST_CASE("a damaged page is found, not thrown") {
  const Filled filled;
  std::string bytes = read_file(filled.path);
  // Everything past the first page is schema, tables and indices; spoil what holds the answers.
  const auto at = bytes.find("heel-to-toe");
  REQUIRE(at != std::string::npos);
  const auto page = at / 4096 * 4096;
  for (std::size_t i = page; i < page + 4096; ++i) bytes[i] = '\x5A';
  write_file(filled.path, bytes);
  CHECK_THAT(filled.findings(), Contains("damaged"));

  auto store = open_store(filled.path);
  CHECK_THROWS_AS(store.answers(SittingId("s-1")), store::Unavailable);
  CHECK_THROWS_WITH(store.answers(SittingId("s-1")), Contains("restore a backup"));
}
