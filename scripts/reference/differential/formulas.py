"""Published formulas in numpy, for the statistics that no library of Debian 12 has.

Each names its paper, and is written in another algebraic form than the program's. None stands for no value.
"""
import itertools
import math

import numpy as np
from scipy import stats

Z = stats.norm.ppf(0.975)
NAN = float("nan")


def is_zero(x):
    """Of numbers about as large as 1: nothing but rounding."""
    return abs(x) < 1e-13


def t_quantile(p, df):
    """SciPy 1.10's own is good to about 1e-8 only; one step of Newton mends that."""
    t = stats.t.ppf(p, df)
    return t + (stats.t.sf(t, df) - (1 - p)) / stats.t.pdf(t, df)


def weights(q, kind):
    i = np.arange(q)
    d = np.abs(i[:, None] - i[None, :]) / max(1, q - 1)
    return {"none": np.eye(q), "linear": 1 - d, "quadratic": 1 - d**2}[kind]


def shares(counts):
    return counts / counts.sum(1, keepdims=True)


def gwet(counts, w):
    """Gwet KL (2014), Handbook of Inter-Rater Reliability, 4th ed., chapters 4-5: AC1/AC2, any number of
    ratings a case; variance conditional on the raters. Limits with t on cases - 1."""
    counts = counts[counts.sum(1) > 0]
    n, q = counts.shape
    r = counts.sum(1)
    two = r >= 2
    if not two.any() or q < 2:
        return None
    agreeing = np.array([sum(w[i, j] * row[i] * (row[j] - (i == j)) for i in range(q) for j in range(q) if row[i])
                         for row in counts])
    pa_i = np.where(two, agreeing / np.where(two, r * (r - 1), 1), 0.0)
    pa = pa_i[two].mean()
    pi = shares(counts).mean(0)
    factor = w.sum() / (q * (q - 1))
    pe = factor * (pi * (1 - pi)).sum()
    if is_zero(1 - pe):
        return None
    value = (pa - pe) / (1 - pe)
    pe_i = factor * (shares(counts) * (1 - pi)).sum(1)
    return with_error(value, pa_i, two, pe_i, pe, n)


def with_error(value, pa_i, two, pe_i, pe, n):
    if n < 2:
        return value, NAN, NAN, NAN
    own = np.where(two, n / two.sum() * (pa_i - pe) / (1 - pe), 0.0)
    linear = own - 2 * (1 - value) * (pe_i - pe) / (1 - pe)
    se = math.sqrt(((linear - value)**2).sum() / (n * (n - 1)))
    t = t_quantile(0.975, n - 1)
    return value, se, value - t * se, value + t * se


def brennan_prediger(counts, w):
    """Brennan RL, Prediger DJ (1981), Educ Psychol Meas 41:687-699; error as for the other coefficients."""
    counts = counts[counts.sum(1) > 0]
    n, q = counts.shape
    r = counts.sum(1)
    two = r >= 2
    pe = w.sum() / q**2
    if not two.any() or is_zero(1 - pe):
        return None
    agreeing = np.einsum("ni,ij,nj->n", counts, w, counts) - r
    pa_i = np.where(two, agreeing / np.where(two, r * (r - 1), 1), 0.0)
    return with_error((pa_i[two].mean() - pe) / (1 - pe), pa_i, two, np.full(n, pe), pe, n)


def fleiss_error(counts):
    """Fleiss' kappa in Gwet's form, any number of ratings a case, with his linearized error (Gwet 2014, ch. 5)."""
    n, q = counts.shape
    r = counts.sum(1)
    two = r >= 2
    if not two.any() or q < 2:
        return None
    pa_i = np.where(two, (counts * (counts - 1)).sum(1) / np.where(two, r * (r - 1), 1), 0.0)
    pi = shares(counts).mean(0)
    pe = (pi**2).sum()
    if is_zero(1 - pe):
        return None
    return with_error((pa_i[two].mean() - pe) / (1 - pe), pa_i, two, shares(counts) @ pi, pe, n)


def fleiss_null_error(counts):
    """Fleiss JL, Nee JCM, Landis JR (1979), Psychol Bull 86:974-977."""
    n = len(counts)
    m = counts.sum(1)[0]
    p = counts.sum(0) / (n * m)
    pq = (p * (1 - p)).sum()
    if is_zero(pq):
        return None
    return math.sqrt(2 * (pq**2 - (p * (1 - p) * (1 - 2 * p)).sum()) / (n * m * (m - 1))) / pq


def conger(complete, q):
    """Conger AJ (1980), Psychol Bull 88:322-328: chance agreement from each pair's own margins."""
    po, pe = [], []
    for a, b in itertools.combinations(range(complete.shape[1]), 2):
        x, y = complete[:, a], complete[:, b]
        po.append((x == y).mean())
        pe.append(np.bincount(x, minlength=q) @ np.bincount(y, minlength=q) / len(x)**2)
    po, pe = np.mean(po), np.mean(pe)
    return None if is_zero(1 - pe) else (po - pe) / (1 - pe)


def alpha(grid, values, metric):
    """Krippendorff K (2011), Computing Krippendorff's alpha-reliability: from the coincidence matrix."""
    units = [row[row >= 0] for row in grid]
    units = [u for u in units if len(u) >= 2]
    if not units:
        return None
    q = len(values)
    o = np.zeros((q, q))
    for u in units:
        c = np.bincount(u, minlength=q)
        o += (np.outer(c, c) - np.diag(c)) / (len(u) - 1)
    nc = o.sum(1)
    n = nc.sum()
    v = np.asarray(values, float)
    if metric == "nominal":
        d = 1 - np.eye(q)
    elif metric == "interval":
        d = (v[:, None] - v[None, :])**2
    elif metric == "ratio":
        total = v[:, None] + v[None, :]
        d = np.where(total == 0, 0.0, (v[:, None] - v[None, :]) / np.where(total == 0, 1, total))**2
    else:
        middle = np.cumsum(nc) - nc / 2
        d = (middle[:, None] - middle[None, :])**2
    expected = (np.outer(nc, nc) * d).sum() / (n - 1)
    return None if expected == 0 else 1 - (o * d).sum() / expected


def bland_altman(x, y):
    """Bland JM, Altman DG (1999), Stat Methods Med Res 8:135-160."""
    d = x - y
    n = len(d)
    mean, sd = d.mean(), d.std(ddof=1)
    se = sd * math.sqrt(1 / n + 1.96**2 / (2 * (n - 1)))
    t = t_quantile(0.975, n - 1)
    low, high = mean - 1.96 * sd, mean + 1.96 * sd
    return sd, low, high, low - t * se, low + t * se, high - t * se, high + t * se


def concordance(x, y):
    """Lin LI-K (1989), Biometrics 45:255-268, with the correction of 2000 (Biometrics 56:324-325)."""
    n = len(x)
    if n < 2:
        return None
    sx, sy = x.std(), y.std()
    shift = x.mean() - y.mean()
    divisor = sx**2 + sy**2 + shift**2
    if divisor == 0:
        return None
    r = np.corrcoef(x, y)[0, 1] if sx > 0 and sy > 0 else 0.0
    c = 2 * r * sx * sy / divisor
    if n < 3 or sx == 0 or sy == 0 or is_zero(1 - abs(c)):
        return c, NAN, NAN
    if is_zero(r):  # 0/0 in the printed formula, which tends to this
        var = (2 * sx * sy / divisor)**2 / (n - 2)
    else:
        u = shift / math.sqrt(sx * sy)
        var = ((1 - r**2) * c**2 * (1 - c**2) / r**2 + 2 * c**3 * (1 - c) * u**2 / r
               - c**4 * u**4 / (2 * r**2)) / (n - 2)
    half = Z * math.sqrt(var) / (1 - c**2)
    return c, math.tanh(math.atanh(c) - half), math.tanh(math.atanh(c) + half)
