// A case file is read or refused whatever stands in it; what is accepted can be named by a
// fingerprint and its timelines can be followed.

#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "cases/built_in.hpp"
#include "cases/case_fingerprint.hpp"
#include "cases/library.hpp"
#include "cases/read_case.hpp"
#include "cases/style.hpp"
#include "cases/trial_facts.hpp"
#include "document/yaml.hpp"

namespace {

using namespace evenhand;

void require(bool holds) {
  if (!holds) std::abort();
}

const cases::Library& library() {
  static const cases::Library made = [] {
    document::Faults faults;
    return cases::read_library(cases::built_in_files(), {}, faults);
  }();
  return made;
}

void follow(const cases::Case& read, const instrument::Instrument& instrument) {
  require(read.items.size() == instrument.items.size());
  for (std::size_t i = 0; i < read.items.size(); ++i)
    for (const auto& trial : read.items[i].trials) {
      const auto facts = cases::facts_of(trial, instrument, instrument.items[i]);
      require(facts.values.size() == instrument.items[i].observe.size());
      for (const auto& stretch : facts.stretches) require(stretch.from <= stretch.to);
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const auto found = library().instruments.find("pediatric-balance");
  require(found != library().instruments.end());
  const auto& instrument = found->second.by_default->instrument;
  document::Faults faults;
  const auto tree = document::read_yaml(bytes, "f.yaml", faults);
  if (!tree) return 0;
  const auto read = cases::read_case(*tree, "f", instrument, library().vocabulary, faults);
  require(read.has_value() || !faults.empty());
  if (!read || !faults.empty()) return 0;
  follow(*read, instrument);
  cases::check_style(*read, faults);
  require(cases::fingerprint(*read, instrument).size() == 64);
  return 0;
}
