#!/usr/bin/python3
"""What one would write in Python for raters beside a key: per rater and item, and per rater over all items,
the share of scores that agree exactly and within one level, kappa of three weightings, and mean difference.

  agreement.py whole-sklearn FILE OUT      CSV to JSON, cohen_kappa_score pair by pair
  agreement.py whole-numpy FILE OUT        CSV to JSON, every pair at once in numpy
  agreement.py reading FILE RUNS           pandas.read_csv alone, timed
  agreement.py kappa FILE RUNS             the kappas alone, data in memory, timed

The timed ones print {"seconds": [...], "processor": [...], "checks": {...}}. Estimates only: no errors, no limits.
pandas 1.5.3, scikit-learn 1.2.1, numpy 1.24.2.
"""
import json
import sys
import time

import numpy as np
import pandas as pd

LEVELS = 5


def cube(path):
    """Scores as items x raters x cases, and the key as items x cases; the file is complete."""
    scores = pd.read_csv(path)
    rater, raters = pd.factorize(scores["rater"])
    case, cases = pd.factorize(scores["case"])
    item, items = pd.factorize(scores["item"])
    table = np.full((len(items), len(raters), len(cases)), -1, dtype=np.int8)
    table[item, rater, case] = scores["score"].to_numpy()
    assert (table >= 0).all()
    key = list(raters).index("key")
    names = [name for name in raters if name != "key"]
    return np.delete(table, key, axis=1), table[:, key, :], names, [str(i) for i in items]


def kappas(scores, key):
    """Unweighted, linear and quadratic kappa of every item and rater: three arrays items x raters."""
    items, raters, cases = scores.shape
    cells = scores.astype(np.int64) * LEVELS + key[:, None, :]
    pair = np.arange(items * raters).reshape(items, raters, 1) * LEVELS * LEVELS
    counts = np.bincount((cells + pair).ravel(), minlength=items * raters * LEVELS * LEVELS)
    table = counts.reshape(items, raters, LEVELS, LEVELS) / cases
    chance = table.sum(axis=3)[..., :, None] * table.sum(axis=2)[..., None, :]
    apart = np.abs(np.subtract.outer(np.arange(LEVELS), np.arange(LEVELS)))
    with np.errstate(invalid="ignore", divide="ignore"):
        return [1.0 - (table * w).sum(axis=(2, 3)) / (chance * w).sum(axis=(2, 3))
                for w in (apart > 0, apart, apart ** 2)]


def kappas_one_by_one(scores, key):
    from sklearn.metrics import cohen_kappa_score
    items, raters, _ = scores.shape
    made = np.empty((3, items, raters))
    for w, weights in enumerate((None, "linear", "quadratic")):
        for i in range(items):
            for r in range(raters):
                made[w, i, r] = cohen_kappa_score(scores[i, r], key[i], labels=range(LEVELS), weights=weights)
    return list(made)


def whole(path, out, kappas_of):
    scores, key, names, items = cube(path)
    apart = scores.astype(np.int16) - key[:, None, :]
    exact, within_one, bias = (apart == 0).mean(axis=2), (np.abs(apart) <= 1).mean(axis=2), apart.mean(axis=2)
    by_weights = kappas_of(scores, key)
    numbers = {"exact": exact, "within_one": within_one, "bias": bias,
               **dict(zip(("kappa", "kappa_linear", "kappa_quadratic"), by_weights))}
    result = {"items": {item: [{"rater": name, **{n: v[i, r].item() for n, v in numbers.items()}}
                               for r, name in enumerate(names)] for i, item in enumerate(items)},
              "across_items": [{"rater": name, **{n: np.nanmean(v[:, r]).item() for n, v in numbers.items()}}
                               for r, name in enumerate(names)]}
    with open(out, "w", encoding="utf-8") as file:
        json.dump(result, file)


def timed(work, runs, check):
    seconds, processor, made = [], [], None
    for _ in range(runs):
        made = None
        start, used = time.perf_counter(), time.process_time()
        made = work()
        seconds.append(time.perf_counter() - start)
        processor.append(time.process_time() - used)
    print(json.dumps({"seconds": seconds, "processor": processor, "checks": check(made)}))


def check_kappas(made):
    means = [float(np.nanmean(values)) for values in made]
    return {"pairs": made[0].size, **dict(zip(("mean_kappa", "mean_linear", "mean_quadratic"), means))}


def main():
    work, path, third = sys.argv[1:]
    if work == "whole-sklearn":
        whole(path, third, kappas_one_by_one)
    elif work == "whole-numpy":
        whole(path, third, kappas)
    elif work == "reading":
        timed(lambda: pd.read_csv(path), int(third), lambda made: {"rows": len(made)})
    elif work == "kappa":
        scores, key, _, _ = cube(path)
        timed(lambda: kappas(scores, key), int(third), check_kappas)
    else:
        sys.exit(__doc__)


if __name__ == "__main__":
    main()
