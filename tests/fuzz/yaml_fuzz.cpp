// The YAML reader gives a tree or a fault for every input, places lie inside the text,
// and every reader of fields copes with whatever stands there.

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "document/fields.hpp"
#include "document/yaml.hpp"

namespace {

using namespace evenhand::document;

void require(bool holds) {
  if (!holds) std::abort();
}

void walk(const Value& value, int lines, Faults& faults) {
  require(value.at().line >= 1 && value.at().line <= lines && value.at().column >= 1);
  read_text(value, "it", faults);
  read_identifier(value, "it", faults);
  read_integer(value, "it", faults);
  read_number(value, "it", faults);
  read_yes_no(value, "it", faults);
  for (const auto unit : {Unit::second, Unit::inch, Unit::degree, Unit::none})
    read_quantity(value, unit, faults);
  for (const auto& item : value.items()) walk(item, lines, faults);
  if (!value.is_mapping()) return;
  Fields fields(value, "a mapping", faults);
  fields.format("evenhand/case-1");
  fields.texts("a", Need::optional);
  fields.items("b", Need::optional);
  fields.finish();
  for (const auto& entry : value.entries()) {
    require(entry.key_at().line >= 1 && entry.key_at().line <= lines);
    walk(entry.value, lines, faults);
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  Faults faults;
  const auto value = read_yaml(bytes, "f", faults);
  require(value.has_value() || !faults.empty());
  const int lines = 1 + static_cast<int>(std::count(bytes.begin(), bytes.end(), '\n'));
  for (const auto& fault : faults.all()) require(fault.at.line >= 0 && fault.at.line <= lines);
  if (value) walk(*value, lines, faults);
  require(faults.text().size() < (std::size_t{1} << 20));
  return 0;
}
