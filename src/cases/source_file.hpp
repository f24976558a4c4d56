#pragma once

#include <string>

namespace evenhand::cases {

/// A file of the library as whoever reads disks hands it over.
struct SourceFile {
  std::string name;  ///< as it appears in faults; its last part without `.yaml` is the id of what is inside
  std::string text;

  friend bool operator==(const SourceFile&, const SourceFile&) = default;
};

}  // namespace evenhand::cases
