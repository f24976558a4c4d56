#!/usr/bin/env python3
"""How fast the practice site answers a class, and how large a class may be.

  tests/load/load.py PROGRAM [--students 300] [--seconds 60] [--no-ramp] [--folder DIR]

Students sign in beforehand (passphrases are slow on purpose). Then each sends an answer every 5 s, more or less
by half, as somebody who thinks does: a PUT that is on the disk when it is answered, with a stopwatch reading where
the trial is timed, and answered with the reason. A set that is done is handed in and begun anew.

What counts is the time from the moment an answer was due to the moment the last byte of the reply came, so a
student who has to wait for the answer before counts that too. Then the same students hurry: the rate is doubled
until the 99th percentile passes 100 ms or answers fail, and halved in to the highest rate that holds.

This process makes the load on the machine that serves it. Ends with exit status 1 when the class itself is not
served: 99th percentile past --limit milliseconds (100), or any answer refused.
"""
import argparse
import asyncio
import gc
import os
import random
import sys
import tempfile
import time

sys.dont_write_bytecode = True  # the source folder stays as it is
from site_under_test import Gone, Site, open_class, timed_trials

SET = "pb-support"  # some twenty items, as a sitting between two lessons has


class Student:
    def __init__(self, person, rng):
        self.person, self.rng = person, rng
        self.sitting, self.steps = None, []

    async def begin(self):
        begun = await self.person.must("POST", "/api/sittings", {"set": SET})
        sitting = await self.person.must("GET", f"/api/sittings/{begun['id']}")
        self.sitting = sitting["id"]
        self.steps = [(step["case"], step["item"]) for step in sitting["steps"]]
        self.steps.reverse()
        return sitting

    def answer(self, case, item, timed):
        body = {"value": str(self.rng.randrange(5)), "sureness": round(self.rng.random(), 2)}
        trials = timed[case, item]
        if trials:
            body["trial"] = trials[0]
            body["stopwatch"] = [{"trial": trials[0], "seconds": 12.34, "form": "live", "start": 2.0,
                                  "stop": 14.34, "sound": True}]
        return body

    async def practice(self, interval, until, timed, results):
        due = time.monotonic() + self.rng.uniform(0, interval)
        while due < until:
            await asyncio.sleep(max(0.0, due - time.monotonic()))
            case, item = self.steps.pop()
            path = f"/api/sittings/{self.sitting}/answers/{case}/{item}/1"
            sent = time.monotonic()
            try:
                status, answer = await self.person.ask("PUT", path, self.answer(case, item, timed))
            except Gone as gone:
                status, answer = 0, str(gone).encode()
            done = time.monotonic()
            if status != 200:
                results.refused.append((status, answer[:200]))
            results.took.append(done - due)
            results.late.append(sent - due)
            due += interval * self.rng.uniform(0.5, 1.5)
            if not self.steps:
                await self.person.must("POST", f"/api/sittings/{self.sitting}/finish", {})
                await self.begin()


class Results:
    def __init__(self):
        self.took, self.late, self.refused = [], [], []

    def percentile(self, share, of=None):
        values = sorted(self.took if of is None else of)
        return 1000 * values[min(len(values) - 1, int(share * len(values)))] if values else float("inf")

    def __str__(self):
        text = (f"{len(self.took)} answers, ms: median {self.percentile(.5):.1f}, 95 % {self.percentile(.95):.1f}, "
                f"99 % {self.percentile(.99):.1f}, longest {self.percentile(1):.1f}; "
                f"sent late by (99 %) {self.percentile(.99, self.late):.1f}")
        if self.refused:
            text += f"; {len(self.refused)} REFUSED, such as {self.refused[0]}"
        return text


def disk(folder):
    """What the disk needs to keep 12 kB, 60 times a second, before the site runs: no answer can be faster."""
    took = Results()
    with tempfile.TemporaryFile(dir=folder) as file:
        for n in range(600):
            os.pwrite(file.fileno(), b"x" * 12288, 12288 * n)
            began = time.monotonic()
            os.fdatasync(file.fileno())
            took.took.append(time.monotonic() - began)
            time.sleep(1 / 60)
    return f"median {took.percentile(.5):.1f}, 99 % {took.percentile(.99):.1f}, longest {took.percentile(1):.1f}"


def processor_seconds(process):
    with open(f"/proc/{process}/stat") as stat:
        fields = stat.read().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def machine():
    """Processor seconds of the whole machine: busy, all."""
    with open("/proc/stat") as stat:
        ticks = [int(value) for value in stat.readline().split()[1:9]]
    return (sum(ticks) - ticks[3] - ticks[4]) / os.sysconf("SC_CLK_TCK"), sum(ticks) / os.sysconf("SC_CLK_TCK")


async def run(site, students, timed, rate, seconds):
    """All students together send `rate` answers a second."""
    results = Results()
    gc.collect()
    before, (busy, whole), own = processor_seconds(site.process.pid), machine(), time.process_time()
    began = time.monotonic()
    await asyncio.gather(*(student.practice(len(students) / rate, began + seconds, timed, results)
                           for student in students))
    span = time.monotonic() - began
    site_used, own_used = processor_seconds(site.process.pid) - before, time.process_time() - own
    busy, whole = machine()[0] - busy, machine()[1] - whole
    others = max(0.0, busy - site_used - own_used)
    print(f"{rate:7.0f}/s wanted, {len(results.took) / span:7.1f}/s done: {results}\n"
          f"           processors: site {site_used / span:.2f}, this load {own_used / span:.2f}, others "
          f"{others / span:.2f} of {os.cpu_count()}", flush=True)
    results.done = len(results.took) / span
    return results


def holds(results, rate, limit):
    return not results.refused and results.percentile(.99) <= limit and results.done >= 0.9 * rate


async def ramp(site, students, timed, rate, limit, seconds):
    """The highest rate at which the limit still holds, to a tenth or so."""
    good, bad = rate, None
    while bad is None or bad / good > 1.15:
        wanted = 2 * good if bad is None else (good * bad) ** 0.5
        await asyncio.sleep(1)
        if holds(await run(site, students, timed, wanted, seconds), wanted, limit):
            good = wanted
        else:
            bad = wanted
    return good


async def measure(options, folder):
    rng = random.Random(options.seed)
    site = Site(options.program, folder)
    site.start()
    began = time.monotonic()
    people = await open_class(site, options.students)
    students = [Student(person, random.Random(rng.random())) for person in people]
    sitting = await students[0].begin()
    timed = await timed_trials(people[0], sitting)
    for student in students[1:]:
        await student.begin()
    print(f"{len(students)} students joined and began in {time.monotonic() - began:.1f} s", flush=True)
    rate = options.students / 5
    results = await run(site, students, timed, rate, options.seconds)
    served = holds(results, rate, options.limit)
    if served and not options.no_ramp:
        highest = await ramp(site, students, timed, rate, options.limit, options.step)
        print(f"Highest rate at which the 99th percentile stays under {options.limit:.0f} ms: {highest:.0f}/s "
              f"= a class of {5 * highest:.0f} at an answer each 5 s")
    for person in people:
        person.leave()
    site.stop()
    print(f"The store holds {os.path.getsize(site.store) / 1e6:.1f} MB. Load average {os.getloadavg()[0]:.1f}.")
    return 0 if served else 1


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("--students", type=int, default=300)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--step", type=float, default=15, help="seconds of each step of the ramp")
    parser.add_argument("--limit", type=float, default=100, help="ms, 99th percentile")
    parser.add_argument("--folder", default=".", help="where the store is put: a disk, else nothing is durable")
    parser.add_argument("--no-ramp", action="store_true")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    print(f"Load average before: {os.getloadavg()[0]:.1f}", flush=True)
    with tempfile.TemporaryDirectory(prefix="evenhand-load-", dir=options.folder) as folder:
        print(f"The disk alone, ms: {disk(folder)}", flush=True)
        return asyncio.run(measure(options, folder))


if __name__ == "__main__":
    sys.exit(main())
