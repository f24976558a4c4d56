#include "report/pdf.hpp"

#include <fstream>
#include <vector>

#include <fmt/core.h>

#include "base/fingerprint.hpp"
#include "report/child_process.hpp"
#include "report/templates.hpp"

namespace evenhand::report {
namespace {

constexpr const char* not_installed =
    "PDF reports need WeasyPrint, which is not installed here; the HTML report is complete without it, and "
    "any browser prints it. On Debian and Ubuntu: apt-get install --no-install-recommends weasyprint "
    "fonts-dejavu-core";

/// Text between the quotes of a CSS string that stands inside a style element.
std::string css_string(std::string_view text) {
  std::string result;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\' || c == '<' || c == '>' || c == '&' || byte < 0x20)
      result += fmt::format("\\{:x} ", byte);
    else
      result += c;
  }
  return result;
}

/// The Python that WeasyPrint runs by: it stands in the first line of the program. Empty: not there.
std::string python_of(const std::string& program) {
  std::ifstream stream(program);
  std::string line;
  if (!std::getline(stream, line) || !line.starts_with("#!")) return "";
  std::string interpreter = line.substr(2);
  interpreter.erase(0, interpreter.find_first_not_of(' '));
  // "/usr/bin/env python3": what PATH leads to.
  if (const auto blank = interpreter.find(' '); blank != std::string::npos) {
    const bool by_env = interpreter.substr(0, blank).ends_with("/env");
    interpreter = by_env ? interpreter.substr(blank + 1) : interpreter.substr(0, blank);
  }
  return find_program(interpreter);
}

std::string last_line(std::string text) {
  while (!text.empty() && text.back() == '\n') text.pop_back();
  const auto end = text.rfind('\n');
  return end == std::string::npos ? text : text.substr(end + 1);
}

}  // namespace

std::string page_for_paper(std::string_view html, const PageMarks& marks, Paper paper) {
  constexpr const char* small = "font: 7.5pt \"DejaVu Sans\"; color: #444;";
  const std::string style = fmt::format(
      "<style>\n"
      "@page {{ size: {0};\n"
      "  @top-left {{ {1} content: \"{2}\"; }}\n"
      "  @bottom-left {{ {1} content: \"{3}, {4} {5}\"; }}\n"
      "  @bottom-right {{ {1} content: counter(page) \" of \" counter(pages); }} }}\n"
      "@page :first {{ @top-left {{ content: none; }} }}\n"
      "</style>\n",
      paper == Paper::a4 ? "A4" : "letter", small, css_string(marks.title), css_string(marks.program),
      css_string(marks.of), css_string(std::string_view(marks.fingerprint).substr(0, 16)));
  std::string page(html);
  const auto head = page.find("</head>");
  page.insert(head == std::string::npos ? 0 : head, style);
  return page;
}

Result<std::string> pdf_of(std::string_view html, const PageMarks& marks, const PdfOptions& options) {
  const std::string program = find_program(options.renderer);
  const std::string python = program.empty() ? "" : python_of(program);
  if (python.empty()) return fail(Errc::not_found, "{}", not_installed);
  const std::string page = page_for_paper(html, marks, options.paper);
  const auto seconds = options.time_limit.count();
  // -s: not the user's own packages. The order of hashed things and the date inside fonts would change the
  // bytes from run to run.
  const Finished done = run_program(python,
                                    {"-s", "-c", std::string(template_file("pdf/render.py")),
                                     base::fingerprint(page).substr(0, 32), std::to_string(seconds)},
                                    page, options.time_limit, {"PYTHONHASHSEED=0", "SOURCE_DATE_EPOCH=0"});
  if (done.timed_out)
    return fail(Errc::invalid, "the PDF was not made within {} seconds; the HTML report is complete",
                seconds);
  if (done.status == 3) return fail(Errc::not_found, "{}", not_installed);
  if (done.status != 0 || !done.output.starts_with("%PDF-"))
    return fail(Errc::invalid, "the PDF could not be made: {}", last_line(done.said));
  return done.output;
}

}  // namespace evenhand::report
