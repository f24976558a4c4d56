// A case file is read or refused whatever stands in it; what is accepted can be named by a
// fingerprint and its timelines can be followed.

#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "cases/built_in.hpp"
#include "cases/case_fingerprint.hpp"
#include "cases/check_case.hpp"
#include "cases/key.hpp"
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

void follow(const cases::Case& read, const instrument::Scoring& scoring) {
  const auto& instrument = scoring.instrument;
  require(read.items.size() == instrument.items.size());
  for (std::size_t i = 0; i < read.items.size(); ++i)
    for (const auto& trial : read.items[i].trials) {
      const auto facts = cases::facts_of(trial, instrument, instrument.items[i]);
      require(facts.values.size() == instrument.items[i].observe.size());
      for (const auto& stretch : facts.stretches) require(stretch.from <= stretch.to);
    }
  const auto key = cases::key_of(read, scoring);
  for (const auto& item : key.items)
    require(item.level || item.number || item.status || !item.no_key_because.empty());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const auto found = library().instruments.find("pediatric-balance");
  require(found != library().instruments.end());
  const auto& scoring = *found->second.by_default;
  document::Faults faults;
  const auto tree = document::read_yaml(bytes, "f.yaml", faults);
  if (!tree) return 0;
  const auto read = cases::read_case(*tree, "f", scoring.instrument, library().vocabulary, faults);
  require(read.has_value() || !faults.empty());
  if (!read || !faults.empty()) return 0;
  follow(*read, scoring);
  cases::check_case(*read, scoring, faults);
  cases::check_style(*read, faults);
  require(cases::fingerprint(*read, scoring.instrument).size() == 64);
  return 0;
}
