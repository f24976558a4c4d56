#!/usr/bin/env python3
"""Sets the tables of reports/methods/coverage.md from reports/methods/coverage.csv.

  tables.py          writes them between the marks in coverage.md
  tables.py --check  fails when they are not what the CSV says

A mark is a line "<!-- PART: STATISTIC; STATISTIC -->" (no statistic: all of the part); the tables follow it up to
"<!-- end -->". Statistics whose figures are the same everywhere share a table.
"""
import csv
import pathlib
import re
import sys

METHODS = pathlib.Path(__file__).resolve().parents[2] / "reports" / "methods"
SHORT = 0.92  # cells below are bold
OFTEN = 0.02  # shares of data sets above this are marked


def cell(row):
    if row["coverage"] == "":
        return "none"
    coverage = round(float(row["coverage"]), 2)
    text = f"{coverage:.2f}".lstrip("0")
    if coverage < SHORT:
        text = f"**{text}**"
    if float(row["no_width"]) > OFTEN:
        text += "z"
    if float(row["without_interval"]) > OFTEN:
        text += "n"
    return text


def design(row):
    cases, raters = row["cases"], row["raters"]
    return cases if row["part"] in ("pair", "pair_sweep", "remedy_pair") else f"{cases} x {raters}"


def table(rows, statistics):
    """Rows of shape and severity; columns of designs."""
    columns = list(dict.fromkeys(design(r) for r in rows))
    cells = {}
    for r in rows:
        cells.setdefault((r["shape"], r["severity"]), {})[design(r)] = cell(r)
    lines = [f"**{'; '.join(statistics)}**", ""]
    lines += ["| scores | severity | " + " | ".join(columns) + " |", "| " + " | ".join(["---"] * (len(columns) + 2)) + " |"]
    for label, found in cells.items():
        lines.append("| " + " | ".join([*label, *(found.get(c, "") for c in columns)]) + " |")
    return lines + [""]


def tables(rows, part, wanted):
    """One table a statistic; those with the same figures together."""
    rows = [r for r in rows if r["part"] == part]
    statistics = wanted or list(dict.fromkeys(r["statistic"] for r in rows))
    groups = {}
    for s in statistics:
        own = [r for r in rows if r["statistic"] == s]
        if not own:
            sys.exit(f"coverage.csv: part {part} has no statistic {s!r}")
        groups.setdefault(tuple(cell(r) for r in own), []).append(s)
    lines = []
    for same in groups.values():
        lines += table([r for r in rows if r["statistic"] == same[0]], same)
    return lines


def fill(text, rows):
    def made(match):
        part, _, names = match.group(1).partition(":")
        wanted = [n.strip() for n in names.split(";") if n.strip()]
        return "\n".join([match.group(0).split("\n", 1)[0], "", *tables(rows, part.strip(), wanted), "<!-- end -->"])

    return re.sub(r"<!-- (?!end)([^>]*?) -->\n.*?<!-- end -->", made, text, flags=re.S)


def main():
    with open(METHODS / "coverage.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    page = METHODS / "coverage.md"
    old = page.read_text()
    new = fill(old, rows)
    if sys.argv[1:] == ["--check"]:
        if new != old:
            sys.exit("reports/methods/coverage.md: the tables are not those of coverage.csv; run tests/coverage/tables.py")
        return
    page.write_text(new)


main()
