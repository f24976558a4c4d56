#pragma once

#include <optional>
#include <vector>

#include "agreement/kappa.hpp"
#include "planning/study.hpp"

namespace evenhand::planning {

/// What is expected of one rater against the key, on one item over the cases of a set.
struct KappaExpected {
  std::vector<double> key_shares = {};  ///< of the key's levels in the set, lowest first
  double kappa = 0.75;                  ///< weighted as below; not used where `exact` is given
  std::optional<double> exact = {};     ///< share of scores equal to the key
  double one_off = 0.9;                 ///< of the scores that differ, the share that does so by one level
  agreement::Weights weights = agreement::Weights::linear;
};

/// A rater as chances: the score given the key's level.
struct KappaModel {
  std::vector<double> key_shares = {};
  std::vector<std::vector<double>> chances = {};  ///< [key level][score]
  agreement::AgreementWeights weights;
  double kappa;  ///< in an endless set
  double exact;
};

/// Errors go up and down equally often where both are possible, those of more than one level to each further
/// level equally often; where no level is one off, or none further, the others take its share. The share of
/// exact scores is the same at every level, and found from `kappa` where it is not given.
/// errors  invalid  shares at fault (see check in scale.hpp), exact or one_off outside [0, 1], a kappa of 1
/// or
///                  more, or one below what a rater has who is never exact
Result<KappaModel> kappa_model(const KappaExpected& expected);

/// Simulated sets of `cases` cases scored by one rater, with the limits of `agreement::kappa` (Fleiss, Cohen
/// & Everitt 1969). The key's levels stand in the set in the shares of the model, as a set is planned; they
/// are not drawn. A replicate keeps its scores as the set grows.
Achieved kappa_achieved(const KappaModel& model, std::size_t cases, const Goal& goal,
                        const Simulation& simulation);

}  // namespace evenhand::planning
