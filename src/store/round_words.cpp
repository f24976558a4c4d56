#include "store/round_words.hpp"

#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

template <class... Values>
std::vector<RoundWords> words_where(Db& db, const std::string& condition, const Values&... values) {
  std::vector<RoundWords> all;
  Run run(
      db,
      "SELECT r.id, w.field, w.words, p.rater, w.written_at FROM round_words w JOIN round r ON r.number = "
      "w.round LEFT JOIN person p ON p.number = w.written_by WHERE " +
          condition + " ORDER BY w.number",
      values...);
  while (run.next()) {
    all.push_back({RoundId(run.text(0)), run.text(1), run.text(2), {}, run.time(4)});
    if (!run.null(3)) all.back().by = RaterId(run.text(3));
  }
  return all;
}

std::optional<std::int64_t> round_number(Db& db, const RoundId& id) {
  Run run(db, "SELECT number FROM round WHERE id = ?", id.text());
  if (!run.next()) return std::nullopt;
  return run.number(0);
}

/// Never written counts as empty.
std::string in_force(Db& db, std::int64_t round, const std::string& field) {
  Run run(db, "SELECT words FROM round_words WHERE round = ? AND field = ? ORDER BY number DESC LIMIT 1",
          round, field);
  return run.next() ? run.text(0) : std::string();
}

}  // namespace

Result<bool> write_words(Store& store, const RoundWords& words) {
  if (auto ok = check_id("field", words.field); !ok) return tl::unexpected(ok.error());
  if (words.words.size() > longest_words)
    return fail(Errc::invalid, "the field {} has {} bytes; it takes up to {}", words.field,
                words.words.size(), longest_words);
  Db& db = store.db();
  // Nothing written is no fault: `write` keeps whatever is no error.
  return db.write([&]() -> Result<bool> {
    const auto round = round_number(db, words.round);
    if (!round) return fail(Errc::not_found, "there is no round {}", words.round.text());
    std::optional<std::int64_t> by;
    if (words.by) {
      by = person_number(db, *words.by);
      if (!by) return fail(Errc::not_found, "there is no rater {}", words.by->text());
    }
    if (in_force(db, *round, words.field) == words.words) return false;
    Run(db, "INSERT INTO round_words (round, field, words, written_by, written_at) VALUES (?, ?, ?, ?, ?)",
        *round, words.field, words.words, by, words.at)
        .all();
    return true;
  });
}

std::vector<RoundWords> words_of(Store& store, const RoundId& round) {
  return store.db().read([&] { return words_where(store.db(), "r.id = ?", round.text()); });
}

std::vector<RoundWords> words_by(Store& store, const RaterId& writer) {
  return store.db().read([&] { return words_where(store.db(), "p.rater = ?", writer.text()); });
}

}  // namespace evenhand::store
