#include "document/fields.hpp"

#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "document/yaml.hpp"

using namespace evenhand::document;

namespace {

Value parse(std::string_view text) {
  Faults faults;
  auto value = read_yaml(text, "f", faults);
  INFO(faults.text());
  REQUIRE(faults.empty());
  return *std::move(value);
}

// The faults of reading `x` with the given reader.
template <class Reader>
std::string faults_of(std::string_view x, Reader reader) {
  const Value value = parse("x: " + std::string(x) + "\n");
  Faults faults;
  Fields fields(value, "a test", faults);
  CHECK_FALSE(reader(fields).has_value());
  fields.finish();
  return faults.text();
}

template <class Reader>
auto value_of(std::string_view x, Reader reader) {
  const Value value = parse("x: " + std::string(x) + "\n");
  Faults faults;
  Fields fields(value, "a test", faults);
  auto result = reader(fields);
  fields.finish();
  CHECK(faults.text().empty());
  return result;
}

const auto integer = [](Fields& f) { return f.integer("x"); };
const auto number = [](Fields& f) { return f.number("x"); };
const auto yes_no = [](Fields& f) { return f.yes_no("x"); };
const auto text = [](Fields& f) { return f.text("x"); };
const auto identifier = [](Fields& f) { return f.identifier("x"); };
const auto seconds = [](Fields& f) { return f.quantity("x", Unit::second); };
const auto texts = [](Fields& f) { return f.texts("x"); };

enum class Mode { practice, check };
const auto mode = [](Fields& f) {
  return f.choice<Mode>("x", {{"practice", Mode::practice}, {"skills-check", Mode::check}});
};

}  // namespace

TEST_CASE("each kind of field is read") {
  CHECK(value_of("4", integer) == 4);
  CHECK(value_of("-4", integer) == -4);
  CHECK(value_of("0", integer) == 0);
  CHECK(value_of("-0.5", number) == -0.5);
  CHECK(value_of("12", number) == 12.0);
  CHECK(value_of("yes", yes_no) == true);
  CHECK(value_of("false", yes_no) == false);
  CHECK(value_of("010", text) == "010");
  CHECK(value_of("stand-on-one-leg", identifier) == "stand-on-one-leg");
  CHECK(value_of("14", identifier) == "14");
  CHECK(value_of("1.5 min", seconds) == 90.0);
  CHECK(value_of("\"30 s\"", seconds) == 30.0);
  CHECK(value_of("[a, 'b c', 3]", texts) == std::vector<std::string>{"a", "b c", "3"});
  CHECK(value_of("skills-check", mode) == Mode::check);
}

TEST_CASE("whole numbers are plain decimals", "[edge]") {
  CHECK(faults_of("010", integer) == "f:1:4: `x` is `010`, which some programs read as octal; write `10`\n");
  CHECK(faults_of("-00", integer) == "f:1:4: `x` is `-00`, which some programs read as octal; write `-0`\n");
  CHECK(faults_of("1e3", integer) ==
        "f:1:4: `x` is `1e3`, which is no whole number; write a whole number such as `4`\n");
  CHECK(faults_of("\"4\"", integer) ==
        "f:1:4: `x` is text in quotes; write a whole number such as `4` without quotes\n");
  CHECK(faults_of("99999999999999999999", integer).find("too large") != std::string::npos);
  CHECK(faults_of("[4]", integer) == "f:1:4: `x` is a list; write a whole number such as `4`\n");
  CHECK(faults_of("", integer) == "f:1:1: `x` is empty; write its value\n");
  for (const auto* bad : {"+1", "0x1F", "1_000", "1.0", "yes", "4 5", "0o7", "1,000"})
    CHECK(faults_of(bad, integer).find("no whole number") != std::string::npos);
}

TEST_CASE("numbers may have a range, which the fault names", "[edge]") {
  const auto percent = [](Fields& f) { return f.number("x", Need::required, {.least = 0, .most = 1}); };
  const auto count = [](Fields& f) { return f.integer("x", Need::required, {.least = 1}); };
  const auto few = [](Fields& f) { return f.integer("x", Need::required, {.most = 9}); };
  CHECK(value_of("1", percent) == 1.0);
  CHECK(value_of("1", count) == 1);
  CHECK(faults_of("1.5", percent) ==
        "f:1:4: `x` is 1.5, which is out of range; write a number from 0 to 1\n");
  CHECK(faults_of("0", count) == "f:1:4: `x` is 0, which is out of range; write at least 1\n");
  CHECK(faults_of("10", few) == "f:1:4: `x` is 10, which is out of range; write at most 9\n");
}

TEST_CASE("decimal numbers are plain and finite", "[edge]") {
  CHECK(faults_of("1e3", number) ==
        "f:1:4: `x` is `1e3`, which is no plain number; write a plain decimal number such as `0.5`\n");
  for (const auto* bad : {".inf", "nan", ".5", "5.", "1,5", "+1", "0x1", "1 2", "--1"})
    CHECK(faults_of(bad, number).find("no plain number") != std::string::npos);
  CHECK(faults_of(std::string(400, '9'), number).find("no plain number") != std::string::npos);
}

TEST_CASE("other kinds say what would be right", "[edge]") {
  CHECK(faults_of("Yes", yes_no) == "f:1:4: `x` is `Yes`; write `yes` or `no`\n");
  CHECK(faults_of("1", yes_no) == "f:1:4: `x` is `1`; write `yes` or `no`\n");
  CHECK(faults_of("'yes'", yes_no) == "f:1:4: `x` is text in quotes; write `yes` or `no` without quotes\n");
  CHECK(faults_of("{a: 1}", text) == "f:1:4: `x` is a mapping; write a text\n");
  CHECK(faults_of("'  '", text) == "f:1:4: `x` is an empty text; write a text\n");
  CHECK(faults_of("30", seconds) == "f:1:4: `x`: `30` has no unit; write `30 s` if seconds are meant\n");
  CHECK(faults_of("one", texts) == "f:1:4: `x` is text; write a list of texts: `[one, another]`\n");
  CHECK(faults_of("practise", mode) ==
        "f:1:4: `x` is `practise`; did you mean `practice`? write `practice` or `skills-check`\n");
  CHECK(faults_of("elsewhere", mode) == "f:1:4: `x` is `elsewhere`; write `practice` or `skills-check`\n");
  for (const auto* bad : {"Stand", "a_b", "-a", "a-", "a--b", "a b", "\u00E9"})
    CHECK(faults_of(bad, identifier).find("no identifier") != std::string::npos);
  CHECK(faults_of(std::string(65, 'a'), identifier).find("no identifier") != std::string::npos);
}

TEST_CASE("items of a list that are no text are faults and left out", "[edge]") {
  const Value value = parse("x: [a, [b], ~, c]\n");
  Faults faults;
  Fields fields(value, "a test", faults);
  CHECK(fields.texts("x") == std::vector<std::string>{"a", "c"});
  CHECK(faults.text() ==
        "f:1:8: an item of `x` is a list; write a text\nf:1:13: an item of `x` is empty; write a text\n");
}

TEST_CASE("absent keys are faults only when they are required") {
  const Value value = parse("a: 1\nb:\n");
  Faults faults;
  Fields fields(value, "a set", faults);
  CHECK_FALSE(fields.text("title").has_value());
  CHECK_FALSE(fields.text("note", Need::optional).has_value());
  CHECK_FALSE(fields.text("b", Need::optional).has_value());
  CHECK(fields.value("b")->is_null());
  CHECK_FALSE(fields.has("c"));
  CHECK(fields.has("a"));
  CHECK(fields.key_at("b").line == 2);
  CHECK(fields.key_at("c").line == 1);
  fields.finish();
  CHECK(faults.text() ==
        "f:1:1: a set has no `title`; add `title: ...`\nf:2:1: `b` is empty; write its value, or leave the "
        "key out\n");
}

TEST_CASE("unknown keys are offered the nearest known one, or the list", "[edge]") {
  const Value value = parse("titel: a\nphotograph: b\nlevels: [1]\n");
  Faults faults;
  Fields fields(value, "a set", faults);
  fields.text("title", Need::optional);
  fields.items("levels");
  fields.finish();
  CHECK(faults.text() ==
        "f:1:1: a set has no key `titel`; did you mean `title`?\n"
        "f:2:1: a set has no key `photograph`; the keys here are `title`, `levels`\n");
}

TEST_CASE("what is no mapping is one fault, however much is asked of it", "[edge]") {
  const Value value = parse("- a\n");
  Faults faults;
  Fields fields(value, "a set", faults);
  CHECK_FALSE(static_cast<bool>(fields));
  CHECK_FALSE(fields.format("evenhand/set-1"));
  CHECK_FALSE(fields.text("title").has_value());
  CHECK(fields.items("x").empty());
  CHECK(fields.mapping("x") == nullptr);
  fields.finish();
  CHECK(faults.text() == "f:1:1: a set is a list; write a mapping: lines of `key: value`\n");
}

TEST_CASE("the format of a file is checked") {
  const Value value = parse("format: evenhand/case-1\n");
  Faults faults;
  Fields fields(value, "a set", faults);
  CHECK(fields.format("evenhand/case-1"));
  CHECK(faults.empty());
  CHECK_FALSE(fields.format("evenhand/set-1"));
  CHECK(faults.text() ==
        "f:1:9: the format is `evenhand/case-1`; write `format: evenhand/set-1` if this is a set\n");
}

TEST_CASE("lists and mappings inside are handed on, other kinds are faults") {
  const Value value = parse("m: {a: 1}\nl: [1, 2]\n");
  Faults faults;
  Fields fields(value, "a set", faults);
  REQUIRE(fields.mapping("m") != nullptr);
  CHECK(fields.items("l").size() == 2);
  CHECK(fields.mapping("l") == nullptr);
  CHECK(fields.items("m").empty());
  CHECK(faults.text() ==
        "f:1:4: `m` is a mapping; write a list: items that begin with `- `, or `[...]`\n"
        "f:2:4: `l` is a list; write a mapping: indented lines of `key: value`\n");
}

TEST_CASE("every fault of a mapping is found in one run") {
  const Value value = parse("a: 010\nb: maybe\nc: 30\nd: x\n");
  Faults faults;
  Fields fields(value, "a test", faults);
  fields.integer("a");
  fields.yes_no("b");
  fields.quantity("c", Unit::second);
  fields.text("e");
  fields.finish();
  CHECK(faults.size() == 5);
}
