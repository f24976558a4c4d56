#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "base/error.hpp"

namespace evenhand::document {

/// A place in a text. Lines and columns count from 1, columns in characters (code
/// points), as an editor shows them. Line 0 means the whole file.
struct Location {
  std::string file;
  int line = 0;
  int column = 0;

  friend bool operator==(const Location&, const Location&) = default;
};

/// `file:line:column`, without the parts that are 0.
std::string to_string(const Location& at);

/// One thing that is wrong with a text, where, and what would be right.
struct Fault {
  Location at;
  std::string what;  ///< what is wrong: "`lvel` is not known here"
  std::string mend;  ///< what would be right: "did you mean `level`?"; may be empty

  friend bool operator==(const Fault&, const Fault&) = default;
};

/// `file:line:column: what; mend`.
std::string to_string(const Fault& fault);

/// All faults of one run over one or more files. A reader adds what it finds and goes
/// on, so that an author mends a file in one round.
class Faults {
 public:
  /// How many faults of one file are kept; the others are counted.
  static constexpr std::size_t most_per_file = 200;

  void add(Location at, std::string what, std::string mend = {});
  void add(Fault fault);

  bool empty() const { return total_ == 0; }
  /// How many were added, kept or not.
  std::size_t size() const { return total_; }
  /// The kept faults by file, line and column; those of one place in the order they came.
  std::vector<Fault> all() const;
  /// `all()`, one a line, each file closed by a line that says how many more there are,
  /// if any. Every line ends with a line feed; empty when there is no fault.
  std::string text() const;
  /// The same as an Error (invalid), without the last line feed: for a reader whose own
  /// answer is a Result. Precondition: not empty.
  Error error() const;

 private:
  struct OfFile {
    std::vector<Fault> kept;
    std::size_t total = 0;
  };
  std::map<std::string, OfFile> files_;
  std::size_t total_ = 0;
};

}  // namespace evenhand::document
