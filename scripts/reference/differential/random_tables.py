"""Draws random tables of scores for scripts/differential, and reads and writes them.

Cases and raters follow a simple model: a case has an ability, a rater a severity, a score the sum
of both and noise, cut into levels. On top come what real tables have: ceilings, gaps, raters who give
one score only, levels that nobody uses, words for scores. Only random() of the standard library is
used, so a seed gives the same tables on every machine.
"""
import csv
import math
import random
from dataclasses import dataclass, field

WORDS = ["absent", "poor", "fair", "good", "very good", "full"]
COLORS = ["red", "green", "blue", "ochre", "white"]


@dataclass
class Table:
    name: str
    level: str  # nominal, ordinal, interval
    categories: list  # from lowest to highest
    listed: bool  # categories are told to the program, else it finds them
    key: str  # the rater who is the reference key, or ""
    raters: list
    scores: list = field(default_factory=list)  # (rater, case, score), rater by rater

    def pairs(self, most):
        """Pairs to compare, spread over all of them; a key stands second."""
        group = [r for r in self.raters if r != self.key]
        pairs = [(r, self.key) for r in group] if self.key else []
        pairs += [(a, b) for i, a in enumerate(group) for b in group[i + 1:]]
        if len(pairs) <= most:
            return pairs
        return [pairs[i * (len(pairs) - 1) // (most - 1)] for i in range(most)] if most > 1 else pairs[:1]


class Dice:
    def __init__(self, seed):
        self._random = random.Random(seed).random

    def one(self):
        return self._random()

    def chance(self, p):
        return self._random() < p

    def between(self, low, high):
        return low + int(self._random() * (high - low + 1))

    def pick(self, choices):
        return choices[int(self._random() * len(choices))]

    def normal(self, sd):
        return sd * math.sqrt(-2 * math.log(1 - self._random())) * math.cos(2 * math.pi * self._random())


def scale_of(dice):
    """(level, categories or None, listed): None where scores are numbers on a finer scale."""
    kind = dice.one()
    if kind < 0.40:
        return "ordinal", [str(i) for i in range(5)], dice.chance(0.7)
    if kind < 0.50:
        q = dice.between(3, 9)
        return dice.pick(["ordinal", "interval"]), [str(i) for i in range(1, q + 1)], dice.chance(0.7)
    if kind < 0.58:
        return "ordinal", ["0", "1"], True
    if kind < 0.64:
        return "nominal", ["no", "yes"], dice.chance(0.5)
    if kind < 0.74:
        return "ordinal", WORDS[:dice.between(3, 6)], True
    if kind < 0.82:
        return "nominal", COLORS[:dice.between(3, 5)], dice.chance(0.5)
    if kind < 0.88:
        return "nominal", [str(i) for i in range(dice.between(3, 5))], True
    return "interval", None, False


def levels_of(values, dice, q):
    """Cuts values into q levels; often most of the scores lie in the top one."""
    ceiling = dice.pick([0.0, 0.0, 0.8, 1.6, 2.4])
    half = (q - 1) / 2
    step = max(0.5, q / 4)
    return [[None if v is None else min(q - 1, max(0, round(half + step * (v + ceiling)))) for v in row]
            for row in values]


def spoil(dice, indices, q):
    """Raters with one score only, raters who are alike, levels nobody uses."""
    raters = len(indices)
    if dice.chance(0.12):
        constant = dice.between(0, q - 1)
        indices[dice.between(0, raters - 1)] = [constant] * len(indices[0])
    if dice.chance(0.03):
        indices[:] = [[q - 1] * len(indices[0]) for _ in range(raters)]
    if dice.chance(0.06):
        indices[:] = [list(indices[0]) for _ in range(raters)]
    if q > 2 and dice.chance(0.2):
        unused = dice.between(1, q - 2)
        for row in indices:
            row[:] = [unused + 1 if v == unused else v for v in row]


def gaps(dice, raters, cases):
    """Which cells stay empty."""
    kind = dice.one()
    if kind < 0.5:
        return set()
    if kind < 0.62:  # each case is seen by a few raters only
        seen = min(raters, dice.between(2, 3))
        return {(r, c) for c in range(cases) for r in range(raters) if (r - c) % raters >= seen}
    share = dice.pick([0.05, 0.1, 0.25, 0.5])
    return {(r, c) for r in range(raters) for c in range(cases) if dice.chance(share)}


def number(value, style):
    """Written the shortest way, as the program writes numbers back."""
    if style == "total":
        return str(min(56, max(0, round(45 + 8 * value))))
    if style == "tenths":
        text = f"{10 + 3 * value:.1f}"
    elif style == "far":
        text = f"{1000 + 2 * value:.2f}"
    else:
        text = f"{value:.3f}"
    text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def draw(seed, index):
    dice = Dice(f"{seed}/{index}")
    raters, cases = dice.between(2, 8), dice.pick([2, 3, 4, 5, 6, 8, 10, 14, 20, 30, 40, 60])
    level, categories, listed = scale_of(dice)
    spread, noise = dice.pick([0.0, 0.2, 0.6]), dice.pick([0.1, 0.3, 0.8, 2.0])
    ability = [dice.normal(1.0) for _ in range(cases)]
    severity = [dice.normal(spread) for _ in range(raters)]
    latent = [[a - s + dice.normal(noise) for a in ability] for s in severity]
    if categories is None:
        style = dice.pick(["tenths", "total", "far", "fine"])
        cells = [[number(v, style) for v in row] for row in latent]
    else:
        indices = levels_of(latent, dice, len(categories))
        spoil(dice, indices, len(categories))
        cells = [[categories[i] for i in row] for row in indices]
    names = [f"r{i + 1}" for i in range(raters)]
    key = ""
    if dice.chance(0.25):
        key = "key"
        names[dice.between(0, raters - 1)] = key
    empty = gaps(dice, raters, cases)
    scores = [(names[r], f"c{c + 1:02d}", cells[r][c])
              for r in range(raters) for c in range(cases) if (r, c) not in empty]
    if not scores:
        scores = [(names[0], "c01", cells[0][0])]
    present = {r for r, _, _ in scores}
    if key and key not in present:
        key = ""
    if not listed:
        seen = {s for _, _, s in scores}
        categories = sorted(seen, key=float) if categories is None or level != "nominal" else sorted(seen)
    return Table(f"t{index:05d}", level, categories, listed, key, [n for n in names if n in present], scores)


def write(folder, tables, most_pairs):
    """tables.csv holds the scores, designs.csv what else is known of each table."""
    with open(folder / "tables.csv", "w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["table", "rater", "case", "score"])
        for t in tables:
            out.writerows([t.name, *row] for row in t.scores)
    with open(folder / "designs.csv", "w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["table", "level", "categories", "listed", "key", "pairs"])
        for t in tables:
            out.writerow([t.name, t.level, "|".join(t.categories), "yes" if t.listed else "no", t.key,
                          "|".join(f"{a}+{b}" for a, b in t.pairs(most_pairs))])


def read(folder):
    tables = {}
    with open(folder / "designs.csv", encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            tables[row["table"]] = (Table(row["table"], row["level"], row["categories"].split("|"),
                                          row["listed"] == "yes", row["key"], []),
                                    [tuple(p.split("+")) for p in row["pairs"].split("|") if p])
    with open(folder / "tables.csv", encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            table = tables[row["table"]][0]
            if row["rater"] not in table.raters:
                table.raters.append(row["rater"])
            table.scores.append((row["rater"], row["case"], row["score"]))
    return list(tables.values())
