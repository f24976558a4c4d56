#!/usr/bin/env python3
"""What scikit-learn, statsmodels, SciPy and plain numpy make of the tables that scripts/differential drew.

usage: answers.py FOLDER        reads FOLDER/tables.csv and designs.csv, writes FOLDER/answers_python.csv

A row a value: table, raters (of a pair), statistic (named as `evenhand agreement --format csv` names it),
value, tolerance (closed, or iterative:SIZE), library. Where a library has the statistic it is asked; where
none of them has it, the published formula is (formulas.py; "numpy").
"""
import csv
import itertools
import math
import pathlib
import sys
import warnings

import numpy as np
import scipy
import sklearn
import statsmodels
from scipy import stats
from sklearn.metrics import cohen_kappa_score, mean_absolute_error, mean_squared_error
from statsmodels.stats.contingency_tables import SquareTable, mcnemar
from statsmodels.stats.inter_rater import cohens_kappa, fleiss_kappa
from statsmodels.stats.proportion import proportion_confint

import random_tables
from formulas import (alpha, bland_altman, brennan_prediger, concordance, conger, fleiss_error, fleiss_null_error, gwet,
                      is_zero, weights)

warnings.simplefilter("ignore")
np.seterr(all="ignore")
NUMPY = "numpy " + np.__version__
SCIPY = "SciPy " + scipy.__version__
SKLEARN = "scikit-learn " + sklearn.__version__
STATSMODELS = "statsmodels " + statsmodels.__version__
NAN = float("nan")
WEIGHTINGS = ("none", "linear", "quadratic")


class Answers:
    def __init__(self, out):
        self.out, self.table, self.raters = out, "", ""

    def put(self, library, statistic, compute):
        """Stores what compute() gives; an exception of a library is an answer too."""
        try:
            values = compute()
        except Exception:  # whatever a library throws at a table it cannot take
            values = "error"
        names = statistic if isinstance(statistic, tuple) else (statistic,)
        if isinstance(values, str) or values is None:
            values = [values or NAN] * len(names)
        elif len(names) == 1:
            values = [values]
        for name, value in zip(names, values):
            self.out.writerow([self.table, self.raters, name, text(value), "closed", library])


def text(value):
    if isinstance(value, str):
        return value
    return repr(float(value)) if math.isfinite(value) else "undefined"


# ---------------------------------------------------------------- several raters


def fleiss_category(counts, j):
    """Kappa of one category against all others: statsmodels' kappa of the table folded to two columns."""
    folded = np.column_stack([counts[:, j], counts.sum(1) - counts[:, j]])
    return fleiss_kappa(folded, method="fleiss")


def light(grid, q):
    """Light RJ (1971), Psychol Bull 76:365-377: mean of the kappas of all pairs (scikit-learn's kappas)."""
    kappas = []
    for a, b in itertools.combinations(range(grid.shape[1]), 2):
        both = (grid[:, a] >= 0) & (grid[:, b] >= 0)
        kappas.append(cohen_kappa_score(grid[both, a], grid[both, b], labels=range(q)) if both.any() else NAN)
    return np.mean(kappas)


def kendall(complete):
    """Kendall's W from SciPy's friedmanchisquare (raters are the blocks); F form of Kendall & Babington Smith."""
    n, m = complete.shape
    if n < 2:
        return None
    chi2, p = stats.friedmanchisquare(*complete)
    if not math.isfinite(chi2):
        return None
    w = chi2 / (m * (n - 1))
    df1 = n - 1 - 2 / m
    df2 = (m - 1) * df1
    sums = stats.rankdata(complete, axis=0).sum(1)
    uncorrected = 12 * ((sums - sums.mean())**2).sum() / (m**2 * (n**3 - n))
    if is_zero(1 - w):
        return w, uncorrected, chi2, n - 1, p, NAN, NAN, NAN, NAN
    f = (m - 1) * w / (1 - w)
    return w, uncorrected, chi2, n - 1, p, f, df1, df2, stats.f.sf(f, df1, df2)


def group(answers, t, grid):
    """grid: cases x raters, places in the category list, -1 where not scored; without the key."""
    q = len(t.categories)
    ordered, numeric = t.level != "nominal", is_numeric(t)
    values = [float(c) for c in t.categories] if numeric else list(range(q))
    seen = grid[(grid >= 0).any(1)]
    counts = np.array([np.bincount(row[row >= 0], minlength=q) for row in seen], float).reshape(len(seen), q)
    complete = grid[(grid >= 0).all(1)]
    few = q <= 250  # beyond that the program takes the scores for continuous
    if grid.shape[1] >= 2 and len(counts) and few:
        answers.put(NUMPY, tuple("fleiss_kappa." + s for s in ("estimate", "se", "lower", "upper")),
                    lambda: fleiss_error(counts))
    if grid.shape[1] >= 2 and len(complete) and few:
        full = np.array([np.bincount(row, minlength=q) for row in complete])
        answers.put(STATSMODELS, "fleiss_kappa.complete_cases.estimate", lambda: fleiss_kappa(full, method="fleiss"))
        if len(complete) == len(counts):
            answers.put(STATSMODELS, "fleiss_kappa.estimate", lambda: fleiss_kappa(full, method="fleiss"))
        answers.put(NUMPY, "fleiss_kappa.complete_cases.se0", lambda: fleiss_null_error(full))
        answers.put(NUMPY, "fleiss_kappa.complete_cases.z",
                    lambda: fleiss_kappa(full, method="fleiss") / (fleiss_null_error(full) or NAN))
        for j, name in enumerate(t.categories[:12]):
            answers.put(STATSMODELS, f"fleiss_kappa.categories.{name}.estimate", lambda: fleiss_category(full, j))
        answers.put(NUMPY, "conger_kappa.estimate", lambda: conger(complete, q))
    if grid.shape[1] >= 2:
        if few:
            answers.put(SKLEARN, "light_kappa.estimate", lambda: light(grid, q))
        metrics = ["nominal"] + (["ordinal"] if ordered else [])
        if numeric and ordered:
            metrics += ["interval"] + (["ratio"] if min(values) >= 0 else [])
        for metric in metrics:
            answers.put(NUMPY, f"krippendorff_alpha.{metric}.estimate", lambda: alpha(grid, values, metric))
        for kind in WEIGHTINGS if ordered else WEIGHTINGS[:1]:
            if few:
                answers.put(NUMPY, tuple(f"gwet.{kind}." + s for s in ("estimate", "se", "lower", "upper")),
                            lambda: gwet(counts, weights(q, kind)))
    if ordered and grid.shape[1] >= 2 and len(complete) != 2:  # SciPy refuses two cases; R does not
        answers.put(SCIPY, tuple("kendall_w." + s for s in
                                 ("estimate", "uncorrected", "chi2", "df", "p", "f", "f_df1", "f_df2", "f_p")),
                    lambda: kendall(complete))


# ---------------------------------------------------------------- two raters


def share_of(answers, name, agreeing, n):
    if n == 0:
        answers.put(NUMPY, f"{name}.estimate", lambda: None)
        return
    answers.put(NUMPY, f"{name}.estimate", lambda: agreeing / n)
    answers.put(STATSMODELS, (f"{name}.lower", f"{name}.upper"),
                lambda: proportion_confint(agreeing, n, method="wilson"))
    answers.put(STATSMODELS, (f"{name}.exact_lower", f"{name}.exact_upper"),
                lambda: proportion_confint(agreeing, n, method="beta"))


def kappas(answers, x, y, q, kind):
    cross = np.zeros((q, q))
    np.add.at(cross, (x, y), 1)

    def of_statsmodels():
        wt = None if kind == "none" else kind
        k = cohens_kappa(cross, wt=wt)
        return k.kappa, k.std_kappa, k.kappa_low, k.kappa_upp, k.std_kappa0, k.z_value

    answers.put(STATSMODELS, tuple(f"kappa.{kind}." + s for s in ("estimate", "se", "lower", "upper", "se0", "z")),
                of_statsmodels)
    answers.put(SKLEARN, f"kappa.{kind}.estimate",
                lambda: cohen_kappa_score(x, y, labels=range(q), weights=None if kind == "none" else kind)
                if len(x) else None)
    if kind == "none":
        answers.put(STATSMODELS, "kappa.none.max", lambda: cohens_kappa(cross).kappa_max)


def homogeneity(answers, x, y, q):
    cross = np.zeros((q, q))
    np.add.at(cross, (x, y), 1)
    both = cross + cross.T
    pairs = [(i, j) for i in range(q) for j in range(i + 1, q) if both[i, j] > 0]
    name = "marginal_homogeneity."

    def symmetry():
        result = SquareTable(cross, shift_zeros=False).symmetry()
        return result.statistic, result.df, result.pvalue

    # It counts every pair of categories, used or not, as a degree of freedom.
    answers.put(STATSMODELS, tuple(name + "bowker." + s for s in ("chi2", "df_all", "p_all")), symmetry)

    def bowker():
        """Bowker AH (1948), JASA 43:572-574, over the pairs of categories that were used."""
        if not pairs:
            return None
        chi2 = sum((cross[i, j] - cross[j, i])**2 / both[i, j] for i, j in pairs)
        return chi2, len(pairs), stats.chi2.sf(chi2, len(pairs))

    answers.put(NUMPY, tuple(name + "bowker." + s for s in ("chi2", "df", "p")), bowker)

    if q == 2:
        for names, correction, exact in ((("chi2", "p"), False, False), (("chi2_corrected", "p_corrected"), True, False),
                                         (("exact_p",), False, True)):
            def test():
                if not pairs:
                    return None
                result = mcnemar(cross, exact=exact, correction=correction)
                return result.pvalue if exact else (result.statistic, result.pvalue)
            answers.put(STATSMODELS, tuple(name + "mcnemar." + s for s in names), test)

    def stuart_maxwell():
        """Within each group of categories that are taken for each other, added up: across groups the
        covariance of the margins' differences is singular, and statsmodels would answer NaN or noise."""
        chi2 = df = 0.0
        for group in mixing(both):
            result = SquareTable(cross[np.ix_(group, group)], shift_zeros=False).homogeneity("stuart_maxwell")
            chi2, df = chi2 + result.statistic, df + result.df
        return (chi2, df, stats.chi2.sf(chi2, df)) if df else None

    def by_pseudo_inverse():
        """Stuart A (1955), Biometrika 42:412-416, over all categories."""
        d = cross.sum(1) - cross.sum(0)
        s = np.diag(both.sum(1)) - both
        df = np.linalg.matrix_rank(s)
        chi2 = d @ np.linalg.pinv(s, hermitian=True) @ d
        return (chi2, df, stats.chi2.sf(chi2, df)) if df else None

    three = tuple(name + "stuart_maxwell." + s for s in ("chi2", "df", "p"))
    answers.put(STATSMODELS, three, stuart_maxwell)
    if q <= 60:  # a pseudo-inverse of hundreds of levels loses digits
        answers.put(NUMPY, three, by_pseudo_inverse)


def mixing(both):
    """Groups of two and more categories joined by discordant cases."""
    left, groups = set(range(len(both))), []
    while left:
        group, new = set(), {left.pop()}
        while new:
            group |= new
            new = {j for i in new for j in left if both[i, j] > 0}
            left -= new
        if len(group) > 1:
            groups.append(sorted(group))
    return groups


def signed_rank_p(x, y):
    d = np.round(x - y, 9)
    d = d[d != 0]
    if not len(d):
        return None
    exact = len(d) < 50 and len(set(np.abs(d))) == len(d)
    return stats.wilcoxon(d, correction=not exact, mode="exact" if exact else "approx").pvalue


def pair(answers, t, first, second):
    """first, second: places in the category list of the same cases."""
    q = len(t.categories)
    ordered, numeric = t.level != "nominal", is_numeric(t)
    scale = np.array([float(c) for c in t.categories] if numeric else range(q), float)
    x, y = scale[first], scale[second]
    n = len(x)
    share_of(answers, "exact", int((first == second).sum()), n)
    if ordered:
        share_of(answers, "within_one", int((np.abs(x - y) <= 1 + 1e-9).sum()), n)
    if q <= 250:
        for kind in WEIGHTINGS if ordered else WEIGHTINGS[:1]:
            if n:
                kappas(answers, first, second, q, kind)
            counts = np.zeros((n, q))
            np.add.at(counts, (np.arange(n), first), 1)
            np.add.at(counts, (np.arange(n), second), 1)
            four = ("estimate", "se", "lower", "upper")
            answers.put(NUMPY, tuple(f"gwet.{kind}." + s for s in four), lambda: gwet(counts, weights(q, kind)))
            answers.put(NUMPY, tuple(f"brennan_prediger.{kind}." + s for s in four),
                        lambda: brennan_prediger(counts, weights(q, kind)))
            if kind == "none" and n:
                answers.put(STATSMODELS, "brennan_prediger.none.estimate",
                            lambda: fleiss_kappa(counts, method="randolph"))
        homogeneity(answers, first, second, q)
    if q == 2:
        both = [(int(((first == i) & (second == j)).sum())) for i in (0, 1) for j in (0, 1)]
        answers.put(NUMPY, "prevalence_index", lambda: abs(both[0] - both[3]) / n if n else None)
        answers.put(NUMPY, "bias_index", lambda: abs(both[1] - both[2]) / n if n else None)
    if not (ordered and numeric):
        return
    answers.put(NUMPY, "bias.estimate", lambda: (x - y).mean() if n else None)
    answers.put(SCIPY, ("bias.lower", "bias.upper"), lambda: stats.t.interval(
        0.95, n - 1, loc=(x - y).mean(), scale=stats.sem(x - y)) if n > 1 and np.ptp(x - y) > 0 else None)
    answers.put(SCIPY, "bias.p", lambda: stats.ttest_rel(x, y).pvalue if n > 1 else None)
    answers.put(SCIPY, "bias.wilcoxon_p", lambda: signed_rank_p(x, y))
    answers.put(SKLEARN, "bias.mae", lambda: mean_absolute_error(y, x))
    answers.put(SKLEARN, "bias.rmse", lambda: math.sqrt(mean_squared_error(y, x)))
    answers.put(NUMPY, "limits_of_agreement.bias", lambda: x.mean() - y.mean() if n else None)
    answers.put(NUMPY, tuple("limits_of_agreement." + s for s in
                             ("sd", "lower", "upper", "lower_ci.0", "lower_ci.1", "upper_ci.0", "upper_ci.1")),
                lambda: bland_altman(x, y) if n > 1 else None)
    answers.put(NUMPY, tuple("concordance." + s for s in ("estimate", "lower", "upper")),
                lambda: concordance(x, y))


def against_key(answers, t, grid, key):
    """All raters' scores beside the key's, as one column each."""
    place = np.array(key)[:, None] * np.ones((1, grid.shape[1]), int)
    both = (grid >= 0) & (place >= 0)
    score, truth = grid[both], place[both]
    if not len(score):
        return
    q = len(t.categories)
    answers.put(NUMPY, "disagreement.exact.estimate", lambda: (score == truth).mean())
    if q <= 250:
        for kind in WEIGHTINGS if t.level != "nominal" else WEIGHTINGS[:1]:
            answers.put(SKLEARN, f"disagreement.kappa.{kind}.estimate",
                        lambda: cohen_kappa_score(truth, score, labels=range(q),
                                                  weights=None if kind == "none" else kind))
    if t.level == "nominal":
        return
    v = np.array([float(c) for c in t.categories] if is_numeric(t) else range(q), float)
    answers.put(NUMPY, "disagreement.within_one.estimate", lambda: (np.abs(v[score] - v[truth]) <= 1 + 1e-9).mean())
    answers.put(NUMPY, "disagreement.mean_signed.estimate", lambda: (v[score] - v[truth]).mean())
    answers.put(SKLEARN, "disagreement.mae.estimate", lambda: mean_absolute_error(v[truth], v[score]))


def is_numeric(t):
    try:
        [float(c) for c in t.categories]
    except ValueError:
        return False
    return True


def main(folder):
    with open(folder / "answers_python.csv", "w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["table", "raters", "statistic", "value", "tolerance", "library"])
        answers = Answers(out)
        for t, pairs in random_tables.read(folder):
            place = {c: i for i, c in enumerate(t.categories)}
            cases = sorted({c for _, c, _ in t.scores})
            grid = {r: np.full(len(cases), -1) for r in t.raters}
            at = {c: i for i, c in enumerate(cases)}
            for rater, case, score in t.scores:
                grid[rater][at[case]] = place[score]
            answers.table, answers.raters = t.name, ""
            names = [r for r in t.raters if r != t.key]
            matrix = np.column_stack([grid[r] for r in names]) if names else np.zeros((len(cases), 0), int)
            if names:
                group(answers, t, matrix)
                if t.key:
                    against_key(answers, t, matrix, grid[t.key])
            for a, b in pairs:
                answers.raters = f"{a} | {b}"
                both = (grid[a] >= 0) & (grid[b] >= 0)
                pair(answers, t, grid[a][both], grid[b][both])


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]))
