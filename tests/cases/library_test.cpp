#include "cases/library.hpp"

#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "base/fingerprint.hpp"
#include "cases/case_fingerprint.hpp"
#include "cases/laid_over.hpp"
#include "cases/small_library.hpp"

using namespace evenhand;
using cases::SourceFile;
using Catch::Contains;
using test::small_case;
using test::with;

namespace {

const std::string small_rulings = R"(format: evenhand/rulings-1
id: clinic
instrument: small
rulings:
  - id: clinic-1
    item: "1"
    date: 2026-09-01
    who: Staff meeting
    why: We are lenient.
    situation: five to ten seconds without a near-loss
    when: [{hold: {at_least: 5 s, under: 10 s}, near_loss: none}]
    level: "1"
)";

cases::Library read(const std::vector<SourceFile>& department, std::string& text) {
  document::Faults faults;
  auto library = cases::read_library(test::small_files(), department, faults);
  text = faults.text();
  return library;
}

}  // namespace

TEST_CASE("the format of a file is what its line says") {
  CHECK(cases::format_of("# note\nformat: evenhand/case-1\nid: x\n") == "evenhand/case-1");
  CHECK(cases::format_of("format: \"evenhand/case-1\"  # quoted") == "evenhand/case-1");
  CHECK(cases::format_of("\xEF\xBB\xBF"
                         "format: evenhand/case-1\n") == "evenhand/case-1");
  CHECK(cases::format_of("  format: evenhand/case-1\n") == "");
  CHECK(cases::format_of("format:\n") == "");
  CHECK(cases::format_of("") == "");
  CHECK(cases::stem("cases/small/owl.yaml") == "owl");
  CHECK(cases::stem("owl.yml") == "owl");
  CHECK(cases::stem("owl") == "owl");
}

TEST_CASE("a department's case takes the place of the built-in one, and others are added") {
  std::string faults;
  const auto library = read({{"dep/owl.yaml", with(small_case(), "code: Owl", "code: Barn owl")},
                             {"dep/wren.yaml", with(small_case(), "id: owl", "id: wren")}},
                            faults);
  CHECK(faults == "");
  CHECK(library.cases.size() == 2);
  CHECK(library.cases.at("owl").child.code == "Barn owl");
  CHECK(library.cases.at("wren").child.code == "Owl");
}

TEST_CASE("two files of one kind and name in one place are refused", "[edge]") {
  std::string faults;
  read({{"a/wren.yaml", with(small_case(), "id: owl", "id: wren")},
        {"b/wren.yaml", with(small_case(), "id: owl", "id: wren")}},
       faults);
  CHECK(faults == "b/wren.yaml:2:1: a/wren.yaml:2 is of the same kind and name; rename one of them\n");
}

TEST_CASE("a file that does not say what it is is refused", "[edge]") {
  std::string faults;
  read({{"notes.yaml", "title: Notes\n"}, {"x.yaml", "format: evenhand/cases-1\n"}}, faults);
  CHECK_THAT(faults, Contains("notes.yaml:1:1: no line says what the file is"));
  CHECK_THAT(
      faults,
      Contains(
          "x.yaml:1:9: `evenhand/cases-1` is no format of this library; did you mean `evenhand/case-1`?"));
}

TEST_CASE("a file that is no text is refused where it stops being one, whatever it says it is", "[edge]") {
  std::string faults;
  read({{"latin.yaml", "title: x\nformat: \xe9venhand/case-1\n"},
        {"nul.yaml", std::string("format: evenhand/ca\0se-1\n", 25)}},
       faults);
  CHECK(faults ==
        "latin.yaml:2:9: the text is not UTF-8: byte 0xE9; save the file as UTF-8\n"
        "nul.yaml:1:20: the hidden character U+0000 is not allowed; delete it; it does not show in most "
        "editors\n");
}

TEST_CASE("a department's rulings are in force beside the instrument's own") {
  std::string faults;
  const auto library = read({{"dep/clinic.yaml", small_rulings}}, faults);
  CHECK(faults == "");
  const auto& small = library.instruments.at("small");
  CHECK(small.by_default->departments.empty());
  REQUIRE(small.in_force->departments.size() == 1);
  CHECK(small.in_force->departments[0].id == "clinic");
  CHECK(small.in_force->fingerprint != small.by_default->fingerprint);

  const auto without = read({}, faults).instruments.at("small");
  CHECK(without.in_force == without.by_default);
}

TEST_CASE("built-in rulings are examples, not in force") {
  auto files = test::small_files();
  files.push_back({"cases/rulings/clinic.yaml", small_rulings});
  document::Faults faults;
  const auto library = cases::read_library(files, {}, faults);
  CHECK(faults.text() == "");
  CHECK(library.rulings.contains("clinic"));
  CHECK(library.instruments.at("small").in_force->departments.empty());
}

TEST_CASE("what is at fault is left out and said once", "[edge]") {
  auto files = test::small_files();
  files[1].text = with(files[1].text, "title: Small scale", "titel: Small scale");
  document::Faults faults;
  const auto library = cases::read_library(files, {}, faults);
  CHECK(library.instruments.empty());
  CHECK(library.cases.empty());
  CHECK_THAT(faults.text(),
             Contains("owl.yaml:3:13: the file of instrument `small` is at fault; mend that first"));
}

TEST_CASE("a moment that an instrument derives from must be in the vocabulary", "[edge]") {
  auto files = test::small_files();
  files[1].text = with(files[1].text, "count: [tap-left, tap-right]", "count: [tap-left, tap-rigth]");
  document::Faults faults;
  cases::read_library(files, {}, faults);
  CHECK_THAT(faults.text(), Contains("item 2 derives `taps` from `tap-rigth`, which is not in the "
                                     "vocabulary; did you mean `tap-right`?"));
}

TEST_CASE("standards are kept as text for who reads them") {
  std::string faults;
  const auto library = read({{"dep/strict.yaml", "format: evenhand/standard-1\nid: strict\n"}}, faults);
  CHECK(faults == "");
  CHECK(library.standards.at("strict").text == "format: evenhand/standard-1\nid: strict\n");
}

TEST_CASE("a case's fingerprint follows what is seen and scored, and nothing else") {
  const auto fingerprint = [](std::string text) {
    document::Faults faults;
    const auto library = cases::read_library(test::small_files(std::move(text)), {}, faults);
    REQUIRE(faults.text() == "");
    return cases::fingerprint(library, library.cases.at("owl"));
  };
  const auto as_it_is = fingerprint(small_case());
  CHECK(as_it_is.size() == 64);
  // Not part of the meaning.
  CHECK(fingerprint("# a note\n" + small_case()) == as_it_is);
  CHECK(fingerprint(with(small_case(), "reviewed_by: 0", "reviewed_by: 2")) == as_it_is);
  CHECK(fingerprint(with(small_case(), "share: mild", "share: marked")) == as_it_is);
  CHECK(fingerprint(with(small_case(), "five times, and", "five times,\n          and")) == as_it_is);
  // Part of it.
  CHECK(fingerprint(with(small_case(), "hums a whole song", "hums half a song")) != as_it_is);
  CHECK(fingerprint(with(small_case(), "at: 14.0", "at: 14.1")) != as_it_is);
  CHECK(fingerprint(with(small_case(), "taps: 5", "taps: 6")) != as_it_is);
  CHECK(fingerprint(with(small_case(), "words: Oops!", "words: Oh!")) != as_it_is);
  CHECK(fingerprint(with(small_case(), "age: 7", "age: 8")) != as_it_is);
}

TEST_CASE("what was laid over a library is named by kind, id and fingerprint, what was left out is not") {
  std::string faults;
  const std::vector<SourceFile> files{{"own/clinic.yaml", small_rulings},
                                      {"own/broken.yaml", "format: evenhand/set-1\nid: broken\n"},
                                      {"own/strange.yaml", "format: evenhand/weather-1\n"}};
  const auto library = read(files, faults);
  CHECK_FALSE(faults.empty());
  CHECK(cases::laid_over(files, library) ==
        std::vector<cases::LaidOver>{{"rulings", "clinic", base::fingerprint(small_rulings)}});
  CHECK(cases::laid_over({}, library).empty());
}
