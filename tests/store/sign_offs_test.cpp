#include "store/sign_offs.hpp"

#include "base/fingerprint.hpp"
#include "site.hpp"
#include "store/person_data.hpp"
#include "store/restore.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;
using store::Role;
using store::SignOff;

namespace {

SignOff report_of(const std::string& rater, const std::string& report = "{\"verdict\": \"Ready\"}\n") {
  return {.rater = RaterId(rater),
          .signed_by = RaterId("cyd"),
          .name = "Cyd Moreau, PT",
          .at = minute(10),
          .valid_until = minute(9999),
          .verdict = "Ready",
          .standard = "default",
          .standard_fingerprint = "5f",
          .data_fingerprint = "df",
          .program_version = "0.1.0",
          .report = report};
}

struct Signed {
  Folder folder;
  std::string path = folder / "a.db";

  Signed() {
    auto store = open_store(path);
    auto again = report_of("ada", "{\"verdict\": \"Not yet\"}\n");
    again.verdict = "Not yet";
    again.valid_until.reset();
    again.why = "Two sittings were entered for the wrong rater.";
    const bool done = add_account(store, account_of("cyd", Role::instructor)) &&
                      add_account(store, account_of("ada")) && sign_off(store, report_of("ada")) &&
                      sign_off(store, again);
    if (!done) throw std::runtime_error("the store of the test could not be filled");
  }
  store::Store open() const { return open_store(path, store::OpenMode::existing); }
  std::string findings() const {
    std::string all;
    for (const std::string& finding : open().check()) all += finding + "\n";
    return all;
  }
};

}  // namespace

TEST_CASE("a correction is a further version, and both stay readable after the store was opened anew") {
  const Signed both;
  auto store = both.open();
  const auto all = sign_offs_of(store, RaterId("ada"));
  REQUIRE(all.size() == 2);
  CHECK(all[0].version == 1);
  CHECK(all[0].report == "{\"verdict\": \"Ready\"}\n");
  CHECK(all[0].report_fingerprint == base::fingerprint(all[0].report));
  CHECK(all[1].verdict == "Not yet");
  CHECK_FALSE(all[1].valid_until);
  CHECK(sign_off_of(store, RaterId("ada"), 1).value() == all[0]);
  CHECK(sign_off_of(store, RaterId("ada"), 3).error().code == Errc::not_found);
  CHECK(sign_offs_by(store, RaterId("cyd")).size() == 2);
}

TEST_CASE("signed versions come through a backup and its restoring as they are") {
  const Signed both;
  const auto before = [&] {
    auto store = both.open();
    REQUIRE(store.backup(both.folder / "backup.db"));
    return sign_offs_of(store, RaterId("ada"));
  }();
  REQUIRE(store::restore(both.folder / "backup.db", both.folder / "restored.db", store::Standing::refuse,
                         minute(20)));
  auto restored = open_store(both.folder / "restored.db", store::OpenMode::existing);
  CHECK(sign_offs_of(restored, RaterId("ada")) == before);
  CHECK(restored.check().empty());
}

TEST_CASE("a changed row is detected by its fingerprint, whatever part of it was changed") {
  const std::string open_gate = "DROP TRIGGER sign_off_stays; UPDATE sign_off SET ";
  {
    const Signed both;
    const std::string change = "report = replace(report, 'Not yet', 'Ready') WHERE version = 2";
    CHECK(both.findings().empty());
    CHECK_THROWS(tamper(both.path, "UPDATE sign_off SET " + change));
    tamper(both.path, open_gate + change);
    CHECK_THAT(both.findings(), Contains("sign-off of rater ada, version 2: the report is not the one"));
    auto store = both.open();
    CHECK_FALSE(is_intact(sign_off_of(store, RaterId("ada"), 2).value()));
    CHECK(is_intact(sign_off_of(store, RaterId("ada"), 1).value()));
  }
  for (const std::string change :
       {"name = 'Somebody Else'", "verdict = 'Ready'", "valid_until = 99999999999999",
        "signed_at = signed_at + 1000", "standard_fingerprint = 'x'", "data_fingerprint = 'x'",
        "program_version = 'x'", "why = 'x'", "standard = 'x'", "fingerprint = 'x'"}) {
    const Signed both;
    tamper(both.path, open_gate + change + " WHERE version = 2");
    INFO(change);
    CHECK_THAT(both.findings(), Contains("sign-off of rater ada, version 2: what stands beside the report"));
    auto store = both.open();
    CHECK_FALSE(is_intact(sign_off_of(store, RaterId("ada"), 2).value()));
    CHECK(is_intact(sign_off_of(store, RaterId("ada"), 1).value()));
  }
  {
    const Signed both;
    tamper(both.path, open_gate + "report_fingerprint = 'x' WHERE version = 2");
    CHECK_THAT(both.findings(), Contains("sign-off of rater ada, version 2: the report is not the one"));
    auto store = both.open();
    CHECK_FALSE(is_intact(sign_off_of(store, RaterId("ada"), 2).value()));
  }
  // Under another number, or another rater's name, nothing is what was signed.
  for (const std::string change :
       {"version = 3", "person = (SELECT number FROM person WHERE rater = 'cyd')"}) {
    const Signed both;
    tamper(both.path, open_gate + change + " WHERE version = 2");
    INFO(change);
    CHECK_THAT(both.findings(), Contains("what stands beside the report"));
    auto store = both.open();
    std::size_t moved = 0;
    for (const std::string rater : {"ada", "cyd"})
      for (const SignOff& one : sign_offs_of(store, RaterId(rater)))
        if (one.rater != RaterId("ada") || one.version != 1) {
          ++moved;
          CHECK_FALSE(is_intact(one));
        }
    CHECK(moved == 1);
  }
}

TEST_CASE("a version that was taken out is missed") {
  const Signed both;
  tamper(both.path, "DROP TRIGGER sign_off_kept; DELETE FROM sign_off WHERE version = 1");
  CHECK_THAT(both.findings(), Contains("the latest version is 2, but there are 1"));
}

TEST_CASE("what cannot be signed is refused, and a correction needs a reason") {
  const Signed both;
  auto store = both.open();
  const auto code = [&](const SignOff& one) { return sign_off(store, one).error().code; };
  auto bad = report_of("cyd");
  bad.name.clear();
  CHECK(code(bad) == Errc::invalid);
  bad = report_of("cyd", "");
  CHECK(code(bad) == Errc::invalid);
  bad = report_of("cyd");
  bad.valid_until = bad.at;
  CHECK(code(bad) == Errc::invalid);
  CHECK(code(report_of("nobody")) == Errc::not_found);
  CHECK(code(report_of("ada")) == Errc::invalid);  // a third version without a reason
}

TEST_CASE("a sign-off goes with its rater, and outlives its signer, whose name is part of it") {
  const Signed both;
  auto store = both.open();
  REQUIRE(erase(store, RaterId("cyd"), minute(20)));
  const auto all = sign_offs_of(store, RaterId("ada"));
  REQUIRE(all.size() == 2);
  CHECK_FALSE(all[0].signed_by);
  CHECK(all[0].name == "Cyd Moreau, PT");
  CHECK(store.check().empty());
  REQUIRE(erase(store, RaterId("ada"), minute(21)));
  CHECK(sign_offs_of(store, RaterId("ada")).empty());
}

TEST_CASE("the latest version of each member tells who is due, and when") {
  const Signed both;
  auto store = both.open();
  REQUIRE(add_account(store, account_of("ben")));
  REQUIRE(add_group(store, group_of("cyd", "g")));
  REQUIRE(join_group(store, GroupId("g"), RaterId("ada"), minute(1)));
  REQUIRE(join_group(store, GroupId("g"), RaterId("ben"), minute(1)));
  REQUIRE(sign_off(store, report_of("ben")));
  const auto latest = latest_sign_offs(store, GroupId("g"));
  REQUIRE(latest.size() == 2);
  CHECK(latest[0].rater == RaterId("ben"));
  CHECK(latest[1].version == 2);
  CHECK(latest[1].report.empty());
}

TEST_CASE("remarks are dated, in order, and keep their text when the author is gone") {
  const Signed both;
  auto store = both.open();
  REQUIRE(add_remark(store, {RaterId("ada"), RaterId("cyd"), minute(1), "Times from the first sway."}));
  REQUIRE(add_remark(store, {RaterId("ada"), RaterId("cyd"), minute(2), "Better now."}));
  REQUIRE(remarks_of(store, RaterId("ada")).size() == 2);
  CHECK(remarks_by(store, RaterId("cyd")).size() == 2);
  CHECK(add_remark(store, {RaterId("ada"), RaterId("cyd"), minute(2), ""}).error().code == Errc::invalid);
  CHECK_THROWS(tamper(both.path, "UPDATE remark SET text = 'x'"));
  REQUIRE(erase(store, RaterId("cyd"), minute(3)));
  const auto left = remarks_of(store, RaterId("ada"));
  CHECK(left[0].text == "Times from the first sway.");
  CHECK_FALSE(left[0].author);
}
