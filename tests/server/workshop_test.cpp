// Drafts of cases, their second readers, and how they come into the library.

#include <algorithm>
#include <set>
#include <string>

#include <catch2/catch.hpp>

#include "cases/built_in.hpp"
#include "cases/draft.hpp"
#include "server/support.hpp"
#include "store/audit.hpp"
#include "store/department_texts.hpp"
#include "store/drafts.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

const std::string drafts = "/api/workshop/drafts", robin = drafts + "/pb-robin",
                  reading = "/api/workshop/readings/pb-robin";

std::string replaced(std::string text, const std::string& piece, const std::string& by) {
  const auto at = text.find(piece);
  INFO("looking for: " << piece);
  REQUIRE(at != std::string::npos);
  return text.replace(at, piece.size(), by);
}

/// The text of a case that the library ships, under the id of a draft.
std::string text_of(const std::string& shipped = "pb-wren") {
  for (const auto& file : cases::built_in_files())
    if (cases::stem(file.name) == shipped) return replaced(file.text, "id: " + shipped, "id: pb-robin");
  FAIL("the library ships no " << shipped);
  return {};
}

Json form(const std::string& id = "pb-robin") {
  return {{"instrument", "pediatric-balance"},
          {"id", id},
          {"code", "Robin"},
          {"age", 7.5},
          {"share", "mild"},
          {"picture", "Hums. Wears odd socks."},
          {"setting", "A gym on a quiet morning."}};
}

Json save(Browser& who, const std::string& text, int after, bool offer) {
  const auto answer = who.put(robin, {{"text", text}, {"after", after}, {"offer", offer}});
  INFO(answer.text);
  REQUIRE(answer.status == 200);
  return answer.body();
}

/// A draft that the author has offered to second readers.
void offer(Browser& author, const std::string& text = text_of()) {
  REQUIRE(author.post(drafts, form()).status == 201);
  save(author, text, 1, true);
}

/// The keys of the draft, as a reader would hand them in who gave them all.
Json keys(const std::string& text = text_of()) {
  const auto library = shipped_library();
  const auto check = cases::check_draft(library, text);
  REQUIRE(check.faults.text() == "");
  const auto& instrument = check.instrument->by_default->instrument;
  Json items = Json::array();
  for (std::size_t i = 0; i < check.read->items.size(); ++i) {
    const auto& key = check.stated->items[i];
    if (check.read->items[i].trials.empty()) continue;
    items.push_back({{"item", instrument.items[i].id},
                     {"score", key.level ? instrument.items[i].levels[*key.level].label
                                         : std::string(cases::to_string(*key.status))},
                     {"note", ""}});
  }
  return items;
}

Answer hand_in(Browser& who, const Json& items, int version = 2) {
  return who.put(reading, {{"version", version}, {"items", items}});
}

/// Names of everything in a value, at any depth.
void names_in(const Json& value, std::set<std::string>& names) {
  if (value.is_object())
    for (const auto& [name, one] : value.items()) {
      names.insert(name);
      names_in(one, names);
    }
  if (value.is_array())
    for (const auto& one : value) names_in(one, names);
}

/// A house with a lead, two more instructors and a student.
struct Workshop {
  House house{{}, shipped_library()};
  Browser lead = instructor(house, "lena");
  Browser otto = another_instructor(house, "otto"), ines = another_instructor(house, "ines"),
          ida = another_instructor(house, "ida");
};

}  // namespace

TEST_CASE("a draft begins complete and without a fault, and keeps every version") {
  Workshop at;
  REQUIRE(at.otto.post(drafts, form()).status == 201);
  const auto begun = at.otto.get(robin).body();
  CHECK(begun.at("version") == 1);
  CHECK(begun.at("at_fault") == false);
  CHECK(begun.at("own") == true);
  CHECK(begun.at("may_publish") == false);
  CHECK(begun.at("published").is_null());
  const std::string text = begun.at("text");
  CHECK(at.otto.post("/api/workshop/check", {{"text", text}}).body().at("faults").empty());

  const auto faulty = replaced(text, "share: mild", "share: mildly");
  const auto saved = save(at.otto, faulty, 1, false);
  CHECK(saved.at("version") == 2);
  CHECK(saved.at("at_fault") == true);
  CHECK(at.otto.put(robin, {{"text", text}, {"after", 1}}).status == 409);
  CHECK(at.otto.put(robin, {{"text", faulty}, {"after", 2}, {"offer", true}}).status == 422);
  CHECK(at.otto.put(robin, {{"text", replaced(text, "id: pb-robin", "id: pb-rook")}, {"after", 2}}).status ==
        422);
  CHECK(at.otto.put(robin, {{"text", text}}).status == 422);
  CHECK(at.otto.get(robin + "/versions/1").body().at("text") == text);
  CHECK(at.otto.get(robin + "/versions/9").status == 404);
  CHECK(at.otto.get(robin).body().at("versions").size() == 2);
  const auto list = at.otto.get("/api/workshop").body();
  REQUIRE(list.at("drafts").size() == 1);
  CHECK(list.at("drafts")[0].at("at_fault") == true);
  CHECK(list.at("second_readers") == 2);

  CHECK(at.otto.erase(robin).status == 200);
  CHECK(at.otto.get(robin).status == 404);
  CHECK(at.otto.get("/api/workshop").body().at("drafts").empty());
}

TEST_CASE("what is missing or taken in a new draft is said at its field", "[edge]") {
  Workshop at;
  const auto fault = [&](const char* name, const Json& value) {
    auto body = form();
    body[name] = value;
    const auto answer = at.otto.post(drafts, body);
    CHECK(answer.status == 422);
    return answer.body().value("/error/field"_json_pointer, "");
  };
  for (const char* id : {"", "Robin", "pb--robin", "-pb", "pb robin", "pb-wren"})
    CHECK(fault("id", id) == "id");
  CHECK(fault("instrument", "none") == "instrument");
  CHECK(fault("age", "seven") == "age");
  CHECK(fault("age", 121) == "age");
  CHECK(fault("share", "some") == "share");
  for (const char* name : {"code", "picture", "setting"}) {
    CHECK(fault(name, " ") == name);
    CHECK(fault(name, std::string(700, 'x')) == name);
  }
  REQUIRE(at.otto.post(drafts, form()).status == 201);
  CHECK(at.ines.post(drafts, form()).body().at("error").at("field") == "id");
}

TEST_CASE("a check says every fault with its line, and item by item what follows") {
  Workshop at;
  const auto text = text_of();
  const auto good = at.otto.post("/api/workshop/check", {{"text", text}}).body();
  CHECK(good.at("faults").empty());
  CHECK(good.at("case") == "pb-robin");
  REQUIRE(good.at("items").size() == 14);
  const auto eight =
      *std::ranges::find_if(good.at("items"), [](const Json& one) { return one.at("item") == "8"; });
  CHECK(eight.at("follows") == eight.at("stated"));
  CHECK(eight.at("differs") == false);
  CHECK_FALSE(eight.at("reason").empty());
  CHECK_FALSE(eight.at("shown").at("trials").empty());

  const int line = eight.at("line");
  const auto other = std::string(eight.at("follows")) == "4" ? "3" : "4";
  auto lines = text;
  const auto item = lines.find("- item: \"8\"");
  REQUIRE(item != std::string::npos);
  const auto key = lines.find("key: \"", item);
  lines[key + 6] = other[0];
  const auto bad = at.otto.post("/api/workshop/check", {{"text", lines}}).body();
  REQUIRE(bad.at("faults").size() == 1);
  CHECK(bad.at("faults")[0].at("line") == line + 1);
  CHECK(bad.at("items")[7].at("differs") == true);
  CHECK(bad.at("items")[7].at("stated") == other);
  CHECK(bad.at("items")[7].at("follows") == eight.at("follows"));

  CHECK(at.otto.post("/api/workshop/check", {{"text", "a: [b"}}).body().at("faults").size() == 1);
  CHECK(at.otto.post("/api/workshop/check").status == 422);
  // Nothing is kept of it.
  CHECK(at.otto.get("/api/workshop").body().at("drafts").empty());
}

TEST_CASE("checks are limited in number and in size", "[edge]") {
  Workshop at;
  unsigned slow = 0;
  for (int i = 0; i < 45; ++i) slow += at.otto.post("/api/workshop/check", {{"text", "a: b"}}).status == 429;
  CHECK(slow >= 1);
  CHECK(at.ines.post("/api/workshop/check", {{"text", "a: b"}}).status == 200);
  CHECK(at.ines.post("/api/workshop/check", {{"text", std::string(201 * 1024, 'x')}}).status == 422);
}

TEST_CASE("nobody but author and lead sees a draft, and the lead's look is noted") {
  Workshop at;
  offer(at.otto);
  CHECK(at.ines.get(robin).status == 404);
  CHECK(at.ines.get(robin + "/versions/1").status == 404);
  CHECK(at.ines.put(robin, {{"text", text_of()}, {"after", 2}}).status == 404);
  CHECK(at.ines.erase(robin).status == 404);
  CHECK(at.ines.post(robin + "/preview").status == 404);
  CHECK(at.ines.post(robin + "/publish", {{"why", "x"}, {"confirm", "x"}}).status == 404);
  CHECK(at.ines.get("/api/workshop").body().at("drafts").empty());
  CHECK(at.lead.get("/api/workshop").body().at("drafts").size() == 1);
  REQUIRE(at.lead.get(robin).status == 200);
  auto store = at.house.store();
  const auto entry = store::entries(store, 1).at(0);
  CHECK(entry.deed == store::Deed::saw_draft);
  CHECK(entry.actor == RaterId("lena"));
  CHECK(entry.about == "pb-robin");
}

TEST_CASE("a second reader sees what a rater sees, and nothing of key, reason or other readers") {
  Workshop at;
  offer(at.otto);
  const auto list = at.ines.get("/api/workshop").body();
  REQUIRE(list.at("to_read").size() == 1);
  CHECK(list.at("to_read")[0].at("case") == "pb-robin");
  CHECK(list.at("to_read")[0].at("given") == false);
  REQUIRE(hand_in(at.ida, keys()).status == 201);
  const auto seen = at.ines.get(reading);
  REQUIRE(seen.status == 200);
  std::set<std::string> names;
  names_in(seen.body(), names);
  const std::set<std::string> harmless{
      "age",      "at",      "case",    "child",      "code",  "contacts",  "end",     "events",
      "given",    "helpers", "id",      "instrument", "items", "not_given", "picture", "poses",
      "practice", "says",    "setting", "side",       "text",  "timeline",  "toward",  "reach",
      "trials",   "version", "way",     "who",        "words", "written"};
  for (const auto& name : names) CHECK(harmless.contains(name));
  CHECK(seen.body().at("given").is_null());
  CHECK(seen.text.find("ida") == std::string::npos);
  // What the keys follow from stands in the file alone.
  CHECK(seen.text.find("observed") == std::string::npos);
}

TEST_CASE("a reading is whole, handed in once, and of the version that was read", "[edge]") {
  Workshop at;
  offer(at.otto);
  auto items = keys();
  auto partial = items;
  partial.erase(partial.size() - 1);
  CHECK(hand_in(at.ines, partial).status == 422);
  auto wrong = items;
  wrong[0]["score"] = "9";
  CHECK(hand_in(at.ines, wrong).status == 422);
  wrong[0]["score"] = "skip-rule";
  CHECK(hand_in(at.ines, wrong).status == 422);
  CHECK(hand_in(at.ines, items, 1).code() == "other-version");
  CHECK(at.ines.put(reading, {{"version", 2}}).status == 422);
  items[0]["note"] = "Which foot is it?";
  CHECK(hand_in(at.ines, items).status == 201);
  CHECK(hand_in(at.ines, items).status == 200);
  items[0]["score"] = "cannot-rate";
  CHECK(hand_in(at.ines, items).status == 409);
  CHECK(at.ines.get(reading).body().at("given").at("items")[0].at("note") == "Which foot is it?");
  CHECK(at.ines.get("/api/workshop").body().at("to_read")[0].at("given") == true);
  auto store = at.house.store();
  CHECK(store::entries_about(store, RaterId("ines")).size() == 1);
}

TEST_CASE("who has seen the key is no second reader of it") {
  Workshop at;
  offer(at.otto);
  CHECK(at.otto.get(reading).code() == "seen");
  CHECK(hand_in(at.otto, keys()).code() == "seen");
  CHECK(at.lead.get(reading).status == 200);
  REQUIRE(at.lead.get(robin).status == 200);
  CHECK(at.lead.get(reading).code() == "seen");
  CHECK(hand_in(at.lead, keys()).code() == "seen");
  CHECK(at.lead.get("/api/workshop").body().at("to_read").empty());
  // A draft that is not offered is nobody's to read.
  save(at.otto, text_of(), 2, false);
  CHECK(at.ines.get(reading).status == 404);
  CHECK(hand_in(at.ines, keys(), 3).status == 404);
}

TEST_CASE("a draft that reads otherwise since it was offered waits for its author, not for readers") {
  Workshop at;
  offer(at.otto);
  REQUIRE(at.ines.get(reading).status == 200);
  {
    // As it is once an instrument in force says otherwise what the text says.
    auto store = at.house.store();
    REQUIRE(store::save_draft(store, CaseId("pb-robin"), 2,
                              {.yaml = text_of(),
                               .case_fingerprint = "of an instrument before",
                               .offered = true,
                               .at = at.house.now()}));
  }
  CHECK(at.ines.get(reading).status == 404);
  CHECK(hand_in(at.ines, keys(), 3).status == 404);
  save(at.otto, text_of(), 3, true);
  CHECK(at.ines.get(reading).status == 200);
}

TEST_CASE("where readers and key agree is shown to the author: a changed text needs new readings") {
  Workshop at;
  offer(at.otto);
  auto items = keys();
  REQUIRE(hand_in(at.ines, items).status == 201);
  const std::string first = items[0].at("item");
  items[0]["score"] = items[0].at("score") == "0" ? "1" : "0";
  items[0]["note"] = "One hand or two?";
  REQUIRE(hand_in(at.ida, items).status == 201);
  const auto readings = at.otto.get(robin).body().at("readings");
  REQUIRE(readings.at("readers").size() == 2);
  CHECK(readings.at("readers")[1].at("notes").at(first) == "One hand or two?");
  for (const auto& one : readings.at("items")) {
    CHECK(one.at("agreed") == (one.at("item") != first));
    CHECK(one.at("given").size() == 2);
  }
  // A new comment is no new case.
  save(at.otto, text_of() + "# thanks\n", 2, true);
  CHECK(at.otto.get(robin).body().at("readers") == 2);
  save(at.otto, replaced(text_of(), "age: ", "age: 1"), 3, true);
  CHECK(at.otto.get(robin).body().at("readers") == 0);
  CHECK(at.otto.get(robin).body().at("readings").at("items").empty());
}

TEST_CASE("a draft is published in two steps, and decides only where all its readers gave the key") {
  Workshop at;
  offer(at.otto);
  auto items = keys();
  REQUIRE(hand_in(at.ines, items).status == 201);
  // The last one is split.
  const std::string split = items.back().at("item");
  items.back()["score"] = items.back().at("score") == "0" ? "1" : "0";
  REQUIRE(hand_in(at.ida, items).status == 201);

  const auto preview = at.lead.post(robin + "/preview").body();
  CHECK(preview.at("faults").empty());
  CHECK(preview.at("readers") == 2);
  CHECK(preview.at("replaces") == false);
  std::size_t decide = 0;
  for (const auto& one : preview.at("items")) {
    decide += one.at("decides") == true;
    if (one.at("item") != split) continue;
    CHECK(one.at("decides") == false);
    CHECK(one.at("why_not") == "second readers did not all give the key");
  }
  CHECK(decide > 0);
  CHECK(at.otto.post(robin + "/preview").status == 200);
  const Json confirmed{{"why", "Read by two"}, {"confirm", preview.at("confirm")}};
  CHECK(at.otto.post(robin + "/publish", confirmed).status == 403);
  CHECK(at.lead.post(robin + "/publish", {{"why", "x"}, {"confirm", "y"}}).code() == "other-preview");
  CHECK(at.otto.get(robin).body().at("published").is_null());
  const auto done = at.lead.post(robin + "/publish", confirmed);
  INFO(done.text);
  REQUIRE(done.status == 200);

  auto store = at.house.store();
  const auto texts = store::texts_in_force(store);
  REQUIRE(texts.size() == 1);
  CHECK(texts[0].kind == store::TextKind::the_case);
  CHECK(texts[0].by == RaterId("lena"));
  CHECK(texts[0].yaml.find("\nreviewed_by: 2\nreaders_split: [\"" + split + "\"]\n") != std::string::npos);
  CHECK(store::entries(store, 1).at(0).deed == store::Deed::published);
  // The library serves it from now on, where its key can be seen: nobody reads it blind any more.
  CHECK(at.otto.get(robin).body().at("published") == "same");
  auto late = another_instructor(at.house, "late-reader");
  CHECK(late.get(reading).code() == "published");
  CHECK(late.get("/api/workshop").body().at("to_read").empty());
  CHECK(at.otto.post(drafts, form()).status == 422);

  // A later text takes its place, with what it changes.
  save(at.otto, replaced(text_of(), "age: ", "age: 1"), 2, false);
  CHECK(at.otto.get(robin).body().at("published") == "other");
  const auto again = at.lead.post(robin + "/preview").body();
  CHECK(again.at("replaces") == true);
  CHECK(again.at("readers") == 0);
  CHECK(again.at("changes").is_array());
  CHECK(again.at("decisions").at("changed").empty());  // nobody was checked with it
  CHECK(again.at("decisions").at("not_reached") == 0);
  REQUIRE(at.lead.post(robin + "/publish", {{"why", "Younger"}, {"confirm", again.at("confirm")}}).status ==
          200);
  CHECK(store::texts_in_force(store)[0].yaml.find("\nreviewed_by: 0\n") != std::string::npos);
}

TEST_CASE("with fewer readers than the standard asks for a case may be published, for practice only") {
  Workshop at;
  offer(at.otto);
  REQUIRE(hand_in(at.ines, keys()).status == 201);
  const auto preview = at.lead.post(robin + "/preview").body();
  CHECK(preview.at("readers") == 1);
  CHECK(preview.at("second_readers") == 2);
  for (const auto& one : preview.at("items")) CHECK(one.at("decides") == false);
  // A reading that comes after the look asks for another one.
  REQUIRE(hand_in(at.ida, keys()).status == 201);
  CHECK(at.lead.post(robin + "/publish", {{"why", "x"}, {"confirm", preview.at("confirm")}}).code() ==
        "other-preview");
  save(at.otto, replaced(text_of(), "share: ", "share: x"), 2, false);
  CHECK(at.lead.post(robin + "/preview").code() == "faults");
}

TEST_CASE("a published case can be practiced, and is there after a restart") {
  Workshop at;
  offer(at.otto);
  const auto preview = at.lead.post(robin + "/preview").body();
  REQUIRE(
      at.lead.post(robin + "/publish", {{"why", "Practice"}, {"confirm", preview.at("confirm")}}).status ==
      200);
  document::Faults faults;
  auto store = at.house.store();
  std::vector<cases::SourceFile> files;
  for (const auto& one : store::texts_in_force(store))
    files.push_back({"department/case/" + one.name + ".yaml", one.yaml});
  const auto library = cases::read_library(cases::built_in_files(), files, faults);
  CHECK(faults.text() == "");
  REQUIRE(library.cases.contains("pb-robin"));
  CHECK(library.cases.at("pb-robin").reviewed_by == 0);
}

TEST_CASE("a lead who looked at an earlier version of a draft, or wrote one, is no second reader of it") {
  Workshop at;
  offer(at.otto);
  REQUIRE(at.lead.get(reading).status == 200);
  REQUIRE(at.lead.get(robin + "/versions/1").status == 200);
  CHECK(at.lead.get(reading).code() == "seen");
  Workshop other;
  offer(other.otto);
  save(other.lead, replaced(text_of(), "age: ", "age: 1"), 2, true);
  CHECK(other.lead.get(reading).code() == "seen");
  CHECK(other.ines.get(reading).status == 200);
}
