#include "store/department_texts.hpp"

#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

const std::string text_columns =
    "SELECT t.kind, t.name, t.yaml, t.why, p.rater, t.written_at FROM department_text t LEFT JOIN person p "
    "ON "
    "p.number = t.written_by ";

TextKind kind_named(std::string_view name) {
  for (const TextKind kind : {TextKind::set, TextKind::standard, TextKind::the_case, TextKind::instrument})
    if (word(kind) == name) return kind;
  return TextKind::rulings;  // the schema lets in no other word
}

template <class... Values>
std::vector<DepartmentText> texts_where(Db& db, const std::string& rest, const Values&... values) {
  std::vector<DepartmentText> texts;
  Run run(db, text_columns + rest, values...);
  while (run.next()) {
    texts.push_back({kind_named(run.text(0)), run.text(1), run.text(2), run.text(3), {}, run.time(5)});
    if (!run.null(4)) texts.back().by = RaterId(run.text(4));
  }
  return texts;
}

/// Nothing: no such file, or it was taken out.
std::optional<std::string> yaml_in_force(Db& db, TextKind kind, const std::string& name) {
  Run run(db, "SELECT yaml FROM department_text WHERE kind = ? AND name = ? ORDER BY number DESC LIMIT 1",
          std::string(word(kind)), name);
  if (!run.next()) return std::nullopt;
  auto yaml = run.text(0);
  return yaml.empty() ? std::nullopt : std::optional(std::move(yaml));
}

}  // namespace

std::string_view word(TextKind kind) {
  switch (kind) {
    case TextKind::rulings:
      return "rulings";
    case TextKind::set:
      return "set";
    case TextKind::standard:
      return "standard";
    case TextKind::the_case:
      return "case";
    case TextKind::instrument:
      break;
  }
  return "instrument";
}

Result<void> write_text(Store& store, const DepartmentText& text) {
  if (auto ok = check_id("file", text.name); !ok) return ok;
  if (text.why.empty()) return fail(Errc::invalid, "{}: a change has a reason", text.name);
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto known = yaml_in_force(db, text.kind, text.name);
    if (text.yaml.empty() && !known)
      return fail(Errc::not_found, "there is no file {} of the department's", text.name);
    if (known == text.yaml) return {};
    std::optional<std::int64_t> by;
    if (text.by) {
      by = person_number(db, *text.by);
      if (!by) return fail(Errc::not_found, "there is no rater {}", text.by->text());
    }
    Run(db,
        "INSERT INTO department_text (kind, name, yaml, why, written_by, written_at) VALUES (?, ?, ?, ?, ?, "
        "?)",
        std::string(word(text.kind)), text.name, text.yaml, text.why, by, text.at)
        .all();
    return {};
  });
}

std::vector<DepartmentText> texts_in_force(Store& store) {
  return texts_in_force_at(store, base::Time::max());
}

std::vector<DepartmentText> texts_in_force_at(Store& store, base::Time at) {
  return store.db().read([&] {
    return texts_where(
        store.db(),
        "WHERE t.yaml <> '' AND t.written_at <= ?1 AND NOT EXISTS (SELECT 1 FROM department_text l WHERE "
        "l.kind = t.kind AND l.name = t.name AND l.number > t.number AND l.written_at <= ?1) ORDER BY "
        "t.kind, "
        "(SELECT min(f.number) FROM department_text f WHERE f.kind = t.kind AND f.name = t.name)",
        at);
  });
}

std::vector<DepartmentText> all_texts(Store& store) {
  return store.db().read([&] { return texts_where(store.db(), "ORDER BY t.number"); });
}

}  // namespace evenhand::store
