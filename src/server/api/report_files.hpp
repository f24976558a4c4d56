#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "report/pdf.hpp"
#include "report/xlsx.hpp"
#include "server/api/json.hpp"
#include "server/http.hpp"

namespace evenhand::server {

enum class FileFormat { html, pdf, xlsx, json };

/// `?format=html|pdf|xlsx|json` (HTML without one), and of a PDF `&paper=letter|a4`.
struct FileAsked {
  FileFormat format = FileFormat::html;
  report::Paper paper = report::Paper::letter;
};
/// Errors: 422 that names `format` or `paper`.
Reply<FileAsked> file_asked(const Request& request);

/// A report in every form it can be had in. Each is made of the same numbers, and only when it is asked for.
struct ReportForms {
  std::string name;  ///< of the file, without its ending: see `file_name`
  std::function<std::string()> html{};
  std::function<std::string()> json{};
  std::function<report::Workbook()> tables{};
  report::PageMarks marks{};  ///< on the pages of a PDF
};

/// The report as a file to keep. Long arithmetic: not on the store's thread. At most one PDF is made at a
/// time, since it takes one of the site's few threads for seconds; who comes meanwhile is told to come again.
/// A refusal where WeasyPrint is not installed says so (503).
Response report_file(const FileAsked& asked, const ReportForms& forms);

/// The one place where a PDF is made; taken as long as it lives.
class PdfPlace {
 public:
  /// Nothing: it is taken.
  static std::optional<PdfPlace> take();
  PdfPlace(PdfPlace&& other) noexcept;
  PdfPlace& operator=(PdfPlace&&) = delete;
  PdfPlace(const PdfPlace&) = delete;
  PdfPlace& operator=(const PdfPlace&) = delete;
  ~PdfPlace();

 private:
  PdfPlace() = default;
  bool held_ = true;
};

/// "calibration-fall-2026-2026-11-30": a kind, a title as far as it is plain letters and digits, and a date.
std::string file_name(std::string_view kind, std::string_view title, std::string_view date);

}  // namespace evenhand::server
