#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

#include "document/fault.hpp"
#include "document/value.hpp"

namespace evenhand::document {

/// What a YAML file may cost. All limits hold before anything is built.
struct YamlLimits {
  std::size_t bytes = std::size_t{2} << 20;     ///< whole file; give 256 KiB for what comes over the web
  std::size_t depth = 16;                       ///< collections inside one another
  std::size_t nodes = 200'000;                  ///< scalars and collections, keys included
  std::size_t scalar = std::size_t{64} << 10;   ///< bytes of one scalar
  std::size_t unseen = std::size_t{128} << 10;  ///< bytes without an event, such as a `[...]` in the making:
                                                ///< the parser holds about 230 bytes for each of them
};

/// Reads one YAML document into a tree of located values.
///
/// bytes   UTF-8; one byte-order mark at the start is skipped.
/// name    the file's name, for the locations.
/// faults  receives everything that is wrong, each with line and column.
/// returns Nothing when the text is empty, no YAML, or past a limit. A fault that leaves
///         the tree readable (a duplicate key, a tag, an anchor, an alias, a second
///         document) still gives the tree, so that a loader reports its own faults in
///         the same run. So: the file is right only when `faults` is still empty.
///
/// Refused: aliases, anchors and tags (alias bombs, types from outside), more than one
/// document, duplicate keys (naming both lines), keys that are no text, NUL and other
/// control characters (C0 but tab and line ends, C1, bidirectional controls, a
/// byte-order mark inside; also when written as escapes), text that is not UTF-8, a
/// carriage return without line feed.
std::optional<Value> read_yaml(std::string_view bytes, std::string_view name, Faults& faults,
                               const YamlLimits& limits = {});

/// Whether the bytes can be looked at as text at all: within `limits.bytes`, UTF-8, no hidden characters.
/// `read_yaml` asks this first; who looks into a text before reading it asks it too.
bool is_plain_text(std::string_view bytes, std::string_view name, Faults& faults,
                   const YamlLimits& limits = {});

}  // namespace evenhand::document
