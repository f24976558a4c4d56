#include "cli/paper.hpp"

#include <CLI/CLI.hpp>

namespace evenhand::cli {

void add_paper_option(CLI::App& command, PaperOption& option) {
  command.add_option("--paper", option.name, "Size of the pages of a PDF")
      ->check(CLI::IsMember({"letter", "a4"}))
      ->capture_default_str();
}

Result<std::string> on_paper(std::string_view html, const report::PageMarks& marks,
                             const PaperOption& option) {
  return report::pdf_of(html, marks,
                        {.paper = option.name == "a4" ? report::Paper::a4 : report::Paper::letter});
}

}  // namespace evenhand::cli
