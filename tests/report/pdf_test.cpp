// What the PDF shows is looked at in tests/cli/paper_test.py, with the tools of poppler and qpdf.
#include "report/pdf.hpp"

#include <chrono>

#include <catch2/catch.hpp>

#include "report/child_process.hpp"

using namespace evenhand;
using namespace evenhand::report;
using namespace std::chrono_literals;

namespace {

std::string page_with(const std::string& body) {
  return "<!DOCTYPE html><html lang=\"en\"><head><title>A page</title></head><body>" + body +
         "</body></html>";
}

const PageMarks marks{"A <page> \"of\" tests", "evenhand 1.2.3", "0123456789abcdef0123456789abcdef"};

}  // namespace

TEST_CASE("a page becomes a PDF, and the same page the same bytes") {
  const auto once = pdf_of(page_with("<h1>One</h1><p>Two</p>"), marks);
  INFO((once ? std::string() : once.error().message));
  REQUIRE(once);
  CHECK(once->starts_with("%PDF-1.7"));
  CHECK(*once == pdf_of(page_with("<h1>One</h1><p>Two</p>"), marks).value());
}

TEST_CASE("a PDF is made of nothing but the page", "[edge]") {
  for (const char* outside :
       {R"(<img src="http://127.0.0.1:9/x.png" alt="">)", R"(<img src="file:///etc/hostname" alt="">)",
        R"(<link rel="stylesheet" href="/etc/hostname">)",
        R"_(<p style="background: url(//localhost/x)">a</p>)_",
        R"(<style>@import "http://127.0.0.1:9/x.css";</style>)",
        R"(<svg width="9" height="9"><image href="http://127.0.0.1:9/x.png" width="9" height="9"/></svg>)"}) {
    INFO(outside);
    const auto made = pdf_of(page_with(outside), marks);
    REQUIRE_FALSE(made);
    CHECK(made.error().code == Errc::invalid);
    CHECK(made.error().message.find("not part of the report") != std::string::npos);
  }
}

TEST_CASE("without WeasyPrint the error says how to install it", "[edge]") {
  const auto made = pdf_of(page_with("x"), marks, {.renderer = "no-such-renderer"});
  REQUIRE_FALSE(made);
  CHECK(made.error().code == Errc::not_found);
  CHECK(made.error().message.find("apt-get install --no-install-recommends weasyprint") != std::string::npos);
}

TEST_CASE("what takes too long is ended", "[edge]") {
  const auto made = pdf_of(page_with("x"), marks, {.time_limit = 0s});
  REQUIRE_FALSE(made);
  CHECK(made.error().message.find("within 0 seconds") != std::string::npos);

  const auto begin = std::chrono::steady_clock::now();
  const auto finished = run_program("/bin/sh", {"-c", "sleep 30 & sleep 30"}, "", 100ms);
  CHECK(finished.timed_out);
  CHECK(finished.status == 128 + 9);
  CHECK(std::chrono::steady_clock::now() - begin < 10s);
}

TEST_CASE("a program gets its input, and neither our environment nor our files") {
  const auto said = run_program("/bin/sh", {"-c", "cat; pwd >&2; ls /proc/self/fd | wc -l; env"}, "in", 10s);
  CHECK(said.status == 0);
  CHECK(said.said.find("evenhand-") != std::string::npos);
  CHECK(said.output.starts_with("in4\n"));  // three streams, and the folder that ls reads
  CHECK(said.output.find("TZ=UTC") != std::string::npos);
  CHECK(said.output.find("USER=") == std::string::npos);
  CHECK(run_program("/bin/sh", {"-c", "exit 7"}, "", 10s).status == 7);
}

TEST_CASE("what stands on every page cannot leave its quotes") {
  const std::string page = page_for_paper(page_with("x"), marks, Paper::a4);
  CHECK(page.find("size: A4") != std::string::npos);
  CHECK(page.find("data 0123456789abcdef\"") != std::string::npos);
  CHECK(page.find(R"(A \3c page\3e  \22 of\22  tests)") != std::string::npos);
  CHECK(page_for_paper(page_with("x"), marks, Paper::letter).find("size: letter") != std::string::npos);
}
