// A draft becomes a case of the department's library, in two steps: what its second readers gave and what
// will decide is looked at, then it is put there.

#include <memory>
#include <utility>

#include <fmt/format.h>

#include "calibration/changed_decisions.hpp"
#include "competency/library_cases.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/api/own_raters.hpp"
#include "server/api/own_texts.hpp"
#include "server/api/workshop.hpp"
#include "server/boards.hpp"

namespace evenhand::server {
namespace {

/// What is taken from the store at the first visit.
struct Proposed {
  store::Draft draft;
  std::vector<store::CaseReading> readings;
};

Reply<Proposed> proposed_in(const Request& request, Visit& visit) {
  auto draft = draft_to_write(request, visit);
  if (!draft) return tl::unexpected(draft.error());
  if (draft->latest.case_fingerprint.empty())
    return refuse(422, "faults", "The draft as it was saved last has faults: mend them and save it first.");
  if (const auto noted = note_look(visit, *draft); !noted) return refuse(noted.error());
  auto readings = store::readings_of(visit.store, draft->id, draft->latest.case_fingerprint);
  return Proposed{std::move(*draft), std::move(readings)};
}

/// What the case would be in the library.
struct Weighed {
  TriedText tried;
  cases::ReadCase beside;
  std::size_t asked_for = 0;
  bool replaces = false;
  const instrument::Instrument* instrument = nullptr;  ///< of the library before, which `tried` holds
  std::vector<competency::Decidable> decidable;        ///< parallel to the items; empty when there is a fault
  std::vector<calibration::ChangedKey> changes;
};

Result<void> weigh_keys(Weighed& made, const CaseId& id) {
  const InstrumentId instrument(made.instrument->id);
  const auto was = competency::answer_key_of(*made.tried.before, instrument);
  const auto is = competency::answer_key_of(*made.tried.library, instrument);
  if (!was) return tl::unexpected(was.error());
  if (!is) return tl::unexpected(is.error());
  for (std::size_t i = 0; i < made.beside.items.size(); ++i) {
    const auto* key = is->find(id, i);
    auto decidable = key == nullptr ? competency::Decidable::key_is_status : key->decidable;
    if (decidable == competency::Decidable::yes && made.beside.readers < made.asked_for)
      decidable = competency::Decidable::key_unconfirmed;
    made.decidable.push_back(decidable);
  }
  if (made.replaces) made.changes = calibration::changed_keys(*was, *is);
  return {};
}

Result<Weighed> weigh(std::shared_ptr<const cases::Library> held, std::vector<cases::SourceFile> files,
                      const Proposed& of) {
  Weighed made;
  const auto check = cases::check_draft(*held, of.draft.latest.yaml);
  if (check.fingerprint != of.draft.latest.case_fingerprint)
    return fail(Errc::conflict, "{}: the library has changed since the draft was saved; save it once more",
                of.draft.id.text());
  const auto& scoring = *check.instrument->in_force;
  made.instrument = &scoring.instrument;
  made.beside = cases::beside_readers(*check.read, scoring, second_readings(scoring.instrument, of.readings));
  made.asked_for = readers_asked_for(*held);
  made.replaces = held->cases.contains(of.draft.id.text());
  const auto yaml =
      cases::with_readers(of.draft.latest.yaml, made.beside.readers, made.beside.split(scoring.instrument));
  if (!yaml) return tl::unexpected(yaml.error());
  made.tried = try_text(std::move(held), std::move(files),
                        {.kind = store::TextKind::the_case, .name = of.draft.id.text(), .yaml = *yaml},
                        "evenhand/case-1", fmt::format("{} of {}", scoring.fingerprint, made.asked_for));
  if (made.tried.library)
    if (const auto weighed = weigh_keys(made, of.draft.id); !weighed) return tl::unexpected(weighed.error());
  return made;
}

Json item_json(const Weighed& made, std::size_t place) {
  const auto& one = made.beside.items[place];
  const bool decides = made.decidable[place] == competency::Decidable::yes;
  return {{"item", made.instrument->items[place].id},
          {"name", made.instrument->items[place].name},
          {"key", text_or_null(one.key)},
          {"read", one.read},
          {"given", one.given},
          {"agreed", one.agreed},
          {"decides", decides},
          {"why_not", decides ? Json(nullptr) : Json(competency::words(made.decidable[place]))}};
}

Json weighed_json(const Weighed& made) {
  Json items = Json::array(), changes = Json::array();
  for (std::size_t i = 0; i < made.decidable.size(); ++i) items.push_back(item_json(made, i));
  for (const auto& one : made.changes)
    changes.push_back({{"case", one.case_id.text()},
                       {"item", one.item.text()},
                       {"before", text_or_null(one.before)},
                       {"after", text_or_null(one.after)}});
  return {{"faults", faults_json(made.tried)},
          {"readers", made.beside.readers},
          {"second_readers", made.asked_for},
          {"replaces", made.replaces},
          {"items", std::move(items)},
          {"changes", std::move(changes)},
          {"confirm", made.tried.library ? Json(made.tried.token) : Json(nullptr)}};
}

/// Whose decision would be another one when the case takes the place of one that was scored. Null: it takes
/// nobody's place, or no standard decides on its instrument.
Json decisions_json(const Weighed& made, const OwnRaters& own) {
  if (!made.replaces || !made.tried.library) return nullptr;
  return changes_between(*made.tried.before, *made.tried.library, InstrumentId(made.instrument->id), own);
}

Step begin_preview(const Request& request, Visit& visit) {
  auto proposed = proposed_in(request, visit);
  if (!proposed) return proposed.error();
  const bool replaces = visit.library.cases.contains(proposed->draft.id.text());
  return [library = held_library(visit), files = department_files(visit), proposed = std::move(*proposed),
          own = std::make_shared<const OwnRaters>(replaces ? own_raters(visit) : OwnRaters{})]() -> Handler {
    const auto made = weigh(library, files, proposed);
    Response response = made ? Response{} : refusal(made.error());
    if (made) {
      auto object = weighed_json(*made);
      object["decisions"] = decisions_json(*made, *own);
      response = respond(object);
    }
    return [response = std::move(response)](const Request&, Visit&) { return response; };
  };
}

Response put(Visit& visit, const Proposed& proposed, const Weighed& made, const Confirmation& confirmed) {
  const auto now = store::draft(visit.store, proposed.draft.id);
  const auto readings =
      store::readings_of(visit.store, proposed.draft.id, proposed.draft.latest.case_fingerprint);
  if (!now || now->latest != proposed.draft.latest || readings != proposed.readings)
    return refusal(409, "other-preview",
                   "The draft or its readings are not those of the preview. Look at it once more.");
  const auto done = put_in_force(visit, made.tried, confirmed, store::Deed::published);
  return done ? respond(weighed_json(made)) : done.error();
}

Step begin_to_publish(const Request& request, Visit& visit) {
  auto proposed = proposed_in(request, visit);
  if (!proposed) return proposed.error();
  if (const auto may = lead_only(visit); !may) return may.error();
  const auto confirmed = confirmation_in(request);
  if (!confirmed) return confirmed.error();
  return [library = held_library(visit), files = department_files(visit), proposed = std::move(*proposed),
          confirmed = *confirmed]() -> Handler {
    auto made = std::make_shared<const Result<Weighed>>(weigh(library, files, proposed));
    return [made, proposed, confirmed](const Request&, Visit& later) -> Response {
      if (!*made) return refusal(made->error());
      return put(later, proposed, **made, confirmed);
    };
  };
}

}  // namespace

std::vector<Route> publishing_routes() {
  using enum Access;
  return {{.method = "POST",
           .pattern = "/api/workshop/drafts/{case}/preview",
           .access = instructor,
           .opening = begin_preview},
          {.method = "POST",
           .pattern = "/api/workshop/drafts/{case}/publish",
           .access = instructor,
           .opening = begin_to_publish}};
}

}  // namespace evenhand::server
