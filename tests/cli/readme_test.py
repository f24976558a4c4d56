"""The commands in README.md print what README.md shows.  readme_test.py PROGRAM README

An indented line "$ evenhand ..." is run, and the indented lines that follow must be the beginning of its output;
"..." stands for what is left out. Practice, which asks questions, has a test of its own (terminal_test.py).
"""
import pathlib
import subprocess
import sys
import tempfile


def shown(lines):
    """Each command with the lines shown under it."""
    command, block = None, []
    for line in lines + [""]:
        if line.startswith("    $ evenhand "):
            if command:
                yield command, block
            command, block = line[6:], []
        elif command and (line.startswith("    ") or not line):
            block.append(line[4:])
        elif command:
            yield command, block
            command = None


def differences(block, output):
    left_out = False
    at = 0
    while block and not block[-1]:
        block.pop()
    for line in block:
        if line.strip() == "...":
            left_out = True
            continue
        if left_out and not line:
            continue
        found = at
        if left_out:  # go on where the line stands
            while found < len(output) and output[found].rstrip() != line.rstrip():
                found += 1
        if found >= len(output) or output[found].rstrip() != line.rstrip():
            yield line, output[found] if found < len(output) else "(nothing)"
            return
        at, left_out = found + 1, False


def main():
    program, readme = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    ran = 0
    failed = False
    with tempfile.TemporaryDirectory() as folder:
        for command, block in shown(readme.read_text(encoding="utf-8").split("\n")):
            if command.startswith("evenhand practice"):
                continue
            ran += 1
            done = subprocess.run([program, *command.split()[1:]], cwd=folder, capture_output=True, text=True,
                                  check=False, encoding="utf-8")
            if done.returncode != 0:
                print(f"{command}\n  exit status {done.returncode}: {done.stderr}")
                failed = True
            for expected, got in differences(block, done.stdout.split("\n")):
                print(f"{command}\n  README: {expected}\n  now:    {got}")
                failed = True
    print(f"{ran} commands run")
    return 1 if failed or ran < 5 else 0


sys.exit(main())
