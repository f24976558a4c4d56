#include "server/api/report_files.hpp"

#include <chrono>
#include <semaphore>
#include <utility>

namespace evenhand::server {
namespace {

constexpr std::chrono::seconds longest_pdf{40};

std::binary_semaphore& pdf_place() {
  static std::binary_semaphore place(1);
  return place;
}

/// What stands before the quotes of the header has no character that could end them.
Response as_file(std::string body, std::string type, const std::string& name) {
  Response response{.status = 200, .type = std::move(type), .body = std::move(body), .headers = {}};
  response.headers.emplace_back("Content-Disposition", "attachment; filename=\"" + name + "\"");
  return response;
}

Response unavailable(std::string_view code, std::string_view says, const char* again = nullptr) {
  auto response = refusal(503, code, says);
  if (again != nullptr) response.headers.emplace_back("Retry-After", again);
  return response;
}

Response pdf_file(const FileAsked& asked, const ReportForms& forms) {
  const auto place = PdfPlace::take();
  if (!place) return unavailable("busy", "Another PDF is being made. Try again in a few seconds.", "5");
  const auto pdf =
      report::pdf_of(forms.html(), forms.marks, {.paper = asked.paper, .time_limit = longest_pdf});
  if (pdf) return as_file(*pdf, "application/pdf", forms.name + ".pdf");
  if (pdf.error().code == Errc::not_found)
    return unavailable("no-pdf",
                       "This site has no program that makes PDFs (WeasyPrint is not installed). Take the "
                       "HTML file instead: any browser prints it, to PDF as well.");
  return unavailable("no-pdf",
                     "The PDF could not be made. Take the HTML file instead: any browser prints it, "
                     "to PDF as well.");
}

}  // namespace

Reply<FileAsked> file_asked(const Request& request) {
  FileAsked asked;
  if (const auto at = request.query.find("format"); at != request.query.end()) {
    if (at->second == "html")
      asked.format = FileFormat::html;
    else if (at->second == "pdf")
      asked.format = FileFormat::pdf;
    else if (at->second == "xlsx")
      asked.format = FileFormat::xlsx;
    else if (at->second == "json")
      asked.format = FileFormat::json;
    else
      return refuse_field("format", "A report comes as html, pdf, xlsx or json.");
  }
  if (const auto at = request.query.find("paper"); at != request.query.end()) {
    if (at->second == "a4")
      asked.paper = report::Paper::a4;
    else if (at->second != "letter")
      return refuse_field("paper", "Paper is letter or a4.");
  }
  return asked;
}

Response report_file(const FileAsked& asked, const ReportForms& forms) {
  switch (asked.format) {
    case FileFormat::html:
      return as_file(forms.html(), "text/html; charset=utf-8", forms.name + ".html");
    case FileFormat::json:
      return as_file(forms.json(), "application/json", forms.name + ".json");
    case FileFormat::xlsx: {
      auto book = report::xlsx_of(forms.tables());
      if (!book) return refusal(book.error());
      return as_file(std::move(*book), "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
                     forms.name + ".xlsx");
    }
    case FileFormat::pdf:
      break;
  }
  return pdf_file(asked, forms);
}

std::optional<PdfPlace> PdfPlace::take() {
  if (!pdf_place().try_acquire()) return std::nullopt;
  return PdfPlace();
}

PdfPlace::PdfPlace(PdfPlace&& other) noexcept : held_(std::exchange(other.held_, false)) {}

PdfPlace::~PdfPlace() {
  if (held_) pdf_place().release();
}

std::string file_name(std::string_view kind, std::string_view title, std::string_view date) {
  std::string plain;
  for (const char c : title) {
    const bool letter = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    const bool capital = c >= 'A' && c <= 'Z';
    if (letter)
      plain += c;
    else if (capital)
      plain += static_cast<char>(c - 'A' + 'a');
    else if (!plain.empty() && plain.back() != '-')
      plain += '-';
  }
  while (!plain.empty() && plain.back() == '-') plain.pop_back();
  std::string name(kind);
  if (!plain.empty()) name += "-" + plain.substr(0, 60);
  return name + "-" + std::string(date);
}

}  // namespace evenhand::server
