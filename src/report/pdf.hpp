#pragma once

#include <chrono>
#include <string>
#include <string_view>

#include "base/error.hpp"

namespace evenhand::report {

enum class Paper { letter, a4 };

/// What stands at the head (after the first page) and the foot of every page.
struct PageMarks {
  std::string title;        ///< of the report, short: "Competency report: rater r09"
  std::string program;      ///< name and version
  std::string fingerprint;  ///< of the data; its first 16 digits are shown, all of it stands in the report
  std::string of = "data";  ///< what the fingerprint is of
};

struct PdfOptions {
  Paper paper = Paper::letter;
  std::chrono::seconds time_limit{60};
  std::string renderer = "weasyprint";  ///< found in PATH, or a path
};

/// A page of HTML as a tagged PDF, made by WeasyPrint in a process of its own: no shell, a folder of its own
/// that is gone afterwards, no network and no file, limits for time and memory. The page has to hold
/// everything it shows.
///
/// The PDF has the page's title and language, and a structure of headings, paragraphs, lists and tables that
/// poppler's `pdfinfo -struct` shows. Pictures have no alternative text of their own there (WeasyPrint 57
/// gives none): the finding stands in the caption. It is not claimed to conform to PDF/UA.
/// The same page gives the same bytes with the same version of WeasyPrint.
///
/// errors  not_found  WeasyPrint is not installed; the sentence says how to install it
///         invalid    the page refers to something outside itself, or the time limit passed
/// Throws std::system_error when no process or folder can be made.
Result<std::string> pdf_of(std::string_view html, const PageMarks& marks, const PdfOptions& options = {});

/// The page with the rules for paper added to its head: size, margins, what stands at head and foot. What
/// `pdf_of` renders; free of surroundings.
std::string page_for_paper(std::string_view html, const PageMarks& marks, Paper paper);

}  // namespace evenhand::report
