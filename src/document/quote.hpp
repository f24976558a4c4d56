#pragma once

#include <string>
#include <string_view>

namespace evenhand::document {

/// A piece of a text for a message: in backquotes, line ends as blanks, cut after 60 bytes
/// at the end of a character.
std::string quote(std::string_view text);

}  // namespace evenhand::document
