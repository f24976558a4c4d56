#include "cli/output.hpp"

#include <ostream>

#include <CLI/CLI.hpp>

#include "cli/files.hpp"

namespace evenhand::cli {

void add_output_options(CLI::App& command, OutputOptions& options, const std::vector<std::string>& formats) {
  options.format = formats.front();
  command.add_option("--format", options.format, "How the result is written")
      ->check(CLI::IsMember(formats))
      ->capture_default_str();
  command.add_option("--out", options.path, "Write the result to this file instead of standard output");
  command.add_flag("--quiet", options.quiet, "Say nothing but results and errors");
}

void give(const std::string& result, const OutputOptions& options, Console& console) {
  give_written([&](std::ostream& out) { out << result; }, options, console);
}

void give_written(const std::function<void(std::ostream&)>& write, const OutputOptions& options,
                  Console& console) {
  if (options.path.empty() || options.path == "-") {
    write(console.out);
    return;
  }
  write_file(options.path, write);
  if (!options.quiet) console.err << "Written: " << options.path << '\n';
}

}  // namespace evenhand::cli
