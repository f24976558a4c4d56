#!/usr/bin/python3
"""Draws the files of scores that scripts/bench times, always the same for the same arguments.

  make_scores.py levels OUT RATERS CASES ITEMS     scores of 0..4 and their key; a rater errs by one level in
                                                   5 to 30 of 100 scores
  make_scores.py rounds OUT RATERS CASES ITEMS     the same in two rounds, of which the second has its own errors
  make_scores.py totals OUT RATERS CASES MISSING   totals to one decimal, of cases and raters that differ;
                                                   MISSING is the share left out at random
"""
import random
import sys

RANDOM = random.Random(20261125)


def levels(out, raters, cases, items, rounds=("",)):
    draw = RANDOM.random
    key = [RANDOM.choices(range(5), (10, 12, 15, 23, 40))[0] for _ in range(cases * items)]
    places = [f",c{c + 1:03d},{i + 1}," for c in range(cases) for i in range(items)]
    # What each level becomes: as it is, one higher, one lower.
    texts = [(f"{k}\n", f"{min(4, k + 1)}\n", f"{max(0, k - 1)}\n") for k in key]
    out.write("round,rater,case,item,score\n" if rounds[0] else "rater,case,item,score\n")
    right = [RANDOM.uniform(0.7, 0.95) for _ in range(raters)]
    for begin in rounds:
        out.write("".join(f"{begin}key{place}{text[0]}" for place, text in zip(places, texts)))
        for r in range(raters):
            name, half = f"{begin}r{r + 1:04d}", (1.0 + right[r]) / 2.0
            out.write("".join([name + place + text[0 if u < right[r] else 1 if u < half else 2]
                               for place, text in zip(places, texts) for u in (draw(),)]))


def totals(out, raters, cases, missing):
    severity = [RANDOM.gauss(0.0, 1.0) for _ in range(raters)]
    out.write("rater,case,score\n")
    for c in range(cases):
        true = RANDOM.gauss(40.0, 3.0)
        for r in range(raters):
            score = true + severity[r] + RANDOM.gauss(0.0, 2.5)
            if RANDOM.random() >= missing:
                out.write(f"r{r + 1:03d},c{c + 1:04d},{score:.1f}\n")


def main():
    kind, path, *sizes = sys.argv[1:]
    with open(path, "w", encoding="ascii") as out:
        if kind == "levels":
            levels(out, *map(int, sizes))
        elif kind == "rounds":
            levels(out, *map(int, sizes), ("2025,", "2026,"))
        elif kind == "totals":
            totals(out, int(sizes[0]), int(sizes[1]), float(sizes[2]))
        else:
            sys.exit(__doc__)


if __name__ == "__main__":
    main()
