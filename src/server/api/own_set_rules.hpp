#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "cases/library.hpp"
#include "document/fault.hpp"
#include "server/api/json.hpp"
#include "server/api/set_draft.hpp"
#include "server/route.hpp"
#include "store/groups.hpp"
#include "store/set_uses.hpp"

namespace evenhand::server {

/// What is wrong with a field of the form that a set is composed in.
struct FieldFault {
  std::string field, says;
};
Json faults_json(const std::vector<FieldFault>& faults);

/// Who wrote a set of the department's.
struct Authors {
  std::optional<RaterId> first{}, last{};
  std::optional<base::Time> written{};
};

/// By name of the set.
std::map<std::string, Authors> authors_of_sets(store::Store& store);

/// A set is changed by whoever put it in force first, and by a lead; as a round is settled.
bool may_change(const Authors& authors, const Visit& visit);

/// What rests on a set: "2 sittings were begun and 1 round was opened"; empty: nothing.
std::string uses_words(const store::SetUses& uses);

/// What no reader of files can know: names that are taken, sets of others, and sets that scores rest on.
std::vector<FieldFault> rule_faults(const SetDraft& draft, Visit& visit);

/// What the reader of files says of a draft, at its fields, against the library as it is; and cases without
/// an item.
std::vector<FieldFault> read_faults(const cases::Library& library, const SetDraft& draft);

/// The same of faults that were found elsewhere; those of other files have no field.
void add_at_fields(const document::Faults& faults, const std::string& file, const SetDraft& draft,
                   std::vector<FieldFault>& to);

/// What is no fault and worth knowing, in sentences: cases that serve both practice and a check.
std::vector<std::string> cautions_of(const cases::Library& library, const SetDraft& draft);

/// A group that the reader looks after (a lead: any), with its members.
struct GroupMet {
  store::Group group;
  std::vector<RaterId> members;
};

/// Which cases the raters of these groups have met.
struct Met {
  std::vector<GroupMet> groups;
  std::map<RaterId, std::set<CaseId>> cases;
};
Met met_by_groups(Visit& visit);
std::size_t raters_who_met(const Met& met, const CaseId& id);

/// How many raters of each group have met any of the draft's cases, and of each case how many.
Json seen_json(const Met& met, const SetDraft& draft);

/// The draft of a body; refused when its instrument is not there, or the address names another set.
Reply<SetDraft> draft_in(const Request& request, const Visit& visit);

std::vector<Route> own_set_draw_routes();  // own_set_draw.cpp

inline constexpr std::size_t draft_body = 128 * 1024;  // bytes

}  // namespace evenhand::server
