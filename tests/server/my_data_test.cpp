#include <filesystem>
#include <fstream>
#include <iterator>

#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "store/composed_sets.hpp"
#include "store/person_data.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

void sit(House& house, const std::string& rater, const std::string& id) {
  auto store = house.store();
  store::Sitting sitting;
  sitting.id = SittingId(id);
  sitting.rater = RaterId(rater);
  sitting.set = SetId("pb-first-steps");
  sitting.instrument_fingerprint = "1f";
  sitting.program_version = "0.1.0";
  sitting.begun = house.now();
  REQUIRE(store.begin_sitting(sitting));
  store::Answer answer;
  answer.scored_case = CaseId("pb-otter");
  answer.item = ItemId("4");
  answer.case_fingerprint = "c4";
  answer.value = "3";
  answer.observations = {{"hold", "18.4 s"}};
  answer.stopwatch = {{.trial = 1, .seconds = 18.42}};
  answer.at = house.now();
  REQUIRE(store.append_answer(sitting.id, answer));
}

/// Every byte of the store's files.
std::string bytes_of_store(const House& house) {
  std::string bytes;
  for (const char* ending : {"", "-wal"}) {
    std::ifstream in(house.store_path() + ending, std::ios::binary);
    bytes.append(std::istreambuf_iterator<char>(in), {});
  }
  return bytes;
}

}  // namespace

TEST_CASE("a person is given all that is kept of them, and nothing of others") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  student(house, group.code, "ben");
  sit(house, "ann", "sitting-of-ann");
  sit(house, "ben", "sitting-of-ben");
  const auto given = ann.get("/api/my-data");
  REQUIRE(given.status == 200);
  CHECK(given.header("Content-Disposition") == "attachment; filename=\"evenhand-ann.json\"");
  const auto data = given.body();
  CHECK(data.at("rater") == "ann");
  CHECK(data.at("groups")[0].at("title") == "Tuesday");
  REQUIRE(data.at("sittings").size() == 1);
  const auto& answer = data.at("sittings")[0].at("answers")[0];
  CHECK(answer.at("value") == "3");
  CHECK(answer.at("observations") == Json{{"hold", "18.4 s"}});
  CHECK(answer.at("stopwatch")[0].at("seconds") == 18.42);
  CHECK(given.text.find("ben") == std::string::npos);
  CHECK(given.text.find("argon2") == std::string::npos);
}

TEST_CASE("erasing oneself needs the passphrase, and leaves nothing to sign in to") {
  House house;
  auto ines = instructor(house);
  auto ann = student(house, open_group(ines).code, "ann");
  sit(house, "ann", "sitting-of-ann");
  CHECK(ann.erase("/api/my-data", {{"passphrase", "not this one"}}).code() == "wrong-passphrase");
  CHECK(ann.erase("/api/my-data").status == 422);
  CHECK(ann.get("/api/me").status == 200);
  const auto erased = ann.erase("/api/my-data", {{"passphrase", passphrase}});
  CHECK(erased.status == 200);
  CHECK(erased.body().at("erased") == Json{{"sittings", 1}, {"answers", 1}, {"imported_scores", 0}});
  CHECK(erased.header("Set-Cookie").find("Max-Age=0") != std::string::npos);
  CHECK(Browser(house).post("/api/sign-in", {{"rater", "ann"}, {"passphrase", passphrase}}).status == 401);
  auto store = house.store();
  CHECK(store::everything_of(store, RaterId("ann")).error().code == Errc::not_found);
}

TEST_CASE("who was erased is in no file of the store when so is said") {
  House house;
  auto ines = instructor(house);
  auto ann = student(house, open_group(ines).code, "ann-who-leaves");
  sit(house, "ann-who-leaves", "sitting-of-ann");
  REQUIRE(bytes_of_store(house).find("ann-who-leaves") != std::string::npos);
  REQUIRE(bytes_of_store(house).find("18.4 s") != std::string::npos);
  REQUIRE(ann.erase("/api/my-data", {{"passphrase", passphrase}}).status == 200);
  const auto bytes = bytes_of_store(house);
  CHECK(bytes.find("ann-who-leaves") == std::string::npos);
  CHECK(bytes.find("18.4 s") == std::string::npos);
  CHECK(bytes.find("ines") != std::string::npos);
}

TEST_CASE("the log of the store is cleared with each tidying") {
  House house;
  auto ines = instructor(house);
  const auto log = [&] { return std::filesystem::file_size(house.store_path() + "-wal"); };
  open_group(ines);
  REQUIRE(log() > 0);
  house.wait(std::chrono::hours(1));
  // The first leads to the tidying, the second comes after it.
  house.ask("GET", "/health");
  house.ask("GET", "/health");
  CHECK(log() == 0);
}
