#pragma once

#include <string>
#include <vector>

#include "agreement/agreement.hpp"

namespace evenhand::report {

/// What a text has to say of its numbers once they are all shown: which have no value and why, each reason
/// once for all that it is true of; and whether limits were shown that lie where no coefficient can.
class AgreementNotes {
 public:
  /// of  the measure, or the pair of raters
  void undefined(const std::string& of, const std::string& statistic, const agreement::Value& value);

  /// "0.83 (0.74 to 0.92)" of a coefficient that lies between -1 and 1.
  std::string coefficient(const agreement::Estimate& estimate, int places = 2);

  /// Notes a kappa below .4 beside scores of which four in five are the same.
  void kappa_beside_share(const std::string& of, const agreement::Value& kappa,
                          const agreement::Value& same_score);

  /// What such a kappa means; empty where there was none.
  std::string paradox_text() const;

  bool beyond_one() const { return beyond_one_; }
  /// "Without a value, and why"; empty where every number has one.
  std::string text() const;

 private:
  struct Note {
    std::string what;
    std::vector<std::string> of;
  };
  std::vector<Note> notes_;
  std::vector<std::string> low_kappas_;
  bool beyond_one_ = false;
};

}  // namespace evenhand::report
