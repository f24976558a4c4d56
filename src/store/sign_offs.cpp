#include "store/sign_offs.hpp"

#include <utility>

#include <fmt/format.h>

#include "base/fingerprint.hpp"
#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

constexpr std::size_t longest_remark = 4000;

const std::string columns =
    "SELECT p.rater, o.version, b.rater, o.name, o.signed_at, o.valid_until, o.verdict, o.why, o.standard, "
    "o.standard_fingerprint, o.data_fingerprint, o.program_version, o.report, o.report_fingerprint, "
    "o.fingerprint FROM sign_off o JOIN person p ON p.number = o.person LEFT JOIN person b ON b.number = "
    "o.signed_by ";

SignOff sign_off_in(const Run& row) {
  SignOff one{.rater = RaterId(row.text(0)),
              .version = static_cast<std::uint32_t>(row.number(1)),
              .name = row.text(3),
              .at = row.time(4),
              .valid_until = row.time_if_any(5),
              .verdict = row.text(6),
              .why = row.text(7),
              .standard = row.text(8),
              .standard_fingerprint = row.text(9),
              .data_fingerprint = row.text(10),
              .program_version = row.text(11),
              .report = row.text(12),
              .report_fingerprint = row.text(13),
              .fingerprint = row.text(14)};
  if (!row.null(2)) one.signed_by = RaterId(row.text(2));
  return one;
}

template <class... Values>
std::vector<SignOff> all_where(Db& db, const std::string& rest, const Values&... values) {
  std::vector<SignOff> all;
  Run run(db, columns + rest, values...);
  while (run.next()) all.push_back(sign_off_in(run));
  return all;
}

/// Over every field that may never change; each with its length, so that none can reach into the next.
std::string fingerprint_of(const SignOff& one) {
  base::Fingerprinter print;
  for (const std::string& field :
       {one.rater.text(), std::to_string(one.version), one.name, base::to_rfc3339(one.at),
        one.valid_until ? base::to_rfc3339(*one.valid_until) : std::string(), one.verdict, one.why,
        one.standard, one.standard_fingerprint, one.data_fingerprint, one.program_version, one.report})
    print.add(fmt::format("{}:{}\n", field.size(), field));
  return print.finish();
}

Result<std::int64_t> known(Db& db, const RaterId& rater) {
  if (const auto number = person_number(db, rater)) return *number;
  return fail(Errc::not_found, "the store does not know the rater {}", rater.text());
}

Result<std::optional<std::int64_t>> known(Db& db, const std::optional<RaterId>& rater) {
  if (!rater) return std::nullopt;
  return known(db, *rater).map([](std::int64_t number) { return std::optional(number); });
}

Result<void> check(const SignOff& one) {
  if (one.name.empty()) return fail(Errc::invalid, "a sign-off has the name of who signs");
  if (one.verdict.empty() || one.standard.empty() || one.report.empty())
    return fail(Errc::invalid, "a sign-off has a report with its verdict and its standard");
  if (one.valid_until && *one.valid_until <= one.at)
    return fail(Errc::invalid, "a sign-off is valid until after it was signed");
  return {};
}

std::vector<Remark> remarks_where(Db& db, const std::string& condition, const RaterId& rater) {
  std::vector<Remark> all;
  Run run(db,
          "SELECT p.rater, a.rater, r.written_at, r.text FROM remark r JOIN person p ON p.number = r.person "
          "LEFT JOIN person a ON a.number = r.author WHERE " +
              condition + " = ? ORDER BY r.number",
          rater.text());
  while (run.next()) {
    Remark remark{.rater = RaterId(run.text(0)), .at = run.time(2), .text = run.text(3)};
    if (!run.null(1)) remark.author = RaterId(run.text(1));
    all.push_back(std::move(remark));
  }
  return all;
}

}  // namespace

Result<void> add_remark(Store& store, const Remark& remark) {
  if (remark.text.empty() || remark.text.size() > longest_remark)
    return fail(Errc::invalid, "a remark has 1 to {} characters", longest_remark);
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto person = known(db, remark.rater);
    if (!person) return tl::unexpected(person.error());
    const auto author = known(db, remark.author);
    if (!author) return tl::unexpected(author.error());
    Run(db, "INSERT INTO remark (person, author, written_at, text) VALUES (?, ?, ?, ?)", *person, *author,
        remark.at, remark.text)
        .all();
    return {};
  });
}

std::vector<Remark> remarks_of(Store& store, const RaterId& rater) {
  return store.db().read([&] { return remarks_where(store.db(), "p.rater", rater); });
}

std::vector<Remark> remarks_by(Store& store, const RaterId& author) {
  return store.db().read([&] { return remarks_where(store.db(), "a.rater", author); });
}

Result<SignOff> sign_off(Store& store, SignOff one) {
  if (auto ok = check(one); !ok) return tl::unexpected(ok.error());
  Db& db = store.db();
  return db.write([&]() -> Result<SignOff> {
    const auto person = known(db, one.rater);
    if (!person) return tl::unexpected(person.error());
    const auto signer = known(db, one.signed_by);
    if (!signer) return tl::unexpected(signer.error());
    {
      Run last(db, "SELECT coalesce(max(version), 0) FROM sign_off WHERE person = ?", *person);
      last.next();
      one.version = static_cast<std::uint32_t>(last.number(0)) + 1;
    }
    if (one.version > 1 && one.why.empty())
      return fail(Errc::invalid, "a further version says why it was made");
    one.report_fingerprint = base::fingerprint(one.report);
    one.fingerprint = fingerprint_of(one);
    Run(db,
        "INSERT INTO sign_off (person, version, signed_by, name, signed_at, valid_until, verdict, why, "
        "standard, standard_fingerprint, data_fingerprint, program_version, report, report_fingerprint, "
        "fingerprint) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        *person, one.version, *signer, one.name, one.at, one.valid_until, one.verdict, one.why, one.standard,
        one.standard_fingerprint, one.data_fingerprint, one.program_version, one.report,
        one.report_fingerprint, one.fingerprint)
        .all();
    return one;
  });
}

Result<SignOff> sign_off_of(Store& store, const RaterId& rater, std::uint32_t version) {
  return store.db().read([&]() -> Result<SignOff> {
    auto found =
        all_where(store.db(), "WHERE p.rater = ? AND o.version = ?", rater.text(), std::uint32_t{version});
    if (found.empty()) return fail(Errc::not_found, "there is no version {} of that sign-off", version);
    return std::move(found.front());
  });
}

std::vector<SignOff> sign_offs_of(Store& store, const RaterId& rater) {
  return store.db().read(
      [&] { return all_where(store.db(), "WHERE p.rater = ? ORDER BY o.version", rater.text()); });
}

std::vector<SignOff> sign_offs_by(Store& store, const RaterId& signer) {
  return store.db().read(
      [&] { return all_where(store.db(), "WHERE b.rater = ? ORDER BY o.number", signer.text()); });
}

std::vector<SignOff> latest_sign_offs(Store& store, const GroupId& group) {
  return store.db().read([&] {
    auto all = all_where(
        store.db(),
        "WHERE o.version = (SELECT max(version) FROM sign_off WHERE person = o.person) AND o.person IN "
        "(SELECT m.account FROM group_member m JOIN practice_group g ON g.number = m.practice_group WHERE "
        "g.id = ?) ORDER BY o.valid_until IS NULL, o.valid_until, p.rater",
        group.text());
    for (SignOff& one : all) one.report.clear();
    return all;
  });
}

bool is_intact(const SignOff& one) {
  return base::fingerprint(one.report) == one.report_fingerprint && fingerprint_of(one) == one.fingerprint;
}

void check_sign_offs(Db& db, std::vector<std::string>& findings) {
  for (const SignOff& one : all_where(db, "ORDER BY p.rater, o.version")) {
    if (is_intact(one)) continue;
    if (base::fingerprint(one.report) != one.report_fingerprint)
      findings.push_back(
          fmt::format("sign-off of rater {}, version {}: the report is not the one that was signed",
                      one.rater.text(), one.version));
    else
      findings.push_back(fmt::format(
          "sign-off of rater {}, version {}: what stands beside the report (name, dates, verdict, "
          "standard, fingerprints) is not what was signed",
          one.rater.text(), one.version));
  }
  Run run(db,
          "SELECT p.rater, max(o.version), count(*) FROM sign_off o JOIN person p ON p.number = o.person "
          "GROUP BY o.person HAVING count(*) <> max(o.version)");
  while (run.next())
    findings.push_back(fmt::format("sign-offs of rater {}: the latest version is {}, but there are {}",
                                   run.text(0), run.number(1), run.number(2)));
}

}  // namespace evenhand::store
