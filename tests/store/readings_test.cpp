#include "store/readings.hpp"

#include "site.hpp"
#include "store/drafts.hpp"
#include "store/person_data.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::CaseReading;
using store::Role;

namespace {

CaseReading reading_by(const std::string& reader, const std::string& fingerprint = "v1") {
  return {CaseId("pb-robin"),
          fingerprint,
          RaterId(reader),
          minute(5),
          {{ItemId("1"), "4"}, {ItemId("2"), "not-tested", "The bench is missing."}}};
}

/// A store in which ada and ben may read.
struct Readers {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);

  Readers() {
    for (const std::string who : {"ada", "ben"})
      if (!add_account(store, account_of(who, Role::instructor))) throw std::runtime_error("no account");
  }
};

}  // namespace

TEST_CASE("readings come back as they were given, by case, by version and by reader") {
  Readers at;
  REQUIRE(add_reading(at.store, reading_by("ada")));
  REQUIRE(add_reading(at.store, reading_by("ben")));
  REQUIRE(add_reading(at.store, reading_by("ada", "v2")));
  auto other = reading_by("ada");
  other.scored_case = CaseId("pb-other");
  REQUIRE(add_reading(at.store, other));
  const CaseId robin("pb-robin");
  CHECK(readings_of(at.store, robin) ==
        std::vector{reading_by("ada"), reading_by("ben"), reading_by("ada", "v2")});
  CHECK(readings_of(at.store, robin, "v2") == std::vector{reading_by("ada", "v2")});
  CHECK(readings_by(at.store, RaterId("ada")) ==
        std::vector{reading_by("ada"), reading_by("ada", "v2"), other});
  CHECK(readings_of(at.store, CaseId("pb-none")).empty());
  CHECK(at.store.check().empty());
}

TEST_CASE("a reader gives one reading of a version, whole, and it stands", "[edge]") {
  Readers at;
  REQUIRE(add_reading(at.store, reading_by("ada")));
  auto again = reading_by("ada");
  again.at = minute(9);
  CHECK(add_reading(at.store, again));
  auto changed = reading_by("ada");
  changed.items[0].score = "3";
  CHECK(add_reading(at.store, changed).error().code == Errc::conflict);
  CHECK(add_reading(at.store, reading_by("zoe")).error().code == Errc::not_found);
  for (auto spoil :
       {+[](CaseReading& r) { r.scored_case = {}; }, +[](CaseReading& r) { r.case_fingerprint = ""; },
        +[](CaseReading& r) { r.reader.reset(); }, +[](CaseReading& r) { r.items.clear(); },
        +[](CaseReading& r) { r.items[1].item = r.items[0].item; },
        +[](CaseReading& r) { r.items[0].score = ""; },
        +[](CaseReading& r) { r.items[0].score = std::string(41, 'x'); },
        +[](CaseReading& r) { r.items[0].note = std::string(1001, 'x'); }}) {
    auto bad = reading_by("ben");
    spoil(bad);
    CHECK(add_reading(at.store, bad).error().code == Errc::invalid);
  }
  CHECK(readings_of(at.store, CaseId("pb-robin")) == std::vector{reading_by("ada")});
}

TEST_CASE("who writes a case is no second reader of it") {
  Readers at;
  REQUIRE(begin_draft(at.store, CaseId("pb-robin"), RaterId("ada"), {.yaml = "a", .at = minute(1)}));
  CHECK(add_reading(at.store, reading_by("ada")).error().code == Errc::conflict);
  CHECK(add_reading(at.store, reading_by("ben")));
}

TEST_CASE("readings are append-only, to other programs too") {
  Readers at;
  REQUIRE(add_reading(at.store, reading_by("ada")));
  for (const char* sql : {"UPDATE case_reading_item SET score = '3'", "DELETE FROM case_reading_item",
                          "UPDATE case_reading SET case_fingerprint = 'v2'", "DELETE FROM case_reading",
                          "UPDATE case_reading SET reader = (SELECT number FROM person WHERE rater = 'ben')"})
    CHECK_THROWS(tamper(at.path, sql));
  CHECK(readings_of(at.store, CaseId("pb-robin")) == std::vector{reading_by("ada")});
}

TEST_CASE("a person's record holds their readings: when they are erased, what was read stays without them") {
  Readers at;
  REQUIRE(add_reading(at.store, reading_by("ada")));
  CHECK(everything_of(at.store, RaterId("ada"))->readings == std::vector{reading_by("ada")});
  CHECK(everything_of(at.store, RaterId("ben"))->readings.empty());
  REQUIRE(erase(at.store, RaterId("ada"), minute(9)));
  auto nameless = reading_by("ada");
  nameless.reader.reset();
  CHECK(readings_of(at.store, CaseId("pb-robin")) == std::vector{nameless});
  CHECK(at.store.check().empty());
}
