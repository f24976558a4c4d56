#pragma once

#include <string>

#include "planning/plan.hpp"

namespace evenhand::report {

/// A plan for a terminal: the answer in one sentence, how it moves, what it comes to with other sizes, and
/// what was assumed.
std::string plan_text(const planning::IccPlan& plan, const planning::IccQuestion& question,
                      const planning::Simulation& simulation);
std::string plan_text(const planning::KappaPlan& plan, const planning::KappaQuestion& question,
                      const planning::Simulation& simulation);
/// The formula's answer with its caution, and for an ICC what such a study really comes to.
std::string plan_text(const planning::FormulaPlan& plan, const planning::FormulaQuestion& question,
                      const planning::Simulation& simulation);

/// "linear kappa", "quadratic kappa", "kappa".
std::string kappa_name(agreement::Weights weights);

}  // namespace evenhand::report
