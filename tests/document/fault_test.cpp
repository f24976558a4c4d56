#include "document/fault.hpp"

#include <string>

#include <catch2/catch.hpp>

using evenhand::document::Fault;
using evenhand::document::Faults;
using evenhand::document::Location;
using evenhand::document::to_string;

TEST_CASE("a fault is one line: where, what, and the mend") {
  CHECK(to_string(Fault{{"a.yaml", 3, 7}, "`lvel` is unknown", "did you mean `level`?"}) ==
        "a.yaml:3:7: `lvel` is unknown; did you mean `level`?");
  CHECK(to_string(Fault{{"a.yaml", 3, 0}, "odd", ""}) == "a.yaml:3: odd");
  CHECK(to_string(Fault{{"a.yaml", 0, 0}, "the file is empty", ""}) == "a.yaml: the file is empty");
}

TEST_CASE("faults are listed by file, line and column, equals in the order they came") {
  Faults faults;
  CHECK(faults.empty());
  CHECK(faults.text().empty());
  faults.add({"b", 1, 1}, "fourth");
  faults.add({"a", 10, 1}, "third");
  faults.add({"a", 2, 9}, "first");
  faults.add({"a", 2, 9}, "second");
  CHECK(faults.size() == 4);
  CHECK(faults.text() == "a:2:9: first\na:2:9: second\na:10:1: third\nb:1:1: fourth\n");
  CHECK(faults.all().back().what == "fourth");
  CHECK(faults.error().message == "a:2:9: first\na:2:9: second\na:10:1: third\nb:1:1: fourth");
  CHECK(faults.error().code == evenhand::Errc::invalid);
}

TEST_CASE("of thousands of faults two hundred a file are kept and the rest is counted", "[edge]") {
  Faults faults;
  for (int line = 1; line <= 5000; ++line) faults.add({"a", line, 1}, "odd");
  for (int line = 1; line <= 201; ++line) faults.add({"b", line, 1}, "odd");
  CHECK(faults.size() == 5201);
  CHECK(faults.all().size() == 2 * Faults::most_per_file);
  CHECK(faults.text().find("a:200:1: odd\na: 4800 more faults are not listed\nb:1:1") != std::string::npos);
  CHECK(faults.text().find("b: 1 more fault is not listed\n") != std::string::npos);
}
