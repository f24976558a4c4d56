// The standard of a department: its error rates, whose decision a change would change, and putting it in
// force.

#include <algorithm>
#include <atomic>
#include <chrono>
#include <memory>
#include <thread>

#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "server/target.hpp"
#include "server/ward.hpp"
#include "store/department_texts.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

const std::string at = "/api/standard";

Json numbers(Browser& who) { return who.get(at).body().at("standard"); }

Json preview(Browser& who, const Json& of) {
  const auto answer = who.post(at + "/preview", of);
  INFO(answer.text);
  REQUIRE(answer.status == 200);
  return answer.body();
}

Answer put(Browser& who, Json of) {
  const auto looked = preview(who, of);
  INFO(looked.dump());
  REQUIRE(looked.at("confirm").is_string());
  of["why"] = "Meeting of September";
  of["confirm"] = looked.at("confirm");
  return who.put(at, of);
}

std::string at_field(const Json& faults) {
  return faults.empty() || faults[0].at("field").is_null() ? "" : std::string(faults[0].at("field"));
}

}  // namespace

TEST_CASE("the shipped standard is shown as numbers, and put in force again it is the same standard") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto before = ines.get(at).body();
  CHECK(before.at("own") == false);
  CHECK(before.at("standard") == before.at("shipped"));
  CHECK(before.at("standard").at("looks") == Json::array({16, 24, 32}));
  CHECK(before.at("versions").empty());
  // Written out by the form and read again, nothing is lost.
  REQUIRE(put(ines, before.at("standard")).status == 200);
  const auto after = ines.get(at).body();
  CHECK(after.at("standard") == before.at("standard"));
  CHECK(after.at("own") == true);
  CHECK(after.at("fingerprint") != before.at("fingerprint"));  // of the text, and that has no comments now
  REQUIRE(after.at("versions").size() == 1);
  CHECK(after.at("versions")[0].at("why") == "Meeting of September");
}

TEST_CASE("a preview lists whose decision would change: in force it decides, and what is signed stays") {
  Ward ward;  // ann and ben score 17 cases; ann all as the key
  const auto board = [&](const std::string& rater) {
    for (;;) {
      const auto found = ward.board();
      for (const auto& one : found.at("raters"))
        if (one.at("rater") == rater) return one;
      if (found.at("pending") == 0) return Json(nullptr);
    }
  };
  CHECK(board("ann").at("status") == "ready");
  const auto signed_before = ward.sign("ann", ready_until);
  auto of = numbers(ward.ines);
  CHECK(preview(ward.ines, of).at("decisions").at("changed").empty());
  CHECK(preview(ward.ines, of).at("decisions").at("unchanged") == 2);
  of["not_acceptable"] = 0.985;
  of["competent"] = 0.99;
  of["title"] = "Nearly flawless";
  const auto looked = preview(ward.ines, of);
  const auto& changed = looked.at("decisions").at("changed");
  const auto ann = std::ranges::find_if(changed, [](const Json& one) { return one.at("rater") == "ann"; });
  REQUIRE(ann != changed.end());
  CHECK(ann->at("before") != ann->at("after"));
  CHECK(board("ann").at("status") == "ready");  // looking changes nothing

  REQUIRE(put(ward.ines, of).status == 200);
  CHECK(board("ann").at("status") != "ready");
  CHECK(ward.board().at("standard").at("title") == "Nearly flawless");
  const auto page = ward.ines.get(ward.at("/raters/ann")).body();
  REQUIRE(page.at("sign_offs").size() == 1);
  CHECK(page.at("sign_offs")[0].at("intact") == true);
}

TEST_CASE("faults of a standard stand at their fields, and it is not put in force") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto good = numbers(ines);
  const auto fault = [&](const std::string& field, const Json& value) {
    auto of = good;
    of[field] = value;
    const auto found = preview(ines, of);
    CHECK(found.at("confirm").is_null());
    CHECK(found.at("decisions").is_null());
    return at_field(found.at("faults"));
  };
  CHECK(fault("competent", 0.75) == "competent");
  CHECK(fault("not_acceptable", 1.5) == "not_acceptable");
  CHECK(fault("looks", Json::array({24, 16})) == "looks");
  CHECK(fault("looks", Json::array()) == "looks");
  CHECK(fault("one_attempt", 0.4) == "one_attempt");
  CHECK(fault("two_attempts", 0.9) == "two_attempts");
  CHECK(fault("item_screen", 0.0) == "item_screen");
  CHECK(fault("second_readers", -1) == "second_readers");
  CHECK(fault("bias_points", 0) == "bias_points");
  CHECK(fault("bias_instrument", "no-such") == "bias_instrument");
  CHECK(fault("panel", 0.85) == "competent");  // more than the panel reaches
  for (const auto& [field, value] :
       {std::pair<std::string, Json>{"competent", "much"}, {"competent", nullptr}, {"looks", "16"}}) {
    auto of = good;
    of[field] = value;
    CHECK(ines.post(at + "/preview", of).body().at("error").at("field") == field);
  }
  auto of = good;
  of["competent"] = 0.75;
  of["why"] = "x";
  of["confirm"] = "x";
  CHECK(ines.put(at, of).status == 422);
  of["competent"] = 0.91;
  CHECK(ines.put(at, of).code() == "other-preview");
  CHECK(store::all_texts(*std::make_unique<store::Store>(house.store())).empty());
}

TEST_CASE("error rates come for any numbers, with their simulation error, and warn where they are too high") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto of = numbers(ines);
  const auto begun = std::chrono::steady_clock::now();
  const auto found = ines.post(at + "/curves", of).body();
  WARN("error rates took " << std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count()
                           << " s");
  const auto& curves = found.at("curves");
  CHECK(curves.at("points").size() == 8 * 4);
  CHECK(double(curves.at("error_at_stated")) < 0.006);
  CHECK(curves.at("false_ready").at("too_high") == false);
  for (const auto& point : curves.at("points")) {
    REQUIRE(point.at("attempts").size() == 2);
    for (const auto& one : point.at("attempts"))
      CHECK(double(one.at("ready")) + double(one.at("not_yet")) + double(one.at("more")) == Approx(1.0));
  }
  CHECK(ines.post(at + "/curves", of).body() == found);  // the seed decides
  // Six looks at 90 % are many chances to be lucky.
  of["one_attempt"] = 0.9;
  of["two_attempts"] = 0.9;
  of["looks"] = {8, 12, 16, 20, 24, 28};
  CHECK(ines.post(at + "/curves", of).body().at("curves").at("false_ready").at("too_high") == true);
  of["items_per_case"] = 5;
  CHECK(ines.post(at + "/curves", of).body().at("curves").is_null());
  CHECK(std::string(ines.post(at + "/curves", of).body().at("why")).find("do not divide") !=
        std::string::npos);
}

TEST_CASE("how alike the scores of a case come out is told of one's own raters only") {
  Ward ward;
  auto otto = another_instructor(ward.house, "otto");
  const auto own = ward.ines.get(at + "/correlation").body();
  CHECK(own.at("raters") == 2);
  CHECK(own.at("estimate").is_number());
  CHECK(own.at("not_reached") == 0);
  const auto none = otto.get(at + "/correlation").body();
  CHECK(none.at("raters") == 0);
  CHECK(none.at("estimate").is_null());
  CHECK_FALSE(std::string(none.at("why")).empty());
}

TEST_CASE("who is due is told of one's own raters, by the day a sign-off runs out") {
  Ward ward;
  auto otto = another_instructor(ward.house, "otto");
  ward.sign("ann", ready_until);  // 2027-08-31
  CHECK(ward.ines.get(at + "/due?weeks=4").body().at("due").empty());
  const auto due = ward.ines.get(at + "/due?weeks=60").body().at("due");
  REQUIRE(due.size() == 1);
  CHECK(due[0].at("rater") == "ann");
  CHECK(due[0].at("out") == false);
  CHECK(otto.get(at + "/due?weeks=60").body().at("due").empty());
  CHECK(ward.ines.get(at + "/due?weeks=soon").status == 422);
}

TEST_CASE("what is worked out for staff holds up nobody's sign-in") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto of = numbers(ines);
  std::atomic<int> done = 0, made = 0;
  for (int i = 0; i < 6; ++i) {
    const auto request = std::make_shared<server::Request>();
    request->method = "POST";
    request->body = of.dump();
    request->headers = {{"host", "localhost:8080"},
                        {"content-type", "application/json"},
                        {"sec-fetch-site", "same-origin"},
                        {"cookie", ines.cookie}};
    REQUIRE(server::read_target(at + "/curves", *request));
    house.site().answer(request, [&](const server::Response& response) {
      made += response.status == 200 ? 1 : 0;
      ++done;
    });
  }
  Browser again(house);
  CHECK(again.post("/api/sign-in", {{"rater", "ines"}, {"passphrase", passphrase}}).status == 200);
  // On the same two threads, five of the six would have been done first.
  CHECK(done < 4);
  while (done < 6) std::this_thread::sleep_for(std::chrono::milliseconds(10));
  CHECK(made == 6);
}

TEST_CASE("only the lead changes the standard: instructors read it, students do not") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto otto = another_instructor(house, "otto");
  const auto of = numbers(otto);
  CHECK(otto.get(at).body().at("may_write") == false);
  CHECK(otto.post(at + "/preview", of).status == 403);
  CHECK(otto.put(at, of).status == 403);
  CHECK(otto.post(at + "/curves", of).status == 200);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  for (const auto* path : {"", "/due", "/correlation"}) CHECK(ann.get(at + path).status == 403);
  CHECK(ann.post(at + "/preview", of).status == 403);
  CHECK(ann.post(at + "/curves", of).status == 403);
  CHECK(ann.put(at, of).status == 403);
}
