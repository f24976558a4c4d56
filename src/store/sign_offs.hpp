#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

class Db;

/// What an instructor wrote about a rater.
struct Remark {
  RaterId rater;
  std::optional<RaterId> author{};  ///< absent: erased since
  base::Time at;
  std::string text;

  friend bool operator==(const Remark&, const Remark&) = default;
};

/// Errors: invalid    no text, or more than 4,000 bytes
///         not_found  rater or author is not known
Result<void> add_remark(Store& store, const Remark& remark);

/// In order.
std::vector<Remark> remarks_of(Store& store, const RaterId& rater);
std::vector<Remark> remarks_by(Store& store, const RaterId& author);

/// A competency report as it was signed. Never changed: a correction is the next version, and both stay.
struct SignOff {
  RaterId rater;
  std::uint32_t version = 1;           ///< 1, 2, 3, ...: given by the store
  std::optional<RaterId> signed_by{};  ///< absent: erased since; the name stays
  std::string name{};                  ///< as the signer wrote it
  base::Time at;
  std::optional<base::Time> valid_until{};  ///< absent: the report is filed, and makes nobody ready
  std::string verdict{};                    ///< in the words of the report
  std::string why{};                        ///< of a correction, in a sentence; empty in the first version
  std::string standard{};                   ///< id
  std::string standard_fingerprint{};
  std::string data_fingerprint{};  ///< of the scores
  std::string program_version{};
  std::string report{};              ///< the bytes that were signed
  std::string report_fingerprint{};  ///< SHA-256 of them; given by the store
  std::string fingerprint{};         ///< SHA-256 of all of the above but `signed_by`; given by the store

  friend bool operator==(const SignOff&, const SignOff&) = default;
};

/// Keeps the report as the rater's next version, and gives it back complete.
/// Errors: invalid    no name, verdict, standard or report; it is valid until before it was signed; a later
/// version
///                    without a reason
///         not_found  rater or signer is not known
Result<SignOff> sign_off(Store& store, SignOff signed_off);

/// Errors: not_found  no such rater or version
Result<SignOff> sign_off_of(Store& store, const RaterId& rater, std::uint32_t version);

/// Every version, in order.
std::vector<SignOff> sign_offs_of(Store& store, const RaterId& rater);
std::vector<SignOff> sign_offs_by(Store& store, const RaterId& signer);

/// The latest version of each member of a group who has one, without the report itself; by the time until
/// which they are valid, those without last.
std::vector<SignOff> latest_sign_offs(Store& store, const GroupId& group);

/// Whether nothing of it was changed since it was signed: the report has its fingerprint, and so has all that
/// stands beside it. Needs the report (see `latest_sign_offs`).
bool is_intact(const SignOff& signed_off);

/// For `Store::check`: sign-offs whose content is not what was fingerprinted, versions with a gap.
void check_sign_offs(Db& db, std::vector<std::string>& findings);

}  // namespace evenhand::store
