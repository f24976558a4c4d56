#include "store/live_pairs.hpp"

#include "site.hpp"
#include "store/person_data.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::PairPart;
using store::Role;

namespace {

const CaseId reed("pair-reed-2026-09-01");

/// A store with three raters, and an import for each.
struct Pairs {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);

  Pairs() {
    for (const std::string who : {"ann", "ben", "cid"})
      if (!add_account(store, account_of(who, Role::student))) throw std::runtime_error("no account");
  }
  PairPart part(const std::string& rater, const std::string& partner) {
    scores::Score score;
    score.rater = RaterId(rater);
    score.scored_case = reed;
    score.item = ItemId("4");
    score.value = std::to_string(++given);
    const auto import = store.import_scores(scores::table_of(std::vector{score}).value(),
                                            {.name = "pair", .file_fingerprint = "f"}, minute(given));
    REQUIRE(import);
    return {.scored_case = reed,
            .rater = RaterId(rater),
            .partner = RaterId(partner),
            .instrument = InstrumentId("small"),
            .import = import->number,
            .at = minute(given)};
  }
  int given = 0;
};

}  // namespace

TEST_CASE("two raters are a pair when both handed in and named each other") {
  Pairs at;
  const auto ann = at.part("ann", "ben"), ben = at.part("ben", "ann");
  REQUIRE(add_part(at.store, ann));
  CHECK_FALSE(other_part(at.store, ann));
  REQUIRE(add_part(at.store, ben));
  CHECK(other_part(at.store, ann) == ben);
  CHECK(other_part(at.store, ben) == ann);
  CHECK(parts_of(at.store, reed) == std::vector{ann, ben});
  CHECK(parts_by(at.store, RaterId("ann")) == std::vector{ann});
  CHECK(at.store.check().empty());
}

TEST_CASE("whoever was not named sees nothing, though the child is the same") {
  Pairs at;
  const auto ann = at.part("ann", "ben"), cid = at.part("cid", "ann");
  REQUIRE(add_part(at.store, ann));
  REQUIRE(add_part(at.store, cid));
  CHECK_FALSE(other_part(at.store, cid));
  CHECK_FALSE(other_part(at.store, ann));
}

TEST_CASE("one hands in once, and again only when that was taken back", "[edge]") {
  Pairs at;
  const auto first = at.part("ann", "ben"), ben = at.part("ben", "ann");
  REQUIRE(add_part(at.store, first));
  REQUIRE(add_part(at.store, ben));
  auto again = first;
  again.import = ben.import;
  CHECK(add_part(at.store, again).error().code == Errc::conflict);
  REQUIRE(at.store.undo_import(first.import, minute(9)));
  CHECK_FALSE(other_part(at.store, ben));
  const auto second = at.part("ann", "ben");
  REQUIRE(add_part(at.store, second));
  CHECK(other_part(at.store, ben) == second);
  CHECK(parts_of(at.store, reed) == std::vector{ben, second});
}

TEST_CASE("a part that makes no pair is refused", "[edge]") {
  Pairs at;
  const auto good = at.part("ann", "ben");
  const auto code = [&](auto change) {
    auto part = good;
    change(part);
    return add_part(at.store, part).error().code;
  };
  CHECK(code([](auto& part) { part.partner = part.rater; }) == Errc::invalid);
  CHECK(code([](auto& part) { part.partner.reset(); }) == Errc::invalid);
  CHECK(code([](auto& part) { part.instrument = InstrumentId(); }) == Errc::invalid);
  CHECK(code([](auto& part) { part.partner = RaterId("zoe"); }) == Errc::not_found);
  CHECK(code([](auto& part) { part.import = 99; }) == Errc::not_found);
}

TEST_CASE("whoever is erased takes the own part along, and is no longer named in the other") {
  Pairs at;
  REQUIRE(add_part(at.store, at.part("ann", "ben")));
  REQUIRE(add_part(at.store, at.part("ben", "ann")));
  CHECK(everything_of(at.store, RaterId("ann"))->pairs.size() == 1);
  REQUIRE(erase(at.store, RaterId("ann"), minute(30)));
  const auto left = parts_of(at.store, reed);
  REQUIRE(left.size() == 1);
  CHECK(left[0].rater == RaterId("ben"));
  CHECK_FALSE(left[0].partner);
  CHECK_FALSE(other_part(at.store, left[0]));
  CHECK(at.store.check().empty());
}

TEST_CASE("what was handed in is never changed, to other programs too") {
  Pairs at;
  REQUIRE(add_part(at.store, at.part("ann", "ben")));
  SQLite::Database file(at.path, SQLite::OPEN_READWRITE);
  CHECK_THROWS(file.exec("UPDATE pair_part SET case_id = 'other'"));
  CHECK_THROWS(file.exec("UPDATE pair_part SET partner = (SELECT number FROM person WHERE rater = 'cid')"));
}
