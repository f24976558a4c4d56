"""Differences between the program and a library that reports/methods/library-differences.md explains.

A rule is narrow: which statistic, which library, which kind of table or pair of answers. Its name is a
heading of that page, so no rule stands without its explanation.
"""
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Callable


class Facts:
    """What is known of a table in exact arithmetic, worked out only where a difference asks for it."""

    def __init__(self, table):
        self.table = table

    @cached_property
    def complete(self):
        """Rows of the cases that every rater but the key scored."""
        names = [r for r in self.table.raters if r != self.table.key]
        cell = {(r, c): Fraction(s) for r, c, s in self.table.scores}
        cases = sorted({c for _, c in cell})
        return [[cell[r, c] for r in names] for c in cases if all((r, c) in cell for r in names)]

    @cached_property
    def zero_squares(self):
        """Which sums of squares of the complete cases are exactly 0: case, rater, residual, within."""
        rows = self.complete
        n, k = len(rows), len(rows[0])
        mean = sum(map(sum, rows)) / (n * k)
        of_case = [sum(row) / k for row in rows]
        of_rater = [sum(row[j] for row in rows) / n for j in range(k)]
        rest = any(rows[i][j] != of_case[i] + of_rater[j] - mean for i in range(n) for j in range(k))
        return {"case": all(m == mean for m in of_case), "rater": all(m == mean for m in of_rater),
                "residual": not rest, "within": all(v == row[0] for row in rows for v in row)}


    @cached_property
    def satterthwaite(self):
        """Degrees of freedom of the limits of ICC(2,1) (McGraw & Wong 1996, table 7)."""
        rows = [[float(v) for v in row] for row in self.complete]
        n, k = len(rows), len(rows[0])
        mean = sum(map(sum, rows)) / (n * k)
        of_case = [sum(row) / k - mean for row in rows]
        of_rater = [sum(row[j] for row in rows) / n - mean for j in range(k)]
        b = k * sum(m * m for m in of_case) / (n - 1)
        j = n * sum(m * m for m in of_rater) / (k - 1)
        e = sum((rows[i][c] - mean - of_case[i] - of_rater[c])**2
                for i in range(n) for c in range(k)) / ((n - 1) * (k - 1))
        icc = (b - e) / (b + (k - 1) * e + k * (j - e) / n)
        first, second = k * icc / (n * (1 - icc)) * j, (1 + k * icc * (n - 1) / (n * (1 - icc))) * e
        return (first + second)**2 / (first**2 / (k - 1) + second**2 / ((n - 1) * (k - 1)))

    @cached_property
    def all_alike(self):
        """Every score, the key's aside, is the same."""
        return len({Fraction(s) for r, _, s in self.table.scores if r != self.table.key}) == 1

    @cached_property
    def paired_cases(self):
        """Cases with two scores or more, the key's aside."""
        cases = [c for r, c, _ in self.table.scores if r != self.table.key]
        return len({c for c in cases if cases.count(c) > 1})

    @cached_property
    def ratings_to_spare(self):
        """Scores beyond those that place every case and rater; the key aside."""
        scores = [(r, c) for r, c, _ in self.table.scores if r != self.table.key]
        return len(scores) - len({r for r, _ in scores}) - len({c for _, c in scores}) + 1


@dataclass
class Asked:
    """A value of ours beside a library's; None where there is none. `own` looks another of ours up."""
    statistic: str
    ours: float
    theirs: float
    facts: Facts
    own: Callable

    def sibling(self, name):
        return self.own(self.statistic.rpartition(".")[0] + "." + name).value


def rounding_for_zero(a):
    zero = a.facts.zero_squares
    return a.ours is None and (zero["case"] or zero["residual"] or zero["within"])


def zero_error(a):
    """Our standard error (or null error) is 0; theirs the square root of rounding, of either sign."""
    null = a.statistic.endswith((".se0", ".z"))
    if a.sibling("se0" if null else "se") != 0:
        return False
    if a.statistic.endswith(".z"):
        return a.ours is None
    at = 0.0 if a.statistic.endswith((".se", ".se0")) else a.sibling("estimate")
    return a.theirs is None or abs(a.theirs - at) < 1e-5


def no_spread(a):
    return a.own("limits_of_agreement.sd").value == 0


def empty_pairs(a):
    """Some pair of categories never occurs: fewer degrees of freedom than q (q - 1) / 2, or none."""
    q = len(a.facts.table.categories)
    df = a.own("marginal_homogeneity.bowker.df").value
    return df is None or df < q * (q - 1) / 2


def no_residual(a):
    if a.own("components.reml.residual").value == 0:
        return True
    return a.ours is None and a.facts.ratings_to_spare <= 0


@dataclass
class Rule:
    name: str
    statistic: str
    library: str
    when: Callable  # Asked -> bool


RULES = [
    Rule("Mean squares that are zero", r"icc\..*", "psych", rounding_for_zero),
    Rule("Degrees of freedom near 0", r"icc\.ICC\(2,.\)\.(lower|upper)", "psych",
         lambda a: a.ours is None and a.facts.satterthwaite < 0.05),
    Rule("Standard errors that are zero", r"kappa\.[a-z]+\.(se|lower|upper|se0|z)", "", zero_error),
    Rule("Differences without spread", r"bias\.(lower|upper)", "R ", lambda a: no_spread(a) and a.theirs is None),
    Rule("Differences without spread", r"bias\.(lower|upper|p)", "SciPy", no_spread),
    Rule("Pairs of levels that never occur", r"marginal_homogeneity\.bowker\..*", "R ",
         lambda a: a.theirs is None and empty_pairs(a)),
    Rule("Pairs of levels that never occur", r"marginal_homogeneity\.bowker\..*", "statsmodels",
         lambda a: a.ours is None and empty_pairs(a)),
    Rule("Continuity correction of equal counts", r"marginal_homogeneity\.mcnemar\.(chi2|p)_corrected", "statsmodels",
         lambda a: a.own("marginal_homogeneity.mcnemar.chi2").value == 0),
    Rule("Scores that are all alike", r"(components\.reml|icc_reml)\..*", "lme4",
         lambda a: a.ours is None and a.facts.all_alike),
    Rule("Alpha of one case", r"krippendorff_alpha\..*", "numpy",
         lambda a: a.ours is None and a.theirs == 0 and a.facts.paired_cases == 1),
    Rule("Fits without residual", r"(components\.reml|icc_reml)\..*", "lme4", no_residual),
    Rule("Quantiles of t in SciPy", r"bias\.(lower|upper)", "SciPy",
         lambda a: abs(a.ours - a.theirs) < 1e-7 * (abs(a.sibling("estimate")) + abs(a.ours - a.sibling("estimate")))),
]
NAMES = {rule.name for rule in RULES}


def why_different(answer, asked):
    for rule in RULES:
        if (re.fullmatch(rule.statistic, answer["statistic"]) and answer["library"].startswith(rule.library)
                and rule.when(asked)):
            return rule.name
    return None


def not_in_page(path):
    page = path.read_text(encoding="utf-8") if path.exists() else ""
    headings = {line.lstrip("# ").strip() for line in page.splitlines() if line.startswith("#")}
    return sorted({rule.name for rule in RULES if rule.name not in headings})
