#include "calibration/department_study.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <numeric>
#include <stdexcept>

#include <fmt/core.h>

#include "base/parallel.hpp"
#include "base/random.hpp"
#include "competency/library_cases.hpp"
#include "scores/score_table.hpp"

namespace evenhand::calibration {
namespace {

const InstrumentId instrument{"pediatric-balance"};
constexpr const char* open_item = "7";
constexpr const char* open_ruling = "7-a";

template <class T>
T need(Result<T> result) {
  if (!result) throw std::runtime_error(result.error().message);
  return *std::move(result);
}

/// Performances of one item that a composed case may show.
std::vector<CaseId> offered(const cases::Library& library, const ItemId& item, const KeyFactsOf& facts) {
  std::vector<CaseId> all;
  for (const auto& [name, of] : library.cases) {
    if (of.instrument != instrument) continue;
    const auto known = facts(of.id, item);
    if (!known) continue;  // a status, or filled by the skip rule
    if (item.text() == open_item && is_gray(known->kind) && known->ruling != open_ruling) continue;
    all.push_back(of.id);
  }
  return all;
}

scores::Score key_row(const CaseId& id, const ItemId& item, std::string value) {
  scores::Score row;
  row.rater = RaterId("key");
  row.scored_case = id;
  row.item = item;
  row.value = std::move(value);
  return row;
}

KeyFactsOf facts_from(const cases::Library& library, const StudyCases& of, bool ruled) {
  auto taken = std::make_shared<std::map<std::pair<CaseId, ItemId>, CaseId>>();
  const auto& items = library.instruments.find(instrument.text())->second.in_force->instrument.items;
  for (std::size_t c = 0; c < of.cases.size(); ++c)
    for (std::size_t i = 0; i < items.size(); ++i)
      taken->emplace(std::pair(of.cases[c].id, ItemId(items[i].id)), of.taken_from[c][i]);
  auto facts = need(key_facts_of(library, instrument));
  return [taken, facts, ruled](const CaseId& id, const ItemId& item) -> std::optional<KeyFacts> {
    const auto from = taken->find({id, item});
    if (from == taken->end()) return {};
    auto known = facts(from->second, item);
    if (known && ruled && known->ruling == open_ruling) known->kind = KeyKind::gray_ruled;
    return known;
  };
}

std::size_t flagged_falsely(const Calibration& report, const std::vector<RaterId>& drifters) {
  std::size_t n = 0;
  for (const RaterOfRound& rater : report.raters)
    if (rater.drift && rater.drift->flagged && !std::ranges::binary_search(drifters, rater.rater)) ++n;
  return n;
}

void look_at_drift(StudyRates& said, const Calibration& report, const StudyDepartment& department) {
  std::size_t found = 0;
  double change = 0.0;
  for (const RaterOfRound& rater : report.raters) {
    if (!std::ranges::binary_search(department.drifters, rater.rater) || !rater.drift) continue;
    found += rater.drift->flagged ? 1 : 0;
    change += std::abs(*rater.drift->change.estimate);
  }
  const std::size_t falsely = flagged_falsely(report, department.drifters);
  const bool all = found == department.drifters.size();
  said.drifters_found = found;
  said.others_flagged = falsely;
  said.all_drifters_found = all ? 1 : 0;
  said.all_and_only = all && falsely == 0 ? 1 : 0;
  if (!department.drifters.empty())
    said.mean_change = change / static_cast<double>(department.drifters.size());
  if (report.since && report.since->least_flagged) said.least_flagged = *report.since->least_flagged;
}

void look_at_items(StudyRates& said, const Calibration& report, const StudyDepartment& department) {
  std::vector<ItemId> misread, stand_out;
  for (const ItemAgreement& item : report.by_item) {
    if (item.misread) misread.push_back(report.items[item.item]);
    if (item.stands_out) stand_out.push_back(report.items[item.item]);
  }
  const auto has = [](const std::vector<ItemId>& list, const ItemId& id) {
    return std::ranges::find(list, id) != list.end();
  };
  const bool all =
      std::ranges::all_of(department.misread, [&](const ItemId& id) { return has(misread, id); });
  said.misread_found = all ? 1 : 0;
  said.misread_only = all && misread.size() == department.misread.size() ? 1 : 0;
  said.stand_out_only = all && stand_out.size() == department.misread.size() ? 1 : 0;
}

bool asks_for_ruling(const Calibration& report) {
  return std::ranges::any_of(report.agenda.zones, [](const GrayZone& zone) {
    return zone.ruling == open_ruling && zone.needs_ruling;
  });
}

void look_at_keys(StudyRates& said, const Calibration& report, const StudyDepartment& department) {
  for (const SuspectKey& each : report.suspect_keys) {
    const std::pair place(each.case_id, report.items[each.item]);
    if (department.wrong_key == place) {
      said.wrong_key_found = 1;
      continue;
    }
    // Where the criteria are open, to doubt a key is no mistake.
    const auto known = department.facts_after_ruling(place.first, place.second);
    if (!known || !is_gray(known->kind)) ++said.right_keys_suspect;
  }
  said.right_key_suspect = said.right_keys_suspect > 0 ? 1 : 0;
}

StudyRates one_department(const cases::Library& library, const StudyPlan& plan, std::uint64_t seed) {
  const auto department = study_department(library, plan, seed);
  StudyRates said;
  said.departments = 1;
  for (std::size_t round = 1; round < plan.rounds; ++round) {
    const bool ruled = round + 1 >= plan.ruled_from;
    // Each report sees what stood before it, not what was to come.
    const auto report = need(calibrate(
        department.rounds, round, ruled ? department.facts_after_ruling : department.facts_before_ruling));
    const bool drift_shows = round + 1 >= plan.drift_from;
    said.anybody_flagged.push_back(
        flagged_falsely(report, drift_shows ? department.drifters : std::vector<RaterId>()) > 0 ? 1 : 0);
    if (round + 2 == plan.ruled_from) said.zone_before = asks_for_ruling(report) ? 1 : 0;
    if (round + 1 == plan.drift_from) look_at_drift(said, report, department);
    if (round + 1 < plan.rounds) continue;
    said.zone_after = asks_for_ruling(report) ? 1 : 0;
    look_at_items(said, report, department);
    look_at_keys(said, report, department);
    if (report.group.icc.value.estimate) said.icc = *report.group.icc.value.estimate;
    if (report.group.exact.estimate) said.exact = *report.group.exact.estimate;
  }
  return said;
}

void add(StudyRates& all, const StudyRates& one) {
  all.departments += one.departments;
  all.all_drifters_found += one.all_drifters_found;
  all.all_and_only += one.all_and_only;
  all.drifters_found += one.drifters_found;
  all.others_flagged += one.others_flagged;
  all.anybody_flagged.resize(one.anybody_flagged.size());
  for (std::size_t i = 0; i < one.anybody_flagged.size(); ++i)
    all.anybody_flagged[i] += one.anybody_flagged[i];
  all.misread_found += one.misread_found;
  all.misread_only += one.misread_only;
  all.stand_out_only += one.stand_out_only;
  all.zone_before += one.zone_before;
  all.zone_after += one.zone_after;
  all.right_keys_suspect += one.right_keys_suspect;
  all.right_key_suspect += one.right_key_suspect;
  all.wrong_key_found += one.wrong_key_found;
  all.icc += one.icc;
  all.exact += one.exact;
  all.least_flagged += one.least_flagged;
  all.mean_change += one.mean_change;
}

/// Moves one settled key, drawn, by one level.
std::pair<CaseId, ItemId> spoil_key(std::vector<scores::Score>& keys, const KeyFactsOf& facts,
                                    base::Random& random) {
  std::vector<scores::Score*> settled;
  for (scores::Score& key : keys)
    if (const auto known = facts(key.scored_case, key.item); known && decides(known->kind))
      settled.push_back(&key);
  random.shuffle(std::span(settled));
  scores::Score& key = *settled.front();
  const int level = std::stoi(*key.value);
  key.value = std::to_string(level == 0 || (level < 4 && random.chance(0.5)) ? level + 1 : level - 1);
  return {key.scored_case, key.item};
}

}  // namespace

StudyCases study_cases(const cases::Library& library, std::size_t number, std::uint64_t seed) {
  base::Random random(seed, 0xca5e5);
  const auto& scoring = *library.instruments.find(instrument.text())->second.in_force;
  const auto answer = need(competency::answer_key_of(library, instrument));
  const auto facts = need(key_facts_of(library, instrument));
  std::map<CaseId, competency::TrueCase> known;
  StudyCases out;
  out.taken_from.resize(number);
  for (std::size_t c = 0; c < number; ++c)
    out.cases.push_back({.id = CaseId(fmt::format("c{:02}", c + 1)), .items = {}});
  for (std::size_t i = 0; i < scoring.instrument.items.size(); ++i) {
    const ItemId item(scoring.instrument.items[i].id);
    auto from = offered(library, item, facts);
    for (std::size_t c = 0; c < number; ++c) {
      // Each performance of the library comes once before any comes twice.
      if (c % from.size() == 0) random.shuffle(std::span(from));
      const CaseId& id = from[c % from.size()];
      if (!known.contains(id)) known.emplace(id, need(competency::true_case(library, id)));
      out.cases[c].items.push_back(known.at(id).items[i]);
      out.taken_from[c].push_back(id);
      out.keys.push_back(key_row(out.cases[c].id, item, answer.find(id, i)->says));
    }
  }
  return out;
}

StudyDepartment study_department(const cases::Library& library, const StudyPlan& plan, std::uint64_t seed) {
  base::Random random(seed, 0x57d1);
  const auto& scoring = *library.instruments.find(instrument.text())->second.in_force;
  const auto cases = study_cases(library, plan.cases, seed);
  competency::RoundsPlan rounds{.raters = plan.raters,
                                .rounds = {},
                                .seed = seed,
                                .mix = plan.mix,
                                .drifters = plan.drifters,
                                .drift = seed % 2 == 0 ? plan.drift : -plan.drift,
                                .drift_from = plan.drift_from};
  for (std::size_t round = 0; round < plan.rounds; ++round)
    rounds.rounds.emplace_back(fmt::format("{}", 2023 + round));
  StudyDepartment out;
  std::vector<ItemId> items;
  for (const auto& item : scoring.instrument.items)
    if (item.id != open_item) items.emplace_back(item.id);
  random.shuffle(std::span(items));
  for (std::size_t i = 0; i < plan.misread; ++i) {
    out.misread.push_back(items[i]);
    rounds.misread.push_back({.item = items[i].text(), .share = plan.misread_share});
  }
  if (plan.open_zone) rounds.open = {.item = open_item, .ruled_from = plan.ruled_from};
  auto invented = need(competency::simulate_rounds(rounds, cases.cases, scoring));
  out.drifters = invented.drifters;
  out.facts_before_ruling = facts_from(library, cases, false);
  out.facts_after_ruling = facts_from(library, cases, true);
  std::vector<scores::Score> rows = cases.keys;
  if (plan.wrong_key) {
    base::Random which(seed, 0x3e1);
    out.wrong_key = spoil_key(rows, out.facts_after_ruling, which);
  }
  rows.insert(rows.end(), std::make_move_iterator(invented.scores.begin()),
              std::make_move_iterator(invented.scores.end()));
  scores::ResolveOptions how{.rounds = rounds.rounds, .categories = {"0", "1", "2", "3", "4"}};
  out.rounds = need(scores::resolve(need(scores::table_of(rows)), how));
  return out;
}

StudyRates study(const cases::Library& library, const StudyPlan& plan, std::size_t departments,
                 std::uint64_t seed, std::size_t threads) {
  std::vector<StudyRates> said(departments);
  base::in_parallel(departments, threads,
                    [&](std::size_t i) { said[i] = one_department(library, plan, seed + i); });
  StudyRates all;
  for (const StudyRates& one : said) add(all, one);
  const auto n = static_cast<double>(std::max<std::size_t>(departments, 1));
  for (double* mean : {&all.icc, &all.exact, &all.least_flagged, &all.mean_change}) *mean /= n;
  return all;
}

}  // namespace evenhand::calibration
