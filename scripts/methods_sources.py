"""What the methods page is held against: docstrings, reasons, tests and reference rows.

Used by scripts/make-methods and scripts/check-methods.
"""
import csv
import fnmatch
import functools
import pathlib
import re
from dataclasses import dataclass, field

ROOT = pathlib.Path(__file__).resolve().parent.parent
PAGE = ROOT / "reports/methods/methods.md"
TABLE = ROOT / "reports/methods/undefined.md"
MODULES = ("stats", "agreement", "severity", "planning", "competency")

# "Fleiss JL, Cohen J, Everitt BS (1969)", "Brennan (2001)": surnames, initials, a year in parentheses.
NAME = r"[A-Z][\w'’-]+(?: [A-Z]{1,3})?"
CITATION = re.compile(rf"({NAME}(?:(?:, | and ){NAME})*(?: et al\.)?) \((\d{{4}})\)(?:[^();]*; \((\d{{4}})\))?")
STARTS_CITATION = re.compile(rf"{NAME}(?:, {NAME})*(?: et al\.)? \(\d{{4}}\)")
FIELD = re.compile(r"([a-z][\w./ ,]*?)\s{2,}(\S.*)")
# Fields that say something of the statistic; the others are about arguments, errors and time.
SHOWN = {"returns": "Value", "range": "Range", "limits": "Limits", "undefined": "Undefined"}
WITH_COLON = ("Undefined:", "Limits:", "Errors:")


# --- docstrings

@dataclass
class Docstring:
    """What stands in `///` lines above one declaration."""
    header: str
    name: str  # declared there, or the header's own where it stands alone
    definition: str = ""
    formulas: list = field(default_factory=list)  # paragraphs, lines kept where they are laid out
    fields: list = field(default_factory=list)    # (label, text)
    sources: list = field(default_factory=list)
    rows: list = field(default_factory=list)      # "Reference values: ..." without these words

    def cites(self):
        return {(surname, year) for text in self.everything() for surname, year in citations_of(text)}

    def everything(self):
        flat = [line for paragraph in self.formulas for line in paragraph]
        return [self.definition, *flat, *(text for _, text in self.fields), *self.sources]


def citations_of(text):
    """(surname, year) for every author of "Cohen J (1960)" and of "Cohen 1960" or "Koo & Li 2016"."""
    text = " ".join(text.split())
    found = set()
    for names, year, later in CITATION.findall(text):
        for name in re.split(r", | and ", names.replace(" et al.", "")):
            for one in filter(None, (year, later)):
                found.add((re.sub(r" [A-Z]{1,3}$", "", name), one))
    plain = r"((?:[A-Z][\w'’-]+(?:, | & | and ))*[A-Z][\w'’-]+)(?: et al\.)?,? (\d{4})\b(?! \w+ tables)"
    for names, year in re.findall(plain, text):
        for name in re.split(r", | & | and ", names):
            found.add((name, year))
    return {(n, y) for n, y in found if 1890 <= int(y) <= 2030}


def docstrings(path):
    """Every docstring of a header, in order."""
    lines = path.read_text().splitlines()
    header = str(path.relative_to(ROOT))
    found, block = [], []
    for number, line in enumerate(lines):
        stripped = line.strip()
        if stripped.startswith("///") and not stripped.startswith("///<"):
            block.append(stripped[3:].removeprefix(" "))
            continue
        if block:
            found.append(parse(header, declared(lines[number:number + 3]) or path.stem, block))
            block = []
    return found


def declared(lines):
    """The name that a declaration introduces; nothing for an empty line."""
    text = " ".join(lines)
    if not lines[0].strip():
        return None
    kind = re.match(r"\s*(?:template <[^>]*>\s*)?(?:struct|class|enum class) (\w+)", text)
    if kind:
        return kind[1]
    function = re.search(r"(\w+)\(", text)
    return function[1] if function else re.search(r"(\w+)\s*(?:;|=|\{)", text)[1]


def parse(header, name, lines):
    doc = Docstring(header, name)
    for place, (kind, label, text) in enumerate(items_of(lines)):
        flat = " ".join(" ".join(text).split())
        if kind == "rows":
            doc.rows.append(flat)
        elif kind == "source":
            doc.sources.append(flat)
        elif kind == "field":
            if label in SHOWN:
                doc.fields.append((SHOWN[label], flat))
        elif place == 0:
            doc.definition = flat
        elif CITATION.search(flat) and " = " not in flat:
            doc.sources.append(flat)
        elif " = " in flat or "sqrt(" in flat or any(line.startswith("  ") for line in text):
            doc.formulas.append(text)
    return doc


def items_of(lines):
    """Cuts a docstring into (kind, label, lines): text, field, source, rows."""
    items, state = [], None  # what the next line may go on with; nothing after an empty line

    def begin(kind, label, line):
        items.append((kind, label, [line]))

    for line in lines:
        indented = line.startswith(" ")
        in_sentence = state == "text" and not items[-1][2][-1].endswith(".")
        if not line.strip():
            state = None
        elif line.startswith("Reference values:"):
            begin("rows", "", line.removeprefix("Reference values:"))
            state = "rows"
        elif line.startswith(WITH_COLON):
            label, _, rest = line.partition(":")
            begin("field", label.lower(), rest)
            state = "to the end"
        elif not indented and (match := FIELD.fullmatch(line)):
            begin("field", match[1], match[2])
            state = "while indented"
        elif STARTS_CITATION.match(line) and state != "source" and not in_sentence:
            begin("source", "", line)
            state = "source"
        elif state is None or (state == "while indented" and not indented):
            begin("text", "", line)
            state = "text"
        else:
            items[-1][2].append(line)
    return items


def headers():
    return [path for module in MODULES for path in sorted((ROOT / "src" / module).glob("*.hpp"))]


# --- reference rows

def reference_rows():
    with open(ROOT / "tests/reference/expected.csv", newline="") as stream:
        return list(csv.DictReader(stream))


def counted(note, rows):
    """"expected.csv, kappa*" -> (name, conditions, how many rows) for each name in the note.

    "icc_*" does not count what another docstring claims by a longer name such as "icc_reml_*".
    """
    names, conditions = names_and_conditions(note)
    answer = []
    for name in names:
        longer = [other for other in claimed() if len(other) > len(name) and fnmatch.fnmatchcase(other, name)]
        named = [row for row in rows if fnmatch.fnmatchcase(row["statistic"], name) and
                 not any(fnmatch.fnmatchcase(row["statistic"], other) for other in longer)]
        chosen = [row for row in named
                  if all(f"{key}={value}" in row["arguments"].split(";") for key, value in conditions)]
        answer.append((name, conditions if chosen else [], len(chosen or named)))  # a condition is of its own name
    return answer


def names_and_conditions(note):
    after = note.split("expected.csv,", 1)[-1]
    conditions = re.findall(r"\b(design|method|family)=([\w*:()]+?)(?=[,;.)\s]|$)", after)
    first = re.split(r"[(.]| with |;|, and tests/", after, maxsplit=1)[0]
    names = [] if first.strip().startswith("design=") else re.findall(r"[a-z][\w:]*\*?", first)
    return [name for name in names if name not in ("and", "the", "with")] or ["*"], conditions


@functools.cache
def claimed():
    """Every name of reference rows that a docstring claims, "*" ends one."""
    return {name for path in headers() for doc in docstrings(path) for note in doc.rows
            for name in names_and_conditions(note)[0]}


# --- string literals of the C++ sources

LITERAL = r'"(?:[^"\\\n]|\\.)*"'


def without_comments(text):
    return re.sub(rf"({LITERAL})|//[^\n]*", lambda m: m[1] or "", text)


def joined(literals):
    return "".join(re.findall(r'"((?:[^"\\\n]|\\.)*)"', literals)).replace('\\"', '"')


def reasons(path):
    """Texts in which a source says why there is no value.

    Every text of two words or more counts, unless it goes to fail() or a format, or names a method or a
    caution. So a reason cannot be missed; what is none, and does not show it, is listed in `NO_REASON`.
    """
    text = without_comments(path.read_text())
    text = re.sub(r"^\s*#.*$", "", text, flags=re.M)
    found = []
    for match in re.finditer(rf"{LITERAL}(?:\s*{LITERAL})*", text):
        words = joined(match[0])
        start = max(text.rfind(c, 0, match.start()) for c in ";}")
        before = text[start + 1:match.start()]
        if " " not in words.strip() or re.search(r"\b(?:fail|format|join)\(|method\b|caution(?!s\.)", before):
            continue
        if words not in NO_REASON:
            found.append(words)
    return found


# Texts of these sources that are no reasons: names of methods.
NO_REASON = {
    "one-way random", "two-way random", "two-way mixed",
    "expected mean squares", "modified large-sample", "t by case (ratio estimator)",
    "Fleiss, Cohen & Everitt 1969", "Lin 1989, corrected 2000", "Bland & Altman 1986", "Bland & Altman 1999",
    "BCa bootstrap by case", "percentile bootstrap by case", "jackknife by case",
    "jackknife by case of Fisher's z",
}


def sources_of_reasons():
    """All of agreement and severity; of competency, which has many other texts, the files that name the type."""
    paths = [path for module in ("agreement", "severity", "competency")
             for pattern in ("*.hpp", "*.cpp") for path in sorted((ROOT / "src" / module).glob(pattern))]
    return [path for path in paths if path.parent.name != "competency" or "Reason(" in path.read_text()]


# --- tests

def tests():
    """Name -> (file, literals of its body)."""
    found = {}
    for path in sorted((ROOT / "tests").glob("*/*.cpp")):
        text = without_comments(path.read_text())
        for body in re.split(r"(?=^TEST_CASE\()", text, flags=re.M)[1:]:
            literals = [joined(match) for match in re.findall(rf"{LITERAL}(?:\s*{LITERAL})*", body)]
            found[literals[0]] = (str(path.relative_to(ROOT)), literals[1:])
    return found


def statistic_keys():
    text = (ROOT / "src/agreement/statistics.cpp").read_text()
    return re.findall(r'std::pair\{Statistic::\w+, "(\w+)"\}', text)
