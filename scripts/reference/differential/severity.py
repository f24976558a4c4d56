"""The severity model beside VGAM, on a few random tables: joint maximum likelihood, partial credit.

VGAM takes seconds for what fits on a page, so there are few tables and they are small. Both maximize the same
likelihood by iteration: what differs by more than 2e-4 relative, and 2e-6 absolute, is a fault.
"""
import csv
import json
import pathlib
import subprocess
import sys

HERE = pathlib.Path(__file__).resolve().parent
RELATIVE, ABSOLUTE = 2e-4, 2e-6


def compare(program, folder, tables, seed):
    """(values compared, largest difference, faults in words)."""
    done = subprocess.run(["Rscript", str(HERE / "severity.R"), str(folder), str(tables), str(seed)],
                          capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"severity.R failed:\n{done.stderr}")
    compared, largest, faults = 0, 0.0, []
    for n in range(1, tables + 1):
        told = subprocess.run([program, "severity-values", str(folder / f"severity_{n}.csv"), "1"],
                              capture_output=True, text=True)
        if told.returncode != 0:
            sys.exit(f"severity table {n}: evenhand_bench failed: {told.stderr}")
        ours = json.loads(told.stdout)["checks"]
        with open(folder / f"severity_{n}_answers.csv", encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                name = " ".join(filter(None, (row["statistic"], row["arguments"])))
                theirs, mine = float(row["expected"]), ours.get(name)
                compared += 1
                if mine is None:
                    faults.append(f"severity table {n}: {name}: no value here, VGAM {theirs}")
                    continue
                apart, larger = abs(mine - theirs), max(abs(mine), abs(theirs))
                if apart > max(RELATIVE * larger, ABSOLUTE):
                    faults.append(f"severity table {n}: {name}: {mine} here, VGAM {theirs}")
                largest = max(largest, apart)
    return compared, largest, faults
