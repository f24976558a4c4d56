#include "server/api/find_set.hpp"

#include "document/yaml.hpp"
#include "store/composed_sets.hpp"

namespace evenhand::server {

Result<cases::CaseSet> read_composed(const cases::Library& library, const SetId& id,
                                     const std::string& yaml) {
  document::Faults faults;
  const auto value = document::read_yaml(yaml, id.text() + ".yaml", faults);
  std::vector<std::string> known;
  for (const auto& [name, one] : library.cases) known.push_back(name);
  const cases::FindCase find = [&](std::string_view name) {
    const auto found = library.cases.find(name);
    return found == library.cases.end() ? nullptr : &found->second;
  };
  auto set = value ? cases::read_case_set(*value, id.text(), find, known, faults) : std::nullopt;
  if (!set || !faults.empty())
    return fail(Errc::conflict, "the set {} names a case or an item that is no longer in the library",
                id.text());
  return std::move(*set);
}

Result<cases::CaseSet> find_set(Visit& visit, const SetId& id) {
  if (const auto found = visit.library.sets.find(id.text()); found != visit.library.sets.end())
    return found->second;
  const auto composed = store::composed_set(visit.store, id);
  if (!composed || !visit.who || composed->rater != visit.who->rater)
    return fail(Errc::not_found, "There is no set {}.", id.text());
  return read_composed(visit.library, id, composed->yaml);
}

const cases::LibraryInstrument& instrument_of(const cases::Library& library, const cases::CaseSet& set) {
  return library.instruments.find(set.instrument.text())->second;
}

store::Mode mode_of(cases::Mode mode) {
  if (mode == cases::Mode::skills_check) return store::Mode::skills_check;
  return mode == cases::Mode::calibration ? store::Mode::calibration : store::Mode::practice;
}

cases::Mode mode_of(store::Mode mode) {
  if (mode == store::Mode::skills_check) return cases::Mode::skills_check;
  return mode == store::Mode::calibration ? cases::Mode::calibration : cases::Mode::practice;
}

}  // namespace evenhand::server
