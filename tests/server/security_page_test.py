#!/usr/bin/env python3
"""Every test that src/server/security.md names is there, under that name, in that file; and every requirement names
one, or says with "-" that there is none.    security_page_test.py PROJECT"""
import pathlib, re, sys

project = pathlib.Path(sys.argv[1])
page = project / "src/server/security.md"
tests = project / "tests"


def joined(literals):
    """What a compiler makes of string literals that follow each other."""
    return "".join(re.findall(r'"((?:[^"\\]|\\.)*)"', literals)).replace('\\"', '"')


def names_in(file):
    text = file.read_text(encoding="utf-8")
    if file.suffix == ".cpp":
        return {joined(found) for found in re.findall(r'\bTEST_CASE\(\s*((?:"(?:[^"\\]|\\.)*"\s*)+)', text)}
    if file.suffix == ".py":
        return {found.replace("_", " ") for found in re.findall(r"\bdef test_(\w+)\(", text)}
    return {found.replace("\\'", "'") for found in re.findall(r"^\s*test\('((?:[^'\\]|\\.)*)'", text, re.M)}


def file_of(name):
    return tests / (name if "." in name else name + ".cpp")


def faults_of(cell):
    """What is wrong with the cell that names the tests of a requirement."""
    if cell == "-":
        return
    # `file`: "name", "name"; `file`: "name"; or `path/of/a/script`
    part = re.compile(r'`([^`]+)`(?:: ("[^"]+"(?:, "[^"]+")*))?(?:; |$)')
    at = 0
    while at < len(cell):
        found = part.match(cell, at)
        if not found:
            yield f"cannot be read from: {cell[at:]}"
            return
        at = found.end()
        file, names = found.groups()
        if names is None:
            if not (project / file).is_file():
                yield f"there is no {file}"
            continue
        if not file_of(file).is_file():
            yield f"there is no {file_of(file)}"
            continue
        known = names_in(file_of(file))
        for name in re.findall(r'"([^"]+)"', names):
            if name not in known:
                yield f'{file} has no test "{name}"'


def named_in_words(text):
    """Tests that sentences name, which may go over the end of a line."""
    for file, name in re.findall(r'`([^`]+)`:\s"([^"]+)"', text):
        yield file, re.sub(r"\s+", " ", name)


def main():
    faults, named = [], 0
    words = "\n".join(line for line in page.read_text(encoding="utf-8").splitlines() if not line.startswith("|"))
    for file, name in named_in_words(words):
        faults += [f"{page}: {fault}" for fault in faults_of(f'`{file}`: "{name}"')]
    for number, line in enumerate(page.read_text(encoding="utf-8").splitlines(), 1):
        if not line.startswith("|") or line.startswith("| ---") or line.startswith("| requirement |"):
            continue
        cell = line.strip().strip("|").rsplit(" | ", 1)[-1].strip()
        named += cell.count('"') // 2
        faults += [f"{page}:{number}: {fault}" for fault in faults_of(cell)]
    print("\n".join(faults) if faults else f"{named} tests are named, and all are there")
    # A page that cannot be read any more would name none.
    sys.exit(1 if faults or named < 60 else 0)


main()
