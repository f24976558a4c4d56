#pragma once

#include <string>
#include <string_view>

#include "cli/command.hpp"
#include "report/pdf.hpp"

namespace evenhand::cli {

/// `--paper letter|a4`, for what is made to be printed.
struct PaperOption {
  std::string name = "letter";
};

void add_paper_option(CLI::App& command, PaperOption& option);

/// A page of HTML as PDF on the paper that was asked for; errors as `report::pdf_of` has them.
Result<std::string> on_paper(std::string_view html, const report::PageMarks& marks,
                             const PaperOption& option);

}  // namespace evenhand::cli
