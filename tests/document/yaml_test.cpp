#include "document/yaml.hpp"

#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "base/random.hpp"

using namespace evenhand::document;

namespace {

struct Read {
  std::optional<Value> value;
  std::string faults;
};

Read read(std::string_view text, const YamlLimits& limits = {}) {
  Faults faults;
  auto value = read_yaml(text, "f", faults, limits);
  return {std::move(value), faults.text()};
}

const Value& at(const Read& read, std::string_view key) {
  REQUIRE(read.value.has_value());
  const Value* found = read.value->find(key);
  REQUIRE(found != nullptr);
  return *found;
}

std::string place(const Location& at) { return std::to_string(at.line) + ":" + std::to_string(at.column); }

std::string repeated(std::string_view piece, std::size_t bytes) {
  std::string out;
  while (out.size() + piece.size() <= bytes) out += piece;
  return out;
}

bool contains(const std::string& text, std::string_view piece) {
  return text.find(piece) != std::string::npos;
}

}  // namespace

TEST_CASE("a document becomes a tree that knows its places") {
  const auto r = read("title: stand\nlevels:\n  - 4\n  - {is: \"3\", if: yes}\nnote: |\n  two\n  lines\n");
  CHECK(r.faults.empty());
  REQUIRE(r.value->is_mapping());
  REQUIRE(r.value->entries().size() == 3);
  CHECK(r.value->entries()[1].key == "levels");
  CHECK(place(r.value->entries()[1].key_at()) == "2:1");
  CHECK(at(r, "title").text() == "stand");
  CHECK(place(at(r, "title").at()) == "1:8");
  CHECK(at(r, "title").at().file == "f");
  const auto items = at(r, "levels").items();
  REQUIRE(items.size() == 2);
  CHECK(place(items[1].at()) == "4:5");
  CHECK(items[1].find("is")->text() == "3");
  CHECK(items[1].find("is")->quoted());
  CHECK(place(items[1].find("if")->at()) == "4:19");
  CHECK_FALSE(items[1].find("if")->quoted());
  CHECK(at(r, "note").text() == "two\nlines\n");
  CHECK(at(r, "note").quoted());
  CHECK(r.value->find("absent") == nullptr);
}

TEST_CASE("examples of the YAML 1.2.2 specification read as it says", "[reference]") {
  // Chapter 2, examples 2.1, 2.2, 2.15 and 2.17; yaml.org/spec/1.2.2.
  CHECK(read("- Mark McGwire\n- Sammy Sosa\n- Ken Griffey\n").value->items()[2].text() == "Ken Griffey");
  CHECK(at(read("hr:  65    # Home runs\navg: 0.278 # Batting average\n"), "avg").text() == "0.278");
  CHECK(read(">\n Sammy Sosa completed another\n fine season with great stats.\n\n   63 Home Runs\n")
            .value->text() ==
        "Sammy Sosa completed another fine season with great stats.\n\n  63 Home Runs\n");
  const auto quoted = read("unicode: \"Sosa did fine.\\u263A\"\nquoted: ' # Not a ''comment''.'\n");
  CHECK(at(quoted, "unicode").text() == "Sosa did fine.\u263A");
  CHECK(at(quoted, "quoted").text() == " # Not a 'comment'.");
}

TEST_CASE("columns count characters, and a byte-order mark and CRLF move nothing") {
  const auto r = read(
      "\xEF\xBB\xBF"
      "n\u00E4me: \u00FC\r\nb\u00F6: {\u00E9: [x]}\r\n");
  CHECK(r.faults.empty());
  CHECK(place(at(r, "n\u00E4me").at()) == "1:7");
  CHECK(place(at(r, "b\u00F6").at()) == "2:5");
  CHECK(place(at(r, "b\u00F6").find("\u00E9")->items()[0].at()) == "2:10");
}

TEST_CASE("nothing is told from empty text, and stands where it was left out") {
  const auto r = read("a:\nb: ~\nc: null\nd: ''\ne:\n  -\n  - ~\n  - x\n");
  CHECK(r.faults.empty());
  CHECK(at(r, "a").is_null());
  CHECK(place(at(r, "a").at()) == "1:1");
  CHECK(at(r, "b").is_null());
  CHECK(place(at(r, "b").at()) == "2:4");
  CHECK(at(r, "c").is_null());
  CHECK_FALSE(at(r, "d").is_null());
  CHECK(at(r, "d").text().empty());
  CHECK(place(at(r, "e").items()[0].at()) == "6:3");
  CHECK(place(at(r, "e").items()[1].at()) == "7:5");
}

TEST_CASE("places stay right after a value that was left out") {
  const auto r = read("a: [1,   , 2]\nb:\n-\n- - x\n  -\n  - y\n");
  CHECK(r.faults.empty());
  const auto a = at(r, "a").items();
  REQUIRE(a.size() == 3);
  CHECK(place(a[1].at()) == "1:6");
  CHECK(place(a[2].at()) == "1:12");
  const auto b = at(r, "b").items();
  REQUIRE(b.size() == 2);
  CHECK(place(b[0].at()) == "3:1");
  CHECK(place(b[1].items()[1].at()) == "5:3");
  CHECK(place(b[1].items()[2].at()) == "6:5");
}

TEST_CASE("scalars keep the text of the file: no octal, no exponent, no yes") {
  const auto r = read("a: 010\nb: 1e3\nc: yes\nd: 0x10\n");
  CHECK(at(r, "a").text() == "010");
  CHECK(at(r, "b").text() == "1e3");
  CHECK(at(r, "c").text() == "yes");
  CHECK(at(r, "d").text() == "0x10");
}

TEST_CASE("a repeated key is a fault that names both lines", "[edge]") {
  const auto r = read("a: 1\nb: 2\n'a': 3\nc: {x: 1, x: 2}\n");
  CHECK(r.faults ==
        "f:3:1: the key `a` stands on line 1 and again on line 3; keep one of the two\n"
        "f:4:11: the key `x` stands on line 4 and again on line 4; keep one of the two\n");
  CHECK(at(r, "a").text() == "1");
}

TEST_CASE("anchors, aliases and tags are refused, each where it stands", "[edge]") {
  const auto r = read("a: &x 1\nb: *x\nc: !!int 3\nd: ! 4\ne: !own {f: 1}\n");
  CHECK(r.faults ==
        "f:1:4: anchors (`&name`) are not allowed; leave the anchor out\n"
        "f:2:4: aliases (`*name`) are not allowed; write the value out\n"
        "f:3:4: tags (`!name`) are not allowed; leave the tag out\n"
        "f:4:4: tags (`!name`) are not allowed; leave the tag out\n"
        "f:5:4: tags (`!name`) are not allowed; leave the tag out\n");
  CHECK(r.value.has_value());
}

TEST_CASE("an alias bomb is no bomb", "[edge]") {
  std::string bomb = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n";
  for (int i = 1; i < 10; ++i) {
    const std::string last = "*a" + std::to_string(i - 1);
    bomb += "a" + std::to_string(i) + ": &a" + std::to_string(i) + " [" + last;
    for (int j = 0; j < 8; ++j) bomb += ", " + last;
    bomb += "]\n";
  }
  const auto r = read(bomb);
  CHECK(contains(r.faults, "f:2:10: aliases"));
  CHECK(at(r, "a9").items().size() == 9);
  CHECK(at(r, "a9").items()[8].is_null());
}

TEST_CASE("keys must be texts", "[edge]") {
  const auto r = read("? [a, b]\n: 1\n{c: d}: 2\n: 3\ngood: 4\n");
  CHECK(contains(r.faults, "f:1:3: a list or mapping cannot be a key; write a plain text as the key\n"));
  CHECK(contains(r.faults, "f:3:1: a list or mapping cannot be a key"));
  CHECK(contains(r.faults, "f:4:1: a key is missing before the colon; write the key\n"));
  REQUIRE(r.value->entries().size() == 1);
  CHECK(at(r, "good").text() == "4");
}

TEST_CASE("a second document is a fault", "[edge]") {
  CHECK(read("a: 1\n---\nb: 2\n").faults == "f:2:1: a second document begins; keep one document a file\n");
  CHECK(read("---\na: 1\n...\n").faults.empty());
}

TEST_CASE("an empty file is a fault", "[edge]") {
  for (const auto* text : {"", "\n\n", "# only a comment\n", "\xEF\xBB\xBF"}) {
    const auto r = read(text);
    CHECK_FALSE(r.value.has_value());
    CHECK(r.faults == "f:1:1: the file is empty; write at least one key and its value\n");
  }
}

TEST_CASE("what is no YAML is a fault with line, column and a mend", "[edge]") {
  const auto fault = [](std::string_view text) {
    const auto r = read(text);
    CHECK_FALSE(r.value.has_value());
    return r.faults;
  };
  CHECK(fault("a: 1\nb: c: d\n") ==
        "f:2:5: this is not YAML: illegal map value; a text that contains a colon and a blank must stand in "
        "quotes\n");
  CHECK(contains(fault("a: [1, 2\nb: 3\n"), "close the `[` with `]`"));
  CHECK(contains(fault("a: {b: 1\n"), "close the `{` with `}`"));
  CHECK(fault("a: \"open") == "f:1:9: this is not YAML: illegal EOF in scalar; close the quote\n");
  CHECK(contains(fault("a:\n  b: 1\n c: 2\n"), "f:3:"));
  CHECK(contains(fault("a: 1\na: 2\n- b\n"), "f:2:1: the key `a` stands on line 1"));
}

TEST_CASE("a quote that is never closed does not swallow the rest of the file", "[edge]") {
  // yaml-cpp 0.7.0 takes these when a line feed comes last.
  for (const auto* text : {"a: 1\nb: \"open\nc: 3\n", "a: 1\nb: 'it''s\nc: 3\n", "a: 1\nb: \"x\\\"\nc: 3\n"})
    CHECK(read(text).faults == "f:2:4: the quote that opens here is never closed; close the quote\n");
  CHECK(at(read("b: 'it''s'\n"), "b").text() == "it's");
  CHECK(at(read("b: \"x\\\"\"\n"), "b").text() == "x\"");
  CHECK(at(read("b: |\n  \"x\n"), "b").text() == "\"x\n");
}

TEST_CASE("text that is not UTF-8 or holds hidden characters is refused with its place", "[edge]") {
  CHECK(read("a: 1\nb: \xFC\n").faults ==
        "f:2:4: the text is not UTF-8: byte 0xFC; save the file as UTF-8\n");
  CHECK(contains(read(std::string_view("a: 1\nb: \0\n", 10)).faults, "f:2:4: the hidden character U+0000"));
  CHECK(contains(read("a: x\u202Ey\nb: \u2066\n").faults, "f:1:5: the hidden character U+202E"));
  CHECK(contains(read("a: x\u202Ey\nb: \u2066\n").faults, "f:2:4: the hidden character U+2066"));
  CHECK(contains(read("a: 1\u0085").faults, "U+0085"));
  CHECK(read("a: 1\rb: 2\r").faults ==
        "f:1:5: a carriage return without a line feed; save the file with LF or CRLF line ends\n"
        "f:1:10: a carriage return without a line feed; save the file with LF or CRLF line ends\n");
  CHECK(contains(read("a: 1\nb: \"\\u202e\"\n").faults,
                 "f:2:4: the text contains the hidden character U+202E"));
  CHECK(contains(read("\"\\0\": 1\n").faults, "f:1:1: the text contains the hidden character U+0000"));
}

TEST_CASE("limits hold at their number and not before", "[edge]") {
  CHECK(read("a: 1\n", {.bytes = 5}).faults.empty());
  CHECK(read("a: 1\n", {.bytes = 4}).faults ==
        "f:1:5: the file has 5 bytes; split it: 4 bytes are allowed\n");
  CHECK(read("[[1]]", {.depth = 2}).faults.empty());
  CHECK(contains(read("[[[1]]]", {.depth = 2}).faults,
                 "f:1:3: more than 2 lists and mappings inside one another"));
  CHECK(read("[1, 2]", {.nodes = 3}).faults.empty());
  CHECK(contains(read("[1, 2, 3]", {.nodes = 3}).faults, "f:1:8: more than 3 values"));
  CHECK(read("a: four", {.scalar = 4}).faults.empty());
  CHECK(contains(read("a: fives", {.scalar = 4}).faults, "f:1:4: a text of 5 bytes is too long"));
}

TEST_CASE("two megabytes made to exhaust a parser are refused", "[edge]") {
  constexpr std::size_t size = std::size_t{2} << 20;
  for (const auto* piece : {"[", "{a,", "{a: ", "[,", "\"", "a", "#"}) {
    const auto r = read(repeated(piece, size));
    INFO(piece);
    CHECK_FALSE(r.value.has_value());
    CHECK(contains(r.faults, "f:1:1: what begins here goes on for more than 131072 bytes"));
  }
  for (const auto* piece : {"- ", "? "})
    CHECK(contains(read(repeated(piece, size)).faults, "f:1:33: more than 16 lists"));
  CHECK(contains(read(repeated("- a\n", size)).faults, "f:200000:3: more than 200000 values"));
}

TEST_CASE("a long file of small values is no burden") {
  const auto r = read(repeated("- {child: c1, seconds: 30 s, arms: no}\n", 1 << 19));
  CHECK(r.faults.empty());
  CHECK(r.value->items().size() == (1 << 19) / 39);
  CHECK(r.value->items().back().at().line == (1 << 19) / 39);
}

TEST_CASE("no input crashes the reader: it gives a tree or a fault", "[property]") {
  evenhand::base::Random random(20261125);
  const std::vector<std::string> pieces{
      "a",     "b: ",   "- ",          "[", "]",       "{",        "}",   ",",    ": ",   "? ",
      "\n",    "  ",    "\"",          "'", "|\n",     ">-\n",     "&x ", "*x",   "!t ",  "#",
      "---\n", "...\n", "%YAML 1.2\n", "~", "\\u202e", "\xC3\xA9", "\t",  "\r\n", "<<: ", "010"};
  int trees = 0;
  for (int n = 0; n < 10'000; ++n) {
    std::string text;
    const std::size_t length = random.index(60);
    const bool from_pieces = random.chance(0.7);
    for (std::size_t i = 0; i < length; ++i)
      from_pieces ? text += pieces[random.index(pieces.size())]
                  : text += static_cast<char>(random.index(256));
    const auto r = read(text);
    INFO(text);
    const bool either = r.value.has_value() || !r.faults.empty();
    REQUIRE(either);
    trees += r.value.has_value() ? 1 : 0;
  }
  CHECK(trees > 100);  // otherwise the inputs try little
}
