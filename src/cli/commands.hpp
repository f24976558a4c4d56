#pragma once

#include "cli/command.hpp"

namespace evenhand::cli {

// One file a command: commands/<name>.cpp adds its options to the program and gives back what it does.
Command add_practice(CLI::App& program);
Command add_check(CLI::App& program);
Command add_key(CLI::App& program);
Command add_gray(CLI::App& program);
Command add_import(CLI::App& program);
Command add_export(CLI::App& program);
Command add_agreement(CLI::App& program);
Command add_calibration(CLI::App& program);
Command add_competency(CLI::App& program);
Command add_simulate(CLI::App& program);
Command add_sheet(CLI::App& program);
Command add_plan(CLI::App& program);
Command add_store(CLI::App& program);
Command add_serve(CLI::App& program);

}  // namespace evenhand::cli
