#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cases/library.hpp"
#include "document/fault.hpp"

namespace evenhand::test {

/// A vocabulary, an instrument of three items and a case of it, all invented and small enough to be
/// read beside a test.
std::string small_vocabulary();
std::string small_instrument();
std::string small_case();

/// The text with one piece replaced. The piece must be there, once.
std::string with(std::string text, std::string_view piece, std::string_view replacement);

/// The library of the three files, the case's text as given.
std::vector<cases::SourceFile> small_files(std::string case_text = small_case());

/// Reads the library of small_files and says every fault, a line each.
std::string faults_of_case(std::string case_text);

}  // namespace evenhand::test
