#include "store/people.hpp"

#include "scores/score.hpp"

namespace evenhand::store {

Result<void> check_id(std::string_view kind, const std::string& text) {
  if (const auto flaw = scores::flaw_of_id(text))
    return fail(Errc::invalid, "the {} {}; {}", kind, flaw->what, flaw->mend);
  return {};
}

std::optional<std::int64_t> person_number(Db& db, const RaterId& rater) {
  Run run(db, "SELECT number FROM person WHERE rater = ?", rater.text());
  if (!run.next()) return std::nullopt;
  return run.number(0);
}

Result<std::int64_t> account_number(Db& db, const RaterId& rater) {
  Run run(db, "SELECT a.person FROM account a JOIN person p ON p.number = a.person WHERE p.rater = ?",
          rater.text());
  if (!run.next()) return fail(Errc::not_found, "the rater {} has no account", rater.text());
  return run.number(0);
}

std::int64_t ensure_person_number(Db& db, const RaterId& rater, base::Time at) {
  if (const auto known = person_number(db, rater)) return *known;
  Run(db, "INSERT INTO person (rater, added_at) VALUES (?, ?)", rater.text(), at).all();
  return db.last_row();
}

}  // namespace evenhand::store
