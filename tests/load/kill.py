#!/usr/bin/env python3
"""Kills the practice site at random moments while students answer, and looks for what was lost.

  tests/load/kill.py PROGRAM [--kills 500] [--students 12] [--seed N]

A round: students send answers as fast as they are taken; the site is killed (SIGKILL) at a moment drawn
between 0 and 0.4 s; `evenhand store check` looks at the file (every second time only after the site was
started again, so that the site itself finds the log as the kill left it); the site is started again. Then the
file is held against what the students heard:
  - every answer that was acknowledged is there, with the content that was sent;
  - no answer is there twice, and none that nobody sent;
  - of what was not acknowledged each student has one at most, and sends it again, as their browser would.
Ends with exit status 1 at the first fault. Every 50 kills it begins with a fresh store.
"""
import argparse
import asyncio
import contextlib
import random
import sqlite3
import subprocess
import sys
import tempfile
import time

sys.dont_write_bytecode = True  # the source folder stays as it is
from site_under_test import Gone, Site, open_class

KILLS_PER_STORE = 50
LONGEST = 0.4  # seconds from the first answer after a start to the kill
SET = "pb-demonstration"  # a skills check: answers may be revised
REVISIONS = 2


class Fault(Exception):
    pass


class Student:
    """Answers a set from first to last item, then all of it again, hands it in and begins anew. Every answer has
    a content of its own."""

    def __init__(self, person):
        self.person = person
        self.sitting, self.steps, self.at = None, [], 0
        self.sent = 0
        self.pending = None     # (place, content) of an answer that nobody acknowledged yet
        self.acknowledged = {}  # (sitting, case, item, revision) -> (value, sureness)
        self.repeated = 0

    async def begin(self):
        """The open sitting, when there is one."""
        begun = await self.person.must("POST", "/api/sittings", {"set": SET})
        sitting = await self.person.must("GET", f"/api/sittings/{begun['id']}")
        self.steps = [(step["case"], step["item"]) for step in sitting["steps"]]
        self.sitting, self.at = begun["id"], 0

    async def hand_in(self):
        await self.person.must("POST", f"/api/sittings/{self.sitting}/finish", {})
        self.sitting = None

    def next_answer(self):
        place = (self.sitting, *self.steps[self.at % len(self.steps)], self.at // len(self.steps) + 1)
        content = (str(self.sent % 5), self.sent / 1e6)
        self.at, self.sent = self.at + 1, self.sent + 1
        return place, content

    async def send(self):
        (sitting, case, item, revision), (value, sureness) = self.pending
        status, answer = await self.person.ask(
            "PUT", f"/api/sittings/{sitting}/answers/{case}/{item}/{revision}",
            {"value": value, "sureness": sureness})
        if status != 200:
            raise Fault(f"{self.person.name}: answer {self.pending}: {status} {answer[:300]!r}")
        place, content = self.pending
        self.acknowledged[place] = content
        self.pending = None

    async def practice(self):
        """Until the site is gone."""
        try:
            if self.pending is not None:
                self.repeated += 1
                await self.send()
            while True:
                if self.sitting is None:
                    await self.begin()
                elif self.at == REVISIONS * len(self.steps):
                    await self.hand_in()
                else:
                    self.pending = self.next_answer()
                    await self.send()
        except Gone:
            return


def answers_in(store, rater):
    """place -> contents, as the file has them; a place that is there twice has two."""
    with contextlib.closing(sqlite3.connect(f"file:{store}?mode=ro", uri=True, timeout=10)) as file:
        rows = file.execute(
            "SELECT s.id, a.case_id, a.item, a.revision, a.value, a.sureness FROM answer a "
            "JOIN sitting s ON s.number = a.sitting JOIN person p ON p.number = s.person WHERE p.rater = ?",
            (rater,)).fetchall()
    found = {}
    for *place, value, sureness in rows:
        found.setdefault(tuple(place), []).append((value, sureness))
    return found


def hold_against(student, found):
    """How many answers the file has that were not acknowledged: 0 or 1. Throws Fault."""
    name = student.person.name
    for place, content in student.acknowledged.items():
        if place not in found:
            raise Fault(f"{name}: answer {place} was acknowledged and is gone")
        if found[place] != [content]:
            raise Fault(f"{name}: answer {place} is {found[place]}; {content} was acknowledged")
    more = {place: contents for place, contents in found.items() if place not in student.acknowledged}
    if not more:
        return 0
    if student.pending is None or more != {student.pending[0]: [student.pending[1]]}:
        raise Fault(f"{name}: {more} is there; {student.pending} was under way")
    return 1


def check(program, store):
    done = subprocess.run([program, "store", "check", "--store", store], capture_output=True, text=True)
    if done.returncode != 0:
        raise Fault(f"store check: {done.stdout}{done.stderr}")


async def until_killed(site, students, after):
    """The first answers of the life are awaited with the clock already running: a kill may come before any."""
    tasks = [asyncio.ensure_future(student.practice()) for student in students]
    await asyncio.sleep(after)
    site.kill()
    await asyncio.gather(*tasks)


async def one_store(site, kills, how_many, rng, totals):
    program = site.program
    site.start()
    students = [Student(person) for person in await open_class(site, how_many)]
    for kill in range(kills):
        await until_killed(site, students, rng.uniform(0, LONGEST))
        if kill % 2 == 0:
            check(program, site.store)
        totals["starts"].append(site.start())
        if kill % 2 == 1:
            check(program, site.store)
        for student in students:
            totals["untold"] += hold_against(student, answers_in(site.store, student.person.name))
            totals["under way"] += student.pending is not None
    # The last answers are sent again too, and are there once.
    life = [asyncio.ensure_future(student.practice()) for student in students]
    await asyncio.sleep(0.3)
    site.kill()
    await asyncio.gather(*life)
    for student in students:
        hold_against(student, answers_in(site.store, student.person.name))
    check(program, site.store)
    totals["answers"] += sum(len(student.acknowledged) for student in students)
    totals["repeated"] += sum(student.repeated for student in students)
    totals["kills"] += kills + 1


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("--kills", type=int, default=500)
    parser.add_argument("--students", type=int, default=12)
    parser.add_argument("--seed", type=int, default=time.time_ns() % 1_000_000)
    options = parser.parse_args()
    print(f"seed {options.seed}", flush=True)
    rng = random.Random(options.seed)
    totals = {"kills": 0, "answers": 0, "repeated": 0, "under way": 0, "untold": 0, "starts": []}
    began = time.monotonic()
    while totals["kills"] < options.kills:
        kills = min(KILLS_PER_STORE, options.kills - totals["kills"])
        with tempfile.TemporaryDirectory(prefix="evenhand-kill-") as folder:
            site = Site(options.program, folder)
            try:
                asyncio.run(one_store(site, kills - 1, options.students, rng, totals))
            except Fault as fault:
                print(f"FAULT after {totals['kills']} kills and more: {fault}")
                return 1
            finally:
                site.kill()
        print(f"{totals['kills']} kills: {totals['answers']} answers acknowledged, all there once", flush=True)
    starts = sorted(totals["starts"])
    print(f"Of {totals['under way']} answers that were under way at a kill, {totals['untold']} had been stored "
          f"already; all were sent again ({totals['repeated']} sendings) and are there once.")
    if starts:
        print(f"From start to first answer: median {1000 * starts[len(starts) // 2]:.0f} ms, "
              f"longest {1000 * starts[-1]:.0f} ms. In all {time.monotonic() - began:.0f} s.")
    if totals["answers"] < totals["kills"]:
        print("FAULT: too few answers were acknowledged for the kills to mean anything")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
