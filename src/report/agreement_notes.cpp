#include "report/agreement_notes.hpp"

#include <algorithm>

#include <fmt/core.h>

#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

std::string joined(const std::vector<std::string>& names) {
  constexpr std::size_t most = 14;  // every item of a scale; pairs of raters come by the hundred
  std::string text;
  for (std::size_t i = 0; i < std::min(most, names.size()); ++i) text += (i == 0 ? "" : ", ") + names[i];
  if (names.size() > most) text += fmt::format(" and {} more", count(names.size() - most));
  return text;
}

}  // namespace

void AgreementNotes::undefined(const std::string& of, const std::string& statistic,
                               const agreement::Value& value) {
  if (value || value.why() == agreement::not_asked.text()) return;
  const std::string what = fmt::format("{}: {}", statistic, value.why());
  const auto found = std::ranges::find(notes_, what, &Note::what);
  if (found == notes_.end())
    notes_.push_back({what, {of}});
  else
    found->of.push_back(of);
}

std::string AgreementNotes::coefficient(const agreement::Estimate& estimate, int places) {
  const auto beyond = [](const agreement::Value& value) { return value && (*value < -1.0 || *value > 1.0); };
  beyond_one_ = beyond_one_ || beyond(estimate.estimate) || beyond(estimate.lower) || beyond(estimate.upper);
  return decimal_with_limits(estimate.estimate, estimate.lower, estimate.upper, places);
}

void AgreementNotes::kappa_beside_share(const std::string& of, const agreement::Value& kappa,
                                        const agreement::Value& same_score) {
  // Fair at best by the usual words for kappa, beside shares that nobody would call low.
  constexpr double low = 0.4, high = 0.8;
  if (kappa && same_score && *kappa < low && *same_score >= high) low_kappas_.push_back(of);
}

/// Feinstein AR, Cicchetti DV (1990). Journal of Clinical Epidemiology 43:543-549.
std::string AgreementNotes::paradox_text() const {
  if (low_kappas_.empty()) return "";
  return wrapped(
      fmt::format("Kappa is low although nearly all scores agree: nearly all cases are of one level, so that "
                  "raters who give it blindly would agree too. It tells of the mix of cases more than of "
                  "raters; look at the shares. What it could reach at most is in --format json. ({})",
                  joined(low_kappas_)),
      96, 2);
}

std::string AgreementNotes::text() const {
  if (notes_.empty()) return "";
  std::string text = "\nWithout a value, and why\n";
  for (const Note& note : notes_) text += wrapped(note.what + " (" + joined(note.of) + ")", 96, 2);
  return text;
}

}  // namespace evenhand::report
