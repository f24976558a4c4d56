#pragma once

#include <string>

#include "practice/sitting.hpp"

namespace evenhand::cli {

/// A sitting in numbers, in words: what came out, the watch, the slips and their cures, what to work on.
std::string summary_words(const practice::SittingSummary& summary);

}  // namespace evenhand::cli
