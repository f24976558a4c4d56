#include "server/api/own_set_rules.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "document/yaml.hpp"
#include "instrument/names.hpp"
#include "report/words.hpp"
#include "server/api/department.hpp"
#include "server/body.hpp"
#include "store/department_texts.hpp"

namespace evenhand::server {
namespace {

using store::TextKind;

const std::string next_prefix = "next-";  // of sets that are composed for one rater

/// The set of the library with this id that the department wrote; nothing: there is none.
const cases::CaseSet* own_set(const std::string& id, Visit& visit,
                              const std::map<std::string, Authors>& authors) {
  const auto found = visit.library.sets.find(id);
  return found == visit.library.sets.end() || !authors.contains(id) ? nullptr : &found->second;
}

bool has_met(const Met& met, const RaterId& rater, const CaseId& id) {
  const auto found = met.cases.find(rater);
  return found != met.cases.end() && found->second.contains(id);
}

bool checks(const cases::CaseSet& set) {
  return set.mode != cases::Mode::practice && !set.demonstration && !set.retired;
}

}  // namespace

std::map<std::string, Authors> authors_of_sets(store::Store& store) {
  std::map<std::string, Authors> authors;
  for (const auto& text : store::all_texts(store)) {
    if (text.kind != TextKind::set) continue;
    const auto [at, first] = authors.try_emplace(text.name);
    if (first) at->second.first = text.by;
    at->second.last = text.by;
    at->second.written = text.at;
  }
  return authors;
}

bool may_change(const Authors& authors, const Visit& visit) {
  return is_lead(visit) || authors.first == visit.who->rater;
}

std::string uses_words(const store::SetUses& uses) {
  std::vector<std::string> words;
  if (uses.sittings > 0)
    words.push_back(report::count_of(uses.sittings, "sitting was begun", "sittings were begun"));
  if (uses.assignments > 0)
    words.push_back("it was given to " + report::count_of(uses.assignments, "group", "groups"));
  if (uses.rounds > 0)
    words.push_back(report::count_of(uses.rounds, "round was opened", "rounds were opened"));
  return instrument::joined(words);
}

std::vector<FieldFault> rule_faults(const SetDraft& draft, Visit& visit) {
  std::vector<FieldFault> faults;
  const auto authors = authors_of_sets(visit.store);
  const auto in_force = visit.library.sets.find(draft.id);
  if (in_force != visit.library.sets.end() && !authors.contains(draft.id))
    faults.push_back({"id", "A set of that name comes with the program; take another name."});
  // Addresses of the site stand beside those of sets.
  for (const auto* taken : {"choices", "cover", "draw"})
    if (draft.id == taken) faults.push_back({"id", "The site uses that name itself; take another."});
  if (draft.id.starts_with(next_prefix))
    faults.push_back({"id", "Names that begin with `next-` are for sets made for one rater; take another."});
  const auto* own = own_set(draft.id, visit, authors);
  if (own == nullptr) return faults;
  if (!may_change(authors.at(draft.id), visit))
    faults.push_back({"id", "Somebody else put a set of that name in force; take another name."});
  const auto uses = store::uses_of(visit.store, own->id, visit.now);
  const auto before = draft_of(*own);
  if (uses.any() && !asks_the_same(before, draft))
    faults.push_back({"id", fmt::format("Scores rest on this set ({}), so its mode, cases and items stay as "
                                        "they are. To change them, take a new name.",
                                        uses_words(uses))});
  if (draft.retired && !before.retired && uses.open()) {
    const std::string what =
        uses.open_rounds.empty()
            ? fmt::format("It is given to {}: wait until that is over, or withdraw it there.",
                          report::count_of(uses.open_assignments, "group", "groups"))
            : fmt::format("The round {} is open with it: close that first.", uses.open_rounds.front());
    faults.push_back({"retired", what});
  }
  return faults;
}

Met met_by_groups(Visit& visit) {
  Met met;
  std::set<RaterId> raters;
  for (auto& group :
       is_lead(visit) ? store::all_groups(visit.store) : store::groups_of(visit.store, visit.who->rater)) {
    GroupMet one{std::move(group), {}};
    if (const auto members = store::members(visit.store, one.group.id))
      for (const auto& member : *members) one.members.push_back(member.rater);
    raters.insert(one.members.begin(), one.members.end());
    met.groups.push_back(std::move(one));
  }
  const std::vector<RaterId> all(raters.begin(), raters.end());
  met.cases = store::met_cases(visit.store, all);
  return met;
}

std::size_t raters_who_met(const Met& met, const CaseId& id) {
  return static_cast<std::size_t>(
      std::ranges::count_if(met.cases, [&](const auto& of) { return of.second.contains(id); }));
}

Json seen_json(const Met& met, const SetDraft& draft) {
  Json groups = Json::array();
  for (const auto& group : met.groups) {
    std::size_t raters = 0;
    for (const auto& member : group.members)
      raters += std::ranges::any_of(draft.entries,
                                    [&](const auto& entry) { return has_met(met, member, entry.case_id); });
    groups.push_back({{"group", group.group.title}, {"members", group.members.size()}, {"seen", raters}});
  }
  Json by_case = Json::object();
  for (const auto& entry : draft.entries) {
    by_case[entry.case_id.text()] = raters_who_met(met, entry.case_id);
  }
  return {{"groups", std::move(groups)}, {"cases", std::move(by_case)}};
}

std::vector<FieldFault> read_faults(const cases::Library& library, const SetDraft& draft) {
  const std::string file = "draft";
  document::Faults faults;
  const auto tree = document::read_yaml(yaml_of(draft), file, faults);
  std::vector<std::string> known;
  for (const auto& [name, one] : library.cases) known.push_back(name);
  const cases::FindCase find = [&](std::string_view name) {
    const auto found = library.cases.find(name);
    return found == library.cases.end() ? nullptr : &found->second;
  };
  if (tree) cases::read_case_set(*tree, draft.id, find, known, faults);
  std::vector<FieldFault> at_fields;
  add_at_fields(faults, file, draft, at_fields);
  return at_fields;
}

void add_at_fields(const document::Faults& faults, const std::string& file, const SetDraft& draft,
                   std::vector<FieldFault>& to) {
  for (const auto& fault : faults.all())
    to.push_back({fault.at.file == file ? field_at_line(draft, static_cast<std::size_t>(fault.at.line)) : "",
                  fault.mend.empty() ? fault.what : fault.what + "; " + fault.mend});
  // A file may leave items out, and means all; in a form no tick means none.
  for (std::size_t i = 0; i < draft.entries.size(); ++i)
    if (draft.entries[i].items.empty())
      to.push_back({fmt::format("entry-{}", i), "No item is ticked; tick one, or take the case out."});
}

Json faults_json(const std::vector<FieldFault>& faults) {
  Json all = Json::array();
  for (const auto& fault : faults)
    all.push_back({{"field", text_or_null(fault.field)}, {"says", fault.says}});
  return all;
}

std::vector<std::string> cautions_of(const cases::Library& library, const SetDraft& draft) {
  std::vector<std::string> says;
  const bool practice = draft.mode == "practice";
  if (!practice && draft.demonstration)
    says.push_back("As a demonstration it decides about nobody, whatever comes out.");
  std::map<std::string, std::vector<std::string>> shared;
  for (const auto& [id, set] : library.sets) {
    if (id == draft.id || set.retired || (practice ? !checks(set) : set.mode != cases::Mode::practice))
      continue;
    for (const auto& entry : set.entries)
      if (std::ranges::find(draft.entries, entry.case_id, &cases::SetEntry::case_id) != draft.entries.end())
        shared[set.title].push_back(entry.case_id.text());
  }
  if (draft.demonstration) return says;
  for (const auto& [title, cases] : shared)
    says.push_back(
        practice ? fmt::format("{} also {} in \"{}\", which checks raters: whoever practices with this "
                               "set has seen them.",
                               instrument::joined(cases), cases.size() == 1 ? "stands" : "stand", title)
                 : fmt::format("{} also {} in the practice set \"{}\": a rater may meet them there "
                               "first.",
                               instrument::joined(cases), cases.size() == 1 ? "stands" : "stand", title));
  return says;
}

Reply<SetDraft> draft_in(const Request& request, const Visit& visit) {
  const auto body = read_body(request);
  if (!body) return refuse(body.error());
  auto draft = set_draft_in(*body);
  if (!draft) return draft;
  if (!visit.library.instruments.contains(draft->instrument))
    return refuse_field("instrument", "There is no such instrument.");
  if (const auto named = request.params.find("set");
      named != request.params.end() && named->second != draft->id)
    return refuse_field("id", "The address names another set.");
  return draft;
}

}  // namespace evenhand::server
