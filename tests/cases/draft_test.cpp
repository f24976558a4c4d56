#include "cases/draft.hpp"

#include <algorithm>
#include <string>

#include <catch2/catch.hpp>

#include "cases/built_in.hpp"
#include "cases/small_library.hpp"

using namespace evenhand;
using cases::check_draft;
using Catch::Contains;
using test::small_case;
using test::with;

namespace {

cases::Library small_library() {
  document::Faults faults;
  auto library = cases::read_library(test::small_files(), {}, faults);
  REQUIRE(faults.text() == "");
  return library;
}

/// The level that follows for an item, as written; "-" when none does.
std::string follows(const cases::DraftCheck& check, std::size_t item) {
  const auto& key = check.stated->items.at(item);
  return key.level ? check.instrument->by_default->instrument.items[item].levels[*key.level].label : "-";
}

}  // namespace

TEST_CASE("of a draft without faults the keys are worked out, and it has the fingerprint of the case") {
  const auto library = small_library();
  const auto check = check_draft(library, small_case());
  CHECK(check.faults.text() == "");
  CHECK(check.id == "owl");
  REQUIRE(check.read);
  CHECK(check.readable == std::vector{true, true, true});
  CHECK(follows(check, 0) == "1");
  CHECK(follows(check, 1) == "1");
  CHECK(follows(check, 2) == "2");
  CHECK(check.fingerprint == cases::fingerprint(library, library.cases.at("owl")));
}

TEST_CASE("a key that differs is a fault, and what follows is still worked out") {
  const auto library = small_library();
  const auto check =
      check_draft(library, with(small_case(), "item: \"1\"\n    key: \"1\"", "item: \"1\"\n    key: \"2\""));
  CHECK_THAT(check.faults.text(), Contains("draft:10:5: item 1: the key is stated as 2, but 1 follows"));
  CHECK(follows(check, 0) == "1");
  CHECK(check.fingerprint.empty());
}

TEST_CASE("a fault in one item leaves the others worked out, and that one out", "[edge]") {
  const auto library = small_library();
  const auto check = check_draft(library, with(small_case(), "{taps: 9}", "{taps: 900}"));
  CHECK_THAT(check.faults.text(), Contains("draft:31:"));
  CHECK(check.faults.size() == 1);
  CHECK(check.readable == std::vector{true, false, true});
  CHECK(follows(check, 0) == "1");
  CHECK(follows(check, 1) == "-");
  CHECK(follows(check, 2) == "2");
}

TEST_CASE("a missing item, and faults above the items, leave the others worked out", "[edge]") {
  const auto library = small_library();
  const auto text = small_case();
  const auto without_3 = check_draft(library, text.substr(0, text.find("  - item: \"3\"")));
  CHECK_THAT(without_3.faults.text(), Contains("item 3 is missing"));
  CHECK(without_3.readable == std::vector{true, true, false});
  const auto no_share = check_draft(library, with(text, "share: mild\n", ""));
  CHECK(no_share.faults.size() == 1);
  CHECK(no_share.readable == std::vector{true, true, true});
  CHECK(follows(no_share, 2) == "2");
}

TEST_CASE("what cannot be read at all says why, and nothing is made of it", "[edge]") {
  const auto library = small_library();
  for (const std::string text :
       {"", "a: [b", "format: evenhand/case-1\nid: x\n", "- 1\n",
        "format: evenhand/set-1\ninstrument: small\n", "format: evenhand/case-1\ninstrument: smal\n"}) {
    INFO(text);
    const auto check = check_draft(library, text);
    CHECK_FALSE(check.faults.empty());
    CHECK_FALSE(check.read);
    CHECK(check.fingerprint.empty());
  }
  CHECK_THAT(check_draft(library, "format: evenhand/case-1\ninstrument: smal\n").faults.text(),
             Contains("did you mean `small`"));
  CHECK_FALSE(check_draft(library, std::string(300 * 1024, 'x')).faults.empty());
}

TEST_CASE("any cut of a case's text is checked without a crash", "[property]") {
  const auto library = small_library();
  const auto text = small_case();
  for (std::size_t n = 0; n < text.size(); n += 3) {
    const auto check = check_draft(library, text.substr(0, n));
    CHECK_FALSE(check.faults.empty());
    if (check.read) CHECK(check.stated->items.size() == 3);
  }
  for (std::size_t n = 0; n + 40 < text.size(); n += 7) {
    auto gap = text;
    gap.erase(n, 25);
    check_draft(library, gap);
  }
}

TEST_CASE("how many readers there were is not for a draft to say") {
  const auto library = small_library();
  const auto check =
      check_draft(library, with(small_case(), "reviewed_by: 0", "reviewed_by: 2\nreaders_split: [\"1\"]"));
  CHECK_THAT(check.faults.text(),
             Contains("draft:7:1: how many second readers") && Contains("draft:8:1: on which items"));
}

TEST_CASE("a new draft is complete, without a fault, and holds any words") {
  document::Faults faults;
  const auto library = cases::read_library(cases::built_in_files(), {}, faults);
  for (const auto& [id, each] : library.instruments) {
    const auto text = cases::new_draft(each.by_default->instrument, {.id = CaseId("new-case"),
                                                                     .code = "Wren: \"#\\ {a}",
                                                                     .age = 7.5,
                                                                     .picture = "Two lines:\n- one\n- two",
                                                                     .setting = "A gym; %TAG !"});
    const auto check = check_draft(library, text);
    INFO(text);
    CHECK(check.faults.text() == "");
    CHECK(check.read->child.code == "Wren: \"#\\ {a}");
    CHECK(check.read->child.picture == "Two lines: - one - two");
    CHECK(check.read->child.age == 7.5);
    CHECK_FALSE(check.fingerprint.empty());
  }
}

TEST_CASE(
    "the count of readers and what they split on are written into the text, in the place of those before") {
  const auto text = with(small_case(), "reviewed_by: 0", "reviewed_by: 0  # nobody yet");
  const auto published = cases::with_readers(text, 2, {ItemId("1"), ItemId("3")});
  REQUIRE(published);
  CHECK(*published == with(small_case(), "reviewed_by: 0", "reviewed_by: 2\nreaders_split: [\"1\", \"3\"]"));
  CHECK(*cases::with_readers(*published, 3, {}) == with(small_case(), "reviewed_by: 0", "reviewed_by: 3"));
  CHECK(cases::with_readers("a: b\n", 1, {}).error().code == Errc::invalid);
  const auto library = small_library();
  // Who read it is no part of what a rater sees.
  document::Faults faults;
  const auto other = cases::read_library(test::small_files(*published), {}, faults);
  CHECK(faults.text() == "");
  CHECK(cases::fingerprint(other, other.cases.at("owl")) ==
        cases::fingerprint(library, library.cases.at("owl")));
  CHECK(other.cases.at("owl").items[0].split);
  CHECK_FALSE(other.cases.at("owl").items[1].split);
}

TEST_CASE("items on which readers split are items that they could score", "[edge]") {
  const auto faults = [](const std::string& line) {
    return test::faults_of_case(with(small_case(), "reviewed_by: 0", line));
  };
  CHECK(faults("reviewed_by: 1\nreaders_split: [\"2\"]") == "");
  CHECK_THAT(faults("reviewed_by: 0\nreaders_split: [\"2\"]"),
             Contains("owl.yaml:8:1: nobody has scored the case"));
  CHECK_THAT(faults("reviewed_by: 1\nreaders_split: [\"9\"]"), Contains("`small` has no item `9`"));
  CHECK_THAT(faults("reviewed_by: 1\nreaders_split: [\"2\", \"2\"]"), Contains("item 2 is named twice"));
}
