#include "store/department_texts.hpp"

#include "site.hpp"
#include "store/person_data.hpp"
#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::DepartmentText;
using store::TextKind;

namespace {

DepartmentText text_of(TextKind kind, const std::string& name, const std::string& yaml, int at) {
  return {kind, name, yaml, "we talked about it", RaterId("ines"), minute(at)};
}

}  // namespace

TEST_CASE("of what a department wrote the last version is in force, and every version is kept") {
  const Folder folder;
  const std::string path = folder / "a.db";
  const auto first = text_of(TextKind::rulings, "ours", "a: 1\n", 1);
  const auto set = text_of(TextKind::set, "ours", "s: 1\n", 2);
  const auto second = text_of(TextKind::rulings, "ours", "a: 2\n", 3);
  {
    auto store = open_store(path);
    REQUIRE(store.ensure_person(RaterId("ines"), minute(0)));
    for (const auto& one : {first, set, second, second}) REQUIRE(write_text(store, one));
  }
  auto store = open_store(path);
  CHECK(texts_in_force(store) == std::vector{second, set});
  CHECK(all_texts(store) == std::vector{first, set, second});
  REQUIRE(write_text(store, text_of(TextKind::rulings, "ours", "", 4)));
  CHECK(texts_in_force(store) == std::vector{set});
  // Back to the first version: a further row.
  REQUIRE(write_text(store, text_of(TextKind::rulings, "ours", "a: 1\n", 5)));
  CHECK(all_texts(store).size() == 5);
  // As it was at any time: before the first, between, and while the file was taken out.
  CHECK(texts_in_force_at(store, minute(0)).empty());
  CHECK(texts_in_force_at(store, minute(1)) == std::vector{first});
  CHECK(texts_in_force_at(store, minute(2)) == std::vector{first, set});
  CHECK(texts_in_force_at(store, minute(3)) == std::vector{second, set});
  CHECK(texts_in_force_at(store, minute(4)) == std::vector{set});
  CHECK(texts_in_force_at(store, minute(9)) == texts_in_force(store));
  CHECK(store.check().empty());
}

TEST_CASE("a change of what a department wrote has a name, a reason and somebody who wrote it", "[edge]") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  const auto code = [&](const DepartmentText& text) { return write_text(store, text).error().code; };
  auto text = text_of(TextKind::set, "ours", "s: 1\n", 1);
  CHECK(code(text) == Errc::not_found);
  REQUIRE(store.ensure_person(RaterId("ines"), minute(0)));
  auto bad = text;
  bad.why.clear();
  CHECK(code(bad) == Errc::invalid);
  bad = text;
  bad.name.clear();
  CHECK(code(bad) == Errc::invalid);
  bad = text;
  bad.yaml.clear();
  CHECK(code(bad) == Errc::not_found);
  CHECK(all_texts(store).empty());
}

TEST_CASE("what a department wrote cannot be changed, and outlives whoever wrote it") {
  const Folder folder;
  const std::string path = folder / "a.db";
  auto store = open_store(path);
  REQUIRE(store.ensure_person(RaterId("ines"), minute(0)));
  REQUIRE(write_text(store, text_of(TextKind::standard, "ours", "x: 1\n", 1)));
  CHECK_THROWS_WITH(tamper(path, "UPDATE department_text SET yaml = 'x: 2'"),
                    Catch::Matchers::Contains("never changed"));
  CHECK_THROWS_WITH(tamper(path, "DELETE FROM department_text"), Catch::Matchers::Contains("never changed"));
  REQUIRE(erase(store, RaterId("ines"), minute(2)));
  REQUIRE(texts_in_force(store).size() == 1);
  CHECK_FALSE(texts_in_force(store)[0].by);
  CHECK(store.check().empty());
}
