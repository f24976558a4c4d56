#include <catch2/catch.hpp>

#include "scores/read_long.hpp"

using namespace evenhand;
using namespace evenhand::scores;

namespace {

std::string print(const std::string& text) {
  const auto read = read_long(text, "s.csv");
  INFO((read ? std::string() : read.error().text()));
  REQUIRE(read);
  return fingerprint(read->table);
}

const std::string full =
    "rater,case,item,trial,score,status,seconds,at,case_version,round,sitting,obs.a,obs.b\n"
    "ann,c,1,2,3,skip-rule,9.4,2026-09-01T08:30:00Z,v,r,s,x,y\n";

}  // namespace

TEST_CASE("the fingerprint is the SHA-256 of the canonical rows", "[reference]") {
  // python3: hashlib.sha256(b"evenhand scores 2" b"\0" b"\0" b"\1\3ann" b"\1\1c" b"\0" b"\1\0013"
  //   b"\0\1" b"\0\1" b"\1\1" b"\1\1" b"\0\1" b"\0\1" b"\1\1" b"\0\1" b"---" b"\0").hexdigest()
  CHECK(print("rater,case,score\nann,c,3\n") ==
        "ff959ab0a55b4cf996ade5fb81fde75b19bb3ab3f36d9ddce963cfaa63610479");
}

TEST_CASE("order of rows and columns, separators and ways to write a number leave the fingerprint alone",
          "[property]") {
  const auto one = print("rater,case,score,obs.a,obs.b\nann,c,2.5,x,\nben,c,3,,y\n");
  CHECK(one == print("obs.b;case;obs.a;score;rater\r\ny;c;;3,0;ben\r\n;c;x;2,5;ann\r\n"));
}

TEST_CASE("the order of columns for what was written down does not count, what stands in them does",
          "[property]") {
  CHECK(print("rater,case,score,obs.a,obs.b\nann,c,1,x,y\n") ==
        print("rater,case,score,obs.b,obs.a\nann,c,1,y,x\n"));
  CHECK(print("rater,case,score,obs.a,obs.b\nann,c,1,x,y\n") !=
        print("rater,case,score,obs.a,obs.b\nann,c,1,y,x\n"));
}

TEST_CASE("every field of a row counts", "[property]") {
  const auto before = print(full);
  for (const auto& [from, to] :
       std::vector<std::pair<std::string, std::string>>{{"ann", "ben"},
                                                        {",c,1", ",d,1"},
                                                        {",c,1", ",c,2"},
                                                        {",2,3,", ",1,3,"},
                                                        {",2,3,", ",2,4,"},
                                                        {"skip-rule", "observed"},
                                                        {"9.4", "9.5"},
                                                        {"08:30:00Z", "08:30:00.001Z"},
                                                        {",v,", ",w,"},
                                                        {",r,s", ",q,s"},
                                                        {",r,s", ",r,t"},
                                                        {",x,y", ",y,x"},
                                                        {"obs.a", "obs.c"}}) {
    std::string changed = full;
    changed.replace(changed.find(from), from.size(), to);
    INFO(changed);
    CHECK(print(changed) != before);
    CHECK_FALSE(read_long(changed, "s.csv")->table == read_long(full, "s.csv")->table);
  }
}
