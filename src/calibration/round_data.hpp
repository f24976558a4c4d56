#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "agreement/agreement.hpp"
#include "base/error.hpp"
#include "base/id.hpp"
#include "calibration/key_facts.hpp"
#include "scores/resolve.hpp"

namespace evenhand::calibration {

/// One round laid out for counting: raters and cases by id, so that their order in a file changes no digit;
/// the key apart from the raters.
class RoundData {
 public:
  static constexpr std::int16_t none = -1;

  /// items  the order of the items; the round's own where empty
  /// Errors: invalid  the round has other items; more categories than an item can have
  static Result<RoundData> of(const scores::Resolved& round, std::span<const ItemId> items = {});

  std::size_t raters() const { return raters_.size(); }
  std::size_t cases() const { return cases_.size(); }
  std::size_t items() const { return items_.size(); }
  std::size_t levels() const { return values_.size(); }
  bool has_key() const { return has_key_; }
  /// The categories are numbers, or stand for ranks: there are distances.
  bool numeric() const { return numeric_; }
  agreement::Level level() const { return level_; }

  const RoundId& round() const { return round_; }
  const std::vector<RaterId>& rater_ids() const { return raters_; }
  const std::vector<CaseId>& case_ids() const { return cases_; }
  const std::vector<ItemId>& item_ids() const { return items_; }
  const std::vector<std::string>& categories() const { return categories_; }
  /// Numbers of the categories; ranks where they are words.
  const std::vector<double>& values() const { return values_; }

  /// Scores of one rater on one item, case by case: the category, `none` without one. Skip fills included.
  std::span<const std::int16_t> row(std::size_t item, std::size_t rater) const {
    return std::span(cells_).subspan((item * raters() + rater) * cases(), cases());
  }
  std::int16_t at(std::size_t item, std::size_t rater, std::size_t case_) const {
    return cells_[(item * raters() + rater) * cases() + case_];
  }
  /// Filled in by the skip rule: in the total, no score of the item.
  bool filled(std::size_t item, std::size_t rater, std::size_t case_) const {
    return !filled_.empty() && filled_[(item * raters() + rater) * cases() + case_];
  }
  /// A score of the item itself.
  std::int16_t given(std::size_t item, std::size_t rater, std::size_t case_) const {
    return filled(item, rater, case_) ? none : at(item, rater, case_);
  }
  /// The rater has a row for some item of the case.
  bool began(std::size_t rater, std::size_t case_) const { return began_[rater * cases() + case_] != 0; }
  /// Anybody has a row for the item of the case.
  bool asked(std::size_t item, std::size_t case_) const { return asked_[item * cases() + case_] != 0; }

  /// The key's category, `none` without one; skip fills included.
  std::int16_t key(std::size_t item, std::size_t case_) const {
    return has_key_ ? keys_[item * cases() + case_] : none;
  }
  bool key_filled(std::size_t item, std::size_t case_) const {
    return has_key_ && key_filled_[item * cases() + case_] != 0;
  }
  /// The level that a score of the item is held against; `none` where it is held against nothing.
  std::int16_t item_key(std::size_t item, std::size_t case_) const {
    return key_filled(item, case_) ? none : key(item, case_);
  }
  /// In the total of the case: with a keyed level, or without any key, with a score of somebody.
  bool in_total(std::size_t item, std::size_t case_) const { return in_total_[item * cases() + case_] != 0; }

  std::size_t scores() const { return scores_; }      ///< of raters, fills included
  std::size_t no_score() const { return no_score_; }  ///< asked of a rater who began the case, and not given

  /// The same for the statistics of `agreement`; the key is the last rater.
  /// settled  keys that stand in it, by item * cases + case; empty: all
  agreement::ScoreMatrix matrix(std::span<const std::uint8_t> settled = {}) const;

 private:
  void fill_from(const scores::Resolved& round, std::span<const std::size_t> raters,
                 std::span<const std::size_t> cases, std::span<const std::size_t> items);
  void set_key(const scores::Resolved& round, std::span<const std::size_t> cases,
               std::span<const std::size_t> items);
  void count();

  RoundId round_;
  std::vector<RaterId> raters_;
  std::vector<CaseId> cases_;
  std::vector<ItemId> items_;
  std::vector<std::string> categories_;
  std::vector<double> values_;
  bool has_key_ = false, numeric_ = false;
  agreement::Level level_ = agreement::Level::ordinal;
  std::vector<std::int16_t> cells_, keys_;
  std::vector<bool> filled_;  ///< empty when nothing is
  std::vector<std::uint8_t> began_, asked_, key_filled_, in_total_;
  std::size_t scores_ = 0, no_score_ = 0;
};

/// Whether scores of a case-item are held against anybody: a settled key, by item * cases + case. Where the
/// facts are not known, a key counts as settled.
std::vector<std::uint8_t> settled_keys(const RoundData& data, std::span<const std::optional<KeyFacts>> facts);

/// Whether the criteria leave a case-item open (a gray key), likewise: a ruling changes what raters give
/// there.
std::vector<std::uint8_t> open_keys(const RoundData& data, std::span<const std::optional<KeyFacts>> facts);

/// The facts of every case-item, by item * cases + case; empty where there are none to ask.
std::vector<std::optional<KeyFacts>> facts_of(const RoundData& data, const KeyFactsOf& facts);

}  // namespace evenhand::calibration
