#include <string>

#include "report/agreement_text.hpp"
#include "report/text_table.hpp"

namespace evenhand::report {
namespace {

using agreement::Statistic;

struct Explanation {
  Statistic statistic;
  bool needs_key;
  const char* name;
  const char* text;
};

constexpr Explanation explanations[] = {
    {Statistic::disagreement, true, "Same score, within one",
     "The share of scores that equal the key's, or lie at most one level from it. The plainest number there "
     "is, "
     "and always shown. It misleads where nearly all cases sit at one level: two raters who always write "
     "down a 4 "
     "agree on most children who stand well."},
    {Statistic::disagreement, true, "Mean error, share of disagreement",
     "How far raters score above (+) or below (-) the key on average; and what part of all the points of "
     "disagreement an item accounts for. Errors up and down cancel in the first, not in the second."},
    {Statistic::kappa, false, "Kappa",
     "Agreement beyond what two raters would reach by chance with the levels they use, 0 for chance and 1 "
     "for "
     "perfect. With quadratic weights an error of two levels counts four times an error of one. It is low "
     "when "
     "nearly all cases are of one level, however well the raters agree: look at the shares beside it. Kappas "
     "of "
     "several items are averaged; one kappa from all items together would be high for a rater without any "
     "skill inside an item."},
    {Statistic::icc, false, "Intraclass correlation (ICC)",
     "The part of the variance of scores that comes from real differences between cases. ICC(2,1) counts a "
     "rater's severity as error, ICC(3,1) does not see it. Both are high when the cases differ a lot: a "
     "rater "
     "right on half of the items can reach .94 on a wide mix of children. So an ICC of totals never "
     "decides who is ready, and is compared only between groups that scored like cases."},
    {Statistic::sem, false, "SEM and MDC95",
     "The standard error of measurement says in points how far a score scatters around the one the case "
     "deserves; on 95 of 100 of these cases two raters differ by at most MDC95 points. They hold scoring "
     "error "
     "only: a child who does better on Tuesday is not in them, so this is not the change that a clinic can "
     "detect."},
    {Statistic::fleiss_kappa, false, "Fleiss' kappa, Krippendorff's alpha, Gwet's AC",
     "Three ways to take chance out of the agreement of several raters at once. They differ in what they "
     "take "
     "chance to be, and differ most where one level is common: Fleiss' kappa and alpha then fall, AC stays "
     "near "
     "the plain share. Alpha and AC use every score though some are missing. Their limits are about these "
     "very "
     "raters, not about others who might have scored."},
    {Statistic::kendall_w, false, "Kendall's W",
     "How alike raters rank the cases, 0 to 1. A rater who is severe throughout ranks like the others, so W "
     "does "
     "not see severity."},
    {Statistic::limits_of_agreement, false, "Limits of agreement",
     "Between these two numbers lie about 95 % of the differences of two raters, if the differences "
     "scatter evenly over the scale. Near the top of a scale they do not."},
    {Statistic::severity, false, "Severity",
     "How many points of an item score a rater gives less (-) or more (+) than the others would to the same "
     "cases, "
     "from a model that takes the cases and items apart. Against the key it is the rater's own error. Fewer "
     "cases "
     "make it shakier: the standard error is beside it."},
};

}  // namespace

std::string agreement_explained(agreement::StatisticSet only, bool with_key) {
  std::string text = "\nWhat the numbers mean, and when they mislead\n";
  for (const Explanation& e : explanations)
    if (only.has(e.statistic) && (with_key || !e.needs_key))
      text += std::string("  ") + e.name + "\n" + wrapped(e.text, 96, 4);
  return text;
}

}  // namespace evenhand::report
