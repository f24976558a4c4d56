#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "planning/formulas.hpp"
#include "planning/icc_model.hpp"
#include "planning/kappa_model.hpp"
#include "planning/mdc_model.hpp"
#include "planning/study.hpp"

namespace evenhand::planning {

/// How far a search goes.
struct Reach {
  std::size_t cases = 500;
  std::size_t raters = 50;
};

enum class Sought {
  cases,    ///< for the raters given
  raters,   ///< for the cases given
  nothing,  ///< both are given: what do they come to
};

struct IccQuestion {
  IccExpected expected = {};
  Goal goal = {};
  std::optional<std::size_t> cases = {};
  std::optional<std::size_t> raters = {};  ///< where neither is given, cases are sought for 5 raters
  Reach reach = {};
};

/// One number of raters: the cases they would need, and what they come to with some numbers of cases.
struct IccRow {
  std::size_t raters;
  Needed cases = {};
  std::vector<Achieved> at = {};  ///< in the order of IccPlan::grid_cases
};

struct IccPlan {
  Sought sought = Sought::cases;
  std::optional<Needed> needed = {};  ///< nothing when nothing was sought
  Achieved answer = {};               ///< with the size needed (at the limit if that is not enough) or given
  std::vector<std::size_t> grid_cases = {};
  std::vector<IccRow> rows = {};  ///< more raters or more cases: 2, 3, 5, 10, 20 and those of the answer
};

/// How many cases, or raters, a study of ICC(2,1) takes, by simulation.
/// errors  invalid  what icc_model refuses; fewer than 3 cases or 2 raters given, or more than the reach; no
///                  replicate; a goal that cannot be (a width outside (0, 2), a limit that is not below the
///                  expected ICC, an assurance outside (0, 1))
/// Method: see icc_achieved and fewest.
Result<IccPlan> plan_icc(const IccQuestion& question, const Simulation& simulation);

struct MdcQuestion {
  MdcExpected expected = {};
  Goal goal = {};  ///< of the interval's width, in points
  std::optional<std::size_t> cases = {};
  std::optional<std::size_t> raters = {};  ///< where neither is given, cases are sought for 5 raters
  Reach reach = {};
};

/// How many cases, or raters, it takes to know in points how much two raters differ by scoring alone, by
/// simulation. In the answer widths and estimates are points.
/// errors  invalid  what `check` of MdcExpected refuses; sizes and replicates as plan_icc; a goal of a lower
///                  limit, a width not above 0
Result<IccPlan> plan_mdc(const MdcQuestion& question, const Simulation& simulation);

struct KappaQuestion {
  KappaExpected expected = {};
  Goal goal = {};
  std::optional<std::size_t> cases = {};  ///< given: what they come to
  Reach reach = {};
};

struct KappaPlan {
  double kappa = 0.0;  ///< that the rater has in an endless set, and the share of exact scores with it
  double exact = 0.0;
  std::optional<Needed> needed = {};
  Achieved answer = {};
  std::vector<Achieved> at = {};  ///< with 10, 20, 40 ... cases and those of the answer
};

/// How many cases it takes to know one rater's weighted kappa against the key, by simulation.
/// errors  as plan_icc, and what kappa_model refuses
Result<KappaPlan> plan_kappa(const KappaQuestion& question, const Simulation& simulation);

/// What a formula is asked. Each takes what its function in formulas.hpp takes.
struct FormulaQuestion {
  Formula formula = Formula::bonett;
  double expected = 0.8;   ///< ICC (bonett, walter) or kappa (donner, cantor)
  double null = 0.6;       ///< to be exceeded: all but bonett
  double width = 0.2;      ///< bonett
  std::size_t raters = 5;  ///< bonett, walter
  double first_yes = 0.5;  ///< share of yes: cantor by rater, donner of both (the first)
  double second_yes = 0.5;
  double alpha = 0.05;        ///< one-sided for walter and cantor; bonett's confidence is 1 - alpha
  double power = 0.8;         ///< all but bonett
  double rater_share = 0.25;  ///< for the check of bonett and walter
};

/// What a study of ICC(2,1) comes to that has the size of the formula's answer, once raters carry a share of
/// the error, which the formula leaves out.
struct FormulaCheck {
  Goal goal = {};          ///< what the formula promises, as a simulation asks for it
  double confidence;       ///< of the two-sided interval; Walter's one-sided test is one of 1 - 2 alpha
  Achieved achieved = {};  ///< scores without steps or ceiling
};

struct FormulaPlan {
  double formula_cases = 0.0;              ///< not rounded
  double added = 0.0;                      ///< see BonettCases
  std::size_t cases = 0;                   ///< both together, rounded up
  std::optional<FormulaCheck> check = {};  ///< of bonett and walter
};

/// errors  as the formula's own function
Result<FormulaPlan> plan_by_formula(const FormulaQuestion& question, const Simulation& simulation);

}  // namespace evenhand::planning
