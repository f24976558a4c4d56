#include "store/composed_sets.hpp"

#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

template <class... Values>
std::vector<ComposedSet> sets_where(Db& db, const std::string& condition, const Values&... values) {
  std::vector<ComposedSet> sets;
  Run run(db,
          "SELECT c.id, c.title, c.yaml, p.rater, c.made_at FROM composed_set c JOIN person p ON p.number = "
          "c.person WHERE " +
              condition + " ORDER BY c.number",
          values...);
  while (run.next())
    sets.push_back({SetId(run.text(0)), run.text(1), run.text(2), RaterId(run.text(3)), run.time(4)});
  return sets;
}

bool same_content(ComposedSet a, const ComposedSet& b) {
  a.made = b.made;
  return a == b;
}

}  // namespace

Result<void> add_set(Store& store, const ComposedSet& set) {
  if (auto ok = check_id("set", set.id.text()); !ok) return ok;
  if (auto ok = check_id("title", set.title); !ok) return ok;
  if (auto ok = check_id("rater", set.rater.text()); !ok) return ok;
  if (set.yaml.empty()) return fail(Errc::invalid, "set {}: it has no text", set.id.text());
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto known = sets_where(db, "c.id = ?", set.id.text());
    if (!known.empty()) {
      if (same_content(known.front(), set)) return {};
      return fail(Errc::conflict, "the id {} belongs to another set", set.id.text());
    }
    Run(db, "INSERT INTO composed_set (id, title, yaml, person, made_at) VALUES (?, ?, ?, ?, ?)",
        set.id.text(), set.title, set.yaml, ensure_person_number(db, set.rater, set.made), set.made)
        .all();
    return {};
  });
}

Result<ComposedSet> composed_set(Store& store, const SetId& id) {
  return store.db().read([&]() -> Result<ComposedSet> {
    auto found = sets_where(store.db(), "c.id = ?", id.text());
    if (found.empty()) return fail(Errc::not_found, "the store has no set {}", id.text());
    return std::move(found.front());
  });
}

Result<std::string> set_text(Store& store, const SetId& id) {
  return composed_set(store, id).map([](const ComposedSet& set) { return set.yaml; });
}

std::vector<ComposedSet> sets_of(Store& store, const RaterId& rater) {
  return store.db().read([&] { return sets_where(store.db(), "p.rater = ?", rater.text()); });
}

}  // namespace evenhand::store
