#include "store/drafts.hpp"

#include <utility>

#include "store/audit.hpp"
#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

const std::string version_columns = "v.version, v.yaml, v.case_fingerprint, v.offered, v.written_at ";

DraftVersion version_in(const Run& row, int from) {
  return {.version = static_cast<std::uint32_t>(row.number(from)),
          .yaml = row.text(from + 1),
          .case_fingerprint = row.text(from + 2),
          .offered = row.number(from + 3) != 0,
          .at = row.time(from + 4)};
}

struct Numbered {
  std::int64_t number = 0;
  Draft draft;
};

template <class... Values>
std::vector<Numbered> drafts_where(Db& db, const std::string& rest, const Values&... values) {
  std::vector<Numbered> all;
  Run run(db,
          "SELECT d.number, d.case_id, p.rater, d.made_at, d.withdrawn_at, " + version_columns +
              "FROM case_draft d JOIN case_draft_version v ON v.draft = d.number AND v.version = (SELECT "
              "max(version) FROM case_draft_version WHERE draft = d.number) LEFT JOIN person p ON p.number = "
              "d.author " +
              rest,
          values...);
  while (run.next()) {
    Draft draft{.id = CaseId(run.text(1)),
                .made = run.time(3),
                .withdrawn = run.time_if_any(4),
                .latest = version_in(run, 5)};
    if (!run.null(2)) draft.author = RaterId(run.text(2));
    all.push_back({run.number(0), std::move(draft)});
  }
  return all;
}

Result<Numbered> open_draft(Db& db, const CaseId& id) {
  auto found = drafts_where(db, "WHERE d.case_id = ? AND d.withdrawn_at IS NULL", id.text());
  if (found.empty()) return fail(Errc::not_found, "there is no draft of a case {}", id.text());
  return std::move(found.front());
}

std::vector<DraftVersion> versions_of(Db& db, std::int64_t draft) {
  std::vector<DraftVersion> all;
  Run run(db, "SELECT " + version_columns + "FROM case_draft_version v WHERE v.draft = ? ORDER BY v.version",
          draft);
  while (run.next()) all.push_back(version_in(run, 0));
  return all;
}

Result<void> check(const CaseId& id, const DraftVersion& version) {
  if (auto ok = check_id("case", id.text()); !ok) return ok;
  if (version.yaml.empty()) return fail(Errc::invalid, "the draft of {} has no text", id.text());
  if (version.offered && version.case_fingerprint.empty())
    return fail(Errc::invalid, "the draft of {} has faults, and is not for second readers yet", id.text());
  return {};
}

void insert(Db& db, std::int64_t draft, const DraftVersion& version) {
  Run(db,
      "INSERT INTO case_draft_version (draft, version, yaml, case_fingerprint, offered, written_at) VALUES "
      "(?, ?, ?, ?, ?, ?)",
      draft, version.version, version.yaml, version.case_fingerprint, std::int32_t{version.offered},
      version.at)
      .all();
}

bool same_content(DraftVersion a, const DraftVersion& b) {
  a.version = b.version;
  a.at = b.at;
  return a == b;
}

}  // namespace

Result<void> begin_draft(Store& store, const CaseId& id, const RaterId& author, const DraftVersion& first) {
  if (auto ok = check(id, first); !ok) return ok;
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto person = person_number(db, author);
    if (!person) return fail(Errc::not_found, "the store does not know the rater {}", author.text());
    if (const auto known = open_draft(db, id)) {
      if (known->draft.author == author && known->draft.latest.version == 1 &&
          same_content(first, known->draft.latest))
        return {};
      return fail(Errc::conflict, "there is a draft of a case {} already", id.text());
    }
    Run(db, "INSERT INTO case_draft (case_id, author, made_at) VALUES (?, ?, ?)", id.text(), *person,
        first.at)
        .all();
    const std::int64_t number = db.last_row();
    auto version = first;
    version.version = 1;
    insert(db, number, version);
    return {};
  });
}

Result<DraftVersion> save_draft(Store& store, const CaseId& id, std::uint32_t after, DraftVersion next) {
  if (auto ok = check(id, next); !ok) return tl::unexpected(ok.error());
  Db& db = store.db();
  return db.write([&]() -> Result<DraftVersion> {
    const auto known = open_draft(db, id);
    if (!known) return tl::unexpected(known.error());
    const auto& latest = known->draft.latest;
    if (same_content(next, latest)) return latest;
    if (latest.version != after)
      return fail(Errc::conflict, "the draft of {} was saved elsewhere in between: it is at version {} now",
                  id.text(), latest.version);
    next.version = after + 1;
    insert(db, known->number, next);
    return next;
  });
}

Result<void> withdraw_draft(Store& store, const CaseId& id, base::Time at) {
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto known = open_draft(db, id);
    if (!known) return tl::unexpected(known.error());
    Run(db, "UPDATE case_draft SET withdrawn_at = ? WHERE number = ?", at, known->number).all();
    return {};
  });
}

Result<Draft> draft(Store& store, const CaseId& id) {
  return store.db().read([&]() -> Result<Draft> {
    auto known = open_draft(store.db(), id);
    if (!known) return tl::unexpected(known.error());
    return std::move(known->draft);
  });
}

std::vector<DraftVersion> versions_of(Store& store, const CaseId& id) {
  return store.db().read([&]() -> std::vector<DraftVersion> {
    const auto known = open_draft(store.db(), id);
    return known ? versions_of(store.db(), known->number) : std::vector<DraftVersion>{};
  });
}

std::vector<Draft> open_drafts(Store& store) {
  return store.db().read([&] {
    std::vector<Draft> all;
    for (auto& one :
         drafts_where(store.db(), "WHERE d.withdrawn_at IS NULL ORDER BY v.written_at DESC, d.number DESC"))
      all.push_back(std::move(one.draft));
    return all;
  });
}

bool has_looked(Store& store, const Draft& draft, const RaterId& rater) {
  return store.db().read([&] {
    return Run(store.db(),
               "SELECT 1 FROM audit e JOIN person p ON p.number = e.actor WHERE p.rater = ? AND e.deed = ? "
               "AND "
               "e.about = ? AND e.at >= ?",
               rater.text(), std::string(word(Deed::saw_draft)), draft.id.text(), draft.made)
        .next();
  });
}

std::vector<WrittenDraft> drafts_by(Store& store, const RaterId& author) {
  return store.db().read([&] {
    std::vector<WrittenDraft> all;
    for (auto& one : drafts_where(store.db(), "WHERE p.rater = ? ORDER BY d.number", author.text()))
      all.push_back({std::move(one.draft), versions_of(store.db(), one.number)});
    return all;
  });
}

}  // namespace evenhand::store
