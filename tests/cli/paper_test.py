"""What a report says on paper and in a workbook is what its page and its JSON say.  paper_test.py PROGRAM

PDFs are looked into with poppler (pdfinfo, pdftotext, pdffonts) and qpdf, workbooks with an unzipper and an XML
parser: none of them is part of the program.
"""
import collections
import html
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as tree
import zipfile

PROGRAM = pathlib.Path(sys.argv[1]).resolve()
failures = []


def check(truth, what):
    if not truth:
        failures.append(what)


def run(*words, cwd, **more):
    return subprocess.run([str(word) for word in words], cwd=cwd, capture_output=True, check=False, **more)


def made(*words, cwd):
    done = run(PROGRAM, *words, cwd=cwd)
    check(done.returncode == 0, f"{words}: {done.stderr.decode()}")
    return done.stdout


def text_of(*words, cwd):
    return run(*words, cwd=cwd).stdout.decode("utf-8")


def numbers(text):
    """How often each number stands in a text. Fingerprints break over lines, and words hold digits."""
    text = re.sub(r"\b[0-9a-f]{16,}\b", " ", text)
    return collections.Counter(re.findall(r"(?<![\w.])[+\u2212]?\d+(?:\.\d+)?(?![\w])", text))


def visible(page):
    body = page[page.index("<body>"):]
    return html.unescape(re.sub(r"<[^>]*>", " ", re.sub(r"<title>.*?</title>", " ", body)))


def look_at_pdf(path, page, title, size, folder, kind="report"):
    facts = dict(line.split(":", 1) for line in text_of("pdfinfo", path, cwd=folder).splitlines() if ":" in line)
    check(facts.get("Tagged", "").strip() == "yes", f"{path}: not tagged")
    check(facts.get("Title", "").strip() == title, f"{path}: title {facts.get('Title')}")
    check(facts.get("Page size", "").strip() == size, f"{path}: size {facts.get('Page size')}")
    structure = text_of("pdfinfo", "-struct", path, cwd=folder)
    for element, least in (("H1", 1), ("H2", 2), ("P", 5), ("Table", 2), ("TH", 10), ("TD", 20)):
        if kind == "agenda" and element[0] == "T":
            least = 1  # the only table says where the numbers come from
        found = len(re.findall(rf"^\s*{element}\b", structure, re.M))
        check(found >= least, f"{path}: {found} elements {element}")
    fonts = text_of("pdffonts", path, cwd=folder).splitlines()[2:]
    check(fonts and all(re.search(r"\byes\s+(yes|no)\s+(yes|no)\s+\d+\s+\d+$", font) for font in fonts),
          f"{path}: fonts {fonts}")
    check(run("qpdf", "--check", path, cwd=folder).returncode == 0, f"{path}: qpdf finds a fault")
    text = text_of("pdftotext", "-layout", path, "-", cwd=folder)
    there = numbers(text)
    wanted = numbers(visible(page))
    check(sum(wanted.values()) > 50, f"{path}: hardly a number in the page")
    short = {number: (times, there[number]) for number, times in wanted.items() if there[number] < times}
    check(not short, f"{path}: numbers of the page that are not on paper (page, paper): {short}")
    check(re.search(r"evenhand \d+\.\d+\.\d+, data [0-9a-f]{16}", text), f"{path}: no version and fingerprint")
    check(re.search(r"\b1 of \d+", text), f"{path}: no page numbers")


def workbook(data, folder):
    """Sheets by name, each a list of rows of text, numbers or None; what the format can do beyond is refused."""
    path = pathlib.Path(folder, "book.xlsx")
    path.write_bytes(data)
    main = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
    with zipfile.ZipFile(path) as book:
        check(book.testzip() is None, "the workbook is damaged")
        shared = ["".join(part.text or "" for part in one.iter(main + "t"))
                  for one in tree.fromstring(book.read("xl/sharedStrings.xml")).iter(main + "si")]
        sheets = {}
        names = [one.get("name") for one in tree.fromstring(book.read("xl/workbook.xml")).iter(main + "sheet")]
        for place, name in enumerate(names, 1):
            sheet = tree.fromstring(book.read(f"xl/worksheets/sheet{place}.xml"))
            check(not list(sheet.iter(main + "f")), f"{name}: a formula")
            if place > 1:
                panes = list(sheet.iter(main + "pane"))
                check(panes and panes[0].get("state") == "frozen", f"{name}: its heading is not frozen")
            rows = []
            for row in sheet.iter(main + "row"):
                cells = {}
                for one in row.iter(main + "c"):
                    letters = re.match(r"[A-Z]+", one.get("r"))[0]
                    column = 0
                    for letter in letters:
                        column = 26 * column + ord(letter) - 64
                    value = one.find(main + "v")
                    if value is not None:
                        cells[column - 1] = shared[int(value.text)] if one.get("t") == "s" else float(value.text)
                rows.append([cells.get(c) for c in range(max(cells, default=-1) + 1)])
            sheets[name] = rows
    return sheets


def records(rows):
    heading = rows[0]
    return [dict(zip(heading, row + [None] * (len(heading) - len(row)))) for row in rows[1:]]


def same(cell, number):
    """Sixteen significant digits is what the writer of the workbook gives."""
    return cell is None if number is None else isinstance(cell, float) and abs(cell - number) <= 1e-15 * abs(number)


def look_at_workbook(data, report, folder):
    sheets = workbook(data, folder)
    check([*sheets] == ["About", "Raters", "Looks", "Items", "Levels off", "Sittings", "Scores", "Control charts",
                        "Slips"], f"sheets {[*sheets]}")
    explained = {(row[0], row[1]) for row in sheets["About"] if len(row) > 2 and row[0] and row[1] and row[2]}
    for name, rows in sheets.items():
        if name != "About":
            for column in rows[0]:
                check((name, column) in explained, f"{name}, {column}: not explained")
    rater = records(sheets["Raters"])[0]
    check(same(rater["all_share"], report["agreement"]["estimate"]), "share")
    check(same(rater["all_lower"], report["agreement"]["lower"]), "lower limit of the share")
    check(same(rater["error_points"], report["bias_points"]["estimate"]), "bias")
    check(same(rater["item_kappa"], report["mean_item_kappa_linear"]), "kappa")
    check(rater["decision"] == report["decision"]["verdict"], "decision")
    items = records(sheets["Items"])
    check(len(items) == len(report["items"]) > 0, "items")
    for row, item in zip(items, report["items"]):
        check(row["item"] == item["item"], f"item {row['item']} is a text as in the JSON")
        for column, value in (("shown", item["shown"]), ("missed", item["missed"]),
                              ("same", item["exact"]["estimate"]), ("mean_error", item["mean_signed"]["estimate"]),
                              ("share", item["share"]["estimate"])):
            check(same(row[column], value), f"item {item['item']}, {column}: {row[column]} and {value}")
    looks = records(sheets["Looks"])
    check(len(looks) == len(report["decision"]["looks"]) > 0, "looks")
    for row, look in zip(looks, report["decision"]["looks"]):
        for column in ("cases", "scores", "share", "lower", "upper"):
            check(same(row[column], look[column]), f"look, {column}")
    scores = [(one["case"], item) for one in report["cases"] for item in one["items"]]
    table = records(sheets["Scores"])
    check(len(table) == len(scores) > 50, "scores")
    for row, (case, item) in zip(table, scores):
        check((row["case"], row["item"], row["key"], row["score"] or "") ==
              (case, item["item"], item["key"], item["score"]), f"score {row}")
        check(same(row["levels_off"], item["levels_off"]), f"score {row}")


def look_at_calibration_workbook(data, report, folder):
    sheets = workbook(data, folder)
    names = ["About", "Group", "Rounds", "Items", "Raters", "Rater by item", "Agenda"]
    check([*sheets][:7] == names, f"sheets {[*sheets]}")
    check({"Gray zones", "Thirds", "Totals", "GRRAS", "Methods"} <= {*sheets}, f"sheets {[*sheets]}")
    group = {row["statistic"]: row for row in records(sheets["Group"])}
    for name, value in (("icc", report["group"]["icc"]), ("exact", report["group"]["exact"]),
                        ("mdc95", report["group"]["mdc95"]), ("difference_mean", report["differences"]["mean"]),
                        ("difference_lower", report["differences"]["lower"]),
                        ("difference_upper", report["differences"]["upper"])):
        for column, limit in (("value", "estimate"), ("value_lower", "lower"), ("value_upper", "upper")):
            check(same(group[name][column], value[limit]), f"{name}, {limit}: {group[name][column]}, {value[limit]}")
    raters = records(sheets["Raters"])
    check(len(raters) == len(report["raters"]) == 12, "raters")
    for row, rater in zip(raters, report["raters"]):
        check(row["rater"] == rater["rater"], "raters in one order")
        check(same(row["against_peers"], rater["against_peers"]["estimate"]), f"{row['rater']}: against the peers")
        check(same(row["outer_upper"], rater["funnel"]["outer_upper"]), f"{row['rater']}: funnel")
        check(bool(row["talk"]) == bool(rater["talk"]), f"{row['rater']}: to talk about")
    errors = records(sheets["Rater by item"])
    told = [one for rater in report["raters"] for one in rater["error_by_item"]]
    check(len(errors) == len(told) == 12 * 14, "mean errors by rater and item")
    for row, one in zip(errors, told):
        check(row["n"] == one["n"] and same(row["error"], one["mean"]), f"error by item {row}")
    for row, point in zip(records(sheets["Agenda"]), report["agenda"]["points"]):
        check((row["case"], row["item"], row["raters"]) == (point["case"], point["item"], point["raters"]), f"{row}")
        check(same(row["spread"], point["spread"]), f"spread {row}")
    check(len(records(sheets["Agenda"])) == len(report["agenda"]["points"]) > 5, "points")
    check(len(records(sheets["Gray zones"])) == len(report["agenda"]["zones"]) > 0, "zones")
    check([row["method"] for row in records(sheets["Methods"])] == report["methods"], "methods")
    check(len(records(sheets["GRRAS"])) == len(report["grras"]) == 16, "points of the guideline")
    check([row["said"] for row in records(sheets["GRRAS"]) if row["said"]] == ["Children of 4 to 9"], "said")
    cautions = [row[2] for row in sheets["About"] if row and row[0] == "Caution"]
    check(cautions == report["cautions"] + report["group"]["cautions"], f"cautions {cautions}")


def look_at_calibration(folder):
    """The pages of a calibration, its workbook, and the line that makes each again."""
    there = pathlib.Path(folder, "it's $here")
    there.mkdir()
    made("simulate", "--set", "pb-all", "--raters", "12", "--rounds", "2", "--seed", "3", "--out", there / "r.csv",
         "--quiet", cwd=folder)
    about = there / "about.yaml"
    about.write_text("format: evenhand/about-1\npopulation: Children of 4 to 9\n", encoding="utf-8")
    report = ["calibration", "it's $here/r.csv", "--date", "2026-11-30", "--about", "it's $here/about.yaml"]
    for kind, title in (("report", "Calibration: agreement between raters, round 2027, 2026-11-30"),
                        ("agenda", "Discussion agenda, round 2027, 2026-11-30")):
        page = made(*report, "--format", "html", "--kind", kind, cwd=folder).decode("utf-8")
        for paper, size in (("letter", "612 x 792 pts (letter)"), ("a4", "595.276 x 841.89 pts (A4)")):
            data = made(*report, "--kind", kind, "--format", "pdf", "--paper", paper, cwd=folder)
            pathlib.Path(folder, "c.pdf").write_bytes(data)
            # The line that makes it again names the format, and so differs between page and paper.
            look_at_pdf("c.pdf", re.sub(r"<code>.*?</code>", "", page), title, size, folder, kind)
    data = json.loads(made(*report, "--format", "json", cwd=folder))
    book = made(*report, "--format", "xlsx", cwd=folder)
    look_at_calibration_workbook(book, data, folder)

    # A shell takes the line, and the same comes out.
    bin_folder = pathlib.Path(folder, "bin")
    bin_folder.mkdir()
    (bin_folder / "evenhand").symlink_to(PROGRAM)
    path = f"{bin_folder}{os.pathsep}{os.environ.get('PATH', '')}"
    made("import", "it's $here/r.csv", "--store", "it's $here/s.db", cwd=folder)
    for words in (["--round", "2026", "--standard", "default"], ["--no-names"], ["--sitting", "last", "--key", "r01"]):
        for source in (["it's $here/r.csv"], ["--store", "it's $here/s.db"]):
            first = made("calibration", *source, "--about", "it's $here/about.yaml", *words, "--format", "json",
                         cwd=folder)
            line = json.loads(first)["provenance"]["command"]
            again = subprocess.run(["sh", "-c", line], cwd=folder, capture_output=True, check=False,
                                   env={**os.environ, "PATH": path})
            check(again.returncode == 0 and again.stdout == first, f"not the same again: {line}: {again.stderr}")
    for words in (["--kind", "agenda", "--format", "html"], ["--format", "pdf", "--paper", "a4"]):
        first = made(*report, *words, cwd=folder)
        page = made(*report, *(["--format", "html"] if "pdf" in words else words), cwd=folder).decode("utf-8")
        line = html.unescape(re.search(r"<code>(.*?)</code>", page)[1])
        if "pdf" in words:
            line = line.replace("--format html", "--format pdf --paper a4")
        again = subprocess.run(["sh", "-c", line], cwd=folder, capture_output=True, check=False,
                               env={**os.environ, "PATH": path})
        check(again.stdout == first, f"not the same again: {line}: {again.stderr}")


def look_at_sheet(folder):
    page = made("sheet", "pb-first-steps", "--format", "html", cwd=folder).decode("utf-8")
    for paper, size in (("letter", "612 x 792 pts (letter)"), ("a4", "595.276 x 841.89 pts (A4)")):
        data = made("sheet", "pb-first-steps", "--format", "pdf", "--paper", paper, cwd=folder)
        path = pathlib.Path(folder, "sheet.pdf")
        path.write_bytes(data)
        facts = text_of("pdfinfo", path, cwd=folder)
        check(re.search(r"^Tagged:\s+yes", facts, re.M), "sheet: not tagged")
        check(size in facts, f"sheet: {facts}")
        check(run("qpdf", "--check", path, cwd=folder).returncode == 0, "sheet: qpdf finds a fault")
        there = numbers(text_of("pdftotext", "-layout", path, "-", cwd=folder))
        wanted = numbers(visible(page))
        check(sum(wanted.values()) > 30, "sheet: hardly a number")
        short = {number: (times, there[number]) for number, times in wanted.items() if there[number] < times}
        check(not short, f"sheet: numbers of the page that are not on paper: {short}")


def main():
    with tempfile.TemporaryDirectory() as folder:
        made("simulate", "--set", "pb-demonstration", "--raters", "6", "--seed", "7", "--out", "scores.csv", cwd=folder)
        report = ["competency", "scores.csv", "--set", "pb-demonstration", "--date", "2026-11-25"]
        one = [*report, "--rater", "r02"]
        page = made(*one, cwd=folder).decode("utf-8")
        for paper, size in (("letter", "612 x 792 pts (letter)"), ("a4", "595.276 x 841.89 pts (A4)")):
            pathlib.Path(folder, "one.pdf").write_bytes(made(*one, "--format", "pdf", "--paper", paper, cwd=folder))
            look_at_pdf("one.pdf", page, "Competency report: rater r02, 2026-11-25", size, folder)
        made(*report, "--all", "--out", "html", cwd=folder)
        made(*report, "--all", "--format", "pdf", "--out", "pdf", cwd=folder)
        check(len(list(pathlib.Path(folder, "pdf").glob("rater-r0?.pdf"))) == 6, "a PDF a rater")
        look_at_pdf("pdf/index.pdf", pathlib.Path(folder, "html/index.html").read_text(encoding="utf-8"),
                    "Competency of the group, 2026-11-25", "612 x 792 pts (letter)", folder)

        data = made(*one, "--format", "xlsx", cwd=folder)
        check(data == made(*one, "--format", "xlsx", cwd=folder), "the workbook differs from run to run")
        look_at_workbook(data, json.loads(made(*one, "--format", "json", cwd=folder)), folder)

        look_at_calibration(folder)
        look_at_sheet(folder)

        # Scores out of a store: every cell as in the CSV.
        made("import", "scores.csv", "--store", "s.db", cwd=folder)
        rows = records(workbook(made("export", "--store", "s.db", "--format", "xlsx", cwd=folder), folder)["Scores"])
        lines = made("export", "--store", "s.db", "--raw", cwd=folder).decode("utf-8").split("\n")
        heading = lines[0].split(",")
        check([*rows[0]] == heading, "columns of the export")
        check(len(rows) == len(lines) - 2 > 300, "rows of the export")
        plain = 0
        for row, line in zip(rows, lines[1:]):
            if '"' in line:  # the few that hold a comma
                continue
            plain += 1
            for column, text in zip(heading, line.split(",")):
                number = column in ("score", "seconds", "trial")
                value = row[column]
                check((value is None if not text else value == float(text) if number else value == text),
                      f"export, {column}: {value!r} and {text!r}")
        check(plain > 300, "rows that were compared")

        # Not installed: said, and nothing half done.
        done = run(PROGRAM, *one, "--format", "pdf", "--out", "none", cwd=folder, env={**os.environ, "PATH": folder})
        check(done.returncode == 1 and b"apt-get install" in done.stderr, f"not installed: {done}")
        check(not pathlib.Path(folder, "none").exists(), "a folder for a PDF that was not made")
    for failure in failures:
        print(failure)
    return 1 if failures else 0


sys.exit(main())
