#include "store/store.hpp"

#include <algorithm>
#include <array>
#include <filesystem>
#include <stdexcept>
#include <string_view>

#include "store/backup.hpp"
#include "store/check.hpp"
#include "store/db.hpp"
#include "store/migrate.hpp"
#include "store/people.hpp"
#include "store/score_rows.hpp"
#include "store/sittings.hpp"

namespace evenhand::store {
namespace {

namespace fs = std::filesystem;

/// An address of PostgreSQL, as a URI or as keywords ("host=db dbname=practice", libpq's own form).
bool is_postgresql(std::string_view address) {
  constexpr std::array beginnings{std::string_view("postgres://"), std::string_view("postgresql://"),
                                  std::string_view("host="),       std::string_view("hostaddr="),
                                  std::string_view("dbname="),     std::string_view("service="),
                                  std::string_view("user="),       std::string_view("port=")};
  return std::ranges::any_of(beginnings, [&](auto beginning) { return address.starts_with(beginning); });
}

Result<void> check_address(const std::string& address, OpenMode mode) {
  // The address may hold a password, so it is not repeated.
  if (is_postgresql(address))
    return fail(Errc::invalid, "PostgreSQL stores are not built yet; give the path of a file");
  if (address.empty()) return fail(Errc::invalid, "the store has no name; give the path of a file");
  std::error_code ignored;
  if (fs::is_directory(address, ignored))
    return fail(Errc::invalid, "{}: a folder; give the path of a file in it", address);
  const fs::path folder = fs::absolute(address).parent_path();
  if (!fs::is_directory(folder, ignored))
    return fail(Errc::not_found, "{}: no such folder; make it first", folder.string());
  const auto status = fs::status(address, ignored);
  if (status.type() == fs::file_type::not_found) {
    if (mode == OpenMode::existing) return fail(Errc::not_found, "{}: no such file", address);
    return {};
  }
  if (status.type() != fs::file_type::regular)
    return fail(Errc::invalid, "{}: not a store (no plain file)", address);
  const auto size = fs::file_size(address, ignored);
  if (mode == OpenMode::existing && size == 0)
    return fail(Errc::invalid, "{}: not a store (an empty file)", address);
  // SQLite's smallest page. It would take a file of one byte for an empty one.
  if (size > 0 && size < 512) return fail(Errc::invalid, "{}: not a store (no SQLite file)", address);
  return {};
}

}  // namespace

struct Store::State {
  Db db;
};

Store::Store(std::unique_ptr<State> state) : state_(std::move(state)) {}
Store::Store(Store&&) noexcept = default;
Store& Store::operator=(Store&&) noexcept = default;
Store::~Store() = default;

Result<Store> Store::open(const std::string& address, OpenMode mode, base::Time now) {
  if (auto ok = check_address(address, mode); !ok) return tl::unexpected(ok.error());
  try {
    // What SQLite would take for something else is a path all the same.
    const bool special = address.starts_with(':') || address.starts_with("file:");
    const std::string path = special ? "./" + address : address;
    auto state = std::make_unique<State>(State{Db(path, mode == OpenMode::create)});
    const auto number = schema_number(state->db);
    if (!number) return tl::unexpected(number.error());
    if (*number == 0 && mode == OpenMode::existing)
      return fail(Errc::invalid, "{}: not a store (a SQLite file with nothing in it)", address);
    if (auto ok = migrate(state->db, migrations(), now); !ok) return tl::unexpected(ok.error());
    return Store(std::move(state));
  } catch (const SQLite::Exception& error) {
    if (is_damage(error)) return fail(Errc::invalid, "{}", damage(address, error));
    throw unavailable(address, error);
  }
}

const std::string& Store::path() const { return state_->db.path(); }

Db& Store::db() { return state_->db; }

void Store::together(const std::function<void()>& f) {
  if (state_->db.writing()) throw std::logic_error("Store::together is called inside another transaction");
  state_->db.write([&] {
    f();
    return true;
  });
}

bool Store::all_or_nothing(const std::function<bool()>& f) { return state_->db.write(f); }

Result<void> Store::ensure_person(const RaterId& rater, base::Time at) {
  if (auto ok = check_id("rater", rater.text()); !ok) return ok;
  return state_->db.write([&]() -> Result<void> {
    ensure_person_number(state_->db, rater, at);
    return {};
  });
}

Result<SittingId> Store::begin_sitting(const Sitting& sitting) {
  return state_->db.write([&] { return begin(state_->db, sitting); });
}

std::optional<Sitting> Store::open_sitting_of(const RaterId& rater, const SetId& set, const RoundId& round) {
  return state_->db.read([&] { return find_open_sitting(state_->db, rater, set, round); });
}

Result<Sitting> Store::sitting(const SittingId& id) {
  return state_->db.read([&]() -> Result<Sitting> {
    const auto kept = find_sitting(state_->db, id);
    if (!kept) return fail(Errc::not_found, "there is no sitting {}", id.text());
    return kept->sitting;
  });
}

std::vector<Sitting> Store::sittings_of(const RaterId& rater) {
  return state_->db.read([&] {
    std::vector<Sitting> sittings;
    for (KeptSitting& kept : find_sittings(state_->db, {.rater = rater}))
      sittings.push_back(std::move(kept.sitting));
    std::stable_sort(sittings.begin(), sittings.end(),
                     [](const Sitting& a, const Sitting& b) { return a.begun > b.begun; });
    return sittings;
  });
}

Result<void> Store::finish_sitting(const SittingId& id, base::Time at) {
  return state_->db.write([&] { return finish(state_->db, id, at); });
}

Result<void> Store::append_answer(const SittingId& sitting, const Answer& answer) {
  if (auto ok = check_answer(sitting, answer); !ok) return ok;
  return state_->db.write([&] { return append(state_->db, sitting, answer); });
}

Result<std::vector<Answer>> Store::answers(const SittingId& sitting) {
  return revisions(sitting).map(in_force);
}

Result<std::vector<Answer>> Store::revisions(const SittingId& sitting) {
  return state_->db.read([&]() -> Result<std::vector<Answer>> {
    const auto kept = find_sitting(state_->db, sitting);
    if (!kept) return fail(Errc::not_found, "there is no sitting {}", sitting.text());
    return all_revisions(state_->db, kept->number);
  });
}

Result<Import> Store::import_scores(const scores::ScoreTable& table, const Source& source, base::Time at) {
  return state_->db.write([&] { return import_rows(state_->db, table, source, at); });
}

std::vector<Import> Store::imports() {
  return state_->db.read([&] { return list_imports(state_->db); });
}

Result<void> Store::undo_import(std::int64_t number, base::Time at) {
  return state_->db.write([&] { return undo(state_->db, number, at); });
}

Result<scores::ScoreTable> Store::scores(const ScoreFilter& filter) {
  return state_->db.read([&] { return find_scores(state_->db, filter); });
}

Result<Counts> Store::counts(const std::optional<RaterId>& rater) {
  return state_->db.read([&] { return count_rows(state_->db, rater); });
}

std::vector<std::string> Store::check() {
  return state_->db.read([&] { return find_faults(state_->db); });
}

Result<void> Store::backup(const std::string& path) {
  if (state_->db.writing()) throw std::logic_error("Store::backup is called inside a transaction");
  return back_up(state_->db, path);
}

bool Store::clear_log() { return !state_->db.writing() && state_->db.clear_log(); }

}  // namespace evenhand::store
