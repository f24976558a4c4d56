#include <chrono>
#include <set>

#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "store/groups.hpp"

using namespace evenhand;
using namespace evenhand::test;
using namespace std::chrono_literals;

TEST_CASE("an instructor opens a group, and gets a code of forty bits that runs out") {
  House house;
  auto ines = instructor(house);
  const auto made = ines.post("/api/groups", {{"title", "Tuesday"}, {"seats", 30}, {"hours", 1.5}});
  CHECK(made.status == 201);
  CHECK(made.body().at("title") == "Tuesday");
  CHECK(made.body().at("seats") == 30);
  CHECK(made.body().at("closes") == "2026-09-01T09:30:00Z");
  const std::string code = made.body().at("code");
  CHECK(code.size() == 8);
  CHECK(code.find_first_not_of("0123456789ABCDEFGHJKMNPQRSTVWXYZ") == std::string::npos);
  CHECK(ines.get("/api/groups").body()[0].at("code") == code);
  CHECK(ines.get("/api/groups").body()[0].at("members") == 0);
  house.wait(90min);
  CHECK(ines.get("/api/groups").body()[0].at("code").is_null());
}

TEST_CASE("codes differ from group to group") {
  House house;
  auto ines = instructor(house);
  std::set<std::string> codes;
  for (int i = 0; i < 50; ++i) codes.insert(open_group(ines).code);
  CHECK(codes.size() == 50);
}

TEST_CASE("what cannot be a group is refused") {
  House house;
  auto ines = instructor(house);
  const auto status = [&](const Json& body) { return ines.post("/api/groups", body).status; };
  CHECK(status(Json::object()) == 422);
  CHECK(status({{"title", ""}}) == 422);
  CHECK(status({{"title", std::string(201, 'x')}}) == 422);
  CHECK(status({{"title", 7}}) == 422);
  CHECK(status({{"title", "Tuesday"}, {"seats", 0}}) == 422);
  CHECK(status({{"title", "Tuesday"}, {"seats", -1}}) == 422);
  CHECK(status({{"title", "Tuesday"}, {"seats", 2.5}}) == 422);
  CHECK(status({{"title", "Tuesday"}, {"hours", 0}}) == 422);
  CHECK(status({{"title", "Tuesday"}, {"hours", 169}}) == 422);
  CHECK(status({{"title", "Tuesday"}, {"hours", "4"}}) == 422);
  CHECK(ines.get("/api/groups").body().empty());
}

TEST_CASE("the instructor sees who joined and when they were last there") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  house.wait(10min);
  auto ben = student(house, group.code, "ben");
  house.wait(10min);
  REQUIRE(ann.get("/api/me").status == 200);
  const auto members = ines.get("/api/groups/" + group.id + "/members").body();
  REQUIRE(members.size() == 2);
  CHECK(members[0] ==
        Json{{"rater", "ann"}, {"joined", "2026-09-01T08:00:00Z"}, {"last_seen", "2026-09-01T08:20:00Z"}});
  CHECK(members[1].at("rater") == "ben");
}

TEST_CASE("a group is its owner's: to another instructor it does not exist") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines);
  student(house, group.code, "ann");
  auto otto = another_instructor(house, "otto");
  const std::string at = "/api/groups/" + group.id;
  CHECK(otto.get("/api/groups").body().empty());
  CHECK(otto.post(at + "/code").status == 404);
  CHECK(otto.erase(at + "/code").status == 404);
  CHECK(otto.get(at + "/members").status == 404);
  CHECK(otto.post(at + "/members/ann/reset").status == 404);
  CHECK(otto.get(at + "/members").text == otto.get("/api/groups/unknown/members").text);
  CHECK(ines.get("/api/groups").body()[0].at("code") == group.code);
}

TEST_CASE("a reset code is issued for students of the group only") {
  House house;
  auto ines = instructor(house);
  const auto group = open_group(ines), other = open_group(ines);
  student(house, other.code, "ben");
  auto otto = another_instructor(house, "otto");
  REQUIRE(otto.post("/api/join", {{"code", group.code}}).status == 200);
  CHECK(ines.post("/api/groups/" + group.id + "/members/ben/reset").status == 404);
  CHECK(ines.post("/api/groups/" + group.id + "/members/nobody/reset").status == 404);
  // Else an instructor would come by a colleague's account.
  CHECK(ines.post("/api/groups/" + group.id + "/members/otto/reset").status == 409);
  CHECK(ines.post("/api/groups/" + other.id + "/members/ben/reset").status == 201);
}
