#pragma once

#include <iosfwd>

#include "planning/plan.hpp"

namespace evenhand::report {

// A plan as data. JSON has "question" (everything assumed), "answer" and what other sizes come to; a number
// beyond the limit is null, with the reason beside it. CSV has a row for the answer and one for each size.

void write_plan_json(std::ostream& out, const planning::IccPlan& plan, const planning::IccQuestion& question,
                     const planning::Simulation& simulation);
void write_plan_json(std::ostream& out, const planning::KappaPlan& plan,
                     const planning::KappaQuestion& question, const planning::Simulation& simulation);
void write_plan_json(std::ostream& out, const planning::FormulaPlan& plan,
                     const planning::FormulaQuestion& question, const planning::Simulation& simulation);

void write_plan_csv(std::ostream& out, const planning::IccPlan& plan);
void write_plan_csv(std::ostream& out, const planning::KappaPlan& plan);
void write_plan_csv(std::ostream& out, const planning::FormulaPlan& plan);

}  // namespace evenhand::report
