// What the CSV reader takes, it takes again after writing, field by field.

#include <cstdint>
#include <cstdlib>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "document/csv.hpp"

namespace {

using namespace evenhand::document;
using Table = std::vector<std::vector<std::string>>;

void require(bool holds) {
  if (!holds) std::abort();
}

std::optional<Table> read(std::string_view bytes) {
  auto reader = CsvReader::open(bytes, "f");
  if (!reader) return std::nullopt;
  Table rows{reader->header()};
  CsvRow row;
  std::size_t last_line = 0;
  while (true) {
    const auto more = reader->next(row);
    if (!more) return std::nullopt;
    if (!*more) return rows;
    require(row.line > last_line && row.fields.size() == reader->header().size());
    last_line = row.line;
    rows.emplace_back(row.fields.begin(), row.fields.end());
    for (const auto field : row.fields) {
      parse_decimal(field, false);
      parse_decimal(field, true);
    }
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto rows = read({reinterpret_cast<const char*>(data), size});
  if (!rows) return 0;
  for (const char separator : {',', ';', '\t'}) {
    std::string bytes;
    for (const auto& row : *rows)
      write_csv_row(bytes, std::span<const std::string>(row), {.separator = separator});
    require(read(bytes) == rows);
  }
  return 0;
}
