#include "store/composed_sets.hpp"

#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::ComposedSet;

namespace {

ComposedSet set_of(const std::string& id, const std::string& rater) {
  return {SetId(id), "Set " + id, "set: " + id + "\ncases: [\u00e4]\n", RaterId(rater), minute(1)};
}

}  // namespace

TEST_CASE("a composed set comes back as it was put together") {
  const Folder folder;
  const std::string path = folder / "a.db";
  {
    auto store = open_store(path);
    for (const std::string id : {"b", "a"}) REQUIRE(add_set(store, set_of(id, "ada")));
    REQUIRE(add_set(store, set_of("c", "ben")));
  }
  auto store = open_store(path);
  CHECK(composed_set(store, SetId("a")).value() == set_of("a", "ada"));
  CHECK(set_text(store, SetId("c")).value() == set_of("c", "ben").yaml);
  CHECK(sets_of(store, RaterId("ada")) == std::vector{set_of("b", "ada"), set_of("a", "ada")});
  CHECK(sets_of(store, RaterId("zoe")).empty());
  CHECK(set_text(store, SetId("x")).error().code == Errc::not_found);
  CHECK(composed_set(store, SetId("x")).error().code == Errc::not_found);
}

TEST_CASE("a composed set is never changed", "[edge]") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  REQUIRE(add_set(store, set_of("a", "ada")));
  auto again = set_of("a", "ada");
  again.made = minute(9);
  CHECK(add_set(store, again));
  CHECK(add_set(store, set_of("a", "ben")).error().code == Errc::conflict);
  auto other_text = set_of("a", "ada");
  other_text.yaml += "more";
  CHECK(add_set(store, other_text).error().code == Errc::conflict);
  for (auto spoil : {+[](ComposedSet& s) { s.id = {}; }, +[](ComposedSet& s) { s.title = ""; },
                     +[](ComposedSet& s) { s.yaml = ""; }, +[](ComposedSet& s) { s.rater = {}; }}) {
    auto bad = set_of("b", "ada");
    spoil(bad);
    CHECK(add_set(store, bad).error().code == Errc::invalid);
  }
  CHECK(composed_set(store, SetId("a")).value() == set_of("a", "ada"));
}
