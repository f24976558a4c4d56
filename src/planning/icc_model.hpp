#pragma once

#include "planning/scale.hpp"
#include "planning/study.hpp"

namespace evenhand::planning {

/// What is expected of the scores of a study of ICC(2,1).
struct IccExpected {
  double icc = 0.8;           ///< of the scores as they are given, steps and ceiling included
  double rater_share = 0.25;  ///< share of the error variance that is lasting difference between raters
  ScoreScale scale = {};      ///< of one score; a total has no steps
};

/// Cases, raters and the rest as independent normal parts of a latent value with variance 1, which the scale
/// cuts into scores.
struct IccModel {
  double icc;  ///< of the scores
  CutNormal scale;
  double case_sd;
  double rater_sd;
  double rest_sd;
};

/// Parts of the latent value that give the *scores* the expected ICC(2,1) and the expected share of raters in
/// the error. Steps and ceiling take from both, so the latent ICC is higher than the expected one. The share
/// of a part in the variance of the scores is that of the mean score given the part (the case component of
/// the scores' own two-way random model; what remains, interaction of case and rater included, is residual).
/// errors  invalid  ICC outside (0, 1), share outside [0, 1], a scale at fault (see check), or a share of
///                  raters that no raters have on this scale: rounding to steps is an error of its own
Result<IccModel> icc_model(const IccExpected& expected);

/// Simulated studies in which each of `raters` raters scores each of `cases` cases, with the limits of
/// ICC(2,1) that `agreement::icc` gives (Shrout & Fleiss 1979; McGraw & Wong 1996).
/// A replicate keeps its cases and raters as the study grows in either direction.
/// Pre-condition: two cases and two raters at least.
/// cost  O(replicates cases raters)
///
/// After Doros G, Lew R (2010). American Journal of Biostatistics 1:1-8, who simulate the average width for
/// continuous scores; steps and ceiling are our own addition.
Achieved icc_achieved(const IccModel& model, std::size_t cases, std::size_t raters, const Goal& goal,
                      const Simulation& simulation);

}  // namespace evenhand::planning
